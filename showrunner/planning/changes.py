"""Single changes of a book that may give a study a date: what a way out consists of.

Each is a value that can be carried out on a copy of the book, said in words, and entered by hand.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.episode import Window
from showrunner.domain.house import DAY_MINUTES, ExtraWork
from showrunner.domain.record import record
from showrunner.domain.rules import Member, Rule, relaxed
from showrunner.domain.titles import pin_words, quoted, title_of
from showrunner.planning.hours import is_workless, work_minutes


@record
class MoreHours:
    """Working time found until a day, on top of what the book has."""

    minutes: int
    """Minutes in all."""
    by: date
    """Last day on which it helps to have found them."""
    first: date
    """First day on which they may be found."""


@record
class LowerGap:
    """A smaller least gap of a series."""

    series: str
    """Id of the series."""
    weeks: int
    """The new least gap, weeks."""


@record
class WidenWindow:
    """A hard window that begins sooner or ends later."""

    study: str
    """Id of the study."""
    window: int
    """Which of its windows, from 0."""
    first: date
    """Its new first day."""
    last: date
    """Its new last day."""


@record
class Unpin:
    """A promise taken back."""

    pin: str
    """Id of the pin."""


@record
class LookFurther:
    """A longer horizon; it changes nothing in the book."""

    weeks: int
    """Weeks looked ahead."""


@record
class AllowSlot:
    """A further weekly slot that a series may use."""

    series: str
    """Id of the series."""
    rule: str
    """Id of the slot rule."""


@record
class PublishInDark:
    """A dark range that no longer stops publication."""

    dark: str
    """Id of the dark range."""


Change = MoreHours | LowerGap | WidenWindow | Unpin | LookFurther | AllowSlot | PublishInDark


def carried_out(book: Book, change: Change) -> Book:
    """The book with a change."""
    match change:
        case MoreHours():
            extra = (*book.house.extra_work, *found_hours(book, change))
            return replace(book, house=replace(book.house, extra_work=extra))
        case LowerGap(series, weeks):
            return book.put("series", replace(book.series_of(series), min_weeks=weeks))
        case WidenWindow(study, at, first, last):
            windows = list(book.episode(study).windows)
            windows[at] = replace(windows[at], first=first, last=last)
            return book.put("episodes", replace(book.episode(study), windows=tuple(windows)))
        case Unpin(pin):
            return book.drop("pins", pin)
        case LookFurther():
            return book
        case AllowSlot(series, rule):
            found = book.series_of(series)
            return book.put("series", replace(found, rules=(*found.rules, rule)))
        case PublishInDark(id):
            return relaxed(book, Member(Rule.DARK, id))


def _edge(window: Window, day: date) -> str:
    """An edge of a window in words: `4 March every year`."""
    return f"{day.day} {day:%B} every year" if window.yearly else words.day(day)


def found_hours(book: Book, change: MoreHours) -> tuple[ExtraWork, ...]:
    """On which days the extra time is put: the last ones, no day above 24 hours, none in a range without work."""
    left, day, found = change.minutes, change.by, []
    while left > 0 and day >= change.first:
        taken = work_minutes(book, day) + book.busy_minutes.get(day, 0)
        room = 0 if is_workless(book, day) else DAY_MINUTES - taken
        if room > 0:
            found.append(ExtraWork(day, min(room, left)))
            left -= found[-1].minutes
        day -= timedelta(1)
    return tuple(reversed(found))


def change_words(book: Book, change: Change) -> str:
    """A change in words, to follow `with`: `11 more hours by 21 March 2026`."""
    match change:
        case MoreHours(minutes, by):
            return f"{words.hours(minutes)} more work by {words.day(by)}"
        case LowerGap(series, weeks):
            return f"a least gap of {words.count(weeks, 'week')} in {book.series_of(series).name}"
        case WidenWindow(study, at, first, last):
            old = book.episode(study).windows[at]
            edge = f"from {_edge(old, first)} on" if first != old.first else f"until {_edge(old, last)}"
            return f"the window of {quoted(title_of(book, study))} open {edge}"
        case Unpin(id):
            pin = next(p for p in book.pins if p.id == id)
            return f"the promise {pin_words(book, pin)} taken back"
        case LookFurther(weeks):
            return f"{words.count(weeks, 'week')} looked at"
        case AllowSlot(series, rule):
            return f"the slot {book.rule(rule).name} allowed for {book.series_of(series).name}"
        case PublishInDark(id):
            dark = next(d for d in book.dark if d.id == id)
            return f"publication allowed {words.days(dark.first, dark.last)}"
