"""Working time and standing work, day by day."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time, timedelta

import pytest
from books import TODAY, small, sunday

from showrunner.domain.book import Book
from showrunner.domain.episode import Episode, EpisodeKind
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.publication import Publication
from showrunner.domain.slot import DarkRange, SlotRef, SlotRule
from showrunner.planning import hours
from showrunner.planning.hours import StandingWork
from showrunner.planning.slots import expand

# From Monday 2 March 2026 on; 2 h on Tuesday to Thursday and Sunday, 4 h on Saturday.
WEEK = [0, 120, 120, 120, 0, 240, 120]
SUNDAYS = [date(2026, 3, 8) + timedelta(weeks=n) for n in range(4)]


def book(standing: int = 200, lead: int = 2) -> Book:
    found = small(2)
    found = replace(found, house=replace(found.house, lead_days=lead))
    return found.put("rules", replace(found.rule("sunday"), standing_minutes=standing))


def published(planned: date | None, actual: date | FuzzyDate | None, rule: str = "sunday") -> Publication:
    came = FuzzyDate.exact(actual) if isinstance(actual, date) else actual
    return Publication("p", "Out", rule, planned, came)


def standing(found: Book, without: tuple[SlotRef, ...] = (), today: date = TODAY) -> list[tuple[date, int, int, int]]:
    """Day, minutes, minutes short and ready day of the standing work of four weeks."""
    slots = expand(found.rules, today, SUNDAYS[-1])
    work = hours.standing_work(found, today, slots, without, hours.working_time(found, today, 40))
    return [(w.slot.day, w.minutes, w.short, w.ready) for w in work]


def test_working_time_adds_up_from_today_on() -> None:
    week = [sum(WEEK[: n + 1]) for n in range(7)]
    assert hours.working_time(book(), TODAY, 9) == (*week, 720, 840)
    assert hours.working_time(book(), TODAY + timedelta(5), 2) == (240, 360)
    assert hours.working_time(book(), TODAY, 0) == ()


def test_a_day_without_work_has_no_minutes_and_one_without_publication_keeps_them() -> None:
    off = DarkRange("d", date(2026, 3, 4), date(2026, 3, 5), no_work=True)
    found = book().put("dark", off)
    assert [hours.work_minutes(found, TODAY + timedelta(n)) for n in range(7)] == [0, 120, 0, 0, 0, 240, 120]
    quiet = book().put("dark", replace(off, no_work=False, no_publication=True))
    assert [hours.work_minutes(quiet, TODAY + timedelta(n)) for n in range(7)] == WEEK


def test_the_usual_content_of_each_slot_must_be_ready_the_lead_days_before_it() -> None:
    assert standing(book()) == [(day, 200, 0, 4 + 7 * n) for n, day in enumerate(SUNDAYS)]
    assert [ready for *_, ready in standing(book(lead=0))] == [6, 13, 20, 27]
    assert standing(book(standing=0)) == []


def test_what_had_to_be_ready_before_today_counts_nothing_and_today_counts() -> None:
    assert [day for day, *_ in standing(book(), today=date(2026, 3, 6))] == SUNDAYS
    assert [day for day, *_ in standing(book(), today=date(2026, 3, 7))] == SUNDAYS[1:]


@pytest.mark.parametrize(
    ("wanted", "first", "second"),
    [
        (360, (360, 0), (360, 0)),  # 6 h until Friday 6 March, 12 h more until the next
        (361, (360, 1), (361, 0)),
        (800, (360, 440), (720, 80)),
    ],
)
def test_what_cannot_fit_is_cut_off_and_said(wanted: int, first: tuple[int, int], second: tuple[int, int]) -> None:
    found = [(minutes, short) for _, minutes, short, _ in standing(book(standing=wanted))]
    assert found[:2] == [first, second]


def test_where_no_minute_is_left_all_of_it_is_short() -> None:
    found = book().put("dark", DarkRange("d", TODAY, SUNDAYS[-1], no_work=True))
    assert [(minutes, short) for _, minutes, short, _ in standing(found)] == [(0, 200)] * 4


def test_no_work_is_ever_less_than_nothing() -> None:
    """Where the sun is ahead a Monday begins before a Sunday evening elsewhere, and its work is due a day later."""
    ahead = SlotRule("a", "ahead", 0, time(0, 30), "Pacific/Auckland", 150)
    behind = SlotRule("b", "behind", 6, time(20), "America/New_York", 100)
    found = replace(book(lead=0), rules=(ahead, behind))
    found = replace(found, house=replace(found.house, work_minutes=(200, 0, 0, 0, 0, 0, 0)))
    slots = expand(found.rules, SUNDAYS[0], SUNDAYS[0] + timedelta(1))
    work = hours.standing_work(found, SUNDAYS[0], slots, (), hours.working_time(found, SUNDAYS[0], 7))
    assert [(w.slot.rule, w.minutes, w.short, w.ready) for w in work] == [("b", 0, 100, 0), ("a", 150, 0, 1)]


def test_nothing_is_counted_for_a_slot_that_is_dark_banked_out_or_has_a_study() -> None:
    one = SUNDAYS[1]
    talk = Episode("t", "Talk", EpisodeKind.FILLER, rule="sunday", slot=sunday(one), finished=True)
    for settled in (
        book().put("dark", DarkRange("d", one, one, no_publication=True)),
        book().put("episodes", talk),
        book().put("publications", published(one, SUNDAYS[0])),
    ):
        assert [day for day, *_ in standing(settled)] == [SUNDAYS[0], *SUNDAYS[2:]]
    assert [day for day, *_ in standing(book(), without=(sunday(one),))] == [SUNDAYS[0], *SUNDAYS[2:]]


def test_content_that_is_not_finished_or_is_a_study_still_costs_the_standing_hours() -> None:
    one = SUNDAYS[1]
    talk = Episode("t", "Talk", EpisodeKind.FILLER, rule="sunday", slot=sunday(one))
    study = replace(book().episode("s0"), slot=sunday(one), finished=True)
    loose = replace(talk, slot=None, finished=True)
    other = published(one, SUNDAYS[0], rule="wed")
    for found in (
        book().put("episodes", talk),
        book().put("episodes", study),
        book().put("episodes", loose),
        book().put("publications", other),
        book().put("publications", published(None, one)),
    ):
        assert [day for day, *_ in standing(found)] == SUNDAYS


def test_spare_time_is_what_the_standing_work_due_until_then_leaves() -> None:
    slot = expand(book().rules, TODAY, SUNDAYS[0])[0]
    work = [StandingWork(slot, 100, 0, 2), StandingWork(slot, 50, 0, 2), StandingWork(slot, 30, 9, 4)]
    assert hours.spare_time((100, 200, 300, 400, 500), work) == (100, 200, 150, 250, 320)
    assert hours.spare_time((0, 120), []) == (0, 120)
