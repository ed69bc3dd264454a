"""Edits of pins: each is refused at once if it contradicts what was promised before."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from showrunner.domain.book import Book
from showrunner.domain.edits.checks import check_slot, keep_promises, need_open_study
from showrunner.domain.edits.ids import pin_id
from showrunner.domain.episode import Pin, PinKind
from showrunner.domain.piece import Known
from showrunner.domain.slot import SlotRef
from showrunner.domain.titles import pin_words, quoted
from showrunner.domain.words import day as day_words
from showrunner.errors import BadInput, UnknownThing


def pin_date(
    book: Book, episode: str, slot: SlotRef, reason: str = "", *, today: date | None = None
) -> tuple[Book, Pin]:
    """Promise a study a date. Its planned slot is not changed.

    Args:
        book: the book.
        episode: id of an open study.
        slot: the slot promised.
        reason: to whom or why.
        today: if given, a day before it is refused.

    Raises:
        UnknownThing, BadInput: there is no such study or slot, or it is past, or promised already.
        Contradiction: another study is promised that slot; the study is promised another one; it lies outside
            the hard windows, in a dark range without publication, on a rule the series may not use, too near
            another promised date of the series, or against a promised order.
    """
    need_open_study(book, episode)
    check_slot(book, slot)
    if today and slot.day < today:
        raise BadInput(f"{day_words(slot.day)} is past", quoted(book.episode(episode).title), "choose a day to come")
    return _add(book, Pin(pin_id(book), PinKind.DATE, (episode,), slot, reason=reason))


def pin_order(book: Book, first: str, second: str, reason: str = "") -> tuple[Book, Pin]:
    """Promise that one study comes before another.

    Args:
        book: the book.
        first: id of the study that comes first.
        second: id of the study that comes later; it must still be open.
        reason: to whom or why.

    Raises:
        UnknownThing, BadInput: there is no such study, or it is promised already.
        Contradiction: the orders would go round in a circle, or promised dates stand the other way.
    """
    if first == second:
        raise BadInput("a study cannot come before itself", quoted(book.episode(first).title), "choose two studies")
    need_open_study(book, second)
    if not book.episode(first).published:
        need_open_study(book, first)
    return _add(book, Pin(pin_id(book), PinKind.ORDER, (first, second), reason=reason))


def pin_pair(book: Book, a: str, b: str, reason: str = "") -> tuple[Book, Pin]:
    """Promise that two pieces are shown together.

    They must be in one open study, or both in none.

    Args:
        book: the book.
        a: id of a piece.
        b: id of the other piece.
        reason: to whom or why.

    Raises:
        UnknownThing, BadInput: there is no such piece, one has been shown, they are of two collections, or it is
            promised already.
        Contradiction: one of them is promised in another pair, or they are in different studies.
    """
    one, two = book.piece(a), book.piece(b)
    if a == b:
        raise BadInput("a piece cannot be paired with itself", one.name, "choose two pieces")
    if one.collection != two.collection:
        raise BadInput("they are of different collections", f"{one.name} and {two.name}", "choose two of one")
    for piece in (one, two):
        if piece.shown.known is Known.YES and book.study_of_piece(piece.id) is None:
            raise BadInput("it has been shown already", piece.name, "make a study of it first if it is a revisit")
    return _add(book, Pin(pin_id(book), PinKind.PAIR, pieces=(a, b), reason=reason))


def unpin(book: Book, id: str) -> Book:
    """Take a pin back.

    Raises:
        UnknownThing: there is no pin of this id.
    """
    if book.find("pins", id) is None:
        raise UnknownThing(f"the book holds no pin '{id}'", way_out="choose one that it holds")
    return book.drop("pins", id)


def say_reason(book: Book, id: str, reason: str) -> Book:
    """Say to whom, or why, something is promised.

    Raises:
        UnknownThing: there is no pin of this id.
    """
    pin: Pin | None = book.find("pins", id)
    if pin is None:
        raise UnknownThing(f"the book holds no pin '{id}'", way_out="look up the id of the pin")
    return book.put("pins", replace(pin, reason=reason))


def _add(book: Book, pin: Pin) -> tuple[Book, Pin]:
    for old in book.pins:
        same_pieces = set(old.pieces) == set(pin.pieces)
        if (old.kind, old.episodes, old.slot) == (pin.kind, pin.episodes, pin.slot) and same_pieces:
            raise BadInput("it is promised already", pin_words(book, pin), "nothing needs to be done")
    return keep_promises(book, book.put("pins", pin)), pin
