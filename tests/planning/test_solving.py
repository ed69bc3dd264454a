"""Which promises bind, which are left aside where they exclude each other, and the best plan of each choice."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from books import TODAY, small, sunday

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.episode import Pin, PinKind, Window
from showrunner.domain.slot import DarkRange
from showrunner.planning.aims import Aim
from showrunner.planning.plan import make_plan
from showrunner.planning.results import Unsure
from showrunner.planning.search import NoBetter
from showrunner.planning.solving import Question, bound, framed, left_aside, solve_book

SUNDAYS = [date(2026, 3, 8) + timedelta(weeks=n) for n in range(12)]
ASK = Question(TODAY, 12, Unsure.LEFT_OUT)


def dated(id: str, study: str, week: int) -> Pin:
    return Pin(id, PinKind.DATE, (study,), sunday(SUNDAYS[week]))


def order(id: str, first: str, second: str) -> Pin:
    return Pin(id, PinKind.ORDER, (first, second))


def book(*pins: Pin, studies: int = 3) -> Book:
    return replace(small(studies, hours=1), pins=pins)


def days(found: Book) -> dict[str, date]:
    solved = solve_book(found, ASK)
    return {key: solved.frame.problem.slots[at].day for key, at in solved.solution.places.items()}


def test_what_is_promised_of_a_study_that_is_not_placed_binds_nothing() -> None:
    found, study = edits.make_study(small(2, unsure=1), ("u0",), title="Perhaps")
    pins = (dated("a", study.id, 0), order("b", "s0", study.id), order("c", "s0", "s1"), dated("d", "s1", 4))
    found = replace(found, pins=(*pins, Pin("e", PinKind.PAIR, pieces=("00", "01"))))
    shown = replace(ASK, unsure=Unsure.SHOWN)
    assert [pin.id for pin in bound(found, shown).pins] == ["c", "d", "e"]
    assert bound(found, ASK) == bound(found, replace(ASK, unsure=Unsure.UNSHOWN)) == found


def test_a_question_asks_for_a_fresh_plan_with_the_hours_of_the_book_unless_it_says_otherwise() -> None:
    found = book().put("episodes", replace(book().episode("s0"), slot=sunday(SUNDAYS[5])))
    plain, kept = framed(found, ASK), framed(found, replace(ASK, aim=Aim.FEWEST, more=(2, 30)))
    assert (plain.problem.keep, kept.problem.keep) == (False, True)
    assert plain.time[:3] == (0, 120, 240)
    assert kept.time[:3] == (0, 120, 270)
    unsure = framed(small(1, unsure=2), ASK)
    assert unsure.left_out == ("u0", "u1")


def test_of_several_dates_of_a_study_and_of_stuck_orders_each_smallest_choice_is_left_aside() -> None:
    dates = (dated("a", "s0", 0), dated("b", "s0", 3), dated("c", "s1", 5))
    assert list(left_aside(book())) == list(left_aside(book(dates[0], dates[2]))) == [()]
    assert list(left_aside(book(*dates))) == [("b",), ("a",)]
    circle = (order("o", "s2", "s3"), order("p", "s3", "s2"))
    assert list(left_aside(book(*circle, studies=4))) == [("o",), ("p",)]
    both = list(left_aside(book(*dates, *circle, studies=4)))
    assert {frozenset(choice) for choice in both} == {frozenset((x, y)) for x in "ab" for y in "op"}
    assert len(both) == 4
    three = book(*dates, dated("d", "s0", 7))
    assert list(left_aside(three)) == [("b", "d"), ("a", "d"), ("a", "b")]


def test_the_choice_with_the_best_plan_is_taken_and_what_is_left_aside_counts_as_broken() -> None:
    """Three studies three weeks apart from 8 March on: the first of them fits only the earlier date."""
    found = book(dated("late", "s0", 9), dated("soon", "s0", 0))
    for pins in (found.pins, found.pins[::-1]):
        solved = solve_book(replace(found, pins=pins), ASK)
        assert solved.dropped == ("late",)
        assert solved.broken == 1
    assert days(found) == {"s0": SUNDAYS[0], "s1": SUNDAYS[3], "s2": SUNDAYS[6]}
    window = Window(SUNDAYS[5], SUNDAYS[6], hard=True)
    shut = found.put("episodes", replace(found.episode("s0"), windows=(window,)))
    assert solve_book(shut, ASK).broken == 2  # neither date lies in the window


def test_of_equal_choices_the_plan_that_comes_first_in_book_order_is_taken() -> None:
    """Two studies alike, each before the other: whichever promise is left aside, the other plan is as good."""
    for pins in ((order("a", "s1", "s0"), order("b", "s0", "s1")), (order("b", "s0", "s1"), order("a", "s1", "s0"))):
        found = book(*pins, studies=2)
        assert days(found) == {"s0": SUNDAYS[0], "s1": SUNDAYS[3]}
        assert solve_book(found, ASK).dropped == ("a",)


def test_the_same_date_promised_twice_counts_twice_and_excludes_nothing() -> None:
    """The hours until 21 March hold one study: of two dates the one promised twice is kept, with both its promises."""
    book = replace(
        small(2, hours=8, work=(0, 0, 0, 0, 0, 240, 0)),
        pins=(dated("once", "s0", 1), dated("twice", "s1", 2), dated("again", "s1", 2)),
        dark=(DarkRange("d", date(2026, 3, 16), date(2026, 3, 22), no_work=True, no_publication=False),),
    )
    assert list(left_aside(book)) == [()]
    plan = make_plan(book, TODAY)
    assert [(item.id, item.slot.ref) for item in plan.studies if item.pinned] == [("s1", sunday(SUNDAYS[2]))]
    assert (plan.promises_made, plan.promises_kept) == (3, 2)


def test_only_what_breaks_no_more_and_places_more_is_sought() -> None:
    """Three studies and two slots, one of them promised twice over: as it is nothing is better; a third slot is."""
    twice = book(dated("a", "s0", 0), dated("b", "s0", 2))
    short = twice.put("rules", replace(twice.rule("sunday"), last=SUNDAYS[2]))
    now = solve_book(short, ASK)
    assert (len(now.solution.places), len(now.dropped), now.broken) == (2, 1, 1)
    with pytest.raises(NoBetter):
        solve_book(short, ASK, beat=now)
    wider = short.put("rules", replace(twice.rule("sunday"), last=SUNDAYS[4]))
    best, found = solve_book(wider, ASK), solve_book(wider, ASK, beat=now)
    assert (found.solution.places, found.dropped) == (best.solution.places, best.dropped)
    assert len(best.solution.places) == 3
    one_fewer = solve_book(short.drop("pins", "b"), ASK)
    assert one_fewer.broken == 0
    with pytest.raises(NoBetter):  # a plan that keeps every promise and places as many is not beaten by this book
        solve_book(short, ASK, beat=one_fewer)
    alone = solve_book(short.put("rules", replace(twice.rule("sunday"), last=SUNDAYS[0])), ASK)
    assert len(alone.solution.places) == 1
    assert len(solve_book(short, ASK, beat=alone).solution.places) == 2
