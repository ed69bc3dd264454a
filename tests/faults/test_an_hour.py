"""An hour of use on a terminal: the window stays, and needs hardly more memory than at the start (Linux)."""

from __future__ import annotations

import os
import random
import shutil
import sys
import time
from pathlib import Path

import pytest
from effort import LONG
from terminal import Terminal

ROOT = Path(__file__).parents[2]
ESC = "\x1b"
ARROWS = [f"{ESC}[{sign}" for sign in "ABCD"]
PAGES = [f"{ESC}[5~", f"{ESC}[6~"]
KEYS = [*"12345", *ARROWS, *PAGES, *"yn ut?epi/sbwf", "\t", "\r", ESC, ESC]
"""To each screen, through what it holds, marks and forms, and out of them; none that leaves."""

SETTLED_SECONDS = 10.0
"""After which the window has been opened, painted, and has loaded what can wait."""

BURST_SECONDS = 0.5
"""From one burst of one to five keys to the next."""


def memory(pid: int) -> float:
    """Memory that a process has, in MB."""
    pages = int(Path(f"/proc/{pid}/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


@pytest.mark.long
@pytest.mark.skipif(sys.platform != "linux", reason="reads /proc")
def test_an_hour_of_keys_on_a_terminal(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The start is the window at rest after it was opened."""
    monkeypatch.chdir(tmp_path)
    book = tmp_path / "book.json"
    shutil.copy(ROOT / "demo" / "book.json", book)
    own = {name: str(tmp_path) for name in ("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME")}
    rng = random.Random(7)
    command = [sys.executable, "-m", "showrunner", "--book", str(book)]
    with Terminal(command, {"PYTHONPATH": str(ROOT), **own}) as terminal:
        terminal.until(b"apple-packer")
        opened = memory(terminal.pid)
        watch(terminal, SETTLED_SECONDS)
        curve = [memory(terminal.pid)]
        hour, began, keys = 3600 * LONG / 1000, time.monotonic(), 0
        while (passed := time.monotonic() - began) < hour:
            pressed = rng.choices(KEYS, k=rng.randint(1, 5))
            terminal.press(*pressed)
            keys += len(pressed)
            watch(terminal, BURST_SECONDS)
            assert os.waitpid(terminal.pid, os.WNOHANG) == (0, 0), "the window is gone"
            if passed > len(curve) * hour / 30:
                curve.append(memory(terminal.pid))
    print(f"\n{keys} keys; MB: {opened:.0f} once painted; {' '.join(f'{each:.0f}' for each in curve)}")  # noqa: T201
    if LONG >= 1000:
        assert curve[-1] < 1.3 * curve[0], "memory grows"


def watch(terminal: Terminal, seconds: float) -> None:
    """Take what is painted for so long."""
    until = time.monotonic() + seconds
    while (left := until - time.monotonic()) > 0:
        terminal.take(left)
    terminal.painted = b""
