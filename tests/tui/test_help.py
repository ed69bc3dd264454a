"""The help: the keys of a screen, and what its words mean."""

from __future__ import annotations

import re
from typing import Any

import pytest
from keys import settle
from textual.widgets import Input

from showrunner.domain.glossary import GLOSSARY, Where, words_on
from showrunner.domain.naming import bare
from showrunner.tui.app import ShowrunnerApp
from showrunner.tui.base import BookScreen
from showrunner.tui.help_view import HelpDialog
from showrunner.tui.ledger import LedgerScreen
from showrunner.tui.package_view import PackageScreen
from showrunner.tui.register import RegisterScreen
from showrunner.tui.runout import RunOutScreen
from showrunner.tui.set_up import SetUpScreen
from showrunner.tui.stocktake import StocktakeScreen
from showrunner.tui.wants import WantsScreen

SCREENS = (LedgerScreen, RegisterScreen, SetUpScreen, RunOutScreen, WantsScreen, StocktakeScreen)


def listed(dialog: Any) -> list[str]:
    return [word for word, _ in dialog.lines[1]]


def holds(text: str, word: str) -> bool:
    """Whether a text has the word, or the same in the plural."""
    return any(re.search(rf"\b{part}(s|es)?\b", bare(text)) for part in map(bare, word.split(",")))


@pytest.mark.parametrize("screen", SCREENS)
def test_each_word_in_the_keys_of_a_screen_is_explained_there(screen: type[BookScreen]) -> None:
    assert screen.WHERE
    there = words_on(screen.WHERE)
    ordinary = {"dark", "form", "view", "kind", "record", "gap", "idea", "shown, unsure", "collection"}
    ordinary |= {"shot, take", "still", "set-up"}  # verbs, and the name of a screen
    missing = {
        term.word
        for term in GLOSSARY
        for action in screen.ACTIONS
        if holds(action.help, term.word) and term not in there and term.word not in ordinary
    }
    assert not missing


@pytest.mark.slow
async def test_the_words_of_the_screen_stand_below_its_keys(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        for key, where in (("1", Where.REGISTER), ("2", Where.LEDGER), ("4", Where.RUN_OUT), ("5", Where.WANTS)):
            await pilot.press(key, "question_mark")
            await settle(pilot)
            assert isinstance(demo.screen, HelpDialog)
            assert listed(demo.screen) == [term.word for term in words_on(where)]
            await pilot.press("enter")
            await settle(pilot)
            assert isinstance(demo.screen, BookScreen)
        demo.push_screen(PackageScreen(demo.session, "apron"))
        await settle(pilot)
        await pilot.press("question_mark")
        await settle(pilot)
        assert listed(demo.screen) == [term.word for term in words_on(Where.PACKAGE)]


@pytest.mark.slow
async def test_what_is_typed_finds_keys_and_words_of_any_screen(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("question_mark")
        await settle(pilot)
        help = demo.screen
        assert isinstance(help, HelpDialog)
        await pilot.press(*"UNEVEN")
        await settle(pilot)
        assert help.lines == ((), (("unevenness", next(t.meaning for t in GLOSSARY if t.word == "unevenness")),))
        assert "unevenness: How far dates" in help.text
        help.query_one("#find", Input).value = "touch"
        await settle(pilot)
        assert listed(help)[0] == "touch"  # a word of other screens
        assert "gate" in listed(help)  # in whose meaning it stands
        assert not help.lines[0]
        help.query_one("#find", Input).value = "another slot by hand"
        await settle(pilot)
        assert help.lines == ((("m", "Move the study to another slot by hand."),), ())
        help.query_one("#find", Input).value = "zzz"
        await settle(pilot)
        assert help.lines == ((), ())
        help.query_one("#find", Input).value = ""
        await settle(pilot)
        assert listed(help) == [term.word for term in words_on(Where.LEDGER)]
        assert ("m", "Move the study to another slot by hand.") in help.lines[0]


@pytest.mark.slow
async def test_the_help_is_turned_with_the_arrows_and_pages(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("question_mark")
        await settle(pilot)
        box = demo.screen.query_one("#dialog")
        ways = [0]
        for key in ("down", "pagedown", "pageup"):
            await pilot.press(key)
            await settle(pilot)
            ways.append(round(box.scroll_offset.y))
        assert ways[0] < ways[1] == ways[3] < ways[2]
        await pilot.press("pagedown", "p")
        await settle(pilot)
        assert box.scroll_offset.y == 0
