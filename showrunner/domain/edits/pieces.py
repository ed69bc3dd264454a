"""Edits of pieces."""

from __future__ import annotations

from dataclasses import replace

from showrunner.domain.acquisition import circle_words, contradictions, cycle
from showrunner.domain.book import Book
from showrunner.domain.edits.checks import refuse_pinned
from showrunner.domain.edits.studies import put_episode, remove_study
from showrunner.domain.edits.wants import check_want
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.piece import Claim, Known, Piece
from showrunner.domain.titles import quoted
from showrunner.domain.words import plain, some
from showrunner.errors import BadInput, Contradiction, UnknownThing


def put_piece(book: Book, piece: Piece) -> Book:
    """Add a piece, or replace the one with its id.

    Raises:
        UnknownThing: the book does not hold its collection, its box, or a piece that its order of acquisition names.
        BadInput: it would change its collection while a study shows it, its order names itself, or its shopping facts
            are others than before and cannot be.
        Contradiction: its order makes a circle or goes against firm dates, and did not before.
    """
    collection = book.collection(piece.collection)
    if piece.box and book.find("boxes", piece.box) is None:
        raise UnknownThing(f"the book holds no box '{piece.box}'", piece.name, "add the box first, or leave it empty")
    old = book.find("pieces", piece.id)
    if old is not None and old.collection != piece.collection:
        for study in book.studies:
            if piece.id in study.pieces:
                raise BadInput(
                    f"it cannot change its collection while {quoted(study.title)} shows it",
                    piece.name,
                    "take it out of that study first",
                )
    if piece.want != (old.want if old else None):
        check_want(collection, piece)
    after = book.put("pieces", piece)
    check_order(book, after, piece)
    return after


def check_order(before: Book, after: Book, piece: Piece) -> None:
    """Refuse an order of acquisition that cannot be.

    Args:
        before: the book as it was; what was wrong in it already is not refused again.
        after: the book with the piece.
        piece: the piece that was added or changed.

    Raises:
        UnknownThing: the order names a piece that the book does not hold.
        BadInput: it names the piece itself.
        Contradiction: it makes a circle, or goes against dates that are not in doubt.
    """
    for id in (*piece.acquired_before, *piece.acquired_after):
        if id == piece.id:
            raise BadInput("it cannot have come before or after itself", piece.name, "take it out of its own order")
        if after.find("pieces", id) is None:
            raise UnknownThing(f"the book holds no piece '{id}'", piece.name, "give the number of one that it holds")
    old = before.find("pieces", piece.id)
    if (old.acquired if old else None, _order(old)) == (piece.acquired, _order(piece)):
        return
    if _order(old) != _order(piece):
        circle = cycle(after, piece.id)
        if circle and not cycle(before, piece.id):
            raise _goes_round(after, piece, circle)
    known = {(clash.earlier, clash.later) for clash in contradictions(before)}
    for clash in contradictions(after):
        if (clash.earlier, clash.later) not in known:
            raise Contradiction(
                clash.words, way_out="change the order, or one of the dates", parties=(clash.earlier, clash.later)
            )


def _order(piece: Piece | None) -> tuple[frozenset[str], frozenset[str]]:
    return (frozenset(piece.acquired_before), frozenset(piece.acquired_after)) if piece else (frozenset(), frozenset())


def _goes_round(book: Book, piece: Piece, circle: tuple[str, ...]) -> Contradiction:
    """The refusal of a circle that begins with a piece, with the relation on that piece to give up."""
    following, preceding = book.piece(circle[1]), book.piece(circle[-1])
    if following.id in piece.acquired_before:
        way_out = f"take {following.name} out of what {piece.name} came before"
    else:
        way_out = f"take {preceding.name} out of what {piece.name} came after"
    return Contradiction(f"{circle_words(book, circle)}, which goes round in a circle", "", way_out, circle)


def take_out(book: Book, id: str) -> Book:
    """Take a piece out of the study to come that shows it; a study that shows nothing else goes with it.

    A study that shows another piece takes the name of that one as its title.

    Raises:
        UnknownThing: there is no such piece.
        BadInput: no study to come shows it, or as `remove_study`.
        Contradiction: a pin names the study that would go, or promises the piece with the other one.
    """
    piece = book.piece(id)
    study = book.study_of_piece(id)
    if study is None:
        raise BadInput("no study to come shows it", piece.name, "nothing needs to be done")
    if study.pieces == (id,):
        return remove_study(book, study.id)
    (other,) = (book.piece(shown) for shown in study.pieces if shown != id)
    return put_episode(book, replace(study, title=other.name, pieces=(other.id,)))


def remove_piece(book: Book, id: str) -> Book:
    """Take a piece out of the book.

    Raises:
        UnknownThing: there is none.
        BadInput: a study shows it, published or not, it has been filmed, or the order of another piece names it.
        Contradiction: a pin names it.
    """
    piece = book.piece(id)
    for study in book.studies:
        if id in study.pieces:
            way_out = "its record stays, so keep the piece" if study.published else "remove or change that study first"
            raise BadInput(f"the study {quoted(study.title)} shows it", piece.name, way_out)
    if any(line.piece == id for line in book.log):
        raise BadInput("it has been filmed, and the log names it", piece.name, "keep it")
    naming = [p.name for p in book.pieces if p.id != id and id in (*p.acquired_before, *p.acquired_after)]
    if naming:
        raise BadInput(
            f"the order of acquisition of {some(naming)} names it", piece.name, "take it out of that order first"
        )
    refuse_pinned(book, [pin for pin in book.pins if id in pin.pieces], piece.name)
    return book.drop("pieces", id)


def add_claim(book: Book, piece: str, claim: Claim, *, supersedes: bool = True) -> Book:
    """Add a claim to a piece; those about the same thing are superseded by it and stay where they are.

    Args:
        book: the book.
        piece: id of the piece.
        claim: the claim.
        supersedes: whether it stands in place of older ones about the same thing.

    Raises:
        UnknownThing: there is no such piece.
    """
    found = book.piece(piece)
    older = tuple(
        replace(c, superseded=True) if supersedes and plain(c.about) == plain(claim.about) else c for c in found.claims
    )
    return book.put("pieces", replace(found, claims=(*older, claim)))


def mark_shown(
    book: Book,
    piece: str,
    known: Known,
    odds: int | None = None,
    evidence: str = "",
    when: FuzzyDate | None = None,
) -> Book:
    """Mark a piece shown, not shown or unsure.

    Args:
        book: the book.
        piece: its id.
        known: yes, no or unsure.
        odds: for an unsure piece, the percentage of chance that it is truly unshown; None for even odds.
        evidence: what it rests on.
        when: when it was shown, as far as known.

    Raises:
        UnknownThing: there is no such piece.
        BadInput: odds or a date that do not go with `known`, or odds outside 1 to 99.
    """
    old = book.piece(piece)
    if odds is not None and known is not Known.UNSURE:
        raise BadInput("only an unsure piece has odds", old.name, "leave the odds out, or mark it unsure")
    if when is not None and known is Known.NO:
        raise BadInput("a piece that was not shown has no date of showing", old.name, "leave the date out")
    shown = replace(old.shown, known=known, odds_unshown=50 if odds is None else odds, evidence=evidence, when=when)
    return book.put("pieces", replace(old, shown=shown))
