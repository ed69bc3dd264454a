"""The Set-up when a shoot has to stop, with one hand, and what is read and printed of it afterwards."""

from __future__ import annotations

from dataclasses import replace
from datetime import time
from decimal import Decimal

import pytest
from keys import Keys, text_of
from test_set_up import begin, screen, write
from textual.widgets import DataTable, Input

from showrunner.domain.episode import Stage
from showrunner.domain.shoot import LogKind
from showrunner.errors import CannotWrite
from showrunner.planning.pickups import waiting_pickups
from showrunner.tui import set_up_past
from showrunner.tui.app import ShowrunnerApp
from showrunner.tui.base import row_under_cursor
from showrunner.tui.dialogs import ChooseDialog, FormDialog, NoticeDialog
from showrunner.tui.lines import RowTable
from showrunner.tui.set_up_dialogs import LOST_TOLD, ConditionDialog, ReasonDialog
from showrunner.tui.set_up_past import RecordDialog


async def laid_out(pilot: Keys, *downs: str) -> None:
    """A shoot whose first piece is laid out, its condition put down as it was."""
    await begin(pilot, *downs)
    await pilot.press("space", "space", "a")
    await pilot.pause()


def told(app: ShowrunnerApp) -> list[str]:
    return [str(note.message) for note in app._notifications]


@pytest.mark.slow
async def test_box_it_now_then_close_and_all_can_be_read(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await laid_out(pilot)
        await pilot.press("space", "X")
        await pilot.pause()
        dialog = demo.screen
        assert isinstance(dialog, ReasonDialog)
        lost = dialog.intro.splitlines()
        assert lost[0] == "Given up, to be picked up another day:"
        assert len(lost) == LOST_TOLD + 1
        await pilot.press("escape")
        await pilot.pause()
        assert demo.session.book.log[-1].kind is LogKind.DONE
        await pilot.press("X", "enter")
        await pilot.pause()
        assert demo.session.book.log[-1].touch is not None
        assert any(text.startswith("11 pickups: ") for text in told(demo))
        await pilot.press("space", "a", "space")
        await pilot.pause()
        assert isinstance(demo.screen, NoticeDialog)
        assert "2 touches" in demo.screen.text
        assert demo.screen.text.count("waits, ") == len(waiting_pickups(demo.session.book)) == 11
        await pilot.press("escape", "P")
        await pilot.pause()
        assert isinstance(demo.screen, ChooseDialog)
        assert len(demo.screen.options) == 11
        await pilot.press("escape", "L", "enter")
        await pilot.pause()
        assert isinstance(demo.screen, RecordDialog)
        assert "What happened" in demo.screen.text
        assert "Mon 2 Mar 2026" in demo.screen.text
        assert not demo.session.check()


@pytest.mark.slow
async def test_closing_with_a_piece_out_boxes_it_first(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await laid_out(pilot)
        await pilot.press("z")
        await pilot.pause()
        assert isinstance(demo.screen, ReasonDialog)
        assert told(demo)[-1] == "First back into the boxes; then z closes the shoot."
        await pilot.press("enter")
        await pilot.pause()
        await pilot.press("space", "a", "z")
        await pilot.pause()
        assert demo.session.book.open_shoot is None


@pytest.mark.slow
async def test_of_two_pieces_one_is_boxed_or_both(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await begin(pilot, "down")
        for _ in range(60):
            filming = screen(pilot).filming
            assert filming
            if len(filming.state().out) == 2:
                break
            await pilot.press("space")
            await pilot.pause()
            if isinstance(demo.screen, ConditionDialog):
                await pilot.press("a")
            elif isinstance(demo.screen, ReasonDialog):
                await pilot.press("enter")
            await pilot.pause()
        filming = screen(pilot).filming
        assert filming
        assert len(filming.state().out) == 2
        await pilot.press("X")
        await pilot.pause()
        assert isinstance(demo.screen, ChooseDialog)
        assert demo.screen.options[0] == ("", "all 2 of them")
        await pilot.press("enter")
        await pilot.pause()
        assert isinstance(demo.screen, ReasonDialog)
        assert "(Barnaby)" in demo.screen.intro
        await pilot.press("enter")
        await pilot.pause()
        assert not filming.state().out
        await pilot.press("u", "X", "down", "enter", "enter")
        await pilot.pause()
        assert len(filming.state().out) == 1


@pytest.mark.slow
async def test_nothing_out_is_said(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await begin(pilot)
        await pilot.press("X")
        await pilot.pause()
        assert told(demo)[-1] == "Nothing is out of its box."


@pytest.mark.slow
async def test_what_changed_goes_into_an_empty_field_beside_the_old_words(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await begin(pilot)
        await pilot.press("space", "space", "c")
        await pilot.pause()
        dialog = demo.screen
        assert isinstance(dialog, FormDialog)
        assert dialog.query_one("#f-condition", Input).value == ""
        assert "On record: all: sound." in dialog.intro
        await write(pilot, "condition", "hem: one tear")
        entries = [(e.place, e.text, e.after) for e in demo.session.book.piece("29").condition if e.shoot]
        assert entries == [("all", "sound", False), ("hem", "one tear", False)]


@pytest.mark.slow
async def test_a_condition_is_left_out_with_a_reason(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await begin(pilot)
        await pilot.press("space", "space", "x", "enter")
        await pilot.pause()
        line = demo.session.book.log[-1]
        assert (line.kind, line.subject) == (LogKind.LEFT_OUT, "29/condition/before")
        assert "Condition" not in text_of(pilot, "#big")


@pytest.mark.slow
async def test_the_remote_takes_back_says_and_begins_a_break(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await laid_out(pilot)
        await pilot.press("pagedown")
        await pilot.pause()
        assert demo.session.book.log[-1].kind is LogKind.DONE
        await pilot.press("pageup")
        await pilot.pause()
        assert demo.session.book.log[-1].kind is LogKind.TOUCHED
        await pilot.press("full_stop", "f5", "escape", "escape", "f5")
        await pilot.pause()
        kinds = [line.kind for line in demo.session.book.log[-5:]]
        assert kinds == [LogKind.SAID, LogKind.PAUSED, LogKind.RESUMED, LogKind.PAUSED, LogKind.RESUMED]
        await pilot.press("question_mark")
        await pilot.pause()
        assert isinstance(demo.screen, NoticeDialog)
        for key in ("PgDn", "PgUp", ".", "F5", "Esc"):
            assert key in demo.screen.text
        assert "presenter's remote" in demo.screen.text
        assert "within half a second" in demo.screen.text


async def test_page_up_never_goes_back_beyond_the_shoot(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await pilot.press("3", "f", "escape")
        await pilot.pause()
        assert demo.session.book.open_shoot
        await pilot.press("pageup")
        await pilot.pause()
        assert demo.session.book.open_shoot
        assert told(demo)[-1] == "Nothing is put down in this shoot yet."


@pytest.mark.slow
async def test_a_key_for_the_other_piece_and_names_in_full(demo: ShowrunnerApp) -> None:
    piece = demo.session.book.piece("30")
    name = "The wedding waistcoat of a very long name"
    demo.session.do("name", lambda b: b.put("pieces", replace(piece, name=name)))
    async with demo.run_test(size=(80, 24)) as pilot:
        await laid_out(pilot, "down")
        points = screen(pilot).query_one("#points", RowTable)

        def under() -> str:
            return row_under_cursor(points).partition("/")[0]

        assert under() == "31"
        await pilot.press("a")
        await pilot.pause()
        assert under() == "30"
        (cell,) = map(str, points.texts[row_under_cursor(points)])
        assert name in " ".join(cell.split())
        await pilot.press("a")
        await pilot.pause()
        assert under() == "31"
        clocks = text_of(pilot, "#clocks")
        await pilot.press("s")
        assert clocks


@pytest.mark.slow
async def test_one_piece_has_no_other(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await laid_out(pilot)
        await pilot.press("a")
        await pilot.pause()
        assert told(demo)[-1] == "Nothing is unsaid of another piece."


@pytest.mark.slow
async def test_big_letters_come_by_themselves_or_by_a_key_with_one_line_of_what_is_unsaid(
    demo: ShowrunnerApp,
) -> None:
    async with demo.run_test(size=(120, 40)) as pilot:
        await laid_out(pilot)
        assert "█" in text_of(pilot, "#big")
        assert text_of(pilot, "#unsaid") == "Say, Apple-packer's apron: orchard stamp, bib  (3 points unsaid)"
        await pilot.press("down")
        await pilot.pause()
        assert "pencil loop" in text_of(pilot, "#unsaid")
        assert screen(pilot).query_one("#bench").display
        await pilot.press("B")
        await pilot.pause()
        assert "orchard stamp" in text_of(pilot, "#big")
        assert not screen(pilot).query_one("#unsaid").display


@pytest.mark.slow
async def test_on_a_small_terminal_big_letters_come_by_a_key(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await laid_out(pilot)
        assert "█" not in text_of(pilot, "#big")
        await pilot.press("B")
        await pilot.pause()
        assert "█" in text_of(pilot, "#big")
        assert not screen(pilot).query_one("#bench").display
        await pilot.press("s", "s", "s")
        await pilot.pause()
        assert text_of(pilot, "#unsaid") == "Everything is said."


@pytest.mark.slow
async def test_what_is_lost_next_stands_first_and_what_was_given_up_last(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await laid_out(pilot, "down")
        points = screen(pilot).query_one("#points", DataTable)
        first = next(row.value for row in points.rows)
        filming = screen(pilot).filming
        assert filming
        for _ in range(40):
            state = filming.state()
            if isinstance(demo.screen, ReasonDialog):
                break
            await pilot.press("space")
            await pilot.pause()
        assert isinstance(demo.screen, ReasonDialog)  # the first gate
        assert first
        assert f"to say   {first.partition('/say/')[2]}" in demo.screen.intro
        await pilot.press("enter")
        await pilot.pause()
        ids = [row.value for row in points.rows]
        given_up = [id for id in ids if id in filming.state().given_up]
        assert first in given_up
        assert ids[-len(given_up) :] == given_up
        assert state.next.step


@pytest.mark.slow
async def test_the_daylight_clock_stands_among_the_clocks(demo: ShowrunnerApp) -> None:
    house = replace(demo.session.book.house, latitude=Decimal("-42.9"), longitude=Decimal("147.3"))
    demo.session.do("place", lambda b: replace(b, house=house))
    async with demo.run_test(size=(80, 24)) as pilot:
        await laid_out(pilot)
        assert "sun down" in text_of(pilot, "#clocks")
        until = replace(house, film_until=time(0, 0))
        demo.session.do("until", lambda b: replace(b, house=until))
        screen(pilot).draw()
        assert "! filming ends" in text_of(pilot, "#clocks")
        north = replace(house, latitude=Decimal(89), film_until=None)
        demo.session.do("north", lambda b: replace(b, house=north))
        screen(pilot).draw()
        assert "sun up all night" in text_of(pilot, "#clocks") or "no sun today" in text_of(pilot, "#clocks")


# Paper


@pytest.mark.slow
@pytest.mark.parametrize(("downs", "ending"), [(1, "html"), (2, "txt")])
async def test_the_sheet_is_kept_beside_the_book(demo: ShowrunnerApp, downs: int, ending: str) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await pilot.press("3", "S", *["down"] * downs, "enter")
        await pilot.pause()
        path = demo.session.path.parent / f"sheet-apron.{ending}"
        assert "Condition before" in path.read_text(encoding="utf-8")
        assert told(demo)[-1] == f"Written to {path.resolve()}."
        await pilot.press("S")
        await pilot.pause()
        assert isinstance(demo.screen, ChooseDialog)
        assert "in place of what stands there" in demo.screen.options[downs][1]


@pytest.mark.slow
async def test_the_sheet_is_opened_in_the_browser(demo: ShowrunnerApp, monkeypatch: pytest.MonkeyPatch) -> None:
    opened: list[str] = []
    monkeypatch.setattr(ShowrunnerApp, "open_url", lambda self, url: opened.append(url))
    async with demo.run_test(size=(80, 24)) as pilot:
        await begin(pilot)
        await pilot.press("S", "enter")
        await pilot.pause()
        assert opened == [(demo.session.path.parent / "sheet-apron.html").resolve().as_uri()]


async def test_a_folder_in_the_way_is_told_in_a_sentence(demo: ShowrunnerApp) -> None:
    (demo.session.path.parent / "sheet-apron.html").mkdir()
    async with demo.run_test(size=(80, 24)) as pilot:
        await pilot.press("3", "S", "down", "enter")
        await pilot.pause()
        assert "sheet-apron.html" in told(demo)[-1]
        assert told(demo)[-1].endswith(".")


@pytest.mark.slow
async def test_the_record_is_printed_by_the_system_s_printer(
    demo: ShowrunnerApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(set_up_past.shutil, "which", lambda name: f"/bin/{name}" if name == "lpr" else None)
    sent: list[tuple[str, str]] = []
    monkeypatch.setattr(set_up_past, "print_now", lambda printer, text: sent.append((printer, text)))
    async with demo.run_test(size=(80, 24)) as pilot:
        await begin(pilot)
        await pilot.press("L", "enter", "S", "end", "enter")
        await pilot.pause()
        ((printer, text),) = sent
        assert printer == "/bin/lpr"
        assert "cautions acknowledged" in text


def test_a_printer_that_refuses_or_is_not_there_is_told() -> None:
    set_up_past.print_now("/bin/true", "é")
    for printer, said in (("/bin/false", "it took nothing"), ("/nowhere/lp", "it does not answer")):
        with pytest.raises(CannotWrite, match=said):
            set_up_past.print_now(printer, "text")


@pytest.mark.parametrize(
    ("text", "name"),
    [("sheet-a b/../c", "sheet-a-b-c"), ("../..", "sheet"), ("é日", "sheet"), ("x" * 99, "x" * 60)],
)
def test_names_of_files_are_plain(text: str, name: str) -> None:
    assert set_up_past.file_name(text) == name


async def test_before_anything_is_filmed_there_is_nothing_to_read(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await pilot.press("3", "L")
        await pilot.pause()
        assert told(demo)[-1] == "Nothing was filmed yet."
        await pilot.press("P")
        await pilot.pause()
        assert told(demo)[-1] == "No pickup waits."


@pytest.mark.slow
async def test_a_study_that_was_stopped_before_its_first_shot_is_not_called_filmed(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await laid_out(pilot)
        await pilot.press("X", "enter", "space", "a", "space")
        await pilot.pause()
        await pilot.press("escape")
        await pilot.pause()
        assert Stage.SHOOT not in demo.session.book.episode("apron").done
        table = screen(pilot).query_one("#studies", DataTable)
        assert not [row for row in range(table.row_count) if str(table.get_row_at(row)[3]) == "filmed"]
        assert "To be mended with this opening: " in text_of(pilot, "#before-text").replace("\n", " ")
