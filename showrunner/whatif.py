"""What-ifs: pure changes of a copy of the book, to be shown beside the present plan and adopted or dropped."""

from __future__ import annotations

from dataclasses import replace

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.piece import Piece
from showrunner.domain.record import record
from showrunner.domain.titles import quoted
from showrunner.errors import BadInput

EXAMPLES = {
    "spacing": "4,5,8",
    "slip-rate": "0.1",
    "unpair": "STUDY",
    "drop-window": "STUDY",
    "add-piece": "2",
}
"""What can be supposed, each with an example; written `kind=value`."""
MOST_PIECES = 50
"""Pieces that can be added at once: a forecast of so many takes seconds, and of many more minutes."""


@record
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
    if kind not in EXAMPLES or not value:
        known = " or ".join(f"{kind}={example}" for kind, example in EXAMPLES.items())
        raise BadInput(f"'{text}' is no what-if", "what-if", f"write one like {known}")
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
        if not study.windows:
            raise BadInput("it has no window to drop", quoted(study.title), "choose a study that has one")
        return Supposed(edits.put_episode(book, replace(study, windows=())), f"{quoted(study.title)} without a window")
    (number,) = _whole_numbers(value, 1)
    if not 1 <= number <= MOST_PIECES:
        raise BadInput(f"{number} pieces cannot be added", "add-piece", f"write a number from 1 to {MOST_PIECES}")
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
        wanted = "a whole number" if count == 1 else f"{count} whole numbers"
        raise BadInput(f"'{text}' is not {wanted}", "what-if", f"write it like {','.join('458'[:count])}")
    return numbers
