"""Which pieces a text names: in a column that says what an episode is about, and in its title.

In the column:

- A part that is the id, the name or the quoted nickname of exactly one piece names it. The ids `01` and `1` are the
  same where no other piece answers to either.
- The longest reading goes first, so that `collar and cuffs` can be one piece. Where its parts are pieces too, either
  may be meant.
- A name without its nickname (`christening robe` for `Christening robe “Wilhelmina”`), and anything that two pieces
  answer to, is no name but a hint.

In a title:

- A name stands in it where its words do, one after the other, with no stop between that the name has not.
- It is firm unless two pieces have that name; it lies within, or runs
  into, the name of another piece there; a hyphen joins it to a further word; the names and kinds of other pieces hold
  all its words (`Bonnet` may be short for `Straw bonnet`), and the title does not name those as well; more than
  `MANY_TITLES` titles hold its words; or none of its words is telling.
- A nickname is firm as a name is, if besides the names, kinds and materials of no other piece hold its words, nor
  does any other title.
- A text of which something was cut is never firm.
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
class Called:
    """What a piece is called."""

    name: Words
    """Its name with its nickname."""
    nick: Words
    """Its quoted nickname; empty if it has none."""
    plain: Words
    """Its name without the nickname; the name if it has none."""


@record
class Part:
    """One part of a column that says what an episode is about."""

    text: str
    """Its words, plain."""
    pieces: tuple[int, ...]
    """Places in the book of the pieces it may name, in book order; empty if it names none."""
    firm: bool
    """Whether it surely names the piece."""
    by_id: bool
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
    firm: bool
    """Whether it surely names the piece."""


class Names:
    """The names of all pieces, for finding them in a text.

    Args:
        pieces: the pieces, in book order.
        titles: for each telling stem, the places in the list of the titles that hold it.
    """

    def __init__(self, pieces: Sequence[Piece], titles: Mapping[str, set[int]]) -> None:
        self._titles = titles
        self.called = [_called(piece) for piece in pieces]
        self._ids: defaultdict[str, list[int]] = defaultdict(list)
        self._like_ids: defaultdict[str, list[int]] = defaultdict(list)
        self._names: defaultdict[tuple[str, ...], list[int]] = defaultdict(list)
        self._nicks: defaultdict[tuple[str, ...], list[int]] = defaultdict(list)
        self._plain: defaultdict[tuple[str, ...], list[int]] = defaultdict(list)
        self._in_names: defaultdict[str, set[int]] = defaultdict(set)
        self._in_looks: defaultdict[str, set[int]] = defaultdict(set)
        lengths: defaultdict[str, set[int]] = defaultdict(set)
        for place, (piece, called) in enumerate(zip(pieces, self.called, strict=True)):
            self._ids[piece.id.strip()].append(place)
            self._like_ids[_like(piece.id)].append(place)
            for known, words in ((self._names, called.name), (self._nicks, called.nick), (self._plain, called.plain)):
                if words.words and words.whole:
                    known[words.words].append(place)
                    lengths[words.words[0]].add(len(words.words))
            for word in (*called.name.words, *read(piece.kind).words):
                self._in_names[stem(word)].add(place)
            for word in read(" ".join(piece.materials)).words:
                self._in_looks[stem(word)].add(place)
        self._lengths = {first: sorted(found) for first, found in lengths.items()}

    def parts(self, about: str) -> tuple[Part, ...]:
        """The parts of a column that says what an episode is about, and the pieces they name."""
        found: list[Part] = []
        segments = [segment for segment in _SEGMENT.split(about[:LONGEST_LIST]) if segment.strip()]
        for segment in segments:
            found += islice(self._segment(segment), MOST_LISTED + 1 - len(found))
        cut = len(about) > LONGEST_LIST or len(found) > MOST_LISTED
        found = found[:MOST_LISTED]
        if cut and found:
            found[-1] = Part(found[-1].text, found[-1].pieces, False, False)
        return tuple(found)

    def spots(self, title: Words) -> tuple[Spot, ...]:
        """The names that stand clear in a title, and the nicknames in it, firm or not, in order."""
        spans = list(self._spans(title))
        names = list(self._standing(title, spans, self._names, False))
        nicks = list(self._standing(title, spans, self._nicks, True))
        clear = _clear({(start, end) for start, end, _, _ in names}, len(title.words))
        names = [name for name in names if name[:2] in clear]
        there = {place for _, _, place, _ in names}
        return tuple(
            Spot(start, end, place, nick, self._is_firm(title, start, end, place, nick, clear, there))
            for start, end, place, nick in sorted({*names, *nicks})
        )

    def named_in(self, title: Words) -> set[int]:
        """The pieces whose name, nickname, or name without the nickname stands in a title."""
        return {
            place
            for span, key in self._spans(title)
            for known, field in ((self._names, "name"), (self._nicks, "nick"), (self._plain, "plain"))
            for place in known.get(key, ())
            if _unparted(title, span, getattr(self.called[place], field))
        }

    def _standing(
        self,
        title: Words,
        spans: Iterable[tuple[tuple[int, int], tuple[str, ...]]],
        known: Mapping[tuple[str, ...], list[int]],
        nick: bool,
    ) -> Iterator[tuple[int, int, int, bool]]:
        """Where the names or nicknames stand that not too many pieces share."""
        for span, key in spans:
            sharing = known.get(key, [])
            for place in sharing if len(sharing) <= MOST_SHARING else ():
                called = self.called[place]
                if _unparted(title, span, called.nick if nick else called.name):
                    yield (*span, place, nick)

    def _spans(self, title: Words) -> Iterator[tuple[tuple[int, int], tuple[str, ...]]]:
        """Every run of words that begins as a name does and is as long as one."""
        for start, first in enumerate(title.words):
            for length in self._lengths.get(first, ()):
                end = start + length
                if end <= len(title.words):
                    yield (start, end), title.words[start:end]

    def _is_firm(
        self,
        title: Words,
        start: int,
        end: int,
        piece: int,
        nick: bool,
        clear: set[tuple[int, int]],
        there: set[int],
    ) -> bool:
        """Whether a name in a title is firm, by the rules at the head of this module."""
        words = title.words[start:end]
        if not title.whole or not any(map(is_telling, words)) or start - 1 in title.joined or end - 1 in title.joined:
            return False
        sharing = self._nicks[words] if nick else self._names[words]
        if len(sharing) > 1:
            return False
        stems = {stem(word) for word in words}
        telling = {stem(word) for word in words if is_telling(word)}
        others = _holding(self._in_names, stems) - {piece}
        titles = len(_holding(self._titles, telling))
        if nick:
            looks = set.intersection(
                *(self._in_names.get(word, set()) | self._in_looks.get(word, set()) for word in stems)
            )
            within = any(a <= start and end <= b and (a, b) != (start, end) for a, b in clear)
            return not looks - {piece} and titles <= 1 and not within
        return others <= there and titles <= MANY_TITLES

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
                part = Part(part.text, tuple(sorted(either)), False, False, 2)
            yield part
            at = last + 1

    def _part(self, text: str) -> Part:
        """What one part names."""
        words = read(text)
        bare = text.strip().strip("#").strip()
        ids = self._ids.get(bare) or self._like_ids.get(_like(bare), [])
        called = [*self._names.get(words.words, ()), *self._nicks.get(words.words, ())] if words.whole else []
        firm = {*ids, *called}
        if len(firm) > MOST_SHARING:
            return Part(words.text, (), False, False)
        if firm:
            return Part(words.text, tuple(sorted(firm)), len(firm) == 1, bool(ids), len(firm))
        hinted = self._plain.get(words.words, ()) if words.whole else ()
        hinted = hinted if len(hinted) <= MOST_SHARING else ()
        return Part(words.text, tuple(hinted), False, False, len(hinted) or 1)


def _clear(named: set[tuple[int, int]], length: int) -> set[tuple[int, int]]:
    """Those of the spans of a title of so many words that hold every span they touch."""
    furthest = [0] * (length + 1)
    for start, end in named:
        furthest[start] = max(furthest[start], end)
    clear, before = set(), 0
    for start, end in enumerate(furthest):
        if end and before <= start and max(furthest[start:end]) <= end:
            clear.add((start, end))
        before = max(before, end)
    return clear


def _called(piece: Piece) -> Called:
    """What a piece is called."""
    name = read(piece.name)
    nick, rest = nickname(piece.name)
    plain = read(rest)
    return Called(name, read(nick), plain if plain.words else name)


def _unparted(title: Words, span: tuple[int, int], name: Words) -> bool:
    """Whether no stop parts the words of a name in a title that does not stand in the name itself."""
    start, end = span
    return all(place - start in name.stopped for place in title.stopped if start <= place < end - 1)


def _like(id: str) -> str:
    """An id without the zeros that its numbers begin with, in small letters."""
    return _ZEROS.sub("", id[:LONGEST].strip().casefold()) + id[LONGEST:]


def _holding(places: Mapping[str, set[int]], stems: Iterable[str]) -> set[int]:
    """The places that hold all these stems; none if there are no stems."""
    sets = [places.get(word, set()) for word in stems]
    return set.intersection(*sets) if sets else set()
