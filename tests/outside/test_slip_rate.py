"""The slip rate and its 80% interval against scipy's beta distribution (docs.scipy.org, scipy.stats.beta)."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
import scipy  # its parts are loaded as they are used

from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.publication import Publication
from showrunner.errors import BadInput
from showrunner.planning.sliprate import beta_cdf, beta_quantile, slip_rate


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
    assert rate.mean == pytest.approx(scipy.stats.beta.mean(a, b))
    assert rate.low == pytest.approx(scipy.stats.beta.ppf(0.1, a, b), abs=1e-9)
    assert rate.high == pytest.approx(scipy.stats.beta.ppf(0.9, a, b), abs=1e-9)


def test_the_incomplete_beta_function() -> None:
    for a, b in ((0.5, 0.5), (0.5, 300.0), (9.5, 318.5), (20.0, 3.0)):
        for x in (0.0, 1e-6, 0.03, 0.3, 0.5, 0.97, 1.0):
            assert beta_cdf(x, a, b) == pytest.approx(scipy.stats.beta.cdf(x, a, b), abs=1e-12)


@pytest.mark.parametrize(("a", "b"), [(0.5, 0.5), (0.5, 5.5), (3.5, 32.5), (50.5, 50.5), (5.5, 0.5)])
@pytest.mark.parametrize("p", [0.001, 0.1, 0.5, 0.9, 0.999])
def test_the_quantiles(p: float, a: float, b: float) -> None:
    assert beta_quantile(p, a, b) == pytest.approx(scipy.stats.beta.ppf(p, a, b), abs=1e-9)


def test_a_line_whose_punctuality_is_not_known_counts_neither_way() -> None:
    day = date(2026, 1, 4)
    unknown = Publication("a", "x", "sunday", None, FuzzyDate.exact(day))
    missed = Publication("c", "x", "sunday", day, None)
    assert slip_rate([*record(1, 3), unknown]) == slip_rate(record(1, 3))
    assert (slip_rate([*record(1, 3), missed]).late, slip_rate([*record(1, 3), missed]).recorded) == (2, 4)


def test_a_rate_that_is_given_stands_in_place_of_the_mean_alone() -> None:
    own, given = slip_rate(record(3, 35)), slip_rate(record(3, 35), 0.25)
    assert (own.given, given.given) == (False, True)
    assert given == replace(own, mean=0.25, given=True)
    assert slip_rate([], 0.0).mean == 0
    assert slip_rate([], 0.999).mean == 0.999


@pytest.mark.parametrize("rate", [-0.001, 1.0, 1.5, float("nan")])
def test_a_rate_below_nothing_or_of_one_and_above_is_refused(rate: float) -> None:
    with pytest.raises(BadInput) as caught:
        slip_rate([], rate)
    assert str(caught.value) == f"slip rate: a slip rate of {rate:g} is not from 0 to below 1; give a share like 0.05."
