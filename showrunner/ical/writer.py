"""Revisions of entries written as one iCalendar object (RFC 5545, with the properties of RFC 7986).

Timed entries are UTC instants: readers disagree about zones that a file describes, none about UTC.
All-day entries are DATE values with an exclusive end. Every entry is TRANSPARENT: a plan of what
to publish and when to work blocks nobody's time, and importing it as a busy calendar darkens no day.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

from showrunner.domain.record import record
from showrunner.ical.content_lines import duration, folded, instant, moment, text
from showrunner.ical.entry import Entry

PRODUCT = "-//showrunner//showrunner//EN"
"""PRODID of every calendar written here."""


@record
class Revision:
    """One entry as calendars are told about it."""

    entry: Entry
    """The entry."""
    sequence: int
    """Revision number, 0 first, higher with each change (RFC 5545 3.8.7.4)."""
    stamp: datetime
    """Instant of this revision, UTC."""
    cancelled: bool
    """Whether it is off."""


def entry_bytes(revision: Revision) -> bytes:
    """One entry as an iCalendar object of its own, as folders and servers keep it."""
    return folded([*_head(), *_event(revision), "END:VCALENDAR"])


def calendar_bytes(name: str, uid: str, revisions: Iterable[Revision]) -> bytes:
    """One calendar with these revisions, in their order; equal values give equal bytes.

    Args:
        name: what readers call the calendar.
        uid: permanent id of the calendar.
        revisions: its entries.
    """
    lines = [
        *_head(),
        "CALSCALE:GREGORIAN",
        f"NAME:{text(name)}",
        f"X-WR-CALNAME:{text(name)}",
        "REFRESH-INTERVAL;VALUE=DURATION:P1D",
        f"UID:{uid}",
    ]
    for revision in revisions:
        lines += _event(revision)
    return folded([*lines, "END:VCALENDAR"])


def _head() -> list[str]:
    return ["BEGIN:VCALENDAR", "VERSION:2.0", f"PRODID:{PRODUCT}"]


def _event(revision: Revision) -> list[str]:
    """The lines of an entry; DTSTAMP equals LAST-MODIFIED where there is no METHOD (RFC 5545 3.8.7.2)."""
    entry, stamp = revision.entry, instant(revision.stamp)
    lines = [
        "BEGIN:VEVENT",
        f"SUMMARY:{text(entry.summary)}",
        moment("DTSTART", entry.start),
        moment("DTEND", entry.end),
        f"DTSTAMP:{stamp}",
        f"UID:{entry.uid}",
        f"SEQUENCE:{revision.sequence}",
        f"CATEGORIES:{','.join(map(text, entry.categories))}",
    ]
    if entry.description:
        lines.append(f"DESCRIPTION:{text(entry.description)}")
    lines += [f"LAST-MODIFIED:{stamp}", f"STATUS:{'CANCELLED' if revision.cancelled else entry.status}"]
    lines.append("TRANSP:TRANSPARENT")
    if entry.link:
        lines.append(f"URL:{entry.link}")
    if entry.alarm_minutes is not None and not revision.cancelled:
        lines += ["BEGIN:VALARM", "ACTION:DISPLAY", f"DESCRIPTION:{text(entry.alarm_text)}"]
        lines += [f"TRIGGER:{duration(-timedelta(minutes=entry.alarm_minutes))}", "END:VALARM"]
    return [*lines, "END:VEVENT"]
