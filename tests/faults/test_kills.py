"""A process killed at any moment loses nothing it acknowledged, leaves no stray and no lock, and undo still works."""

from __future__ import annotations

import os
import random
import shutil
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest
from effort import LONG
from terminal import Painted

from faults.books import all_shown, busy_calendar, make_book, sheet
from faults.nursery import Child, Nursery, a_terminal
from faults.writers import counted
from showrunner.domain.book import Book
from showrunner.domain.piece import Known
from showrunner.session import Session

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="processes cannot be copied here")

MANY = LONG
"""Kills of the whole: 1,000."""


@pytest.fixture
def nursery(tmp_path: Path) -> Iterator[Nursery]:
    with Nursery(tmp_path) as nursery:
        yield nursery


def strays(folder: Path) -> list[str]:
    """Temporary files anywhere below a folder."""
    return [path.name for path in folder.rglob("*.tmp")]


def without_calendar(book: Book) -> Book:
    """A book without what calendars were told, which holds the instant it was told."""
    return book.with_table("calendar", ())


def opens_again(path: Path) -> Book:
    """The book of a killed process: it opens for writing, nothing lies about, and its last step can be taken back."""
    with Session.open(path) as session:
        assert not session.read_only, "a dead process's lock must not bind"
        assert not strays(path.parent)
        assert session.warnings == ()
        book = session.book
        if session.undo_label is not None:
            session.undo()
            assert session.book != book
            session.redo()
            assert session.book == book
        assert session.check() == []
    with Session.open(path, write=False) as session:
        assert session.book == book
    return book


def kill(child: Child, rng: random.Random, usual: float, folder: Path) -> None:
    """End a process: at any moment of its usual time, or as a file is being written."""
    began = time.monotonic()
    if rng.random() < 0.5:
        time.sleep(rng.random() * usual * 1.1)
    else:
        while time.monotonic() - began < usual * 2 and not any(
            entry.name.endswith(".tmp") for entry in os.scandir(folder)
        ):
            pass
        time.sleep(rng.choice((0, 0, 0.001, 0.003)))
    child.kill()


# Commands


def commands(rng: random.Random, number: int, folder: Path) -> tuple[str, ...]:
    """A command that changes the book, or writes beside it."""
    out = folder / "out"
    return rng.choice(
        (
            ("import", str(sheet(folder / "sheet.csv", number)), "--as", "pieces", "--write"),
            ("import", str(sheet(folder / "sheet.csv", number)), "--as", "pieces", "--write"),
            ("calendar", "--busy", str(busy_calendar(folder / "busy.ics", number)), "--write"),
            ("calendar", str(out / "series.ics")),
            ("export", str(out / "export")),
            ("plan", "--write"),
            ("undo",),
            ("undo",),
            ("redo",),
            ("backup",),
            ("restore", str(rng.randint(1, 4))),
        )
    )


def kill_commands(nursery: Nursery, folder: Path, pieces: int, kills: int, seed: int) -> Counter[str]:
    """Kill so many commands; each is first done without a kill on a copy, which tells what must be there."""
    rng = random.Random(seed)
    path = make_book(folder / "books" / "book.json", pieces)
    copy = folder / "copy"
    seen: Counter[str] = Counter()
    (folder / "out").mkdir()
    for number in range(kills):
        asked = commands(rng, number, folder)
        shutil.rmtree(copy, ignore_errors=True)
        shutil.copytree(path.parent, copy)
        with Session.open(path, write=False) as session:
            before = session.book
        began = time.monotonic()
        code = nursery.command("--book", copy / path.name, *asked).ended()
        usual = time.monotonic() - began
        with Session.open(copy / path.name, write=False) as session:
            after = session.book
        out = folder / "out"
        if asked[0] in ("calendar", "export") and "--busy" not in asked:  # the copy's own entries are another book's
            shutil.rmtree(out)
            out.mkdir()
        child = nursery.command("--book", path, *asked)
        kill(child, rng, usual, path.parent if rng.random() < 0.7 else out)
        ended = child.ended()
        found = opens_again(path)
        if ended >= 0:
            assert ended == code, child.said()
        acknowledged = ended == 0
        there = without_calendar(found) == without_calendar(after)
        assert there or (not acknowledged and without_calendar(found) == without_calendar(before)), (asked, ended)
        seen["acknowledged" if acknowledged else "killed, done" if there and after != before else "killed"] += 1
        if asked[0] in ("calendar", "export") and "--busy" not in asked:
            assert nursery.command("--book", path, *asked).ended() == 0
            assert not strays(out), "the next one sweeps what a killed one left"
    return seen


@pytest.mark.slow
@pytest.mark.parametrize("pieces", [50])
def test_killed_commands(nursery: Nursery, tmp_path: Path, pieces: int) -> None:
    kill_commands(nursery, tmp_path, pieces, 4, pieces)


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["calendar", "export"])
def test_the_next_file_written_sweeps_what_a_killed_writer_left(nursery: Nursery, tmp_path: Path, kind: str) -> None:
    path = make_book(tmp_path / "books" / "book.json", 50)
    out = tmp_path / "out"
    out.mkdir()
    target, written = (out / "series.ics", "series.ics") if kind == "calendar" else (out, "book.json")
    (out / f".{written}.4711-0a1b2c3d.tmp").write_bytes(b"half")
    assert nursery.command("--book", path, kind, target).ended() == 0
    assert not strays(out)


@pytest.mark.long
@pytest.mark.parametrize("pieces", [50, 1000])
def test_many_killed_commands(nursery: Nursery, tmp_path: Path, pieces: int) -> None:
    seen = kill_commands(nursery, tmp_path, pieces, MANY // 5, 1)
    print(f"\n{pieces} pieces: {dict(seen)}")  # noqa: T201 - figures of the long run
    assert seen["killed"] or LONG < 100


# Keys


def pressed(path: Path) -> int:
    """How many pieces from the first on have been marked otherwise than the last piece; all of them in one row."""
    with Session.open(path, write=False) as session:
        known = [piece.shown.known for piece in session.book.pieces]
    marks = [each is not known[-1] for each in known]
    assert marks == sorted(marks, reverse=True), "marks are missing in between"
    return sum(marks)


def kill_windows(nursery: Nursery, folder: Path, pieces: int, kills: int, seed: int) -> Counter[str]:
    """Kill a window while keys are typed; what it showed as marked must be marked on disk, in the order of the keys."""
    rng = random.Random(seed)
    path = make_book(folder / "books" / "book.json", pieces)
    with Session.open(path) as session:
        session.do("all shown", all_shown)
        first = session.book.pieces[0].collection
        total = sum(piece.collection == first for piece in session.book.pieces)  # the Register counts one
    seen: Counter[str] = Counter()
    for _ in range(kills):
        with a_terminal() as (master, name):
            window = Painted(master)
            child = nursery.begin("showrunner.cli:run", ["--book", str(path)], terminal=name)
            window.until(b"apple-packer")
            window.press("1")
            window.until(b"01  ")
            marks = pressed(path)
            window.press("\x1b[B" * marks, *["n\x1b[B"] * rng.randint(1, 8))
            counts = [f", {left} shown".encode() for left in range(total - marks)]
            patience = time.monotonic() + rng.choice((0.5, 10, 10, 10))
            while time.monotonic() < patience and not any(each in window.painted for each in counts):
                window.take(0.01)
            until = time.monotonic() + rng.choice((0, rng.random() * 0.1))
            while time.monotonic() < until:
                window.take(0.01)
            child.kill()
            assert child.ended() == -9
            while window.take(0):
                pass
        told = [left for left in range(total) if f", {left} shown".encode() in window.painted]
        now = pressed(path)
        assert now >= marks
        if told:
            assert now >= total - min(told), "the window showed a mark that the disk has not"
        seen["told" if told else "not told", "marked" if now > marks else "none marked"] += 1
        if now:
            with Session.open(path) as session:
                assert session.undo_label
                session.undo()
                assert sum(piece.shown.known is Known.NO for piece in session.book.pieces) == now - 1
                session.redo()
        opens_again(path)
        if now > 20:
            with Session.open(path) as session:
                session.do("all shown", all_shown)
    return seen


@pytest.mark.slow
@pytest.mark.parametrize("pieces", [50])
def test_windows_killed_while_keys_are_typed(nursery: Nursery, tmp_path: Path, pieces: int) -> None:
    kill_windows(nursery, tmp_path, pieces, 2, pieces)


@pytest.mark.long
@pytest.mark.parametrize("pieces", [50, 1000])
def test_many_windows_killed_while_keys_are_typed(nursery: Nursery, tmp_path: Path, pieces: int) -> None:
    seen = kill_windows(nursery, tmp_path, pieces, MANY // 5, 1)
    print(f"\n{pieces} pieces: {dict(seen)}")  # noqa: T201


# Saves one after the other


def kill_while_saving(nursery: Nursery, folder: Path, pieces: int, kills: int) -> int:
    """Kill a process that does nothing but save; returns how many saves it acknowledged."""
    path = make_book(folder / "book.json", pieces)
    acknowledged = 0
    for number in range(kills):
        child = nursery.begin("faults.writers:save_without_end", str(path), "01")
        while not child.said():
            time.sleep(0.001)
        time.sleep(0.002 + number % 7 * 0.0037)
        child.kill()
        assert child.ended() == -9
        acknowledged = max(
            acknowledged, *(int(line) for line in child.said().splitlines(keepends=True) if line[-1:] == "\n")
        )
        book = opens_again(path)
        assert counted(book, "01") >= acknowledged
    assert acknowledged >= kills
    return acknowledged


@pytest.mark.slow
@pytest.mark.parametrize("pieces", [50])
def test_a_killed_writer_loses_nothing_it_acknowledged(nursery: Nursery, tmp_path: Path, pieces: int) -> None:
    kill_while_saving(nursery, tmp_path, pieces, 4)


@pytest.mark.long
@pytest.mark.parametrize("pieces", [50, 1000])
def test_many_killed_writers_lose_nothing_they_acknowledged(nursery: Nursery, tmp_path: Path, pieces: int) -> None:
    saves = kill_while_saving(nursery, tmp_path, pieces, MANY // 10)
    print(f"\n{pieces} pieces: {saves} saves acknowledged by {MANY // 10} killed processes")  # noqa: T201
