"""Cautions before a box is opened, by material and hazard, each with its source; advice that differs stands apart.

They are the usual cautions in plain words and no judgement of the piece at hand: follow local rules and ask
a conservator or safety professional.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal

from showrunner.domain.country import Country
from showrunner.domain.piece import Piece, View
from showrunner.domain.record import record
from showrunner.planning.hazards import HAZARDS, Hazard, has_metal, hazards_of
from showrunner.planning.protected import PROTECTED, protected_in
from showrunner.planning.shots import FORM_VIEWS

LAST_WORD = "Follow local rules and ask a conservator or safety professional."
"""What every list of cautions ends with."""


@record
class Caution:
    """One caution."""

    id: str
    """Permanent id."""
    text: str
    """What to do, in plain words."""
    source: str
    """Who says so."""
    pieces: tuple[str, ...] = ()
    """Ids of the pieces it is for; empty for all."""
    against: str = ""
    """Id of the caution it differs from; empty if from none."""


HANDLING = (
    Caution(
        "never-worn",
        "Never wear the piece; show it flat or on a form.",
        "ICOM Guidelines; NPS Museum Handbook I, Appendix K, p. 33",
    ),
    Caution(
        "lift",
        "Take jewellery off; never lift by shoulders or corner; slide arms under; move on a board or in its box; "
        "keep handling to a minimum.",
        "AMOL reCollections 2/1/06",
    ),
    Caution("pencil", "Pencil, no ballpoint, near pieces.", "ICOM guidelines for costume"),
    Caution(
        "tissue",
        "Acid-free unbuffered tissue rolls in folds; box about 10% larger than the piece.",
        "CCI Notes 13/5; Powerhouse Museum",
    ),
    Caution(
        "folds",
        "Folds weaken cloth: pad them and use few; refold on new lines.",
        "CCI Notes 13/2; refolding on new lines from memory",
    ),
)
"""Cautions for every piece."""

BARE = Caution(
    "bare-hands",
    "Clean, dry, bare hands for textiles; gloves for metal.",
    "US National Archives, guidance for gloves",
)
COTTON = Caution(
    "cotton-gloves",
    "Older AMOL text prefers white cotton gloves, clean hands second; bare hands are wrong for suspected poisons.",
    "AMOL reCollections 2/1/06",
    against="bare-hands",
)
NITRILE = Caution(
    "poison-gloves",
    "Nitrile gloves, for it may be poisonous. Cotton ones snag, slip and let poison through. Keep them off your face; "
    "wash after.",
    "California State Parks, 2000, App. A; Hazards in Collections (UK museums); on cotton a collections manager's blog",
)
METAL = Caution(
    "metal-gloves",
    "Nitrile gloves: skin tarnishes metal and metal thread.",
    "US National Archives; Museums & Galleries of NSW; Harvard, The Ounce",
)

ON_FORMS = (
    Caution(
        "form",
        "Choose a form smaller than the piece, by a size at least, and pad it; measure once to avoid repeat tryings.",
        "ICOM Costume Committee; Te Papa; Artlab/AMOL reCollections 2/1/14",
    ),
    Caution(
        "form-once",
        "Dressing a form is the hardest thing a garment goes through: take all its form views in one go.",
        "ICOM Costume Committee; Te Papa, Dressing a garment",
    ),
    Caution(
        "form-in",
        "Lay the piece on a table and bring the form into it.",
        "Thomas Jefferson University, Textile and Costume Collection",
    ),
    Caution("wadding", "Put smooth cloth between wadding and garment.", "ICOM Costume Committee; a book extract"),
)
"""Cautions for pieces that go on a form."""

OVERHEAD = (
    Caution(
        "overhead",
        "Rig the camera above the table before the piece comes, with a second strap that holds if the first fails.",
        "EN 60598-2-17, 17.6.6, from an extract; rigging first is common practice",
    ),
    Caution(
        "steps",
        "Steps only for light, short work: three points of contact, no leaning out; a platform is better.",
        "UK Health and Safety Executive INDG402 and INDG455",
    ),
)
"""Cautions where the camera looks down from above."""

ROOM = (
    Caution(
        "ground",
        "Set nothing down without protection; one person who knows the pieces is in charge of them.",
        "National Trust conservator, Film London 2022; Icon; AIC 3.5",
    ),
    Caution(
        "lamps",
        "Hot lamps well away from cloth, and off whenever you do not film; one leg of the stand toward the piece, so "
        "that a knocked lamp falls away. “LED” alone is no promise that nothing fades.",
        "University of San Francisco, stage safety; Institute of Videography; CCI Technical Bulletin 36",
    ),
    Caution(
        "cables",
        "Lamps on a residual-current device of 30 mA or less (US: GFCI), its button tested; one lead, not chained, "
        "unwound and taped down; a cord that feels hot is done with.",
        "UK Health and Safety Executive INDG247; ESFI; Institute of Videography",
    ),
)
"""Cautions for every room that is filmed in."""

LIFTING = Caution(
    "lifting",
    "No weight is safe for everybody: arms stretched out and a turned back make it heavier, and two people carry two "
    "thirds of what each could alone, not twice.",
    "UK Health and Safety Executive, manual handling filters; Network Rail citing it",
)
"""Caution where something is heavy."""

HEAVY_KG = 10
"""Weight above which lifting by oneself is warned of (common practice; local rules may say less)."""


def cautions_for(pieces: Sequence[Piece], views: Iterable[View], home: Country = Country.OTHER) -> tuple[Caution, ...]:
    """The cautions to read before the boxes of these pieces are opened: hazards, gloves, law, limits, handling, room.

    Args:
        pieces: the pieces of the shoot.
        views: the views that are filmed; cautions about forms and about what is overhead come only with such views.
        home: the country whose law is told first.
    """
    filmed = set(views)
    called = {piece.id: hazards_of(piece) for piece in pieces}
    found = [*_hazards(called), *_gloves(pieces, called), *_laws(pieces, home), *_limits(pieces)]
    heavy = tuple(piece.id for piece in pieces if (_weight(piece) or 0) >= HEAVY_KG)
    found += [replace(LIFTING, pieces=heavy)] if heavy else []
    found += HANDLING
    found += ON_FORMS if filmed & {*FORM_VIEWS, View.SIDE_BY_SIDE} else ()
    found += OVERHEAD if filmed - {*FORM_VIEWS} else ()
    return (*found, *ROOM)


def _hazards(called: Mapping[str, Sequence[Hazard]]) -> list[Caution]:
    """The hazards in the order of their table, each with its pieces."""
    return [
        Caution(hazard.id, hazard.text, hazard.source, ids, hazard.against)
        for hazard in HAZARDS
        if (ids := tuple(piece for piece, hazards in called.items() if hazard in hazards))
    ]


def _gloves(pieces: Sequence[Piece], called: Mapping[str, Sequence[Hazard]]) -> list[Caution]:
    """What hands wear, one rule for each piece: nitrile if it may be poisonous or is metal, else nothing."""
    poison = [piece.id for piece in pieces if any(hazard.poison for hazard in called[piece.id])]
    metal = [piece.id for piece in pieces if piece.id not in poison and has_metal(piece)]
    gloved = {*poison, *metal}
    bare = tuple(piece.id for piece in pieces if piece.id not in gloved)
    found = [replace(caution, pieces=tuple(ids)) for caution, ids in ((NITRILE, poison), (METAL, metal)) if ids]
    if bare:
        found += [replace(caution, pieces=bare if gloved else ()) for caution in (BARE, COTTON)]
    return found


def _laws(pieces: Sequence[Piece], home: Country) -> list[Caution]:
    return [
        Caution(group.id, group.text(home), group.source, ids)
        for group in PROTECTED
        if (ids := tuple(piece.id for piece in pieces if group in protected_in(piece)))
    ]


def _weight(piece: Piece) -> Decimal | None:
    return next((m.value for m in piece.measurements if m.unit == "kg"), None)


def _limits(pieces: Sequence[Piece]) -> list[Caution]:
    """What the owner has put down about each piece: hazards, people, weight, limits."""
    found = []
    for piece in pieces:
        limits = piece.handling
        told = list(piece.hazards)
        if limits.people > 1:
            told.append(f"{limits.people} people move it")
        weight = _weight(piece)
        if weight is not None:
            told.append(f"it weighs {weight} kg")
            if weight >= HEAVY_KG and limits.people < 2:
                told.append("lift it with help")
        told += ["flat only"] * limits.flat_only + ["never hung"] * limits.no_hanging
        told += ["never turned"] * limits.no_turning + ["on a board only"] * limits.board
        told += [f"at most {limits.form_minutes} minutes on a form"] * (limits.form_minutes is not None)
        if limits.notes:
            told.append(limits.notes)
        if told:
            text = f"{piece.name}: {'; '.join(dict.fromkeys(told))}."
            found.append(Caution(f"limits-{piece.id}", text, "the owner's own record", (piece.id,)))
    return found
