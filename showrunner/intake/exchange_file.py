"""An exchange file compared with the book: what it would add and replace, and what of it is refused.

- A book with no record in any table takes everything as it is in the file: key, house, clock and order included.
- Any other book keeps its key and clock, and everything that the file lacks. Records go by their ids: those it holds
  are replaced where they stand, new ones come after them in the order of the file.
- The record of publications and the log of the shoots only grow: a line that the book tells otherwise is refused, and
  so is a shoot that is closed in the book and open in the file.
- Of two tellings of one calendar entry the later revision stays. Those that another book told stay with that book:
  this one would cancel them the next time it writes its calendar.
- House rules come from the file only where the book's own are still those of a new book.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, fields, replace
from typing import Any

from showrunner.domain import words
from showrunner.domain.book import TABLES, Book
from showrunner.domain.consistency import problems
from showrunner.domain.house import HouseRules
from showrunner.domain.publication import Supporter
from showrunner.intake.columns import Kind
from showrunner.intake.findings import Intake, Row, Verdict, shorten
from showrunner.storage.exchange import BadExchange, differences, read_exchange

APPEND_ONLY = ("publications", "log")
"""Tables whose lines are never changed."""

_NOUNS = {
    "collections": "collection",
    "boxes": "box",
    "pieces": "piece",
    "rules": "slot rule",
    "series": "series",
    "dark": "run of dark days",
    "busy": "busy day",
    "episodes": "episode",
    "pins": "pin",
    "publications": "line on record",
    "supporters": "supporter",
    "shoots": "shoot",
    "log": "line of the log",
    "wordings": "wording",
    "calendar": "calendar entry",
}
"""What a record of each table is called."""
_MANY = {"dark": "runs of dark days", "publications": "lines on record", "log": "lines of the log"}
"""What several are called, where the noun does not tell."""


def looks_like_exchange(data: bytes, name: str) -> bool:
    """Whether a file is an exchange file, by its name or by how it begins."""
    return name.casefold().endswith(".json") or data[:1000].removeprefix(b"\xef\xbb\xbf").lstrip().startswith(b"{")


def bring_exchange(book: Book, data: bytes, name: str) -> Intake:
    """Compare an exchange file with the book.

    Args:
        book: the book.
        data: the file.
        name: its name, for the sentences.

    Returns:
        A row for each record that would be new, changed or unchanged, in the order of the file. Everything that is
        refused is a sentence in `faults`: the faults of a file that cannot be read, records that the book tells
        otherwise and may not change, and whatever would not go together afterwards. With any of them the book stays
        as it is.
    """
    try:
        given = read_exchange(data, name)
    except BadExchange as error:
        return Intake(name, Kind.BOOK, book, book, (), faults=error.faults)
    merged = _whole(book, given) if is_empty(book) else _merged(book, given)
    faults = [*merged.faults, *_fresh_problems(book, merged.after)]
    after = book if faults or merged.after == book else merged.after
    faults = [shorten(fault, 400) for fault in dict.fromkeys(faults)]
    return Intake(name, Kind.BOOK, book, after, tuple(merged.rows), notes=tuple(merged.notes), faults=tuple(faults))


def is_empty(book: Book) -> bool:
    """Whether a book has no record in any table."""
    return not any(getattr(book, table) for table in TABLES)


@dataclass(slots=True)
class _Merged:
    """The book that a file would make, and what is told of it."""

    after: Book
    rows: list[Row] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)


def _whole(book: Book, given: Book) -> _Merged:
    """The book of the file as it is."""
    rows = [
        Row(line, record.id, _name(table, record), Verdict.NEW)
        for table in TABLES
        for line, record in enumerate(getattr(given, table), 1)
    ]
    told = "The book is empty, so key, house rules, clock and order come from the file too."
    return _Merged(given, rows, [told] if given != book else [])


def _merged(book: Book, given: Book) -> _Merged:
    """The book with the records of the file."""
    merged = _Merged(book)
    for table in TABLES:
        if table == "calendar" and given.key != book.key:
            continue
        taken = []
        for line, record in enumerate(getattr(given, table), 1):
            old = book.find(table, record.id)
            if refusal := _refusal(book, table, old, record):
                merged.faults.append(refusal)
                continue
            if table == "calendar" and old is not None and record.sequence <= old.sequence:
                record = old
            merged.rows.append(_row(table, line, old, record))
            if record != old:
                taken.append(record)
        if taken:
            merged.after = merged.after.put(table, *taken)
    if book.house == HouseRules():
        merged.after = replace(merged.after, house=given.house)
    merged.notes += _notes(book, given)
    return merged


def _refusal(book: Book, table: str, old: Any, new: Any) -> str:
    """Why a record of the file may not take the place of the book's; empty if it may."""
    if old is None or old == new:
        return ""
    called = _name(table, new)
    if table in APPEND_ONLY:
        kept = "record of publications" if table == "publications" else "log of a shoot"
        said = words.some(_changed(old, new))
        return f"{called} ('{new.id}'): the file and the book differ in {said}, and a {kept} is never rewritten."
    if table == "pieces" and old.collection != new.collection:
        there = book.find("collections", old.collection)
        other = there.name if there else old.collection
        return f"{called}: in the book '{new.id}' is {old.name} of {other}; give the piece in the file another number."
    if table == "shoots" and old.closed and not new.closed:
        return f"{called}: it is closed in the book and open in the file, and no shoot is opened again."
    return ""


def _row(table: str, line: int, old: Any, new: Any) -> Row:
    if old is None:
        return Row(line, new.id, _name(table, new), Verdict.NEW)
    if old == new:
        return Row(line, new.id, _name(table, new), Verdict.UNCHANGED)
    return Row(line, new.id, _name(table, new), Verdict.CHANGED, words.listing(_changed(old, new)))


def _changed(old: Any, new: Any) -> list[str]:
    """Names of the fields that differ, as words."""
    names = [part.name for part in fields(new) if getattr(old, part.name) != getattr(new, part.name)]
    return [name.replace("_", " ") for name in names]


def _name(table: str, record: Any) -> str:
    """What a record is, in words: `piece Tea gown`. A supporter is named only with consent."""
    said = getattr(record, "name", "") or getattr(record, "title", "")
    if isinstance(record, Supporter) and not record.consent:
        said = ""
    return f"{_NOUNS[table]} {shorten(said or record.id)}"


def _notes(book: Book, given: Book) -> Iterator[str]:
    """What of the file is left aside."""
    if given.key != book.key:
        yield "The file is of another book; this one keeps its own key."
        if given.calendar:
            told = words.count(len(given.calendar), "calendar entry")
            yield f"{told} of the other book {'stays' if len(given.calendar) == 1 else 'stay'} with it."
    if given.clock != book.clock:
        stands = f"stands at {words.day(book.clock)}" if book.clock else "is the real day"
        yield f"The clock of this book {stands}, and that stays."
    if book.house not in (HouseRules(), given.house):
        names = words.some(_changed(book.house, given.house))
        yield f"The house rules of this book stay; those of the file differ in {names}."
    moved = [found.table for found in differences(book, given).tables if found.reordered]
    if moved:
        names = words.listing([_MANY.get(table) or words.count(2, _NOUNS[table]).removeprefix("2 ") for table in moved])
        yield f"The order of the {names} in this book stays."


def _fresh_problems(before: Book, after: Book) -> list[str]:
    """What would not go together in a book and did in the one before."""
    known = set(problems(before))
    return [sentence for sentence in problems(after) if sentence not in known]
