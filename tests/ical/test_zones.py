"""What a calendar file tells of time zones: no more of it is worked out than the days looked at need."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from icalendar import Calendar

from showrunner.errors import BadInput
from showrunner.ical.busy import read_busy
from showrunner.ical.zones import begun_lately, is_too_much

FIRST, LAST = date(2026, 3, 2), date(2027, 8, 29)


def part(name: str, start: str, *lines: str) -> str:
    return "\r\n".join(
        [f"BEGIN:{name}", f"DTSTART:{start}", *lines, "TZOFFSETFROM:+0100", "TZOFFSETTO:+0200", f"END:{name}", ""]
    )


def zone(*parts: str, name: str = "Home") -> str:
    return f"BEGIN:VTIMEZONE\r\nTZID:{name}\r\n{''.join(parts)}END:VTIMEZONE\r\n"


def calendar(*parts: str) -> str:
    return f"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:x\r\n{''.join(parts)}END:VCALENDAR\r\n"


# The rules of summer time in the European Union since 1996: Directive 2000/84/EC, articles 2 and 3.
PARIS = (
    "BEGIN:DAYLIGHT\r\nDTSTART:16010325T020000\r\nRRULE:FREQ=YEARLY;BYDAY=-1SU;BYMONTH=3\r\n"
    "TZOFFSETFROM:+0100\r\nTZOFFSETTO:+0200\r\nEND:DAYLIGHT\r\n"
    "BEGIN:STANDARD\r\nDTSTART:16011028T030000\r\nRRULE:FREQ=YEARLY;BYDAY=-1SU;BYMONTH=10\r\n"
    "TZOFFSETFROM:+0200\r\nTZOFFSETTO:+0100\r\nEND:STANDARD\r\n"
)


def test_a_summer_time_that_begins_lately_is_the_same_in_the_days_looked_at() -> None:
    """The judge is the system's own list of zones."""
    text, years = begun_lately(calendar(zone(PARIS)).encode(), FIRST)
    assert years == 8
    [found] = Calendar.from_ical(text).walk("VTIMEZONE")
    home, paris = found.to_tz(lookup_tzid=False), ZoneInfo("Europe/Paris")
    hour = datetime(2024, 1, 1, tzinfo=UTC)
    while hour.year < 2028:
        assert hour.astimezone(home).utcoffset() == hour.astimezone(paris).utcoffset(), hour
        hour += timedelta(hours=7)


def test_the_year_is_a_leap_year_and_nothing_else_changes() -> None:
    text = calendar(zone(part("STANDARD", "16000229T030000", "RRULE:FREQ=YEARLY"))).encode()
    for first, year in ((date(2026, 3, 2), b"2020"), (date(2028, 1, 1), b"2024"), (date(2024, 2, 29), b"2020")):
        assert begun_lately(text, first)[0] == text.replace(b"1600", year)


@pytest.mark.parametrize(
    ("lines", "years"),
    [
        (["RRULE:FREQ=YEARLY;UNTIL=20061029T010000Z"], 425),
        (["RRULE:FREQ=YEARLY;COUNT=3"], 425),
        (["RRULE:FREQ=YEARLY;INTERVAL=3"], 425),
        (["RRULE:FREQ=YEARLY", "RRULE:FREQ=YEARLY;COUNT=3"], 850),
        (["RDATE:20070101T000000"], 0),
        ([], 0),
    ],
)
def test_what_ends_or_counts_keeps_its_beginning(lines: list[str], years: int) -> None:
    text = calendar(zone(part("STANDARD", "16010101T000000", *lines))).encode()
    assert begun_lately(text, FIRST) == (text, years)


def test_what_began_lately_already_stays() -> None:
    text = calendar(zone(part("STANDARD", "20210101T000000", "RRULE:FREQ=YEARLY"))).encode()
    assert begun_lately(text, FIRST) == (text, 5)
    late = calendar(zone(part("STANDARD", "20300101T000000", "RRULE:FREQ=YEARLY"))).encode()
    assert begun_lately(late, FIRST) == (late, 0)


def test_an_event_in_such_a_zone_has_its_hour(tmp_path: Path) -> None:
    event = "BEGIN:VEVENT\r\nUID:a\r\nDTSTART;TZID=Home:20260701T090000\r\nDURATION:PT1H\r\nEND:VEVENT\r\n"
    (tmp_path / "busy.ics").write_text(calendar(zone(PARIS), event))
    [day] = read_busy(tmp_path / "busy.ics", FIRST, LAST, "UTC").days
    assert (day.day, day.spans) == (date(2026, 7, 1), ((7 * 60, 8 * 60),))


def test_too_many_zones_and_too_long_ones_are_refused(tmp_path: Path) -> None:
    def told(*parts: str) -> str:
        (tmp_path / "busy.ics").write_text(calendar(*parts))
        with pytest.raises(BadInput) as error:
            read_busy(tmp_path / "busy.ics", FIRST, LAST, "UTC")
        return error.value.what

    short = part("STANDARD", "19700101T000000")
    assert not is_too_much(calendar(zone(*[short] * 999)).encode())
    assert is_too_much(calendar(zone(*[short] * 500), zone(*[short.replace("STANDARD", "DAYLIGHT")] * 499)).encode())
    assert told(zone(*[short] * 1000)) == "it tells more than 1,000 things of time zones"
    old = part("STANDARD", "16010101T000000", "RRULE:FREQ=YEARLY;UNTIL=20061029T010000Z")
    assert told(zone(*[old] * 8)) == "it takes too long to work its time zones out"
