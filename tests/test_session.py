"""An open book: saving, undo across runs, one writer, backups, and every way a file can go wrong."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from workroom_books import noon, small_book

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.house import HouseRules
from showrunner.domain.piece import Known, Piece
from showrunner.errors import BadInput, BookDamaged, BookInUse, CannotWrite, ShowrunnerError
from showrunner.planning.results import Unsure
from showrunner.session import Session
from showrunner.storage import atomic
from showrunner.storage.backups import KEPT

ROOT = Path(__file__).parents[1]


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "book.json"
    Session.create(path, small_book(), now=noon).close()
    return path


def opened(path: Path, **how: object) -> Session:
    return Session.open(path, now=noon, **how)  # type: ignore[arg-type]


def rename(title: str) -> object:
    return lambda book: edits.put_episode(book, replace(book.episode("apron"), title=title))


def test_an_action_is_on_disk_at_once(path: Path) -> None:
    with opened(path) as session:
        session.do("rename", lambda book: edits.put_episode(book, replace(book.episode("apron"), title="New")))
        with opened(path, write=False) as other:
            assert other.book.episode("apron").title == "New"
            assert other.book == session.book


def test_undo_and_redo_go_on_in_the_next_run(path: Path) -> None:
    first = small_book()
    with opened(path) as session:
        session.do("mark", lambda book: edits.mark_shown(book, "1", Known.YES))
        session.do("rename", lambda book: edits.put_episode(book, replace(book.episode("apron"), title="New")))
        last = session.book
    with opened(path) as session:
        assert (session.undo_label, session.redo_label) == ("rename", None)
        assert [session.undo(), session.undo()] == ["rename", "mark"]
        assert session.book == first
        with pytest.raises(ShowrunnerError, match="nothing to undo"):
            session.undo()
    with opened(path) as session:
        assert [session.redo(), session.redo()] == ["mark", "rename"]
        assert session.book == last


def test_a_new_action_forgets_what_was_undone(path: Path) -> None:
    with opened(path) as session:
        session.do("one", lambda book: edits.mark_shown(book, "1", Known.YES))
        session.undo()
        session.do("two", lambda book: edits.mark_shown(book, "2", Known.YES))
        assert session.redo_label is None


def test_an_edit_that_changes_nothing_saves_nothing(path: Path) -> None:
    before = path.read_bytes()
    with opened(path) as session:
        session.do("nothing", lambda book: book)
        assert session.undo_label is None
    assert path.read_bytes() == before


def test_a_refused_edit_changes_nothing(path: Path) -> None:
    before = path.read_bytes()
    with opened(path) as session:
        with pytest.raises(BadInput, match="is in the study"):
            session.do("pair", lambda book: edits.make_study(book, ("1",))[0])
        assert session.book == small_book()
    assert path.read_bytes() == before


def test_a_removed_piece_comes_back_to_its_place(path: Path) -> None:
    with opened(path) as session:
        order = [p.id for p in session.book.pieces]
        session.do("remove", lambda book: edits.remove_piece(book, "7"))
        session.undo()
        assert [p.id for p in session.book.pieces] == order


ACTIONS = st.lists(
    st.one_of(
        st.tuples(st.just("mark"), st.sampled_from("12345678"), st.sampled_from(list(Known))),
        st.tuples(st.just("add"), st.integers(10, 14), st.text(max_size=8)),
        st.tuples(st.just("remove"), st.sampled_from(("7", "8", "10", "11", "B1")), st.none()),
        st.tuples(st.just("house"), st.integers(0, 24), st.none()),
        st.tuples(st.just("split"), st.none(), st.none()),
    ),
    max_size=8,
)


def act(book: Book, action: tuple[str, object, object]) -> Book:
    kind, what, how = action
    if kind == "mark":
        return edits.mark_shown(book, str(what), Known(str(how)))
    if kind == "add":
        return edits.put_piece(book, Piece(str(what), f"p{how}", "dress"))
    if kind == "remove":
        return edits.remove_piece(book, str(what))
    if kind == "house":
        return edits.put_house(book, replace(book.house, work_minutes=(60 * int(str(what)),) * 7))
    return edits.split_study(book, "waistcoats")[0]


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(actions=ACTIONS)
def test_any_actions_can_be_undone_to_the_first_book_and_redone_to_the_last(
    actions: list[tuple[str, object, object]], tmp_path_factory: pytest.TempPathFactory
) -> None:
    path = tmp_path_factory.mktemp("books") / "book.json"
    with Session.create(path, small_book(), now=noon) as session:
        books = [session.book]
        for action in actions:
            try:
                session.do(action[0], lambda book, action=action: act(book, action))  # type: ignore[misc]
            except ShowrunnerError:
                continue
            if session.book != books[-1]:
                books.append(session.book)
        for book in reversed(books[:-1]):
            session.undo()
            assert session.book == book
        with opened(path, write=False) as other:
            assert other.book == books[0]
        for book in books[1:]:
            session.redo()
            assert session.book == book


def test_a_second_window_reads_and_follows(path: Path) -> None:
    with opened(path) as writer, opened(path) as reader:
        assert reader.read_only
        assert "another window" in reader.read_only_reason
        with pytest.raises(BookInUse):
            reader.do("mark", lambda book: edits.mark_shown(book, "1", Known.YES))
        assert not reader.follow()
        writer.do("mark", lambda book: edits.mark_shown(book, "1", Known.YES))
        assert reader.follow()
        assert reader.book == writer.book


def test_a_file_changed_elsewhere_is_not_overwritten(path: Path) -> None:
    with opened(path) as session:
        text = path.read_text().replace("Camphor chest", "Other chest")
        path.write_text(text)
        with pytest.raises(CannotWrite, match="something else changed the file"):
            session.do("mark", lambda book: edits.mark_shown(book, "1", Known.YES))
        assert path.read_text() == text
        assert session.follow()
        assert session.book.collections[0].name == "Other chest"


def test_a_full_disk_leaves_file_and_memory_as_they_were(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = path.read_bytes()

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    with opened(path) as session:
        monkeypatch.setattr(os, "fsync", full)
        with pytest.raises(CannotWrite) as refused:
            session.do("mark", lambda book: edits.mark_shown(book, "1", Known.YES))
        monkeypatch.undo()
        assert refused.value.sentence().count("\n") == 0
        assert session.book == small_book()
        assert path.read_bytes() == before
        assert not list(path.parent.glob("*.tmp*"))
        session.do("mark", lambda book: edits.mark_shown(book, "1", Known.YES))
    assert path.read_bytes() != before


def test_a_file_limit_of_the_system_leaves_the_file_whole(path: Path) -> None:
    """A real failed write: the child may write no file larger than the book is."""
    code = f"""
import resource, signal, sys
from pathlib import Path
from showrunner.domain import edits
from showrunner.domain.piece import Piece
from showrunner.errors import CannotWrite
from showrunner.session import Session
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
path = Path({str(path)!r})
with Session.open(path) as session:
    resource.setrlimit(resource.RLIMIT_FSIZE, (path.stat().st_size, path.stat().st_size))
    try:
        session.do("add", lambda b: edits.put_piece(b, Piece("99", "x" * 20000, "dress")))
    except CannotWrite as error:
        print(error.sentence())
"""
    before = path.read_bytes()
    done = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    assert done.stdout.count("\n") == 1
    assert path.read_bytes() == before


WRITER = """
import sys
from dataclasses import replace
from pathlib import Path
from showrunner.domain import edits
from showrunner.session import Session
session = Session.open(Path(sys.argv[1]))
print("ready", flush=True)
for n in range(10**6):
    title = "t" * (n * 37 % 3000 + 1)
    session.do(f"n{n}", lambda b: edits.put_episode(b, replace(b.episode("apron"), title=title)))
    print(n, flush=True)
"""


def killed_while_saving(path: Path, seconds: float) -> int:
    child = subprocess.Popen(
        [sys.executable, "-c", WRITER, str(path)],
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    assert child.stdout
    assert child.stdout.readline() == "ready\n"
    time.sleep(seconds)
    child.send_signal(signal.SIGKILL)
    told = [int(line) for line in child.stdout if line.strip().isdigit()]
    child.wait()
    return max(told, default=-1)


def holds_what_was_told(path: Path, told: int) -> None:
    with opened(path) as session:
        assert not session.read_only, "the lock of a dead process holds nobody up"
        if told >= 0:
            label = session.undo_label
            assert label is not None
            assert int(label[1:]) >= told, "an action that was told as done is on disk"
        assert not list(path.parent.glob(".*tmp*")), "strays are swept"


def test_a_killed_writer_loses_nothing_it_told(path: Path) -> None:
    for n in range(8):
        holds_what_was_told(path, killed_while_saving(path, 0.02 + 0.013 * n))


@pytest.mark.long
def test_a_writer_killed_many_times_loses_nothing_it_told(path: Path) -> None:
    for n in range(int(os.environ.get("SHOWRUNNER_LONG", "200"))):
        holds_what_was_told(path, killed_while_saving(path, 0.01 + 0.0017 * (n % 40)))


# Backups and damage


def test_the_first_save_of_a_day_keeps_the_book_as_it_was(path: Path) -> None:
    before = path.read_bytes()
    with opened(path) as session:
        kept = len(session.backups())
        session.do("mark", lambda book: edits.mark_shown(book, "1", Known.YES))
        session.do("mark", lambda book: edits.mark_shown(book, "2", Known.YES))
        assert len(session.backups()) == max(kept, 1)
        assert session.backups()[-1].path.read_bytes() == before


def test_backups_have_a_cap_and_numbers_are_not_used_again(path: Path) -> None:
    with opened(path) as session:
        numbers = [session.backup("asked").number for _ in range(KEPT + 5)]
        assert len(session.backups()) == KEPT
        assert numbers == sorted(set(numbers))
        assert session.backups()[-1].number == numbers[-1]


def test_restore_goes_back_and_keeps_what_was(path: Path) -> None:
    with opened(path) as session:
        made = session.backup("asked")
        session.do("mark", lambda book: edits.mark_shown(book, "1", Known.YES))
        changed = session.book
        session.restore(made.number)
        assert session.book == small_book()
        session.restore(session.backups()[-1].number)
        assert session.book == changed


@pytest.mark.parametrize(
    "spoil",
    [
        lambda data: data[: len(data) // 2],
        lambda _: b"",
        lambda _: b"[1, 2]",
        lambda _: b"\xff\xfe\x00junk",
        lambda data: data.replace(b'"Europe', b'"').replace(b'"wed"', b"7", 1),
    ],
    ids=["truncated", "empty", "a list", "no text", "a wrong type"],
)
def test_a_damaged_book_is_left_untouched_and_the_newest_backup_is_offered(path: Path, spoil: object) -> None:
    with opened(path) as session:
        made = session.backup("asked")
    path.write_bytes(spoil(path.read_bytes()))  # type: ignore[operator]
    damaged = path.read_bytes()
    with pytest.raises(BookDamaged) as refused:
        opened(path)
    sentence = refused.value.sentence()
    assert f"restore {made.number}" in sentence
    assert path.read_bytes() == damaged
    told = Session.restore_file(path, made.number, now=noon)
    assert "kept untouched" in told[0]
    assert path.with_name("book.json.damaged-1").read_bytes() == damaged
    with opened(path) as session:
        assert session.book == small_book()


def test_a_book_of_a_newer_version_is_not_touched(path: Path) -> None:
    data = json.loads(path.read_text())
    data["meta"]["1"]["schema"] = 77
    path.write_text(json.dumps(data))
    before = path.read_bytes()
    with pytest.raises(BookDamaged, match="newer version"):
        opened(path)
    assert path.read_bytes() == before


def test_a_book_of_the_first_layout_is_brought_to_the_present_one(path: Path) -> None:
    """The first layout kept hours as decimal numbers; the present one keeps minutes."""
    data = json.loads(path.read_text())
    meta = data["meta"]["1"]
    meta["schema"] = 1
    meta["house"]["work_hours"] = [m / 60 for m in meta["house"].pop("work_minutes")]
    for rule in data["rules"].values():
        rule["standing_hours"] = rule.pop("standing_minutes") / 60
    for series in data["series"].values():
        if "stages" in series:
            series["stages"] = {stage: minutes / 60 for stage, minutes in series["stages"].items()}
    path.write_text(json.dumps(data))
    old = path.read_bytes()
    with opened(path, write=False) as reader:
        assert reader.book == small_book()
    assert path.read_bytes() == old
    with opened(path) as writer:
        assert writer.book == small_book()
        assert any(backup.reason == "before migration" for backup in writer.backups())
    assert json.loads(path.read_text())["meta"]["1"]["schema"] == 2


def test_missing_books_and_folders_in_the_way(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="there is no book at"):
        opened(tmp_path / "none.json")
    with pytest.raises(BadInput, match="this is a folder"):
        opened(tmp_path)
    (tmp_path / "file").write_text("x")
    with pytest.raises(CannotWrite):
        Session.create(tmp_path / "file" / "book.json", small_book(), now=noon)


def test_a_new_book_is_made_with_its_folders(tmp_path: Path) -> None:
    path = tmp_path / "deep" / "er" / "book.json"
    with opened(path, create=True) as session:
        assert session.book.pieces == ()
        assert session.book.key
    assert path.exists()


def test_a_file_that_may_only_be_read_opens_read_only(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real = os.access
    monkeypatch.setattr(os, "access", lambda p, mode: False if mode == os.W_OK else real(p, mode))
    with opened(path) as session:
        assert session.read_only
        with pytest.raises(CannotWrite, match="may only be read"):
            session.do("mark", lambda book: edits.mark_shown(book, "1", Known.YES))


def test_a_link_is_followed_to_the_book(path: Path, tmp_path: Path) -> None:
    link = tmp_path / "link.json"
    link.symlink_to(path)
    with opened(link) as session:
        session.do("mark", lambda book: edits.mark_shown(book, "1", Known.YES))
    assert link.is_symlink()
    with opened(path, write=False) as session:
        assert session.book.piece("1").shown.known is Known.YES


def test_saving_is_whole_or_not_at_all(tmp_path: Path) -> None:
    target = tmp_path / "x"
    atomic.write_whole(target, b"one")
    atomic.write_whole(target, b"two")
    assert target.read_bytes() == b"two"
    assert [p.name for p in tmp_path.iterdir()] == ["x"]


# Computing


def test_a_plan_is_applied_as_one_step_and_dropping_it_leaves_the_bytes(path: Path) -> None:
    with opened(path) as session:
        before = path.read_bytes()
        plan = session.plan(unsure=Unsure.UNSHOWN)
        session.runout()
        session.work()
        session.present()
        assert path.read_bytes() == before
        session.apply_plan(plan)
        assert all(study.slot for study in session.book.open_studies)
        assert session.book.study_of_piece("7") is not None
        session.undo()
        assert session.book == small_book()


def test_a_plan_of_another_day_is_refused(path: Path) -> None:
    with opened(path) as session:
        plan = session.plan()
        with pytest.raises(BadInput, match="plan again"):
            session.apply_plan(replace(plan, today=date(2026, 3, 9)))


def test_the_present_dates_carry_their_proof(path: Path) -> None:
    with opened(path) as session:
        session.apply_plan(session.plan())
        placed = {item.id: item for item in session.plan().studies}
        assert {item.id: item.slot for item in session.present()} == {id: item.slot for id, item in placed.items()}
        assert all(item.reason for item in session.present())


def test_check_finds_what_dangles(path: Path) -> None:
    with opened(path) as session:
        assert session.check() == []
    data = json.loads(path.read_text())
    data["episodes"]["2"]["pieces"] = ["404"]
    path.write_text(json.dumps(data))
    with opened(path) as session:
        assert any("404" in sentence for sentence in session.check())


def test_hours_beyond_a_day_are_refused_by_the_house() -> None:
    with pytest.raises(BadInput, match="25 hours is not between 0 and the 24 hours of a day"):
        HouseRules(work_minutes=(0, 1500, 0, 0, 0, 0, 0))
