"""Text that no book may hold is found wherever it stands, and replaced."""

from __future__ import annotations

import pytest

from showrunner.storage.odd_text import is_odd, odd_fields, without_odd


@pytest.mark.parametrize("sign", ["\0", "\ud800", "\udbff", "\udc00", "\udfff"])
def test_half_a_character_and_zero_are_odd(sign: str) -> None:
    """Surrogates are D800 to DFFF (The Unicode Standard, 3.8)."""
    assert is_odd(f"a{sign}b")
    assert without_odd(f"a{sign}b") == "a\ufffdb"


@pytest.mark.parametrize("text", ["", "a\tb\n", "\x01", "\ud7ff\ue000", "\U0001f469", "\ufffd"])
def test_all_else_is_not(text: str) -> None:
    assert not is_odd(text)
    assert list(odd_fields(text)) == []
    assert without_odd(text) == text


VALUE = {"a": "x", "b": ["y\0", {"c": ["fine", "\ud800"], "d": 3}], "e\0": True, "f": None, "g": "\0"}


def test_each_place_is_named() -> None:
    """Entries of a list are counted from 1."""
    assert list(odd_fields(VALUE)) == ["b.1", "b.2.c.2", "the name of a field", "g"]
    assert list(odd_fields("\0")) == [""]
    assert list(odd_fields([3, None, 1.5])) == []


def test_each_is_replaced_and_nothing_else() -> None:
    kept = {"a": "x", "b": ["y\ufffd", {"c": ["fine", "\ufffd"], "d": 3}], "e\ufffd": True, "f": None, "g": "\ufffd"}
    assert without_odd(VALUE) == kept
