"""Reading a book file, with the way out where it cannot be read."""

from __future__ import annotations

import shlex
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import Any

from showrunner.domain.book import TABLES, Book
from showrunner.domain.consistency import problems
from showrunner.domain.words import day as day_words
from showrunner.errors import BadInput, BookDamaged
from showrunner.storage import backups, journal
from showrunner.storage.backups import Backup
from showrunner.storage.book_storage import BookTables
from showrunner.storage.book_text import JOURNAL, META, Unreadable
from showrunner.storage.file_errors import words
from showrunner.storage.migrations import NewerLayout
from showrunner.storage.odd_text import odd_fields
from showrunner.storage.ordinary import NotOrdinary, is_there, real_path, refuse_odd
from showrunner.storage.records import BadRecord, meta_fields, read_rows


def refuse_no_book(path: Path, real: Path) -> None:
    """Refuse what cannot be a book: a folder, a pipe, a device, a name that cannot be; `path` is its name in the error.

    Raises:
        BadInput: it is no ordinary file, or what it is cannot be told.
    """
    try:
        refuse_odd(real)
    except NotOrdinary as odd:
        raise BadInput(f"this is {odd.kind}, not a book", str(path), "name the book file") from None
    except NotADirectoryError:
        return
    except OSError as error:
        raise BadInput(f"it cannot be reached, {words(error)}", str(path), "name a book that you may read") from None
    except ValueError:
        raise BadInput("this is no file name", str(path), "name the book file") from None


def is_book(path: Path | str) -> bool:
    """Whether there is a file at a path, of which only its reading can tell whether it is a book.

    Raises:
        BadInput: it is no ordinary file, or what it is cannot be told.
    """
    real = real_path(Path(path))
    refuse_no_book(Path(path), real)
    return is_there(real)


def load_book(path: Path, real: Path, *, steps: bool = True) -> tuple[BookTables, Book]:
    """Read the book at `real`; `path` is its name in errors.

    Args:
        path: the name the book was asked for by.
        real: the file.
        steps: whether its undo steps are read too; without them the book cannot be undone.

    Raises:
        BookDamaged: it cannot be read.
    """
    try:
        return _read_file(real, steps=steps)
    except NewerLayout as error:
        what, way_out = f"{error}, and nothing was changed", "use that newer version"
    except OSError as error:
        what, way_out = f"it cannot be read, {words(error)}", "allow reading it, or restore a backup"
    except (Unreadable, BadRecord) as error:
        what, way_out = f"{error}; it is left as it is", _repair(path, real)
    raise BookDamaged(what, str(path), way_out)


def load_backup(path: Path, backup: Backup) -> tuple[BookTables, Book]:
    """Read a backup of the book at `path`.

    Raises:
        BookDamaged: it cannot be read.
    """
    try:
        return _read_file(backup.path)
    except (OSError, Unreadable, BadRecord) as error:
        what = words(error) if isinstance(error, OSError) else str(error)
        raise BookDamaged(
            f"backup {backup.number} cannot be restored ({what})", str(path), "choose another backup"
        ) from error


def _read_file(real: Path, *, steps: bool = True) -> tuple[BookTables, Book]:
    tables = BookTables(real)
    tables.storage.load(without=() if steps else (JOURNAL,))
    for document in tables.records(JOURNAL).in_order():
        journal.read_step(document)
    return tables, read_book(tables)


def read_book(tables: BookTables) -> Book:
    """The book that the tables hold.

    Raises:
        BadRecord: a document is no record of its table.
    """
    return read_again(tables, Book(""), {META, *TABLES}, {})


def read_again(tables: BookTables, book: Book, names: set[str], known: Mapping[str, Mapping[int, Any]]) -> Book:
    """The book with the named tables read again, except for the records in `known`.

    Raises:
        BadRecord: a document is no record of its table.
    """
    fields: dict[str, Any] = {}
    for name in names:
        rows = tables.records(name).in_order()
        fields |= meta_fields(rows[0]) if name == META else {name: read_rows(name, rows, known.get(name, {}))}
    return replace(book, **fields)


def _repair(path: Path, real: Path) -> str:
    """The way out of a damaged book: to leave its undo steps, if they are all that is damaged, or a backup.

    The backup is the newest of which nothing is amiss and that can be saved, else the newest that can be read.
    """
    command = f"showrunner --book {shlex.quote(str(path))}"
    with suppress(OSError, Unreadable, BadRecord):
        _read_file(real, steps=False)
        return f"its undo steps are all that is damaged, so leave them with `{command} check --mend --write`"
    readable = None
    for backup in reversed(backups.backups_of(real)):
        with suppress(OSError, Unreadable, BadRecord):
            tables, book = _read_file(backup.path)
            readable = readable or backup
            if not problems(book) and not any(odd_fields(tables.storage.read())):
                readable = backup
                break
    if readable:
        return f"go back to the backup of {day_words(readable.day)} with `{command} restore {readable.number}`"
    return "there is no backup to go back to, so mend it by hand or start another book"
