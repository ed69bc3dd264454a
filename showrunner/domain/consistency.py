"""Whether a book is as it should be: what no edit would allow, but a file changed by hand might hold."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from showrunner.domain.acquisition import circle_words, contradictions, cycle
from showrunner.domain.book import TABLES, YEARS, Book
from showrunner.domain.episode import EpisodeKind
from showrunner.domain.promises import clashes
from showrunner.domain.rules import Board, Rule, not_a_slot, terms_of
from showrunner.domain.shoot import LogLine
from showrunner.domain.slot import SlotRef
from showrunner.domain.titles import quoted, slot_words
from showrunner.domain.words import some
from showrunner.domain.zone import is_zone


def problems(book: Book) -> list[str]:
    """One plain sentence for each thing that is not as it should be; empty if all is well."""
    parts = (_ids, _house, _pieces, _wants, _acquisition, _series, _episodes, _sharing, _pins, _record, _shoots)
    try:
        found = [sentence for part in parts for sentence in part(book)]
        return found + [clash.sentence() for clash in clashes(book)]
    except OverflowError:
        return ["A promised slot lies at the very edge of the calendar; pin it to a day that may come."]


def _ids(book: Book) -> Iterator[str]:
    for table in TABLES:
        for id, times in Counter(record.id for record in getattr(book, table)).items():
            if times > 1:
                yield f"{table}: {times} entries are both called '{id}'."
            if not id.strip():
                yield f"{table}: an entry has no number or name of its own."


def _house(book: Book) -> Iterator[str]:
    if not is_zone(book.house.zone):
        yield f"House rules: '{book.house.zone}' is not a time zone."
    if book.clock and book.clock.year not in YEARS:
        yield f"The clock of the book stands at {book.clock}; set it to a year from {YEARS[0]} to {YEARS[-1]}."
    for rule in book.rules:
        for zone in dict.fromkeys(times.zone for *_, times in rule.stretches if not is_zone(times.zone)):
            yield f"Slot rule {rule.name}: '{zone}' is not a time zone."


def _pieces(book: Book) -> Iterator[str]:
    for piece in book.pieces:
        if book.find("collections", piece.collection) is None:
            yield f"{piece.name}: the book holds no collection '{piece.collection}'."
        if piece.box and book.find("boxes", piece.box) is None:
            yield f"{piece.name}: the book holds no box '{piece.box}'."


def _wants(book: Book) -> Iterator[str]:
    """Amounts in a currency that cannot be counted in that of the collection."""
    for piece in book.pieces:
        collection = book.find("collections", piece.collection)
        want = piece.want
        if want and want.currency and want.rate is None and collection and want.currency != collection.currency:
            yield f"{piece.name}: its price is in {want.currency}, and no rate is known."


def _acquisition(book: Book) -> Iterator[str]:
    """Orders of acquisition that name what is not there, go round in a circle, or go against firm dates."""
    for piece in book.pieces:
        for id in dict.fromkeys((*piece.acquired_before, *piece.acquired_after)):
            if id == piece.id:
                yield f"{piece.name}: it cannot have come before or after itself."
            elif book.find("pieces", id) is None:
                yield f"{piece.name}: the book holds no piece '{id}'."
    circle = cycle(book)
    if circle:
        yield f"{circle_words(book, circle)}, which goes round in a circle."
    for clash in contradictions(book):
        yield f"{clash.words}."


def _series(book: Book) -> Iterator[str]:
    for series in book.series:
        if book.find("collections", series.collection) is None:
            yield f"Series {series.name}: the book holds no collection '{series.collection}'."
        for rule in series.rules:
            if book.find("rules", rule) is None:
                yield f"Series {series.name}: the book holds no slot rule '{rule}'."
        for id in series.listed:
            if book.find("episodes", id) is None:
                yield f"Page of {series.name}: the book holds no episode '{id}'."


def _slot(book: Book, title: str, slot: SlotRef) -> Iterator[str]:
    rule = book.find("rules", slot.rule)
    if rule is None:
        yield f"{title}: the book holds no slot rule '{slot.rule}'."
    elif why := not_a_slot(rule, slot.day):
        yield f"{title}: {why}."


def _episodes(book: Book) -> Iterator[str]:
    board = Board(book)
    recorded = {line.episode for line in book.publications if line.actual is not None}
    for episode in book.episodes:
        title = quoted(episode.title)
        if episode.slot and not episode.published:
            yield from _slot(book, title, episode.slot)
        if episode.rule and book.find("rules", episode.rule) is None:
            yield f"{title}: the book holds no slot rule '{episode.rule}'."
        if episode.published and episode.id not in recorded:
            yield f"{title}: it is marked published, but the record does not say when."
        if not episode.published and episode.id in recorded:
            yield f"{title}: the record says it was published, but it is not marked so."
        if episode.idea_of and book.find("episodes", episode.idea_of) is None:
            yield f"{title}: its idea comes from '{episode.idea_of}', and the book holds no such episode."
        if episode.kind is not EpisodeKind.STUDY:
            continue
        series = book.find("series", episode.series)
        if series is None:
            yield f"{title}: the book holds no series '{episode.series}'."
        elif episode.slot and not episode.published:
            breaches = board.against_slot(terms_of(book, episode), episode.slot)
            if any(breach.rule is Rule.ALLOWED for breach in breaches):
                yield f"{title}: {series.name} may not use {slot_words(book, episode.slot)}."
        for id in episode.package.related:
            if book.find("episodes", id) is None:
                yield f"{title}: it links to '{id}', and the book holds no such episode."
        if not episode.pieces:
            yield f"{title}: the study shows no piece."
        for id in episode.pieces:
            piece = book.find("pieces", id)
            if piece is None:
                yield f"{title}: the book holds no piece '{id}'."
            elif series and piece.collection != series.collection:
                yield f"{title}: {piece.name} is not of the collection that {series.name} is about."


def _sharing(book: Book) -> Iterator[str]:
    """Pieces in two open studies, and slots of two open episodes."""
    studies: dict[str, list[str]] = {}
    slots: dict[SlotRef, list[str]] = {}
    for episode in book.episodes:
        if episode.published:
            continue
        for piece in episode.pieces:
            studies.setdefault(piece, []).append(quoted(episode.title))
        if episode.slot:
            slots.setdefault(episode.slot, []).append(quoted(episode.title))
    for id, titles in studies.items():
        if len(titles) > 1:
            found = book.find("pieces", id)
            yield f"{found.name if found else id}: it is in more than one open study, {some(titles)}."
    for slot, titles in slots.items():
        if len(titles) > 1:
            yield f"{slot_words(book, slot)}: {some(titles)} share this slot."


def _pins(book: Book) -> Iterator[str]:
    for pin in book.pins:
        for id in pin.episodes:
            if book.find("episodes", id) is None:
                yield f"Pin {pin.id}: the book holds no episode '{id}'."
        for id in pin.pieces:
            if book.find("pieces", id) is None:
                yield f"Pin {pin.id}: the book holds no piece '{id}'."
        if pin.slot and book.find("rules", pin.slot.rule) is None:
            yield f"Pin {pin.id}: the book holds no slot rule '{pin.slot.rule}'."


def _record(book: Book) -> Iterator[str]:
    seen: set[str] = set()
    for line in book.publications:
        title = f"Record, {quoted(line.title)}"
        if line.episode and book.find("episodes", line.episode) is None:
            yield f"{title}: the book holds no episode '{line.episode}'."
        if line.series and book.find("series", line.series) is None:
            yield f"{title}: the book holds no series '{line.series}'."
        if book.find("rules", line.rule) is None:
            yield f"{title}: the book holds no slot rule '{line.rule}'."
        if line.episode and line.actual is not None:
            if line.episode in seen:
                yield f"{title}: the episode is recorded as published twice."
            seen.add(line.episode)


def _shoots(book: Book) -> Iterator[str]:
    """Shoots of studies that are not there, and lines of the log that belong to no shoot or go back in time."""
    for shoot in book.shoots:
        for id in shoot.studies:
            if book.find("episodes", id) is None:
                yield f"Shoot {shoot.id}: the book holds no episode '{id}'."
    last: dict[str, LogLine] = {}
    for line in book.log:
        if book.find("shoots", line.shoot) is None:
            yield f"Log {line.id}: the book holds no shoot '{line.shoot}'."
        if line.piece and book.find("pieces", line.piece) is None:
            yield f"Log {line.id}: the book holds no piece '{line.piece}'."
        if line.shoot in last and line.at < last[line.shoot].at:
            yield f"Log {line.id}: it is earlier than the line above it."
        last[line.shoot] = line
