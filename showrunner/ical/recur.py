"""The occurrences of one event of a calendar file, by RFC 5545 3.8.5.

Repetition runs on the wall clock of the event's own zone, so a weekly event keeps its time when
the clocks change; every occurrence lasts exactly as long as the first (3.8.5.3). The rules
themselves are dateutil's; here the ends are ours: UNTIL is compared as an instant, COUNT counts
before exceptions. Only the days asked for are looked at: a rule that began long before is entered shortly before
them, a whole number of its own periods after its start, and none runs past them. dateutil goes on to the year 9999
where no day fits a rule; the days asked for are therefore looked at as those of the last years before that which have
the same weekdays and leap years. It looks at each position of a rule for each of its periods, and at each value of a
list for each day, so of these there may be only so many as the RFC has, each once, and of positions a dozen.
"""

from __future__ import annotations

from calendar import isleap, monthrange
from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from itertools import islice
from time import process_time
from typing import TYPE_CHECKING, Any

from dateutil.rrule import rrulestr

if TYPE_CHECKING:
    from icalendar import Event

Moment = date | datetime
"""A day (of an all-day event) or a UTC instant."""

MOST_TIMES = 20_000
"""Most repetitions of all events of a calendar together that are looked at."""
MOST_SECONDS = 1.0
"""Most processor time for working the repetitions of a calendar out; the rule begun last takes half a second more."""
_TOO_OFTEN = ("HOURLY", "MINUTELY", "SECONDLY")


_LAST_YEAR = 9998
"""The year before the last that dateutil looks at."""
_PARTS = {
    "BYSECOND": (0, 60),
    "BYMINUTE": (0, 59),
    "BYHOUR": (0, 23),
    "BYMONTHDAY": (1, 31),
    "BYYEARDAY": (1, 366),
    "BYWEEKNO": (1, 53),
    "BYMONTH": (1, 12),
    "BYSETPOS": (1, 366),
}
"""The least and the most that the values of each part of a rule may be, their sign apart (RFC 5545 3.3.10)."""
MOST_POSITIONS = 12
"""Most values of BYSETPOS."""


class TooMany(Exception):
    """The events of a calendar repeat more often than is looked at."""


class TooLong(Exception):
    """It takes too long to work the repetitions of a calendar out."""


class Allowance:
    """How many repetitions may still be looked at, and for how long."""

    def __init__(self, left: int = MOST_TIMES) -> None:
        self.left = left
        self.ends = process_time() + MOST_SECONDS

    def begin(self) -> None:
        """Begin with another rule.

        Raises:
            TooLong: the time is used up.
        """
        if process_time() > self.ends:
            raise TooLong

    def take(self) -> None:
        """Look at one more.

        Raises:
            TooMany: there were too many already.
        """
        if not self.left:
            raise TooMany
        self.left -= 1


class CannotExpand(Exception):
    """Why the occurrences of an event cannot be told, as words that follow its name."""


def zone_of(event: Event, house: tzinfo) -> tzinfo:
    """The zone an event repeats in: its own, or the house's if it floats or lasts whole days.

    Raises:
        CannotExpand: it names a zone that neither the file describes nor the system knows.
        ValueError: it has no readable start.
    """
    start = event.start
    named = event["DTSTART"].params.get("TZID")
    if not isinstance(start, datetime) or (start.tzinfo is None and not named):
        return house
    if start.tzinfo is None:
        raise CannotExpand(f"is in the time zone '{named}', which is not known")
    return start.tzinfo


def moment(value: Moment, zone: tzinfo) -> Moment:
    """A day as it is, a date-time as the UTC instant it means; without a zone of its own, in `zone`."""
    if not isinstance(value, datetime):
        return value
    return (value if value.tzinfo else value.replace(tzinfo=zone)).astimezone(UTC)


def names(key: Moment, start: Moment, zone: tzinfo) -> bool:
    """Whether an EXDATE or RECURRENCE-ID means the occurrence at `start`; a bare day means any time of it."""
    if isinstance(key, datetime) and isinstance(start, datetime):
        return key == start
    return day_of(key, zone) == day_of(start, zone)


def replaced(event: Event, zone: tzinfo) -> Moment:
    """The occurrence that a RECURRENCE-ID names (RFC 5545 3.8.4.4).

    Raises:
        ValueError, AttributeError: it cannot be read.
    """
    name: Any = event["RECURRENCE-ID"]
    if not isinstance(name.dt, date):
        raise ValueError("not a day or date-time")
    return moment(name.dt, zone)


def span(event: Event, house: tzinfo) -> tuple[Moment, Moment]:
    """Start and exclusive end of an event itself, whether or not it repeats.

    Raises:
        CannotExpand: its zone is unknown or it ends before it starts.
        ValueError, TypeError: its dates cannot be read or do not go together.
    """
    zone = zone_of(event, house)
    start, end = moment(event.start, zone), moment(event.end, zone)
    if end < start:
        raise CannotExpand("ends before it starts")
    return start, end


def occurrences(
    event: Event, house: tzinfo, last: date, first: date = date.min, allowance: Allowance | None = None
) -> dict[Moment, Moment]:
    """Exclusive end by start of every occurrence that ends after `first` and starts by the end of `last`.

    Earlier ones are among them as far as they come by the way.

    Args:
        event: an event without a RECURRENCE-ID.
        house: the zone of events that have none.
        last: last day to look at, on any clock on earth.
        first: first day to look at, on any clock on earth.
        allowance: how many repetitions may still be looked at; None for as many as one calendar may have.

    Raises:
        CannotExpand: the zone is unknown, or it repeats more often than once a day.
        TooMany: it repeats too many times.
        TooLong: the time is used up.
        ValueError, TypeError: its dates or its rule cannot be read.
    """
    zone = zone_of(event, house)
    start, end = span(event, house)
    long: timedelta = end - start  # type: ignore[operator]
    limit = datetime.combine(last, time.min) + timedelta(days=2)
    found = {start: end}
    days = first.toordinal() - long.days - 3  # zones differ by less than two days, and the last day is not whole
    since = datetime.fromordinal(days) if days > 0 else datetime.min
    allowance = allowance or Allowance()
    for rule in event.rrules:
        found.update((at, at + long) for at in _rule(rule, event.start, zone, since, limit, allowance))
    for at, until in event.rdates:
        begin = moment(at, zone)
        found[begin] = moment(until, zone) if until else begin + long
    dropped = by_day([moment(day, zone) for day in event.exdates], zone)
    return {
        at: until
        for at, until in sorted(found.items())
        if not any(names(key, at, zone) for key in dropped.get(day_of(at, zone), ()))
    }


def by_day(moments: Iterable[Moment], zone: tzinfo) -> dict[date, list[Moment]]:
    """Moments by their day; only those of one day can name each other."""
    found: dict[date, list[Moment]] = {}
    for each in moments:
        found.setdefault(day_of(each, zone), []).append(each)
    return found


def _rule(
    rule: Any, first: Moment, zone: tzinfo, since: datetime, limit: datetime, allowance: Allowance
) -> Iterator[Moment]:
    """The occurrences one RRULE gives.

    Args:
        rule: icalendar's reading of it, lists of values by name.
        first: DTSTART as the file has it.
        zone: zone of its wall clock.
        since: wall-clock time before which none is needed.
        limit: wall-clock time that no occurrence passes.
        allowance: how many may still be looked at.
    """
    (frequency,) = rule["FREQ"]
    if frequency in _TOO_OFTEN:
        raise CannotExpand("repeats more often than once a day")
    if not _is_orderly(rule):
        raise CannotExpand("repeats by a rule that no calendar should have")
    allowance.begin()
    until = rule.get("UNTIL", [None])[0]
    count = int(rule["COUNT"][0]) if "COUNT" in rule else None
    parts = type(rule)({name: _once(value) for name, value in rule.items() if name not in ("UNTIL", "COUNT")})
    timed = isinstance(first, datetime)
    wall = first.replace(tzinfo=None) if isinstance(first, datetime) else datetime.combine(first, time.min)
    if count is None:
        wall = _entered(wall, frequency, rule, since)
    elif not any(name.startswith("BY") for name in rule) and frequency in ("DAILY", "WEEKLY"):
        later = _entered(wall, frequency, rule, since)  # each period has one
        count -= (later - wall) // (timedelta(days=1 if frequency == "DAILY" else 7) * _interval(rule))
        wall = later
    if wall > limit:
        return
    later_by = _last_alike(wall.year, limit.year)
    text = f"{parts.to_ical().decode()};UNTIL={limit + later_by:%Y%m%dT%H%M%S}"
    for late in islice(rrulestr(text, dtstart=wall + later_by), max(0, count) if count is not None else None):
        allowance.take()
        at = late - later_by
        begin = moment(at, zone) if timed else at.date()
        if until is not None and _after(begin, until, zone):
            return
        yield begin


def _is_orderly(rule: Any) -> bool:
    """Whether a rule has no values but those that the RFC has, and not more positions than are looked at."""
    if "BYEASTER" in rule or len(_once(rule.get("BYSETPOS", []))) > MOST_POSITIONS:
        return False  # dateutil would take Easter, which has longer periods than the calendar
    return all(
        least <= abs(int(value)) <= most for name, (least, most) in _PARTS.items() for value in rule.get(name, [])
    )


def _once(values: Any) -> list[Any]:
    """Each value of a list once."""
    return list({str(value): value for value in values}.values())


def _last_alike(first: int, last: int) -> timedelta:
    """How much later the last years come that are alike a row of years and those beside it.

    Within a century that is each 28th year, and after 400 years the whole calendar is the same again.

    Args:
        first: the first year of the row.
        last: the last one.
    """
    row = range(max(1, first - 1), last + 2)
    later = next(by for by in range(_LAST_YEAR - last, -1, -1) if all(_kind(year) == _kind(year + by) for year in row))
    return date(first + later, 1, 1) - date(first, 1, 1)


def _kind(year: int) -> tuple[int, bool]:
    """The weekday a year begins on, and whether it is a leap year."""
    return date(year, 1, 1).weekday(), isleap(year)


def _interval(rule: Any) -> int:
    return max(1, int(rule.get("INTERVAL", [1])[0]))


def _entered(wall: datetime, frequency: str, rule: Any, since: datetime) -> datetime:
    """A start from which a rule goes on as from its own: whole periods later, at least one period before `since`."""
    interval = _interval(rule)
    if frequency in ("DAILY", "WEEKLY"):
        period = timedelta(days=interval * (1 if frequency == "DAILY" else 7))
        return wall + period * max(0, (since - wall) // period - 1)
    months = interval * (1 if frequency == "MONTHLY" else 12)
    passed = 12 * (since.year - wall.year) + since.month - wall.month
    for periods in range(max(0, passed // months - 1), 0, -1):
        year, month = divmod(12 * wall.year + wall.month - 1 + periods * months, 12)
        if wall.day <= monthrange(year, month + 1)[1]:  # the day it repeats on may be told by the start alone
            return wall.replace(year=year, month=month + 1)
    return wall


def _after(begin: Moment, until: Moment, zone: tzinfo) -> bool:
    """Whether an occurrence lies past an UNTIL, which is inclusive (RFC 5545 3.3.10)."""
    if isinstance(begin, datetime) and isinstance(until, datetime):
        return begin > moment(until, zone)
    return day_of(begin, zone) > day_of(moment(until, zone), zone)


def day_of(value: Moment, zone: tzinfo) -> date:
    """The day of a moment on the clock of a zone."""
    return value.astimezone(zone).date() if isinstance(value, datetime) else value
