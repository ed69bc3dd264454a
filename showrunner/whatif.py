"""What-ifs: pure changes of a copy of the book, to be shown beside the present plan and adopted or dropped."""

from __future__ import annotations

from dataclasses import dataclass, replace

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.piece import Piece
from showrunner.domain.promises import quoted
from showrunner.errors import BadInput

KINDS = ("spacing", "slip-rate", "unpair", "drop-window", "add-piece")
"""What can be supposed; each is written `kind=value`."""


@dataclass(frozen=True, slots=True)
class Supposed:
    """A book as it would be."""

    book: Book
    """The changed copy."""
    words: str
    """What was supposed, in words."""
    slip_rate: float | None = None
    """Another slip rate; None for that of the record."""


def suppose(book: Book, series: str, text: str) -> Supposed:
    """A changed copy of the book.

    Args:
        book: the present book; it is not changed.
        series: id of the series a new spacing or piece is for.
        text: `spacing=4,5,8` (least, wished, most weeks), `slip-rate=0.1`, `unpair=STUDY`,
            `drop-window=STUDY` or `add-piece=NUMBER`.

    Raises:
        ShowrunnerError: the text cannot be understood, or the change is refused.
    """
    kind, _, value = text.partition("=")
    if kind not in KINDS or not value:
        raise BadInput(f"'{text}' is no what-if", "what-if", f"write one of {', '.join(f'{k}=...' for k in KINDS)}")
    if kind == "spacing":
        least, wished, most = _whole_numbers(value, 3)
        of = book.series_of(series)
        changed = replace(of, min_weeks=least, target_weeks=wished, max_weeks=most)
        return Supposed(edits.put_series(book, changed), f"gaps of {least}, wished {wished}, most {most} weeks")
    if kind == "slip-rate":
        try:
            rate = float(value)
        except ValueError:
            raise BadInput(f"'{value}' is no share", "slip-rate", "write a share like 0.1") from None
        return Supposed(book, f"a slip rate of {100 * rate:g}%", rate)
    if kind == "unpair":
        study = book.episode(value)
        return Supposed(edits.split_study(book, study.id)[0], f"{quoted(study.title)} split in two")
    if kind == "drop-window":
        study = book.episode(value)
        return Supposed(edits.put_episode(book, replace(study, windows=())), f"{quoted(study.title)} without a window")
    (number,) = _whole_numbers(value, 1)
    collection = book.series_of(series).collection
    for at in range(1, number + 1):
        book = edits.put_piece(book, Piece(f"supposed-{at}", f"A further piece ({at})", collection))
    return Supposed(book, f"{number} more to show")


def _whole_numbers(text: str, count: int) -> list[int]:
    try:
        numbers = [int(part) for part in text.split(",")]
    except ValueError:
        numbers = []
    if len(numbers) != count or any(not 0 <= n <= 500 for n in numbers):
        raise BadInput(f"'{text}' is not {count} whole numbers", "what-if", f"write {','.join('456'[:count])}")
    return numbers
