"""Numbered copies of the book in the folder `PATH.backups`."""

from __future__ import annotations

import contextlib
import re
from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from showrunner.domain.book import Book
from showrunner.domain.record import record
from showrunner.domain.zone import is_zone
from showrunner.errors import UnknownThing
from showrunner.storage.atomic import make_folders, write_whole

KEPT = 30
"""Most backups that are kept; beyond it the oldest are dropped."""

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
    zone = book.house.zone if is_zone(book.house.zone) else "UTC"
    return now().astimezone(ZoneInfo(zone)).date()


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


def find(book: Path, number: int) -> Backup:
    """The backup of that number.

    Raises:
        UnknownThing: there is none.
    """
    backups = backups_of(book)
    for backup in backups:
        if backup.number == number:
            return backup
    there = f"choose one of {', '.join(str(b.number) for b in backups)}" if backups else "there are no backups yet"
    raise UnknownThing(f"there is no backup {number}", str(book), there)


def add(book: Path, data: bytes, day: date, reason: str) -> Backup:
    """Keep `data` as the next backup and drop the oldest beyond :data:`KEPT`.

    Raises:
        CannotWrite: the copy cannot be written.
    """
    present = backups_of(book)
    number = present[-1].number + 1 if present else 1
    slug = re.sub(r"[^a-z0-9]+", "-", reason.lower()).strip("-") or "kept"
    path = folder_of(book) / f"{number:04d}-{day.isoformat()}-{slug[:60]}.json"
    make_folders(path.parent)
    write_whole(path, data)
    for old in present[: max(0, len(present) + 1 - KEPT)]:
        with contextlib.suppress(OSError):
            old.path.unlink()
    return Backup(number, day, slug[:60].replace("-", " "), path, len(data))
