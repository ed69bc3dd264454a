"""What-ifs together: one changed copy, what each brings and all bring, adopted as one step or dropped."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from showrunner import contract
from showrunner.demo_book import demo_path
from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.errors import BadInput
from showrunner.planning.pairing import pairings
from showrunner.report import end_words, left_to_settle, once_adopted, pairing_cost
from showrunner.session import Session
from showrunner.supposing import suppose
from showrunner.whatif import adopt, outlook, pair_text, paired

SPACING, WINDOW = "spacing=4,4,8", "drop-window=bathing-costume"
BOTH = (SPACING, WINDOW)


pytestmark = pytest.mark.usefixtures("worked_out_once")


@pytest.fixture
def session(tmp_path: Path) -> Iterator[Session]:
    shutil.copy(demo_path(), tmp_path / "book.json")
    with Session.open(tmp_path / "book.json") as session:
        yield session


def by_hand(book: Book, *, spacing: bool = True) -> Book:
    """The demo without the bathing costume's window, and with gaps of 4 to 8 weeks, as its owner would edit it."""
    book = edits.put_episode(book, replace(book.episode("bathing-costume"), windows=()))
    changed = replace(book.series[0], min_weeks=4, target_weeks=4, max_weeks=8)
    return edits.put_series(book, changed) if spacing else book


@pytest.fixture
def series(session: Session) -> str:
    return session.book.series[0].id


def test_what_ifs_change_one_copy_in_whatever_order(session: Session, series: str) -> None:
    before = session.book
    found = suppose(before, series, BOTH)
    assert found.book == by_hand(before) == suppose(before, series, BOTH[::-1]).book
    assert found.words == "gaps of 4 to 8 weeks, wished 4 and no window for “Ready for the sea: a bathing costume”"
    assert session.book is before


def test_every_kind_goes_with_every_other(session: Session, series: str) -> None:
    found = suppose(session.book, series, (*BOTH, "unpair=waistcoats", "add-piece=2", "slip-rate=0.2"))
    assert found.slip_rate == 0.2
    assert len(found.book.open_studies) == len(session.book.open_studies) + 1
    assert len(found.book.pieces) == len(session.book.pieces) + 2
    assert suppose(session.book, series, BOTH).slip_rate is None


@pytest.mark.parametrize(
    ("texts", "sentence"),
    [
        (
            ("spacing=4,5,8", "spacing=5,6,9"),
            "what-if: gaps of 4 to 8 weeks, wished 5, and gaps of 5 to 9 weeks, wished 6: these cannot both be; "
            "leave one of them out.",
        ),
        (
            (WINDOW, WINDOW),
            "what-if: no window for “Ready for the sea: a bathing costume”: this is supposed twice; "
            "leave one of them out.",
        ),
        (("spacing=4,5,8", "spacing=4, 5, 8"), "what-if: gaps of 4 to 8 weeks, wished 5: this is supposed twice; "),
        (("unpair=waistcoats", WINDOW, "unpair=waistcoats"), "what-if: a split of “Septimus and Barnaby"),
        (("slip-rate=0.1", "slip-rate=0.2"), "a slip rate of 10%, and a slip rate of 20%: these cannot both be"),
        (("add-piece=1", "add-piece=2"), "1 more piece to show, and 2 more pieces to show: these cannot both be"),
    ],
)
def test_two_about_the_same_are_one_plain_sentence(
    session: Session, series: str, texts: tuple[str, ...], sentence: str
) -> None:
    with pytest.raises(BadInput) as refused:
        suppose(session.book, series, texts)
    assert sentence in refused.value.sentence()


def test_windows_of_two_studies_may_both_go(session: Session, series: str) -> None:
    found = suppose(session.book, series, ("drop-window=apron", WINDOW)).book
    assert not found.episode("apron").windows + found.episode("bathing-costume").windows


@pytest.mark.slow
def test_each_alone_stands_beside_all_together(session: Session, series: str) -> None:
    """Held against the same edits made by hand, and against the plan that is then accepted."""
    before = session.path.read_bytes()
    found = outlook(session, series, BOTH)
    alone = by_hand(session.book, spacing=False)
    assert found.each[1].forecast == session.runout(book=alone)
    assert found.together == session.runout(book=by_hand(session.book))
    assert len({one.end for one in (*(one.forecast for one in found.each), found.together, session.runout())}) > 2
    assert session.path.read_bytes() == before

    session.do("by hand", by_hand)
    assert session.standing().offer == found.plan.offer is not None
    session.apply_plan(session.plan(unsure=session.book.house.habit.unsure))
    assert session.runout() == found.anew
    assert session.standing().offer is None


def test_the_accepted_dates_stand_in_a_what_if(session: Session, series: str) -> None:
    """Both unsure pieces shown is what the demo's dates were accepted for: a fixed rate of 0 brings them true."""
    found = outlook(session, series, (*BOTH, "slip-rate=0"))
    assert max(day for day, _ in found.together.end) == date(2026, 10, 18)
    assert found.anew is not None
    assert found.anew.quantiles[2] < date(2026, 10, 18)  # type: ignore[operator]


def test_nothing_is_planned_anew_where_the_dates_are_as_good_as_any(session: Session, series: str) -> None:
    found = outlook(session, series, ["spacing=4,6,10"])
    assert (found.plan.offer, found.plan.breaks_rules, found.anew) == (None, False, None)
    assert [one.forecast for one in found.each] == [found.together]
    assert once_adopted(found) == ""
    assert contract.what_ifs(found, written=False)["planned_anew"] is None


def test_dates_that_may_not_stand_with_it_are_told(session: Session, series: str) -> None:
    found = outlook(session, series, ["spacing=8,9,10"])
    assert once_adopted(found) == "some dates may not stand any more"
    assert found.anew is not None
    told = [warning.text for warning in found.plan.warnings if warning.code == "date-broken"]
    assert told[0] == (
        "“Septimus and Barnaby: two waistcoats” stands on 10 May 2026 (long feature), but it would be 7 weeks from "
        "“The apple-packer's apron”, and 8 weeks is the least; plan anew, or move it."
    )
    assert len(told) == 2  # 10 May and 28 June; the gaps of eight weeks are allowed


def test_what_is_known_of_each_is_not_worked_out_again(session: Session, series: str) -> None:
    first = outlook(session, series, [SPACING])
    both = outlook(session, series, BOTH, before=first)
    assert both.each[0].forecast is first.together


def test_a_rate_that_was_asked_for_holds_unless_another_is_supposed(session: Session, series: str) -> None:
    given = outlook(session, series, [WINDOW], slip_rate=0.3).together.slip_rate
    other = outlook(session, series, [WINDOW, "slip-rate=0.2"], slip_rate=0.3)
    assert (given.mean, other.together.slip_rate.mean) == (0.3, 0.2)
    assert [one.forecast.slip_rate.mean for one in other.each] == [0.3, 0.2]


def test_they_are_adopted_as_one_step_that_undo_takes_back(session: Session, series: str) -> None:
    before, bytes_before = session.book, session.path.read_bytes()
    supposed = suppose(before, series, BOTH)
    adopt(session, supposed)
    assert session.book == supposed.book
    assert session.undo_label == f"adopt {supposed.words}"
    assert session.path.read_bytes() != bytes_before
    session.undo()
    assert session.book == before
    assert session.undo_label is None


def test_what_can_only_be_looked_at_keeps_the_rest_from_being_adopted(session: Session, series: str) -> None:
    before = session.path.read_bytes()
    for text in ("slip-rate=0.2", "add-piece=1"):
        with pytest.raises(BadInput, match="it can only be looked at"):
            adopt(session, suppose(session.book, series, [WINDOW, text]))
    assert session.path.read_bytes() == before


def test_dropped_they_leave_the_bytes(session: Session, series: str) -> None:
    before = session.path.read_bytes()
    outlook(session, series, (*BOTH, "unpair=waistcoats", "add-piece=2", "slip-rate=0.2"))
    assert session.path.read_bytes() == before


def test_the_end_is_a_sentence(session: Session) -> None:
    found = session.runout()
    assert end_words(found) == (
        "The end comes by 18 October 2026 at even odds; 10% by 18 October 2026, 90% by 29 November 2026."
    )
    beyond = replace(found, quantiles=(date(2026, 10, 18), None, None), horizon_end=date(2028, 8, 27))
    assert end_words(beyond) == (
        "The end comes after 27 August 2028 at even odds; 10% by 18 October 2026, 90% after 27 August 2028."
    )
    assert end_words(replace(found, studies_left=(0, 0))) == "Nothing is left to show."


def test_what_stands_and_is_best_leaves_nothing_to_do(session: Session) -> None:
    assert left_to_settle(session.book, session.standing()) == []


def test_a_pair_costs_a_study_and_is_solved_on_a_copy(session: Session, series: str) -> None:
    before = session.path.read_bytes()
    found = session.runout()
    pair = pairings(session.book, session.book.series_of(series))[0]
    then = paired(session, found, pair)
    by_hand = edits.pair_studies(session.book, "skating-jacket", "bathing-costume")[0]
    assert then == session.runout(book=by_hand)
    assert then.studies_left == (4, 6)
    assert pairing_cost(found, then) == (
        "As one study: 4–6 studies left instead of 5–7; the end at even odds stays on 18 October 2026."
    )
    sooner = replace(then, quantiles=(None, date(2026, 10, 4), None))
    assert pairing_cost(found, sooner).endswith("comes on 4 October 2026, 2 weeks sooner.")
    same = replace(then, studies_left=(5, 7), quantiles=(None, None, None))
    assert pairing_cost(found, same) == "As one study: still 5–7 studies left."
    assert session.path.read_bytes() == before
    assert outlook(session, series, [pair_text(pair)]).together == then
