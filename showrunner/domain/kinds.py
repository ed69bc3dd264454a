"""Kinds of dress: which go on a dress form, which have an inside to open, and their thesaurus identifiers.

Adding a kind is one word in a row. What goes on a form and what has an inside is common practice.

The identifiers are those of the table `IMA-Object-Types-AAT` (github american-art/ima). A kind has one only where
it is the very term: a dressing gown is none of the gowns, and a wrong identifier would be worse than none.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache

from showrunner.domain import words
from showrunner.domain.record import record

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


@record
class Kind:
    """What a kind is to a camera."""

    name: str
    """The trade's word, as one."""
    form: bool
    """Whether it goes on a dress form."""
    inside: bool
    """Whether it has an inside to open."""


_FORM = """
    dress; gown; frock; robe; tea gown; ball gown; evening dress; wedding dress; day dress; afternoon dress; round gown;
    cocktail dress; mourning dress; pinafore dress; sack back gown; mantua; polonaise; sundress; shift; chemise; smock;
    night dress; nightdress; nightgown; nightshirt; night shirt; dressing gown; bathrobe; kimono; caftan; house coat;
    wrapper; peignoir; negligee; christening robe; christening gown; infant gown; academic gown; cassock; surplice;
    chasuble; cope; dalmatic; habit; riding habit; coat; frock coat; tail coat; tailcoat; overcoat; greatcoat; topcoat;
    raincoat; mackintosh; trench coat; duster; ulster; pelisse; redingote; spencer; jacket; blazer; bed jacket; doublet;
    smoking jacket; norfolk jacket; dinner jacket; bolero; zouave; cape; capelet; cloak; mantle; mantelet; dolman;
    pelerine; poncho; tabard; bodice; basque; blouse; shirt; shirtwaist; t-shirt; jersey; jumper; pullover; sweater;
    cardigan; guernsey; twinset; waistcoat; vest; gilet; tunic; skirt; crinoline; bustle; petticoat;
    underskirt; overskirt; panniers; hoop; farthingale; kilt; culottes; apron; pinafore; overall; stays; corset; girdle;
    corselet; corset cover; camisole; slip; bust bodice; brassiere; bust improver; liberty bodice; combinations;
    drawers; bloomers; knickers; pantalettes; breeches; trousers; slacks; shorts; jodhpurs; plus fours; knickerbockers;
    leggings; overalls; dungarees; boiler suit; suit; walking suit; sailor suit; skeleton suit; trouser suit; pyjamas;
    pajamas; siren suit; jump suit; romper; gymslip; gym slip; gym tunic; bathing costume; bathing suit; swimsuit;
    leotard; tutu; costume; fancy dress; uniform; livery; saree; sari; sleeved waistcoat; smock frock; sleeves
"""
"""Garments that stand on a form and have an inside."""

_INSIDE = """
    bonnet; sunbonnet; poke bonnet; calash; hat; top hat; bowler; boater; cloche; trilby; homburg; tricorne; turban;
    toque; beret; cap; bathing cap; bed cap; night cap; nightcap; mob cap; smoking cap; flat cap; baby cap; busby;
    shako; helmet; hood; snood; headdress; coif; fez; glove; gauntlet; mitten; mitt; muff; cuff; shoe;
    boot; slipper; sandal; clog; patten; pump; court shoe; brogue; overshoe; galosh; galoshes; spat; spatterdash;
    spatterdashes; gaiter; garter; stocking; sock; hose; bag; handbag; reticule; purse; pocket; pair of pockets;
    workbag; satchel; evening bag; chatelaine bag; sporran; hat box; glove box; necktie case; stomacher; wig
"""
"""What has an inside to show and stands on no dress form."""

_NEITHER = """
    boa; stole; tippet; shawl; scarf; scarves; kerchief; neckerchief; handkerchief; fichu; veil; jabot; collar;
    collar and cuffs; dickey; cravat; necktie; tie; bow tie; stock; ruff; rabat; belt; sash; cummerbund; ribbon;
    braces; suspender; parasol; umbrella; sunshade; cane; fan; folding fan; brisé fan; feather fan; comb; hair comb;
    hairpin; hair slide; hat pin; hatpin; brooch; necklace; necklet; pendant; locket; earring; bracelet; bangle; ring;
    tiara; chatelaine; watch; buckle; shoe buckle; button; buttonhook; pin; pincushion; clip; cufflink; badge; medal;
    hat block; glove block; block; wig block; lace; flounce; lappet; trim; trimming; braid; panel; sampler; quilt;
    coverlet; bedcover; textile; fragment; artificial flower; plume; busk; neckpiece; leg warmer; epaulette; spur
"""
"""What has no inside to open and stands on no dress form."""


def _rows(text: str, *, form: bool, inside: bool) -> dict[tuple[str, ...], Kind]:
    names = [name.strip() for name in text.split(";")]
    return {tuple(name.split()): Kind(name, form, inside) for name in names}


KINDS: Mapping[tuple[str, ...], Kind] = {
    **_rows(_FORM, form=True, inside=True),
    **_rows(_INSIDE, form=False, inside=True),
    **_rows(_NEITHER, form=False, inside=False),
}
"""Every kind by its words."""

_APART = re.compile(r"[^\w'’-]+")
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
