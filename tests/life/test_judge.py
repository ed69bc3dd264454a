"""The judge itself: books worked out on paper, and every placement tried one by one.

All books are about today, Monday 2 March 2026. Unless said otherwise one rule, `sun`, has a slot every Sunday at noon
UTC without any usual content (8, 15, 22, 29 March, ...), the lead is one day, and there is more than enough time.
"""

from __future__ import annotations

from datetime import date, datetime
from itertools import product
from math import prod
from typing import Any

import pytest

from life.judge import Table, Verdict, instants, judge
from life.random_books import TODAY, question, shell


def book(*studies: dict[str, Any], **parts: Any) -> dict[str, Any]:
    """A book with one rule and one series (least gap 1 week, wished 2), and a piece for each study."""
    made = shell() | {
        "house": {"zone": "UTC", "work_minutes": [600] * 7, "lead_days": 1},
        "collections": [{"id": "c", "name": "Collection"}],
        "rules": [{"id": "sun", "name": "Sunday", "weekday": 6, "at": "12:00", "zone": "UTC"}],
        "series": [
            {"id": "s", "name": "S", "collection": "c", "rules": ["sun"], "min_weeks": 1, "target_weeks": 2}
            | {"stages": {"edit": 60}}
        ],
        "pieces": [
            {"id": f"p{n}", "name": f"P{n}", "collection": "c"}
            for n, study in enumerate(studies)
            if study.get("kind") != "filler"
        ],
        "episodes": [{"title": "Study", "series": "s", "pieces": [f"p{n}"]} | s for n, s in enumerate(studies)],
    }
    return made | parts


def plan(made: dict[str, Any], weeks: int = 4, **how: Any) -> Verdict:
    """The judged plan of a book that has one."""
    found = judge(made, TODAY, weeks, **how)
    assert found is not None
    return found


def days(verdict: Verdict) -> dict[str, str]:
    """Day and month of every placed study."""
    return {id: f"{day:%d.%m}" for id, (day, _) in verdict.slots.items()}


def pin(id: str, *episodes: str, on: str = "", rule: str = "sun") -> dict[str, Any]:
    """An order of two studies, or the date of one."""
    if on:
        return {"id": id, "kind": "date", "episodes": list(episodes), "slot": {"day": on, "rule": rule}}
    return {"id": id, "kind": "order", "episodes": list(episodes)}


def test_two_weeks_apart_as_wished_and_as_early_as_can_be() -> None:
    # The gap of 2 weeks costs nothing, so 8 and 22 March, not 8 and 15 (one week off: 49 days squared).
    found = plan(book({"id": "a"}, {"id": "b"}))
    assert days(found) == {"a": "08.03", "b": "22.03"}
    assert (found.status, found.unevenness, found.broken) == ("optimal", 0, 0)


def test_as_many_as_possible_comes_before_even_gaps() -> None:
    # Three in the three Sundays of 3 weeks: both gaps are a week short, 2 x 7 x 7.
    found = plan(book({"id": "a"}, {"id": "b"}, {"id": "c"}), weeks=3)
    assert days(found) == {"a": "08.03", "b": "15.03", "c": "22.03"}
    assert found.unevenness == 98


def test_the_first_gap_counts_from_the_last_that_was_published() -> None:
    # Out on 22 February: the gap is 14 days on 8 March. Out on 1 March: 14 days on 15 March.
    for out, first in (("2026-02-22", "08.03"), ("2026-03-01", "15.03")):
        line = {"id": "l", "title": "Out", "rule": "sun", "planned": out, "series": "s"}
        made = book({"id": "a"}, publications=[line | {"actual": {"earliest": out}}])
        assert days(plan(made)) == {"a": first}


def test_a_soft_window_weighs_as_much_as_a_gap() -> None:
    # a should air from 16 to 20 March: the 15th is 1 day outside, the 22nd 2 days. b follows it without cost.
    window = {"first": "2026-03-16", "last": "2026-03-20"}
    found = plan(book({"id": "a", "windows": [window]}), weeks=4)
    assert (days(found), found.unevenness) == ({"a": "15.03"}, 1)
    # With b before it on the 8th (gap 7, so 49) a on the 15th costs 50; a on the 22nd 4 alone, with b on the 8th.
    both = plan(book({"id": "a", "windows": [window]}, {"id": "b"}), weeks=3)
    assert (days(both), both.unevenness) == ({"b": "08.03", "a": "22.03"}, 4)


def test_a_yearly_window_comes_back() -> None:
    # 14 to 16 March of 2024, every year, and hard: only Sunday 15 March 2026 lies inside.
    window = {"first": "2024-03-14", "last": "2024-03-16", "hard": True, "yearly": True}
    assert days(plan(book({"id": "a", "windows": [window]}))) == {"a": "15.03"}
    assert plan(book({"id": "a", "windows": [window | {"yearly": False}]})).unplaced == ("a",)


def test_a_study_waits_for_its_hours() -> None:
    # Monday to Wednesday 60 min: by Saturday 7 March 180 min, by the 14th 360. The study takes 200 - and the slot of
    # the 8th costs 30 without it, by the 14th 230 together.
    house = {"zone": "UTC", "work_minutes": [60, 60, 60, 0, 0, 0, 0], "lead_days": 1}
    rules = [{"id": "sun", "name": "S", "weekday": 6, "at": "12:00", "zone": "UTC", "standing_minutes": 30}]
    study = {"id": "a", "stages": {"edit": 200}}
    assert days(plan(book(study, house=house, rules=rules))) == {"a": "15.03"}
    # 330 min more on one day: 30 + 330 = 360 by the 14th, still; one minute more does not fit any more.
    assert days(plan(book(study | {"stages": {"edit": 330}}, house=house, rules=rules))) == {"a": "15.03"}
    assert days(plan(book(study | {"stages": {"edit": 331}}, house=house, rules=rules))) == {"a": "22.03"}
    # With 20 minutes more on the 7th it fits by then; on the 8th they come a day late. Banked, it needs nothing.
    extra = house | {"extra_work": [{"day": "2026-03-07", "minutes": 20}]}
    assert days(plan(book(study, house=extra, rules=rules))) == {"a": "08.03"}
    extra = house | {"extra_work": [{"day": "2026-03-08", "minutes": 20}]}
    assert days(plan(book(study, house=extra, rules=rules))) == {"a": "15.03"}
    assert days(plan(book(study | {"finished": True}, house=house, rules=rules))) == {"a": "08.03"}


def test_standing_content_that_cannot_fit_is_cut_and_no_study_is_blamed() -> None:
    # 60 min on Mondays, the usual content takes 100: cut to 60 each week, so nothing is left for a study of 61 min
    # in place of it, but one of 60 fits in any week.
    house = {"zone": "UTC", "work_minutes": [60, 0, 0, 0, 0, 0, 0], "lead_days": 1}
    rules = [{"id": "sun", "name": "S", "weekday": 6, "at": "12:00", "zone": "UTC", "standing_minutes": 100}]
    assert [slot.standing for slot in Table(book(house=house, rules=rules), TODAY, 4).slots] == [60, 60, 60, 60]
    for minutes, placed in ((60, {"a": "08.03"}), (61, {})):
        made = book({"id": "a", "stages": {"edit": minutes}}, house=house, rules=rules)
        assert days(plan(made)) == placed


def test_work_that_should_be_ready_before_today_is_impossible_unless_nothing_is_left() -> None:
    # A slot on Tuesday 3 March, two days of lead: ready by 1 March.
    rules = [{"id": "sun", "name": "T", "weekday": 1, "at": "12:00", "zone": "UTC"}]
    house = {"zone": "UTC", "work_minutes": [600] * 7, "lead_days": 2}
    assert days(plan(book({"id": "a"}, rules=rules, house=house))) == {"a": "10.03"}
    assert days(plan(book({"id": "a", "done": ["edit"]}, rules=rules, house=house))) == {"a": "03.03"}


def test_filler_and_published_lines_hold_their_slots_and_dark_ranges_close_them() -> None:
    filler = {"id": "f", "kind": "filler", "rule": "sun", "slot": {"day": "2026-03-08", "rule": "sun"}, "pieces": []}
    line = {"id": "l", "title": "Out early", "rule": "sun", "planned": "2026-03-15"}
    made = book({"id": "a"}, filler, publications=[line | {"actual": {"earliest": "2026-03-01"}}])
    assert days(plan(made)) == {"a": "22.03"}
    dark = {"id": "d", "first": "2026-03-16", "last": "2026-03-22", "no_work": False, "no_publication": True}
    assert days(plan(made | {"dark": [dark]})) == {"a": "29.03"}
    assert days(plan(made | {"dark": [dark | {"no_publication": False}]})) == {"a": "22.03"}


def test_a_date_is_kept_at_any_cost_but_gives_way_to_a_hard_rule() -> None:
    # b on the 8th: a follows on the 22nd. On a slot that a dark range closes b's date is broken, and only that.
    made = book({"id": "a"}, {"id": "b"}, pins=[pin("x", "b", on="2026-03-08")])
    assert days(plan(made)) == {"b": "08.03", "a": "22.03"}
    dark = {"id": "d", "first": "2026-03-08", "last": "2026-03-08", "no_work": False, "no_publication": True}
    found = plan(made | {"dark": [dark]})
    assert (found.status, found.made, found.broken) == ("infeasible", 1, 1)
    assert days(found) == {"a": "15.03", "b": "29.03"}


def test_more_promises_come_before_more_studies() -> None:
    # a before b, b promised the 8th: keeping b's date needs a on an earlier Sunday, and there is none. So one of the
    # two is broken; b on the 8th and a after it breaks the order; a first and b later the date. Both place two with a
    # gap of 14 days from the 8th on; book order decides: a stands first. Dropping b breaks its date as well.
    made = book({"id": "a"}, {"id": "b"}, pins=[pin("x", "b", on="2026-03-08"), pin("y", "a", "b")])
    found = plan(made)
    assert (found.status, found.broken, days(found)) == ("infeasible", 1, {"a": "08.03", "b": "22.03"})
    # a cannot air before 22 March and b is wanted after it, within 3 weeks: b is left out rather than the order broken.
    late = [{"first": "2026-03-22", "last": "2026-12-31", "hard": True}]
    found = plan(book({"id": "a", "windows": late}, {"id": "b"}, pins=[pin("y", "a", "b")]), weeks=3)
    assert (found.status, found.broken, days(found), found.unplaced) == ("optimal", 0, {"a": "22.03"}, ("b",))


def test_orders_that_no_calendar_keeps_are_given_up_one_at_a_time() -> None:
    # A circle of three: one order goes, and the plan with the best book order is a, b, c: the one back is given up.
    circle = [pin("x", "a", "b"), pin("y", "b", "c"), pin("z", "c", "a")]
    found = plan(book({"id": "a"}, {"id": "b"}, {"id": "c"}, pins=circle), weeks=5)
    assert found.clash == (("x", "y", "z"),)
    assert (found.status, found.made, found.broken) == ("infeasible", 3, 1)
    assert days(found) == {"a": "08.03", "b": "22.03", "c": "05.04"}
    # Two hard windows the wrong way round: no year helps.
    a = {"id": "a", "windows": [{"first": "2026-04-01", "last": "2026-04-30", "hard": True}]}
    b = {"id": "b", "windows": [{"first": "2026-03-01", "last": "2026-03-31", "hard": True}]}
    found = plan(book(a, b, pins=[pin("x", "a", "b")]), weeks=5)
    assert (found.clash, found.broken, days(found)) == ((("x",),), 1, {"b": "22.03", "a": "05.04"})
    # Coming back every year they can be kept: a in April 2026, b in March 2027.
    again = {"id": "b", "windows": [{"first": "2026-03-01", "last": "2026-03-31", "hard": True, "yearly": True}]}
    assert plan(book(a, again, pins=[pin("x", "a", "b")]), weeks=5).status == "optimal"


def test_the_first_day_of_a_slot_can_forbid_an_order() -> None:
    # a's only slot begins on 1 April; b must air in March.
    rules = book()["rules"] + [{"id": "wed", "name": "W", "weekday": 2, "at": "12:00", "zone": "UTC"}]
    rules[1]["first"] = "2026-04-01"
    series = [book()["series"][0], book()["series"][0] | {"id": "t", "rules": ["wed"]}]
    b = {"id": "b", "windows": [{"first": "2026-03-01", "last": "2026-03-31", "hard": True}]}
    made = book({"id": "a", "series": "t"}, b, rules=rules, series=series, pins=[pin("x", "a", "b")])
    found = plan(made, weeks=5)
    assert (found.status, found.clash, days(found)) == ("infeasible", (("x",),), {"b": "08.03", "a": "01.04"})


def test_an_order_whose_second_study_is_out_already_is_broken_and_one_whose_first_is_out_is_kept() -> None:
    made = book({"id": "a"}, {"id": "b", "published": True})
    for order, kept in ((("a", "b"), 0), (("b", "a"), 1)):
        found = plan(made | {"pins": [pin("x", *order)]})
        assert (found.status, found.broken) == (("optimal", 0) if kept else ("infeasible", 1))


def test_pairs() -> None:
    pair = {"id": "x", "kind": "pair", "pieces": ["p1", "p0"]}
    lone = [{"id": f"p{n}", "name": f"P{n}", "collection": "c"} for n in range(2)]
    found = plan(book(pieces=lone, pins=[pair]))  # both in no study: one study
    assert (found.status, days(found)) == ("optimal", {"piece:p0": "08.03"})
    assert set(days(plan(book(pieces=lone)))) == {"piece:p0", "piece:p1"}  # without the promise: two
    lone[0]["shown"] = {"known": "unsure"}
    assert set(days(plan(book(pieces=lone, pins=[pair])))) == {"piece:p0"}  # the other would be a study
    lone[1]["shown"] = {"known": "unsure"}
    assert days(plan(book(pieces=lone, pins=[pair]))) == {}  # neither would
    assert set(days(plan(book(pieces=lone, pins=[pair]), unsure="unshown"))) == {"piece:p0"}
    apart = plan(book({"id": "a"}, {"id": "b"}, pins=[pair]))  # in two studies: broken, whatever the plan
    assert (apart.status, apart.broken, len(apart.slots)) == ("infeasible", 1, 2)
    together = book({"id": "a", "pieces": ["p0", "p1"]}, pins=[pair])
    together["pieces"].append({"id": "p1", "name": "P1", "collection": "c"})
    assert plan(together).status == "optimal"


def test_doubt_decides_which_studies_there_are() -> None:
    made = book({"id": "a"}, {"id": "b"})
    made["pieces"][0]["shown"] = {"known": "unsure"}
    made["pieces"].append({"id": "p2", "name": "P2", "collection": "c", "shown": {"known": "unsure"}})
    made["pieces"].append({"id": "p3", "name": "P3", "collection": "c", "want": {"status": "arrived"}})
    for unsure, ids in ((None, {"a", "b"}), ("shown", {"b"}), ("unshown", {"a", "b", "piece:p2"})):
        assert set(days(plan(made, weeks=8, unsure=unsure))) == ids


def test_a_replan_moves_the_fewest_then_the_fewest_days() -> None:
    # Planned: a on the 1st (it slipped), b on the 15th. b stays; a takes the 8th (7 days), for its gap to b is 1 week.
    slot = [{"day": day, "rule": "sun"} for day in ("2026-03-01", "2026-03-15")]
    made = book({"id": "a", "slot": slot[0]}, {"id": "b", "slot": slot[1]})
    found = plan(made, replan=True)
    assert (days(found), found.moved, found.unevenness) == ({"a": "08.03", "b": "15.03"}, (1, 7), 49)
    assert days(plan(made)) == {"a": "08.03", "b": "22.03"}  # best dates


def test_wall_clock_time_survives_a_clock_change() -> None:
    # London springs forward on 29 March 2026: noon is 12:00 UTC on the 22nd and 11:00 UTC on the 29th.
    found = instants(6, "12:00", "Europe/London", date(2026, 3, 16).toordinal(), date(2026, 3, 29).toordinal())
    assert [(date.fromordinal(day).day, instant.hour) for day, instant in found] == [(22, 12), (29, 11)]
    assert isinstance(found[0][1], datetime)


@pytest.mark.slow
def test_remembering_loses_nothing() -> None:
    """The search against every placement, tried one by one, on the smallest of the random books."""
    compared = 0
    for seed in range(200):
        asked = question(seed, extra_work=True, room=12)
        table = Table(asked.book, TODAY, 2, asked.unsure, asked.replan)
        if not 1 < prod(sum(may) + 1 for may in table.may) < 400:
            continue
        compared += 1
        assert table.search() == table.best_of_all(), seed
        for k, s in product(range(len(table.studies)), range(len(table.slots))):
            assert table.search(hold={k: s}) == table.best_of_all(hold={k: s}), seed
    assert compared > 80
