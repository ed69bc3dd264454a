"""A text to read on in."""

from __future__ import annotations

from itertools import zip_longest

from rich.style import Style
from textual.content import Content
from textual.geometry import Size
from textual.scroll_view import ScrollView
from textual.selection import Selection
from textual.strip import Strip
from textual.visual import Visual


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
        paragraphs = self.content.plain.count("\n") + 1
        if bar := paragraphs > height or self.content.get_height({}, width) > height:
            width -= self.styles.scrollbar_size_vertical
        self.blank = Strip.blank(width, Style.from_color(bgcolor=self.rich_style.bgcolor))
        before, self.lines = self.lines, Visual.to_strips(self, self.content, width, None, self.visual_style)
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
        return self.lines[y] if y < len(self.lines) else self.blank

    # Selecting with the mouse

    def selection_updated(self, selection: Selection | None) -> None:
        """Draw what is selected."""
        del selection
        self.lay_out()

    def get_selection(self, selection: Selection) -> tuple[str, str] | None:
        """The text that is selected, and what ends it."""
        return selection.extract(self.content.plain), "\n"
