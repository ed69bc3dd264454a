"""How often a series misses its planned slots, with the doubt of that.

A series has a rate of its own, but a short record tells little of it; so its own lines are drawn towards
the rate of all, as if that were worth `POOL_WORTH` lines more. With L of all N lines late or missed and l of the
series' own n, the rate of all is m = (L + 1/2) / (N + 1), the mean under the Jeffreys prior (Brown, Cai
and DasGupta 2001, "Interval estimation for a binomial proportion", from memory), and the series' own has the
distribution Beta(5 m + l, 5 (1 - m) + n - l): its mean, and its equal-tailed 80% interval.

A late line counts one, however late: it tells that its slot was missed. The slots after it that were missed too, and
the one that was met at last, are left aside: counted as tries of their own they would make the rate a little surer,
but then one more late line could bring the end nearer, for the slot that it met at last.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import exp, lgamma, log, log1p, sqrt

from showrunner.domain.publication import Publication
from showrunner.errors import BadInput
from showrunner.planning.results import SlipRate
from showrunner.planning.slips import Habit, steady

TAIL = 0.1
"""Probability outside the interval on either side."""

POOL_WORTH = 5
"""Lines that the rate of all is worth beside a series' own."""


def slip_rate(record: Iterable[Publication], series: str, given: float | None = None) -> SlipRate:
    """The slip rate of a series.

    Args:
        record: publications of all series and filler; those whose punctuality is not known are passed over.
        series: id of the series.
        given: a rate to use instead of the mean; None for the record's.

    Raises:
        BadInput: `given` is below 0, or 1 and above.
    """
    if given is not None:
        check_rate(given)
    known = [line for line in record if line.punctuality_known]
    own = [line for line in known if line.series == series]
    late, own_late = (sum(line.late_or_missed for line in lines) for lines in (known, own))
    a, b = shape(own_late, len(own), late, len(known))
    return SlipRate(
        mean=a / (a + b) if given is None else given,
        low=beta_quantile(TAIL, a, b),
        high=beta_quantile(1 - TAIL, a, b),
        late=late,
        recorded=len(known),
        own_late=own_late,
        own_recorded=len(own),
        given=given is not None,
    )


def check_rate(given: float) -> None:
    """Refuse a slip rate that no record could have.

    Raises:
        BadInput: `given` is below 0, or 1 and above.
    """
    if not 0 <= given < 1:
        raise BadInput(f"a slip rate of {given:g} is not from 0 to below 1", "slip rate", "give a share like 0.05")


def habit(rate: SlipRate) -> Habit:
    """How tries fail at a slip rate: a rate that is given is taken as it is, one of the record is known only so well.

    The distribution of the rate stands as three rates with weights, which give the same means of all powers up
    to the fifth (a Gauss rule).
    """
    if rate.given:
        return steady(rate.mean)
    return Habit(three_rates(*shape(rate.own_late, rate.own_recorded, rate.late, rate.recorded)), True)


def shape(own_late: int, own: int, late: int, recorded: int) -> tuple[float, float]:
    """The two parameters of the beta distribution of a series' rate, from its own lines and all lines."""
    pool = (late + 0.5) / (recorded + 1)
    return POOL_WORTH * pool + own_late, POOL_WORTH * (1 - pool) + own - own_late


def three_rates(a: float, b: float) -> tuple[tuple[float, float], ...]:
    """The Gauss rule with three nodes for Beta(a, b), a + b above 1: rates rising, each with its weight.

    The nodes are the roots of the third polynomial orthogonal under the distribution, by the recurrence of the
    Jacobi polynomials (NIST Digital Library of Mathematical Functions 18.9.2, moved to 0 to 1). Each root
    lies between two of the second's, the roots of which are known.
    """
    s = a + b
    # p1 = x - m0, p2 = (x - m1) p1 - v1, p3 = (x - m2) p2 - v2 p1; the mean of p1 squared is v1, of p2 squared v1 v2.
    m0 = a / s
    m1, m2 = ((1 + (a - b) * (s - 2) / ((s + 2 * n - 2) * (s + 2 * n))) / 2 for n in (1, 2))
    v1 = a * b / (s * s * (s + 1))
    v2 = 2 * (a + 1) * (b + 1) * s / ((s + 1) * (s + 2) ** 2 * (s + 3))

    def second(x: float) -> float:
        return (x - m1) * (x - m0) - v1

    def third(x: float) -> float:
        return (x - m2) * second(x) - v2 * (x - m0)

    half = sqrt((m1 - m0) ** 2 / 4 + v1)
    bounds = (0.0, (m0 + m1) / 2 - half, (m0 + m1) / 2 + half, 1.0)
    found = []
    for sign, low, high in zip((1, -1, 1), bounds, bounds[1:], strict=False):
        for _ in range(60):
            middle = (low + high) / 2
            if sign * third(middle) < 0:
                low = middle
            else:
                high = middle
        node = (low + high) / 2
        found.append((node, 1 / (1 + (node - m0) ** 2 / v1 + second(node) ** 2 / (v1 * v2))))
    return tuple(found)


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
