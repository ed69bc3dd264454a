"""The proof of a date in a few lines, or what keeps a study from one and what would help."""

from __future__ import annotations

from collections.abc import Sequence

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.planning.changes import Change, carried_out, change_words
from showrunner.planning.results import Placed, Unplaced


def proof_of(item: Placed | Unplaced) -> str:
    """Why a study stands where it does, the hours, and the price of the slots beside it; or why it has no slot."""
    if isinstance(item, Unplaced):
        short = f"; short by {item.short_by}" if item.short_by else ""
        help = "" if item.ways_out else f" {item.way_out[:1].upper()}{item.way_out[1:]}."
        return f"{item.title}: no slot. {item.reason[:1].upper()}{item.reason[1:]}{short}.{help}"
    spare = item.minutes_available - item.minutes_needed
    left = f"{words.hours(spare)} to spare" if spare >= 0 else f"{words.hours(-spare)} short"
    gap = "" if item.gap_days is None else f" {words.weeks(item.gap_days)} after the one before."
    hours = f"{words.hours(item.minutes_needed)} needed of {words.hours(item.minutes_available)}: {left}."
    later = f" One slot later {item.later.text}." if item.later else ""
    return f"{item.title}: {words.day(item.slot.day)}.{gap} {hours}\n{item.reason}{later}"


def supposed(book: Book, changes: Sequence[Change]) -> tuple[Book, str]:
    """A copy of the book with changes carried out in turn, and the changes in words, to follow `With`."""
    told = []
    for change in changes:
        told.append(change_words(book, change))
        book = carried_out(book, change)
    return book, words.listing(told)


def ways_of(book: Book, item: Placed | Unplaced) -> tuple[str, ...]:
    """What would give a study without a slot a date, each way out in a line with the day on which it then airs.

    Args:
        book: the book that the plan was made for.
        item: a study of the plan; one with a slot has no ways out.
    """
    if isinstance(item, Placed):
        return ()
    return tuple(f"With {supposed(book, way.changes)[1]} it airs on {words.day(way.airs)}." for way in item.ways_out)
