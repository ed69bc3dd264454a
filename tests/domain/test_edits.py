"""What can be done to a book, and what is refused with whom it concerns."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from workroom_books import small_book

from showrunner.domain import edits
from showrunner.domain.episode import Window
from showrunner.domain.piece import Known, Piece
from showrunner.domain.slot import DarkRange, SlotRef
from showrunner.errors import BadInput, Contradiction, ShowrunnerError, UnknownThing

SUNDAY = SlotRef(date(2026, 4, 5), "sun")
NEXT = SlotRef(date(2026, 5, 10), "sun")


def test_two_studies_cannot_be_pinned_to_one_slot() -> None:
    book, _ = edits.pin_date(small_book(), "apron", SUNDAY)
    with pytest.raises(Contradiction) as refused:
        edits.pin_date(book, "jacket", SUNDAY)
    assert set(refused.value.parties) == {"apron", "jacket"}
    assert "Apron" in refused.value.sentence()
    assert "Skating jacket" in refused.value.sentence()


def test_pins_nearer_than_the_least_gap_are_refused() -> None:
    book, _ = edits.pin_date(small_book(), "apron", SUNDAY)
    with pytest.raises(Contradiction, match="21 days apart"):
        edits.pin_date(book, "jacket", SlotRef(date(2026, 4, 26), "sun"))


def test_a_circle_of_orders_names_everyone() -> None:
    book, _ = edits.pin_order(small_book(), "apron", "jacket")
    book, _ = edits.pin_order(book, "jacket", "waistcoats")
    with pytest.raises(Contradiction) as refused:
        edits.pin_order(book, "waistcoats", "apron")
    assert set(refused.value.parties) == {"apron", "jacket", "waistcoats"}


def test_dates_against_an_order_are_refused() -> None:
    book, _ = edits.pin_order(small_book(), "apron", "jacket")
    book, _ = edits.pin_date(book, "jacket", SUNDAY)
    with pytest.raises(Contradiction, match="is promised"):
        edits.pin_date(book, "apron", NEXT)


def test_a_date_outside_a_hard_window_is_refused() -> None:
    book = small_book()
    window = Window(date(2026, 6, 1), date(2026, 8, 31), hard=True)
    book = edits.put_episode(book, replace(book.episode("apron"), windows=(window,)))
    with pytest.raises(Contradiction, match="must fall in 1 June 2026 to 31 August 2026"):
        edits.pin_date(book, "apron", SUNDAY)


def test_a_date_in_a_dark_range_is_refused() -> None:
    dark = DarkRange("d", date(2026, 4, 1), date(2026, 4, 30), no_publication=True)
    with pytest.raises(Contradiction, match="nothing is published"):
        edits.pin_date(edits.put_dark(small_book(), dark), "apron", SUNDAY)


def test_a_pair_promised_twice_is_refused() -> None:
    book, _ = edits.pin_pair(small_book(), "2", "3")
    with pytest.raises(Contradiction):
        edits.pin_pair(book, "3", "4")
    with pytest.raises(ShowrunnerError):
        edits.split_study(book, "waistcoats")


def test_splitting_and_pairing_change_the_count_by_one() -> None:
    book, one, two = edits.split_study(small_book(), "waistcoats")
    assert len(book.open_studies) == 4
    assert (one.pieces, two.pieces) == (("2",), ("3",))
    again, study = edits.pair_studies(book, one.id, two.id)
    assert len(again.open_studies) == 3
    assert set(study.pieces) == {"2", "3"}


@pytest.mark.parametrize(
    ("pieces", "why"),
    [
        (("404",), "404"),
        (("1",), "Apron"),
        (("5", "6", "7"), "one or two"),
        (("8",), "shown"),
        (("5", "B1"), "collection"),
    ],
)
def test_studies_that_cannot_be_are_refused(pieces: tuple[str, ...], why: str) -> None:
    with pytest.raises(ShowrunnerError, match=why):
        edits.make_study(small_book(), pieces)


def test_a_study_gets_an_id_of_its_own() -> None:
    book, study = edits.make_study(small_book(), ("5",))
    assert study.id == "comet"
    book, again = edits.make_study(book, ("6",), title="Comet")
    assert again.id != study.id


def test_publishing_marks_pieces_shown_and_only_adds_to_the_record() -> None:
    book = edits.set_slot(small_book(), "waistcoats", SUNDAY)
    late = edits.publish(book, "waistcoats", date(2026, 4, 12), "https://example.org/w")
    assert late.publications[:-1] == book.publications
    line = late.publications[-1]
    assert (line.planned, line.day, line.late_or_missed) == (date(2026, 4, 5), date(2026, 4, 12), True)
    assert late.piece("2").shown.known is late.piece("3").shown.known is Known.YES
    assert late.episode("waistcoats").published
    with pytest.raises(BadInput, match="published"):
        edits.publish(late, "waistcoats", date(2026, 4, 12))


def test_publishing_on_a_day_to_come_is_refused() -> None:
    with pytest.raises(BadInput, match="still to come"):
        edits.publish(small_book(), "apron", date(2026, 4, 5), today=date(2026, 3, 2))


def test_a_missed_slot_is_on_record_and_the_study_stays_open() -> None:
    book = edits.miss(edits.set_slot(small_book(), "apron", SUNDAY), "apron")
    assert book.publications[-1].actual is None
    assert book.publications[-1].late_or_missed
    assert book.episode("apron").slot is None
    assert not book.episode("apron").published


def test_a_taken_slot_is_refused_with_both_names() -> None:
    book = edits.set_slot(small_book(), "apron", SUNDAY)
    with pytest.raises(Contradiction) as refused:
        edits.set_slot(book, "jacket", SUNDAY)
    assert "Apron" in refused.value.sentence()
    with pytest.raises(ShowrunnerError, match="Monday"):
        edits.set_slot(book, "jacket", SlotRef(date(2026, 4, 6), "sun"))
    with pytest.raises(ShowrunnerError):
        edits.set_slot(book, "jacket", SlotRef(date(2026, 4, 8), "wed"))


def test_what_is_in_use_is_not_removed() -> None:
    book = small_book()
    with pytest.raises(ShowrunnerError, match="Apron"):
        edits.remove_piece(book, "1")
    with pytest.raises(ShowrunnerError, match="The Hour"):
        edits.remove_rule(book, "sun")
    with pytest.raises(ShowrunnerError):
        edits.remove_series(book, "hour")
    with pytest.raises(ShowrunnerError):
        edits.remove_collection(book, "dress")
    pinned, _ = edits.pin_date(book, "apron", SUNDAY)
    with pytest.raises(ShowrunnerError):
        edits.remove_study(pinned, "apron")


def test_windows_and_ranges_that_end_before_they_start_are_refused() -> None:
    with pytest.raises(BadInput, match=r"the window ends .* before it starts"):
        Window(date(2026, 4, 30), date(2026, 3, 1))
    with pytest.raises(BadInput, match=r"the dark range ends .* before it starts"):
        DarkRange("d", date(2026, 4, 30), date(2026, 3, 1))


def test_odds_and_ids_are_checked() -> None:
    with pytest.raises(BadInput, match="leave no doubt"):
        edits.mark_shown(small_book(), "1", Known.UNSURE, odds=100)
    with pytest.raises(UnknownThing):
        edits.mark_shown(small_book(), "404", Known.YES)
    with pytest.raises(ShowrunnerError):
        edits.put_piece(small_book(), Piece("99", "x", "nowhere"))
