"""Text as words for comparing: case, accents and punctuation left aside, and never more than a few hundred characters.

- An apostrophe within a word falls away (`bandsman's` is `bandsmans`), `&` is `and`, every other sign parts words.
- Accents fall away, and so do the optional points of Hebrew and the vowel marks of Arabic. Other marks, such as the
  vowel signs of Devanagari, make a word and stay.
- Signs that cannot be seen (soft hyphens, marks of direction) fall away; control characters and lone surrogates part
  words.
- Where a hyphen joins two words that is kept beside them: a bonnet-box is no bonnet. So is where a stop parts them:
  `Breakfast in bed: jacket and cap` has no bed jacket.
"""

from __future__ import annotations

import re
import unicodedata

from showrunner.domain.record import record

LONGEST = 300
"""Most characters of a text that are compared."""

_STOP = """
a about after again all also am an and another are as at be been before behind between but by can come comes did do
does done down each episode every first five for four from get gets give gives go goes had has have he her here hers
him his how i if in into is it its just last let like made make makes many me more most much must my new no none nor
not now of off old on once one only or other our out over part same second series seven shall she should show shows
six so some still such take takes ten than that the their them then there these they thing things third this those
three through to too twice two under until up upon us very video was we were what when where which while who whom
why will with within without would yet you your
"""

STOP = frozenset(_STOP.split())
"""Words that tell nothing about a piece."""

_APOSTROPHE = re.compile(r"(?<=\w)['’ʼ‘](?=\w)")
_STOPS = re.compile(r"[;:!?()\[\]{}|/。、–—―…]|[,.](?=\s|$)|(?<=\s)-+(?=\s)")
_OTHER = re.compile(r"[^A-Za-z0-9|-]+")
_ACCENTS = re.compile("[\u0300-\u036f\u0591-\u05bd\u05bf-\u05c7\u0610-\u061a\u064b-\u065f\u0670]")
_HYPHENS = "-‐‑"
_NICKNAME = re.compile(
    r"[“„]([^“”„]+)[”“]|\"([^\"]+)\"|«([^«»]+)»|(?<!\w)‘([^‘’]+)’(?!\w)|(?<![\w'])'([^']+)'(?!\w)",
)


@record
class Words:
    """The words of a text."""

    words: tuple[str, ...] = ()
    """The words, plain, as they stand."""
    joined: frozenset[int] = frozenset()
    """Places, from 0, of the words that a hyphen joins to the next."""
    stopped: frozenset[int] = frozenset()
    """Places of the words after which a stop, a bracket or a dash stands."""
    capital: frozenset[int] = frozenset()
    """Places of the words that begin with a capital."""
    whole: bool = True
    """Whether they are the whole text, nothing cut."""

    @property
    def text(self) -> str:
        """The words in a row."""
        return " ".join(self.words)

    @property
    def telling(self) -> tuple[str, ...]:
        """The stems of the words that can tell a piece, in order."""
        return tuple(stem(word) for word in self.words if is_telling(word))


def read(text: str, longest: int = LONGEST) -> Words:
    """The words of a text, for comparing.

    Args:
        text: any text.
        longest: most characters of it that are looked at; a word that this cuts is left out.

    Returns:
        Its words.
    """
    plain = _APOSTROPHE.sub("", text[:longest]).replace("&", " and ")
    plain = _STOPS.sub(" | ", plain if plain.isascii() else _unaccented(plain))
    whole = len(text) <= longest and len(plain) <= 2 * longest
    chunks = (_OTHER.sub(" ", plain) if plain.isascii() else _only_words(plain[: 2 * longest])).split()
    words: list[str] = []
    joined: set[int] = set()
    stopped: set[int] = set()
    for chunk in chunks:
        if chunk == "|":
            stopped.add(len(words) - 1)
        elif "-" not in chunk:
            words.append(chunk)
        elif parts := [part for part in chunk.split("-") if part]:
            joined.update(range(len(words), len(words) + len(parts) - 1))
            words += parts
    if not whole and words:
        words.pop()
    capital = frozenset(at for at, word in enumerate(words) if not word.islower() and word[0].isupper())
    lower = (word.lower() if word.isascii() else _unaccented(word.casefold()) for word in words)
    inner = range(len(words) - 1)
    return Words(tuple(lower), frozenset(joined & {*inner}), frozenset(stopped & {*inner}), capital, whole)


def nickname(name: str) -> tuple[str, str]:
    """The quoted nickname in the name of a piece, and the name without it; both empty if there is none."""
    found = _NICKNAME.search(name[:LONGEST])
    if found is None:
        return "", ""
    return next(group for group in found.groups() if group), name[: found.start()] + " " + name[found.end() :]


def is_telling(word: str) -> bool:
    """Whether a word can tell a piece: no stop word, no number, and not one or two letters."""
    return word not in STOP and not word.isdigit() and (len(word) > 2 or not word.isascii())


def stem(word: str) -> str:
    """An English word without the ending of its plural (`bonnets`, `boxes`, `bodies`)."""
    if len(word) < 4 or not word.endswith("s") or word.endswith(("ss", "us", "is")) or word[0].isdigit():
        return word
    if word.endswith("ies"):
        return word[:-3] + "y"
    if word.endswith(("ches", "shes", "sses", "xes", "zes")):
        return word[:-2]
    return word[:-1]


def _unaccented(text: str) -> str:
    """The text without accents."""
    return _ACCENTS.sub("", unicodedata.normalize("NFKD", text))


def _only_words(text: str) -> str:
    """The text with spaces for all that makes no word, and nothing for what cannot be seen."""
    return "".join(
        sign if sign.isalnum() or sign == "|" else "-" if sign in _HYPHENS else _other_sign(sign) for sign in text
    )


def _other_sign(sign: str) -> str:
    """What stands for a sign that is no letter, number or hyphen."""
    category = unicodedata.category(sign)
    if category in ("Mn", "Mc", "Me"):
        return sign
    return "" if category == "Cf" else " "
