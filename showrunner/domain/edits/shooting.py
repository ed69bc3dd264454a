"""Edits of a shoot: its log only grows, and everything found goes to the piece at once."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime
from typing import Any

from showrunner.domain.book import Book
from showrunner.domain.edits.checks import need_open_study
from showrunner.domain.edits.ids import shoot_id
from showrunner.domain.edits.pieces import add_claim
from showrunner.domain.episode import Stage
from showrunner.domain.piece import Claim, Condition, Confidence, Exposure, View
from showrunner.domain.shoot import LogKind, LogLine, Shoot
from showrunner.domain.titles import quoted
from showrunner.domain.words import listing
from showrunner.errors import BadInput


def begin_shoot(book: Book, studies: Sequence[str], at: datetime) -> tuple[Book, Shoot]:
    """Begin a shoot of one study or of several.

    Raises:
        UnknownThing: there is no such study.
        BadInput: a study is published or shows no piece, or another shoot is not closed yet.
    """
    if (going := book.open_shoot) is not None:
        titles = listing([quoted(book.episode(id).title) for id in going.studies])
        raise BadInput(f"the shoot of {titles} is not closed yet", "shoot", "close it first")
    for id in studies:
        if not need_open_study(book, id).pieces:
            raise BadInput("it shows no piece", quoted(book.episode(id).title), "put a piece into it first")
    shoot = Shoot(shoot_id(book), tuple(dict.fromkeys(studies)), at)
    return book.put("shoots", shoot), shoot


def log(book: Book, shoot: str, at: datetime, kind: LogKind, **what: Any) -> Book:
    """Add a line to the log of a shoot that goes on.

    A clock that was set back never stops the shoot: the line then has the time of the one before it.

    Args:
        book: the book.
        shoot: id of the shoot.
        at: instant, UTC.
        kind: what the line says.
        what: further fields of the line.

    Raises:
        UnknownThing: there is no such shoot, or it names no piece of the book.
        BadInput: the shoot is closed, and the line is not that a pickup was mended.
    """
    found = book.shoot(shoot)
    if found.closed and kind is not LogKind.MENDED:
        raise BadInput("it is closed", f"shoot {shoot}", "begin another")
    if what.get("piece"):
        book.piece(what["piece"])
    lines = book.log_of(shoot)
    last = re.fullmatch(rf"{re.escape(shoot)}-([0-9]{{1,9}})", lines[-1].id) if lines else None
    number = int(last[1]) + 1 if last else len(lines) + 1
    while book.find("log", f"{shoot}-{number:04}") is not None:
        number += 1
    at = max(at, book.last_instant(shoot))
    return book.put("log", LogLine(f"{shoot}-{number:04}", shoot, at, kind, **what))


def discover(
    book: Book,
    shoot: str,
    at: datetime,
    piece: str,
    text: str,
    confidence: Confidence,
    view: View | None = None,
    about: str = "",
    *,
    local_day: date,
) -> Book:
    """Keep what was found while filming: in the log, and as a claim of the piece.

    A claim about the same thing that stands is superseded and stays where it is.

    Args:
        book: the book.
        shoot: id of the shoot.
        at: instant, UTC.
        piece: id of the piece.
        text: what was found.
        confidence: how firmly it is held.
        view: the view in which it was seen.
        about: what it is about, as the claim it supersedes says; empty for something new.
        local_day: the day at home.

    Raises:
        UnknownThing, BadInput: as `log`, or nothing is written.
    """
    if not text.strip():
        raise BadInput("a discovery needs words", "discovery", "say what was found")
    book = log(book, shoot, at, LogKind.FOUND, piece=piece, text=text, confidence=confidence, view=view)
    line = book.log_of(shoot)[-1]
    study = next((id for id in book.shoot(shoot).studies if piece in book.episode(id).pieces), "")
    basis = f"found while filming{f', {view.value}' if view else ''}"
    subject = about.strip() or "found"
    claim = Claim(subject, text.strip(), confidence, basis, local_day, study=study, found=line.at)
    return add_claim(book, piece, claim, supersedes=bool(about.strip()))


def write_condition(
    book: Book, shoot: str, piece: str, entries: Sequence[tuple[str, str]], day: date, *, after: bool
) -> Book:
    """Put the condition of a piece before or after a shoot on record, in place of what was written for it before.

    Args:
        book: the book.
        shoot: id of the shoot.
        piece: id of the piece.
        entries: place and condition of each part.
        day: the day.
        after: whether it was seen after the shoot.

    Raises:
        UnknownThing: there is no such shoot or piece.
        BadInput: nothing is written, or a place or its condition is empty.
    """
    book.shoot(shoot)
    found = book.piece(piece)
    if not entries or any(not place.strip() or not text.strip() for place, text in entries):
        raise BadInput("a place and its condition are needed", found.name, "write it like: all: sound; hem: one tear")
    kept = tuple(e for e in found.condition if not (e.shoot == shoot and e.after is after))
    new = tuple(Condition(day, place.strip(), text.strip(), shoot, after) for place, text in entries)
    return book.put("pieces", replace(found, condition=(*kept, *new)))


def close_shoot(
    book: Book,
    shoot: str,
    at: datetime,
    day: date,
    exposures: Mapping[str, tuple[int, int]],
    estimates: Mapping[str, int],
    reason: str = "",
    unfilmed: Collection[str] = (),
) -> Book:
    """Close a shoot: light and touches go to each piece's year, and the filming of its studies is done.

    Args:
        book: the book.
        shoot: id of the shoot.
        at: instant, UTC.
        day: the day at home.
        exposures: for each piece its lux hours and touches in the shoot.
        estimates: for each study its estimated run time, seconds.
        reason: why things were left open; empty if none were.
        unfilmed: ids of studies of which nothing was filmed, so that their filming is still to be done.

    Raises:
        UnknownThing: there is no such shoot or piece.
        BadInput: it is closed already.
    """
    found = book.shoot(shoot)
    book = log(book, shoot, at, LogKind.CLOSED, text=reason)
    pieces = []
    for id, (lux_hours, touches) in exposures.items():
        piece = book.piece(id)
        what = listing([quoted(book.episode(study).title) for study in found.studies])
        kept = tuple(e for e in piece.exposures if e.shoot != shoot)
        pieces.append(replace(piece, exposures=(*kept, Exposure(day, lux_hours, touches, what, shoot))))
    studies = []
    for id in found.studies:
        study = book.episode(id)
        if id in unfilmed:
            continue
        done = tuple(stage for stage in Stage if stage in study.done or stage is Stage.SHOOT)
        studies.append(replace(study, done=done, estimate_seconds=estimates.get(id, study.estimate_seconds)))
    closed = replace(found, closed=True, estimate_seconds=sum(estimates.values()))
    return book.put("pieces", *pieces).put("episodes", *studies).put("shoots", closed)


def add_exposure(book: Book, piece: str, exposure: Exposure) -> Book:
    """Put light or handling outside a shoot on record (a display, a visitor).

    Raises:
        UnknownThing: there is no such piece.
    """
    found = book.piece(piece)
    return book.put("pieces", replace(found, exposures=(*found.exposures, exposure)))
