"""The stocktake: the order of the doubts, the walk through them, and how the range narrows."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from random import Random

import pytest
from books import TODAY, demo, small
from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.collection import Collection, CollectionKind
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.piece import Known, Piece, Shown, Want
from showrunner.planning import stocktake
from showrunner.planning.plan import make_plan
from showrunner.planning.runout import run_out
from showrunner.planning.stocktake import Walk, end_words, left, line_up

ANSWERS = st.sampled_from([Known.YES, Known.NO])


def settle(book: Book, piece: str, known: Known) -> Book:
    return edits.settle(book, piece, known, on=TODAY, how="stocktake")


def doubtful(odds: list[int], collections: int = 2) -> Book:
    """A book without a series: doubts with these odds, dealt out to the collections in turn."""
    return Book(
        key="x",
        collections=tuple(Collection(f"c{n}", f"Collection {n}") for n in range(collections)),
        pieces=tuple(
            Piece(f"{n:02}", f"Piece {n}", f"c{n % collections}", shown=Shown(Known.UNSURE, percent))
            for n, percent in enumerate(odds)
        ),
    )


def test_the_demo_has_two_doubts_in_the_order_of_its_forecast() -> None:
    book = demo()
    found = run_out(book, TODAY)
    assert line_up(book, [found]) == tuple(doubt.piece for doubt in found.doubts) == ("27", "28")
    assert left(book) == left(book, "dress") == (6, 8) == found.pieces_left
    assert stocktake.if_settled(book, "27") == ((6, 7), (7, 8))
    assert [series.id for series in stocktake.series_to_forecast(book)] == ["object-studies"]
    assert stocktake.unsupported(book) == ()


def test_the_figures_of_the_story() -> None:
    for doubt in run_out(demo(), TODAY).doubts:
        assert round(doubt.narrows_days) == 21
        assert (doubt.if_shown.pieces_left, doubt.if_shown.studies_left) == ((6, 7), (5, 6))
        assert (doubt.if_unshown.pieces_left, doubt.if_unshown.studies_left) == ((7, 8), (6, 7))
    for first, second, count in (
        (Known.YES, Known.YES, 6),
        (Known.YES, Known.NO, 7),
        (Known.NO, Known.NO, 8),
    ):
        assert left(settle(settle(demo(), "27", first), "28", second)) == (count, count)


def test_doubts_worth_the_same_stand_nearest_to_even_first() -> None:
    book = small(9, unsure=3)  # the nine alone need more than ten weeks, so no answer brings the end into sight
    for id, odds in (("u0", 3), ("u1", 60), ("u2", 45)):
        book = edits.mark_shown(book, id, Known.UNSURE, odds=odds)
    found = run_out(book, TODAY, horizon_weeks=10).doubts
    assert len({doubt.narrows_days for doubt in found}) == 1
    assert [doubt.piece for doubt in found] == ["u2", "u1", "u0"]


def test_what_a_forecast_does_not_know_comes_after_it_nearest_to_even_first() -> None:
    book = demo()
    book = edits.put_collection(book, Collection("fans", "Fans"))
    for id, odds in (("f1", 90), ("f2", 45), ("f3", 55), ("f4", 50)):
        book = edits.put_piece(book, Piece(id, f"Fan {id}", "fans", shown=Shown(Known.UNSURE, odds)))
    assert line_up(book, [run_out(book, TODAY)]) == ("27", "28", "f4", "f2", "f3", "f1")
    assert line_up(book) == ("27", "28", "f4", "f2", "f3", "f1")


def test_pieces_that_are_shopped_for_are_no_doubts() -> None:
    book = doubtful([50, 50])
    bought = replace(book.collections[1], kind=CollectionKind.SHOPPING)
    assert line_up(edits.put_collection(book, bought)) == ("00",)
    wanted = book.put("pieces", replace(book.piece("00"), want=Want()))
    assert line_up(wanted) == ("01",)


def test_shown_without_a_date_or_evidence_is_named_but_counts_in_no_range() -> None:
    book = edits.mark_shown(doubtful([50, 50]), "00", Known.YES)
    assert [piece.id for piece in stocktake.unsupported(book)] == ["00"]
    assert left(book) == (0, 1)
    assert stocktake.unsupported(edits.mark_shown(book, "00", Known.YES, evidence="the third film")) == ()


@pytest.mark.slow
def test_each_answer_gives_what_the_forecast_says_it_gives() -> None:
    """Best dates were accepted, so each answer is told with its best dates, which then have to be accepted."""
    book = demo()
    for doubt in run_out(book, TODAY).doubts:
        for known, side in ((Known.YES, doubt.if_shown), (Known.NO, doubt.if_unshown)):
            settled = settle(book, doubt.piece, known)
            best = make_plan(settled, TODAY)
            placed = [(item.id, item.title, item.series, item.pieces, item.slot.ref) for item in best.studies]
            found = run_out(edits.place_all(settled, placed), TODAY)
            assert side.pieces_left == found.pieces_left
            assert side.studies_left == found.studies_left
            assert side.quantiles == found.quantiles


@settings(max_examples=40)
@given(odds=st.lists(st.integers(1, 99), min_size=1, max_size=7), data=st.data())
def test_settling_narrows_by_one_in_any_order_and_ends_at_the_same_book(odds: list[int], data: st.DataObject) -> None:
    book = doubtful(odds)
    answers = {piece.id: data.draw(ANSWERS) for piece in book.pieces}
    ends = []
    for order in (data.draw(st.permutations(sorted(answers))), sorted(answers)):
        now = book
        for id in order:
            collection = now.piece(id).collection
            shown, unshown = stocktake.if_settled(now, id)
            low, high = left(now, collection)
            assert high - low == sum(p.collection == collection for p in stocktake.unsure(now))
            now = settle(now, id, answers[id])
            found = left(now, collection)
            assert found == (shown if answers[id] is Known.YES else unshown)
            assert found[1] - found[0] == high - low - 1
        ends.append(now)
    assert ends[0] == ends[1]
    assert line_up(ends[0]) == ()


@settings(max_examples=40)
@given(odds=st.lists(st.integers(1, 99), min_size=1, max_size=6), seed=st.integers(0, 999))
def test_the_walk_follows_the_book_back_and_forth(odds: list[int], seed: int) -> None:
    random, book = Random(seed), doubtful(odds)
    walk = Walk().follow(book, line_up(book))
    past: list[tuple[Book, str]] = []
    for _ in range(30):
        step = random.choice(("settle", "leave", "undo", "settle"))
        if step == "settle" and walk.now:
            asked, coming = walk.now, walk.coming
            past.append((book, asked))
            book = settle(book, asked, random.choice((Known.YES, Known.NO)))
            walk = walk.follow(book, line_up(book))
            assert walk.settled[-1] == asked
            assert not coming or walk.now == coming[0]
        elif step == "leave" and walk.now:
            was = walk
            walk = walk.leave()
            assert walk.open[-1] == was.now
            assert not was.coming or walk.now == was.coming[0]
        elif step == "undo" and past:
            book, asked = past.pop()
            walk = walk.follow(book, line_up(book))
            assert walk.now == asked
            assert asked not in walk.settled
        assert sorted(walk.open) == sorted(piece.id for piece in stocktake.unsure(book))
        assert set(walk.later) <= set(walk.open)
        assert sorted((*walk.open, *walk.settled)) == [piece.id for piece in book.pieces]


def test_the_doubt_in_view_stays_when_a_better_order_comes_and_the_rest_is_put_in_order() -> None:
    book = doubtful([50, 50, 50])
    walk = Walk().follow(book, ("00", "01", "02")).leave()
    assert (walk.now, walk.coming) == ("01", ("02", "00"))
    walk = walk.follow(book, ("02", "00", "01"))
    assert (walk.now, walk.coming, walk.later) == ("01", ("02", "00"), ("00",))


def test_only_a_walk_in_which_nothing_was_done_begins_anew() -> None:
    book = doubtful([50, 50, 50])
    walk = Walk().follow(book, ("00", "01", "02"))
    assert walk.begin_with_most_worth(("02", "00", "01")).open == ("02", "00", "01")
    assert walk.leave().begin_with_most_worth(("02", "00", "01")).now == "01"


def test_a_piece_taken_out_of_the_book_is_in_the_walk_no_more() -> None:
    book = doubtful([50, 50])
    walk = Walk().follow(book, line_up(book))
    walk = walk.follow(edits.remove_piece(book, "00"), ("01",))
    assert (walk.open, walk.settled) == (("01",), ())
    assert walk.follow(edits.remove_piece(edits.remove_piece(book, "00"), "01"), ()) == Walk()


@pytest.mark.parametrize(
    ("low", "high", "text"),
    [
        (date(2026, 10, 18), date(2026, 10, 25), "around October 2026"),
        (date(2026, 10, 18), date(2026, 11, 29), "between October and November 2026"),
        (date(2026, 10, 18), date(2027, 10, 3), "between October 2026 and October 2027"),
        (date(2026, 10, 18), None, "between October 2026 and a day after August 2028"),
        (None, None, "after 27 August 2028"),
    ],
)
def test_the_end_in_words_is_a_range_by_months(low: date | None, high: date | None, text: str) -> None:
    assert end_words((low, low, high), date(2028, 8, 27)) == text


def test_the_first_series_of_each_keeping_collection_is_forecast() -> None:
    book = small(1)
    more = replace(book.series[0], id="second")
    assert [series.id for series in stocktake.series_to_forecast(edits.put_series(book, more))] == ["looks"]
    assert stocktake.series_to_forecast(doubtful([50])) == ()


def test_what_a_forecast_still_takes_for_a_doubt_but_the_book_does_not_is_left_out() -> None:
    book = demo()
    found = run_out(book, TODAY)
    assert line_up(settle(book, "27", Known.YES), [found]) == ("28",)
    assert line_up(book, [found, found]) == ("27", "28")


def test_odds_as_far_from_even_one_way_as_the_other_are_worth_the_same() -> None:
    assert line_up(doubtful([45, 55, 50])) == ("02", "00", "01")
    assert line_up(doubtful([55, 45, 50])) == ("02", "00", "01")


def test_a_settled_piece_that_is_taken_out_is_settled_no_more() -> None:
    book = doubtful([50, 50])
    after = settle(book, "00", Known.YES)
    walk = Walk().follow(book, line_up(book)).follow(after, line_up(after))
    assert walk.settled == ("00",)
    assert walk.follow(edits.remove_piece(after, "00"), ("01",)).settled == ()


def test_a_doubt_is_looked_up_in_every_forecast() -> None:
    found = run_out(demo(), TODAY)
    empty = replace(found, doubts=())
    doubt = stocktake.doubt_in([empty, found], "28")
    assert doubt is not None
    assert doubt.piece == "28"
    assert stocktake.doubt_in([empty], "28") is None


def test_a_date_alone_supports_that_a_piece_was_shown() -> None:
    book = edits.mark_shown(doubtful([50, 50]), "00", Known.YES, when=FuzzyDate.exact(TODAY))
    assert stocktake.unsupported(book) == ()
    assert [p.id for p in stocktake.unsupported(edits.mark_shown(book, "01", Known.YES, evidence=" "))] == ["01"]
    assert stocktake.unsupported(edits.mark_shown(book, "01", Known.NO)) == ()


def test_pieces_left_of_one_collection_and_of_all() -> None:
    book = edits.mark_shown(doubtful([50] * 5), "02", Known.NO)
    assert (left(book, "c0"), left(book, "c1"), left(book)) == ((1, 3), (0, 2), (1, 5))
    assert stocktake.if_settled(book, "04") == ((1, 2), (2, 3))


def test_of_several_answers_taken_back_at_once_the_last_comes_into_view() -> None:
    book = doubtful([50] * 4)
    walk = Walk().follow(book, ("00", "01", "02", "03"))
    now = book
    for id in ("00", "01"):
        now = settle(now, id, Known.YES)
        walk = walk.follow(now, line_up(now))
    assert (walk.now, walk.settled) == ("02", ("00", "01"))
    back = walk.follow(book, line_up(book))
    assert (back.now, back.coming, back.settled) == ("01", ("00", "02", "03"), ())


def test_the_only_doubt_cannot_be_left_for_later_and_one_left_twice_goes_to_the_end_again() -> None:
    alone = Walk("00")
    assert alone.leave() == alone
    walk = Walk("00", ("01", "02")).leave().leave().leave().leave()
    assert (walk.now, walk.coming, walk.later) == ("01", ("02", "00"), ("01", "02", "00"))


def test_a_walk_in_which_something_was_settled_or_that_has_no_order_stays_as_it_is() -> None:
    settled = Walk("00", ("01",), settled=("02",))
    assert settled.begin_with_most_worth(("01", "00")) == settled
    fresh = Walk("00", ("01",))
    assert fresh.begin_with_most_worth(()) == fresh
    assert fresh.begin_with_most_worth(("01", "00")) == Walk("01", ("00",))


def test_of_several_series_about_a_collection_the_first_is_forecast_in_the_order_of_the_series() -> None:
    book = demo()
    first = book.series[0]
    more = (replace(first, id="again"), *(s for s in book.series if s.collection != first.collection))
    book = replace(book, series=(first, *more))
    keeping = {c.id for c in book.collections if c.kind is CollectionKind.KEEPING}
    wanted: list[str] = []
    for series in book.series:
        if series.collection in keeping and series.collection not in [book.series_of(id).collection for id in wanted]:
            wanted.append(series.id)
    assert [series.id for series in stocktake.series_to_forecast(book)] == wanted
    assert "again" not in wanted
