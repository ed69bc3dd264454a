"""An export: a folder of files that is written whole, replaced by the next one, and holds the book cell for cell."""

from __future__ import annotations

import csv
import errno
import io
import json
import os
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from effort import examples
from hypothesis import HealthCheck, assume, given
from hypothesis import strategies as st
from workroom_books import BOOKS, WHOLE_BOOKS, small_book

from showrunner.cli import run
from showrunner.demo_book import demo_path
from showrunner.domain.book import Book
from showrunner.errors import BadInput, CannotWrite
from showrunner.intake.exchange_file import bring_exchange
from showrunner.session import Session
from showrunner.storage import atomic
from showrunner.storage.csv_tables import to_csv_tables
from showrunner.storage.csv_text import read_sheet, restored
from showrunner.storage.exchange import published_schema, to_exchange
from showrunner.storage.exporting import export, exported_files

SLOW = examples(50, suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow])

HOSTILE = (
    "=1+1",
    "+61 3 0000",
    "-5",
    "@SUM(A1)",
    "\t=1+1",
    "\r=1+1",
    "'=1+1",
    "''",
    "[/]",
    "[bold]Gown [1912",
    "\nBEGIN:VEVENT",
    "a\r\nb",
    "\x1b[2J\x07",
    "\u202egown\u200f",
    'say "gown"; or, | "robe"',
    " spaced ",
    "\u2028",
    "\x85",
    "x" * 10_000,
    "桐箱 🧵",
)
"""Names that a spreadsheet, a terminal, a calendar or a reader of CSV might take for something else."""


@pytest.fixture(scope="module")
def demo() -> Book:
    with Session.open(demo_path(), write=False) as session:
        return session.book


def files_in(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def cells_of(data: bytes) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """The cells of a written sheet as the program reads them."""
    sheet = read_sheet(data, "sheet.csv")
    assert all(row.extra == () for row in sheet.rows)
    return tuple(map(restored, sheet.columns)), [tuple(map(restored, row.cells)) for row in sheet.rows]


def assert_cells_come_back(book: Book) -> None:
    tables = to_csv_tables(book)
    for file in exported_files(book):
        if file.name.endswith(".csv"):
            columns, rows = tables[file.name]
            assert cells_of(file.data) == (columns, list(rows)), file.name


# What is written


def test_every_table_the_book_and_its_schema_are_written(demo: Book, tmp_path: Path) -> None:
    folder = tmp_path / "a" / "b"
    written = export(demo, folder)
    found = files_in(folder)
    assert {file.name: file.data for file in written} == found
    assert set(found) == {"book.json", "exchange.schema.json", *to_csv_tables(demo)}
    assert found["book.json"] == to_exchange(demo)
    assert found["exchange.schema.json"] == published_schema()
    rows = {file.name: file.rows for file in written}
    assert (rows["pieces.csv"], rows["publications.csv"], rows["exchange.schema.json"]) == (59, 327, None)


def test_an_unchanged_book_gives_the_same_bytes_and_touches_no_file(demo: Book, tmp_path: Path) -> None:
    export(demo, tmp_path)
    first, times = files_in(tmp_path), {path.name: path.stat().st_ino for path in tmp_path.iterdir()}
    export(demo, tmp_path)
    assert files_in(tmp_path) == first
    assert {path.name: path.stat().st_ino for path in tmp_path.iterdir()} == times


def test_an_earlier_export_is_replaced_and_nothing_else(demo: Book, tmp_path: Path) -> None:
    export(small_book(), tmp_path)
    (tmp_path / "letters.csv").write_bytes(b"mine")
    (tmp_path / "notes").mkdir()
    export(demo, tmp_path)
    found = {path.name: path.read_bytes() for path in tmp_path.iterdir() if path.is_file()}
    assert found.pop("letters.csv") == b"mine"
    assert found == {file.name: file.data for file in exported_files(demo)}


@pytest.mark.parametrize("name", ["pieces.csv", "book.json", "exchange.schema.json"])
@pytest.mark.parametrize("content", [b"", b"id,name\r\n", b'{"format": "other"}', b"[]", b"[" * 100_000, b"\xff"])
def test_what_no_export_wrote_is_not_replaced(tmp_path: Path, name: str, content: bytes) -> None:
    (tmp_path / name).write_bytes(content)
    with pytest.raises(CannotWrite) as caught:
        export(small_book(), tmp_path)
    assert caught.value.sentence() == (
        f"{tmp_path / name}: it is there already and no export wrote it, so nothing was written; "
        "choose another folder for the export."
    )
    assert files_in(tmp_path) == {name: content}


def test_of_several_files_that_no_export_wrote_the_first_is_named(tmp_path: Path) -> None:
    for name in ("series.csv", "pieces.csv", "boxes.csv"):
        (tmp_path / name).touch()
    with pytest.raises(CannotWrite) as caught:
        export(small_book(), tmp_path)
    names = [name for name in to_csv_tables(small_book()) if (tmp_path / name).exists()]
    assert caught.value.where == str(tmp_path / names[0])
    assert caught.value.what.startswith("it is there already and 2 other files and no export wrote it")


def test_the_folder_of_the_book_itself_is_no_place(demo: Book, tmp_path: Path) -> None:
    Session.create(tmp_path / "book.json", small_book()).close()
    before = (tmp_path / "book.json").read_bytes()
    with pytest.raises(CannotWrite, match="no export wrote it"):
        export(demo, tmp_path)
    assert (tmp_path / "book.json").read_bytes() == before


def test_a_link_or_a_folder_of_a_files_name_is_not_replaced(tmp_path: Path) -> None:
    export(small_book(), tmp_path)
    elsewhere = tmp_path / "mine"
    elsewhere.write_bytes(b"mine")
    (tmp_path / "pins.csv").unlink()
    (tmp_path / "pins.csv").symlink_to(elsewhere)
    with pytest.raises(CannotWrite, match="it is a link or no plain file"):
        export(small_book(), tmp_path)
    assert elsewhere.read_bytes() == b"mine"
    (tmp_path / "pins.csv").unlink()
    (tmp_path / "pins.csv").mkdir()
    with pytest.raises(CannotWrite, match="it is a folder"):
        export(small_book(), tmp_path)


def test_a_file_where_the_folder_should_be_is_refused(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"mine")
    for folder in (tmp_path / "file", tmp_path / "file" / "deep"):
        with pytest.raises(CannotWrite, match="a file has its name"):
            export(small_book(), folder)
    assert files_in(tmp_path) == {"file": b"mine"}


def test_names_that_are_none_are_refused_in_words(tmp_path: Path) -> None:
    (tmp_path / "one").symlink_to(tmp_path / "two")
    (tmp_path / "two").symlink_to(tmp_path / "one")
    for folder in (Path("a\0b"), tmp_path / "one", tmp_path / ("x" * 300)):
        with pytest.raises(CannotWrite):
            export(small_book(), folder)


@pytest.mark.parametrize(
    ("number", "said"), [(errno.ENOSPC, "the disk is full"), (errno.EACCES, "permission is refused")]
)
def test_a_disk_that_refuses_is_told_and_the_next_export_goes_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int, said: str
) -> None:
    real, left = os.fsync, [6]

    def fsync(handle: int) -> None:
        left[0] -= 1
        if left[0] < 0:
            raise OSError(number, os.strerror(number))
        real(handle)

    with monkeypatch.context() as patched:
        patched.setattr(atomic.os, "fsync", fsync)
        with pytest.raises(CannotWrite) as caught:
            export(small_book(), tmp_path)
    assert f"it was not saved, {said}" in caught.value.sentence()
    whole = {file.name: file.data for file in exported_files(small_book())}
    half = files_in(tmp_path)
    assert 0 < len(half) < len(whole)
    assert half.items() <= whole.items()
    export(small_book(), tmp_path)
    assert files_in(tmp_path) == whole


def test_a_folder_that_may_not_be_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the system lets this user write everywhere, as it often does root, its refusal is said for it."""

    folder = tmp_path / "closed"
    opened = os.open

    def refuse(path: Any, *how: Any, **more: Any) -> Any:
        if isinstance(path, Path) and path.parent == folder:
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(path))
        return opened(path, *how, **more)

    folder.mkdir(mode=0o500)
    try:
        (folder / "trial").touch()
    except PermissionError:
        pass
    else:
        (folder / "trial").unlink()
        monkeypatch.setattr(os, "open", refuse)
    with pytest.raises(CannotWrite, match="permission is refused"):
        export(small_book(), folder)
    monkeypatch.undo()
    assert not list(folder.iterdir())


def test_text_that_no_sheet_can_hold_is_named_by_its_file_and_nothing_is_written(tmp_path: Path) -> None:
    book = small_book()
    book = book.put("pieces", replace(book.piece("1"), notes="half\0torn"))
    with pytest.raises(BadInput) as caught:
        export(book, tmp_path / "out")
    assert caught.value.sentence().startswith("pieces.csv, text near '")
    assert not (tmp_path / "out").exists()


# The command


def test_the_command_works_beside_an_open_window(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path, folder = tmp_path / "mine.json", tmp_path / "out"
    with Session.create(path, small_book()):
        assert run(["--book", str(path), "export", str(folder)]) == 0
    out = capsys.readouterr().out.splitlines()
    assert out[0] == f"Wrote 19 files into {folder}:"
    assert out[1].split() == ["file", "rows"]
    assert [line.split() for line in out[2:]][:2] == [["book.json", "22"], ["exchange.schema.json"]]
    assert ["pieces.csv", "10"] in [line.split() for line in out]
    assert len(out) == 21
    assert files_in(folder)["book.json"] == to_exchange(small_book())


def test_the_command_refuses_in_one_sentence(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "book.json"
    Session.create(path, small_book()).close()
    assert run(["--book", str(path), "export", str(tmp_path)]) == 2
    err = capsys.readouterr().err
    assert err.count("\n") == 1
    assert "no export wrote it" in err


# What comes back


def test_the_demo_comes_back_cell_for_cell_and_byte_for_byte(demo: Book) -> None:
    assert_cells_come_back(demo)
    data = next(file.data for file in exported_files(demo) if file.name == "book.json")
    assert to_exchange(bring_exchange(Book("fresh"), data, "book.json").after) == data


@SLOW
@given(WHOLE_BOOKS)
def test_a_whole_book_comes_back_by_its_export(book: Book) -> None:
    assume(b"\\u0000" not in to_exchange(book))
    files = {file.name: file.data for file in exported_files(book)}
    again = bring_exchange(Book("fresh"), files["book.json"], "book.json")
    assert again.faults == ()
    assert {file.name: file.data for file in exported_files(again.after)} == files


@pytest.mark.slow
@SLOW
@given(BOOKS)
def test_every_cell_of_any_book_comes_back_and_none_is_a_formula(book: Book) -> None:
    assume(b"\\u0000" not in to_exchange(book))
    assert_cells_come_back(book)
    for file in exported_files(book):
        if file.name.endswith(".csv"):
            raw = csv.reader(io.StringIO(file.data.decode("utf-8-sig"), newline=""), strict=True)
            assert not [cell for row in raw for cell in row if cell.startswith(("=", "+", "-", "@", "\t", "\r"))]


def _renamed(book: Book, name: str) -> Book:
    """The book with one name for everything that has one."""
    return replace(
        book,
        collections=tuple(replace(record, name=name) for record in book.collections),
        boxes=tuple(replace(record, name=name, where=name) for record in book.boxes),
        pieces=tuple(replace(p, name=name, notes=name, points=(name,), materials=(name,)) for p in book.pieces),
        rules=tuple(replace(record, name=name) for record in book.rules),
        series=tuple(replace(record, name=name) for record in book.series),
        episodes=tuple(replace(record, title=name, notes=name) for record in book.episodes),
        publications=tuple(replace(record, title=name, link=name) for record in book.publications),
        house=replace(book.house, presenter=name),
    )


@pytest.mark.parametrize("name", HOSTILE, ids=lambda name: ascii(name)[:20])
def test_hostile_names_come_back(name: str) -> None:
    # A name of spaces alone is none, so each has a letter beside it where it needs one.
    book = _renamed(small_book(), name if name.strip() else f"{name}x{name}")
    assert_cells_come_back(book)
    data = to_exchange(book)
    intake = bring_exchange(Book("fresh"), data, "book.json")
    assert intake.faults == ()
    assert intake.after == book
    assert to_exchange(intake.after) == data
    assert all(row.name.isprintable() and len(row.name) < 80 for row in intake.rows)


@SLOW
@given(st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), min_size=1, max_size=30))
def test_any_name_comes_back(name: str) -> None:
    book = _renamed(small_book(), f"{name}x")
    assert_cells_come_back(book)
    assert bring_exchange(Book("fresh"), to_exchange(book), "book.json").after == book


def test_the_schema_beside_the_book_is_json(tmp_path: Path) -> None:
    export(small_book(), tmp_path)
    tree: Any = json.loads((tmp_path / "exchange.schema.json").read_bytes())
    assert tree["$schema"] == "https://json-schema.org/draft/2020-12/schema"


# What stands in the way


def refusal_of(book: Book, folder: Path) -> str:
    with pytest.raises(CannotWrite) as told:
        export(book, folder)
    return told.value.sentence()


@pytest.mark.parametrize(
    ("names", "told"),
    [
        (["pieces.csv"], "there already and no export"),
        (["pieces.csv", "boxes.csv"], "there already and 1 other file and no export"),
        (["pieces.csv", "boxes.csv", "episodes.csv"], "there already and 2 other files and no export"),
    ],
)
def test_how_many_files_are_in_the_way_is_told(tmp_path: Path, names: list[str], told: str) -> None:
    for name in names:
        (tmp_path / name).write_bytes(b"mine")
    assert told in refusal_of(small_book(), tmp_path)


@pytest.mark.parametrize("odd", ["folder", "link", "lost link"])
def test_folders_and_links_are_not_replaced_and_nothing_is_written(tmp_path: Path, odd: str) -> None:
    path = tmp_path / "pieces.csv"
    if odd == "folder":
        path.mkdir()
    else:
        (tmp_path / "other").touch()
        path.symlink_to(tmp_path / ("other" if odd == "link" else "none"))
    kind = "it is a folder" if odd == "folder" else "it is a link or no plain file"
    told = f"{path}: it was not replaced, {kind}; choose another folder for the export."
    assert refusal_of(small_book(), tmp_path) == told
    assert not (tmp_path / "book.json").exists()
    path.rmdir() if odd == "folder" else path.unlink()
    (tmp_path / "book.json").symlink_to(tmp_path / "elsewhere.json")
    assert "book.json: it was not replaced, it is a link" in refusal_of(small_book(), tmp_path)


def test_what_a_killed_export_left_is_swept_beside_what_is_written_anew(tmp_path: Path) -> None:
    export(small_book(), tmp_path)
    for name in ("pieces.csv", "boxes.csv"):
        (tmp_path / f".{name}.12-0123abcd.tmp").touch()
    (tmp_path / "pieces.csv").write_bytes(b"older")
    export(small_book(), tmp_path)
    assert [p.name for p in tmp_path.iterdir() if p.name.endswith(".tmp")] == [".boxes.csv.12-0123abcd.tmp"]


def test_a_file_of_the_same_length_that_says_something_else_is_written_anew(tmp_path: Path) -> None:
    export(small_book(), tmp_path)
    good = (tmp_path / "pieces.csv").read_bytes()
    (tmp_path / "pieces.csv").write_bytes(b"x" * len(good))
    export(small_book(), tmp_path)
    assert (tmp_path / "pieces.csv").read_bytes() == good


@pytest.mark.parametrize("name", ["a\0b", "half \ud800"])
def test_a_name_that_no_folder_has_is_refused(tmp_path: Path, name: str) -> None:
    assert "this is no name of a folder; choose another name" in refusal_of(small_book(), tmp_path / name)
