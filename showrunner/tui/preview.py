"""A plan before it is accepted: what moves, why, and what it costs."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from typing import Any, ClassVar, cast

from rich.text import Text
from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.widgets import DataTable, Static

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.edits.slots import IMPLIED
from showrunner.domain.slot import SlotRef
from showrunner.errors import ShowrunnerError
from showrunner.planning.results import Placed, Plan, Unplaced, Unsure
from showrunner.report import clip, proof_words
from showrunner.session import Session
from showrunner.tui.dialogs import Dialog, plain
from showrunner.tui.proof import proof_of

PLAN_SECONDS = 20.0
"""Time for a plan on the screen; beyond it the best found is shown, with the proven gap."""

TAKEN = {
    Unsure.LEFT_OUT: "left out",
    Unsure.SHOWN: "taken as shown",
    Unsure.UNSHOWN: "taken as unshown",
}


class PreviewScreen(Dialog):
    """A plan to accept or drop. Dropping it changes nothing.

    Args:
        session: the open book.
        keep: whether planned studies should move as little as can be.
    """

    DEFAULT_CSS = """
    PreviewScreen #dialog { width: 100%; height: 100%; }
    #changes { height: 1fr; }
    #reason { height: auto; max-height: 6; padding: 1 0 0 0; }
    #changes { background: $surface; }
    #verdict { height: auto; max-height: 5; }
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("a", "accept", "accept"),
        Binding("escape", "dismiss_dialog", "drop"),
        Binding("n", "unsure", "unsure pieces"),
        Binding("r", "keep", "fewest moves"),
    ]

    def __init__(self, session: Session, *, keep: bool) -> None:
        super().__init__()
        self.session, self.keep = session, keep
        self.unsure = Unsure.LEFT_OUT
        self.plan: Plan | None = None
        self.before: tuple[int, Fraction] | None = None

    def compose(self) -> ComposeResult:
        """Lay the widgets out."""
        with Vertical(id="dialog"):
            yield Static(id="heading", classes="title")
            yield Static(id="verdict")
            yield DataTable(id="changes", cursor_type="row", cell_padding=0)
            yield Static(id="reason")
            yield Static(id="accept")

    def on_mount(self) -> None:
        """Make the columns, then work the plan out beside the screen."""
        table = self.query_one("#changes", DataTable)
        for label, width in (("study", 32), ("from", 12), ("to", 12), ("gap", 7), ("hours", 12)):
            table.add_column(label, width=width)
        table.focus()
        self.begin()

    def begin(self) -> None:
        """Say that a plan is worked out, and work it out beside the screen."""
        self._draw(None)
        self.think(self.keep, self.unsure)

    @work(thread=True, exclusive=True, group="plan")
    def think(self, keep: bool, unsure: Unsure) -> None:
        """Work the plan out."""
        try:
            plan = self.session.plan(keep=keep, unsure=unsure, time_limit=PLAN_SECONDS)
            before = points_now(self.session.book, self.session.today)
        except ShowrunnerError as error:
            self.app.call_from_thread(self._refused, error)
            return
        self.app.call_from_thread(self._thought, plan, before)

    def _thought(self, plan: Plan, before: tuple[int, Fraction] | None) -> None:
        """Show a plan, unless other keys were pressed while it was worked out."""
        if (plan.keep, plan.unsure) == (self.keep, self.unsure):
            self.before = before
            self._draw(plan)

    def _refused(self, error: ShowrunnerError) -> None:
        self.query_one("#verdict", Static).update(plain(f"! {error.sentence()}"))

    def _draw(self, plan: Plan | None) -> None:
        self.plan = plan
        kind, other = ("Fewest moves", "best dates") if self.keep else ("Best dates", "fewest moves")
        self.query_one("#heading", Static).update(plain(f"{kind}; unsure pieces {TAKEN[self.unsure]}"))
        keys = Content.styled("a  accept", "bold $accent") + Content(f"   Esc  drop   n  unsure pieces   r  {other}")
        self.query_one("#accept", Static).update(keys)
        table = self.query_one("#changes", DataTable)
        table.clear()
        if plan is None:
            self.query_one("#verdict", Static).update("Working out the plan …")
            self.query_one("#reason", Static).update("")
            return
        for item in plan.studies:
            before = None if item.implied else self.session.book.episode(item.id).slot
            table.add_row(*_row(item, before))
        for lost in plan.unplaced:
            table.add_row(Text(clip(lost.title, 31)), Text(""), Text("no slot", "bold"), Text(""), Text(""))
        self.query_one("#verdict", Static).update(plain(self._verdict(plan)))
        self._explain(0)

    def _verdict(self, plan: Plan) -> str:
        points = words.count(plan.points, "point")
        if self.before and self.before != (len(plan.studies), plan.points):
            count, now = self.before
            points += f" for {words.count(len(plan.studies), 'study')}"
            points += f" (now {words.number(now)} for {count})"
        moved = sum(1 for item in plan.studies if item.moved_from)
        fresh = sum(1 for item in plan.studies if item.moved_from is None and self._is_new(item))
        changes = [f"{words.count(moved, 'study')} would move"] if moved else []
        changes += [f"{words.count(fresh, 'study')} would get a first date"] if fresh else []
        lost = sum(1 for item in plan.unplaced if not self._is_new(item))
        changes += [f"{words.count(lost, 'study')} would lose the date"] if lost else []
        if plan.clashes:
            kept = f"Keeps {plan.promises_kept} of {words.count(plan.promises_made, 'promise')}; settle that first."
            return "\n".join([*(f"! {clash.text}" for clash in plan.clashes[:3]), f"{kept} Nothing can be accepted."])
        text = f"{points}; {proof_words(plan)}. {words.listing(changes) or 'Nothing would change'}."
        told = [warning.text for warning in plan.warnings]
        return f"{text}\n" + "\n".join(f"! {line}" for line in told[:3])

    def _is_new(self, item: Placed | Unplaced) -> bool:
        return item.id.startswith(IMPLIED) or self.session.book.episode(item.id).slot is None

    @on(DataTable.RowHighlighted)
    def highlighted(self, event: DataTable.RowHighlighted) -> None:
        """Give the reason for the date under the cursor."""
        self._explain(event.cursor_row)

    def _explain(self, row: int) -> None:
        if self.plan is None or not (self.plan.studies or self.plan.unplaced):
            self.query_one("#reason", Static).update("")
            return
        items: list[Placed | Unplaced] = [*self.plan.studies, *self.plan.unplaced]
        item = items[row]
        self.query_one("#reason", Static).update(plain(proof_of(item)))

    def action_unsure(self) -> None:
        """Take unsure pieces another way."""
        order = list(Unsure)
        self.unsure = order[(order.index(self.unsure) + 1) % len(order)]
        self.begin()

    def action_keep(self) -> None:
        """Change between the best dates and the fewest moves."""
        self.keep = not self.keep
        self.begin()

    @on(DataTable.RowSelected)
    def action_accept(self) -> None:
        """Write the dates into the book, as one step that undo takes back."""
        if self.plan is None:
            return
        try:
            self.session.apply_plan(self.plan)
        except ShowrunnerError as error:
            self.query_one("#verdict", Static).update(plain(f"! {error.sentence()}"))
            return
        cast("Any", self.app).book_changed()
        self.dismiss(True)


def points_now(book: Book, today: date) -> tuple[int, Fraction] | None:
    """How many studies have a slot from today on, and the points of those dates.

    Returns:
        None if no study has one, or if the dates as they stand break a hard rule, so that no points can be told.
    """
    from showrunner.planning.lived import lived_until
    from showrunner.planning.present import present_points

    return present_points(lived_until(book, today), today)


def _row(item: Placed, before: SlotRef | None) -> tuple[Text, ...]:
    same = before == item.slot.ref
    gap = "" if item.gap_days is None else f"{words.number(item.gap_days / 7)} wk"
    hours = f"{words.number(item.minutes_needed / 60)} of {words.number(item.minutes_available / 60)}"
    start = _day(before) if before else "new"
    return (
        Text(clip(item.title, 31)),
        Text("stays" if same else start, "dim" if same else ""),
        Text(_day(item.slot.ref), "" if same else "bold"),
        Text(gap, justify="right"),
        Text(hours, justify="right"),
    )


def _day(slot: SlotRef) -> str:
    return f"{slot.day.day} {slot.day:%b %Y}"
