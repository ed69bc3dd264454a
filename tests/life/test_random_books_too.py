"""The other half of the random books: a file of their own, so that both halves run side by side."""

from __future__ import annotations

from pathlib import Path

import pytest

from life.test_random_books import BLOCK, BOOKS, disagreements


@pytest.mark.slow
@pytest.mark.parametrize("first", range(BOOKS // 2, BOOKS, BLOCK))
def test_the_plan_is_the_judged_one(first: int, tmp_path: Path) -> None:
    assert disagreements(range(first, first + BLOCK), tmp_path) == []
