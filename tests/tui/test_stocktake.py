"""The stocktake with keys pressed: the doubts of the demo, many doubts, none, and a book that cannot be changed."""

from __future__ import annotations

import json
import shutil
import threading
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from keys import Keys, settle, text_of
from textual.widgets import Input

from showrunner import contract
from showrunner.demo_book import demo_path
from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.collection import Collection
from showrunner.domain.piece import Known, Piece, Shown
from showrunner.session import Session
from showrunner.tui.app import ShowrunnerApp
from showrunner.tui.choice_line import ChoiceLine
from showrunner.tui.dialogs import FormDialog, NoticeDialog
from showrunner.tui.register import RegisterScreen
from showrunner.tui.registry import EVERYWHERE
from showrunner.tui.stocktake import StocktakeScreen


async def begin(pilot: Keys) -> StocktakeScreen:
    await settle(pilot)
    await pilot.press("1", "d")
    await settle(pilot)
    screen = pilot.app.screen
    assert isinstance(screen, StocktakeScreen)
    return screen


async def press(pilot: Keys, *keys: str) -> None:
    for key in keys:
        await pilot.press(key)
        await settle(pilot)


def lines(pilot: Keys) -> list[str]:
    return text_of(pilot, "#lines").splitlines()


@pytest.mark.slow
async def test_the_demo_is_settled_with_two_keys(demo: ShowrunnerApp) -> None:
    session = demo.session
    order = [doubt["piece"] for doubt in json.loads(json.dumps(contract.runout(session.runout())))["doubts"]]
    async with demo.run_test(size=(80, 24)) as pilot:
        screen = await begin(pilot)
        assert screen.walk.open == tuple(order) == ("27", "28")
        left = text_of(pilot, "#range")
        assert "Left now    6–8 pieces, 5–7 studies, the end between October and November 2026" in left
        assert "At first    the same" in left
        assert text_of(pilot, "#big") == "27  Nurse's collar and cuffs\nbox E, layer 2: bonnet box, wardrobe shelf"
        assert "50% that it was not shown. It rests on: a half-remembered early compilation." in text_of(
            pilot, "#doubt"
        )
        answers = text_of(pilot, "#answers")
        assert "y shown: 6–7 left   n not shown: 7–8 left" in answers
        assert "Settling it is expected to narrow the end by 3 weeks." in answers

        await press(pilot, "y")
        left = text_of(pilot, "#range")
        assert "Left now    6–7 pieces, 5–6 studies, the end around October 2026" in left
        assert "At first    6–8 pieces, 5–7 studies, the end between October and November 2026" in left
        assert text_of(pilot, "#big").startswith("28  Lace jabot")
        assert "✓ shown" in lines(pilot)[0]
        assert lines(pilot)[1].startswith("▸ 28")
        assert "y shown: 6 left   n not shown: 7 left" in text_of(pilot, "#answers")

        await press(pilot, "n")
        assert text_of(pilot, "#big") == "Every doubt is settled."
        told = text_of(pilot, "#doubt")
        assert "Historic dress: 7 pieces, 6 studies, the end around November 2026. At first 6–8 were left." in told
        assert "In no study yet: Lace jabot." in told
        assert "Next: plan again on the Ledger (2, then p)" in told
        shown = {id: session.book.piece(id).shown for id in order}
        assert [shown[id].known for id in order] == [Known.YES, Known.NO]
        evidence = "a half-remembered early compilation; stocktake, 2 March 2026"
        assert {state.evidence for state in shown.values()} == {evidence}

        await press(pilot, "y")  # there is nothing left to answer
        assert session.book.piece("28").shown.known is Known.NO
        await press(pilot, "escape")
        assert isinstance(demo.screen, RegisterScreen)


@pytest.mark.slow
async def test_undo_brings_the_book_and_the_walk_back(demo: ShowrunnerApp) -> None:
    before = demo.session.book
    async with demo.run_test(size=(80, 24)) as pilot:
        screen = await begin(pilot)
        await press(pilot, "n", "y")
        assert screen.walk.open == ()
        await press(pilot, "u")
        assert screen.walk.open == ("28",)
        assert screen.walk.settled == ("27",)
        await press(pilot, "u")
        assert screen.walk.now == "27"
        assert screen.walk.settled == ()
        assert demo.session.book == before
        assert "6–8 pieces" in text_of(pilot, "#range")
        await press(pilot, "U")
        assert screen.walk.settled == ("27",)


async def test_a_doubt_left_for_later_or_with_other_odds_goes_to_the_end(demo: ShowrunnerApp) -> None:
    before = demo.session.path.read_bytes()
    async with demo.run_test(size=(80, 24)) as pilot:
        screen = await begin(pilot)
        await press(pilot, "space")
        assert screen.walk.open == ("28", "27")
        assert "later" in lines(pilot)[1]
        await press(pilot, "down")
        assert screen.walk.open == ("27", "28")
        assert demo.session.path.read_bytes() == before
        await press(pilot, "o")
        assert isinstance(demo.screen, FormDialog)
        demo.screen.query_one("#f-odds", Input).value = "30"
        await press(pilot, "enter")
        shown = demo.session.book.piece("27").shown
        assert (shown.known, shown.odds_unshown) == (Known.UNSURE, 30)
        assert shown.evidence == "a half-remembered early compilation"
        assert screen.walk.open == ("28", "27")
        assert "? unsure, 30% not, later" in lines(pilot)[1]
        assert "6–8 pieces" in text_of(pilot, "#range")


@pytest.mark.slow
async def test_settling_in_words_keeps_what_it_rested_on_and_takes_a_date(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        screen = await begin(pilot)
        await press(pilot, "e")
        form = demo.screen
        form.query_one("#f-rests_on", Input).value = "the second film of [2021"
        form.query_one("#f-when", Input).value = "2021-06~"
        form.query_one("#f-known", ChoiceLine).value = "no"
        await press(pilot, "enter")
        assert demo.screen is form  # a piece that was not shown has no date of showing
        assert "no date of showing" in text_of(pilot, "#dialog-error")
        form.query_one("#f-known", ChoiceLine).value = "yes"
        form.finish()  # type: ignore[attr-defined]
        await settle(pilot)
        shown = demo.session.book.piece("27").shown
        assert shown.known is Known.YES
        assert shown.when is not None
        assert shown.when.text == "2021-06~"
        assert shown.evidence == (
            "a half-remembered early compilation; stocktake, 2 March 2026: the second film of [2021"
        )
        assert screen.walk.now == "28"


async def test_without_a_doubt_one_sentence_says_so(demo: ShowrunnerApp) -> None:
    demo.session.do("settle", lambda book: edits.mark_shown(book, "27", Known.YES))
    demo.session.do("settle", lambda book: edits.mark_shown(book, "28", Known.YES))
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "1", "d")
        assert isinstance(demo.screen, RegisterScreen)
        told = [notice.message for notice in demo._notifications]
        assert told == ["There is no doubt to settle: 6 pieces left to show, and that is sure."]


@pytest.mark.slow
async def test_a_read_only_window_refuses_in_its_sentence(demo: ShowrunnerApp) -> None:
    with Session.open(demo.session.path) as reader:
        app = ShowrunnerApp(reader)
        async with app.run_test(size=(80, 24)) as pilot:
            screen = await begin(pilot)
            await press(pilot, "y")
            assert screen.walk.open == ("27", "28")
            (notice,) = app._notifications
            assert reader.read_only_reason in notice.message
            demo.session.do("mark", lambda book: edits.mark_shown(book, "27", Known.NO))
            app.follow()
            await settle(pilot)
            assert screen.walk.open == ("28",)
            assert "7–8 pieces" in text_of(pilot, "#range")


def plain_book(count: int) -> Book:
    """A book that no run-out can be computed of: no series, no slots, two collections."""
    return Book(
        key="x",
        collections=(Collection("dress", "Dress"), Collection("fans", "Fans [old]")),
        pieces=tuple(
            Piece(f"{n:02}", f"Piece {n} [/]", "fans" if n % 3 else "dress", shown=Shown(Known.UNSURE, 10 + n))
            for n in range(count)
        ),
    )


async def test_a_book_without_a_series_is_settled_by_its_counts(tmp_path: Path) -> None:
    with Session.create(tmp_path / "book.json", plain_book(4)) as session:
        app = ShowrunnerApp(session)
        async with app.run_test(size=(80, 24)) as pilot:
            await settle(pilot)
            await press(pilot, "escape")  # the guided start
            screen = await begin(pilot)
            assert screen.walk.open == ("03", "02", "01", "00")
            assert "Dress" in text_of(pilot, "#range")
            assert "Left now    0–2 pieces" in text_of(pilot, "#range")
            await press(pilot, "n")
            assert "Fans [old]" in text_of(pilot, "#range")
            await press(pilot, "n", "y", "y")
            told = text_of(pilot, "#doubt")
            assert "Dress: 1 piece. At first 0–2 were left." in told
            assert "Fans [old]: 1 piece. At first 0–2 were left." in told
            assert "Ledger" not in told


@pytest.fixture
def many(tmp_path: Path) -> Any:
    shutil.copy(demo_path(), tmp_path / "book.json")
    with Session.open(tmp_path / "book.json") as session:

        def add(book: Book) -> Book:
            for n in range(12):
                shown = Shown(Known.UNSURE, 51 + n)
                book = edits.put_piece(book, replace(book.piece("27"), id=f"x{n:02}", name=f"Doubt {n}", shown=shown))
            return book

        session.do("many doubts", add)
        yield ShowrunnerApp(session, demo=True)


@pytest.mark.slow
async def test_keys_answer_while_the_forecast_of_many_doubts_is_worked_out(
    many: ShowrunnerApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    runout, gate, asked = many.session.runout, threading.Event(), []

    def slow(**options: Any) -> Any:
        asked.append(options["book"])
        assert gate.wait(20)
        return runout(**options)

    monkeypatch.setattr(many.session, "runout", slow)
    async with many.run_test(size=(80, 24)) as pilot:
        await pilot.press("1", "d")
        await pilot.pause()
        screen = many.screen
        assert isinstance(screen, StocktakeScreen)
        assert "6–20 pieces" in text_of(pilot, "#range")
        await pilot.press("y")  # nothing is in view yet: it only begins the walk
        await pilot.pause()
        assert many.session.book.piece(screen.walk.now).shown.known is Known.UNSURE
        first = screen.walk.now
        assert many.session.book.piece(first).shown.odds_unshown == 50
        for key in "ynynyn":
            await pilot.press(key)
            await pilot.pause()
        assert "9–17 pieces" in text_of(pilot, "#range")
        assert len(screen.walk.settled) == 6
        assert screen.walk.settled[0] == first
        assert len(asked) == 1  # one forecast at a time
        in_view = screen.walk.now
        gate.set()
        await settle(pilot)
        await settle(pilot)
        assert screen.walk.now == in_view
        assert asked[-1] is many.session.book
        assert len(asked) == 2
        assert "studies" in text_of(pilot, "#range")
        assert "At first    6–20 pieces, 5–19 studies" in text_of(pilot, "#range")
        await pilot.press("escape")


@pytest.mark.slow
async def test_leaving_while_the_forecast_is_worked_out_does_no_harm(
    many: ShowrunnerApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    runout, gate = many.session.runout, threading.Event()

    def slow(**options: Any) -> Any:
        assert gate.wait(20)
        return runout(**options)

    monkeypatch.setattr(many.session, "runout", slow)
    async with many.run_test(size=(80, 24)) as pilot:
        await pilot.press("1", "d")
        await pilot.pause()
        await pilot.press("escape")
        await pilot.pause()
        gate.set()
        await settle(pilot)
        assert isinstance(many.screen, RegisterScreen)


@pytest.mark.slow
async def test_the_help_and_the_palette_know_the_keys(demo: ShowrunnerApp) -> None:
    actions = (*StocktakeScreen.ACTIONS, *EVERYWHERE)
    assert sum(action.footer for action in actions) <= 6
    keys = [key for action in actions for key in action.keys.split(",")]
    assert len(keys) == len(set(keys))
    async with demo.run_test(size=(120, 40)) as pilot:
        await begin(pilot)
        offered = {command.help for command in demo.get_system_commands(demo.screen)}
        assert {action.help for action in StocktakeScreen.ACTIONS} <= offered
        await press(pilot, "question_mark")
        assert isinstance(demo.screen, NoticeDialog)
        assert all(action.help in demo.screen.text for action in StocktakeScreen.ACTIONS)
