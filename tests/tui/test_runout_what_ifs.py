"""What-ifs on the Run-out: together, adopted as one step or dropped; those that come late, or whose words mislead."""

from __future__ import annotations

import threading
from dataclasses import replace
from typing import Any

import pytest
from keys import Keys, settle, text_of
from textual.widgets import Input, OptionList

from showrunner import whatif
from showrunner.domain import edits
from showrunner.domain.piece import Known
from showrunner.errors import BadInput
from showrunner.report import looks_table
from showrunner.session import Session
from showrunner.supposing import suppose
from showrunner.tui.app import ShowrunnerApp
from showrunner.tui.dialogs import FormDialog, NoticeDialog
from showrunner.tui.pairs import PairsDialog
from showrunner.tui.runout import RunOutScreen
from showrunner.tui.what_if_forms import asks


def figures(pilot: Keys) -> str:
    return text_of(pilot, "#figures")


def headline(pilot: Keys) -> str:
    return text_of(pilot, "#headline")


def beside(pilot: Keys) -> str:
    """The what-ifs in view; empty if none are."""
    return text_of(pilot, "#what-ifs") if pilot.app.screen.query_one("#beside").display else ""


async def run_out(pilot: Keys) -> None:
    await settle(pilot)
    await pilot.press("4")
    await settle(pilot)
    assert isinstance(pilot.app.screen, RunOutScreen)


async def spacing(pilot: Keys, least: int, wished: int, most: int) -> None:
    """Suppose another spacing."""
    await pilot.press("f", "enter")
    await pilot.pause()
    for name, weeks in (("least", least), ("wished", wished), ("most", most)):
        pilot.app.screen.query_one(f"#f-{name}", Input).value = str(weeks)
    await pilot.press("enter")
    await pilot.pause()


async def pick(pilot: Keys, label: str) -> None:
    """Ask for something from the list by its label."""
    await pilot.press("f")
    await pilot.pause()
    options = pilot.app.screen.query_one(OptionList)
    labels = [str(options.get_option_at_index(at).prompt) for at in range(options.option_count)]
    options.highlighted = labels.index(label)
    await pilot.press("enter")
    await pilot.pause()


async def choose(pilot: Keys, label: str) -> None:
    """Suppose something from the list by its label."""
    await pick(pilot, label)
    await settle(pilot)


NO_WINDOW = "no window for Ready for the sea: a bathing costume"


@pytest.mark.slow
async def test_two_stand_beside_the_plan_and_are_adopted_as_one_step(demo: ShowrunnerApp) -> None:
    before = demo.session.book
    async with demo.run_test(size=(80, 24)) as pilot:
        await run_out(pilot)
        await spacing(pilot, 4, 4, 8)
        await settle(pilot)
        assert "together" not in beside(pilot)
        await choose(pilot, NO_WINDOW)
        lines = beside(pilot).splitlines()
        assert lines[1].startswith("as it is")
        assert lines[1].endswith("6–8     5–7  18 Oct 2026  29 Nov 2026")
        (both,) = [line for line in lines if line.startswith("1 and 2 together")]
        assert both.endswith("6 Sep 2026   18 Oct 2026")
        assert max(map(len, lines[:-1])) <= 78
        assert lines[-1].startswith("▸ Once adopted: more even dates would move 4 studies")
        await pilot.press("a")
        await settle(pilot)
        book = demo.session.book
        assert (book.series[0].target_weeks, book.episode("bathing-costume").windows) == (4, ())
        assert beside(pilot) == ""
        assert headline(pilot).startswith("The Camphorwood Hour: the end comes by 6 September 2026 at even odds;")
        assert "▸ More even dates would move 4 studies" in figures(pilot)
        await pilot.press("u")
        await settle(pilot)
        assert demo.session.book == before
        assert "▸" not in figures(pilot)


@pytest.mark.slow
async def test_dropped_they_leave_the_bytes(demo: ShowrunnerApp) -> None:
    before = demo.session.path.read_bytes()
    async with demo.run_test(size=(80, 24)) as pilot:
        await run_out(pilot)
        await spacing(pilot, 4, 5, 8)
        await settle(pilot)
        await choose(pilot, NO_WINDOW)
        await choose(pilot, "Septimus and Barnaby: two waistcoats split in two")
        assert "1, 2 and 3 together" in beside(pilot)
        await pilot.press("x")
        await pilot.pause()
        assert "1 and 2 together" in beside(pilot)
        await pilot.press("X")
        await pilot.pause()
        assert beside(pilot) == ""
        await pilot.press("a")  # there is nothing to adopt
        await settle(pilot)
    assert demo.session.path.read_bytes() == before


@pytest.mark.slow
async def test_a_second_spacing_is_refused_in_the_form(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await run_out(pilot)
        await spacing(pilot, 4, 5, 8)
        await settle(pilot)
        await spacing(pilot, 5, 6, 9)
        assert isinstance(pilot.app.screen, FormDialog)
        assert "gaps of 4 to 8 weeks, wished 5, and gaps of 5 to 9 weeks, wished 6: these cannot both be" in text_of(
            pilot, "#dialog-error"
        )
        await pilot.press("escape")
        await settle(pilot)
        await pilot.press("down", "enter")  # drop what was typed
        await settle(pilot)
        assert "1. gaps of 4 to 8 weeks, wished 5" in beside(pilot)


@pytest.mark.slow
async def test_a_window_dropped_twice_is_refused_and_the_first_stays(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await run_out(pilot)
        await choose(pilot, NO_WINDOW)
        before = beside(pilot)
        await choose(pilot, NO_WINDOW)
        assert beside(pilot) == before
        assert "Working out" not in figures(pilot)


@pytest.mark.slow
async def test_a_what_if_of_an_older_book_is_dropped_and_takes_nothing_back(
    demo: ShowrunnerApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    runout, gate = demo.session.runout, threading.Event()

    def slow(**options: Any) -> Any:
        found = runout(**options)
        if options.get("book") is not None:
            assert gate.wait(60)
        return found

    monkeypatch.setattr(demo.session, "runout", slow)
    async with demo.run_test(size=(80, 24)) as pilot:
        await run_out(pilot)
        await spacing(pilot, 4, 5, 8)
        assert "Working out the what-if …" in figures(pilot)
        await pilot.press("y")  # settles a doubt while the what-if is worked out
        await pilot.pause()
        gate.set()
        await settle(pilot)
        assert beside(pilot) == ""
        assert "Working out" not in figures(pilot)
        await pilot.press("a")
        await settle(pilot)
        assert demo.session.book.piece("27").shown.known is Known.YES
        assert demo.session.book.series[0].target_weeks == 6


def held_up(monkeypatch: pytest.MonkeyPatch, *, refused: int = 0) -> tuple[threading.Event, list[tuple[str, ...]]]:
    """Have what-ifs take until the event is set, the first `refused` of them end in an error; and what was asked."""
    gate, outlook = threading.Event(), whatif.outlook
    asked: list[tuple[str, ...]] = []

    def slow(session: Session, series: str, texts: Any, **options: Any) -> Any:
        asked.append(texts)
        assert gate.wait(60)
        if len(asked) <= refused:
            raise BadInput("this cannot be")
        return outlook(session, series, texts, **options)

    monkeypatch.setattr("showrunner.tui.runout.outlook", slow)
    return gate, asked


async def ask_two(pilot: Keys) -> None:
    """Go to the Run-out and ask for two what-ifs, one right after the other."""
    await run_out(pilot)
    await spacing(pilot, 4, 5, 8)
    await pick(pilot, NO_WINDOW)


async def test_one_that_is_asked_while_another_is_worked_out_comes_after_it(
    demo: ShowrunnerApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    gate, asked = held_up(monkeypatch)
    async with demo.run_test(size=(80, 24)) as pilot:
        await ask_two(pilot)
        assert "Working out the what-if …" in figures(pilot)
        gate.set()
        await settle(pilot)
        assert isinstance(demo.screen, RunOutScreen)
        assert [len(texts) for texts in asked] == [1, 2]
        assert asked[1][0] == asked[0][0]
        assert [one.texts for one in demo.screen.beside] == asked
        assert "Working out" not in figures(pilot)


async def test_a_change_drops_what_was_asked_after_the_one_that_is_worked_out_too(
    demo: ShowrunnerApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    gate, asked = held_up(monkeypatch)
    async with demo.run_test(size=(80, 24)) as pilot:
        await ask_two(pilot)
        await pilot.press("y")
        gate.set()
        await settle(pilot)
        assert len(asked) == 1
        assert beside(pilot) == ""
        told = [note.message for note in demo._notifications if "dropped" in note.message]
        assert len(told) == 1
        assert told[0].endswith("So was what you asked after it.")
        await spacing(pilot, 4, 5, 8)
        await settle(pilot)
        assert beside(pilot)


async def test_one_that_cannot_be_leaves_the_next_to_be_worked_out(
    demo: ShowrunnerApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    gate, asked = held_up(monkeypatch, refused=1)
    async with demo.run_test(size=(80, 24)) as pilot:
        await ask_two(pilot)
        gate.set()
        await settle(pilot)
        assert isinstance(demo.screen, RunOutScreen)
        assert [len(texts) for texts in asked] == [1, 1]
        assert [one.texts for one in demo.screen.beside] == asked[1:]
        assert "Working out" not in figures(pilot)


@pytest.mark.slow
async def test_one_more_that_comes_after_the_others_were_dropped_is_dropped_too(
    demo: ShowrunnerApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    gate, outlook = threading.Event(), whatif.outlook

    def slow(session: Session, series: str, texts: Any, **options: Any) -> Any:
        assert len(texts) == 1 or gate.wait(60)
        return outlook(session, series, texts, **options)

    monkeypatch.setattr("showrunner.tui.runout.outlook", slow)
    async with demo.run_test(size=(80, 24)) as pilot:
        await run_out(pilot)
        await choose(pilot, NO_WINDOW)
        await spacing(pilot, 4, 5, 8)
        await pilot.press("x")
        await pilot.pause()
        gate.set()
        await settle(pilot)
        assert beside(pilot) == ""
        assert "Working out" not in figures(pilot)


@pytest.mark.slow
async def test_what_ifs_of_one_series_do_not_stand_beside_another(
    demo: ShowrunnerApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    session = demo.session
    session.do(
        "add", lambda book: edits.put_series(book, replace(book.series[0], id="second", name="The Second Drawer"))
    )
    gate, runout = threading.Event(), session.runout

    def slow(**options: Any) -> Any:
        assert options.get("series") != "second" or gate.wait(60)
        return runout(**options)

    monkeypatch.setattr(session, "runout", slow)
    async with demo.run_test(size=(80, 24)) as pilot:
        await run_out(pilot)
        await pilot.press("s")
        screen = demo.screen
        assert isinstance(screen, RunOutScreen)
        screen._suppose("drop-window=apron")  # the series before is still in view
        for _ in range(1000):
            if beside(pilot):
                break
            await pilot.pause(0.01)
        assert "no window" in beside(pilot)
        gate.set()
        await settle(pilot)
        assert headline(pilot).startswith("The Second Drawer")
        assert beside(pilot) == ""


@pytest.mark.slow
async def test_adopting_what_is_so_already_makes_no_step(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await run_out(pilot)
        await spacing(pilot, 4, 6, 9)
        await settle(pilot)
        await pilot.press("a")
        await settle(pilot)
        assert demo.session.undo_label is None
        assert [note.message for note in demo._notifications] == ["That is how it is already."]


async def test_a_refused_what_if_leaves_no_sign_of_work(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await run_out(pilot)
        screen = demo.screen
        assert isinstance(screen, RunOutScreen)
        screen._suppose("unpair=apron")
        await settle(pilot)
        assert "Working out" not in figures(pilot)
        assert screen.beside == []


@pytest.mark.slow
async def test_a_title_does_not_decide_whether_a_what_if_can_be_adopted(demo: ShowrunnerApp) -> None:
    session = demo.session
    session.do(
        "title", lambda book: edits.put_episode(book, replace(book.episode("waistcoats"), title="two more to show"))
    )
    async with demo.run_test(size=(80, 24)) as pilot:
        await run_out(pilot)
        await choose(pilot, "two more to show split in two")
        await pilot.press("a")
        await settle(pilot)
        assert len(session.book.open_studies) == 6
        assert "▸ Not in the book yet for 1 study" in figures(pilot)


@pytest.mark.slow
async def test_what_can_only_be_looked_at_is_not_adopted(demo: ShowrunnerApp) -> None:
    before = demo.session.path.read_bytes()
    async with demo.run_test(size=(80, 24)) as pilot:
        await run_out(pilot)
        screen = demo.screen
        assert isinstance(screen, RunOutScreen)
        for text in ("slip-rate=0.3", "add-piece=2"):
            screen._suppose(text)
            await settle(pilot)
            await pilot.press("a")
            await settle(pilot)
        assert demo.session.path.read_bytes() == before
        (more,) = [line for line in beside(pilot).splitlines() if line.startswith("2. 2 more pieces to show")]
        assert "8–10     7–9" in more  # two more pieces, each a study of its own


async def test_the_end_and_its_warnings_come_before_what_it_rests_on(demo: ShowrunnerApp) -> None:
    """All of it in view at 80 columns, and the sentence on slips in three lines of the column at most."""
    async with demo.run_test(size=(80, 24)) as pilot:
        await run_out(pilot)
        told = figures(pilot).splitlines()
        assert headline(pilot).startswith("The Camphorwood Hour: the end comes by 18 October 2026 at even odds;")
        begins = [next(at for at, line in enumerate(told) if line.startswith(word)) for word in ("Dates", "Slips")]
        assert begins[0] > next(at for at, line in enumerate(told) if "run-out warning" in line)
        assert told[begins[0]] == "Dates: those of the book; if the doubts turn out otherwise, the best dates for that."
        slips = told[begins[1]]
        assert slips == (
            "Slips: 7.9%, 80% between 3.1% and 13.6%; by the record: 3 of 35 studies and 9 of all 327 lines late."
        )
        assert len(slips) <= 3 * 36
        await pilot.press("i")
        await pilot.pause()
        assert isinstance(pilot.app.screen, NoticeDialog)
        assert "a bad spell of some six weeks" in pilot.app.screen.text


@pytest.mark.slow
async def test_the_figures_can_be_scrolled_from_the_keyboard(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await run_out(pilot)
        await spacing(pilot, 4, 5, 8)
        await settle(pilot)
        left = demo.screen.query_one("#left")
        left.focus()
        await pilot.press("end")
        await pilot.pause()
        assert left.scroll_offset.y > 0


@pytest.mark.slow
async def test_long_what_ifs_are_all_in_view_at_80_columns(demo: ShowrunnerApp) -> None:
    """They take the place of figures and chart, which come back when they are dropped."""
    async with demo.run_test(size=(80, 24)) as pilot:
        await run_out(pilot)
        screen = demo.screen
        assert isinstance(screen, RunOutScreen)
        for text in ("last-until=2027-03", "drop-window=bathing-costume", "pair=apron+skating-jacket"):
            screen._suppose(text)
            await settle(pilot)
        panel = screen.query_one("#beside")
        lines = beside(pilot).splitlines()
        assert lines[1].startswith("as it is")
        assert "(9 with 8 pieces left," in " ".join(lines)
        assert lines[-3].startswith("1, 2 and 3 together: a study every")
        assert lines[-1].startswith("Next: can open Sun 17 May 2026 at the earliest, ")
        assert panel.max_scroll_y == 0
        assert not screen.query_one("#runout").display
        await pilot.press("x", "x")
        await pilot.pause()
        await pilot.press("x")
        await settle(pilot)
        assert screen.query_one("#runout").display


@pytest.mark.slow
async def test_lasting_until_a_day_is_asked_for_adopted_and_undone(demo: ShowrunnerApp) -> None:
    before = demo.session.book
    async with demo.run_test(size=(80, 24)) as pilot:
        await run_out(pilot)
        await choose(pilot, "a spacing that lasts until a day")
        for text, refusal in (("soon", "'soon' is no month or day"), ("2027-03", "")):
            pilot.app.screen.query_one("#f-until", Input).value = text
            await pilot.press("enter")
            await pilot.pause()
            assert refusal in (text_of(pilot, "#dialog-error") if refusal else "")
        await settle(pilot)
        assert "a last study no sooner than" in beside(pilot)
        await pilot.press("a")
        await settle(pilot)
        assert demo.session.book.series[0].target_weeks == 10
        assert "21 March 2027 at even odds" in headline(pilot)
        await pilot.press("u")
        await settle(pilot)
        assert demo.session.book == before


async def test_a_day_that_cannot_be_reached_is_told_and_nothing_is_supposed(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await run_out(pilot)
        screen = demo.screen
        assert isinstance(screen, RunOutScreen)
        screen._suppose("last-until=2025-03")
        await settle(pilot)
        assert beside(pilot) == ""
        assert [note.message for note in demo._notifications] == [
            "last until: 1 March 2025 is past; give a day to come."
        ]


async def test_every_question_makes_a_what_if_that_can_be_read(demo: ShowrunnerApp) -> None:
    """With the answers that stand in the forms at first, or an example where none does."""
    book = demo.session.book
    examples = {"until": "2027-03", "first": "2026-06", "name": "Parasol", "when": "2026-05"}
    for kind, ask in asks(book, book.series[0]).items():
        text = ask.text(*(field.value or examples.get(field.name, "") for field in ask.fields))
        assert suppose(book, book.series[0].id, [text]).what_ifs[0].kind is kind


async def test_the_sentence_for_viewers_is_copied_and_kept_after_asking(demo: ShowrunnerApp) -> None:
    kept = demo.session.path.with_name("for-viewers.txt")
    async with demo.run_test(size=(80, 24)) as pilot:
        await run_out(pilot)
        await pilot.press("c")
        await settle(pilot)
        sentence = demo.session.runout().statement
        assert demo.clipboard == sentence
        assert not kept.exists()
        await pilot.press("down", "enter")
        await settle(pilot)
        assert kept.read_text() == f"{sentence}\n\nGoes stale on 22 March 2026; say it anew from then on.\n"
        await pilot.press("c")
        await settle(pilot)
        options = pilot.app.screen.query_one(OptionList)
        assert str(options.get_option_at_index(1).prompt).endswith("in place of what stands there")


async def test_an_odd_file_is_not_replaced_by_the_sentence(demo: ShowrunnerApp) -> None:
    kept = demo.session.path.with_name("for-viewers.txt")
    kept.mkdir()
    async with demo.run_test(size=(80, 24)) as pilot:
        await run_out(pilot)
        await pilot.press("c")
        await settle(pilot)
        await pilot.press("down", "enter")
        await settle(pilot)
        (note,) = demo._notifications
        assert "a folder" in note.message
        assert kept.is_dir()


@pytest.mark.slow
@pytest.mark.looks_back
async def test_how_it_held_is_told_and_looked_at_month_by_month(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await run_out(pilot)
        await settle(pilot)
        assert "the 10 to 90% range held in 28 by the dates planned" in figures(pilot)
        await pilot.press("b")
        await pilot.pause()
        dialog = pilot.app.screen
        assert isinstance(dialog, NoticeDialog)
        assert max(map(len, looks_table(demo.session.backtests(demo.session.runout())).splitlines())) <= 70
        assert "Apr 23  1 Oct to 8 Oct 23   held  15 Oct to 22 Oct 23 not   1 Oct 23" in dialog.text


@pytest.mark.slow
async def test_pairs_are_looked_through_and_one_is_tried(demo: ShowrunnerApp) -> None:
    before = demo.session.path.read_bytes()
    async with demo.run_test(size=(80, 24)) as pilot:
        await run_out(pilot)
        await pilot.press("p")
        await settle(pilot)
        assert isinstance(pilot.app.screen, PairsDialog)
        told = text_of(pilot, "#compared").splitlines()
        assert told[0].startswith("Alike: dates that overlap (about 1913 / 1910 to 1914)")
        assert told[1].endswith("chest 96.52 and 91.44, 5.08 cm apart.")
        assert told[2].startswith("As one study: 4–6 studies left instead of 5–7")
        await pilot.press("down")
        await settle(pilot)
        assert text_of(pilot, "#compared").splitlines()[0] == "Alike: nothing that is recorded of both."
        await pilot.press("up", "enter")
        await settle(pilot)
        screen = demo.screen
        assert isinstance(screen, RunOutScreen)
        assert screen.texts == ("pair=skating-jacket+bathing-costume",)
        assert "1. one study of" in beside(pilot)
    assert demo.session.path.read_bytes() == before


async def test_with_nothing_to_pair_that_is_told(demo: ShowrunnerApp) -> None:
    session = demo.session
    shown = [replace(piece, shown=replace(piece.shown, known=Known.YES)) for piece in session.book.pieces]
    session.do("all shown", lambda book: book.put("pieces", *shown).with_table("episodes", ()))
    async with demo.run_test(size=(80, 24)) as pilot:
        await run_out(pilot)
        await pilot.press("p")
        await settle(pilot)
        assert [note.message for note in demo._notifications] == ["No two pieces that are left could be one study."]
        assert headline(pilot) == "The Camphorwood Hour: nothing is left to show."
