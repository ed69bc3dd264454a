"""The stocktake: which doubts there are, in which order they are worth settling, and the walk through them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.collection import CollectionKind
from showrunner.domain.episode import Series
from showrunner.domain.piece import Known, Piece
from showrunner.domain.record import record
from showrunner.planning.results import Doubt, RunOut

EVEN = 50
"""Odds, in percent, of the greatest doubt."""


def pieces_of(book: Book) -> tuple[Piece, ...]:
    """Every piece that counts: of a keeping collection, and none that is still shopped for."""
    keeping = {c.id for c in book.collections if c.kind is CollectionKind.KEEPING}
    return tuple(piece for piece in book.pieces if piece.collection in keeping and piece.want is None)


def unsure(book: Book) -> tuple[Piece, ...]:
    """The doubts: pieces of which it is not sure whether they were shown, in book order."""
    return tuple(piece for piece in pieces_of(book) if piece.shown.known is Known.UNSURE)


def unsupported(book: Book) -> tuple[Piece, ...]:
    """Pieces marked shown although nothing says when or on what that rests; they are in no range."""
    found = (piece for piece in pieces_of(book) if piece.shown.known is Known.YES)
    return tuple(piece for piece in found if piece.shown.when is None and not piece.shown.evidence.strip())


def left(book: Book, collection: str = "") -> tuple[int, int]:
    """Least and most pieces left to show.

    Args:
        book: the book.
        collection: id of a collection; empty for all keeping ones together.
    """
    pieces = [piece for piece in pieces_of(book) if collection in ("", piece.collection)]
    least = sum(piece.shown.known is Known.NO for piece in pieces)
    return least, least + sum(piece.shown.known is Known.UNSURE for piece in pieces)


def if_settled(book: Book, piece: str) -> tuple[tuple[int, int], tuple[int, int]]:
    """Least and most pieces left of a doubt's collection if it was shown, and if it was not."""
    low, high = left(book, book.piece(piece).collection)
    return (low, high - 1), (low + 1, high)


def series_to_forecast(book: Book) -> tuple[Series, ...]:
    """The first series of every keeping collection, in the order of the series: what a forecast can be made of."""
    keeping = {c.id for c in book.collections if c.kind is CollectionKind.KEEPING}
    first = {series.collection: series for series in reversed(book.series) if series.collection in keeping}
    return tuple(series for series in book.series if first.get(series.collection) is series)


def line_up(book: Book, forecasts: Iterable[RunOut] = ()) -> tuple[str, ...]:
    """Ids of the doubts, most worth settling first.

    Those that a forecast knows stand in its order; then the others, odds nearest to even first, then book order.

    Args:
        book: the book.
        forecasts: run-outs of its series.
    """
    doubts = {piece.id: piece for piece in unsure(book)}
    known = [doubt.piece for forecast in forecasts for doubt in forecast.doubts]
    rest = sorted(doubts.values(), key=lambda piece: abs(piece.shown.odds_unshown - EVEN))
    return tuple(dict.fromkeys(id for id in (*known, *(piece.id for piece in rest)) if id in doubts))


def doubt_in(forecasts: Iterable[RunOut], piece: str) -> Doubt | None:
    """What the forecasts say of a doubt; None if none of them knows it."""
    return next((doubt for forecast in forecasts for doubt in forecast.doubts if doubt.piece == piece), None)


@record
class Walk:
    """Where a stocktake stands. It follows the book: what the book says is settled is settled."""

    now: str = ""
    """Id of the doubt in view; empty when none is open."""
    coming: tuple[str, ...] = ()
    """The other open doubts, in the order in which they come into view; those left for later at the end."""
    later: tuple[str, ...] = ()
    """Open doubts left for later, in the order in which they were left."""
    settled: tuple[str, ...] = ()
    """Doubts that were settled since the stocktake began, the last one last."""

    @property
    def open(self) -> tuple[str, ...]:
        """Every open doubt, that in view first."""
        return ((self.now,) if self.now else ()) + self.coming

    def follow(self, book: Book, order: Sequence[str]) -> Walk:
        """The walk after a change of the book, or with a better order.

        The doubt in view stays in view as long as it is open, so that a key never answers for another one. One that
        was settled and is open again, because that was undone, comes back into view.

        Args:
            book: the book as it is now.
            order: ids of its doubts, most worth settling first.
        """
        doubts = set(order)
        back = [id for id in self.settled if id in doubts]
        gone = [id for id in self.open if id not in doubts and book.find("pieces", id) is not None]
        settled = tuple(id for id in (*self.settled, *gone) if id not in doubts and book.find("pieces", id) is not None)
        later = tuple(id for id in self.later if id in doubts)
        queue = [*(id for id in order if id not in later), *later]
        now = back[-1] if back else self.now if self.now in doubts else queue[0] if queue else ""
        return Walk(now, tuple(id for id in queue if id != now), later, settled)

    def leave(self) -> Walk:
        """The walk with the doubt in view left for later: it goes to the end."""
        if not self.coming:
            return self
        later = (*(id for id in self.later if id != self.now), self.now)
        return replace(self, now=self.coming[0], coming=(*self.coming[1:], self.now), later=later)

    def begin_with_most_worth(self, order: Sequence[str]) -> Walk:
        """The walk begun anew in a better order, if nothing was answered or left yet."""
        if self.settled or self.later or not order:
            return self
        return replace(self, now=order[0], coming=tuple(order[1:]))


def end_words(quantiles: tuple[date | None, date | None, date | None], horizon_end: date) -> str:
    """The end from its 10% to its 90% day, by months: `between October and November 2026`.

    Args:
        quantiles: 10%, 50% and 90% end; None if beyond the days looked at.
        horizon_end: the last day looked at.
    """
    low, _, high = quantiles
    if low is None:
        return f"after {words.day(horizon_end)}"
    if high is None:
        return f"between {low:%B %Y} and a day after {horizon_end:%B %Y}"
    if (low.year, low.month) == (high.year, high.month):
        return f"around {low:%B %Y}"
    return f"between {low:%B} and {high:%B %Y}" if low.year == high.year else f"between {low:%B %Y} and {high:%B %Y}"
