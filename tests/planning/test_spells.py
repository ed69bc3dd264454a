"""The habit of the record - a rate known only so well, and bad spells - held against every way it can go.

The law is written down here a second time, from its words alone. A series' own rate has the distribution
Beta(5 m + l, 5 (1 - m) + n - l), where l of n own lines and L of all N lines were late, m = (L + 1/2) / (N + 1);
three rates with weights stand for it (the Gauss rule, here by scipy). A calm week is followed by a bad one with
chance 1/130, a bad one by a calm one with chance 1/6. In a bad week a try fails with chance .85, in a calm one so
often that over all weeks it is the rate, within 0 and .85. At first the chance of a bad week is its share in the
long run.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from itertools import accumulate, pairwise, product
from random import Random

import numpy as np
import pytest
from books import TODAY, small
from effort import examples
from hypothesis import given
from hypothesis import strategies as st
from scipy.linalg import fractional_matrix_power
from scipy.special import roots_jacobi
from scipy.stats import binom

from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.publication import Publication
from showrunner.planning.runout import run_out
from showrunner.planning.sliprate import habit, slip_rate
from showrunner.planning.slips import Habit, air_days

WEEK = np.array([[129 / 130, 1 / 130], [1 / 6, 5 / 6]])
"""Chance of calm (0) and bad (1) next week, by this week."""

LONG_RUN = np.linalg.matrix_power(WEEK, 2000)[0]
"""Chance of calm and bad in a week of which nothing is known."""

MINE = "mine"


def line(series: str = MINE, weeks: int | None = 0, day: date = date(2025, 1, 5)) -> Publication:
    """A line of the record that came so many weeks late; None: it was missed."""
    came = None if weeks is None else FuzzyDate.exact(day + timedelta(weeks=weeks))
    return Publication("x", "x", "sunday", day, came, series=series)


def record(own_late: int, own: int, other_late: int = 0, other: int = 0) -> list[Publication]:
    counts = ((MINE, own_late, own), ("", other_late, other))
    return [line(series, int(number < late)) for series, late, of in counts for number in range(of)]


def rates(own_late: int, own: int, other_late: int, other: int) -> list[tuple[float, float]]:
    """Three rates with their weights."""
    pool = (own_late + other_late + 0.5) / (own + other + 1)
    a, b = 5 * pool + own_late, 5 * (1 - pool) + own - own_late
    nodes, weights = roots_jacobi(3, b - 1, a - 1)
    return [((node + 1) / 2, weight / sum(weights)) for node, weight in zip(nodes, weights, strict=True)]


def fails(rate: float) -> tuple[float, float]:
    """Chance that a try fails in a calm and in a bad week."""
    return min(0.85, max(0.0, (rate - 0.85 * LONG_RUN[1]) / LONG_RUN[0])), 0.85


def lived(
    planned: Sequence[int], free: Sequence[int], days: Sequence[int], least: int, missed: Sequence[bool]
) -> list[int]:
    """The slots in which the studies air if whatever is tried in some slots fails."""
    aired: list[int] = []
    for wish in planned:
        for slot in sorted({*free, *planned}):
            late_enough = not aired or (slot > aired[-1] and days[slot] - days[aired[-1]] >= least)
            if slot >= wish and late_enough and not missed[slot]:
                aired.append(slot)
                break
        else:
            break
    return aired


def every_way(
    planned: Sequence[int],
    free: Sequence[int],
    days: Sequence[int],
    least: int,
    known: Sequence[tuple[float, float]],
) -> list[dict[int, float]]:
    """Chance of each slot, by living through every run of calm and bad weeks and every way the tries go."""
    found: list[dict[int, float]] = [defaultdict(float) for _ in planned]
    steps = [fractional_matrix_power(WEEK, (two - one) / 7).real for one, two in pairwise(days)]
    for weeks in product((0, 1), repeat=len(days)):
        run = LONG_RUN[weeks[0]]
        for step, one, two in zip(steps, weeks, weeks[1:], strict=False):
            run *= step[one, two]
        for missed in product((True, False), repeat=len(days)):
            chance = 0.0
            for rate, weight in known:
                by_week = fails(rate)
                tries = [by_week[week] if miss else 1 - by_week[week] for week, miss in zip(weeks, missed, strict=True)]
                chance += weight * run * np.prod(tries)
            for number, slot in enumerate(lived(planned, free, days, least, missed)):
                found[number][slot] += chance
    return [dict(one) for one in found]


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(12))
def test_the_chances_are_those_of_every_way_the_weeks_and_the_tries_can_go(seed: int) -> None:
    random = Random(seed)
    count = random.randint(3, 6)
    days = sorted(random.choices(range(0, 60), k=count))
    free = sorted(random.sample(range(count), random.randint(1, count)))
    planned = sorted(random.sample(range(count), random.randint(1, 3)))
    least = random.choice((0, 1, 7, 14))
    own, other = random.choice(((0, 0), (0, 9), (2, 4), (12, 30), (5, 0)))
    late = random.randint(0, own), random.randint(0, other)
    wanted = every_way(planned, free, days, least, rates(late[0], own, late[1], other))
    law = habit(slip_rate(record(late[0], own, late[1], other), MINE))
    for one, two in zip(air_days(planned, free, days, least, law), wanted, strict=True):
        for slot in {*one, *two}:
            assert one.get(slot, 0.0) == pytest.approx(two.get(slot, 0.0), abs=1e-12)


def test_a_habit_without_slips_still_allows_for_a_spell() -> None:
    # In calm weeks nothing slips; a try fails with .85 in a share of (1/130) / (1/130 + 1/6) of the weeks.
    (only,) = air_days([0], [0, 1], [0, 7], 0, Habit(((0.0, 1.0),), True))
    assert only[0] == pytest.approx(1 - 0.85 * 6 / 136)
    # After a slip the week was bad for sure; the next is with 5/6, and a try in it fails with .85 again.
    assert only[1] == pytest.approx(0.85 * 6 / 136 * (1 - 5 / 6 * 0.85))


@pytest.mark.slow
def test_a_long_plan_airs_as_often_as_in_a_simulation_week_by_week() -> None:
    random, runs = Random(5), 8_000
    planned, least, late = [2, 6, 10, 13], 3, (4, 30, 1, 60)
    known = rates(late[0], late[1], late[2], late[3])
    aired = np.zeros((len(planned), 60))
    for _ in range(runs):
        by_week = fails(random.choices([rate for rate, _ in known], [weight for _, weight in known])[0])
        week = int(random.random() < LONG_RUN[1])
        missed = []
        for _ in range(60):
            missed.append(random.random() < by_week[week])
            week = int(random.random() < WEEK[week, 1])
        for number, slot in enumerate(lived(planned, range(60), range(60), least, missed)):
            aired[number, slot] += 1
    law = habit(slip_rate(record(*late), MINE))
    for number, chances in enumerate(air_days(planned, range(60), range(0, 420, 7), 7 * least, law)):
        by = [min(1.0, chance) for chance in accumulate(chances.get(slot, 0.0) for slot in range(60))]
        counts = aired[number].cumsum()
        # What a count of so many runs can be, but for one in a hundred million on either side.
        assert (counts >= binom.ppf(1e-8, runs, by)).all()
        assert (counts <= binom.isf(1e-8, runs, by)).all()


def never_nearer(before: list[dict[int, float]], after: list[dict[int, float]], slots: int) -> None:
    for one, two in zip(before, after, strict=True):
        soon = accumulate(one.get(slot, 0.0) for slot in range(slots))
        late = accumulate(two.get(slot, 0.0) for slot in range(slots))
        assert all(second <= first + 1e-12 for first, second in zip(soon, late, strict=True))


LINES = st.tuples(st.sampled_from((MINE, "", "other")), st.sampled_from((0, 0, 0, 1, 4, None)))
PLANS = st.lists(st.integers(0, 30), min_size=1, max_size=5, unique=True).map(sorted)
LATE = st.tuples(st.sampled_from((MINE, "", "other")), st.sampled_from((1, 2, 9, None)))


@given(lines=st.lists(LINES, max_size=40), late=LATE, planned=PLANS, least=st.integers(0, 5), each=st.integers(1, 9))
@examples(200)
def test_one_more_late_line_never_brings_any_study_nearer(
    lines: list[tuple[str, int | None]], late: tuple[str, int | None], planned: list[int], least: int, each: int
) -> None:
    days = range(0, 60 * each, each)
    known = [line(*one) for one in lines]
    before, after = (
        air_days(planned, range(60), days, 7 * least, habit(slip_rate(told, MINE)))
        for told in (known, [*known, line(*late)])
    )
    never_nearer(before, after, 60)


@given(lines=st.lists(LINES, min_size=1, max_size=40), at=st.integers(0, 39), late=LATE, planned=PLANS)
@examples(100)
def test_a_line_that_turns_out_late_or_later_never_brings_any_study_nearer(
    lines: list[tuple[str, int | None]], at: int, late: tuple[str, int | None], planned: list[int]
) -> None:
    at %= len(lines)
    turned = [*lines[:at], (lines[at][0], late[1]), *lines[at + 1 :]]
    before, after = (
        air_days(planned, range(60), range(0, 420, 7), 14, habit(slip_rate([line(*one) for one in told], MINE)))
        for told in (lines, turned)
    )
    never_nearer(before, after, 60)


@pytest.mark.parametrize("late", [line("looks", 1), line("looks", None), line("", 2)])
def test_one_more_late_line_never_brings_the_end_of_a_book_nearer(late: Publication) -> None:
    known = (line("looks", 0), line("looks", 1), *(line("", 0) for _ in range(8)))
    before, after = (
        dict(run_out(small(3, unsure=2).put("publications", *numbered(lines)), TODAY).end)
        for lines in (known, (*known, late))
    )
    assert before != after
    soon = later = 0.0
    for day in sorted({*before, *after}):
        soon, later = soon + before.get(day, 0.0), later + after.get(day, 0.0)
        assert later <= soon + 1e-9


def numbered(lines: Sequence[Publication]) -> list[Publication]:
    return [replace(one, id=f"p{number}") for number, one in enumerate(lines)]
