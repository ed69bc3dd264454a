"""Ways out for a study that has no slot: only what was carried out on a copy of the book and solved again.

Of each kind of change the least amount that works is sought, in units that can be entered: half hours, whole
weeks. The cheapest three kinds are told; where no single change helps, two that help together.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date, timedelta
from functools import partial
from itertools import combinations

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.episode import PinKind, Window
from showrunner.domain.record import record
from showrunner.domain.titles import quoted
from showrunner.errors import ShowrunnerError
from showrunner.planning.candidates import Candidate
from showrunner.planning.changes import (
    AllowSlot,
    Change,
    LookFurther,
    LowerGap,
    MoreHours,
    PublishInDark,
    Unpin,
    WidenWindow,
    carried_out,
    change_words,
    found_hours,
)
from showrunner.planning.hours import is_workless
from showrunner.planning.problem import minutes_short
from showrunner.planning.results import WayOut
from showrunner.planning.search import NoBetter
from showrunner.planning.solving import Question, Solved, solve_book

HALF_HOUR = 30
"""Step of hours, minutes."""

FURTHER = 52
"""Most weeks further that are looked."""

FEW = (3, 15, 31)
"""Rungs of weeks further that are tried before the most, from 0."""

WIDER = 26
"""Most weeks by which a window is widened on one side."""

SOME_DAYS = 4
"""Days that are tried for hours where not even the usual content of the slots fits."""

ROUNDS = 6
"""How often the least of each of two changes is sought beside the other."""

MOST = 3
"""Ways out that are told."""

TRIAL_SECONDS = 0.5
"""Time for one trial; what takes longer is not advised."""


@record
class FoundToday:
    """Hours found today, however many a day has: tells whether hours can help at all, and how many at least."""

    minutes: int
    """Minutes."""


Step = Change | FoundToday
"""One thing to try."""

Ladder = tuple[Step, ...]
"""One kind of change in rising amounts."""


class UnprovenError(Exception):
    """A trial could not be proven in its time, so that it cannot be told what is the least that helps."""


@record
class Advice:
    """What would give a study a date."""

    ways: tuple[WayOut, ...]
    """The ways out, the cheapest kind first."""
    helps: frozenset[type[Step]]
    """The kinds of change of which enough would help by itself, as far as they were tried."""
    tried: bool
    """Whether there was time to try all that was needed."""


class Advisor:
    """Tries changes of a book whose plan leaves studies without a slot.

    Args:
        book: the book.
        ask: what was asked.
        solved: its plan.
        ticker: a clock in seconds.
        until: its reading from which on nothing more is tried; None for no limit.
    """

    def __init__(
        self, book: Book, ask: Question, solved: Solved, ticker: Callable[[], float] | None, until: float | None
    ) -> None:
        self.book, self.ask, self.solved = book, ask, solved
        self.ticker, self.until = ticker, until
        self._until: float | None = until
        self._left_open = False
        self._trials: dict[tuple[Step, ...], Solved | None] = {}
        self._too_long: set[tuple[Step, ...]] = set()
        self._work = sum(need.minutes for need in solved.frame.problem.needs)
        self._work += sum(item.minutes + item.short for item in solved.frame.standing)

    def advise(self, study: Candidate, waiting: int = 1) -> Advice:
        """The ways out for a study without a slot.

        Args:
            study: the study.
            waiting: how many studies still wait for advice, this one included; it gets its share of the time.
        """
        self._until = None
        if self.ticker is not None and self.until is not None:
            self._until = self.ticker() + max(0.0, self.until - self.ticker()) / waiting
        self._left_open = False
        ways: list[WayOut] = []
        kinds = self._kinds(study)
        for ladders in kinds:
            if len(ways) < MOST and (way := self._of_kind(study, ladders)):
                ways.append(way)
        if not ways and (pair := self._two_together(study, [ladder for kind in kinds for ladder in kind])):
            ways.append(pair)
        helps = frozenset(type(change) for way in ways if len(way.changes) == 1 for change in way.changes)
        return Advice(tuple(ways), helps, tried=not self._left_open)

    def _of_kind(self, study: Candidate, ladders: Sequence[Ladder]) -> WayOut | None:
        """The least change of one kind that helps; None if none does."""
        found = []
        for ladder in ladders:
            try:
                if rung := self._least(study, ladder):
                    found.append(rung)
            except UnprovenError:
                self._left_open = True
        if not found:
            return None
        _, change = min(found, key=lambda rung: rung[0])
        return self._way(study, (change,))

    # What can be changed

    def _kinds(self, study: Candidate) -> list[list[Ladder]]:
        """The kinds of change from cheap to dear, each with its ladders."""
        book, series = self.book, study.series
        weeks = self.ask.horizon_weeks
        others = [rule.id for rule in book.rules if rule.id not in series.rules]
        pins = [pin for pin in book.pins if pin.kind is not PinKind.PAIR and pin.id not in self.solved.dropped]
        return [
            [(FoundToday(self._work),)],
            [tuple(LookFurther(weeks + n) for n in range(1, FURTHER + 1))],
            _wider(study),
            [tuple(LowerGap(series.id, series.min_weeks - n) for n in range(1, series.min_weeks + 1))],
            [(AllowSlot(series.id, rule),) for rule in others],
            [(PublishInDark(dark.id),) for dark in book.dark if dark.no_publication],
            [(Unpin(pin.id),) for pin in pins],
        ]

    # Trying

    def _least(self, study: Candidate, ladder: Ladder, beside: tuple[Step, ...] = ()) -> tuple[int, Step] | None:
        """The lowest rung of a ladder that helps, with its number; None if not even the highest does."""
        top = self._rung_that_helps(study, ladder, beside)
        if top is None:
            return None
        if isinstance(ladder[-1], FoundToday):
            return self._least_hours(study, beside)

        def needs(rung: int) -> int | None:
            return self._rung_needed(ladder, rung, beside) if self._helps(study, (*beside, ladder[rung])) else None

        rung = _lowest(*top, needs)
        while rung and self._helps(study, (*beside, ladder[rung - 1])):
            rung -= 1
        return (rung, ladder[rung]) if self._helps(study, (*beside, ladder[rung])) else None

    def _rung_needed(self, ladder: Ladder, rung: int, beside: tuple[Step, ...]) -> int:
        """The least rung with which the plan of a rung can be had: of weeks, as many as its last study needs."""
        step = ladder[rung]
        found = self.trial((*beside, step))
        if not isinstance(step, LookFurther) or found is None:
            return rung
        last = max(found.frame.problem.days[at] for at in found.solution.places.values())
        return rung - (step.weeks - -(-last // 7))

    def _rung_that_helps(self, study: Candidate, ladder: Ladder, beside: tuple[Step, ...]) -> tuple[int, int] | None:
        """A rung that helps and one below it that does not (-1: none below); None if not even the highest helps.

        Of weeks further few are tried first: many make planning slow.
        """
        last = len(ladder) - 1
        few = FEW if ladder and isinstance(ladder[0], LookFurther) else ()
        below = -1
        for rung in (*(rung for rung in few if rung < last), *([last] if ladder else ())):
            if self._helps(study, (*beside, ladder[rung])):
                return below, rung
            below = rung
        return None

    def _least_hours(self, study: Candidate, beside: tuple[Step, ...]) -> tuple[int, Step] | None:
        """The least hours that help, with the last day by which they may be found; None if none do.

        Where all usual content fits, hours are worth the more the sooner they are found; so the least number is
        that for today, and the last day is found by halving. Where some content does not fit, hours found sooner
        may go to it: then some days are tried, and what is told is the least for its day.
        """
        ample = self.trial((*beside, FoundToday(self._work)))
        assert ample is not None  # it was found to help
        days = sorted({ready for ready in ample.frame.problem.ready if ready >= 0})
        best = None
        if not any(work.short for work in self.solved.frame.standing):
            best = self._hours_by_halving(study, days, beside)
        best = best or self._hours_by_day(study, days[:: -(-len(days) // SOME_DAYS)], beside)
        if best is None:
            return None
        last = ample.frame.today + timedelta(weeks=ample.frame.horizon_weeks)
        halves, by = best
        by = found_hours(self.book, self._hours(halves, by))[-1].day
        while True:
            next_due = next((self._day(day) for day in days if self._day(day) > by), by)
            later = by + timedelta(1)
            while is_workless(self.book, later) and later <= last:
                later += timedelta(1)
            if halves > 1 and self._hours_help(study, halves - 1, by, beside):
                halves = _lowest(0, halves - 1, partial(self._halves_needed_by, study, by, beside), sure=False)
            elif next_due > by and self._hours_help(study, halves, next_due, beside):
                by = next_due
            elif self._hours_help(study, halves, later, beside):
                by = later
            else:
                return halves, self._hours(halves, by)

    def _hours_by_halving(
        self, study: Candidate, days: Sequence[int], beside: tuple[Step, ...]
    ) -> tuple[int, date] | None:
        """Least half hours found today that help, and the last of some days by which they still do."""
        high = _lowest(0, self._work // HALF_HOUR + 1, partial(self._halves_needed, study, beside))
        first = next((at for at, day in enumerate(days) if self._room(self._day(day)) >= HALF_HOUR * high), None)
        if first is None or not self._hours_help(study, high, self._day(days[first]), beside):
            return None
        at, end = first, len(days)
        while end - at > 1:
            middle = (at + end) // 2
            at, end = (middle, end) if self._hours_help(study, high, self._day(days[middle]), beside) else (at, middle)
        return high, self._day(days[at])

    def _halves_needed(self, study: Candidate, beside: tuple[Step, ...], halves: int) -> int | None:
        """How many half hours found today the plan for so many of them needs; None if so many do not help."""
        return self._spared(study, halves, (*beside, FoundToday(HALF_HOUR * halves)))

    def _halves_needed_by(self, study: Candidate, by: date, beside: tuple[Step, ...], halves: int) -> int | None:
        """The same, found by a day."""
        return self._spared(study, halves, (*beside, self._hours(halves, by)))

    def _spared(self, study: Candidate, halves: int, changes: tuple[Step, ...]) -> int | None:
        """How many of the half hours found by some changes their plan needs; None if they do not help."""
        found = self.trial(changes) if self._helps(study, changes) else None
        if found is None:
            return None
        return max(1, halves - -minutes_short(found.frame.problem, found.solution.places) // HALF_HOUR)

    def _hours_by_day(self, study: Candidate, days: Sequence[int], beside: tuple[Step, ...]) -> tuple[int, date] | None:
        """Least half hours that help over some days by which they may be found, and the last of them for so many."""
        best: tuple[int, date] | None = None
        for by in map(self._day, days):
            high = min(best[0] if best else self._work // HALF_HOUR + 1, self._room(by) // HALF_HOUR)
            if high < 1 or not self._hours_help(study, high, by, beside):
                continue
            best = (_lowest(0, high, partial(self._halves_needed_by, study, by, beside), sure=False), by)
        return best

    def _day(self, offset: int) -> date:
        return self.ask.today + timedelta(offset)

    def _hours_help(self, study: Candidate, halves: int, by: date, beside: tuple[Step, ...]) -> bool:
        weeks = max([self.ask.horizon_weeks, *(step.weeks for step in beside if isinstance(step, LookFurther))])
        return by <= self.ask.today + timedelta(weeks=weeks) and self._helps(study, (*beside, self._hours(halves, by)))

    def _hours(self, halves: int, by: date) -> MoreHours:
        return MoreHours(HALF_HOUR * halves, by, self.ask.today)

    def _room(self, by: date) -> int:
        """Minutes that can be found until a day."""
        return sum(extra.minutes for extra in found_hours(self.book, MoreHours(self._work, by, self.ask.today)))

    def _two_together(self, study: Candidate, ladders: Sequence[Ladder]) -> WayOut | None:
        """The cheapest two changes of different kinds that help together; None if there are none."""
        for one, two in combinations([ladder for ladder in ladders if ladder], 2):
            try:
                if type(one[0]) is not type(two[0]) and (way := self._pair(study, one, two)):
                    return way
            except UnprovenError:
                self._left_open = True
        return None

    def _pair(self, study: Candidate, one: Ladder, two: Ladder) -> WayOut | None:
        """The least of two kinds of change that helps together; None if not even the most of both does."""
        if not self._helps(study, (one[-1], two[-1])):
            return None
        if isinstance(two[-1], LookFurther):  # weeks further first: they make planning slow
            one, two = two, one
        first, second, before = self._least(study, one, (two[-1],)), None, None
        for _ in range(ROUNDS):  # until each is the least beside the other
            if not first or first == before:
                break
            second, before = self._least(study, two, (first[1],)), first
            first = self._least(study, one, (second[1],)) if second else None
        if not first or not second or first != before:
            return None
        both = (first[1], second[1])
        if self._helps(study, both[:1]) or self._helps(study, both[1:]):
            return None  # one of them would do, but how much of it is the least was sought beside the other
        return self._way(study, both)

    def _helps(self, study: Candidate, changes: tuple[Step, ...]) -> bool:
        """Whether the study has a slot after the changes, as many others have one, and no promise more is broken."""
        trial = self.trial(changes)
        if trial is None:
            return False
        here, there = self.solved.solution, trial.solution
        more = len(there.places) > len(here.places) and trial.broken <= self.solved.broken
        return more and study.key in there.places

    def trial(self, changes: tuple[Step, ...]) -> Solved | None:
        """The book solved again after some changes; None if a change is refused, or no more studies have a slot.

        Raises:
            UnprovenError: it cannot be proven in the time there is.
        """
        if changes not in self._trials:
            left = self._time_left()
            if changes in self._too_long or (left is not None and left <= 0):
                raise UnprovenError
            found = self._solve(changes, left)
            if found and not found.solution.proven:
                if left == TRIAL_SECONDS:
                    self._too_long.add(changes)
                raise UnprovenError
            self._trials[changes] = found
        return self._trials[changes]

    def _time_left(self) -> float | None:
        """Seconds for one trial; None for no limit."""
        if self._until is None or self.ticker is None:
            return None
        return min(self._until - self.ticker(), TRIAL_SECONDS)

    def _solve(self, changes: tuple[Step, ...], time_limit: float | None) -> Solved | None:
        book, ask = self.book, self.ask
        try:
            for change in changes:
                if isinstance(change, FoundToday):
                    ask = replace(ask, more=(0, change.minutes))
                elif isinstance(change, LookFurther):
                    ask = replace(ask, horizon_weeks=change.weeks)
                else:
                    book = carried_out(book, change)
            return solve_book(book, ask, time_limit=time_limit, ticker=self.ticker, beat=self.solved)
        except (ShowrunnerError, NoBetter):
            return None

    def _way(self, study: Candidate, steps: tuple[Step, ...]) -> WayOut | None:
        """Changes that help as a way out in words; None if they do not."""
        changes = tuple(step for step in steps if not isinstance(step, FoundToday))
        if not self._helps(study, changes):
            return None
        found = self.trial(changes)
        assert found is not None  # it helps
        airs = found.frame.problem.slots[found.solution.places[study.key]].day
        told = words.listing([change_words(self.book, change) for change in changes])
        return WayOut(changes, airs, f"With {told}, {quoted(study.title)} airs on {words.day(airs)}.")


def _lowest(low: int, high: int, needs: Callable[[int], int | None], *, sure: bool = True) -> int:
    """The lowest number that helps.

    Where a number helps, its plan may need less than that. So most often the answer is found by asking for what
    the plan needs, and for the number below.

    Args:
        low: helps not, and nothing below it.
        high: helps, and all above it.
        needs: what the plan of a number needs; None if the number does not help.
        sure: whether what a plan needs is known to help without being asked for.
    """
    probe = high
    while high - low > 1 or probe == high:
        needed = needs(probe)
        if needed is None:
            low, probe = probe, (probe + high) // 2
            continue
        stepped, high = probe == high - 1, probe
        least = max(low + 1, min(needed, high))
        if sure:
            high = least
        probe = least if least < high else (low + high) // 2 if stepped else high - 1
    return high


def _wider(study: Candidate) -> list[Ladder]:
    """Each hard window of a study wider at its end, and at its start, in whole weeks."""
    ladders: list[Ladder] = []
    for at, window in enumerate(study.windows):
        if not window.hard or study.implied:
            continue
        later = [(window.first, window.last + timedelta(weeks=n)) for n in range(1, WIDER + 1)]
        sooner = [(window.first - timedelta(weeks=n), window.last) for n in range(1, WIDER + 1)]
        for edges in (later, sooner):
            fit = [edge for edge in edges if _can_be(window, *edge)]
            ladders.append(tuple(WidenWindow(study.key, at, first, last) for first, last in fit))
    return ladders


def _can_be(window: Window, first: date, last: date) -> bool:
    """Whether a window may have these edges: a yearly one must stay shorter than a year."""
    return not window.yearly or (last - first).days < 365
