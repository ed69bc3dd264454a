"""When studies really air if each planned slot is missed with some chance: exact, by recursion over slots.

Every study tries its planned slot, or the first slot after it that keeps the least gap from the study
before it; each try fails with the slip rate, independently, and the next free slot is tried. The
distribution of a study's slot follows from that of the study before it alone, so one pass over the
slots gives each exactly. With slots a gap apart and rate 1 - p, the last of k studies airs on slot
k + X, where X is negative binomial (k, p).
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence


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
    return Slips({*free, *planned}, days, min_days, rate).airs(tuple(planned))


class Slips:
    """The studies of one series as they slip, for any plan; plans that begin alike share what follows from that.

    Args:
        slots: slots that may be tried.
        days: day of every slot, by slot; never falling.
        min_days: least gap between studies, days.
        rate: chance that a try fails, from 0 to below 1.
    """

    def __init__(self, slots: Iterable[int], days: Sequence[int], min_days: int, rate: float) -> None:
        self.slots, self.days, self.min_days, self.rate = sorted(slots), days, min_days, rate
        self._on = [days[slot] for slot in self.slots]
        self._known: dict[tuple[int, ...], dict[int, float]] = {}

    def airs(self, planned: tuple[int, ...]) -> list[dict[int, float]]:
        """For every study, the probability of each slot it may air in; see `air_days`.

        Args:
            planned: slot of each study, in order; all among the slots that may be tried.
        """
        found: list[dict[int, float]] = []
        for number in range(1, len(planned) + 1):
            begun = planned[:number]
            if begun not in self._known:
                self._known[begun] = self._after(found[-1] if found else None, planned[number - 1])
            found.append(self._known[begun])
        return found

    def _after(self, before: dict[int, float] | None, wish: int) -> dict[int, float]:
        """The probability of each slot for a study, from those of the study before it; None for the first."""
        slots, days = self.slots, self.days
        starts = [0.0] * (len(slots) + 1)
        first = bisect_left(slots, wish)
        if before is None:
            starts[first] = 1.0
        else:
            for slot, chance in before.items():
                starts[max(first, bisect_right(slots, slot), bisect_left(self._on, days[slot] + self.min_days))] += (
                    chance
                )
        trying, found = 0.0, {}
        for slot, start in zip(slots, starts, strict=False):
            trying += start
            if trying:
                found[slot] = trying * (1 - self.rate)
                trying *= self.rate
        return found
