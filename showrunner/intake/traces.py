"""Weak evidence that a text is about a piece: words that its record holds, its number, its years, a date that agrees.

The weights are a house rule, set by trial, not statistics. What the words tell together is 1 - (1 - a)(1 - b)... for
weights a, b, ... of the place where each stands in the record (`WEIGHTS`). Of that a piece has its share among all
pieces that hold the same words, over the texts that hold them all where those are more than two: a piece can be
shown twice, but a word of the series tells nothing. A word that no piece holds counts four fifths for the words
that begin with the same letter and are at least `NEAR` percent like it, or of which one begins with the other.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from math import prod
from typing import NamedTuple

from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.piece import Piece
from showrunner.intake.naming import like
from showrunner.intake.plain_words import LONGEST, Words, is_telling, nickname, read, stem
from showrunner.storage.written_dates import PERIODS

WEIGHTS = {
    "remark": 18,
    "years": 25,
    "feature": 29,
    "material": 30,
    "kind": 30,
    "name": 45,
    "number": 50,
    "nickname": 60,
}
"""Percent that a word tells by itself which only one piece holds, by where it stands; weakest first."""

WHOLE = 40
"""Percent that it tells if all telling words of a name are there, and if the text has no others."""

NEAR = 83
"""Least likeness, percent, of two words (indel similarity): one letter wrong in six, or one missing in five."""

SHORTEST = 5
"""Fewest letters of a word that another may be like, or begin with."""

WIDELY_HELD = 100
"""Pieces that may hold a word before it is left aside."""

COMMON = 10
"""Pieces that may hold a word before it tells nothing by itself: of more, the best comes to less than 30 percent."""

FEW = 0.1
"""What the words of a piece must tell, 0 to 1, to tell anything."""

LONGEST_MADE = 30
"""Most years in which a piece may have been made for a year in a text to tell of it."""

_DECADES = ("", "", "twenties", "thirties", "forties", "fifties", "sixties", "seventies", "eighties", "nineties")
"""What a decade is called, by its tens."""

_NUMBER = re.compile(
    r"(?:#|\b(?:no|nos|nr|number|piece|object)\b\.?) ?(?:[0-9]{1,6}(?: ?(?:,|&|and) ?)?)+|\b0[0-9]{1,5}\b"
)


class Heard(NamedTuple):
    """A word of a piece that was found in a text."""

    place: int
    """Place of the word in the text."""
    word: str
    """The word as the text has it."""
    closeness: float
    """1 if it is the word of the piece, less if it is only like it."""


class Told(NamedTuple):
    """What the words of a text tell of a piece."""

    chance: float
    """From 0 to 1."""
    words: tuple[Heard, ...]
    """The words, in the order of the text."""


class Vocabulary:
    """The words that the pieces hold."""

    def __init__(self, pieces: Sequence[Piece]) -> None:
        self.held = [_held(piece) for piece in pieces]
        """For each piece the stems of its words, with the weight, from 0 to 1, of the best place each stands in."""
        self.names = [set(read(piece.name).telling) for piece in pieces]
        """For each piece the stems of its name."""
        self.holders: defaultdict[str, set[int]] = defaultdict(set)
        """For each stem the pieces that hold it."""
        self.nicks = {word for piece in pieces for word in read(nickname(piece.name)[0]).telling}
        """The stems of nicknames, which tell half as much where they stand without a capital."""
        for place, words in enumerate(self.held):
            for word in words:
                self.holders[word].add(place)

    def hear(self, titles: Sequence[str], texts: Sequence[Words]) -> list[dict[str, Heard]]:
        """For each text the stems that pieces hold and that stand in it, or nearly do."""
        strange = {stem(word) for text in texts for word in text.words if is_telling(word)} - self.holders.keys()
        near = self._near({word for word in strange if len(word) >= SHORTEST - 1})
        return [self._heard(title, text, near) for title, text in zip(titles, texts, strict=True)]

    def _heard(self, title: str, text: Words, near: Mapping[str, list[str]]) -> dict[str, Heard]:
        heard: dict[str, Heard] = {}
        for place, word in enumerate(text.words):
            plain = word if word in self.holders else stem(word)
            for other in [plain] if plain in self.holders else near.get(plain, []):
                if other == plain or other not in heard:
                    half = 0.5 if other in self.nicks and place not in text.capital else 1
                    heard[other] = Heard(place, word, half * (1 if other == plain else 0.8))
        for found in _NUMBER.finditer(title[:LONGEST].casefold()):
            for number in re.findall("[0-9]+", found[0]):
                if (known := f"#{like(number)}") in self.holders:
                    heard[known] = Heard(0, number, 1)
        return heard

    def _near(self, strange: set[str]) -> dict[str, list[str]]:
        """For words that no piece holds, those of names and kinds that are like them."""
        from rapidfuzz import fuzz, process

        names = {word for held in self.held for word, weight in held.items() if weight * 100 >= WEIGHTS["kind"]}
        by_first: defaultdict[str, list[str]] = defaultdict(list)
        for word in sorted(name for name in names if len(name) >= SHORTEST):
            by_first[word[0]].append(word)
        near: dict[str, list[str]] = {}
        for word in strange:
            found = process.extract(word, by_first[word[0]], scorer=fuzz.ratio, score_cutoff=NEAR, limit=3)
            parts = [other for other in by_first[word[0]] if _begins(word, other) or _begins(other, word)]
            near[word] = list(dict.fromkeys([*(other for other, _, _ in found), *parts]))
        return near

    def weigh(self, text: Words, heard: Mapping[str, Heard], in_texts: Mapping[str, set[int]]) -> dict[int, Told]:
        """What the words of one text tell of each piece of which they tell anything."""
        telling = {word for word in text.words if is_telling(word)}
        by_piece: defaultdict[int, list[str]] = defaultdict(list)
        for word in heard:
            for piece in self.holders[word] if len(self.holders[word]) <= WIDELY_HELD else ():
                by_piece[piece].append(word)
        by_words: defaultdict[tuple[str, ...], list[int]] = defaultdict(list)
        for piece, there in by_piece.items():
            by_words[tuple(there)].append(piece)
        told = {}
        for words, those in by_words.items():
            if len(words) == 1 and len(self.holders[words[0]]) > COMMON:
                continue
            alike, texts = _all_of(self.holders, words), len(_all_of(in_texts, words))
            alone = telling.issubset(heard[word].word for word in words)
            close = [(word, heard[word].closeness) for word in words]
            tells = {one: self._together(one, close, alone and len(telling)) for one in alike}
            most = sum(tells.values()) * (texts if texts > 2 else 1)
            for piece in those:
                if tells[piece] ** 2 >= FEW * most:
                    told[piece] = Told(tells[piece] ** 2 / most, tuple(sorted(heard[word] for word in words)))
        return told

    def _together(self, piece: int, words: Sequence[tuple[str, float]], alone: int) -> float:
        """What words, each with its closeness, tell together of a piece that holds them all.

        `alone` is how many telling words the text has, 0 if it has others than these.
        """
        held, name = self.held[piece], self.names[piece]
        doubt = prod([1 - held[word] * closeness for word, closeness in words])
        of_name = sum(word in name for word, _ in words)
        whole = (0 < len(name) == of_name) + (alone > 1 or (alone == 1 and of_name > 0))
        return 1 - doubt * (1 - WHOLE / 100) ** whole


def _all_of(places: Mapping[str, set[int]], words: Sequence[str]) -> set[int]:
    """The places that hold all these words."""
    return set.intersection(*(places[word] for word in words))


def either(chances: Iterable[float]) -> float:
    """The chance that one of several things that have nothing to do with each other holds."""
    return 1 - prod(1 - chance for chance in chances)


def agreeing(days: int) -> float:
    """What a date that agrees tells, 0 to 1, if the wider of the two spans so many days."""
    return 0.6 / days ** (1 / 3) if days <= 366 else 0


def _begins(long: str, short: str) -> bool:
    """Whether a word begins with another that is long enough to be its beginning (`travelling` and `travel.`)."""
    return len(short) >= SHORTEST and long.startswith(short)


def _held(piece: Piece) -> dict[str, float]:
    """The telling stems of a piece with the weight of the best place each stands in."""
    nick, _ = nickname(piece.name)
    texts = {
        "remark": [*(feature.where for feature in piece.features), *piece.points, piece.notes],
        "material": piece.materials,
        "feature": [feature.what for feature in piece.features],
        "kind": [piece.kind],
        "name": [piece.name],
        "nickname": [nick],
    }
    words = {place: read(" ; ".join(said), 2 * LONGEST).telling for place, said in texts.items()}
    years = _years(piece.made)
    periods = [period for period, (first, last) in PERIODS.items() if any(first <= year <= last for year in years)]
    named = {word for year in years for word in (f"{year}", f"{year // 10}0s", _DECADES[year // 10 % 10]) if word}
    words["years"] = (*named, *map(stem, periods))
    words["number"] = (f"#{like(piece.id)}",)
    return {word: weight / 100 for place, weight in WEIGHTS.items() for word in words[place]}


def _years(made: FuzzyDate | None) -> range:
    """The years in which a piece was made, if they are few."""
    if not (made and made.earliest and made.latest) or made.latest.year - made.earliest.year > LONGEST_MADE:
        return range(0)
    return range(made.earliest.year, made.latest.year + 1)
