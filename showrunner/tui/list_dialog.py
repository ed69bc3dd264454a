"""A list of things of one sort: Enter opens one to edit, a new one stands at the top, Del takes one out."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.widgets import OptionList

from showrunner.domain.book import Book
from showrunner.domain.record import record
from showrunner.errors import ShowrunnerError
from showrunner.report import clean
from showrunner.tui.dialogs import ChooseDialog

if TYPE_CHECKING:
    from showrunner.tui.app import ShowrunnerApp

NEW = ""
"""Answer of the line that adds one."""


@record
class Listing:
    """A list of things of one sort, and how each is changed."""

    title: str
    """What is above the list."""
    rows: Callable[[Book], Sequence[tuple[str, str]]]
    """Key and words of each that the book has."""
    edit: Callable[[ShowrunnerApp, str], None]
    """Opens the form of one by its key; of a new one by `NEW`."""
    new: str = ""
    """Words of the line that adds one; empty if none is added here."""
    remove: Callable[[Book, str], Book] | None = None
    """The book without one; None if none is taken out here."""
    intro: str = ""
    """What is said above the list."""


class ListDialog(ChooseDialog):
    """The list; its answer is `edit` or `remove` with the key, parted by a space."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("delete", "remove", "take out")]

    def __init__(self, listing: Listing, rows: Sequence[tuple[str, str]]) -> None:
        options = [(f"edit {key}", label) for key, label in rows]
        more = ", Del takes it out" if listing.remove else ""
        super().__init__(listing.title, options, esc_word=f"leaves{more}", intro=listing.intro)
        self.removes = listing.remove is not None

    def action_remove(self) -> None:
        """Answer that the one under the cursor is to be taken out."""
        at = self.query_one(OptionList).highlighted
        key = self.options[at][0].removeprefix("edit ") if at is not None else NEW
        if self.removes and key != NEW:
            self.dismiss(f"remove {key}")


def open_list(app: ShowrunnerApp, listing: Listing) -> None:
    """Show all of one sort, to edit, add or take out."""
    rows = [*([(NEW, listing.new)] if listing.new else []), *listing.rows(app.session.book)]
    if not rows:
        app.notify(f"{listing.title}: there are none yet.", markup=False)
        return

    def chosen(answer: str | None) -> None:
        verb, _, key = (answer or "").partition(" ")
        if verb == "edit":
            listing.edit(app, key)
        elif verb == "remove":
            _ask(app, listing, key, dict(rows)[key])

    app.push_screen(ListDialog(listing, rows), chosen)


def _ask(app: ShowrunnerApp, listing: Listing, key: str, label: str) -> None:
    """Take one out, after a question."""

    def answered(answer: str | None) -> None:
        if answer != "yes" or listing.remove is None:
            return
        remove = listing.remove
        try:
            app.session.do(f"remove {label}", lambda book: remove(book, key))
        except ShowrunnerError as error:
            app.notify(clean(error.sentence()), severity="error", timeout=10, markup=False)
        app.book_changed()

    options = [("no", "Keep it"), ("yes", "Take it out (u brings it back)")]
    app.push_screen(ChooseDialog(f"Take out {label}?", options), answered)
