"""Several lines to type into that show no sign which a terminal would obey."""

from __future__ import annotations

from rich.text import Text
from textual.widgets import TextArea

from showrunner.report import clean


class PageInput(TextArea):
    """Several lines to type into, drawn with a blank for each such sign; a tab is as wide as it reaches.

    The text keeps them, as that of `LineInput` does.
    """

    def get_line(self, line_index: int) -> Text:
        """A line as it is drawn."""
        line = self.document.get_line(line_index)
        return Text("\t".join(map(clean, line.split("\t"))), end="", no_wrap=True)
