"""The doubts in the order in which they are worth settling."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st
from workroom_books import small_book

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.piece import Known, Shown
from showrunner.planning.stocktake import answers, doubts, pieces_left, walk_after


def unsure(**odds: int) -> Book:
    """The small book with doubts: odds by the number of the piece."""
    book = small_book()
    pieces = [replace(book.piece(id[1:]), shown=Shown(Known.UNSURE, percent)) for id, percent in odds.items()]
    return book.put("pieces", *pieces)


def test_what_narrows_the_end_most_comes_first_then_even_odds_then_book_order():
    book = unsure(n1=20, n2=50, n3=45, n4=50)
    assert [p.id for p in doubts(book)] == ["2", "4", "7", "3", "1"]
    assert [p.id for p in doubts(book, {"1": 3.0, "3": 21.5})] == ["3", "1", "2", "4", "7"]


def test_wants_are_not_taken_stock_of():
    book = unsure()
    shopping = replace(book.collections[1], kind="shopping")
    book = book.put("collections", shopping)
    book = book.put("pieces", replace(book.piece("B1"), shown=Shown(Known.UNSURE)))
    assert [p.id for p in doubts(book)] == ["7"]


def test_new_doubts_join_a_walk_at_its_end_and_settled_ones_stay_in_it():
    book = unsure(n2=50)
    assert walk_after(("7", "5"), doubts(book)) == ("7", "5", "2")


@given(st.dictionaries(st.sampled_from("123456"), st.integers(1, 99)), st.data())
def test_each_answer_narrows_the_range_by_exactly_one(odds, data):
    book = unsure(**{f"n{id}": percent for id, percent in odds.items()})
    order = data.draw(st.permutations([p.id for p in doubts(book)]))
    for left, id in zip(range(len(order), 0, -1), order, strict=True):
        low, high = pieces_left(book, "dress")
        assert high - low == left
        known = data.draw(st.sampled_from([Known.YES, Known.NO]))
        told = answers(book, book.piece(id))
        book = edits.mark_shown(book, id, known)
        after = pieces_left(book, "dress")
        assert after == (told.shown if known is Known.YES else told.not_shown)
        assert after == ((low, high - 1) if known is Known.YES else (low + 1, high))
    assert doubts(book) == ()
