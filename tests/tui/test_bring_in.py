"""Bringing a file in on the screen: look, settle, explain columns, write."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import openpyxl
import pytest
from keys import Keys, settle, text_of
from textual.widgets import DataTable, Input

from showrunner.domain import edits
from showrunner.incoming import TOO_LARGE
from showrunner.intake.columns import Kind, fields_for
from showrunner.session import Session
from showrunner.tui.app import ShowrunnerApp
from showrunner.tui.bring_in import BringInScreen
from showrunner.tui.dialogs import ChooseDialog
from showrunner.tui.ledger import LedgerScreen

DEMO = Path(__file__).parents[2] / "demo"
SIZE = (80, 24)


@pytest.fixture
def pieces(tmp_path: Path) -> Iterator[ShowrunnerApp]:
    """The application on a book that has the demo's pieces from a sheet, and nothing else."""
    with Session.open(tmp_path / "book.json", create=True, today=date(2026, 3, 2)) as session:
        at_home = replace(session.book.house, zone="Australia/Hobart")
        session.do("say where the house is", lambda book: edits.put_house(book, at_home))
        session.take_over(session.bring_in(DEMO / "pieces.csv"))
        yield ShowrunnerApp(session)


async def look_at(pilot: Keys, path: Path) -> None:
    """Name a file in the form and look at it."""
    await pilot.pause()
    await pilot.press("escape")  # the guided start
    await pilot.press("I")
    await pilot.pause()
    pilot.app.screen.query_one("#f-path", Input).value = str(path)
    await pilot.press("enter")
    await pilot.pause()
    await settle(pilot)


def rows(pilot: Keys) -> list[list[str]]:
    table = pilot.app.screen.query_one("#incoming", DataTable)
    return [[str(cell) for cell in table.get_row(key)] for key in table.rows]


@pytest.mark.slow
async def test_likely_episodes_are_settled_with_one_key_each_and_then_all_is_written(pieces: ShowrunnerApp) -> None:
    async with pieces.run_test(size=SIZE) as pilot:
        await look_at(pilot, DEMO / "episodes.csv")
        assert isinstance(pilot.app.screen, BringInScreen)
        assert [(row[0].strip(), row[1]) for row in rows(pilot)[:2]] == [("165", "? likely"), ("191", "? likely")]
        assert "Motoring duster, 71%" in text_of(pilot, "#incoming-said")
        await pilot.press("y")
        await settle(pilot)
        assert [(row[0].strip(), row[1]) for row in rows(pilot)[:2]] == [("191", "? likely"), ("165", "✓ settled")]
        await pilot.press("n")
        await settle(pilot)
        assert [row[1] for row in rows(pilot)[:2]] == ["✓ settled", "✓ settled"]
        assert pieces.session.book.publications == ()
        await pilot.press("a")
        await settle(pilot)
        book = pieces.session.book
        assert len(book.publications) == 327
        assert book.piece("07").shown.evidence == "Dust, oil and storm cuffs, August 2024"
        assert book.piece("11").shown.evidence == "listed as “about Nov 2024”"
        await pilot.press("u")
        assert pieces.session.book.publications == ()


@pytest.mark.slow
async def test_what_was_settled_is_asked_about_before_it_is_dropped(pieces: ShowrunnerApp) -> None:
    async with pieces.run_test(size=SIZE) as pilot:
        await look_at(pilot, DEMO / "episodes.csv")
        await pilot.press("y")
        await settle(pilot)
        for key in ("escape", "ctrl+q"):
            await pilot.press(key)
            assert isinstance(pilot.app.screen, ChooseDialog)
            await pilot.press("escape")
            assert isinstance(pilot.app.screen, BringInScreen)
        await pilot.press("down", "space")  # unsure again, as at first
        await settle(pilot)
        await pilot.press("escape")
        await settle(pilot)
        assert isinstance(pilot.app.screen, LedgerScreen)


@pytest.mark.slow
async def test_a_decision_can_be_taken_back_or_be_another_piece(pieces: ShowrunnerApp) -> None:
    async with pieces.run_test(size=SIZE) as pilot:
        await look_at(pilot, DEMO / "episodes.csv")
        await pilot.press("n")
        await settle(pilot)
        await pilot.press("down", "space")
        await settle(pilot)
        assert sorted(row[1] for row in rows(pilot)[:2]) == ["? likely", "? likely"]
        await pilot.press("o")
        await pilot.pause()
        await pilot.press("down", "enter")
        await settle(pilot)
        screen = pilot.app.screen
        assert isinstance(screen, BringInScreen)
        assert list(screen.asked.settled.values()) == [("01",)]


@pytest.mark.slow
async def test_leaving_writes_nothing(pieces: ShowrunnerApp) -> None:
    before = pieces.session.path.read_bytes()
    async with pieces.run_test(size=SIZE) as pilot:
        await look_at(pilot, DEMO / "episodes.csv")
        await pilot.press("y")
        await settle(pilot)
        await pilot.press("escape")
        await pilot.pause()
        assert not isinstance(pilot.app.screen, BringInScreen)
    assert pieces.session.path.read_bytes() == before


@pytest.mark.slow
async def test_a_column_is_explained_and_that_is_remembered(pieces: ShowrunnerApp, tmp_path: Path) -> None:
    sheet = tmp_path / "odd.csv"
    sheet.write_text("No,Name,Wohin\n60,Sash [/],Z\n")
    async with pieces.run_test(size=SIZE) as pilot:
        await look_at(pilot, sheet)
        await pilot.press("c")
        await pilot.pause()
        await pilot.press("down", "down", "enter")
        await pilot.pause()
        options = ["", *fields_for(Kind.PIECES)]
        await pilot.press(*["down"] * options.index("box"), "enter")
        await settle(pilot)
        screen = pilot.app.screen
        assert isinstance(screen, BringInScreen)
        assert [column.field for column in screen.found.columns] == ["id", "name", "box"]
        await pilot.press("a")
        await settle(pilot)
    piece = pieces.session.book.piece("60")
    assert (piece.name, piece.box) == ("Sash [/]", "Z")
    assert pieces.session.book.find("wordings", "pieces: wohin") is not None


async def test_refused_rows_come_first_with_their_sentence_and_nothing_can_be_written(
    pieces: ShowrunnerApp, tmp_path: Path
) -> None:
    sheet = tmp_path / "bad.csv"
    sheet.write_text("No,Name,Made\n60,Sash,1900\n61,Cap [bold],next week\n")
    async with pieces.run_test(size=SIZE) as pilot:
        await look_at(pilot, sheet)
        assert rows(pilot)[0][:3] == ["    3", "! refused", "61  Cap [bold]"]
        assert text_of(pilot, "#incoming-said").startswith("! Line 3, Made 'next week': this cannot be read as a date")
        await pilot.press("a")
        await pilot.pause()
        assert isinstance(pilot.app.screen, BringInScreen)
    assert pieces.session.book.find("pieces", "60") is None


async def test_a_file_that_cannot_be_read_keeps_the_form_open(pieces: ShowrunnerApp, tmp_path: Path) -> None:
    async with pieces.run_test(size=SIZE) as pilot:
        await look_at(pilot, tmp_path / "none.csv")
        assert "there is no such file" in text_of(pilot, "#dialog-error")
        assert not isinstance(pilot.app.screen, BringInScreen)


@pytest.mark.slow
async def test_a_large_file_is_read_beside_the_screen(pieces: ShowrunnerApp, tmp_path: Path) -> None:
    sheet = tmp_path / "large.csv"
    sheet.write_text("No,Name,Notes\n" + "".join(f"x{n},Sash {n},{'long ' * 20}\n" for n in range(2500)))
    async with pieces.run_test(size=SIZE) as pilot:
        await look_at(pilot, sheet)
        assert text_of(pilot, "#incoming-counts") == (
            "large.csv: 2500 new, 0 changed, 0 unchanged; 0 doubtful, 0 refused. "
            f"{TOO_LARGE} The first 2,000 rows are listed."
        )
        sheet.write_bytes(b"\x00" * 300_000)
        await pilot.press("escape")
        await pilot.press("I")
        await pilot.pause()
        pilot.app.screen.query_one("#f-path", Input).value = str(sheet)
        await pilot.press("enter")
        await pilot.pause()
        await settle(pilot)
        assert text_of(pilot, "#incoming-counts").startswith("! large.csv: this is not a text file")
        await pilot.press("a", "y", "n", "c", "i", "escape")
    assert len(pieces.session.book.pieces) == 47


@pytest.mark.slow
@pytest.mark.parametrize("key", ["I", "w"])
async def test_a_path_that_is_none_keeps_the_form_open(pieces: ShowrunnerApp, key: str) -> None:
    async with pieces.run_test(size=SIZE) as pilot:
        await pilot.pause()
        await pilot.press("escape", key)
        await pilot.pause()
        pilot.app.screen.query_one("#f-path", Input).value = "~nobody-here/a"
        await pilot.press("enter")
        await pilot.pause()
        assert "'~nobody-here/a' is no path" in text_of(pilot, "#n-path")


@pytest.mark.slow
async def test_the_sheet_of_a_workbook_and_the_meaning_of_an_x_are_asked(pieces: ShowrunnerApp, tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.active.title = "Bought"
    page = book.create_sheet("Wardrobe")
    for row in (["No", "Name", "Shown"], ["501", "Parasol", "x"], ["502", "Muff", "no"]):
        page.append(row)
    book.save(tmp_path / "two.xlsx")
    async with pieces.run_test(size=SIZE) as pilot:
        await look_at(pilot, tmp_path / "two.xlsx")
        assert isinstance(pilot.app.screen, ChooseDialog)
        await pilot.press("down", "enter")
        await settle(pilot)
        assert isinstance(pilot.app.screen, BringInScreen)
        assert "k answers it" in text_of(pilot, "#incoming-counts")
        await pilot.press("k", "enter")
        await settle(pilot)
        assert "k answers it" not in text_of(pilot, "#incoming-counts")
        assert [row[3] for row in rows(pilot)] == ["shown", "not shown"]
        await pilot.press("x")
        await settle(pilot)
        assert [row[1] for row in rows(pilot)] == ["- left out", "+ new"]
        await pilot.press("a")
        await settle(pilot)
        assert [piece.id for piece in pieces.session.book.pieces if piece.id.startswith("50")] == ["502"]


@pytest.mark.slow
async def test_what_merged_cells_left_empty_is_asked_and_filled(pieces: ShowrunnerApp, tmp_path: Path) -> None:
    lines = ["No,Name,Lives in", "601,Muff,box A", "602,Boa,", "603,Fan,box B", "604,Cap,"]
    (tmp_path / "grouped.csv").write_text("\n".join(lines))
    async with pieces.run_test(size=SIZE) as pilot:
        await look_at(pilot, tmp_path / "grouped.csv")
        await pilot.press("k", "enter")
        await settle(pilot)
        assert "k answers it" not in text_of(pilot, "#incoming-counts")
        await pilot.press("a")
        await settle(pilot)
        held = [piece for piece in pieces.session.book.pieces if piece.id.startswith("60")]
        assert [piece.box for piece in held] == ["A", "A", "B", "B"]
