"""CSV against two general tools with writers and parsers of their own, and against RFC 4180.

pandas (https://pandas.pydata.org) and DuckDB (https://duckdb.org) write sheets in the dialects that people's
programs use, which must be read cell for cell; and both must read the tables of an export to the same cells.
RFC 4180, Y. Shafranovich, October 2005, gives the examples (section 2) and the grammar (end of section 2).
"""

from __future__ import annotations

import csv
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from workroom_books import small_book

from showrunner.demo_book import demo_path
from showrunner.domain.book import Book
from showrunner.session import Session
from showrunner.storage.csv_tables import Table, to_csv_tables
from showrunner.storage.csv_text import read_sheet, restored
from showrunner.storage.exporting import export

COLUMNS = ("no", "name", "made", "notes", "price")
ROWS = (
    ("01", "Apron", "1868~", "", "12,50"),
    ("02", "Crêpe bodice “Odile”", "c. 1897", "first line\nsecond; line\n\nfourth", "1.885,00"),
    ("003", 'waist 21 1/4" | tape', "", "a, b; c\td", "=1+1"),
    ("", " spaced ", "190?", '“quoted”, and "straight"', "–"),
    ("5", "Ærø smock", "1900/1910", "crlf\r\ninside", "€ 5"),
)
"""Cells with accents that Windows-1252 has, delimiters, quotes, line ends, spaces, leading zeros and decimal commas."""


def cells_of(data: bytes) -> tuple[tuple[str, ...], list[tuple[str, ...]], str, str]:
    sheet = read_sheet(data, "sheet.csv")
    assert all(row.extra == () for row in sheet.rows)
    return sheet.columns, [row.cells for row in sheet.rows], sheet.encoding, sheet.delimiter


# What the tools write is read


@pytest.mark.parametrize("quoting", [csv.QUOTE_MINIMAL, csv.QUOTE_ALL], ids=["few quotes", "all quoted"])
@pytest.mark.parametrize("end", ["\r\n", "\n"], ids=["crlf", "lf"])
@pytest.mark.parametrize(
    ("delimiter", "codec", "encoding"),
    [
        (",", "utf-8", "utf-8"),
        (",", "utf-8-sig", "utf-8-sig"),
        (";", "cp1252", "cp1252"),
        (";", "utf-8-sig", "utf-8-sig"),
        ("\t", "utf-16", "utf-16-le"),
        ("|", "utf-8", "utf-8"),
    ],
)
def test_what_pandas_writes_is_read_cell_for_cell(
    tmp_path: Path, delimiter: str, codec: str, encoding: str, end: str, quoting: Any
) -> None:
    path = tmp_path / "sheet.csv"
    import pandas

    frame = pandas.DataFrame(list(ROWS), columns=list(COLUMNS), dtype=str)
    frame.to_csv(path, index=False, sep=delimiter, encoding=codec, lineterminator=end, quoting=quoting)
    assert cells_of(path.read_bytes()) == (COLUMNS, list(ROWS), encoding, delimiter)


@pytest.mark.slow
@pytest.mark.parametrize("force", ["", ", FORCE_QUOTE *"], ids=["few quotes", "all quoted"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
@pytest.mark.parametrize(
    ("codec", "encoding"),
    [("utf-8", "utf-8"), ("utf-8-sig", "utf-8-sig"), ("cp1252", "cp1252"), ("utf-16", "utf-16-le")],
)
def test_what_duckdb_writes_is_read_cell_for_cell(
    tmp_path: Path, delimiter: str, force: str, codec: str, encoding: str
) -> None:
    """DuckDB writes UTF-8 only; as what else a program would save it is done here, without touching the dialect."""
    path = tmp_path / "sheet.csv"
    import duckdb

    with duckdb.connect() as connection:
        connection.execute(f"CREATE TABLE sheet ({', '.join(f'{name} VARCHAR' for name in COLUMNS)})")
        connection.executemany("INSERT INTO sheet VALUES (?, ?, ?, ?, ?)", [list(row) for row in ROWS])
        connection.execute(f"COPY sheet TO '{path}' (FORMAT csv, HEADER, DELIMITER '{delimiter}'{force})")
    data = path.read_bytes().decode("utf-8").encode(codec)
    assert cells_of(data) == (COLUMNS, list(ROWS), encoding, delimiter)


# What an export writes is read by the tools


def by_pandas(path: Path) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    import pandas

    frame = pandas.read_csv(path, dtype=str, keep_default_na=False, na_filter=False, skip_blank_lines=False)
    return tuple(frame.columns), [tuple(row) for row in frame.itertuples(index=False, name=None)]


def by_duckdb(path: Path) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Its guessing is left out, for what an export is has one answer; an empty cell is NULL there."""
    header = next(csv.reader([path.read_text("utf-8-sig").splitlines()[0]]))
    columns = ", ".join(f"'{name}': 'VARCHAR'" for name in header)
    dialect = "delim=',', quote='\"', escape='\"', header=true, auto_detect=false"
    import duckdb

    with duckdb.connect() as connection:
        found = connection.execute(f"SELECT * FROM read_csv('{path}', {dialect}, columns={{{columns}}})")
        names = tuple(name for name, *_ in found.description)
        return names, [tuple(cell or "" for cell in row) for row in found.fetchall()]


def by_duckdb_guessing(path: Path) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """The same with nothing said but that there is a header and every cell is text."""
    import duckdb

    with duckdb.connect() as connection:
        found = connection.execute(f"SELECT * FROM read_csv('{path}', header=true, all_varchar=true)")
        names = tuple(name for name, *_ in found.description)
        return names, [tuple(cell or "" for cell in row) for row in found.fetchall()]


READERS = {"pandas": by_pandas, "duckdb": by_duckdb, "duckdb guessing": by_duckdb_guessing}


def demo() -> Book:
    with Session.open(demo_path(), write=False) as session:
        return session.book


def hostile() -> Book:
    """Names that begin as formulas do, or hold quotes, delimiters, line ends, marks of direction, and much text."""
    names = (
        "=1+1",
        "+61",
        "-5",
        "@SUM(A1)",
        "'=1",
        "[/]",
        "\nBEGIN:VEVENT",
        'say "gown"; or, | "robe"',
        "\u202egown\u200f",
        "x" * 10_000,
    )
    book = small_book()
    renamed = [replace(p, name=name, notes=f"{name}\r\n{name}") for p, name in zip(book.pieces, names, strict=True)]
    return book.put("pieces", *renamed)


@pytest.mark.slow
@pytest.mark.parametrize("make", [demo, hostile])
@pytest.mark.parametrize("tool", READERS)
def test_an_export_is_read_to_the_same_cells(tmp_path: Path, tool: str, make: Any) -> None:
    book = make()
    export(book, tmp_path)
    tables: dict[str, Table] = to_csv_tables(book)
    for name, (columns, rows) in tables.items():
        found_columns, found_rows = READERS[tool](tmp_path / name)
        assert found_columns == columns, name
        assert [tuple(map(restored, row)) for row in found_rows] == list(rows), name
        assert not [cell for row in found_rows for cell in row if cell.startswith(("=", "+", "-", "@", "\t", "\r"))]


# RFC 4180


RFC_4180 = {
    "2.1 records on lines": ("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", [("aaa", "bbb", "ccc"), ("zzz", "yyy", "xxx")]),
    "2.2 no line break at the end": ("aaa,bbb,ccc\r\nzzz,yyy,xxx", [("aaa", "bbb", "ccc"), ("zzz", "yyy", "xxx")]),
    "2.5 fields in quotes": ('"aaa","bbb","ccc"\r\nzzz,yyy,xxx', [("aaa", "bbb", "ccc"), ("zzz", "yyy", "xxx")]),
    "2.6 a line break in quotes": (
        '"aaa","b\r\nbb","ccc"\r\nzzz,yyy,xxx',
        [("aaa", "b\r\nbb", "ccc"), ("zzz", "yyy", "xxx")],
    ),
    "2.7 a doubled quote": ('"aaa","b""bb","ccc"', [("aaa", 'b"bb', "ccc")]),
}
"""The examples of section 2 by its numbers; 2.4 (a single record) is the first line of 2.1."""


@pytest.mark.parametrize("section", RFC_4180)
def test_the_examples_of_rfc_4180_are_read(section: str) -> None:
    """Below a header of its own (2.3), whose names differ, since no two columns may be called the same."""
    text, records = RFC_4180[section]
    sheet = read_sheet(f"field_name 1,field_name 2,field_name 3\r\n{text}".encode(), "example.csv")
    assert [row.cells for row in sheet.rows] == records
    assert sheet.notes == ()


def test_spaces_belong_to_a_field() -> None:
    """RFC 4180, 2.4: spaces are considered part of a field and should not be ignored."""
    assert read_sheet(b"a,b\r\n x , y\r\n", "example.csv").rows[0].cells == (" x ", " y")


_TEXT = r"[\x20\x21\x23-\x2b\x2d-\x7e\x80-\U0010ffff]"
_FIELD = rf'(?:"(?:{_TEXT}|,|\r|\n|"")*"|{_TEXT}*)'
_RECORD = re.compile(rf"{_FIELD}(?:,{_FIELD})*\r\n")


def test_an_export_is_of_the_grammar_of_rfc_4180(tmp_path: Path) -> None:
    """The ABNF at the end of section 2, with text beyond ASCII (section 3) and a CRLF after each record."""
    export(demo(), tmp_path)
    for path in tmp_path.glob("*.csv"):
        text = path.read_bytes().decode("utf-8-sig")
        at = 0
        while at < len(text):
            record = _RECORD.match(text, at)
            assert record, f"{path.name} at character {at}: {text[at : at + 40]!r}"
            at = record.end()
