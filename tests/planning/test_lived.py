"""A demonstration lived through until a later day, and real books that never are."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from books import TODAY, demo

from showrunner.domain import edits
from showrunner.domain.episode import Stage
from showrunner.planning.lived import lived_until
from showrunner.planning.runout import run_out


def test_on_its_own_day_nothing_is_assumed() -> None:
    book = demo()
    assert lived_until(book, TODAY) is book
    assert lived_until(book, date(2026, 1, 1)) is book


def test_a_book_without_a_standing_clock_is_never_changed() -> None:
    book = replace(demo(), clock=None)
    assert lived_until(book, date(2026, 4, 18)) is book


def test_nothing_is_assumed_before_a_study_came_out_as_planned_or_while_one_is_overdue() -> None:
    book = demo()
    assert lived_until(book, date(2026, 4, 18)) is book
    late = edits.publish(book, "apron", date(2026, 3, 29))
    assert lived_until(late, date(2026, 4, 18)) is late
    out = edits.publish(book, "apron", date(2026, 3, 22))
    assert lived_until(out, date(2026, 5, 11)) is out


def test_the_waistcoats_are_done_in_step_with_the_plan() -> None:
    book = edits.publish(demo(), "apron", date(2026, 3, 22))
    assert lived_until(book, date(2026, 3, 23)).episode("waistcoats").done == ()
    assert lived_until(book, date(2026, 4, 18)).episode("waistcoats").done[:1] == (Stage.RESEARCH,)
    whole = tuple(stage for stage in Stage if stage is not Stage.CONDITION)
    assert lived_until(book, date(2026, 5, 10)).episode("waistcoats").done == whole


def test_with_the_apron_out_as_planned_the_warning_speaks_on_19_april() -> None:
    book = edits.publish(demo(), "apron", date(2026, 3, 22))
    eve, day = (date(2026, 4, n) for n in (18, 19))
    assert not run_out(lived_until(book, eve), eve).warns
    found = run_out(lived_until(book, day), day)
    assert found.warns
    assert found.quantiles[1] == date(2026, 10, 18)
    assert found.studies_left == (4, 6)
