"""Which studies are to be placed: those the book holds, and those that its unshown pieces would make."""

from __future__ import annotations

from collections import Counter

from showrunner.domain.book import Book
from showrunner.domain.collection import CollectionKind
from showrunner.domain.episode import Episode, PinKind, Series, Window
from showrunner.domain.house import Unsure
from showrunner.domain.piece import Known, Piece
from showrunner.domain.record import record
from showrunner.domain.rules import Terms
from showrunner.domain.slot import SlotRef


@record
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

    @property
    def terms(self) -> Terms:
        """What the hard rules look at."""
        return Terms(self.key, self.series, self.windows)


def candidates(book: Book, unsure: Unsure) -> tuple[tuple[Candidate, ...], tuple[str, ...]]:
    """The studies to place, and the unsure pieces left out.

    An unpublished study is placed unless unsure pieces are taken as shown and they are all it had to
    show. A piece that is surely unshown and in no study counts as a study of its own; an unsure one only
    if unsure pieces are taken as unshown. Two such pieces promised together make one study. What is shopped for
    counts once it has arrived, and once as many have as its collection opens with.
    """
    found: list[Candidate] = []
    pins = {study: pin.slot for pin in book.pins if pin.kind is PinKind.DATE for study in pin.episodes}
    for study in book.open_studies:
        known = {piece.shown.known for id in study.pieces if (piece := book.find("pieces", id))}
        if unsure is Unsure.SHOWN and Known.UNSURE in known and Known.NO not in known:
            continue
        found.append(_of_study(book, study, pins.get(study.id)))
    placed = {piece for study in book.open_studies for piece in study.pieces}
    waiting = not_open_yet(book)
    series_of = {series.collection: series for series in reversed(book.series)}
    partners = _partners(book, placed)
    left_out: list[str] = []
    done: set[str] = set()
    for piece in book.pieces:
        series = series_of.get(piece.collection)
        if piece.id in placed or piece.id in done or series is None:
            continue
        if not piece.is_here or piece.collection in waiting:
            continue
        partner = partners.get(piece.id)
        pieces = (piece, partner) if partner else (piece,)
        done.update(p.id for p in pieces)
        known = {p.shown.known for p in pieces}
        if Known.NO not in known and (Known.UNSURE not in known or unsure is not Unsure.UNSHOWN):
            if unsure is Unsure.LEFT_OUT:
                left_out += [p.id for p in pieces if p.shown.known is Known.UNSURE]
            continue
        title = " and ".join(p.name for p in pieces)
        ids = tuple(p.id for p in pieces)
        minutes = series.stages.total
        found.append(Candidate(f"piece:{piece.id}", title, series, ids, (), minutes, None, None, implied=True))
    return tuple(found), tuple(left_out)


def not_open_yet(book: Book) -> frozenset[str]:
    """Ids of the shopping collections of which fewer pieces have arrived than they open with."""
    here = Counter(piece.collection for piece in book.pieces if piece.is_here)
    return frozenset(c.id for c in book.collections if c.kind is CollectionKind.SHOPPING and here[c.id] < c.opens_with)


def _partners(book: Book, placed: set[str]) -> dict[str, Piece]:
    """For every piece in no study and never was that is promised together with another such piece, that one."""
    found: dict[str, Piece] = {}
    out = {piece for study in book.studies if study.published for piece in study.pieces}
    for pin in book.pins:
        both = [piece for id in pin.pieces if (piece := book.find("pieces", id)) and id not in placed | out]
        free = len(both) == 2 and all(piece.is_here and piece.id not in found for piece in both)
        if pin.kind is PinKind.PAIR and free and both[0].collection == both[1].collection:
            found[both[0].id], found[both[1].id] = both[1], both[0]
    return found


def _of_study(book: Book, study: Episode, pinned: SlotRef | None) -> Candidate:
    series = book.series_of(study.series)
    minutes = sum(minutes for _, minutes in study.left(study.stages or series.stages))
    return Candidate(
        study.id, study.title, series, study.pieces, study.windows, minutes, study.slot, pinned, implied=False
    )
