"""Lengths and weights against published factors.

Source: NIST Special Publication 811 (2008 edition), appendix B.8, "Factors for units listed alphabetically";
factors that are exact stand in bold there; the seven digits of the pound and the ounce are quoted from memory.
They rest on the international yard and pound agreement of 1959: 1 yd = 0.9144 m and 1 lb = 0.45359237 kg.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showrunner.domain.measuring import CM_PER_INCH, KG_PER_POUND, read_measure


def test_the_factors_of_1959() -> None:
    assert Fraction("91.44") == 36 * CM_PER_INCH
    assert Fraction("0.45359237") == KG_PER_POUND


@pytest.mark.parametrize(("unit", "metres"), [("inch", "2.54E-02"), ("foot", "3.048E-01"), ("yard", "9.144E-01")])
@given(count=st.integers(1, 9))
def test_lengths(unit: str, metres: str, count: int) -> None:
    """Exact factors, so that every count of them is exact to 0.01 cm."""
    assert read_measure(f"{count} {unit}").value == Decimal(metres) * 100 * count


@pytest.mark.parametrize(("unit", "kilograms"), [("pound", "4.535924E-01"), ("ounce", "2.834952E-02")])
@given(count=st.integers(1, 15))
def test_weights(unit: str, kilograms: str, count: int) -> None:
    """Factors of the table to seven digits; what is read is rounded to 1 g."""
    assert abs(read_measure(f"{count} {unit}").value - Decimal(kilograms) * count) <= Decimal("0.0005") + Decimal(
        "1E-6"
    )


def test_feet_and_inches_together() -> None:
    """Worked by hand from the exact factors: 5 ft 3 in are 63 in, 63 x 2.54 cm = 160.02 cm."""
    assert read_measure("5 ft 3 in").value == Decimal("160.02")
