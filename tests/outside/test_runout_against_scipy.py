"""Slips against scipy's negative binomial distribution, and against a seeded simulation of the same story.

k studies in k weekly slots a least gap apart, each try failing with 1 - p: the last one airs in slot
N = k + X with X negative binomial (k, p) (docs.scipy.org, scipy.stats.nbinom: X counts the failures).
"""

from __future__ import annotations

from datetime import date, timedelta
from random import Random

import pytest
from scipy.stats import beta, binom, nbinom

from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.publication import Publication
from showrunner.planning.sliprate import beta_cdf, slip_rate
from showrunner.planning.slips import air_days


def last_slot(k: int, p: float, slots: int = 400) -> dict[int, float]:
    """Distribution of the number of weekly slots until the k-th study airs."""
    chances = air_days(range(k), range(slots), [7 * n for n in range(slots)], 7, 1 - p)[-1]
    return {slot + 1: chance for slot, chance in chances.items()}


def quantile(chances: dict[int, float], wanted: float) -> int:
    total = 0.0
    for n in sorted(chances):
        total += chances[n]
        if total >= wanted - 1e-12:
            return n
    raise AssertionError("the distribution does not reach that far")


@pytest.mark.parametrize(("k", "p"), [(1, 0.5), (5, 0.5), (10, 0.8), (24, 0.85), (7, 0.97)])
def test_every_probability_is_that_of_the_negative_binomial(k: int, p: float) -> None:
    for n, chance in last_slot(k, p).items():
        assert chance == pytest.approx(nbinom.pmf(n - k, k, p), abs=1e-12)


@pytest.mark.parametrize(
    ("k", "p", "quantiles"),
    [(10, 0.8, (10, 10, 12, 14, 15, 16)), (24, 0.85, (25, 26, 28, 30, 31, 32))],
)
def test_quantiles_of_the_last_slot(k: int, p: float, quantiles: tuple[int, ...]) -> None:
    chances = last_slot(k, p)
    wanted = (0.05, 0.1, 0.5, 0.8, 0.9, 0.95)
    assert tuple(quantile(chances, q) for q in wanted) == quantiles
    assert tuple(k + int(nbinom.ppf(q, k, p)) for q in wanted) == quantiles


def test_mean_variance_and_the_binomial_twin() -> None:
    # Mean k/p, variance k(1 - p)/p^2; P(N <= 12) = P(Bin(12, p) >= 10) = 0.5583457485.
    chances = last_slot(10, 0.8)
    mean = sum(n * c for n, c in chances.items())
    assert mean == pytest.approx(12.5)
    assert sum((n - mean) ** 2 * c for n, c in chances.items()) == pytest.approx(3.125)
    within = sum(c for n, c in chances.items() if n <= 12)
    assert within == pytest.approx(0.5583457485, abs=1e-10)
    assert within == pytest.approx(binom.sf(9, 12, 0.8))


def test_the_fifth_success_on_the_seventh_trial() -> None:
    assert last_slot(5, 0.5)[7] == pytest.approx(15 / 128)


def test_two_slots_a_week_halve_the_weeks() -> None:
    # k = 24, p = 0.85, two slots a week: median 14 weeks, 90% 16 weeks.
    chances = last_slot(24, 0.85)
    assert (-(-quantile(chances, 0.5) // 2), -(-quantile(chances, 0.9) // 2)) == (14, 16)


def simulated(
    planned: list[int], free: list[int], days: list[int], least: int, rate: float, random: Random
) -> list[int]:
    """One telling of the story: where each study airs."""
    aired: list[int] = []
    for wish in planned:
        slots = [s for s in free if s >= wish and (not aired or (s > aired[-1] and days[s] - days[aired[-1]] >= least))]
        aired.append(next(s for s in slots if random.random() >= rate))
    return aired


@pytest.mark.parametrize("seed", range(6))
def test_the_recursion_agrees_with_a_simulation(seed: int) -> None:
    random = Random(seed)
    days = sorted(random.sample(range(1200), 150))
    free = sorted(random.sample(range(150), 120))
    planned = sorted(random.sample(free[:60], 5))
    least, rate = random.choice((0, 7, 28, 60)), random.choice((0.05, 0.2, 0.4))
    exact = air_days(planned, free, days, least, rate)
    rounds = 20_000
    counts: list[dict[int, int]] = [{} for _ in planned]
    for _ in range(rounds):
        for count, slot in zip(counts, simulated(planned, free, days, least, rate, random), strict=True):
            count[slot] = count.get(slot, 0) + 1
    for chances, count in zip(exact, counts, strict=True):
        assert sum(chances.values()) == pytest.approx(1, abs=1e-6)
        for slot in {*chances, *count}:
            chance = chances.get(slot, 0.0)
            tolerance = 5 * (chance * (1 - chance) / rounds) ** 0.5 + 3 / rounds
            assert abs(chance - count.get(slot, 0) / rounds) <= tolerance


def record(late: int, recorded: int) -> list[Publication]:
    day = date(2026, 1, 4)
    return [
        Publication(str(n), "x", "sunday", day, FuzzyDate.exact(day + timedelta(7 if n < late else 0)))
        for n in range(recorded)
    ]


@pytest.mark.parametrize(("late", "recorded"), [(0, 0), (0, 5), (3, 35), (9, 327), (5, 5), (50, 100)])
def test_the_slip_rate_and_its_interval_are_those_of_the_beta_distribution(late: int, recorded: int) -> None:
    rate = slip_rate(record(late, recorded))
    a, b = late + 0.5, recorded - late + 0.5
    assert (rate.late, rate.recorded) == (late, recorded)
    assert rate.mean == pytest.approx(beta.mean(a, b))
    assert rate.low == pytest.approx(beta.ppf(0.1, a, b), abs=1e-9)
    assert rate.high == pytest.approx(beta.ppf(0.9, a, b), abs=1e-9)


def test_the_incomplete_beta_function() -> None:
    for a, b in ((0.5, 0.5), (0.5, 300.0), (9.5, 318.5), (20.0, 3.0)):
        for x in (0.0, 1e-6, 0.03, 0.3, 0.5, 0.97, 1.0):
            assert beta_cdf(x, a, b) == pytest.approx(beta.cdf(x, a, b), abs=1e-12)
