"""Stocktake on the Register: one doubt at a time, one key each."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from keys import Keys, settle, text_of

from showrunner.domain.book import Book
from showrunner.domain.collection import Collection
from showrunner.domain.piece import Known, Piece, Shown
from showrunner.session import Session
from showrunner.tui.app import ShowrunnerApp
from showrunner.tui.stocktake import StocktakeScreen

SIZE = (80, 24)
MARKS = {Known.YES: "✓ shown", Known.NO: "○ not shown", Known.UNSURE: "? unsure"}


async def begin(pilot: Keys) -> None:
    await pilot.press("1", "d")
    await settle(pilot)


def top(pilot: Keys) -> list[str]:
    return text_of(pilot, "#range").splitlines()


async def test_the_doubts_of_the_demo_are_settled_one_key_each(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=SIZE) as pilot:
        await begin(pilot)
        first = [doubt.piece for doubt in demo.session.runout().doubts]
        assert isinstance(pilot.app.screen, StocktakeScreen)
        assert list(pilot.app.screen.walk) == first == ["27", "28"]
        assert top(pilot) == [
            "Stocktake of Historic dress: 6–8 pieces left",
            "The last one comes between October 2026 and November 2026.",
        ]
        said = text_of(pilot, "#doubt-text")
        assert "box E, layer 2 (bonnet box, wardrobe shelf)" in said
        assert "rests on  a half-remembered early compilation" in said
        assert "y  shown: 6–7 left     n  not shown: 7–8 left" in said
        await pilot.press("y")
        await settle(pilot)
        assert top(pilot)[0] == "Stocktake of Historic dress: 6–7 pieces left (6–8 when it began)"
        await pilot.press("n")
        await settle(pilot)
        assert top(pilot)[0] == "Stocktake of Historic dress: 7 pieces left (6–8 when it began)"
        assert text_of(pilot, "#doubt-text").startswith("2 doubts settled.")
        assert "Not in a study yet: Lace jabot." in text_of(pilot, "#doubt-text")
    book = demo.session.book
    assert book.piece("27").shown.evidence == "stocktake, 2 March 2026; before: a half-remembered early compilation"
    assert [book.piece(id).shown.known for id in first] == [Known.YES, Known.NO]


async def test_undo_brings_a_doubt_back_into_the_walk(demo: ShowrunnerApp) -> None:
    before = demo.session.book
    async with demo.run_test(size=SIZE) as pilot:
        await begin(pilot)
        await pilot.press("y", "n")
        await settle(pilot)
        await pilot.press("u", "u")
        await settle(pilot)
        assert demo.session.book == before
        assert [line[-8:] for line in text_of(pilot, "#walk").splitlines()] == ["? unsure", "? unsure"]
        assert top(pilot)[0] == "Stocktake of Historic dress: 6–8 pieces left"


async def test_a_doubt_can_wait_and_its_odds_can_be_said(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=SIZE) as pilot:
        await begin(pilot)
        await pilot.press("space")
        assert text_of(pilot, "#doubt-text").startswith("28")
        await pilot.press("space")
        assert text_of(pilot, "#doubt-text").startswith("27")
        await pilot.press("up")
        assert text_of(pilot, "#doubt-text").startswith("28")
        await pilot.press("o", "8", "0", "enter")
        await settle(pilot)
        shown = demo.session.book.piece("28").shown
        assert (shown.known, shown.odds_unshown, shown.evidence) == (
            *(Known.UNSURE, 80, "a half-remembered early compilation"),
        )
        await pilot.press("escape")
        await pilot.pause()
        assert not isinstance(pilot.app.screen, StocktakeScreen)


@pytest.mark.parametrize("doubts", [0, 60])
async def test_a_book_without_a_series_is_taken_stock_of_too(tmp_path: Path, doubts: int) -> None:
    pieces = tuple(Piece(f"{n:02}", f"Sash {n} [/]", "c", shown=Shown(Known.UNSURE)) for n in range(doubts))
    book = Book("6b1f0c52-7a0e-4c1e-9d35-2f6a58c1b7e4", collections=(Collection("c", "Sashes"),), pieces=pieces)
    with Session.create(tmp_path / "book.json", replace(book, clock=date(2026, 3, 2))) as session:
        app = ShowrunnerApp(session)
        async with app.run_test(size=SIZE) as pilot:
            await pilot.pause()
            await pilot.press("escape")
            await begin(pilot)
            if not doubts:
                assert "There is no doubt about any piece" in text_of(pilot, "#doubt-text")
                return
            assert top(pilot)[1] == "No series is about it yet, so nothing says until when."
            await pilot.press(*"ynynyn")
            await settle(pilot)
            assert top(pilot)[0] == "Stocktake of Sashes: 3–57 pieces left (0–60 when it began)"
            assert len(text_of(pilot, "#walk").splitlines()) == 7
