"""The parts of a film, told by the words that open them and by what is said in them; and the chapters they would make.

The words that open a part are set phrases, and those learnt from chapters that the owner took in her other films.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from statistics import median

from showrunner.domain.package import Chapter, Part
from showrunner.domain.record import record
from showrunner.planning.captions import Spoken
from showrunner.planning.hearing import Film, Hearing, Place, Sayable, Verdict
from showrunner.planning.terms import row

BLOCK = 10.0
"""Seconds of a block; a part begins with one."""
LEAST_EVIDENCE = 0.25
"""Score of a place from which it speaks for its part."""
SURELY = 1.0
"""Score of a place from which it tells where its part stands in the film."""
FAR_MORE = 1.3
"""Times as much as for the order of the shoot that must speak for another."""
OPENS = 2.0
"""How much the words that open a part speak for it."""
REACH = 8
"""Words before an opening within which the pause is looked for that it begins after."""
RUN = 3
"""Words of a learnt phrase."""
MOST_OPENINGS = 2
"""Times a phrase may be heard to open something: once for each of two pieces."""
LATE_OPENING = 30
"""Seconds from which on the start of the first part leaves room for an opening."""

PHRASES: Mapping[Part, tuple[str, ...]] = {
    Part.FLAT: (
        "lying flat",
        "is flat on",
        "lies flat",
        "lying flat on the table",
        "laid out flat",
        "laid flat",
        "lying on",
    ),
    Part.INSIDE: (
        *("look at the inside", "turn it inside out", "inside out", "look inside", "open it up", "opened it up"),
        *("see the inside", "turned it inside", "go inside"),
    ),
    Part.FORM: (
        *("on the stand", "on the form", "up on the form", "on a form", "on a stand", "dressed the form"),
        *("here it is on the stand", "got it up on the form"),
        *("on the mannequin", "stands up on"),
    ),
    Part.SIDE: (
        *(
            "next to each other",
            "side by side",
            "two of them next",
            "beside each other",
            "put the two",
            "both together",
        ),
    ),
    Part.FINDINGS: (
        *("what did i find", "what have we learned", "what did we find", "what have i learned", "what i found"),
        *("what have we found", "so what did we learn", "to sum up"),
    ),
}
"""Words that open each part."""


@record
class Section:
    """A part of a film, or that of one piece."""

    part: Part
    """The part."""
    piece: str = ""
    """Id of the piece; empty for all."""


@record
class Start:
    """Where a section begins."""

    section: Section
    """The section."""
    word: int
    """Its first word."""
    announced: bool
    """Whether words open it; otherwise only what is said in it speaks for it."""


def sections_of(things: Sequence[Sayable], pieces: Sequence[str], opened: Collection[Part] = ()) -> tuple[Section, ...]:
    """The sections of a film in the order of the shoot; flat and inside apart for each piece if there are two.

    Args:
        things: what had to be said.
        pieces: ids of the pieces.
        opened: parts that words open in the film.
    """
    parts = {thing.part for thing in things if thing.part} | set(opened)
    found = []
    for part in Part:
        if part not in parts:
            continue
        if part in (Part.FLAT, Part.INSIDE) and len(pieces) > 1:
            found += [Section(part, piece) for piece in pieces]
        else:
            found.append(Section(part))
    return tuple(found)


def in_film_order(
    sections: Sequence[Section],
    things: Sequence[Sayable],
    places: Sequence[Sequence[Place]],
    opened: Mapping[Part, Sequence[int]],
) -> tuple[Section, ...]:
    """The sections in the order in which the film has them: parts as they are where nothing speaks against it.

    A part stands where the middle of what is surely said in it and of the words that open it stands.
    """
    middles: dict[Part, float] = {}
    for part in Part:
        said = [
            spots[0].first
            for thing, spots in zip(things, places, strict=True)
            if thing.part is part and spots and spots[0].score >= SURELY
        ]
        evidence = [*said, *opened.get(part, ())]
        if len(evidence) > 1:
            middles[part] = median(evidence)
    known = [part for part in Part if part in middles]
    by_film = dict(zip(known, sorted(known, key=lambda part: middles[part]), strict=True))
    order = [by_film.get(part, part) for part in Part]
    return tuple(sorted(sections, key=lambda section: order.index(section.part)))


def learnt_phrases(films: Iterable[Sequence[Chapter]]) -> dict[Part, tuple[str, ...]]:
    """Runs of three words that open a part in two or more films, and nothing else in any."""
    opening: dict[str, Counter[Part]] = defaultdict(Counter)
    for chapters in films:
        seen: set[tuple[Part, str]] = set()
        for chapter in chapters:
            words = chapter.opening.split()
            if chapter.part:
                seen |= {(chapter.part, " ".join(words[at : at + RUN])) for at in range(len(words) - RUN + 1)}
        for part, run in seen:
            opening[run][part] += 1
    found: dict[Part, list[str]] = defaultdict(list)
    for run, parts in opening.items():
        (part, times), *others = parts.most_common()
        if times > 1 and not others:
            found[part].append(run)
    return {part: tuple(runs) for part, runs in found.items()}


def openings(film: Film, learnt: Mapping[Part, Sequence[str]]) -> dict[Part, list[int]]:
    """By part the places of words that open it; a phrase that is heard often opens nothing."""
    where = [at for at, text in enumerate(film.texts) if text not in FILLERS]
    bare = [film.texts[at] for at in where]
    index: dict[str, list[int]] = defaultdict(list)
    for at, text in enumerate(bare):
        index[text].append(at)

    def heard(phrase: str) -> list[int]:
        words = phrase.split()
        exact = [at for at in index.get(words[0], ()) if bare[at : at + len(words)] == words]
        if exact or len(words) <= RUN:
            return exact
        begins = sorted({at for word in words[:2] for at in index.get(word, ())})
        return [at for at in begins if _nearly(words, bare[at : at + len(words) + 2])]

    found: dict[Part, list[int]] = {}
    for part in Part:
        places: set[int] = set()
        for phrase in (*PHRASES[part], *learnt.get(part, ())):
            again = _far_apart(heard(phrase))
            places |= set(again) if len(again) <= MOST_OPENINGS else set()
        found[part] = [where[at] for at in _far_apart(sorted(places))]
    return found


def _far_apart(places: Sequence[int]) -> list[int]:
    """Places in rising order without those that only follow another."""
    return [at for number, at in enumerate(places) if not number or at - places[number - 1] > REACH]


def _nearly(phrase: Sequence[str], words: Sequence[str]) -> bool:
    """Whether a phrase is heard at the start of a row of words: its last word, and of the others all but one."""
    at = missing = 0
    for word in phrase:
        if word in words[at:]:
            at = words.index(word, at) + 1
        elif word is phrase[-1]:
            return False
        else:
            missing += 1
    return missing <= 1


FILLERS = frozenset(row("um uh er erm like know kind sort mean anyway okay"))
"""Words that slip into any phrase."""


@record
class Division:
    """A film divided into sections."""

    sections: tuple[Section, ...]
    """The sections in the order in which the film has them."""
    starts: tuple[Start, ...]
    """Where they begin; those for which nothing speaks are left out."""
    worth: float
    """How much speaks for it."""


def division(
    film: Film,
    sections: Sequence[Section],
    things: Sequence[Sayable],
    places: Sequence[Sequence[Place]],
    opened: Mapping[Part, Sequence[int]],
) -> Division:
    """The division into sections for which most speaks: in the order of the shoot unless far more speaks for another.

    Args:
        film: the words of the film.
        sections: its sections in the order of the shoot.
        things: what had to be said.
        places: for each thing the places that fit it, the best first.
        opened: by part the places of words that open it.
    """
    shot = _division(film, sections, things, places, opened)
    other = in_film_order(sections, things, places, opened)
    if other == tuple(sections):
        return shot
    found = _division(film, other, things, places, opened)
    return found if found.worth > FAR_MORE * shot.worth else shot


def _division(
    film: Film,
    sections: Sequence[Section],
    things: Sequence[Sayable],
    places: Sequence[Sequence[Place]],
    opened: Mapping[Part, Sequence[int]],
) -> Division:
    """The division into sections in the order given for which most speaks."""
    if not sections or not film.words:
        return Division(tuple(sections), (), 0.0)
    blocks = int(film.words[-1].at // BLOCK) + 1
    worth = [[0.0] * blocks for _ in sections]
    begin = [[0.0] * blocks for _ in sections]
    for number, section in enumerate(sections):
        for thing, spots in zip(things, places, strict=True):
            if thing.part is section.part and section.piece in ("", thing.piece) and spots:
                best = spots[0].score
                for place in spots[:3]:
                    if place.score > LEAST_EVIDENCE and place.score > best - 0.3:
                        block = int(film.words[place.first].at // BLOCK)
                        worth[number][block] += (place.score - LEAST_EVIDENCE) ** 2
        for at in opened.get(section.part, ()):
            begin[number][int(film.words[at].at // BLOCK)] = OPENS
    total, first = _divided(worth, begin)
    found = []
    for number, section in enumerate(sections):
        block, end = first[number], first[number + 1] if number + 1 < len(sections) else blocks
        if block >= end:
            continue
        inside = [at for at in opened.get(section.part, ()) if int(film.words[at].at // BLOCK) == block]
        if inside:
            found.append(Start(section, _after_pause(film.words, inside[0]), True))
        elif any(worth[number][block:end]):
            found.append(Start(section, _first_in(film, block), False))
    return Division(tuple(sections), tuple(found), total)


def _divided(worth: Sequence[Sequence[float]], begin: Sequence[Sequence[float]]) -> tuple[float, list[int]]:
    """The most that all blocks and beginnings are worth together, and the first block of each section that gives it."""
    blocks = len(worth[0])
    best = [0.0] * (blocks + 1)  # what comes before the first section belongs to none
    back: list[list[int]] = []
    for values, opens in zip(worth, begin, strict=True):
        sums = [0.0]
        for value in values:
            sums.append(sums[-1] + value)
        new, whence = list(best), list(range(blocks + 1))
        top, start = float("-inf"), 0
        for end in range(1, blocks + 1):
            value = best[end - 1] + opens[end - 1] - sums[end - 1]
            if value > top:
                top, start = value, end - 1
            if top + sums[end] > new[end]:
                new[end], whence[end] = top + sums[end], start
        best = new
        back.append(whence)
    end = max(range(blocks + 1), key=lambda at: (best[at], at))
    total = best[end]
    first = []
    for whence in reversed(back):
        end = whence[end]
        first.append(end)
    return total, first[::-1]


def _after_pause(words: Sequence[Spoken], at: int) -> int:
    """The word after the longest pause among the few before an opening."""
    low = max(0, at - REACH)
    return max(range(low, at + 1), key=lambda n: (words[n].at - words[n - 1].at if n else 0.0, n))


def _first_in(film: Film, block: int) -> int:
    """The first word of a block."""
    return next(at for at, word in enumerate(film.words) if word.at >= block * BLOCK)


def extents(film: Film, starts: Sequence[Start], things: Sequence[Sayable]) -> list[tuple[int, int] | None]:
    """For each thing the first and the last word of the section it belongs to; None if it has none."""
    ends = [start.word - 1 for start in starts[1:]] + [len(film.words) - 1] * bool(starts)
    found: list[tuple[int, int] | None] = []
    for thing in things:
        mine = (
            (start.word, end)
            for start, end in zip(starts, ends, strict=True)
            if start.section.part is thing.part and start.section.piece in ("", thing.piece)
        )
        found.append(next(mine, None))
    return found


@record
class Proposal:
    """A chapter that could be taken."""

    chapter: Chapter
    """The chapter."""
    sure: bool
    """Whether words open it; otherwise it begins with the first thing said of its part, and is weak."""


def proposals(
    film: Film,
    starts: Sequence[Start],
    heard: Sequence[Hearing],
    titles: Mapping[Section, str],
    end: float,
    least_seconds: int,
) -> tuple[Proposal, ...]:
    """The chapters that the parts of a film would make, the first at 0:00.

    Args:
        film: the words of the film.
        starts: where its sections begin.
        heard: what was found of the things that had to be said.
        titles: the title of each section.
        end: the end of the film, seconds.
        least_seconds: the least length of a chapter; of two that are nearer the less sure one goes.
    """
    found = []
    for start in starts:
        word = start.word
        if not start.announced:
            first = [
                h.place.first
                for h in heard
                if h.verdict is Verdict.SAID
                and h.place
                and h.thing.part is start.section.part
                and start.section.piece in ("", h.thing.piece)
                and h.place.first >= word
            ]
            word = min(first, default=word)
        seconds = int(film.words[word].at)
        opening = " ".join(film.texts[word : word + REACH]) if start.announced else ""
        chapter = Chapter(seconds, titles[start.section], opening, start.section.part)
        found.append(Proposal(chapter, start.announced))
    found.sort(key=lambda proposal: proposal.chapter.seconds)
    if not found:
        return ()
    if found[0].chapter.seconds >= LATE_OPENING:
        found.insert(0, Proposal(Chapter(0, "Opening"), True))
    else:
        opens = found[0].chapter
        found[0] = Proposal(Chapter(0, opens.title, opens.opening, opens.part), True)
    kept: list[Proposal] = []
    for proposal in found:
        if kept and proposal.chapter.seconds - kept[-1].chapter.seconds < least_seconds:
            if proposal.sure and not kept[-1].sure:
                kept[-1] = proposal
        else:
            kept.append(proposal)
    return tuple(p for p in kept if not p.chapter.seconds or p.chapter.seconds + least_seconds <= end)
