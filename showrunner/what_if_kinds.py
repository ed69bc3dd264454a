"""The kinds of what-ifs, and which things of the book each may name."""

from __future__ import annotations

from enum import StrEnum

from showrunner.domain.book import Book
from showrunner.domain.naming import Sort, Thing, split
from showrunner.domain.piece import Known, Piece, WantStatus


class Kind(StrEnum):
    """What can be supposed; written `kind=value`. They are carried out in this order."""

    SHOWN = "shown"
    """A doubt settled: the piece was shown."""
    UNSHOWN = "unshown"
    """A doubt settled: the piece was not shown."""
    SLIP_RATE = "slip-rate"
    """Another share of missed slots."""
    HOURS = "hours"
    """More or fewer working hours a week."""
    OFF = "off"
    """Days without work, such as a month off; publication goes on."""
    DROP_WINDOW = "drop-window"
    """A study without its windows."""
    UNPAIR = "unpair"
    """A study of two pieces split in two."""
    PAIR = "pair"
    """Two studies, or pieces in no study yet, brought together into one."""
    REVISIT = "revisit"
    """A piece that has been shown, shown once more."""
    LOAN = "loan"
    """A piece on loan, to be shown too."""
    ADD_PIECE = "add-piece"
    """More pieces to show."""
    COMES = "comes"
    """Another day on which something shopped for is expected."""
    DECLINED = "declined"
    """Something shopped for that is not bought after all."""
    SPACING = "spacing"
    """Other least, wished and most weeks between the studies of the series."""
    LAST_UNTIL = "last-until"
    """The spacing with which the series lasts until a day, and the dates that follow from it."""

    @property
    def real(self) -> bool:
        """Whether it can be adopted; the record, the pieces and the doubts are what they are."""
        return self not in (Kind.SLIP_RATE, Kind.ADD_PIECE, Kind.SHOWN, Kind.UNSHOWN, Kind.DECLINED)


NOUNS = {
    Kind.UNPAIR: "study",
    Kind.DROP_WINDOW: "study",
    Kind.PAIR: "study and no piece",
    Kind.REVISIT: "piece",
    Kind.SHOWN: "piece",
    Kind.UNSHOWN: "piece",
    Kind.COMES: "want",
    Kind.DECLINED: "want",
}
"""What the value of a what-if names, in words that follow a no; the other kinds name nothing."""


def nameable(book: Book, kind: Kind) -> tuple[tuple[Thing, ...], tuple[Thing, ...]]:
    """The things that a what-if of a kind may name: those it can be about, and the others; none if it names nothing."""
    match kind:
        case Kind.UNPAIR:
            return split(book, Sort.STUDY, {study.id for study in book.open_studies if len(study.pieces) == 2})
        case Kind.DROP_WINDOW:
            return split(book, Sort.STUDY, {study.id for study in book.open_studies if study.windows})
        case Kind.PAIR:
            studies, out = split(book, Sort.STUDY)
            lone = {piece.id for piece in book.pieces if book.study_of_piece(piece.id) is None}
            pieces, taken = split(book, Sort.PIECE, lone)
            return (*studies, *pieces), (*out, *taken)
        case Kind.REVISIT:
            return split(book, Sort.PIECE, {piece.id for piece in book.pieces if piece.shown.known is Known.YES})
        case Kind.SHOWN | Kind.UNSHOWN:
            return split(book, Sort.PIECE, {piece.id for piece in book.pieces if piece.shown.known is Known.UNSURE})
        case Kind.COMES | Kind.DECLINED:
            return split(book, Sort.PIECE, {piece.id for piece in book.pieces if is_open_want(piece)})
        case _:
            return (), ()


def is_open_want(piece: Piece) -> bool:
    """Whether a piece is shopped for and has neither arrived nor been declined."""
    return piece.want is not None and piece.want.status in (WantStatus.WANTED, WantStatus.ORDERED)
