"""Which form a piece goes on, and how it is padded."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from itertools import pairwise
from math import cos, pi, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showrunner.domain.house import Form, HouseRules
from showrunner.domain.kinds import Held
from showrunner.domain.piece import Measurement, Piece
from showrunner.errors import BadInput
from showrunner.planning.forms import Padding, fitting, held_of, padding_on, why_no_form
from showrunner.planning.shots import kind_of_piece


def piece(kind: str = "jacket", **girths: str) -> Piece:
    measured = tuple(Measurement(what, Decimal(size), "cm") for what, size in girths.items())
    return Piece("1", "Thing", "c", kind=kind, measurements=measured)


def house(*forms: Form, **rules: object) -> HouseRules:
    return replace(HouseRules(), forms=forms, **rules)


def form(name: str = "form", sort: Held = Held.ADULT, **girths: str) -> Form:
    return Form(name, sort=sort, **{f"{what}_cm": Decimal(size) for what, size in girths.items()})


SMALL, LARGE = form("small", chest="80", waist="66"), form("large", chest="92", waist="76")


def test_the_waist_decides_before_the_chest() -> None:
    """A book on mounting dress with figures by Historic Royal Palaces: most often the waist decides, then the bust."""
    wide = piece(chest="98", waist="70")
    assert fitting(wide, Held.ADULT, house(SMALL, LARGE)) == (0,)
    assert padding_on(wide, SMALL, house(SMALL)) == Padding("waist", Decimal(66), Decimal(4))
    assert fitting(piece(chest="98"), Held.ADULT, house(SMALL, LARGE)) == (1, 0)


def test_where_the_waist_fits_and_the_chest_does_not_the_form_is_none() -> None:
    assert fitting(piece(chest="81", waist="90"), Held.ADULT, house(SMALL, LARGE)) == ()
    told = why_no_form(piece(chest="81", waist="90"), Held.ADULT, house(SMALL, LARGE))
    assert told == (
        "its chest is 81 cm; with 2 cm for a form that is clearly smaller it needs one of 79 cm or less, and the "
        "smallest has 80 cm"
    )


def test_bust_is_chest_and_hips_are_hip() -> None:
    assert padding_on(piece(bust="86"), SMALL, house()) == Padding("chest", Decimal(80), Decimal(6))
    assert padding_on(piece(Hips="96"), form(hip="90"), house()) == Padding("hip", Decimal(90), Decimal(6))


def test_ease_is_left_and_not_padded() -> None:
    rules = house(SMALL, ease_cm=Decimal("1.5"))
    assert padding_on(piece(chest="86"), SMALL, rules) == Padding("chest", Decimal(80), Decimal("4.5"))
    assert fitting(piece(chest="83.4"), Held.ADULT, rules) == ()
    assert fitting(piece(chest="83.5"), Held.ADULT, rules) == (0,)
    assert "and 1.5 cm of ease it needs one of 79.9 cm" in why_no_form(piece(chest="83.4"), Held.ADULT, rules)


@pytest.mark.parametrize(
    ("kind", "name", "held"),
    [
        ("jacket", "Riding jacket", Held.ADULT),
        ("jacket", "Boy's jacket", Held.CHILD),
        ("skirt", "Girl’s skirt", Held.CHILD),
        ("skirt", "Divided skirt", Held.SKIRT),
        ("gymslip", "Gymslip", Held.CHILD),
        ("bonnet", "Baby's bonnet", Held.HEAD),
        ("zorble", "Zorble", Held.NONE),
    ],
)
def test_what_a_piece_is_put_on(kind: str, name: str, held: Held) -> None:
    one = Piece("1", name, "c", kind=kind)
    assert held_of(one, kind_of_piece(one, house())) is held


def test_each_sort_of_form_is_for_its_own_and_a_skirt_goes_on_a_dress_form_too() -> None:
    owned = house(
        form("adult", chest="60", waist="50"),
        form("child", Held.CHILD, chest="50"),
        form("skirt", Held.SKIRT, waist="50"),
        form("head", Held.HEAD),
    )
    measured = piece(chest="80", waist="60")
    places = {held: fitting(measured, held, owned) for held in Held}
    assert places == {
        Held.ADULT: (0,),
        Held.CHILD: (1,),
        Held.SKIRT: (0, 2),
        Held.HEAD: (3,),
        Held.HAND: (),
        Held.FOOT: (),
        Held.NONE: (),
    }
    assert why_no_form(measured, Held.CHILD, house(SMALL)) == "no child's form is owned"
    assert why_no_form(measured, Held.HEAD, house(SMALL)) == "no head stand is owned"


def test_without_a_measure_there_is_no_form_and_it_is_said_what_to_measure() -> None:
    assert why_no_form(piece(), Held.ADULT, house(SMALL)) == "its chest is not measured; measure it as the piece lies"
    assert why_no_form(piece(), Held.SKIRT, house(SMALL)) == "its waist is not measured; measure it as the piece lies"
    bare = house(form("bare", chest="80"))
    assert why_no_form(piece(waist="70"), Held.ADULT, house(form("bare", chest="80"), SMALL)) == ""
    near = why_no_form(piece(waist="67"), Held.ADULT, house(form("bare", chest="80"), SMALL))
    assert near.startswith("its waist is 67 cm")
    assert why_no_form(piece(waist="70"), Held.ADULT, bare) == "no form has its waist on record; measure the form"


@pytest.mark.parametrize(
    ("girth", "thick"),
    [
        *[("2", "0.3"), ("4", "0.6"), ("6", "1.0"), ("8", "1.3"), ("10", "1.6"), ("12", "1.9"), ("16", "2.5")],
    ],
)
def test_thickness_of_an_even_layer(girth: str, thick: str) -> None:
    """An even layer of thickness t adds 2 pi t to any round outline (Steiner's formula)."""
    assert Padding("chest", Decimal(80), Decimal(girth)).thickness_cm == Decimal(thick)


@pytest.mark.slow
@given(st.integers(1, 400), st.floats(0.2, 1))
def test_thickness_beside_an_ellipse_drawn_point_by_point(millimetres: int, flat: float) -> None:
    """The outline of an ellipse, and that of all points one thickness further out, differ by the girth."""
    girth = millimetres / 10
    thick = girth / (2 * pi)
    steps = 2000
    inner, outer = [], []
    for step in range(steps + 1):
        turn = 2 * pi * step / steps
        x, y = 20 * cos(turn), 20 * flat * sin(turn)
        across, along = flat * cos(turn), sin(turn)
        length = (across**2 + along**2) ** 0.5
        inner.append((x, y))
        outer.append((x + thick * across / length, y + thick * along / length))

    def around(points: list[tuple[float, float]]) -> float:
        return sum(((a - c) ** 2 + (b - d) ** 2) ** 0.5 for (a, b), (c, d) in pairwise(points))

    assert around(outer) - around(inner) == pytest.approx(girth, abs=0.02)
    assert float(Padding("chest", Decimal(80), Decimal(str(girth))).thickness_cm) == pytest.approx(thick, abs=0.0501)


SIZES = st.one_of(st.none(), st.decimals(40, 120, places=1))


@given(SIZES, SIZES, SIZES, SIZES, st.decimals(0, 4, places=1), st.decimals(0, 4, places=1))
def test_a_form_that_fits_is_smaller_in_every_girth_that_is_known(
    chest: Decimal | None,
    waist: Decimal | None,
    form_chest: Decimal | None,
    form_waist: Decimal | None,
    ease: Decimal,
    smaller: Decimal,
) -> None:
    own = {what: str(size) for what, size in (("chest", chest), ("waist", waist)) if size is not None}
    stand = Form("form", form_chest, waist_cm=form_waist)
    rules = house(stand, ease_cm=ease, form_smaller_cm=smaller)
    both = [(a, b) for a, b in ((chest, form_chest), (waist, form_waist)) if a is not None and b is not None]
    good = bool(both) and all(b <= a - ease - smaller for a, b in both)
    assert bool(fitting(piece(**own), Held.ADULT, rules)) is good
    assert bool(why_no_form(piece(**own), Held.ADULT, rules)) is not good


@pytest.mark.parametrize(
    "make",
    [
        lambda: Form("x", Decimal(0)),
        lambda: Form("x", Decimal(80), waist_cm=Decimal(-1)),
        lambda: Form("x", Decimal(80), sort=Held.FOOT),
        lambda: house(ease_cm=Decimal(-1)),
        lambda: house(form_smaller_cm=Decimal("-0.1")),
        lambda: house(most_padding_cm=Decimal(-2)),
    ],
)
def test_what_no_form_is(make: object) -> None:
    with pytest.raises(BadInput):
        make()  # type: ignore[operator]
