"""How things of the book are called in a sentence."""

from __future__ import annotations

from showrunner.domain.book import Book
from showrunner.domain.episode import Pin, PinKind
from showrunner.domain.slot import SlotRef
from showrunner.domain.words import day as day_words


def quoted(title: str) -> str:
    """A title in a sentence."""
    return f"“{title}”"


def title_of(book: Book, episode: str) -> str:
    """The title of an episode, or of the piece that a study would be made of; the id if the book holds neither."""
    found = book.find("episodes", episode)
    piece = book.find("pieces", episode.removeprefix("piece:"))
    return found.title if found else piece.name if piece else episode


def piece_name(book: Book, piece: str) -> str:
    """The name of a piece; its id if the book does not hold it."""
    found = book.find("pieces", piece)
    return found.name if found else piece


def slot_words(book: Book, slot: SlotRef) -> str:
    """A slot in words: `22 March 2026 (long feature)`."""
    rule = book.find("rules", slot.rule)
    return f"{day_words(slot.day)} ({rule.name if rule else slot.rule})"


def usual_title(book: Book, slot: SlotRef) -> str:
    """What the usual content of a slot is called until it has a name of its own: `making diary of 11 Mar`."""
    return f"{book.rule(slot.rule).name} of {slot.day.day} {slot.day:%b}"


def pin_words(book: Book, pin: Pin) -> str:
    """A pin in words: `“Apron” on 22 March 2026 (long feature)`."""
    if pin.kind is PinKind.PAIR:
        first, second = (piece_name(book, piece) for piece in pin.pieces)
        return f"{first} with {second}"
    titles = [quoted(title_of(book, episode)) for episode in pin.episodes]
    if pin.kind is PinKind.ORDER:
        return " before ".join(titles)
    return f"{titles[0]} on {slot_words(book, pin.slot)}" if pin.slot else titles[0]
