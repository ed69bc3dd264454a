"""The stocktake: the doubts one after the other, the most valuable first, each settled with one key."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any, ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Static

from showrunner.domain import edits, words
from showrunner.domain.book import Book
from showrunner.domain.glossary import Where
from showrunner.domain.piece import Known, Piece
from showrunner.errors import ShowrunnerError
from showrunner.planning import stocktake
from showrunner.planning.results import Doubt, RunOut
from showrunner.planning.stocktake import Walk
from showrunner.report import clean, clip
from showrunner.tui import entry
from showrunner.tui.base import BookScreen, settled
from showrunner.tui.beside import beside
from showrunner.tui.dialogs import Field, FormDialog, plain
from showrunner.tui.once import FinishesOnce
from showrunner.tui.piece_text import MARKS, SAFETY, handling
from showrunner.tui.registry import Action, bindings

OCCASION = "stocktake"
"""How a doubt was settled, as its evidence says."""

ANSWERS = (("it was shown", Known.YES.value), ("it was not shown", Known.NO.value), ("still unsure", "unsure"))

KEPT_ABOVE = 2
"""Settled doubts that stay in sight above the one in view."""


class StocktakeScreen(FinishesOnce, BookScreen):
    """What is left on top, one doubt big, all doubts below; the walk follows the book, so undo brings one back."""

    DEFAULT_CSS = """
    #range { height: auto; padding: 0 1; }
    #doubt { height: auto; max-height: 10; padding: 1 2; overflow-y: auto; }
    #answers { height: auto; padding: 0 2 1 2; }
    #walk { height: 1fr; border-top: solid $rule; padding: 0 1; }
    """

    TITLE_WORD = "Stocktake"
    WHERE = Where.REGISTER
    PART_OF = "Register"
    ACTIONS: ClassVar[tuple[Action, ...]] = (
        Action("yes", "y", "shown", "It was shown: settles the doubt.", footer=True),
        Action("no", "n", "not shown", "It was not shown: settles the doubt.", footer=True),
        Action("later", "space,down", "later", "Leave it for later: it goes to the end of the walk.", footer=True),
        Action("odds", "o", "odds", "Still unsure: other odds, and what they rest on; then the next doubt."),
        Action("evidence", "e", "in words", "Settle it, or not yet, in words: what it rests on, and when it was."),
        Action("end", "escape", "end", "End the stocktake; everything is saved already.", footer=True),
    )
    BINDINGS = bindings(ACTIONS)

    def __init__(self) -> None:
        super().__init__()
        self.walk = Walk()
        self.began: dict[str, tuple[int, int]] = {}
        self.first: dict[str, RunOut] = {}
        self.forecasts: dict[str, RunOut] = {}
        self.forecast_of: Book | None = None
        self.trouble = ""
        self.waiting = True
        self.thinking = False

    def body(self) -> ComposeResult:
        """What is left, the doubt in view, what each answer would leave, and the walk."""
        yield Static(id="range")
        yield Static(id="big")
        yield Static(id="doubt")
        yield Static(id="answers")
        with VerticalScroll(id="walk", can_focus=False):
            yield Static(id="lines")

    # Following the book

    def draw(self) -> None:
        """Follow the book, show what is known at once, and work the forecast out beside the screen."""
        book = self.session.book
        for collection in book.collections:
            self.began.setdefault(collection.id, stocktake.left(book, collection.id))
        self.waiting = self.waiting and bool(stocktake.series_to_forecast(book))
        self.walk = self.walk.follow(book, stocktake.line_up(book, self.forecasts.values()))
        self._draw()
        self._think_again()

    def _think_again(self) -> None:
        """Work the forecast out unless that is going on; then it is seen to when it ends."""
        if not self.thinking and stocktake.series_to_forecast(self.session.book):
            self.thinking = True
            self.call_after_refresh(self.work_out, self.session.book)

    @beside("stocktake")
    def work_out(self, book: Book) -> None:
        """Work the forecast of every series out."""
        found: dict[str, RunOut] = {}
        trouble = ""
        for series in stocktake.series_to_forecast(book):
            try:
                found[series.collection] = self.session.runout(series=series.id, book=book)
            except ShowrunnerError as error:
                trouble = error.sentence()
        self.app.call_from_thread(self._thought, book, found, trouble)

    def _thought(self, book: Book, found: dict[str, RunOut], trouble: str) -> None:
        """Take a forecast over; if the book has changed meanwhile, its order still serves, and another one is begun."""
        self.thinking = False
        if not self.is_attached:
            return
        self.first = self.first or found
        self.forecasts, self.forecast_of, self.trouble = found, book, trouble
        order = stocktake.line_up(self.session.book, found.values())
        if self.waiting:
            self.walk = self.walk.begin_with_most_worth(order)
            self.waiting = False
        self.walk = self.walk.follow(self.session.book, order)
        self._draw()
        if book is not self.session.book:
            self._think_again()

    def _forecast(self, collection: str) -> RunOut | None:
        """The forecast of a collection, if it is that of the book as it is now."""
        return self.forecasts.get(collection) if self.forecast_of is self.session.book else None

    # Drawing

    @property
    def current(self) -> Piece | None:
        """The doubt in view."""
        return None if self.waiting or not self.walk.now else self.session.book.piece(self.walk.now)

    def _draw(self) -> None:
        piece = self.current
        self.query_one("#range", Static).update(Text("\n").join(self._range()))
        self.query_one("#big", Static).update(plain(self._big(piece)))
        doubt, answers = self.query_one("#doubt", Static), self.query_one("#answers", Static)
        doubt.update(plain("\n".join(about(self.session.book, piece) if piece else self._instead())))
        answers.update(self._answers(piece) if piece else "")
        answers.display = piece is not None
        self.query_one("#lines", Static).update(Text("\n").join(self._lines()))
        if self.walk.now:
            self.query_one("#walk").scroll_to(y=max(0, len(self.walk.settled) - KEPT_ABOVE), animate=False)

    def _range(self) -> list[Text]:
        """What is left now, and when the stocktake began: of the collection of the doubt in view."""
        book = self.session.book
        doubt = self.walk.now or (self.walk.settled[-1] if self.walk.settled else "")
        if not doubt:
            return [Text("")]
        collection = book.piece(doubt).collection
        several = len({piece.collection for piece in stocktake.pieces_of(book)}) > 1
        name = [Text(clip(book.collection(collection).name, 76), "bold")] if several else []
        forecast = self._forecast(collection)
        now = left_words(stocktake.left(book, collection), forecast)
        if forecast is None and self.thinking:
            now += ", the end is being worked out …"
        then = left_words(self.began[collection], self.first.get(collection))
        same = self.began[collection] == stocktake.left(book, collection)
        lines = [*name, Text(f"Left now    {now}", "bold"), Text(f"At first    {'the same' if same else then}", "dim")]
        return [*lines, Text(f"! No end can be worked out: {clean(self.trouble)}")] if self.trouble else lines

    def _big(self, piece: Piece | None) -> str:
        if piece:
            return f"{piece.id}  {piece.name}\n{where(self.session.book, piece)}"
        if self.waiting:
            return "Working out which doubt is most worth settling …"
        return "Every doubt is settled."

    def _instead(self) -> list[str]:
        """What stands in place of a doubt: that one can begin at once, or what it all came to and what comes next."""
        if self.waiting:
            return ["Space begins at once, with the odds nearest to even."]
        return came_to(self.session.book, self.walk, self.began, {} if self.thinking else self.forecasts)

    def _answers(self, piece: Piece) -> Text:
        """What each key would leave, and what settling is worth."""
        shown, unshown = (words.span(*span) for span in stocktake.if_settled(self.session.book, piece.id))
        keys = f"y shown: {shown} left   n not shown: {unshown} left   o odds   e in words"
        forecast = self._forecast(piece.collection)
        found = stocktake.doubt_in([forecast], piece.id) if forecast else None
        if forecast and found:
            told = worth(found, forecast.horizon_end)
        else:
            told = "What it would narrow is being worked out …" if self.thinking else ""
        return Text.assemble((keys, "bold"), f"\n{told}" if told else "")

    def _lines(self) -> list[Text]:
        """The walk: what is settled, the doubt in view, what comes."""
        book = self.session.book
        lines = [self._line(book.piece(id), "") for id in self.walk.settled]
        lines += [
            self._line(book.piece(id), "▸" if id == self.walk.now and not self.waiting else "") for id in self.walk.open
        ]
        soft = stocktake.unsupported(book)
        if soft:
            names = ", ".join(f"{piece.id} {piece.name}" for piece in soft)
            lines.append(Text(f"Shown, but nothing says when ({len(soft)}, in no range): {clean(names)}", "dim"))
        return lines

    def _line(self, piece: Piece, mark: str) -> Text:
        state = MARKS[piece.shown.known]
        if piece.shown.known is Known.UNSURE:
            state += f", {piece.shown.odds_unshown}% not" + (", later" if piece.id in self.walk.later else "")
        place = f"box {piece.box}" if piece.box else ""
        text = f"{mark:<2}{clip(piece.id, 6):<7}{clip(piece.name, 31):<33}{state:<26}{clip(place, 9)}"
        return Text(text.rstrip(), "bold" if mark else "" if piece.shown.known is Known.UNSURE else "dim")

    # Answering

    def _asked(self) -> Piece | None:
        """The doubt a key answers for; a key pressed before one is in view only begins the walk."""
        if self.waiting:
            self.waiting = False
            self._draw()
            return None
        if self.current is None:
            self.tell("Every doubt is settled. Esc ends the stocktake.")
        return self.current

    def action_yes(self) -> None:
        """Settle: it was shown."""
        self._settle(Known.YES)

    def action_no(self) -> None:
        """Settle: it was not shown."""
        self._settle(Known.NO)

    def _settle(self, known: Known) -> None:
        piece = self._asked()
        if piece:
            self.settle(piece, known, OCCASION)

    def action_later(self) -> None:
        """Leave the doubt for later."""
        if self._asked() is None:
            return
        if not self.walk.coming:
            self.tell("It is the last doubt that is open.")
        self.walk = self.walk.leave()
        self._draw()

    def action_odds(self) -> None:
        """Give other odds, and what they rest on."""
        piece = self._asked()
        if piece is None:
            return

        def save(answers: Mapping[str, Any]) -> None:
            self._save_unsure(
                f"other odds of {piece.name}",
                piece,
                lambda book: edits.mark_shown(
                    book,
                    piece.id,
                    Known.UNSURE,
                    odds=answers["odds"],
                    evidence=answers["evidence"].strip(),
                    when=piece.shown.when,
                ),
            )

        fields = [
            Field("odds", "% that it is unshown", str(piece.shown.odds_unshown), entry.whole(1, 99)),
            Field("evidence", "what that rests on", piece.shown.evidence),
        ]
        self.app.push_screen(FormDialog(f"Unsure: {piece.name}", fields, save))

    def action_evidence(self) -> None:
        """Settle it, or not yet, in words."""
        piece = self._asked()
        if piece is None:
            return
        on = self.session.today

        def save(answers: Mapping[str, Any]) -> None:
            known = Known(answers["known"])
            self._save_unsure(
                settled(piece, known),
                piece,
                lambda book: edits.settle(
                    book, piece.id, known, on=on, how=OCCASION, rests_on=answers["rests_on"], when=answers["when"].date
                ),
            )

        fields = [
            Field("rests_on", "what it rests on", "", entry.words, "seen in the second wardrobe film"),
            Field("known", "so", Known.YES.value, options=ANSWERS),
            Field("when", "shown on", "", entry.written, "13 June 2021, about 2021; empty if not known"),
        ]
        intro = f"It rested on: {piece.shown.evidence or 'nothing'}. That is kept."
        self.app.push_screen(FormDialog(f"{piece.id}  {piece.name}", fields, save, intro))

    def _save_unsure(self, label: str, piece: Piece, edit: Any) -> None:
        """Save, and go on to the next doubt if this one is still open."""
        self.save_with(label, edit)
        if self.walk.now == piece.id:
            self.walk = self.walk.leave()
            self._draw()

    def action_end(self) -> None:
        """End the stocktake."""
        self.dismiss()


def left_words(left: tuple[int, int], forecast: RunOut | None) -> str:
    """What is left: `6–8 pieces, 5–7 studies, the end between October and November 2026`; counts where no end is known.

    Args:
        left: least and most pieces left.
        forecast: the run-out of the same book; None if there is none.
    """
    text = f"{words.span(*left)} {'piece' if left == (1, 1) else 'pieces'}"
    if forecast is None:
        return text
    studies = forecast.studies_left
    text += f", {words.span(*studies)} {'study' if studies == (1, 1) else 'studies'}"
    if studies[1] == 0:
        return text
    return f"{text}, the end {stocktake.end_words(forecast.quantiles, forecast.horizon_end)}"


def worth(doubt: Doubt, horizon_end: date) -> str:
    """What settling a doubt is expected to narrow, and the end that each answer would leave."""
    days = round(doubt.narrows_days)
    text = f"Settling it is expected to narrow the end by {words.weeks(days)}."
    if days <= 0:
        text = "Settling it is not expected to narrow the end."
    shown, unshown = (stocktake.end_words(s.quantiles, horizon_end) for s in (doubt.if_shown, doubt.if_unshown))
    if shown == unshown:
        return f"{text} Either way the end comes {shown}."
    return f"{text} Shown: the end {shown}; not shown: {unshown}."


def where(book: Book, piece: Piece) -> str:
    """Where to fetch a piece."""
    box = book.find("boxes", piece.box)
    if not piece.box:
        return "in no box that the book knows"
    layer = f", layer {piece.layer}" if piece.layer else ""
    place = ", ".join(part for part in (box.name, box.where) if part) if box else ""
    return f"box {piece.box}{layer}" + (f": {place}" if place else "")


def about(book: Book, piece: Piece) -> list[str]:
    """Enough of a piece to know it by, what its doubt rests on, and what to heed before it is touched."""
    shown = piece.shown
    rests = [shown.evidence] if shown.evidence else []
    rests += [f"perhaps {shown.when.words}"] if shown.when else []
    lines = [f"? {shown.odds_unshown}% that it was not shown. It rests on: {'; '.join(rests) or 'nothing written'}."]
    facts = [piece.kind, ", ".join(piece.materials), piece.made.words if piece.made else ""]
    lines.append("; ".join(fact for fact in facts if fact))
    lines.append("; ".join(f"{f.what}, {f.where}" if f.where else f.what for f in piece.features))
    if study := book.study_of_piece(piece.id):
        when = words.day(study.slot.day) if study.slot else "no slot yet"
        lines.append(f"in the study “{study.title}”, {when}")
    limits = handling(piece)
    if limits:
        lines.append(f"Handling: {', '.join(limits)}")
    if piece.hazards:
        lines.append(f"! Caution: {', '.join(piece.hazards)}. {SAFETY}")
    return [line for line in lines if line]


def came_to(book: Book, walk: Walk, began: Mapping[str, tuple[int, int]], forecasts: Mapping[str, RunOut]) -> list[str]:
    """What a stocktake came to, collection by collection, and what to do next.

    Args:
        book: the book as it is now.
        walk: the walk, with nothing left open.
        began: least and most pieces left when it began, by collection.
        forecasts: run-outs of the book as it is now, by collection.
    """
    settled = [book.piece(id) for id in walk.settled]
    lines = []
    for collection in dict.fromkeys(piece.collection for piece in settled):
        now = left_words(stocktake.left(book, collection), forecasts.get(collection))
        lines.append(f"{book.collection(collection).name}: {now}. At first {words.span(*began[collection])} were left.")
    homeless = [p.name for p in settled if p.shown.known is Known.NO and book.study_of_piece(p.id) is None]
    planned = {series.collection for series in stocktake.series_to_forecast(book)}
    if homeless:
        lines.append(f"In no study yet: {words.listing(homeless)}.")
    if planned & {piece.collection for piece in settled}:
        makes = f", which makes a study of {'it' if len(homeless) == 1 else 'each'}" if homeless else ""
        by_hand = "; s on the Register makes one by hand" if homeless else ""
        lines.append(f"Next: plan again on the Ledger (2, then p){makes}{by_hand}.")
    return lines
