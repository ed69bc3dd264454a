"""What a plan tells beside its dates: promises counted, warnings with their numbers, and how far it is proven."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction

import pytest
from books import TODAY, small, sunday

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.episode import Pin, PinKind, Window
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.publication import Publication
from showrunner.planning.aims import Aim
from showrunner.planning.plan import make_plan
from showrunner.planning.results import Plan, Status, Unsure

SUNDAYS = [date(2026, 3, 8) + timedelta(weeks=n) for n in range(30)]


def planned(book: Book, weeks: int = 12, **more: object) -> Plan:
    return make_plan(book, TODAY, horizon_weeks=weeks, **more)


def dated(id: str, study: str, week: int) -> Pin:
    return Pin(id, PinKind.DATE, (study,), sunday(SUNDAYS[week]))


def order(id: str, first: str, second: str) -> Pin:
    return Pin(id, PinKind.ORDER, (first, second))


def pinned(book: Book, *pins: Pin) -> Book:
    return replace(book, pins=pins)


def promises(book: Book, **more: object) -> tuple[int, int]:
    plan = planned(book, **more)
    return plan.promises_made, plan.promises_kept


def windowed(book: Book, id: str, first: date, last: date, hard: bool = False) -> Book:
    return book.put("episodes", replace(book.episode(id), windows=(Window(first, last, hard),)))


def told(plan: Plan, code: str) -> list[str]:
    return [warning.text for warning in plan.warnings if warning.code == code]


# Promises


def test_each_pin_that_binds_is_a_promise() -> None:
    book = small(4, hours=0)
    pins = (dated("a", "s0", 0), order("b", "s0", "s1"), order("c", "s1", "s2"))
    assert promises(book) == (0, 0)
    assert promises(pinned(book, *pins)) == (3, 3)
    together = book.put(
        "episodes", replace(book.episode("s3"), pieces=("03", "02")), replace(book.episode("s2"), pieces=())
    )
    assert promises(pinned(together, *pins, Pin("d", PinKind.PAIR, pieces=("03", "02")))) == (4, 4)
    out = edits.publish(book, "s0", date(2026, 3, 1))
    assert promises(pinned(out, *pins)) == (1, 1)  # what is out is history: only the last order binds
    assert promises(pinned(out, order("b", "s1", "s0"))) == (1, 0)  # it can be kept no more


def test_a_pair_in_two_studies_is_not_kept() -> None:
    pair = Pin("p", PinKind.PAIR, pieces=("00", "01"))
    assert promises(pinned(small(2, hours=0), pair)) == (1, 0)
    assert promises(pinned(replace(small(2, hours=0), episodes=()), pair)) == (1, 1)
    three = replace(small(3, hours=0), episodes=())
    assert promises(pinned(three, pair, Pin("q", PinKind.PAIR, pieces=("01", "02")))) == (2, 1)
    unsure = small(0, unsure=2)
    assert promises(pinned(unsure, Pin("p", PinKind.PAIR, pieces=("u0", "u1")))) == (1, 1)


def test_dates_and_orders_that_are_broken_are_counted_each() -> None:
    book = small(3, hours=0)
    assert promises(pinned(book, dated("a", "s0", 0), dated("b", "s0", 4), order("c", "s1", "s2"))) == (3, 2)
    assert promises(pinned(book, order("a", "s0", "s1"), order("b", "s1", "s0"))) == (2, 1)
    assert promises(pinned(book, dated("a", "s0", 4), dated("b", "s1", 4))) == (2, 1)


# Warnings


def test_a_gap_over_the_maximum_is_told_with_both_numbers() -> None:
    """The last study came out 5 weeks before 8 March; 4 at most are wished, so a week over, and none in between."""
    book = small(1, hours=0, gaps=(1, 2, 4))
    line = Publication("p", "Out", "sunday", None, FuzzyDate.exact(SUNDAYS[0] - timedelta(35)), series="looks")
    assert told(planned(book.put("publications", line)), "gap-over-maximum") == [
        "“Study 0” comes 5 weeks after the one before it, 1 week over the maximum of 4."
    ]
    near = replace(line, actual=FuzzyDate.exact(SUNDAYS[0] - timedelta(28)))
    assert planned(book.put("publications", near)).warnings == ()
    assert planned(book).warnings == ()


def test_a_soft_window_missed_is_told_with_the_weeks_outside() -> None:
    book = windowed(small(1, hours=0), "s0", date(2026, 2, 16), date(2026, 2, 22))
    assert told(planned(book), "soft-window-missed") == ["“Study 0” falls on 8 March 2026, 2 weeks outside its window."]
    assert planned(windowed(book, "s0", date(2026, 3, 2), SUNDAYS[0])).warnings == ()
    hard = windowed(book, "s0", SUNDAYS[1], SUNDAYS[1], hard=True)
    assert planned(hard).warnings == ()


def test_what_has_no_slot_is_told_with_its_reason_and_way_out() -> None:
    book = windowed(small(1, hours=1), "s0", date(2030, 1, 1), date(2030, 2, 1), hard=True)
    plan = planned(book, 8)
    assert told(plan, "unplaced") == [
        "“Study 0” has no slot: no slot of the next 8 weeks lies inside 1 January 2030 to 1 February 2030, where it "
        f"must fall. {plan.unplaced[0].way_out[0].upper()}{plan.unplaced[0].way_out[1:]}."
    ]


def test_usual_content_that_is_short_is_told_unless_a_study_takes_its_place() -> None:
    """Of 12 h for each Sunday 10 h fit by 7 March; all later ones fit."""
    book = small(1, hours=10).put("rules", replace(small().rule("sunday"), standing_minutes=12 * 60))
    short = "feature of 8 March 2026 is 2 h short even without any study; "
    short += "put down what is done of it, bank it, or add hours."
    late = windowed(book, "s0", SUNDAYS[2], SUNDAYS[2], hard=True)
    assert told(planned(late), "standing-short") == [short]
    assert planned(book).studies[0].slot.day == SUNDAYS[0]
    assert told(planned(book), "standing-short") == []


def test_unsure_pieces_in_no_study_are_named() -> None:
    assert told(planned(small(0, unsure=1)), "unsure-left-out") == ["1 unsure piece in no study left out: Doubt 0."]
    assert told(planned(small(0, unsure=3)), "unsure-left-out") == [
        "3 unsure pieces in no study left out: Doubt 0, Doubt 1 and Doubt 2."
    ]
    assert planned(small(0, unsure=1), unsure=Unsure.SHOWN).warnings == ()


def test_a_contradiction_is_a_warning_with_its_sentence_and_no_other_date_is_priced() -> None:
    plan = planned(pinned(small(2, hours=0), dated("a", "s0", 4), dated("b", "s1", 4)))
    assert plan.status is Status.INFEASIBLE
    assert told(plan, "contradiction") == [clash.text for clash in plan.clashes]
    assert len(plan.clashes) == 1


# What was asked, and how far the plan is proven


def test_a_plan_tells_what_it_was_asked() -> None:
    book = small(1, unsure=1, hours=0)
    plan = make_plan(book, TODAY)
    assert (plan.today, plan.horizon_weeks, plan.unsure, plan.aim) == (TODAY, 78, Unsure.LEFT_OUT, Aim.BEST)
    assert (plan.status, plan.proven, plan.proven_gap, plan.missing_gap) == (Status.OPTIMAL, True, 0, 0)
    assert plan.left_out == ("u0",)
    assert plan.solver_seconds == 0.0
    asked = make_plan(book, TODAY, horizon_weeks=9, unsure=Unsure.UNSHOWN, aim=Aim.FEWEST)
    assert (asked.horizon_weeks, asked.unsure, asked.aim) == (9, Unsure.UNSHOWN, Aim.FEWEST)
    assert [study.implied for study in asked.studies] == [False, True]


def test_points_are_weeks_squared() -> None:
    """Wished 3 weeks apart, promised 5 weeks apart: 2 weeks squared; the soft window missed by a week adds 1."""
    book = pinned(small(2, hours=0), dated("a", "s0", 0), dated("b", "s1", 5))
    assert planned(book).points == Fraction(4)
    late = windowed(book, "s1", SUNDAYS[6], SUNDAYS[6])
    assert planned(late).points == Fraction(5)


def test_the_seconds_are_those_of_the_search() -> None:
    readings = iter([float(n) for n in range(10**6)])
    plan = make_plan(small(1, hours=0), TODAY, horizon_weeks=8, ticker=lambda: next(readings))
    assert plan.solver_seconds >= 1
    assert make_plan(small(1, hours=0), TODAY, horizon_weeks=8, ticker=lambda: 5.0).solver_seconds == 0


def three_series(studies: int) -> Book:
    """Studies of three series in turn on one slot, so many that the search takes a while."""
    book = small(studies, gaps=(1, 3, 9), hours=1)
    names = ("looks", "more", "most")
    series = tuple(replace(book.series[0], id=name, target_weeks=3 + n) for n, name in enumerate(names))
    made = tuple(replace(e, series=names[n % 3]) for n, e in enumerate(book.episodes))
    return replace(book, series=series, episodes=made)


@pytest.mark.slow
@pytest.mark.parametrize(("studies", "weeks", "limit"), [(9, 14, 1), (9, 14, 40), (12, 26, 200), (15, 26, 3000)])
def test_what_a_better_plan_could_save_is_never_told_too_low(studies: int, weeks: int, limit: int) -> None:
    """On a clock of which every reading takes a second: the best plan lies within what the hurried one allows for."""
    book = three_series(studies)
    whole = make_plan(book, TODAY, horizon_weeks=weeks)
    assert whole.status is Status.OPTIMAL
    readings = iter(range(10**9))
    plan = make_plan(book, TODAY, horizon_weeks=weeks, time_limit=limit, ticker=lambda: float(next(readings)))
    assert plan.proven == (plan.status is Status.OPTIMAL)
    assert ("time-limit" in [warning.code for warning in plan.warnings]) != plan.proven
    assert len(whole.studies) - len(plan.studies) <= plan.missing_gap
    if len(whole.studies) == len(plan.studies):
        assert 0 <= plan.points - whole.points <= plan.proven_gap <= plan.points
    if plan.proven:
        assert (plan.points, plan.proven_gap, plan.missing_gap) == (whole.points, 0, 0)
