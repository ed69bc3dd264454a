"""The Ledger: place the episodes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any, ClassVar

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.widgets import DataTable, Static

from showrunner.domain import edits, words
from showrunner.domain.book import Book
from showrunner.domain.episode import Episode, EpisodeKind, PinKind, Stage, StageMinutes
from showrunner.domain.glossary import Where
from showrunner.domain.naming import Sort
from showrunner.domain.rules import clause
from showrunner.domain.slot import SlotRef
from showrunner.domain.titles import usual_title
from showrunner.domain.windows import window_words
from showrunner.errors import BadInput, ShowrunnerError
from showrunner.planning.run_time import clock_words, read_run_time
from showrunner.report import ahead_words, busy_words, clip, offer_words, waiting_words
from showrunner.tui import entry
from showrunner.tui.base import THOUGHT, BookScreen
from showrunner.tui.beside import beside
from showrunner.tui.dialogs import ChooseDialog, Field, FormDialog
from showrunner.tui.fields import day_field, things_field
from showrunner.tui.lines import RowTable
from showrunner.tui.registry import Action, bindings
from showrunner.tui.weeks import Cell, Content, Week, monday_of, next_step, weeks

if TYPE_CHECKING:
    from showrunner.planning.aims import Aim
    from showrunner.planning.moving import Place
    from showrunner.planning.results import Placed, Plan, WorkPlan

MARGIN = 15
"""Columns of the margin with the spare hours."""

OFFER_SECONDS = 5.0
"""Longest that better dates are looked for beside the screen, of the processor's time."""

STYLES = {"study": "bold", "muted": "dim", "trouble": "bold reverse", "": ""}


class LedgerScreen(BookScreen):
    """One line a week, a column for each slot, the reason for the date under the cursor below."""

    TITLE_WORD = "Ledger"
    WHERE = Where.LEDGER
    ACTIONS: ClassVar[tuple[Action, ...]] = (
        Action(
            "plan",
            "p",
            "plan",
            "The best dates for all studies, to accept or drop; what would help the rest.",
            footer=True,
        ),
        Action("replan", "r", "re-plan", "New dates with few moves, to accept or drop.", footer=True),
        Action(
            "publish", "y,enter", "publish", "Put the episode under the cursor on record as published.", footer=True
        ),
        Action("missed", "M", "missed", "Put on record that the slot under the cursor was missed."),
        Action("move", "m", "move", "Move the study to another slot by hand.", footer=True),
        Action("pin", "i", "promise", "Promise the study for its date, or take the promise back."),
        Action("order", "o", "order", "Promise that the study comes before another, or take it back."),
        Action("window", "x", "window", "Windows the study should or must fall in."),
        Action("study", "e", "edit", "The study's title, pieces, hours, and stages done."),
        Action("dissolve", "delete", "remove", "Remove the study, or the named filler, under the cursor."),
        Action("bank", "b", "bank", "Name an episode for this slot, or put the one in it into the bank as finished."),
        Action("dark", "d", "dark", "Days without work or publication; leave a slot out, or let it come once more."),
        Action("waiting", "l", "no slot", "Studies that have no slot: see what would help one, edit or remove it."),
        Action("work", "k", "work", "The dated work to tick off, the hours to spare, and what does not fit."),
        Action("slot_record", "R", "record", "How the slots were kept, the pace, and ideas for the empty ones ahead."),
        Action("film", "s", "film", "Go to the Set-up with the study under the cursor."),
        Action("package", "c", "package", "All that the study's publication needs, and what is missing of it."),
        Action("now", "n", "this week", "Back to this week."),
    )
    BINDINGS = bindings(ACTIONS)

    def __init__(self) -> None:
        super().__init__()
        self.work: WorkPlan | None = None
        self.placed: dict[str, Placed] = {}
        self.standing: Plan | None = None
        self.rows: tuple[Week, ...] = ()
        self.columns_for: tuple[str, ...] | None = None
        self.drawn_width = 0

    def body(self) -> ComposeResult:
        """The next thing to do, the weeks, and the reason."""
        yield Static(id="next", classes="next")
        yield Static(id="offer", classes="muted")
        yield RowTable(id="weeks", cursor_type="cell")
        yield Static(id="why")

    def on_mount(self) -> None:
        """Draw, and begin at this week."""
        super().on_mount()
        self.query_one("#weeks").focus()

    def on_resize(self) -> None:
        """Give the slots the width there is."""
        if self.shown is not None and self.size.width != self.drawn_width:
            self.columns_for = None
            self._draw_weeks()

    # Drawing

    def draw(self) -> None:
        """Draw what is known at once, then work out hours and reasons beside the screen."""
        self.work, self.placed, self.standing = None, {}, None
        self._draw_weeks()
        self.think_soon()

    @beside(THOUGHT)
    def think(self) -> None:
        """Work out hours and reasons."""
        book = self.session.book
        try:
            found, placed = self.session.work(), self.session.present()
            self.app.call_from_thread(self._thought, book, found, {item.id: item for item in placed})
            if book is self.session.book:
                self.app.call_from_thread(self._weighed, book, self.session.standing(time_limit=OFFER_SECONDS))
        except ShowrunnerError as error:
            self.app.call_from_thread(self.tell_trouble, error)

    def _thought(self, book: Book, found: WorkPlan, placed: dict[str, Placed]) -> None:
        if book is self.session.book:
            self.work, self.placed = found, placed
            self._draw_weeks()

    def _weighed(self, book: Book, standing: Plan) -> None:
        """Tell better dates, once they are found."""
        if book is self.session.book:
            self.standing = standing
            self._draw_offer()

    def _draw_weeks(self) -> None:
        table = self.query_one("#weeks", RowTable)
        book, today = self.session.book, self.session.today
        fresh = weeks(book, today, self.work)
        rules = tuple(rule.name for rule in book.rules)
        keep, column = self._monday(), table.cursor_column
        self.drawn_width = self.size.width
        if self.columns_for != rules:
            table.clear(columns=True)
            table.add_column("week from", key="week", width=14)
            widths = self._widths(len(rules))
            for rule, width in zip(book.rules, widths, strict=True):
                table.add_column(Text(clip(rule.name, width - 1)), key=rule.id, width=width)
            table.add_column(Text("spare", justify="right"), key="hours", width=MARGIN)
            self.columns_for, self.rows = rules, ()
            column = len(rules)
        if [(w.monday, w.part) for w in fresh] != [(w.monday, w.part) for w in self.rows]:
            table.clear()
            self.rows = fresh
            for week in fresh:
                table.put_row(f"{week.monday}.{week.part}", *self._cells(week))
            mondays = [week.monday for week in fresh]
            if keep is None and (due := self._due()) and due.slot:
                keep = monday_of(due.slot.day)
                column = self._column(due.slot)
            wanted = keep if keep in mondays else monday_of(today)
            row = mondays.index(wanted) if wanted in mondays else 0
            table.show_row(row, column, top=max(0, row - 2))
        else:
            for old, new in zip(self.rows, fresh, strict=True):
                if old != new:
                    table.put_row(f"{new.monday}.{new.part}", *self._cells(new))
            self.rows = fresh
        self._draw_next()
        self._draw_offer()
        self._draw_why()

    def _widths(self, rules: int) -> list[int]:
        if not rules:
            return []
        room = max(20, self.size.width - 14 - MARGIN - 2)
        allowed = {rule for series in self.session.book.series for rule in series.rules}
        weight = [2 if rule.id in allowed else 1 for rule in self.session.book.rules]
        return [max(10, room * w // sum(weight)) for w in weight]

    def _cells(self, week: Week) -> list[Text]:
        now = week.monday == monday_of(self.session.today)
        label = f"{'▸' if now else '■' if week.workless else ' '} {week.monday.day} {week.monday:%b %Y}"
        widths = self._widths(len(week.cells))
        cells = [
            Text(clip(cell.text, width - 1), STYLES[cell.tone]) for cell, width in zip(week.cells, widths, strict=True)
        ]
        tone = "bold" if week.short else "dim" if week.workless else ""
        return [Text(label, "bold" if now else ""), *cells, Text(week.margin, tone, justify="right")]

    def _draw_next(self) -> None:
        step = next_step(self.session.book, self.session.today, self.work)
        line = self.query_one("#next", Static)
        self.put("#next", f"{'!' if step.trouble else '▸'} {step.text}", may_wrap=True)
        line.set_class(step.trouble, "trouble")

    def _draw_offer(self) -> None:
        """Say in one line that better dates exist; no line if there are none, or if something is wrong first."""
        offer = self.standing.offer if self.standing else None
        self.query_one("#offer", Static).display = offer is not None
        if self.standing and offer:
            self.put("#offer", f"{offer_words(self.standing, offer)}: press p")

    def _draw_why(self) -> None:
        self.put("#why", self._why())

    def _why(self) -> str:
        cell = self.cell
        if cell is None:
            return "There are no slots yet: g, the guided start."
        lines = self._why_cell(cell) if cell.slot else ["No slot here."]
        return "\n".join([*lines[:1], *self._why_week(), *lines[1:]])

    def _why_week(self) -> list[str]:
        """Why there is no work in the week under the cursor, and what must be done before."""
        week = self.rows[self.query_one("#weeks", RowTable).cursor_row]
        trips = [
            trip
            for trip in (self.work.ahead if self.work else ())
            if trip.first <= week.monday + timedelta(13) and trip.last >= week.monday
        ]
        lines = [
            f"No work {words.days(dark.first, dark.last)}{f': {dark.reason}' if dark.reason else ''}."
            for dark in week.workless
            if not any(trip.first <= dark.first <= trip.last for trip in trips)
        ]
        busy = self.work.busy if self.work else ()
        lines += busy_words([one for one in busy if 0 <= (one.day - week.monday).days < 7], most=2)
        return [*lines, *map(ahead_words, trips)]

    def _why_cell(self, cell: Cell) -> list[str]:
        """What is known of a slot and of what is in it."""
        assert cell.slot is not None
        book, when = self.session.book, words.short_day(cell.slot.day)
        episode: Episode | None = book.find("episodes", cell.episode) if cell.episode else None
        short = [item.text for item in (self.work.shortfalls if self.work else ()) if item.slot == cell.slot]
        if episode is None:
            ready = cell.slot.day - timedelta(book.house.lead_days)
            if cell.content is Content.FREE and not short and ready < self.session.today <= cell.slot.day:
                return [f"{when}: {cell.words}, to be ready by {words.day(ready)}; b puts it in the bank if it is."]
            return [f"{when}: {cell.words}", *short]
        if episode.kind is EpisodeKind.FILLER:
            worked = f", {words.hours(episode.worked_on(None))} worked on it" if episode.worked else ""
            state = "finished, in the bank" if episode.finished else f"not finished{worked}"
            return [f"{when}: {episode.title}, {state}. y publishes it, e changes it.", *short]
        pieces = [book.piece(id).name for id in episode.pieces]
        from showrunner.tui.proof import proof_of

        lines = [proof_of(self.placed[episode.id]) if episode.id in self.placed else f"{episode.title}: {when}."]
        lines.append("Shows " + words.listing(pieces) if pieces else "It shows no piece yet.")
        if episode.windows:
            kinds = [("must" if w.hard else "should") + f" fall {window_words(w)}" for w in episode.windows]
            lines.append("It " + " or ".join(kinds) + ".")
        if episode.done and not episode.finished:
            lines.append("Done: " + ", ".join(stage.value for stage in episode.done) + ".")
        begun = [s for s in Stage if s not in episode.done and episode.worked_on(s)]
        if begun and not episode.finished:
            hours = [f"{words.hours(episode.worked_on(stage))} of {stage.value}" for stage in begun]
            lines.append(f"Worked so far: {', '.join(hours)}.")
        return lines

    @on(DataTable.CellHighlighted)
    def highlighted(self) -> None:
        """Give the reason for what is under the cursor."""
        if self.rows:
            self._draw_why()

    # What is under the cursor

    def _monday(self) -> date | None:
        table = self.query_one("#weeks", RowTable)
        return self.rows[table.cursor_row].monday if 0 <= table.cursor_row < len(self.rows) else None

    @property
    def cell(self) -> Cell | None:
        """The slot under the cursor; on the week or the hours, the one with a study, or the last."""
        table = self.query_one("#weeks", RowTable)
        if not 0 <= table.cursor_row < len(self.rows):
            return None
        cells = self.rows[table.cursor_row].cells
        at = table.cursor_column - 1
        if 0 <= at < len(cells):
            return cells[at]
        return next((cell for cell in cells if cell.episode), cells[-1] if cells else None)

    @property
    def episode(self) -> Episode | None:
        """The open episode under the cursor."""
        cell = self.cell
        found: Episode | None = self.session.book.find("episodes", cell.episode) if cell and cell.episode else None
        return found

    def _due(self) -> Episode | None:
        """The episode that the line on top says is due."""
        due = next_step(self.session.book, self.session.today, self.work).due
        return self.session.book.episode(due) if due else None

    def _slot_to_record(self) -> SlotRef | None:
        """The slot under the cursor, if its usual content is due and not on record."""
        cell = self.cell
        if cell is None or cell.slot is None or cell.episode or cell.slot.day > self.session.today:
            return None
        return None if cell.content is Content.RECORD else cell.slot

    def _study(self) -> Episode | None:
        episode = self.episode
        if episode is None or episode.kind is not EpisodeKind.STUDY:
            self.tell(f"{self._here()}, which is no study: put the cursor on one.")
            return None
        return episode

    def _here(self) -> str:
        """What the cursor stands on, to begin a sentence that says why a key does nothing."""
        cell = self.cell
        if cell is None or cell.slot is None:
            return "There is no slot here"
        return f"{words.short_day(cell.slot.day)} holds {clip(cell.words, 40)}"

    # Planning

    def action_plan(self) -> None:
        """Preview the best dates."""
        from showrunner.planning.aims import Aim

        self._preview(Aim.BEST)

    def action_replan(self) -> None:
        """Preview new dates with few moves and the gaps within their bounds."""
        from showrunner.planning.aims import Aim

        self._preview(Aim.EVEN)

    def _preview(self, aim: Aim, study: str = "") -> None:
        from showrunner.tui.preview import PreviewScreen

        self.app.push_screen(PreviewScreen(self.session, aim=aim, study=study))

    async def action_film(self) -> None:
        """Go to the Set-up with the study."""
        study = self._study()
        if study is not None:
            await self.workroom.film(study.id)

    def action_now(self) -> None:
        """Back to this week."""
        table = self.query_one("#weeks", RowTable)
        mondays = [week.monday for week in self.rows]
        if monday_of(self.session.today) in mondays:
            table.move_cursor(row=mondays.index(monday_of(self.session.today)))

    def _to_slot(self, slot: SlotRef) -> None:
        """Put the cursor on a slot."""
        at = next((row for row, week in enumerate(self.rows) if any(cell.slot == slot for cell in week.cells)), 0)
        self.query_one("#weeks", RowTable).move_cursor(row=at, column=self._column(slot))

    def _column(self, slot: SlotRef) -> int:
        return 1 + [rule.id for rule in self.session.book.rules].index(slot.rule)

    def action_work(self) -> None:
        """Show the dated work, to be ticked off."""
        from showrunner.tui.work_view import WorkScreen

        self.app.push_screen(WorkScreen(self.session))

    # Publishing

    @on(DataTable.CellSelected)
    def selected(self) -> None:
        """Enter on a slot publishes what is in it."""
        if self.episode is not None:
            self.action_publish()

    def action_publish(self) -> None:
        """Put the episode on record as published."""
        slot = self._slot_to_record()
        if slot:
            self._record_filler(slot)
            return
        episode = self.episode
        if episode is None:
            self._not_due("y")
            return
        today = self.session.today
        day = episode.slot.day if episode.slot and episode.slot.day <= today else today

        def save(answers: Mapping[str, Any]) -> None:
            self.save_with(
                f"publish {episode.title}",
                lambda book: edits.publish(
                    book,
                    episode.id,
                    answers["on"],
                    answers["link"].strip(),
                    today=today,
                    run_seconds=answers["run"],
                ),
            )
            self.tell("On record. r re-plans the rest if it came late.")

        fields = [
            day_field("on", "came out on", day, today, ahead=False),
            Field("link", "link", "", hint="where it can be watched"),
            Field("run", "run time", _run_text(episode.run_seconds), read_run_time, "12:45, as edited"),
        ]
        intro = waiting_words(self.session.book, episode.id)
        self.app.push_screen(FormDialog(f"Publish {episode.title}", fields, save, f"! {intro}" if intro else ""))

    def _record_filler(self, slot: SlotRef) -> None:
        """Put the usual content of a slot on record."""
        today = self.session.today
        rule = self.session.book.rule(slot.rule)

        def save(answers: Mapping[str, Any]) -> None:
            self.save_with(
                f"record {answers['title']}",
                lambda book: edits.record_publication(
                    book, answers["title"], slot.rule, slot.day, answers["on"], answers["link"].strip(), today=today
                ),
            )

        fields = [
            Field("title", "title", rule.name, entry.words),
            day_field("on", "came out on", slot.day, today, ahead=False, optional=True, hint="empty if it was missed"),
            Field("link", "link"),
        ]
        self.app.push_screen(FormDialog(f"{rule.name} of {words.day(slot.day)}", fields, save))

    def action_missed(self) -> None:
        """Put on record that the episode, or the usual content, missed its slot."""
        today, slot = self.session.today, self._slot_to_record()
        if slot:
            name = self.session.book.rule(slot.rule).name
            if self.perform(
                f"{name} of {words.day(slot.day)} was missed",
                lambda book: edits.record_publication(book, name, slot.rule, slot.day, None, today=today),
            ):
                self.tell(f"On record: {name} of {words.day(slot.day)} was missed.")
            return
        episode = self.episode
        if episode is None:
            self._not_due("M")
        elif self.perform(f"{episode.title} missed its slot", lambda book: edits.miss(book, episode.id, today=today)):
            self.tell("On record as missed. r re-plans with fewest moves.")

    def _not_due(self, key: str) -> None:
        """Say why nothing under the cursor can be put on record; go to what is due, if something is."""
        due = self._due()
        if due and due.slot:
            why = self._here()
            self._to_slot(due.slot)
            self.tell(f"{why}. {due.title} is due: {key} again is for it.")
            return
        cell = self.cell
        waits = cell is not None and cell.slot is not None and cell.slot.day > self.session.today
        more = (
            ", and has not come yet; b puts it in the bank" if waits and cell and cell.content is Content.FREE else ""
        )
        self.tell(f"{self._here()}{more}.")

    # Moving and promising

    def action_move(self) -> None:
        """Choose another slot for the study."""
        study = self._study()
        if study is None:
            return
        found = self.session.places(study.id)

        def moved(answer: str | None) -> None:
            if answer is not None:
                slot = found[int(answer)].slot
                label = f"move {study.title} to {words.day(slot.day)}"
                self.perform(label, lambda book: move(book, slot))

        def move(book: Book, slot: SlotRef) -> Book:
            if breach := self.session.against(study.id, slot, book):
                way_out = "choose another slot, or change that rule first"
                raise BadInput(f"it cannot go to {words.day(slot.day)}: {clause(book, breach)}", study.title, way_out)
            return edits.set_slot(book, study.id, slot)

        def told(place: Place) -> str:
            if place.against:
                return f"  – no: {clause(self.session.book, place.against)}"
            return "" if place.spare_minutes is None else f"  – {words.hours(place.spare_minutes)} to spare"

        choices = [(str(at), clip(words.short_day(place.slot.day) + told(place), 66)) for at, place in enumerate(found)]
        self.app.push_screen(ChooseDialog(f"Move {study.title} to", choices), moved)

    def action_pin(self) -> None:
        """Promise the study for its date, or take the promise back."""
        study = self._study()
        if study is None or study.slot is None:
            return
        slot = study.slot
        pin = next((p for p in self.session.book.pins if p.kind is PinKind.DATE and p.episodes == (study.id,)), None)
        if pin:
            self.perform(f"take the promise of {study.title} back", lambda book: edits.unpin(book, pin.id))
            return
        label = f"promise {study.title} for {words.day(slot.day)}"
        self.perform(label, lambda book: edits.pin_date(book, study.id, slot, today=self.session.today)[0])

    def action_order(self) -> None:
        """Promise an order, or take it back."""
        study = self._study()
        if study is None:
            return
        book = self.session.book
        mine = {p.episodes[1]: p for p in book.pins if p.kind is PinKind.ORDER and p.episodes[0] == study.id}
        options = [
            (other.id, f"{'promised, take back: ' if other.id in mine else ''}before {other.title}")
            for other in book.open_studies
            if other.id != study.id
        ]

        def chosen(other: str | None) -> None:
            if other is None:
                return
            if other in mine:
                self.perform("take an order back", lambda b: edits.unpin(b, mine[other].id))
            else:
                self.perform("promise an order", lambda b: edits.pin_order(b, study.id, other)[0])

        self.app.push_screen(ChooseDialog(f"{study.title} is shown", options), chosen)

    def action_window(self) -> None:
        """Set the study's windows."""
        study = self._study()
        if study:
            self._edit_windows(study)

    def _edit_windows(self, study: Episode) -> None:
        def save(answers: Mapping[str, Any]) -> None:
            changed = replace(study, windows=answers["windows"])
            self.save_with(f"set the window of {study.title}", lambda book: edits.put_episode(book, changed))

        intro = "‘1 Mar to 30 Apr’ comes every year; ‘must’ before it makes it hard; ; between several; empty for none."
        hint = "must 15 Oct to 28 Feb; 2026-06-01 to 2026-08-31"
        shown = entry.window_text(study.windows)
        field = Field("windows", "window", shown, entry.unless_changed(shown, study.windows, entry.windows), hint)
        self.app.push_screen(FormDialog(f"Window of {study.title}", [field], save, intro))

    # Editing

    def action_study(self) -> None:
        """Edit the episode under the cursor."""
        episode = self.episode
        if episode is None:
            self.tell("Put the cursor on an episode.")
        elif episode.kind is EpisodeKind.STUDY:
            self._edit_study(episode)
        else:
            from showrunner.tui.book_lists import edit_filler

            edit_filler(self.workroom, episode.id)

    def _edit_study(self, study: Episode) -> None:
        book = self.session.book
        series = book.series_of(study.series)
        others = tuple((one.name, one.id) for one in book.series if one.collection == series.collection)
        stages = study.stages or series.stages
        names = [stage.value for stage in Stage]

        def read_done(text: str) -> tuple[Stage, ...]:
            wanted = entry.listed(text)
            wrong = [name for name in wanted if name not in names]
            if wrong:
                raise BadInput(f"'{wrong[0]}' is no stage", "done", f"choose from {', '.join(names)}")
            return tuple(stage for stage in Stage if stage.value in wanted)

        def save(answers: Mapping[str, Any]) -> None:
            own = StageMinutes(*(answers[f"stage{at}"] for at in range(len(names))))
            done = answers["done"]
            opened = [stage for stage in study.done if stage not in done]
            changed = replace(
                study,
                title=answers["title"],
                pieces=answers["pieces"].ids,
                series=answers.get("series", study.series),
                stages=None if own == series.stages else own,
                done=done,
                worked=tuple(work for work in study.worked if work.stage not in opened),
                finished=len(done) == len(names),
                notes=answers["notes"].strip(),
                run_seconds=answers["run"],
            )
            self.save_with(f"edit {study.title}", lambda book: edits.put_episode(book, changed))

        fields = [
            Field("title", "title", study.title, entry.words),
            things_field(
                "pieces", "pieces", self.session.book, Sort.PIECE, study.pieces, about="One, or two together."
            ),
            *([Field("series", "series", study.series, options=others)] if len(others) > 1 else []),
            *(
                Field(
                    f"stage{at}",
                    f"hours {stage.value}",
                    entry.hours_text(stages.of(stage)),
                    entry.day_minutes if stage is Stage.SHOOT else entry.minutes,
                )
                for at, stage in enumerate(Stage)
            ),
            Field(
                "done",
                "stages done",
                ", ".join(s.value for s in study.done),
                read_done,
                f"none yet; write them like {names[0]}, {names[2]}",
            ),
            Field("run", "run time", _run_text(study.run_seconds), read_run_time, "12:45, as edited"),
            Field("notes", "notes", study.notes),
        ]
        self.app.push_screen(FormDialog(f"Study: {clip(study.title, 60)}", fields, save))

    def action_package(self) -> None:
        """Open the package of the study under the cursor, before it is out or after."""
        from showrunner.tui.package_view import PackageScreen

        episode, cell = self.episode, self.cell
        found = episode.id if episode and episode.kind is EpisodeKind.STUDY else ""
        if not found and cell and cell.slot:
            found = study_out_on(self.session.book, cell.slot)
        if found:
            self.app.push_screen(PackageScreen(self.session, found))
        else:
            self.tell(f"{self._here()}, which is no study: put the cursor on one.")

    def action_dissolve(self) -> None:
        """Remove the episode under the cursor, after a question."""
        episode = self.episode
        if episode is None:
            self.tell("Put the cursor on an episode.")
            return
        self._remove(episode)

    def _remove(self, episode: Episode) -> None:
        def answered(answer: str | None) -> None:
            if answer == "yes":
                self.perform(f"remove {episode.title}", lambda book: edits.remove_study(book, episode.id))

        options = [("no", "Keep it"), ("yes", "Remove it (u brings it back); its pieces stay")]
        self.app.push_screen(ChooseDialog(f"Remove {episode.title}?", options), answered)

    def action_bank(self) -> None:
        """Name an episode for the slot under the cursor, or put the one in it into the bank."""
        cell, episode = self.cell, self.episode
        if episode is not None:
            self._into_the_bank(episode)
            return
        free = cell is not None and cell.content in (Content.FREE, Content.DARK)
        if cell is None or cell.slot is None or not free or cell.slot.day < self.session.today:
            self.tell("Put the cursor on a free slot from today on, or on an episode that is finished.")
            return
        slot = cell.slot

        def save(answers: Mapping[str, Any]) -> None:
            self.save_with(
                f"name {answers['title']}",
                lambda book: edits.add_filler(
                    book, answers["title"], slot.rule, slot.day, finished=answers["finished"] == "yes"
                )[0],
            )

        fields = [
            Field("title", "title", usual_title(self.session.book, slot), entry.words),
            Field("finished", "finished (in the bank)", "yes", options=(("no", "no"), ("yes", "yes"))),
        ]
        self.app.push_screen(FormDialog(f"An episode for {words.day(slot.day)}", fields, save))

    def _into_the_bank(self, episode: Episode) -> None:
        """Put an open episode down as finished, with all its stages done."""
        if episode.finished:
            self.tell("It is in the bank already; e changes it.")
            return
        done = tuple(Stage) if episode.kind is EpisodeKind.STUDY else episode.done
        changed = replace(episode, finished=True, done=done)
        if self.perform(f"put {episode.title} into the bank", lambda book: edits.put_episode(book, changed)):
            self.tell(f"Finished, in the bank: {episode.title}.")

    def action_dark(self) -> None:
        """Add a dark range, or choose one to remove."""
        from showrunner.tui.book_lists import dark_words, edit_dark
        from showrunner.tui.list_dialog import NEW

        monday = self._monday() or self.session.today
        ranges = self.session.book.dark
        options = [("", "add days without work or publication")]
        options += [(f"{verb} {d.id}", f"{verb} {dark_words(d)}") for d in ranges for verb in ("change", "remove")]
        options += [
            (f"busy {one.id}", f"forget that other calendars take hours of {words.short_day(one.day)}: {one.reason}")
            for one in self.session.book.busy
            if 0 <= (one.day - monday).days < 7
        ]
        slot = self.cell.slot if self.cell else None
        if slot and slot.day >= self.session.today:
            options.append(("once", f"leave out {self.session.book.rule(slot.rule).name} of {words.day(slot.day)}"))
        options += [(f"more {rule.id}", f"one more {rule.name} on another day") for rule in self.session.book.rules]

        def chosen(answer: str | None) -> None:
            verb, _, id = (answer or "").partition(" ")
            if answer == "":
                edit_dark(self.workroom, NEW, first := max(monday, self.session.today), first + timedelta(6))
            elif verb == "change":
                edit_dark(self.workroom, id)
            elif verb == "remove":
                self.perform("remove a dark range", lambda book: edits.remove_dark(book, id))
            elif verb == "busy":
                self.perform("forget busy hours", lambda book: edits.remove_busy(book, id))
            elif verb == "once" and slot:
                self.perform("leave a slot out once", lambda book: edits.leave_out(book, slot))
            elif verb == "more":
                self._add_slot(id, max(monday, self.session.today))

        intro = "Dark days are days on which you do not work, or on which nothing comes out."
        self.app.push_screen(ChooseDialog("Dark days and single weeks", options, intro=intro), chosen)

    def _add_slot(self, rule: str, first: date) -> None:
        """Ask for the day on which a weekly slot comes once more."""

        def save(answers: Mapping[str, Any]) -> None:
            slot = SlotRef(answers["day"], rule)
            self.save_with("let a slot come once more", lambda book: edits.add_slot(book, slot))

        fields = [day_field("day", "day", first, self.session.today, ahead=True)]
        self.app.push_screen(FormDialog(f"One more {self.session.book.rule(rule).name}", fields, save))

    def action_slot_record(self) -> None:
        """How the slots were kept, and what could fill the empty ones ahead."""
        from showrunner.tui.slot_record import SlotRecordScreen

        self.app.push_screen(SlotRecordScreen(self.session, self.episode))

    def action_waiting(self) -> None:
        """Studies without a slot."""
        from showrunner.planning.aims import Aim

        waiting = [study for study in self.session.book.open_studies if study.slot is None]
        if not waiting:
            self.tell("Every study has a slot.")
            return

        def chosen(answer: str | None) -> None:
            if answer is not None:
                verb, _, id = answer.partition(" ")
                study = self.session.book.episode(id)
                if verb == "help":
                    self._preview(Aim.BEST, study=study.id)
                else:
                    {"edit": self._edit_study, "window": self._edit_windows, "remove": self._remove}[verb](study)

        verbs = (("help", "what would help"), ("edit", "edit"), ("window", "window"), ("remove", "remove"))
        options = [(f"{verb} {s.id}", f"{label} {s.title}") for s in waiting for verb, label in verbs]
        self.app.push_screen(ChooseDialog("Studies without a slot (p plans them)", options), chosen)


def study_out_on(book: Book, slot: SlotRef) -> str:
    """Id of the study that came out for a slot; empty if none did."""
    lines = (line for line in book.publications if line.rule == slot.rule and line.actual and line.series)
    return next((line.episode for line in lines if slot.day in (line.planned, line.day) and line.episode), "")


def _run_text(seconds: int) -> str:
    """A run time as it is typed; empty if it is not known."""
    return clock_words(seconds) if seconds else ""
