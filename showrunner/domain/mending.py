"""What of a book can be put right without asking: nothing goes but references to what is not there."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from showrunner.domain.book import YEARS, Book
from showrunner.domain.collection import Box, Collection
from showrunner.domain.rules import not_a_slot
from showrunner.domain.titles import quoted
from showrunner.domain.words import day as day_words

Mend = tuple[Book, str]
"""The book mended in one more place, and a sentence that says how."""


def mended(book: Book) -> tuple[Book, tuple[str, ...]]:
    """The book with everything put right that can be, and a sentence for each thing."""
    told: list[str] = []
    steps: tuple[Callable[[Book], Iterator[Mend]], ...] = (_clock, _homes, _acquisition, _series, _episodes, _pins)
    for step in steps:
        done = list(step(book))
        if done:
            book = done[-1][0]
        told += [sentence for _, sentence in done]
    return book, tuple(told)


def _clock(book: Book) -> Iterator[Mend]:
    if book.clock and book.clock.year not in YEARS:
        yield replace(book, clock=None), f"The clock of the book no longer stands at {book.clock}."


def _homes(book: Book) -> Iterator[Mend]:
    """Boxes and collections that pieces name and that are not there."""
    for piece in book.pieces:
        if piece.box and book.find("boxes", piece.box) is None:
            book = book.put("boxes", Box(piece.box))
            yield book, f"Box '{piece.box}' is added, for {piece.name} is in it."
        if piece.collection.strip() and book.find("collections", piece.collection) is None:
            book = book.put("collections", Collection(piece.collection, piece.collection))
            yield book, f"Collection '{piece.collection}' is added, for {piece.name} is of it."


def _acquisition(book: Book) -> Iterator[Mend]:
    for piece in book.pieces:
        there = {other.id for other in book.pieces} - {piece.id}
        before = tuple(id for id in piece.acquired_before if id in there)
        after = tuple(id for id in piece.acquired_after if id in there)
        if (before, after) != (piece.acquired_before, piece.acquired_after):
            book = book.put("pieces", replace(piece, acquired_before=before, acquired_after=after))
            yield book, f"{piece.name}: its order of acquisition no longer names itself or what is not in the book."


def _series(book: Book) -> Iterator[Mend]:
    for series in book.series:
        rules = tuple(rule for rule in series.rules if book.find("rules", rule) is not None)
        if rules and rules != series.rules:
            book = book.put("series", replace(series, rules=rules))
            yield book, f"Series {series.name}: it no longer names slot rules that are not in the book."


def _episodes(book: Book) -> Iterator[Mend]:
    recorded = {line.episode for line in book.publications if line.actual is not None}
    for episode in book.episodes:
        if episode.idea_of and book.find("episodes", episode.idea_of) is None:
            episode = replace(episode, idea_of="")
            book = book.put("episodes", episode)
            yield book, f"{quoted(episode.title)}: its idea comes from no study any more, for that one is not there."
        if episode.id in recorded and not episode.published:
            book = book.put("episodes", replace(episode, published=True, finished=True))
            yield book, f"{quoted(episode.title)}: it is marked published, as the record says."
        elif episode.slot and not episode.published:
            rule = book.find("rules", episode.slot.rule)
            if rule is None or not_a_slot(rule, episode.slot.day):
                book = book.put("episodes", replace(episode, slot=None))
                day = day_words(episode.slot.day)
                yield book, f"{quoted(episode.title)}: it has no date any more, for {day} is none of its slots."


def _pins(book: Book) -> Iterator[Mend]:
    for pin in book.pins:
        gone = any(book.find("episodes", id) is None for id in pin.episodes)
        gone = gone or any(book.find("pieces", id) is None for id in pin.pieces)
        if gone or (pin.slot and book.find("rules", pin.slot.rule) is None):
            book = book.drop("pins", pin.id)
            why = f" ({pin.reason})" if pin.reason else ""
            yield book, f"Pin {pin.id}{why} is removed, for it names what is not in the book."
