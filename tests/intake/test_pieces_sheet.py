"""A sheet of pieces compared with the book."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from effort import examples
from hypothesis import given
from hypothesis import strategies as st
from sheets import DEMO, TODAY, bring, rows, verdicts
from workroom_books import NOON, small_book

from showrunner.domain import acquisition
from showrunner.domain.book import Book
from showrunner.domain.collection import CollectionKind
from showrunner.domain.consistency import problems
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.piece import Confidence, Known, Shown, WantStatus
from showrunner.errors import BadInput
from showrunner.ical.export import export_calendar
from showrunner.intake.columns import Kind
from showrunner.intake.findings import Question, Verdict
from showrunner.planning.workback import work_back
from showrunner.storage.csv_text import MAX_COLUMNS

EMPTY = Book("k")
PIECES = (DEMO / "pieces.csv").read_bytes()


def test_the_demo_in_its_owners_wording_names_every_piece_and_every_doubt():
    found = bring(EMPTY, PIECES, name="pieces.csv")
    assert verdicts(found) == [47, 0, 0, 0]
    assert [row.doubt() for row in found.doubtful] == [
        "Line 8, Shown on 'Aug 2024': shown in August 2024, the day is not known (2024-08).",
        "Line 12, Shown on 'about Nov 2024': shown about November 2024, the day is not known (2024-11~).",
        "Line 28, Shown on 'doubtful': unsure, 50% that it is not shown.",
        "Line 29, Shown on 'doubtful': unsure, 50% that it is not shown.",
    ]
    counts = [sum(p.shown.known is known for p in found.after.pieces) for known in Known]
    assert counts == [39, 6, 2]
    stays = found.after.piece("06")
    assert stays.made is not None
    assert (stays.made.text, stays.made.written) == ("178X?", "")
    smock = found.after.piece("02")
    assert smock.made is not None
    assert (smock.made.text, smock.made.written, smock.box, smock.layer) == ("189X", "1890s", "B", 1)
    assert problems(found.after) == []


def test_the_same_sheet_again_changes_nothing():
    once = bring(EMPTY, PIECES)
    again = bring(once.after, PIECES, today=date(2026, 4, 1))
    assert verdicts(again) == [0, 0, 47, 0]
    assert not again.changes
    assert again.after is again.before


def test_one_bad_row_keeps_all_out_and_each_bad_row_is_one_sentence():
    said = [{"No": f"{n:04}", "Name": f"Sash {n}", "Made": "1900"} for n in range(1, 1001)]
    bad = range(5, 1000, 27)
    for number, at in enumerate(bad):
        said[at] = said[at] | ({"Made": "18xx-ish"} if number % 2 else {"No": "0001", "Made": "next week"})
    assert len(bad) == 37
    found = bring(EMPTY, rows(*said))
    assert verdicts(found) == [963, 0, 0, 37]
    assert len(found.refused) == 37
    assert all(sentence.startswith("Line ") and sentence.endswith(".") for sentence in found.refused)
    assert found.refused[0] == (
        "Line 7, Made 'next week': this cannot be read as a date; write it as in 1868, about 1868, 1890s, "
        "1905 to 1911, before 1915, Aug 2024 or 2024-08-31."
    )
    assert found.after is found.before


def test_a_piece_is_known_by_its_number_or_else_by_its_name():
    book = small_book()
    found = bring(book, rows({"Name": "  BODICE ", "Kept in": "box Q"}, {"Name": "Sash"}), collection="dress")
    bodice, sash = found.rows
    assert (bodice.verdict, bodice.id, bodice.said) == (
        Verdict.CHANGED,
        "8",
        "name BODICE (was Bodice); box Q (was empty)",
    )
    assert (sash.verdict, sash.id) == (Verdict.NEW, "01")
    assert found.after.find("boxes", "Q") is not None


def test_a_new_piece_without_a_number_gets_none_that_stands_further_down():
    found = bring(EMPTY, rows({"No": "", "Name": "Sash"}, {"No": "01", "Name": "Cap"}))
    assert found.refused == ()
    assert [(row.id, row.name) for row in found.rows] == [("02", "Sash"), ("01", "Cap")]


def test_an_empty_cell_erases_nothing():
    book = bring(EMPTY, rows({"No": "1", "Name": "Sash", "Made": "1900", "Box": "A", "Notes": "frail"})).after
    found = bring(book, rows({"No": "1", "Name": "Sash", "Made": "", "Box": "", "Notes": ""}))
    assert verdicts(found) == [0, 0, 1, 0]


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        (
            [{"No": "B1", "Name": "Sash"}],
            "Line 2, No 'B1': that is Pudding of Crown blocks, and not of Camphor chest; ",
        ),
        ([{"No": "x", "Name": "A"}, {"No": "x", "Name": "B"}], "Line 3, No 'x': line 2 is about x already; "),
        ([{"Name": "Cap"}, {"Name": "cap"}], "Line 2, Name 'Cap': more than one row without a number has this name; "),
        ([{"No": "08", "Name": "Bodice"}], "Line 2, No '08': the book calls it '8'; "),
        ([{"No": "99", "Name": ""}], "Line 2, No '99': a new piece needs a name; "),
        ([{"No": "", "Name": "", "Box": "A"}], "Line 2, it names no piece; "),
        ([{"No": "1", "Layer": "top"}], "Line 2, Layer 'top': this is no whole number; "),
        ([{"No": "1", "Shown": "31 Dec 2026"}], "Line 2, Shown '31 Dec 2026': 31 December 2026 is still to come "),
        ([{"No": "1", "Made": "../19x"}], "Line 2, Made '../19x': "),
        ([{"No": "1", "Made": "12/3/1950"}], "Line 2, Made '12/3/1950': "),
        ([{"No": "1", "Chest": "86"}], "Line 2, Chest '86': "),
        ([{"No": "1", "Light": "extreme"}], "Line 2, Light 'extreme': there is no such class of light; "),
        ([{"No": "1", "Collection": "Hats"}], "Line 2, Collection 'Hats': the book holds no such collection; "),
        ([{"No": "1", "Name": "half \x07"}], "Line 2, Name 'half �': it holds a sign that cannot be seen; retype it."),
    ],
)
def test_what_cannot_be_is_refused_in_one_sentence(said, sentence):
    collection = "dress" if "Collection" not in said[0] else ""
    found = bring(small_book(), rows(*said), kind=Kind.PIECES, collection=collection)
    assert found.refused[0].startswith(sentence)
    assert found.after is found.before


def test_a_row_wider_than_the_header_is_refused():
    found = bring(EMPTY, b"No,Name,Made\r\n1,Sash, silk,1900\r\n")
    assert found.refused[0].startswith("Line 2, Made ' silk'") or "beyond the last column" in found.refused[0]


def test_a_number_that_gets_quite_another_name_is_told():
    (row,) = bring(small_book(), rows({"No": "1", "Name": "Tea gown"}), collection="dress").rows
    assert row.doubts[0].text == "the book calls 1 Apron; is it the same piece?"
    (row,) = bring(small_book(), rows({"No": "1", "Name": "Orchard apron"}), collection="dress").rows
    assert not row.doubts


# Shown: never firmer and never vaguer than what is known


def test_an_empty_cell_about_showing_is_a_doubt_unless_told_otherwise():
    sheet = rows({"No": "1", "Name": "Sash", "Shown": ""}, {"No": "2", "Name": "Cap", "Shown": "yes"})
    unsure = bring(EMPTY, sheet)
    assert unsure.after.piece("1").shown.known is Known.UNSURE
    assert unsure.doubtful[0].doubt() == (
        "Line 2, Shown: nothing is said about showing, so unsure; 50% that it is not shown; "
        "write no if it has not been shown."
    )
    assert bring(EMPTY, sheet, blank=Known.NO).after.piece("1").shown == Shown()


def test_without_a_column_about_showing_pieces_are_unsure_and_it_is_told():
    found = bring(EMPTY, rows({"No": "1", "Name": "Sash"}))
    assert found.after.piece("1").shown == Shown(Known.UNSURE)
    assert any("1 new piece is unsure until episodes say so" in note for note in found.notes)
    said = bring(EMPTY, rows({"No": "1", "Name": "Sash"}), blank=Known.NO)
    assert said.after.piece("1").shown == Shown()
    assert any("1 new piece is taken as not shown" in note for note in said.notes)


def test_an_x_is_asked_once_and_a_clash_stays_unsure_with_both_sides():
    sheet = rows(
        {"No": "1", "Name": "Sash", "Shown": "x", "Shown on": ""},
        {"No": "2", "Name": "Cap", "Shown": "no", "Shown on": "Aug 2024"},
        {"No": "3", "Name": "Cape", "Shown": "yes", "Shown on": "maybe 2024"},
        {"No": "4", "Name": "Coat", "Shown": "yes", "Shown on": "2024"},
    )
    found = bring(EMPTY, sheet)
    assert found.questions == (Question.CROSS,)
    shown = {piece.id: piece.shown for piece in found.after.pieces}
    assert [(shown[id].known.value, shown[id].evidence) for id in "1234"] == [
        ("unsure", "listed as “x”"),
        ("unsure", "listed as “no” and “Aug 2024”"),
        ("unsure", "listed as “yes” and “maybe 2024”"),
        ("yes", "listed as “yes”"),
    ]
    assert "'Shown' says it is not shown, and this says when" in found.rows[1].doubt()
    answered = bring(EMPTY, sheet, cross=Known.YES)
    assert answered.questions == ()
    assert answered.after.piece("1").shown.known is Known.YES


def test_what_is_left_aside_refuses_no_row_and_nothing_known_is_left_empty():
    sheet = rows({"No": "1", "Name": "Sash", "Paid": "a song", "Layer": "don't know", "Length": "5'2"})
    found = bring(EMPTY, sheet)
    assert found.refused == ()
    piece = found.after.piece("1")
    assert (piece.layer, [str(measure.value) for measure in piece.measurements]) == (None, ["157.48"])
    assert "nothing is known, so it is left empty" in found.rows[0].doubt()


def test_a_number_that_comes_twice_offers_which_row_to_leave_out():
    sheet = rows({"No": "1", "Name": "Sash"}, {"No": "1", "Name": "Cap"})
    assert bring(EMPTY, sheet).refused == (
        "Line 3, No '1': line 2 is about 1 already; leave one out: --skip 2 or --skip 3.",
    )
    found = bring(EMPTY, sheet, left_out=frozenset({2}))
    assert [(row.line, row.verdict) for row in found.rows] == [(2, Verdict.LEFT_OUT), (3, Verdict.NEW)]
    assert found.after.piece("1").name == "Cap"


@pytest.mark.parametrize(
    ("old", "cell", "kept"),
    [
        (Shown(Known.YES, evidence="Bodice, 25 January 2026"), "maybe", True),
        (Shown(Known.YES, evidence="Bodice, 25 January 2026"), "no", True),
        (Shown(Known.NO, evidence="stocktake, 1 March 2026"), "maybe", True),
        (Shown(Known.NO, evidence="stocktake, 1 March 2026"), "yes", True),
        (Shown(Known.UNSURE, 40, "a memory"), "no", True),
        (Shown(Known.UNSURE, 40, "a memory"), "yes", False),
        (Shown(), "maybe", False),
        (Shown(), "yes", False),
        (Shown(Known.UNSURE), "no", False),
    ],
)
def test_what_is_settled_stays(old, cell, kept):
    book = small_book()
    book = book.put("pieces", replace(book.piece("1"), shown=old))
    found = bring(book, rows({"No": "1", "Shown": cell}), collection="dress")
    assert (found.after.piece("1").shown == old) is kept
    assert bool(found.doubtful) is (kept or cell == "maybe")


def test_a_vaguer_date_of_showing_does_not_replace_an_exact_one():
    exact = Shown(Known.YES, evidence="Bodice", when=FuzzyDate.exact(date(2024, 8, 4)))
    book = small_book()
    book = book.put("pieces", replace(book.piece("1"), shown=exact))
    assert not bring(book, rows({"No": "1", "Shown on": "Aug 2024"}), collection="dress").changes
    vague = bring(EMPTY, rows({"No": "1", "Name": "Cap", "Shown on": "Aug 2024"})).after
    found = bring(vague, rows({"No": "1", "Shown on": "4 Aug 2024"}))
    assert found.after.piece("1").shown.when == replace(FuzzyDate.exact(date(2024, 8, 4)), written="4 Aug 2024")


# The catalogue


def test_measures_are_read_with_their_units_and_keep_their_entry():
    sheet = rows({"No": "1", "Name": "Bodice", "Chest (in)": "21 1/4", "Waist": "61 cm", "Weight": "2 lb 3 oz"})
    found = {m.what: (m.value, m.unit, m.entered) for m in bring(EMPTY, sheet).after.piece("1").measurements}
    assert found == {
        "chest": (Decimal("53.98"), "cm", "21 1/4 in"),
        "waist": (Decimal("61"), "cm", "61 cm"),
        "weight": (Decimal("0.992"), "kg", "2 lb 3 oz"),
    }


def test_a_later_claim_supersedes_and_the_same_one_is_not_added_again():
    book = bring(EMPTY, rows({"No": "1", "Name": "Bodice", "Origin": "Leeds?"})).after
    assert not bring(book, rows({"No": "1", "Origin": "Leeds?"})).changes
    after = bring(book, rows({"No": "1", "Origin": "probably York"})).after
    assert [(c.value, c.confidence, c.superseded) for c in after.piece("1").claims] == [
        ("Leeds", Confidence.POSSIBLE, True),
        ("York", Confidence.PROBABLE, False),
    ]


def test_an_order_of_acquisition_bounds_dates():
    sheet = rows(
        {"No": "A", "Name": "Cape", "Bought before": "B", "Bought": ""},
        {"No": "B", "Name": "Shawl", "Bought before": "", "Bought": "by 2009"},
    )
    found = bring(EMPTY, sheet)
    assert found.after.piece("A").acquired_before == ("B",)
    assert acquisition.bounds(found.after)["A"].latest == date(2009, 12, 31)


def test_an_order_that_goes_round_or_against_dates_is_refused():
    circle = bring(
        EMPTY,
        rows({"No": "A", "Name": "Cape", "Bought before": "Shawl"}, {"No": "B", "Name": "Shawl", "Bought before": "A"}),
    )
    assert len(circle.refused) == 1
    assert "goes round in a circle: Cape came before Shawl and Shawl before Cape" in circle.refused[0]
    against = rows(
        {"No": "A", "Name": "Cape", "Bought": "2015", "Bought before": "B"},
        {"No": "B", "Name": "Shawl", "Bought": "2009", "Bought before": ""},
    )
    assert (
        "Cape is said to have come before Shawl, but it came no earlier than 2015" in bring(EMPTY, against).refused[0]
    )
    itself = bring(EMPTY, rows({"No": "A", "Name": "Cape", "Bought before": "cape"}))
    assert itself.refused == (
        "Line 2, Bought before 'cape': it cannot have come before or after itself; take it out of its own order.",
    )
    unknown = bring(EMPTY, rows({"No": "A", "Name": "Cape", "Bought before": "Z9"}))
    assert unknown.refused == ("Line 2, Bought before 'Z9': no piece is called 'Z9'; give the number of the piece.",)


@pytest.mark.parametrize(
    ("bought", "clashes"),
    [("Aug 2024 [shop label]", True), ("Aug 2024 (shop label)", True), ("[Aug 2024]", False), ("Aug 2024?", False)],
)
def test_an_order_clashes_with_a_date_that_has_a_remark_but_not_with_one_in_doubt(bought: str, clashes: bool) -> None:
    found = bring(
        EMPTY,
        rows(
            {"No": "A", "Name": "Cape", "Bought": bought, "Bought before": "B"},
            {"No": "B", "Name": "Shawl", "Bought": "2010", "Bought before": ""},
        ),
    )
    assert any("Cape is said to have come before Shawl" in refusal for refusal in found.refused) is clashes


def test_wants_are_for_a_shopping_collection_only():
    book = small_book()
    shopping = replace(book.collections[1], kind=CollectionKind.SHOPPING)
    book = book.put("collections", shopping)
    sheet = rows({"No": "B3", "Name": "Boater", "Status": "ordered", "Paid": "1,130.50", "Due": "June 2026?"})
    want = bring(book, sheet, collection="Crown blocks").after.piece("B3").want
    assert want is not None
    assert (want.status, want.paid) == (WantStatus.ORDERED, Decimal("1130.50"))
    assert want.expected is not None
    assert want.expected.text == "2026-06?"
    yen = book.put("collections", replace(shopping, currency="JPY"))
    assert bring(yen, sheet, collection="Crown blocks").refused == (
        "Line 2, JPY has no amounts below 1, and 1130.50 is finer; round it.",
    )
    aside = bring(book, rows({"No": "99", "Name": "Sash", "Paid": "12"}), collection="dress")
    assert aside.after.piece("99").want is None
    assert any("left aside" in note for note in aside.notes)


def test_what_was_said_of_columns_is_remembered_with_the_book():
    sheet = rows({"Ref": "1", "Wie": "Sash", "Wo": "A"})
    with pytest.raises(BadInput, match="no column gives the name"):
        bring(EMPTY, rows({"Wie": "Sash"}), kind=Kind.PIECES)
    first = bring(EMPTY, sheet, kind=Kind.PIECES, meanings={"Wie": "name", "Wo": "box"})
    again = bring(first.after, sheet, kind=Kind.PIECES)
    assert (again.after.piece("1").name, again.after.piece("1").box) == ("Sash", "A")
    assert verdicts(again) == [0, 0, 1, 0]


# What is hostile or broken


HOSTILE = (
    "[/]",
    "=1+1",
    "\nBEGIN:VEVENT\nEND:VCALENDAR",
    "[bold]x[/bold]",
    "+cmd|' /C calc'!A0",
    "a\u202eb",
    "%s{0}\\n",
)


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_names_come_in_literally_and_harmlessly(name):
    book = replace(small_book(), key="6b1f0c52-7a0e-4c1e-9d35-2f6a58c1b7e4")
    found = bring(book, rows({"No": "9", "Name": name, "Notes": name}), collection="dress")
    assert not found.refused
    held = found.after.piece("9")
    assert held.name == " ".join(name.split())
    study = replace(found.after.episodes[1], title=held.name, pieces=("9",))
    export = export_calendar(found.after.put("episodes", study), work_back(found.after, TODAY), NOON)
    assert export.data.count(b"\r\nBEGIN:VEVENT") == export.data.count(b"\r\nDTSTAMP:") > 0
    assert not bring(found.after, rows({"No": "9", "Name": name, "Notes": name}), collection="dress").changes


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (bytes(range(256)) * 20, "sheet.csv: this is not a text file, it holds what no text has; give a CSV file."),
        (b"\x89PNG\r\n\x1a\n", "sheet.csv: this is a picture; give a CSV file."),
        (b"", "sheet.csv: the file is empty; give one with a line of column names."),
        (
            ",".join(f"c{n}" for n in range(MAX_COLUMNS + 1)).encode() + b"\n",
            "sheet.csv: its 201 columns are more than the 200 that are read; take out those that are not needed.",
        ),
        (b"Red,Green\n1,2\n", "sheet.csv: its columns do not tell what it is about; say --as pieces or --as episodes."),
    ],
)
def test_what_is_no_sheet_is_refused_whole(data, sentence):
    with pytest.raises(BadInput) as caught:
        bring(EMPTY, data)
    assert caught.value.sentence() == sentence


def test_two_hundred_columns_are_read():
    columns = ["No", "Name", *(f"odd {n}" for n in range(198))]
    found = bring(EMPTY, (",".join(columns) + "\n1,Sash\n").encode())
    assert verdicts(found) == [1, 0, 0, 0]
    assert sum(not column.field for column in found.columns) == 198


CELL = st.text(st.characters(blacklist_categories=["Cs"], blacklist_characters="\x00"), max_size=25) | st.sampled_from(
    ["1868", "c. 1900", "yes", "maybe", "A", "01", "02", "silk; wool", "flat only", "Aug 2024", "chest 34 in", "2"]
)
ROW = st.fixed_dictionaries(
    {"No": CELL, "Name": CELL, "Made": CELL, "Shown": CELL, "Box": CELL, "Measurements": CELL, "Bought before": CELL}
)


@examples(60)
@given(st.lists(ROW, min_size=1, max_size=6))
def test_any_sheet_is_taken_whole_or_not_at_all_and_the_second_time_changes_nothing(said):
    try:
        found = bring(EMPTY, rows(*said), kind=Kind.PIECES)
    except BadInput:
        return
    if found.refused:
        assert found.after is found.before
        return
    assert problems(found.after) == []
    again = bring(found.after, rows(*said), kind=Kind.PIECES, today=date(2026, 5, 1))
    assert again.refused == ()
    assert not again.changes


def grouped(*boxes: str, **more: str) -> bytes:
    return rows(
        *({"No": f"{n}", "Name": f"Piece {n}", "Lives in": box, **more} for n, box in enumerate(boxes, 1)),
    )


def test_what_merged_cells_left_empty_is_asked_once_and_filled_only_when_said():
    sheet = grouped("box A, layer 2", "", "", "box B", "", "box A", "")
    found = bring(EMPTY, sheet)
    assert found.questions == (Question.GROUPS,)
    assert [piece.box for piece in found.after.pieces] == ["A", "", "", "B", "", "A", ""]
    assert "Many cells of 'Lives in' are empty below one that is not" in " ".join(found.notes)
    filled = bring(EMPTY, sheet, fill_down=True)
    assert filled.questions == ()
    assert [piece.box for piece in filled.after.pieces] == ["A", "A", "A", "B", "B", "A", "A"]
    assert [piece.layer for piece in filled.after.pieces] == [2, 2, 2, None, None, None, None]
    left = bring(EMPTY, sheet, fill_down=False)
    assert (left.questions, left.after) == ((), found.after)


@pytest.mark.parametrize(
    "boxes",
    [
        ("", "box A", "", "", "box B", ""),
        ("box A", "", "", "", "", ""),
        ("box A", "box A", "", "", "", ""),
        ("box A", "box B", "box A", ""),
    ],
)
def test_where_empty_cells_do_not_look_like_groups_nothing_is_asked_nor_filled(boxes):
    for said in (None, True):
        found = bring(EMPTY, grouped(*boxes), fill_down=said)
        assert found.questions == ()
        assert [piece.box for piece in found.after.pieces] == [box.removeprefix("box ") for box in boxes]


def test_a_date_is_never_taken_from_the_row_above():
    sheet = rows(
        *({"No": f"{n}", "Name": f"Piece {n}", "Made": made} for n, made in enumerate(("1890s", "", "1900", ""), 1)),
    )
    found = bring(EMPTY, sheet, fill_down=True)
    assert [piece.made and piece.made.text for piece in found.after.pieces] == ["189X", None, "1900", None]
    assert bring(EMPTY, sheet).questions == ()


def test_an_x_is_asked_once_and_not_row_by_row():
    sheet = rows(*({"No": f"{n}", "Name": f"Piece {n}", "Shown": shown} for n, shown in enumerate("xxx", 1)))
    found = bring(EMPTY, sheet)
    assert found.questions == (Question.CROSS,)
    assert found.doubtful == ()
    assert len([note for note in found.notes if "hold only an x" in note]) == 1
    assert {piece.shown.known for piece in found.after.pieces} == {Known.UNSURE}


def test_an_x_where_a_piece_must_lie_flat_is_yes_and_that_is_told_once():
    sheet = rows(*({"No": f"{n}", "Name": f"Piece {n}", "Flat only": said} for n, said in enumerate(("x", "", "X"), 1)))
    found = bring(EMPTY, sheet)
    assert [piece.handling.flat_only for piece in found.after.pieces] == [True, False, True]
    assert found.notes.count("An x in 'Flat only' is taken as yes.") == 1
    assert "taken as yes" not in " ".join(bring(EMPTY, rows({"No": "1", "Name": "A", "Flat only": "yes"})).notes)
