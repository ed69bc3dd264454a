"""Which thing of the book a person means: by its number, its name, or a part of the name.

What is typed is held against all that the book has of one sort, from the firmest way to the loosest; the first way in
which anything fits decides, and never a guess:

- the number (the permanent id) as it stands, then the name as it stands;
- the number or the name, letter case, accents, signs and leading zeros left aside;
- the same of what it is known by beside: the pieces of a study, the weekday of a slot;
- all that is typed as whole words of any of these;
- all that is typed as parts of their words; a number is never a part.

In each way those that a command is likely to be about, such as studies to come, come before the others.
"""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from collections.abc import Callable, Collection, Iterable, Sequence
from enum import StrEnum

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.episode import Episode, EpisodeKind
from showrunner.domain.house import WEEKDAYS
from showrunner.domain.record import record
from showrunner.domain.titles import quoted
from showrunner.errors import UnknownThing

LONGEST = 300
"""Most characters of a name that are compared, beside the whole of it as it stands."""
NEAR = 0.75
"""How alike a name must be to be offered for one that is not there (1: the same)."""
OFFERED = 4
"""Most names that a refusal tells."""

_APOSTROPHES = re.compile(r"(?<=\w)['’ʼ‘](?=\w)")
_MARKS = re.compile("[\u0300-\u036f\u0591-\u05bd\u05bf-\u05c7\u0610-\u061a\u064b-\u065f\u0670]")
_NO_WORD = re.compile("[^a-z0-9]+")
_ZEROS = re.compile(r"(?<!\d)0+(?=\d)")


class Sort(StrEnum):
    """What of the book can be named."""

    PIECE = "piece"
    WANT = "want"
    STUDY = "study"
    EPISODE = "episode"
    SERIES = "series"
    SLOT = "slot"
    COLLECTION = "collection"
    BOX = "box"
    FORM = "form"
    SUPPORTER = "supporter"


@record
class Thing:
    """Something of the book, by what it may be called."""

    sort: Sort
    """What it is."""
    id: str
    """Its permanent id; a form has none but its name."""
    name: str
    """Its name as it is written; empty if it has none."""
    also: tuple[str, ...] = ()
    """What it is known by beside: numbers and names of the pieces of a study, the weekday of a slot."""


@record
class Answer:
    """What a text may mean."""

    found: Thing | None = None
    """The one thing it means."""
    several: tuple[Thing, ...] = ()
    """All that it fits, if that is more than one."""
    exact: bool = False
    """Whether it is the whole number or name, and not a part."""


def things(book: Book, sort: Sort) -> tuple[Thing, ...]:
    """All that the book has of one sort, in book order."""
    match sort:
        case Sort.PIECE:
            return tuple(Thing(sort, piece.id, piece.name) for piece in book.pieces)
        case Sort.WANT:
            return tuple(Thing(sort, piece.id, piece.name) for piece in book.pieces if piece.want)
        case Sort.STUDY | Sort.EPISODE:
            found = book.studies if sort is Sort.STUDY else book.episodes
            return tuple(Thing(sort, one.id, one.title, _shown(book, one)) for one in found)
        case Sort.SLOT:
            return tuple(Thing(sort, rule.id, rule.name, (WEEKDAYS[rule.weekday],)) for rule in book.rules)
        case Sort.SERIES:
            return tuple(Thing(sort, one.id, one.name) for one in book.series)
        case Sort.COLLECTION:
            return tuple(Thing(sort, one.id, one.name) for one in book.collections)
        case Sort.BOX:
            return tuple(Thing(sort, box.id, box.name) for box in book.boxes)
        case Sort.FORM:
            return tuple(Thing(sort, form.name, form.name) for form in book.house.forms)
        case Sort.SUPPORTER:
            return tuple(Thing(sort, one.id, one.name) for one in book.supporters)


def named(book: Book, sort: Sort, text: str, *, likely: Collection[str] | None = None) -> str:
    """Id of the thing that a person means.

    Args:
        book: the book.
        sort: what is meant.
        text: what was typed: its number, its name, or a part of that.
        likely: ids of those that can be meant here, which come before the others; None: all, but what is published
            comes after what is not.

    Raises:
        UnknownThing: there is none, or more than one; the sentence names them.
    """
    return which(text, *split(book, sort, likely), noun=sort.value).id


def named_each(book: Book, sort: Sort, texts: Sequence[str]) -> tuple[str, ...]:
    """Ids of the things that some words mean: each by itself, or all together one name that was typed without marks.

    Args:
        book: the book.
        sort: what is meant.
        texts: what was typed, word by word.

    Returns:
        Each id once, in the order typed.

    Raises:
        UnknownThing: as `named`.
    """
    likely, others = split(book, sort)
    each = [meant(text, likely, others) for text in texts]
    if not all(answer.found and answer.exact for answer in each):
        together = meant(" ".join(texts), likely, others)
        if together.found:
            return (together.found.id,)
    return tuple(dict.fromkeys(which(text, likely, others, noun=sort.value).id for text in texts))


def listed(there: Sequence[Thing], text: str, *, noun: str) -> tuple[Thing, ...]:
    """The things that a list with commas means: `08, Sailor suit, child's`.

    A name that has commas of its own is taken whole where all of it is written.

    Args:
        there: what can be meant.
        text: what was typed; empty for none.
        noun: what is looked for, in words.

    Returns:
        Each once, in the order typed.

    Raises:
        UnknownThing: a part fits nothing, or more than one thing.
    """
    parts = [part for part in re.split("[,;]", text) if part.strip()]
    found: list[Thing] = []
    at = 0
    while at < len(parts):
        ends = range(len(parts), at + 1, -1)
        end = next((end for end in ends if meant(_joined(parts, at, end), there).exact), at + 1)
        found.append(which(_joined(parts, at, end), there, noun=noun))
        at = end
    return tuple(dict.fromkeys(found))


def _joined(parts: Sequence[str], first: int, end: int) -> str:
    return ",".join(parts[first:end]).strip()


def split(book: Book, sort: Sort, likely: Collection[str] | None = None) -> tuple[tuple[Thing, ...], tuple[Thing, ...]]:
    """All of one sort: those that are likely meant, and the others; arguments as `named`."""
    there = things(book, sort)
    if likely is None:
        published = {one.id for one in book.episodes if one.published}
        likely = {thing.id for thing in there if sort not in (Sort.STUDY, Sort.EPISODE) or thing.id not in published}
    return tuple(t for t in there if t.id in likely), tuple(t for t in there if t.id not in likely)


def which(text: str, likely: Sequence[Thing], others: Sequence[Thing] = (), *, noun: str) -> Thing:
    """The one thing that a text means.

    Args:
        text: what was typed.
        likely: what comes first.
        others: what comes after that, in each way of fitting.
        noun: what is looked for, in words.

    Raises:
        UnknownThing: nothing fits, or more than one thing does.
    """
    answer = meant(text, likely, others)
    if answer.found:
        return answer.found
    if answer.several:
        raise _several(text, answer.several)
    raise _unknown(text, likely, others, noun)


def meant(text: str, likely: Iterable[Thing], others: Iterable[Thing] = ()) -> Answer:
    """What a text may mean; arguments as `which`."""
    groups = [[_Called(thing) for thing in group] for group in (likely, others)]
    typed = _Called(Thing(Sort.PIECE, text, text))
    for at, fits in enumerate(_WAYS):
        for group in groups:
            found = tuple(called.thing for called in group if fits(typed, called))
            if found:
                exact = at < _LOOSE
                return Answer(found[0], (), exact) if len(found) == 1 else Answer(None, found, exact)
    return Answer()


def written(likely: Sequence[Thing], others: Sequence[Thing] = ()) -> dict[Thing, tuple[str, ...]]:
    """The texts that surely mean each thing: its name, and its number; without those that another has too."""
    ids = [Counter(cleaned(thing.id) for thing in group) for group in (likely, others)]
    names = [Counter(cleaned(thing.name) for thing in group) for group in (likely, others)]

    def clear(at: int, thing: Thing) -> tuple[str, ...]:
        id, name = cleaned(thing.id), cleaned(thing.name)
        first = [sum(counts[text] for counts in tables[: at + 1]) for tables, text in ((names, name), (ids, id))]
        own = name and first[0] == 1 and not any(counts[name] for counts in ids)
        return (*([name] if own else ()), *([id] if id and first[1] == 1 else ()))

    return {thing: clear(at, thing) for at, group in enumerate((likely, others)) for thing in group}


def begun(text: str, thing: Thing) -> bool:
    """Whether what was typed so far may become the number or name of a thing, or a part of them."""
    typed, called = _Called(Thing(thing.sort, text, text)), _Called(thing)
    if called.id.startswith(typed.id):
        return True
    return bool(typed.words) and all(any(word in other for other in called.words) for word in typed.words)


def label(thing: Thing, *, with_id: bool = False) -> str:
    """What a thing is called in a sentence: `making diary`, `“A gown”`, of a piece with its number `Hat (32)`."""
    name, id = words.short(cleaned(thing.name)), words.short(cleaned(thing.id))
    if not name:
        return id
    if thing.sort in (Sort.STUDY, Sort.EPISODE):
        name = quoted(name)
    return f"{name} ({id})" if with_id or tells_id(thing) else name


def tells_id(thing: Thing) -> bool:
    """Whether its owner knows the id, since it is written on it."""
    return thing.sort in (Sort.PIECE, Sort.WANT, Sort.BOX)


def cleaned(text: str) -> str:
    """A name on one line, without signs that cannot be printed."""
    return " ".join(text.split()) if text.isprintable() else " ".join("".join(map(_shown_as, text)).split())


def _shown_as(sign: str) -> str:
    if sign.isprintable():
        return sign
    return "" if unicodedata.category(sign) == "Cf" else " "


def bare(text: str, longest: int = LONGEST) -> str:
    """A text as plain words for comparing: letter case, accents and all other signs left aside.

    Args:
        text: any text.
        longest: most characters of it that are looked at.
    """
    plain = _APOSTROPHES.sub("", text[:longest]).replace("&", " and ")
    if plain.isascii():
        return " ".join(_NO_WORD.sub(" ", plain.lower()).split())
    plain = unicodedata.normalize("NFKD", unicodedata.normalize("NFKD", plain).casefold())
    return " ".join("".join(map(_in_word, _MARKS.sub("", plain))).split())


def _in_word(sign: str) -> str:
    """A sign as it stands in a word: as it is, nothing for what cannot be seen, or a space for what parts words."""
    category = unicodedata.category(sign)
    if category[0] in "LNM":
        return sign
    return "" if category == "Cf" else " "


def _shown(book: Book, episode: Episode) -> tuple[str, ...]:
    """Numbers and names of the pieces of a study."""
    if episode.kind is not EpisodeKind.STUDY:
        return ()
    pieces = [book.find("pieces", id) for id in episode.pieces]
    return (*episode.pieces, *(piece.name for piece in pieces if piece))


class _Called:
    """A thing with what it is called made comparable."""

    def __init__(self, thing: Thing) -> None:
        self.thing = thing
        self.id = cleaned(thing.id)
        self.name = cleaned(thing.name)
        self.keys = {_key(text) for text in (thing.id, thing.name)} - {""}
        self.also = {_key(text) for text in thing.also} - {""}
        self.words = {word for key in self.keys | self.also for word in key.split()}


def _key(text: str) -> str:
    return _ZEROS.sub("", bare(text))


def _is_id(typed: _Called, called: _Called) -> bool:
    return bool(typed.id) and typed.id == called.id


def _is_name(typed: _Called, called: _Called) -> bool:
    return bool(typed.name) and typed.name == called.name


def _is_like(typed: _Called, called: _Called) -> bool:
    return bool(typed.keys & called.keys)


def _is_known_by(typed: _Called, called: _Called) -> bool:
    return bool(typed.keys & called.also)


def _has_words(typed: _Called, called: _Called) -> bool:
    return bool(typed.words) and typed.words <= called.words


def _has_parts(typed: _Called, called: _Called) -> bool:
    return bool(typed.words) and all(
        word in called.words or (not word.isdecimal() and any(word in other for other in called.words))
        for word in typed.words
    )


_WAYS: tuple[Callable[[_Called, _Called], bool], ...] = (
    _is_id,
    _is_name,
    _is_like,
    _is_known_by,
    _has_words,
    _has_parts,
)
_LOOSE = _WAYS.index(_has_words)


def _several(text: str, found: Sequence[Thing]) -> UnknownThing:
    """The refusal of a text that fits more than one thing."""
    names = [cleaned(thing.name) for thing in found]
    alike = len(set(names)) < len(names)
    labels = [label(thing, with_id=alike) for thing in found]
    sorts = {thing.sort for thing in found}
    fits = words.count(len(found), found[0].sort if len(sorts) == 1 else "name")
    if alike:
        way_out = "write what stands in brackets"
    elif all(tells_id(thing) for thing in found):
        way_out = "write more of the name, or what stands in brackets"
    else:
        way_out = "write more of the name"
    return UnknownThing(f"'{words.short(text)}' fits {fits}: {words.some(labels, OFFERED)}", way_out=way_out)


def _unknown(text: str, likely: Sequence[Thing], others: Sequence[Thing], noun: str) -> UnknownThing:
    """The refusal of a text that fits nothing."""
    near, there = _near(text, [*likely, *others]), likely or others
    if near:
        way_out = f"the nearest is {' or '.join(map(label, near))}"
    elif len(there) > 1:
        way_out = f"choose one of {words.some(list(map(label, there)), OFFERED)}"
    else:
        way_out = f"there is only {label(there[0])}" if there else "the book has none yet"
    what = f"there is no {noun} '{words.short(text)}'" if text.strip() else f"no {noun} is named"
    return UnknownThing(what, way_out=way_out)


def _near(text: str, there: Sequence[Thing]) -> tuple[Thing, ...]:
    """What is called most like a text, or has words most like it; at most two."""
    from difflib import get_close_matches

    typed = _key(text)
    length = len(typed.split())
    called: dict[str, list[Thing]] = {}
    for thing in there:
        parts = {key for text in (thing.id, thing.name, *thing.also) if (key := _key(text))}
        for key in tuple(parts):
            inside = key.split()
            parts |= {" ".join(inside[at : at + length]) for at in range(len(inside) - length + 1)}
        for part in sorted(parts):
            called.setdefault(part, []).append(thing)
    near = get_close_matches(typed, list(called), 1, NEAR) if typed else []
    return tuple(dict.fromkeys(called[near[0]]))[:2] if near else ()
