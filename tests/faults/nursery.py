"""Processes that begin at once: one that has everything loaded makes a copy of itself for each thing to do.

Most of a command's time is the loading of libraries, in which nothing can be lost; a kill should find it at work.
Run as a program this is that process: it reads what is to be done, a line of JSON each, and tells the id of the process
that does it, then how that ended.
"""

from __future__ import annotations

import contextlib
import json
import os
import pty
import signal
import subprocess
import sys
from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from types import TracebackType
from typing import Any, Self

ROOT = Path(__file__).parents[2]
LOADED = (
    "click",
    "tinydb",
    "filelock",
    "icalendar",
    "dateutil.rrule",
    "platformdirs",
    "showrunner.cli",
    "showrunner.ical.export",
    "showrunner.ical.busy",
    "showrunner.intake.bringing",
    "showrunner.storage.exporting",
    "showrunner.planning.plan",
    "showrunner.planning.present",
    "showrunner.planning.workback",
    "showrunner.tui.app",
)
"""What every process begins with."""


class Child:
    """A process that does one thing.

    Args:
        nursery: where it was begun.
        pid: its id.
        said: the file that holds what it printed.
    """

    def __init__(self, nursery: Nursery, pid: int, said: Path) -> None:
        self.pid = pid
        self._nursery = nursery
        self._said = said
        self._ended: int | None = None

    def kill(self) -> None:
        """End it at once; it may have ended by itself, but nothing else has its id until `ended` is asked."""
        os.kill(self.pid, signal.SIGKILL)

    def ended(self) -> int:
        """Wait for its end: the exit code, or the number of the signal below zero."""
        if self._ended is None:
            self._ended = int(self._nursery.asked("wait"))
        return self._ended

    def said(self) -> str:
        """What it printed."""
        return self._said.read_text(errors="replace") if self._said.exists() else ""


class Nursery:
    """Begins processes, one at a time.

    Args:
        folder: where what they print and their settings go.
        more: modules they begin with, besides the program's own.
    """

    def __init__(self, folder: Path, *more: str) -> None:
        self._said = folder / "said.txt"
        self._server = subprocess.Popen(
            [sys.executable, str(Path(__file__)), *more],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            env={
                **os.environ,
                "PYTHONPATH": os.pathsep.join([str(ROOT), str(ROOT / "tests")]),
                "XDG_CONFIG_HOME": str(folder / "config"),
                "XDG_STATE_HOME": str(folder / "state"),
                "TERM": "xterm-256color",
            },
        )

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        assert self._server.stdin
        self._server.stdin.close()
        self._server.wait()

    def begin(self, call: str, *arguments: Any, terminal: str = "") -> Child:
        """Begin to call a function.

        Args:
            call: `module:function`; what it returns is the exit code.
            arguments: what it is called with, as JSON can say it.
            terminal: the terminal it is to run on; without one, what it prints goes into a file.
        """
        self._said.unlink(missing_ok=True)
        what = {"call": call, "arguments": arguments, "terminal": terminal, "said": str(self._said)}
        return Child(self, int(self.asked(json.dumps(what))), self._said)

    def command(self, *arguments: object) -> Child:
        """Begin a command of the program."""
        return self.begin("showrunner.cli:run", [str(argument) for argument in arguments])

    def asked(self, line: str) -> str:
        """Ask the process that makes the others; its answer is one line."""
        assert self._server.stdin
        assert self._server.stdout
        self._server.stdin.write(f"{line}\n")
        self._server.stdin.flush()
        return self._server.stdout.readline()


@contextlib.contextmanager
def a_terminal() -> Any:
    """A terminal: its near end, and the name of the far end."""
    master, slave = pty.openpty()
    try:
        yield master, os.ttyname(slave)
    finally:
        os.close(master)
        with contextlib.suppress(OSError):
            os.close(slave)


def _named(call: str) -> Callable[..., Any]:
    module, name = call.split(":")
    found: Callable[..., Any] = getattr(import_module(module), name)
    return found


def _do(asked: dict[str, Any]) -> int:
    """In a process of its own: call the function, its terminal or file being all it reads and prints to."""
    if asked["terminal"]:
        os.setsid()
        shown = os.open(asked["terminal"], os.O_RDWR)  # the first a process without one opens becomes its terminal
        shown_in = shown
    else:
        shown = os.open(asked["said"], os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        shown_in = os.open(os.devnull, os.O_RDONLY)
    os.dup2(shown_in, 0)
    for number in (1, 2):
        os.dup2(shown, number)
    for name, number, mode in (("stdin", 0, "r"), ("stdout", 1, "w"), ("stderr", 2, "w")):
        stream = os.fdopen(number, mode, buffering=1, encoding="utf-8")
        setattr(sys, name, stream)
        setattr(sys, f"__{name}__", stream)
    code = _named(asked["call"])(*asked["arguments"])
    sys.stdout.flush()
    return int(code or 0)


def main() -> None:
    """Make a process for each line that is read."""
    for module in (*LOADED, *sys.argv[1:]):
        import_module(module)
    told = os.fdopen(os.dup(1), "w", buffering=1)
    while line := sys.stdin.readline():
        asked = json.loads(line)
        pid = os.fork()
        if pid == 0:
            code = 70
            try:
                code = _do(asked)
            finally:
                os._exit(code)
        told.write(f"{pid}\n")
        sys.stdin.readline()  # until then nobody else can have its id
        told.write(f"{os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1])}\n")


if __name__ == "__main__":
    main()
