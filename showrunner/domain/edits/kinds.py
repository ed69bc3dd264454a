"""What the owner says of kinds that no table knows."""

from __future__ import annotations

from dataclasses import replace

from showrunner.domain.book import Book
from showrunner.domain.house import LikeKind
from showrunner.domain.kinds import kind_of
from showrunner.domain.words import plain
from showrunner.errors import BadInput


def say_kind(book: Book, word: str, like: str) -> Book:
    """Put down what a kind is like: it has the views of that one, and goes on the same form.

    Args:
        book: the book.
        word: the kind, as it is written with the piece.
        like: a kind of the table.

    Raises:
        BadInput: there is no word, the table knows it already, or `like` is no kind of it.
    """
    if not word.strip():
        raise BadInput("a kind needs a word", "kind", "give the piece one first")
    if kind_of(word):
        raise BadInput("it is known already", word, "nothing need be said of it")
    others = [known for known in book.house.kinds if plain(known.word) != plain(word)]
    return replace(book, house=replace(book.house, kinds=(*others, LikeKind(" ".join(word.split()), like))))
