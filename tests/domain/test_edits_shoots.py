"""Edits of a shoot: the log only grows, and what is found goes to the piece at once."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from workroom_books import small_book

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.episode import Stage
from showrunner.domain.piece import Claim, Condition, Confidence, Exposure, View
from showrunner.domain.shoot import LogKind, Shoot
from showrunner.errors import BadInput, UnknownThing

BOOK = small_book()
DAY = date(2026, 3, 2)
NOON = datetime(2026, 3, 2, 1, tzinfo=UTC)
LATER = NOON + timedelta(minutes=5)


def begun(*studies: str) -> Book:
    return edits.begin_shoot(BOOK, studies or ("apron", "waistcoats"), NOON)[0]


def closed(book: Book, **estimates: int) -> Book:
    return edits.close_shoot(book, "shoot-1", LATER, DAY, {"1": (50, 4)}, estimates)


def test_a_shoot_begins_with_each_study_once() -> None:
    book, shoot = edits.begin_shoot(BOOK, ["apron", "waistcoats", "apron"], NOON)
    assert shoot == Shoot("shoot-1", ("apron", "waistcoats"), NOON)
    assert book.shoots == (shoot,)


def test_a_shoot_needs_open_studies_with_pieces_and_no_other_that_goes_on() -> None:
    empty = BOOK.put("episodes", replace(BOOK.episode("apron"), pieces=()))
    with pytest.raises(BadInput, match="“Apron”: it shows no piece"):
        edits.begin_shoot(empty, ["jacket", "apron"], NOON)
    with pytest.raises(BadInput, match="published already"):
        edits.begin_shoot(BOOK, ["bodice"], NOON)
    with pytest.raises(BadInput, match="the shoot of “Apron” and “Waistcoats” is not closed yet"):
        edits.begin_shoot(begun(), ["jacket"], NOON)
    assert edits.begin_shoot(closed(begun()), ["jacket"], NOON)[1].id == "shoot-2"


def test_lines_of_the_log_are_numbered_from_one_within_their_shoot() -> None:
    book = begun()
    for kind in (LogKind.PAUSED, LogKind.RESUMED, LogKind.PAUSED):
        book = edits.log(book, "shoot-1", NOON, kind)
    assert [line.id for line in book.log] == ["shoot-1-0001", "shoot-1-0002", "shoot-1-0003"]
    other = edits.begin_shoot(closed(book), ["jacket"], NOON)[0]
    assert edits.log(other, "shoot-2", LATER, LogKind.PAUSED).log[-1].id == "shoot-2-0001"


def test_a_line_never_comes_before_the_one_above_it() -> None:
    book = edits.log(begun(), "shoot-1", LATER, LogKind.PAUSED)
    assert edits.log(book, "shoot-1", NOON, LogKind.RESUMED).log[-1].at == LATER
    assert edits.log(begun(), "shoot-1", NOON - timedelta(1), LogKind.PAUSED).log[-1].at == NOON


def test_a_line_is_about_a_piece_of_the_book_or_about_none() -> None:
    with pytest.raises(UnknownThing, match="no piece '99'"):
        edits.log(begun(), "shoot-1", NOON, LogKind.TOUCHED, piece="99")
    assert edits.log(begun(), "shoot-1", NOON, LogKind.LUX, lux=50).log[-1].piece == ""
    with pytest.raises(UnknownThing, match="no shoot"):
        edits.log(BOOK, "shoot-1", NOON, LogKind.PAUSED)


def test_after_the_close_nothing_is_written_but_that_a_pickup_was_mended() -> None:
    book = closed(begun())
    with pytest.raises(BadInput, match="it is closed"):
        edits.log(book, "shoot-1", LATER, LogKind.PAUSED)
    assert edits.log(book, "shoot-1", LATER, LogKind.MENDED, subject="x").log[-1].kind is LogKind.MENDED
    with pytest.raises(BadInput, match="it is closed"):
        closed(book)


def test_a_discovery_is_in_the_log_and_a_claim_of_the_piece() -> None:
    args = ("shoot-1", LATER, "2", " a second pocket ", Confidence.PROBABLE)
    book = edits.log(begun(), "shoot-1", NOON, LogKind.PAUSED)
    book = edits.discover(book, *args, View.INSIDE, "pocket", local_day=DAY)
    line = book.log[-1]
    assert (line.kind, line.piece, line.at, line.view) == (LogKind.FOUND, "2", LATER, View.INSIDE)
    assert line.confidence is Confidence.PROBABLE
    assert book.piece("2").claims == (
        Claim(
            "pocket",
            "a second pocket",
            Confidence.PROBABLE,
            "found while filming, inside",
            DAY,
            study="waistcoats",
            found=LATER,
        ),
    )


def test_a_discovery_about_something_supersedes_and_one_about_nothing_stands_beside() -> None:
    old = (Claim("pocket", "one", Confidence.SURE), Claim("found", "a thread", Confidence.SURE))
    book = begun().put("pieces", replace(BOOK.piece("2"), claims=old))

    def after(about: str) -> list[tuple[str, bool]]:
        found = edits.discover(book, "shoot-1", NOON, "2", "two", Confidence.SURE, about=about, local_day=DAY)
        return [(claim.about, claim.superseded) for claim in found.piece("2").claims]

    assert after("pocket") == [("pocket", True), ("found", False), ("pocket", False)]
    assert after(" ") == [("pocket", False), ("found", False), ("found", False)]


def test_a_discovery_on_a_piece_of_no_study_of_the_shoot_names_none() -> None:
    book = edits.discover(begun(), "shoot-1", NOON, "5", "a stain", Confidence.SURE, local_day=DAY)
    (claim,) = book.piece("5").claims
    assert (claim.study, claim.basis) == ("", "found while filming")
    with pytest.raises(BadInput, match="a discovery needs words"):
        edits.discover(begun(), "shoot-1", NOON, "5", " ", Confidence.SURE, local_day=DAY)


def test_a_condition_stands_in_place_of_the_same_of_the_same_shoot_alone() -> None:
    early, old = Condition(DAY, "hem", "sound"), Condition(DAY, "hem", "sound", "shoot-0", after=False)
    book = begun().put("pieces", replace(BOOK.piece("1"), condition=(early, old)))
    for after, text in ((False, "worn"), (True, "torn"), (False, " a tear "), (True, "mended")):
        book = edits.write_condition(book, "shoot-1", "1", [(" hem ", text)], DAY, after=after)
    assert book.piece("1").condition == (
        early,
        old,
        Condition(DAY, "hem", "a tear", "shoot-1", after=False),
        Condition(DAY, "hem", "mended", "shoot-1", after=True),
    )


@pytest.mark.parametrize("entries", [[], [("hem", " ")], [(" ", "torn")], [("hem", "torn"), ("cuff", "")]])
def test_a_condition_needs_a_place_and_words(entries: list[tuple[str, str]]) -> None:
    with pytest.raises(BadInput, match="a place and its condition are needed"):
        edits.write_condition(begun(), "shoot-1", "1", entries, DAY, after=False)


def test_a_condition_is_of_a_shoot_and_a_piece_that_there_are() -> None:
    for shoot, piece in (("shoot-9", "1"), ("shoot-1", "99")):
        with pytest.raises(UnknownThing):
            edits.write_condition(begun(), shoot, piece, [("hem", "torn")], DAY, after=False)


def test_closing_gives_each_piece_its_light_once_and_each_study_its_stage_and_estimate() -> None:
    other = Exposure(DAY, 9, 1, "a visitor")
    again = Exposure(DAY, 1, 1, "before", "shoot-1")
    book = begun().put("pieces", replace(BOOK.piece("1"), exposures=(other, again)))
    book = book.put("episodes", replace(book.episode("apron"), done=(Stage.EDIT, Stage.RESEARCH)))
    book = book.put("episodes", replace(book.episode("waistcoats"), estimate_seconds=70))
    done = closed(book, apron=600)
    assert done.piece("1").exposures == (other, Exposure(DAY, 50, 4, "“Apron” and “Waistcoats”", "shoot-1"))
    assert done.piece("2").exposures == ()
    apron, waistcoats = done.episode("apron"), done.episode("waistcoats")
    assert (apron.done, apron.estimate_seconds) == ((Stage.RESEARCH, Stage.SHOOT, Stage.EDIT), 600)
    assert (waistcoats.done, waistcoats.estimate_seconds) == ((Stage.SHOOT,), 70)
    assert done.shoot("shoot-1") == Shoot("shoot-1", ("apron", "waistcoats"), NOON, closed=True, estimate_seconds=600)
    assert (done.log[-1].kind, done.log[-1].at) == (LogKind.CLOSED, LATER)


def test_why_things_were_left_open_is_in_the_last_line() -> None:
    book = edits.close_shoot(begun(), "shoot-1", LATER, DAY, {}, {}, "the light went")
    assert book.log[-1].text == "the light went"


def test_light_outside_a_shoot_is_added() -> None:
    one, two = Exposure(DAY, 10), Exposure(DAY, 20)
    book = edits.add_exposure(edits.add_exposure(BOOK, "1", one), "1", two)
    assert book.piece("1").exposures == (one, two)


def test_a_log_whose_ids_were_changed_by_hand_goes_on() -> None:
    book = edits.log(begun(), "shoot-1", NOON, LogKind.SAID, text="one")
    for id, next_id in (
        ("by hand", "shoot-1-0002"),
        (f"shoot-1-{'9' * 5_000}", "shoot-1-0002"),
        ("shoot-1-0002", "shoot-1-0003"),
        ("shoot-1-0007", "shoot-1-0008"),
    ):
        changed = book.with_table("log", (replace(book.log[0], id=id),))
        after = edits.log(changed, "shoot-1", NOON, LogKind.SAID, text="two")
        assert [line.id for line in after.log] == [id, next_id]
    lines = tuple(replace(book.log[0], id=id) for id in ("shoot-1-0003", "by hand"))
    after = edits.log(book.with_table("log", lines), "shoot-1", NOON, LogKind.SAID, text="two")
    assert after.log[-1].id == "shoot-1-0004"
