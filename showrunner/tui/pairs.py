"""Which pieces could be one study: a list to look through, with what is alike, what differs, and what it costs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.widgets import DataTable, Static

from showrunner.errors import ShowrunnerError
from showrunner.planning.pairing import Pairing
from showrunner.planning.results import RunOut
from showrunner.report import clip, pairing_cost, pairing_words
from showrunner.session import Session
from showrunner.tui.beside import beside
from showrunner.tui.dialogs import Dialog, plain
from showrunner.whatif import pair_text, paired


class PairsDialog(Dialog):
    """The pairs; Enter answers with the what-if that makes the one under the cursor a study.

    Args:
        session: the open book.
        found: the present forecast.
        pairs: the pairs, the best first.
    """

    DEFAULT_CSS = """
    PairsDialog #dialog { height: 100%; }
    #pairs { height: 1fr; min-height: 4; background: $surface; }
    #compared { height: auto; max-height: 14; padding: 1 0 0 0; }
    """

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "dismiss_dialog", "leave")]

    def __init__(self, session: Session, found: RunOut, pairs: Sequence[Pairing]) -> None:
        super().__init__()
        self.session, self.found, self.pairs = session, found, tuple(pairs)
        self.costs: dict[Pairing, str] = {}

    def compose(self) -> ComposeResult:
        """Lay the widgets out."""
        with Vertical(id="dialog"):
            yield Static("Two pieces in one study, those with most alike first", classes="dialog-title")
            yield DataTable(id="pairs", cursor_type="row", cell_padding=0)
            yield Static(id="compared")
            yield Static("Enter tries it as a what-if, Esc leaves.", classes="muted")

    def on_mount(self) -> None:
        """Fill the list."""
        table = self.query_one("#pairs", DataTable)
        for label, width in (("pieces", 54), ("alike", 7), ("differs", 8)):
            table.add_column(label, width=width)
        for pair in self.pairs:
            alike, differs = (Text(str(len(side)), justify="right") for side in (pair.alike, pair.differs))
            table.add_row(Text(clip(" and ".join(pair.names), 53)), alike, differs)
        table.focus()

    @property
    def pair(self) -> Pairing:
        """The pair under the cursor."""
        return self.pairs[self.query_one("#pairs", DataTable).cursor_row]

    @on(DataTable.RowHighlighted)
    def highlighted(self) -> None:
        """Tell of the pair under the cursor, and work out what it costs."""
        self._draw()
        if self.pair not in self.costs:
            self.think(self.pair)

    @beside("pair")
    def think(self, pair: Pairing) -> None:
        """Try the pair on a copy."""
        try:
            cost = pairing_cost(self.found, paired(self.session, self.found, pair))
        except ShowrunnerError as error:
            cost = f"! {error.sentence()}"
        self.from_thread(self._tried, pair, cost)

    def _tried(self, pair: Pairing, cost: str) -> None:
        self.costs[pair] = cost
        self._draw()

    def _draw(self) -> None:
        told = [*pairing_words(self.pair), self.costs.get(self.pair, "Working out what it costs …")]
        self.query_one("#compared", Static).update(Content("\n").join(plain(text) for text in told))

    @on(DataTable.RowSelected)
    def selected(self) -> None:
        """Answer with the what-if."""
        self.dismiss(pair_text(self.pair))
