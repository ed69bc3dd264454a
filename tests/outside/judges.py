"""Outside judges of the placing search: the same question put to HiGHS, to CP-SAT, and to plain enumeration.

Each judge builds its own model from the problem, with nothing of the search in it, and reaches the aims
one after the other: the best value of each is proven and then held while the next one is sought.

- HiGHS (mixed-integer programming): the studies of a series are a path through the slots, one arc for
  every pair of neighbouring dates, so that a squared gap is the fixed cost of an arc.
- CP-SAT (constraint programming, from OR-Tools): one literal for every study and slot, and a circuit
  for every series.
- Enumeration: every placement there is, for tiny problems; it alone also knows the order of equal plans.
"""

from __future__ import annotations

import time
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, fields
from itertools import pairwise
from typing import Any

from showrunner.planning.problem import Need, Problem, Score, hours_fit, score

AIMS = tuple(field.name for field in fields(Score))
"""The aims in the order in which they count."""


@dataclass(frozen=True)
class Verdict:
    """What a judge proved."""

    score: Score
    """The best that can be reached, aim by aim."""
    places: dict[str, int]
    """A placement that reaches it: slot index by study."""


class OutOfTime(Exception):
    """The judge could not prove its answer in the time it was given."""


def checked(problem: Problem, best: dict[str, int], places: dict[str, int]) -> Verdict:
    """A verdict whose placement was measured by the definition and found to reach what the model claims."""
    claim = Score(**{"wide": 0, **best})
    measured = score(problem, places)
    assert measured == claim, f"the judge's own model is wrong: it claims {claim}, its plan measures {measured}"
    return Verdict(claim, places)


def aims_of(problem: Problem) -> tuple[str, ...]:
    """The aims that can differ between plans of this problem."""
    promises = any(need.promised is not None or need.after for need in problem.needs)
    return tuple(
        aim
        for aim in AIMS
        if aim != "wide" and (problem.keep or not aim.startswith("moved")) and (promises or aim != "broken")
    )


def promised(problem: Problem) -> int:
    """How many dates are promised; the models count those kept."""
    return sum(need.promised is not None for need in problem.needs)


def can_be_ready(problem: Problem, need: Need, slot: int) -> bool:
    """Whether the rules for one study alone let it into the slot."""
    return need.cost[slot] is not None and (problem.ready[slot] >= 0 or need.minutes == 0)


def cost_of(problem: Problem, need: Need, slot: int, aim: str) -> int:
    """What the study in this slot adds to an aim; broken dates and the unplaced are counted as all less those kept."""
    moves = problem.keep and need.planned_day is not None and need.planned_slot != slot
    if aim == "broken":
        return -int(need.promised == slot)
    if aim == "unplaced":
        return -1
    if aim == "moved":
        return int(moves)
    if aim == "moved_days":
        return abs(problem.days[slot] - (need.planned_day or 0)) if moves else 0
    if aim == "points":
        return need.cost[slot] or 0
    return problem.days[slot]


def prefixes(problem: Problem) -> Iterator[tuple[int, int]]:
    """Every day on which something may have to be ready, with the least spare minutes before the next such day."""
    ready = sorted({day for day in problem.ready if day >= 0})
    for day, following in pairwise([*ready, len(problem.spare)]):
        yield day, min(problem.spare[day:following])


def by_highs(problem: Problem, time_limit: float = 600.0) -> Verdict:
    """The verdict of HiGHS.

    Args:
        problem: the problem.
        time_limit: seconds for the whole question.

    Raises:
        OutOfTime: it is not proven within `time_limit`.
    """
    import highspy
    import numpy as np

    stop = time.monotonic() + time_limit
    costs: dict[str, list[float]] = {aim: [] for aim in AIMS}
    bounds: list[tuple[float, float]] = []
    whole: list[int] = []
    rows: list[tuple[float, float, dict[int, float]]] = []
    infinity = highspy.kHighsInf

    def column(of: dict[str, int], low: float = 0, high: float = 1) -> int:
        for aim in AIMS:
            costs[aim].append(of.get(aim, 0))
        bounds.append((low, high))
        return len(bounds) - 1

    # Studies that no rule can tell apart are one kind with a count, which spares HiGHS their permutations.
    named = {key for need in problem.needs for key in need.after}
    kinds: dict[object, list[Need]] = defaultdict(list)
    for need in problem.needs:
        alone = need.key if need.after or need.key in named else ""
        kind = (need.series, need.minutes, need.cost, need.promised, need.planned_slot, need.planned_day, alone)
        kinds[kind].append(need)

    here: list[dict[int, int]] = []
    at_slot: dict[int, dict[int, float]] = defaultdict(dict)
    of_series: dict[tuple[int, int], dict[int, float]] = defaultdict(dict)
    ready_on: dict[int, dict[int, float]] = defaultdict(dict)
    columns_of: dict[str, dict[int, int]] = {}
    for members in kinds.values():
        need = members[0]
        columns: dict[int, int] = {}
        for slot in range(len(problem.slots)):
            if can_be_ready(problem, need, slot):
                col = column({aim: cost_of(problem, need, slot, aim) for aim in AIMS})
                whole.append(col)
                columns[slot] = col
                at_slot[slot][col] = 1
                of_series[need.series, slot][col] = 1
                if problem.ready[slot] >= 0:
                    ready_on[problem.ready[slot]][col] = need.minutes - problem.standing[slot]
        here.append(columns)
        columns_of[need.key] = columns
        rows.append((0, len(members), dict.fromkeys(columns.values(), 1.0)))
    rows += [(0, 1, columns_of_slot) for columns_of_slot in at_slot.values()]

    for index, spacing in enumerate(problem.spacings):
        slots = [slot for slot in range(len(problem.slots)) if (index, slot) in of_series]
        into: dict[int, dict[int, float]] = {slot: {} for slot in slots}
        out: dict[int, dict[int, float]] = {slot: {} for slot in slots}
        start: dict[int, float] = {}
        for slot in slots:
            if spacing.last_day is None:
                arc = column({})
            else:
                gap = problem.days[slot] - spacing.last_day
                if gap < spacing.min_days:
                    continue
                arc = column({"points": (gap - spacing.target_days) ** 2})
            start[arc] = into[slot][arc] = 1
        for place, before in enumerate(slots):
            for slot in slots[place + 1 :]:
                gap = problem.days[slot] - problem.days[before]
                if gap >= spacing.min_days:
                    arc = column({"points": (gap - spacing.target_days) ** 2})
                    out[before][arc] = into[slot][arc] = 1
        rows.append((0, 1, start))
        for slot in slots:
            studies = of_series[index, slot]
            minus = dict.fromkeys(studies, -1.0)
            rows.append((0, 0, into[slot] | minus))  # a study stands where the path enters,
            rows.append((-1, 0, out[slot] | minus))  # and the path leaves there at most once

    used: dict[int, float] = {}
    for day, spare in prefixes(problem):
        total = column({}, -infinity, spare)  # minutes of all studies that must be ready by this day
        rows.append((0, 0, {total: -1} | used | ready_on[day]))
        used = {total: 1}

    for need in problem.needs:
        for earlier in need.after:
            mine, theirs = columns_of[need.key], columns_of.get(earlier, {})
            broken = column({"broken": 1})
            for slot in mine:
                row = {broken: -1.0} | {col: 1.0 for place, col in mine.items() if place <= slot}
                rows.append((-infinity, 0, row | {col: -1.0 for place, col in theirs.items() if place < slot}))

    best: dict[str, int] = {"broken": 0, "moved": 0, "moved_days": 0}
    places: dict[str, int] = {}
    if not any(here):
        return checked(
            problem, best | {"broken": promised(problem), "unplaced": len(problem.needs), "points": 0, "days": 0}, {}
        )

    solver: Any = highspy.Highs()  # type: ignore[no-untyped-call]
    for option, value in {
        "output_flag": False,
        "threads": 1,
        "mip_rel_gap": 0.0,
        "mip_abs_gap": 0.999,  # every aim is a whole number
        "mip_feasibility_tolerance": 1e-9,
        "primal_feasibility_tolerance": 1e-9,
    }.items():
        solver.setOptionValue(option, value)
    count = len(bounds)
    none = np.array([], dtype=np.int32)
    lower, upper = np.array(bounds).T
    solver.addCols(count, np.zeros(count), lower, upper, 0, none, none, np.array([]))
    solver.changeColsIntegrality(
        len(whole), np.array(whole, dtype=np.int32), np.full(len(whole), highspy.HighsVarType.kInteger)
    )
    solver.addRows(
        len(rows),
        np.array([low for low, _, _ in rows]),
        np.array([high for _, high, _ in rows]),
        sum(len(entries) for _, _, entries in rows),
        np.cumsum([0, *(len(entries) for _, _, entries in rows[:-1])]).astype(np.int32),
        np.array([col for _, _, entries in rows for col in entries], dtype=np.int32),
        np.array([value for _, _, entries in rows for value in entries.values()], dtype=float),
    )
    every = np.arange(count, dtype=np.int32)
    values: Any = ()
    # Every aim starts afresh: given the solution of the aim before as a start, HiGHS 1.16.0 reported the
    # right value but at times kept that start as its solution.
    for aim in aims_of(problem):
        weights = np.array(costs[aim])
        solver.changeColsCost(count, every, weights)
        solver.setOptionValue("time_limit", solver.getRunTime() + max(stop - time.monotonic(), 0.01))
        solver.run()
        if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            raise OutOfTime
        values = np.array(solver.getSolution().col_value)
        reached = round(solver.getObjectiveValue())
        assert round(float(weights @ values)) == reached, "HiGHS reports another value than its own solution has"
        best[aim] = reached
        used_columns = np.flatnonzero(weights).astype(np.int32)
        solver.addRow(-infinity, reached, len(used_columns), used_columns, weights[used_columns])
    best["broken"] += promised(problem)
    best["unplaced"] += len(problem.needs)
    for members, columns in zip(kinds.values(), here, strict=True):
        taken = [slot for slot, col in columns.items() if values[col] > 0.5]
        places |= {need.key: slot for need, slot in zip(members, taken, strict=False)}
    return checked(problem, best, places)


def by_cp_sat(problem: Problem, time_limit: float = 600.0, workers: int = 2) -> Verdict:
    """The verdict of CP-SAT.

    Args:
        problem: the problem.
        time_limit: seconds for the whole question.
        workers: threads it may use.

    Raises:
        OutOfTime: it is not proven within `time_limit`.
    """
    from ortools.sat.python import cp_model

    stop = time.monotonic() + time_limit
    model: Any = cp_model.CpModel()
    slots = range(len(problem.slots))
    at = {
        (need.key, slot): model.new_bool_var("")
        for need in problem.needs
        for slot in slots
        if can_be_ready(problem, need, slot)
    }
    placed = {need.key: model.new_bool_var("") for need in problem.needs}
    for need in problem.needs:
        choices = [at[need.key, slot] for slot in slots if (need.key, slot) in at]
        model.add_exactly_one([*choices, ~placed[need.key]])
    for slot in slots:
        model.add_at_most_one(at[need.key, slot] for need in problem.needs if (need.key, slot) in at)

    gap_costs: list[tuple[Any, int]] = []
    for index, spacing in enumerate(problem.spacings):
        members = [need for need in problem.needs if need.series == index]
        taken: dict[int, Any] = {}
        for slot in slots:
            literals = [at[need.key, slot] for need in members if (need.key, slot) in at]
            if literals:
                taken[slot] = model.new_bool_var("")
                model.add(sum(literals) == taken[slot])
        if not taken:
            continue
        none = model.new_bool_var("")  # node 0 is both ends of the series; it closes on itself if nothing is placed
        arcs: list[tuple[int, int, Any]] = [(0, 0, none)]
        for slot, literal in taken.items():
            model.add_implication(none, ~literal)
            arcs.append((slot + 1, slot + 1, ~literal))
            arcs.append((slot + 1, 0, model.new_bool_var("")))
            if spacing.last_day is None:
                arcs.append((0, slot + 1, model.new_bool_var("")))
            elif (gap := problem.days[slot] - spacing.last_day) >= spacing.min_days:
                arcs.append((0, slot + 1, model.new_bool_var("")))
                gap_costs.append((arcs[-1][2], (gap - spacing.target_days) ** 2))
            for following in taken:
                gap = problem.days[following] - problem.days[slot]
                if following > slot and gap >= spacing.min_days:
                    arcs.append((slot + 1, following + 1, model.new_bool_var("")))
                    gap_costs.append((arcs[-1][2], (gap - spacing.target_days) ** 2))
        model.add_circuit(arcs)

    for day, spare in prefixes(problem):
        model.add(
            sum(
                (need.minutes - problem.standing[slot]) * at[need.key, slot]
                for need in problem.needs
                for slot in slots
                if (need.key, slot) in at and 0 <= problem.ready[slot] <= day
            )
            <= spare
        )

    positions = {
        need.key: sum(slot * at[need.key, slot] for slot in slots if (need.key, slot) in at) for need in problem.needs
    }
    orders_broken: list[Any] = []
    for need in problem.needs:
        for before in need.after:
            broken = model.new_bool_var("")
            orders_broken.append(broken)
            kept = [placed[need.key], ~broken]
            model.add_bool_or([~placed[need.key], broken, placed[before]])
            model.add(positions[before] + 1 <= positions[need.key]).only_enforce_if(kept)

    by_key = {need.key: need for need in problem.needs}
    best: dict[str, int] = {"broken": 0, "moved": 0, "moved_days": 0}
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = workers
    for aim in aims_of(problem):
        total: Any = sum(cost_of(problem, by_key[key], slot, aim) * literal for (key, slot), literal in at.items())
        if aim == "broken":
            total += sum(orders_broken)
        if aim == "points":
            total += sum(cost * literal for literal, cost in gap_costs)
        model.minimize(total)
        solver.parameters.max_time_in_seconds = max(stop - time.monotonic(), 0.01)
        if solver.solve(model) != cp_model.OPTIMAL:
            raise OutOfTime
        best[aim] = solver.value(total)
        model.clear_hints()
        for literal in at.values():
            model.add_hint(literal, solver.boolean_value(literal))
        model.add(total <= best[aim])
    best["broken"] += promised(problem)
    best["unplaced"] += len(problem.needs)
    return checked(problem, best, {key: slot for (key, slot), literal in at.items() if solver.boolean_value(literal)})


def placements(problem: Problem) -> Iterator[dict[str, int]]:
    """Every placement of the studies into slots that are not forbidden to them, good or bad."""

    def rest(needs: tuple[Need, ...], places: dict[str, int]) -> Iterator[dict[str, int]]:
        if not needs:
            yield places
            return
        yield from rest(needs[1:], places)
        for slot, cost in enumerate(needs[0].cost):
            if cost is not None and slot not in places.values():
                yield from rest(needs[1:], places | {needs[0].key: slot})

    return rest(problem.needs, {})


def in_time(problem: Problem, places: dict[str, int]) -> list[tuple[int, int]]:
    """The placed studies slot by slot, each as slot and place in book order; of equal plans the least list wins."""
    order = {need.key: need.order for need in problem.needs}
    return sorted((slot, order[key]) for key, slot in places.items())


def by_enumeration(problem: Problem) -> Verdict:
    """The one best plan of a tiny problem, straight from the definition of the aims and the order of equals."""
    measured = ((score(problem, places), places) for places in placements(problem))
    best, _, places = min(
        (reached, in_time(problem, places), places) for reached, places in measured if reached is not None
    )
    return Verdict(best, places)


def is_tiny(problem: Problem, most: int = 3000) -> bool:
    """Whether the placements of the problem are few enough to look at every one of them."""
    choices = 1
    for need in problem.needs:
        choices *= 1 + sum(cost is not None for cost in need.cost)
    return choices <= most


def hours_bind(problem: Problem) -> bool:
    """Whether some study can be in some slot by its dates, but not by its hours alone."""
    return any(
        need.cost[slot] is not None and not hours_fit(problem, {need.key: slot})
        for need in problem.needs
        for slot in range(len(problem.slots))
    )
