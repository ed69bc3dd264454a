"""The commands: what they print, how they exit, and the one sentence of every error."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from showrunner.cli import run
from showrunner.session import Session
from showrunner.storage.lock import WriterLock

ROOT = Path(__file__).parents[1]


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """A copy of the demo book."""
    path = tmp_path / "book.json"
    shutil.copy(ROOT / "demo" / "book.json", path)
    return path


@pytest.fixture
def said(capsys: pytest.CaptureFixture[str]) -> Any:
    """Runs a command and gives its exit code, what it printed and what it complained."""

    def command(*arguments: str | Path) -> tuple[int, str, str]:
        code = run([str(a) for a in arguments])
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return code, out, err

    return command


def test_the_plan_as_json(said: Any, book: Path) -> None:
    code, out, err = said("--book", book, "plan", "--unsure", "shown", "--json")
    plan = json.loads(out)
    assert (code, err) == (0, "")
    assert plan["status"] == "optimal"
    assert (plan["points"], plan["proven_gap"]) == (14, 0)
    assert [s["slot"] for s in plan["studies"]] == [
        "2026-03-22",
        "2026-05-10",
        "2026-06-28",
        "2026-08-23",
        "2026-10-18",
    ]
    first = plan["studies"][0]
    assert first["hours_needed"] == 31
    assert first["hours_available"] == 34
    assert first["gap_weeks"] == 8
    assert first["moved_from"] is None
    assert first["slot_start"] == "2026-03-21T22:00:00Z"
    assert first["reason"] == "On 15 March 2026, one slot earlier, the work would be 2 h short."
    assert first["one_slot_earlier"] == {
        "slot": "2026-03-15",
        "possible": False,
        "points": None,
        "text": "the work would be 2 h short",
    }
    assert plan["unplaced"] == plan["warnings"] == []
    assert isinstance(plan["solver_seconds"], float)


def test_the_run_out_as_json(said: Any, book: Path) -> None:
    code, out, _ = said("--book", book, "runout", "--slip-rate", "0", "--json")
    found = json.loads(out)
    assert code == 0
    assert (found["pieces_left"], found["studies_left"]) == ([6, 8], [5, 7])
    assert found["end"] == [
        {"date": "2026-10-18", "probability": 0.75},
        {"date": "2026-11-29", "probability": 0.25},
    ]
    assert found["quantiles"] == {"10": "2026-10-18", "50": "2026-10-18", "90": "2026-11-29"}
    assert (found["slip_rate"]["late"], found["slip_rate"]["recorded"]) == (9, 327)
    assert [doubt["piece"] for doubt in found["doubts"]] == ["27", "28"]


def test_what_ifs_stand_beside_the_plan_and_change_nothing(said: Any, book: Path) -> None:
    before = book.read_bytes()
    what_ifs = ["spacing=4,5,8", "unpair=waistcoats", "drop-window=bathing-costume", "add-piece=2", "slip-rate=0.2"]
    arguments = [part for text in what_ifs for part in ("--what-if", text)]
    code, out, _ = said("--book", book, "runout", "--json", *arguments)
    found = json.loads(out)
    assert code == 0
    assert [w["studies_left"] for w in found["what_ifs"]] == [[5, 7], [6, 8], [5, 7], [7, 9], [5, 7]]
    assert book.read_bytes() == before
    code, out, _ = said("--book", book, "runout", *arguments)
    assert "as it is" in out


def test_plan_writes_only_when_asked_and_undo_takes_it_back(said: Any, book: Path) -> None:
    before = book.read_bytes()
    code, out, _ = said("--book", book, "plan", "--unsure", "unshown")
    assert (code, book.read_bytes()) == (0, before)
    assert "moves from 10 May 2026 to 3 May 2026" in out
    assert said("--book", book, "plan", "--unsure", "unshown", "--apply")[0] == 0
    with Session.open(book, write=False) as session:
        assert len(session.book.open_studies) == 7
    assert said("--book", book, "undo")[1] == "Undone: apply the plan.\n"
    with Session.open(book, write=False) as session:
        assert len(session.book.open_studies) == 5
    assert said("--book", book, "redo")[1] == "Done again: apply the plan.\n"


def test_publishing_goes_on_record(said: Any, book: Path) -> None:
    code, out, _ = said("--book", book, "--today", "2026-03-22", "publish", "apron", "--on", "2026-03-22")
    assert (code, out) == (0, "The apple-packer's apron is on record as published on 22 March 2026.\n")
    code, out, _ = said("--book", book, "--today", "2026-03-23", "runout", "--json")
    assert json.loads(out)["pieces_left"] == [5, 7]
    code, _, err = said("--book", book, "publish", "apron", "--on", "2026-03-22")
    assert code == 2
    assert "published already" in err


def test_two_exports_are_the_same_bytes(said: Any, book: Path, tmp_path: Path) -> None:
    out = tmp_path / "series.ics"
    assert said("--book", book, "calendar", out)[0] == 0
    first, kept = out.read_bytes(), book.read_bytes()
    out.unlink()
    assert said("--book", book, "calendar", out)[0] == 0
    assert out.read_bytes() == first
    assert book.read_bytes() == kept


def test_busy_days_come_in_after_a_dry_run(said: Any, book: Path, tmp_path: Path) -> None:
    busy = tmp_path / "busy.ics"
    busy.write_text(
        "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//a//b//EN\r\nBEGIN:VEVENT\r\nUID:1\r\nDTSTAMP:20260101T000000Z\r\n"
        "DTSTART;VALUE=DATE:20260309\r\nDTEND;VALUE=DATE:20260316\r\nSUMMARY:Away\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n"
    )
    before = book.read_bytes()
    code, out, _ = said("--book", book, "calendar", "--busy", busy)
    assert code == 0
    assert "9 March 2026 to 15 March 2026" in out
    assert book.read_bytes() == before
    assert said("--book", book, "calendar", "--busy", busy, "--apply")[0] == 0
    assert "0 new, 0 changed, 0 gone" in said("--book", book, "calendar", "--busy", busy)[1]
    assert "2 h short" not in said("--book", book, "work")[1]  # without a bank the week costs more than 2 h
    assert "short: " in said("--book", book, "work")[1]


def test_strict_turns_warnings_into_an_exit_code(said: Any, book: Path) -> None:
    assert said("--book", book, "plan")[0] == 0
    assert said("--book", book, "plan", "--strict")[0] == 1
    assert said("--book", book, "plan", "--unsure", "shown", "--strict")[0] == 0


def test_contradictions_are_refused_with_both_names(said: Any, book: Path) -> None:
    text = book.read_text()
    pin = '{"id": "%s", "kind": "date", "episodes": ["%s"], "slot": {"day": "2026-04-05", "rule": "sunday"}}'
    data = json.loads(text)
    data["pins"] = {str(n): json.loads(pin % (f"p{n}", s)) for n, s in ((1, "apron"), (2, "waistcoats"))}
    book.write_text(json.dumps(data))
    before = book.read_bytes()
    code, out, err = said("--book", book, "plan", "--apply")
    assert (code, out) == (2, "")
    assert "The apple-packer's apron" in err
    assert "Septimus and Barnaby" in err
    assert book.read_bytes() == before


@pytest.mark.parametrize(
    ("arguments", "code", "sentence"),
    [
        (
            ["--today", "2026-02-30", "report"],
            2,
            "--today: '2026-02-30' is no day of the calendar; write it like 2026-03-22.",
        ),
        (["--book", "/nowhere/book.json", "report"], 2, "there is no book at /nowhere/book.json"),
        (["--nonsense"], 2, "showrunner: no such option '--nonsense'"),
        (["sing"], 2, "no such command 'sing'"),
        (["plan", "--horizon", "0"], 2, "0 is not in the range"),
        (["calendar"], 2, "calendar: name one file; write `calendar OUT.ics` or `calendar --busy IN.ics`."),
        (["runout", "--slip-rate", "1"], 2, "slip rate: a slip rate of 1 is not from 0 to below 1"),
        (["runout", "--series", "nothing"], 2, "the book holds no series 'nothing'"),
        (["runout", "--what-if", "magic=1"], 2, "what-if: 'magic=1' is no what-if"),
        (["runout", "--what-if", "spacing=6,4,9"], 2, "do not rise"),
        (["publish", "nothing", "--on", "2026-03-01"], 2, "the book holds no episode 'nothing'"),
        (["publish", "apron", "--on", "2999-03-01"], 2, "still to come"),
        (["restore", "99"], 2, "99"),
        (["undo"], 2, "undo"),
        (["calendar", "--busy", "/nowhere.ics"], 2, "/nowhere.ics"),
    ],
)
def test_an_error_is_one_sentence(said: Any, book: Path, arguments: list[str], code: int, sentence: str) -> None:
    before = book.read_bytes()
    if "--book" not in arguments:
        arguments = ["--book", str(book), *arguments]
    got, out, err = said(*arguments)
    assert (got, out) == (code, "")
    assert sentence in err
    assert err.count("\n") == 1
    assert book.read_bytes() == before


def damaged(book: Path, how: str) -> None:
    if how == "truncated":
        book.write_bytes(book.read_bytes()[:5000])
    elif how == "newer":
        data = json.loads(book.read_text())
        data["meta"]["1"]["schema"] = 99
        book.write_text(json.dumps(data))
    elif how == "empty":
        book.write_bytes(b"")
    else:
        data = json.loads(book.read_text())
        data["meta"]["1"]["house"]["work_minutes"][1] = 25 * 60
        book.write_text(json.dumps(data))


@pytest.mark.parametrize("how", ["truncated", "newer", "empty", "hours beyond a day"])
@pytest.mark.parametrize("command", [["report"], ["plan", "--apply"], ["undo"]])
def test_a_damaged_or_newer_book_is_left_as_it_is(said: Any, book: Path, how: str, command: list[str]) -> None:
    damaged(book, how)
    before = book.read_bytes()
    code, out, err = said("--book", book, *command)
    assert (code, out) == (3, "")
    assert err.count("\n") == 1
    assert book.read_bytes() == before


def test_a_book_in_use_is_read_but_not_written(said: Any, book: Path) -> None:
    lock = WriterLock(book)
    try:
        assert said("--book", book, "report")[0] == 0
        code, _, err = said("--book", book, "plan", "--unsure", "unshown", "--apply")
        assert code == 3
        assert "another window" in err
    finally:
        lock.release()


def test_a_folder_that_cannot_be_written(said: Any, tmp_path: Path, book: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("no folder")
    code, _, err = said("--book", book, "calendar", blocked / "out.ics")
    assert code == 2
    assert "out.ics" in err
    code, _, err = said("demo", "--keep", blocked / "demo.json")
    assert code == 2


def test_backups_and_restore(said: Any, book: Path) -> None:
    code, out, _ = said("--book", book, "backup")
    assert code == 0
    assert "Backup 1 is " in out
    said("--book", book, "plan", "--unsure", "unshown", "--apply")
    assert "asked for" in said("--book", book, "restore")[1]
    assert said("--book", book, "restore", "1")[0] == 0
    with Session.open(book, write=False) as session:
        assert len(session.book.open_studies) == 5


def test_a_name_with_terminal_codes_prints_none(said: Any, book: Path) -> None:
    with Session.open(book) as session:
        from dataclasses import replace

        from showrunner.domain import edits

        evil = replace(session.book.episode("apron"), title="\x1b[31mred\x07 [/] =1+1")
        session.do("rename", lambda b: edits.put_episode(b, evil))
    for command in (["report"], ["plan"], ["work"], ["runout"]):
        _, out, err = said("--book", book, *command)
        assert "\x1b" not in out + err
        assert "\x07" not in out + err


@pytest.mark.parametrize("command", [[], ["report"], ["plan"], ["work"], ["runout"], ["calendar"], ["publish"]])
def test_help_has_an_example(said: Any, command: list[str]) -> None:
    code, out, _ = said(*command, "--help")
    assert code == 0
    assert "Example: showrunner" in out


def shell(*arguments: str, **kwargs: Any) -> subprocess.CompletedProcess[str]:
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    return subprocess.run(
        [sys.executable, "-m", "showrunner", *arguments], capture_output=True, text=True, env=env, check=False, **kwargs
    )


def test_the_demo_without_a_terminal_prints_its_report() -> None:
    done = shell("demo")
    assert (done.returncode, done.stderr) == (0, "")
    assert "Sun 22 Mar 2026      8 wk    31 of 34 h  The apple-packer's apron" in done.stdout
    assert "Pieces left      6–8" in done.stdout


def test_without_a_terminal_and_a_command_it_says_what_to_do(book: Path) -> None:
    done = shell("--book", str(book))
    assert done.returncode == 2
    assert done.stderr == "showrunner: there is no terminal to open the book in; use a command, such as report.\n"


def test_a_closed_pipe_ends_quietly(book: Path) -> None:
    line = f"{sys.executable} -m showrunner --book {book} work | head -n 1"
    done = subprocess.run(
        ["bash", "-c", line], capture_output=True, text=True, env={**os.environ, "PYTHONPATH": str(ROOT)}, check=False
    )
    assert (done.returncode, done.stderr) == (0, "")
