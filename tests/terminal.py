"""A program on a terminal of its own: keys pressed, what is painted, and the processor time it takes (Linux)."""

from __future__ import annotations

import contextlib
import fcntl
import os
import pty
import select
import signal
import struct
import termios
import time
from collections.abc import Mapping, Sequence
from pathlib import Path
from types import TracebackType
from typing import Self

LONGEST = 60.0
"""Seconds after which what is waited for never comes."""

QUIET = 0.35
"""Seconds without processor time after which a program is at rest."""

IDLE = 0.0006
"""Processor seconds that count as none, between two looks."""


class Painted:
    """What comes out of a terminal, and the keys that go into it.

    Args:
        master: the terminal's other end.
        rows: its height.
        columns: its width.
    """

    def __init__(self, master: int, *, rows: int = 24, columns: int = 80) -> None:
        self.master = master
        self.painted = b""
        fcntl.ioctl(master, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))

    def take(self, seconds: float) -> bytes:
        """What is painted next, waiting for it so long at most; nothing once the program has ended."""
        if not select.select([self.master], [], [], seconds)[0]:
            return b""
        try:
            fresh = os.read(self.master, 65536)
        except OSError:
            return b""
        self.painted += fresh
        return fresh

    def until(self, mark: bytes) -> float:
        """Wait until something was painted since the last key; seconds that it took."""
        began = time.perf_counter()
        while mark not in self.painted:
            self.take(0.002)
            if time.perf_counter() - began > LONGEST:
                raise TimeoutError(f"{mark!r} was never painted")
        return time.perf_counter() - began

    def press(self, *keys: str) -> None:
        """Press keys, all at once; what was painted before is forgotten."""
        while self.take(0):
            pass
        self.painted = b""
        os.write(self.master, "".join(keys).encode())


class Terminal(Painted):
    """A program that runs on a terminal.

    Args:
        command: the program and its arguments.
        env: environment variables besides those there are.
    """

    def __init__(self, command: Sequence[str], env: Mapping[str, str] | None = None) -> None:
        self.pid, master = pty.fork()
        if self.pid == 0:
            for name in ("PYTHONDONTWRITEBYTECODE", "NO_COLOR"):  # installed packages come compiled; so does this one
                os.environ.pop(name, None)
            os.environ.update(TERM="xterm-256color", COLORTERM="truecolor", **(env or {}))
            os.execvp(command[0], command)
        super().__init__(master)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        with contextlib.suppress(ProcessLookupError):
            os.kill(self.pid, signal.SIGKILL)
        os.waitpid(self.pid, 0)
        os.close(self.master)

    def spent(self) -> float:
        """Processor seconds that the program has taken so far, in all its threads."""
        tasks = Path(f"/proc/{self.pid}/task")
        return sum(int((task / "schedstat").read_text().split()[0]) for task in tasks.iterdir()) / 1e9

    def rest(self) -> float:
        """Wait until the program does nothing more; its processor seconds by then."""
        last, began = self.spent(), time.perf_counter()
        since = began
        while time.perf_counter() - since < QUIET and time.perf_counter() - began < LONGEST:
            self.take(0.02)
            now = self.spent()
            if now - last > IDLE:
                since = time.perf_counter()
            last = now
        return last

    def cost(self, key: str) -> float:
        """Processor seconds from a key until the program is at rest again."""
        before = self.rest()
        self.press(key)
        time.sleep(0.05)
        return self.rest() - before
