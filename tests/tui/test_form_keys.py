"""Forms: where Enter leads, choices by letters, what is folded away, what is refused, and one after the other."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest
from keys import Keys, settle, text_of
from textual.widgets import Input
from textual.widgets._toast import Toast

from showrunner.domain import edits
from showrunner.errors import BadInput
from showrunner.tui import entry
from showrunner.tui.app import ShowrunnerApp
from showrunner.tui.base import BookScreen
from showrunner.tui.choice_line import ChoiceLine
from showrunner.tui.dialogs import ChooseDialog, Dialog, Field, FormDialog, NoticeDialog, blaming
from showrunner.tui.key_line import KeyLine

DAYS = tuple((name, name.lower()) for name in ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday"))


class Saved(list[dict[str, Any]]):
    """What forms were saved with."""

    def __call__(self, answers: Mapping[str, Any]) -> None:
        self.append(dict(answers))


def form(save: Any, **more: Any) -> FormDialog:
    fields = [
        Field("name", "name", "", entry.words, needed=True),
        Field("day", "day", "monday", options=DAYS, needed=True),
        Field("count", "count", "1", entry.whole(1, 9), needed=True),
        Field("notes", "notes"),
        Field("rare", "rare", "", folded=True),
        Field("depth", "depth", "2", entry.whole(1, 9), folded=True),
    ]
    return FormDialog("A form", fields, save, **more)


async def open_form(demo: ShowrunnerApp, pilot: Keys, dialog: FormDialog) -> FormDialog:
    await settle(pilot)
    demo.push_screen(dialog)
    await settle(pilot)
    return dialog


def focused(demo: ShowrunnerApp) -> str:
    return (demo.focused.id or "") if demo.focused else ""


@pytest.mark.slow
async def test_enter_goes_from_line_to_line_and_saves_in_the_last_that_is_needed(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        saved = Saved()
        await open_form(demo, pilot, form(saved))
        seen = [focused(demo)]
        for text in ("cap", "th", "3"):
            assert ("Enter goes on" in text_of(pilot, "#enter-goes-on")) == (text != "3")
            await pilot.press(*text, "enter")
            await settle(pilot)
            seen.append(focused(demo))
        assert seen[:3] == ["f-name", "f-day", "f-count"]
        assert saved == [{"name": "cap", "day": "thursday", "count": 3, "notes": "", "rare": "", "depth": 2}]


async def test_enter_below_the_needed_lines_saves_and_a_choice_leads_to_the_next_line(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        saved = Saved()
        fields = [Field("one", "one", "a"), Field("day", "day", "monday", options=DAYS), Field("two", "two")]
        await open_form(demo, pilot, FormDialog("A form", fields, saved))
        await pilot.press("down", "enter")
        await settle(pilot)
        assert (focused(demo), saved) == ("f-two", [])
        await pilot.press("up", "up", "enter")
        await settle(pilot)
        assert [answers["one"] for answers in saved] == ["a"]


@pytest.mark.slow
async def test_a_line_that_cannot_be_keeps_the_keys_and_is_chosen_whole(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        saved = Saved()
        dialog = await open_form(demo, pilot, form(saved))
        await pilot.press("enter")
        await settle(pilot)
        assert focused(demo) == "f-name"
        assert "nothing is written" in text_of(pilot, "#n-name")
        await pilot.press(*"cap", "enter", "enter", *"77", "enter")
        await settle(pilot)
        count = dialog.query_one("#f-count", Input)
        assert (focused(demo), count.selected_text, saved) == ("f-count", "77", [])
        await pilot.press("5", "enter")  # in the place of what was refused
        await settle(pilot)
        assert [answers["count"] for answers in saved] == [5]


@pytest.mark.parametrize(("line", "shown"), [("depth", "f-depth"), ("count", "f-count"), ("", "f-notes")])
async def test_what_is_refused_on_saving_is_chosen_even_if_it_was_folded(
    demo: ShowrunnerApp, line: str, shown: str
) -> None:
    def save(_: Mapping[str, Any]) -> None:
        with blaming(line):
            raise BadInput("that cannot be", "form", "choose another")

    async with demo.run_test(size=(80, 24)) as pilot:
        dialog = await open_form(demo, pilot, form(save))
        dialog.query_one("#f-name", Input).value = "cap"
        dialog.query_one("#f-notes").focus()
        await pilot.press("enter")
        await settle(pilot)
        assert focused(demo) == shown
        assert text_of(pilot, "#dialog-error") == "form: that cannot be; choose another."
        chosen = dialog.query_one(f"#{shown}", Input)
        assert chosen.selected_text == chosen.value
        assert not dialog.finished


@pytest.mark.slow
async def test_what_is_rarely_needed_is_folded_away_until_it_is_asked_for(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        saved = Saved()
        dialog = await open_form(demo, pilot, form(saved))
        assert [field.name for field in dialog.folded] == ["rare", "depth"]
        assert text_of(pilot, "#more") == "▸ more (F2): rare · depth"
        assert not dialog.query_one("#l-depth").display
        await pilot.press("f2")
        await settle(pilot)
        assert (focused(demo), dialog.folded) == ("f-rare", [])
        assert dialog.query_one("#l-depth").display
        assert not dialog.query_one("#more").display
        await pilot.press(*"hem", "shift+tab", "shift+tab", "shift+tab", "shift+tab", *"cap", "enter", "enter", "enter")
        await settle(pilot)
        assert [answers["rare"] for answers in saved] == ["hem"]


@pytest.mark.slow
async def test_a_choice_answers_to_letters_arrows_and_its_list(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        dialog = await open_form(demo, pilot, form(Saved()))
        line = dialog.query_one("#f-day", ChoiceLine)
        line.focus()

        async def after(*keys: str) -> str:
            await pilot.press(*keys)
            await settle(pilot)
            return line.value

        assert await after("t") == "tuesday"
        assert await after("h") == "thursday"  # the letters go on
        assert await after("backspace", "t") == "tuesday"
        assert await after("t") == "thursday"  # the same letter again: the next that begins so
        assert await after("w") == "wednesday"  # no day begins with "ttw": anew
        assert await after("z") == "wednesday"
        assert await after("right", "right", "right") == "monday"  # round in a circle
        assert await after("left") == "friday"
        assert await after("q") == "friday"  # no letter leaves the form
        assert demo.screen is dialog
        await pilot.press("space")
        await settle(pilot)
        assert isinstance(demo.screen, ChooseDialog)
        assert await after("up", "enter") == "thursday"
        assert demo.screen is dialog
        await pilot.press("enter")
        await settle(pilot)
        assert focused(demo) == "f-count"  # and no list again


async def test_letters_find_the_beginning_of_a_label_before_that_of_a_later_word() -> None:
    line = ChoiceLine((("any shoe", "a"), ("a shawl", "b"), ("shoe", "c")), "a", id="x")
    assert line.at == 0
    line.on_key(_typed("s"))
    assert line.value == "c"
    line.on_key(_typed("h"))
    line.on_key(_typed("a"))
    assert line.value == "b"


def _typed(letter: str) -> Any:
    from textual.events import Key

    return Key(letter, letter)


@pytest.mark.slow
async def test_a_form_comes_back_for_another_until_nothing_is_typed(demo: ShowrunnerApp) -> None:
    saved, ended = Saved(), []

    def fields() -> list[Field]:
        return [
            Field("name", "name", "", entry.words, needed=True),
            Field("day", "day", "monday", options=DAYS),
            Field("number", "number", str(len(saved) + 1), folded=True),
        ]

    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        dialog = FormDialog("One", fields(), saved, again=lambda: (fields(), f"Kept: {saved[-1]['name']}."))
        demo.push_screen(dialog, ended.append)
        await settle(pilot)
        await pilot.press(*"cap", "down", "right", "f2", "enter")
        await settle(pilot)
        assert saved == [{"name": "cap", "day": "tuesday", "number": "1"}]
        assert text_of(pilot, "#intro") == "Kept: cap."
        assert (dialog.query_one("#f-name", Input).value, focused(demo)) == ("", "f-name")
        assert dialog.query_one("#f-day", ChoiceLine).value == "monday"
        assert not dialog.query_one("#l-number").display  # folded again
        await pilot.press(*"robe", "enter")
        await settle(pilot)
        assert saved[-1] == {"name": "robe", "day": "monday", "number": "2"}
        await pilot.press(*"x", "escape")
        await settle(pilot)
        assert isinstance(demo.screen, ChooseDialog)  # what is typed is asked about
        await pilot.press("enter", "backspace", "enter")
        await settle(pilot)
        assert (ended, len(saved), demo.screen is dialog) == ([True], 2, False)


# What is told in passing


def covered(app: ShowrunnerApp) -> list[str]:
    """What the notices in view cover of what answers to keys."""
    toasts = [toast.region for toast in app.screen.query(Toast)]
    assert toasts
    assert all(region.height for region in toasts)
    foot = [*app.screen.query(KeyLine), *app.screen.query("#foot"), *app.screen.query("#next")]
    rest = [*app.screen.query("#dialog"), *app.screen.query("DataTable")]
    return [str(part) for part in (*foot, *rest) for toast in toasts if part.region.overlaps(toast)]


@pytest.mark.slow
@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
@pytest.mark.parametrize("key", ["1", "2", "3", "4", "5"])
async def test_a_notice_covers_no_key_of_a_screen(demo: ShowrunnerApp, key: str, size: tuple[int, int]) -> None:
    async with demo.run_test(size=size, notifications=True) as pilot:
        await settle(pilot)
        await pilot.press(key)
        await settle(pilot)
        demo.notify("Something is told in passing, and it takes more than a line to say all that there is to say.")
        demo.notify("And something else.", severity="error")
        await settle(pilot)
        assert isinstance(demo.screen, BookScreen)
        assert not covered(demo)
        assert demo.screen.query_one(KeyLine).region.bottom == size[1]


@pytest.mark.slow
@pytest.mark.parametrize("dialog", [lambda: form(Saved()), lambda: NoticeDialog("All", "line\n" * 40)])
async def test_a_notice_covers_nothing_of_a_dialog(demo: ShowrunnerApp, dialog: Any) -> None:
    async with demo.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        demo.push_screen(dialog())
        await settle(pilot)
        demo.notify("Something is told in passing.")
        await settle(pilot)
        assert isinstance(demo.screen, Dialog)
        assert not covered(demo)
        if buttons := demo.screen.query("#save"):
            assert 0 < buttons.first().region.bottom <= 23


# Pieces on the Register


@pytest.mark.slow
async def test_removing_a_piece_names_its_study_and_takes_it_out_of_it(demo: ShowrunnerApp) -> None:
    book = demo.session.book
    pair = next(study for study in book.open_studies if len(study.pieces) == 2)
    one, other = pair.pieces
    for pin in book.pins:
        demo.session.do("free", lambda book, pin=pin: edits.unpin(book, pin.id))  # type: ignore[misc]
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("1")
        await settle(pilot)
        demo.screen._go_to(one)  # type: ignore[attr-defined]
        await pilot.press("delete")
        await settle(pilot)
        assert isinstance(demo.screen, ChooseDialog)
        assert demo.screen.intro == f"The study “{pair.title}” shows it."
        assert f"the study then shows {book.piece(other).name} alone" in demo.screen.options[1][1]
        before = demo.session.book
        await pilot.press("down", "enter")
        await settle(pilot)
        assert demo.session.book.find("pieces", one) is None
        assert demo.session.book.episode(pair.id).pieces == (other,)
        demo.session.undo()  # one step
        assert demo.session.book == before


@pytest.mark.slow
async def test_a_closed_collection_says_so_when_a_piece_is_added(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("1", "a")
        await settle(pilot)
        assert isinstance(demo.screen, FormDialog)
        assert "Historic dress is closed: nothing more is bought for it." in text_of(pilot, "#intro")
        assert focused(demo) == "f-name"
        await pilot.press(*"Cap", "tab", *"not s", "tab", "tab", *"1905?", "tab", "tab", "tab", *"Q 1", "enter")
        await settle(pilot)
        piece = demo.session.book.pieces[-1]
        assert (piece.name, piece.shown.known, piece.box) == ("Cap", "unsure", "Q 1")
        assert demo.session.book.boxes[-1].id == "Q 1"  # a new box, in the same step
        demo.session.undo()
        assert demo.session.book.find("boxes", "Q 1") is None
