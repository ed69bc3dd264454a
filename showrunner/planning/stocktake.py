"""The doubts about what has been shown, in the order in which they are worth settling, and what each answer gives."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from showrunner.domain.book import Book
from showrunner.domain.collection import CollectionKind
from showrunner.domain.piece import Known, Piece

Range = tuple[int, int]
"""Pieces left of a collection: if every doubt is a piece shown, and if none is."""


@dataclass(frozen=True, slots=True)
class Answers:
    """Pieces left of its collection after each answer to a doubt."""

    shown: Range
    """If the piece has been shown."""
    not_shown: Range
    """If it has not."""


def pieces_left(book: Book, collection: str) -> Range:
    """Pieces of a collection that are still to be shown: the surely unshown, and those with the unsure ones.

    Args:
        book: the book.
        collection: id of the collection.
    """
    states = [piece.shown.known for piece in book.pieces if piece.collection == collection]
    surely = states.count(Known.NO)
    return surely, surely + states.count(Known.UNSURE)


def answers(book: Book, piece: Piece) -> Answers:
    """Pieces left after each answer to the doubt about an unsure piece; either narrows the range by one."""
    low, high = pieces_left(book, piece.collection)
    return Answers((low, high - 1), (low + 1, high))


def doubts(book: Book, worth: Mapping[str, float] | None = None) -> tuple[Piece, ...]:
    """The unsure pieces of the keeping collections, those most worth settling first.

    Args:
        book: the book.
        worth: days by which settling a piece is expected to narrow the range of the end, by its id, as the run-out
            has them; a piece that is missing comes after those that are there.

    Returns:
        The pieces by what settling them narrows, then those with odds nearest even, then in book order.
    """
    kept = {collection.id for collection in book.collections if collection.kind is CollectionKind.KEEPING}
    unsure = [piece for piece in book.pieces if piece.collection in kept and piece.shown.known is Known.UNSURE]
    days = worth or {}
    return tuple(sorted(unsure, key=lambda p: (p.id not in days, -days.get(p.id, 0), abs(p.shown.odds_unshown - 50))))


def walk_after(walk: Sequence[str], found: Sequence[Piece]) -> tuple[str, ...]:
    """A walk that has begun, with the doubts that have come up since at its end; none ever leaves it.

    Args:
        walk: ids of the pieces, in the order they are walked.
        found: the doubts there are now.
    """
    return (*walk, *(piece.id for piece in found if piece.id not in walk))
