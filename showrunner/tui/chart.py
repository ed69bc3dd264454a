"""The chart of pieces left over time: a line at even odds, a band from 10 to 90%, and the past as the steps it was.

It is drawn in characters, so that line and band differ without any colour: the line is a rule with corners, the band
shade. Left of today the number only lacks what is unsure; so the past is the count of today with what was shown
since added.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from enum import StrEnum
from itertools import pairwise

from textual.content import Content
from textual.widget import Widget

from showrunner.domain.record import record
from showrunner.planning.results import RunOut

FEWEST_ROWS = 9
"""Lines below which nothing can be read off, and nothing is drawn."""

FEWEST_COLUMNS = 36
"""Columns that the words of the legend need."""

PAST_SHARE = 0.5
"""Days of the past for each day to come."""

LEAST_PAST = 90
"""Days of the past in any case."""

WIDE = 82
"""Columns from which the legend has room for line and band side by side."""


class Ink(StrEnum):
    """What a cell shows; its colour follows from it, and never says more than the character."""

    LINE = "line"
    BAND = "band"
    FRAME = "frame"
    WORDS = "words"


STYLES = {Ink.LINE: "bold $primary", Ink.BAND: "$secondary", Ink.FRAME: "$muted", Ink.WORDS: ""}
"""Colour of each."""

BAND_SIGN, TODAY_SIGN = "░", "┊"

Row = list[tuple[str, Ink]]
"""A line of the chart: a character, or a text, and what it shows."""


@record
class Level:
    """How many pieces are left from a day on."""

    day: date
    """The day."""
    low: int
    """10% quantile."""
    middle: int
    """Even odds."""
    high: int
    """90% quantile."""


def levels(found: RunOut) -> tuple[Level, ...]:
    """Pieces left by day: after each study of the past, today, and after each slot to come."""
    now = found.now
    past = []
    for step in found.past:
        since = step.low - found.pieces_left[0]
        past.append(Level(step.day, now.p10 + since, now.p50 + since, now.p90 + since))
    ahead = [Level(step.day, step.p10, step.p50, step.p90) for step in (now, *found.fan)]
    return (*past, *ahead)


def picture(found: RunOut, width: int, height: int) -> list[Row]:
    """The chart, line by line.

    Args:
        found: the run-out.
        width: columns.
        height: lines.

    Returns:
        As many lines as fit, each at most `width` wide; none if there is too little room.
    """
    if height < FEWEST_ROWS or width < FEWEST_COLUMNS:
        return []
    legend = _legend(width, height)
    every, today = levels(found), found.now.day
    until = every[-1].day
    past = max(LEAST_PAST, int(PAST_SHARE * (until - today).days))
    drawn = [level for level in every if (today - level.day).days <= past]
    first, top = drawn[0].day, max(1, *(level.high for level in drawn))
    side = len(str(top)) + 1
    rows = height - len(legend) - 2
    columns = [first + timedelta(days) for days in _spread((until - first).days, width - side - 1)]
    cells = _cells(drawn, columns, today, top, rows)
    scale = _scale(top, rows)
    numbers = {_row(number, scale, rows): str(number) for number in range(0, top + 1, _stride(scale))}
    body: list[Row] = []
    for at, line in enumerate(cells):
        number = numbers.get(at, "")
        body.append([(f"{number:>{side - 1}} {'┤' if number else '│'}", Ink.FRAME), *line])
    return [*legend, *body, *_foot(columns, side)]


def _legend(width: int, height: int) -> list[Row]:
    """What is drawn, in words; in one line where there is little room."""
    title: Row = [("Pieces left to show", Ink.WORDS)]
    mark: Row = [(TODAY_SIGN, Ink.FRAME), (" today", Ink.WORDS)]
    line: Row = [("━", Ink.LINE), (" even odds", Ink.WORDS)]
    band: Row = [(BAND_SIGN, Ink.BAND), (" 10 to 90%", Ink.WORDS)]
    gap: Row = [("  ", Ink.WORDS)]
    if height < FEWEST_ROWS + 4:
        return [[*line, *gap, *band, *gap, *mark]]
    line += [(": as likely more as fewer", Ink.WORDS)]
    band += [(": 8 times in 10 it is in here", Ink.WORDS)]
    if width >= WIDE:
        return [[*title, *gap, *mark], [*line, *gap, *band]]
    return [[*title, *gap, *mark], line, [*band[:1], (" 10 to 90%: 8 times in 10 in here", Ink.WORDS)]]


def _spread(days: int, columns: int) -> list[int]:
    """The day, from the first, that each column stands for."""
    return [round(at * days / max(1, columns - 1)) for at in range(columns)]


def _at(every: Sequence[Level], day: date) -> Level:
    """What is left on a day, not before the first level."""
    return [level for level in every if level.day <= day][-1]


def _scale(top: int, rows: int) -> float:
    """Lines for each piece: a whole number where there is room for one."""
    scale = (rows - 1) / top
    return float(int(scale)) if scale >= 1 else scale


def _stride(scale: float) -> int:
    """Pieces from one number at the side to the next: a round number, two lines apart or more."""
    unit = 1
    while True:
        for stride in (unit, 2 * unit, 5 * unit):
            if stride * scale >= 2:
                return stride
        unit *= 10


def _row(pieces: int, scale: float, rows: int) -> int:
    """The line that a number of pieces stands on, from the top."""
    return rows - 1 - round(pieces * scale)


def _cells(every: Sequence[Level], columns: Sequence[date], today: date, top: int, rows: int) -> list[Row]:
    """The field: the band, on it the line with its steps, and where today is."""
    field: list[Row] = [[(" ", Ink.FRAME)] * len(columns) for _ in range(rows)]
    scale = _scale(top, rows)
    now = max((at for at, day in enumerate(columns) if day <= today), default=0)
    before: int | None = None
    for at, day in enumerate(columns):
        level = _at(every, day)
        low, middle, high = (_row(pieces, scale, rows) for pieces in (level.low, level.middle, level.high))
        for row in range(rows):
            if high <= row <= low:
                field[row][at] = (BAND_SIGN, Ink.BAND)
            elif at == now:
                field[row][at] = (TODAY_SIGN, Ink.FRAME)
        for row, sign in _step(middle if before is None else before, middle):
            field[row][at] = (sign, Ink.LINE)
        before = middle
    return field


def _step(before: int, now: int) -> list[tuple[int, str]]:
    """The line in one column: level, or from one line down to another, or up."""
    if before == now:
        return [(now, "━")]
    start, stop = ("┓", "┗") if now > before else ("┛", "┏")
    between = range(min(before, now) + 1, max(before, now))
    return [(before, start), *((row, "┃") for row in between), (now, stop)]


def _foot(columns: Sequence[date], side: int) -> list[Row]:
    """The frame below, with a mark for each month that is named, and their names."""
    marks, names, free = ["─"] * len(columns), " " * (side + 1), 0
    year = 0
    for at, (before, day) in enumerate(pairwise(columns), 1):
        if (before.year, before.month) == (day.year, day.month):
            continue
        name = f"{day:%b}" if day.year == year else f"{day:%b %Y}"
        start = max(0, at - 1)
        if start < free or start + len(name) > len(columns):
            continue
        marks[at] = "┬"
        names = f"{names:<{side + 1 + start}}{name}"
        free, year = start + len(name) + 2, day.year
    return [[(f"{'':>{side}}└{''.join(marks)}", Ink.FRAME)], [(names, Ink.FRAME)]]


class PiecesLeft(Widget):
    """The chart as a widget; it draws itself to the size it has."""

    found: RunOut | None = None
    """What is drawn; None for nothing yet."""

    def show(self, found: RunOut | None) -> None:
        """Draw a run-out."""
        self.found = found
        self.refresh()

    def render(self) -> Content:
        """The chart at the size there is."""
        if self.found is None:
            return Content("")
        lines = picture(self.found, *self.size)
        return Content("\n").join(
            Content("").join(Content.styled(text, STYLES[ink]) for text, ink in line) for line in lines
        )
