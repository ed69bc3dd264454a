"""The book on disk: opened, saved once for each action, undone, followed, backed up and restored."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Any

from tinydb.table import Document

from showrunner.domain.book import TABLES, Book
from showrunner.domain.publication import CalendarEntry
from showrunner.domain.words import short
from showrunner.errors import BadInput, BookDamaged, BookInUse, CannotWrite, ShowrunnerError
from showrunner.storage import backups, journal
from showrunner.storage.atomic import make_folders, sweep, write_whole
from showrunner.storage.backups import Backup, Now
from showrunner.storage.book_reading import load_backup, load_book, read_again, read_book, refuse_no_book
from showrunner.storage.book_storage import BookTables, FileChanged
from showrunner.storage.book_text import JOURNAL, META, Tree, Unreadable, load
from showrunner.storage.file_errors import cannot_write, read_only
from showrunner.storage.lock import WriterLock, refused_by
from showrunner.storage.migrations import SCHEMA, migrate
from showrunner.storage.odd_text import ODD, odd_fields
from showrunner.storage.ordinary import is_read_only, is_there, real_path
from showrunner.storage.records import BadRecord, Change, meta_document, meta_fields, read_rows, table_changes

CALENDAR = "calendar"
"""Table of what calendars were told; no undo step ever holds it."""


class BookFile:
    """One open book file. Made by :meth:`open` and :meth:`create`.

    Memory always holds what the disk holds: an action is either saved whole or has not happened.
    """

    def __init__(self, path: Path, tables: BookTables, book: Book, lock: WriterLock | None, now: Now) -> None:
        self.path = path
        """The path it was opened by."""
        self.warnings: list[str] = []
        """Sentences worth showing that stopped nothing."""
        self.read_only_reason = ""
        """Why nothing can be saved; empty if it can."""
        self.read_only_way_out = ""
        """What to do about that."""
        self.folder_closed = False
        """Whether the reason is that the file or its folder may not be written."""
        self._real = real_path(path)
        self._tables = tables
        self._book = book
        self._lock = lock
        self._now = now
        self._kept_day: date | None = None
        self._refused: object = None

    @property
    def book(self) -> Book:
        """The book as it is on disk."""
        return self._book

    # Opening and closing

    @classmethod
    def open(cls, path: Path, *, write: bool, now: Now, steps: bool = True) -> BookFile:
        """Open an existing book; see `Session.open`."""
        real = real_path(path)
        refuse_no_book(path, real)
        if not is_there(real):
            raise BadInput(f"there is no book at {path}", way_out=_without_book(path, real))
        lock, refusal = _lock_if(real, write)
        try:
            if lock:
                sweep(real.parent, re.escape(real.name))
                backups.sweep_folder(real)
            tables, book = load_book(path, real, steps=steps)
            file = cls(path, tables, book, lock, now)
            file._settle(refusal)
        except BaseException:
            if lock:
                lock.release()
            raise
        return file

    @classmethod
    def create(cls, path: Path, book: Book, *, now: Now) -> BookFile:
        """Write a new book; see `Session.create`."""
        real = real_path(path)
        _refuse_existing(path, real)
        make_folders(real.parent)
        lock = WriterLock(real)
        try:
            _refuse_existing(path, real)
            file = cls(path, BookTables(real), Book(book.key), lock, now)
            file.save("", book)
        except BaseException:
            lock.release()
            raise
        return file

    def close(self) -> None:
        """Give the lock back; does nothing the second time."""
        if self._lock:
            self._lock.release()
            self._lock = None
        self.folder_closed = False
        self.read_only_reason, self.read_only_way_out = "the book is closed", "open it again"

    def _settle(self, refusal: ShowrunnerError | None) -> None:
        """Note why it is read-only, or bring an older layout to the present one on disk."""
        if refusal:
            self.read_only_reason, self.read_only_way_out = refusal.what, refusal.way_out
            self.folder_closed = isinstance(refusal, CannotWrite)
        elif not self._lock:
            self.read_only_reason, self.read_only_way_out = "it was opened for reading only", "open it for writing"
        elif self._tables.storage.migrated:
            self._keep(self._tables.storage.saved, "before migration")
            try:
                with self._saving():
                    pass
            except CannotWrite as error:
                self._warn(f"The book could not be brought to layout {SCHEMA} on disk yet: {error.sentence()}")

    # Saving

    def save(self, label: str, new: Book) -> None:
        """Save a changed book as one action with one undo step; nothing happens if it is equal.

        The calendar table is saved without a step. An empty `label` makes no step at all.

        Raises:
            BadInput: a record could not be read back as it is.
            CannotWrite: it was not saved.
        """
        for table in TABLES:
            if getattr(self._book, table) is not getattr(new, table):
                new.refuse_twins(table)
        changes = self._changes(new)
        if not changes:
            return
        undoable = [change for change in changes if change.table != CALENDAR]
        steps: dict[int, dict[str, Any] | None] = {}
        if undoable and label:
            kept = self._tables.records(JOURNAL).in_order()
            step = journal.new_step(label, self._now(), undoable)
            steps = journal.after_action(kept, self._tables.storage.sizes(JOURNAL), step)
        self._write(new, changes, steps)

    def _write(self, new: Book, changes: list[Change], steps: dict[int, dict[str, Any] | None]) -> None:
        """Write a changed book and what changes of its undo steps, once it is known that it can be read back."""
        _check_readable(changes)
        with self._saving():
            self._put({(change.table, change.number): change.after for change in changes})
            self._tables.records(JOURNAL).change(steps)
        self._book = new

    def _changes(self, new: Book) -> list[Change]:
        """What would change on disk."""
        changes: list[Change] = []
        for table in TABLES:
            before, after = getattr(self._book, table), getattr(new, table)
            if before is not after:
                changes += table_changes(table, self._tables.records(table).in_order(), before, after)
        return changes + self._meta_change(new)

    def undo_lasts(self, new: Book) -> bool:
        """Whether the step to a changed book would be kept beside later ones; see `Session.undo_lasts`."""
        changes = [change for change in self._changes(new) if change.table != CALENDAR]
        return journal.lasts(journal.new_step("", self._now(), changes))

    def save_calendar(self, entries: Sequence[CalendarEntry]) -> None:
        """Save what calendars were told, without an undo step."""
        self.save("", self._book.with_table(CALENDAR, tuple(entries)))

    @property
    def undo_label(self) -> str | None:
        """Label of the step that undo takes back."""
        step = self._last_done()
        return step.label if step else None

    @property
    def redo_label(self) -> str | None:
        """Label of the step that redo does again."""
        step = self._first_undone()
        return step.label if step else None

    def undo(self) -> str:
        """Take the last step back and return its label."""
        step = self._last_done()
        if step is None:
            raise ShowrunnerError("there is nothing to undo", str(self.path))
        self._travel(step, back=True)
        return step.label

    def redo(self) -> str:
        """Do the first undone step again and return its label."""
        step = self._first_undone()
        if step is None:
            raise ShowrunnerError("there is nothing to redo", str(self.path))
        self._travel(step, back=False)
        return step.label

    def _last_done(self) -> journal.Step | None:
        done = (document for document in reversed(self._steps()) if not document.get("undone"))
        return next(map(journal.read_step, done), None)

    def _first_undone(self) -> journal.Step | None:
        undone = (document for document in self._steps() if document.get("undone"))
        return next(map(journal.read_step, undone), None)

    def _steps(self) -> list[Document]:
        return self._tables.records(JOURNAL).in_order()

    def _travel(self, step: journal.Step, *, back: bool) -> None:
        """Put the documents of a step back to before it, or on to after it."""
        steps = self._tables.records(JOURNAL)
        (document,) = (d for d in steps.in_order() if d.doc_id == step.number)
        touched = {change.table for change in step.changes}
        known = self._known(touched, {(change.table, change.number) for change in step.changes})
        with self._saving():
            documents = {(c.table, c.number): c.before if back else c.after for c in step.changes}
            for place, found in documents.items():
                if found and place[0] == META:  # the step may be of an older layout; the book no longer is
                    documents[place] = {**found, "schema": SCHEMA}
            self._put(documents)
            steps.change({step.number: {**document, "undone": back}})
            try:
                book = read_again(self._tables, self._book, touched, known)
            except BadRecord as error:
                what = f"the undo step '{step.label}' is damaged ({error}), and nothing was changed"
                raise BookDamaged(what, str(self.path), "change the book by hand") from error
        self._book = book

    def _known(self, tables: set[str], changing: set[tuple[str, int]]) -> dict[str, dict[int, Any]]:
        """For each table the records that stay as they are, by their numbers."""
        known = {}
        for table in tables - {META}:
            documents = self._tables.records(table).in_order()
            rows = zip(documents, getattr(self._book, table), strict=True)
            known[table] = {d.doc_id: row for d, row in rows if (table, d.doc_id) not in changing}
        return known

    def _meta_change(self, new: Book) -> list[Change]:
        rows, old = self._tables.records(META).in_order(), self._book
        if rows and new.house is old.house and (new.key, new.clock) == (old.key, old.clock):
            return []
        before, after = next(map(dict, rows), None), meta_document(new)
        return [] if before == after else [Change(META, 1, before, after)]

    def _put(self, documents: dict[tuple[str, int], dict[str, Any] | None]) -> None:
        for table in dict.fromkeys(table for table, _ in documents):
            mine = {number: document for (name, number), document in documents.items() if name == table}
            self._tables.records(table).change(mine)

    @contextmanager
    def _saving(self) -> Iterator[None]:
        """One write of the file; on failure the book in memory is again what the disk holds."""
        storage = self._tables.storage
        before = storage.saved_parts
        try:
            with storage.transaction():
                yield
        except FileChanged:
            raise self._changed_elsewhere() from None
        except BaseException:
            if storage.saved_parts != before:
                self._book = read_book(self._tables)
            raise
        self._keep_first_of_day(before or storage.saved_parts)

    def _changed_elsewhere(self) -> CannotWrite:
        what = "something else changed the file since it was last saved here, so this was not saved"
        way_out = "open the book again to go on from the changed file"
        if kept := self._keep(self._tables.storage.saved, "before reading the changed file"):
            way_out += f" (the book as it was here is kept as backup {kept.number})"
        return CannotWrite(what, str(self.path), way_out)

    # Following

    def follow(self) -> bool:
        """Read the file again if it changed on disk; see `Session.follow`."""
        storage = self._tables.storage
        mark = storage.mark_on_disk()
        if mark == self._refused or not storage.changed_on_disk():
            return False
        try:
            tables, book = load_book(self.path, self._real)
        except BookDamaged:
            self._refused = mark
            raise
        if self._lock:
            self._keep(storage.saved, "before reading the changed file")
        self._tables, self._book = tables, book
        return True

    # Copies

    def copy_to(self, path: Path) -> None:
        """Write a copy to a new file; see `Session.copy_to`."""
        real = real_path(path)
        _refuse_existing(path, real)
        make_folders(real.parent)
        write_whole(real, self._tables.storage.text(), like=self._real)

    def mend(self, book: Book) -> Backup:
        """Save a mended book after a backup of the file as it is; the undo steps, which lead to what was amiss, go.

        Returns:
            The backup.

        Raises:
            BadInput, CannotWrite: as `save`.
        """
        kept = self.make_backup("before mending")
        steps = {step.doc_id: None for step in self._tables.records(JOURNAL).in_order()}
        self._write(book, self._changes(book), {**steps})
        return kept

    def faults(self) -> list[str]:
        """One sentence for each thing for which the file could not be written and read again, beside its records."""
        if steps := self.faults_of_steps():
            return steps
        try:
            tree = migrate(load(self._tables.storage.text()))
        except (BadInput, Unreadable) as error:
            return [f"It cannot be saved: {error}"]
        same = _filled(tree) == _filled(self._tables.storage.read())
        return [] if same else ["It would be read back different from what it is."]

    def faults_of_steps(self) -> list[str]:
        """The same for the undo steps alone."""
        odd = [step for step in self._steps() if any(odd_fields(step))]
        return [f"The undo step '{short(str(odd[0]['label']))}' ({len(odd)} in all): {ODD}."] if odd else []

    def against_place(self) -> ShowrunnerError | None:
        """Why nothing can be saved where the file is, whatever it holds; None if nothing stands against it."""
        return read_only(self._real) if is_read_only(self._real) else refused_by(self._real.parent)

    def list_backups(self) -> tuple[Backup, ...]:
        """The backups, oldest first."""
        return backups.backups_of(self._real)

    def make_backup(self, reason: str) -> Backup:
        """Keep the book as it is now.

        Raises:
            CannotWrite: the copy cannot be written.
        """
        return backups.add(self._real, self._tables.storage.saved, self._day(), reason)

    def restore(self, number: int) -> None:
        """Go back to a backup; the present book is kept first. See `Session.restore`."""
        backup = backups.find(self._real, number)
        tables, book = load_backup(self.path, backup)
        self.make_backup("before restore")
        with self._saving():
            self._tables.storage.write(tables.storage.read())
        self._book = book

    def _keep_first_of_day(self, data: tuple[bytes, ...]) -> None:
        """Keep the book as it was before the day's first save (a new book: as it was made)."""
        day = self._day()
        if self._kept_day == day:  # the folder is not looked through at each save
            return
        made = any(backup.day == day and backup.reason == "first save" for backup in self.list_backups())
        if made or self._keep(b"".join(data), "first save"):
            self._kept_day = day

    def _keep(self, data: bytes, reason: str) -> Backup | None:
        """A backup that may fail: then it is a warning."""
        try:
            return backups.add(self._real, data, self._day(), reason)
        except CannotWrite as error:
            self._warn(f"The backup ({reason}) could not be made: {error.sentence()}")
            return None

    def _day(self) -> date:
        return backups.day_of(self._now, self._book)

    def _warn(self, sentence: str) -> None:
        if sentence not in self.warnings:
            self.warnings.append(sentence)


def _filled(tree: Tree) -> Tree:
    """A tree without its empty tables."""
    return {name: table for name, table in tree.items() if table}


def _lock_if(real: Path, write: bool) -> tuple[WriterLock | None, ShowrunnerError | None]:
    """The writer's lock if it is wanted, or the reason why it cannot be had."""
    if not write:
        return None, None
    if is_read_only(real):
        return None, read_only(real)
    try:
        return WriterLock(real), None
    except (BookInUse, CannotWrite) as refusal:
        return None, refusal


def _without_book(path: Path, real: Path) -> str:
    there = backups.backups_of(real)
    if there:
        return f"restore its last backup with `showrunner --book {shlex.quote(str(path))} restore {there[-1].number}`"
    return "check the path, or start a new book there"


def _refuse_existing(path: Path, real: Path) -> None:
    try:
        there = is_there(real)
    except OSError as error:
        raise cannot_write(path, error) from error
    if there:
        raise BadInput(f"there is a file at {path} already", way_out="choose another name")


# Refusing what could not be read back


def _check_readable(changes: Sequence[Change]) -> None:
    """Refuse a value that would make the file unreadable."""
    for change in changes:
        if change.after is None:
            continue
        for field in odd_fields(change.after):
            name = short(str(change.after.get("id", change.number)))
            raise BadInput(ODD, f"{change.table}, '{name}', {short(field)}", "retype it")
        try:
            if change.table == META:
                meta_fields(change.after)
            else:
                read_rows(change.table, [Document(change.after, change.number)])
        except BadRecord as error:
            raise BadInput(f"it cannot be kept ({error})", way_out="enter it again") from error
