"""What captions say of a film: each line and each chapter to take or to leave."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, ClassVar, cast

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.widgets import DataTable, Static

from showrunner.domain import edits, words
from showrunner.domain.book import Book
from showrunner.domain.record import record
from showrunner.domain.titles import quoted, title_of
from showrunner.errors import ShowrunnerError
from showrunner.packaging import DOUBT_WORDS, odd_words, proposal_words
from showrunner.planning.film_check import FilmCheck, Line, with_chapters, with_heard
from showrunner.planning.film_parts import Proposal
from showrunner.planning.hearing import Verdict
from showrunner.planning.run_time import clock_words
from showrunner.report import clip
from showrunner.tui.dialogs import Dialog, plain

if TYPE_CHECKING:
    from showrunner.session import Session

VERDICTS = {Verdict.NOT_HEARD: "! not heard", Verdict.PERHAPS: "? perhaps", Verdict.SAID: "  said"}
"""How each verdict is marked in the list."""


@record
class Row:
    """One thing that can be taken."""

    line: Line | None = None
    """What had to be said."""
    proposal: Proposal | None = None
    """A chapter."""


class FilmScreen(Dialog):
    """The captions of a film held against what had to be said.

    Args:
        session: the open book.
        found: what the captions say.
    """

    NOT_SAVED = "What you marked is not taken yet"

    DEFAULT_CSS = """
    FilmScreen #dialog { width: 100%; height: 100%; }
    #lines { height: 1fr; }
    #cue { height: auto; max-height: 6; padding: 1 0 0 0; }
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("space", "mark", "mark"),
        Binding("a", "sure", "mark what is sure"),
        Binding("w", "take", "take"),
        Binding("q", "dismiss_dialog", "close"),
    ]

    def __init__(self, session: Session, found: FilmCheck) -> None:
        super().__init__()
        self.session, self.found = session, found
        self.rows = (*(Row(line) for line in found.lines), *(Row(None, proposal) for proposal in found.chapters))
        self.marked: set[int] = set()

    def compose(self) -> ComposeResult:
        """Lay the widgets out."""
        found = self.found
        title = f"{quoted(title_of(self.session.book, found.study))}, by {words.short(found.file, 30)}"
        not_heard = len(found.of(Verdict.NOT_HEARD))
        unheard = (
            f"No cue seems to say {not_heard} of {len(found.lines)} things" if not_heard else "All may have been said"
        )
        told = [f"{unheard}. Mark what is right: only that is taken."]
        if found.pointing:
            told.append(f"{words.count(len(found.pointing), 'time')} words mean nothing without the picture.")
        with Vertical(id="dialog"):
            yield Static(plain(title), classes="dialog-title")
            yield Static(plain("\n".join([*told, *map(odd_words, found.odd)])), id="told")
            yield DataTable(id="lines", cursor_type="row", cell_padding=0)
            yield Static("", id="cue")
            yield Static("Enter  mark   a  mark what is sure   w  take what is marked   Esc  leave", classes="muted")

    def on_mount(self) -> None:
        """Make the rows."""
        table = self.query_one("#lines", DataTable)
        for label, width in (("", 3), ("", 12), ("at", 8), ("what", max(30, self.app.size.width - 31))):
            table.add_column(label, width=width)
        for at, row in enumerate(self.rows):
            table.add_row(*self._cells(row), key=str(at))
        table.focus()
        self._tell(0)

    def _cells(self, row: Row) -> list[Text]:
        mark = "✓" if self.rows.index(row) in self.marked else " "
        if row.line:
            at = "" if row.line.seconds is None else clock_words(int(row.line.seconds))
            kind, what = VERDICTS[row.line.hearing.verdict], row.line.text
        else:
            assert row.proposal
            at = clock_words(row.proposal.chapter.seconds)
            kind, what = ("  chapter" if row.proposal.sure else "? chapter"), row.proposal.chapter.title
        width = max(30, self.app.size.width - 31)
        return [Text(f" {mark} "), Text(kind), Text(f"{at:>7} "), Text(clip(what, width))]

    @on(DataTable.RowHighlighted)
    def highlighted(self, event: DataTable.RowHighlighted) -> None:
        """Show what the captions say there."""
        self._tell(event.cursor_row)

    def _tell(self, at: int) -> None:
        if not 0 <= at < len(self.rows):
            return
        row = self.rows[at]
        if row.proposal:
            told = proposal_words(row.proposal).strip()
        elif row.line and row.line.seconds is not None:
            place = row.line.hearing.place
            doubts = [DOUBT_WORDS[doubt] for doubt in place.doubts] if place else []
            but = f"\nBut {words.listing(doubts)}." if doubts else ""
            near = "The nearest cue: " if row.line.hearing.verdict is Verdict.NOT_HEARD else ""
            told = f"{near}… {row.line.quoted} …{but}"
        else:
            told = "No word of it was heard."
        self.query_one("#cue", Static).update(plain(told))

    @on(DataTable.RowSelected)
    def selected(self) -> None:
        """Mark the row, or take the mark off."""
        self.action_mark()

    def action_mark(self) -> None:
        """Mark the row under the cursor, or take the mark off."""
        at = self.query_one("#lines", DataTable).cursor_row
        if not 0 <= at < len(self.rows):
            return
        line = self.rows[at].line
        if line and line.seconds is None:
            self.notify("No word of it was heard, so there is no place to take.", markup=False)
            return
        self.marked ^= {at}
        self._redraw(at)

    def action_sure(self) -> None:
        """Mark what seems to be said and the chapters that words open."""
        for at, row in enumerate(self.rows):
            said = row.line is not None and row.line.hearing.verdict is Verdict.SAID
            if (said or (row.proposal is not None and row.proposal.sure)) and at not in self.marked:
                self.marked.add(at)
                self._redraw(at)

    def _redraw(self, at: int) -> None:
        table = self.query_one("#lines", DataTable)
        for column, cell in enumerate(self._cells(self.rows[at])):
            table.update_cell_at(cast("Any", (at, column)), cell)

    @property
    def unsaved(self) -> bool:
        """Whether something is marked that was not taken."""
        return bool(self.marked)

    def action_take(self) -> None:
        """Take what is marked into the book, in one step, and the run time with it if that was not known."""
        if self.finished:
            return
        rows = [self.rows[at] for at in sorted(self.marked)]
        if not rows:
            self.notify("Nothing is marked: Enter marks the line under the cursor.", markup=False)
            return
        lines = [row.line for row in rows if row.line]
        chapters = [row.proposal.chapter for row in rows if row.proposal]

        def take(book: Book) -> Book:
            package = book.episode(self.found.study).package
            package = with_heard(package, self.found, lines) if lines else package
            package = with_chapters(package, self.found, chapters) if chapters else package
            return edits.put_package(book, self.found.study, package)

        try:
            self.session.do("take what captions propose", take)
        except ShowrunnerError as error:
            self.notify(error.sentence(), severity="error", markup=False)
            return
        told = [words.count(len(items), noun) for items, noun in ((lines, "point"), (chapters, "chapter")) if items]
        self.notify(f"Taken: {words.listing(told)}.", markup=False)
        self.dismiss(True)
