"""The screens with keys pressed: the whole job without the command line."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from icalendar import Calendar
from keys import Keys, settle, text_of
from textual.widgets import DataTable, Input

from showrunner.domain import edits
from showrunner.domain.episode import Stage
from showrunner.domain.piece import Known
from showrunner.session import Session
from showrunner.tui.app import ShowrunnerApp
from showrunner.tui.base import BookScreen
from showrunner.tui.dialogs import ChooseDialog, FormDialog, NoticeDialog
from showrunner.tui.ledger import LedgerScreen
from showrunner.tui.preview import PreviewScreen
from showrunner.tui.register import RegisterScreen
from showrunner.tui.registry import EVERYWHERE
from showrunner.tui.runout import RunOutScreen


async def write(pilot: Keys, field: str, text: str) -> None:
    pilot.app.screen.query_one(f"#f-{field}", Input).value = text
    await pilot.pause()


async def test_the_ledger_opens_on_this_week_with_the_proof_below(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert isinstance(demo.screen, LedgerScreen)
        await pilot.press("down", "down")
        await pilot.pause()
        why = text_of(pilot, "#why")
        assert "31 h needed of 34 h: 3 h to spare." in why
        assert "On 15 March 2026, one slot earlier, the work would be 2 h short." in why


@pytest.mark.slow
async def test_accepting_a_plan_is_one_step_and_dropping_it_changes_no_byte(demo: ShowrunnerApp) -> None:
    path = demo.session.path
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        before = path.read_bytes()
        await pilot.press("p")
        await settle(pilot)
        assert isinstance(demo.screen, PreviewScreen)
        assert "Unevenness 14; proven: no plan is better. Nothing would change." in text_of(pilot, "#verdict")
        await pilot.press("n", "n")
        await settle(pilot)
        assert "3 studies would move and 2 studies would get a first date" in text_of(pilot, "#verdict")
        await pilot.press("escape")
        await settle(pilot)
        assert path.read_bytes() == before
        await pilot.press("p")
        await settle(pilot)
        await pilot.press("n", "n")
        await settle(pilot)
        await pilot.press("a")
        await settle(pilot)
        assert len(demo.session.book.open_studies) == 7
        await pilot.press("u")
        await settle(pilot)
        assert len(demo.session.book.open_studies) == 5
        await pilot.press("U")
        await settle(pilot)
        assert len(demo.session.book.open_studies) == 7


@pytest.mark.slow
async def test_a_lost_week_is_said_and_a_replan_moves_one_study(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("down", "d", "enter")  # the week of 9 March, add a dark range
        await pilot.pause()
        assert isinstance(demo.screen, FormDialog)
        await pilot.press("enter")
        await settle(pilot)
        assert demo.session.book.dark[-1].first == date(2026, 3, 9)
        for _ in range(2):  # that week's talk, then its diary, are in the bank
            await pilot.press("b")
            await pilot.pause()
            await pilot.press("enter")
            await settle(pilot)
            await pilot.press("left")
        assert "2 h short" in text_of(pilot, "#next")
        assert "the first slot that works is 29 March 2026" in text_of(pilot, "#next")
        await pilot.press("r")
        await settle(pilot)
        assert "1 study would move" in text_of(pilot, "#verdict")
        await pilot.press("a")
        await settle(pilot)
        slots = {study.id: study.slot.day for study in demo.session.book.open_studies if study.slot}
        assert slots == {
            "apron": date(2026, 3, 29),
            "waistcoats": date(2026, 5, 10),
            "skating-jacket": date(2026, 6, 28),
            "dance-frock": date(2026, 8, 23),
            "bathing-costume": date(2026, 10, 18),
        }


async def test_a_second_promise_for_a_slot_is_refused_in_words(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("down", "down", "i")
        await settle(pilot)
        assert demo.session.book.pins[0].episodes == ("apron",)
        with pytest.raises(Exception, match="both promised"):
            slot = demo.session.book.pins[0].slot
            assert slot
            demo.session.do("x", lambda book: edits.pin_date(book, "waistcoats", slot)[0])
        assert len(demo.session.book.pins) == 1
        await pilot.press("i")
        await settle(pilot)
        assert demo.session.book.pins == ()


@pytest.mark.slow
async def test_publishing_moves_the_piece_to_shown(demo: ShowrunnerApp) -> None:
    demo.session._today = date(2026, 3, 22)
    diary = next(e.id for e in demo.session.book.episodes if not e.pieces and not e.published)
    demo.session.do("diary", lambda book: edits.publish(book, diary, date(2026, 3, 4)))
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "goes out" in text_of(pilot, "#next")
        await pilot.press("y")
        await pilot.pause()
        await write(pilot, "link", "https://example.org/apron")
        await pilot.press("enter")
        await settle(pilot)
        assert demo.session.book.episode("apron").published
        assert demo.session.book.piece("29").shown.known is Known.YES
        assert demo.session.book.publications[-1].link == "https://example.org/apron"


@pytest.mark.slow
async def test_windows_are_typed_and_refused_in_place(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("down", "down", "x")
        await pilot.pause()
        await write(pilot, "windows", "2026-04-30 to 2026-03-01")
        await pilot.press("enter")
        await pilot.pause()
        assert isinstance(demo.screen, FormDialog)
        assert "ends (1 March 2026) before it begins" in text_of(pilot, "#n-windows")
        assert demo.screen.query_one("#f-windows", Input).value == "2026-04-30 to 2026-03-01"
        await write(pilot, "windows", "must 1 Mar to 30 Apr")
        await pilot.press("enter")
        await settle(pilot)
        assert demo.session.book.episode("apron").windows[0].hard


@pytest.mark.slow
async def test_editing_stages_done_lightens_the_work(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("down", "down", "e")
        await pilot.pause()
        await write(pilot, "done", "research, shoot")
        await pilot.press("enter")
        await settle(pilot)
        await pilot.pause()
        assert "24 h needed of 34 h" in text_of(pilot, "#why")


@pytest.mark.slow
async def test_work_is_ticked_off_and_taken_back(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("k")
        await settle(pilot)
        assert "3 h to spare at the tightest, on 21 March 2026." in text_of(pilot, "#state")
        table = demo.screen.query_one("#tasks", DataTable)
        await pilot.press("enter")  # 2 of the 4 h of the talk of 8 March, on a Monday without hours
        await settle(pilot)
        assert "5 h to spare" in text_of(pilot, "#state")
        await pilot.press("enter")  # its other 2 h: it is in the bank
        await settle(pilot)
        assert "7 h to spare" in text_of(pilot, "#state")
        talk = next(episode for episode in demo.session.book.episodes if episode.worked)
        assert (talk.title, talk.finished) == ("long feature of 8 Mar", True)
        tasks = demo.screen.tasks  # type: ignore[attr-defined]
        at, research = next((n, task) for n, task in enumerate(tasks) if task.episode == "apron")
        table.move_cursor(row=at)
        await pilot.press("enter")
        await settle(pilot)
        apron = demo.session.book.episode("apron")
        assert [(work.minutes, work.day) for work in apron.worked] == [(research.minutes, date(2026, 3, 2))]
        await pilot.press("u")
        await settle(pilot)
        assert demo.session.book.episode("apron").worked == ()


@pytest.mark.slow
async def test_hours_are_put_down_for_another_day_and_taken_back(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("k")
        await settle(pilot)
        tasks = demo.screen.tasks  # type: ignore[attr-defined]
        at = next(n for n, task in enumerate(tasks) if task.episode == "apron")
        demo.screen.query_one("#tasks", DataTable).move_cursor(row=at)
        await pilot.press("e")
        await pilot.pause()
        await write(pilot, "hours", "1.5")
        await write(pilot, "on", "2026-03-05")
        await pilot.press("enter")
        await settle(pilot)
        assert "5 March 2026 is still to come" in text_of(pilot, "#dialog-error")
        await write(pilot, "on", "2026-02-28")
        await pilot.press("enter")
        await settle(pilot)
        (work,) = demo.session.book.episode("apron").worked
        assert (work.minutes, work.day, work.stage) == (90, date(2026, 2, 28), Stage.RESEARCH)
        assert "4.5 h to spare" in text_of(pilot, "#state")
        await pilot.press("b")
        await pilot.pause()
        assert isinstance(demo.screen, ChooseDialog)
        assert [label for _, label in demo.screen.options] == [
            "Sat 28 Feb 2026  1.5 h  research: The apple-packer's apron"
        ]
        await pilot.press("enter")
        await settle(pilot)
        assert demo.session.book.episode("apron").worked == ()
        assert "3 h to spare" in text_of(pilot, "#state")


@pytest.mark.slow
async def test_moving_by_hand(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("down", "down", "m")
        await pilot.pause()
        assert isinstance(demo.screen, ChooseDialog)
        await pilot.press("down", "down", "down", "enter")
        await settle(pilot)
        slot = demo.session.book.episode("apron").slot
        assert slot
        assert slot.day != date(2026, 3, 22)


@pytest.mark.slow
async def test_the_register_marks_and_undoes(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("1")
        await settle(pilot)
        assert isinstance(demo.screen, RegisterScreen)
        assert "47 pieces, 39 shown, 2 unsure, 6 not; 6–8 left" in text_of(pilot, "#counts")
        await pilot.press("slash", *"unsure", "enter")
        await pilot.pause()
        assert demo.screen.query_one("#pieces", DataTable).row_count == 2
        await pilot.press("n")
        await settle(pilot)
        assert "1 unsure, 7 not; 7–8 left" in text_of(pilot, "#counts")
        await pilot.press("u")
        await settle(pilot)
        assert "6–8 left" in text_of(pilot, "#counts")
        await pilot.press("escape")
        await pilot.pause()
        assert demo.screen.query_one("#pieces", DataTable).row_count == 47


@pytest.mark.slow
async def test_adding_a_piece_and_a_study_of_it(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("1", "a")
        await pilot.pause()
        await write(pilot, "name", "Gown [1912 and [/]")
        await write(pilot, "made", "191X?")
        assert "perhaps the 1910s" in text_of(pilot, "#n-made") or "1910" in text_of(pilot, "#n-made")
        await write(pilot, "made", "2016-13-08")
        await pilot.press("enter")
        await pilot.pause()
        assert isinstance(demo.screen, FormDialog)
        await write(pilot, "made", "191X?")
        await pilot.press("enter")
        await settle(pilot)
        assert "Kept: 48 Gown [1912 and [/], made perhaps the 1910s" in text_of(pilot, "#intro")
        await pilot.press("enter")
        await settle(pilot)
        piece = demo.session.book.pieces[-1]
        assert piece.name == "Gown [1912 and [/]"
        assert "Gown [1912 and [/]" in text_of(pilot, "#piece")
        await pilot.press("s")
        await pilot.pause()
        await pilot.press("enter")
        await settle(pilot)
        study = demo.session.book.study_of_piece(piece.id)
        assert study
        await pilot.press("2")
        await settle(pilot)
        assert "No slot yet: Gown [1912 and [/]" in text_of(pilot, "#next")


@pytest.mark.slow
async def test_pairing_and_splitting(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("1", "slash", *"waistcoat", "enter", "S")
        await settle(pilot)
        assert len(demo.session.book.open_studies) == 6
        await pilot.press("space", "down", "space", "p")
        await settle(pilot)
        assert len(demo.session.book.open_studies) == 5


@pytest.mark.slow
async def test_the_run_out_shows_ranges_and_settles_a_doubt(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("4")
        await settle(pilot)
        assert isinstance(demo.screen, RunOutScreen)
        figures = text_of(pilot, "#figures")
        assert "6–8 pieces left, in 5–7 studies" in figures
        assert "The run-out warning speaks from 19 April 2026 (26 weeks ahead)." in figures
        await pilot.press("y")
        await settle(pilot)
        assert "6–7 pieces left, in 5–6 studies" in text_of(pilot, "#figures")
        evidence = demo.session.book.piece("27").shown.evidence
        assert evidence == "a half-remembered early compilation; settled, 2 March 2026"


@pytest.mark.slow
async def test_the_calendar_is_written_from_any_screen(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("w")
        await pilot.pause()
        await pilot.press("enter")
        await settle(pilot)
        assert demo.session.path.with_suffix(".ics").read_bytes().startswith(b"BEGIN:VCALENDAR")


@pytest.mark.slow
async def test_the_calendar_of_another_book_is_taken_over_only_if_that_is_meant(demo: ShowrunnerApp) -> None:
    file = demo.session.path.with_suffix(".ics")
    demo.session.write_calendar(file)
    mine = file.read_bytes()
    uid = str(Calendar.from_ical(mine)["UID"])
    others = mine.replace(uid.encode(), uid[::-1].encode())
    file.write_bytes(others)
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("w", "enter")
        await settle(pilot)
        assert isinstance(demo.screen, ChooseDialog)
        await pilot.press("enter")
        await settle(pilot)
        assert isinstance(demo.screen, BookScreen)
        assert file.read_bytes() == others
        await pilot.press("w", "enter")
        await settle(pilot)
        await pilot.press("down", "enter")
        await settle(pilot)
        assert isinstance(demo.screen, BookScreen)
        assert file.read_bytes() == mine


async def test_a_calendar_that_cannot_be_written_is_said_in_the_form(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("w")
        await pilot.pause()
        await write(pilot, "path", "/proc/nowhere/out.ics")
        await pilot.press("enter")
        await settle(pilot)
        assert isinstance(demo.screen, FormDialog)
        assert "/proc/nowhere" in text_of(pilot, "#dialog-error")


@pytest.mark.slow
async def test_help_and_palette_come_from_the_registry(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("question_mark")
        await pilot.pause()
        assert isinstance(demo.screen, NoticeDialog)
        for action in (*LedgerScreen.ACTIONS, *EVERYWHERE):
            assert action.help in demo.screen.text
        await pilot.press("escape")
        await pilot.pause()
        offered = {command.help for command in demo.get_system_commands(demo.screen)}
        assert {action.help for action in (*LedgerScreen.ACTIONS, *EVERYWHERE)} <= offered


@pytest.mark.parametrize("screen", [LedgerScreen, RegisterScreen, RunOutScreen])
def test_every_action_has_its_method_and_the_footer_shows_at_most_six(screen: Any) -> None:
    for action in screen.ACTIONS:
        assert callable(getattr(screen, f"action_{action.id}"))
    for action in EVERYWHERE:
        assert callable(getattr(ShowrunnerApp, f"action_{action.id}"))
    assert sum(action.footer for action in (*screen.ACTIONS, *EVERYWHERE)) <= 6
    keys = [key for action in (*screen.ACTIONS, *EVERYWHERE) for key in action.keys.split(",")]
    assert len(keys) == len(set(keys)), "no key does two things on one screen"


@pytest.mark.slow
async def test_a_read_only_window_says_so_and_follows(demo: ShowrunnerApp, tmp_path: Path) -> None:
    with Session.open(demo.session.path) as reader:
        app = ShowrunnerApp(reader)
        async with app.run_test(size=(80, 24)) as pilot:
            await settle(pilot)
            assert text_of(pilot, "#flag").startswith("Read only: ")
            await pilot.press("down", "down", "i")
            await pilot.pause()
            assert reader.book.pins == ()
            demo.session.do("mark", lambda book: edits.mark_shown(book, "27", Known.YES))
            app.follow()
            await settle(pilot)
            assert reader.book.piece("27").shown.known is Known.YES


@pytest.mark.slow
async def test_markup_in_names_is_shown_literally_everywhere(demo: ShowrunnerApp) -> None:
    evil = "[/] [bold]x[/bold] [1912 \\["
    session = demo.session
    session.do("a", lambda b: edits.put_episode(b, replace(b.episode("apron"), title=evil)))
    session.do("b", lambda b: edits.put_piece(b, replace(b.piece("27"), name=evil)))
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("down", "down")
        await pilot.pause()
        assert evil in text_of(pilot, "#why")
        for keys in (
            ("p", "escape"),
            ("o", "escape"),
            ("m", "escape"),
            ("y", "escape"),
            ("k", "escape"),
            ("4",),
            ("1",),
        ):
            for key in keys:
                await pilot.press(key)
                await settle(pilot)


@pytest.mark.slow
@pytest.mark.parametrize("size", [(80, 24), (120, 40), (60, 16)])
async def test_any_size_draws(demo: ShowrunnerApp, size: tuple[int, int]) -> None:
    async with demo.run_test(size=size) as pilot:
        for key in ("1", "2", "3", "4", "h"):
            await pilot.press(key)
            await settle(pilot)


async def test_a_backup_that_failed_is_told_on_the_screen_once(demo: ShowrunnerApp) -> None:
    folder = demo.session.path.with_name("book.json.backups")
    folder.write_text("a file where the folder should be")
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("1", "n", "y")
        demo.follow()
        told = [n.message for n in demo._notifications if "could not be made" in n.message]
        assert told == list(demo.session.warnings)
        assert len(told) == 1
