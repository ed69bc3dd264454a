"""In a real terminal, through tmux: it opens, takes keys, leaves it clean, and sends no colour if asked so."""

from __future__ import annotations

import os
import shlex
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from showrunner.session import Session

ROOT = Path(__file__).parents[2]
pytestmark = pytest.mark.skipif(shutil.which("tmux") is None, reason="tmux is not installed")


class Terminal:
    """One tmux session of its own, 80 by 24."""

    def __init__(self, folder: Path, *, fresh: bool = True, **env: str) -> None:
        self.folder = folder
        self.socket = f"show{os.getpid()}-{folder.name[-6:]}{'' if fresh else '-again'}"
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


def test_a_shoot_killed_in_the_middle_stands_where_it_stood(terminal: Terminal) -> None:
    terminal.wait_for("Sun 8 Mar 2026: long feature")
    terminal.press("3")
    terminal.wait_for("Which study is filmed?")
    terminal.press("f")
    terminal.wait_for("goes on record")
    terminal.press("Enter")
    terminal.wait_for("Lay out: Apple-packer")
    terminal.press("Space")
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
