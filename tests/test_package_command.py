"""The command `package`: what it prints, writes, takes, and refuses in one sentence."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from workroom_books import FOUND

from showrunner import packaging
from showrunner.cli import run
from showrunner.demo_book import copy_demo
from showrunner.domain import edits
from showrunner.domain.package import Chapter, Package
from showrunner.domain.piece import Claim, Confidence
from showrunner.session import Session

DEMO = Path(__file__).parents[1] / "demo"
NOON = datetime(2026, 3, 1, tzinfo=UTC)
ALL = DEMO / "waistcoats-all.vtt"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    copy_demo(tmp_path / "book.json")
    return tmp_path / "book.json"


def ask(path: Path, capsys: pytest.CaptureFixture[str], *words: Any) -> tuple[int, str, str]:
    code = run(["--book", str(path), "package", *map(str, words)])
    said = capsys.readouterr()
    return code, said.out, said.err


def package(path: Path, study: str = "waistcoats") -> Package:
    with Session.open(path, write=False) as session:
        return session.book.episode(study).package


def test_the_package_is_printed_with_what_is_missing_first(path, capsys):
    code, out, err = ask(path, capsys, "apron")
    assert (code, err) == (0, "")
    assert out.index("Missing:") < out.index("Description")
    assert "  - Stills: flat face, orchard stamp and pencil loop." in out
    assert "between 5 and 7 pieces left" in " ".join(out.split())
    assert ask(path, capsys, "apron", "--strict")[0] == 1


def test_the_package_as_json(path, capsys):
    code, out, _ = ask(path, capsys, "apron", "--json")
    found = json.loads(out)
    assert code == 0
    assert [lack["code"] for lack in found["missing"]] == ["run time", "chapters", "captions", "stills"]
    assert [thanked["name"] for thanked in found["thanks"]][-1] == "Tavish Loam"
    assert (found["day"], found["webvtt"], found["ffmetadata"]) == ("2026-03-22", None, None)


def test_the_package_as_files(path, capsys, tmp_path):
    with Session.open(path) as session:
        chapters = (Chapter(0, "Opening"), Chapter(30, "Flat"), Chapter(90, "Inside"))
        whole = replace(session.book.episode("apron").package, chapters=chapters)
        session.do("x", lambda book: edits.put_package(book, "apron", whole, run_seconds=120))
    out = tmp_path / "out" / "apron"
    assert ask(path, capsys, "apron", "--out", out)[0] == 0
    assert sorted(file.name for file in out.iterdir()) == [
        "chapters.ffmetadata",
        "chapters.txt",
        "chapters.vtt",
        "description.txt",
        "missing.txt",
        "thanks.txt",
        "title.txt",
    ]
    assert (out / "chapters.txt").read_text() == "0:00 Opening\n0:30 Flat\n1:30 Inside\n"
    assert (out / "chapters.vtt").read_bytes().startswith(b"WEBVTT\n\n00:00:00.000 --> ")
    assert (out / "chapters.ffmetadata").read_bytes().startswith(b";FFMETADATA1\n")
    assert "0:30 Flat" in (out / "description.txt").read_text()
    assert "Anonymous" not in "".join(file.read_text() for file in out.iterdir())


def test_faulty_chapters_are_written_into_no_file(path, capsys, tmp_path):
    with Session.open(path) as session:
        wrong = Package(chapters=(Chapter(0, "Opening"), Chapter(90, "Inside"), Chapter(30, "Flat")))
        session.do("x", lambda book: edits.put_package(book, "apron", wrong, run_seconds=120))
    code, out, _ = ask(path, capsys, "apron", "--out", tmp_path / "out")
    assert code == 0
    assert "0:30 Flat does not come after 1:30" in " ".join(out.split())
    assert not any(file.name.startswith("chapters") for file in (tmp_path / "out").iterdir())


def test_a_folder_that_cannot_be_made_is_told(path, capsys, tmp_path):
    (tmp_path / "file").write_text("x")
    code, _, err = ask(path, capsys, "apron", "--out", tmp_path / "file" / "below")
    assert code == 2 and err.count("\n") == 1


def test_captions_are_held_against_the_film_and_nothing_is_written(path, capsys):
    before = path.read_bytes()
    code, out, _ = ask(path, capsys, "waistcoats", "--captions", DEMO / "waistcoats-two-missed.srt")
    assert code == 0
    assert "No cue seems to say this: 2 of 18" in out
    assert "back straps, waist: absent" in out
    assert path.read_bytes() == before
    assert ask(path, capsys, "waistcoats", "--captions", DEMO / "waistcoats-two-missed.srt", "--strict")[0] == 1
    assert ask(path, capsys, "waistcoats", "--captions", ALL, "--strict")[0] == 0


def test_captions_as_json(path, capsys):
    _, out, _ = ask(path, capsys, "waistcoats", "--captions", DEMO / "waistcoats-wrong-order.vtt", "--json")
    found = json.loads(out)
    assert [odd["code"] for odd in found["odd"]] == ["order"]
    assert {point["verdict"] for point in found["points"]} == {"said"}
    assert found["chapters"][0] == {"seconds": 0, "title": "Opening", "part": None, "opening": None, "sure": True}


def test_what_is_taken_is_one_step_that_undo_takes_back(path, capsys):
    words = ("waistcoats", "--captions", ALL, "--take", "chapters", "--take", "said", "--take", "run-time")
    code, out, _ = ask(path, capsys, *words)
    assert code == 0
    assert "taken into the book: 5 chapters, 18 points and the run time 5:25" in out
    assert (len(package(path).chapters), len(package(path).heard)) == (5, 18)
    assert run(["--book", str(path), "undo"]) == 0
    assert package(path) == Package()


@pytest.mark.parametrize(
    ("name", "data", "told"),
    [
        ("film.vtt", b"", "no times are in it"),
        ("film.srt", b"1\nno times at all\n", "no times are in it"),
        ("film.png", b"\x89PNG\r\n\x1a\n" + bytes(99), "no times are in it"),
    ],
)
def test_what_is_no_captions_file_is_refused(path, capsys, tmp_path, name, data, told):
    (tmp_path / name).write_bytes(data)
    code, out, err = ask(path, capsys, "waistcoats", "--captions", tmp_path / name)
    assert (code, out) == (2, "")
    assert told in err and err.count("\n") == 1


def test_wrong_usage_is_told(path, capsys, tmp_path):
    for words, told in (
        (("waistcoats", "--captions", tmp_path / "none.vtt"), "there is no such file"),
        (("none such",), "there is no study 'none such'"),
        (("--out", tmp_path / "out"), "no study is named"),
        (("apron", "--take", "said"), "there is nothing to take from"),
        (("diary-2026-03-04",), "there is no study 'diary-2026-03-04'"),
    ):
        code, out, err = ask(path, capsys, *words)
        assert (code, out) == (2, "")
        assert told in err and err.count("\n") == 1


def test_upkeep_is_printed_without_a_study_and_corrections_are_put_down_as_done(path, capsys):
    claim = Claim("maker", "Tarn", Confidence.POSSIBLE, judged=date(2023, 1, 1))
    with Session.open(path) as session:
        for piece, new in (("25", claim), ("29", claim), ("29", FOUND)):
            session.do("x", lambda book, piece=piece, new=new: edits.add_claim(book, piece, new))
    _, out, _ = ask(path, capsys)
    assert "“What colour was the boa?”" in out and "held to be probably Ellery" in " ".join(out.split())
    assert "“Verdigris: green, with gloves” is out and not on the page" in out
    assert run(["--book", str(path), "report"]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "1 correction to put into descriptions, of “What colour was the boa?”: see `showrunner package`." in told
    assert ask(path, capsys, "feather-boa", "--corrected")[0] == 0
    found = json.loads(ask(path, capsys, "--json")[1])
    assert [c["done"] for c in found["corrections"]] == ["2026-03-02"]
    assert found["stills"]["week_short"] == 4
    assert "Corrections to put into descriptions\n────────────────────────────────────\nNone." in ask(path, capsys)[1]


def test_strict_speaks_of_each_thing_that_is_to_be_looked_after(path, capsys):
    with Session.open(path) as session:
        first, house = session.book.series[0], session.book.house
        corrected = Claim("maker", "Ellery", Confidence.PROBABLE, judged=date(2026, 3, 1), study="apron", found=NOON)
        in_order = {
            "series": lambda book: book.put("series", replace(first, page="", listed=())),
            "stills": lambda book: replace(book, house=replace(house, posts_a_day=0)),
        }
        for name, edit in in_order.items():
            session.do(name, edit)
        assert packaging.to_look_after(session.book, session.today) == []
        one_each = {
            "is out and not on the page": lambda book: book.put("series", first),
            "too few for a week": lambda book: replace(book, house=house),
            "Found since, on Feather boa": lambda book: edits.add_claim(book, "25", corrected),
        }
        assert ask(path, capsys, "--strict")[0] == 0
        for told, edit in one_each.items():
            session.do(told, edit)
            (sentence,) = packaging.to_look_after(session.book, session.today)
            assert told in sentence
            code, out, _ = ask(path, capsys, "--strict")
            assert (code, told in " ".join(out.split())) == (1, True)
            session.undo()
