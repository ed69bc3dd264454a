"""What may be dangerous, or easily harmed, about a piece: told by its materials, name, kind, features and record.

One row of `HAZARDS` holds all that is known of a hazard: the words that point to it, the years in which it was used,
what to do, and who says so. Sources were read as excerpts; what rests on a blog or an extract says so.
"""

from __future__ import annotations

from showrunner.domain.piece import Piece
from showrunner.domain.record import record
from showrunner.planning.materials import has_phrase, without

ABOUT_YEARS = 10
"""Years by which a date that is only about right widens the years that a hazard is looked for in, each way."""

NOT_REAL = ("faux", "fake", "mock", "imitation", "simulated", "synthetic")
"""Words that say a material only looks like what it is named after."""

NAMED_AFTER = (
    *("feather stitch", "feather stitched", "feather stitching", "bird's eye", "peacock blue", "peacock green"),
    *("chain stitch", "chain stitched", "rubber stamp", "rubber stamped", "mink brown", "fox brown", "lead grey"),
)
"""Stitches, weaves and colours that are named after something else."""


@record
class Hazard:
    """What may be dangerous or easily harmed, and what calls for it."""

    id: str
    """Permanent id."""
    text: str
    """What to do, in plain words."""
    source: str
    """Who says so."""
    words: tuple[str, ...] = ()
    """Words of what the piece is made of and what is on record about it; in whole words, as one or many."""
    made_words: tuple[str, ...] = ()
    """Words looked for only in what it is and is made of: colours, which in a condition note mean other things."""
    noted_words: tuple[str, ...] = ()
    """Words looked for only in its condition, hazards and handling notes."""
    whole: tuple[str, ...] = ()
    """Materials that are nothing but this word (`ivory`, which is a colour too)."""
    beside: tuple[str, ...] = ()
    """Words of which one must stand anywhere on the piece besides."""
    years: tuple[int, int] | None = None
    """It must have been made in these years, as far as its date allows; what is on record needs no date."""
    poison: bool = True
    """Whether gloves are worn for it."""
    against: str = ""
    """Id of the advice it differs from."""


FURS = (
    *("fur", "mink", "fox fur", "fox", "ermine", "musquash", "muskrat", "beaver fur", "sable", "marten", "squirrel"),
    *("coney", "rabbit fur", "chinchilla", "otter", "nutria", "coypu", "astrakhan", "karakul", "persian lamb"),
    *("skunk", "opossum", "possum", "raccoon", "wolf", "lynx", "monkey", "colobus", "leopard", "ocelot", "miniver"),
    *("sealskin", "seal fur", "lambskin", "sheepskin", "stoat", "stole of fur", "tippet of fur"),
)
"""Furs, as the trade names them."""

WILD_BIRDS = (
    *("bird", "feather", "plume", "egret", "aigrette", "osprey", "heron", "swansdown", "swan's down", "grebe"),
    *("hummingbird", "humming bird", "gull", "tern", "owl", "bird of paradise", "kingfisher"),
)
"""Feathers that may be of wild birds."""

FEATHERS = (*WILD_BIRDS, "ostrich", "marabou", "peacock", "pheasant", "cock's tail", "coque", "eiderdown")
"""Feathers, as the trade names them."""

HATS = ("hat", "bowler", "cloche", "trilby", "fedora", "homburg", "tricorne", "bicorne", "derby", "boater", "fez")
"""Hats that were made of felt among other things."""

HAZARDS = (
    Hazard(
        "pesticide",
        "Old fur, feathers and stuffed birds may hold arsenic, mercury, lead or DDT against moth, till the 1980s. "
        "If you do not know its history, take it that it does: nitrile gloves, no fingers through it, no shaking or "
        "brushing, wash after.",
        "Hazards in Collections (UK museums), arsenic; Tūhura Otago Museum; California State Parks, 2000, App. A; "
        "Tănăsescu & Lite 2022",
        words=(*FURS, *FEATHERS, "taxidermy", "pesticide", "insecticide", "arsenical soap", "ddt", "lindane"),
        made_words=("uniform", "wool blanket", "woollen blanket"),
        whole=("seal", "rabbit"),
    ),
    Hazard(
        "mercury",
        "A hat of felt or beaver may hold mercury. Museums name dates from the 17th century to the 1940s, and differ. "
        "It enters by skin, breath and mouth: nitrile gloves, keep it bagged, no steam, no reshaping. No dust mask "
        "stops its vapour, N95 included.",
        "CCI Notes 1/7; Parliamentary Archives, 2023; V&A Conservation Journal 46 (2004); ICOM, Dangerous Costume",
        made_words=("top hat", "bowler", "bowler hat", "beaver hat", "felt hat", "fur felt", "silk hat"),
        years=(1600, 1949),
    ),
    Hazard(
        "mercury",
        "",
        "",
        made_words=("felt", "beaver"),
        beside=HATS,
        years=(1600, 1949),
    ),
    Hazard("mercury", "", "", noted_words=("mercury", "mercuric")),
    Hazard(
        "arsenic-green",
        "Greens of about 1775 to 1918, and artificial flowers and leaves, may be arsenic: a powder that flakes off, "
        "and only a test can tell. Nitrile gloves; if it dusts, an overall and an N95 or FFP3 too; no food near it.",
        "National Mississippi River Museum; Tūhura Otago Museum; Winterthur Poison Book Project; Hazards in "
        "Collections (UK museums); Matthews David, Bata Shoe Museum",
        made_words=(
            *("green", "emerald", "london purple", "artificial flower", "artificial leaf", "artificial leaves"),
            *("cloth flower", "silk flower", "millinery flower", "wreath", "flower garland"),
        ),
        years=(1775, 1918),
    ),
    Hazard("arsenic-green", "", "", words=("arsenic", "arsenic suspect", "scheele's green", "paris green")),
    Hazard(
        "celluloid",
        "Celluloid (xylonite, French ivory, much “tortoiseshell”) lights easily, burns fast with poisonous smoke, and "
        "gives off acid that eats what lies near: keep it apart, aired, cool, and away from hot lamps (said of film; "
        "of combs it is inferred).",
        "CCI Notes 15/3; UK Health and Safety Executive INDG469; Cincinnati Art Museum",
        words=(
            *("celluloid", "french ivory", "cellulose nitrate", "xylonite", "ivorine", "ivoroid", "pyralin"),
            *("pyroxylin", "collodion", "parkesine", "imitation ivory", "imitation tortoiseshell", "tortoiseshell"),
        ),
    ),
    Hazard(
        "plastics",
        "Rubber, PVC, polyurethane and cellulose acetate decay: sticky, weeping or crumbling, with an acid that "
        "corrodes metal. Nitrile gloves; keep it apart and do not fold it.",
        "University of Cambridge Museums, 2016; V&A Conservation Journal 50",
        words=(
            *("cellulose acetate", "pvc", "vinyl", "polyurethane", "rubber", "rubberised", "rubberized"),
            *("gutta percha", "plastic foam", "foam rubber"),
        ),
    ),
    Hazard(
        "weighted-silk",
        "Weighted silk (metal salts, about 1850 to the early 1900s; tin commonest) may split with any handling: "
        "no hanging, least handling.",
        "Rijksmuseum, Shattered silk; Bard Graduate Center; review in Heritage 8:332 (2025)",
        words=("weighted silk", "shattering", "shattered", "shattered silk", "split silk", "splitting silk"),
        poison=False,
    ),
    Hazard(
        "weighted-silk-doubt",
        "That weighting is why silk splits is disputed in print; handle as little all the same.",
        "Garside 2010",
        words=("weighted silk",),
        poison=False,
        against="weighted-silk",
    ),
    Hazard(
        "mould",
        "Mould: nitrile gloves, an FFP3 or N95 and goggles, even for a little. Keep it apart and dry (it grows above "
        "75% RH); only a HEPA vacuum; a bad case is for professionals.",
        "Hazards in Collections (UK museums), mould; CCI Technical Bulletin 26 (contents only); CCI, humidity",
        words=("mould", "mold", "mouldy", "moldy", "mildew", "mildewed", "musty"),
    ),
    Hazard(
        "asbestos",
        "It may hold asbestos, as fireproof cloth, oven gloves, gas masks and artificial snow did: take it that it "
        "does. Stop, shut it away without shaking, get a test.",
        "Hazards in Collections (UK museums), asbestos; Museums & Galleries of NSW; CCI, textiles",
        words=(
            *("asbestos", "fireproof", "fire proof", "fireproofed", "fire curtain", "gas mask", "artificial snow"),
            *("oven glove", "oven mitt", "heat apron", "fireman's jacket", "fireman's tunic"),
        ),
    ),
    Hazard(
        "lead",
        "Lead (hem weights, buckles, pewter, paint): thin nitrile gloves, leave any white powder alone, wash before "
        "anything else.",
        "CCI Notes 1/8; Hazards in Collections (UK museums), lead",
        words=("lead weight", "lead shot", "lead pellet", "leaded", "pewter", "lead paint", "lead button"),
        whole=("lead",),
    ),
    Hazard(
        "radium",
        "Luminous paint may hold radium, which stays dangerous long after the glow has gone: never open or rub it; "
        "dust of crumbling paint is the danger. Nitrile gloves; ask before you film it.",
        "US Environmental Protection Agency, Radioactive Antiques; National Museum of Bermuda; Hazards in Collections "
        "(UK museums), radiation",
        words=("radium", "luminous", "glow in the dark", "glows in the dark"),
    ),
    Hazard(
        "mothballs",
        "Mothballs are naphthalene or paradichlorobenzene, which no eye can tell apart: take crystals out, air it "
        "well, keep it apart and from infants, label it. A smell is no alarm and no all-clear; neither a dust mask nor "
        "an N95 stops the vapour.",
        "US EPA, household list; AIC Health & Safety, 2017; Conservation DistList 28:18",
        words=("mothball", "moth ball", "naphthalene", "naphthaline", "camphor", "paradichlorobenzene", "moth crystal"),
    ),
    Hazard(
        "pins",
        "Pins, needles and staples prick and rust: feel for them before the hand goes in, take them out, and write "
        "down where each was (common practice). Tissue over fastenings that rust.",
        "CCI Notes 13/2 and 13/5",
        words=(
            *("pins", "rusty pin", "loose pin", "hat pin", "hatpin", "rusty needle", "needles", "staple", "pinned"),
            *("rusty hook", "rusty", "rusting"),
        ),
        poison=False,
    ),
    Hazard(
        "dust",
        "Dusty or powdering: an N95 or FFP2/3 that fits. Comfort dust masks let up to 97% through, and neither kind "
        "stops vapour.",
        "laboratory study, PMC7357396; ICOM, Dangerous Costume",
        noted_words=(
            *("dusty", "powder", "powdery", "powdering", "sheds", "shedding", "flaking", "flakes", "crumbling"),
            "crumbles",
        ),
    ),
    Hazard(
        "heat",
        "30 s under hot lamps can harm thermo-sensitive objects; avoid bright studio lamps.",
        "AIC Guideline 3.5",
        words=(
            *("gelatin", "gelatine", "celluloid", "xylonite", "wax", "waxed", "tar", "tarred", "from heat"),
            "tortoiseshell",
        ),
        poison=False,
    ),
    Hazard(
        "no-hanging",
        "Do not hang it: knits, bias cuts and heavy beading drop out of shape.",
        "CCI Notes 13/5",
        made_words=("knit", "knitted", "hand knitted", "bias cut", "heavy beading", "beaded", "jet bead", "glass bead"),
        poison=False,
    ),
    Hazard(
        "handle",
        "Never by its handle: on both hands, or on a board.",
        "AMOL reCollections 2/1/06",
        made_words=("bag", "handbag", "reticule", "purse", "parasol", "umbrella", "chatelaine", "basket"),
        poison=False,
    ),
)
"""Every hazard; rows of one id are further ways to meet it, and the first of them has the words."""

METALS = (
    *("metal", "metal thread", "gilt", "silver gilt", "silver thread", "gold thread", "gold braid", "silver braid"),
    *("brass", "steel", "iron", "copper", "tin", "pewter", "tinsel", "lamé", "gold lace", "silver lace", "chain"),
)
"""Materials for which gloves are worn because skin tarnishes them."""


def hazards_of(piece: Piece) -> tuple[Hazard, ...]:
    """The hazards of a piece, each once, in the order of the table."""
    first = {hazard.id: hazard for hazard in reversed(HAZARDS)}
    return tuple(first[id] for id in dict.fromkeys(hazard.id for hazard in HAZARDS if _calls(hazard, piece)))


def has_metal(piece: Piece) -> bool:
    """Whether it is made of metal, or has metal thread."""
    return any(has_phrase(text, METALS) for text in real([*piece.materials, *(f.what for f in piece.features)]))


def made_of(piece: Piece) -> list[str]:
    """What the piece is and is made of, in the owner's words."""
    return [
        *piece.materials,
        piece.kind,
        piece.name,
        f"{' '.join(piece.materials)} {piece.kind}",
        *(feature.what for feature in piece.features),
    ]


def noted(piece: Piece) -> list[str]:
    """What is on record about its state."""
    return [*piece.hazards, piece.handling.notes, *(entry.text for entry in piece.condition)]


def real(texts: list[str]) -> list[str]:
    """The texts that speak of the thing itself, not of something that looks like it."""
    return [without(text, NAMED_AFTER) for text in texts if not has_phrase(text, NOT_REAL)]


def _calls(hazard: Hazard, piece: Piece) -> bool:
    here, told = made_of(piece), noted(piece)
    if any(has_phrase(text, (*hazard.words, *hazard.noted_words)) for text in told):
        return True
    if hazard.years and not _made_in(piece, *hazard.years):
        return False
    if hazard.beside and not any(has_phrase(text, hazard.beside) for text in here):
        return False
    looks = (*hazard.words, *hazard.made_words)
    imitations = tuple(phrase for phrase in looks if has_phrase(phrase, NOT_REAL))
    return (
        any(has_phrase(text, looks) for text in real(here))
        or any(has_phrase(text, imitations) for text in here)
        or any(material.strip().lower() in hazard.whole for material in piece.materials)
    )


def _made_in(piece: Piece, first: int, last: int) -> bool:
    """Whether it may have been made in these years; an unknown date may be any."""
    made = piece.made
    if made is None:
        return True
    wider = ABOUT_YEARS if made.is_about else 0
    after = made.latest is None or made.latest.year + wider >= first
    return after and (made.earliest is None or made.earliest.year - wider <= last)
