"""The help: the keys of a screen and its words, in which can be searched."""

from __future__ import annotations

from collections.abc import Sequence

from rich.table import Table
from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Input, Static

from showrunner.domain.glossary import GLOSSARY, Term, found
from showrunner.domain.naming import bare
from showrunner.tui.dialogs import NoticeDialog, plain
from showrunner.tui.line_input import LineInput

Line = tuple[str, str]
"""A key, or a word, and what it does or means; the key is empty for a note."""


class HelpDialog(NoticeDialog):
    """The keys, then the words; what is typed leaves only the lines and the words that hold it.

    Args:
        title: what it is the help of.
        keys: each key and what it does; a pair of empty texts is a line between.
        terms: the words of the screen; all words are searched.
    """

    DEFAULT_CSS = """
    HelpDialog #find { background: $panel; margin: 0 0 1 0; }
    """

    def __init__(self, title: str, keys: Sequence[Line], terms: Sequence[Term]) -> None:
        self.keys, self.terms = tuple(keys), tuple(terms)
        self.lines = self._matching("")
        super().__init__(title, self._told())

    def compose(self) -> ComposeResult:
        """Lay the widgets out."""
        with VerticalScroll(id="dialog", can_focus=False):
            yield Static(plain(self.notice_title), classes="dialog-title")
            yield LineInput(placeholder="type to find a key or a word", id="find", compact=True)
            yield Static(self._table(), id="help")
            yield Static("Esc closes.", classes="muted")

    @on(Input.Changed, "#find")
    def search(self, event: Input.Changed) -> None:
        """Show what holds the text that is typed."""
        self.lines = self._matching(event.value)
        self.text = self._told()
        self.query_one("#help", Static).update(self._table())
        self.query_one("#dialog").scroll_home(animate=False)

    @on(Input.Submitted, "#find")
    def close(self) -> None:
        """Close, as in any text to read."""
        self.dismiss(None)

    def _matching(self, typed: str) -> tuple[tuple[Line, ...], tuple[Line, ...]]:
        """The keys and the words that hold what is typed."""
        wanted = bare(typed)
        keys = tuple(line for line in self.keys if not wanted or (any(line) and wanted in bare(" ".join(line))))
        terms = found(typed, GLOSSARY) if wanted else self.terms
        return keys, tuple((term.word, term.meaning) for term in terms)

    def _told(self) -> str:
        """All that is shown, as text."""
        keys, words = self.lines
        most = max((len(key) for key, _ in keys), default=0)
        told = [f"{key:>{most}}  {what}" for key, what in keys]
        return "\n".join([*told, "", *(f"{word}: {meaning}" for word, meaning in words)])

    def _table(self) -> Table:
        """The same to be drawn: what is too long for its line goes on below itself."""
        keys, words = self.lines
        table = Table.grid(padding=(0, 2, 0, 0))
        table.add_column(justify="right")
        table.add_column()
        for key, what in keys:
            table.add_row(Text(key, "bold"), what)
        if keys and words:
            table.add_row("", "")
        for word, meaning in words:
            table.add_row("", Text.assemble((word, "bold"), f": {meaning}"))
        if not (keys or words):
            table.add_row("", "Nothing here is called that; each word can be typed, such as touch.")
        return table
