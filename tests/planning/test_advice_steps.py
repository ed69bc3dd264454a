"""How the least of a change is sought: beside looking at every amount there is."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from books import TODAY, small
from hypothesis import given
from hypothesis import strategies as st

from showrunner.domain.episode import Window
from showrunner.planning.advice import FEW, FURTHER, HALF_HOUR, WIDER, Advisor, Step, _lowest, _wider
from showrunner.planning.candidates import Candidate, candidates
from showrunner.planning.changes import LookFurther, MoreHours, WidenWindow
from showrunner.planning.choices import Unsure
from showrunner.planning.solving import Question, Solved, solve_book

WEEKS = 6
BOOK = small(2)
ASK = Question(TODAY, WEEKS, Unsure.LEFT_OUT)
(STUDY, OTHER), _ = candidates(BOOK, Unsure.LEFT_OUT)
SOLVED = solve_book(BOOK, ASK)


@given(st.data())
def test_the_lowest_that_helps_is_found_whatever_plans_say_they_need(data: st.DataObject) -> None:
    low = data.draw(st.integers(0, 5))
    high = data.draw(st.integers(low + 1, 40))
    least = data.draw(st.integers(low + 1, high))
    sure = data.draw(st.booleans())
    asked = []

    def needs(number: int) -> int | None:
        asked.append(number)
        assert low < number <= high
        if number < least:
            return None
        return data.draw(st.integers(least if sure else 0, number))

    assert _lowest(low, high, needs, sure=sure) == least
    assert len(asked) == len(set(asked))


def test_where_each_plan_needs_just_what_helps_two_questions_do() -> None:
    asked = []

    def needs(number: int) -> int | None:
        asked.append(number)
        return 17 if number >= 17 else None

    assert _lowest(0, 1000, needs) == 17
    assert asked == [1000, 16]


class Told(Advisor):
    """An adviser who is told what helps, and counts what was asked."""

    def __init__(self, helps: Any, solved: Solved = SOLVED) -> None:
        super().__init__(BOOK, ASK, solved, None, None)
        self.helps, self.asked = helps, []

    def _helps(self, study: Candidate, changes: tuple[Step, ...]) -> bool:
        self.asked.append(changes)
        return bool(self.helps(*changes))

    def trial(self, changes: tuple[Step, ...]) -> Solved | None:
        return SOLVED


LADDER = tuple(LookFurther(WEEKS + n) for n in range(1, FURTHER + 1))


@pytest.mark.parametrize("least", [1, 2, FEW[0] + 1, FEW[0] + 2, FEW[1] + 1, FEW[2] + 1, FEW[2] + 2, FURTHER, None])
def test_of_weeks_further_few_are_tried_before_many(least: int | None) -> None:
    advisor = Told(lambda step: least is not None and step.weeks >= WEEKS + least)
    found = advisor._rung_that_helps(STUDY, LADDER, ())
    tried = [step.weeks - WEEKS - 1 for (step,) in advisor.asked]
    wanted = [*FEW, FURTHER - 1]
    if least is None:
        assert found is None
        assert tried == wanted
        return
    rung = next(rung for rung in wanted if rung >= least - 1)
    assert found == (max((below for below in wanted if below < rung), default=-1), rung)
    assert tried == [below for below in wanted if below <= rung]


def test_of_a_short_ladder_only_the_highest_is_tried_and_of_none_nothing() -> None:
    advisor = Told(lambda _: True)
    assert advisor._rung_that_helps(STUDY, LADDER[:2], ()) == (-1, 1)
    assert advisor._rung_that_helps(STUDY, (), ()) is None
    assert advisor.asked == [(LADDER[1],)]
    assert Told(lambda step: step.last >= TODAY)._rung_that_helps(STUDY, WINDOWS, ()) == (-1, len(WINDOWS) - 1)


WINDOWS = tuple(WidenWindow("s0", 0, TODAY, TODAY + timedelta(weeks=n)) for n in range(1, WIDER + 1))


@pytest.mark.parametrize("waiting", [1, 2, 5])
def test_each_study_that_waits_has_its_share_of_the_time(waiting: int) -> None:
    class Idle(Advisor):
        def _kinds(self, study: Candidate) -> list[list[tuple[Step, ...]]]:
            return []

    advisor = Idle(BOOK, ASK, SOLVED, lambda: 10.0, 40.0)
    advice = advisor.advise(STUDY, waiting)
    assert advisor._until == 10 + 30 / waiting
    assert (advice.ways, advice.helps, advice.tried) == ((), frozenset(), True)
    late = Idle(BOOK, ASK, SOLVED, lambda: 50.0, 40.0)
    late.advise(STUDY, waiting)
    assert late._until == 50.0


class Hours(Advisor):
    """An adviser for whom so many half hours help as a list says for the day by which they are found.

    Attributes:
        needed: for each day from today, least half hours found by then that help; hours found sooner help as well.
    """

    def __init__(self, needed: list[int], *, short: bool) -> None:
        standing = SimpleNamespace(minutes=60, short=int(short))
        frame = SimpleNamespace(problem=SOLVED.frame.problem, standing=[standing], today=TODAY, horizon_weeks=WEEKS)
        solved: Any = SimpleNamespace(frame=frame, solution=SOLVED.solution)
        super().__init__(BOOK, ASK, solved, None, None)
        self.needed = needed

    def _helps(self, study: Candidate, changes: tuple[Step, ...]) -> bool:
        (step,) = changes
        if isinstance(step, MoreHours):
            at = (step.by - TODAY).days
            return at < len(self.needed) and step.minutes >= HALF_HOUR * self.needed[at]
        return step.minutes >= HALF_HOUR * self.needed[0]  # type: ignore[union-attr]

    def trial(self, changes: tuple[Step, ...]) -> Solved | None:
        return self.solved

    def _spared(self, study: Candidate, halves: int, changes: tuple[Step, ...]) -> int | None:
        return halves if self._helps(study, changes) else None


READY = sorted({day for day in SOLVED.frame.problem.ready if day >= 0})
"""Days by which something must be ready: hours found between two of them serve the later one alike."""


@given(st.lists(st.integers(0, 3), min_size=1, max_size=len(READY)), st.integers(1, 6), st.booleans())
def test_hours_are_the_least_for_a_day_after_which_they_help_no_more(rises: list[int], first: int, short: bool) -> None:
    by_ready = [first + sum(rises[:at]) for at in range(len(rises))]
    needed = [
        next(n for day, n in zip(READY, by_ready, strict=False) if day >= at) for at in range(READY[len(rises) - 1] + 1)
    ]
    found = Hours(needed, short=short)._least_hours(STUDY, ())
    assert found is not None
    halves, step = found
    assert isinstance(step, MoreHours)
    assert step == MoreHours(HALF_HOUR * halves, step.by, TODAY)
    at = (step.by - TODAY).days
    assert halves == needed[at]  # a half hour less does not help
    assert at + 1 == len(needed) or needed[at + 1] > halves  # nor do they a day later
    if not short:
        assert halves == needed[0]  # found today so few would do


def test_a_window_is_widened_week_by_week_at_either_end_and_a_soft_one_not() -> None:
    window = Window(date(2026, 4, 6), date(2026, 4, 12), hard=True)
    later, sooner = _wider(replace(STUDY, windows=(window,)))
    assert later == tuple(WidenWindow("s0", 0, window.first, window.last + timedelta(weeks=n)) for n in range(1, 27))
    assert sooner == tuple(WidenWindow("s0", 0, window.first - timedelta(weeks=n), window.last) for n in range(1, 27))
    assert _wider(replace(STUDY, windows=(replace(window, hard=False),))) == []
    assert _wider(replace(STUDY, windows=(window,), implied=True)) == []
    yearly = replace(window, last=window.first + timedelta(days=350), yearly=True)
    later, sooner = _wider(replace(STUDY, windows=(yearly,)))
    assert (len(later), len(sooner)) == (2, 2)  # 364 days; a year and more is no season
