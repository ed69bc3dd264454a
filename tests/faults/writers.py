"""What is done in processes of their own (see `nursery.py`): each tells on its own output what it has been promised."""

from __future__ import annotations

import time
from dataclasses import replace
from pathlib import Path

from showrunner.domain.book import Book
from showrunner.errors import BookInUse
from showrunner.session import Session


def counted(book: Book, piece: str) -> int:
    """The number that the notes of a piece begin with."""
    notes = book.piece(piece).notes.split()
    return int(notes[0]) if notes else 0


def put_count(book: Book, piece: str, number: int, more: str = "") -> Book:
    """The book with a number in the notes of a piece."""
    return book.put("pieces", replace(book.piece(piece), notes=f"{number} {more}"))


def save_without_end(path: str, piece: str) -> int:
    """Save one action after the other, of sizes that differ, and tell each."""
    with Session.open(path) as session:
        number = counted(session.book, piece)
        while True:
            number += 1
            more = "x" * (number * 977 % 3000)
            session.do("note", lambda book, n=number, more=more: put_count(book, piece, n, more))  # type: ignore[misc]
            print(number, flush=True)  # noqa: T201 - the promise that is held against the disk


def take_turns(path: str, piece: str, actions: int) -> int:
    """Open the book, do one action and close it, so many times; while another has it, wait."""
    done = 0
    while done < actions:
        with Session.open(path) as session:
            try:
                session.do("note", lambda book: put_count(book, piece, counted(book, piece) + 1))
            except BookInUse:
                time.sleep(0.001)
                continue
            done += 1
    return 0


def follow_until(path: str, piece: str, last: int) -> int:
    """Follow a book that another writes until it holds a number; whatever of the disk is changed here is told.

    Prints the numbers that were seen, each once, and then what was opened for writing, made, renamed or removed.
    """
    import os
    import sys

    touched: list[str] = []
    folder = str(Path(path).parent)
    writes = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND

    def heard(event: str, arguments: tuple[object, ...]) -> None:
        changes = event in {"os.rename", "os.remove", "os.mkdir", "os.rmdir", "os.link", "os.symlink", "os.truncate"}
        changes |= event in {"os.chmod", "os.utime"}
        changes |= event == "open" and isinstance(arguments[2], int) and bool(arguments[2] & writes)
        if changes and str(arguments[0]).startswith(folder):
            touched.append(f"{event} {Path(str(arguments[0])).name}")

    sys.addaudithook(heard)
    with Session.open(path, write=False) as session:
        seen = [counted(session.book, piece)]
        while seen[-1] < last:
            if session.follow():
                seen.append(counted(session.book, piece))
            else:
                time.sleep(0.001)
    print(*seen)  # noqa: T201 - what the test reads
    print(*touched)  # noqa: T201
    return 0
