"""What viewers are told of a piece beforehand: animals, mourning, poisons, and that the law may bind its owners."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType

from showrunner.domain.piece import Confidence, Piece
from showrunner.domain.words import listing, plain
from showrunner.planning.hazards import FEATHERS, FURS, hazards_of, made_of, real
from showrunner.planning.materials import has_phrase
from showrunner.planning.protected import protected_in

POISONS: Mapping[str, str] = MappingProxyType(
    {
        "pesticide": "old poison against moth",
        "mercury": "mercury",
        "arsenic-green": "arsenic",
        "asbestos": "asbestos",
        "lead": "lead",
        "radium": "radium",
        "mould": "mould",
    }
)
"""Hazards that viewers are told of, by their ids, and what the piece may then hold."""

ANIMALS = (*FURS, *FEATHERS, "horn", "bone", "ivory", "whalebone", "baleen", "tortoiseshell", "taxidermy", "kid")
"""Words for parts of animals that some would rather not see."""

MOURNING = ("mourning", "crape", "crepe veil", "widow's", "widow")
"""Words for dress that was worn in grief."""

SPECIES = ("species", "animal", "bird", "fur", "feather", "feathers")
"""What a claim is about that says from which animal something is."""


def advisories(pieces: Sequence[Piece]) -> tuple[str, ...]:
    """The lines for viewers of a study of these pieces; none if there is nothing to say."""
    found = []
    animal = [piece for piece in pieces if any(has_phrase(text, ANIMALS) for text in real(made_of(piece)))]
    if animal:
        unsure = [piece for piece in animal if not _species_sure(piece)]
        doubt = " From which animal they are is not certain." if unsure else ""
        found.append(f"This film shows parts of animals: {_names(animal)}.{doubt}")
    grief = [piece for piece in pieces if any(has_phrase(text, MOURNING) for text in made_of(piece))]
    if grief:
        found.append(f"This film shows what was worn in mourning: {_names(grief)}.")
    for piece in pieces:
        held = [POISONS[hazard.id] for hazard in hazards_of(piece) if hazard.id in POISONS]
        if held:
            told = f"{piece.name} may hold {listing(list(dict.fromkeys(held)))}, and nobody should touch the like"
            found.append(f"{told} without advice on how.")
    bound = [piece for piece in pieces if protected_in(piece)]
    if bound:
        told = "Before you sell anything like it, or take it across a border, check the law where you live"
        found.append(f"{told}: parts of protected animals may be on {_names(bound)}.")
    return tuple(found)


def _names(pieces: Sequence[Piece]) -> str:
    return listing([piece.name for piece in pieces])


def _species_sure(piece: Piece) -> bool:
    """Whether a claim that stands says surely from which animal it is."""
    return any(
        plain(claim.about) in SPECIES and claim.confidence is Confidence.SURE and not claim.superseded
        for claim in piece.claims
    )
