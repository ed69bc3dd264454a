"""Promised orders against the calendar: circles, windows, first and last days, and what is needed for each clash."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from books import small, sunday

from showrunner.domain.book import Book
from showrunner.domain.episode import Pin, PinKind, Window
from showrunner.domain.orders import fewest_dropped, stuck_orders
from showrunner.domain.promises import clashes
from showrunner.domain.rules import Member, Rule
from showrunner.domain.slot import DarkRange

SUNDAYS = [date(2026, 3, 8) + timedelta(weeks=n) for n in range(8)]


def order(id: str, first: str, second: str) -> Pin:
    return Pin(id, PinKind.ORDER, (first, second))


def dated(id: str, study: str, day: date) -> Pin:
    return Pin(id, PinKind.DATE, (study,), sunday(day))


def book(*pins: Pin, studies: int = 4, **windows: tuple[date, date]) -> Book:
    found = replace(small(studies), pins=pins)
    for study, (first, last) in windows.items():
        changed = replace(found.episode(study), windows=(Window(first, last, hard=True),))
        found = found.put("episodes", changed)
    return found


def needed(found: Book) -> list[set[str]]:
    return [{member.id for member in stuck.members} for stuck in stuck_orders(found)]


def test_orders_that_some_days_keep_are_not_stuck() -> None:
    assert stuck_orders(book(order("a", "s0", "s1"), order("b", "s1", "s2"))) == ()
    assert stuck_orders(book(order("a", "s0", "s1"), s0=(SUNDAYS[0], SUNDAYS[0]), s1=(SUNDAYS[1], SUNDAYS[1]))) == ()


def test_a_window_of_one_day_a_year_is_met_by_a_weekday_sooner_or_later() -> None:
    """12 March is a Sunday in 2028 and then only in 2034; 29 February in 2032 and then in 2060."""
    for day, first in ((date(2028, 3, 12), date(2028, 3, 13)), (date(2032, 2, 29), date(2032, 3, 1))):
        yearly = Window(day, day, hard=True, yearly=True)
        found = book(order("a", "s0", "s1"), s0=(first, first + timedelta(weeks=1)))
        found = found.put("episodes", replace(found.episode("s1"), windows=(yearly,)))
        assert stuck_orders(found) == ()


def test_a_circle_names_its_orders() -> None:
    found = book(order("a", "s0", "s1"), order("b", "s1", "s2"), order("c", "s2", "s0"), order("d", "s2", "s3"))
    assert needed(found) == [{"a", "b", "c"}]
    assert fewest_dropped(found) == (("a",), ("b",), ("c",))


def test_two_windows_the_wrong_way_round_are_named_with_the_order() -> None:
    found = book(order("a", "s0", "s1"), s0=(SUNDAYS[2], SUNDAYS[3]), s1=(SUNDAYS[0], SUNDAYS[2]))
    assert needed(found) == [{"a", "s0", "s1"}]
    (clash,) = clashes(found)
    assert clash.sentence() == (
        "“Study 0” before “Study 1” is promised, but “Study 0” can come 22 March 2026 at the soonest and “Study 1” "
        "22 March 2026 at the latest; unpin the order, or widen a window."
    )
    assert fewest_dropped(found) == (("a",),)
    one_later = book(order("a", "s0", "s1"), s0=(SUNDAYS[2], SUNDAYS[3]), s1=(SUNDAYS[0], SUNDAYS[3]))
    assert stuck_orders(one_later) == ()


def test_a_chain_needs_a_slot_for_each_of_its_studies() -> None:
    chain = (order("a", "s0", "s1"), order("b", "s1", "s2"))
    edges = {"s0": (SUNDAYS[0], SUNDAYS[0]), "s2": (SUNDAYS[1], SUNDAYS[1])}
    assert needed(book(*chain, **edges)) == [{"a", "b", "s0", "s2"}]
    assert stuck_orders(book(*chain, s0=edges["s0"], s2=(SUNDAYS[2], SUNDAYS[2]))) == ()


def test_an_order_against_the_first_or_last_day_of_a_slot_names_the_slot() -> None:
    found = book(order("a", "s0", "s1"), s1=(SUNDAYS[0], SUNDAYS[1]))
    late = found.put("rules", replace(found.rule("sunday"), first=SUNDAYS[1]))
    assert needed(late) == [{"a", "s1", "sunday"}]
    assert stuck_orders(found.put("rules", replace(found.rule("sunday"), first=SUNDAYS[0]))) == ()
    before = book(order("a", "s0", "s1"), s0=(SUNDAYS[1], SUNDAYS[2]))
    ended = before.put("rules", replace(before.rule("sunday"), last=SUNDAYS[1]))
    assert needed(ended) == [{"a", "s0", "sunday"}]


def test_a_range_without_publication_that_leaves_no_slot_is_named() -> None:
    found = book(order("a", "s0", "s1"), s1=(SUNDAYS[0], SUNDAYS[1]), s0=(SUNDAYS[0], SUNDAYS[3]))
    dark = DarkRange("d", SUNDAYS[0], SUNDAYS[0], no_work=False, no_publication=True)
    assert needed(found.put("dark", dark)) == [{"a", "d", "s0", "s1"}]
    assert stuck_orders(found.put("dark", replace(dark, no_work=True, no_publication=False))) == ()


def test_promised_dates_bind_a_chain_and_the_sentence_names_both() -> None:
    pins = (order("a", "s0", "s1"), dated("b", "s0", SUNDAYS[4]), dated("c", "s1", SUNDAYS[2]))
    found = book(*pins, studies=2)
    stuck = [stuck for stuck in stuck_orders(found) if stuck.soonest]
    assert [set(s.members) for s in stuck] == [
        {Member(Rule.ORDER, "a"), Member(Rule.DATE, "b"), Member(Rule.DATE, "c")},
    ]
    assert fewest_dropped(found) == ((),)  # the search weighs promises of dated studies


def test_a_window_that_comes_every_year_never_ends() -> None:
    found = book(order("a", "s0", "s1"), s0=(SUNDAYS[2], SUNDAYS[3]))
    yearly = Window(date(2025, 1, 5), date(2025, 1, 11), hard=True, yearly=True)
    found = found.put("episodes", replace(found.episode("s1"), windows=(yearly,)))
    assert stuck_orders(found) == ()


def test_a_study_that_has_no_day_at_all_keeps_no_order() -> None:
    monday = SUNDAYS[0] + timedelta(1)
    found = book(order("a", "s0", "s1"), s0=(monday, monday))
    assert needed(found) == [{"a", "s0"}]
    assert "“Study 0” has no day on which it may come" in clashes(found)[0].sentence()


def test_only_what_is_needed_is_named_where_a_promised_date_lies_outside_the_window() -> None:
    """“Study 2” has no day by its window and the slot alone, so “Study 0” and the date take no part."""
    pins = (order("a", "s0", "s1"), order("b", "s1", "s2"), dated("c", "s2", SUNDAYS[1]))
    found = book(*pins, s2=(SUNDAYS[0], SUNDAYS[0] + timedelta(1)))
    found = found.put("rules", replace(found.rule("sunday"), first=SUNDAYS[1]))
    assert needed(found) == [{"b", "s2", "sunday"}]
    (stuck,) = stuck_orders(found)
    assert stuck.chain == ("s1", "s2")
