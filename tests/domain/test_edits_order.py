"""Edits that touch the order of acquisition, and what is wrong with one in a file changed by hand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from workroom_books import small_book

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.consistency import problems
from showrunner.domain.piece import Piece
from showrunner.errors import BadInput, Contradiction, ShowrunnerError, UnknownThing
from showrunner.storage.edtf_text import parse_made

BOOK = small_book()


def changed(book: Book, id: str, *, before: str = "", after: str = "", acquired: str = "") -> Piece:
    when = parse_made(acquired) if acquired else None
    return replace(
        book.piece(id), acquired_before=tuple(before.split()), acquired_after=tuple(after.split()), acquired=when
    )


def sentence(kind: type[ShowrunnerError], call: Callable[[], object]) -> str:
    with pytest.raises(kind) as caught:
        call()
    return caught.value.sentence()


def put(book: Book, id: str, **order: str) -> Book:
    return edits.put_piece(book, changed(book, id, **order))


def by_hand(book: Book, id: str, **order: str) -> Book:
    return book.put("pieces", changed(book, id, **order))


def test_an_order_names_pieces_that_are_there_and_not_itself() -> None:
    assert sentence(UnknownThing, lambda: put(BOOK, "1", before="99")) == (
        "Apron: the book holds no piece '99'; give the number of one that it holds."
    )
    assert sentence(BadInput, lambda: put(BOOK, "1", after="2 1")) == (
        "Apron: it cannot have come before or after itself; take it out of its own order."
    )


def test_an_order_may_go_across_collections() -> None:
    assert put(BOOK, "1", before="B1").piece("1").acquired_before == ("B1",)


def test_a_circle_is_refused_with_every_piece_of_it_and_a_way_out() -> None:
    book = put(put(BOOK, "1", before="2"), "3", after="2")
    assert sentence(Contradiction, lambda: put(book, "3", after="2", before="1")) == (
        "Barnaby came before Apron, Apron before Septimus and Septimus before Barnaby, which goes round in a circle; "
        "take Apron out of what Barnaby came before."
    )
    assert sentence(Contradiction, lambda: put(book, "1", before="2", after="3")) == (
        "Apron came before Septimus, Septimus before Barnaby and Barnaby before Apron, which goes round in a circle; "
        "take Septimus out of what Apron came before."
    )
    assert sentence(Contradiction, lambda: put(put(BOOK, "1", before="2"), "2", before="1")) == (
        "Septimus came before Apron and Apron before Septimus, which goes round in a circle; "
        "take Apron out of what Septimus came before."
    )


def test_a_new_piece_can_close_a_circle_too() -> None:
    book = put(BOOK, "1", before="2")
    with pytest.raises(Contradiction) as caught:
        edits.put_piece(book, Piece("9", "Fan", "dress", acquired_before=("1",), acquired_after=("2",)))
    assert caught.value.parties == ("9", "1", "2")


def test_firm_dates_that_an_order_or_a_date_goes_against_are_refused() -> None:
    book = put(put(BOOK, "1", acquired="2012"), "2", acquired="2009")
    why = (
        "Apron is said to have come before Septimus, but it came no earlier than 2012 and Septimus no later than 2009; "
        "change the order, or one of the dates."
    )
    assert sentence(Contradiction, lambda: put(book, "1", acquired="2012", before="2")) == why
    assert sentence(Contradiction, lambda: put(book, "2", acquired="2009", after="1")) == why
    ordered = put(put(BOOK, "1", before="2"), "2", acquired="2009")
    assert sentence(Contradiction, lambda: put(ordered, "1", before="2", acquired="2012")) == why
    assert put(ordered, "1", before="2", acquired="2012~").piece("1").acquired == parse_made("2012~")


def test_what_was_wrong_already_is_not_refused_again() -> None:
    book = by_hand(by_hand(BOOK, "1", before="2", acquired="2012"), "2", acquired="2009", before="3")
    book = by_hand(by_hand(book, "4", before="5"), "5", before="4")
    named = edits.put_piece(book, replace(book.piece("1"), name="Packer's apron"))
    assert named.piece("1").name == "Packer's apron"
    assert edits.put_piece(book, replace(book.piece("4"), acquired_after=("6",))).piece("4").acquired_after == ("6",)


def test_a_piece_that_an_order_names_stays() -> None:
    book = put(put(BOOK, "1", before="6"), "2", after="6")
    assert sentence(BadInput, lambda: edits.remove_piece(book, "6")) == (
        "Bathing costume: the order of acquisition of Apron and Septimus names it; take it out of that order first."
    )
    alone = put(BOOK, "6", before="1")
    assert edits.remove_piece(alone, "6").find("pieces", "6") is None


def test_a_file_changed_by_hand_is_told_of_all_of_it() -> None:
    book = by_hand(by_hand(BOOK, "1", before="99 1"), "2", before="3")
    book = by_hand(by_hand(book, "3", before="2"), "4", before="5", acquired="2012")
    assert problems(by_hand(book, "5", acquired="2009")) == [
        "Apron: the book holds no piece '99'.",
        "Apron: it cannot have come before or after itself.",
        "Septimus came before Barnaby and Barnaby before Septimus, which goes round in a circle.",
        "Skating jacket is said to have come before Comet, but it came no earlier than 2012 and Comet no later "
        "than 2009.",
    ]
