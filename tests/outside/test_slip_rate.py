"""The slip rate and its 80% interval against scipy's beta distribution (docs.scipy.org, scipy.stats.beta)."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from scipy.stats import beta

from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.publication import Publication
from showrunner.planning.sliprate import beta_cdf, slip_rate


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
