"""How many studies can still be placed from a state on, hours and gaps and slots kept: the count alone, not its cost.

For a slot and what is left, one number says it all: the most minutes that may be used by then so that
as many more as are wanted still fit. Less used is never worse. What a study costs does not matter here,
so studies that take the same minutes and may have the same slots are one kind, and of the last study of
a series only the first slot its next may have, which is nothing once that has come: the states are few.
Orders are not looked at, so it is a bound.
"""

from __future__ import annotations

from collections.abc import Sequence

from showrunner.planning.limit import Limit
from showrunner.planning.stages import Space
from showrunner.planning.tables import IMPOSSIBLE

LARGEST = 1_200_000
"""Most states kept."""

LONGEST = 400
"""Most slots; it calls itself from slot to slot."""

NOT_AT_ALL = -(1 << 40)
"""Minutes used from which nothing fits: none are so few."""


class TooLarge(Exception):
    """It would need more states than may be kept."""


class Capacity:
    """The most minutes used from which so many studies still fit.

    Args:
        space: the numbers of the problem.
        room: for every slot, the most minutes that may be used after it.
        safe: the same if nothing more is placed.
        must: how many studies are to be placed in all.
        limit: the time it may take.

    Raises:
        TooLarge: there are too many slots; or, from any method, too many states.
    """

    def __init__(self, space: Space, room: Sequence[int], safe: Sequence[int], must: int, limit: Limit) -> None:
        if space.slots > LONGEST:
            raise TooLarge
        self.space, self.room, self.safe, self.limit = space, room, safe, limit
        self.slots = space.slots
        self.dropped = len(space.problem.needs) - must
        self.width = (self.slots + 1).bit_length()
        self.free_mask = (1 << self.width) - 1
        self.known: list[dict[tuple[int, ...], int]] = [{} for _ in range(self.slots + 1)]
        self.kept = 0
        self.shifts: list[list[int]] = []
        self.masks: list[list[int]] = []
        self.kind_of: list[list[int]] = []
        moves: list[dict[int, list[tuple[int, int, int, int, int]]]] = [{} for _ in range(self.slots)]
        for series, groups in enumerate(space.groups):
            kinds: dict[tuple[int, tuple[bool, ...]], int] = {}
            sizes: list[int] = []
            mine = []
            for group in groups:
                allowed = tuple(cost < IMPOSSIBLE for cost in group.cost)
                kind = kinds.setdefault((group.minutes, allowed), len(kinds))
                if kind == len(sizes):
                    sizes.append(0)
                sizes[kind] += len(group.members)
                mine.append(kind)
            shift, shifts = self.width, []
            for size in sizes:
                shifts.append(shift)
                shift += size.bit_length()
            self.shifts.append(shifts)
            self.masks.append([(1 << size.bit_length()) - 1 for size in sizes])
            self.kind_of.append(mine)
            grid = space.grids[series]
            for (minutes, allowed), kind in kinds.items():
                for at, slot in enumerate(grid.usable):
                    if allowed[slot]:
                        begin = grid.gaps[at][0]
                        free = grid.usable[begin] if begin < grid.start else self.slots
                        gain = 0 if space.problem.ready[slot] < 0 else minutes - space.problem.standing[slot]
                        moves[slot].setdefault(series, []).append(
                            (shifts[kind], self.masks[series][kind], gain, free, 1 << shifts[kind])
                        )
        self.moves = [list(at.items()) for at in moves]
        self._parts: list[dict[int, tuple[int, int]]] = [{} for _ in space.groups]

    def holds(self, slot: int, used: int, state: int) -> bool:
        """Whether the studies still wanted fit from `slot` on, so many minutes being used."""
        key, left = [], 0
        for series, own in enumerate(self.space.parts(state)):
            found = self._parts[series].get(own)
            if found is None:
                found = self._parts[series][own] = self._part(series, own)
            key.append(found[0])
            left += found[1]
        more = left - self.dropped
        return more >= 0 and used <= self.most(slot, tuple(key), more)

    def _part(self, series: int, own: int) -> tuple[int, int]:
        fields, grid = self.space.fields[series], self.space.grids[series]
        begin = grid.gaps[fields.last.count(own)][0]
        part, left = grid.usable[begin] if begin < grid.start else self.slots, 0
        for field, kind in zip(fields.classes, self.kind_of[series], strict=True):
            count = field.count(own)
            part += count << self.shifts[series][kind]
            left += count
        return part, left

    def most(self, slot: int, key: tuple[int, ...], more: int) -> int:
        """The most minutes used before `slot` from which `more` studies fit; `NOT_AT_ALL` if they never do."""
        if more == 0:
            return self.safe[slot - 1] if slot else -NOT_AT_ALL
        if slot == self.slots:
            return NOT_AT_ALL
        free_mask = self.free_mask
        key = tuple([part if part & free_mask > slot else part & ~free_mask for part in key])
        known = self.known[slot]
        found = known.get(key)
        if found is not None:
            return found
        self.kept += 1
        if self.kept > LARGEST:
            raise TooLarge
        self.limit.check()
        room = self.room[slot]
        best = min(room, self.most(slot + 1, key, more))
        for series, moves in self.moves[slot]:
            part = key[series]
            if part & free_mask:
                continue
            for shift, mask, gain, free, one in moves:
                if room - gain > best and part >> shift & mask:
                    fresh = (*key[:series], part - one + free, *key[series + 1 :])
                    best = max(best, min(room, self.most(slot + 1, fresh, more - 1)) - gain)
        known[key] = best
        return best
