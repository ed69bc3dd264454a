"""What every test of the screens begins with; makes the helper module beside it importable."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from showrunner.demo_book import copy_demo
from showrunner.session import Session
from showrunner.tui.app import ShowrunnerApp


@pytest.fixture(autouse=True)
def own_settings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Settings of the tests' own, and colour as it is without a wish."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.delenv("NO_COLOR", raising=False)


@pytest.fixture
def demo(tmp_path: Path) -> Iterator[ShowrunnerApp]:
    """The application on a copy of the demo book."""
    copy_demo(tmp_path / "book.json")
    with Session.open(tmp_path / "book.json") as session:
        yield ShowrunnerApp(session, demo=True)
