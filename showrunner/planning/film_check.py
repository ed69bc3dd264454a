"""The captions of a finished film held against what had to be said: a list to look through, and chapters to take."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import replace
from enum import StrEnum
from hashlib import sha256
from math import ceil

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.episode import Episode, EpisodeKind
from showrunner.domain.package import Chapter, Heard, Package, Part
from showrunner.domain.piece import Piece, Presence, View
from showrunner.domain.record import record
from showrunner.domain.titles import piece_name, quoted
from showrunner.errors import BadInput
from showrunner.planning.captions import Captions, read_captions
from showrunner.planning.film_parts import (
    Proposal,
    Section,
    division,
    extents,
    learnt_phrases,
    openings,
    proposals,
    sections_of,
)
from showrunner.planning.hearing import Film, Hearing, Sayable, Verdict, places_of, settle
from showrunner.planning.pointing import pointing_places
from showrunner.planning.points import points_of
from showrunner.planning.terms import STOP

VIEWS_OF_PART = {
    Part.FLAT: (View.FLAT_FACE, View.FLAT_REVERSE, View.CLOSED),
    Part.INSIDE: (View.INSIDE, View.OPEN, View.OPEN_REVERSE),
    Part.FORM: (View.FORM_FRONT, View.FORM_LEFT, View.FORM_RIGHT, View.FORM_BACK),
    Part.SIDE: (View.SIDE_BY_SIDE,),
}
"""The views that are shown in each part of a film; a detail, and what is seen on a stand, may come anywhere."""

PART_OF_VIEW = {view: part for part, views in VIEWS_OF_PART.items() for view in views}
"""The part of a film in which a view is shown."""

TITLES = {
    Part.FLAT: "Lying flat",
    Part.INSIDE: "Inside",
    Part.FORM: "On the form",
    Part.SIDE: "Side by side",
    Part.FINDINGS: "What was found",
}
"""The title of a chapter on each part."""

ENGLISH = 0.2
"""Share of small English words under which captions are taken to be in another language."""
FEW_HEARD = 0.2
"""Share of things that seem to be said up to which the captions may be of another film."""
ENOUGH_THINGS = 3
"""Things to be said from which that can be told."""
TEN_MINUTES = 600
AROUND = 2
"""Words before and after a place that are shown with it."""


class Trouble(StrEnum):
    """What is odd about a captions file as a whole."""

    LOST = "lost"
    """Some cues could not be read."""
    CLOCK = "clock"
    """Its clock began at a whole hour, which was taken off."""
    LANGUAGE = "language"
    """It hardly has an English word."""
    OTHER_FILM = "other film"
    """Hardly anything of the study seems to be said."""
    LONGER = "longer"
    """It goes on after the end of the film."""
    SHORTER = "shorter"
    """It ends before half of the film."""
    ORDER = "order"
    """The parts of the film come in another order than that of the shoot."""
    POINTING = "pointing"
    """Words that mean nothing without the picture are more frequent than the house rules allow."""


@record
class Odd:
    """One thing that is odd about a captions file."""

    trouble: Trouble
    """What."""
    amount: int
    """Cues, hours, per cent, seconds, things said outside their part, or times in ten minutes."""


@record
class Line:
    """One thing that had to be said, and what was heard of it."""

    point: str
    """Id of the point."""
    piece: str
    """Id of the piece."""
    text: str
    """What had to be said."""
    absent: bool
    """Whether it says that something is not there."""
    hearing: Hearing
    """What was found."""
    seconds: float | None
    """When in the film, or when the nearest cue comes; None if no word of it was heard."""
    quoted: str
    """The words of the captions there; empty if there are none."""
    matched: tuple[str, ...]
    """Those of them that were matched."""


@record
class FilmCheck:
    """What the captions of a film say of a study."""

    study: str
    """Id of the study."""
    file: str
    """Name of the captions file."""
    digest: str
    """Its SHA-256, in hexadecimal."""
    lines: tuple[Line, ...]
    """Everything that had to be said, what needs a look first."""
    chapters: tuple[Proposal, ...]
    """Chapters that could be taken."""
    pointing: tuple[tuple[float, str], ...]
    """Where words mean nothing without the picture: seconds, and the words around."""
    odd: tuple[Odd, ...]
    """What is odd about the file as a whole."""
    cues: int
    """Cues that were read."""
    first: float
    """When the first cue comes, seconds."""
    end: float
    """When the last cue goes, seconds: the film is at least as long."""

    @property
    def film_seconds(self) -> int:
        """The least run time of the film, whole seconds."""
        return ceil(self.end)

    def of(self, verdict: Verdict) -> tuple[Line, ...]:
        """The lines of one verdict."""
        return tuple(line for line in self.lines if line.hearing.verdict is verdict)


def sayables(book: Book, study: Episode) -> tuple[tuple[Sayable, str], ...]:
    """Everything that had to be said in the film of a study, each with its words as the points have them."""
    found: list[tuple[Sayable, str]] = []
    for id in study.pieces:
        piece: Piece | None = book.find("pieces", id)
        if piece is None:
            continue
        points = points_of(piece, ())
        claims = [claim for claim in piece.claims if not claim.superseded]
        for point, feature in zip(points, piece.features, strict=False):
            text = f"{feature.what}, {feature.where}" if feature.where else feature.what
            absent = feature.presence is Presence.ABSENT
            found.append((Sayable(point.id, text, PART_OF_VIEW.get(feature.view), id, absent), point.text))
        for point, claim in zip(points[len(piece.features) :], claims, strict=False):
            part = Part.FINDINGS if claim.found else None
            found.append((Sayable(point.id, f"{claim.about}: {claim.value}", part, id), point.text))
        rest = points[len(piece.features) + len(claims) :]
        found += [(Sayable(point.id, point.text, None, id), point.text) for point in rest]
    return tuple(found)


def check_film(book: Book, id: str, data: bytes, name: str) -> FilmCheck:
    """Hold the captions of a film against what had to be said in it.

    Args:
        book: the book.
        id: id of the study.
        data: the captions file, WebVTT or SubRip.
        name: its name.

    Raises:
        UnknownThing: there is no such study.
        BadInput: it is filler, or the file has no cues with times and words.
    """
    study = book.episode(id)
    if study.kind is not EpisodeKind.STUDY:
        raise BadInput("it is filler, in which nothing had to be said", quoted(study.title), "choose a study")
    captions = read_captions(data, name)
    told = sayables(book, study)
    things = [thing for thing, _ in told]
    film = Film(captions.words)
    places = places_of(film, things)
    learnt = learnt_phrases(e.package.chapters for e in book.studies if e.id != id)
    opened = openings(film, learnt)
    shot = sections_of(things, study.pieces, [part for part, words in opened.items() if words])
    parts = division(film, shot, things, places, opened)
    starts, sections = parts.starts, parts.sections
    heard = settle(film, things, places, extents(film, starts, things))
    titles = {section: _title(book, section) for section in sections}
    lines = [_line(film, hearing, text) for hearing, (_, text) in zip(heard, told, strict=True)]
    pointing = pointing_places(captions.words)
    return FilmCheck(
        id,
        name,
        sha256(data).hexdigest(),
        tuple(sorted(lines, key=_first_to_look_at)),
        proposals(film, starts, heard, titles, captions.end, book.house.chapter_seconds),
        tuple((captions.words[at].at, _around(film, at, at + 1)) for at in pointing),
        tuple(_odd(book, study, captions, heard, len(pointing), sections != shot)),
        len(captions.cues),
        captions.cues[0].start,
        captions.end,
    )


def _title(book: Book, section: Section) -> str:
    return f"{TITLES[section.part]}: {piece_name(book, section.piece)}" if section.piece else TITLES[section.part]


def _line(film: Film, hearing: Hearing, text: str) -> Line:
    thing, place = hearing.thing, hearing.place
    if place is None:
        return Line(thing.id, thing.piece, text, thing.absent, hearing, None, "", ())
    words = tuple(film.texts[at] for at in place.words)
    shown = _around(film, place.first, place.last)
    return Line(thing.id, thing.piece, text, thing.absent, hearing, film.words[place.first].at, shown, words)


def _around(film: Film, first: int, last: int) -> str:
    return " ".join(film.texts[max(0, first - AROUND) : last + 1 + AROUND])


def _first_to_look_at(line: Line) -> tuple[bool, bool, bool, bool]:
    """Not heard first, of those what is absent; then what something speaks against; then what may be said."""
    hearing = line.hearing
    doubtful = bool(hearing.place and hearing.place.doubts)
    return (
        hearing.verdict is not Verdict.NOT_HEARD,
        hearing.verdict is Verdict.SAID,
        not line.absent and hearing.verdict is Verdict.NOT_HEARD,
        not doubtful,
    )


def _odd(
    book: Book, study: Episode, captions: Captions, heard: Sequence[Hearing], pointing: int, other_order: bool
) -> list[Odd]:
    found = []
    if captions.lost > 0:
        found.append(Odd(Trouble.LOST, captions.lost))
    if captions.hours_taken_off:
        found.append(Odd(Trouble.CLOCK, captions.hours_taken_off))
    english = sum(word.text in STOP for word in captions.words) / len(captions.words)
    said = sum(h.verdict is Verdict.SAID for h in heard)
    if english < ENGLISH:
        found.append(Odd(Trouble.LANGUAGE, round(100 * english)))
    elif len(heard) >= ENOUGH_THINGS and said <= FEW_HEARD * len(heard):
        found.append(Odd(Trouble.OTHER_FILM, said))
    if study.run_seconds:
        if captions.end > study.run_seconds + 1:
            found.append(Odd(Trouble.LONGER, ceil(captions.end - study.run_seconds)))
        elif captions.end < study.run_seconds / 2:
            found.append(Odd(Trouble.SHORTER, round(study.run_seconds - captions.end)))
    if other_order:
        found.append(Odd(Trouble.ORDER, sum(h.late or h.early for h in heard)))
    rate = round(pointing * TEN_MINUTES / max(captions.end, 1))
    if rate > book.house.most_pointing:
        found.append(Odd(Trouble.POINTING, rate))
    return found


# Taking what is proposed


def with_chapters(package: Package, check: FilmCheck, chapters: Sequence[Chapter]) -> Package:
    """A package with the chapters that were taken, and the file they come from."""
    return replace(package, chapters=tuple(chapters), captions=check.file, captions_digest=check.digest)


def with_heard(package: Package, check: FilmCheck, lines: Sequence[Line]) -> Package:
    """A package with the points that were taken as said, in place of what was known of them."""
    taken = {line.point: Heard(line.point, int(line.seconds)) for line in lines if line.seconds is not None}
    kept = tuple(heard for heard in package.heard if heard.point not in taken)
    heard = tuple(sorted((*kept, *taken.values()), key=lambda heard: heard.seconds))
    return replace(package, heard=heard, captions=check.file, captions_digest=check.digest)


def taken_from(
    book: Book, check: FilmCheck, take: Collection[str]
) -> tuple[Callable[[Book], Book], tuple[tuple[str, int], ...]]:
    """The edit that takes what captions propose, and how much of each is taken.

    Args:
        book: the book.
        check: what the captions say.
        take: any of `chapters` (the sure ones), `weak-chapters` (all of them), `said` and `run-time`.

    Raises:
        BadInput: there is nothing of one of these to take.
    """
    study = book.episode(check.study)
    package, seconds = study.package, study.run_seconds
    done: list[tuple[str, int]] = []
    if "chapters" in take or "weak-chapters" in take:
        chapters = [p.chapter for p in check.chapters if p.sure or "weak-chapters" in take]
        package = with_chapters(package, check, chapters)
        done.append(("chapter", len(chapters)))
    if "said" in take:
        lines = check.of(Verdict.SAID)
        package = with_heard(package, check, lines)
        done.append(("point", len(lines)))
    if "run-time" in take:
        seconds = check.film_seconds
        done.append(("second", seconds))
    empty = next((what for what, amount in done if not amount), None)
    if empty:
        raise BadInput(f"the captions propose no {empty}", check.file, "look at what they say without --take")
    return lambda after: edits.put_package(after, check.study, package, run_seconds=seconds), tuple(done)
