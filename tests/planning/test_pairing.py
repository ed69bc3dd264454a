"""What is alike and what differs about two pieces, and which pairs are worth a look."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from planning.books import demo

from showrunner.domain import edits
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.piece import Feature, Known, Measurement, Piece, Presence
from showrunner.planning.pairing import Aspect, Compared, Pairing, compare, pairings
from showrunner.report import pairing_words


def years(first: int | None, last: int | None) -> FuzzyDate:
    return FuzzyDate(
        "x", date(first, 1, 1) if first else None, date(last, 12, 31) if last else None, f"{first} to {last}"
    )


def piece(id: str, **more: object) -> Piece:
    return Piece(id, f"Piece {id}", "dress", **more)  # type: ignore[arg-type]


def told(one: Piece, other: Piece) -> list[str]:
    pair = Pairing((one.id, other.id), (one.name, other.name), (one.id, other.id), compare(one, other))
    return pairing_words(pair)


def test_measures_of_both_are_told_with_what_lies_between() -> None:
    one = piece(
        "1", measurements=(Measurement("back length", Decimal("54.0"), "cm"), Measurement("sweep", Decimal(9), "cm"))
    )
    other = piece("2", measurements=(Measurement("Back  length", Decimal("49.5"), "cm"),))
    assert told(one, other) == [
        "Alike: nothing that is recorded of both.",
        "Differs: back length 54.0 and 49.5, 4.5 cm apart.",
    ]
    assert told(one, one)[0] == "Alike: back length 54.0 and 54.0, the same; sweep 9 and 9, the same."


def test_a_length_is_not_compared_with_a_weight() -> None:
    cm = piece("1", measurements=(Measurement("train", Decimal(2), "cm"),))
    kg = piece("2", measurements=(Measurement("train", Decimal(2), "kg"),))
    assert compare(cm, kg) == ()


@pytest.mark.parametrize(
    ("one", "other", "overlap"),
    [
        ((1900, 1909), (1909, 1912), True),
        ((1900, 1909), (1910, 1912), False),
        ((None, 1915), (1910, None), True),
        ((None, 1915), (1916, None), False),
        ((1900, None), (1950, None), True),
        ((1910, 1912), (1900, 1920), True),
    ],
)
def test_dates_overlap_if_one_day_may_be_of_both(
    one: tuple[int | None, int | None], other: tuple[int | None, int | None], overlap: bool
) -> None:
    pieces = piece("1", made=years(*one)), piece("2", made=years(*other))
    for first, second in (pieces, pieces[::-1]):
        (found,) = compare(first, second)
        assert (found.aspect, found.alike) == (Aspect.DATES, overlap)


def test_features_are_closings_ways_of_making_or_decoration() -> None:
    one = piece(
        "1",
        kind="jacket",
        materials=("navy melton",),
        features=(
            Feature("frog closures", "front"),
            Feature("quilted yoke", "shoulders"),
            Feature("scalloped edge", "hem"),
        ),
    )
    other = piece(
        "2",
        kind="Jacket",
        materials=("wool", "braid"),
        features=(
            Feature("hooks and eyes", "front", presence=Presence.ABSENT),
            Feature("pieced yoke", "back"),
            Feature("scalloped collar", "neck"),
        ),
    )
    assert compare(one, other) == (
        Compared(Aspect.KIND, True, "jacket", "Jacket"),
        Compared(Aspect.MATERIAL, False, "navy melton", "wool, braid"),
        Compared(Aspect.CLOSING, False, "frog closures", "hooks and eyes (absent)"),
        Compared(Aspect.CONSTRUCTION, True, "quilted yoke", "pieced yoke", shared=("yoke",)),
        Compared(Aspect.DECORATION, True, "scalloped edge", "scalloped collar", shared=("scalloped",)),
    )
    assert told(one, other) == [
        "Alike: kind (jacket); construction: yoke (quilted yoke / pieced yoke); decoration: scalloped (scalloped edge "
        "/ scalloped collar).",
        "Differs: material (navy melton / wool, braid); closing (frog closures / hooks and eyes (absent)).",
    ]


def test_two_absent_things_are_not_alike_for_being_absent() -> None:
    one, other = (
        piece(str(n), features=(Feature(what, presence=Presence.ABSENT),)) for n, what in enumerate(("ruff", "sash"))
    )
    assert [found.alike for found in compare(one, other)] == [False]


def test_what_is_recorded_of_one_only_is_not_compared() -> None:
    assert compare(piece("1", kind="jacket", made=years(1900, 1901)), piece("2", materials=("silk",))) == ()


def test_only_pieces_left_that_are_alone_are_paired() -> None:
    book = demo()
    found = pairings(book, book.series[0])
    ids = {id for pair in found for id in pair.pieces}
    assert ids == {"27", "28", "29", "32", "33", "34"}  # not the two waistcoats, which are one study already
    assert len(found) == 15
    assert found[0].names == ("Skating jacket", "Bathing costume")
    assert found[0].parts == ("skating-jacket", "bathing-costume")
    counts = [(len(pair.alike), len(pair.differs)) for pair in found]
    assert counts == sorted(counts, reverse=True)


def test_a_piece_that_was_shown_or_is_wanted_is_not_paired() -> None:
    book = edits.mark_shown(demo(), "27", Known.YES)
    ids = {id for pair in pairings(book, book.series[0]) for id in pair.pieces}
    assert "27" not in ids
    assert not any(p.want for p in book.pieces if p.id in ids)


def test_a_filmed_study_is_not_paired() -> None:
    book = demo()
    from datetime import UTC, datetime

    filmed = edits.begin_shoot(book, ["apron"], datetime(2026, 3, 2, tzinfo=UTC))[0]
    ids = {id for pair in pairings(filmed, book.series[0]) for id in pair.pieces}
    assert "29" not in ids


def test_nothing_left_gives_no_pair() -> None:
    book = demo()
    shown = [replace(piece, shown=replace(piece.shown, known=Known.YES)) for piece in book.pieces]
    book = book.put("pieces", *shown).with_table("episodes", ())
    assert pairings(book, book.series[0]) == ()
