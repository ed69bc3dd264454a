"""Restoring a backup over a book that is not open: the way back from a damaged file."""

from __future__ import annotations

import os
from pathlib import Path

from showrunner.domain.words import day as day_words
from showrunner.errors import BookDamaged
from showrunner.storage import backups
from showrunner.storage.atomic import write_whole
from showrunner.storage.backups import Backup, Now, day_of
from showrunner.storage.book_reading import load_backup, load_book, refuse_no_book
from showrunner.storage.file_errors import cannot_write, read_only
from showrunner.storage.lock import WriterLock
from showrunner.storage.ordinary import is_read_only, is_there, real_path


def backups_of(path: Path) -> tuple[Backup, ...]:
    """The backups of the book at `path`, oldest first."""
    return backups.backups_of(real_path(path))


def restore(path: Path, number: int, *, now: Now) -> list[str]:
    """Restore a backup without opening the book; see `Session.restore_file`."""
    real = real_path(path)
    refuse_no_book(path, real)
    backup = backups.find(real, number)
    there = is_there(real)
    if there and is_read_only(real):
        raise read_only(path)
    lock = WriterLock(real)
    try:
        tables, _ = load_backup(path, backup)
        done = _clear_the_way(path, real, now) if there else []
        write_whole(real, tables.storage.saved, like=backup.path)
    finally:
        lock.release()
    return [*done, f"Backup {number} of {day_words(backup.day)} ({backup.reason}) is the book now."]


def _clear_the_way(path: Path, real: Path, now: Now) -> list[str]:
    """Keep what is at `real` before it is replaced: as a backup if it is a good book, else aside, untouched."""
    try:
        tables, book = load_book(path, real)
    except BookDamaged:
        return [f"The file as it was is kept untouched as {_put_aside(real)}."]
    kept = backups.add(real, tables.storage.saved, day_of(now, book), "before restore")
    return [f"The book as it was is kept as backup {kept.number}."]


def _put_aside(real: Path) -> Path:
    """Give the file a second name that is free; where that cannot be done, move it there."""
    number = 1
    while (aside := real.with_name(f"{real.name}.damaged-{number}")).exists():
        number += 1
    try:
        try:
            os.link(real, aside)
        except OSError:
            real.rename(aside)
    except OSError as error:
        raise cannot_write(aside, error) from error
    return aside
