"""The table that draws its rows itself, held against Textual's own `DataTable` with the same cells."""

from __future__ import annotations

from typing import Any

import pytest
from rich.text import Text
from textual.app import App, ComposeResult
from textual.strip import Strip
from textual.widgets import DataTable

from showrunner.tui.lines import RowTable

CELLS = (
    ("a", "a text that is cut off, being long", ("7", "bold reverse")),
    (("▸ b", "bold"), ("wide 表表\n\n a third line", "dim"), "1234\n5678901"),
    ("", ("wide 表表表表表表表表", "dim"), "12345678901"),
    ("c\nd", ("one less", "italic"), "\nok"),
)
"""Cells of three rows, and what the second one is changed into; no line of that one is too long for its column."""
COLUMNS = (("first", 5), ("second", 14), ("third", 9))


def texts(n: int) -> list[Text]:
    """The cells of a row; the last one stands at the right."""
    pairs = [(cell, "") if isinstance(cell, str) else cell for cell in CELLS[n if n < 0 else n % 3]]
    return [Text(*pairs[0]), Text(*pairs[1]), Text(*pairs[2], justify="right")]


class Both(App[None]):
    """Textual's table above, ours below."""

    CSS = """
    DataTable { height: 7; scrollbar-size-vertical: 1; }
    DataTable > .datatable--cursor { background: red; color: yellow; text-style: bold; }
    """

    def __init__(self, cursor_type: Any) -> None:
        super().__init__()
        self.theirs: DataTable[Text] = DataTable(cursor_type=cursor_type, cell_padding=0)
        self.ours = RowTable(id="ours", cursor_type=cursor_type)

    def compose(self) -> ComposeResult:
        yield self.theirs
        yield self.ours

    def on_mount(self) -> None:
        for table in (self.theirs, self.ours):
            for label, width in COLUMNS:
                table.add_column(label, key=label, width=width)
        for n in range(12):
            self.theirs.add_row(*texts(n), key=str(n), height=3 if n % 3 == 1 else 1)
            self.ours.put_row(str(n), *texts(n))

    def change(self, key: str, to: int) -> None:
        """Give a row other cells in both."""
        for (label, _), cell in zip(COLUMNS, texts(to), strict=True):
            self.theirs.update_cell(key, label, cell)
        self.ours.put_row(key, *texts(to))


def drawn(table: DataTable[Any]) -> list[list[tuple[object, ...]]]:
    """What each line of a table in view looks like, and what a click on it hits."""

    def seen(line: Strip) -> list[tuple[object, ...]]:
        styles = [(part.text, part.style) for part in line.simplify() if part.text and part.style]
        return [(text, s.color, s.bgcolor, s.bold, s.dim, s.reverse, s.meta) for text, s in styles]

    return [seen(table.render_line(y)) for y in range(table.size.height)]


@pytest.mark.slow
@pytest.mark.parametrize("cursor_type", ["row", "cell"])
@pytest.mark.parametrize(("width", "right"), [(40, 0), (20, 0), (20, 6)])
async def test_each_line_is_what_textual_draws(cursor_type: str, width: int, right: int) -> None:
    app = Both(cursor_type)
    async with app.run_test(size=(width, 14)) as pilot:
        for keys, change in ((), None), (("down", "right"), ("1", -1)), (("down",) * 8, ("9", 0)), (("end",), ("8", 1)):
            for table in (app.theirs, app.ours):
                table.focus()
                await pilot.pause()
                await pilot.press(*keys)
                table.scroll_to(x=right, animate=False)
            if change:
                app.change(*change)
            app.set_focus(None)
            await pilot.pause()
            assert drawn(app.ours) == drawn(app.theirs), keys
            assert app.ours.scroll_offset == app.theirs.scroll_offset


async def test_focus_and_mouse_colour_the_rows_as_textual_does() -> None:
    app = Both("row")
    async with app.run_test(size=(40, 14)) as pilot:
        shown = []
        for table, top in ((app.theirs, 0), (app.ours, 7)):
            table.focus()
            await pilot.hover(offset=(3, top + 4))
            await pilot.pause()
            shown.append(drawn(table))
        assert shown[0] == shown[1]
        assert len({str(line[0][2]) for line in shown[1]}) > 3  # header, cursor, mouse, the rest


async def test_the_first_picture_is_scrolled_already() -> None:
    class One(App[None]):
        def compose(self) -> ComposeResult:
            yield RowTable(id="ours", cursor_type="cell")

        def on_mount(self) -> None:
            table = self.query_one(RowTable)
            for label, width in COLUMNS:
                table.add_column(label, width=width)
            for n in range(40):
                table.put_row(str(n), *texts(n))
            table.show_row(30, 1, top=28)

    async with One().run_test(size=(40, 8)) as pilot:
        table = pilot.app.query_one(RowTable)
        await pilot.pause()
        assert (table.cursor_coordinate, table.scroll_y, table.vertical_scrollbar.position) == ((30, 1), 28, 28)
        table.show_row(39, 2, top=65)  # lower than the last rows reach
        await pilot.pause()
        assert (table.cursor_coordinate, table.scroll_y) == ((39, 2), table.max_scroll_y)
