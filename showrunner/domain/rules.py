"""The hard rules of placing, each stated once: when it is kept, who takes part, its words, and what would relax it.

The search, its score, the explanation of a date, moving by hand, refusals, `check` and what comes in by a file all
ask here. A rule that is broken is a value, a `Breach`; its words are made last, and nothing decides by them.

How hours are counted is for planning; this module says when they are kept and how that is told.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from enum import StrEnum
from functools import cached_property
from itertools import chain
from zoneinfo import ZoneInfo

from showrunner.domain.book import Book
from showrunner.domain.episode import Episode, EpisodeKind, PinKind, Series, Window
from showrunner.domain.house import DAY_MINUTES, WEEKDAYS
from showrunner.domain.record import record
from showrunner.domain.slot import DarkRange, SlotRef, SlotRule
from showrunner.domain.titles import quoted, slot_words, title_of
from showrunner.domain.windows import inside, window_words
from showrunner.domain.words import count, days, hours, weeks
from showrunner.domain.words import day as day_words


class Rule(StrEnum):
    """A hard rule."""

    SLOT = "slot"
    """A study airs on a day of a weekly slot, from the first to the last day that the slot is there."""
    ALLOWED = "allowed"
    """Its series may use that slot."""
    HELD = "held"
    """A slot of named filler, or of what is on record, is taken."""
    TAKEN = "taken"
    """A slot holds one study."""
    DARK = "dark"
    """Nothing is published in a dark range that says so."""
    WINDOW = "window"
    """A study with hard windows falls in one of them."""
    GAP = "gap"
    """Between two studies of a series lie at least as many weeks as the series says, from the last published on."""
    DATE = "date"
    """A study promised for a slot stands in it."""
    ORDER = "order"
    """A study promised after another has a slot only if the other has an earlier one."""
    PAIR = "pair"
    """Two pieces promised together are in one study."""
    HOURS = "hours"
    """Until every day, what must be ready by then takes no more than the working hours."""
    TODAY = "today"
    """What must have been ready before today has no work left, and nothing is promised for a past day."""
    HORIZON = "horizon"
    """Only the weeks looked at are planned."""


@record
class Member:
    """Something of the book that takes part in a clash and could be relaxed."""

    rule: Rule
    """The rule it belongs to."""
    id: str = ""
    """Of a pin, a study with windows, a slot rule, a dark range, a series; of a slot `DAY RULE`; empty for hours."""


@record
class Breach:
    """A hard rule that a study would break in a slot."""

    rule: Rule
    """The rule."""
    members: tuple[Member, ...]
    """What could be relaxed so that it is kept; empty where nothing could."""
    study: str
    """Id of the study."""
    slot: SlotRef
    """Where it would stand."""
    other: str = ""
    """The other study of TAKEN, GAP and ORDER (empty: the last published one); the holder of HELD, by title."""
    amount: int = 0
    """GAP: days between the two; HOURS and TODAY: minutes missing."""


@record
class Terms:
    """What the rules look at of one study."""

    study: str
    """Its id; `piece:ID` for one that does not exist yet."""
    series: Series | None
    """Its series; None if the book does not hold it."""
    windows: tuple[Window, ...] = ()
    """Its windows."""

    @property
    def hard(self) -> tuple[Window, ...]:
        """Its hard windows."""
        return tuple(window for window in self.windows if window.hard)


def terms_of(book: Book, study: Episode) -> Terms:
    """What the rules look at of a study of the book."""
    return Terms(study.id, book.find("series", study.series), study.windows)


@dataclass(frozen=True)
class Board:
    """A book as the rules see it; made once and asked often."""

    book: Book
    """The book."""

    @cached_property
    def held(self) -> dict[SlotRef, str]:
        """Slots that are taken whatever is planned, with the title of what holds them."""
        held: dict[SlotRef, str] = {}
        for line in self.book.publications:
            came = line.actual.latest if line.actual and line.actual.is_exact else None
            held.update({SlotRef(day, line.rule): line.title for day in (line.planned, came) if day is not None})
        for episode in self.book.episodes:
            if episode.kind is EpisodeKind.FILLER and episode.slot and not episode.published:
                held[episode.slot] = episode.title
        return held

    @cached_property
    def silent(self) -> tuple[DarkRange, ...]:
        """The dark ranges without publication."""
        return tuple(dark for dark in self.book.dark if dark.no_publication)

    @cached_property
    def dates(self) -> dict[str, tuple[tuple[str, SlotRef], ...]]:
        """For every open study that is promised for a slot, the pins and their slots."""
        found: dict[str, tuple[tuple[str, SlotRef], ...]] = {}
        dates = [(pin, study) for pin in self.book.pins if pin.kind is PinKind.DATE for study in pin.episodes]
        for pin, study in dates:
            if pin.slot is not None and self.is_open(study):
                found[study] = (*found.get(study, ()), (pin.id, pin.slot))
        return found

    @cached_property
    def orders(self) -> tuple[tuple[str, str, str], ...]:
        """The order pins of two open studies: pin, first, second."""
        return tuple(
            (pin.id, pin.episodes[0], pin.episodes[1])
            for pin in self.book.pins
            if pin.kind is PinKind.ORDER and all(map(self.is_open, pin.episodes))
        )

    def is_open(self, episode: str) -> bool:
        """Whether the book holds the episode and it is not published."""
        found = self.book.find("episodes", episode)
        return found is not None and not found.published

    def is_silent(self, day: date) -> bool:
        """Whether nothing is published on a day."""
        return any(dark.covers(day) for dark in self.silent)

    def last_published(self, series: str) -> date | None:
        """The latest day a study of the series can have come out; None if none has."""
        return self._last.get(series)

    @cached_property
    def _last(self) -> dict[str, date]:
        found: dict[str, date] = {}
        for line in self.book.publications:
            series = line.series or getattr(self.book.find("episodes", line.episode), "series", "")
            if line.day and series:
                found[series] = max(line.day, found.get(series, line.day))
        return found

    def turn(self, slot: SlotRef) -> tuple[date, datetime]:
        """What tells which of two slots comes first: the day on its own wall clock, then the instant (UTC).

        Only in zones far apart do the two differ: the morning of a Sunday may come before the Saturday evening
        of another zone. Days decide, since work and gaps are counted in days.
        """
        return slot.day, self._instant(slot)

    def _instant(self, slot: SlotRef) -> datetime:
        """The instant of a slot; noon UTC of its day if its rule or zone is unknown."""
        rule: SlotRule | None = self.book.find("rules", slot.rule)
        try:
            times = rule.on(slot.day) if rule else None
            zone = ZoneInfo(times.zone) if times else None
        except (OSError, ValueError, LookupError):
            zone = None
        if times is None or zone is None:
            return datetime(slot.day.year, slot.day.month, slot.day.day, 12, tzinfo=UTC)
        return datetime.combine(slot.day, times.at.replace(fold=0), zone).astimezone(UTC)

    # The rules

    def against_slot(self, terms: Terms, slot: SlotRef) -> Iterator[Breach]:
        """The rules that keep a study out of a slot whatever else is planned, its own promise left aside."""

        def breach(kind: Rule, *members: Member, other: str = "", amount: int = 0) -> Breach:
            return Breach(kind, members, terms.study, slot, other, amount)

        rule: SlotRule | None = self.book.find("rules", slot.rule)
        series = terms.series
        if rule and not rule.comes_on(slot.day):
            bounded = slot.day.weekday() == rule.on(slot.day).weekday and not rule.holds_on(slot.day)
            yield breach(Rule.SLOT, *([Member(Rule.SLOT, rule.id)] if bounded else []))
        if series and slot.rule not in series.rules:
            yield breach(Rule.ALLOWED)
        if terms.hard and not inside(terms.hard, slot.day):
            yield breach(Rule.WINDOW, Member(Rule.WINDOW, terms.study))
        for dark in self.silent:
            if dark.covers(slot.day):
                yield breach(Rule.DARK, Member(Rule.DARK, dark.id))
        if slot in self.held:
            member = Member(Rule.HELD, f"{slot.day.isoformat()} {slot.rule}")
            yield breach(Rule.HELD, member, other=self.held[slot])
        last = self.last_published(series.id) if series else None
        if series and last and (slot.day - last).days < 7 * series.min_weeks:
            yield breach(Rule.GAP, Member(Rule.GAP, series.id), amount=(slot.day - last).days)

    def broken(self, since: date) -> dict[str, Breach]:
        """The open studies, by id, that stand from a day on where they may not, each with the first rule against it.

        What a study breaks with another one is a matter of the later of the two.
        """
        standing = [(study, study.slot) for study in self.book.open_studies if study.slot and study.slot.day >= since]
        found = {}
        for study, slot in standing:
            terms = terms_of(self.book, study)
            before = [(terms_of(self.book, o), there) for o, there in standing if self.turn(there) < self.turn(slot)]
            others = (self.against_other(terms, slot, other, there) for other, there in before)
            if breach := next(chain(self.against_slot(terms, slot), *others), None):
                found[study.id] = breach
        return found

    def against_date(self, terms: Terms, slot: SlotRef) -> Iterator[Breach]:
        """The study's own promise of a date, if the slot is another one."""
        for pin, promised in self.dates.get(terms.study, ()):
            if promised != slot:
                yield Breach(Rule.DATE, (Member(Rule.DATE, pin),), terms.study, slot)

    def against_other(self, terms: Terms, slot: SlotRef, other: Terms, there: SlotRef) -> Iterator[Breach]:
        """The rules between two studies that stand in two slots."""
        if slot == there:
            yield Breach(Rule.TAKEN, (), terms.study, slot, other.study)
        elif terms.series and other.series and terms.series.id == other.series.id:
            apart = abs((slot.day - there.day).days)
            if apart < 7 * terms.series.min_weeks:
                members = (Member(Rule.GAP, terms.series.id),)
                yield Breach(Rule.GAP, members, terms.study, slot, other.study, apart)

    def against_orders(self, study: str, slot: SlotRef, slots: Mapping[str, SlotRef]) -> Iterator[Breach]:
        """The promised orders that a study in a slot would break.

        Args:
            study: the study.
            slot: where it would stand.
            slots: where the other studies stand; those missing have no slot.
        """
        for pin, first, second in self.orders:
            if study == second:
                there = slots.get(first)
                kept = there is not None and self.turn(there) < self.turn(slot)
            elif study == first and second in slots:
                kept = self.turn(slot) < self.turn(slots[second])
            else:
                continue
            if not kept:
                other = first if study == second else second
                yield Breach(Rule.ORDER, (Member(Rule.ORDER, pin),), study, slot, other)

    def against(self, terms: Terms, slot: SlotRef, others: Iterable[tuple[Terms, SlotRef]]) -> Iterator[Breach]:
        """Every rule but the hours that a study would break in a slot, with the others where they are."""
        yield from self.against_slot(terms, slot)
        yield from self.against_date(terms, slot)
        slots = {}
        for other, there in others:
            slots[other.study] = there
            yield from self.against_other(terms, slot, other, there)
        yield from self.against_orders(terms.study, slot, slots)


def missing_hours(needed: int, available: int) -> int:
    """Minutes by which the rule of hours is broken on a day; 0 if it is kept."""
    return max(0, needed - available)


# Words


def not_a_slot(rule: SlotRule, day: date) -> str:
    """Why a day is no slot of a rule, in words; empty if it is one."""
    if rule.comes_on(day):
        return ""
    usual = rule.on(day).weekday
    if day.weekday() != usual:
        then = "" if rule.on(day) is rule else " then"
        return f"{day_words(day)} is a {WEEKDAYS[day.weekday()]}, and {rule.name} comes on {WEEKDAYS[usual]}s{then}"
    if day in rule.left_out:
        return f"{rule.name} is left out on {day_words(day)}"
    if rule.first and day < rule.first:
        return f"{rule.name} starts on {day_words(rule.first)}, after {day_words(day)}"
    if rule.last and day > rule.last:
        return f"{rule.name} ends on {day_words(rule.last)}, before {day_words(day)}"
    return ""


def clause(book: Book, breach: Breach) -> str:
    """A breach in words, with its number, to follow `but` or a colon; the study is `it`."""
    slot, other = breach.slot, quoted(title_of(book, breach.other)) if breach.other else "the last published one"
    study = book.find("episodes", breach.study)
    series = book.find("series", study.series) if study else None
    match breach.rule:
        case Rule.SLOT:
            return not_a_slot(book.rule(slot.rule), slot.day)
        case Rule.ALLOWED:
            rule = book.find("rules", slot.rule)
            return f"{series.name if series else 'its series'} may not use {rule.name if rule else slot.rule}"
        case Rule.HELD:
            return f"{quoted(breach.other)} holds that slot"
        case Rule.TAKEN:
            return f"{other} is planned there"
        case Rule.DARK:
            dark = next(d for d in book.dark if d.no_publication and d.covers(slot.day))
            return f"nothing is published {days(dark.first, dark.last)}"
        case Rule.WINDOW:
            return f"it must fall in {windows_words(study.windows if study else ())}"
        case Rule.GAP:
            (member,) = breach.members
            least = count(book.series_of(member.id).min_weeks, "week")
            if breach.amount < 0:
                return f"it would come before {other}"
            return f"it would be {weeks(breach.amount)} from {other}, and {least} is the least"
        case Rule.DATE:
            (member,) = breach.members
            promised = next(p.slot for p in book.pins if p.slot and p.id == member.id)
            return f"it is promised for {slot_words(book, promised)}"
        case Rule.ORDER:
            (member,) = breach.members
            pin = next(p for p in book.pins if p.id == member.id)
            return f"it is promised {'after' if pin.episodes[1] == breach.study else 'before'} {other}"
        case Rule.HOURS:
            return f"the work would be {hours(breach.amount)} short"
        case Rule.TODAY:
            return f"it would have to be ready already, and {hours(breach.amount)} of work are left"
        case _:  # pairs and the weeks looked at are broken by no slot
            raise ValueError(breach.rule)


def windows_words(windows: Iterable[Window]) -> str:
    """The hard ones of some windows in words."""
    return " or ".join(window_words(window) for window in windows if window.hard)


def way_out_of(breach: Breach) -> str:
    """What would let a promised date keep a rule of `Board.against_slot`, in words."""
    return {
        Rule.SLOT: "pin it to a slot",
        Rule.ALLOWED: "pin it to a slot of its series, or allow the slot",
        Rule.HELD: "free the slot, or unpin the study",
        Rule.DARK: "unpin it, or change the days without publication",
        Rule.WINDOW: "pin it to a date inside, or make the window soft",
        Rule.GAP: "unpin it, or allow a smaller gap",
    }[breach.rule]


# Relaxing


def relaxed(book: Book, member: Member) -> Book:
    """The book without one member of a clash; used to find out which of them are needed for it."""
    match member.rule:
        case Rule.DATE | Rule.ORDER | Rule.PAIR:
            return book.drop("pins", member.id)
        case Rule.WINDOW:
            study = book.episode(member.id)
            return book.put("episodes", replace(study, windows=tuple(w for w in study.windows if not w.hard)))
        case Rule.SLOT:
            return book.put("rules", replace(book.rule(member.id), first=None, last=None))
        case Rule.DARK:
            dark = next(d for d in book.dark if d.id == member.id)
            return book.put("dark", replace(dark, no_publication=False)) if dark.no_work else book.drop("dark", dark.id)
        case Rule.GAP:
            return book.put("series", replace(book.series_of(member.id), min_weeks=0))
        case Rule.HELD:
            return _unheld(book, member.id)
        case Rule.HOURS:
            day = DAY_MINUTES
            rules = tuple(replace(rule, standing_minutes=0) for rule in book.rules)
            silent = tuple(replace(d, no_work=False) for d in book.dark if d.no_publication)
            house = replace(book.house, work_minutes=(day, day, day, day, day, day, day))
            return replace(book, rules=rules, dark=silent, house=house)
        case _:
            return book


def _unheld(book: Book, id: str) -> Book:
    """The book in which nothing holds a slot; a line of the record keeps its day, so that gaps stay."""
    day, _, rule = id.partition(" ")
    slot = SlotRef(date.fromisoformat(day), rule)
    fillers = [e for e in book.episodes if e.slot == slot and e.kind is EpisodeKind.FILLER and not e.published]
    holds = [
        line
        for line in book.publications
        if line.rule == rule and slot.day in (line.planned, line.actual.latest if line.actual else None)
    ]
    book = book.put("episodes", *(replace(e, slot=None) for e in fillers))
    return book.put("publications", *(replace(line, rule="") for line in holds))
