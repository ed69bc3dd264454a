"""The form of a piece: a new one begins at its name and comes back for the next; the rarely needed is folded away."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from showrunner.domain import edits, naming
from showrunner.domain.book import Book
from showrunner.domain.collection import Box, Collection, CollectionKind
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.limits import limits_text, read_limits
from showrunner.domain.measuring import measurements_text
from showrunner.domain.naming import Sort, things
from showrunner.domain.opening import Opens
from showrunner.domain.piece import Known, Piece, Shown, Want, WantStatus, WantStep
from showrunner.domain.record import record
from showrunner.domain.words import short
from showrunner.errors import BadInput, Contradiction
from showrunner.planning.shots import kind_of_piece
from showrunner.report import clean
from showrunner.tui import entry
from showrunner.tui.dialogs import ChooseDialog, Field, FormDialog, blaming
from showrunner.tui.fields import things_field

if TYPE_CHECKING:
    from showrunner.tui.app import ShowrunnerApp

OPENINGS = (("as its kind mostly does", ""), *((side.value, side.value) for side in Opens))
"""Sides to choose from."""

SHOWN = (("not yet", Known.NO.value), ("yes", Known.YES.value), ("not sure", Known.UNSURE.value))
"""Whether a new piece has been shown."""

LIKE = (
    ("jacket", "a garment that opens in front, as a jacket"),
    ("dress", "a garment that opens at the back, as a dress"),
    ("smock", "a garment pulled over the head, as a smock"),
    ("skirt", "a skirt"),
    ("bonnet", "something for the head, as a bonnet"),
    ("glove", "something for the hand, as a glove"),
    ("shoe", "something for the foot, as a shoe"),
    ("bag", "a bag"),
    ("fan", "something that folds, as a fan or a parasol"),
    ("brooch", "a small thing with a clasp, as a brooch"),
    ("comb", "a small thing, as a comb"),
    ("shawl", "something flat, as a shawl or a collar"),
    ("block", "a solid thing, as a hat block"),
)
"""What a kind may be like that no table knows, each the kind whose views it gets."""

Then = Callable[[str], None]
"""What is called with the id of a piece that was saved."""


def edit_piece(app: ShowrunnerApp, piece: Piece, then: Then) -> None:
    """Edit a piece.

    Args:
        app: the application.
        piece: the piece as the book has it.
        then: called once it is saved.
    """

    def save(answers: Mapping[str, Any]) -> None:
        changed = _filled(piece, answers)
        app.session.do(f"edit {changed.name}", lambda book: _put(book, changed))
        app.book_changed()
        then(changed.id)
        dates = {"Made": answers["made"], "Acquired": answers["acquired"]}
        kept = {"Made": piece.made, "Acquired": piece.acquired}
        told = [f"{name}: {date.words}." for name, date in dates.items() if date.words and date.date != kept[name]]
        if told:
            app.notify(clean(" ".join(told)), markup=False)
        _ask_kind_of(app, changed)

    intro = _SHOPPED if piece.want else ""
    app.push_screen(FormDialog(f"Piece {piece.id}", _fields(app.session.book, piece, new=False), save, intro))


def add_pieces(app: ShowrunnerApp, collection: str, then: Then, done: Callable[[object], None] | None = None) -> None:
    """Add pieces to a collection, one form after the other until nothing is typed.

    Args:
        app: the application.
        collection: its id.
        then: called for each piece that is saved.
        done: called at the end, with True if any was saved, else with None.
    """
    added: list[Piece] = []

    def save(answers: Mapping[str, Any]) -> None:
        blank = _blank(app.session.book, collection, answers["id"], app)
        made = replace(_filled(blank, answers), shown=Shown(Known(answers["shown"])))

        def edit(book: Book) -> Book:
            if book.find("pieces", made.id):
                with blaming("id"):
                    raise BadInput(f"number {made.id} is taken", "number", "choose another")
            return _put(book, made)

        app.session.do(f"add {made.name}", edit)
        added.append(made)
        app.book_changed()
        then(made.id)

    def again() -> tuple[list[Field], str]:
        last = added[-1]
        made = f", made {last.made.words}" if last.made else ""
        return new_fields(), f"Kept: {last.id} {last.name}{made}. The next one? Enter alone, or Esc, ends."

    def new_fields() -> list[Field]:
        book = app.session.book
        return _fields(book, _blank(book, collection, next_number(book), app), new=True)

    def ended(saved: object) -> None:
        kinds = dict.fromkeys(piece.kind for piece in added if piece.kind)
        unknown = [
            piece for piece in added if piece.kind in kinds and kind_of_piece(piece, app.session.book.house) is None
        ]
        if unknown:
            _ask_kind_of(app, unknown[0])
        if done:
            done(saved)

    found = app.session.book.collection(collection)
    app.push_screen(FormDialog(f"A new piece of {found.name}", new_fields(), save, _closed(found), again=again), ended)


def _closed(collection: Collection) -> str:
    """What is said where a piece is added to a collection; empty while it grows."""
    if not collection.closed:
        return _SHOPPED if collection.kind is CollectionKind.SHOPPING else ""
    return f"{collection.name} is closed: nothing more is bought for it. Put down what you have had all along."


_SHOPPED = "Its prices, its width and where it stands are on the Wants (5)."


def next_number(book: Book) -> str:
    """The first number that no piece has: `05`."""
    taken = {piece.id for piece in book.pieces}
    return next(f"{n:02}" for n in range(1, len(taken) + 2) if f"{n:02}" not in taken)


def _blank(book: Book, collection: str, number: str, app: ShowrunnerApp) -> Piece:
    shopping = book.collection(collection).kind is CollectionKind.SHOPPING
    want = Want(history=(WantStep(WantStatus.WANTED, app.session.today),)) if shopping else None
    return Piece(number, "new", collection, want=want)


def _put(book: Book, piece: Piece) -> Book:
    """The book with the piece, and with its box if that is a new one."""
    if piece.box and book.find("boxes", piece.box) is None:
        book = edits.put_box(book, Box(piece.box))
    with blaming("before" if piece.acquired_before else "after", Contradiction):
        return edits.put_piece(book, piece)


@record
class BoxNamed:
    """A box as it was typed."""

    id: str
    """Its id; empty for none."""
    words: str = ""
    """What is said below the line."""


def read_box(book: Book) -> Callable[[str], BoxNamed]:
    """A reader of a box by its number or name; one that the book has not is a new one."""
    boxes = things(book, Sort.BOX)

    def read(text: str) -> BoxNamed:
        wanted = " ".join(text.split())
        meant = naming.meant(wanted, boxes)
        if meant.found and meant.exact:
            return BoxNamed(meant.found.id, meant.found.name if meant.found.name != wanted else "")
        return BoxNamed(wanted, f"{short(wanted)} is a new box" if wanted else "")

    return read


def _fields(book: Book, piece: Piece, *, new: bool) -> list[Field]:
    """The lines, in the order in which one thinks of a piece."""
    limits = piece.handling
    people = limits.people

    def line(
        name: str,
        label: str,
        shown: str,
        kept: Any,
        read: Callable[[str], Any],
        hint: str = "",
        *,
        folded: bool = False,
        about: str = "",
    ) -> Field:
        folds = folded and (new or not shown)
        return Field(name, label, shown, entry.unless_changed(shown, kept, read), hint, folded=folds, about=about)

    def when(name: str, label: str, date: FuzzyDate | None, hint: str, about: str) -> Field:
        return line(name, label, entry.date_text(date), entry.kept_date(date), entry.written, hint, about=about)

    def order(name: str, label: str, ids: tuple[str, ...]) -> Field:
        about = "Helps to date it: what came into the collection before or after what."
        return things_field(name, label, book, Sort.PIECE, ids, folded=new or not ids, about=about)

    kept = tuple((one.name, one.id) for one in book.collections)
    layer = "" if piece.layer is None else str(piece.layer)
    return [
        Field("name", "name", "" if new else piece.name, entry.words, "Tea gown", needed=new)
        if new
        else line("name", "name", piece.name, piece.name, entry.words),
        *([Field("shown", "shown in a film", Known.NO.value, options=SHOWN, about=_SHOWN)] if new else []),
        line("kind", "kind", piece.kind, piece.kind, str.strip, "waistcoat", about=_KIND),
        when("made", "made", piece.made, "about 1868, 1890s, 1905?, before 1915", _MADE),
        when("acquired", "acquired", piece.acquired, "1998, about 2009, Aug 2019", _ACQUIRED),
        line("materials", "materials", ", ".join(piece.materials), piece.materials, entry.listed, "white lawn, silk"),
        *([Field("collection", "collection", piece.collection, options=kept, folded=True)] if len(kept) > 1 else []),
        line("box", "box", piece.box, BoxNamed(piece.box), read_box(book), "what is written on its box"),
        *([Field("id", "number", piece.id, entry.words, folded=True, about=_NUMBER)] if new else []),
        line("layer", "layer in the box", layer, piece.layer, entry.layer, "1 is at the bottom", folded=True),
        line(
            "measurements",
            "measurements",
            measurements_text(piece.measurements),
            piece.measurements,
            entry.measurements,
            "chest 86 cm, waist 27 1/2 in, weight 2.1 kg",
            folded=True,
        ),
        Field("opens", "opens", piece.opens or "", options=OPENINGS, folded=new or not piece.opens),
        line(
            "limits",
            "limits",
            limits_text(limits),
            limits,
            read_limits,
            "flat only, never hung, never turned, on a board",
            folded=True,
            about="What must not be done with it; views that these forbid are not filmed.",
        ),
        Field("people", "people to move it", str(people), entry.whole(1, 9), folded=people == 1),
        Field(
            "light",
            "sensitive to light",
            piece.light,
            options=light_classes(book, piece),
            folded=not piece.light,
            about="How much light it may have in a year; the program counts what filming gives it.",
        ),
        line(
            "hazards",
            "hazards",
            ", ".join(piece.hazards),
            piece.hazards,
            entry.listed,
            "arsenic-suspect: gloves",
            folded=True,
        ),
        line(
            "points",
            "to say",
            "; ".join(piece.points),
            piece.points,
            entry.paths,
            "what to say aloud, with ; between",
            folded=True,
        ),
        order("before", "acquired before", piece.acquired_before),
        order("after", "acquired after", piece.acquired_after),
        line(
            "photographs",
            "photographs",
            "; ".join(piece.photographs),
            piece.photographs,
            entry.paths,
            "files of pictures, with ; between",
            folded=True,
        ),
        line("notes", "notes", piece.notes, piece.notes, str.strip, folded=True),
    ]


_SHOWN = "Whether your viewers have seen it. “Not sure” makes every count a range until you settle it."
_MADE = "As you would say it; how it is understood stands below."
_ACQUIRED = "When it came to you, as you would say it."
_KIND = "What it is, in a word. It decides how the piece is laid and which sides are filmed."
_NUMBER = "Yours to choose, such as the one on its label; it never changes."


def _filled(piece: Piece, answers: Mapping[str, Any]) -> Piece:
    """The piece as the form says."""
    return replace(
        piece,
        name=answers["name"],
        collection=answers.get("collection", piece.collection),
        kind=answers["kind"],
        opens=Opens(answers["opens"]) if answers["opens"] else None,
        made=answers["made"].date,
        acquired=answers["acquired"].date,
        acquired_before=answers["before"].ids,
        acquired_after=answers["after"].ids,
        materials=answers["materials"],
        box=answers["box"].id,
        layer=answers["layer"],
        measurements=answers["measurements"],
        handling=replace(answers["limits"], people=answers["people"]),
        light=answers["light"],
        hazards=answers["hazards"],
        points=answers["points"],
        photographs=answers["photographs"],
        notes=answers["notes"],
    )


def light_classes(book: Book, piece: Piece) -> tuple[tuple[str, str], ...]:
    """Classes of sensitivity to choose from."""
    from showrunner.planning.light import classes_of

    classes = classes_of(book.house)
    named = tuple((f"{c.name}: {c.limit_lux_hours:,} lux hours a year", c.name) for c in classes)
    known = {name for _, name in named}
    own = ((piece.light, piece.light),) if piece.light and piece.light not in known else ()
    return (("not known, so as the most sensitive", ""), *named, *own)


def _ask_kind_of(app: ShowrunnerApp, piece: Piece) -> None:
    """Ask what the kind of a piece is like, if no table knows it."""
    if piece.kind and kind_of_piece(piece, app.session.book.house) is None:
        app.call_later(ask_kind, app, piece.kind)


def ask_kind(app: ShowrunnerApp, word: str) -> None:
    """Ask once what a kind is like that no table knows; the answer is kept in the house rules."""

    def kept(like: str | None) -> None:
        if like:
            app.session.do(f"say what a {word} is like", lambda book: edits.say_kind(book, word, like))
            app.book_changed()

    app.push_screen(ChooseDialog(f"What is a “{clean(short(word))}” like?", LIKE, esc_word="leaves it flat"), kept)
