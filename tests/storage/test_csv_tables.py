from collections.abc import Iterator
from contextlib import suppress
from dataclasses import MISSING, Field, fields, replace
from datetime import UTC, date, datetime, time
from decimal import Decimal
from enum import StrEnum

import pytest
from effort import examples
from hypothesis import HealthCheck, given
from workroom_books import BOOKS, small_book

from showrunner.demo_book import demo_path
from showrunner.domain.book import TABLES, Book
from showrunner.domain.collection import Box, Collection, CollectionKind, Supply
from showrunner.domain.episode import Episode, EpisodeKind, Pin, PinKind, Series, Stage, StageMinutes, Window, Worked
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.house import ExtraWork, Form, Habit, HouseRules, LightClass, LikeKind, Unsure
from showrunner.domain.opening import Opens
from showrunner.domain.package import Chapter, Corrected, Heard, Package, Part, Still
from showrunner.domain.piece import (
    Claim,
    Condition,
    Confidence,
    Exposure,
    Feature,
    Handling,
    Known,
    Measurement,
    Piece,
    Presence,
    Rate,
    Shown,
    View,
    Want,
    WantStatus,
    WantStep,
)
from showrunner.domain.publication import CalendarEntry, Publication, Supporter
from showrunner.domain.shoot import LogKind, LogLine, Remedy, Shoot, Touch
from showrunner.domain.slot import BusyDay, DarkRange, EarlierTimes, SlotRef, SlotRule
from showrunner.domain.wording import Wording
from showrunner.errors import ShowrunnerError
from showrunner.session import Session
from showrunner.storage.csv_tables import (
    chapter_text,
    claim_text,
    condition_text,
    corrected_text,
    exposure_text,
    feature_text,
    heard_text,
    measurement_text,
    step_text,
    still_text,
    supply_text,
    to_csv_tables,
    window_text,
    worked_text,
)

DAY, LATER = date(2026, 3, 1), date(2026, 3, 9)
INSTANT = datetime(2026, 3, 1, 7, 30, tzinfo=UTC)
ABOUT = FuzzyDate("1868~", date(1868, 1, 1), date(1868, 12, 31), "about 1868")
SOON = FuzzyDate("2026-04", date(2026, 4, 1), date(2026, 4, 30), "April 2026")

WANT = Want(
    WantStatus.ORDERED,
    Decimal("120.00"),
    Decimal("99.50"),
    Decimal(15),
    SOON,
    Decimal(26),
    "EUR",
    Rate(Decimal("1.65"), DAY),
    "no worm",
    90,
    (WantStep(WantStatus.WANTED, DAY), WantStep(WantStatus.ORDERED, LATER)),
)

PACKAGE = Package(
    "The apron",
    "An apron.",
    "An apron",
    (Chapter(0, "Opening", "so here", Part.FLAT), Chapter(95, "Flat")),
    "apron.vtt",
    "0d9f",
    (Heard("7/say/hem", 95),),
    ("jacket",),
    (Still("7", "hem", "A worn hem", DAY), Still("7", "cuff")),
    (Corrected("7", "fibre", "linen", DAY),),
)

FULL = {
    "collections": Collection(
        "c", "Blocks", CollectionKind.SHOPPING, True, "AUD", Decimal("1800.50"), Decimal(290), 4, 3
    ),
    "boxes": Box("A", "tail chest", "attic", Decimal("12.5"), Decimal(15), DAY, 12),
    "pieces": Piece(
        "7",
        "Bodice",
        "c",
        kind="bodice",
        made=ABOUT,
        acquired=SOON,
        materials=("silk", "linen"),
        features=(Feature("hem"), Feature("pocket", "left", View.INSIDE, 1, Presence.ABSENT, True)),
        points=("made over", "worn twice"),
        claims=(Claim("fibre", "silk", Confidence.SURE), Claim("origin", "Leeds", Confidence.POSSIBLE, "label")),
        condition=(Condition(DAY, "hem", "worn"), Condition(LATER, "cuff", "frayed", "s1", True)),
        handling=Handling(True, True, True, 2, True, 20, "net"),
        hazards=("arsenic-suspect", "lead"),
        measurements=(Measurement("chest", Decimal("86.50"), "cm"), Measurement("weight", Decimal(2), "kg", "4 lb")),
        box="A",
        layer=2,
        shown=Shown(Known.UNSURE, 30, "a memory", ABOUT),
        notes="torn",
        light="high",
        exposures=(Exposure(DAY, 500), Exposure(LATER, 200, 3, "a talk", "s1")),
        acquired_before=("8", "9"),
        acquired_after=("3",),
        photographs=("front.jpg", "hem.png"),
        want=Want(WantStatus.ORDERED),
        opens=Opens.FRONT,
    ),
    "rules": SlotRule(
        "sun",
        "feature",
        6,
        time(9, 5),
        "Australia/Hobart",
        240,
        DAY,
        LATER,
        (EarlierTimes(DAY, 2, time(18, 30), "Europe/Dublin", 60),),
        (DAY,),
        (LATER,),
    ),
    "series": Series(
        "hour",
        "The Hour",
        "c",
        ("sun", "wed"),
        2,
        6,
        9,
        StageMinutes(1, 2, 3, 4, 5, 6),
        "https://example.org/hour",
        ("apron",),
    ),
    "dark": DarkRange("d", DAY, LATER, True, True, "away", "uid-1"),
    "busy": BusyDay("busy-1-2026-03-01", DAY, ((90, 150), (600, 1440)), "dentist"),
    "episodes": Episode(
        "apron",
        "Apron",
        EpisodeKind.STUDY,
        "hour",
        ("7", "8"),
        (Window(DAY, LATER), Window(DAY, LATER, True, True)),
        StageMinutes(1, 2, 3, 4, 5, 6),
        (Stage.RESEARCH, Stage.CONDITION),
        True,
        "wed",
        SlotRef(DAY, "sun"),
        True,
        "long",
        600,
        660,
        (Worked(DAY, 90, Stage.SHOOT), Worked(LATER, 30)),
        PACKAGE,
        "coat",
    ),
    "pins": Pin("p", PinKind.DATE, ("apron",), SlotRef(DAY, "sun"), ("7", "8"), "promised"),
    "publications": Publication("r1", "Apron", "sun", DAY, SOON, "apron", "hour", "https://example.org/1"),
    "supporters": Supporter("s", "Ada", True, DAY, LATER, "AY-da"),
    "shoots": Shoot("s1", ("apron", "jacket"), INSTANT, True, 600),
    "log": LogLine(
        "l1",
        "s1",
        INSTANT,
        LogKind.FOUND,
        "7",
        "shot-1",
        Touch.TURN,
        View.INSIDE,
        "a label",
        Confidence.PROBABLE,
        Remedy.STILL,
        120,
    ),
    "wordings": Wording("pieces: kept in", "box"),
    "calendar": CalendarEntry("uid", 3, INSTANT, "SUMMARY:Apron", True),
}
"""A record of each table with no field at its default."""

HOUSE = HouseRules(
    "Australia/Hobart",
    "Ada",
    (0, 120, 120, 120, 0, 240, 120),
    (ExtraWork(DAY, 90),),
    2,
    20,
    (Form("Small", Decimal("82.5")), Form("Large", Decimal(96))),
    3,
    (LightClass("high", 15000),),
    (View.FLAT_FACE, View.INSIDE),
    400,
    15,
    300,
    10,
    True,
    50,
    20,
    10,
    70,
    Habit(True, Unsure.SHOWN),
    (Supply("tissue, sheets", 40, 50, DAY), Supply("boxes", 1, 2)),
    "$pieces",
    4,
    15,
    6,
    2,
    kinds=(LikeKind("bedgown", "dress"), LikeKind("zorble", "fan")),
    ease_cm=Decimal(1),
    form_smaller_cm=Decimal("2.5"),
    most_padding_cm=Decimal(9),
    latitude=Decimal("-42.88"),
    longitude=Decimal("147.33"),
    film_until=time(17),
)

FILES = {"rules": "slot_rules.csv"}


def rows_of(table: str, record: object) -> list[dict[str, str]]:
    return sheet(replace(Book("0d9f"), **{table: (record,)}), FILES.get(table, f"{table}.csv"))


def sheet(book: Book, name: str) -> list[dict[str, str]]:
    columns, rows = to_csv_tables(book)[name]
    return [dict(zip(columns, row, strict=True)) for row in rows]


def test_there_is_a_file_for_every_table_and_for_house_and_wants():
    names = {FILES.get(table, f"{table}.csv") for table in TABLES}
    assert set(to_csv_tables(Book("0d9f"))) == names | {"house.csv", "wants.csv"}


def test_an_empty_table_still_has_its_columns():
    tables = to_csv_tables(Book("0d9f"))
    assert tables["pieces.csv"][0][:7] == ("id", "name", "collection", "kind", "kind AAT", "made", "acquired")
    assert all(columns and not rows for name, (columns, rows) in tables.items() if name != "house.csv")


def test_a_piece_in_words():
    assert rows_of("pieces", FULL["pieces"]) == [
        {
            "id": "7",
            "name": "Bodice",
            "collection": "c",
            "kind": "bodice",
            "kind AAT": "300209874",
            "made": "1868~",
            "acquired": "2026-04",
            "acquired before": "8; 9",
            "acquired after": "3",
            "materials": "silk; linen",
            "box": "A",
            "layer": "2",
            "shown": "unsure",
            "odds unshown": "30",
            "evidence": "a memory",
            "shown when": "1868~",
            "features": "hem [flat face, should] | pocket @ left [inside, must, absent, altered]",
            "points": "made over | worn twice",
            "claims": "fibre: silk [sure] | origin: Leeds [possible, basis: label]",
            "condition": "2026-03-01 hem: worn | 2026-03-09 cuff: frayed [after shoot s1]",
            "measurements": "chest 86.50 cm | weight 2 kg [entered 4 lb]",
            "hazards": "arsenic-suspect; lead",
            "opens": "front",
            "flat only": "yes",
            "no hanging": "yes",
            "no turning": "yes",
            "people to move it": "2",
            "on a board": "yes",
            "minutes on a form": "20",
            "handling notes": "net",
            "light class": "high",
            "exposures": "2026-03-01: 500 lux hours, touches 0 | "
            "2026-03-09: 200 lux hours, touches 3 [a talk, shoot s1]",
            "photographs": "front.jpg; hem.png",
            "notes": "torn",
        }
    ]


def test_a_piece_of_which_little_is_known_has_empty_cells():
    (row,) = rows_of("pieces", Piece("7", "Bodice", "c"))
    assert {name: cell for name, cell in row.items() if cell} == {
        "id": "7",
        "name": "Bodice",
        "collection": "c",
        "shown": "no",
        "flat only": "no",
        "no hanging": "no",
        "no turning": "no",
        "people to move it": "1",
        "on a board": "no",
    }


def test_only_an_unsure_piece_has_odds():
    assert rows_of("pieces", Piece("7", "Bodice", "c", shown=Shown(Known.UNSURE)))[0]["odds unshown"] == "50"
    assert rows_of("pieces", Piece("7", "Bodice", "c", shown=Shown(Known.YES)))[0]["odds unshown"] == ""


def test_an_episode_a_rule_and_a_line_of_the_log_in_words():
    (episode,) = rows_of("episodes", FULL["episodes"])
    assert episode["pieces"] == "7; 8"
    assert (episode["planned day"], episode["planned slot rule"]) == ("2026-03-01", "sun")
    assert episode["windows"] == "2026-03-01 to 2026-03-09 [should] | 2026-03-01 to 2026-03-09 [must, yearly]"
    assert episode["stages done"] == "research; condition check"
    assert (episode["research minutes"], episode["package minutes"]) == ("1", "6")
    (rule,) = rows_of("rules", FULL["rules"])
    assert (rule["weekday"], rule["at"], rule["last day"]) == ("Sunday", "09:05", "2026-03-09")
    (line,) = rows_of("log", FULL["log"])
    assert (line["at"], line["kind"], line["touch"], line["view"]) == (
        "2026-03-01T07:30:00Z",
        "found",
        "turn",
        "inside",
    )


def test_a_missed_slot_is_said():
    (row,) = rows_of("publications", Publication("r1", "Apron", "sun", DAY, None))
    assert (row["planned"], row["published"], row["missed"]) == ("2026-03-01", "", "yes")


def test_wants_are_the_pieces_that_are_shopped_for_with_the_currency_of_their_collection():
    own = replace(WANT, currency="", rate=None)
    book = Book(
        "0d9f",
        collections=(FULL["collections"],),
        pieces=(Piece("1", "Cap", "c"), Piece("b2", "Drum", "c", want=WANT), Piece("b3", "Aunt", "c", want=own)),
    )
    assert sheet(book, "wants.csv")[1]["currency"] == "AUD"
    assert sheet(book, "wants.csv")[:1] == [
        {
            "id": "b2",
            "name": "Drum",
            "collection": "c",
            "status": "ordered",
            "currency": "EUR",
            "ceiling": "120.00",
            "paid": "99.50",
            "carriage": "15",
            "expected": "2026-04",
            "width cm": "26",
            "rate": "1.65",
            "rate of": "2026-03-01",
            "condition wanted": "no worm",
            "preparation minutes": "90",
            "history": "2026-03-01 wanted | 2026-03-09 ordered",
        }
    ]


@pytest.mark.parametrize("field", fields(WANT), ids=lambda field: field.name)
def test_no_field_of_a_want_is_left_out(field):
    piece = Piece("b2", "Drum", "c", want=WANT)
    one, two = (
        sheet(Book("0d9f", pieces=(replace(piece, want=want),)), "wants.csv")
        for want in (WANT, next(others(WANT, field)))
    )
    assert one != two


OTHER = (
    "other",
    "cm",
    1,
    False,
    ABOUT,
    "other: other",
    ("other",),
    date(2026, 1, 4),
    date(2026, 12, 6),
    time(23),
    datetime(2026, 1, 4, tzinfo=UTC),
    Decimal(3),
    (LikeKind("bedgown", "jacket"),),
    ((1, 2),),
    SlotRef(LATER, "other"),
)


def others(record: object, field: Field) -> Iterator[object]:
    """The record with one field at another value: its default, another word, or another value of its type."""
    held = getattr(record, field.name)
    words = tuple(type(held)) if isinstance(held, StrEnum) else ()
    for value in (field.default, *words, *(value for value in OTHER if type(value) is type(held))):
        if value is MISSING or value == held:
            continue
        with suppress(ShowrunnerError, ValueError, TypeError):
            yield replace(record, **{field.name: value})


@pytest.mark.parametrize(
    ("table", "field"),
    [
        (table, field)
        for table, kind in TABLES.items()
        for field in fields(kind)
        if (table, field.name) != ("episodes", "kind")  # filler has no pieces: the next test
    ],
    ids=lambda value: getattr(value, "name", value),
)
def test_no_field_of_a_record_is_left_out(table, field):
    other = next(others(FULL[table], field))
    one, two = (to_csv_tables(replace(Book("0d9f"), **{table: (record,)})) for record in (FULL[table], other))
    assert one != two


def test_study_and_filler_are_told_apart():
    (study,) = rows_of("episodes", Episode("a", "Apron", series="hour"))
    (filler,) = rows_of("episodes", Episode("a", "Apron", EpisodeKind.FILLER, series="hour"))
    assert (study.pop("kind"), filler.pop("kind")) == ("study", "filler")
    assert study == filler


@pytest.mark.parametrize("field", fields(Package), ids=lambda field: field.name)
def test_nothing_of_a_package_is_left_out(field):
    study = FULL["episodes"]
    bare = replace(study, package=replace(PACKAGE, **{field.name: field.default}))
    assert rows_of("episodes", study) != rows_of("episodes", bare)


@pytest.mark.parametrize("field", fields(HouseRules), ids=lambda field: field.name)
def test_no_house_rule_is_left_out(field):
    one, two = (sheet(replace(Book("0d9f"), house=house), "house.csv") for house in (HOUSE, next(others(HOUSE, field))))
    assert one != two


PARTS = {
    feature_text: FULL["pieces"].features[1],
    claim_text: Claim("fibre", "silk", Confidence.SURE, "burn test", DAY, True, "apron", INSTANT),
    condition_text: FULL["pieces"].condition[1],
    exposure_text: FULL["pieces"].exposures[1],
    measurement_text: FULL["pieces"].measurements[1],
    window_text: FULL["episodes"].windows[1],
    step_text: WANT.history[1],
    supply_text: Supply("tissue, sheets", 40, 50, DAY),
    worked_text: Worked(DAY, 90, Stage.SHOOT),
    chapter_text: PACKAGE.chapters[0],
    heard_text: PACKAGE.heard[0],
    still_text: PACKAGE.stills[0],
    corrected_text: PACKAGE.corrected[0],
}


@pytest.mark.parametrize(
    ("text", "field"),
    [(text, field) for text, part in PARTS.items() for field in fields(part)],
    ids=lambda value: getattr(value, "name", None) or value.__name__,
)
def test_no_field_of_what_is_joined_is_left_out(text, field):
    part = PARTS[text]
    other = next(others(part, field))
    assert text(part) != text(other)


def test_a_claim_in_words():
    assert claim_text(PARTS[claim_text]) == (
        "fibre: silk [sure, basis: burn test, judged 2026-03-01, superseded, study apron, found 2026-03-01T07:30:00Z]"
    )


def test_the_house_in_words():
    rows = {row["rule"]: row["value"] for row in sheet(replace(small_book(), house=HOUSE), "house.csv")}
    assert rows["book key"] == "0d9f"
    assert rows["clock stands at"] == "2026-03-02"
    assert rows["working minutes on Tuesday"] == "120"
    assert rows["dress forms"] == "Small [dress form, chest 82.5 cm] | Large [dress form, chest 96 cm]"
    assert rows["light classes"] == "high [15000 lux hours a year]"
    assert rows["standard views"] == "flat face; inside"


def test_forms_with_all_their_measures_busy_times_and_importances_in_words():
    form = Form("Small", Decimal(80), waist_cm=Decimal(62), hip_cm=Decimal(88), back_cm=Decimal("38.5"))
    rows = sheet(replace(small_book(), house=replace(HOUSE, forms=(form,))), "house.csv")
    (told,) = [row["value"] for row in rows if row["rule"] == "dress forms"]
    assert told == "Small [dress form, chest 80 cm, waist 62 cm, hip 88 cm, back 38.5 cm]"
    (busy,) = rows_of("busy", FULL["busy"])
    assert busy["busy from and to"] == "1:30-2:30 | 10:00-24:00"
    for importance, word in ((1, "must"), (2, "should"), (3, "may")):
        assert feature_text(Feature("pocket", importance=importance)) == f"pocket [flat face, {word}]"


def test_the_demo_book_has_a_row_for_every_record():
    with Session.open(demo_path(), write=False) as session:
        book = session.book
    tables = to_csv_tables(book)
    for table in TABLES:
        assert len(tables[FILES.get(table, f"{table}.csv")][1]) == len(getattr(book, table))
    assert len(tables["wants.csv"][1]) == sum(piece.want is not None for piece in book.pieces)


@pytest.mark.slow
@examples(60, suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow])
@given(BOOKS)
def test_every_row_of_any_book_has_a_text_for_each_of_its_columns(book):
    for columns, rows in to_csv_tables(book).values():
        assert len(set(columns)) == len(columns)
        for row in rows:
            assert len(row) == len(columns)
            assert all(type(cell) is str for cell in row)


def test_what_is_not_known_of_a_part_is_not_written():
    assert condition_text(Condition(DAY, "cuff", "frayed")) == "2026-03-01 cuff: frayed"
    assert condition_text(Condition(DAY, "cuff", "frayed", shoot="s1")) == "2026-03-01 cuff: frayed [before shoot s1]"
    assert condition_text(Condition(DAY, "cuff", "frayed", after=True)) == "2026-03-01 cuff: frayed [after shoot]"
    assert supply_text(Supply("tissue", 40, 50)) == "tissue: 40 [reorder at 50]"
    assert supply_text(Supply("tissue", 40, 50, DAY)) == "tissue: 40 [reorder at 50, counted 2026-03-01]"
    order = Pin("p", PinKind.ORDER, ("apron", "jacket"))
    (row,) = sheet(small_book().put("pins", order), "pins.csv")
    assert (row["promised day"], row["promised slot rule"]) == ("", "")
