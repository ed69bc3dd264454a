"""The record of the slots, whether the pace changed, and the empty slots ahead with ideas that could fill them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, ClassVar, cast

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.widgets import DataTable, Static

from showrunner.domain import edits, words
from showrunner.domain.episode import Episode, EpisodeKind
from showrunner.errors import ShowrunnerError
from showrunner.planning.slot_record import AHEAD_WEEKS, EmptySlot
from showrunner.record_text import offer_words, past_text
from showrunner.report import clean, clip
from showrunner.tui import entry
from showrunner.tui.dialogs import Dialog, Field, FormDialog, plain

if TYPE_CHECKING:
    from showrunner.session import Session


class SlotRecordScreen(Dialog):
    """What was, above; what is empty ahead, below. Enter puts the idea of a row into its slot.

    Args:
        session: the open book.
        episode: what the Ledger's cursor stands on; a new idea is taken to come from it if it is a study.
    """

    DEFAULT_CSS = """
    SlotRecordScreen #dialog { width: 100%; height: 100%; }
    #past { height: 1fr; min-height: 5; }
    #past-text { height: auto; }
    #empty-head { padding: 1 0 0 0; }
    #empty { height: auto; max-height: 30%; }
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("R,q", "dismiss_dialog", "close"),
        Binding("a", "idea", "add an idea"),
        Binding("u", "undo", "undo"),
        Binding("pagedown", "read(1)", "read on", priority=True),
        Binding("pageup", "read(-1)", "read back", priority=True),
    ]

    def __init__(self, session: Session, episode: Episode | None) -> None:
        super().__init__()
        self.session, self.episode = session, episode
        self.empty: tuple[EmptySlot, ...] = ()

    def compose(self) -> ComposeResult:
        """Lay the widgets out."""
        with Vertical(id="dialog"):
            yield Static("The record of the slots", classes="dialog-title")
            with VerticalScroll(id="past", can_focus=False):
                yield Static(id="past-text")
            yield Static(id="empty-head", classes="muted")
            yield DataTable(id="empty", cursor_type="row", cell_padding=0, show_header=False)
            keys = "Enter  put it there   a  add an idea   u  undo   PgDn  read on   Esc  close"
            yield Static(keys, classes="muted")

    def on_mount(self) -> None:
        """Make the columns and fill them."""
        table = self.query_one("#empty", DataTable)
        for label, width in (("day", 17), ("slot", 16), ("idea", max(30, self.app.size.width - 42))):
            table.add_column(label, width=width)
        table.focus()
        self._draw()

    def _draw(self) -> None:
        try:
            found = self.session.slot_record()
        except ShowrunnerError as error:
            self.query_one("#past-text", Static).update(plain(f"! {error.sentence()}"))
            return
        self.query_one("#past-text", Static).update(plain(past_text(found, self.app.size.width - 6)))
        self.empty = found.empty
        table = self.query_one("#empty", DataTable)
        row = table.cursor_row
        table.clear()
        room = max(30, self.app.size.width - 42)
        for one in found.empty:
            offer = offer_words(self.session.book, one)
            table.add_row(
                Text(words.short_day(one.slot.day)), Text(clip(clean(one.name), 15)), Text(clip(offer, room - 1))
            )
        table.move_cursor(row=row)
        ideas = words.count(len(found.pool), "idea")
        head = f"Empty in the next {AHEAD_WEEKS} weeks: {words.count(len(found.empty), 'slot')}; {ideas} in the pool."
        self.query_one("#empty-head", Static).update(plain(head))

    def action_read(self, pages: int) -> None:
        """Scroll what was."""
        past = self.query_one("#past", VerticalScroll)
        past.scroll_relative(y=pages * max(1, past.size.height - 1), animate=False)

    @on(DataTable.RowSelected)
    def put(self, event: DataTable.RowSelected) -> None:
        """Put the idea of the row into its slot."""
        if not 0 <= event.cursor_row < len(self.empty):
            return
        one = self.empty[event.cursor_row]
        if one.offer is None:
            self.notify("There is no idea for this slot: a adds one.", markup=False)
            return
        id, title, slot = one.offer.id, one.offer.title, one.slot
        self._step(
            lambda: self.session.do(
                f"put {title} on {words.short_day(slot.day)}", lambda book: edits.set_slot(book, id, slot)
            ),
            f"{title} stands on {words.day(slot.day)}.",
        )

    def action_idea(self) -> None:
        """Ask for an idea, the slot it is meant for, and the study it comes from."""
        book = self.session.book
        if not book.rules:
            self.notify("There is no weekly slot yet: h adds one.", markup=False)
            return
        row = self.query_one("#empty", DataTable).cursor_row
        rule = self.empty[row].slot.rule if 0 <= row < len(self.empty) else book.rules[0].id
        mine = self.episode.id if self.episode and self.episode.kind is EpisodeKind.STUDY else ""
        studies = [(clip(clean(study.title), 40), study.id) for study in reversed(book.studies)]

        def save(answers: Mapping[str, Any]) -> None:
            title, study = answers["title"], answers["study"]
            self.session.make(
                f"an idea: {title}", lambda book: edits.add_filler(book, title, answers["rule"], idea_of=study)
            )
            self._changed(f"In the pool: {title}.")

        fields = [
            Field("title", "idea", "", entry.words, "make one now: an apron in an evening"),
            Field("rule", "for", rule, options=tuple((clip(clean(r.name), 40), r.id) for r in book.rules)),
            Field("study", "from the study", mine, options=(("none", ""), *studies)),
        ]
        self.app.push_screen(FormDialog("An idea for an empty slot", fields, save))

    def action_undo(self) -> None:
        """Take the last action back."""
        self._step(self.session.undo, "Taken back.")

    def _step(self, step: Any, told: str) -> None:
        """Do something to the book, or tell why it is refused."""
        try:
            step()
        except ShowrunnerError as error:
            self.notify(error.sentence(), severity="error", markup=False)
        else:
            self._changed(told)

    def _changed(self, told: str) -> None:
        self.notify(told, markup=False)
        cast("Any", self.app).book_changed()
        self._draw()
