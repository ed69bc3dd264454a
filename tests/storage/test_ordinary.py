"""Only ordinary files are read and replaced; everything else is refused at once, in one sentence, and stays."""

from __future__ import annotations

import os
import signal
import socket
import stat
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from showrunner.demo_book import copy_demo
from showrunner.errors import CannotWrite
from showrunner.storage.atomic import write_whole
from showrunner.storage.ordinary import (
    NotOrdinary,
    TooLarge,
    is_read_only,
    is_there,
    open_ordinary,
    read_ordinary,
    real_path,
)

NULL = os.makedev(1, 3)
"""Major and minor number of Linux's null device (Documentation/admin-guide/devices.txt of the kernel)."""


def folder(path: Path) -> None:
    path.mkdir()
    (path / "something").touch()


def pipe(path: Path) -> None:
    os.mkfifo(path)


def device(path: Path) -> None:
    try:
        os.mknod(path, stat.S_IFCHR | 0o666, NULL)
    except PermissionError:
        pytest.skip("only the system's administrator can make a device")


def listener(path: Path) -> None:
    home = Path.cwd()
    os.chdir(path.parent)  # the name of a socket must be short
    try:
        with socket.socket(socket.AF_UNIX) as made:
            made.bind(path.name)
    finally:
        os.chdir(home)


def circle(path: Path) -> None:
    path.with_name("other").symlink_to(path)
    path.symlink_to(path.with_name("other"))


def link_to_a_pipe(path: Path) -> None:
    os.mkfifo(path.with_name("pipe"))
    path.symlink_to(path.with_name("pipe"))


def link_to_a_folder(path: Path) -> None:
    path.with_name("folder").mkdir()
    path.symlink_to(path.with_name("folder"))


ODD: list[tuple[Callable[[Path], None], str]] = [
    (folder, "folder"),
    (pipe, "pipe"),
    (device, "device"),
    (listener, "socket"),
    (circle, "a link that leads back to itself"),
    (link_to_a_pipe, "pipe"),
    (link_to_a_folder, "folder"),
]
odd = pytest.mark.parametrize(("make", "kind"), ODD, ids=[make.__name__ for make, _ in ODD])


@pytest.fixture(autouse=True)
def at_once() -> Iterator[None]:
    """What waits for a pipe is ended, so that it fails."""

    def end(*_: object) -> None:
        raise AssertionError("it waits")

    before = signal.signal(signal.SIGALRM, end)
    signal.alarm(30)
    yield
    signal.alarm(0)
    signal.signal(signal.SIGALRM, before)


@pytest.fixture
def book(tmp_path: Path) -> Path:
    path = tmp_path / "book.json"
    copy_demo(path)
    return path


@pytest.mark.slow
@odd
@pytest.mark.parametrize(
    "command",
    [
        ("--book", "BOOK", "calendar", "ODD"),
        ("--book", "BOOK", "calendar", "--busy", "ODD"),
        ("--book", "BOOK", "import", "ODD"),
        ("--book", "BOOK", "import", "ODD", "--write"),
        ("--book", "ODD", "check"),
        ("--book", "ODD", "report"),
        ("--book", "ODD", "undo"),
        ("--book", "ODD", "backup"),
        ("--book", "ODD", "restore", "1"),
        ("demo", "--keep", "ODD"),
    ],
    ids=lambda command: "-".join(word for word in command if not word.isupper()),
)
def test_a_command_refuses_it(
    book: Path, tmp_path: Path, said: Any, make: Callable[[Path], None], kind: str, command: tuple[str, ...]
) -> None:
    path = tmp_path / "odd"
    make(path)
    before = path.lstat()
    code, _, err = said(*({"BOOK": book, "ODD": path}.get(word, word) for word in command))
    assert code == 2
    assert len(err.strip().splitlines()) == 1
    assert "odd" in err
    if command[0] != "demo" and not (kind.endswith("itself") and command[1] == "ODD"):
        assert kind in err, err
    after = path.lstat()
    assert (after.st_mode, after.st_ino, after.st_rdev) == (before.st_mode, before.st_ino, before.st_rdev)


@odd
def test_an_export_refuses_it(book: Path, tmp_path: Path, said: Any, make: Callable[[Path], None], kind: str) -> None:
    (tmp_path / "out").mkdir()
    path = tmp_path / "out" / "pieces.csv"
    make(path)
    before = path.lstat()
    code, _, err = said("--book", book, "export", tmp_path / "out")
    assert code == 2
    what = "it is a folder" if path.is_dir() and not path.is_symlink() else "it is a link or no plain file"
    assert f"it was not replaced, {what}; choose another folder" in " ".join(err.split())
    assert (path.lstat().st_mode, path.lstat().st_ino) == (before.st_mode, before.st_ino)
    assert not (tmp_path / "out" / "book.json").exists()


@odd
def test_nothing_that_is_written_replaces_it(tmp_path: Path, make: Callable[[Path], None], kind: str) -> None:
    path = tmp_path / "odd"
    make(path)
    before = path.lstat()
    with pytest.raises(CannotWrite, match=r"it was not replaced, it is a .* no ordinary file; choose another name"):
        write_whole(path, b"new")
    assert (path.lstat().st_mode, path.lstat().st_ino) == (before.st_mode, before.st_ino)
    assert not [p for p in tmp_path.iterdir() if p.name.endswith(".tmp")]


@pytest.mark.slow
@odd
def test_a_lock_that_is_none_stops_writing_and_not_reading(
    book: Path, said: Any, make: Callable[[Path], None], kind: str
) -> None:
    make(book.with_name("book.json.lock"))
    code, _, err = said("--book", book, "backup")
    assert code == 2
    assert kind in err
    assert said("--book", book, "check")[0] == 0


def test_a_link_to_an_ordinary_file_is_followed_as_ever(book: Path, tmp_path: Path, said: Any) -> None:
    (tmp_path / "link").symlink_to(book)
    (tmp_path / "out.ics").symlink_to(tmp_path / "elsewhere.ics")
    code, _, err = said("--book", tmp_path / "link", "calendar", tmp_path / "out.ics")
    assert (code, err) == (0, "")
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "out.ics").is_symlink()
    assert (tmp_path / "elsewhere.ics").read_bytes().startswith(b"BEGIN:VCALENDAR")


@odd
def test_it_is_not_read(tmp_path: Path, make: Callable[[Path], None], kind: str) -> None:
    path = tmp_path / "odd"
    make(path)
    with pytest.raises(NotOrdinary, match=f"it is .*{kind}.* and no ordinary file"):
        read_ordinary(path)


def test_what_took_its_place_meanwhile_is_not_read_and_closed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """It was an ordinary file as it was looked at, and is a pipe as it is opened; that does not wait for a writer."""
    (tmp_path / "file").write_bytes(b"a")
    os.mkfifo(tmp_path / "pipe")
    opened: list[int] = []
    made = os.open

    def swapped(path: object, flags: int, *more: int) -> int:
        assert path == tmp_path / "file"
        opened.append(made(tmp_path / "pipe", flags, *more))
        return opened[0]

    monkeypatch.setattr(os, "open", swapped)
    with pytest.raises(NotOrdinary) as caught:
        open_ordinary(tmp_path / "file")
    with pytest.raises(OSError, match="Bad file descriptor"):
        os.fstat(opened[0])
    assert caught.value.kind == "a pipe"  # what was raised still holds what was opened


def test_where_the_system_has_no_way_to_open_without_waiting_a_file_is_read_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_bytes(b"12345")
    monkeypatch.delattr(os, "O_NONBLOCK")
    assert read_ordinary(tmp_path / "file") == b"12345"


def test_a_file_has_as_many_bytes_as_may_be_read(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"12345")
    assert read_ordinary(tmp_path / "file") == b"12345"
    assert read_ordinary(tmp_path / "file", 5) == b"12345"
    with pytest.raises(TooLarge, match=r"^its 0 MB are too much to read$"):
        read_ordinary(tmp_path / "file", 4)
    for size, told in ((3_499_499_999, "3,499"), (3_499_500_001, "3,500")):
        assert str(TooLarge(size)) == f"its {told} MB are too much to read"
    with pytest.raises(FileNotFoundError):
        read_ordinary(tmp_path / "none")
    with pytest.raises(OSError, match="File name too long"):
        read_ordinary(tmp_path / ("x" * 300))


def test_whether_something_has_a_name(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    (tmp_path / "lost").symlink_to(tmp_path / "nowhere")
    assert is_there(tmp_path / "file") is True
    for name in ("none", "file/below", "lost"):
        assert is_there(tmp_path / name) is False
    with pytest.raises(OSError, match="File name too long"):
        is_there(tmp_path / ("x" * 300))
    assert real_path(tmp_path / "lost") == (tmp_path / "nowhere").resolve()
    assert real_path(Path("no\0name")) == Path("no\0name")


@pytest.mark.parametrize(
    ("mode", "only"), [(0o444, True), (0o644, False), (0o600, False), (0o464, False), (0o446, False)]
)
def test_a_file_is_read_only_by_its_permissions_even_for_the_administrator(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, mode: int, only: bool
) -> None:
    (tmp_path / "file").touch()
    (tmp_path / "file").chmod(mode)
    monkeypatch.setattr(os, "access", lambda path, asked: asked == os.W_OK)
    assert is_read_only(tmp_path / "file") is only
    monkeypatch.setattr(os, "access", lambda path, asked: asked != os.W_OK)
    assert is_read_only(tmp_path / "file") is True
