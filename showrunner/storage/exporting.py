"""The book as a folder of files that other programs read: every table as CSV, the whole book as JSON, its schema.

The JSON is written first. Where it stands, the folder is known as an export, and another one may replace what is
there, also after one that a full disk cut short. Nothing else in the folder is touched.
"""

from __future__ import annotations

import json
from pathlib import Path

from showrunner.domain import words
from showrunner.domain.book import TABLES, Book
from showrunner.domain.record import record
from showrunner.errors import BadInput, CannotWrite
from showrunner.storage.atomic import make_folders, sweep_beside, write_whole
from showrunner.storage.csv_tables import to_csv_tables
from showrunner.storage.csv_text import write_sheet
from showrunner.storage.exchange import FORMAT, SCHEMA_FILE, published_schema, to_exchange
from showrunner.storage.file_errors import cannot_write

BOOK_FILE = "book.json"
"""Name of the exchange file in an export."""


@record
class ExportedFile:
    """One file of an export."""

    name: str
    """Its name."""
    rows: int | None
    """How many records it holds; None for the schema."""
    data: bytes
    """Its content."""


def exported_files(book: Book) -> tuple[ExportedFile, ...]:
    """The files of an export, in the order in which they are written.

    Raises:
        BadInput: some text of the book cannot be written; the sentence names the file.
    """
    records = sum(len(getattr(book, table)) for table in TABLES)
    found = [
        ExportedFile(BOOK_FILE, records, to_exchange(book)),
        ExportedFile(SCHEMA_FILE, None, published_schema()),
    ]
    for name, (columns, rows) in to_csv_tables(book).items():
        try:
            found.append(ExportedFile(name, len(rows), write_sheet(columns, rows)))
        except BadInput as error:
            raise BadInput(error.what, f"{name}, {error.where}", error.way_out) from error
    return tuple(found)


def export(book: Book, folder: Path, like: Path | None = None) -> tuple[ExportedFile, ...]:
    """Write the book into a folder; each file whole or not at all.

    Args:
        book: the book.
        folder: where to; it and the folders above it are made if missing.
        like: the file that what is new is to be as private as; None for as the system makes files.

    Returns:
        The files, in the order in which they were written. A file that held these bytes already is not touched.

    Raises:
        BadInput: some text of the book cannot be written; nothing was.
        CannotWrite: a file has the folder's name, a file that no export wrote would be replaced, or the system
            refused; files written before it did are whole.
    """
    files = exported_files(book)
    try:
        folder = folder.resolve()
        make_folders(folder, like)
        stale = [file for file in files if not _holds(folder / file.name, file.data)]
        _refuse_foreign(folder, files)
    except OSError as error:
        raise cannot_write(folder, error) from error
    except (ValueError, RuntimeError):  # a zero byte in the name; links that lead to each other
        raise CannotWrite("this is no name of a folder", repr(str(folder)), "choose another name") from None
    for file in stale:
        sweep_beside(folder / file.name)
        write_whole(folder / file.name, file.data, like=like)
    return files


def _holds(path: Path, data: bytes) -> bool:
    """Whether there is a plain file with these bytes."""
    return _is_plain(path) and path.stat().st_size == len(data) and path.read_bytes() == data


def _is_plain(path: Path) -> bool:
    """Whether there is a file at a path that is no link."""
    return path.is_file() and not path.is_symlink()


def _refuse_foreign(folder: Path, files: tuple[ExportedFile, ...]) -> None:
    """Refuse to replace what no export wrote.

    Raises:
        CannotWrite: there is such a file.
    """
    present = [
        folder / file.name for file in files if (folder / file.name).is_symlink() or (folder / file.name).exists()
    ]
    odd = next((path for path in present if not _is_plain(path)), None)
    if odd is not None:
        what = "it is a folder" if odd.is_dir() and not odd.is_symlink() else "it is a link or no plain file"
        raise CannotWrite(f"it was not replaced, {what}", str(odd), "choose another folder for the export")
    if present and not _is_export(folder / BOOK_FILE):
        more = f" and {words.count(len(present) - 1, 'other file')}" if len(present) > 1 else ""
        what = f"it is there already{more} and no export wrote it, so nothing was written"
        raise CannotWrite(what, str(present[0]), "choose another folder for the export")


def _is_export(path: Path) -> bool:
    """Whether a file is the exchange file of an earlier export."""
    try:
        tree = json.loads(path.read_bytes()) if _is_plain(path) else None
    except (ValueError, RecursionError):
        tree = None
    return isinstance(tree, dict) and tree.get("format") == FORMAT
