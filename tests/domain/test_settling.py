"""Settling a doubt keeps what it rested on."""

from __future__ import annotations

from datetime import date

import pytest

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.collection import Collection
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.piece import Known, Piece, Shown
from showrunner.errors import BadInput, UnknownThing

DAY = date(2026, 3, 2)
THEN = FuzzyDate("2021~", date(2021, 1, 1), date(2021, 12, 31), "about 2021")


def book(shown: Shown) -> Book:
    return Book(
        key="x", collections=(Collection("dress", "Dress"),), pieces=(Piece("1", "Fichu", "dress", shown=shown),)
    )


def settled(shown: Shown, known: Known, **more: str | FuzzyDate) -> Shown:
    return edits.settle(book(shown), "1", known, on=DAY, how="stocktake", **more).piece("1").shown  # type: ignore[arg-type]


@pytest.mark.parametrize("known", [Known.YES, Known.NO])
def test_the_evidence_grows_and_keeps_every_word(known: Known) -> None:
    found = settled(Shown(Known.UNSURE, 30, "a half-remembered film"), known)
    assert found.known is known
    assert found.evidence == "a half-remembered film; stocktake, 2 March 2026"


def test_what_it_rests_on_now_is_said_with_the_day() -> None:
    found = settled(Shown(Known.UNSURE, 30, "a letter"), Known.YES, rests_on=" seen in the ninth film ")
    assert found.evidence == "a letter; stocktake, 2 March 2026: seen in the ninth film"


def test_without_evidence_there_is_the_stocktake_alone() -> None:
    assert settled(Shown(Known.UNSURE), Known.YES).evidence == "stocktake, 2 March 2026"


def test_settling_twice_the_same_day_says_it_once() -> None:
    once = settled(Shown(Known.UNSURE, 50, "a letter"), Known.YES)
    assert settled(once, Known.NO).evidence == "a letter; stocktake, 2 March 2026"


def test_a_date_stays_with_a_piece_that_was_shown_and_becomes_words_with_one_that_was_not() -> None:
    doubt = Shown(Known.UNSURE, 50, "a letter", THEN)
    assert settled(doubt, Known.YES).when == THEN
    was_not = settled(doubt, Known.NO)
    assert was_not.when is None
    assert was_not.evidence == "a letter; once thought shown, about 2021; stocktake, 2 March 2026"


def test_what_was_found_can_leave_it_unsure_with_its_odds() -> None:
    found = settled(Shown(Known.UNSURE, 30, "a letter", THEN), Known.UNSURE, rests_on="not in the first film")
    assert (found.known, found.odds_unshown, found.when) == (Known.UNSURE, 30, THEN)
    assert found.evidence == "a letter; stocktake, 2 March 2026: not in the first film"


def test_a_date_of_showing_with_a_piece_that_was_not_shown_is_refused() -> None:
    with pytest.raises(BadInput, match="no date of showing"):
        settled(Shown(Known.UNSURE), Known.NO, when=THEN)
    with pytest.raises(UnknownThing):
        edits.settle(book(Shown()), "2", Known.NO, on=DAY, how="stocktake")
