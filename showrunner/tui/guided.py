"""The guided start: what a book still lacks, one small step at a time; each step is saved when it is done."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.collection import Collection
from showrunner.domain.piece import Piece
from showrunner.tui import entry
from showrunner.tui.dialogs import ChooseDialog, Field, FormDialog
from showrunner.tui.house import edit_hours, edit_rule, edit_series

if TYPE_CHECKING:
    from showrunner.tui.app import ShowrunnerApp


def missing(book: Book) -> list[tuple[str, str]]:
    """The steps a book still lacks, in order: id and words of each."""
    steps = []
    if not any(book.house.work_minutes):
        steps.append(("house", "The house: your time zone and the hours you work on each weekday"))
    if len(book.rules) < 2:
        which = "first" if not book.rules else "second"
        steps.append(("slot", f"The {which} weekly slot: its day, time, and the hours its usual content costs"))
    if not book.collections:
        steps.append(("collection", "The collection: what the series is about"))
    elif not book.series:
        steps.append(("series", "The series: its slot, the gaps between studies, and the hours of one study"))
    if not book.pieces:
        steps.append(("pieces", "The first pieces: their names, one after the other"))
        steps.append(("file", "Or the pieces from a sheet you have already; you see what it does before it is written"))
    return steps


def open_guide(app: ShowrunnerApp) -> None:
    """Offer the steps that are missing; the first one is chosen by Enter."""
    book = app.session.book
    steps = missing(book)
    if not steps:
        app.notify("Nothing is missing: p on the Ledger plans, h changes the house rules.", markup=False)
        return
    known: dict[str, Callable[[ShowrunnerApp, Callable[[object], None]], None]] = {
        "house": lambda a, then: edit_hours(a, then),
        "slot": lambda a, then: edit_rule(a, None, then),
        "collection": _collection,
        "series": lambda a, then: edit_series(a, None, a.session.book.collections[0].id, then),
        "file": _file,
        "pieces": _pieces,
    }

    def onward(done: object) -> None:
        if done:
            open_guide(app)

    def chosen(answer: str | None) -> None:
        if answer is not None:
            known[answer](app, onward)

    title = "Welcome. A few short steps make the book useful; Esc leaves, g comes back here."
    if len(steps) < 4:
        title = f"Still missing: {len(steps)} of the first steps. Esc leaves, g comes back here."
    app.push_screen(ChooseDialog(title, steps), chosen)


def _collection(app: ShowrunnerApp, then: Callable[[object], None]) -> None:
    def save(answers: Mapping[str, Any]) -> None:
        made = Collection("collection", answers["name"], closed=answers["closed"] == "yes")
        app.session.do(f"make the collection {made.name}", lambda book: edits.put_collection(book, made))
        app.book_changed()

    fields = [
        Field("name", "name", "", entry.words, "historic dress"),
        Field("closed", "buying has stopped", "yes", options=(("yes", "yes"), ("no", "no"))),
    ]
    app.push_screen(FormDialog("The collection", fields, save), then)


def _file(app: ShowrunnerApp, then: Callable[[object], None]) -> None:
    from showrunner.tui.bring_in import open_bring_in

    open_bring_in(app, then)


def _pieces(app: ShowrunnerApp, then: Callable[[object], None]) -> None:
    if not app.session.book.collections:
        app.notify("Make the collection first.", markup=False)
        then(True)
        return

    def save(answers: Mapping[str, Any]) -> None:
        collection = app.session.book.collections[0].id
        names = [name.strip() for name in answers["names"].split(";") if name.strip()]
        taken = {p.id for p in app.session.book.pieces}
        free = (f"{n:02}" for n in range(1, 10_000) if f"{n:02}" not in taken)

        def add(book: Book) -> Book:
            for name, id in zip(names, free, strict=False):
                book = edits.put_piece(book, Piece(id, name, collection))
            return book

        app.session.do("add the first pieces", add)
        app.book_changed()

    intro = "Names with ; between them. Everything else about a piece can wait: e edits it on the Register."
    field = Field("names", "names", "", entry.words, "Tea gown; Straw bonnet; Day bodice")
    app.push_screen(FormDialog("The first pieces", [field], save, intro), then)
