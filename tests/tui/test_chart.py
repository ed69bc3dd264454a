"""The chart of pieces left: read back, without its colours, as the figures that it was drawn from."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from keys import settle

from showrunner.planning.results import FanStep, PieceStep, RunOut
from showrunner.session import Session
from showrunner.tui.app import ShowrunnerApp
from showrunner.tui.chart import BAND_SIGN, FEWEST_COLUMNS, FEWEST_ROWS, Ink, PiecesLeft, levels, picture

LINE = "━┓┗┃┛┏"


@pytest.fixture(scope="module")
def found() -> RunOut:
    from pathlib import Path

    with Session.open(Path(__file__).parents[2] / "demo" / "book.json", write=False) as session:
        return session.runout()


def drawn(found: RunOut, width: int, height: int) -> list[str]:
    return ["".join(text for text, _ in row) for row in picture(found, width, height)]


def field(lines: list[str]) -> list[tuple[str, str]]:
    """The number at the side of each line of the field, empty where there is none, and the line itself."""
    found = []
    for line in lines:
        for frame in "┤│":
            side, bar, rest = line.partition(frame)
            if bar and not side.strip(" 0123456789"):
                found.append((side.strip(), rest))
                break
    return found


def number_of(lines: list[str], column: int, signs: str) -> list[float]:
    """The numbers that the cells with some signs in a column stand for, by the two outermost numbers at the side."""
    rows = field(lines)
    marked = [(at, int(side)) for at, (side, _) in enumerate(rows) if side]
    (top, most), (bottom, least) = marked[0], marked[-1]
    per_row = (most - least) / (bottom - top)
    return [least + (bottom - at) * per_row for at, (_, line) in enumerate(rows) if line[column] in signs]


@pytest.mark.parametrize("size", [(37, 17), (37, 12), (77, 33), (77, 20), (120, 50), (36, 9)])
def test_every_line_fits_and_numbers_have_a_line_each(found: RunOut, size: tuple[int, int]) -> None:
    lines = drawn(found, *size)
    assert len(lines) == size[1]
    assert max(map(len, lines)) <= size[0]
    sides = [int(side) for side, _ in field(lines) if side]
    assert sides == sorted(set(sides), reverse=True)
    assert len(sides) >= 2
    assert sides[-1] == 0


def test_it_is_read_back_as_what_was_drawn(found: RunOut) -> None:
    """At its right edge, at its left edge, and today, in a chart with a line or more for each piece."""
    lines = drawn(found, 77, 33)
    last = found.fan[-1]
    right = len(field(lines)[0][1]) - 1
    assert number_of(lines, right, "━┗") == [last.p50]
    first = next(step for step in found.past if step.day == date(2025, 10, 19))
    middle = first.low - 6 + found.now.p50
    assert number_of(lines, 0, "━") == [middle]
    assert max(number_of(lines, 0, BAND_SIGN)) == first.high
    assert min(number_of(lines, 0, BAND_SIGN)) == first.low


def test_the_past_is_the_count_of_today_with_what_was_shown_since(found: RunOut) -> None:
    told = {level.day: (level.low, level.middle, level.high) for level in levels(found)}
    assert told[date(2026, 1, 25)] == told[date(2026, 3, 2)] == (6, 7, 8)
    assert told[date(2025, 10, 19)] == (8, 9, 10)  # two studies of one piece since
    assert [level.day for level in levels(found)] == sorted(told)


def test_line_and_band_differ_by_their_signs_and_each_is_named(found: RunOut) -> None:
    rows = picture(found, 37, 17)
    signs = {ink: {text for row in rows for text, of in row if of is ink} for ink in Ink}
    assert signs[Ink.LINE] <= set(LINE)
    assert signs[Ink.BAND] == {BAND_SIGN}
    legend = "\n".join(drawn(found, 37, 17)[:3])
    for words in ("Pieces left to show", "━ even odds", f"{BAND_SIGN} 10 to 90%", "┊ today"):
        assert words in legend
    assert drawn(found, 37, FEWEST_ROWS)[0] == f"━ even odds  {BAND_SIGN} 10 to 90%  ┊ today"


def test_the_foot_names_months_where_they_begin(found: RunOut) -> None:
    marks, names = drawn(found, 77, 33)[-2:]
    assert "Jan 2026" in names
    columns = [at for at, sign in enumerate(marks) if sign == "┬"]
    starts = [at for at in range(1, len(names)) if names[at] != " " and names[at - 1] == " " and names[at].isalpha()]
    assert [at - 1 for at in columns] == starts


def test_too_little_room_draws_nothing(found: RunOut) -> None:
    assert drawn(found, 37, FEWEST_ROWS - 1) == []
    assert drawn(found, FEWEST_COLUMNS - 1, 30) == []


TODAY = date(2026, 3, 2)


@pytest.mark.slow
@given(
    counts=st.lists(st.integers(0, 400), min_size=1, max_size=40),
    shown=st.lists(st.integers(1, 2), max_size=30),
    width=st.integers(20, 130),
    height=st.integers(1, 60),
)
def test_any_run_out_is_drawn_within_its_size(
    found: RunOut, counts: list[int], shown: list[int], width: int, height: int
) -> None:
    counts = sorted(counts, reverse=True)
    days = [TODAY + timedelta(weeks=week) for week in range(1, len(counts))]
    fan = tuple(FanStep(day, max(0, c - 2), c, c + 1) for day, c in zip(days, counts[1:], strict=True))
    low = counts[0]
    past = [PieceStep(TODAY - timedelta(weeks=4), low, low + 2)]
    for pieces in shown:
        past.insert(0, PieceStep(past[0].day - timedelta(weeks=5), past[0].low + pieces, past[0].high + pieces))
    other = replace(
        found,
        now=FanStep(TODAY, low, low + 1, low + 2),
        fan=fan,
        past=tuple(past),
        pieces_left=(low, low + 2),
    )
    lines = drawn(other, width, height)
    assert len(lines) in (0, height)
    assert all(len(line) <= width for line in lines)
    for _, line in field(lines):
        assert len(line) == len(field(lines)[0][1])
    if lines:  # a line in every column
        assert all(any(line[at] in LINE for _, line in field(lines)) for at in range(len(field(lines)[0][1])))


def test_nothing_left_and_nothing_past_is_still_drawn(found: RunOut) -> None:
    empty = replace(found, now=FanStep(TODAY, 0, 0, 0), fan=(), past=(), pieces_left=(0, 0))
    assert len(drawn(empty, 37, 17)) == 17


async def test_the_widget_draws_to_its_size(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("4")
        await settle(pilot)
        chart = pilot.app.screen.query_one(PiecesLeft)
        lines = str(chart.render()).split("\n")
        assert len(lines) == chart.size.height
        assert max(map(len, lines)) <= chart.size.width
