"""From the book to the numbers of the placing problem, worked by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time, timedelta

import pytest
from books import TODAY, small, sunday

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.episode import Pin, PinKind, Window
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.publication import Publication
from showrunner.domain.slot import DarkRange, SlotRef, SlotRule
from showrunner.planning.aims import Aim
from showrunner.planning.candidates import candidates
from showrunner.planning.frame import Frame, days_outside, frame, stretches
from showrunner.planning.problem import NOWHERE, Spacing
from showrunner.planning.results import Unsure

SUNDAYS = [date(2026, 3, 8) + timedelta(weeks=n) for n in range(8)]
FRIDAYS = [day - timedelta(2) for day in SUNDAYS]


def framed(book: Book, weeks: int = 3, **more: object) -> Frame:
    studies, left_out = candidates(book, Unsure.LEFT_OUT)
    return frame(book, TODAY, studies, horizon_weeks=weeks, left_out=left_out, **more)


def two_series() -> Book:
    """Sundays at 9 for Looks, Fridays for More; Saturdays in no series; an hour of usual content on Sundays."""
    book = small(3)
    friday = SlotRule("friday", "Fridays", 4, time(9), "Europe/Dublin", 30)
    idle = SlotRule("saturday", "Saturdays", 5, time(9), "Europe/Dublin", 15)
    series = (book.series[0], replace(book.series[0], id="more", rules=("friday",), min_weeks=1, target_weeks=4))
    book = replace(book, rules=(replace(book.rules[0], standing_minutes=60), friday, idle), series=series)
    return book.put("episodes", replace(book.episode("s1"), series="more"))


def test_slots_are_those_of_any_series_to_the_last_day_looked_at_and_free() -> None:
    book = two_series()
    found = framed(book, 2)
    # From Monday 2 March 2026 two weeks on is Monday 16 March.
    assert [slot.ref for slot in found.problem.slots] == [
        SlotRef(FRIDAYS[0], "friday"),
        sunday(SUNDAYS[0]),
        SlotRef(FRIDAYS[1], "friday"),
        sunday(SUNDAYS[1]),
    ]
    assert len(found.every_slot) == 6
    assert found.problem.days == (4, 6, 11, 13)
    book, _ = edits.add_filler(book, "A talk", "sunday", SUNDAYS[0])
    book = book.put("dark", DarkRange("d", FRIDAYS[1], FRIDAYS[1], no_publication=True))
    assert [slot.day for slot in framed(book, 2).problem.slots] == [FRIDAYS[0], SUNDAYS[1]]


def test_hours_by_each_day_less_the_usual_content_due_by_then() -> None:
    """Work: 2 h on Tuesday to Thursday and Sunday, 4 h on Saturday; content is ready a day before its slot."""
    found = framed(two_series(), 1)
    assert found.time == (0, 120, 240, 360, 360, 600, 720, 720)
    assert found.problem.ready == (3, 5)
    assert found.problem.standing == (30, 60)
    # 30 min are due on Thursday, 15 on Friday for the Saturday slot, 60 on Saturday for Sunday's.
    assert found.problem.spare == (0, 120, 240, 330, 315, 495, 615, 615)
    assert [work.minutes for work in found.standing] == [30, 15, 60]


def test_hours_found_count_from_their_day_on_and_beside_those_of_the_book() -> None:
    book = two_series()
    assert framed(book, 1, more=(0, 10)).time == tuple(10 + total for total in framed(book, 1).time)
    assert framed(book, 1, more=(3, 10)).time == (0, 120, 240, 370, 370, 610, 730, 730)
    assert framed(book, 1, more=(3, 10)).problem.spare == (0, 120, 240, 340, 325, 505, 625, 625)


def test_content_in_the_bank_gives_a_study_no_hours_back() -> None:
    book, _ = edits.add_filler(two_series(), "Banked", "friday", FRIDAYS[0], finished=True)
    book = book.put("series", replace(book.series_of("more"), rules=("friday", "saturday")))
    problem = framed(book, 1).problem
    assert [(slot.rule, standing) for slot, standing in zip(problem.slots, problem.standing, strict=True)] == [
        ("saturday", 15),
        ("sunday", 60),
    ]


def test_each_study_has_its_series_hours_promises_and_plan() -> None:
    book = two_series()
    pins = [
        Pin("a", PinKind.DATE, ("s0",), sunday(SUNDAYS[1])),
        Pin("b", PinKind.DATE, ("s1",), SlotRef(FRIDAYS[7], "friday")),  # beyond the weeks looked at
        Pin("c", PinKind.ORDER, ("s2", "s1")),
        Pin("d", PinKind.ORDER, ("s0", "s1")),
        Pin("e", PinKind.ORDER, ("s1", "gone")),
    ]
    book = replace(book, pins=tuple(pins))
    planned = {"s1": SlotRef(FRIDAYS[2], "friday"), "s2": sunday(date(2026, 3, 1))}
    book = book.put("episodes", *(replace(book.episode(id), slot=slot) for id, slot in planned.items()))
    problem = framed(book).problem
    assert [(need.key, need.order, need.series, need.minutes) for need in problem.needs] == [
        ("s0", 0, 0, 480),
        ("s1", 1, 1, 480),
        ("s2", 2, 0, 480),
    ]
    assert [need.after for need in problem.needs] == [(), ("s0", "s2"), ()]
    assert [need.promised for need in problem.needs] == [3, NOWHERE, None]
    assert [(need.planned_slot, need.planned_day) for need in problem.needs] == [(None, None), (4, 18), (None, -1)]


def test_a_slot_costs_the_days_outside_the_soft_windows_squared_and_is_closed_by_any_hard_rule() -> None:
    book = two_series()
    soft = Window(SUNDAYS[0] + timedelta(1), SUNDAYS[0] + timedelta(3))
    hard = Window(SUNDAYS[0], SUNDAYS[1], hard=True)
    book = book.put(
        "episodes",
        replace(book.episode("s0"), windows=(soft,)),
        replace(book.episode("s2"), windows=(soft, hard)),
    )
    costs = {need.key: need.cost for need in framed(book).problem.needs}
    assert costs["s0"] == (None, 1, None, 4**2, None, 11**2)
    assert costs["s1"] == (0, None, 0, None, 0, None)
    assert costs["s2"] == (None, 1, None, 4**2, None, None)


def test_a_yearly_soft_window_is_counted_to_from_both_sides_all_along() -> None:
    """Over two years: 11 to 15 June each year, so no slot is further away than half a year."""
    june = Window(date(2020, 6, 11), date(2020, 6, 15), yearly=True)
    book = small(1)
    found = framed(book.put("episodes", replace(book.episode("s0"), windows=(june,))), 104)
    (need,) = found.problem.needs

    def away(day: date) -> int:
        near = [(date(year, 6, 11), date(year, 6, 15)) for year in range(2025, 2030)]
        return min(max((first - day).days, (day - last).days, 0) for first, last in near)

    assert need.cost == tuple(away(slot.day) ** 2 for slot in found.problem.slots)
    assert max(need.cost) < 184**2


def test_where_a_slot_has_no_usual_content_a_study_gives_no_hours_back() -> None:
    problem = framed(small(1), 1).problem
    assert (problem.days, problem.standing, problem.needs[0].cost) == ((6,), (0,), (0,))


def test_without_any_slot_there_is_a_problem_without_places() -> None:
    found = framed(small(1), 0)
    assert (found.problem.slots, found.problem.needs[0].cost) == ((), ())
    assert found.problem.spare == (0,)


def test_spacing_counts_from_the_last_published_study_of_each_series() -> None:
    line = Publication("p", "Out", "sunday", None, FuzzyDate.exact(date(2026, 2, 22)), series="looks")
    assert framed(two_series().put("publications", line)).problem.spacings == (
        Spacing(14, 21, -8),
        Spacing(7, 28, None),
    )


def test_planned_studies_are_kept_only_if_asked() -> None:
    assert framed(small(1)).problem.keep is False
    assert framed(small(1), aim=Aim.FEWEST).problem.keep is True


@pytest.mark.parametrize(("day", "outside"), [(8, 2), (9, 1), (10, 0), (12, 0), (13, 1), (17, 3), (18, 2), (25, 5)])
def test_days_outside_are_those_to_the_nearest_stretch(day: int, outside: int) -> None:
    spans = ((date(2026, 3, 10), date(2026, 3, 12)), (date(2026, 3, 20), date(2026, 3, 20)))
    assert days_outside(date(2026, 3, day), spans) == outside
    assert days_outside(date(2026, 3, day), ()) == 0


def test_stretches_are_of_one_kind_and_reach_into_the_years_beside() -> None:
    """A window of December is nearest in the year before for a day of January, in the same year for one of November."""
    december = Window(date(2020, 12, 5), date(2020, 12, 10), yearly=True)
    windows = (december, Window(date(2026, 3, 1), date(2026, 3, 2), hard=True))
    assert stretches(windows, True, SUNDAYS[0], SUNDAYS[0]) == ((date(2026, 3, 1), date(2026, 3, 2)),)
    for day, outside in ((date(2026, 1, 4), 25), (date(2026, 11, 1), 34)):
        assert days_outside(day, stretches(windows, False, day, day)) == outside
