"""What-ifs of the Run-out that come late, or whose words mislead."""

from __future__ import annotations

import threading
from dataclasses import replace
from typing import Any

import pytest
from keys import Keys, settle
from textual.widgets import Input, Static

from showrunner.domain import edits
from showrunner.domain.piece import Known
from showrunner.tui.app import ShowrunnerApp
from showrunner.tui.runout import RunOutScreen


def figures(pilot: Keys) -> str:
    return str(pilot.app.screen.query_one("#figures", Static).content)


async def spacing(pilot: Keys, text: str) -> None:
    await pilot.press("f", "enter")
    await pilot.pause()
    pilot.app.screen.query_one("#f-value", Input).value = text
    await pilot.press("enter")
    await pilot.pause()


async def test_a_what_if_of_an_older_book_is_dropped_and_takes_nothing_back(
    demo: ShowrunnerApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    runout, gate = demo.session.runout, threading.Event()

    def slow(**options: Any) -> Any:
        found = runout(**options)
        if options.get("book") is not None:
            assert gate.wait(60)
        return found

    monkeypatch.setattr(demo.session, "runout", slow)
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("4")
        await settle(pilot)
        await spacing(pilot, "4,5,8")
        assert "Working out the what-if …" in figures(pilot)
        await pilot.press("y")  # settles a doubt while the what-if is worked out
        await pilot.pause()
        gate.set()
        await settle(pilot)
        assert "What if" not in figures(pilot)
        assert "Working out" not in figures(pilot)
        await pilot.press("a")
        await settle(pilot)
        assert demo.session.book.piece("27").shown.known is Known.YES
        assert demo.session.book.series[0].target_weeks == 6


async def test_a_refused_what_if_leaves_no_sign_of_work(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("4")
        await settle(pilot)
        screen = demo.screen
        assert isinstance(screen, RunOutScreen)
        screen._suppose("unpair=apron")
        await settle(pilot)
        assert "Working out" not in figures(pilot)
        assert screen.beside == []


async def test_a_title_does_not_decide_whether_a_what_if_can_be_adopted(demo: ShowrunnerApp) -> None:
    session = demo.session
    session.do(
        "title", lambda book: edits.put_episode(book, replace(book.episode("waistcoats"), title="two more to show"))
    )
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("4")
        await settle(pilot)
        screen = demo.screen
        assert isinstance(screen, RunOutScreen)
        screen._suppose("unpair=waistcoats")
        await settle(pilot)
        await pilot.press("a")
        await settle(pilot)
        assert len(session.book.open_studies) == 6


async def test_what_can_only_be_looked_at_is_not_adopted(demo: ShowrunnerApp) -> None:
    before = demo.session.path.read_bytes()
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("4")
        await settle(pilot)
        screen = demo.screen
        assert isinstance(screen, RunOutScreen)
        for text in ("slip-rate=0.3", "add-piece=2"):
            screen._suppose(text)
            await settle(pilot)
            await pilot.press("a")
            await settle(pilot)
        assert demo.session.path.read_bytes() == before
        assert "8–10 in 7–9" in figures(pilot)  # two more pieces, each a study of its own


async def test_the_figures_can_be_scrolled_from_the_keyboard(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("4")
        await settle(pilot)
        await spacing(pilot, "4,5,8")
        await settle(pilot)
        left = demo.screen.query_one("#left")
        left.focus()
        await pilot.press("end")
        await pilot.pause()
        assert left.scroll_offset.y > 0
