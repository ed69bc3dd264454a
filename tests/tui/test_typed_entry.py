"""What people type: how it is read, and the sentence when it cannot be."""

from __future__ import annotations

from datetime import date

import pytest

from showrunner.domain.windows import intervals
from showrunner.errors import BadInput
from showrunner.tui import entry


@pytest.mark.parametrize("text", ["2026-03-22", "22 Mar 2026", " 22  March 2026 "])
def test_days(text: str) -> None:
    assert entry.day(text) == date(2026, 3, 22)


@pytest.mark.parametrize("text", ["2026-02-30", "22/3/2026", "", "tomorrow", "31 Apr 2026"])
def test_impossible_days_are_refused(text: str) -> None:
    with pytest.raises(BadInput, match="is no day of the calendar; write it like 2026-03-22"):
        entry.day(text)


@pytest.mark.parametrize(
    ("text", "minutes"), [("2", 120), ("2.5", 150), ("2,5", 150), ("2:30", 150), ("2 h", 120), ("0", 0)]
)
def test_hours(text: str, minutes: int) -> None:
    assert entry.minutes(text) == minutes
    assert entry.minutes(entry.hours_text(minutes)) == minutes


@pytest.mark.parametrize("text", ["two", "", "-1", "nan", "1e9", "inf"])
def test_hours_that_cannot_be(text: str) -> None:
    with pytest.raises(BadInput):
        entry.minutes(text)


def test_hours_beyond_a_day_are_refused() -> None:
    with pytest.raises(BadInput, match="25 hours is not between 0 and the 24 hours of a day"):
        entry.week_minutes("0 25 2 2 0 4 2")
    with pytest.raises(BadInput, match="3 numbers are not the 7 of a week"):
        entry.week_minutes("1 2 3")


def test_windows_of_every_year_and_of_one() -> None:
    apron, sea, once = entry.windows("1 Mar to 30 Apr; must 15 Oct to 28 Feb; 2026-06-01 to 2026-08-31")
    assert (apron.hard, apron.yearly) == (False, True)
    assert (sea.hard, sea.yearly) == (True, True)
    assert intervals(sea, date(2026, 12, 1), date(2026, 12, 1)) == ((date(2026, 10, 15), date(2027, 2, 28)),)
    assert (once.first, once.last, once.yearly) == (date(2026, 6, 1), date(2026, 8, 31), False)
    assert entry.windows(entry.window_text((apron, sea, once))) == (apron, sea, once)
    assert entry.windows("") == ()


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("2026-04-30 to 2026-03-01", "the window ends .* before it starts"),
        ("1 Mar", "has no 'to'"),
        ("1 Mar to 2026-04-01", "a year on one side only"),
        ("31 Feb to 3 Mar", "a year on one side only|no day of the calendar"),
    ],
)
def test_windows_that_cannot_be(text: str, why: str) -> None:
    with pytest.raises(BadInput, match=why):
        entry.windows(text)


def test_measurements_and_times() -> None:
    chest, weight = entry.measurements("chest 86 cm, weight 2.1 kg")
    assert (chest.what, str(chest.value), weight.unit) == ("chest", "86", "kg")
    with pytest.raises(BadInput):
        entry.measurements("chest 86 in")
    with pytest.raises(BadInput):
        entry.clock_time("25:00")
    with pytest.raises(BadInput):
        entry.zone("Hobart")
    with pytest.raises(BadInput):
        entry.whole(1, 99)("0")
