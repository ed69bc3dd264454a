"""The plan that stands: the dates of the book, what is placed around them, and what better dates would bring."""

from __future__ import annotations

import itertools
from dataclasses import replace
from datetime import date, timedelta

from books import TODAY, small, sunday

from showrunner.domain.book import Book
from showrunner.domain.house import Habit
from showrunner.domain.slot import DarkRange
from showrunner.planning.present import standing_plan
from showrunner.planning.results import Dates
from showrunner.planning.runout import run_out

SUNDAYS = [date(2026, 3, 8) + timedelta(weeks=n) for n in range(30)]


def dated(count: int, *weeks: int, hours: int = 1, kept: bool = False) -> Book:
    """Studies of which the first have dates, wished four weeks apart."""
    book = small(count, hours=hours)
    studies = [replace(book.episode(f"s{n}"), slot=sunday(SUNDAYS[week])) for n, week in enumerate(weeks)]
    return replace(book.put("episodes", *studies), house=replace(book.house, habit=Habit(kept)))


def days(book: Book) -> dict[str, date]:
    return {item.id: item.slot.day for item in standing_plan(book, TODAY, horizon_weeks=30).studies}


def test_dates_stand_and_a_new_study_goes_around_them() -> None:
    book = dated(3, 2, 11)
    found = days(book)
    assert (found["s0"], found["s1"]) == (SUNDAYS[2], SUNDAYS[11])
    assert found["s2"] not in (SUNDAYS[2], SUNDAYS[11])
    target = 7 * book.series[0].target_weeks

    def uneven(day: date) -> int:
        order = sorted([SUNDAYS[2], SUNDAYS[11], day])
        return sum(((b - a).days - target) ** 2 for a, b in itertools.pairwise(order))

    free = [day for day in SUNDAYS if all(abs((day - other).days) >= 7 for other in (SUNDAYS[2], SUNDAYS[11]))]
    assert uneven(found["s2"]) == min(map(uneven, free))


def test_better_dates_are_offered_and_not_shown() -> None:
    plan = standing_plan(dated(2, 0, 9), TODAY, horizon_weeks=30)
    assert [item.slot.day for item in plan.studies] == [SUNDAYS[0], SUNDAYS[9]]
    assert plan.stands
    assert plan.offer is not None
    assert (plan.offer.moves, plan.offer.more) == (1, 0)
    assert plan.offer.points < plan.points
    best = dated(2, 0, small().series[0].target_weeks)
    assert standing_plan(best, TODAY, horizon_weeks=30).offer is None


def test_a_date_that_may_not_be_any_more_is_shown_and_told() -> None:
    dark = DarkRange("d", SUNDAYS[9], SUNDAYS[9], no_work=False, no_publication=True)
    plan = standing_plan(dated(3, 0, 9).put("dark", dark), TODAY, horizon_weeks=30)
    assert [item.slot.day for item in plan.studies] == [SUNDAYS[0], SUNDAYS[9]]
    assert plan.breaks_rules
    assert [item.id for item in plan.unplaced] == ["s2"]
    (warning,) = [warning for warning in plan.warnings if warning.code == "date-broken"]
    assert "stands on 10 May 2026" in warning.text
    assert plan.offer is None


def test_dates_that_stand_too_close_are_told_once_for_each_pair() -> None:
    book = dated(3, 0, 9, 10)
    series = replace(book.series[0], min_weeks=2)
    plan = standing_plan(book.put("series", series), TODAY, horizon_weeks=30)
    assert plan.breaks_rules
    (warning,) = [warning for warning in plan.warnings if warning.code == "date-broken"]
    assert warning.text == (
        "“Study 2” stands on 17 May 2026 (feature), but it would be 1 week from “Study 1”, and 2 weeks is the least; "
        "plan anew, or move it."
    )
    assert [item.reason for item in plan.studies if item.id == "s2"] == [warning.text]
    loose = replace(series, min_weeks=1)
    assert not standing_plan(book.put("series", loose), TODAY, horizon_weeks=30).breaks_rules


def test_the_forecast_ends_with_the_dates_that_stand() -> None:
    book = dated(2, 0, 9)
    found = run_out(book, TODAY, slip_rate=0, horizon_weeks=30)
    assert (found.end, found.dates) == (((SUNDAYS[9], 1.0),), Dates.ACCEPTED)
    fresh = run_out(small(2, hours=1), TODAY, slip_rate=0, horizon_weeks=30)
    assert fresh.dates is Dates.BEST
    assert fresh.end[0][0] < SUNDAYS[9]


def test_what_a_doubt_adds_follows_how_dates_were_accepted() -> None:
    """One more study that may be left: by best dates all move to their best; else it goes around those that stand."""
    unsure = small(2, unsure=1, hours=1)
    last = {}
    for kept in (False, True):
        book = replace(dated(2, 0, 9, kept=kept), pieces=unsure.pieces)
        found = run_out(book, TODAY, slip_rate=0, horizon_weeks=30)
        last[kept] = [day for day, _ in found.end]
        assert found.dates is (Dates.KEPT if kept else Dates.ACCEPTED)
    assert SUNDAYS[9] in last[False]
    assert min(last[True]) == SUNDAYS[9]
