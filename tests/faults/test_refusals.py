"""The system refuses a call in the middle of an action: memory is what the disk holds, it is told, the next save works.

The calls that an action makes are refused with each of several errors, alone and with all later ones of their kind.
"""

from __future__ import annotations

import errno
import os
import random
import shutil
import subprocess
import sys
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from workroom_books import noon, small_book

from faults.books import sheet
from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.piece import Known
from showrunner.errors import ShowrunnerError
from showrunner.intake.findings import Asked
from showrunner.session import Session
from showrunner.storage import exporting

ERRORS = (errno.ENOSPC, errno.EIO, errno.EACCES, errno.EROFS, errno.EDQUOT)
Action = Callable[[Session, Path], Sequence[str] | None]
"""Does one thing to a book, in a folder; returns the sentences that it tells, if any."""
LONGEST = 300
"""Most letters of a sentence, the paths in it left out."""


class Refusal(NamedTuple):
    """One call that is refused."""

    kind: str
    """What is called."""
    number: int
    """Which of its calls, from 1."""
    error: int
    """What the system says."""
    lasting: bool
    """Whether all later calls of the kind are refused too, as on a full disk."""


class System:
    """The calls to the system that reach below a folder; one of them may be refused."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, folder: Path) -> None:
        self.folder = str(folder)
        self.calls: Counter[str] = Counter()
        self.refusal: Refusal | None = None
        self.refused = 0
        self._names: dict[int, str] = {}
        for name in ("replace", "rename", "link", "mkdir"):
            self._watch(monkeypatch, name)
        self._open, self._fsync, self._fdopen = os.open, os.fsync, os.fdopen
        monkeypatch.setattr(os, "open", self.open)
        monkeypatch.setattr(os, "fsync", self.fsync)
        monkeypatch.setattr(os, "fdopen", self.fdopen)

    def begin(self, refusal: Refusal | None) -> None:
        """Count from here, and refuse this."""
        self.calls.clear()
        self.refusal, self.refused = refusal, 0

    def _watch(self, monkeypatch: pytest.MonkeyPatch, name: str) -> None:
        real = getattr(os, name)

        def watched(path: Any, *rest: Any, **more: Any) -> Any:
            self.called(name, path)
            return real(path, *rest, **more)

        monkeypatch.setattr(os, name, watched)

    def called(self, kind: str, path: Any) -> None:
        """Note a call, and refuse it if it is the one."""
        if not str(path).startswith(self.folder):
            return
        self.calls[kind] += 1
        wanted = self.refusal
        if wanted and wanted.kind == kind:
            at = self.calls[kind]
            if at == wanted.number or (wanted.lasting and at > wanted.number):
                self.refused += 1
                raise OSError(wanted.error, os.strerror(wanted.error))

    def open(self, path: Any, flags: int, *rest: Any, **more: Any) -> int:
        """`os.open`."""
        self.called("open", path)
        handle = self._open(path, flags, *rest, **more)
        self._names[handle] = str(path)
        return handle

    def fsync(self, handle: int) -> None:
        """`os.fsync`."""
        self.called("fsync", self._names.get(handle, ""))
        self._fsync(handle)

    def fdopen(self, handle: int, mode: str = "r", *rest: Any, **more: Any) -> Any:
        """`os.fdopen`, with a file whose writing can be refused half-way."""
        file = self._fdopen(handle, mode, *rest, **more)
        return Half(self, file, self._names.get(handle, "")) if "w" in mode else file


class Half:
    """An open file that writes half of what it is given before it is refused."""

    def __init__(self, system: System, file: Any, name: str) -> None:
        self._system, self._file, self._name = system, file, name

    def __enter__(self) -> Half:
        return self

    def __exit__(self, *_: object) -> None:
        self._file.close()

    def __getattr__(self, name: str) -> Any:
        return getattr(self._file, name)

    def write(self, data: bytes) -> int:
        """Write, or write half and fail."""
        try:
            self._system.called("write", self._name)
        except OSError:
            self._file.write(data[: len(data) // 2])
            self._file.flush()
            raise
        return int(self._file.write(data))


@pytest.fixture
def system(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[System]:
    yield System(monkeypatch, tmp_path / "run")


# The actions


def a_book() -> Book:
    """The small book, with a key that a calendar can be told."""
    return replace(small_book(), key="2f1a8a52-5a0a-4d52-9d53-6a7f8c1b0d9f")


def save(session: Session, folder: Path) -> None:
    session.do("mark", lambda book: edits.mark_shown(book, "4", Known.YES))


def backup(session: Session, folder: Path) -> None:
    session.backup("asked for")


def export(session: Session, folder: Path) -> None:
    exporting.export(session.book, folder / "out" / "export", session.path)


def calendar(session: Session, folder: Path) -> None:
    session.write_calendar(folder / "out" / "series.ics")


def bring_in(session: Session, folder: Path) -> None:
    session.take_over(session.bring_in(folder / "sheet.csv", Asked(collection="Camphor chest")))


def go_back(session: Session, folder: Path) -> None:
    session.restore(1)


def undo(session: Session, folder: Path) -> None:
    session.undo()


def redo(session: Session, folder: Path) -> None:
    session.redo()


def restore_file(session: Session, folder: Path) -> Sequence[str]:
    session.close()
    return Session.restore_file(session.path, 1, now=noon)


def restore_damaged(session: Session, folder: Path) -> Sequence[str]:
    session.close()
    session.path.write_bytes(session.path.read_bytes()[:500])
    return Session.restore_file(session.path, 1, now=noon)


def begin_another(session: Session, folder: Path) -> Sequence[str]:
    with Session.create(folder / "new" / "books" / "book.json", a_book(), now=noon) as begun:
        return begun.warnings


def copy(session: Session, folder: Path) -> None:
    session.copy_to(folder / "new" / "copy.json")


def open_again(session: Session, folder: Path) -> None:
    session.close()
    with Session.open(session.path, now=noon) as again:
        if again.read_only:
            raise ShowrunnerError(again.read_only_reason, str(session.path))


ACTIONS = (
    save,
    backup,
    export,
    calendar,
    bring_in,
    go_back,
    undo,
    redo,
    restore_file,
    restore_damaged,
    begin_another,
    copy,
    open_again,
)


def prepare(folder: Path) -> None:
    """A book with a backup, a step that can be undone and one that can be done again, and an old export."""
    path = folder / "book.json"
    with Session.create(path, a_book(), now=noon) as session:
        for piece in ("1", "2", "3"):
            session.do("mark", lambda book, piece=piece: edits.mark_shown(book, piece, Known.YES))  # type: ignore[misc]
        session.undo()
    sheet(folder / "sheet.csv", 1)
    (folder / "out").mkdir()


def contents(folder: Path) -> dict[str, bytes]:
    """Every file below a folder but locks."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path.suffix != ".lock"
    }


class Trial:
    """One action in a folder of its own.

    Args:
        system: the calls to the system.
        prepared: the folder it begins with.
    """

    def __init__(self, system: System, prepared: Path) -> None:
        self.system = system
        self.folder = Path(system.folder)
        shutil.rmtree(self.folder, ignore_errors=True)
        shutil.copytree(prepared, self.folder)
        self.path = self.folder / "book.json"
        self.said: Sequence[str] = ()

    def run(self, action: Action, refusal: Refusal | None) -> ShowrunnerError | None:
        """Do it; what was raised. Only what the program raises for the user may come out of it."""
        self.session = Session.open(self.path, now=noon)
        self.before = self.session.book
        self.system.begin(refusal)
        try:
            self.said = action(self.session, self.folder) or ()
        except ShowrunnerError as error:
            return error
        finally:
            self.refused = self.system.refused
            self.calls = Counter(self.system.calls)
            self.system.begin(None)
        return None

    def close(self) -> None:
        self.session.close()


class Undisturbed(NamedTuple):
    """What an action leaves when nothing is refused."""

    book: Book
    files: dict[str, bytes]
    said: Sequence[str]
    calls: Counter[str]


def undisturbed(system: System, prepared: Path, action: Action) -> Undisturbed:
    """An action of which nothing is refused."""
    trial = Trial(system, prepared)
    assert trial.run(action, None) is None
    trial.close()
    with Session.open(trial.path, write=False, now=noon) as session:
        return Undisturbed(session.book, contents(trial.folder), trial.said, trial.calls)


def hold(system: System, prepared: Path, action: Action, refusal: Refusal, whole: Undisturbed) -> str:
    """Refuse one call, and hold what must then hold; returns how it ended."""
    trial = Trial(system, prepared)
    raised = trial.run(action, refusal)
    what = f"{action.__name__}, {refusal}"
    assert trial.refused, what
    session = trial.session
    told = [*([raised.sentence()] if raised else []), *session.warnings, *set(trial.said).difference(whole.said)]
    for sentence in told:
        assert "\n" not in sentence, what
        assert len(sentence.replace(str(trial.folder), "")) < LONGEST, what
    with_session = action not in (restore_file, restore_damaged, open_again)
    if with_session:
        with Session.open(trial.path, write=False, now=noon) as disk:
            assert (disk.book, disk.undo_label) == (session.book, session.undo_label), what
        assert session.book in (trial.before, whole.book), what
    if raised is None:
        if not told:
            left = {name: data for name, data in contents(trial.folder).items() if not name.endswith(".tmp")}
            assert left == whole.files, f"{what}: something is missing, and nothing was told"
        if with_session:
            assert session.book == whole.book, what
    session.close()
    again = trial.path
    if action is restore_damaged and raised:
        Session.restore_file(again, 1, now=noon)
    with Session.open(again, now=noon) as next_one:
        assert not next_one.read_only, what
        next_one.do("next", lambda book: edits.mark_shown(book, "5", Known.YES))
        assert next_one.warnings == (), what
        book = next_one.book
        assert next_one.check() == [], what
    with Session.open(again, write=False, now=noon) as last:
        assert (last.book, last.undo_label) == (book, "next"), what
    assert not list(trial.path.parent.glob(".book.json*.tmp")), what
    return "raised" if raised else "warned" if told else "nothing missing"


def refusals(calls: Counter[str]) -> list[Refusal]:
    """Every call refused with every error, alone and lasting."""
    return [
        Refusal(kind, number, error, lasting)
        for kind, most in sorted(calls.items())
        for number in range(1, most + 1)
        for error in ERRORS
        for lasting in (False, True)
    ]


def hold_refusals(system: System, folder: Path, action: Action, most: int) -> Counter[str]:
    """Refuse calls of an action, so many at most, chosen at random but the same each time."""
    prepared = folder / "prepared"
    prepared.mkdir()
    prepare(prepared)
    whole = undisturbed(system, prepared, action)
    chosen = refusals(whole.calls)
    random.Random(action.__name__).shuffle(chosen)
    return Counter(hold(system, prepared, action, refusal, whole) for refusal in chosen[:most])


@pytest.mark.slow
@pytest.mark.parametrize("action", ACTIONS, ids=lambda action: action.__name__)
def test_a_refused_call(system: System, tmp_path: Path, action: Action) -> None:
    assert hold_refusals(system, tmp_path, action, 5)


@pytest.mark.long
@pytest.mark.parametrize("action", ACTIONS, ids=lambda action: action.__name__)
def test_every_refused_call(system: System, tmp_path: Path, action: Action) -> None:
    seen = hold_refusals(system, tmp_path, action, 120)
    print(f"\n{action.__name__}: {seen.total()} refused calls, {dict(seen)}")  # noqa: T201 - figures of the long run


# A disk that is really full

ON_A_FULL_DISK = """
import os, sys
from pathlib import Path
from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.piece import Known
from showrunner.errors import ShowrunnerError
from showrunner.intake.findings import Asked
from showrunner.session import Session
sys.path.insert(0, sys.argv[2])
from faults import test_refusals as t
for action in t.ACTIONS[:8]:
    folder = Path(sys.argv[1]) / action.__name__
    folder.mkdir()
    t.prepare(folder)
    fill = folder / "fill"
    session = Session.open(folder / "book.json", now=t.noon)
    before, told = session.book, None
    with fill.open("wb", buffering=0) as file:
        try:
            while True:
                file.write(b"x" * 512)
        except OSError:
            pass
    try:
        action(session, folder)
    except ShowrunnerError as error:
        told = error.sentence()
    with Session.open(session.path, write=False, now=t.noon) as disk:
        assert disk.book == session.book, action
    assert told and "the disk is full" in told and session.book == before, (action, told)
    fill.unlink()
    session.do("next", lambda book: edits.mark_shown(book, "5", Known.YES))
    assert session.check() == []
    session.close()
    assert not list(folder.glob(".book*.tmp"))
print("done")
"""


@pytest.mark.slow
@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="only root may make a small disk")
def test_a_disk_that_is_really_full(tmp_path: Path) -> None:
    disk = tmp_path / "disk"
    disk.mkdir()
    made = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=512k", "tmpfs", str(disk)], check=False, capture_output=True
    )
    if made.returncode:
        pytest.skip("no small disk can be made here")
    try:
        done = subprocess.run(
            [sys.executable, "-c", ON_A_FULL_DISK, str(disk), str(Path(__file__).parents[1])],
            check=False,
            capture_output=True,
            text=True,
        )
        assert (done.stdout, done.stderr) == ("done\n", "")
    finally:
        subprocess.run(["umount", str(disk)], check=True)
