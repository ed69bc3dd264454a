"""The cautions, to be read before a box is opened."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.widgets import Static

from showrunner.planning.cautions import LAST_WORD
from showrunner.tui.dialogs import Dialog, plain


class CautionsDialog(Dialog):
    """Cautions, each with its source; Enter acknowledges them, Escape does not.

    Args:
        lines: the cautions in words.
        acknowledged: whether they were acknowledged before.
    """

    DEFAULT_CSS = """
    CautionsDialog #cautions { height: 1fr; }
    CautionsDialog #dialog { height: 100%; }
    .caution { padding: 0 1 1 1; }
    """

    BINDINGS: ClassVar[list[BindingType]] = [Binding("enter,a", "acknowledge", "read", priority=True)]

    def __init__(self, lines: Sequence[str], *, acknowledged: bool) -> None:
        super().__init__()
        self.lines, self.acknowledged = tuple(lines), acknowledged

    def compose(self) -> ComposeResult:
        """Lay the widgets out."""
        with Vertical(id="dialog"):
            yield Static("! Before a box is opened", classes="dialog-title trouble")
            with VerticalScroll(id="cautions"):
                for line in self.lines:
                    yield Static(plain(line), classes="caution")
            yield Static(plain(LAST_WORD), classes="title")
            how = (
                "Enter or Esc closes." if self.acknowledged else "Enter: read and heeded, goes on record. Esc: not yet."
            )
            yield Static(how, classes="muted")

    def on_mount(self) -> None:
        """Let the arrow keys scroll."""
        self.query_one("#cautions").focus()

    def action_acknowledge(self) -> None:
        """They were read."""
        self.dismiss(True)
