"""Kinds of dress and their identifiers in the Art & Architecture Thesaurus.

The identifiers are those of the table `IMA-Object-Types-AAT` (github american-art/ima). A kind has one only where
it is the very term: a dressing gown is none of the gowns, and a wrong identifier would be worse than none.
"""

from __future__ import annotations

from collections.abc import Mapping

from showrunner.domain import words

AAT: Mapping[str, str] = {
    "dresses": "300046159",
    "gowns": "300046161",
    "evening dresses": "300243843",
    "wedding dresses": "300255177",
    "bodices": "300209874",
    "skirts": "300209932",
    "petticoats": "300209927",
    "capes": "300046140",
    "cloaks": "300046142",
    "coats": "300046143",
    "jackets": "300046167",
    "shawls": "300209991",
    "bonnets": "300210720",
    "hats": "300046106",
    "gloves": "300148821",
    "shoes": "300046065",
    "fans": "300209970",
    "collars": "300210058",
}
"""Identifier of each term."""


def aat(kind: str) -> str:
    """The identifier of a kind, written as one or many (`bonnet`, `Bonnets`, `pair of gloves`).

    Args:
        kind: what a piece is, in the trade's word.

    Returns:
        The identifier, or nothing where the kind is none of the terms.
    """
    plain = words.plain(kind).removeprefix("a ").removeprefix("pair of ")
    return next((AAT[term] for term in (plain, f"{plain}s", f"{plain}es") if term in AAT), "")
