"""The record of publications slot by slot: what was planned and what came, runs, gaps, and whether the pace changed.

The pace of a series is judged by an individuals chart (XmR) of the days between its studies: what lies within the
limits is its usual unevenness, and only what lies outside is a sign that something changed.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from enum import StrEnum
from fractions import Fraction
from itertools import pairwise

from showrunner.domain.book import Book
from showrunner.domain.episode import Episode, EpisodeKind
from showrunner.domain.publication import Publication
from showrunner.domain.record import record
from showrunner.domain.rules import Board
from showrunner.domain.slot import SlotRef
from showrunner.planning.bank import bank_cover
from showrunner.planning.results import BankCover
from showrunner.planning.slots import expand

WIDTH = Fraction(3000, 1128)
"""Average moving ranges between the mean and a limit: 3 over d2 = 1.128, the bias of ranges of two."""
CHANGE = Fraction(3267, 1000)
"""D4 of ranges of two: the most that a moving range is usually, in average ones."""
LEAST_GAPS = 6
"""Gaps from which on limits are worked out; of fewer nothing is said."""
ONE_SIDE = 8
"""Gaps in a row on one side of the mean that are a sign of a changed pace."""
AHEAD_WEEKS = 8
"""Weeks in which empty slots are looked for."""


class Outcome(StrEnum):
    """What came of a slot."""

    ON_TIME = "on time"
    """What was planned for it came by then."""
    LATE = "late"
    """What was planned for it surely came later."""
    MISSED = "missed"
    """What was planned for it did not come."""
    CAME = "came"
    """Something came in it; what was planned for it is not known."""
    UNKNOWN = "not on record"
    """The record does not say."""


KEPT = (Outcome.ON_TIME, Outcome.CAME)
"""Outcomes with which something came out in the slot."""


@record
class PastSlot:
    """A slot that is over."""

    slot: SlotRef
    """The slot."""
    outcome: Outcome
    """What came of it."""
    titles: tuple[str, ...]
    """What was planned for it or came in it, as recorded."""
    late_days: int | None = None
    """Days by which what was planned for it was late, if it was and the day is known."""


@record
class Run:
    """Slots in a row that were kept."""

    slots: int
    """How many; 0 if there is none."""
    first: date | None
    """Day of the first; None if there is none."""
    last: date | None
    """Day of the last; None if there is none."""


@record
class Gap:
    """Days between two days on which something came out."""

    days: int
    """How many."""
    first: date
    """The earlier day."""
    last: date
    """The later day."""


@record
class RuleRecord:
    """How one weekly slot was kept."""

    rule: str
    """Id of the slot rule."""
    name: str
    """Its name."""
    slots: tuple[PastSlot, ...]
    """Every slot since the first line on record, oldest first; those on which nothing was to be published are not."""
    run: Run
    """The slots kept in a row up to the last one."""
    longest: Run
    """The most kept in a row; of equal ones the latest."""
    gap: Gap | None
    """The longest time between two that came out; None if there are not two. Days that are not known are left out."""

    def count(self, outcome: Outcome) -> int:
        """Slots with an outcome."""
        return sum(slot.outcome is outcome for slot in self.slots)


class Sign(StrEnum):
    """What says that the pace of a series changed."""

    OUTSIDE = "outside"
    """A gap is beyond a limit."""
    JUMP = "jump"
    """A gap differs from the one before it by more than is usual."""
    ONE_SIDE = "one side"
    """So many gaps in a row lie on one side of the mean."""


@record
class Signal:
    """A sign of a changed pace."""

    sign: Sign
    """Which."""
    at: int
    """Index of the gap; of several the last one."""


@record
class Pace:
    """The gaps of a series on an individuals chart; days as exact numbers."""

    series: str
    """Id of the series."""
    name: str
    """Its name."""
    gaps: tuple[Gap, ...]
    """The gaps between studies whose days are known, oldest first; none reaches over one whose day is not."""
    vague: int
    """Studies whose day is not known, which no gap is told of."""
    mean: Fraction | None
    """Mean of the gaps; None if there are too few of them."""
    low: Fraction
    """Lower limit, at least 0."""
    high: Fraction
    """Upper limit."""
    most_change: Fraction
    """The most by which a gap usually differs from the one before it."""
    signals: tuple[Signal, ...]
    """What lies outside, by gap."""

    @property
    def changed_lately(self) -> tuple[Signal, ...]:
        """The signals at the last gap."""
        return tuple(signal for signal in self.signals if signal.at == len(self.gaps) - 1)


@record
class EmptySlot:
    """A slot ahead in which nothing that has a name stands."""

    slot: SlotRef
    """The slot."""
    name: str
    """Name of its rule."""
    offer: Episode | None
    """Filler without a slot that could go there; None if the pool has none left for it."""


@record
class SlotRecord:
    """The record of all slots, and what stands before the next ones."""

    rules: tuple[RuleRecord, ...]
    """By slot rule, in book order."""
    paces: tuple[Pace, ...]
    """By series with a study on record, in book order."""
    bank: tuple[BankCover, ...]
    """The weeks that the bank covers, by slot rule."""
    empty: tuple[EmptySlot, ...]
    """Empty slots of the next weeks, by day."""
    pool: tuple[Episode, ...]
    """All filler without a slot, in book order."""


def slot_record(book: Book, today: date, *, horizon_weeks: int = 78) -> SlotRecord:
    """The record of the slots as of a day.

    Args:
        book: the book.
        today: the present day; slots before it are over, and one of it if it is on record.
        horizon_weeks: weeks looked ahead for the bank.
    """
    pool = tuple(e for e in book.episodes if e.kind is EpisodeKind.FILLER and not e.published and e.slot is None)
    paces = (pace(book, series.id) for series in book.series)
    return SlotRecord(
        rules=tuple(_rule_record(book, rule.id, today) for rule in book.rules),
        paces=tuple(found for found in paces if found.gaps or found.vague),
        bank=bank_cover(book, today, horizon_weeks),
        empty=_empty(book, today, pool),
        pool=pool,
    )


def _rule_record(book: Book, rule: str, today: date) -> RuleRecord:
    lines = [line for line in book.publications if line.rule == rule]
    planned: dict[date, list[Publication]] = {}
    came: dict[date, list[Publication]] = {}
    for line in lines:
        if line.planned:
            planned.setdefault(line.planned, []).append(line)
        if line.actual and line.actual.is_exact and line.actual.latest:
            came.setdefault(line.actual.latest, []).append(line)
    days = sorted({*planned, *came})
    board, slots = Board(book), []
    for slot in expand([book.rule(rule)], days[0], today) if days else ():
        on_record = slot.day in planned or slot.day in came
        if on_record or (slot.day < today and not board.is_silent(slot.day)):
            slots.append(_past(slot.ref, planned.get(slot.day, []), came.get(slot.day, [])))
    out = sorted(came)
    gaps = [Gap((later - day).days, day, later) for day, later in pairwise(out)]
    longest = max(gaps, key=lambda gap: (gap.days, gap.last), default=None)
    runs = _runs(slots)
    now = runs[-1] if runs and slots[-1].outcome in KEPT else Run(0, None, None)
    most = max(runs, key=lambda run: (run.slots, run.last), default=Run(0, None, None))
    return RuleRecord(rule, book.rule(rule).name, tuple(slots), now, most, longest)


def _past(slot: SlotRef, planned: Sequence[Publication], came: Sequence[Publication]) -> PastSlot:
    """What came of a slot: of several lines for it the best counts."""
    titles = tuple(dict.fromkeys(line.title for line in (*planned, *came)))
    if any(not line.late_or_missed for line in planned):
        return PastSlot(slot, Outcome.ON_TIME, titles)
    if came:
        return PastSlot(slot, Outcome.CAME, titles)
    late = [line for line in planned if line.actual is not None]
    if late:
        days = [
            (line.actual.earliest - slot.day).days
            for line in late
            if line.actual and line.actual.is_exact and line.actual.earliest
        ]
        return PastSlot(slot, Outcome.LATE, titles, min(days, default=None))
    return PastSlot(slot, Outcome.MISSED if planned else Outcome.UNKNOWN, titles)


def _runs(slots: Sequence[PastSlot]) -> list[Run]:
    """The slots kept in a row, oldest first."""
    found: list[Run] = []
    open_run: list[PastSlot] = []
    for slot in [*slots, None]:
        if slot is not None and slot.outcome in KEPT:
            open_run.append(slot)
        elif open_run:
            found.append(Run(len(open_run), open_run[0].slot.day, open_run[-1].slot.day))
            open_run = []
    return found


def pace(book: Book, series: str) -> Pace:
    """The pace of a series: its gaps, their limits, and what lies outside.

    Raises:
        UnknownThing: there is no such series.
    """
    lines = [line for line in book.publications if line.series == series and line.actual]
    exact = sorted({line.day for line in lines if line.day and line.actual and line.actual.is_exact})
    vague = [line.actual for line in lines if line.actual and not line.actual.is_exact]
    gaps = tuple(
        Gap((later - day).days, day, later)
        for day, later in pairwise(exact)
        if not any((one.earliest or date.min) < later and (one.latest or date.max) > day for one in vague)
    )
    name = book.series_of(series).name
    if len(gaps) < LEAST_GAPS:
        return Pace(series, name, gaps, len(vague), None, Fraction(0), Fraction(0), Fraction(0), ())
    mean, low, high, most = limits([gap.days for gap in gaps])
    low = max(Fraction(0), low)
    return Pace(series, name, gaps, len(vague), mean, low, high, most, _signals(gaps, mean, low, high, most))


def limits(values: Sequence[Fraction | int]) -> tuple[Fraction, Fraction, Fraction, Fraction]:
    """Mean, lower and upper limit of two values or more, and the upper limit of their moving ranges (XmR)."""
    exact = [Fraction(value) for value in values]
    mean = sum(exact, Fraction(0)) / len(exact)
    moving = sum((abs(later - before) for before, later in pairwise(exact)), Fraction(0)) / (len(exact) - 1)
    return mean, mean - WIDTH * moving, mean + WIDTH * moving, CHANGE * moving


def _signals(gaps: Sequence[Gap], mean: Fraction, low: Fraction, high: Fraction, most: Fraction) -> tuple[Signal, ...]:
    found = []
    side, run = 0, 0
    for at, gap in enumerate(gaps):
        if not low <= gap.days <= high:
            found.append(Signal(Sign.OUTSIDE, at))
        if at and abs(gap.days - gaps[at - 1].days) > most:
            found.append(Signal(Sign.JUMP, at))
        here = (gap.days > mean) - (gap.days < mean)
        run = run + 1 if here and here == side else 1 if here else 0
        side = here
        if run >= ONE_SIDE:
            found.append(Signal(Sign.ONE_SIDE, at))
    return tuple(found)


def _empty(book: Book, today: date, pool: Sequence[Episode]) -> tuple[EmptySlot, ...]:
    """Slots of the next weeks in which nothing that has a name stands, each with filler from the pool.

    Of a slot's filler what is finished comes first, then ideas of the study that aired last before it, then the others
    in book order; each is offered once. An idea is not offered for a slot before its study airs.
    """
    board = Board(book)
    taken = {e.slot for e in book.episodes if e.slot and not e.published} | board.held.keys()
    airs = {e.id: e.slot.day for e in book.open_studies if e.slot}
    airs |= {line.episode: line.day for line in book.publications if line.episode and line.day}
    left = list(pool)
    found = []
    for slot in expand(book.rules, today, today + timedelta(weeks=AHEAD_WEEKS)):
        if slot.ref in taken or board.is_silent(slot.day):
            continue
        fitting = [e for e in left if e.rule in ("", slot.rule) and airs.get(e.idea_of, slot.day) <= slot.day]
        offer = min(fitting, key=lambda e: (not e.finished, _since(airs.get(e.idea_of), slot.day)), default=None)
        if offer:
            left.remove(offer)
        found.append(EmptySlot(slot.ref, book.rule(slot.rule).name, offer))
    return tuple(found)


def _since(airs: date | None, day: date) -> int:
    """Days from the study that an idea comes from to a slot; more than any for an idea of no dated study."""
    return (day - airs).days if airs else date.max.toordinal()
