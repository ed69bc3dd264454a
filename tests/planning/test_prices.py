"""Prices on what series compete for: a true bound, that comes close where one slot or some hours are wanted twice."""

from __future__ import annotations

import pytest
from test_search import weekly

from showrunner.planning.limit import ENDLESS
from showrunner.planning.prices import find_prices, in_one
from showrunner.planning.problem import Need, Problem, Spacing
from showrunner.planning.search import Search, solve

WEEK2 = 49


def wanted_twice() -> Problem:
    """Two series whose only study has one slot of three without unevenness, the same for both."""
    needs = tuple(Need(f"s{n}", n, n, 300, (WEEK2, 0, WEEK2)) for n in range(2))
    return weekly(3, needs, (Spacing(7, 14, None),) * 2, [900, 0, 0], 0)


def hours_wanted_twice() -> Problem:
    """Two series that could have a slot each without unevenness, but the hours until then hold one study only."""
    needs = tuple(Need(f"s{n}", n, n, 300, (0, 0, WEEK2)) for n in range(2))
    return weekly(3, needs, (Spacing(7, 14, None),) * 2, [300, 0, 300], 0)


@pytest.mark.parametrize("problem", [wanted_twice(), hours_wanted_twice()], ids=["slot", "hours"])
@pytest.mark.parametrize("out", [0, 1])
def test_prices_close_the_gap_where_two_series_want_the_same(problem: Problem, out: int) -> None:
    ready = Search(problem, ENDLESS)
    ready._prepare()
    ready.must = 2 - out
    weight = ready.weight
    assert solve(problem).score.points == WEEK2
    assert ready._root()[0] - out * weight.unplaced < weight.point
    target = (0 if out else WEEK2 * weight.point) + weight.point
    ready.prices = find_prices(
        ready.space, in_one(ready.space), weight, ready.room, out, target, ready.reaches, ENDLESS
    )
    ready._make_tables()
    least = ready._root()[0] - out * weight.unplaced
    if out:
        assert least < weight.point, "one study alone costs nothing"
    else:
        assert 0.95 * WEEK2 * weight.point < least <= weight.pack(solve(problem).score)
