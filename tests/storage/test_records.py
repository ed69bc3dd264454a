"""Which documents of a table change: as few as can be, in book order."""

from __future__ import annotations

from typing import Any

import pytest
from tinydb.table import Document

from showrunner.domain.collection import Box
from showrunner.storage.codec import encode
from showrunner.storage.records import BadRecord, Change, read_rows, table_changes


def changes(numbers: dict[str, int], before: list[Any], after: list[Any]) -> list[Change]:
    documents = [Document(encode(row), numbers[row.id]) for row in before]
    return table_changes("boxes", documents, before, after)


A, B, C, D = (Box(id, name=id.upper()) for id in "abcd")
NUMBERS = {"a": 1, "b": 4, "c": 9}


def moves(found: list[Change]) -> list[tuple[int, str | None, str | None]]:
    return [(c.number, c.before and c.before["id"], c.after and c.after["id"]) for c in found]


def test_only_what_changed_is_written() -> None:
    other = Box("b", name="Other")
    assert changes(NUMBERS, [A, B, C], [A, B, C]) == []
    assert changes(NUMBERS, [A, B, C], [A, Box("b", name="B"), C]) == []
    assert changes(NUMBERS, [A, B, C], [A, other, C]) == [Change("boxes", 4, encode(B), encode(other))]


def test_what_is_added_comes_after_all_numbers_and_what_goes_leaves_a_gap() -> None:
    assert moves(changes(NUMBERS, [A, B, C], [A, B, C, D])) == [(10, None, "d")]
    assert moves(changes(NUMBERS, [A, B, C], [A, C])) == [(4, "b", None)]
    assert moves(changes(NUMBERS, [A, B, C], [A, C, D])) == [(4, "b", None), (10, None, "d")]
    assert moves(changes({}, [], [A, B])) == [(1, None, "a"), (2, None, "b")]
    equal = Box("a", name="A")
    assert moves(changes(NUMBERS, [A, B, C], [equal, C])) == [(4, "b", None)]


def test_what_cannot_keep_its_number_in_book_order_gives_all_new_ones() -> None:
    assert moves(changes(NUMBERS, [A, B, C], [B, A, C])) == [
        (1, "a", "b"),
        (2, None, "a"),
        (3, None, "c"),
        (4, "b", None),
        (9, "c", None),
    ]
    assert moves(changes(NUMBERS, [A, B, C], [A, C, B])) == [
        (2, None, "c"),
        (3, None, "b"),
        (4, "b", None),
        (9, "c", None),
    ]
    found = changes({"a": 1, "b": 2}, [A, B], [A, D, B])
    assert moves(found) == [(2, "b", "d"), (3, None, "b")]


def test_two_entries_with_one_id_are_no_table() -> None:
    documents = [Document(encode(A), 1), Document(encode(Box("a", name="Other")), 2)]
    with pytest.raises(BadRecord, match=r"^boxes, 'a': two entries are called so$"):
        read_rows("boxes", documents)
    with pytest.raises(BadRecord, match=r"^boxes, 'entry 7', id: it is missing$"):
        read_rows("boxes", [Document({}, 7)])
    assert read_rows("boxes", [documents[0]]) == (A,)
