"""What other calendars and public holidays take of the work, through to the plan, the commands and the dark days."""

from __future__ import annotations

import json
import shutil
from datetime import date
from pathlib import Path

import pytest

from showrunner.demo_book import demo_path
from showrunner.domain import edits
from showrunner.domain.slot import SlotRef
from showrunner.errors import BadInput
from showrunner.ical.public_days import public_days, take_days
from showrunner.planning.hours import is_workless
from showrunner.session import Session

AWAY = """BEGIN:VCALENDAR
VERSION:2.0
PRODID:x
NAME:Family
BEGIN:VEVENT
UID:away
SUMMARY:By the sea
DTSTART;VALUE=DATE:20260713
DTEND;VALUE=DATE:20260727
END:VEVENT
END:VCALENDAR
"""
DAYS = """BEGIN:VCALENDAR
VERSION:2.0
PRODID:x
NAME:Days
BEGIN:VEVENT
UID:one
SUMMARY:Dentist
DTSTART;TZID=Australia/Hobart:20260307T090000
DURATION:PT1H
END:VEVENT
BEGIN:VEVENT
UID:two
SUMMARY:Choir
DTSTART;TZID=Australia/Hobart:20260307T093000
DURATION:PT1H30M
END:VEVENT
END:VCALENDAR
"""


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """The demo without its own fortnight away."""
    shutil.copyfile(demo_path(), tmp_path / "book.json")
    with Session.open(tmp_path / "book.json") as session:
        for dark in session.book.dark:
            session.do("home", lambda book, dark=dark: edits.remove_dark(book, dark.id))
    return tmp_path / "book.json"


def bring(path: Path, said, text: str) -> None:
    (path.parent / "in.ics").write_text(text.replace("\n", "\r\n"))
    assert said("--book", path, "calendar", "--busy", path.parent / "in.ics", "--write")[0] == 0


def test_a_fortnight_away_is_a_range_in_which_a_study_may_air_and_nothing_is_worked(path: Path, said) -> None:
    """From 13 July to the exclusive 27 July 2026: the last day is the 26th (RFC 5545 3.6.1)."""
    bring(path, said, AWAY)
    with Session.open(path) as session:
        (dark,) = session.book.dark
        assert (dark.first, dark.last) == (date(2026, 7, 13), date(2026, 7, 26))
        jacket = next(
            study for study in session.book.open_studies if study.slot and study.slot.day == date(2026, 6, 28)
        )
        session.do("later", lambda book: edits.set_slot(book, jacket.id, SlotRef(date(2026, 7, 26), jacket.slot.rule)))
        tasks = [task for task in session.work().tasks if task.episode == jacket.id]
        assert sum(task.minutes for task in tasks) == 17 * 60, "a study takes 17 h, by the demo's story"
        assert max(task.day for task in tasks) <= date(2026, 7, 12)
        assert not session.work().shortfalls
    told = json.loads(said("--book", path, "work", "--json")[1])
    (trip,) = told["before_days_without_work"]
    assert (trip["first"], trip["last"], trip["reason"]) == ("2026-07-13", "2026-07-26", "By the sea")
    # Of the diary (3 h) due on 14, 21 and 28 July, 2 h of the last fit on 28 July itself, a Tuesday of 2 h, but that is
    # the day before its slot, when it must be ready; the talk (4 h) of 19 July and the study of 26 July are due before.
    by_slot = {(item["title"], item["slot"]["day"]): item["hours"] for item in trip["items"]}
    assert by_slot == {
        ("making diary", "2026-07-15"): 3,
        ("long feature", "2026-07-19"): 4,
        ("making diary", "2026-07-22"): 3,
        (jacket.title, "2026-07-26"): 17,
        ("making diary", "2026-07-29"): 1,
    }
    assert trip["hours"] == sum(by_slot.values())
    assert "28 h must be done before 13 July 2026" in " ".join(said("--book", path, "work")[1].split())


@pytest.mark.slow
def test_busy_hours_are_said_where_the_work_is(path: Path, said) -> None:
    before = json.loads(said("--book", path, "plan", "--json")[1])["studies"][0]["hours_available"]
    bring(path, said, DAYS)
    told = json.loads(said("--book", path, "work", "--json")[1])
    assert told["busy"] == [
        {"day": "2026-03-07", "busy_hours": 2, "left_hours": 2, "reasons": ["Dentist and Choir"]}
    ], "9:00 to 10:00 and 9:30 to 11:00 are two hours of the four of a Saturday"
    assert sum(task["hours"] for task in told["tasks"] if task["day"] == "2026-03-07") == 2
    text = " ".join(said("--book", path, "work")[1].split())
    assert "Sat 7 Mar 2026: 2 h of 4 h are busy (Dentist and Choir), 2 h left." in text
    assert "Sat 7 Mar 2026: 2 h of 4 h are busy" in " ".join(said("--book", path, "report")[1].split())
    with Session.open(path) as session:
        (placed,) = [p for p in session.present() if p.slot.day == date(2026, 3, 22)]
        assert placed.minutes_available == 60 * (before - 2)


def test_a_busy_day_is_forgotten_and_comes_back_with_its_calendar(path: Path, said) -> None:
    bring(path, said, DAYS)
    with Session.open(path) as session:
        (busy,) = session.book.busy
        session.do("forget", lambda book: edits.remove_busy(book, busy.id))
        assert session.book.busy == ()
        assert session.work().busy == ()
    bring(path, said, DAYS)
    with Session.open(path) as session:
        assert session.book.busy == (busy,)


def test_holidays_are_offered_and_taken_only_by_choice(path: Path, said) -> None:
    """Anzac Day, 25 April, and Eight Hours Day, the second Monday of March: Statutory Holidays Act 2000 (Tasmania)."""
    before = path.read_bytes()
    code, out, err = said("--book", path, "holidays", "AU-TAS")
    assert (code, err) == (0, "")
    assert "Mon 9 Mar 2026" in out
    assert "Sat 25 Apr 2026   ANZAC Day: 4 h of work" in out
    assert said("--book", path, "holidays", "au-tas", "--take", "2026-04-25")[0] == 0
    assert path.read_bytes() == before
    for _ in range(2):
        assert said("--book", path, "holidays", "AU-TAS", "--take", "2026-04-25", "--write")[0] == 0
    with Session.open(path) as session:
        (dark,) = session.book.dark
        assert (dark.first, dark.last, dark.reason, dark.no_publication) == (
            date(2026, 4, 25),
            date(2026, 4, 25),
            "ANZAC Day",
            False,
        )
        assert is_workless(session.book, date(2026, 4, 25))


@pytest.mark.parametrize("place", ["", "Tasmania", "XX", "AU-XX", "AU-", "A" * 500])
def test_a_place_without_holidays_is_told(place: str) -> None:
    with pytest.raises(BadInput) as told:
        public_days(place, date(2026, 3, 2), date(2026, 12, 31))
    assert "\n" not in told.value.sentence()


def test_a_day_that_is_no_holiday_is_not_taken(path: Path, said) -> None:
    with Session.open(path) as session:
        found = public_days("IE", date(2026, 3, 2), date(2026, 12, 31))
        assert date(2026, 3, 17) in {holiday.day for holiday in found}
        with pytest.raises(BadInput, match="is no holiday there"):
            take_days(session.book, found, [date(2026, 3, 18)])
    code, _, err = said("--book", path, "holidays", "IE", "--write")
    assert code == 2
    assert "add --take DATE" in err
