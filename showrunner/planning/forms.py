"""Which forms and stands fit a piece: one of its sort, clearly smaller than the piece and padded out to it.

Sources of the rule: Artlab/AMOL reCollections 2/1/14 ("choose a form smaller than the piece and pad it; measure once
to avoid repeat tryings"); ICOM Costume, mannequins (at least a size smaller); a book on mounting dress with figures by
Historic Royal Palaces (the waist decides most often, then the bust). That a child's piece goes on no form of a
grown-up is common practice.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from itertools import permutations
from math import pi

from showrunner.domain.house import Form, HouseRules
from showrunner.domain.kinds import Held, Kind, is_childs
from showrunner.domain.piece import Piece
from showrunner.domain.record import record
from showrunner.domain.words import listing, plain

GIRTHS = ("waist", "chest", "hip")
"""The girths that decide, the first one that is known first."""
SAME = {"bust": "chest", "hips": "hip"}
"""Other words for them."""
SUITS = {
    Held.ADULT: (Held.ADULT,),
    Held.CHILD: (Held.CHILD,),
    Held.SKIRT: (Held.SKIRT, Held.ADULT),
    Held.HEAD: (Held.HEAD,),
}
"""What a piece may be put on, by how it is held."""


@record
class Padding:
    """How far a form is padded out to a piece."""

    by: str
    """The girth that decides: waist, chest or hip."""
    form_cm: Decimal
    """That girth of the form, cm."""
    girth_cm: Decimal
    """What the padding adds to it, cm."""

    @property
    def thickness_cm(self) -> Decimal:
        """How thick an even layer of it is, to the millimetre: a thickness of t adds 2 pi t to any round girth."""
        return round(Decimal(float(self.girth_cm) / (2 * pi)), 1)


def girths_of(piece: Piece) -> dict[str, Decimal]:
    """The girths of a piece that were measured, cm."""
    found: dict[str, Decimal] = {}
    for measured in piece.measurements:
        what = SAME.get(plain(measured.what), plain(measured.what))
        if what in GIRTHS and measured.unit == "cm":
            found.setdefault(what, measured.value)
    return found


def held_of(piece: Piece, kind: Kind | None) -> Held:
    """What a piece is put on: a child's garment on a child's form; what is of no known kind on none."""
    if kind is None:
        return Held.NONE
    childs = is_childs(piece.kind) or is_childs(piece.name)
    return Held.CHILD if childs and kind.held in (Held.ADULT, Held.SKIRT) else kind.held


def padding_on(piece: Piece, form: Form, house: HouseRules) -> Padding | None:
    """The padding that a piece needs on a form; None where no girth of both is known."""
    paddings = _paddings(piece, form, house)
    return paddings[0] if paddings else None


def _paddings(piece: Piece, form: Form, house: HouseRules) -> list[Padding]:
    """For each girth that both have, the one that decides first."""
    own = girths_of(piece)
    return [
        Padding(what, size, own[what] - house.ease_cm - size)
        for what in GIRTHS
        if what in own and (size := form.girths.get(what))
    ]


def fits(piece: Piece, form: Form, held: Held, house: HouseRules) -> bool:
    """Whether a form is of the right sort and clearly smaller in every girth that both have; a head stand has none."""
    if form.sort not in SUITS.get(held, ()):
        return False
    if form.sort is Held.HEAD:
        return True
    paddings = _paddings(piece, form, house)
    return bool(paddings) and all(padding.girth_cm >= house.form_smaller_cm for padding in paddings)


def fitting(piece: Piece, held: Held, house: HouseRules) -> tuple[int, ...]:
    """Places in `house.forms` of the forms that fit, those that need the least padding first."""
    chosen = [at for at, form in enumerate(house.forms) if fits(piece, form, held, house)]

    def least(at: int) -> tuple[Decimal, int]:
        padding = padding_on(piece, house.forms[at], house)
        return padding.girth_cm if padding else Decimal(0), at

    return tuple(sorted(chosen, key=least))


def fit_together(pieces: Sequence[tuple[Piece, Held]], house: HouseRules) -> bool:
    """Whether every piece can stand on a form of its own at the same time."""
    places = [fitting(piece, held, house) for piece, held in pieces]
    return any(
        all(form in place for form, place in zip(chosen, places, strict=True))
        for chosen in permutations(range(len(house.forms)), len(pieces))
    )


def why_no_form(piece: Piece, held: Held, house: HouseRules) -> str:
    """Why a piece cannot stand on any form, in words; empty if it can."""
    sorts = SUITS.get(held, ())
    owned = [form for form in house.forms if form.sort in sorts]
    if not owned:
        return f"no {(sorts or (held,))[0].value} is owned"
    if fitting(piece, held, house):
        return ""
    own = girths_of(piece)
    if not own:
        what = "waist" if held is Held.SKIRT else "chest"
        return f"its {what} is not measured; measure it as the piece lies"
    tried = [paddings for form in owned if (paddings := _paddings(piece, form, house))]
    if not tried:
        return f"no form has its {listing([what for what in GIRTHS if what in own])} on record; measure the form"
    near = max((min(paddings, key=_girth) for paddings in tried), key=_girth)  # the tightest girth of the nearest form
    ease = f" and {_cm(house.ease_cm)} cm of ease" if house.ease_cm else ""
    most = own[near.by] - house.form_smaller_cm - house.ease_cm
    return (
        f"its {near.by} is {_cm(own[near.by])} cm; with {_cm(house.form_smaller_cm)} cm for a form that is clearly "
        f"smaller{ease} it needs one of {_cm(most)} cm or less, and the smallest has {_cm(near.form_cm)} cm"
    )


def _girth(padding: Padding) -> Decimal:
    return padding.girth_cm


def _cm(value: Decimal) -> str:
    return f"{value.normalize():f}"


def why_not_together(pieces: Sequence[tuple[Piece, Held]], house: HouseRules) -> str:
    """Why pieces cannot stand on forms at the same time, in words; empty if they can."""
    if len(house.forms) < len(pieces):
        owned = len(house.forms)
        return f"{len(pieces)} dress forms are needed at once and {owned} {'is' if owned == 1 else 'are'} owned"
    if fit_together(pieces, house):
        return ""
    return f"{listing([piece.name for piece, _ in pieces])} fit no two forms at once"
