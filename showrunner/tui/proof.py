"""The proof of a date in a few lines."""

from __future__ import annotations

from showrunner.domain import words
from showrunner.planning.results import Placed, Unplaced


def proof_of(item: Placed | Unplaced) -> str:
    """Why a study stands where it does, the hours, and the price of the slots beside it."""
    if isinstance(item, Unplaced):
        return f"{item.title}: no slot. {item.reason}; short by {item.short_by}. {item.way_out}."
    spare = item.minutes_available - item.minutes_needed
    left = f"{words.hours(spare)} to spare" if spare >= 0 else f"{words.hours(-spare)} short"
    gap = "" if item.gap_days is None else f" {words.weeks(item.gap_days)} after the one before."
    hours = f"{words.hours(item.minutes_needed)} needed of {words.hours(item.minutes_available)}: {left}."
    later = f" One slot later {item.later.text}." if item.later else ""
    return f"{item.title}: {words.day(item.slot.day)}.{gap} {hours}\n{item.reason}{later}"
