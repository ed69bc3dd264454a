"""Pictures of the screens, kept beside this file: --snapshot-update after a wanted change, then look at them."""

from __future__ import annotations

import contextlib
import shutil
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from planning.books import TODAY, small
from textual.pilot import Pilot
from textual.widgets import Input
from textual.worker import WorkerCancelled

from showrunner.demo_book import demo_path
from showrunner.session import Session
from showrunner.tui.app import ShowrunnerApp
from showrunner.tui.choice_line import ChoiceLine
from showrunner.tui.runout import RunOutScreen

pytestmark = pytest.mark.looks_back

NOON = datetime(2026, 3, 2, 1, 0, tzinfo=UTC)
"""Noon of the demo's day in Hobart; the clocks of a shoot stand at it."""
SMALL, LARGE = (80, 24), (120, 40)


@pytest.fixture
def demo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[ShowrunnerApp]:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.delenv("NO_COLOR", raising=False)
    shutil.copy(demo_path(), tmp_path / "book.json")
    with Session.open(tmp_path / "book.json", now=lambda: NOON) as session:
        yield ShowrunnerApp(session, demo=True)


def after(*keys: str, ground: str = "linen") -> Any:
    async def press(pilot: Pilot[int]) -> None:
        pilot.app.theme = ground
        for key in (*keys, ""):
            with contextlib.suppress(WorkerCancelled):
                await pilot.app.workers.wait_for_complete()
            await pilot.pause()
            if key:
                await pilot.press(key)
        for cursor in pilot.app.screen.query(Input):
            cursor.cursor_blink = False
            cursor._pause_blink(visible=True)  # else it stands as the moment had it
        for _ in range(40):  # until the screen's own thinking is drawn
            screen = pilot.app.screen
            if not isinstance(screen, RunOutScreen) or screen.looks:
                break
            await pilot.pause(0.1)
        await pilot.pause()

    return press


PICTURES = {
    "ledger": ("down", "down"),
    "preview": ("p", "n", "n"),
    "register": ("1", "down", "down"),
    "runout": ("4",),
    "form": ("1", "e"),
    "studies": ("3", "down"),
    "cautions": ("3", "down", "down", "down", "f"),
    "set_up": ("3", "down", "f", "enter", "space", "space", "a", "n"),
    "gate": ("3", "f", "enter", *["space"] * 4, "a", *["space"] * 4),
    "stocktake": ("1", "d", "y"),
    "what_ifs": ("4", "f", *["down"] * 13, "enter", "f", *["down"] * 11, "enter"),
    "wants": ("5", *["down"] * 8),
    "big": ("3", "down", "f", "enter", "B"),
    "condition": ("3", "down", "f", "enter", "space", "space"),
    "box": ("3", "down", "f", "enter", "space", "X"),
    "new_piece": ("1", "a", *"cap", "enter", *"robe", "down"),
}
"""Keys from the demo to what is looked at."""
QUICK = {"ledger", "register", "runout", "set_up", "wants"}
"""One picture of each screen for the default run."""


@pytest.mark.parametrize(
    "name", [name if name in QUICK else pytest.param(name, marks=pytest.mark.slow) for name in PICTURES]
)
@pytest.mark.parametrize(("size", "ground"), [(SMALL, "linen"), (LARGE, "indigo")], ids=["small-light", "large-dark"])
def test_picture(snap_compare: Any, demo: ShowrunnerApp, name: str, size: Any, ground: str) -> None:
    assert snap_compare(demo, terminal_size=size, run_before=after(*PICTURES[name], ground=ground))


@pytest.mark.slow
@pytest.mark.parametrize("name", ["left_out", "way_out"])
@pytest.mark.parametrize(("size", "ground"), [(SMALL, "linen"), (LARGE, "indigo")], ids=["small-light", "large-dark"])
def test_picture_of_a_study_without_a_slot(
    snap_compare: Any, demo: ShowrunnerApp, tmp_path: Path, name: str, size: Any, ground: str
) -> None:
    del demo  # for its settings
    keys = ("p",) if name == "left_out" else ("p", "1")
    book = small(3, gaps=(40, 41, 50))  # 78 weeks hold two
    with Session.create(tmp_path / "small.json", book, today=TODAY, now=lambda: NOON) as session:
        assert snap_compare(ShowrunnerApp(session), terminal_size=size, run_before=after(*keys, ground=ground))


STEPS = {
    "steps": (),
    "house": ("enter", *"hobart", "enter", *"Tue-Thu 2, Sat 4"),
    "slot": ("enter", *"hobart", "enter", "2", "enter", *"diary", "enter", "w", "enter", *"7", "enter"),
}
"""Keys from an empty book to a form of the first day."""


@pytest.mark.slow
@pytest.mark.parametrize("name", STEPS)
@pytest.mark.parametrize(("size", "ground"), [(SMALL, "linen"), (LARGE, "indigo")], ids=["small-light", "large-dark"])
def test_picture_of_the_first_day(
    snap_compare: Any, demo: ShowrunnerApp, tmp_path: Path, name: str, size: Any, ground: str
) -> None:
    del demo  # for its settings
    with Session.open(tmp_path / "new.json", create=True, today=TODAY, now=lambda: NOON) as session:
        app = ShowrunnerApp(session)
        assert snap_compare(app, terminal_size=size, run_before=after(*STEPS[name], ground=ground))


SHEET = """No.;What it is;When made;Shown on;Wohin
60;Sash [/];c. 1880;–;A
61;Cap =1+1;about then;;B
34;Bathing costume;1911;maybe;C
35;Parasol “Pomona”;c. 1895;;F
62;Muff;1890s?;Aug 2024;G
"""
"""A sheet with a row of every kind."""


@pytest.mark.slow
@pytest.mark.parametrize(("size", "ground"), [(SMALL, "linen"), (LARGE, "indigo")], ids=["small-light", "large-dark"])
def test_picture_of_a_file(snap_compare: Any, demo: ShowrunnerApp, tmp_path: Path, size: Any, ground: str) -> None:
    sheet = tmp_path / "pieces.csv"
    sheet.write_text(SHEET, encoding="utf-8")

    async def look(pilot: Pilot[int]) -> None:
        await pilot.pause()
        await pilot.press("I")
        await pilot.pause()
        pilot.app.screen.query_one("#f-path", Input).value = str(sheet)
        pilot.app.screen.query_one("#f-collection", ChoiceLine).value = "dress"
        await after("enter", "down", ground=ground)(pilot)

    assert snap_compare(demo, terminal_size=size, run_before=look)


@pytest.mark.slow
@pytest.mark.parametrize("keys", [("down", "down"), ("4",), ("5", *["down"] * 8)], ids=["ledger", "runout", "wants"])
def test_picture_without_colour(
    snap_compare: Any, demo: ShowrunnerApp, monkeypatch: pytest.MonkeyPatch, keys: tuple[str, ...]
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    plain = ShowrunnerApp(demo.session, demo=True)
    assert snap_compare(plain, terminal_size=SMALL, run_before=after(*keys))
