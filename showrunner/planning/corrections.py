"""What a finding changes in films that are out already: one task for each study it touches, until it is put right.

A study is touched if a piece of it has a claim that changed after the study was out, if a piece of it shares the claim
that changed (the same thing said of the same subject), or if something new was found on a piece of it.
"""

from __future__ import annotations

from datetime import date

from showrunner.domain.book import Book
from showrunner.domain.episode import Episode
from showrunner.domain.package import Corrected
from showrunner.domain.piece import Claim, Piece
from showrunner.domain.record import record
from showrunner.domain.titles import quoted
from showrunner.domain.words import day as day_words
from showrunner.domain.words import plain
from showrunner.planning.points import HEDGES


@record
class Correction:
    """One correction that a published study needs, or has had."""

    study: str
    """Id of the study whose description it belongs into."""
    piece: str
    """Id of the piece whose claim changed."""
    shared_by: str
    """Id of the piece of that study that shares the claim; empty if the piece is its own."""
    old: Claim | None
    """What was held when the study came out; None if nothing was said."""
    new: Claim
    """What is held now."""
    done: date | None
    """The day it was put into the description; None while that is to be done."""

    @property
    def as_done(self) -> tuple[str, str, str]:
        """What tells it from the other corrections of its study."""
        return self.piece, self.new.about, self.new.value


def corrections(book: Book) -> tuple[Correction, ...]:
    """Every correction of every published study, in the order of the record and of the pieces."""
    changes = [(piece, claim) for piece in book.pieces for claim in piece.claims if not claim.superseded]
    dated = [(piece, claim, claim.judged) for piece, claim in changes if claim.judged]
    found = []
    for line in book.publications:
        study: Episode | None = book.find("episodes", line.episode) if line.episode and line.actual else None
        came = line.actual.earliest if line.actual else None
        if study is None or came is None:
            continue
        done = {(c.piece, c.about, c.value): c.done for c in study.package.corrected}
        for piece, new, day in dated:
            if day > came and new.study != study.id:
                found += _of(book, study, came, piece, new, done)
    return tuple(found)


def undone(book: Book) -> tuple[Correction, ...]:
    """The corrections that are in no description yet."""
    return tuple(correction for correction in corrections(book) if correction.done is None)


def _of(
    book: Book, study: Episode, came: date, piece: Piece, new: Claim, done: dict[tuple[str, str, str], date]
) -> list[Correction]:
    """The correction of one study by one claim, if it touches it."""
    old = _held(piece, new, came)
    day = done.get((piece.id, new.about, new.value))
    if piece.id in study.pieces:
        if old or (new.found and not _replaces(piece, new)):
            return [Correction(study.id, piece.id, "", old, new, day)]
        return []
    if old is None:
        return []
    for id in study.pieces:
        other: Piece | None = book.find("pieces", id)
        if other and any(_same(claim, old) and not claim.superseded for claim in other.claims):
            return [Correction(study.id, piece.id, id, old, new, day)]
    return []


def _held(piece: Piece, new: Claim, came: date) -> Claim | None:
    """What was held of the same thing on a day, if it was something else."""
    before = [
        claim
        for claim in piece.claims
        if claim.superseded
        and plain(claim.about) == plain(new.about)
        and (claim.judged is None or claim.judged <= came)
    ]
    return before[-1] if before and plain(before[-1].value) != plain(new.value) else None


def _replaces(piece: Piece, new: Claim) -> bool:
    return any(claim.superseded and plain(claim.about) == plain(new.about) for claim in piece.claims)


def _same(one: Claim, two: Claim) -> bool:
    return plain(one.about) == plain(two.about) and plain(one.value) == plain(two.value)


def put_right(book: Book, study: str, on: date) -> tuple[Corrected, ...]:
    """What a study's package keeps once all its corrections are in the description: those of before, and the rest."""
    rest = [c for c in undone(book) if c.study == study]
    kept = book.episode(study).package.corrected
    return (*kept, *(Corrected(c.piece, c.new.about, c.new.value, on) for c in rest))


def correction_words(book: Book, correction: Correction) -> str:
    """The sentence to paste into the description of the study that is out; never firmer than what is held."""
    new, name = correction.new, book.piece(correction.piece).name
    now = f"{HEDGES[new.confidence]}{new.value}"
    day = f", {day_words(new.judged)}" if new.judged else ""
    if correction.old is None:
        return f"Found since, on {name}{day}: {now}."
    if correction.shared_by:
        other = book.piece(correction.shared_by).name
        return (
            f"In doubt since then{day}: {new.about} of {other} was given as {correction.old.value}, as of {name}, "
            f"where it is now held to be {now}."
        )
    return f"Correction{day}: {new.about} of {name} is {now}, not {correction.old.value} as said in this film."


def mention_words(book: Book, correction: Correction) -> str:
    """The same for the description of a later study: it names the film that is corrected."""
    new, title = correction.new, quoted(book.episode(correction.study).title)
    name = book.piece(correction.shared_by or correction.piece).name
    now = f"{HEDGES[new.confidence]}{new.value}"
    if correction.old is None:
        return f"Since {title}: found on {name}, {now}."
    if correction.shared_by:
        return f"In {title} {new.about} of {name} was given as {correction.old.value}; that is in doubt now."
    return f"In {title} {new.about} of {name} was given as {correction.old.value}; it is {now}."
