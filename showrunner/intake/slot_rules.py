"""Which weekly slot an episode came out in, and which slots a list of episodes shows that a book without any has.

- A slot that the list names is that one. Without a name, an exact day belongs to the slot of its weekday.
- On another weekday it counts for the slot that passed last before it, and that is told: it may have slipped, but
  without the planned day no slip is recorded.
- A book without slots gets them from the list: one for each slot that it names, else one for each weekday on which
  at least a tenth of the dated episodes, and no fewer than three, came out.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import date, datetime, time
from zoneinfo import ZoneInfo

from showrunner.domain import words
from showrunner.domain.edits.ids import free_id
from showrunner.domain.house import WEEKDAYS
from showrunner.domain.record import record
from showrunner.domain.slot import SlotRule
from showrunner.intake.columns import plain_name

NOON = time(12)
"""Time of a slot that nothing tells."""
SHARE = 10
"""A weekday is a slot if at least one in so many episodes came out on it."""
LEAST = 3
"""Fewest episodes that make a weekday a slot."""


@record
class Dated:
    """What slots are told by of one episode."""

    day: date | None
    """The day it came out, if that is known; else the day it was planned for."""
    instant: datetime | None
    """The moment it came out, if known, UTC."""
    slot: str
    """The slot the list names; empty if none."""


def derived_rules(episodes: Sequence[Dated], zone: str) -> tuple[SlotRule, ...]:
    """The weekly slots of a list of episodes, by weekday; none if it shows no rhythm."""
    named: dict[str, list[Dated]] = {}
    for episode in episodes:
        if episode.slot and episode.day:
            named.setdefault(plain_name(episode.slot), []).append(episode)
    if named:
        groups = [(found[0].slot, _weekday(found), found) for found in named.values()]
    else:
        dated = [e for e in episodes if e.day]
        days = Counter(e.day.weekday() for e in dated if e.day)
        often = [day for day, times in days.items() if times >= max(LEAST, len(dated) / SHARE)]
        groups = [
            (f"{WEEKDAYS[day]} slot", day, [e for e in dated if e.day and e.day.weekday() == day]) for day in often
        ]
    rules: dict[str, SlotRule] = {}
    for name, weekday, found in sorted(groups, key=lambda group: (group[1], group[0])):
        id = free_id(name, rules.keys(), "slot")
        rules[id] = SlotRule(id, name, weekday, _time(found, weekday, zone), zone)
    return tuple(rules.values())


def _weekday(episodes: Sequence[Dated]) -> int:
    times = Counter(e.day.weekday() for e in episodes if e.day)
    return max(times, key=lambda day: (times[day], -day))


def _time(episodes: Sequence[Dated], weekday: int, zone: str) -> time:
    """The time of day at which most of them came out."""
    local = (e.instant.astimezone(ZoneInfo(zone)) for e in episodes if e.instant)
    times = Counter(t.time().replace(second=0, microsecond=0) for t in local if t.weekday() == weekday)
    return max(times, key=lambda at: (times[at], at)) if times else NOON


def rule_words(rule: SlotRule) -> str:
    """A slot in words: `Wednesday 18:30 (making diary)`."""
    return f"{WEEKDAYS[rule.weekday]} {rule.at:%H:%M} ({rule.name})"


def named_rule(rules: Sequence[SlotRule], name: str) -> SlotRule | None:
    """The slot a list names by its id, its name or its weekday, if only one answers to that."""
    plain = plain_name(name)
    for rule in rules:
        if name == rule.id or plain in (plain_name(rule.id), plain_name(rule.name)):
            return rule
    if len(plain) < len("Wed"):
        return None
    on_day = [rule for rule in rules if WEEKDAYS[rule.weekday].casefold().startswith(plain)]
    return on_day[0] if len(on_day) == 1 else None


def rule_of_day(rules: Sequence[SlotRule], day: date, among: Sequence[str] = ()) -> tuple[SlotRule | None, str]:
    """The slot that a day belongs to, and what is odd about it.

    Args:
        rules: the slots of the book.
        day: the day an episode came out.
        among: ids of the slots it may have had; none for any.
    """
    allowed = [rule for rule in rules if not among or rule.id in among]
    able = [rule for rule in allowed if rule.holds_on(day)] or allowed
    same = [rule for rule in able if rule.weekday == day.weekday()]
    if same:
        odd = f"two slots are on a {WEEKDAYS[day.weekday()]}; {same[0].name} is taken"
        return same[0], odd if len(same) > 1 else ""
    if not able:
        return None, ""
    nearest = min(able, key=lambda rule: (day.weekday() - rule.weekday) % 7)
    late = words.count((day.weekday() - nearest.weekday) % 7, "day")
    odd = f"it came out on a {WEEKDAYS[day.weekday()]}, {late} after the slot {nearest.name}; perhaps it slipped"
    return nearest, odd
