"""Prices on hours and slots that make the tables' bound feel what the series compete for.

Each series' table knows nothing of the hours and of the slots the other series take. Charging a
price for them (Lagrangian relaxation: Held and Karp 1971, "The traveling-salesman problem and
minimum spanning trees, part II", from memory) keeps the sum of the tables a lower bound whatever
the prices are, and a much better one at good prices. They are found by subgradient steps.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate
from math import fsum

from showrunner.domain.record import record
from showrunner.planning.limit import Limit, TimeUp
from showrunner.planning.problem import Problem
from showrunner.planning.reach import narrowed
from showrunner.planning.stages import Rest, Space, Whole, cheapest
from showrunner.planning.tables import NEVER, Reach, SeriesTable, StudyClass, Weights

STEPS = 120
"""Subgradient steps."""

SHARE = 0.3
"""Share of the time left that they may take."""

PATIENCE = 5
"""Steps without a better bound before the stride is halved."""

FIRST_STRIDE = 0.1
"""How far ahead of the best bound the first steps aim, as a share of what is missing to the best plan."""

KEEPING_ON = 0.6
"""Share of the last direction that is added to the next."""


@record
class Prices:
    """Prices, in stacked cost, and their running sums from every slot number to the end."""

    slot: tuple[int, ...]
    """For every slot, the price of taking it."""
    minute: tuple[int, ...]
    """For every slot number, the price of a minute used up from that slot on."""
    worth: tuple[int, ...]
    """For every slot number, what the slots and the room for minutes from there on are worth."""

    @classmethod
    def of(cls, slot: Sequence[int], minute: Sequence[int], room: Sequence[int]) -> Prices:
        """Prices from those of single slots and of minutes at single slots.

        Args:
            slot: for every slot, the price of taking it.
            minute: for every slot, the price of a minute used by the day its study must be ready.
            room: for every slot, how many minutes may be used by then.
        """
        worth = [s + m * r for s, m, r in zip(slot, minute, room, strict=True)]
        return cls(tuple(slot), _from_here_on(minute), _from_here_on(worth))

    def tolls(self, problem: Problem, groups: Sequence[StudyClass]) -> list[list[int]]:
        """For every class, what a study pays in every slot on top of its own cost."""
        return [
            [
                price + (minute * (group.minutes - standing) if ready >= 0 else 0)
                for price, minute, standing, ready in zip(
                    self.slot, self.minute, problem.standing, problem.ready, strict=False
                )
            ]
            for group in groups
        ]


def _from_here_on(values: Sequence[int]) -> tuple[int, ...]:
    return tuple(reversed(list(accumulate(reversed(values), initial=0))))


def find_prices(
    space: Space,
    parts: Sequence[list[int]],
    weight: Weights,
    room: Sequence[int],
    drop: int,
    target: int,
    reaches: Sequence[Reach | None],
    limit: Limit,
) -> Prices:
    """Good prices for the start of the search.

    Args:
        space: the numbers of the problem, which has some study.
        parts: for every series, the part of its table that each class goes into.
        weight: the stacking of the aims.
        room: most minutes that may be used at every slot.
        drop: how many studies are left out.
        target: cost of some plan that leaves out as many, without them.
        reaches: for every series, where its studies may stand, if that is known.
        limit: the time the search has; the prices take a share of what is left of it.

    Returns:
        The best prices found; all zero if nothing competes.
    """
    problem = space.problem
    size = len(problem.slots)
    unit = max(1, sum(need.minutes for need in problem.needs) // len(problem.needs))
    slot, minute = [0.0] * size, [0.0] * size
    best, best_value, best_at = Prices.of([0] * size, [0] * size, room), None, (slot, minute)
    towards = [0.0] * (2 * size)
    ahead, waited = 0.0, 0
    time = limit.share(SHARE)
    try:
        for _ in range(STEPS):
            prices = Prices.of([int(p) for p in slot], [int(p) // unit for p in minute], room)
            tables = _tables(space, parts, prices, reaches, time)
            value, places = _relaxed(space, tables, prices, room, drop)
            value -= prices.worth[0]
            if value >= NEVER:
                break
            if best_value is None:
                best_value, ahead = value, max((target - value) * FIRST_STRIDE, weight.point)
            elif value > best_value:
                best, best_value, best_at, waited = prices, value, (slot, minute), 0
                ahead *= 1.5
            elif (waited := waited + 1) >= PATIENCE:
                ahead, waited = ahead / 2, 0
                slot, minute = best_at
                towards = [0.0] * (2 * size)
            if best_value >= target or ahead < weight.point:
                break
            taken, used = [0] * size, [0] * size
            for at, minutes in places:
                taken[at] += 1
                if problem.ready[at] >= 0:
                    used[at] += minutes - problem.standing[at]
            over: list[float] = [t - 1 if t > 1 or slot[s] > 0 else 0 for s, t in enumerate(taken)]
            over += [
                (u - r) / unit if u > r or minute[s] > 0 else 0
                for s, (u, r) in enumerate(zip(accumulate(used), room, strict=True))
            ]
            towards = [o + KEEPING_ON * t for o, t in zip(over, towards, strict=True)]
            norm = fsum(t * t for t in towards)  # rounded once, so the same number on every Python
            if norm == 0:
                break
            step = max(best_value + ahead - value, weight.point) / norm
            slot = [max(0.0, p + step * t) for p, t in zip(slot, towards[:size], strict=True)]
            minute = [max(0.0, p + step * t) for p, t in zip(minute, towards[size:], strict=True)]
    except TimeUp:
        limit.check()
    return best


def find_reaches(
    space: Space, prices: Prices, target: int, known: Sequence[Reach | None], time: Limit
) -> list[Reach | None]:
    """For every series, where its studies may stand in a plan that places all of them and costs no more than `target`.

    Args:
        space: the numbers of the problem.
        prices: prices on hours and slots; the better they are, the less is left.
        target: cost of some plan that places all.
        known: what is known of it already.
        time: the time it may take.
    """
    tables = _tables(space, in_one(space), prices, known, time)
    least = [table.row(table.full, 0, table.grid.start)[0] for table in tables]
    spare = target + prices.worth[0] - sum(least)
    return [narrowed(table, cost + spare) for table, cost in zip(tables, least, strict=True)]


def in_one(space: Space) -> list[list[int]]:
    """For every series, the parts of a table that tells no classes apart."""
    return [[0] * len(groups) for groups in space.groups]


def _tables(
    space: Space, parts: Sequence[list[int]], prices: Prices, reaches: Sequence[Reach | None], time: Limit
) -> list[SeriesTable]:
    return [
        SeriesTable(grid, groups, prices.tolls(space.problem, groups), part, time=time, reach=reach)
        for grid, groups, part, reach in zip(space.grids, space.groups, parts, reaches, strict=True)
    ]


def _relaxed(
    space: Space, tables: Sequence[SeriesTable], prices: Prices, room: Sequence[int], drop: int
) -> tuple[int, list[tuple[int, int]]]:
    """Cheapest placement of all but `drop` studies at these prices, each series by itself.

    Returns:
        Its cost, prices included, and the slot and minutes of every study.
    """
    problem, rests = space.problem, []
    for series, (grid, groups, table) in enumerate(zip(space.grids, space.groups, tables, strict=True)):
        minutes = sorted(group.minutes for group in groups for _ in group.members)
        rests.append(Rest(Whole(table, table.full, grid.start, minutes, []), 0, space.freed[series][0]))
    budget = room[-1] if room else 0
    cost = left = cheapest(rests, drop, budget)
    places: list[tuple[int, int]] = []
    for series, (table, rest) in enumerate(zip(tables, rests, strict=True)):
        if cost >= NEVER:
            break
        for out in range(min(drop, rest.left) + 1):
            mine = rest.upto(out)[out]
            others = cheapest(rests[series + 1 :], drop - out, budget - rest.minutes[out])
            if mine + others == left:
                break
        left, drop, budget = left - mine, drop - out, budget - rest.minutes[out]
        groups, tolls = space.groups[series], prices.tolls(problem, space.groups[series])
        for at, part in table.plan(out):
            of_part = [c for c, p in enumerate(table.part) if p == part]
            cheapest_class = min(of_part, key=lambda c: groups[c].cost[at] + tolls[c][at])
            places.append((at, groups[cheapest_class].minutes))
    return cost, places
