"""How much the search looks into: no more than written here, whichever way it must go, for the same plan.

The numbers are what it takes today. A change that needs fewer puts its own number here; one that needs more has lost
something that kept the search short, though its plans may be as good.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from test_search import weekly, with_a_holiday

from showrunner.planning import prices, search
from showrunner.planning.problem import Need, Problem, Spacing, score
from showrunner.planning.search import Solution, solve
from showrunner.planning.stages import cheapest
from showrunner.planning.tables import SeriesTable


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
    "a holiday": lambda seed: with_a_holiday((0, 3, 8, 9)[seed]),
    "planned already": lambda seed: planned(crowd(seed), seed),
}

SEEDS = range(4)

Effort = tuple[int, int, int]
"""States looked into, times that studies left out were split over the series, and tables made."""


def counted(problem: Problem, monkeypatch: pytest.MonkeyPatch) -> tuple[Solution, Effort]:
    """The best plan and what it took."""
    splits = tables = 0

    def split(*asked: Any) -> int:
        nonlocal splits
        splits += 1
        return cheapest(*asked)

    def table(*asked: Any, **more: Any) -> SeriesTable:
        nonlocal tables
        tables += 1
        return SeriesTable(*asked, **more)

    with monkeypatch.context() as patch:
        patch.setattr(search, "cheapest", split)
        for module in (search, prices):
            patch.setattr(module, "SeriesTable", table)
        found = solve(problem)
    return found, (found.expanded, splits, tables)


MOST: dict[str, tuple[tuple[Effort, ...], tuple[Effort, ...]]] = {
    "hours for all": (
        ((166, 41, 6), (361, 270, 6), (183, 3, 6), (51, 3, 6)),
        ((455, 149, 60), (611, 702, 57), (461, 20, 57), (86, 72, 54)),
    ),
    "hours just for all": (
        ((603, 572, 6), (274, 215, 6), (139, 3, 6), (127, 431, 3)),
        ((806, 650, 57), (575, 354, 57), (437, 41, 60), (484, 1628, 42)),
    ),
    "hours for some": (
        ((18, 38, 2), (413, 1120, 2), (475, 1229, 2), (30, 63, 2)),
        ((45, 102, 2), (640, 1532, 28), (778, 1999, 28), (56, 115, 2)),
    ),
    "slots for some": (
        ((32, 275, 6), (69, 296, 6), (32, 295, 6), (346, 1182, 6)),
        ((79, 406, 6), (82, 307, 6), (80, 474, 6), (95, 269, 6)),
    ),
    "gaps for some": (
        ((10, 141, 6), (144, 3, 4), (32, 443, 6), (10, 109, 6)),
        ((19, 232, 6), (244, 188, 28), (159, 705, 6), (19, 188, 6)),
    ),
    "dates": (
        ((269, 955, 2), (14, 15, 2), (32, 32, 2), (75, 3, 2)),
        ((537, 1751, 28), (27, 36, 2), (86, 50, 12), (163, 81, 36)),
    ),
    "orders": (
        ((33, 47, 2), (598, 171, 4), (14, 1, 2), (70, 21, 2)),
        ((154, 95, 36), (1374, 454, 40), (27, 2, 2), (185, 45, 24)),
    ),
    "dates and orders": (
        ((60, 212, 2), (95, 35, 2), (134, 182, 2), (83, 526, 2)),
        ((127, 384, 30), (292, 158, 40), (529, 461, 38), (310, 837, 32)),
    ),
    "hours given back": (
        ((30, 88, 2), (390, 1683, 2), (29, 106, 2), (20, 45, 2)),
        ((295, 1052, 28), (587, 2411, 28), (187, 625, 28), (65, 140, 28)),
    ),
    "dates by hours given back": (
        ((191, 652, 2), (14, 17, 2), (134, 86, 2), (38, 2, 2)),
        ((375, 1299, 28), (27, 38, 2), (392, 203, 16), (107, 28, 36)),
    ),
    "slots apart": (
        ((28, 4, 8), (28, 4, 8), (28, 4, 8), (43, 6, 12)),
        ((53, 6, 8), (53, 8, 8), (51, 6, 8), (80, 9, 12)),
    ),
    "slots apart, hours not": (
        ((29, 55, 2), (76, 18, 12), (97, 6, 12), (41, 63, 2)),
        ((73, 128, 2), (242, 73, 22), (175, 28, 22), (129, 216, 28)),
    ),
    "slots apart, hours for some": (
        ((122, 193, 2), (21, 37, 2), (178, 317, 2), (22, 29, 2)),
        ((169, 270, 28), (69, 131, 2), (433, 796, 28), (47, 73, 2)),
    ),
    "a holiday": (
        ((359, 2, 4), (134, 2, 4), (316, 2, 4), (381, 2, 4)),
        ((146, 4, 34), (669, 27, 26), (139, 4, 34), (4945, 99, 38)),
    ),
    "planned already": (
        ((15, 3, 4), (25, 20, 4), (14, 5, 4), (15, 2, 4)),
        ((27, 5, 4), (60, 49, 34), (26, 10, 4), (26, 3, 4)),
    ),
}
"""By kind, what each seed takes: as the search stands, and where sweeps from narrow ones on do it."""

SWEEPS = {
    "EASY": 0,
    "FIRST_WIDTH": 2,
    "WIDE": 4,
    "WIDTHS": (3, 20, 200, 100_000),
    "SCARCE_WIDTHS": (4, 20, 200, 100_000),
    "PIECE": 10,
}
"""The search told to look best first at nothing, and to begin with sweeps so narrow that they lose much."""


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_no_more_is_looked_into_than_the_search_needs(kind: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The plan is the same however it is come by."""
    problems = [KINDS[kind](seed) for seed in SEEDS]
    straight = [counted(problem, monkeypatch) for problem in problems]
    monkeypatch.setattr(prices, "STEPS", 12)
    for name, value in SWEEPS.items():
        monkeypatch.setattr(search, name, value)
    swept = [counted(problem, monkeypatch) for problem in problems]
    for problem, (one, _), (other, _) in zip(problems, straight, swept, strict=True):
        assert one.proven
        assert other.proven
        assert one.places == other.places
        assert one.score == one.bound == other.score == score(problem, one.places)
    for found, most in zip((straight, swept), MOST[kind], strict=True):
        needed = tuple(effort for _, effort in found)
        assert all(a <= b for one, limit in zip(needed, most, strict=True) for a, b in zip(one, limit, strict=True)), (
            needed
        )
