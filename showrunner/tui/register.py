"""The Register: know the pieces."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from operator import attrgetter
from typing import Any, ClassVar

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.widgets import DataTable, Input, Static

from showrunner.domain import acquisition, edits, words
from showrunner.domain.acquisition import Bounds
from showrunner.domain.book import Book
from showrunner.domain.episode import Episode
from showrunner.domain.glossary import Where
from showrunner.domain.piece import (
    Known,
    Piece,
)
from showrunner.domain.titles import quoted
from showrunner.planning import stocktake
from showrunner.planning.shots import kind_of_piece
from showrunner.report import clean, clip
from showrunner.tui import entry
from showrunner.tui.base import BookScreen, row_under_cursor
from showrunner.tui.dialogs import ChooseDialog, Field, FormDialog
from showrunner.tui.line_input import LineInput
from showrunner.tui.lines import RowTable
from showrunner.tui.list_dialog import open_list
from showrunner.tui.piece_form import add_pieces, ask_kind, edit_piece
from showrunner.tui.piece_parts import (
    YES_NO,
    add_claim,
    edit_condition,
    edit_exposure,
    edit_feature,
    edit_shown,
    parts_of,
)
from showrunner.tui.piece_text import MARKS, about
from showrunner.tui.reading import Reading
from showrunner.tui.registry import Action, bindings
from showrunner.tui.stocktake import StocktakeScreen


class RegisterScreen(BookScreen):
    """The pieces on the left, everything about one on the right."""

    DEFAULT_CSS = """
    #search { height: 1; border: none; background: $surface; padding: 0 1; display: none; }
    #search.open { display: block; }
    #register { height: 1fr; }
    #counts { height: 1; padding: 0 1; color: $muted; }
    #pieces { width: 45; border-right: solid $rule; }
    #piece { width: 1fr; margin: 0 0 0 1; padding: 0 1 0 0; }
    """

    TITLE_WORD = "Register"
    WHERE = Where.REGISTER
    ACTIONS: ClassVar[tuple[Action, ...]] = (
        Action("add", "a", "add", "Add a piece.", footer=True),
        Action("edit", "e", "edit", "Edit the piece.", footer=True),
        Action("yes", "y", "shown", "Mark the piece as shown."),
        Action("no", "n", "not shown", "Mark the piece as not shown."),
        Action("unsure", "m", "unsure", "Mark the piece as unsure; or when it was shown, and what that rests on."),
        Action("stocktake", "d", "stocktake", "Walk the doubts, most valuable first, and settle them.", footer=True),
        Action("mark", "space", "mark", "Mark or unmark the piece, to make a study of one or two."),
        Action("study", "s", "study", "Make a study of the marked pieces, or of this one.", footer=True),
        Action("pair", "p", "pair", "Bring the studies of two marked pieces into one."),
        Action("split", "S", "split", "Split the study of two pieces this one is in."),
        Action("pin_pair", "P", "promise pair", "Promise that two marked pieces are shown together, or take it back."),
        Action("kind", "i", "kind", "Say what its kind is like, if it is one that no table knows: its views and form."),
        Action("feature", "f", "feature", "Add a feature: what, where, which view, present or absent."),
        Action("claim", "c", "claim", "Add a claim with its confidence."),
        Action("condition", "k", "condition", "Add a condition entry."),
        Action("view", "v", "photographs", "View the photographs of the piece."),
        Action("light", "l", "light", "Put light or handling outside a shoot on record (a display, a visitor)."),
        Action("parts", "E", "entries", "Change or take out features, condition, light; put a later claim in place."),
        Action("remove", "delete", "remove", "Remove the piece, also from the study that is to show it."),
        Action("search", "slash", "find", "Find by name, number, material, box, or 'unsure', 'not shown'."),
        Action("read_on", "J", "read on", "Read on in what is known of the piece."),
        Action("read_back", "K", "read back", "Read back in it."),
        Action("collection", "C", "collection", "The next collection."),
    )
    BINDINGS = bindings(ACTIONS)

    def __init__(self) -> None:
        super().__init__()
        self.collection = ""
        self.wanted = ""
        self.marked: list[str] = []
        self.listed: list[Piece] = []
        self.listed_as_marked: set[str] = set()
        self.bounds: Mapping[str, Bounds] = {}
        self.bounds_rest_on: tuple[Piece, ...] = ()

    def body(self) -> ComposeResult:
        """Counts, the list, and the piece."""
        yield Static(id="counts")
        yield LineInput(placeholder="find a piece; Esc clears", id="search", compact=True)
        with Horizontal(id="register"):
            yield RowTable(id="pieces")
            yield Reading(id="piece")

    def on_mount(self) -> None:
        """Make the columns, then draw."""
        table = self.query_one("#pieces", RowTable)
        for key, label, width in (("mark", " ", 2), ("id", "no.", 4), ("name", "piece", 26), ("shown", "", 11)):
            table.add_column(label, key=key, width=width)
        super().on_mount()
        table.focus()

    # Drawing

    @property
    def pieces(self) -> list[Piece]:
        """The pieces listed: of one collection, and as searched for."""
        collections = [c.id for c in self.session.book.collections]
        if self.collection not in collections:
            self.collection = collections[0] if collections else ""
        found = [p for p in self.session.book.pieces if p.collection == self.collection]
        return [p for p in found if self._matches(p)] if self.wanted else found

    def _matches(self, piece: Piece) -> bool:
        text = " ".join((piece.id, piece.name, piece.kind, f"box {piece.box}", *piece.materials, *piece.hazards))
        return self.wanted.lower() in f"{text} {MARKS[piece.shown.known]}".lower()

    @property
    def current(self) -> Piece | None:
        """The piece under the cursor."""
        key = row_under_cursor(self.query_one("#pieces", RowTable))
        found: Piece | None = self.session.book.find("pieces", key)
        return found

    def draw(self) -> None:
        """Draw the list anew only where it changed; the cursor stays on its piece."""
        table = self.query_one("#pieces", RowTable)
        pieces = self.pieces
        self.marked = [id for id in self.marked if any(p.id == id for p in pieces)]
        others = [(old, new) for old, new in zip(self.listed, pieces, strict=False) if old is not new]
        if len(pieces) != len(self.listed) or any(old.id != new.id for old, new in others):
            kept, at = self.current, table.cursor_row
            table.clear()
            for piece in pieces:
                self._put(piece)
            ids = [piece.id for piece in pieces]
            table.move_cursor(row=ids.index(kept.id) if kept and kept.id in ids else at)
        else:
            for _, piece in others:
                self._put(piece)
            for id in self.listed_as_marked.symmetric_difference(self.marked):
                self._put(self.session.book.piece(id))
        self.listed, self.listed_as_marked = pieces, set(self.marked)
        self._draw_counts()
        self._draw_piece()

    def _put(self, piece: Piece) -> None:
        mark = "*" if piece.id in self.marked else ""
        told = (mark, clip(piece.id, 4), clip(piece.name, 25), MARKS[piece.shown.known])
        self.query_one("#pieces", RowTable).put_row(piece.id, *map(Text, told))

    def _draw_counts(self) -> None:
        book = self.session.book
        all_pieces = [p for p in book.pieces if p.collection == self.collection] if self.wanted else self.listed
        count = Counter(map(attrgetter("shown.known"), all_pieces))
        left = words.span(count[Known.NO], count[Known.NO] + count[Known.UNSURE])
        name = book.collection(self.collection).name if self.collection else "no collection yet"
        text = (
            f"{name}: {words.count(len(all_pieces), 'piece')}, {count[Known.YES]} shown, "
            f"{count[Known.UNSURE]} unsure, {count[Known.NO]} not; {left} left"
        )
        self.put("#counts", text)

    def _draw_piece(self) -> None:
        piece = self.current
        text = about(self.session.book, piece, self._bounds()) if piece else "No piece here yet: a adds one."
        self.query_one("#piece", Reading).update(clean(text))

    def _bounds(self) -> Mapping[str, Bounds]:
        """When each piece was acquired, worked out again only if it may be otherwise."""
        pieces = self.session.book.pieces
        if not acquisition.same_bounds(self.bounds_rest_on, pieces):
            self.bounds = acquisition.bounds(self.session.book)
        self.bounds_rest_on = pieces
        return self.bounds

    @on(DataTable.RowHighlighted)
    def highlighted(self) -> None:
        """Show the piece under the cursor."""
        if self.shown is not None:
            self._draw_piece()
            self.query_one("#piece").scroll_home(animate=False)

    def action_read_on(self) -> None:
        """Read on in what is known of the piece."""
        self.query_one("#piece").scroll_page_down(animate=False)

    def action_read_back(self) -> None:
        """Read back in it."""
        self.query_one("#piece").scroll_page_up(animate=False)

    # Finding

    def action_search(self) -> None:
        """Open the line to find with."""
        line = self.query_one("#search", Input)
        line.add_class("open")
        line.focus()

    @on(Input.Changed, "#search")
    def searched(self, event: Input.Changed) -> None:
        """List what matches."""
        self.wanted = event.value.strip()
        self.draw()

    @on(Input.Submitted, "#search")
    def search_done(self) -> None:
        """Back to the list with what was found."""
        self.query_one("#pieces").focus()

    def key_escape(self) -> None:
        """Clear what was searched for."""
        line = self.query_one("#search", Input)
        line.value = ""
        line.remove_class("open")
        self.query_one("#pieces").focus()

    def action_collection(self) -> None:
        """List the next collection."""
        ids = [c.id for c in self.session.book.collections]
        if ids:
            self.collection = ids[(ids.index(self.collection) + 1) % len(ids)]
            self.draw()

    # Marking

    def action_yes(self) -> None:
        """Mark the piece as shown."""
        self._mark(Known.YES)

    def action_no(self) -> None:
        """Mark the piece as not shown."""
        self._mark(Known.NO)

    def _mark(self, known: Known) -> None:
        piece = self.current
        if piece:
            label = f"mark {piece.name} {MARKS[known][2:]}"
            on = self.session.today
            if known is not piece.shown.known:
                self.perform(label, lambda book: edits.settle(book, piece.id, known, on=on, how="marked"))

    def action_unsure(self) -> None:
        """Mark the piece as unsure, with odds."""
        piece = self.current
        if piece:
            edit_shown(self.workroom, piece)

    def action_mark(self) -> None:
        """Mark or unmark the piece; at most two."""
        piece = self.current
        if piece is None:
            return
        if piece.id in self.marked:
            self.marked.remove(piece.id)
        else:
            self.marked = [*self.marked, piece.id][-2:]
        self.draw()

    def action_stocktake(self) -> None:
        """Walk the doubts."""
        if stocktake.unsure(self.session.book):
            self.app.push_screen(StocktakeScreen())
        else:
            count = words.count(stocktake.left(self.session.book)[0], "piece")
            self.tell(f"There is no doubt to settle: {count} left to show, and that is sure.")

    # Studies

    def _chosen(self) -> tuple[str, ...]:
        piece = self.current
        return tuple(self.marked) or ((piece.id,) if piece else ())

    def action_study(self) -> None:
        """Make a study of the marked pieces, or of this one."""
        chosen = self._chosen()
        if not chosen:
            return
        pieces = [self.session.book.piece(id) for id in chosen]

        def save(answers: Mapping[str, Any]) -> None:
            revisit = any(p.shown.known is Known.YES for p in pieces) and answers.get("revisit") == "yes"
            self.save_with(
                f"make the study {answers['title']}",
                lambda book: edits.make_study(book, chosen, title=answers["title"], revisit=revisit)[0],
            )
            self.marked = []
            self.tell("Made; the Ledger (2) places it with p.")

        fields = [Field("title", "title", " and ".join(p.name for p in pieces), entry.words)]
        if any(p.shown.known is Known.YES for p in pieces):
            fields.append(Field("revisit", "shown already; show again", "no", options=YES_NO))
        self.app.push_screen(FormDialog("A study", fields, save))

    def action_pair(self) -> None:
        """Bring the studies of two marked pieces into one."""
        book = self.session.book
        studies = [study for id in self.marked if (study := book.study_of_piece(id))]
        if len(self.marked) != 2 or len(studies) != 2:
            self.tell("Mark two pieces (Space) that are each in a study of their own.")
            return
        one, two = studies
        if self.perform(f"pair {one.title} with {two.title}", lambda b: edits.pair_studies(b, one.id, two.id)[0]):
            self.marked = []
            self.tell("Paired: the series is one episode shorter. Plan again with p on the Ledger.")
            self.draw()

    def action_split(self) -> None:
        """Split the study this piece is in."""
        piece = self.current
        study = self.session.book.study_of_piece(piece.id) if piece else None
        if study is None:
            self.tell("This piece is in no study that could be split.")
            return
        self.perform(f"split {study.title}", lambda book: edits.split_study(book, study.id)[0])

    def action_pin_pair(self) -> None:
        """Promise a pair, or take the promise back."""
        if len(self.marked) != 2:
            self.tell("Mark two pieces (Space) to promise them together.")
            return
        a, b = self.marked
        pin = next((p for p in self.session.book.pins if set(p.pieces) == {a, b}), None)
        if pin:
            self.perform("take a promise back", lambda book: edits.unpin(book, pin.id))
            self.tell("The promise is taken back.")
        elif self.perform("promise a pair", lambda book: edits.pin_pair(book, a, b)[0]):
            self.tell("Promised: they are shown together.")

    # The piece itself

    def action_add(self) -> None:
        """Add a piece."""
        if not self.collection:
            self.tell("Make a collection first: g, the guided start.")
            return
        add_pieces(self.workroom, self.collection, self._go_to)

    def action_edit(self) -> None:
        """Edit the piece."""
        piece = self.current
        if piece:
            edit_piece(self.workroom, piece, self._go_to)

    def action_kind(self) -> None:
        """Say what the kind of the piece is like."""
        piece = self.current
        if piece is None:
            return
        kind = kind_of_piece(piece, self.session.book.house)
        said = any(words.plain(known.word) == words.plain(piece.kind) for known in self.session.book.house.kinds)
        if kind and not said:
            self.tell(f"Its kind is known: {kind.name}.")
        elif not piece.kind:
            self.tell("It has no kind yet: e gives it one.")
        else:
            ask_kind(self.workroom, piece.kind)

    def _go_to(self, id: str) -> None:
        table = self.query_one("#pieces", RowTable)
        rows = [row.value for row in table.rows]
        if id in rows:
            table.move_cursor(row=rows.index(id))

    def action_feature(self) -> None:
        """Add a feature."""
        piece = self.current
        if piece:
            edit_feature(self.workroom, piece)

    def action_claim(self) -> None:
        """Add a claim."""
        piece = self.current
        if piece:
            add_claim(self.workroom, piece)

    def action_condition(self) -> None:
        """Add a condition entry."""
        piece = self.current
        if piece:
            edit_condition(self.workroom, piece)

    def action_parts(self) -> None:
        """Change or take out what is noted on the piece."""
        piece = self.current
        if piece:
            open_list(self.workroom, parts_of(piece))

    def action_view(self) -> None:
        """View the photographs of the piece."""
        from showrunner.tui.photographs import PhotographsDialog, drawing

        piece = self.current
        if piece is None:
            return
        if not piece.photographs:
            self.tell("There are no photographs of this piece yet: e adds their paths.")
            return
        folder = self.session.path.parent
        self.app.push_screen(PhotographsDialog(piece.name, piece.photographs, folder, drawing(self.app)))

    def action_light(self) -> None:
        """Put light or handling outside a shoot on record."""
        piece = self.current
        if piece:
            edit_exposure(self.workroom, piece)

    def action_remove(self) -> None:
        """Remove the piece, after a question."""
        piece = self.current
        if piece is None:
            return

        study = self.session.book.study_of_piece(piece.id)

        def remove(book: Book) -> Book:
            return edits.remove_piece(edits.take_out(book, piece.id) if study else book, piece.id)

        def answered(answer: str | None) -> None:
            if answer == "yes":
                self.perform(f"remove {piece.name}", remove)

        options = [("no", "Keep it"), ("yes", f"Remove it{self._from_study(piece, study)} (u brings it back)")]
        intro = f"The study {quoted(study.title)} shows it." if study else ""
        self.app.push_screen(ChooseDialog(f"Remove {clean(piece.name)}?", options, intro=intro), answered)

    def _from_study(self, piece: Piece, study: Episode | None) -> str:
        """What removing a piece does to the study that shows it."""
        if study is None:
            return ""
        others = [self.session.book.piece(id).name for id in study.pieces if id != piece.id]
        return f"; the study then shows {others[0]} alone" if others else ", and its study with it"
