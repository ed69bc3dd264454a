"""The text of a sheet: CSV as spreadsheets, databases and people write it, read and written.

What is decided here, because files differ and none says what it is:

- *Encoding*: a byte order mark decides. Without one, a file with a zero byte in every other place is
  UTF-16, whatever is valid UTF-8 is UTF-8, and the rest is Windows-1252, with a note. A file that is mostly
  valid UTF-8 with some damaged bytes is refused, since as Windows-1252 every accent in it would be garbled.
- *Delimiter*: one that stands in the header outside quotes. If several do, the one by which most rows are
  as wide as the header, then the one that gives more columns. A first line `sep=;` overrules all this.
- *Blank lines*: a line of nothing but spaces and delimiters is skipped; one with a quoted cell (`""`) is a row.
- *Quotes*: a quote that stands within a cell that begins without one is a plain sign (`5" wide`). One within
  a quoted cell that is not doubled is kept, with a note, if the cell closes on the line on which it opens;
  otherwise the opening quote counts as one that never closes, since it would swallow the rows below.
- *Columns*: a name loses the spaces around it. Unnamed columns at the end are dropped unless a row has
  something in them; every other unnamed column is called by its place, `column 3`.
"""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from itertools import islice

from showrunner.domain import words
from showrunner.errors import BadInput
from showrunner.storage.file_size import MAX_ROWS, too_large

MAX_COLUMNS = 200
"""Most columns a sheet may have."""
MAX_CELL = 1024 * 1024
"""Most characters a cell may have."""
DELIMITERS = ",;\t|"
"""The delimiters that are looked for; where nothing else decides, the first of these that can be."""

_SAMPLE = 2_000
"""Lines from the start of the text by which the delimiter is decided."""
_FITTING = 0.5
"""Least share of rows that must be as wide as the header for the delimiter to be taken from it."""
_JUNK = 0.3
"""Share of control characters from which 8-bit data is no text."""

_EDGES = " \t\r\n\v\f\x1c\x1d\x1e\x1f\x85\u00a0\u1680\u2028\u2029\u202f\u205f\u3000\ufeff\u2060" + "".join(
    map(chr, range(0x2000, 0x200C))
)
"""What is taken off both ends of a column's name: spaces of every kind, and signs without width."""
_CONTROL = re.compile("[\x01-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]")
_CONTROL_BYTES = bytes([*range(1, 9), 11, 12, *range(14, 32), 127])
_QUOTED = re.compile(r'(?:(?<=[,;\t|\r\n])|\A)"(?:[^"]++|"")*+"')
_FORMULA = re.compile(r"'*[=+\-@\t\r]")
_GUARDED = re.compile(r'="((?:[^"]|"")*)"')
_SEP = re.compile(r'("?)sep=([^\w\s"\x00-\x1f\x7f-\x9f]|\t)\1', re.IGNORECASE)

_WINDOWS_1252 = "".join(
    bytes([code]).decode("cp1252") if code not in (0x81, 0x8D, 0x8F, 0x90, 0x9D) else chr(code) for code in range(256)
)
"""Windows-1252 with the five codes it leaves open read as the control characters of the same number."""

_MARKS = ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be"))
_ENCODING_NAMES = {
    "utf-8": "UTF-8",
    "utf-8-sig": "UTF-8",
    "utf-16-le": "UTF-16",
    "utf-16-be": "UTF-16",
}
_DELIMITER_NAMES = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "upright strokes"}

_SAVE, _GIVE = "save it as CSV", "give a CSV file"
_KINDS: tuple[tuple[bytes, str], ...] = (
    (b"\x89PNG\r\n", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"GIF87a", "a picture"),
    (b"GIF89a", "a picture"),
    (b"II*\x00", "a picture"),
    (b"MM\x00*", "a picture"),
    (b"%PDF-", "a PDF document"),
    (b"SQLite format 3\x00", "a database"),
    (b"\x1f\x8b", "a compressed archive"),
    (b"7z\xbc\xaf\x27\x1c", "a compressed archive"),
    (b"Rar!\x1a\x07", "a compressed archive"),
)
"""First bytes of files that are no text, and what they are."""


class Unit(StrEnum):
    """What a place in a file is counted in."""

    LINE = "line"
    ROW = "row"
    ENTRY = "entry"


@dataclass(frozen=True, slots=True)
class Row:
    """One row below the header."""

    line: int
    """Line of the file, from 1, on which the row begins; lines within quoted cells count too."""
    cells: tuple[str, ...]
    """As many cells as there are columns; those missing from a short row are empty."""
    extra: tuple[str, ...]
    """Cells beyond the last column, up to the last one with something in it."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """What a file says, and how it was read."""

    columns: tuple[str, ...]
    """Names of the columns, no two of them the same."""
    rows: tuple[Row, ...]
    """The rows, in the order of the file."""
    encoding: str
    """Codec by which the bytes were read: `utf-8`, `utf-8-sig`, `utf-16-le`, `utf-16-be` or `cp1252`."""
    delimiter: str
    """The sign between two cells."""
    notes: tuple[str, ...]
    """A sentence for everything that was assumed."""
    unit: Unit = Unit.LINE
    """What the places of its rows are counted in."""


_Record = tuple[int, list[str]]
"""One row as it stands in the file, the header included: the line on which it begins, and its cells."""


@dataclass(frozen=True, slots=True)
class Records:
    """The rows of a file as they stand in it; one of them names the columns."""

    rows: tuple[_Record, ...]
    """Each with its place in the file; blank rows are left out."""
    encoding: str = ""
    """Codec by which the bytes were read; empty for a workbook."""
    delimiter: str = ""
    """The sign between two cells; empty for a workbook."""
    notes: tuple[str, ...] = ()
    """A sentence for everything that was assumed."""
    unit: Unit = Unit.LINE
    """What the places are counted in."""
    first_days: bool = False
    """Whether dates that all fall on the first of a month were read as months, their day being in question."""


@dataclass(slots=True)
class _Strays:
    """Quotes inside quoted cells that were not doubled."""

    lines: list[int] = field(default_factory=list)


def read_sheet(data: bytes, name: str) -> Sheet:
    """Read a CSV file.

    Args:
        data: the bytes of the file.
        name: name of the file, for the sentences.

    Returns:
        The sheet, with no rows if the file has only a header. Cells are as they stand in the file; those
        that :func:`write_sheet` made harmless come back through :func:`restored`.

    Raises:
        BadInput: the file is empty, too large, no text, or no sheet; the sentence names the line where
            there is one.
    """
    return sheet_of(read_records(data, name), 0, name)


def read_records(data: bytes, name: str) -> Records:
    """The rows of a CSV file, before it is known which of them names the columns.

    Raises:
        BadInput: as :func:`read_sheet`.
    """
    _refuse_other_kinds(data, name)
    text, encoding, notes = _decoded(data, name)
    lines = io.StringIO(text, newline="").readlines()
    delimiter, first = _declared(lines)
    if delimiter:
        notes.append(f"Its first line says that {_delimiter_words(delimiter)} part the cells.")
    else:
        delimiter, doubted = _delimiter("".join(lines[:_SAMPLE]), text)
        if doubted:
            notes.append(
                f"It was read with {_delimiter_words(delimiter)} between the cells; its header has others too."
            )
    strays = _Strays()
    records = _records(lines, first, delimiter, name, strays)
    if not records:
        raise _empty(name)
    notes += _odd_signs(text, strays)
    return Records(tuple(records), encoding, delimiter, tuple(notes))


def sheet_of(records: Records, at: int, name: str) -> Sheet:
    """The sheet whose columns the row with index `at` names; what stands above it is left aside.

    Raises:
        BadInput: that row names no column, or too many.
    """
    found = records.rows[at:]
    notes: list[str] = []
    columns = _columns(found, name, notes)
    width = len(columns)
    rows = tuple(_row(line, cells, width) for line, cells in islice(found, 1, None))
    told = (*records.notes, *notes)
    return Sheet(columns, rows, records.encoding, records.delimiter, told, records.unit)


def write_sheet(columns: Sequence[str], rows: Iterable[Sequence[str]]) -> bytes:
    """Write a CSV file that every spreadsheet reads: UTF-8 with its mark, commas, CRLF, quotes by RFC 4180.

    No cell can run as a formula (see :func:`neutral`). A cell is also quoted if it holds another delimiter,
    and so is the first one of an empty row, so that :func:`read_sheet` gives the same cells again.

    Args:
        columns: names of the columns, all different and with no spaces around them.
        rows: the cells of each row; missing ones at the end are empty.

    Raises:
        BadInput: some text holds what no such file can: half a sign (from a wrongly encoded file or
            terminal) or a zero byte.
        ValueError: a row has more cells than there are columns, or there are no columns.
    """
    if not columns:
        raise ValueError("a sheet without columns")
    out = [_line(columns, len(columns))]
    out += [_line(cells, len(columns)) for cells in rows]
    text = "".join(out)
    at = text.find("\0")
    try:
        if at < 0:
            return text.encode("utf-8-sig")
    except UnicodeEncodeError as error:
        at = error.start
    near = words.short(" ".join(text[max(0, at - 20) : at + 20].split()))
    raise BadInput("it holds a broken letter, which no file can keep", f"text near '{near}'", "retype it")


def neutral(cell: str) -> str:
    """A cell that no spreadsheet takes for a formula.

    If it begins with `=`, `+`, `-`, `@`, a tab or a carriage return, or with apostrophes before one of
    these, it gets one apostrophe in front; every other cell stays as it is.
    """
    return f"'{cell}" if _FORMULA.match(cell) else cell


def restored(cell: str) -> str:
    """The text from which :func:`neutral` made this cell."""
    return cell[1:] if cell.startswith("'") and _FORMULA.match(cell) else cell


def cell_text(cell: str) -> str:
    """What a cell says: :func:`restored`, and `="007"`, by which a spreadsheet is kept from counting, is `007`."""
    guarded = _GUARDED.fullmatch(cell)
    return guarded[1].replace('""', '"') if guarded else restored(cell)


def _refuse_other_kinds(data: bytes, name: str) -> None:
    """Refuse what is no text, by its first bytes, and what is too large."""
    kind, way_out = _kind(data)
    if kind:
        raise BadInput(f"this is {kind}", name, way_out)
    if told := too_large(len(data)):
        raise BadInput(f"its {told}", name, "split it into parts")


def _kind(data: bytes) -> tuple[str, str]:
    """What a file is that is no text, and what to give instead; nothing if its first bytes do not tell."""
    if data.startswith(b"PK\x03\x04"):
        if b"xl/workbook" in data or b"xl/worksheets" in data:
            return "an .xlsx workbook", _SAVE
        if is_open_document(data):
            return "an .ods workbook", _SAVE
        return "a .zip archive", _GIVE
    if (data[:4] == b"RIFF" and data[8:12] == b"WEBP") or (data[:3] == b"\0\0\0" and data[4:8] == b"ftyp"):
        return "a picture or a film", _GIVE
    if data.startswith(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"):
        return "an old office document, such as an .xls workbook", _SAVE
    if re.match(rb"(?:\xef\xbb\xbf)?\s*<(?:!doctype html|html)\b", data[:100], re.IGNORECASE):
        return "a web page", "give the feed or the CSV file itself, which such a page often links to"
    return next((kind for start, kind in _KINDS if data.startswith(start)), ""), _GIVE


def is_open_document(data: bytes) -> bool:
    """Whether an archive is an OpenDocument sheet: its first part, of a set place, says so (ODF 1.3 part 2, 3.3)."""
    return data.startswith(b"application/vnd.oasis.opendocument.spreadsheet", 38)


def _empty(name: str) -> BadInput:
    """The error for a file with nothing in it."""
    return BadInput("the file is empty", name, "give one with a line of column names")


def _decoded(data: bytes, name: str) -> tuple[str, str, list[str]]:
    """The text without its byte order mark, its codec, and what was assumed.

    Raises:
        BadInput: the bytes are no text.
    """
    notes = []
    mark, encoding = next(((mark, codec) for mark, codec in _MARKS if data.startswith(mark)), (b"", ""))
    if not encoding:
        encoding = _unmarked_utf16(data)
        if encoding:
            notes.append(f"It does not say how it is encoded and was read as {_ENCODING_NAMES[encoding]}.")
        else:
            _refuse_junk(data, name)
    try:
        text = data[len(mark) :].decode(encoding.removesuffix("-sig") or "utf-8")
    except UnicodeDecodeError as error:
        if encoding:
            raise _damaged(encoding, data[len(mark) : len(mark) + error.start], name) from error
        _refuse_damaged_utf8(data, error.start, name)
        text, encoding = codecs.charmap_decode(data, "strict", _WINDOWS_1252)[0], "cp1252"
        notes.append("It was read as older programs save text (Windows-1252); look at the letters with accents.")
    if "\0" in text:
        raise _not_text("it holds what no text has", name)
    return text, encoding or "utf-8", notes


def _unmarked_utf16(data: bytes) -> str:
    """The UTF-16 codec of bytes without a mark if it is obvious, otherwise nothing.

    It is if the zero bytes, at least one in twelve pairs, stand all in the same half of the pairs.
    """
    sample = data[: 64 * 1024]
    if len(data) % 2:
        return ""
    halves = sample[::2].count(0), sample[1::2].count(0)
    if min(halves) or max(halves) * 12 < len(sample) // 2:
        return ""
    return "utf-16-le" if halves[1] else "utf-16-be"


def _refuse_junk(data: bytes, name: str) -> None:
    """Refuse 8-bit data with zero bytes or with control characters in every third place."""
    if b"\0" in data:
        raise _not_text("it holds what no text has", name)
    controls = len(data) - len(data.translate(None, _CONTROL_BYTES))
    if controls > len(data) * _JUNK:
        raise _not_text(f"{controls} of its {len(data)} signs are none that can be seen", name)


def _not_text(why: str, name: str) -> BadInput:
    """The error for bytes that are no text."""
    return BadInput(f"this is not a text file, {why}", name, "give a CSV file")


def _refuse_damaged_utf8(data: bytes, start: int, name: str) -> None:
    """Refuse what is UTF-8 but for a few bytes, of which the first is at `start`."""
    text = data.decode("utf-8", "replace")
    bad = text.count("�")
    if len(re.findall(r"[^\x00-\x7f�]", text)) > bad:
        raise _damaged("utf-8", data[:start], name)


def _damaged(encoding: str, before: bytes, name: str) -> BadInput:
    """The error for a byte that its encoding cannot have, by the bytes before it."""
    text = before.decode(encoding.removesuffix("-sig"), "replace")
    line = len(io.StringIO(text + ".", newline="").readlines())
    spoken = _ENCODING_NAMES[encoding]
    return BadInput(f"line {line} is garbled, for the rest is {spoken}", name, "save it again as text in UTF-8")


def _declared(lines: list[str]) -> tuple[str, int]:
    """The delimiter that a first line `sep=;` names, if there is one, and how many lines that takes."""
    found = _SEP.fullmatch(lines[0].rstrip("\r\n ")) if lines else None
    return (found[2], 1) if found else ("", 0)


def _delimiter(sample: str, text: str) -> tuple[str, bool]:
    """The delimiter by the first lines of a text, and whether the header has another one outside quotes too."""
    bare = [line for line in re.split(r"[\r\n]+", _QUOTED.sub('""', sample)) if line.strip(_EDGES + DELIMITERS)]
    if not bare:
        return next((sign for sign in DELIMITERS if sign in text), DELIMITERS[0]), False
    header, rows = bare[0], bare[1:]
    found = [sign for sign in DELIMITERS if sign in header]
    best = max(found, key=lambda sign: _fitness(sign, header, rows)) if found else ""
    if not best or _fitness(best, header, rows)[0] < _FITTING:
        below = _below_a_title(bare)
        if below:
            return below, False
    return (best, len(found) > 1) if best else (_unused(text), False)


def _below_a_title(lines: list[str]) -> str:
    """The delimiter by which most lines below the first (two at least) are equally wide, three columns or more."""
    for sign in sorted(DELIMITERS, key=lambda sign: -max(line.count(sign) for line in lines)):
        widths = Counter(line.count(sign) for line in lines[1:])
        for width, often in widths.most_common(1):
            if width > 1 and often > 1 and often >= len(lines[1:]) * _FITTING and lines[0].count(sign) != width:
                return sign
    return ""


def _fitness(sign: str, header: str, rows: list[str]) -> tuple[float, int, int]:
    """How well a delimiter fits: rows as wide as the header, columns, and the more telling sign."""
    width = header.count(sign)
    fitting = sum(row.count(sign) == width for row in rows)
    return round(fitting / max(len(rows), 1), 1), width, "|,;\t".index(sign)


def _unused(text: str) -> str:
    """A delimiter for a sheet of one column: one that stands nowhere outside quotes, if there is one."""
    bare = _QUOTED.sub("", text)
    return next((sign for sign in DELIMITERS if sign not in bare), DELIMITERS[0])


def _delimiter_words(sign: str) -> str:
    """A delimiter in words."""
    return _DELIMITER_NAMES.get(sign, f"the signs '{sign}'")


def _records(lines: list[str], first: int, delimiter: str, name: str, strays: _Strays) -> list[_Record]:
    """Every row that is not blank, from the line with index `first` on.

    Raises:
        BadInput: a quote never closes, a cell is too long, or there are too many rows.
    """
    kept = csv.field_size_limit(MAX_CELL)
    try:
        found = (
            (start + 1, cells)
            for start, cells in _parsed(lines, first, delimiter, name, strays)
            if cells and not _is_blank(cells, lines[start])
        )
        records = list(islice(found, MAX_ROWS + 1))
    finally:
        csv.field_size_limit(kept)
    if len(records) > MAX_ROWS:
        raise BadInput(f"it has more than the {MAX_ROWS:,} rows that are read", name, "split it into parts")
    return records


def _parsed(lines: list[str], at: int, delimiter: str, name: str, strays: _Strays) -> Iterator[tuple[int, list[str]]]:
    """The index of the first line and the cells of every row; a row that breaks the rules is read with care."""
    while at < len(lines):
        first = at
        reader = csv.reader(_from(lines, first), delimiter=delimiter, strict=True)
        try:
            for cells in reader:
                yield at, cells
                at = first + reader.line_num
        except csv.Error:
            cells, after = _careful(lines, at, delimiter, name, strays)
            yield at, cells
            at = after


def _from(lines: list[str], first: int) -> Iterator[str]:
    """The lines from one on."""
    for index in range(first, len(lines)):
        yield lines[index]


def _is_blank(cells: list[str], line: str) -> bool:
    """Whether a row is a line of nothing but spaces and delimiters."""
    return not cells[0].strip() and '"' not in line and not "".join(cells).strip()


def _careful(lines: list[str], at: int, delimiter: str, name: str, strays: _Strays) -> tuple[list[str], int]:
    """The cells of one row that is not written by the rules, and the index of the line after it.

    Raises:
        BadInput: a quote never closes, or a cell is too long.
    """
    closes = re.compile(f" *+(?:(?={re.escape(delimiter)})|[\r\n]|\\Z)")
    cells: list[str] = []
    position = 0
    while True:
        start = at
        if lines[at].startswith('"', position):
            cell, at, position = _careful_quoted(lines, at, position + 1, closes, name, strays)
        else:
            end = lines[at].find(delimiter, position)
            cell = lines[at][position:end] if end >= 0 else lines[at][position:].rstrip("\r\n")
            position += len(cell)
        if len(cell) > MAX_CELL:
            what = f"a cell that begins on line {start + 1} has {len(cell):,} characters, more than {MAX_CELL:,}"
            raise BadInput(what, name, "shorten it, or look whether a quote before it is missing")
        cells.append(cell)
        if not lines[at].startswith(delimiter, position):
            return cells, at + 1
        position += 1


def _careful_quoted(
    lines: list[str], at: int, position: int, closes: re.Pattern[str], name: str, strays: _Strays
) -> tuple[str, int, int]:
    """A quoted cell whose text begins at `position`: the cell, and the line and position after it.

    Raises:
        BadInput: its quote never closes.
    """
    opened, stray = at, False
    parts: list[str] = []
    while True:
        quote = lines[at].find('"', position)
        if quote < 0:
            parts.append(lines[at][position:])
            at, position = at + 1, 0
            if stray or at == len(lines):
                raise _never_closes(opened, name)
            continue
        parts.append(lines[at][position:quote])
        end = closes.match(lines[at], quote + 1)
        if end:
            return "".join(parts), at, end.end()
        parts.append('"')
        position = quote + 1
        if lines[at].startswith('"', position):
            position += 1
        elif at > opened:
            raise _never_closes(opened, name)
        else:
            stray = True
            strays.lines.append(at + 1)


def _never_closes(opened: int, name: str) -> BadInput:
    """The error for a quote on the line with index `opened`."""
    way_out = "close it, or double the quotes that belong to the text"
    return BadInput(f"the quote that opens on line {opened + 1} never closes", name, way_out)


def _columns(records: Sequence[_Record], name: str, notes: list[str]) -> tuple[str, ...]:
    """The names of the columns by the header and what stands below it.

    Raises:
        BadInput: there are none, or too many.
    """
    line, header = records[0]
    names = [cell.strip(_EDGES) for cell in header]
    named = max((place for place, text in enumerate(names, 1) if text), default=0)
    if named < len(names):
        names = names[: max((_last_used(cells[: len(names)], named) for _, cells in records[1:]), default=named)]
    if not names:
        raise BadInput(f"line {line} names no column", name, "write the column names there")
    if len(names) > MAX_COLUMNS:
        what = f"its {len(names)} columns are more than the {MAX_COLUMNS} that are read"
        raise BadInput(what, name, "take out those that are not needed")
    unnamed = [f"column {place}" for place, text in enumerate(names, 1) if not text]
    if unnamed:
        notes.append(f"{words.count(len(unnamed), 'column')} without a name: {words.some(unnamed)}.")
    return _told_apart([text or f"column {place}" for place, text in enumerate(names, 1)], notes)


def _last_used(cells: list[str], least: int) -> int:
    """The place of the last cell with something in it, at least `least`."""
    place = len(cells)
    while place > least and not cells[place - 1].strip(_EDGES):
        place -= 1
    return max(place, least)


def _told_apart(columns: list[str], notes: list[str]) -> tuple[str, ...]:
    """The names, with its place behind each that another column to its left has too, whatever the capitals."""
    taken: set[str] = set()
    found = []
    for place, column in enumerate(columns, 1):
        told = column
        while told.casefold() in taken:
            told = f"{told} (column {place})"
        if told != column:
            name = words.short(column)
            notes.append(f"Two columns are called '{name}'; the one in place {place} is '{name} (column {place})'.")
        taken.add(told.casefold())
        found.append(told)
    return tuple(found)


def _row(line: int, cells: list[str], width: int) -> Row:
    """A row cut or padded to the width of the sheet."""
    padded = (*cells, *("",) * (width - len(cells)))
    return Row(line, padded[:width], padded[width : _last_used(cells, width)])


def _odd_signs(text: str, strays: _Strays) -> Iterator[str]:
    """A sentence each on the control characters and on the quotes that were not doubled."""
    controls = len(_CONTROL.findall(text))
    if controls:
        yield f"It has {words.count(controls, 'sign')} that cannot be seen, which {_was(controls)} kept."
    if strays.lines:
        count = len(strays.lines)
        undoubled = f"{words.count(count, 'quote')} inside quoted cells {_was(count)} not doubled"
        yield f"{undoubled} and {_was(count)} kept, the first on line {strays.lines[0]}."


def _was(count: int) -> str:
    """`was` or `were`."""
    return "was" if count == 1 else "were"


def _line(cells: Sequence[str], width: int) -> str:
    """One row of `width` cells as it is written."""
    if len(cells) > width:
        raise ValueError(f"a row of {len(cells)} cells in a sheet of {width} columns")
    written = [_quoted(neutral(cell)) for cell in cells] + [""] * (width - len(cells))
    if not "".join(written).strip():
        written[0] = f'"{written[0]}"'
    return ",".join(written) + "\r\n"


_needs_quotes: Callable[[str], object] = re.compile('[",;\t|\r\n]').search


def _quoted(cell: str) -> str:
    """A cell in quotes if it needs them."""
    if not _needs_quotes(cell):
        return cell
    doubled = cell.replace('"', '""')
    return f'"{doubled}"'
