"""The form of a piece, and what the Register shows of it."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from keys import Keys, settle, text_of
from textual.widgets import Input

from showrunner.domain import edits
from showrunner.domain.piece import Feature, Handling, Measurement, Piece, View
from showrunner.planning.shots import kind_of_piece
from showrunner.storage.edtf_text import parse_made
from showrunner.storage.written_dates import read_written
from showrunner.tui.app import ShowrunnerApp
from showrunner.tui.choice_line import ChoiceLine
from showrunner.tui.dialogs import ChooseDialog, FormDialog
from showrunner.tui.piece_text import about
from showrunner.tui.register import RegisterScreen

FULL = {
    "name": "Robe,  twice",
    "kind": "robe",
    "made": read_written("c. 1895").kept,
    "acquired": read_written("about the 1990s").kept,
    "acquired_before": ("08", "09"),
    "acquired_after": ("10",),
    "materials": ("silk, weighted", "lawn"),
    "layer": 3,
    "measurements": (
        Measurement("chest", Decimal("53.98"), "cm", "21 1/4 in"),
        Measurement("sweep", Decimal("86.50"), "cm", "sweep 86.50 cm"),
        Measurement("weight", Decimal(2), "kg", "4 lb, on the kitchen scales"),
    ),
    "handling": Handling(notes="net, support", form_minutes=20, people=2),
    "hazards": ("arsenic, perhaps",),
    "points": ("one; two", "three"),
    "photographs": ("front; best.jpg", "back.jpg"),
    "notes": " as it came ",
}
"""Values that no form would give back if it were read again."""


async def write(pilot: Keys, **fields: str) -> None:
    for name, text in fields.items():
        pilot.app.screen.query_one(f"#f-{name}", Input).value = text
    await pilot.pause()


def put(app: ShowrunnerApp, **fields: object) -> Piece:
    piece = replace(app.session.book.piece("01"), **fields)  # type: ignore[arg-type]
    app.session.do("prepare", lambda book: book.put("pieces", piece))
    return piece


@pytest.mark.slow
async def test_a_form_saved_as_it_was_changes_nothing(demo: ShowrunnerApp) -> None:
    piece = put(demo, **FULL)
    before = demo.session.path.read_bytes()
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("1", "e")
        await pilot.pause()
        assert demo.screen.query_one("#f-made", Input).value == "c. 1895"
        assert demo.screen.query_one("#f-measurements", Input).value.startswith("chest 21 1/4 in, sweep 86.50 cm")
        await pilot.press("enter")
        await settle(pilot)
        assert not isinstance(demo.screen, FormDialog)
    assert demo.session.book.piece("01") == piece
    assert demo.session.path.read_bytes() == before


@pytest.mark.slow
async def test_what_is_typed_is_kept_as_written_and_spoken_back(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("1", "e")
        await pilot.pause()
        await write(
            pilot,
            made="c. 1895",
            acquired="before 2005",
            before="8, lace jabot",
            after="",
            layer="2",
            measurements="chest 21 1/4 in, weight 2 lb 3 oz",
            photographs="a.jpg; b c.png",
        )
        assert text_of(pilot, "#n-made") == "about 1895"
        assert text_of(pilot, "#n-before") == "Tea gown “Odile” and Lace jabot"
        await pilot.press("enter")
        await settle(pilot)
        piece = demo.session.book.piece("01")
        assert piece.made is not None
        assert (piece.made.text, piece.made.written) == ("1895~", "c. 1895")
        assert piece.acquired_before == ("08", "28")
        assert (piece.layer, piece.photographs) == (2, ("a.jpg", "b c.png"))
        assert [str(m.value) for m in piece.measurements] == ["53.98", "0.992"]
        said = [notice.message for notice in demo._notifications]
        assert "Made: about 1895. Acquired: 2005 or before." in said
        shown = text_of(pilot, "#piece")
        assert "about 1895 (written: c. 1895)" in shown
        assert "\nMeasurements\n- chest 53.98 cm (21 1/4 in)\n- weight 0.992 kg (2 lb 3 oz)\n" in shown
        assert "came before Tea gown “Odile” and Lace jabot" in shown


@pytest.mark.slow
async def test_an_order_that_goes_round_is_refused_and_what_was_typed_stays(demo: ShowrunnerApp) -> None:
    demo.session.do("x", lambda b: edits.put_piece(b, replace(b.piece("08"), acquired_before=("01",), acquired=None)))
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("1", "e")
        await pilot.pause()
        await write(pilot, before="08", acquired="", layer="x")
        await pilot.press("enter")
        await pilot.pause()
        assert "'x' is no whole number" in text_of(pilot, "#n-layer")
        await write(pilot, layer="")
        await pilot.press("enter")
        await pilot.pause()
        assert isinstance(demo.screen, FormDialog)
        assert "goes round in a circle" in text_of(pilot, "#dialog-error")
        assert demo.screen.query_one("#f-before", Input).value == "08"


@pytest.mark.slow
async def test_every_line_of_the_form_comes_into_view_at_80_by_24(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("1", "e", "f2")
        await pilot.pause()
        assert isinstance(demo.screen, FormDialog)
        demo.screen.query_one("#f-name").focus()
        await pilot.pause()
        for field in demo.screen.fields:
            line = demo.screen.query_one(f"#f-{field.name}", ChoiceLine if field.options else Input)
            assert demo.focused is line
            await pilot.wait_for_scheduled_animations()
            await pilot.pause()
            assert line.region.height
            assert 0 <= line.region.y < 24
            await pilot.press("tab")
        await pilot.wait_for_scheduled_animations()
        await pilot.pause()
        assert 0 <= demo.screen.query_one("#save").region.y < 24


@pytest.mark.slow
async def test_all_that_is_known_of_a_piece_can_be_read_with_keys(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("1", "slash", *"comet", "enter")
        await settle(pilot)
        pane = demo.screen.query_one("#piece")
        assert pane.max_scroll_y > 0
        await pilot.press("J", "J", "J")
        await pilot.pause()
        assert pane.scroll_y == pane.max_scroll_y
        await pilot.press("K")
        await pilot.pause()
        assert pane.scroll_y < pane.max_scroll_y
        await pilot.press("escape")
        await settle(pilot)
        await pilot.press("J", "up")
        await pilot.pause()
        assert pane.scroll_y == 0


@pytest.mark.slow
async def test_a_side_as_the_viewer_sees_it_is_kept_as_the_wearers(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("1", "f")
        await pilot.pause()
        await write(pilot, what="darn", where="left cuff as seen")
        await pilot.press("enter")
        await settle(pilot)
        assert demo.session.book.piece("01").features[-1] == Feature("darn", "wearer's right cuff", View.FLAT_FACE)
        await pilot.press("k")
        await pilot.pause()
        await write(pilot, place="PL cuff", text="worn")
        await pilot.press("enter")
        await settle(pilot)
        assert demo.session.book.piece("01").condition[-1].place == "wearer's left cuff"
        said = [notice.message for notice in demo._notifications]
        assert "Kept as wearer's right cuff." in said


@pytest.mark.parametrize("on_other", [True, False])
def test_the_piece_shows_its_order_and_what_follows_from_it(demo: ShowrunnerApp, on_other: bool) -> None:
    book = demo.session.book
    one = replace(book.piece("01"), acquired=None, acquired_before=() if on_other else ("08",))
    two = replace(book.piece("08"), acquired=parse_made("2009~"), acquired_after=("01",) if on_other else ())
    shown = about(book.put("pieces", one, two), one)
    assert (
        "\n\nOrder of acquisition\n"
        "- came before Tea gown “Odile”\n"
        "- no later than about 2009, since it came before Tea gown “Odile”\n"
    ) in f"{shown}\n"


def test_a_piece_with_photographs_names_them_and_the_key() -> None:
    piece = Piece("1", "Fan", "c", photographs=("a.jpg", "b.jpg"))
    from showrunner.domain.book import Book

    assert about(Book("k", pieces=(piece,)), piece).endswith("\nPhotographs (v shows them)\n- a.jpg\n- b.jpg")


async def test_what_an_unknown_kind_is_like_is_asked_once_and_remembered(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await pilot.press("1")
        await pilot.pause()
        screen = pilot.app.screen
        assert isinstance(screen, RegisterScreen)
        session = screen.session
        piece = screen.current
        assert piece is not None
        await pilot.press("i")
        await pilot.pause()
        assert isinstance(pilot.app.screen, RegisterScreen)  # its kind is known
        session.do("kind", lambda book: edits.put_piece(book, replace(piece, name="Thing", kind="zorble [x]")))
        screen.draw()
        assert kind_of_piece(session.book.piece(piece.id), session.book.house) is None
        await pilot.press("i")
        await pilot.pause()
        assert isinstance(pilot.app.screen, ChooseDialog)
        await pilot.press("down", "enter")
        await pilot.pause()
        kind = kind_of_piece(session.book.piece(piece.id), session.book.house)
        assert kind
        assert kind.name == "dress"
        assert [known.word for known in session.book.house.kinds] == ["zorble [x]"]
        await pilot.press("i")
        await pilot.pause()
        assert isinstance(pilot.app.screen, ChooseDialog)  # the answer can be changed
        await pilot.press("enter")
        await pilot.pause()
        assert [(known.word, known.like) for known in session.book.house.kinds] == [("zorble [x]", "jacket")]
