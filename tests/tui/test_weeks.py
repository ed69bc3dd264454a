"""The rows of the Ledger and the next thing to do, without a screen."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.slot import DarkRange, SlotRef
from showrunner.planning.workback import work_back
from showrunner.session import Session
from showrunner.tui.weeks import Week, next_step, weeks

TODAY = date(2026, 3, 2)


def demo() -> Book:
    with Session.open(Path(__file__).parents[2] / "demo" / "book.json", write=False) as session:
        return session.book


def row(rows: tuple[Week, ...], monday: date) -> Week:
    return next(week for week in rows if week.monday == monday)


def test_a_week_shows_each_slot_and_the_hours_of_its_tightest_day() -> None:
    book = demo()
    rows = weeks(book, TODAY, work_back(book, TODAY))
    apron = row(rows, date(2026, 3, 16))
    assert [cell.text for cell in apron.cells] == ["· making diary", "◆ The apple-packer's apron"]
    assert apron.hours == "31 of 34 h"
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
    assert "g is the guided start" in next_step(Book(key="x"), TODAY, work_back(Book(key="x"), TODAY)).text
