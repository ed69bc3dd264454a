"""Dates, hours and ranges in words, the same in every command and screen."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from fractions import Fraction


def day(value: date) -> str:
    """A day in words: `22 March 2026`."""
    return f"{value.day} {value:%B %Y}"


def days(first: date, last: date) -> str:
    """A stretch of days in words: `27 to 31 March 2026`, `30 March to 5 April 2026`, `22 March 2026`."""
    if first == last:
        return day(last)
    if first.year != last.year:
        return f"{day(first)} to {day(last)}"
    return f"{first.day} to {day(last)}" if first.month == last.month else f"{first.day} {first:%B} to {day(last)}"


def short_day(value: date) -> str:
    """A day for a table: `Sun 22 Mar 2026`."""
    return f"{value:%a} {value.day} {value:%b %Y}"


def hours(minutes: int) -> str:
    """Minutes as hours: `31 h`, `2.5 h`; never rounded to a whole hour it is not."""
    return f"{number(Fraction(minutes, 60))} h"


def number(value: Fraction | int | float) -> str:
    """A number with at most two decimals and no trailing zeros."""
    text = f"{float(value):.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def weeks(days: int) -> str:
    """Days, 0 or more, as a span: `6 weeks`, `1 week and 3 days`, `2 days`."""
    whole, rest = divmod(days, 7)
    parts = [count(whole, "week")] if whole or not rest else []
    parts += [count(rest, "day")] if rest else []
    return listing(parts)


def short_weeks(days: int) -> str:
    """The same for a table: `6 wk`, `6 wk 3 d`, `5 d`."""
    whole, rest = divmod(days, 7)
    parts = [f"{whole} wk"] if whole or not rest else []
    parts += [f"{rest} d"] if rest else []
    return " ".join(parts)


def count(amount: Fraction | int, noun: str) -> str:
    """An amount with its noun: `1 piece`, `5 pieces`, `2 studies`."""
    if amount == 1:
        return f"1 {noun}"
    takes_ies = noun.endswith("y") and noun[-2:-1] not in "aeiou"
    plain = f"{noun}es" if noun.endswith(("ch", "sh", "x")) else f"{noun}s"
    many = noun if noun == "series" else f"{noun[:-1]}ies" if takes_ies else plain
    return f"{number(amount)} {many}"


def span(low: int, high: int) -> str:
    """A range as a range: `5–7`, or `5` where there is no doubt."""
    return f"{low}" if low == high else f"{low}–{high}"


def plain(text: str) -> str:
    """Text for comparing what people typed: case and spaces left aside."""
    return " ".join(text.lower().split())


def short(text: str, most: int = 40) -> str:
    """Text as a sentence may quote it: cut, on one line, without signs that cannot be printed."""
    clean = "".join(sign if sign.isprintable() else "�" for sign in text[: most + 1])
    return f"{clean[:most]}…" if len(clean) > most else clean


def listing(items: list[str] | tuple[str, ...]) -> str:
    """Names in a row: `a`, `a and b`, `a, b and c`."""
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} and {items[-1]}"


def some(items: Sequence[str], most: int = 6) -> str:
    """Names in a row as a sentence may give them, a long row cut with a count: `a, b, c, d, e, f and 12 more`."""
    if len(items) <= most + 1:
        return listing(list(items))
    return listing([*items[:most], f"{len(items) - most:,} more"])


def percent(value: float) -> str:
    """A probability as a whole percentage, never 0% or 100% unless it is."""
    if 0 < value < 0.005:
        return "<1%"
    if 0.995 <= value < 1:
        return ">99%"
    return f"{value * 100:.0f}%"
