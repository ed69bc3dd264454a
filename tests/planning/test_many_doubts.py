"""Many doubts: what makes a forecast quick changes nothing that it says."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from itertools import product
from math import comb

import pytest
from books import TODAY, small
from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.episode import Window
from showrunner.domain.piece import Known, Shown
from showrunner.planning.outcomes import Doubts
from showrunner.planning.results import RunOut
from showrunner.planning.runout import run_out
from showrunner.planning.slips import steady


def in_studies(book: Book, unsure: int, window: Window | None = None) -> Book:
    """The book with a study made of each of its first unsure pieces; one of them with a window."""
    for number in range(unsure):
        book, study = edits.make_study(book, (f"u{number}",), title=f"Perhaps {number}")
        if window and number == 1:
            book = edits.put_episode(book, replace(study, windows=(window,)))
    return book


def same(one: RunOut, other: RunOut) -> None:
    assert dict(one.end) == pytest.approx(dict(other.end))
    assert (one.quantiles, one.studies_left, one.pieces_left) == (
        other.quantiles,
        other.studies_left,
        other.pieces_left,
    )
    assert one.fan == other.fan
    assert one.warnings == other.warnings
    assert {risk.id: risk.chance for risk in one.late_risks} == pytest.approx(
        {risk.id: risk.chance for risk in other.late_risks}
    )
    for mine, theirs in zip(one.doubts, other.doubts, strict=True):
        assert (mine.piece, mine.if_shown, mine.if_unshown) == (theirs.piece, theirs.if_shown, theirs.if_unshown)
        assert mine.narrows_days == pytest.approx(theirs.narrows_days)


def plainly(monkeypatch: pytest.MonkeyPatch, book: Book, **options: int) -> RunOut:
    """The run-out with every outcome told apart and every study planned."""
    with monkeypatch.context() as patch:
        patch.setattr(Doubts, "_runs", lambda self: [[study] for study in self.studies])
        patch.setattr(Doubts, "_most", lambda self: 10_000)
        return run_out(book, TODAY, slip_rate=0.1, **options)


@pytest.mark.parametrize(
    "window", [None, Window(date(2026, 4, 6), date(2026, 5, 3)), Window(date(2026, 4, 6), date(2026, 5, 3), hard=True)]
)
def test_studies_that_differ_in_their_doubt_only_are_counted_and_not_listed(
    monkeypatch: pytest.MonkeyPatch, window: Window | None
) -> None:
    book = in_studies(small(2, unsure=5), 4, window)
    for number, odds in enumerate((20, 50, 70, 35, 50)):
        book = edits.mark_shown(book, f"u{number}", Known.UNSURE, odds=odds)
    same(run_out(book, TODAY, slip_rate=0.1, horizon_weeks=40), plainly(monkeypatch, book, horizon_weeks=40))


def test_a_study_that_a_promise_names_is_told_apart(monkeypatch: pytest.MonkeyPatch) -> None:
    book = in_studies(small(1, unsure=4), 4)
    first, last = book.study_of_piece("u0"), book.study_of_piece("u3")
    assert first and last
    book, _ = edits.pin_order(book, last.id, first.id)
    same(run_out(book, TODAY, slip_rate=0.1, horizon_weeks=30), plainly(monkeypatch, book, horizon_weeks=30))


def test_more_lone_pieces_than_any_plan_holds_find_no_slot(monkeypatch: pytest.MonkeyPatch) -> None:
    book = small(2, unsure=9, gaps=(3, 4, 6))
    for weeks in (10, 20):
        found = run_out(book, TODAY, slip_rate=0.1, horizon_weeks=weeks)
        same(found, plainly(monkeypatch, book, horizon_weeks=weeks))
        assert found.beyond > 0


@settings(max_examples=25)
@given(odds=st.lists(st.integers(1, 99), min_size=1, max_size=6))
def test_the_number_left_has_the_chances_of_every_toss(odds: list[int]) -> None:
    book = small(1, unsure=len(odds))
    for number, percent in enumerate(odds):
        book = edits.mark_shown(book, f"u{number}", Known.UNSURE, odds=percent)
    doubts = Doubts(book, TODAY, book.series[0], steady(0.0), 78)
    tossed = [0.0] * (len(odds) + 1)
    for toss in product((0, 1), repeat=len(odds)):
        chance = 1.0
        for unshown, percent in zip(toss, odds, strict=True):
            chance *= (percent if unshown else 100 - percent) / 100
        tossed[sum(toss)] += chance
    assert [chance for _, chance in sorted(doubts.outcomes(doubts.chances()).items())] == pytest.approx(tossed)


def test_sixty_doubts_and_thirty_studies_of_doubts_are_forecast() -> None:
    """Every outcome by itself would be 2 to the power of 30 plans."""
    alone = run_out(small(2, unsure=60), TODAY, slip_rate=0.0)
    assert alone.pieces_left == (2, 62)
    assert len(alone.doubts) == 60
    found = run_out(in_studies(small(2, unsure=30), 30), TODAY, slip_rate=0.0)
    assert found.studies_left == (2, 32)
    assert found.end[0][1] == pytest.approx(comb(30, 0) / 2**30)
    assert Shown(Known.UNSURE).chance_unshown == found.doubts[0].chance_unshown


def test_forty_doubts_over_ten_years_end_as_often_as_forty_tosses_say() -> None:
    """One study every three weeks from the first slot on, so the end tells the number left: binomial (40, 1/2)."""
    found = run_out(small(1, unsure=40, hours=4), TODAY, slip_rate=0.0, horizon_weeks=520)
    first = found.end[0][0]
    assert [(day - first).days for day, _ in found.end] == [21 * number for number in range(41)]
    assert [chance for _, chance in found.end] == pytest.approx([comb(40, number) / 2**40 for number in range(41)])
