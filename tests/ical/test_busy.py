"""Busy calendars come in as dark ranges and busy hours."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import calendar_books as books
import icalendar
import pytest
import recurring_ical_events
from effort import examples
from hypothesis import HealthCheck, given
from hypothesis import strategies as st

from showrunner.domain.book import Book
from showrunner.domain.house import ExtraWork, HouseRules
from showrunner.domain.slot import DarkRange
from showrunner.errors import BadInput
from showrunner.ical.busy import BusyResult, merge_busy, read_busy
from showrunner.planning.hours import busy_hours, work_minutes

FIRST, LAST = date(2026, 3, 2), date(2027, 8, 29)
ZONE = "Australia/Hobart"
CUSTOM_ZONE = """BEGIN:VTIMEZONE
TZID:The workroom
BEGIN:STANDARD
DTSTART:19700101T000000
TZOFFSETFROM:+0500
TZOFFSETTO:+0500
END:STANDARD
END:VTIMEZONE
"""


def d(month: int, day: int, year: int = 2026) -> date:
    return date(year, month, day)


def event(*lines: str, uid: str = "a", summary: str = "Away") -> str:
    return "\n".join(["BEGIN:VEVENT", f"UID:{uid}", f"SUMMARY:{summary}", *lines, "END:VEVENT", ""])


def calendar(*parts: str, name: str = "Family") -> str:
    return f"BEGIN:VCALENDAR\nVERSION:2.0\nPRODID:x\nX-WR-CALNAME:{name}\n{''.join(parts)}END:VCALENDAR\n"


@pytest.fixture
def read(tmp_path: Path):
    def read(text: str | bytes, first: date = FIRST, last: date = LAST) -> BusyResult:
        file = tmp_path / "busy.ics"
        file.write_bytes(text.replace("\n", "\r\n").encode() if isinstance(text, str) else text)
        return read_busy(file, first, last, ZONE)

    return read


def spans(result: BusyResult) -> list[tuple[date, date]]:
    return [(dark.first, dark.last) for dark in result.ranges]


def hours(result: BusyResult) -> dict[date, list[tuple[str, str]]]:
    """The busy stretches of each day, on the clock of a day without a change of the clocks."""
    return {
        busy.day: [(f"{a // 60}:{a % 60:02}", f"{b // 60}:{b % 60:02}") for a, b in busy.spans] for busy in result.days
    }


def test_an_all_day_event_darkens_its_days_without_the_exclusive_end(read) -> None:
    result = read(calendar(event("DTSTART;VALUE=DATE:20260713", "DTEND;VALUE=DATE:20260727")))
    (dark,) = result.ranges
    assert (dark.first, dark.last) == (d(7, 13), d(7, 26))
    assert (dark.no_work, dark.no_publication, dark.reason, dark.busy_uid) == (True, False, "Away", "a")
    assert result.skipped == ()


@pytest.mark.parametrize(
    "lines",
    [
        ("DTSTART;VALUE=DATE:20260713",),
        ("DTSTART;VALUE=DATE:20260713", "DTEND;VALUE=DATE:20260714"),
        ("DTSTART;VALUE=DATE:20260713", "DTEND;VALUE=DATE:20260713"),
        ("DTSTART;VALUE=DATE:20260713", "DURATION:P1D"),
    ],
)
def test_one_day_is_one_day(read, lines: tuple[str, ...]) -> None:
    assert spans(read(calendar(event(*lines)))) == [(d(7, 13), d(7, 13))]


@pytest.mark.parametrize(
    ("start", "end", "whole", "parts"),
    [
        ("20260310T090000", "20260310T150000", [], {d(3, 10): [("9:00", "15:00")]}),
        ("20260310T090010", "20260310T090020", [], {d(3, 10): [("9:00", "9:01")]}),
        (
            "20260310T170000",
            "20260312T050000",
            [(d(3, 11), d(3, 11))],
            {d(3, 10): [("17:00", "24:00")], d(3, 12): [("0:00", "5:00")]},
        ),
        ("20260310T200000", "20260311T080000", [], {d(3, 10): [("20:00", "24:00")], d(3, 11): [("0:00", "8:00")]}),
        ("20260310T000000", "20260313T000000", [(d(3, 10), d(3, 12))], {}),
        ("20260310T000000", "20260310T235959", [], {d(3, 10): [("0:00", "24:00")]}),
        # The night of 5 April 2026 is an hour longer in Hobart, that of 4 October an hour shorter (IANA tz database).
        ("20260405T010000", "20260405T060000", [], {d(4, 5): [("1:00", "7:00")]}),
        ("20261004T010000", "20261004T070000", [], {d(10, 4): [("1:00", "6:00")]}),
        ("20260405T000000", "20260406T000000", [(d(4, 5), d(4, 5))], {}),
    ],
)
def test_a_timed_event_takes_whole_days_and_the_hours_beside_them(read, start, end, whole, parts) -> None:
    result = read(calendar(event(f"DTSTART;TZID={ZONE}:{start}", f"DTEND;TZID={ZONE}:{end}")))
    assert spans(result) == whole
    assert hours(result) == parts
    assert result.skipped == ()


def test_two_events_of_a_day_leave_what_is_left_of_it(read) -> None:
    """Two of four hours each leave two of ten working hours; where they overlap they count once."""
    two = calendar(
        event("DTSTART:20260307T080000", "DURATION:PT4H", summary="Dentist"),
        event("DTSTART:20260307T130000", "DURATION:PT4H", uid="b", summary="Choir"),
    )
    house = HouseRules(work_minutes=(0, 0, 0, 0, 0, 600, 0))
    book, *counts = merge_busy(Book(books.book().key, house), read(two))
    assert counts == [1, 0, 0]
    (busy,) = book.busy
    assert (busy.day, busy.reason) == (d(3, 7), "Dentist and Choir")
    assert work_minutes(book, d(3, 7)) == 120
    assert work_minutes(book, d(3, 14)) == 600
    (told,) = busy_hours(book, FIRST, LAST)
    assert (told.day, told.minutes, told.left, told.reasons) == (d(3, 7), 480, 120, ("Dentist and Choir",))
    other = calendar(event("DTSTART:20260307T100000", "DURATION:PT4H"), name="Museum")
    book, *_ = merge_busy(book, read(other))
    assert work_minutes(book, d(3, 7)) == 600 - 60 * (17 - 8)
    longer = calendar(event("DTSTART:20260307T050000", "DURATION:PT18H"), name="Fair")
    book, *_ = merge_busy(book, read(longer))
    assert work_minutes(book, d(3, 7)) == 0
    found = replace(book, house=replace(house, extra_work=(ExtraWork(d(3, 7), 90),)))
    assert work_minutes(found, d(3, 7)) == 90, "hours found on the day itself are not taken"


def test_an_event_without_end_is_named_and_takes_no_time(read) -> None:
    """RFC 5545 3.6.1: a date-time without DTEND or DURATION ends as it begins, a date takes its day."""
    text = calendar(
        event("DTSTART:20260410T100000", summary="Call"),
        event("DTSTART:20260310T100000", "RRULE:FREQ=WEEKLY;COUNT=12", uid="b", summary="Round"),
        event("DTSTART;VALUE=DATE:20260411", uid="c", summary="Fair"),
    )
    result = read(text)
    assert result.skipped == (
        "'Call' of 10 April 2026 has no end; it takes no time.",
        "'Round' of 10 March 2026 and 11 more days has no end; it takes no time.",
    )
    assert hours(result) == {}
    assert spans(result) == [(d(4, 11), d(4, 11))]


def test_a_broken_line_is_named_and_the_rest_is_read(read) -> None:
    text = calendar(
        event("this is no line of a calendar", "DTSTART:20260310T100000", "DURATION:PT1H"),
        event("DTSTART;VALUE=DATE:20260311", "DTEND;VALUE=DATE", uid="b", summary="Fair"),
    )
    result = read(text.replace("VERSION:2.0", "VERSION:2.0\n-- hello --"))
    assert hours(result) == {d(3, 10): [("10:00", "11:00")]}
    assert result.skipped == (
        "2 lines of the file cannot be read; what stands there is not known.",
        "'Fair' has dates or a repetition that cannot be read; it takes no time.",
    )


FREE_BUSY = """BEGIN:VFREEBUSY
UID:19970901T115957Z-76A912@example.com
DTSTAMP:19970901T120000Z
ORGANIZER:jsmith@example.com
DTSTART:19980313T141711Z
DTEND:19980410T141711Z
FREEBUSY:19980314T233000Z/19980315T003000Z
FREEBUSY:19980316T153000Z/19980316T163000Z
FREEBUSY:19980318T030000Z/19980318T040000Z
URL:http://www.example.com/calendar/busytime/jsmith.ifb
END:VFREEBUSY
"""
"""RFC 5545 3.6.4 (p.61), the published busy time."""


def test_the_published_busy_time_of_rfc_5545(tmp_path: Path) -> None:
    file = tmp_path / "jsmith.ifb"
    file.write_bytes(calendar(FREE_BUSY).replace("\n", "\r\n").encode())
    result = read_busy(file, date(1998, 3, 1), date(1998, 4, 30), "UTC")
    assert hours(result) == {
        date(1998, 3, 14): [("23:30", "24:00")],
        date(1998, 3, 15): [("0:00", "0:30")],
        date(1998, 3, 16): [("15:30", "16:30")],
        date(1998, 3, 18): [("3:00", "4:00")],
    }
    assert {busy.reason for busy in result.days} == {"busy"}
    assert result.skipped == ()


def test_the_kinds_of_busy_time_of_rfc_5545(tmp_path: Path) -> None:
    """RFC 5545 3.8.2.6 (p.100): periods by their end or length, several in a line, and free ones that count nothing."""
    lines = """BEGIN:VFREEBUSY
FREEBUSY;FBTYPE=BUSY-UNAVAILABLE:19970308T160000Z/PT8H30M
FREEBUSY;FBTYPE=FREE:19970309T160000Z/PT3H,19970309T200000Z/PT1H
FREEBUSY;FBTYPE=FREE:19970310T160000Z/PT3H,19970310T200000Z/PT1H,19970310T230000Z/19970311T000000Z
FREEBUSY;FBTYPE=BUSY-TENTATIVE:19970312T160000Z/PT3H,19970312T200000Z/PT1H
END:VFREEBUSY
"""
    file = tmp_path / "busy.ifb"
    file.write_bytes(calendar(lines).replace("\n", "\r\n").encode())
    result = read_busy(file, date(1997, 3, 1), date(1997, 4, 30), "UTC")
    assert hours(result) == {
        date(1997, 3, 8): [("16:00", "24:00")],
        date(1997, 3, 9): [("0:00", "0:30")],
        date(1997, 3, 12): [("16:00", "19:00"), ("20:00", "21:00")],
    }


def test_busy_times_that_cannot_be_read_are_counted(read) -> None:
    text = calendar(
        "BEGIN:VFREEBUSY\nFREEBUSY:20260310T000000Z/20260310T010000Z\nFREEBUSY:20260311T020000Z/20260311T010000Z\n",
        "FREEBUSY:20260312T020000/20260312T030000\nEND:VFREEBUSY\n",
    )
    result = read(text)
    assert hours(result) == {d(3, 10): [("11:00", "12:00")]}
    assert result.skipped == ("2 busy times cannot be read.",)


def test_days_are_those_of_the_house(read) -> None:
    # 22:00 UTC on 9 March is 9:00 on 10 March in Hobart; floating time is the house's own.
    text = calendar(
        event("DTSTART:20260309T220000Z", "DURATION:PT8H"),
        event("DTSTART:20260312T090000", "DURATION:PT8H", uid="b"),
        event("DTSTART;TZID=America/New_York:20260314T180000", "DURATION:PT8H", uid="c"),
        event("DTSTART;TZID=AUS Eastern Standard Time:20260317T090000", "DURATION:PT8H", uid="d"),
    )
    assert hours(read(text)) == {x: [("9:00", "17:00")] for x in (d(3, 10), d(3, 12), d(3, 15), d(3, 17))}


def test_a_zone_described_in_the_file_is_used_and_an_unknown_one_is_told(read) -> None:
    # 20:00 at +05:00 is 15:00 UTC, which is 2:00 the next day in Hobart.
    text = calendar(
        CUSTOM_ZONE,
        event("DTSTART;TZID=The workroom:20260310T200000", "DURATION:PT8H"),
        event("DTSTART;TZID=Nowhere:20260312T090000", "DURATION:PT8H", uid="b", summary="Lost"),
    )
    result = read(text)
    assert hours(result) == {d(3, 11): [("2:00", "10:00")]}
    assert result.skipped == ("'Lost' is in the time zone 'Nowhere', which is not known; it takes no time.",)


def test_free_and_cancelled_events_are_ignored(read) -> None:
    text = calendar(
        event("DTSTART;VALUE=DATE:20260713", "TRANSP:TRANSPARENT"),
        event("DTSTART;VALUE=DATE:20260713", "STATUS:CANCELLED", uid="b"),
    )
    assert (read(text).ranges, read(text).skipped) == ((), ())


def test_repetition_exceptions_additions_and_changes(read) -> None:
    text = calendar(
        event(
            "DTSTART;VALUE=DATE:20260307",
            "DTEND;VALUE=DATE:20260309",
            "RRULE:FREQ=WEEKLY;COUNT=5",
            "EXDATE;VALUE=DATE:20260314",
            "RDATE;VALUE=DATE:20260601,20260608",
        ),
        event("RECURRENCE-ID;VALUE=DATE:20260321", "DTSTART;VALUE=DATE:20260324", summary="Moved"),
        event("RECURRENCE-ID;VALUE=DATE:20260328", "DTSTART;VALUE=DATE:20260328", "STATUS:CANCELLED"),
    )
    result = read(text)
    assert spans(result) == [
        (d(3, 7), d(3, 8)),
        (d(3, 24), d(3, 24)),
        (d(4, 4), d(4, 5)),
        (d(6, 1), d(6, 2)),
        (d(6, 8), d(6, 9)),
    ]
    assert result.ranges[1].reason == "Moved"
    assert {dark.busy_uid for dark in result.ranges} == {"a"}


def test_a_later_revision_of_an_event_or_of_a_change_counts(read) -> None:
    text = calendar(
        event("DTSTART;VALUE=DATE:20260311", "SEQUENCE:2", "RRULE:FREQ=DAILY;COUNT=2"),
        event("DTSTART;VALUE=DATE:20260310", "SEQUENCE:1"),
        event("RECURRENCE-ID;VALUE=DATE:20260312", "DTSTART;VALUE=DATE:20260320", "SEQUENCE:4"),
        event("RECURRENCE-ID;VALUE=DATE:20260312", "DTSTART;VALUE=DATE:20260315", "SEQUENCE:3"),
    )
    assert spans(read(text)) == [(d(3, 11), d(3, 11)), (d(3, 20), d(3, 20))]


def test_timed_exceptions_are_instants_or_whole_days(read) -> None:
    text = calendar(
        event(
            f"DTSTART;TZID={ZONE}:20260302T090000",
            f"DTEND;TZID={ZONE}:20260302T170000",
            "RRULE:FREQ=DAILY;COUNT=5",
            "EXDATE:20260302T220000Z",
            "EXDATE;VALUE=DATE:20260305",
            f"RDATE;TZID={ZONE};VALUE=PERIOD:20260310T090000/20260310T100000,20260311T090000/PT7H",
        ),
        event(f"RECURRENCE-ID;TZID={ZONE}:20260304T090000", "DTSTART:20260304T090000", "TRANSP:TRANSPARENT"),
    )
    found = {day: [("9:00", "17:00")] for day in (d(3, 2), d(3, 6))}
    assert hours(read(text)) == found | {d(3, 10): [("9:00", "10:00")], d(3, 11): [("9:00", "16:00")]}


def test_a_change_to_all_later_occurrences_moves_them_all(read) -> None:
    """RFC 5545 3.8.4.4: the difference of the starts, and the new length, hold for every later occurrence."""
    text = calendar(
        event("DTSTART;VALUE=DATE:20260307", "RRULE:FREQ=WEEKLY;COUNT=4"),
        event("RECURRENCE-ID;VALUE=DATE;RANGE=THISANDFUTURE:20260314", "DTSTART;VALUE=DATE:20260315", "DURATION:P2D"),
        event("RECURRENCE-ID;VALUE=DATE:20260321", "DTSTART;VALUE=DATE:20260320"),
    )
    result = read(text)
    assert spans(result) == [(d(3, 7), d(3, 7)), (d(3, 15), d(3, 16)), (d(3, 20), d(3, 20)), (d(3, 29), d(3, 30))]
    assert result.skipped == ()


def test_a_change_to_all_later_occurrences_keeps_the_clock_of_their_zone(read) -> None:
    # New York's clocks go forward on 8 March 2026: 9:00 there is 14:00 UTC before it and 13:00 after.
    text = calendar(
        event("DTSTART;TZID=America/New_York:20260304T090000", "DURATION:PT1H", "RRULE:FREQ=WEEKLY;COUNT=4"),
        event(
            "RECURRENCE-ID;TZID=America/New_York;RANGE=THISANDFUTURE:20260311T090000",
            "DTSTART;TZID=America/New_York:20260312T100000",
            "DURATION:PT2H",
        ),
        event(
            "RECURRENCE-ID;TZID=America/New_York;RANGE=THISANDFUTURE:20260325T090000",
            "DTSTART;TZID=America/New_York:20260325T090000",
            "STATUS:CANCELLED",
        ),
    )
    assert hours(read(text)) == {
        d(3, 5): [("1:00", "2:00")],
        d(3, 13): [("1:00", "3:00")],
        d(3, 20): [("1:00", "3:00")],
    }


def test_a_change_to_all_later_occurrences_reaches_those_that_begin_before_the_days(read) -> None:
    text = calendar(
        event("DTSTART;VALUE=DATE:20260201", "RRULE:FREQ=WEEKLY"),
        event("RECURRENCE-ID;VALUE=DATE;RANGE=THISANDFUTURE:20260208", "DTSTART;VALUE=DATE:20260218"),
    )
    assert spans(read(text, FIRST, d(3, 15))) == [(d(3, 4), d(3, 4)), (d(3, 11), d(3, 11))]


def test_a_change_to_another_repetition_is_named(read) -> None:
    text = calendar(
        event("DTSTART;VALUE=DATE:20260307", "RRULE:FREQ=WEEKLY;COUNT=2"),
        event(
            "RECURRENCE-ID;VALUE=DATE;RANGE=THISANDFUTURE:20260314", "DTSTART;VALUE=DATE:20260315", "RRULE:FREQ=DAILY"
        ),
    )
    result = read(text)
    assert spans(result) == [(d(3, 7), d(3, 7)), (d(3, 14), d(3, 14))]
    told = "'Away' changes all later occurrences to another repetition, which is not read; it takes no time."
    assert result.skipped == (told,)


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        (("DTSTART:tomorrow",), "has dates or a repetition that cannot be read"),
        ((), "has dates or a repetition that cannot be read"),
        (("DTSTART;VALUE=DATE:20260307", "RRULE:FREQ=OFTEN"), "has dates or a repetition that cannot be read"),
        (("DTSTART:20260307T090000", "RRULE:FREQ=HOURLY"), "repeats more often than once a day"),
        (("DTSTART:20260307T090000", "DTEND:20260306T090000"), "ends before it starts"),
        (("RECURRENCE-ID:soon", "DTSTART:20260307T090000"), "has a changed occurrence that cannot be read"),
        (("DTSTART:00010101T000000Z", "DTEND:99991231T235959Z"), "reaches beyond the years 1 to 9999"),
    ],
)
def test_an_event_that_cannot_be_read_is_named_and_the_rest_is_read(read, lines, words) -> None:
    good = event("DTSTART;VALUE=DATE:20260713", uid="good")
    result = read(calendar(event(*lines, summary="Odd one"), good))
    assert result.skipped == (f"'Odd one' {words}; it takes no time.",)
    assert spans(result) == [(d(7, 13), d(7, 13))]


def test_ranges_that_only_touch_the_days_are_whole_and_others_are_left_out(read) -> None:
    text = calendar(
        event("DTSTART;VALUE=DATE:20260225", "DTEND;VALUE=DATE:20260304"),
        event("DTSTART;VALUE=DATE:20260220", "DTEND;VALUE=DATE:20260302", uid="b"),
        event("DTSTART;VALUE=DATE:20270829", "DTEND;VALUE=DATE:20270905", uid="c"),
        event("DTSTART;VALUE=DATE:20270830", uid="d"),
    )
    assert spans(read(text)) == [(d(2, 25), d(3, 3)), (d(8, 29, 2027), d(9, 4, 2027))]


def test_a_repeated_event_is_read_through_the_last_day(read) -> None:
    # 18:00 on 5 March in New York is 10:00 on 6 March in Hobart.
    text = calendar(
        event("DTSTART:20260301T090000", "DURATION:PT8H", "RRULE:FREQ=DAILY", summary="a"),
        event(
            "DTSTART;TZID=America/New_York:20260301T180000", "DURATION:PT8H", "RRULE:FREQ=DAILY", uid="b", summary="b"
        ),
    )
    for name in ("a", "b"):
        result = read(text, d(3, 5), d(3, 6))
        assert [busy.day for busy in result.days if name in busy.reason] == [d(3, 5), d(3, 6)]


def test_a_rule_without_end_and_one_that_never_matches_come_to_an_end(read) -> None:
    text = calendar(
        event("DTSTART;VALUE=DATE:19700102", "RRULE:FREQ=WEEKLY"),
        event("DTSTART;VALUE=DATE:20260307", "RRULE:FREQ=MONTHLY;COUNT=3;BYMONTH=2;BYMONTHDAY=30", uid="b"),
    )
    found = spans(read(text, FIRST, d(3, 31)))
    assert found == [(x, x) for x in (d(3, 6), d(3, 7), d(3, 13), d(3, 20), d(3, 27))]


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"\x00\xff\xfe\x80" * 99,
        b"hello",
        b"<html></html>",
        b"BEGIN:VCARD\r\nEND:VCARD\r\n",
        b"BEGIN:VCALENDAR\r\n",
    ],
)
def test_what_is_no_calendar_is_told_in_a_sentence(read, data: bytes) -> None:
    with pytest.raises(BadInput, match=r"the file is not a calendar; name a file in iCalendar form \(\.ics\)\.$"):
        read(data)


@pytest.mark.parametrize("name", ["missing.ics", ".", "a\0b"])
def test_a_file_that_cannot_be_read_is_told_in_a_sentence(tmp_path: Path, name: str) -> None:
    with pytest.raises(BadInput) as caught:
        read_busy(tmp_path / name, FIRST, LAST, ZONE)
    assert "the calendar cannot be read (" in str(caught.value)
    assert "\n" not in str(caught.value)


def test_our_own_calendar_darkens_nothing(read) -> None:
    result = read(books.exported(books.book())[0])
    assert (result.ranges, result.days, result.skipped) == ((), (), ())


def test_importing_the_same_file_again_changes_nothing(read) -> None:
    text = calendar(event("DTSTART;VALUE=DATE:20260307", "RRULE:FREQ=WEEKLY;COUNT=3"))
    book, *counts = merge_busy(books.book(), read(text))
    assert counts == [3, 0, 0]
    again, *counts = merge_busy(book, read(text))
    assert counts == [0, 0, 0]
    assert again is book
    # A week later the first one is past; it stays in the book.
    later, *counts = merge_busy(book, read(text, d(3, 10), LAST))
    assert counts == [0, 0, 0]
    assert later is book


def test_busy_days_are_brought_up_to_date_as_dark_ranges_are(read) -> None:
    one = event("DTSTART:20260307T090000", "DURATION:PT1H", "RRULE:FREQ=WEEKLY;COUNT=3")
    book, *counts = merge_busy(books.book(), read(calendar(one)))
    assert counts == [3, 0, 0]
    again, *counts = merge_busy(book, read(calendar(one)))
    assert (again, counts) == (book, [0, 0, 0])
    assert again is book
    other, *counts = merge_busy(book, read(calendar(one.replace("PT1H", "PT2H").replace("COUNT=3", "COUNT=2"))))
    assert counts == [0, 2, 1]
    assert [busy.day for busy in other.busy] == [d(3, 7), d(3, 14)]
    museum, *counts = merge_busy(book, read(calendar(one, name="Museum")))
    assert counts == [3, 0, 0]
    assert len(museum.busy) == 6
    later, *counts = merge_busy(museum, read(calendar(name="Museum"), d(3, 10), LAST))
    assert counts == [0, 0, 2]
    assert len(later.busy) == 3, "what is over is left out as soon as something else changes"


def test_what_changed_in_the_calendar_changes_in_the_book(read) -> None:
    before = calendar(event("DTSTART;VALUE=DATE:20260307"), event("DTSTART;VALUE=DATE:20260314", uid="b"))
    book, *_ = merge_busy(books.book(), read(before))
    after = calendar(
        event("DTSTART;VALUE=DATE:20260307", "DTEND;VALUE=DATE:20260309"), event("DTSTART;VALUE=DATE:20260401", uid="c")
    )
    book, *counts = merge_busy(book, read(after))
    assert counts == [1, 1, 1]
    assert [(x.first, x.last) for x in book.dark if x.busy_uid in {"a", "c"}] == [
        (d(3, 7), d(3, 8)),
        (d(4, 1), d(4, 1)),
    ]


def test_other_calendars_and_ranges_entered_by_hand_stay(read) -> None:
    mine = event("DTSTART;VALUE=DATE:20260307")
    book, *_ = merge_busy(books.book(), read(calendar(mine)))
    book, *counts = merge_busy(book, read(calendar(mine, name="Museum")))
    assert counts == [1, 0, 0]
    book, *counts = merge_busy(book, read(calendar(name="Museum")))
    assert counts == [0, 0, 1]
    assert len(book.dark) == 3
    assert {"july", "fair"} <= {dark.id for dark in book.dark}


def test_what_the_owner_said_about_a_range_stays(read) -> None:
    text = calendar(event("DTSTART;VALUE=DATE:20260307"))
    book, *_ = merge_busy(Book(books.book().key), read(text))
    (dark,) = book.dark
    book = book.put("dark", DarkRange(dark.id, dark.first, dark.last, False, True, dark.reason, dark.busy_uid))
    again, *counts = merge_busy(book, read(text))
    assert counts == [0, 0, 0]
    assert again is book


WEEKDAYS = ["MO", "TU", "WE", "TH", "FR", "SA", "SU"]


@st.composite
def rules(draw: st.DrawFn) -> str:
    frequency = draw(st.sampled_from(["DAILY", "WEEKLY", "MONTHLY", "YEARLY"]))
    parts = [f"FREQ={frequency}", f"INTERVAL={draw(st.integers(1, 4))}"]
    if frequency == "WEEKLY" and draw(st.booleans()):
        parts.append("BYDAY=" + ",".join(draw(st.lists(st.sampled_from(WEEKDAYS), min_size=1, unique=True))))
        parts.append(f"WKST={draw(st.sampled_from(WEEKDAYS))}")
    if frequency == "MONTHLY" and draw(st.booleans()):
        parts.append(f"BYDAY={draw(st.sampled_from([1, 2, -1]))}{draw(st.sampled_from(WEEKDAYS))}")
    if frequency == "YEARLY" and draw(st.booleans()):
        parts.append(f"BYMONTH={draw(st.integers(1, 12))}")
    return ";".join(parts)


@examples(120, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    rule=rules(),
    start=st.dates(date(2025, 6, 1), date(2026, 12, 1)),
    timed=st.booleans(),
    ends=st.sampled_from(["", "COUNT", "UNTIL"]),
    number=st.integers(1, 30),
    length=st.integers(1, 3),
    zone=st.sampled_from([ZONE, "America/New_York", "Europe/Dublin"]),
    exceptions=st.lists(st.integers(0, 30), max_size=3),
    additions=st.lists(st.integers(0, 300), max_size=2),
)
def test_busy_time_agrees_with_an_independent_reader(
    read, rule, start, timed, ends, number, length, zone, exceptions, additions
) -> None:
    """recurring-ical-events expands the same event; its time is counted here by the quarter of an hour."""

    def moment(day: date) -> str:
        return f";TZID={zone}:{day:%Y%m%d}T090000" if timed else f";VALUE=DATE:{day:%Y%m%d}"

    until = start + timedelta(days=7 * number)
    rule += {
        "": "",
        "COUNT": f";COUNT={number}",
        "UNTIL": f";UNTIL={until:%Y%m%d}" + ("T120000Z" if timed else ""),
    }[ends]
    lines = [f"DTSTART{moment(start)}", f"RRULE:{rule}", f"DURATION:{f'PT{length * 5}H' if timed else f'P{length}D'}"]
    lines += [f"EXDATE{moment(start + timedelta(days=n))}" for n in exceptions]
    lines += [f"RDATE{moment(start + timedelta(days=n))}" for n in additions]
    text = calendar(event(*lines))
    first, last = d(1, 1), d(12, 31)
    result = read(text, first, last)

    house = icalendar.Calendar.from_ical(text.replace("\n", "\r\n"))
    expected: dict[date, set[datetime]] = {}
    for found in recurring_ical_events.of(house).between(first - timedelta(days=7), last + timedelta(days=7)):
        for day, quarters in quarters_of(found.start, found.end).items():
            expected.setdefault(day, set()).update(quarters)
    got = {busy.day: sum(b - a for a, b in busy.spans) for busy in result.days}
    for dark in result.ranges:
        for n in range((dark.last - dark.first).days + 1):
            day = dark.first + timedelta(days=n)
            got[day] = 15 * len(quarters_of(day, day + timedelta(days=1))[day])
    inside = {first + timedelta(days=n) for n in range(365)}
    assert {day: minutes for day, minutes in got.items() if day in inside} == {
        day: 15 * len(quarters) for day, quarters in expected.items() if day in inside
    }


def quarters_of(start: date, end: date) -> dict[date, set[datetime]]:
    """The quarters of an hour of each day, on the clock of the house, that an occurrence takes."""
    house, utc = ZoneInfo(ZONE), ZoneInfo("UTC")
    found: dict[date, set[datetime]] = {}
    if not isinstance(start, datetime):
        start, end = (datetime.combine(day, time.min, house) for day in (start, end))
    at = start.astimezone(utc)
    while at < end:
        found.setdefault(at.astimezone(house).date(), set()).add(at)
        at += timedelta(minutes=15)
    return found


@examples(150, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_a_spoilt_calendar_gives_a_result_or_a_sentence(read, data: st.DataObject) -> None:
    lines = calendar(
        CUSTOM_ZONE,
        event("DTSTART;TZID=The workroom:20260310T200000", "DURATION:PT8H", "RRULE:FREQ=WEEKLY;COUNT=3;BYDAY=TU"),
        event("RECURRENCE-ID;TZID=The workroom:20260317T200000", "DTSTART;VALUE=DATE:20260318", "SEQUENCE:1"),
        event("DTSTART;VALUE=DATE:20260713", "DTEND;VALUE=DATE:20260727", "EXDATE;VALUE=DATE:20260714", uid="b"),
    ).split("\n")
    for _ in range(data.draw(st.integers(1, 3))):
        at = data.draw(st.integers(0, len(lines) - 1))
        kind = data.draw(st.sampled_from(["drop", "double", "cut", "swap", "junk"]))
        line = lines[at]
        cut = data.draw(st.integers(0, len(line)))
        lines[at : at + 1] = {
            "drop": [],
            "double": [line, line],
            "cut": [line[:cut]],
            "swap": [line.partition(":")[0] + ":" + data.draw(st.sampled_from(lines)).rpartition(":")[2]],
            "junk": [line[:cut] + data.draw(st.text(max_size=5)) + line[cut:]],
        }[kind]
        if not lines:
            return
    text = "\r\n".join(lines).encode("utf-8", "surrogatepass")
    try:
        result = read(text)
    except BadInput as error:
        assert "\n" not in error.sentence()
    else:
        merge_busy(books.book(), result)
        assert all("\n" not in sentence for sentence in result.skipped)
