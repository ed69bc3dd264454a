"""A text to read on in."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import zip_longest

from rich.segment import Segment
from rich.style import Style
from textual.content import Content, Span
from textual.geometry import Size
from textual.scroll_view import ScrollView
from textual.selection import Selection
from textual.strip import Strip
from textual.visual import Visual

Wrapped = dict[tuple[int, int, str, tuple[Span, ...]], list[Strip]]
"""The lines of paragraphs by the width, their number, their text and its marking."""


def _numbered(strip: Strip, number: int) -> Strip:
    """A line of a paragraph that was wrapped alone, with its number in the text: the mouse selects by it."""

    def at(segment: Segment) -> Segment:
        style = segment.style
        if style is None or "offset" not in style.meta:
            return segment
        x, _ = style.meta["offset"]
        return Segment(segment.text, style + Style.from_meta({"offset": (x, number)}), segment.control)

    return Strip(map(at, strip), strip.cell_length)


class Reading(ScrollView, can_focus=False):
    """A text wrapped to the width there is, which scrolls if it is longer than the view.

    It draws the lines in view itself. As a text within something that scrolls, each other text would have the whole
    screen laid out anew.
    """

    def __init__(self, *, id: str) -> None:
        super().__init__(id=id)
        self.content = Content()
        self.lines: list[Strip] = []
        """The text as it is drawn, line by line."""
        self.wrapped: Wrapped = {}
        """The paragraphs that are shown."""
        self.blank = Strip.blank(0)
        """A line below the text."""

    def update(self, content: Content) -> None:
        """Show a text, if it is another; where it is read stays."""
        if content.plain != self.content.plain or content.spans != self.content.spans:
            self.content = content
            self.lay_out()

    def lay_out(self) -> None:
        """Wrap the text; the scroll bar comes only if there is no room without it."""
        width, height = self.container_size
        if not width or not height:
            return
        paragraphs = self.content.split("\n", allow_blank=True)
        before, known, self.wrapped = self.lines, self.wrapped, {}
        bar = len(paragraphs) > height
        if not bar:
            self.lines = self._wrap(paragraphs, width, known)
            bar = len(self.lines) > height
        if bar:
            width -= self.styles.scrollbar_size_vertical
            self.lines = self._wrap(paragraphs, width, known)
        self.blank = Strip.blank(width, Style.from_color(bgcolor=self.rich_style.bgcolor))
        size = Size(0, max(height, len(self.lines)))
        if bar == self.show_vertical_scrollbar:  # then the screen need not be laid out anew
            self.set_reactive(ScrollView.virtual_size, size)
            self.scroll_to(y=min(self.scroll_offset.y, self.max_scroll_y), animate=False)
            if bar:
                self.vertical_scrollbar.window_virtual_size = size.height
            others = [y for y, (old, new) in enumerate(zip_longest(before, self.lines)) if old != new]
            if others:
                self.refresh_lines(others[0], others[-1] + 1 - others[0])
        else:
            self.virtual_size = size

    def _wrap(self, paragraphs: Sequence[Content], width: int, known: Wrapped) -> list[Strip]:
        """The lines of the text at a width; a paragraph that is known already is not wrapped again."""
        if self.text_selection is not None:  # it goes by the lines of the whole
            return Visual.to_strips(self, self.content, width, None, self.visual_style)
        lines: list[Strip] = []
        for number, paragraph in enumerate(paragraphs):
            key = width, number, paragraph.plain, tuple(paragraph.spans)
            if key not in self.wrapped:
                self.wrapped[key] = known.get(key) or [
                    _numbered(strip, number)
                    for strip in Visual.to_strips(self, paragraph, width, None, self.visual_style)
                ]
            lines += self.wrapped[key]
        return lines

    def on_resize(self) -> None:
        """Wrap the text to another width."""
        self.lay_out()

    def notify_style_update(self) -> None:
        """Draw in the colours there are now."""
        super().notify_style_update()
        self.wrapped = {}
        self.lay_out()

    def render_line(self, y: int) -> Strip:
        """A line in view; `y` counts from the top of it."""
        y += self.scroll_offset.y
        return self.lines[y] if y < len(self.lines) else self.blank

    # Selecting with the mouse

    def selection_updated(self, selection: Selection | None) -> None:
        """Draw what is selected."""
        del selection
        self.lay_out()

    def get_selection(self, selection: Selection) -> tuple[str, str] | None:
        """The text that is selected, and what ends it."""
        return selection.extract(self.content.plain), "\n"
