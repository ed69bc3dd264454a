"""What a session reads and writes beside its book: calendars, entries put one by one, and files brought in."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from workroom_books import noon, small_book

from showrunner.domain.book import Book
from showrunner.domain.collection import Box
from showrunner.domain.piece import Known
from showrunner.domain.slot import DarkRange
from showrunner.errors import BadInput, BookInUse, CannotWrite
from showrunner.ical.folder_store import FolderStore
from showrunner.session import Session
from showrunner.storage.put_list import read_put_list

KEY = "6b1f0c52-7a0e-4c1e-9d35-2f6a58c1b7e4"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "book.json"
    with Session.create(path, replace(small_book(), key=KEY), now=noon):
        pass
    return path


def opened(path: Path, **how: Any) -> Session:
    return Session.open(path, now=noon, **how)


def test_a_calendar_is_written_and_its_log_kept_without_an_undo_step(path: Path, tmp_path: Path) -> None:
    with opened(path) as session:
        export = session.write_calendar(tmp_path / "out.ics")
        assert (tmp_path / "out.ics").read_bytes() == export.data
        assert session.book.calendar == export.log
        assert export.log
        assert session.undo_label is None
    with opened(path) as session:
        assert session.book.calendar == export.log
        assert session.write_calendar(tmp_path / "out.ics").data == export.data


def test_the_calendar_of_another_book_is_replaced_only_where_that_is_asked(path: Path, tmp_path: Path) -> None:
    other = tmp_path / "other.json"
    with Session.create(other, replace(small_book(), key=KEY.replace("6", "7")), now=noon) as session:
        session.write_calendar(tmp_path / "out.ics")
    before = (tmp_path / "out.ics").read_bytes()
    with opened(path) as session:
        with pytest.raises(CannotWrite, match="another book wrote this calendar"):
            session.write_calendar(tmp_path / "out.ics")
        assert (tmp_path / "out.ics").read_bytes() == before
        assert session.book.calendar == ()
        data = session.write_calendar(tmp_path / "out.ics", replace=True).data
        assert (tmp_path / "out.ics").read_bytes() == data


@pytest.fixture
def dark(tmp_path: Path) -> Path:
    """A book with three holidays and nothing else."""
    days = [date(2026, 4, n) for n in (1, 8, 15)]
    holidays = tuple(DarkRange(f"d{n}", day, day, reason="away") for n, day in enumerate(days))
    with Session.create(tmp_path / "dark.json", Book(KEY, clock=date(2026, 3, 2), dark=holidays), now=noon):
        return tmp_path / "dark.json"


def test_entries_are_put_one_by_one_only_where_that_is_asked(dark: Path, tmp_path: Path) -> None:
    (tmp_path / "folder").mkdir()
    store = FolderStore(tmp_path / "folder")
    with opened(dark) as session:
        told = session.push_calendar(store)
        assert (store.tags(), session.book.calendar, read_put_list(dark)) == ({}, (), {})
        done = session.push_calendar(store, write=True)
        assert len(store.tags()) == len(session.book.calendar) == len(done.put) == 3
        assert read_put_list(dark)[store.address] == done.put
        assert told.put == {}
        name = sorted(store.tags())[0]
        (tmp_path / "folder" / name).unlink()
        session.push_calendar(store, write=True)
        assert name not in store.tags()
        session.push_calendar(store, write=True, take_back=True)
        assert name in store.tags()


class Failing(FolderStore):
    """Refuses all but the first entry."""

    def put(self, name: str, data: bytes, tag: str | None) -> str:
        if self.tags():
            raise CannotWrite("the disk is full", name, "free some space")
        return super().put(name, data, tag)


def test_what_was_put_before_it_failed_is_kept(dark: Path, tmp_path: Path) -> None:
    (tmp_path / "folder").mkdir()
    store = Failing(tmp_path / "folder")
    with opened(dark) as session:
        with pytest.raises(CannotWrite, match="the disk is full"):
            session.push_calendar(store, write=True)
        assert len(store.tags()) == 1
        assert {Path(name).stem for name in store.tags()} <= set(read_put_list(dark)[store.address])


def test_nothing_is_written_where_another_window_writes(path: Path, tmp_path: Path) -> None:
    (tmp_path / "folder").mkdir()
    store, before = FolderStore(tmp_path / "folder"), sorted(tmp_path.rglob("*.json"))
    with opened(path), opened(path) as reader:
        for refused in (
            lambda: reader.write_calendar(tmp_path / "out.ics"),
            lambda: reader.push_calendar(store, write=True),
            lambda: reader.save_calendar(()),
            lambda: reader.restore(1),
            lambda: reader.backup("asked for"),
            reader.mend,
            reader.undo,
            reader.redo,
            lambda: reader.do("nothing", lambda book: book),
            lambda: reader.make("nothing", lambda book: (book, 1)),
        ):
            with pytest.raises(BookInUse, match="another window has this book open for writing"):
                refused()
        reader.push_calendar(store)
    assert sorted(tmp_path.rglob("*.json")) == before
    assert not store.tags()
    assert not (tmp_path / "out.ics").exists()


def test_a_sheet_is_compared_then_written_in_one_step_after_a_backup(path: Path, tmp_path: Path) -> None:
    sheet = tmp_path / "pieces.csv"
    sheet.write_text("number,name,shown,collection\n1,Apron,yes,Camphor chest\n99,Muff,no,Camphor chest\n")
    with opened(path) as session:
        session.do("name a box", lambda book: book.put("boxes", Box("B")))
        before = session.book
        found = session.bring_in(sheet)
        assert session.book is before
        session.take_over(found)
        assert session.book.piece("1").shown.known is Known.YES
        assert session.undo_label == "bring pieces.csv in"
        assert [backup.reason for backup in session.backups()] == ["first save", "before import"]
        with pytest.raises(BadInput, match="the book has changed since the file was read; bring it in again"):
            session.take_over(found)
        session.take_over(session.bring_in(sheet))  # nothing is new, so nothing is done
        assert len(session.backups()) == 2
        sheet.write_text("number,name,collection\n1,Apron,Camphor chest\n1,Muff,Camphor chest\n")
        refused = session.bring_in(sheet)
        with pytest.raises(BadInput, match=f"{len(refused.refused)} refused; put them right and bring it in again"):
            session.take_over(refused)
        assert session.undo() == "bring pieces.csv in"


def test_a_book_is_made_only_where_that_is_asked(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="there is no book at"):
        opened(tmp_path / "new.json")
    assert list(tmp_path.iterdir()) == []
    with opened(tmp_path / "new.json", create=True) as session:
        assert len(session.book.key) == 36


def test_what_can_be_mended_is_told_and_mended_after_a_backup(path: Path) -> None:
    tree = json.loads(path.read_text())
    tree["pieces"]["1"]["box"] = "NOBOX"
    tree["journal"] = {"1": {"label": "half \ud800", "at": "2026-03-02T01:00:00Z", "changes": []}}
    path.write_text(json.dumps(tree))
    with opened(path) as session:
        assert session.against_place() is None
        book, told = session.mended()
        assert told == (
            "Box 'NOBOX' is added, for Apron is in it.",
            "The undo steps, which cannot be saved, are left out.",
        )
        assert session.check(book) == []
        kept = session.mend()
        assert (kept, session.book, session.check()) == (session.backups()[-1], book, [])
        assert session.undo_label is None
    path.chmod(0o444)
    with opened(path, write=False) as session:
        refusal = session.against_place()
        assert refusal is not None
        assert "the file may only be read" in refusal.sentence()
        assert session.mended() == (book, ())
