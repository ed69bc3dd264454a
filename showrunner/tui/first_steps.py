"""The first steps of a book, in order: which it still lacks, and which can be taken now."""

from __future__ import annotations

from enum import StrEnum

from showrunner.domain.book import Book
from showrunner.domain.collection import Collection, CollectionKind
from showrunner.domain.piece import Known


class Step(StrEnum):
    """The first steps, in the order in which they are offered."""

    HOUSE = "house"
    SLOT = "slot"
    COLLECTION = "collection"
    PIECES = "pieces"
    SERIES = "series"
    PLAN = "plan"
    CALENDAR = "calendar"


WORDS = {
    Step.HOUSE: "The house: where you live, and the hours you work",
    Step.SLOT: "A weekly slot: the day and time when you publish",
    Step.COLLECTION: "The collection: what your studies are about",
    Step.PIECES: "Its pieces: one after the other, or from a sheet you have",
    Step.SERIES: "The series: its slot, and the weeks between its studies",
    Step.PLAN: "The plan: a study for each piece, each with its date",
    Step.CALENDAR: "The calendar: the dates as a file for your calendar",
}
"""What each step is about."""

ENOUGH_SLOTS = 2
"""Weekly slots after which no further one is offered."""


def missing(book: Book) -> list[Step]:
    """The steps a book still lacks, in order."""
    keeping = {one.id for one in book.collections if one.kind is CollectionKind.KEEPING}
    pieces = [piece for piece in book.pieces if not keeping or piece.collection in keeping]
    dated = any(study.slot for study in book.studies)
    to_plan = not dated and (not pieces or any(piece.shown.known is not Known.YES for piece in pieces))
    lacks = {
        Step.HOUSE: not any(book.house.work_minutes),
        Step.SLOT: len(book.rules) < ENOUGH_SLOTS,
        Step.COLLECTION: not keeping and not book.series,
        Step.PIECES: not pieces,
        Step.SERIES: not book.series,
        Step.PLAN: to_plan,
        Step.CALENDAR: not book.calendar and (dated or to_plan),
    }
    return [step for step in Step if lacks[step]]


def kept_collection(book: Book) -> Collection | None:
    """The first collection that is kept, not shopped for."""
    return next((one for one in book.collections if one.kind is CollectionKind.KEEPING), None)


def is_ready(book: Book, step: Step) -> bool:
    """Whether all that a step rests on is there."""
    rests_on = {
        Step.SLOT: not any(book.house.work_minutes),
        Step.PIECES: kept_collection(book) is None,
        Step.SERIES: kept_collection(book) is None or not book.rules,
        Step.PLAN: not book.series or not any(book.house.work_minutes),
        Step.CALENDAR: not any(study.slot for study in book.studies),
    }
    return not rests_on.get(step, False)


def due(book: Book) -> Step | None:
    """The step without which nothing can be planned yet; None if a plan can be made."""
    found = [step for step in missing(book) if step not in (Step.PLAN, Step.CALENDAR)]
    return next((step for step in found if step is not Step.SLOT or not book.rules), None)
