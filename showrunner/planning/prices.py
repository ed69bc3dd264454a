"""Prices on hours and slots that make the tables' bound feel what the series compete for.

Each series' table knows nothing of the hours and of the slots the other series take. Charging a
price for them (Lagrangian relaxation: Held and Karp 1971, "The traveling-salesman problem and
minimum spanning trees, part II", from memory) keeps the sum of the tables a lower bound whatever
the prices are, and a much better one at good prices. They are found by subgradient steps on tables
in which each series is one merged class.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate

from showrunner.planning.problem import Problem
from showrunner.planning.tables import IMPOSSIBLE, SeriesTable, SlotGrid, StudyClass, Weights

STEPS = 60
"""Subgradient steps."""

PATIENCE = 5
"""Steps without a better bound before the step length is halved."""

SHORTEST = 0.02
"""Step length at which the steps end."""


@dataclass(frozen=True, slots=True)
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
    problem: Problem,
    grids: Sequence[SlotGrid],
    groups: Sequence[Sequence[StudyClass]],
    weight: Weights,
    room: Sequence[int],
    placed: int,
    target: int,
) -> Prices:
    """Good prices for the start of the search.

    Args:
        problem: the problem.
        grids: the slots of every series.
        groups: the classes of every series.
        weight: the stacking of the aims.
        room: most minutes that may be used at every slot.
        placed: how many studies are to be placed.
        target: cost of some plan that places as many, without the studies left out.

    Returns:
        The best prices found; all zero if nothing competes.
    """
    size = len(problem.slots)
    unit = max(1, sum(need.minutes for need in problem.needs) // max(1, len(problem.needs)))
    slot, minute = [0.0] * size, [0.0] * size
    best, best_value = Prices.of([0] * size, [0] * size, room), -1
    length, waited = 1.0, 0
    for _ in range(STEPS):
        prices = Prices.of([int(p) for p in slot], [int(p) // unit for p in minute], room)
        value, places = _relaxed(problem, grids, groups, prices, placed)
        value -= prices.worth[0]
        if value > best_value:
            best, best_value, waited = prices, value, 0
        elif (waited := waited + 1) >= PATIENCE:
            length, waited = length / 2, 0
        taken, used = [0] * size, [0] * size
        for at, minutes in places:
            taken[at] += 1
            if problem.ready[at] >= 0:
                used[at] += minutes - problem.standing[at]
        over_slot = [t - 1 if t > 1 or slot[s] > 0 else 0 for s, t in enumerate(taken)]
        over_time = [(u - r) / unit for u, r in zip(accumulate(used), room, strict=True)]
        over_time = [over if over > 0 or minute[s] > 0 else 0 for s, over in enumerate(over_time)]
        norm = sum(over * over for over in over_slot) + sum(over * over for over in over_time)
        if norm == 0 or length < SHORTEST:
            break
        step = length * max(target - value, weight.point) / norm
        slot = [max(0.0, p + step * over) for p, over in zip(slot, over_slot, strict=True)]
        minute = [max(0.0, p + step * over) for p, over in zip(minute, over_time, strict=True)]
    return best


def _relaxed(
    problem: Problem,
    grids: Sequence[SlotGrid],
    groups: Sequence[Sequence[StudyClass]],
    prices: Prices,
    placed: int,
) -> tuple[int, list[tuple[int, int]]]:
    """Cheapest placement of `placed` studies at these prices, each series by itself and as one merged class.

    Returns:
        Its cost, prices included, and the slot and minutes of every study.
    """
    tables = [
        SeriesTable(grid, series, prices.tolls(problem, series), limit=1)
        for grid, series in zip(grids, groups, strict=True)
    ]
    costs: list[int] = [0]
    choices: list[list[int]] = []
    for table in tables:
        own = [table.row(number, 0, table.grid.start)[0] for number in range(table.full + 1)]
        fresh = [IMPOSSIBLE] * (len(costs) + table.full)
        choice = [0] * len(fresh)
        for had, cost in enumerate(costs):
            for number, more in enumerate(own):
                if cost + more < fresh[had + number]:
                    fresh[had + number], choice[had + number] = cost + more, number
        costs = fresh
        choices.append(choice)
    places: list[tuple[int, int]] = []
    rest = placed
    for table, series, choice in reversed(list(zip(tables, groups, choices, strict=True))):
        number = choice[rest]
        rest -= number
        tolls = prices.tolls(problem, series)
        last = table.grid.start
        for left in range(number, 0, -1):
            begin, gaps = table.grid.gaps[last]
            whole = [head + gap for head, gap in zip(table.head(left, 0)[begin:], gaps, strict=True)]
            last = begin + whole.index(min(whole))
            slot = table.grid.usable[last]
            cheapest = min(range(len(series)), key=lambda c: series[c].cost[slot] + tolls[c][slot])
            places.append((slot, series[cheapest].minutes))
    return costs[placed], places
