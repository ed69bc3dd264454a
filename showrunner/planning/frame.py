"""From the book to the placing problem: which studies, which slots, which hours."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from functools import lru_cache

from showrunner.domain.book import Book
from showrunner.domain.episode import PinKind, Window
from showrunner.domain.record import record
from showrunner.domain.rules import Board
from showrunner.domain.slot import Slot, SlotRef
from showrunner.domain.windows import Interval, intervals
from showrunner.planning.aims import Aim
from showrunner.planning.candidates import Candidate
from showrunner.planning.hours import StandingWork, ready_day, spare_time, standing_work, working_time
from showrunner.planning.problem import NOWHERE, Need, Problem, Spacing
from showrunner.planning.slots import expand

YEAR = timedelta(days=366)


@record
class Frame:
    """A placing problem and what its numbers stand for."""

    book: Book
    """The book."""
    today: date
    """First day of the horizon."""
    problem: Problem
    """The problem; `needs` stand in the order of `candidates`, `spacings` in the order of `book.series`."""
    candidates: tuple[Candidate, ...]
    """Studies to place, in book order, implied ones last."""
    every_slot: tuple[Slot, ...]
    """All slots of all rules from today to the horizon."""
    board: Board
    """The book as the hard rules see it."""
    time: tuple[int, ...]
    """Working minutes from today through every day offset."""
    standing: tuple[StandingWork, ...]
    """Standing work if no study is placed."""
    left_out: tuple[str, ...]
    """Unsure pieces in no study that were left out."""
    horizon_weeks: int
    """Weeks looked ahead."""
    aim: Aim = Aim.BEST
    """What a plan is made for."""
    around: bool = False
    """Whether planned studies stay where they are."""


def frame(
    book: Book,
    today: date,
    studies: tuple[Candidate, ...],
    *,
    horizon_weeks: int,
    aim: Aim = Aim.BEST,
    around: bool = False,
    also: frozenset[SlotRef] = frozenset(),
    left_out: tuple[str, ...] = (),
    more: tuple[int, int] = (0, 0),
) -> Frame:
    """The placing problem of the book.

    Args:
        book: the book.
        today: the present day.
        studies: what is to be placed.
        horizon_weeks: weeks to look ahead.
        aim: what a plan is made for.
        around: whether planned studies stay where they are as if all were promised, the others around them.
        also: slots that are counted with the usable ones though nothing may stand in them.
        left_out: carried along.
        more: supposed extra work: a day offset, and minutes found on it on top of those of the book.
    """
    every, board, time, standing = _ground(_Same(book), today, horizon_weeks, more)
    last = today + timedelta(weeks=horizon_weeks)
    freed = {work.slot.ref: work.minutes for work in standing}
    allowed = {rule for series in book.series for rule in series.rules}
    barred = board.held.keys() - also
    usable = (s for s in every if s.rule in allowed and s.ref not in barred)
    usable = (s for s in usable if s.ref in also or not board.is_silent(s.day))
    slots = tuple(sorted(usable, key=lambda slot: board.turn(slot.ref)))
    index = {slot.ref: at for at, slot in enumerate(slots)}
    order_of = {series.id: at for at, series in enumerate(book.series)}
    names = {study.key for study in studies}
    after: dict[str, list[str]] = {}
    for pin in book.pins:
        if pin.kind is PinKind.ORDER and set(pin.episodes) <= names:
            after.setdefault(pin.episodes[1], []).append(pin.episodes[0])
    costs = _costs(board, studies, slots, last)
    needs = tuple(
        Need(
            key=study.key,
            order=at,
            series=order_of[study.series.id],
            minutes=study.minutes,
            cost=costs[at],
            after=tuple(sorted(after.get(study.key, ()))),
            promised=index.get(study.pinned, NOWHERE) if study.pinned else None,
            worth=max(1, sum(slot == study.pinned for _, slot in board.dates.get(study.key, ()))),
            planned_slot=index.get(study.planned) if study.planned else None,
            planned_day=(study.planned.day - today).days if study.planned else None,
        )
        for at, study in enumerate(studies)
    )
    spacings = []
    for series in book.series:
        before = board.last_published(series.id)
        offset = (before - today).days if before else None
        longest = 7 * series.max_weeks if aim.even else None
        spacings.append(Spacing(7 * series.min_weeks, 7 * series.target_weeks, offset, longest))
    problem = Problem(
        slots=slots,
        days=tuple((slot.day - today).days for slot in slots),
        ready=tuple(ready_day(book, today, slot) for slot in slots),
        standing=tuple(freed.get(slot.ref, 0) for slot in slots),
        spare=spare_time(time, standing),
        needs=needs,
        spacings=tuple(spacings),
        keep=aim.keep,
    )
    problem = as_they_stand(problem) if around else problem
    return Frame(book, today, problem, studies, every, board, time, standing, left_out, horizon_weeks, aim, around)


class _Same:
    """A value as the key of what is kept for it: told from others by being the very same, not by what it holds."""

    def __init__(self, value: Book) -> None:
        self.value = value

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and other.value is self.value

    def __hash__(self) -> int:
        return id(self.value)


@lru_cache(maxsize=8)
def _ground(
    book: _Same, today: date, horizon_weeks: int, more: tuple[int, int]
) -> tuple[tuple[Slot, ...], Board, tuple[int, ...], tuple[StandingWork, ...]]:
    """What all problems of a book share, laid out once: its slots, its rules, working time and standing work."""
    last = today + timedelta(weeks=horizon_weeks)
    every = expand(book.value.rules, today, last)
    since, minutes = more
    worked = working_time(book.value, today, (last - today).days + 1)
    time = tuple(total + (minutes if day >= since else 0) for day, total in enumerate(worked))
    return every, Board(book.value), time, standing_work(book.value, today, every, (), time)


def as_they_stand(problem: Problem) -> Problem:
    """The problem in which every study that is planned for one of the slots stands there before any promise counts."""
    worth = 1 + sum(len(need.after) + need.worth * (need.promised is not None) for need in problem.needs)

    def where_it_is(need: Need) -> Need:
        slot = need.planned_slot
        return need if slot is None or need.cost[slot] is None else held(need, slot, worth)

    return replace(problem, needs=tuple(map(where_it_is, problem.needs)))


def held(need: Need, slot: int, worth: int) -> Need:
    """A study promised for a slot and free to stand nowhere else.

    Args:
        need: the study.
        slot: index of the slot.
        worth: how many promises that counts as.
    """
    cost = tuple(value if at == slot else None for at, value in enumerate(need.cost))
    return replace(need, cost=cost, promised=slot, worth=worth)


def stretches(windows: tuple[Window, ...], hard: bool, first: date, last: date) -> tuple[Interval, ...]:
    """The stretches of days of the hard, or of the soft, windows within a year of `first` to `last`."""
    return tuple(
        stretch for window in windows if window.hard is hard for stretch in intervals(window, first - YEAR, last + YEAR)
    )


def days_outside(day: date, spans: tuple[Interval, ...]) -> int:
    """Days between `day` and the nearest of the stretches; 0 inside one or if there are none."""
    return min((max((first - day).days, (day - last).days, 0) for first, last in spans), default=0)


def _costs(
    board: Board, studies: tuple[Candidate, ...], slots: tuple[Slot, ...], last: date
) -> list[tuple[int | None, ...]]:
    """For every study, the window cost of every slot in days squared; None where a hard rule forbids it."""
    first = slots[0].day if slots else last
    made: dict[tuple[str, tuple[Window, ...]], tuple[int | None, ...]] = {}
    found = []
    for study in studies:
        alike = (study.series.id, study.windows)
        if alike not in made:
            soft = stretches(study.windows, False, first, last)
            made[alike] = tuple(
                None if any(board.against_slot(study.terms, slot.ref)) else days_outside(slot.day, soft) ** 2
                for slot in slots
            )
        found.append(made[alike])
    return found
