"""Which pieces a text names: in a column that says what an episode is about, and in its title.

In the column a part that is the id, the name or the quoted nickname of exactly one piece names it (the ids `01` and
`1` are the same where no other piece answers to either). The longest reading goes first, so that `collar and cuffs`
can be one piece; where its parts are pieces too, either may be meant. A name without its nickname, and anything that
two pieces answer to, is no name but a hint.

In a title a name or nickname stands where its words do, one after the other, with no stop between that it has not.
It is firm unless it runs into another one there or lies within it; a hyphen joins it to a further word; the name,
kind and materials of another piece, which the title does not name as well, hold all its words (`Bonnet` may be short
for `Straw bonnet`); more than `MANY_TITLES` titles hold its words; or none of its words is telling. A nickname must
stand in one title only, with a capital. A text of which something was cut is never firm.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import islice, pairwise
from typing import NamedTuple

from showrunner.domain.piece import Piece
from showrunner.domain.record import record
from showrunner.intake.plain_words import LONGEST, Words, is_telling, nickname, read, stem

MANY_TITLES = 3
"""Titles that may hold the words of a name before it stands for no one study."""

LONGEST_LIST = 2000
"""Most characters that are looked at of a column that says what an episode is about."""

MOST_LISTED = 100
"""Most parts of it that are looked at."""

MOST_SHARING = 10
"""Most pieces that may answer to a name; a name that more have is none."""

MOST_PARTS = 4
"""Most parts that one name can be made of (`collar, cuffs and cap` has three)."""

_SEGMENT = re.compile(r"[;\r\n]")
_PART = re.compile(r",|&|\band\b", re.IGNORECASE)
_ZEROS = re.compile(r"(?<![0-9])0+(?=[0-9])")


@record
class Part:
    """One part of a column that says what an episode is about."""

    text: str
    """Its words, plain."""
    pieces: tuple[int, ...]
    """Places in the book of the pieces it may name, in book order; empty if it names none."""
    firm: bool = False
    """Whether it surely names the piece."""
    by_id: bool = False
    """Whether it does so by id."""
    readings: int = 1
    """What it may mean: one piece out of so many, or one name or several."""


class Spot(NamedTuple):
    """A name or nickname of a piece that stands in a title."""

    start: int
    """Place of its first word."""
    end: int
    """Place after its last word."""
    piece: int
    """Place of the piece in the book."""
    nick: bool
    """Whether it is the nickname alone."""


class Names:
    """The names of all pieces, for finding them in a text.

    Args:
        pieces: the pieces, in book order.
        titles: for each telling stem, the places in the list of the titles that hold it.
    """

    def __init__(self, pieces: Sequence[Piece], titles: Mapping[str, set[int]]) -> None:
        self._titles = titles
        self._ids: defaultdict[str, set[int]] = defaultdict(set)
        self._like_ids: defaultdict[str, set[int]] = defaultdict(set)
        self._called: defaultdict[tuple[str, ...], dict[int, tuple[bool, Words]]] = defaultdict(dict)
        self._hints: defaultdict[tuple[str, ...], dict[int, tuple[bool, Words]]] = defaultdict(dict)
        self._looks: defaultdict[str, set[int]] = defaultdict(set)
        self._lengths: defaultdict[str, set[int]] = defaultdict(set)
        for place, piece in enumerate(pieces):
            self._ids[piece.id.strip()].add(place)
            self._like_ids[like(piece.id)].add(place)
            nick, rest = nickname(piece.name)
            for known, text in ((self._called, nick), (self._called, piece.name), (self._hints, rest)):
                words = read(text)
                if words.words and words.whole:
                    known[words.words][place] = (text == nick, words)
                    self._lengths[words.words[0]].add(len(words.words))
            for word in read(" ; ".join([piece.name, piece.kind, *piece.materials])).words:
                self._looks[stem(word)].add(place)

    def parts(self, about: str) -> tuple[Part, ...]:
        """The parts of a column that says what an episode is about, and the pieces they name."""
        found: list[Part] = []
        for segment in _SEGMENT.split(about[:LONGEST_LIST]):
            found += islice(self._segment(segment), MOST_LISTED + 1 - len(found))
        cut = len(about) > LONGEST_LIST or len(found) > MOST_LISTED
        found = found[:MOST_LISTED]
        if cut and found:
            found[-1] = Part(found[-1].text, found[-1].pieces)
        return tuple(found)

    def _segment(self, segment: str) -> Iterator[Part]:
        """The parts of a piece of text without semicolons, the longest names first."""
        edges = [(0, 0), *(found.span() for found in _PART.finditer(segment)), (len(segment), len(segment))]
        atoms = [(before[1], after[0]) for before, after in pairwise(edges)]
        atoms = [(start, end) for start, end in atoms if segment[start:end].strip()]
        at = 0
        while at < len(atoms):
            for last in range(min(at + MOST_PARTS, len(atoms)) - 1, at - 1, -1):
                part = self._part(segment[atoms[at][0] : atoms[last][1]])
                if part.pieces or last == at:
                    break
            singly = [self._part(segment[start:end]) for start, end in atoms[at : last + 1]]
            if last > at and all(single.pieces for single in singly):
                either = {*part.pieces, *(piece for single in singly for piece in single.pieces)}
                part = Part(part.text, tuple(sorted(either)), readings=2)
            yield part
            at = last + 1

    def _part(self, text: str) -> Part:
        """What one part names."""
        words = read(text)
        key = words.words if words.whole else ()
        bare = text.strip().strip("#").strip()
        ids = self._ids.get(bare) or self._like_ids.get(like(bare), set())
        firm = {*ids, *self._called.get(key, ())}
        places = firm or set(self._hints.get(key, ()))
        if not 0 < len(places) <= MOST_SHARING:
            return Part(words.text, ())
        return Part(words.text, tuple(sorted(places)), len(firm) == 1, bool(ids), len(places))

    def named_in(self, title: Words) -> set[int]:
        """The pieces whose name, nickname, or name without the nickname stands in a title."""
        return {spot.piece for known in (self._called, self._hints) for spot in self._standing(title, known)}

    def firm(self, title: Words) -> tuple[Spot, ...]:
        """The names and nicknames in a title that are firm, in order, by the rules at the head of this module."""
        spots = list(self._standing(title, self._called))
        clear = [one for one in spots if all(_holds(one, other) for other in spots if _touch(one, other))]
        there = {spot.piece for spot in clear}
        return tuple(sorted(spot for spot in clear if self._is_firm(title, spot, there)))

    def _standing(
        self, title: Words, known: Mapping[tuple[str, ...], Mapping[int, tuple[bool, Words]]]
    ) -> Iterator[Spot]:
        """Where the names stand that not too many pieces share."""
        for start, first in enumerate(title.words):
            for end in (start + length for length in self._lengths.get(first, ())):
                sharing = known.get(title.words[start:end], {}) if end <= len(title.words) else {}
                for place, (nick, name) in sharing.items() if len(sharing) <= MOST_SHARING else ():
                    if all(at - start in name.stopped for at in title.stopped if start <= at < end - 1):
                        yield Spot(start, end, place, nick)

    def _is_firm(self, title: Words, spot: Spot, there: set[int]) -> bool:
        """Whether a name that stands clear in a title is firm."""
        start, end, piece, nick = spot
        words = title.words[start:end]
        telling = {stem(word) for word in words if is_telling(word)}
        if not title.whole or not telling or start - 1 in title.joined or end - 1 in title.joined:
            return False
        others = _holding(self._looks, map(stem, words)) - {piece}
        titles = len(_holding(self._titles, telling))
        if nick and (titles > 1 or title.capital.isdisjoint(range(start, end))):
            return False
        return len(self._called[words]) == 1 and others <= there and titles <= MANY_TITLES


def like(id: str) -> str:
    """An id without the zeros that its numbers begin with, in small letters."""
    return _ZEROS.sub("", id[:LONGEST].strip().casefold()) + id[LONGEST:]


def _holds(one: Spot, other: Spot) -> bool:
    """Whether a name has all the words of the title that another one has."""
    return one.start <= other.start and other.end <= one.end


def _touch(one: Spot, other: Spot) -> bool:
    """Whether two names have a word of the title in common."""
    return one.start < other.end and other.start < one.end


def _holding(places: Mapping[str, set[int]], stems: Iterable[str]) -> set[int]:
    """The places that hold all these stems; none if there are no stems."""
    sets = [places.get(word, set()) for word in stems]
    return set.intersection(*sets) if sets else set()
