"""The text of a book file, and the shape it must have."""

from __future__ import annotations

import json
from typing import Any

import pytest

from showrunner.errors import BadInput
from showrunner.storage.book_text import META, TABLE_ORDER, Lines, Unreadable, dump, load, schema_of, to_utf8


def whole(**tables: Any) -> bytes:
    return json.dumps({META: {"1": {"schema": 3}}, **tables}).encode()


def test_one_document_a_line_in_the_order_of_the_numbers() -> None:
    tree: Any = {META: {"1": {"schema": 3}}, "pieces": {"10": {"id": "b"}, "2": {"id": "ä"}}}
    text = b"".join(dump(tree, Lines())).decode()
    assert json.loads(text) == {**{name: {} for name in TABLE_ORDER}, **tree}
    assert '"pieces":{\n"10":{"id":"b"},\n"2":{"id":"ä"}\n}' in text or '"2":{"id":"ä"},\n"10":{"id":"b"}\n' in text
    assert text.startswith('{\n"meta":{\n"1":{"schema":3}\n},\n')
    assert text.endswith("}\n")


def test_lines_are_made_again_only_for_other_documents(monkeypatch: pytest.MonkeyPatch) -> None:
    lines = Lines()
    made: list[Any] = []
    encode = lines._encode
    monkeypatch.setattr(lines, "_encode", lambda document: made.append(document["id"]) or encode(document))
    first = {"1": {"id": "a"}, "2": {"id": "b"}}
    assert lines.of("pieces", first) == b'"1":{"id":"a"},\n"2":{"id":"b"}'
    assert lines.of("pieces", first) == b'"1":{"id":"a"},\n"2":{"id":"b"}'
    second = {"1": first["1"], "2": {"id": "c\u00e9"}, "11": {"id": "d"}}
    assert lines.of("pieces", second) == '"1":{"id":"a"},\n"2":{"id":"c\u00e9"},\n"11":{"id":"d"}'.encode()
    assert made == ["a", "b", "c\u00e9", "d"]
    assert lines.sizes("pieces", second) == {"1": 10, "2": 11, "11": 10}
    assert lines.of("pieces", {"11": second["11"]}) == b'"11":{"id":"d"}'
    assert lines.of("boxes", {}) == b""


def test_text_near_what_cannot_be_written_is_told() -> None:
    with pytest.raises(BadInput) as error:
        to_utf8("abc" * 20 + "\ud800" + "xyz" * 20)
    near = "bc" + "abc" * 6 + "\ufffd" + "xyz" * 6 + "x"
    assert error.value.where == f"text near '{near}'"
    with pytest.raises(BadInput, match="text near 'ab\ufffdc'"):
        to_utf8("ab\ud800c")
    assert to_utf8("é") == b"\xc3\xa9"


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"", "the file is empty"),
        (b" \n", "the file is empty"),
        (b'{"a": "\xff"}', "the file is garbled (at its sign 8)"),
        (b'{"a":\n 1', "the file is broken (line 2, column 3)"),
        (b'{"a": NaN}', "the file holds what no book has"),
        (b"[" * 100_000, "the file holds what no book has"),
        (b'{"a": ' + b"9" * 5000 + b"}", "the file holds what no book has"),
        (b"[]", "the file is no book"),
        (b"{}", "the file is no book"),
        (b'{"meta": {"1": {}}}', "the file is no book"),
        (b'{"meta": {"1": {"schema": true}}}', "the file is no book"),
        (b'{"meta": {"2": {"schema": 3}}}', "the file is no book"),
        (whole(pieces=[]), "the file is no book"),
        (whole(pieces={"1": []}), "the file is no book"),
        (whole(pieces={"0": {}}), "the file is no book"),
        (whole(pieces={"01": {}}), "the file is no book"),
        (whole(pieces={"x": {}}), "the file is no book"),
        (whole(pieces={"\u0661": {}}), "the file is no book"),
        (whole(pieces={"1" * 16: {}}), "the file is no book"),
    ],
    ids=lambda value: ascii(value)[:20],
)
def test_what_is_no_book_is_told(data: bytes, told: str) -> None:
    with pytest.raises(Unreadable) as error:
        load(data)
    assert str(error.value) == told


def test_a_book_is_read() -> None:
    tree = load(whole(pieces={"1" * 15: {}}))
    assert (schema_of(tree), tree["pieces"]) == (3, {"1" * 15: {}})
