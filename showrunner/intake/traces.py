"""Weak evidence that a text is about a piece: words of the piece in it, a name like its own, a date that agrees.

The weights are a house rule, set by trial, not statistics. Each trace takes away part of the doubt that is left, so
that the chance of a piece is 1 - (1 - a)(1 - b)... for traces a, b, ...; none is ever certain.

- *A word* of the piece has the weight of where it stands in the record (`WEIGHTS`), times this piece's share among
  all pieces that hold the word, by their weights, over the number of texts that hold it. A word that many pieces or
  many titles share so tells next to nothing.
- *A word that is nearly one of a name*: if no piece holds a word, it counts for the words of names that are at
  least `NEAR_WORD` percent like it and begin with the same letter, four fifths as much.
- *A name*: if the words of the text that are words of a name come to at least `NEAR_NAME` percent of likeness with
  it, up to `NAME` percent, over the pieces whose names hold them all, and over the texts that hold them all
  where those are more than two.
- *A date*: where the piece was shown at a time that the day of the text agrees with, the narrower the more
  (`DATES`).

Likeness is the indel similarity of two texts, 1 - (a + b - 2 c) / (a + b) for texts of a and b characters with a
longest common subsequence of c.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from showrunner.domain import words as wording
from showrunner.domain.piece import Piece
from showrunner.domain.record import record
from showrunner.intake.naming import Called
from showrunner.intake.plain_words import LONGEST, Words, is_telling, read, stem

WEIGHTS = {"nickname": 60, "name": 45, "feature": 29, "kind": 30, "material": 30, "remark": 18}
"""Percent that a word tells by itself which only one piece holds and only one text, by where it stands."""

NAME = 60
"""Percent that a name tells which stands wholly in the text."""

NEAR_NAME = 75
"""Least likeness, percent, of a name with the words of the text."""

NEAR_WORD = 83
"""Least likeness, percent, of two words: one letter wrong in six, or one missing in five."""

SHORTEST_NEAR = 5
"""Fewest letters of a word that may be taken for another."""

WIDELY_HELD = 100
"""Pieces that may hold a word before it is left aside."""

DATES = ((1, 60), (7, 35), (31, 20), (92, 12), (366, 6))
"""Most days that the wider of two dates that agree spans, and percent that it tells."""

FEW = 0.1
"""What the words of a piece must tell, 0 to 1, to come to anything even with a date that agrees within the month."""

_SAYS = ("the title says '", "the list says '")


class Heard(NamedTuple):
    """A word of a piece that was found in a text."""

    place: int
    """Place of the word in the text."""
    word: str
    """The word as the text has it."""
    closeness: float
    """1 if it is the word of the piece, less if it is only like it."""


class Trace(NamedTuple):
    """One piece of weak evidence."""

    tells: float
    """What it tells by itself, 0 to 1."""
    why: str
    """What it is, in words."""


@record
class Vocabulary:
    """The words that the pieces hold."""

    held: tuple[dict[str, int], ...]
    """For each piece the stems of its words, with the weight of the best place each stands in."""
    names: tuple[tuple[str, ...], ...]
    """For each piece the telling stems of its name, in order."""
    letters: tuple[int, ...]
    """For each piece how many letters these have."""
    sums: Mapping[str, int]
    """For each stem the weights of all pieces that hold it, added up."""
    holders: Mapping[str, tuple[int, ...]]
    """For each stem the pieces that hold it."""
    in_names: Mapping[str, frozenset[int]]
    """For each stem of a name the pieces in whose names it stands."""


def vocabulary(pieces: Sequence[Piece], called: Sequence[Called]) -> Vocabulary:
    """The words of these pieces, which are called so."""
    held = tuple(_held(piece, names) for piece, names in zip(pieces, called, strict=True))
    names = tuple(tuple(dict.fromkeys(names.name.telling)) for names in called)
    sums: defaultdict[str, int] = defaultdict(int)
    holders: defaultdict[str, list[int]] = defaultdict(list)
    for place, words in enumerate(held):
        for word, weight in words.items():
            sums[word] += weight
            holders[word].append(place)
    in_names: defaultdict[str, set[int]] = defaultdict(set)
    for place, name in enumerate(names):
        for word in name:
            in_names[word].add(place)
    return Vocabulary(
        held,
        names,
        tuple(sum(map(len, name)) for name in names),
        dict(sums),
        {word: tuple(found) for word, found in holders.items()},
        {word: frozenset(found) for word, found in in_names.items()},
    )


def hear(texts: Sequence[Words], known: Vocabulary) -> tuple[dict[str, Heard], ...]:
    """For each text the stems that pieces hold and that stand in it, or nearly do, with where they stand."""
    strange = {
        stem(word)
        for text in texts
        for word in text.words
        if is_telling(word) and stem(word) not in known.sums and len(stem(word)) >= SHORTEST_NEAR
    }
    near = _near(strange, known)
    return tuple(_heard(text, known, near) for text in texts)


def worth_weighing(heard: Mapping[str, Heard], in_texts: Mapping[str, set[int]], known: Vocabulary) -> set[int]:
    """The pieces whose words in a text can come to anything, found without weighing them one by one.

    Those are the pieces whose words alone tell `FEW` or more, or of whose names half the letters are there.
    """
    doubt: defaultdict[int, float] = defaultdict(lambda: 1.0)
    letters: defaultdict[int, int] = defaultdict(int)
    for word, found in heard.items():
        holders = known.holders[word]
        if len(holders) > WIDELY_HELD:
            continue
        share = found.closeness / 100 / known.sums[word] / len(in_texts[word])
        for piece in holders:
            doubt[piece] *= 1 - share * known.held[piece][word] ** 2
        for piece in known.in_names.get(word, ()):
            letters[piece] += len(word)
    named = {piece for piece, count in letters.items() if 2 * count >= known.letters[piece]}
    return named | {piece for piece, left in doubt.items() if 1 - left >= FEW}


def traces(
    piece: int, heard: Mapping[str, Heard], in_texts: Mapping[str, set[int]], known: Vocabulary, title: int
) -> list[Trace]:
    """The words of a piece, and of its name, in one text.

    Args:
        piece: place of the piece.
        heard: what was heard in the text.
        in_texts: for each stem the texts in which it was heard.
        known: the words of all pieces.
        title: how many words of the text are its title's; the list says the others.

    Returns:
        What was found, in the order of the text; the name last.
    """
    held = known.held[piece]
    found = []
    for word in sorted(held.keys() & heard.keys(), key=lambda word: (heard[word].place, word)):
        weight = held[word]
        tells = weight / 100 * weight / known.sums[word] * heard[word].closeness / len(in_texts[word])
        says = _SAYS[heard[word].place >= title]
        found.append(Trace(tells, f"{says}{heard[word].word}'"))
    found += _name(piece, heard, in_texts, known)
    return found


def among_texts(count: int) -> int:
    """Over how many texts a name counts that stands in so many: a piece can be shown twice, a series goes on."""
    return count if count > 2 else 1


def agreeing(widest: int, when: str) -> list[Trace]:
    """A date that agrees.

    Args:
        widest: days that the wider of the two dates spans.
        when: the date of the piece in words.

    Returns:
        What it tells, if it tells anything.
    """
    for days, tells in DATES:
        if widest <= days:
            return [Trace(tells / 100, f"shown {wording_of(when)}, as this came out")]
    return []


def wording_of(when: str) -> str:
    """A date in words with the preposition it takes: `on 4 August 2024`, `in August 2024`, `about 2024`."""
    first = when.split(" ", 1)[0]
    if first.isdigit() and " " in when:
        return f"on {when}"
    return f"in {when}" if first.isdigit() or first[:1].isupper() else when


def chance(found: Sequence[Trace]) -> float:
    """The chance that traces come to, 0 to 1."""
    doubt = 1.0
    for trace in found:
        doubt *= 1 - trace.tells
    return 1 - doubt


def in_words(found: Sequence[Trace], most: int = 3) -> str:
    """The traces that tell most, in words; of single words `most`, in one clause."""
    best = sorted(found, key=lambda trace: -trace.tells)
    best = [trace for at, trace in enumerate(best) if trace.tells >= 0.05 or at == 0]
    clauses = [trace.why for trace in best if not trace.why.startswith(_SAYS)]
    single = [trace.why for trace in best if trace.why.startswith(_SAYS)][:most]
    for says in _SAYS:
        said = [why.removeprefix(says[:-1]) for why in single if why.startswith(says)]
        clauses += [says[:-1] + wording.listing(said)] if said else []
    return "; ".join(clauses)


def _held(piece: Piece, called: Called) -> dict[str, int]:
    """The telling stems of a piece with the weight of the best place each stands in."""
    places = {
        "remark": [*(feature.where for feature in piece.features), *piece.points, piece.notes],
        "material": piece.materials,
        "kind": [piece.kind],
        "feature": [feature.what for feature in piece.features],
    }
    held: dict[str, int] = {}

    def hold(words: Sequence[str], weight: int) -> None:
        held.update({word: weight for word in words if held.get(word, 0) < weight})

    for place, texts in places.items():
        hold(read(" ; ".join(texts), 2 * LONGEST).telling, WEIGHTS[place])
    hold(called.name.telling, WEIGHTS["name"])
    hold(called.nick.telling, WEIGHTS["nickname"])
    return held


def _near(strange: set[str], known: Vocabulary) -> dict[str, list[tuple[str, float]]]:
    """For words that no piece holds, the words of names that are like them, and how much they count."""
    if not strange or not known.in_names:
        return {}
    from rapidfuzz import fuzz, process

    by_first: defaultdict[str, list[str]] = defaultdict(list)
    for word in sorted(known.in_names):
        if len(word) >= SHORTEST_NEAR:
            by_first[word[0]].append(word)
    near: dict[str, list[tuple[str, float]]] = {}
    for word in strange:
        choices = by_first.get(word[0], [])
        found = process.extract(word, choices, scorer=fuzz.ratio, score_cutoff=NEAR_WORD, limit=3)
        if found:
            near[word] = [(other, 0.8 * ratio / 100) for other, ratio, _ in found]
    return near


def _heard(text: Words, known: Vocabulary, near: Mapping[str, list[tuple[str, float]]]) -> dict[str, Heard]:
    """The stems that pieces hold and that stand in this text, or nearly do; the closest and then the first of each."""
    heard: dict[str, Heard] = {}
    for place, word in enumerate(text.words):
        if not is_telling(word):
            continue
        plain = stem(word)
        for other, closeness in [(plain, 1.0)] if plain in known.sums else near.get(plain, []):
            if other not in heard or heard[other].closeness < closeness:
                heard[other] = Heard(place, word, closeness)
    return heard


def _name(piece: int, heard: Mapping[str, Heard], in_texts: Mapping[str, set[int]], known: Vocabulary) -> list[Trace]:
    """The name of a piece, if the text has one like it."""
    name = known.names[piece]
    there = [word for word in name if word in heard]
    if not there:
        return []
    from rapidfuzz import fuzz

    said = (stem(heard[word].word) for word in there)
    likeness = fuzz.ratio(" ".join(name), " ".join(said), score_cutoff=NEAR_NAME)
    if not likeness:
        return []
    alike = len(frozenset.intersection(*(known.in_names[word] for word in there)))
    texts = len(set.intersection(*(in_texts[word] for word in there)))
    tells = NAME / 100 * (likeness - 50) / 50 / alike / among_texts(texts)
    whole = "all of its name is there" if likeness == 100 else f"its name is {likeness:.0f}% like the title"
    return [Trace(tells, whole)]
