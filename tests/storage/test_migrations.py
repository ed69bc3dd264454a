import copy
import errno
import json
import os
from datetime import date, time

import pytest
from workroom_books import noon

from showrunner.domain.episode import StageMinutes
from showrunner.errors import BookDamaged
from showrunner.session import Session
from showrunner.storage.book_text import Unreadable, schema_of
from showrunner.storage.migrations import MIGRATIONS, SCHEMA, brought_along, hours_to_minutes, migrate

VERSION_1 = {
    "meta": {
        "1": {
            "schema": 1,
            "key": "k",
            "clock": "2026-03-02",
            "house": {"zone": "Australia/Hobart", "work_hours": [0, 2, 2, 2.5, 0, 4, 0.1], "lead_days": 2},
        }
    },
    "collections": {"1": {"id": "c", "name": "Chest"}},
    "pieces": {"1": {"id": "1", "name": "Apron", "collection": "c", "handling": {"form_minutes": 20}}},
    "rules": {
        "1": {"id": "sun", "name": "feature", "weekday": 6, "at": "09:00", "zone": "UTC", "standing_hours": 4.25},
        "2": {"id": "wed", "name": "diary", "weekday": 2, "at": "18:30", "zone": "UTC"},
    },
    "series": {
        "1": {
            "id": "s",
            "name": "Hour",
            "collection": "c",
            "rules": ["sun"],
            "stages": {"research": 3, "shoot": 4.0, "edit": 7.75},
        }
    },
    "episodes": {
        "1": {"id": "apron", "title": "Apron", "series": "s", "pieces": ["1"], "stages": {"edit": 1.5}},
        "2": {"id": "talk", "title": "Talk", "kind": "filler", "rule": "sun"},
    },
    "journal": {
        "1": {
            "label": "give the apron less work",
            "at": "2026-03-01T00:00:00Z",
            "changes": [
                [
                    "episodes",
                    1,
                    {"id": "apron", "title": "Apron", "series": "s", "pieces": ["1"], "stages": {"edit": 6}},
                    {"id": "apron", "title": "Apron", "series": "s", "pieces": ["1"], "stages": {"edit": 1.5}},
                ],
                [
                    "meta",
                    1,
                    {"schema": 1, "key": "k", "clock": "2026-03-02", "house": {"work_hours": [1, 0, 0, 0, 0, 0, 0]}},
                    {"schema": 1, "key": "k", "clock": "2026-03-02"},
                ],
            ],
        }
    },
}


def test_there_is_a_way_from_every_older_version():
    assert sorted(MIGRATIONS) == list(range(1, SCHEMA))


def test_hours_become_minutes_and_the_argument_stays():
    before = copy.deepcopy(VERSION_1)
    tree = hours_to_minutes(VERSION_1)
    assert before == VERSION_1
    assert tree["meta"]["1"] == {
        "schema": 2,
        "key": "k",
        "clock": "2026-03-02",
        "house": {"zone": "Australia/Hobart", "lead_days": 2, "work_minutes": [0, 120, 120, 150, 0, 240, 6]},
    }
    assert tree["rules"]["1"]["standing_minutes"] == 255
    assert "standing_hours" not in tree["rules"]["1"]
    assert tree["rules"]["2"] == VERSION_1["rules"]["2"]
    assert tree["series"]["1"]["stages"] == {"research": 180, "shoot": 240, "edit": 465}
    assert tree["episodes"]["1"]["stages"] == {"edit": 90}
    assert tree["episodes"]["2"] == VERSION_1["episodes"]["2"]
    assert tree["pieces"] == VERSION_1["pieces"]
    change = tree["journal"]["1"]["changes"][0]
    assert (change[2]["stages"], change[3]["stages"]) == ({"edit": 360}, {"edit": 90})


def test_the_present_layout_is_left_alone():
    tree = {"meta": {"1": {"schema": SCHEMA, "key": "k"}}}
    assert migrate(tree) is tree


@pytest.mark.parametrize("document", [{"features": 3}, {"features": [3]}, 3, None, [], {"id": "1"}])
def test_a_record_of_an_export_that_is_too_garbled_stays_as_it_is(document):
    assert brought_along("pieces", document) == document


def test_a_book_that_knew_less_of_wants_and_boxes_is_brought_along_as_it_was():
    tree = {
        "meta": {"1": {"schema": 7, "key": "k"}},
        "boxes": {"1": {"id": "A", "name": "tail chest"}},
        "pieces": {"1": {"id": "b", "name": "Drum", "collection": "c", "want": {"status": "arrived", "paid": "60"}}},
        "journal": {},
    }
    before = copy.deepcopy(tree)
    assert migrate(tree) == {**before, "meta": {"1": {"schema": SCHEMA, "key": "k"}}}
    assert tree == before


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda tree: tree["meta"]["1"].update(schema=0), "the file says it has layout 0, which never was"),
        (lambda tree: tree.update(hats={}), "the file has a table 'hats', which no book has"),
        (
            lambda tree: tree["meta"]["1"]["house"].update(work_hours=["two"]),
            "the file cannot be brought from layout 1 to 2",
        ),
        (
            lambda tree: tree["journal"]["1"].update(changes=[[1]]),
            "the file cannot be brought from layout 1 to 2",
        ),
    ],
)
def test_what_cannot_be_brought_along_is_refused(change, words):
    tree = copy.deepcopy(VERSION_1)
    change(tree)
    with pytest.raises(Unreadable) as caught:
        migrate(tree)
    assert str(caught.value) == words


def written(tmp_path):
    path = tmp_path / "book.json"
    path.write_text(json.dumps(VERSION_1))
    return path


def check_book(book):
    assert book.house.work_minutes == (0, 120, 120, 150, 0, 240, 6)
    assert book.rule("sun").standing_minutes == 255
    assert book.rule("sun").at == time(9)
    assert book.series_of("s").stages == StageMinutes(180, 0, 240, 465)
    assert book.clock == date(2026, 3, 2)


def test_a_writer_keeps_the_old_file_as_a_backup_and_brings_it_along(tmp_path):
    path = written(tmp_path)
    old = path.read_bytes()
    with Session.open(path, now=noon) as session:
        check_book(session.book)
        assert session.warnings == ()
        kept = [(b.number, b.reason, b.path.read_bytes() == old) for b in session.backups()]
        assert kept[0] == (1, "before migration", True)
        assert json.loads(path.read_text())["meta"]["1"]["schema"] == SCHEMA
        assert session.undo() == "give the apron less work"
        assert session.book.episode("apron").stages == StageMinutes(edit=360)
        assert session.book.house.work_minutes == (60, 0, 0, 0, 0, 0, 0)
        assert json.loads(path.read_text())["meta"]["1"]["schema"] == SCHEMA
        undone = session.book
    with Session.open(path, now=noon) as session:  # nothing is brought along twice
        assert session.book == undone
        assert session.redo() == "give the apron less work"
        assert json.loads(path.read_text())["meta"]["1"]["schema"] == SCHEMA


def test_a_writer_that_cannot_save_yet_tells_so_and_brings_it_along_later(tmp_path, monkeypatch):
    path = written(tmp_path)
    old = path.read_bytes()

    def full(*_):
        raise OSError(errno.ENOSPC, "")

    with monkeypatch.context() as patch:
        patch.setattr(os, "replace", full)
        session = Session.open(path, now=noon)
    with session:
        told = [warning.partition(":")[0] for warning in session.warnings]
        assert told == [
            "The backup (before migration) could not be made",
            f"The book could not be brought to layout {SCHEMA} on disk yet",
        ]
        assert all("the disk is full" in warning for warning in session.warnings)
        check_book(session.book)
        assert path.read_bytes() == old
        assert session.undo() == "give the apron less work"
        assert json.loads(path.read_text())["meta"]["1"]["schema"] == SCHEMA
        assert [(b.reason, b.path.read_bytes() == old) for b in session.backups()] == [("first save", True)]


def test_a_reader_brings_it_along_in_memory_only(tmp_path):
    path = written(tmp_path)
    old = path.read_bytes()
    with Session.open(path, write=False, now=noon) as session:
        check_book(session.book)
        assert session.backups() == ()
    assert path.read_bytes() == old
    assert sorted(p.name for p in tmp_path.iterdir()) == ["book.json"]


def test_a_backup_of_an_older_layout_can_be_restored(tmp_path):
    path = written(tmp_path)
    with Session.open(path, now=noon) as session:
        session.restore(1)
        check_book(session.book)
    with Session.open(path, now=noon) as session:
        check_book(session.book)


def test_a_book_of_a_newer_version_is_left_as_it_is(tmp_path):
    path = tmp_path / "book.json"
    path.write_text(f'{{"meta":{{"1":{{"schema":{SCHEMA + 1},"key":"k","new":1}}}},"hats":{{}}}}')
    old = path.read_bytes()
    for write in (True, False):
        with pytest.raises(BookDamaged) as caught:
            Session.open(path, write=write, now=noon)
        assert caught.value.sentence() == (
            f"{path}: a newer version of showrunner wrote this book "
            f"(layout {SCHEMA + 1}; this version knows {SCHEMA}), and nothing was changed; use that newer version."
        )
    assert path.read_bytes() == old


def test_layout_9_names_the_two_sides_of_a_form() -> None:
    def feature(view: str, where: str = "") -> dict[str, str]:
        return {"what": "hem", "view": view, "where": where}

    old = {
        "meta": {"1": {"schema": 8, "key": "k", "house": {"standard_views": ["inside", "form side", "form back"]}}},
        "collections": {"1": {"id": "c", "name": "Chest"}},
        "pieces": {
            "1": {
                "id": "1",
                "name": "Apron",
                "collection": "c",
                "features": [
                    feature("form side"),
                    feature("form side", "wearer's right hip"),
                    feature("form side", "wearer's left hip"),
                    feature("form front", "wearer's right"),
                ],
            },
            "2": {"id": "2", "name": "Cap", "collection": "c"},
        },
        "log": {
            "1": {"id": "l1", "subject": "1/form side"},
            "2": {"id": "l2", "subject": "1+2/form side", "view": "form side"},
            "3": {"id": "l3", "subject": "1/say/form side", "view": "inside"},
        },
        "journal": {
            "1": {
                "label": "x",
                "at": "2026-03-01T00:00:00Z",
                "changes": [["pieces", 1, None, {"id": "1", "features": [feature("form side", "right")]}]],
            }
        },
    }
    before = copy.deepcopy(old)
    new = migrate(old)
    assert old == before
    assert new["meta"]["1"]["house"]["standard_views"] == ["inside", "form left", "form right", "form back"]
    views = [one["view"] for one in new["pieces"]["1"]["features"]]
    assert views == ["form left", "form right", "form left", "form front"]
    assert [line["subject"] for line in new["log"].values()] == ["1/form left", "1+2/form left", "1/say/form side"]
    assert [line.get("view") for line in new["log"].values()] == [None, "form left", "inside"]
    assert new["journal"]["1"]["changes"][0][3]["features"][0]["view"] == "form right"
    assert new["pieces"]["2"] == old["pieces"]["2"]


@pytest.mark.parametrize("version", MIGRATIONS)
def test_each_step_leads_to_the_next_layout(version: int) -> None:
    tree = {"meta": {"1": {"schema": version, "key": "k"}}}
    assert schema_of(MIGRATIONS[version](tree)) == version + 1
    assert tree == {"meta": {"1": {"schema": version, "key": "k"}}}


@pytest.mark.parametrize("version", [0, -1])
def test_a_layout_that_never_was_is_told(version: int) -> None:
    with pytest.raises(Unreadable, match=f"the file says it has layout {version}, which never was"):
        migrate({"meta": {"1": {"schema": version}}})


def test_a_table_that_no_book_has_is_told_by_name() -> None:
    with pytest.raises(Unreadable, match="the file has a table 'hats', which no book has"):
        migrate({"meta": {"1": {"schema": SCHEMA}}, "hats": {}, "shoes": {}})
