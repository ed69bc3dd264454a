"""`showrunner publish`: which days can have been."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from showrunner import clock
from showrunner.demo_book import copy_demo
from showrunner.session import Session


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """A copy of the demo, whose clock stands at 2 March 2026."""
    copy_demo(tmp_path / "book.json")
    return tmp_path / "book.json"


@pytest.mark.parametrize(
    ("today", "real", "latest"),
    [
        (["--today", "2026-03-20"], date(2026, 5, 1), date(2026, 3, 20)),
        ([], date(2026, 5, 1), date(2026, 5, 1)),
        ([], date(2026, 2, 1), date(2026, 3, 2)),
    ],
    ids=["a day that is asked for", "a demonstration that is lived through", "one whose clock is ahead"],
)
def test_it_came_out_no_later_than_today(
    said: Any, book: Path, monkeypatch: pytest.MonkeyPatch, today: list[str], real: date, latest: date
) -> None:
    monkeypatch.setattr(clock, "today", lambda zone: real)
    before = book.read_bytes()
    day_after = latest.replace(day=latest.day + 1)
    code, out, err = said("--book", book, *today, "publish", "apron", "--on", str(day_after))
    assert (code, out, book.read_bytes()) == (2, "", before)
    assert "still to come" in err
    code, out, _ = said("--book", book, *today, "publish", "apron", "--on", str(latest))
    assert (code, out.count("\n")) == (0, 1)
    assert said("--book", book, "undo")[1] == "Undone: publish The apple-packer's apron.\n"


def test_of_a_book_without_a_clock_it_is_the_real_day(said: Any, book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    book.write_text(book.read_text().replace('"clock":"2026-03-02",', ""))
    monkeypatch.setattr(clock, "today", lambda zone: date(2999, 1, 1))  # of a demonstration alone
    with Session.open(book, write=False) as session:
        today = session.today
    assert said("--book", book, "publish", "apron", "--on", str(today))[0] == 0
    assert said("--book", book, "publish", "jacket", "--on", str(date(today.year + 1, 1, 1)))[0] == 2
