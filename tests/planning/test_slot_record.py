"""The record of the slots: planned against actual, runs and gaps, the pace of a series, and what is empty ahead."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date, time, timedelta
from fractions import Fraction
from itertools import pairwise

import pytest

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.collection import Collection
from showrunner.domain.episode import Episode, EpisodeKind, Series
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.house import HouseRules
from showrunner.domain.publication import Publication
from showrunner.domain.slot import DarkRange, SlotRef, SlotRule
from showrunner.planning.slot_record import (
    AHEAD_WEEKS,
    LEAST_GAPS,
    ONE_SIDE,
    Gap,
    Outcome,
    Sign,
    limits,
    pace,
    slot_record,
)

SUNDAY = date(2026, 1, 4)
TODAY = date(2026, 3, 2)
MARCH = FuzzyDate("2026-03", date(2026, 3, 1), date(2026, 3, 31), "March 2026")


def sunday(week: int) -> date:
    return SUNDAY + timedelta(weeks=week)


def book(*lines: Publication, **more: object) -> Book:
    return Book(
        "0d2b6a0e-9a57-4c6e-8f0a-2f9a3a7f0c11",
        HouseRules(),
        collections=(Collection("keep", "Chest"),),
        rules=(SlotRule("sun", "feature", 6, time(9), "UTC"), SlotRule("wed", "diary", 2, time(9), "UTC")),
        series=(Series("hour", "The Hour", "keep", ("sun",)),),
        publications=lines,
        **more,  # type: ignore[arg-type]
    )


def line(n: int, planned: date | None, came: date | FuzzyDate | None, series: str = "") -> Publication:
    actual = FuzzyDate.exact(came) if isinstance(came, date) else came
    return Publication(f"r{n}", f"Film {n}", "sun", planned, actual, f"e{n}" if series else "", series)


def outcomes(found: Book, today: date = TODAY) -> list[Outcome]:
    return [slot.outcome for slot in slot_record(found, today).rules[0].slots]


# Planned against actual


def test_each_slot_has_its_outcome() -> None:
    found = slot_record(
        book(
            line(0, sunday(0), sunday(0)),
            line(1, sunday(1), sunday(2)),
            line(3, sunday(3), None),
            line(4, sunday(4), sunday(4) - timedelta(1)),
            line(5, None, sunday(5)),
            line(7, sunday(7), sunday(7) + timedelta(3)),
        ),
        TODAY,
    ).rules[0]
    assert [(slot.slot.day, slot.outcome, slot.late_days) for slot in found.slots] == [
        (sunday(0), Outcome.ON_TIME, None),
        (sunday(1), Outcome.LATE, 7),
        (sunday(2), Outcome.CAME, None),
        (sunday(3), Outcome.MISSED, None),
        (sunday(4), Outcome.ON_TIME, None),
        (sunday(5), Outcome.CAME, None),
        (sunday(6), Outcome.UNKNOWN, None),
        (sunday(7), Outcome.LATE, 3),
        (sunday(8), Outcome.UNKNOWN, None),
    ]
    assert [found.count(outcome) for outcome in Outcome] == [2, 2, 1, 2, 2]


def test_a_day_that_may_be_the_planned_one_is_not_late() -> None:
    first = date(2026, 3, 1)
    assert outcomes(book(line(0, first, MARCH)), first) == [Outcome.ON_TIME]
    assert outcomes(book(line(0, first - timedelta(7), MARCH)), first)[0] is Outcome.LATE
    late = slot_record(book(line(0, first - timedelta(7), MARCH)), first).rules[0].slots[0]
    assert late.late_days is None, "by how much is not known"


def test_a_slot_missed_by_one_and_kept_by_another_was_kept() -> None:
    assert outcomes(book(line(0, sunday(0), None), line(1, sunday(0), sunday(0))), sunday(0)) == [Outcome.ON_TIME]


def test_what_was_not_to_be_published_counts_nothing() -> None:
    dark = (DarkRange("d", sunday(1), sunday(2), False, True),)
    lines = (line(0, sunday(0), sunday(0)), line(2, sunday(2), sunday(2)), line(3, sunday(3), sunday(3)))
    found = slot_record(book(*lines, dark=dark), sunday(3)).rules[0]
    assert [slot.slot.day for slot in found.slots] == [sunday(0), sunday(2), sunday(3)]
    assert found.run.slots == 3


def test_the_slot_of_today_is_over_once_it_is_on_record() -> None:
    lines = (line(0, sunday(0), sunday(0)),)
    assert len(outcomes(book(*lines), sunday(1))) == 1
    assert outcomes(book(*lines, line(1, sunday(1), sunday(1))), sunday(1)) == [Outcome.ON_TIME] * 2


def test_a_slot_without_a_record_has_nothing_to_tell() -> None:
    found = slot_record(book(), TODAY)
    assert [rule.slots for rule in found.rules] == [(), ()]
    assert found.rules[0].run.slots == 0
    assert found.rules[0].gap is None
    assert found.paces == ()


def test_runs_and_gaps_are_those_of_counting_by_hand() -> None:
    """Random records against a count that knows nothing of the code."""
    rng = random.Random(5)
    for _ in range(60):
        kinds = [rng.choice("kkkm") for _ in range(rng.randint(1, 30))]
        lines = [line(n, sunday(n), sunday(n) if kind == "k" else None) for n, kind in enumerate(kinds)]
        found = slot_record(book(*lines), sunday(len(kinds) - 1)).rules[0]
        runs = "".join(kinds).split("m")
        assert found.longest.slots == max(map(len, runs))
        assert found.run.slots == len(runs[-1])
        if found.run.slots:
            assert (found.run.first, found.run.last) == (sunday(len(kinds) - len(runs[-1])), sunday(len(kinds) - 1))
        at = [n for n, kind in enumerate(kinds) if kind == "k"]
        most = max((b - a for a, b in pairwise(at)), default=None)
        assert (found.gap.days if found.gap else None) == (7 * most if most else None)


# The pace


def test_the_worked_example_of_the_e_handbook() -> None:
    """NIST/SEMATECH e-Handbook of Statistical Methods 6.3.2.2, individuals control charts: flow rate of ten batches."""
    rates = ["49.6", "47.6", "49.9", "51.3", "47.8", "51.2", "52.6", "52.4", "53.6", "52.1"]
    mean, low, high, most = limits([Fraction(rate) for rate in rates])
    assert float(mean) == pytest.approx(50.81, abs=1e-9)
    assert float(most / Fraction(3267, 1000)) == pytest.approx(1.8778, abs=5e-5)
    assert (float(low), float(high)) == (pytest.approx(45.8159, abs=5e-5), pytest.approx(55.8041, abs=5e-5))


def studies(*gaps: int) -> Book:
    """A series whose studies came these days apart."""
    days = [SUNDAY]
    for gap in gaps:
        days.append(days[-1] + timedelta(gap))
    return book(*(line(n, None, day, "hour") for n, day in enumerate(days)))


def signs(*gaps: int) -> list[tuple[Sign, int]]:
    return [(signal.sign, signal.at) for signal in pace(studies(*gaps), "hour").signals]


def test_even_gaps_say_nothing() -> None:
    found = pace(studies(*[42] * 9), "hour")
    assert (found.mean, found.low, found.high, found.signals) == (42, 42, 42, ())


def test_a_gap_beyond_the_usual_is_a_sign() -> None:
    usual = (28, 35, 28, 35, 28, 35, 28, 35)
    assert signs(*usual) == []
    assert (Sign.OUTSIDE, 8) in signs(*usual, 70)
    assert (Sign.JUMP, 8) in signs(*usual, 70)
    assert pace(studies(*usual, 70), "hour").changed_lately
    assert not pace(studies(*usual, 70, 28, 35), "hour").changed_lately
    assert (Sign.OUTSIDE, 8) in signs(*(gap + 40 for gap in usual), 7)


def test_eight_on_one_side_are_a_sign_and_seven_are_none() -> None:
    before = (28, 36) * 6
    longer = (37, 39) * 4
    assert (Sign.ONE_SIDE, len(before) + ONE_SIDE - 1) in signs(*before, *longer)
    assert not [sign for sign, at in signs(*before, *longer[: ONE_SIDE - 2]) if sign is Sign.ONE_SIDE and at > 12]


def test_too_few_gaps_tell_nothing() -> None:
    assert pace(studies(*[28] * (LEAST_GAPS - 1)), "hour").mean is None
    assert pace(studies(*[28] * LEAST_GAPS), "hour").mean == 28


def test_the_lower_limit_is_never_below_nothing() -> None:
    assert pace(studies(7, 70, 7, 70, 7, 70, 7), "hour").low == 0


def test_no_gap_reaches_over_a_study_whose_day_is_not_known() -> None:
    vague = line(9, None, FuzzyDate("2026-02", date(2026, 2, 1), date(2026, 2, 28), "February 2026"), "hour")
    found = pace(book(*(line(n, None, sunday(5 * n), "hour") for n in range(4)), vague), "hour")
    assert found.gaps == (Gap(35, sunday(10), sunday(15)),), "before 15 March the one of February may lie between"
    assert found.vague == 1


# What is ahead


def filler(id: str, rule: str = "wed", **more: object) -> Episode:
    return Episode(id, f"Idea {id}", EpisodeKind.FILLER, rule=rule, **more)  # type: ignore[arg-type]


def test_empty_slots_are_those_in_which_nothing_with_a_name_stands() -> None:
    named = filler("n", slot=SlotRef(date(2026, 3, 4), "wed"))
    study = Episode("s", "Apron", series="hour", slot=SlotRef(date(2026, 3, 8), "sun"))
    dark = DarkRange("d", date(2026, 3, 15), date(2026, 3, 15), False, True)
    found = slot_record(book(episodes=(named, study), dark=(dark,)), TODAY).empty
    days = [TODAY + timedelta(n) for n in range(7 * AHEAD_WEEKS + 1)]
    expected = [day for day in days if day.weekday() in (2, 6)]
    for day in (date(2026, 3, 4), date(2026, 3, 8), date(2026, 3, 15)):
        expected.remove(day)
    assert [one.slot.day for one in found] == expected
    assert all(one.offer is None for one in found)


def test_what_is_finished_is_offered_first_and_each_idea_once() -> None:
    pool = (filler("a"), filler("b", finished=True), filler("c", "sun"), filler("d", ""))
    found = slot_record(book(episodes=pool), TODAY)
    assert found.pool == pool
    offers = [(one.slot.rule, one.offer.id) for one in found.empty if one.offer]
    assert offers == [("wed", "b"), ("sun", "c"), ("wed", "a"), ("sun", "d")]


def test_an_idea_from_a_study_is_offered_after_it_and_the_latest_study_first() -> None:
    study = Episode("s", "Apron", series="hour", slot=SlotRef(date(2026, 3, 22), "sun"))
    later = Episode("t", "Jacket", series="hour", slot=SlotRef(date(2026, 4, 5), "sun"))
    pool = (filler("x"), filler("s1", idea_of="s"), filler("t1", idea_of="t"), filler("s2", idea_of="s"))
    found = slot_record(book(episodes=(study, later, *pool)), TODAY)
    offers = {one.slot.day: one.offer.id for one in found.empty if one.offer}
    assert offers == {
        date(2026, 3, 4): "x",
        date(2026, 3, 25): "s1",
        date(2026, 4, 1): "s2",
        date(2026, 4, 8): "t1",
    }


def test_an_idea_of_a_published_study_knows_when_that_was() -> None:
    out = replace(Episode("e1", "Apron", series="hour"), published=True, finished=True)
    lines = (line(1, sunday(3), sunday(3), "hour"),)
    found = slot_record(book(*lines, episodes=(filler("y"), out, filler("x", idea_of="e1"))), TODAY)
    assert [one.offer.id for one in found.empty if one.offer] == ["x", "y"]


def test_an_idea_forgets_a_study_that_is_removed() -> None:
    with_study = book(episodes=(Episode("s", "Apron", series="hour"),))
    with_idea, idea = edits.add_filler(with_study, "Make one now", "wed", idea_of="s")
    assert idea.idea_of == "s"
    assert edits.remove_study(with_idea, "s").episode(idea.id).idea_of == ""
