"""Ways out of a study without a slot: each is carried out on the book and planned again, and one step less fails."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta

import pytest
from books import TODAY, small, sunday

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.episode import Pin, PinKind, Window
from showrunner.domain.slot import DarkRange, SlotRule
from showrunner.planning.changes import (
    AllowSlot,
    Change,
    LookFurther,
    LowerGap,
    MoreHours,
    PublishInDark,
    Unpin,
    WidenWindow,
    carried_out,
    found_hours,
)
from showrunner.planning.plan import make_plan
from showrunner.planning.results import Plan, WayOut

WEEKS = 8


def planned(book: Book, weeks: int = WEEKS) -> Plan:
    return make_plan(book, TODAY, horizon_weeks=weeks)


def ways(book: Book, study: str, weeks: int = WEEKS) -> dict[type[Change], WayOut]:
    (lost,) = (item for item in planned(book, weeks).unplaced if item.id == study)
    return {type(way.changes[0]): way for way in lost.ways_out}


def airs(book: Book, study: str, *changes: Change, weeks: int = WEEKS) -> date | None:
    """When a study airs once some changes were made to the book."""
    for change in changes:
        book = carried_out(book, change)
        weeks = change.weeks if isinstance(change, LookFurther) else weeks
    return next((item.slot.day for item in planned(book, weeks).studies if item.id == study), None)


def held(book: Book, study: str, weeks: int, least: Callable[[Change], Change | None], kind: type[Change]) -> Change:
    """The way out of a kind: it does what it says, and a step less does not."""
    way = ways(book, study, weeks)[kind]
    (change,) = way.changes
    assert airs(book, study, change, weeks=weeks) == way.airs
    less = least(change)
    assert less is None or airs(book, study, less, weeks=weeks) is None
    return change


def test_hours_are_found_by_the_half_hour_and_as_late_as_they_help() -> None:
    # 30 min on each of eight Saturdays is 4 h; two studies of 2.75 h need 5.5 h: 1.5 h more by Saturday 25 April
    book = small(2, work=(0, 0, 0, 0, 0, 30, 0), hours=1)
    book = book.put(
        "series", replace(book.series_of("looks"), stages=replace(book.series_of("looks").stages, edit=165))
    )
    change = held(book, "s1", WEEKS, lambda c: replace(c, minutes=c.minutes - 30), MoreHours)
    assert change == MoreHours(90, date(2026, 4, 25), TODAY)
    assert airs(book, "s1", replace(change, by=change.by + timedelta(1))) is None
    assert [(e.day, e.minutes) for e in found_hours(book, change)] == [(date(2026, 4, 25), 90)]


def test_hours_beyond_a_day_are_spread_back_over_days_with_work() -> None:
    book = small(1).put("dark", DarkRange("d", date(2026, 3, 6), date(2026, 3, 6)))
    found = found_hours(book, MoreHours(45 * 60, date(2026, 3, 7), TODAY))
    # Saturday 7 March has 4 h already, on Friday nothing is done, Thursday 5 March has 2 h
    assert [(e.day.day, e.minutes) for e in found] == [(4, 3 * 60), (5, 22 * 60), (7, 20 * 60)]


def test_a_smaller_gap_is_told_in_whole_weeks() -> None:
    book = small(4, gaps=(4, 4, 9), hours=1)
    change = held(book, "s3", WEEKS, lambda c: replace(c, weeks=c.weeks + 1), LowerGap)
    assert change == LowerGap("looks", 2)


def test_looking_further_is_told_in_whole_weeks() -> None:
    book = small(4, gaps=(4, 4, 9), hours=1)
    change = held(book, "s3", WEEKS, lambda c: replace(c, weeks=c.weeks - 1), LookFurther)
    assert change == LookFurther(13)  # 8 March and every fourth Sunday: the fourth is 31 May, 90 days on


def test_a_hard_window_is_widened_by_whole_weeks_on_one_side() -> None:
    book = small(1, hours=1)
    window = Window(date(2026, 5, 11), date(2026, 5, 16), hard=True)
    book = book.put("episodes", replace(book.episode("s0"), windows=(window,)))
    change = held(book, "s0", WEEKS, lambda c: replace(c, first=c.first + timedelta(7)), WidenWindow)
    assert change == WidenWindow("s0", 0, date(2026, 4, 20), date(2026, 5, 16))  # the last slot is 26 April


def test_another_slot_is_allowed_a_dark_range_opened_a_promise_taken_back() -> None:
    book = small(2, hours=1, gaps=(0, 1, 3)).put("rules", replace(small().rule("sunday"), last=date(2026, 3, 8)))
    other = book.put("rules", SlotRule("friday", "extra", 4, small().rule("sunday").at, "Europe/Dublin"))
    assert held(other, "s1", WEEKS, lambda _: None, AllowSlot) == AllowSlot("looks", "friday")
    dark = DarkRange("d", date(2026, 3, 9), date(2026, 5, 31), no_work=False, no_publication=True)
    closed = small(2, hours=1, gaps=(0, 1, 3)).put("dark", dark)
    assert held(closed, "s1", WEEKS, lambda _: None, PublishInDark) == PublishInDark("d")
    window = Window(date(2030, 1, 1), date(2030, 2, 1), hard=True)
    waits = small(2, hours=1).put("episodes", replace(small().episode("s0"), windows=(window,)))
    waits, pin = edits.pin_order(waits, "s0", "s1")
    assert held(waits, "s1", WEEKS, lambda _: None, Unpin) == Unpin(pin.id)


def test_where_no_single_change_helps_two_together_are_named() -> None:
    book = small(1, work=(0, 0, 0, 0, 0, 0, 0), hours=1)
    window = Window(date(2026, 5, 11), date(2026, 5, 16), hard=True)
    book = book.put("episodes", replace(book.episode("s0"), windows=(window,)))
    (lost,) = planned(book).unplaced
    (way,) = lost.ways_out
    assert {type(change) for change in way.changes} == {MoreHours, WidenWindow}
    assert lost.way_out.startswith("no single change helps; with 1 h more work by ")
    assert airs(book, "s0", *way.changes) == way.airs
    for change in way.changes:
        assert airs(book, "s0", change) is None


def test_where_nothing_helps_that_is_said() -> None:
    book = small(1, hours=1).put("rules", replace(small().rule("sunday"), last=date(2026, 3, 1)))
    (lost,) = planned(book).unplaced
    assert (lost.ways_out, lost.short_by, lost.short_minutes) == ((), "", None)
    assert lost.way_out == "no change that was tried helps, alone or with another"


def test_a_way_out_costs_no_other_study_its_slot() -> None:
    """A smaller gap would let the second study in only where the promised one stands."""
    book = small(2, hours=1, gaps=(4, 4, 9)).put("rules", replace(small().rule("sunday"), last=date(2026, 3, 8)))
    book = replace(book, pins=(Pin("p", PinKind.DATE, ("s1",), sunday(date(2026, 3, 8))),))
    plan = planned(book)
    assert [item.id for item in plan.studies] == ["s1"]
    assert LowerGap not in ways(book, "s0")
    assert Unpin not in ways(book, "s0")


@pytest.mark.parametrize("day", [TODAY, date(2026, 3, 7)])
def test_extra_hours_of_one_day_stop_at_midnight(day: date) -> None:
    change = MoreHours(30 * 60, day, day)
    assert sum(extra.minutes for extra in found_hours(small(1), change)) < 30 * 60
