"""The line of keys at the foot: what it offers, and the mouse on it."""

from __future__ import annotations

import gc
from typing import Any

import pytest
from keys import settle
from textual.widget import Widget
from textual.widgets import Footer

from showrunner.tui.app import ShowrunnerApp
from showrunner.tui.key_line import KeyLine
from showrunner.tui.registry import EVERYWHERE


def words(screen: Any) -> str:
    """The line as it stands."""
    return screen.query_one(KeyLine).render_line(0).text.rstrip()


@pytest.mark.slow
@pytest.mark.parametrize("key", ["1", "2", "3", "4", "5"])
async def test_the_keys_are_those_that_textuals_own_footer_would_offer(demo: ShowrunnerApp, key: str) -> None:
    async with demo.run_test(size=(120, 24)) as pilot:
        await settle(pilot)
        await pilot.press(key)
        await settle(pilot)
        ours = words(demo.screen)
        await demo.screen.mount(footer := Footer(show_command_palette=False))
        demo.screen.refresh_bindings()
        await pilot.pause()
        theirs = [f"{part.key_display} {part.description}" for part in footer.children]  # type: ignore[attr-defined]
        assert ours == f" {'  '.join(theirs)}"
        assert demo.screen.query_one(KeyLine).size.height == 1


async def test_a_click_presses_the_key_under_the_mouse_and_resting_there_tells_what_it_does(
    demo: ShowrunnerApp,
) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        line = demo.screen.query_one(KeyLine)
        at = words(demo.screen).index("all keys")
        await pilot.hover(KeyLine, offset=(at, 0))
        help_of = {action.id: action.help for action in EVERYWHERE}
        assert line.tooltip == help_of["help"]
        await pilot.hover(KeyLine, offset=(79, 0))
        assert line.tooltip is None
        await pilot.click(KeyLine, offset=(79, 0))
        assert len(demo.screen_stack) == 1
        await pilot.click(KeyLine, offset=(at, 0))
        await pilot.pause()
        assert "all keys" in str(demo.screen.query_one(".dialog-title").render())


async def test_it_changes_with_what_can_be_done(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("3")
        await settle(pilot)
        before = words(demo.screen)
        await pilot.press("f", "enter")
        await settle(pilot)
        assert demo.screen_stack[-1].query(KeyLine)
        assert words(demo.screen_stack[-1]) != before


@pytest.mark.slow
async def test_going_from_screen_to_screen_leaves_nothing_behind(demo: ShowrunnerApp) -> None:
    async def alive(times: int) -> int:
        """Widgets there are after so many rounds, those that were taken away included."""
        for _ in range(times):
            await pilot.press("1", "down", "2")
            await settle(pilot)
        gc.collect()
        return sum(isinstance(thing, Widget) for thing in gc.get_objects())

    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        first = await alive(2)
        assert await alive(6) == first
