"""Going back to a backup while the book is closed: nothing is lost by it, and it can be tried again."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest
from workroom_books import noon, small_book

from showrunner.errors import BookDamaged, CannotWrite
from showrunner.session import Session
from showrunner.storage.book_file import BookFile
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
    with pytest.raises(BookDamaged):
        BookFile.open(path, write=True, now=noon)
    free(path)

    def full(handle: int) -> None:
        raise OSError(errno.ENOSPC, "")

    monkeypatch.setattr(os, "fsync", full)
    new = path.with_name("new.json")
    with pytest.raises(CannotWrite, match="the disk is full"):
        BookFile.create(new, small_book(), now=noon)
    assert not new.exists()
    free(new)
