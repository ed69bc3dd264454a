"""A table of which only the rows that changed are drawn anew."""

from __future__ import annotations

from typing import Literal, Self

from rich.console import Console
from rich.segment import Segment
from rich.style import Style
from rich.text import Text
from textual.coordinate import Coordinate
from textual.strip import Strip
from textual.widgets import DataTable


class Blank:
    """Stands in each cell of the table below, which draws its texts itself; nothing of it need be measured."""

    def __rich__(self) -> str:
        """Nothing."""
        return ""


BLANK = Blank()


class RowTable(DataTable[Blank]):
    """Rows of one line or more, in columns of fixed width without padding.

    Cursor, scrolling and clicks are those of `DataTable`. That one measures every cell, and when one changes it draws
    all rows in view again; so the texts are kept here, and each row as it was drawn last.
    """

    def __init__(self, *, id: str, cursor_type: Literal["cell", "row"] = "row", show_header: bool = True) -> None:
        super().__init__(id=id, cursor_type=cursor_type, show_header=show_header, cell_padding=0)
        self.texts: dict[str, tuple[Text, ...]] = {}
        """The cells of each row by its key, in order."""
        self.places: list[tuple[int, int]] = []
        """The row of each line of the table, and which line of the row it is."""
        self.drawn: dict[tuple[int, int], tuple[tuple[object, ...], Strip]] = {}
        """Each line as it was drawn, by its place, after what that depends on."""
        self.inks: tuple[Style, Style, Style] | None = None
        """What it is drawn in: the ground, what is under the mouse, and what is under the cursor."""

    def put_row(self, key: str, *cells: Text) -> None:
        """Change the cells of a row, or add it at the end if there is none of that key; it keeps the height it has."""
        if key in self.texts:
            self.texts[key] = cells
            row = self.get_row_index(key)
            for line in range(self.ordered_rows[row].height):
                self.drawn.pop((row, line), None)
            self.refresh_row(row)
        else:
            self.texts[key] = cells
            height = max(text.plain.count("\n") + 1 for text in cells)
            self.places += [(self.row_count, line) for line in range(height)]
            self.add_row(*[BLANK] * len(cells), key=key, height=height)

    def clear(self, columns: bool = False) -> Self:
        """Take all rows out, and the columns if wanted."""
        self.texts.clear()
        self.places.clear()
        self.drawn.clear()
        return super().clear(columns)

    def show_row(self, row: int, column: int, top: int) -> None:
        """Put the cursor on a cell and a row on top; before it has a size, have the table come up so.

        Scrolled only then, it would be laid out and drawn twice before it is first seen.
        """
        if self.size:
            self.move_cursor(row=row, column=column)
            self.call_after_refresh(self.scroll_to, y=top, animate=False)
            return
        self.set_reactive(DataTable.cursor_coordinate, Coordinate(row, column))
        self.set_reactive(DataTable.scroll_y, float(top))
        self.set_reactive(DataTable.scroll_target_y, float(top))
        self.vertical_scrollbar.position = top

    # Drawing

    def notify_style_update(self) -> None:
        """Forget what was drawn in colours that may be others now."""
        self.drawn.clear()
        self.inks = None
        super().notify_style_update()

    def render_line(self, y: int) -> Strip:
        """A line of the table in view; `y` counts from its top."""
        head = self.header_height if self.show_header else 0
        at = y - head + self.scroll_offset.y
        if y < head or at >= len(self.places):
            return super().render_line(y)
        place = self.places[at]
        row = place[0]
        cursor = self._columns_under(self.cursor_coordinate, row)
        hover = self._columns_under(self.hover_coordinate, row) if self.mouse_hover else range(0)
        depends = (cursor, hover, self.scroll_offset.x, self.size.width)
        if place not in self.drawn or self.drawn[place][0] != depends:
            self.drawn[place] = (depends, self._line(*place, cursor, hover))
        return self.drawn[place][1]

    def _columns_under(self, at: Coordinate, row: int) -> range:
        """The columns of a row that a cursor covers."""
        if at.row != row:
            return range(0)
        return range(len(self.columns)) if self.cursor_type == "row" else range(at.column, at.column + 1)

    def _line(self, row: int, line: int, cursor: range, hover: range) -> Strip:
        """Draw a line of a row, with what is under the cursor and the mouse marked."""
        if self.inks is None:
            style = self.get_component_rich_style
            self.inks = self.rich_style, style("datatable--hover"), style("datatable--cursor")
        ground, under_mouse, under_cursor = self.inks
        marks = [(hover, under_mouse), (cursor, under_cursor)]
        segments: list[Segment] = []
        for at, (column, text) in enumerate(zip(self.ordered_columns, self.texts[self._key(row)], strict=True)):
            mark = sum((style for columns, style in marks if at in columns), Style.null())
            under = ground + Style.from_meta({"row": row, "column": at}) + mark
            cell = fitted(line_of(text, line), column.get_render_width(self), self.app.console)
            segments += Segment.apply_style(cell, under, Style.from_color(mark.color))
        rest = ground
        if self.cursor_type == "row":
            rest += sum((style for columns, style in marks if columns), Style.null())
        rest += Style.from_meta({"row": row, "column": 0, "out_of_bounds": True})
        left, width = self.scroll_offset.x, self.size.width
        return Strip(segments).crop(left, left + width).adjust_cell_length(width, rest).simplify()

    def _key(self, row: int) -> str:
        return str(self.ordered_rows[row].key.value)


def line_of(text: Text, number: int) -> Text:
    """A line of a text, counted from 0; an empty one below its last."""
    if not number and "\n" not in text.plain:
        return text
    lines = text.split("\n", allow_blank=True)
    return lines[number] if number < len(lines) else Text()


def fitted(text: Text, width: int, console: Console) -> list[Segment]:
    """A text in one line of a width, cut or filled up to it."""
    if text.justify == "right":
        text = text.copy()
        text.align("right", width)
    pieces = Segment.apply_style(text.render(console), console.get_style(text.style))
    return Segment.adjust_line_length(list(pieces), width)
