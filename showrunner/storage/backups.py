"""Numbered copies of the book in the folder `PATH.backups`: no two alike, and the fewer the older they are."""

from __future__ import annotations

import contextlib
import re
from collections.abc import Callable, Sequence
from datetime import date, datetime
from pathlib import Path

from showrunner.domain.book import Book
from showrunner.domain.record import record
from showrunner.domain.words import short, some
from showrunner.domain.zone import zone_or_utc
from showrunner.errors import UnknownThing
from showrunner.storage.atomic import make_folders, sweep, write_whole
from showrunner.storage.ordinary import read_ordinary

ALL_DAYS = 7
"""Days for which every copy is kept; what was told of its number holds as long."""
DAILY_DAYS = 31
"""Days for which one copy of each day is kept, for each reason."""
MONTHS = 24
"""Months for which one of each is kept, for each reason; then one of each year."""
MOST_BYTES = 200_000_000
"""Most they may take together; beyond it the oldest go, the last one of each reason after all others."""

Now = Callable[[], datetime]
"""Tells the present instant, UTC."""

_NAME = re.compile(r"(\d{4,})-(\d{4}-\d\d-\d\d)-(.+)\.json")


@record
class Backup:
    """One copy."""

    number: int
    """Its number; later copies have higher ones, and none is used again while later copies are kept."""
    day: date
    """Day it was made, in the zone of the house."""
    reason: str
    """Why it was made (`first save`, `before import`)."""
    path: Path
    """Where it is."""
    size: int
    """Bytes."""


def day_of(now: Now, book: Book) -> date:
    """The present day in the zone of the house, or in UTC if that zone is unknown here."""
    return now().astimezone(zone_or_utc(book.house.zone)).date()


def folder_of(book: Path) -> Path:
    """The folder of the book's backups."""
    return book.with_name(f"{book.name}.backups")


def backups_of(book: Path) -> tuple[Backup, ...]:
    """The backups of a book, oldest first; none if their folder is missing or cannot be read."""
    found = []
    with contextlib.suppress(OSError):
        for path in folder_of(book).iterdir():
            parts = _NAME.fullmatch(path.name)
            with contextlib.suppress(OSError, ValueError):
                if parts:
                    day = date.fromisoformat(parts[2])
                    reason = parts[3].replace("-", " ")
                    found.append(Backup(int(parts[1]), day, reason, path, path.stat().st_size))
    return tuple(sorted(found, key=lambda backup: backup.number))


def sweep_folder(book: Path) -> None:
    """Remove what a killed writer left beside the backups; only for whoever holds the book's lock."""
    sweep(folder_of(book), _NAME.pattern)


def find(book: Path, number: int) -> Backup:
    """The backup of that number.

    Raises:
        UnknownThing: there is none.
    """
    backups = backups_of(book)
    for backup in backups:
        if backup.number == number:
            return backup
    numbers = [str(backup.number) for backup in reversed(backups)]
    there = f"choose one of {some(numbers)}" if backups else "there are no backups yet"
    raise UnknownThing(f"there is no backup {short(str(number))}", str(book), there)


def add(book: Path, data: bytes, day: date, reason: str) -> Backup:
    """Keep `data` as the next backup, unless a recent one holds it already, and drop those that thin out.

    An older equal copy is not kept beside the new one. A copy is as private as the book.

    Returns:
        The backup that holds `data`: the new one, or the recent one.

    Raises:
        CannotWrite: the copy cannot be written.
    """
    present = backups_of(book)
    equal = [backup for backup in present if _holds(backup, data)]
    for backup in equal:
        if (day - backup.day).days < ALL_DAYS:
            return backup
    number = present[-1].number + 1 if present else 1
    slug = re.sub(r"[^a-z0-9]+", "-", reason.lower()).strip("-") or "kept"
    path = folder_of(book) / f"{number:04d}-{day.isoformat()}-{slug[:60]}.json"
    make_folders(path.parent, book)
    write_whole(path, data, like=book)
    made = Backup(number, day, slug[:60].replace("-", " "), path, len(data))
    others = [backup for backup in present if backup not in equal]
    for old in (*equal, *thinned_out((*others, made), day)):
        with contextlib.suppress(OSError):
            old.path.unlink()
    return made


def thinned_out(backups: Sequence[Backup], today: date) -> tuple[Backup, ...]:
    """The backups that are no longer kept; the newest one, and as space allows the last of each reason, always are.

    Args:
        backups: all of them, oldest first.
        today: the day by which they are old.
    """
    last = {backup.reason: backup for backup in backups}
    spans: set[object] = set()
    kept = []
    for backup in backups:
        span = _span(backup, today)
        if span not in spans or last[backup.reason] is backup:
            kept.append(backup)
        spans.add(span)
    size = sum(backup.size for backup in kept)
    for backup in sorted(kept[:-1], key=lambda backup: (last[backup.reason] is backup, backup.number)):
        if size > MOST_BYTES:
            kept.remove(backup)
            size -= backup.size
    return tuple(backup for backup in backups if backup not in kept)


def _span(backup: Backup, today: date) -> tuple[object, ...]:
    """The stretch of time of which one backup is kept for each reason."""
    age, day = (today - backup.day).days, backup.day
    if age < ALL_DAYS:
        return (backup.number,)
    if age < DAILY_DAYS:
        return backup.reason, day
    months = 12 * (today.year - day.year) + today.month - day.month
    return (backup.reason, day.year, day.month) if months <= MONTHS else (backup.reason, day.year)


def _holds(backup: Backup, data: bytes) -> bool:
    """Whether a backup has these bytes."""
    try:
        return backup.size == len(data) and read_ordinary(backup.path) == data
    except OSError:
        return False
