"""Lengths and weights as people write them, in centimetres and kilograms.

Factors are exact by the international yard and pound agreement of 1959 (NIST Special Publication 811, appendix B):
1 in = 2.54 cm, 1 lb = 0.45359237 kg; 12 in are 1 ft, 3 ft are 1 yd, 16 oz are 1 lb. An imperial entry is rounded
half up to 0.01 cm or 0.001 kg, and so is a fraction that no decimal number equals; any other entry stays exact.
The text as entered is kept beside the number.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from showrunner.domain import words
from showrunner.domain.piece import Measurement
from showrunner.domain.record import record
from showrunner.errors import BadInput

CM_PER_INCH = Fraction("2.54")
"""Centimetres of an inch, exact."""
KG_PER_POUND = Fraction("0.45359237")
"""Kilograms of a pound, exact."""

MOST_CM = 1000
"""Longest length that is believed, cm."""
MOST_KG = 200
"""Heaviest weight that is believed, kg."""

MAX_LENGTH = 60
"""Longest text of one measure that is looked at."""

EXAMPLES = "write it like 86 cm, 21 1/4 in, 5 ft 3 in, 2.1 kg or 2 lb 3 oz"
"""The way out where nothing better can be said."""


class Measure(NamedTuple):
    """A length or weight that was read."""

    value: Decimal
    """Number in `unit`, more than 0."""
    unit: str
    """`cm` or `kg`."""
    entered: str
    """The text as entered, without spaces around it."""


@record
class _Unit:
    """A unit that people write."""

    name: str
    base: str
    """`cm` or `kg`."""
    factor: Fraction
    """How many of `base` it is."""
    imperial: bool = False


_UNITS = {
    word: unit
    for unit, spellings in (
        (_Unit("mm", "cm", Fraction(1, 10)), "mm millimetre millimetres millimeter millimeters"),
        (_Unit("cm", "cm", Fraction(1)), "cm cms centimetre centimetres centimeter centimeters"),
        (_Unit("m", "cm", Fraction(100)), "m metre metres meter meters"),
        (_Unit("in", "cm", CM_PER_INCH, True), 'in ins inch inches "'),
        (_Unit("ft", "cm", 12 * CM_PER_INCH, True), "ft foot feet '"),
        (_Unit("yd", "cm", 36 * CM_PER_INCH, True), "yd yds yard yards"),
        (_Unit("g", "kg", Fraction(1, 1000)), "g gm gms gram grams gramme grammes"),
        (_Unit("kg", "kg", Fraction(1)), "kg kgs kilo kilos kilogram kilograms kilogramme kilogrammes"),
        (_Unit("oz", "kg", KG_PER_POUND / 16, True), "oz ozs ounce ounces"),
        (_Unit("lb", "kg", KG_PER_POUND, True), "lb lbs pound pounds"),
    )
    for word in spellings.split()
}

_NUMBER = re.compile(
    r"(?P<whole>[0-9]+) ?[- ] ?(?P<over>[0-9]+)/(?P<under>[0-9]+)|(?P<top>[0-9]+)/(?P<bottom>[0-9]+)"
    r"|(?P<plain>[0-9]*[.,]?[0-9]+)"
)
_PART = re.compile(rf"({_NUMBER.pattern})(?![0-9/.,]) ?([a-z]+\.?|[\"'])?,? ?(?:and |& )?")
_SIGNS = str.maketrans(
    {"′": "'", "’": "'", "‘": "'", "ʹ": "'", "″": '"', "”": '"', "“": '"', "ʺ": '"', "⁄": "/", "−": "-"}
)
_DOUBT = re.compile(r"(?:^|\s)(?:about|around|approx(?:imately)?|c|ca|circa|roughly|nearly|perhaps|maybe)\.?$|[~?±]$")


def read_measure(text: str) -> Measure:
    """Read one length or weight.

    Args:
        text: the text as written, such as `21 1/4 in`, `21¼"`, `5'3"`, `86,5 cm` or `2 lb 3 oz`.

    Returns:
        The measure in cm or kg, with the text as entered.

    Raises:
        BadInput: it has no unit, is nothing or less, more than `MOST_CM` or `MOST_KG`, mixes lengths with weights
            or metric units with others, or cannot be understood.
    """
    entered = " ".join(text.split())
    where = _where(entered)
    plain = _plain(entered)
    if len(plain) > MAX_LENGTH:
        raise BadInput(f"{len(plain)} letters are more than the {MAX_LENGTH} a measure may have", where, EXAMPLES)
    if not plain:
        raise BadInput("nothing is written", where, EXAMPLES)
    if plain.startswith("-") and re.match(r"- ?[0-9.,]", plain):
        raise BadInput("a measure is never less than nothing", where, "leave the minus out")
    parts = _parts(plain, where)
    units = [unit for _, unit, _ in parts]
    _check_units(parts, where)
    exact = sum((number * unit.factor for number, unit, _ in parts), Fraction(0))
    base = units[0].base
    if exact <= 0:
        raise BadInput("a measure is more than nothing", where, "leave it out if it is not known")
    most = MOST_CM if base == "cm" else MOST_KG
    if exact > most:
        raise BadInput(f"it is more than the {most} {base} that are believed", where, "look at the number and its unit")
    if len(parts) == 1 and units[0].factor == 1 and parts[0][2]:
        return Measure(Decimal(parts[0][2]), base, entered)
    value = _rounded(exact, base) if units[0].imperial else _decimal(exact, base)
    if value <= 0:
        raise BadInput("it is too small to be a measure of a piece", where, "look at the number and its unit")
    return Measure(value, base, entered)


def _where(entered: str) -> str:
    """The text as an error may print it."""
    return f"measure '{words.short(entered)}'"


def _plain(text: str) -> str:
    """Small letters, plain signs, and every one-sign fraction written out (`21¼` as `21 1/4`)."""
    out = []
    for sign in text:
        made = unicodedata.normalize("NFKC", sign) if unicodedata.category(sign) == "No" else sign
        out.append(f" {made} " if "⁄" in made else sign)
    return " ".join("".join(out).translate(_SIGNS).replace("''", '"').lower().split())


def _parts(plain: str, where: str) -> list[tuple[Fraction, _Unit, str]]:
    """Numbers with their units; the third is the number as written where it is a plain one."""
    found: list[tuple[Fraction, _Unit, str]] = []
    at = 0
    while at < len(plain):
        match = _PART.match(plain, at)
        if not match:
            raise BadInput("this cannot be read as a length or a weight", where, EXAMPLES)
        number, written = _number(match, where)
        word = (match.groups()[-1] or "").removesuffix(".")
        if not word:
            raise BadInput(f"{match[1]} has no unit", where, EXAMPLES)
        if word not in _UNITS:
            raise BadInput(f"'{word}' is no unit of length or weight", where, EXAMPLES)
        found.append((number, _UNITS[word], written))
        at = match.end()
    return found


def _number(match: re.Match[str], where: str) -> tuple[Fraction, str]:
    over, under = match["over"] or match["top"], match["under"] or match["bottom"]
    if under:
        if int(under) == 0:
            raise BadInput("nothing can be divided into 0 parts", where, "write the fraction like 1/4")
        if match["whole"] and int(over) >= int(under):
            raise BadInput(f"{over}/{under} beside a whole number is not less than 1", where, "write it like 21 1/4")
        return int(match["whole"] or 0) + Fraction(int(over), int(under)), ""
    plain = match["plain"]
    if re.fullmatch(r"[1-9][0-9]{0,2},[0-9]{3}", plain):
        either = plain.replace(",", "")
        point = plain.replace(",", ".")
        raise BadInput(f"{plain} may be {either} or {point}", where, "write it without the comma, or with a point")
    written = plain.replace(",", ".")
    return Fraction(f"0{written}" if written.startswith(".") else written), written


def _check_units(parts: list[tuple[Fraction, _Unit, str]], where: str) -> None:
    """Refuse units that do not go together in one measure."""
    units = [unit for _, unit, _ in parts]
    if len({unit.base for unit in units}) > 1:
        raise BadInput("it is a length and a weight in one", where, "write them apart, like chest 34 in, weight 2 lb")
    if len({unit.imperial for unit in units}) > 1:
        raise BadInput("it mixes metric units with others", where, "write it in the one or the other")
    for (_, larger, _), (number, smaller, _) in pairwise(parts):
        if smaller.factor >= larger.factor:
            raise BadInput(f"{smaller.name} cannot follow {larger.name}", where, "write the larger unit first")
        most = larger.factor / smaller.factor
        if number >= most:
            raise BadInput(
                f"{_short(number)} {smaller.name} after {larger.name} are not fewer than {most}", where, EXAMPLES
            )


def _short(number: Fraction) -> str:
    return f"{float(number):g}"


def _rounded(exact: Fraction, base: str) -> Decimal:
    """Half up to 0.01 cm or 0.001 kg, exactly."""
    places = 2 if base == "cm" else 3
    scaled = exact * 10**places
    whole = (2 * scaled.numerator + scaled.denominator) // (2 * scaled.denominator)
    return _trimmed(Decimal(whole).scaleb(-places))


def _decimal(exact: Fraction, base: str) -> Decimal:
    """The number itself, or rounded if no decimal number equals it."""
    rest = exact.denominator
    for prime in (2, 5):
        while rest % prime == 0:
            rest //= prime
    if rest != 1:
        return _rounded(exact, base)
    return _trimmed(Decimal(exact.numerator) / Decimal(exact.denominator))


def _trimmed(value: Decimal) -> Decimal:
    """Without zeros at the end behind the point, and never with an exponent."""
    text = f"{value:f}"
    return Decimal(text.rstrip("0").rstrip(".") if "." in text else text)


# Several, each with what was measured

_BETWEEN = re.compile(r"[;\n]|(?<![0-9]),|,(?![0-9])")
_NAMED = re.compile(r"(?P<what>[^0-9]*[^0-9\s.,:=-])(?:\s*[:=]\s*|\s+)(?P<measure>-?\s?[.,]?[0-9¼-¾⅐-⅞].*)", re.DOTALL)


def read_measurements(text: str) -> tuple[Measurement, ...]:
    """Read measurements with what was measured: `chest 34 in, weight 2 lb 3 oz`.

    Args:
        text: the text; commas or semicolons stand between two, and a comma between two digits is a decimal one.

    Returns:
        The measurements in the order written.

    Raises:
        BadInput: one of them cannot be read, has no name, or is no firm number.
    """
    parts = [" ".join(part.split()) for part in _BETWEEN.split(text)]
    return tuple(_named(part) for part in parts if part)


def _named(part: str) -> Measurement:
    match = _NAMED.fullmatch(part)
    if not match:
        if re.match(r"-?\s?[.,]?[0-9¼-¾⅐-⅞]", part):
            read_measure(part)
            raise BadInput("what was measured is not said", _where(part), f"write it like chest {part}")
        raise BadInput("this is no measurement", _where(part), "write it like chest 86 cm, weight 2.1 kg")
    what = match["what"].strip()
    if _DOUBT.search(what.lower()):
        raise BadInput("a measurement is one firm number", _where(part), "leave the doubt to the notes")
    measure = read_measure(match["measure"])
    return Measurement(what, measure.value, measure.unit, measure.entered)


def entry_of(measurement: Measurement) -> str:
    """The measure as it was entered, without what was measured; the number and unit where no entry is kept."""
    entered = measurement.entered.removeprefix(measurement.what).strip()
    return entered or f"{measurement.value} {measurement.unit}"


def measurement_words(measurement: Measurement) -> str:
    """A measurement with its entry where that says something else: `chest 53.98 cm (21 1/4 in)`."""
    said = f"{measurement.value} {measurement.unit}"
    entered = entry_of(measurement)
    beside = "" if entered.replace(" ", "") == said.replace(" ", "") else f" ({entered})"
    return f"{measurement.what} {said}{beside}"


def measurements_text(measurements: Iterable[Measurement]) -> str:
    """Measurements as they are typed, each as it was entered: `chest 34 in, weight 2.1 kg`."""
    return ", ".join(f"{m.what} {entry_of(m)}" for m in measurements)
