"""Busy calendars come in as dark ranges."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from pathlib import Path

import calendar_books as books
import icalendar
import pytest
import recurring_ical_events
from effort import examples
from hypothesis import HealthCheck, given
from hypothesis import strategies as st

from showrunner.domain.book import Book
from showrunner.domain.slot import DarkRange
from showrunner.errors import BadInput
from showrunner.ical.busy import BusyResult, merge_busy, read_busy

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


def d(month: int, day: int, year: int = 2026) -> date:
    return date(year, month, day)


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
    ("start", "end", "expected"),
    [
        ("20260310T090000", "20260310T150000", [(d(3, 10), d(3, 10))]),
        ("20260310T090000", "20260310T145959", []),
        ("20260310T170000", "20260312T050000", [(d(3, 10), d(3, 11))]),
        ("20260310T200000", "20260311T080000", [(d(3, 11), d(3, 11))]),
        ("20260310T190000", "20260311T050000", []),
        ("20260310T000000", "20260313T000000", [(d(3, 10), d(3, 12))]),
        # The night of 5 April 2026 is an hour longer in Hobart (IANA tz database): 1:00 to 6:00 takes 6 h.
        ("20260405T010000", "20260405T060000", [(d(4, 5), d(4, 5))]),
        ("20261004T010000", "20261004T070000", []),
    ],
)
def test_a_timed_event_darkens_the_days_of_which_it_takes_six_hours(read, start, end, expected) -> None:
    result = read(calendar(event(f"DTSTART;TZID={ZONE}:{start}", f"DTEND;TZID={ZONE}:{end}")))
    assert spans(result) == expected
    assert len(result.skipped) == (0 if expected else 1)


def test_short_events_are_named_once(read) -> None:
    text = calendar(
        event("DTSTART:20260310T100000", "DURATION:PT1H", "RRULE:FREQ=WEEKLY;COUNT=12", summary="Dentist"),
        event("DTSTART:20260410T100000", summary="Call", uid="b"),
    )
    assert read(text).skipped == (
        "'Dentist' of 10 March 2026 and 11 more days takes less than 6 h of any day; it makes no day dark.",
        "'Call' of 10 April 2026 takes less than 6 h of any day; it makes no day dark.",
    )


def test_days_are_those_of_the_house(read) -> None:
    # 22:00 UTC on 9 March is 9:00 on 10 March in Hobart; floating time is the house's own.
    text = calendar(
        event("DTSTART:20260309T220000Z", "DURATION:PT8H"),
        event("DTSTART:20260312T090000", "DURATION:PT8H", uid="b"),
        event("DTSTART;TZID=America/New_York:20260314T180000", "DURATION:PT8H", uid="c"),
        event("DTSTART;TZID=AUS Eastern Standard Time:20260317T090000", "DURATION:PT8H", uid="d"),
    )
    assert spans(read(text)) == [(x, x) for x in (d(3, 10), d(3, 12), d(3, 15), d(3, 17))]


def test_a_zone_described_in_the_file_is_used_and_an_unknown_one_is_told(read) -> None:
    # 20:00 at +05:00 is 15:00 UTC, which is 2:00 the next day in Hobart.
    text = calendar(
        CUSTOM_ZONE,
        event("DTSTART;TZID=The workroom:20260310T200000", "DURATION:PT8H"),
        event("DTSTART;TZID=Nowhere:20260312T090000", "DURATION:PT8H", uid="b", summary="Lost"),
    )
    result = read(text)
    assert spans(result) == [(d(3, 11), d(3, 11))]
    assert result.skipped == ("'Lost' is in the time zone 'Nowhere', which is not known; it makes no day dark.",)


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
    assert spans(read(text)) == [(x, x) for x in (d(3, 2), d(3, 6), d(3, 11))]


def test_a_change_to_all_later_occurrences_is_told(read) -> None:
    text = calendar(
        event("DTSTART;VALUE=DATE:20260307", "RRULE:FREQ=WEEKLY;COUNT=2"),
        event("RECURRENCE-ID;VALUE=DATE;RANGE=THISANDFUTURE:20260314", "DTSTART;VALUE=DATE:20260315"),
    )
    result = read(text)
    assert spans(result) == [(d(3, 7), d(3, 7)), (d(3, 15), d(3, 15))]
    assert result.skipped == ("'Away' changes all later occurrences too; only the first was changed here.",)


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
    assert result.skipped == (f"'Odd one' {words}; it makes no day dark.",)
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
        event("DTSTART:20260301T090000", "DURATION:PT8H", "RRULE:FREQ=DAILY"),
        event("DTSTART;TZID=America/New_York:20260301T180000", "DURATION:PT8H", "RRULE:FREQ=DAILY", uid="b"),
    )
    for name in ("a", "b"):
        result = read(text, d(3, 5), d(3, 6))
        assert [dark.first for dark in result.ranges if dark.busy_uid == name] == [d(3, 5), d(3, 6)]


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
    assert (result.ranges, result.skipped) == ((), ())


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
def test_dark_days_agree_with_an_independent_reader(
    read, rule, start, timed, ends, number, length, zone, exceptions, additions
) -> None:
    """recurring-ical-events expands the same event; its days are counted here by the six-hour rule."""

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
    expected = set()
    for found in recurring_ical_events.of(house).between(first - timedelta(days=7), last + timedelta(days=7)):
        expected |= days_of(found.start, found.end)
    got = {dark.first + timedelta(days=n) for dark in result.ranges for n in range((dark.last - dark.first).days + 1)}
    inside = {first + timedelta(days=n) for n in range(365)}
    assert got & inside == expected & inside


def days_of(start: date, end: date) -> set[date]:
    """Days an occurrence darkens, minute by quarter of an hour."""
    if not isinstance(start, datetime):
        return {start + timedelta(days=n) for n in range((end - start).days)}
    from zoneinfo import ZoneInfo

    quarters: dict[date, int] = {}
    at = start.astimezone(ZoneInfo("UTC"))
    while at < end:
        day = at.astimezone(ZoneInfo(ZONE)).date()
        quarters[day] = quarters.get(day, 0) + 1
        at += timedelta(minutes=15)
    return {day for day, count in quarters.items() if count >= 24}


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
