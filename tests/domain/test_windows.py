from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showrunner.domain.episode import Window
from showrunner.domain.windows import inside, intervals, window_words


def yearly(first, last):
    return Window(first, last, hard=True, yearly=True)


def test_a_plain_window_is_one_stretch_and_is_not_cut():
    window = Window(date(2026, 3, 1), date(2026, 4, 30))
    assert intervals(window, date(2026, 4, 1), date(2027, 1, 1)) == ((date(2026, 3, 1), date(2026, 4, 30)),)
    assert intervals(window, date(2026, 5, 1), date(2027, 1, 1)) == ()


def test_a_yearly_window_comes_every_year_also_before_its_own():
    window = yearly(date(2026, 3, 1), date(2026, 4, 30))
    assert intervals(window, date(2025, 4, 30), date(2027, 3, 1)) == tuple(
        (date(year, 3, 1), date(year, 4, 30)) for year in (2025, 2026, 2027)
    )


def test_a_yearly_window_over_the_new_year():
    window = yearly(date(2025, 10, 15), date(2026, 2, 28))
    assert intervals(window, date(2026, 1, 1), date(2026, 12, 31)) == (
        (date(2025, 10, 15), date(2026, 2, 28)),
        (date(2026, 10, 15), date(2027, 2, 28)),
    )
    assert inside([window], date(2029, 1, 1))
    assert not inside([window], date(2029, 3, 1))


def test_29_february_where_there_is_none():
    from_leap_day = yearly(date(2024, 2, 29), date(2024, 3, 5))
    assert intervals(from_leap_day, date(2025, 1, 1), date(2025, 12, 31)) == ((date(2025, 3, 1), date(2025, 3, 5)),)
    to_leap_day = yearly(date(2024, 2, 1), date(2024, 2, 29))
    assert intervals(to_leap_day, date(2025, 1, 1), date(2025, 12, 31)) == ((date(2025, 2, 1), date(2025, 2, 28)),)
    assert inside([to_leap_day], date(2028, 2, 29))
    only_leap_day = yearly(date(2024, 2, 29), date(2024, 2, 29))
    assert intervals(only_leap_day, date(2025, 1, 1), date(2027, 12, 31)) == ()
    assert inside([only_leap_day], date(2028, 2, 29))


def test_a_window_that_ends_on_28_february_does_not_grow_in_a_leap_year():
    assert not inside([yearly(date(2025, 10, 15), date(2026, 2, 28))], date(2028, 2, 29))


def test_the_first_and_last_years_of_the_calendar():
    window = yearly(date(2025, 12, 1), date(2026, 1, 31))
    assert intervals(window, date(1, 1, 1), date(1, 12, 31)) == ((date(1, 12, 1), date(2, 1, 31)),)
    assert intervals(window, date(9999, 1, 1), date(9999, 12, 31)) == ((date(9998, 12, 1), date(9999, 1, 31)),)


@pytest.mark.parametrize(
    ("window", "words"),
    [
        (yearly(date(2025, 10, 15), date(2026, 2, 28)), "15 October to 28 February every year"),
        (Window(date(2026, 3, 1), date(2026, 4, 30)), "1 March 2026 to 30 April 2026"),
    ],
)
def test_windows_in_words(window, words):
    assert window_words(window) == words


def test_no_window_holds_no_day():
    assert not inside([], date(2026, 3, 1))


DAYS = st.dates(date(1990, 1, 1), date(2060, 12, 31))


@given(DAYS, st.integers(0, 363), DAYS)
def test_a_yearly_window_agrees_with_comparing_month_and_day(first, length, day):
    last = first + timedelta(days=length)
    start, end, now = ((d.month, d.day) for d in (first, last, day))
    by_hand = start <= now <= end if last.year == first.year else now >= start or now <= end
    assert inside([yearly(first, last)], day) == by_hand
