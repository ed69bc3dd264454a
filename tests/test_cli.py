"""The commands: what they print, how they exit, and the one sentence of every error."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from showrunner.domain import edits
from showrunner.domain.episode import Episode
from showrunner.errors import ShowrunnerError
from showrunner.session import Session
from showrunner.storage.lock import WriterLock

pytestmark = pytest.mark.usefixtures("worked_out_once")
ROOT = Path(__file__).parents[1]


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """A copy of the demo book."""
    path = tmp_path / "book.json"
    shutil.copy(ROOT / "demo" / "book.json", path)
    return path


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
        "short_hours": 2,
        "text": "the work would be 2 h short",
    }
    assert plan["unplaced"] == plan["warnings"] == []
    assert isinstance(plan["solver_seconds"], float)


@pytest.mark.slow
def test_a_plan_that_stands_already_is_not_said_to_be_written(said: Any, book: Path) -> None:
    first, again = (said("--book", book, "plan", "--unsure", "unshown", "--write")[1] for _ in range(2))
    assert first.endswith("\nWritten into the book; `showrunner undo` takes it back.\n")
    assert again.endswith("\nThe book has these dates already.\n")


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
    for doubt in found["doubts"]:
        assert doubt["if_shown"] == {
            "pieces_left": [6, 7],
            "studies_left": [5, 6],
            "quantiles": {"10": "2026-10-18", "50": "2026-10-18", "90": "2026-10-18"},
        }
        assert (doubt["if_unshown"]["pieces_left"], doubt["if_unshown"]["studies_left"]) == ([7, 8], [6, 7])
    text = " ".join(said("--book", book, "runout")[1].split())
    assert "narrow the range of the end by 3 weeks. Shown: 6–7 left; not shown: 7–8 left." in text


def test_every_chance_of_an_end_is_given_and_none_reads_as_nothing(said: Any, book: Path) -> None:
    found = json.loads(said("--book", book, "runout", "--json")[1])
    chances = [end["probability"] for end in found["end"]]
    assert min(chances) > 0
    assert sum(chances) + found["beyond"] == pytest.approx(1, abs=1e-6)


def asked(*what_ifs: str) -> list[str]:
    """The arguments for what-ifs."""
    return [part for text in what_ifs for part in ("--what-if", text)]


@pytest.mark.slow
def test_what_ifs_stand_beside_the_plan_and_change_nothing(said: Any, book: Path) -> None:
    before = book.read_bytes()
    arguments = asked(
        "spacing=4,5,8", "unpair=waistcoats", "drop-window=bathing-costume", "add-piece=2", "slip-rate=0.2"
    )
    code, out, _ = said("--book", book, "runout", "--json", *arguments)
    found = json.loads(out)
    assert code == 0
    assert [w["studies_left"] for w in found["what_ifs"]] == [[5, 7], [6, 8], [5, 7], [7, 9], [5, 7]]
    assert (found["together"]["studies_left"], found["together"]["pieces_left"]) == ([8, 10], [8, 10])
    assert book.read_bytes() == before
    code, out, _ = said("--book", book, "runout", *arguments)
    assert "as it is" in out
    assert "1, 2, 3, 4 and 5 together" in out
    assert "Nothing is changed; slip rates, pieces, doubts, refusals can only be looked at." in out


@pytest.mark.slow
def test_what_ifs_together_are_written_as_one_step(said: Any, book: Path) -> None:
    arguments = asked("spacing=4,4,8", "drop-window=bathing-costume")
    dry = json.loads(said("--book", book, "runout", "--json", *arguments)[1])
    assert dry["written"] is False
    both, anew = dry["together"], dry["planned_anew"]
    assert both["what_if"].startswith("gaps of 4 to 8 weeks, wished 4 and no window for “Ready for the sea")
    assert both["plan"]["offer"] == {"moves": 4, "more": 0, "points": 16}
    assert (both["quantiles"]["50"], anew["quantiles"]["50"]) == ("2026-09-06", "2026-08-09")
    assert dry["dates"] == both["dates"] == "accepted"
    shown = said("--book", book, "runout", *arguments)[1]
    offer = "more even dates would move 4 studies (unevenness 16 instead of 66); see `showrunner plan`."
    assert f"Once adopted: {offer}" in " ".join(shown.split())
    assert "Nothing is changed; --write adopts them together, in one step." in shown

    written = said("--book", book, "runout", "--write", *arguments)[1]
    assert f"Now: {offer}" in " ".join(written.split())
    assert "Written into the book; `showrunner undo` takes it back." in written
    now = json.loads(said("--book", book, "runout", "--json")[1])
    assert now == {key: value for key, value in both.items() if key in now}
    assert offer[0].upper() + offer[1:].replace("; see", ": see") in " ".join(said("--book", book, "report")[1].split())
    assert said("--book", book, "undo")[1].startswith("Undone: adopt gaps of 4 to 8 weeks, wished 4 and no window for")
    with Session.open(book, write=False) as session:
        assert session.book.series[0].target_weeks == 6
        assert session.book.episode("bathing-costume").windows
    assert said("--book", book, "undo")[0] == 2


def test_what_ifs_that_are_no_more_than_that_are_not_written(said: Any, book: Path) -> None:
    before = book.read_bytes()
    code, out, err = said("--book", book, "runout", "--write", *asked("spacing=4,5,8", "slip-rate=0.2"))
    assert (code, out) == (2, "")
    assert err == (
        "a slip rate of 20%: it can only be looked at, for the record, the pieces, the doubts and the wants are what "
        "they are; leave it out to adopt the rest.\n"
    )
    assert said("--book", book, "runout", "--write")[2] == (
        "runout: --write adopts what-ifs, and there is none; add one with --what-if.\n"
    )
    assert book.read_bytes() == before


def test_plan_writes_only_when_asked_and_undo_takes_it_back(said: Any, book: Path) -> None:
    before = book.read_bytes()
    code, out, _ = said("--book", book, "plan", "--unsure", "unshown")
    assert (code, book.read_bytes()) == (0, before)
    assert "moves from 10 May 2026 to 3 May 2026" in out
    assert said("--book", book, "plan", "--unsure", "unshown", "--write")[0] == 0
    with Session.open(book, write=False) as session:
        assert len(session.book.open_studies) == 7
    assert said("--book", book, "undo")[1] == "Undone: accept the plan.\n"
    with Session.open(book, write=False) as session:
        assert len(session.book.open_studies) == 5
    assert said("--book", book, "redo")[1] == "Done again: accept the plan.\n"


def test_publishing_goes_on_record(said: Any, book: Path) -> None:
    code, out, _ = said("--book", book, "--today", "2026-03-22", "publish", "apron", "--on", "2026-03-22")
    assert (code, out) == (0, "The apple-packer's apron is on record as published on 22 March 2026.\n")
    code, out, _ = said("--book", book, "--today", "2026-03-23", "runout", "--json")
    assert json.loads(out)["pieces_left"] == [5, 7]
    code, _, err = said("--book", book, "publish", "apron", "--on", "2026-03-22")
    assert code == 2
    assert "published already" in err


def test_a_plan_counts_the_studies_that_lose_their_date(said: Any, book: Path) -> None:
    code, out, _ = said("--book", book, "plan", "--horizon", "12")
    assert code == 0
    assert "The skating jacket, sleeves exchanged: loses 28 June 2026;" in out
    assert "Ready for the sea: a bathing costume: loses 18 October 2026;" in out
    before = {study.id: study.slot for study in slots_of(book)}
    said("--book", book, "plan", "--horizon", "12", "--write")
    changed = sum(before[study.id] != study.slot for study in slots_of(book))
    assert changed == 4
    assert f"\n{changed} studies would change." in out


def slots_of(book: Path) -> list[Episode]:
    with Session.open(book, write=False) as session:
        return list(session.book.open_studies)


@pytest.mark.slow
def test_the_report_says_when_its_dates_are_not_those_of_the_book(said: Any, book: Path) -> None:
    assert "Not in the book yet" not in said("--book", book, "report")[1]
    late = ("--book", book, "--today", "2026-03-30")
    assert "Not in the book yet for 1 study: see `showrunner plan`." in said(*late, "report")[1]
    said(*late, "plan", "--write")
    assert "Not in the book yet" not in said(*late, "report")[1]


@pytest.mark.parametrize(
    "command",
    [
        ["report"],
        ["plan", "--unsure", "unshown"],
        ["plan", "--horizon", "12"],
        ["work"],
        ["runout", *asked("unpair=waistcoats", "spacing=8,9,10", "add-piece=2")],
    ],
)
def test_text_fits_80_columns(said: Any, book: Path, command: list[str]) -> None:
    out = said("--book", book, *command)[1]
    assert max(len(line) for line in out.splitlines()) <= 80


def test_two_exports_are_the_same_bytes(said: Any, book: Path, tmp_path: Path) -> None:
    out = tmp_path / "series.ics"
    assert said("--book", book, "calendar", out)[0] == 0
    first, kept = out.read_bytes(), book.read_bytes()
    out.unlink()
    assert said("--book", book, "calendar", out)[0] == 0
    assert out.read_bytes() == first
    assert book.read_bytes() == kept


BUSY = (
    "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//a//b//EN\r\nBEGIN:VEVENT\r\nUID:1\r\nDTSTAMP:20260101T000000Z\r\n"
    "DTSTART;VALUE=DATE:20260309\r\nDTEND;VALUE=DATE:20260316\r\nSUMMARY:Away\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n"
)


def test_busy_days_come_in_after_a_dry_run(said: Any, book: Path, tmp_path: Path) -> None:
    busy = tmp_path / "busy.ics"
    busy.write_text(BUSY)
    before = book.read_bytes()
    code, out, _ = said("--book", book, "calendar", "--busy", busy)
    assert code == 0
    assert "9 to 15 March 2026: no work, Away" in out
    assert "1 new, 0 changed, 0 gone; nothing written, --write writes it." in out
    assert book.read_bytes() == before
    assert (
        "1 new, 0 changed, 0 gone; written into the book."
        in said("--book", book, "calendar", "--busy", busy, "--write")[1]
    )
    assert "0 new, 0 changed, 0 gone" in said("--book", book, "calendar", "--busy", busy)[1]
    assert "2 h short" not in said("--book", book, "work")[1]  # without a bank the week costs more than 2 h
    assert "short: " in said("--book", book, "work")[1]


def test_contradictions_are_refused_with_both_names(said: Any, book: Path) -> None:
    text = book.read_text()
    pin = '{"id": "%s", "kind": "date", "episodes": ["%s"], "slot": {"day": "2026-04-05", "rule": "sunday"}}'
    data = json.loads(text)
    data["pins"] = {str(n): json.loads(pin % (f"p{n}", s)) for n, s in ((1, "apron"), (2, "waistcoats"))}
    book.write_text(json.dumps(data))
    before = book.read_bytes()
    code, out, err = said("--book", book, "plan", "--write")
    assert code == 2
    assert "this plan keeps 1 of 2 promises" in out
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
        (
            ["--today", "9999-12-31", "report"],
            2,
            "--today: 9999-12-31 is too far away; choose a year from 1900 to 2999.",
        ),
        (
            ["--today", "0001-01-01", "report"],
            2,
            "--today: 0001-01-01 is too far away; choose a year from 1900 to 2999.",
        ),
        (
            ["publish", "apron", "--on", "2026-02-30"],
            2,
            "--on: '2026-02-30' is no day of the calendar; write it like 2026-03-22.",
        ),
        (["--book", "/proc/nowhere/book.json", "report"], 2, "there is no book at /proc/nowhere/book.json"),
        (["--nonsense"], 2, "showrunner: no such option '--nonsense'"),
        (["sing"], 2, "no such command 'sing'"),
        (["plan", "--horizon", "0"], 2, "--horizon: 0 is not from 1 to 520; choose one between."),
        (
            ["calendar"],
            2,
            "calendar: name one place; write `calendar OUT.ics`, or one of --folder DIR, --push URL and --busy IN.ics.",
        ),
        (["runout", "--slip-rate", "1"], 2, "slip rate: a slip rate of 1 is not from 0 to below 1"),
        (["runout", "--series", "nothing"], 2, "there is no series 'nothing'"),
        (
            ["runout", "--what-if", "magic=1"],
            2,
            "what-if: 'magic=1' is no what-if; write one like spacing=4,5,8; showrunner runout --help lists them all.",
        ),
        (
            ["runout", "--what-if", "add-piece=many"],
            2,
            "what-if: 'many' is not a whole number; write it like 4.",
        ),
        (
            ["runout", "--what-if", "spacing=4,6"],
            2,
            "what-if: '4,6' is not 3 whole numbers; write it like 4,5,8.",
        ),
        (
            ["runout", "--what-if", "add-piece=500"],
            2,
            "add-piece: 500 pieces cannot be added; write a number from 1 to 50.",
        ),
        (["runout", "--what-if", "add-piece=0"], 2, "add-piece: 0 pieces cannot be added"),
        (["runout", "--what-if", "drop-window=waistcoats"], 2, "it has no window to drop"),
        (["runout", "--what-if", "spacing=6,4,9"], 2, "do not rise"),
        (["runout", "--what-if", "slip-rate=1"], 2, "slip rate: a slip rate of 1 is not from 0 to below 1"),
        (["runout", "--what-if", "unpair=nothing"], 2, "there is no study 'nothing'"),
        (
            ["runout", *asked("spacing=4,5,8", "spacing=5,6,9")],
            2,
            "what-if: gaps of 4 to 8 weeks, wished 5, and gaps of 5 to 9 weeks, wished 6: these cannot both be; "
            "leave one of them out.",
        ),
        (
            ["runout", *asked("drop-window=apron", "drop-window=apron")],
            2,
            "what-if: no window for “The apple-packer's apron”: this is supposed twice; leave one of them out.",
        ),
        (["publish", "nothing", "--on", "2026-03-01"], 2, "there is no episode 'nothing'"),
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


@pytest.mark.slow
@pytest.mark.parametrize(
    ("command", "there"),
    [
        (["plan", "--unsure", "unshown"], True),
        (["runout", "--what-if", "hours=1"], True),
        (["check", "--mend"], True),
        (["calendar", "--busy", "BUSY"], True),
        (["import", "SHEET", "--as", "pieces", "--collection", "dress"], True),
        (["report"], False),
        (["publish", "apron", "--on", "2026-03-01"], False),
    ],
)
def test_the_older_word_for_write_does_the_same_unlisted(
    said: Any, book: Path, tmp_path: Path, command: list[str], there: bool
) -> None:
    sheet, busy = tmp_path / "sheet.csv", tmp_path / "busy.ics"
    sheet.write_text("No,Name\n99,Spencer\n", encoding="utf-8")
    busy.write_text(BUSY, encoding="utf-8")
    files = {"SHEET": str(sheet), "BUSY": str(busy)}
    asked = [files.get(word, word) for word in command]
    assert "apply" not in said(command[0], "--help")[1]
    before = book.read_bytes()
    if not there:
        assert said("--book", book, *asked, "--apply")[0] == 2
        assert book.read_bytes() == before
        return
    looked = said("--book", book, *asked)
    assert (looked[0], book.read_bytes()) == (0, before)
    assert said("--book", book, *asked, "--apply")[0] == 0
    after = book.read_bytes()
    assert after != before or command[0] == "check"
    book.write_bytes(before)
    told = said("--book", book, *asked, "--write")
    assert told[0] == 0
    assert "apply" not in told[1].casefold()
    assert said("--book", book, "check")[0] == 0


def test_the_older_word_is_a_name_after_two_dashes(said: Any, book: Path) -> None:
    assert said("--book", book, "import", "--", "--apply")[2].startswith("--apply: there is no such file")


@pytest.mark.parametrize("how", ["truncated", "newer", "empty", "hours beyond a day"])
@pytest.mark.parametrize("command", [["report"], ["plan", "--write"], ["undo"]])
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
        code, _, err = said("--book", book, "plan", "--unsure", "unshown", "--write")
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
    assert str(blocked) in err
    assert err.count("\n") == 1
    code, _, err = said("--book", blocked / "book.json", "backup")
    assert (code, err) == (2, f"there is no book at {blocked}/book.json; check the path, or start a new book there.\n")


def test_backups_and_restore(said: Any, book: Path) -> None:
    code, out, _ = said("--book", book, "backup")
    assert code == 0
    assert "Backup 1 is " in out
    said("--book", book, "plan", "--unsure", "unshown", "--write")
    assert "asked for" in said("--book", book, "restore")[1]
    assert said("--book", book, "restore", "1")[0] == 0
    with Session.open(book, write=False) as session:
        assert len(session.book.open_studies) == 5


@pytest.mark.slow
def test_a_name_with_terminal_codes_prints_none(said: Any, book: Path) -> None:
    with Session.open(book) as session:
        evil = replace(session.book.episode("apron"), title="\x1b[31mred\x07 [/] =1+1")
        session.do("rename", lambda b: edits.put_episode(b, evil))
    for command in (["report"], ["plan"], ["work"], ["runout"]):
        _, out, err = said("--book", book, *command)
        assert "\x1b" not in out + err
        assert "\x07" not in out + err


def test_json_carries_no_terminal_codes_and_keeps_every_letter(said: Any, book: Path) -> None:
    title = "Crêpe \x9b31m \u202e \U0001f457 \U000e0001"
    with Session.open(book) as session:
        evil = replace(session.book.episode("apron"), title=title)
        session.do("rename", lambda b: edits.put_episode(b, evil))
    _, out, _ = said("--book", book, "plan", "--json")
    assert json.loads(out)["studies"][0]["title"] == title
    assert all(c.isprintable() or c == "\n" for c in out)


def test_check_names_the_faults_of_a_book(said: Any, book: Path) -> None:
    data = json.loads(book.read_text())
    next(e for e in data["episodes"].values() if e["id"] == "apron")["pieces"] = ["nope"]
    book.write_text(json.dumps(data))
    code, out, err = said("--book", book, "check")
    assert code == 3
    assert "the book holds no piece 'nope'" in out
    assert err == f"{book}: the book has 1 fault; put right what is named, or restore a backup.\n"


@pytest.mark.parametrize("command", [[], ["report"], ["plan"], ["work"], ["runout"], ["calendar"], ["publish"]])
def test_help_has_an_example(said: Any, command: list[str]) -> None:
    code, out, _ = said(*command, "--help")
    assert code == 0
    assert "Example: showrunner" in out


def shell(*arguments: str, **kwargs: Any) -> subprocess.CompletedProcess[str]:
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    env.update(kwargs.pop("env", {}))
    return subprocess.run(
        [sys.executable, "-m", "showrunner", *arguments], capture_output=True, text=True, env=env, check=False, **kwargs
    )


@pytest.mark.slow
def test_a_terminal_without_every_letter_still_gets_the_report(book: Path) -> None:
    env = {"PYTHONIOENCODING": "latin-1"}
    done = shell("--book", str(book), "report", env=env, encoding="latin-1")
    assert (done.returncode, done.stderr) == (0, "")
    assert "Pieces left      6?8" in done.stdout
    done = shell("--book", str(book), "plan", "--json", env=env, encoding="latin-1")
    assert json.loads(done.stdout)["points"] == 14


def test_the_demo_without_a_terminal_prints_its_report() -> None:
    done = shell("demo")
    assert (done.returncode, done.stderr) == (0, "")
    assert "Sun 22 Mar 2026       8 wk    31 of 34 h  The apple-packer's apron" in done.stdout
    assert "Pieces left      6–8" in done.stdout


def test_without_a_terminal_and_a_command_it_says_what_to_do(book: Path) -> None:
    done = shell("--book", str(book))
    assert done.returncode == 2
    assert done.stderr == "showrunner: there is no terminal to open the book in; use a command, such as report.\n"


def into_a_closed_pipe(*arguments: str | Path) -> tuple[int, str]:
    """Runs a command whose output nobody reads; its own exit code and what it complained."""
    read, write = os.pipe()
    os.close(read)
    try:
        done = subprocess.run(
            [sys.executable, "-m", "showrunner", *map(str, arguments)],
            stdout=write,
            stderr=subprocess.PIPE,
            text=True,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            check=False,
        )
    finally:
        os.close(write)
    return done.returncode, done.stderr


def test_a_closed_pipe_ends_quietly(book: Path) -> None:
    assert into_a_closed_pipe("--book", book, "work") == (0, "")


def test_a_closed_pipe_does_not_stop_what_was_to_be_written(book: Path) -> None:
    why = "The output could not be written, nothing reads it any more"
    told = f"{why}; done all the same: the dates are written into the book.\n"
    assert into_a_closed_pipe("--book", book, "plan", "--unsure", "unshown", "--write") == (0, told)
    assert len(slots_of(book)) == 7


@pytest.mark.slow
def test_a_look_back_is_a_table_and_json(said: Any, book: Path) -> None:
    before = book.read_bytes()
    code, out, _ = said("--book", book, "runout", "--backtest")
    assert code == 0
    assert "Apr 23  1 Oct to 8 Oct 23   held  15 Oct to 22 Oct 23 not   1 Oct 23" in out
    found = json.loads(said("--book", book, "runout", "--backtest", "--json")[1])
    assert found["studies_ahead"] == 6
    assert found["text"] in " ".join(out.split())
    dates, spacing = found["backtests"]
    assert (dates["basis"], spacing["basis"]) == ("dates", "spacing")
    for one in (dates, spacing):
        assert one["months"] == len(one["looks"]) == 28
        assert one["held"] == sum(look["held"] for look in one["looks"])
        assert one["crps"] == pytest.approx(sum(look["crps"] for look in one["looks"]) / 28, abs=1e-3)
    assert (dates["held"], spacing["held"]) == (28, 8)
    assert dates["looks"][0]["quantiles"]["10"] == dates["looks"][0]["came"] == "2023-10-01"
    assert book.read_bytes() == before


@pytest.mark.slow
def test_pairs_are_told_and_json(said: Any, book: Path) -> None:
    before = book.read_bytes()
    out = said("--book", book, "runout", "--pairs")[1]
    assert out.startswith("Skating jacket and Bathing costume\n  Alike: dates that overlap")
    found = json.loads(said("--book", book, "runout", "--pairs", "--json")[1])
    first = found["pairs"][0]
    assert first["what_if"] == "pair=skating-jacket+bathing-costume"
    assert {one["aspect"] for one in first["alike"]} == {"dates", "material"}
    assert first["studies_left"] == [4, 6]
    measure = next(one for one in first["differs"] if one["aspect"] == "measure")
    assert (measure["measure"], measure["apart"], measure["unit"]) == ("chest", 5.08, "cm")
    tried = json.loads(said("--book", book, "runout", "--json", "--what-if", first["what_if"])[1])
    assert tried["together"]["studies_left"] == first["studies_left"]
    assert len(found["pairs"]) == 10
    assert book.read_bytes() == before


@pytest.mark.parametrize(
    "arguments", [["--backtest", "--slip-rate", "0.1"], ["--backtest", "--pairs"], ["--pairs", *asked("hours=2")]]
)
def test_views_that_exclude_each_other_are_refused(said: Any, book: Path, arguments: list[str]) -> None:
    code, out, err = said("--book", book, "runout", *arguments)
    assert (code, out) == (2, "")
    assert err.startswith(f"runout: {arguments[0]} ")
    assert "leave --what-if" in err


def test_the_sentence_for_viewers_says_when_it_goes_stale(said: Any, book: Path) -> None:
    assert "Goes stale on 22 March 2026; say it anew from then on." in said("--book", book, "runout")[1]
    assert json.loads(said("--book", book, "runout", "--json")[1])["statement_stale"] == "2026-03-22"


@pytest.mark.slow
def test_the_series_is_made_to_last_and_written_in_one_step(said: Any, book: Path) -> None:
    found = json.loads(said("--book", book, "runout", "--json", "--write", *asked("last-until=2027-03"))[1])
    assert found["written"]
    assert found["together"]["spacing"] == {"min_weeks": 4, "target_weeks": 10, "max_weeks": 10}
    now = json.loads(said("--book", book, "runout", "--json")[1])
    assert now["quantiles"]["50"] == found["together"]["quantiles"]["50"] == "2027-03-21"
    assert said("--book", book, "undo")[1].startswith("Undone: adopt a last study no sooner than March 2027")
    assert said("--book", book, "undo")[0] == 2


def test_a_demonstration_in_a_zone_that_is_unknown_publishes_nothing_and_says_so(said: Any, book: Path) -> None:
    book.write_text(book.read_text().replace('"zone":"Australia/Hobart"', '"zone":"24:00"'))
    before = book.read_bytes()
    code, out, err = said("--book", book, "publish", "apron", "--on", "2026-03-01")
    assert (code, out) == (2, "")
    assert "'24:00' is not a time zone" in err
    assert book.read_bytes() == before


@pytest.mark.slow
def test_planning_anew_sets_the_ways_side_by_side_and_no_other_plan_does(said: Any, book: Path) -> None:
    row = "fewest moves within the gaps     0     0         14          0  suggested"
    assert row in said("--book", book, "plan", "--replan")[1]
    assert row not in said("--book", book, "plan")[1]
    with Session.open(book) as session:  # a date that was promised has passed: that is told instead
        slot = session.book.episode("apron").slot
        assert slot
        session.make("promise", lambda book: edits.pin_date(book, "apron", slot, "said so", today=session.today))
    code, out, err = said("--book", book, "--today", "2026-05-04", "plan", "--replan")
    assert (code, "suggested" in out) == (2, False)
    assert err


@pytest.mark.parametrize(
    ("command", "sentence"),
    [
        (("shoot", "apron", "--hours", "0"), "0 hours are not between 0 and the 24 of a day"),
        (("calendar", "--busy", "IN.ics", "--replace"), "--replace is about what is written"),
    ],
)
def test_what_cannot_be_meant_is_refused(said: Any, book: Path, command: tuple[str, ...], sentence: str) -> None:
    code, out, err = said("--book", book, *command)
    assert (code, out) == (2, "")
    assert sentence in err


def test_the_calendar_of_this_book_is_replaced_and_that_of_another_only_if_asked(said: Any, book: Path) -> None:
    other = book.with_name("other.json")
    data = json.loads(book.read_text())
    key = data["meta"]["1"]["key"]
    other.write_text(book.read_text().replace(key, "11111111-2222-4333-8444-555555555555"))
    out = book.with_name("out.ics")
    assert said("--book", book, "calendar", out, "--replace")[0] == 0
    written = out.read_bytes()
    assert said("--book", other, "calendar", out)[0] == 2
    with Session.open(other) as session, pytest.raises(ShowrunnerError):
        session.write_calendar(out)
    assert out.read_bytes() == written
    assert said("--book", other, "calendar", out, "--replace")[0] == 0
    assert out.read_bytes() != written


def test_the_report_as_json_holds_what_the_others_print(said: Any, book: Path) -> None:
    found = json.loads(said("--book", book, "report", "--json")[1])
    assert set(found) == {"plan", "work", "runout", "handover"}
    for name in ("work", "runout"):
        assert found[name] == json.loads(said("--book", book, name, "--json")[1])
    assert said("--book", book, "shoot", "waistcoats", "--hours", "24")[0] == 0
