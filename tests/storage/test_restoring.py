"""Going back to a backup while the book is closed: nothing is lost by it, and it can be tried again."""

from __future__ import annotations

import errno
import json
import os
from datetime import timedelta
from pathlib import Path

import pytest
from workroom_books import noon, small_book

from showrunner.domain.collection import Box
from showrunner.errors import BadInput, BookDamaged, CannotWrite
from showrunner.session import Session
from showrunner.storage import book_file
from showrunner.storage.book_file import BookFile
from showrunner.storage.book_reading import is_book
from showrunner.storage.lock import WriterLock
from showrunner.storage.restoring import backups_of, restore


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "book.json"
    with Session.create(path, small_book(), now=noon) as session:
        session.backup("asked for")
    return path


def free(path: Path) -> None:
    """No lock is left on the book."""
    WriterLock(path).release()


def test_a_file_that_is_meant_to_be_read_only_stays(path: Path) -> None:
    """By its permissions, which the system would let its administrator pass."""
    path.chmod(0o444)
    before = path.read_bytes()
    with pytest.raises(CannotWrite, match="the file may only be read; allow writing to it, or copy it"):
        restore(path, 1, now=noon)
    assert path.read_bytes() == before
    assert len(backups_of(path)) == 1


def test_what_is_no_book_is_told_before_its_backups_are_looked_for(path: Path) -> None:
    with pytest.raises(BadInput, match="folder"):
        restore(path.parent, 1, now=noon)


def test_the_lock_is_free_afterwards_whatever_came_of_it(path: Path) -> None:
    restore(path, 1, now=noon)
    free(path)
    (backup, *_) = backups_of(path)
    backup.path.write_bytes(b"rubbish")
    with pytest.raises(BookDamaged, match=r"backup 1 cannot be restored \(the file is broken"):
        restore(path, 1, now=noon)
    free(path)


def test_a_damaged_file_is_put_aside_under_a_free_name_where_links_cannot_be_made(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_links(*_: object) -> None:
        raise OSError(errno.EPERM, "")

    monkeypatch.setattr(os, "link", no_links)
    for number in (1, 2):
        path.write_bytes(b"damaged %d" % number)
        told = restore(path, 1, now=noon)
        aside = path.with_name(f"book.json.damaged-{number}")
        assert told[0] == f"The file as it was is kept untouched as {aside}."
        assert aside.read_bytes() == b"damaged %d" % number
    with Session.open(path, write=False, now=noon) as session:
        assert session.book == small_book()


def test_a_file_of_which_only_the_undo_steps_are_damaged_is_put_aside_too(path: Path) -> None:
    tree = json.loads(path.read_bytes())
    tree["journal"]["77"] = {"label": "x"}
    path.write_text(json.dumps(tree))
    told = restore(path, 1, now=noon)
    assert told[0] == f"The file as it was is kept untouched as {path.with_name('book.json.damaged-1')}."


def test_of_several_good_backups_the_newest_is_offered(path: Path) -> None:
    with Session.open(path, now=noon) as session:
        for name in ("two", "three"):
            session.do(name, lambda book, name=name: book.put("boxes", Box("B", name=name)))  # type: ignore[misc]
            session.backup("asked for")
    number = backups_of(path)[-1].number
    path.write_bytes(b"damaged")
    with pytest.raises(BookDamaged, match=f" restore {number}`"):
        Session.open(path, now=noon)


def test_a_damaged_file_that_cannot_be_put_aside_stays(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, "")

    path.write_bytes(b"damaged")
    monkeypatch.setattr(os, "link", full)
    monkeypatch.setattr(Path, "rename", full)
    with pytest.raises(CannotWrite) as told:
        restore(path, 1, now=noon)
    assert told.value.where == str(path.with_name("book.json.damaged-1"))
    assert path.read_bytes() == b"damaged"
    free(path)


# The lock of a book that could not be opened or made


def test_a_book_that_cannot_be_opened_or_made_leaves_no_lock(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path.write_bytes(b"damaged")
    with pytest.raises(BookDamaged) as damaged:
        BookFile.open(path, write=True, now=noon)
    free(path)
    assert damaged.tb  # it still holds what was at work, so that nothing is free for having been forgotten

    def full(handle: int) -> None:
        raise OSError(errno.ENOSPC, "")

    monkeypatch.setattr(os, "fsync", full)
    new = path.with_name("new.json")
    with pytest.raises(CannotWrite, match="the disk is full") as refused:
        BookFile.create(new, small_book(), now=noon)
    assert not new.exists()
    free(new)
    assert refused.tb


def test_a_file_that_came_while_the_lock_was_taken_is_not_replaced(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = book_file.WriterLock

    def taken(path: Path) -> WriterLock:
        held = real(path)
        path.write_bytes(b"another window made it")
        return held

    monkeypatch.setattr(book_file, "WriterLock", taken)
    new = tmp_path / "new.json"
    with pytest.raises(BadInput, match=r"there is a file at .* already; choose another name"):
        BookFile.create(new, small_book(), now=noon)
    assert new.read_bytes() == b"another window made it"
    free(new)


def test_what_follows_a_file_keeps_a_backup_only_if_it_writes(path: Path) -> None:
    """A reader has nothing of its own to lose, and writes nothing."""
    reader = BookFile.open(path, write=False, now=noon)
    writer = BookFile.open(path, write=True, now=noon)
    writer.save("note", writer.book.put("boxes", Box("B", name="mine")))
    reader.follow()
    path.write_bytes(path.read_bytes().replace(b"tail chest", b"head chest"))
    before = [backup.reason for backup in writer.list_backups()]
    assert reader.follow() is True
    assert [backup.reason for backup in reader.list_backups()] == before
    assert writer.follow() is True
    assert writer.follow() is False
    assert [backup.reason for backup in writer.list_backups()] == [*before, "before reading the changed file"]
    assert b"mine" in writer.list_backups()[-1].path.read_bytes()
    writer.close()


def test_the_first_save_of_a_day_is_kept_once_it_can_be(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The day is another one, of which there is no backup yet."""

    def full(*_: object) -> None:
        raise CannotWrite("it was not saved, the disk is full", "copy")

    with Session.open(path, now=lambda: noon() + timedelta(days=1)) as session:
        file, first = session._file, session._file._tables.storage.saved
        with monkeypatch.context() as patch:
            patch.setattr("showrunner.storage.backups.add", full)
            file.save("one", file.book.put("boxes", Box("B", name="one")))
        assert file.warnings == ["The backup (first save) could not be made: copy: it was not saved, the disk is full."]
        second = file._tables.storage.saved
        for name in ("two", "three"):
            file.save(name, file.book.put("boxes", Box("B", name=name)))
        kept = [backup.path.read_bytes() for backup in file.list_backups() if backup.reason == "first save"][-1:]
    assert kept == [second]
    assert first != second


def test_a_file_that_could_not_be_written_again_is_told(path: Path) -> None:
    assert BookFile.open(path, write=False, now=noon).faults() == []
    path.write_bytes(path.read_bytes().replace(b"tail chest", b"tail \\ud800"))
    (fault,) = BookFile.open(path, write=False, now=noon).faults()
    assert fault.startswith("It cannot be saved: ")
    assert "it holds a broken letter, which no file can keep" in fault


def test_whether_there_is_a_book(path: Path) -> None:
    assert is_book(path) is True
    assert is_book(path.with_name("none.json")) is False
    with pytest.raises(BadInput, match="folder"):
        is_book(path.parent)


def test_why_nothing_can_be_saved_where_the_book_is(path: Path) -> None:
    file = BookFile.open(path, write=False, now=noon)
    assert file.against_place() is None
    path.chmod(0o444)
    refusal = file.against_place()
    assert refusal is not None
    assert refusal.sentence() == f"{path}: the file may only be read; allow writing to it, or copy it."


def test_a_path_that_cannot_be_looked_at_is_told(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="it cannot be reached, its name is too long; name a book that you may read"):
        BookFile.open(tmp_path / ("x" * 300), write=False, now=noon)
    (tmp_path / "file").touch()
    with pytest.raises(BadInput, match="there is no book at"):
        BookFile.open(tmp_path / "file" / "book.json", write=False, now=noon)
