"""Currencies and their decimals against the Unicode CLDR, read by babel.

CLDR 44 and later, supplementalData.xml, `currencyData/fractions`. It tells how amounts are usually written, so it gives
no decimals to some currencies whose coins are worth nothing any more, where ISO 4217 gives two (three for IQD).
"""

from __future__ import annotations

import pytest

from showrunner.domain.currency import CODES, decimals

numbers = pytest.importorskip("babel.numbers", reason="babel is not installed (pip install 'showrunner[test]')")

WRITTEN_WITHOUT = set("AFN ALL COP HUF IDR IQD IRR KPW LAK LBP MGA MMK SOS SYP YER".split())  # noqa: SIM905
"""Currencies of which CLDR writes no decimals and ISO 4217 has some."""


def test_every_code_is_a_currency() -> None:
    assert set(numbers.list_currencies()) >= CODES


def test_decimals_are_those_of_cldr_but_for_coins_out_of_use() -> None:
    differ = {code for code in CODES if decimals(code) != numbers.get_currency_precision(code)}
    assert differ == WRITTEN_WITHOUT
    assert all(numbers.get_currency_precision(code) == 0 for code in differ)


@pytest.mark.parametrize(("code", "places"), [("JPY", 0), ("KWD", 3), ("AUD", 2), ("CLP", 0), ("TND", 3), ("IQD", 3)])
def test_the_decimals_of_iso_4217(code: str, places: int) -> None:
    """ISO 4217:2015, table A.1, column "minor unit"."""
    assert decimals(code) == places
