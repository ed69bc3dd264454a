"""What every edit must respect."""

from __future__ import annotations

from showrunner.domain.book import Book
from showrunner.domain.episode import Episode, EpisodeKind, Pin
from showrunner.domain.promises import clashes
from showrunner.domain.rules import Board, Rule, clause, not_a_slot, terms_of
from showrunner.domain.slot import SlotRef
from showrunner.domain.titles import pin_words, quoted, slot_words
from showrunner.domain.words import some
from showrunner.errors import BadInput, Contradiction


def keep_promises(before: Book, after: Book) -> Book:
    """The book after an edit, if it breaks no promise that the book before it could keep.

    Raises:
        Contradiction: the first promise that is newly broken.
    """
    known = {(clash.rule, frozenset(clash.members)) for clash in clashes(before)}
    for clash in clashes(after):
        if (clash.rule, frozenset(clash.members)) not in known:
            raise clash
    return after


def need_open(book: Book, id: str) -> Episode:
    """The episode, if it has not been published.

    Raises:
        UnknownThing: there is none.
        BadInput: it has been published.
    """
    episode = book.episode(id)
    if episode.published:
        raise BadInput("it has been published already", quoted(episode.title), "choose one that has not")
    return episode


def need_open_study(book: Book, id: str) -> Episode:
    """The same for a study; filler is refused."""
    episode = need_open(book, id)
    if episode.kind is not EpisodeKind.STUDY:
        raise BadInput("it is filler and no study", quoted(episode.title), "choose a study")
    return episode


def check_slot(book: Book, slot: SlotRef) -> None:
    """Refuse a slot that does not exist.

    Raises:
        UnknownThing: the book holds no such rule.
        BadInput: the day is not one of the rule's.
    """
    rule = book.rule(slot.rule)
    if why := not_a_slot(rule, slot.day):
        raise BadInput(why, way_out="choose another day or another slot")


def check_slot_of(book: Book, episode: Episode) -> None:
    """Refuse the planned slot of an open episode that it may not have or that another one has.

    Raises:
        UnknownThing, BadInput: there is no such slot, or its series may not use it.
        Contradiction: another open episode is planned there, or a pin holds the study to another slot.
    """
    slot = episode.slot
    if slot is None or episode.published:
        return
    check_slot(book, slot)
    board = Board(book)
    if episode.kind is EpisodeKind.STUDY:
        book.series_of(episode.series)
        for breach in board.against_slot(terms_of(book, episode), slot):
            if breach.rule is Rule.ALLOWED:
                way_out = "choose a slot of its series, or allow that slot"
                raise BadInput(clause(book, breach), quoted(episode.title), way_out)
    for other in book.episodes:
        if other.id != episode.id and not other.published and other.slot == slot:
            raise Contradiction(
                f"{quoted(episode.title)} and {quoted(other.title)} would share {slot_words(book, slot)}",
                way_out=f"give {quoted(other.title)} another slot first",
                parties=(episode.id, other.id),
            )
    for pin, promised in board.dates.get(episode.id, ()):
        if promised != slot:
            raise Contradiction(
                f"{quoted(episode.title)} is promised {slot_words(book, promised)}, not {slot_words(book, slot)}",
                way_out="unpin it first",
                parties=(episode.id, pin),
                rule=Rule.DATE,
            )


def check_pieces(book: Book, study: Episode) -> None:
    """Refuse pieces that a study may not have.

    Raises:
        UnknownThing: the book does not hold the piece or the series.
        BadInput: no piece, a piece of another collection, or one that is in another open study.
    """
    series = book.series_of(study.series)
    if not study.pieces:
        raise BadInput("a study needs a piece", quoted(study.title), "choose one or two")
    for piece in map(book.piece, study.pieces):
        if piece.collection != series.collection:
            raise BadInput(
                f"{piece.name} is not of the collection that {series.name} is about",
                quoted(study.title),
                "choose pieces of one collection",
            )
        other = next((e for e in book.open_studies if piece.id in e.pieces and e.id != study.id), None)
        if other:
            raise BadInput(
                f"{piece.name} is in the study {quoted(other.title)} already",
                quoted(study.title),
                "take it out there first, or pair the two studies",
            )


def refuse_pinned(book: Book, pins: list[Pin], what: str) -> None:
    """Refuse an edit that pins stand against, naming them all.

    Raises:
        Contradiction: there are any.
    """
    if pins:
        names = some([pin_words(book, pin) for pin in pins])
        promise = "a promise stands" if len(pins) == 1 else "promises stand"
        raise Contradiction(f"{promise} against it: {names}", what, "unpin first", tuple(pin.id for pin in pins))
