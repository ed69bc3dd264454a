"""The placing search where it is hard: days without work far ahead, studies that give hours back, ties, its limits."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from itertools import accumulate, pairwise

import pytest

from showrunner.domain.slot import Slot
from showrunner.planning import search
from showrunner.planning.problem import NOWHERE, Need, Problem, Score, Spacing, score
from showrunner.planning.search import solve

MONDAY = date(2026, 3, 2)


def weekly(weeks: int, needs: tuple[Need, ...], spacings: tuple[Spacing, ...], work: list[int], usual: int) -> Problem:
    """A slot every Sunday, ready the day before, each with so many minutes of usual content.

    Args:
        weeks: number of weeks.
        needs: the studies.
        spacings: the series.
        work: minutes of work in each week, all on its Wednesday.
        usual: minutes of the usual content.
    """
    days = tuple(6 + 7 * week for week in range(weeks))
    daily = [0] * (7 * weeks)
    for week, minutes in enumerate(work):
        daily[2 + 7 * week] += minutes
        daily[5 + 7 * week] -= usual
    spare = tuple(max(0, minutes) for minutes in accumulate(daily))
    dates = [MONDAY + timedelta(days=day) for day in days]
    slots = tuple(Slot("sunday", day, datetime(day.year, day.month, day.day, 9, tzinfo=UTC)) for day in dates)
    return Problem(slots, days, tuple(day - 1 for day in days), (usual,) * weeks, spare, needs, spacings)


def with_a_holiday(seed: int) -> Problem:
    """Two series of nine studies and more, and weeks without work in which the usual content eats what is spare."""
    dice = random.Random(seed)
    weeks, count = 30, dice.randint(9, 14)
    first, length = dice.randint(8, 20), dice.randint(2, 5)
    work = [0 if first <= week < first + length else dice.choice((600, 700)) for week in range(weeks)]
    minutes = (60, 300, 600) if seed % 2 else (300, 600, 1020)
    needs = tuple(Need(f"s{n}", n, n % 2, dice.choice(minutes), (0,) * weeks) for n in range(count))
    return weekly(weeks, needs, (Spacing(14, 21, -7), Spacing(7, 14, None)), work, 240)


class Ticks:
    """A clock that moves one tick each time it is read."""

    def __init__(self) -> None:
        self.reading = 0.0

    def __call__(self) -> float:
        self.reading += 1
        return self.reading


@pytest.mark.parametrize("seed", range(12))
def test_weeks_without_work_far_ahead_never_leave_it_without_a_plan(seed: int) -> None:
    problem = with_a_holiday(seed)
    found = solve(problem, time_limit=3000, ticker=Ticks())
    assert score(problem, found.places) == found.score
    assert found.bound <= found.score
    assert found.places


@pytest.mark.slow
@pytest.mark.parametrize("limit", [0, 1, 2, 5, 20, 100, 500, 2500])
@pytest.mark.parametrize("seed", range(4))
def test_it_ends_with_a_plan_and_a_true_bound_whenever_it_is_stopped(seed: int, limit: int) -> None:
    problem = with_a_holiday(seed)
    if seed == 3:
        problem = replace(problem, needs=tuple(replace(n, promised=(n.order * 2) % 9) for n in problem.needs))
    clock = Ticks()
    found = solve(problem, time_limit=limit, ticker=clock)
    assert clock.reading <= limit + 4  # it looks at the clock again only to end
    assert score(problem, found.places) == found.score
    best = solve(problem, time_limit=60_000, ticker=Ticks())
    assert found.bound <= best.score <= found.score
    assert found.proven is False or found.score == best.score


def every_plan(problem: Problem) -> Iterator[tuple[Score, list[tuple[int, int]], dict[str, int]]]:
    """Every plan there is with its aims, and slot by slot as slot and place in book order."""

    def rest(needs: tuple[Need, ...], places: dict[str, int]) -> Iterator[dict[str, int]]:
        if not needs:
            yield places
            return
        yield from rest(needs[1:], places)
        for slot, cost in enumerate(needs[0].cost):
            if cost is not None and slot not in places.values():
                yield from rest(needs[1:], places | {needs[0].key: slot})

    order = {need.key: need.order for need in problem.needs}
    for places in rest(problem.needs, {}):
        reached = score(problem, places)
        if reached is not None:
            yield reached, sorted((slot, order[key]) for key, slot in places.items()), places


def tied(seed: int) -> Problem:
    """A tiny problem full of ties: no spacing to speak of, alike studies of several series, a promise or none."""
    dice = random.Random(seed)
    weeks = dice.randint(3, 5)
    spacings = tuple(Spacing(0, dice.choice((0, 7)), None) for _ in range(dice.randint(1, 3)))
    count = dice.randint(2, 4)
    orders = dice.sample(range(count), count)
    needs = tuple(
        Need(
            f"s{n}",
            orders[n],
            dice.randrange(len(spacings)),
            dice.choice((120, 300)),
            tuple(None if dice.random() < 0.1 else 0 for _ in range(weeks)),
            promised=dice.choice((None, None, None, dice.randrange(weeks), NOWHERE)),
        )
        for n in range(count)
    )
    problem = weekly(weeks, needs, spacings, [dice.choice((200, 400))] * weeks, dice.choice((0, 180)))
    same_day = tuple(day - day % 14 for day in problem.days)
    return replace(problem, days=same_day) if dice.random() < 0.5 else problem


def finds_the_best_of(problem: Problem, seed: int) -> None:
    """Hold the search to the first of the best plans there are, in book order."""
    best, _, places = min(every_plan(problem), key=lambda plan: plan[:2])
    found = solve(problem)
    assert found.proven, seed
    assert (found.score, found.places) == (best, places), seed


def leave_it_to_sweeps(monkeypatch: pytest.MonkeyPatch) -> None:
    """Have the search find nothing at once, so that sweeps from the narrowest on must do the work."""
    monkeypatch.setattr(search, "EASY", 0)
    monkeypatch.setattr(search, "FIRST_WIDTH", 1)
    monkeypatch.setattr(search, "WIDE", 2)
    monkeypatch.setattr(search, "WIDTHS", (1, 2, 3, 100_000))
    monkeypatch.setattr(search, "SCARCE_WIDTHS", (1, 2, 3, 100_000))


@pytest.mark.slow
@pytest.mark.parametrize("narrow", [False, True])
@pytest.mark.parametrize("block", range(8))
def test_of_equal_plans_the_first_in_book_order_is_proven(
    block: int, narrow: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The least list of slots and places in book order among all plans, also where sweeps must do the work."""
    if narrow:
        leave_it_to_sweeps(monkeypatch)
    for seed in range(40 * block, 40 * (block + 1)):
        finds_the_best_of(tied(seed), seed)


def test_states_beyond_what_may_be_kept_are_said_to_leave_it_unproven(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(search, "EASY", 0)
    monkeypatch.setattr(search, "FIRST_WIDTH", 1)
    monkeypatch.setattr(search, "WIDE", 1)
    monkeypatch.setattr(search, "WIDTHS", (1,))
    monkeypatch.setattr(search, "SCARCE_WIDTHS", (1,))
    problem = with_a_holiday(1)
    found = solve(problem)
    assert not found.proven
    assert score(problem, found.places) == found.score
    assert found.bound <= found.score


def test_two_promises_for_one_slot_keep_one_and_the_other_study_is_still_placed() -> None:
    """The earlier in the book has the slot: the plans are equal in all else. Gaps of 14 days are as wished."""
    free: tuple[int | None, ...] = (0,) * 6
    needs = tuple(Need(f"s{n}", n, n, 60, free, promised=2) for n in range(2))
    problem = weekly(6, needs, (Spacing(7, 14, None), Spacing(7, 14, None)), [600] * 6, 240)
    found = solve(problem)
    assert found.proven
    assert found.places == {"s1": 0, "s0": 2} or found.places == {"s0": 0, "s1": 2}
    assert found.score == Score(1, 0, 0, 0, 0, 0, 6 + 20)
    assert found.places == {"s0": 0, "s1": 2}  # the first slot holds the study that stands first


def test_a_promise_is_kept_at_the_cost_of_other_studies() -> None:
    """A study of 1,020 minutes promised for the third Sunday leaves no hours for the two short ones before it.

    By each Saturday 600 - 240 minutes a week are spare; the third holds 3 x 360 + 240 = 1,320 in all.
    """
    free: tuple[int | None, ...] = (0,) * 3
    needs = (
        Need("long", 0, 0, 1300, free, promised=2),
        Need("one", 1, 0, 500, free),
        Need("two", 2, 0, 500, free),
    )
    problem = weekly(3, needs, (Spacing(7, 7, None),), [600] * 3, 240)
    found = solve(problem)
    assert found.proven
    assert found.places == {"long": 2}
    assert found.score == Score(0, 2, 0, 0, 0, 0, 20)
    unbound = replace(problem, needs=(replace(needs[0], promised=None), *needs[1:]))
    assert solve(unbound).score.unplaced == 1


def test_a_study_that_gives_hours_back_makes_room_for_a_promise() -> None:
    """Finished work in the first slot frees its 240 minutes, without which the promised study does not fit."""
    free: tuple[int | None, ...] = (0,) * 2
    needs = (Need("due", 0, 0, 1100, free, promised=1), Need("done", 1, 1, 0, free))
    problem = weekly(2, needs, (Spacing(7, 7, None), Spacing(7, 7, None)), [600] * 2, 240)
    found = solve(problem)
    assert found.proven
    assert found.places == {"done": 0, "due": 1}
    alone = replace(problem, needs=needs[:1])
    assert solve(alone).score == Score(1, 1, 0, 0, 0, 0, 0)


def test_days_ahead_are_covered_by_the_spare_minutes_that_the_tests_work_with() -> None:
    problem = with_a_holiday(0)
    assert any(later < now for now, later in pairwise(problem.spare))
