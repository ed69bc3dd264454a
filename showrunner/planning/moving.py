"""Where a study may be moved by hand, and which rule stands against the other slots."""

from __future__ import annotations

from datetime import date, timedelta

from showrunner.domain.book import Book
from showrunner.domain.episode import Episode
from showrunner.domain.record import record
from showrunner.domain.rules import Breach, Rule
from showrunner.domain.slot import SlotRef
from showrunner.planning.shortfalls import room_of

WEEKS = 78
"""Weeks ahead whose slots are offered."""


@record
class Place:
    """A slot that the study's series may use and that nothing holds."""

    slot: SlotRef
    """The slot."""
    against: Breach | None
    """The hard rule that forbids it, the hours among them; None if it is allowed."""
    spare_minutes: int | None = None
    """Minutes that could still be lost with the study there before a study is late; None if no study is left."""


def places(book: Book, study: Episode, today: date) -> tuple[Place, ...]:
    """The free slots of a study's series from today on, each with the hard rule against it if there is one.

    Args:
        book: the book.
        study: the open study to be moved.
        today: the present day.
    """
    room = room_of(book, today, horizon_weeks=WEEKS)
    allowed = book.series_of(study.series).rules
    last = today + timedelta(weeks=WEEKS)
    found = []
    for slot in room.slots:
        if slot.rule not in allowed or slot.ref == study.slot or slot.day > last:
            continue
        against = room.against(study, slot.ref)
        if against is None:
            found.append(Place(slot.ref, None, room.spare_in(study, slot.ref)))
        elif against.rule not in (Rule.TAKEN, Rule.HELD):
            found.append(Place(slot.ref, against))
    return tuple(found)


def breach_of(book: Book, study: Episode, slot: SlotRef, today: date) -> Breach | None:
    """The hard rule that forbids a study a slot; None if none does."""
    return room_of(book, today, horizon_weeks=WEEKS).against(study, slot)
