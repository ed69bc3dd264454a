"""Still pictures for the small daily posts: what a shoot should yield, what is banked, and how long that lasts."""

from __future__ import annotations

from datetime import date, timedelta

from showrunner.domain.book import Book
from showrunner.domain.episode import Episode
from showrunner.domain.package import Still
from showrunner.domain.piece import Piece, Presence
from showrunner.domain.record import record
from showrunner.domain.titles import piece_name
from showrunner.planning.shots import MUST_OR_SHOULD, views_of

WEEK = 7
"""Days of a week without a shoot."""


@record
class StillBank:
    """The stills that are there for the small posts."""

    banked: tuple[tuple[str, Still], ...]
    """Stills not posted yet, each with the id of its study, oldest first."""
    posts_a_day: int
    """Small posts a day; 0 if none are made."""
    days: int
    """Whole days that the bank covers."""
    last: date | None
    """The last day it covers; None if not even today."""
    week_short: int
    """Stills missing for a week without a shoot; 0 if the bank has enough."""
    week_left: int
    """Stills left after such a week."""


def still_bank(book: Book, today: date) -> StillBank:
    """What is banked, and for how long it does from today on."""
    banked = tuple((e.id, still) for e in book.studies for still in e.package.stills if still.posted is None)
    rate = book.house.posts_a_day
    days = len(banked) // rate if rate else 0
    week = WEEK * rate
    last = today + timedelta(days - 1) if days else None
    return StillBank(banked, rate, days, last, max(0, week - len(banked)), max(0, len(banked) - week))


def should_yield(book: Book, study: Episode) -> tuple[Still, ...]:
    """The stills that the shoot of a study should yield: of each piece one whole view, and its features.

    Features that are absent give no picture; those that may be left out (importance 3) are not asked for.
    """
    found = []
    for id in study.pieces:
        piece: Piece | None = book.find("pieces", id)
        if piece is None:
            continue
        views, _ = views_of(piece, book.house)
        found += [Still(id, seen.view.value) for seen in views[:1]]
        found += [
            Still(id, feature.what)
            for feature in piece.features
            if feature.importance <= MUST_OR_SHOULD and feature.presence is not Presence.ABSENT
        ]
    return tuple(found)


def still_missing(book: Book, study: Episode) -> tuple[Still, ...]:
    """The stills that its shoot should have yielded and that are not there."""
    there = {(still.piece, still.what) for still in study.package.stills}
    return tuple(still for still in should_yield(book, study) if (still.piece, still.what) not in there)


def alt_text(book: Book, still: Still) -> str:
    """What a still shows, in words: the owner's own, or the piece, its date as far as it is known, and the feature."""
    if still.alt.strip():
        return still.alt.strip()
    piece: Piece | None = book.find("pieces", still.piece)
    name = piece_name(book, still.piece)
    made = f", {piece.made.words}" if piece and piece.made else ""
    feature = next((f for f in piece.features if f.what == still.what), None) if piece else None
    where = f", {feature.where}" if feature and feature.where else ""
    trace = " (only a trace is left)" if feature and feature.presence is Presence.TRACE else ""
    return f"{name}{made}: {still.what}{where}{trace}."
