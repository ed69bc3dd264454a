"""The occurrences of one event of a calendar file, by RFC 5545 3.8.5.

Repetition runs on the wall clock of the event's own zone, so a weekly event keeps its time when
the clocks change; every occurrence lasts exactly as long as the first (3.8.5.3). The rules
themselves are dateutil's; here the ends are ours: UNTIL is compared as an instant, COUNT counts
before exceptions, and no rule runs past the last day asked for.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from itertools import islice
from typing import TYPE_CHECKING, Any

from dateutil.rrule import rrulestr

if TYPE_CHECKING:
    from icalendar import Event

Moment = date | datetime
"""A day (of an all-day event) or a UTC instant."""

_MOST = 50_000
_TOO_OFTEN = ("HOURLY", "MINUTELY", "SECONDLY")


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
    return _day(key, zone) == _day(start, zone)


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


def occurrences(event: Event, house: tzinfo, last: date) -> dict[Moment, Moment]:
    """Exclusive end by start of every occurrence that starts by the end of `last`.

    Args:
        event: an event without a RECURRENCE-ID.
        house: the zone of events that have none.
        last: last day to look at, on any clock on earth.

    Raises:
        CannotExpand: the zone is unknown, or it repeats more often than once a day or too many times.
        ValueError, TypeError: its dates or its rule cannot be read.
    """
    zone = zone_of(event, house)
    start, end = span(event, house)
    long: timedelta = end - start  # type: ignore[operator]
    limit = datetime.combine(last, time.min) + timedelta(days=2)
    found = {start: end}
    for rule in event.rrules:
        found.update((at, at + long) for at in _rule(rule, event.start, zone, limit))
    for at, until in event.rdates:
        begin = moment(at, zone)
        found[begin] = moment(until, zone) if until else begin + long
    dropped = [moment(day, zone) for day in event.exdates]
    return {at: until for at, until in sorted(found.items()) if not any(names(key, at, zone) for key in dropped)}


def _rule(rule: Any, first: Moment, zone: tzinfo, limit: datetime) -> Iterator[Moment]:
    """The occurrences one RRULE gives.

    Args:
        rule: icalendar's reading of it, lists of values by name.
        first: DTSTART as the file has it.
        zone: zone of its wall clock.
        limit: wall-clock time that no occurrence passes.
    """
    (frequency,) = rule["FREQ"]
    if frequency in _TOO_OFTEN:
        raise CannotExpand("repeats more often than once a day")
    until = rule.get("UNTIL", [None])[0]
    count = int(rule["COUNT"][0]) if "COUNT" in rule else None
    parts = type(rule)({name: value for name, value in rule.items() if name not in ("UNTIL", "COUNT")})
    timed = isinstance(first, datetime)
    wall = first.replace(tzinfo=None) if isinstance(first, datetime) else datetime.combine(first, time.min)
    text = f"{parts.to_ical().decode()};UNTIL={limit:%Y%m%dT%H%M%S}"
    for number, at in enumerate(islice(rrulestr(text, dtstart=wall), count)):
        if number >= _MOST:
            raise CannotExpand(f"repeats more than {_MOST} times")
        begin = moment(at, zone) if timed else at.date()
        if until is not None and _after(begin, until, zone):
            return
        yield begin


def _after(begin: Moment, until: Moment, zone: tzinfo) -> bool:
    """Whether an occurrence lies past an UNTIL, which is inclusive (RFC 5545 3.3.10)."""
    if isinstance(begin, datetime) and isinstance(until, datetime):
        return begin > moment(until, zone)
    return _day(begin, zone) > _day(moment(until, zone), zone)


def _day(value: Moment, zone: tzinfo) -> date:
    return value.astimezone(zone).date() if isinstance(value, datetime) else value
