"""Single changes of a book: what each does, where found hours are put, and how each is said."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from books import TODAY, small, sunday

from showrunner.domain.book import Book
from showrunner.domain.episode import Pin, PinKind, Window
from showrunner.domain.house import ExtraWork
from showrunner.domain.slot import DarkRange
from showrunner.planning.changes import (
    AllowSlot,
    Change,
    LookFurther,
    LowerGap,
    MoreHours,
    PublishInDark,
    Unpin,
    WidenWindow,
    carried_out,
    change_words,
    found_hours,
)
from showrunner.planning.hours import work_minutes

SUNDAY = date(2026, 3, 8)
WINDOWS = (
    Window(SUNDAY, SUNDAY + timedelta(7), hard=True),
    Window(date(2025, 12, 24), date(2026, 1, 6), hard=True, yearly=True),
)


def book() -> Book:
    """A study with two hard windows, a promise, and two ranges that nothing is published in."""
    found = small(1)
    found = found.put("episodes", replace(found.episode("s0"), windows=WINDOWS))
    quiet = DarkRange("quiet", SUNDAY, SUNDAY + timedelta(6), no_work=False, no_publication=True)
    away = replace(quiet, id="away", first=SUNDAY + timedelta(7), last=SUNDAY + timedelta(7), no_work=True)
    return replace(found, dark=(quiet, away), pins=(Pin("p", PinKind.DATE, ("s0",), sunday(SUNDAY)),))


def found(minutes: int, by: date, first: date = TODAY, *, to: Book | None = None) -> list[tuple[int, int]]:
    """Day of March and minutes of the hours found."""
    extra = found_hours(to or small(1), MoreHours(minutes, by, first))
    return [(one.day.day, one.minutes) for one in extra]


def test_hours_are_found_on_the_last_days_and_no_earlier_than_the_first() -> None:
    """Saturday 7 March has 4 h already, Friday none, Thursday 2 h: 20, 24 and 22 h can be found there."""
    day = date(2026, 3, 7)
    assert found(1, day) == [(7, 1)]
    assert found(20 * 60, day) == [(7, 20 * 60)]
    assert found(20 * 60 + 1, day) == [(6, 1), (7, 20 * 60)]
    assert found(80 * 60, day, day - timedelta(2)) == [(5, 22 * 60), (6, 24 * 60), (7, 20 * 60)]
    assert found(80 * 60, day, day) == [(7, 20 * 60)]
    assert found(49 * 60, day) == [(5, 5 * 60), (6, 24 * 60), (7, 20 * 60)]
    off = small(1).put("dark", DarkRange("d", date(2026, 3, 6), date(2026, 3, 6)))
    assert found(21 * 60, day, to=off) == [(5, 60), (7, 20 * 60)]
    assert found(60, day, day + timedelta(1)) == []
    assert found(0, day) == []


def test_hours_found_already_leave_less_room_in_their_day() -> None:
    full = carried_out(small(1), MoreHours(20 * 60 - 1, date(2026, 3, 7), TODAY))
    assert found(2, date(2026, 3, 7), to=full) == [(6, 1), (7, 1)]
    assert found(2, date(2026, 3, 7), to=carried_out(full, MoreHours(1, date(2026, 3, 7), TODAY))) == [(6, 2)]


def test_found_hours_are_added_to_those_found_before() -> None:
    once = carried_out(book(), MoreHours(30, date(2026, 3, 5), TODAY))
    twice = carried_out(once, MoreHours(45, date(2026, 3, 5), TODAY))
    assert twice.house.extra_work == (ExtraWork(date(2026, 3, 5), 30), ExtraWork(date(2026, 3, 5), 45))
    assert work_minutes(twice, date(2026, 3, 5)) == 120 + 75


def test_each_other_change_does_what_it_says_and_nothing_else() -> None:
    now = book()
    assert carried_out(now, LowerGap("looks", 1)) == now.put("series", replace(now.series[0], min_weeks=1))
    wider = carried_out(now, WidenWindow("s0", 1, date(2025, 12, 17), date(2026, 1, 6)))
    assert wider.episode("s0").windows == (WINDOWS[0], replace(WINDOWS[1], first=date(2025, 12, 17)))
    assert carried_out(now, Unpin("p")) == replace(now, pins=())
    assert carried_out(now, LookFurther(100)) == now
    assert carried_out(now, AllowSlot("looks", "friday")).series[0].rules == ("sunday", "friday")
    assert carried_out(now, PublishInDark("quiet")).dark == now.dark[1:]
    assert carried_out(now, PublishInDark("away")).dark == (now.dark[0], replace(now.dark[1], no_publication=False))


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (MoreHours(90, date(2026, 3, 21), TODAY), "1.5 h more work by 21 March 2026"),
        (LowerGap("looks", 1), "a least gap of 1 week in Looks"),
        (WidenWindow("s0", 0, date(2026, 3, 1), WINDOWS[0].last), "the window of “Study 0” open from 1 March 2026 on"),
        (WidenWindow("s0", 0, SUNDAY, date(2026, 3, 22)), "the window of “Study 0” open until 22 March 2026"),
        (
            WidenWindow("s0", 1, date(2025, 12, 17), WINDOWS[1].last),
            "the window of “Study 0” open from 17 December every year on",
        ),
        (
            WidenWindow("s0", 1, WINDOWS[1].first, date(2026, 1, 13)),
            "the window of “Study 0” open until 13 January every year",
        ),
        (Unpin("p"), "the promise “Study 0” on 8 March 2026 (feature) taken back"),
        (LookFurther(100), "100 weeks looked at"),
        (AllowSlot("looks", "sunday"), "the slot feature allowed for Looks"),
        (PublishInDark("quiet"), "publication allowed 8 to 14 March 2026"),
        (PublishInDark("away"), "publication allowed 15 March 2026"),
    ],
)
def test_a_change_in_words(change: Change, said: str) -> None:
    assert change_words(book(), change) == said
