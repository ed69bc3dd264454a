"""The forecast held against the record: a record made by hand, and what each look may know."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from planning.books import demo

from showrunner.domain.book import Book
from showrunner.domain.episode import Episode
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.piece import Known
from showrunner.planning.backtest import Backtest, Basis, Look, as_known, backtest, came_on

TODAY = date(2026, 3, 2)
SERIES = "object-studies"


def regular(weeks: int = 6, late: dict[int, int] | None = None) -> Book:
    """The demo whose last twelve studies were planned so many weeks apart; `late` says which came how many weeks late.

    Nothing else is on record.
    """
    book, late = demo(), late or {}
    lines = [line for line in book.publications if line.series == SERIES][-12:]
    first = date(2024, 1, 7)
    changed = []
    for at, line in enumerate(lines):
        day = first + timedelta(weeks=weeks * at)
        came = day + timedelta(weeks=late.get(at, 0))
        changed.append(replace(line, planned=day, actual=FuzzyDate.exact(came)))
    return replace(book, publications=tuple(changed), dark=())


@pytest.mark.parametrize("basis", list(Basis))
def test_a_record_as_regular_as_clockwork_is_always_foretold(basis: Basis) -> None:
    found = backtest(regular(), TODAY, SERIES, basis, 4)
    assert len(found.looks) > 5
    assert found.held == len(found.looks)
    assert {look.quantiles[1] for look in found.looks} == {look.came for look in found.looks}
    assert found.quantile_scores[:2] == (0, 0)


def test_each_month_looks_as_far_ahead_as_was_asked() -> None:
    book = regular()
    days = [line.day for line in book.publications]
    for look in backtest(book, TODAY, SERIES, Basis.SPACING, 4).looks:
        passed = sum(day < look.day for day in days if day)
        assert look.day.day == 1
        assert passed >= 3
        assert look.came == days[passed + 3]


@pytest.mark.slow
def test_a_change_of_spacing_is_missed_by_the_spacing_and_not_by_the_dates() -> None:
    book = regular()
    lines = list(book.publications)
    for at, line in enumerate(lines[8:], 1):  # from the ninth on ten weeks apart and not six
        day = line.planned + timedelta(weeks=4 * at) if line.planned else TODAY
        lines[7 + at] = replace(line, planned=day, actual=FuzzyDate.exact(day))
    book = replace(book, publications=tuple(lines))
    today = date(2027, 1, 1)
    by_dates, by_spacing = (backtest(book, today, SERIES, basis, 3) for basis in Basis)
    assert by_dates.held == len(by_dates.looks) == len(by_spacing.looks)
    assert 0 < by_spacing.held < len(by_spacing.looks)
    assert by_spacing.crps > by_dates.crps
    assert by_spacing.winkler > by_dates.winkler


@pytest.mark.slow
def test_nothing_that_came_later_is_known() -> None:
    """What comes after a month may be anything, but for the studies looked at: the look stays the same."""
    book = regular(late={3: 1})
    looks = backtest(book, TODAY, SERIES, Basis.SPACING, 2).looks
    lines = list(book.publications)
    for at in range(8, 12):
        line = lines[at]
        assert line.day
        lines[at] = replace(line, actual=FuzzyDate.exact(line.day + timedelta(weeks=3)))
    other = backtest(replace(book, publications=tuple(lines)), TODAY, SERIES, Basis.SPACING, 2).looks
    before = [look for look in looks if look.came < date(2024, 12, 1)]
    assert before
    assert before == [look for look in other if look.came < date(2024, 12, 1)]


def test_the_book_of_then_holds_only_the_record_of_then_and_the_studies_to_come() -> None:
    book, day = demo(), date(2025, 3, 1)
    lines = [line for line in book.publications if line.series == SERIES]
    before = [line for line in lines if line.day and line.day < day]
    then = [(line, book.episode(line.episode)) for line in lines[len(before) : len(before) + 2]]
    known = as_known(book, day, before, then, Basis.DATES)
    assert all((line.day or line.planned or day) < day for line in known.publications)
    assert any(line.actual is None for line in known.publications)  # a miss is known too
    assert [study.id for study in known.open_studies] == [study.id for _, study in then]
    assert [study.slot.day if study.slot else None for study in known.open_studies] == [
        line.planned for line, _ in then
    ]
    unshown = {piece.id for piece in known.pieces if piece.shown.known is Known.NO}
    assert unshown == {piece for _, study in then for piece in study.pieces}
    assert not any(piece.shown.known is Known.UNSURE for piece in known.pieces)
    bare = as_known(book, day, before, then, Basis.SPACING)
    assert [study.slot for study in bare.open_studies] == [None, None]
    assert (bare.series_of(SERIES).min_weeks, bare.series_of(SERIES).max_weeks) == (4, 5)


def test_a_day_known_only_to_the_month_is_taken_as_the_plan_where_that_may_be() -> None:
    line = regular().publications[0]
    month = FuzzyDate("2024-01", date(2024, 1, 1), date(2024, 1, 31), "January 2024")
    assert came_on(replace(line, actual=month)) == line.planned
    later = replace(line, actual=month, planned=date(2023, 12, 31))
    assert later.late_or_missed
    assert came_on(later) == date(2024, 1, 31)
    assert came_on(replace(line, actual=None)) is None


def test_a_short_record_gives_no_look() -> None:
    book = regular()
    assert backtest(book, TODAY, SERIES, Basis.DATES, 10).looks == ()
    assert backtest(replace(book, publications=()), TODAY, SERIES, Basis.DATES, 1).looks == ()
    assert backtest(book, TODAY, SERIES, Basis.DATES, 10).crps == 0


def test_a_range_holds_from_its_first_to_its_last_day() -> None:
    days = [date(2026, 1, 4) + timedelta(weeks=week) for week in range(4)]
    for came, held in zip(days, (False, True, True, False), strict=True):
        assert Look(TODAY, (days[1], days[1], days[2]), came, 0.0).held is held
    assert Look(TODAY, (days[1], None, None), days[3], 0.0).held
    assert not Look(TODAY, (None, None, None), days[3], 0.0).held


def test_scores_are_means_over_the_months_in_which_the_day_is_known() -> None:
    day = date(2026, 1, 4)
    looks = (
        Look(day, (day, day, day + timedelta(10)), day + timedelta(12), 2.0),
        Look(day, (day, day, None), day, 4.0),
    )
    found = Backtest(SERIES, Basis.DATES, 1, looks)
    assert found.held == 1
    assert found.crps == 3
    assert found.winkler == pytest.approx(10 + 2 / 0.2 * 2)
    assert found.quantile_scores == pytest.approx((0.1 * 12, 0.5 * 12, 2 * 0.9 * 2))


def test_the_order_of_the_record_does_not_matter() -> None:
    book = regular(late={2: 1})
    turned = replace(book, publications=book.publications[::-1])
    assert backtest(book, TODAY, SERIES, Basis.DATES, 3) == backtest(turned, TODAY, SERIES, Basis.DATES, 3)


@pytest.mark.slow
def test_open_studies_are_left_aside() -> None:
    book = demo()
    fewer = replace(book, episodes=tuple(e for e in book.episodes if not isinstance(e, Episode) or e.published))
    looks = [backtest(one, TODAY, SERIES, Basis.DATES, 6).looks for one in (book, fewer)]
    assert looks[0] == looks[1]
    assert len(looks[0]) == 28


def test_the_spacing_rests_on_the_last_six_gaps() -> None:
    book, day = regular(), date(2026, 3, 1)
    lines = list(book.publications)[:8]
    for odd, longest in ((0, 6), (1, 9)):  # the first of seven gaps is too old to count
        moved = [
            replace(line, planned=line.planned - timedelta(weeks=3)) if at <= odd and line.planned else line
            for at, line in enumerate(lines)
        ]
        known = as_known(book, day, moved, [], Basis.SPACING).series_of(SERIES)
        assert (known.min_weeks, known.target_weeks, known.max_weeks) == (6, 6, longest)
