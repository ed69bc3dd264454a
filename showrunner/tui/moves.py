"""Where a study may be moved by hand, and which rule stands against the other slots."""

from __future__ import annotations

from datetime import date, timedelta

from showrunner.domain.book import Book
from showrunner.domain.episode import Episode
from showrunner.domain.record import record
from showrunner.domain.rules import Board, Breach, Rule, terms_of
from showrunner.domain.slot import SlotRef
from showrunner.planning.slots import expand

WEEKS = 78
"""Weeks ahead whose slots are offered."""


@record
class Place:
    """A slot that the study's series may use and that nothing holds."""

    slot: SlotRef
    """The slot."""
    against: Breach | None
    """The hard rule that forbids it; None if it is allowed."""


def places(book: Book, study: Episode, today: date) -> tuple[Place, ...]:
    """The free slots of a study's series from today on, each with the hard rule against it if there is one.

    Whether the work fits is not judged here: the hours of every week are on the Ledger.

    Args:
        book: the book.
        study: the open study to be moved.
        today: the present day.
    """
    rules = [book.rule(id) for id in book.series_of(study.series).rules]
    slots = expand(rules, today, today + timedelta(weeks=WEEKS))
    board = Board(book)
    found = [Place(slot.ref, _breach(board, study, slot.ref)) for slot in slots if slot.ref != study.slot]
    gone = (Rule.TAKEN, Rule.HELD)
    return tuple(place for place in found if place.against is None or place.against.rule not in gone)


def breach_of(book: Book, study: Episode, slot: SlotRef) -> Breach | None:
    """The hard rule that forbids a study a slot, the hours left aside; None if none does."""
    return _breach(Board(book), study, slot)


def _breach(board: Board, study: Episode, slot: SlotRef) -> Breach | None:
    book = board.book
    others = [(terms_of(book, e), e.slot) for e in book.open_studies if e.slot and e.id != study.id]
    order = (Rule.TAKEN, Rule.HELD)
    found = sorted(board.against(terms_of(book, study), slot, others), key=lambda breach: breach.rule not in order)
    return found[0] if found else None
