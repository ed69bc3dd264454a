"""All that the book holds beside pieces, studies and the plan, sort by sort, each with its form."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from showrunner.domain import edits, words
from showrunner.domain.book import Book
from showrunner.domain.collection import Box, Collection, CollectionKind
from showrunner.domain.edits.ids import free_id
from showrunner.domain.episode import Episode, EpisodeKind
from showrunner.domain.house import LightClass
from showrunner.domain.piece import View
from showrunner.domain.publication import Supporter
from showrunner.domain.slot import DarkRange
from showrunner.domain.titles import pin_words
from showrunner.errors import BadInput
from showrunner.report import clip
from showrunner.tui import entry
from showrunner.tui.dialogs import Field, FormDialog, blaming
from showrunner.tui.fields import day_field
from showrunner.tui.house import edit_rule, edit_series, once_zone_is_told
from showrunner.tui.list_dialog import NEW, Listing, open_list
from showrunner.tui.piece_form import ask_kind

if TYPE_CHECKING:
    from showrunner.tui.app import ShowrunnerApp

Then = Callable[[str], None]
"""What is called with the id of what was saved."""

WHAT_STOPS = (("no work", "work"), ("no publication", "publication"), ("neither", "both"))
"""What a dark range stops."""


def _nothing(_: str) -> None:
    """For forms after which nothing follows."""


def edit_collection(
    app: ShowrunnerApp, collection: Collection | None, kind: CollectionKind, then: Then = _nothing
) -> None:
    """A collection; None for a new one.

    Args:
        app: the application.
        collection: the collection.
        kind: what kind a new one is.
        then: called once it is saved.
    """
    old = collection or Collection("", "new", kind, closed=kind is CollectionKind.KEEPING)
    keeps = old.kind is CollectionKind.KEEPING

    def save(answers: Mapping[str, Any]) -> None:
        taken = {one.id for one in app.session.book.collections}
        changed = replace(
            old,
            id=old.id or free_id(answers["name"], taken, "collection"),
            name=answers["name"],
            kind=CollectionKind(answers["kind"]),
            closed=answers["closed"] == "yes",
            currency=answers["currency"],
            budget=answers["budget"],
            shelf_cm=answers["shelf"],
            opens_with=answers["opens"],
            preparation_weeks=answers["weeks"],
        )
        verb = "change" if collection else "make"
        app.keep(f"{verb} the collection {changed.name}", lambda book: edits.put_collection(book, changed))
        then(changed.id)

    fields = [
        Field("name", "name", collection.name if collection else "", entry.words, "hat blocks", needed=not collection),
        Field(
            "closed",
            "still buying for it",
            "yes" if old.closed else "no",
            options=(("no, it is complete", "yes"), ("yes, it may grow", "no")),
        ),
        Field("currency", "currency", old.currency, entry.currency, "AUD", folded=keeps),
        Field(
            "budget",
            "budget, carriage too",
            entry.number_text(old.budget),
            entry.amount,
            "empty for no limit",
            folded=keeps,
        ),
        Field(
            "shelf", "shelf, cm", entry.number_text(old.shelf_cm), entry.centimetres, "empty for no limit", folded=keeps
        ),
        Field(
            "opens",
            "pieces to open with",
            str(old.opens_with),
            entry.whole(1, 999),
            folded=keeps,
            about="How many must have arrived before its series can begin.",
        ),
        Field("weeks", "weeks to prepare", str(old.preparation_weeks), entry.whole(0, 260), folded=keeps),
        Field(
            "kind",
            "you",
            old.kind.value,
            options=(("keep it", CollectionKind.KEEPING.value), ("shop for it", CollectionKind.SHOPPING.value)),
            folded=True,
        ),
    ]
    intro = "" if collection or keeps else "A collection that you are still buying, beside the one you keep."
    title = "A collection that you keep" if keeps else "A collection that is shopped for"
    app.push_screen(FormDialog(title, fields, save, intro), None)


def edit_box(app: ShowrunnerApp, id: str) -> None:
    """A box or shelf; `NEW` for a new one."""
    old: Box = app.session.book.find("boxes", id) or Box("new")
    new = id == NEW

    def save(answers: Mapping[str, Any]) -> None:
        changed = replace(
            old,
            id=answers.get("id", old.id),
            name=answers["name"].strip(),
            where=answers["where"].strip(),
            depth_cm=answers["depth"],
            most_kg=answers["most"],
            refolded=answers["refolded"],
            refold_months=answers["months"],
        )
        if new and app.session.book.find("boxes", changed.id):
            with blaming("id"):
                raise BadInput(f"there is a box {changed.id} already", "box", "write another number")
        app.keep(f"{'add' if new else 'change'} box {changed.id}", lambda book: edits.put_box(book, changed))

    fields = [
        *([Field("id", "written on it", "", entry.words, "A, or box 3", needed=True)] if new else []),
        Field("name", "what it is", old.name, hint="tail chest"),
        Field("where", "where it stands", old.where, hint="top shelf, left"),
        Field("depth", "depth inside, cm", entry.number_text(old.depth_cm), entry.centimetres, "empty if not measured"),
        Field("most", "may hold, kg", entry.number_text(old.most_kg), entry.kilograms, "empty if not known"),
        day_field("refolded", "last refolded", old.refolded, app.session.today, ahead=False, optional=True),
        Field("months", "again after, months", str(old.refold_months), entry.whole(0, 600), "0 for never"),
    ]
    intro = "What a piece takes is its thickness: a measurement of that name (e on the Register)."
    app.push_screen(FormDialog("A box or shelf" if new else f"Box {old.id}", fields, save, intro))


def edit_supporter(app: ShowrunnerApp, id: str) -> None:
    """A supporter; `NEW` for a new one."""
    old: Supporter = app.session.book.find("supporters", id) or Supporter("", "")
    new = id == NEW

    def save(answers: Mapping[str, Any]) -> None:
        taken = {one.id for one in app.session.book.supporters}
        changed = Supporter(
            old.id or free_id(answers["name"], taken, "supporter"),
            answers["name"],
            answers["consent"] == "yes",
            answers["first"],
            answers["last"],
            answers["say"].strip(),
        )

        def edit(book: Book) -> Book:
            with blaming("last"):
                return edits.put_supporter(book, changed)

        app.keep(f"{'add' if new else 'change'} the supporter {changed.name}", edit)

    today = app.session.today
    fields = [
        Field("name", "name", old.name, entry.words, needed=new),
        Field(
            "consent",
            "may be named",
            "yes" if old.consent else "no",
            options=(("no", "no"), ("yes", "yes")),
            needed=new,
            about="Only who said yes is ever spoken or printed.",
        ),
        Field("say", "how to say it", old.say, hint="EYE-da"),
        day_field("first", "supports since", old.first, today, ahead=False, optional=True),
        day_field("last", "until", old.last, today, ahead=False, optional=True, hint="empty while it goes on"),
    ]
    app.push_screen(FormDialog("A supporter", fields, save))


def edit_promise(app: ShowrunnerApp, id: str) -> None:
    """To whom or why something is promised."""
    book = app.session.book
    pin = next(pin for pin in book.pins if pin.id == id)

    def save(answers: Mapping[str, Any]) -> None:
        app.keep("say why it is promised", lambda book: edits.say_reason(book, id, answers["reason"].strip()))

    fields = [Field("reason", "to whom, or why", pin.reason, hint="Ida asked for it")]
    app.push_screen(FormDialog(f"Promised: {pin_words(book, pin)}", fields, save))


def edit_dark(app: ShowrunnerApp, id: str, first: Any = None, last: Any = None) -> None:
    """A dark range; `NEW` for a new one.

    Args:
        app: the application.
        id: its id.
        first: first day offered for a new one; None for today.
        last: last day offered for a new one.
    """
    today = app.session.today
    old: DarkRange = app.session.book.find("dark", id) or DarkRange("", first or today, last or first or today)
    new = id == NEW

    def save(answers: Mapping[str, Any]) -> None:
        start, end, what = answers["first"], answers["last"], answers["what"]
        taken = {one.id for one in app.session.book.dark}

        def edit(book: Book) -> Book:
            with blaming("last"):
                changed = replace(
                    old,
                    id=old.id or free_id(f"dark {start.isoformat()}", taken, "dark"),
                    first=start,
                    last=end,
                    no_work=what != "publication",
                    no_publication=what != "work",
                    reason=answers["reason"].strip(),
                )
                return edits.put_dark(book, changed)

        app.keep(f"{'add' if new else 'change'} a dark range", edit)

    stops = "both" if old.no_work and old.no_publication else "work" if old.no_work else "publication"
    fields = [
        day_field("first", "first day", old.first, today, ahead=True),
        day_field("last", "last day", old.last, today, ahead=True),
        Field("what", "there is", stops, options=WHAT_STOPS),
        Field("reason", "why", old.reason, hint="away"),
    ]
    intro = "Days on which you do not work, or on which nothing comes out; plans go round them."
    app.push_screen(FormDialog("A dark range", fields, save, intro))


def dark_words(dark: DarkRange) -> str:
    """A dark range in a line."""
    stops = (
        "neither work nor publication"
        if dark.no_work and dark.no_publication
        else "no work"
        if dark.no_work
        else "no publication"
    )
    reason = f" ({dark.reason})" if dark.reason else ""
    return f"{words.days(dark.first, dark.last)}: {stops}{reason}"


def edit_filler(app: ShowrunnerApp, id: str) -> None:
    """An episode that is no study."""
    book = app.session.book
    filler = book.episode(id)

    def save(answers: Mapping[str, Any]) -> None:
        changed = replace(
            filler,
            title=answers["title"],
            finished=answers["finished"] == "yes",
            rule=answers.get("rule", filler.rule),
            idea_of=answers["idea"],
            notes=answers["notes"].strip(),
        )
        app.keep(f"edit {filler.title}", lambda book: edits.put_episode(book, changed))

    studies = [(clip(study.title, 40), study.id) for study in reversed(book.studies)]
    rules = tuple((clip(rule.name, 40), rule.id) for rule in book.rules)
    fields = [
        Field("title", "title", filler.title, entry.words),
        Field("finished", "finished", "yes" if filler.finished else "no", options=(("no", "no"), ("yes", "yes"))),
        *([Field("rule", "for", filler.rule, options=rules)] if filler.slot is None and rules else []),
        Field("idea", "from the study", filler.idea_of, options=(("none", ""), *studies)),
        Field("notes", "notes", filler.notes),
    ]
    app.push_screen(FormDialog("An episode that is no study", fields, save))


def edit_link(app: ShowrunnerApp, id: str) -> None:
    """Where something that is out can be watched."""
    line = next(line for line in app.session.book.publications if line.id == id)

    def save(answers: Mapping[str, Any]) -> None:
        app.keep(f"say where {line.title} is", lambda book: edits.say_link(book, id, answers["link"].strip()))

    fields = [Field("link", "link", line.link, hint="where it can be watched")]
    app.push_screen(FormDialog(line.title, fields, save))


def edit_light(app: ShowrunnerApp, name: str) -> None:
    """How much light a class of pieces may have in a year."""
    from showrunner.planning.light import classes_of

    house = app.session.book.house
    classes = classes_of(house)
    old = next(one for one in classes if one.name == name)

    def save(answers: Mapping[str, Any]) -> None:
        changed = tuple(LightClass(one.name, answers["limit"]) if one is old else one for one in classes)
        app.keep("set a limit of light", lambda book: edits.put_house(book, replace(house, light_classes=changed)))

    limit = Field("limit", "lux hours a year", str(old.limit_lux_hours), entry.whole(1, 100_000_000))
    intro = "Lux times hours: a lamp of 1,500 lux gives 3,000 lux hours in two hours."
    app.push_screen(FormDialog(f"Pieces of {old.name} sensitivity to light", [limit], save, intro))


def edit_views(app: ShowrunnerApp, view: str) -> None:
    """Film one of the views of every piece, or not."""
    house = app.session.book.house
    chosen = View(view)
    kept = tuple(one for one in house.standard_views if one is not chosen)
    filmed = chosen not in house.standard_views
    ordered = tuple(one for one in View if one in kept or (filmed and one is chosen))

    def edit(book: Book) -> Book:
        return edits.put_house(book, replace(book.house, standard_views=ordered))

    app.keep(f"{'film' if filmed else 'leave out'} the view {chosen.value}", edit)
    open_list(app, VIEWS)


def _rule(app: ShowrunnerApp, id: str) -> None:
    once_zone_is_told(app, lambda: edit_rule(app, app.session.book.find("rules", id)))


def _series(app: ShowrunnerApp, id: str) -> None:
    book = app.session.book
    if not book.collections or not book.rules:
        app.notify("A series needs a collection and a slot first: g, the guided start.", markup=False)
        return
    edit_series(app, book.find("series", id))


def _collection(app: ShowrunnerApp, id: str) -> None:
    edit_collection(app, app.session.book.find("collections", id), CollectionKind.KEEPING)


def _no_kind(book: Book, word: str) -> Book:
    left = tuple(kind for kind in book.house.kinds if kind.word != word)
    return edits.put_house(book, replace(book.house, kinds=left))


def _lights(book: Book) -> list[tuple[str, str]]:
    from showrunner.planning.light import classes_of

    return [(one.name, f"{one.name}: {one.limit_lux_hours:,} lux hours a year") for one in classes_of(book.house)]


def _views(book: Book) -> list[tuple[str, str]]:
    filmed = book.house.standard_views
    return [
        (view.value, f"{'✓' if view in filmed else '–'} {view.value}{'' if view in filmed else ', not filmed'}")
        for view in View
        if view not in (View.DETAIL, View.SIDE_BY_SIDE)
    ]


def _fillers(book: Book) -> list[tuple[str, str]]:
    def told(one: Episode) -> str:
        return f"{one.title}: {words.short_day(one.slot.day) if one.slot else 'an idea, without a slot'}"

    return [(one.id, told(one)) for one in book.episodes if one.kind is EpisodeKind.FILLER and not one.published]


COLLECTIONS = Listing(
    "Collections",
    lambda book: [(one.id, one.name) for one in book.collections],
    _collection,
    "a new collection that you keep",
    edits.remove_collection,
)
SLOTS = Listing(
    "Weekly slots",
    lambda book: [(rule.id, rule.name) for rule in book.rules],
    _rule,
    "a new slot",
    edits.remove_rule,
)
SERIES = Listing(
    "Series of studies",
    lambda book: [(one.id, one.name) for one in book.series],
    _series,
    "a new series",
    edits.remove_series,
)
BOXES = Listing(
    "Boxes and shelves",
    lambda book: [(box.id, f"{box.id}: {box.name}" if box.name else box.id) for box in book.boxes],
    edit_box,
    "a new box or shelf",
    edits.remove_box,
)
SUPPORTERS = Listing(
    "Supporters",
    lambda book: [(one.id, f"{one.name}{'' if one.consent else ', not to be named'}") for one in book.supporters],
    edit_supporter,
    "a new supporter",
    edits.remove_supporter,
)
PROMISES = Listing(
    "Promises",
    lambda book: [(pin.id, pin_words(book, pin) + (f": {pin.reason}" if pin.reason else "")) for pin in book.pins],
    edit_promise,
    remove=edits.unpin,
    intro="i and o on the Ledger, and P on the Register, promise something.",
)
DARK = Listing(
    "Dark ranges",
    lambda book: [(dark.id, dark_words(dark)) for dark in book.dark],
    edit_dark,
    "a new dark range",
    edits.remove_dark,
)
FILLERS = Listing("Episodes that are no studies", _fillers, edit_filler, remove=edits.remove_study)
KINDS = Listing(
    "What kinds are like that are not known here",
    lambda book: [(kind.word, f"{kind.word}: as a {kind.like}") for kind in book.house.kinds],
    lambda app, word: ask_kind(app, word),
    remove=_no_kind,
)
LINKS = Listing(
    "Where what is out can be watched",
    lambda book: [
        (line.id, f"{line.title}: {line.link or 'no link yet'}") for line in reversed(book.publications) if line.actual
    ],
    edit_link,
)
LIGHT = Listing("Light a year, by how sensitive a piece is", _lights, edit_light)
VIEWS = Listing(
    "Views that are filmed of every piece that has them",
    _views,
    edit_views,
    intro="Enter films a view, or leaves it out. What a piece forbids is left out in any case.",
)
