"""The Set-up with keys pressed: a shoot from its cautions to its close."""

from __future__ import annotations

import shutil
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from keys import Keys, settle, text_of
from textual.widgets import Input

from showrunner import clock
from showrunner.domain.piece import Confidence, Exposure
from showrunner.domain.shoot import LogKind, Remedy, Touch
from showrunner.filming import Filming
from showrunner.session import Session
from showrunner.tui.app import ShowrunnerApp
from showrunner.tui.dialogs import ChooseDialog, FormDialog, NoticeDialog
from showrunner.tui.lines import RowTable
from showrunner.tui.set_up import SetUpScreen
from showrunner.tui.set_up_dialogs import CautionsDialog, ConditionDialog, ReasonDialog

DEMO = Path(__file__).parents[2] / "demo" / "book.json"


def screen(pilot: Keys) -> SetUpScreen:
    found = pilot.app.screen
    assert isinstance(found, SetUpScreen)
    return found


async def write(pilot: Keys, field: str, text: str) -> None:
    pilot.app.screen.query_one(f"#f-{field}", Input).value = text
    await pilot.press("enter")
    await pilot.pause()


async def press_each_key(pilot: Keys) -> None:
    """Every key of the Set-up, and Escape from what it opens."""
    for action in SetUpScreen.ACTIONS:
        await pilot.press(action.keys.split(",")[0])
        await settle(pilot)
        while not isinstance(pilot.app.screen, SetUpScreen):
            await pilot.press("escape")
            await settle(pilot)


async def begin(pilot: Keys, *downs: str) -> None:
    """Begin the shoot under the cursor after some arrow keys, with its cautions read; the apron lies on top."""
    session = pilot.app.session  # type: ignore[attr-defined]
    session.do("on top", lambda book: book.put("pieces", replace(book.piece("29"), layer=9)))
    await pilot.press("3", *downs, "f")
    await pilot.pause()
    assert isinstance(pilot.app.screen, CautionsDialog)
    await pilot.press("enter")
    await pilot.pause()


@pytest.mark.slow
async def test_a_shoot_is_chosen_and_its_cautions_stand_before_the_first_touch(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await pilot.press("3", "down")
        await pilot.pause()
        assert "18 required views, 5 details, 18 points" in text_of(pilot, "#before-text")
        assert "10 touches and 6 set-ups" in text_of(pilot, "#before-text")
        await pilot.press("f")
        await pilot.pause()
        assert isinstance(pilot.app.screen, CautionsDialog)
        await pilot.press("escape")
        await pilot.pause()
        assert "Read the cautions" in text_of(pilot, "#big")
        assert not demo.session.book.log
        await pilot.press("space")
        await pilot.pause()
        await pilot.press("enter")
        await pilot.pause()
        assert demo.session.book.log[0].kind is LogKind.ACKNOWLEDGED
        assert "Lay out: Quilted waistcoat “Barnaby”, from box H, layer 2" in text_of(pilot, "#big")


@pytest.mark.slow
async def test_the_next_shot_says_where_the_wearers_left_is_in_the_picture(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await begin(pilot, "down", "down", "down")
        for _ in range(12):
            if "sequins melted" in text_of(pilot, "#big"):
                break
            await pilot.press("space")
            await pilot.pause()
            if isinstance(demo.screen, ConditionDialog):
                await pilot.press("a")
                await pilot.pause()
        assert text_of(pilot, "#big") == "▸ Comet: detail: sequins melted, wearer's left hip (right in the picture)"


@pytest.mark.slow
async def test_one_key_each_and_every_press_is_on_disk(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await begin(pilot, "down")
        await pilot.press("space")
        await pilot.pause()
        assert "Condition of Barnaby" in text_of(pilot, "#big")
        await pilot.press("space")
        await pilot.pause()
        await pilot.press("a")
        await pilot.pause()
        assert "Barnaby: detail: quilting, both fronts" in text_of(pilot, "#big")
        assert "Set-up 1 of 6: overhead, close" in text_of(pilot, "#set-up-line")
        await pilot.press("n")
        await pilot.pause()
        assert "Not legible once. Try: go closer" in text_of(pilot, "#big-note")
        await pilot.press("space", "s", "r", "b", "b")
        await pilot.pause()
        kinds = [line.kind for line in demo.session.book.log]
        assert kinds == [
            LogKind.ACKNOWLEDGED,
            LogKind.TOUCHED,
            LogKind.NOT_LEGIBLE,
            LogKind.DONE,
            LogKind.SAID,
            LogKind.ROLLED,
            LogKind.PAUSED,
            LogKind.RESUMED,
        ]
        with Session.open(demo.session.path, write=False) as other:
            assert other.book.log == demo.session.book.log
        await pilot.press("u")
        await pilot.pause()
        assert demo.session.book.log[-1].kind is LogKind.PAUSED
        assert "Pause: lamps off" in text_of(pilot, "#big")


@pytest.mark.slow
async def test_a_point_of_septimus_is_ticked_while_barnaby_is_on_the_table(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await begin(pilot, "down")
        await pilot.press("space")
        await pilot.pause()
        points = screen(pilot).query_one("#points", RowTable)
        ids = [row.value for row in points.rows]
        at = next(n for n, id in enumerate(ids) if id and id.startswith("30/"))
        before = text_of(pilot, "#big")
        await pilot.press(*["down"] * at, "s")
        await pilot.pause()
        line = demo.session.book.log[-1]
        assert (line.kind, line.piece, line.subject) == (LogKind.SAID, "30", ids[at])
        assert text_of(pilot, "#big") == before
        assert str(points.texts[str(ids[at])][0]).startswith("✓ Septimus")
        assert points.cursor_row == at + 1
        await pilot.press("up", "s", "u")
        await pilot.pause()
        assert len(demo.session.book.log) == 2  # said once, and taken back
        assert str(points.texts[str(ids[at])][0]).startswith("· Septimus")


@pytest.mark.slow
async def test_the_gate_lists_what_is_open_and_a_reason_makes_pickups(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await begin(pilot)
        await pilot.press("space", "space")
        await pilot.pause()
        await pilot.press("a", "space", "space", "space", "space")
        await pilot.pause()
        assert isinstance(pilot.app.screen, ReasonDialog)
        assert pilot.app.screen.question == "Before turning Apple-packer's apron"
        assert "to say   orchard stamp, bib" in pilot.app.screen.intro
        await pilot.press("escape")
        await pilot.pause()
        assert "Turn over" in text_of(pilot, "#big")
        await pilot.press("space", "space")
        await pilot.pause()
        assert isinstance(pilot.app.screen, ReasonDialog)  # Space chooses nothing
        await pilot.press("end", "enter")
        await pilot.pause()
        await write(pilot, "reason", "the sun is going")
        kinds = [line.kind for line in demo.session.book.log[-3:]]
        assert kinds == [LogKind.PASSED, LogKind.PICKUP, LogKind.TOUCHED]
        assert demo.session.book.log[-1].touch is Touch.TURN


@pytest.mark.slow
async def test_a_discovery_is_written_down_with_its_time(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await begin(pilot, "down", "down")
        await pilot.press("space", "f")
        await pilot.pause()
        dialog = pilot.app.screen
        assert isinstance(dialog, FormDialog)
        from showrunner.tui.choice_line import ChoiceLine

        dialog.query_one("#f-about", ChoiceLine).value = "linings"
        dialog.query_one("#f-confidence", ChoiceLine).value = "possible"
        await write(pilot, "text", "exchanged by the first maker")
        old, new = demo.session.book.piece("32").claims
        assert old.superseded
        assert new.value == "exchanged by the first maker"
        assert new.found is not None
        assert new.study == "skating-jacket"


@pytest.mark.slow
async def test_skip_needs_a_reason_and_v_puts_a_shot_into_words(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await begin(pilot)
        await pilot.press("x")
        await pilot.pause()
        assert isinstance(pilot.app.screen, ReasonDialog)
        assert "to film  flat face" in pilot.app.screen.intro
        await pilot.press("escape")
        await pilot.pause()
        assert demo.session.book.log[-1].kind is LogKind.ACKNOWLEDGED
        await pilot.press("space", "space")
        await pilot.pause()
        await pilot.press("a", "x")
        await pilot.pause()
        assert isinstance(pilot.app.screen, ReasonDialog)
        await pilot.press("enter")
        await pilot.pause()
        line = demo.session.book.log[-1]
        assert (line.kind, line.text) == (LogKind.SKIPPED, "not needed for this study")
        await pilot.press("n", "v")
        await pilot.pause()
        assert [line.kind for line in demo.session.book.log[-2:]] == [LogKind.NOT_LEGIBLE, LogKind.IN_WORDS]


@pytest.mark.slow
async def test_beyond_the_light_of_the_year_a_shot_needs_a_reason(demo: ShowrunnerApp) -> None:
    used = Exposure(date(2026, 1, 5), 15_000)
    demo.session.do("l", lambda b: b.put("pieces", replace(b.piece("29"), exposures=(used,))))
    async with demo.run_test(size=(80, 24)) as pilot:
        await begin(pilot)
        await pilot.press("space", "space")
        await pilot.pause()
        await pilot.press("a", "space")
        await pilot.pause()
        assert isinstance(pilot.app.screen, ReasonDialog)
        assert "15,000 lux hours of this year are used up" in pilot.app.screen.intro
        await pilot.press("end", "enter")
        await pilot.pause()
        await write(pilot, "reason", "one view more")
        assert [line.kind for line in demo.session.book.log[-2:]] == [LogKind.OVER_LIGHT, LogKind.DONE]
        assert "used up" in text_of(pilot, "#clocks")


@pytest.mark.slow
@pytest.mark.parametrize(
    ("text", "said"), [("0", "0 lux cannot be filmed by"), ("bright", "'bright' is no measured light")]
)
async def test_nonsense_of_the_meter_stays_in_the_form(demo: ShowrunnerApp, text: str, said: str) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await begin(pilot)
        await pilot.press("m")
        await pilot.pause()
        await write(pilot, "lux", text)
        assert said in text_of(pilot, "#n-lux")
        await write(pilot, "lux", "1,500 lux")
        assert demo.session.book.log[-1].lux == 1_500
        assert "1,500 lux" in text_of(pilot, "#clocks")


@pytest.mark.slow
async def test_the_whole_shoot_of_the_apron_with_the_space_bar(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(120, 40)) as pilot:
        await begin(pilot)
        for _ in range(60):
            shown = pilot.app.screen
            if isinstance(shown, NoticeDialog):
                break
            if isinstance(shown, ReasonDialog):
                await pilot.press("enter")
            elif isinstance(shown, ConditionDialog):
                await pilot.press("a")
            else:
                await pilot.press("space")
            await pilot.pause()
        assert isinstance(pilot.app.screen, NoticeDialog)
        assert "5 touches" in pilot.app.screen.text
        assert "waits, voice only: Apple-packer's apron, orchard stamp, bib (no time left today)" in " ".join(
            pilot.app.screen.text.split()
        )
        book = demo.session.book
        assert book.open_shoot is None
        assert book.piece("29").exposures[0].touches == 5
        assert not demo.session.check()
        await pilot.press("escape")
        await pilot.pause()
        assert screen(pilot).filming is None
        await pilot.press("P")
        await pilot.pause()
        assert isinstance(pilot.app.screen, ChooseDialog)
        await pilot.press("enter")
        await pilot.pause()
        assert demo.session.book.log[-1].kind is LogKind.MENDED


async def test_a_second_window_only_watches(demo: ShowrunnerApp) -> None:
    with Session.open(demo.session.path) as second:
        app = ShowrunnerApp(second, demo=True)
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.press("3", "f")
            await pilot.pause()
            assert not second.book.shoots
            assert screen(pilot).filming is None


@pytest.mark.slow
async def test_markup_in_names_points_and_reasons_is_shown_literally(demo: ShowrunnerApp) -> None:
    evil = "[/] [bold]x[/bold] [1912 \\["
    piece = demo.session.book.piece("29")
    demo.session.do("e", lambda b: b.put("pieces", replace(piece, name=evil, points=(evil,))))
    async with demo.run_test(size=(80, 24)) as pilot:
        await begin(pilot)
        assert evil in text_of(pilot, "#big")
        for keys in (
            ("o", "escape"),
            ("l", "escape"),
            ("c", "escape"),
            ("k", "escape"),
            ("e", "escape"),
            ("p", "escape"),
        ):
            await pilot.press(*keys)
            await pilot.pause()
        assert screen(pilot).filming is not None


@pytest.mark.slow
async def test_a_clock_set_back_is_told_once(tmp_path: Path) -> None:
    shutil.copy(DEMO, tmp_path / "book.json")
    moved = [timedelta(0)]
    with Session.open(tmp_path / "book.json", now=lambda: clock.now() + moved[0]) as session:
        app = ShowrunnerApp(session, demo=True)
        async with app.run_test(size=(80, 24)) as pilot:
            await begin(pilot)
            await pilot.press("space")
            await pilot.pause()
            moved[0] = timedelta(minutes=-10)
            await pilot.press("s")
            await pilot.pause()
            assert any("clock went back" in str(n.message) for n in app._notifications)
            assert session.book.log[-1].kind is LogKind.SAID
            assert not session.check()


async def test_from_the_ledger_to_the_set_up_of_a_study(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await pilot.app.workers.wait_for_complete()
        await pilot.press("down", "down")
        await pilot.pause()
        await pilot.press("s")
        await pilot.pause()
        assert screen(pilot).to_film == ("apron",)


@pytest.mark.slow
async def test_two_studies_are_marked_and_filmed_together(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await pilot.press("3", "space", "down", "down", "space")
        await pilot.pause()
        assert "1 h of rigging" in text_of(pilot, "#before-text").replace("\n", " ")
        await pilot.press("down", "space")
        await pilot.pause()
        assert "more than you film in a day" in text_of(pilot, "#before-text")
        await pilot.press("space", "f")
        await pilot.pause()
        assert demo.session.book.shoots[-1].studies == ("apron", "skating-jacket")


@pytest.mark.slow
async def test_after_a_long_silence_it_is_asked_whether_that_was_a_break(tmp_path: Path) -> None:
    shutil.copy(DEMO, tmp_path / "book.json")
    moved = [timedelta(0)]
    with Session.open(tmp_path / "book.json", now=lambda: clock.now() + moved[0]) as session:
        session.do("on top", lambda book: book.put("pieces", replace(book.piece("29"), layer=9)))
        filming = Filming.begin(session, ("apron",))
        filming.acknowledge()
        filming.touch("29", Touch.LAY)
        moved[0] = timedelta(hours=9)
        app = ShowrunnerApp(session, demo=True)
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.press("3")
            await pilot.pause()
            await pilot.pause()
            assert isinstance(pilot.app.screen, ChooseDialog)
            await pilot.press("enter")
            await pilot.pause()
            assert filming.state().clocks.session < 60
            assert "Condition of" in text_of(pilot, "#big")


@pytest.mark.slow
async def test_a_shot_that_is_done_is_taken_again_from_the_run_order(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await begin(pilot)
        await pilot.press("space", "space")
        await pilot.pause()
        await pilot.press("a", "space")
        await pilot.pause()
        first = demo.session.book.log[-1]
        assert first.kind is LogKind.DONE
        await pilot.press("o")
        await pilot.pause()
        await pilot.press("enter")
        await pilot.pause()
        assert demo.session.book.log[-1] == first  # a heading is no shot
        await pilot.press("o", "down", "down", "enter")
        await pilot.pause()
        again = demo.session.book.log[-1]
        assert (again.kind, again.subject) == (LogKind.NOT_LEGIBLE, first.subject)
        assert "Not legible once" in text_of(pilot, "#big-note")
        await pilot.press("space")
        await pilot.pause()
        assert demo.session.book.log[-1].subject == first.subject
        assert demo.session.book.log[-1].kind is LogKind.DONE


@pytest.mark.slow
async def test_when_everything_is_said_that_is_told_in_passing(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await begin(pilot)
        await pilot.press("s", "s", "s")
        await pilot.pause()
        lines = demo.session.book.log
        await pilot.press("s")
        await pilot.pause()
        assert demo.session.book.log == lines
        assert [(str(n.message), n.severity) for n in pilot.app._notifications] == [
            ("Everything is said.", "information")
        ]


@pytest.mark.slow
async def test_in_a_zone_that_is_unknown_a_shoot_is_shown_and_no_key_ends_the_window(tmp_path: Path) -> None:
    path = tmp_path / "book.json"
    shutil.copy(DEMO, path)
    with Session.open(path) as session:
        filming = Filming.begin(session, ["apron"])
        filming.acknowledge()
        (apron,) = session.book.episode("apron").pieces
        filming.found(apron, "darned in blue", Confidence.SURE, about="a mend")
    path.write_text(path.read_text().replace('"Australia/Hobart"', '"Nowhere/Else"'))
    with Session.open(path, today=date(2026, 3, 2)) as session:
        app = ShowrunnerApp(session)
        async with app.run_test(size=(120, 40)) as pilot:
            await pilot.press("1", "slash", *"apple", "enter")
            await pilot.pause()
            assert "a mend: darned in blue" in text_of(pilot, "#piece")
            await pilot.press("escape", "3")
            await settle(pilot)
            await press_each_key(pilot)
            assert any("'Nowhere/Else' is not a time zone" in note.message for note in app._notifications)
            await pilot.press("2", "3")
            await pilot.pause()
            assert isinstance(app.screen, SetUpScreen)


@pytest.mark.slow
async def test_with_no_view_left_to_film_that_is_told_and_no_key_ends_the_window(demo: ShowrunnerApp) -> None:
    session = demo.session
    async with demo.run_test(size=(120, 40)) as pilot:
        await begin(pilot)
        await pilot.press("space", "space", "a", "space", "s")
        await settle(pilot)
        screen(pilot).filming.pickup("29", "the hem", Remedy.VOICE)  # type: ignore[union-attr]
        session.do("no views", lambda book: replace(book, house=replace(book.house, standard_views=())))
        session.do("no features", lambda book: book.put("pieces", replace(book.piece("29"), features=())))
        demo.book_changed()
        await press_each_key(pilot)
        assert any("no view of it may be filmed" in note.message for note in demo._notifications)
        assert session.book.open_shoot is not None
        await pilot.press("2", "3")
        await settle(pilot)
        assert screen(pilot).filming is not None
