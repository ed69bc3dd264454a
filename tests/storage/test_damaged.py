"""Books that cannot be read: each says what is wrong, where, and the way back; none is ever overwritten."""

import json
import os
import shlex
from pathlib import Path

import pytest
from workroom_books import noon, small_book

from showrunner.domain import edits
from showrunner.domain.collection import Box
from showrunner.domain.piece import Known
from showrunner.errors import BadInput, BookDamaged, UnknownThing
from showrunner.session import Session

NO_BACKUP = "there is no backup to go back to, so mend it by hand or start another book."


@pytest.fixture
def path(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)  # a sentence is cut where a path is long
    path = Path("my books") / "book.json"
    with Session.create(path, small_book(), now=noon):
        pass
    return path


def refusal(path):
    data = path.read_bytes()
    sentences = set()
    for write in (True, False):
        with pytest.raises(BookDamaged) as caught:
            Session.open(path, write=write, now=noon)
        assert caught.value.exit_code == 3
        sentences.add(caught.value.sentence())
    assert path.read_bytes() == data
    (sentence,) = sentences
    return sentence


def with_document(path, table, number, document):
    tree = json.loads(path.read_text())
    tree[table][number] = document
    return json.dumps(tree).encode()


def test_a_truncated_book_names_the_newest_good_backup(path):
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 2])
    lines = whole[: len(whole) // 2].decode().split("\n")
    sentence = refusal(path)
    assert sentence.startswith(f"{path}: the file is broken (line {len(lines)}, column ")
    command = f"showrunner --book {shlex.quote(str(path))} restore 1"
    assert sentence.endswith(f"); it is left as it is; go back to the backup of 2 March 2026 with `{command}`.")


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "the file is empty"),
        (b"  \n", "the file is empty"),
        (b"\x00" * 400, "the file is broken (line 1, column 1)"),
        (b'{"meta": {"1": {"key": "\xff"}}}', "the file is garbled (at its sign 25)"),
        (b"[]", "the file is no book"),
        (b"7", "the file is no book"),
        (b"{}", "the file is no book"),
        (b'{"meta":{"1":{"schema":"2"}}}', "the file is no book"),
        (b'{"meta":{"1":{"schema":3}},"pieces":{"x":{}}}', "the file is no book"),
        (b'{"meta":{"1":{"schema":3}},"pieces":[]}', "the file is no book"),
        (b'{"meta":{"1":{"schema":NaN}}}', "the file holds what no book has"),
        (b"[" * 100_000, "the file holds what no book has"),
        (b'{"meta":{"1":{"schema":3}}}', "meta: key: it is missing"),
        (b'{"meta":{"1":{"schema":3,"key":"k"}},"hats":{}}', "the file has a table 'hats', which no book has"),
    ],
    ids=range(14),
)
def test_a_file_that_is_no_book(tmp_path, data, words):
    path = tmp_path / "book.json"
    path.write_bytes(data)
    assert refusal(path) == f"{path}: {words}; it is left as it is; {NO_BACKUP}"


@pytest.mark.parametrize(
    ("table", "document", "words"),
    [
        ("pieces", {"id": "9", "name": "Fan", "collection": "c", "box": 1}, "pieces, '9', box: 1 is not text"),
        ("pieces", {"id": "1", "name": "Fan", "collection": "c"}, "pieces, '1': two entries are called so"),
        ("pieces", {"name": "Fan", "collection": "c"}, "pieces, 'entry 77', id: it is missing"),
        ("pieces", {"id": "9", "name": "", "collection": "c"}, "pieces, '9', a piece needs a name"),
        ("journal", {"label": "x"}, "journal, entry 77: it is no undo step"),
        ("journal", {"label": "x", "changes": [["hats", 1, None, None]]}, "journal, entry 77: it is no undo step"),
        ("journal", {"label": "x", "changes": [[["meta"], 1, None, None]]}, "journal, entry 77: it is no undo step"),
        ("journal", {"label": "x", "changes": [["meta", 1, {}, None]]}, "journal, entry 77: it is no undo step"),
        ("journal", {"label": "x", "changes": [["pieces", 0, None, {}]]}, "journal, entry 77: it is no undo step"),
    ],
)  # fmt: skip
def test_a_bad_record_is_named(path, table, document, words):
    path.write_bytes(with_document(path, table, "77", document))
    command = f"showrunner --book '{path}'"
    way_out = f"go back to the backup of 2 March 2026 with `{command} restore 1`"
    if table == "journal":
        way_out = f"its undo steps are all that is damaged, so leave them with `{command} check --mend --write`"
    assert refusal(path) == f"{path}: {words}; it is left as it is; {way_out}."


def test_a_book_of_which_only_the_undo_steps_are_damaged_loses_nothing_but_them(path, said):
    path.write_bytes(damaged := with_document(path, "journal", "77", {"label": "x"}))
    code, out, err = said("--book", path, "check", "--mend")
    assert (code, err, path.read_bytes()) == (0, "", damaged)
    assert "Its undo steps are damaged and are left out." in out
    assert said("--book", path, "check", "--mend", "--write")[0] == 0
    with Session.open(path, now=noon) as session:
        assert (session.book, session.undo_label, session.check()) == (small_book(), None, [])
        assert damaged in [backup.path.read_bytes() for backup in session.backups()]


def test_a_backup_of_which_nothing_is_amiss_is_offered_before_a_newer_one(path):
    with Session.open(path, now=noon) as session:
        session.do("break it", lambda book: book.drop("boxes", "A"))
        session.backup("broken")
        session.do("mend it", lambda book: edits.put_box(book, Box("A", "tail chest")))
    path.write_bytes(b"damaged")
    assert " restore 1`" in refusal(path)


def test_a_document_with_a_number_of_5_000_digits(path):
    path.write_bytes(with_document(path, "pieces", "9" * 5_000, {"id": "9"}))
    assert "the file is no book" in refusal(path)


def test_a_damaged_backup_is_passed_over(path):
    with Session.open(path, now=noon) as session:
        session.do("mark", lambda book: edits.mark_shown(book, "4", Known.YES))
        session.backup("before import").path.write_bytes(b"{")
    path.write_bytes(b"")
    assert refusal(path).endswith(f"with `showrunner --book '{path}' restore 1`.")
    with pytest.raises(BookDamaged) as caught:
        Session.restore_file(path, 2, now=noon)
    assert caught.value.sentence() == (
        f"{path}: backup 2 cannot be restored (the file is broken (line 1, column 2)); choose another backup."
    )
    assert path.read_bytes() == b""


def test_restoring_puts_the_damaged_file_aside_untouched(path):
    for number in (1, 2):
        path.write_bytes(b"damaged %d" % number)
        path.chmod(0o640)
        aside = path.resolve().with_name(f"book.json.damaged-{number}")
        assert Session.restore_file(path, 1, now=noon) == [
            f"The file as it was is kept untouched as {aside}.",
            "Backup 1 of 2 March 2026 (first save) is the book now.",
        ]
        assert aside.read_bytes() == b"damaged %d" % number
        assert path.stat().st_mode & 0o777 == 0o640
        with Session.open(path, now=noon) as session:
            assert session.book == small_book()


def test_restoring_over_a_good_book_keeps_it_as_a_backup(path):
    with Session.open(path, now=noon) as session:
        session.do("mark", lambda book: edits.mark_shown(book, "1", Known.YES))
        changed = session.book
    assert Session.restore_file(path, 1, now=noon) == [
        "The book as it was is kept as backup 2.",
        "Backup 1 of 2 March 2026 (first save) is the book now.",
    ]
    with Session.open(path, now=noon) as session:
        assert session.book == small_book()
        session.restore(2)
        assert session.book == changed
        assert session.undo() == "mark"


def test_restoring_a_book_that_is_gone(path):
    path.unlink()
    with pytest.raises(BadInput) as caught:
        Session.open(path, now=noon)
    assert caught.value.sentence() == (
        f"there is no book at {path}; restore its last backup with `showrunner --book '{path}' restore 1`."
    )
    assert Session.restore_file(path, 1, now=noon) == ["Backup 1 of 2 March 2026 (first save) is the book now."]
    with pytest.raises(UnknownThing) as missing:
        Session.restore_file(path, 5, now=noon)
    assert missing.value.sentence() == f"{path.resolve()}: there is no backup 5; choose one of 1."
    assert [backup.number for backup in Session.backups_of(path)] == [1]


def test_a_missing_book_and_a_folder(tmp_path):
    path = tmp_path / "gone" / "book.json"
    with pytest.raises(BadInput) as caught:
        Session.open(path)
    assert caught.value.sentence() == (f"there is no book at {path}; check the path, or start a new book there.")
    assert caught.value.exit_code == 2
    assert not path.parent.exists()
    with pytest.raises(BadInput) as caught:
        Session.open(tmp_path)
    assert caught.value.sentence() == f"{tmp_path}: this is a folder, not a book; name the book file."
    assert list(tmp_path.iterdir()) == []


def test_a_file_that_may_not_be_read(path, monkeypatch):
    """The tests may run as root, whom no permission stops, so the refusal is simulated."""
    real = os.open

    def refuse(file, *arguments, **options):
        if file == path.resolve():
            raise PermissionError(13, "Permission denied")
        return real(file, *arguments, **options)

    monkeypatch.setattr(os, "open", refuse)
    assert refusal_only(path) == (
        f"{path}: it cannot be read, permission is refused; allow reading it, or restore a backup."
    )


def refusal_only(path):
    with pytest.raises(BookDamaged) as caught:
        Session.open(path, now=noon)
    return caught.value.sentence()


def test_a_damaged_undo_step_changes_nothing(path):
    path.write_bytes(
        with_document(
            path,
            "journal",
            "1",
            {"label": "mark", "at": "", "changes": [["pieces", 1, {"id": "1"}, {"id": "1", "name": "A"}]]},
        )
    )
    with Session.open(path, now=noon) as session:
        data = path.read_bytes()
        with pytest.raises(BookDamaged) as caught:
            session.undo()
        assert caught.value.sentence() == (
            f"{path}: the undo step 'mark' is damaged (pieces, '1', name: it is missing), and nothing was changed; "
            "change the book by hand."
        )
        assert path.read_bytes() == data
        assert session.book == small_book()
        assert session.undo_label == "mark"


def test_the_undo_steps_that_cannot_be_saved_are_named_with_their_number(path):
    with Session.open(path, now=noon) as session:
        for name in ("one", "two", "three"):
            session.do(f"name it {name}", lambda book, name=name: book.put("boxes", Box("A", name=name)))
        assert session.check() == []
    tree = json.loads(path.read_text())
    for number, sign in (("2", "\0"), ("3", "\ud800")):
        tree["journal"][number]["label"] += sign
    path.write_text(json.dumps(tree))
    with Session.open(path, write=False, now=noon) as session:
        (told,) = session.check()
    assert told.startswith("The undo step 'name it two\ufffd' (2 in all): it holds a broken letter")


def test_of_backups_that_all_have_something_amiss_the_newest_that_can_be_read_is_offered(path):
    with Session.open(path, now=noon) as session:
        for number in (2, 3, 4):
            session.do("box", lambda book, number=number: book.put("boxes", Box("A", name=f"{number}")))
            session.backup("asked for")
    for backup in Session.backups_of(path):
        tree = json.loads(backup.path.read_text())
        tree["boxes"]["1"]["name"] = "half \ud800"
        backup.path.write_text(json.dumps(tree))
    newest = Session.backups_of(path)[-1]
    newest.path.write_bytes(b"rubbish")
    path.write_bytes(b"")
    assert f"restore {newest.number - 1}`" in refusal(path)


@pytest.mark.parametrize("name", ["a\0b", "half \ud800"])
def test_a_name_that_no_file_can_have_is_refused(tmp_path, name):
    with pytest.raises(BadInput, match="this is no file name; name the book file"):
        Session.open(tmp_path / name, now=noon)


def test_of_several_descriptions_of_the_book_the_first_counts(path):
    path.write_bytes(with_document(path, "meta", "2", {"schema": 1, "key": "other"}))
    with Session.open(path, write=False, now=noon) as session:
        assert session.book == small_book()
