"""Workbooks as rows of text: what a cell shows, which sheet, and what is refused.

The files are made by other writers (openpyxl, xlwt, odfpy); number formats are those of ECMA-376 part 1, 18.8.30 and
18.8.31, whose built-in numbers openpyxl lists.
"""

from __future__ import annotations

import datetime as dt
import io
import re
import zipfile
from collections.abc import Callable
from typing import Any

import openpyxl
import pytest
import xlwt
from odf import number, style, table, text
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


def rewritten(data: bytes, part: str, change: Callable[[str], str] | None) -> bytes:
    """The workbook with one of its parts changed, or left out."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w") as new:
        for name in old.namelist():
            if name != part:
                new.writestr(name, old.read(name))
            elif change:
                new.writestr(name, change(old.read(name).decode()))
    return out.getvalue()


MOST = "the 10,000 rows and 200 columns that are read"
SHEET, STYLES = "xl/worksheets/sheet1.xml", "xl/styles.xml"


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


AUGUST = dt.datetime(2024, 8, 31)


def test_formats_that_need_not_be_written_down() -> None:
    """Of the built-in numbers of 18.8.30 those that show less than the value: 9, 10, 16 and 17."""
    data = made(("A1", 0.5, "0%"), ("B1", 0.125, "0.00%"), ("C1", AUGUST, "d-mmm"), ("D1", AUGUST, "mmm-yy"))
    with zipfile.ZipFile(io.BytesIO(data)) as parts:
        styles = parts.read(STYLES).decode()
    assert [f'numFmtId="{number}"' in styles for number in (9, 10, 16, 17)] == [True] * 4
    assert cells(read_workbook(data, "a.xlsx")) == {1: ["50%", "12.5%", "31 Aug", "2024-08"]}


def test_what_other_writers_say_otherwise_or_leave_out() -> None:
    """Rows and cells need not name their places (18.3.1.4, 18.3.1.73); a target may be told from its folder."""
    data = made(("A1", "name", ""), ("B1", AUGUST, "mmm yyyy"), ("A2", "coat", ""), ("B2", 7, "000"))
    told = {1: ["name", "2024-08"], 2: ["coat", "007"]}
    assert cells(read_workbook(data, "a.xlsx")) == told
    bare = rewritten(data, SHEET, lambda held: re.sub(r'(<(?:c|row)) r="\w+"', r"\1", held))
    near = rewritten(data, "xl/_rels/workbook.xml.rels", lambda held: held.replace('"/xl/worksheets/', '"worksheets/'))
    for other in (bare, near):
        assert other != data
        assert cells(read_workbook(other, "a.xlsx")) == told
    plain = cells(read_workbook(rewritten(data, STYLES, None), "a.xlsx"))
    assert plain == {1: ["name", "45535"], 2: ["coat", "7"]}


def test_columns_beyond_z_have_their_own_forms_and_letters() -> None:
    data = made(("Z1", AUGUST, "yyyy"), ("AA1", AUGUST, "mmm yyyy"), ("AZ1", AUGUST, "d mmm"), ("BA2", "=1+1", ""))
    found = read_workbook(data, "a.xlsx")
    row = cells(found)[1]
    assert (row[25], row[26], row[51]) == ("2024", "2024-08", "31 Aug")
    assert "the first in BA2:" in found.notes[0]


def test_the_clock_is_told_where_there_is_one() -> None:
    data = made(
        ("A1", AUGUST + dt.timedelta(minutes=30), "d/m/y h:mm"),
        ("B1", AUGUST + dt.timedelta(hours=19), "d/m/y h:mm"),
        ("C1", AUGUST + dt.timedelta(hours=19), "mmm yyyy"),
        ("D1", dt.time(19, 5), "h:mm"),
        ("E1", dt.timedelta(hours=25, minutes=3, seconds=5), "[h]:mm:ss"),
        ("F1", False, ""),
        ("I1", dt.timedelta(minutes=59, seconds=59), "[h]:mm:ss"),
        ("G1", -1234.5, ""),
        ("H1", 1200, ""),
    )
    row = ["2024-08-31 00:30", "2024-08-31 19:00", "2024-08", "19:05", "25:03:05", "no", "-1234.5", "1200", "0:59:59"]
    assert cells(read_workbook(data, "a.xlsx")) == {1: row}


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
    assert "it has 2 sheets: 'Sheet' and 'more 1'; say which" in refusal(made(("A1", "name", ""), sheets=2))
    data = made(("A1", "name", ""), sheets=60)
    with pytest.raises(WhichSheet) as caught:
        read_workbook(data, "book.xlsx")
    assert len(caught.value.sheets) == 60
    assert len(caught.value.sentence()) < 300
    assert cells(read_workbook(data, "book.xlsx", " SHEET ")) == {1: ["name"]}
    assert "has no sheet 'Other'" in refusal(data, wanted="Other")
    assert "is empty" in refusal(data, wanted="more 3")


def old_book(cells: dict[tuple[int, int], Any]) -> bytes:
    """An .xls with these cells."""
    book = xlwt.Workbook()
    page = book.add_sheet("a")
    for (row, column), value in cells.items():
        form = "MMM YYYY" if isinstance(value, dt.date) else "General"
        page.write(row, column, value, xlwt.easyxf(num_format_str=form))
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def test_a_format_that_is_not_told_makes_no_day_of_a_month() -> None:
    def old(*days: dt.date) -> Records:
        return read_workbook(old_book({(at, 0): day for at, day in enumerate(days)}), "a.xls")

    firsts = old(dt.date(2024, 8, 1), dt.date(2024, 9, 1))
    assert cells(firsts) == {1: ["2024-08"], 2: ["2024-09"]}
    assert firsts.first_days
    assert cells(old(dt.date(1950, 1, 1), dt.date(1960, 1, 1))) == {1: ["1950"], 2: ["1960"]}
    assert cells(old(dt.date(1950, 1, 1), dt.date(1960, 8, 1))) == {1: ["1950-01"], 2: ["1960-08"]}
    mixed = old(dt.date(2024, 8, 1), dt.date(2024, 9, 2))
    assert (cells(mixed), mixed.first_days) == ({1: ["2024-08-01"], 2: ["2024-09-02"]}, False)


def test_which_columns_have_days_that_are_not_told() -> None:
    """Others than dates in a column do not matter; somebody may say that the days are meant."""
    august, september, late = dt.date(2024, 8, 1), dt.date(2024, 9, 1), dt.date(2024, 9, 2)
    data = old_book(
        {
            **{(0, 0): "made", (0, 1): "seen", (0, 2): "name", (0, 3): "shown"},
            **{(1, 0): august, (1, 1): august, (1, 3): september},
            **{(2, 0): 1950, (2, 1): late, (2, 2): "coat"},
        }
    )
    asked = read_workbook(data, "a.xls")
    assert cells(asked)[2] == ["2024-08", "2024-08-01", "", "2024-09"]
    assert cells(asked)[3] == ["1950", "2024-09-02", "coat", ""]
    assert asked.first_days
    assert asked.notes == (
        "All dates in column A and D fall on the first of a month, and the file does not tell whether days were meant: "
        "they are read without the day. --first-days reads them as days.",
    )
    for meant, day in ((True, "2024-08-01"), (False, "2024-08")):
        told = read_workbook(data, "a.xls", first_days=meant)
        assert (cells(told)[2][0], told.first_days, told.notes) == (day, False, ())


@pytest.mark.parametrize(("row", "column"), [(10_000, 0), (0, 200)])
def test_an_old_workbook_reaches_no_further_than_others(row: int, column: int) -> None:
    told = f"a sheet of it reaches to row {row + 1:,} and column {column + 1}, beyond {MOST};"
    assert told in refusal(old_book({(0, 0): "name", (row, column): "far"}))
    found = read_workbook(old_book({(0, 0): "name", (max(row - 1, 0), max(column - 1, 0)): "near"}), "a.xls")
    assert found.rows[-1][0] == max(row, 1)


def test_hidden_sheets_are_read_only_by_name() -> None:
    book = openpyxl.Workbook()
    for name, state in (("seen", "visible"), ("hidden", "hidden"), ("deep", "veryHidden")):
        page = book.create_sheet(name)
        page["A1"], page.sheet_state = name, state
    book.create_chartsheet("chart")
    del book["Sheet"]
    out = io.BytesIO()
    book.save(out)
    assert cells(read_workbook(out.getvalue(), "a.xlsx")) == {1: ["seen"]}
    for name in ("hidden", "deep", "HIDDEN"):
        assert cells(read_workbook(out.getvalue(), "a.xlsx", name)) == {1: [name.lower()]}
    with pytest.raises(BadInput) as caught:
        read_workbook(out.getvalue(), "a.xlsx", "chart")
    assert caught.value.sentence() == "a.xlsx: it has no sheet 'chart'; choose one of 'seen', 'hidden' and 'deep'."


def test_a_workbook_of_hidden_sheets_alone_is_told() -> None:
    def hide(held: str) -> str:
        return held.replace('state="visible"', 'state="hidden"')

    told = refusal(rewritten(made(("A1", "name", "")), "xl/workbook.xml", hide))
    assert told == "book.xlsx: it has no sheet that can be seen; name a hidden one with --sheet NAME."


def test_formulas_without_values_and_macros_are_told() -> None:
    data = with_part(made(("A1", "name", ""), ("B1", "=1+1", "")), "xl/vbaProject.bin", b"macro")
    notes = " ".join(read_workbook(data, "book.xlsm").notes)
    assert "1 formula without a value, the first in B1" in notes
    assert "macros, which are never run" in notes


def test_a_formula_is_without_a_value_only_if_it_has_none() -> None:
    data = made(("A1", "name", ""), ("B1", "=1+1", ""), ("C1", "box", ""))
    valued = rewritten(data, SHEET, lambda held: held.replace("<f>1+1</f><v />", "<f>1+1</f><v>2</v>"))
    found = read_workbook(valued, "a.xlsx")
    assert (found.notes, cells(found)) == ((), {1: ["name", "2", "box"]})
    bare = rewritten(data, SHEET, lambda held: held.replace("<f>1+1</f><v />", "<f>1+1</f>"))
    assert "1 formula without a value, the first in B1:" in read_workbook(bare, "a.xlsx").notes[0]
    more = read_workbook(made(("A1", "name", ""), ("B1", "=1", ""), ("C3", "=2", "")), "a.xlsx").notes[0]
    assert "2 formulas without a value, the first in B1:" in more
    for place in ("B1", "D1", "A3"):  # among the values, right of them, below them
        notes = read_workbook(made(("A1", "name", ""), ("C1", "box", ""), (place, "=1", "")), "a.xlsx").notes
        assert notes == (
            f"It has 1 formula without a value, the first in {place}: left empty. "
            "A spreadsheet program that opens and saves the file fills them in.",
        )


class OpenDocument:
    """An .ods that odfpy writes."""

    def __init__(self) -> None:
        self.book = OpenDocumentSpreadsheet()

    def style(self, name: str, data: Any = None, *, parent: str = "", common: bool = False) -> None:
        """A style of cells, and the data style that it names."""
        kept = self.book.styles if common else self.book.automaticstyles
        more = {"parentstylename": parent} if parent else {}
        if data:
            kept.addElement(data)
            more["datastylename"] = data.getAttribute("name")
        kept.addElement(style.Style(name=name, family="table-cell", **more))

    def page(self, name: str, *columns: tuple[str, int]) -> Any:
        """A further sheet, and the styles of its columns, each with how many of them."""
        page = table.Table(name=name)
        for default, many in columns:
            page.addElement(table.TableColumn(defaultcellstylename=default, numbercolumnsrepeated=str(many)))
        self.book.spreadsheet.addElement(page)
        return page

    def row(self, page: Any, *cells: Any, again: int = 1) -> None:
        row = table.TableRow(**({"numberrowsrepeated": str(again)} if again > 1 else {}))
        for cell in cells:
            row.addElement(cell)
        page.addElement(row)

    def data(self) -> bytes:
        out = io.BytesIO()
        self.book.save(out)
        return out.getvalue()


def cell(value: Any = None, form: str = "", again: int = 1, **more: str) -> Any:
    kinds = {dt.date: ("date", "datevalue"), float: ("float", "value"), str: ("string", "stringvalue")}
    if value is not None:
        kind, name = kinds[type(value)]
        more |= {"valuetype": more.get("valuetype", kind), name: str(value)}
    if form:
        more["stylename"] = form
    if again > 1:
        more["numbercolumnsrepeated"] = str(again)
    made = table.TableCell(**more)
    if value is not None:
        made.addElement(text.P(text="as shown"))
    return made


def date_style(name: str, *parts: Any) -> Any:
    made = number.DateStyle(name=name)
    for part in parts:
        made.addElement(part())
    return made


def digits(name: str, least: int | None) -> Any:
    made = number.NumberStyle(name=name)
    made.addElement(number.Number(**({} if least is None else {"minintegerdigits": str(least)})))
    return made


@pytest.fixture
def styled() -> OpenDocument:
    """Styles that show a day, a month, a year and so on (ODF 1.3 part 3, 16.29)."""
    book = OpenDocument()
    book.style("month", date_style("N1", number.Month, number.Year))
    book.style("year", date_style("N2", number.Year))
    book.style("noyear", date_style("N3", number.Day, number.Month))
    book.style("day", date_style("N4", number.Day, number.Month, number.Year))
    book.style("weekday", date_style("N5", number.DayOfWeek))
    book.style("three", digits("N6", 3))
    book.style("two", digits("N12", 2))
    book.style("one", digits("N7", 1))
    book.style("any", digits("N8", None))
    book.style("many", digits("N9", 1_000_000))
    book.style("percent", number.PercentageStyle(name="N10"))
    book.style("common", date_style("N11", number.Month, number.Year), common=True)
    book.style("below", parent="common", common=True)
    book.style("belowthat", parent="below")
    book.style("circle", parent="round", common=True)
    book.style("round", parent="circle", common=True)
    return book


DAY = dt.date(2024, 8, 31)


@pytest.mark.parametrize(
    ("form", "value", "shown"),
    [
        ("", DAY, "2024-08-31"),
        ("month", DAY, "2024-08"),
        ("year", DAY, "2024"),
        ("noyear", DAY, "31 Aug"),
        ("day", DAY, "2024-08-31"),
        ("weekday", DAY, "2024-08-31"),
        ("common", DAY, "2024-08"),
        ("below", DAY, "2024-08"),
        ("belowthat", DAY, "2024-08"),
        ("circle", DAY, "2024-08-31"),
        ("none", DAY, "2024-08-31"),
        ("three", 7.0, "007"),
        ("two", 7.0, "07"),
        ("one", 7.0, "7"),
        ("any", 7.0, "7"),
        ("many", 7.0, "7".zfill(30)),
        ("percent", 0.75, "75%"),
        ("month", "as it is", "as it is"),
    ],
)
def test_an_open_document_shows_what_its_styles_show(styled: OpenDocument, form: str, value: Any, shown: str) -> None:
    page = styled.page("a")
    styled.row(page, cell(value, form), cell("x"))
    assert cells(read_workbook(styled.data(), "a.ods")) == {1: [shown, "x"]}


def test_repeated_cells_rows_and_columns_of_an_open_document(styled: OpenDocument) -> None:
    page = styled.page("a", ("three", 1), ("month", 2), ("", 1_000))
    styled.row(page, cell(7.0), cell(DAY, again=2), cell(DAY), cell(DAY, "year"))
    styled.row(page, cell(again=16_000), again=2)
    styled.row(page, cell(), cell(DAY, "year"), cell(DAY), cell(7.0, "three", again=2), again=3)
    styled.row(page, cell(1.0), cell(2.0))
    styled.row(page, cell(again=16_000), again=1_000_000)
    row = ["", "2024", "2024-08", "007", "007"]
    assert cells(read_workbook(styled.data(), "a.ods")) == {
        1: ["007", "2024-08", "2024-08", "2024-08-31", "2024"],
        4: row,
        5: row,
        6: row,
        7: ["001", "2", "", "", ""],
    }


def test_a_cell_of_an_open_document_may_lack_its_text_or_its_type(styled: OpenDocument) -> None:
    page = styled.page("a")
    styled.row(page, cell("made"), cell("name"))
    untyped = table.TableCell()
    untyped.addElement(text.P(text="untyped"))
    styled.row(page, table.TableCell(valuetype="date", datevalue=str(DAY), stylename="month"), untyped)
    styled.row(page, table.TableCell(valuetype="date", datevalue=str(DAY), stylename="year"))
    assert cells(read_workbook(styled.data(), "a.ods"))[2][0] == "2024-08"
    assert cells(read_workbook(styled.data(), "a.ods"))[3][0] == "2024"


def test_merged_cells_and_formulas_of_an_open_document(styled: OpenDocument) -> None:
    page = styled.page("a")
    styled.row(page, cell("Box A", numberrowsspanned="3"), cell("coat"))
    hidden = table.CoveredTableCell(valuetype="string")
    hidden.addElement(text.P(text="Box B"))
    styled.row(page, hidden, cell("hat"))
    styled.row(page, table.CoveredTableCell(), cell(formula="of:=1+1"), cell("bag"))
    styled.row(page, cell(), cell("shoe"), cell(2.0, formula="of:=1+1"))
    found = read_workbook(styled.data(), "a.ods")
    assert cells(found) == {
        1: ["Box A", "coat", ""],
        2: ["Box B", "hat", ""],
        3: ["Box A", "", "bag"],
        4: ["", "shoe", "2"],
    }
    assert [note.partition(":")[0] for note in found.notes] == ["It has 1 formula without a value, the first in B3"]


def test_each_sheet_of_an_open_document_has_its_own_forms(styled: OpenDocument) -> None:
    first, second = styled.page("first", ("year", 1)), styled.page("second", ("month", 1))
    styled.row(first, cell(DAY), cell("x"))
    styled.row(second, cell(DAY), cell(DAY, "noyear"))
    styled.row(second, cell(DAY))
    data = styled.data()
    assert cells(read_workbook(data, "a.ods", "first")) == {1: ["2024", "x"]}
    found = read_workbook(data, "a.ods", "second")
    assert cells(found) == {1: ["2024-08", "31 Aug"], 2: ["2024-08", ""]}
    assert found.notes == ("Sheet 'second' is read.",)


@pytest.mark.parametrize(
    ("wide", "high", "fits"), [(200, 1, True), (201, 1, False), (1, 10_000, True), (1, 10_001, False)]
)
def test_the_largest_open_document(wide: int, high: int, fits: bool) -> None:
    book = OpenDocument()
    page = book.page("a")
    book.row(page, cell("x", again=wide), again=high)
    if fits:
        rows = read_workbook(book.data(), "a.ods").rows
        assert (len(rows), len(rows[-1][1])) == (high, wide)
    else:
        told = f"a sheet of it reaches to row {high:,} and column {wide}, beyond {MOST};"
        assert told in refusal(book.data())


def test_each_sheet_of_an_open_document_may_have_all_the_rows() -> None:
    book = OpenDocument()
    for name in ("first", "second"):
        book.row(book.page(name), cell("x"), again=6_000)
    assert len(read_workbook(book.data(), "a.ods", "second").rows) == 6_000


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
    old = bytearray(old_book({(0, 0): "name", (1, 0): "Cap"}))
    second = old.find(b"\x09\x08\x10\x00") + 20  # behind BOF, 16 bytes long
    old[second : second + 2] = b"\x2f\x00"  # FilePass, record 47 ([MS-XLS] 2.4.117, from memory)
    assert "locked with a password" in refusal(bytes(old))
    packed = bytearray(made(("A1", "name", "")))
    for start, flags in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):  # bit 0 of the flags (APPNOTE.TXT of ZIP, 4.4.4)
        at = packed.find(start)
        packed[at + flags] |= 1
    assert "locked with a password" in refusal(bytes(packed))
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
    assert "unpacked, its 201.1 MB are more than the 200 MB that are read" in refusal(bomb)


@pytest.mark.parametrize("cut", [100, 1500, -30])
def test_a_damaged_workbook_is_told(cut: int) -> None:
    assert "damaged" in refusal(made(("A1", "name", ""))[:cut])


@pytest.mark.parametrize("part", [SHEET, STYLES, "xl/workbook.xml", "xl/_rels/workbook.xml.rels"])
def test_a_part_that_is_cut_short_is_told(part: str) -> None:
    data = made(("A1", "name", ""), ("B1", AUGUST, "mmm yyyy"))
    assert "this workbook is damaged; open it" in refusal(rewritten(data, part, lambda held: held[:-20]))


def test_an_open_document_that_is_cut_short_is_told(styled: OpenDocument) -> None:
    styled.row(styled.page("a"), cell(DAY, "common"))
    for part in ("content.xml", "styles.xml"):
        assert "damaged" in refusal(rewritten(styled.data(), part, lambda held: held[:-20]))


def test_a_part_that_does_not_fit_its_checksum_is_told() -> None:
    data = bytearray(made(("A1", "name", "")))
    at = data.find(b"xl/styles.xml") + 60
    data[at] ^= 0xFF
    assert "damaged" in refusal(bytes(data))


def test_a_changed_letter_is_told_though_it_can_be_unpacked() -> None:
    whole = rewritten(made(("A1", "name", "")), "", None)  # not packed
    assert cells(read_workbook(whole, "book.xlsx")) == {1: ["name"]}
    assert "this workbook is damaged; open it" in refusal(whole.replace(b"<t>name</t>", b"<t>nama</t>"))


def test_other_office_documents_are_no_workbooks() -> None:
    assert not looks_like_workbook(b"PK\x03\x04" + bytes(40) + b"word/document.xml")
    assert not looks_like_workbook(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(100))
    assert not looks_like_workbook(b"name,box\n")
