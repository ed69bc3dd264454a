"""The package of a study on the Ledger: read, edited, copied, kept as files, and the captions of its film."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from keys import settle, text_of
from textual import events
from textual.widgets import DataTable, Input, TextArea

from showrunner.domain import edits
from showrunner.domain.package import Chapter, Package, Part, Still
from showrunner.domain.piece import Claim, Confidence
from showrunner.domain.slot import SlotRef
from showrunner.tui.app import ShowrunnerApp
from showrunner.tui.dialogs import ChooseDialog, FormDialog, NoticeDialog
from showrunner.tui.film_view import FilmScreen
from showrunner.tui.ledger import LedgerScreen, study_out_on
from showrunner.tui.package_view import PackageScreen, TextDialog, dropped

DEMO = Path(__file__).parents[2] / "demo"


async def open_package(pilot: Any, app: ShowrunnerApp, study: str = "apron") -> PackageScreen:
    """The pane of a study, opened by its key on the row of the study."""
    await settle(pilot)
    screen = app.screen
    assert isinstance(screen, LedgerScreen)
    slot = app.session.book.episode(study).slot
    table = screen.query_one("#weeks", DataTable)
    row = next(at for at, week in enumerate(screen.rows) if any(cell.slot == slot for cell in week.cells))
    table.move_cursor(row=row, column=2)
    await pilot.press("c")
    await settle(pilot)
    assert isinstance(app.screen, PackageScreen)
    return app.screen


def kept(app: ShowrunnerApp, study: str = "apron") -> Package:
    return app.session.book.episode(study).package


async def choose(pilot: Any, app: ShowrunnerApp, value: str) -> None:
    """Take an option of the dialog by its value."""
    dialog = app.screen
    assert isinstance(dialog, ChooseDialog)
    at = [option for option, _ in dialog.options].index(value)
    await pilot.press(*["down"] * at, "enter")
    await settle(pilot)


async def test_what_is_missing_comes_first(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        pane = await open_package(pilot, demo)
        assert text_of(pilot, "#heading") == "“The apple-packer's apron”, comes out on 22 March 2026"
        told = text_of(pilot, "#lacks").splitlines()
        assert told[0] == "Missing:"
        assert [line.split()[1] for line in told[1:]] == ["The", "Chapters:", "Captions:", "Stills:"]
        assert text_of(pilot, "#description").startswith("Apple-packer's apron, about 1938, twill.")
        assert pane.focused is not None


async def test_it_opens_on_studies_that_are_out_and_on_nothing_else(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("c")
        await settle(pilot)
        assert isinstance(demo.screen, LedgerScreen)  # a talk stands there
        book = demo.session.book
        assert study_out_on(book, SlotRef(date(2025, 11, 30), "sunday")) == "feather-boa"
        assert study_out_on(book, SlotRef(date(2025, 12, 7), "sunday")) == ""
        demo.push_screen(PackageScreen(demo.session, "feather-boa"))
        await settle(pilot)
        assert "out since 30 November 2025" in text_of(pilot, "#heading")
        assert "banked: The end of a feather boa" in text_of(pilot, "#rest")


@pytest.mark.slow
async def test_her_words_stay_and_what_changed_is_offered(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await open_package(pilot, demo)
        await pilot.press("e")
        await settle(pilot)
        assert isinstance(demo.screen, TextDialog)
        area = demo.screen.query_one(TextArea)
        area.text = "I love this one.\n\n" + area.text
        await pilot.press("f2")
        await settle(pilot)
        assert kept(demo).description.startswith("I love this one.")
        assert text_of(pilot, "#description-part") == "Description, as you wrote it"
        claim = Claim("origin", "the Huon valley", Confidence.SURE, judged=date(2026, 3, 2))
        demo.session.do("x", lambda book: edits.add_claim(book, "29", claim))
        demo.screen.think()
        await settle(pilot)
        assert text_of(pilot, "#changes") == "o: 1 change in the book"
        await pilot.press("o")
        await settle(pilot)
        await choose(pilot, demo, "take")
        assert "I love this one." in kept(demo).description
        assert "Origin: the Huon valley." in kept(demo).description
        assert "orchard" not in kept(demo).description
        assert text_of(pilot, "#changes") == ""
        await pilot.press("u")
        await settle(pilot)
        assert "orchard" in kept(demo).description


@pytest.mark.slow
async def test_an_empty_description_is_the_templates_again_and_a_long_one_is_not_lost(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await open_package(pilot, demo)
        await pilot.press("e")
        await settle(pilot)
        demo.screen.query_one(TextArea).text = "Only mine."
        await pilot.press("escape")
        await settle(pilot)
        assert isinstance(demo.screen, ChooseDialog)  # it asks first
        await pilot.press("enter")
        await settle(pilot)
        await pilot.press("f2")
        await settle(pilot)
        assert kept(demo).description == "Only mine."
        await pilot.press("e")
        await settle(pilot)
        demo.screen.query_one(TextArea).text = " "
        await pilot.press("f2")
        await settle(pilot)
        assert (kept(demo).description, kept(demo).made) == ("", "")


@pytest.mark.slow
async def test_chapters_are_typed_and_a_wrong_line_keeps_the_dialog(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await open_package(pilot, demo)
        await pilot.press("c")
        await settle(pilot)
        demo.screen.query_one(TextArea).text = "0:00 Opening\nInside"
        await pilot.press("f2")
        await settle(pilot)
        assert "line 2" in text_of(pilot, "#dialog-error")
        demo.screen.query_one(TextArea).text = "0:00 Opening\n5:00 Inside\n1:00 Flat"
        await pilot.press("f2")
        await settle(pilot)
        assert kept(demo).chapters == (Chapter(0, "Opening"), Chapter(300, "Inside"), Chapter(60, "Flat"))
        assert "! 1:00 Flat does not come after 5:00" in text_of(pilot, "#chapters")


@pytest.mark.slow
async def test_title_and_run_time(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await open_package(pilot, demo)
        await pilot.press("t")
        await settle(pilot)
        assert isinstance(demo.screen, FormDialog)
        demo.screen.query_one("#f-title", Input).value = "An apron & its pencil"
        demo.screen.query_one("#f-run", Input).value = "12:45"
        await pilot.press("enter")
        await settle(pilot)
        assert (kept(demo).title, demo.session.book.episode("apron").run_seconds) == ("An apron & its pencil", 765)
        assert demo.session.book.episode("apron").title == "The apple-packer's apron"
        assert text_of(pilot, "#title") == "An apron & its pencil"


async def test_a_copy_is_never_claimed(demo: ShowrunnerApp, monkeypatch: pytest.MonkeyPatch) -> None:
    sent: list[str] = []
    told: list[str] = []
    async with demo.run_test(size=(80, 24)) as pilot:
        pane = await open_package(pilot, demo)
        monkeypatch.setattr(demo, "copy_to_clipboard", sent.append)
        monkeypatch.setattr(pane, "notify", lambda text, **_: told.append(text))
        await pilot.press("y")
        await settle(pilot)
        await choose(pilot, demo, "title.txt")
        assert sent == ["The apple-packer's apron"]
        assert told == ["Sent to the clipboard, if the terminal passes it on: title. f keeps files."]


async def test_files(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await open_package(pilot, demo)
        await pilot.press("f", "enter")
        await settle(pilot)
        folder = Path(demo.session.path).with_name("package-apron")
        assert (folder / "title.txt").read_text() == "The apple-packer's apron\n"
        assert not (folder / "chapters.vtt").exists()


@pytest.mark.slow
async def test_stills_links_page_and_corrections(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await open_package(pilot, demo)
        await pilot.press("m")
        await settle(pilot)
        await choose(pilot, demo, "bank 1")
        assert [(still.what, still.posted) for still in kept(demo).stills] == [("orchard stamp", None)]
        await pilot.press("m")
        await settle(pilot)
        await choose(pilot, demo, "post 0")
        assert kept(demo).stills[0].posted == date(2026, 3, 2)
        await pilot.press("l")
        await settle(pilot)
        demo.screen.query_one("#f-related", Input).value = "let down twice; the skating jacket, sleeves exchanged"
        await pilot.press("enter")
        await settle(pilot)
        assert kept(demo).related == ("gymslip", "skating-jacket")
        await pilot.press("l")
        await settle(pilot)
        line = demo.screen.query_one("#f-related", Input)
        assert line.value == "Let down twice: the gymslip, The skating jacket, sleeves exchanged"
        await pilot.press("enter")
        await settle(pilot)
        assert kept(demo).related == ("gymslip", "skating-jacket")
        await pilot.press("m")
        await settle(pilot)
        await choose(pilot, demo, "own ")
        demo.screen.query_one("#f-piece", Input).value = "rumpled"
        demo.screen.query_one("#f-what", Input).value = "A pencil behind the ear"
        await pilot.press("enter")
        await settle(pilot)
        assert "no piece 'rumpled'" in text_of(pilot, "#n-piece")
        demo.screen.query_one("#f-piece", Input).value = "apron"
        await pilot.press("enter")
        await settle(pilot)
        assert kept(demo).stills[-1] == Still("29", "A pencil behind the ear")
        assert "no address is known of “Let down twice: the gymslip”" in text_of(pilot, "#lacks")
        await pilot.press("p")
        await settle(pilot)
        await choose(pilot, demo, "all")
        assert len(demo.session.book.series[0].listed) == 35
        before = demo.session.book
        await pilot.press("d")
        await settle(pilot)
        assert demo.session.book is before  # there is none


@pytest.mark.slow
async def test_a_correction_is_put_down_as_done(demo: ShowrunnerApp) -> None:
    old = Claim("maker", "Tarn", Confidence.POSSIBLE, judged=date(2023, 1, 1))
    new = Claim("maker", "Ellery", Confidence.PROBABLE, judged=date(2026, 3, 1))
    for claim in (old, new):
        demo.session.do("x", lambda book, claim=claim: edits.add_claim(book, "25", claim))
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        demo.push_screen(PackageScreen(demo.session, "feather-boa"))
        await settle(pilot)
        assert "maker of Feather boa is probably Ellery, not Tarn" in text_of(pilot, "#rest")
        await pilot.press("d")
        await settle(pilot)
        assert [done.done for done in kept(demo, "feather-boa").corrected] == [date(2026, 3, 2)]
        assert "Corrections" not in text_of(pilot, "#rest")


@pytest.mark.slow
async def test_captions_are_taken_line_by_line(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        pane = await open_package(pilot, demo, "waistcoats")
        await pilot.press("v")
        await settle(pilot)
        for missing in (str(DEMO / "none.vtt"), "9" * 5_000):
            demo.screen.query_one("#f-file", Input).value = missing
            await pilot.press("enter")
            await settle(pilot)
            assert isinstance(demo.screen, FormDialog)
        demo.screen.query_one("#f-file", Input).value = str(DEMO / "waistcoats-two-missed.srt")
        await pilot.press("enter")
        await settle(pilot)
        assert isinstance(demo.screen, FilmScreen)
        before = demo.session.book
        assert "No cue seems to say 2 of 18" in text_of(pilot, "#told")
        assert text_of(pilot, "#cue").startswith("The nearest cue: ")
        await pilot.press("w")
        await settle(pilot)
        assert demo.session.book is before  # nothing is marked
        await pilot.press("a", "w")
        await settle(pilot)
        assert demo.screen is pane
        assert (len(kept(demo, "waistcoats").heard), len(kept(demo, "waistcoats").chapters)) == (16, 5)
        assert kept(demo, "waistcoats").chapters[0].part is Part.FLAT
        assert "0:00 Lying flat" in text_of(pilot, "#chapters")


@pytest.mark.slow
async def test_marks_that_were_not_taken_are_asked_about(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(120, 40)) as pilot:
        pane = await open_package(pilot, demo, "waistcoats")
        pane._hold(DEMO / "waistcoats-all.vtt")
        await settle(pilot)
        await pilot.press("enter", "escape")
        await settle(pilot)
        assert isinstance(demo.screen, ChooseDialog)
        await choose(pilot, demo, "drop")
        assert demo.screen is pane
        assert kept(demo, "waistcoats") == Package()


async def test_a_file_is_dropped_in(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        pane = await open_package(pilot, demo, "waistcoats")
        pane.post_message(events.Paste(f"'{DEMO / 'waistcoats-all.vtt'}'\n"))
        await settle(pilot)
        assert isinstance(demo.screen, FilmScreen)
        await pilot.press("escape")
        await settle(pilot)
        for nothing in ("some words that are no file", f"/{'9' * 5_000}.vtt"):
            pane.post_message(events.Paste(nothing))
            await settle(pilot)
            assert demo.screen is pane


@pytest.mark.parametrize(
    ("text", "path"),
    [
        ("/a/film.vtt", "/a/film.vtt"),
        (" '/a/my film.SRT' \n", "/a/my film.SRT"),
        ("/a/my\\ film.srt", "/a/my film.srt"),
        ("file:///a/my%20film.vtt", "/a/my film.vtt"),
        ("/a/film.mp4", None),
        ("two\nlines.vtt", None),
        ("~nobody-here/film.vtt", None),
        ("half \ud800.vtt", None),
        ("", None),
    ],
)
def test_paths_as_terminals_paste_them(text: str, path: str | None) -> None:
    assert dropped(text) == (Path(path) if path else None)


async def test_keys_are_told(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await open_package(pilot, demo)
        await pilot.press("question_mark")
        await settle(pilot)
        assert isinstance(demo.screen, NoticeDialog)


@pytest.mark.slow
async def test_the_template_is_a_house_rule(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("h")
        await settle(pilot)
        await choose(pilot, demo, "template")
        demo.screen.query_one(TextArea).text = "$peices"
        await pilot.press("f2")
        await settle(pilot)
        assert "nothing is known for $peices" in text_of(pilot, "#dialog-error")
        demo.screen.query_one(TextArea).text = "$title, by $presenter"
        await pilot.press("f2")
        await settle(pilot)
        assert demo.session.book.house.description == "$title, by $presenter"
        await pilot.press("h")
        await settle(pilot)
        await choose(pilot, demo, "package")
        demo.screen.query_one("#f-posts_a_day", Input).value = "2"
        await pilot.press("enter")
        await settle(pilot)
        assert demo.session.book.house.posts_a_day == 2


@pytest.mark.slow
async def test_undo_works_in_the_pane(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await open_package(pilot, demo)
        demo.session.do("x", lambda book: replace(book, clock=date(2026, 3, 3)))
        await pilot.press("u")
        await settle(pilot)
        assert demo.session.book.clock == date(2026, 3, 2)
        await pilot.press("u")  # there is nothing more to take back
        await settle(pilot)
        assert isinstance(demo.screen, PackageScreen)
