"""Working time and standing work, day by day: what there is, and what is spoken for before any study."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Collection, Iterable
from datetime import date, timedelta

from showrunner.domain.book import Book
from showrunner.domain.episode import EpisodeKind
from showrunner.domain.house import DAY_MINUTES
from showrunner.domain.record import record
from showrunner.domain.rules import Board
from showrunner.domain.slot import Slot, SlotRef


@record
class StandingWork:
    """The usual content of one slot, as it weighs on the working time."""

    slot: Slot
    """The slot."""
    minutes: int
    """Minutes of work it counts with."""
    short: int
    """Minutes that did not fit even without any study; they are left out of every test and warned about."""
    ready: int
    """Day offset by which it must be ready."""


@record
class BusyHours:
    """A day of work of which other calendars take a part."""

    day: date
    """The day."""
    minutes: int
    """Working minutes that are taken."""
    left: int
    """Working minutes that are left, with those found beside them."""
    reasons: tuple[str, ...]
    """What takes them, in words."""


def work_minutes(book: Book, day: date) -> int:
    """Working minutes of one day; none on a day without work.

    They are those of its weekday less the time that other calendars take, and what was found beside them. No hour of
    the day is told apart: busy time is taken from the working hours whenever it is.
    """
    if is_workless(book, day):
        return 0
    busy = book.busy_minutes.get(day, 0)
    extra = sum(found.minutes for found in book.house.extra_work if found.day == day)
    return min(max(0, DAY_MINUTES - busy), max(0, book.house.work_minutes[day.weekday()] - busy) + extra)


def busy_hours(book: Book, first: date, last: date) -> tuple[BusyHours, ...]:
    """The days of work from `first` through `last` of which other calendars take a part, by day."""
    found = []
    for day in sorted(day for day in book.busy_minutes if first <= day <= last and not is_workless(book, day)):
        usual, busy = book.house.work_minutes[day.weekday()], book.busy_minutes[day]
        if usual:
            reasons = tuple(dict.fromkeys(one.reason for one in book.busy if one.day == day and one.reason))
            found.append(BusyHours(day, min(usual, busy), work_minutes(book, day), reasons))
    return tuple(found)


def worked_on(book: Book, day: date) -> int:
    """Minutes put down as worked on a day, of all episodes."""
    return sum(work.minutes for episode in book.episodes for work in episode.worked if work.day == day)


def is_workless(book: Book, day: date) -> bool:
    """Whether a day lies in a range without work."""
    at = bisect_right(book.workless, (day, date.max)) - 1
    return at >= 0 and day <= book.workless[at][1]


def working_time(book: Book, today: date, days: int) -> tuple[int, ...]:
    """For every day offset, the working minutes from today through that day; what was worked today is used up."""
    total, sums = 0, []
    for offset in range(days):
        day = today + timedelta(offset)
        total += max(0, work_minutes(book, day) - worked_on(book, day)) if offset == 0 else work_minutes(book, day)
        sums.append(total)
    return tuple(sums)


def standing_work(
    book: Book, today: date, slots: Iterable[Slot], without: Collection[SlotRef], time: tuple[int, ...]
) -> tuple[StandingWork, ...]:
    """What the slots' usual content costs, in order of the days it must be ready.

    Nothing is counted for a slot on which nothing is published, whose content is in the bank or out
    already, or that must have been ready before today; of what was begun, only the hours left. What cannot
    fit even if no study is ever placed is no fault of a study: it is cut off, and said.

    Args:
        book: the book.
        today: the first day of work.
        slots: slots by instant.
        without: slots that hold a study already and so cost no standing hours.
        time: working minutes from today through every day offset.
    """
    rules = {rule.id: rule for rule in book.rules}
    board = Board(book)
    fillers = [e for e in book.episodes if e.kind is EpisodeKind.FILLER and e.slot]
    banked = {e.slot for e in fillers if e.finished}
    begun = {e.slot: e.worked_on(None) for e in fillers}
    out = {SlotRef(line.planned, line.rule) for line in book.publications if line.planned}
    settled = banked | out | set(without)
    work: list[StandingWork] = []
    used = 0
    for slot in sorted(slots, key=lambda slot: slot.day):
        ready = ready_day(book, today, slot)
        wanted = rules[slot.rule].on(slot.day).standing_minutes - begun.get(slot.ref, 0)
        if ready < 0 or wanted <= 0 or slot.ref in settled or board.is_silent(slot.day):
            continue
        minutes = max(0, min(wanted, time[ready] - used))
        used += minutes
        work.append(StandingWork(slot, minutes, wanted - minutes, ready))
    return tuple(work)


def ready_day(book: Book, today: date, slot: Slot | SlotRef) -> int:
    """Day offset by which the content of a slot must be ready; below 0 if that is past."""
    return (slot.day - today).days - book.house.lead_days


def spare_time(time: tuple[int, ...], standing: Iterable[StandingWork]) -> tuple[int, ...]:
    """For every day offset, the working time until then less the standing work due by then; never below 0."""
    due = [0] * len(time)
    for work in standing:
        due[work.ready] += work.minutes
    used, spare = 0, []
    for minutes, total in zip(due, time, strict=True):
        used += minutes
        spare.append(total - used)
    return tuple(spare)
