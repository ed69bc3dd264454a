"""The demo's pieces and past episodes as somebody might have kept them before: two sheets in their own wording.

Run `python -m demo.sheets` in the project's folder; it writes `demo/pieces.csv` and `demo/episodes.csv` from
`demo/book.json`, the same bytes each time.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence
from datetime import date
from pathlib import Path

from showrunner.domain.book import Book
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.piece import Feature, Known, Piece, Presence
from showrunner.session import Session

FOLDER = Path(__file__).parent

_ROUGHLY = {"2024-08": "Aug 2024", "2024-11~": "about Nov 2024"}
_OTHER = {"[1905..1911]": "between 1905 and 1911", "190X": "1900 to 1909", "../1915": "before 1915"}


def pieces_sheet(book: Book) -> bytes:
    """The pieces that were kept, a row each."""
    head = ("No.", "What it is", "When made", "Made of", "Look at", "State", "Lives in", "Shown on")
    rows = [
        (
            piece.id,
            piece.name.replace("“", '"').replace("”", '"'),
            _made(piece.made),
            ", ".join(piece.materials),
            "; ".join(map(_feature, piece.features)),
            piece.condition[0].text if piece.condition else "",
            f"box {piece.box}, layer {piece.layer}",
            _shown(piece),
        )
        for piece in book.pieces
        if piece.want is None
    ]
    return _sheet(head, rows)


def episodes_sheet(book: Book) -> bytes:
    """The past episodes, a row each, newest last."""
    head = ("What it was called", "Came out", "Was due", "Missed")
    rows = [
        (line.title, _day(line.actual), "" if line.actual else _written(line.planned), "" if line.actual else "yes")
        for line in book.publications
    ]
    return _sheet(head, rows)


def _sheet(head: Sequence[str], rows: Iterable[Sequence[str]]) -> bytes:
    text = io.StringIO(newline="")
    writer = csv.writer(text, delimiter=";", lineterminator="\r\n")
    writer.writerow(head)
    writer.writerows(rows)
    return text.getvalue().encode()


def _made(made: FuzzyDate | None) -> str:
    """A date of making as people write it, where there is a plain way to."""
    text = made.text if made else ""
    if found := re.fullmatch(r"(\d{4})~", text):
        return f"c. {found[1]}"
    if found := re.fullmatch(r"(\d{3})X", text):
        return _OTHER.get(text, f"{found[1]}0s")
    if found := re.fullmatch(r"(\d{4})/(\d{4})", text):
        return f"{found[1]} to {found[2]}"
    return _OTHER.get(text, text)


def _shown(piece: Piece) -> str:
    if piece.shown.known is Known.UNSURE:
        return "doubtful"
    return "–" if piece.shown.known is Known.NO else _day(piece.shown.when)


def _day(when: FuzzyDate | None) -> str:
    if when is None:
        return ""
    return _written(when.earliest) if when.is_exact else _ROUGHLY[when.text]


def _written(day: date | None) -> str:
    return f"{day.day} {day:%b %Y}" if day else ""


def _feature(feature: Feature) -> str:
    state = {Presence.ABSENT: " absent", Presence.TRACE: " trace only"}.get(feature.presence, "")
    return feature.what.removesuffix(state) + state


if __name__ == "__main__":
    with Session.open(FOLDER / "book.json", write=False) as session:
        (FOLDER / "pieces.csv").write_bytes(pieces_sheet(session.book))
        (FOLDER / "episodes.csv").write_bytes(episodes_sheet(session.book))
