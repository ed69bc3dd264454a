"""What is told of calendars that were written entry by entry, brought in, or offered."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import date, datetime

from showrunner import report
from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.ical.busy import BusyResult
from showrunner.ical.public_days import PublicDay
from showrunner.ical.pushing import CONFLICTS, Deed, Step
from showrunner.planning.hours import is_workless
from showrunner.planning.slots import zone_named

_COUNTED = (Deed.NEW, Deed.CHANGED, Deed.DELETED, Deed.UNCHANGED)


def pushed(steps: Sequence[Step], place: str, zone: str, *, written: bool) -> str:
    """What was done in a store, or would be, with each conflict.

    Args:
        steps: what was done.
        place: the store.
        zone: IANA zone of the house, for times.
        written: whether it was done.
    """
    counts = Counter(step.deed for step in steps)
    told = ", ".join(f"{counts[deed]} {deed.value}" for deed in _COUNTED)
    ends = "" if written else " Nothing is written; --write does it."
    lines = [report.wrap(f"{place}: {told}.{ends}", "", "")]
    conflicts = [step for step in steps if step.deed in CONFLICTS]
    lines += [report.wrap(f"! {conflict(step, zone)}", "  ", "") for step in conflicts]
    if conflicts:
        way_out = "What is told with ! is left as it is; --replace puts what the book says in its place."
        lines.append(report.wrap(way_out, "", ""))
    return "\n".join(lines)


def conflict(step: Step, zone: str) -> str:
    """What somebody else did with an entry, as one sentence."""
    name = f"“{step.summary}”" if step.summary else "An entry that was dropped"
    if step.deed is Deed.DELETED_THERE:
        return f"{name} was deleted there, or moved to another calendar."
    if step.deed is Deed.OTHER_NAME:
        return f"{name} is there already under another address, where somebody moved or copied it."
    if step.deed is Deed.IN_THE_WAY:
        return f"{name}: another entry stands in its place, which was not put there from this book."
    if step.there is not None and step.ours is not None and step.there != step.ours:
        return f"{name} was moved there to {_when(step.there, zone)}; the book has {_when(step.ours, zone)}."
    if step.ours is None:
        return f"{name} was dropped here, but somebody changed it there, so it is not deleted."
    return f"{name} was changed there."


def brought_in(found: BusyResult) -> list[str]:
    """The days without work and the busy hours of a calendar, a line each."""
    lines = [f"{words.days(dark.first, dark.last)}: no work, {dark.reason}" for dark in found.ranges]
    lines += [
        f"{words.short_day(busy.day)}: {words.hours(sum(b - a for a, b in busy.spans))} busy, {busy.reason}"
        for busy in found.days
    ]
    return [report.clip(report.clean(line), 78) for line in lines]


def offered(book: Book, found: Sequence[PublicDay], taken: Sequence[date], *, written: bool) -> str:
    """Public holidays with what they would cost.

    Args:
        book: the book as it is with those that are taken.
        found: the holidays.
        taken: the days that are taken.
        written: whether they were written.
    """
    lines = []
    for holiday in found:
        minutes = book.house.work_minutes[holiday.day.weekday()]
        if holiday.day in taken:
            state = "taken off"
        elif is_workless(book, holiday.day):
            state = "no work already"
        else:
            state = f"{words.hours(minutes)} of work" if minutes else "no working day"
        slots = [rule.name for rule in book.rules if rule.comes_on(holiday.day)]
        out = f"; {words.listing(slots)} goes out" if slots else ""
        lines.append(report.clip(report.clean(f"{words.short_day(holiday.day):<16}  {holiday.name}: {state}{out}"), 80))
    if not taken:
        lines.append("None is taken: --take DATE makes one a day without work.")
    elif not written:
        lines.append("Nothing is written; --write does it.")
    else:
        lines.append("Written into the book; `showrunner undo` takes it back.")
    return "\n".join(lines)


def _when(moment: date | datetime, zone: str) -> str:
    if not isinstance(moment, datetime):
        return words.short_day(moment)
    local = moment.astimezone(zone_named(zone, "house rules"))
    return f"{words.short_day(local.date())}, {local:%H:%M}"
