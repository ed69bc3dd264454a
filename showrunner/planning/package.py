"""The package of a study: everything its publication needs, made from the book, and what is missing, by name."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from enum import StrEnum

from showrunner.domain.book import Book
from showrunner.domain.episode import Episode, EpisodeKind, Series, Stage
from showrunner.domain.package import Chapter, Still
from showrunner.domain.piece import Piece
from showrunner.domain.publication import Publication, Supporter
from showrunner.domain.record import record
from showrunner.domain.titles import piece_name, quoted
from showrunner.domain.words import day as day_words
from showrunner.domain.words import listing, some
from showrunner.errors import BadInput
from showrunner.planning.advisories import advisories
from showrunner.planning.chapters import Fault, chapter_lines, fault_words, faults_of, ffmetadata, webvtt
from showrunner.planning.corrections import Correction, correction_words, corrections, mention_words
from showrunner.planning.points import HEDGES
from showrunner.planning.stills import alt_text, still_missing
from showrunner.planning.template import Change, changes, fill


class Lack(StrEnum):
    """What may be missing of a package."""

    DAY = "day"
    """It has no slot, so the credits are those of today."""
    RUN_TIME = "run time"
    """The run time of the film is not known, so no chapter has an end."""
    CHAPTERS = "chapters"
    """There are none."""
    CHAPTER_FAULT = "chapter fault"
    """Those there are cannot be used."""
    CAPTIONS = "captions"
    """The captions are not done."""
    PAGE = "page"
    """The series has no page whose address is known."""
    LINK = "link"
    """No address is known of a film that it links to."""
    STILLS = "stills"
    """Stills that the shoot should have yielded are not there."""
    LEFT = "left"
    """How many are left is not known."""
    TEMPLATE = "template"
    """The template of descriptions cannot be filled in."""
    CORRECTION = "correction"
    """A correction has not been put into the description of the film, which is out."""


@record
class Missing:
    """One thing that is missing."""

    lack: Lack
    """What."""
    names: tuple[str, ...] = ()
    """What exactly: pieces and features, films, sentences; none if there is nothing more to say."""


@record
class Prepared:
    """The package of a study as the book makes it, with what the owner edited in its place."""

    study: str
    """Id of the study."""
    day: date | None
    """The day it comes out, or came out; None if it has no slot."""
    out: bool
    """Whether it is out already."""
    title: str
    """Title of the publication."""
    description: str
    """The description: the owner's own if she wrote one."""
    edited: bool
    """Whether she did."""
    made: str
    """The description as the book makes it now."""
    changes: tuple[Change, ...]
    """What the book says otherwise since she wrote her own."""
    chapters: tuple[Chapter, ...]
    """The chapters."""
    film_seconds: int
    """Run time of the film, seconds; 0 if not known."""
    faults: tuple[Fault, ...]
    """What is wrong with the chapters."""
    stills: tuple[tuple[Still, str], ...]
    """Stills, each with what it shows in words."""
    captions_done: bool
    """Whether the captions are done."""
    thanks: tuple[Supporter, ...]
    """Supporters on that day who agreed to be named, in book order."""
    corrections: tuple[Correction, ...]
    """Corrections of this film, if it is out."""
    missing: tuple[Missing, ...]
    """Everything that is missing."""

    @property
    def chapters_ready(self) -> bool:
        """Whether the chapters can be written: there are some, nothing is wrong with them, and the film has an end."""
        return bool(self.chapters and self.film_seconds and not self.faults)

    @property
    def chapter_text(self) -> str:
        """The chapters as plain lines; empty if something is wrong with them."""
        return chapter_lines(self.chapters) if self.chapters and not self.faults else ""

    @property
    def chapter_webvtt(self) -> str:
        """The chapters as WebVTT; empty unless they are ready."""
        return webvtt(self.chapters, self.film_seconds) if self.chapters_ready else ""

    @property
    def chapter_ffmetadata(self) -> str:
        """The chapters as FFmpeg metadata; empty unless they are ready."""
        return ffmetadata(self.chapters, self.film_seconds, self.title) if self.chapters_ready else ""


def publication_of(book: Book, study: str) -> Publication | None:
    """The line of the record by which a study came out; None if it is not out."""
    return next((line for line in book.publications if line.episode == study and line.actual), None)


def day_of(book: Book, study: Episode) -> date | None:
    """The day a study comes out, or came out as far as that is known; None if it has no slot."""
    line = publication_of(book, study.id)
    if line:
        return line.day or line.planned
    return study.slot.day if study.slot else None


def prepare(book: Book, id: str, today: date, left: str = "") -> Prepared:
    """Make the package of a study.

    Args:
        book: the book.
        id: id of the study.
        today: the day it is.
        left: the sentence on how many are left, as it holds on the day the study comes out; empty if not known.

    Raises:
        UnknownThing: there is no such study.
        BadInput: it is filler.
    """
    study = book.episode(id)
    if study.kind is not EpisodeKind.STUDY:
        raise BadInput("it is filler, which has no package", quoted(study.title), "choose a study")
    package, series = study.package, book.find("series", study.series)
    pieces: list[Piece] = [found for p in study.pieces if (found := book.find("pieces", p))]
    day = day_of(book, study)
    title = package.title.strip() or study.title
    faults = faults_of(package.chapters, study.run_seconds, book.house)
    thanks = thanked(book, day or today)
    all_corrections = corrections(book)
    values = {
        "title": title,
        "presenter": book.house.presenter,
        "pieces": "\n\n".join(map(_piece_words, pieces)),
        "advisories": "\n".join(advisories(pieces)),
        "corrections": "\n".join(_mentions(book, study, all_corrections)),
        "chapters": "" if faults else chapter_lines(package.chapters),
        "left": left,
        "page": series.page if series else "",
        "related": "\n".join(_related(book, study)),
        "thanks": listing([supporter.name for supporter in thanks]),
    }
    own = tuple(c for c in all_corrections if c.study == id)
    try:
        made, wrong = fill(book.house.description, values), ""
    except BadInput as error:
        made, wrong = fill("", values), error.what
    edited = bool(package.description.strip())
    return Prepared(
        id,
        day,
        study.published,
        title,
        package.description if edited else made,
        edited,
        made,
        changes(package.made, made) if edited else (),
        package.chapters,
        study.run_seconds,
        faults,
        tuple((still, alt_text(book, still)) for still in package.stills),
        study.finished or study.published or Stage.CAPTIONS in study.done,
        thanks,
        own,
        tuple(_missing(book, study, series, day, faults, left, wrong, own)),
    )


def thanked(book: Book, day: date) -> tuple[Supporter, ...]:
    """Supporters on a day who agreed to be named; one whose days are not known counts on every day."""
    return tuple(
        supporter
        for supporter in book.supporters
        if supporter.consent
        and (supporter.first is None or supporter.first <= day)
        and (supporter.last is None or supporter.last >= day)
    )


# What the description says


def _piece_words(piece: Piece) -> str:
    """A piece with its date in words, and what is held of it, as firmly as it is held."""
    made = f", {piece.made.words}" if piece.made else ""
    of = f", {listing(list(piece.materials))}" if piece.materials else ""
    held = [
        f"{claim.about[:1].upper()}{claim.about[1:]}: {HEDGES[claim.confidence]}{claim.value}."
        for claim in piece.claims
        if not claim.superseded
    ]
    return "\n".join([f"{piece.name}{made}{of}.", *held])


def _mentions(book: Book, study: Episode, found: Sequence[Correction]) -> list[str]:
    """Corrections of other films that are out, by what was found on the pieces of this study."""
    mine = [c for c in found if c.study != study.id and (c.new.study == study.id or c.piece in study.pieces)]
    return list(dict.fromkeys(mention_words(book, correction) for correction in mine))


def _related(book: Book, study: Episode) -> list[str]:
    """The films it links to, each with its address if that is known."""
    found = []
    for id in study.package.related:
        other: Episode | None = book.find("episodes", id)
        if other:
            line = publication_of(book, id)
            link = f": {line.link}" if line and line.link else ""
            found.append(f"{other.package.title.strip() or other.title}{link}")
    return found


# What is missing


def _missing(
    book: Book,
    study: Episode,
    series: Series | None,
    day: date | None,
    faults: Sequence[Fault],
    left: str,
    template: str,
    own: Sequence[Correction],
) -> list[Missing]:
    package = study.package
    unlinked = []
    for id in package.related:
        line = publication_of(book, id)
        if not (line and line.link):
            unlinked.append(quoted(book.episode(id).title))
    named = len(study.pieces) > 1
    stills = [
        f"{still.what} of {piece_name(book, still.piece)}" if named else still.what
        for still in still_missing(book, study)
    ]
    undone = [correction_words(book, c) for c in own if c.done is None]
    wrong = [fault_words(fault, package.chapters, book.house) for fault in faults]
    captioned = study.finished or study.published or Stage.CAPTIONS in study.done
    found = [
        (Lack.TEMPLATE, bool(template), [template]),
        (Lack.DAY, day is None, []),
        (Lack.RUN_TIME, not study.run_seconds, []),
        (Lack.CHAPTERS, not package.chapters, []),
        (Lack.CHAPTER_FAULT, bool(wrong), wrong),
        (Lack.CAPTIONS, not captioned, []),
        (Lack.PAGE, series is None or not series.page.strip(), [series.name] if series else []),
        (Lack.LINK, bool(unlinked), unlinked),
        (Lack.LEFT, not left, []),
        (Lack.STILLS, bool(stills), stills),
        (Lack.CORRECTION, bool(undone), undone),
    ]
    return [Missing(lack, tuple(names)) for lack, lacking, names in found if lacking]


def missing_words(missing: Missing) -> str:
    """What is missing, as one sentence, by name."""
    names = some(list(missing.names))
    return {
        Lack.DAY: "The day: it has no slot yet, so those thanked are the supporters of today.",
        Lack.RUN_TIME: "The run time: without it no chapter file can say where the last chapter ends.",
        Lack.CHAPTERS: "Chapters: none are there yet; hold the captions against the film, or type them.",
        Lack.CHAPTER_FAULT: f"Chapters that can be used: {'; '.join(missing.names[:4])}.",
        Lack.CAPTIONS: "Captions: they are not ticked off as done.",
        Lack.PAGE: f"The page of the series{f' {names}' if names else ''}: its address is not in the house rules.",
        Lack.LINK: f"Links: no address is known of {names}.",
        Lack.STILLS: f"Stills: {names}.",
        Lack.LEFT: "How many are left: that cannot be told yet.",
        Lack.TEMPLATE: f"Your template: {names}; the built-in one is used.",
        Lack.CORRECTION: f"To be put into its description: {' '.join(missing.names[:3])}",
    }[missing.lack]


def heading_words(found: Prepared) -> str:
    """The title with its day: `“The apron”, 22 March 2026`."""
    when = f", {day_words(found.day)}" if found.day else ""
    return f"{quoted(found.title)}{when}"
