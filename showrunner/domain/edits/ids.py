"""New permanent ids."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Set

from showrunner.domain.book import Book


def episode_id(book: Book, title: str) -> str:
    """An id for a new episode, made of its title; never one that an episode has or the record names."""
    return episode_ids(book)(title)


def episode_ids(book: Book) -> Callable[[str], str]:
    """The same for many: gives an id for each title in turn, never one twice."""
    taken = {episode.id for episode in book.episodes} | {line.episode for line in book.publications}

    def next_id(title: str) -> str:
        id = free_id(title, taken, "episode")
        taken.add(id)
        return id

    return next_id


def free_id(text: str, taken: Set[str], otherwise: str) -> str:
    """An id made of some words that is not taken; of `otherwise` where they have no letter or digit."""
    stem = _slug(text) or otherwise
    return stem if stem not in taken else _numbered(f"{stem}-", taken, 2)


def pin_id(book: Book) -> str:
    """An id for a new pin."""
    return _numbered("pin-", {pin.id for pin in book.pins}, 1)


def publication_id(book: Book) -> str:
    """An id for a new line of the record."""
    return publication_ids(book)()


def publication_ids(book: Book) -> Callable[[], str]:
    """The same for many: gives an id for each line in turn, never one twice."""
    taken = {line.id for line in book.publications}

    def next_id() -> str:
        id = _numbered("publication-", taken, len(taken) + 1)
        taken.add(id)
        return id

    return next_id


def shoot_id(book: Book) -> str:
    """An id for a new shoot; never one that the log names."""
    taken = {shoot.id for shoot in book.shoots} | {line.shoot for line in book.log}
    return _numbered("shoot-", taken, len(book.shoots) + 1)


def _numbered(stem: str, taken: Set[str], number: int) -> str:
    while f"{stem}{number}" in taken:
        number += 1
    return f"{stem}{number}"


def _slug(title: str) -> str:
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:40].rstrip("-")
