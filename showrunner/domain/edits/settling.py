"""Settling a doubt: what it rested on stays and grows, and is never erased."""

from __future__ import annotations

from datetime import date

from showrunner.domain.book import Book
from showrunner.domain.edits.pieces import mark_shown
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.piece import Known
from showrunner.domain.words import day as day_words


def settle(
    book: Book,
    piece: str,
    known: Known,
    *,
    on: date,
    how: str,
    rests_on: str = "",
    when: FuzzyDate | None = None,
) -> Book:
    """Settle whether a piece was shown, or put down what was found and leave it unsure.

    Its evidence keeps every word it had; what it rests on now, and how and when that was settled, come after it.
    A date on which the piece was thought to have been shown becomes such words if it was not.

    Args:
        book: the book.
        piece: id of the piece.
        known: yes, no, or unsure still; the odds stay while it is unsure.
        on: the day it is settled.
        how: on what occasion (`stocktake`).
        rests_on: what it rests on now; empty for nothing in particular.
        when: when it was shown, as far as known; None keeps what was known.

    Raises:
        UnknownThing: there is no such piece.
        BadInput: a date with a piece that was not shown.
    """
    old = book.piece(piece).shown
    found = rests_on.strip()
    new = [f"once thought shown, {old.when.words}"] if known is Known.NO and old.when else []
    new.append(f"{how}, {day_words(on)}" + (f": {found}" if found else ""))
    parts = [old.evidence.strip(), *(part for part in new if part not in old.evidence)]
    return mark_shown(
        book,
        piece,
        known,
        odds=old.odds_unshown if known is Known.UNSURE else None,
        evidence="; ".join(part for part in parts if part),
        when=when or (None if known is Known.NO else old.when),
    )
