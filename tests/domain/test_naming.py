"""Which thing a person means: by its number, its name, or a part of it."""

from __future__ import annotations

from datetime import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showrunner.domain import naming
from showrunner.domain.book import Book
from showrunner.domain.collection import Box, Collection
from showrunner.domain.episode import Episode, EpisodeKind, Series
from showrunner.domain.house import Form, HouseRules
from showrunner.domain.naming import Answer, Sort, Thing
from showrunner.domain.piece import Piece, Want
from showrunner.domain.publication import Supporter
from showrunner.domain.slot import SlotRule
from showrunner.errors import UnknownThing


def piece(id: str, name: str) -> Piece:
    return Piece(id, name, "dress")


def study(id: str, title: str, *pieces: str, published: bool = False) -> Episode:
    return Episode(id, title, series="hour", pieces=pieces, published=published)


BOOK = Book(
    "key",
    HouseRules(forms=(Form("small form"), Form("large form"))),
    collections=(Collection("dress", "Historic dress"), Collection("blocks", "Crown & Brim")),
    boxes=(Box("A", "whites box"), Box("B", "work clothes box"), Box("C")),
    pieces=(
        piece("07", "Skating jacket"),
        piece("08", "Tea gown “Odile”"),
        piece("09", "Bed jacket"),
        piece("10", "Jacketed doll"),
        piece("11", "Châtelaine"),
        piece("12", "Sailor suit, child's"),
        piece("13", "Fan"),
        piece("14", "Fan"),
        Piece("b01", "Pudding", "blocks", want=Want()),
    ),
    rules=(
        SlotRule("wednesday", "making diary", 2, time(18, 30), "UTC"),
        SlotRule("s2", "long feature", 6, time(9), "UTC"),
    ),
    series=(Series("hour", "The Camphorwood Hour", "dress", ("s2",)),),
    episodes=(
        study("skates", "On ice", "07"),
        study("gown", "Odile must lie down", "08", published=True),
        study("again", "Odile, once more", "08"),
        Episode("diary-9", "Thimble 164: hooks", EpisodeKind.FILLER, rule="wednesday"),
    ),
    supporters=(Supporter("noor", "Noor Pell"),),
)


def refusal(sort: Sort, text: str, **options: object) -> str:
    with pytest.raises(UnknownThing) as caught:
        naming.named(BOOK, sort, text, **options)  # type: ignore[arg-type]
    return caught.value.sentence()


@pytest.mark.parametrize(
    ("sort", "text", "id"),
    [
        (Sort.PIECE, "07", "07"),
        (Sort.PIECE, "7", "07"),
        (Sort.PIECE, "#7", "07"),
        (Sort.PIECE, " 007 ", "07"),
        (Sort.PIECE, "B1", "b01"),
        (Sort.PIECE, "bed  JACKET", "09"),
        (Sort.PIECE, "skating", "07"),
        (Sort.PIECE, "skat", "07"),
        (Sort.PIECE, "jacket skating", "07"),
        (Sort.PIECE, "odile", "08"),
        (Sort.PIECE, 'tea gown "odile"', "08"),
        (Sort.PIECE, "chatelaine", "11"),
        (Sort.PIECE, "CHATELAI\u0302NE"[:8], "11"),
        (Sort.PIECE, "sailor suit childs", "12"),
        (Sort.PIECE, "jacketed", "10"),
        (Sort.PIECE, "doll jack", "10"),
        (Sort.WANT, "pud", "b01"),
        (Sort.STUDY, "skates", "skates"),
        (Sort.STUDY, "on ice", "skates"),
        (Sort.STUDY, "7", "skates"),
        (Sort.STUDY, "skating jacket", "skates"),
        (Sort.STUDY, "jacket", "skates"),
        (Sort.STUDY, "odile", "again"),
        (Sort.STUDY, "lie", "gown"),
        (Sort.STUDY, "gown", "gown"),
        (Sort.EPISODE, "hooks", "diary-9"),
        (Sort.SERIES, "camphor", "hour"),
        (Sort.SLOT, "Sunday", "s2"),
        (Sort.SLOT, "sun", "s2"),
        (Sort.SLOT, "diary", "wednesday"),
        (Sort.COLLECTION, "crown and brim", "blocks"),
        (Sort.COLLECTION, "historic", "dress"),
        (Sort.BOX, "a", "A"),
        (Sort.BOX, "whites", "A"),
        (Sort.BOX, "c", "C"),
        (Sort.FORM, "large", "large form"),
        (Sort.SUPPORTER, "pell", "noor"),
    ],
)
def test_a_number_a_name_or_a_part_is_enough(sort: Sort, text: str, id: str) -> None:
    assert naming.named(BOOK, sort, text) == id


def test_the_firmer_way_decides() -> None:
    """A number beats a name, a name beats one written a little otherwise, and that beats a part."""

    def found(text: str, *pairs: tuple[str, str]) -> str:
        return naming.which(text, [Thing(Sort.PIECE, id, name) for id, name in pairs], noun="piece").id

    assert found("fan", ("1", "fan"), ("fan", "Hat")) == "fan"
    assert found("Fan!", ("1", "fan"), ("2", "Fan!")) == "2"
    assert found("fan", ("1", "Fan, white"), ("2", "Fan")) == "2"
    assert found("fan", ("1", "Fancy hat"), ("2", "A fan of silk")) == "2"
    assert found("12", ("12", "Hat"), ("112", "Cap"), ("012", "Coat")) == "12"
    assert found("1 2", ("1", "Hat 2"), ("2", "Coat 12")) == "1"
    assert found("???", ("1", "???"), ("2", "Hat")) == "1"


def test_a_name_of_its_own_beats_what_a_study_shows() -> None:
    things = [Thing(Sort.STUDY, "a", "Robe", ("01", "Fan")), Thing(Sort.STUDY, "b", "Fan", ("02", "Robe"))]
    assert naming.which("fan", things, noun="study").id == "b"
    assert naming.which("robe", things, noun="study").id == "a"
    assert naming.which("2", things, noun="study").id == "b"


def test_the_likely_come_first_but_only_in_one_way_of_fitting() -> None:
    assert naming.named(BOOK, Sort.PIECE, "jacket", likely={"09"}) == "09"
    assert naming.named(BOOK, Sort.PIECE, "jacketed", likely={"07", "09"}) == "10"
    assert naming.named(BOOK, Sort.PIECE, "07", likely={"09"}) == "07"
    assert naming.split(BOOK, Sort.STUDY)[1] == (
        Thing(Sort.STUDY, "gown", "Odile must lie down", ("08", "Tea gown “Odile”")),
    )
    assert not naming.split(BOOK, Sort.PIECE)[1]


def test_what_fits_several_is_never_guessed() -> None:
    assert refusal(Sort.PIECE, "jacket") == (
        "'jacket' fits 2 pieces: Skating jacket (07) and Bed jacket (09); "
        "write more of the name, or what stands in brackets."
    )
    assert refusal(Sort.PIECE, "fan") == ("'fan' fits 2 pieces: Fan (13) and Fan (14); write what stands in brackets.")
    assert refusal(Sort.SLOT, "ng") == "'ng' fits 2 slots: making diary and long feature; write more of the name."
    assert refusal(Sort.STUDY, "od", likely=()) == (
        "'od' fits 2 studies: “Odile must lie down” and “Odile, once more”; write more of the name."
    )
    things = [Thing(Sort.STUDY, f"s{n}", "Fan") for n in range(12)]
    with pytest.raises(UnknownThing) as caught:
        naming.which("fan", things, noun="study")
    assert caught.value.sentence() == (
        "'fan' fits 12 studies: “Fan” (s0), “Fan” (s1), “Fan” (s2), “Fan” (s3) and 8 more; "
        "write what stands in brackets."
    )


def test_what_fits_nothing_is_told_with_the_nearest() -> None:
    assert (
        refusal(Sort.PIECE, "skating jaket") == "there is no piece 'skating jaket'; the nearest is Skating jacket (07)."
    )
    assert refusal(Sort.PIECE, "chatelane") == "there is no piece 'chatelane'; the nearest is Châtelaine (11)."
    assert refusal(Sort.PIECE, "jackt") == (
        "there is no piece 'jackt'; the nearest is Skating jacket (07) or Bed jacket (09)."
    )
    assert refusal(Sort.SLOT, "Tuesday") == "there is no slot 'Tuesday'; choose one of making diary and long feature."
    assert refusal(Sort.SERIES, "x") == "there is no series 'x'; there is only The Camphorwood Hour."
    assert refusal(Sort.BOX, "  ") == "no box is named; choose one of whites box (A), work clothes box (B) and C."
    assert refusal(Sort.STUDY, "zz") == "there is no study 'zz'; choose one of “On ice” and “Odile, once more”."
    with pytest.raises(UnknownThing) as caught:
        naming.named(Book("k"), Sort.WANT, "hat")
    assert caught.value.sentence() == "there is no want 'hat'; the book has none yet."


def test_a_number_is_never_a_part() -> None:
    assert refusal(Sort.PIECE, "1").startswith("there is no piece '1'; ")
    assert naming.named(BOOK, Sort.EPISODE, "164") == "diary-9"


def test_many_are_named_each_once_or_as_one_name() -> None:
    def ids(*texts: str) -> tuple[str, ...]:
        return naming.named_each(BOOK, Sort.STUDY, texts)

    assert ids("skates", "again") == ("skates", "again")
    assert ids("skating", "jacket") == ("skates",)
    assert ids("ice", "more") == ("skates", "again")
    assert ids("7", "skates", "on ice") == ("skates",)
    with pytest.raises(UnknownThing, match="no study 'zz'"):
        ids("ice", "zz")
    book = BOOK.put("episodes", study("both", "Skates again"))
    assert naming.named_each(book, Sort.STUDY, ["skates", "again"]) == ("skates", "again")
    assert naming.named_each(book, Sort.STUDY, ["again", "skat"]) == ("both",)


def test_a_list_takes_a_name_with_commas_whole() -> None:
    there = naming.things(BOOK, Sort.PIECE)

    def ids(text: str) -> tuple[str, ...]:
        return tuple(thing.id for thing in naming.listed(there, text, noun="piece"))

    assert ids("") == ids(" ,; ") == ()
    assert ids("8, Sailor suit, child's; skating") == ("08", "12", "07")
    assert ids("sailor, 7, 07") == ("12", "07")
    assert ids("sailor suit, childs") == ("12",)
    assert ids("gown, tea") == ("08",)
    with pytest.raises(UnknownThing, match="fits 2 pieces"):
        ids("8, jacket, 12")
    twice = (*there, Thing(Sort.PIECE, "15", "Sailor suit, child's"))
    with pytest.raises(UnknownThing, match=r"child's \(12\) and Sailor suit, child's \(15\)"):
        naming.listed(twice, "sailor suit, child's", noun="piece")


def test_names_in_any_writing_and_with_any_sign() -> None:
    things = [
        Thing(Sort.PIECE, "1", "着物の帯"),
        Thing(Sort.PIECE, "2", "स्कर्ट"),
        Thing(Sort.PIECE, "3", "Straße"),
        Thing(Sort.PIECE, "4", "a\nb\x1b[31m 'c\" d:e"),
        Thing(Sort.PIECE, "5", "skat\u00ading"),
        Thing(Sort.PIECE, "6", "Ｆｕｌｌ"),
    ]
    for text, id in [
        ("帯", "1"),
        ("स्कर्ट", "2"),
        ("STRASSE", "3"),
        ("d:e", "4"),
        ("a b", "4"),
        ("skating", "5"),
        ("full", "6"),
    ]:
        assert naming.which(text, things, noun="piece").id == id
    assert naming.label(things[3]) == "a b [31m 'c\" d:e (4)"
    assert naming.which(naming.cleaned(things[3].name), things, noun="piece").id == "4"
    assert naming.label(Thing(Sort.BOX, "C", "")) == "C"


@given(st.text(max_size=400), st.text(min_size=1, max_size=400).filter(str.strip), st.text(min_size=1, max_size=40))
def test_any_text_is_answered_and_a_name_names_itself(text: str, name: str, id: str) -> None:
    things = [Thing(Sort.STUDY, id, name), Thing(Sort.STUDY, "id of the other", "its name")]
    answer = naming.meant(text, things)
    assert not (answer.found and answer.several)
    if answer == Answer():
        with pytest.raises(UnknownThing) as caught:
            naming.which(text, things, noun="study")
        assert len(caught.value.sentence()) < 300
    assert naming.meant(id, things[:1]).found == things[0] or not naming.cleaned(id)
    assert naming.meant(name, things[:1]).found == things[0] or not naming.cleaned(name)
