"""When studies really air if each planned slot is missed with some chance: exact, by recursion over slots.

Every study tries its planned slot, or the first slot after it that keeps the least gap from the study
before it; if a try fails, the next free slot is tried. How often tries fail is a habit: a few rates,
each with its weight, because the rate is known only so well; and bad spells, in which most tries fail,
because slips come together. Weeks are calm or bad by a chain of two states, so the distribution of a
study's slot follows from that of the study before it and of the weeks then, and one pass over the
slots gives each exactly. Without spells, with slots a gap apart and rate 1 - p, the last of k studies
airs on slot k + X, where X is negative binomial (k, p).
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from itertools import pairwise

from showrunner.domain.record import record

SPELL_BEGINS = 1 / 130
"""Chance that a calm week is followed by a bad one: a spell about every two and a half years."""

SPELL_ENDS = 1 / 6
"""Chance that a bad week is followed by a calm one: a spell lasts six weeks on average."""

BAD_RATE = 0.85
"""Chance that a try fails in a bad spell."""

BAD_SHARE = SPELL_BEGINS / (SPELL_BEGINS + SPELL_ENDS)
"""Share of bad weeks in the long run."""

CARRY = 1 - SPELL_BEGINS - SPELL_ENDS
"""What is left after a week of the difference that it makes whether this week is calm or bad."""


@record
class Habit:
    """How tries fail: independently, but for the spells.

    More slips never bring any study nearer: with a higher rate, or more weight on the higher rates, each study
    airs later or as before. That needs calm weeks to be no worse than bad ones.
    """

    rates: tuple[tuple[float, float], ...]
    """Rates over all weeks, from 0 to below 1, each with its weight; the weights sum to 1."""
    spells: bool
    """Whether bad spells are allowed for; without, a try fails at the rate in any week."""

    @property
    def bad_share(self) -> float:
        """Share of bad weeks."""
        return BAD_SHARE if self.spells else 0.0

    def calm_rate(self, rate: float) -> float:
        """Chance that a try fails in a calm week, so that over all weeks it is the rate, where that is possible."""
        if not self.spells:
            return rate
        return min(BAD_RATE, max(0.0, (rate - BAD_SHARE * BAD_RATE) / (1 - BAD_SHARE)))


def steady(rate: float) -> Habit:
    """The habit of one fixed rate, without spells: 0 is the plan itself."""
    return Habit(((rate, 1.0),), False)


def air_days(
    planned: Sequence[int], free: Sequence[int], days: Sequence[int], min_days: int, habit: Habit
) -> list[dict[int, float]]:
    """For every study, the probability of each slot it may air in.

    Args:
        planned: slot of each study, in order.
        free: slots the series may use, rising; planned slots that are not among them are tried all the same.
        days: day of every slot, by slot; never falling.
        min_days: least gap between studies, days.
        habit: how tries fail.

    Returns:
        For each study, probability by slot. Each sums to 1, less what lies beyond the last slot.
    """
    return Slips({*free, *planned}, days, min_days, habit).airs(tuple(planned))


Chances = list[tuple[int, float, float]]
"""Where a study airs: places among the slots, each with its chance in a calm and in a bad week."""


class Slips:
    """The studies of one series as they slip, for any plan; plans that begin alike share what follows from that.

    Args:
        slots: slots that may be tried.
        days: day of every slot, by slot; never falling.
        min_days: least gap between studies, days.
        habit: how tries fail.
    """

    def __init__(self, slots: Iterable[int], days: Sequence[int], min_days: int, habit: Habit) -> None:
        self.slots, self.habit = sorted(slots), habit
        self._on = [days[slot] for slot in self.slots]
        self._after_gap = [max(at + 1, bisect_left(self._on, day + min_days)) for at, day in enumerate(self._on)]
        span = self._on[-1] - self._on[0] if self._on else 0
        self._carry = [CARRY ** (passed / 7) for passed in range(span + 1)]
        self._step = [0.0, *(self._carry[after - before] for before, after in pairwise(self._on))]
        self._known: dict[tuple[int, ...], tuple[list[Chances], dict[int, float]]] = {}

    def airs(self, planned: tuple[int, ...]) -> list[dict[int, float]]:
        """For every study, the probability of each slot it may air in; see `air_days`.

        Args:
            planned: slot of each study, in order; in place of one that may not be tried, the next that may be.
        """
        found: list[dict[int, float]] = []
        before: list[Chances] | None = None
        for number in range(1, len(planned) + 1):
            begun = planned[:number]
            if begun not in self._known:
                self._known[begun] = self._study(before, bisect_left(self.slots, planned[number - 1]))
            before, airs = self._known[begun]
            found.append(airs)
        return found

    def _study(self, before: list[Chances] | None, wish: int) -> tuple[list[Chances], dict[int, float]]:
        """Where a study airs, at each rate and by slot over all of them.

        Args:
            before: where the study before it airs, at each rate; None for the first study.
            wish: place of its planned slot.
        """
        each: list[Chances] = []
        total = [0.0] * len(self.slots)
        for number, (rate, weight) in enumerate(self.habit.rates):
            begins = self._begins(before[number] if before is not None else None, wish)
            airs = self._tries(begins, wish, self.habit.calm_rate(rate))
            for at, calm, bad in airs:
                total[at] += weight * (calm + bad)
            each.append(airs)
        return each, {slot: chance for slot, chance in zip(self.slots, total, strict=True) if chance}

    def _begins(self, before: Chances | None, wish: int) -> tuple[list[float], list[float]]:
        """The chance that a study makes its first try in each slot, in a calm and in a bad week."""
        on, carry, share, count = self._on, self._carry, self.habit.bad_share, len(self.slots)
        calm_begins, bad_begins = [0.0] * (count + 1), [0.0] * (count + 1)
        if before is None:
            calm_begins[wish], bad_begins[wish] = 1 - share, share
            return calm_begins, bad_begins
        for at, calm, bad in before:
            to = self._after_gap[at]
            if to < wish:
                to = wish
            if to < count:
                # By then the chance of a bad week has come nearer to its share, by as much as does not carry over.
                both = calm + bad
                now_bad = share * both + carry[on[to] - on[at]] * (bad - share * both)
                calm_begins[to] += both - now_bad
                bad_begins[to] += now_bad
        return calm_begins, bad_begins

    def _tries(self, begins: tuple[list[float], list[float]], wish: int, calm_rate: float) -> Chances:
        """Where a study airs if tries in calm weeks fail at a rate."""
        share, step = self.habit.bad_share, self._step
        calm_begins, bad_begins = begins
        calm = bad = 0.0
        found: Chances = []
        for at in range(wish, len(self.slots)):
            both = calm + bad
            bad = share * both + step[at] * (bad - share * both)
            calm = both - bad + calm_begins[at]
            bad += bad_begins[at]
            if calm or bad:
                failed_calm, failed_bad = calm * calm_rate, bad * BAD_RATE
                found.append((at, calm - failed_calm, bad - failed_bad))
                calm, bad = failed_calm, failed_bad
        return found
