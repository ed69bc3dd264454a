"""Small problems with everything in them, beside every plan there is: best first, then by sweeps and small tables."""

from __future__ import annotations

import random

import pytest
from test_search import finds_the_best_of, leave_it_to_sweeps, weekly

from showrunner.planning import tables
from showrunner.planning.problem import NOWHERE, Need, Problem, Spacing


def varied(seed: int) -> Problem:
    """One to three series of alike and unlike studies, with gaps, windows, hours, promises, orders and old dates."""
    dice = random.Random(f"varied {seed}")
    weeks, count, keep = dice.randint(3, 5), dice.randint(2, 4), dice.random() < 0.5
    spacings = tuple(
        Spacing(
            dice.choice((0, 7, 14)),
            dice.choice((14, 21)),
            dice.choice((None, -1, -8)),
            dice.choice((None, 14, 21)) if keep else None,
        )
        for _ in range(dice.randint(1, 3))
    )
    orders = dice.sample(range(count), count)
    kinds = [
        (dice.choice((0, 60, 120, 300)), tuple(dice.choice((0, 0, 0, 49, 100, None)) for _ in range(weeks)))
        for _ in range(2)
    ]
    needs = []
    for n in range(count):
        minutes, cost = dice.choice(kinds)
        planned = dice.choice((None, None, *range(weeks))) if keep else None
        past = planned is None and keep and dice.random() < 0.3
        needs.append(
            Need(
                f"s{n}",
                orders[n],
                dice.randrange(len(spacings)),
                minutes,
                cost,
                after=(f"s{dice.randrange(n)}",) if n and dice.random() < 0.2 else (),
                promised=dice.choice((None, None, None, None, dice.randrange(weeks), NOWHERE)),
                worth=dice.choice((1, 1, 3)),
                planned_slot=planned,
                planned_day=-3 if past else 6 + 7 * planned if planned is not None else None,
            )
        )
    hours = [dice.choice((0, 100, 200, 400)) for _ in range(weeks)]
    problem = weekly(weeks, tuple(needs), spacings, hours, dice.choice((0, 0, 60, 180)))
    return Problem(
        problem.slots, problem.days, problem.ready, problem.standing, problem.spare, problem.needs, spacings, keep
    )


@pytest.mark.parametrize("narrow", [False, True], ids=["easy", "narrow"])
@pytest.mark.parametrize("block", range(6))
def test_the_best_of_every_plan_is_found_and_proven(block: int, narrow: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    if narrow:
        leave_it_to_sweeps(monkeypatch)
        monkeypatch.setattr(tables, "TABLE_LIMIT", 3)
        monkeypatch.setattr(tables, "FINE_LIMIT", 4)
        monkeypatch.setattr(tables, "DEEP", 1)
        monkeypatch.setattr(tables, "NEAR", 0)
    for seed in range(40 * block, 40 * (block + 1)):
        finds_the_best_of(varied(seed), seed)
