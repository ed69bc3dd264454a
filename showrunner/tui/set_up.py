"""The Set-up: work the shoot with one hand, in gloves, or with a presenter's remote."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Mapping, Sequence
from typing import Any, ClassVar

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.widgets import DataTable, Static
from textual.widgets.data_table import ColumnKey

from showrunner.domain import words
from showrunner.domain.episode import Stage
from showrunner.domain.glossary import Where
from showrunner.domain.piece import Confidence, View
from showrunner.domain.shoot import LogLine, Remedy, Touch, Why
from showrunner.errors import ShowrunnerError
from showrunner.filming import Filming, GateOpen, NeedsReason
from showrunner.planning.daylight import daylight
from showrunner.planning.pickups import offered, waiting_pickups
from showrunner.planning.points import Point
from showrunner.planning.run_time import clock_words
from showrunner.planning.shooting import Next, Now, ShootState, gate_now
from showrunner.planning.shots import Shot
from showrunner.report import clean, clip
from showrunner.sheet import BEFORE, along_words, caution_words, fit_words, summary
from showrunner.shoot_record import clock_at, log_words, record_text, short_name
from showrunner.tui import entry, set_up_past
from showrunner.tui import set_up_text as say
from showrunner.tui.base import BookScreen, row_under_cursor
from showrunner.tui.big_letters import ROWS, drawn
from showrunner.tui.dialogs import ChooseDialog, Field, FormDialog, NoticeDialog, plain
from showrunner.tui.lines import RowTable
from showrunner.tui.registry import Action, bindings
from showrunner.tui.set_up_dialogs import OTHER, CautionsDialog, ConditionDialog, ReasonDialog

LARGE = (100, 30)
"""Columns and rows from which the next thing stands in big letters by itself."""
CLOCK_SECONDS = 1.0
LONG_SILENCE_SECONDS = 20 * 60
"""Time without a key after which, when the shoot is opened again, it is asked whether it was a break."""
CLOCKS_WIDTH = 30
"""Columns of the clocks, their rule and padding included."""


IN_A_SHOOT = frozenset(
    (
        *("go", "tick", "unread", "found", "skip", "box", "voice", "roll", "pause", "measure", "again", "pickup"),
        *("back", "other", "big", "condition", "order", "log", "cautions", "close"),
    )
)
"""Actions that make sense only while a shoot goes on."""


class SetUpScreen(BookScreen):
    """Before a shoot the studies to film; in it the one next thing, what is unsaid, and the clocks."""

    TITLE_WORD = "Set-up"
    WHERE = Where.SET_UP
    ACTIONS: ClassVar[tuple[Action, ...]] = (
        Action(
            "go",
            "space,pagedown",
            "done",
            "Do the next thing: shot in the can, piece touched, cautions read.",
            footer=True,
            first=True,
        ),
        Action("tick", "s,enter,full_stop", "said", "The point under the cursor was said.", footer=True),
        Action("unread", "n", "not legible", "The shot does not show what it should: shows what to try.", footer=True),
        Action("found", "f", "found", "Something was found: write it down with its time.", footer=True),
        Action(
            "begin",
            "f,enter",
            "film",
            "Begin the shoot of the studies marked, or of the one under the cursor.",
            footer=True,
        ),
        Action("mark", "space", "mark", "Mark a study to be filmed together with others.", footer=True),
        Action("skip", "x", "leave out", "Leave out what is next, shot, touch or condition, with a reason."),
        Action("box", "X", "box it now", "Put a piece back into its box at once, whatever was to come."),
        Action("back", "pageup", "take back", "Take back the last thing put down in this shoot.", first=True),
        Action("other", "a", "other piece", "To what is unsaid of the other piece."),
        Action("big", "B", "big letters", "The next thing in letters read from two metres, or not."),
        Action("voice", "v", "in words", "Replace the shot by spoken words."),
        Action("roll", "r", "roll", "A take begins: its clock starts again."),
        Action("pause", "b,f5,escape", "break", "Begin a pause, lamps off, or end it."),
        Action("measure", "m", "lux", "Enter the measured light."),
        Action("again", "k", "touch again", "Put a further touch on record."),
        Action("pickup", "p", "pickup", "Note something missed, with its cheapest remedy."),
        Action("pickups", "P", "pickups", "Pickups that still wait, to put down as mended."),
        Action("condition", "e", "condition", "Put down the condition of a piece, before or after."),
        Action("order", "o", "run order", "The whole run order; a shot that is done can be taken again."),
        Action("log", "l", "log", "What happened so far, with the time."),
        Action("past", "L", "past shoots", "Read what became of a shoot: times, condition, pickups; print it."),
        Action("sheet", "S", "sheet", "The set-up sheet on paper or a phone: open it, save it, print it."),
        Action("cautions", "c", "cautions", "Read the cautions again."),
        Action("close", "z", "close", "Close the shoot; what is open becomes pickups."),
    )
    HELP_NOTE = (
        "A presenter's remote: PgDn is done, PgUp takes the last thing back, . is said, F5 and Esc begin or end a "
        "break. A key that is held, or pressed twice within half a second, counts once."
    )
    BINDINGS = bindings(ACTIONS)

    def __init__(self) -> None:
        super().__init__()
        self.filming: Filming | None = None
        self.chosen: list[str] = []
        self.wanted = ""
        self.listed: tuple[str, ...] = ()
        self.ticked: frozenset[str] = frozenset()
        self.told_back = False
        self.given_up: frozenset[str] = frozenset()
        self.big: bool | None = None
        """Whether in big letters; None as the terminal allows."""

    def body(self) -> ComposeResult:
        """The studies to film, and the shoot; one of the two is shown."""
        with Vertical(id="before"):
            yield Static("Which study is filmed?", id="before-title", classes="title")
            yield DataTable(id="studies", cursor_type="row", cell_padding=0)
            yield Static(id="before-text")
        with Vertical(id="shooting"):
            yield Static(id="set-up-line")
            yield Static(id="big", classes="next")
            yield Static(id="big-note")
            yield Static(id="unsaid")
            yield Static(id="cues")
            with Horizontal(id="bench"):
                yield RowTable(id="points", show_header=False)
                yield Static(id="clocks")

    def on_mount(self) -> None:
        """Draw, and let the clocks run."""
        studies = self.query_one("#studies", DataTable)
        for label, width in (("", 2), ("slot", 17), ("study", 46), ("filming", 8)):
            studies.add_column(label, width=width)
        points = self.query_one("#points", RowTable)
        points.add_column("point", key="point", width=40)
        self.query_one("#bench").border_title = "to say"
        super().on_mount()
        self.set_interval(CLOCK_SECONDS, self.tick)
        self.call_after_refresh(self._ask_about_silence)

    def on_resize(self) -> None:
        """Give the points the width there is."""
        self.listed = ()
        self.ticked = frozenset()
        if self.shown is not None:
            self.draw()

    def _ask_about_silence(self) -> None:
        """After a long silence (the laptop was shut, the program ended) ask whether the lamps were off."""
        filming = self.filming
        if filming is None or self.session.read_only:
            return
        try:
            silent = filming.silent_seconds()
        except ShowrunnerError:  # told already, where it is drawn
            return
        if silent < LONG_SILENCE_SECONDS:
            return

        def chosen(answer: str | None) -> None:
            if answer == "break":
                self.attempt(filming.was_a_break)

        options = [
            ("break", "a break with the lamps off: no clock counts it"),
            ("on", "filming went on: it all counts"),
        ]
        self.app.push_screen(ChooseDialog(f"Nothing was put down for {clock_words(silent)}. It was", options), chosen)

    def want(self, study: str) -> None:
        """Put the cursor on a study, if no shoot goes on."""
        self.wanted = study
        if self.is_mounted and self.filming is None:
            self._draw_studies()

    # Drawing

    def draw(self) -> None:
        """Draw the shoot that goes on, or the studies to film."""
        self.filming = Filming.going_on(self.session)
        going = self.filming is not None
        if self.query_one("#shooting").display is not going or self.query_one("#before").display is going:
            self.query_one("#before").display = not going
            self.query_one("#shooting").display = going
            self.refresh_bindings()
        try:
            if self.filming is None:
                self._draw_studies()
            else:
                self._draw_shoot(self.filming)
        except ShowrunnerError as error:
            self.tell_trouble(error)

    def tick(self) -> None:
        """Let the clocks run while the screen is in view."""
        if self.filming is not None and self.is_current:
            try:
                self._draw_clocks(self.filming, self.filming.state())
            except ShowrunnerError:
                return

    def _draw_studies(self) -> None:
        table = self.query_one("#studies", DataTable)
        book = self.session.book
        waiting = sorted(
            book.open_studies, key=lambda e: (e.slot is None, e.slot.day if e.slot else self.session.today)
        )
        self.chosen = [id for id in self.chosen if any(e.id == id for e in waiting)]
        row = table.cursor_row
        table.clear()
        for study in waiting:
            state = "filmed" if Stage.SHOOT in study.done else ""
            table.add_row(
                Text("■" if study.id in self.chosen else " "),
                Text(words.short_day(study.slot.day) if study.slot else "no slot yet"),
                Text(clip(study.title, 45)),
                Text(state),
                key=study.id,
            )
        ids = [study.id for study in waiting]
        row = ids.index(self.wanted) if self.wanted in ids else min(row, max(0, len(ids) - 1))
        self.wanted = ""
        if ids:
            table.move_cursor(row=row, animate=False)
        if self.is_current:
            table.focus()
        self._draw_choice()

    @property
    def one_press(self) -> bool:  # type: ignore[override]
        """In a shoot each press stands on disk."""
        return self.filming is not None

    @property
    def is_big(self) -> bool:
        """Whether the next thing stands in big letters."""
        large = self.size.width >= LARGE[0] and self.size.height >= LARGE[1]
        return large if self.big is None else self.big

    @property
    def to_film(self) -> tuple[str, ...]:
        """Ids of the studies marked, or of the one under the cursor."""
        if self.chosen:
            return tuple(self.chosen)
        study = row_under_cursor(self.query_one("#studies", DataTable))
        return (study,) if study else ()

    @on(DataTable.RowHighlighted, "#studies")
    def _draw_choice(self) -> None:
        text = self.query_one("#before-text", Static)
        studies = self.to_film
        if not studies:
            text.update(plain("No study waits to be filmed. Make one on the Register (1)."))
            return
        try:
            plan = self.session.shoot_plan(studies)
        except ShowrunnerError as error:
            text.update(plain(f"! {error.sentence()}"))
            return
        lines = ["Enter begins the shoot; Space marks studies to film together.", "", *summary(plan)]
        lines += [f"! {warning.text}" for warning in plan.warnings]
        forms = [f"{self.session.book.piece(fit.piece).name} on {fit_words(fit)}" for fit in plan.fits]
        lines += ["Forms: " + "; ".join(forms) + "."] if forms else []
        if along := offered(self.session.book, plan.pieces):
            told = [along_words(self.session.book, line) for line in along]
            lines.append(f"! To be mended with this opening: {words.some(told, most=3)}.")
        if waiting := waiting_pickups(self.session.book):
            lines.append(f"{words.count(len(waiting), 'pickup')} from earlier shoots: P.")
        text.update(plain("\n".join(lines)))

    def _draw_shoot(self, filming: Filming) -> None:
        plan, state = filming.plan, filming.state()
        head, tail = say.heading(plan, state), say.progress(plan, state)
        self.put("#set-up-line", f"{head}{tail:>{max(1, self.size.width - 2 - len(head))}}")
        self._draw_next(filming, state)
        self.put("#cues", "\n".join(say.cue_lines(plan, state)), may_wrap=True)
        self._draw_points(filming, state)
        self._draw_unsaid()
        self._draw_clocks(filming, state)
        self._tell_clock(filming)

    def _draw_next(self, filming: Filming, state: ShootState) -> None:
        """The one next thing: in big letters with its words below, or in words alone."""
        plan, book, is_big = filming.plan, self.session.book, self.is_big
        big, note = say.big_lines(book, plan, state)
        room = self.size.height - (LARGE[1] - 3 * ROWS if self.size.height >= LARGE[1] else 9)
        if is_big:
            self.put("#big", drawn(say.huge_line(book, state), self.size.width - 6, room // ROWS), may_wrap=True)
            self.put("#big-note", f"▸ {big}\n  {note}", may_wrap=True)
        else:
            self.put("#big", f"▸ {big}", may_wrap=True)
            self.put("#big-note", note, may_wrap=True)
        small = is_big and self.size.height < LARGE[1]
        self.query_one("#unsaid").display = is_big
        for part in ("#cues", "#bench"):
            self.query_one(part).display = not small

    @on(DataTable.RowHighlighted, "#points")
    def _draw_unsaid(self) -> None:
        """Keep the line on what is unsaid with the cursor."""
        if self.filming is None or not self.is_big:
            return
        filming, under = self.filming, row_under_cursor(self.query_one("#points", RowTable))
        try:
            state = filming.state()
        except ShowrunnerError:  # told already, where it is drawn
            return
        points = say.points_in_order(filming.plan, state)
        line = say.unsaid_line(self.session.book, points, under, state)
        self.put("#unsaid", clip(line, max(20, self.size.width - 4)))

    def _draw_points(self, filming: Filming, state: ShootState) -> None:
        """Draw the points; one just said keeps its place, ticked, until another piece or side is before the camera.

        So a key changes two rows and nothing is laid out anew.
        """
        table = self.query_one("#points", RowTable)
        points = say.points_in_order(filming.plan, state)
        left = tuple(point.id for point in points)
        self.given_up = state.given_up
        if left != tuple(id for id in self.listed if id not in state.said):
            self._list_points(table, points)
            self.listed, self.ticked = left, frozenset()
        ticked = frozenset(id for id in self.listed if id in state.said)
        for id in ticked ^ self.ticked:
            point = next(point for point in filming.plan.points if point.id == id)
            table.put_row(id, self._point_text(point, said=id in ticked))
        if ticked - self.ticked and row_under_cursor(table) in ticked:
            below = [n for n, id in enumerate(self.listed) if id not in ticked]
            row = next((n for n in below if n > table.cursor_row), below[0] if below else table.cursor_row)
            table.move_cursor(row=row, animate=False)
        self.ticked = ticked
        if self.is_current and self.focused is not table and self.query_one("#bench").display:
            table.focus()

    def _list_points(self, table: RowTable, points: tuple[Point, ...]) -> None:
        width = max(30, self.size.width - CLOCKS_WIDTH - 3)
        table.columns[ColumnKey("point")].width = width
        table.clear()
        for point in points:
            table.put_row(point.id, self._point_text(point, said=False))
        if points:
            table.move_cursor(row=0, animate=False)

    def _point_text(self, point: Point, *, said: bool) -> Text:
        """A point in one cell, which is drawn three times as fast as three: mark, piece, words."""
        given_up = point.id in self.given_up
        mark = "✓" if said else "–" if given_up else "!" if point.gone else "·"
        room = max(20, self.size.width - CLOCKS_WIDTH - 6)
        name = short_name(self.session.book.piece(point.piece))
        lines = textwrap.wrap(clean(f"{name}: {point.text}{' (given up)' if given_up else ''}"), room) or [""]
        return Text(f"{mark} " + "\n  ".join(lines), "bold" if point.gone and not said and not given_up else "")

    def _draw_clocks(self, filming: Filming, state: ShootState) -> None:
        house = self.session.book.house
        day = say.day_rows(daylight(house, filming.today), self.session.instant(), house.zone)
        rows = say.clock_rows(self.session.book, filming.plan, state, filming.light_left(state), day)
        room = CLOCKS_WIDTH - 3
        self.put("#clocks", "\n".join(line for label, value in rows for line in _clock_lines(label, value, room)))

    def _tell_clock(self, filming: Filming) -> None:
        """Say once that the computer's clock was set back."""
        back = filming.clock_went_back()
        if back and not self.told_back:
            gone = clock_words(back)
            self.tell(f"The computer's clock went back by {gone}; nothing is lost, times go on from the last one.")
        self.told_back = bool(back)

    # One thing after the other

    def with_reason(self, do: Callable[[str], Any], title: str) -> None:
        """Do something at once, or ask for a reason if it needs one."""
        try:
            do("")
        except NeedsReason as need:
            self._ask_reason(need, do, title)
            return
        except ShowrunnerError as error:
            self.tell_trouble(error)
            return
        self.workroom.book_changed()

    def ask(
        self,
        title: str,
        fields: Sequence[Field],
        do: Callable[[Mapping[str, Any]], object],
        intro: str = "",
        *,
        save_word: str = "Save",
    ) -> None:
        """Ask for something, do it, and draw what came of it; a refusal stays in the form."""

        def save(answers: Mapping[str, Any]) -> None:
            do(answers)
            self.workroom.book_changed()

        self.app.push_screen(FormDialog(title, fields, save, intro, save_word=save_word))

    def _ask_reason(self, need: NeedsReason, do: Callable[[str], Any], title: str) -> None:
        lost = [need.sentence()]
        if isinstance(need, GateOpen):
            lost = ["Only now:", *say.lost_lines(need.found, self.session.book)]
        self._choose_reason(title, lost, lambda reason, _: do(reason), [why for why in Why if why.gives_up])

    def _choose_reason(
        self,
        title: str,
        lost: Sequence[str],
        do: Callable[[str, bool], Any],
        reasons: Sequence[Why] = tuple(Why),
        esc_word: str = "goes back to film and say it",
    ) -> None:
        """Ask why something is left out, and leave it out.

        Args:
            title: what is left out.
            lost: what is lost by it, in words.
            do: leaves it out for a reason; told too whether it is still wanted.
            reasons: the usual reasons to choose from.
            esc_word: what Esc does.
        """

        def chosen(answer: str | None) -> None:
            if answer == OTHER:
                field = Field("reason", "because", "", entry.words)
                self.ask(title, [field], lambda answers: do(answers["reason"], True), save_word="Go on")
            elif answer is not None:
                why = Why[answer]
                self.attempt(lambda: do(why.value, why.gives_up))

        self.app.push_screen(ReasonDialog(title, lost, reasons, esc_word=esc_word), chosen)

    def _going(self) -> tuple[Filming, ShootState] | None:
        """The shoot and how it stands, or a word that there is none or why that cannot be told."""
        if self.filming is None:
            self.tell("No shoot goes on; Enter begins one.")
            return None
        try:
            return self.filming, self.filming.state()
        except ShowrunnerError as error:
            self.tell_trouble(error)
            return None

    def _next_shot(self) -> tuple[Filming, Shot] | None:
        going = self._going()
        if going is None:
            return None
        filming, state = going
        if state.next.now is not Now.SHOT or state.next.step is None or state.next.step.shot is None:
            self.tell("The next thing is no shot.")
            return None
        return filming, state.next.step.shot

    def action_go(self) -> None:
        """Do the next thing."""
        going = self._going()
        if going is None:
            return
        filming, state = going
        step, piece = state.next.step, state.next.piece
        if state.paused:
            self.attempt(filming.pause)
        elif state.next.now is Now.ACKNOWLEDGE:
            self.action_cautions()
        elif state.next.now is Now.CLOSE:
            self.action_close()
        elif state.next.now in (Now.BEFORE, Now.AFTER):
            self._write_condition(filming, piece, after=state.next.now is Now.AFTER)
        elif step is not None and step.aside:
            self.attempt(lambda: filming.set_aside(piece))
        elif step is not None and step.shot is not None:
            shot = step.shot
            self.with_reason(lambda reason: filming.done(shot.id, reason), "Beyond the light of this year")
        elif step is not None and step.touch is not None:
            touch = step.touch
            name = short_name(self.session.book.piece(piece))
            title = f"Before {BEFORE[touch]} {name}"
            self.with_reason(lambda reason: filming.touch(piece, touch, reason), title)

    def action_mark(self) -> None:
        """Mark the study to be filmed with others."""
        study = row_under_cursor(self.query_one("#studies", DataTable))
        if study in self.chosen:
            self.chosen.remove(study)
        elif study:
            self.chosen.append(study)
        self._draw_studies()

    @on(DataTable.RowSelected)
    def selected(self) -> None:
        """Enter ticks the point, or begins the shoot."""
        if self.filming is None:
            self.action_begin()
        else:
            self.action_tick()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Leave out of footer and keys what makes no sense before a shoot, or in one."""
        del parameters
        if action in ("begin", "mark"):
            return self.filming is None
        if action in IN_A_SHOOT:
            return self.filming is not None
        return True

    def action_tick(self) -> None:
        """The point under the cursor was said."""
        if self.filming is None:
            return
        table = self.query_one("#points", RowTable)
        if not table.row_count:
            self.tell("Everything is said.")
            return
        going = self._going()
        if going is None:
            return
        point, (filming, state) = row_under_cursor(table), going
        if point in self.ticked:
            everything = len(state.said) == len(filming.plan.points)
            self.notify("Everything is said." if everything else "That is said already.", timeout=2, markup=False)
            return
        self.attempt(lambda: filming.say(point))

    def action_begin(self) -> None:
        """Begin the shoot."""
        studies = self.to_film
        if studies and self.attempt(lambda: Filming.begin(self.session, studies)):
            self.chosen = []
            self.action_cautions()

    def action_cautions(self) -> None:
        """Show the cautions; acknowledge them if they are not yet."""
        going = self._going()
        if going is None:
            return
        filming, state = going
        book = self.session.book
        lines = [caution_words(caution, book) for caution in filming.plan.cautions]
        lines += [warning.text for warning in filming.plan.warnings]

        def read(answer: bool | None) -> None:
            if answer and not state.acknowledged:
                self.attempt(filming.acknowledge)

        self.app.push_screen(CautionsDialog(lines, acknowledged=state.acknowledged), read)

    def action_unread(self) -> None:
        """The shot is not legible."""
        if (now := self._next_shot()) is not None:
            filming, shot = now
            self.attempt(lambda: filming.not_legible(shot.id))

    def action_voice(self) -> None:
        """Replace the shot by words."""
        if (now := self._next_shot()) is not None:
            filming, shot = now
            self.attempt(lambda: filming.in_words(shot.id))

    def action_skip(self) -> None:
        """Leave out what is next."""
        if (going := self._going()) is None:
            return
        filming, state = going
        now = state.next
        if now.now in (Now.ACKNOWLEDGE, Now.CLOSE):
            self.tell("There is nothing to leave out; z closes the shoot.")
            return
        lost: list[str] = []
        if now.step is not None and now.step.touch is not None:
            found = gate_now(filming.plan, state, now.piece, now.step.touch, left_out=True)
            lost = ["With it are given up:", *say.lost_lines(found, self.session.book)] if not found.clear else []
        title = f"Leave out: {say.big_lines(self.session.book, filming.plan, state)[0]}"

        def leave_out(why: str, wanted: bool) -> None:
            self._tell_pickups(filming.leave_out(now, why, gives_up=wanted))

        self._choose_reason(title, lost, leave_out, esc_word="goes back")

    def _tell_pickups(self, lines: Sequence[LogLine]) -> None:
        if lines:
            told = words.some([clean(line.text) for line in lines], most=3)
            self.tell(f"{words.count(len(lines), 'pickup')}: {told}.")

    def action_box(self) -> None:
        """Box a piece at once, or all that are out."""
        if (going := self._going()) is None:
            return
        filming, state = going
        out = [id for id in state.out if id not in state.staying]
        if not out:
            self.tell("Nothing is out of its box.")
        elif len(out) == 1:
            self._box_now(filming, tuple(out))
        else:
            every = ("", f"all {len(out)} of them")
            options = [every, *((id, self.session.book.piece(id).name) for id in out)]

            def chosen(answer: str | None) -> None:
                if answer is not None:
                    self._box_now(filming, (answer,) if answer else tuple(out))

            self.app.push_screen(ChooseDialog("Box it now: which piece?", options), chosen)

    def _box_now(self, filming: Filming, pieces: Sequence[str]) -> None:
        """Say what is given up, and box the pieces."""
        state, book = filming.state(), self.session.book
        gates = [gate_now(filming.plan, state, piece, Touch.BOX) for piece in pieces]
        lost = [line for found in gates for line in say.lost_lines(found, book, named=len(pieces) > 1)]
        title = f"Box now: {words.listing([book.piece(id).name for id in pieces])}"

        def box(reason: str, _: bool = True) -> None:
            self._tell_pickups(filming.box_now(pieces, reason))

        if lost:
            given_up = ["Given up, to be picked up another day:", *lost]
            self._choose_reason(title, given_up, box, [why for why in Why if why.gives_up], "goes back")
        else:
            self.attempt(lambda: box(""))

    def action_back(self) -> None:
        """Take the last thing put down in this shoot back."""
        if (going := self._going()) is None:
            return
        if self.session.book.log_of(going[0].id):
            self.workroom.action_undo()
        else:
            self.tell("Nothing is put down in this shoot yet.")

    def action_other(self) -> None:
        """Move to the first point unsaid of the next piece in the list."""
        table = self.query_one("#points", RowTable)
        going = self._going() if self.filming is not None and table.row_count else None
        if going is None:
            return
        points = {point.id: point.piece for point in going[0].plan.points}
        here = points.get(row_under_cursor(table), "")
        pieces = list(dict.fromkeys(points[id] for id in self.listed if id not in self.ticked))
        others = [*pieces[pieces.index(here) + 1 :], *pieces[: pieces.index(here)]] if here in pieces else pieces
        if not others:
            self.tell("Nothing is unsaid of another piece.")
            return
        row = next(n for n, id in enumerate(self.listed) if points[id] == others[0] and id not in self.ticked)
        table.move_cursor(row=row, animate=False)

    def action_big(self) -> None:
        """Change between big letters and none."""
        self.big = not self.is_big
        self.listed = ()
        self.ticked = frozenset()
        self.draw()

    def action_roll(self) -> None:
        """A take begins."""
        if (going := self._going()) is not None:
            filming = going[0]
            self.with_reason(filming.roll, "Beyond the light of this year")

    def action_pause(self) -> None:
        """Begin or end a pause."""
        if (going := self._going()) is not None:
            self.attempt(going[0].pause)

    def action_measure(self) -> None:
        """Enter the measured light."""
        going = self._going()
        if going is None:
            return
        filming, state = going

        field = Field("lux", "lux on the piece", str(state.lux) if state.measured else "", entry.lux, "1500")
        intro = "What the meter shows where the piece lies."
        self.ask("Light", [field], lambda answers: filming.measure(answers["lux"]), intro)

    def action_again(self) -> None:
        """Put a further touch on record."""
        going = self._going()
        if going is None:
            return
        filming, state = going
        out = state.out or filming.plan.pieces

        def touch(answers: Mapping[str, Any]) -> None:
            filming.further_touch(answers["piece"], answers["what"])

        fields = [self._piece_field(out, state), Field("what", "what for", "", str, "sleeve laid straight")]
        self.ask("A touch that was not planned", fields, touch)

    def _piece_field(self, ids: tuple[str, ...], state: ShootState) -> Field:
        """A choice of pieces, the one before the camera first."""
        now = state.next.piece if state.next.piece in ids else ids[-1]
        options = tuple((self.session.book.piece(id).name, id) for id in ids)
        return Field("piece", "piece", now, options=options)

    def action_found(self) -> None:
        """Write a discovery down."""
        going = self._going()
        if going is None:
            return
        filming, state = going
        plan, book = filming.plan, self.session.book
        claims = [c.about for id in plan.pieces for c in book.piece(id).claims if not c.superseded]
        about = (("nothing: it is new", ""), *((text, text) for text in dict.fromkeys(claims)))
        shot = state.next.step.shot if state.next.step else None
        now = (shot.aspect or shot.view) if shot else View.FLAT_FACE

        def keep(answers: Mapping[str, Any]) -> None:
            filming.found(
                answers["piece"],
                answers["text"],
                Confidence(answers["confidence"]),
                View(answers["view"]),
                answers["about"],
            )

        fields = [
            Field("text", "what was found", "", entry.words),
            self._piece_field(plan.pieces, state),
            Field("view", "seen in", now.value, options=tuple((v.value, v.value) for v in View)),
            Field("confidence", "held as", "probable", options=tuple((c.value, c.value) for c in Confidence)),
            Field("about", "supersedes the claim", "", options=about),
        ]
        intro = f"The time is kept: {filming.local(self.session.instant()):%H:%M}."
        self.ask("Found", fields, keep, intro)

    def action_pickup(self) -> None:
        """Note something missed."""
        going = self._going()
        if going is None:
            return
        filming, state = going

        def note(answers: Mapping[str, Any]) -> None:
            filming.pickup(answers["piece"], answers["text"], Remedy(answers["remedy"]))

        fields = [
            Field("text", "what is missing", "", entry.words),
            self._piece_field(filming.plan.pieces, state),
            Field("remedy", "cheapest remedy", Remedy.VOICE.value, options=tuple((r.value, r.value) for r in Remedy)),
        ]
        self.ask("Pickup", fields, note)

    def action_pickups(self) -> None:
        """Show the pickups that wait; one that is chosen is mended."""
        going = self._going() if self.filming is not None else None
        set_up_past.open_pickups(self, going[0] if going else None)

    def action_past(self) -> None:
        """Read what became of a shoot."""
        set_up_past.open_past(self)

    def action_sheet(self) -> None:
        """The set-up sheet on paper or a phone."""
        studies = self.filming.shoot.studies if self.filming else self.to_film
        if studies:
            set_up_past.open_sheet(self, studies, self.filming)

    def action_condition(self) -> None:
        """Write the condition of a piece."""
        going = self._going()
        if going is None:
            return
        filming = going[0]
        book = self.session.book
        options = []
        for id in filming.plan.pieces:
            name = short_name(book.piece(id))
            options += [(f"before {id}", f"{name}: before"), (f"after {id}", f"{name}: after")]

        def chosen(answer: str | None) -> None:
            if answer:
                when, _, id = answer.partition(" ")
                self._write_condition(filming, id, after=when == "after")

        self.app.push_screen(ChooseDialog("Condition of", options), chosen)

    def _write_condition(self, filming: Filming, piece: str, *, after: bool) -> None:
        """Ask for the condition with one key; words only for what changed."""
        name = self.session.book.piece(piece).name
        title = f"Condition of {name}, {'after filming' if after else 'before filming'}"
        known = filming.as_before(piece, after=after)

        def chosen(answer: str | None) -> None:
            if answer == "same":
                entries = known or (("all", "sound"),)
                self.attempt(lambda: self._keep_condition(filming, piece, entries, after=after))
            elif answer == "changed":
                self._ask_what_changed(filming, piece, title, known, after=after)
            elif answer == "left out":
                now = Next(Now.AFTER if after else Now.BEFORE, piece)
                self._choose_reason(title, [], lambda why, _: filming.leave_out(now, why), esc_word="goes back")

        self.app.push_screen(ConditionDialog(title, known), chosen)

    def _ask_what_changed(
        self, filming: Filming, piece: str, title: str, known: Sequence[tuple[str, str]], *, after: bool
    ) -> None:
        def write(answers: Mapping[str, Any]) -> None:
            self._keep_condition(filming, piece, answers["condition"], after=after)

        there = "; ".join(f"{place}: {text}" for place, text in known) or "nothing yet"
        intro = f"On record: {there}.\nPlaces that are not named here stay as they were."
        self.ask(title, [Field("condition", "what changed", "", entry.conditions, "hem: one tear")], write, intro)

    def _keep_condition(self, filming: Filming, piece: str, changes: Sequence[tuple[str, str]], *, after: bool) -> None:
        """Put it on record, and tell what is new since before the shoot."""
        new = filming.write_changes(piece, changes, after=after)
        if new:
            told = clean("; ".join(f"{e.place}: {e.text}" for e in new))
            self.notify(f"! New since before the shoot: {told}", severity="warning", markup=False, timeout=10)

    def action_order(self) -> None:
        """Show the run order with what is done; a shot chosen in it is taken again."""
        going = self._going()
        if going is None:
            return
        filming, state = going
        book = self.session.book
        options: list[tuple[str, str]] = []
        at = 0
        for item in filming.plan.set_ups:
            options.append(("", f"Set-up {item.number}: camera {item.camera.value}"))
            for step in item.steps:
                line = say.step_line(book, step, at, state)
                at += 1
                options.append((step.shot.id if step.shot else "", f"  {line}"))

        def chosen(answer: str | None) -> None:
            if answer and answer in state.settled:
                self.attempt(lambda: filming.not_legible(answer))
            elif answer is not None:
                self.tell("Only a shot that is settled can be taken again.")

        self.app.push_screen(ChooseDialog("Run order; Enter on a shot that is done takes it again", options), chosen)

    def action_log(self) -> None:
        """Show the log."""
        going = self._going()
        if going is None:
            return
        filming = going[0]
        lines = [
            log_words(self.session.book, line, clock_at(self.session.book, line.at))
            for line in reversed(self.session.book.log_of(filming.id))
        ]
        self.app.push_screen(NoticeDialog("What happened, the last first", "\n".join(lines) or "Nothing yet."))

    def action_close(self) -> None:
        """Close the shoot."""
        going = self._going()
        if going is None:
            return
        filming, state = going
        if set(state.out) - state.staying:
            self.tell("First back into the boxes; then z closes the shoot.")
            self.action_box()
            return

        def close(reason: str) -> None:
            shoot = filming.id
            filming.close(reason)
            text = record_text(self.session.book, self.session.book.shoot(shoot), set_up_past.SHOWN_WIDTH)
            text += "\n\nL reads it again, S there prints it."
            self.app.call_later(self.app.push_screen, NoticeDialog("The shoot is closed", text))

        self.with_reason(close, "Close the shoot")

    def on_screen_resume(self) -> None:
        """Draw again, and give the list the keys."""
        super().on_screen_resume()
        if self.filming is None or self.query_one("#bench").display:
            self.query_one("#points" if self.filming else "#studies").focus()


def _clock_lines(label: str, value: str, room: int) -> list[str]:
    """A clock in as many lines as its name needs, which is never cut."""
    if len(label) + 1 + len(value) <= room:
        return [f"{label:<{room - len(value)}}{value}"]
    return [*textwrap.wrap(clean(label), room), f"{value:>{room}}"]
