"""The examples of RFC 5545 (Desruisseaux, 2009), page by page, against our slots, our import and our export.

Plain weekly rules run through `expand`, which places the slots; rules with INTERVAL, COUNT or
several days run through `occurrences`, which reads busy calendars.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from icalendar import Calendar, Event

from showrunner.domain.slot import SlotRule
from showrunner.ical.entry import Entry
from showrunner.ical.recur import occurrences
from showrunner.ical.writer import Revision, calendar_bytes
from showrunner.planning.slots import expand

NEW_YORK = ZoneInfo("America/New_York")
STAMP = datetime(2026, 3, 2, tzinfo=UTC)


def recurring(start: str, rule: str) -> list[datetime]:
    """The local starts our import gives for a rule of the RFC, all at 9:00 in New York."""
    event = Event.from_ical(
        f"BEGIN:VEVENT\r\nUID:1\r\nDTSTART;TZID=America/New_York:{start}T090000\r\nRRULE:{rule}\r\nEND:VEVENT\r\n"
    )
    found = occurrences(event, ZoneInfo("UTC"), date(1998, 12, 31))
    return [at.astimezone(NEW_YORK) for at in found]


def days(found: list[datetime]) -> list[str]:
    assert all(at.time() == time(9) for at in found), "the wall clock moved"
    return [f"{at:%b} {at.day}" for at in found]


def written(entry: Entry) -> bytes:
    return calendar_bytes("x", "u", [Revision(entry, 0, STAMP, False)])


def entry(summary: str = "s", description: str = "") -> Entry:
    return Entry("uid", summary, date(2026, 3, 7), date(2026, 3, 8), "CONFIRMED", ("work",), description)


@pytest.mark.parametrize("end", ["UNTIL=19971007T000000Z", "COUNT=10"])
def test_weekly_on_tuesday_and_thursday_for_five_weeks(end: str) -> None:
    # 3.8.5.3 p.125: "Weekly on Tuesday and Thursday for five weeks", both forms.
    expected = ["Sep 2", "Sep 4", "Sep 9", "Sep 11", "Sep 16", "Sep 18", "Sep 23", "Sep 25", "Sep 30", "Oct 2"]
    assert days(recurring("19970902", f"FREQ=WEEKLY;{end};WKST=SU;BYDAY=TU,TH")) == expected


def test_every_other_week_on_tuesday_and_thursday() -> None:
    # 3.8.5.3 p.126: "Every other week on Tuesday and Thursday, for 8 occurrences".
    assert days(recurring("19970902", "FREQ=WEEKLY;INTERVAL=2;COUNT=8;WKST=SU;BYDAY=TU,TH")) == [
        "Sep 2", "Sep 4", "Sep 16", "Sep 18", "Sep 30", "Oct 2", "Oct 14", "Oct 16",
    ]  # fmt: skip


def test_every_other_week_across_the_clock_change() -> None:
    # 3.8.5.3 p.125-126: "Every other week on Monday, Wednesday, and Friday until December 24, 1997";
    # EDT through October 17, EST from October 27.
    found = recurring("19970901", "FREQ=WEEKLY;INTERVAL=2;UNTIL=19971224T000000Z;WKST=SU;BYDAY=MO,WE,FR")
    assert days(found) == [
        "Sep 1", "Sep 3", "Sep 5", "Sep 15", "Sep 17", "Sep 19", "Sep 29", "Oct 1", "Oct 3", "Oct 13", "Oct 15",
        "Oct 17", "Oct 27", "Oct 29", "Oct 31", "Nov 10", "Nov 12", "Nov 14", "Nov 24", "Nov 26", "Nov 28", "Dec 8",
        "Dec 10", "Dec 12", "Dec 22",
    ]  # fmt: skip
    assert [at.tzname() for at in found] == ["EDT"] * 12 + ["EST"] * 13


def test_a_weekly_slot_is_weekly_until_december_24() -> None:
    # 3.8.5.3 p.125: "Weekly until December 24, 1997", from Tuesday September 2; EDT through October 21,
    # EST from October 28. UNTIL stands for 19:00 EST on the 23rd, and that day's 9:00 comes before it.
    rule = SlotRule("tue", "weekly", 1, time(9), "America/New_York", first=date(1997, 9, 2), last=date(1997, 12, 23))
    found = [slot.start.astimezone(NEW_YORK) for slot in expand([rule], date(1997, 1, 1), date(1998, 12, 31))]
    assert days(found) == [
        "Sep 2", "Sep 9", "Sep 16", "Sep 23", "Sep 30", "Oct 7", "Oct 14", "Oct 21", "Oct 28", "Nov 4", "Nov 11",
        "Nov 18", "Nov 25", "Dec 2", "Dec 9", "Dec 16", "Dec 23",
    ]  # fmt: skip
    assert [at.tzname() for at in found] == ["EDT"] * 8 + ["EST"] * 9
    assert recurring("19970902", "FREQ=WEEKLY;UNTIL=19971224T000000Z") == found


def test_the_instant_jumps_an_hour_and_the_wall_clock_does_not() -> None:
    # The rule of 3.8.5.3 p.125 for twenty times: the 16th is October 23 (EDT), the 17th October 28 (EST).
    # Constructed; the RFC's own Tuesday and Thursday example ends before the clocks change.
    found = recurring("19970902", "FREQ=WEEKLY;COUNT=20;WKST=SU;BYDAY=TU,TH")
    assert len(found) == 20
    assert found[15].astimezone(UTC) == datetime(1997, 10, 23, 13, tzinfo=UTC)
    assert found[16].astimezone(UTC) == datetime(1997, 10, 28, 14, tzinfo=UTC)
    assert days(found)[-1] == "Nov 6"
    rules = [SlotRule(name, name, day, time(9), "America/New_York") for name, day in (("tue", 1), ("thu", 3))]
    slots = expand(rules, date(1997, 9, 2), date(1997, 11, 6))
    assert [slot.start for slot in slots] == [at.astimezone(UTC) for at in found]


@pytest.mark.parametrize(
    ("first_day", "expected"),
    [("MO", ["Aug 5", "Aug 10", "Aug 19", "Aug 24"]), ("SU", ["Aug 5", "Aug 17", "Aug 19", "Aug 31"])],
)
def test_the_first_day_of_the_week_matters_with_an_interval(first_day: str, expected: list[str]) -> None:
    # 3.8.5.3 p.131: "An example where the days generated makes a difference because of WKST".
    assert days(recurring("19970805", f"FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST={first_day}")) == expected


def test_until_is_inclusive_and_an_instant() -> None:
    # 3.3.10 p.41: UNTIL bounds the rule "in an inclusive manner"; with a zoned DTSTART it is in UTC.
    assert days(recurring("19970902", "FREQ=WEEKLY;UNTIL=19970909T130000Z")) == ["Sep 2", "Sep 9"]
    assert days(recurring("19970902", "FREQ=WEEKLY;UNTIL=19970909T125959Z")) == ["Sep 2"]


def test_until_within_the_hour_that_comes_twice() -> None:
    # 3.3.5 p.34: 1:30 on November 4, 2007 in New York is EDT, 5:30 UTC. A rule until 5:30 UTC holds it.
    for until, count in (("20071104T053000Z", 2), ("20071104T052959Z", 1)):
        event = Event.from_ical(
            "BEGIN:VEVENT\r\nUID:1\r\nDTSTART;TZID=America/New_York:20071028T013000\r\n"
            f"RRULE:FREQ=WEEKLY;UNTIL={until}\r\nEND:VEVENT\r\n"
        )
        assert len(occurrences(event, ZoneInfo("UTC"), date(2007, 12, 31))) == count


def test_a_skipped_and_a_doubled_time_of_a_rule() -> None:
    # 3.3.10 p.43 with 3.3.5 p.34: 2:30 on March 11, 2007 counts as 3:30 EDT, 1:30 on November 4 as EDT.
    for start, expected in (
        ("20070304T023000", datetime(2007, 3, 11, 7, 30, tzinfo=UTC)),
        ("20071028T013000", datetime(2007, 11, 4, 5, 30, tzinfo=UTC)),
    ):
        event = Event.from_ical(
            f"BEGIN:VEVENT\r\nUID:1\r\nDTSTART;TZID=America/New_York:{start}\r\n"
            "RRULE:FREQ=WEEKLY;COUNT=2\r\nEND:VEVENT\r\n"
        )
        assert list(occurrences(event, ZoneInfo("UTC"), date(2007, 12, 31)))[1] == expected


def unfolded(data: bytes) -> list[str]:
    # 3.1 p.9: a CRLF followed by one space or tab is removed.
    return data.replace(b"\r\n ", b"").replace(b"\r\n\t", b"").decode().split("\r\n")


def test_a_long_line_folds_as_the_standard_says() -> None:
    # 3.1 p.9: the RFC's own line, and one long enough to be folded here.
    text = "This is a long description that exists on a long line."
    assert f"DESCRIPTION:{text}" in unfolded(
        b"DESCRIPTION:This is a lo\r\n ng description\r\n  that exists on a long line.\r\n"
    )
    data = written(entry(description=text * 3))
    assert f"DESCRIPTION:{text * 3}" in unfolded(data)
    assert max(len(line) for line in data.split(b"\r\n")) <= 75


@given(st.text(st.sampled_from("aé—“𐐷 ,;"), min_size=60, max_size=200))
def test_no_line_is_longer_than_75_octets_and_no_character_is_cut(text: str) -> None:
    # 3.1 p.9: "Lines of text SHOULD NOT be longer than 75 octets, excluding the line break."
    data = written(entry(summary=text))
    for line in data.split(b"\r\n"):
        assert len(line) <= 75
        line.decode()
    escaped = text.replace(",", "\\,").replace(";", "\\;")
    assert f"SUMMARY:{escaped}" in unfolded(data)


def test_text_is_escaped_as_the_standard_says() -> None:
    # 3.3.11 p.45-46: backslash, semicolon, comma and newline are escaped, a colon is not.
    data = written(entry(summary="a,b;c\\d:e\nf"))
    assert "SUMMARY:a\\,b\\;c\\\\d:e\\nf" in unfolded(data)
    (event,) = Calendar.from_ical(data).walk("VEVENT")
    assert str(event["SUMMARY"]) == "a,b;c\\d:e\nf"


def test_the_end_of_an_all_day_entry_is_exclusive() -> None:
    # 3.6.1 p.54: June 28 through July 8, 2007 is DTSTART 20070628, DTEND 20070709.
    several = Entry("uid", "Festival", date(2007, 6, 28), date(2007, 7, 8) + timedelta(days=1), "CONFIRMED")
    lines = unfolded(written(several))
    assert "DTSTART;VALUE=DATE:20070628" in lines
    assert "DTEND;VALUE=DATE:20070709" in lines


def test_stamps_agree_and_are_utc() -> None:
    # 3.8.7.2 p.137: DTSTAMP is in UTC, and without a METHOD it equals LAST-MODIFIED.
    lines = unfolded(written(entry()))
    assert "DTSTAMP:20260302T000000Z" in lines
    assert "LAST-MODIFIED:20260302T000000Z" in lines
