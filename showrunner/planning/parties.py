"""Parts of a problem that can be looked at by themselves: parties of series, and the studies that promises hang on."""

from __future__ import annotations

from dataclasses import replace
from itertools import accumulate
from operator import add

from showrunner.planning.problem import NOWHERE, Need, Problem


def parties(problem: Problem) -> list[Problem]:
    """The problem in parts that share no slot and no order, only the hours; itself alone if there are none such.

    Each part has all the hours, and those that studies of the other parts could give back at most. If the hours hold
    the best plans of all parts together, those are the best plan of the whole: costs add up, and in every slot the
    book order concerns one part only.
    """
    series = range(len(problem.spacings))
    party = dict(zip(series, series, strict=True))

    def join(one: int, other: int) -> None:
        old, new = party[one], party[other]
        for each in series:
            if party[each] == old:
                party[each] = new

    first_at: dict[int, int] = {}
    by_key = {need.key: need for need in problem.needs}
    for need in problem.needs:
        for slot, cost in enumerate(need.cost):
            if cost is not None:
                join(need.series, first_at.setdefault(slot, need.series))
        for key in need.after:
            if key in by_key:
                join(need.series, by_key[key].series)
    members: dict[int, list[Need]] = {}
    for need in problem.needs:
        members.setdefault(party[need.series], []).append(need)
    if len(members) < 2:
        return [problem]
    return [
        replace(
            problem,
            needs=tuple(needs),
            spare=_with_relief(problem, [n for n in problem.needs if party[n.series] != one]),
        )
        for one, needs in members.items()
    ]


def _with_relief(problem: Problem, needs: list[Need]) -> tuple[int, ...]:
    """The spare minutes with all that these studies could give back by each day, each in its best slot by then."""
    more = [0] * len(problem.spare)
    for need in needs:
        if not _gives_back(problem, need):
            continue
        given = [0] * len(problem.spare)
        for cost, standing, ready in zip(need.cost, problem.standing, problem.ready, strict=True):
            if cost is not None and ready >= 0:
                given[ready] = max(given[ready], standing - need.minutes)
        more = list(map(add, more, accumulate(given, max)))
    return tuple(map(add, problem.spare, more))


def promising(problem: Problem) -> Problem:
    """The problem with those studies alone that matter for how many promises can be kept.

    They are the studies with a promised date, those that they are promised after, and so on, and every study that
    takes less than the standing content of some slot it may have, since that gives hours back.
    """
    by_key = {need.key: need for need in problem.needs}
    wanted = [need.key for need in problem.needs if need.promised is not None]
    wanted += [need.key for need in problem.needs if _gives_back(problem, need)]
    found: set[str] = set()
    while wanted:
        key = wanted.pop()
        if key in by_key and key not in found:
            found.add(key)
            wanted += by_key[key].after
    return replace(problem, needs=tuple(need for need in problem.needs if need.key in found))


def _gives_back(problem: Problem, need: Need) -> bool:
    return any(
        cost is not None and need.minutes < standing and ready >= 0
        for cost, standing, ready in zip(need.cost, problem.standing, problem.ready, strict=True)
    )


def fitting(problem: Problem) -> Problem:
    """The problem without the slots in which the hours cannot hold a study even if nothing else is placed.

    Where studies can give hours back it is left as it is: another study may make room.
    """
    if any(_gives_back(problem, need) for need in problem.needs):
        return problem
    least = list(accumulate(reversed(problem.spare), min))[::-1]
    room = [least[ready] if ready >= 0 else 0 for ready in problem.ready]
    needs = []
    for need in problem.needs:
        cost = tuple(
            None if each is None or (need.minutes - (standing if ready >= 0 else 0) > most) else each
            for each, standing, ready, most in zip(need.cost, problem.standing, problem.ready, room, strict=True)
        )
        needs.append(replace(need, cost=cost))
    return replace(problem, needs=tuple(needs))


def kept(problem: Problem) -> Problem:
    """The problem with every promise as a rule, which it is where all can be kept.

    A study with a promised date is there or nowhere, and nothing else is there; one that is promised after another
    comes no earlier than the first slot after the first that the other may have.
    """
    taken = {need.promised: need.key for need in problem.needs if need.promised not in (None, NOWHERE)}
    costs: dict[str, list[int | None]] = {
        need.key: [
            each if (need.promised in (None, slot) and taken.get(slot, need.key) == need.key) else None
            for slot, each in enumerate(need.cost)
        ]
        for need in problem.needs
    }
    by_key = {need.key: need for need in problem.needs}
    changed = True
    while changed:
        changed = False
        for need in problem.needs:
            for key in need.after:
                for slot in _too_early(problem, need, by_key.get(key), costs):
                    changed = changed or costs[need.key][slot] is not None
                    costs[need.key][slot] = None
    return replace(problem, needs=tuple(replace(need, cost=tuple(costs[need.key])) for need in problem.needs))


def _too_early(problem: Problem, need: Need, other: Need | None, costs: dict[str, list[int | None]]) -> range:
    """The slots that come too early for a study that is promised after another."""
    slots = range(len(problem.slots))
    first = next((slot for slot in slots if other and costs[other.key][slot] is not None), None)
    if first is None or other is None:
        return slots
    gap = problem.spacings[need.series].min_days if need.series == other.series else 0
    return range(next((s for s in slots if s > first and problem.days[s] - problem.days[first] >= gap), len(slots)))
