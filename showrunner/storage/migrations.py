"""From every older layout of the book to the present one: numbered, pure functions from tree to tree.

Version 1 kept work as decimal hours; version 2 keeps whole minutes; version 3 adds shoots, their log and
what belongs to them, version 4 what sheets left, version 5 extra hours on single days, version 6 how the
dates were accepted and what a weekly slot was before it changed, version 7 the hours worked, version 8 what is known
of wants, of boxes and of what is in store for them, version 9 where the house stands, how a shoot was stopped and
what belongs to a publication, and they change nothing that was there; but version 9 names the two sides of a form.
The undo steps hold documents too and are brought along.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any

from showrunner.storage.book_text import JOURNAL, META, TABLE_ORDER, Document, Tree, Unreadable, schema_of

SCHEMA = 9
"""Version of the present layout."""


class NewerLayout(Unreadable):
    """A tree in a layout that came after this version of the program."""


Migration = Callable[[Tree], Tree]

_GARBLED = (KeyError, TypeError, ValueError, ArithmeticError, AttributeError)
"""What carrying over a value that never was right ends in."""


def migrate(tree: Tree) -> Tree:
    """The tree in the present layout; the argument is not changed.

    Raises:
        NewerLayout: a newer version of the program wrote it.
        Unreadable: the version is below 1, there is an unknown table, or a value cannot be carried over.
    """
    if (version := schema_of(tree)) > SCHEMA:
        raise NewerLayout(
            f"a newer version of showrunner wrote this book (layout {version}; this version knows {SCHEMA})"
        )
    if unknown := [name for name in tree if name not in TABLE_ORDER]:
        raise Unreadable(f"the file has a table '{unknown[0]}', which no book has")
    while (version := schema_of(tree)) != SCHEMA:
        if version not in MIGRATIONS:
            raise Unreadable(f"the file says it has layout {version}, which never was")
        try:
            tree = MIGRATIONS[version](tree)
        except _GARBLED as error:
            raise Unreadable(f"the file cannot be brought from layout {version} to {version + 1}") from error
    return tree


def hours_to_minutes(tree: Tree) -> Tree:
    """1 to 2: `work_hours`, `standing_hours` and the hours of each stage become whole minutes."""
    return _each_document(tree, 2, _document_in_minutes)


def shoots_added(tree: Tree) -> Tree:
    """2 to 3: nothing that was there changes."""
    return _each_document(tree, 3, lambda _, document: document)


def sheets_added(tree: Tree) -> Tree:
    """3 to 4: nothing that was there changes."""
    return _each_document(tree, 4, lambda _, document: document)


def extra_hours_added(tree: Tree) -> Tree:
    """4 to 5: nothing that was there changes."""
    return _each_document(tree, 5, lambda _, document: document)


def habit_added(tree: Tree) -> Tree:
    """5 to 6: nothing that was there changes."""
    return _each_document(tree, 6, lambda _, document: document)


def hours_worked_added(tree: Tree) -> Tree:
    """6 to 7: nothing that was there changes."""
    return _each_document(tree, 7, lambda _, document: document)


def wants_told(tree: Tree) -> Tree:
    """7 to 8: nothing that was there changes."""
    return _each_document(tree, 8, lambda _, document: document)


def sides_named(tree: Tree) -> Tree:
    """8 to 9: a `form side` becomes the left one, or the right one where the feature is on the wearer's right."""
    return _each_document(tree, 9, _document_with_sides)


MIGRATIONS: Mapping[int, Migration] = {
    1: hours_to_minutes,
    2: shoots_added,
    3: sheets_added,
    4: extra_hours_added,
    5: habit_added,
    6: hours_worked_added,
    7: wants_told,
    8: sides_named,
}
"""The function that leads away from each older version."""


def brought_along(table: str, document: Any) -> Any:
    """One record of an export in the present layout; as it is, if it is too garbled to be carried over.

    An export does not say which layout it has. Since there are exports, only the sides of a form have got other names.
    """
    try:
        return _document_with_sides(table, document) if isinstance(document, dict) else document
    except _GARBLED:
        return document


def _each_document(tree: Tree, schema: int, convert: Callable[[str, Document], Document]) -> Tree:
    """The tree with every document converted, those in undo steps too, and its version set."""

    def step(document: Document) -> Document:
        changes = [
            [table, number, before and convert(table, before), after and convert(table, after)]
            for table, number, before, after in document["changes"]
        ]
        return {**document, "changes": changes}

    new = {
        name: {
            number: step(document) if name == JOURNAL else convert(name, document) for number, document in table.items()
        }
        for name, table in tree.items()
    }
    new[META]["1"] = {**new[META]["1"], "schema": schema}
    return new


def _document_in_minutes(table: str, document: Document) -> Document:
    new = dict(document)
    if table == META:
        house = dict(new.get("house", {}))
        if "work_hours" in house:
            house["work_minutes"] = [_minutes(hours) for hours in house.pop("work_hours")]
        new["house"] = house
    elif table == "rules" and "standing_hours" in new:
        new["standing_minutes"] = _minutes(new.pop("standing_hours"))
    elif table in ("series", "episodes") and new.get("stages"):
        new["stages"] = {stage: _minutes(hours) for stage, hours in new["stages"].items()}
    return new


def _document_with_sides(table: str, document: Document) -> Document:
    new = dict(document)
    if table == META and "standard_views" in new.get("house", {}):
        views = new["house"]["standard_views"]
        named = [side for view in views for side in (["form left", "form right"] if view == "form side" else [view])]
        new["house"] = {**new["house"], "standard_views": named}
    elif table == "pieces" and new.get("features"):
        new["features"] = [_feature_with_side(feature) for feature in new["features"]]
    elif table == "log":
        if new.get("view") == "form side":
            new["view"] = "form left"
        if new.get("subject", "").endswith("/form side") and "/say/" not in new["subject"]:
            new["subject"] = new["subject"].removesuffix("side") + "left"
    return new


def _feature_with_side(feature: Document) -> Document:
    if feature.get("view") != "form side":
        return feature
    return {**feature, "view": side_of_form(feature.get("where", ""))}


OLD_SIDE = "form side"
"""What both sides of a form were called up to layout 8."""


def side_of_form(where: str) -> str:
    """The view of a feature that older layouts had on the `form side`, by where it is."""
    return "form right" if "right" in where else "form left"


def _minutes(hours: Any) -> int:
    """Decimal hours as whole minutes, the nearest."""
    return round(Decimal(str(hours)) * 60)
