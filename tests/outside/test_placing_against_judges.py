"""The exact search against HiGHS (a mixed-integer solver, highs.dev) and against plain enumeration."""

from collections import Counter
from dataclasses import replace
from itertools import combinations
from random import Random

import pytest
from effort import seeds
from instances import demo_like, random_problem, slots_on
from judges import Verdict, by_enumeration, by_highs, hours_bind, is_tiny
from long_runs import LONG

from showrunner.planning.problem import NOWHERE, Need, Problem, Score, Spacing, score
from showrunner.planning.search import Solution, solve


def agrees(problem: Problem, verdict: Verdict) -> Solution:
    """The search's answer, once it is proven, as good as the judge's, and as good as it claims to be."""
    found = solve(problem)
    assert found.proven
    assert found.score == found.bound == verdict.score
    assert score(problem, found.places) == found.score
    return found


@pytest.mark.slow
@pytest.mark.parametrize("seed", seeds(0, 140))
def test_a_random_problem_is_solved_as_well_as_by_highs(seed: int) -> None:
    problem = random_problem(seed)
    agrees(problem, by_highs(problem))


@pytest.mark.slow
@pytest.mark.parametrize("seed", seeds(500, 540))
def test_a_random_replan_is_solved_as_well_as_by_highs(seed: int) -> None:
    problem = random_problem(seed, keep=True)
    agrees(problem, by_highs(problem))


@pytest.mark.long
def test_many_random_problems_are_solved_as_well_as_by_highs() -> None:
    for seed in range(10_000, 10_000 + LONG):
        problem = random_problem(seed)
        try:
            agrees(problem, by_highs(problem))
        except AssertionError as wrong:
            raise AssertionError(f"problem {seed}") from wrong


@pytest.mark.parametrize("seed", range(100))
def test_of_equal_plans_the_one_with_the_earlier_study_in_book_order_is_taken(seed: int) -> None:
    problem = random_problem(seed, tiny=True)
    assert is_tiny(problem)
    verdict = by_enumeration(problem)
    assert agrees(problem, verdict).places == verdict.places


def test_like_studies_are_named_in_book_order() -> None:
    """Three studies that no rule can tell apart, for four slots: every permutation of a plan scores the same."""
    slots, days = slots_on([(6, 9)], 4)
    needs = tuple(Need(f"study {order}", order, 0, 60, (0,) * 4) for order in (2, 0, 1))
    problem = Problem(slots, days, days, (0,) * 4, (600,) * 28, needs, (Spacing(7, 7, None),))
    assert agrees(problem, by_enumeration(problem)).places == {"study 0": 0, "study 1": 1, "study 2": 2}


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(60))
def test_the_order_of_the_input_never_changes_the_plan(seed: int) -> None:
    problem = random_problem(seed)
    needs = list(problem.needs)
    Random(seed).shuffle(needs)
    shuffled, found = solve(replace(problem, needs=tuple(needs))), solve(problem)
    assert shuffled.places == found.places
    assert shuffled.score == found.score


@pytest.mark.slow
def test_a_year_of_five_studies_worked_by_hand() -> None:
    # Gaps of 8, 7, 7, 8 and 8 weeks to a target of 6: 4 + 1 + 1 + 4 + 4 = 14 points of 49 days squared.
    problem = demo_like()
    found = agrees(problem, by_highs(problem))
    assert [str(problem.slots[slot].day) for slot in sorted(found.places.values())] == [
        "2026-03-22",
        "2026-05-10",
        "2026-06-28",
        "2026-08-23",
        "2026-10-18",
    ]
    assert found.score == Score(0, 0, 0, 0, 0, 14 * 49, 20 + 69 + 118 + 174 + 230)


@pytest.mark.slow
def test_the_random_problems_are_of_every_sort() -> None:
    """Each sort of rule and of outcome is met by at least three of the problems above."""
    met: Counter[str] = Counter()
    for seed in range(200):
        problem = random_problem(seed)
        answer = solve(problem)
        needs, spacings, days = problem.needs, problem.spacings, problem.days
        costs = [cost for need in needs for cost in need.cost]
        met.update(
            sort
            for sort, there in {
                "no studies": not needs,
                "no slots": not days,
                "a study that fits nowhere": any(set(need.cost) == {None} for need in needs),
                "a study that may take one slot only": any(
                    sum(cost is not None for cost in need.cost) == 1 for need in needs
                ),
                "forbidden slots": None in costs,
                "soft windows": any(costs),
                "promised dates": any(need.promised is not None for need in needs),
                "a slot promised twice": any(
                    one.promised == other.promised not in (None, NOWHERE) for one, other in combinations(needs, 2)
                ),
                "a promise of no slot": any(need.promised == NOWHERE for need in needs),
                "promised orders": any(need.after for need in needs),
                "orders in a circle": any(
                    one.key in other.after and other.key in one.after for one, other in combinations(needs, 2)
                ),
                "every promise kept": answer.score.broken == 0
                and any(need.promised is not None or need.after for need in needs),
                "promises broken": answer.score.broken > 0,
                "a date kept and one broken": {True, False}
                == {answer.places.get(need.key) == need.promised for need in needs if need.promised is not None},
                "nothing left to do": any(need.minutes == 0 for need in needs),
                "slots that come too soon": any(day < 0 for day in problem.ready),
                "slots without standing content": 0 in problem.standing and any(problem.standing),
                "two slots on one day": len(set(days)) < len(days),
                "nothing published yet": any(spacing.last_day is None for spacing in spacings),
                "published before": any(spacing.last_day is not None for spacing in spacings),
                "no least gap": any(spacing.min_days == 0 for spacing in spacings),
                "three series": len(spacings) == 3,
                "hours that bind": hours_bind(problem),
                "a week without work": any(
                    problem.spare[day] == problem.spare[day + 10] > 0 for day in range(len(problem.spare) - 10)
                ),
                "everything placed": bool(needs) and answer.score.unplaced == 0,
                "some placed": 0 < answer.score.unplaced < len(needs),
                "a spacing cost": answer.score.points > 0,
                "moves": answer.score.moved > 0,
                "no moves in a re-plan": problem.keep and len(answer.places) > 1 and answer.score.moved == 0,
                "a planned slot that is gone": any(
                    need.planned_slot is None and need.planned_day is not None for need in needs
                ),
                "a planned day that is past": any((need.planned_day or 0) < 0 for need in needs),
            }.items()
            if there
        )
    assert len(met) == 31
    assert min(met.values()) >= 3, met
