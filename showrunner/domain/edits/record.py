"""Edits that add to the record of publications; none changes what a line that is there says of what came out when."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from showrunner.domain.book import Book
from showrunner.domain.edits.checks import need_open
from showrunner.domain.edits.ids import publication_id
from showrunner.domain.episode import Episode, EpisodeKind, Stage
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.piece import Known
from showrunner.domain.publication import Publication
from showrunner.domain.titles import quoted
from showrunner.domain.words import day as day_words
from showrunner.domain.words import listing
from showrunner.errors import BadInput, UnknownThing


def publish(
    book: Book,
    episode: str,
    on: date,
    link: str = "",
    rule: str | None = None,
    *,
    today: date | None = None,
    run_seconds: int = 0,
) -> Book:
    """Put an episode on record as published, and its pieces as shown.

    The planned day of the record is that of its planned slot, which it keeps. All stages are done.

    Args:
        book: the book.
        episode: id of an open study or filler.
        on: day it came out, in the zone of its slot.
        link: where it can be watched.
        rule: id of the slot rule it came out for; None for that of its planned slot, of the filler, or the one
            that its series may use (on that weekday, if there are several).
        today: if given, a later day is refused.
        run_seconds: run time as edited, seconds; 0 leaves what is known.

    Raises:
        UnknownThing: the episode or rule is not in the book.
        BadInput: it is published already, the day is still to come, or it is not clear which slot it was for.
    """
    found = need_open(book, episode)
    not_to_come(on, today, quoted(found.title))
    rule_id = book.rule(rule).id if rule else found.slot.rule if found.slot else _rule_of(book, found, on)
    line = Publication(
        publication_id(book),
        found.title,
        rule_id,
        found.slot.day if found.slot else None,
        FuzzyDate.exact(on),
        found.id,
        found.series,
        link,
    )
    published = replace(
        found, published=True, finished=True, done=tuple(Stage), run_seconds=run_seconds or found.run_seconds
    )
    evidence = f"{found.title}, {day_words(on)}"
    pieces = [book.piece(piece) for piece in found.pieces]
    shown = [replace(p, shown=replace(p.shown, known=Known.YES, evidence=evidence, when=line.actual)) for p in pieces]
    return book.put("publications", line).put("episodes", published).put("pieces", *shown)


def say_link(book: Book, publication: str, link: str) -> Book:
    """Say where something that is out can be watched, once that is known or has changed.

    Raises:
        UnknownThing: the record has no such line.
        BadInput: it was missed, so nothing can be watched.
    """
    line: Publication | None = book.find("publications", publication)
    if line is None:
        raise UnknownThing(f"the record has no line '{publication}'", way_out="look up the id of the line")
    if line.actual is None:
        raise BadInput("it did not come out", quoted(line.title), "leave the link empty")
    return book.put("publications", replace(line, link=link))


def miss(book: Book, episode: str, *, today: date | None = None) -> Book:
    """Put on record that an episode missed its slot. It stays open, has no slot, and a pin to that slot is gone.

    Args:
        book: the book.
        episode: id of an open study or filler that has a slot.
        today: if given, a slot after it is refused.

    Raises:
        UnknownThing: there is no such episode.
        BadInput: it is published, has no slot, or the slot is still to come.
    """
    found = need_open(book, episode)
    slot = found.slot
    if slot is None:
        raise BadInput("it has no slot to miss", quoted(found.title), "plan it for a slot first")
    not_to_come(slot.day, today, quoted(found.title))
    line = Publication(publication_id(book), found.title, slot.rule, slot.day, None, found.id, found.series)
    broken = [pin.id for pin in book.pins if pin.slot == slot and episode in pin.episodes]
    return book.put("publications", line).put("episodes", replace(found, slot=None)).drop("pins", *broken)


def record_publication(
    book: Book,
    title: str,
    rule: str,
    planned: date | None,
    actual: FuzzyDate | date | None,
    link: str = "",
    *,
    today: date | None = None,
) -> Book:
    """Put filler that was never named as an episode on record.

    Args:
        book: the book.
        title: its title.
        rule: id of the slot rule it was for.
        planned: day it was planned for; None if not known.
        actual: when it came out; None if it missed its slot.
        link: where it can be watched.
        today: if given, a later day is refused.

    Raises:
        UnknownThing: there is no such rule.
        BadInput: neither day is given, the title is empty, or the day is still to come.
    """
    book.rule(rule)
    if not title.strip():
        raise BadInput("a line of the record needs a title", "record", "give it one")
    if planned is None and actual is None:
        raise BadInput("neither the planned nor the real day is given", quoted(title), "give one of them")
    came = FuzzyDate.exact(actual) if isinstance(actual, date) else actual
    day = came.earliest if came else planned
    if day:
        not_to_come(day, today, quoted(title))
    return book.put("publications", Publication(publication_id(book), title, rule, planned, came, link=link))


def not_to_come(day: date, today: date | None, where: str) -> None:
    """Refuse a day after today, if today is given."""
    if today and day > today:
        raise BadInput(
            f"{day_words(day)} is still to come (today is {day_words(today)})", where, "give a day that has come"
        )


def _rule_of(book: Book, episode: Episode, on: date) -> str:
    """The rule an unplanned episode came out for."""
    if episode.kind is EpisodeKind.FILLER:
        rules: tuple[str, ...] = (episode.rule,) if episode.rule else ()
    else:
        rules = book.series_of(episode.series).rules
    if len(rules) > 1:
        rules = tuple(rule for rule in rules if book.rule(rule).weekday == on.weekday()) or rules
    if len(rules) != 1:
        names = listing([book.rule(rule).name for rule in rules])
        what = f"it could have been for {names}" if names else "it is not known which slot it was for"
        raise BadInput(what, quoted(episode.title), "say which slot")
    return rules[0]
