"""The tables of one series beside every plan of it, and the whole numbers in which the aims are stacked."""

from __future__ import annotations

import random
import sys
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cache
from itertools import combinations, pairwise, product
from math import prod

import pytest
from test_search import every_plan, weekly
from test_search_of_every_kind import varied

from showrunner.planning import tables
from showrunner.planning.problem import NOWHERE, Need, Problem, Score, Spacing
from showrunner.planning.reach import widest
from showrunner.planning.tables import (
    IMPOSSIBLE,
    NEVER,
    SeriesTable,
    SlotGrid,
    StudyClass,
    Weights,
    classes,
    parts_of,
    slot_grid,
    weights,
)


def lone(seed: int) -> Problem:
    """One series of three kinds of studies, on slots at uneven distances, two of them on the same day at times."""
    dice = random.Random(f"lone {seed}")
    slots, count, keep = dice.randint(4, 6), dice.randint(2, 4), dice.random() < 0.3
    kinds = [
        (
            dice.choice((0, 60)),
            tuple(dice.choice((0, 0, 9, 40, None)) for _ in range(slots)),
            dice.choice((None, 0, 1, NOWHERE)),
            dice.choice((None, 2)) if keep else None,
        )
        for _ in range(3)
    ]
    needs = []
    for n in range(count):
        minutes, cost, promised, planned = dice.choice(kinds)
        day = None if planned is None else 4 * planned + 1
        needs.append(Need(f"s{n}", n, 0, minutes, cost, (), promised, dice.choice((1, 2)), planned, day))
    days = tuple(sorted(dice.choices(range(5 * slots), k=slots)))
    spacing = Spacing(*(dice.choice(of) for of in ((0, 1, 4, 9), (3, 8, 12), (None, 0, -5), (None, 9))))
    problem = weekly(slots, tuple(needs), (spacing,), [600] * slots, 0)
    late = dice.choice((0, days[0], days[1], 4))
    ready = tuple(max(-1, day - late) for day in days)
    return replace(problem, days=days, ready=ready, spare=(600,) * (5 * slots), keep=keep)


def parts(problem: Problem) -> tuple[Weights, tuple[StudyClass, ...], SlotGrid]:
    weight = weights(problem)
    groups = classes(problem, 0, weight)
    return weight, groups, slot_grid(problem, 0, groups, weight)


def plainly(
    problem: Problem, costs: Sequence[Sequence[int]], weight: Weights
) -> Callable[[tuple[int, ...], int, int | None, int], int]:
    """What it costs at least to place a number of studies, straight from what one in a slot and a gap cost.

    What comes back is asked with how many of each kind there are, how many of those are placed, the day of the study
    before them (None without one), and the first slot that may be used.
    """
    spacing = problem.spacings[0]

    def gap_cost(gap: int) -> int:
        if gap < spacing.min_days:
            return IMPOSSIBLE
        return (gap - spacing.target_days) ** 2 * weight.point + spacing.is_wide(gap) * weight.wide

    @cache
    def least(counts: tuple[int, ...], number: int, last: int | None, slot: int) -> int:
        if number == 0:
            return 0
        if slot == len(problem.days):
            return IMPOSSIBLE
        day = problem.days[slot]
        ways = [least(counts, number, last, slot + 1)]
        for kind, count in enumerate(counts):
            if count and costs[kind][slot] < NEVER:
                fewer = (*counts[:kind], count - 1, *counts[kind + 1 :])
                gap = 0 if last is None else gap_cost(day - last)
                ways.append(gap + costs[kind][slot] + least(fewer, number - 1, day, slot + 1))
        best = min(ways)
        return best if best < NEVER else IMPOSSIBLE

    return least


def row(values: Sequence[int]) -> list[int]:
    """A row of a table, with all that no plan has as one number."""
    return [IMPOSSIBLE if value >= NEVER else value for value in values]


def most_of(problem: Problem, grid: SlotGrid) -> int:
    """The most slots that keep the least gap, among all choices of them."""
    spacing = problem.spacings[0]
    before = [] if spacing.last_day is None else [spacing.last_day]
    chosen = (
        [*before, *(problem.days[slot] for slot in few)]
        for number in range(len(grid.usable) + 1)
        for few in combinations(grid.usable, number)
    )
    kept = (days for days in chosen if all(b - a >= spacing.min_days for a, b in pairwise(days)))
    return max(len(days) - len(before) for days in kept)


def test_whole_tables_cost_what_the_best_plan_costs_by_the_aims_themselves() -> None:
    """Of all plans that leave out so many, the cheapest; promised dates count as broken from the start."""
    placed = 0
    for seed in range(40):
        problem = lone(seed)
        weight, groups, grid = parts(problem)
        assert sorted(need.key for group in groups for need in group.members) == [need.key for need in problem.needs]
        table = SeriesTable(grid, groups)
        owed = sum(need.worth for need in problem.needs if need.promised is not None) * weight.broken
        wanted = [IMPOSSIBLE] * (len(problem.needs) + 1)
        for score, _, _ in every_plan(problem):
            cost = weight.pack(score) - owed - score.unplaced * weight.unplaced
            wanted[score.unplaced] = min(wanted[score.unplaced], cost)
            placed += 1
        found = [table.row(table.full, drop, grid.start)[0] for drop in range(len(wanted))]
        assert row(found) == wanted, seed
        assert table.most == most_of(problem, grid), seed
    assert placed > 1000


@pytest.mark.parametrize("deep", [1, 100])
@pytest.mark.parametrize("merged", [False, True])
def test_a_table_says_what_is_left_costs_at_least_after_any_study(
    deep: int, merged: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """From every slot on, for every number of each kind and left out; with tolls, and with all kinds in one."""
    monkeypatch.setattr(tables, "DEEP", deep)
    monkeypatch.setattr(tables, "NEAR", 14 if deep > 1 else -3)
    for seed in range(30):
        problem = lone(seed)
        weight, groups, grid = parts(problem)
        dice = random.Random(seed)
        toll = [[dice.choice((0, 0, weight.point)) for _ in problem.days] for _ in groups] if seed % 2 else None
        table = SeriesTable(grid, groups, toll, [0] * len(groups) if merged else None)
        costs = [[cost + (toll[c][s] if toll else 0) for s, cost in enumerate(g.cost)] for c, g in enumerate(groups)]
        counts = tuple(len(group.members) for group in groups)
        if merged:
            costs, counts = [list(map(min, *costs, *costs))], (sum(counts),)
        least = plainly(problem, costs, weight)
        lasts = [(at, problem.days[slot], slot + 1) for at, slot in enumerate(grid.usable)]
        for rest in product(*(range(count + 1) for count in counts)):
            state = sum(count * stride for count, stride in zip(rest, table.strides, strict=True))
            assert table.left(state) == sum(rest)
            assert table.parts(state) == [kind for kind, count in enumerate(rest) if count]
            for drop in range(sum(rest) + 1):
                for at, last, begin in [*lasts, (grid.start, problem.spacings[0].last_day, 0)]:
                    found = row(table.row(state, drop, at))
                    wanted = [
                        least(rest, sum(rest) - drop, last, max(slot, begin)) for slot in range(len(problem.days) + 1)
                    ]
                    assert found == wanted, (seed, rest, drop, at)
        for drop in range(sum(counts) + 1):
            cost = table.row(table.full, drop, grid.start)[0]
            if cost < NEVER:
                plan = table.plan(drop)
                assert [slot for slot, _ in plan] == sorted({slot for slot, _ in plan})
                assert len(plan) == sum(counts) - drop
                assert all(sum(kind == c for _, c in plan) <= count for kind, count in enumerate(counts))
                days = [problem.spacings[0].last_day, *(problem.days[slot] for slot, _ in plan)]
                gaps = [grid.gaps[grid.start if n == 0 else grid.position[plan[n - 1][0]]] for n in range(len(plan))]
                paid = sum(costs[c][slot] for slot, c in plan)
                paid += sum(
                    gap[grid.position[slot] - begin] for (begin, gap), (slot, _) in zip(gaps, plan, strict=True)
                )
                assert paid == cost, (seed, drop, days)


def test_studies_are_of_one_kind_exactly_if_they_differ_in_nothing_the_rules_see() -> None:
    """Kinds and their studies stand in book order; a study that another is promised after is a kind by itself."""
    alike = 0
    for seed in range(200):
        problem = varied(seed)
        named = {key for need in problem.needs for key in need.after}
        for series in range(len(problem.spacings)):
            groups = classes(problem, series, weights(problem))
            kind = {need.key: c for c, group in enumerate(groups) for need in group.members}
            mine = sorted((need for need in problem.needs if need.series == series), key=lambda need: need.order)
            assert [need.key for need in mine] == sorted(kind, key=[need.key for need in mine].index)
            assert list(dict.fromkeys(kind[need.key] for need in mine)) == list(range(len(groups)))
            assert all(list(group.members) == sorted(group.members, key=lambda n: n.order) for group in groups)
            for one, other in combinations(mine, 2):
                same = replace(one, key=other.key, order=other.order) == other
                assert (kind[one.key] == kind[other.key]) == (same and not named & {one.key, other.key}), seed
                alike += kind[one.key] == kind[other.key]
    assert alike > 10


def test_a_kind_knows_which_slots_it_may_take_and_whether_its_promise_can_be_kept() -> None:
    broken = 0
    for seed in range(60):
        problem = lone(seed)
        _, groups, grid = parts(problem)
        free = {
            need.key: [
                slot
                for slot, ready in enumerate(problem.ready)
                if need.cost[slot] is not None and (ready >= 0 or not need.minutes)
            ]
            for need in problem.needs
        }
        for group in groups:
            for need in group.members:
                assert [slot for slot, cost in enumerate(group.cost) if cost < NEVER] == free[need.key]
                assert group.promised == (need.promised if need.promised in free[need.key] else None)
                assert (group.minutes, group.after, group.worth) == (need.minutes, need.after, need.worth)
                broken += need.promised not in (None, group.promised)
        assert grid.usable == tuple(sorted({slot for slots in free.values() for slot in slots}))
    assert broken > 10


def chain(count: int, weeks: int, *, target: int = 7, last: int | None = None) -> Problem:
    """Alike studies of one series on weekly slots."""
    needs = tuple(Need(f"s{n}", n, 0, 0, (0,) * weeks) for n in range(count))
    return weekly(weeks, needs, (Spacing(7, target, last),), [0] * weeks, 0)


def test_many_studies_do_not_call_too_deeply(monkeypatch: pytest.MonkeyPatch) -> None:
    """Four studies left are a call or two each; all of 30 would be eight times as deep."""
    monkeypatch.setattr(tables, "DEEP", 4)
    problem = chain(30, 31)
    late = tuple(need if need.order < 26 else replace(need, cost=(1,) * 31) for need in problem.needs)
    _, groups, grid = parts(replace(problem, needs=late))
    table = SeriesTable(grid, groups)
    assert table.counts == [26, 4]
    frame, depth = sys._getframe(), 0
    while frame:
        frame, depth = frame.f_back, depth + 1  # type: ignore[assignment]
    limit = sys.getrecursionlimit()
    try:
        sys.setrecursionlimit(depth + 26)
        whole, one_out = (table.row(table.full, drop, grid.start)[0] for drop in range(2))
    finally:
        sys.setrecursionlimit(limit)
    missed = groups[1].cost[0] - groups[0].cost[0]
    assert whole == sum(problem.days[:30]) + 4 * missed
    assert one_out == sum(problem.days[:29]) + 3 * missed


def test_only_what_is_asked_for_is_computed_beforehand(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of two kinds as many as are left of each, and no more of them left out; nothing that finds no slots."""
    monkeypatch.setattr(tables, "DEEP", 2)
    costs = [(0,) * 6, (1,) * 6]
    for rest, drop in product(product(range(5), range(4)), range(4)):
        groups, grid = kinds(4, 3, cost=costs)
        table = SeriesTable(grid, groups)
        table.row(rest[0] * table.strides[0] + rest[1] * table.strides[1], drop, grid.start)
        for state, out in [*table._values, *table._heads]:
            left = state % 5, state // 5
            assert left[0] <= rest[0] and left[1] <= rest[1]
            assert 0 <= out <= drop and sum(left) - out <= 6


def test_where_studies_can_stand_only_few_states_are_looked_at() -> None:
    """Three studies that come in the first three weeks and three in the last: but one state for each number left."""
    early, late = (0, 0, 0, None, None, None), (None, None, None, 0, 0, 0)
    needs = tuple(Need(f"s{n}", n, 0, 0, early if n < 3 else late) for n in range(6))
    problem = weekly(6, needs, (Spacing(7, 7, None),), [0] * 6, 0)
    _, groups, grid = parts(problem)
    table = SeriesTable(grid, groups, reach=widest(grid, groups))
    assert table.row(table.full, 0, grid.start)[0] == sum(problem.days)
    assert sorted(table.left(state) for state, _ in table._heads) == [1, 2, 3, 4, 5, 6]
    anywhere = tuple(need if need.order < 3 else replace(need, cost=(1,) * 6) for need in needs)
    _, groups, grid = parts(replace(problem, needs=anywhere))
    table = SeriesTable(grid, groups, reach=widest(grid, groups))
    assert table.row(table.full, 0, grid.start)[0] < NEVER
    assert [sorted(table.left(state) for state, _ in table._heads).count(left) for left in (1, 2, 3)] == [1, 1, 4]


def test_rows_at_hand_are_made_anew_before_they_are_too_many(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tables, "CELLS", 5 * 10)
    problem = chain(3, 10)
    _, groups, grid = parts(problem)
    table, other = SeriesTable(grid, groups), SeriesTable(grid, groups)
    most = 0
    for at in range(10):
        for rest in range(4):
            assert table.row(rest, 0, at) == other.row(rest, 0, at)
            assert table.row(rest, 0, at) is table.row(rest, 0, at)
            most = max(most, len(table._rows))
            other._rows.clear()
    assert most == 6


def test_the_aims_are_stacked_so_that_the_first_to_differ_decides() -> None:
    for seed in range(30):
        problem = varied(seed)
        weight = weights(problem)
        scores = [score for score, _, _ in every_plan(problem)]
        assert [weight.unpack(weight.pack(score)) for score in scores] == scores
        assert sorted(scores) == sorted(scores, key=weight.pack)
        assert all(weight.pack(score) < NEVER for score in scores)


def test_the_farthest_that_an_aim_can_go_is_less_than_one_of_the_aim_above_it() -> None:
    """One study on the last day, planned for the first or long ago; its gap is too long, its window is missed."""
    for keep, planned, last_day in product((False, True), (0, -30, 60, None), (None, 0, -9)):
        need = Need("s", 0, 0, 0, (None, None, 100), planned_slot=0 if planned == 0 else None, planned_day=planned)
        spacing = Spacing(1, 2, last_day, 9)
        problem = replace(weekly(3, (need,), (spacing,), [0] * 3, 0), days=(0, 9, 30), keep=keep)
        weight = weights(problem)
        for score, _, _ in every_plan(problem):
            assert weight.unpack(weight.pack(score)) == score
        late = Score(0, 0, 0, 0, 0, 0, 30)
        assert weight.pack(late) < weight.pack(Score(0, 0, 0, 0, 0, 1, 0))
    nothing = Problem((), (), (), (), (), (Need("s", 0, 0, 0, ()),), (Spacing(0, 0, None),), keep=True)
    assert weights(nothing).unpack(weights(nothing).pack(Score(0, 1, 0, 0, 0, 0, 0))) == Score(0, 1, 0, 0, 0, 0, 0)


def kinds(
    *counts: int, cost: Sequence[tuple[int, ...]], dated: Sequence[int] = ()
) -> tuple[tuple[StudyClass, ...], SlotGrid]:
    """Classes of so many alike studies each, with what each slot costs; some of them promised for the first slot."""
    groups = []
    for kind, (count, costs) in enumerate(zip(counts, cost, strict=True)):
        members = tuple(Need(f"s{kind}-{n}", 10 * kind + n, 0, 0, costs) for n in range(count))
        groups.append(StudyClass(members, costs, 0, (), 0 if kind in dated else None, 1))
    slots = len(cost[0])
    grid = slot_grid(chain(1, slots), 0, groups, Weights(1, 1, 1, 1, 1, 1))
    return tuple(groups), grid


def test_the_likest_kinds_are_merged_until_the_table_is_small_enough(monkeypatch: pytest.MonkeyPatch) -> None:
    """Kinds of 1, 2, 1 and 3 studies make 2 * 3 * 2 * 4 = 48 combinations of counts."""
    costs = [(0, 0, 0, 0), (0, 0, 7, 7), (0, 5, 7, 7), (9, 9, 9, 9)]
    groups, grid = kinds(1, 2, 1, 3, cost=costs)
    for limit, wanted in (
        (48, [0, 1, 2, 3]),
        (47, [0, 1, 1, 2]),  # in one slot alone two of them differ: 2 * 4 * 4 = 32
        (32, [0, 1, 1, 2]),
        (31, [0, 0, 0, 1]),  # those together cost (0, 0, 7, 7), which differs from the first in two slots: 5 * 4 = 20
        (20, [0, 0, 0, 1]),
        (19, [0, 0, 0, 0]),
        (1, [0, 0, 0, 0]),
    ):
        monkeypatch.setattr(tables, "TABLE_LIMIT", limit)
        assert parts_of(groups, grid) == wanted, limit


@pytest.mark.parametrize(
    ("second", "third", "wanted"), [((5, 5), (5, 0), [0, 0, 0, 1]), ((7, 7), (7, 6), [0, 1, 1, 0])]
)
def test_what_was_merged_is_like_others_by_what_it_costs_now(
    second: tuple[int, ...], third: tuple[int, ...], wanted: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The two in the middle are merged first; by what they cost then, the first goes with them or with the last."""
    groups, grid = kinds(2, 1, 1, 3, cost=[(0, 0, 0, 0), (0, 0, *second), (0, 0, *third), (3, 0, 0, 0)])
    monkeypatch.setattr(tables, "TABLE_LIMIT", 36)
    assert parts_of(groups, grid) == [0, 1, 1, 2]
    monkeypatch.setattr(tables, "TABLE_LIMIT", 35)
    assert parts_of(groups, grid) == wanted


def test_what_was_merged_with_a_promised_kind_is_promised(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of three promised kinds the one that went with the free one is no freer to go with another."""
    costs = [(0, 0, 0, 0), (0, 0, 0, 1), (5, 5, 5, 5), (5, 5, 5, 6)]
    groups, grid = kinds(1, 1, 1, 1, cost=costs, dated=(1, 2, 3))
    monkeypatch.setattr(tables, "TABLE_LIMIT", 11)
    assert parts_of(groups, grid) == [0, 0, 1, 1]


def test_of_kinds_as_like_the_smaller_are_merged_and_promised_ones_last(monkeypatch: pytest.MonkeyPatch) -> None:
    costs = [(0, 1, 0), (0, 2, 0), (0, 3, 0), (0, 4, 0)]
    for counts, dated, limit, wanted in (
        ((3, 1, 3, 1), (), 63, [0, 1, 2, 1]),
        ((3, 1, 3, 1), (1,), 63, [0, 1, 2, 0]),
        ((3, 1, 3, 1), (1, 3), 63, [0, 1, 0, 2]),
        ((3, 1, 3, 1), (0, 1, 2), 63, [0, 1, 2, 1]),
        ((1, 1, 1, 1), (2, 3), 12, [0, 0, 1, 2]),
        ((1, 1, 1, 1), (2, 3), 11, [0, 0, 0, 1]),  # one promised kind with those that are not
        ((1, 1, 1, 1), (0,), 8, [0, 1, 1, 1]),
        ((1, 1, 1, 1), (), 9, [0, 0, 1, 1]),
    ):
        groups, grid = kinds(*counts, cost=costs, dated=dated)
        monkeypatch.setattr(tables, "TABLE_LIMIT", limit)
        assert parts_of(groups, grid) == wanted, (counts, dated)


def test_a_merged_table_never_costs_more_than_the_kinds_apart(monkeypatch: pytest.MonkeyPatch) -> None:
    for seed in range(30):
        _, groups, grid = parts(lone(seed))
        whole = SeriesTable(grid, groups)
        for limit in range(1, 17):
            monkeypatch.setattr(tables, "TABLE_LIMIT", limit)
            part = parts_of(groups, grid)
            small = SeriesTable(grid, groups, parts=part)
            assert sorted(set(part)) == list(range(max(part) + 1))
            sizes = [sum(len(g.members) for g, p in zip(groups, part, strict=True) if p == q) for q in set(part)]
            assert prod(size + 1 for size in sizes) <= limit or len(sizes) == 1
            for drop in range(4):
                merged, apart = (table.row(table.full, drop, grid.start)[0] for table in (small, whole))
                assert merged <= apart or apart >= NEVER


def test_beyond_the_near_positions_waiting_only_costs_more() -> None:
    """That is what allows not to look at them; and of 60 weeks few are near."""
    for last in (None, -3):
        problem = chain(1, 60, target=21, last=last)
        _, _, grid = parts(problem)
        for at, ((begin, gaps), near) in enumerate(zip(grid.gaps, grid.near, strict=True)):
            assert gaps[near:] == sorted(gaps[near:])
            assert near == len(gaps) or all(gaps[near - 1] <= cost for cost in gaps[near:])
            day = problem.days[grid.usable[at]] if at < grid.start else last
            if day is not None:
                assert near == sum(day + 7 <= later <= day + 2 * 21 + tables.NEAR for later in problem.days)
                assert begin == sum(later < day + 7 for later in problem.days)
            else:
                assert (near, gaps) == (60, [0] * 60)
