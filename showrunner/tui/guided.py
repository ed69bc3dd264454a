"""The guided start: what a book still lacks, one small step after the other; each is saved when it is done."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

from showrunner.domain import edits
from showrunner.domain.collection import Collection
from showrunner.domain.edits.ids import free_id
from showrunner.tui import entry
from showrunner.tui.dialogs import ChooseDialog, Field, FormDialog
from showrunner.tui.first_steps import WORDS, Step, is_ready, kept_collection, missing
from showrunner.tui.house import edit_hours, edit_rule, edit_series
from showrunner.tui.piece_form import add_pieces

if TYPE_CHECKING:
    from showrunner.tui.app import ShowrunnerApp

Onward = Callable[[object], None]
"""What is called when a step ends, with True if it was done."""


def open_guide(app: ShowrunnerApp) -> None:
    """Offer the steps that are missing; Enter takes the first, and the others follow by themselves."""
    steps = missing(app.session.book)
    if not steps:
        text = "All the first steps are done: p on the Ledger plans, h changes the house rules, ? shows every key."
        app.notify(text, markup=False)
        return

    def chosen(answer: str | None) -> None:
        if answer is not None:
            _take(app, Step(answer))

    first = len(steps) == len(Step)
    title = "Welcome. Your book is empty; these steps fill it." if first else "What is still missing of the first steps"
    intro = "Enter begins; each step is saved when it is done, and the next follows. Esc stops, g comes back here."
    options = [(step.value, WORDS[step]) for step in steps]
    app.push_screen(ChooseDialog(title, options, intro=intro, numbered=True), chosen)


def _take(app: ShowrunnerApp, step: Step) -> None:
    """Take one step, if what it rests on is there; then the next one that is missing after it."""
    book = app.session.book
    if not is_ready(book, step):
        app.notify("A step before this one comes first.", markup=False)
        open_guide(app)
        return

    def onward(done: object) -> None:
        if not done and not (step is Step.SLOT and app.session.book.rules):
            return  # left; but that there is no second slot leads on
        order = list(Step)
        passed = order.index(step) + (not done)
        after = [one for one in missing(app.session.book) if order.index(one) >= passed]
        ready = [one for one in after if is_ready(app.session.book, one)]
        if ready:
            app.call_later(_take, app, ready[0])
        else:
            app.call_later(open_guide, app)

    ways: dict[Step, Callable[[ShowrunnerApp, Onward], None]] = {
        Step.HOUSE: lambda a, then: edit_hours(a, then, first=True, intro="What every plan rests on."),
        Step.SLOT: _slot,
        Step.COLLECTION: _collection,
        Step.PIECES: _pieces,
        Step.SERIES: _series,
        Step.PLAN: _plan,
        Step.CALENDAR: lambda a, then: a.ask_calendar(then),
    }
    ways[step](app, onward)


def _slot(app: ShowrunnerApp, then: Onward) -> None:
    first = not app.session.book.rules
    text = "The first of your weekly slots." if first else "The second of your weekly slots. Esc if there is none."
    edit_rule(app, None, then, text)


def _collection(app: ShowrunnerApp, then: Onward) -> None:
    def save(answers: Mapping[str, Any]) -> None:
        taken = {one.id for one in app.session.book.collections}
        id = free_id(answers["name"], taken, "collection")
        made = Collection(id, answers["name"], closed=answers["closed"] == "yes")
        app.session.do(f"make the collection {made.name}", lambda book: edits.put_collection(book, made))
        app.book_changed()

    fields = [
        Field("name", "name", "", entry.words, "historic dress", needed=True),
        Field(
            "closed",
            "still buying for it",
            "yes",
            options=(("no, it is complete", "yes"), ("yes, it may grow", "no")),
            about="What you only shop for is another collection: the Wants (5).",
        ),
    ]
    app.push_screen(FormDialog("The collection you keep", fields, save), then)


def _pieces(app: ShowrunnerApp, then: Onward) -> None:
    kept = kept_collection(app.session.book)
    assert kept is not None

    def chosen(answer: str | None) -> None:
        if answer == "type":
            add_pieces(app, kept.id, lambda _: None, then)
        elif answer == "file":
            from showrunner.tui.bring_in import open_bring_in

            open_bring_in(app, then)

    options = [
        ("type", "Type them: a name is enough, all else can wait"),
        ("file", "Bring them in from a sheet; you see what it does before it is written"),
    ]
    app.push_screen(ChooseDialog(f"The pieces of {kept.name}", options), chosen)


def _series(app: ShowrunnerApp, then: Onward) -> None:
    kept = kept_collection(app.session.book)
    assert kept is not None
    edit_series(app, None, kept.id, then)


def _plan(app: ShowrunnerApp, then: Onward) -> None:
    from showrunner.planning.aims import Aim
    from showrunner.tui.preview import PreviewScreen

    app.push_screen(PreviewScreen(app.session, aim=Aim.BEST), then)
