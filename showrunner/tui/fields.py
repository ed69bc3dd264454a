"""Lines that many forms have: a day, a time, things of the book; typed as people write them and said back in words."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, time
from functools import partial
from typing import TypeVar

from showrunner.domain import naming, words
from showrunner.domain.book import Book
from showrunner.tui import entry
from showrunner.tui.dialogs import Field

T = TypeVar("T")


def day_field(
    name: str,
    label: str,
    value: date | None,
    today: date,
    *,
    ahead: bool,
    optional: bool = False,
    hint: str = "",
    needed: bool = False,
    folded: bool = False,
) -> Field:
    """A line for one day.

    Args:
        name: key of the answer.
        label: what is asked.
        value: the day at first; None for none.
        today: the present day.
        ahead: whether a weekday, or a day without its year, is the next one; else the last one.
        optional: whether it may be left empty, which answers None.
        hint: an example; empty for the usual one.
        needed: as for a `Field`.
        folded: as for a `Field`.
    """
    from showrunner.storage.written_days import read_day

    read = partial(read_day, today=today, ahead=ahead)
    check: Callable[[str], date | None] = partial(_or_none, read) if optional else read
    shown = day_text(value)
    return Field(name, label, shown, check, hint or "8 March, Tuesday", (), needed, folded, _day_words)


def time_field(
    name: str,
    label: str,
    value: time | None,
    *,
    optional: bool = False,
    hint: str = "",
    needed: bool = False,
    folded: bool = False,
) -> Field:
    """A line for a time of day; arguments as for `day_field`."""
    from showrunner.storage.written_days import read_time

    check: Callable[[str], time | None] = partial(_or_none, read_time) if optional else read_time
    shown = time_text(value)
    return Field(name, label, shown, check, hint or "7pm or 19:00", (), needed, folded, time_text)


def things_field(
    name: str,
    label: str,
    book: Book,
    sort: naming.Sort,
    ids: tuple[str, ...],
    *,
    needed: bool = False,
    folded: bool = False,
    about: str = "",
) -> Field:
    """A line for things of one sort: their names, as the book has them at first.

    Args:
        name: key of the answer, which is an `entry.Named`.
        label: what is asked.
        book: the book.
        sort: of what sort they are.
        ids: those at first.
        needed: as for a `Field`.
        folded: as for a `Field`.
        about: as for a `Field`.
    """
    there = naming.things(book, sort)
    texts = {thing.id: told[0] for thing, told in naming.written(there).items() if told}
    names = {thing.id: thing.name for thing in there}
    shown = ", ".join(texts.get(id, id) for id in ids)
    kept = entry.Named(ids, words.listing([names.get(id) or id for id in ids]))
    hint = "names, parts of names or numbers, with commas"
    read = entry.unless_changed(shown, kept, entry.things(book, sort))
    return Field(name, label, shown, read, hint, needed=needed, folded=folded, about=about)


def day_text(value: date | None) -> str:
    """A day as it is typed: `8 Mar 2026`; nothing for none."""
    return f"{value.day} {value:%b %Y}" if value else ""


def time_text(value: time | None) -> str:
    """A time of day as it is typed: `19:00`; nothing for none."""
    return f"{value:%H:%M}" if value else ""


def _day_words(value: date | None) -> str:
    return words.short_day(value) if value else ""


def _or_none(read: Callable[[str], T], text: str) -> T | None:
    return read(text) if text.strip() else None
