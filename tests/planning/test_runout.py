"""The run-out: ranges, the exact distribution of the end, the warning, the doubts worth settling."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction
from random import Random

import pytest
from books import TODAY, demo, small
from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.episode import Stage, Window
from showrunner.domain.piece import Known, Shown
from showrunner.errors import BadInput, UnknownThing
from showrunner.planning.plan import make_plan
from showrunner.planning.runout import run_out


def test_the_demo_as_it_stands() -> None:
    found = run_out(demo(), TODAY, slip_rate=0.0)
    assert found.pieces_left == (6, 8)
    assert found.studies_left == (5, 7)
    assert found.end == ((date(2026, 10, 18), 0.75), (date(2026, 11, 29), 0.25))
    assert found.quantiles == (date(2026, 10, 18), date(2026, 10, 18), date(2026, 11, 29))
    assert not found.warns


def test_the_demo_with_its_own_slips() -> None:
    found = run_out(demo(), TODAY)
    assert (found.slip_rate.late, found.slip_rate.recorded) == (9, 327)
    assert (found.slip_rate.own_late, found.slip_rate.own_recorded) == (3, 35)
    assert found.slip_rate.mean == pytest.approx((5 * 9.5 / 328 + 3) / (5 + 35))
    assert dict(found.slip_rates_by_series)["object-studies"] == found.slip_rate
    assert found.quantiles == run_out(demo(), TODAY, slip_rate=0.0).quantiles
    assert sum(chance for _, chance in found.end) + found.beyond == pytest.approx(1)
    assert dict(found.end)[date(2026, 10, 18)] < 0.75


def test_the_warning_speaks_when_the_even_odds_end_is_exactly_the_lead_away() -> None:
    book = edits.publish(demo(), "apron", date(2026, 3, 22))
    started = replace(book.episode("waistcoats"), done=(Stage.RESEARCH,))
    book = edits.put_episode(book, started)
    assert not run_out(book, date(2026, 4, 18)).warns
    found = run_out(book, date(2026, 4, 19))
    assert found.warns
    assert [w.code for w in found.warnings] == ["run-out"]
    assert found.warnings[0].text == (
        "The Camphorwood Hour runs out by 18 October 2026 at even odds: 26 weeks from now, "
        "and the warning lead is 26 weeks."
    )


def test_work_not_done_in_time_pushes_the_even_odds_end_and_the_warning() -> None:
    # By 18 April nothing of the waistcoats is done: 3 May is 3 h short, so with one doubt unshown a six-week
    # rhythm starts on 10 May and ends on 25 October.
    book = edits.publish(demo(), "apron", date(2026, 3, 22))
    assert run_out(book, date(2026, 4, 19)).quantiles[1] == date(2026, 10, 25)
    assert not run_out(book, date(2026, 4, 19)).warns


def test_each_doubt_settled_narrows_pieces_by_one() -> None:
    book = demo()
    for known in (Known.YES, Known.NO):
        settled = run_out(edits.mark_shown(book, "27", known), TODAY)
        assert settled.pieces_left[1] - settled.pieces_left[0] == 1
    assert [doubt.piece for doubt in run_out(book, TODAY).doubts] == ["27", "28"]


def test_the_doubt_that_moves_the_end_comes_first() -> None:
    # Doubt 1 is nearly sure; doubt 0 is even: settling doubt 0 must be worth at least as much.
    book = small(2, unsure=2)
    nearly = replace(book.piece("u1"), shown=Shown(Known.UNSURE, 2))
    found = run_out(book.put("pieces", nearly), TODAY, slip_rate=0.0)
    assert found.doubts[0].piece == "u0"
    assert found.doubts[0].narrows_days > found.doubts[1].narrows_days


def test_an_unsure_piece_in_a_study_decides_whether_the_study_is_needed() -> None:
    book = small(1, unsure=1)
    book, _ = edits.make_study(book, ("u0",), title="Perhaps")
    found = run_out(book, TODAY, slip_rate=0.0)
    assert found.studies_left == (1, 2)
    assert found.pieces_left == (1, 2)
    assert [chance for _, chance in found.end] == [0.5, 0.5]


def test_a_pair_with_one_unsure_piece_is_needed_either_way() -> None:
    book = small(1, unsure=1)
    book = book.put("episodes", replace(book.episodes[0], pieces=("00", "u0")))
    found = run_out(book, TODAY, slip_rate=0.0)
    assert found.studies_left == (1, 1)
    assert found.pieces_left == (1, 2)
    assert [chance for _, chance in found.end] == [1.0]


def test_a_study_that_slips_out_of_its_hard_window_still_airs_and_its_chance_is_shown() -> None:
    book = small(1)
    held = replace(book.episodes[0], windows=(Window(date(2026, 3, 9), date(2026, 3, 15), hard=True),))
    found = run_out(book.put("episodes", held), TODAY, slip_rate=0.25)
    assert [(risk.id, round(risk.chance, 9)) for risk in found.late_risks] == [("s0", 0.25)]
    assert found.end[0] == (date(2026, 3, 15), 0.75)
    assert found.end[1][0] == date(2026, 3, 22)


def test_what_finds_no_slot_lies_beyond_and_is_said() -> None:
    found = run_out(small(30, gaps=(4, 4, 9)), TODAY, horizon_weeks=26)
    assert found.beyond == 1.0
    assert found.quantiles == (None, None, None)
    assert "end-beyond-horizon" in [w.code for w in found.warnings]
    assert "too early to say" in found.statement


def test_a_series_with_nothing_left_has_run_out() -> None:
    book = small(0)
    found = run_out(book, TODAY)
    assert found.studies_left == (0, 0)
    assert found.warns
    assert found.statement == "As of March 2026, every piece has been shown."


def test_the_sentence_for_viewers_is_a_range_by_months() -> None:
    assert run_out(demo(), TODAY, slip_rate=0.0).statement == (
        "As of March 2026, there are between 6 and 8 pieces left to show, in between 5 and 7 films; "
        "the last one should come between October 2026 and November 2026."
    )


def test_pieces_left_over_time_start_and_end_where_the_counts_say() -> None:
    found = run_out(demo(), TODAY)
    assert (found.past[-1].low, found.past[-1].high) == (6, 8)
    assert found.past[0].high == 47 - len(demo().episode("parasol").pieces)
    assert found.fan[0].p50 in range(6, 9)
    assert found.fan[-1].p90 == 0 or found.fan[-1].p10 == 0
    for one, two in zip(found.fan, found.fan[1:], strict=False):
        assert two.p10 <= one.p10 and two.p50 <= one.p50 and two.p90 <= one.p90
        assert one.p10 <= one.p50 <= one.p90


def test_the_bank_covers_the_diary_of_this_week_only() -> None:
    cover = {bank.rule: (bank.weeks, bank.next_gap) for bank in run_out(demo(), TODAY).bank}
    assert cover == {"wednesday": (1, date(2026, 3, 11)), "sunday": (0, date(2026, 3, 8))}


def test_three_finished_diaries_cover_three_weeks() -> None:
    book = demo()
    for day in (11, 18):
        book, _ = edits.add_filler(book, f"Diary {day}", "wednesday", day=date(2026, 3, day), finished=True)
    cover = {bank.rule: bank.weeks for bank in run_out(book, TODAY).bank}
    assert cover["wednesday"] == 3


def tail(found: tuple[tuple[date, float], ...], day: date) -> float:
    return sum(chance for at, chance in found if at <= day)


@settings(max_examples=15)
@given(
    rates=st.lists(st.floats(0, 0.9), min_size=2, max_size=2),
    studies=st.integers(1, 4),
    unsure=st.integers(0, 2),
)
def test_more_slips_never_bring_the_end_nearer(rates: list[float], studies: int, unsure: int) -> None:
    book = small(studies, unsure=unsure)
    few, many = (run_out(book, TODAY, slip_rate=rate, horizon_weeks=30) for rate in sorted(rates))
    for day in {day for day, _ in (*few.end, *many.end)}:
        assert tail(many.end, day) <= tail(few.end, day) + 1e-9


def test_rates_that_are_no_chance_are_refused() -> None:
    for rate in (-0.1, 1.0, 1.5, float("nan")):
        with pytest.raises(BadInput, match="slip rate"):
            run_out(demo(), TODAY, slip_rate=rate)


def test_a_book_without_a_series_and_an_unknown_series_are_refused() -> None:
    with pytest.raises(BadInput, match="no series yet"):
        run_out(Book(key="x"), TODAY)
    with pytest.raises(UnknownThing, match="no series 'nothing'"):
        run_out(demo(), TODAY, series="nothing")


def test_five_even_doubts_are_counted_exactly() -> None:
    found = run_out(small(0, unsure=5, gaps=(1, 1, 2)), TODAY, slip_rate=0.0)
    ends = [chance for _, chance in found.end]
    # Binomial(5, 1/2): 1, 5, 10, 10, 5, 1 of 32; with none left the end is today.
    assert ends == [float(Fraction(n, 32)) for n in (1, 5, 10, 10, 5, 1)]


@pytest.mark.slow
def test_the_end_agrees_with_a_simulation_of_the_whole_story() -> None:
    """Toss for each doubt, plan what is left, toss for each slot: 4,000 seeded tellings of the demo."""
    book, random, rate, rounds = demo(), Random(11), 0.2, 4000
    plans: dict[int, list[date]] = {}
    for unshown in range(3):
        settled = book
        for at, piece in enumerate(("27", "28")):
            settled = edits.mark_shown(settled, piece, Known.NO if at < unshown else Known.YES)
        plans[unshown] = [study.slot.day for study in make_plan(settled, TODAY).studies]
    counts: dict[date, int] = {}
    for _ in range(rounds):
        aired: date | None = None
        for wish in plans[sum(random.random() < 0.5 for _ in range(2))]:
            day = max(wish, aired + timedelta(28)) if aired else wish
            while random.random() < rate:
                day += timedelta(7)
            aired = day
        assert aired
        counts[aired] = counts.get(aired, 0) + 1
    exact = dict(run_out(book, TODAY, slip_rate=rate).end)
    for day in {*exact, *counts}:
        chance = exact.get(day, 0.0)
        assert abs(chance - counts.get(day, 0) / rounds) <= 5 * (chance * (1 - chance) / rounds) ** 0.5 + 3 / rounds
