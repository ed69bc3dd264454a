"""When studies air if slots are missed, held against every way the tries can go."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from itertools import product
from random import Random

import pytest

from showrunner.planning.slips import Slips, air_days, steady


def every_way(
    planned: Sequence[int], free: Sequence[int], days: Sequence[int], least: int, rate: float
) -> list[dict[int, float]]:
    """The same by the words alone: each slot of each study misses or not, and every such world is lived through."""
    slots = sorted({*free, *planned})
    found: list[dict[int, float]] = [defaultdict(float) for _ in planned]
    for world in product(product((True, False), repeat=len(slots)), repeat=len(planned)):
        chance = 1.0
        for missed in (missed for study in world for missed in study):
            chance *= rate if missed else 1 - rate
        before: int | None = None
        for number, wish in enumerate(planned):
            tries = [s for s in slots if s >= wish]
            if before is not None:
                last = before
                tries = [s for s in tries if s > last and days[s] >= days[last] + least]
            airs = next((s for s in tries if not world[number][slots.index(s)]), None)
            if airs is None:
                break
            found[number][airs] += chance
            before = airs
    return [dict(one) for one in found]


@pytest.mark.parametrize("seed", range(40))
def test_the_chances_are_those_of_every_way_the_tries_can_go(seed: int) -> None:
    random = Random(seed)
    count = random.randint(3, 7)
    days = sorted(random.choices(range(0, 30), k=count))
    free = sorted(random.sample(range(count), random.randint(1, min(count, 5))))
    planned = sorted(random.sample(range(count), random.randint(1, 2)))
    least, rate = random.choice((0, 1, 5, 7)), random.choice((0.0, 0.1, 0.5))
    wanted = every_way(planned, free, days, least, rate)
    for one, other in zip(air_days(planned, free, days, least, steady(rate)), wanted, strict=True):
        for slot in {*one, *other}:
            assert one.get(slot, 0.0) == pytest.approx(other.get(slot, 0.0), abs=1e-12)


def test_a_study_airs_exactly_the_least_gap_after_the_one_before_it() -> None:
    days = [0, 7, 14, 21]
    assert air_days([0, 1], [0, 1, 2, 3], days, 14, steady(0.0)) == [{0: 1.0}, {2: 1.0}]
    assert air_days([0, 1], [0, 1, 2, 3], days, 15, steady(0.0)) == [{0: 1.0}, {3: 1.0}]
    assert air_days([0, 3], [0, 1, 2, 3], days, 14, steady(0.0)) == [{0: 1.0}, {3: 1.0}]


def test_two_never_share_a_slot_or_change_their_order() -> None:
    assert air_days([0, 0], [0, 1], [0, 0], 0, steady(0.0)) == [{0: 1.0}, {1: 1.0}]


def test_what_lies_beyond_the_last_slot_is_not_there() -> None:
    (only,) = air_days([1], [0, 1], [0, 7], 0, steady(0.25))
    assert only == {1: 0.75}


def test_a_study_planned_for_a_slot_that_may_not_be_tried_tries_the_next_one_if_there_is_one() -> None:
    slips = Slips([0, 2], [0, 7, 14, 21], 0, steady(0.0))
    assert slips.airs((1,)) == [{2: 1.0}]
    assert slips.airs((3,)) == [{}]
