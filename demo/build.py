"""Build the demo book: invented people, titles and pieces, and a clock that stands at 2 March 2026.

Run `python -m demo.build` in the project's folder; it writes `demo/book.json`, the same bytes each time.
`STORY.md` beside it tells the scenario and the figures that must come out.
"""

from __future__ import annotations

import tempfile
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from pathlib import Path

from showrunner.domain.book import Book
from showrunner.domain.collection import Box, Collection, CollectionKind, Supply
from showrunner.domain.episode import Episode, EpisodeKind, Series, Stage, StageMinutes, Window
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.house import Form, HouseRules, LightClass
from showrunner.domain.package import Package, Still
from showrunner.domain.piece import (
    Claim,
    Condition,
    Confidence,
    Feature,
    Handling,
    Known,
    Measurement,
    Piece,
    Presence,
    Shown,
    View,
    Want,
    WantStatus,
    WantStep,
)
from showrunner.domain.publication import Publication, Supporter
from showrunner.domain.slot import DarkRange, SlotRef, SlotRule
from showrunner.storage.edtf_text import parse

CLOCK = date(2026, 3, 2)
"""Monday on which the demo's clock stands."""

BUILT = datetime(2026, 3, 2, tzinfo=UTC)
"""Instant the book counts as written at, so that its bytes never change."""

FIRST_DIARY = date(2023, 1, 4)
"""Wednesday on which the record of publications begins."""

SERIES = "object-studies"
WEDNESDAY = "wednesday"
SUNDAY = "sunday"

FACE, REVERSE, INSIDE = View.FLAT_FACE, View.FLAT_REVERSE, View.INSIDE
FRONT, BACK, DETAIL = View.FORM_FRONT, View.FORM_BACK, View.DETAIL
ABSENT, TRACE = Presence.ABSENT, Presence.TRACE
SURE, PROBABLE, POSSIBLE = Confidence.SURE, Confidence.PROBABLE, Confidence.POSSIBLE

FREELY = Handling()
FLAT_ONLY = Handling(flat_only=True)


# The studies that were published: id, title, pieces, the Sunday it was planned for, and when it came
# if that is not the Sunday planned: a week late, or only roughly remembered.

PAST: tuple[tuple[str, str, tuple[str, ...], date, str], ...] = (
    ("parasol", "A parasol that has seen rain", ("35",), date(2023, 1, 15), ""),
    ("riding-jacket", "Side-saddle: one jacket, one hip", ("36",), date(2023, 2, 19), ""),
    ("cone-shawl", "A shawl printed to look woven", ("37",), date(2023, 3, 19), ""),
    ("child-pelisse", "Tuck by tuck: a pelisse let down", ("38",), date(2023, 4, 23), ""),
    ("pinafore", "The pinafore with nineteen patches", ("39",), date(2023, 5, 21), "2023-05-28"),
    ("bed-jacket", "Breakfast in bed: jacket and cap", ("40", "41"), date(2023, 6, 25), ""),
    ("gauntlets", "Gauntlets for the rose bed", ("42",), date(2023, 7, 30), ""),
    ("evening-cape", "Rook: black on black", ("43",), date(2023, 9, 3), ""),
    ("corset-cover", "A corset cover and its draw-thread", ("44",), date(2023, 10, 1), ""),
    ("smoking-cap", "A cap for one evening hour", ("45",), date(2023, 11, 5), ""),
    ("spatterdashes", "Spatterdashes, buttoned wrong", ("46",), date(2023, 12, 10), ""),
    ("pullover", "Unravelled twice: a pullover", ("47",), date(2024, 1, 7), ""),
    ("christening-robe", "Eleven tucks: the robe called Wilhelmina", ("01",), date(2024, 2, 4), ""),
    ("fishers-smock", "Cray: a smock that stands by itself", ("02",), date(2024, 3, 3), ""),
    ("regatta-blazer", "The blazer and the missing button", ("03",), date(2024, 4, 7), ""),
    ("nightshirt", "Ambrose goes to the wash", ("04",), date(2024, 5, 5), ""),
    ("gymslip", "Let down twice: the gymslip", ("05",), date(2024, 5, 26), "2024-06-02"),
    ("country-stays", "Reed and linen: country stays", ("06",), date(2024, 7, 7), ""),
    ("motoring-duster", "Dust, oil and storm cuffs", ("07",), date(2024, 8, 4), "2024-08"),
    ("tea-gown", "Odile must lie down", ("08",), date(2024, 9, 1), ""),
    ("bonnets", "Two bonnets: straw and cane", ("09", "10"), date(2024, 10, 6), ""),
    ("corded-petticoat", "Forty cords", ("11",), date(2024, 11, 3), "2024-11~"),
    ("lifeboat-jersey", "Initials in the welt", ("12",), date(2024, 12, 1), ""),
    ("bandsmans-tunic", "Brass, bloom and red wool", ("13",), date(2025, 1, 5), ""),
    ("overalls", "Sums in a pocket", ("14",), date(2025, 2, 2), ""),
    ("gown-and-jacket", "Evenings at home: gown and jacket", ("15", "16"), date(2025, 3, 2), ""),
    ("bridesmaid-frock", "Organdie does not hang", ("17",), date(2025, 4, 6), ""),
    ("sailor-suit", "A whistle on a lanyard", ("18",), date(2025, 5, 4), ""),
    ("sunbonnet", "Slats: the haymaker's sunbonnet", ("19",), date(2025, 6, 1), ""),
    ("opera-gloves", "Sixteen buttons and no hands", ("20",), date(2025, 6, 29), "2025-07-06"),
    ("harlequin", "Bells on a harlequin", ("21",), date(2025, 8, 3), ""),
    ("tennis-dress", "The underarm that gave way", ("22",), date(2025, 9, 7), ""),
    ("cycling-pair", "Two answers to the bicycle", ("23", "24"), date(2025, 10, 19), ""),
    ("feather-boa", "What colour was the boa?", ("25",), date(2025, 11, 30), ""),
    ("day-bodice", "Verdigris: green, with gloves", ("26",), date(2026, 1, 25), ""),
)

# Diaries that slipped: days late by the Wednesday planned, None for one that never came.
DIARY_SLIPS: dict[date, int | None] = {
    date(2023, 3, 15): 1,
    date(2023, 8, 9): None,
    date(2024, 2, 21): 2,
    date(2024, 12, 25): None,
    date(2025, 4, 23): 1,
    date(2025, 11, 12): 2,
}

PAGE = "https://example.org/camphorwood-hour"
"""The page of the series."""

NOT_ON_THE_PAGE = "day-bodice"
"""The last study that came out is not on it yet."""

LINKS = {"fishers-smock": f"{PAGE}/cray", "overalls": f"{PAGE}/sums-in-a-pocket"}
"""Where some of the studies can be watched."""

RELATED = {"apron": ("fishers-smock", "overalls")}
"""Other clothes for work that the apron's description links to."""

STILLS = {
    "feather-boa": (
        Still("25", "flat face", posted=date(2025, 12, 2)),
        Still("25", "cord core", "The end of a feather boa, its cord showing between the quills."),
    ),
    "day-bodice": (Still("26", "flat face"), Still("26", "boned darts")),
}
"""Stills for the small posts."""

DIARY_TOPICS = (
    "a petticoat hem",
    "eyelets by lamplight",
    "the wrong side of a yoke",
    "cutting out on the floor",
    "gathers and patience",
    "a collar turned",
    "buttonholes, take three",
    "cording without a foot",
    "the mending basket",
    "pressing day",
    "a sleeve that fits",
    "linings first",
    "hooks and bars",
    "a pocket in the seam",
    "thread, wax and tea",
    "felling the long seam",
    "tucks, counted twice",
    "a toile in old sheets",
    "the hem comes down",
)

TALK_TOPICS = (
    "how to read a seam",
    "what a laundry mark tells",
    "storing straw",
    "words for pleats",
    "a cupboard and its damp",
    "letters about mending",
    "why buttons go missing",
    "tape, bias and string",
    "the smell of old wool",
    "weighing a skirt",
    "questions from viewers",
    "boxes and tissue",
    "what pockets held",
)


# Short ways to write a record


def feature(
    what: str,
    view: View = FACE,
    where: str = "",
    *,
    must: int = 2,
    presence: Presence = Presence.PRESENT,
    altered: bool = False,
) -> Feature:
    """A feature; `must` is its importance."""
    return Feature(what, where, view, must, presence, altered)


def cm(what: str, value: str, entered: str = "") -> Measurement:
    """A measurement in centimetres."""
    return Measurement(what, Decimal(value), "cm", entered or f"{value} cm")


def seen(day: str, place: str, text: str) -> Condition:
    """An entry of the condition log."""
    return Condition(date.fromisoformat(day), place, text)


def claim(about: str, value: str, confidence: Confidence, basis: str, judged: str, superseded: bool = False) -> Claim:
    """A claim about a piece."""
    return Claim(about, value, confidence, basis, date.fromisoformat(judged), superseded)


def dress(
    id: str,
    name: str,
    kind: str,
    made: str,
    box: str,
    materials: tuple[str, ...],
    features: tuple[Feature, ...],
    *,
    layer: int,
    acquired: str = "",
    points: tuple[str, ...] = (),
    claims: tuple[Claim, ...] = (),
    condition: tuple[Condition, ...] = (),
    handling: Handling = FREELY,
    hazards: tuple[str, ...] = (),
    measurements: tuple[Measurement, ...] = (),
) -> Piece:
    """A piece of the collection of dress; whether it was shown follows from `PAST`."""
    return Piece(
        id,
        name,
        "dress",
        kind,
        parse(made),
        parse(acquired) if acquired else None,
        materials,
        features,
        points,
        claims,
        condition,
        handling,
        hazards,
        measurements,
        box,
        layer,
        shown(id),
    )


def shown(piece: str) -> Shown:
    """Whether a piece of the collection of dress was shown: by `PAST`, or doubtful, or not."""
    if piece in ("27", "28"):
        return Shown(Known.UNSURE, 50, "a half-remembered early compilation")
    for _, title, pieces, planned, came in PAST:
        if piece in pieces:
            when = parse(came or planned.isoformat())
            return Shown(Known.YES, evidence=f"{title}, {when.words}", when=when)
    return Shown()


# The collections


def collections() -> tuple[Collection, ...]:
    """The closed collection of dress, and the hat blocks still being bought."""
    return (
        Collection("dress", "Historic dress", CollectionKind.KEEPING, closed=True, currency="AUD"),
        Collection(
            "blocks",
            "Crown & Brim",
            CollectionKind.SHOPPING,
            currency="AUD",
            budget=Decimal(1800),
            shelf_cm=Decimal(290),
            opens_with=4,
            preparation_weeks=3,
        ),
    )


def boxes() -> tuple[Box, ...]:
    """Boxes A to H."""
    return (
        Box("A", "whites box", "camphorwood chest, top", refolded=date(2024, 11, 2), refold_months=12),
        Box("B", "work clothes box", "camphorwood chest, bottom"),
        Box("C", "day and evening box", "wardrobe shelf"),
        Box(
            "D",
            "flat tray",
            "under the bed",
            depth_cm=Decimal(12),
            most_kg=Decimal(15),
            refolded=date(2025, 1, 18),
            refold_months=12,
        ),
        Box("E", "bonnet box", "wardrobe shelf", refolded=date(2025, 6, 14), refold_months=12),
        Box("F", "heavy wool chest", "hall"),
        Box("G", "suspect box", "laundry cupboard, by itself"),
        Box("H", "waistcoat drawer", "chest of drawers, second from top", depth_cm=Decimal(8)),
    )


def shown_dress() -> tuple[Piece, ...]:
    """Pieces 01 to 26, shown since February 2024."""
    return (
        dress(
            "01",
            "Christening robe “Wilhelmina”",
            "robe",
            "1868~",
            "A",
            ("white lawn",),
            (feature("eleven tucks", must=1, where="skirt, above the hem"), feature("hand eyelets", DETAIL, "yoke")),
            layer=1,
            acquired="1998",
            condition=(seen("2024-01-20", "all", "sound"),),
            measurements=(cm("length", "104.14", "41 in"),),
        ),
        dress(
            "02",
            "Fisher's smock “Cray”",
            "smock",
            "189X",
            "B",
            ("canvas", "tar"),
            (
                feature("gussets", FACE, "underarms"),
                feature("patched elbow", REVERSE, "wearer's right elbow", altered=True),
            ),
            layer=1,
            condition=(seen("2024-02-17", "all", "sticky, sheds"),),
            handling=Handling(board=True, notes="sticky: lay on polyester film"),
        ),
        dress(
            "03",
            "Regatta blazer",
            "blazer",
            "1908?",
            "C",
            ("striped flannel",),
            (
                feature("bound seams", INSIDE, must=1),
                feature("button", FACE, "wearer's right front, lowest", must=1, presence=ABSENT),
            ),
            layer=1,
            acquired="2003-11",
            condition=(seen("2024-03-23", "wearer's left collar", "moth nips"),),
            measurements=(cm("chest", "93.98", "37 in"),),
        ),
        dress(
            "04",
            "Nightshirt “Ambrose”",
            "nightshirt",
            "1880/1890",
            "A",
            ("linen",),
            (feature("laundry mark", DETAIL, "tail, wearer's left side", must=1),),
            layer=2,
            condition=(seen("2024-04-20", "all", "sound"),),
        ),
        dress(
            "05",
            "Gymslip",
            "gymslip",
            "1927~",
            "C",
            ("navy serge",),
            (feature("let-down hem", INSIDE, "hem", must=1, altered=True),),
            layer=2,
            condition=(seen("2024-05-18", "seat", "shine"),),
        ),
        dress(
            "06",
            "Country stays",
            "stays",
            "178X?",
            "D",
            ("linen", "reed"),
            (
                feature("hand eyelets", DETAIL, "back edges", must=1),
                feature("straps", FACE, "both shoulders", must=1, presence=TRACE),
            ),
            layer=1,
            claims=(claim("origin", "home made", PROBABLE, "uneven channels, three threads", "2024-06-22"),),
            condition=(seen("2024-06-22", "lower edge", "reed ends bare"),),
            handling=FLAT_ONLY,
            measurements=(cm("thickness", "3.5"),),
        ),
        dress(
            "07",
            "Motoring duster",
            "coat",
            "[1905..1911]",
            "B",
            ("dust linen",),
            (feature("storm cuffs", FRONT, "both wrists", must=1),),
            layer=2,
            condition=(seen("2024-07-20", "wearer's right skirt", "oil stain"),),
        ),
        dress(
            "08",
            "Tea gown “Odile”",
            "gown",
            "1897~",
            "D",
            ("weighted silk",),
            (feature("concealed train hook", INSIDE, "back waist", must=1),),
            layer=4,
            condition=(seen("2024-08-24", "back folds", "shattering"),),
            handling=Handling(flat_only=True, no_hanging=True, people=2, board=True),
            measurements=(cm("thickness", "4.5"),),
        ),
        dress(
            "09",
            "Straw bonnet",
            "bonnet",
            "184X",
            "E",
            ("straw", "ribbon"),
            (feature("replaced ribbon", FACE, "both sides", must=1, altered=True),),
            layer=8,
            condition=(seen("2024-09-21", "crown", "crush risk"),),
            handling=Handling(no_turning=True, notes="nothing on top of it"),
        ),
        dress(
            "10",
            "Drawn bonnet",
            "bonnet",
            "1845/1850",
            "E",
            ("silk", "cane"),
            (feature("cane channels", FACE, "brim", must=1),),
            layer=7,
            condition=(seen("2024-09-21", "third channel", "split cane"),),
            handling=Handling(no_turning=True),
        ),
        dress(
            "11",
            "Corded petticoat",
            "petticoat",
            "1835%",
            "A",
            ("cotton",),
            (feature("forty cords", FACE, "from knee to hem", must=1),),
            layer=3,
            condition=(seen("2024-10-19", "waistband", "rust spots"),),
            measurements=(cm("waist", "60.96", "24 in"),),
        ),
        dress(
            "12",
            "Lifeboat jersey",
            "jersey",
            "1912~",
            "B",
            ("oiled wool",),
            (feature("knitted initials", DETAIL, "front, above the welt", must=1),),
            layer=3,
            condition=(seen("2024-11-16", "wearer's right shoulder", "moth history, no frass"),),
            handling=Handling(no_hanging=True),
        ),
        dress(
            "13",
            "Bandsman's tunic",
            "tunic",
            "1899?",
            "F",
            ("red wool", "brass"),
            (feature("stamped buttons", DETAIL, "front and back vents", must=1),),
            layer=1,
            condition=(seen("2024-12-21", "buttons", "brass bloom"),),
            handling=Handling(people=2, notes="heavy; gloves for the brass"),
            measurements=(Measurement("weight", Decimal("2.6"), "kg", "2.6 kg"),),
        ),
        dress(
            "14",
            "Mechanic's overalls",
            "overalls",
            "1943",
            "B",
            ("cotton drill",),
            (feature("pencil sums in pocket", INSIDE, "wearer's right breast pocket", must=1),),
            layer=4,
            condition=(seen("2025-01-18", "all", "sound"),),
        ),
        dress(
            "15",
            "Dressing gown",
            "dressing gown",
            "1922~",
            "C",
            ("printed silk",),
            (feature("pieced collar", FACE, "under the fold", must=1),),
            layer=3,
            condition=(seen("2025-02-15", "skirt", "creases"),),
        ),
        dress(
            "16",
            "Smoking jacket",
            "jacket",
            "1919?",
            "C",
            ("quilted satin",),
            (feature("frog closures", FACE, "front", must=1),),
            layer=4,
            condition=(seen("2025-02-15", "both cuffs", "worn"),),
        ),
        dress(
            "17",
            "Bridesmaid frock",
            "frock",
            "1931-30",
            "A",
            ("sheer organdie",),
            (feature("rolled hems", DETAIL, "every edge", must=1),),
            layer=4,
            condition=(seen("2025-03-22", "all", "sound"),),
            handling=Handling(no_hanging=True),
        ),
        dress(
            "18",
            "Sailor suit, child's",
            "suit",
            "1904~",
            "A",
            ("white drill",),
            (feature("whistle lanyard", FRONT, "wearer's left breast", must=1),),
            layer=5,
            condition=(seen("2025-04-19", "all", "sound"),),
        ),
        dress(
            "19",
            "Haymaker's sunbonnet",
            "sunbonnet",
            "../1915",
            "E",
            ("print cotton",),
            (feature("card slats", FACE, "brim", must=1),),
            layer=6,
            condition=(seen("2025-05-17", "brim", "brittle card"),),
        ),
        dress(
            "20",
            "Opera gloves",
            "gloves",
            "191X",
            "E",
            ("kid",),
            (feature("mousquetaire opening", DETAIL, "both wrists", must=1),),
            layer=1,
            condition=(seen("2025-06-14", "fingers", "brittle"),),
            handling=FLAT_ONLY,
        ),
        dress(
            "21",
            "Harlequin costume",
            "costume",
            "1925?",
            "F",
            ("sateen", "tinsel"),
            (feature("brass bells", DETAIL, "cuffs and points", must=1),),
            layer=6,
            condition=(seen("2025-07-19", "tinsel", "tarnish"),),
        ),
        dress(
            "22",
            "Tennis dress",
            "dress",
            "1934~",
            "A",
            ("white piqué",),
            (feature("split underarm", DETAIL, "wearer's right underarm", must=1),),
            layer=6,
            condition=(seen("2025-08-23", "all", "sound but for the split"),),
        ),
        dress(
            "23",
            "Cycling knickerbockers",
            "knickerbockers",
            "1896~",
            "F",
            ("tweed",),
            (feature("buckled knees", FACE, "both knees", must=1),),
            layer=4,
            condition=(seen("2025-10-04", "seat", "moth history, no frass"),),
        ),
        dress(
            "24",
            "Divided skirt",
            "skirt",
            "1898?",
            "F",
            ("tweed",),
            (feature("buttoned panel", FRONT, "front", must=1),),
            layer=5,
            condition=(seen("2025-10-04", "all", "sound"),),
        ),
        dress(
            "25",
            "Feather boa",
            "boa",
            "1901~",
            "G",
            ("dyed feather",),
            (feature("cord core", DETAIL, "both ends", must=1),),
            layer=1,
            points=("the dye has not been identified",),
            claims=(claim("dye", "an early aniline", POSSIBLE, "colour only; not tested", "2025-11-15"),),
            condition=(seen("2025-11-15", "all", "sheds barbs"),),
            handling=Handling(flat_only=True, notes="gloves and mask"),
            hazards=("pesticide-suspect",),
        ),
        dress(
            "26",
            "Day bodice “Verdigris”",
            "bodice",
            "1862/1866",
            "G",
            ("green wool-silk",),
            (feature("boned darts", INSIDE, "both fronts", must=1),),
            layer=2,
            claims=(claim("green", "an arsenic pigment", POSSIBLE, "date and colour; not tested", "2026-01-10"),),
            condition=(seen("2026-01-10", "wearer's left underarm", "tide line"),),
            handling=Handling(notes="gloves"),
            hazards=("arsenic-suspect",),
        ),
    )


def other_dress() -> tuple[Piece, ...]:
    """Pieces 27 and 28, which may have been shown, and 29 to 34, which were not."""
    return (
        dress(
            "27",
            "Nurse's collar and cuffs",
            "collar and cuffs",
            "1916~",
            "E",
            ("starched linen",),
            (feature("stud holes", DETAIL, "collar ends", must=1),),
            layer=2,
            condition=(seen("2022-09-10", "all", "sound"),),
        ),
        dress(
            "28",
            "Lace jabot",
            "jabot",
            "190X",
            "E",
            ("sheer lace",),
            (feature("mended ground", DETAIL, "lower edge", must=1, altered=True),),
            layer=3,
            condition=(seen("2022-09-10", "ground", "mended, holding"),),
            handling=Handling(flat_only=True, notes="net support"),
        ),
        dress(
            "29",
            "Apple-packer's apron",
            "apron",
            "1938~",
            "B",
            ("twill",),
            (
                feature("orchard stamp", FACE, "bib", must=1),
                feature("pencil loop", DETAIL, "wearer's right of the bib", must=1),
            ),
            layer=7,
            measurements=(cm("chest", "88.9", "35 in"),),
            acquired="2019-04",
            claims=(claim("origin", "a Tasmanian orchard", PROBABLE, "the stamp, half legible", "2026-02-14"),),
            condition=(seen("2026-02-14", "all", "sound"),),
        ),
        dress(
            "30",
            "Wedding waistcoat “Septimus”",
            "waistcoat",
            "1841",
            "H",
            ("cream satin",),
            (
                feature("embroidery", FACE, "both fronts and pocket welts", must=1),
                feature("back replaced", REVERSE, "whole back", must=1, altered=True),
                feature("maker's ticket", INSIDE, "below the neck", must=1),
            ),
            layer=1,
            acquired="2011~",
            points=(
                "the fronts were embroidered before they were cut out",
                "the welts match the pattern across the front",
                "the soil shows where the lapels of a coat lay",
                "the ticket names a maker and no town",
            ),
            claims=(
                claim("wedding", "worn once, in 1841", PROBABLE, "a note pinned to the lining", "2026-02-14"),
                claim("cloth of the back", "of the 1870s", POSSIBLE, "its weave, against a dated scrap", "2026-02-14"),
            ),
            condition=(seen("2026-02-14", "neck and both fronts", "soiled"),),
            measurements=(cm("chest", "86"), cm("thickness", "2.5")),
        ),
        dress(
            "31",
            "Quilted waistcoat “Barnaby”",
            "waistcoat",
            "1845?",
            "H",
            ("printed cotton",),
            (
                feature("quilting", FACE, "both fronts"),
                feature("watch pocket added later", FACE, "wearer's left front", must=1, altered=True),
                feature("back straps", REVERSE, "waist", must=1, presence=ABSENT),
            ),
            layer=2,
            acquired="2014",
            points=(
                "the quilting goes through every layer but the pocket's",
                "the watch pocket is cut from another width of the same print",
                "stitch holes show where the back straps were",
                "he and Septimus are cut alike and close differently",
            ),
            claims=(
                claim("made", "in the 1850s", POSSIBLE, "the cut of the fronts", "2019-06-01", superseded=True),
                claim("made", "in 1845 or so", PROBABLE, "the print, against a dated scrap", "2026-02-14"),
                claim("print", "block printed", PROBABLE, "it joins every hand's width", "2026-02-14"),
            ),
            condition=(seen("2026-02-14", "all", "sound"),),
            measurements=(cm("chest", "94"), cm("thickness", "3")),
        ),
        dress(
            "32",
            "Skating jacket",
            "jacket",
            "1913~",
            "F",
            ("navy melton",),
            (
                feature("quilted yoke", INSIDE, "shoulders", must=1),
                feature("sleeve linings swapped left for right", INSIDE, "both sleeves", must=1, altered=True),
                feature("belt", FRONT, "waist", must=1, presence=ABSENT),
            ),
            layer=3,
            acquired="2016-08",
            claims=(claim("linings", "swapped when relined", PROBABLE, "two colours of thread", "2026-02-14"),),
            condition=(seen("2026-02-14", "wearer's right hem", "one moth nip, old"),),
            measurements=(cm("chest", "96.52", "38 in"),),
        ),
        dress(
            "33",
            "Dance frock “Comet”",
            "frock",
            "1926~",
            "D",
            ("gelatin sequins", "net"),
            (
                feature("sequins melted", FACE, "wearer's left hip", must=1),
                feature("scalloped hem", FACE, "hem", must=1),
            ),
            layer=3,
            acquired="2008",
            points=("gelatin sequins melt in heat and swell in damp",),
            claims=(claim("sequins", "gelatin", PROBABLE, "melted, not cracked; not tested", "2026-02-14"),),
            condition=(seen("2026-02-14", "wearer's left hip", "sequins melted together"),),
            handling=Handling(flat_only=True, people=2, notes="keep from heat and damp"),
            hazards=("keep from heat and damp",),
            measurements=(Measurement("weight", Decimal("2.1"), "kg", "2.1 kg"), cm("thickness", "2")),
        ),
        dress(
            "34",
            "Bathing costume",
            "bathing costume",
            "1910/1914",
            "C",
            ("navy wool", "braid"),
            (feature("modesty skirt", FRONT, "waist to mid-thigh", must=1),),
            layer=5,
            acquired="2012-01",
            condition=(seen("2026-02-14", "braid", "salt bloom, dry"),),
            measurements=(cm("chest", "91.44", "36 in"),),
        ),
    )


def early_dress() -> tuple[Piece, ...]:
    """Pieces 35 to 47, shown from January 2023 to January 2024."""
    return (
        dress(
            "35",
            "Parasol “Pomona”",
            "parasol",
            "1895~",
            "F",
            ("cotton lace", "bamboo"),
            (feature("rain stains", FACE, "two panels", must=1), feature("tip", DETAIL, "ferrule", presence=ABSENT)),
            layer=7,
            condition=(seen("2022-12-28", "ribs", "one rib loose"),),
            handling=Handling(flat_only=True, notes="open half way only"),
        ),
        dress(
            "36",
            "Riding jacket",
            "jacket",
            "1887~",
            "F",
            ("black broadcloth",),
            (feature("skirt cut for the side-saddle", FRONT, "wearer's right hip", must=1),),
            layer=2,
            condition=(seen("2023-02-04", "all", "sound"),),
        ),
        dress(
            "37",
            "Cone-pattern shawl",
            "shawl",
            "185X",
            "C",
            ("printed wool",),
            (feature("print laid off the weave", REVERSE, must=1),),
            layer=6,
            condition=(seen("2023-03-04", "fringe", "a hand's width lost"),),
            handling=FLAT_ONLY,
        ),
        dress(
            "38",
            "Pelisse, child's",
            "pelisse",
            "1832~",
            "D",
            ("figured silk",),
            (feature("tucks let down", FACE, "skirt", must=1, altered=True),),
            layer=2,
            condition=(seen("2023-04-08", "both underarms", "stained"),),
            measurements=(cm("thickness", "2.5"),),
        ),
        dress(
            "39",
            "Work pinafore",
            "pinafore",
            "1918?",
            "A",
            ("checked gingham",),
            (feature("nineteen patches", FACE, "lap", must=1, altered=True),),
            layer=7,
            condition=(seen("2023-05-06", "ties", "frayed"),),
        ),
        dress(
            "40",
            "Bed jacket",
            "jacket",
            "1936~",
            "A",
            ("knitted rayon",),
            (feature("crocheted edge", FACE, "front and cuffs", must=1),),
            layer=8,
            condition=(seen("2023-06-10", "all", "sound"),),
            handling=Handling(no_hanging=True),
        ),
        dress(
            "41",
            "Bed cap",
            "cap",
            "192X",
            "E",
            ("net", "ribbon"),
            (feature("ribbon roses", DETAIL, "wearer's left temple", must=1),),
            layer=4,
            condition=(seen("2023-06-10", "elastic", "perished"),),
        ),
        dress(
            "42",
            "Gardening gauntlets",
            "gloves",
            "[1908..1914]",
            "B",
            ("leather", "canvas"),
            (feature("thorn holes", DETAIL, "both palms", must=1),),
            layer=6,
            condition=(seen("2023-07-15", "palms", "stiff"),),
            handling=FLAT_ONLY,
        ),
        dress(
            "43",
            "Evening cape “Rook”",
            "cape",
            "1903~",
            "C",
            ("black silk velvet", "jet beads"),
            (feature("beaded collar", DETAIL, "collar", must=1),),
            layer=8,
            condition=(seen("2023-08-19", "collar", "beads loose"),),
            handling=Handling(no_hanging=True, people=2),
        ),
        dress(
            "44",
            "Corset cover",
            "corset cover",
            "1906~",
            "A",
            ("white cambric",),
            (feature("draw-thread work", DETAIL, "neck edge", must=1),),
            layer=9,
            condition=(seen("2023-09-16", "all", "sound"),),
        ),
        dress(
            "45",
            "Smoking cap",
            "cap",
            "187X",
            "E",
            ("purple velvet", "gold braid"),
            (feature("tassel", FACE, "crown", must=1, presence=TRACE),),
            layer=5,
            condition=(seen("2023-10-21", "lining", "split"),),
        ),
        dress(
            "46",
            "Spatterdashes",
            "spatterdashes",
            "1915?",
            "B",
            ("box cloth", "horn"),
            (feature("buttons moved", DETAIL, "both", must=1, altered=True),),
            layer=5,
            condition=(seen("2023-11-25", "straps", "one buckle stiff"),),
        ),
        dress(
            "47",
            "Sleeveless pullover",
            "pullover",
            "1941~",
            "C",
            ("hand-knitted wool",),
            (feature("two dye lots", FACE, "below the chest", must=1),),
            layer=7,
            condition=(seen("2023-12-23", "all", "sound"),),
            handling=Handling(no_hanging=True),
        ),
    )


def blocks() -> tuple[Piece, ...]:
    """The twelve hat blocks of the second collection."""
    arrived, ordered, wanted = WantStatus.ARRIVED, WantStatus.ORDERED, WantStatus.WANTED
    steps = {
        "Pudding": ((ordered, date(2025, 8, 30)), (arrived, date(2025, 9, 18))),
        "Alderman": ((ordered, date(2025, 10, 11)), (arrived, date(2025, 11, 6))),
        "Drum": ((arrived, date(2026, 1, 17)),),
        "Magistrate": ((ordered, date(2026, 2, 14)),),
        "Saucer": ((ordered, date(2026, 2, 21)),),
    }
    rows: tuple[tuple[str, WantStatus, int, int, str], ...] = (
        ("Pudding", arrived, 20, 95, ""),
        ("Alderman", arrived, 22, 120, ""),
        ("Drum", arrived, 18, 60, ""),
        ("Magistrate", ordered, 24, 140, "2026-04-20"),
        ("Saucer", ordered, 38, 110, "2026-06~"),
        ("Chimney", wanted, 24, 260, ""),
        ("Admiral", wanted, 30, 210, ""),
        ("Boater", wanted, 26, 130, ""),
        ("Pancake", wanted, 30, 85, ""),
        ("Aunt", wanted, 28, 240, ""),
        ("Thimble", wanted, 15, 55, ""),
        ("Riddle", wanted, 26, 380, ""),
    )
    return tuple(
        Piece(
            f"b{number:02}",
            name,
            "blocks",
            "hat block",
            materials=("carved wood",),
            features=(feature("five-part puzzle", DETAIL, must=1),) if name == "Riddle" else (),
            want=Want(
                status,
                ceiling=Decimal(price),
                paid=None if status is wanted else Decimal(price),
                expected=parse(expected) if expected else None,
                width_cm=Decimal(width),
                condition="all five parts" if name == "Riddle" else "no worm, no split",
                preparation_minutes=120,
                history=(
                    WantStep(WantStatus.WANTED, date(2025, 8, 23)),
                    *(WantStep(step, day) for step, day in steps.get(name, ())),
                ),
            ),
        )
        for number, (name, status, width, price, expected) in enumerate(rows, 1)
    )


# House, slots and episodes


def house() -> HouseRules:
    """House rules; the light limits are those of CIE 157:2004 as galleries publish them."""
    return HouseRules(
        zone="Australia/Hobart",
        presenter="Posy Tranter-Vale",
        work_minutes=(0, 120, 120, 120, 0, 240, 120),
        lead_days=1,
        warning_lead_weeks=26,
        forms=(Form("small form", Decimal(80)), Form("large form", Decimal(92))),
        tables=1,
        shoot_cap_minutes=420,
        supplies=(
            Supply("acid-free tissue, sheets", 40, 50, date(2026, 1, 10)),
            Supply("archival boxes, large", 0, 1, date(2025, 9, 6)),
        ),
        light_classes=(LightClass("high", 15_000), LightClass("medium", 150_000), LightClass("low", 600_000)),
    )


def rules() -> tuple[SlotRule, ...]:
    """The two weekly slots."""
    zone = "Australia/Hobart"
    return (
        SlotRule(WEDNESDAY, "making diary", 2, time(18, 30), zone, standing_minutes=180),
        SlotRule(SUNDAY, "long feature", 6, time(9, 0), zone, standing_minutes=240),
    )


def series() -> tuple[Series, ...]:
    """The object studies: 17 hours each, 4 to 9 weeks apart, 6 wished for."""
    hours = StageMinutes(research=180, shoot=240, edit=480, captions=60, package=60)
    ids = [id for id, *_ in PAST]
    listed = tuple(id for id in ids if id != NOT_ON_THE_PAGE)
    return (Series(SERIES, "The Camphorwood Hour", "dress", (SUNDAY,), 4, 6, 9, hours, PAGE, listed),)


def episodes() -> tuple[Episode, ...]:
    """The published studies, the five open ones, and the diary in the bank."""
    past = (
        Episode(
            id,
            title,
            series=SERIES,
            pieces=pieces,
            done=tuple(Stage),
            finished=True,
            slot=SlotRef(planned, SUNDAY),
            published=True,
            package=Package(stills=STILLS.get(id, ())),
        )
        for id, title, pieces, planned, _ in PAST
    )
    apron = Window(date(2026, 3, 1), date(2026, 4, 30), yearly=True)
    skating = Window(date(2026, 6, 1), date(2026, 8, 31), yearly=True)
    bathing = Window(date(2026, 10, 15), date(2027, 2, 28), hard=True, yearly=True)
    open_rows: tuple[tuple[str, str, tuple[str, ...], tuple[Window, ...], date], ...] = (
        ("apron", "The apple-packer's apron", ("29",), (apron,), date(2026, 3, 22)),
        ("waistcoats", "Septimus and Barnaby: two waistcoats", ("30", "31"), (), date(2026, 5, 10)),
        ("skating-jacket", "The skating jacket, sleeves exchanged", ("32",), (skating,), date(2026, 6, 28)),
        ("dance-frock", "Comet: a frock that must not get warm", ("33",), (), date(2026, 8, 23)),
        ("bathing-costume", "Ready for the sea: a bathing costume", ("34",), (bathing,), date(2026, 10, 18)),
    )
    coming = (
        Episode(
            id,
            title,
            series=SERIES,
            pieces=pieces,
            windows=windows,
            slot=SlotRef(day, SUNDAY),
            package=Package(related=RELATED.get(id, ())),
        )
        for id, title, pieces, windows, day in open_rows
    )
    published = sum(1 for line in publications() if line.rule == WEDNESDAY and line.actual)
    bank = Episode(
        "diary-2026-03-04",
        diary_title(published + 1),
        EpisodeKind.FILLER,
        finished=True,
        rule=WEDNESDAY,
        slot=SlotRef(date(2026, 3, 4), WEDNESDAY),
    )
    return (*past, *coming, bank)


# The record of publications


def diary_title(number: int) -> str:
    """The title of one making diary."""
    return f"Thimble & Kettle {number}: {DIARY_TOPICS[number % len(DIARY_TOPICS)]}"


def diaries() -> tuple[Publication, ...]:
    """Every Wednesday to the end of February 2026; a missed one takes no number."""
    lines = []
    number = 0
    day = FIRST_DIARY
    while day < CLOCK:
        late = DIARY_SLIPS.get(day, 0)
        number += late is not None
        title = diary_title(number) if late is not None else "Thimble & Kettle, not made"
        came = None if late is None else FuzzyDate.exact(day + timedelta(days=late))
        lines.append(Publication(f"w-{day}", title, WEDNESDAY, day, came))
        day += timedelta(weeks=1)
    return tuple(lines)


def sundays() -> tuple[Publication, ...]:
    """Every Sunday to 1 March 2026: a study, or a talk.

    A study that came a week late left the Sunday it was planned for empty and took the next one.
    """
    lines = []
    taken: set[date] = set()
    for id, title, _, planned, came in PAST:
        actual = parse(came) if came else FuzzyDate.exact(planned)
        taken.add(planned)
        if actual.is_exact and actual.earliest:
            taken.add(actual.earliest)
        lines.append(Publication(f"s-{planned}", title, SUNDAY, planned, actual, id, SERIES, LINKS.get(id, "")))
    number = 0
    day = FIRST_DIARY + timedelta(days=4)
    while day < CLOCK:
        if day not in taken:
            number += 1
            title = f"Talk {number}: {TALK_TOPICS[number % len(TALK_TOPICS)]}"
            lines.append(Publication(f"s-{day}", title, SUNDAY, day, FuzzyDate.exact(day)))
        day += timedelta(weeks=1)
    return tuple(lines)


def publications() -> tuple[Publication, ...]:
    """The whole record, oldest entry first."""

    def entered(line: Publication) -> date:
        """The day it came, if that is known; else the day it was planned for."""
        assert line.planned is not None
        return line.actual.earliest if line.actual and line.actual.is_exact and line.actual.earliest else line.planned

    return tuple(sorted((*diaries(), *sundays()), key=entered))


def supporters() -> tuple[Supporter, ...]:
    """Those to be thanked, and one who must never be named."""
    return (
        Supporter("dot", "Dot Quillfeather", True, date(2023, 6, 1)),
        Supporter("iain", "Iain Brackenridge", True, date(2024, 2, 1), say="EE-an BRACK-en-ridge"),
        Supporter("noor", "Noor Pell", True, date(2024, 9, 1)),
        Supporter("marguerite", "Marguerite Ostrander", True, date(2025, 3, 1), say="mar-guh-REET OSS-tran-der"),
        Supporter("tavish", "Tavish Loam", True, date(2025, 11, 1)),
        Supporter("anonymous", "Anonymous", False, date(2025, 1, 1)),
    )


def demo_book() -> Book:
    """The demo book as a value."""
    return Book(
        key="6b1f0c52-7a0e-4c1e-9d35-2f6a58c1b7e4",
        house=house(),
        clock=CLOCK,
        collections=collections(),
        boxes=boxes(),
        pieces=(*shown_dress(), *other_dress(), *early_dress(), *blocks()),
        rules=rules(),
        series=series(),
        dark=(DarkRange("july-2026", date(2026, 7, 13), date(2026, 7, 26), reason="a fortnight away"),),
        episodes=episodes(),
        publications=publications(),
        supporters=supporters(),
    )


def write(path: Path) -> None:
    """Write the demo book to `path`, in place of what is there."""
    from showrunner.session import Session  # the value itself needs none

    with tempfile.TemporaryDirectory() as folder:
        fresh = Path(folder) / "book.json"
        with Session.create(fresh, demo_book(), now=lambda: BUILT):
            pass
        path.write_bytes(fresh.read_bytes())


if __name__ == "__main__":
    target = Path(__file__).with_name("book.json")
    write(target)
    print(f"wrote {target}")
