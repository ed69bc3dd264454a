"""Where a study may be moved by hand, and which rule stands against the other slots."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.episode import Episode, PinKind
from showrunner.domain.titles import quoted
from showrunner.domain.slot import SlotRef
from showrunner.domain.windows import inside, window_words
from showrunner.planning.frame import last_published
from showrunner.planning.hours import held_slots, is_dark
from showrunner.planning.slots import expand

WEEKS = 78
"""Weeks ahead whose slots are offered."""


@dataclass(frozen=True, slots=True)
class Place:
    """A free slot that the study's series may use."""

    slot: SlotRef
    """The slot."""
    against: str
    """The hard rule that forbids it, with its number; empty if it is allowed."""


def places(book: Book, study: Episode, today: date) -> tuple[Place, ...]:
    """The free slots of a study's series from today on, each with the hard rule against it if there is one.

    Whether the work fits is not judged here: the hours of every week are on the Ledger.

    Args:
        book: the book.
        study: the open study to be moved.
        today: the present day.
    """
    rules = [book.rule(id) for id in book.series_of(study.series).rules]
    taken = {e.slot for e in book.episodes if e.slot and not e.published} | set(held_slots(book))
    slots = expand(rules, today, today + timedelta(weeks=WEEKS))
    return tuple(Place(slot.ref, why_not(book, study, slot.ref)) for slot in slots if slot.ref not in taken)


def why_not(book: Book, study: Episode, slot: SlotRef) -> str:
    """The hard rule that forbids a study a slot, in words with its number; empty if none does.

    Args:
        book: the book.
        study: the open study.
        slot: a slot its series may use.
    """
    if is_dark(book, slot.day):
        return "nothing is published that day"
    hard = [window for window in study.windows if window.hard]
    if hard and not inside(hard, slot.day):
        return f"it must fall {' or '.join(map(window_words, hard))}"
    return _too_near(book, study, slot) or _out_of_order(book, study, slot)


def _too_near(book: Book, study: Episode, slot: SlotRef) -> str:
    """The spacing against the series' other studies, published or planned."""
    series = book.series_of(study.series)
    same = [e for e in book.open_studies if e.series == series.id and e.id != study.id]
    others = [(e.slot.day, quoted(e.title)) for e in same if e.slot]
    if last := last_published(book, series.id):
        others.append((last, "the last one published"))
    for day, name in others:
        days = abs((slot.day - day).days)
        if days < 7 * series.min_weeks:
            return f"{words.weeks(days)} from {name}, and {words.count(series.min_weeks, 'week')} is the least"
    return ""


def _out_of_order(book: Book, study: Episode, slot: SlotRef) -> str:
    """The orders promised, against the dates planned."""
    planned = {other.id: other for other in book.open_studies if other.slot}
    for pin in book.pins:
        if pin.kind is not PinKind.ORDER or study.id not in pin.episodes:
            continue
        first, second = pin.episodes
        other = planned.get(second if first == study.id else first)
        if other is None or other.slot is None:
            continue
        if first == study.id and slot.day >= other.slot.day:
            return f"it is promised before {quoted(other.title)} of {words.day(other.slot.day)}"
        if second == study.id and slot.day <= other.slot.day:
            return f"it is promised after {quoted(other.title)} of {words.day(other.slot.day)}"
    return ""
