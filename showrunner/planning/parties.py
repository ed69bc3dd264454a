"""Parts of a problem that can be looked at by themselves: parties of series, and the studies that promises hang on."""

from __future__ import annotations

from dataclasses import replace
from itertools import accumulate
from operator import add

from showrunner.planning.problem import NOWHERE, Need, Problem


def parties(problem: Problem) -> list[Problem]:
    """The problem in parts that share no slot and no order, only the hours; itself alone if there are none such.

    Each part has all the hours, and those that studies of the other parts could give back at most. If the hours hold the best plans of all parts together, those are the best plan of
    the whole: costs add up, and in every slot the book order concerns one part only.
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


def kept(problem: Problem) -> Problem:
    """The problem with every promised date as a rule: the study there or nowhere, and nothing else there."""
    taken = {need.promised: need.key for need in problem.needs if need.promised not in (None, NOWHERE)}

    def cost(need: Need) -> tuple[int | None, ...]:
        return tuple(
            each if (need.promised in (None, slot) and taken.get(slot, need.key) == need.key) else None
            for slot, each in enumerate(need.cost)
        )

    return replace(problem, needs=tuple(replace(need, cost=cost(need)) for need in problem.needs))
