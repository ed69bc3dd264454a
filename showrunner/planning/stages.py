"""What the search has at hand while it decides one slot: what each series can do there, and what its rest costs.

A state of the search is one whole number: for every series a field with the position of its last
study, and one with a count for each of its classes. States of many plans share what one series looks
like, so all that follows from that alone is computed once for each slot and kept: the costs of the
rest by how many of it are left out, the least minutes the rest needs, and the moves there are.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate
from operator import add

from showrunner.domain.record import record
from showrunner.planning.problem import Problem
from showrunner.planning.tables import IMPOSSIBLE, NEVER, SeriesTable, SlotGrid, StudyClass

WHOLES = 100_000
"""Most of what may be left of a series that is kept at hand."""


@record
class Field:
    """Where the count of a class stands in a state."""

    shift: int
    mask: int

    def count(self, state: int) -> int:
        """How many of the class are left."""
        return state >> self.shift & self.mask


@record
class SeriesFields:
    """Where a series stands in a state; the fields of its classes count from the start of its own bits."""

    shift: int
    mask: int
    last: Field
    classes: tuple[Field, ...]


def fields_of(
    groups: Sequence[Sequence[StudyClass]], grids: Sequence[SlotGrid]
) -> tuple[tuple[SeriesFields, ...], int]:
    """The fields of all series, and the state in which nothing is placed."""
    found, root, shift = [], 0, 0
    for series, grid in zip(groups, grids, strict=True):
        width = grid.start.bit_length()
        last, inner, own = Field(0, (1 << width) - 1), width, grid.start
        fields = []
        for group in series:
            size = len(group.members).bit_length()
            fields.append(Field(inner, (1 << size) - 1))
            own |= len(group.members) << inner
            inner += size
        found.append(SeriesFields(shift, (1 << inner) - 1, last, tuple(fields)))
        root |= own << shift
        shift += inner
    return tuple(found), root


class Whole:
    """What is left of one series, whatever the slot.

    Args:
        table: the table of the series.
        rest: what is left, as a state of the table.
        last: position of its last study.
        minutes: of each study left, smallest first.
        promised: slots of the promised dates among them, each as often as it counts.
    """

    __slots__ = ("_freed", "_last", "_minutes", "_rest", "_rows", "_sizes", "_table", "left", "promised")

    def __init__(self, table: SeriesTable, rest: int, last: int, minutes: list[int], promised: list[int]) -> None:
        self._table, self._rest, self._last = table, rest, last
        self._minutes, self.promised = minutes, promised
        self.left = len(minutes)
        self._rows: list[list[int]] = []
        self._freed: int | None = None
        self._sizes: tuple[list[int], list[int]] = ([], [])

    def row(self, drop: int) -> list[int]:
        """For every slot number, the least cost of placing all but `drop`; asked for in turn from 0 on."""
        while len(self._rows) <= drop:
            self._rows.append(self._table.row(self._rest, len(self._rows), self._last))
        return self._rows[drop]

    def sizes(self, freed: int) -> tuple[list[int], list[int]]:
        """Minutes that each adds if it replaces `freed`, smallest first, and the least of all but so many of them."""
        if freed != self._freed:
            sizes = [minutes - freed for minutes in self._minutes]
            self._freed, self._sizes = freed, (sizes, [*accumulate(sizes, initial=0)][::-1])
        return self._sizes


class Rest:
    """What is left of one series, seen from one slot on.

    Args:
        whole: what is left.
        slot: nothing airs before it.
        freed: most standing minutes that a study of the series can replace from there on.
    """

    __slots__ = ("_whole", "costs", "left", "minutes", "open", "sizes", "slot")

    def __init__(self, whole: Whole, slot: int, freed: int) -> None:
        self._whole, self.slot = whole, slot
        self.left = whole.left
        """Studies left."""
        self.sizes, self.minutes = whole.sizes(freed)
        """Least minutes that each adds to those used, smallest first; and least that all but so many of them add."""
        self.open = sum(at >= slot for at in whole.promised) if whole.promised else 0
        """Promised dates that can still be kept."""
        self.costs = [whole.row(0)[slot]]
        """Least cost of placing all but so many of them; see `upto`."""

    def upto(self, drop: int) -> list[int]:
        """The costs, at least as far as `drop` left out, if there are so many."""
        costs = self.costs
        while len(costs) <= drop and len(costs) <= self.left:
            costs.append(self._whole.row(len(costs))[self.slot])
        return costs


Fronts = list[list[tuple[int, int]]]
"""By number left out, pairs of minutes needed and cost, none worse in both than another."""

Move = tuple[int, int, int, int, int, tuple[tuple[int, int], ...]]
"""A study of some class placed in the slot: what it adds to the state, the cost and the minutes; the part it has in
the path; its series' rest after it, as key; and fields of the studies it is promised after."""


class Stage:
    """One slot.

    Args:
        space: the numbers of the problem.
        slot: the slot to decide.
    """

    def __init__(self, space: Space, slot: int) -> None:
        self.space, self.slot = space, slot
        self.rests: list[dict[int, Rest]] = [{} for _ in space.fields]
        self.moves: list[dict[int, list[Move]]] = [{} for _ in space.fields]
        self.fronts: dict[tuple[int, ...], Fronts] = {}

    def rest(self, series: int, own: int) -> Rest:
        """What is left of a series if its part of the state is `own`, from the slot after this one on."""
        found = self.rests[series].get(own)
        if found is None:
            found = self.rests[series][own] = self.space.rest(series, own, self.slot + 1)
        return found

    def moves_of(self, series: int, own: int) -> list[Move]:
        """What a series can place here."""
        found = self.moves[series].get(own)
        if found is None:
            found = self.moves[series][own] = self.space.moves(series, own, self.slot)
        return found


class Space:
    """The numbers of a problem that all stages share.

    Args:
        problem: the problem.
        groups: the classes of every series.
        grids: the slots of every series.
        tables: the tables of every series.
        ranks: place of every study in book order, from 0, by its `order`.
    """

    def __init__(
        self,
        problem: Problem,
        groups: Sequence[Sequence[StudyClass]],
        grids: Sequence[SlotGrid],
        tables: Sequence[SeriesTable],
        ranks: dict[int, int],
    ) -> None:
        self.problem, self.groups, self.grids, self.tables, self.ranks = problem, groups, grids, tables, ranks
        self.fields, self.root = fields_of(groups, grids)
        self.slots = len(problem.slots)
        self.nothing = len(problem.needs)
        self.digit = self.nothing.bit_length()
        self.freed = [_freed(problem, grid) for grid in grids]
        self._wholes: list[dict[int, Whole]] = [{} for _ in groups]
        self._sorted = [sorted(range(len(series)), key=lambda c: series[c].minutes) for series in groups]
        self._after = self._promised_after()

    def _promised_after(self) -> dict[str, tuple[int, int]]:
        """Shift and mask of the count of every study that another is promised after; it is a class of its own."""
        named = {key for need in self.problem.needs for key in need.after}
        return {
            group.members[0].key: (fields.shift + field.shift, field.mask)
            for series, fields in zip(self.groups, self.fields, strict=True)
            for group, field in zip(series, fields.classes, strict=True)
            if group.members[0].key in named
        }

    def path(self, slot: int, number: int) -> int:
        """The part of a path in which `slot` has the study of that place in book order, or `nothing`."""
        return number << self.digit * (self.slots - 1 - slot)

    def places(self, path: int) -> dict[int, int]:
        """Slot by place in book order."""
        mask = (1 << self.digit) - 1
        numbers = {slot: path >> self.digit * (self.slots - 1 - slot) & mask for slot in range(self.slots)}
        return {number: slot for slot, number in numbers.items() if number != self.nothing}

    def parts(self, state: int) -> list[int]:
        """Each series' own part of a state."""
        return [state >> fields.shift & fields.mask for fields in self.fields]

    def rest(self, series: int, own: int, slot: int) -> Rest:
        """What is left of a series from `slot` on."""
        known = self._wholes[series]
        whole = known.get(own)
        if whole is None:
            if len(known) > WHOLES:
                known.clear()
            whole = known[own] = self._whole(series, own)
        return Rest(whole, slot, self.freed[series][slot])

    def _whole(self, series: int, own: int) -> Whole:
        fields, table, groups = self.fields[series], self.tables[series], self.groups[series]
        rest = 0
        promised: list[int] = []
        minutes: list[int] = []
        for c in self._sorted[series]:
            count = own >> fields.classes[c].shift & fields.classes[c].mask
            if count:
                group = groups[c]
                rest += count * table.strides[table.part[c]]
                minutes += [group.minutes] * count
                if group.promised is not None:
                    promised += [group.promised] * group.worth  # two of one class cannot both keep it
        return Whole(table, rest, own & fields.last.mask, minutes, promised)

    def moves(self, series: int, own: int, slot: int) -> list[Move]:
        """What a series can place in `slot`."""
        grid, fields = self.grids[series], self.fields[series]
        at = grid.position.get(slot, -1)
        last = fields.last.count(own)
        begin, gaps = grid.gaps[last]
        found: list[Move] = []
        if at < begin:
            return found
        problem = self.problem
        for group, field in zip(self.groups[series], fields.classes, strict=True):
            count = own >> field.shift & field.mask
            if not count or group.cost[slot] >= IMPOSSIBLE:
                continue
            delta = at - last - (1 << field.shift)
            cost = group.cost[slot] + gaps[at - begin]
            gain = 0 if problem.ready[slot] < 0 else group.minutes - problem.standing[slot]
            member = group.members[len(group.members) - count]
            # A study that is not in the problem is never placed: its field is always above 0.
            after = tuple(self._after.get(key, (0, 0)) for key in group.after)
            found.append(
                (delta << fields.shift, cost, gain, self.path(slot, self.ranks[member.order]), own + delta, after)
            )
        return found


def orders_broken(state: int, after: Sequence[tuple[int, int]]) -> int:
    """How many of the studies it is promised after are not placed yet."""
    return sum(mask == 0 or state >> shift & mask > 0 for shift, mask in after)


def cheapest(rests: Sequence[Rest], drop: int, budget: int, memo: dict[tuple[int, ...], Fronts] | None = None) -> int:
    """Least cost of leaving exactly `drop` studies out, split over the series so that the hours can hold the others.

    Args:
        rests: what is left of every series.
        drop: how many are left out.
        budget: minutes that may still be used.
        memo: what was found for all but the last series, by their identity; lives as long as they do.

    Returns:
        The cost, above `NEVER` if there is no such split.
    """
    if not rests:
        return 0 if drop == 0 and budget >= 0 else IMPOSSIBLE
    if len(rests) == 1:
        rest = rests[0]
        if drop > rest.left or rest.minutes[drop] > budget:
            return IMPOSSIBLE
        return rest.upto(drop)[drop]
    if drop == 0:
        if sum(rest.minutes[0] for rest in rests) > budget:
            return IMPOSSIBLE
        return sum(rest.costs[0] for rest in rests)
    if sum(max(rest.minutes) for rest in rests) <= budget:
        costs = rests[0].upto(drop)
        for rest in rests[1:-1]:
            own = rest.upto(drop)
            costs = [_joined(costs, own, number) for number in range(min(len(costs) + len(own) - 1, drop + 1))]
        return _joined(costs, rests[-1].upto(drop), drop)
    key = (drop, *map(id, rests[:-1]))
    kept = memo.get(key) if memo is not None else None
    if kept is None:
        kept = _fronts(rests[:-1], drop)
        if memo is not None:
            memo[key] = kept
    rest = rests[-1]
    own = rest.upto(drop)
    best = IMPOSSIBLE
    for number, pairs in enumerate(kept):
        more = drop - number
        if more <= rest.left:
            cost, most = own[more], budget - rest.minutes[more]
            for needed, before in pairs:
                if needed <= most and before + cost < best:
                    best = before + cost
    return best


def _fronts(rests: Sequence[Rest], drop: int) -> Fronts:
    """Pairs of minutes and cost by number left out; of two with the same number the worse in both is of no use."""
    first = rests[0]
    kept = [[pair] for pair in zip(first.minutes, first.upto(drop)[: drop + 1], strict=False)]
    for rest in rests[1:]:
        own = rest.upto(drop)
        grown: Fronts = [[] for _ in range(min(len(kept) + rest.left, drop + 1))]
        for number, pairs in enumerate(kept):
            for more in range(min(rest.left, drop - number) + 1):
                needed, cost = rest.minutes[more], own[more]
                if cost < NEVER:
                    grown[number + more] += [(n + needed, c + cost) for n, c in pairs]
        kept = [_front(pairs) for pairs in grown]
    return kept


def _front(pairs: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """The pairs of minutes and cost without those that another is no worse than in both."""
    found: list[tuple[int, int]] = []
    for pair in sorted(pairs):
        if not found or pair[1] < found[-1][1]:
            found.append(pair)
    return found


def _joined(one: Sequence[int], other: Sequence[int], drop: int) -> int:
    """Least sum of two costs by number left out, `drop` left out in all; `IMPOSSIBLE` if there are not so many."""
    first = max(0, drop + 1 - len(other))
    last = min(len(one) - 1, drop)
    if first > last:
        return IMPOSSIBLE
    least: int = min(map(add, one[first:], other[drop - last : drop + 1][::-1]))
    return least


def _freed(problem: Problem, grid: SlotGrid) -> list[int]:
    """For every slot number, the most standing minutes that one study of a series from there on can replace."""
    own = [minutes * (slot in grid.position) for slot, minutes in enumerate(problem.standing)]
    return list(reversed(list(accumulate(reversed(own), max, initial=0))))
