"""The whole book as one JSON file for other programs, with a JSON Schema, and back.

The file is `{"format", "version", "key", "house", "clock"}` and one list of records for each table. Records
are written as in the book file, without the fields that equal their defaults. It holds the key of the book and
what calendars were told too, so that an import into an empty book gives the same book and another export the
same bytes. It holds no undo steps.

`python -m showrunner.storage.exchange` prints the schema.
"""

from __future__ import annotations

import json
import sys
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import fields
from datetime import date
from importlib.resources import files
from itertools import chain, islice
from typing import Any

from showrunner.domain import words
from showrunner.domain.book import TABLES, Book
from showrunner.domain.house import HouseRules
from showrunner.domain.record import record
from showrunner.errors import BadInput
from showrunner.storage.book_text import META, to_utf8
from showrunner.storage.codec import Misfit, decode, encode, misfits, nearest, write
from showrunner.storage.file_size import too_large
from showrunner.storage.json_schema import Schema, record_schema
from showrunner.storage.migrations import brought_along
from showrunner.storage.odd_text import ODD, is_odd

FORMAT = "showrunner-exchange"
"""What the file says it is."""
VERSION = 1
"""Version of the present form of the file."""
SCHEMA_FILE = "exchange.schema.json"
"""Name of the published schema; the package holds it beside this module."""
MOST_RECORDS = 50_000
"""Most records of all tables together."""
MOST_GROUPS = 120_000
"""Most records and groups within them."""
MOST_FAULTS = 100
"""Most faults that are told; beyond it nothing more is looked at."""
DEEPEST = 16
"""Most lists and groups within each other that are looked at; a book needs 6."""

_KEYS = ("format", "version", "key", "house", "clock", *TABLES)


class BadExchange(BadInput):
    """An exchange file that cannot be taken over; nothing of it was.

    Args:
        name: the file.
        faults: everything that is wrong with it, one sentence each.
    """

    def __init__(self, name: str, faults: tuple[str, ...]) -> None:
        first = faults[0].rstrip(".")
        if len(faults) == 1:
            super().__init__(first, name)
        else:
            super().__init__(f"it has {len(faults)} faults", name, f"put them right, beginning with this one: {first}")
        self.faults = faults
        """Every fault, one plain sentence each, in the order of the file."""


@record
class _Head:
    """What the file holds of the book beside its tables."""

    key: str
    house: HouseRules = HouseRules()
    clock: date | None = None


# Writing


def to_exchange(book: Book) -> bytes:
    """The whole book as an exchange file.

    Raises:
        BadInput: some text of the book cannot be written as UTF-8.
    """
    tree: dict[str, Any] = {
        "format": FORMAT,
        "version": VERSION,
        "key": book.key,
        "house": encode(book.house),
        "clock": write(date, book.clock),
    }
    for table in TABLES:
        tree[table] = [encode(record) for record in getattr(book, table)]
    return _text(tree)


def _text(tree: Any) -> bytes:
    return to_utf8(json.dumps(tree, ensure_ascii=False, allow_nan=False, indent=1) + "\n")


# Reading


def read_exchange(data: bytes, name: str) -> Book:
    """The book that an exchange file holds, whether or not its records go together.

    Args:
        data: the file.
        name: its name, for the errors.

    Raises:
        BadExchange: it is no exchange file of this version, or anything in it does not fit its field.
    """
    try:
        tree = _tree(data)
    except ValueError as error:
        raise BadExchange(name, (f"{error}.",)) from error
    faults = list(islice(_faults(tree), MOST_FAULTS + 1))
    if len(faults) > MOST_FAULTS:
        faults[-1] = "There are more faults; put these right first."
    _refuse(name, faults)
    head = decode(_Head, brought_along(META, _head(tree)))
    rows = {
        table: tuple(decode(kind, brought_along(table, document)) for document in tree.get(table, ()))
        for table, kind in TABLES.items()
    }
    return Book(head.key, head.house, head.clock, **rows)


def _refuse(name: str, faults: list[str]) -> None:
    if faults:
        raise BadExchange(name, tuple(map(_one_line, faults)))


class _Object(dict[str, Any]):
    """A JSON object that knows which of its keys were given more than once."""

    def __init__(self, pairs: list[tuple[str, Any]]) -> None:
        super().__init__(pairs)
        times = Counter(key for key, _ in pairs) if len(self) < len(pairs) else {}
        self.repeated = [key for key, count in times.items() if count > 1]


def _tree(data: bytes) -> _Object:
    """The JSON of a file that says it is an exchange file of this version.

    Raises:
        ValueError: it is anything else; the message is the sentence that says so.
    """
    if not data.strip():
        raise ValueError("The file is empty; export the book again")
    if told := too_large(len(data)):
        raise ValueError(f"Its {told}; give a smaller file")
    try:
        tree = json.loads(data.decode("utf-8-sig"), object_pairs_hook=_Object)
    except UnicodeDecodeError as error:
        raise ValueError(f"It is garbled (at its sign {error.start + 1}); export the book again") from error
    except json.JSONDecodeError as error:
        raise ValueError(f"It is broken (line {error.lineno}, column {error.colno}); mend it there") from error
    except RecursionError as error:
        raise ValueError(_TOO_DEEP) from error
    except ValueError as error:
        raise ValueError("It holds a number with thousands of digits; give a smaller one") from error
    deep, groups = _extent(tree)
    if deep > DEEPEST:
        raise ValueError(_TOO_DEEP)
    if groups > MOST_GROUPS:
        raise ValueError(f"Its records hold more than the {MOST_GROUPS:,} groups that are read; divide it")
    if not isinstance(tree, _Object) or tree.get("format") != FORMAT:
        raise ValueError(f'It is no export of a book ("format": "{FORMAT}"); give a file that an export wrote')
    version = tree.get("version")
    if type(version) is int and version > VERSION:
        newer = f"version {words.short(str(version))}; this one reads version {VERSION}"
        raise ValueError(f"A newer version of showrunner wrote it ({newer}); use that newer version")
    if type(version) is not int or version < 1:
        raise ValueError(f'It names no version of the form that ever was; it should say "version": {VERSION}')
    records = sum(len(tree[table]) for table in TABLES if isinstance(tree.get(table), list))
    if records > MOST_RECORDS:
        raise ValueError(f"Its {records:,} records are more than the {MOST_RECORDS:,} that are read; divide it")
    return tree


_TOO_DEEP = "Its lists and groups lie deeper within each other than any book needs; give a file that an export wrote"


def _extent(tree: Any) -> tuple[int, int]:
    """How many lists and groups lie within each other, one more than `DEEPEST` for any more, and how many groups."""
    level, groups = [tree], 0
    for deep in range(DEEPEST + 1):
        groups += sum(isinstance(value, dict) for value in level)
        level = [part for value in level for part in _parts(value)]
        if not level:
            return deep, groups
    return DEEPEST + 1, groups


def _parts(value: Any) -> list[Any]:
    if isinstance(value, dict):
        return list(value.values())
    return value if isinstance(value, list) else []


def _head(tree: Mapping[str, Any]) -> dict[str, Any]:
    return {field.name: tree[field.name] for field in fields(_Head) if field.name in tree}


def _faults(tree: _Object) -> Iterator[str]:
    """Everything that is wrong with the records of a file, in the order of its tables."""
    for key in tree.repeated:
        yield f"'{words.short(key)}' is given twice; keep one of them."
    for key in tree:
        if key not in _KEYS:
            yield f"There is no table '{words.short(key)}'; {nearest(key, _KEYS) or 'leave it out'}."
    head = _head(tree)
    for misfit in chain(_oddities(head), misfits(_Head, brought_along(META, head))):
        yield _sentence([], misfit)
    for table, kind in TABLES.items():
        yield from _table_faults(table, kind, tree.get(table, []))


def _table_faults(table: str, kind: type[Any], documents: Any) -> Iterator[str]:
    if type(documents) is not list:
        yield f"{table}: it is not a list of records; write one in square brackets."
        return
    names = [document.get("id") if isinstance(document, dict) else None for document in documents]
    for number, (name, document) in enumerate(zip(names, documents, strict=True), 1):
        label = f"'{words.short(name)}'" if isinstance(name, str) and name.strip() else f"entry {number}"
        for misfit in chain(_oddities(document), misfits(kind, brought_along(table, document))):
            yield _sentence([table, label], misfit)
    for name, times in Counter(name for name in names if isinstance(name, str)).items():
        if times > 1:
            yield f"{table}: {times} entries are both called '{words.short(name)}'; give each its own."


def _sentence(place: list[str], misfit: Misfit) -> str:
    where = ", ".join([*place, words.short(misfit.field, 80)] if misfit.field else place)
    way_out = f"; {misfit.way_out}" if misfit.way_out else ""
    return f"{where}: {misfit.what}{way_out}."


def _oddities(value: Any) -> Iterator[Misfit]:
    """What JSON allows and a book does not: half characters, and keys given twice."""
    if isinstance(value, str) and is_odd(value):
        yield Misfit(ODD, way_out="retype it")
    if isinstance(value, _Object):
        for key in value.repeated:
            yield Misfit("it is given twice", key, "keep one of them")
    inside = value.items() if isinstance(value, dict) else enumerate(value, 1) if isinstance(value, list) else ()
    for name, part in inside:
        for misfit in _oddities(part):
            yield misfit.inside(str(name))


def _one_line(sentence: str) -> str:
    """A sentence as a terminal may show it, whatever the file holds."""
    return "".join(sign if sign.isprintable() else " " if sign.isspace() else "�" for sign in sentence)


# The schema


def schema() -> Schema:
    """The JSON Schema of exchange files (draft 2020-12), made from the types of the domain."""
    definitions: dict[str, Schema] = {}
    whole = record_schema(Book, definitions)
    whole["properties"] = {
        "format": {"const": FORMAT, "description": "What the file is."},
        "version": {"const": VERSION, "description": "Version of the form of the file."},
        **whole["properties"],
    }
    whole["required"] = ["format", "version", *whole["required"]]
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"urn:{FORMAT}:{VERSION}",
        **whole,
        "$defs": dict(sorted(definitions.items())),
    }


def schema_bytes() -> bytes:
    """The schema as the text of its file, made afresh."""
    return _text(schema())


def published_schema() -> bytes:
    """The schema as the package publishes it; made from the types only when they change."""
    return files("showrunner.storage").joinpath(SCHEMA_FILE).read_bytes()


# Comparing


@record
class ChangedRecord:
    """A record that two books hold differently."""

    id: str
    """Its id."""
    fields: tuple[str, ...]
    """Names of the fields that differ, in the order of its type."""


@record
class TableDifference:
    """How a table of one book differs from that of another."""

    table: str
    """Name of the table."""
    new: tuple[str, ...] = ()
    """Ids that only the new book has, in its order."""
    changed: tuple[ChangedRecord, ...] = ()
    """Records that both have and that differ, in the order of the new book."""
    gone: tuple[str, ...] = ()
    """Ids that only the old book has, in its order."""
    reordered: bool = False
    """Whether the records that both have stand in another order."""


@record
class Differences:
    """How one book differs from another; false if it does not."""

    book: tuple[str, ...] = ()
    """What differs beside the tables: `key`, `clock`, or a field of the house rules (`house.zone`)."""
    tables: tuple[TableDifference, ...] = ()
    """The tables that differ, in the order of the book."""

    def __bool__(self) -> bool:
        return bool(self.book or self.tables)


def differences(old: Book, new: Book) -> Differences:
    """What of `old` would change if `new` took its place."""
    head = [name for name in ("key", "clock") if getattr(old, name) != getattr(new, name)]
    house = [f"house.{name}" for name in _changed_fields(old.house, new.house)]
    tables = (_table_difference(table, getattr(old, table), getattr(new, table)) for table in TABLES)
    return Differences((*head, *house), tuple(table for table in tables if table != TableDifference(table.table)))


def _changed_fields(old: Any, new: Any) -> tuple[str, ...]:
    return tuple(field.name for field in fields(new) if getattr(old, field.name) != getattr(new, field.name))


def _table_difference(table: str, old: tuple[Any, ...], new: tuple[Any, ...]) -> TableDifference:
    before, after = {record.id: record for record in old}, {record.id: record for record in new}
    kept = [id for id in after if id in before]
    return TableDifference(
        table,
        new=tuple(id for id in after if id not in before),
        changed=tuple(
            ChangedRecord(id, _changed_fields(before[id], after[id])) for id in kept if before[id] != after[id]
        ),
        gone=tuple(id for id in before if id not in after),
        reordered=kept != [id for id in before if id in after],
    )


if __name__ == "__main__":
    sys.stdout.buffer.write(schema_bytes())
