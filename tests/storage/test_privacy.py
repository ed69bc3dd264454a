"""Everything beside a private book is as private; nobody but its owner may ever read a byte of it."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from showrunner import cli
from showrunner.demo_book import copy_demo
from showrunner.session import Session
from showrunner.storage.atomic import write_whole


@pytest.fixture(autouse=True)
def usual_umask() -> Iterator[None]:
    """As most systems have it: new files may be read by everybody."""
    before = os.umask(0o022)
    yield
    os.umask(before)


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


@pytest.fixture
def book(tmp_path: Path) -> Path:
    path = tmp_path / "book.json"
    copy_demo(path)
    path.chmod(0o600)
    return path


def made_by_commands(book: Path, said: Any) -> list[Path]:
    folder = book.parent
    for command in (
        ["backup"],
        ["calendar", folder / "out.ics"],
        ["export", folder / "out"],
        ["publish", "apron", "--on", "2026-03-01"],
        ["undo"],
        ["backup"],
        ["restore", "1"],
    ):
        assert said("--book", book, *command)[0] == 0, command
    with Session.open(book) as session:
        assert (folder / "book.json.lock").exists()
        session.copy_to(folder / "copy.json")
        return sorted(path for path in folder.rglob("*") if path.is_file())


def test_what_is_made_beside_a_private_book_is_private(book: Path, said: Any) -> None:
    files = made_by_commands(book, said)
    names = {path.relative_to(book.parent).parts[0] for path in files}
    assert names >= {"book.json", "book.json.backups", "book.json.lock", "out.ics", "out", "copy.json"}
    assert {path.name: oct(mode(path)) for path in files if mode(path) != 0o600} == {}
    assert mode(book.parent / "book.json.backups") == mode(book.parent / "out") == 0o700


def test_beside_a_book_for_everybody_it_is_as_the_system_makes_it(book: Path, said: Any) -> None:
    book.chmod(0o644)
    files = made_by_commands(book, said)
    assert {path.name: oct(mode(path)) for path in files if mode(path) != 0o644} == {}
    assert mode(book.parent / "book.json.backups") == 0o755


def test_a_book_that_is_gone_comes_back_as_private_as_its_copies(book: Path, said: Any) -> None:
    assert said("--book", book, "backup")[0] == 0
    book.unlink()
    assert said("--book", book, "restore", "1")[0] == 0
    assert mode(book) == 0o600


def test_a_file_that_others_were_let_read_stays_so(book: Path, said: Any) -> None:
    out = book.parent / "out.ics"
    out.touch(0o644)
    assert said("--book", book, "calendar", out)[0] == 0
    assert mode(out) == 0o644


@pytest.mark.parametrize("there", [True, False])
def test_at_no_instant_may_others_read_it(book: Path, monkeypatch: pytest.MonkeyPatch, there: bool) -> None:
    seen = []
    make = os.open

    def watched(file: Any, flags: int, *rest: Any, **more: Any) -> int:
        handle = make(file, flags, *rest, **more)
        if flags & os.O_CREAT:
            seen.append(stat.S_IMODE(os.fstat(handle).st_mode))
        return handle

    monkeypatch.setattr(os, "open", watched)
    write_whole(book if there else book.with_name("new"), b"{}", like=book)
    assert seen == [0o600]


def test_the_log_of_a_fault_is_private(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    for _ in range(2):
        told = cli._fault(ValueError("what the book said"))
        [log] = tmp_path.rglob("fault.log")
        assert str(log) in told
        assert mode(log) == 0o600
        log.chmod(0o644)  # as an older version made it
