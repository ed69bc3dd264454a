"""Kinds of dress against published identifiers, and how they are shown."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showrunner.domain.kinds import KINDS, Held, Shows, aat, is_childs, kind_of
from showrunner.domain.opening import Opens
from showrunner.domain.piece import View
from showrunner.domain.shoot import Camera, Touch


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
        ("afternoon dress", "afternoon dresses", "300224228"),
        ("blouse", "blouses", "300046133"),
        ("trousers", "trousers", "300209935"),
        ("tunic", "tunics", "300209869"),
        ("boa", "boas", "300215870"),
        ("stocking", "pair of stockings", "300046088"),
        ("veil", "veils", "300046128"),
        ("necklace", "necklaces", "300046001"),
    ],
)
def test_identifiers_of_the_art_and_architecture_thesaurus(one: str, many: str, identifier: str) -> None:
    """Source: github american-art/ima, `IMA-Object-Types-AAT`."""
    assert aat(one) == aat(many) == identifier


@pytest.mark.parametrize(
    "kind", ["", "dressing gown", "straw bonnet", "waistcoat", "s", "corset", "parasol", "boot", "cap", "wrap"]
)
def test_a_kind_that_is_none_of_the_terms_has_no_identifier(kind: str) -> None:
    assert aat(kind) == ""


# How a kind is shown is common practice; the words are those of costume collections, many of them terms of the
# thesaurus named above (garments, underwear, headgear, footwear, accessories worn and carried).
ON_A_FORM = """
    afternoon dress; apron; ball gown; basque; bathing costume; bathing suit; bed jacket; blazer; bloomers; blouse;
    boating jacket; bodice; bolero; block-printed gown; breeches; bustle; camisole; cape; captain's coat; cardigan;
    cassock; chemise; christening gown; christening robe; cloak; coat; collarless jacket; combinations; corset;
    cope; corset cover; crinoline; cycling knickerbockers; dance frock; day dress; dinner jacket; divided skirt;
    dolman; doublet; drawers; dressing gown; dungarees; evening cape; evening dress; fan-pleated skirt; fisherman's
    guernsey; frock coat; girdle; greatcoat; gymslip; hooded cloak; infant gown; jodhpurs; jumper; kilt; kimono;
    knickers; leggings; mantle; mantua; mourning dress; motoring duster; nightgown; nightshirt; overalls; overcoat;
    pelerine; pelisse, child's; petticoat; pinafore; polonaise; pullover; pyjamas; raincoat; redingote; riding
    habit; round gown; sailor suit; sari; shirt; shirtwaist; shorts; siren suit; skating jacket; skirt; slip; smock;
    smoking jacket; spencer; stays; surplice; sweater; swimsuit; tail coat; tea gown; tennis dress; trousers; tunic;
    ulster; uniform; waistcoat; walking suit; wedding dress; wrapper; dress with matching cape; coat and hat;
    jacket, fox collar
"""
OFF_THE_FORM = """
    artificial flower; bag; bathing cap; bed cap; belt; beret; boa; boater; bonnet; bonnet veil; boots; bowler;
    bowler hat; bracelet; braces; brooch; buckle; busk; button; buttonhook; calash; cane; cap; chatelaine; clogs;
    cloche; collar; collar and cuffs; comb; cravat; cuffs; cummerbund; earrings; fan; feather boa; fichu; flat cap;
    folding fan; gaiters; garters; gauntlets; glove block; gloves; hairpins; handbag; handkerchief; hat; hat block;
    hatpin; helmet; hood; jabot; kerchief; lace; lappets; leg warmers; mitts; mob cap; muff; necklace; necktie;
    nightcap; opera gloves; parasol; pair of shoes; pattens; pendant; pins; pocket; poke bonnet; purse; reticule;
    ribbon; ruff; sampler; sandals; sash; scarves; shawl; shoes; shoe buckles; slippers; snood; socks; spats;
    spatterdashes; stockings; stole; stomacher; straw bonnet; sunbonnet; tiara; tie; tippet; top hat; toque;
    tricorne; turban; umbrella; veil; watch; wig; workbag
"""
NO_INSIDE = """
    belt; boa; brooch; comb; collar; cravat; fan; fichu; handkerchief; hat block; jabot; lace; necklace; parasol;
    ribbon; sampler; sash; shawl; stole; tiara; umbrella; veil; feather boa; bonnet veil; shoe buckles; scarves;
    folding fan
"""


def names(text: str) -> list[str]:
    return [name.strip() for name in text.split(";")]


def test_there_are_over_150_kinds() -> None:
    assert len({*names(ON_A_FORM), *names(OFF_THE_FORM)}) > 150


@pytest.mark.parametrize("many", ["{}", "{} with ribbons", "Mrs Cap's {}", "{} (boxed, fan-folded)"])
def test_a_garment_goes_on_a_form_and_nothing_else_does(many: str) -> None:
    wanted = dict.fromkeys(names(ON_A_FORM), True) | dict.fromkeys(names(OFF_THE_FORM), False)
    told = {name: kind_of(many.format(name)) for name in wanted}
    assert [name for name, kind in told.items() if kind is None] == []
    assert {name: kind.form for name, kind in told.items() if kind} == wanted


def test_what_can_be_opened_has_an_inside() -> None:
    told = {name: kind_of(name) for name in (*names(ON_A_FORM), *names(OFF_THE_FORM))}
    assert {name for name, kind in told.items() if kind and not kind.inside} >= {*names(NO_INSIDE)}
    for name in ("cape", "muff", "bonnet", "shoes", "gloves", "handbag", "stockings", "waistcoat"):
        assert (kind := kind_of(name))
        assert kind.inside


@pytest.mark.parametrize("text", ["", "thing", "evergreen", "capsule", "toes", "fanfare", "(", "and", "a" * 200])
def test_what_is_no_kind_is_not_taken_for_one(text: str) -> None:
    assert kind_of(text) is None


@given(st.sampled_from(sorted(" ".join(name) for name in KINDS)))
def test_every_kind_of_the_table_is_found_as_one_and_as_many(name: str) -> None:
    for text in (name, name.upper(), f"{name}s", f"old {name}"):
        assert (kind := kind_of(text))
        assert kind.name == name or name.endswith("s") or text.endswith("s")


@pytest.mark.parametrize("phrase", ["bust bodice", "glove box", "hat pin", "christening robe"])
def test_of_several_kinds_the_one_of_most_words_counts(phrase: str) -> None:
    assert (kind := kind_of(f"lady's {phrase}"))
    assert kind.name == phrase


# On which side a thing opens, what it is put on and what is shown of it. Openings of women's dress by date (mantua
# pinned in front, a gown of 1808 to 1811 laced at the back, a day bodice of the 1850s to 1880s hooked in front) are of
# museum records; what a kind mostly does, and the lists, are common practice.
OPENING = {
    Opens.FRONT: """
        boating jacket; captain's coat; cape; cloak; waistcoat; blouse; bodice; cardigan; corset; dressing gown;
        frock coat; kimono; mantua; motoring duster; pelisse; pyjamas; riding habit; sailor suit; shirt; tea gown;
        trousers; uniform; handbag; fan; parasol; umbrella; purse; hat box
    """,
    Opens.BACK: """
        day dress; dance frock; infant gown; christening robe; evening dress; wedding dress; apron; pinafore; country
        stays; petticoat; skirt; drawers; brassiere; gloves; gauntlets; mitts
    """,
    Opens.SIDE: "gymslip; dungarees; girdle; kilt; culottes; knickers",
    Opens.NONE: """
        smock; fisher's smock; shift; chemise; nightshirt; lifeboat jersey; pullover; bathing costume; sari; surplice;
        shawl; collar; stockings; muff; necklace; comb; hat block; straw bonnet; cap
    """,
}


@pytest.mark.parametrize("side", Opens)
def test_the_side_on_which_a_thing_mostly_opens(side: Opens) -> None:
    told = {name: kind_of(name) for name in names(OPENING[side])}
    assert {name: kind.opens if kind else None for name, kind in told.items()} == dict.fromkeys(told, side)


PUT_ON = {
    Held.ADULT: "cape; day dress; jacket; stays; trousers; sari; tennis dress",
    Held.SKIRT: "skirt; petticoat; crinoline; bustle; kilt; divided skirt",
    Held.CHILD: "gymslip; christening robe; infant gown; romper; skeleton suit",
    Held.HEAD: "straw bonnet; top hat; cap; turban; wig; smoking cap; busby; cloche",
    Held.HAND: "opera gloves; gauntlets; mitts",
    Held.FOOT: "shoes; boots; slippers; clogs; pattens; galoshes",
    Held.NONE: "muff; veil; comb; umbrella; necklace; stockings; shawl; lace; handbag; fan; hat block; pocket",
}


@pytest.mark.parametrize("held", Held)
def test_what_a_thing_is_put_on(held: Held) -> None:
    told = {name: kind_of(name) for name in names(PUT_ON[held])}
    assert {name: kind.held if kind else None for name, kind in told.items()} == dict.fromkeys(told, held)


AROUND = ["front", "left side", "right side", "back"]
SHOWN = {
    "jacket": ["flat face", "flat reverse", "inside", "form front", "form left", "form right", "form back"],
    "straw bonnet": [*AROUND, "top", "inside"],
    "pair of shoes": ["as a pair", "profile", "front", "back", "inside", "sole"],
    "opera gloves": ["back", "palm", "inside"],
    "handbag": ["closed", "open", "inside", "base"],
    "feather fan": ["closed", "open", "open reverse"],
    "parasol": ["closed", "open", "open reverse"],
    "brooch": ["flat face", "flat reverse", "clasp"],
    "hair comb": ["flat face", "flat reverse"],
    "shawl": ["flat face", "flat reverse"],
    "muff": ["flat face", "flat reverse", "inside"],
    "hat block": [*AROUND, "top", "base"],
    "hat box": [*AROUND, "top", "inside", "base"],
}


@pytest.mark.parametrize("name", SHOWN)
def test_the_views_that_suit_the_thing(name: str) -> None:
    kind = kind_of(name)
    assert kind
    assert [seen.view.value for seen in kind.views] == SHOWN[name]


def test_every_view_can_be_had_in_the_order_in_which_the_thing_is_handled() -> None:
    """Nothing is opened that opens nowhere of its own, and what is opened at the back is turned for a view before."""
    for kind in KINDS.values():
        touches = {seen.touch for seen in kind.views}
        assert touches <= {Touch.LAY, Touch.TURN, Touch.OPEN, Touch.DRESS}
        assert (Touch.DRESS in touches) is (kind.held in (Held.ADULT, Held.CHILD, Held.SKIRT, Held.HEAD))
        assert kind.opens is not Opens.BACK or Touch.OPEN not in touches or Touch.TURN in touches
        assert all(seen.camera in (Camera.OVERHEAD, Camera.OVERHEAD_CLOSE, Camera.LEVEL) for seen in kind.views)
        assert len({seen.view for seen in kind.views}) == len(kind.views)
        assert kind.inside is (View.INSIDE in [seen.view for seen in kind.views])
        assert kind.shows is not Shows.GARMENT or kind.form


@pytest.mark.parametrize(
    ("text", "childs"),
    [
        ("Sailor suit, child's", True),
        ("child’s frock", True),
        ("boy's jacket", True),
        ("baby cap", True),
        ("infant gown", True),
        ("girls' boots", True),
        ("children's mittens", True),
        ("boyfriend cardigan", False),
        ("girlish dress", False),
        ("Mrs Childers' cape", False),
        ("", False),
    ],
)
def test_a_childs_piece_says_so_in_whole_words(text: str, childs: bool) -> None:
    assert is_childs(text) is childs


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("liveries", "livery"),
        ("hat boxes", "hat box"),
        ("two sack back gowns", "sack back gown"),
        ("pair of pockets", "pair of pockets"),
        ("collar and cuffs", "collar and cuffs"),
        ("dress and cape", "dress"),
        ("gown with a fan", "gown"),
        ("tea gown (cape missing)", "tea gown"),
        ("Boxes of gloves", "glove"),
    ],
)
def test_the_longest_words_of_the_thing_itself_count(text: str, name: str) -> None:
    kind = kind_of(text)
    assert kind
    assert kind.name == name
