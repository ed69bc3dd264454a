"""What the search has at hand at a slot, beside all there is: states, moves, paths, and the cheapest splits."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import accumulate, product

import pytest
from test_search import every_plan
from test_search_of_every_kind import varied

from showrunner.planning import stages
from showrunner.planning.limit import ENDLESS
from showrunner.planning.problem import Problem, minutes_short
from showrunner.planning.search import Search
from showrunner.planning.stages import Fronts, Rest, Space, Stage, Whole, cheapest, orders_broken
from showrunner.planning.tables import IMPOSSIBLE, NEVER, SeriesTable

BROKEN = 1 << 90
"""Stands for the weight of a promise, so that orders can be told from all else."""

PLENTY = 10_000
"""Minutes that every plan fits in."""


def space_of(problem: Problem) -> tuple[Search, Space]:
    ready = Search(problem, ENDLESS)
    ready._prepare()
    return ready, ready.space


def told(space: Space, state: int) -> list[tuple[int, list[int]]]:
    """Position of the last study and the counts of the classes, for every series."""
    return [
        (fields.last.count(own), [field.count(own) for field in fields.classes])
        for fields, own in zip(space.fields, space.parts(state), strict=True)
    ]


def test_a_state_holds_the_last_study_and_the_counts_of_each_series_apart() -> None:
    for seed in range(40):
        _, space = space_of(varied(seed))
        dice = random.Random(seed)
        begin = [
            (grid.start, [len(group.members) for group in groups])
            for grid, groups in zip(space.grids, space.groups, strict=True)
        ]
        assert told(space, space.root) == begin
        state, wanted = 0, []
        for fields, (start, counts) in zip(space.fields, begin, strict=True):
            last, fewer = dice.randint(0, start), [dice.randint(0, count) for count in counts]
            own = last + sum(count << field.shift for field, count in zip(fields.classes, fewer, strict=True))
            state += own << fields.shift
            wanted.append((last, fewer))
        assert told(space, state) == wanted
        parts = zip(space.fields, space.parts(state), strict=True)
        assert sum(own << fields.shift for fields, own in parts) == state


def all_ways(space: Space, slot: int, state: int) -> Iterator[tuple[int, int, list[int]]]:
    """Cost, path and minutes by slot of every way to go on from a state, as the moves make it."""
    if slot == space.slots:
        yield 0, 0, []
        return
    for cost, path, used in all_ways(space, slot + 1, state):
        yield cost, path + space.path(slot, space.nothing), [0, *used]
    for series, own in enumerate(space.parts(state)):
        for delta, price, gain, step, after_own, after in space.moves(series, own, slot):
            assert space.parts(state + delta)[series] == after_own
            assert space.problem.ready[slot] >= 0 or gain == 0
            price += orders_broken(state, after) * BROKEN
            for cost, path, used in all_ways(space, slot + 1, state + delta):
                yield price + cost, step + path, [gain, *used]


def test_the_moves_make_every_plan_once_with_its_cost_and_minutes() -> None:
    """Of plans that differ only in which of two alike studies stands where, the one in book order."""
    ordered = late = 0
    for seed in range(40):
        problem = varied(seed)
        shift = (0, 5, 7)[seed % 3]  # what the first slot holds is ready in time, today, or too late
        ready = tuple(day - shift for day in problem.ready)
        first, *others = problem.needs
        if seed % 4 == 0:
            first = replace(first, after=(*first.after, "elsewhere"))  # no study of the problem, so it never comes
        needs = (first, *others)
        problem = replace(problem, ready=ready, spare=(PLENTY,) * len(problem.spare), needs=needs)
        search, space = space_of(problem)
        alike = [[need.order for need in group.members] for groups in space.groups for group in groups]
        wanted = {}
        for score, stands, places in every_plan(problem):
            at = {order: slot for slot, order in stands}
            rows = [[at.get(order, space.slots) for order in orders] for orders in alike]
            if rows == [sorted(slots) for slots in rows]:
                dates = sum(
                    need.worth * (places.get(need.key) != need.promised)
                    for need in problem.needs
                    if need.promised is not None
                )
                cost = search.weight.pack(replace(score, broken=dates, unplaced=0)) - search.owed
                wanted[tuple(sorted(places.items()))] = (
                    cost + (score.broken - dates) * BROKEN,
                    max(0, PLENTY + minutes_short(problem, places)),
                )
                ordered += score.broken > dates
                late += any(ready[slot] < 0 for slot in places.values())
        found = {}
        for cost, path, used in all_ways(space, 0, space.root):
            places = {search.keys[number]: slot for number, slot in space.places(path).items()}
            key = tuple(sorted(places.items()))
            assert key not in found
            found[key] = cost, max(0, *accumulate(used))
        assert found == wanted, seed
    assert ordered > 10 and late > 10


def test_a_path_is_less_if_it_is_at_the_first_slot_that_differs() -> None:
    """Of two studies the one earlier in the book is less, and any study less than none."""
    for seed in range(30):
        _, space = space_of(varied(seed))
        dice = random.Random(seed)
        rows = [
            [dice.choice((space.nothing, dice.randrange(space.nothing))) for _ in range(space.slots)] for _ in range(9)
        ]
        paths = [sum(space.path(slot, number) for slot, number in enumerate(row)) for row in rows]
        assert [row for _, row in sorted(zip(paths, rows, strict=True))] == sorted(rows)
        for path, row in zip(paths, rows, strict=True):
            assert space.places(path) == {n: slot for slot, n in enumerate(row) if n != space.nothing}


def test_what_is_left_of_a_series_knows_its_least_minutes_its_costs_and_its_dates(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """For every state of every series, from every slot on, also where little may be kept at hand."""
    monkeypatch.setattr(stages, "WHOLES", 3)
    for seed in range(30):
        problem = varied(seed)
        _, space = space_of(problem)
        for series, (groups, grid, fields) in enumerate(zip(space.groups, space.grids, space.fields, strict=True)):
            table = SeriesTable(grid, groups)
            counts = product(*(range(len(group.members) + 1) for group in groups))
            for left, last in product(counts, (0, grid.start)):
                own = last + sum(n << field.shift for field, n in zip(fields.classes, left, strict=True))
                minutes = sorted(group.minutes for group, n in zip(groups, left, strict=True) for _ in range(n))
                dates = [
                    g.promised
                    for g, n in zip(groups, left, strict=True)
                    for _ in range(g.worth)
                    if n and g.promised is not None
                ]
                state = sum(n * stride for n, stride in zip(left, table.strides, strict=False))
                for slot in range(space.slots + 1):
                    rest = space.rest(series, own, slot)
                    usable = [s for s in range(slot, space.slots) if s in grid.position]
                    freed = max((problem.standing[s] for s in usable), default=0)
                    assert rest.left == len(minutes)
                    assert rest.sizes == [n - freed for n in minutes]
                    assert rest.minutes == [sum(rest.sizes[:n]) for n in range(len(minutes), -1, -1)]
                    assert rest.open == sum(date >= slot for date in dates)
                    assert rest.costs == [table.row(state, 0, last)[slot]]
                    for drop in range(len(minutes) + 2):
                        costs = rest.upto(drop)
                        assert costs == [table.row(state, n, last)[slot] for n in range(min(drop, len(minutes)) + 1)]
            assert len(space._wholes[series]) <= 4


def test_a_stage_asks_once_for_what_is_left_after_its_slot_and_for_the_moves_in_it() -> None:
    problem = varied(2)
    _, space = space_of(problem)
    for slot in range(space.slots):
        stage = Stage(space, slot)
        for series, own in enumerate(space.parts(space.root)):
            rest, moves = stage.rest(series, own), stage.moves_of(series, own)
            assert (rest.slot, rest.costs) == (slot + 1, space.rest(series, own, slot + 1).costs)
            assert moves == space.moves(series, own, slot)
            assert stage.rest(series, own) is rest and stage.moves_of(series, own) is moves


class Given(SeriesTable):
    """A table that holds what it is given: by number left out, the cost."""

    def __init__(self, costs: Sequence[int]) -> None:
        self.given = costs

    def row(self, rest: int, drop: int, last: int) -> list[int]:
        return [self.given[drop]]


def rest_of(dice: random.Random, freed: int) -> tuple[Rest, list[int]]:
    """What is left of a series with up to four studies, and what leaving out so many costs."""
    minutes = sorted(dice.choice((0, 30, 60, 120)) for _ in range(dice.randint(0, 4)))
    costs = [dice.choice((IMPOSSIBLE, *range(-3, 9))) if n < len(minutes) else 0 for n in range(len(minutes) + 1)]
    return Rest(Whole(Given(costs), 0, 0, minutes, []), 0, freed), costs


def test_the_cheapest_split_is_that_of_every_split_that_the_hours_can_hold() -> None:
    """Of up to four series, the last of which changes while what was found for the others is kept."""
    held = 0
    for seed in range(60):
        dice = random.Random(seed)
        freed = dice.choice((0, 1, 45))
        others = [rest_of(dice, freed) for _ in range(dice.randint(0, 3))]
        memo: dict[tuple[int, ...], Fronts] = {}
        for _ in range(4):
            found = [*others, rest_of(dice, freed)] if others or seed % 2 else []
            rests = [rest for rest, _ in found]
            budget = dice.choice((-60, -1, 0, 60, 150, 300, 2000))
            for drop in range(sum(rest.left for rest in rests) + 2):
                best = IMPOSSIBLE
                for out in product(*(range(min(rest.left, drop) + 1) for rest in rests)):
                    pairs = list(zip(found, out, strict=True))
                    minutes = sum(sum(sorted(rest.sizes)[: rest.left - n]) for (rest, _), n in pairs)
                    if sum(out) == drop and minutes <= budget:
                        best = min(best, sum(costs[n] for (_, costs), n in pairs))
                for kept in (memo, None):
                    cost = cheapest(rests, drop, budget, kept)
                    assert cost == best or min(cost, best) >= NEVER, (seed, drop, budget)
                held += drop > 0 and best < NEVER
        assert len(memo) <= sum(rest.left for rest, _ in others) + 8
    assert held > 200
