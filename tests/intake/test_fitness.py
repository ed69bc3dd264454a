"""Whether a book can be saved, exported and brought back: told with the record, and mended."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from effort import examples
from hypothesis import HealthCheck, given
from workroom_books import WHOLE_BOOKS, noon, small_book

from showrunner.domain.book import Book
from showrunner.domain.collection import Box
from showrunner.domain.publication import CalendarEntry
from showrunner.intake import fitness
from showrunner.intake.fitness import made_fit, unfit
from showrunner.session import Session
from showrunner.storage.odd_text import ODD

BOOK = small_book()


@examples(60, suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow])
@given(WHOLE_BOOKS)
def test_a_whole_book_is_fit_but_for_calendar_entries_that_nobody_wrote(book: Book) -> None:
    assert unfit(book.with_table("calendar", ())) == []


@pytest.mark.parametrize("odd", ["half \ud800", "zero \0"])
def test_odd_text_is_named_with_its_record_and_mended(odd: str) -> None:
    book = BOOK.put("pieces", replace(BOOK.piece("2"), points=("fine", odd)))
    book = replace(book, house=replace(book.house, presenter=odd))
    assert unfit(book) == [f"House rules, presenter: {ODD}.", f"pieces, '2', points.2: {ODD}."]
    better, told = made_fit(book)
    assert len(told) == 2
    assert unfit(better) == []
    assert better.piece("2").points == ("fine", odd[:-1] + "\ufffd")
    assert [piece.id for piece in better.pieces] == [piece.id for piece in book.pieces]
    assert made_fit(BOOK) == (BOOK, [])


def test_a_calendar_entry_that_cannot_be_read_is_told_and_left_out() -> None:
    book = BOOK.put("calendar", CalendarEntry("uid", 3, noon(), "{}"))
    assert unfit(book) == ["calendar, 'uid': what calendars were told of it cannot be read."]
    assert made_fit(book)[0] == BOOK


def test_a_book_too_large_to_be_brought_back_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("showrunner.storage.exchange.MOST_RECORDS", 10)
    (told,) = unfit(BOOK)
    assert told.startswith("An export of it could not be brought back: Its ")


def test_a_book_that_comes_back_different_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    real = fitness.bring_exchange

    def forgets(book: Book, data: bytes, name: str) -> Any:
        found = real(book, data, name)
        return replace(found, after=found.after.drop("boxes", "A"))

    monkeypatch.setattr(fitness, "bring_exchange", forgets)
    assert unfit(BOOK) == ["An export of it would come back different in boxes."]


def test_check_and_mend(tmp_path: Path, said: Any) -> None:
    path = tmp_path / "book.json"
    with Session.create(path, BOOK, now=noon) as session:
        session.do("box", lambda book: book.put("boxes", Box("B")))
    tree = json.loads(path.read_text())
    tree["pieces"]["1"]["notes"] = "half \ud800"
    tree["pieces"]["2"]["box"] = "gone"
    path.write_text(json.dumps(tree))
    before = path.read_bytes()
    code, out, err = said("--book", path, "check")
    assert code == 3
    assert (
        err
        == f"{path}: the book has 2 faults; see what `showrunner check --mend` can put right, or restore a backup.\n"
    )
    assert "pieces, '1', notes" in out
    code, out, err = said("--book", path, "check", "--mend")
    assert (code, err) == (0, "")
    assert "Nothing is written" in out
    assert path.read_bytes() == before
    code, out, err = said("--book", path, "check", "--mend", "--write")
    assert (code, err) == (0, "")
    with Session.open(path, now=noon) as session:
        assert session.check() == []
        assert session.undo_label is None
        assert session.book.piece("1").notes == "half \ufffd"
        assert session.book.find("boxes", "gone") == Box("gone")
        kept = [backup for backup in session.backups() if backup.reason == "before mending"]
        assert [backup.path.read_bytes() for backup in kept] == [before]
    assert said("--book", path, "restore", str(kept[0].number))[0] == 0
    assert path.read_bytes() == before
    assert said("--book", path, "check", "--mend")[0] == 0
    assert said("--book", path, "check", "--write")[0] == 2


def test_odd_undo_steps_are_told_and_left_out(tmp_path: Path, said: Any) -> None:
    path = tmp_path / "book.json"
    with Session.create(path, BOOK, now=noon) as session:
        session.do("box", lambda book: book.put("boxes", Box("B")))
    text = path.read_text()
    assert '"label":"box"' in text
    path.write_text(text.replace('"label":"box"', '"label":"\\ud800"'))
    assert said("--book", path, "check")[0] == 3
    assert said("--book", path, "check", "--mend", "--write")[0] == 0
    assert said("--book", path, "check")[0] == 0
