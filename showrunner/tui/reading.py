"""A text to read on in."""

from __future__ import annotations

from functools import lru_cache
from itertools import zip_longest
from typing import NamedTuple

from rich.segment import Segment
from rich.style import Style
from textual.content import Content
from textual.geometry import Size
from textual.scroll_view import ScrollView
from textual.selection import Selection
from textual.strip import Strip
from textual.visual import Visual


class Line(NamedTuple):
    """A line as it is seen, and where in the text it begins: the mouse selects by that."""

    text: str
    start: int
    """Signs of its paragraph before it."""
    paragraph: int
    """Number of its paragraph, from 0."""


@lru_cache(1024)
def wrapped(paragraph: str, width: int) -> tuple[tuple[str, int], ...]:
    """The lines of a paragraph at a width in cells, each with the signs of the paragraph before it."""
    lines: list[tuple[str, int]] = []
    end = 0
    for line in Content(paragraph).wrap(width):
        start = paragraph.find(line.plain, end)  # only blanks are left out between two lines
        end = start + len(line.plain)
        lines.append((line.plain, start))
    return tuple(lines)


class Reading(ScrollView, can_focus=False):
    """A text without marking, wrapped to the width there is, which scrolls if it is longer than the view.

    It draws the lines in view itself. As a text within something that scrolls, each other text would have the whole
    screen laid out anew.
    """

    def __init__(self, *, id: str) -> None:
        super().__init__(id=id)
        self.text = ""
        self.lines: list[Line] = []
        """The text as it is seen, line by line."""
        self.ground = Style()
        """What it is drawn in."""
        self.selected: list[Strip] = []
        """The lines as they are drawn while some of the text is selected; empty if none is."""

    def update(self, text: str) -> None:
        """Show a text, if it is another; where it is read stays."""
        if text != self.text:
            self.text = text
            self.lay_out()

    def lay_out(self) -> None:
        """Wrap the text; the scroll bar comes only if there is no room without it."""
        width, height = self.container_size
        if not width or not height:
            return
        before, self.lines = self.lines, self._wrap(width)
        bar = len(self.lines) > height
        if bar:
            width -= self.styles.scrollbar_size_vertical
            self.lines = self._wrap(width)
        self.ground = self.visual_style.rich_style
        selecting, self.selected = bool(self.selected), self._with_selection(width)
        size = Size(0, max(height, len(self.lines)))
        if bar == self.show_vertical_scrollbar:  # then the screen need not be laid out anew
            self.set_reactive(ScrollView.virtual_size, size)
            self.scroll_to(y=min(self.scroll_offset.y, self.max_scroll_y), animate=False)
            if bar:
                self.vertical_scrollbar.window_virtual_size = size.height
            others = [y for y, (old, new) in enumerate(zip_longest(before, self.lines)) if old != new]
            if selecting or self.selected:
                self.refresh()
            elif others:
                self.refresh_lines(others[0], others[-1] + 1 - others[0])
        else:
            self.virtual_size = size

    def _wrap(self, width: int) -> list[Line]:
        """The lines of the text at a width."""
        paragraphs = enumerate(self.text.split("\n"))
        return [Line(*line, number) for number, paragraph in paragraphs for line in wrapped(paragraph, width)]

    def _with_selection(self, width: int) -> list[Strip]:
        """The lines at a width with what is selected marked; empty if nothing is."""
        if self.text_selection is None:
            return []
        return Visual.to_strips(self, Content(self.text), width, None, self.visual_style)

    def on_resize(self) -> None:
        """Wrap the text to another width."""
        self.lay_out()

    def notify_style_update(self) -> None:
        """Draw in the colours there are now."""
        super().notify_style_update()
        self.lay_out()

    def render_line(self, y: int) -> Strip:
        """A line in view; `y` counts from the top of it."""
        y += self.scroll_offset.y
        if y >= len(self.lines):
            return Strip.blank(0)
        if self.selected:
            return self.selected[y]
        text, start, paragraph = self.lines[y]
        return Strip([Segment(text, self.ground)]).apply_offsets(start, paragraph)

    # Selecting with the mouse

    def selection_updated(self, selection: Selection | None) -> None:
        """Draw what is selected."""
        del selection
        self.lay_out()

    def get_selection(self, selection: Selection) -> tuple[str, str] | None:
        """The text that is selected, and what ends it."""
        return selection.extract(self.text), "\n"
