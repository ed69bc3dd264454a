"""Revisions of entries written as one iCalendar object (RFC 5545, with the properties of RFC 7986).

Timed entries are UTC instants: readers disagree about zones that a file describes, none about UTC.
All-day entries are DATE values with an exclusive end. Every entry is TRANSPARENT: a plan of what
to publish and when to work blocks nobody's time, and importing it as a busy calendar darkens no day.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from showrunner.domain.record import record
from showrunner.ical.entry import Entry

if TYPE_CHECKING:
    from icalendar import Event

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
    from icalendar import Calendar

    calendar = Calendar()
    calendar.add("version", "2.0")
    calendar.add("prodid", PRODUCT)
    calendar.add_component(_event(revision))
    data: bytes = calendar.to_ical()
    return data


def calendar_bytes(name: str, uid: str, revisions: Iterable[Revision]) -> bytes:
    """One calendar with these revisions, in their order; equal values give equal bytes.

    Args:
        name: what readers call the calendar.
        uid: permanent id of the calendar.
        revisions: its entries.
    """
    from icalendar import Calendar, vText

    calendar = Calendar()
    calendar.add("version", "2.0")
    calendar.add("prodid", PRODUCT)
    calendar.add("calscale", "GREGORIAN")
    calendar.add("uid", uid)
    for title in ("name", "x-wr-calname"):
        calendar.add(title, vText(name))  # icalendar does not know that these are text and need escapes
    calendar.add("refresh-interval", timedelta(days=1), parameters={"VALUE": "DURATION"})
    for revision in revisions:
        calendar.add_component(_event(revision))
    data: bytes = calendar.to_ical()
    return data


def _event(revision: Revision) -> Event:
    from icalendar import Alarm, Event

    entry = revision.entry
    event = Event()
    event.add("uid", entry.uid)
    event.add("dtstamp", revision.stamp)
    event.add("last-modified", revision.stamp)
    event.add("sequence", revision.sequence)
    event.add("summary", entry.summary)
    event.add("dtstart", entry.start)
    event.add("dtend", entry.end)
    event.add("status", "CANCELLED" if revision.cancelled else entry.status)
    event.add("transp", "TRANSPARENT")
    event.add("categories", list(entry.categories))
    if entry.description:
        event.add("description", entry.description)
    if entry.link:
        event.add("url", entry.link)
    if entry.alarm_minutes is not None and not revision.cancelled:
        alarm = Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("description", entry.alarm_text)
        alarm.add("trigger", -timedelta(minutes=entry.alarm_minutes))
        event.add_component(alarm)
    return event
