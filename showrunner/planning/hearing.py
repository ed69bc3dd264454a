"""What had to be said, looked for in the words of a film: the place where each thing seems to be said, if any.

A thing is looked for by the stems of its words, and by their sound where captions misheard them. A word counts the more
the rarer it is in this film, and the places of all things together follow the order of the shoot. It is a list to look
through and no verdict: whoever made the film takes each line, or leaves it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace
from enum import StrEnum
from math import log

from showrunner.domain.package import Part
from showrunner.domain.record import record
from showrunner.planning.captions import Spoken, spoken_words
from showrunner.planning.terms import ABSENT, LEFT, RIGHT, row, sound, terms_of, together

WINDOW = 24
"""Most words from the first to the last that one saying is spread over."""
SAID, PERHAPS = 0.87, 0.60
"""Scores from which a thing seems to be said, or may be."""
ONE_WORD = 0.4
"""Most that a place is worth which has one word of a thing only, or none of its rarest."""
MASS, ENOUGH = 0.65, 3.0
"""What much matched weight adds to the score at most, and the weight at which it does."""
SPREAD = 0.004
"""What each word between the first and the last takes off the score."""
LEAST, WEAK, UNHEARD = 0.12, 0.35, 0.6
"""Least weight of a word; most of a side or an absence; what that of a word heard nowhere counts."""
ALIKE = 0.75
"""What a word counts that only sounds alike."""
LONG_SOUND, LIKE, LIKE_SHORT = 4, 60, 65
"""Consonants of a sound that tells words apart; how like the letters must be, per cent, and with a shorter one."""
RARE_SOUND = 12
"""Most times that a sound may be heard to stand for a misheard word."""
LONGEST_JOINED = 16
"""Most letters of words that are taken as one misheard word."""
OWN_PART, TOO_EARLY = 0.06, -0.10
"""What is added to the score in the part of the shoot that a thing belongs to, and before it."""
VERY_NEAR = 5
"""Words within which a word that may mean absence does."""
NEAR = 7
"""Words within which absence, a side or a number belongs to what is said."""
MOST_PLACES = 8
"""Places of one thing that are looked at."""
AFTER = 14
"""Words after a saying within which it may be taken back."""


@record
class Sayable:
    """Something that had to be said."""

    id: str
    """The id of its point."""
    text: str
    """What to say."""
    part: Part | None = None
    """The part of the film it belongs to; None if to any."""
    piece: str = ""
    """Id of the piece."""
    absent: bool = False
    """Whether it says that something is not there."""


class Verdict(StrEnum):
    """Whether a thing seems to be said."""

    SAID = "said"
    """A cue seems to say it."""
    PERHAPS = "perhaps"
    """A cue may say it."""
    NOT_HEARD = "not heard"
    """No cue seems to say it."""


class Doubt(StrEnum):
    """What speaks against a place that otherwise fits."""

    OTHER_SIDE = "other side"
    """The wearer's other side is named."""
    OTHER_NUMBER = "other number"
    """Another number is named."""
    NO_ABSENCE = "no absence"
    """Nothing says that it is not there."""
    STILL_THERE = "still there"
    """It is said that it is there."""
    DENIED = "denied"
    """It is said that it is not so."""
    TAKEN_BACK = "taken back"
    """What was said is taken back right after."""


@record
class Place:
    """A place in the film that fits a thing."""

    first: int
    """Its first word, from 0."""
    last: int
    """Its last word."""
    score: float
    """How well it fits; more is better, and it can pass 1."""
    words: tuple[int, ...]
    """The words of the film that were matched."""
    doubts: tuple[Doubt, ...] = ()
    """What speaks against it."""


@record
class Hearing:
    """What was found of one thing."""

    thing: Sayable
    """The thing."""
    verdict: Verdict
    """Whether it seems to be said."""
    place: Place | None
    """Where, or the nearest place; None if no word of it was heard."""
    late: bool = False
    """Whether it comes after the part it belongs to."""
    early: bool = False
    """Whether it comes before it."""


@record
class _Word:
    """A word of a thing, with the places where it was heard."""

    term: str
    weight: float
    heard: tuple[tuple[int, float], ...]


class Film:
    """The words of a film made comparable.

    Args:
        words: the words as they were spoken.
    """

    def __init__(self, words: Sequence[Spoken]) -> None:
        self.words = words
        self.texts = [word.text for word in words]
        self.terms = terms_of(self.texts)
        self.sides = _sides(self.texts, self.terms)
        self.places: dict[str, list[int]] = defaultdict(list)
        for at, term in enumerate(self.terms):
            if term:
                self.places[term].append(at)
        for side in (LEFT, RIGHT):
            self.places[side] = [at for at in self.places[side] if self.sides[at]]
        self.scale = log(1 + max(8.0, len(words) / 8))

    def weight(self, term: str) -> float:
        """How much a word tells: less the more often it is heard; a word heard nowhere may be a misheard one."""
        heard = len(self.places.get(term, ()))
        weight = max(LEAST, 1 - log(1 + heard) / self.scale)
        return min(weight, WEAK) if term in (ABSENT, LEFT, RIGHT) else weight

    def sounding(self, wanted: Mapping[str, set[str]]) -> dict[str, list[tuple[int, int]]]:
        """By word of the things the places that sound like it: first and last word of each.

        Args:
            wanted: by sound the words that sound so.
        """
        from rapidfuzz.fuzz import ratio  # here, for it takes longer to load than a package to print

        prefixes = {key[:n] for key in wanted for n in range(1, len(key) + 1)}
        keys = [sound(text) for text in self.texts]
        found: dict[str, list[tuple[int, int]]] = defaultdict(list)
        for at, key in enumerate(keys):
            joined, text = key, self.texts[at]
            for last in range(at, min(at + 3, len(keys))):
                if last > at:
                    joined, text = together(joined, keys[last]), text + self.texts[last]
                if joined not in prefixes or len(text) > LONGEST_JOINED:
                    break
                for word in wanted.get(joined, ()):
                    least = LIKE if len(joined) >= LONG_SOUND else LIKE_SHORT
                    if self.terms[at] != terms_of([word])[0] and ratio(word, text) >= least:
                        found[word].append((at, last))
        return {word: places for word, places in found.items() if len(places) <= RARE_SOUND}


_OWNERS = frozenset(row("the her his their its wearer's my your our that this"))
_NO_SIDE = frozenset(row("way thing place time word over amount size colour moment person side-up"))
_SIDED = frozenset(
    row(
        "hand side hip cuff sleeve shoulder arm front back chest breast skirt tail foot leg edge hem pocket "
        "collar knee wrist elbow half panel seam glove shoe armhole underarm welt facing lapel yoke strap "
        "flap gusset"
    )
)


def _sides(texts: Sequence[str], terms: Sequence[str]) -> list[bool]:
    """For each word whether it names a side: `her left`, and neither `that's right` nor `all that is left`."""
    found = [False] * len(texts)
    for at, term in enumerate(terms):
        if term in (LEFT, RIGHT):
            before = texts[at - 1] if at else ""
            after = texts[at + 1] if at + 1 < len(texts) else ""
            found[at] = after in _SIDED or (before in (*_OWNERS, "on") and after not in _NO_SIDE)
    return found


def places_of(film: Film, things: Sequence[Sayable]) -> list[list[Place]]:
    """For each thing the places in the film that fit it, the best first; no two of them are within one window."""
    texts = [_content(thing) for thing in things]
    wanted: dict[str, set[str]] = defaultdict(set)
    for text in texts:
        for word in text:
            if len(sound(word)) >= LONG_SOUND - 1 and len(word) >= LONG_SOUND + 1:
                wanted[sound(word)].add(word)
    sounding = film.sounding(wanted)
    return [_places(film, thing, text, sounding) for thing, text in zip(things, texts, strict=True)]


def _content(thing: Sayable) -> list[str]:
    """The words of a thing."""
    return [word.text for word in spoken_words(thing.text)]


def _places(
    film: Film, thing: Sayable, text: Sequence[str], sounding: Mapping[str, Sequence[tuple[int, int]]]
) -> list[Place]:
    """The places that fit one thing."""
    terms = terms_of(text)
    words: dict[str, _Word] = {}
    for word, term in zip(text, terms, strict=True):
        if not term or term in words:
            continue
        heard = dict.fromkeys(film.places.get(term, ()), 1.0)
        for first, _ in sounding.get(word, ()):
            heard.setdefault(first, ALIKE)
        words[term] = _Word(term, film.weight(term) * (1.0 if heard else UNHEARD), tuple(sorted(heard.items())))
    if thing.absent and ABSENT not in words:
        heard = dict.fromkeys(film.places.get(ABSENT, ()), 1.0)
        words[ABSENT] = _Word(ABSENT, film.weight(ABSENT), tuple(heard.items()))
    kept = list(words.values())
    total = sum(word.weight for word in kept)
    rarest = sorted((word.weight for word in kept if word.term not in (ABSENT, LEFT, RIGHT)), reverse=True)[:3]
    if not rarest:
        return []
    words_needed = sum(word.term not in (ABSENT, LEFT, RIGHT) for word in kept)
    events = sorted((at, number, strength) for number, word in enumerate(kept) for at, strength in word.heard)
    found: list[Place] = []
    for start, (first, *_) in enumerate(events):
        best: dict[int, tuple[float, int]] = {}
        top: tuple[float, int, tuple[int, ...]] | None = None
        for at, number, strength in events[start:]:
            if at >= first + WINDOW:
                break
            if best.get(number, (0.0, 0))[0] >= strength:
                continue
            best[number] = (strength, at)
            mass = sum(kept[n].weight * s for n, (s, _) in best.items())
            score = mass / total + MASS * min(mass, ENOUGH) / ENOUGH - SPREAD * (at - first)
            telling = [kept[n].weight for n in best if kept[n].term not in (ABSENT, LEFT, RIGHT)]
            told = len(telling) >= min(2, words_needed) and max(telling, default=0.0) >= rarest[-1]
            score = score if told else min(score, ONE_WORD)
            if telling and (top is None or score > top[0]):
                top = (score, at, tuple(sorted(place for _, place in best.values())))
        if top:
            found.append(Place(first, top[1], top[0], top[2]))
    return _apart(found)


def _apart(places: Sequence[Place]) -> list[Place]:
    """The best of the places that lie within one window of each other, the best first."""
    kept: list[Place] = []
    for place in sorted(places, key=lambda place: (-place.score, place.first)):
        if len(kept) == MOST_PLACES:
            break
        if all(place.first > other.last + 2 or place.last < other.first - 2 for other in kept):
            kept.append(place)
    return kept


def settle(
    film: Film, things: Sequence[Sayable], places: Sequence[Sequence[Place]], parts: Sequence[tuple[int, int] | None]
) -> tuple[Hearing, ...]:
    """The place of each thing: best first, one for each, by the order of the parts.

    Args:
        film: the words of the film.
        things: what had to be said.
        places: for each thing the places that fit it.
        parts: for each thing the first and the last word of its part of the film; None if that is not known.
    """
    fitting = []
    for number, (thing, spots, part) in enumerate(zip(things, places, parts, strict=True)):
        for place in spots:
            by_part = (
                0.0 if part is None or place.first > part[1] else OWN_PART if place.first >= part[0] else TOO_EARLY
            )
            doubts = doubts_of(film, thing, place)
            ranked = replace(place, score=place.score + by_part, doubts=doubts)
            fitting.append((bool(doubts), -ranked.score, number, place.first, ranked))
    chosen: dict[int, Place] = {}
    taken: set[int] = set()
    for doubtful, _, number, _, place in sorted(fitting, key=lambda found: (found[1] + 0.25 * found[0], found[2:4])):
        if number in chosen:
            continue
        rare = [at for at in place.words if film.weight(film.terms[at]) > WEAK]
        if rare and 2 * sum(at in taken for at in rare) > len(rare):
            continue
        chosen[number] = place
        if not doubtful and place.score >= SAID:
            taken.update(rare)
    found = []
    for number, (thing, spots, part) in enumerate(zip(things, places, parts, strict=True)):
        shown = chosen.get(number) or (spots[0] if spots else None)
        verdict = Verdict.NOT_HEARD
        if number in chosen and shown and shown.score >= PERHAPS:
            verdict = Verdict.SAID if shown.score >= SAID and not shown.doubts else Verdict.PERHAPS
        late = early = False
        if part and shown and verdict is not Verdict.NOT_HEARD:
            late, early = shown.first > part[1], shown.last < part[0]
        found.append(Hearing(thing, verdict, shown, late, early))
    return tuple(found)


# What speaks against a place

_DENIALS = frozenset(row("no not never isn't wasn't aren't weren't doesn't didn't don't haven't hasn't without"))
_BACK = (
    *("no that's wrong", "that's wrong", "i was wrong", "that is wrong", "not true", "scratch that", "take that back"),
    *("that's not right", "i take it back", "forget that", "no i'm wrong", "my mistake", "i got that wrong"),
    *("i'm wrong", "correct myself", "i misspoke", "that isn't true", "that was wrong", "isn't so", "not so after all"),
)
_THERE = (
    *("still there", "still here", "still has", "still have", "still on", "is there after all", "not missing"),
    *("isn't missing", "not gone", "isn't gone", "not lost", "it's there", "is still", "are still", "all there"),
    *("both there", "survived", "has survived", "found it", "turned up", "never missing", "in place"),
)


def doubts_of(film: Film, thing: Sayable, place: Place) -> tuple[Doubt, ...]:
    """What speaks against a place."""
    wanted = terms_of(_content(thing))
    first, last = max(0, place.first - NEAR), place.last + NEAR + 1
    near = range(first, min(last, len(film.terms)))
    told = f" {' '.join(film.texts[at] for at in near)} "
    after = f" {' '.join(film.texts[place.last + 1 : place.last + 1 + AFTER])} "
    found = []
    if _other_side(film, wanted, place, near):
        found.append(Doubt.OTHER_SIDE)
    numbers = {term for term in wanted if term.isdigit()}
    if numbers:
        heard = {film.terms[at] for at in near if film.terms[at].isdigit()}
        if heard and not heard & numbers:
            found.append(Doubt.OTHER_NUMBER)
    if thing.absent:
        if not _absent(film, place):
            found.append(Doubt.NO_ABSENCE)
        survived = any(f" {phrase} " in told for phrase in _THERE)
        if survived and not (" not survived " in told or "n't survived " in told):
            found.append(Doubt.STILL_THERE)
    elif any(at and film.texts[at - 1] in _DENIALS for at in place.words) and not _denying(thing, wanted):
        found.append(Doubt.DENIED)
    if any(f" {phrase} " in after for phrase in _BACK):
        found.append(Doubt.TAKEN_BACK)
    return tuple(found)


def _denying(thing: Sayable, terms: Sequence[str]) -> bool:
    """Whether a thing says itself that something is not so."""
    return any(word in _DENIALS or term == ABSENT for word, term in zip(_content(thing), terms, strict=True))


_GONE = frozenset(
    row("absent missing gone lost nowhere none removed vanished disappeared lack lacks lacking survive survived")
)
_LEFT_OVER = (" all that's left ", " only thing left ", " only the ", " nothing left ", " taken out ", " come off ")


def _absent(film: Film, place: Place) -> bool:
    """Whether it is said that something is not there: by a word that means that, or close by one that may."""
    named = [at for at in place.words if film.terms[at] != ABSENT]
    first, last, end = min(named), max(named), len(film.terms)
    near = range(max(0, first - NEAR), min(last + NEAR + 1, end))
    close = range(max(0, first - VERY_NEAR), min(last + VERY_NEAR + 1, end))
    told = f" {' '.join(film.texts[at] for at in near)} "
    return (
        any(film.texts[at] in _GONE for at in near)
        or any(film.terms[at] == ABSENT for at in close)
        or any(phrase in told for phrase in _LEFT_OVER)
    )


def _other_side(film: Film, wanted: Sequence[str], place: Place, near: range) -> bool:
    """Whether the wearer's other side is named nearer to what was matched than the one that is meant, if that is."""
    sides = {term for term in wanted if term in (LEFT, RIGHT)}
    if len(sides) != 1:
        return False
    (side,) = sides
    anchors = [at for at in place.words if film.terms[at] not in (LEFT, RIGHT)] or list(place.words)
    named = [at for at in near if film.terms[at] in (LEFT, RIGHT) and (film.sides[at] or at + 1 in place.words)]
    own = [at for at in named if film.terms[at] == side]
    other = [at for at in named if film.terms[at] != side]
    if not other:
        return False
    if not own:
        return True

    def distance(at: int) -> float:
        return min(abs(at - anchor) for anchor in anchors)

    return min(map(distance, other)) < min(map(distance, own))
