"""Ways out for a study that has no slot: only what was carried out on a copy of the book and solved again.

Of each kind of change the least amount that works is sought, in units that can be entered: half hours, whole
weeks. The cheapest three kinds are told; where no single change helps, two that help together.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import combinations

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.episode import PinKind, Window
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
from showrunner.planning.results import WayOut
from showrunner.planning.solving import Question, Solved, solve_book

HALF_HOUR = 30
"""Step of hours, minutes."""

FURTHER = 104
"""Most weeks further that are looked."""

WIDER = 26
"""Most weeks by which a window is widened on one side."""

MOST = 3
"""Ways out that are told."""

TRIAL_SECONDS = 1.0
"""Time for one trial; what takes longer is not advised."""

Ladder = tuple[Change, ...]
"""One kind of change in rising amounts."""


class TimeIsUpError(Exception):
    """Nothing further can be tried."""


@dataclass(frozen=True, slots=True)
class Advice:
    """What would give a study a date."""

    ways: tuple[WayOut, ...]
    """The ways out, the cheapest kind first."""
    helps: frozenset[type[Change]]
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
        self._trials: dict[tuple[Change, ...], Solved | None] = {}

    def advise(self, study: Candidate) -> Advice:
        """The ways out for a study without a slot."""
        ways: list[WayOut] = []
        helps: set[type[Change]] = set()
        try:
            kinds = self._kinds(study)
            for ladders in kinds:
                found = [rung for ladder in ladders if (rung := self._least(study, ladder))]
                if not found:
                    continue
                amount, change = min(found, key=lambda rung: rung[0])
                if way := self._way(study, (change,)):
                    helps.add(type(change))
                    ways.append(way)
                if len(ways) == MOST:
                    break
            if not ways and (pair := self._two_together(study, [ladder for kind in kinds for ladder in kind])):
                ways.append(pair)
        except TimeIsUpError:
            return Advice(tuple(ways), frozenset(helps), tried=bool(ways))
        return Advice(tuple(ways), frozenset(helps), tried=True)

    # What can be changed

    def _kinds(self, study: Candidate) -> list[list[Ladder]]:
        """The kinds of change from cheap to dear, each with its ladders."""
        book, today, series = self.book, self.ask.today, study.series
        work = sum(need.minutes for need in self.solved.frame.problem.needs)
        work += sum(item.minutes + item.short for item in self.solved.frame.standing)
        halves = range(1, work // HALF_HOUR + 2)
        weeks = self.ask.horizon_weeks
        others = [rule.id for rule in book.rules if rule.id not in series.rules]
        pins = [pin for pin in book.pins if pin.kind is not PinKind.PAIR and pin.id not in self.solved.dropped]
        return [
            [tuple(MoreHours(HALF_HOUR * n, today, today) for n in halves)],
            [tuple(LookFurther(weeks + n) for n in range(1, FURTHER + 1))],
            _wider(study),
            [tuple(LowerGap(series.id, series.min_weeks - n) for n in range(1, series.min_weeks + 1))],
            [(AllowSlot(series.id, rule),) for rule in others],
            [(PublishInDark(dark.id),) for dark in book.dark if dark.no_publication],
            [(Unpin(pin.id),) for pin in pins],
        ]

    # Trying

    def _least(self, study: Candidate, ladder: Ladder, beside: tuple[Change, ...] = ()) -> tuple[int, Change] | None:
        """The lowest rung of a ladder that helps, with its number; None if not even the highest does."""
        if not ladder or not self._helps(study, (*beside, ladder[-1])):
            return None
        low, high = -1, len(ladder) - 1
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (low, middle) if self._helps(study, (*beside, ladder[middle])) else (middle, high)
        while high and self._helps(study, (*beside, ladder[high - 1])):
            high -= 1
        change = ladder[high]
        if isinstance(change, MoreHours):
            change = self._as_late_as_can_be(study, change, beside)
        return high, change

    def _as_late_as_can_be(self, study: Candidate, change: MoreHours, beside: tuple[Change, ...]) -> MoreHours:
        """The same hours with the last day on which they still help."""
        low, high = 0, len(self.solved.frame.time)
        while high - low > 1:
            middle = (low + high) // 2
            later = replace(change, by=self.ask.today + timedelta(middle))
            low, high = (middle, high) if self._helps(study, (*beside, later)) else (low, middle)
        return replace(change, by=self.ask.today + timedelta(low))

    def _two_together(self, study: Candidate, ladders: Sequence[Ladder]) -> WayOut | None:
        """The cheapest two changes of different kinds that help together; None if there are none."""
        for one, two in combinations([ladder for ladder in ladders if ladder], 2):
            if type(one[0]) is type(two[0]) or not self._helps(study, (one[-1], two[-1])):
                continue
            first = self._least(study, one, (two[-1],))
            second = self._least(study, two, (first[1],)) if first else None
            if first and second and (way := self._way(study, (first[1], second[1]))):
                return way
        return None

    def _helps(self, study: Candidate, changes: tuple[Change, ...]) -> bool:
        """Whether the study has a slot after the changes, no other study lost its own, and no promise more is broken."""
        trial = self.trial(changes)
        if trial is None:
            return False
        here, there = self.solved.solution, trial.solution
        more = len(there.places) > len(here.places) and there.score.broken <= here.score.broken
        return more and study.key in there.places

    def trial(self, changes: tuple[Change, ...]) -> Solved | None:
        """The book solved again after some changes; None if a change is refused.

        Raises:
            TimeIsUpError: it cannot be proven in the time there is.
        """
        if changes not in self._trials:
            self._trials[changes] = self._solve(changes)
        return self._trials[changes]

    def _solve(self, changes: tuple[Change, ...]) -> Solved | None:
        book, ask = self.book, self.ask
        try:
            for change in changes:
                if isinstance(change, MoreHours):
                    ask = replace(ask, more=((change.by - ask.today).days, change.minutes))
                elif isinstance(change, LookFurther):
                    ask = replace(ask, horizon_weeks=change.weeks)
                else:
                    book = carried_out(book, change)
        except ShowrunnerError:
            return None
        return self._solved(book, ask)

    def _solved(self, book: Book, ask: Question) -> Solved:
        left = None
        if self.until is not None and self.ticker is not None:
            left = min(self.until - self.ticker(), TRIAL_SECONDS)
            if left <= 0:
                raise TimeIsUpError
        found = solve_book(book, ask, time_limit=left, ticker=self.ticker)
        if not found.solution.proven:
            raise TimeIsUpError
        return found

    def _way(self, study: Candidate, changes: tuple[Change, ...]) -> WayOut | None:
        """The changes as they would be entered, tried once more as such; None if they cannot be."""
        book, ask = self.book, self.ask
        for change in changes:
            if isinstance(change, MoreHours) and sum(d.minutes for d in found_hours(book, change)) < change.minutes:
                return None
            book = carried_out(book, change)
            ask = replace(ask, horizon_weeks=change.weeks) if isinstance(change, LookFurther) else ask
        found = self._solved(book, ask)
        slot = found.solution.places.get(study.key)
        if slot is None or len(found.solution.places) <= len(self.solved.solution.places):
            return None
        airs = found.frame.problem.slots[slot].day
        told = words.listing([change_words(self.book, change) for change in changes])
        return WayOut(changes, airs, f"With {told}, {quoted(study.title)} airs on {words.day(airs)}.")


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
