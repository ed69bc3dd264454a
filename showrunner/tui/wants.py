"""Wants: the collection that is shopped for, with its money, its shelf, and what it can feed and when."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any, ClassVar

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.content import Content
from textual.widgets import DataTable, Input, Static

from showrunner.domain import edits, words
from showrunner.domain.book import Book
from showrunner.domain.collection import Collection, CollectionKind
from showrunner.domain.currency import money, plain_number
from showrunner.domain.glossary import Where
from showrunner.domain.piece import Piece, Want, WantStatus, WantStep
from showrunner.domain.words import plain as plain_words
from showrunner.errors import ShowrunnerError
from showrunner.planning.handover import Feed, Handover
from showrunner.planning.money import Cost, Purse, fits_beside, wants_of
from showrunner.report import clean, clip
from showrunner.shopping import (
    MARKS,
    amount_lines,
    beside_words,
    cm,
    expected_words,
    feed_month,
    feed_words,
    handover_brief,
    history_words,
    purse_words,
    shopping_collections,
    space_words,
    taking_over,
    tally_lines,
    tally_words,
    unknown_words,
    way_back,
)
from showrunner.tui.base import THOUGHT, BookScreen, row_under_cursor
from showrunner.tui.beside import beside
from showrunner.tui.book_lists import edit_collection
from showrunner.tui.dialogs import ChooseDialog, NoticeDialog, plain
from showrunner.tui.line_input import LineInput
from showrunner.tui.lines import RowTable
from showrunner.tui.reading import Reading
from showrunner.tui.registry import Action, bindings
from showrunner.tui.wants_forms import ask_step, choose_box, edit_want

WIDE = 110
"""Columns of a terminal from which on the list has room for longer names and the day each is expected."""

LATER = date.max
"""Sorts what has no day after what has one."""

Row = tuple[Piece, Want, Cost, Feed | None]
"""A want as it is listed."""

SORTS: tuple[tuple[str, Callable[[Row], Any] | None], ...] = (
    ("as entered", None),
    ("by status", lambda row: list(WantStatus).index(row[1].status)),
    ("dearest first", lambda row: -row[2].money),
    ("widest first", lambda row: -row[2].width_cm),
    ("by first study", lambda row: row[3].slot.day if row[3] and row[3].slot else LATER),
    ("by name", lambda row: row[0].name.casefold()),
)
"""Ways to sort, each with the key of a row; None for the order of the book."""

FILTERS: tuple[WantStatus | None, ...] = (None, *WantStatus)
"""What is listed: everything, or those of one status."""


class WantsScreen(BookScreen):
    """Sums and room on top, a row for each want, everything about one beside it."""

    DEFAULT_CSS = """
    #purse { height: auto; padding: 0 1; }
    #listed { height: 1; padding: 0 1; color: $muted; }
    #find-want { height: 1; border: none; background: $surface; padding: 0 1; display: none; }
    #find-want.open { display: block; }
    #shopping { height: 1fr; border-top: solid $rule; }
    #want { width: 1fr; padding: 0 1; border-left: solid $rule; }
    """

    TITLE_WORD = "Wants"
    WHERE = Where.WANTS
    ACTIONS: ClassVar[tuple[Action, ...]] = (
        Action(
            "order", "o", "ordered", "Note that it is ordered: day, price, carriage, when it should come.", footer=True
        ),
        Action("arrive", "r", "arrived", "Note that it has arrived; then it is a piece like any other.", footer=True),
        Action("decline", "x", "declined", "Decline it: it counts nothing any more.", footer=True),
        Action("again", "y", "want again", "Want it again after it was declined."),
        Action("edit", "e", "edit", "Edit the want: prices, currency, width, condition, hours.", footer=True),
        Action("add", "a", "add", "Add a want."),
        Action("remove", "delete", "remove", "Remove the want."),
        Action("sort", "s", "sort", "Sort otherwise: as entered, by status, price, width, first study, name."),
        Action("only", "f", "filter", "List only those of one status, or all again."),
        Action("search", "slash", "find", "Find by name, kind, material or condition; Esc clears."),
        Action("sums", "m", "sums", "Ceilings, prices, carriage and width of each status."),
        Action("handover", "i", "taking over", "When this collection can take over, and what that rests on."),
        Action("boxes", "b", "boxes", "The room in the boxes, what to refold, and what to order again."),
        Action("measure", "B", "measure", "Put down how deep a box is, when it was refolded, and what is in store."),
        Action(
            "limits",
            "c",
            "budget, shelf",
            "The collection: currency, budget, shelf, pieces to open with; or a new one.",
        ),
        Action("read_on", "J", "read on", "Read on in what is known of the want."),
        Action("read_back", "K", "read back", "Read back in it."),
        Action("collection", "C", "collection", "The next collection that is shopped for."),
    )
    BINDINGS = bindings(ACTIONS)

    def __init__(self) -> None:
        super().__init__()
        self.collection = ""
        self.purse: Purse | None = None
        self.handover: Handover | None = None
        self.feeds: dict[str, Feed] = {}
        self.busy = False
        self.trouble = ""
        self.sorting = 0
        self.filtering = 0
        self.wanted = ""
        self.listed: dict[str, tuple[str, ...]] = {}
        self.wide = False
        self.name_width = 14

    def body(self) -> ComposeResult:
        """Sums, how it is listed, the list, and one want."""
        yield Static(id="purse")
        yield LineInput(placeholder="find a want; Esc clears", id="find-want", compact=True)
        yield Static(id="listed")
        with Horizontal(id="shopping"):
            yield RowTable(id="wants")
            yield Reading(id="want")

    def on_mount(self) -> None:
        """Make the columns, then draw."""
        table = self.query_one("#wants", RowTable)
        self.wide = self.app.size.width >= WIDE
        name = 24 if self.wide else 15
        columns = [("", 11), ("want", name), ("  price", 7), ("   cm", 5), (" study", 9)]
        if self.wide:
            columns.insert(4, (" expected", 16))
        for label, width in columns:
            table.add_column(label, width=width)
        self.name_width = name - 1
        table.styles.width = sum(width for _, width in columns) + table.styles.scrollbar_size_vertical
        super().on_mount()
        table.focus()

    # Drawing

    @property
    def chosen(self) -> Collection | None:
        """The collection that is shown; None if nothing is shopped for."""
        found = shopping_collections(self.session.book)
        if all(c.id != self.collection for c in found):
            self.collection = found[0].id if found else ""
        return self.session.book.find("collections", self.collection)

    @property
    def current(self) -> tuple[Piece, Want] | None:
        """The want under the cursor."""
        piece = self.session.book.find("pieces", row_under_cursor(self.query_one("#wants", RowTable)))
        return (piece, piece.want) if piece and piece.want else None

    def draw(self) -> None:
        """Draw money and shelf at once, and what it can feed when that is worked out beside the screen."""
        chosen = self.chosen
        self.purse = self.session.purse(chosen.id) if chosen else None
        self.handover, self.feeds, self.trouble = None, {}, ""
        self.busy = chosen is not None
        self._draw_all()
        if chosen:
            self.think_soon()

    def _draw_all(self) -> None:
        self._draw_purse()
        self._draw_rows()
        self._draw_want()

    @beside(THOUGHT)
    def think(self) -> None:
        """Work out when it can take over."""
        book, collection = self.session.book, self.collection
        found, trouble = None, ""
        try:
            found = self.session.handover(collection)
        except ShowrunnerError as error:
            trouble = error.sentence()
        self.app.call_from_thread(self._thought, book, collection, found, trouble)

    def _thought(self, book: Book, collection: str, found: Handover | None, trouble: str) -> None:
        if book is not self.session.book or collection != self.collection:
            return
        self.handover, self.trouble, self.busy = found, trouble, False
        self.feeds = {feed.piece: feed for feed in found.feeds} if found else {}
        self._draw_all()

    def _draw_purse(self) -> None:
        book, found, chosen = self.session.book, self.purse, self.chosen
        if found is None or chosen is None:
            self.query_one("#purse", Static).update(
                plain("Nothing is shopped for yet. c makes a collection with a budget and a shelf; a then adds a want.")
            )
            return
        told = [Content.styled(f"{clip(chosen.name, 26)}  ", "bold")]
        for clause, over in zip(purse_words(found), (found.over_money, found.over_cm), strict=True):
            told.append(Content.styled(f"! {clause}  " if over else f"{clause}  ", "bold $error" if over else ""))
        lines = [Content("").join(told)]
        if said := way_back(book, found):
            lines.append(Content.styled(f"▸ {clean(said)}", "bold $accent") if found.is_over else plain(said))
        if said := unknown_words(found):
            lines.append(Content.styled(clean(said), "$muted"))
        if said := tally_words(found):
            lines.append(Content.styled(said, "$muted"))
        lines.append(self._taking_over())
        self.query_one("#purse", Static).update(Content("\n").join(lines))

    def _taking_over(self) -> Content:
        if self.busy:
            return Content.styled("Working out when it can take over …", "$muted")
        if self.trouble:
            return Content.styled(f"! {clean(self.trouble)}", "bold $error")
        if self.handover is None:
            return Content.styled("When it can take over is not known: the book has no slots yet.", "$muted")
        late = any(silence.too_long for silence in self.handover.silences)
        text = handover_brief(self.session.book, self.handover, "i")
        return Content.styled(f"! {clean(text)}", "bold $error") if late else plain(text)

    @property
    def rows(self) -> list[Row]:
        """The wants as they are listed: filtered, found and sorted."""
        if self.purse is None:
            return []
        costs = {cost.piece: cost for cost in self.purse.costs}
        only = FILTERS[self.filtering]
        rows = [
            (piece, want, costs[piece.id], self.feeds.get(piece.id))
            for piece, want in wants_of(self.session.book, self.collection)
            if (only is None or want.status is only) and self._matches(piece, want)
        ]
        key = SORTS[self.sorting][1]
        return sorted(rows, key=key) if key else rows

    def _matches(self, piece: Piece, want: Want) -> bool:
        text = " ".join((piece.id, piece.name, piece.kind, want.condition, *piece.materials, want.status.value))
        return plain_words(self.wanted) in plain_words(text)

    def _draw_rows(self) -> None:
        table = self.query_one("#wants", RowTable)
        kept, at = row_under_cursor(table), table.cursor_row
        rows = {row[0].id: self._cells(row) for row in self.rows}
        anew = list(rows) != list(self.listed)
        if anew:
            table.clear()
        for id, cells in rows.items():
            if anew or cells != self.listed[id]:
                status, name, price, width, *rest = cells
                right = [Text(price, justify="right"), Text(width, justify="right")]
                table.put_row(id, Text(status), Text(name), *right, *(Text(f" {cell}") for cell in rest))
        if anew:
            table.move_cursor(row=list(rows).index(kept) if kept in rows else at)
        self.listed = rows
        self._draw_listed()

    def _cells(self, row: Row) -> tuple[str, ...]:
        piece, want, cost, feed = row
        price = clip(money(cost.money, "", self.purse.currency if self.purse else ""), 7) if cost.priced else "?"
        width = plain_number(cost.width_cm) if cost.measured else "?"
        declined = want.status is WantStatus.DECLINED
        feeds = "…" if self.busy else feed_month(want, feed)
        expected = (clip(expected_words(want), 15),) if self.wide else ()
        counts = ("-", "-") if declined else (price, width)
        return (MARKS[want.status], clip(piece.name, self.name_width), *counts, *expected, feeds)

    def _draw_listed(self) -> None:
        if self.purse is None:
            self.put("#listed", "")
            return
        only = FILTERS[self.filtering]
        parts = [f"{len(self.listed)} of {words.count(len(self.purse.costs), 'want')}", SORTS[self.sorting][0]]
        parts += [f"only {only.value}"] if only else []
        parts += [f"found by “{self.wanted}”"] if self.wanted else []
        self.put("#listed", ", ".join(parts))

    def _draw_want(self) -> None:
        self.query_one("#want", Reading).update(clean(self._about()))

    def _about(self) -> str:
        """Everything about the want under the cursor."""
        if self.purse is None:
            return ""
        if self.current is None:
            return "Nothing is listed so: f and Esc list all." if self.purse.costs else "No want yet: a adds one."
        piece, want = self.current
        cost = self.purse.cost_of(piece.id)
        lines = [f"{piece.id}  {piece.name}", MARKS[want.status], ""]
        feeds = "being worked out" if self.busy else feed_words(want, self.feeds.get(piece.id), self.handover)
        lines += [f"First study it can feed: {feeds}."]
        if said := beside_words(self.session.book, self.purse, fits_beside(self.purse, piece.id)):
            lines += ["", said]
        lines += ["", *amount_lines(self.purse, want, cost)]
        facts = [
            ("width", cm(want.width_cm) if want.width_cm is not None else ""),
            ("expected", expected_words(want)),
            ("condition", want.condition),
            ("prepare", words.hours(want.preparation_minutes) if want.preparation_minutes else ""),
            ("what", ", ".join((*filter(None, (piece.kind,)), *piece.materials))),
        ]
        lines += [f"{name:<9} {value}" for name, value in facts if value]
        if want.history:
            lines += ["", *history_words(want)]
        return "\n".join(lines)

    @on(DataTable.RowHighlighted)
    def highlighted(self) -> None:
        """Show the want under the cursor."""
        if self.shown is not None:
            self._draw_want()
            self.query_one("#want").scroll_home(animate=False)

    def action_read_on(self) -> None:
        """Read on in what is known of the want."""
        self.query_one("#want").scroll_page_down(animate=False)

    def action_read_back(self) -> None:
        """Read back in it."""
        self.query_one("#want").scroll_page_up(animate=False)

    # Finding and sorting

    def action_sort(self) -> None:
        """Sort by the next thing."""
        self.sorting = (self.sorting + 1) % len(SORTS)
        self._relist()

    def action_only(self) -> None:
        """List only those of the next status, or all again."""
        self.filtering = (self.filtering + 1) % len(FILTERS)
        self._relist()

    def _relist(self) -> None:
        self._draw_rows()
        self._draw_want()

    def action_search(self) -> None:
        """Open the line to find with."""
        line = self.query_one("#find-want", Input)
        line.add_class("open")
        line.focus()

    @on(Input.Changed, "#find-want")
    def searched(self, event: Input.Changed) -> None:
        """List what matches."""
        self.wanted = event.value.strip()
        self._relist()

    @on(Input.Submitted, "#find-want")
    def search_done(self) -> None:
        """Back to the list with what was found."""
        self.query_one("#wants").focus()

    def key_escape(self) -> None:
        """List all again."""
        line = self.query_one("#find-want", Input)
        line.value = ""
        line.remove_class("open")
        self.filtering, self.wanted = 0, ""
        self._relist()
        self.query_one("#wants").focus()

    def action_collection(self) -> None:
        """Show the next collection that is shopped for."""
        ids = [c.id for c in shopping_collections(self.session.book)]
        if len(ids) > 1:
            self.collection = ids[(ids.index(self.collection) + 1) % len(ids)]
            self.keep_up(force=True)
        else:
            self.tell("There is no other collection that is shopped for.")

    # Doing

    def action_order(self) -> None:
        """Note that it is ordered."""
        self._step(WantStatus.ORDERED)

    def action_arrive(self) -> None:
        """Note that it has arrived."""
        self._step(WantStatus.ARRIVED)

    def action_decline(self) -> None:
        """Decline it."""
        self._step(WantStatus.DECLINED)

    def action_again(self) -> None:
        """Want it again."""
        self._step(WantStatus.WANTED)

    def _step(self, status: WantStatus) -> None:
        if self.current is None:
            self.tell("There is no want here: a adds one.")
            return
        piece, want = self.current
        if want.status is status:
            self.tell(f"{piece.name} is {status.value} already; e edits it.")
            return
        ask_step(self, piece, want, status, self._done)

    def _done(self, piece: str) -> None:
        """Go to what was changed, and tell what is over now."""
        self._go_to(piece)
        if self.purse and self.purse.is_over:
            self.tell(" ".join(f"{clause}." for clause in purse_words(self.purse)))

    def _go_to(self, piece: str) -> None:
        table = self.query_one("#wants", RowTable)
        if piece in self.listed:
            table.move_cursor(row=list(self.listed).index(piece))

    def action_edit(self) -> None:
        """Edit the want."""
        if self.current is None:
            self.tell("There is no want here: a adds one.")
        else:
            edit_want(self, *self.current, new=False, then=self._done)

    def action_add(self) -> None:
        """Add a want."""
        if self.chosen is None:
            self.tell("Make the collection first: c.")
            return
        taken = {piece.id for piece in self.session.book.pieces}
        id = next(f"w{n:02}" for n in range(1, len(taken) + 2) if f"w{n:02}" not in taken)
        want = Want(history=(WantStep(WantStatus.WANTED, self.session.today),))
        edit_want(self, Piece(id, "new", self.collection, want=want), want, new=True, then=self._done)

    def action_remove(self) -> None:
        """Remove the want, after a question."""
        if self.current is None:
            return
        piece, _ = self.current

        def answered(answer: str | None) -> None:
            if answer == "yes":
                self.perform(f"remove {piece.name}", lambda book: edits.remove_piece(book, piece.id))

        options = [("no", "Keep it (x declines it and keeps its history)"), ("yes", "Remove it (u brings it back)")]
        self.app.push_screen(ChooseDialog(f"Remove {clean(piece.name)}?", options), answered)

    def action_limits(self) -> None:
        """Change the collection, or make one."""
        chosen = self.chosen
        if chosen is None:
            edit_collection(self.workroom, None, CollectionKind.SHOPPING, self._made)
            return

        def answered(answer: str | None) -> None:
            if answer is not None:
                edit_collection(
                    self.workroom, None if answer == "new" else self.chosen, CollectionKind.SHOPPING, self._made
                )

        options = [("this", f"{chosen.name}: currency, budget, shelf, what it opens with"), ("new", "a new collection")]
        self.app.push_screen(ChooseDialog("What is shopped for", options), answered)

    def _made(self, collection: str) -> None:
        if collection != self.collection:
            self.collection = collection
            self.keep_up(force=True)

    # Reading

    def action_handover(self) -> None:
        """When it can take over, in full."""
        if self.handover is None:
            self.tell(self.trouble or ("It is still being worked out." if self.busy else "The book has no slots yet."))
            return
        text = "\n".join(taking_over(self.session.book, self.handover, wrapped=False))
        self.app.push_screen(NoticeDialog("Taking over", clean(text)))

    def action_sums(self) -> None:
        """What there is of each status."""
        if self.purse is None:
            self.tell("Make the collection first: c.")
            return
        lines = [*tally_lines(self.purse), "", *purse_words(self.purse)]
        self.app.push_screen(NoticeDialog("The sums, by status", clean("\n".join(lines))))

    def action_boxes(self) -> None:
        """The room in the boxes."""
        book, today = self.session.book, self.session.today
        lines = space_words(book, self.session.space(), today)
        self.app.push_screen(NoticeDialog("The boxes", clean("\n".join(lines))))

    def action_measure(self) -> None:
        """Measure a box, or count what is in store."""
        choose_box(self)
