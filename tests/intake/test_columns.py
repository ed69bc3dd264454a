"""What the columns of a sheet mean."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showrunner.domain.book import Book
from showrunner.domain.wording import Wording
from showrunner.errors import BadInput
from showrunner.intake.columns import FIELDS, Column, How, Kind, fields_for, kind_of, plain_name, recognise


def fields(columns: list[str], kind: Kind = Kind.PIECES, **more: object) -> list[str]:
    return [column.field for column in recognise(columns, kind, **more)]  # type: ignore[arg-type]


def test_columns_are_known_in_several_wordings():
    assert fields(["No.", "What it is", "When made", "Made of", "Lives in", "Shown on"]) == [
        *("id", "name", "made", "materials", "box", "shown_when")
    ]
    assert fields(["Piece number", "Title", "Dated", "Fabric", "BOX", "shown?"]) == [
        *("id", "name", "made", "materials", "box", "shown")
    ]
    assert fields(["#", "Piece", "Notes"]) == ["id", "name", "notes"]
    assert fields(["Film", "Came out", "Was due"], Kind.EPISODES) == ["title", "published", "planned"]


def test_a_measure_may_have_a_column_of_its_own_with_its_unit():
    (chest, hem) = recognise(["Chest (cm)", "Hem in inches"], Kind.PIECES)
    assert (chest.field, chest.unit) == ("measure:chest", "cm")
    assert hem.field == ""
    (waist,) = recognise(["waist in"], Kind.PIECES)
    assert (waist.field, waist.unit) == ("measure:waist", "in")


def test_an_unknown_column_is_left_aside_with_the_field_it_may_mean():
    (colour, near) = recognise(["Colour", "Matrials"], Kind.PIECES)
    assert (colour.field, colour.how, colour.hint) == ("", How.ASIDE, "nothing here is worded so")
    assert (near.field, near.hint) == ("", "perhaps materials")


def test_of_two_headings_alike_the_second_is_left_aside_and_says_why():
    first, second = recognise(["Notes", "Notes (column 4)"], Kind.PIECES)
    assert (first.field, second.field, second.hint) == ("notes", "", "'Notes' says that already")


def test_what_is_said_comes_before_what_was_kept_and_before_the_wording():
    columns = ["Title", "Nickname", "Object"]
    assert fields(columns) == ["", "", "name"]
    kept = (Wording("pieces: nickname", "name"),)
    assert fields(columns, kept=kept) == ["", "name", ""]
    found = recognise(columns, Kind.PIECES, kept, {"title": "name", "Object": ""})
    assert [(column.field, column.how) for column in found] == [
        ("name", How.ASKED),
        ("", How.ASIDE),
        ("", How.ASKED),
    ]
    assert found[1].hint == "'Title' says that already"


@pytest.mark.parametrize(
    ("asked", "sentence"),
    [
        ({"Nmae": "name"}, "--map: the file has no column 'Nmae'; write 'Name'."),
        ({"Name": "nane"}, "--map, column 'Name': no column can mean 'nane'; write 'name'."),
        ({"Name": "box", "Where": "box"}, "--map: columns 'Name' and 'Where' are both said to be box; "),
    ],
)
def test_what_is_said_must_go_with_the_sheet(asked, sentence):
    with pytest.raises(BadInput) as caught:
        recognise(["Name", "Where"], Kind.PIECES, (), asked)
    assert caught.value.sentence().startswith(sentence)


def test_a_sheet_is_known_by_its_columns():
    book = Book("k")
    assert kind_of(["Name", "Made", "Box"], book, "a.csv") is Kind.PIECES
    assert kind_of(["Title", "Published", "Link"], book, "a.csv") is Kind.EPISODES
    with pytest.raises(BadInput, match="--as pieces or --as episodes"):
        kind_of(["Red", "Green"], book, "a.csv")


@pytest.mark.parametrize("kind", list(FIELDS))
def test_no_two_fields_share_a_wording(kind):
    wordings = [wording for field in FIELDS[kind].values() for wording in field]
    assert len(wordings) == len(set(wordings))
    assert all(plain_name(wording) == wording for wording in wordings)


@pytest.mark.slow
@given(st.lists(st.text(max_size=40), max_size=30, unique=True), st.sampled_from(list(FIELDS)))
def test_any_columns_are_explained_and_no_field_is_filled_twice(columns, kind):
    found = recognise(columns, kind)
    assert [column.name for column in found] == columns
    filled = [column.field for column in found if column.field]
    assert len(filled) == len(set(filled))
    assert set(filled) <= set(fields_for(kind))


@pytest.mark.parametrize(
    "headings",
    [
        "Inv.-Nr. | Bezeichnung | Datierung | Erworben am | Maße | Lagerort | Gezeigt | Bemerkungen",
        "N° | Désignation | Époque | Acheté le | Mesures | Boîte | Déjà montré | Remarques",
        "Número | Prenda | Época | Fecha de compra | Medidas | Caja | Mostrado | Observaciones",
        "Numero | Oggetto | Datazione | Data d'acquisto | Misure | Scatola | Già mostrato | Osservazioni",
        "Inventarisnummer | Naam | Datering | Aankoopdatum | Maten | Doos | Getoond | Opmerkingen",
    ],
)
def test_headings_in_other_languages(headings):
    found = recognise([name.strip() for name in headings.split("|")], Kind.PIECES)
    fields = ["id", "name", "made", "acquired", "measurements", "box", "shown", "notes"]
    assert [column.field for column in found] == fields


def test_a_long_heading_is_known_by_its_key_words_and_a_plain_one_goes_before():
    names = ["What is it made of, do you know?", "When was it made?", "Which box is it kept in?", "Box", "Made it"]
    found = recognise(names, Kind.PIECES)
    assert [column.field for column in found] == ["materials", "made", "", "box", ""]
    assert found[0].how is How.KEY_WORDS


def test_a_part_of_a_heading_is_enough_to_explain_it():
    names = ["Where it came from (shop)", "Where it is now", "Name"]
    found = recognise(names, Kind.PIECES, asked={"is now": "box"})
    assert found[1] == Column("Where it is now", "box", How.ASKED)
    with pytest.raises(BadInput, match="in the names of several columns"):
        recognise(names, Kind.PIECES, asked={"where it": "box"})
    with pytest.raises(BadInput, match="explained twice"):
        recognise(names, Kind.PIECES, asked={"is now": "box", "Where it is now": "notes"})
