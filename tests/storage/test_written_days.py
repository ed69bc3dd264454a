"""Single days and times of day as people write them."""

from __future__ import annotations

from datetime import date, time

import pytest
from dateutil.relativedelta import FR, SU, TU, relativedelta
from hypothesis import given
from hypothesis import strategies as st

from showrunner.domain.house import WEEKDAYS
from showrunner.errors import BadInput
from showrunner.storage.written_days import read_day, read_time

TODAY = date(2026, 3, 22)
"""A Sunday."""


@pytest.mark.parametrize(
    ("text", "next_one", "last_one"),
    [
        ("8 March", date(2027, 3, 8), date(2026, 3, 8)),
        ("March 8", date(2027, 3, 8), date(2026, 3, 8)),
        ("the 8th of March", date(2027, 3, 8), date(2026, 3, 8)),
        ("22 Mar", TODAY, TODAY),
        ("29 Feb", date(2028, 2, 29), date(2024, 2, 29)),
        ("Tuesday", TODAY + relativedelta(weekday=TU(1)), TODAY + relativedelta(weekday=TU(-1))),
        ("tu", TODAY + relativedelta(weekday=TU(1)), TODAY + relativedelta(weekday=TU(-1))),
        ("on fri", TODAY + relativedelta(weekday=FR(1)), TODAY + relativedelta(weekday=FR(-1))),
        ("Sunday", TODAY, TODAY),
        ("next Sunday", *(TODAY + relativedelta(days=1, weekday=SU(1)),) * 2),
        ("last Sunday", *(TODAY + relativedelta(days=-1, weekday=SU(-1)),) * 2),
        ("today", TODAY, TODAY),
        ("now", TODAY, TODAY),
        ("tomorrow", date(2026, 3, 23), date(2026, 3, 23)),
        ("yesterday", date(2026, 3, 21), date(2026, 3, 21)),
        ("2026-03-08", date(2026, 3, 8), date(2026, 3, 8)),
        ("8 Mar 2026", date(2026, 3, 8), date(2026, 3, 8)),
        ("8 March 26", date(2026, 3, 8), date(2026, 3, 8)),
        ("8.3.2026", date(2026, 3, 8), date(2026, 3, 8)),
    ],
)
def test_a_day_is_the_next_or_the_last_one(text: str, next_one: date, last_one: date) -> None:
    assert read_day(text, TODAY, ahead=True) == next_one
    assert read_day(text, TODAY, ahead=False) == last_one


@pytest.mark.parametrize(
    "text",
    [
        "",
        "about 8 March",
        "31 April",
        "29 Feb 2026",
        "March",
        "about 1895",
        "1998",
        "8/3/2026",
        "next week",
        "t",
        "m",
        "8 March?",
    ],
)
def test_what_is_no_single_day_is_refused(text: str) -> None:
    for ahead in (True, False):
        with pytest.raises(BadInput) as caught:
            read_day(text, TODAY, ahead=ahead)
        assert caught.value.way_out


def test_a_leap_day_is_found_across_a_century_without_one() -> None:
    """2100 has none, by the rule of the Gregorian calendar."""
    assert read_day("29 Feb", date(2096, 3, 1), ahead=True) == date(2104, 2, 29)
    assert read_day("29 Feb", date(2104, 2, 28), ahead=False) == date(2096, 2, 29)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("8/3/2026", "date '8/3/2026': this may be day/month/year or month/day/year; "
         "write it as 2026-03-08 or as 2026-08-03."),
        ("soon", "day: 'soon' is no day of the calendar; write it like 8 March, 8 March 2026 or Tuesday."),
        ("1998", "day: '1998' is no single day; write it like 8 March, 8 March 2026 or Tuesday."),
    ],
)  # fmt: skip
def test_what_is_no_single_day_is_told(text: str, told: str) -> None:
    with pytest.raises(BadInput) as caught:
        read_day(text, TODAY, ahead=True)
    assert caught.value.sentence() == told


@given(day=st.dates(date(2000, 1, 1), date(2090, 12, 31)), today=st.dates(date(2000, 1, 1), date(2090, 12, 31)))
def test_a_day_without_its_year_is_within_a_year_of_today(day: date, today: date) -> None:
    text = f"{day.day} {day:%B}"
    after, before = read_day(text, today, ahead=True), read_day(text, today, ahead=False)
    assert before <= today <= after
    assert {(found.day, found.month) for found in (after, before)} == {(day.day, day.month)}
    if (day.day, day.month) != (29, 2):
        assert (after - today).days <= 366 >= (today - before).days
    name = WEEKDAYS[day.weekday()]
    assert read_day(name, today, ahead=True) == today + relativedelta(weekday=day.weekday())
    assert read_day(f"{text} {day.year}", today, ahead=True) == day


@pytest.mark.parametrize(
    ("text", "at"),
    [
        ("7pm", time(19)),
        ("7 PM", time(19)),
        ("7.30 p.m.", time(19, 30)),
        ("7:30 am", time(7, 30)),
        ("12am", time(0)),
        ("12 pm", time(12)),
        ("19:00", time(19)),
        ("18.30", time(18, 30)),
        ("19h", time(19)),
        ("19h30", time(19, 30)),
        ("0:05", time(0, 5)),
        ("23:59", time(23, 59)),
        ("12:30", time(12, 30)),
        ("1am", time(1)),
        ("0", time(0)),
        ("13", time(13)),
        ("19", time(19)),
        ("noon", time(12)),
        ("midnight", time(0)),
    ],
)
def test_a_time_of_day(text: str, at: time) -> None:
    assert read_time(text) == at


@pytest.mark.parametrize(
    ("text", "way_out"),
    [
        ("7", "write 7am or 7pm"),
        ("7 o'clock", "write 7am or 7pm"),
        ("1", "write 1am or 1pm"),
        ("12", "write 12am or 12pm"),
        ("24:00", "write it like 18:30 or 7pm"),
        ("25:00", "write it like 18:30 or 7pm"),
        ("13pm", "write it like 18:30 or 7pm"),
        ("0am", "write it like 18:30 or 7pm"),
        ("7:60", "write it like 18:30 or 7pm"),
        ("", "write it like 18:30 or 7pm"),
    ],
)
def test_what_is_no_time_of_day_is_refused(text: str, way_out: str) -> None:
    with pytest.raises(BadInput) as caught:
        read_time(text)
    assert caught.value.way_out == way_out
