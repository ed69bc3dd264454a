"""Cautions before a box is opened, by material and hazard, each with its source; advice that differs stands apart.

They are the usual cautions in plain words and no judgement of the piece at hand: follow local rules and ask
a conservator or safety professional.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from showrunner.domain.piece import Piece, View
from showrunner.domain.record import record
from showrunner.planning.materials import has_word
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


@record
class _Rule:
    """What calls for a caution."""

    id: str
    text: str
    source: str
    words: tuple[str, ...]
    """Beginnings of words in a material, kind, hazard, condition or handling note; `tar.` is the whole word."""
    years: tuple[int, int] | None = None
    """The piece must have been made in these years, as far as its date allows."""
    against: str = ""


HANDLING = (
    Caution(
        "never-worn",
        "Never wear the piece; show it flat or on a form.",
        "ICOM Guidelines; NPS Museum Handbook I, Appendix K, p. 33",
    ),
    Caution(
        "bare-hands",
        "Clean, dry, bare hands for textiles; gloves for metal.",
        "US National Archives, guidance for gloves",
    ),
    Caution(
        "cotton-gloves",
        "Older AMOL text prefers white cotton gloves, clean hands second; bare hands are wrong for suspected poisons.",
        "AMOL reCollections 2/1/06",
        against="bare-hands",
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
        "Powerhouse Museum",
    ),
    Caution(
        "folds",
        "Folds weaken cloth: pad them and use few; refold on new lines.",
        "pieceworkmagazine.com; refolding on new lines from memory",
    ),
)
"""Cautions for every piece."""

ON_FORMS = (
    Caution(
        "form",
        "Choose a form smaller than the piece and pad it; measure once to avoid repeat tryings.",
        "Artlab/AMOL reCollections 2/1/14",
    ),
    Caution("form-in", "Lay the piece on a table and bring the form into it.", "followthethreadblog.com"),
    Caution("wadding", "Put smooth cloth between wadding and garment.", "book extract, zeusnice.com"),
)
"""Cautions for pieces that go on a form."""

ARSENIC = (
    "Bright 19th-c. greens and artificial leaves may be arsenic pigment (emerald green from 1814): gloves, no dust."
)

RULES = (
    _Rule(
        "pesticide",
        "Old fur, feather, taxidermy may hold arsenic or other pesticide: gloves, no brushing in the open.",
        "Hawks & Makos; Tănăsescu & Lite 2022, Ecotoxicology and Environmental Safety 247:114240",
        ("fur.", "furs.", "feather", "taxiderm", "pesticide"),
    ),
    _Rule(
        "mercury",
        "Felt or top hats may hold mercury (17th c.–1940s): bag, no steam.",
        "V&A Conservation Journal 46 (2004); Parliamentary Archives; ICOM, Dangerous Costume",
        ("felt hat", "top hat", "fur felt", "beaver", "mercury"),
    ),
    _Rule(
        "arsenic-green",
        ARSENIC,
        "Matthews David, Bata Shoe Museum",
        ("green", "artificial leaves"),
        years=(1814, 1900),
    ),
    _Rule(
        "arsenic-green",
        ARSENIC,
        "Matthews David, Bata Shoe Museum",
        ("arsenic",),
    ),
    _Rule(
        "celluloid",
        "Celluloid combs, buttons, “French ivory” burn fiercely and give off acid and flammable gas; store apart; keep "
        "from hot lamps (inference).",
        "CCI Notes 15/3; Cincinnati Art Museum",
        ("celluloid", "french ivory", "cellulose nitrate"),
    ),
    _Rule(
        "weighted-silk",
        "Weighted silk (c. 1850–early 1900s; tin commonest) may split: no hanging, least handling.",
        "review in Heritage 8:332 (2025)",
        ("weighted silk", "shattering", "shattered silk"),
    ),
    _Rule(
        "weighted-silk-doubt",
        "Counter-evidence on weighting as the cause of splitting is published; handle as little all the same.",
        "Garside 2010",
        ("weighted silk",),
        against="weighted-silk",
    ),
    _Rule("mould", "Mould risk above 75% RH; isolate, mask.", "CCI, humidity", ("mould", "mildew", "musty")),
    _Rule("asbestos", "Some textiles contain asbestos: stop, get a test.", "CCI, textiles", ("asbestos",)),
    _Rule(
        "dust",
        "Dusty or powdering: N95; a dust mask does not stop vapour.",
        "ICOM, Dangerous Costume",
        ("dusty", "powder", "sheds"),
    ),
    _Rule(
        "heat",
        "30 s under hot lamps can harm thermo-sensitive objects; avoid bright studio lamps.",
        "AIC Guideline 3.5, conservation-wiki.com",
        ("gelatin", "celluloid", "wax", "from heat", "tar."),
    ),
    _Rule(
        "birds",
        "US: pre-Act migratory-bird parts may be kept but not bought or sold (50 CFR 21.2).",
        "letter of the US Fish and Wildlife Service",
        ("feather", "bird"),
    ),
    _Rule(
        "ivory",
        "Ivory, tortoiseshell, listed fur: check before buying; US African ivory near-ban from 6 Jul 2016; 100-year "
        "antique rules narrow.",
        "US Fish and Wildlife Service, “Can I sell it?”; floridatoday.com",
        (
            *("elephant ivory", "carved ivory", "ivory button", "ivory handle", "tortoiseshell", "turtle"),
            *("sealskin", "leopard", "ocelot"),
        ),
    ),
)
"""Cautions that a material, a hazard or a word of the record calls for."""

HEAVY_KG = 10
"""Weight above which lifting by oneself is warned of (common practice; local rules may say less)."""


def cautions_for(pieces: Sequence[Piece], views: Iterable[View]) -> tuple[Caution, ...]:
    """The cautions to read before the boxes of these pieces are opened: hazards first, then handling.

    Args:
        pieces: the pieces of the shoot.
        views: the views that are filmed; cautions about forms come only with form views.
    """
    found = [*_hazards(pieces), *_limits(pieces), *HANDLING]
    if any(view in FORM_VIEWS or view is View.SIDE_BY_SIDE for view in views):
        found += ON_FORMS
    return tuple(found)


def _hazards(pieces: Sequence[Piece]) -> list[Caution]:
    told: dict[str, Caution] = {}
    for rule in RULES:
        for piece in pieces:
            if _calls(rule, piece):
                before = told.get(rule.id)
                names = (*before.pieces, piece.id) if before else (piece.id,)
                told[rule.id] = Caution(rule.id, rule.text, rule.source, tuple(dict.fromkeys(names)), rule.against)
    return list(told.values())


def _calls(rule: _Rule, piece: Piece) -> bool:
    if rule.years and not _made_in(piece, *rule.years):
        return False
    return any(has_word(text, rule.words) for text in _texts(piece))


def _texts(piece: Piece) -> list[str]:
    """What is on record about what the piece is made of and suffers from."""
    return [
        *piece.materials,
        *piece.hazards,
        f"{' '.join(piece.materials)} {piece.kind}",
        piece.handling.notes,
        *(entry.text for entry in piece.condition),
    ]


def _made_in(piece: Piece, first: int, last: int) -> bool:
    """Whether it may have been made in these years; an unknown date may be any."""
    made = piece.made
    if made is None:
        return True
    after = made.latest is None or made.latest.year >= first
    return after and (made.earliest is None or made.earliest.year <= last)


def _limits(pieces: Sequence[Piece]) -> list[Caution]:
    """What the owner has put down about each piece: hazards, people, weight, limits."""
    found = []
    for piece in pieces:
        limits = piece.handling
        told = list(piece.hazards)
        if limits.people > 1:
            told.append(f"{limits.people} people move it")
        weight = next((m.value for m in piece.measurements if m.unit == "kg"), None)
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
