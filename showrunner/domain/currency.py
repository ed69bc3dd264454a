"""Amounts of money: which currencies there are, how many decimals each has, and how an amount is spoken.

Codes and decimals ("minor unit") are those of ISO 4217:2015, table A.1 (list one of the maintenance agency, SIX
Group), of the currencies of countries; the codes for metals, funds and testing are left out.
"""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal

from showrunner.errors import BadInput

USUAL_DECIMALS = 2
"""Decimals of a currency that is not named below, or of amounts without a currency."""

DECIMALS = {
    **dict.fromkeys("BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX VND VUV XAF XOF XPF".split(), 0),  # noqa: SIM905
    **dict.fromkeys("BHD IQD JOD KWD LYD OMR TND".split(), 3),  # noqa: SIM905
}
"""Decimals of the currencies that have not two."""

_OTHERS = (
    "AED AFN ALL AMD ANG AOA ARS AUD AWG AZN BAM BBD BDT BGN BMD BND BOB BRL BSD BTN BWP BYN BZD CAD CDF CHF "
    "CNY COP CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GTQ GYD HKD HNL HTG HUF "
    "IDR ILS INR IRR JMD KES KGS KHR KPW KYD KZT LAK LBP LKR LRD LSL MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR "
    "MWK MXN MYR MZN NAD NGN NIO NOK NPR NZD PAB PEN PGK PHP PKR PLN QAR RON RSD RUB SAR SBD SCR SDG SEK SGD "
    "SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TOP TRY TTD TWD TZS UAH USD UYU UZS VES WST XCD XCG YER ZAR "
    "ZMW ZWG"
)

CODES = frozenset(DECIMALS.keys() | set(_OTHERS.split()))
"""Codes of all currencies known here."""

MOST = Decimal(10**9)
"""Amounts beyond this are a slip of the finger."""


def decimals(code: str) -> int:
    """Decimals that amounts in a currency have; two where the code is empty or not known."""
    return DECIMALS.get(code, USUAL_DECIMALS)


def check_currency(code: str, where: str) -> None:
    """Refuse a code that no currency has.

    Raises:
        BadInput: it is none of ISO 4217.
    """
    if code not in CODES:
        raise BadInput(f"'{code}' is no currency", where, "give its three letters, such as AUD or EUR")


def check_amount(amount: Decimal, code: str, where: str) -> None:
    """Refuse an amount that cannot be paid in a currency.

    Args:
        amount: the amount.
        code: the currency; empty if none is named.
        where: what it is for.

    Raises:
        BadInput: it is below nothing, unbelievable, or finer than the smallest coin.
    """
    if amount < 0:
        raise BadInput(f"{amount} is less than nothing", where, "give 0 or more")
    if amount > MOST:
        raise BadInput(f"{amount:f} is more than is believed", where, "look at the number")
    places = decimals(code)
    if amount != amount.quantize(Decimal(1).scaleb(-places)):
        least = (
            f"{code or 'money'} has no amounts below 1" if not places else f"{code or 'money'} has {places} decimals"
        )
        raise BadInput(f"{least}, and {amount:f} is finer", where, "round it")


def rounded(amount: Decimal, code: str) -> Decimal:
    """An amount to the smallest coin of a currency, half up."""
    return amount.quantize(Decimal(1).scaleb(-decimals(code)), ROUND_HALF_UP)


def money(amount: Decimal, code: str, unsaid: str = "") -> str:
    """An amount in words: `1,885 AUD`, `12.50 AUD`; whole ones without decimals.

    Args:
        amount: the amount.
        code: its currency; empty to leave it out.
        unsaid: its currency where it is left out.
    """
    whole = amount == amount.to_integral_value()
    text = f"{amount:,.0f}" if whole else f"{amount:,.{decimals(code or unsaid)}f}"
    return f"{text} {code}".rstrip()


def plain_number(value: Decimal) -> str:
    """A number without exponent and without zeros at the end behind the point: `290`, `12.5`."""
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
