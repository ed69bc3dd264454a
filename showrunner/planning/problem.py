"""The placing problem as the exact search sees it: numbered slots, studies, hours.

Days are offsets from today (0 is today); gaps and window distances are whole days, so that
points are exact: a cost of one day squared is 1/49 point.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import accumulate

from showrunner.domain.record import record
from showrunner.domain.slot import Slot

DAYS2_PER_POINT = 49
"""Points are weeks squared; costs inside the search are days squared."""

NOWHERE = -1
"""Stands for a promised slot that is not among the slots of the problem: such a promise cannot be kept."""


@record
class Need:
    """One study to be placed."""

    key: str
    """Id of the study."""
    order: int
    """Its place in book order; decides between plans that are equal in every other aim."""
    series: int
    """Index into `Problem.spacings`."""
    minutes: int
    """Minutes of work not yet done."""
    cost: tuple[int | None, ...]
    """For every slot, days squared outside the soft windows; None where a hard rule forbids the slot."""
    after: tuple[str, ...] = ()
    """Keys of studies that it is promised after (order pins): where it is placed, they are to be placed earlier."""
    promised: int | None = None
    """Index of the slot a date pin promises, `NOWHERE` if that is none of the slots; None without a date pin. The
    promise binds nothing in `cost`; where the cost of the promised slot is None, it cannot be kept either."""
    worth: int = 1
    """How many promises its promised date counts as; more than one where it must be kept before all others."""
    planned_slot: int | None = None
    """Re-plan: index of the slot it is planned for; None if not planned or that slot is no longer there."""
    planned_day: int | None = None
    """Re-plan: day offset it is planned for (may be past); None if it is not planned."""


@record
class Spacing:
    """Spacing of one series."""

    min_days: int
    """Least gap, days (hard)."""
    target_days: int
    """Wished gap, days."""
    last_day: int | None
    """Day offset of its last published study (0 or below); None if none was published."""
    max_days: int | None = None
    """Longest gap wished, days; None if it does not matter how many gaps are longer."""

    def is_wide(self, gap: int) -> bool:
        """Whether a gap of some days is longer than the longest wished."""
        return self.max_days is not None and gap > self.max_days


@record
class Problem:
    """Everything the exact search needs, and nothing else."""

    slots: tuple[Slot, ...]
    """Slots in order of their instants."""
    days: tuple[int, ...]
    """Day offset of every slot."""
    ready: tuple[int, ...]
    """Day offset by which a study in the slot must be ready; may be below 0, and never falls from slot to slot."""
    standing: tuple[int, ...]
    """Minutes of standing content that a study in the slot replaces (0 where it is banked or dark)."""
    spare: tuple[int, ...]
    """For every day offset, working minutes from today through that day less all standing content ready by then;
    never below 0."""
    needs: tuple[Need, ...]
    """Studies to place."""
    spacings: tuple[Spacing, ...]
    """Series by index."""
    keep: bool = False
    """Whether this is a re-plan: after placing the most, move the fewest, then the fewest days."""


@dataclass(frozen=True, slots=True, order=True)
class Score:
    """The aims in order, least first; compares lexicographically."""

    broken: int
    """Promises not kept: dates promised to studies that stand elsewhere or nowhere, and, of each placed study, every
    study it is promised after that is not placed earlier."""
    unplaced: int
    """Studies without a slot."""
    wide: int
    """Gaps longer than the longest wished, where they are to be few; 0 otherwise."""
    moved: int
    """Re-plan: placed studies that were planned for another slot; 0 otherwise."""
    moved_days: int
    """Re-plan: total days they moved; 0 otherwise."""
    points: int
    """Spacing and soft windows, days squared."""
    days: int
    """Sum of the day offsets of all placed studies."""


def promises_broken(problem: Problem, places: dict[str, int]) -> int:
    """How many promises a placement breaks; see `Score.broken`."""
    broken = 0
    for need in problem.needs:
        slot = places.get(need.key)
        if need.promised is not None and slot != need.promised:
            broken += need.worth
        if slot is not None:
            broken += sum(before not in places or places[before] >= slot for before in need.after)
    return broken


def score(problem: Problem, places: dict[str, int]) -> Score | None:
    """The aims reached by a placement, straight from their definition; None if it breaks a hard rule.

    This is the measure every search and judge is held against, so it is written for plainness.

    Args:
        problem: the problem.
        places: slot index by study key; studies that are missing are unplaced.
    """
    if len(set(places.values())) != len(places):
        return None
    by_key = {need.key: need for need in problem.needs}
    wide = moved = moved_days = points = 0
    for key, slot in places.items():
        need = by_key[key]
        window = need.cost[slot]
        if window is None:
            return None
        points += window
        if problem.keep and need.planned_day is not None and slot != need.planned_slot:
            moved += 1
            moved_days += abs(problem.days[slot] - need.planned_day)
    for index, spacing in enumerate(problem.spacings):
        last = spacing.last_day
        for slot in sorted(slot for key, slot in places.items() if by_key[key].series == index):
            if last is not None:
                gap = problem.days[slot] - last
                if gap < spacing.min_days:
                    return None
                points += (gap - spacing.target_days) ** 2
                wide += spacing.is_wide(gap)
            last = problem.days[slot]
    if not hours_fit(problem, places):
        return None
    total = sum(problem.days[slot] for slot in places.values())
    unplaced = len(problem.needs) - len(places)
    return Score(promises_broken(problem, places), unplaced, wide, moved, moved_days, points, total)


def hours_fit(problem: Problem, places: dict[str, int]) -> bool:
    """The prefix test: for every day, what must be ready by then fits the working time until then.

    Exact for one worker who may interrupt work: with every job at hand from the start, earliest
    due date first meets all dates if and only if no prefix is over-full (Jackson 1955).
    """
    minutes = {need.key: need.minutes for need in problem.needs}
    overdue = any(problem.ready[slot] < 0 and minutes[key] for key, slot in places.items())
    return not overdue and minutes_short(problem, places) <= 0


def minutes_short(problem: Problem, places: dict[str, int]) -> int:
    """Minutes by which the work falls short on the worst day; below 0 if every day has some to spare.

    What should have been ready before today is left out.
    """
    minutes = {need.key: need.minutes for need in problem.needs}
    extra = [0] * len(problem.spare)
    for key, slot in places.items():
        day = problem.ready[slot]
        if day >= 0:
            extra[day] += minutes[key] - problem.standing[slot]
    return max((used - spare for used, spare in zip(accumulate(extra), problem.spare, strict=True)), default=0)
