"""The checks of an answer themselves: right answers to books worked out on paper pass, wrong ones do not."""

from __future__ import annotations

from typing import Any

import pytest

from life.answers import Answer, keeps_all, of_clashes, of_neighbours, of_the_plan, of_ways_out, verdict
from life.judge import Verdict
from life.random_books import Question
from life.test_judge import book, pin

SCARCE = {"zone": "UTC", "work_minutes": [60, 60, 60, 0, 0, 0, 0], "lead_days": 1}
USUAL = [{"id": "sun", "name": "S", "weekday": 6, "at": "12:00", "zone": "UTC", "standing_minutes": 30}]
LONG = {"id": "a", "stages": {"edit": 331}}
"""By 14 March there are 360 minutes, the usual content of the 8th takes 30: one minute short on the 15th."""


def ask(made: dict[str, Any], weeks: int) -> tuple[Question, Verdict]:
    """A question about a book, and the judged plan."""
    question = Question(0, made, weeks, None, False)
    base = verdict(question)
    assert base is not None
    return question, base


def wrong_ways(made: dict[str, Any], weeks: int, study: str, airs: str, *changes: dict[str, Any]) -> list[str]:
    """Complaints about one way out for one study."""
    question, base = ask(made, weeks)
    assert study in base.unplaced
    way = {"text": "", "airs": airs, "changes": list(changes)}
    return of_ways_out(question, {"unplaced": [{"id": study, "ways_out": [way]}]}, base)


@pytest.mark.parametrize(
    ("minutes", "by", "airs", "right"),
    [
        (30, "2026-03-14", "2026-03-15", True),
        (60, "2026-03-14", "2026-03-15", False),  # half an hour less would do
        (30, "2026-03-13", "2026-03-15", False),  # a day later would do
        (30, "2026-03-15", "2026-03-15", False),  # too late
        (30, "2026-03-14", "2026-03-08", False),  # it airs on another day
    ],
)
def test_hours(minutes: int, by: str, airs: str, right: bool) -> None:
    made = book(LONG, house=SCARCE, rules=USUAL)
    change = {"kind": "hours", "minutes": minutes, "by": by}
    assert (wrong_ways(made, 2, "a", airs, change) == []) is right


def test_hours_that_are_said_to_be_short_are_those_of_the_way_out() -> None:
    question, base = ask(book(LONG, house=SCARCE, rules=USUAL), 2)
    change = {"kind": "hours", "minutes": 30, "by": "2026-03-14"}
    for hours, right in ((0.5, True), (1, False), (None, False)):
        ways = [{"text": "", "airs": "2026-03-15", "changes": [change]}]
        plan = {"unplaced": [{"id": "a", "ways_out": ways, "short_hours": hours}]}
        assert (of_ways_out(question, plan, base) == []) is right


def test_looking_further_ahead() -> None:
    # By 21 March there are 540 minutes and 60 of usual content: the study fits in the third week.
    made = book(LONG, house=SCARCE, rules=USUAL)
    assert wrong_ways(made, 2, "a", "2026-03-22", {"kind": "horizon", "weeks": 3}) == []
    assert wrong_ways(made, 2, "a", "2026-03-22", {"kind": "horizon", "weeks": 4}) != []


def test_a_smaller_gap() -> None:
    # Three weeks at least, but only the 8th and the 15th: one week lets both air.
    made = book({"id": "a"}, {"id": "b"})
    made["series"][0]["min_weeks"] = 3
    for weeks, right in ((1, True), (2, False), (0, False)):
        change = {"kind": "gap", "series": "s", "weeks": weeks}
        assert (wrong_ways(made, 2, "b", "2026-03-15", change) == []) is right


def test_a_wider_window() -> None:
    # 9 to 14 March has no Sunday in it; from the 8th on, or to the 15th, it has one. From the 1st is a week too much.
    made = book({"id": "a", "windows": [{"first": "2026-03-09", "last": "2026-03-14", "hard": True}]})
    for first, last, airs, right in (
        ("2026-03-08", "2026-03-14", "2026-03-08", True),
        ("2026-03-09", "2026-03-15", "2026-03-15", True),
        ("2026-03-01", "2026-03-14", "2026-03-08", False),
    ):
        change = {"kind": "window", "episode": "a", "window": 0, "first": first, "last": last}
        assert (wrong_ways(made, 2, "a", airs, change) == []) is right


def test_an_order_unpinned_a_slot_allowed_and_a_range_opened() -> None:
    late = [{"first": "2026-06-01", "last": "2026-06-30", "hard": True}]
    made = book({"id": "a", "windows": late}, {"id": "b"}, pins=[pin("x", "a", "b")])
    assert wrong_ways(made, 2, "b", "2026-03-08", {"kind": "unpin", "pin": "x"}) == []
    wed = {"id": "wed", "name": "W", "weekday": 2, "at": "12:00", "zone": "UTC"}
    dark = {"id": "d", "first": "2026-03-08", "last": "2026-03-15", "no_work": False, "no_publication": True}
    made = book({"id": "a"}, rules=[*book()["rules"], wed], dark=[dark])
    allowed, opened = {"kind": "rule", "series": "s", "rule": "wed"}, {"kind": "dark", "id": "d"}
    assert wrong_ways(made, 2, "a", "2026-03-04", allowed) == []
    assert wrong_ways(made, 2, "a", "2026-03-08", opened) == []
    assert wrong_ways(made, 2, "a", "2026-03-04", allowed, opened) != []  # one of the two would do


def test_one_slot_earlier_and_later() -> None:
    # a on 8 March, b on the 22nd, the last of three Sundays: either on the 15th is one week apart, which costs 1.
    question, base = ask(book({"id": "a"}, {"id": "b"}), 3)
    b = {"id": "b", "series": "s", "slot": "2026-03-22", "slot_rule": "sun"}
    for earlier, right in (
        ({"slot": "2026-03-15", "possible": True, "points": 1}, True),
        ({"slot": "2026-03-15", "possible": True, "points": 0}, False),
        ({"slot": "2026-03-15", "possible": False, "points": None}, False),
    ):
        assert (of_neighbours(question, {"studies": [b | {"one_slot_earlier": earlier}]}, base) == []) is right
    a = {"id": "a", "series": "s", "slot": "2026-03-08", "slot_rule": "sun"}
    later = {"slot": "2026-03-15", "possible": True, "points": 1}
    assert of_neighbours(question, {"studies": [a | {"one_slot_later": later}]}, base) == []
    # With a fourth Sunday a moves on to the 29th, after b, and that costs nothing.
    question, base = ask(book({"id": "a"}, {"id": "b"}), 4)
    free = {"slot": "2026-03-15", "possible": True, "points": 0}
    assert of_neighbours(question, {"studies": [b | {"one_slot_earlier": free}]}, base) == []


def test_hours_short_for_one_slot_earlier() -> None:
    question, base = ask(book(LONG, house=SCARCE, rules=USUAL), 3)
    a = {"id": "a", "series": "s", "slot": "2026-03-22", "slot_rule": "sun"}
    for hours, right in ((1 / 60, True), (0.5, False)):
        earlier = {"slot": "2026-03-15", "possible": False, "points": None, "short_hours": hours}
        assert (of_neighbours(question, {"studies": [a | {"one_slot_earlier": earlier}]}, base) == []) is right


def members(*kinds: str) -> list[dict[str, str]]:
    """Members of a clash, each written as `kind id`."""
    return [dict(zip(("kind", "id"), (*each.split(" ", 1), ""), strict=False)) for each in kinds]


def test_members_of_a_clash() -> None:
    april, march = ({"first": f"2026-0{m}-01", "last": f"2026-0{m}-28", "hard": True} for m in (4, 3))
    filler = {"id": "f", "kind": "filler", "rule": "sun", "slot": {"day": "2026-03-08", "rule": "sun"}, "pieces": []}
    dark = {"id": "d", "first": "2026-03-08", "last": "2026-03-08", "no_work": False, "no_publication": True}
    date_of_a, order = pin("x", "a", on="2026-03-08"), pin("y", "b", "a")
    pair = {"id": "z", "kind": "pair", "pieces": ["p0", "p1"]}
    third = [date_of_a, pin("y", "b", on="2026-03-15")]
    slow = book({"id": "a", "stages": {"edit": 200}}, house=SCARCE, pins=[date_of_a])
    first = [rule | {"first": "2026-03-10"} for rule in book()["rules"]]
    apart = book({"id": "a", "windows": [march]}, {"id": "b", "windows": [april]}, pins=[order])
    three = book({"id": "a"}, {"id": "b"}, pins=third)
    three["series"][0]["min_weeks"] = 3
    for made, *kinds in (
        (book({"id": "a"}, {"id": "b"}, pins=[date_of_a, order]), "date x", "order y", "today"),
        (apart, "order y", "window a", "window b"),
        (book({"id": "a"}, filler, pins=[date_of_a]), "date x", "held 2026-03-08 sun"),
        (book({"id": "a"}, dark=[dark], pins=[date_of_a]), "date x", "dark d"),
        (book({"id": "a"}, rules=first, pins=[date_of_a]), "date x", "slot sun"),
        (slow, "date x", "hours", "today"),
        (three, "date x", "date y", "gap s"),
        (book({"id": "a"}, {"id": "b"}, pins=[pair]), "pair z"),
        (book({"id": "a"}, pins=[pin("x", "a", on="2026-06-07")]), "date x", "horizon"),
        (book({"id": "a"}, pins=[pin("x", "a", on="2026-02-22")]), "date x", "today"),
    ):
        question, _ = ask(made, 4)
        named = members(*kinds)
        assert of_clashes(question, {"clashes": [{"members": named}]}) == [], kinds
        for less in range(len(named)):
            assert keeps_all(question, [(m["kind"], m["id"]) for n, m in enumerate(named) if n != less])
        assert of_clashes(question, {"clashes": [{"members": named[1:]}]}) != []
        assert of_clashes(question, {"clashes": [{"members": [*named, {"kind": "gap", "id": "other"}]}]}) != []


def test_a_wrong_plan_is_told() -> None:
    question, base = ask(book({"id": "a"}, {"id": "b"}), 4)
    studies = [{"id": id, "slot": day, "slot_rule": "sun"} for id, day in (("a", "2026-03-08"), ("b", "2026-03-22"))]
    plan = {"status": "optimal", "points": 0, "studies": studies, "unplaced": [], "clashes": []}
    assert of_the_plan(question, Answer("", 0, plan, ""), base) == []
    late = [studies[0], studies[1] | {"slot": "2026-03-29"}]
    for wrong in ({"points": 0.02}, {"status": "infeasible"}, {"studies": late}, {"promises": {"made": 1, "kept": 1}}):
        assert len(of_the_plan(question, Answer("", 0, plan | wrong, ""), base)) == 1
    assert of_the_plan(question, Answer("", 2, plan, ""), base) != []
    assert of_the_plan(question, Answer("", 70, None, "a fault"), base) != []
