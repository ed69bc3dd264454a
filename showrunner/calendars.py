"""What is told of calendars that were written entry by entry."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import date, datetime

from showrunner import report
from showrunner.domain import words
from showrunner.ical.pushing import CONFLICTS, Deed, Step
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


def _when(moment: date | datetime, zone: str) -> str:
    if not isinstance(moment, datetime):
        return words.short_day(moment)
    local = moment.astimezone(zone_named(zone, "house rules"))
    return f"{words.short_day(local.date())}, {local:%H:%M}"
