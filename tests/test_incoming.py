"""The import command: what it prints, writes and refuses."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from showrunner.intake.findings import Asked
from showrunner.session import Session

DEMO = Path(__file__).parents[1] / "demo"
TODAY = ("--today", "2026-03-02")


@pytest.fixture
def empty(tmp_path: Path) -> Path:
    """Where a book could be."""
    return tmp_path / "book.json"


def test_a_dry_run_writes_nothing_not_even_a_book(said: Any, empty: Path) -> None:
    code, out, err = said("--book", empty, *TODAY, "import", DEMO / "pieces.csv")
    assert (code, err) == (0, "")
    assert "New (47)" in out
    assert "(2024-08)" in out
    assert "(2024-11~)" in out
    assert out.endswith(
        "pieces.csv: 47 new, 0 changed, 0 unchanged; 4 doubtful, 0 refused.\nNothing is written; --write does.\n"
    )
    assert list(empty.parent.iterdir()) == []


def test_the_first_day_with_a_sheet_and_a_list(said: Any, empty: Path) -> None:
    assert said("--book", empty, *TODAY, "import", DEMO / "pieces.csv", "--write")[0] == 0
    code, out, _ = said("--book", empty, *TODAY, "import", DEMO / "pieces.csv", "--write")
    assert (code, out.splitlines()[-1]) == (0, "Nothing would change; nothing is written.")
    code, out, _ = said("--book", empty, *TODAY, "import", DEMO / "episodes.csv", "--match", "165=07", "--write")
    assert code == 0
    assert "Likely, to be confirmed (1)" in out
    with Session.open(empty, write=False) as session:
        assert (len(session.book.pieces), len(session.book.studies)) == (47, 34)
        assert len(session.book.publications) == 327
        assert session.check() == []
        assert session.undo_label == "bring episodes.csv in"
        assert [backup.reason for backup in session.backups()][-1] == "before import"
    assert said("--book", empty, "undo")[1] == "Undone: bring episodes.csv in.\n"


def test_something_refused_keeps_everything_out(said: Any, empty: Path, tmp_path: Path) -> None:
    sheet = tmp_path / "bad.csv"
    sheet.write_text("No,Name,Made\n1,Sash,1900\n2,Cap,next week\n3,,1900\n")
    code, out, err = said("--book", empty, *TODAY, "import", sheet, "--write")
    assert code == 2
    assert "Refused (2)" in out
    assert err == (
        "bad.csv: 2 refused, so nothing is written; put right what is listed as refused and import it again.\n"
    )
    assert not empty.exists()


def test_as_json_it_tells_everything(said: Any, empty: Path) -> None:
    code, out, _ = said("--book", empty, *TODAY, "import", DEMO / "pieces.csv", "--json")
    shape = json.loads(out)
    assert code == 0
    assert (shape["file"], shape["kind"], shape["written"], shape["refused"]) == ("pieces.csv", "pieces", False, [])
    assert [row["verdict"] for row in shape["rows"]] == ["new"] * 47
    (doubt,) = shape["rows"][6]["doubts"]
    assert (doubt["column"], doubt["cell"]) == ("Shown on", "Aug 2024")
    assert shape["columns"][0] == {"name": "No.", "field": "id", "how": "by its wording", "hint": None}


def test_strict_tells_of_doubts_by_its_exit_code(said: Any, empty: Path) -> None:
    assert said("--book", empty, *TODAY, "import", DEMO / "pieces.csv", "--strict")[0] == 1


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (["nowhere.csv"], "nowhere.csv: there is no such file; look at its name and folder."),
        (["."], ".: this is a folder; give a file."),
        ([DEMO / "pieces.csv", "--map", "Where"], "--map: 'Where' has no '='; write it as COLUMN=FIELD."),
        (
            [DEMO / "pieces.csv", "--map", "Wher=box"],
            "--map: the file has no column 'Wher'; write its name as in the file.",
        ),
        (
            [DEMO / "episodes.csv", "--match", "20=07", "--match", "20=none"],
            "--match: the place '20' is explained twice; say it once.",
        ),
        ([DEMO / "episodes.csv", "--match", "20"], "--match: '20' has no '='; write it as 20=07, 21=09,10 or 22=none."),
        ([DEMO / "episodes.csv", "--match", "x=07"], "--match: 'x' is no line of the file; "),
        (
            [DEMO / "episodes.csv", "--match", "165=99"],
            "--match 165: there is no piece '99'; the book has none yet",
        ),
        ([DEMO / "ledger.svg"], "ledger.svg: "),
    ],
)
def test_an_error_is_one_sentence(said: Any, empty: Path, arguments: list[Any], sentence: str) -> None:
    code, out, err = said("--book", empty, *TODAY, "import", *arguments)
    assert (code, out) == (2, "")
    assert err.startswith(sentence)
    assert err.count("\n") == 1


def test_what_was_compared_with_another_book_is_not_taken_over(tmp_path: Path) -> None:
    path = tmp_path / "book.json"
    shutil.copy(DEMO / "book.json", path)
    sheet = tmp_path / "more.csv"
    sheet.write_text("No,Name,Box\n60,Sash,A\n")
    with Session.open(path) as session:
        found = session.bring_in(sheet, Asked(collection="dress"))
        session.take_over(found)
        assert session.book.piece("60").name == "Sash"
        with pytest.raises(Exception, match="the book has changed since the file was read"):
            session.take_over(found)
        session.undo()
        assert session.book.find("pieces", "60") is None


def test_junk_ends_in_a_sentence_and_never_in_a_traceback(said: Any, empty: Path, tmp_path: Path) -> None:
    for number, data in enumerate(
        (b"\xff\xfe\x00", b"\x00" * 50, b'"', b"\xef\xbb\xbf", b"a\r\rb", b"<rss>", b"{}", b"[")
    ):
        sheet = tmp_path / f"junk{number}.csv"
        sheet.write_bytes(data)
        code, _, err = said("--book", empty, *TODAY, "import", sheet)
        assert code == 2
        assert err.startswith(sheet.name)
