"""Kinds of dress against published identifiers."""

from __future__ import annotations

import pytest

from showrunner.domain.kinds import aat


@pytest.mark.parametrize(
    ("one", "many", "identifier"),
    [
        ("dress", "dresses", "300046159"),
        ("gown", "gowns", "300046161"),
        ("evening dress", "evening dresses", "300243843"),
        ("wedding dress", "wedding dresses", "300255177"),
        ("bodice", "bodices", "300209874"),
        ("skirt", "skirts", "300209932"),
        ("petticoat", "petticoats", "300209927"),
        ("cape", "capes", "300046140"),
        ("cloak", "cloaks", "300046142"),
        ("coat", "coats", "300046143"),
        ("jacket", "jackets", "300046167"),
        ("shawl", "shawls", "300209991"),
        ("bonnet", "Bonnets", "300210720"),
        ("hat", "hats", "300046106"),
        ("glove", "pair of gloves", "300148821"),
        ("shoe", "pair of  shoes", "300046065"),
        ("fan", "fans", "300209970"),
        ("collar", " collars ", "300210058"),
    ],
)
def test_identifiers_of_the_art_and_architecture_thesaurus(one: str, many: str, identifier: str) -> None:
    """Source: github american-art/ima, `IMA-Object-Types-AAT`."""
    assert aat(one) == aat(many) == identifier


@pytest.mark.parametrize("kind", ["", "dressing gown", "straw bonnet", "waistcoat", "s"])
def test_a_kind_that_is_none_of_the_terms_has_no_identifier(kind: str) -> None:
    assert aat(kind) == ""
