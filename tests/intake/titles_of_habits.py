"""300 invented titles of past episodes and the 120 invented pieces they are about, with the truth beside them.

The titles were written by hand, thirty for each of ten habits of naming; every second one of a habit was kept aside
while the rules of matching were written. The truth is the ids of the pieces shown, `none`, or `unknown` where no
reader of the book could tell.
"""

from __future__ import annotations

import csv
from collections import Counter
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path

from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.piece import Feature, Known, Piece, Shown
from showrunner.intake.matching import Likeness, Match, Showing, match
from showrunner.storage.edtf_text import parse_made

FOLDER = Path(__file__).parent / "titles"


@dataclass(frozen=True)
class Told:
    """A title with the truth beside it."""

    habit: str
    half: str
    showing: Showing
    truth: frozenset[str] | None
    """Ids of the pieces that it shows, none of which if it shows none; None where it cannot be known."""


def _date(text: str) -> FuzzyDate:
    return FuzzyDate.exact(date.fromisoformat(text)) if len(text) == 10 else parse_made(text)


def _rows(name: str) -> list[dict[str, str]]:
    with (FOLDER / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file, delimiter=";"))


@cache
def pieces() -> tuple[Piece, ...]:
    """The pieces."""
    return tuple(
        Piece(
            row["id"],
            row["name"],
            "chest",
            row["kind"],
            made=_date(row["made"]),
            acquired=_date(row["acquired"]),
            materials=tuple(row["materials"].split(", ")),
            features=tuple(Feature(what) for what in row["features"].split(", ")),
            notes=row["notes"],
            shown=Shown(Known.YES, when=_date(row["shown"])) if row["shown"] else Shown(),
        )
        for row in _rows("pieces.csv")
    )


@cache
def told(half: str) -> tuple[Told, ...]:
    """The titles of one half, `writing` or `kept`."""
    return tuple(
        Told(
            row["habit"],
            row["half"],
            Showing(row["title"], _date(row["day"]) if row["day"] else None),
            None if row["truth"] == "unknown" else frozenset(row["truth"].replace("none", "").split()),
        )
        for row in _rows("titles.csv")
        if row["half"] == half
    )


def verdict(one: Told, found: Match) -> str:
    """How a match holds against the truth.

    Returns:
        `wrong` where something sure is not so; `found` where all pieces of the title, and no other, are sure or come
        first among the likely; `offered` where they are among those offered; `quiet` where nothing is said of a title
        that shows nothing, or `noise`, where something is; `open` where it cannot be known; else `missed`.
    """
    if not set(found.pieces) <= (one.truth or frozenset()):
        return "wrong"
    if one.truth is None:
        return "open"
    if not one.truth:
        return "quiet" if found.likeness is Likeness.NONE else "noise"
    first = {candidate.piece for candidate in found.candidates[: len(one.truth) - len(found.pieces)]}
    if {*found.pieces, *first} == one.truth:
        return "found"
    offered = {*found.pieces, *(candidate.piece for candidate in found.candidates)}
    return "offered" if one.truth <= offered else "missed"


def tally(half: str, *, days: bool = True) -> dict[str, Counter[str]]:
    """How the titles of one half come out, by habit."""
    listed = told(half)
    showings = [one.showing if days else Showing(one.showing.title, None) for one in listed]
    count: dict[str, Counter[str]] = {}
    for one, found in zip(listed, match(showings, pieces()).matches, strict=True):
        count.setdefault(one.habit, Counter())[verdict(one, found)] += 1
    return count
