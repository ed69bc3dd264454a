"""Books of two sizes, and sheets and calendars to bring into them."""

from __future__ import annotations

import shutil
from dataclasses import replace
from itertools import count, islice
from pathlib import Path

from showrunner.domain.book import Book
from showrunner.domain.piece import Known, Shown
from showrunner.session import Session

DEMO = Path(__file__).parents[2] / "demo" / "book.json"


def demo_book() -> Book:
    """The demo book as a value."""
    with Session.open(DEMO, write=False) as session:
        return session.book


def grown(book: Book, pieces: int) -> Book:
    """A book with copies of its pieces, so many in all."""
    copies = (replace(p, id=f"{p.id}.{n}", name=f"{p.name} {n}") for n in count(1) for p in book.pieces)
    return replace(book, pieces=(*book.pieces, *islice(copies, max(0, pieces - len(book.pieces)))))


def make_book(path: Path, pieces: int) -> Path:
    """The demo book as a file, with so many pieces at least; those beyond the demo's own are shown."""
    book = demo_book()
    more = all_shown(grown(book, pieces)).pieces[len(book.pieces) :]
    Session.create(path, replace(book, pieces=(*book.pieces, *more))).close()
    shutil.rmtree(path.with_name(f"{path.name}.backups"))
    return path


def all_shown(book: Book) -> Book:
    """A book whose pieces are all shown."""
    return replace(book, pieces=tuple(replace(piece, shown=Shown(Known.YES)) for piece in book.pieces))


def sheet(path: Path, number: int) -> Path:
    """A sheet with one piece that no book has."""
    path.write_text(f"No.;What it is;When made;Lives in\nK{number};Sash {number};c. 1890;box A\n")
    return path


def busy_calendar(path: Path, number: int) -> Path:
    """A calendar with one whole day, another one for each number."""
    day = f"2026{5 + number // 28 % 6:02}{1 + number % 28:02}"
    path.write_text(
        "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:x\r\nBEGIN:VEVENT\r\n"
        f"UID:{number}\r\nSUMMARY:Away {number}\r\nDTSTART;VALUE=DATE:{day}\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n"
    )
    return path
