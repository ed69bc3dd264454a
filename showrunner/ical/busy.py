"""Busy calendars read as dark ranges and busy hours.

The rule: what takes whole days, on the house's clock, makes them dark; of every other day it takes what it takes, and
the working hours of that day are less by it, whatever hour it is. What overlaps counts once. Free (TRANSP:TRANSPARENT)
and cancelled events are ignored. Dark here means no work; whether anything is published on such a day stays the
owner's to say.
"""

from __future__ import annotations

import contextlib
import re
import warnings
from bisect import bisect_left
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from functools import partial
from hashlib import sha256
from itertools import chain, pairwise
from operator import itemgetter
from pathlib import Path
from typing import TYPE_CHECKING, Any

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.record import record
from showrunner.domain.slot import LONGEST_DAY, BusyDay, DarkRange
from showrunner.domain.spans import Span, joined
from showrunner.errors import BadInput
from showrunner.ical import zones
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
    moment,
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
LONGEST_NAME = 200
"""Most letters of what an event is called that are kept."""
DEEPEST = 8
"""Most parts within each other; an alarm within an event within a calendar are 3."""

_NEEDED = (
    rb"BEGIN|END|VERSION|PRODID|NAME|X-WR-CALNAME|UID|SUMMARY|DTSTART|DTEND|DURATION|RRULE|RDATE|EXDATE"
    rb"|RECURRENCE-ID|STATUS|TRANSP|SEQUENCE|TZID|TZNAME|TZOFFSETFROM|TZOFFSETTO|FREEBUSY"
)
_NOT_NEEDED = re.compile(
    rb"^[ \t]*(?:(?!(?:"
    + _NEEDED
    + rb")[ \t]*[;:])[A-Z0-9-]+[;:].*|SEQUENCE:0|STATUS:CONFIRMED|TRANSP:OPAQUE)\r?(?:\n|\Z)",
    re.IGNORECASE | re.MULTILINE,
)
_EVENT = re.compile(
    rb"^BEGIN:VEVENT\r?\n((?:(?!BEGIN:|END:)[^\n]*\n)*)END:VEVENT\r?(?:\n|\Z)", re.IGNORECASE | re.MULTILINE
)
"""An event without parts of its own."""
_EMPTY = re.compile(rb"\r?\n(?:\r?\n)+")
_UID = re.compile(rb"^UID[;:].*", re.IGNORECASE | re.MULTILINE)
_MORE_THAN_ITS_DATES = re.compile(rb"^(?:RRULE|RDATE|RECURRENCE-ID|DURATION)\b", re.IGNORECASE | re.MULTILINE)
_DATES = re.compile(rb"^(?:DTSTART|DTEND)\b[^\r\n]*:(\d{8})(?:T\d{6}Z?)?\r?$", re.IGNORECASE | re.MULTILINE)
_LIST = re.compile(rb"^[ \t]*(?:RRULE|RDATE|EXDATE|FREEBUSY)\b.*", re.IGNORECASE | re.MULTILINE)
_BROKEN = re.compile(rb"^(?![ \t]*[A-Z0-9-]+[ \t]*[;:]).+(?:\n|\Z)", re.IGNORECASE | re.MULTILINE)
"""A line that is none of a calendar."""
_FREEBUSY = re.compile(rb"^FREEBUSY((?:;[^:\r\n]*)?):([^\r\n]*)(?:\r?\n|\Z)", re.IGNORECASE | re.MULTILINE)
_IS_FREE = re.compile(rb";FBTYPE=\"?FREE\"?(?:;|\Z)", re.IGNORECASE)
"""Time that is not busy (RFC 5545 3.2.9); that of every other FBTYPE is."""

_MINUTE = timedelta(minutes=1)
_UNREADABLE = (ValueError, TypeError, AttributeError, LookupError, OverflowError)
"""What icalendar and dateutil raise over values that are not what they should be."""


@record
class BusyResult:
    """What a busy calendar says about the days looked at."""

    ranges: tuple[DarkRange, ...]
    """Dark ranges that touch those days, by first day; equal files give equal ranges."""
    days: tuple[BusyDay, ...]
    """Days of which a part is taken, by day."""
    skipped: tuple[str, ...]
    """One sentence for everything that takes no time though it may be meant to, or that cannot be read."""
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

    @property
    def takes_no_time(self) -> bool:
        """Whether it ends as it begins; a day that does is a whole day."""
        return isinstance(self.start, datetime) and self.start == self.end


def read_busy(path: Path, first: date, last: date, zone: str) -> BusyResult:
    """The dark ranges and busy hours of a calendar file.

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
        calendars, free_busy, skipped = _calendars(path, first)
        key = _key(calendars[0], path)
        ranges: dict[str, DarkRange] = {}
        parts: dict[date, list[tuple[Span, str]]] = defaultdict(list)
        events = _all_busy(calendars, path, house, skipped, first, last)
        for uid, busy in chain(events, (("free/busy", period) for period in _periods(free_busy, skipped))):
            try:
                dark, hours = _taken(busy, house)
            except OverflowError:
                skipped.append(_sentence(busy.summary, "reaches beyond the years 1 to 9999"))
                continue
            if dark and dark[0] <= last and dark[1] >= first:
                id = f"{key}-{_digest(uid + ' ' + busy.key.isoformat())}"
                ranges[id] = DarkRange(id, *dark, reason=busy.summary, busy_uid=uid)
            for day, span in hours:
                if first <= day <= last:
                    parts[day].append((span, busy.summary))
    days = (_busy_day(key, day, parts[day]) for day in sorted(parts))
    in_order = sorted(ranges.values(), key=lambda dark: (dark.first, dark.last, dark.id))
    return BusyResult(tuple(in_order), tuple(days), tuple(skipped), key, first, last)


def _all_busy(
    calendars: list[Any], path: Path, house: tzinfo, skipped: list[str], first: date, last: date
) -> Iterator[tuple[str, _Busy]]:
    """Every occurrence that takes time, with the UID of its event."""
    allowance = Allowance()
    for uid, events in _by_uid(calendars).items():
        try:
            yield from ((uid, busy) for busy in _occurrences(events, house, skipped, first, last, allowance))
        except TooMany:
            what = f"its events repeat more than {MOST_TIMES:,} times in the days looked at"
            raise BadInput(what, str(path), "name a smaller calendar") from None
        except TooLong:
            what = "it takes too long to work its repetitions out"
            raise BadInput(what, str(path), "name a smaller calendar") from None


def _periods(lines: Iterable[tuple[bytes, bytes]], skipped: list[str]) -> Iterator[_Busy]:
    """The periods of free/busy lines that are busy (RFC 5545 3.8.2.6), each line as its parameters and its value."""
    from icalendar import vPeriod

    broken = 0
    for parameters, value in lines:
        if _IS_FREE.search(parameters):
            continue
        for text in value.split(b","):
            try:
                start, until = vPeriod.from_ical(text.decode().strip())  # type: ignore[no-untyped-call]
                end = start + until if isinstance(until, timedelta) else until
                if start.tzinfo is None or end.tzinfo is None or end < start:
                    raise ValueError(text)
                yield _Busy(start.astimezone(UTC), start.astimezone(UTC), end.astimezone(UTC), "busy")
            except _UNREADABLE:
                broken += 1
    if broken:
        skipped.append(f"{words.count(broken, 'busy time')} cannot be read.")


def _busy_day(key: str, day: date, parts: list[tuple[Span, str]]) -> BusyDay:
    """A day of which a part is taken, by whatever takes it, in the order of its start."""
    in_order = sorted(parts)
    names = tuple(dict.fromkeys(name for _, name in in_order))
    return BusyDay(f"{key}-{day}", day, joined(span for span, _ in in_order), words.some(names, 3))


def merge_busy(book: Book, result: BusyResult) -> tuple[Book, int, int, int]:
    """The book with what a busy calendar says brought up to date.

    Ranges and days of the same calendar that are no longer in it are removed if they touch the days looked
    at; others, and those entered by hand, stay. What the owner changed on a range about work and
    publication stays too.

    Args:
        book: the book.
        result: what the calendar says.

    Returns:
        The new book, and how many ranges and days were added, changed and removed.
    """
    before = {dark.id: dark for dark in book.dark}
    ranges = {
        dark.id: replace(dark, no_work=old.no_work, no_publication=old.no_publication)
        if (old := before.get(dark.id))
        else dark
        for dark in result.ranges
    }
    days = {day.id: day for day in result.days}
    gone_ranges = [
        old.id
        for old in book.dark
        if _of(result, old.id) and old.id not in ranges and old.first <= result.last and old.last >= result.first
    ]
    gone_days = [
        old.id
        for old in book.busy
        if _of(result, old.id) and old.id not in days and result.first <= old.day <= result.last
    ]
    known: dict[str, DarkRange | BusyDay] = {**before, **{day.id: day for day in book.busy}}
    fresh: dict[str, DarkRange | BusyDay] = {**ranges, **days}
    added = sum(id not in known for id in fresh)
    changed = sum(id in known and known[id] != one for id, one in fresh.items())
    gone = len(gone_ranges) + len(gone_days)
    if not (added or changed or gone):
        return book, 0, 0, 0
    over = [old.id for old in book.busy if _of(result, old.id) and old.day < result.first]
    book = book.drop("dark", *gone_ranges).put("dark", *ranges.values())
    return book.drop("busy", *gone_days, *over).put("busy", *days.values()), added, changed, gone


def _of(result: BusyResult, id: str) -> bool:
    """Whether an id is one of this calendar's."""
    return id.startswith(f"{result.key}-")


def _calendars(path: Path, first: date) -> tuple[list[Any], list[tuple[bytes, bytes]], list[str]]:
    """The calendars of a file without what was over before, its free/busy lines, and a sentence if lines are broken.

    Raises:
        BadInput: it cannot be read or holds none.
    """
    from icalendar import Calendar

    try:
        data = read_ordinary(path, MAX_BYTES)
    except (OSError, ValueError) as error:
        why = error_words(error) if isinstance(error, OSError) else "the name is no file name"
        raise BadInput(f"the calendar cannot be read ({why})", repr(str(path)), "name a calendar file") from None
    whole, broken = _BROKEN.subn(b"", _needed(data))
    needed = _without_past(whole, first)
    _refuse_monstrous(needed, path)
    needed, years = zones.begun_lately(needed, first)
    if years > zones.MOST_YEARS:
        raise BadInput("it takes too long to work its time zones out", str(path), "name a smaller calendar")
    free_busy = _FREEBUSY.findall(needed)
    needed = _FREEBUSY.sub(b"", needed)
    try:
        found = [c for c in Calendar.from_ical(needed, multiple=True) if c.name == "VCALENDAR"]
    except _UNREADABLE:
        found = []
    if not found:
        raise BadInput("the file is not a calendar", str(path), "name a file in iCalendar form (.ics)")
    told = f"{words.count(broken, 'line')} of the file cannot be read; what stands there is not known."
    return found, free_busy, [told] if broken else []


def _needed(data: bytes) -> bytes:
    """The lines of a calendar that are needed here, unfolded; what says nothing else than its default is not."""
    end = b"\r\n" if b"\r\n" in data else b"\n"
    data = _EMPTY.sub(end, data)
    for fold in (end + b" ", end + b"\t"):  # nearly all; a pattern takes ten times as long
        data = data.replace(fold, b"")
    return _NOT_NEEDED.sub(b"", re.sub(rb"\r?\n[ \t]", b"", data))


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
    if zones.is_too_much(needed):
        raise BadInput(f"it tells more than {zones.MOST_PARTS:,} things of time zones", str(path), way_out)
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
            uid = clean(_value(event, "UID")).strip()
            groups[uid or f"no uid {_digest(event.to_ical().decode())}"].append(event)
    return groups


def _occurrences(
    events: list[Event], house: tzinfo, skipped: list[str], first: date, last: date, allowance: Allowance
) -> list[_Busy]:
    """The busy occurrences from the day `first` to the day `last` of events with one UID.

    Sentences about what cannot be read, or takes no time, are added to `skipped`.
    """
    events = sorted(events, key=_sequence)
    masters = [event for event in events if "RECURRENCE-ID" not in event]
    changed = [event for event in events if "RECURRENCE-ID" in event]
    found: dict[Moment, _Busy] = {}
    zone = house
    if masters:
        master = masters[-1]
        if _says(master, "STATUS", "CANCELLED"):
            return []
        try:
            zone = zone_of(master, house)
            if not _says(master, "TRANSP", "TRANSPARENT"):
                since = first - _farthest(changed, zone)
                each, name = occurrences(master, house, last, since, allowance), _summary(master)
                found = {at: _Busy(at, at, end, name) for at, end in each.items()}
        except CannotExpand as error:
            skipped.append(_sentence(_summary(master), str(error)))
        except _UNREADABLE:
            skipped.append(_sentence(_summary(master), "has dates or a repetition that cannot be read"))
    regular = by_day(found, zone)
    _change_all_later([event for event in changed if _is_for_all_later(event)], found, skipped, house, zone)
    for event in (event for event in changed if not _is_for_all_later(event)):
        _attempt(event, skipped, partial(_change_one, event, found, regular, house, zone))
    timeless = sorted(_local_day(busy.start, house) for busy in found.values() if busy.takes_no_time)
    if inside := [day for day in timeless if first <= day <= last]:
        skipped.append(_without_end(_summary(events[0]), inside))
    return [busy for busy in found.values() if not busy.takes_no_time]


def _attempt(event: Event, skipped: list[str], change: Callable[[], None]) -> None:
    """Carry out what a changed occurrence says; if it cannot be read, a sentence says so."""
    try:
        change()
    except CannotExpand as error:
        skipped.append(_sentence(_summary(event), str(error)))
    except _UNREADABLE:
        skipped.append(_sentence(_summary(event), "has a changed occurrence that cannot be read"))


def _is_for_all_later(event: Event) -> bool:
    """Whether a changed occurrence stands for all later ones too (RANGE=THISANDFUTURE, RFC 5545 3.2.13)."""
    return bool(event["RECURRENCE-ID"].params.get("RANGE")) if hasattr(event["RECURRENCE-ID"], "params") else False


def _farthest(changed: list[Event], zone: tzinfo) -> timedelta:
    """How much earlier than the days looked at a repetition may begin that a change to all later ones moves there."""
    far = timedelta(0)
    for event in changed:
        with contextlib.suppress(*_UNREADABLE, CannotExpand):
            if _is_for_all_later(event):
                key, start = replaced(event, zone), span(event, zone)[0]
                far = max(far, abs(day_of(start, zone) - day_of(key, zone)) + timedelta(days=1))
    return far


def _change_all_later(
    events: list[Event], found: dict[Moment, _Busy], skipped: list[str], house: tzinfo, zone: tzinfo
) -> None:
    """Move occurrences and all later ones by the same time on the clock, and give them the new length.

    RFC 5545 3.8.4.4: the difference of the starts holds for every later one, as does the new duration. A later
    change counts from what was there at first, not from what an earlier one made of it; so each occurrence has the
    last change before it, unless one before that took all later ones away.
    """
    place = partial(_place, zone=zone, whole_days=not any(isinstance(at, datetime) for at in found))
    changes: list[tuple[datetime, Event]] = []
    for event in events:
        _attempt(event, skipped, partial(_note_later_change, event, changes, house, zone, place))
    changes.sort(key=itemgetter(0))
    in_order = sorted(found, key=place)
    starts = [*(bisect_left(in_order, at, key=place) for at, _ in changes), len(in_order)]
    for (_, event), (start, end) in zip(changes, pairwise(starts), strict=True):
        if _takes_nothing(event):
            for at in in_order[start:]:
                del found[at]
            return
        _attempt(event, skipped, partial(_move, event, in_order[start:end], found, house, zone))


def _note_later_change(
    event: Event,
    changes: list[tuple[datetime, Event]],
    house: tzinfo,
    zone: tzinfo,
    place: Callable[[Moment], datetime],
) -> None:
    """Add a change to all later occurrences that can be read, with the place from which it counts."""
    if event.get("RRULE") or event.get("RDATE"):
        raise CannotExpand("changes all later occurrences to another repetition, which is not read")
    span(event, house)
    changes.append((place(replaced(event, zone)), event))


def _place(value: Moment, zone: tzinfo, *, whole_days: bool) -> datetime:
    """Where an occurrence stands among those of its event; of days, and of events of whole days, their midnight."""
    if isinstance(value, datetime) and not whole_days:
        return value
    return datetime.combine(day_of(value, zone), time.min, zone)


def _move(event: Event, moved: list[Moment], found: dict[Moment, _Busy], house: tzinfo, zone: tzinfo) -> None:
    """Give some occurrences the time and the length that a change to all later ones gives them."""
    start, end = span(event, house)
    shift = _on_clock(start, zone) - _on_clock(replaced(event, zone), zone)
    name = _summary(event)
    for at in moved:
        later = moment((_on_clock(at, zone) + shift).replace(tzinfo=zone), zone)
        begin: Moment = later if isinstance(start, datetime) else day_of(later, zone)
        found[at] = _Busy(at, begin, begin + (end - start), name)  # type: ignore[operator]


def _takes_nothing(event: Event) -> bool:
    """Whether an event is cancelled or leaves its time free."""
    return _says(event, "STATUS", "CANCELLED") or _says(event, "TRANSP", "TRANSPARENT")


def _change_one(
    event: Event, found: dict[Moment, _Busy], regular: dict[date, list[Moment]], house: tzinfo, zone: tzinfo
) -> None:
    """Put one changed occurrence in place of the one it names."""
    key = replaced(event, zone)
    for at in regular.get(day_of(key, zone), ()):
        if names(key, at, zone):
            found.pop(at, None)
    if not _takes_nothing(event):
        found[key] = _Busy(key, *span(event, house), _summary(event))


def _on_clock(value: Moment, zone: tzinfo) -> datetime:
    """A moment on the wall clock of a zone; a day is its midnight."""
    if isinstance(value, datetime):
        return value.astimezone(zone).replace(tzinfo=None)
    return datetime.combine(value, time.min)


def _taken(busy: _Busy, house: tzinfo) -> tuple[tuple[date, date] | None, list[tuple[date, Span]]]:
    """The whole days that an occurrence takes, first and last or None, and the minutes of the days beside them."""
    if not isinstance(busy.start, datetime) or not isinstance(busy.end, datetime):
        return (busy.start, max(busy.start, busy.end - timedelta(days=1))), []
    first, last = _local_day(busy.start, house), _local_day(busy.end, house)
    hours: list[tuple[date, Span]] = []
    edges = [first] if first == last else [first, last]
    whole: list[date] = []
    for day in edges:
        midnight, next_midnight = _midnight(day, house), _midnight(day + timedelta(days=1), house)
        start, end = max(busy.start, midnight), min(busy.end, next_midnight)
        if (start, end) == (midnight, next_midnight):
            whole.append(day)
        elif start < end:
            span = (start - midnight) // _MINUTE, min(LONGEST_DAY, -((midnight - end) // _MINUTE))
            hours += [(day, span)] if span[0] < span[1] else []
    begin = first if first in whole else first + timedelta(days=1)
    end_day = last if last in whole else last - timedelta(days=1)
    return ((begin, end_day) if begin <= end_day else None), hours


def _midnight(day: date, house: tzinfo) -> datetime:
    return datetime.combine(day, time.min, house).astimezone(UTC)


def _local_day(value: Moment, house: tzinfo) -> date:
    return value.astimezone(house).date() if isinstance(value, datetime) else value


def _sequence(event: Event) -> int:
    try:
        return int(event.get("SEQUENCE", 0))
    except _UNREADABLE:
        return 0


def _says(event: Event, name: str, value: str) -> bool:
    return _value(event, name).strip().upper() == value


def _value(event: Event, name: str) -> str:
    """A property as text; the first if it stands more than once."""
    value: Any = event.get(name, "")
    return str(value[0] if isinstance(value, list) else value)


def _summary(event: Event) -> str:
    """What the event is called, on one line, a long name cut."""
    name = " ".join(clean(_value(event, "SUMMARY")[: 2 * LONGEST_NAME]).split())
    return words.short(name, LONGEST_NAME) or "busy"


def _sentence(summary: str, what: str) -> str:
    return f"'{summary}' {what}; it takes no time."


def _without_end(summary: str, days: list[date]) -> str:
    """Why an event takes no time, with its days."""
    more = f" and {words.count(len(days) - 1, 'more day')}" if len(days) > 1 else ""
    return f"'{summary}' of {words.day(days[0])}{more} has no end; it takes no time."


def _digest(text: str) -> str:
    return sha256(text.encode("utf-8", "backslashreplace")).hexdigest()[:12]
