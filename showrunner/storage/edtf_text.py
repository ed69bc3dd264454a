"""EDTF text to a date with strict bounds and the words to speak it.

EDTF is the Extended Date/Time Format of the Library of Congress (specification of 4 February 2019),
levels 0 to 2. The `edtf` library judges the syntax; it is imported only when a date is entered.
What follows from the text is decided here, because libraries disagree or are wrong in places:

- *Bounds are strict*: the first and the last day the text allows. "About" and "perhaps" do not widen
  them, since the standard gives no width; they are kept in the words.
- *An open end* (`../1915`) and *an unknown end* (`/1915`) both set no bound on that side. The standard
  gives an unknown end no date, and none is made up.
- *A season without a hemisphere* (21 to 24) may be the one or the other. Spring and autumn (21, 23) are
  bounded by their year. Summer and winter (22, 24) may straddle the new year and may be named for either
  year, so they run from 1 December before to the end of February after.
- *A season with a hemisphere* (25 to 32) is three whole calendar months. Northern winter (28) and southern
  summer (30) straddle the new year and are bounded like 22 and 24: `1931-30` is 1 December 1930 to
  29 February 1932. Quarters (33 to 36), thirds (37 to 39) and halves (40, 41) are whole months too.
- *Significant digits* (`1950S2`) bound the year by the digits that count: 1900 to 1999.
- *Unknown digits* (`156X-12-25`, `2023-02-3X`) allow only days that exist; if none does, the text is refused.
- *A doubt about one part* (`2004-06-~11`) is spoken of the whole date, which is never firmer than the text.
- *Years* are 1 to 9999. Where an unknown digit would allow the year 0, there is no bound on that side.
- *A time of day* is refused: the book keeps days.

The words are never firmer than the text.
"""

from __future__ import annotations

import contextlib
import io
import re
from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from functools import lru_cache
from itertools import product
from typing import NamedTuple

from showrunner.domain import words
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.errors import BadInput

MAX_LENGTH = 100
"""Longest text that is looked at."""

EXAMPLES = "write it as in 1868~ (about 1868), 189X (the 1890s), 1880/1890, 2024-08 or 2024-08-31"
"""The way out where nothing better can be guessed."""

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
SEASON_CODES = {"spring": 21, "summer": 22, "autumn": 23, "fall": 23, "winter": 24}
"""What EDTF writes for a season of which no hemisphere is said."""

_DATE = re.compile(
    r"[?~%]?(?P<year>[0-9X]{4})[?~%]?"
    r"(?:S(?P<digits>[0-9])|(?:-[?~%]?(?P<month>[0-9X]{2})[?~%]?(?:-[?~%]?(?P<day>[0-9X]{2})[?~%]?)?)?)"
)

_STRADDLES = ((-1, 12), (1, 2))
_SEASONS: dict[int, tuple[str, tuple[int, int], tuple[int, int]]] = {
    21: ("spring", (0, 1), (0, 12)),
    22: ("summer", *_STRADDLES),
    23: ("autumn", (0, 1), (0, 12)),
    24: ("winter", *_STRADDLES),
    25: ("northern spring", (0, 3), (0, 5)),
    26: ("northern summer", (0, 6), (0, 8)),
    27: ("northern autumn", (0, 9), (0, 11)),
    28: ("northern winter", *_STRADDLES),
    29: ("southern spring", (0, 9), (0, 11)),
    30: ("southern summer", *_STRADDLES),
    31: ("southern autumn", (0, 3), (0, 5)),
    32: ("southern winter", (0, 6), (0, 8)),
    33: ("the first quarter of", (0, 1), (0, 3)),
    34: ("the second quarter of", (0, 4), (0, 6)),
    35: ("the third quarter of", (0, 7), (0, 9)),
    36: ("the last quarter of", (0, 10), (0, 12)),
    37: ("the first third of", (0, 1), (0, 4)),
    38: ("the second third of", (0, 5), (0, 8)),
    39: ("the last third of", (0, 9), (0, 12)),
    40: ("the first half of", (0, 1), (0, 6)),
    41: ("the second half of", (0, 7), (0, 12)),
}
"""Each EDTF season code: its words, its first and its last month as (years from the one named, month)."""


class _Span(NamedTuple):
    """What one part of the text allows, and its words."""

    earliest: date | None
    latest: date | None
    words: str


def parse(text: str) -> FuzzyDate:
    """Read EDTF text; spaces around it are dropped.

    Args:
        text: the text as entered, such as `1868~`, `189X`, `[1905..1911]` or `../1915`.

    Returns:
        The date with its strict bounds and its words, by the rules at the head of this module.

    Raises:
        BadInput: the text is no EDTF, or names no day that exists. The sentence offers the EDTF text
            that was probably meant, or examples.
    """
    kept = text.strip(" ")
    try:
        return FuzzyDate(kept, *_read(kept))
    except BadInput as error:
        raise BadInput(error.what, shown(kept), _hint(kept) or error.way_out or EXAMPLES) from None


def parse_made(text: str) -> FuzzyDate:
    """Read EDTF text that the program itself has put together, so that only its numbers can be wrong.

    The `edtf` library is not asked about the syntax, which makes this hundreds of times faster than
    :func:`parse`; for good EDTF the two give the same date.

    Args:
        text: good EDTF, without spaces around it.

    Returns:
        The date with its strict bounds and its words, by the rules at the head of this module.

    Raises:
        BadInput: the text names no day that exists, or ends before it starts.
    """
    return FuzzyDate(text, *_bounds(text))


def shown(text: str) -> str:
    """The text as an error may print it: short, on one line, without control characters."""
    return f"date '{words.short(text)}'"


def _read(text: str) -> _Span:
    """Bounds and words of a whole EDTF text whose syntax the library has judged as well."""
    span = _bounds(text)
    if not _is_edtf(text):
        raise _not_edtf()
    return span


def _bounds(text: str) -> _Span:
    """Bounds and words of a whole EDTF text by the patterns of this module alone."""
    if not text:
        raise BadInput("there is no date here")
    if len(text) > MAX_LENGTH:
        raise BadInput(f"{len(text)} letters are more than the {MAX_LENGTH} a date may have")
    if "T" in text and re.fullmatch(r"\d{4}-\d\d-\d\dT\S*", text):
        raise BadInput("the book keeps days and no time of day", way_out=f"write {text[:10]}")
    if re.match(r"Y-?[0-9]|-[0-9]{4}|0000", text):
        raise BadInput("the year lies outside the years 1 to 9999 that the book keeps", way_out="say it in the notes")
    if _DATE.fullmatch(text):
        return _date(text)
    if text[0] + text[-1] in ("[]", "{}"):
        return _list(text)
    if "/" in text:
        return _interval(text)
    raise _not_edtf()


def _not_edtf() -> BadInput:
    """The error for a text that is something else."""
    return BadInput("this is no date that can be understood")


@lru_cache(maxsize=1000)
def _is_edtf(text: str) -> bool:
    """Whether the library finds no fault with the syntax of the text.

    Some good texts (`1906-1X`) make the library itself fail, with errors of every kind and something
    printed; then the patterns of this module decide alone.
    """
    from edtf import EDTFParseException, parse_edtf
    from pyparsing import ParserElement

    try:
        with contextlib.redirect_stdout(io.StringIO()):
            return parse_edtf(text) is not None
    except EDTFParseException:
        return False
    except Exception:  # noqa: BLE001 - AttributeError, TypeError, ValueError and more, none of them about the text
        return True
    finally:
        ParserElement.reset_cache()  # it keeps errors, and with them whatever was going on as they were raised


def _interval(text: str) -> _Span:
    """Bounds and words of `start/end`, each of which may be open (`..`) or unknown (nothing)."""
    start, _, end = text.partition("/")
    first = _date(start) if start not in ("", "..") else None
    last = _date(end) if end not in ("", "..") else None
    if first and last:
        return _stretch(first, last)
    if first:
        said = f"{first.words} or after" if end else f"from {first.words}, end not known"
        return _Span(first.earliest, None, said)
    if last:
        said = f"{last.words} or before" if start else f"until {last.words}, start not known"
        return _Span(None, last.latest, said)
    return _Span(None, None, "date not known")


def _stretch(first: _Span, last: _Span) -> _Span:
    """Bounds and words from the start of one date to the end of another."""
    if first.earliest and last.latest and last.latest < first.earliest:
        raise BadInput(f"it ends ({last.words}) before it starts ({first.words})", way_out="swap the two dates")
    return _Span(first.earliest, last.latest, f"{first.words} to {last.words}")


def _list(text: str) -> _Span:
    """Bounds and words of `[one of these]` or `{all of these}`."""
    one_of = text[0] == "["
    parts = [_list_part(part.strip(" ")) for part in text[1:-1].split(",")]
    if len(parts) > 1:
        said = [part.words for part in parts]
        spoken = f"one of {', '.join(said)}" if one_of else words.listing(said)
    else:
        (only,) = parts
        one = "" if only.earliest is None or only.latest is None else "some time from "
        spoken = f"{one if one_of else 'all of '}{only.words}"
    firsts = [part.earliest for part in parts]
    lasts = [part.latest for part in parts]
    return _Span(
        None if None in firsts else min(day for day in firsts if day),
        None if None in lasts else max(day for day in lasts if day),
        spoken,
    )


def _list_part(text: str) -> _Span:
    """Bounds and words of one entry of a list: a date, or a stretch `a..b` with one end open or none."""
    start, dots, end = text.partition("..")
    if not dots:
        return _date(text)
    if not start:
        last = _date(end)
        return _Span(None, last.latest, f"{last.words} or before")
    if not end:
        first = _date(start)
        return _Span(first.earliest, None, f"{first.words} or after")
    return _stretch(_date(start), _date(end))


def _date(text: str) -> _Span:
    """Bounds and words of one date or season, with its doubts."""
    found = _DATE.fullmatch(text)
    if not found:
        raise _not_edtf()
    year, month, day, digits = found.group("year", "month", "day", "digits")
    if year == "0000":
        raise BadInput("the year 0 lies outside the years 1 to 9999 that the book keeps")
    if digits:
        span = _significant(year, int(digits))
    elif month and month.isdigit() and int(month) in _SEASONS:
        span = _season(int(year), int(month))
    else:
        span = _calendar(year, month, day)
    perhaps = "perhaps " if "?" in text or "%" in text else ""
    about = "about " if "~" in text or "%" in text else ""
    return span._replace(words=perhaps + about + span.words)


def _significant(year: str, digits: int) -> _Span:
    """A year of which only the first digits count."""
    if not 1 <= digits <= 4 or "X" in year:
        raise BadInput(f"a year has 4 digits, of which {digits} cannot count", way_out="write it as in 1950S2")
    known, rest = year[:digits], 4 - digits
    earliest, latest, _ = _calendar(known + "X" * rest, None, None)
    low, high = int(known + "0" * rest), int(known + "9" * rest)
    return _Span(earliest, latest, f"perhaps {int(year)}, some time from {low} to {high}")


def _season(year: int, code: int) -> _Span:
    """A season, quarter, third or half of a year."""
    said, (before, first), (after, last) = _SEASONS[code]
    earliest = date(year + before, first, 1) if year + before >= 1 else None
    latest = _month_end(year + after, last) if year + after <= 9999 else None
    return _Span(earliest, latest, f"{said} {year}")


def _calendar(year: str, month: str | None, day: str | None) -> _Span:
    """A year, month or day, in which `X` stands for an unknown digit."""
    years = _numbers(year)
    months = tuple(number for number in _numbers(month or "XX") if 1 <= number <= 12)
    days = tuple(number for number in _numbers(day or "XX") if number >= 1)
    earliest = _first_day(years, months, days)
    latest = _first_day(years[::-1], months[::-1], days[::-1])
    if earliest is None or latest is None:
        raise BadInput("no such day exists", way_out="look at the month and at how many days it has")
    if year == "XXXX":
        return _Span(None, None, "a day of a year not known" if month else "a year not known")
    if 0 in years:
        return _Span(None, latest, f"{words.day(latest) if month else _year(latest)} or before")
    return _Span(earliest, latest, _calendar_words(year, month, day, earliest, latest))


def _calendar_words(year: str, month: str | None, day: str | None, earliest: date, latest: date) -> str:
    """The words of a calendar date whose bounds within the years 1 to 9999 are given."""
    if "X" not in year:
        if day and "X" not in f"{month}{day}":
            return words.day(earliest)
        if month is None or (month == "XX" and day in (None, "XX")):
            return f"some time in {_year(earliest)}" if month else _year(earliest)
        if "X" not in month and day in (None, "XX"):
            return f"{'some time in ' if day else ''}{earliest:%B} {earliest.year}"
    elif month is None and re.fullmatch(r"[0-9]{2}[1-9]X", year):
        return f"the {int(year[:3])}0s"
    elif month is None and year.endswith("XX") and year[:2].isdigit():
        return f"the {_ordinal(int(year[:2]) + 1)} century"
    if month is None:
        return f"some time from {earliest.year} to {latest.year}"
    return f"some time from {words.day(earliest)} to {words.day(latest)}"


def _year(day: date) -> str:
    """The year of a day in words; a short one needs the word."""
    return str(day.year) if day.year >= 1000 else f"the year {day.year}"


@lru_cache(maxsize=1024)
def _numbers(pattern: str) -> tuple[int, ...]:
    """Every number with the digits of the pattern, `X` being any, in rising order."""
    choices = ("0123456789" if digit == "X" else digit for digit in pattern)
    return tuple(int("".join(digits)) for digits in product(*choices))


def _first_day(years: Sequence[int], months: Sequence[int], days: Sequence[int]) -> date | None:
    """The first day that exists, trying the numbers, all of some month, in the order given; None if there is none."""
    for year, month, day in product(years, months, days):
        if year >= 1 and day <= _month_end(year, month).day:
            return date(year, month, day)
    return None


def _month_end(year: int, month: int) -> date:
    """The last day of a month."""
    if month == 12:
        return date(year, 12, 31)
    return date(year, month + 1, 1) - timedelta(days=1)


def _ordinal(value: int) -> str:
    """`1st`, `2nd`, `11th`, `21st`."""
    ending = "th" if value // 10 == 1 else {1: "st", 2: "nd", 3: "rd"}.get(value % 10, "th")
    return f"{value}{ending}"


def _hint(text: str) -> str:
    """The way out for a text that looks like a common way to write dates; empty if none is recognised."""
    offers = []
    for offer in dict.fromkeys(_guesses(" ".join(text[:MAX_LENGTH].lower().split()))):
        with contextlib.suppress(BadInput):
            offers.append(f"{offer} ({_read(offer).words})")
    return f"write {' or '.join(offers)}" if offers else ""


def _guesses(text: str) -> Iterator[str]:
    """EDTF texts that a common way of writing dates may mean; not all need be valid."""
    yield (
        text.replace("unknown", "")
        .replace("open", "..")
        .upper()
        .replace(" ", "")
        .replace("U", "X")
        .replace("?~", "%")
        .replace("~?", "%")
    )
    if m := re.fullmatch(r"(\d{1,2})[-/. ](\d{1,2})[-/. ](\d{4})", text):
        yield f"{m[3]}-{int(m[2]):02}-{int(m[1]):02}"
        yield f"{m[3]}-{int(m[1]):02}-{int(m[2]):02}"
    if m := re.fullmatch(r"(\d{4})[-/. ](\d{1,2})[-/. ](\d{1,2})", text):
        yield f"{m[1]}-{int(m[2]):02}-{int(m[3]):02}"
    if m := re.fullmatch(r"(?:(\d{1,2})(?:st|nd|rd|th)? )?([a-z]{3,9})\.?,? (\d{4})", text):
        yield from _named_month(m[3], m[2], m[1])
    if m := re.fullmatch(r"([a-z]{3,9})\.? (\d{1,2})(?:st|nd|rd|th)?,? (\d{4})", text):
        yield from _named_month(m[3], m[1], m[2])
    if m := re.fullmatch(r"(?:c|ca|circa|about|around|approx)\.? ?(\d{4})", text):
        yield f"{m[1]}~"
    if m := re.fullmatch(r"(?:perhaps|probably|possibly|maybe) (\d{4})|(\d{4}) ?\(?\?\)?", text):
        yield f"{m[1] or m[2]}?"
    if m := re.fullmatch(r"((?:c|ca|circa|about|around|approx)\.? ?)?(?:the )?(\d{3})0'?s", text):
        yield f"{m[2]}X{'~' if m[1] else ''}"
    if m := re.fullmatch(r"(?:the )?(\d{1,2})(?:st|nd|rd|th) century", text):
        yield f"{int(m[1]) - 1:02}XX"
    if m := re.fullmatch(r"(\d{2})(\d{2}) ?(?:-|–|—|to) ?(\d{2})?(\d{2})", text):
        yield f"{m[1]}{m[2]}/{m[3] or m[1]}{m[4]}"
    if m := re.fullmatch(r"(before|by|until|after|since|from) (\d{4})", text):
        yield f"../{m[2]}" if m[1] in ("before", "by", "until") else f"{m[2]}/.."
    if m := re.fullmatch(r"(spring|summer|autumn|fall|winter)(?: of)? (\d{4})", text):
        yield f"{m[2]}-{SEASON_CODES[m[1]]}"


def _named_month(year: str, month: str, day: str | None) -> Iterator[str]:
    """A date with its month in letters."""
    if month[:3] in _MONTHS:
        number = _MONTHS.index(month[:3]) + 1
        yield f"{year}-{number:02}" + (f"-{int(day):02}" if day else "")
