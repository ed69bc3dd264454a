"""The published schema, judged by an independent validator."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator, SchemaError
from jsonschema.validators import validator_for
from test_exchange import ENTRY, SLOW, tree_of
from workroom_books import ANY_JSON, BOOKS, places, small_book

from showrunner.demo_book import demo_path
from showrunner.domain.book import TABLES
from showrunner.domain.collection import Collection
from showrunner.intake.exchange_file import bring_exchange
from showrunner.session import Session
from showrunner.storage.exchange import BadExchange, published_schema, read_exchange, schema
from showrunner.storage.exporting import export

VALIDATOR = Draft202012Validator(schema())


@pytest.mark.slow
def test_the_schema_is_one():
    Draft202012Validator.check_schema(schema())
    Draft202012Validator.check_schema(json.loads(published_schema()))
    assert validator_for(schema()) is Draft202012Validator


@pytest.mark.slow
@pytest.mark.parametrize(
    "wrong", [{"type": "piece"}, {"required": "id"}, {"$defs": []}, {"properties": {"id": {"minimum": "1"}}}]
)
def test_a_schema_that_is_none_would_be_found(wrong):
    with pytest.raises(SchemaError):
        Draft202012Validator.check_schema(schema() | wrong)


def test_the_two_files_of_an_export_fit_each_other(tmp_path):
    with Session.open(demo_path(), write=False) as session:
        export(session.book, tmp_path)
    published = json.loads((tmp_path / "exchange.schema.json").read_bytes())
    tree = json.loads((tmp_path / "book.json").read_bytes())
    assert list(Draft202012Validator(published).iter_errors(tree)) == []
    tree["pieces"][0]["layer"] = "top"
    assert [error.json_path for error in Draft202012Validator(published).iter_errors(tree)] == ["$.pieces[0].layer"]


def test_the_demo_book_fits_the_schema():
    with Session.open(demo_path(), write=False) as session:
        tree = tree_of(session.book)
    assert list(VALIDATOR.iter_errors(tree)) == []


@pytest.mark.slow
@SLOW
@given(BOOKS)
def test_any_book_fits_the_schema(book):
    assert list(VALIDATOR.iter_errors(tree_of(book))) == []


def _set(table, number, field, value):
    def change(tree):
        tree[table][number][field] = value

    return change


def _leave_out(table, number, field):
    def change(tree):
        del tree[table][number][field]

    return change


BROKEN = {
    "no key": lambda tree: tree.pop("key"),
    "no version": lambda tree: tree.pop("version"),
    "version 2": lambda tree: tree.update(version=2),
    "other format": lambda tree: tree.update(format="other"),
    "unknown table": lambda tree: tree.update(shoes=[]),
    "table no list": lambda tree: tree.update(pieces={}),
    "house no group": lambda tree: tree.update(house=[]),
    "six weekdays": lambda tree: tree["house"].update(work_minutes=[0] * 6),
    "record no group": lambda tree: tree["pieces"].append("Apron"),
    "no id": _leave_out("pieces", 0, "id"),
    "no collection": _leave_out("pieces", 0, "collection"),
    "unknown field": _set("pieces", 0, "colour", "red"),
    "number for text": _set("pieces", 0, "name", 3),
    "text for number": _set("pieces", 0, "layer", "3"),
    "fraction": _set("pieces", 0, "layer", 1.5),
    "too large": _set("pieces", 0, "layer", 2**53),
    "true for number": _set("pieces", 0, "layer", True),
    "number for true": _set("episodes", 0, "published", 1),
    "null": _set("pieces", 0, "notes", None),
    "no list": _set("pieces", 0, "materials", "silk"),
    "list of numbers": _set("pieces", 0, "materials", [1]),
    "unknown word": _set("pieces", 0, "shown", {"known": "maybe"}),
    "unknown field inside": _set("pieces", 0, "shown", {"sure": True}),
    "missing inside": _set("pieces", 0, "made", {"text": "1868~"}),
    "unknown view": _set("pieces", 0, "features", [{"what": "hem", "view": "above"}]),
    "no such month": _set("rules", 0, "first", "2026-13-01"),
    "short date": _set("rules", 0, "first", "2026-3-1"),
    "no such hour": _set("rules", 0, "at", "24:00"),
    "time with zone": _set("rules", 0, "at", "18:30+01:00"),
    "instant not UTC": _set("calendar", 0, "stamp", "2026-03-01T07:30:00+01:00"),
    "amount as number": _set("collections", 0, "budget", 12.5),
    "amount in words": _set("collections", 0, "budget", "twelve"),
    "amount NaN": _set("collections", 0, "budget", "NaN"),
    "amount with zeros": _set("collections", 0, "budget", "007"),
}


@pytest.mark.slow
@pytest.mark.parametrize("name", BROKEN)
def test_what_is_broken_is_refused_by_the_validator_and_on_import(name):
    tree = tree_of(small_book().put("calendar", ENTRY).put("collections", Collection("blocks", "Crown blocks")))
    assert VALIDATOR.is_valid(tree)
    BROKEN[name](tree)
    assert not VALIDATOR.is_valid(tree)
    with pytest.raises(BadExchange):
        read_exchange(json.dumps(tree).encode(), "book")
    assert bring_exchange(small_book(), json.dumps(tree).encode(), "book").faults


@SLOW
@given(st.data())
def test_what_is_read_fits_the_schema(data):
    tree = tree_of(small_book().put("calendar", ENTRY))
    for _ in range(data.draw(st.integers(1, 2))):
        holder, key = data.draw(st.sampled_from(places(tree)))
        holder[key] = data.draw(ANY_JSON)
    try:
        read_exchange(json.dumps(tree).encode(), "book")
    except BadExchange:
        return
    assert list(VALIDATOR.iter_errors(tree)) == []


def test_every_table_and_every_field_is_described():
    made = schema()
    assert set(TABLES) <= set(made["properties"])
    for name, definition in {"Book": made, **made["$defs"]}.items():
        assert definition["description"], name
        for field, part in definition.get("properties", {}).items():
            assert part["description"], f"{name}.{field}"


def test_the_schema_speaks_of_null_and_never_of_none():
    assert "None" not in json.dumps(schema())


def test_required_are_the_fields_without_a_default():
    definitions = schema()["$defs"]
    assert definitions["Piece"]["required"] == ["id", "name", "collection"]
    assert definitions["HouseRules"]["required"] == []
    assert definitions["HouseRules"]["properties"]["lead_days"]["default"] == 1
    assert definitions["Piece"]["properties"]["shown"]["default"] == {}
