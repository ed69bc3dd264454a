"""Windows on the calendar: yearly ones expanded, days inside, and their words."""

from __future__ import annotations

from calendar import isleap
from collections.abc import Iterable
from datetime import MAXYEAR, MINYEAR, date

from showrunner.domain.episode import Window
from showrunner.domain.words import day as day_words

Interval = tuple[date, date]


def intervals(window: Window, first: date, last: date) -> tuple[Interval, ...]:
    """The stretches of days of a window that touch the days `first` to `last` (all inclusive), in order.

    A yearly window comes back every year, earlier years too, on the same month and day; one that
    runs over the new year starts in one year and ends in the next. Where a year has no
    29 February, a window that starts on it starts on 1 March and one that ends on it ends on
    28 February; a window of that one day does not come in such a year.

    Returns:
        Whole stretches, not cut at `first` and `last`.
    """
    if not window.yearly:
        every: tuple[Interval, ...] = ((window.first, window.last),)
    else:
        over = window.last.year - window.first.year
        years = range(max(first.year - 1, MINYEAR), min(last.year, MAXYEAR - over) + 1)
        every = tuple((_in_year(window.first, year, 3, 1), _in_year(window.last, year + over, 2, 28)) for year in years)
    return tuple((start, end) for start, end in every if start <= end and start <= last and end >= first)


def _in_year(day: date, year: int, month: int, day_of_month: int) -> date:
    """The same month and day in another year, or the substitute given for 29 February."""
    if (day.month, day.day) == (2, 29) and not isleap(year):
        return date(year, month, day_of_month)
    return day.replace(year=year)


def inside(windows: Iterable[Window], day: date) -> bool:
    """Whether `day` lies in at least one of the windows; False if there are none."""
    return any(intervals(window, day, day) for window in windows)


def window_words(window: Window) -> str:
    """A window in words: `15 October to 28 February every year`, `1 March 2026 to 30 April 2026`."""
    if window.yearly:
        return f"{window.first.day} {window.first:%B} to {window.last.day} {window.last:%B} every year"
    return f"{day_words(window.first)} to {day_words(window.last)}"
