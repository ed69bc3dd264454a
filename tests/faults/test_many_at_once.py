"""Several at once: two processes that take turns, a window and many commands, and one that only follows."""

from __future__ import annotations

import os
import random
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest
from effort import LONG
from terminal import Painted

from faults.books import make_book
from faults.nursery import ROOT, Nursery, a_terminal
from faults.writers import counted, put_count
from showrunner.session import Session

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="processes cannot be copied here")

ACTIONS = LONG
"""Actions of each process in the whole: 1,000."""
COMMANDS = LONG // 2
"""Commands beside a window in the whole: 500."""


@pytest.fixture
def nursery(tmp_path: Path) -> Iterator[Nursery]:
    with Nursery(tmp_path) as nursery:
        yield nursery


def beside(call: str, *arguments: object) -> subprocess.Popen[str]:
    """A process that calls a function of `writers.py`."""
    words = ", ".join(repr(argument) for argument in arguments)
    return subprocess.Popen(
        [sys.executable, "-c", f"from faults import writers; writers.{call}({words})"],
        env={**os.environ, "PYTHONPATH": os.pathsep.join([str(ROOT), str(ROOT / "tests")])},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def two_processes(path: Path, actions: int) -> None:
    """Both open, act and close in turns; nothing that either did is missing, and each action is one step."""
    both = [beside("take_turns", str(path), piece, actions) for piece in ("01", "02")]
    for process in both:
        assert process.communicate()[1] == ""
        assert process.returncode == 0
    with Session.open(path) as session:
        assert not session.read_only
        assert [counted(session.book, piece) for piece in ("01", "02")] == [actions, actions]
        steps = 0
        while session.undo_label:
            assert session.undo() == "note"
            steps += 1
        assert sum(counted(session.book, piece) for piece in ("01", "02")) == 2 * actions - steps
        assert steps >= min(2 * actions, 50)
        assert session.check() == []
    assert not list(path.parent.rglob("*.tmp"))


@pytest.mark.slow
def test_two_processes_take_turns(tmp_path: Path) -> None:
    two_processes(make_book(tmp_path / "book.json", 0), 12)


@pytest.mark.long
def test_two_processes_of_many_actions_take_turns(tmp_path: Path) -> None:
    two_processes(make_book(tmp_path / "book.json", 0), ACTIONS)


# A window and commands

REFUSED = 3


def window_and_commands(nursery: Nursery, folder: Path, commands: int, seed: int) -> Counter[str]:
    """Commands beside a window that has the book: those that read are done, those that write say why not.

    Between them keys are pressed in the window, and what they did is what the commands read.
    """
    rng = random.Random(seed)
    path = make_book(folder / "books" / "book.json", 0)
    seen: Counter[str] = Counter()
    with a_terminal() as (master, name), Nursery(folder / "books") as other:
        window = Painted(master)
        child = other.begin("showrunner.cli:run", ["--book", str(path)], terminal=name)
        window.until(b"apple-packer")
        window.press("1")
        window.until(b"39 shown")
        shown = 39
        for number in range(commands):
            if number % 5 == 0:
                key, shown = ("n", 38) if shown == 39 else ("y", 39)
                window.press(key)
                window.until(f"{shown} shown".encode())
            with Session.open(path, write=False) as session:
                marked = session.book.pieces[0].shown.known.value
            assert (marked == "no") == (shown == 38)
            reading = rng.random() < 0.4
            asked: tuple[object, ...] = rng.choice(
                (("check",), ("restore",), ("work",), ("export", folder / "out"))
                if reading
                else (("undo",), ("redo",), ("backup",), ("restore", 1), ("calendar", folder / "c.ics"))
            )
            done = nursery.command("--book", path, *asked)
            code = done.ended()
            said = done.said()
            assert code == (0 if reading else REFUSED), (asked, said)
            if not reading:
                assert "another window has this book open for writing" in said
                assert said.count("\n") == 1
            seen["read" if reading else "refused"] += 1
        window.press("q")
        assert child.ended() == 0
    with Session.open(path) as session:
        assert not session.read_only
        assert session.undo_label
        assert session.check() == []
    return seen


@pytest.mark.slow
def test_commands_beside_a_window(nursery: Nursery, tmp_path: Path) -> None:
    window_and_commands(nursery, tmp_path, 10, 0)


@pytest.mark.long
def test_many_commands_beside_a_window(nursery: Nursery, tmp_path: Path) -> None:
    print(f"\n{dict(window_and_commands(nursery, tmp_path, COMMANDS, 1))}")  # noqa: T201 - figures of the long run


# One that follows


def followed(path: Path, actions: int) -> tuple[list[int], list[str]]:
    """What a follower saw of so many actions, and what it changed on disk."""
    with Session.open(path) as session:
        session.do("note", lambda book: put_count(book, "01", 1))
        follower = beside("follow_until", str(path), "01", actions)
        for number in range(2, actions + 1):
            session.do("note", lambda book, number=number: put_count(book, "01", number, "x" * (number * 977 % 3000)))  # type: ignore[misc]
            time.sleep(0.001)
        out, err = follower.communicate()
    assert err == ""
    seen, touched = out.split("\n")[:2]
    return [int(number) for number in seen.split()], touched.split()


def hold_following(path: Path, actions: int) -> int:
    """The follower sees each state whole, in order, the last one too, and touches nothing."""
    seen, touched = followed(path, actions)
    assert touched == []
    assert seen == sorted(set(seen))
    assert seen[-1] == actions
    return len(seen)


@pytest.mark.slow
def test_a_follower_never_writes(tmp_path: Path) -> None:
    hold_following(make_book(tmp_path / "book.json", 0), 40)


@pytest.mark.long
def test_a_follower_of_many_actions_never_writes(tmp_path: Path) -> None:
    seen = hold_following(make_book(tmp_path / "book.json", 0), ACTIONS)
    print(f"\nfollowed {seen} of {ACTIONS} states")  # noqa: T201
