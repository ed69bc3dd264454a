"""How often a planned slot is missed, with its doubt.

The rate is the share of recorded publications that came late or not at all, under the Jeffreys prior
Beta(1/2, 1/2): posterior mean (late + 1/2) / (recorded + 1), and the equal-tailed 80% interval of
Beta(late + 1/2, recorded - late + 1/2) (Brown, Cai and DasGupta 2001, "Interval estimation for a
binomial proportion", from memory).
"""

from __future__ import annotations

from collections.abc import Iterable
from math import exp, lgamma, log, log1p

from showrunner.domain.publication import Publication
from showrunner.errors import BadInput
from showrunner.planning.results import SlipRate

TAIL = 0.1
"""Probability outside the interval on either side."""


def slip_rate(record: Iterable[Publication], given: float | None = None) -> SlipRate:
    """The slip rate of a record.

    Args:
        record: publications; those whose punctuality is not known are passed over.
        given: a rate to use instead of the posterior mean; None for the record's.

    Raises:
        BadInput: `given` is below 0, or 1 and above.
    """
    if given is not None and not 0 <= given < 1:
        raise BadInput(f"a slip rate of {given:g} is not from 0 to below 1", "slip rate", "give a share like 0.05")
    known = [line for line in record if line.punctuality_known]
    late = sum(line.late_or_missed for line in known)
    a, b = late + 0.5, len(known) - late + 0.5
    mean = given if given is not None else a / (a + b)
    return SlipRate(mean, beta_quantile(TAIL, a, b), beta_quantile(1 - TAIL, a, b), late, len(known), given is not None)


def beta_quantile(p: float, a: float, b: float) -> float:
    """The p-quantile of Beta(a, b), by bisection of its distribution function."""
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = (low + high) / 2
        if beta_cdf(middle, a, b) < p:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def beta_cdf(x: float, a: float, b: float) -> float:
    """The regularised incomplete beta function I_x(a, b).

    By its continued fraction (NIST Digital Library of Mathematical Functions 8.17.22), evaluated with
    the modified Lentz method.
    """
    if x <= 0:
        return 0.0
    if x >= 1:
        return 1.0
    if x > (a + 1) / (a + b + 2):
        return 1 - beta_cdf(1 - x, b, a)
    tiny = 1e-300
    fraction, c, d = 1.0, 1.0, 0.0
    for step in range(2000):
        m = step // 2
        if step == 0:
            numerator = 1.0
        elif step % 2:
            numerator = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        else:
            numerator = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        d = 1 / ((1 + numerator * d) or tiny)
        c = (1 + numerator / c) or tiny
        fraction *= c * d
        if abs(c * d - 1) < 1e-15:
            break
    front = exp(lgamma(a + b) - lgamma(a) - lgamma(b) + a * log(x) + b * log1p(-x)) / a
    return front * (fraction - 1)
