"""TinyDB's storage of a book: the tree in memory, and the file written whole once for each action."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from tinydb import TinyDB
from tinydb.storages import Storage
from tinydb.table import Document, Table

from showrunner.storage.atomic import NotConfirmed, write_whole
from showrunner.storage.book_text import Changed, Lines, Tree, dump, in_order_of, load, other_documents
from showrunner.storage.migrations import migrate
from showrunner.storage.ordinary import open_ordinary, read_ordinary

Mark = tuple[int, int, int]


class BookStorage(Storage):
    """The tree of one book and its file.

    Inside :meth:`transaction` table operations touch only the memory; the file is written once
    at its end. A write outside of one is a transaction by itself.

    Args:
        path: the book file, not a symbolic link; not read yet.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self._tree: Tree = {}
        self._lines = Lines()
        self._saved: tuple[bytes, ...] = ()
        self._mark: Mark | None = None
        self._open = False
        self._migrated = False

    @property
    def saved(self) -> bytes:
        """The file's content as last read or written; empty if there was none."""
        return b"".join(self._saved)

    @property
    def saved_parts(self) -> tuple[bytes, ...]:
        """The same in parts, without putting them together."""
        return self._saved

    @property
    def migrated(self) -> bool:
        """Whether the file is still in an older layout than the tree."""
        return self._migrated

    def read(self) -> Tree:
        """The tree; TinyDB calls it for every table operation."""
        return self._tree

    def write(self, data: Tree) -> None:
        """Take the changed tree; TinyDB calls it at the end of every table operation that changes something."""
        self._tree = data
        if not self._open:
            with self.transaction():
                pass

    def text(self) -> bytes:
        """The tree as the content of a file, in the present layout."""
        return b"".join(self._parts())

    def _parts(self) -> tuple[bytes, ...]:
        return dump(self._tree, self._lines)

    def sizes(self, table: str) -> Mapping[str, int]:
        """The length of the text of every document of a table, by its number."""
        return self._lines.sizes(table, self._tree.get(table, {}))

    def load(self, without: Sequence[str] = ()) -> None:
        """Read the file; on failure memory stays as it is.

        Args:
            without: tables that are left aside, as if they were empty.

        Raises:
            OSError: the file cannot be read.
            Unreadable: it is not a book.
        """
        with open_ordinary(self._path) as file:
            mark = _mark_of(os.fstat(file.fileno()))
            data = file.read()
        self._take(data, without)
        self._mark = mark

    def mark_on_disk(self) -> Mark | None:
        """What tells the present file from any other; the mark of the file last read or written if it is gone."""
        try:
            return _mark_of(self._path.stat())
        except OSError:
            return self._mark

    def changed_on_disk(self) -> bool:
        """Whether the file holds something else than was last read or written; False if it is gone.

        One that was only touched, or put back as it was, is known by its content.
        """
        mark = self.mark_on_disk()
        if mark == self._mark:
            return False
        with suppress(OSError):
            if read_ordinary(self._path) == self.saved:
                self._mark = mark
                return False
        return True

    @contextmanager
    def transaction(self) -> Iterator[None]:
        """Write the file once at the end; on any failure memory goes back to what the disk holds.

        A file that was removed is simply written again.

        Raises:
            FileChanged: something else changed the file since it was last read or written here.
            CannotWrite: the system refused.
        """
        self._open = True
        parts: tuple[bytes, ...] = ()
        try:
            yield
            parts = self._parts()
            if self.changed_on_disk():
                raise FileChanged
            self._mark = _mark_of(write_whole(self._path, *parts))
            self._saved, self._migrated = parts, False
        except NotConfirmed as error:
            self._mark, self._saved, self._migrated = _mark_of(error.written), parts, False
            raise
        except BaseException:
            self._back_to_disk(parts)
            raise
        finally:
            self._open = False

    def _back_to_disk(self, attempted: tuple[bytes, ...]) -> None:
        """Hold what was saved last, or what was attempted if it had already taken the file's name."""
        with suppress(OSError):
            if attempted and read_ordinary(self._path) == b"".join(attempted):
                self._saved = attempted
        if self._saved:
            self._take(self.saved)
        else:
            self._tree = {}

    def _take(self, data: bytes, without: Sequence[str] = ()) -> None:
        tree = {name: table for name, table in load(data).items() if name not in without}
        self._tree = migrate(tree)
        self._saved, self._migrated = (data,), self._tree is not tree


class FileChanged(Exception):
    """Something else changed the file."""


class RecordTable(Table):
    """A table in which many documents change at once, and whose documents are replaced and never changed in place."""

    _raw: dict[str, Any]
    _rows: dict[str, Document]

    def __init__(self, *arguments: Any, **more: Any) -> None:
        super().__init__(*arguments, **more)
        self._raw, self._rows = {}, {}

    def change(self, changes: Mapping[int, dict[str, Any] | None]) -> None:
        """Put each document under its number in place of what is there; None removes it."""
        tree = self._storage.read() or {}
        by_number = {str(number): document for number, document in changes.items()}
        tree[self.name] = Changed(tree.get(self.name, {}), by_number)  # TinyDB's own way turns every number twice
        self._storage.write(tree)

    def in_order(self) -> list[Document]:
        """All documents by their numbers, which is book order; made again only for those that changed."""
        raw = (self._storage.read() or {}).get(self.name, {})
        if raw is not self._raw:
            fresh = {number: Document(raw[number], int(number)) for number in other_documents(self._raw, raw)}
            self._raw, self._rows = raw, in_order_of(raw, self._rows, fresh)
        return list(self._rows.values())


class BookTables(TinyDB):
    """The tables of one book.

    Args:
        path: the book file, not a symbolic link; read with `storage.load()`.
    """

    table_class = RecordTable
    default_storage_class = BookStorage  # type: ignore[assignment]  # TinyDB takes any Storage, but is typed narrower

    @property
    def storage(self) -> BookStorage:
        """The storage below the tables."""
        storage = self._storage
        assert isinstance(storage, BookStorage)
        return storage

    def records(self, name: str) -> RecordTable:
        """The table of this name."""
        table = self.table(name)
        assert isinstance(table, RecordTable)
        return table


def _mark_of(stat: os.stat_result) -> Mark:
    return stat.st_mtime_ns, stat.st_size, stat.st_ino
