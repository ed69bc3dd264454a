"""The slip rate, its 80% interval and the three rates that stand for it, against scipy.

The beta distribution is that of scipy.stats.beta, the Gauss rule that of scipy.special.roots_jacobi
(docs.scipy.org).
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from random import Random

import pytest
from scipy.special import roots_jacobi
from scipy.stats import beta

from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.publication import Publication
from showrunner.errors import BadInput
from showrunner.planning.sliprate import beta_cdf, beta_quantile, habit, slip_rate, three_rates
from showrunner.planning.slips import steady

LENGTHS = [(0, 0), (0, 5), (3, 35), (9, 327), (5, 5), (50, 100)]


def record(late: int, recorded: int, series: str = "hour", weeks: int = 1) -> list[Publication]:
    day = date(2026, 1, 4)
    return [
        Publication(
            str(n), "x", "sunday", day, FuzzyDate.exact(day + timedelta(weeks=weeks if n < late else 0)), series=series
        )
        for n in range(recorded)
    ]


@pytest.mark.parametrize(("other_late", "others"), [(0, 0), (6, 292), (8, 10)])
@pytest.mark.parametrize(("late", "recorded"), LENGTHS)
def test_the_slip_rate_and_its_interval_are_those_of_the_beta_distribution(
    late: int, recorded: int, other_late: int, others: int
) -> None:
    rate = slip_rate([*record(late, recorded), *record(other_late, others, "")], "hour")
    pool = (late + other_late + 0.5) / (recorded + others + 1)
    a, b = 5 * pool + late, 5 * (1 - pool) + recorded - late
    assert (rate.own_late, rate.own_recorded) == (late, recorded)
    assert (rate.late, rate.recorded) == (late + other_late, recorded + others)
    assert rate.mean == pytest.approx(beta.mean(a, b))
    assert rate.low == pytest.approx(beta.ppf(0.1, a, b), abs=1e-9)
    assert rate.high == pytest.approx(beta.ppf(0.9, a, b), abs=1e-9)


def test_a_series_without_a_record_has_the_rate_of_all_and_a_long_one_its_own() -> None:
    filler = record(10, 99, "")
    assert slip_rate(filler, "hour").mean == pytest.approx(10.5 / 100)
    assert slip_rate([*record(400, 1000), *filler], "hour").mean == pytest.approx(0.4, abs=0.002)
    assert 0.1 < slip_rate([*record(2, 5), *filler], "hour").mean < 0.4


def test_the_incomplete_beta_function() -> None:
    for a, b in ((0.5, 0.5), (0.5, 300.0), (9.5, 318.5), (20.0, 3.0)):
        for x in (0.0, 1e-6, 0.03, 0.3, 0.5, 0.97, 1.0):
            assert beta_cdf(x, a, b) == pytest.approx(beta.cdf(x, a, b), abs=1e-12)


@pytest.mark.parametrize(("a", "b"), [(0.5, 0.5), (0.5, 5.5), (3.5, 32.5), (50.5, 50.5), (5.5, 0.5)])
@pytest.mark.parametrize("p", [0.001, 0.1, 0.5, 0.9, 0.999])
def test_the_quantiles(p: float, a: float, b: float) -> None:
    assert beta_quantile(p, a, b) == pytest.approx(beta.ppf(p, a, b), abs=1e-9)


@pytest.mark.parametrize("seed", range(40))
def test_the_three_rates_are_those_of_the_gauss_rule(seed: int) -> None:
    random = Random(seed)
    a, b = 10 ** random.uniform(-1, 2.5), 10 ** random.uniform(-1, 3)
    nodes, weights = roots_jacobi(3, b - 1, a - 1)
    found = three_rates(a, b)
    assert [rate for rate, _ in found] == pytest.approx([(node + 1) / 2 for node in nodes], abs=1e-11)
    assert [weight for _, weight in found] == pytest.approx(list(weights / sum(weights)), abs=1e-11)


@pytest.mark.parametrize(("a", "b"), [(0.1, 5.0), (3.1, 36.9), (20.0, 3.0)])
def test_the_three_rates_have_the_moments_of_the_distribution(a: float, b: float) -> None:
    for power in range(6):
        assert sum(weight * rate**power for rate, weight in three_rates(a, b)) == pytest.approx(
            beta.moment(power, a, b)
        )


def test_a_line_whose_punctuality_is_not_known_counts_neither_way() -> None:
    day = date(2026, 1, 4)
    unknown = Publication("a", "x", "sunday", None, FuzzyDate.exact(day), series="hour")
    missed = Publication("c", "x", "sunday", day, None, series="hour")
    assert slip_rate([*record(1, 3), unknown], "hour") == slip_rate(record(1, 3), "hour")
    found = slip_rate([*record(1, 3), missed], "hour")
    assert (found.late, found.recorded, found.own_late, found.own_recorded) == (2, 4, 2, 4)


def test_a_late_line_counts_one_however_late() -> None:
    assert slip_rate(record(2, 9, weeks=50), "hour") == slip_rate(record(2, 9, weeks=1), "hour")


def test_a_rate_that_is_given_stands_in_place_of_the_mean_alone() -> None:
    own, given = slip_rate(record(3, 35), "hour"), slip_rate(record(3, 35), "hour", 0.25)
    assert (own.given, given.given) == (False, True)
    assert given == replace(own, mean=0.25, given=True)
    assert slip_rate([], "hour", 0.0).mean == 0
    assert slip_rate([], "hour", 0.999).mean == 0.999


def test_a_rate_that_is_given_is_taken_as_it_is_and_that_of_the_record_allows_for_spells() -> None:
    assert habit(slip_rate(record(3, 35), "hour", 0.25)) == steady(0.25)
    of_the_record = habit(slip_rate(record(3, 35), "hour"))
    assert of_the_record.spells
    assert len(of_the_record.rates) == 3


@pytest.mark.parametrize("rate", [-0.001, 1.0, 1.5, float("nan")])
def test_a_rate_below_nothing_or_of_one_and_above_is_refused(rate: float) -> None:
    with pytest.raises(BadInput) as caught:
        slip_rate([], "hour", rate)
    assert str(caught.value) == f"slip rate: a slip rate of {rate:g} is not from 0 to below 1; give a share like 0.05."
