import errno
import json
import os
import subprocess
import sys
from dataclasses import replace
from datetime import UTC, date, datetime
from fractions import Fraction
from pathlib import Path

import pytest
from workroom_books import NOON, noon, small_book

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.house import Unsure
from showrunner.domain.piece import Known, Piece
from showrunner.domain.publication import CalendarEntry
from showrunner.domain.slot import Slot, SlotRef
from showrunner.errors import BadInput, BookDamaged, BookInUse, CannotWrite, Contradiction, ShowrunnerError
from showrunner.planning.aims import Aim
from showrunner.planning.results import Clash, Placed, Plan, Status, Unplaced
from showrunner.session import Session


@pytest.fixture
def path(tmp_path):
    return tmp_path / "book.json"


@pytest.fixture
def session(path):
    with Session.create(path, small_book(), now=noon) as session:
        yield session


def show(piece, known=Known.YES):
    return lambda book: edits.mark_shown(book, piece, known)


def sentence(kind, call):
    with pytest.raises(ShowrunnerError) as caught:
        call()
    assert type(caught.value) is kind
    return caught.value.sentence()


def on_disk(path):
    with Session.open(path, write=False, now=noon) as reader:
        return reader.book


# Opening


def test_a_new_book_is_on_disk_with_its_folders(tmp_path):
    path = tmp_path / "far" / "down" / "book.json"
    with Session.create(path, small_book(), now=noon) as session:
        assert session.book == small_book()
        assert (session.path, session.read_only, session.warnings) == (path, False, ())
        assert (session.undo_label, session.redo_label) == (None, None)
    assert on_disk(path) == small_book()


def test_open_makes_an_empty_book_only_when_asked(path):
    with Session.open(path, create=True, now=noon) as session:
        key = session.book.key
        assert session.book == Book(key=key)
        assert len(key) == 36
    with Session.open(path, create=True, now=noon) as session:
        assert session.book.key == key


def test_create_never_replaces_a_file(path, session):
    assert sentence(BadInput, lambda: Session.create(path, small_book())) == (
        f"there is a file at {path} already; choose another name."
    )


def test_the_day_to_compute_for(path):
    def now():
        return datetime(2029, 12, 31, 13, 0, tzinfo=UTC)  # midnight of the new year in Hobart

    with Session.create(path, small_book(), now=now, today=date(2026, 5, 1)) as session:
        assert session.today == date(2026, 5, 1)
    with Session.open(path, now=now) as session:
        assert session.today == date(2026, 3, 2)
        session.do("stop the clock", lambda book: replace(book, clock=None))
        assert session.today == date(2030, 1, 1)
        session.do("move house", lambda book: replace(book, house=replace(book.house, zone="Mars/Olympus")))
        assert sentence(BadInput, lambda: session.today) == (
            "house rules: 'Mars/Olympus' is not a time zone; give a name like Australia/Hobart."
        )


# One action, one save, one step


def test_an_action_is_saved_and_undone_and_redone_across_runs(path, session):
    first = session.book
    after = session.do("mark the apron shown", show("1"))
    assert after is session.book
    assert on_disk(path) == after != first
    session.close()
    with Session.open(path, now=noon) as later:
        assert (later.undo_label, later.redo_label) == ("mark the apron shown", None)
        assert later.undo() == "mark the apron shown"
        assert later.book == first == on_disk(path)
    with Session.open(path, now=noon) as later:
        assert (later.undo_label, later.redo_label) == (None, "mark the apron shown")
        assert later.redo() == "mark the apron shown"
        assert later.book == after == on_disk(path)


def test_nothing_to_undo_or_redo(path, session):
    assert sentence(ShowrunnerError, session.undo) == f"{path}: there is nothing to undo."
    assert sentence(ShowrunnerError, session.redo) == f"{path}: there is nothing to redo."


def test_a_new_action_drops_what_was_undone(session):
    session.do("a", show("1"))
    session.do("b", show("4"))
    session.undo()
    session.do("c", show("5"))
    assert session.redo_label is None
    assert [session.undo(), session.undo()] == ["c", "a"]
    assert session.book == small_book()


def test_an_equal_book_saves_nothing(path, session):
    before = path.stat()
    session.do("nothing", lambda book: book)
    session.do("nothing", lambda book: replace(book, pieces=tuple(replace(p) for p in book.pieces)))
    assert path.stat() == before
    assert session.undo_label is None


def test_a_refused_edit_changes_nothing(path, session):
    before = path.read_bytes()
    with pytest.raises(ShowrunnerError):
        session.do("remove", lambda book: edits.remove_piece(book, "2"))
    assert (session.book, path.read_bytes()) == (small_book(), before)


def test_make_returns_what_was_made(session):
    study = session.make("make a study", lambda book: edits.make_study(book, ["5"]))
    assert session.book.episode("comet") == study
    assert session.undo() == "make a study"


def test_what_was_removed_comes_back_to_its_place(session):
    session.do("remove", lambda book: book.drop("episodes", "waistcoats"))
    session.do("add", lambda book: edits.make_study(book, ["5"])[0])
    session.undo()
    session.undo()
    assert session.book == small_book()


def test_a_new_order_is_kept_and_undone(path, session):
    session.do("turn round", lambda book: book.with_table("pieces", book.pieces[::-1]))
    session.do("into the middle", lambda book: book.with_table("boxes", (*book.boxes, replace(book.boxes[0], id="B"))))
    order = [piece.id for piece in session.book.pieces]
    assert order == ["B2", "B1", "8", "7", "6", "5", "4", "3", "2", "1"]
    assert on_disk(path) == session.book
    session.do(
        "into the middle",
        lambda book: book.with_table("pieces", (*book.pieces[:3], Piece("9", "Fan", "dress"), *book.pieces[3:])),
    )
    assert on_disk(path) == session.book
    for _ in range(3):
        session.undo()
    assert session.book == small_book()


def test_house_rules_and_clock_are_undone_too(session):
    session.do("less work", lambda book: edits.put_house(book, replace(book.house, lead_days=3)))
    session.do("set the clock", lambda book: replace(book, clock=date(2026, 4, 1)))
    assert session.today == date(2026, 4, 1)
    assert [session.undo(), session.undo()] == ["set the clock", "less work"]
    assert session.book == small_book()


def test_the_calendar_makes_no_step_and_is_never_undone(path, session):
    entry = CalendarEntry("uid-1", 0, datetime(2026, 3, 2, tzinfo=UTC), "X")
    session.do("mark", show("1"))
    session.save_calendar((entry,))
    assert session.undo_label == "mark"
    session.do("mixed", lambda book: replace(show("4")(book), calendar=(replace(entry, sequence=1),)))
    session.undo()
    session.undo()
    assert session.book == replace(small_book(), calendar=(replace(entry, sequence=1),))
    assert on_disk(path) == session.book


def test_undo_keeps_200_steps(session):
    for number in range(205):
        session.do(str(number), show("1", Known.NO if number % 2 else Known.UNSURE))
    labels = []
    while session.undo_label:
        labels.append(session.undo())
    assert labels == [str(number) for number in range(204, 4, -1)]


def test_undo_keeps_128_kilobytes_and_always_the_last_step(path, session):
    def note(text):
        return lambda book: edits.put_piece(book, replace(book.piece("1"), notes=text))

    for number in range(6):
        session.do(f"note {number}", note(str(number) * 20_000))
    journal = json.loads(path.read_text())["journal"]
    assert [step["label"] for step in journal.values()] == ["note 3", "note 4", "note 5"]
    assert sum(len(json.dumps(step)) for step in journal.values()) <= 128 * 1024 + 100
    session.do("longer", note("x" * 200_000))
    assert session.undo() == "longer"
    assert sentence(ShowrunnerError, session.undo) == f"{path}: there is nothing to undo."


def test_a_step_lasts_if_it_is_not_larger_than_all_that_is_kept(session):
    for length, lasts in ((1_000, True), (200_000, False)):
        new = edits.put_piece(session.book, replace(session.book.piece("1"), notes="x" * length))
        assert session.undo_lasts(new) is lasts


def test_the_file_has_one_document_a_line(path, session):
    lines = path.read_text().splitlines()
    assert '"2":{"id":"2","name":"Septimus","collection":"dress","box":"A"},' in lines
    before = set(lines)
    session.do("mark", show("1"))
    changed = set(path.read_text().splitlines()) ^ before
    assert len([line for line in changed if "journal" not in line and '"label"' not in line]) == 2


# Values that could not be read back


def test_a_value_that_could_not_be_read_back_is_refused(path, session):
    before = path.read_bytes()
    bad = replace(small_book().piece("1"), layer="two")
    assert sentence(BadInput, lambda: session.do("x", lambda book: book.put("pieces", bad))) == (
        "it cannot be kept (pieces, '1', layer: 'two' is not a whole number); enter it again."
    )
    twice = replace(small_book(), boxes=small_book().boxes * 2)
    assert sentence(BadInput, lambda: session.do("x", lambda book: twice)) == (
        "boxes: two entries are both called 'A'; give one of them another number."
    )
    odd = "it holds a broken letter, which no file can keep; retype it."
    for text in ("caf\udce9 apron", "zero \0"):
        torn = replace(small_book().piece("1"), notes=text)
        told = sentence(BadInput, lambda torn=torn: session.do("x", lambda book: book.put("pieces", torn)))
        assert told == f"pieces, '1', notes: {odd}"
    assert (session.book, path.read_bytes()) == (small_book(), before)
    session.do("mark", show("1"))
    assert on_disk(path) == session.book


# Failures of the disk


def failing(number):
    def fail(*arguments):
        raise OSError(number, os.strerror(number))

    return fail


def test_a_full_disk_loses_only_the_action(path, session, monkeypatch):
    session.do("mark", show("1"))
    book, before = session.book, path.read_bytes()
    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", failing(errno.ENOSPC))
        for action in (lambda: session.do("again", show("4")), session.undo):
            assert sentence(CannotWrite, action) == (
                f"{path}: it was not saved, the disk is full; free some space and do it again."
            )
            assert (session.book, path.read_bytes(), session.undo_label) == (book, before, "mark")
    session.do("again", show("4"))
    assert on_disk(path) == session.book
    assert session.undo() == "again"


def test_a_disk_that_does_not_confirm_leaves_memory_and_disk_alike(path, session, monkeypatch):
    import stat

    real = os.fsync

    def only_files(handle):
        if stat.S_ISDIR(os.fstat(handle).st_mode):
            raise OSError(errno.EIO, os.strerror(errno.EIO))
        real(handle)

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", only_files)
        with pytest.raises(CannotWrite):
            session.do("mark", show("1"))
    assert session.book == on_disk(path) == show("1")(small_book())
    assert session.undo() == "mark"


def test_an_interrupted_save_changes_nothing(path, session, monkeypatch):
    before = path.read_bytes()

    def interrupt(handle):
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", interrupt)
        with pytest.raises(KeyboardInterrupt):
            session.do("mark", show("1"))
    assert (session.book, path.read_bytes()) == (small_book(), before)
    session.do("mark", show("1"))
    assert on_disk(path) == session.book


def test_a_folder_that_went_away(path, session):
    path.parent.rename(path.parent.with_name("elsewhere"))
    assert sentence(CannotWrite, lambda: session.do("mark", show("1"))) == (
        f"{path}: it was not saved, its folder is missing; make the folder, or choose another place."
    )
    assert session.book == small_book()


def test_a_file_that_was_removed_is_written_again(path, session):
    path.unlink()
    session.do("mark", show("1"))
    assert on_disk(path) == session.book


def test_a_new_book_in_a_place_that_cannot_be(tmp_path):
    (tmp_path / "file").write_text("")
    path = tmp_path / "file" / "book.json"
    assert sentence(CannotWrite, lambda: Session.create(path, small_book())) == (
        f"{path.parent}: the folder cannot be made, a file has its name; choose another place."
    )


# Somebody else's changes


def test_a_file_changed_elsewhere_is_not_overwritten(path, session):
    session.do("mark", show("1"))
    mine = session.book
    theirs = path.read_bytes().replace(b"Septimus", b"Octavius")
    path.write_bytes(theirs)
    assert sentence(CannotWrite, lambda: session.do("more", show("4"))) == (
        f"{path}: something else changed the file since it was last saved here, so this was not saved; "
        "open the book again to go on from the changed file (the book as it was here is kept as backup 2)."
    )
    assert (session.book, path.read_bytes()) == (mine, theirs)
    assert session.follow()
    assert session.book.piece("2").name == "Octavius"
    session.do("more", show("4"))
    assert on_disk(path) == session.book
    session.restore(2)
    assert session.book == mine


def test_a_writer_does_not_take_over_a_damaged_file(path, session):
    path.write_bytes(b"{")
    assert sentence(BookDamaged, session.follow).endswith(  # the path before it is cut where it is long
        "/book.json: the file is broken (line 1, column 2); it is left as it is; go back to the backup of "
        f"2 March 2026 with `showrunner --book {path} restore 1`."
    )
    assert not session.follow()
    with pytest.raises(CannotWrite):
        session.do("mark", show("1"))
    assert path.read_bytes() == b"{"
    assert session.book == small_book()


def test_a_second_window_reads_and_follows(path, session):
    with Session.open(path, now=noon) as second:
        assert second.read_only
        assert second.read_only_reason == "another window has this book open for writing"
        assert sentence(BookInUse, lambda: second.do("mark", show("1"))) == (
            f"{path}: another window has this book open for writing; close it there and open the book again."
        )
        assert not second.follow()
        session.do("mark", show("1"))
        assert second.book == small_book()
        assert second.follow()
        assert second.book == session.book
        assert not second.follow()
        session.close()
    with Session.open(path, now=noon) as third:
        assert not third.read_only


@pytest.mark.slow
def test_a_second_window_changes_nothing_in_any_way(path, session, tmp_path):
    session.do("mark", show("1"))
    session.do("mark", show("2"))
    session.undo()
    session.backup("kept")
    sheet = tmp_path / "more.csv"
    sheet.write_text("No,Name,Collection\n60,Sash,dress\n")
    before, kept = path.read_bytes(), session.backups()
    with Session.open(path, now=noon) as second:
        found = second.bring_in(sheet)
        for change in (
            lambda: second.do("mark", show("1", Known.NO)),
            lambda: second.make("pin", lambda book: edits.pin_order(book, "apron", "jacket")),
            lambda: second.save_calendar((CalendarEntry("a", 1, NOON, "digest"),)),
            second.undo,
            second.redo,
            lambda: second.apply_plan(second.plan()),
            lambda: second.write_calendar(tmp_path / "out.ics"),
            lambda: second.take_over(found),
            lambda: second.backup("mine"),
            lambda: second.restore(1),
            second.mend,
        ):
            assert "another window has this book open" in sentence(BookInUse, change)
        assert second.backups() == kept
    assert path.read_bytes() == before
    assert not (tmp_path / "out.ics").exists()


def test_what_was_compared_with_another_book_or_is_refused_is_not_taken_over(session, tmp_path):
    session.do("mark", show("1"))
    sheet = tmp_path / "more.csv"
    sheet.write_text("No,Name,Collection\n60,Sash,dress\n")
    found = session.bring_in(sheet)
    assert found.name == "more.csv"
    session.take_over(found)
    assert (session.book.piece("60").name, session.undo_label) == ("Sash", "bring more.csv in")
    assert session.backups()[-1].reason == "before import"
    assert sentence(BadInput, lambda: session.take_over(found)) == (
        "more.csv: the book has changed since the file was read; bring it in again."
    )
    session.take_over(session.bring_in(sheet))  # nothing new, so no step
    assert (session.undo(), session.undo_label) == ("bring more.csv in", "mark")
    sheet.write_text("No,Name,Collection,Made\n60,Sash,dress,next week\n")
    assert sentence(BadInput, lambda: session.take_over(session.bring_in(sheet))) == (
        "more.csv: 1 refused; put them right and bring it in again."
    )


def test_two_processes(path, session):
    program = f"""
from showrunner.errors import ShowrunnerError
from showrunner.session import Session
with Session.open({str(path)!r}) as session:
    print(session.read_only_reason)
    try:
        session.undo()
    except ShowrunnerError as error:
        print(error.exit_code, error.sentence())
"""
    run = [sys.executable, "-c", program]
    done = subprocess.run(run, capture_output=True, text=True, check=True)
    assert done.stdout.splitlines() == [
        "another window has this book open for writing",
        f"3 {path}: another window has this book open for writing; close it there and open the book again.",
    ]
    session.close()
    done = subprocess.run(run, capture_output=True, text=True, check=True)
    assert done.stdout.splitlines() == ["", f"2 {path}: there is nothing to undo."]


def test_restore_file_waits_for_nobody(path, session):
    assert sentence(BookInUse, lambda: Session.restore_file(path, 1)) == (
        f"{path}: another window has this book open for writing; close it there and open the book again."
    )


def test_a_reader_leaves_no_trace(path, session):
    session.close()
    files = sorted(p.name for p in path.parent.iterdir())
    with Session.open(path, write=False, now=noon) as reader:
        assert reader.read_only_reason == "it was opened for reading only"
        assert sentence(BookInUse, lambda: reader.backup("x")) == (
            f"{path}: it was opened for reading only; open it for writing."
        )
    assert sorted(p.name for p in path.parent.iterdir()) == files


def test_a_reader_keeps_its_book_when_the_file_goes_or_breaks(path, session):
    with Session.open(path, write=False, now=noon) as reader:
        path.write_bytes(b"")
        with pytest.raises(BookDamaged):
            reader.follow()
        assert not reader.follow()
        path.unlink()
        assert not reader.follow()
        assert reader.book == small_book()


def test_a_folder_that_may_not_be_written(path, session, monkeypatch):
    """The tests may run as root, whom no permission stops, so the refusals are simulated."""
    session.close()
    from filelock import FileLock

    with monkeypatch.context() as patch:
        patch.setattr(FileLock, "acquire", failing(errno.EACCES))
        with Session.open(path, now=noon) as reader:
            assert reader.read_only_reason == "the folder cannot be written, permission is refused"
            assert sentence(CannotWrite, lambda: reader.do("mark", show("1"))) == (
                f"{path}: the folder cannot be written, permission is refused; allow writing there, or copy the book."
            )
    with monkeypatch.context() as patch:
        patch.setattr(os, "access", lambda *arguments: False)
        with Session.open(path, now=noon) as reader:
            assert sentence(CannotWrite, reader.undo) == (
                f"{path}: the file may only be read; allow writing to it, or copy it."
            )


def test_a_closed_session_saves_nothing(path, session):
    session.close()
    session.close()
    assert sentence(BookInUse, lambda: session.do("mark", show("1"))) == f"{path}: the book is closed; open it again."


def test_a_symbolic_link_is_followed(path, session, tmp_path):
    session.close()
    (tmp_path / "links").mkdir()
    link = tmp_path / "links" / "my-book"
    link.symlink_to(path)
    with Session.open(link, now=noon) as writer:
        assert writer.path == link
        with Session.open(path, now=noon) as second:
            assert second.read_only
        writer.do("mark", show("1"))
    assert link.is_symlink()
    assert on_disk(path) == show("1")(small_book())
    assert [p.name for p in link.parent.iterdir()] == ["my-book"]


def test_strays_of_a_killed_writer_are_swept(path, session):
    session.close()
    backup_stray = path.parent / "book.json.backups" / ".0002-2026-03-02-asked-for.json.1-0123abcd.tmp"
    others = [path.with_name(".book.json.notes.tmp"), backup_stray.with_name(".mine.tmp")]
    strays = [path.with_name(".book.json.123-0123abcd.tmp"), backup_stray]
    for other in others:
        other.write_bytes(b"")
    for stray in strays:
        stray.write_bytes(b"half")
    with Session.open(path, write=False, now=noon):
        assert all(stray.exists() for stray in strays)
    with Session.open(path, now=noon):
        assert not any(stray.exists() for stray in strays)
        assert all(other.exists() for other in others)


# Backups


def test_every_days_first_save_keeps_the_book_as_it_was_before(path):
    instants = {"now": NOON}
    with Session.create(path, small_book(), now=lambda: instants["now"]) as session:
        session.do("mark", show("1"))
        session.do("mark", show("4"))
        before = session.book
        assert [(b.number, b.day, b.reason) for b in session.backups()] == [(1, date(2026, 3, 2), "first save")]
        instants["now"] = datetime(2026, 3, 2, 14, 0, tzinfo=UTC)  # past midnight in Hobart
        session.do("mark", show("5"))
        session.do("mark", show("6"))
        assert [b.path.name for b in session.backups()] == [
            "0001-2026-03-02-first-save.json",
            "0002-2026-03-03-first-save.json",
        ]
        session.close()
    with Session.open(path, now=lambda: instants["now"]) as session:
        session.do("mark", show("7"))
        assert len(session.backups()) == 2
        after = session.book
        session.restore(2)
        assert session.book == before == on_disk(path)
        assert [b.reason for b in session.backups()] == ["first save", "first save", "before restore"]
        session.restore(3)
        assert session.book == after


def test_numbers_go_on_and_reasons_are_names(session):
    session.do("mark", show("4"))
    made = session.backup("Größe / ..\\x")
    assert made.path.name == "0002-2026-03-02-gr-e-x.json"
    session.do("mark", show("1"))
    assert session.backup("...").reason == "kept"


def test_an_equal_copy_is_not_made_again(session):
    (first,) = session.backups()
    assert session.backup("before import") == first
    session.do("mark", show("1"))
    second = session.backup("asked for")
    assert (second.number, second.reason) == (2, "asked for")
    assert session.backup("before import") == second
    assert session.backups() == (first, second)


def test_a_file_that_is_touched_40_times_makes_no_copies(path, session):
    session.do("mark", show("1"))
    before = session.backups()
    for turn in range(40):
        if turn % 2:
            os.utime(path, ns=(turn, turn))
        else:  # as a program does that puts a file in place of the other
            new = path.with_name("new")
            new.write_bytes(path.read_bytes())
            new.replace(path)
        assert not session.follow()
        session.do("more", show("4", Known.NO if turn % 2 else Known.YES))
    assert session.backups() == before


def test_a_failing_backup_is_a_warning_and_never_stops_a_save(path):
    folder = path.with_name("book.json.backups")
    folder.write_text("a file where the folder should be")
    with Session.create(path, small_book(), now=noon) as session:
        session.do("mark", show("1"))
        assert session.warnings == (
            f"The backup (first save) could not be made: {folder}: the folder cannot be made, "
            "a file has its name; choose another place.",
        )
        assert on_disk(path) == session.book
        assert sentence(CannotWrite, lambda: session.backup("x")) == (
            f"{folder}: the folder cannot be made, a file has its name; choose another place."
        )


def test_a_restore_that_cannot_keep_the_present_book_is_refused(path, session, monkeypatch):
    session.do("mark", show("1"))
    before = session.book
    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", failing(errno.ENOSPC))
        with pytest.raises(CannotWrite):
            session.restore(1)
    assert session.book == before == on_disk(path)


def test_copy_to(path, session, tmp_path):
    session.do("mark", show("1"))
    copy = tmp_path / "copies" / "copy.json"
    session.copy_to(copy)
    with Session.open(copy, now=noon) as other:
        assert other.book == session.book
        assert other.undo() == "mark"
    assert sentence(BadInput, lambda: session.copy_to(copy)) == (
        f"there is a file at {copy} already; choose another name."
    )


# Plans


def a_plan(today=date(2026, 3, 2), placed=(), unplaced=(), clashes=()):
    return Plan(
        status=Status.OPTIMAL,
        proven=True,
        points=Fraction(0),
        proven_gap=Fraction(0),
        missing_gap=0,
        studies=tuple(placed),
        unplaced=tuple(unplaced),
        warnings=(),
        clashes=tuple(clashes),
        promises_made=0,
        promises_kept=0,
        left_out=(),
        today=today,
        horizon_weeks=78,
        unsure=Unsure.LEFT_OUT,
        aim=Aim.BEST,
        solver_seconds=0.0,
    )


def placed(id, title, pieces, day):
    slot = Slot("sun", day, datetime(day.year, day.month, day.day, tzinfo=UTC))
    implied = id.startswith("piece:")
    return Placed(id, title, "hour", pieces, slot, None, 0, 0, "", None, False, implied, None, None)


def test_a_plan_is_applied_in_one_step(session):
    plan = a_plan(
        placed=[
            placed("apron", "Apron", ("1",), date(2026, 3, 22)),
            placed("piece:5", "Comet", ("5",), date(2026, 5, 3)),
        ],
        unplaced=[Unplaced("piece:6", "Bathing costume", "hour", ("6",), "", "", "")],
    )
    book = session.apply_plan(plan)
    assert book.episode("apron").slot == SlotRef(date(2026, 3, 22), "sun")
    assert book.episode("comet").slot == SlotRef(date(2026, 5, 3), "sun")
    assert book.study_of_piece("6") is None
    assert session.undo() == "accept the plan"
    assert session.book == small_book()


def test_a_plan_of_another_day_or_with_clashes_is_not_applied(session):
    assert sentence(BadInput, lambda: session.apply_plan(a_plan(date(2026, 3, 1)))) == (
        "plan: it was made for 1 March 2026, and today is 2 March 2026; plan again."
    )
    clash = Clash("“Apron” and “Skating jacket” are both promised 22 March 2026", ("apron", "jacket"))
    assert sentence(Contradiction, lambda: session.apply_plan(a_plan(clashes=[clash]))) == (
        "plan: “Apron” and “Skating jacket” are both promised 22 March 2026; settle it and plan again."
    )


def test_check_says_what_is_wrong(session):
    assert session.check() == []
    session.do("break it", lambda book: book.drop("boxes", "A"))
    assert session.check()[0] == "Apron: the book holds no box 'A'."


def test_sessions_import_no_screen_and_no_slow_library():
    program = "import sys, showrunner.session; print([m for m in ('textual','icalendar','edtf','numpy','filelock') if m in sys.modules])"  # noqa: E501
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True, cwd=Path(__file__).parents[1]
    )
    assert done.stdout.strip() == "[]"
