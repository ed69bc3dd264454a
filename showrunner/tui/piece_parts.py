"""What is noted on a piece, line by line: features, condition, light, claims; each added, changed or taken out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from showrunner.domain import edits, sides, words
from showrunner.domain.book import Book
from showrunner.domain.piece import (
    Claim,
    Condition,
    Confidence,
    Exposure,
    Feature,
    Known,
    Piece,
    Presence,
    View,
)
from showrunner.errors import UnknownThing
from showrunner.planning.shots import UNKNOWN, kind_of_piece
from showrunner.report import clip
from showrunner.tui import entry
from showrunner.tui.dialogs import Field, FormDialog
from showrunner.tui.fields import day_field
from showrunner.tui.list_dialog import Listing

if TYPE_CHECKING:
    from showrunner.tui.app import ShowrunnerApp

YES_NO = (("no", "no"), ("yes", "yes"))
SHOWN = (("not shown", Known.NO.value), ("shown", Known.YES.value), ("not sure", Known.UNSURE.value))
CLAIM_INTRO = "A later claim about the same thing takes the place of the older one, which is kept."


def edit_feature(app: ShowrunnerApp, piece: Piece, at: int | None = None) -> None:
    """A feature of a piece.

    Args:
        app: the application.
        piece: the piece as the book has it.
        at: number of the feature, from 0; None for a new one.
    """
    kind = kind_of_piece(piece, app.session.book.house)
    views = [*(seen.view for seen in (kind.views if kind else UNKNOWN)), View.DETAIL]
    old = Feature("new", view=views[0]) if at is None else piece.features[at]
    if old.view not in views:
        views.append(old.view)

    def save(answers: Mapping[str, Any]) -> None:
        view = View(answers["view"])
        feature = Feature(
            answers["what"],
            sides.wearers(answers["where"].strip(), view) if answers["where"] != old.where else old.where,
            view,
            answers["importance"],
            Presence(answers["presence"]),
            answers["altered"] == "yes",
        )
        _put(app, piece, "features", at, feature, f"{'add' if at is None else 'change'} a feature of {piece.name}")
        _tell_side(app, answers["where"], feature.where)

    fields = [
        Field("what", "what", "" if at is None else old.what, entry.words, "watch pocket"),
        Field("where", "where", old.where, hint="wearer's left front; a bare left is the wearer's"),
        Field("view", "view that shows it", old.view, options=tuple((v.value, v.value) for v in views)),
        Field("importance", "importance", str(old.importance), entry.whole(1, 3), "1 must be shown, 2 should, 3 may"),
        Field("presence", "it is", old.presence, options=tuple((p.value, p.value) for p in Presence)),
        Field("altered", "altered later", "yes" if old.altered else "no", options=YES_NO),
    ]
    app.push_screen(FormDialog(f"A feature of {piece.name}", fields, save))


def edit_condition(app: ShowrunnerApp, piece: Piece, at: int | None = None) -> None:
    """A line of the condition log; arguments as for `edit_feature`."""
    today = app.session.today
    old = Condition(today, "", "") if at is None else piece.condition[at]

    def save(answers: Mapping[str, Any]) -> None:
        place = answers["place"] if answers["place"] == old.place else sides.wearers(answers["place"])
        line = replace(old, day=answers["day"], place=place, text=answers["text"])
        _put(app, piece, "condition", at, line, f"note the condition of {piece.name}")
        _tell_side(app, answers["place"], place)

    fields = [
        day_field("day", "day", old.day, today, ahead=False),
        Field("place", "place", old.place, entry.words, "wearer's left cuff; a bare left is the wearer's"),
        Field("text", "condition", old.text, entry.words),
    ]
    app.push_screen(FormDialog(f"Condition of {piece.name}", fields, save))


def edit_exposure(app: ShowrunnerApp, piece: Piece, at: int | None = None) -> None:
    """Light or handling outside a shoot; arguments as for `edit_feature`."""
    today = app.session.today
    old = Exposure(today, 0) if at is None else piece.exposures[at]

    def save(answers: Mapping[str, Any]) -> None:
        made = replace(
            old,
            day=answers["day"],
            lux_hours=answers["lux"],
            touches=answers["touches"],
            what=answers["what"].strip(),
        )
        if at is None:
            app.keep(f"light on {piece.name}", lambda book: edits.add_exposure(book, piece.id, made))
        else:
            _put(app, piece, "exposures", at, made, f"light on {piece.name}")

    lux = "" if at is None else str(old.lux_hours)
    fields = [
        day_field("day", "day", old.day, today, ahead=False),
        Field("lux", "lux hours", lux, entry.whole(0, 10_000_000), "lux times hours: 50 lux for 10 h are 500"),
        Field("touches", "touches", str(old.touches), entry.whole(0, 1000)),
        Field("what", "occasion", old.what, hint="a display, a visitor"),
    ]
    intro = "Light and touches of shoots are added by themselves."
    app.push_screen(FormDialog(f"Light on {piece.name}", fields, save, intro))


def add_claim(app: ShowrunnerApp, piece: Piece, after: Claim | None = None) -> None:
    """A claim on a piece, perhaps in the place of an older one, which stays.

    Args:
        app: the application.
        piece: the piece.
        after: the one whose place it takes; None for none.
    """

    def save(answers: Mapping[str, Any]) -> None:
        claim = Claim(
            answers["about"],
            answers["value"],
            Confidence(answers["confidence"]),
            answers["basis"].strip(),
            answers["judged"],
        )
        app.keep(f"add a claim on {piece.name}", lambda book: edits.add_claim(book, piece.id, claim))

    held = after.confidence if after else Confidence.PROBABLE
    today = app.session.today
    fields = [
        Field("about", "about", after.about if after else "", entry.words, "fibre, origin, alteration"),
        Field("value", "claim", after.value if after else "", entry.words),
        Field("confidence", "held as", held, options=tuple((c.value, c.value) for c in Confidence)),
        Field("basis", "rests on", "", hint="burn test, letter, cut"),
        day_field("judged", "judged on", today, today, ahead=False, folded=True),
    ]
    app.push_screen(FormDialog(f"A claim on {piece.name}", fields, save, CLAIM_INTRO))


def edit_shown(app: ShowrunnerApp, piece: Piece) -> None:
    """Whether a piece was shown, when, and what that rests on; unsure if Enter is all that is pressed."""
    shown = piece.shown

    def save(answers: Mapping[str, Any]) -> None:
        known = Known(answers["known"])

        def edit(book: Book) -> Book:
            return edits.mark_shown(
                book,
                piece.id,
                known,
                odds=answers["odds"] if known is Known.UNSURE else None,
                evidence=answers["evidence"],
                when=None if known is Known.NO else answers["when"].date,
            )

        said = next(label for label, value in SHOWN if value == known)
        app.keep(f"mark {piece.name} {said}", edit)

    text, kept = entry.date_text(shown.when), entry.kept_date(shown.when)
    fields = [
        Field(
            "odds",
            "chance it was not, %",
            str(shown.odds_unshown),
            entry.whole(1, 99),
            about="Of a piece you are not sure of: 50 if it may as well be so as not.",
        ),
        Field("evidence", "what that rests on", shown.evidence, hint="memory, an old list"),
        Field("when", "shown when", text, entry.unless_changed(text, kept, entry.written), "about 2019, Aug 2024"),
        Field("known", "it is", Known.UNSURE.value, options=SHOWN),
    ]
    app.push_screen(FormDialog(f"Was it shown? {piece.name}", fields, save))


def parts_of(piece: Piece) -> Listing:
    """Everything that is noted on a piece, to change or take out. What came of a shoot, and claims, stay."""

    def rows(book: Book) -> list[tuple[str, str]]:
        now = book.piece(piece.id)
        found = [(f"feature {at}", f"feature: {one.what}") for at, one in enumerate(now.features)]
        found += [
            (f"condition {at}", f"condition, {words.day(one.day)}: {one.place}, {one.text}")
            for at, one in enumerate(now.condition)
            if not one.shoot
        ]
        found += [
            (f"exposure {at}", f"light, {words.day(one.day)}: {one.lux_hours:,} lux hours")
            for at, one in enumerate(now.exposures)
            if not one.shoot
        ]
        found += [
            (f"claim {at}", f"claim: {one.about}: {one.value}")
            for at, one in enumerate(now.claims)
            if not one.superseded
        ]
        return [(key, clip(label, 68)) for key, label in found]

    def edit(app: ShowrunnerApp, key: str) -> None:
        now = app.session.book.piece(piece.id)
        what, at = _part(key)
        if what == "feature":
            edit_feature(app, now, at)
        elif what == "condition":
            edit_condition(app, now, at)
        elif what == "exposure":
            edit_exposure(app, now, at)
        else:
            add_claim(app, now, now.claims[at])

    def remove(book: Book, key: str) -> Book:
        now = book.piece(piece.id)
        what, at = _part(key)
        table = {"feature": "features", "condition": "condition", "exposure": "exposures"}.get(what)
        if table is None:
            raise UnknownThing("a claim is never taken out", piece.name, "Enter puts a later one in its place")
        lines = getattr(now, table)
        return edits.put_piece(book, _with(now, table, (*lines[:at], *lines[at + 1 :])))

    return Listing(f"What is noted on {piece.name}", rows, edit, remove=remove)


def _part(key: str) -> tuple[str, int]:
    what, _, at = key.partition(" ")
    return what, int(at)


def _put(app: ShowrunnerApp, piece: Piece, table: str, at: int | None, line: Any, label: str) -> None:
    """Put a line into one of the rows of a piece, at its end or in the place of an older one."""

    def edit(book: Book) -> Book:
        now = book.piece(piece.id)
        lines = getattr(now, table)
        fresh = (*lines, line) if at is None else (*lines[:at], line, *lines[at + 1 :])
        return edits.put_piece(book, _with(now, table, fresh))

    app.keep(label, edit)


def _with(piece: Piece, table: str, lines: tuple[Any, ...]) -> Piece:
    changes: dict[str, Any] = {table: lines}
    return replace(piece, **changes)


def _tell_side(app: ShowrunnerApp, typed: str, kept: str) -> None:
    """Tell how a left or right was understood, if it is not as it was typed."""
    if kept != typed.strip():
        app.notify(f"Kept as {kept}.", markup=False)
