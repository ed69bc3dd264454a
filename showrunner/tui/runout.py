"""The Run-out: how many are left and until when."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.widgets import DataTable, Static

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.glossary import Where
from showrunner.domain.piece import Known
from showrunner.domain.record import record
from showrunner.errors import ShowrunnerError
from showrunner.planning.handover import Handover
from showrunner.planning.results import RunOut
from showrunner.report import (
    ASSUMED,
    clean,
    clip,
    dates_words,
    end_words,
    held_words,
    in_one,
    left_to_settle,
    looks_table,
    once_adopted,
    outlook_head,
    outlook_row,
    outlook_rows,
    rate_brief,
    rate_words,
    stale_words,
)
from showrunner.shopping import handover_line, next_handover, then_brief
from showrunner.storage.atomic import write_whole
from showrunner.supposing import suppose
from showrunner.tui.base import THOUGHT, BookScreen, row_under_cursor
from showrunner.tui.beside import beside
from showrunner.tui.chart import FEWEST_ROWS, PiecesLeft
from showrunner.tui.dialogs import ChooseDialog, FormDialog, NoticeDialog, plain
from showrunner.tui.ledger import OFFER_SECONDS
from showrunner.tui.preview import PLAN_SECONDS
from showrunner.tui.registry import Action, bindings
from showrunner.tui.what_if_forms import asks
from showrunner.what_if_kinds import Kind
from showrunner.whatif import Outlook, adopt, outlook

if TYPE_CHECKING:
    from showrunner.planning.backtest import Backtest

DOUBT_LINES = 7
"""Lines that the doubts take at most."""

ABOVE_AND_BELOW = 4
"""Lines of the line on top, the end in a sentence and the keys."""

PLAN_ANEW = "plan anew (2, then p)"
"""What is done next where dates are to be settled."""


@record
class Beside:
    """What-ifs beside the present plan."""

    texts: tuple[str, ...]
    """What was asked, each as `kind=value`."""
    outlook: Outlook
    """What they would bring, together and each alone."""


class RunOutScreen(BookScreen):
    """Ranges on the left, the chart on the right, what-ifs and doubts below."""

    DEFAULT_CSS = """
    #headline { height: auto; padding: 0 1; text-style: bold; }
    #figures { height: auto; }
    #runout { height: 1fr; }
    #left { width: 41; padding: 0 1; }
    #chart { width: 1fr; height: 1fr; border-left: solid $rule; padding: 0 0 0 1; }
    #beside { height: auto; max-height: 24; padding: 0 1; display: none; }
    RunOutScreen.crowded #runout { display: none; }
    RunOutScreen.crowded #beside { height: 1fr; max-height: 100%; }
    #doubts { height: auto; max-height: 7; }
    """

    TITLE_WORD = "Run-out"
    WHERE = Where.RUN_OUT
    ACTIONS: ClassVar[tuple[Action, ...]] = (
        Action("yes", "y", "was shown", "Settle the doubt under the cursor: it was shown.", footer=True),
        Action("no", "n", "was not", "Settle the doubt under the cursor: it was not shown.", footer=True),
        Action(
            "suppose", "f", "what if", "Suppose something, or one thing more, beside the present plan.", footer=True
        ),
        Action("adopt", "a", "adopt", "Make all the what-ifs real, in one step that u takes back."),
        Action("drop", "x", "drop", "Drop the last what-if; nothing was changed."),
        Action("drop_all", "X", "drop all", "Drop all the what-ifs; nothing was changed."),
        Action("say", "c", "sentence", "The sentence for viewers, to copy or keep in a file.", footer=True),
        Action(
            "basis",
            "i",
            "rests on",
            "What the forecast rests on: the dates, and how often a slot is missed.",
        ),
        Action("pairs", "p", "pairs", "Which pieces could be one study: what is alike, what differs, and the cost."),
        Action("look_back", "b", "look back", "What would have been said at each past month, and how often it held."),
        Action("series", "s", "series", "The next series."),
    )
    BINDINGS = bindings(ACTIONS)

    def __init__(self) -> None:
        super().__init__()
        self.found: RunOut | None = None
        self.series: str | None = None
        self.beside: list[Beside] = []
        self.asked: list[str] = []
        """What-ifs to be worked out, each as `kind=value`; the first is at it."""
        self.next_step = ""
        self.looks: tuple[Backtest, ...] = ()
        self.handover: Handover | None = None
        self.busy = ""
        self.trouble = ""

    def body(self) -> ComposeResult:
        """The end in a sentence, figures, chart, what-ifs, doubts."""
        yield Static(id="headline")
        with Horizontal(id="runout"):
            with VerticalScroll(id="left"):
                yield Static(id="figures")
            yield PiecesLeft(id="chart")
        with VerticalScroll(id="beside"):
            yield Static(id="what-ifs")
        yield DataTable(id="doubts", cursor_type="row", cell_padding=0)

    def on_mount(self) -> None:
        """Make the columns, then draw."""
        table = self.query_one("#doubts", DataTable)
        for label, width in (("doubt, most worth settling first", 36), ("unshown", 9), ("narrows the end by", 20)):
            table.add_column(label, width=width)
        super().on_mount()
        table.focus()

    # Drawing

    def draw(self) -> None:
        """Work out the forecast beside the screen."""
        self.beside, self.next_step, self.handover = [], "", None
        self.busy = "Working out the forecast …"
        self._draw_figures()
        self._draw_beside()
        self.think_soon()

    @beside(THOUGHT)
    def think(self) -> None:
        """Work the forecast out, then what the plan that stands leaves to do."""
        book, found, trouble = self.session.book, None, ""
        try:
            found = self.session.runout(series=self.series)
            self.app.call_from_thread(self._thought, book, found, "")
            standing = self.session.standing(time_limit=OFFER_SECONDS, book=book)
            self.app.call_from_thread(self._settled, book, in_one(left_to_settle(book, standing)))
            handover = next_handover(self.session)
            self.app.call_from_thread(self._handed_over, book, handover)
            looks = self.session.backtests(found)
            self.app.call_from_thread(self._looked_back, book, looks)
        except ShowrunnerError as error:
            trouble = error.sentence()
            self.app.call_from_thread(self._thought, book, found, trouble)

    def _thought(self, book: Book, found: RunOut | None, trouble: str) -> None:
        if book is not self.session.book:
            return
        self.found, self.trouble, self.busy = found, trouble, ""
        self.beside = [seen for seen in self.beside if found and seen.outlook.together.series == found.series]
        self._draw_figures()
        self._draw_beside()
        self._draw_doubts()

    def _settled(self, book: Book, next_step: str) -> None:
        if book is self.session.book:
            self.next_step = next_step
            self._draw_figures()

    def _handed_over(self, book: Book, handover: Handover | None) -> None:
        if book is self.session.book:
            self.handover = handover
            self._draw_figures()

    def _looked_back(self, book: Book, looks: tuple[Backtest, ...]) -> None:
        if book is self.session.book:
            self.looks = looks
            self._draw_figures()

    def _draw_figures(self) -> None:
        figures = self.query_one("#figures", Static)
        self.query_one("#chart", PiecesLeft).show(self.found)
        if self.found is None:
            figures.update(plain(self.busy or f"! {self.trouble}"))
            self.put("#headline", "", may_wrap=True)
            return
        figures.update(Content("\n").join(self._figures(self.found)))
        name = self.session.book.series_of(self.found.series).name
        end = end_words(self.found)
        self.put("#headline", f"{clip(name, 42)}: {end[0].lower()}{end[1:]}", may_wrap=True)

    def _figures(self, found: RunOut) -> list[Content]:
        """What is most worth knowing below the end: what is left, trouble, and what to do next."""
        pieces, studies = words.span(*found.pieces_left), words.span(*found.studies_left)
        lines = [
            *([Content(self.busy)] if self.busy else []),
            Content(f"{pieces} pieces left, in {studies} studies"),
            self._warning(found),
        ]
        lines += [Content.styled(f"! {clean(w.text)}", "bold $error") for w in found.warnings if w.code != "run-out"]
        if step := self.next_step:
            lines.append(Content.styled(f"▸ {step[:1].upper()}{step[1:]}; {PLAN_ANEW}.", "bold $accent"))
        lines += [
            plain(f"{clip(risk.title, 28)}: {words.percent(risk.chance)} to miss its window")
            for risk in found.late_risks
        ]
        lines += [
            Content.styled(dates_words(found.dates), "$muted"),
            Content.styled(f"Slips: {rate_brief(found.slip_rate)}", "$muted"),
            plain("Bank: " + "; ".join(f"{b.name} {words.count(b.weeks, 'week')}" for b in found.bank)),
        ]
        if (after := self.handover) and after.after in ("", found.series):
            lines += [Content(""), plain(handover_line(self.session.book, after))]
        lines += [Content(""), plain(found.statement), Content.styled(stale_words(found), "$muted")]
        return [*lines, *([Content(""), plain(held_words(self.looks))] if self.looks else [])]

    def _draw_beside(self) -> None:
        """The what-ifs beside the present plan: pieces, studies, 50% and 90% end.

        Where there is no room for them and a chart, figures and chart give way until they are dropped.
        """
        panel = self.query_one("#beside")
        panel.display = bool(self.beside)
        self.set_class(False, "crowded")
        if not self.beside or self.found is None:
            return
        seen, width = self.beside[-1].outlook, self.size.width - 2
        rows = outlook_rows(self.found, seen)
        head = self.busy or "what if: a adopts, x drops the last"
        lines = [Content.styled(outlook_head(width, head), "$muted underline")]
        for label, other in rows:
            lines.append(Content.styled(outlook_row(label, other, width), "bold" if other is seen.together else ""))
        if opening := then_brief(seen):
            lines.append(plain(opening))
        if then := once_adopted(seen):
            lines.append(Content.styled(f"▸ Once adopted: {then}; {PLAN_ANEW}.", "bold $accent"))
        text = Content("\n").join(lines)
        self.query_one("#what-ifs", Static).update(text)
        doubts = self.query_one("#doubts", DataTable)
        room = self.size.height - ABOVE_AND_BELOW - min(DOUBT_LINES, doubts.row_count + 1) * doubts.display
        self.set_class(text.get_height({}, width) + FEWEST_ROWS > room, "crowded")
        self.call_after_refresh(panel.scroll_end, animate=False)  # of many, all together and what is next

    def on_resize(self) -> None:
        """Give the what-ifs the width there is."""
        if self.found:
            self._draw_beside()

    def _warning(self, found: RunOut) -> Content:
        speaks = next((w.text for w in found.warnings if w.code == "run-out"), "")
        if speaks:
            return Content.styled(f"! {clean(speaks)}", "bold reverse")
        if found.quantiles[1] is None:
            return Content("No run-out in sight.")
        lead = self.session.book.house.warning_lead_weeks
        day = found.quantiles[1] - timedelta(weeks=lead)
        return Content(f"The run-out warning speaks from {words.day(day)} ({lead} weeks ahead).")

    def _draw_doubts(self) -> None:
        table = self.query_one("#doubts", DataTable)
        row = table.cursor_row
        table.clear()
        for doubt in self.found.doubts if self.found else ():
            table.add_row(
                Text(clip(f"? {doubt.name}", 35)),
                Text(f"{int(doubt.chance_unshown * 100)}%", justify="right"),
                Text(words.weeks(max(0, round(doubt.narrows_days))), justify="right"),
                key=doubt.piece,
            )
        table.move_cursor(row=row)
        table.display = bool(table.row_count)

    # Doubts

    def _doubt(self) -> str | None:
        piece = row_under_cursor(self.query_one("#doubts", DataTable))
        if not piece:
            self.tell("There is no doubt to settle.")
        return piece or None

    def action_yes(self) -> None:
        """Settle: it was shown."""
        self._settle(Known.YES)

    def action_no(self) -> None:
        """Settle: it was not shown."""
        self._settle(Known.NO)

    def _settle(self, known: Known) -> None:
        piece = self._doubt()
        if piece is not None:
            self.settle(self.session.book.piece(piece), known, "settled")

    # What-ifs

    @property
    def texts(self) -> tuple[str, ...]:
        """What is supposed, each as `kind=value`."""
        return self.beside[-1].texts if self.beside else ()

    def action_suppose(self) -> None:
        """Ask what to suppose, beside what is supposed already."""
        if self.found is None:
            return
        book, series = self.session.book, self.session.book.series_of(self.found.series)
        answers = asks(book, series)
        options = [(kind.value, ask.label) for kind, ask in answers.items()]
        for study in book.open_studies:
            if study.series == series.id and len(study.pieces) == 2:
                options.append((f"{Kind.UNPAIR}={study.id}", f"{study.title} split in two"))
            if study.series == series.id and study.windows:
                options.append((f"{Kind.DROP_WINDOW}={study.id}", f"no window for {study.title}"))

        def chosen(answer: str | None) -> None:
            if answer is None:
                return
            if "=" in answer:
                self._suppose(answer)
                return
            ask = answers[Kind(answer)]

            def save(typed: Mapping[str, Any]) -> None:
                text = ask.text(*map(str, typed.values()))
                suppose(book, series.id, (*self.texts, text))
                self._suppose(text)

            intro = "It is tried on a copy; nothing changes."
            self.app.push_screen(
                FormDialog(f"What if there were {ask.label}", ask.fields, save, intro, save_word="Try it")
            )

        title = "What if there were also" if self.beside else "What if there were"
        self.app.push_screen(ChooseDialog(title, options), chosen)

    def action_pairs(self) -> None:
        """Look through the pairs that could be one study; the one chosen is supposed."""
        if self.found is None:
            return
        from showrunner.planning.pairing import pairings
        from showrunner.tui.pairs import PairsDialog

        book = self.session.book
        pairs = pairings(book, book.series_of(self.found.series))
        if not pairs:
            self.tell("No two pieces that are left could be one study.")
            return

        def chosen(text: str | None) -> None:
            if text is not None:
                self._suppose(text)

        self.app.push_screen(PairsDialog(self.session, self.found, pairs), chosen)

    def _suppose(self, text: str) -> None:
        """Work a what-if out on a copy, one more than before, and show it beside the present plan; each in its turn."""
        self.asked.append(text)
        if len(self.asked) == 1:
            self._look_on()

    def _look_on(self) -> None:
        """Work out the next what-if that was asked for, if there is one."""
        if not self.asked or self.found is None:
            self.asked.clear()
            return
        self._say_busy("Working out the what-if …")
        before = self.beside[-1].outlook if self.beside else None
        self._look_out(self.session.book, self.found.series, (*self.texts, self.asked[0]), before)

    @beside("suppose")
    def _look_out(self, book: Book, series: str, texts: tuple[str, ...], before: Outlook | None) -> None:
        try:
            seen = outlook(self.session, series, texts, time_limit=PLAN_SECONDS, before=before)
        except ShowrunnerError as error:
            self.app.call_from_thread(self._not_supposed, error)
        else:
            self.app.call_from_thread(self._supposed, book, Beside(texts, seen))

    def _not_supposed(self, error: ShowrunnerError) -> None:
        """Tell why a what-if cannot be, and go on with the next."""
        self.asked.pop(0)
        self._say_busy("")
        self.tell_trouble(error)
        self._look_on()

    def _say_busy(self, text: str) -> None:
        self.busy = text
        self._draw_figures()
        self._draw_beside()

    def _supposed(self, book: Book, seen: Beside) -> None:
        """Show a what-if and go on with the next, unless the book, the series or the others changed meanwhile."""
        same = self.found is not None and seen.outlook.together.series == self.found.series
        if book is self.session.book:
            self._say_busy("")
        if book is not self.session.book or not same or seen.texts[:-1] != self.texts:
            more = " So was what you asked after it." if len(self.asked) > 1 else ""
            self.asked.clear()
            dropped = seen.outlook.each[-1].what_if.words
            self.tell(f"Something changed meanwhile, so this what-if was dropped: {dropped}.{more}")
            return
        self.asked.pop(0)
        self.beside = [*self.beside, seen]
        self._draw_beside()
        self._look_on()

    def action_adopt(self) -> None:
        """Make all the what-ifs real, as one step that undo takes back."""
        if not self.beside:
            self.tell("Suppose something first: f.")
            return
        supposed, before = self.beside[-1].outlook.supposed, self.session.book
        if self.attempt(lambda: adopt(self.session, supposed)):
            same = self.session.book is before
            self.tell("That is how it is already." if same else f"Adopted: {supposed.words}. u takes it back.")

    def action_drop(self) -> None:
        """Drop the last what-if."""
        self.beside = self.beside[:-1]
        self._draw_beside()

    def action_drop_all(self) -> None:
        """Drop the what-ifs."""
        self.beside = []
        self._draw_beside()

    def action_basis(self) -> None:
        """Say what the forecast rests on."""
        if self.found is not None:
            told = f"{dates_words(self.found.dates)}\n\nSlips: {rate_words(self.found.slip_rate)}"
            self.app.push_screen(NoticeDialog("What the forecast rests on", told))

    def action_look_back(self) -> None:
        """Hold the forecast against the record, month by month."""
        if self.looks:
            parts = [held_words(self.looks)]
            if self.looks[0].looks:
                parts += [looks_table(self.looks), *ASSUMED]
            self.app.push_screen(NoticeDialog("Looking back", "\n\n".join(parts)))
        else:
            self.tell("Still looking back; try again in a moment.")

    def action_series(self) -> None:
        """The next series."""
        ids = [series.id for series in self.session.book.series]
        if self.found and len(ids) > 1:
            self.series = ids[(ids.index(self.found.series) + 1) % len(ids)]
            self.keep_up(force=True)

    # The sentence for viewers

    def action_say(self) -> None:
        """Show the sentence for viewers; send it to the clipboard, and offer a file."""
        if self.found is None:
            return
        sentence, stale = self.found.statement, stale_words(self.found)
        self.app.copy_to_clipboard(sentence)
        path = Path(self.session.path).with_name("for-viewers.txt")

        def chosen(answer: str | None) -> None:
            if answer == "read":
                self.app.push_screen(NoticeDialog("For viewers", f"{sentence}\n\n{stale}"))
            elif answer == "file":
                try:
                    write_whole(path, f"{sentence}\n\n{stale}\n".encode(), like=self.session.path)
                except ShowrunnerError as error:
                    self.tell_trouble(error)
                    return
                self.tell(f"Written to {path}.")

        instead = ", in place of what stands there" if path.exists() else ""
        options = [("read", sentence), ("file", f"keep it in {path.name} beside the book{instead}")]
        title = "For viewers (sent to the clipboard, if the terminal passes it on)"
        self.app.push_screen(ChooseDialog(title, options), chosen)
