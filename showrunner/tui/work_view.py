"""The dated work, day by day; Enter puts the hours of a row down as worked."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from typing import TYPE_CHECKING, Any, ClassVar, cast

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.widgets import DataTable, Static

from showrunner.domain import edits, words
from showrunner.domain.book import Book
from showrunner.domain.titles import quoted
from showrunner.errors import ShowrunnerError
from showrunner.planning.results import Task, WorkPlan
from showrunner.report import ahead_words, busy_words, clip, pickup_words, soon
from showrunner.tui import entry
from showrunner.tui.beside import beside
from showrunner.tui.dialogs import ChooseDialog, Dialog, Field, FormDialog, plain
from showrunner.tui.fields import day_field

if TYPE_CHECKING:
    from showrunner.session import Session


BUSY_DAYS = 14
"""Days ahead of which the busy hours are told."""


class WorkScreen(Dialog):
    """All dated work with its slack and what does not fit.

    Args:
        session: the open book.
    """

    DEFAULT_CSS = """
    WorkScreen #dialog { width: 100%; height: 100%; }
    #tasks { height: 1fr; }
    #state { height: auto; max-height: 9; }
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("k,q", "dismiss_dialog", "close"),
        Binding("u", "undo", "undo"),
        Binding("e", "hours", "hours and day"),
        Binding("b", "back", "take back"),
    ]

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
            yield Static("Enter  worked today   e  hours, day   b  take back   u  undo   Esc  close", classes="muted")

    def on_mount(self) -> None:
        """Make the columns, then work it out beside the screen."""
        table = self.query_one("#tasks", DataTable)
        for label, width in (("day", 17), ("hours", 7), ("work", 38), ("ready by", 12)):
            table.add_column(label, width=width)
        table.focus()
        self.query_one("#state", Static).update("Working out the work …")
        self.think()

    @beside("tasks")
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
        self.query_one("#state", Static).update(plain(state_of(self.session.book, found, self.session.today)))

    @on(DataTable.RowSelected)
    def done(self, event: DataTable.RowSelected) -> None:
        """Put the hours of the row down as worked today."""
        if self.book is not self.session.book:  # what is listed is being worked out anew, or has to be
            self.think()
        elif event.cursor_row < len(self.tasks):
            task = self.tasks[event.cursor_row]
            self._step(lambda: self._put(task, task.minutes, self.session.today, False))

    def _put(self, task: Task, minutes: int, on: date, done: bool) -> None:
        """Put hours down as worked on a task; what refuses it is for the caller to tell."""
        today = self.session.today
        what = f"{words.hours(minutes)} on {_what(task)}"
        self.session.do(f"{what}, {words.short_day(on)}", lambda book: worked(book, task, minutes, on, today, done))
        self._changed(f"Worked: {what}.")

    def action_hours(self) -> None:
        """Ask how long, on which day, and whether the stage is done with that."""
        row = self.query_one("#tasks", DataTable).cursor_row
        if not 0 <= row < len(self.tasks):
            self.notify("There is no work in the list.", markup=False)
            return
        task, today = self.tasks[row], self.session.today

        def save(answers: Mapping[str, Any]) -> None:
            self._put(task, answers["hours"], answers["on"], answers["done"] == "yes")

        whole = task.stage.value if task.stage else "all of it"
        fields = [
            Field("hours", "hours", entry.hours_text(task.minutes), entry.minutes),
            day_field("on", "worked on", today, today, ahead=False),
            Field("done", f"{whole} is done", "no", options=(("only if its hours are worked", "no"), ("yes", "yes"))),
        ]
        self.app.push_screen(FormDialog(f"Worked on {_what(task)}", fields, save))

    def action_back(self) -> None:
        """Choose hours to take back, the last ones first."""
        book = self.session.book
        found = [(work, at, one) for one in book.episodes if not one.published for at, work in enumerate(one.worked)]
        found.sort(key=lambda line: (line[0].day, line[1]), reverse=True)
        if not found:
            self.notify("No hours were put down yet, or only for what is published.", markup=False)
            return

        def chosen(answer: str | None) -> None:
            if answer is not None:
                work, at, one = found[int(answer)]
                label = f"take back {words.hours(work.minutes)} on {quoted(one.title)}"
                self._step(lambda: self._take_back(label, one.id, at))

        options = [
            (
                str(n),
                f"{words.short_day(work.day)}  {words.hours(work.minutes)}  "
                f"{f'{work.stage.value}: ' if work.stage else ''}{clip(one.title, 34)}",
            )
            for n, (work, _, one) in enumerate(found)
        ]
        self.app.push_screen(ChooseDialog("Hours to take back", options), chosen)

    def _take_back(self, label: str, episode: str, at: int) -> None:
        self.session.do(label, lambda book: edits.take_work_back(book, episode, at))
        self._changed("Taken back.")

    def action_undo(self) -> None:
        """Take the last action back."""
        self._step(self._undo)

    def _undo(self) -> None:
        self.session.undo()
        self._changed("Taken back.")

    def _step(self, step: Callable[[], None]) -> None:
        """Do something to the book, or tell why it is refused."""
        try:
            step()
        except ShowrunnerError as error:
            self.notify(error.sentence(), severity="error", markup=False)

    def _changed(self, told: str) -> None:
        """Tell what was done, and work the rest out anew."""
        self.notify(told, markup=False)
        cast("Any", self.app).book_changed()
        self.think()


def worked(book: Book, task: Task, minutes: int, on: date, today: date, done: bool) -> Book:
    """The book with hours put down as worked on a task; the usual content of a slot gets a name by that."""
    if task.episode:
        return edits.put_work(book, task.episode, task.stage, minutes, on, today=today, done=done)
    return edits.put_work_for_slot(book, task.slot, minutes, on, today=today, done=done)


def _what(task: Task) -> str:
    return f"{task.stage.value} of {quoted(task.title)}" if task.stage else task.title


def state_of(book: Book, found: WorkPlan, today: date) -> str:
    """What does not fit, the slack, and what must be done before days without work."""
    lines = [f"! {item.text}" for item in found.shortfalls]
    if found.slack_minutes is not None and found.slack_day is not None and found.slack_minutes >= 0:
        spare = words.hours(found.slack_minutes)
        lines.append(f"{spare} to spare at the tightest, on {words.day(found.slack_day)}.")
    lines += map(ahead_words, soon(found, today)[:1])
    lines += busy_words([busy for busy in found.busy if (busy.day - today).days <= BUSY_DAYS], most=2)
    lines += [f"Pickups: {pickup_words(book, item, most=2)}." for item in found.pickups[:2]]
    if len(found.pickups) > 2:
        lines.append(f"{len(found.pickups) - 2} more of them: P on the Set-up (3).")
    return "\n".join(lines) or "No study has a slot yet."
