"""Completion in real shells: what stands on the line after Tab is what the command is given."""

from __future__ import annotations

import json
import os
import pty
import select
import shutil
import signal
import sys
from collections.abc import Iterator
from datetime import time
from pathlib import Path

import pytest

from showrunner.completion import SCRIPTS
from showrunner.domain.book import Book
from showrunner.domain.collection import Collection
from showrunner.domain.episode import Episode, Series
from showrunner.domain.naming import cleaned
from showrunner.domain.piece import Known, Piece, Shown
from showrunner.domain.slot import SlotRule
from showrunner.session import Session

HOSTILE = (
    'kwa: it\'s "quoted" $(touch pwned) `touch pwned` $HOME',
    "kwb a;b|c&d>pwned<e (f) [g] * #hash ~home {a,b} %per^ eq=al at@x plus+ colon:y",
    "kwc new\nline and\ttab \x1b[31mred\x07 \x7f",
    "kwd back\\slash and bang!now",
    "-x kwe",
    "kwf Châtelaine “Odile” 着物",
    'kwg "end"',
    "kwh end'",
)
WAIT = 60
"""Seconds after which a shell that says nothing is given up; no answer is judged by its time."""


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a book, and a command that tells what it was given, but completes as ours does."""
    folder = tmp_path_factory.mktemp("shells")
    studies = [Episode(f"s{at}", title, series="hour") for at, title in enumerate(HOSTILE)]
    more = [
        Episode("tea", "The tea gown", series="hour", pieces=("07",)),
        Episode("ball", "A ball gown", series="hour", pieces=("08",)),
    ]
    doubt = Shown(Known.UNSURE)
    book = Book(
        "key",
        collections=(Collection("dress", "Historic dress"),),
        pieces=(Piece("07", "Tea gown", "dress", shown=doubt), Piece("08", "Ball gown", "dress", shown=doubt)),
        rules=(SlotRule("wed", "making diary", 2, time(18, 30), "UTC"),),
        series=(Series("hour", "The Camphorwood Hour", "dress", ("wed",)),),
        episodes=(*more, *studies),
    )
    Session.create(folder / "book.json", book).close()
    command = folder / "bin" / "showrunner"
    command.parent.mkdir()
    command.write_text(
        f"#!{sys.executable}\n"
        "import json, os, sys\n"
        "if '_SHOWRUNNER_COMPLETE' in os.environ:\n"
        "    from showrunner.cli import run\n"
        "    sys.exit(run())\n"
        "print('GIVEN', ascii(json.dumps(sys.argv[1:])), 'END', sep='')\n"
    )
    command.chmod(0o755)
    for shell, script in SCRIPTS.items():
        (folder / f"script.{shell}").write_text(script)
    return folder


STARTS = {
    "bash": ["bash", "--norc", "--noprofile", "-i"],
    "zsh": ["zsh", "-f", "-i"],
    "fish": ["fish", "--no-config", "-i"],
}


class Shell:
    """A shell in a terminal of its own."""

    def __init__(self, name: str, folder: Path) -> None:
        self.told = ""
        environment = {
            "PATH": f"{folder / 'bin'}{os.pathsep}{os.environ['PATH']}",
            "HOME": str(folder),
            "TERM": "xterm",
            "LANG": "C.UTF-8",
            "SHOWRUNNER_BOOK": str(folder / "book.json"),
            "PS1": "",
        }
        self.pid, self.terminal = pty.fork()
        if not self.pid:
            os.chdir(folder)
            os.execvpe(STARTS[name][0], STARTS[name], environment)
        self.type(f"source {folder / f'script.{name}'}\n")
        self.type("showrunner begin\n")
        self.given()

    def type(self, text: str) -> None:
        os.write(self.terminal, text.encode())

    def given(self) -> list[str]:
        """What the next command was given."""
        while "END" not in self.told.partition("GIVEN'")[2]:
            ready, _, _ = select.select([self.terminal], [], [], WAIT)
            assert ready, f"the shell told no more than {self.told!r}"
            self.told += os.read(self.terminal, 65536).decode(errors="replace")
        _, _, rest = self.told.partition("GIVEN'")
        found, _, self.told = rest.partition("'END")
        arguments: list[str] = json.loads(found.encode().decode("unicode_escape"))
        return arguments

    def completed(self, line: str) -> list[str]:
        """What a command is given whose line was completed at its end."""
        self.type(f"{line}\t\n")
        return self.given()

    def close(self) -> None:
        os.kill(self.pid, signal.SIGKILL)
        os.waitpid(self.pid, 0)
        os.close(self.terminal)


@pytest.fixture(scope="module", params=list(STARTS))
def shell(request: pytest.FixtureRequest, place: Path) -> Iterator[Shell]:
    if not shutil.which(request.param):
        pytest.skip(f"{request.param} is not installed")
    opened = Shell(request.param, place)
    yield opened
    opened.close()


@pytest.mark.slow
@pytest.mark.parametrize("title", HOSTILE)
def test_a_name_comes_whole_whatever_is_in_it(shell: Shell, place: Path, title: str) -> None:
    word = next(part for part in title.replace(":", " ").split() if part.startswith("kw"))
    written = cleaned(title) if not title.startswith("-") else "s4"
    assert shell.completed(f"showrunner publish {word}") == ["publish", written]
    assert not (place / "pwned").exists()


@pytest.mark.slow
@pytest.mark.parametrize(
    ("line", "given"),
    [
        ("showrunner publ", ["publish"]),
        ("showrunner publish 'the te", ["publish", "The tea gown"]),
        ('showrunner publish "kwg', ["publish", 'kwg "end"']),
        ("showrunner publish 'kwh", ["publish", "kwh end'"]),
        ('showrunner publish "kwd', ["publish", "kwd back\\slash and bang!now"]),
        ("showrunner publish gown", ["publish", "gown"]),
        ("showrunner runout --series camph", ["runout", "--series", "The Camphorwood Hour"]),
        ("showrunner runout --what-if shown=ball", ["runout", "--what-if", "shown=Ball gown"]),
        ("showrunner runout --what-if pair=tea+ball", ["runout", "--what-if", "pair=tea+A ball gown"]),
        ("showrunner import x --match 2=ball", ["import", "x", "--match", "2=Ball gown"]),
        ("showrunner import scr", ["import", "script."]),
        ("cd . ; showrunner publish ball", ["publish", "A ball gown"]),
    ],
)
def test_the_line_after_tab(shell: Shell, line: str, given: list[str]) -> None:
    assert shell.completed(line) == given
