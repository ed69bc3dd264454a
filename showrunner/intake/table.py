"""The table in a file: which row names the columns, and what below it is no row of the table.

People leave a title and a line of remarks above the headings, and a total below the rows. What is found is told, and
the owner can say it herself.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from showrunner.domain.book import Book
from showrunner.errors import BadInput
from showrunner.intake.columns import NEEDED, How, Kind, plain_name, recognise
from showrunner.intake.findings import Asked, shorten
from showrunner.storage.csv_text import Records, Row, Sheet, cell_text, sheet_of

LOOKED_AT = 30
"""Rows from the top among which the headings are looked for."""

_TOTALS = {
    *("total", "totals", "sum", "sums", "grand total", "subtotal", "count", "gesamt", "summe", "insgesamt", "anzahl"),
    *("somme", "totaux", "au total", "suma", "totales", "totale", "totali", "somma", "totaal", "som"),
}
_COUNTED = re.compile(r"(?:total )?\d+ (?:pieces?|items?|objects?|rows?|episodes?)(?: in total| in all)?")
_FOOTNOTE = re.compile(r"\s*(?:\*|note\b|notes\b|source\b|last updated\b|updated\b|printed\b)", re.IGNORECASE)


def find_sheet(records: Records, book: Book, name: str, asked: Asked) -> Sheet:
    """The table of a file, with its headings found.

    Args:
        records: the rows of the file.
        book: the book, which keeps what the owner said of columns before.
        name: name of the file, for the sentences.
        asked: how it is to be read.

    Returns:
        Its sheet, without what stands above the headings and without totals below.

    Raises:
        BadInput: nothing stands on the row that was said to hold the headings, or it names no column.
    """
    at = _said(records, asked.headings) if asked.headings else _headings(records, book, asked)
    sheet = sheet_of(records, at, name)
    notes = [*sheet.notes]
    unit = records.unit.value
    if at and not asked.headings:
        notes.append(
            f"The headings are taken from {unit} {records.rows[at][0]}; what stands above is left aside. "
            f"--headings N names another {unit}."
        )
    rows = list(sheet.rows)
    while len(rows) > 1 and (why := _no_row(rows[-1], sheet.columns, asked)):
        notes.append(f"{unit.capitalize()} {rows[-1].line} looks like {why} and is left out.")
        rows.pop()
    return replace(sheet, rows=tuple(rows), notes=tuple(notes))


def _said(records: Records, headings: int) -> int:
    """The index of the row that holds the headings, as the owner says."""
    found = next((at for at, (place, _) in enumerate(records.rows) if place == headings), None)
    if found is None:
        unit = records.unit.value
        raise BadInput(f"nothing stands on {unit} {headings}", "--headings", f"give the {unit} of the column names")
    return found


def _headings(records: Records, book: Book, asked: Asked) -> int:
    """The index of the row that names most fields; the first one unless another is surely better."""
    scores = [_score(cells, book, asked) for _, cells in records.rows[:LOOKED_AT]]
    best = max(range(len(scores)), key=lambda at: (scores[at], -at))
    return best if scores[best] > 1 else 0


def _score(cells: Sequence[str], book: Book, asked: Asked) -> int:
    """How many fields a row names, if it names one without which a sheet cannot be read."""
    names = tuple(dict.fromkeys(shorten(cell_text(cell)) for cell in cells if cell.strip()))
    most = 0
    for kind in (asked.kind,) if asked.kind else (Kind.PIECES, Kind.EPISODES):
        found = [
            c for c in recognise(names, kind, book.wordings, hints=False) if c.field and c.how is not How.KEY_WORDS
        ]
        fields = {column.field for column in found}
        fields |= {f for said, f in asked.meanings.items() if f and plain_name(said) in map(plain_name, names)}
        if NEEDED[kind] & fields:
            most = max(most, len(fields))
    return most


def _no_row(row: Row, columns: Sequence[str], asked: Asked) -> str:
    """What the last row of a table is if it is no row of it; empty if it is one."""
    said = [cell_text(cell).strip() for cell in row.cells]
    filled = [cell for cell in said if cell]
    words = plain_name(filled[0]) if filled else ""
    if words.removesuffix(" pieces").removesuffix(" items") in _TOTALS or _COUNTED.fullmatch(words):
        return "a total"
    if len(filled) == 1 and len(columns) > 1 and _FOOTNOTE.match(filled[0]):
        return "a remark"
    named = _naming(columns, asked)
    if named and filled and not any(said[at] for at in named) and all(map(_is_number, filled)):
        return "a total"
    return ""


def _naming(columns: Sequence[str], asked: Asked) -> list[int]:
    """The places of the columns that name what a row is about."""
    kind = asked.kind or Kind.PIECES
    needed = NEEDED[kind] | NEEDED[Kind.EPISODES]
    return [at for at, column in enumerate(recognise(columns, kind, hints=False)) if column.field in needed]


def _is_number(cell: str) -> bool:
    return bool(re.fullmatch(r"\D{0,4}[\d.,' ]+\D{0,4}", cell))
