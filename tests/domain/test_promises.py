"""Promises that contradict each other: what is told of each, with its parties, its members and one way out."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from workroom_books import small_book

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.episode import Pin, PinKind, Window
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.promises import binding_pairs, clashes, is_apart
from showrunner.domain.publication import Publication
from showrunner.domain.rules import Member, Rule
from showrunner.domain.slot import SlotRef
from showrunner.errors import Contradiction

BOOK = small_book()
"""Its series The Hour airs on Sundays, at least 4 weeks apart; its Bodice came out on 25 January 2026."""


def sunday(day: int, month: int = 3) -> SlotRef:
    return SlotRef(date(2026, month, day), "sun")


def dated(id: str, study: str, slot: SlotRef) -> Pin:
    return Pin(id, PinKind.DATE, (study,), slot)


def pair(id: str, one: str, two: str) -> Pin:
    return Pin(id, PinKind.PAIR, pieces=(one, two))


def pinned(*pins: Pin, book: Book = BOOK) -> Book:
    return replace(book, pins=pins)


def told(book: Book, *, recorded: bool = False) -> list[tuple[str, tuple[str, ...], tuple[object, ...]]]:
    """Of each contradiction the sentence, the parties and the members."""
    return [(clash.sentence(), clash.parties, clash.members) for clash in clashes(book, recorded=recorded)]


def out(book: Book, *studies: str) -> Book:
    return book.put("episodes", *(replace(book.episode(study), published=True) for study in studies))


def test_a_date_too_near_to_the_record_is_told_only_where_the_record_is_asked_for() -> None:
    """From 25 January to 15 February are 3 weeks."""
    near = pinned(dated("p", "apron", sunday(15, 2)))
    assert told(near) == []
    assert told(near, recorded=True) == [
        (
            "“Apron” is promised 15 February 2026 (feature), but it would be 3 weeks from the last published one, "
            "and 4 weeks is the least; unpin it, or allow a smaller gap.",
            ("apron", "hour"),
            (Member(Rule.DATE, "p"), Member(Rule.GAP, "hour")),
        )
    ]
    assert told(pinned(dated("p", "apron", sunday(22, 2))), recorded=True) == []


def test_a_slot_held_by_the_record_is_told_only_where_it_is_asked_for_and_by_filler_always() -> None:
    line = Publication("x", "A talk", "sun", date(2026, 3, 22), FuzzyDate.exact(date(2026, 3, 22)))
    recorded = pinned(dated("p", "apron", sunday(22)), book=BOOK.put("publications", line))
    assert told(recorded) == []
    sentence = "“Apron” is promised 22 March 2026 (feature), but “A talk” holds that slot; "
    members = (Member(Rule.DATE, "p"), Member(Rule.HELD, "2026-03-22 sun"))
    found = [(f"{sentence}free the slot, or unpin the study.", ("apron", "2026-03-22 sun"), members)]
    assert told(recorded, recorded=True) == found
    filler, _ = edits.add_filler(BOOK, "A talk", "sun", date(2026, 3, 22))
    planned = pinned(dated("p", "apron", sunday(22)), book=filler)
    assert told(planned) == told(planned, recorded=True) == found
    elsewhere, _ = edits.add_filler(recorded, "Another", "sun", date(2026, 3, 29))
    assert told(elsewhere) == []
    aired = recorded.put("episodes", replace(planned.episodes[-1], published=True))
    assert told(aired) == []


def test_a_date_outside_the_window_names_study_and_window_once() -> None:
    window = Window(date(2026, 4, 1), date(2026, 4, 30), hard=True)
    book = BOOK.put("episodes", replace(BOOK.episode("apron"), windows=(window,)))
    ((_, parties, members),) = told(pinned(dated("p", "apron", sunday(22)), book=book))
    assert (parties, members) == (("apron",), (Member(Rule.DATE, "p"), Member(Rule.WINDOW, "apron")))


def test_two_dates_name_both_pins_and_the_gap_between_them() -> None:
    one, near, same = (
        dated("p", "apron", sunday(22)),
        dated("q", "jacket", sunday(29)),
        dated("q", "jacket", sunday(22)),
    )
    both = (Member(Rule.DATE, "p"), Member(Rule.DATE, "q"))
    ((sentence, parties, members),) = told(pinned(one, near))
    assert sentence.startswith("“Apron” and “Skating jacket” are promised 7 days apart, but The Hour keeps at least 4")
    assert (parties, members) == (("apron", "jacket"), (*both, Member(Rule.GAP, "hour")))
    ((_, parties, members),) = told(pinned(one, same))
    assert (parties, members) == (("apron", "jacket"), both)
    again = dated("q", "apron", sunday(29))
    ((_, parties, members),) = told(pinned(one, again))
    assert (parties, members) == (("apron",), both)
    assert told(pinned(one, replace(one, id="q"))) == []  # the same promise twice
    last = dated("r", "jacket", sunday(29))
    assert len(told(pinned(one, again, last))) == 3  # apron twice, and the jacket too near to each of them


def test_an_order_that_the_record_has_broken_is_told() -> None:
    order = Pin("p", PinKind.ORDER, ("apron", "jacket"))
    assert told(pinned(order)) == told(pinned(order, book=out(BOOK, "apron"))) == []
    assert told(pinned(order, book=out(BOOK, "apron", "jacket"))) == []
    assert told(pinned(order, book=out(BOOK, "jacket"))) == [
        (
            "“Apron” is promised before “Skating jacket”, which has been published already; unpin the order.",
            ("apron", "jacket"),
            (Member(Rule.ORDER, "p"),),
        )
    ]
    gone = Pin("p", PinKind.ORDER, ("gone", "bodice"))
    late = dated("q", "apron", sunday(22))
    assert told(pinned(gone, late, replace(order, id="r"), book=out(BOOK, "jacket"))) == told(
        pinned(Pin("r", PinKind.ORDER, ("apron", "jacket")), book=out(BOOK, "jacket"))
    )


def test_a_circle_and_a_chain_name_studies_and_pins() -> None:
    there, back = Pin("p", PinKind.ORDER, ("apron", "jacket")), Pin("q", PinKind.ORDER, ("jacket", "apron"))
    ((_, parties, members),) = told(pinned(there, back))
    assert (parties, members) == (("apron", "jacket"), (Member(Rule.ORDER, "p"), Member(Rule.ORDER, "q")))
    dates = dated("d", "apron", sunday(26, 4)), dated("e", "jacket", sunday(22))
    ((_, parties, members),) = told(pinned(there, *dates))
    assert parties == ("apron", "jacket")
    assert set(members) == {Member(Rule.ORDER, "p"), Member(Rule.DATE, "d"), Member(Rule.DATE, "e")}


def test_one_date_against_a_window_tells_the_soonest_and_the_latest_day() -> None:
    window = Window(date(2026, 4, 1), date(2026, 4, 30), hard=True)
    book = BOOK.put("episodes", replace(BOOK.episode("apron"), windows=(window,)))
    order, late = Pin("p", PinKind.ORDER, ("apron", "jacket")), dated("q", "jacket", sunday(22))
    ((sentence, _, _),) = told(pinned(order, late, book=book))
    assert sentence == (
        "“Apron” before “Skating jacket” is promised, but “Apron” can come 5 April 2026 at the soonest and "
        "“Skating jacket” 22 March 2026 at the latest; unpin the order, or widen a window."
    )


def test_a_pair_is_kept_in_one_study_or_in_none_and_apart_in_two_or_by_halves() -> None:
    """Apron and Skating jacket have a study each, Septimus and Barnaby share one, Comet and Bathing costume none."""
    apart = {("1", "4"): True, ("2", "3"): False, ("5", "6"): False, ("1", "5"): True, ("5", "1"): True}
    for pieces, wanted in apart.items():
        assert is_apart(BOOK, pair("p", *pieces)) is wanted
        assert len(clashes(pinned(pair("p", *pieces)))) == wanted
    ((sentence, parties, members),) = told(pinned(pair("p", "5", "1")))
    assert sentence == (
        "Comet and Apron are promised together, but Comet is in no study and Apron is in “Apron”; "
        "bring them into one study, or unpin the pair."
    )
    assert (parties, members) == (("p", "apron"), (Member(Rule.PAIR, "p"),))


def test_a_pair_of_which_one_came_out_alone_is_told_and_one_shown_together_binds_nothing() -> None:
    alone, both = pair("p", "5", "8"), pair("q", "2", "3")
    assert is_apart(BOOK, alone) is True
    assert told(pinned(alone)) == [
        (
            "Comet and Bodice are promised together, but Bodice came out in a study without the other; unpin the pair.",
            ("p",),
            (Member(Rule.PAIR, "p"),),
        )
    ]
    shown = pinned(alone, both, book=out(BOOK, "waistcoats"))
    assert binding_pairs(shown) == [alone]
    assert binding_pairs(pinned(both, dated("d", "apron", sunday(22)))) == [both]


def test_two_pairs_that_share_a_piece_are_told_unless_one_of_them_is_apart_already() -> None:
    one, two, same = pair("p", "5", "6"), pair("q", "6", "7"), pair("r", "6", "5")
    ((_, parties, members),) = told(pinned(one, two))
    assert (parties, members) == (("p", "q"), (Member(Rule.PAIR, "p"), Member(Rule.PAIR, "q")))
    assert told(pinned(one, same)) == told(pinned(one, pair("s", "2", "3"))) == []
    assert [parties for _, parties, _ in told(pinned(pair("p", "1", "5"), pair("q", "5", "6")))] == [("p", "apron")]


def test_a_contradiction_is_known_by_its_rule() -> None:
    circle = Pin("p", PinKind.ORDER, ("apron", "jacket")), Pin("q", PinKind.ORDER, ("jacket", "apron"))
    found: dict[str, Contradiction] = {
        "date": clashes(pinned(dated("p", "apron", sunday(22)), dated("q", "apron", sunday(29))))[0],
        "taken": clashes(pinned(dated("p", "apron", sunday(22)), dated("q", "jacket", sunday(22))))[0],
        "gap": clashes(pinned(dated("p", "apron", sunday(22)), dated("q", "jacket", sunday(29))))[0],
        "order": clashes(pinned(*circle))[0],
        "pair": clashes(pinned(pair("p", "1", "4")))[0],
    }
    assert {name: clash.rule for name, clash in found.items()} == {name: Rule(name) for name in found}
