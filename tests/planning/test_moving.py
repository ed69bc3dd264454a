"""Where a study may be moved by hand, and the rule that is named where it may not."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.rules import Board, Rule, clause, terms_of
from showrunner.domain.slot import DarkRange, SlotRef
from showrunner.planning.moving import breach_of, places
from showrunner.session import Session

TODAY = date(2026, 3, 2)


def demo() -> Book:
    with Session.open(Path(__file__).parents[2] / "demo" / "book.json", write=False) as session:
        return session.book


def why(book: Book, study: str, month: int, day: int) -> str:
    breach = breach_of(book, book.episode(study), SlotRef(date(2026, month, day), "sunday"), TODAY)
    return clause(book, breach) if breach else ""


def test_a_free_slot_is_allowed() -> None:
    assert why(demo(), "apron", 3, 29) == ""


def test_a_day_without_publication_is_not() -> None:
    dark = DarkRange("d", date(2026, 3, 27), date(2026, 3, 31), no_work=False, no_publication=True)
    assert why(edits.put_dark(demo(), dark), "apron", 3, 29) == "nothing is published 27 to 31 March 2026"


def test_a_day_outside_a_hard_window_is_not() -> None:
    assert why(demo(), "bathing-costume", 9, 27) == "it must fall in 15 October to 28 February every year"
    loose = edits.set_slot(demo(), "waistcoats", None)
    assert why(loose, "skating-jacket", 5, 24) == ""  # a soft window, from 1 June, only costs


def test_a_day_nearer_than_the_least_gap_is_not() -> None:
    # 19 April is 3 weeks before the waistcoats of 10 May; 15 February 3 after the last study, of 25 January
    near = "it would be 3 weeks from “Septimus and Barnaby: two waistcoats”, and 4 weeks is the least"
    assert why(demo(), "apron", 4, 19) == near
    book = demo()
    early = Board(book).against_slot(terms_of(book, book.episode("apron")), SlotRef(date(2026, 2, 15), "sunday"))
    assert [clause(book, breach) for breach in early if breach.rule is Rule.GAP] == [
        "it would be 3 weeks from the last published one, and 4 weeks is the least"
    ]
    assert why(demo(), "apron", 4, 12) == ""


def test_a_day_against_a_promised_order_is_not() -> None:
    book, _ = edits.pin_order(demo(), "apron", "waistcoats")
    free = edits.set_slot(book, "skating-jacket", None)
    assert why(free, "apron", 6, 14) == "it is promised before “Septimus and Barnaby: two waistcoats”"
    assert why(edits.set_slot(free, "apron", SlotRef(date(2026, 4, 12), "sunday")), "waistcoats", 3, 8) == (
        "it is promised after “The apple-packer's apron”"
    )


def test_taken_slots_are_not_offered() -> None:
    book = demo()
    book, _ = edits.add_filler(book, "A named talk", "sunday", date(2026, 3, 15))
    days = [place.slot.day for place in places(book, book.episode("apron"), TODAY)]
    assert date(2026, 3, 8) in days
    assert date(2026, 3, 15) not in days
    assert date(2026, 3, 22) not in days  # where it stands
    out = edits.record_publication(book, "A talk", "sunday", date(2026, 3, 8), date(2026, 3, 8))
    assert date(2026, 3, 8) not in [p.slot.day for p in places(out, out.episode("apron"), date(2026, 3, 8))]
    loose = replace(book.episode("apron"), slot=None)
    assert date(2026, 3, 22) in [p.slot.day for p in places(book.put("episodes", loose), loose, TODAY)]


def test_a_held_slot_is_not_offered_even_where_a_gap_forbids_it_too() -> None:
    book, _ = edits.add_filler(demo(), "A named talk", "sunday", date(2026, 5, 17))
    days = {place.slot.day: place.against for place in places(book, book.episode("apron"), TODAY)}
    assert date(2026, 5, 17) not in days
    near = days[date(2026, 5, 24)]
    assert near
    assert near.rule is Rule.GAP


def test_hours_stand_against_a_slot_as_rules_do_and_are_to_spare_in_another() -> None:
    """Of the 17 h of the apron 10 are there until 7 March; on 29 March 8 h could still be lost."""
    found = {place.slot.day: place for place in places(demo(), demo().episode("apron"), TODAY)}
    first, later = found[date(2026, 3, 8)], found[date(2026, 3, 29)]
    assert first.against
    assert (first.against.rule, first.against.amount) == (Rule.HOURS, (17 - 10) * 60)
    assert clause(demo(), first.against) == "the work would be 7 h short"
    assert (later.against, later.spare_minutes) == (None, 8 * 60)
