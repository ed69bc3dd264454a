"""What no command is to blame for: streams that are closed or full, folders that are shut, names that are too long."""

from __future__ import annotations

import errno
import io
import os
import shlex
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from showrunner.cli import run
from showrunner.demo_book import copy_demo
from showrunner.domain.glossary import Term
from showrunner.errors import LONGEST, BadInput, ShowrunnerError, fitting
from showrunner.session import Session
from showrunner.storage import lock, place

PROGRAM = f"{shlex.quote(sys.executable)} -m showrunner --book book.json"
NINES = "9" * 5_000
LONG_NAME = "a" * 300
FULL = pytest.mark.skipif(not Path("/dev/full").exists(), reason="the system has no device that is always full")


class Full(io.StringIO):
    """A stream into which nothing more goes."""

    def flush(self) -> None:
        raise OSError(errno.ENOSPC, "")


@pytest.fixture
def book(tmp_path: Path) -> Path:
    copy_demo(tmp_path / "book.json")
    return tmp_path / "book.json"


def shell(folder: Path, command: str) -> tuple[int, str]:
    """A command line of the shell, and what is said on standard error."""
    home = {"HOME": str(folder), "XDG_STATE_HOME": str(folder / "state")}
    done = subprocess.run(
        ["bash", "-c", command], cwd=folder, env={**os.environ, **home}, capture_output=True, text=True, check=False
    )
    assert "Traceback" not in done.stdout + done.stderr
    assert not (folder / "state").exists(), "a fault of the program"
    return done.returncode, done.stderr


PUBLISH = f"{PROGRAM} publish apron --on 2026-03-02"
SAVED = "done all the same: The apple-packer's apron is on record as published.\n"


@pytest.mark.slow
@pytest.mark.parametrize(
    ("command", "code", "said"),
    [
        pytest.param(
            f"{PUBLISH} > /dev/full", 2, f"The output could not be written, the disk is full; {SAVED}", marks=FULL
        ),
        (f"{PUBLISH} >&-", 2, f"The output could not be written, it is closed; {SAVED}"),
        (
            f"{PUBLISH} | true; exit ${{PIPESTATUS[0]}}",
            0,
            f"The output could not be written, nothing reads it any more; {SAVED}",
        ),
    ],
)
def test_what_was_saved_is_told_where_the_output_cannot_be_written(
    book: Path, command: str, code: int, said: str
) -> None:
    if "| true" in command:  # the reader must be gone first
        command = command.replace("| true", "| sleep 0").replace(PUBLISH, f"(sleep 0.2; {PUBLISH})")
    assert shell(book.parent, command) == (code, said)
    with Session.open(book, write=False) as session:
        assert session.book.episode("apron").published


@pytest.mark.slow
@pytest.mark.parametrize(
    ("command", "code", "said"),
    [
        (f"{PROGRAM} check >&-", 2, "The output could not be written, it is closed; do it again.\n"),
        (f"{PROGRAM} check <&- >&- 2>&-", 2, ""),
        (f"{PROGRAM} --help >&-", 2, "The output could not be written, it is closed; do it again.\n"),
        (
            f"{PROGRAM} <&-",
            2,
            "showrunner: there is no terminal to open the book in; use a command, such as report.\n",
        ),
    ],
)
def test_closed_streams_are_no_fault(book: Path, command: str, code: int, said: str) -> None:
    before = book.read_bytes()
    assert shell(book.parent, command) == (code, said)
    assert book.read_bytes() == before


@FULL
def test_a_full_standard_error_keeps_the_exit_code(book: Path) -> None:
    assert shell(book.parent, f"{PROGRAM} publish nobody --on 2026-03-02 2> /dev/full") == (2, "")


@pytest.mark.slow
def test_no_file_is_ever_taken_for_a_closed_stream(book: Path) -> None:
    """With standard output closed the next file opened would be number 1, and what is printed would go into it."""
    for closed in ("<&-", ">&-", "2>&-", "<&- >&- 2>&-"):
        code, _ = shell(book.parent, f"{PROGRAM} backup {closed}")
        assert code in (0, 2)
        with Session.open(book, write=False) as session:
            assert session.check() == []


@pytest.mark.parametrize("module", ["showrunner.cli", "showrunner.session", "click"])
def test_ctrl_c_while_starting_ends_without_a_word(tmp_path: Path, module: str) -> None:
    """The signal comes while a module is imported, wherever that is."""
    (tmp_path / "sitecustomize.py").write_text(
        "import os, signal, sys\n"
        "signal.signal(signal.SIGINT, signal.default_int_handler)\n"
        "class Finder:\n"
        "    def find_spec(self, name, *_):\n"
        f"        if name == {module!r}:\n"
        "            os.kill(os.getpid(), signal.SIGINT)\n"
        "sys.meta_path.insert(0, Finder())\n"
    )
    path = os.pathsep.join([str(tmp_path), str(Path(__file__).parents[1])])
    done = subprocess.run(
        [sys.executable, "-m", "showrunner", "--version"],
        env={**os.environ, "PYTHONPATH": path},
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stdout, done.stderr) == (130, "", "")


def test_letters_that_a_terminal_lacks_are_printed_as_a_question_mark(said: Any, monkeypatch: Any) -> None:
    printed = io.BytesIO()
    monkeypatch.setattr("sys.stdout", io.TextIOWrapper(printed, encoding="latin-1"))
    monkeypatch.setattr("showrunner.domain.glossary.found", lambda text: [Term("Crêpe", "6–8", ())])
    assert run(["words"]) == 0
    assert printed.getvalue().decode("latin-1") == "Crêpe: 6?8\n"


@pytest.mark.parametrize(
    ("stream", "why"), [(None, "it is closed"), (Full(), "the disk is full")], ids=["closed", "full"]
)
def test_output_that_gets_nowhere_is_told(monkeypatch: Any, capsys: Any, stream: Any, why: str) -> None:
    monkeypatch.setattr("sys.stdout", stream)
    assert run(["words"]) == 2
    assert capsys.readouterr().err == f"The output could not be written, {why}; do it again.\n"


def test_ctrl_c_in_a_command_says_what_was_written(book: Path, said: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    before = signal.signal(signal.SIGINT, signal.default_int_handler)  # a run in the background does not heed it

    def stopped(*_: object) -> None:
        signal.raise_signal(signal.SIGINT)

    monkeypatch.setattr(Session, "work", stopped)
    assert said("--book", book, "report") == (130, "", "\nStopped; nothing was changed.\n")
    monkeypatch.undo()
    monkeypatch.setattr("showrunner.cli._print", stopped)
    assert said("--book", book, "backup") == (130, "", "\nStopped; backup 1 is kept.\n")
    signal.signal(signal.SIGINT, before)


@pytest.mark.slow
@pytest.mark.parametrize(
    "arguments",
    [
        ("--book", LONG_NAME, "report"),
        ("--book", NINES, "report"),
        ("--book", "/a" * 3_000, "backup"),
        ("--book", "book.json/x", "report"),
        ("--today", NINES, "report"),
        ("demo", "--keep", LONG_NAME),
        *(
            ("--book", "book.json", *words)
            for words in (
                ("calendar", LONG_NAME),
                ("calendar", "--busy", NINES),
                ("export", LONG_NAME),
                ("export", "/a" * 3_000),
                ("import", LONG_NAME),
                ("import", "sheet.csv", "--match", f"{NINES}=07"),
                ("import", "sheet.csv", "--map", f"{NINES}=box"),
                ("publish", NINES, "--on", "2026-03-02"),
                ("publish", "apron", "--on", NINES),
                ("publish", "apron", "--on", "2026-03-02", "--run-time", f"{NINES}:30"),
                ("shoot", NINES),
                ("shoot", "apron", "--lux", NINES),
                ("shoot", "apron", "--hours", NINES),
                ("plan", "--horizon", NINES),
                ("plan", "--unsure", NINES),
                ("runout", "--series", NINES),
                ("runout", "--slip-rate", NINES),
                ("runout", "--what-if", f"slip-rate={NINES}"),
                ("runout", "--what-if", f"add-piece={NINES}"),
                ("runout", "--what-if", f"spacing={NINES},{NINES},{NINES}"),
                ("runout", "--what-if", f"unpair={NINES}"),
                ("restore", NINES),
                ("restore", NINES[:400]),
                (NINES,),
                (f"--{NINES}",),
            )
        ),
    ],
    ids=lambda arguments: " ".join(word[:12] for word in arguments),
)
def test_what_is_far_too_long_is_refused_in_one_short_sentence(
    book: Path, said: Any, monkeypatch: pytest.MonkeyPatch, arguments: tuple[str, ...]
) -> None:
    monkeypatch.chdir(book.parent)
    (book.parent / "sheet.csv").write_text("number,name\n1,Apron\n")
    before = book.read_bytes()
    code, out, err = said(*arguments)
    assert (code, out) == (2, "")
    assert err.endswith(".\n")
    assert len(err) <= LONGEST + 1
    assert book.read_bytes() == before


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="permissions of folders are another matter there")
@pytest.mark.parametrize(
    ("command", "code"),
    [
        (["--book", "shut/book.json", "report"], 2),
        (["--book", "shut/book.json", "restore", "1"], 2),
        (["demo", "--keep", "shut/new.json"], 2),
        (["--book", "book.json", "calendar", "shut/out.ics"], 2),
        (["--book", "book.json", "calendar", "--busy", "shut/in.ics"], 2),
        (["--book", "book.json", "export", "shut/out"], 2),
        (["--book", "book.json", "import", "shut/sheet.csv"], 2),
        (["--book", "locked/book.json", "backup"], 2),
        (["--book", "locked/book.json", "check"], 0),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else str(value),
)
def test_a_folder_without_permission_is_told(book: Path, command: list[str], code: int) -> None:
    """Root may do everything, so it gives up that right first."""
    folder = book.parent
    for name in ("shut", "locked"):
        (folder / name).mkdir()
        copy_demo(folder / name / "book.json")
    (folder / "shut").chmod(0)
    (folder / "locked").chmod(0o500)
    give_up: list[str] = []
    if os.geteuid() == 0:
        rights = "-dac_override,-dac_read_search"
        give_up = ["setpriv", f"--bounding-set={rights}", f"--inh-caps={rights}"]
        if subprocess.run([*give_up, "true"], capture_output=True, check=False).returncode:
            pytest.skip("root cannot give up its rights here")
    words = shlex.join([*give_up, sys.executable, "-m", "showrunner", *command])
    try:
        found, told = shell(folder, words)
    finally:
        (folder / "shut").chmod(0o700)
        (folder / "locked").chmod(0o700)
    assert found == code
    assert told == "" if code == 0 else told.endswith(".\n") and "\n" not in told[:-1]


def test_a_disk_that_cannot_lock_files_holds_a_book_to_read(
    book: Path, said: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    fcntl = pytest.importorskip("fcntl")

    def refused(*_: object) -> None:
        raise OSError(errno.ENOSYS, "")

    monkeypatch.setattr(fcntl, "flock", refused)
    before = sorted(book.parent.iterdir())
    told = f"{book}: this disk cannot lock files, so a book on it can only be read; copy the book to another disk.\n"
    assert said("--book", book, "backup") == (2, "", told)
    assert said("--book", book, "work")[0] == 0
    assert "Here it can only be read." in said("--book", book, "check")[1]
    assert sorted(book.parent.iterdir()) == before
    monkeypatch.undo()
    assert lock.refused_by(book.parent) is None


def test_without_a_home_the_book_has_to_be_named(said: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("os.path.expanduser", lambda path: path)
    monkeypatch.delenv("XDG_DATA_HOME", raising=False)
    monkeypatch.delenv("SHOWRUNNER_BOOK", raising=False)
    with pytest.raises(BadInput):
        place.default_path()
    told = "showrunner: no home folder is known in which your book could be; name it with --book PATH.\n"
    assert said("report") == (2, "", told)


def test_a_read_only_book_is_not_restored_over(book: Path, said: Any) -> None:
    assert said("--book", book, "backup")[0] == 0
    book.chmod(0o400)
    before = book.read_bytes()
    told = f"{book}: the file may only be read; allow writing to it, or copy it.\n"
    assert said("--book", book, "restore", "1") == (2, "", told)
    assert book.read_bytes() == before
    assert "Here it can only be read." in said("--book", book, "check")[1]


def test_a_sentence_is_cut_where_it_hurts_least() -> None:
    assert fitting("x" * 299) == "x" * 299
    assert fitting("x" * 300) == f"{'x' * 59}…{'x' * 59}"
    assert len(fitting("x " * 400)) == LONGEST
    error = ShowrunnerError("a b " * 200, "p" * 500, "restore it with `showrunner restore 3`")
    assert len(error.sentence()) <= LONGEST
    assert error.sentence().endswith("…; restore it with `showrunner restore 3`.")
    assert ShowrunnerError("short", "here", "mend it").sentence() == "here: short; mend it."
