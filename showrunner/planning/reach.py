"""Where the studies of a series can stand if all are placed: at all, or in a plan no dearer than one that is known.

With all classes of a series taken as one, its table says what the rest costs at least after the study in some slot;
going forward says what it costs at least to come to that. Where both together, with the least that the other series
cost, are dearer than the known plan, no plan as good has the study there (variables fixed by their reduced costs:
Dantzig, Fulkerson and Johnson 1954, "Solution of a large-scale traveling-salesman problem", from memory). What remains
is so little that a table need hardly merge any classes.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from operator import add

from showrunner.planning.tables import IMPOSSIBLE, Reach, SeriesTable, SlotGrid, StudyClass

NOWHERE = (0, 0)
"""No position."""


def widest(grid: SlotGrid, groups: Sequence[StudyClass]) -> Reach:
    """Where the studies of a series can stand: as early and as late as the least gap lets them if all are placed."""
    count, number = len(grid.usable), sum(len(group.members) for group in groups)
    begins = [begin for begin, _ in grid.gaps]
    earliest, at = [], begins[grid.start]
    for _ in range(number):
        earliest.append(at)
        at = begins[at] if at < count else count
    between, end = [], count
    for begin in reversed(earliest):
        between.append((begin, end) if begin < end else NOWHERE)
        end = bisect_left(begins, end, hi=count)
    return Reach(tuple(between), tuple(tuple(g.cost[slot] < IMPOSSIBLE for slot in grid.usable) for g in groups))


def narrowed(table: SeriesTable, most: int) -> Reach:
    """Where the studies of a series can stand in plans of it that cost `most` at most.

    Args:
        table: its table, with all classes in one part, and the reach known so far.
        most: what the placing of all its studies may cost.
    """
    if not table.full:
        return Reach((), ())
    grid, own = table.grid, table.costs[0]
    count = len(own)
    begin, gaps = grid.gaps[grid.start]
    before = [IMPOSSIBLE] * begin + gaps
    least = [IMPOSSIBLE] * count
    between = []
    for left in reversed(range(table.full)):
        table.time.check()
        others = list(map(add, before, table.value(left, 0)))
        least = list(map(min, least, others))
        here = [at for at in range(count) if others[at] + own[at] <= most]
        between.append((here[0], here[-1] + 1) if here else NOWHERE)
        ahead = [IMPOSSIBLE] * count
        for at in here:
            begin, gaps = grid.gaps[at]
            ahead[begin:] = map(min, ahead[begin:], map((before[at] + own[at]).__add__, gaps))
        before = ahead
    free = tuple(tuple(cost + rest <= most for cost, rest in zip(row, least, strict=True)) for row in table.own)
    return Reach(tuple(reversed(between)), free)
