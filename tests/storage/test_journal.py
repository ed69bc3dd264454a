"""The undo steps in the file: what one is, and which are kept."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import Any

import pytest
from tinydb.table import Document

from showrunner.storage import journal
from showrunner.storage.journal import after_action, lasts, new_step, read_step
from showrunner.storage.records import BadRecord, Change

AT = datetime(2026, 3, 2, 1, 2, 3, tzinfo=UTC)


def step(**more: Any) -> dict[str, Any]:
    return {"label": "mark", "at": "2026-03-02T01:02:03Z", "changes": [["pieces", 1, None, {"id": "1"}]], **more}


def test_a_step_comes_back_as_it_was() -> None:
    made = new_step("mark", AT, [Change("pieces", 1, None, {"id": "1"}), Change("meta", 1, {"a": 1}, {"a": 2})])
    assert made["at"] == "2026-03-02T01:02:03Z"
    read = read_step(Document(json.loads(json.dumps(made)), 7))
    assert (read.number, read.label, read.undone) == (7, "mark", False)
    assert read.changes == (Change("pieces", 1, None, {"id": "1"}), Change("meta", 1, {"a": 1}, {"a": 2}))
    assert read_step(Document(step(undone=True), 7)).undone


GOOD = ["pieces", 1, None, {"id": "1"}]


@pytest.mark.parametrize(
    "odd",
    [
        {"label": 3},
        {"undone": "no"},
        {"changes": {}},
        {"changes": [GOOD, {}]},
        {"changes": [GOOD, ["pieces", 1, None]]},
        {"changes": [GOOD, ["journal", 1, None, {}]]},
        {"changes": [GOOD, [["pieces"], 1, None, {}]]},
        {"changes": [GOOD, ["pieces", 0, None, {}]]},
        {"changes": [GOOD, ["pieces", True, None, {}]]},
        {"changes": [GOOD, ["pieces", "1", None, {}]]},
        {"changes": [GOOD, ["pieces", 1, [], {}]]},
        {"changes": [GOOD, ["pieces", 1, None, []]]},
        {"changes": [GOOD, ["meta", 2, {}, {}]]},
        {"changes": [GOOD, ["meta", 1, None, {}]]},
        {"changes": [GOOD, ["meta", 1, {}, None]]},
    ],
    ids=lambda odd: ascii(odd)[:60],
)
def test_what_is_no_step_is_told_with_its_number(odd: dict[str, Any]) -> None:
    with pytest.raises(BadRecord, match=r"^journal, entry 7: it is no undo step$"):
        read_step(Document(step(**odd), 7))


def kept(steps: list[Document], new: dict[str, Any]) -> list[int]:
    """The numbers of the steps once a new one was added."""
    sizes = {str(s.doc_id): len(json.dumps(s, ensure_ascii=False)) for s in steps}
    changes = after_action(steps, sizes, new)
    left = {s.doc_id for s in steps if s.doc_id not in changes}
    return sorted(left | {number for number, document in changes.items() if document is not None})


def test_the_first_step_is_number_one_and_undone_ones_make_room() -> None:
    assert kept([], step()) == [1]
    done = [Document(step(), 4), Document(step(undone=True), 5), Document(step(undone=True), 6)]
    assert after_action(done, {"4": 9, "5": 9, "6": 9}, step()) == {6: None, 5: step()}


def test_two_hundred_are_kept() -> None:
    for count in (198, 199):
        assert kept([Document(step(), n) for n in range(1, count + 1)], step()) == list(range(1, count + 2))
    assert kept([Document(step(), n) for n in range(1, 201)], step()) == list(range(2, 202))
    assert kept([Document(step(), n) for n in range(5, 300)], step()) == list(range(101, 301))


def test_their_text_has_a_cap_but_the_newest_stays(monkeypatch: pytest.MonkeyPatch) -> None:
    """Counted in letters of the text as it stands in the file, a letter of any script as one."""
    size = len(json.dumps(step(label="é"), ensure_ascii=False))
    steps = [Document(step(label="é"), n) for n in (1, 2, 3)]
    monkeypatch.setattr(journal, "MOST_BYTES", 3 * size)
    assert kept(steps, step(label="é")) == [2, 3, 4]
    monkeypatch.setattr(journal, "MOST_BYTES", 3 * size - 1)
    assert kept(steps, step(label="é")) == [3, 4]
    monkeypatch.setattr(journal, "MOST_BYTES", size - 1)
    assert kept(steps, step(label="é")) == [4]


def test_a_step_lasts_if_another_could_stand_beside_it(monkeypatch: pytest.MonkeyPatch) -> None:
    size = len(json.dumps(step(label="é"), ensure_ascii=False))
    monkeypatch.setattr(journal, "MOST_BYTES", size)
    assert not lasts(step(label="é"))
    monkeypatch.setattr(journal, "MOST_BYTES", size + 1)
    assert lasts(step(label="é"))


def test_the_cap_is_128_kb() -> None:
    bare = len(json.dumps(step(label=""), ensure_ascii=False))
    assert lasts(step(label="x" * (128 * 1024 - 1 - bare)))
    assert not lasts(step(label="x" * (128 * 1024 - bare)))
