"""The spacing that lasts until a day, against every spacing tried one by one."""

from __future__ import annotations

from datetime import date
from functools import cache

import pytest
from planning.books import demo

from showrunner.domain.episode import Pin, PinKind
from showrunner.domain.slot import SlotRef
from showrunner.planning.lasting import horizon, lasting, spaced, undated
from showrunner.planning.runout import even_odds_end, run_out
from showrunner.planning.sliprate import slip_rate

TODAY = date(2026, 3, 2)
SERIES = "object-studies"
WEEKS = 104


@cache
def end(gap: int) -> date | None:
    """The 50% end of the whole forecast with a wished gap, its studies dated anew."""
    bare = undated(demo(), SERIES)
    book = spaced(bare, bare.series_of(SERIES), gap)
    return run_out(book, TODAY, series=SERIES, horizon_weeks=WEEKS).quantiles[1]


@pytest.mark.slow
@pytest.mark.parametrize("until", [date(2026, 7, 1), date(2026, 10, 18), date(2026, 10, 19), date(2027, 3, 1)])
def test_it_is_the_gap_that_a_search_one_by_one_finds(until: date) -> None:
    found = lasting(demo(), TODAY, SERIES, until)
    tried = {gap: end(gap) for gap in range(1, 13)}
    lasts = {gap: day for gap, day in tried.items() if day is None or day >= until}
    soonest = min(day for day in lasts.values() if day)
    assert found.end == soonest
    nearest = min((gap for gap, day in lasts.items() if day == soonest), key=lambda gap: abs(gap - 6))
    assert found.weeks == nearest


def test_the_end_alone_is_that_of_the_whole_forecast() -> None:
    book = demo()
    rate = slip_rate(book.publications, SERIES)
    series = book.series_of(SERIES)
    assert even_odds_end(book, TODAY, series, rate, horizon_weeks=78) == run_out(book, TODAY).quantiles[1]


@pytest.mark.slow
def test_fewest_and_most_pieces_have_their_own_gap() -> None:
    found = lasting(demo(), TODAY, SERIES, date(2027, 3, 1))
    assert (found.weeks, found.by_pieces) == (10, ((6, 12), (8, 9)))


def test_a_promised_date_is_kept() -> None:
    book = demo()
    pin = Pin("p", PinKind.DATE, ("apron",), SlotRef(date(2026, 3, 22), "sunday"))
    bare = undated(book.put("pins", pin), SERIES)
    assert [study.id for study in bare.open_studies if study.slot] == ["apron"]
    assert not [study.id for study in undated(book, SERIES).open_studies if study.slot]
    assert [study.id for study in undated(book, "other").open_studies if study.slot] == [
        study.id for study in book.open_studies
    ]


def test_least_and_longest_gap_give_way() -> None:
    series = demo().series_of(SERIES)
    for gap, gaps in ((2, (2, 2, 9)), (6, (4, 6, 9)), (12, (4, 12, 12))):
        found = spaced(demo(), series, gap).series_of(SERIES)
        assert (found.min_weeks, found.target_weeks, found.max_weeks) == gaps


def test_the_horizon_reaches_beyond_the_day() -> None:
    assert horizon(TODAY, date(2026, 4, 1)) == 78
    assert horizon(TODAY, date(2028, 3, 1)) == 104 + 26


@pytest.mark.slow
def test_a_supposed_rate_is_used() -> None:
    by_record, often_late = (lasting(demo(), TODAY, SERIES, date(2027, 3, 1), slip_rate=rate) for rate in (None, 0.6))
    assert by_record.end == date(2027, 3, 21)
    assert often_late.end == date(2027, 3, 28)
