"""Edits of what belongs to the publication of a study beside the film."""

from __future__ import annotations

from dataclasses import replace

from showrunner.domain.book import Book
from showrunner.domain.episode import EpisodeKind
from showrunner.domain.package import Package
from showrunner.domain.titles import quoted
from showrunner.errors import BadInput


def put_package(book: Book, study: str, package: Package, *, run_seconds: int | None = None) -> Book:
    """Keep what was made ready for the publication of a study, before it is out or after.

    Args:
        book: the book.
        study: id of the study.
        package: all that is kept of its publication, in place of what was.
        run_seconds: run time of the film as edited, seconds; None leaves what is known.

    Raises:
        UnknownThing: the study, or one that it links to, is not in the book.
        BadInput: it is filler, links to itself, or the run time is below 0.
    """
    found = book.episode(study)
    if found.kind is not EpisodeKind.STUDY:
        raise BadInput("it is filler, which has no package", quoted(found.title), "choose a study")
    for id in package.related:
        if book.episode(id) is found:
            raise BadInput("it cannot link to itself", quoted(found.title), "name other studies")
    seconds = found.run_seconds if run_seconds is None else run_seconds
    if seconds < 0:
        raise BadInput("a film is not shorter than nothing", quoted(found.title), "give a run time like 12:45")
    return book.put("episodes", replace(found, package=package, run_seconds=seconds))


def without_mention(book: Book, study: str) -> Book:
    """The book in which no package links to a study, no page lists it, and no idea is said to come from it."""

    def rest(ids: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(id for id in ids if id != study)

    linking = [e for e in book.episodes if study in e.package.related]
    listing = [s for s in book.series if study in s.listed]
    ideas = [replace(e, idea_of="") for e in book.episodes if e.idea_of == study]
    book = book.put("episodes", *ideas)
    for episode in linking:
        package = replace(episode.package, related=rest(episode.package.related))
        book = book.put("episodes", replace(episode, package=package))
    return book.put("series", *(replace(series, listed=rest(series.listed)) for series in listing))
