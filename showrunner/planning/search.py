"""The exact placing search: best first, slot by slot, over all series together.

At every slot a study of some class is placed, or none is. The cost so far plus the tables' cost to
go never exceeds the cost of the best plan below a state, so the first complete plan taken from the
queue is proven best. Hours are tested exactly, day by day, as studies are placed; where they cannot
hold everything, how many more they can hold (smallest first) bounds how many must be left out.

Plans equal in every aim are told apart by book order: listed slot by slot in time, the plan whose
study comes earlier in the book at the first difference wins. So the answer is unique and does not
depend on the order of the input.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from heapq import heappop, heappush
from itertools import accumulate, pairwise
from operator import add
from typing import NamedTuple

from showrunner.planning.prices import Prices, find_prices
from showrunner.planning.problem import Problem, Score
from showrunner.planning.tables import IMPOSSIBLE, SeriesTable, classes, slot_grid, weights

Path = tuple[tuple[int, int], ...]
"""Placed studies as (slot, book order), by slot."""

State = tuple[tuple[tuple[int, ...], int, int], ...]
"""For each series: counts left by class, the same as a state of its table, and the `last` of its table."""

EASY = 1500
"""States the best-first search looks into before it gives way to sweeps; most books need fewer than a hundred."""

FIRST_WIDTH = 30
"""States kept at each slot in the first sweep, and from when time is up."""

WIDTHS = (400, None)
"""The same in the sweeps after it; None keeps all that are within the cost of the best plan known."""

SCARCE_WIDTHS = (300, 1500, None)
"""The same where hours bind; prices are sought after the first of them."""

NO_LIMIT = 1 << 40
"""Room in minutes where two studies must be ready on the same day and only the second is tested."""


@dataclass(frozen=True, slots=True)
class Solution:
    """The best placement found and how far that is proven."""

    places: dict[str, int]
    """Slot index by study key; missing studies could not be placed."""
    score: Score
    """The aims it reaches."""
    proven: bool
    """Whether no placement is better."""
    bound: Score
    """No placement is better than this; equals `score` if proven."""
    expanded: int
    """States the search looked into."""


class Node(NamedTuple):
    """One state of the search; nodes compare by bound, then by path, and no two in a queue share a path."""

    value: int
    """Cost so far plus the bound on what is open."""
    path: Path
    """What has been placed."""
    slot: int
    """The slot to be decided next."""
    used: int
    """Minutes used by studies, less the standing content they replaced."""
    cost: int
    """Cost so far."""
    state: State
    """What is left, series by series."""
    rows: tuple[list[int], ...]
    """The tables' rows for the state if nothing is left out."""
    open: int
    """Studies left."""
    minutes: int
    """Minutes of the studies left."""


def solve(problem: Problem, *, time_limit: float | None = None, ticker: Callable[[], float] | None = None) -> Solution:
    """Place the studies of `problem` with the aims in strict order.

    Args:
        problem: the problem.
        time_limit: seconds after which the best plan found so far is returned unproven; None for no limit.
        ticker: a clock in seconds; needed with a time limit.

    Returns:
        The unique best placement, or, at the time limit, a good one with a proven bound.
    """
    until = ticker() + time_limit if time_limit is not None and ticker else None
    search = Search(problem)
    return search.best_first(until, ticker) or search.sweeps(until, ticker)


class Search:
    """One problem with its tables, ready to be solved."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.weight = weights(problem)
        series = range(len(problem.spacings))
        self.groups = [classes(problem, s, self.weight) for s in series]
        self.grids = [slot_grid(problem, s, self.groups[s], self.weight) for s in series]
        self.tables = [SeriesTable(grid, groups) for grid, groups in zip(self.grids, self.groups, strict=True)]
        self.slots = len(problem.slots)
        self.room = _room(problem)
        self.most = self.room[-1] if self.room else 0
        self.freed = _freed(problem)
        self.prices = Prices.of([0] * self.slots, [0] * self.slots, self.room)
        self.keys = {need.order: need.key for need in problem.needs}
        self.orders = {need.key: need.order for need in problem.needs}
        self.charged = False
        self.sums: dict[tuple[object, ...], list[int]] = {}
        self.expanded = 0

    def best_first(self, until: float | None, ticker: Callable[[], float] | None) -> Solution | None:
        """Take the most promising state first; None if `EASY` states, or the time, were not enough."""
        queue = [self.root()]
        seen: dict[tuple[int, State], list[Node]] = {}
        while self.expanded < EASY and not (until is not None and ticker and ticker() > until):
            node = heappop(queue)
            if node.slot == self.slots:
                return self._solution(node, node.cost)
            if not _undominated(seen.setdefault((node.slot, node.state), []), node):
                continue
            for child in self.children(node, IMPOSSIBLE):
                heappush(queue, child)
        return None

    def sweeps(self, until: float | None, ticker: Callable[[], float] | None) -> Solution:
        """Go through the slots with ever more states, each time below the cost of the best plan known.

        Args:
            until: reading of `ticker` from which on only the best states are followed; None for no limit.
            ticker: a clock in seconds.
        """
        best, proven = self.sweep(FIRST_WIDTH, IMPOSSIBLE, until, ticker)
        assert best is not None
        scarce = self._hours_bind()
        for at, width in enumerate(SCARCE_WIDTHS if scarce else WIDTHS):
            if proven >= best.cost:
                break
            if scarce and at == 1:
                self.charge_prices(best)
            better, lost = self.sweep(width, best.cost, until, ticker)
            best = min(best, better or best, key=_rank)
            proven = max(proven, min(lost, best.cost))
        return self._solution(best, proven)

    def sweep(
        self, width: int | None, ceiling: int, until: float | None, ticker: Callable[[], float] | None
    ) -> tuple[Node | None, int]:
        """Decide slot after slot, keeping the best `width` states (None: all) whose bound is within `ceiling`.

        Returns:
            The best complete plan met (None if all were dropped), and a cost that no plan dropped for width goes below.
        """
        layer = [self.root()]
        lost = IMPOSSIBLE
        for _ in range(self.slots):
            if until is not None and ticker and ticker() > until:
                width = FIRST_WIDTH
            if width is not None and len(layer) > width:
                layer.sort()
                lost = min(lost, layer[width].value)
                del layer[width:]
            states: dict[State, list[Node]] = {}
            for node in layer:
                for child in self.children(node, ceiling):
                    rivals = states.get(child.state)
                    if rivals is None:
                        states[child.state] = [child]
                    else:
                        _undominated(rivals, child)
            layer = [node for rivals in states.values() for node in rivals]
        return min(layer, key=_rank, default=None), lost

    def _hours_bind(self) -> bool:
        """Whether the hours cannot hold the cheapest plan of the series by themselves."""
        return self._left_out(0, 0, self.root().state, len(self.problem.needs), self._all_minutes()) > 0

    def _all_minutes(self) -> int:
        return sum(need.minutes for need in self.problem.needs)

    def charge_prices(self, plan: Node) -> None:
        """Find prices for hours and slots, and put them into the tables."""
        self.charged = True
        reached = self.weight.unpack(plan.cost)
        out = reached.unplaced
        target = self.weight.pack(replace(reached, broken=0, unplaced=0))
        self.prices = find_prices(
            self.problem, self.grids, self.groups, self.weight, self.room, len(self.problem.needs) - out, target
        )
        self.tables = [
            SeriesTable(grid, groups, self.prices.tolls(self.problem, groups))
            for grid, groups in zip(self.grids, self.groups, strict=True)
        ]

    def root(self) -> Node:
        """The state in which nothing is placed yet."""
        state = tuple(
            (tuple(len(g.members) for g in groups), table.full, table.grid.start)
            for groups, table in zip(self.groups, self.tables, strict=True)
        )
        rows = tuple(table.row(rest, 0, last) for table, (_, rest, last) in zip(self.tables, state, strict=True))
        count, minutes = len(self.problem.needs), self._all_minutes()
        value = self.bound(0, 0, state, sum(row[0] for row in rows), count, minutes)
        return Node(value, (), 0, 0, 0 if self.slots else value, state, rows, count, minutes)

    def bound(self, slot: int, used: int, state: State, ahead: int, count: int, minutes: int) -> int:
        """Least cost of all that is still open, if no study airs before `slot`.

        Args:
            slot: slot number; past the last slot everything open is left out.
            used: minutes used so far.
            state: what is left.
            ahead: sum of the tables' costs to go from `slot` if nothing is left out.
            count: studies left.
            minutes: minutes of the studies left.
        """
        unplaced = self.weight.unplaced
        owed = used * self.prices.minute[slot] - self.prices.worth[slot]
        least = 0
        if minutes - count * self.freed[slot] + used > self.most:
            least = self._left_out(slot, used, state, count, minutes)
        best = IMPOSSIBLE
        for drop in range(least, count + 1):
            cost = ahead if drop == 0 else self._leaving_out(slot, state, drop)
            best = min(best, drop * unplaced + max(cost + owed, 0))
            if cost < unplaced:  # leaving out more costs more, and no promise could be kept by it
                break
        return best

    def _leaving_out(self, slot: int, state: State, least: int) -> int:
        """The tables' cost to go with exactly `least` studies left out, the split over the series chosen jointly."""
        if len(self.tables) == 1:  # nothing to split, and no need to know the cost of leaving more out
            _, rest, last = state[0]
            return self.tables[0].row(rest, least, last)[slot]
        best: Sequence[int] = (0,)
        final = len(self.tables) - 1
        for series, (table, (_, rest, last)) in enumerate(zip(self.tables, state, strict=True)):
            own = table.by_drop(rest, last)[slot]
            if series == final:
                return _joined(best, own, least)
            size = min(len(best) + len(own) - 1, least + 1)
            best = own[:size] if len(best) == 1 else [_joined(best, own, drop) for drop in range(size)]
        return IMPOSSIBLE

    def _left_out(self, slot: int, used: int, state: State, count: int, minutes: int) -> int:
        """How many of the open studies the hours cannot hold, however they are chosen: smallest first."""
        budget, freed = self.most - used, self.freed[slot]
        if not count or minutes - count * freed <= budget:
            return 0
        key = (freed, *(counts for counts, _, _ in state))
        sums = self.sums.get(key)
        if sums is None:
            nets = sorted(
                group.minutes - freed
                for groups, (counts, _, _) in zip(self.groups, state, strict=True)
                for group, number in zip(groups, counts, strict=True)
                for _ in range(number)
            )
            sums = self.sums[key] = list(accumulate(nets))
        gains = sum(1 for one, two in pairwise((0, *sums)) if two <= one) if sums[0] <= 0 else 0
        return count - max(gains, bisect_right(sums, budget, lo=gains))

    def children(self, node: Node, ceiling: int) -> list[Node]:
        """What can happen at the node's slot within `ceiling`: nothing, or one study of some class."""
        self.expanded += 1
        _, path, slot, used, cost, state, rows, count, minutes = node
        after, room = slot + 1, self.room[slot]
        found = []
        total = sum(row[after] for row in rows)
        if used <= room:
            value = cost + self.bound(after, used, state, total, count, minutes)
            if value <= ceiling:
                end = value if after == self.slots else cost
                found.append(Node(value, path, after, used, end, state, rows, count, minutes))
        ready, standing = self.problem.ready[slot], self.problem.standing[slot]
        unplaced, freed = self.weight.unplaced, self.freed[after]
        roomy = minutes - count * freed
        for series, table in enumerate(self.tables):
            counts, rest, last = state[series]
            if not rest:
                continue
            at = table.grid.position.get(slot, -1)
            begin, gaps = table.grid.gaps[last]
            if at < begin:
                continue
            others = total - rows[series][after]
            for c, group in enumerate(self.groups[series]):
                number, price = counts[c], group.cost[slot]
                if not number or price >= IMPOSSIBLE:
                    continue
                now = used if ready < 0 else used + group.minutes - standing
                if now > room:
                    continue
                left = rest - table.strides[table.part[c]]
                row = table.row(left, 0, at)
                spent = cost + price + gaps[at - begin]
                if group.after:
                    spent += self._broken(group.after, path) * self.weight.broken
                if spent > ceiling:
                    continue
                mine = ((*counts[:c], number - 1, *counts[c + 1 :]), left, at)
                fresh = (*state[:series], mine, *state[series + 1 :])
                ahead = others + row[after]
                if roomy - group.minutes + freed + now > self.most or self.charged or ahead >= unplaced:
                    ahead = self.bound(after, now, fresh, ahead, count - 1, minutes - group.minutes)
                value = spent + ahead
                if value > ceiling:
                    continue
                found.append(
                    Node(
                        value,
                        (*path, (slot, group.members[len(group.members) - number].order)),
                        after,
                        now,
                        value if after == self.slots else spent,
                        fresh,
                        (*rows[:series], row, *rows[series + 1 :]),
                        count - 1,
                        minutes - group.minutes,
                    )
                )
        return found

    def _broken(self, after: tuple[str, ...], path: Path) -> int:
        """How many of the studies that must have come before have not."""
        placed = {order for _, order in path}
        return sum(self.orders.get(key) not in placed for key in after)

    def _solution(self, node: Node, bound: int) -> Solution:
        places = {self.keys[order]: slot for slot, order in node.path}
        proven = bound >= node.cost
        score = self.weight.unpack(node.cost)
        return Solution(places, score, proven, score if proven else self.weight.unpack(bound), self.expanded)


def _joined(one: Sequence[int], other: Sequence[int], drop: int) -> int:
    """Least sum of two costs by number left out, `drop` left out in all; `IMPOSSIBLE` if there are not so many."""
    first, last = max(0, drop + 1 - len(other)), min(len(one) - 1, drop)
    if first > last:
        return IMPOSSIBLE
    least: int = min(map(add, one[first : last + 1], other[drop - last : drop - first + 1][::-1]))
    return least


def _rank(node: Node) -> tuple[int, Path]:
    return node.cost, node.path


def _undominated(rivals: list[Node], node: Node) -> bool:
    """Add `node` to the rivals of its state unless one is at least as good in cost, path and hours used."""
    for rival in rivals:
        if rival.used <= node.used and _rank(rival) <= _rank(node):
            return False
    rivals[:] = [r for r in rivals if r.used < node.used or _rank(r) < _rank(node)]
    rivals.append(node)
    return True


def _room(problem: Problem) -> list[int]:
    """For every slot, the most minutes that may be used once its study must be ready, until the next slot's must."""
    room = []
    for slot, ready in enumerate(problem.ready):
        until = problem.ready[slot + 1] if slot + 1 < len(problem.ready) else len(problem.spare)
        room.append(min(problem.spare[max(ready, 0) : max(until, 0)], default=NO_LIMIT))
    return room


def _freed(problem: Problem) -> list[int]:
    """For every slot number, the most standing minutes that one study from there on can replace."""
    return list(reversed(list(accumulate(reversed(problem.standing), max, initial=0))))
