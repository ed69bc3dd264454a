"""Kills, refusals of the disk, many at once and keys at random: nothing acknowledged is lost, nothing falls over.

`SHOWRUNNER_LONG=1000 pytest -m long tests/faults` is the whole of it; without it a short form runs.
"""
