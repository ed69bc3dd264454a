"""The chart of pieces left over time: past steps, the plan, and the 10 to 90% band."""

from __future__ import annotations

from datetime import date
from math import ceil
from typing import Any

from showrunner.planning.results import RunOut

PAST_DAYS = 200
"""Days of the past that are drawn."""

POINTS = 160
"""Points along the time axis."""


AROUND = 4
"""Lines that the title, the frame and the months take."""


def draw(plot: Any, found: RunOut, today: date, *, height: int, colors: dict[str, Any] | None) -> None:
    """Draw on a plotext figure; lines are named at their ends, so that no colour is needed to tell them apart.

    Args:
        plot: the figure (`PlotextPlot.plt`).
        found: the run-out.
        today: the present day.
        height: lines it has; where they are few, fewer numbers stand beside them.
        colors: colour of the lines, the ground and the text; None for no colour at all.
    """
    plot.clear_figure()
    if colors:
        plot.canvas_color(colors["ground"])
        plot.axes_color(colors["ground"])
        plot.ticks_color(colors["text"])
    else:
        plot.theme("clear")
    past = [step for step in found.past if (today - step.day).days <= PAST_DAYS]
    color = {"color": colors["line"]} if colors else {}
    edge = {"color": colors["edge"]} if colors else {}
    for name in ("low", "high"):
        if past:
            _line(plot, [(step.day, getattr(step, name)) for step in past], today, today, edge)
    for name, kind in (("p90", edge), ("p10", edge), ("p50", color)):
        if found.fan:
            start = [(today, getattr(found.fan[0], name))]
            points = start + [(step.day, getattr(step, name)) for step in found.fan]
            _line(plot, points, found.fan[-1].day, today, kind)
            plot.text(f"{name[1:]}% ", 0, start[0][1], alignment="right", **kind)
    first = past[0].day if past else today
    last = found.fan[-1].day if found.fan else today
    ticks = [(day, label) for day, label in _months(first, last)]
    plot.xticks([_at(day, today) for day, _ in ticks], [label for _, label in ticks])
    plot.title("pieces left")
    top = max([found.pieces_left[1], *(step.high for step in past)], default=1)
    plot.ylim(0, top + 0.5)
    two_lines = 2 * (top + 0.5) / max(1, height - AROUND)  # in pieces; of two numbers on one line one would be lost
    stride = max(1, top // 6, ceil(two_lines))
    plot.yticks(list(range(0, top + 1, stride)))


def _line(plot: Any, points: list[tuple[date, float]], until: date, today: date, color: dict[str, Any]) -> None:
    days, values = _steps(points, until)
    plot.plot([_at(day, today) for day in days], values, marker="braille", **color)


def _at(day: date, today: date) -> int:
    return (day - today).days


def _steps(points: list[tuple[date, float]], until: date) -> tuple[list[date], list[float]]:
    """A line that stays level until the next point, as counts do."""
    days: list[date] = []
    values: list[float] = []
    for at, (day, value) in enumerate(points):
        if at:
            days.append(day)
            values.append(values[-1])
        days.append(day)
        values.append(value)
    if days and until > days[-1]:
        days.append(until)
        values.append(values[-1])
    return days, values


def _months(first: date, last: date) -> list[tuple[date, str]]:
    """At most five first days of months, with short names, so that none is crowded out."""
    months = (last.year - first.year) * 12 + last.month - first.month
    stride = max(1, -(-months // 4))
    found: list[tuple[date, str]] = []
    year, month = first.year, first.month
    for _ in range(months // stride + 2):
        month += stride if found or date(year, month, 1) >= first else 1
        year, month = year + (month - 1) // 12, (month - 1) % 12 + 1
        day = date(year, month, 1)
        if day > last:
            break
        new_year = not found or found[-1][0].year != day.year
        found.append((day, f"{day:%b %y}" if new_year and day.month < 4 else f"{day:%b}"))
    return found
