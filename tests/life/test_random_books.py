"""The program against the judge on random small books, through its public commands."""

from __future__ import annotations

import os
from collections import Counter
from pathlib import Path

import pytest

from life.answers import answer, complaints, verdict
from life.random_books import question

BOOKS = int(os.environ.get("SHOWRUNNER_BOOKS", "24"))
"""Number of books of the default run; set by the environment variable SHOWRUNNER_BOOKS, a multiple of 24."""

BLOCK = 12
SORTED = 100
"""Number of books of which it is looked at that they are of every sort."""

LONG = 5 * int(os.environ.get("SHOWRUNNER_LONG", "400"))
"""Number of books of the long run; set by the environment variable SHOWRUNNER_LONG."""


def disagreements(seeds: range, folder: Path, room: int = 100) -> list[str]:
    """What the program and the judge disagree about, with the seed."""
    found = []
    for seed in seeds:
        made = question(seed, extra_work=True, room=room)
        found += [f"{seed}: {complaint}" for complaint in complaints(made, answer(made, folder))]
    return found


@pytest.mark.slow
@pytest.mark.parametrize("first", range(0, BOOKS // 2, BLOCK))
def test_the_plan_is_the_judged_one(first: int, tmp_path: Path) -> None:
    assert disagreements(range(first, first + BLOCK), tmp_path) == []


@pytest.mark.slow
def test_larger_books_in_which_a_detail_was_once_told_wrongly(tmp_path: Path) -> None:
    """A study that is looked at on the very day promised for it; two changes of which one was more than needed."""
    assert [
        told for seed in (11_740, 11_935) for told in disagreements(range(seed, seed + 1), tmp_path, room=200)
    ] == []


@pytest.mark.long
def test_the_plan_of_many_larger_books_is_the_judged_one(tmp_path: Path) -> None:
    assert disagreements(range(10_000, 10_000 + LONG), tmp_path, room=200) == []


@pytest.mark.slow
def test_the_books_hold_what_a_life_holds() -> None:
    """Books of which none had a promise broken, or none lacked hours, would prove little."""
    seen: Counter[str] = Counter()
    for seed in range(SORTED):
        made = question(seed, extra_work=True)
        judged = verdict(made)
        assert judged is not None
        studies = len(judged.slots) + len(judged.unplaced)
        seen["clash"] += bool(judged.clash)
        seen["infeasible"] += judged.status == "infeasible"
        seen["all placed"] += bool(studies) and not judged.unplaced
        seen["some not placed"] += bool(judged.unplaced and judged.slots)
        seen["uneven"] += judged.unevenness > 0
        seen["moved"] += judged.moved[0] > 0
        seen["pins all kept"] += judged.made > 0 and judged.broken == 0 and not judged.clash
        seen["extra work"] += bool(made.book["house"].get("extra_work"))
        seen["four or more"] += len(judged.slots) > 3
    assert {what: count for what, count in seen.items() if count < SORTED // 25} == {}
