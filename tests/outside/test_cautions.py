"""Cautions as their sources have them, and exactly when they are called for.

What a phrase calls for follows the check values HAZ-1 to HAZ-31, HAND-1 to HAND-15, LAW-1 to LAW-15 and SAFE-1 to
SAFE-12; the names of furs, feathers and hats are common words of the trade. The sources are named beside each text.
"""

from datetime import date
from decimal import Decimal
from importlib.resources import files

import pytest

from showrunner.domain.country import Country, country_of
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.piece import Condition, Feature, Handling, Measurement, Piece, View
from showrunner.planning.cautions import (
    BARE,
    COTTON,
    HANDLING,
    LIFTING,
    METAL,
    NITRILE,
    ON_FORMS,
    OVERHEAD,
    ROOM,
    cautions_for,
)
from showrunner.planning.hazards import HAZARDS
from showrunner.planning.protected import CHECK, PROTECTED
from showrunner.storage.edtf_text import parse

FORM = (View.FORM_FRONT,)
ALWAYS = {c.id for c in (*HANDLING, *ROOM, *ON_FORMS, BARE, COTTON)}


def ids(piece: Piece) -> set[str]:
    """What a piece calls for beside what is always told."""
    return {caution.id for caution in cautions_for([piece], FORM)} - ALWAYS


def made_of(*materials: str, made: FuzzyDate | None = None, **more: object) -> Piece:
    return Piece("1", "piece", "c", made=made, materials=materials, **more)  # type: ignore[arg-type]


POISON = {"poison-gloves"}

# Each phrase as a material, and what it calls for. The first part is section 8 of the check values.
PHRASES = {
    "mold spots": {"mould"} | POISON,
    "mouldy": {"mould"} | POISON,
    "felt bowler hat": {"mercury"} | POISON,
    "bowler": {"mercury"} | POISON,
    "felt cloche": {"mercury"} | POISON,
    "straw cloche": set(),
    "beaver fur coat": {"pesticide"} | POISON,
    "beaver hat": {"mercury"} | POISON,
    "fur felt top hat": {"pesticide", "mercury"} | POISON,
    "felt skirt": set(),
    "egret plume": {"pesticide", "birds"} | POISON,
    "aigrette": {"pesticide", "birds"} | POISON,
    "plumes": {"pesticide", "birds"} | POISON,
    "swansdown": {"pesticide", "birds"} | POISON,
    "grebe": {"pesticide", "birds"} | POISON,
    "hummingbird": {"pesticide", "birds"} | POISON,
    "stuffed bird hat": {"pesticide", "birds"} | POISON,
    "ostrich": {"pesticide"} | POISON,
    "marabou trim": {"pesticide"} | POISON,
    "peacock blue satin": set(),
    "feather-stitched linen": set(),
    "bird's-eye piqué": set(),
    "ivory fan": {"ivory"},
    "ivory": {"ivory"},
    "ivory satin": set(),
    "ivory busk": {"ivory"},
    "whalebone corset": {"baleen"},
    "baleen": {"baleen"},
    "colobus": {"pesticide", "listed-fur"} | POISON,
    "monkey fur": {"pesticide", "listed-fur"} | POISON,
    "leopard": {"pesticide", "listed-fur"} | POISON,
    "faux leopard": set(),
    "faux fur": set(),
    "fake fox": set(),
    "sealskin": {"pesticide", "seal"} | POISON,
    "seal": {"pesticide", "seal"} | POISON,
    "wax seal print": {"heat"},
    "mink": {"pesticide"} | POISON,
    "fox": {"pesticide"} | POISON,
    "foxed paper": set(),
    "ermine tails": {"pesticide"} | POISON,
    "musquash": {"pesticide"} | POISON,
    "squirrel": {"pesticide"} | POISON,
    "astrakhan": {"pesticide"} | POISON,
    "persian lamb": {"pesticide"} | POISON,
    "chinchilla": {"pesticide"} | POISON,
    "furnishing cotton": set(),
    "artificial flowers": {"arsenic-green"} | POISON,
    "artificial leaves": {"arsenic-green"} | POISON,
    "wreath": {"arsenic-green"} | POISON,
    "emerald silk": {"arsenic-green"} | POISON,
    "green wool": {"arsenic-green"} | POISON,
    "evergreen print": set(),
    "xylonite comb": {"celluloid", "heat"} | POISON,
    "ivorine fan": {"celluloid"} | POISON,
    "french ivory": {"celluloid"} | POISON,
    "imitation tortoiseshell": {"celluloid"} | POISON,
    "celluloid buttons": {"celluloid", "heat"} | POISON,
    "tortoiseshell comb": {"celluloid", "tortoiseshell", "heat"} | POISON,
    "weighted silk": {"weighted-silk", "weighted-silk-doubt"},
    "shattered": {"weighted-silk"},
    "split silk": {"weighted-silk"},
    "silk": set(),
    "lead weights": {"lead"} | POISON,
    "lead": {"lead"} | POISON,
    "lead grey silk": set(),
    "pewter": {"lead"} | POISON,
    "luminous dial": {"radium"} | POISON,
    "radium": {"radium"} | POISON,
    "rubber": {"plastics"} | POISON,
    "rubber-stamped lining": set(),
    "rubberised cotton": {"plastics"} | POISON,
    "PVC": {"plastics"} | POISON,
    "polyurethane": {"plastics"} | POISON,
    "cellulose acetate": {"plastics"} | POISON,
    "acetate satin": set(),
    "mothballs": {"mothballs"} | POISON,
    "naphthalene": {"mothballs"} | POISON,
    "camphor": {"mothballs"} | POISON,
    "moth nips": set(),
    "rusty pins": {"pins"},
    "pin tucks": set(),
    "needle lace": set(),
    "fireproof": {"asbestos"} | POISON,
    "gas mask": {"asbestos"} | POISON,
    "artificial snow": {"asbestos"} | POISON,
    "asbestos cloth": {"asbestos"} | POISON,
    "gelatin sequins": {"heat"},
    "gelatine": {"heat"},
    "tar": {"heat"},
    "tartan": set(),
    "star print": set(),
    "waxed cotton": {"heat"},
    "metal thread": {"metal-gloves"},
    "gold braid": {"metal-gloves"},
    "brass": {"metal-gloves"},
    "chain stitch": set(),
    "brassy yellow cotton": set(),
    "white lawn": set(),
    "linen": set(),
    "knitted wool": {"no-hanging"},
    "jet beads": {"no-hanging"},
    "bias cut crêpe": {"no-hanging"},
    "striped flannel": set(),
    "horn": set(),
    "straw": set(),
    "box cloth": set(),
    "kid": set(),
    "reed": set(),
    "cane": set(),
    "bamboo": set(),
    "serge": set(),
    "organdie": set(),
}


def test_there_are_a_hundred_phrases() -> None:
    assert len(PHRASES) >= 100


@pytest.mark.parametrize("phrase", PHRASES)
def test_a_phrase_calls_for_exactly_these_cautions(phrase: str) -> None:
    assert ids(made_of(phrase)) == PHRASES[phrase]


@pytest.mark.parametrize("phrase", ["grebe muff", "felt bowler hat", "artificial flowers", "celluloid comb"])
def test_a_hazard_is_read_from_name_kind_and_features_too(phrase: str) -> None:
    wanted = ids(made_of(phrase))
    assert wanted > POISON
    assert ids(Piece("1", phrase, "c")) == wanted
    assert ids(Piece("1", "piece", "c", kind=phrase)) == wanted
    assert ids(Piece("1", "piece", "c", features=(Feature(phrase),))) == wanted


# Years: greens from 1775 to the First World War (HAZ-9); felt with mercury from the 17th century to the 1940s (HAZ-13).
# A date with "about" is ten years wider each way (the house's rule).
@pytest.mark.parametrize(
    ("material", "made", "told"),
    [
        ("green wool", "1774", False),
        ("green wool", "1775", True),
        ("green wool", "1862/1866", True),
        ("green wool", "1918", True),
        ("green wool", "1919", False),
        ("green wool", "1928~", True),
        ("green wool", "1929~", False),
        ("green wool", "1765%", True),
        ("green wool", "1764%", False),
        ("green wool", "1919?", False),
        ("green wool", "../1915", True),
        ("green wool", "1934/..", False),
        ("felt hat", "1975", False),
        ("felt hat", "1949", True),
        ("felt hat", "1950", False),
        ("felt hat", "1599", False),
        ("felt hat", "1600", True),
    ],
)
def test_a_hazard_has_its_years(material: str, made: str, told: bool) -> None:
    assert ("poison-gloves" in ids(made_of(material, made=parse(made)))) is told


def test_what_is_suspected_needs_no_year_and_a_colour_in_a_note_is_no_arsenic() -> None:
    late = parse("1934")
    suspected = made_of("wool", made=late, hazards=("arsenic-suspect",))
    assert ids(suspected) == {"arsenic-green", "limits-1"} | POISON
    assert ids(made_of("felt", hazards=("mercury",))) == {"mercury", "limits-1"} | POISON
    noted = made_of("brass", condition=(Condition(date(2026, 1, 1), "all", "green bloom"),))
    assert ids(noted) == {"metal-gloves"}


@pytest.mark.parametrize(("note", "wanted"), [("mould spots", "mould"), ("sheds", "dust"), ("rusty hooks", "pins")])
def test_the_condition_log_is_read(note: str, wanted: str) -> None:
    assert wanted in ids(made_of("linen", condition=(Condition(date(2026, 1, 1), "all", note),)))


def test_a_powder_is_dust_and_powder_blue_is_not() -> None:
    assert ids(made_of("powder blue silk")) == set()


@pytest.mark.slow
@pytest.mark.parametrize("phrase", [phrase for phrase, wanted in PHRASES.items() if wanted >= POISON])
def test_what_may_be_poisonous_is_never_touched_with_bare_hands(phrase: str) -> None:
    """HAND-11: nitrile for any hazard, never "bare" beside a poison; HAND-12: cotton is never offered for one."""
    sound = Piece("2", "robe", "c", materials=("lawn",))
    for pieces in ([made_of(phrase)], [made_of(phrase), sound]):
        mine = [c for c in cautions_for(pieces, FORM) if not c.pieces or "1" in c.pieces]
        assert not [c.id for c in mine if "bare hands" in c.text.lower()]
        assert [c.pieces for c in mine if c.id == "poison-gloves"] == [("1",)]
        assert not [c.id for c in mine if "cotton" in c.text.lower() and c.id != "poison-gloves"]
    beside = {c.id: c.pieces for c in cautions_for([made_of(phrase), sound], FORM)}
    assert beside["bare-hands"] == ("2",)


def test_bare_hands_are_for_every_piece_where_none_needs_gloves() -> None:
    assert next(c for c in cautions_for([made_of("lawn")], FORM) if c.id == "bare-hands").pieces == ()


def test_a_mask_for_dust_is_never_offered_against_vapour() -> None:
    """HAZ-31 and HAZ-14: neither a dust mask nor an N95 stops vapour."""
    for hazard in HAZARDS:
        if "vapour" in hazard.text:
            assert "stops" in hazard.text
            assert any(no in hazard.text for no in ("No dust mask", "neither"))
    told = {hazard.id for hazard in HAZARDS if "vapour" in hazard.text}
    assert told == {"mercury", "mothballs", "dust"}


INSTITUTIONS = (
    *("Museum", "CCI", "ICOM", "V&A", "AIC", "Rijksmuseum", "Bard", "Garside", "EPA", "AMOL", "Hazards in Coll"),
    "PMC",
)


def test_every_hazard_has_a_source_and_what_is_weak_says_so() -> None:
    for hazard in HAZARDS:
        if hazard.text:
            assert any(name in hazard.source for name in INSTITUTIONS), hazard.id
    for caution in (*HANDLING, *ON_FORMS, *OVERHEAD, *ROOM, BARE, COTTON, NITRILE, METAL, LIFTING):
        assert caution.source
        assert ".com" not in caution.source
    assert {hazard.id for hazard in HAZARDS if not hazard.text} <= {h.id for h in HAZARDS if h.text}


def test_cautions_about_forms_come_with_forms_and_those_about_what_is_above_with_flat_views() -> None:
    piece = made_of("linen")
    form = {c.id for c in cautions_for([piece], FORM)}
    flat = {c.id for c in cautions_for([piece], (View.FLAT_FACE, View.INSIDE))}
    assert form - flat == {c.id for c in ON_FORMS}
    assert flat - form == {c.id for c in OVERHEAD}


def test_advice_that_differs_stands_beside_the_other_and_is_not_merged() -> None:
    found = {c.id: c for c in cautions_for([made_of("weighted silk")], FORM)}
    assert found["cotton-gloves"].against == "bare-hands"
    assert found["weighted-silk-doubt"].against == "weighted-silk"
    assert found["bare-hands"].text != found["cotton-gloves"].text


def test_hazards_come_before_handling_and_name_their_pieces() -> None:
    boa, robe = made_of("feather"), Piece("2", "robe", "c", materials=("lawn",))
    found = cautions_for([robe, boa], FORM)
    assert [c.id for c in found[:2]] == ["pesticide", "poison-gloves"]
    assert found[0].pieces == ("1",)


# --- law ---


def law(phrase: str, home: Country) -> str:
    return next(c.text for c in cautions_for([made_of(phrase)], FORM, home) if c.id in {g.id for g in PROTECTED})


@pytest.mark.parametrize(
    ("home", "first"),
    [
        (Country.GB, "Ivory. UK: dealing is banned at any age"),
        (Country.EU, "Ivory. EU: sold only with a certificate"),
        (Country.US, "Ivory. US: nearly all trade"),
        (Country.AU, "Ivory. Australia: in or out only"),
        (Country.OTHER, "Ivory. UK:"),
    ],
)
def test_the_law_of_the_house_comes_first_and_all_defer_to_local_law(home: Country, first: str) -> None:
    """LAW-5, LAW-7, LAW-10, LAW-15."""
    told = law("ivory", home)
    assert told.startswith(first)
    assert told.endswith(CHECK)
    assert all(told.count(name) == 1 for name in ("UK:", "EU:", "US:", "Australia:"))


def test_the_laws_are_those_of_the_check_values() -> None:
    assert "50 CFR 21.4(a), once 21.2" in law("egret", Country.US)  # LAW-3
    assert "Ivory Act does not reach it" in law("baleen", Country.GB)  # LAW-11
    assert "3 March 1947" in law("colobus", Country.GB)  # LAW-8, LAW-13
    assert "20 August 2010" in law("sealskin", Country.GB)  # LAW-14
    assert "narwhal" in law("ivory fan", Country.GB)  # LAW-6


UNION = (
    *("AT", "BE", "BG", "CY", "CZ", "DE", "DK", "EE", "ES", "FI", "FR", "GR", "HR", "HU"),
    *("IE", "IT", "LT", "LU", "LV", "MT", "NL", "PL", "PT", "RO", "SE", "SI", "SK"),
)


def test_a_zone_tells_the_country_as_the_zone_table_has_it() -> None:
    """IANA `zone.tab`, as the package tzdata carries it; the EU's members as of 2026 (common knowledge)."""
    wanted = {"US": Country.US, "GB": Country.GB, "AU": Country.AU} | dict.fromkeys(UNION, Country.EU)
    table = files("tzdata").joinpath("zoneinfo/zone.tab").read_text(encoding="utf-8")
    rows = [line.split("\t") for line in table.splitlines() if not line.startswith("#")]
    assert len(rows) > 400
    for code, _, zone, *_ in rows:
        assert country_of(zone) is wanted.get(code, Country.OTHER), zone


# --- the owner's own limits, and weight ---


def test_weight_and_people_are_told_and_a_heavy_piece_is_lifted_with_help() -> None:
    """Lifting with help from 10 kg on: a threshold in use at a university (SAFE-5); two carry two thirds (SAFE-4)."""
    heavy = made_of("wool", measurements=(Measurement("weight", Decimal("12"), "kg"),))
    light = made_of("net", measurements=(Measurement("weight", Decimal("2.1"), "kg"),), handling=Handling(people=2))
    found = {c.id: c for c in cautions_for([heavy], FORM)}
    assert "it weighs 12 kg; lift it with help" in found["limits-1"].text
    assert found["lifting"].pieces == ("1",)
    assert "two thirds" in found["lifting"].text
    beside = {c.id: c for c in cautions_for([light], FORM)}
    assert "2 people move it; it weighs 2.1 kg" in beside["limits-1"].text
    assert "lifting" not in beside


def test_a_limit_of_minutes_on_a_form_is_told() -> None:
    found = {c.id: c.text for c in cautions_for([made_of("net", handling=Handling(form_minutes=20))], FORM)}
    assert found["limits-1"] == "piece: at most 20 minutes on a form."
