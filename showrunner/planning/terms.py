"""Words made comparable: small letters, no accents, stems, numbers as digits, words of one meaning, and sounds."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from functools import cache
from typing import Any


def row(text: str) -> tuple[str, ...]:
    """The words of a row of words."""
    return tuple(text.split())


_ONES = row(
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen "
    "sixteen seventeen eighteen nineteen"
)
_TENS = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
NUMBERS = {word: n for n, word in enumerate(_ONES)} | {word: 20 + 10 * n for n, word in enumerate(_TENS)}
"""Number words and what they are worth."""

STOP = frozenset(
    row(
        "a an the this that these those it its he him his she her hers they them their i me my we us our you "
        "your and or but so of in on at to for with by from as is are was were be been being am do does did "
        "done have has had having will would can could may might must shall should there here what which who "
        "whom when where how if then than too very just also up down out into onto over one ones some any all "
        "each other such own same wearer's wearers wearer about again still ever more most much many few get "
        "got getting let lets go going come see look say said know think thing things kind sort like well "
        "really quite rather er um uh oh okay yes now"
    )
)
"""Words that say nothing by themselves."""

ABSENT = "=absent"
"""What every word of absence is taken for."""
LEFT, RIGHT = "=left", "=right"
"""The wearer's sides."""

_GROUPS = (
    "lowest bottom lower last lowermost",
    "top uppermost upper highest topmost",
    "tack baste",
    "replace renew",
    "repair mend darn patch",
    "sew stitch",
    "pad wad wadding stuffing",
    "scorch burn singe",
    "stain mark spot blot drop tide",
    "tear rip rent",
    "worn rub bald threadbare wear",
    "piece scrap bit fragment",
    "ribbon tape band",
    "small tiny little wee",
    "big large great",
    "child children",
    "man men",
    "woman women",
    "write written wrote",
    "under beneath underneath below",
    "behind back rear reverse",
    "cut trim",
    "cm centimetre centimeter",
    "kg kilo kilogram",
    "mm millimetre millimeter",
    "guess suppose perhaps maybe possibly probably think",
    "shatter split crack",
    "fade pale",
    "undo unpick",
    "number numeral figure",
    "letter initial",
    "lopsided uneven crooked",
    "grow growth",
    "let lengthen",
    "dear expensive costly",
    "fasten close closure",
    "neck neckline",
    "arm armhole armscye sleeve",
    "row line rank",
    "extra second another",
    "close shut",
    "find found discover",
    "brown tan",
    "loan lent lend borrow",
    "thank thanks grateful",
    "later after afterwards",
    "early before earlier",
    "old ancient",
    "stiff stiffen",
    "hair bristle",
    "cape capelet",
    "fray ravel unravel",
    "alter change",
    "swap switch",
    "melt melted",
    "join seam",
    "gather ruche pucker",
    "border edge edging rim",
    "print printed pattern",
    "embroider embroidery",
    "pencil pencilled",
)
"""Words that mean the same of a piece, the first standing for all."""

_ABSENCE = row(
    "absent missing gone lost without nowhere no none away removed vanished disappeared survived survive "
    "lack lacks lacking off nothing never not isn't aren't hasn't wasn't"
)
"""Words that say that something is not there."""


def folded(text: str) -> str:
    """Text in small letters without accents, with a plain apostrophe."""
    plain = unicodedata.normalize("NFKD", text.lower().replace("’", "'"))
    return plain if plain.isascii() else "".join(c for c in plain if not unicodedata.combining(c))


def terms_of(words: Iterable[str]) -> list[str]:
    """What each word is compared by: a stem, a number in digits, or nothing for a word that says nothing.

    Number words that belong together stand at the first of them (`forty one`: `41` and nothing).
    """
    spoken = list(words)
    found = [_term(word) for word in spoken]
    values = [int(term) if term.isascii() and term.isdigit() and len(term) < 3 else -1 for term in found]
    for at in range(len(found) - 1):
        one, two = values[at], 1 if spoken[at + 1] == "one" else values[at + 1]
        if one >= 20 and one % 10 == 0 and 0 < two < 10:
            values[at], values[at + 1] = one + two, -1
            found[at], found[at + 1] = str(one + two), ""
    for at in range(len(found) - 1):
        follow = at + 1 if found[at + 1] else at + 2
        if 14 <= values[at] <= 20 and follow < len(found) and 10 <= values[follow] <= 99:
            found[at], found[follow] = f"{values[at]}{values[follow]}", ""
    return found


@cache
def _term(word: str) -> str:
    plain = folded(word)
    if plain in STOP:
        return ""
    if plain in NUMBERS:
        return str(NUMBERS[plain])
    if plain in ("left", "right"):
        return LEFT if plain == "left" else RIGHT
    if plain in _ABSENCE:
        return ABSENT
    plain = plain.partition("'")[0]
    if word != plain and (plain in STOP or word.endswith("n't")):
        return ""
    if not plain or (len(plain) == 1 and not plain.isdigit()):
        return plain
    stem = _stem(plain)
    return _meaning().get(stem, stem)


@cache
def _meaning() -> dict[str, str]:
    stems = [[_stem(word) for word in group.split()] for group in _GROUPS]
    return {stem: group[0] for group in stems for stem in group}


@cache
def _stem(word: str) -> str:
    """The stem of an English word, as Snowball's stemmer makes it."""
    return str(_stemmer().stemWord(word))


@cache
def _stemmer() -> Any:
    from snowballstemmer.english_stemmer import EnglishStemmer

    return EnglishStemmer()


# How words sound

_SOUNDS = (
    (r"^(?:kn|gn|pn)", "n"),
    (r"^wr", "r"),
    (r"^x", "s"),
    (r"^wh", "w"),
    (r"mb\b", "m"),
    (r"tch", "X"),
    (r"dge?", "j"),
    (r"sch", "sk"),
    (r"ti(?=[ao])|si(?=on)|ci(?=a)", "X"),
    (r"sh|ch", "X"),
    (r"th", "0"),
    (r"ph", "f"),
    (r"gh(?=[aeiou])", "g"),
    (r"gh", ""),
    (r"c(?=[eiy])", "s"),
    (r"g(?=[eiy])", "j"),
    (r"ck|c|q", "k"),
    (r"x(?=.)", "ks"),
    (r"z", "s"),
    (r"v", "f"),
    (r"d", "t"),
)
_RULES = tuple((re.compile(pattern), sound) for pattern, sound in _SOUNDS)
_SILENT = re.compile(r"[^a-z0X]|[aeiouyhw]")
_DOUBLE = re.compile(r"(.)\1+")


@cache
def sound(word: str) -> str:
    """How a word sounds: its consonants in classes. Of words said together it is their sounds one after the other."""
    plain = re.sub("[^a-z]", "", folded(word))
    for pattern, to in _RULES:
        plain = pattern.sub(to, plain)
    return _DOUBLE.sub(r"\1", _SILENT.sub("", plain))


def together(one: str, two: str) -> str:
    """The sound of two words said as one."""
    return one + two[1:] if one and two and one[-1] == two[0] else one + two
