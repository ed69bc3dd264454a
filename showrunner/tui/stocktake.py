"""Stocktake: walk the doubts, most valuable first, and settle each with one key."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from showrunner.domain import edits, words
from showrunner.domain.book import Book
from showrunner.domain.collection import CollectionKind
from showrunner.domain.piece import Known, Piece
from showrunner.errors import ShowrunnerError
from showrunner.planning.results import RunOut
from showrunner.planning.stocktake import Range, answers, doubts, pieces_left, walk_after
from showrunner.report import clip
from showrunner.tui import entry
from showrunner.tui.base import BookScreen
from showrunner.tui.dialogs import Field, FormDialog, plain
from showrunner.tui.piece_text import MARKS
from showrunner.tui.registry import Action, bindings


class StocktakeScreen(BookScreen):
    """One doubt at a time, with what each answer gives; the range above narrows with every answer."""

    DEFAULT_CSS = """
    #range { height: auto; padding: 0 1; color: $muted; }
    #doubt { height: 1fr; padding: 1 1 0 1; }
    #walk { height: auto; max-height: 8; padding: 0 1; border-top: solid $rule; }
    """

    TITLE_WORD = "Register"
    ACTIONS: ClassVar[tuple[Action, ...]] = (
        Action("yes", "y", "shown", "It has been shown.", footer=True),
        Action("no", "n", "not shown", "It has not been shown.", footer=True),
        Action("odds", "o", "odds", "It stays unsure: say how likely, and what that rests on.", footer=True),
        Action("later", "space,down", "later", "Leave it for later; the walk goes on.", footer=True),
        Action("back", "up", "back", "Back to the doubt before."),
        Action("end", "escape,d", "end", "End the stocktake; everything is saved already."),
    )
    BINDINGS: ClassVar[list[BindingType]] = [*bindings(ACTIONS), Binding("enter", "later", show=False)]

    def __init__(self) -> None:
        super().__init__()
        self.walk: tuple[str, ...] = ()
        self.at = ""
        self.begun: dict[str, Range] = {}
        self.ends: dict[str, tuple[Book, RunOut]] = {}
        self.thinking = False

    def body(self) -> ComposeResult:
        """The range, the doubt, and the walk."""
        yield Static(id="range")
        with VerticalScroll(id="doubt", can_focus=False):
            yield Static(id="doubt-text")
        yield Static(id="walk")

    # Drawing

    def draw(self) -> None:
        """Draw the doubt in hand; the walk keeps its order and follows the book."""
        book = self.session.book
        if not self.begun:
            self.begun = {c.id: pieces_left(book, c.id) for c in book.collections if c.kind is CollectionKind.KEEPING}
        self.walk = walk_after(self.walk, doubts(book))
        self.walk = tuple(id for id in self.walk if book.find("pieces", id) is not None)
        if not self.at or not self._is_open(self.at):
            self.at = next((id for id in self._from(self.at) if self._is_open(id)), "")
        self._draw_text()
        self._think()

    def _is_open(self, id: str) -> bool:
        piece = self.session.book.find("pieces", id)
        return piece is not None and piece.shown.known is Known.UNSURE

    def _from(self, id: str) -> tuple[str, ...]:
        """The walk from the doubt after one, and round again."""
        place = self.walk.index(id) + 1 if id in self.walk else 0
        return self.walk[place:] + self.walk[:place]

    @property
    def current(self) -> Piece | None:
        """The doubt in hand."""
        found: Piece | None = self.session.book.find("pieces", self.at) if self.at else None
        return found

    def _draw_text(self) -> None:
        piece = self.current
        self.query_one("#range", Static).update(plain(self._range_text(piece)))
        text = self._doubt_text(piece) if piece else plain(self._over())
        self.query_one("#doubt-text", Static).update(text)
        self.query_one("#walk", Static).update(plain("\n".join(self._walk_lines())))

    def _range_text(self, piece: Piece | None) -> str:
        """How many are left, what that was at first, and until when."""
        book = self.session.book
        collection = piece.collection if piece else self._last_collection()
        if not collection:
            return "Stocktake"
        now, first = pieces_left(book, collection), self.begun.get(collection, pieces_left(book, collection))
        pieces = "piece" if now == (1, 1) else "pieces"
        text = f"Stocktake of {book.collection(collection).name}: {words.span(*now)} {pieces} left"
        if now != first:
            text += f" ({words.span(*first)} when it began)"
        return f"{text}\n{self._end_text(collection)}"

    def _last_collection(self) -> str:
        ids = [id for id in self.walk if self.session.book.find("pieces", id) is not None]
        return self.session.book.piece(ids[-1]).collection if ids else next(iter(self.begun), "")

    def _end_text(self, collection: str) -> str:
        """Until when, as far as it is worked out."""
        series = next((s for s in self.session.book.series if s.collection == collection), None)
        if series is None:
            return "No series is about it yet, so nothing says until when."
        if series.id not in self.ends:
            return "Working out until when …"
        book, found = self.ends[series.id]
        ten, _, ninety = found.quantiles
        low = f"{ten:%B %Y}" if ten else "later than can be told"
        high = f"{ninety:%B %Y}" if ninety else "later than can be told"
        text = f"The last one comes in {low}." if low == high else f"The last one comes between {low} and {high}."
        return text if book is self.session.book else f"{text} (working it out anew …)"

    def _doubt_text(self, piece: Piece) -> Content:
        """Everything that helps to settle a doubt: what it is, where, what it rests on, what each answer gives."""
        shown, left = piece.shown, answers(self.session.book, piece)
        facts = [
            ("fetch it", _place(self.session.book, piece)),
            ("made", piece.made.words if piece.made else ""),
            ("of", ", ".join(piece.materials)),
            ("look at", ", ".join(feature.what for feature in piece.features[:4])),
            ("rests on", shown.evidence or "nothing that was written down"),
            ("odds", f"{shown.odds_unshown}% that it has not been shown"),
            ("shown", f"if so, {shown.when.words}" if shown.when else ""),
            ("settling", self._worth(piece)),
        ]
        lines = [f"{label:<9} {value}" for label, value in facts if value]
        title = Content.styled(clip(f"{piece.id}  {piece.name}", 76), "bold")
        body = plain("\n\n" + "\n".join(lines) + "\n\n")
        keys = Content.styled("y", "bold $accent") + plain(f"  shown: {words.span(*left.shown)} left     ")
        keys += Content.styled("n", "bold $accent") + plain(f"  not shown: {words.span(*left.not_shown)} left")
        return title + body + keys

    def _worth(self, piece: Piece) -> str:
        for _, found in self.ends.values():
            for doubt in found.doubts:
                if doubt.piece == piece.id:
                    days = round(doubt.narrows_days)
                    return f"narrows the end by {words.count(days, 'day')}, as expected" if days > 0 else ""
        return ""

    def _over(self) -> str:
        """What there is to say when no doubt is left."""
        if not self.walk:
            return "There is no doubt about any piece: each is marked shown or not shown."
        found = [self.session.book.piece(id) for id in self.walk]
        unshown = [p for p in found if p.shown.known is Known.NO and not self.session.book.study_of_piece(p.id)]
        text = f"{words.count(len(found), 'doubt')} settled. Esc goes back to the Register."
        if unshown:
            names = words.listing([piece.name for piece in unshown[:3]])
            more = f" and {len(unshown) - 3} more" if len(unshown) > 3 else ""
            text += (
                f"\nNot in a study yet: {names}{more}. Make one there with s, then plan again with p on the Ledger (2)."
            )
        return text

    def _walk_lines(self) -> list[str]:
        """The walk around the doubt in hand, settled ones with glyph and word."""
        place = self.walk.index(self.at) if self.at in self.walk else max(0, len(self.walk) - 7)
        first = max(0, min(place - 2, len(self.walk) - 7))
        lines = []
        for id in self.walk[first : first + 7]:
            piece = self.session.book.piece(id)
            arrow = "▸" if id == self.at else " "
            lines.append(f"{arrow} {clip(f'{piece.id}  {piece.name}', 52):<53}{MARKS[piece.shown.known]}")
        return lines

    # The end, beside the screen

    def _think(self) -> None:
        """Work out until when, unless that is being done; a book that changed meanwhile is taken next."""
        if not self.thinking and self.session.book.series and self.walk:
            self.thinking = True
            self._forecast(self.session.book)

    @work(thread=True, group="stocktake")
    def _forecast(self, book: Book) -> None:
        """Work out the run-out of every series on a keeping collection."""
        found = {}
        for series in book.series:
            if series.collection in self.begun:
                try:
                    found[series.id] = self.session.runout(series=series.id, book=book)
                except ShowrunnerError:
                    continue
        self.app.call_from_thread(self._forecasted, book, found)

    def _forecasted(self, book: Book, found: dict[str, RunOut]) -> None:
        untouched = not self.ends
        self.thinking = False
        self.ends = {id: (book, runout) for id, runout in found.items()}
        if untouched and book is self.session.book and all(map(self._is_open, self.walk)):
            worth = {doubt.piece: doubt.narrows_days for runout in found.values() for doubt in runout.doubts}
            first = self.walk[:1] == (self.at,)
            self.walk = tuple(piece.id for piece in doubts(book, worth))
            self.at = self.walk[0] if first and self.walk else self.at
        if self.is_attached:
            self._draw_text()
            if book is not self.session.book:
                self._think()

    # Settling

    def action_yes(self) -> None:
        """It has been shown."""
        self._settle(Known.YES)

    def action_no(self) -> None:
        """It has not been shown."""
        self._settle(Known.NO)

    def _settle(self, known: Known) -> None:
        piece = self.current
        if piece is None:
            return
        told = f"stocktake, {words.day(self.session.today)}"
        old = piece.shown
        evidence = f"{told}; before: {old.evidence}" if old.evidence else told
        when = old.when if known is Known.YES else None
        label = f"mark {piece.name} {MARKS[known][2:]}"
        self.perform(label, lambda book: edits.mark_shown(book, piece.id, known, evidence=evidence, when=when))

    def action_odds(self) -> None:
        """Say how likely it is, and what that rests on; it stays unsure."""
        piece = self.current
        if piece is None:
            return

        def save(answers: Mapping[str, Any]) -> None:
            odds, evidence = answers["odds"], answers["evidence"]
            self.save_with(
                f"mark {piece.name} unsure",
                lambda book: edits.mark_shown(
                    book, piece.id, Known.UNSURE, odds=odds, evidence=evidence, when=piece.shown.when
                ),
            )

        fields = [
            Field("odds", "% that it is unshown", str(piece.shown.odds_unshown), entry.whole(1, 99)),
            Field("evidence", "what that rests on", piece.shown.evidence),
        ]
        self.app.push_screen(FormDialog(f"Unsure: {piece.name}", fields, save))

    def action_later(self) -> None:
        """On to the next doubt."""
        self._go(self._from(self.at))

    def action_back(self) -> None:
        """Back to the doubt before."""
        self._go(tuple(reversed(self._from(self.at)))[1:])

    def _go(self, way: tuple[str, ...]) -> None:
        self.at = next((id for id in way if self._is_open(id)), self.at)
        self._draw_text()

    def action_end(self) -> None:
        """End the stocktake."""
        self.dismiss()


def _place(book: Book, piece: Piece) -> str:
    """Where a piece lies: box, layer, and where the box stands."""
    if not piece.box:
        return "in no box that is known"
    box = book.find("boxes", piece.box)
    layer = f", layer {piece.layer}" if piece.layer else ""
    beside = ", ".join(part for part in (box.name, box.where) if part) if box else ""
    return f"box {piece.box}{layer}" + (f" ({beside})" if beside else "")
