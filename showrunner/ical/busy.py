"""Busy calendars read as dark ranges.

The rule: an all-day event darkens each of its days; a timed event darkens every day, on the house's
clock, of which it takes six hours or more. Everything shorter is named and darkens nothing. Free
(TRANSP:TRANSPARENT) and cancelled events are ignored. Dark here means no work; whether anything is
published on such a day stays the owner's to say.
"""

from __future__ import annotations

import re
import warnings
from collections import Counter, defaultdict
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Any

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.record import record
from showrunner.domain.slot import DarkRange
from showrunner.errors import BadInput
from showrunner.ical.entry import clean
from showrunner.ical.recur import (
    MOST_TIMES,
    Allowance,
    CannotExpand,
    Moment,
    TooLong,
    TooMany,
    by_day,
    day_of,
    names,
    occurrences,
    replaced,
    span,
    zone_of,
)
from showrunner.planning.slots import zone_named
from showrunner.storage.file_errors import words as error_words
from showrunner.storage.ordinary import read_ordinary

if TYPE_CHECKING:
    from icalendar import Event

MAX_BYTES = 20 * 1024 * 1024
"""Most bytes of a calendar that are read."""
MOST_PARTS = 10_000
"""Most events and other parts."""
MOST_LINES = 30_000
"""Most lines that are made sense of, those of repetitions as three, and each further date of a list; of what is not
needed here, such as events that are over, there may be any number."""
LONGEST_LINE = 200_000
"""Most letters of such a line."""
DEEPEST = 8
"""Most parts within each other; an alarm within an event within a calendar are 3."""

DARK_MINUTES = 6 * 60
"""A timed event that takes at least this much of a day makes it dark."""

_NEEDED = (
    rb"BEGIN|END|VERSION|PRODID|NAME|X-WR-CALNAME|UID|SUMMARY|DTSTART|DTEND|DURATION|RRULE|RDATE|EXDATE"
    rb"|RECURRENCE-ID|STATUS|TRANSP|SEQUENCE|TZID|TZNAME|TZOFFSETFROM|TZOFFSETTO"
)
_NOT_NEEDED = re.compile(
    rb"^[ \t]*(?:(?!(?:"
    + _NEEDED
    + rb")[ \t]*[;:])[A-Z0-9-]+[;:].*|SEQUENCE:0|STATUS:CONFIRMED|TRANSP:OPAQUE)\r?(?:\n|\Z)",
    re.IGNORECASE | re.MULTILINE,
)
_EVENT = re.compile(rb"^BEGIN:VEVENT\r?\n(.*?)^END:VEVENT\r?(?:\n|\Z)", re.IGNORECASE | re.MULTILINE | re.DOTALL)
_UID = re.compile(rb"^UID[;:].*", re.IGNORECASE | re.MULTILINE)
_MORE_THAN_ITS_DATES = re.compile(rb"^(?:RRULE|RDATE|RECURRENCE-ID|DURATION|BEGIN)\b", re.IGNORECASE | re.MULTILINE)
_DATES = re.compile(rb"^(?:DTSTART|DTEND)\b[^\r\n]*:(\d{8})(?:T\d{6}Z?)?\r?$", re.IGNORECASE | re.MULTILINE)
_LIST = re.compile(rb"^[ \t]*(?:RRULE|RDATE|EXDATE)\b.*", re.IGNORECASE | re.MULTILINE)

_UNREADABLE = (ValueError, TypeError, AttributeError, LookupError, OverflowError)
"""What icalendar and dateutil raise over values that are not what they should be."""


@record
class BusyResult:
    """What a busy calendar says about the days looked at."""

    ranges: tuple[DarkRange, ...]
    """Dark ranges that touch those days, by first day; equal files give equal ranges."""
    skipped: tuple[str, ...]
    """One sentence for every event that makes no day dark though it is busy, or that cannot be read."""
    key: str
    """Tells the ranges of this calendar from those of others: each id starts with it."""
    first: date
    """First day looked at."""
    last: date
    """Last day looked at (inclusive)."""


@record
class _Busy:
    """One occurrence of an event."""

    key: Moment
    """The start its calendar knows it by, also after it was moved."""
    start: Moment
    end: Moment
    summary: str


def read_busy(path: Path, first: date, last: date, zone: str) -> BusyResult:
    """The dark ranges of a calendar file.

    Args:
        path: the iCalendar file.
        first: first day to look at; ranges that only touch the days looked at are given whole.
        last: last day to look at (inclusive).
        zone: IANA zone of the house.

    Raises:
        BadInput: the file cannot be read, is no calendar, or the zone is unknown.
    """
    house = zone_named(zone, "house rules")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        calendars = _calendars(path, first)
        key = _key(calendars[0], path)
        found: dict[str, DarkRange] = {}
        skipped: list[str] = []
        allowance = Allowance()
        for uid, events in _by_uid(calendars).items():
            short: list[date] = []
            try:
                each = _occurrences(events, house, skipped, first, last, allowance)
            except TooMany:
                what = f"its events repeat more than {MOST_TIMES:,} times in the days looked at"
                raise BadInput(what, str(path), "name a smaller calendar") from None
            except TooLong:
                what = "it takes too long to work its repetitions out"
                raise BadInput(what, str(path), "name a smaller calendar") from None
            for busy in each:
                try:
                    days = _dark_days(busy, house)
                    day = _local_day(busy.start, house)
                except OverflowError:
                    skipped.append(_sentence(events[0], "reaches beyond the years 1 to 9999"))
                    continue
                if days is None:
                    short += [day] if first <= day <= last else []
                elif days[0] <= last and days[1] >= first:
                    id = f"{key}-{_digest(uid + ' ' + busy.key.isoformat())}"
                    found[id] = DarkRange(id, *days, reason=busy.summary, busy_uid=uid)
            if short:
                skipped.append(_too_short(_summary(events[0]), short))
    ranges = sorted(found.values(), key=lambda dark: (dark.first, dark.last, dark.id))
    return BusyResult(tuple(ranges), tuple(skipped), key, first, last)


def merge_busy(book: Book, result: BusyResult) -> tuple[Book, int, int, int]:
    """The book with a busy calendar's dark ranges brought up to date.

    Ranges of the same calendar that are no longer in it are removed if they touch the days looked
    at; others, and those entered by hand, stay. What the owner changed on a range about work and
    publication stays too.

    Args:
        book: the book.
        result: what the calendar says.

    Returns:
        The new book, and how many ranges were added, changed and removed.
    """
    fresh = {dark.id: dark for dark in result.ranges}
    gone = [
        old.id
        for old in book.dark
        if old.id.startswith(f"{result.key}-")
        and old.id not in fresh
        and old.first <= result.last
        and old.last >= result.first
    ]
    added = changed = 0
    for dark in result.ranges:
        old = book.find("dark", dark.id)
        if old is None:
            added += 1
            continue
        fresh[dark.id] = replace(dark, no_work=old.no_work, no_publication=old.no_publication)
        changed += fresh[dark.id] != old
    if not (added or changed or gone):
        return book, 0, 0, 0
    return book.drop("dark", *gone).put("dark", *fresh.values()), added, changed, len(gone)


def _calendars(path: Path, first: date) -> list[Any]:
    """The calendars of a file, without what was over before the first day.

    Raises:
        BadInput: it cannot be read or holds none.
    """
    from icalendar import Calendar

    try:
        data = read_ordinary(path, MAX_BYTES)
    except (OSError, ValueError) as error:
        why = error_words(error) if isinstance(error, OSError) else "the name is no file name"
        raise BadInput(f"the calendar cannot be read ({why})", repr(str(path)), "name a calendar file") from None
    needed = _without_past(_needed(data), first)
    _refuse_monstrous(needed, path)
    try:
        found = [c for c in Calendar.from_ical(needed, multiple=True) if c.name == "VCALENDAR"]
    except _UNREADABLE:
        found = []
    if not found:
        raise BadInput("the file is not a calendar", str(path), "name a file in iCalendar form (.ics)")
    return found


def _needed(data: bytes) -> bytes:
    """The lines of a calendar that are needed here, unfolded; what says nothing else than its default is not."""
    end = b"\r\n" if b"\r\n" in data else b"\n"
    for fold in (end + b" ", end + b"\t"):  # nearly all; a pattern takes ten times as long
        data = data.replace(fold, b"")
    return _NOT_NEEDED.sub(b"", re.sub(rb"(\r?\n)+[ \t]", b"", data))


def _without_past(needed: bytes, first: date) -> bytes:
    """The lines without those of events that were over days before the first day and say nothing of other days."""
    if first <= date.min + timedelta(days=3):
        return needed
    told = Counter(_UID.findall(needed))
    since = f"{first - timedelta(days=3):%Y%m%d}".encode()

    def kept(event: re.Match[bytes]) -> bytes:
        dates = _DATES.findall(event[1])
        alone = all(told[uid] == 1 for uid in _UID.findall(event[1]))  # an event told twice counts as told last
        over = dates and max(dates) < since and alone and not _MORE_THAN_ITS_DATES.search(event[1])
        return b"" if over else event[0]

    return _EVENT.sub(kept, needed)


def _refuse_monstrous(needed: bytes, path: Path) -> None:
    """Refuse a calendar that it would take long to make sense of.

    Args:
        needed: its lines, unfolded, without those that are not needed.
        path: its file.

    Raises:
        BadInput: it has too many lines, values or parts, or too many parts within each other, or too long a line.
    """
    way_out = "name a smaller calendar"
    depth = parts = 0
    for part in re.finditer(rb"^[ \t]*(?:(BEGIN)|END)[ \t]*:", needed, re.IGNORECASE | re.MULTILINE):
        depth += 1 if part[1] else -1
        parts += bool(part[1])
        if depth > DEEPEST:
            raise BadInput(f"it has more than {DEEPEST} parts within each other", str(path), "name another calendar")
        if parts > MOST_PARTS:
            raise BadInput(f"it has more than the {MOST_PARTS:,} events and parts that are read", str(path), way_out)
    if max(map(len, needed.split(b"\n"))) > LONGEST_LINE:
        raise BadInput(f"it has a line of more than {LONGEST_LINE:,} letters", str(path), way_out)
    lines = needed.count(b"\n") + sum(2 + found[0].count(b",") for found in _LIST.finditer(needed))
    if lines > MOST_LINES:
        what = f"its {lines:,} lines and dates are more than the {MOST_LINES:,} that are read"
        raise BadInput(what, str(path), way_out)


def _key(calendar: Any, path: Path) -> str:
    """What tells this calendar from others: its own id or name, or the name of its file."""
    own = next((str(calendar[name]) for name in ("UID", "NAME", "X-WR-CALNAME") if calendar.get(name)), path.name)
    return f"busy-{_digest(own)}"


def _by_uid(calendars: list[Any]) -> dict[str, list[Event]]:
    """Events that belong together; one without a UID stands alone."""
    groups: dict[str, list[Event]] = defaultdict(list)
    for calendar in calendars:
        for event in calendar.walk("VEVENT"):
            uid = clean(str(event.get("UID", ""))).strip()
            groups[uid or f"no uid {_digest(event.to_ical().decode())}"].append(event)
    return groups


def _occurrences(
    events: list[Event], house: tzinfo, skipped: list[str], first: date, last: date, allowance: Allowance
) -> list[_Busy]:
    """The busy occurrences from the day `first` to the day `last` of events with one UID.

    Sentences about what cannot be read are added to `skipped`.
    """
    events = sorted(events, key=_sequence)
    masters = [event for event in events if "RECURRENCE-ID" not in event]
    found: dict[Moment, _Busy] = {}
    zone = house
    if masters:
        master = masters[-1]
        if _says(master, "STATUS", "CANCELLED"):
            return []
        try:
            zone = zone_of(master, house)
            if not _says(master, "TRANSP", "TRANSPARENT"):
                each = occurrences(master, house, last, first, allowance)
                found = {at: _Busy(at, at, end, _summary(master)) for at, end in each.items()}
        except CannotExpand as error:
            skipped.append(_sentence(master, str(error)))
        except _UNREADABLE:
            skipped.append(_sentence(master, "has dates or a repetition that cannot be read"))
    regular = by_day(found, zone)
    for event in events:
        if "RECURRENCE-ID" not in event:
            continue
        try:
            key = replaced(event, zone)
            if event["RECURRENCE-ID"].params.get("RANGE"):
                skipped.append(
                    f"'{_summary(event)}' changes all later occurrences too; only the first was changed here."
                )
            for at in regular.get(day_of(key, zone), ()):
                if names(key, at, zone):
                    found.pop(at, None)
            if not _says(event, "STATUS", "CANCELLED") and not _says(event, "TRANSP", "TRANSPARENT"):
                found[key] = _Busy(key, *span(event, house), _summary(event))
        except CannotExpand as error:
            skipped.append(_sentence(event, str(error)))
        except _UNREADABLE:
            skipped.append(_sentence(event, "has a changed occurrence that cannot be read"))
    return list(found.values())


def _dark_days(busy: _Busy, house: tzinfo) -> tuple[date, date] | None:
    """First and last day an occurrence darkens; None if it darkens none."""
    if not isinstance(busy.start, datetime) or not isinstance(busy.end, datetime):
        return busy.start, max(busy.start, busy.end - timedelta(days=1))
    first, last = _local_day(busy.start, house), _local_day(busy.end, house)
    if _minutes_of(first, busy.start, busy.end, house) < DARK_MINUTES:
        first += timedelta(days=1)
    if _minutes_of(last, busy.start, busy.end, house) < DARK_MINUTES:
        last -= timedelta(days=1)
    return (first, last) if first <= last else None


def _minutes_of(day: date, start: datetime, end: datetime, house: tzinfo) -> float:
    """Minutes of a local day that lie between two instants."""
    midnight = datetime.combine(day, time.min, house).astimezone(UTC)
    next_midnight = datetime.combine(day + timedelta(days=1), time.min, house).astimezone(UTC)
    return (min(end, next_midnight) - max(start, midnight)) / timedelta(minutes=1)


def _local_day(value: Moment, house: tzinfo) -> date:
    return value.astimezone(house).date() if isinstance(value, datetime) else value


def _sequence(event: Event) -> int:
    try:
        return int(event.get("SEQUENCE", 0))
    except _UNREADABLE:
        return 0


def _says(event: Event, name: str, value: str) -> bool:
    return str(event.get(name, "")).strip().upper() == value


def _summary(event: Event) -> str:
    """What the event is called, on one line."""
    return " ".join(clean(str(event.get("SUMMARY", ""))).split()) or "busy"


def _sentence(event: Event, what: str) -> str:
    return f"'{_summary(event)}' {what}; it makes no day dark."


def _too_short(summary: str, days: list[date]) -> str:
    """Why an event makes no day dark, with the days."""
    more = f" and {words.count(len(days) - 1, 'more day')}" if len(days) > 1 else ""
    hours = words.hours(DARK_MINUTES)
    return f"'{summary}' of {words.day(min(days))}{more} takes less than {hours} of any day; it makes no day dark."


def _digest(text: str) -> str:
    return sha256(text.encode("utf-8", "backslashreplace")).hexdigest()[:12]
