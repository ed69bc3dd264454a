"""Kinds of dress: what each is held on, the side it opens on, its views, and their thesaurus identifiers.

Adding a kind is one word in a row. What goes on a form, how it mostly opens and what has an inside is common practice;
a piece that opens on another side says so itself.

The identifiers are those of the table `IMA-Object-Types-AAT` (github american-art/ima). A kind has one only where
it is the very term: a dressing gown is none of the gowns, and a wrong identifier would be worse than none.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from enum import StrEnum
from functools import cache

from showrunner.domain import words
from showrunner.domain.opening import Opens
from showrunner.domain.piece import View
from showrunner.domain.record import record
from showrunner.domain.shoot import Camera, Touch

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
    "afternoon dresses": "300224228",
    "blouses": "300046133",
    "caftans": "300046139",
    "cocktail dresses": "300046160",
    "mourning dresses": "300375755",
    "pinafore dresses": "300046164",
    "shorts": "300209930",
    "slacks": "300209934",
    "suits": "300209863",
    "sweaters": "300209900",
    "trousers": "300209935",
    "tunics": "300209869",
    "walking suits": "300257138",
    "bathing suits": "300129420",
    "brassieres": "300210538",
    "stockings": "300046088",
    "leg warmers": "300209985",
    "belts": "300210002",
    "boas": "300215870",
    "cummerbunds": "300210005",
    "hairpins": "300046042",
    "neckpieces": "300210071",
    "sashes": "300216864",
    "scarves": "300046123",
    "veils": "300046128",
    "necklaces": "300046001",
    "pendants": "300046002",
    "buttonhooks": "300236254",
}
"""Identifier of each term."""


class Held(StrEnum):
    """What a kind is put on to show how it is worn."""

    ADULT = "dress form"
    CHILD = "child's form"
    SKIRT = "skirt form"
    """Or a dress form, by its waist."""
    HEAD = "head stand"
    HAND = "hand or wrist stand"
    FOOT = "foot"
    NONE = "no form"


@record
class Seen:
    """One view of a kind: what brings it before the camera, and where that stands."""

    view: View
    """The view."""
    touch: Touch
    """The touch after which it is seen."""
    camera: Camera
    """Where the camera stands."""


class Shows(StrEnum):
    """The sorts of things that share their views."""

    GARMENT = "garment"
    FLAT = "flat thing"
    HEADWEAR = "headwear"
    FOOTWEAR = "footwear"
    GLOVE = "glove"
    BAG = "bag"
    FOLDING = "fan or parasol"
    SMALL = "small thing"
    CLASPED = "small thing with a clasp"
    OBJECT = "solid thing"


_ABOVE, _CLOSE, _LEVEL = Camera.OVERHEAD, Camera.OVERHEAD_CLOSE, Camera.LEVEL
_FLAT_VIEWS = (
    Seen(View.FLAT_FACE, Touch.LAY, _ABOVE),
    Seen(View.FLAT_REVERSE, Touch.TURN, _ABOVE),
    Seen(View.INSIDE, Touch.OPEN, _ABOVE),
)
_AROUND = (View.FRONT, View.LEFT, View.RIGHT, View.BACK)

VIEWS: Mapping[Shows, tuple[Seen, ...]] = {
    Shows.GARMENT: (
        *_FLAT_VIEWS,
        Seen(View.FORM_FRONT, Touch.DRESS, _LEVEL),
        Seen(View.FORM_LEFT, Touch.DRESS, _LEVEL),
        Seen(View.FORM_RIGHT, Touch.DRESS, _LEVEL),
        Seen(View.FORM_BACK, Touch.DRESS, _LEVEL),
    ),
    Shows.FLAT: _FLAT_VIEWS,
    Shows.HEADWEAR: (
        *(Seen(view, Touch.DRESS, _LEVEL) for view in _AROUND),
        Seen(View.TOP, Touch.DRESS, _ABOVE),
        Seen(View.INSIDE, Touch.TURN, _ABOVE),
    ),
    Shows.FOOTWEAR: (
        *(Seen(view, Touch.LAY, _LEVEL) for view in (View.PAIR, View.PROFILE, View.FRONT, View.BACK)),
        Seen(View.INSIDE, Touch.LAY, _ABOVE),
        Seen(View.SOLE, Touch.TURN, _ABOVE),
    ),
    Shows.GLOVE: (
        Seen(View.BACK, Touch.LAY, _ABOVE),
        Seen(View.PALM, Touch.TURN, _ABOVE),
        Seen(View.INSIDE, Touch.OPEN, _ABOVE),
    ),
    Shows.BAG: (
        Seen(View.CLOSED, Touch.LAY, _ABOVE),
        Seen(View.OPEN, Touch.OPEN, _ABOVE),
        Seen(View.INSIDE, Touch.OPEN, _ABOVE),
        Seen(View.BASE, Touch.TURN, _ABOVE),
    ),
    Shows.FOLDING: (
        Seen(View.CLOSED, Touch.LAY, _ABOVE),
        Seen(View.OPEN, Touch.OPEN, _ABOVE),
        Seen(View.OPEN_REVERSE, Touch.TURN, _ABOVE),
    ),
    Shows.SMALL: (Seen(View.FLAT_FACE, Touch.LAY, _CLOSE), Seen(View.FLAT_REVERSE, Touch.TURN, _CLOSE)),
    Shows.CLASPED: (
        Seen(View.FLAT_FACE, Touch.LAY, _CLOSE),
        Seen(View.FLAT_REVERSE, Touch.TURN, _CLOSE),
        Seen(View.CLASP, Touch.TURN, _CLOSE),
    ),
    Shows.OBJECT: (
        *(Seen(view, Touch.LAY, _LEVEL) for view in _AROUND),
        Seen(View.TOP, Touch.LAY, _ABOVE),
        Seen(View.INSIDE, Touch.OPEN, _ABOVE),
        Seen(View.BASE, Touch.TURN, _ABOVE),
    ),
}
"""The views of each sort. Sources: VIEW rows of museums for hats (support, inside with the label), shoes (sole), fans
(opened once, face and reverse), parasols and bags; the lists themselves are common practice."""


@record
class Kind:
    """What a kind is to a camera."""

    name: str
    """The trade's word, as one."""
    held: Held
    """What it is put on."""
    opens: Opens
    """The side it mostly opens on."""
    inside: bool
    """Whether it has an inside to show."""
    shows: Shows
    """Which views it has."""

    @property
    def form(self) -> bool:
        """Whether it goes on a dress form, a child's or a skirt form."""
        return self.held in (Held.ADULT, Held.CHILD, Held.SKIRT)

    @property
    def views(self) -> tuple[Seen, ...]:
        """Its standard views, in the order in which they are listed."""
        return tuple(seen for seen in VIEWS[self.shows] if self.inside or seen.view is not View.INSIDE)


def _rows(text: str, held: Held, opens: Opens, shows: Shows, *, inside: bool = True) -> dict[tuple[str, ...], Kind]:
    names = [name.strip() for name in text.split(";")]
    return {tuple(name.split()): Kind(name, held, opens, inside, shows) for name in names}


_FRONT = """
    coat; frock coat; tail coat; tailcoat; overcoat; greatcoat; topcoat; raincoat; mackintosh; trench coat; duster;
    ulster; pelisse; redingote; spencer; jacket; blazer; bed jacket; doublet; smoking jacket; norfolk jacket;
    dinner jacket; bolero; zouave; cape; capelet; cloak; mantle; mantelet; dolman; pelerine; cope; bodice; basque;
    blouse; shirt; shirtwaist; cardigan; twinset; waistcoat; sleeved waistcoat; vest; gilet; dressing gown; bathrobe;
    kimono; caftan; house coat; wrapper; peignoir; negligee; robe; academic gown; cassock; corset; corset cover;
    camisole; liberty bodice; bust bodice; combinations; mantua; polonaise; sack back gown; tea gown; riding habit;
    habit; uniform; livery; suit; walking suit; sailor suit; trouser suit; pyjamas; pajamas; siren suit; jump suit;
    boiler suit; overall; overalls; breeches; trousers; slacks; shorts; jodhpurs; plus fours; knickerbockers; costume
"""
_BACK = """
    dress; gown; frock; ball gown; evening dress; wedding dress; day dress; afternoon dress; round gown; sundress;
    cocktail dress; mourning dress; pinafore dress; apron; pinafore; stays; brassiere; bust improver; tutu; leotard;
    drawers; fancy dress
"""
_SIDE = """
    dungarees; bloomers; knickers; pantalettes; girdle; corselet
"""
_OVER_THE_HEAD = """
    shift; chemise; smock; smock frock; night dress; nightdress; nightgown; nightshirt; night shirt; surplice; chasuble;
    dalmatic; poncho; tabard; t-shirt; jersey; jumper; pullover; sweater; guernsey; tunic; slip; bathing costume;
    bathing suit; swimsuit; saree; sari; leggings; sleeves
"""
_SKIRTS = """
    skirt; petticoat; underskirt; overskirt; panniers; hoop; farthingale; crinoline; bustle
"""
_WRAPPED_SKIRTS = "kilt; culottes"
_CHILDS_BACK = "christening robe; christening gown; infant gown; skeleton suit; romper"
_CHILDS_SIDE = "gymslip; gym slip; gym tunic"
_HEADWEAR = """
    bonnet; sunbonnet; poke bonnet; calash; hat; top hat; bowler; boater; cloche; trilby; homburg; tricorne; turban;
    toque; beret; cap; bathing cap; bed cap; night cap; nightcap; mob cap; smoking cap; flat cap; baby cap; busby;
    shako; helmet; hood; snood; headdress; coif; fez; wig
"""
_GLOVES = "glove; gauntlet; mitten; mitt"
_FOOTWEAR = """
    shoe; boot; slipper; sandal; clog; patten; pump; court shoe; brogue; overshoe; galosh; galoshes
"""
_BAGS = "bag; handbag; reticule; purse; workbag; satchel; evening bag; chatelaine bag; sporran"
_FOLDING = "parasol; umbrella; sunshade; fan; folding fan; brisé fan; feather fan"
_FLAT_WITH_INSIDE = """
    muff; cuff; spat; spatterdash; spatterdashes; gaiter; garter; stocking; sock; hose; pocket; pair of pockets;
    stomacher
"""
_FLAT_ONLY = """
    boa; stole; tippet; shawl; scarf; scarves; kerchief; neckerchief; handkerchief; fichu; veil; jabot; collar;
    collar and cuffs; dickey; cravat; necktie; tie; bow tie; stock; ruff; rabat; belt; sash; cummerbund; ribbon;
    braces; suspender; lace; flounce; lappet; trim; trimming; braid; panel; sampler; quilt; coverlet; bedcover;
    textile; fragment; artificial flower; plume; neckpiece; leg warmer; epaulette
"""
_SMALL = """
    comb; hair comb; hairpin; hat pin; hatpin; ring; tiara; button; buttonhook; pin; cufflink; busk; medal; spur
"""
_CLASPED = """
    hair slide; brooch; necklace; necklet; pendant; locket; earring; bracelet; bangle; chatelaine; watch; buckle;
    shoe buckle; clip; badge
"""
_BOXES = "hat box; glove box; necktie case"
_SOLID = "cane; pincushion; hat block; glove block; block; wig block"

KINDS: Mapping[tuple[str, ...], Kind] = {
    **_rows(_FRONT, Held.ADULT, Opens.FRONT, Shows.GARMENT),
    **_rows(_BACK, Held.ADULT, Opens.BACK, Shows.GARMENT),
    **_rows(_SIDE, Held.ADULT, Opens.SIDE, Shows.GARMENT),
    **_rows(_OVER_THE_HEAD, Held.ADULT, Opens.NONE, Shows.GARMENT),
    **_rows(_SKIRTS, Held.SKIRT, Opens.BACK, Shows.GARMENT),
    **_rows(_WRAPPED_SKIRTS, Held.SKIRT, Opens.SIDE, Shows.GARMENT),
    **_rows(_CHILDS_BACK, Held.CHILD, Opens.BACK, Shows.GARMENT),
    **_rows(_CHILDS_SIDE, Held.CHILD, Opens.SIDE, Shows.GARMENT),
    **_rows(_HEADWEAR, Held.HEAD, Opens.NONE, Shows.HEADWEAR),
    **_rows(_GLOVES, Held.HAND, Opens.BACK, Shows.GLOVE),
    **_rows(_FOOTWEAR, Held.FOOT, Opens.FRONT, Shows.FOOTWEAR),
    **_rows(_BAGS, Held.NONE, Opens.FRONT, Shows.BAG),
    **_rows(_FOLDING, Held.NONE, Opens.FRONT, Shows.FOLDING, inside=False),
    **_rows(_FLAT_WITH_INSIDE, Held.NONE, Opens.NONE, Shows.FLAT),
    **_rows(_FLAT_ONLY, Held.NONE, Opens.NONE, Shows.FLAT, inside=False),
    **_rows(_SMALL, Held.NONE, Opens.NONE, Shows.SMALL, inside=False),
    **_rows(_CLASPED, Held.NONE, Opens.NONE, Shows.CLASPED, inside=False),
    **_rows(_BOXES, Held.NONE, Opens.FRONT, Shows.OBJECT),
    **_rows(_SOLID, Held.NONE, Opens.NONE, Shows.OBJECT, inside=False),
}
"""Every kind by its words."""

_CHILDS = frozenset(
    {"child", "childs", "children", "childrens", "infant", "baby", "boy", "boys", "girl", "girls", "toddler"}
)
"""Words of a kind or a name that make it a child's."""


def is_childs(text: str) -> bool:
    """Whether a kind or a name says that it was made for a child (`sailor suit, child's`)."""
    return not _CHILDS.isdisjoint(_OWNED.sub("", word) for word in _APART.split(words.plain(text)))


_APART = re.compile(r"[^\w'’-]+")
_OWNED = re.compile("['’]s?$")
_REST = re.compile(r"[,;(/]|\bwith\b|\band\b")


def kind_of(text: str) -> Kind | None:
    """The kind that a word or a name of the trade means: `Captain's coat` is a coat.

    Whole words count, and words joined by a hyphen are one (a `block-printed gown` is a gown). Of several kinds the one
    of most words, then the one that comes last, for that is what the thing is (a `bonnet veil` is a veil). What
    follows `with`, `and` or a comma is what it has besides.

    Args:
        text: a kind or a name, as one or many.

    Returns:
        The kind; None if no word of it is known.
    """
    return _found(words.plain(text))


@cache
def _found(text: str) -> Kind | None:
    whole = tuple(text.split()) in KINDS  # `collar and cuffs` is one kind
    for part in [text] if whole else _REST.split(text):
        parts = [_single(word) for word in _APART.split(part) if word]
        for many in range(min(3, len(parts)), 0, -1):
            for at in range(len(parts) - many, -1, -1):
                for name in _readings(parts[at : at + many]):
                    if name in KINDS:
                        return KINDS[name]
    return None


def _single(word: str) -> tuple[str, ...]:
    """A word as it stands, and as one where it may be many."""
    singles = [word]
    if word.endswith("es"):
        singles.append(word[:-2])
    if word.endswith("s"):
        singles.append(word[:-1])
    if word.endswith("ies"):
        singles.append(f"{word[:-3]}y")
    return tuple(singles)


def _readings(parts: list[tuple[str, ...]]) -> list[tuple[str, ...]]:
    """Words as they stand and with the last as one."""
    first = tuple(part[0] for part in parts[:-1])
    return [(*first, last) for last in parts[-1]]


def aat(kind: str) -> str:
    """The identifier of a kind, written as one or many (`bonnet`, `Bonnets`, `pair of gloves`).

    Args:
        kind: what a piece is, in the trade's word.

    Returns:
        The identifier, or nothing where the kind is none of the terms.
    """
    plain = words.plain(kind).removeprefix("a ").removeprefix("pair of ")
    many = f"{plain}es" if plain.endswith(("s", "sh", "ch", "x")) else f"{plain}s"  # not `cap` for `capes`
    return AAT.get(plain) or AAT.get(many) or ""
