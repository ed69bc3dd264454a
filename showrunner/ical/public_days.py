"""Public holidays of a place, offered as days without work; which of them are kept is the owner's to say."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.edits import put_dark
from showrunner.domain.record import record
from showrunner.domain.slot import DarkRange
from showrunner.errors import BadInput

_PLACE = re.compile(r"([A-Za-z]{2})(?:-(.{1,20}))?")


@record
class PublicDay:
    """A public holiday."""

    day: date
    """The day."""
    name: str
    """What it is called there."""
    place: str
    """Where it is kept, as `AU-TAS`."""


def public_days(place: str, first: date, last: date) -> tuple[PublicDay, ...]:
    """The public holidays of a place.

    Args:
        place: a country by its two letters (ISO 3166-1), such as `IE`, or a part of one, such as `AU-TAS`.
        first: first day.
        last: last day (inclusive).

    Raises:
        BadInput: the place is not known, or the package of holidays is not installed.
    """
    try:
        import holidays
    except ImportError:
        way_out = "install it with: pip install 'showrunner[holidays]'"
        raise BadInput("the package that knows them is not installed", "holidays", way_out) from None
    named = _PLACE.fullmatch(place.strip())
    country, part = (named[1].upper(), named[2]) if named else ("", None)
    known = holidays.list_supported_countries()
    if country not in known:
        raise BadInput(f"no holidays are known of '{words.short(place)}'", "holidays", "write it like IE or AU-TAS")
    parts = known[country]
    if part is not None and part.upper() not in [one.upper() for one in parts]:
        there = f"choose one of {words.some(list(parts), 12)}" if parts else f"write {country} alone"
        raise BadInput(f"{country} has no part '{words.short(part)}' with holidays of its own", "holidays", there)
    exact = next((one for one in parts if part and one.upper() == part.upper()), None)
    found = holidays.country_holidays(country, subdiv=exact, years=range(first.year, last.year + 1))
    where = f"{country}-{exact}" if exact else country
    return tuple(PublicDay(day, str(name), where) for day, name in sorted(found.items()) if first <= day <= last)


def take_days(book: Book, found: Sequence[PublicDay], taken: Sequence[date]) -> Book:
    """The book with some public holidays as days without work; what is there already stays.

    Raises:
        BadInput: a day that is taken is no holiday.
    """
    by_day = {holiday.day: holiday for holiday in found}
    for day in taken:
        if day not in by_day:
            raise BadInput(f"{words.day(day)} is no holiday there", "holidays", "take one of those that are listed")
        holiday = by_day[day]
        id = f"holiday-{holiday.place}-{day}"
        if book.find("dark", id) is None:
            book = put_dark(book, DarkRange(id, day, day, reason=holiday.name))
    return book
