"""What every test of the screens begins with; a test elsewhere imports the fixtures it needs."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from itertools import count
from pathlib import Path
from typing import Any

import pytest
import textual.app
import textual.constants
import textual.pilot
import textual.screen
from quiet import draw_at_rest, quiet
from textual.css.model import RuleSet
from textual.css.stylesheet import Stylesheet

from showrunner.demo_book import demo_path
from showrunner.planning import advice
from showrunner.session import Session
from showrunner.tui import preview
from showrunner.tui.app import ShowrunnerApp

parse_rules = Stylesheet._parse_rules
sheets: dict[Any, list[RuleSet]] = {}
"""Style sheets read by earlier tests, by their text and the colours they were read with."""


def read_once(self: Stylesheet, css: str, *rest: Any, **more: Any) -> list[RuleSet]:
    """Read a style sheet that no test read before; each application would read them all again."""
    key = (css, *rest, *sorted(more.items()), tuple(self._variables.items()))
    if key not in sheets:
        sheets[key] = parse_rules(self, css, *rest, **more)
    return sheets[key]


@pytest.fixture(autouse=True)
def own_settings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Settings of the tests' own, and colour as it is without a wish."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.delenv("NO_COLOR", raising=False)


def at_once(self: textual.app.App[Any], delay: float = 0) -> None:
    """Draw a screen that opens without a delay: at rest it is drawn once anyway, and a span of time is no rest."""
    del self, delay


@pytest.fixture(autouse=True)
def own_pace(monkeypatch: pytest.MonkeyPatch) -> None:
    """Drawn when all else is done, not sixty times a second on the way there, and nothing moves slowly."""
    monkeypatch.setattr(textual.app, "wait_for_idle", quiet)
    monkeypatch.setattr(textual.pilot, "wait_for_idle", quiet)
    monkeypatch.setattr(textual.screen, "UPDATE_PERIOD", 0.5)
    monkeypatch.setattr(textual.app.App, "delay_update", at_once)
    monkeypatch.setattr(textual.screen.Screen, "_compositor_refresh", draw_at_rest)
    monkeypatch.setattr(textual.constants, "TEXTUAL_ANIMATIONS", "none")
    monkeypatch.setattr(Stylesheet, "_parse_rules", read_once)


@pytest.fixture(autouse=True)
def own_presses(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each key of a test is a press of its own, a second after the one before it."""
    seconds = count(1)
    monkeypatch.setattr(ShowrunnerApp, "pressed_at", lambda *_: float(next(seconds)))


@pytest.fixture(autouse=True)
def time_enough(monkeypatch: pytest.MonkeyPatch, worked_out_once: None) -> None:
    """What would help is looked for until it is found: a busy machine or a long run must not cut it short.

    And nothing is worked out twice for equal books: most tests begin with the demo.
    """
    monkeypatch.setattr(advice, "TRIAL_SECONDS", 60.0)
    monkeypatch.setattr(preview, "PLAN_SECONDS", 600.0)
    monkeypatch.setattr(preview, "REASONS_SECONDS", 600.0)


@pytest.fixture(autouse=True)
def no_look_back(monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest) -> None:
    """The Run-out does not look back at the record, which takes two seconds each time, but where that is tested."""
    if not request.node.get_closest_marker("looks_back"):
        monkeypatch.setattr(Session, "backtests", lambda *_: ())


@pytest.fixture
def demo(tmp_path: Path) -> Iterator[ShowrunnerApp]:
    """The application on a copy of the demo book."""
    shutil.copy(demo_path(), tmp_path / "book.json")
    with Session.open(tmp_path / "book.json") as session:
        yield ShowrunnerApp(session, demo=True)
