"""The plan as a calendar file that readers can subscribe to.

The book's calendar log remembers what was last exported about each entry. An entry that changed
in anything exported gets a higher SEQUENCE and a new stamp; one that was dropped is exported as
CANCELLED for 90 days; one that did not change is exported byte for byte as before, whatever the
time of day. A slot of usual content that is over for 90 days leaves the calendar and the log.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.publication import CalendarEntry
from showrunner.domain.record import record
from showrunner.domain.rules import Board
from showrunner.domain.slot import Slot, SlotRef
from showrunner.errors import CannotWrite, OthersCalendar
from showrunner.ical.entry import Entry, clean, make_uid
from showrunner.ical.plan_entries import USUAL, entries, kept_uids, usual_uid
from showrunner.ical.writer import PRODUCT, Revision, calendar_bytes
from showrunner.planning.results import WorkPlan
from showrunner.planning.slots import expand
from showrunner.storage.atomic import sweep_beside, write_whole
from showrunner.storage.file_errors import cannot_write
from showrunner.storage.ordinary import read_ordinary, real_path

CANCELLED_STAYS = timedelta(days=90)
"""How long an entry that was dropped is told as cancelled; calendars that ask now and then have heard of it by then."""

PLANNED = timedelta(weeks=78)
"""How far ahead slots of usual content are told: as far as is planned."""

__all__ = ["Export", "entries", "export_calendar", "render", "usual_slots", "write"]


@record
class Export:
    """A calendar ready to be written, and what it tells that is new."""

    data: bytes
    """The calendar file."""
    log: tuple[CalendarEntry, ...]
    """The calendar log to keep in the book; equal to the book's if nothing changed."""
    added: int
    """Entries told for the first time, or again after they were cancelled."""
    changed: int
    """Entries told anew with a higher SEQUENCE."""
    cancelled: int
    """Entries told as CANCELLED for the first time."""
    unchanged: int
    """Entries told as before, those cancelled earlier among them."""


def export_calendar(book: Book, work: WorkPlan, now: datetime, usual: tuple[Slot, ...] = ()) -> Export:
    """The calendar of the book and its dated work.

    Args:
        book: the book; each episode stands in its own slot.
        work: the dated work of its plan.
        now: the present instant, UTC; only new revisions carry it.
        usual: the slots in which no episode stands.

    Raises:
        BadInput: a slot rule names an unknown zone.
        BookDamaged: the book's id or its calendar log cannot be read.
    """
    data, log = render(book, entries(book, work, _slots(book), usual), book.calendar, now)
    before = {line.id: line for line in book.calendar}
    added = changed = cancelled = 0
    for line in log:
        old = before.get(line.id)
        if old is None or (old.cancelled and not line.cancelled):
            added += 1
        elif line.cancelled and not old.cancelled:
            cancelled += 1
        elif line != old:
            changed += 1
    there = sum(not has_left(line, now) for line in log)
    return Export(data, log, added, changed, cancelled, there - added - changed - cancelled)


def _slots(book: Book) -> tuple[Slot, ...]:
    """The slots episodes stand in; a slot that no rule gives any longer is left out."""
    days: dict[str, set[date]] = {}
    for episode in book.episodes:
        if episode.slot:
            days.setdefault(episode.slot.rule, set()).add(episode.slot.day)
    rules = [rule for rule in book.rules if rule.id in days]
    every = (expand([rule], min(days[rule.id]), max(days[rule.id])) for rule in rules)
    return tuple(slot for slots in every for slot in slots if slot.day in days[slot.rule])


def usual_slots(book: Book, today: date) -> tuple[Slot, ...]:
    """The slots of the plan in which no episode stands, and those of the last 90 days that calendars know already.

    Raises:
        BadInput: a slot rule names an unknown zone.
    """
    board, told = Board(book), {line.id for line in book.calendar}
    taken = {episode.slot for episode in book.episodes if episode.slot}
    for line in book.publications:
        if line.episode:
            came = line.actual.latest if line.actual and line.actual.is_exact else None
            taken.update(SlotRef(day, line.rule) for day in (line.planned, came) if day)
    every = expand(book.rules, max(today, date.min + CANCELLED_STAYS) - CANCELLED_STAYS, _beyond(today))
    free = (slot for slot in every if slot.ref not in taken and not board.is_silent(slot.day))
    return tuple(slot for slot in free if slot.day >= today or usual_uid(book, slot.ref) in told)


def _beyond(today: date) -> date:
    return date.max if today > date.max - PLANNED else today + PLANNED


def render(
    book: Book, fresh: tuple[Entry, ...], log: tuple[CalendarEntry, ...], now: datetime
) -> tuple[bytes, tuple[CalendarEntry, ...]]:
    """The calendar file and the new log.

    Args:
        book: gives the calendar its name and says what has happened and is therefore kept.
        fresh: the entries the calendar should hold now.
        log: what was exported last.
        now: the present instant, UTC.

    Returns:
        The bytes of the calendar, and the log with old lines in their order and new ones after them.
    """
    stamp = now.astimezone(UTC).replace(microsecond=0)
    texts = {entry.uid: entry.to_text() for entry in fresh}
    known = {texts[entry.uid]: entry for entry in fresh}
    told = _revise(log, texts, kept_uids(book), stamp)
    name = clean(words.listing([series.name for series in book.series])) or "Showrunner"
    return calendar_bytes(name, calendar_uid(book), revisions(told, stamp, known)), told


def revisions(
    log: tuple[CalendarEntry, ...], now: datetime, known: Mapping[str, Entry] | None = None
) -> tuple[Revision, ...]:
    """The entries that a log tells of, by start, without those that were cancelled long ago.

    Args:
        log: the log.
        now: the present instant, UTC.
        known: entries by their canonical text, which need not be read again.
    """
    known = known or {}
    there = (line for line in log if not has_left(line, now))
    found = (
        Revision(known.get(t.content) or Entry.from_text(t.content), t.sequence, t.stamp, t.cancelled) for t in there
    )
    return tuple(sorted(found, key=lambda revision: (revision.entry.start.isoformat(), revision.entry.uid)))


def calendar_uid(book: Book) -> str:
    """The UID of the calendar of a book, which stands in its file."""
    return make_uid(book.key, "calendar")


def _revise(
    log: tuple[CalendarEntry, ...], fresh: dict[str, str], kept: frozenset[str], stamp: datetime
) -> tuple[CalendarEntry, ...]:
    """The log after telling `fresh` (canonical text by UID); a stamp never goes back when a clock did."""
    told: list[CalendarEntry] = []
    fresh = dict(fresh)
    for old in log:
        text = fresh.pop(old.id, None)
        if text is None and old.id not in kept and _is_past(old, stamp):
            continue
        if text is None and not old.cancelled and old.id not in kept:
            told.append(replace(old, sequence=old.sequence + 1, stamp=max(stamp, old.stamp), cancelled=True))
        elif text is not None and (old.cancelled or text != old.content):
            told.append(CalendarEntry(old.id, old.sequence + 1, max(stamp, old.stamp), text))
        else:
            told.append(old)
    return (*told, *(CalendarEntry(uid, 0, stamp, text) for uid, text in fresh.items()))


def _is_past(line: CalendarEntry, now: datetime) -> bool:
    """Whether it is a slot of usual content that was over 90 days ago."""
    if f'"{USUAL}"' not in line.content:  # reading each takes long
        return False
    entry = Entry.from_text(line.content)
    end = entry.end
    return USUAL in entry.categories and isinstance(end, datetime) and now - end > CANCELLED_STAYS


def has_left(line: CalendarEntry, now: datetime) -> bool:
    """Whether an entry was cancelled so long ago that the file holds it no more; the log keeps its revision."""
    return line.cancelled and now - line.stamp > CANCELLED_STAYS


def write(path: Path, data: bytes, uid: str, like: Path | None = None, *, replace: bool = False) -> bool:
    """Put the calendar file in place, whole or not at all.

    Args:
        path: the file; only a missing or empty file or an earlier calendar of the same book is replaced.
        data: its bytes.
        uid: UID of the calendar.
        like: the file that a new one is to be as private as; None for as the system makes files.
        replace: whether a calendar of another book is replaced too.

    Returns:
        Whether anything was written: a file that already holds these bytes is not touched.

    Raises:
        OthersCalendar: it is the calendar of another book, which is not to be replaced.
        CannotWrite: the file cannot be written or holds something else; it is as it was.
    """
    present = refuse_others(path, uid, replace=replace)
    if present == data:
        return False
    target = real_path(path)
    sweep_beside(target)
    write_whole(target, data, like=like)
    return True


def refuse_others(path: Path, uid: str, *, replace: bool) -> bytes:
    """Refuse a file that is not to be replaced; otherwise its bytes, none if there is no file.

    Args:
        path: the file.
        uid: UID of the calendar that is to be written there.
        replace: whether a calendar of another book may be replaced.

    Raises:
        OthersCalendar, CannotWrite: as `write`.
    """
    try:
        present = read_ordinary(real_path(path))
    except FileNotFoundError:
        return b""
    except OSError as error:
        raise cannot_write(path, error) from error
    except ValueError:
        raise CannotWrite("this is no file name", repr(str(path)), "choose another name") from None
    head, _, _ = present.partition(b"\r\nBEGIN:VEVENT\r\n")
    lines = head.split(b"\r\n")
    if present and f"PRODID:{PRODUCT}".encode() not in lines:
        raise CannotWrite("the file holds something else", str(path), "choose another name")
    if present and f"UID:{uid}".encode() not in lines and not replace:
        what = "another book wrote this calendar, so it is left as it is"
        raise OthersCalendar(what, str(path), "choose another name, or take it over with --replace")
    return present
