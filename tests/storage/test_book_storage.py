import errno
import json
import os
from pathlib import Path

import pytest

from showrunner.errors import CannotWrite
from showrunner.storage.book_storage import BookTables, FileChanged
from showrunner.storage.migrations import SCHEMA
from showrunner.storage.place import default_path


@pytest.fixture
def tables(tmp_path):
    tables = BookTables(tmp_path / "book.json")
    tables.records("meta").insert({"schema": SCHEMA, "key": "k"})
    return tables


def test_a_table_operation_by_itself_is_saved_at_once(tables, tmp_path):
    tables.records("pieces").insert({"id": "1"})
    assert json.loads((tmp_path / "book.json").read_text())["pieces"] == {"1": {"id": "1"}}


def test_a_transaction_is_written_once(tables, monkeypatch):
    syncs = []
    real = os.fsync
    monkeypatch.setattr(os, "fsync", lambda handle: syncs.append(handle) or real(handle))
    with tables.storage.transaction():
        for number in range(5):
            tables.records("pieces").insert({"id": str(number)})
    assert len(syncs) == 2  # the file and its folder
    assert [document["id"] for document in tables.records("pieces").in_order()] == ["0", "1", "2", "3", "4"]


def test_a_failed_transaction_leaves_memory_as_the_disk(tables, tmp_path, monkeypatch):
    def full(handle):
        raise OSError(errno.ENOSPC, "")

    monkeypatch.setattr(os, "fsync", full)
    before = (tmp_path / "book.json").read_bytes()
    with pytest.raises(CannotWrite), tables.storage.transaction():
        tables.records("pieces").insert({"id": "1"})
        tables.records("meta").change({1: None})
    assert tables.records("pieces").all() == []
    assert tables.records("meta").all() == [{"schema": SCHEMA, "key": "k"}]
    assert (tmp_path / "book.json").read_bytes() == before


def test_a_file_changed_by_something_else_is_not_overwritten(tables, tmp_path):
    other = (tmp_path / "book.json").read_bytes() + b"\n"
    (tmp_path / "book.json").write_bytes(other)
    with pytest.raises(FileChanged):
        tables.records("pieces").insert({"id": "1"})
    assert (tmp_path / "book.json").read_bytes() == other
    assert tables.records("pieces").all() == []


def test_documents_are_put_removed_and_read_in_book_order(tables):
    records = tables.records("pieces")
    records.change({10: {"id": "x"}, 2: {"id": "y"}, 7: {"id": "z"}})
    records.change({7: None, 3: {"id": "w"}, 99: None})
    assert [(d.doc_id, d["id"]) for d in records.in_order()] == [(2, "y"), (3, "w"), (10, "x")]
    assert records.get(doc_id=3) == {"id": "w"}


def test_the_book_has_a_place_of_its_own(monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", "/home/posy/data")
    assert default_path().name == "book.json"
    assert default_path().parent.name == "showrunner"
    if os.name == "posix" and os.uname().sysname == "Linux":
        assert default_path() == Path("/home/posy/data/showrunner/book.json")
