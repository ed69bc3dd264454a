"""Each command, one row for each way of calling it: what it warns of, leaves as it is, and says that it has done."""

from __future__ import annotations

import errno
import json
import shutil
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from workroom_books import FOUND, small_book

from showrunner import cli
from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.slot import SlotRef
from showrunner.session import Session

pytestmark = pytest.mark.usefixtures("worked_out_once")
DEMO = Path(__file__).parents[1] / "demo"
HELD = f"package waistcoats --captions {DEMO}"
AWAY = "BEGIN:VEVENT\r\nUID:1\r\nDTSTART;VALUE=DATE:20260309\r\nSUMMARY:Away\r\nEND:VEVENT\r\n"
BAD = "BEGIN:VEVENT\r\nUID:2\r\nDTSTART:soon\r\nSUMMARY:Odd\r\nEND:VEVENT\r\n"

LOOKS = {
    "report": True,
    "plan": True,
    "plan --unsure unshown": False,
    "work": False,
    "--today 2026-03-20 work": True,
    "runout": False,
    "runout --what-if hours=2": False,
    "record": True,
    "wants": True,
    "wants --boxes": True,
    "shoot apron": False,
    "shoot apron --html": False,
    "package": True,
    "package apron": True,
    f"{HELD}/waistcoats-two-missed.srt": True,
    "calendar --busy IN/away.ics": False,
    "calendar --busy IN/odd.ics": True,
    "import IN/pieces.csv --collection dress": False,
    "import IN/doubtful.csv --collection dress": True,
    "check": None,
    "check --mend": None,
    "restore": None,
    "words touch": None,
    "completion bash": None,
    "demo": None,
}
"""Ways of only looking, and whether `--strict` speaks of a warning then; None where there is no such option."""

WRITES = {
    "plan --unsure unshown --write": "the dates are written into the book",
    "runout --what-if hours=2 --write": "what was supposed is written into the book",
    "idea Evening --for wednesday": "the idea is in the pool",
    "package feather-boa --corrected": "the corrections are put down as done",
    "package apron --out OUT/pkg": "title.txt, description.txt, thanks.txt and missing.txt are written into OUT/pkg",
    f"{HELD}/waistcoats-all.vtt --take said": "taken into the book: 18 points",
    "calendar OUT/a.ics": "the calendar is written as OUT/a.ics",
    "calendar --busy IN/away.ics --write": "the busy days are written into the book",
    "import IN/pieces.csv --collection dress --write": "pieces.csv is brought into the book",
    "publish apron --on 2026-03-01": "The apple-packer's apron is on record as published",
    "export OUT/out": "the book is exported into OUT/out",
    "backup": "backup 2 is kept",
    "restore 1": "backup 1 is the book now",
    "undo": "undone is: find",
    "redo": "done again is: find",
    "demo --keep OUT/d.json": "the copy is kept as OUT/d.json",
}
"""Ways of writing, each with what it has then done, as it is told where the output cannot be written."""


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """A copy of the demo book in a folder of its own, beside one with files to bring in and one to write into."""
    for name in ("book", "in", "out"):
        (tmp_path / name).mkdir()
    calendar = "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:x\r\n{}END:VCALENDAR\r\n"
    (tmp_path / "in" / "away.ics").write_text(calendar.format(AWAY))
    (tmp_path / "in" / "odd.ics").write_text(calendar.format(AWAY + BAD))
    (tmp_path / "in" / "pieces.csv").write_text("number,name\n99,Muff\n")
    (tmp_path / "in" / "doubtful.csv").write_text("number,name,shown\n99,Muff,maybe\n")
    return Path(shutil.copy(DEMO / "book.json", tmp_path / "book" / "book.json"))


def words_of(line: str, book: Path) -> list[str]:
    """A row of the tables as arguments."""
    places = line.replace("IN/", f"{book.parents[1]}/in/").replace("OUT/", f"{book.parents[1]}/out/")
    return ["--book", str(book), *places.split()]


def command_of(line: str) -> str:
    """The command that a row of the tables is about."""
    return next(word for word in line.split() if word in cli.cli.commands)


def takes(line: str, option: str) -> bool:
    """Whether the command of a row has an option."""
    return any(option in param.opts for param in cli.cli.commands[command_of(line)].params)


def files(folder: Path) -> dict[str, bytes]:
    """Every file below a folder with what it holds."""
    return {str(path): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


def test_every_command_has_a_row() -> None:
    assert {command_of(line) for line in (*LOOKS, *WRITES)} == set(cli.cli.commands) - {"holidays"}  # see test_time_off
    assert {line for line, warns in LOOKS.items() if (warns is None) is takes(line, "--strict")} == set()


@pytest.mark.parametrize("line", LOOKS)
def test_what_only_looks_writes_nothing_and_warns_by_its_exit_code_only_where_asked(
    said: Any, book: Path, line: str
) -> None:
    """`README.md`: 1 done, with warnings, and `--strict` was given. Either way the same is printed."""
    words, before = words_of(line, book), files(book.parents[1])
    code, out, err = said(*words)
    assert (code, err) == (0, "")
    assert out
    if LOOKS[line] is not None:
        assert said(*words, "--strict") == (int(LOOKS[line] or False), out, "")
    if takes(line, "--json") and "--html" not in line and "--boxes" not in line and "--busy" not in line:
        code, out, err = said(*words, "--json", "--strict")
        assert (code, err) == (int(LOOKS[line] or False), "")
        assert isinstance(json.loads(out), dict)
    assert files(book.parents[1]) == before


@pytest.mark.parametrize("line", WRITES)
def test_what_was_done_is_told_where_it_cannot_be_printed(
    said: Any, book: Path, monkeypatch: pytest.MonkeyPatch, line: str
) -> None:
    with Session.open(book) as session:
        session.backup("asked for")
        if line in ("package feather-boa --corrected", "backup", "restore 1", "undo", "redo"):
            session.do("find", lambda book: edits.add_claim(book, "25", FOUND))
        if line == "redo":
            session.undo()
    before = files(book.parents[1])

    def full(_: str) -> None:
        raise OSError(errno.ENOSPC, "")

    monkeypatch.setattr(cli, "_print", full)
    monkeypatch.setattr(cli, "_give_up", lambda stream: None)
    code, out, err = said(*words_of(line, book))
    assert (code, out) == (2, "")
    done = WRITES[line].replace("OUT/", f"{book.parents[1]}/out/")
    assert err.startswith(f"The output could not be written, the disk is full; done all the same: {done}"[:150])
    assert files(book.parents[1]) != before


# Books of which not all is known


def test_a_book_without_series_and_without_shopping_has_a_report_all_the_same(said: Any, tmp_path: Path) -> None:
    path = tmp_path / "new.json"
    with Session.create(path, Book("new", clock=date(2026, 3, 2))):
        pass
    out = said("--book", path, "report")[1]
    assert out.startswith("Mon 2 Mar 2026\n")
    assert "The plan" in out
    assert "What takes over" not in out
    found = json.loads(said("--book", path, "report", "--json", "--strict")[1])
    assert (found["runout"], found["handover"]) == (None, None)
    assert set(found) == {"plan", "work", "runout", "handover"}


def test_a_forecast_that_rests_on_no_record_is_warned_of(said: Any, tmp_path: Path) -> None:
    path = tmp_path / "young.json"
    with Session.create(path, replace(small_book(), publications=())):
        pass
    assert [said("--book", path, *words.split())[0] for words in ("runout", "runout --strict", "report --strict")] == [
        0,
        1,
        1,
    ]


def test_a_pair_that_a_promise_refuses_is_told_with_its_reason(
    said: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cli, "PAIRS_TOLD", 2)
    path = tmp_path / "promised.json"
    with Session.create(path, small_book()) as session:
        slot = SlotRef(date(2026, 5, 3), "sun")
        session.make("promise", lambda book: edits.pin_date(book, "jacket", slot, "said so", today=session.today))
    code, out, _ = said("--book", path, "runout", "--pairs")
    assert code == 0
    found = json.loads(said("--book", path, "runout", "--pairs", "--json")[1])["pairs"]
    assert [(pair["pieces"], pair["studies_left"]) for pair in found] == [(["1", "4"], None), (["1", "5"], [4, 5])]
    assert out.count("a promise stands against it") == 1


def test_the_json_says_how_a_plan_was_asked_for(said: Any, tmp_path: Path) -> None:
    path = tmp_path / "new.json"
    with Session.create(path, Book("new", clock=date(2026, 3, 2))):
        pass
    told = [
        json.loads(said("--book", path, "plan", "--json", "--horizon", "20", *more.split())[1])
        for more in ("", "--replan", "--replan --even")
    ]
    assert [(plan["replan"], plan["even"], plan["horizon_weeks"]) for plan in told] == [
        (False, False, 20),
        (True, False, 20),
        (True, True, 20),
    ]
