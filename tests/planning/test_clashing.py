"""Promises that no plan keeps together: which of them are named, what is missing, and how many the plan keeps."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import count

import pytest
from books import TODAY, small, sunday

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.episode import Pin, PinKind, Window
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.publication import Publication
from showrunner.domain.rules import Member, Rule
from showrunner.domain.slot import DarkRange
from showrunner.planning.clashing import smallest_clash, static_clashes
from showrunner.planning.plan import make_plan
from showrunner.planning.results import Status, Unsure
from showrunner.planning.solving import Question

SUNDAYS = [date(2026, 3, 8) + timedelta(weeks=n) for n in range(8)]


def dated(id: str, study: str, day: date) -> Pin:
    return Pin(id, PinKind.DATE, (study,), sunday(day))


def book(*pins: Pin, **sizes: int) -> Book:
    return replace(small(3, **sizes), pins=pins)


def members(found: Book, weeks: int = 8) -> list[set[Member]]:
    return [set(clash.members) for clash in make_plan(found, TODAY, horizon_weeks=weeks).clashes]


ASK = Question(TODAY, 8, Unsure.LEFT_OUT)
BEFORE = Pin("b", PinKind.ORDER, ("s0", "s1"))


def against(week: int, *, gaps: tuple[int, int, int] = (1, 2, 5)) -> Book:
    """Studies of no work, of which the first is promised before the second and that for a week's slot."""
    return book(dated("a", "s1", SUNDAYS[week]), BEFORE, hours=0, gaps=gaps)


def clash(found: Book) -> tuple[set[Member], str]:
    """The one clash of a book: what takes part beside the two promises, and what is said after them."""
    (only,) = make_plan(found, TODAY, horizon_weeks=8).clashes
    promised = {Member(Rule.DATE, "a"), Member(Rule.ORDER, "b")}
    assert promised <= set(only.members)
    assert only.parties == tuple(dict.fromkeys(("s1", "s0", *(m.id for m in only.members if m.id))))
    return set(only.members) - promised, only.text.partition(" are promised, but ")[2]


UNPIN = "; unpin one of them, or change that rule."
FEW = "too few slots are left from 2 March 2026 on"


def test_the_rule_that_keeps_two_promises_apart_is_named_with_its_words() -> None:
    assert make_plan(against(1), TODAY, horizon_weeks=8).clashes == ()
    today = Member(Rule.TODAY)
    gap = Member(Rule.GAP, "looks")
    assert clash(against(1, gaps=(2, 2, 5))) == ({gap, today}, f"Looks keeps at least 2 weeks and {FEW}{UNPIN}")
    dark = against(1).put("dark", DarkRange("d", SUNDAYS[0], SUNDAYS[0] + timedelta(1), no_publication=True))
    words = f"nothing is published 8 to 9 March 2026 and {FEW}{UNPIN}"
    assert clash(dark) == ({Member(Rule.DARK, "d"), today}, words)
    taken, _ = edits.add_filler(against(1), "A talk", "sunday", SUNDAYS[0])
    words = f"the slot of 8 March 2026 is taken and {FEW}{UNPIN}"
    assert clash(taken) == ({Member(Rule.HELD, "2026-03-08 sunday"), today}, words)


def test_edges_of_a_slot_and_a_window_are_named_where_today_takes_no_part() -> None:
    gap = Member(Rule.GAP, "looks")
    found = against(4, gaps=(2, 2, 5))
    begun = found.put("rules", replace(found.rule("sunday"), first=SUNDAYS[3]))
    words = f"feature starts on 29 March 2026 and Looks keeps at least 2 weeks{UNPIN}"
    assert clash(begun) == ({Member(Rule.SLOT, "sunday"), gap}, words)
    both = begun.put("rules", replace(begun.rule("sunday"), last=SUNDAYS[7]))
    assert clash(both)[1].startswith("feature starts on 29 March 2026 and ends on 26 April 2026 and Looks keeps")
    window = Window(SUNDAYS[3], SUNDAYS[5], hard=True)
    bound = found.put("episodes", replace(found.episode("s0"), windows=(window,)))
    words = f"“Study 0” must fall in 29 March 2026 to 12 April 2026 and Looks keeps at least 2 weeks{UNPIN}"
    assert clash(bound) == ({Member(Rule.WINDOW, "s0"), gap}, words)


def test_what_takes_no_part_is_not_named() -> None:
    """Beside a clash: a dark range, edges, windows, filler and pins of another time, and no least gap at all."""
    found = against(0, gaps=(0, 2, 5))
    found = found.put("dark", DarkRange("d", SUNDAYS[4], SUNDAYS[4], no_publication=True))
    found, _ = edits.add_filler(found, "A talk", "sunday", SUNDAYS[5])
    found = found.put("rules", replace(found.rule("sunday"), first=SUNDAYS[0] - timedelta(70)))
    window = Window(SUNDAYS[6], SUNDAYS[7], hard=True)
    found = found.put("episodes", replace(found.episode("s2"), windows=(window,)))
    found = replace(found, pins=(*found.pins, dated("c", "s2", SUNDAYS[6])))
    assert clash(found) == ({Member(Rule.TODAY)}, f"{FEW}{UNPIN}")


def test_hours_just_enough_for_two_promises_clash_no_more() -> None:
    """Until Saturday 21 March there are 34 h: two studies of 17 h fit, of 18 h they are 2 h short."""
    found = {hours: book(dated("a", "s0", SUNDAYS[0]), dated("b", "s1", SUNDAYS[2]), hours=hours) for hours in (17, 18)}
    done = {h: b.put("episodes", replace(b.episode("s2"), finished=True)) for h, b in found.items()}
    for hours, changed in done.items():
        stages = replace(changed.series[0].stages, edit=60 * 10)
        early = replace(changed.episode("s0"), stages=stages)  # 10 h of work by 7 March, as many as there are
        late = replace(changed.episode("s1"), stages=replace(stages, edit=60 * (2 * hours - 10)))
        clashes = make_plan(changed.put("episodes", early, late), TODAY, horizon_weeks=8).clashes
        assert [clash.missing_minutes for clash in clashes] == ([] if hours == 17 else [120])


def test_content_that_takes_longer_than_a_study_can_make_room_for_a_promise() -> None:
    """Of 10 h until 7 March and 22 h until 14 March, a talk of 12 h each week takes all; a study of 17 h is promised.

    With a study of 2 h in the first slot in place of the talk there are 20 h for it, without that 12 h.
    """
    found = book(dated("a", "s1", SUNDAYS[1]), hours=2, gaps=(1, 2, 5))
    found = found.put("rules", replace(found.rule("sunday"), standing_minutes=12 * 60))
    stages = replace(found.series[0].stages, edit=17 * 60)
    found = found.put("episodes", replace(found.episode("s1"), stages=stages))
    assert make_plan(found, TODAY, horizon_weeks=8).clashes == ()
    # Of 23 h, with the 2 h of the other study by 14 March, 3 h are missing; a talk beside it would take 10 h more.
    longer = found.put("episodes", replace(found.episode("s1"), stages=replace(stages, edit=23 * 60)))
    (only,) = make_plan(longer, TODAY, horizon_weeks=8).clashes
    assert only.missing_minutes == 3 * 60


def test_hours_of_more_than_two_months_day_and_night_are_told_as_well() -> None:
    """10 h until 7 March and 12 h more each week until 13 June are 178 h."""
    found = book(dated("a", "s0", SUNDAYS[0] + timedelta(weeks=14)), hours=178 + 1700)
    only = smallest_clash(found, replace(ASK, horizon_weeks=16))
    assert only and only.missing_minutes == 1700 * 60


def test_hours_missing_for_what_must_be_ready_today_are_found_today() -> None:
    """On Saturday 7 March there are 4 h, for the slot of the day after."""
    (only,) = make_plan(book(dated("a", "s0", SUNDAYS[0]), hours=5), date(2026, 3, 7), horizon_weeks=8).clashes
    assert only.missing_minutes == 60


def test_each_order_of_a_chain_takes_part_and_one_slot_too_few_is_left() -> None:
    """Before the second Sunday there is one, and two studies are promised before it."""
    pins = (dated("a", "s2", SUNDAYS[1]), Pin("b", PinKind.ORDER, ("s0", "s1")), Pin("c", PinKind.ORDER, ("s1", "s2")))
    found = book(*pins, hours=0, gaps=(0, 2, 5))
    promised = {Member(Rule.DATE, "a"), Member(Rule.ORDER, "b"), Member(Rule.ORDER, "c")}
    assert members(found) == [promised | {Member(Rule.TODAY)}]
    assert members(replace(found, pins=(dated("a", "s2", SUNDAYS[2]), *pins[1:]))) == []


def test_a_slot_that_is_taken_today_takes_part() -> None:
    found, _ = edits.add_filler(against(1), "A talk", "sunday", SUNDAYS[0])
    (only,) = make_plan(found, SUNDAYS[0], horizon_weeks=8).clashes
    assert Member(Rule.HELD, "2026-03-08 sunday") in only.members


def test_a_study_promised_for_today_is_neither_past_nor_beyond() -> None:
    for week, today, weeks in ((0, SUNDAYS[0], 8), (4, TODAY - timedelta(1), 5)):
        found = book(dated("a", "s0", SUNDAYS[week]), hours=0)
        assert SUNDAYS[week] in (today, today + timedelta(weeks=weeks))
        assert static_clashes(found, replace(ASK, today=today, horizon_weeks=weeks)) == ()
        (past,) = static_clashes(found, replace(ASK, today=SUNDAYS[week] + timedelta(1)))
        assert past.members == (Member(Rule.DATE, "a"), Member(Rule.TODAY))
        assert past.parties == ("s0", "a")
        (far,) = static_clashes(found, replace(ASK, today=SUNDAYS[week] - timedelta(8), horizon_weeks=1))
        assert far.text == (
            f"“Study 0” is promised for {SUNDAYS[week].day} {SUNDAYS[week]:%B} 2026 (feature), which is beyond the "
            "1 week looked at; look further or unpin it."
        )


@pytest.mark.slow
@pytest.mark.parametrize("limit", range(0, 400, 20))
def test_a_clash_found_in_a_hurry_may_name_too_much_but_no_false_number(limit: int) -> None:
    """On a clock of which every reading takes a second, what is not found out is not said."""
    found = book(dated("a", "s1", SUNDAYS[0]), BEFORE, hours=20)
    found = found.put("dark", DarkRange("d", SUNDAYS[4], SUNDAYS[4], no_publication=True))
    whole = smallest_clash(found, ASK)
    assert whole
    assert smallest_clash(found, ASK, time_limit=0.5, ticker=lambda: 7.0) == whole  # a clock that stands
    ticks = count()
    hurried = smallest_clash(found, ASK, time_limit=limit, ticker=lambda: float(next(ticks)))
    if hurried:
        assert set(hurried.members) >= set(whole.members)
        assert hurried.missing_minutes in (None, whole.missing_minutes)
        if Member(Rule.HOURS) in hurried.members and hurried.missing_minutes is None:
            assert "the hours do not allow it" in hurried.text


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
