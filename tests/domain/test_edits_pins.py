from dataclasses import replace
from datetime import date

import pytest
from workroom_books import small_book

from showrunner.domain import edits
from showrunner.domain.episode import Window
from showrunner.domain.promises import clashes
from showrunner.domain.slot import DarkRange, SlotRef
from showrunner.errors import BadInput, Contradiction, ShowrunnerError, UnknownThing

BOOK = small_book()


def sunday(day, month=3):
    return SlotRef(date(2026, month, day), "sun")


def refusal(call, kind=Contradiction):
    with pytest.raises(ShowrunnerError) as caught:
        call()
    assert type(caught.value) is kind
    return caught.value


def test_a_date_pin_is_kept_with_its_reason_and_leaves_the_slot():
    book, pin = edits.pin_date(BOOK, "apron", sunday(22), "for the orchard's fair")
    assert book.pins == (pin,)
    assert (pin.id, pin.reason, book.episode("apron").slot) == ("pin-1", "for the orchard's fair", None)
    assert edits.unpin(book, pin.id) == BOOK


def test_two_studies_promised_one_slot():
    book, _ = edits.pin_date(BOOK, "apron", sunday(22))
    error = refusal(lambda: edits.pin_date(book, "jacket", sunday(22)))
    assert error.sentence() == (
        "“Apron” and “Skating jacket” are both promised 22 March 2026 (feature); unpin one of them."
    )
    assert error.parties == ("apron", "jacket")


def test_one_study_promised_two_slots():
    book, _ = edits.pin_date(BOOK, "apron", sunday(22))
    error = refusal(lambda: edits.pin_date(book, "apron", sunday(29)))
    assert error.sentence() == (
        "“Apron” is promised both 22 March 2026 (feature) and 29 March 2026 (feature); unpin one of the dates."
    )
    assert refusal(lambda: edits.pin_date(book, "apron", sunday(22)), BadInput).sentence() == (
        "“Apron” on 22 March 2026 (feature): it is promised already; nothing needs to be done."
    )


def test_two_dates_of_a_series_nearer_than_its_least_gap():
    book, _ = edits.pin_date(BOOK, "apron", sunday(1))
    error = refusal(lambda: edits.pin_date(book, "jacket", sunday(22)))
    assert error.sentence() == (
        "“Apron” and “Skating jacket” are promised 21 days apart, but The Hour keeps at least 4 weeks; "
        "unpin one of them, or allow a smaller gap."
    )
    assert edits.pin_date(book, "jacket", sunday(29))[1].slot == sunday(29)


def test_a_date_against_rule_series_window_dark_range_filler_and_today():
    apron = BOOK.episode("apron")
    assert refusal(lambda: edits.pin_date(BOOK, "apron", SlotRef(date(2026, 3, 23), "sun")), BadInput).sentence() == (
        "23 March 2026 is a Monday, and feature comes on Sundays; choose another day or another slot."
    )
    assert refusal(lambda: edits.pin_date(BOOK, "apron", SlotRef(date(2026, 3, 25), "wed"))).sentence() == (
        "“Apron” is promised 25 March 2026 (diary), but The Hour may not use diary; "
        "pin it to a slot of its series, or allow the slot."
    )
    winter = Window(date(2025, 10, 15), date(2026, 2, 28), hard=True, yearly=True)
    book = edits.put_episode(BOOK, replace(apron, windows=(winter,)))
    assert refusal(lambda: edits.pin_date(book, "apron", sunday(22))).sentence() == (
        "“Apron” is promised 22 March 2026 (feature), but it must fall in 15 October to 28 February every year; "
        "pin it to a date inside, or make the window soft."
    )
    assert edits.pin_date(book, "apron", sunday(18, 10))[1].slot == sunday(18, 10)
    book = edits.put_dark(BOOK, DarkRange("d", date(2026, 3, 22), date(2026, 3, 22), no_publication=True))
    assert refusal(lambda: edits.pin_date(book, "apron", sunday(22))).parties == ("apron", "d")
    book, _ = edits.add_filler(BOOK, "On pins", "sun", date(2026, 3, 22))
    assert refusal(lambda: edits.pin_date(book, "apron", sunday(22))).sentence() == (
        "“Apron” is promised 22 March 2026 (feature), but “On pins” holds that slot; free the slot, or unpin the study."
    )
    assert refusal(lambda: edits.pin_date(BOOK, "apron", sunday(1), today=date(2026, 3, 2)), BadInput).sentence() == (
        "“Apron”: 1 March 2026 is past; choose a day to come."
    )


def test_only_open_studies_are_pinned():
    assert refusal(lambda: edits.pin_date(BOOK, "bodice", sunday(22)), BadInput).sentence() == (
        "“Bodice”: it has been published already; choose one that has not."
    )
    book, talk = edits.add_filler(BOOK, "On pins", "sun")
    assert refusal(lambda: edits.pin_date(book, talk.id, sunday(22)), BadInput).sentence() == (
        "“On pins”: it is filler and no study; choose a study."
    )
    assert refusal(lambda: edits.pin_order(BOOK, "apron", "bodice"), BadInput).sentence() == (
        "“Bodice”: it has been published already; choose one that has not."
    )
    assert refusal(lambda: edits.pin_order(BOOK, "apron", "apron"), BadInput).sentence() == (
        "“Apron”: a study cannot come before itself; choose two studies."
    )
    assert refusal(lambda: edits.unpin(BOOK, "pin-9"), UnknownThing).sentence() == (
        "the book holds no pin 'pin-9'; choose one that it holds."
    )


def test_orders_that_go_round_name_every_party():
    book, _ = edits.pin_order(BOOK, "apron", "waistcoats")
    error = refusal(lambda: edits.pin_order(book, "waistcoats", "apron"))
    assert error.sentence() == (
        "the promises “Apron” before “Waistcoats” and “Waistcoats” before “Apron” cannot all be kept; "
        "unpin one of the orders."
    )
    book, _ = edits.pin_order(book, "waistcoats", "jacket")
    error = refusal(lambda: edits.pin_order(book, "jacket", "apron"))
    assert error.sentence() == (
        "the promises “Apron” before “Waistcoats”, “Waistcoats” before “Skating jacket” and "
        "“Skating jacket” before “Apron” cannot all be kept; unpin one of the orders."
    )
    assert error.parties == ("apron", "waistcoats", "jacket")
    assert edits.pin_order(book, "apron", "jacket")[0].pins[-1].episodes == ("apron", "jacket")


def test_dates_against_a_chain_of_orders_either_way_round():
    book, _ = edits.pin_order(BOOK, "apron", "waistcoats")
    book, _ = edits.pin_order(book, "waistcoats", "jacket")
    book, _ = edits.pin_date(book, "jacket", sunday(22))
    words = (
        "“Apron” before “Waistcoats” and “Waistcoats” before “Skating jacket” is promised, but so are "
        "“Apron” on 26 April 2026 (feature) and “Skating jacket” on 22 March 2026 (feature); "
        "unpin a date or an order."
    )
    error = refusal(lambda: edits.pin_date(book, "apron", sunday(26, 4)))
    assert error.sentence() == words
    assert error.parties == ("apron", "waistcoats", "jacket")
    dates, _ = edits.pin_date(BOOK, "jacket", sunday(22))
    dates, _ = edits.pin_date(dates, "apron", sunday(26, 4))
    dates, _ = edits.pin_order(dates, "apron", "waistcoats")
    assert refusal(lambda: edits.pin_order(dates, "waistcoats", "jacket")).sentence() == words


def test_a_published_study_may_come_first_in_an_order():
    assert clashes(edits.pin_order(BOOK, "bodice", "apron")[0]) == ()


def test_pairs():
    book, pin = edits.pin_pair(BOOK, "5", "6")
    assert pin.pieces == ("5", "6")
    error = refusal(lambda: edits.pin_pair(book, "6", "7"))
    assert error.sentence() == (
        "Bathing costume is promised in two pairs, Comet with Bathing costume and Bathing costume with Collar; "
        "unpin one of the pairs."
    )
    assert error.parties == ("pin-1", "pin-2")
    assert edits.pin_pair(BOOK, "2", "3")[1].pieces == ("2", "3")
    assert refusal(lambda: edits.pin_pair(BOOK, "1", "4")).sentence() == (
        "Apron and Skating jacket are promised together, but Apron is in “Apron” and Skating jacket is in "
        "“Skating jacket”; bring them into one study, or unpin the pair."
    )
    assert refusal(lambda: edits.pin_pair(book, "6", "5"), BadInput).sentence() == (
        "Bathing costume with Comet: it is promised already; nothing needs to be done."
    )
    assert refusal(lambda: edits.pin_pair(BOOK, "5", "B1"), BadInput).sentence() == (
        "Comet and Pudding: they are of different collections; choose two of one."
    )
    assert refusal(lambda: edits.pin_pair(BOOK, "5", "8"), BadInput).sentence() == (
        "Bodice: it has been shown already; make a study of it first if it is a revisit."
    )
    assert refusal(lambda: edits.pin_pair(BOOK, "5", "5"), BadInput).sentence() == (
        "Comet: a piece cannot be paired with itself; choose two pieces."
    )


def test_what_was_promised_and_published_binds_nothing_more():
    book, _ = edits.pin_pair(BOOK, "2", "3")
    book, _ = edits.pin_date(book, "waistcoats", sunday(1))
    book = edits.publish(edits.set_slot(book, "waistcoats", sunday(1)), "waistcoats", date(2026, 3, 1))
    assert clashes(book) == ()
    book, _ = edits.pin_date(book, "apron", sunday(1))
    assert clashes(book) == ()
