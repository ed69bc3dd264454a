"""How many states the search looks into: no more than written here, whichever way it must go, for the same plan.

The numbers are what it takes today. A change that needs fewer puts its own number here; one that needs more has lost
something that kept the search short, though its plans may be as good.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace

import pytest
from test_search import weekly, with_a_holiday

from showrunner.planning import prices, search
from showrunner.planning.problem import Need, Problem, Spacing, score
from showrunner.planning.search import solve


def crowd(
    seed: int,
    counts: tuple[int, ...] = (3, 4),
    *,
    weeks: int = 14,
    hours: int = 300,
    usual: int = 60,
    minutes: tuple[int, ...] = (120, 180, 300, 480),
    dated: float = 0.0,
    ordered: float = 0.0,
) -> Problem:
    """Series of so many studies each that share every slot, with soft and hard windows, promised dates and orders."""
    dice = random.Random(f"crowd {seed}")
    needs: list[Need] = []
    for series in (series for series, count in enumerate(counts) for _ in range(count)):
        number = len(needs)
        cost: tuple[int | None, ...] = (0,) * weeks
        if dice.random() < 0.4:
            first = dice.randrange(max(weeks - 4, 1))
            last = first + dice.randint(2, 6)
            outside = [max(first - week, week - last, 0) for week in range(weeks)]
            hard = dice.random() < 0.4
            cost = tuple(None if hard and far else (7 * far) ** 2 for far in outside)
        size = dice.choice(minutes)
        after = (f"s{dice.randrange(number)}",) if number and dice.random() < ordered else ()
        promised = dice.randrange(weeks) if dice.random() < dated else None
        needs.append(Need(f"s{number}", number, series, size, cost, after, promised))
    spacings = tuple(Spacing(7 * dice.choice((1, 2)), 7 * dice.choice((2, 3)), dice.choice((None, -7))) for _ in counts)
    return weekly(weeks, tuple(needs), spacings, [hours] * weeks, usual)


def apart(problem: Problem) -> Problem:
    """Every series has slots of its own: those of its number, counted round."""
    number = len(problem.spacings)
    return replace(
        problem,
        needs=tuple(
            replace(need, cost=tuple(each if at % number == need.series else None for at, each in enumerate(need.cost)))
            for need in problem.needs
        ),
    )


def planned(problem: Problem, seed: int) -> Problem:
    """A re-plan: most of the studies are planned for some slot, some of them for one that is past."""
    dice = random.Random(f"planned {seed}")
    needs = []
    for need in problem.needs:
        at = dice.choice((None, *range(len(problem.slots))))
        day = dice.choice((None, -3)) if at is None else problem.days[at]
        needs.append(replace(need, planned_slot=at, planned_day=day))
    spacings = tuple(replace(spacing, max_days=21) for spacing in problem.spacings)
    return replace(problem, needs=tuple(needs), spacings=spacings, keep=True)


KINDS: dict[str, Callable[[int], Problem]] = {
    "hours for all": lambda seed: crowd(seed, (3, 4, 3)),
    "hours just for all": lambda seed: crowd(seed, (3, 4, 3), hours=250),
    "hours for some": lambda seed: crowd(seed, hours=150),
    "slots for some": lambda seed: crowd(seed, (3, 3), weeks=5, hours=600),
    "gaps for some": lambda seed: crowd(seed, (7, 2), weeks=10, hours=600),
    "dates": lambda seed: crowd(seed, (4, 5), hours=220, dated=0.3),
    "orders": lambda seed: crowd(seed, (4, 5), ordered=0.3),
    "dates and orders": lambda seed: crowd(seed, (4, 5), hours=220, dated=0.2, ordered=0.3),
    "hours given back": lambda seed: crowd(seed, (4, 5), hours=90, minutes=(0, 30, 120, 300)),
    "dates by hours given back": lambda seed: crowd(seed, (4, 5), hours=110, minutes=(0, 30, 120, 300), dated=0.3),
    "slots apart": lambda seed: apart(crowd(seed, (3, 3), hours=300)),
    "slots apart, hours not": lambda seed: apart(crowd(seed, (3, 3), hours=165)),
    "slots apart, hours for some": lambda seed: apart(crowd(seed, (3, 3), hours=120)),
    "a holiday": with_a_holiday,
    "planned already": lambda seed: planned(crowd(seed), seed),
}

SEEDS = range(4)

MOST: dict[str, tuple[tuple[int, ...], tuple[int, ...]]] = {
    "hours for all": ((166, 361, 183, 51), (455, 611, 461, 86)),
    "hours just for all": ((603, 274, 139, 127), (806, 575, 437, 484)),
    "hours for some": ((18, 413, 475, 30), (45, 640, 778, 56)),
    "slots for some": ((32, 69, 32, 346), (79, 82, 80, 95)),
    "gaps for some": ((10, 144, 32, 10), (19, 244, 159, 19)),
    "dates": ((269, 14, 32, 75), (537, 27, 86, 163)),
    "orders": ((33, 598, 14, 70), (154, 1374, 27, 185)),
    "dates and orders": ((60, 95, 134, 83), (127, 292, 529, 310)),
    "hours given back": ((30, 390, 29, 20), (295, 587, 187, 65)),
    "dates by hours given back": ((191, 14, 134, 38), (375, 27, 392, 107)),
    "slots apart": ((28, 28, 28, 43), (53, 53, 51, 80)),
    "slots apart, hours not": ((29, 76, 97, 41), (73, 242, 175, 129)),
    "slots apart, hours for some": ((122, 21, 178, 22), (169, 69, 433, 47)),
    "a holiday": ((359, 263, 222, 134), (146, 4350, 4578, 669)),
    "planned already": ((15, 25, 14, 15), (27, 60, 26, 26)),
}
"""By kind, the states looked into for each seed: as the search stands, and where sweeps from narrow ones on do it."""

SWEEPS = {
    "EASY": 0,
    "FIRST_WIDTH": 2,
    "WIDE": 4,
    "WIDTHS": (3, 20, 200, 100_000),
    "SCARCE_WIDTHS": (4, 20, 200, 100_000),
    "PIECE": 10,
}
"""The search told to look best first at nothing, and to begin with sweeps so narrow that they lose much."""


@pytest.mark.parametrize("kind", KINDS)
def test_no_more_states_are_looked_into_than_the_search_needs(kind: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The plan is the same however it is come by."""
    problems = [KINDS[kind](seed) for seed in SEEDS]
    straight = [solve(problem) for problem in problems]
    monkeypatch.setattr(prices, "STEPS", 12)
    for name, value in SWEEPS.items():
        monkeypatch.setattr(search, name, value)
    swept = [solve(problem) for problem in problems]
    for problem, one, other in zip(problems, straight, swept, strict=True):
        assert one.proven
        assert other.proven
        assert one.places == other.places
        assert one.score == one.bound == other.score == score(problem, one.places)
    for found, most in zip((straight, swept), MOST[kind], strict=True):
        needed = [solution.expanded for solution in found]
        assert all(number <= limit for number, limit in zip(needed, most, strict=True)), (needed, most)
