"""House rules, and all else that the book holds: what can be changed, to choose from."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from showrunner.domain.book import Book
from showrunner.tui import book_lists as lists
from showrunner.tui import house
from showrunner.tui.dialogs import ChooseDialog
from showrunner.tui.list_dialog import Listing, open_list

if TYPE_CHECKING:
    from showrunner.tui.app import ShowrunnerApp

FORMS: dict[str, tuple[str, Callable[[ShowrunnerApp], None]]] = {
    "hours": ("the house: where you live, working hours, days ahead, warning", house.edit_hours),
    "extra": ("extra hours on single days", house.edit_extra_work),
    "workroom": ("workroom: tables, dress forms, place, lamps, most filming in a day", house.edit_workroom),
    "times": ("run time: seconds of the opening, a thing said, a held view, the close", house.edit_times),
    "package": ("publication: least chapters, pointing words, small posts a day", house.edit_publication),
    "template": ("publication: the template of your descriptions", house.edit_template),
}
"""What is one form, with its words."""

LISTS: dict[str, tuple[str, Listing]] = {
    "series": ("series of studies: slot, gaps, hours", lists.SERIES),
    "collections": ("collections", lists.COLLECTIONS),
    "boxes": ("boxes and shelves", lists.BOXES),
    "supporters": ("supporters, and how to say their names", lists.SUPPORTERS),
    "promises": ("promises: to whom, and why", lists.PROMISES),
    "dark": ("dark ranges: days without work or without publication", lists.DARK),
    "fillers": ("episodes that are no studies, and ideas for them", lists.FILLERS),
    "links": ("links: where what is out can be watched", lists.LINKS),
    "views": ("views that are filmed of every piece", lists.VIEWS),
    "light": ("light that pieces may have in a year", lists.LIGHT),
    "kinds": ("what kinds are like that are not known here", lists.KINDS),
}
"""What there may be several of, with its words."""


def open_house(app: ShowrunnerApp) -> None:
    """Choose what to change."""
    book: Book = app.session.book
    options = [("hours", FORMS["hours"][0])]
    options += [(f"rule {rule.id}", f"slot: {rule.name}") for rule in book.rules]
    options += [("slots", "slots: a new one, or take one out")]
    options += [(f"one {series.id}", f"series: {series.name}") for series in book.series]
    options += [(key, text) for key, (text, _) in FORMS.items() if key != "hours"]
    options += [(key, text) for key, (text, _) in LISTS.items()]

    def chosen(answer: str | None) -> None:
        kind, _, id = (answer or "").partition(" ")
        if kind == "rule":
            lists.SLOTS.edit(app, id)
        elif kind == "one":
            lists.SERIES.edit(app, id)
        elif kind == "slots":
            open_list(app, lists.SLOTS)
        elif kind in FORMS:
            FORMS[kind][1](app)
        elif kind in LISTS:
            open_list(app, LISTS[kind][1])

    app.push_screen(ChooseDialog("House rules, and all else in the book", options), chosen)
