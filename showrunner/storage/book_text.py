"""The text of a book file: JSON with one document a line, so that two versions compare line by line.

The tree is what TinyDB keeps: for each table, documents by their number as text.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from itertools import compress
from operator import is_not
from typing import Any, NamedTuple, TypeVar

from showrunner.domain.book import TABLES
from showrunner.domain.words import short
from showrunner.errors import BadInput

T = TypeVar("T")
Document = dict[str, Any]
Tree = dict[str, dict[str, Document]]

META = "meta"
"""Table whose document 1 holds the schema version, the book's key and clock, and the house rules."""
JOURNAL = "journal"
"""Table of the undo steps."""
TABLE_ORDER = (META, *TABLES, JOURNAL)
"""Every table, in the order of the file."""


MOST_DIGITS = 15
"""Most digits of the number of a document."""


class Unreadable(ValueError):
    """Bytes that are not a book; the message says why, in words."""


class Lines:
    """The lines of every document, made again only for documents that are other objects than before.

    Documents and tables are therefore replaced and never changed in place.
    """

    def __init__(self) -> None:
        self._encode = json.JSONEncoder(ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode
        self._known: dict[str, _Known] = {}

    def of(self, table: str, documents: dict[str, Document]) -> bytes:
        """The lines of a table's documents, as they stand in the file.

        Raises:
            BadInput: some text cannot be written as UTF-8.
        """
        return self._up_to_date(table, documents).body

    def sizes(self, table: str, documents: dict[str, Document]) -> dict[str, int]:
        """The length of the text of each of a table's documents, by its number.

        Raises:
            BadInput: some text cannot be written as UTF-8.
        """
        lines = self._up_to_date(table, documents).lines
        return {number: len(line.decode()) - len(number) - len('"":') for number, line in lines.items()}

    def _up_to_date(self, table: str, documents: dict[str, Document]) -> _Known:
        known = self._known.get(table, _Known({}, {}, b""))
        if known.documents is not documents:
            others = other_documents(known.documents, documents)
            fresh = {number: to_utf8(f'"{number}":{self._encode(documents[number])}') for number in others}
            lines = in_order_of(documents, known.lines, fresh)
            known = self._known[table] = _Known(documents, lines, b",\n".join(lines.values()))
        return known


class _Known(NamedTuple):
    """What the lines of one table were made from, and what they are."""

    documents: dict[str, Document]
    lines: dict[str, bytes]
    body: bytes


class Changed(dict[str, Document]):
    """The documents of a table after a change, which know what that was: then none need be compared.

    Args:
        before: the documents before.
        changes: the documents that are put in place of those with their numbers; None takes one out.
    """

    def __init__(self, before: dict[str, Document], changes: Mapping[str, Document | None]) -> None:
        super().__init__(before)
        self.state = object()
        """Stands for these documents, without keeping them."""
        self.made_from = before.state if isinstance(before, Changed) else None
        """The state of the documents before."""
        self.fresh: list[str] = []
        """The numbers of those that were put in place."""
        for number, document in changes.items():
            if document is None:
                self.pop(number, None)
            else:
                self[number] = document
                self.fresh.append(number)


def other_documents(before: dict[str, Document], documents: dict[str, Document]) -> list[str]:
    """The numbers of the documents of a table that are new, or other objects than before."""
    if isinstance(documents, Changed) and isinstance(before, Changed) and documents.made_from is before.state:
        return documents.fresh
    return list(compress(documents, map(is_not, documents.values(), map(before.get, documents))))


def in_order_of(documents: dict[str, Document], before: dict[str, T], fresh: dict[str, T]) -> dict[str, T]:
    """What is known of each document of a table, by their numbers: the fresh in place of what was known before."""
    known = {**before, **fresh}
    if len(known) == len(before) == len(documents):  # nearly always: none came and none went
        return known
    return {number: known[number] for number in sorted(documents, key=int)}


def dump(tree: Tree, lines: Lines) -> tuple[bytes, ...]:
    """The whole file, in parts: the large ones are those that the lines hold, and are not copied.

    Raises:
        BadInput: some text cannot be written as UTF-8 (it came from a wrongly encoded file or terminal).
    """
    parts = [b"{\n"]
    for name in TABLE_ORDER:
        body = lines.of(name, tree.get(name, {}))
        parts += [b'"%s":{\n' % name.encode(), body, b"\n},\n"] if body else [b'"%s":{},\n' % name.encode()]
    parts[-1] = parts[-1].removesuffix(b",\n") + b"\n}\n"
    return tuple(parts)


def to_utf8(text: str) -> bytes:
    """Text as UTF-8.

    Raises:
        BadInput: it cannot be written so (some of it came from a wrongly encoded file or terminal).
    """
    try:
        return text.encode()
    except UnicodeEncodeError as error:
        near = short(text[max(0, error.start - 20) : error.start + 20])
        what = "it holds a broken letter, which no file can keep"
        raise BadInput(what, f"text near '{near}'", "`showrunner check` names what holds it") from error


def load(data: bytes) -> Tree:
    """The tree of a file, with its shape checked but not yet its records.

    Raises:
        Unreadable: it is empty, cut short, not UTF-8, not JSON or not a book.
    """
    if not data.strip():
        raise Unreadable("the file is empty")
    try:
        tree = json.loads(data.decode(), parse_constant=_no_constant)
    except UnicodeDecodeError as error:
        raise Unreadable(f"the file is garbled (at its sign {error.start + 1})") from error
    except json.JSONDecodeError as error:
        raise Unreadable(f"the file is broken (line {error.lineno}, column {error.colno})") from error
    except (ValueError, RecursionError) as error:
        raise Unreadable("the file holds what no book has") from error
    if not _has_shape(tree):
        raise Unreadable("the file is no book")
    return tree  # type: ignore[no-any-return]  # its shape was just checked


def schema_of(tree: Tree) -> int:
    """Version of the layout the tree is in."""
    version: int = tree[META]["1"]["schema"]
    return version


def _no_constant(name: str) -> None:
    raise ValueError(name)


def _has_shape(tree: Any) -> bool:
    return (
        isinstance(tree, dict)
        and all(
            isinstance(table, dict)
            and all(_is_number(number) and isinstance(document, dict) for number, document in table.items())
            for table in tree.values()
        )
        and type(tree.get(META, {}).get("1", {}).get("schema")) is int
    )


def _is_number(text: str) -> bool:
    return text.isascii() and text.isdigit() and not text.startswith("0") and len(text) <= MOST_DIGITS
