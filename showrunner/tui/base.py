"""What the five screens share: the line on top, the keys at the foot, changing the book, and keeping up with it."""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from datetime import date
from typing import TYPE_CHECKING, Any, ClassVar, cast

from textual.app import ComposeResult
from textual.content import Content
from textual.geometry import NULL_SIZE
from textual.screen import Screen
from textual.widget import Widget
from textual.widgets import Static

from showrunner.domain import edits, words
from showrunner.domain.book import Book
from showrunner.domain.piece import Known, Piece
from showrunner.errors import ShowrunnerError
from showrunner.report import clean
from showrunner.session import Session
from showrunner.tui.key_line import KeyLine
from showrunner.tui.lines import RowTable
from showrunner.tui.registry import Action

if TYPE_CHECKING:
    from textual.widgets import DataTable

    from showrunner.domain.glossary import Where
    from showrunner.tui.app import ShowrunnerApp

THOUGHT = "thought"
"""What a screen works out from plans, as the group of its workers: one screen at a time is at it."""


def row_under_cursor(table: DataTable[Any]) -> str:
    """Key of the row under the cursor; empty if the table is."""
    if not table.row_count:
        return ""
    return table.coordinate_to_cell_key(table.cursor_coordinate).row_key.value or ""


def settled(piece: Piece, known: Known) -> str:
    """The settling of a doubt in words, for undo."""
    from showrunner.tui.piece_text import MARKS

    return f"settle {piece.name}: {MARKS[known][2:]}"


class BookScreen(Screen[None]):
    """A screen that shows the book. It changes nothing itself: it asks the session, which saves or refuses."""

    ACTIONS: ClassVar[tuple[Action, ...]] = ()
    """What this screen can do beyond what every screen can."""

    TITLE_WORD: ClassVar[str] = ""
    """Name of the screen, as in the line on top."""

    PART_OF: ClassVar[str] = ""
    """Name of the screen it belongs to, which the line on top marks in its place; empty if it is one itself."""

    WHERE: ClassVar[Where | None] = None
    """Which words the help explains; None for all."""

    HELP_NOTE: ClassVar[str] = ""
    """What stands below its keys in the help."""

    one_press: bool = False
    """Whether a key that is held, or pressed twice at once, counts once."""

    shown: Book | None = None
    """The book as last drawn."""

    unfinished: bool = False
    """Whether what it was working out was given up for another screen, to be begun again when it is next in view."""

    drawn_top: tuple[date, str] | None = None
    """The day on top as last drawn, and why the book is read-only."""

    @property
    def workroom(self) -> ShowrunnerApp:
        """The application."""
        return cast("ShowrunnerApp", self.app)

    @property
    def session(self) -> Session:
        """The open book."""
        return self.workroom.session

    def compose(self) -> ComposeResult:
        """Lay the widgets out."""
        yield Static(id="top")
        yield Static(id="flag", classes="trouble")
        yield from self.body()
        yield KeyLine()

    def body(self) -> ComposeResult:
        """The screen's own widgets."""
        yield from ()

    def on_mount(self) -> None:
        """Draw for the first time."""
        self.workroom.made.add(self)
        self.keep_up()

    def on_screen_resume(self) -> None:
        """Draw again if the book changed while another screen was up; go on with what was given up then."""
        self.keep_up()
        if self.unfinished:
            self.think_soon()

    def let_go_of_drawn(self) -> None:
        """Let go of what its widgets have drawn, while it is not in view: they draw it anew when it is.

        Some 500 KB. Textual keeps it in places without a public name, which a later one may not have.
        """
        with contextlib.suppress(ImportError, AttributeError):
            from textual.widget import _RenderCache

            for widget in self.walk_children(Widget):
                widget._set_dirty()
                widget._render_cache = _RenderCache(NULL_SIZE, [])
        for table in self.query(RowTable):
            table.drawn.clear()

    def keep_up(self, *, force: bool = False) -> None:
        """Draw the book if it is not the one drawn last."""
        book = self.session.book
        if book is self.shown and not force:
            return
        self.shown = book
        self._draw_top()
        self.draw()

    def draw(self) -> None:
        """Show the session's book; the cursor keeps its place."""

    def think(self) -> Any:
        """Work out beside the screen what takes long."""

    def think_soon(self) -> None:
        """Work out beside the screen what takes long, once it is drawn.

        Plans share one processor, and what each needs of memory stays with the process. So the screen in view is
        the only one at it, and what another was still at is given up.
        """
        self.unfinished = False
        self.call_after_refresh(self._think_alone)

    def _think_alone(self) -> None:
        if not self.app.screen_stack or self.app.screen_stack[0] is not self:
            self.unfinished = True
            return
        for worker in self.app.workers:
            other = worker.node
            if worker.group == THOUGHT and isinstance(other, BookScreen) and other is not self and worker.is_running:
                worker.cancel()
                other.unfinished = True
        self.think()

    def put(self, selector: str, text: str, *, may_wrap: bool = False) -> None:
        """Change a text if it is another; the screen is laid out anew only if its height may change."""
        line = self.query_one(selector, Static)
        if str(line.content) != (cleaned := clean(text)):
            line.update(Content(cleaned), layout=may_wrap)

    def _draw_top(self) -> None:
        drawn = (self.session.today, self.session.read_only_reason)
        if drawn == self.drawn_top:
            return
        self.drawn_top = drawn
        names = ("Register", "Ledger", "Set-up", "Run-out", "Wants")
        line = Content("")
        for number, name in enumerate(names, 1):
            style = "bold underline" if name == (self.PART_OF or self.TITLE_WORD) else ""
            line = line + Content(f"{number} ") + Content.styled(name, style) + Content("  ")
        line = line + Content(f" {words.short_day(self.session.today)}")
        if self.workroom.demo:
            line = line + Content("  demo")
        _, reason = drawn
        self.query_one("#top", Static).update(line, layout=False)
        flag = self.query_one("#flag", Static)
        flag.update(Content(f"Read only: {clean(reason)}" if reason else ""))
        flag.display = bool(reason)

    def perform(self, label: str, edit: Callable[[Book], Book]) -> bool:
        """Do something to the book at once; a refusal is told in its sentence.

        Args:
            label: the action in words, for undo.
            edit: the change.

        Returns:
            Whether it was done.
        """
        return self.attempt(lambda: self.session.do(label, edit))

    def attempt(self, do: Callable[[], object]) -> bool:
        """Do something that changes the book; a refusal is told in its sentence.

        Returns:
            Whether it was done.
        """
        try:
            do()
        except ShowrunnerError as error:
            self.tell_trouble(error)
            return False
        self.workroom.book_changed()
        return True

    def settle(self, piece: Piece, known: Known, how: str) -> bool:
        """Settle the doubt about a piece; what it rested on is kept.

        Args:
            piece: the piece.
            known: yes or no.
            how: on what occasion.

        Returns:
            Whether it was done.
        """
        on = self.session.today
        return self.perform(settled(piece, known), lambda book: edits.settle(book, piece.id, known, on=on, how=how))

    def save_with(self, label: str, edit: Callable[[Book], Book]) -> None:
        """As `perform`, for a dialog that shows the refusal itself: lets the error through."""
        self.workroom.keep(label, edit)

    def tell(self, text: str) -> None:
        """Tell something in passing."""
        self.notify(clean(text), markup=False)

    def tell_trouble(self, error: ShowrunnerError) -> None:
        """Tell what was refused, and why."""
        self.notify(clean(error.sentence()), severity="error", timeout=10, markup=False)
