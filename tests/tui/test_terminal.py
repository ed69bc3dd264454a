"""In a real terminal, through tmux: it opens, takes keys, leaves it clean, and sends no colour if asked so."""

from __future__ import annotations

import os
import shlex
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from itertools import count, cycle
from pathlib import Path

import pytest

from showrunner.domain.shoot import LogKind, LogLine
from showrunner.session import Session

ROOT = Path(__file__).parents[2]
pytestmark = pytest.mark.skipif(shutil.which("tmux") is None, reason="tmux is not installed")


NUMBERS = count(1)
"""A number for each terminal."""


class Terminal:
    """One tmux session of its own, 80 by 24."""

    def __init__(self, folder: Path, *, fresh: bool = True, **env: str) -> None:
        self.folder = folder
        self.socket = f"show{os.getpid()}-{folder.name[-6:]}-{next(NUMBERS)}"
        self.book = folder / "book.json"
        if fresh:
            shutil.copy(ROOT / "demo" / "book.json", self.book)
        settings = {"PYTHONPATH": str(ROOT), "XDG_CONFIG_HOME": str(folder), "TERM": "xterm-256color", **env}
        words = [f"{name}={value}" for name, value in settings.items()]
        command = shlex.join(["env", *words, sys.executable, "-m", "showrunner", "--book", str(self.book)])
        self.tmux("-f", "/dev/null", "new-session", "-d", "-x", "80", "-y", "24", f"{command}; echo left=$?; sleep 60")

    @classmethod
    def again(cls, other: Terminal) -> Terminal:
        """Another terminal on the same book."""
        return cls(other.folder, fresh=False)

    def tmux(self, *arguments: str) -> str:
        done = subprocess.run(["tmux", "-L", self.socket, *arguments], capture_output=True, text=True, check=False)
        return done.stdout

    def screen(self, *how: str) -> str:
        return self.tmux("capture-pane", "-p", *how)

    def wait_for(self, text: str, seconds: float = 20) -> str:
        until = time.monotonic() + seconds
        while time.monotonic() < until:
            if text in (seen := self.screen()):
                return seen
            time.sleep(0.05)
        raise AssertionError(f"'{text}' did not come:\n{self.screen()}")

    def wait_until_gone(self, text: str, seconds: float = 20) -> None:
        until = time.monotonic() + seconds
        while text in self.screen():
            assert time.monotonic() < until, f"'{text}' stays:\n{self.screen()}"
            time.sleep(0.05)

    def press(self, *keys: str) -> None:
        self.tmux("send-keys", *keys)

    def in_alternate_screen(self) -> bool:
        return self.tmux("display-message", "-p", "#{alternate_on}").strip() == "1"

    def kill(self) -> None:
        """Kill the program at once, as a machine that loses its power would."""
        shell = self.tmux("display-message", "-p", "#{pane_pid}").strip()
        (child,) = Path(f"/proc/{shell}/task/{shell}/children").read_text().split()
        os.kill(int(child), signal.SIGKILL)
        self.wait_for("left=137")

    def close(self) -> None:
        self.tmux("kill-server")


@pytest.fixture
def terminal(tmp_path: Path) -> Iterator[Terminal]:
    terminal = Terminal(tmp_path)
    yield terminal
    terminal.close()


def test_it_opens_takes_keys_and_leaves_cleanly(terminal: Terminal) -> None:
    terminal.wait_for("Sun 8 Mar 2026: long feature")
    terminal.press("4")
    terminal.wait_for("6–8 pieces left, in 5–7 studies")
    terminal.press("1")
    terminal.wait_for("47 pieces, 39 shown")
    terminal.press("q")
    seen = terminal.wait_for("left=0")
    assert "Traceback" not in seen
    assert not terminal.in_alternate_screen()


@pytest.mark.slow
def test_keys_after_the_one_that_leaves_are_no_fault(terminal: Terminal) -> None:
    terminal.wait_for("Sun 8 Mar 2026: long feature")
    terminal.press("3")
    terminal.wait_for("Which study is filmed?")
    terminal.press("f")
    terminal.wait_for("goes on record")
    terminal.press("Enter")
    terminal.wait_for("Lay out: Apple-packer")
    terminal.tmux("send-keys", "-l", "qeuestion")
    seen = terminal.wait_for("left=")
    assert "left=0" in seen
    assert "failed" not in seen


def test_a_form_typed_ahead_in_one_burst_is_saved_once(terminal: Terminal) -> None:
    terminal.wait_for("Sun 8 Mar 2026: long feature")
    terminal.press("1")
    terminal.wait_for("47 pieces, 39 shown")
    visit = ("Tab", *"40", "Tab", "Tab", *"visitor", "Enter", "Enter", "Enter")
    terminal.press("l", *visit, "Down", "l", *visit, "c", *"lace", "Tab", *"Bucks", "Enter", "Enter", "q")
    assert "Traceback" not in terminal.wait_for("left=0")
    with Session.open(terminal.book) as session:
        first, second = session.book.pieces[:2]
        assert [(e.lux_hours, e.what) for e in first.exposures] == [(40, "visitor")]
        assert [(e.lux_hours, e.what) for e in second.exposures] == [(40, "visitor")]
        assert [(c.about, c.value) for c in second.claims if c.about == "lace"] == [("lace", "Bucks")]
        for _ in range(3):
            session.undo()
        assert session.undo_label is None


@pytest.mark.slow
def test_what_was_typed_is_asked_about_before_it_is_dropped(terminal: Terminal) -> None:
    terminal.wait_for("Sun 8 Mar 2026: long feature")
    terminal.press("1")
    terminal.wait_for("47 pieces")
    terminal.press("c", *"lace", "Escape")
    terminal.wait_for("not saved yet")
    terminal.press("Escape")
    terminal.wait_until_gone("not saved yet")
    terminal.press("C-q")
    terminal.wait_for("not saved yet")
    terminal.press("Down", "Enter")
    terminal.wait_for("left=0")


@pytest.mark.slow
def test_a_shoot_killed_in_the_middle_stands_where_it_stood(terminal: Terminal) -> None:
    terminal.wait_for("Sun 8 Mar 2026: long feature")
    terminal.press("3")
    terminal.wait_for("Which study is filmed?")
    terminal.press("f")
    terminal.wait_for("goes on record")
    terminal.press("Enter")
    terminal.wait_for("Lay out: Apple-packer")
    terminal.press("NPage")
    terminal.wait_for("Condition of")
    terminal.press("s")
    terminal.wait_for("1/3 said")
    subprocess.run(["pkill", "-KILL", "-f", f"showrunner --book {terminal.book}$"], check=True)
    terminal.wait_for("left=137")
    again = Terminal.again(terminal)
    try:
        again.wait_for("Sun 8 Mar 2026: long feature")
        again.press("3")
        seen = again.wait_for("Condition of")
        assert "1/3 said" in seen
        assert "1/5 touches" in seen
    finally:
        again.close()


class Shoot:
    """The shoot of the apron on a terminal, worked with whatever key is due; it goes on after a kill."""

    def __init__(self, folder: Path) -> None:
        self.terminal = Terminal(folder)
        self.go = cycle(("Space", "NPage"))  # two presses of one key in turn would count as one
        self.same = cycle(("a", "."))

    def log(self) -> list[LogLine]:
        with Session.open(self.terminal.book, write=False) as session:
            return list(session.book.log)

    def open(self) -> None:
        self.terminal.wait_for("Sun 8 Mar 2026: long feature")
        self.terminal.press("3")

    def press(self, *keys: str) -> None:
        """Press a key and wait until it is on disk."""
        before = self.log()
        self.terminal.press(*keys)
        until = time.monotonic() + 20
        while self.log() == before:
            assert time.monotonic() < until, f"{keys} did nothing:\n{self.terminal.screen()}"
            time.sleep(0.02)

    def step(self) -> None:
        """Do what the screen asks for."""
        seen = self.terminal.screen()
        if "leave it out, with a reason" in seen:
            self.terminal.press(next(self.same))
            self.terminal.wait_until_gone("leave it out, with a reason")
        elif "another reason" in seen:
            self.terminal.press("Enter")
            self.terminal.wait_until_gone("another reason")
        elif "is closed" not in seen:
            self.terminal.press(next(self.go))
            self.wait_for_more(seen)

    def wait_for_more(self, seen: str) -> None:
        """Wait until the next thing is another, or something is asked."""
        until = time.monotonic() + 20
        while next_thing(self.terminal.screen()) == next_thing(seen):
            assert time.monotonic() < until, f"it stays:\n{self.terminal.screen()}"
            time.sleep(0.02)

    def kill(self) -> None:
        before = self.log()
        self.terminal.kill()
        self.terminal.close()
        self.terminal = Terminal.again(self.terminal)
        assert self.log() == before
        self.open()
        self.terminal.wait_for(" of 3: ")


def next_thing(seen: str) -> str:
    """The lines of a screen on the next thing, with what is asked in front of it."""
    return "\n".join(line for line in seen.splitlines()[2:] if "session" not in line and "take " not in line)


@pytest.mark.slow
def test_a_whole_shoot_with_every_key_killed_three_times_loses_nothing(tmp_path: Path) -> None:
    shoot = Shoot(tmp_path)
    try:
        shoot.open()
        shoot.terminal.wait_for("Which study is filmed?")
        shoot.terminal.press("f")
        shoot.terminal.wait_for("goes on record")
        shoot.press("Enter")
        shoot.press("NPage")  # laid out
        shoot.terminal.wait_for("Condition of")
        shoot.kill()
        shoot.terminal.wait_for("Condition of")
        shoot.step()
        shoot.terminal.wait_for("leave it out, with a reason")
        shoot.step()
        shoot.terminal.wait_for("detail: orchard stamp")
        shoot.press("n")
        shoot.terminal.wait_for("Not legible once")
        shoot.press("NPage")  # in the can, by the remote
        shoot.press("PPage")  # taken back
        shoot.press("Space")
        shoot.press("s")
        shoot.press(".")
        shoot.kill()
        shoot.press("f", *"pin", "Enter")
        shoot.press("F5")
        shoot.terminal.wait_for("Pause: lamps off")
        shoot.press("Escape")
        shoot.terminal.press("x")
        shoot.terminal.wait_for("another reason")
        shoot.press("Enter")
        shoot.kill()
        for _ in range(60):
            if "is closed" in shoot.terminal.screen():
                break
            shoot.step()
        shoot.terminal.wait_for("is closed")
    finally:
        shoot.terminal.close()
    kinds = [line.kind for line in shoot.log()]
    for kind in (LogKind.DONE, LogKind.NOT_LEGIBLE, LogKind.FOUND, LogKind.SAID, LogKind.SKIPPED, LogKind.CLOSED):
        assert kind in kinds
    assert kinds.count(LogKind.SAID) == 2
    assert kinds.count(LogKind.PAUSED) == kinds.count(LogKind.RESUMED) == 1
    assert kinds.count(LogKind.TOUCHED) == 5
    with Session.open(shoot.terminal.book) as session:
        assert session.book.open_shoot is None
        assert not session.check()


@pytest.mark.parametrize(("name", "code"), [("TERM", 143), ("HUP", 129)])
def test_a_signal_leaves_the_terminal_clean_and_the_book_saved(terminal: Terminal, name: str, code: int) -> None:
    terminal.wait_for("Sun 8 Mar 2026: long feature")
    terminal.press("1")
    terminal.wait_for("47 pieces")
    terminal.press("n")
    terminal.wait_for("38 shown")
    assert terminal.in_alternate_screen()
    subprocess.run(["pkill", f"-{name}", "-f", f"showrunner --book {terminal.book}$"], check=True)
    terminal.wait_for(f"left={code}")
    assert not terminal.in_alternate_screen()
    assert '"label": "mark Christening robe' in terminal.book.read_text() or "mark Christening robe" in (
        terminal.book.read_text()
    )


@pytest.mark.slow
def test_a_terminal_that_is_closed_leaves_no_window_behind(terminal: Terminal) -> None:
    terminal.wait_for("Sun 8 Mar 2026: long feature")
    terminal.close()
    until = time.monotonic() + 20
    while subprocess.run(
        ["pgrep", "-f", f"showrunner --book {terminal.book}$"], check=False, capture_output=True
    ).stdout:
        assert time.monotonic() < until, "it still runs, and holds the lock of the book"
        time.sleep(0.05)
    with Session.open(terminal.book) as session:
        assert not session.read_only


@pytest.mark.slow
def test_no_color_sends_no_colour(tmp_path: Path) -> None:
    terminal = Terminal(tmp_path, NO_COLOR="1")
    try:
        terminal.wait_for("Sun 8 Mar 2026: long feature")
        raw = terminal.screen("-e")
        # SGR 30-37, 38, 40-47, 48, 90-97 and 100-107 set colours (ECMA-48 8.3.117)
        codes = [int(c) for part in raw.split("\x1b[")[1:] for c in part.split("m")[0].split(";") if c.isdigit()]
        assert not [c for c in codes if 30 <= c <= 38 or 40 <= c <= 48 or 90 <= c <= 107]
    finally:
        terminal.close()
