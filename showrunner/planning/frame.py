"""From the book to the placing problem: which studies, which slots, which hours."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from itertools import accumulate

from showrunner.domain.book import Book
from showrunner.domain.episode import Episode, PinKind, Series, Window
from showrunner.domain.piece import Known
from showrunner.domain.slot import Slot, SlotRef
from showrunner.domain.windows import Interval, intervals
from showrunner.planning.hours import (
    StandingWork,
    held_slots,
    is_dark,
    ready_day,
    spare_time,
    standing_work,
    working_time,
)
from showrunner.planning.problem import Need, Problem, Spacing
from showrunner.planning.results import Unsure
from showrunner.planning.slots import expand

YEAR = timedelta(days=366)


@dataclass(frozen=True, slots=True)
class Candidate:
    """A study to be placed, existing or implied by a piece that is in none."""

    key: str
    """Id of the study, or `piece:ID`."""
    title: str
    """Its title."""
    series: Series
    """Its series."""
    pieces: tuple[str, ...]
    """Ids of its pieces."""
    windows: tuple[Window, ...]
    """Its windows."""
    minutes: int
    """Minutes of work not yet done."""
    planned: SlotRef | None
    """The slot it is planned for."""
    pinned: SlotRef | None
    """The slot a date pin promises."""
    implied: bool
    """Whether the book holds no such study yet."""


@dataclass(frozen=True, slots=True)
class Frame:
    """A placing problem and what its numbers stand for."""

    book: Book
    """The book."""
    today: date
    """Day offset 0."""
    problem: Problem
    """The problem; `needs` stand in the order of `candidates`, `spacings` in the order of `book.series`."""
    candidates: tuple[Candidate, ...]
    """Studies to place, in book order, implied ones last."""
    every_slot: tuple[Slot, ...]
    """All slots of all rules from today to the horizon."""
    held: dict[SlotRef, str]
    """Slots taken whatever is planned, with what holds them."""
    time: tuple[int, ...]
    """Working minutes from today through every day offset."""
    standing: tuple[StandingWork, ...]
    """Standing work if no study is placed."""
    left_out: tuple[str, ...]
    """Unsure pieces in no study that were left out."""
    horizon_weeks: int
    """Weeks looked ahead."""


def candidates(book: Book, unsure: Unsure) -> tuple[tuple[Candidate, ...], tuple[str, ...]]:
    """The studies to place, and the unsure pieces left out.

    An unpublished study is placed unless unsure pieces are taken as shown and they are all it had to
    show. A piece that is surely unshown and in no study counts as a study of its own; an unsure one only
    if unsure pieces are taken as unshown.
    """
    found: list[Candidate] = []
    pins = {pin.episodes[0]: pin.slot for pin in book.pins if pin.kind is PinKind.DATE}
    for study in book.open_studies:
        known = {piece.shown.known for id in study.pieces if (piece := book.find("pieces", id))}
        if unsure is Unsure.SHOWN and Known.UNSURE in known and Known.NO not in known:
            continue
        found.append(_of_study(book, study, pins.get(study.id)))
    placed = {piece for study in book.open_studies for piece in study.pieces}
    series_of = {series.collection: series for series in reversed(book.series)}
    left_out: list[str] = []
    for piece in book.pieces:
        series = series_of.get(piece.collection)
        if piece.id in placed or piece.want is not None or series is None or piece.shown.known is Known.YES:
            continue
        if piece.shown.known is Known.UNSURE and unsure is not Unsure.UNSHOWN:
            if unsure is Unsure.LEFT_OUT:
                left_out.append(piece.id)
            continue
        minutes = series.stages.left(())
        key = f"piece:{piece.id}"
        found.append(Candidate(key, piece.name, series, (piece.id,), (), minutes, None, None, implied=True))
    return tuple(found), tuple(left_out)


def _of_study(book: Book, study: Episode, pinned: SlotRef | None) -> Candidate:
    series = book.series_of(study.series)
    minutes = 0 if study.finished else (study.stages or series.stages).left(study.done)
    return Candidate(
        study.id, study.title, series, study.pieces, study.windows, minutes, study.slot, pinned, implied=False
    )


def last_published(book: Book, series: str) -> date | None:
    """The latest day a study of the series can have come out; None if none has."""
    days = [
        line.day
        for line in book.publications
        if line.day and series == (line.series or getattr(book.find("episodes", line.episode), "series", ""))
    ]
    return max(days, default=None)


def frame(
    book: Book,
    today: date,
    studies: tuple[Candidate, ...],
    *,
    horizon_weeks: int,
    keep: bool = False,
    left_out: tuple[str, ...] = (),
) -> Frame:
    """The placing problem of the book.

    Args:
        book: the book.
        today: the present day.
        studies: what is to be placed.
        horizon_weeks: weeks to look ahead.
        keep: whether already planned studies should move as little as can be.
        left_out: carried along.
    """
    last = today + timedelta(weeks=horizon_weeks)
    every = expand(book.rules, today, last)
    held = held_slots(book)
    days = (last - today).days + 1
    time = working_time(book, today, days)
    standing = standing_work(book, today, every, (), time)
    freed = {work.slot.ref: work.minutes for work in standing}
    allowed = {rule for series in book.series for rule in series.rules}
    slots = tuple(s for s in every if s.rule in allowed and s.ref not in held and not is_dark(book, s.day))
    index = {slot.ref: at for at, slot in enumerate(slots)}
    order_of = {series.id: at for at, series in enumerate(book.series)}
    names = {study.key for study in studies}
    after: dict[str, list[str]] = {}
    for pin in book.pins:
        if pin.kind is PinKind.ORDER and set(pin.episodes) <= names:
            after.setdefault(pin.episodes[1], []).append(pin.episodes[0])
    needs = tuple(
        Need(
            key=study.key,
            order=at,
            series=order_of[study.series.id],
            minutes=study.minutes,
            cost=_costs(study, slots, last),
            after=tuple(sorted(after.get(study.key, ()))),
            planned_slot=index.get(study.planned) if study.planned else None,
            planned_day=(study.planned.day - today).days if study.planned else None,
        )
        for at, study in enumerate(studies)
    )
    spacings = []
    for series in book.series:
        before = last_published(book, series.id)
        offset = (before - today).days if before else None
        spacings.append(Spacing(7 * series.min_weeks, 7 * series.target_weeks, offset))
    problem = Problem(
        slots=slots,
        days=tuple((slot.day - today).days for slot in slots),
        ready=tuple(accumulate((ready_day(book, today, slot) for slot in slots), max)),
        standing=tuple(freed.get(slot.ref, 0) for slot in slots),
        spare=spare_time(time, standing),
        needs=needs,
        spacings=tuple(spacings),
        keep=keep,
    )
    return Frame(book, today, problem, studies, every, held, time, standing, left_out, horizon_weeks)


def stretches(windows: tuple[Window, ...], hard: bool, first: date, last: date) -> tuple[Interval, ...]:
    """The stretches of days of the hard, or of the soft, windows within a year of `first` to `last`."""
    return tuple(
        stretch for window in windows if window.hard is hard for stretch in intervals(window, first - YEAR, last + YEAR)
    )


def days_outside(day: date, spans: tuple[Interval, ...]) -> int:
    """Days between `day` and the nearest of the stretches; 0 inside one or if there are none."""
    return min((max((first - day).days, (day - last).days, 0) for first, last in spans), default=0)


def _costs(study: Candidate, slots: tuple[Slot, ...], last: date) -> tuple[int | None, ...]:
    """Window cost of every slot in days squared; None where a hard rule forbids it."""
    first = slots[0].day if slots else last
    hard, soft = (stretches(study.windows, kind, first, last) for kind in (True, False))
    must = any(window.hard for window in study.windows)
    costs: list[int | None] = []
    for slot in slots:
        barred = slot.rule not in study.series.rules or (study.pinned not in (None, slot.ref))
        if barred or (must and not any(a <= slot.day <= b for a, b in hard)):
            costs.append(None)
        else:
            costs.append(days_outside(slot.day, soft) ** 2)
    return tuple(costs)
