"""Keys that come faster than they are answered: each is answered in its turn, and a dialog finishes once."""

from __future__ import annotations

import asyncio
from typing import Any

import pytest
from keys import Keys, burst, settle
from textual.events import Paste
from textual.widgets import Button, Input

from showrunner.tui import turns
from showrunner.tui.app import ShowrunnerApp
from showrunner.tui.base import BookScreen
from showrunner.tui.choice_line import ChoiceLine
from showrunner.tui.dialogs import ChooseDialog, Dialog, Field, FormDialog, NoticeDialog
from showrunner.tui.ledger import LedgerScreen
from showrunner.tui.register import RegisterScreen
from showrunner.tui.work_view import WorkScreen


async def register(pilot: Keys) -> None:
    await settle(pilot)
    await pilot.press("1")
    await settle(pilot)


def steps(app: ShowrunnerApp) -> list[str]:
    """What undo would take back, the last first; nothing is left of it afterwards."""
    labels = []
    while (label := app.session.undo_label) is not None:
        labels.append(label)
        app.session.undo()
    return labels


async def test_a_form_is_opened_filled_and_saved_once_in_one_burst(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await register(pilot)
        await burst(pilot, "l", "tab", *"40", "tab", "tab", *"a visitor", "enter", "enter", "enter")
        assert type(demo.screen) is RegisterScreen
        [light] = demo.session.book.pieces[0].exposures
        assert (light.lux_hours, light.touches, light.what) == (40, 0, "a visitor")
        assert len(steps(demo)) == 1


@pytest.mark.slow
async def test_text_goes_into_the_lines_it_was_meant_for(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await register(pilot)
        await burst(pilot, "c", *"lace", "tab", *"Bucks point", "tab", *"su", "enter", *"the net")
        assert isinstance(demo.screen, FormDialog)
        typed = [demo.screen.query_one(f"#f-{name}", Input).value for name in ("about", "value", "basis")]
        assert typed == ["lace", "Bucks point", "the net"]
        assert demo.screen.query_one("#f-confidence", ChoiceLine).value == "sure"
        demo.post_message(Paste(" at the neck"))
        await burst(pilot, *"!", "enter", "enter")
        [claim] = [claim for claim in demo.session.book.pieces[0].claims if claim.about == "lace"]
        assert claim.basis == "the net at the neck!"


async def test_two_enters_at_once_choose_once(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await register(pilot)
        screen = demo.screen
        assert isinstance(screen, RegisterScreen)
        made = len(demo.session.book.open_studies)
        piece = next(p for p in demo.session.book.pieces if demo.session.book.study_of_piece(p.id) is None)
        await burst(pilot, "home", "delete", "down", "enter", "enter", "enter")
        assert demo.screen is screen
        assert len(demo.session.book.open_studies) <= made
        assert len(steps(demo)) <= 1
        assert piece in demo.session.book.pieces


@pytest.mark.parametrize("save", [True, False])
async def test_a_button_pressed_twice_at_once_is_pressed_once(demo: ShowrunnerApp, save: bool) -> None:
    saved: list[Any] = []
    answers: list[Any] = []
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        form = FormDialog("A form", [Field("a", "a", "as it was")], saved.append)
        await demo.push_screen(form, answers.append)
        button = form.query_one("#save" if save else "#leave", Button)
        button.press()
        button.press()
        if save:
            form.finish()
        await pilot.pause()
        assert type(demo.screen) is LedgerScreen
        assert answers == [True if save else None]
        assert len(saved) == save


async def test_a_dialog_answers_once_and_takes_none_but_itself_away(demo: ShowrunnerApp) -> None:
    answers: list[Any] = []
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        below, above = NoticeDialog("below", "text"), ChooseDialog("above", [("a", "a"), ("b", "b")])
        await demo.push_screen(below, answers.append)
        await demo.push_screen(above, answers.append)
        below.dismiss("first")
        below.dismiss("second")
        await pilot.pause()
        assert demo.screen is above
        assert answers == []
        above.dismiss("third")
        above.dismiss("fourth")
        await pilot.pause()
        assert type(demo.screen) is LedgerScreen
        assert sorted(answers) == ["first", "third"]


@pytest.mark.parametrize("at_once", [True, False])
async def test_a_dialog_that_ends_while_it_opens_leaves_the_window_as_it_was(
    demo: ShowrunnerApp, at_once: bool
) -> None:
    answers: list[Any] = []

    class Hasty(ChooseDialog):
        def on_mount(self) -> None:
            self.dismiss("from within")
            super().on_mount()

    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        dialog = ChooseDialog("?", [("a", "a")]) if at_once else Hasty("?", [("a", "a")])
        demo.push_screen(dialog, answers.append)
        if at_once:
            dialog.dismiss("from without")
        await pilot.pause()
        assert type(demo.screen) is LedgerScreen
        assert answers == ["from without" if at_once else "from within"]
        await burst(pilot, "question_mark", "escape", "1")
        await settle(pilot)
        assert type(demo.screen) is RegisterScreen


@pytest.mark.slow
async def test_an_enter_held_down_ticks_nothing_below_the_form_it_saved(demo: ShowrunnerApp) -> None:
    """In a shoot Enter says a point; those that came with the Enter that saved the condition say none."""
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("3")
        await settle(pilot)
        await burst(pilot, "f")
        await burst(pilot, "enter", "enter", "enter")
        await burst(pilot, *["space"] * 4)
        await burst(pilot, "c", *"hem: one tear")
        assert isinstance(demo.screen, FormDialog)

        def written() -> int:
            return sum(len(piece.condition) for piece in demo.session.book.pieces)

        log, before = demo.session.book.log, written()
        await burst(pilot, *["enter"] * 5)
        assert isinstance(demo.screen, BookScreen)
        assert demo.session.book.log == log
        assert written() == before + 2  # the hem, and all else as it was


@pytest.mark.slow
async def test_a_key_that_is_never_answered_does_not_hold_the_next_for_ever(
    demo: ShowrunnerApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def never(_: object) -> None:
        await asyncio.Event().wait()

    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        monkeypatch.setattr(turns, "settled", never)
        monkeypatch.setattr(turns, "MOST_SECONDS", 0.01)
        await burst(pilot, "1", "question_mark")
        while not isinstance(demo.screen, NoticeDialog):
            await asyncio.sleep(0.01)
        assert isinstance(demo.screen_stack[0], RegisterScreen)


# Leaving what was typed


async def typed(pilot: Keys) -> FormDialog:
    await register(pilot)
    await burst(pilot, "c", *"lace")
    form = pilot.app.screen
    assert isinstance(form, FormDialog)
    return form


@pytest.mark.slow
@pytest.mark.parametrize("how", ["escape", "ctrl+q", "button"])
async def test_leaving_a_form_with_changes_asks_first(demo: ShowrunnerApp, how: str) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        form = await typed(pilot)
        book = demo.session.book

        async def leave(pilot: Keys) -> None:
            if how == "button":
                form.query_one("#leave", Button).press()
                await pilot.pause()
            else:
                await burst(pilot, how)
            assert isinstance(demo.screen, ChooseDialog)

        for back in ("escape", "enter"):
            await leave(pilot)
            await burst(pilot, back)
            assert demo.screen is form
            assert form.query_one("#f-about", Input).value == "lace"
        await leave(pilot)
        await burst(pilot, "ctrl+q", "ctrl+q")  # asked already
        assert [type(screen) for screen in demo.screen_stack[1:]] == [FormDialog, ChooseDialog]
        await burst(pilot, "down", "enter")
        if how == "ctrl+q":
            assert demo._exit
        else:
            assert type(demo.screen) is RegisterScreen
        assert demo.session.book is book


@pytest.mark.slow
@pytest.mark.parametrize("keys", [("escape",), ("x", "backspace", "escape")])
async def test_a_form_as_it_was_is_left_at_once(demo: ShowrunnerApp, keys: tuple[str, ...]) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await register(pilot)
        await burst(pilot, "c", *keys)
        assert type(demo.screen) is RegisterScreen


async def test_quitting_without_changes_is_not_asked_about(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await register(pilot)
        await burst(pilot, "c", "ctrl+q")
        assert demo._exit


async def test_the_palette_waits_until_a_dialog_is_done(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        form = await typed(pilot)
        await burst(pilot, "ctrl+p")
        assert demo.screen is form
        await burst(pilot, "escape", "down", "enter")
        await burst(pilot, "ctrl+p")
        assert not isinstance(demo.screen, Dialog | BookScreen)


@pytest.mark.slow
async def test_work_is_put_down_once_for_each_list_that_is_seen(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("k")
        await settle(pilot)
        screen = demo.screen
        assert isinstance(screen, WorkScreen)
        again: list[bool] = []
        screen.think = lambda: again.append(True)  # type: ignore[method-assign, assignment, return-value]
        await burst(pilot, "enter", "enter", "enter")
        assert again
        assert len(steps(demo)) == 1
