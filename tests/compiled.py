"""Keeps compiled code also where the environment says not to: each process of a run would compile all of it again.

Hypothesis alone, which pytest compiles in its own way, takes seconds of each process; so do the commands that tests
start. Imported before anything large. Where a place for compiled code is named, that place has its own rules.
"""

import os
import sys

if sys.pycache_prefix is None:
    sys.dont_write_bytecode = False
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
