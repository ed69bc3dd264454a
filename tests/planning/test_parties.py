"""Parts of a placing problem, each beside what its words say, and beside every plan there is."""

from __future__ import annotations

from dataclasses import replace

import pytest
from test_search import every_plan, weekly
from test_search_effort import apart, crowd
from test_search_of_every_kind import varied
from test_search_parts import plain

from showrunner.planning.parties import fitting, kept, parties, promising
from showrunner.planning.problem import NOWHERE, Need, Problem, Spacing, score

SEEDS = range(0, 160, 4)
FREE: tuple[int | None, ...] = (0,) * 6


def gives_back(problem: Problem, need: Need) -> bool:
    """Whether a study takes less than what it replaces in some slot that it may have and that can still be made."""
    slots = range(len(problem.slots))
    return any(need.cost[s] is not None and problem.ready[s] >= 0 and need.minutes < problem.standing[s] for s in slots)


def of(problem: Problem, *keys: str) -> Problem:
    """The problem of some of its studies."""
    return replace(problem, needs=tuple(need for need in problem.needs if need.key in keys))


# -- parties ---------------------------------------------------------------------------------------------------------


def three() -> Problem:
    """The first and the last series share a slot; the second has two of its own. Half an hour is enough for all."""
    needs = (
        Need("a", 0, 0, 30, (0, 0, None, None, None, None)),
        Need("b", 1, 1, 30, (None, None, 0, 0, None, None)),
        Need("c", 2, 2, 30, (None, 0, None, None, 0, None)),
        Need("d", 3, 1, 30, (None, None, None, 0, None, 0)),
    )
    return weekly(6, needs, (Spacing(7, 14, None),) * 3, [600] * 6, 0)


def keys(parts: list[Problem]) -> list[list[str]]:
    return [[need.key for need in part.needs] for part in parts]


def test_series_that_share_a_slot_or_an_order_are_one_party() -> None:
    problem = three()
    parts = parties(problem)
    assert keys(parts) == [["a", "c"], ["b", "d"]]
    assert all(part.spare == problem.spare for part in parts)
    a, b, c, d = problem.needs
    assert parties(replace(problem, needs=(a, b, c, replace(d, after=("c",))))) == [
        replace(problem, needs=(a, b, c, replace(d, after=("c",))))
    ]
    assert keys(parties(replace(problem, needs=(a, b, c, replace(d, after=("elsewhere",)))))) == keys(parts)
    lone = replace(problem, needs=(a, b, replace(c, cost=(None, None, None, None, 0, None)), d))
    assert keys(parties(lone)) == [["a"], ["b", "d"], ["c"]]
    assert keys(parties(replace(lone, needs=(*lone.needs[:2], replace(lone.needs[2], after=("a",)), d)))) == [
        ["a", "c"],
        ["b", "d"],
    ]
    assert parties(replace(problem, needs=(a, c))) == [replace(problem, needs=(a, c))]
    assert parties(replace(problem, needs=())) == [replace(problem, needs=())]


@pytest.mark.parametrize("seed", SEEDS)
def test_a_party_has_all_the_hours_that_the_others_could_give_back(seed: int) -> None:
    problem = apart(plain(seed))
    parts = parties(problem)
    assert sorted(need.order for part in parts for need in part.needs) == sorted(n.order for n in problem.needs)
    for part in parts:
        assert [need for need in problem.needs if need in part.needs] == list(part.needs)
        others = [need for need in problem.needs if need not in part.needs]
        for day, spare in enumerate(part.spare):
            until = [s for s, ready in enumerate(problem.ready) if 0 <= ready <= day]
            back = sum(
                max([0, *(problem.standing[s] - need.minutes for s in until if need.cost[s] is not None)])
                for need in others
            )
            assert spare == problem.spare[day] + back


# -- promises --------------------------------------------------------------------------------------------------------


def test_studies_that_matter_for_promises_are_those_promised_those_before_them_and_those_that_give_hours_back() -> None:
    needs = (
        Need("dated", 0, 0, 60, FREE, ("second",), promised=3),
        Need("lone", 1, 0, 60, FREE),
        Need("second", 2, 0, 60, FREE, ("first", "gone")),
        Need("first", 3, 0, 60, FREE),
        Need("follower", 4, 0, 60, FREE, ("lone",)),
        Need("never", 5, 0, 60, FREE, promised=NOWHERE),
        Need("short", 6, 0, 59, FREE),
    )
    problem = weekly(6, needs, (Spacing(7, 14, None),), [600] * 6, 0)
    problem = replace(problem, standing=(0, 60, 0, 0, 0, 0))
    assert keys([promising(problem)]) == [["dated", "second", "first", "never", "short"]]
    assert keys([promising(replace(problem, standing=(59,) * 6))]) == [["dated", "second", "first", "never"]]
    late = replace(problem, ready=(-2, -1, *problem.ready[2:]))
    assert keys([promising(late)]) == [["dated", "second", "first", "never"]]
    assert keys([promising(replace(problem, ready=(-1, 0, *problem.ready[2:])))])[0][-1] == "short"
    barred = replace(needs[-1], cost=(0, None, 0, 0, 0, 0))
    assert keys([promising(replace(problem, needs=(*needs[:-1], barred)))])[0][-1] == "never"


@pytest.mark.parametrize("seed", SEEDS)
def test_as_many_promises_are_kept_without_the_studies_that_do_not_matter(seed: int) -> None:
    problem = varied(seed)
    whole = min(reached.broken for reached, _, _ in every_plan(problem))
    assert min(reached.broken for reached, _, _ in every_plan(promising(problem))) == whole


# -- slots that fit --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", SEEDS)
def test_slots_in_which_the_hours_hold_a_study_are_those_it_fits_into(seed: int) -> None:
    problem = plain(seed)
    fits = fitting(problem)
    if any(gives_back(problem, need) for need in problem.needs):
        assert fits == problem
        return
    apart_from_gaps = replace(problem, spacings=tuple(replace(s, last_day=None) for s in problem.spacings))
    for need, shown in zip(problem.needs, fits.needs, strict=True):
        alone = of(apart_from_gaps, need.key)
        for slot, cost in enumerate(need.cost):
            held = score(alone, {need.key: slot}) is not None
            if problem.ready[slot] < 0 < need.minutes:
                continue  # no study with work left can be ready in time, whatever the hours
            assert shown.cost[slot] == (cost if held else None)
    assert replace(fits, needs=problem.needs) == problem


def test_hours_hold_a_study_if_its_minutes_are_those_left() -> None:
    needs = (Need("long", 0, 0, 300, FREE), Need("longer", 1, 0, 301, FREE))
    problem = weekly(6, needs, (Spacing(7, 14, None),), [100] * 6, 0)
    assert [need.cost for need in fitting(problem).needs] == [(None, None, 0, 0, 0, 0), (None, None, None, 0, 0, 0)]
    usual = replace(problem, standing=(200, 200, 100, 0, 0, 0))
    assert [need.cost for need in fitting(usual).needs] == [(0, 0, 0, 0, 0, 0), (None, 0, 0, 0, 0, 0)]
    late = replace(problem, ready=(-1, 0, *problem.ready[2:]), standing=(300,) * 6)
    assert [need.cost[0] for need in fitting(late).needs] == [None, None]


# -- promises as rules -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(0, 320, 4))
def test_plans_that_keep_all_promises_are_those_of_the_problem_with_rules(seed: int) -> None:
    """Of plans in which every study with a promised date is placed, no other has the promised dates of all."""
    problem = varied(seed)
    rules = kept(problem)
    loyal = [places for reached, _, places in every_plan(problem) if reached.broken == 0]
    ruled = [places for _, _, places in every_plan(rules)]
    assert all(places in ruled for places in loyal)
    dated = {need.key for need in problem.needs if need.promised is not None}
    for places in ruled:
        if dated <= {*places} and not any(need.after for need in problem.needs):
            assert places in loyal


def costs(problem: Problem) -> dict[str, list[int]]:
    """The slots that each study may have once promises are rules."""
    return {n.key: [at for at, cost in enumerate(n.cost) if cost is not None] for n in kept(problem).needs}


def test_promises_as_rules_leave_each_study_the_slots_it_can_have() -> None:
    needs = (
        Need("dated", 0, 0, 60, FREE, promised=1),
        Need("free", 1, 0, 60, (None, 0, 49, 0, 0, 0)),
        Need("never", 2, 1, 60, FREE, promised=NOWHERE),
    )
    problem = weekly(6, needs, (Spacing(14, 14, None),) * 2, [600] * 6, 0)
    assert costs(problem) == {"dated": [1], "free": [2, 3, 4, 5], "never": []}
    assert kept(problem).needs[1].cost == (None, None, 49, 0, 0, 0)


def test_orders_as_rules_leave_the_gap_within_a_series_and_hold_along_a_chain() -> None:
    needs = (
        Need("last", 0, 1, 60, FREE, ("middle",)),
        Need("middle", 1, 0, 60, FREE, ("first",)),
        Need("first", 2, 0, 60, (None, 0, 0, 0, 0, 0)),
    )
    problem = weekly(6, needs, (Spacing(14, 14, None),) * 2, [600] * 6, 0)
    assert costs(problem) == {"last": [4, 5], "middle": [3, 4, 5], "first": [1, 2, 3, 4, 5]}
    barred = replace(problem, needs=(*needs[:2], replace(needs[2], cost=(None,) * 6)))
    assert costs(barred) == {"last": [], "middle": [], "first": []}
    gone = replace(problem, needs=(replace(needs[1], after=("gone",)), needs[2]))
    assert costs(gone) == {"middle": [], "first": [1, 2, 3, 4, 5]}
    same_day = replace(
        problem,
        days=(6, 6, 6, 13, 20, 27),
        needs=(replace(needs[0], after=("first",)), needs[2]),
        spacings=(Spacing(0, 14, None),) * 2,
    )
    assert costs(same_day) == {"last": [2, 3, 4, 5], "first": [1, 2, 3, 4, 5]}


def test_studies_that_give_nothing_back_leave_parties_the_hours_there_are() -> None:
    problem = apart(crowd(1, (3, 3)))
    assert [part.spare for part in parties(problem)] == [problem.spare] * 2
