"""Edits of what is shopped for: where it stands, its history, and everything that cannot be."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from workroom_books import small_book

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.collection import Box, CollectionKind, Supply
from showrunner.domain.consistency import problems
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.piece import Piece, Rate, Want, WantStatus, WantStep
from showrunner.errors import BadInput, ShowrunnerError, UnknownThing

TODAY = date(2026, 3, 2)
WANTED, ORDERED, ARRIVED, DECLINED = WantStatus
SOON = FuzzyDate.exact(date(2026, 4, 20))


def book_with(**want: Any) -> Book:
    """The small book, whose blocks are shopped for, with one want `W`."""
    book = small_book()
    blocks = replace(book.collection("blocks"), kind=CollectionKind.SHOPPING, currency="AUD")
    return book.put("collections", blocks).put("pieces", Piece("W", "Pancake", "blocks", want=Want(**want)))


def want_of(book: Book) -> Want:
    want = book.piece("W").want
    assert want is not None
    return want


def put(book: Book, **changes: Any) -> Book:
    return edits.put_piece(book, replace(book.piece("W"), want=replace(want_of(book), **changes)))


def step(book: Book, status: WantStatus, day: date = TODAY, **more: Any) -> Book:
    return edits.set_status(book, "W", status, day, today=TODAY, **more)


def sentence(call: Callable[[], object], kind: type[ShowrunnerError] = BadInput) -> str:
    with pytest.raises(ShowrunnerError) as caught:
        call()
    assert type(caught.value) is kind
    return caught.value.sentence()


# Where it stands


def test_ordering_keeps_price_carriage_and_expected_day_and_the_history_grows() -> None:
    book = step(book_with(ceiling=Decimal(85)), ORDERED, paid=Decimal("80.50"), carriage=Decimal(9), expected=SOON)
    want = want_of(book)
    assert (want.status, want.paid, want.carriage, want.expected) == (ORDERED, Decimal("80.50"), Decimal(9), SOON)
    assert want.ceiling == Decimal(85)
    assert want.history == (WantStep(ORDERED, TODAY),)


def test_what_has_arrived_is_a_piece_acquired_on_that_day() -> None:
    book = step(step(book_with(), ORDERED, date(2026, 2, 1), paid=Decimal(80)), ARRIVED, date(2026, 2, 20))
    piece = book.piece("W")
    assert piece.is_here
    assert piece.acquired == FuzzyDate.exact(date(2026, 2, 20))
    assert want_of(book).history == (WantStep(ORDERED, date(2026, 2, 1)), WantStep(ARRIVED, date(2026, 2, 20)))
    assert want_of(book).paid == Decimal(80)
    known = replace(piece, want=replace(want_of(book), status=ORDERED), acquired=SOON)
    assert edits.set_status(book.put("pieces", known), "W", ARRIVED, TODAY, today=TODAY).piece("W").acquired == SOON


def test_what_is_declined_keeps_what_was_known_and_can_be_wanted_again() -> None:
    book = step(step(book_with(), ORDERED, paid=Decimal(80), expected=SOON), DECLINED)
    assert not book.piece("W").is_here
    assert want_of(book).paid == Decimal(80)
    again = want_of(step(book, WANTED))
    assert (again.status, again.paid, again.carriage, again.expected) == (WANTED, None, None, None)
    assert [entry.status for entry in again.history] == [ORDERED, DECLINED, WANTED]


def test_a_step_that_cannot_be_is_refused_in_one_sentence() -> None:
    book = step(book_with(), ORDERED, date(2026, 2, 10))
    assert sentence(lambda: step(book, ORDERED)) == "Pancake: it is ordered already; choose another, or edit it."
    assert sentence(lambda: step(book, ARRIVED, date(2026, 3, 3))) == (
        "Pancake: 3 March 2026 is still to come (today is 2 March 2026); give a day that has come."
    )
    assert sentence(lambda: step(book, ARRIVED, date(2026, 2, 9))) == (
        "Pancake: it was ordered on 10 February 2026, after 9 February 2026; give a later day."
    )
    assert step(book, ARRIVED, date(2026, 2, 10)).piece("W").is_here
    assert sentence(lambda: edits.set_status(book, "1", ORDERED, TODAY, today=TODAY)) == (
        "Apron: it is not shopped for; choose a piece of a shopping collection."
    )
    assert sentence(lambda: edits.set_status(book, "99", ORDERED, TODAY, today=TODAY), UnknownThing) == (
        "the book holds no piece '99'; choose one that it holds."
    )


def test_what_a_study_shows_does_not_leave_the_collection() -> None:
    book = step(book_with(), ARRIVED)
    book, _ = edits.make_study(book, ("W",), title="Flat as a pancake")
    assert sentence(lambda: step(book, DECLINED)) == (
        "Pancake: the study “Flat as a pancake” shows it; take it out of that study first."
    )


# What cannot be


def test_money_that_cannot_be_is_refused() -> None:
    book = book_with()
    assert sentence(lambda: put(book, ceiling=Decimal(-1))) == "ceiling: -1 is less than nothing; give 0 or more."
    assert sentence(lambda: put(book, ceiling=Decimal("85.505"))) == (
        "Pancake, ceiling: AUD has 2 decimals, and 85.505 is finer; round it."
    )
    assert sentence(lambda: put(book, ceiling=Decimal(10**10))) == (
        "Pancake, ceiling: 10000000000 is more than is believed; look at the number."
    )
    assert sentence(lambda: put(book, paid=Decimal(80))) == (
        "Pancake: something is paid while it is only wanted; order it first, or leave the price out."
    )
    assert sentence(lambda: step(book, ORDERED, paid=Decimal("80.505"))) == (
        "Pancake, paid: AUD has 2 decimals, and 80.505 is finer; round it."
    )
    assert want_of(put(book, ceiling=Decimal(10**9))).ceiling == 10**9
    assert sentence(lambda: put(book, ceiling=Decimal(10**9) + 1)).startswith("Pancake, ceiling: 1000000001 is more")
    assert want_of(put(book, ceiling=Decimal("85.50"))).ceiling == Decimal("85.50")


def test_a_currency_without_cents_has_none_and_one_with_three_decimals_has_three() -> None:
    book = book_with()
    rate = Rate(Decimal("0.0102"), TODAY)
    assert sentence(lambda: put(book, currency="JPY", rate=rate, ceiling=Decimal("8500.5"))) == (
        "Pancake, ceiling: JPY has no amounts below 1, and 8500.5 is finer; round it."
    )
    assert want_of(put(book, currency="JPY", rate=rate, ceiling=Decimal("8500.0"))).ceiling == Decimal(8500)
    assert want_of(put(book, currency="KWD", rate=rate, ceiling=Decimal("1.125"))).ceiling == Decimal("1.125")


def test_another_currency_needs_a_rate_which_is_kept_with_its_day() -> None:
    book = book_with()
    assert sentence(lambda: put(book, currency="EUR", ceiling=Decimal(50))) == (
        "Pancake: its price is in EUR and Crown blocks is counted in AUD; "
        "say what 1 EUR was worth in AUD, and on what day."
    )
    rate = Rate(Decimal("1.65"), TODAY)
    assert want_of(put(book, currency="EUR", rate=rate)).rate == rate
    assert want_of(put(book, currency="AUD")).rate is None
    assert sentence(lambda: put(book, rate=rate)) == (
        "Pancake: a rate is for another currency; name that currency, or leave the rate out."
    )
    assert sentence(lambda: put(book, currency="AUS", rate=rate)) == (
        "Pancake: 'AUS' is no currency; give its three letters, such as AUD or EUR."
    )
    assert sentence(lambda: Rate(Decimal(0), TODAY)) == "rate: 0 is no rate; give what one unit is worth, above 0."
    bare = book.put("collections", replace(book.collection("blocks"), currency=""))
    assert sentence(lambda: put(bare, currency="EUR", rate=rate)) == (
        "Pancake: Crown blocks has no currency, so EUR cannot be counted; give the collection its currency first."
    )


@pytest.mark.parametrize("width", ["0", "1000.5"])
def test_a_width_that_cannot_be_is_refused(width: str) -> None:
    assert sentence(lambda: put(book_with(), width_cm=Decimal(width))) == (
        f"Pancake, width: {width} cm is no width; give 0.1 to 1000, or leave it empty."
    )


def test_hours_of_preparation_are_never_below_0() -> None:
    assert sentence(lambda: put(book_with(), preparation_minutes=-60)) == (
        "preparation: hours below 0; give 0 or more."
    )


def test_nothing_is_shopped_for_in_a_collection_that_is_kept() -> None:
    book = book_with()
    assert sentence(lambda: edits.put_piece(book, Piece("9", "Fan", "dress", want=Want()))) == (
        "Fan: nothing is shopped for in Camphor chest; choose a shopping collection."
    )


def test_an_odd_want_from_a_file_does_not_stand_in_the_way_of_other_edits() -> None:
    book = book_with(currency="EUR")
    renamed = edits.put_piece(book, replace(book.piece("W"), name="Pancake block"))
    assert renamed.piece("W").name == "Pancake block"
    assert problems(book) == ["Pancake: its price is in EUR, and no rate is known."]
    assert problems(book_with(currency="EUR", rate=Rate(Decimal(2), TODAY))) == []


# The collection, the boxes


def limits(**changes: Any) -> Callable[[], Book]:
    book = book_with(ceiling=Decimal(85))
    return lambda: edits.put_collection(book, replace(book.collection("blocks"), **changes))


def test_a_budget_a_shelf_or_a_currency_that_cannot_be_is_refused() -> None:
    assert sentence(limits(budget=Decimal(0))) == (
        "Crown blocks, budget: a budget of 0 buys nothing; give more, or leave it empty for no limit."
    )
    assert sentence(limits(budget=Decimal(-5))) == "Crown blocks, budget: -5 is less than nothing; give 0 or more."
    assert sentence(limits(shelf_cm=Decimal(0))) == (
        "Crown blocks, shelf: a shelf of 0 cm holds nothing; give more, or leave it empty."
    )
    assert sentence(limits(currency="DOLLARS")) == (
        "Crown blocks: 'DOLLARS' is no currency; give its three letters, such as AUD or EUR."
    )
    assert sentence(limits(currency="EUR")) == (
        "Crown blocks: the amounts of Pancake are counted in AUD; keep AUD, or take the amounts out first."
    )
    assert sentence(limits(kind=CollectionKind.KEEPING)) == (
        "Crown blocks: Pancake is shopped for in it; let it stay a shopping collection."
    )
    assert limits(budget=Decimal("1800.50"), shelf_cm=Decimal(290))().collection("blocks").budget == Decimal("1800.50")


def test_a_collection_without_a_currency_gets_one_if_its_amounts_can_be_of_it() -> None:
    book = book_with(ceiling=Decimal("85.50"))
    bare = book.put("collections", replace(book.collection("blocks"), currency=""))
    yen = replace(book.collection("blocks"), currency="JPY")
    assert sentence(lambda: edits.put_collection(bare, yen)) == (
        "Pancake, ceiling: JPY has no amounts below 1, and 85.50 is finer; round it."
    )
    assert edits.put_collection(bare, book.collection("blocks")).collection("blocks").currency == "AUD"


def test_a_box_or_a_store_that_cannot_be_is_refused() -> None:
    assert sentence(lambda: Box("A", depth_cm=Decimal(0))) == (
        "box A: a depth of 0 holds nothing; give more, or leave it empty."
    )
    assert sentence(lambda: Box("A", refold_months=-1)) == "box A: months below 0; give 0 for never."
    assert sentence(lambda: Supply("tissue", -1, 2)) == "tissue: it is less than nothing; give 0 or more."
    assert sentence(lambda: Supply(" ", 1, 2)) == "supplies: a supply needs a name; say what it is."
