"""Files as people leave them, made by general tools (`make_sheets.py`), against what a person would say is in them."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from sheets import bring
from workroom_books import small_book

from showrunner.domain.book import Book
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.piece import Known, Piece
from showrunner.intake.findings import Intake

FILES = Path(__file__).parent / "sheets"
NAMES = sorted(path.stem for path in FILES.glob("*.json"))
OF_EPISODES = ("episodes.xlsx", "feed.xml")


def _answers(said: dict[str, Any]) -> dict[str, Any]:
    """Answers as the reader takes them."""
    readers: dict[str, Any] = {
        "cross": Known,
        "blank": Known,
        "left_out": frozenset,
        "settled": lambda found: {int(place): tuple(ids) for place, ids in found.items()},
    }
    return {name: readers.get(name, lambda value: value)(value) for name, value in said.items()}


def _brought(name: str, **more: Any) -> Intake:
    wanted = json.loads((FILES / f"{name}.json").read_text("utf-8"))
    book = Book("new")
    if name in OF_EPISODES:
        empty = replace(small_book(), pieces=(), episodes=(), publications=())
        two = {"02": "Wool cape", "01": "Riding habit"}
        book = empty.put("pieces", *(Piece(id, called, empty.collections[0].id) for id, called in two.items()))
    return bring(book, (FILES / name).read_bytes(), name=name, **{**_answers(wanted["answers"]), **more})


def _text(date: FuzzyDate | None) -> str:
    return date.text if date else ""


def test_there_are_a_dozen_files() -> None:
    assert len(NAMES) == 12
    assert all((FILES / name).exists() for name in NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_what_a_person_left_comes_in_with_at_most_two_answers(name: str) -> None:
    wanted = json.loads((FILES / f"{name}.json").read_text("utf-8"))
    assert len(wanted["answers"]) <= 2
    found = _brought(name)
    assert found.refused == ()
    pieces = {}
    for piece in found.after.pieces:
        expected = wanted["pieces"].get(piece.id, {})
        held = {
            "name": piece.name,
            "made": _text(piece.made),
            "acquired": _text(piece.acquired),
            "box": piece.box,
            "shown": piece.shown.known.value,
            "odds": piece.shown.odds_unshown,
            "layer": piece.layer,
            "evidence": piece.shown.evidence,
            "when": _text(piece.shown.when),
        }
        pieces[piece.id] = {key: value for key, value in held.items() if key in expected}
    assert pieces == wanted["pieces"]
    told = " ".join(found.notes)
    for part in wanted["told"]:
        assert part in told


def test_a_day_is_meant_only_where_somebody_says_so() -> None:
    found = _brought("old.xls", first_days=True)
    assert [_text(piece.acquired) for piece in found.after.pieces] == ["2019-08-01", "2020-02-01", ""]
