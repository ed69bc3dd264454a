"""What became of a shoot, to read and to print: its log with the times at home, light, condition and pickups."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from datetime import datetime

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.piece import Piece
from showrunner.domain.shoot import LogKind, LogLine, Shoot
from showrunner.domain.titles import quoted
from showrunner.domain.zone import zone_or_utc
from showrunner.page import Paper, page, section, text
from showrunner.planning.pickups import waiting_pickups
from showrunner.planning.shooting import damage
from showrunner.report import WIDTH, clean, heading

WITH_A_REASON = (LogKind.SKIPPED, LogKind.LEFT_OUT, LogKind.PASSED, LogKind.OVER_LIGHT, LogKind.CLOSED)
"""Lines whose words are a reason."""
Part = tuple[str, Sequence[str]]
"""A heading and the lines below it."""


def short_name(piece: Piece) -> str:
    """The name in quotation marks within a name, or all of it: what one calls the piece at the table."""
    for opening, closing in (("“", "”"), ('"', '"')):
        _, _, rest = piece.name.partition(opening)
        if rest and closing in rest:
            return rest.partition(closing)[0]
    return piece.name


def shoots_of(book: Book, studies: Iterable[str]) -> tuple[Shoot, ...]:
    """The shoots in which any of these studies was filmed, the last begun first."""
    wanted = {*studies}
    return tuple(shoot for shoot in reversed(book.shoots) if wanted & {*shoot.studies})


def title_of(book: Book, shoot: Shoot) -> str:
    """What was filmed, and when it began at home."""
    titles = words.listing([quoted(book.episode(id).title) for id in shoot.studies])
    return f"{titles}, {_day_and_time(book, shoot.begun)}"


def told(book: Book, shoot: Shoot) -> list[Part]:
    """Everything about a shoot, part by part."""
    log = book.log_of(shoot.id)
    handled = dict.fromkeys(line.piece for line in log if line.kind is LogKind.TOUCHED)
    pieces = [book.piece(id) for id in handled if book.find("pieces", id)]
    lasted = [f"begun {_day_and_time(book, shoot.begun)}"]
    ended = next((line for line in reversed(log) if line.kind is LogKind.CLOSED), None)
    lasted += [f"closed {_day_and_time(book, ended.at)}{_because(ended)}"] if ended else ["not closed yet"]
    found = [line for line in log if line.kind is LogKind.FOUND]
    return [
        ("Times", [f"{'; '.join(lasted)} (time at home, {book.house.zone})"]),
        ("Touches and light", [_handling(piece, shoot) for piece in pieces] or ["Nothing was touched."]),
        ("Condition", [line for piece in pieces for line in _condition(piece, shoot)] or ["Nothing was written."]),
        ("Pickups", pickup_lines(book, shoot) or ["None."]),
        ("Found", [log_words(book, line, clock_at(book, line.at)) for line in found] or ["Nothing new."]),
        ("What happened", [log_words(book, line, clock_at(book, line.at)) for line in log] or ["Nothing."]),
    ]


def pickup_lines(book: Book, shoot: Shoot) -> list[str]:
    """The pickups of a shoot, each with whether it still waits."""
    waiting = {line.id for line in waiting_pickups(book)}
    mine = [line for line in book.log_of(shoot.id) if line.kind is LogKind.PICKUP]
    return [
        f"{'waits' if line.id in waiting else 'mended'}, {line.remedy}: {_name(book, line.piece)}, {line.text}"
        for line in mine
    ]


def record_text(book: Book, shoot: Shoot, width: int = WIDTH) -> str:
    """The record of a shoot as plain text, so many columns wide."""
    out = [*_wrapped(f"Shoot: {title_of(book, shoot)}", width, ""), ""]
    for head, lines in told(book, shoot):
        out += [heading(head), *(part for line in lines for part in _wrapped(line, width, "  ")), ""]
    return "\n".join(out).rstrip()


def record_html(book: Book, shoot: Shoot, paper: Paper = Paper.ANY) -> str:
    """The record of a shoot as one HTML page with nothing outside it."""
    out = [f"<h1>{text(title_of(book, shoot))}</h1>"]
    for head, lines in told(book, shoot):
        out += section(head, [("note", text(line)) for line in lines])
    return page(f"Shoot: {title_of(book, shoot)}", out, paper)


def clock_at(book: Book, at: datetime) -> str:
    """An instant as the clock at home shows it."""
    return f"{at.astimezone(zone_or_utc(book.house.zone)):%H:%M:%S}"


def log_words(book: Book, line: LogLine, clock: str) -> str:
    """A line of the log in words."""
    name = short_name(book.piece(line.piece)) if line.piece else ""
    what = line.subject.partition("/")[2].removeprefix("say/") if line.subject else ""
    text = {
        LogKind.ACKNOWLEDGED: "cautions acknowledged",
        LogKind.TOUCHED: line.touch.value if line.touch else f"touched: {line.text}",
        LogKind.LEFT_OUT: f"left out: {line.touch.value if line.touch else what}",
        LogKind.LUX: f"{line.lux} lux measured",
        LogKind.FOUND: f"found: {line.text}{f' ({line.confidence})' if line.confidence else ''}",
        LogKind.PICKUP: f"pickup, {line.remedy}: {line.text}",
        LogKind.CLOSED: "closed",
    }.get(line.kind, f"{line.kind.value}{f': {what}' if what else ''}")
    if line.kind in WITH_A_REASON and line.text:
        text = f"{text} ({line.text})"
    return f"{clock}  {f'{name}: ' if name else ''}{text}"


def _wrapped(line: str, width: int, indent: str) -> list[str]:
    return textwrap.wrap(clean(line), width, initial_indent=indent, subsequent_indent=f"{indent}  ")


def _day_and_time(book: Book, at: datetime) -> str:
    home = at.astimezone(zone_or_utc(book.house.zone))
    return f"{words.short_day(home.date())}, {home:%H:%M}"


def _because(line: LogLine) -> str:
    return f" ({line.text})" if line.text else ""


def _handling(piece: Piece, shoot: Shoot) -> str:
    exposure = next((e for e in piece.exposures if e.shoot == shoot.id), None)
    if exposure is None:
        return f"{piece.name}: counted when the shoot is closed"
    return f"{piece.name}: {words.count(exposure.touches, 'touch')}, {exposure.lux_hours:,} lux hours"


def _condition(piece: Piece, shoot: Shoot) -> list[str]:
    lines = []
    for after in (False, True):
        known = [f"{e.place}: {e.text}" for e in piece.condition if e.shoot == shoot.id and e.after is after]
        if known:
            lines.append(f"{piece.name}, {'after' if after else 'before'}: {'; '.join(known)}")
    return lines + [f"! {piece.name}, new: {entry.place}: {entry.text}" for entry in damage(piece, shoot.id)]


def _name(book: Book, piece: str) -> str:
    found = book.find("pieces", piece)
    return found.name if found else piece
