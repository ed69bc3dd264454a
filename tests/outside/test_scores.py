"""The scores of a forecast against worked values, their definitions, and an independent library.

Worked: quantile score at 90% with forecast 20, and the Winkler score of 25 to 31 at 80%, by the formulas of Hyndman and
Athanasopoulos, "Forecasting: Principles and Practice", 3rd edition, 5.9 (otexts.com/fpp3/distaccuracy.html). CRPS of
the normal distribution: Gneiting and Raftery (2007), "Strictly Proper Scoring Rules, Prediction, and Estimation",
section 4.2: at the mean (sqrt 2 - 1) / sqrt pi, one deviation off 0.6024413576. Judge: scoringrules (Apache-2.0),
whose quantile score leaves out the factor of 2.
"""

from __future__ import annotations

from math import erf, pi, sqrt

import numpy as np
import pytest
import scoringrules
from effort import examples
from hypothesis import given
from hypothesis import strategies as st

from showrunner.planning.scores import crps, quantile_score, winkler

values = st.floats(-1000, 1000, allow_nan=False)


@pytest.mark.parametrize(
    ("level", "forecast", "came", "score"), [(0.9, 20, 22, 3.6), (0.9, 20, 17, 0.6), (0.5, 20, 26, 6), (0.1, 5, 5, 0)]
)
def test_quantile_scores_worked_by_hand(level: float, forecast: float, came: float, score: float) -> None:
    assert quantile_score(level, forecast, came) == pytest.approx(score)


def test_the_winkler_score_worked_by_hand() -> None:
    assert winkler(0.2, 25, 31, 33) == pytest.approx(26)
    assert winkler(0.2, 25, 31, 24) == pytest.approx(16)
    assert winkler(0.2, 25, 31, 31) == 6


def normal(deviations: float = 8, steps: int = 4000) -> list[tuple[float, float]]:
    """The standard normal distribution in narrow steps, each with its probability."""
    edges = [deviations * (2 * at / steps - 1) for at in range(steps + 1)]
    below = [(1 + erf(edge / sqrt(2))) / 2 for edge in edges]
    return [((low + high) / 2, b - a) for low, high, a, b in zip(edges, edges[1:], below, below[1:], strict=False)]


def test_crps_of_the_normal_distribution() -> None:
    assert crps(normal(), 0) == pytest.approx((sqrt(2) - 1) / sqrt(pi), abs=1e-5)
    assert crps(normal(), 1) == pytest.approx(0.6024413576, abs=1e-5)


def test_crps_of_four_values_worked_by_hand() -> None:
    assert crps([(day, 0.25) for day in (10, 12, 13, 15)], 14) == pytest.approx(1)


def test_crps_of_one_value_is_the_absolute_error() -> None:
    assert crps([(20, 0.4)], 26) == 6


@given(level=st.floats(0.01, 0.99), forecast=values, came=values)
@examples(200)
def test_quantile_scores_are_twice_those_of_the_judge(level: float, forecast: float, came: float) -> None:
    theirs = float(scoringrules.quantile_score(came, forecast, level))
    assert quantile_score(level, forecast, came) == pytest.approx(2 * theirs, abs=1e-9)


@given(outside=st.floats(0.01, 0.99), ends=st.tuples(values, values), came=values)
@examples(200)
def test_winkler_scores_are_those_of_the_judge(outside: float, ends: tuple[float, float], came: float) -> None:
    low, high = sorted(ends)
    theirs = float(scoringrules.interval_score(came, low, high, outside))
    assert winkler(outside, low, high, came) == pytest.approx(theirs, abs=1e-6)


@given(
    forecast=st.lists(st.tuples(values, st.floats(0.001, 1)), min_size=1, max_size=12),
    came=values,
)
@examples(200)
def test_crps_is_that_of_the_judge(forecast: list[tuple[float, float]], came: float) -> None:
    points, chances = (np.array(column) for column in zip(*forecast, strict=True))
    theirs = float(scoringrules.crps_ensemble(came, points, ens_w=chances / chances.sum(), estimator="nrg"))
    assert crps(forecast, came) == pytest.approx(theirs, abs=1e-6)
