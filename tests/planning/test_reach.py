"""Where studies can stand in plans no dearer than a known one, beside every plan there is."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import combinations, pairwise, permutations

import pytest
from test_search import weekly
from test_tables import lone

from showrunner.planning import search
from showrunner.planning.limit import ENDLESS, Limit, TimeUp
from showrunner.planning.prices import Prices, find_reaches
from showrunner.planning.problem import Need, Problem, Score, Spacing, score
from showrunner.planning.reach import narrowed, widest
from showrunner.planning.search import Search, solve
from showrunner.planning.tables import NEVER, Reach, SeriesTable, SlotGrid, Weights, classes, slot_grid, weights


def crowding(seed: int) -> Problem:
    """Two series that compete for every slot, with windows that cost or forbid, and hours to spare but for a while."""
    dice = random.Random(seed)
    weeks, count = dice.randint(5, 7), dice.randint(3, 4)
    needs = tuple(
        Need(
            f"s{n}",
            n,
            dice.randrange(2),
            dice.choice((120, 300)),
            dice.choice(((0,) * weeks, tuple(dice.choice((0, 0, 49, 196, None)) for _ in range(weeks)))),
        )
        for n in range(count)
    )
    spacings = tuple(
        Spacing(dice.choice((7, 14)), dice.choice((14, 21)), dice.choice((None, -7)), dice.choice((None, 21)))
        for _ in range(2)
    )
    return weekly(weeks, needs, spacings, [dice.choice((250, 400)) for _ in range(weeks)], 0)


def full_plans(problem: Problem) -> list[tuple[Score, dict[str, int]]]:
    """Every plan that places all studies."""
    keys = [need.key for need in problem.needs]
    plans = (dict(zip(keys, slots, strict=True)) for slots in permutations(range(len(problem.slots)), len(keys)))
    return [(reached, plan) for plan in plans if (reached := score(problem, plan)) is not None]


def positions(ready: Search, series: int, plan: dict[str, int]) -> list[tuple[int, int]]:
    """Position and class of each study of a series, in time."""
    grid, groups = ready.grids[series], ready.groups[series]
    placed = {plan[need.key]: c for c, group in enumerate(groups) for need in group.members}
    return [(grid.position[slot], placed[slot]) for slot in sorted(placed)]


def within(reach: Reach, stand: list[tuple[int, int]]) -> bool:
    """Whether the studies of a series stand where they can."""
    number = len(stand)
    return all(
        reach.between[number - 1 - n][0] <= at < reach.between[number - 1 - n][1] and reach.open[c][at]
        for n, (at, c) in enumerate(stand)
    )


def priced(ready: Search, seed: int, weight: Weights) -> Prices:
    """Some prices on slots and minutes, or none."""
    dice = random.Random(seed)
    slot = [dice.choice((0, 0, 30)) * weight.point for _ in ready.room]
    minute = [dice.choice((0, 0, weight.point // 10)) for _ in ready.room]
    return Prices.of(slot, minute, ready.room)


@pytest.mark.parametrize("seed", range(60))
def test_every_plan_no_dearer_than_the_known_one_is_within_reach_at_any_prices(seed: int) -> None:
    problem = crowding(seed)
    plans = full_plans(problem)
    ready = Search(problem, ENDLESS)
    ready._prepare()
    wide = [widest(grid, groups) for grid, groups in zip(ready.grids, ready.groups, strict=True)]
    for _, plan in plans:
        assert all(within(reach, positions(ready, series, plan)) for series, reach in enumerate(wide))
    if not plans:
        return
    costs = sorted(ready.weight.pack(reached) for reached, _ in plans)
    target = costs[len(costs) // 10]
    prices = priced(ready, seed, ready.weight) if seed % 2 else ready.prices
    reaches = find_reaches(ready.space, prices, target, wide, ENDLESS)
    for reached, plan in plans:
        if ready.weight.pack(reached) <= target:
            for series, reach in enumerate(reaches):
                assert reach
                assert within(reach, positions(ready, series, plan))


def test_what_no_plan_as_good_has_is_out_of_reach() -> None:
    """Four studies, each wished two weeks after the one before: in eight weeks one plan alone has no unevenness."""
    needs = tuple(Need(f"s{n}", n, 0, 0, (0,) * 8) for n in range(4))
    ready = Search(weekly(8, needs, (Spacing(7, 14, -1),), [0] * 8, 0), ENDLESS)
    ready._prepare()
    wide = widest(ready.grids[0], ready.groups[0])
    assert wide.between == ((3, 8), (2, 7), (1, 6), (0, 5))
    days = sum(ready.problem.days[slot] for slot in (1, 3, 5, 7))
    (reach,) = find_reaches(ready.space, ready.prices, days, [wide], ENDLESS)
    assert reach
    assert reach.between == ((7, 8), (5, 6), (3, 4), (1, 2))
    assert reach.open == (((False, True) * 4),)
    assert reach.limit(8) == 20_000
    assert wide.limit(8) == 3000 * 8 * 4 // 20


def test_what_finds_no_slots_is_nowhere_and_costs_what_no_plan_costs() -> None:
    """Six studies in four weeks: the last of them have no position, and nor has any in plans that cost nothing."""
    needs = tuple(Need(f"s{n}", n, 0, 0, (0,) * 4) for n in range(6))
    ready = Search(weekly(4, needs, (Spacing(7, 7, None),), [0] * 4, 0), ENDLESS)
    ready._prepare()
    grid, groups = ready.grids[0], ready.groups[0]
    wide = widest(grid, groups)
    assert wide.between == ((0, 0),) * 6
    table = SeriesTable(grid, groups, reach=wide)
    assert table.row(table.full, 0, grid.start)[0] >= NEVER
    few = SeriesTable(grid, (replace(groups[0], members=groups[0].members[:2]),))
    assert narrowed(few, 0).between == ((0, 0), (0, 0))
    assert narrowed(SeriesTable(grid, ()), 0) == Reach((), ())


def test_it_ends_when_the_time_is_up() -> None:
    ready = Search(crowding(1), ENDLESS)
    ready._prepare()
    table = SeriesTable(ready.grids[0], ready.groups[0], parts=[0] * len(ready.groups[0]))
    narrowed(table, NEVER)
    table.time = Limit(lambda: 1.0, 0.0)
    with pytest.raises(TimeUp):
        narrowed(table, NEVER)


def rows(grid: SlotGrid, number: int) -> list[tuple[int, ...]]:
    """Every way to give studies positions that keep the least gap."""
    begin, _ = grid.gaps[grid.start]
    ways = combinations(range(begin, grid.start), number)
    return [way for way in ways if all(b >= grid.gaps[a][0] for a, b in pairwise(way))]


def span(positions: set[int]) -> tuple[int, int]:
    return (min(positions), max(positions) + 1) if positions else (0, 0)


def test_where_each_study_can_stand_is_where_it_stands_in_some_row_no_dearer() -> None:
    """Of one series, each of whose studies costs as the cheapest kind; a kind stands where its own cost allows it."""
    narrow = 0
    for seed in range(60):
        problem = lone(seed)
        groups = classes(problem, 0, weights(problem))
        grid = slot_grid(problem, 0, groups, weights(problem))
        number, table = len(problem.needs), SeriesTable(grid, groups, parts=[0] * len(groups))
        own = [min(group.cost[slot] for group in groups) for slot in grid.usable]
        wide, costs = widest(grid, groups), {}
        for row in rows(grid, number):
            gaps = [grid.gaps[last] for last in (grid.start, *row[:-1])]
            paid = sum(gap[at - begin] for (begin, gap), at in zip(gaps, row, strict=True))
            costs[row] = paid + sum(own[at] for at in row)
        assert wide.between[::-1] == tuple(span({row[n] for row in costs}) for n in range(number)), seed
        assert wide.open == tuple(tuple(group.cost[slot] < NEVER for slot in grid.usable) for group in groups)
        for most in sorted(costs.values())[:: max(1, len(costs) // 3)]:
            good = [row for row, cost in costs.items() if cost <= most]
            reach = narrowed(table, most)
            assert reach.between[::-1] == tuple(span({row[n] for row in good}) for n in range(number)), seed
            for group, free in zip(groups, reach.open, strict=True):
                for at, slot in enumerate(grid.usable):
                    least = min((cost - own[at] for row, cost in costs.items() if at in row), default=NEVER)
                    assert free[at] == (least + group.cost[slot] <= most), (seed, at)
            narrow += reach != wide
    assert narrow > 20


@pytest.mark.parametrize("seed", range(40))
def test_a_table_within_reach_says_the_same_of_what_is_in_it(seed: int) -> None:
    """The least cost from the start, if it is no more than the known plan; and no less anywhere."""
    problem = crowding(seed)
    ready = Search(problem, ENDLESS)
    ready._prepare()
    wide = [widest(grid, groups) for grid, groups in zip(ready.grids, ready.groups, strict=True)]
    whole = [table.row(table.full, 0, table.grid.start)[0] for table in ready.space.tables]
    if sum(whole) >= NEVER:
        return
    reaches = find_reaches(ready.space, ready.prices, sum(whole), wide, ENDLESS)
    for series, (grid, groups) in enumerate(zip(ready.grids, ready.groups, strict=True)):
        for reach in (wide[series], reaches[series]):
            table = SeriesTable(grid, groups, reach=reach)
            assert table.row(table.full, 0, grid.start)[0] == whole[series]


@pytest.mark.slow
@pytest.mark.parametrize("block", range(6))
def test_competing_series_have_the_best_plan_where_sweeps_must_do_the_work(
    block: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(search, "EASY", 0)
    monkeypatch.setattr(search, "FIRST_WIDTH", 1)
    monkeypatch.setattr(search, "WIDE", 2)
    monkeypatch.setattr(search, "WIDTHS", (1, 2, 3, 100_000))
    for seed in range(30 * block, 30 * (block + 1)):
        problem = crowding(seed)
        plans = full_plans(problem)
        if not plans:
            continue
        order = {need.key: need.order for need in problem.needs}
        best, _, places = min(
            (reached, sorted((slot, order[key]) for key, slot in plan.items()), plan) for reached, plan in plans
        )
        found = solve(problem)
        assert found.proven, seed
        assert (found.score, found.places) == (best, places), seed
