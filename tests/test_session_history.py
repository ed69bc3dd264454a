"""Whatever is done to a book can be undone to the start and redone to the end, and never breaks the book."""

import tempfile
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

from effort import examples
from hypothesis import given
from hypothesis import strategies as st
from workroom_books import RECORDS, noon, small_book

from showrunner.domain import edits
from showrunner.domain.consistency import problems
from showrunner.domain.piece import Known, Piece
from showrunner.domain.slot import DarkRange, SlotRef
from showrunner.errors import ShowrunnerError
from showrunner.session import Session

PIECE = st.sampled_from([piece.id for piece in small_book().pieces])
EPISODE = st.sampled_from(["apron", "waistcoats", "jacket", "bodice", "comet", "barnaby", "on-pins"])
SLOT = st.builds(
    lambda week, rule: SlotRef(date(2026, 3, 1 if rule == "sun" else 4) + timedelta(weeks=week), rule),
    st.integers(0, 20),
    st.sampled_from(["sun", "sun", "wed"]),
)


def _only_book(result):
    return result[0] if isinstance(result, tuple) else result


def _edit(name, *arguments):
    return st.tuples(st.just(name), st.tuples(*arguments))


EDITS = st.one_of(
    _edit("mark_shown", PIECE, st.sampled_from(Known)),
    _edit("make_study", st.lists(PIECE, min_size=1, max_size=2)),
    _edit("split_study", EPISODE),
    _edit("pair_studies", EPISODE, EPISODE),
    _edit("remove_study", EPISODE),
    _edit("remove_piece", PIECE),
    _edit("set_slot", EPISODE, st.none() | SLOT),
    _edit("pin_date", EPISODE, SLOT),
    _edit("pin_order", EPISODE, EPISODE),
    _edit("pin_pair", PIECE, PIECE),
    _edit("unpin", st.sampled_from(["pin-1", "pin-2"])),
    _edit("publish", EPISODE, st.dates(date(2026, 3, 1), date(2026, 6, 1))),
    _edit("miss", EPISODE),
    _edit("add_filler", st.just("On pins"), st.sampled_from(["sun", "wed"])),
    _edit("put_piece", st.builds(Piece, st.sampled_from(["1", "9"]), st.just("Fan"), st.just("dress"))),
    _edit(
        "put_dark",
        st.builds(
            lambda start, length: DarkRange("d", start, start + timedelta(length), no_publication=True),
            st.dates(date(2026, 3, 1), date(2026, 6, 1)),
            st.integers(0, 20),
        ),
    ),
    _edit("put_house", st.integers(0, 3).map(lambda days: replace(small_book().house, lead_days=days))),
)


def perform(book, edit):
    name, arguments = edit
    return _only_book(getattr(edits, name)(book, *arguments))


def reopened(path, book):
    with Session.open(path, write=False, now=noon) as reader:
        return reader.book == book


@examples(60)
@given(st.lists(EDITS, max_size=14))
def test_any_actions_can_be_undone_to_the_start_and_redone_to_the_end(actions):
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "book.json"
        books = [small_book()]
        with Session.create(path, books[0], now=noon) as session:
            for action in actions:
                try:
                    session.do(action[0], lambda book, action=action: perform(book, action))
                except ShowrunnerError:
                    assert session.book == books[-1]
                if session.book != books[-1]:
                    books.append(session.book)
            assert reopened(path, books[-1])
            for book in reversed(books[:-1]):
                session.undo()
                assert session.book == book
            assert session.undo_label is None
            assert reopened(path, books[0])
            for book in books[1:]:
                session.redo()
                assert session.book == book
            assert session.redo_label is None
            assert reopened(path, books[-1])


@examples(300)
@given(st.lists(EDITS, max_size=20))
def test_no_edits_leave_a_book_that_the_check_complains_about(actions):
    """Publishing is a fact and may come against a promised order; all else must leave every promise whole."""
    book = small_book()
    for action in actions:
        record = book.publications
        try:
            book = perform(book, action)
        except ShowrunnerError as error:
            assert error.sentence().endswith(".")
        assert book.publications[: len(record)] == record
    assert [sentence for sentence in problems(book) if "has been published already" not in sentence] == []


@examples(60)
@given(st.lists(RECORDS, max_size=6))
def test_any_records_are_kept_as_they_are_and_undone(records):
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "book.json"
        with Session.create(path, small_book(), now=noon) as session:
            for table, record in records:
                if table != "calendar":
                    session.do("put", lambda book, table=table, record=record: book.put(table, record))
            assert reopened(path, session.book)
            while session.undo_label is not None:
                session.undo()
            assert session.book == small_book()
