"""The plan of the demo book and of small books: dates, points, hours, reasons, refusals."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from fractions import Fraction
from random import Random

import pytest
from books import TODAY, demo, small, sunday

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.episode import Pin, PinKind, Window
from showrunner.domain.house import Unsure
from showrunner.domain.piece import Known
from showrunner.domain.slot import DarkRange, SlotRef
from showrunner.errors import Contradiction
from showrunner.planning.aims import Aim
from showrunner.planning.changes import LookFurther, LowerGap, MoreHours
from showrunner.planning.plan import make_plan
from showrunner.planning.results import Plan, Status


def dates(plan: Plan) -> list[str]:
    return [study.slot.day.isoformat() for study in plan.studies]


def test_the_demo_with_both_unsure_pieces_taken_as_shown() -> None:
    plan = make_plan(demo(), TODAY, unsure=Unsure.SHOWN)
    assert plan.status is Status.OPTIMAL
    assert [study.id for study in plan.studies] == [
        "apron",
        "waistcoats",
        "skating-jacket",
        "dance-frock",
        "bathing-costume",
    ]
    assert dates(plan) == ["2026-03-22", "2026-05-10", "2026-06-28", "2026-08-23", "2026-10-18"]
    assert plan.points == 14
    assert plan.proven_gap == 0
    first = plan.studies[0]
    assert (first.minutes_needed, first.minutes_available) == (31 * 60, 34 * 60)
    assert first.reason == "On 15 March 2026, one slot earlier, the work would be 2 h short."
    assert first.gap_days == 56
    assert not plan.unplaced
    assert not plan.warnings


def test_the_slots_are_instants_on_the_wall_clock_of_the_demo() -> None:
    plan = make_plan(demo(), TODAY, unsure=Unsure.SHOWN)
    assert plan.studies[0].slot.start == datetime(2026, 3, 21, 22, 0, tzinfo=UTC)
    assert plan.studies[1].slot.start == datetime(2026, 5, 9, 23, 0, tzinfo=UTC)


@pytest.mark.parametrize(("unshown", "studies", "end"), [(1, 6, "2026-10-18"), (2, 7, "2026-11-29")])
def test_the_demo_with_unsure_pieces_unshown_is_a_six_week_grid(unshown: int, studies: int, end: str) -> None:
    book = demo()
    for piece in ("27", "28")[unshown:]:
        book = edits.mark_shown(book, piece, Known.YES)
    plan = make_plan(book, TODAY, unsure=Unsure.UNSHOWN)
    assert len(plan.studies) == studies
    assert [s.gap_days for s in plan.studies] == [56] + [42] * (studies - 1)
    assert dates(plan)[-1] == end


def test_unsure_pieces_in_no_study_are_left_out_and_said() -> None:
    plan = make_plan(demo(), TODAY)
    assert plan.left_out == ("27", "28")
    assert [w.code for w in plan.warnings] == ["unsure-left-out"]
    assert len(plan.studies) == 5


def test_a_lost_week_moves_exactly_one_study() -> None:
    book = demo()
    book = edits.put_dark(book, DarkRange("lost", date(2026, 3, 9), date(2026, 3, 15), reason="away"))
    book, _ = edits.add_filler(book, "Diary in the bank", "wednesday", day=date(2026, 3, 11), finished=True)
    book, _ = edits.add_filler(book, "Talk in the bank", "sunday", day=date(2026, 3, 15), finished=True)
    plan = make_plan(book, TODAY, aim=Aim.FEWEST)
    moved = [study for study in plan.studies if study.moved_from]
    assert [(study.id, study.moved_from, study.slot.ref) for study in moved] == [
        ("apron", sunday(date(2026, 3, 22)), sunday(date(2026, 3, 29)))
    ]
    assert moved[0].reason == "On 22 March 2026, one slot earlier, the work would be 2 h short."


def test_two_studies_pinned_to_one_slot_are_both_named_and_one_promise_is_kept() -> None:
    book = demo()
    book, _ = edits.pin_date(book, "apron", sunday(date(2026, 4, 5)))
    with pytest.raises(Contradiction) as refused:
        edits.pin_date(book, "waistcoats", sunday(date(2026, 4, 5)))
    assert set(refused.value.parties) == {"apron", "waistcoats"}
    forced = replace(book, pins=(*book.pins, Pin("p9", PinKind.DATE, ("waistcoats",), sunday(date(2026, 4, 5)))))
    plan = make_plan(forced, TODAY)
    assert plan.status is Status.INFEASIBLE
    assert len(plan.studies) == 5
    assert (plan.promises_made, plan.promises_kept) == (2, 1)
    assert sum(study.pinned for study in plan.studies) == 1
    assert set(plan.clashes[0].parties) == {"apron", "waistcoats"}
    assert "apple-packer" in plan.clashes[0].text
    assert "Septimus" in plan.clashes[0].text


def test_a_pin_is_kept_and_its_price_is_paid_by_the_others() -> None:
    book, _ = edits.pin_date(demo(), "waistcoats", sunday(date(2026, 5, 24)))
    plan = make_plan(book, TODAY, unsure=Unsure.SHOWN)
    placed = {study.id: study for study in plan.studies}
    assert placed["waistcoats"].slot.ref == sunday(date(2026, 5, 24))
    assert placed["waistcoats"].pinned
    assert placed["waistcoats"].reason.startswith("It is promised for this date.")
    assert plan.points > 14


def test_a_pin_that_is_past_is_a_clash() -> None:
    book, _ = edits.pin_date(demo(), "apron", sunday(date(2026, 3, 22)))
    plan = make_plan(book, date(2026, 3, 30))
    assert plan.status is Status.INFEASIBLE
    assert "which is past" in plan.clashes[0].text


def test_an_order_pin_is_kept_against_the_book_order() -> None:
    book, _ = edits.pin_order(demo(), "dance-frock", "waistcoats")
    plan = make_plan(book, TODAY, unsure=Unsure.SHOWN)
    order = [study.id for study in plan.studies]
    assert order.index("dance-frock") < order.index("waistcoats")
    assert plan.points == 14


def test_no_study_is_published_in_a_dark_range() -> None:
    book = edits.put_dark(
        demo(), DarkRange("quiet", date(2026, 5, 1), date(2026, 5, 17), no_work=False, no_publication=True)
    )
    plan = make_plan(book, TODAY, unsure=Unsure.SHOWN)
    assert all(not date(2026, 5, 1) <= study.slot.day <= date(2026, 5, 17) for study in plan.studies)


@pytest.mark.slow
def test_a_slot_held_by_a_talk_is_not_given_away() -> None:
    book, _ = edits.add_filler(demo(), "A promised talk", "sunday", day=date(2026, 3, 29))
    book = replace(
        book,
        episodes=tuple(replace(e, slot=None) if not e.published else e for e in book.episodes[:-1])
        + book.episodes[-1:],
    )
    plan = make_plan(book, TODAY, unsure=Unsure.SHOWN)
    assert date(2026, 3, 29) not in [study.slot.day for study in plan.studies]


def test_hours_that_cannot_hold_everything_name_what_is_short_and_a_way_out() -> None:
    book = small(3, work=(0, 0, 0, 0, 0, 30, 0), hours=8)
    plan = make_plan(book, TODAY, horizon_weeks=20)
    assert len(plan.studies) == 1
    assert len(plan.unplaced) == 2
    lost = plan.unplaced[0]
    assert lost.reason == "the hours cannot hold it"
    assert (lost.short_by, lost.short_minutes) == ("6 h", 360)
    assert lost.way_out == "With 6 h more work by 18 July 2026, “Study 1” airs on 19 July 2026"
    assert lost.ways_out[0].changes == (MoreHours(360, date(2026, 7, 18), TODAY),)


def test_no_slot_that_keeps_the_least_gap_names_the_weeks() -> None:
    plan = make_plan(small(4, gaps=(6, 6, 9)), TODAY, horizon_weeks=14)
    assert len(plan.studies) == 3
    assert plan.unplaced[0].reason == "no free slot keeps 6 weeks from the other studies"
    ways = {type(way.changes[0]): way for way in plan.unplaced[0].ways_out}
    assert ways[LookFurther].changes == (LookFurther(19),)
    assert ways[LowerGap].changes == (LowerGap("looks", 4),)
    assert ways[LowerGap].text == "With a least gap of 4 weeks in Looks, “Study 3” airs on 7 June 2026."


def test_a_window_that_never_comes_names_it() -> None:
    book = small(1)
    study = replace(book.episodes[0], windows=(Window(date(2030, 1, 1), date(2030, 2, 1), hard=True),))
    plan = make_plan(book.put("episodes", study), TODAY)
    assert plan.unplaced[0].reason == (
        "no slot of the next 78 weeks lies inside 1 January 2030 to 1 February 2030, where it must fall"
    )


def test_a_missed_soft_window_and_a_long_gap_are_warned_about_with_numbers() -> None:
    book = small(2)
    late = replace(book.episodes[1], windows=(Window(date(2026, 6, 1), date(2026, 6, 7)),))
    early = replace(book.episodes[0], windows=(Window(date(2026, 3, 9), date(2026, 3, 15)),))
    plan = make_plan(book.put("episodes", early, late), TODAY)
    assert [w.code for w in plan.warnings if w.code == "gap-over-maximum"]
    texts = [w.text for w in plan.warnings if w.code == "soft-window-missed"]
    assert texts and all("outside its window" in text for text in texts)
    for study in plan.studies:
        assert study.gap_days is None or study.gap_days >= 14


def test_standing_content_that_cannot_be_made_is_said_and_does_not_stop_the_plan() -> None:
    book = small(1)
    rule = replace(book.rules[0], standing_minutes=20 * 60)
    plan = make_plan(book.put("rules", rule), TODAY)
    assert any(w.code == "standing-short" for w in plan.warnings)


@pytest.mark.slow
def test_the_order_of_the_input_changes_nothing_but_equal_studies_go_in_book_order() -> None:
    book = demo()
    plan = make_plan(book, TODAY, unsure=Unsure.SHOWN)
    random = Random(4)
    for _ in range(5):
        episodes = list(book.episodes)
        random.shuffle(episodes)
        pieces = list(book.pieces)
        random.shuffle(pieces)
        again = make_plan(replace(book, pieces=tuple(pieces)), TODAY, unsure=Unsure.SHOWN)
        assert dates(again) == dates(plan)
        shuffled = make_plan(replace(book, episodes=tuple(episodes)), TODAY, unsure=Unsure.SHOWN)
        assert (dates(shuffled), shuffled.points) == (dates(plan), plan.points)


@pytest.mark.slow
def test_prices_are_what_pinning_the_study_there_costs() -> None:
    book = demo()
    plan = make_plan(book, TODAY, unsure=Unsure.SHOWN)
    checked = 0
    for study in plan.studies:
        for price in (study.earlier, study.later):
            if price is None or not price.possible:
                continue
            free = replace(book, episodes=tuple(replace(e, slot=None) if not e.published else e for e in book.episodes))
            held, _ = edits.pin_date(free, study.id, price.slot)
            again = make_plan(held, TODAY, unsure=Unsure.SHOWN)
            assert again.points - plan.points == price.points
            checked += 1
    assert checked >= 6


def test_an_empty_book_has_an_empty_proven_plan() -> None:
    plan = make_plan(Book(key="x"), TODAY)
    assert plan.status is Status.OPTIMAL
    assert plan.studies == plan.unplaced == ()


def test_a_finished_study_can_go_out_today() -> None:
    book = small(1)
    done = replace(book.episodes[0], finished=True)
    plan = make_plan(book.put("episodes", done), date(2026, 3, 8))
    assert dates(plan) == ["2026-03-08"]


def test_time_that_runs_out_says_so_with_the_proven_gap() -> None:
    book = small(40, gaps=(1, 3, 9), hours=1)
    second = replace(book.series[0], id="more", name="More", target_weeks=4)
    third = replace(book.series[0], id="most", name="Most", target_weeks=5)
    names = ("looks", "more", "most")
    book = replace(
        book,
        series=(book.series[0], second, third),
        episodes=tuple(replace(e, series=names[n % 3]) for n, e in enumerate(book.episodes)),
    )
    reading = iter(range(10**9))
    plan = make_plan(book, TODAY, time_limit=1.0, ticker=lambda: float(next(reading)))
    assert plan.status is Status.TIME_LIMIT
    assert plan.missing_gap > 0 or plan.proven_gap > 0
    assert plan.proven_gap <= plan.points
    assert "time-limit" in [w.code for w in plan.warnings]


def test_days_between_two_rules_count_as_days() -> None:
    book = small(2, gaps=(1, 1, 3))
    wednesday = replace(book.rules[0], id="wednesday", name="midweek", weekday=2)
    series = replace(book.series[0], rules=("sunday", "wednesday"))
    book = replace(book, rules=(*book.rules, wednesday), series=(series,))
    plan = make_plan(book, TODAY)
    assert [study.slot.ref for study in plan.studies] == [
        SlotRef(date(2026, 3, 8), "sunday"),
        SlotRef(date(2026, 3, 15), "sunday"),
    ]
    assert plan.studies[1].gap_days == 7
    assert plan.points == Fraction(0)
