"""What is said of what is shopped for: the command, its JSON, and the sentences of every case."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from planning.books import TODAY, demo

from showrunner.demo_book import demo_path
from showrunner.domain.book import Book
from showrunner.domain.collection import Box, Collection, CollectionKind
from showrunner.domain.piece import Handling, Measurement, Piece, Rate, Want, WantStatus
from showrunner.planning.money import fits_beside, purse
from showrunner.session import Session
from showrunner.shopping import (
    amount_lines,
    beside_words,
    box_warnings,
    feed_words,
    handover_line,
    purse_words,
    space_words,
    unknown_words,
    wants,
    way_back,
)

WANTED, ORDERED, ARRIVED, DECLINED = WantStatus
DEMO = Path(__file__).parents[1] / "demo" / "book.json"


pytestmark = pytest.mark.usefixtures("worked_out_once")


@pytest.fixture
def session(tmp_path: Path) -> Any:
    shutil.copy(demo_path(), tmp_path / "book.json")
    with Session.open(tmp_path / "book.json") as found:
        yield found


def shop(*pieces: Piece, **limits: Any) -> tuple[Book, Any]:
    """A book that only shops, and its purse."""
    collection = Collection("blocks", "Blocks", CollectionKind.SHOPPING, currency="AUD", **limits)
    book = Book("k", collections=(collection,), pieces=pieces)
    return book, purse(book, collection)


def want(name: str, price: str | None, width: str | None = None, status: WantStatus = WANTED, **more: Any) -> Piece:
    price_of, width_of = (None if text is None else Decimal(text) for text in (price, width))
    return Piece(name[:1].lower(), name, "blocks", want=Want(status, price_of, width_cm=width_of, **more))


# The command


def test_the_command_says_what_is_over_and_what_brings_it_back(said: Any) -> None:
    code, out, err = said("--book", DEMO, "wants")
    assert (code, err) == (0, "")
    lines = out.splitlines()
    assert lines[2:5] == [
        "1,885 of 1,800 AUD, 85 AUD over",
        "301 of 290 cm, 11 cm over",
        "Without Pancake it fits: 1,800 of 1,800 AUD and 271 of 290 cm.",
    ]
    assert "✓ arrived      3        275        275          0        275       60" in lines
    assert "→ ordered   Saucer                      110     38  about June 2… 26 Jul 2026" in lines
    assert "Crown & Brim can open on Sunday 17 May 2026 at the earliest; to keep the silence" in out
    assert "open at latest  29 Nov 2026     29 Nov 2026     10 Jan 2027" in lines
    assert "121 h are needed of 130 h" in out
    assert "- ! Box D is over-full by 0.5 cm." in lines
    assert all(len(line) <= 80 for line in lines)


def test_the_json_tells_all_of_it_as_values(said: Any) -> None:
    code, out, _ = said("--book", DEMO, "wants", "--json", "--silence", "4")
    told = json.loads(out)
    assert code == 0
    assert (told["budget"], told["money"], told["over_money"], told["over_cm"]) == (1800, 1885, 85, 11)
    assert told["refusals"] == {"pieces": ["b09"], "money": 85, "width_cm": 30}
    assert told["single_refusal"] == "b09"
    wanted = {item["name"]: item for item in told["wants"]}
    assert wanted["Magistrate"]["first_study"] == {"day": "2026-05-17", "rule": "sunday"}
    assert (wanted["Magistrate"]["opens"], wanted["Saucer"]["opens"]) == (True, False)
    assert wanted["Magistrate"]["history"][-1] == {"status": "ordered", "day": "2026-02-14"}
    assert (wanted["Riddle"]["first_study"], wanted["Riddle"]["ready"]) == (None, None)
    assert wanted["Riddle"]["if_bought"]["refused"] == ["b09"]
    assert wanted["Saucer"]["preparation_hours"] == 2
    opening = told["handover"]["opening"]
    assert (opening["enough"], opening["prepared"]) == ("2026-04-20", "2026-05-11")
    assert (opening["hours"], opening["hours_needed"], opening["hours_available"]) == (25, 121, 130)
    assert [item["latest"]["day"] for item in told["handover"]["silences"]] == [
        "2026-11-15",
        "2026-11-15",
        "2026-12-27",
    ]
    assert told["handover"]["stock"]["wanted"] == {"pieces": 12, "weeks": 72, "weeks_apart_for_a_year": 5}
    assert {box["box"]: box["over_cm"] for box in told["boxes"]}["D"] == 0.5
    assert told["refold"][0] == {"box": "A", "due": "2025-11-02"}
    assert [item["code"] for item in told["warnings"]] == ["over-budget", "over-shelf", "box-over-full"]


def test_strict_fails_on_what_is_over_and_the_boxes_can_be_read_alone(said: Any) -> None:
    assert said("--book", DEMO, "wants", "--strict")[0] == 1
    code, out, _ = said("--book", DEMO, "wants", "--boxes")
    assert code == 0
    assert "Box D, flat tray\n  4 pieces; ! over-full by 0.5 cm: 12.5 cm in 12 cm; 2.1 kg, 3 not weighed\n" in out
    assert "Box H, waistcoat drawer\n  2 pieces; 2.5 cm of 8 cm free\n" in out
    assert "Box B, work clothes box\n  7 pieces; depth not measured; 7 without a thickness\n" in out
    assert said("--book", DEMO, "wants", "--boxes", "--json")[2] == (
        "wants: the JSON holds the boxes already; leave --boxes out.\n"
    )


def test_each_thing_amiss_in_a_box_is_a_warning_and_what_is_only_due_is_none(said: Any, tmp_path: Path) -> None:
    def piece(id: str, layer: int, cm: str, kg: str, *, flat: bool = False) -> Piece:
        measures = (Measurement("thickness", Decimal(cm), "cm"), Measurement("weight", Decimal(kg), "kg"))
        return Piece(id, id, "dress", box="A", layer=layer, measurements=measures, handling=Handling(flat_only=flat))

    told = []
    for number, pieces in enumerate(
        (
            (piece("Low", 1, "10", "2", flat=True), piece("High", 2, "10", "2")),
            (piece("Low", 1, "10", "2"), piece("High", 2, "10.5", "2")),
            (piece("Low", 1, "10", "2"), piece("High", 2, "10", "3.5")),
            (piece("Low", 1, "10", "2", flat=True), piece("High", 2, "10", "3")),
        )
    ):
        box = Box("A", depth_cm=Decimal(20), most_kg=Decimal(5), refolded=date(2020, 1, 1), refold_months=1)
        book = Book("k", collections=(Collection("dress", "Dress"),), boxes=(box,), pieces=pieces, clock=TODAY)
        with Session.create(tmp_path / f"{number}.json", book) as session:
            found = box_warnings(book, session.space())
        told.append([(warning.code, warning.text) for warning in found])
        code, out, _ = said("--book", tmp_path / f"{number}.json", "wants", "--boxes", "--strict")
        assert code == bool(found)
        assert [line for line in out.splitlines() if line.startswith("! ")] == [f"! {one.text}" for one in found]
        assert "Refold box A on fresh tissue" in out
    assert told == [
        [],
        [("box-over-full", "Box A is over-full by 0.5 cm.")],
        [("box-too-heavy", "Box A is too heavy by 0.5 kg.")],
        [("pressed", "High presses on Low.")],
    ]


def test_a_book_that_shops_for_nothing_says_what_to_do(said: Any, tmp_path: Path) -> None:
    with Session.create(tmp_path / "book.json", Book("k")):
        pass
    assert said("--book", tmp_path / "book.json", "wants") == (
        2,
        "",
        "nothing is shopped for in this book; make a shopping collection: 5, then c.\n",
    )
    assert said("--book", DEMO, "wants", "--collection", "dress")[2] == (
        "nothing is shopped for in Historic dress; choose a shopping collection.\n"
    )
    assert said("--book", DEMO, "wants", "--collection", "hats")[0] == 2


def test_a_book_that_only_shops_has_its_sums_without_slots_or_series(said: Any, tmp_path: Path) -> None:
    book, _ = shop(want("Pudding", "95.50", "20"), want("Drum", None), budget=Decimal(90))
    with Session.create(tmp_path / "book.json", book):
        pass
    code, out, err = said("--book", tmp_path / "book.json", "--today", "2026-03-02", "wants")
    assert (code, err) == (0, "")
    assert "95.50 of 90 AUD, 5.50 AUD over" in out
    assert "20 cm, no shelf set" in out
    assert "Counted as nothing, for want of a number: no price: Drum; no width: Drum." in out
    assert "Taking over" not in out
    assert said("--book", tmp_path / "book.json", "--today", "2026-03-02", "wants", "--json")[0] == 0


def test_the_report_ends_with_what_takes_over(said: Any) -> None:
    code, out, _ = said("--book", DEMO, "report")
    assert code == 0
    assert "What takes over\n───────────────\nCrown & Brim can open on Sunday 17 May 2026 at the earliest" in out
    assert json.loads(said("--book", DEMO, "report", "--json")[1])["handover"]["opening"]["slot"]["day"] == "2026-05-17"


# Sentences


def test_money_and_shelf_are_said_as_they_stand() -> None:
    _, found = shop(want("Pudding", "95", "20"), budget=Decimal(95), shelf_cm=Decimal("20.5"))
    assert purse_words(found) == ["95 of 95 AUD, nothing free", "20 of 20.5 cm, 0.5 cm free"]


def test_the_way_back_is_said_in_every_case() -> None:
    book, found = shop(want("Pudding", "5"), budget=Decimal(9))
    assert way_back(book, found) == "All of it fits."
    book, found = shop(want("Pudding", "5", status=ARRIVED), budget=Decimal(9))
    assert way_back(book, found) == ""
    book, found = shop(want("Aunt", "80"), want("Boater", "15"), want("Chimney", "12"), budget=Decimal(85))
    assert way_back(book, found) == (
        "Without Boater and Chimney it fits: 80 of 85 AUD and 0 cm. No refusals of less value do. "
        "Aunt (80 AUD) alone would do too."
    )
    book, found = shop(
        want("Aunt", "80", "9", ORDERED), want("Boater", "1"), budget=Decimal(70), shelf_cm=Decimal("8.5")
    )
    assert way_back(book, found) == (
        "What is ordered and arrived is 10 AUD and 0.5 cm over by itself: more budget or shelf, or one sent back."
    )


def test_what_still_fits_is_said_in_every_case() -> None:
    def told(*pieces: Piece, **limits: Any) -> str:
        book, found = shop(*pieces, **limits)
        return beside_words(book, found, fits_beside(found, pieces[0].id))

    aunt, boater, drum = want("Aunt", "80", "9"), want("Boater", "15", "9"), want("Drum", "15", "9")
    assert told(aunt, budget=Decimal(90)) == "If it is bought, 10 AUD are left."
    assert told(aunt, boater, budget=Decimal(99)) == (
        "If it is bought, 19 AUD are left: all else that is wanted still fits."
    )
    assert told(aunt, boater, drum, budget=Decimal(99), shelf_cm=Decimal(99)) == (
        "If it is bought, 19 AUD and 90 cm are left: all else that is wanted fits but Boater."
    )
    assert told(aunt, boater, budget=Decimal(90)) == (
        "If it is bought, 10 AUD are left: nothing else that is wanted fits."
    )
    assert told(aunt, boater, budget=Decimal(70), shelf_cm=Decimal("8.5")) == (
        "If it is bought, 10 AUD and 0.5 cm are missing."
    )
    assert told(aunt, boater) == ""
    assert told(want("Aunt", "80", status=DECLINED), budget=Decimal(9)) == ""
    assert told(want("Aunt", "80", status=ARRIVED), budget=Decimal(90)) == "Beside all that is bought, 10 AUD are left."


def test_amounts_are_said_in_their_own_currency_and_what_they_count() -> None:
    rate = Rate(Decimal("1.65"), date(2026, 3, 2))
    piece = want("Aunt", "80", status=ARRIVED, paid=Decimal("82.50"), currency="EUR", rate=rate)
    _, found = shop(piece)
    assert piece.want
    assert amount_lines(found, piece.want, found.cost_of("a")) == [
        "ceiling   80 EUR",
        "paid      82.50 EUR",
        "rate      1 EUR = 1.65 AUD",
        "          of 2 March 2026",
        "counts    136.13 AUD",
        "! 4.13 AUD above the ceiling",
    ]


def changed(session: Session, name: str, **changes: Any) -> None:
    piece = next(p for p in session.book.pieces if p.name == name)
    assert piece.want
    made = replace(piece, want=replace(piece.want, **changes))
    session.do("change", lambda book: book.put("pieces", made))


def test_what_keeps_it_from_opening_is_said(session: Session) -> None:
    from showrunner.storage.edtf_text import parse

    def line() -> str:
        found = session.handover("blocks")
        assert found
        return handover_line(session.book, found)

    changed(session, "Saucer", expected=None)
    changed(session, "Magistrate", expected=parse("2027-01-10"))
    assert line() == (
        "Crown & Brim can open on Sunday 31 January 2027 at the earliest. That leaves a silence of 9 weeks to "
        "15 weeks, more than the 6 weeks wished."
    )
    changed(session, "Magistrate", expected=parse("2026-11-30"))
    assert line() == (
        "Crown & Brim can open on Sunday 27 December 2026 at the earliest. That leaves a silence of 10 weeks "
        "at even odds, more than the 6 weeks wished."
    )
    changed(session, "Magistrate", expected=None)
    assert line() == (
        "Crown & Brim opens with 4: 3 are there or come by a known day, 2 more at a day that nobody knows; "
        "1 more must be ordered, or have a day."
    )
    found = session.handover("blocks")
    assert found
    feeds = {session.book.piece(feed.piece).name: feed for feed in found.feeds}
    magistrate, riddle = (next(p.want for p in session.book.pieces if p.name == n) for n in ("Magistrate", "Riddle"))
    pudding = next(p.want for p in session.book.pieces if p.name == "Pudding")
    assert magistrate and riddle and pudding
    assert feed_words(magistrate, feeds["Magistrate"], found) == "no day yet: nobody knows by when it comes"
    assert feed_words(riddle, feeds["Riddle"], found) == "no day yet: it is not ordered"
    assert feed_words(pudding, feeds["Pudding"], found) == "waits for the opening"
    assert feed_words(replace(riddle, status=DECLINED), feeds["Riddle"], found) == "none: it was declined"
    assert feed_words(riddle, None, None) == "not known: the book has no slots yet"


def test_without_the_hours_it_never_opens_and_what_is_there_waits(session: Session) -> None:
    idle = replace(session.book.house, work_minutes=(0,) * 7)
    session.do("no hours", lambda book: replace(book, house=idle))
    found = session.handover("blocks")
    assert found
    assert handover_line(session.book, found) == (
        "Crown & Brim finds no slot in sight that is free and leaves the hours for its opening."
    )
    pudding = session.book.piece("b01").want
    assert pudding
    assert feed_words(pudding, found.feeds[0], found) == "waits for the opening"


def test_boxes_of_which_little_is_known_are_said_plainly() -> None:
    book = demo()
    bare = replace(book, boxes=(), pieces=tuple(replace(piece, box="") for piece in book.pieces[:2]))
    bare = replace(bare, house=replace(book.house, supplies=()))
    from showrunner.planning.space import space

    assert space_words(bare, space(bare, TODAY), TODAY) == [
        "Nothing is over-full or overdue, as far as it is known.",
        "2 pieces in no box.",
    ]


def test_names_of_every_length_keep_the_lines_short() -> None:
    piece = want("Old \x1b[31m" + "long " * 30, "123456789.12", "999.75")
    book, found = shop(piece, budget=Decimal(100))
    from showrunner.planning.space import space

    text = wants(book, TODAY, found, None, space(book, TODAY))
    assert "\x1b" not in text
    assert all(len(line) <= 80 for line in text.splitlines())
    assert unknown_words(found) == ""
