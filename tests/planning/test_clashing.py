"""Promises that no plan keeps together: which of them are named, what is missing, and how many the plan keeps."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from books import TODAY, small, sunday

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.episode import Pin, PinKind, Window
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.publication import Publication
from showrunner.domain.rules import Member, Rule
from showrunner.planning.plan import make_plan
from showrunner.planning.results import Status

SUNDAYS = [date(2026, 3, 8) + timedelta(weeks=n) for n in range(8)]


def dated(id: str, study: str, day: date) -> Pin:
    return Pin(id, PinKind.DATE, (study,), sunday(day))


def book(*pins: Pin, **sizes: int) -> Book:
    return replace(small(3, **sizes), pins=pins)


def members(found: Book, weeks: int = 8) -> list[set[Member]]:
    return [set(clash.members) for clash in make_plan(found, TODAY, horizon_weeks=weeks).clashes]


def test_a_promised_study_comes_before_as_many_as_possible() -> None:
    """Two studies, work for one of them until the only slot of the other's: the promised one is placed."""
    found = book(dated("p", "s1", SUNDAYS[2]), hours=30).put("rules", replace(small().rule("sunday"), last=SUNDAYS[2]))
    plan = make_plan(found, TODAY, horizon_weeks=8)
    assert plan.status is Status.OPTIMAL
    assert [(item.id, item.slot.day, item.pinned) for item in plan.studies] == [("s1", SUNDAYS[2], True)]
    assert (plan.promises_made, plan.promises_kept) == (1, 1)


def test_hours_that_two_promises_need_are_told() -> None:
    # 12 h a week: until Saturday 21 March there are 36 h, two studies of 20 h need 40
    found = book(dated("a", "s0", SUNDAYS[0]), dated("b", "s1", SUNDAYS[2]), hours=20)
    found = found.put("episodes", replace(found.episode("s0"), finished=True))
    assert make_plan(found, TODAY, horizon_weeks=8).status is Status.OPTIMAL
    short = book(dated("b", "s1", SUNDAYS[0]), hours=20)
    plan = make_plan(short, TODAY, horizon_weeks=8)
    assert plan.status is Status.INFEASIBLE
    (clash,) = plan.clashes
    assert (set(clash.members), clash.missing_minutes) == (
        {Member(Rule.DATE, "b"), Member(Rule.HOURS), Member(Rule.TODAY)},
        10 * 60,  # from Monday to Saturday there are 10 h
    )
    assert clash.text == (
        "“Study 1” on 8 March 2026 (feature) is promised, but the work is 10 h short; find those hours, or unpin it."
    )
    assert (plan.promises_made, plan.promises_kept) == (1, 0)


def test_an_order_before_a_promised_first_slot_names_both_and_today() -> None:
    found = book(dated("a", "s1", SUNDAYS[0]), Pin("b", PinKind.ORDER, ("s0", "s1")), hours=1)
    assert members(found) == [{Member(Rule.DATE, "a"), Member(Rule.ORDER, "b"), Member(Rule.TODAY)}]


def test_what_has_come_out_by_now_does_not_hide_that_the_day_has_passed() -> None:
    """A week sooner the order could be kept, since the study of last Sunday would not be out yet."""
    found = book(dated("a", "s1", SUNDAYS[0]), Pin("b", PinKind.ORDER, ("s0", "s1")), hours=1)
    last = SUNDAYS[0] - timedelta(weeks=1)
    out = Publication("p", "Out", "sunday", last, FuzzyDate.exact(last), series=found.series[0].id)
    found = found.put("series", replace(found.series[0], min_weeks=0)).put("publications", out)
    assert members(found) == [{Member(Rule.DATE, "a"), Member(Rule.ORDER, "b"), Member(Rule.TODAY)}]


def test_past_and_far_promises_are_told_with_what_overtook_them() -> None:
    past = book(dated("a", "s0", SUNDAYS[0] - timedelta(7)))
    assert members(past) == [{Member(Rule.DATE, "a"), Member(Rule.TODAY)}]
    far = book(dated("a", "s0", SUNDAYS[7] + timedelta(21)))
    assert members(far, 4) == [{Member(Rule.DATE, "a"), Member(Rule.HORIZON)}]
    assert members(far, 12) == []


def test_a_clash_that_holds_another_is_not_told() -> None:
    """Each date alone is too near to the last published study; that they are near each other adds nothing."""
    found = edits.publish(small(3), "s2", date(2026, 3, 1))
    found = replace(found, pins=(dated("a", "s0", SUNDAYS[0]), dated("b", "s1", SUNDAYS[1])))
    gap = Member(Rule.GAP, "looks")
    # 8 March is a week from 1 March, 15 March two: the least of two weeks is kept by the second
    assert members(found) == [{Member(Rule.DATE, "a"), gap}]


def test_a_circle_is_left_aside_and_the_rest_planned() -> None:
    pins = (Pin("a", PinKind.ORDER, ("s0", "s1")), Pin("b", PinKind.ORDER, ("s1", "s0")))
    plan = make_plan(book(*pins, hours=1), TODAY, horizon_weeks=8)
    assert (plan.status, plan.promises_made, plan.promises_kept) == (Status.INFEASIBLE, 2, 1)
    assert [item.id for item in plan.studies] == ["s0", "s1", "s2"]


def test_of_two_dates_of_one_study_the_better_is_kept() -> None:
    plan = make_plan(book(dated("a", "s0", SUNDAYS[6]), dated("b", "s0", SUNDAYS[0]), hours=1), TODAY, horizon_weeks=8)
    assert (plan.status, plan.promises_made, plan.promises_kept) == (Status.INFEASIBLE, 2, 1)
    assert plan.studies[0].slot.day == SUNDAYS[0]


def test_two_pieces_promised_together_make_one_study() -> None:
    found = replace(small(3), episodes=(), pins=(Pin("p", PinKind.PAIR, pieces=("02", "00")),))
    plan = make_plan(found, TODAY, horizon_weeks=20)
    assert [(item.id, item.pieces) for item in plan.studies] == [("piece:00", ("00", "02")), ("piece:01", ("01",))]
    assert (plan.status, plan.promises_made, plan.promises_kept) == (Status.OPTIMAL, 1, 1)


def test_a_hard_window_is_never_broken_for_a_promise() -> None:
    window = Window(SUNDAYS[3], SUNDAYS[4], hard=True)
    found = book(dated("a", "s0", SUNDAYS[0]), hours=1)
    found = found.put("episodes", replace(found.episode("s0"), windows=(window,)))
    plan = make_plan(found, TODAY, horizon_weeks=8)
    assert {m for clash in plan.clashes for m in clash.members} == {Member(Rule.DATE, "a"), Member(Rule.WINDOW, "s0")}
    assert next(item.slot.day for item in plan.studies if item.id == "s0") in SUNDAYS[3:5]
