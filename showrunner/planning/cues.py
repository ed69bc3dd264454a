"""Camera cues by material, the remedies for a shot that is not legible, and the spread of light in one frame.

The cues are common practice. The reflectances are those of a grey card (18%), black (3%) and white (90%) as
photographic handbooks give them (zgbk.com, fazendovideo.com.br); that of dark velvet, 0.5%, is from memory.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from enum import StrEnum

from showrunner.domain.piece import Piece
from showrunner.domain.record import record
from showrunner.planning.materials import has_word


class Surface(StrEnum):
    """What a material is to the camera."""

    DARK_PILE = "dark pile"
    SHINE = "shine"
    BEADWORK = "beadwork"
    SHEER = "sheer"
    WHITE = "white"


DARK = ("black", "navy", "dark", "brown", "purple", "indigo", "bottle green", "charcoal", "midnight")
PILE = ("velvet", "plush", "melton", "corduroy", "fur.", "broadcloth", "flannel", "fleece")
DEEP_PILE = ("velvet", "plush", "fur.")
SHINING = ("satin", "sateen", "silk", "tinsel", "brass", "patent", "kid.", "metal thread", "gold")
BEADED = ("sequin", "bead", "spangle", "paste.", "rhinestone", "diamant")
SHEERS = ("sheer", "net.", "lace", "organdie", "organza", "gauze", "chiffon", "tulle", "muslin")
WHITES = ("white", "cream", "ivory silk", "bleached", "starched linen", "lawn")

CUES = {
    Surface.DARK_PILE: ("raking light, low from one side", "lock the exposure", "mid-grey ground", "note the nap"),
    Surface.SHINE: ("large soft source", "flag the glare"),
    Surface.BEADWORK: ("small source, moved slowly", "hold the camera still"),
    Surface.SHEER: ("contrasting ground first, then light from behind",),
    Surface.WHITE: ("expose a little under", "off-white ground"),
}
"""What to do for each surface (common practice)."""

ALWAYS = ("lock the white balance", "grey card and scale in the first frame")
"""What to do in every set-up (common practice)."""

CONFLICTS = (
    (Surface.DARK_PILE, Surface.SHINE, "raking light for the pile makes the shine glare: light each by itself"),
    (Surface.DARK_PILE, Surface.WHITE, "one exposure does not hold both: expose for the white, lift the dark"),
    (Surface.SHINE, Surface.BEADWORK, "a soft source deadens beads, a small one glares on shine: two takes"),
    (Surface.DARK_PILE, Surface.BEADWORK, "a still raking light for the pile, a moving one for the beads: two takes"),
    (Surface.SHEER, Surface.WHITE, "white sheer vanishes on an off-white ground: take the contrasting one"),
    (Surface.SHEER, Surface.BEADWORK, "light from behind puts beads in silhouette: beads first, then from behind"),
)
"""Cues that do not go together, and what to do."""

REMEDIES = {
    Surface.DARK_PILE: "rake the light lower, from the other side of the nap",
    Surface.SHINE: "turn the soft source until the glare leaves the feature",
    Surface.BEADWORK: "move the small source while the camera holds still",
    Surface.SHEER: "lay the other ground beneath: dark for light cloth, light for dark",
    Surface.WHITE: "close the aperture a third of a stop and take it again",
}
"""The first remedy for each surface when a shot is not legible."""

REMEDIES_FOR_ALL = ("go closer, until it fills a third of the frame", "lay a pointer beside it, not on it", "say it")
"""The remedies after that; the last replaces the picture by words."""

BLACK, CARD, WHITE, DARK_VELVET = 0.03, 0.18, 0.90, 0.005
"""Reflectances."""

WIDE_SPREAD = 4.0
"""Stops in one frame above which a pair is warned of: a camera of the house kind holds detail over no more
in the tones between its white and its black (common practice)."""


def surfaces_of(piece: Piece) -> tuple[Surface, ...]:
    """What a piece is to the camera, from its materials."""
    found = []
    for material in piece.materials:
        text = material.lower()
        dark = has_word(text, DARK)
        if (has_word(text, DEEP_PILE) and not has_word(text, WHITES)) or (dark and has_word(text, PILE)):
            found.append(Surface.DARK_PILE)
        if has_word(text, SHINING) and not has_word(text, DEEP_PILE):
            found.append(Surface.SHINE)
        if has_word(text, BEADED):
            found.append(Surface.BEADWORK)
        if has_word(text, SHEERS):
            found.append(Surface.SHEER)
        if has_word(text, WHITES):
            found.append(Surface.WHITE)
    return tuple(surface for surface in Surface if surface in found)


@record
class Cues:
    """What to do in one set-up, every cue once."""

    cues: tuple[str, ...]
    """The cues."""
    conflicts: tuple[str, ...]
    """Cues that do not go together, and what to do."""


def merge(pieces: Iterable[Piece]) -> Cues:
    """The cues of a set-up in which these pieces are filmed."""
    there = {surface for piece in pieces for surface in surfaces_of(piece)}
    cues = [cue for surface in Surface if surface in there for cue in CUES[surface]]
    against = [f"{a.value} and {b.value}: {text}" for a, b, text in CONFLICTS if a in there and b in there]
    return Cues((*dict.fromkeys(cues), *ALWAYS), tuple(against))


def remedy(piece: Piece, tries: int) -> str:
    """What to try next when a shot was not legible.

    Args:
        piece: the piece.
        tries: times it was not legible so far, 1 or more.
    """
    ladder = [*(REMEDIES[surface] for surface in surfaces_of(piece)), *REMEDIES_FOR_ALL]
    return ladder[min(max(tries, 1), len(ladder)) - 1]


def reflectance(piece: Piece) -> float:
    """Roughly what part of the light its main material sends back: velvet, black, white, or a grey card."""
    text = (piece.materials or ("",))[0].lower()
    if has_word(text, DARK):
        return DARK_VELVET if has_word(text, DEEP_PILE) else BLACK
    return WHITE if has_word(text, WHITES) else CARD


def stops_between(one: float, other: float) -> float:
    """Stops between two reflectances: log2 of their ratio."""
    return abs(math.log2(one / other))


def spread_warning(pair: Sequence[Piece]) -> str:
    """A warning if two pieces in one frame are too far apart for one exposure; empty if they are not."""
    stops = stops_between(reflectance(pair[0]), reflectance(pair[1]))
    if stops <= WIDE_SPREAD:
        return ""
    dark, light = sorted(pair, key=reflectance)
    return (
        f"{dark.name} and {light.name} in one frame lie about {stops:.1f} stops apart: expose for {light.name}, "
        f"and light {dark.name} by itself"
    )
