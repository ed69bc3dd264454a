"""Pickups: what was missed in a shoot and is still to be mended, by when, and with which opening of a box."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from showrunner.domain.book import Book
from showrunner.domain.episode import Episode, Stage
from showrunner.domain.shoot import LogKind, LogLine, Remedy
from showrunner.planning.hours import ready_day, work_minutes
from showrunner.planning.results import PickupWork, Task

Group = tuple[str, str]
"""What is mended together: id of the study, and the box that is opened; empty if none is."""
MENDS = (LogKind.DONE, LogKind.IN_WORDS, LogKind.SAID)
"""What mends a pickup of the same shot or point if it comes later in any log."""
TOUCHES = (Remedy.DETAIL, Remedy.REOPEN)
"""Remedies for which the piece is taken out of its box."""


def waiting_pickups(book: Book) -> tuple[LogLine, ...]:
    """Pickups of all shoots that are still to be mended, oldest first.

    One whose shot was taken, or whose point was said, later in its shoot or in another is mended by that; a newer
    one of the same takes its place.
    """
    waiting: dict[str, LogLine] = {}
    for line in book.log:
        if line.kind is LogKind.PICKUP:
            waiting[line.subject or line.id] = line
        elif line.kind is LogKind.MENDED:
            waiting = {about: kept for about, kept in waiting.items() if kept.id != line.subject}
        elif line.kind in MENDS:
            waiting.pop(line.subject, None)
    return tuple(waiting.values())


def box_of(book: Book, line: LogLine) -> str:
    """The box that a pickup is mended from; empty if the piece need not be taken out, or has none."""
    piece = book.find("pieces", line.piece)
    return piece.box if piece is not None and line.remedy in TOUCHES else ""


def offered(book: Book, pieces: Sequence[str], *, without: str = "") -> tuple[LogLine, ...]:
    """Waiting pickups that a shoot can take along: of its pieces, and from the boxes that are opened for them.

    Args:
        book: the book.
        pieces: ids of the pieces of the shoot.
        without: id of a shoot whose own pickups are left aside.
    """
    found = [piece for piece in (book.find("pieces", id) for id in pieces) if piece is not None]
    boxes = {piece.box for piece in found if piece.box}
    return tuple(
        line
        for line in waiting_pickups(book)
        if line.shoot != without and (line.piece in pieces or box_of(book, line) in boxes)
    )


def study_of(book: Book, line: LogLine) -> Episode | None:
    """The study that a pickup is for: of its shoot, the one that shows the piece."""
    shoot = book.find("shoots", line.shoot)
    studies = [book.find("episodes", id) for id in shoot.studies] if shoot else []
    there = [study for study in studies if study is not None]
    return next((study for study in there if line.piece in study.pieces), there[0] if there else None)


def pickups_of(book: Book, study: str) -> tuple[LogLine, ...]:
    """The pickups that wait for a study."""
    return tuple(line for line in waiting_pickups(book) if (found := study_of(book, line)) and found.id == study)


def pickup_work(book: Book, today: date, tasks: Sequence[Task]) -> tuple[PickupWork, ...]:
    """The waiting pickups as work: for each study those that need no box, and those from each box, by day.

    Args:
        book: the book.
        today: the first day there is.
        tasks: the dated work, whose shoots open boxes.
    """
    groups: dict[Group, list[LogLine]] = {}
    for line in waiting_pickups(book):
        groups.setdefault(_group(book, line), []).append(line)
    found = [_dated(book, today, tasks, lines, box) for (_, box), lines in groups.items()]
    return tuple(sorted(found, key=lambda work: (work.day is None, work.day or today)))


def waiting_groups(book: Book) -> set[Group]:
    """The studies and boxes for which pickups wait."""
    return {_group(book, line) for line in waiting_pickups(book)}


def ever_picked_up(book: Book) -> set[Group]:
    """The studies and boxes for which there ever were pickups."""
    return {_group(book, line) for line in book.log if line.kind is LogKind.PICKUP}


def _group(book: Book, line: LogLine) -> Group:
    study = study_of(book, line)
    return study.id if study else "", box_of(book, line)


def _dated(book: Book, today: date, tasks: Sequence[Task], lines: Sequence[LogLine], box: str) -> PickupWork:
    study = study_of(book, lines[0])
    slot = study.slot if study and not study.published else None
    due = today + timedelta(ready_day(book, today, slot)) if slot and slot.day >= today else None
    opening = next((task for task in tasks if box and task.stage is Stage.SHOOT and box in _boxes(book, task)), None)
    day, shoot = (due and _last_work_day(book, today, due)), ""
    if opening and (due is None or opening.day <= due):
        day, shoot = opening.day, opening.episode
    return PickupWork(tuple(lines), box, study.id if study else "", study.title if study else "", day, shoot, due)


def _boxes(book: Book, task: Task) -> set[str]:
    """The boxes that a shoot opens."""
    study = book.find("episodes", task.episode)
    pieces = [book.find("pieces", id) for id in study.pieces] if study else []
    return {piece.box for piece in pieces if piece is not None and piece.box}


def _last_work_day(book: Book, today: date, due: date) -> date:
    """The last day with hours of work from today through a day; today if there is none."""
    days = (due - timedelta(back) for back in range((due - today).days + 1))
    return next((day for day in days if work_minutes(book, day)), today)
