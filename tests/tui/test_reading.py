"""The text that is read on in, held against a `Static` in a `VerticalScroll` of Textual with the same text."""

from __future__ import annotations

import pytest
from textual.app import App, ComposeResult
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.visual import Visual
from textual.widgets import Static

from showrunner.tui.reading import Reading

SHORT, LONG = "one hook\n\n  and an eye", "a hook and an eye, sewn with linen thread; " * 20


class Both(App[None]):
    """Textual's on the left, ours on the right."""

    CSS = "VerticalScroll, Reading { width: 30; height: 12; padding: 0 1; border-left: solid red; }"

    def compose(self) -> ComposeResult:
        with Horizontal():
            with VerticalScroll():
                yield Static(id="text")
            yield Reading(id="ours")

    def show(self, text: str) -> None:
        """Show a text in both."""
        self.query_one(Static).update(Content(text))
        self.query_one(Reading).update(text)

    def halves(self) -> tuple[list[str], list[str]]:
        """What is seen of each, line by line."""
        lines = [strip.text for strip in self.screen._compositor.render_strips()]
        return [line[:30].rstrip() for line in lines], [line[30:].rstrip() for line in lines]


@pytest.mark.parametrize("text", [SHORT, LONG, "", "x" * 70, LONG.replace("; ", "\n")])
async def test_it_looks_as_a_static_in_a_scroll_does(text: str) -> None:
    app = Both()
    async with app.run_test(size=(60, 12)) as pilot:
        for shown in (text, SHORT, text):
            app.show(shown)
            await pilot.pause()
            theirs, ours = app.halves()
            assert theirs == ours
        for wanted in (3, 1000, 0):
            app.query_one(VerticalScroll).scroll_to(y=wanted, animate=False)
            app.query_one(Reading).scroll_to(y=wanted, animate=False)
            await pilot.pause()
            theirs, ours = app.halves()
            assert theirs == ours
            assert app.query_one(Reading).scroll_y == app.query_one(VerticalScroll).scroll_y


async def test_the_bar_tells_how_long_the_text_is_each_time() -> None:
    app = Both()
    async with app.run_test(size=(60, 12)) as pilot:
        ours, theirs = app.query_one(Reading), app.query_one(VerticalScroll)
        for times in (1, 3, 2):
            ours.update(LONG * times)
            await pilot.pause()
            told = ours.vertical_scrollbar.window_virtual_size
            app.query_one(Static).update(Content(LONG * times))  # the screen is laid out anew for it
            await pilot.pause()
            assert told == theirs.vertical_scrollbar.window_virtual_size > 12 * times


async def test_a_shorter_text_is_never_scrolled_out_of_view() -> None:
    app = Both()
    async with app.run_test(size=(60, 12)) as pilot:
        ours = app.query_one(Reading)
        for text in (LONG * 3, LONG, SHORT):
            ours.update(text)
            await pilot.pause()
            assert ours.max_scroll_y == max(0, len(ours.lines) - 12)
            assert ours.scroll_y <= ours.max_scroll_y
            ours.scroll_end(animate=False)
            await pilot.pause()


async def test_it_is_wrapped_anew_to_another_width_and_drawn_in_other_colours() -> None:
    app = Both()
    async with app.run_test(size=(60, 12)) as pilot:
        app.show(LONG)
        await pilot.pause()
        for width in (20, 30):
            for part in (app.query_one(VerticalScroll), app.query_one(Reading)):
                part.styles.width = width
            await pilot.pause()
            theirs = [strip.text[:width].rstrip() for strip in app.screen._compositor.render_strips()]
            ours = [strip.text[width : 2 * width].rstrip() for strip in app.screen._compositor.render_strips()]
            assert theirs == ours
        before = app.query_one(Reading).render_line(0)
        app.theme = "textual-light"
        await pilot.pause()
        assert app.query_one(Reading).render_line(0) != before


async def test_what_is_selected_with_the_mouse_can_be_copied() -> None:
    app = Both()
    async with app.run_test(size=(60, 12)) as pilot:
        app.show(SHORT)
        await pilot.pause()
        plain = app.query_one(Reading).render_line(0)
        await pilot.mouse_down(Reading, offset=(2, 0))
        await pilot.hover(Reading, offset=(4, 0))
        await pilot.pause()
        assert app.screen.get_selected_text() == "one"
        assert app.query_one(Reading).render_line(0) != plain
        await pilot.mouse_up(Reading, offset=(4, 0))
        await pilot.click(Reading, offset=(8, 5))
        await pilot.pause()
        assert app.screen.get_selected_text() is None
        assert app.query_one(Reading).render_line(0) == plain


TEXTS = (
    SHORT,
    LONG,
    LONG.replace("; ", "\n"),
    "one hook\nand an eye, sewn with linen thread and waxed\n\nand a tape",
    "x" * 70 + "  and  \n y" * 3,
    "絹の裏地 " * 20,
    "a   b" * 30,
)


@pytest.mark.parametrize("text", TEXTS)
async def test_each_line_is_drawn_as_textual_draws_it_wherever_the_mouse_is(text: str) -> None:
    app = Both()
    async with app.run_test(size=(60, 12)) as pilot:
        ours = app.query_one(Reading)
        for shown in (text, f"another line\n{text}", text):  # the paragraphs after a new one are known, but elsewhere
            ours.update(shown)
            await pilot.pause()
            width = ours.container_size.width - ours.show_vertical_scrollbar * ours.styles.scrollbar_size_vertical
            theirs = Visual.to_strips(ours, Content(shown), width, None, ours.visual_style)
            assert [strip.text for strip in theirs] == [line.text for line in ours.lines]
            for y, strip in enumerate(theirs[:12]):
                assert [s for s in strip if s.text] == [s for s in ours.render_line(y) if s.text]
