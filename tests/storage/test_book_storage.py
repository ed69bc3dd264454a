import errno
import json
import os
import stat
from pathlib import Path

import pytest

from showrunner.errors import BadInput, CannotWrite
from showrunner.storage import book_storage
from showrunner.storage.atomic import NotConfirmed
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


def test_a_file_that_was_only_touched_or_is_gone_did_not_change(tables, tmp_path):
    path, storage = tmp_path / "book.json", tables.storage
    assert storage.changed_on_disk() is False
    os.utime(path, ns=(1, 1))
    assert storage.changed_on_disk() is False
    assert storage.mark_on_disk()[0] == 1
    path.write_bytes(storage.saved + b" ")
    assert storage.changed_on_disk() is True
    path.unlink()
    assert storage.changed_on_disk() is False
    tables.records("pieces").insert({"id": "1"})  # it is simply written again
    assert json.loads(path.read_text())["pieces"] == {"1": {"id": "1"}}


def test_a_file_that_was_touched_is_read_once(tables, tmp_path, monkeypatch):
    os.utime(tmp_path / "book.json", ns=(1, 1))
    read = []
    monkeypatch.setattr(book_storage, "read_ordinary", lambda path: read.append(path) or path.read_bytes())
    assert [tables.storage.changed_on_disk() for _ in range(3)] == [False] * 3
    assert len(read) == 1


def test_what_was_saved_but_not_confirmed_is_what_memory_holds(tables, tmp_path, monkeypatch):
    real = os.fsync

    def fails(handle):
        if stat.S_ISDIR(os.fstat(handle).st_mode):
            raise OSError(errno.EIO, "")
        real(handle)

    monkeypatch.setattr(os, "fsync", fails)
    tables.storage._migrated = True
    with pytest.raises(NotConfirmed), tables.storage.transaction():
        tables.records("pieces").insert({"id": "1"})
    assert tables.storage.migrated is False
    assert tables.storage.saved == (tmp_path / "book.json").read_bytes()
    assert tables.storage.changed_on_disk() is False
    assert [d["id"] for d in tables.records("pieces").in_order()] == ["1"]


def test_what_took_the_name_before_it_failed_is_what_memory_holds(tables, tmp_path, monkeypatch):
    """A signal may come at any instant, also after the new file is there."""
    write = book_storage.write_whole

    def stopped(path, *data):
        write(path, *data)
        raise KeyboardInterrupt

    monkeypatch.setattr(book_storage, "write_whole", stopped)
    with pytest.raises(KeyboardInterrupt):
        tables.records("pieces").insert({"id": "1"})
    assert tables.storage.saved == (tmp_path / "book.json").read_bytes()
    assert tables.storage.changed_on_disk() is False
    assert [d["id"] for d in tables.records("pieces").in_order()] == ["1"]


def test_a_table_that_is_left_aside_is_empty_and_an_older_layout_is_known(tables, tmp_path):
    assert tables.storage.migrated is False
    tables.records("pieces").insert({"id": "1"})
    again = BookTables(tmp_path / "book.json")
    assert (again.storage.migrated, again.storage.saved) == (False, b"")
    again.storage.load(without=("pieces",))
    assert again.records("pieces").in_order() == []
    assert (again.storage.migrated, again.storage.saved) == (False, tables.storage.saved)
    old = {"meta": {"1": {"schema": SCHEMA - 1, "key": "k"}}}
    (tmp_path / "old.json").write_text(json.dumps(old))
    older = BookTables(tmp_path / "old.json")
    older.storage.load()
    assert older.storage.migrated is True
    with older.storage.transaction():
        pass
    assert older.storage.migrated is False
    assert json.loads((tmp_path / "old.json").read_text())["meta"]["1"]["schema"] == SCHEMA


def test_a_failed_first_save_leaves_nothing(tmp_path, monkeypatch):
    new = BookTables(tmp_path / "new.json")

    def full(handle):
        raise OSError(errno.ENOSPC, "")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(CannotWrite):
        new.records("pieces").insert({"id": "1"})
    assert (new.records("pieces").in_order(), new.storage.saved) == ([], b"")
    assert list(tmp_path.iterdir()) == []


def test_documents_are_made_again_only_where_they_changed(tables):
    records = tables.records("pieces")
    records.change({1: {"id": "a"}, 2: {"id": "b"}})
    first = records.in_order()
    records.change({2: {"id": "c"}, 10: {"id": "d"}})
    second = records.in_order()
    assert second[0] is first[0]
    assert [(d.doc_id, d["id"]) for d in second] == [(1, "a"), (2, "c"), (10, "d")]
    assert tables.storage.sizes("pieces") == {"1": 10, "2": 10, "10": 10}


def test_a_file_that_was_just_read_is_not_read_again_to_see_whether_it_changed(tables, tmp_path, monkeypatch):
    again = BookTables(tmp_path / "book.json")
    again.storage.load()
    monkeypatch.setattr(book_storage, "read_ordinary", None)
    assert again.storage.changed_on_disk() is False


@pytest.mark.parametrize("told", [RuntimeError("no home"), "~/.local/share/showrunner"])
def test_without_a_home_the_book_has_no_place(monkeypatch, told):
    """Newer versions of the library that knows the folders raise, older ones leave the sign."""
    import platformdirs

    def folder(*_, **__):
        if isinstance(told, RuntimeError):
            raise told
        return told

    monkeypatch.setattr(platformdirs, "user_data_dir", folder)
    with pytest.raises(BadInput, match="no home folder is known in which your book could be; name it with --book PATH"):
        default_path()
