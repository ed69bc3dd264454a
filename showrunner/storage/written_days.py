"""Single days and times of day as people write them: `Tuesday`, `8 March`, `7pm`, beside whole dates."""

from __future__ import annotations

import re
from datetime import date, time, timedelta

from showrunner.domain.house import WEEKDAYS
from showrunner.domain.words import plain, short
from showrunner.errors import BadInput
from showrunner.storage.written_dates import read_written

NEAR = {"today": 0, "now": 0, "tomorrow": 1, "yesterday": -1}
"""Days told by their distance from today."""

LEAP_YEARS = range(-8, 9)
"""Years around this one in which a day without a year is looked for: among them is a 29 February."""


def read_day(text: str, today: date, *, ahead: bool) -> date:
    """Read one day.

    Args:
        text: the day as typed: a whole date in any wording, a date without its year, a weekday, or `tomorrow`.
        today: the present day.
        ahead: whether a weekday or a date without its year is the next one, today included; else the last one.

    Returns:
        The day.

    Raises:
        BadInput: it is no day, or not a single one.
    """
    said = re.sub(r"^on ", "", plain(text).replace(",", " ").strip(" ."))
    said = _SHORT_YEAR.sub(r"\g<1>20\g<2>", said)
    if said in NEAR:
        return today + timedelta(NEAR[said])
    if (number := _weekday(said)) is not None:
        return _on_weekday(number, said, today, ahead=ahead)
    if _NO_YEAR.fullmatch(said) and (found := _in_some_year(said, today, ahead=ahead)):
        return found
    try:
        written = read_written(said).date
    except BadInput as error:
        if "/" in said:  # which of the two numbers is the month
            raise
        raise BadInput(f"'{short(text)}' is no day of the calendar", "day", WAY_OUT) from error
    if written is None or written.earliest is None or not written.is_exact:
        raise BadInput(f"'{short(text)}' is no single day", "day", WAY_OUT)
    return written.earliest


_SHORT_YEAR = re.compile(r"^(\D*\d{1,2}(?:st|nd|rd|th)?[^\d:]+|\d{1,2}[./]\d{1,2}[./])['’]?(\d\d)$")
"""A day and a month, or two numbers, with a year of two digits after them."""

_NO_YEAR = re.compile(r"(?=.*[^\W\d])(?!.*\d{3})\D*\d{1,2}\D*")
"""A word and one number of at most two digits."""

WAY_OUT = "write it like 8 March, 8 March 2026 or Tuesday"
"""What to do where no day is understood."""


def _weekday(said: str) -> int | None:
    """The weekday that stands alone, perhaps after `next` or `last`; None if none does."""
    word = re.sub(r"^(next|last|this) ", "", said)
    found = [n for n, name in enumerate(WEEKDAYS) if len(word) >= 2 and name.lower().startswith(word.rstrip("."))]
    return found.pop() if len(found) == 1 else None


def _on_weekday(number: int, said: str, today: date, *, ahead: bool) -> date:
    """A weekday: with `next` after today, with `last` before it."""
    if said.startswith("next "):
        return today + timedelta((number - today.weekday() - 1) % 7 + 1)
    if said.startswith("last "):
        return today - timedelta((today.weekday() - number - 1) % 7 + 1)
    if ahead:
        return today + timedelta((number - today.weekday()) % 7)
    return today - timedelta((today.weekday() - number) % 7)


def _in_some_year(said: str, today: date, *, ahead: bool) -> date | None:
    """A date without its year: the nearest on the side asked for; None if it is none."""
    days = []
    for years in LEAP_YEARS:
        try:
            found = read_written(f"{said} {today.year + years}").date
        except BadInput:
            continue
        if found and found.is_exact and found.earliest:
            days.append(found.earliest)
    if ahead:
        return min((day for day in days if day >= today), default=None)
    return max((day for day in days if day <= today), default=None)


def read_time(text: str) -> time:
    """Read a time of day: `18:30`, `7pm`, `7.30 p.m.`, `19h`, `noon`.

    Raises:
        BadInput: it is no time of day, or may be in the morning or in the evening.
    """
    said = plain(text).replace(" ", "").replace("p.m.", "pm").replace("a.m.", "am").removesuffix("o'clock")
    if said in ("noon", "midday", "midnight"):
        return time(0 if said == "midnight" else 12)
    match = re.fullmatch(r"(\d{1,2})(?:[:.h](\d{2})?)?(am|pm|h)?", said)
    if match:
        hour, minute, halved = int(match[1]), int(match[2] or 0), match[3] in ("am", "pm")
        if said.isdecimal() and 1 <= hour <= 12:
            raise BadInput(f"'{short(text)}' may be morning or evening", "time", f"write {hour}am or {hour}pm")
        if hour in (range(1, 13) if halved else range(24)) and minute < 60:
            return time(hour % 12 + (12 if match[3] == "pm" else 0) if halved else hour, minute)
    raise BadInput(f"'{short(text)}' is no time of day", "time", "write it like 18:30 or 7pm")
