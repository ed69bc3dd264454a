"""A file of any known kind, read and compared with the book."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

from showrunner.domain.book import Book
from showrunner.errors import BadInput
from showrunner.intake import cells
from showrunner.intake.columns import Kind, kind_of
from showrunner.intake.episodes import bring_episodes, episode_columns, listed_in_feed, listed_in_sheet
from showrunner.intake.exchange_file import bring_exchange, looks_like_exchange
from showrunner.intake.findings import Asked, Intake, Question
from showrunner.intake.pieces import bring_pieces
from showrunner.intake.table import find_sheet
from showrunner.storage.csv_text import Sheet, Unit, cell_text, read_records
from showrunner.storage.feed_text import looks_like_feed, read_feed
from showrunner.storage.file_errors import words
from showrunner.storage.file_size import MAX_BYTES
from showrunner.storage.ordinary import NotOrdinary, TooLarge, read_ordinary
from showrunner.storage.workbook import looks_like_workbook, read_workbook


def read_file(path: Path) -> bytes:
    """The bytes of a file that is to be brought in.

    Raises:
        BadInput: there is none, it is a folder, it cannot be read, or it is far too large.
    """
    try:
        return read_ordinary(path, 4 * MAX_BYTES)
    except NotOrdinary as odd:
        raise BadInput(f"this is {odd.kind}", str(path), "give a file") from odd
    except TooLarge as large:
        raise BadInput(str(large), str(path), "split it into parts") from large
    except FileNotFoundError as error:
        raise BadInput("there is no such file", str(path), "look at its name and folder") from error
    except OSError as error:
        raise BadInput(f"it cannot be read ({words(error)})", str(path), "name a file that you may read") from error
    except ValueError as error:
        raise BadInput("this is no file name", repr(str(path)), "name a file") from error


def bring_in(book: Book, data: bytes, name: str, today: date, asked: Asked) -> Intake:
    """Compare a file with the book: a sheet of pieces or of episodes, a feed, or an exchange file.

    Args:
        book: the book.
        data: the file.
        name: its name, for the sentences.
        today: the present day.
        asked: how it is to be read.

    Raises:
        BadInput: it is none of these, or what was asked for does not go with it.
    """
    if asked.kind is Kind.BOOK or looks_like_exchange(data, name):
        if asked.kind not in (None, Kind.BOOK):
            raise BadInput(f"it holds a whole book and is no sheet of {asked.kind}", name, "leave out --as")
        return bring_exchange(book, data, name)
    if looks_like_feed(data):
        listed = listed_in_feed(read_feed(data, name, book.house.zone))
        return bring_episodes(book, listed, name, today, asked, unit=Unit.ENTRY)
    if looks_like_workbook(data):
        records = read_workbook(data, name, asked.sheet, asked.first_days)
    elif asked.sheet:
        raise BadInput("it has no sheets to choose from", name, "leave out --sheet")
    else:
        records = read_records(data, name)
    sheet = find_sheet(records, book, name, asked)
    found = _compared(book, sheet, name, today, asked)
    return replace(found, questions=(*found.questions, Question.FIRST_DAYS)) if records.first_days else found


def _compared(book: Book, sheet: Sheet, name: str, today: date, asked: Asked) -> Intake:
    """A sheet of pieces or of episodes compared with the book."""
    kind = asked.kind or kind_of([cell_text(column) for column in sheet.columns], book, name)
    if kind is Kind.PIECES:
        return bring_pieces(book, sheet, name, today, asked)
    columns = episode_columns(book, sheet, name, asked)
    listed = listed_in_sheet(sheet, columns, asked.day_first)
    dates = [at for at, column in enumerate(columns) if column.field in ("published", "planned")]
    told = cells.dotted(row.cells[at] for row in sheet.rows for at in dates) if asked.day_first is None else ()
    for at, column in enumerate(columns):
        if column.field == "missed":
            told += cells.crossed(column.name, (row.cells[at] for row in sheet.rows))
    return bring_episodes(book, listed, name, today, asked, columns, (*sheet.notes, *told), sheet.unit)
