"""A plan before it is accepted: what moves, why, what it costs, and what would give the rest a date."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from enum import StrEnum
from fractions import Fraction
from functools import partial
from typing import Any, ClassVar, TypeVar, cast

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.widgets import DataTable, Static

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.edits.slots import IMPLIED
from showrunner.domain.house import Unsure
from showrunner.domain.slot import SlotRef
from showrunner.errors import BadInput, ShowrunnerError
from showrunner.planning.aims import Aim
from showrunner.planning.changes import Change, LookFurther
from showrunner.planning.choices import Choice
from showrunner.planning.plan import HORIZON_WEEKS, misses_a_wish
from showrunner.planning.results import Placed, Plan, Unplaced
from showrunner.report import choices as choices_table
from showrunner.report import clip, proof_words
from showrunner.session import Session
from showrunner.tui.beside import beside
from showrunner.tui.dialogs import Dialog, NoticeDialog, plain
from showrunner.tui.proof import proof_of, supposed, ways_of

T = TypeVar("T", bound=StrEnum)

PLAN_SECONDS = 20.0
"""Time for a plan on the screen; beyond it the best found is shown, with the proven gap."""

REASONS_SECONDS = 60.0
"""Time for it once its dates are shown, as for the command: what would help gets a part of that."""

TAKEN = {
    Unsure.LEFT_OUT: "left out",
    Unsure.SHOWN: "taken as shown",
    Unsure.UNSHOWN: "taken as unshown",
}


ALL_KEYS = """\
     a  Accept: the dates, and the changes they suppose, in one step that u takes back.
   Esc  Drop it, or go back to the plan before; the book stays as it is.
 1 2 3  On a study without a slot: the plan with that change, to accept or leave.
     n  Take unsure pieces another way: left out, as shown, as unshown.
     !  Beside a gap: it is longer than the longest wished, or the study is outside its soft window.
     r  The next way: best dates, fewest moves within the gaps, fewest moves.
arrows  Move: the reason for each date stands below."""


class PreviewScreen(Dialog):
    """A plan to accept or drop. Dropping it changes nothing.

    Args:
        session: the open book.
        aim: what the plan is made for.
        unsure: how unsure pieces are taken.
        study: id of the study to begin on; empty for the first one without a slot.
        changes: what is supposed of the book; accepted together with the plan.
    """

    DEFAULT_CSS = """
    PreviewScreen #dialog { width: 100%; height: 100%; }
    #changes { height: 1fr; min-height: 5; }
    #reason { height: auto; max-height: 7; padding: 1 0 0 0; }
    #changes { background: $surface; }
    #verdict { height: auto; max-height: 9; }
    .clashing #verdict { max-height: 10; }
    .clashing #reason { max-height: 5; }
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("a", "accept", "accept"),
        Binding("escape", "dismiss_dialog", "drop"),
        Binding("n", "unsure", "unsure pieces"),
        Binding("r", "keep", "fewest moves"),
        Binding("1", "way(1)", "first way out"),
        Binding("2", "way(2)", "second way out"),
        Binding("3", "way(3)", "third way out"),
        Binding("question_mark", "keys", "all keys"),
    ]

    def __init__(
        self,
        session: Session,
        *,
        aim: Aim,
        unsure: Unsure = Unsure.LEFT_OUT,
        study: str = "",
        changes: Sequence[Change] = (),
    ) -> None:
        super().__init__()
        self.session, self.aim, self.unsure = session, aim, unsure
        self.study, self.changes = study, tuple(changes)
        self.book = session.book
        self.supposed, self.told = supposed(self.book, self.changes)
        self.plan: Plan | None = None
        self.reasoned = False
        self.before: tuple[int, Fraction] | None = None
        self.choices: tuple[Choice, ...] = ()
        self.title_width = 20

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
        self.title_width = min(40, max(20, self.app.size.width - 60))
        table.add_column("study", width=self.title_width)
        for label, width in (("from", 12), ("to", 12), ("moved", 7), ("gap", 11), ("hours", 14)):
            table.add_column(label, width=width)
        table.focus()
        self.begin()

    def begin(self) -> None:
        """Say that a plan is worked out, and work it out beside the screen."""
        if self.book is not self.session.book and not self.changes:
            self.book = self.supposed = self.session.book
        self.reasoned = False
        self._draw(None)
        self.think(self.aim, self.unsure)

    @beside("plan")
    def think(self, aim: Aim, unsure: Unsure) -> None:
        """Work the plan out: its dates first, then the reasons and what would help, which may take much longer."""
        book = self.book
        plan_it = partial(
            self.session.plan, aim=aim, unsure=unsure, book=self.supposed, horizon_weeks=_horizon(self.changes)
        )
        try:
            before = points_now(book, self.session.today)
            self.from_thread(self._thought, book, aim, plan_it(explained=False, time_limit=PLAN_SECONDS), before)
            plan = plan_it(time_limit=REASONS_SECONDS)
            self.from_thread(self._reasoned, book, aim, plan, before)
            if not self.changes and not plan.clashes and any(study.slot for study in book.open_studies):
                ways = self.session.choices(unsure=unsure, time_limit=PLAN_SECONDS, book=book)
                self.from_thread(self._weighed, plan, ways)
        except ShowrunnerError as error:
            self.from_thread(self._refused, error)

    def _thought(self, book: Book, aim: Aim, plan: Plan, before: tuple[int, Fraction] | None) -> None:
        """Show a plan, unless other keys were pressed, or the book changed, while it was worked out."""
        if book is self.book and (aim, plan.unsure) == (self.aim, self.unsure):
            self.before, self.choices = before, ()
            self._draw(plan)

    def _reasoned(self, book: Book, aim: Aim, plan: Plan, before: tuple[int, Fraction] | None) -> None:
        """Give the reasons for the dates that are shown; the rows and the cursor stay if the dates do."""
        if book is not self.book or (aim, plan.unsure) != (self.aim, self.unsure):
            return
        shown = [(item.id, item.slot.ref) for item in self.plan.studies] if self.plan else None
        self.reasoned = True
        if shown != [(item.id, item.slot.ref) for item in plan.studies]:
            self._thought(book, aim, plan, before)
            return
        self.plan = plan
        self.query_one("#accept", Static).update(self._keys())
        self.query_one("#verdict", Static).update(plain(self._verdict(plan)))
        self._explain()

    def _weighed(self, plan: Plan, ways: tuple[Choice, ...]) -> None:
        """Put the ways of dating anew above the plan that is still shown."""
        if plan is self.plan:
            self.choices = ways
            self.query_one("#verdict", Static).update(plain(self._verdict(plan)))

    def _refused(self, error: ShowrunnerError) -> None:
        self.query_one("#verdict", Static).update(plain(f"! {error.sentence()}"))

    def _draw(self, plan: Plan | None) -> None:
        self.plan = plan
        kind = self.aim.value
        told = f"With {self.told}; {kind}" if self.changes else f"{kind[:1].upper()}{kind[1:]}"
        self.query_one("#heading", Static).update(plain(f"{told}; unsure pieces {TAKEN[self.unsure]}"))
        self.query_one("#accept", Static).update(self._keys())
        table = self.query_one("#changes", DataTable)
        table.clear()
        self.query_one("#dialog").set_class(bool(plan and plan.clashes), "clashing")
        if plan is None:
            self.query_one("#verdict", Static).update("Working out the plan …")
            self.query_one("#reason", Static).update("")
            return
        for item in self._items:
            before = None if item.id.startswith(IMPLIED) else self.book.episode(item.id).slot
            title = f"▸ {item.title}" if self.changes and item.id == self.study else item.title
            cells = self._row(item, before) if isinstance(item, Placed) else _lost(before)
            table.add_row(Text(clip(title, self.title_width - 1)), *cells)
        self.query_one("#verdict", Static).update(plain(self._verdict(plan)))
        table.move_cursor(row=self._first_row(), animate=False)
        self._explain()

    @property
    def _items(self) -> list[Placed | Unplaced]:
        """The studies of the plan in the order of the rows."""
        return [*self.plan.studies, *self.plan.unplaced] if self.plan else []

    def _row(self, item: Placed, before: SlotRef | None) -> tuple[Text, ...]:
        """Old and new date, days moved, gap and hours; a wish that is not met is marked beside the gap."""
        same = before == item.slot.ref
        gap = "" if item.gap_days is None else words.short_weeks(item.gap_days)
        missed = "! " if misses_a_wish(self.supposed, item) else ""
        hours = f"{words.number(item.minutes_needed / 60)} of {words.number(item.minutes_available / 60)}"
        start = _day(before) if before else "new"
        moved = (item.slot.day - before.day).days if before else 0
        return (
            Text("stays" if same else start, "dim" if same else ""),
            Text(_day(item.slot.ref), "" if same else "bold"),
            Text(f"{moved:+d} d" if moved else "", justify="right"),
            Text(f"{missed}{gap}", justify="right"),
            Text(hours, justify="right"),
        )

    def _first_row(self) -> int:
        """The row to begin on: the study asked for, else the first one without a slot, else the first."""
        ids = [item.id for item in self._items]
        if self.study in ids:
            return ids.index(self.study)
        return len(self.plan.studies) if self.plan and self.plan.unplaced else 0

    def _keys(self) -> Content:
        """The keys of the line below."""
        found = [("Esc", "back" if self.changes else "drop")]
        if not self.changes:
            found += [("n", "unsure"), ("r", "another way")]
        if any(item.ways_out for item in (self.plan.unplaced if self.plan else ())):
            found.append(("1-3", "way out"))
        found.append(("?", "keys"))
        rest = "   ".join(f"{key}  {label}" for key, label in found)
        if self.plan and self.plan.clashes:
            return Content(rest)
        return Content.styled("a  accept", "bold $accent") + Content(f"   {rest}")

    def _verdict(self, plan: Plan) -> str:
        if plan.clashes:
            kept = f"Keeps {plan.promises_kept} of {words.count(plan.promises_made, 'promise')}; settle that first."
            more = [f"And {len(plan.clashes) - 3} more."] if len(plan.clashes) > 3 else []
            told = [f"! {clash.text}" for clash in plan.clashes[:3]]
            return "\n".join([f"{kept} Nothing can be accepted.", *told, *more])
        points = f"Unevenness {words.number(plan.points)}"
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
        waits = len(plan.unplaced) - lost
        changes += [f"{words.count(waits, 'study')} would stay without a slot"] if waits else []
        text = f"{points}; {proof_words(plan)}. {words.listing(changes) or 'Nothing would change'}."
        told = [warning.text for warning in plan.warnings if warning.code != "unplaced"]  # they have rows
        if self.before is None and plan.studies:
            text += " Unevenness tells how far the gaps are from what you wish; 0 is as wished."
        table = f"{choices_table(self.choices, plan)}\n" if self.choices else ""
        return f"{table}{text}\n" + "\n".join(f"! {line}" for line in told[: 2 if table else 3])

    def _is_new(self, item: Placed | Unplaced) -> bool:
        return item.id.startswith(IMPLIED) or self.book.episode(item.id).slot is None

    @on(DataTable.RowHighlighted)
    def highlighted(self) -> None:
        """Give the reason for the date under the cursor."""
        self._explain()

    @property
    def item(self) -> Placed | Unplaced | None:
        """The study under the cursor."""
        items, row = self._items, self.query_one("#changes", DataTable).cursor_row
        return items[row] if 0 <= row < len(items) else None

    def _explain(self) -> None:
        text = Content("" if self.reasoned else "Working out the reasons, and what would help …")
        if self.reasoned and (item := self.item):
            text = plain(proof_of(item))
            for number, way in enumerate(ways_of(self.supposed, item), 1):
                text = text + Content("\n") + Content.styled(f"{number}  ", "bold $accent") + plain(way)
        self.query_one("#reason", Static).update(text)

    def action_way(self, number: int) -> None:
        """Show the plan of the book as a way out of the study under the cursor would change it."""
        item = self.item
        ways = item.ways_out if isinstance(item, Unplaced) else ()
        if not self.reasoned:
            self.notify("What would help is still being tried.", markup=False)
        elif item is None or number > len(ways):
            self.notify("Put the cursor on a study without a slot; what would help has these keys.", markup=False)
        elif self._current():
            changes = (*self.changes, *ways[number - 1].changes)
            preview = PreviewScreen(self.session, aim=self.aim, unsure=self.unsure, study=item.id, changes=changes)
            self.app.push_screen(preview, self._back)

    def _back(self, accepted: bool | None) -> None:
        """Close after the plan of a way out was accepted; stay if it was left."""
        if accepted:
            self.dismiss(True)

    def action_keys(self) -> None:
        """Every key of a plan."""
        self.app.push_screen(NoticeDialog("A plan: all keys", ALL_KEYS))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """What is supposed was told for one way of planning, so that is not changed under it."""
        del parameters
        return not (self.changes and action in ("unsure", "keep"))

    def action_unsure(self) -> None:
        """Take unsure pieces another way."""
        self.unsure = _next(self.unsure)
        self.begin()

    def action_keep(self) -> None:
        """Go on to the next of the three ways of dating anew."""
        self.aim = _next(self.aim)
        self.begin()

    @on(DataTable.RowSelected)
    def action_accept(self) -> None:
        """Write the dates into the book, as one step that undo takes back."""
        if self.finished or self.plan is None or not self._current():
            return
        try:
            self.session.apply_plan(self.plan, self.changes)
        except ShowrunnerError as error:
            self.query_one("#verdict", Static).update(plain(f"! {error.sentence()}"))
            return
        cast("Any", self.app).book_changed()
        self.dismiss(True)

    def _current(self) -> bool:
        """Whether the book is still the one that was planned; else that is said."""
        if self.book is self.session.book:
            return True
        self._refused(BadInput("the book has changed since it was made", "plan", "leave it and plan again"))
        return False


def _next(value: T) -> T:
    """The value after another of its kind; after the last, the first."""
    order = list(type(value))
    return order[(order.index(value) + 1) % len(order)]


def _horizon(changes: Sequence[Change]) -> int:
    """Weeks looked at."""
    return max((change.weeks for change in changes if isinstance(change, LookFurther)), default=HORIZON_WEEKS)


def points_now(book: Book, today: date) -> tuple[int, Fraction] | None:
    """How many studies have a slot from today on, and the points of those dates.

    Returns:
        None if no study has one, or if the dates as they stand break a hard rule, so that no points can be told.
    """
    from showrunner.planning.lived import lived_until
    from showrunner.planning.present import present_points

    return present_points(lived_until(book, today), today)


def _lost(before: SlotRef | None) -> tuple[Text, ...]:
    return (Text(_day(before) if before else ""), Text("no slot", "bold"), Text(""), Text(""), Text(""))


def _day(slot: SlotRef) -> str:
    return f"{slot.day.day} {slot.day:%b %Y}"
