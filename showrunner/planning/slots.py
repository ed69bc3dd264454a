"""Weekly slot rules expanded into dated slots.

The rule names a weekday and a wall-clock time; the wall clock keeps its time when the clocks
change, so the instant moves by the change. At a change itself RFC 5545 3.3.5 decides: a time
that does not exist (clocks go forward) is read with the offset before the gap, a time that
exists twice (clocks go back) is the first of the two.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, date, datetime, time
from functools import lru_cache
from zoneinfo import ZoneInfo

from dateutil.rrule import WEEKLY, rrule

from showrunner.domain.slot import Slot, SlotRule
from showrunner.errors import BadInput


def zone_named(name: str, where: str) -> ZoneInfo:
    """The time zone with an IANA name.

    Args:
        name: the name, such as `Australia/Hobart`.
        where: what uses it, for the error.

    Raises:
        BadInput: no such zone is known.
    """
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        raise BadInput(f"no time zone is called '{name}'", where, "write it like Europe/Dublin") from None


def instant(day: date, at: time, zone: ZoneInfo) -> datetime:
    """The UTC instant at which the wall clock of `zone` shows `at` on `day`.

    With `fold` 0, :mod:`zoneinfo` follows RFC 5545 3.3.5 (p.34): a skipped time counts with the
    offset before the gap, a doubled time is its first occurrence.
    """
    return datetime.combine(day, at.replace(fold=0), zone).astimezone(UTC)


def expand(rules: Iterable[SlotRule], first: date, last: date) -> tuple[Slot, ...]:
    """Every slot of the rules from `first` through `last`; those of the same rules and days are laid out once.

    Args:
        rules: slot rules; each holds from its own first through its own last day only.
        first: first day, on each rule's own wall clock.
        last: last day (inclusive); before `first` there is no slot.

    Returns:
        The slots by instant, then by id of the rule.

    Raises:
        BadInput: a rule names no known zone, or the days reach beyond the years 1 to 9999.
    """
    return _expanded(tuple(rules), first, last)


@lru_cache(maxsize=16)
def _expanded(rules: tuple[SlotRule, ...], first: date, last: date) -> tuple[Slot, ...]:
    slots: list[Slot] = []
    for rule in rules:
        try:
            slots += [Slot(rule.id, day, _instant(rule, day)) for day in _days(rule, first, last)]
        except OverflowError:
            raise BadInput("the dates leave the years 1 to 9999", rule.name, "give dates within them") from None
    return tuple(sorted(slots, key=lambda slot: (slot.start, slot.rule)))


def _days(rule: SlotRule, first: date, last: date) -> list[date]:
    """The days of a rule, those of each stretch of its life in turn, without those left out and with those added."""
    found: set[date] = set()
    for begin, end, times in rule.stretches:
        days = rrule(
            WEEKLY,
            byweekday=times.weekday,
            dtstart=datetime.combine(max(first, begin or first), time.min),
            until=datetime.combine(min(last, end or last), time.min),
        )
        found.update(day.date() for day in days)
    found.update(day for day in rule.added if first <= day <= last)
    return sorted(day for day in found if rule.comes_on(day))


def _instant(rule: SlotRule, day: date) -> datetime:
    times = rule.on(day)
    return instant(day, times.at, zone_named(times.zone, rule.name))
