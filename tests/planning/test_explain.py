"""The proof of each date: hours, gaps and reasons by hand, and prices against every plan there is."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction
from itertools import count, product
from random import Random

import pytest
from books import TODAY, small, sunday

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.episode import Pin, PinKind, StageMinutes, Window
from showrunner.domain.slot import DarkRange
from showrunner.planning.aims import Aim
from showrunner.planning.candidates import candidates
from showrunner.planning.changes import MoreHours, carried_out
from showrunner.planning.explain import Explainer
from showrunner.planning.frame import Frame, frame
from showrunner.planning.plan import make_plan
from showrunner.planning.problem import Score, score
from showrunner.planning.results import Placed, Plan, Status, Unplaced, Unsure
from showrunner.planning.search import Solution

SUNDAYS = [date(2026, 3, 8) + timedelta(weeks=n) for n in range(30)]
WEEKS = 6
Best = tuple[Score, list[tuple[int, int]], dict[str, int]]


def planned(book: Book, weeks: int = 12, **more: object) -> Plan:
    return make_plan(book, TODAY, horizon_weeks=weeks, **more)


def by_id(plan: Plan) -> dict[str, Placed]:
    return {study.id: study for study in plan.studies}


def dated(id: str, study: str, week: int) -> Pin:
    return Pin(id, PinKind.DATE, (study,), sunday(SUNDAYS[week]))


def free(book: Book, id: str, **changes: object) -> Book:
    """The book with something else about a study."""
    return book.put("episodes", replace(book.episode(id), **changes))


# Against every plan there is


def random_book(seed: int) -> Book:
    """Three studies in six weeks of scarce hours, with promises, windows, talks and days without publication."""
    random = Random(seed)
    work = (0, 0, 0, 60 * random.randrange(4), 0, 120, 0)
    book = small(3, work=work, gaps=(random.randrange(3), random.choice((2, 3)), 5), hours=random.randrange(1, 7))
    book = book.put("rules", replace(book.rules[0], standing_minutes=random.choice((0, 0, 60))))
    for study in book.episodes:
        if random.random() < 0.3:
            first = SUNDAYS[random.randrange(5)]
            window = Window(first, first + timedelta(7 * random.randrange(3)), hard=random.random() < 0.5)
            book = free(book, study.id, windows=(window,))
        if random.random() < 0.4:
            book = free(book, study.id, slot=sunday(SUNDAYS[random.randrange(-2, 6)] if seed else SUNDAYS[0]))
        if random.random() < 0.3:
            book = free(book, study.id, stages=StageMinutes(edit=60 * random.randrange(9)))
    if random.random() < 0.3:
        book = book.put("dark", DarkRange("d", *[SUNDAYS[random.randrange(6)]] * 2, no_work=False, no_publication=True))
    pins = [dated("a", "s0", random.randrange(6))] if random.random() < 0.4 else []
    pins += [Pin("b", PinKind.ORDER, ("s1", "s2"))] if random.random() < 0.3 else []
    return replace(book, pins=tuple(pins))


def best(shape: Frame, study: str = "", there: int | None = None) -> Best | None:
    """The best plan there is, or of those with a study in a slot whatever was promised of its date."""
    problem = shape.problem
    if study:
        needs = tuple(replace(need, promised=None) if need.key == study else need for need in problem.needs)
        problem = replace(problem, needs=needs)
    found = []
    for choice in product((None, *range(len(problem.slots))), repeat=len(problem.needs)):
        places = {need.key: at for need, at in zip(problem.needs, choice, strict=True) if at is not None}
        reached = score(problem, places) if not study or places.get(study) == there else None
        if reached is not None:
            path = sorted((at, need.order) for need, at in zip(problem.needs, choice, strict=True) if at is not None)
            found.append((reached, path, places))
    return min(found, key=lambda one: one[:2], default=None)


def shaped(book: Book, keep: bool, minutes: int = 0) -> Frame:
    studies, _ = candidates(book, Unsure.LEFT_OUT)
    return frame(book, TODAY, studies, horizon_weeks=WEEKS, aim=Aim.FEWEST if keep else Aim.BEST, more=(0, minutes))


def price(book: Book, keep: bool, here: Best, study: str, day: date) -> tuple[bool, Fraction, int | None]:
    """Whether a study can stand in a slot with nothing lost, its price, and the minutes that would let it."""
    shape = shaped(book, keep)
    never = (False, Fraction(0), None)
    at = next((n for n, slot in enumerate(shape.problem.slots) if slot.day == day), None)
    need = next(need for need in shape.problem.needs if need.key == study)
    if at is None or need.cost[at] is None or (shape.problem.ready[at] < 0 and need.minutes):
        return never
    if need.promised is not None and here[2][study] == need.promised:
        return never
    broken = here[0].broken - (need.promised is not None)

    def with_more(minutes: int) -> Score | None:
        there = best(shaped(book, keep, minutes), study, at)
        kept = there is not None and (there[0].broken, there[0].unplaced) <= (broken, here[0].unplaced)
        return there[0] if there and kept else None

    if reached := with_more(0):
        return True, Fraction(reached.points - here[0].points, 49), None
    if not with_more(60 * 40):
        return never
    return False, Fraction(0), next(minutes for minutes in count(60, 60) if with_more(minutes))


def test_a_price_is_that_of_the_best_plan_with_the_study_there_and_hours_missing_are_the_least_that_help() -> None:
    kinds: dict[str, int] = {"possible": 0, "short": 0, "never": 0}
    for seed in range(16):
        book, keep = random_book(seed), seed % 3 == 0
        plan = make_plan(book, TODAY, horizon_weeks=WEEKS, aim=Aim.FEWEST if keep else Aim.BEST)
        here = best(shaped(book, keep))
        assert here
        assert plan.points == Fraction(here[0].points, 49)
        slots = shaped(book, keep).problem.slots
        assert {item.id: item.slot.day for item in plan.studies} == {key: slots[at].day for key, at in here[2].items()}
        for item in plan.studies:
            for found, step in ((item.earlier, -1), (item.later, 1)):
                week = SUNDAYS.index(item.slot.day) + step
                if not 0 <= week < WEEKS:
                    assert found is None
                    continue
                assert found and found.slot == sunday(SUNDAYS[week])
                wanted = price(book, keep, here, item.id, SUNDAYS[week])
                assert (found.possible, found.points, found.short_minutes) == wanted, (seed, item.id, step)
                kinds["possible" if wanted[0] else "short" if wanted[2] else "never"] += 1
    assert min(kinds.values()) > 2, kinds


# By hand


def test_hours_and_gaps_are_told_by_the_day_each_study_must_be_ready() -> None:
    """By Saturday 7 March 10 h, then 12 h a week; a talk of 1 h a week, studies of 8 h, wished 3 weeks apart."""
    book = small(2, gaps=(2, 3, 5)).put("rules", replace(small().rule("sunday"), standing_minutes=60))
    book = edits.publish(
        book.put("episodes", replace(book.episode("s1"), id="old", title="Old", pieces=())), "old", date(2026, 3, 1)
    )
    first, second = planned(book).studies
    assert (first.slot.day, first.gap_days, first.minutes_needed, first.minutes_available) == (
        SUNDAYS[2],
        21,
        2 * 60 + 480,
        34 * 60,
    )
    assert (second.slot.day, second.gap_days) == (SUNDAYS[5], 21)
    assert (second.minutes_needed, second.minutes_available) == (4 * 60 + 960, 70 * 60)


def test_a_first_study_without_a_record_has_no_gap_and_no_slot_before() -> None:
    first, second = planned(small(2, hours=1)).studies
    assert (first.slot.day, first.gap_days, first.earlier) == (SUNDAYS[0], None, None)
    assert first.reason == "It is the first slot there is."
    assert first.later and first.later.slot == sunday(SUNDAYS[1])
    assert (second.gap_days, second.pinned, second.implied, second.moved_from) == (21, False, False, None)


def in_order(book: Book) -> Book:
    return replace(book, pins=(Pin("p", PinKind.ORDER, ("s0", "s1")),))


def test_points_are_told_as_more_and_dates_as_later() -> None:
    """Wished 3 weeks apart: a week nearer costs 1 point, and the same apart from a week later on 14 days in all."""
    first, second = planned(in_order(small(2, hours=1))).studies
    assert first.later and second.earlier and second.later
    assert first.later.text == "the dates would be as even, but 14 days later in all"
    assert second.earlier.text == "the dates would be less even by 1"
    assert second.reason == "On 22 March 2026, one slot earlier, the dates would be less even by 1."
    assert (second.earlier.points, second.earlier.possible, second.earlier.short_minutes) == (1, True, None)
    assert second.later.text == first.later.text


def test_studies_alike_change_places_at_no_cost() -> None:
    first, second = planned(small(2, hours=1, gaps=(1, 1, 5))).studies
    assert (first.id, second.id) == ("s0", "s1")
    assert first.later and second.earlier
    words = "the dates would be as even and as early; book order decides"
    assert (first.later.text, second.earlier.text, first.later.points) == (words, words, 0)


def test_of_a_plan_that_is_not_the_best_a_date_may_cost_less() -> None:
    """A week more than the wished 3 weeks costs a point, which the slot before saves."""
    book = in_order(small(2, hours=1))
    shape = shaped(book, False)
    places = {"s0": 0, "s1": 4}
    reached = score(shape.problem, places)
    assert reached
    solution = Solution(places, reached, proven=False, bound=reached, expanded=0)
    assert [item.earlier and item.earlier.text for item in Explainer(shape, solution, None).placed()] == [
        None,
        "the dates would be more even by 1",
    ]


def test_a_replan_tells_moves_before_points() -> None:
    book = free(free(small(2, hours=1), "s0", slot=sunday(SUNDAYS[1])), "s1", slot=sunday(SUNDAYS[3]))
    first, second = planned(book, aim=Aim.FEWEST).studies
    assert first.earlier and second.later
    assert first.earlier.text == second.later.text == "1 more planned study would move"
    window = Window(SUNDAYS[0], SUNDAYS[3], hard=True)
    (moved,) = planned(
        free(small(1, hours=1), "s0", slot=sunday(SUNDAYS[5]), windows=(window,)), aim=Aim.FEWEST
    ).studies
    assert (moved.slot.day, moved.moved_from) == (SUNDAYS[3], sunday(SUNDAYS[5]))
    assert moved.earlier and moved.earlier.text == "planned studies would move 7 days further"
    both = free(small(2, hours=1), "s0", slot=sunday(SUNDAYS[5]), windows=(window,))
    stays = by_id(planned(free(both, "s1", slot=sunday(SUNDAYS[6])), aim=Aim.FEWEST))["s1"]
    assert stays.later and stays.later.text == "1 more planned study would move"  # two instead of one


def test_a_promised_study_says_so_and_stands_nowhere_else() -> None:
    book = replace(small(2, hours=1), pins=(dated("a", "s1", 1),))
    study = by_id(planned(book))["s1"]
    assert study.pinned and study.earlier and study.later
    words = "it is promised for 15 March 2026 (feature)"
    assert study.reason == f"It is promised for this date. On 8 March 2026, one slot earlier, {words}."
    assert (study.earlier.possible, study.later.possible, study.later.text) == (False, False, words)


def test_what_would_be_lost_is_named() -> None:
    """Three slots, three studies; and a promise that a study would push out of its slot."""
    book = small(3, hours=1, gaps=(1, 1, 5)).put("rules", replace(small().rule("sunday"), last=SUNDAYS[2]))
    book = free(book, "s2", windows=(Window(SUNDAYS[2], SUNDAYS[2], hard=True),))
    study = by_id(planned(book, 8))["s1"]
    assert study.slot.day == SUNDAYS[1]
    assert study.later and (study.later.text, study.later.possible) == ("“Study 2” could not be placed", False)
    pinned = replace(small(2, hours=1), pins=(dated("a", "s1", 3),))
    study = by_id(planned(pinned))["s0"]
    assert study.slot.day == SUNDAYS[0]
    near = replace(small(2, hours=1, gaps=(2, 2, 5)), pins=(dated("a", "s1", 2),))
    study = by_id(planned(near))["s0"]
    assert study.later and study.later.text == "a promise would be broken"


def test_work_that_must_be_ready_before_today_bars_a_slot() -> None:
    book = small(1, hours=1)
    (study,) = make_plan(book, SUNDAYS[0], horizon_weeks=8).studies
    assert study.slot.day == SUNDAYS[1]
    assert study.reason == (
        "On 8 March 2026, one slot earlier, it would have to be ready already, and 1 h of work are left."
    )
    (done,) = make_plan(free(book, "s0", finished=True), SUNDAYS[0], horizon_weeks=8).studies
    assert (done.slot.day, done.minutes_needed, done.minutes_available) == (SUNDAYS[0], 0, 0)


def test_promises_that_exclude_each_other_leave_dates_without_a_price() -> None:
    book = replace(small(2, hours=1), pins=(dated("a", "s0", 0), dated("b", "s0", 4)))
    plan = planned(book)
    assert plan.status is Status.INFEASIBLE
    words = "Promises exclude each other, so other dates have no price."
    assert [study.reason for study in plan.studies] == [f"It is promised for this date. {words}", words]
    assert [(study.earlier, study.later) for study in plan.studies] == [(None, None)] * 2


@pytest.mark.parametrize(("studies", "priced"), [(12, True), (13, False)])
def test_without_a_clock_as_many_studies_are_priced_as_are_soon_done(studies: int, priced: bool) -> None:
    plan = planned(small(studies, hours=0, gaps=(1, 1, 5)), 20)
    assert len(plan.studies) == studies
    assert (plan.studies[0].later is not None) == priced
    if not priced:
        assert plan.studies[1].reason == "One slot earlier, 8 March 2026, was not priced."


def test_with_a_clock_pricing_stops_when_its_time_is_over() -> None:
    """On a clock of which every reading takes 20 ms, the studies that come late in line are not priced."""
    ticks = count()
    book = small(8, hours=0, gaps=(1, 2, 5))
    plan = planned(book, 20, ticker=lambda: next(ticks) / 50)
    priced = [study.later is not None for study in plan.studies]
    assert priced == sorted(priced, reverse=True)
    assert True in priced and False in priced
    many = small(13, hours=0, gaps=(1, 1, 5))  # more than are priced without a clock
    assert all(study.later for study in planned(many, 20, ticker=lambda: 0.0).studies)


# What has no slot


def lost(book: Book, weeks: int = 8) -> Unplaced:
    """The last study without a slot."""
    return planned(book, weeks).unplaced[-1]


def test_what_keeps_a_study_out_is_told() -> None:
    window = Window(date(2030, 1, 1), date(2030, 2, 1), hard=True)
    shut = free(small(2, hours=1), "s0", windows=(window,))
    waits = replace(shut, pins=(Pin("p", PinKind.ORDER, ("s0", "s1")),))
    told = {item.id: item.reason for item in planned(waits, 8).unplaced}
    assert told["s1"] == "it is promised after “Study 0”, which has no slot"
    assert told["s0"] == (
        "no slot of the next 8 weeks lies inside 1 January 2030 to 1 February 2030, where it must fall"
    )
    ended = small(1, hours=1).put("rules", replace(small().rule("sunday"), last=date(2026, 3, 1)))
    assert lost(ended).reason == "its series has no free slot in the next 8 weeks"
    one = small(2, hours=0, gaps=(0, 1, 5)).put("rules", replace(small().rule("sunday"), last=SUNDAYS[0]))
    assert lost(one).reason == "every slot it may have is taken by “Study 0”"
    assert (lost(one).id, lost(one).title, lost(one).series, lost(one).pieces) == ("s1", "Study 1", "looks", ("01",))


def test_how_much_a_way_out_takes_has_its_unit() -> None:
    near = small(4, gaps=(4, 4, 9), hours=1)
    assert (lost(near).short_by, lost(near).short_minutes) == ("5 weeks", None)  # 13 weeks looked at, not 8
    begun = near.put("rules", replace(near.rules[0], last=SUNDAYS[7]))
    assert lost(begun).short_by == "2 weeks"  # a least gap of 2 weeks, not 4
    window = Window(date(2026, 5, 11), date(2026, 5, 16), hard=True)
    assert lost(free(small(1, hours=1), "s0", windows=(window,))).short_by == "3 weeks"  # from 20 April on
    soon = Window(TODAY, TODAY + timedelta(1), hard=True)
    wide = lost(free(small(1, hours=1), "s0", windows=(soon,)))
    assert (wide.short_by, wide.way_out) == (
        "1 week",
        "With the window of “Study 0” open until 10 March 2026, “Study 0” airs on 8 March 2026",
    )
    dark = DarkRange("d", SUNDAYS[0], SUNDAYS[9], no_work=False, no_publication=True)
    closed = small(1, hours=1).put("dark", dark).put("rules", replace(small().rule("sunday"), last=SUNDAYS[7]))
    assert lost(closed).short_by == "1 slot"
    short = small(1, work=(0, 0, 0, 0, 0, 30, 0), hours=9)
    assert (lost(short).short_by, lost(short).short_minutes, lost(short).reason) == (
        "5 h",
        300,
        "the hours cannot hold it",
    )


def test_hours_missing_count_what_usual_content_takes_before() -> None:
    """Without any work before 30 March: talks of 2 h for three Sundays, and an hour for the study of 29 March."""
    book = small(1, work=(0,) * 7, hours=1).put("rules", replace(small().rule("sunday"), standing_minutes=120))
    late = MoreHours(20 * 60, date(2026, 3, 30), date(2026, 3, 30))
    (study,) = planned(carried_out(book, late)).studies
    assert study.earlier
    assert (study.slot.day, study.earlier.short_minutes) == (SUNDAYS[4], 3 * 120 + 60)


def test_hours_missing_are_the_least_with_the_others_moved_out_of_the_way() -> None:
    """By 14 March 22 h, by 21 March 34 h: a study of 25 h and a minute for 15 March lacks as much as that is more.

    The study of 6 h for 8 March, where it should be, then comes after it.
    """
    book = free(
        small(2, gaps=(1, 2, 5)), "s0", stages=StageMinutes(edit=360), windows=(Window(SUNDAYS[0], SUNDAYS[0]),)
    )
    first, second = planned(free(book, "s1", stages=StageMinutes(edit=1501))).studies
    assert (first.slot.day, second.slot.day) == (SUNDAYS[0], SUNDAYS[2])
    assert second.earlier and second.earlier.short_minutes == 1501 - 22 * 60


def test_hours_of_today_count_for_what_must_be_ready_today() -> None:
    """On Saturday 7 March there are 4 h, for the slot of the day after."""
    (study,) = make_plan(small(1, hours=3), date(2026, 3, 7), horizon_weeks=4).studies
    assert (study.slot.day, study.minutes_needed, study.minutes_available) == (SUNDAYS[0], 180, 240)


def test_a_minute_that_is_missing_is_told() -> None:
    """10 h until 7 March, and a study of a minute more."""
    (study,) = planned(free(small(1), "s0", stages=StageMinutes(edit=601))).studies
    assert study.earlier
    assert (study.slot.day, study.earlier.short_minutes) == (SUNDAYS[1], 1)
