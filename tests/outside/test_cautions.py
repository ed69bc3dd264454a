"""Cautions as their sources have them, and exactly when they are called for."""

from datetime import date
from decimal import Decimal

import pytest

from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.piece import Condition, Handling, Measurement, Piece, View
from showrunner.planning.cautions import HANDLING, LAST_WORD, ON_FORMS, RULES, Caution, cautions_for
from showrunner.storage.edtf_text import parse

FLAT = (View.FLAT_FACE,)


def ids(piece: Piece, views: tuple[View, ...] = FLAT) -> set[str]:
    return {caution.id for caution in cautions_for([piece], views)} - {c.id for c in HANDLING}


def made_of(*materials: str, made: FuzzyDate | None = None, **more: object) -> Piece:
    return Piece("1", "piece", "c", made=made, materials=materials, **more)  # type: ignore[arg-type]


# The words and their sources: check values HAND-1 to HAND-10, HAZ-1 to HAZ-8, LIGHT-13, LAW-1, LAW-2.
WORDS = {
    "never-worn": ("Never wear the piece; show it flat or on a form.", "NPS Museum Handbook I"),
    "bare-hands": ("Clean, dry, bare hands for textiles; gloves for metal.", "National Archives"),
    "cotton-gloves": (
        "Older AMOL text prefers white cotton gloves, clean hands second; bare hands are wrong for suspected poisons.",
        "AMOL",
    ),
    "lift": (
        "Take jewellery off; never lift by shoulders or corner; slide arms under; move on a board or in its box; "
        "keep handling to a minimum.",
        "AMOL",
    ),
    "pencil": ("Pencil, no ballpoint, near pieces.", "ICOM"),
    "tissue": ("Acid-free unbuffered tissue rolls in folds; box about 10% larger than the piece.", "Powerhouse"),
    "folds": ("Folds weaken cloth: pad them and use few; refold on new lines.", "from memory"),
    "form": ("Choose a form smaller than the piece and pad it; measure once to avoid repeat tryings.", "Artlab"),
    "form-in": ("Lay the piece on a table and bring the form into it.", "followthethreadblog"),
    "wadding": ("Put smooth cloth between wadding and garment.", "zeusnice"),
    "pesticide": (
        "Old fur, feather, taxidermy may hold arsenic or other pesticide: gloves, no brushing in the open.",
        "Hawks & Makos",
    ),
    "mercury": ("Felt or top hats may hold mercury (17th c.–1940s): bag, no steam.", "V&A Conservation Journal 46"),
    "arsenic-green": (
        "Bright 19th-c. greens and artificial leaves may be arsenic pigment (emerald green from 1814): gloves, "
        "no dust.",
        "Matthews David",
    ),
    "celluloid": (
        "Celluloid combs, buttons, “French ivory” burn fiercely and give off acid and flammable gas; store apart; keep "
        "from hot lamps (inference).",
        "CCI Notes 15/3",
    ),
    "weighted-silk": (
        "Weighted silk (c. 1850–early 1900s; tin commonest) may split: no hanging, least handling.",
        "Heritage 8:332",
    ),
    "mould": ("Mould risk above 75% RH; isolate, mask.", "CCI"),
    "asbestos": ("Some textiles contain asbestos: stop, get a test.", "CCI"),
    "dust": ("Dusty or powdering: N95; a dust mask does not stop vapour.", "ICOM"),
    "heat": ("30 s under hot lamps can harm thermo-sensitive objects; avoid bright studio lamps.", "AIC Guideline 3.5"),
    "birds": (
        "US: pre-Act migratory-bird parts may be kept but not bought or sold (50 CFR 21.2).",
        "Fish and Wildlife",
    ),
}


@pytest.mark.parametrize("id", sorted(WORDS))
def test_a_caution_says_what_its_source_says(id: str) -> None:
    told = [(c.text, c.source) for c in (*HANDLING, *ON_FORMS, *RULES) if c.id == id]
    text, source = WORDS[id]
    assert told
    for said, by in told:
        assert said == text
        assert source in by


@pytest.mark.parametrize(
    ("piece", "wanted"),
    [
        (made_of("dyed feather", made=parse("1901~")), {"pesticide", "birds"}),
        (made_of("fur"), {"pesticide"}),
        (made_of("furnishing cotton"), set()),
        (made_of("fur felt", kind="top hat"), {"pesticide", "mercury"}),
        (made_of("wool felt", kind="felt hat"), {"mercury"}),
        (made_of("green wool", made=parse("1862/1866")), {"arsenic-green"}),
        (made_of("green wool", made=parse("1934~")), set()),
        (made_of("green wool"), {"arsenic-green"}),
        (made_of("green wool", made=parse("../1915")), {"arsenic-green"}),
        (made_of("wool", made=parse("1934"), hazards=("arsenic-suspect",)), {"arsenic-green", "limits-1"}),
        (made_of("celluloid buttons"), {"celluloid", "heat"}),
        (made_of("weighted silk"), {"weighted-silk", "weighted-silk-doubt"}),
        (made_of("silk"), set()),
        (made_of("gelatin sequins"), {"heat"}),
        (made_of("canvas", "tar"), {"heat"}),
        (made_of("tartan", "star print"), set()),
        (made_of("linen", condition=(Condition(date(2026, 1, 1), "all", "mould spots"),)), {"mould"}),
        (made_of("linen", condition=(Condition(date(2026, 1, 1), "all", "sheds"),)), {"dust"}),
        (made_of("asbestos cloth"), {"asbestos"}),
        (made_of("tortoiseshell"), {"ivory"}),
        (made_of("ivory satin"), set()),
        (made_of("white lawn"), set()),
        (made_of("linen", handling=Handling(people=2)), {"limits-1"}),
    ],
)
def test_a_material_calls_for_exactly_these_cautions(piece: Piece, wanted: set[str]) -> None:
    assert ids(piece) == wanted


def test_cautions_about_forms_come_with_forms_only() -> None:
    piece = made_of("linen")
    assert ids(piece, (View.FORM_FRONT,)) == {"form", "form-in", "wadding"}
    assert ids(piece, (View.FLAT_FACE, View.INSIDE)) == set()


def test_advice_that_differs_stands_beside_the_other_and_is_not_merged() -> None:
    found = {c.id: c for c in cautions_for([made_of("weighted silk")], FLAT)}
    assert found["cotton-gloves"].against == "bare-hands"
    assert found["weighted-silk-doubt"].against == "weighted-silk"
    assert found["bare-hands"].text != found["cotton-gloves"].text


def test_hazards_come_before_handling_and_name_their_pieces() -> None:
    boa, robe = made_of("feather"), Piece("2", "robe", "c", materials=("lawn",))
    found = cautions_for([robe, boa], FLAT)
    assert [c.id for c in found[:2]] == ["pesticide", "birds"]
    assert found[0].pieces == ("1",)
    assert all(isinstance(c, Caution) and c.source for c in found)


def test_weight_and_people_are_told_and_a_heavy_piece_is_lifted_with_help() -> None:
    """Lifting with help from 10 kg on is common practice; local rules may say less."""
    heavy = made_of("wool", measurements=(Measurement("weight", Decimal("12"), "kg"),))
    light = made_of("net", measurements=(Measurement("weight", Decimal("2.1"), "kg"),), handling=Handling(people=2))
    texts = {p.id: c.text for p in (heavy, light) for c in cautions_for([p], FLAT) if c.id.startswith("limits")}
    assert "2 people move it; it weighs 2.1 kg" in texts["1"]
    told = next(c.text for c in cautions_for([heavy], FLAT) if c.id == "limits-1")
    assert "it weighs 12 kg; lift it with help" in told


def test_every_list_defers_to_those_who_know() -> None:
    assert LAST_WORD == "Follow local rules and ask a conservator or safety professional."
