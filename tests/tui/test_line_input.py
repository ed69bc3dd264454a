"""Lines to type into: what a terminal would obey is kept in the value and never drawn."""

from __future__ import annotations

import pytest
from textual.app import App, ComposeResult
from textual.events import Paste

from showrunner.tui.app import ShowrunnerApp
from showrunner.tui.dialogs import NoticeDialog
from showrunner.tui.line_input import LineInput
from showrunner.tui.page_input import PageInput


class OneLine(App[None]):
    def compose(self) -> ComposeResult:
        yield LineInput(compact=True)


@pytest.mark.parametrize("odd", ["\x1b[31m", "\x07", "\x9b", "\u202e", "\ud800", "\0", "\t"], ids=ascii)
async def test_what_a_terminal_would_obey_is_drawn_as_a_blank_and_kept(odd: str) -> None:
    async with OneLine().run_test(size=(40, 3)) as pilot:
        line = pilot.app.query_one(LineInput)
        line.post_message(Paste(f"é日 a{odd}b"))
        await pilot.pause()
        assert line.value == f"é日 a{odd}b"
        line.cursor_blink = False
        line.cursor_position = len(line.value) - 1
        await pilot.pause()
        drawn = line.render_line(0)
        assert drawn.text.rstrip() == f"é日 a{' ' if len(odd) == 1 else ' [31m'}b"
        ground = line.get_component_rich_style("input--cursor").bgcolor
        assert [text for text, style, _ in drawn if style and style.bgcolor == ground] == ["b"]


class OnePage(App[None]):
    def compose(self) -> ComposeResult:
        yield PageInput()


async def test_of_a_page_it_is_a_blank_too_and_a_tab_is_as_wide_as_it_reaches() -> None:
    async with OnePage().run_test(size=(40, 6)) as pilot:
        page = pilot.app.query_one(PageInput)
        text = "é日 a\x1b[31mb\n\u202e\x9b\x07\0\tc"
        page.text = text
        await pilot.pause()
        assert page.text == text
        first, second = (strip.text.strip() for strip in pilot.app.screen._compositor.render_strips()[1:3])
        assert first.strip("▊▎ ") == "é日 a [31mb"
        assert second.strip("▊▎ ") == "c"


async def test_what_a_notice_reads_out_obeys_nothing(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await pilot.app.push_screen(
            NoticeDialog("What \x1b[1mhappened", "found: \x1b[31mred\nand \u202ethen [b]more[/b]")
        )
        await pilot.pause()
        shown = "\n".join(strip.text for strip in pilot.app.screen._compositor.render_strips())
        assert all(sign.isprintable() or sign == "\n" for sign in shown)
        assert "found:  [31mred" in shown
        assert "and  then [b]more[/b]" in shown
