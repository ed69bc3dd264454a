"""When the collection that is shopped for can take over: its opening, the silence or overlap before it, its stock.

It opens once enough of it has arrived, by the latest days they are expected, its weeks of preparation are over, and a
slot it may have is free and leaves the hours: for the opening, and for preparing what it opens with, none of which can
be done before it is there. All that is planned stands where it does. Where the book has no series on the collection
yet, one like the series that ends is supposed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from enum import StrEnum
from math import ceil

from showrunner.domain.book import Book
from showrunner.domain.collection import Collection
from showrunner.domain.episode import Episode, Series
from showrunner.domain.piece import Known, Piece, Want, WantStatus
from showrunner.domain.record import record
from showrunner.domain.rules import Board
from showrunner.domain.slot import SlotRef
from showrunner.planning.hours import ready_day
from showrunner.planning.loads import study_load
from showrunner.planning.plan import HORIZON_WEEKS
from showrunner.planning.results import RunOut
from showrunner.planning.shortfalls import Room, room_of

OPENING, NEXT = "opening of the next series", "a study after that"
"""Ids of the study that is supposed to open the series, and of one that is supposed to follow."""

CHANCES = (10, 50, 90)
"""The ends that a handover is held against, in percent."""

LAST_WEEKS = 52
"""Weeks for which it is told how far apart studies may come from what there is."""


class State(StrEnum):
    """How far the next series is."""

    OPEN = "open"
    """It has opened already."""
    CAN_OPEN = "can open"
    """There is a first slot for its opening."""
    TOO_FEW = "too few"
    """Too few have arrived or are ordered with a day by which they come at the latest."""
    NO_SLOT = "no slot"
    """No slot within the weeks looked at is free and leaves the hours."""


@record
class Due:
    """A piece of the collection that is there or on its way, and from when it can be prepared."""

    piece: str
    """Id of the piece."""
    day: date
    """Day on which it came, or by which it surely comes; today if it is overdue."""
    minutes: int
    """Minutes of preparation."""
    overdue: bool
    """Whether it should have come by now."""


@record
class Opening:
    """The first slot in which the series can open."""

    slot: SlotRef
    """The slot."""
    pieces: tuple[str, ...]
    """Ids of the pieces it opens with, those there first."""
    enough: date
    """Day by which enough are there."""
    prepared: date
    """Day on which the weeks of preparation are over."""
    minutes: int
    """Minutes of work on the opening and on preparing the pieces."""
    needed: int
    """Minutes of everything that must be ready by then."""
    available: int
    """Working minutes from today through that day."""


@record
class Silence:
    """An end of the series before, with the silence or the overlap that goes with it."""

    chance: int
    """With what odds the end has come by then, in percent."""
    end: date | None
    """The day of the last study; None if beyond the days looked at."""
    days: int | None
    """Days from it to the first possible opening: above 0 silence, below 0 overlap; None if either is not known."""
    latest: SlotRef | None
    """The last slot in which the series can open with no more silence than wished; None if none can."""
    too_long: int
    """Days of silence beyond the wished, at the first possible opening; 0 if it is not too long."""


@record
class Stock:
    """How long pieces last, one a study."""

    pieces: int
    """How many pieces."""
    lasts_weeks: int
    """Weeks they last at the wished gap."""
    weeks_apart: int | None
    """Least whole weeks between studies with which they last a year; None if there are none."""


@record
class Feed:
    """The first study that a want could feed."""

    piece: str
    """Id of the piece."""
    ready: date | None
    """Day from which it can be shown; None if nobody knows when it comes."""
    slot: SlotRef | None
    """The slot of that study; None if there is none."""
    opens: bool
    """Whether that study is the opening."""


@record
class Handover:
    """When the next series can take over."""

    collection: str
    """Id of its collection."""
    series: str
    """Id of its series; empty if one is supposed."""
    after: str
    """Id of the series before it; empty if there is none."""
    state: State
    """How far it is."""
    opens_with: int
    """Pieces needed for the opening."""
    counted: int
    """Pieces that are there, or ordered with a latest day."""
    undated: int
    """Pieces ordered of which nobody knows by when they come."""
    overdue: tuple[str, ...]
    """Ids of pieces ordered that should have come by now; they are counted as coming today."""
    opening: Opening | None
    """The first possible opening; None if there is none, or it has opened."""
    silence_weeks: int
    """Most weeks of silence wished between the two."""
    silences: tuple[Silence, ...]
    """One for each end at 10, 50 and 90 percent; none without a series before."""
    wished_weeks: int
    """Wished gap between its studies."""
    stock: Stock
    """What is there by the opening; what is there now where no opening is known."""
    stock_ordered: Stock
    """The same with all that is ordered."""
    stock_wanted: Stock
    """The same with all that is wanted too."""
    feeds: tuple[Feed, ...]
    """For every want, in book order, the first study it could feed; declined ones feed none."""


def stock_of(pieces: int, wished_weeks: int) -> Stock:
    """How long pieces last at a gap, and the gap with which they last a year."""
    return Stock(pieces, pieces * wished_weeks, ceil(LAST_WEEKS / pieces) if pieces else None)


def hand_over(
    book: Book,
    today: date,
    collection: Collection,
    *,
    before: RunOut | None,
    silence_weeks: int | None = None,
    horizon_weeks: int = HORIZON_WEEKS,
) -> Handover | None:
    """When the series on a shopping collection can take over from the one that ends.

    Args:
        book: the book with the dates of the plan that stands.
        today: the present day.
        collection: the shopping collection.
        before: when the series before it ends; None if there is none.
        silence_weeks: most weeks of silence between the two; None for the wished gap of the series before.
        horizon_weeks: weeks looked ahead.

    Returns:
        None if the book has neither a series nor a slot yet.
    """
    return _Search(book, today, collection, before, silence_weeks, horizon_weeks).found() if book.rules else None


class _Search:
    """One handover being worked out."""

    def __init__(
        self,
        book: Book,
        today: date,
        collection: Collection,
        before: RunOut | None,
        silence_weeks: int | None,
        horizon_weeks: int,
    ) -> None:
        self.today, self.collection, self.before, self.weeks = today, collection, before, horizon_weeks
        self.ending = book.series_of(before.series) if before else None
        own = next((series for series in book.series if series.collection == collection.id), None)
        self.series = own or self._supposed(book)
        self.own = own.id if own else ""
        self.opened = Board(book).last_published(self.series.id) is not None
        open_studies = [e for e in book.open_studies if e.series == self.series.id and not self.opened]
        self.book = book.put("series", self.series).put("episodes", *(replace(e, slot=None) for e in open_studies))
        wished = self.ending.target_weeks if self.ending else self.series.target_weeks
        self.silence_weeks = wished if silence_weeks is None else silence_weeks
        self.pieces = [(p, p.want) for p in book.pieces if p.collection == collection.id]
        dues = [due for piece, want in self.pieces if (due := self._due(piece, want))]
        self.dues = sorted(dues, key=lambda due: (due.day, due.minutes))
        self.room = room_of(self.book, today, horizon_weeks=horizon_weeks)

    def _supposed(self, book: Book) -> Series:
        """A series like the one that ends; without one, in any slot."""
        name, id = self.collection.name, f"on {self.collection.id}"
        if self.ending is None:
            return Series(id, name, self.collection.id, tuple(rule.id for rule in book.rules))
        return replace(self.ending, id=id, name=name, collection=self.collection.id)

    def _due(self, piece: Piece, want: Want | None) -> Due | None:
        """From when a piece is there; None if nobody knows, or it has been shown."""
        if piece.shown.known is Known.YES:
            return None
        if want is None or want.status is WantStatus.ARRIVED:
            return Due(piece.id, self._came(piece, want), want.preparation_minutes if want else 0, overdue=False)
        if want.status is not WantStatus.ORDERED or want.expected is None or want.expected.latest is None:
            return None
        latest = want.expected.latest
        return Due(piece.id, max(latest, self.today), want.preparation_minutes, overdue=latest < self.today)

    def _came(self, piece: Piece, want: Want | None) -> date:
        """The day a piece came; where nobody knows, one so long ago that its preparation is over."""
        days = [step.day for step in (want.history if want else ()) if step.status is WantStatus.ARRIVED]
        if not days and piece.acquired and piece.acquired.latest:
            days = [piece.acquired.latest]
        long_ago = self.today - timedelta(weeks=self.collection.preparation_weeks)
        return min(days[-1], self.today) if days else long_ago

    def found(self) -> Handover:
        """The handover."""
        enough = len(self.dues) >= self.collection.opens_with
        opening = self._opening() if enough and not self.opened else None
        state = State.CAN_OPEN
        if self.opened:
            state = State.OPEN
        elif opening is None:
            state = State.NO_SLOT if enough else State.TOO_FEW
        until = opening.slot.day if opening else self.today
        there = sum(due.day <= until for due in self.dues)
        wanted = sum(want is not None and want.status is WantStatus.WANTED for _, want in self.pieces)
        ordered = [want for _, want in self.pieces if want and want.status is WantStatus.ORDERED]
        undated = sum(want.expected is None or want.expected.latest is None for want in ordered)
        all_ordered = len(self.dues) + undated
        gap = self.series.target_weeks
        return Handover(
            collection=self.collection.id,
            series=self.own,
            after=self.ending.id if self.ending else "",
            state=state,
            opens_with=self.collection.opens_with,
            counted=len(self.dues),
            undated=undated,
            overdue=tuple(due.piece for due in self.dues if due.overdue),
            opening=opening,
            silence_weeks=self.silence_weeks,
            silences=self._silences(opening),
            wished_weeks=gap,
            stock=stock_of(there, gap),
            stock_ordered=stock_of(all_ordered, gap),
            stock_wanted=stock_of(all_ordered + wanted, gap),
            feeds=self._feeds(opening),
        )

    # The opening

    def _study(self, dues: Sequence[Due], slot: SlotRef | None = None, id: str = OPENING) -> Episode:
        """A study of the series with the preparation of some pieces as part of its work."""
        own = self.series.stages
        stages = replace(own, condition_check=own.condition_check + sum(due.minutes for due in dues))
        return Episode(id, self.series.name, series=self.series.id, stages=stages, slot=slot)

    def _fits(self, room: Room, dues: Sequence[Due], slot: SlotRef, id: str = OPENING) -> bool:
        """Whether a study may stand in a slot: by every rule, and with hours left once each of the pieces is there.

        Work that cannot begin before a day fits if, beside the hours of everything from today, those of what begins
        on that day or later fit between it and the day they must be ready by.
        """
        if room.against(self._study(dues, id=id), slot) is not None:
            return False
        ready = ready_day(self.book, self.today, slot)
        for due in dues:
            since = max(0, (due.day - self.today).days)
            minutes = sum(other.minutes for other in dues if other.day >= due.day)
            if minutes and (since > ready or minutes > room.time[ready] - (room.time[since - 1] if since else 0)):
                return False
        return True

    def _slots(self, first: date, last: date | None = None) -> list[SlotRef]:
        """The slots that the series may have, from a day on."""
        return [
            slot.ref
            for slot in self.room.slots
            if slot.rule in self.series.rules and first <= slot.day and (last is None or slot.day <= last)
        ]

    @property
    def _first_ones(self) -> list[Due]:
        return self.dues[: self.collection.opens_with]

    @property
    def _prepared(self) -> date:
        """Day on which the weeks of preparation of what it opens with are over."""
        return self._first_ones[-1].day + timedelta(weeks=self.collection.preparation_weeks)

    def _opening(self) -> Opening | None:
        dues = self._first_ones
        slot = next(
            (slot for slot in self._slots(max(self._prepared, self.today)) if self._fits(self.room, dues, slot)), None
        )
        if slot is None:
            return None
        load = study_load(self.book, self.today, self._study(dues, slot))
        ready = ready_day(self.book, self.today, slot)
        with_it = replace(self.room, book=self.book.put("episodes", self._study(dues, slot)))
        available = self.room.time[ready] if ready >= 0 else 0
        spare = with_it.spare_beside[ready] - sum(other.minutes for other in with_it.loads if other.ready <= ready)
        return Opening(
            slot=slot,
            pieces=tuple(due.piece for due in dues),
            enough=dues[-1].day,
            prepared=self._prepared,
            minutes=load.minutes if load else 0,
            needed=available - spare,
            available=available,
        )

    # Silence

    def _silences(self, opening: Opening | None) -> tuple[Silence, ...]:
        if self.before is None or self.opened:
            return ()
        found = []
        for chance, end in zip(CHANCES, self.before.quantiles, strict=True):
            days = (opening.slot.day - end).days if opening and end else None
            most = 7 * self.silence_weeks
            latest = self._latest(end + timedelta(most)) if opening and end else None
            found.append(Silence(chance, end, days, latest, max(0, days - most) if days is not None else 0))
        return tuple(found)

    def _latest(self, last: date) -> SlotRef | None:
        slots = reversed(self._slots(self._prepared, last))
        return next((slot for slot in slots if self._fits(self.room, self._first_ones, slot)), None)

    # What each could feed

    def _feeds(self, opening: Opening | None) -> tuple[Feed, ...]:
        dues = {due.piece: due for due in self.dues}
        first = {due.piece for due in self._first_ones} if opening else set()
        room = self.room
        if opening:
            room = replace(room, book=self.book.put("episodes", self._study(self._first_ones, opening.slot)))
        known: dict[tuple[date, int], SlotRef | None] = {}
        found = []
        for piece, want in self.pieces:
            if want is None:
                continue
            due = dues.get(piece.id)
            if due is None or not (opening or self.opened):
                found.append(Feed(piece.id, None, None, opens=False))
                continue
            ready = due.day + timedelta(weeks=self.collection.preparation_weeks)
            together = [*self._first_ones, due]
            if opening and (
                piece.id in first or (ready <= opening.slot.day and self._fits(self.room, together, opening.slot))
            ):
                found.append(Feed(piece.id, ready, opening.slot, opens=True))
                continue
            key = (due.day, due.minutes)
            if key not in known:
                since = max(ready, opening.slot.day) if opening else ready
                alone = [due]
                known[key] = next((slot for slot in self._slots(since) if self._fits(room, alone, slot, NEXT)), None)
            found.append(Feed(piece.id, ready, known[key], opens=False))
        return tuple(found)
