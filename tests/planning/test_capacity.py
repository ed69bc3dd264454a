"""How many studies still fit into the hours, beside every plan there is."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import combinations, permutations

import pytest
from test_search import weekly

from showrunner.planning.capacity import Capacity, TooLarge
from showrunner.planning.limit import ENDLESS
from showrunner.planning.problem import Need, Problem, Spacing, score
from showrunner.planning.search import Search


def scarce(seed: int) -> Problem:
    """Two series that compete for every slot, with slots some may not have, and hours that hold only some of them."""
    dice = random.Random(seed)
    weeks, count = dice.randint(3, 5), dice.randint(2, 4)
    needs = tuple(
        Need(
            f"s{n}",
            n,
            dice.randrange(2),
            dice.choice((60, 120, 300)),
            tuple(dice.choice((0, 0, 0, 49, None)) for _ in range(weeks)),
        )
        for n in range(count)
    )
    spacings = tuple(Spacing(dice.choice((7, 14)), 21, dice.choice((None, -7)), None) for _ in range(2))
    return weekly(weeks, needs, spacings, [dice.choice((0, 60, 100, 200)) for _ in range(weeks)], dice.choice((0, 30)))


def fit(problem: Problem, number: int, used: int) -> bool:
    """Whether some plan of as many studies keeps every rule if so many minutes are used until the first slot."""
    first = problem.ready[0]
    left = replace(
        problem, spare=tuple(free - used if day >= first else free for day, free in enumerate(problem.spare))
    )
    keys, slots = [need.key for need in problem.needs], range(len(problem.slots))
    return any(
        score(left, dict(zip(chosen, there, strict=True))) is not None
        for chosen in combinations(keys, number)
        for there in permutations(slots, number)
    )


@pytest.mark.parametrize("seed", range(60))
def test_as_many_studies_are_held_as_some_plan_places(seed: int) -> None:
    problem = scarce(seed)
    ready = Search(problem, ENDLESS)
    ready._prepare()
    for number in range(1, len(problem.needs) + 1):
        capacity = Capacity(ready.space, ready.room, ready.safe, number, ENDLESS)
        for used in (0, 1, 30, 60, 61, 120, 200):
            held = capacity.holds(0, used, ready.space.root)
            assert held == fit(problem, number, used), (number, used)


def test_more_slots_than_it_may_call_itself_for_are_refused() -> None:
    long = weekly(401, (Need("s0", 0, 0, 60, (0,) * 401),), (Spacing(7, 14, None, None),), [60] * 401, 0)
    ready = Search(long, ENDLESS)
    ready._prepare()
    with pytest.raises(TooLarge):
        Capacity(ready.space, ready.room, ready.safe, 1, ENDLESS)
