"""Bringing a file in, step by step: what it is, what its columns mean, what is doubted, and only then the writing."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar, cast

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import DataTable, Static

from showrunner.domain.piece import Known
from showrunner.errors import BadInput, ShowrunnerError
from showrunner.incoming import TOO_LARGE, counts, named, outcome, pieces_words
from showrunner.intake.columns import Kind, fields_for
from showrunner.intake.findings import Asked, Guess, Intake, Question, Row, Verdict, shorten
from showrunner.report import clean, clip
from showrunner.session import Session
from showrunner.storage.workbook import WhichSheet
from showrunner.tui import entry
from showrunner.tui.base import row_under_cursor
from showrunner.tui.beside import beside
from showrunner.tui.dialogs import ChooseDialog, Dialog, Field, FormDialog, NoticeDialog, plain

if TYPE_CHECKING:
    from showrunner.tui.app import ShowrunnerApp

OPEN = ""
"""Value of a choice that leaves it open."""

LARGE = 200_000
"""Bytes from which a file is read beside the screen; what is wrong with a smaller one is told in the form."""

MOST_ROWS = 2000
"""Most rows that the list shows; those that need a decision come first, the rest are counted."""


def open_bring_in(app: ShowrunnerApp, then: Callable[[object], None] | None = None) -> None:
    """Ask for a file and how it is to be read, then show what it would do."""
    session = app.session
    collections = [("as the file says, or the only one", OPEN), *((c.name, c.id) for c in session.book.collections)]

    def save(answers: Mapping[str, Any]) -> None:
        if session.read_only:
            raise BadInput(f"the book is open for reading only ({session.read_only_reason})", way_out="close the other")
        path = answers["path"]
        first = {"day": True, "month": False}.get(answers["order"])
        kind = Kind(answers["kind"]) if answers["kind"] else None
        asked = Asked(kind, answers["collection"], {}, first, Known(answers["blank"]))
        size = 0
        with contextlib.suppress(OSError):  # what cannot be read is told below
            size = path.stat().st_size
        found = None
        if size <= LARGE:
            with contextlib.suppress(WhichSheet):  # asked on the screen
                found = session.bring_in(path, asked)
        app.call_later(app.push_screen, BringInScreen(session, path, asked, found), then)

    fields = [
        Field("path", "file", "", entry.path, "~/pieces.csv", needed=True),
        Field(
            "kind",
            "it is about",
            OPEN,
            options=(("what its columns say", OPEN), ("pieces", "pieces"), ("past episodes", "episodes")),
        ),
        Field("collection", "collection", OPEN, options=tuple(collections), folded=True),
        Field(
            "order",
            "12/3/2024 is",
            OPEN,
            options=(("asked for", OPEN), ("12 March", "day"), ("3 December", "month")),
            folded=True,
        ),
        Field(
            "blank", "an empty 'shown' is", "unsure", options=(("unsure", "unsure"), ("not shown", "no")), folded=True
        ),
    ]
    intro = (
        "A sheet (CSV or a workbook) of pieces or of past episodes, an RSS or Atom feed, or book.json of an export. "
        "First you see what it would do; nothing is written before you say so."
    )
    app.push_screen(FormDialog("Bring a file in", fields, save, intro, save_word="Look at it"))


class BringInScreen(Dialog):
    """What a file would do, row by row: to be settled, then written, or left.

    Args:
        session: the open book.
        path: the file.
        asked: how it is read.
        found: what was found in it; None to read it beside the screen.
    """

    DEFAULT_CSS = """
    BringInScreen #dialog { width: 100%; height: 100%; }
    #incoming { height: 1fr; background: $surface; }
    #incoming-row { height: auto; max-height: 9; border-top: solid $rule; }
    #incoming-counts { height: auto; max-height: 3; }
    """

    NOT_SAVED = "What you settled is not written yet"

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("a", "accept", "write it"),
        Binding("y", "likely", "it is"),
        Binding("n", "none", "it is not"),
        Binding("space", "later", "leave unsure"),
        Binding("o", "other", "another piece"),
        Binding("x", "leave_out", "leave it out"),
        Binding("c", "columns", "columns"),
        Binding("k", "answer", "answer"),
        Binding("i", "notes", "notes"),
        Binding("escape", "dismiss_dialog", "leave"),
    ]

    def __init__(self, session: Session, path: Path, asked: Asked, found: Intake | None) -> None:
        super().__init__()
        self.session, self.path, self.asked, self.first_asked = session, path, asked, asked
        self.reading = found is None
        self.found = found or Intake(path.name, asked.kind or Kind.PIECES, session.book, session.book, ())
        self.first_guesses = {row.line: row.guesses for row in self.found.likely}
        self.listed: dict[str, Row] = {}
        self.at_line = 0

    def compose(self) -> ComposeResult:
        """Lay the widgets out."""
        with Vertical(id="dialog"):
            yield Static(id="incoming-counts")
            yield DataTable(id="incoming", cursor_type="row", cell_padding=0)
            with VerticalScroll(id="incoming-row", can_focus=False):
                yield Static(id="incoming-said")
            yield Static(id="incoming-keys")

    def on_mount(self) -> None:
        """Make the columns, then draw."""
        table = self.query_one("#incoming", DataTable)
        what, said = self._widths
        for label, width in (("place", 6), ("", 12), ("what", what), ("would be", said)):
            table.add_column(label, width=width)
        table.focus()
        if self.reading:
            self.query_one("#incoming-counts", Static).update(plain(f"Reading {self.path.name} …"))
            self._again()
        else:
            self._draw()

    @property
    def unsaved(self) -> bool:
        """Whether an episode was settled or a column given another meaning."""
        return self.asked != self.first_asked

    # Drawing

    def _draw(self) -> None:
        found = self.found
        table = self.query_one("#incoming", DataTable)
        table.clear()
        rows = sorted(found.rows, key=lambda row: _RANKS[self._state(row)])
        self.listed = {f"{number}": row for number, row in enumerate(rows[:MOST_ROWS])}
        for key, row in self.listed.items():
            table.add_row(*self._cells(row), key=key)
        place = next((place for place, row in enumerate(self.listed.values()) if row.line == self.at_line), 0)
        table.move_cursor(row=place)
        told = f"{found.name}: {counts(found)}."
        if found.faults:
            told += f" ! {found.faults[0]}"
        elif found.likely:
            told += f" {len(found.likely)} likely to confirm: y, n, or o for another piece."
        elif not found.refused and not found.changes:
            told += f" {outcome(found, written=False, lasting=True)}"
        elif not found.refused and not self.session.undo_lasts(found.after):
            told += f" {TOO_LARGE}"
        if found.questions:
            told += " One thing is asked of the whole file: k answers it."
        if len(rows) > MOST_ROWS:
            told += f" The first {MOST_ROWS:,} rows are listed."
        self.query_one("#incoming-counts", Static).update(plain(told))
        self._draw_keys()
        self._draw_row()

    def _draw_keys(self) -> None:
        able = not self.found.refused and self.found.changes
        first = Content.styled("a  write it", "bold $accent") if able else Content("nothing to write")
        if self.found.refused:
            first = Content.styled("! refused: put right, or x skips one", "bold")
        parts = [
            ("y n o  settle", bool(self.first_guesses)),
            ("x  skip", bool(self.found.rows) and not self.found.refused),
            ("c  columns", bool(self.found.columns)),
            ("k  answer", bool(self.found.questions)),
            ("i  notes", not self.found.questions),
        ]
        rest = "   ".join(text for text, shown in (*parts, ("Esc  leave", True)) if shown)
        self.query_one("#incoming-keys", Static).update(first + Content(f"   {rest}"))

    @property
    def _widths(self) -> tuple[int, int]:
        """Columns for what a row is about and for what it would be."""
        rest = max(40, self.app.size.width - _FRAME - 18)
        return rest * 2 // 5, rest - rest * 2 // 5

    def _state(self, row: Row) -> str:
        if row.verdict in (Verdict.REFUSED, Verdict.LEFT_OUT):
            return row.verdict.value
        if row.line in self.asked.settled:
            return "settled"
        if row.guesses and not row.pieces:
            return "likely"
        if row.doubts:
            return "doubtful"
        return row.verdict.value

    def _cells(self, row: Row) -> tuple[Text, ...]:
        state, (what, said) = self._state(row), self._widths
        name = f"{row.id}  {row.name}" if row.id and self.found.kind is not Kind.EPISODES else row.name
        return (
            Text(f"{row.line:>5}"),
            Text(f"{_GLYPHS[state]} {state}", "bold" if state in ("refused", "likely") else ""),
            Text(clip(name, what - 1)),
            Text(clip(self._said(row), said)),
        )

    def _said(self, row: Row) -> str:
        if row.faults:
            return "; ".join(remark.clause() for remark in row.faults)
        if row.guesses and not row.pieces:
            best = row.guesses[0]
            return f"perhaps {best.piece} {named(self.found.after, best.piece)}, {best.chance}%"
        shows = pieces_words(self.found.after, row.pieces)
        return "; ".join(part for part in (shows, row.said) if part)

    @property
    def current(self) -> Row | None:
        """The row under the cursor."""
        return self.listed.get(row_under_cursor(self.query_one("#incoming", DataTable)))

    @on(DataTable.RowHighlighted)
    def highlighted(self) -> None:
        """Say everything about the row under the cursor."""
        self._draw_row()

    def _draw_row(self) -> None:
        row = self.current
        if row is None:
            self.query_one("#incoming-said", Static).update("The file has no rows.")
            return
        self.at_line = row.line
        lines = [row.name or f"{row.unit.value} {row.line}"]
        if row.faults:
            lines = [f"! {row.fault()}"]
        elif row.guesses and not row.pieces:
            lines += [f"{' ' if at else '→'} {self._guess(guess)}" for at, guess in enumerate(row.guesses)]
            lines.append("y: it is the first; o: another; n: none of them. Left as it is, the first becomes unsure.")
        else:
            lines += [said] if (said := self._said(row)) else []
            lines += [f"? {remark.clause()}" for remark in row.doubts]
        self.query_one("#incoming-said", Static).update(plain("\n".join(lines)))

    def _guess(self, guess: Guess) -> str:
        return f"{guess.piece} {named(self.found.after, guess.piece)}, {guess.chance}%: {guess.why}"

    # Settling

    def action_likely(self) -> None:
        """It is the likeliest piece."""
        row = self.current
        guesses = self.first_guesses.get(row.line, ()) if row else ()
        if row and guesses:
            self._settle(row, (guesses[0].piece,))

    def action_none(self) -> None:
        """It shows no piece."""
        row = self.current
        if row and row.line in self.first_guesses:
            self._settle(row, ())

    def action_later(self) -> None:
        """Leave it unsure after all."""
        row = self.current
        if row and row.line in self.asked.settled:
            self._settle(row, None)

    def action_other(self) -> None:
        """Choose another piece, or any, for an episode."""
        row = self.current
        if row is None or self.found.kind is not Kind.EPISODES or row.verdict is Verdict.REFUSED:
            return
        guesses = self.first_guesses.get(row.line, ())
        likely = [(guess.piece, self._guess(guess)) for guess in guesses]
        others = [
            (p.id, f"{p.id} {p.name}") for p in self.found.before.pieces if p.id not in {g.piece for g in guesses}
        ]

        def chosen(answer: str | None) -> None:
            if answer is not None:
                self._settle(row, (answer,))

        self.app.push_screen(ChooseDialog(f"“{shorten(row.name, 60)}” shows", [*likely, *others]), chosen)

    def _settle(self, row: Row, pieces: tuple[str, ...] | None) -> None:
        """Take a decision about an episode, or take it back, and go on to the next that waits for one."""
        settled = {line: ids for line, ids in self.asked.settled.items() if line != row.line}
        if pieces is not None:
            settled[row.line] = pieces
        self.asked = replace(self.asked, settled=settled)
        waiting = [other.line for other in self.found.likely if other.line != row.line]
        if pieces is not None and waiting:
            self.at_line = next((line for line in waiting if line > row.line), waiting[0])
        self._again()

    def action_leave_out(self) -> None:
        """Leave a row out, or take it in after all."""
        row = self.current
        if row is not None and self.found.kind is not Kind.BOOK:
            self.at_line = row.line
            self.asked = replace(self.asked, left_out=self.asked.left_out ^ {row.line})
            self._again()

    @beside("incoming")
    def _again(self) -> None:
        """Read the file anew with what was said, beside the screen."""
        asked = self.asked
        try:
            found = self.session.bring_in(self.path, asked)
        except WhichSheet as which:
            self.from_thread(self._ask_sheet, which)
            return
        except ShowrunnerError as error:
            self.from_thread(self._refused, error)
            return
        self.from_thread(self._found, asked, found)

    def _found(self, asked: Asked, found: Intake) -> None:
        if asked is self.asked:
            self.found = found
            for row in found.likely:
                self.first_guesses.setdefault(row.line, row.guesses)
            self._draw()

    def _refused(self, error: ShowrunnerError) -> None:
        self.query_one("#incoming-counts", Static).update(plain(f"! {error.sentence()}"))

    def _ask_sheet(self, which: WhichSheet) -> None:
        """Ask which sheet of a workbook is meant; without an answer there is nothing to look at."""

        def chosen(sheet: str | None) -> None:
            if sheet is None:
                self.dismiss(None)
                return
            self.asked = self.first_asked = replace(self.asked, sheet=sheet)
            self._again()

        options = [(sheet, shorten(sheet, 60)) for sheet in which.sheets]
        self.app.push_screen(ChooseDialog(f"Which sheet of {shorten(self.path.name)}?", options), chosen)

    def action_answer(self) -> None:
        """Answer what is asked of the whole file."""
        if not self.found.questions:
            return
        question = self.found.questions[0]
        title, options = _QUESTIONS[question]

        def chosen(answer: str | None) -> None:
            if answer is None:
                return
            if question is Question.CROSS:
                self.asked = replace(self.asked, cross=Known(answer))
            elif question is Question.GROUPS:
                self.asked = replace(self.asked, fill_down=answer == _ABOVE)
            else:
                self.asked = replace(self.asked, first_days=answer == _DAYS)
            self._again()

        self.app.push_screen(ChooseDialog(title, options), chosen)

    # Columns and notes

    def action_columns(self) -> None:
        """Say what a column means."""
        columns = self.found.columns
        if not columns:
            return
        width = max(len(shorten(column.name, 30)) for column in columns)
        options = [
            (column.name, f"{shorten(column.name, 30).ljust(width)}  {column.field or f'left aside: {column.hint}'}")
            for column in columns
        ]

        def chosen(column: str | None) -> None:
            if column is not None:
                self._ask_meaning(column)

        self.app.push_screen(ChooseDialog("Which column means something else?", options), chosen)

    def _ask_meaning(self, column: str) -> None:
        options = [("", "leave it aside"), *((field, field.replace("_", " ")) for field in fields_for(self.found.kind))]

        def chosen(field: str | None) -> None:
            if field is None:
                return
            meanings = {name: kept for name, kept in self.asked.meanings.items() if kept != field or not field}
            self.asked = replace(self.asked, kind=self.found.kind, meanings={**meanings, column: field})
            self._again()

        self.app.push_screen(ChooseDialog(f"“{shorten(column)}” means", options), chosen)

    def action_notes(self) -> None:
        """Read what was assumed of the whole file."""
        lines = [f"- {note}" for note in (*self.found.faults, *self.found.notes)] or ["Nothing had to be assumed."]
        if self.found.pieces_left:
            lines += ["", "Marked shown, but no episode is about them:"]
            lines += [f"- {id} {named(self.found.after, id)}" for id in self.found.pieces_left]
        self.app.push_screen(NoticeDialog("About the whole file", clean("\n".join(lines))))

    # Writing

    def action_accept(self) -> None:
        """Write it into the book, as one step that undo takes back."""
        found = self.found
        if self.finished or found.refused or not found.changes:
            return
        lasting = self.session.undo_lasts(found.after)
        try:
            self.session.take_over(found)
        except ShowrunnerError as error:
            self._refused(error)
            return
        app = cast("ShowrunnerApp", self.app)
        app.book_changed()
        back = "u takes it back; a backup was made before." if lasting else TOO_LARGE
        app.notify(f"Brought in: {counts(found)}. {back}", markup=False, timeout=10)
        self.dismiss(True)


_DAYS, _ABOVE = "days", "above"
_QUESTIONS: Mapping[Question, tuple[str, Sequence[tuple[str, str]]]] = {
    Question.CROSS: (
        "What does an x mean where it says whether a piece has been shown?",
        (("yes", "it has been shown"), ("no", "it has not been shown yet"), ("unsure", "nobody is sure")),
    ),
    Question.FIRST_DAYS: (
        "All dates of a column fall on the first of a month. What is meant?",
        (("months", "only the month is known"), (_DAYS, "that very day")),
    ),
    Question.GROUPS: (
        "Many cells are empty below one that tells where a piece belongs. What do they mean?",
        ((_ABOVE, "the same as above"), ("nothing", "nothing is known")),
    ),
}
"""How each question is asked, and the answers to it."""

_FRAME = 6
"""Columns that the frame and the scroll bar take."""

_RANKS = {
    state: rank
    for rank, state in enumerate(
        ("refused", "left out", "likely", "settled", "doubtful", "changed", "new", "unchanged")
    )
}
_GLYPHS = {
    "refused": "!",
    "likely": "?",
    "settled": "✓",
    "doubtful": "?",
    "changed": "~",
    "new": "+",
    "unchanged": "=",
    "left out": "-",
}
