"""What a file would do to the book, as text for a command."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.intake.columns import Column, How, Kind
from showrunner.intake.findings import Intake, Row, Verdict, shorten
from showrunner.report import bullets, heading, wrap

MOST_ROWS = 200
"""Most rows of a kind that are printed; refused and doubtful ones always are."""


TOO_LARGE = "It is too large to stay among the undo steps: once more is done, only `showrunner restore` takes it back."
"""Told before and after such a file is written."""


def counts(found: Intake) -> str:
    """How many rows there are of each kind: `47 new, 0 changed, 0 unchanged; 4 doubtful, 0 refused`."""
    parts = [
        f"{len(found.of(verdict))} {verdict.value}" for verdict in (Verdict.NEW, Verdict.CHANGED, Verdict.UNCHANGED)
    ]
    left = len(found.of(Verdict.LEFT_OUT))
    out = f", {left} left out" if left else ""
    return f"{', '.join(parts)}; {len(found.doubtful)} doubtful, {len(found.refused)} refused{out}"


def outcome(found: Intake, *, written: bool, lasting: bool) -> str:
    """What has become of the book, and how it is taken back.

    Args:
        found: what the file brings.
        written: whether it was written into the book.
        lasting: whether undo can take it back once more was done; `Session.undo_lasts`.
    """
    if found.refused:
        return "Nothing is written, since something is refused."
    if not found.changes:
        return "Nothing would change; nothing is written."
    told = "Written into the book; `showrunner undo` takes it back." if written else "Nothing is written; --write does."
    return told if lasting else f"{told}\n{wrap(TOO_LARGE)}"


def incoming(found: Intake, *, written: bool, lasting: bool = True) -> str:
    """Everything a file would do, row by row, then the counts."""
    parts: list[str] = []
    if found.columns:
        parts += [heading("Columns"), *_columns(found.columns), ""]
    if found.notes:
        parts += [heading("Notes"), bullets(list(found.notes)), ""]
    for title, rows in _groups(found):
        if rows:
            parts += [heading(f"{title} ({len(rows)})"), *(_row(found, row) for row in rows[:MOST_ROWS])]
            if len(rows) > MOST_ROWS:
                parts.append(f"and {len(rows) - MOST_ROWS:,} more; --json names them all")
            parts.append("")
    if found.likely:
        parts += [heading(f"Likely, to be confirmed ({len(found.likely)})"), *map(_likely, found.likely), ""]
    if found.doubtful:
        parts += [
            heading(f"Doubtful ({len(found.doubtful)})"),
            *(wrap(row.doubt(), "  ", "") for row in found.doubtful),
        ]
        parts.append("")
    if left := found.of(Verdict.LEFT_OUT):
        parts += [heading(f"Left out ({len(left)})"), *(_row(found, row) for row in left), ""]
    if found.refused:
        parts += [heading(f"Refused ({len(found.refused)})"), *(wrap(text, "  ", "") for text in found.refused), ""]
    parts += _unmatched(found)
    return "\n".join(
        [*parts, wrap(f"{found.name}: {counts(found)}."), outcome(found, written=written, lasting=lasting)]
    )


def _columns(columns: Sequence[Column]) -> Iterator[str]:
    width = min(24, max(len(shorten(column.name)) for column in columns))
    for column in columns:
        name = shorten(column.name, 24).ljust(width)
        if column.field:
            how = "" if column.how is How.WORDING else f" ({column.how.value})"
            yield f"{name}  is {column.field}{how}"
        else:
            yield wrap(f"{name}  is left aside" + (f": {column.hint}" if column.hint else ""), "  ", "")


def _groups(found: Intake) -> Iterator[tuple[str, tuple[Row, ...]]]:
    """The rows that would be taken over, as they are listed."""
    if found.kind is not Kind.EPISODES:
        yield "New", found.of(Verdict.NEW)
        yield "Changed", found.of(Verdict.CHANGED)
        return
    taken = (*found.of(Verdict.NEW), *found.of(Verdict.CHANGED))
    yield "Of pieces", tuple(row for row in taken if row.pieces)
    yield "Of no piece", tuple(row for row in taken if not row.pieces and not row.guesses)


def _row(found: Intake, row: Row) -> str:
    shows = pieces_words(found.after, row.pieces)
    said = "; ".join(part for part in (shows, row.said) if part)
    id = f"{row.id}  " if row.id and found.kind is not Kind.EPISODES else ""
    return wrap(f"{row.unit.value} {row.line:<4} {id}{row.name}{': ' if said else ''}{said}", " " * 10, "")


def _likely(row: Row) -> str:
    best = row.guesses[0].piece
    told = "; ".join(f"perhaps {guess.piece} ({guess.chance}%: {guess.why})" for guess in row.guesses)
    way = f"--match {row.line}={best} or --match {row.line}=none settles it"
    return wrap(f"{row.unit.value} {row.line:<4} {row.name}: {told}; {way}", " " * 10, "")


def _unmatched(found: Intake) -> list[str]:
    """The pieces marked shown that no episode is about; the episodes of no piece are their own list."""
    if not found.pieces_left:
        return []
    names = [f"{id} {named(found.after, id)}" for id in found.pieces_left]
    return [heading(f"Marked shown, but no episode is about them ({len(names)})"), bullets(names), ""]


def named(book: Book, piece: str) -> str:
    """Name of a piece."""
    held = book.find("pieces", piece)
    return held.name if held else piece


def pieces_words(book: Book, pieces: Sequence[str]) -> str:
    """Pieces by number and name."""
    return words.listing([f"{id} {named(book, id)}" for id in pieces])
