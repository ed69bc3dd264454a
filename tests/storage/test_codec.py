import json
from datetime import date

import pytest
from effort import examples
from hypothesis import HealthCheck, given
from workroom_books import RECORDS, small_book, values

from showrunner.domain.house import HouseRules
from showrunner.domain.piece import Known, Measurement, Piece, Shown, Want
from showrunner.domain.publication import CalendarEntry
from showrunner.domain.slot import DarkRange, SlotRule
from showrunner.storage.codec import Misfit, decode, encode, misfits

SLOW = examples(150, suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow])


@SLOW
@given(RECORDS)
def test_every_record_comes_back_from_json_as_it_was(pair):
    _, record = pair
    assert decode(type(record), json.loads(json.dumps(encode(record)))) == record


@SLOW
@given(values(HouseRules))
def test_house_rules_come_back_from_json_as_they_were(house):
    assert decode(HouseRules, json.loads(json.dumps(encode(house)))) == house


def test_fields_at_their_defaults_are_left_out():
    assert encode(small_book().pieces[0]) == {"id": "1", "name": "Apron", "collection": "dress", "box": "A"}
    assert encode(Shown(Known.UNSURE)) == {"known": "unsure"}


def test_values_are_written_in_their_plain_forms():
    assert encode(small_book().rules[0]) == {
        "id": "wed",
        "name": "diary",
        "weekday": 2,
        "at": "18:30",
        "zone": "Australia/Hobart",
        "standing_minutes": 180,
    }
    entry = decode(CalendarEntry, {"id": "a", "sequence": 0, "stamp": "2026-03-02T01:00:00Z", "content": ""})
    assert encode(entry)["stamp"] == "2026-03-02T01:00:00Z"
    measure = decode(Measurement, {"what": "chest", "value": "86.50", "unit": "cm"})
    assert encode(measure)["value"] == "86.50"


@pytest.mark.parametrize(
    ("kind", "document", "field", "what"),
    [
        (
            Piece,
            {"id": "1", "name": "a", "collection": "c", "colour": "red"},
            "colour",
            "nothing is kept under that name",
        ),
        (Piece, {"id": "1", "name": "a"}, "collection", "it is missing"),
        (Piece, {"id": 1, "name": "a", "collection": "c"}, "id", "1 is not text"),
        (Piece, {"id": "1", "name": "a", "collection": "c", "layer": True}, "layer", "True is not a whole number"),
        (Piece, {"id": "1", "name": "a", "collection": "c", "points": "x"}, "points", "'x' is not a list"),
        (Piece, {"id": "1", "name": "a", "collection": "c", "points": ["x", 3]}, "points.2", "3 is not text"),
        (Piece, {"id": "1", "name": "a", "collection": "c", "shown": 5}, "shown", "5 is not a group of fields"),
        (
            Piece,
            {"id": "1", "name": "a", "collection": "c", "shown": {"known": "maybe"}},
            "shown.known",
            "'maybe' is none of yes, no, unsure",
        ),
        (
            Piece,
            {"id": "1", "name": "a", "collection": "c", "shown": {"odds_unshown": 100}},
            "shown",
            "odds of 100% leave no doubt",
        ),
        (Piece, [], "", "[] is not a group of fields"),
        (DarkRange, {"id": "d", "first": "2026-02-30", "last": "2026-03-01"}, "first", "'2026-02-30' is not a date"),
        (DarkRange, {"id": "d", "first": "20260301", "last": "2026-03-01"}, "first", "'20260301' is not a date"),
        (SlotRule, {"id": "s", "name": "n", "weekday": 0, "at": "25:00", "zone": "UTC"}, "at", "'25:00' is not a time"),
        (
            SlotRule,
            {"id": "s", "name": "n", "weekday": 0, "at": "09:00+02:00", "zone": "UTC"},
            "at",
            "'09:00+02:00' is not a time",
        ),
        (
            CalendarEntry,
            {"id": "a", "sequence": 0, "stamp": "0001-01-01T00:00:00+05:00", "content": ""},
            "stamp",
            "'0001-01-01T00:00:00+05:00' is not an instant",
        ),
        (
            HouseRules,
            {"lamp_lux": 2**53},
            "lamp_lux",
            "9007199254740992 is beyond every number a book holds",
        ),
        (Want, {"ceiling": "NaN"}, "ceiling", "'NaN' is not a number"),
        (Want, {"ceiling": 3.5}, "ceiling", "3.5 is not a number"),
        (HouseRules, {"work_minutes": [1, 2]}, "work_minutes", "it lists 2 values and not 7"),
        (DarkRange, {"id": "d", "first": "x" * 90, "last": ""}, "first", f"'{'x' * 36}... is not a date"),
    ],
)
def test_a_value_that_does_not_fit_names_its_field(kind, document, field, what):
    with pytest.raises(Misfit) as caught:
        decode(kind, document)
    assert (caught.value.field, caught.value.what) == (field, what)


def test_dates_before_the_year_1000_keep_four_digits():
    dark = DarkRange("d", date(987, 1, 2), date(987, 1, 3))
    assert encode(dark)["first"] == "0987-01-02"
    assert decode(DarkRange, encode(dark)) == dark


def test_all_misfits_of_a_document_are_found_and_a_good_one_has_none():
    document = {"id": 1, "name": "a", "shown": {"known": "maybe", "odds_unshown": "50"}, "points": ["x", 3], "size": 4}
    assert [misfit.field for misfit in misfits(Piece, document)] == [
        "id",
        "shown.known",
        "shown.odds_unshown",
        "points.2",
        "size",
        "collection",
    ]
    assert list(misfits(Piece, encode(small_book().pieces[0]))) == []
    assert [misfit.what for misfit in misfits(Shown, {"odds_unshown": 100})] == ["odds of 100% leave no doubt"]


@SLOW
@given(RECORDS)
def test_what_can_be_read_has_no_misfits(pair):
    _, record = pair
    assert list(misfits(type(record), encode(record))) == []


@pytest.mark.parametrize(
    ("kind", "document", "way_out"),
    [
        (Piece, {"id": "1", "name": "a", "collection": "c", "colections": "red"}, "write 'collection'"),
        (Piece, {"id": "1", "name": "a", "collection": "c", "zzzz": "red"}, "leave it out"),
        (Piece, {"id": "1", "name": "a"}, "add it"),
        (Shown, {"known": "unsur"}, "write 'unsure'"),
        (Shown, {"known": "zzzz"}, "write one of these"),
        (Shown, {"known": 3}, "write one of these"),
        (DarkRange, {"id": "d", "first": "soon", "last": "2026-03-01"}, 'write it in quotes, as "2026-03-22"'),
    ],
)
def test_a_value_that_does_not_fit_has_a_way_out(kind, document, way_out):
    with pytest.raises(Misfit) as caught:
        decode(kind, document)
    assert caught.value.way_out == way_out
    assert str(caught.value) == caught.value.what


def test_a_list_that_is_none_is_one_misfit():
    document = {"id": "1", "name": "a", "collection": "c", "points": "x", "features": {"0": 1}}
    assert sorted((m.field, m.what) for m in misfits(Piece, document)) == [
        ("features", "{'0': 1} is not a list"),
        ("points", "'x' is not a list"),
    ]


def test_misfits_are_found_one_after_the_other():
    """Of a long list with nothing but faults only those that are told are looked for."""

    class Never(dict):
        def items(self):
            raise AssertionError("it is looked at")

    document = {"id": "1", "name": "a", "collection": "c", "claims": [{"says": "y"}, Never()]}
    found = misfits(Piece, document)
    fields = [next(found).field for _ in range(4)]
    assert fields == ["claims.1.says", "claims.1.about", "claims.1.value", "claims.1.confidence"]
