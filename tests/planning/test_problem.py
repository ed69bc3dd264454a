"""The measure of a placement, on figures worked by hand."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

from showrunner.domain.slot import Slot
from showrunner.planning.problem import (
    DAYS2_PER_POINT,
    NOWHERE,
    Need,
    Problem,
    Score,
    Spacing,
    hours_fit,
    promises_broken,
    score,
)

SUNDAYS = tuple(date(2026, 3, 8) + timedelta(weeks=week) for week in range(6))
FREE: tuple[int | None, ...] = (0,) * 6


def problem(*needs: Need, keep: bool = False, spacing: Spacing | None = None) -> Problem:
    """Six Sundays from 8 March 2026, today the Monday before; ready on Saturdays; 10 h a week, 4 h of them standing."""
    ready = tuple(5 + 7 * week for week in range(6))
    # Ten hours on Wednesdays, and four gone by each Saturday for the talk of the slot.
    spare = tuple(
        600 * sum(wednesday <= day for wednesday in range(2, 42, 7)) - 240 * sum(due <= day for due in ready)
        for day in range(42)
    )
    found = Problem(
        slots=tuple(Slot("sunday", day, datetime(day.year, day.month, day.day, 9, tzinfo=UTC)) for day in SUNDAYS),
        days=tuple(6 + 7 * week for week in range(6)),
        ready=ready,
        standing=(240,) * 6,
        spare=spare,
        needs=needs,
        spacings=(spacing or Spacing(min_days=7, target_days=14, last_day=-8), Spacing(14, 21, None)),
    )
    return replace(found, keep=True) if keep else found


def need(key: str, order: int = 0, series: int = 0, minutes: int = 60) -> Need:
    return Need(key, order, series, minutes, FREE)


def test_nothing_placed_costs_only_the_missing_studies() -> None:
    assert score(problem(need("a"), need("b")), {}) == Score(0, 2, 0, 0, 0, 0, 0)
    assert score(problem(), {}) == Score(0, 0, 0, 0, 0, 0, 0)


def test_gaps_cost_days_squared_from_the_target_and_the_first_counts_from_the_last_published() -> None:
    # Days 6, 13 and 34 after day -8: gaps of 14, 7 and 21 days to a target of 14 cost 0, 49 and 49.
    places = {"a": 0, "b": 1, "c": 4}
    assert score(problem(need("a"), need("b"), need("c")), places) == Score(0, 0, 0, 0, 0, 49 + 49, 6 + 13 + 34)
    assert DAYS2_PER_POINT == 7**2


def test_a_series_with_nothing_published_has_no_first_gap() -> None:
    assert score(problem(need("a", series=1)), {"a": 5}) == Score(0, 0, 0, 0, 0, 0, 41)


def test_each_series_is_spaced_by_itself() -> None:
    both = problem(need("a"), need("b", series=1), need("c", series=1))
    # Series 0: 14 days after the last published, as wished. Series 1: days 13 and 27, 14 days to a target of 21.
    assert score(both, {"a": 0, "b": 1, "c": 3}) == Score(0, 0, 0, 0, 0, 49, 6 + 13 + 27)


def test_a_gap_below_the_least_breaks_a_rule() -> None:
    assert score(problem(need("b", series=1), need("c", series=1)), {"b": 1, "c": 2}) is None
    near = Spacing(min_days=21, target_days=21, last_day=-8)
    assert score(problem(need("a"), spacing=near), {"a": 0}) is None
    assert score(problem(need("a"), spacing=near), {"a": 1}) == Score(0, 0, 0, 0, 0, 0, 13)


def test_two_studies_cannot_share_a_slot() -> None:
    assert score(problem(need("a"), need("b", series=1)), {"a": 2, "b": 2}) is None


def test_windows_add_their_cost_and_forbidden_slots_break_a_rule() -> None:
    window = replace(need("a"), cost=(49, 0, None, 0, 0, 0))
    assert score(problem(window), {"a": 0}) == Score(0, 0, 0, 0, 0, 49, 6)
    assert score(problem(window), {"a": 2}) is None


def test_a_promised_order_needs_the_other_study_placed_and_earlier() -> None:
    second = replace(need("b", series=1), after=("a",))
    pinned = problem(need("a"), second)
    assert score(pinned, {"a": 0, "b": 1}) == Score(0, 0, 0, 0, 0, 0, 19)
    # Days 13 and 6: a gap of 21 days to a target of 14 for the first series.
    assert score(pinned, {"a": 1, "b": 0}) == Score(1, 0, 0, 0, 0, 49, 19)
    assert score(pinned, {"b": 1}) == Score(1, 1, 0, 0, 0, 0, 13)
    assert score(pinned, {"a": 0}) == Score(0, 1, 0, 0, 0, 0, 6)
    assert score(pinned, {}) == Score(0, 2, 0, 0, 0, 0, 0)


def test_a_promised_date_is_kept_only_in_its_slot() -> None:
    dated = problem(replace(need("a"), promised=1), need("b", series=1))
    assert score(dated, {"a": 1, "b": 3}) == Score(0, 0, 0, 0, 0, 49, 13 + 27)
    assert score(dated, {"a": 0, "b": 3}) == Score(1, 0, 0, 0, 0, 0, 6 + 27)
    assert score(dated, {"b": 3}) == Score(1, 1, 0, 0, 0, 0, 27)
    nowhere = problem(replace(need("a"), promised=NOWHERE))
    assert score(nowhere, {"a": 0}) == Score(1, 0, 0, 0, 0, 0, 6)


def test_every_order_and_date_that_is_broken_counts() -> None:
    circle = problem(replace(need("a"), after=("b",), promised=2), replace(need("b", series=1), after=("a", "c")))
    assert promises_broken(circle, {"a": 2, "b": 3}) == 2  # a is not after b, and there is no c
    assert promises_broken(circle, {"a": 3, "b": 2}) == 3
    assert promises_broken(circle, {}) == 1
    assert promises_broken(circle, {"a": 2, "b": 2}) == 3  # at once is not before


def test_a_date_among_none_of_the_slots_is_kept_by_none() -> None:
    nowhere = problem(replace(need("a"), promised=NOWHERE))
    assert [promises_broken(nowhere, {"a": slot}) for slot in range(6)] == [1] * 6


def test_a_replan_counts_moves_and_days_moved() -> None:
    stays = replace(need("a"), planned_slot=1, planned_day=13)
    moves = replace(need("b", series=1), planned_slot=2, planned_day=20)
    gone = replace(need("c", series=1), planned_day=-1)  # its slot is past
    new = need("d")
    places = {"a": 1, "b": 3, "c": 5, "d": 4}
    assert score(problem(stays, moves, gone, new, keep=True), places) == Score(
        broken=0,
        unplaced=0,
        wide=0,
        moved=2,  # b and c; d was never planned
        moved_days=(27 - 20) + (41 + 1),
        points=(21 - 14) ** 2 + (21 - 14) ** 2 + (14 - 21) ** 2,
        days=13 + 27 + 41 + 34,
    )
    afresh = score(problem(stays, moves, gone, new), places)
    assert afresh is not None
    assert (afresh.moved, afresh.moved_days) == (0, 0)


def test_hours_are_summed_to_the_day_a_study_must_be_ready() -> None:
    # By the Saturdays: 600 - 240 = 360 spare in the first week, 720 in the second; a study gives 240 back.
    assert hours_fit(problem(need("a", minutes=600)), {"a": 0})
    assert hours_fit(problem(need("a", minutes=601)), {"a": 0}) is False
    assert hours_fit(problem(need("a", minutes=960)), {"a": 1})
    assert hours_fit(problem(need("a", minutes=961)), {"a": 1}) is False
    assert score(problem(need("a", minutes=961)), {"a": 1}) is None


def test_an_earlier_study_leaves_less_for_a_later_one() -> None:
    assert hours_fit(problem(need("a", minutes=500), need("b", minutes=700)), {"a": 0, "b": 1})
    assert hours_fit(problem(need("a", minutes=500), need("b", minutes=701)), {"a": 0, "b": 1}) is False
    assert hours_fit(problem(need("a", minutes=700), need("b", minutes=500)), {"a": 0, "b": 1}) is False


def test_hours_that_shrink_later_bind_too() -> None:
    """A later day with less to spare than the day the study must be ready holds it back."""
    tight = problem(need("a", minutes=600))
    assert hours_fit(tight, {"a": 0})
    assert hours_fit(replace(tight, spare=(*tight.spare[:41], 300)), {"a": 0}) is False


def test_work_that_should_have_been_done_before_today_fits_only_if_none_is_left() -> None:
    soon = replace(problem(need("a"), need("b", minutes=0)), ready=(-1, 5, 12, 19, 26, 33))
    assert hours_fit(soon, {"a": 0}) is False
    assert hours_fit(soon, {"b": 0})
    assert hours_fit(soon, {"b": 0, "a": 1})
    assert hours_fit(soon, {"b": 1, "a": 0}) is False


def test_work_for_today_fits_the_hours_of_today() -> None:
    today = replace(problem(need("a", minutes=300)), ready=(0, 7, 14, 21, 28, 35), spare=(60,) * 42)
    assert hours_fit(today, {"a": 0})  # and 240 min of usual content are given back
    assert hours_fit(replace(today, spare=(59, *today.spare[1:])), {"a": 0}) is False


def test_scores_compare_aim_by_aim() -> None:
    assert Score(0, 9, 0, 9, 9, 9, 9) < Score(1, 0, 0, 0, 0, 0, 0)
    assert Score(0, 0, 0, 9, 9, 9, 9) < Score(0, 1, 0, 0, 0, 0, 0)
    assert Score(0, 0, 0, 1, 9, 9, 9) < Score(0, 0, 0, 2, 0, 0, 0)
    assert Score(0, 0, 0, 1, 1, 9, 9) < Score(0, 0, 0, 1, 2, 0, 0)
    assert Score(0, 0, 0, 1, 1, 1, 9) < Score(0, 0, 0, 1, 1, 2, 0)
    assert Score(0, 0, 0, 1, 1, 1, 1) < Score(0, 0, 0, 1, 1, 1, 2)
