"""A book opened on a fixed day: from there time runs on, a day has 24 hours, and nothing jumps.

Changes of the clocks are those of the IANA time zone data (2026): Hobart goes back an hour on 5 April at 3:00 and
ahead on 4 October at 2:00; Dublin ahead on 29 March at 1:00 and back on 25 October at 2:00. Samoa (Apia) left out
30 December 2011 altogether.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from workroom_books import small_book

from showrunner.clock import FixedDay
from showrunner.domain.book import Book
from showrunner.domain.shoot import Touch
from showrunner.errors import BadInput
from showrunner.filming import Filming
from showrunner.session import Session

DEMO = Path(__file__).parents[1] / "demo" / "book.json"
HOBART = ZoneInfo("Australia/Hobart")
D = date(2026, 3, 2)
"""The day at which the clock of both books stands."""


class Clock:
    """A real clock that stands until it is moved."""

    def __init__(self, *local: int, zone: ZoneInfo = HOBART) -> None:
        self.at = datetime(*local, tzinfo=zone).astimezone(UTC)

    def __call__(self) -> datetime:
        return self.at

    def wait(self, **span: float) -> None:
        self.at += timedelta(**span)


def opened(tmp_path: Path, clock: Clock, book: Book | None = None, *, today: date | None = None) -> Session:
    return Session.create(tmp_path / "book.json", book or small_book(), now=clock, today=today)


def wall(session: Session) -> str:
    return f"{session.instant().astimezone(ZoneInfo(session.book.house.zone)):%m-%d %H:%M}"


def in_zone(zone: str) -> Callable[[Book], Book]:
    return lambda book: replace(book, house=replace(book.house, zone=zone))


def on_clock(day: date | None) -> Callable[[Book], Book]:
    return lambda book: replace(book, clock=day)


@pytest.mark.parametrize("given", [None, D], ids=["the book's clock", "the day asked for"])
def test_after_midnight_it_is_the_next_day(tmp_path: Path, given: date | None) -> None:
    clock = Clock(2026, 11, 25, 23, 50)
    book = small_book() if given is None else on_clock(date(2020, 1, 1))(small_book())
    with opened(tmp_path, clock, book, today=given) as session:
        assert (session.today, wall(session)) == (D, "03-02 23:50")
        clock.wait(minutes=9, seconds=59)
        assert (session.today, wall(session)) == (D, "03-02 23:59")
        clock.wait(seconds=1)
        assert (session.today, wall(session)) == (D + timedelta(1), "03-03 00:00")
        clock.wait(days=40)
        assert session.today == date(2026, 4, 11)


def test_opened_again_it_is_the_fixed_day_again(tmp_path: Path) -> None:
    clock = Clock(2026, 11, 25, 23, 50)
    opened(tmp_path, clock).close()
    for days in range(3):
        clock.wait(days=days)
        with Session.open(tmp_path / "book.json", write=False, now=clock) as session:
            assert (session.today, wall(session)) == (D, "03-02 23:50")


def test_the_real_day_is_that_of_the_house(tmp_path: Path) -> None:
    clock = Clock(2026, 11, 25, 23, 50)
    with opened(tmp_path, clock, on_clock(None)(small_book())) as session:
        assert (session.today, session.instant()) == (date(2026, 11, 25), clock.at)
        clock.wait(minutes=10)
        assert (session.today, session.instant()) == (date(2026, 11, 26), clock.at)


def test_where_the_fixed_day_is_the_real_one_its_instants_are_real(tmp_path: Path) -> None:
    clock = Clock(2026, 4, 5, 1, 30)
    clock.wait(hours=1, minutes=30)  # 2:30 for the second time, after the clocks went back
    with opened(tmp_path, clock, today=date(2026, 4, 5)) as session:
        assert (session.instant(), wall(session)) == (clock.at, "04-05 02:00")


@pytest.mark.parametrize(
    ("real", "day", "first", "after_two_hours"),
    [
        ((2026, 10, 4, 1, 30), D, "03-02 01:30", "03-02 03:30"),  # the real clocks go ahead
        ((2026, 4, 5, 1, 30), D, "03-02 01:30", "03-02 03:30"),  # they go back
        ((2026, 11, 25, 1, 30), date(2026, 10, 4), "10-04 01:30", "10-04 04:30"),  # those of the fixed day go ahead
        ((2026, 11, 25, 1, 30), date(2026, 4, 5), "04-05 01:30", "04-05 02:30"),  # they go back
        ((2026, 11, 25, 2, 30), date(2026, 10, 4), "10-04 03:30", "10-04 05:30"),  # there is no half past two
        ((2026, 7, 1, 23, 30), D, "03-02 23:30", "03-03 01:30"),  # winter in truth, summer on the fixed day
        ((2026, 11, 25, 23, 30), date(2026, 7, 1), "07-01 23:30", "07-02 01:30"),
    ],
)
def test_a_change_of_the_clocks_moves_nothing(
    tmp_path: Path, real: tuple[int, ...], day: date, first: str, after_two_hours: str
) -> None:
    clock = Clock(*real)
    with opened(tmp_path, clock, today=day) as session:
        assert (session.today, wall(session)) == (day, first)
        clock.wait(hours=2)
        assert (f"{session.today:%m-%d}", wall(session)) == (after_two_hours[:5], after_two_hours)


def test_half_past_two_for_the_second_time_is_no_time_of_the_day_before() -> None:
    now = datetime(2026, 4, 4, 16, 30, tzinfo=UTC)  # 2:30 in Hobart again; on the fixed day there is none
    fixed = FixedDay.begin(date(2026, 10, 4), now, "Australia/Hobart")
    assert f"{fixed.instant(now).astimezone(HOBART):%m-%d %H:%M}" == "10-04 03:30"


def test_a_day_that_the_zone_left_out_is_the_day_all_the_same() -> None:
    now = datetime(2026, 11, 25, 12, tzinfo=UTC)
    fixed = FixedDay.begin(date(2011, 12, 30), now, "Pacific/Apia")
    assert fixed.today(now, "Pacific/Apia") == date(2011, 12, 30)


ZONES = ("Australia/Hobart", "Europe/Dublin", "Pacific/Apia", "America/Santiago", "Pacific/Chatham", "UTC")
INSTANTS = st.datetimes(datetime(2024, 1, 1), datetime(2030, 1, 1), timezones=st.just(UTC))
DAYS = st.dates(date(1990, 1, 1), date(2040, 1, 1))


@given(INSTANTS, DAYS, st.sampled_from(ZONES), st.lists(st.integers(0, 200_000), max_size=6))
def test_time_runs_as_it_does_in_truth(now: datetime, day: date, zone: str, waits: list[int]) -> None:
    fixed = FixedDay.begin(day, now, zone)
    assert fixed.today(now, zone) == day
    local, at = now.astimezone(ZoneInfo(zone)), fixed.instant(now).astimezone(ZoneInfo(zone))
    there = set()  # a time of day that is told twice has two instants; one that is skipped is told as another
    for fold in (0, 1):
        wall_clock = datetime.combine(day, local.time().replace(fold=fold), ZoneInfo(zone))
        there.add(f"{wall_clock.astimezone(UTC).astimezone(ZoneInfo(zone)):%T}")
    assert f"{at:%T}" in there
    last = day
    for seconds in waits:
        before, now = now, now + timedelta(seconds=seconds)
        assert fixed.instant(now) - fixed.instant(before) == timedelta(seconds=seconds)
        today = fixed.today(now, zone)
        assert last <= today <= last + timedelta(seconds // 86_400 + 2)
        if at.date() == day:
            assert today == fixed.instant(now).astimezone(ZoneInfo(zone)).date()
        last = today


# The zone, the clock of the book, and the real clock, changed while it is open


def test_another_zone_of_the_house_moves_neither_the_day_nor_the_time(tmp_path: Path) -> None:
    clock = Clock(2026, 11, 25, 8, 0)
    with opened(tmp_path, clock) as session:
        before = session.instant()
        session.do("move house", in_zone("Europe/Dublin"))
        assert (session.today, session.instant()) == (D, before)  # the evening before, in Dublin
        clock.wait(hours=2, minutes=59)
        assert session.today == D
        clock.wait(minutes=1)  # midnight in Dublin
        assert session.today == D + timedelta(1)
        assert session.instant() == before + timedelta(hours=3)
        session.undo()
        assert (session.today, session.instant()) == (D, before + timedelta(hours=3))


def test_a_zone_that_is_set_for_the_first_time_leaves_the_day_asked_for(tmp_path: Path) -> None:
    clock = Clock(2026, 11, 25, 20, 0, zone=ZoneInfo("UTC"))
    with opened(tmp_path, clock, Book("new"), today=D) as session:
        assert session.today == D
        session.do("set the zone", in_zone("Australia/Hobart"))  # there it is the next morning already
        assert session.today == D


def test_where_the_zone_is_unknown_the_fixed_day_stands(tmp_path: Path) -> None:
    clock = Clock(2026, 11, 25, 12, 0)
    with opened(tmp_path, clock, in_zone("Mars/Olympus")(small_book()), today=D) as session:
        clock.wait(hours=20)
        assert session.today == D
        with pytest.raises(BadInput, match="'Mars/Olympus' is not a time zone"):
            session.instant()
        session.do("mend the zone", in_zone("Australia/Hobart"))
        assert session.today == D + timedelta(1)
        now = session.instant()
        clock.wait(minutes=5)
        assert session.instant() == now + timedelta(minutes=5)


def test_a_clock_set_to_another_day_is_there_at_once_and_undone_it_goes_on(tmp_path: Path) -> None:
    clock = Clock(2026, 11, 25, 23, 50)
    with opened(tmp_path, clock) as session:
        clock.wait(minutes=20)
        assert (session.today, wall(session)) == (date(2026, 3, 3), "03-03 00:10")
        session.do("set the clock", on_clock(date(2026, 4, 20)))
        assert (session.today, wall(session)) == (date(2026, 4, 20), "04-20 00:10")
        clock.wait(minutes=10)
        session.undo()
        assert (session.today, wall(session)) == (date(2026, 3, 3), "03-03 00:20")
        session.do("let the clock go", on_clock(None))
        assert (session.today, wall(session)) == (date(2026, 11, 26), "11-26 00:20")


def test_the_day_asked_for_holds_whatever_the_clock_of_the_book_says(tmp_path: Path) -> None:
    clock = Clock(2026, 11, 25, 23, 50)
    with opened(tmp_path, clock, today=date(2026, 5, 1)) as session:
        clock.wait(minutes=20)
        session.do("set the clock", on_clock(date(2026, 4, 20)))
        assert (session.today, wall(session)) == (date(2026, 5, 2), "05-02 00:10")


def test_a_reader_follows_a_clock_that_was_set_elsewhere(tmp_path: Path) -> None:
    clock = Clock(2026, 11, 25, 23, 50)
    with (
        opened(tmp_path, clock) as writer,
        Session.open(tmp_path / "book.json", now=clock) as reader,
    ):
        assert reader.read_only
        clock.wait(minutes=20)
        writer.do("set the clock", on_clock(date(2026, 4, 20)))
        assert reader.today == date(2026, 3, 3)
        assert reader.follow()
        assert (
            (reader.today, reader.instant())
            == (writer.today, writer.instant())
            == (date(2026, 4, 20), reader.instant())
        )


def test_a_real_clock_that_is_set_back_takes_the_time_along_but_not_the_fixed_day(tmp_path: Path) -> None:
    clock = Clock(2026, 11, 25, 0, 5)
    with opened(tmp_path, clock) as session:
        clock.wait(minutes=-10)
        assert (session.today, wall(session)) == (D, "03-01 23:55")


def test_a_clock_at_the_edge_of_the_calendar_breaks_nothing(tmp_path: Path) -> None:
    for number, day in enumerate((date.min, date.max)):
        clock = Clock(2026, 11, 25, 23, 50)
        folder = tmp_path / str(number)
        with opened(folder, clock, on_clock(day)(small_book())) as session:
            clock.wait(minutes=20)
            assert (session.today, session.instant()) == (day, clock.at)


# A shoot


def test_a_shoot_past_midnight_goes_on(tmp_path: Path) -> None:
    shutil.copy(DEMO, tmp_path / "book.json")
    clock = Clock(2026, 11, 25, 23, 50)
    with Session.open(tmp_path / "book.json", now=clock) as session:
        filming = Filming.begin(session, ("apron",))
        filming.acknowledge()
        filming.measure(1_000)
        filming.touch("29", Touch.LAY)
        clock.wait(hours=1)
        clocks = filming.state().clocks
        assert (clocks.session, clocks.take, clocks.lux_hours["29"]) == (3_600, 3_600, 1_000)
        assert filming.silent_seconds() == 3_600
        assert filming.clock_went_back() == 0

        with Session.open(tmp_path / "book.json", now=clock) as second:  # another window, opened after midnight
            assert second.read_only
            looking = Filming(second, filming.id)
            assert second.instant() == session.instant()
            assert looking.state().clocks == clocks
    clock.wait(hours=9)
    with Session.open(tmp_path / "book.json", now=clock) as again:  # the next morning
        resumed = Filming(again, filming.id)
        assert (again.today, wall(again)) == (D, "03-03 09:50")
        assert resumed.silent_seconds() == 10 * 3_600
        assert resumed.clock_went_back() == 0
