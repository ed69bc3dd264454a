"""The record of the slots on the Ledger: what was, and ideas for what is empty ahead."""

from __future__ import annotations

from datetime import date

import pytest
from keys import settle, text_of
from textual.containers import VerticalScroll
from textual.widgets import DataTable, Input

from showrunner.domain.slot import SlotRef
from showrunner.tui.app import ShowrunnerApp
from showrunner.tui.choice_line import ChoiceLine
from showrunner.tui.slot_record import SlotRecordScreen


@pytest.mark.slow
@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_an_idea_is_added_put_into_its_slot_and_taken_back(demo: ShowrunnerApp, size: tuple[int, int]) -> None:
    async with demo.run_test(size=size) as pilot:
        await settle(pilot)
        await pilot.press("R")
        await settle(pilot)
        assert isinstance(demo.screen, SlotRecordScreen)
        assert "The pace has changed" in " ".join(text_of(pilot, "#past-text").split())
        assert "14 slots; 0 ideas in the pool" in text_of(pilot, "#empty-head")
        await pilot.press("enter")
        await settle(pilot)
        assert demo.session.undo_label is None, "there is no idea to put anywhere"
        await pilot.press("a")
        await settle(pilot)
        demo.screen.query_one("#f-title", Input).value = "An apron in an evening"
        demo.screen.query_one("#f-rule", ChoiceLine).value = "wednesday"
        demo.screen.query_one("#f-study", ChoiceLine).value = "apron"
        await pilot.press("enter")
        await settle(pilot)
        idea = demo.session.book.episodes[-1]
        assert (idea.title, idea.rule, idea.idea_of, idea.slot) == (
            "An apron in an evening",
            "wednesday",
            "apron",
            None,
        )
        assert "1 idea in the pool" in text_of(pilot, "#empty-head")
        table = demo.screen.query_one("#empty", DataTable)
        table.move_cursor(row=4)
        await pilot.press("enter")
        await settle(pilot)
        assert demo.session.book.episode(idea.id).slot == SlotRef(date(2026, 3, 25), "wednesday")
        assert "13 slots; 0 ideas" in text_of(pilot, "#empty-head")
        await pilot.press("u")
        await settle(pilot)
        assert demo.session.book.episode(idea.id).slot is None
        past = demo.screen.query_one("#past", VerticalScroll)
        await pilot.press("pagedown")
        await settle(pilot)
        assert past.scroll_y > 0
        await pilot.press("escape")
        await settle(pilot)
        assert not isinstance(demo.screen, SlotRecordScreen)
