"""Where the table of a file begins and ends."""

from __future__ import annotations

import pytest
from sheets import bring

from showrunner.domain.book import Book
from showrunner.errors import BadInput

EMPTY = Book("k")


def names(text: str, **asked) -> list[str]:
    return [piece.name for piece in bring(EMPTY, text.encode(), **asked).after.pieces]


TITLED = "All I have\n\nkept by hand;;\nNo;Name;Made\n1;Sash;1868\n2;Cap;1890s\n;;\n;Total;2\n* prices are guesses;;\n"


def test_headings_below_a_title_and_a_total_below_the_rows():
    found = bring(EMPTY, TITLED.encode())
    assert [piece.name for piece in found.after.pieces] == ["Sash", "Cap"]
    told = " ".join(found.notes)
    assert "The headings are taken from line 4" in told
    assert "Line 8 looks like a total" in told
    assert "Line 9 looks like a remark" in told


def test_the_owner_says_where_the_headings_are():
    twice = "No,Name,Made\nNo,Name,Made\n1,Sash,1868\n"
    assert names(twice, headings=2) == ["Sash"]
    with pytest.raises(BadInput, match="nothing stands on line 9"):
        names(twice, headings=9)


def test_the_first_row_is_kept_where_no_other_is_surely_better():
    assert names("Name,Box\nDate,A\nTitle,B\n") == ["Date", "Title"]


def test_a_piece_whose_name_begins_like_a_total_is_one():
    assert names("Name,Box\nSash,A\nTotal eclipse shawl,B\n") == ["Sash", "Total eclipse shawl"]


def test_a_row_of_sums_without_a_name_is_no_piece():
    found = bring(EMPTY, b"Name,Price\nSash,12.50\nCap,8\n,20.50\n")
    assert [piece.name for piece in found.after.pieces] == ["Sash", "Cap"]
    assert found.refused == ()


def test_one_column_with_commas_in_its_cells_stays_one_column():
    assert names("Name\nSash, blue\nCap, red\n", headings=1) == ["Sash, blue", "Cap, red"]
