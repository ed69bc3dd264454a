"""Content lines by the examples of RFC 5545, and read back by icalendar."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import icalendar
import pytest
from effort import examples
from hypothesis import given
from hypothesis import strategies as st

from showrunner.ical.content_lines import duration, folded, text
from showrunner.ical.entry import Entry, clean
from showrunner.ical.writer import Revision, calendar_bytes, entry_bytes

ENTRY = Entry(
    "u-1", "Publish: x", datetime(2026, 3, 21, 22, tzinfo=UTC), datetime(2026, 3, 21, 23, tzinfo=UTC), "TENTATIVE"
)


def test_texts_are_escaped_as_in_rfc_5545() -> None:
    """3.3.11: backslash, semicolon, comma and newline are escaped, a colon is not."""
    assert text("a,b;c\\d:e\nf") == "a\\,b\\;c\\\\d:e\\nf"
    assert text("Project XYZ Final Review\nConference Room - 3B\nCome Prepared.") == (
        "Project XYZ Final Review\\nConference Room - 3B\\nCome Prepared."
    )


@pytest.mark.parametrize(
    ("span", "said"),
    [
        (timedelta(minutes=-30), "-PT30M"),  # RFC 5545 3.6.6, as are the others
        (timedelta(minutes=15), "PT15M"),
        (timedelta(days=-2), "-P2D"),
        (timedelta(hours=-1), "-PT1H"),
        (timedelta(hours=-25, minutes=-5), "-P1DT1H5M"),
        (timedelta(0), "P0D"),
    ],
)
def test_durations(span: timedelta, said: str) -> None:
    assert duration(span) == said
    assert icalendar.vDuration.from_ical(said) == span


@examples(300)
@given(st.text("aé—😀\\,;:\n ", max_size=300))
def test_a_folded_line_unfolds_to_itself_and_is_never_too_long(value: str) -> None:
    """RFC 5545 3.1: at most 75 octets, CRLF and one space, unfolded by taking both out."""
    line = f"DESCRIPTION:{text(value)}"
    data = folded([line])
    assert data.replace(b"\r\n ", b"") == line.encode() + b"\r\n"
    lines = data.split(b"\r\n")
    assert lines.pop() == b""
    assert all(0 < len(each) <= 75 for each in lines)
    assert all(each.decode() for each in lines), "no character is cut"
    assert all((len(each) - len(each.rstrip(b"\\"))) % 2 == 0 for each in lines[:-1]), "no escape is cut"


@examples(200)
@given(
    summary=st.text(max_size=80).map(clean),
    description=st.text("ab\n,;\\ é😀", max_size=300).map(clean),
    start=st.one_of(
        st.dates(date(1900, 1, 1), date(2999, 1, 1)),
        st.datetimes(datetime(1900, 1, 1), datetime(2999, 1, 1)).map(lambda t: t.replace(microsecond=0, tzinfo=UTC)),
    ),
    alarm=st.one_of(st.none(), st.integers(0, 20_000)),
    cancelled=st.booleans(),
    categories=st.lists(st.sampled_from(["work", "a,b", "c;d"]), min_size=1, max_size=3),
)
def test_what_is_written_is_what_icalendar_reads(summary, description, start, alarm, cancelled, categories) -> None:
    end = start + timedelta(days=1)
    entry = replace(
        ENTRY,
        summary=summary,
        description=description,
        start=start,
        end=end,
        alarm_minutes=alarm,
        alarm_text=summary,
        categories=tuple(categories),
        link="https://a.example/?a=1;b,c",
    )
    revision = Revision(entry, 3, datetime(2026, 3, 2, 1, 2, 3, tzinfo=UTC), cancelled)
    for data in (entry_bytes(revision), calendar_bytes(summary, "u", [revision])):
        calendar = icalendar.Calendar.from_ical(data)
        (event,) = calendar.walk("VEVENT")
        assert not event.errors
        assert (str(event["SUMMARY"]), str(event.get("DESCRIPTION", ""))) == (summary, description)
        assert (event.start, event.end, int(event["SEQUENCE"])) == (start, end, 3)
        assert event["DTSTAMP"].dt == event["LAST-MODIFIED"].dt == revision.stamp
        assert str(event["STATUS"]) == ("CANCELLED" if cancelled else "TENTATIVE")
        assert [str(one) for one in event["CATEGORIES"].cats] == categories
        assert str(event["URL"]) == entry.link
        alarms = [one["TRIGGER"].dt for one in event.walk("VALARM")]
        assert alarms == ([] if alarm is None or cancelled else [-timedelta(minutes=alarm)])
    names = {str(calendar[name]) for name in ("NAME", "X-WR-CALNAME")}
    assert names in ({summary}, {text(summary)}), "versions differ in whether these are text (RFC 7986 5.1)"
