"""Wants: the list, what one is bought beside, its steps by key, and a book that shops for nothing yet."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from keys import Keys, settle, text_of
from textual.widgets import Input

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.collection import CollectionKind
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.piece import Want, WantStatus, WantStep
from showrunner.session import Session
from showrunner.shopping import handover_line
from showrunner.tui.app import ShowrunnerApp
from showrunner.tui.dialogs import ChooseDialog, FormDialog, NoticeDialog
from showrunner.tui.lines import RowTable
from showrunner.tui.wants import WantsScreen

TODAY = date(2026, 3, 2)


def listed(pilot: Keys) -> list[str]:
    """The names in the list, as they stand."""
    table = pilot.app.screen.query_one("#wants", RowTable)
    return [cells[1].plain for cells in table.texts.values()]


async def go_to(pilot: Keys, name: str) -> None:
    table = pilot.app.screen.query_one("#wants", RowTable)
    table.move_cursor(row=listed(pilot).index(name))
    await settle(pilot)


async def write(pilot: Keys, **lines: str) -> None:
    for field, text in lines.items():
        pilot.app.screen.query_one(f"#f-{field}", Input).value = text
    await pilot.pause()


async def open_wants(pilot: Keys) -> None:
    await settle(pilot)
    await pilot.press("5")
    await settle(pilot)
    assert isinstance(pilot.app.screen, WantsScreen)


def want_of(app: ShowrunnerApp, name: str) -> Want:
    want = next(piece.want for piece in app.session.book.pieces if piece.name == name)
    assert want is not None
    return want


async def test_sums_room_and_the_opening_stand_on_top_and_a_row_tells_one_want(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await open_wants(pilot)
        top = text_of(pilot, "#purse")
        assert "! 1,885 of 1,800 AUD, 85 AUD over  ! 301 of 290 cm, 11 cm over" in top
        assert "▸ Without Pancake it fits: 1,800 of 1,800 AUD and 271 of 290 cm." in top
        assert "○ 7 wanted 1,360  → 2 ordered 250  ✓ 3 arrived 275  in AUD" in top
        assert "Can open Sun 17 May 2026 at the earliest, Sun 29 Nov 2026 at the latest: i." in top
        table = pilot.app.screen.query_one("#wants", RowTable)
        assert [cell.plain for cell in table.texts["b04"]] == ["→ ordered", "Magistrate", "140", "24", " May 2026"]
        assert [cell.plain for cell in table.texts["b12"]] == ["○ wanted", "Riddle", "380", "26", " -"]
        await go_to(pilot, "Riddle")
        told = text_of(pilot, "#want")
        assert "First study it can feed: no day yet: it is not ordered." in told
        assert "If it is bought, 895 AUD and 142 cm are left: all else that is wanted fits but Pancake." in told
        assert "condition all five parts" in told
        assert "wanted 23 August 2025" in told


@pytest.mark.slow
async def test_ordering_arriving_and_declining_by_key_each_taken_back_by_undo(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await open_wants(pilot)
        await go_to(pilot, "Thimble")
        await pilot.press("o")
        await settle(pilot)
        assert isinstance(demo.screen, FormDialog)
        await write(pilot, paid="48.50", carriage="7", expected="2026-04-20")
        await pilot.press("enter")
        await settle(pilot)
        want = want_of(demo, "Thimble")
        assert (want.status, want.paid, want.carriage) == (WantStatus.ORDERED, Decimal("48.50"), Decimal(7))
        assert want.expected == FuzzyDate.exact(date(2026, 4, 20))
        assert want.history[-1] == WantStep(WantStatus.ORDERED, TODAY)
        assert "1,885.50 of 1,800 AUD, 85.50 AUD over" in text_of(pilot, "#purse")
        assert "First study it can feed: the opening, 17 May 2026." in text_of(pilot, "#want")
        await pilot.press("r", "enter")
        await settle(pilot)
        assert want_of(demo, "Thimble").status is WantStatus.ARRIVED
        assert demo.session.book.piece("b11").acquired == FuzzyDate.exact(TODAY)
        await pilot.press("u", "u")
        await settle(pilot)
        assert want_of(demo, "Thimble").status is WantStatus.WANTED
        await go_to(pilot, "Pancake")
        await pilot.press("x", "enter")
        await settle(pilot)
        assert want_of(demo, "Pancake").status is WantStatus.DECLINED
        top = text_of(pilot, "#purse")
        assert "1,800 of 1,800 AUD, nothing free  271 of 290 cm, 19 cm free" in top
        assert "All of it fits." in top
        await pilot.press("y", "enter")
        await settle(pilot)
        assert [step.status for step in want_of(demo, "Pancake").history][-2:] == [
            WantStatus.DECLINED,
            WantStatus.WANTED,
        ]


@pytest.mark.slow
async def test_what_cannot_be_is_refused_in_the_form_and_nothing_typed_is_lost(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await open_wants(pilot)
        await go_to(pilot, "Thimble")
        before = demo.session.book
        await pilot.press("e")
        await settle(pilot)
        await write(pilot, ceiling="55.555")
        await pilot.press("enter")
        await settle(pilot)
        assert "Thimble, ceiling: AUD has 2 decimals, and 55.555 is finer" in text_of(pilot, "#dialog-error")
        await write(pilot, ceiling="40", currency="eur")
        await pilot.press("enter")
        await settle(pilot)
        assert "say what 1 EUR was worth in AUD, and on what day" in text_of(pilot, "#dialog-error")
        await write(pilot, rate="1.65")
        await pilot.press("enter")
        await settle(pilot)
        assert "'1.65' is no rate with its day; write it like 1.52 on 2 Mar 2026" in text_of(pilot, "#n-rate")
        await write(pilot, rate="1.65 on 2 Mar 2026", width="0")
        await pilot.press("enter")
        await settle(pilot)
        assert "0 cm is no width" in text_of(pilot, "#dialog-error")
        assert demo.session.book is before
        await write(pilot, width="6 in", preparation="1.5")
        await pilot.press("enter")
        await settle(pilot)
        want = want_of(demo, "Thimble")
        assert (want.ceiling, want.currency, want.width_cm) == (Decimal(40), "EUR", Decimal("15.24"))
        assert want.rate is not None
        assert (want.rate.value, want.rate.day) == (Decimal("1.65"), TODAY)
        assert want.preparation_minutes == 90
        assert "counts    66 AUD" in text_of(pilot, "#want")


@pytest.mark.slow
async def test_a_form_saved_as_it_was_changes_nothing(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await open_wants(pilot)
        before = demo.session.book
        for name in ("Pudding", "Saucer", "Riddle"):
            await go_to(pilot, name)
            await pilot.press("e", "enter")
            await settle(pilot)
        assert demo.session.book == before


@pytest.mark.slow
async def test_sorting_filtering_and_finding_keep_the_cursor_on_its_want(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await open_wants(pilot)
        await go_to(pilot, "Riddle")
        await pilot.press("s", "s")
        await settle(pilot)
        assert listed(pilot)[:2] == ["Riddle", "Chimney"]
        assert text_of(pilot, "#listed") == "12 of 12 wants, dearest first"
        assert text_of(pilot, "#want").startswith("b12  Riddle")
        await pilot.press("s")
        assert listed(pilot)[0] == "Saucer"
        await pilot.press("s")
        assert listed(pilot)[:5] == ["Pudding", "Alderman", "Drum", "Magistrate", "Saucer"]
        await pilot.press("s")
        assert listed(pilot)[0] == "Admiral"
        await pilot.press("f", "f")
        await settle(pilot)
        assert listed(pilot) == ["Magistrate", "Saucer"]
        assert text_of(pilot, "#listed") == "2 of 12 wants, by name, only ordered"
        await pilot.press("f", "f")
        await settle(pilot)
        assert listed(pilot) == []
        assert "Nothing is listed so: f and Esc list all." in text_of(pilot, "#want")
        await pilot.press("escape", "slash", *"puzz")
        await settle(pilot)
        assert listed(pilot) == []
        await pilot.press("escape", "slash", *"five parts", "enter")
        await settle(pilot)
        assert listed(pilot) == ["Riddle"]
        await pilot.press("escape")
        await settle(pilot)
        assert len(listed(pilot)) == 12


@pytest.mark.slow
async def test_taking_over_and_the_boxes_are_read_in_full(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await open_wants(pilot)
        await pilot.press("i")
        await settle(pilot)
        assert isinstance(demo.screen, NoticeDialog)
        assert "open at latest  29 Nov 2026     29 Nov 2026     10 Jan 2027" in demo.screen.text
        await pilot.press("escape", "m")
        await settle(pilot)
        assert isinstance(demo.screen, NoticeDialog)
        assert "→ ordered      2        250        250          0        250       62" in demo.screen.text
        await pilot.press("escape", "b")
        await settle(pilot)
        assert isinstance(demo.screen, NoticeDialog)
        assert "! Box D is over-full by 0.5 cm." in demo.screen.text
        await pilot.press("escape", "B")
        await settle(pilot)
        assert isinstance(demo.screen, ChooseDialog)
        await pilot.press(*["down"] * 4, "enter")
        await settle(pilot)
        await write(pilot, depth="5 in", refolded="2 Mar 2026")
        await pilot.press("enter")
        await settle(pilot)
        box = demo.session.book.find("boxes", "D")
        assert box is not None
        assert (box.depth_cm, box.refolded) == (Decimal("12.7"), TODAY)
        await pilot.press("B", "enter")
        await settle(pilot)
        await write(pilot, supplies="acid-free tissue, sheets 90/50; archival boxes, large 0/1")
        await pilot.press("enter")
        await settle(pilot)
        tissue, boxes = demo.session.book.house.supplies
        assert (tissue.on_hand, tissue.counted, boxes.counted) == (90, TODAY, date(2025, 9, 6))


@pytest.mark.slow
async def test_the_run_out_says_what_wants_and_the_report_say_of_taking_over(demo: ShowrunnerApp) -> None:
    def flat(text: str) -> str:
        return " ".join(text.split())

    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("4")
        await settle(pilot)
        before = handover_line(demo.session.book, demo.session.handover("blocks"))
        assert before.startswith("Crown & Brim can open on Sunday 17 May 2026 at the earliest")
        assert before in flat(text_of(pilot, "#figures"))
        demo.session.do("decline", lambda b: edits.set_status(b, "b04", WantStatus.DECLINED, TODAY, today=TODAY))
        await pilot.press("5", "4")
        await settle(pilot)
        after = handover_line(demo.session.book, demo.session.handover("blocks"))
        assert after != before
        assert after in flat(text_of(pilot, "#figures"))
        assert before not in flat(text_of(pilot, "#figures"))


@pytest.mark.slow
async def test_a_book_that_shops_for_nothing_gets_a_collection_and_a_want_by_key(tmp_path: Path) -> None:
    with Session.create(tmp_path / "book.json", Book("k"), today=TODAY) as session:
        app = ShowrunnerApp(session)
        async with app.run_test(size=(80, 24)) as pilot:
            await settle(pilot)
            await pilot.press("escape", "5")
            await settle(pilot)
            assert "Nothing is shopped for yet. c makes a collection" in text_of(pilot, "#purse")
            for key in ("o", "r", "x", "e", "a", "s", "f", "m", "i", "b", "delete", "C"):  # nothing to do, and no fault
                await pilot.press(key)
                await settle(pilot)
                await pilot.press("escape")
                await settle(pilot)
            await pilot.press("c")
            await settle(pilot)
            await write(pilot, name="Hat blocks", currency="aud", budget="0")
            await pilot.press("enter")
            await settle(pilot)
            assert "a budget of 0 buys nothing" in text_of(pilot, "#dialog-error")
            await write(pilot, budget="500", shelf="")
            await pilot.press("enter")
            await settle(pilot)
            (made,) = session.book.collections
            assert (made.id, made.kind, made.budget) == ("hat-blocks", CollectionKind.SHOPPING, Decimal(500))
            assert "Hat blocks  0 of 500 AUD, 500 AUD free  0 cm, no shelf set" in text_of(pilot, "#purse")
            assert "When it can take over is not known: the book has no slots yet." in text_of(pilot, "#purse")
            await pilot.press("a")
            await settle(pilot)
            await write(pilot, name="Pudding", ceiling="95")
            await pilot.press("enter")
            await settle(pilot)
            (piece,) = session.book.pieces
            assert piece.want == Want(ceiling=Decimal(95), history=(WantStep(WantStatus.WANTED, TODAY),))
            assert listed(pilot) == ["Pudding"]
            assert "Counted as nothing, for want of a number: no width: Pudding." in text_of(pilot, "#purse")


@pytest.mark.slow
async def test_a_second_collection_is_shown_by_its_key_and_an_unknown_zone_is_told(demo: ShowrunnerApp) -> None:
    session = demo.session
    other = replace(session.book.collection("blocks"), id="pins", name="Hat pins", budget=None)
    session.do("more", lambda book: book.put("collections", other))
    async with demo.run_test(size=(80, 24)) as pilot:
        await open_wants(pilot)
        await pilot.press("C")
        await settle(pilot)
        assert "Hat pins" in text_of(pilot, "#purse")
        assert listed(pilot) == []
        await pilot.press("C")
        await settle(pilot)
        assert len(listed(pilot)) == 12
