"""How good a forecast was once the truth is known: three scores in the unit of what was forecast, lower is better.

Hyndman and Athanasopoulos, "Forecasting: Principles and Practice", 3rd edition, section 5.9 (otexts.com/fpp3): the
quantile score, with its factor of 2, so that at even odds it is the absolute error; and the Winkler score of an
interval. Gneiting and Raftery, "Strictly Proper Scoring Rules, Prediction, and Estimation" (2007), equation 21: the
continuous ranked probability score as E|X - y| - E|X - X'| / 2.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise


def quantile_score(level: float, forecast: float, came: float) -> float:
    """The score of one quantile.

    Args:
        level: from 0 to 1, such as 0.9 for the 90% quantile.
        forecast: what the quantile said.
        came: what came.
    """
    if came < forecast:
        return 2 * (1 - level) * (forecast - came)
    return 2 * level * (came - forecast)


def winkler(outside: float, low: float, high: float, came: float) -> float:
    """The score of an interval: its width, and 2 / `outside` for each unit by which it was missed.

    Args:
        outside: chance of lying outside that the interval allows for: 0.2 from the 10% to the 90% quantile.
        low: where it begins.
        high: where it ends.
        came: what came.
    """
    missed = max(low - came, came - high, 0.0)
    return high - low + 2 / outside * missed


def crps(forecast: Sequence[tuple[float, float]], came: float) -> float:
    """The continuous ranked probability score of a distribution over single values; for one value the absolute error.

    Args:
        forecast: each value with its probability; the sum is made 1.
        came: what came.
    """
    whole = sum(chance for _, chance in forecast)
    points = sorted((value, chance / whole) for value, chance in forecast)
    off = sum(chance * abs(value - came) for value, chance in points)
    # E|X - X'| is twice the integral of F (1 - F), step by step.
    below, spread = 0.0, 0.0
    for (value, chance), (following, _) in pairwise(points):
        below += chance
        spread += 2 * below * (1 - below) * (following - value)
    return off - spread / 2
