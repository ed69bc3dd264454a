"""The exact search against CP-SAT (the constraint solver of OR-Tools), where that is installed."""

import pytest
from effort import seeds
from instances import demo_like, random_problem
from judges import by_cp_sat, by_highs
from long_runs import LONG

from showrunner.planning.problem import score
from showrunner.planning.search import solve

pytest.importorskip("ortools", reason="OR-Tools is not installed (pip install 'showrunner[judges]')")


@pytest.mark.slow
@pytest.mark.parametrize("seed", seeds(1000, 1060))
def test_a_random_problem_is_solved_as_well_as_by_cp_sat(seed: int) -> None:
    problem = random_problem(seed)
    found = solve(problem)
    assert found.proven
    assert found.score == by_cp_sat(problem).score == score(problem, found.places)


@pytest.mark.long
def test_the_judges_agree_on_a_year_of_five_studies() -> None:
    assert by_cp_sat(demo_like()).score == by_highs(demo_like()).score


@pytest.mark.long
def test_many_random_problems_are_solved_as_well_as_by_cp_sat() -> None:
    for seed in range(20_000, 20_000 + LONG // 3):
        problem = random_problem(seed)
        assert solve(problem).score == by_cp_sat(problem).score, f"problem {seed}"
