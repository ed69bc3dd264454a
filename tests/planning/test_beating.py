"""A search for something better than a plan finds the best one, or proves that there is nothing better."""

from __future__ import annotations

import pytest
from test_search_of_every_kind import varied

from showrunner.planning.limit import ENDLESS
from showrunner.planning.problem import Score
from showrunner.planning.search import NoBetter, Search, solve, solve_within


def scores_about(best: Score) -> list[Score]:
    """Promises broken and studies left out: as in the best plan, one more, one less; and the best plan itself."""
    return [
        best,
        *(
            Score(best.broken + broken, best.unplaced + out, 0, 0, 0, 0, 0)
            for broken in (-1, 0, 1)
            for out in (-1, 0, 1, 2)
        ),
    ]


@pytest.mark.slow
def test_what_is_better_is_found_and_what_is_not_is_told_so() -> None:
    seen = set()
    for seed in range(120):
        problem = varied(seed)
        best = solve(problem)
        for beat in scores_about(best.score):
            seen.add(best.score < beat)
            if best.score < beat:
                found = solve_within(problem, ENDLESS, beat)
                assert (found.places, found.score, found.proven) == (best.places, best.score, True), (seed, beat)
            else:
                with pytest.raises(NoBetter):
                    solve_within(problem, ENDLESS, beat)
    assert seen == {True, False}


def test_that_nothing_is_better_takes_fewer_states_than_the_best_plan() -> None:
    whole = proof = 0
    for seed in range(60):
        problem = varied(seed)
        whole += solve(problem).expanded
        search = Search(problem, ENDLESS, beat=Score(0, 0, 0, 0, 0, 0, 0))
        with pytest.raises(NoBetter):
            search.run()
        proof += search.expanded
    assert (whole > 0, proof) == (True, 0)
