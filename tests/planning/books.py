"""Small books for the planning tests; `demo()` is the demo book."""

from __future__ import annotations

from datetime import date, time
from functools import cache
from pathlib import Path

from showrunner.domain.book import Book
from showrunner.domain.collection import Collection
from showrunner.domain.episode import Episode, Series, StageMinutes
from showrunner.domain.house import HouseRules
from showrunner.domain.piece import Known, Piece, Shown
from showrunner.domain.slot import SlotRef, SlotRule
from showrunner.session import Session

TODAY = date(2026, 3, 2)


@cache
def demo() -> Book:
    """The demo book as a value, read once."""
    with Session.open(Path(__file__).parents[2] / "demo" / "book.json", write=False) as session:
        return session.book


def sunday(day: date) -> SlotRef:
    """The Sunday slot of a day."""
    return SlotRef(day, "sunday")


def small(
    studies: int = 3,
    *,
    work: tuple[int, int, int, int, int, int, int] = (0, 120, 120, 120, 0, 240, 120),
    unsure: int = 0,
    gaps: tuple[int, int, int] = (2, 3, 5),
    hours: int = 8,
) -> Book:
    """A book with one Sunday slot, one series and single-piece studies, 12 h of work a week and no standing work."""
    pieces = [Piece(f"{n:02}", f"Piece {n}", "dress") for n in range(studies)]
    pieces += [Piece(f"u{n}", f"Doubt {n}", "dress", shown=Shown(Known.UNSURE, 50)) for n in range(unsure)]
    return Book(
        key="6f6e2f0c-2f5e-4a3b-9a54-0f7f6d1c0a11",
        house=HouseRules(zone="Europe/Dublin", work_minutes=work),
        collections=(Collection("dress", "Dress"),),
        pieces=tuple(pieces),
        rules=(SlotRule("sunday", "feature", 6, time(9), "Europe/Dublin"),),
        series=(Series("looks", "Looks", "dress", ("sunday",), *gaps, StageMinutes(edit=60 * hours)),),
        episodes=tuple(Episode(f"s{n}", f"Study {n}", series="looks", pieces=(f"{n:02}",)) for n in range(studies)),
    )
