"""What was put into other stores, kept beside the book."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from showrunner.errors import CannotWrite
from showrunner.storage.put_list import Put, keep_put_list, put_list_path, read_put_list

HERE, THERE = "https://example.org/here/", "https://example.org/there/"
ONE, TWO = Put('"a"', "d1"), Put("", "", "sent")


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return tmp_path / "book.json"


def test_what_was_put_into_one_store_stays_as_others_change(book: Path) -> None:
    assert read_put_list(book) == {}
    keep_put_list(book, HERE, {"uid 2": TWO, "uid 1": ONE})
    keep_put_list(book, THERE, {"uid 1": ONE})
    assert read_put_list(book) == {HERE: {"uid 1": ONE, "uid 2": TWO}, THERE: {"uid 1": ONE}}
    keep_put_list(book, HERE, {})
    assert read_put_list(book) == {THERE: {"uid 1": ONE}}
    assert put_list_path(book).name == "book.json.put"


def test_the_file_says_its_layout_and_only_what_there_is(book: Path) -> None:
    keep_put_list(book, HERE, {"uid 2": TWO, "uid 1": ONE})
    kept = json.loads(put_list_path(book).read_bytes())
    entries = {"uid 1": {"tag": '"a"', "digest": "d1"}, "uid 2": {"tag": "", "digest": "", "sent": "sent"}}
    assert kept == {"layout": 1, "stores": {HERE: entries}}
    assert put_list_path(book).read_text() == json.dumps({"layout": 1, "stores": {HERE: entries}}, indent=1)


def test_what_says_the_same_is_not_written_anew(book: Path) -> None:
    keep_put_list(book, HERE, {})
    assert not put_list_path(book).exists()
    keep_put_list(book, HERE, {"uid 1": ONE})
    before = put_list_path(book).stat()
    keep_put_list(book, HERE, {"uid 1": ONE})
    assert put_list_path(book).stat().st_ino == before.st_ino


def test_what_a_killed_writer_left_is_taken_away(book: Path) -> None:
    stray = book.with_name(".book.json.put.17-0123abcd.tmp")
    stray.touch()
    keep_put_list(book, HERE, {"uid 1": ONE})
    assert not stray.exists()


def refusal(book: Path) -> str:
    with pytest.raises(CannotWrite) as caught:
        read_put_list(book)
    assert caught.value.where == str(put_list_path(book))
    return f"{caught.value.what}; {caught.value.way_out}"


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "[]",
        "3",
        "{}",
        '{"layout": 1}',
        '{"layout": 1, "stores": 3}',
        '{"layout": 1, "stores": {"a": 3}}',
        '{"layout": 1, "stores": {"a": {"b": {"tag": ""}}}}',
        "[" * 100_000,
    ],
    ids=range(10),
)
def test_a_damaged_list_is_told(book: Path, text: str) -> None:
    put_list_path(book).write_text(text)
    told = "the list of what was put is damaged; move it away; what is there already is then compared with the book"
    assert refusal(book) == told


def test_a_list_of_a_newer_version_is_told(book: Path) -> None:
    put_list_path(book).write_text('{"layout": 2, "stores": {}}')
    assert refusal(book) == "a newer version wrote it; use that version"


def test_what_cannot_be_read_is_told(book: Path) -> None:
    put_list_path(book).touch()
    os.truncate(put_list_path(book), 50_000_000)
    assert "is damaged" in refusal(book)
    os.truncate(put_list_path(book), 50_000_001)
    assert refusal(book) == "it cannot be read (its 50 MB are too much to read); allow reading it"
    put_list_path(book).unlink()
    put_list_path(book).mkdir()
    assert refusal(book) == "it cannot be read (it is a folder and no ordinary file); allow reading it"
