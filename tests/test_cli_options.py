"""What the options of commands take and refuse, the exit codes, and the net under every command."""

from __future__ import annotations

import errno
import json
import os
import shutil
import sys
from datetime import date
from pathlib import Path
from typing import Any

import click
import pytest

from showrunner import cli
from showrunner.domain.book import Book
from showrunner.domain.slot import DarkRange
from showrunner.errors import LONGEST, BadInput, BookDamaged, BookInUse
from showrunner.session import Session

pytestmark = pytest.mark.usefixtures("worked_out_once")
ROOT = Path(__file__).parents[1]


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """A copy of the demo book."""
    return Path(shutil.copy(ROOT / "demo" / "book.json", tmp_path / "book.json"))


def refused(call: Any) -> str:
    with pytest.raises(BadInput) as error:
        call()
    return error.value.sentence()


# What an option takes


OPTION = click.Option(["--lux"])


def test_whole_numbers() -> None:
    kind = cli.Whole(1, 520)
    assert [kind.convert(text, OPTION, None) for text in ("1", " 520 ", "+7", 33)] == [1, 520, 7, 33]
    assert refused(lambda: kind.convert("0", OPTION, None)) == "--lux: 0 is not from 1 to 520; choose one between."
    assert refused(lambda: kind.convert("521", OPTION, None)) == "--lux: 521 is not from 1 to 520; choose one between."
    for text in ("1.5", "", "one", "\u0661", "1" * 13, "--1"):
        assert "is no whole number; write it in figures." in refused(lambda text=text: kind.convert(text, OPTION, None))
    assert refused(lambda: cli.Whole().convert("-1", None, None)).startswith(
        "number: -1 is not from 0 to 1,000,000,000"
    )
    assert cli.Whole().convert("1000000000", None, None) == 10**9
    assert cli.Whole(0, 10**12).convert("1" * 12, None, None) == int("1" * 12)


def test_numbers_with_a_part() -> None:
    kind = cli.Share()
    for text, value in (("2", 2.0), ("2.5", 2.5), (" 2,5", 2.5), (".5", 0.5), ("-3.", -3.0), ("+1", 1.0), (0.25, 0.25)):
        assert kind.convert(text, OPTION, None) == value
    for text in ("", ".", "two", "1e5", "inf", "nan", "1" * 13, "1.2.3"):
        told = refused(lambda text=text: kind.convert(text, OPTION, None))
        assert told == f"--lux: '{text}' is no number; write it like 2 or 2.5."
    assert refused(lambda: kind.convert("x", None, None)).startswith("number: ")


def test_days() -> None:
    day = cli.DAY.convert("2026-03-22", OPTION, None)
    assert cli.DAY.convert(day, OPTION, None) == day
    assert refused(lambda: cli.DAY.convert("22 March", None, None)).startswith("date: '22 March' is no day")
    for text in ("1899-12-31", "3000-01-01"):
        assert "is too far away; choose a year from 1900 to 2999." in refused(
            lambda text=text: cli.DAY.convert(text, OPTION, None)
        )
    assert [cli.DAY.convert(text, None, None).year for text in ("1900-01-01", "2999-12-31")] == [1900, 2999]


def test_names_of_files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert cli.PATH.convert("a b/c", OPTION, None) == Path("a b/c")
    for text in ("a\0b", "half \ud800"):
        assert "this is no name of a file; name a file." in refused(
            lambda text=text: cli.PATH.convert(text, None, None)
        )
    monkeypatch.setattr(os, "access", lambda *_, **__: False)  # as of a file that only somebody else may read
    assert cli.FilePath().convert(str(tmp_path), OPTION, None) == tmp_path
    ctx = click.Context(cli.export)
    offered = [(kind, cli.FilePath(folder=kind == "dir").shell_complete(ctx, OPTION, "a")) for kind in ("file", "dir")]
    assert [(kind, [(item.value, item.type) for item in items]) for kind, items in offered] == [
        ("file", [("a", "file")]),
        ("dir", [("a", "dir")]),
    ]
    assert cli.FilePath().shell_complete(ctx, OPTION, "")[0].type == "file"


def test_of_what_was_typed_forty_characters_are_told() -> None:
    for length, told in ((40, "x" * 40), (41, f"{'x' * 39}…")):
        assert refused(lambda length=length: cli.Share().convert("x" * length, OPTION, None)) == (
            f"--lux: '{told}' is no number; write it like 2 or 2.5."
        )


def test_what_is_told_of_a_column_or_a_line() -> None:
    assert cli._parted(" Lives in = box ", "--map", "COLUMN=FIELD") == ("Lives in", "box")
    assert cli._parted("a=b=", "--map", "COLUMN=FIELD") == ("a=b", "")
    for text in ("box", "=box", " = "):
        told = refused(lambda text=text: cli._parted(text, "--map", "COLUMN=FIELD"))
        assert told == f"--map: '{text}' has no '='; write it as COLUMN=FIELD."
    assert cli._settled("20=07, tea gown") == (20, "07, tea gown")
    assert cli._settled(" 21 = NONE ") == (21, "")
    assert refused(lambda: cli._settled("20")).startswith("--match: '20' has no '='; write it as 20=07")
    for text in ("x", "-1", "", "\u0663", "1" * 10):
        told = refused(lambda text=text: cli._place(text, "--skip", "3"))
        assert told == f"--skip: '{text}' is no line of the file; write it as 3."
    assert cli._place("1" * 9, "--skip", "3") == int("1" * 9)
    assert cli._once([("a", 1), ("b", 2), ("a", 1)], "--map", "column") == {"a": 1, "b": 2}
    told = refused(lambda: cli._once([("a", 1), ("a", 2)], "--map", "column"))
    assert told == "--map: the column 'a' is explained twice; say it once."


# What options exclude


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("plan --even", "plan: --even is a way of planning again; use it with --replan."),
        ("runout --write", "runout: --write adopts what-ifs, and there is none; add one with --what-if."),
        ("runout --pairs --slip-rate 0", "runout: --pairs tries pairs on the present plan; leave --what-if and"),
        ("runout --backtest --slip-rate 0", "runout: --backtest looks back, and nothing can be supposed of the past"),
        ("wants --boxes --json", "wants: the JSON holds the boxes already; leave --boxes out."),
        ("wants --boxes --silence 0", "wants: the room in the boxes is told for all collections, and rests on no"),
        (
            "wants --boxes --collection crown",
            "wants: the room in the boxes is told for all collections, and rests on no silence; "
            "leave --collection and --silence out, or --boxes.",
        ),
        ("shoot apron --log --lux 50", "shoot: what became of a shoot holds its light and hours already; leave --lux"),
        ("shoot apron --log --hours 1", "shoot: what became of a shoot holds its light and hours already; leave --lux"),
        ("pubLish", "showrunner: no such command 'pubLish'. Did you mean 'publish'? See `showrunner --help`."),
        ("report --foo", "showrunner report: no such option '--foo'; see `showrunner report --help`."),
        ("shoot apron --paper a4", "--paper: paper is asked for without a page; give --html too."),
        ("shoot apron --html --json", "shoot: two ways of printing are asked for; choose --html or --json."),
        (
            "shoot apron --hours 24.5",
            "--hours: 24.5 hours are not between 0 and the 24 of a day; give some in between.",
        ),
        ("shoot apron --hours -1", "--hours: -1 hours are not between 0"),
        (
            "shoot apron --log --json",
            "shoot: what became of a shoot is text or a page; leave --json out, or give --html",
        ),
        ("package apron --captions x --corrected", "package: captions are held against the film by themselves; leave"),
        (
            "package apron --captions x --out y",
            "package: captions are held against the film by themselves; leave --out",
        ),
        ("shoot apron --log", "apron: it was never filmed; leave --log out to print its set-up sheet."),
        ("package --corrected", "package: no study is named; name one: showrunner package STUDY."),
        ("package --take said", "package: no study is named; name one: showrunner package STUDY."),
        ("package --out x", "package: no study is named; name one: showrunner package STUDY."),
        ("package --captions x", "package: no study is named; name one: showrunner package STUDY."),
        ("package apron --take said", "--take: there is nothing to take from; name the captions with --captions FILE."),
        ("calendar a.ics --busy b.ics", "calendar: name one place; write `calendar OUT.ics`"),
        ("calendar a.ics --folder b --push c", "calendar: name one place"),
        ("calendar a.ics --user me", "calendar: --user is about a server; leave it out without --push."),
        ("calendar a.ics --json", "calendar: --json tells what is put entry by entry; use it with --push or --folder."),
        ("holidays IE --write", "holidays: --write writes the days that are taken, and there is none; add --take"),
        ("check --write", "check: --write writes what is mended; use it with --mend."),
        ("words zzzz", "words: no word here holds 'zzzz'; leave it out to see all."),
    ],
)
def test_what_does_not_go_together_is_refused(said: Any, book: Path, words: str, told: str) -> None:
    before = book.read_bytes()
    code, out, err = said("--book", book, *words.split())
    assert (code, out, err.count("\n")) == (2, "", 1)
    assert err.startswith(told)
    assert book.read_bytes() == before
    assert [p.name for p in book.parent.iterdir()] == ["book.json"]


# Exit codes


def test_each_part_of_a_report_warns(said: Any, book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from dataclasses import replace

    from showrunner.planning.results import Warning as Told

    named = {"standing": (), "work": (), "runout": ()}

    asked_for_prices: list[bool] = []

    def with_warnings(name: str) -> Any:
        method = getattr(Session, name)

        def found(self: Session, **asked: Any) -> Any:
            asked_for_prices.extend([asked["priced"]] if "priced" in asked else [])
            return replace(method(self, **asked), warnings=named[name])

        return found

    for name in named:
        monkeypatch.setattr(Session, name, with_warnings(name))
    assert said("--book", book, "report", "--strict")[0] == 0
    assert set(asked_for_prices) == {
        False
    }  # `DEVELOPERS.md`: `report` works out no prices, which stand in the JSON alone
    for name in named:
        named[name] = (Told("code", "text"),)
        assert said("--book", book, "report", "--strict")[0] == 1
        assert said("--book", book, "report")[0] == 0
        named[name] = ()


def test_a_shoot_is_computed_for_the_light_and_the_hours_that_are_given(said: Any, book: Path) -> None:
    def light(*more: str) -> Any:
        return json.loads(said("--book", book, "shoot", "apron", "--json", *more)[1])["light"][0]

    assert (light("--lux", "40", "--hours", "1.5")["lux"], light("--hours", "1.5")["planned_hours"]) == (40, 1.5)
    assert light("--hours", "24")["planned_hours"] == 24


def test_a_page_has_the_paper_that_is_asked_for(said: Any, book: Path) -> None:
    pages = [
        said("--book", book, "shoot", "apron", "--html", *more)[1]
        for more in ((), ("--paper", "a4"), ("--paper", "letter"))
    ]
    assert ["size: A4" in page or "size:A4" in page for page in pages] == [False, True, False]
    assert len(set(pages)) == 3
    assert all(page.startswith("<!DOCTYPE html>") and page.endswith("</html>\n") for page in pages)


def test_an_idea_goes_into_the_pool_and_is_undone_and_done_again(said: Any, book: Path) -> None:
    code, out, _ = said("--book", book, "idea", " An evening ", "--for", "wednesday", "--from", "apron")
    assert (code, out) == (0, "In the pool for making diary: An evening.\n")
    with Session.open(book, write=False) as session:
        made = session.book.episodes[-1]
        assert (made.title, made.rule, made.idea_of, made.slot) == ("An evening", "wednesday", "apron", None)
    assert said("--book", book, "undo")[1] == "Undone: an idea:  An evening .\n"
    assert said("--book", book, "redo")[1] == "Done again: an idea:  An evening .\n"
    assert said("--book", book, "idea", "Another", "--for", "wednesday")[0] == 0
    with Session.open(book, write=False) as session:
        assert session.book.episodes[-1].idea_of == ""


def test_what_is_in_the_way_of_saving_is_told_by_check(said: Any, book: Path) -> None:
    lines = said("--book", book, "check")[1].splitlines()
    assert lines == [
        f"The book is {book}.",
        "All is well: 59 pieces, 40 studies, 327 lines on record.",
        "It can be saved, exported and brought back.",
    ]
    book.chmod(0o444)
    out = said("--book", book, "check")[1]
    assert "Here it can only be read." in " ".join(out.split())
    assert "All is well" in out


@pytest.mark.parametrize("way", ["check", "mend", "write"])
def test_what_check_can_and_cannot_mend(said: Any, book: Path, way: str) -> None:
    tree = json.loads(book.read_text())
    tree["pieces"]["1"]["box"] = "NOBOX"
    book.write_text(json.dumps(tree))
    if way == "check":
        code, out, err = said("--book", book, "check")
        assert (code, "the book has 1 fault; see what `showrunner check --mend` can put right" in err) == (3, True)
        assert [line for line in out.splitlines() if line.startswith("- ")] != []
        return
    code, out, err = said("--book", book, "check", "--mend", *(["--write"] if way == "write" else []))
    assert (code, err) == (0, "")
    if way == "mend":
        assert "Nothing is written; --write mends it" in out
        assert out.endswith("Then all would be well.\n")
        assert json.loads(book.read_text()) == tree
    else:
        assert "Mended. The book as it was is backup 1; the undo steps are gone." in out
        assert "All is well: 59 pieces" in out
    again = said("--book", book, "check", "--mend")[1]
    assert ("There is nothing to mend without asking." in again) == (way == "write")
    assert [line[:2] for line in out.splitlines()].count("- ") == 1


# The net under every command


@pytest.mark.parametrize(
    ("error", "code", "told"),
    [
        (BadInput("what", "where", "way"), 2, "where: what; way.\n"),
        (BookInUse("what", "where", "way"), 3, "where: what; way.\n"),
        (BookDamaged("what", "where", "way"), 3, "where: what; way.\n"),
        (click.exceptions.Abort(), 130, "Stopped; nothing was changed.\n"),
        (KeyboardInterrupt(), 130, "Stopped; nothing was changed.\n"),
        (click.UsageError("No  such\noption."), 2, "showrunner: no such option; see `showrunner --help`.\n"),
        (SystemExit(1), 0, ""),
        (OSError(errno.ENOSPC, "x"), 2, "The output could not be written, the disk is full; do it again.\n"),
        (OSError(errno.EPIPE, "x"), 0, ""),
        (
            OSError(errno.EACCES, "x", "a.txt"),
            2,
            "a.txt: the system refused it, permission is refused; nothing is lost.\n",
        ),
    ],
    ids=lambda value: type(value).__name__ if isinstance(value, BaseException) else None,
)
def test_each_end_has_its_code_and_its_sentence(
    monkeypatch: pytest.MonkeyPatch, capsys: Any, error: BaseException, code: int, told: str
) -> None:
    def ends(*_: object, **__: object) -> None:
        raise error

    monkeypatch.setattr(cli.cli, "main", ends)
    monkeypatch.setattr(cli, "_give_up", lambda stream: None)
    assert cli.run([]) == code
    assert capsys.readouterr() == ("", told)


def test_what_was_done_is_told_at_each_end(monkeypatch: pytest.MonkeyPatch, capsys: Any) -> None:
    monkeypatch.setattr(cli, "_give_up", lambda stream: None)
    for error, told in (
        (KeyboardInterrupt(), "Stopped; a and b.\n"),
        (SystemExit(1), "The output could not be written, nothing reads it any more; done all the same: a and b.\n"),
        (OSError(errno.ENOSPC, ""), "The output could not be written, the disk is full; done all the same: a and b.\n"),
    ):

        def ends(*_: object, error: BaseException = error, obj: list[str], **__: object) -> None:
            obj += ["a", "b"]
            raise error

        monkeypatch.setattr(cli.cli, "main", ends)
        cli.run([])
        assert capsys.readouterr().err == told


@pytest.mark.parametrize(("value", "code"), [(None, 0), (0, 0), (1, 1), ("x", 0)])
def test_a_command_that_ends_well_gives_its_code(monkeypatch: pytest.MonkeyPatch, value: object, code: int) -> None:
    monkeypatch.setattr(cli.cli, "main", lambda *_, **__: value)
    assert cli.run([]) == code


def test_a_fault_of_the_program_is_kept_in_a_private_file(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: Any
) -> None:
    def fails(*_: object, **__: object) -> None:
        raise RuntimeError("odd")

    monkeypatch.setattr(cli.cli, "main", fails)
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    for _ in range(2):
        assert cli.run([]) == 70
        (log,) = (tmp_path / "state").rglob("fault.log")
        told = f"showrunner itself failed (RuntimeError); nothing is lost; the details are in {log}.\n"
        assert capsys.readouterr().err == told
        assert log.stat().st_mode & 0o777 == 0o600
        assert log.read_text().endswith("RuntimeError: odd\n")
        log.chmod(0o644)  # one from long ago
    shutil.rmtree(tmp_path / "state")
    (tmp_path / "state").write_text("no folder")
    assert cli.run([]) == 70
    assert capsys.readouterr().err == "showrunner itself failed (RuntimeError: odd); nothing is lost.\n"


def test_wrong_usage_is_one_sentence_that_goes_on_in_small_letters() -> None:
    ctx = click.Context(cli.plan, info_name="showrunner plan")
    told = [cli._usage_sentence(click.UsageError(text, at)) for text, at in (("A  Word\nhere.", ctx), ("", None))]
    assert told == [
        "showrunner plan: a Word here; see `showrunner plan --help`.",
        "showrunner: ; see `showrunner --help`.",
    ]


def test_wrong_usage_is_cut_before_its_way_out() -> None:
    error = click.UsageError("Bad " + "words " * 100)
    told = cli._usage_sentence(error)
    assert LONGEST - 10 < len(told) <= LONGEST
    assert told.startswith("showrunner: bad words")
    assert told.endswith("; see `showrunner --help`.")


def test_a_stream_that_is_given_up_takes_what_is_left(tmp_path: Path) -> None:
    with (tmp_path / "out").open("w") as stream:
        cli._give_up(stream)
        stream.write("left")
    assert (tmp_path / "out").read_text() == ""
    cli._give_up(stream)  # closed: no fault


def test_a_command_that_can_write_is_asked_by_its_older_word_too_before_two_dashes() -> None:
    ctx = click.Context(cli.plan)
    cli.plan.parse_args(ctx, ["--apply"])
    assert ctx.params["write"] is True
    writing = cli.Writing("x", params=[click.Argument(["names"], nargs=-1), click.Option(["--write"], is_flag=True)])
    ctx = click.Context(writing)
    writing.parse_args(ctx, ["--", "--apply"])
    assert (ctx.params["names"], ctx.params["write"]) == (("--apply",), False)


def test_json_is_escaped_where_the_encoding_lacks_it(monkeypatch: pytest.MonkeyPatch, capsys: Any) -> None:
    cli._print_json({"a": "é\x1b\u202e\n"})
    assert capsys.readouterr().out == '{\n  "a": "é\\u001b\\u202e\\n"\n}\n'

    class Narrow:
        encoding = "latin-1"

    echoed: list[str] = []
    monkeypatch.setattr(click, "echo", echoed.append)
    monkeypatch.setattr("sys.stdout", Narrow())
    cli._print_json("é")
    monkeypatch.setattr("sys.stdout", None)
    cli._print_json("é")
    assert echoed == ['"\\u00e9"', '"\\u00e9"']


def test_the_book_that_is_asked_for_or_the_usual_one(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", "/home/posy/data")
    assert cli.Choice(Path("a"), None, []).path == Path("a")
    assert cli.Choice(None, None, []).path == Path("/home/posy/data/showrunner/book.json")


# What is said of the options, and what must be given


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("plan --help", "Weeks to look ahead.  [default: 78]"),
        ("import --help", "[default: unsure]"),
        ("-h", "Usage: showrunner [OPTIONS]"),
        ("--version", "showrunner, version"),
    ],
)
def test_help_says_what_is_taken_where_nothing_is_given(said: Any, words: str, told: str) -> None:
    code, out, err = said(*words.split())
    assert (code, err) == (0, "")
    assert told in " ".join(out.split()).replace(". [", ".  [")
    assert max(map(len, out.splitlines())) <= 90


@pytest.mark.parametrize(
    ("words", "missing"),
    [
        ("shoot", "'STUDY...'"),
        ("publish --on 2026-03-01", "'EPISODE'"),
        ("publish apron", "'--on'"),
        ("idea", "'TITLE'"),
        ("idea x", "'--for'"),
        ("holidays", "'PLACE'"),
        ("import", "'FILE'"),
        ("export", "'DIR'"),
    ],
)
def test_what_must_be_given_is_named(said: Any, book: Path, words: str, missing: str) -> None:
    code, out, err = said("--book", book, *words.split())
    assert (code, out, err.count("\n")) == (2, "", 1)
    assert f"missing {'option' if '--' in missing else 'argument'} {missing}" in err


def test_busy_days_are_read_for_78_weeks(said: Any, book: Path, tmp_path: Path) -> None:
    """From 2 March 2026 that is until 30 August 2027."""
    days = ("20260301", "20260302", "20270830", "20270831")
    events = "".join(
        f"BEGIN:VEVENT\r\nUID:{day}\r\nDTSTART;VALUE=DATE:{day}\r\nSUMMARY:Away\r\nEND:VEVENT\r\n" for day in days
    )
    (tmp_path / "in.ics").write_text(f"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:x\r\n{events}END:VCALENDAR\r\n")
    code, out, _ = said("--book", book, "calendar", "--busy", tmp_path / "in.ics")
    assert (code, out.splitlines()[-1]) == (0, "2 new, 0 changed, 0 gone; nothing written, --write writes it.")
    out = said("--book", book, "calendar", "--busy", tmp_path / "in.ics", "--write")[1]
    assert out.splitlines()[-1] == "2 new, 0 changed, 0 gone; written into the book."
    with Session.open(book, write=False) as session:
        away = [str(dark.first) for dark in session.book.dark if dark.reason == "Away"]
    assert sorted(away) == ["2026-03-02", "2027-08-30"]
    assert said("--book", book, "undo")[1] == "Undone: bring busy days in.\n"


def test_backups_are_listed_with_their_number_day_reason_and_size(said: Any, book: Path) -> None:
    size = book.stat().st_size
    said("--book", book, "backup")
    first, last = said("--book", book, "restore")[1].splitlines()
    assert first.startswith("    1  ")
    assert first.endswith(f"  asked for ({size:,} bytes)")
    assert last == "Together they take 0.1 of at most 200 MB."
    assert said("--book", book, "restore", "1")[1].splitlines()[-1].startswith("Backup 1 of ")


def test_exports_are_listed_with_their_rows(said: Any, book: Path, tmp_path: Path) -> None:
    lines = said("--book", book, "export", tmp_path / "out")[1].splitlines()
    assert lines[0] == f"Wrote {len(lines) - 2} files into {tmp_path / 'out'}:"
    assert lines[1].split() == ["file", "rows"]
    assert ["pieces.csv", "59"] in [line.split() for line in lines]
    assert ["exchange.schema.json"] in [line.split() for line in lines]
    assert len({len(line) for line in lines[1:] if line[-1].isdigit()}) == 1


# What stands in the JSON of each command, and in the demo


@pytest.mark.parametrize(
    ("words", "keys"),
    [
        ("report", {"plan", "work", "runout", "handover"}),
        ("wants", {"collection", "wants", "handover", "warnings"}),
        ("work", {"tasks", "warnings"}),
        ("runout", {"series", "quantiles", "warnings"}),
        ("runout --what-if hours=2", {"series", "what_ifs", "together", "written"}),
        ("record", {"rules", "paces", "bank", "pool"}),
        ("shoot apron", {"setups", "touches", "gates"}),
        ("package apron", {"description", "missing"}),
        (f"package apron --captions {ROOT / 'demo' / 'waistcoats-all.vtt'}", {"points", "chapters", "taken"}),
    ],
)
def test_the_json_has_its_parts(said: Any, book: Path, words: str, keys: set[str]) -> None:
    code, out, _ = said("--book", book, *words.split(), "--json")
    assert code == 0
    assert keys <= json.loads(out).keys()


def test_the_demo_without_a_terminal_is_its_report_and_may_be_kept(said: Any, tmp_path: Path) -> None:
    code, out, err = said("demo", "--keep", tmp_path / "kept.json")
    assert (code, err) == (0, "")
    assert out == said("--book", tmp_path / "kept.json", "report")[1] == said("demo")[1]
    assert [p.name for p in tmp_path.glob("*.json")] == ["kept.json"]


def stopped(*_: object, **__: object) -> str:
    raise KeyboardInterrupt


def test_entries_are_put_into_a_folder_and_conflicts_are_warnings(
    said: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, book = tmp_path / "entries", tmp_path / "small.json"
    folder.mkdir()
    away = tuple(DarkRange(f"d{n}", date(2026, 4, n), date(2026, 4, n)) for n in (1, 8, 15))
    with Session.create(book, Book("6b1f0c52-7a0e-4c1e-9d35-2f6a58c1b7e4", clock=date(2026, 3, 2), dark=away)):
        pass
    words = ("--book", book, "calendar", "--folder", folder)
    first = json.loads(said(*words, "--json")[1])
    assert len(list(folder.iterdir())) == 3
    assert (first["place"], first["written"], len(first["entries"])) == (str(folder), True, 3)
    name = sorted(folder.iterdir())[0]
    name.unlink()
    assert said(*words)[0] == 0
    code, out, err = said(*words, "--strict")
    assert (code, err) == (1, "")
    assert "deleted there" in " ".join(out.split())
    assert not name.exists()
    assert said(*words, "--replace", "--strict")[0] == 0
    assert name.exists()
    monkeypatch.setattr("showrunner.calendars.pushed", stopped)
    assert said(*words) == (130, "", f"\nStopped; {folder} is brought up to date.\n")


@pytest.mark.parametrize(
    ("more", "address", "user"), [([], "posy", "posy"), ([], "", ""), (["--user", "anna"], "posy", "anna")]
)
def test_who_signs_in_is_told_by_the_option_or_else_by_the_address(
    said: Any, book: Path, monkeypatch: pytest.MonkeyPatch, more: list[str], address: str, user: str
) -> None:
    """What is done with the answer is tested with a real server: `ical/test_push.py`."""
    asked: list[tuple[str, str, str]] = []

    class Stands:
        address = "https://dav.example.org/x/"

        def __init__(self, url: str, sign_in: Any) -> None:
            sign_in("dav.example.org", address)

        def close(self) -> None:
            asked.append(("closed", "", ""))

    monkeypatch.setattr("showrunner.ical.passwords.sign_in", lambda *told: asked.append(told))
    monkeypatch.setattr("showrunner.ical.server_store.ServerStore", Stands)
    monkeypatch.setattr(cli, "_push", lambda *_: None)
    words = ["calendar", "--push", "https://dav.example.org/x/", "--password-command", "pass show it", *more]
    assert said("--book", book, *words) == (0, "", "")
    assert asked == [("dav.example.org", user, "pass show it"), ("closed", "", "")]


def test_what_cannot_be_read_of_a_busy_calendar_is_said(said: Any, book: Path, tmp_path: Path) -> None:
    event = "BEGIN:VEVENT\r\nUID:a\r\nDTSTART:soon\r\nSUMMARY:Away\r\nEND:VEVENT\r\n"
    (tmp_path / "in.ics").write_text(f"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:x\r\n{event}END:VCALENDAR\r\n")
    out = " ".join(said("--book", book, "calendar", "--busy", tmp_path / "in.ics")[1].split())
    assert "Passed over: 'Away' has dates or a repetition that cannot be read; it takes no time." in out


def test_only_one_backup_and_what_is_told_of_it(said: Any, book: Path) -> None:
    for number in (1, 2):
        said("--book", book, "publish", ("apron", "jacket")[number - 1], "--on", "2026-03-01")
        said("--book", book, "backup")
    lines = said("--book", book, "restore")[1].splitlines()
    sizes = [backup.size for backup in Session.backups_of(book)]
    assert [f"({size:,} bytes)" in line for size, line in zip(sizes, lines, strict=False)] == [True] * len(sizes)
    assert lines[-1] == f"Together they take {sum(sizes) / 1_000_000:.1f} of at most 200 MB."


def test_what_cannot_even_be_complained_of_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    given_up: list[object] = []

    def full(*_: object, **__: object) -> None:
        raise OSError(errno.ENOSPC, "")

    monkeypatch.setattr(click, "echo", full)
    monkeypatch.setattr(cli, "_give_up", given_up.append)
    cli._complain("something")
    assert given_up == [sys.stderr]


def test_output_that_cannot_be_written_is_given_up(monkeypatch: pytest.MonkeyPatch, capsys: Any) -> None:
    given_up: list[object] = []
    monkeypatch.setattr(cli, "_give_up", given_up.append)
    assert cli._unprinted(OSError(errno.ENOSPC, ""), []) == 2
    assert given_up == [sys.stdout]
    assert cli._unprinted(BrokenPipeError(errno.EPIPE, ""), []) == 0
    assert cli._unprinted(BrokenPipeError(errno.EPIPE, ""), ["it is saved"]) == 0
    monkeypatch.setattr("sys.stdout", None)
    assert cli._unprinted(OSError(errno.EBADF, ""), []) == 2
    assert len(given_up) == 3
    told = capsys.readouterr().err.splitlines()
    assert told == [
        "The output could not be written, the disk is full; do it again.",
        "The output could not be written, nothing reads it any more; done all the same: it is saved.",
        "The output could not be written, it is closed; do it again.",
    ]


def test_a_sheet_is_compared_with_no_book_and_makes_none_before_it_is_written(said: Any, tmp_path: Path) -> None:
    (tmp_path / "p.csv").write_text("number,name\n99,Muff\n")
    new = tmp_path / "new.json"
    code, out, err = said("--book", new, "import", tmp_path / "p.csv", "--as", "pieces")
    assert (code, err, new.exists()) == (0, "", False)
    assert out.endswith("Nothing is written; --write does.\n")
    code, out, _ = said("--book", new, "import", tmp_path / "p.csv", "--as", "pieces", "--json")
    assert (code, json.loads(out)["written"]) == (0, False)
    (tmp_path / "bad.csv").write_text("number,name\n99,Muff\n99,Hat\n")
    code, out, err = said("--book", new, "import", tmp_path / "bad.csv", "--as", "pieces", "--write")
    assert (code, new.exists()) == (2, False)
    assert "refused, so nothing is written; put right what is listed as refused and import it again." in err
    assert said("--book", new, "import", tmp_path / "p.csv", "--as", "pieces", "--write")[0] == 0
    with Session.open(new, write=False) as session:
        assert [piece.name for piece in session.book.pieces] == ["Muff"]


def test_a_sheet_for_no_book_yet_is_read_on_the_day_that_is_asked_for(said: Any, tmp_path: Path) -> None:
    (tmp_path / "p.csv").write_text("number,name,shown on\n99,Muff,2026-03-05\n")
    words = ("import", tmp_path / "p.csv", "--as", "pieces")
    told = [
        said("--book", tmp_path / "new.json", *day, *words)
        for day in (["--today", "2026-03-02"], ["--today", "2026-03-05"], [])
    ]
    assert [code for code, _, _ in told] == [2, 0, 0]
    assert "5 March 2026 is still to come (today is 2 March" in " ".join(told[0][1].split())
    assert not (tmp_path / "new.json").exists()


def test_of_a_book_that_can_only_be_read_here_it_is_told_what_could_be_mended(said: Any, book: Path) -> None:
    tree = json.loads(book.read_text())
    tree["pieces"]["1"]["box"] = "NOBOX"
    book.write_text(json.dumps(tree))
    book.chmod(0o444)
    code, out, err = said("--book", book, "check", "--mend")
    lines = out.splitlines()
    assert (code, err, lines[0]) == (0, "", f"The book is {book}.")
    assert lines[1].startswith("Here it can only be read.")
    assert [line[:2] for line in lines].count("- ") == 1


def test_a_book_is_mended_even_if_nobody_can_be_told(said: Any, book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    tree = json.loads(book.read_text())
    tree["pieces"]["1"]["box"] = "NOBOX"
    book.write_text(json.dumps(tree))
    monkeypatch.setattr("showrunner.report.bullets", stopped)
    told = "\nStopped; the book is mended, and as it was it is backup 1.\n"
    code, out, err = said("--book", book, "check", "--mend", "--write")
    assert (code, out, err) == (130, f"The book is {book}.\n", told)
    monkeypatch.undo()
    assert said("--book", book, "check")[0] == 0


def test_with_nothing_to_mend_and_with_something_left_check_says_so(
    said: Any, book: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    code, out, err = said("--book", book, "check", "--mend")
    assert (code, err) == (0, "")
    assert out.splitlines() == [
        f"The book is {book}.",
        "There is nothing to mend without asking.",
        "All is well: 59 pieces, 40 studies, 327 lines on record.",
        "It can be saved, exported and brought back.",
    ]
    monkeypatch.setattr(Session, "check", lambda self, book=None: ["This is left.", "That too."])
    code, out, err = said("--book", book, "check", "--mend")
    assert (code, err) == (3, f"{book}: 2 faults left; put right what is named.\n")
    assert out.endswith("What is left:\n- This is left.\n- That too.\n")
