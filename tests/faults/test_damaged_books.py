"""Books, undo steps and backups changed at random: never a fault, never a hang, and always a way back that works.

`SHOWRUNNER_LONG=1000 pytest -m long tests/faults/test_damaged_books.py` damages 2,000 of them.
"""

from __future__ import annotations

import copy
import json
import random
import re
import shutil
import signal
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from effort import LONG
from workroom_books import noon, places, small_book

from showrunner import cli
from showrunner.domain import edits
from showrunner.domain.piece import Known
from showrunner.domain.slot import SlotRef
from showrunner.errors import LONGEST
from showrunner.session import Session

HANGS_AFTER = 120.0
"""Processor seconds after which a command is taken never to end; the slowest takes less than a tenth of that."""

BLOCK = 20
SHORT = 16
"""Books of the default run."""
ODD: tuple[Any, ...] = (
    *(None, True, False, 0, -1, 3, 2**53, -(2**63), 10**400, 1.5, 1e308),
    *("", " ", "x" * 5_000, "half \ud800", "zero \0", "‮\x1b[31m", "\n\r\n", "[red]", "7" * 5_000, "-1", "NaN"),
    *("2026-02-30", "0001-01-01", "9999-12-31", "2026-03-22", "24:00", "Europe/Nowhere", "../..", "apron", "sun"),
    *([], {}, [[]], [None], {"id": "x"}, ["1", "1"]),
)


@contextmanager
def no_hang() -> Iterator[None]:
    """Fail instead of going on for ever."""

    def rang(*_: object) -> None:
        pytest.fail("it hangs")

    before = signal.signal(signal.SIGVTALRM, rang)
    signal.setitimer(signal.ITIMER_VIRTUAL, HANGS_AFTER)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0)
        signal.signal(signal.SIGVTALRM, before)


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a book that has undo steps, one of them undone, a log, and three different backups."""
    folder = tmp_path_factory.mktemp("whole")
    path = folder / "book.json"
    with Session.create(path, small_book(), now=noon) as session:
        session.do("doubt", lambda book: edits.mark_shown(book, "6", Known.UNSURE, odds=30))
        session.backup("one")
        session.do("date", lambda book: edits.set_slot(book, "apron", SlotRef(noon().date().replace(day=22), "sun")))
        session.make("promise", lambda book: edits.pin_order(book, "apron", "jacket"))
        session.make("shoot", lambda book: edits.begin_shoot(book, ["waistcoats"], noon()))
        session.backup("two")
        session.make("study", lambda book: edits.make_study(book, ["5"], series="hour"))
        session.undo()
        session.backup("three")
    return folder


def bytes_changed(rng: random.Random, data: bytes) -> bytes:
    """A file as a disk, a program that syncs or a slip of the hand leaves it."""
    a, b = sorted(rng.sample(range(len(data)), 2))
    few = min(b, a + rng.choice((1, 3, 40, 512)))
    return rng.choice(
        (
            data[:a],
            data[a:],
            data[:a] + data[few:],
            data[:a] + rng.randbytes(few - a) + data[few:],
            data[:a] + b"\0" * (few - a) + data[few:],
            data[:b] + data[a:],
            data + data,
            b"\xef\xbb\xbf" + data,
            data.replace(b"\n", b"\r\n"),
            data.decode().encode("utf-16"),
            data[:a] + rng.choice((b"{", b"}", b"[", b'"', b"\\", b",", b"\xff", b"<<<<<<< mine\n")) + data[a:],
            b"",
            re.sub(rb"(?<=:)\d+(?=[,}])", b"9" * 5_000, data, count=1),
        )
    )


def tree_changed(rng: random.Random, data: bytes, table: str = "") -> bytes:
    """A file of which one to three values are others, or gone, or where others should be."""
    tree = json.loads(data)
    for _ in range(rng.choice((1, 1, 1, 2, 3))):
        spots = places(tree.get(table, tree))
        if not spots:
            break
        holder, key = rng.choice(spots)
        other, at = rng.choice(spots)
        if (change := rng.random()) < 0.6:
            holder[key] = copy.deepcopy(rng.choice(ODD))  # type: ignore[index]
        elif change < 0.75:
            del holder[key]  # type: ignore[attr-defined]
        elif change < 0.9:
            holder[key] = copy.deepcopy(other[at]) if not isinstance(at, int) or at < len(other) else 0  # type: ignore
        elif isinstance(holder, dict):
            holder[rng.choice(("", "id", "x\ud800", "0", "01", "-1", "9" * 5_000, str(key).upper()))] = holder[key]
    return json.dumps(tree, ensure_ascii=rng.random() < 0.5).encode("utf-8", "surrogatepass")


def changed(rng: random.Random, data: bytes) -> bytes:
    kind = rng.random()
    if kind < 0.35:
        return bytes_changed(rng, data)
    return tree_changed(rng, data, "journal" if kind < 0.55 else rng.choice(("", "episodes", "pieces", "meta")))


READING = (
    ("check",),
    ("report",),
    ("report", "--json"),
    ("plan",),
    ("work",),
    ("runout", "--json"),
    ("shoot", "apron", "--html"),
    ("check", "--mend"),
    ("restore",),
)
WRITING = (
    ("undo",),
    ("redo",),
    ("plan", "--write"),
    ("calendar", "OUT.ics"),
    ("export", "OUT"),
    ("publish", "apron", "--on", "2026-03-01"),
    ("backup",),
    ("check", "--mend", "--write"),
)


class Trial:
    """One damaged book and what commands make of it."""

    def __init__(self, seed: int, whole: Path, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
        self.rng, self.capsys = random.Random(seed), capsys
        self.folder = folder / str(seed)
        shutil.copytree(whole, self.folder)
        self.path = self.folder / "book.json"
        self.spoilt = self.rng.random() < 0.3
        if self.spoilt:
            for backup in self.rng.sample(self.backups(), self.rng.choice((1, 1, 2))):
                backup.write_bytes(changed(self.rng, backup.read_bytes()))
        self.data = changed(self.rng, self.path.read_bytes())
        self.path.write_bytes(self.data)

    def backups(self) -> list[Path]:
        return sorted((self.folder / "book.json.backups").iterdir())

    def run(self, *arguments: str) -> tuple[int, str, str]:
        words = [str(self.folder / word) if word.startswith("OUT") else word for word in arguments]
        with no_hang():
            code = cli.run(["--book", str(self.path), *words])
        out, err = self.capsys.readouterr()
        assert code in (0, 2, 3), (arguments, code, err)
        assert "Traceback" not in out + err
        assert all(len(line) <= LONGEST for line in err.splitlines()), (arguments, err)
        assert (code == 0) == (not [line for line in err.splitlines() if not line.startswith("! ")]), (arguments, err)
        return code, out, err

    def saves(self) -> None:
        """The book passes the check, and an action on it is saved, undone and there again."""
        assert self.run("check")[0] == 0
        with Session.open(self.path, now=noon) as session:
            house = session.book.house
            session.do("save", lambda book: edits.put_house(book, type(house)(house.zone, lead_days=5)))
            saved = session.book
        with Session.open(self.path, now=noon) as session:
            assert session.book == saved
            session.undo()

    def judge(self) -> str:
        code, _, err = self.run("check")
        for command in self.rng.sample(READING, 3):
            self.run(*command)
        assert self.path.read_bytes() == self.data
        if code == 0:
            for command in self.rng.sample(WRITING, 3):
                self.run(*command)
            return "not noticed"
        if offer := re.search(r" restore (\d+)`", err):
            assert self.run("restore", offer[1])[0] == 0
            aside = [file.read_bytes() for file in self.folder.glob("book.json.damaged-*")]
            assert aside == [self.data]
            if not self.spoilt:
                self.saves()
            return "restored"
        if "check --mend" in err:
            before = len(self.backups())
            left = self.run("check", "--mend", "--write")[0]
            if left == 0:
                self.saves()
            assert self.data in [backup.read_bytes() for backup in self.backups()] or len(self.backups()) == before
            return "mended" if left == 0 else "mended in part"
        for command in self.rng.sample(WRITING, 3):
            self.run(*command)
        return "told"


def campaign(seeds: range, whole: Path, folder: Path, capsys: pytest.CaptureFixture[str]) -> Counter[str]:
    """What came of each damaged book."""
    found: Counter[str] = Counter()
    for seed in seeds:
        try:
            found[Trial(seed, whole, folder, capsys).judge()] += 1
        except Exception as error:
            raise AssertionError(f"seed {seed}") from error
        shutil.rmtree(folder / str(seed))
    return found


@pytest.fixture(autouse=True)
def short_plans(monkeypatch: pytest.MonkeyPatch) -> None:
    """A plan of a book out of all bounds need not be proven here."""
    monkeypatch.setattr(cli, "PLAN_SECONDS", 2.0)


@pytest.mark.slow
def test_damaged_books(whole: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = campaign(range(SHORT), whole, tmp_path, capsys)
    assert found["restored"] > 2
    assert found["mended"] + found["mended in part"] > 0


@pytest.mark.long
@pytest.mark.parametrize("first", range(1_000, 1_000 + max(BLOCK, 2 * LONG), BLOCK))
def test_many_damaged_books(first: int, whole: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = campaign(range(first, first + BLOCK), whole, tmp_path, capsys)
    with capsys.disabled():
        print(f"  {first}: {dict(found)}")  # noqa: T201
