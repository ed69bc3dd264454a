"""How the cells of a workbook are shown, which values alone do not tell: .xlsx by formats, .ods by styles."""

from __future__ import annotations

import io
import posixpath
import re
import zipfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import IO, NamedTuple
from xml.etree.ElementTree import Element, iterparse
from xml.parsers import expat

from showrunner.storage.csv_text import MAX_COLUMNS
from showrunner.storage.file_size import MAX_ROWS

Spot = tuple[int, int]
"""Row and column of a cell, from 0."""


class Shows(NamedTuple):
    """How much of its value a cell shows."""

    day: bool = True
    month: bool = True
    year: bool = True
    digits: int = 0
    """Least digits of a whole number (`007`)."""
    percent: bool = False


class Forms(NamedTuple):
    """What a workbook tells of the cells of one sheet beside their values."""

    shows: Mapping[Spot, Shows]
    """Cells that show less than their value, or show it otherwise."""
    height: int
    """Rows up to the last one with something in it."""
    width: int
    """Columns up to the last one with something in it."""
    merged: tuple[tuple[Spot, Spot], ...]
    """First and last cell of those that are merged, where the library that reads the values does not tell."""
    formulas: tuple[Spot, ...]
    """Cells that hold a formula."""


_LITERAL = re.compile(r'"[^"]*"|\\.|[_*].|\[[^\]]*\]')


@lru_cache(maxsize=512)
def shows_of(number_format: str) -> Shows:
    """What a number format shows, by ECMA-376 part 1, 18.8.31: `mmm yyyy` shows no day, `000` three digits."""
    bare = _LITERAL.sub("", number_format).split(";")[0].casefold()
    if digits := re.fullmatch(r"0{2,}", bare.strip()):
        return Shows(digits=len(digits[0]))
    if re.fullmatch(r"[#0.,\s]*%\s*", bare):
        return Shows(percent=True)
    dated = re.sub(r"h+(?:[^a-z]*m{1,2}(?!m))?|m{1,2}(?=[^a-z]?s)|s+|am/pm|a/p", "t", bare)
    day, month, year = bool(re.search(r"(?<!d)d{1,2}(?!d)", dated)), "m" in dated, bool(re.search("[yeb]", dated))
    if "general" in bare or not (day or month or year):
        return Shows()
    return Shows(day, month, year)


# --- .xlsx and .xlsm: ECMA-376 part 1, 18.2 (workbook), 18.3 (sheet), 18.8 (styles) --------------------------------

_BUILT_IN = {9: "0%", 10: "0.00%", 16: "d-mmm", 17: "mmm-yy"}
"""Of the formats that need not be written down (18.8.30), those that show less than the value, or otherwise."""


def forms_of_xlsx(data: bytes, sheet: str) -> Forms:
    """How the cells of a sheet of an .xlsx or .xlsm are shown."""
    with zipfile.ZipFile(io.BytesIO(data)) as parts:
        page = _XlsxPage(_shows_of_styles(parts))
        page.read(parts.read(_part_of(parts, sheet)))
    return Forms(page.shows, page.height, page.width, (), tuple(page.formulas))


def _elements(data: bytes) -> Iterator[tuple[str, dict[str, str]]]:
    """Each element of a small XML text, by its name and attributes without their namespaces."""
    for _, element in iterparse(io.BytesIO(data)):
        yield _bare(element.tag), {_bare(name): value for name, value in element.attrib.items()}


def _bare(name: str) -> str:
    return name.rpartition("}")[2]


def _part_of(parts: zipfile.ZipFile, sheet: str) -> str:
    """The part of a workbook that holds a sheet."""
    book, links = parts.read("xl/workbook.xml"), parts.read("xl/_rels/workbook.xml.rels")
    ids = {held.get("name"): held.get("id") for name, held in _elements(book) if name == "sheet"}
    targets = {held.get("Id"): held.get("Target", "") for _, held in _elements(links)}
    return posixpath.normpath(posixpath.join("/xl", targets[ids[sheet]])).lstrip("/")


def _shows_of_styles(parts: zipfile.ZipFile) -> dict[int, Shows]:
    """What each style of cells shows, by its number."""
    if "xl/styles.xml" not in parts.namelist():
        return {}
    formats = dict(_BUILT_IN)
    styles: dict[int, Shows] = {}
    within: list[Shows] = []
    for name, held in _elements(parts.read("xl/styles.xml")):
        if name == "numFmt":
            formats[int(held["numFmtId"])] = held.get("formatCode", "")
        elif name == "xf":
            within.append(shows_of(formats.get(int(held.get("numFmtId", "0")), "General")))
        elif name in ("cellStyleXfs", "cellXfs"):  # both hold elements called xf; the second is what cells point to
            styles, within = dict(enumerate(within)), []
    return styles


class _XlsxPage:
    """One sheet of an .xlsx, read cell by cell by expat, ten times as fast as with an object for each element."""

    def __init__(self, styles: Mapping[int, Shows]) -> None:
        self.styles = styles
        self.row = self.column = self.height = self.width = 0  # counted from 1
        self.style = Shows()
        self.shows: dict[Spot, Shows] = {}
        self.formulas: list[Spot] = []

    def read(self, data: bytes) -> None:
        """Read the sheet.

        Raises:
            ValueError: it is no whole XML.
        """
        parser = expat.ParserCreate(namespace_separator="}")
        parser.StartElementHandler = self._start
        try:
            parser.Parse(data, True)
        except expat.ExpatError as error:
            raise ValueError(str(error)) from error

    def _start(self, tag: str, held: dict[str, str]) -> None:
        name = tag.rpartition("}")[2]
        if name == "c":
            letters = held.get("r", "").rstrip("0123456789")
            self.column = _column(letters) if letters else self.column + 1
            self.style = self.styles.get(int(held.get("s", "0")), Shows())
        elif name in ("v", "is", "f"):
            self._filled(formula=name == "f")
        elif name == "row":
            self.row, self.column = int(held.get("r", self.row + 1)), 0

    def _filled(self, *, formula: bool) -> None:
        self.height, self.width = self.row, max(self.width, self.column)
        spot = (self.row - 1, self.column - 1)
        if formula:
            self.formulas.append(spot)
        if self.style != Shows():
            self.shows[spot] = self.style


@lru_cache(maxsize=1024)
def _column(letters: str) -> int:
    """The number, from 1, of a column that is named by letters."""
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - ord("A") + 1
    return number


# --- .ods: OASIS Open Document Format 1.3, part 3 -------------------------------------------------------------------

_TABLE = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
_STYLE = "{urn:oasis:names:tc:opendocument:xmlns:style:1.0}"
_NUMBER = "{urn:oasis:names:tc:opendocument:xmlns:datastyle:1.0}"
_OFFICE = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"
_TEXT = "{urn:oasis:names:tc:opendocument:xmlns:text:1.0}"


@dataclass(slots=True)
class _Styles:
    """What the styles of an .ods show."""

    of_cells: dict[str, tuple[str, str]] = field(default_factory=dict)
    """Data style and parent of each style of cells."""
    of_data: dict[str, Shows] = field(default_factory=dict)

    def read(self, element: Element) -> None:
        """Take a style over."""
        if element.tag == f"{_STYLE}style":
            name = element.get(f"{_STYLE}name", "")
            self.of_cells[name] = (
                element.get(f"{_STYLE}data-style-name", ""),
                element.get(f"{_STYLE}parent-style-name", ""),
            )
        elif element.tag == f"{_NUMBER}date-style":
            held = {child.tag for child in element}
            parts = [f"{_NUMBER}{part}" in held for part in ("day", "month", "year")]
            if any(parts):
                self.of_data[element.get(f"{_STYLE}name", "")] = Shows(*parts)
        elif element.tag == f"{_NUMBER}number-style":
            for number in element.findall(f"{_NUMBER}number"):
                digits = int(number.get(f"{_NUMBER}min-integer-digits", "0"))
                self.of_data[element.get(f"{_STYLE}name", "")] = Shows(digits=min(digits, 30))
        elif element.tag == f"{_NUMBER}percentage-style":
            self.of_data[element.get(f"{_STYLE}name", "")] = Shows(percent=True)

    def shows(self, name: str) -> Shows:
        """What a cell of this style shows: by its own data style or that of the nearest style above it."""
        met: set[str] = set()
        data = ""
        while not data and name not in met:
            met.add(name)
            data, name = self.of_cells.get(name, ("", ""))
        return self.of_data.get(data, Shows())


def forms_of_ods(data: bytes, sheet: str) -> Forms:
    """How the cells of a sheet of an .ods are shown; without a name, how far any of its sheets reaches."""
    styles = _Styles()
    with zipfile.ZipFile(io.BytesIO(data)) as parts:
        if "styles.xml" in parts.namelist():
            with parts.open("styles.xml") as part:
                for _, element in iterparse(part):
                    styles.read(element)
        with parts.open("content.xml") as part:
            return _OdsPage(styles, sheet).read(part)


class _OdsPage:
    """One sheet of an .ods, read cell by cell."""

    def __init__(self, styles: _Styles, sheet: str) -> None:
        self.styles, self.sheet = styles, sheet
        self.row = self.column = self.height = self.width = 0
        self.defaults: list[str] = []
        """The style of each column."""
        self.here: dict[int, Shows] = {}
        """What the cells of the present row show, by their column."""
        self.shows: dict[Spot, Shows] = {}
        self.merged: list[tuple[Spot, Spot]] = []
        self.formulas: list[Spot] = []

    def read(self, part: IO[bytes]) -> Forms:
        """Read the content of the file."""
        within = False
        for event, element in iterparse(part, ("start", "end")):
            if element.tag == f"{_TABLE}table":
                within = event == "start" and (not self.sheet or element.get(f"{_TABLE}name") == self.sheet)
                self.row = 0
            elif event == "end":
                if within:
                    self._take(element)
                else:
                    self.styles.read(element)
        return Forms(self.shows, self.height, self.width, tuple(self.merged), tuple(self.formulas))

    def _take(self, element: Element) -> None:
        if element.tag == f"{_TABLE}table-column":
            style = element.get(f"{_TABLE}default-cell-style-name", "")
            self.defaults += [style] * min(_repeats(element, "columns"), MAX_COLUMNS)
        elif element.tag in (f"{_TABLE}table-cell", f"{_TABLE}covered-table-cell"):
            again = _repeats(element, "columns")
            self._cell(element, again)
            self.column += again
        elif element.tag == f"{_TABLE}table-row":
            again = _repeats(element, "rows")
            if self.height > self.row:
                self.height = self.row + again
            for row in range(self.row, self.row + min(again, MAX_ROWS)) if self.here else ():
                self.shows.update({(row, column): shows for column, shows in self.here.items()})
            self.row += again
            self.column, self.here = 0, {}
            element.clear()

    def _cell(self, element: Element, again: int) -> None:
        spot = (self.row, self.column)
        if element.get(f"{_TABLE}formula"):
            self.formulas.append(spot)
        if (down := int(element.get(f"{_TABLE}number-rows-spanned", "1"))) > 1:
            self.merged.append((spot, (self.row + down - 1, self.column)))
        if element.get(f"{_OFFICE}value-type") is None and element.find(f"{_TEXT}p") is None:
            return
        self.height, self.width = self.row + 1, max(self.width, self.column + again)
        for column in range(self.column, self.column + min(again, MAX_COLUMNS)):
            default = self.defaults[column] if column < len(self.defaults) else ""
            shows = self.styles.shows(element.get(f"{_TABLE}style-name") or default)
            if shows != Shows():
                self.here[column] = shows


def _repeats(element: Element, of: str) -> int:
    """How often a row, column or cell is repeated."""
    return int(element.get(f"{_TABLE}number-{of}-repeated", "1"))
