"""Workbooks (.xlsx, .xlsm, .xls, .ods) as rows of text, each cell as it is shown and never firmer.

What is decided here:

- *Dates* keep what their cell shows (`workbook_forms`): a cell that shows `Aug 2024` gives `2024-08` though it holds a
  day. An .xls does not tell how a cell is shown: a column whose dates all fall on the first of a month gives months,
  or years if all fall on 1 January, unless somebody says that the days are meant.
- *Numbers* are written without a needless `.0`; `007` stays if it is text or shown so.
- *Merged cells* give their value to all their rows that have something else in them.
- *The sheet* is the one named, or else the only visible one with something in it; with several it is asked.
- *Limits* are those of sheets, and they are tried before a library lays the cells out: one cell far away from the
  others would make it ask for more memory than there is.
"""

from __future__ import annotations

import io
import re
import zipfile
import zlib
from collections.abc import Iterator, Sequence
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from showrunner.domain import words
from showrunner.errors import BadInput
from showrunner.storage.csv_text import MAX_COLUMNS, Records, Unit, is_open_document
from showrunner.storage.file_size import MAX_BYTES, MAX_ROWS, too_large
from showrunner.storage.workbook_forms import Forms, Shows, forms_of_ods, forms_of_xlsx

if TYPE_CHECKING:
    from python_calamine import CalamineWorkbook

MAX_UNPACKED = 10 * MAX_BYTES
"""Most bytes that a packed workbook may unpack to."""

_OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_MARK_XLSX, _MARK_ODS, _MARK_MACROS = "xl/workbook.xml", "content.xml", "xl/vbaProject.bin"
_NO_FORMS = Forms({}, 0, 0, (), ())


class WhichSheet(BadInput):
    """Several sheets could be meant; `sheets` holds their names."""

    def __init__(self, name: str, sheets: Sequence[str]) -> None:
        self.sheets = tuple(sheets)
        told = words.some([f"'{words.short(sheet)}'" for sheet in sheets])
        super().__init__(f"it has {len(sheets)} sheets: {told}", name, "say which one with --sheet NAME")


def looks_like_workbook(data: bytes) -> bool:
    """Whether a file begins as a workbook does; it may still be damaged, or another office document."""
    if data.startswith(_OLE):
        return "Workbook".encode("utf-16-le") in data or _is_locked(data) or "Book".encode("utf-16-le") in data
    return data.startswith(b"PK\x03\x04") and (b"xl/workbook" in data or is_open_document(data))


def read_workbook(data: bytes, name: str, wanted: str = "", first_days: bool | None = None) -> Records:
    """Read one sheet of a workbook.

    Args:
        data: the bytes of the file.
        name: name of the file, for the sentences.
        wanted: name of the sheet; empty for the only one.
        first_days: whether the day is meant where all dates of a column fall on the first of a month and the file does
            not tell how they are shown; None if nobody says.

    Returns:
        Its rows that have something in them, each with its number.

    Raises:
        WhichSheet: it has several sheets and none is named.
        BadInput: it is locked, damaged or too large, or has no such sheet.
    """
    import python_calamine as calamine

    members = _looked_at(data, name)
    if members and _MARK_XLSX not in members:  # the library lays all sheets of an .ods out as it opens one
        any_sheet = _forms(data, members, "", name)
        _refuse_far(any_sheet.height, any_sheet.width, name)
    try:
        book = calamine.CalamineWorkbook.from_filelike(io.BytesIO(data))
        sheet = _chosen(book, wanted, name)
        forms = _forms(data, members, sheet, name)
        _refuse_far(forms.height, forms.width, name)
        table = book.get_sheet_by_name(sheet)
        if table.end:
            _refuse_far(table.end[0] + 1, table.end[1] + 1, name)
        cells = table.to_python(skip_empty_area=False)
        merged = table.merged_cell_ranges or forms.merged
    except calamine.PasswordError as error:
        raise _locked(name) from error
    except (calamine.CalamineError, calamine.XmlError, calamine.ZipError) as error:
        raise _damaged(name) from error
    notes = [f"Sheet '{words.short(sheet)}' is read."] if len(book.sheet_names) > 1 else []
    if _MARK_MACROS in members:
        notes.append("It has macros, which are never run.")
    notes += _unvalued(cells, forms)
    firsts = {} if members else _firsts(cells)
    if firsts and first_days is None:
        columns = words.listing([_letters(c) for c in firsts])
        notes.append(
            f"All dates in column {columns} fall on the first of a month, and the file does not tell whether days were "
            "meant: they are read without the day. --first-days reads them as days."
        )
    whole, vague = Shows(), {} if first_days else firsts
    texts = [
        [_text(value, forms.shows.get((r, c)) or vague.get(c, whole)) for c, value in enumerate(row)]
        for r, row in enumerate(cells)
    ]
    filled = [any(cell.strip() for cell in row) for row in texts]
    for (top, left), (bottom, _) in merged:
        for row in range(top + 1, min(bottom + 1, len(texts))):
            if not texts[row][left]:
                texts[row][left] = texts[top][left]
    rows = tuple((at, row) for at, row in enumerate(texts, 1) if filled[at - 1])
    if not rows:
        raise BadInput(f"its sheet '{words.short(sheet)}' is empty", name, "give one with column names")
    return Records(rows, notes=tuple(notes), unit=Unit.ROW, first_days=bool(firsts) and first_days is None)


_LOCKED_XLS = re.compile(rb"\x09\x08\x10\x00.{16}(?:\x86\x00\x00\x00)?\x2f\x00", re.DOTALL)
"""The first records of a locked .xls: BOF, perhaps WriteProtect, FilePass ([MS-XLS] 2.1.7.20.3, from memory)."""


def _is_locked(data: bytes) -> bool:
    """Whether a workbook in an OLE file is locked: a newer one as a packed part, an .xls from its second record on."""
    return "EncryptedPackage".encode("utf-16-le") in data or bool(_LOCKED_XLS.search(data))


def _locked(name: str) -> BadInput:
    return BadInput("it is locked with a password", name, "save a copy without one and give that")


def _damaged(name: str) -> BadInput:
    return BadInput("this workbook is damaged", name, "open it in a spreadsheet program and save it again")


def _looked_at(data: bytes, name: str) -> frozenset[str]:
    """The names of the parts of a packed workbook, none for an .xls, once it is known to be small and whole.

    Raises:
        BadInput: it is too large, locked or damaged.
    """
    if told := too_large(len(data)):
        raise BadInput(f"its {told}", name, "split it into parts")
    if data.startswith(_OLE):
        if _is_locked(data):
            raise _locked(name)
        return frozenset()
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as parts:
            if told := too_large(sum(part.file_size for part in parts.infolist()), MAX_UNPACKED):
                raise BadInput(f"unpacked, its {told}", name, "split it into parts")
            if parts.testzip() is not None:
                raise _damaged(name)
            manifest = "META-INF/manifest.xml"
            if manifest in parts.namelist() and b"encryption-data" in parts.read(manifest):
                raise _locked(name)
            return frozenset(parts.namelist())
    except RuntimeError as error:  # a part is locked
        raise _locked(name) from error
    except (zipfile.BadZipFile, zlib.error, NotImplementedError, EOFError, OSError) as error:
        raise _damaged(name) from error


def _chosen(book: CalamineWorkbook, wanted: str, name: str) -> str:
    """The name of the sheet that is meant.

    Raises:
        WhichSheet: several can be.
        BadInput: there is none.
    """
    from python_calamine import SheetTypeEnum, SheetVisibleEnum

    sheets = [sheet for sheet in book.sheets_metadata if sheet.typ == SheetTypeEnum.WorkSheet]
    if wanted:
        found = next((s.name for s in sheets if s.name.strip().casefold() == wanted.strip().casefold()), None)
        if found is None:
            names = words.some([f"'{words.short(sheet.name)}'" for sheet in sheets])
            raise BadInput(f"it has no sheet '{words.short(wanted)}'", name, f"choose one of {names}")
        return found
    visible = [sheet.name for sheet in sheets if sheet.visible == SheetVisibleEnum.Visible]
    if not visible:
        raise BadInput("it has no sheet that can be seen", name, "name a hidden one with --sheet NAME")
    if len(visible) > 1:
        raise WhichSheet(name, visible)
    (only,) = visible
    return only


def _forms(data: bytes, members: frozenset[str], sheet: str, name: str) -> Forms:
    """How the cells are shown; nothing is known of an .xls.

    Raises:
        BadInput: the workbook is damaged.
    """
    try:
        if _MARK_XLSX in members:
            return forms_of_xlsx(data, sheet)
        return forms_of_ods(data, sheet) if _MARK_ODS in members else _NO_FORMS
    except (ValueError, KeyError, TypeError, AttributeError, IndexError, SyntaxError, OSError) as error:
        raise _damaged(name) from error


def _refuse_far(height: int, width: int, name: str) -> None:
    """Refuse a sheet that reaches too far.

    Raises:
        BadInput: it has too many columns or rows.
    """
    if width > MAX_COLUMNS or height > MAX_ROWS:
        most = f"the {MAX_ROWS:,} rows and {MAX_COLUMNS} columns that are read"
        what = f"a sheet of it reaches to row {height:,} and column {width:,}, beyond {most}"
        raise BadInput(what, name, "take out what stands far away from the table, or split it into parts")


def _unvalued(cells: list[list[Any]], forms: Forms) -> Iterator[str]:
    """A sentence on the formulas whose values the file does not hold."""
    empty = [
        (r, c) for r, c in forms.formulas if r >= len(cells) or c >= len(cells[r]) or cells[r][c] == ""
    ]  # a sheet ends with its last value
    if empty:
        r, c = empty[0]
        told = f"{words.count(len(empty), 'formula')} without a value, the first in {_letters(c)}{r + 1}"
        yield f"It has {told}: left empty. A spreadsheet program that opens and saves the file fills them in."


def _letters(column: int) -> str:
    """A column as spreadsheets call it: A, B, ..., AA."""
    text = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        text = chr(ord("A") + rest) + text
    return text


def _firsts(cells: list[list[Any]]) -> dict[int, Shows]:
    """What may be meant in each column whose dates all fall on the first of a month: months, or years."""
    found: dict[int, Shows] = {}
    for c, column in enumerate(zip(*cells, strict=True)):
        days = [value for value in column if isinstance(value, date)]
        if days and all(day.day == 1 for day in days):
            found[c] = Shows(day=False, month=any(day.month != 1 for day in days))
    return found


def _text(value: str | float | date | time | timedelta, shows: Shows) -> str:
    """A cell as text."""
    if isinstance(value, str):
        return value
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return _number(value, shows)
    if isinstance(value, datetime):
        clock = f" {value:%H:%M}" if (value.hour or value.minute) and shows.day else ""
        return _date(value, shows) + clock
    if isinstance(value, date):
        return _date(value, shows)
    if isinstance(value, time):
        return f"{value:%H:%M}" if value.second == 0 else f"{value:%H:%M:%S}"
    seconds = round(value.total_seconds())
    return f"{seconds // 3600}:{seconds // 60 % 60:02}:{seconds % 60:02}"


def _number(value: float, shows: Shows) -> str:
    """A number without noise: `7`, `1.25`, `007` where it is shown so, `75%`."""
    exact = Decimal(f"{value * (100 if shows.percent else 1):.15g}")
    text = f"{exact:f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return text.zfill(shows.digits) + ("%" if shows.percent else "")


def _date(value: date, shows: Shows) -> str:
    """A date as far as it is shown; one that is shown without a year is a day of no year."""
    if not shows.year:
        return f"{value.day if shows.day else ''} {value:%b}".strip()
    if not shows.month:
        return f"{value.year:04}"
    return f"{value.year:04}-{value.month:02}" + (f"-{value.day:02}" if shows.day else "")
