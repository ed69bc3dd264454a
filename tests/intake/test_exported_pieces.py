"""The sheet of pieces that an export wrote, brought in: it says all it holds, and nothing new to its own book."""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

import pytest
from effort import examples
from hypothesis import HealthCheck, given
from hypothesis import strategies as st
from workroom_books import WHOLE_BOOKS, small_book

from showrunner.demo_book import demo_path
from showrunner.domain.book import Book
from showrunner.domain.collection import Box, Collection, CollectionKind
from showrunner.domain.opening import Opens
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
    Shown,
    View,
)
from showrunner.intake.findings import Asked, Intake, Verdict
from showrunner.intake.pieces import bring_pieces
from showrunner.session import Session
from showrunner.storage.csv_tables import piece_row, to_csv_tables
from showrunner.storage.csv_text import read_sheet, write_sheet
from showrunner.storage.edtf_text import parse

SLOW = examples(100, suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow])
TODAY = date(2026, 3, 2)
IN_THE_SHEET = [field.name for field in fields(Piece) if field.name != "want"]
"""Every field of a piece but what stands in the table of wants."""


@pytest.fixture(scope="module")
def demo() -> Book:
    with Session.open(demo_path(), write=False) as session:
        return session.book


def sheet_of(book: Book, **changed: str) -> bytes:
    """The sheet of pieces of an export, with some cells of its first row changed."""
    columns, rows = to_csv_tables(book)["pieces.csv"]
    first = [changed.get(column.replace(" ", "_"), cell) for column, cell in zip(columns, rows[0], strict=True)]
    return write_sheet(columns, [first, *rows[1:]])


def brought(book: Book, data: bytes) -> Intake:
    return bring_pieces(book, read_sheet(data, "pieces.csv"), "pieces.csv", TODAY, Asked())


def only_collections(book: Book) -> Book:
    return Book("fresh", book.house, collections=book.collections)


def known(piece: Piece) -> dict[str, Any]:
    return {name: getattr(piece, name) for name in IN_THE_SHEET}


@pytest.mark.slow
@pytest.mark.parametrize("collections", [True, False])
def test_all_that_the_sheet_of_the_demo_holds_comes_back(demo: Book, collections: bool) -> None:
    intake = brought(only_collections(demo) if collections else Book("fresh", demo.house), sheet_of(demo))
    assert intake.refused == ()
    assert intake.doubtful == ()
    assert [known(piece) for piece in intake.after.pieces] == [known(piece) for piece in demo.pieces]
    assert {box.id for box in intake.after.boxes} == {piece.box for piece in demo.pieces if piece.box}


@pytest.mark.slow
def test_a_month_is_a_month_and_no_interval(demo: Book) -> None:
    blazer = brought(only_collections(demo), sheet_of(demo)).after.piece("03")
    assert blazer.acquired == parse("2003-11")
    assert blazer.acquired.words == "November 2003"


FULL = Piece(
    "7",
    "Bodice, boned",
    "dress",
    kind="bodice",
    made=parse("1868~"),
    acquired=parse("2003-11"),
    opens=Opens.BACK,
    materials=("silk, shot", "linen"),
    features=(
        Feature("hem [rolled]"),
        Feature("pocket; false", "wearer's left", View.INSIDE, 1, Presence.ABSENT, True),
        Feature("button altered, then missing", importance=3, presence=Presence.TRACE),
    ),
    points=("made over; twice", "worn, once", "yes"),
    claims=(
        Claim("fibre", "silk: tussah", Confidence.SURE, superseded=True),
        Claim("fibre", "silk", Confidence.SURE, "burn test, by eye", date(2026, 2, 1), True),
        Claim("fibre", "silk", Confidence.SURE, "burn test [two], superseded", date(2026, 2, 2)),
        Claim(
            "origin",
            "Leeds?",
            Confidence.POSSIBLE,
            "",
            None,
            True,
            "apron",
            datetime(2026, 2, 2, 9, 30, 1, tzinfo=UTC),
        ),
    ),
    condition=(
        Condition(date(2026, 2, 1), "hem", "worn: a tear, 2 cm"),
        Condition(date(2026, 2, 9), "wearer's left cuff", "frayed\nand soiled", "s1", True),
        Condition(date(2026, 2, 9), "cuff", "as before", "s1"),
    ),
    handling=Handling(True, True, True, 2, True, 20, "net; no pins"),
    hazards=("arsenic-suspect", "pins, rusty"),
    measurements=(
        Measurement("chest", Decimal("86.50"), "cm"),
        Measurement("width 10 cm above the hem", Decimal(40), "cm"),
        Measurement("weight", Decimal("0.1"), "kg", "3 1/2 oz"),
    ),
    box="Box A, layer 2",
    layer=3,
    shown=Shown(Known.UNSURE, 30, "a memory; perhaps", parse("2024-08?")),
    notes="torn\nand mended",
    light="high",
    exposures=(
        Exposure(date(2026, 2, 1), 500),
        Exposure(date(2026, 2, 9), 200, 3, "a talk, long", "s1"),
        Exposure(date(2026, 2, 9), 20, 1, shoot="s2"),
    ),
    acquired_before=("1",),
    acquired_after=("2", "3"),
    photographs=("a, b.jpg", "photos/7.jpg"),
)


def test_a_piece_with_everything_comes_back() -> None:
    book = small_book()
    others = [replace(piece, shown=Shown()) for piece in book.pieces if piece.collection == "dress" and piece.id != "7"]
    book = replace(book, pieces=(FULL, *others), boxes=(Box("Box A, layer 2"), Box("A")))
    intake = brought(only_collections(book), sheet_of(book))
    assert intake.refused == ()
    assert known(intake.after.piece("7")) == known(FULL)
    bare = known(Piece("x", "x", "x"))
    assert [name for name, value in known(FULL).items() if value == bare[name]] == []


WORDS = st.text("abcxyzäé ',;-().?012", min_size=1, max_size=12).map(lambda text: f"w{' '.join(text.split())}")
DAYS = st.dates(date(1990, 1, 1), TODAY)
DATES = st.sampled_from(["1868~", "189X", "1880/1890", "2003-11", "[1905..1911]", "1908?", "2024-02-04"]).map(parse)
PIECES = st.builds(
    Piece,
    st.just("7"),
    WORDS,
    st.just("dress"),
    kind=WORDS,
    made=st.none() | DATES,
    acquired=st.none() | DATES,
    features=st.lists(
        st.builds(
            Feature,
            WORDS,
            WORDS | st.just(""),
            st.sampled_from(View),
            st.integers(1, 3),
            st.sampled_from(Presence),
            st.booleans(),
        ),
        max_size=3,
    ).map(tuple),
    points=st.lists(WORDS, max_size=3).map(tuple),
    claims=st.lists(
        st.builds(
            Claim,
            WORDS,
            WORDS,
            st.sampled_from(Confidence),
            WORDS | st.just(""),
            st.none() | DAYS,
            st.booleans(),
            WORDS | st.just(""),
        ),
        max_size=3,
    ).map(tuple),
    condition=st.lists(st.builds(Condition, DAYS, WORDS, WORDS), unique=True, max_size=3).map(tuple),
    measurements=st.lists(
        st.builds(
            Measurement,
            WORDS,
            st.integers(1, 9999).map(lambda mm: Decimal(mm) / 10),
            st.sampled_from(["cm", "kg"]),
            WORDS | st.just(""),
        ),
        max_size=3,
    ).map(tuple),
    handling=st.builds(
        Handling,
        st.booleans(),
        st.booleans(),
        st.booleans(),
        st.integers(1, 9),
        st.booleans(),
        st.none() | st.integers(0, 90),
        WORDS | st.just(""),
    ),
    layer=st.none() | st.integers(1, 9),
    notes=WORDS | st.just(""),
    exposures=st.lists(
        st.builds(Exposure, DAYS, st.integers(0, 9999), st.integers(0, 20), WORDS | st.just("")),
        unique=True,
        max_size=2,
    ).map(tuple),
    shown=st.builds(Shown, st.just(Known.UNSURE), st.integers(1, 99), WORDS, st.none() | DATES)
    | st.builds(Shown, st.just(Known.YES), st.just(50), WORDS, st.none() | DATES)
    | st.just(Shown()),
)


@SLOW
@given(PIECES)
def test_any_piece_comes_back(piece: Piece) -> None:
    book = Book("b", collections=(Collection("dress", "Dress"),), pieces=(piece,))
    intake = brought(only_collections(book), sheet_of(book))
    assert intake.refused == ()
    assert intake.after.pieces == (piece,)


# Into the book it came from


def test_the_demo_learns_nothing_from_its_own_sheet(demo: Book) -> None:
    intake = brought(demo, sheet_of(demo))
    assert intake.after is demo
    assert intake.refused == intake.doubtful == intake.notes == ()
    assert {row.verdict for row in intake.rows} == {Verdict.UNCHANGED}


@SLOW
@given(WHOLE_BOOKS.filter(lambda book: "\0" not in repr(book.pieces) and r"\x00" not in repr(book.pieces)))
def test_no_book_learns_anything_from_its_own_sheet(book: Book) -> None:
    # Numbers are the owner's own; spaces around one are nothing that a sheet keeps.
    book = replace(book, pieces=(*book.pieces[:-1], replace(book.pieces[-1], id="fresh")))
    intake = brought(book, sheet_of(book))
    assert intake.refused == ()
    assert intake.after is book


def test_a_changed_cell_changes_its_field_and_no_other() -> None:
    book = replace(small_book(), pieces=(replace(FULL, box="A", acquired_before=(), acquired_after=()),))
    book = replace(book, episodes=(), publications=())
    old = book.pieces[0]
    changes = {
        "name": "Bodice, unboned",
        "materials": "silk; wool",
        "made": "1870",
        "notes": "mended",
        "condition": f"{piece_row(old)['condition']} | 2026-03-01 hem: sound",
    }
    for column, cell in changes.items():
        new = brought(book, sheet_of(book, **{column: cell})).after.pieces[0]
        assert [name for name in IN_THE_SHEET if getattr(new, name) != getattr(old, name)] == [column]
    new = brought(book, sheet_of(book, shown="yes")).after.pieces[0]
    assert (new.shown.known, new.shown.evidence) == (Known.YES, "a memory; perhaps")


@pytest.mark.parametrize(
    ("column", "cell"),
    [
        ("claims", "fibre: silk [sure, judged 2026-02-31]"),
        ("claims", "fibre: silk [sure, found 2026-02-31T10:00:00Z]"),
        ("exposures", "2026-02-31: 500 lux hours, touches 1"),
        ("exposures", "much light"),
    ],
)
def test_what_is_no_day_is_refused_in_words(column: str, cell: str) -> None:
    intake = brought(small_book(), sheet_of(small_book(), **{column: cell}))
    (fault,) = intake.refused
    assert fault.startswith(f"Line 2, {column} '")
    assert "write it like 2026-" in fault


def test_wants_come_with_a_shopping_collection(demo: Book) -> None:
    shopping = [c.id for c in demo.collections if c.kind is CollectionKind.SHOPPING]
    after = brought(only_collections(demo), sheet_of(demo)).after
    assert all((piece.want is not None) == (piece.collection in shopping) for piece in after.pieces)


def test_an_export_of_before_the_sides_of_a_form_were_named_is_read(demo: Book) -> None:
    cell = "pocket @ wearer's right hip [form side, must] | buttons [form side, should, absent]"
    changed = brought(demo, sheet_of(demo, features=cell)).after.pieces[0].features
    assert [(one.what, one.view) for one in changed] == [("pocket", View.FORM_RIGHT), ("buttons", View.FORM_LEFT)]


def test_an_empty_cell_of_an_export_is_empty_and_not_the_one_above() -> None:
    pieces = [Piece(f"{n}", f"Piece {n}", "c", box=box) for n, box in enumerate(("A", "", "B", "", ""), 1)]
    book = Book("k", collections=(Collection("c", "C"),), boxes=(Box("A"), Box("B")), pieces=tuple(pieces))
    found = brought(only_collections(book), sheet_of(book))
    assert found.questions == ()
    assert [piece.box for piece in found.after.pieces] == ["A", "", "B", "", ""]
