"""The chain of slips against the negative binomial distribution of scipy, and against simulation.

With a free slot every week and a least gap of one week, every slot is one attempt that airs a study
with probability p = 1 - rate. The slots it takes to air k studies are then N = k + nbinom(k, p), where
scipy counts the failures (docs.scipy.org, scipy.stats.nbinom), with mean k / p and variance k (1 - p) / p^2.
Quantiles and tails below were computed with scipy 1.17.1.
"""

from itertools import accumulate
from math import ceil
from random import Random

import numpy as np
import pytest
import scipy  # its parts are loaded as they are used
from effort import examples
from hypothesis import given
from hypothesis import strategies as st

from showrunner.planning.slips import air_days, steady

Distribution = dict[int, float]


def weekly(studies: int, rate: float, slots: int = 120) -> list[Distribution]:
    """Studies planned for the first slots, a free slot every week."""
    return air_days(range(studies), range(slots), range(0, 7 * slots, 7), 7, steady(rate))


def quantile(distribution: Distribution, level: float) -> int:
    """Least slot by which the study has aired with probability `level`."""
    total = 0.0
    for slot in sorted(distribution):
        total += distribution[slot]
        if total >= level - 1e-12:
            return slot
    raise AssertionError("beyond the last slot")


def by(distribution: Distribution, slot: int) -> float:
    """Probability of having aired by the slot."""
    return sum(chance for each, chance in distribution.items() if each <= slot)


@pytest.mark.parametrize(("studies", "air"), [(1, 0.5), (3, 0.9), (5, 0.5), (7, 0.97), (10, 0.8), (24, 0.85)])
def test_every_study_airs_as_the_negative_binomial_says(studies: int, air: float) -> None:
    for number, distribution in enumerate(weekly(studies, 1 - air), 1):
        slots = range(number - 1, 100)
        expected = scipy.stats.nbinom.pmf([slot + 1 - number for slot in slots], number, air)
        assert [distribution.get(slot, 0) for slot in slots] == pytest.approx(list(expected), abs=1e-12)


def test_ten_studies_at_four_in_five() -> None:
    end = weekly(10, 0.2)[-1]
    needed = {slot + 1: chance for slot, chance in end.items()}
    mean = sum(slots * chance for slots, chance in needed.items())
    assert [quantile(needed, level) for level in (0.05, 0.1, 0.5, 0.8, 0.9, 0.95)] == [10, 10, 12, 14, 15, 16]
    assert mean == pytest.approx(10 / 0.8)
    assert sum((slots - mean) ** 2 * chance for slots, chance in needed.items()) == pytest.approx(10 * 0.2 / 0.8**2)
    # Done within 12 slots exactly when at least 10 of 12 attempts air.
    assert by(needed, 12) == pytest.approx(0.5583457485, abs=1e-10)
    assert by(needed, 12) == pytest.approx(scipy.stats.binom.sf(9, 12, 0.8))


def test_twenty_four_studies_in_two_slots_a_week() -> None:
    days = [7 * week + day for week in range(60) for day in (2, 6)]
    end = air_days(range(24), range(120), days, 3, steady(0.15))[-1]
    needed = {slot + 1: chance for slot, chance in end.items()}
    assert [quantile(needed, level) for level in (0.05, 0.1, 0.5, 0.8, 0.9, 0.95)] == [25, 26, 28, 30, 31, 32]
    assert (ceil(quantile(needed, 0.5) / 2), ceil(quantile(needed, 0.9) / 2)) == (14, 16)  # weeks


def test_the_fifth_airing_on_the_seventh_attempt() -> None:
    assert weekly(5, 0.5)[-1][6] == pytest.approx(15 / 128)


def test_what_runs_past_the_last_slot_is_missing_from_the_sum() -> None:
    *_, last = weekly(2, 0.25, slots=3)
    assert sum(last.values()) == pytest.approx(scipy.stats.binom.sf(1, 3, 0.75))


def test_without_slips_the_plan_comes_true() -> None:
    assert air_days([1, 4, 8], range(12), range(0, 84, 7), 14, steady(0.0)) == [
        pytest.approx({1: 1.0}),
        pytest.approx({4: 1.0}),
        pytest.approx({8: 1.0}),
    ]


def test_a_late_study_pushes_the_next_only_as_far_as_the_least_gap() -> None:
    # Planned for weeks 0 and 3, two weeks apart at least, one slot in two missed. The second is pushed
    # from week 3 to 4 when the first airs in week 2 (chance 1/8), to 5 from week 3 (1/16), and so on.
    first, second = air_days([0, 3], range(40), range(0, 280, 7), 14, steady(0.5))
    assert first[2] == pytest.approx(1 / 8)
    on_plan = 1 / 2 + 1 / 4
    assert second[3] == pytest.approx(on_plan / 2)
    assert second[4] == pytest.approx(on_plan / 4 + 1 / 8 / 2)
    assert second[5] == pytest.approx(on_plan / 8 + 1 / 8 / 4 + 1 / 16 / 2)


def test_only_slots_free_for_the_series_are_tried() -> None:
    (only,) = air_days([2], [0, 2, 5, 9], range(0, 70, 7), 7, steady(0.5))
    assert {slot: only[slot] for slot in sorted(only) if only[slot]} == pytest.approx({2: 0.5, 5: 0.25, 9: 0.125})


def random_chain(seed: int) -> tuple[list[int], list[int], list[int], int, float]:
    """A plan with uneven gaps, slots of two rules of which some are taken, and a slip rate."""
    random = Random(seed)
    days = sorted(7 * week + day for week in range(40) for day in random.sample(range(7), random.choice((1, 2))))
    free = sorted(random.sample(range(len(days)), round(len(days) * random.choice((1.0, 0.7)))))
    least = random.choice((0, 7, 14, 28))
    planned: list[int] = []
    for slot in free:
        far = not planned or days[slot] - days[planned[-1]] >= least
        if len(planned) < 5 and far and random.random() < 0.4:
            planned.append(slot)
    return planned, free, days, least, random.choice((0.05, 0.2, 0.4))


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(20))
def test_uneven_plans_air_as_often_as_in_a_simulation(seed: int) -> None:
    planned, free, days, least, rate = random_chain(seed)
    random = Random(1000 + seed)
    runs = 4000
    aired = np.zeros((len(planned), len(days)))
    for _ in range(runs):
        last, last_day = -1, -10_000
        for number, plan in enumerate(planned):
            tries = (slot for slot in free if slot >= plan and slot > last and days[slot] - last_day >= least)
            slot = next((slot for slot in tries if random.random() >= rate), None)
            if slot is None:
                break
            aired[number, slot] += 1
            last, last_day = slot, days[slot]
    for number, distribution in enumerate(air_days(planned, free, days, least, steady(rate))):
        chances = [min(by(distribution, slot), 1.0) for slot in range(len(days))]
        counts = aired[number].cumsum()
        # What a count of so many runs can be, but for one in a hundred million on either side.
        assert (counts >= scipy.stats.binom.ppf(1e-8, runs, chances)).all()
        assert (counts <= scipy.stats.binom.isf(1e-8, runs, chances)).all()


@given(seed=st.integers(0, 10**6), more=st.floats(0.01, 0.5))
@examples(40, derandomize=True)
def test_more_slips_never_bring_any_study_nearer(seed: int, more: float) -> None:
    planned, free, days, least, rate = random_chain(seed)
    calm = air_days(planned, free, days, least, steady(rate))
    rough = air_days(planned, free, days, least, steady(rate + more))
    for before, after in zip(calm, rough, strict=True):
        chance_before = accumulate(before.get(slot, 0) for slot in range(len(days)))
        chance_after = accumulate(after.get(slot, 0) for slot in range(len(days)))
        assert all(late <= soon + 1e-12 for soon, late in zip(chance_before, chance_after, strict=True))


@pytest.mark.parametrize(("gap", "rate"), [(1, 0.2), (3, 0.3), (4, 0.5)])
def test_the_long_run_is_that_of_a_renewal_process(gap: int, rate: float) -> None:
    """m(t) = t / mu + (s^2 - mu^2) / (2 mu^2) in the long run (openknowledgegraph.com, "Renewal theory").

    A study comes `gap` weeks after the one before it, and a week later for each try that fails; slots come once a week,
    so the time halfway between two of them stands for a continuous one.
    """
    weeks, studies = 240, 240 // gap
    distributions = air_days([gap - 1] * studies, range(weeks), range(0, 7 * weeks, 7), 7 * gap, steady(rate))
    mean, variance = gap + rate / (1 - rate), rate / (1 - rate) ** 2
    at = weeks - 60  # so late that nearly all that comes by then has its slot, and so early that none is cut off
    came = sum(by(distribution, at - 1) for distribution in distributions)
    assert came == pytest.approx((at + 0.5) / mean + (variance - mean**2) / (2 * mean**2), abs=1e-6)


@pytest.mark.parametrize(("pieces", "a_week", "weeks"), [(24, 2, 12), (9, 3, 3)])
def test_without_slips_a_stock_lasts_its_number_by_its_use(pieces: int, a_week: int, weeks: int) -> None:
    """Days of supply are stock by daily use (leanstrategiesinternational.com, "Days of supply")."""
    days = [7 * week + 2 * at for week in range(2 * weeks) for at in range(a_week)]
    end = air_days(range(pieces), range(len(days)), days, 0, steady(0))[-1]
    (last,) = end
    assert days[last] // 7 + 1 == weeks
