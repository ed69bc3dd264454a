"""What fails without stopping anything is told where it happened, and what undo can do is never promised beyond it."""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from showrunner.demo_book import demo_path
from showrunner.domain import edits
from showrunner.domain.piece import Known
from showrunner.incoming import TOO_LARGE
from showrunner.session import Session

TOLD = "The backup (first save) could not be made"


@pytest.fixture
def book(tmp_path: Path) -> Path:
    path = tmp_path / "book.json"
    shutil.copy(demo_path(), path)
    return path


@pytest.mark.slow
@pytest.mark.parametrize(
    "command", [("publish", "apron", "--on", "2026-03-01"), ("plan", "--write"), ("calendar", "OUT"), ("undo",)]
)
def test_a_command_tells_a_backup_that_failed(book: Path, said: Any, command: tuple[str, ...]) -> None:
    with Session.open(book) as session:
        session.do("settle", lambda book: edits.mark_shown(book, "01", Known.NO))
    folder = book.with_name("book.json.backups")
    for path in folder.iterdir():
        path.unlink()
    folder.rmdir()
    folder.write_text("a file where the folder should be")
    code, out, err = said("--book", book, *(str(book.with_name("out.ics")) if w == "OUT" else w for w in command))
    assert code == 0
    assert out
    assert err.count(TOLD) == 1
    assert said("--book", book, "report")[2] == ""  # nothing was to be kept


def sheet(path: Path, rows: int) -> Path:
    lines = [
        f"{n},Petticoat {n},petticoat,cotton lawn with a deep flounce and tucks {n}" for n in range(100, 100 + rows)
    ]
    path.write_text("number,name,kind,materials\n" + "\n".join(lines) + "\n")
    return path


@pytest.mark.parametrize(("rows", "large"), [(20, False), (900, True)])
def test_an_import_says_before_and_after_how_it_is_taken_back(book: Path, said: Any, rows: int, large: bool) -> None:
    file = sheet(book.with_name("pieces.csv"), rows)
    with Session.open(book, write=False) as session:
        pieces = len(session.book.pieces)
    for write in ([], ["--write"]):
        code, out, _ = said("--book", book, "import", file, "--as", "pieces", *write)
        assert code == 0
        assert (TOO_LARGE[:40] in out) is large
    with Session.open(book, today=date(2026, 3, 2)) as session:
        before = session.backups()[-1]
        session.do("settle", lambda book: edits.mark_shown(book, "01", Known.NO))
        session.undo()
        assert (session.undo_label is None) is large  # as it was told
        if large:
            session.restore(before.number)
        else:
            session.undo()
        assert len(session.book.pieces) == pieces
