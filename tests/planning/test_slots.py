"""Slots from weekly rules: the wall clock stays, the instant moves."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showrunner.domain.slot import SlotRule
from showrunner.errors import BadInput
from showrunner.planning.slots import expand

SUNDAY = SlotRule("sun", "features", 6, time(9), "Australia/Hobart")
WEDNESDAY = SlotRule("wed", "making diary", 2, time(18, 30), "Australia/Hobart")


def starts(rule: SlotRule, first: date, last: date) -> list[datetime]:
    return [slot.start for slot in expand([rule], first, last)]


def test_wall_clock_stays_when_hobart_leaves_summer_time() -> None:
    # IANA tz database, Australia/Hobart: +11 until 3:00 on Sunday 5 April 2026, +10 after.
    found = dict(
        zip(
            [slot.day for slot in expand([SUNDAY], date(2026, 3, 22), date(2026, 5, 3))],
            starts(SUNDAY, date(2026, 3, 22), date(2026, 5, 3)),
            strict=True,
        )
    )
    assert found[date(2026, 3, 22)] == datetime(2026, 3, 21, 22, tzinfo=UTC)
    assert found[date(2026, 3, 29)] == datetime(2026, 3, 28, 22, tzinfo=UTC)
    assert found[date(2026, 4, 5)] == datetime(2026, 4, 4, 23, tzinfo=UTC)
    assert found[date(2026, 5, 3)] == datetime(2026, 5, 2, 23, tzinfo=UTC)


def test_both_ends_count_and_an_empty_range_is_empty() -> None:
    assert [s.day for s in expand([SUNDAY], date(2026, 3, 22), date(2026, 3, 29))] == [
        date(2026, 3, 22),
        date(2026, 3, 29),
    ]
    assert expand([SUNDAY], date(2026, 3, 23), date(2026, 3, 28)) == ()
    assert expand([SUNDAY], date(2026, 3, 29), date(2026, 3, 22)) == ()
    assert expand([], date(2026, 3, 22), date(2026, 3, 29)) == ()


def test_a_rule_holds_only_between_its_own_days() -> None:
    rule = SlotRule("sun", "features", 6, time(9), "UTC", first=date(2026, 3, 16), last=date(2026, 3, 29))
    assert [s.day for s in expand([rule], date(2026, 1, 1), date(2026, 12, 31))] == [
        date(2026, 3, 22),
        date(2026, 3, 29),
    ]
    assert expand([rule], date(2026, 4, 1), date(2026, 4, 30)) == ()


def test_slots_come_by_instant_then_by_rule() -> None:
    twin = SlotRule("alt", "second feature", 6, time(9), "Australia/Hobart")
    # Sunday 08:00 in Auckland comes before Sunday 09:00 in Hobart.
    early = SlotRule("zzz", "early", 6, time(8), "Pacific/Auckland")
    found = expand([SUNDAY, WEDNESDAY, twin, early], date(2026, 3, 18), date(2026, 3, 22))
    assert [slot.rule for slot in found] == ["wed", "zzz", "alt", "sun"]
    assert found == expand([early, twin, WEDNESDAY, SUNDAY], date(2026, 3, 18), date(2026, 3, 22))


def test_a_skipped_time_counts_with_the_offset_before_the_gap() -> None:
    # RFC 5545 3.3.5 (p.34): TZID=America/New_York:20070311T023000 indicates 3:30 EDT (UTC-04:00).
    rule = SlotRule("x", "x", 6, time(2, 30), "America/New_York")
    assert starts(rule, date(2007, 3, 11), date(2007, 3, 11)) == [datetime(2007, 3, 11, 7, 30, tzinfo=UTC)]


def test_a_doubled_time_is_its_first_occurrence() -> None:
    # RFC 5545 3.3.5 (p.34): TZID=America/New_York:20071104T013000 indicates 1:30 EDT (UTC-04:00).
    rule = SlotRule("x", "x", 6, time(1, 30), "America/New_York")
    assert starts(rule, date(2007, 11, 4), date(2007, 11, 4)) == [datetime(2007, 11, 4, 5, 30, tzinfo=UTC)]
    late = SlotRule("x", "x", 6, time(1, 30, fold=1), "America/New_York")
    assert starts(late, date(2007, 11, 4), date(2007, 11, 4)) == [datetime(2007, 11, 4, 5, 30, tzinfo=UTC)]


@pytest.mark.parametrize("zone", ["", "Nowhere/Land", "America", "../etc/passwd", "\0"])
def test_an_unknown_zone_is_one_sentence(zone: str) -> None:
    with pytest.raises(BadInput) as caught:
        expand([SlotRule("x", "features", 6, time(9), zone)], date(2026, 3, 22), date(2026, 3, 22))
    assert str(caught.value) == (f"features: no time zone is called '{zone}'; write it like Europe/Dublin.")


def test_an_unknown_zone_of_a_long_name_is_one_short_sentence() -> None:
    with pytest.raises(BadInput) as caught:
        expand([SlotRule("x", "features", 6, time(9), "a" * 400)], date(2026, 3, 22), date(2026, 3, 22))
    told = str(caught.value)
    assert len(told) < 300
    assert told.startswith("features: no time zone is called 'aaa")
    assert told.endswith("aaa'; write it like Europe/Dublin.")


def test_days_at_the_end_of_the_calendar_are_refused_in_words() -> None:
    rule = SlotRule("x", "features", 4, time(23), "America/New_York")
    with pytest.raises(BadInput, match="leave the years 1 to 9999"):
        expand([rule], date(9999, 12, 25), date.max)


@given(
    weekday=st.integers(0, 6),
    at=st.times(timezones=st.none()),
    zone=st.sampled_from(["Australia/Hobart", "America/New_York", "Europe/Dublin", "Australia/Lord_Howe", "UTC"]),
    first=st.dates(date(1990, 1, 1), date(2040, 1, 1)),
    days=st.integers(0, 400),
)
def test_every_matching_day_and_no_other_has_a_slot(weekday: int, at: time, zone: str, first: date, days: int) -> None:
    last = first + timedelta(days)
    found = expand([SlotRule("x", "x", weekday, at, zone)], first, last)
    wanted = [d for d in (first + timedelta(n) for n in range(days + 1)) if d.weekday() == weekday]
    assert [slot.day for slot in found] == wanted
    for slot in found:
        shown = slot.start.astimezone(ZoneInfo(zone)).replace(tzinfo=None)
        wall = datetime.combine(slot.day, at.replace(fold=0))
        # Only a time the clocks skip is shown later, by the length of the gap (an hour or less here).
        assert wall <= shown <= wall + timedelta(hours=1)


def test_a_day_added_to_a_rule_counts_at_both_ends_of_the_range() -> None:
    days = (date(2026, 3, 24), date(2026, 3, 27))
    rule = SlotRule("sun", "features", 6, time(9), "UTC", added=days)
    assert [slot.day for slot in expand([rule], *days)] == list(days)
