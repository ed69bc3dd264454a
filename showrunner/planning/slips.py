"""When studies really air if each planned slot is missed with some chance: exact, by recursion over slots.

Every study tries its planned slot, or the first slot after it that keeps the least gap from the study
before it; each try fails with the slip rate, independently, and the next free slot is tried. The
distribution of a study's slot follows from that of the study before it alone, so one pass over the
slots gives each exactly. With slots a gap apart and rate 1 - p, the last of k studies airs on slot
k + X, where X is negative binomial (k, p).
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence


def air_days(
    planned: Sequence[int], free: Sequence[int], days: Sequence[int], min_days: int, rate: float
) -> list[dict[int, float]]:
    """For every study, the probability of each slot it may air in.

    Args:
        planned: slot of each study, in order.
        free: slots the series may use, rising; planned slots that are not among them are tried all the same.
        days: day of every slot, by slot; never falling.
        min_days: least gap between studies, days.
        rate: chance that a try fails, from 0 to below 1.

    Returns:
        For each study, probability by slot. Each sums to 1, less what lies beyond the last slot.
    """
    slots = sorted({*free, *planned})
    on = [days[slot] for slot in slots]
    found: list[dict[int, float]] = []
    before: dict[int, float] | None = None
    for wish in planned:
        starts = [0.0] * (len(slots) + 1)
        first = bisect_left(slots, wish)
        if before is None:
            starts[first] = 1.0
        else:
            for slot, chance in before.items():
                starts[max(first, bisect_right(slots, slot), bisect_left(on, days[slot] + min_days))] += chance
        trying, before = 0.0, {}
        for slot, start in zip(slots, starts, strict=False):
            trying += start
            if trying:
                before[slot] = trying * (1 - rate)
                trying *= rate
        found.append(before)
    return found
