"""The cost to go of one series alone: a backward dynamic program over what is left to place.

Studies that differ in nothing the rules see form one class with a count. For a series by itself,
ignoring hours and the other series, the table answers exactly: what does it cost at least to place
the rest (leaving `drop` of them out), if the last study aired in this slot and the next may not air
before that one? The sum over all series never exceeds the true cost, which makes it the bound of
the best-first search; and a table kept by what is *left* serves every subset of the studies too.

Costs are whole numbers in which the aims are stacked (see `Weights`), so that a plain comparison
compares the aims in their order.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import accumulate, combinations
from math import prod
from operator import add, mul, ne

from showrunner.domain.record import record
from showrunner.planning.limit import ENDLESS, Limit
from showrunner.planning.problem import NOWHERE, Need, Problem, Score

IMPOSSIBLE = 1 << 120
"""Stands for a cost that no plan has."""

NEVER = 1 << 119
"""A sum with `IMPOSSIBLE` in it stays above this, whatever promises give back; costs of plans stay below."""

TABLE_LIMIT = 3000
"""Most combinations of counts a table keeps; beyond it, classes are merged in the table (never in the search)."""

FINE_LIMIT = 20_000
"""The same at most where the studies' reach is known, so that the table holds few of them."""

NEAR = 14
"""Days beyond twice the wished gap in which the next study is looked for first."""

CELLS = 4_000_000
"""Most numbers in the rows that a table keeps at hand; they are made anew from its heads."""

DEEP = 100
"""Studies left from which on smaller states are computed first, so that no call goes too deep."""


@record
class Weights:
    """How the aims are stacked into one whole number: each weighs more than all below it can add up to."""

    broken: int
    """Weight of a promise not kept."""
    unplaced: int
    """Weight of a study left out."""
    wide: int
    """Weight of a gap longer than the longest wished."""
    moved: int
    """Weight of a moved study."""
    moved_day: int
    """Weight of a day moved."""
    point: int
    """Weight of a day squared of spacing or window."""

    def pack(self, score: Score) -> int:
        """The aims as one stacked cost."""
        return (
            score.broken * self.broken
            + score.unplaced * self.unplaced
            + score.wide * self.wide
            + score.moved * self.moved
            + score.moved_days * self.moved_day
            + score.points * self.point
            + score.days
        )

    def unpack(self, value: int) -> Score:
        """The aims in a stacked cost."""
        broken, value = divmod(value, self.broken)
        unplaced, value = divmod(value, self.unplaced)
        wide, value = divmod(value, self.wide)
        moved, value = divmod(value, self.moved)
        moved_days, value = divmod(value, self.moved_day)
        points, days = divmod(value, self.point)
        return Score(broken, unplaced, wide, moved, moved_days, points, days)


def weights(problem: Problem) -> Weights:
    """Weights large enough for `problem`."""
    count = len(problem.needs)
    last = max(problem.days, default=0)
    miss = max((max(last - (s.last_day or 0), s.target_days) for s in problem.spacings), default=0)
    window = max((c for need in problem.needs for c in need.cost if c is not None), default=0)
    planned = [need.planned_day for need in problem.needs if need.planned_day is not None]
    move = max((abs(day - was) for was in planned for day in problem.days), default=0)
    point = count * last + 1
    moved_day = point * (count * (miss**2 + window) + 1)
    moved = moved_day * (count * move + 1) if problem.keep else moved_day
    wide = moved * (count + 1)
    unplaced = wide * (count + 1) if any(s.max_days is not None for s in problem.spacings) else wide
    broken = unplaced * (count + 1)
    return Weights(broken, unplaced, wide, moved, moved_day, point)


@record
class StudyClass:
    """Studies of one series that the rules cannot tell apart."""

    members: tuple[Need, ...]
    """The studies in book order; they are named in that order."""
    cost: tuple[int, ...]
    """Stacked cost of placing one of them in each slot, `IMPOSSIBLE` where forbidden. Every promised date counts as
    broken from the start; the slot that keeps it gives that back."""
    minutes: int
    """Minutes of work left on each."""
    after: tuple[str, ...]
    """Keys of studies it is promised after."""
    promised: int | None
    """Slot in which one of them keeps the promise of its date; None if no date is promised or it cannot be kept."""
    worth: int
    """How many promises that date counts as."""


def classes(problem: Problem, series: int, weight: Weights) -> tuple[StudyClass, ...]:
    """The classes of one series, in book order of their first members."""
    named = {key for need in problem.needs for key in need.after}
    groups: dict[object, list[Need]] = {}
    for need in sorted((n for n in problem.needs if n.series == series), key=lambda n: n.order):
        plan = (need.planned_slot, need.planned_day) if problem.keep else None
        own = need.key if need.key in named else None
        groups.setdefault((need.minutes, need.cost, need.after, need.promised, need.worth, plan, own), []).append(need)
    return tuple(_kind(problem, group, weight) for group in groups.values())


def _kind(problem: Problem, group: list[Need], weight: Weights) -> StudyClass:
    """The class of some studies that are alike."""
    need = group[0]
    costs, promised = _slot_costs(problem, need, weight), _keepable(problem, need)
    return StudyClass(tuple(group), costs, need.minutes, need.after, promised, need.worth)


def _keepable(problem: Problem, need: Need) -> int | None:
    slot = need.promised
    if slot is None or slot == NOWHERE or need.cost[slot] is None or (problem.ready[slot] < 0 and need.minutes > 0):
        return None
    return slot


def _slot_costs(problem: Problem, need: Need, weight: Weights) -> tuple[int, ...]:
    costs = []
    for slot, (window, day) in enumerate(zip(need.cost, problem.days, strict=True)):
        if window is None or (problem.ready[slot] < 0 and need.minutes > 0):
            costs.append(IMPOSSIBLE)
            continue
        cost = window * weight.point + day
        if problem.keep and need.planned_day is not None and slot != need.planned_slot:
            cost += weight.moved + abs(day - need.planned_day) * weight.moved_day
        if slot == need.promised:
            cost -= weight.broken * need.worth
        costs.append(cost)
    return tuple(costs)


@record
class SlotGrid:
    """The slots one series can use, and what the gaps between them cost."""

    slots: int
    """Number of slots in the whole problem."""
    usable: tuple[int, ...]
    """Slots that some study of the series may take."""
    position: dict[int, int]
    """Position among `usable` by slot."""
    gaps: tuple[tuple[int, list[int]], ...]
    """For every `last` (a position, or `start`): the first position that keeps the least gap, and the stacked
    cost of the gap to every position from there on."""
    near: tuple[int, ...]
    """For every `last`, how many of those positions are near; beyond them the cost of the gap only grows."""

    @property
    def start(self) -> int:
        """The `last` that stands for the last published study."""
        return len(self.usable)


def slot_grid(problem: Problem, series: int, groups: Sequence[StudyClass], weight: Weights) -> SlotGrid:
    """The grid of one series."""
    spacing = problem.spacings[series]
    usable = tuple(s for s in range(len(problem.days)) if any(g.cost[s] < IMPOSSIBLE for g in groups))
    days = [problem.days[s] for s in usable]

    def cost(gap: int) -> int:
        return (gap - spacing.target_days) ** 2 * weight.point + spacing.is_wide(gap) * weight.wide

    def gaps(last: int, after: int) -> tuple[int, list[int]]:
        begin = next((at for at in range(after, len(days)) if days[at] - last >= spacing.min_days), len(days))
        return begin, [cost(day - last) for day in days[begin:]]

    rows = [gaps(day, at + 1) for at, day in enumerate(days)]
    rows.append((0, [0] * len(days)) if spacing.last_day is None else gaps(spacing.last_day, 0))
    ends = [*days, spacing.last_day]
    near = tuple(
        len(costs) if end is None else sum(day <= end + 2 * spacing.target_days + NEAR for day in days[begin:])
        for (begin, costs), end in zip(rows, ends, strict=True)
    )
    return SlotGrid(len(problem.days), usable, {slot: at for at, slot in enumerate(usable)}, tuple(rows), near)


@record
class Reach:
    """Where the studies of a series can stand in a plan that places all of them and costs no more than a known one."""

    between: tuple[tuple[int, int], ...]
    """By number of studies still to come, the first position of the one before them, and one past the last."""
    open: tuple[tuple[bool, ...], ...]
    """For every class, whether it may have each position."""

    def limit(self, count: int) -> int:
        """Most combinations of counts in a table of `count` positions: the more, the fewer of those are in reach."""
        held = sum(end - begin for begin, end in self.between)
        return min(TABLE_LIMIT * count * len(self.between) // max(held, 1), FINE_LIMIT)


class SeriesTable:
    """The cost to go of one series, computed where it is asked for and kept.

    A state `rest` counts what is left to place, in mixed radix over the table's classes; `last` is a
    position of the grid.

    Args:
        grid: the slots of the series.
        groups: its classes.
        toll: for every class, what each slot costs on top of its own cost (see `prices`); None for nothing.
        parts: the part of the table that each class goes into; None to find it.
        time: ends the computing of any entry.
        reach: where the studies may stand; beyond it nothing is possible. With it, the table may be asked only for
            placing all that is left. None for anywhere.
    """

    def __init__(
        self,
        grid: SlotGrid,
        groups: Sequence[StudyClass],
        toll: Sequence[Sequence[int]] | None = None,
        parts: list[int] | None = None,
        time: Limit = ENDLESS,
        reach: Reach | None = None,
    ) -> None:
        self.grid, self.time = grid, time
        costs = [[g.cost[s] + (toll[c][s] if toll else 0) for s in grid.usable] for c, g in enumerate(groups)]
        if reach:
            costs = [
                [cost if free else IMPOSSIBLE for cost, free in zip(row, open_, strict=True)]
                for row, open_ in zip(costs, reach.open, strict=True)
            ]
        self.own = costs
        """For every class, what each position costs."""
        sizes = [len(group.members) for group in groups]
        self.part = parts_of(groups, grid) if parts is None else parts
        self.costs: list[list[int]] = [[IMPOSSIBLE] * len(grid.usable) for _ in set(self.part)]
        self.counts = [0] * len(self.costs)
        for part, size, cost in zip(self.part, sizes, costs, strict=True):
            self.costs[part] = list(map(min, self.costs[part], cost))
            self.counts[part] += size
        self.strides = list(accumulate((n + 1 for n in self.counts[:-1]), mul, initial=1))
        ends = [[at for at, cost in enumerate(row) if cost < IMPOSSIBLE] for row in self.costs]
        self.ends = [(free[0], free[-1] + 1) if free else (len(grid.usable), 0) for free in ends]
        self.between = reach.between if reach else ((0, len(grid.usable)),) * sum(sizes)
        self.most = self._most()
        self.full = sum(n * s for n, s in zip(self.counts, self.strides, strict=True)) if self.counts else 0
        self._heads: dict[tuple[int, int], list[int]] = {}
        self._values: dict[tuple[int, int], list[int]] = {}
        self._rows: dict[tuple[int, int, int], list[int]] = {}

    def _most(self) -> int:
        """The most studies the slots can take with the least gap between them: each as early as can be."""
        number, at = 0, self.grid.gaps[self.grid.start][0]
        while at < len(self.grid.usable):
            number, at = number + 1, self.grid.gaps[at][0]
        return number

    def left(self, rest: int) -> int:
        """How many studies the state `rest` still has."""
        return sum(rest // stride % (n + 1) for n, stride in zip(self.counts, self.strides, strict=False))

    def parts(self, rest: int) -> list[int]:
        """The classes of the table of which `rest` still has a study."""
        return [c for c, n in enumerate(self.counts) if rest // self.strides[c] % (n + 1)]

    def head(self, rest: int, drop: int) -> list[int]:
        """For every position, the least cost of placing the next study there and all but `drop` of `rest` in all."""
        key = (rest, drop)
        head = self._heads.get(key)
        if head is None:
            self.time.check()
            left = self.left(rest)
            if left > DEEP and left - drop <= self.most:
                self._fill_below(rest, drop)
            begin, end = self.between[left - 1]
            parts = self.parts(rest)
            if left - drop > self.most or (drop == 0 and any(self.ends[c][1] <= begin for c in parts)):
                parts = []  # too many, or some come too late
            ways: list[Iterable[int]] = []
            for c in parts:
                fewer = rest - self.strides[c]
                if self.ends[c][0] < end:
                    ways.append(map(add, self.costs[c][begin:end], self.value(fewer, drop)[begin:end]))
                if drop:
                    ways.append(self.head(fewer, drop - 1)[begin:end])
            found = list(map(min, *ways)) if len(ways) > 1 else list(*ways) or [IMPOSSIBLE] * (end - begin)
            head = [IMPOSSIBLE] * begin + found + [IMPOSSIBLE] * (len(self.grid.usable) - end)
            self._heads[key] = head
        return head

    def _fill_below(self, rest: int, drop: int) -> None:
        """Compute what `head` will ask for, smallest states first, so that it need not call itself too deeply."""
        for state in range(rest):
            if all(state // s % (n + 1) <= rest // s % (n + 1) for n, s in zip(self.counts, self.strides, strict=True)):
                left = self.left(state)
                if left % DEEP == 0:
                    for few in range(max(0, left - self.most), min(drop, left) + 1):
                        self.value(state, few)

    def value(self, rest: int, drop: int) -> list[int]:
        """For every position of the last study, the least cost of placing all of `rest` but `drop` after it."""
        key = (rest, drop)
        value = self._values.get(key)
        if value is None:
            left = self.left(rest)
            value = self._after(self.head(rest, drop), left) if left > drop else [0] * len(self.grid.usable)
            self._values[key] = value
        return value

    def _after(self, head: list[int], left: int) -> list[int]:
        """For every position, the least cost of a head and the gap to it; a look at the near ones is mostly enough."""
        found = [IMPOSSIBLE] * len(head)
        first, end = self.between[left - 1]
        least = list(accumulate(reversed(head), min))
        least.reverse()
        for last in range(*self.between[left]):
            begin, gaps = self.grid.gaps[last]
            start = max(begin, first)
            if start >= end or least[start] >= NEVER:
                break
            far = min(begin + self.grid.near[last], end)
            best = min(map(add, head[start:far], gaps[start - begin : far - begin]), default=IMPOSSIBLE)
            if far < end and gaps[far - begin] + least[far] < best:
                best = min(best, min(map(add, head[far:end], gaps[far - begin :])))
            found[last] = best
        return found

    def row(self, rest: int, drop: int, last: int) -> list[int]:
        """For every slot number (one past the last slot too), the least cost if nothing airs before that slot.

        Args:
            rest: what is left to place.
            drop: how many of those are left out.
            last: position of the last study, or the grid's `start`.
        """
        key = (rest, drop, last)
        row = self._rows.get(key)
        if row is None:
            grid = self.grid
            left = self.left(rest)
            if left <= drop:
                row = [0] * (grid.slots + 1)
            elif left - drop > self.most:
                row = [IMPOSSIBLE] * (grid.slots + 1)
            else:
                begin, gaps = grid.gaps[last]
                row = [IMPOSSIBLE] * (grid.slots + 1)
                for slot, cost in zip(grid.usable[begin:], map(add, self.head(rest, drop)[begin:], gaps), strict=True):
                    row[slot] = cost
                row.reverse()
                row = list(accumulate(row, min))
                row.reverse()
            if len(self._rows) * grid.slots > CELLS:
                self._rows.clear()
            self._rows[key] = row
        return row

    def plan(self, drop: int) -> list[tuple[int, int]]:
        """A cheapest placement of all studies but `drop`, as slot and class of the table; it must be possible."""
        rest, last, found = self.full, self.grid.start, []
        while self.left(rest) > drop:
            begin, gaps = self.grid.gaps[last]
            whole = list(map(add, self.head(rest, drop)[begin:], gaps))
            last = begin + whole.index(min(whole))
            target = self.head(rest, drop)[last]
            while True:
                for c in self.parts(rest):
                    fewer = rest - self.strides[c]
                    if self.costs[c][last] + self.value(fewer, drop)[last] == target:
                        found.append((self.grid.usable[last], c))
                        rest = fewer
                        break
                    if drop and self.head(fewer, drop - 1)[last] == target:
                        rest, drop = fewer, drop - 1
                        break
                else:
                    raise AssertionError("a table does not hold what it was made of")
                if found and found[-1][0] == self.grid.usable[last]:
                    break
        return found


def parts_of(groups: Sequence[StudyClass], grid: SlotGrid, reach: Reach | None = None) -> list[int]:
    """For every class the part of the table it goes into: the likest are merged until the table is small enough.

    A part costs the least of its classes, so the table stays a bound. Classes with a promised date are merged last.
    """
    limit = reach.limit(len(grid.usable)) if reach else TABLE_LIMIT
    costs = {c: [group.cost[slot] for slot in grid.usable] for c, group in enumerate(groups)}
    size = {c: len(group.members) for c, group in enumerate(groups)}
    dated = {c: group.promised is not None for c, group in enumerate(groups)}
    part = list(range(len(groups)))
    if prod(n + 1 for n in size.values()) > limit:
        unlike = {pair: sum(map(ne, costs[pair[0]], costs[pair[1]])) for pair in combinations(costs, 2)}
    while len(size) > 1 and prod(n + 1 for n in size.values()) > limit:
        one, other = min(
            unlike, key=lambda pair: (dated[pair[0]] + dated[pair[1]], unlike[pair], size[pair[0]] + size[pair[1]])
        )
        costs[one] = list(map(min, costs[one], costs.pop(other)))
        size[one] += size.pop(other)
        dated[one] |= dated.pop(other)
        part = [one if p == other else p for p in part]
        unlike = {pair: number for pair, number in unlike.items() if other not in pair}
        for pair in unlike:
            if one in pair:
                unlike[pair] = sum(map(ne, costs[pair[0]], costs[pair[1]]))
    place = {c: at for at, c in enumerate(costs)}
    return [place[p] for p in part]
