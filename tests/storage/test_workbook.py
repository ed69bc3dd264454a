"""Workbooks as rows of text: what a cell shows, which sheet, and what is refused.

The files are made by other writers (openpyxl, xlwt, odfpy); number formats are those of ECMA-376 part 1, 18.8.30 and
18.8.31, whose built-in numbers openpyxl lists.
"""

from __future__ import annotations

import datetime as dt
import io
import zipfile
from typing import Any

import openpyxl
import pytest
import xlwt
from odf import table, text
from odf.opendocument import OpenDocumentSpreadsheet

from showrunner.errors import BadInput
from showrunner.storage.csv_text import Records, Unit
from showrunner.storage.workbook import WhichSheet, looks_like_workbook, read_workbook
from showrunner.storage.workbook_forms import Shows, shows_of


def made(*cells: tuple[str, Any, str], sheets: int = 1) -> bytes:
    """An .xlsx with these cells, each with its number format, on the first of some sheets."""
    book = openpyxl.Workbook()
    for at in range(1, sheets):
        book.create_sheet(f"more {at}")
    page = book.worksheets[0]
    for place, value, form in cells:
        page[place] = value
        if form:
            page[place].number_format = form
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def with_part(data: bytes, name: str, held: bytes) -> bytes:
    out = io.BytesIO(data)
    with zipfile.ZipFile(out, "a", zipfile.ZIP_DEFLATED) as parts:
        parts.writestr(name, held)
    return out.getvalue()


def cells(found: Records) -> dict[int, list[str]]:
    return dict(found.rows)


def refusal(data: bytes, **more: Any) -> str:
    with pytest.raises(BadInput) as caught:
        read_workbook(data, "book.xlsx", **more)
    return caught.value.sentence()


@pytest.mark.parametrize(
    ("form", "day", "month", "year"),
    [
        ("mm-dd-yy", True, True, True),  # built-in 14
        ("d-mmm-yy", True, True, True),  # 15
        ("d-mmm", True, True, False),  # 16
        ("mmm-yy", False, True, True),  # 17
        ("m/d/yy h:mm", True, True, True),  # 22
        ("yyyy", False, False, True),
        ("[$-409]mmmm\\ yyyy;@", False, True, True),
        ("dddd, mmmm yyyy", False, True, True),
        ('yyyy"d"', False, False, True),
        ("[$-F800]dddd\\,\\ mmmm\\ dd\\,\\ yyyy", True, True, True),
        ("yyyy\\-mm\\-dd\\ hh:mm:ss", True, True, True),
        ("h:mm", True, True, True),
        ("mm:ss.0", True, True, True),
        ("[h]:mm:ss", True, True, True),
        ("d/m h:mm", True, True, False),
        ("mmmm h:mm AM/PM", False, True, False),
        ("General", True, True, True),
    ],
)
def test_what_a_format_of_dates_shows(form: str, day: bool, month: bool, year: bool) -> None:
    assert shows_of(form) == Shows(day, month, year)


def test_other_formats() -> None:
    assert shows_of("000") == Shows(digits=3)
    assert shows_of("0.00%") == Shows(percent=True)
    assert shows_of("0") == shows_of("#,##0.00") == shows_of("@") == Shows()


def test_cells_are_written_as_they_are_shown() -> None:
    last = dt.datetime(2024, 8, 31)
    found = read_workbook(
        made(
            ("A2", last, "mmm yyyy"), ("B2", last, "yyyy"), ("C2", last, "dd/mm/yyyy"), ("D2", last, "d mmm"),
            ("A3", "007", ""), ("B3", 7, "000"), ("C3", 1.0, ""), ("D3", 0.1 + 0.2, ""), ("E3", 0.75, "0%"),
            ("A4", True, ""),
            ("B4", dt.time(0, 14, 30), "h:mm:ss"), ("C4", last + dt.timedelta(hours=19.5), "d/m/y h:mm"),
        ),
        "book.xlsx",
    )  # fmt: skip
    assert found.unit is Unit.ROW
    assert cells(found) == {
        2: ["2024-08", "2024", "2024-08-31", "31 Aug", ""],
        3: ["007", "007", "1", "0.3", "75%"],
        4: ["yes", "00:14:30", "2024-08-31 19:30", "", ""],
    }


def test_merged_cells_give_their_value_to_the_rows_that_have_something() -> None:
    book = openpyxl.Workbook()
    page = book.active
    for row in (["A", "one"], [None, "two"], [None, None], [None, "three"]):
        page.append(row)
    page.merge_cells("A1:A4")
    out = io.BytesIO()
    book.save(out)
    assert cells(read_workbook(out.getvalue(), "book.xlsx")) == {1: ["A", "one"], 2: ["A", "two"], 4: ["A", "three"]}


def test_which_sheet() -> None:
    data = made(("A1", "name", ""), sheets=60)
    with pytest.raises(WhichSheet) as caught:
        read_workbook(data, "book.xlsx")
    assert len(caught.value.sheets) == 60
    assert len(caught.value.sentence()) < 300
    assert cells(read_workbook(data, "book.xlsx", " SHEET ")) == {1: ["name"]}
    assert "has no sheet 'Other'" in refusal(data, wanted="Other")
    assert "is empty" in refusal(data, wanted="more 3")


def test_a_format_that_is_not_told_makes_no_day_of_a_month() -> None:
    def old(*days: dt.date) -> Records:
        book = xlwt.Workbook()
        page = book.add_sheet("a")
        for at, day in enumerate(days):
            page.write(at, 0, day, xlwt.easyxf(num_format_str="MMM YYYY"))
        out = io.BytesIO()
        book.save(out)
        return read_workbook(out.getvalue(), "a.xls")

    firsts = old(dt.date(2024, 8, 1), dt.date(2024, 9, 1))
    assert cells(firsts) == {1: ["2024-08"], 2: ["2024-09"]}
    assert firsts.first_days
    assert cells(old(dt.date(1950, 1, 1), dt.date(1960, 1, 1))) == {1: ["1950"], 2: ["1960"]}
    mixed = old(dt.date(2024, 8, 1), dt.date(2024, 9, 2))
    assert (cells(mixed), mixed.first_days) == ({1: ["2024-08-01"], 2: ["2024-09-02"]}, False)


def test_formulas_without_values_and_macros_are_told() -> None:
    data = with_part(made(("A1", "name", ""), ("B1", "=1+1", "")), "xl/vbaProject.bin", b"macro")
    notes = " ".join(read_workbook(data, "book.xlsm").notes)
    assert "1 formula without a value, the first in B1" in notes
    assert "macros, which are never run" in notes


def test_an_open_document_of_repeated_cells_is_refused_before_it_is_laid_out() -> None:
    book = OpenDocumentSpreadsheet()
    page = table.Table(name="a")
    row = table.TableRow(numberrowsrepeated="1000000")
    cell = table.TableCell(numbercolumnsrepeated="16000", valuetype="float", value="1")
    cell.addElement(text.P(text="1"))
    row.addElement(cell)
    page.addElement(row)
    book.spreadsheet.addElement(page)
    out = io.BytesIO()
    book.save(out)
    assert "reaches to row 1,000,000 and column 16,000" in refusal(out.getvalue())


def test_a_password_is_told() -> None:
    locked = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(500) + "EncryptedPackage".encode("utf-16-le")
    assert looks_like_workbook(locked)
    assert "locked with a password" in refusal(locked)
    ods = io.BytesIO()
    with zipfile.ZipFile(ods, "w") as parts:
        parts.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        parts.writestr("META-INF/manifest.xml", "<m><manifest:encryption-data/></m>")
        parts.writestr("content.xml", "junk")
    assert looks_like_workbook(ods.getvalue())
    assert "locked with a password" in refusal(ods.getvalue())


@pytest.mark.slow
def test_what_is_too_large_is_refused_before_it_is_laid_out() -> None:
    assert "reaches to row 1,048,576 and column 16,384" in refusal(made(("A1", "name", ""), ("XFD1048576", "far", "")))
    assert "reaches to row 1 and column 201" in refusal(made(("A1", "name", ""), ("GS1", "far", "")))
    assert "are more than the 20 MB that are read" in refusal(made(("A1", "x", "")) + bytes(100 * 1024**2))
    bomb = with_part(made(("A1", "name", "")), "xl/media/big.bin", bytes(201 * 1024**2))
    assert len(bomb) < 1024**2
    assert "it unpacks to 201 MB" in refusal(bomb)


@pytest.mark.parametrize("cut", [100, 1500, -30])
def test_a_damaged_workbook_is_told(cut: int) -> None:
    assert "damaged" in refusal(made(("A1", "name", ""))[:cut])


def test_a_part_that_does_not_fit_its_checksum_is_told() -> None:
    data = bytearray(made(("A1", "name", "")))
    at = data.find(b"xl/styles.xml") + 60
    data[at] ^= 0xFF
    assert "damaged" in refusal(bytes(data))


def test_other_office_documents_are_no_workbooks() -> None:
    assert not looks_like_workbook(b"PK\x03\x04" + bytes(40) + b"word/document.xml")
    assert not looks_like_workbook(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(100))
    assert not looks_like_workbook(b"name,box\n")
