"""The ways out of a study without a slot: previewed with a key, accepted in one step, left without a byte changed."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path
from textwrap import wrap

import pytest
from keys import Keys, settle, text_of
from planning.books import TODAY, small, sunday
from textual.widgets import DataTable, Input

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.episode import Pin, PinKind
from showrunner.domain.house import ExtraWork, Unsure
from showrunner.planning.aims import Aim
from showrunner.planning.changes import Change, LookFurther, LowerGap, MoreHours
from showrunner.planning.results import Unplaced, WayOut
from showrunner.session import Session
from showrunner.tui.app import ShowrunnerApp
from showrunner.tui.dialogs import ChooseDialog, FormDialog, NoticeDialog
from showrunner.tui.ledger import LedgerScreen
from showrunner.tui.preview import PreviewScreen

Opened = Callable[[Book], ShowrunnerApp]


@pytest.fixture
def opened(tmp_path: Path) -> Iterator[Opened]:
    """Opens a book on the day of the tests."""
    sessions: list[Session] = []

    def open_book(book: Book) -> ShowrunnerApp:
        sessions.append(Session.create(tmp_path / "book.json", book, today=TODAY))
        return ShowrunnerApp(sessions[-1])

    yield open_book
    for session in sessions:
        session.close()


def few_hours() -> Book:
    """Three studies and no working hours at all."""
    return small(3, work=(0, 0, 0, 0, 0, 0, 0))


def few_weeks() -> Book:
    """Four studies, two weeks apart, and five Sundays."""
    book = small(4)
    return replace(book, rules=(replace(book.rules[0], last=date(2026, 4, 5)),))


def wide_gaps() -> Book:
    """Three studies of which 78 weeks hold two: a longer look helps, and a smaller gap."""
    return small(3, gaps=(40, 41, 50))


def preview(pilot: Keys) -> PreviewScreen:
    screen = pilot.app.screen
    assert isinstance(screen, PreviewScreen)
    return screen


async def plan(pilot: Keys, *keys: str) -> PreviewScreen:
    await settle(pilot)
    for key in keys or ("p",):
        await pilot.press(key)
        await settle(pilot)
    return preview(pilot)


def way(screen: PreviewScreen, kind: type[Change]) -> tuple[str, WayOut]:
    """The way out under the cursor that consists of a change of a kind, with its key."""
    assert isinstance(screen.item, Unplaced)
    ways = screen.item.ways_out
    at = next(at for at, found in enumerate(ways) if [type(c) for c in found.changes] == [kind])
    return str(at + 1), ways[at]


@pytest.mark.slow
@pytest.mark.parametrize(
    ("book", "kind", "first"),
    [
        (few_hours, MoreHours, "s0"),
        (few_weeks, LowerGap, "s3"),
        (wide_gaps, LookFurther, "s2"),
        (wide_gaps, LowerGap, "s2"),
    ],
)
async def test_a_way_out_is_previewed_as_told_and_accepted_or_left(
    opened: Opened, book: Callable[[], Book], kind: type[Change], first: str
) -> None:
    app = opened(book())
    session = app.session
    async with app.run_test(size=(80, 24)) as pilot:
        plain = await plan(pilot)
        before, bytes_before = session.book, session.path.read_bytes()
        study = plain.item
        assert study is not None
        assert study.id == first  # the cursor begins on the first one without a slot
        key, told = way(plain, kind)
        assert f"\n{key}  With " in text_of(pilot, "#reason")
        assert (
            text_of(pilot, "#accept") == "a  accept   Esc  drop   n  unsure   r  another way   1-3  way out   ?  keys"
        )

        supposed = await plan(pilot, key)
        assert supposed is not plain
        assert supposed.plan is not None
        airs = {item.id: item.slot.day for item in supposed.plan.studies}
        assert airs[first] == told.airs
        assert supposed.item is not None
        assert supposed.item.id == first
        assert text_of(pilot, "#heading").startswith("With ")
        table = supposed.query_one("#changes", DataTable)
        marked = [str(table.get_cell_at((row, 0))) for row in range(table.row_count)]  # type: ignore[arg-type]
        assert [title for title in marked if title.startswith("▸")] == [f"▸ {study.title}"]

        await pilot.press("escape")
        await settle(pilot)
        assert preview(pilot) is plain
        assert plain.item is study
        assert session.path.read_bytes() == bytes_before

        await plan(pilot, key)
        await pilot.press("a")
        await settle(pilot)
        assert isinstance(app.screen, LedgerScreen)
        slot = session.book.episode(first).slot
        assert slot is not None
        assert slot.day == told.airs
        assert {e.id: e.slot.day for e in session.book.open_studies if e.slot} == airs
        [change] = told.changes
        apart = before  # from the dates
        if isinstance(change, MoreHours):
            apart = replace(before, house=replace(before.house, extra_work=(ExtraWork(change.by, change.minutes),)))
        elif isinstance(change, LowerGap):
            apart = before.put("series", replace(before.series[0], min_weeks=change.weeks))
        assert session.book.put("episodes", *before.episodes) == apart
        assert session.undo_label == "accept the plan and what it supposes"
        await pilot.press("u")
        await settle(pilot)
        assert session.book == before
        assert session.undo_label is None


@pytest.mark.slow
async def test_a_way_out_within_a_way_out_adds_up_and_leaves_step_by_step(opened: Opened) -> None:
    app = opened(few_hours())
    async with app.run_test(size=(120, 40)) as pilot:
        plain = await plan(pilot)
        once = await plan(pilot, "1")
        assert once.plan is not None
        table = once.query_one("#changes", DataTable)
        table.move_cursor(row=len(once.plan.studies))  # the next study without a slot
        await pilot.pause()
        twice = await plan(pilot, "1")
        assert [type(change) for change in twice.changes] == [MoreHours, MoreHours]
        assert twice.plan is not None
        assert len(twice.plan.studies) > len(once.plan.studies)
        await pilot.press("escape")
        await settle(pilot)
        assert preview(pilot) is once
        await plan(pilot, "1")
        await pilot.press("a")
        await settle(pilot)
        assert not {plain, once} & {*app.screen_stack}
        assert len([e for e in app.session.book.open_studies if e.slot]) == len(twice.plan.studies)
        app.session.undo()
        assert app.session.undo_label is None


@pytest.mark.slow
async def test_a_way_out_keeps_how_it_was_planned(opened: Opened) -> None:
    app = opened(wide_gaps())
    async with app.run_test(size=(80, 24)) as pilot:
        await plan(pilot, "r", "n")
        supposed = await plan(pilot, "1")
        assert supposed.plan is not None
        assert (supposed.plan.aim, supposed.plan.unsure) == (Aim.EVEN, Unsure.SHOWN)
        await pilot.press("n", "r")
        await settle(pilot)
        assert (supposed.aim, supposed.unsure) == (Aim.EVEN, Unsure.SHOWN)
        assert preview(pilot) is supposed


async def test_the_keys_of_ways_out_do_nothing_on_a_study_with_a_slot(opened: Opened) -> None:
    app = opened(few_weeks())
    async with app.run_test(size=(80, 24)) as pilot:
        plain = await plan(pilot)
        await pilot.press("home", "up", "up", "up", "1")
        await settle(pilot)
        assert preview(pilot) is plain
        await pilot.press("question_mark")
        await pilot.pause()
        assert isinstance(app.screen, NoticeDialog)
        assert "1 2 3  On a study without a slot" in app.screen.text


@pytest.mark.slow
async def test_what_would_help_a_waiting_study_is_asked_from_the_ledger(opened: Opened) -> None:
    app = opened(few_hours())
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("l")
        await pilot.pause()
        assert isinstance(app.screen, ChooseDialog)
        labels = dict(app.screen.options)
        assert labels["help s1"] == "what would help Study 1"
        app.screen.dismiss("help s1")
        await pilot.pause()
        await settle(pilot)
        item = preview(pilot).item
        assert item is not None
        assert item.id == "s1"


async def test_a_book_that_changed_meanwhile_is_not_written_over(opened: Opened) -> None:
    app = opened(few_weeks())
    async with app.run_test(size=(80, 24)) as pilot:
        await plan(pilot)
        app.session.do("a hand", lambda book: edits.set_slot(book, "s0", sunday(date(2026, 3, 15))))
        changed = app.session.book
        for key in ("a", "1"):
            await pilot.press(key)
            await settle(pilot)
            assert "the book has changed since it was made" in text_of(pilot, "#verdict")
        assert app.session.book is changed


async def test_promises_that_clash_are_all_told_at_80_by_24_and_nothing_is_accepted(opened: Opened) -> None:
    pins = (
        Pin("p1", PinKind.DATE, ("s0",), slot=sunday(date(2026, 4, 5))),
        Pin("p2", PinKind.DATE, ("s1",), slot=sunday(date(2026, 4, 12))),
        Pin("p3", PinKind.ORDER, ("s1", "s0")),
    )
    app = opened(small(3).put("pins", *pins))
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await plan(pilot)
        assert screen.plan is not None
        assert screen.plan.clashes
        verdict, table = screen.query_one("#verdict"), screen.query_one("#changes")
        assert text_of(pilot, "#verdict").startswith(
            "Keeps 2 of 3 promises; settle that first. Nothing can be accepted."
        )
        for clash in screen.plan.clashes:
            assert clash.text in text_of(pilot, "#verdict")
        lines = [wrap(line, verdict.size.width) for line in text_of(pilot, "#verdict").split("\n")]
        assert verdict.size.height >= sum(map(len, lines)) > len(lines)  # every line is seen, though some are long
        assert table.size.height >= 5
        assert "accept" not in text_of(pilot, "#accept")
        before = app.session.book
        await pilot.press("a")
        await settle(pilot)
        assert app.session.book is before


@pytest.mark.slow
async def test_extra_hours_are_seen_added_and_removed(opened: Opened) -> None:
    app = opened(few_hours())
    house = app.session.book.house
    async with app.run_test(size=(80, 24)) as pilot:
        for typed, kept in (
            ("22 Mar 2026 2.5; 2026-03-21 4", (ExtraWork(date(2026, 3, 21), 240), ExtraWork(date(2026, 3, 22), 150))),
            ("", ()),
        ):
            await settle(pilot)
            await pilot.press("h")
            await pilot.pause()
            assert isinstance(app.screen, ChooseDialog)
            app.screen.dismiss("extra")
            await pilot.pause()
            await pilot.pause()
            assert isinstance(app.screen, FormDialog)
            field = app.screen.query_one("#f-extra", Input)
            assert bool(field.value) == bool(app.session.book.house.extra_work)
            field.value = "21 Mar 2026 25"
            await pilot.press("enter")
            await pilot.pause()
            assert "24" in text_of(pilot, "#n-extra")
            field.value = typed
            await pilot.press("enter")
            await settle(pilot)
            assert app.session.book.house == replace(house, extra_work=kept)
        app.session.undo()
        assert sum(found.minutes for found in app.session.book.house.extra_work) == 390


@pytest.mark.slow
async def test_the_hours_of_an_accepted_way_out_are_seen_in_the_house_rules(opened: Opened) -> None:
    app = opened(few_hours())
    async with app.run_test(size=(80, 24)) as pilot:
        _, told = way(await plan(pilot), MoreHours)
        await plan(pilot, "1")
        await pilot.press("a")
        await settle(pilot)
        [more] = told.changes
        assert isinstance(more, MoreHours)
        assert more.minutes == 480  # the 8 h of one study
        assert app.session.book.house.extra_work == (ExtraWork(more.by, 480),)
        await pilot.press("h")
        await pilot.pause()
        assert isinstance(app.screen, ChooseDialog)
        app.screen.dismiss("extra")
        await pilot.pause()
        await pilot.pause()
        assert app.screen.query_one("#f-extra", Input).value == f"{more.by.day} {more.by:%b %Y} 8"
