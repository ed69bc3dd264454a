"""Between the documents of the tables and the records of the book."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from itertools import compress
from operator import is_not
from types import MappingProxyType
from typing import Any

from tinydb.table import Document

from showrunner.domain.book import TABLES, Book
from showrunner.domain.house import HouseRules
from showrunner.domain.record import record
from showrunner.storage.book_text import META
from showrunner.storage.codec import Misfit, decode, encode
from showrunner.storage.migrations import SCHEMA


@record
class Change:
    """One document before and after an action."""

    table: str
    """Its table."""
    number: int
    """Its number in the table, which is its place in book order."""
    before: dict[str, Any] | None
    """The document before; None if there was none."""
    after: dict[str, Any] | None
    """The document after; None if there is none any more."""


@record
class _Meta:
    """Document 1 of the meta table."""

    schema: int
    key: str
    clock: date | None = None
    house: HouseRules = HouseRules()


class BadRecord(ValueError):
    """A document that is no record of its table; the message names table, id and field."""


def meta_document(book: Book) -> dict[str, Any]:
    """The meta document of a book."""
    return encode(_Meta(SCHEMA, book.key, book.clock, book.house))


def meta_fields(document: dict[str, Any]) -> dict[str, Any]:
    """The fields of the book that the meta document holds.

    Raises:
        BadRecord: it does not fit.
    """
    try:
        meta = decode(_Meta, dict(document))
    except Misfit as misfit:
        raise BadRecord(f"{META}: {misfit.field}: {misfit.what}") from misfit
    return {"key": meta.key, "clock": meta.clock, "house": meta.house}


def read_rows(
    table: str, documents: Iterable[Document], known: Mapping[int, Any] = MappingProxyType({})
) -> tuple[Any, ...]:
    """The records of a table from its documents, in their order.

    Args:
        table: its name.
        documents: its documents.
        known: records by number that need not be read again.

    Raises:
        BadRecord: a document does not fit, or two have one id.
    """
    kind = TABLES[table]
    rows = []
    seen: set[str] = set()
    for document in documents:
        try:
            row = known.get(document.doc_id) or decode(kind, document)
        except Misfit as misfit:
            name = document.get("id", f"entry {document.doc_id}")
            field = f"{misfit.field}: " if misfit.field else ""
            raise BadRecord(f"{table}, '{name}', {field}{misfit.what}") from misfit
        if row.id in seen:
            raise BadRecord(f"{table}, '{row.id}': two entries are called so")
        seen.add(row.id)
        rows.append(row)
    return tuple(rows)


def table_changes(table: str, documents: Sequence[Document], old: Sequence[Any], new: Sequence[Any]) -> list[Change]:
    """What must change for a table to hold the new rows.

    Records keep their number as long as the order allows it, and new ones are added at the end.

    Args:
        table: its name.
        documents: its documents in book order.
        old: the records that they hold, in the same order.
        new: the records it is to hold, in book order.
    """
    if len(old) == len(new):
        others = list(compress(zip(documents, old, new, strict=True), map(is_not, old, new)))
        if all(row.id == fresh.id for _, row, fresh in others):  # nearly always; each keeps its number
            return [
                Change(table, document.doc_id, dict(document), encode(fresh))
                for document, row, fresh in others
                if row != fresh
            ]
    numbers = [document.doc_id for document in documents]
    places = _places(new, {row.id: number for row, number in zip(old, numbers, strict=True)})
    before = {number: (row, document) for number, row, document in zip(numbers, old, documents, strict=True)}
    after = dict(zip(places, new, strict=True))
    changes = []
    for number in sorted(before.keys() | after.keys()):
        row, document = before.get(number, (None, None))
        fresh = after.get(number)
        if row is not fresh and row != fresh:
            changes.append(Change(table, number, dict(document) if document is not None else None, _encode(fresh)))
    return changes


def _encode(row: Any | None) -> dict[str, Any] | None:
    return None if row is None else encode(row)


def _places(rows: Sequence[Any], known: dict[str, int]) -> list[int]:
    """The number of every row: rising, the known one where it can be kept."""
    places: list[int] = []
    next_number = max(known.values(), default=0) + 1
    for row in rows:
        number = known.get(row.id)
        if number is None:
            number, next_number = next_number, next_number + 1
        if places and number <= places[-1]:
            return list(range(1, len(rows) + 1))
        places.append(number)
    return places
