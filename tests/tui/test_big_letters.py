"""Letters read from two metres: that each has a shape of its own, and that every line fits."""

from __future__ import annotations

import string

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showrunner.tui.big_letters import DRAWN, HIGH, ROWS, UNKNOWN, _letters, drawn

SIGNS = string.ascii_uppercase + string.digits + ".,:;-'\"()/+!?&%=…"


def test_every_letter_is_drawn_whole_and_none_looks_like_another() -> None:
    letters = _letters()
    assert set(letters) == set(SIGNS)
    assert len(letters) == len(DRAWN.strip().splitlines())
    for letter, dots in letters.items():
        assert len(dots) == HIGH, letter
        assert len({len(row) for row in dots}) == 1, letter
        assert set("".join(dots)) <= set("#."), letter
    assert len(set(letters.values())) == len(letters)
    assert UNKNOWN not in letters.values()


def test_letters_are_more_than_three_rows_high() -> None:
    rows = drawn("L", 20, 1).split("\n")
    assert rows == ["█", "█", "█", "▀▀▀▀▀"]
    assert len(rows) == ROWS


def test_small_letters_accents_and_quotes_are_drawn_as_capitals() -> None:
    assert drawn("Zoë’s “é”", 100, 1) == drawn('ZOE\'S "E"', 100, 1)
    assert drawn("Größe", 100, 1) == drawn("GROSSE", 100, 1)
    assert drawn("日", 20, 1).split("\n")[0] == "█▀▀█"


@given(st.text(max_size=80), st.integers(12, 130), st.integers(1, 5))
def test_whatever_is_drawn_fits_and_ends_in_an_ellipsis_if_cut(text: str, width: int, lines: int) -> None:
    rows = drawn(text, width, lines).split("\n") if drawn(text, width, lines) else []
    assert len(rows) % ROWS == 0
    assert len(rows) <= lines * ROWS
    assert all(len(row) <= width for row in rows)
    assert all(set(row) <= set("█▀▄ ") for row in rows)


@pytest.mark.parametrize("lines", [1, 2, 3])
def test_what_does_not_fit_is_cut_with_an_ellipsis(lines: int) -> None:
    rows = drawn("turn over the quilted waistcoat " * 3, 60, lines).split("\n")
    assert len(rows) == lines * ROWS
    assert rows[-1].endswith("▀ ▀ ▀")


def test_words_are_kept_whole_where_they_fit() -> None:
    assert drawn("lay out", 30, 3) == drawn("lay", 30, 1) + "\n" + drawn("out", 30, 1)
