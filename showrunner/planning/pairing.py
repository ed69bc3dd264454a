"""Which two of the pieces still to show would make one study: what is alike about them and what differs.

Only what is recorded of both is compared. Closings and ways of making are known by the words that features are
written with; the rest of the features is decoration.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from enum import StrEnum
from itertools import combinations

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.episode import Series
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.piece import Feature, Known, Piece, Presence
from showrunner.domain.record import record
from showrunner.planning.materials import has_word


class Aspect(StrEnum):
    """What of two pieces is compared, in the order it is told."""

    DATES = "dates"
    KIND = "kind"
    MATERIAL = "material"
    CLOSING = "closing"
    CONSTRUCTION = "construction"
    DECORATION = "decoration"
    MEASURE = "measure"


CLOSINGS = (
    "belt", "button", "hook", "lacing", "laced", "buckle", "tie", "frog", "snap", "zip", "stud", "strap", "clasp",
    "pin.",
)  # fmt: skip
"""Words of features that close a piece, or once closed it."""

CONSTRUCTIONS = (
    "seam", "dart", "tuck", "gusset", "bone", "boning", "bias", "lining", "lined", "pleat", "gather", "quilt", "yoke",
    "pocket", "hem", "cord", "pieced", "panel", "facing", "eyelet",
)  # fmt: skip
"""Words of features of how a piece is made."""

EMPTY_WORDS = frozenset(("and", "later", "the", "with", "added", "replaced", "altered", "absent", "trace"))
"""Words of a feature or material that say nothing of what it is."""


@record
class Compared:
    """One aspect of two pieces."""

    aspect: Aspect
    """What is compared."""
    alike: bool
    """Whether they are alike in it: dates overlap, a word is shared, a measure is equal."""
    first: str
    """How the first piece has it, in the owner's words."""
    second: str
    """How the second has it."""
    measure: str = ""
    """What is measured; empty for another aspect."""
    apart: Decimal | None = None
    """How far apart two measures are; None for another aspect."""
    unit: str = ""
    """Its unit, cm or kg."""
    shared: tuple[str, ...] = ()
    """Words that both have."""


@record
class Pairing:
    """Two pieces that could be shown in one study."""

    pieces: tuple[str, str]
    """Their ids."""
    names: tuple[str, str]
    """Their names."""
    parts: tuple[str, str]
    """What would be paired: the study each is in, or the piece itself."""
    compared: tuple[Compared, ...]
    """Every aspect that is recorded of both."""

    @property
    def alike(self) -> tuple[Compared, ...]:
        """What is alike."""
        return tuple(one for one in self.compared if one.alike)

    @property
    def differs(self) -> tuple[Compared, ...]:
        """What differs."""
        return tuple(one for one in self.compared if not one.alike)


def pairings(book: Book, series: Series) -> tuple[Pairing, ...]:
    """Every two pieces still to show that could be one study, those with most alike first; then in book order.

    A pair to look at needs something alike, so that it is a pair, and something that differs, so that there is
    something to say: of two with as much alike, the one with more that differs comes first.

    Args:
        book: the book; pieces of a study of two are left aside, and so are those of studies that are filmed.
        series: the series.
    """
    parts = _parts(book, series)
    found = [
        Pairing((one.id, other.id), (one.name, other.name), (parts[one.id], parts[other.id]), compare(one, other))
        for one, other in combinations([piece for piece in book.pieces if piece.id in parts], 2)
    ]
    return tuple(sorted(found, key=lambda pair: (-len(pair.alike), -len(pair.differs))))


def _parts(book: Book, series: Series) -> dict[str, str]:
    """The study of each piece that could be paired, or the piece itself where it is in none."""
    filmed = {study for shoot in book.shoots for study in shoot.studies}
    in_study = {piece: study for study in book.open_studies for piece in study.pieces}
    found = {}
    for piece in book.pieces:
        study = in_study.get(piece.id)
        if piece.collection != series.collection or piece.want is not None:
            continue
        if study is None and piece.shown.known is not Known.YES:
            found[piece.id] = piece.id
        elif study and study.series == series.id and len(study.pieces) == 1 and study.id not in filmed:
            found[piece.id] = study.id
    return found


def compare(one: Piece, other: Piece) -> tuple[Compared, ...]:
    """Every aspect that is recorded of two pieces."""
    found: list[Compared] = []
    if (
        one.made
        and other.made
        and (one.made.earliest or one.made.latest)
        and (other.made.earliest or other.made.latest)
    ):
        overlap = _overlap(one.made, other.made)
        found.append(Compared(Aspect.DATES, overlap, one.made.words, other.made.words))
    if one.kind and other.kind:
        same = words.plain(one.kind) == words.plain(other.kind)
        found.append(Compared(Aspect.KIND, same, one.kind, other.kind))
    found += _by_words(Aspect.MATERIAL, one.materials, other.materials)
    mine, theirs = _sorted(one.features), _sorted(other.features)
    for aspect in (Aspect.CLOSING, Aspect.CONSTRUCTION, Aspect.DECORATION):
        found += _by_words(aspect, mine[aspect], theirs[aspect])
    return (*found, *_measures(one, other))


def _overlap(one: FuzzyDate, other: FuzzyDate) -> bool:
    """Whether two dates may be the same day; an open end reaches for ever."""
    begins = [day for day in (one.earliest, other.earliest) if day]
    ends = [day for day in (one.latest, other.latest) if day]
    return not begins or not ends or max(begins) <= min(ends)


def _sorted(features: Iterable[Feature]) -> dict[Aspect, list[str]]:
    """What the features say of each aspect; one that is absent says so."""
    found: dict[Aspect, list[str]] = {Aspect.CLOSING: [], Aspect.CONSTRUCTION: [], Aspect.DECORATION: []}
    for feature in features:
        aspect = Aspect.DECORATION
        if has_word(feature.what, CLOSINGS):
            aspect = Aspect.CLOSING
        elif has_word(feature.what, CONSTRUCTIONS):
            aspect = Aspect.CONSTRUCTION
        gone = "" if feature.presence is Presence.PRESENT else f" ({feature.presence})"
        found[aspect].append(f"{feature.what}{gone}")
    return found


def _by_words(aspect: Aspect, one: Iterable[str], other: Iterable[str]) -> list[Compared]:
    """How two lists of words go together; nothing where one of them is empty."""
    mine, theirs = ", ".join(one), ", ".join(other)
    if not mine or not theirs:
        return []
    shared = tuple(word for word in _told(mine) if word in _told(theirs))
    return [Compared(aspect, bool(shared), mine, theirs, shared=shared)]


def _told(text: str) -> list[str]:
    """The words that say what something is, each once."""
    plain = "".join(sign if sign.isalpha() or sign in "'’-" else " " for sign in text.lower())
    return list(dict.fromkeys(word for word in plain.split() if word not in EMPTY_WORDS and len(word) > 2))


def _measures(one: Piece, other: Piece) -> list[Compared]:
    """The measures that both pieces have, in the same unit."""
    theirs = {(words.plain(m.what), m.unit): m for m in other.measurements}
    found = []
    for mine in one.measurements:
        beside = theirs.get((words.plain(mine.what), mine.unit))
        if beside:
            apart = abs(mine.value - beside.value)
            found.append(
                Compared(Aspect.MEASURE, apart == 0, str(mine.value), str(beside.value), mine.what, apart, mine.unit)
            )
    return found
