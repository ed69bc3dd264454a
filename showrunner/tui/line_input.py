"""A line to type into that shows no sign which a terminal would obey."""

from __future__ import annotations

from rich.text import Text
from textual.widgets import Input

from showrunner.report import clean


class LineInput(Input):
    """A line to type into. What was pasted, or stands in the book, is shown with a blank for each such sign.

    The value keeps them: whether the book takes them is decided where it is saved.
    """

    @property
    def _value(self) -> Text:
        """The value as it is drawn; as long as the value, so that the cursor stands right."""
        return Text(clean(self.value), no_wrap=True, overflow="ignore", end="")
