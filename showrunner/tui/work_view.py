"""The dated work, day by day; Enter puts a stage, or the content of a slot, down as done."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, ClassVar, cast

from rich.text import Text
from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.widgets import DataTable, Static

from showrunner.domain import edits, words
from showrunner.domain.book import Book
from showrunner.domain.episode import Stage
from showrunner.domain.titles import quoted
from showrunner.errors import ShowrunnerError
from showrunner.planning.results import Task, WorkPlan
from showrunner.report import clip
from showrunner.tui.dialogs import Dialog, plain

if TYPE_CHECKING:
    from showrunner.session import Session


class WorkScreen(Dialog):
    """All dated work with its slack and what does not fit.

    Args:
        session: the open book.
    """

    DEFAULT_CSS = """
    WorkScreen #dialog { width: 100%; height: 100%; }
    #tasks { height: 1fr; }
    #state { height: auto; max-height: 7; }
    """

    BINDINGS: ClassVar[list[BindingType]] = [Binding("k,q", "dismiss_dialog", "close"), Binding("u", "undo", "undo")]

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.session = session
        self.book: Book | None = None
        self.tasks: tuple[Task, ...] = ()

    def compose(self) -> ComposeResult:
        """Lay the widgets out."""
        with Vertical(id="dialog"):
            yield Static("The work, day by day", classes="title")
            yield Static(id="state")
            yield DataTable(id="tasks", cursor_type="row", cell_padding=0)
            yield Static("Enter  done   u  undo   Esc  close", classes="muted")

    def on_mount(self) -> None:
        """Make the columns, then work it out beside the screen."""
        table = self.query_one("#tasks", DataTable)
        for label, width in (("day", 17), ("hours", 7), ("work", 38), ("ready by", 12)):
            table.add_column(label, width=width)
        table.focus()
        self.query_one("#state", Static).update("Working out the work …")
        self.think()

    @work(thread=True, exclusive=True, group="tasks")
    def think(self) -> None:
        """Lay the work out."""
        book = self.session.book
        try:
            found = self.session.work()
        except ShowrunnerError as error:
            self.from_thread(self._refused, error)
            return
        self.from_thread(self._draw, book, found)

    def _refused(self, error: ShowrunnerError) -> None:
        self.query_one("#state", Static).update(plain(f"! {error.sentence()}"))

    def _draw(self, book: Book, found: WorkPlan) -> None:
        if book is not self.session.book:
            self.think()
            return
        self.book = book
        table = self.query_one("#tasks", DataTable)
        row = table.cursor_row
        table.clear()
        self.tasks = found.tasks
        last = None
        for task in found.tasks:
            day = "" if task.day == last else words.short_day(task.day)
            last = task.day
            what = f"{task.stage.value}: {task.title}" if task.stage else task.title
            table.add_row(
                Text(day),
                Text(words.number(task.minutes / 60), justify="right"),
                Text(f" {clip(what, 37)}"),
                Text(f"{task.ready_by.day} {task.ready_by:%b %Y}"),
            )
        table.move_cursor(row=row)
        self.query_one("#state", Static).update(plain(state_of(found)))

    @on(DataTable.RowSelected)
    def done(self, event: DataTable.RowSelected) -> None:
        """Put the task down as done: a stage of a study, or the content of a slot, which is then in the bank."""
        if self.book is not self.session.book:  # what is listed is being worked out anew, or has to be
            self.think()
            return
        task = self.tasks[event.cursor_row]
        what = f"{task.stage.value} of {quoted(task.title)}" if task.stage else f"{task.title} is in the bank"
        self._step(lambda: self.session.do(f"done: {what}", lambda book: finish(book, task)), f"Done: {what}.")

    def action_undo(self) -> None:
        """Take the last action back."""
        self._step(self.session.undo, "Taken back.")

    def _step(self, step: Any, told: str) -> None:
        try:
            step()
        except ShowrunnerError as error:
            self.notify(error.sentence(), severity="error", markup=False)
            return
        self.notify(told, markup=False)
        cast("Any", self.app).book_changed()
        self.think()


def finish(book: Book, task: Task) -> Book:
    """The book with a task done: the whole stage of its study, or the content of its slot finished.

    A study of which nothing is left to do is finished, and so in the bank.
    """
    if task.stage is not None:
        study = book.episode(task.episode)
        done = tuple(stage for stage in Stage if stage in study.done or stage is task.stage)
        if not book.stages_of(study).left(done):
            return edits.put_episode(book, replace(study, done=tuple(Stage), finished=True))
        return edits.put_episode(book, replace(study, done=done))
    if task.episode:
        return edits.put_episode(book, replace(book.episode(task.episode), finished=True))
    title = f"{task.title} of {task.slot.day.day} {task.slot.day:%b}"
    return edits.add_filler(book, title, task.slot.rule, task.slot.day, finished=True)[0]


def state_of(found: WorkPlan) -> str:
    """The slack, and what does not fit."""
    lines = [f"! {item.text}" for item in found.shortfalls]
    if found.slack_minutes is not None and found.slack_day is not None and found.slack_minutes >= 0:
        spare = words.hours(found.slack_minutes)
        lines.append(f"{spare} to spare at the tightest, on {words.day(found.slack_day)}.")
    return "\n".join(lines) or "No study has a slot yet."
