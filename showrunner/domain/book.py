"""The book: the one value that holds everything, changed only by making a new one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from functools import cached_property
from typing import Any, TypeVar

from showrunner.domain.collection import Box, Collection
from showrunner.domain.episode import Episode, EpisodeKind, Pin, Series, StageMinutes
from showrunner.domain.house import HouseRules
from showrunner.domain.piece import Piece
from showrunner.domain.publication import CalendarEntry, Publication, Supporter
from showrunner.domain.shoot import LogLine, Shoot
from showrunner.domain.slot import BusyDay, DarkRange, SlotRule
from showrunner.domain.spans import joined
from showrunner.domain.wording import Wording
from showrunner.errors import BadInput, UnknownThing

R = TypeVar(
    "R",
    Collection,
    Box,
    Piece,
    Series,
    SlotRule,
    DarkRange,
    BusyDay,
    Episode,
    Pin,
    Publication,
    Supporter,
    Shoot,
    LogLine,
    Wording,
    CalendarEntry,
)

TABLES: Mapping[str, type[Any]] = {
    "collections": Collection,
    "boxes": Box,
    "pieces": Piece,
    "rules": SlotRule,
    "series": Series,
    "dark": DarkRange,
    "busy": BusyDay,
    "episodes": Episode,
    "pins": Pin,
    "publications": Publication,
    "supporters": Supporter,
    "shoots": Shoot,
    "log": LogLine,
    "wordings": Wording,
    "calendar": CalendarEntry,
}
"""Every table of the book and the type of its records; records stand in book order."""


YEARS = range(1900, 3000)
"""Years in which the day to compute for may lie; far outside them no calendar can be laid out."""


@dataclass(frozen=True)
class Book:
    """Everything the owner has told the program."""

    key: str
    """Random id of the book itself (UUID text), part of every calendar UID."""
    house: HouseRules = HouseRules()
    """House rules."""
    clock: date | None = None
    """Day the book's clock stands at (a demonstration); None for the real day."""
    collections: tuple[Collection, ...] = ()
    """Collections in book order."""
    boxes: tuple[Box, ...] = ()
    """Boxes and shelves in book order."""
    pieces: tuple[Piece, ...] = ()
    """Pieces in book order."""
    rules: tuple[SlotRule, ...] = ()
    """Slot rules in book order."""
    series: tuple[Series, ...] = ()
    """Series in book order."""
    dark: tuple[DarkRange, ...] = ()
    """Dark ranges in book order."""
    busy: tuple[BusyDay, ...] = ()
    """Days of which other calendars take a part."""
    episodes: tuple[Episode, ...] = ()
    """Studies and named filler in book order."""
    pins: tuple[Pin, ...] = ()
    """Pins in book order."""
    publications: tuple[Publication, ...] = ()
    """The record of publications, oldest entry first; append-only."""
    supporters: tuple[Supporter, ...] = ()
    """Supporters in book order."""
    shoots: tuple[Shoot, ...] = ()
    """Shoots, oldest first."""
    log: tuple[LogLine, ...] = ()
    """What happened in the shoots, oldest line first."""
    wordings: tuple[Wording, ...] = ()
    """What the columns of the owner's sheets mean, as mapped by hand, oldest first."""
    calendar: tuple[CalendarEntry, ...] = ()
    """What was last exported to calendars."""

    @cached_property
    def _indices(self) -> dict[str, dict[str, Any]]:
        return {}

    @cached_property
    def busy_minutes(self) -> Mapping[date, int]:
        """Minutes of each day that other calendars take; what two of them take at one time counts once."""
        spans: dict[date, list[tuple[int, int]]] = {}
        for one in self.busy:
            spans.setdefault(one.day, []).extend(one.spans)
        return {day: sum(end - start for start, end in joined(found)) for day, found in spans.items()}

    @cached_property
    def workless(self) -> tuple[tuple[date, date], ...]:
        """The stretches of days without work, first and last day, in order and apart."""
        found: list[tuple[date, date]] = []
        for first, last in sorted((dark.first, dark.last) for dark in self.dark if dark.no_work):
            if found and first <= found[-1][1]:
                found[-1] = (found[-1][0], max(found[-1][1], last))
            else:
                found.append((first, last))
        return tuple(found)

    def _index(self, table: str) -> dict[str, Any]:
        """The records of `table` by their ids, in book order."""
        index = self._indices.get(table)
        if index is None:
            index = self._indices[table] = {record.id: record for record in getattr(self, table)}
        return index

    def find(self, table: str, id: str) -> Any | None:
        """The record of `table` with this id, or None."""
        return self._index(table).get(id)

    def _get(self, table: str, kind: str, id: str) -> Any:
        record = self.find(table, id)
        if record is None:
            raise UnknownThing(f"the book holds no {kind} '{id}'", way_out="choose one that it holds")
        return record

    def piece(self, id: str) -> Piece:
        """The piece with this id; raises UnknownThing if there is none."""
        found: Piece = self._get("pieces", "piece", id)
        return found

    def episode(self, id: str) -> Episode:
        """The episode with this id; raises UnknownThing if there is none."""
        found: Episode = self._get("episodes", "episode", id)
        return found

    def series_of(self, id: str) -> Series:
        """The series with this id; raises UnknownThing if there is none."""
        found: Series = self._get("series", "series", id)
        return found

    def rule(self, id: str) -> SlotRule:
        """The slot rule with this id; raises UnknownThing if there is none."""
        found: SlotRule = self._get("rules", "slot rule", id)
        return found

    def collection(self, id: str) -> Collection:
        """The collection with this id; raises UnknownThing if there is none."""
        found: Collection = self._get("collections", "collection", id)
        return found

    def stages_of(self, study: Episode) -> StageMinutes:
        """Work on a study: its own, or that of its series; none for filler."""
        series = self.find("series", study.series)
        return study.stages or (series.stages if series else StageMinutes())

    def shoot(self, id: str) -> Shoot:
        """The shoot with this id; raises UnknownThing if there is none."""
        found: Shoot = self._get("shoots", "shoot", id)
        return found

    def log_of(self, shoot: str) -> tuple[LogLine, ...]:
        """The log of one shoot, oldest line first."""
        return tuple(line for line in self.log if line.shoot == shoot)

    def last_instant(self, shoot: str) -> datetime:
        """Instant of the last line in the log of a shoot; that of its beginning if there is none."""
        return max((line.at for line in self.log_of(shoot)), default=self.shoot(shoot).begun)

    @property
    def open_shoot(self) -> Shoot | None:
        """The shoot that is going on: the last one begun and not closed, or None."""
        return next((shoot for shoot in reversed(self.shoots) if not shoot.closed), None)

    @property
    def studies(self) -> tuple[Episode, ...]:
        """All studies, published or not, in book order."""
        return tuple(e for e in self.episodes if e.kind is EpisodeKind.STUDY)

    @property
    def open_studies(self) -> tuple[Episode, ...]:
        """Studies not yet published, in book order."""
        return tuple(e for e in self.studies if not e.published)

    def study_of_piece(self, piece: str) -> Episode | None:
        """The unpublished study that shows the piece, or None."""
        return next((e for e in self.open_studies if piece in e.pieces), None)

    def put(self, table: str, *records: R) -> Book:
        """A book in which each record stands in `table`: in place of the one with its id, or at the end.

        Raises:
            BadInput: two rows share one id already.
        """
        self.refuse_twins(table)
        index = {**self._index(table), **{record.id: record for record in records}}
        changes: dict[str, Any] = {table: tuple(index.values())}
        book = replace(self, **changes)
        book._indices[table] = index
        return book

    def drop(self, table: str, *ids: str) -> Book:
        """A book without the records of `table` that have these ids; this very one if there are none."""
        rows: tuple[Any, ...] = getattr(self, table)
        left = tuple(row for row in rows if row.id not in ids)
        return self if len(left) == len(rows) else self.with_table(table, left)

    def with_table(self, table: str, rows: tuple[Any, ...]) -> Book:
        """A book with the whole table replaced.

        Raises:
            BadInput: two rows share one id.
        """
        changes: dict[str, Any] = {table: rows}
        book = replace(self, **changes)
        book.refuse_twins(table)
        return book

    def refuse_twins(self, table: str) -> None:
        """Refuse a table in which two records share one id.

        Raises:
            BadInput: they do; it names the first that comes again.
        """
        rows = getattr(self, table)
        if len(self._index(table)) < len(rows):
            ids = [row.id for row in rows]
            again = next(id for place, id in enumerate(ids) if id in ids[:place])
            raise BadInput(f"two entries are both called '{again}'", table, "give one of them another number")
