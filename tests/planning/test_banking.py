"""What must be done before days without work, held to the rule of hours by brute force."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time, timedelta
from itertools import accumulate

import pytest
from books import TODAY, demo, small
from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.episode import StageMinutes
from showrunner.domain.slot import DarkRange, SlotRef
from showrunner.planning.banking import ahead_of_trips
from showrunner.planning.loads import Load
from showrunner.planning.results import Lack, Trip
from showrunner.planning.shortfalls import Room
from showrunner.planning.workback import work_back
from showrunner.report import ahead_words

SUNDAYS = [date(2026, 3, 8) + timedelta(weeks=n) for n in range(12)]


def test_before_the_fortnight_in_july_its_diaries_and_features_must_be_in_the_bank() -> None:
    """Diaries of 3 h on 15 and 22 July, features of 4 h on 19 and 26 July; the diary of 29 July finds 2 of its 3 h."""
    (trip,) = work_back(demo(), TODAY).ahead
    assert (trip.first, trip.last, trip.minutes) == (date(2026, 7, 13), date(2026, 7, 26), 15 * 60)
    assert [(item.slot.day.day, item.minutes) for item in trip.items] == [
        (15, 180),
        (19, 240),
        (22, 180),
        (26, 240),
        (29, 60),
    ]
    assert ahead_words(trip) == (
        "15 h must be done before 13 July 2026, as there is no work 13 to 26 July 2026 (a fortnight away): "
        "making diary of 15, 22 and 29 July and long feature of 19 and 26 July; 59 h are free for it."
    )


def test_what_is_in_the_bank_is_not_asked_for() -> None:
    book, _ = edits.add_filler(demo(), "A talk", "sunday", date(2026, 7, 19), finished=True)
    (trip,) = work_back(book, TODAY).ahead
    assert trip.minutes == 11 * 60


def weekly(minutes: list[int], work: int, away: tuple[int, int], study: tuple[int, int]) -> Book:
    """Sundays of usual content that weighs as many minutes, a study in one of them, some days away."""
    book = small(1, work=(work,) * 7, gaps=(0, 1, 5))  # type: ignore[arg-type]
    rule = replace(book.rules[0], standing_minutes=minutes[0])
    book = book.put("rules", rule)
    for sunday, amount in zip(SUNDAYS[1:], minutes[1:], strict=False):
        rule = replace(book.rules[0], standing_minutes=amount)
        book = edits.change_rule_from(book, rule, sunday - timedelta(6))
    week, hours = study
    slot = SlotRef(SUNDAYS[week], "sunday")
    book = book.put("episodes", replace(book.episodes[0], slot=slot, stages=StageMinutes(edit=60 * hours)))
    first = TODAY + timedelta(away[0])
    return edits.put_dark(book, DarkRange("trip", first, first + timedelta(away[1] - 1), no_work=True))


@pytest.mark.slow
@settings(max_examples=60)
@given(
    minutes=st.lists(st.integers(0, 600), min_size=8, max_size=8),
    work=st.integers(0, 90),
    away=st.tuples(st.integers(1, 30), st.integers(3, 20)),
    study=st.tuples(st.integers(0, 7), st.integers(0, 12)),
)
def test_as_much_must_be_done_before_as_the_hours_from_then_on_cannot_hold(
    minutes: list[int], work: int, away: tuple[int, int], study: tuple[int, int]
) -> None:
    """By brute force: for each later day, what is due from the first day away through it, less the hours until it."""
    book = weekly(minutes, work, away, study)
    begin = TODAY + timedelta(away[0])
    end = begin + timedelta(away[1] - 1)
    due: dict[date, int] = {}
    for week, sunday in enumerate(SUNDAYS):
        amount = 60 * study[1] if week == study[0] else minutes[min(week, 7)]
        due[sunday - timedelta(1)] = amount
    most = 0
    for last in due:
        if last < begin:
            continue
        asked = sum(amount for day, amount in due.items() if begin <= day <= last)
        free = sum(0 if begin <= day <= end else work for day in days(begin, last))
        most = max(most, asked - free)
    # beyond the Sundays counted here the usual content goes on; it may be short by itself as well
    beyond = max(0, minutes[7] - 7 * work) * 80
    trip: Trip | None = next(iter(work_back(book, TODAY).ahead), None)
    asked = trip.minutes if trip else 0
    assert most <= asked
    if not beyond:
        assert asked == most
    if trip:
        assert all(item.minutes > 0 for item in trip.items)
        spoken = sum(amount for day, amount in due.items() if day < begin)
        assert trip.spare_minutes == max(0, sum(work for _ in days(TODAY, begin - timedelta(1))) - spoken)


def days(first: date, last: date) -> list[date]:
    return [first + timedelta(n) for n in range((last - first).days + 1)]


AWAY = st.lists(
    st.tuples(st.integers(-3, 200), st.integers(0, 5), st.booleans(), st.booleans()),
    max_size=6,
    unique_by=lambda a: a[0],
)


@settings(max_examples=60)
@given(away=AWAY, edge=st.sampled_from((None, 0, 1, 182, 183)), length=st.integers(2, 4))
def test_three_days_without_work_in_a_row_are_told_if_they_begin_within_half_a_year(
    away: list[tuple[int, int, bool, bool]], edge: int | None, length: int
) -> None:
    """Whatever ranges they are made of; a minute of work is due every day. What runs already is past help."""
    ranges = [(first, first + more, f"away {n}", work, out) for n, (first, more, work, out) in enumerate(away)]
    if edge is not None:
        ranges.append((edge, edge + length - 1, "edge", True, False))
    dark = tuple(
        DarkRange(
            f"d{n}",
            TODAY + timedelta(first),
            TODAY + timedelta(last),
            no_work=work,
            no_publication=out or not work,
            reason=reason,
        )
        for n, (first, last, reason, work, out) in enumerate(ranges)
    )
    off = {day for first, last, _, work, _ in ranges if work for day in range(first, last + 1)}
    wanted = []
    for first in range(1, 183):
        last = next(day for day in range(first, 999) if day not in off) - 1
        if first - 1 not in off and last - first >= 2:
            why = next(reason for begin, end, reason, work, _ in ranges if work and begin <= first <= end)
            wanted.append((first, last, why))
    room = Room(replace(small(0), dark=dark), TODAY, (), (0,) * 250)
    loads = [Load("talk", SlotRef(TODAY + timedelta(day + 1), "sunday"), day, ((None, 1),)) for day in range(230)]
    told = [((trip.first - TODAY).days, (trip.last - TODAY).days, trip.reason) for trip in ahead_of_trips(room, loads)]
    assert told == wanted


@settings(max_examples=80)
@given(
    hours=st.lists(st.integers(0, 3), min_size=9, max_size=9),
    due=st.lists(st.tuples(st.integers(0, 11), st.integers(0, 6)), max_size=7),
    begin=st.integers(1, 4),
)
def test_what_is_due_latest_takes_the_latest_hours(hours: list[int], due: list[tuple[int, int]], begin: int) -> None:
    """Of the last few that are due, as much is to be done before as on some day they exceed the hours until it.

    What is beyond the days looked at counts for the last of them.
    """
    hours[begin : begin + 3] = [0] * 3
    first = TODAY + timedelta(begin)
    dark = DarkRange("d", first, first + timedelta(2), no_work=True, no_publication=False)
    room = Room(replace(small(0), dark=(dark,)), TODAY, (), tuple(accumulate(hours)))
    loads = [
        Load(f"talk {n}", SlotRef(TODAY + timedelta(day + n % 2), f"r{n}"), day, ((None, minutes),))
        for n, (day, minutes) in enumerate(due)
    ]
    later = sorted((load for load in loads if load.ready >= begin), key=lambda load: (load.ready, load.slot))

    def most(few: list[Load]) -> int:
        ends = [
            sum(load.minutes for load in few if min(load.ready, 8) <= day) - sum(hours[begin : day + 1])
            for day in range(begin, 9)
        ]
        return max(0, *ends)

    wanted = [
        (load.title, load.slot, most(later[at:]) - most(later[at + 1 :]))
        for at, load in enumerate(later)
        if most(later[at:]) > most(later[at + 1 :])
    ]
    found = ahead_of_trips(room, loads)
    assert [(item.title, item.slot, item.minutes) for trip in found for item in trip.items] == wanted
    for trip in found:
        spare = sum(hours[:begin]) - sum(load.minutes for load in loads if load.ready < begin)
        assert (trip.minutes, trip.spare_minutes) == (most(later), max(0, spare))


def test_usual_content_made_late_by_a_study_is_told_once_with_the_hours() -> None:
    """10 h until 7 March, all for the study; 12 h more until 14 March, for a talk of 13 h: it is an hour short."""
    book = small(1, gaps=(1, 1, 3))
    book = book.put("rules", replace(book.rules[0], standing_minutes=13 * 60))
    study = replace(book.episodes[0], stages=StageMinutes(edit=600), slot=SlotRef(SUNDAYS[0], "sunday"))
    book = edits.change_rule_from(
        book.put("episodes", study), replace(book.rules[0], standing_minutes=0), SUNDAYS[2] - timedelta(6)
    )
    (short,) = work_back(book, TODAY).shortfalls
    assert (short.lack, short.slot.day, short.minutes, short.episode) == (Lack.CROWDED, SUNDAYS[1], 60, "")
    assert short.text == (
        "feature of 15 March 2026 is 1 h short because of the studies: 23 h are needed by 14 March 2026, "
        "22 h are there; plan again, or find the hours."
    )
    fits = book.put("episodes", replace(study, stages=StageMinutes(edit=540)))
    assert work_back(fits, TODAY).shortfalls == ()


def test_what_follows_for_the_same_hours_is_not_told_again() -> None:
    """An hour is missing on 14 March and still on 21 March, where a talk of all 12 h of its week is due."""
    book = small(1, gaps=(1, 1, 3))
    book = book.put("rules", replace(book.rules[0], standing_minutes=13 * 60))
    study = replace(book.episodes[0], stages=StageMinutes(edit=600), slot=SlotRef(SUNDAYS[0], "sunday"))
    book = book.put("episodes", study)
    for week, minutes in ((2, 12 * 60), (3, 12 * 60 + 30), (4, 0)):
        rule = replace(book.rules[0], standing_minutes=minutes)
        book = edits.change_rule_from(book, rule, SUNDAYS[week] - timedelta(6))
    found = [(item.slot.day, item.minutes) for item in work_back(book, TODAY).shortfalls]
    assert found == [(SUNDAYS[1], 60), (SUNDAYS[3], 90)]


def crowded(edit: int, talk: int) -> list[tuple[Lack, int, int]]:
    """What is short from Saturday 7 March on, with 4 h then and 12 h a week: a study for Sunday, a talk a week on."""
    book = small(1, gaps=(1, 1, 3))
    book = book.put("rules", replace(book.rules[0], standing_minutes=talk))
    study = replace(book.episodes[0], stages=StageMinutes(edit=edit), slot=SlotRef(SUNDAYS[0], "sunday"))
    book = edits.change_rule_from(
        book.put("episodes", study), replace(book.rules[0], standing_minutes=0), SUNDAYS[2] - timedelta(6)
    )
    found = work_back(book, date(2026, 3, 7)).shortfalls
    return [(item.lack, item.slot.day.day, item.minutes) for item in found]


def test_a_study_that_must_be_ready_today_crowds_what_follows_and_its_own_lack_is_told_once() -> None:
    assert crowded(240, 12 * 60) == []
    assert crowded(240, 12 * 60 + 30) == [(Lack.CROWDED, 15, 30)]
    assert crowded(300, 12 * 60) == [(Lack.HOURS, 8, 60)]  # the hour is missing still a week later
    assert crowded(300, 12 * 60 + 30) == [(Lack.HOURS, 8, 60), (Lack.CROWDED, 15, 90)]


def test_of_two_talks_on_a_day_the_later_is_the_one_that_is_crowded() -> None:
    book = small(1, gaps=(1, 1, 3))
    rule = replace(book.rules[0], standing_minutes=7 * 60)
    book = replace(book, rules=(rule, replace(rule, id="evening", name="recital", at=time(19))))
    study = replace(book.episodes[0], stages=StageMinutes(edit=9 * 60), slot=SlotRef(SUNDAYS[0], "sunday"))
    book = book.put("episodes", study)
    for rule in book.rules:
        book = edits.change_rule_from(book, replace(rule, standing_minutes=0), SUNDAYS[2] - timedelta(6))
    book = edits.leave_out(book, SlotRef(SUNDAYS[0], "evening"))
    (short,) = work_back(book, TODAY).shortfalls
    assert (short.lack, short.title, short.slot, short.minutes) == (
        Lack.CROWDED,
        "recital",
        SlotRef(SUNDAYS[1], "evening"),
        (9 + 7 + 7 - 22) * 60,
    )
