"""Keys of the Ledger and of a plan before it is accepted, where a hasty or a late hand could do harm."""

from __future__ import annotations

import time
from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction
from typing import Any

import pytest
from keys import settle, text_of
from textual.widgets import DataTable, Input

from showrunner.domain import edits, words
from showrunner.domain.episode import Stage
from showrunner.domain.house import Unsure
from showrunner.domain.slot import DarkRange, SlotRef
from showrunner.planning.results import Status
from showrunner.session import Session
from showrunner.tui.app import ShowrunnerApp
from showrunner.tui.dialogs import ChooseDialog, FormDialog
from showrunner.tui.ledger import LedgerScreen
from showrunner.tui.preview import PreviewScreen
from showrunner.tui.weeks import next_step, weeks
from showrunner.tui.work_view import worked


async def test_n_goes_back_to_this_week(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        table = demo.screen.query_one("#weeks", DataTable)
        row = table.cursor_row
        await pilot.press("down", "down", "n")
        await pilot.pause()
        assert table.cursor_row == row


@pytest.mark.slow
async def test_usual_content_is_not_recorded_for_a_day_to_come(demo: ShowrunnerApp) -> None:
    demo.session._today = date(2026, 3, 9)
    before = demo.session.book
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        demo.screen.query_one("#weeks", DataTable).move_cursor(row=19, column=2)  # the talk of 8 March
        await pilot.press("y")
        await pilot.pause()
        assert isinstance(demo.screen, FormDialog)
        demo.screen.query_one("#f-on", Input).value = "2027-01-01"
        await pilot.press("enter")
        await settle(pilot)
        assert "1 January 2027 is still to come (today is 9 March 2026)" in text_of(pilot, "#dialog-error")
        assert demo.session.book is before


@pytest.mark.slow
async def test_missed_usual_content_is_recorded_as_missed_with_one_key(demo: ShowrunnerApp) -> None:
    demo.session._today = date(2026, 3, 9)
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        demo.screen.query_one("#weeks", DataTable).move_cursor(row=19, column=2)
        await pilot.press("M")
        await settle(pilot)
        line = demo.session.book.publications[-1]
        assert (line.planned, line.rule, line.actual) == (date(2026, 3, 8), "sunday", None)
        await pilot.press("u")
        await settle(pilot)
        assert len(demo.session.book.publications) == 327


@pytest.mark.slow
async def test_m_away_from_what_is_due_only_goes_there(demo: ShowrunnerApp) -> None:
    demo.session._today = date(2026, 3, 9)
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("down", "right", "M")  # the talk of 15 March, still to come
        await settle(pilot)
        assert len(demo.session.book.publications) == 327
        await pilot.press("M")  # the banked diary of 4 March, overdue
        await settle(pilot)
        line = demo.session.book.publications[-1]
        assert (line.episode, line.actual) == ("diary-2026-03-04", None)


async def test_the_cursor_begins_on_what_is_overdue_and_y_publishes_that(demo: ShowrunnerApp) -> None:
    diary = "diary-2026-03-04"
    demo.session.do("diary", lambda book: edits.publish(book, diary, date(2026, 3, 4)))
    demo.session._today = date(2026, 3, 24)
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "was due on 22 March 2026: y publishes it" in text_of(pilot, "#next")
        screen = demo.screen
        assert isinstance(screen, LedgerScreen)
        assert screen.episode
        assert screen.episode.id == "apron"
        await pilot.press("down", "down", "y")  # a talk to come: it says so, and goes to what is due
        await pilot.pause()
        assert isinstance(demo.screen, LedgerScreen)
        told = [notification.message for notification in demo._notifications]
        assert told == ["Sun 5 Apr 2026 holds long feature. The apple-packer's apron is due: y again is for it."]
        await pilot.press("y")
        await pilot.pause()
        assert isinstance(demo.screen, FormDialog)
        assert demo.screen.form_title == "Publish The apple-packer's apron"


def test_an_overdue_study_has_its_row_however_old_it_is(demo: ShowrunnerApp) -> None:
    book, today = demo.session.book, date(2026, 12, 1)
    assert next_step(book, today, None).due
    first = min(e.slot.day for e in book.episodes if e.slot and not e.published)
    assert today - first > timedelta(weeks=20)
    assert any(cell.slot and cell.slot.day == first for week in weeks(book, today, None) for cell in week.cells)


@pytest.mark.slow
async def test_a_move_against_a_hard_rule_is_refused_in_a_sentence(demo: ShowrunnerApp) -> None:
    dark = DarkRange("d", date(2026, 3, 27), date(2026, 3, 31), no_work=False, no_publication=True)
    demo.session.do("dark", lambda book: edits.put_dark(book, dark))
    before = demo.session.book
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("down", "down", "m")
        await pilot.pause()
        assert isinstance(demo.screen, ChooseDialog)
        at, label = next(option for option in demo.screen.options if "29 Mar" in option[1])
        assert label == "Sun 29 Mar 2026  – no: nothing is published 27 to 31 March 2026"
        demo.screen.dismiss(at)
        await settle(pilot)
        told = [notification.message for notification in demo._notifications]
        assert any("it cannot go to 29 March 2026: nothing is published 27 to 31 March 2026" in text for text in told)
        assert demo.session.book is before


async def test_b_puts_what_is_finished_into_the_bank(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("down", "down", "b")
        await settle(pilot)
        apron = demo.session.book.episode("apron")
        assert apron.finished
        assert apron.done == tuple(Stage)
        await pilot.press("u")
        await settle(pilot)
        assert not demo.session.book.episode("apron").finished


@pytest.mark.slow
async def test_the_pieces_of_a_study_are_changed_and_a_wrong_one_is_refused(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("down", "down", "e")
        await pilot.pause()
        field = demo.screen.query_one("#f-pieces", Input)
        assert field.value == "Apple-packer's apron"
        field.value = "29, 30"  # which the waistcoats show
        await pilot.press("enter")
        await pilot.pause()
        assert "is in the study “Septimus and Barnaby: two waistcoats” already" in text_of(pilot, "#dialog-error")
        field.value = "29, no-such"
        await pilot.press("enter")
        await pilot.pause()
        assert "no-such" in text_of(pilot, "#n-pieces")
        assert demo.focused is field
        assert field.selected_text == "29, no-such"  # chosen whole, so that typing replaces it
        field.value = "packer, 27"
        await pilot.press("enter")
        await settle(pilot)
        assert demo.session.book.episode("apron").pieces == ("29", "27")


def test_a_study_whose_last_task_is_ticked_is_in_the_bank(demo: ShowrunnerApp) -> None:
    session = demo.session
    assert session.book.series[0].stages.condition_check == 0  # so that no task is ever laid out for it
    for _ in range(60):
        task = next((task for task in session.work().tasks if task.episode == "apron"), None)
        if task is None:
            break
        assert not session.book.episode("apron").finished
        session.do(
            "done", lambda book, task=task: worked(book, task, task.minutes, session.today, session.today, False)
        )  # type: ignore[misc]
    assert session.book.episode("apron").finished


async def test_a_plan_for_other_options_than_those_shown_is_never_accepted(
    demo: ShowrunnerApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    plan = demo.session.plan

    def slow_at_first(**options: Any) -> Any:
        found = plan(**options)
        if options["unsure"] is Unsure.LEFT_OUT:
            time.sleep(0.6)
        return found

    monkeypatch.setattr(demo.session, "plan", slow_at_first)
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("p", "n", "n")
        await pilot.pause(1.0)
        await settle(pilot)
        screen = demo.screen
        assert isinstance(screen, PreviewScreen)
        assert screen.plan
        assert screen.plan.unsure is screen.unsure is Unsure.UNSHOWN
        assert screen.query_one("#changes", DataTable).row_count == 7


async def test_a_book_that_cannot_be_planned_is_told_and_not_a_crash(demo: ShowrunnerApp) -> None:
    path = demo.session.path
    demo.session.close()
    path.write_text(path.read_text().replace('"Australia/Hobart"', '"Nowhere/Else"'))
    with Session.open(path, today=date(2026, 3, 2)) as session:
        app = ShowrunnerApp(session)
        async with app.run_test(size=(80, 24)) as pilot:
            await settle(pilot)
            for key, where in (("p", "#verdict"), ("k", "#state")):
                await pilot.press(key)
                await settle(pilot)
                assert "Nowhere/Else" in text_of(pilot, where)
                await pilot.press("escape")
                await settle(pilot)


async def test_the_verdict_says_the_points_before_and_after(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("p")
        await settle(pilot)
        assert "Unevenness 14; proven" in text_of(pilot, "#verdict")
        await pilot.press("n", "n")
        await settle(pilot)
        assert "Unevenness 4 for 7 studies (now 14 for 5); proven" in text_of(pilot, "#verdict")


@pytest.mark.slow
async def test_a_lost_date_and_an_unproven_count_are_said(demo: ShowrunnerApp, monkeypatch: pytest.MonkeyPatch) -> None:
    dark = DarkRange("d", date(2026, 3, 3), date(2027, 12, 31))
    demo.session.do("no work at all", lambda book: edits.put_dark(book, dark))
    plan = demo.session.plan
    monkeypatch.setattr(
        demo.session,
        "plan",
        lambda **options: replace(
            plan(**options), status=Status.TIME_LIMIT, proven=False, missing_gap=2, proven_gap=Fraction(0)
        ),
    )
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("p")
        await settle(pilot)
        verdict = text_of(pilot, "#verdict")
        assert "not proven: at most 2 more studies could be placed" in verdict
        assert "5 studies would lose the date" in verdict


@pytest.mark.slow
async def test_better_dates_are_offered_in_one_line_and_go_once_they_are_accepted(demo: ShowrunnerApp) -> None:
    """The apron a week later than the best: 4 studies would move back to the best dates, of unevenness 14."""
    demo.session.do("move", lambda book: edits.set_slot(book, "apron", SlotRef(date(2026, 3, 29), "sunday")))
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        offer = demo.screen.query_one("#offer")
        assert offer.display
        standing = demo.session.standing()
        assert standing.offer
        assert text_of(pilot, "#offer") == (
            f"More even dates would move 1 study (unevenness 14 instead of {words.number(standing.points)}): press p"
        )
        await pilot.press("p")
        await settle(pilot)
        await pilot.press("a")
        await settle(pilot)
        assert demo.session.book.episode("apron").slot == SlotRef(date(2026, 3, 22), "sunday")
        assert not demo.screen.query_one("#offer").display


async def test_a_key_for_studies_says_why_it_does_nothing_elsewhere(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        for key in ("m", "i", "o", "x", "s"):
            demo.clear_notifications()
            await pilot.press(key)
            await pilot.pause()
            told = [notification.message for notification in demo._notifications]
            assert told == ["Sun 8 Mar 2026 holds long feature, which is no study: put the cursor on one."], key
        demo.clear_notifications()
        await pilot.press("y")
        await pilot.pause()
        told = [notification.message for notification in demo._notifications]
        assert told == ["Sun 8 Mar 2026 holds long feature, and has not come yet; b puts it in the bank."]


async def test_the_reason_tells_hours_worked_and_days_without_work(demo: ShowrunnerApp) -> None:
    session = demo.session
    session.do("worked", lambda b: edits.put_work(b, "apron", Stage.EDIT, 90, session.today, today=session.today))
    async with demo.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        await pilot.press("down", "down")
        await settle(pilot)
        assert "Worked so far: 1.5 h of edit." in text_of(pilot, "#why")
        screen = demo.screen
        assert isinstance(screen, LedgerScreen)
        row = next(at for at, week in enumerate(screen.rows) if week.monday == date(2026, 7, 13))
        screen.query_one("#weeks", DataTable).move_cursor(row=row)
        await pilot.pause()
        assert "15 h must be done before 13 July 2026, as there is no work 13 to 26 July 2026" in text_of(pilot, "#why")
