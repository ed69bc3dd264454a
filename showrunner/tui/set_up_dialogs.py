"""What the Set-up asks with one key: cautions, the condition of a piece, and why something is left out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.widgets import Static

from showrunner.domain.shoot import Why
from showrunner.planning.cautions import LAST_WORD
from showrunner.tui.dialogs import ChooseDialog, Dialog, plain


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


class ConditionDialog(Dialog):
    """The condition of a piece, asked with one key: answers `same`, `changed` or `left out`.

    Args:
        title: of which piece, and when.
        known: the condition last known, place by place; empty if there is none.
    """

    DEFAULT_CSS = """
    ConditionDialog #known { padding: 0 0 1 2; }
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("a,full_stop", "answer('same')", "as before"),
        Binding("c", "answer('changed')", "changed"),
        Binding("x", "answer('left out')", "leave out"),
    ]

    def __init__(self, title: str, known: Sequence[tuple[str, str]]) -> None:
        super().__init__()
        self.question, self.known = title, tuple(known)

    def compose(self) -> ComposeResult:
        """Lay the widgets out."""
        there = "\n".join(f"{place}: {text}" for place, text in self.known)
        with VerticalScroll(id="dialog"):
            yield Static(plain(self.question), classes="dialog-title")
            yield Static(plain(there or "Nothing is on record of it yet."), id="known")
            if self.known:
                yield Static("a .  as before        c  changed: say what")
            else:
                yield Static("a .  sound all over   c  not sound: say what")
            yield Static("x    leave it out, with a reason     Esc  later", classes="muted")

    def on_mount(self) -> None:
        """Let the arrow keys scroll."""
        self.query_one("#dialog").focus()

    def action_answer(self, answer: str) -> None:
        """One key answers."""
        self.dismiss(answer)


OTHER = "other"
"""The answer for a reason of one's own."""
LOST_TOLD = 8
"""Lines of what is lost that a question shows; further ones are counted."""


class ReasonDialog(ChooseDialog):
    """Why something is left out: answers the name of one of the usual reasons, or `OTHER`.

    Args:
        title: what is left out.
        lost: what is lost by it, in words; shown above the reasons.
        reasons: the reasons that make sense.
        esc_word: what Esc does.
    """

    def __init__(
        self, title: str, lost: Sequence[str], reasons: Sequence[Why] = tuple(Why), *, esc_word: str = "goes back"
    ) -> None:
        options = [*((why.name, why.value) for why in reasons), (OTHER, "another reason …")]
        told = [*lost] if len(lost) <= LOST_TOLD + 1 else [*lost[:LOST_TOLD], f"and {len(lost) - LOST_TOLD} more"]
        super().__init__(title, options, esc_word=esc_word, intro="\n".join(told))
