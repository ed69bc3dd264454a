"""The Run-out: how many are left and until when."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Any, ClassVar

from rich.text import Text
from textual import work
from textual.app import ComposeResult
from textual.containers import Container, Horizontal, VerticalScroll
from textual.widgets import DataTable, Static

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.piece import Known
from showrunner.errors import ShowrunnerError
from showrunner.planning.results import RunOut
from showrunner.report import clean, clip, rate_words
from showrunner.storage.atomic import write_whole
from showrunner.tui import entry
from showrunner.tui.base import BookScreen, row_under_cursor
from showrunner.tui.dialogs import ChooseDialog, Field, FormDialog, NoticeDialog, plain
from showrunner.tui.registry import Action, bindings
from showrunner.whatif import Supposed, suppose

ONLY_LOOKED_AT = ("slip-rate", "add-piece")
"""What-ifs that cannot be adopted: the record and the pieces are what they are."""


@dataclass(frozen=True, slots=True)
class WhatIf:
    """One what-if beside the present plan."""

    text: str
    """What was asked, as `kind=value`."""
    supposed: Supposed
    """The changed copy of the book."""
    found: RunOut
    """Its forecast."""


class RunOutScreen(BookScreen):
    """Ranges on the left, the chart on the right, doubts and what-ifs below."""

    DEFAULT_CSS = """
    #figures { height: auto; padding: 0 1; }
    #runout { height: 1fr; }
    #left { width: 44; padding: 0 1; }
    #chart { width: 1fr; min-height: 10; border-left: solid $rule; }
    #doubts { height: auto; max-height: 7; }
    """

    TITLE_WORD = "Run-out"
    ACTIONS: ClassVar[tuple[Action, ...]] = (
        Action("yes", "y", "was shown", "Settle the doubt under the cursor: it was shown.", footer=True),
        Action("no", "n", "was not", "Settle the doubt under the cursor: it was not shown.", footer=True),
        Action("suppose", "f", "what if", "Suppose something and see it beside the present plan.", footer=True),
        Action("adopt", "a", "adopt", "Make the last what-if real."),
        Action("drop", "x", "drop", "Drop the what-ifs; nothing was changed."),
        Action("say", "c", "sentence", "The sentence for viewers, to copy or keep in a file.", footer=True),
        Action("series", "s", "series", "The next series."),
    )
    BINDINGS = bindings(ACTIONS)

    def __init__(self) -> None:
        super().__init__()
        self.found: RunOut | None = None
        self.series: str | None = None
        self.beside: list[WhatIf] = []
        self.busy = ""
        self.trouble = ""

    def body(self) -> ComposeResult:
        """Figures, chart, doubts."""
        with Horizontal(id="runout"):
            with VerticalScroll(id="left"):
                yield Static(id="figures")
            yield Container(id="chart")
        yield DataTable(id="doubts", cursor_type="row", cell_padding=0)

    def on_mount(self) -> None:
        """Make the columns, then draw."""
        table = self.query_one("#doubts", DataTable)
        for label, width in (("doubt, most worth settling first", 36), ("unshown", 9), ("narrows the end by", 20)):
            table.add_column(label, width=width)
        super().on_mount()
        table.focus()
        self.app.theme_changed_signal.subscribe(self, lambda _: self._draw_chart())

    # Drawing

    def draw(self) -> None:
        """Work out the forecast beside the screen."""
        self.beside = []
        self.busy = "Working out the forecast …"
        self._draw_figures()
        self.call_after_refresh(self.think)

    @work(thread=True, exclusive=True, group="runout")
    def think(self) -> None:
        """Work the forecast out."""
        book, found, trouble = self.session.book, None, ""
        try:
            found = self.session.runout(series=self.series)
        except ShowrunnerError as error:
            trouble = error.sentence()
        self.app.call_from_thread(self._thought, book, found, trouble)

    def _thought(self, book: Book, found: RunOut | None, trouble: str) -> None:
        if book is not self.session.book:
            return
        self.found, self.trouble, self.busy = found, trouble, ""
        self._draw_figures()
        self._draw_doubts()
        self._draw_chart()

    def _draw_figures(self) -> None:
        figures = self.query_one("#figures", Static)
        if self.found is None:
            figures.update(plain(self.busy or f"! {self.trouble}"))
            return
        figures.update(Text("\n").join(self._figures(self.found)))

    def _figures(self, found: RunOut) -> list[Text]:
        pieces, studies = words.span(*found.pieces_left), words.span(*found.studies_left)
        ten, fifty, ninety = (_day(day, found) for day in found.quantiles)
        series = self.session.book.series_of(found.series)
        lines = [
            Text(clip(series.name, 42), "bold"),
            *([Text(self.busy)] if self.busy else []),
            Text(f"{pieces} pieces left, in {studies} studies", "bold"),
            Text(""),
            Text(f"10% by {ten}"),
            Text(f"50% by {fifty}", "bold"),
            Text(f"90% by {ninety}"),
            *self._beside(found),
            Text(""),
            self._warning(found),
            Text(f"Slips: {rate_words(found.slip_rate)}", "dim"),
        ]
        lines += [
            Text(f"{clip(risk.title, 28)}: {words.percent(risk.chance)} to miss its window")
            for risk in found.late_risks
        ]
        lines += [Text("Bank: " + "; ".join(f"{b.name} {words.count(b.weeks, 'week')}" for b in found.bank))]
        lines += [Text(f"! {w.text}", "bold") for w in found.warnings if w.code != "run-out"]
        lines += [Text(""), Text(found.statement)]
        return lines

    def _beside(self, found: RunOut) -> list[Text]:
        """The what-ifs beside the present plan: pieces, studies, 50% end."""
        if not self.beside:
            return []
        rows = [Text(""), Text("What if: a adopts the last, x drops", "bold")]
        rows.append(Text("  (pieces in studies; 50%, 90% end)", "dim"))
        for name, other in (("as it is", found), *((w.supposed.words, w.found) for w in self.beside)):
            rows += [Text(f"{clean(name)}:"), Text(f"  {_short(other)}", "" if other is found else "bold")]
        return rows

    def _warning(self, found: RunOut) -> Text:
        speaks = next((w.text for w in found.warnings if w.code == "run-out"), "")
        if speaks:
            return Text(f"! {speaks}", "bold reverse")
        if found.quantiles[1] is None:
            return Text("No run-out in sight.")
        lead = self.session.book.house.warning_lead_weeks
        day = found.quantiles[1] - timedelta(weeks=lead)
        return Text(f"The run-out warning speaks from {words.day(day)} ({lead} weeks ahead).")

    def _draw_doubts(self) -> None:
        table = self.query_one("#doubts", DataTable)
        row = table.cursor_row
        table.clear()
        for doubt in self.found.doubts if self.found else ():
            table.add_row(
                Text(clip(f"? {doubt.name}", 35)),
                Text(f"{int(doubt.chance_unshown * 100)}%", justify="right"),
                Text(words.count(max(0, round(doubt.narrows_days)), "day"), justify="right"),
                key=doubt.piece,
            )
        table.move_cursor(row=row)
        table.display = bool(table.row_count)

    def _draw_chart(self) -> None:
        if self.found is None:
            return
        from textual_plotext import PlotextPlot

        from showrunner.tui.chart import draw

        charts = self.query(PlotextPlot)
        if charts:
            chart = charts.first()
        else:
            chart = PlotextPlot(id="plot")
            self.query_one("#chart").mount(chart)
        colors = None
        if not self.workroom.colorless:
            shades = self.app.theme_variables
            colors = {
                "ground": _rgb(shades["surface"]),
                "text": _rgb(shades["foreground"]),
                "line": _rgb(shades["primary"]),
                "edge": _rgb(shades["secondary"]),
            }
        draw(chart.plt, self.found, self.session.today, colors=colors)
        chart.refresh()

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

    def action_suppose(self) -> None:
        """Ask what to suppose."""
        if self.found is None:
            return
        book, series = self.session.book, self.session.book.series_of(self.found.series)
        options = [
            ("spacing", f"another spacing (now {series.min_weeks}, {series.target_weeks}, {series.max_weeks} weeks)"),
            ("slip-rate", "another slip rate"),
            ("add-piece", "more pieces to show"),
        ]
        for study in book.open_studies:
            if study.series == series.id and len(study.pieces) == 2:
                options.append((f"unpair={study.id}", f"{study.title} split in two"))
            if study.series == series.id and study.windows:
                options.append((f"drop-window={study.id}", f"{study.title} without its window"))

        def chosen(answer: str | None) -> None:
            if answer is None:
                return
            if "=" in answer:
                self._suppose(answer)
                return
            now = {
                "spacing": f"{series.min_weeks},{series.target_weeks},{series.max_weeks}",
                "slip-rate": "0.1",
                "add-piece": "1",
            }[answer]

            def save(answers: Mapping[str, Any]) -> None:
                suppose(book, series.id, f"{answer}={answers['value']}")
                self._suppose(f"{answer}={answers['value']}")

            field = Field("value", answer, now, entry.words)
            self.app.push_screen(FormDialog("What if", [field], save, "It is tried on a copy; nothing changes."))

        self.app.push_screen(ChooseDialog("What if there were", options), chosen)

    @work(thread=True, exclusive=True, group="suppose")
    def _suppose(self, text: str) -> None:
        """Work a what-if out on a copy and show it beside the present plan."""
        book, found = self.session.book, self.found
        assert found is not None
        self.app.call_from_thread(self._say_busy, "Working out the what-if …")
        try:
            supposed = suppose(book, found.series, text)
            other = self.session.runout(series=found.series, slip_rate=supposed.slip_rate, book=supposed.book)
        except ShowrunnerError as error:
            self.app.call_from_thread(self._say_busy, "")
            self.app.call_from_thread(self.tell_trouble, error)
            return
        self.app.call_from_thread(self._supposed, book, WhatIf(text, supposed, other))

    def _say_busy(self, text: str) -> None:
        self.busy = text
        self._draw_figures()

    def _supposed(self, book: Book, what_if: WhatIf) -> None:
        """Show a what-if, unless the book or the series changed while it was worked out."""
        if book is not self.session.book or self.found is None or what_if.found.series != self.found.series:
            self.tell(f"The book changed meanwhile, so this what-if was dropped: {what_if.supposed.words}.")
            return
        self.busy = ""
        self.beside = [*self.beside, what_if][-3:]
        self._draw_figures()

    def action_adopt(self) -> None:
        """Make the last what-if real."""
        if not self.beside:
            self.tell("Suppose something first: f.")
            return
        last = self.beside[-1]
        if last.text.partition("=")[0] in ONLY_LOOKED_AT:
            self.tell("This one can only be looked at: the record and the pieces are what they are.")
            return
        self.perform(f"adopt {last.supposed.words}", lambda _: last.supposed.book)

    def action_drop(self) -> None:
        """Drop the what-ifs."""
        self.beside = []
        self._draw_figures()

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
        sentence = self.found.statement
        self.app.copy_to_clipboard(sentence)

        def chosen(answer: str | None) -> None:
            if answer == "read":
                self.app.push_screen(NoticeDialog("For viewers", sentence))
            elif answer == "file":
                path = Path(self.session.path).with_name("for-viewers.txt")
                try:
                    write_whole(path, f"{sentence}\n".encode(), self.session.path)
                except ShowrunnerError as error:
                    self.tell_trouble(error)
                    return
                self.tell(f"Written to {path}.")

        options = [("read", sentence), ("file", "keep it in a file beside the book")]
        title = "For viewers (sent to the clipboard, if the terminal passes it on)"
        self.app.push_screen(ChooseDialog(title, options), chosen)


def _day(day: Any, found: RunOut) -> str:
    return words.short_day(day) if day else f"after {words.day(found.horizon_end)}"


def _short(found: RunOut) -> str:
    """Pieces in studies, and the 50% and 90% end, in one line of 37 characters at most."""
    ends = [f"{day.day} {day:%b %y}" if day else "beyond" for day in found.quantiles[1:]]
    left = f"{words.span(*found.pieces_left)} in {words.span(*found.studies_left)}"
    return f"{left}; {ends[0]}, {ends[1]}"


def _rgb(color: str) -> tuple[int, int, int]:
    from textual.color import Color

    return Color.parse(color).rgb
