"""Which dress forms fit a piece: a form smaller than the piece, padded out to it.

Source of the rule: Artlab/AMOL reCollections, "Choose a form smaller than the piece and pad it; measure
once to avoid repeat tryings".
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from itertools import permutations

from showrunner.domain.house import Form, HouseRules
from showrunner.domain.piece import Piece
from showrunner.domain.words import listing


def chest_of(piece: Piece) -> Decimal | None:
    """The chest of a piece, cm; None if it was not measured."""
    return next((m.value for m in piece.measurements if m.what.strip().lower() == "chest" and m.unit == "cm"), None)


def padding_cm(piece: Piece, form: Form) -> Decimal | None:
    """Chest of the piece less that of the form, cm; None if the piece was not measured."""
    chest = chest_of(piece)
    return None if chest is None else chest - form.chest_cm


def fits(piece: Piece, form: Form) -> bool:
    """Whether the form is smaller than the piece; an unmeasured piece is not known not to fit."""
    padding = padding_cm(piece, form)
    return padding is None or padding > 0


def fitting(piece: Piece, house: HouseRules) -> tuple[int, ...]:
    """Places in `house.forms` of the forms that fit, those that need the least padding first."""
    chosen = [at for at, form in enumerate(house.forms) if fits(piece, form)]
    return tuple(sorted(chosen, key=lambda at: (-house.forms[at].chest_cm, at)))


def fit_together(pieces: Sequence[Piece], house: HouseRules) -> bool:
    """Whether every piece can stand on a form of its own at the same time."""
    places = [fitting(piece, house) for piece in pieces]
    return any(
        all(form in place for form, place in zip(chosen, places, strict=True))
        for chosen in permutations(range(len(house.forms)), len(pieces))
    )


def why_no_form(piece: Piece, house: HouseRules) -> str:
    """Why a piece cannot stand on any form, in words; empty if it can."""
    if not house.forms:
        return "no dress form is owned"
    if fitting(piece, house):
        return ""
    smallest = min(house.forms, key=lambda form: form.chest_cm)
    over = smallest.chest_cm - (chest_of(piece) or 0)
    return (
        f"its chest is {chest_of(piece)} cm and the smallest form has {smallest.chest_cm} cm, "
        f"{over} cm less than one that is the same size, and it must be smaller than the piece"
        if over > 0
        else f"its chest of {chest_of(piece)} cm is that of the smallest form, which must be smaller than the piece"
    )


def why_not_together(pieces: Sequence[Piece], house: HouseRules) -> str:
    """Why pieces cannot stand on forms at the same time, in words; empty if they can."""
    if len(house.forms) < len(pieces):
        owned = len(house.forms)
        return f"{len(pieces)} dress forms are needed at once and {owned} {'is' if owned == 1 else 'are'} owned"
    if fit_together(pieces, house):
        return ""
    return f"{listing([piece.name for piece in pieces])} fit no two forms at once"
