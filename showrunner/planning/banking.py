"""What must be done before days without work, because it is due in them or too soon after."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from showrunner.domain.book import Book
from showrunner.planning.hours import is_workless
from showrunner.planning.loads import Load
from showrunner.planning.results import Ahead, Trip
from showrunner.planning.shortfalls import Room

AWAY_DAYS = 3
"""Days without work in a row from which on they are told of; fewer are an ordinary day off."""

LOOKED_AHEAD_DAYS = 182
"""Days within which they must begin to be told of."""


def ahead_of_trips(room: Room, loads: Sequence[Load]) -> tuple[Trip, ...]:
    """For the days in a row without work that lie ahead, what must be done before them.

    What is due latest takes the latest hours, so that no more is asked for before than must be: as many minutes
    as, on some later day, what is due from the first day off through it exceeds the hours from then through it.

    Args:
        room: the hours there are.
        loads: everything that must be ready, usual content with all its hours.
    """
    found = []
    for first, last in _trips(room.book, room.today):
        begin = (first - room.today).days
        if begin <= 0:
            continue
        items = _before(room, [load for load in loads if load.ready >= begin], begin)
        minutes = sum(item.minutes for item in items)
        due = sum(load.minutes for load in loads if load.ready < begin)
        if minutes:
            reason = next((dark.reason for dark in room.book.dark if dark.no_work and dark.covers(first)), "")
            spare = room.time[begin - 1] - due
            found.append(Trip(first, last, reason, items, minutes, max(0, spare)))
    return tuple(found)


def _trips(book: Book, today: date) -> list[tuple[date, date]]:
    """First and last day of every stretch of days in a row without work that begins soon enough and is long enough."""
    found: list[tuple[date, date]] = []
    day, end = today, today + timedelta(LOOKED_AHEAD_DAYS)
    longest = max((dark.last for dark in book.dark if dark.no_work), default=today)
    while day <= min(end, longest):
        last = day
        while last <= longest and is_workless(book, last):
            last += timedelta(1)
        if (last - day).days >= AWAY_DAYS:
            found.append((day, last - timedelta(1)))
        day = max(last, day + timedelta(1))
    return found


def _before(room: Room, loads: Sequence[Load], begin: int) -> tuple[Ahead, ...]:
    """Minutes of each load that find no hours from a day through the day it must be ready."""
    days = len(room.time)
    left = [room.time[day] - room.time[day - 1] for day in range(begin, days)]
    found = []
    for load in sorted(loads, key=lambda load: (load.ready, load.slot), reverse=True):
        minutes = load.minutes
        for day in range(min(load.ready, days - 1), begin - 1, -1):
            took = min(minutes, left[day - begin])
            left[day - begin] -= took
            minutes -= took
            if not minutes:
                break
        if minutes:
            found.append(Ahead(load.title, load.episode, load.slot, minutes))
    return tuple(reversed(found))
