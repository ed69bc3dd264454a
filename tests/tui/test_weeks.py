"""The rows of the Ledger and the next thing to do, without a screen."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from showrunner.domain import edits, words
from showrunner.domain.book import Book
from showrunner.domain.collection import Collection
from showrunner.domain.house import ExtraWork
from showrunner.domain.slot import DarkRange, SlotRef
from showrunner.planning.results import Lack
from showrunner.planning.workback import work_back
from showrunner.session import Session
from showrunner.tui.first_steps import WORDS, Step
from showrunner.tui.weeks import Week, next_step, weeks

TODAY = date(2026, 3, 2)


def demo() -> Book:
    with Session.open(Path(__file__).parents[2] / "demo" / "book.json", write=False) as session:
        return session.book


def row(rows: tuple[Week, ...], monday: date) -> Week:
    return next(week for week in rows if week.monday == monday)


def test_a_week_shows_each_slot_and_the_hours_that_could_be_lost() -> None:
    """Until the apron is ready 34 h are there and 31 are needed: 3 may be lost, whichever week they are lost in."""
    book = demo()
    rows = weeks(book, TODAY, work_back(book, TODAY))
    apron = row(rows, date(2026, 3, 16))
    assert [cell.text for cell in apron.cells] == ["· making diary", "◆ The apple-packer's apron"]
    assert [row(rows, date(2026, 3, day)).margin for day in (2, 9, 16, 23)] == ["3 h", "3 h", "3 h", "4 h"]
    assert row(rows, date(2026, 2, 23)).margin == ""
    assert row(rows, date(2026, 7, 13)).margin == "■ no work"
    assert row(rows, TODAY).cells[0].text.startswith("● banked: ")
    assert row(rows, date(2026, 1, 19)).cells[1].text == "✓ Verdigris: green, with gloves"


def test_the_record_says_late_and_missed() -> None:
    book = demo()
    today = date(2025, 9, 1)
    rows = weeks(replace(book, clock=today), today, None)
    assert row(rows, date(2025, 6, 23)).cells[1].text.startswith("– came late: ")
    assert row(rows, date(2025, 6, 30)).cells[1].text.startswith("✓ ")
    assert row(weeks(book, date(2025, 1, 6), None), date(2024, 12, 23)).cells[0].text.startswith("– missed: ")


def test_promises_dark_weeks_and_overdue_studies_are_words() -> None:
    book, _ = edits.pin_date(demo(), "apron", SlotRef(date(2026, 3, 22), "sunday"))
    book = edits.put_dark(book, DarkRange("d", date(2026, 4, 6), date(2026, 4, 12), no_publication=True))
    rows = weeks(book, TODAY, None)
    assert row(rows, date(2026, 3, 16)).cells[1].text.startswith("◆ promised: ")
    assert [cell.text for cell in row(rows, date(2026, 4, 6)).cells] == ["■ dark", "■ dark"]
    late = weeks(book, date(2026, 3, 24), None)
    assert row(late, date(2026, 3, 16)).cells[1].text.startswith("! overdue: ")


def test_the_next_thing_is_the_most_pressing_one() -> None:
    book = demo()
    assert next_step(book, TODAY, work_back(book, TODAY)).text.startswith("Tue 3 Mar 2026: 2 h on ")
    book = edits.publish(book, "diary-2026-03-04", date(2026, 3, 4))
    overdue = next_step(book, date(2026, 3, 24), None)
    assert overdue.trouble
    assert "was due on 22 March 2026: y publishes it, M marks the slot missed." in overdue.text
    assert next_step(book, date(2026, 3, 22), None).text.startswith("Today “The apple-packer's apron” goes out")
    lost = edits.put_dark(book, DarkRange("lost", date(2026, 3, 9), date(2026, 3, 15)))
    short = next_step(lost, TODAY, work_back(lost, TODAY))
    assert short.trouble
    assert "short" in short.text
    waiting = edits.set_slot(book, "apron", None)
    assert (
        next_step(waiting, TODAY, work_back(waiting, TODAY)).text == "No slot yet: The apple-packer's apron. p plans."
    )
    empty = Book(key="x")
    assert next_step(empty, TODAY, work_back(empty, TODAY)).text == f"Next: {WORDS[Step.HOUSE]}. g goes on."


def test_of_what_a_slot_is_short_of_in_two_ways_the_more_is_told() -> None:
    book = edits.put_dark(demo(), DarkRange("lost", date(2026, 3, 9), date(2026, 3, 15)))
    work = work_back(book, TODAY)
    short = max(work.shortfalls, key=lambda item: item.minutes)
    monday = short.slot.day - timedelta(short.slot.day.weekday())
    for both in ((short, replace(short, minutes=1)), (replace(short, minutes=1), short)):
        assert row(weeks(book, TODAY, replace(work, shortfalls=both)), monday).short == short.minutes > 1


def test_a_further_collection_without_pieces_hides_no_trouble() -> None:
    book = demo()
    more = replace(book, collections=(Collection("new", "What comes next"), *book.collections))
    lost = edits.put_dark(more, DarkRange("flu", date(2026, 3, 3), date(2026, 3, 20), "flu"))
    assert next_step(lost, TODAY, work_back(lost, TODAY)).trouble
    bare = replace(more, pieces=(), episodes=())
    assert next_step(bare, TODAY, work_back(bare, TODAY)).text == f"Next: {WORDS[Step.PIECES]}. g goes on."


@pytest.mark.slow
def test_hours_that_could_be_lost_can_be_lost_and_one_minute_more_cannot() -> None:
    """Found hours on Saturdays in place of the usual ones, so that each Saturday can be shortened by itself."""
    book = demo()
    minutes = list(book.house.work_minutes)
    minutes[5] = 0
    saturdays = [date(2026, 3, 7) + timedelta(weeks=week) for week in range(30)]

    def with_hours(short: date | None, by: int) -> Book:
        found = tuple(ExtraWork(day, 240 - (by if day == short else 0)) for day in saturdays)
        return replace(book, house=replace(book.house, work_minutes=tuple(minutes), extra_work=found))

    rows = weeks(book, TODAY, work_back(with_hours(None, 0), TODAY))
    tried = 0
    for saturday in saturdays[:20]:
        spare = row(rows, saturday - timedelta(5)).spare
        assert spare is not None
        if spare < 239:
            tried += 1
            late = [work_back(with_hours(saturday, spare + more), TODAY).shortfalls for more in (0, 1)]
            assert [any(item.lack is not Lack.SHOOT_DAY for item in found) for found in late] == [False, True]
    assert tried >= 3


def test_a_week_says_what_is_missing_in_it_before_anything_else() -> None:
    lost = edits.put_dark(demo(), DarkRange("lost", date(2026, 3, 9), date(2026, 3, 15), reason="away"))
    work = work_back(lost, TODAY)
    rows = weeks(lost, TODAY, work)
    apron = row(rows, date(2026, 3, 16))
    assert (apron.margin, apron.cells[1].glyph, apron.cells[1].tone) == ("! 9 h short", "!", "trouble")
    assert row(rows, date(2026, 3, 2)).margin == "0 h"
    assert row(rows, date(2026, 3, 9)).workless == lost.dark[-1:]
    assert next_step(lost, TODAY, work).text.startswith("“The apple-packer's apron” of 22 March 2026 is 9 h short")


def test_usual_content_that_the_studies_make_late_is_told_in_its_week_and_first_if_it_comes_first() -> None:
    """The apron takes an hour less, so it has 4 h to spare; with 8 h of captions for the diary of 25 March more…"""
    book = demo()
    diary = replace(book.rule("wednesday"), standing_minutes=180)
    heavy = edits.change_rule_from(book, replace(diary, standing_minutes=12 * 60), date(2026, 3, 23))
    work = work_back(heavy, TODAY)
    first = min(work.shortfalls, key=lambda item: item.slot)
    assert (first.lack, first.slot.day, first.episode) == (Lack.CROWDED, date(2026, 3, 25), "")
    rows = weeks(heavy, TODAY, work)
    late = row(rows, date(2026, 3, 23))
    assert late.cells[0].text == "! making diary"
    assert (
        late.margin
        == f"! {words.hours(max(i.minutes for i in work.shortfalls if i.slot.day <= date(2026, 3, 29)))} short"
    )
    step = next_step(heavy, TODAY, work)
    assert step.trouble
    assert step.text == f"{first.text} r plans again with fewest moves."


def test_a_date_that_may_not_be_any_more_is_the_next_trouble() -> None:
    dark = DarkRange("d", date(2026, 3, 20), date(2026, 3, 25), no_work=False, no_publication=True)
    book = edits.put_dark(demo(), dark)
    work = work_back(book, TODAY)
    assert next_step(book, TODAY, work).text == (
        "“The apple-packer's apron” stands on 22 March 2026, but nothing is published 20 to 25 March 2026. "
        "r plans again with fewest moves."
    )
    assert row(weeks(book, TODAY, work), date(2026, 3, 16)).cells[1].glyph == "!"


def test_usual_content_in_work_this_week_is_told_after_all_other_trouble() -> None:
    """On Monday 9 March there are 2 h until the diary of 3 h must be ready: alone it is told, beside another last."""
    book = edits.publish(demo(), "diary-2026-03-04", date(2026, 3, 4))
    monday = date(2026, 3, 9)
    alone = edits.set_slot(book, "apron", SlotRef(date(2026, 4, 5), "sunday"))
    assert next_step(alone, monday, work_back(alone, monday)).text == (
        "making diary of 11 March 2026 is 1 h short even without any study: k puts down what is done of it, b banks it."
    )
    step = next_step(book, monday, work_back(book, monday))
    assert step.text.startswith("“The apple-packer's apron” of 22 March 2026 is 4 h short")


def test_a_week_with_days_without_work_says_so_and_still_tells_the_spare_hours() -> None:
    dark = DarkRange("d", date(2026, 4, 8), date(2026, 4, 9), reason="a fair")
    book = edits.put_dark(demo(), dark)
    rows = weeks(book, TODAY, work_back(book, TODAY))
    assert (
        row(rows, date(2026, 4, 6)).margin == "■ 14 h"
    )  # until the diary of Wednesday, which must be ready before the fair
    assert row(rows, date(2026, 4, 13)).margin == "15 h"


def test_hours_worked_on_usual_content_are_told_in_its_cell() -> None:
    slot = SlotRef(date(2026, 3, 11), "wednesday")
    book = edits.put_work_for_slot(demo(), slot, 60, TODAY, today=TODAY)
    assert row(weeks(book, TODAY, None), date(2026, 3, 9)).cells[0].text == "○ begun: making diary of 11 Mar"


def test_two_studies_too_near_each_other_are_told_as_the_report_tells_them() -> None:
    """4 weeks is the least gap; the waistcoats 3 weeks after the apron stand where they may not, the apron may."""
    book = demo()
    near = replace(book.episode("waistcoats"), slot=SlotRef(date(2026, 4, 12), "sunday"))
    book = book.put("episodes", near)
    work = work_back(book, TODAY)
    assert next_step(book, TODAY, work).text == (
        "“Septimus and Barnaby: two waistcoats” stands on 12 April 2026, but it would be 3 weeks from "
        "“The apple-packer's apron”, and 4 weeks is the least. r plans again with fewest moves."
    )
    rows = weeks(book, TODAY, work)
    assert row(rows, date(2026, 4, 6)).cells[1].glyph == "!"
    assert row(rows, date(2026, 3, 16)).cells[1].glyph == "◆"
