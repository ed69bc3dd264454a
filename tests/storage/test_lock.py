"""One writer at a time, by a lock of the system that a killed process cannot leave behind."""

from __future__ import annotations

import errno
import fcntl
import os
from pathlib import Path

import pytest

from showrunner.errors import BookInUse, CannotWrite
from showrunner.storage import lock
from showrunner.storage.lock import WriterLock, refused_by

CLOSED = "allow writing there, or copy the book"


@pytest.fixture
def book(tmp_path: Path) -> Path:
    path = tmp_path / "book.json"
    path.write_text("{}")
    return path


def test_a_second_writer_is_refused_at_once_until_the_first_lets_go(book: Path) -> None:
    first = WriterLock(book)
    with pytest.raises(BookInUse) as refusal:
        WriterLock(book)
    assert refusal.value.sentence() == (
        f"{book}: another window has this book open for writing; close it there and open the book again."
    )
    first.release()
    first.release()
    WriterLock(book).release()


@pytest.mark.parametrize(
    ("mode", "told"), [(0o600, 0o600), (0o700, 0o600), (0o604, None), (0o640, None), (0o601, None)]
)
def test_the_lock_of_a_private_book_is_private(
    book: Path, monkeypatch: pytest.MonkeyPatch, mode: int, told: int | None
) -> None:
    """A book that anybody else may do anything with has a lock as the system makes files."""
    asked: list[object] = []
    made = os.open

    def noted(path: object, flags: int, mode: int = 0o777, **more: object) -> int:
        if str(path).endswith(".lock"):
            asked.append(mode)
        return made(path, flags, mode)  # type: ignore[arg-type]

    monkeypatch.setattr(os, "open", noted)
    book.chmod(mode)
    before = os.umask(0)
    try:
        WriterLock(book).release()
    finally:
        os.umask(before)
    assert asked == [0o666 if told is None else told]


def test_the_lock_of_a_book_that_is_yet_to_be_made_is_as_the_system_makes_files(tmp_path: Path) -> None:
    before = os.umask(0o022)
    try:
        held = WriterLock(tmp_path / "new.json")
        assert (tmp_path / "new.json.lock").stat().st_mode & 0o777 == 0o644
        held.release()
    finally:
        os.umask(before)


def test_it_is_refused_where_the_folder_is_closed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[int] = []

    def closed(path: Path, mode: int) -> bool:
        asked.append(mode)
        return False

    monkeypatch.setattr(os, "access", closed)
    refusal = refused_by(tmp_path)
    assert refusal is not None
    assert refusal.sentence() == f"{tmp_path}: the folder cannot be written, permission is refused; {CLOSED}."
    assert asked == [os.W_OK | os.X_OK]
    with pytest.raises(CannotWrite, match="permission is refused"):
        WriterLock(tmp_path / "book.json")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("number", "told"),
    [
        (errno.ENOSYS, "this disk cannot lock files, so a book on it can only be read; copy the book to another disk"),
        (errno.ENOTSUP, "this disk cannot lock files, so a book on it can only be read; copy the book to another disk"),
        (errno.ENOLCK, f"the folder cannot be written, this disk cannot lock files; {CLOSED}"),
        (errno.EIO, f"the folder cannot be written, the disk reports an error; {CLOSED}"),
    ],
)
def test_a_disk_that_cannot_lock_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int, told: str
) -> None:
    asked: list[int] = []

    def refuses(handle: int, how: int) -> None:
        asked.append(handle)
        assert how == fcntl.LOCK_SH | fcntl.LOCK_NB
        raise OSError(number, "")

    monkeypatch.setattr(fcntl, "flock", refuses)
    refusal = refused_by(tmp_path)
    assert refusal is not None
    assert refusal.sentence() == f"{tmp_path}: {told}."
    with pytest.raises(OSError, match="Bad file descriptor"):
        os.fstat(asked[0])  # it was closed


def test_nothing_stands_against_an_open_folder(tmp_path: Path) -> None:
    assert refused_by(tmp_path) is None


def test_a_lock_that_cannot_be_made_is_told_with_the_folder(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(lock, "refused_by", lambda folder: None)
    book.with_name("book.json.lock").mkdir()
    with pytest.raises(CannotWrite) as refusal:
        WriterLock(book)
    told = f"the folder cannot be written, it is a folder and no ordinary file; {CLOSED}"
    assert refusal.value.sentence() == f"{book.parent}: {told}."


@pytest.mark.parametrize("mode", [0o600, 0o644])
def test_nobody_waits_and_any_thread_may_let_go(book: Path, monkeypatch: pytest.MonkeyPatch, mode: int) -> None:
    """The window lets go of it from another thread than it was taken in."""
    import filelock

    asked: list[dict[str, object]] = []

    class Noted(filelock.FileLock):  # type: ignore[misc, valid-type]
        def __init__(self, path: str, **how: object) -> None:
            asked.append(how)
            super().__init__(path, **how)

    monkeypatch.setattr(filelock, "FileLock", Noted)
    book.chmod(mode)
    WriterLock(book).release()
    assert (asked[0]["timeout"], asked[0]["thread_local"]) == (0, False)
