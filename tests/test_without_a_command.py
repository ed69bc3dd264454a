"""What opens in a terminal: the book, or a copy of the demo; without a terminal neither does."""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from showrunner import cli
from showrunner.demo_book import copy_demo
from showrunner.session import Session


@pytest.fixture
def opened(monkeypatch: pytest.MonkeyPatch) -> list[tuple[Path, date, bool, bool]]:
    """What the screens were opened with: path, day, whether it can only be read, whether it is the demo.

    Screens, which end with 5, and terminal are stood in for.
    """
    found: list[tuple[Path, date, bool, bool]] = []

    def run_app(session: Session, *, demo: bool) -> int:
        found.append((session.path, session.today, session.read_only, demo))
        return 5

    monkeypatch.setitem(sys.modules, "showrunner.tui.app", SimpleNamespace(run_app=run_app))
    monkeypatch.setattr(cli, "_is_terminal", lambda: True)
    return found


def test_the_book_is_opened_to_be_written_and_made_where_there_is_none(
    said: Any, tmp_path: Path, opened: list[Any]
) -> None:
    new = tmp_path / "new.json"
    assert said("--book", new, "--today", "2026-03-05") == (5, "", "")
    with Session.open(new, write=False) as session:
        assert not session.book.pieces
    copy_demo(there := tmp_path / "there.json")
    before = there.read_bytes()
    assert said("--book", there) == (5, "", "")
    assert there.read_bytes() == before
    assert opened == [(new, date(2026, 3, 5), False, False), (there, date(2026, 3, 2), False, False)]


def test_the_demo_is_opened_as_a_copy_and_prints_nothing(said: Any, tmp_path: Path, opened: list[Any]) -> None:
    assert said("--today", "2026-03-05", "demo") == (5, "", "")
    assert said("demo", "--keep", tmp_path / "kept.json") == (5, "", "")
    (path, day, read_only, demo), second = opened
    assert (day, read_only, demo) == (date(2026, 3, 5), False, True)
    assert not path.exists()
    assert second == (tmp_path / "kept.json", date(2026, 3, 2), False, True)
    assert (tmp_path / "kept.json").exists()


@pytest.mark.parametrize("typed", [True, False, None])
@pytest.mark.parametrize("printed", [True, False, None])
def test_a_terminal_is_one_on_both_sides(
    monkeypatch: pytest.MonkeyPatch, capsys: Any, typed: bool | None, printed: bool | None
) -> None:
    """None stands for a stream that is closed."""
    for name, terminal in (("stdin", typed), ("stdout", printed)):
        stream = None if terminal is None else SimpleNamespace(isatty=lambda terminal=terminal: terminal)
        monkeypatch.setattr(sys, name, stream)
    assert cli._is_terminal() is bool(typed and printed)


def test_without_a_terminal_nothing_is_opened_or_made(
    said: Any, tmp_path: Path, opened: list[Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cli, "_is_terminal", lambda: False)
    told = "showrunner: there is no terminal to open the book in; use a command, such as report.\n"
    assert said("--book", tmp_path / "new.json") == (2, "", told)
    assert (opened, list(tmp_path.iterdir())) == ([], [])
