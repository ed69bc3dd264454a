"""Calendars of other programs: only the days looked at are expanded, and a monstrous file is refused at once."""

from __future__ import annotations

import random
from datetime import date, datetime, timedelta
from itertools import takewhile
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from dateutil.rrule import rrulestr
from effort import seeds
from icalendar import Event

from showrunner.errors import BadInput
from showrunner.ical import busy, recur
from showrunner.ical.busy import read_busy
from showrunner.ical.recur import Allowance, TooMany, occurrences

FIRST, LAST = date(2026, 3, 2), date(2027, 8, 29)
HOUSE = ZoneInfo("Australia/Hobart")


def event(*lines: str, uid: str = "a") -> str:
    return "\r\n".join(["BEGIN:VEVENT", f"UID:{uid}", "SUMMARY:Away", *lines, "END:VEVENT", ""])


def calendar(*parts: str) -> str:
    return f"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:x\r\n{''.join(parts)}END:VCALENDAR\r\n"


def read(tmp_path: Path, text: str) -> busy.BusyResult:
    file = tmp_path / "busy.ics"
    file.write_text(text)
    return read_busy(file, FIRST, LAST, HOUSE.key)


def random_rule(rng: random.Random) -> tuple[date, str]:
    """A start between 1930 and 2026, and a rule that may end, of each of the four frequencies."""
    start = date(1930, 1, 1) + timedelta(rng.randrange(96 * 365))
    frequency = rng.choice(("DAILY", "WEEKLY", "MONTHLY", "YEARLY"))
    parts = [f"FREQ={frequency}", f"INTERVAL={rng.choice((1, 1, 2, 3, 5))}"]
    by = {
        "DAILY": ("BYMONTH=3,7", "BYDAY=MO,TU,FR", "BYMONTHDAY=1,15,-1"),
        "WEEKLY": ("BYDAY=MO,SU", "BYDAY=WE;WKST=SU", "BYMONTH=4,5,6"),
        "MONTHLY": ("BYDAY=2TU,-1FR", "BYMONTHDAY=31,-2", "BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-1", "BYMONTH=1,6"),
        "YEARLY": (
            "BYDAY=20MO",
            "BYMONTH=2;BYMONTHDAY=29",
            "BYYEARDAY=1,200,-1",
            "BYWEEKNO=1,53",
            "BYMONTH=3;BYDAY=-1SU",
        ),
    }[frequency]
    parts += [rng.choice(by)] if rng.random() < 0.6 else []
    if rng.random() < 0.3:
        parts.append(f"COUNT={rng.choice((1, 10, 700, 5000, 20000))}")
    elif rng.random() < 0.3:
        parts.append(f"UNTIL={rng.choice((1950, 2026, 2040))}0615")
    return start, ";".join(parts)


@pytest.mark.parametrize("seed", seeds(0, 40))
def test_a_rule_entered_late_gives_what_it_gives_from_its_start(seed: int) -> None:
    """The judge is dateutil, run from the very start of each rule."""
    rng = random.Random(seed)
    for _ in range(6):
        start, rule = random_rule(rng)
        made = Event.from_ical(event(f"DTSTART;VALUE=DATE:{start:%Y%m%d}", f"RRULE:{rule}"))
        got = {at for at in occurrences(made, HOUSE, LAST, FIRST, Allowance(10**6)) if FIRST <= at <= LAST}
        whole = rrulestr(rule, dtstart=datetime(start.year, start.month, start.day))
        judged = takewhile(lambda at: at.date() <= LAST, whole)
        assert got == {day for day in (start, *(at.date() for at in judged)) if FIRST <= day <= LAST}, (start, rule)


@pytest.mark.parametrize(
    ("start", "rule", "days"),
    [
        (
            "19310131",
            "FREQ=MONTHLY;INTERVAL=2",
            ["2026-03-31", "2026-05-31", "2026-07-31", "2027-01-31", "2027-03-31", "2027-05-31", "2027-07-31"],
        ),
        ("19310130", "FREQ=MONTHLY;INTERVAL=23", ["2026-11-30"]),
        ("20000229", "FREQ=YEARLY", []),
        ("20000229", "FREQ=YEARLY;INTERVAL=3", []),
    ],
)
def test_a_day_that_not_every_month_has_is_kept(start: str, rule: str, days: list[str]) -> None:
    """Counted by hand: odd months with 31 days; 1,150 = 50 * 23 months later; no 29 February in the days looked at."""
    made = Event.from_ical(event(f"DTSTART;VALUE=DATE:{start}", f"RRULE:{rule}"))
    assert [str(at) for at in occurrences(made, HOUSE, LAST, FIRST) if FIRST <= at <= LAST] == days


@pytest.mark.parametrize("days", [1, 10, 800])
def test_what_began_before_the_days_and_lasts_into_them_is_found(tmp_path: Path, days: int) -> None:
    start = FIRST - timedelta(days=days - 1) - timedelta(days=7 * 1000 * 7)
    end = start + timedelta(days=days)
    text = calendar(
        event(f"DTSTART;VALUE=DATE:{start:%Y%m%d}", f"DTEND;VALUE=DATE:{end:%Y%m%d}", "RRULE:FREQ=WEEKLY;INTERVAL=7000")
    )
    [dark] = read(tmp_path, text).ranges
    assert (dark.first, dark.last) == (FIRST - timedelta(days=days - 1), FIRST)


def looked_at(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Counts the repetitions that are looked at."""
    seen = [0]
    take = Allowance.take

    def counted(self: Allowance) -> None:
        seen[0] += 1
        take(self)

    monkeypatch.setattr(Allowance, "take", counted)
    return seen


@pytest.mark.parametrize("rule", ["FREQ=DAILY", "FREQ=DAILY;COUNT=49000", "FREQ=WEEKLY;BYDAY=MO,TU,WE,TH,FR,SA,SU"])
def test_a_daily_event_since_1930_costs_its_days_in_view(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, rule: str
) -> None:
    seen = looked_at(monkeypatch)
    result = read(tmp_path, calendar(event("DTSTART;VALUE=DATE:19300101", f"RRULE:{rule}")))
    days = (LAST - FIRST).days + 1
    assert len({dark.first for dark in result.ranges if FIRST <= dark.first <= LAST}) == days
    assert seen[0] < days + 40


def test_sixty_daily_events_are_too_many(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    seen = looked_at(monkeypatch)
    each = [event("DTSTART;VALUE=DATE:19300101", "RRULE:FREQ=DAILY", uid=f"{n}") for n in range(60)]
    with pytest.raises(BadInput, match=r"repeat more than 20,000 times in the days looked at; name a smaller calendar"):
        read(tmp_path, calendar(*each))
    assert seen[0] <= recur.MOST_TIMES + 1


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["EXDATE", "RECURRENCE-ID"])
def test_4000_exceptions_are_each_compared_with_their_own_day(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kind: str
) -> None:
    """Compared with every occurrence they would be two million comparisons."""
    compared = [0]
    names = recur.names

    def counted(*of: object) -> bool:
        compared[0] += 1
        return names(*of)  # type: ignore[arg-type]

    monkeypatch.setattr(recur, "names", counted)
    monkeypatch.setattr(busy, "names", counted)
    daily = ["DTSTART;VALUE=DATE:20260302", "RRULE:FREQ=DAILY"]
    days = [f"{FIRST + timedelta(days=1 + 2 * n):%Y%m%d}" for n in range(4000)]
    if kind == "EXDATE":
        text = calendar(event(*daily, *(f"EXDATE;VALUE=DATE:{day}" for day in days)))
    else:
        moved = ["DTSTART;VALUE=DATE:20400101", "STATUS:CANCELLED"]
        text = calendar(event(*daily), *(event(f"RECURRENCE-ID;VALUE=DATE:{day}", *moved) for day in days))
    found = {dark.first for dark in read(tmp_path, text).ranges}
    assert found == {FIRST + timedelta(days=2 * n) for n in range(((LAST - FIRST).days + 2) // 2)}
    assert compared[0] < 5000


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("BEGIN:VCALENDAR\r\n" * 20_000 + "END:VCALENDAR\r\n" * 20_000, "more than 8 parts within each other"),
        (calendar("BEGIN:VEVENT\r\n" * 20_000 + "END:VEVENT\r\n" * 20_000), "more than 8 parts within each other"),
        (calendar("BEG\r\n IN:VEVENT\r\n" * 20 + "END:VEVENT\r\n" * 20), "more than 8 parts within each other"),
        (calendar("BEGIN:VEVENT\r\nEND:VEVENT\r\n" * 11_000), "more than the 10,000 events and parts"),
        (calendar(event("SUMMARY:x\r\n" * 200_000)), "its 200,0.. lines and dates are more than the 30,000"),
        (calendar(event("EXDATE:20260302\r\n" * 16_000)), "its 48,0.. lines and dates are more than the 30,000"),
        (
            calendar(event(*[f"RDATE:{','.join(['20260302'] * 10_000)}"] * 5)),
            "its 50,0.. lines and dates are more than",
        ),
        (calendar(event(f"EXDATE:{','.join(['20260302'] * 30_000)}")), "a line of more than 200,000 letters"),
    ],
    ids=["calendars", "events", "folded", "many", "lines", "exceptions", "dates", "long"],
)
def test_a_monstrous_calendar_is_refused_before_it_is_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, text: str, words: str
) -> None:
    def never(*_: object, **__: object) -> None:
        raise AssertionError("it is read")

    monkeypatch.setattr("icalendar.Calendar.from_ical", never)
    with pytest.raises(BadInput, match=words):
        read(tmp_path, text)


def test_a_huge_file_is_not_even_read(tmp_path: Path) -> None:
    file = tmp_path / "huge.ics"
    with file.open("wb") as opened:
        opened.truncate(500_000_000)
    with pytest.raises(BadInput, match="its 500 MB are too much to read"):
        read_busy(file, FIRST, LAST, HOUSE.key)


def test_the_allowance_is_for_the_whole_calendar() -> None:
    allowance = Allowance(3)
    made = Event.from_ical(event("DTSTART;VALUE=DATE:20260302", "RRULE:FREQ=DAILY;COUNT=2"))
    occurrences(made, HOUSE, LAST, FIRST, allowance)
    with pytest.raises(TooMany):
        occurrences(made, HOUSE, LAST, FIRST, allowance)


@pytest.mark.parametrize("line", ["ATTENDEE:mailto:a@example.org", "X-A;B=c:d", "DESCRIPTION:a\r\n b", "SEQUENCE:0"])
def test_lines_that_are_not_needed_are_not_made_sense_of(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, line: str
) -> None:
    from icalendar import Calendar

    read_whole = Calendar.from_ical
    seen: list[bytes] = []

    def noted(data: bytes, **how: bool) -> object:
        seen.append(data)
        return read_whole(data, **how)

    monkeypatch.setattr(Calendar, "from_ical", noted)
    [dark] = read(tmp_path, calendar(event("DTSTART;VALUE=DATE:20260302", *[line] * 100_000))).ranges
    assert (dark.first, dark.reason) == (FIRST, "Away")
    assert len(seen[0]) < 300


@pytest.mark.parametrize(
    ("lines", "kept"),
    [
        (["DTSTART;VALUE=DATE:20260226"], False),
        (["DTSTART;VALUE=DATE:20260227"], True),  # zones differ by a day and more
        (["DTSTART:20260101T090000Z", "DTEND:20260226T090000Z"], False),
        (["DTSTART:20260101T090000Z", "DTEND:20260303T090000Z"], True),
        (["DTSTART:20260101T090000Z", "DURATION:P70D"], True),
        (["DTSTART;VALUE=DATE:20260101", "RRULE:FREQ=DAILY"], True),
        (["DTSTART;VALUE=DATE:20260101", "RDATE;VALUE=DATE:20260302"], True),
        (["DTSTART;VALUE=DATE:20260101", "RECURRENCE-ID;VALUE=DATE:20260302"], True),
        (["DTSTART;VALUE=DATE:tomorrow"], True),
    ],
)
def test_events_that_are_over_are_not_made_sense_of(lines: list[str], kept: bool) -> None:
    text = calendar(event(*lines), event("DTSTART;VALUE=DATE:20260302", uid="b")).encode()
    left = busy._without_past(text, FIRST)
    assert (left == text) == kept
    assert left.count(b"BEGIN:VEVENT") == 1 + kept
    assert b"UID:b" in left
    twice = calendar(event(*lines), event("DTSTART;VALUE=DATE:20260302", "SEQUENCE:1")).encode()
    assert busy._without_past(twice, FIRST) == twice


NEVER = "FREQ=DAILY;BYMONTH=2;BYMONTHDAY=30"


@pytest.mark.parametrize(
    ("start", "rule", "most"),
    [
        ("20260302", NEVER, 40),
        ("20260302", NEVER + ";COUNT=3", 40),
        ("19300101", NEVER, 40),
        ("19300101", NEVER + ";COUNT=3", 500),  # counted from its start; 2000 is a leap year, unlike other hundreds
    ],
)
def test_a_rule_that_no_day_fits_is_looked_through_for_few_years(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, start: str, rule: str, most: int
) -> None:
    """dateutil looks at every day up to the year 9999 (its `rrule._iter`)."""
    from dateutil import rrule

    years: set[int] = set()
    rebuild = rrule._iterinfo.rebuild  # type: ignore[attr-defined]

    def noted(self: object, year: int, month: int) -> None:
        years.add(year)
        rebuild(self, year, month)

    monkeypatch.setattr(rrule._iterinfo, "rebuild", noted)  # type: ignore[attr-defined]
    found = read(tmp_path, calendar(event(f"DTSTART;VALUE=DATE:{start}", f"RRULE:{rule}"))).ranges
    assert [dark.first for dark in found] == [FIRST] * (start == "20260302")  # the day it begins on
    assert 0 < len(years) <= most


@pytest.mark.slow
def test_rules_that_no_day_fits_end_after_a_while(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    used = iter(range(1000))
    monkeypatch.setattr(recur, "process_time", lambda: next(used) / 4)
    rules = [event("DTSTART;VALUE=DATE:20260302", f"RRULE:{NEVER}", uid=f"{n}") for n in range(5)]
    assert len(read(tmp_path, calendar(*rules[:4])).ranges) == 4
    used = iter(range(1000))
    with pytest.raises(BadInput, match="it takes too long to work its repetitions out"):
        read(tmp_path, calendar(*rules))


@pytest.mark.parametrize("first", range(1926, 2101, 7))
@pytest.mark.parametrize("years", [1, 3, 20, 150])
def test_the_last_years_that_are_alike_have_the_same_days(first: int, years: int) -> None:
    """The judge is the calendar of the standard library, by its week numbers too."""
    later = recur._last_alike(first, first + years - 1)
    assert first + 9998 - 2100 - 400 < (date(first, 1, 1) + later).year
    for year in range(first, first + years):
        for month, day in ((1, 1), (2, 28), (3, 1), (12, 31)):
            here, there = date(year, month, day), date(year, month, day) + later
            assert (there.month, there.day, there.weekday()) == (month, day, here.weekday())
            assert there.isocalendar().week == here.isocalendar().week
    assert (date(first, 1, 1) + later).year + years - 1 <= 9998


def numbers(first: int, last: int) -> str:
    return ",".join(map(str, range(first, last)))


@pytest.mark.parametrize(
    ("part", "read_too"),
    [
        ("FREQ=MONTHLY;BYSETPOS=" + numbers(1, 14) + ";BYMONTHDAY=31", False),
        ("FREQ=MONTHLY;BYSETPOS=" + numbers(-12, 0) + ";BYMONTHDAY=31", True),
        ("FREQ=MONTHLY;BYSETPOS=" + ",".join(["1"] * 14) + ";BYMONTHDAY=31", True),
        ("FREQ=DAILY;BYYEARDAY=367", False),
        ("FREQ=DAILY;BYYEARDAY=-366", True),
        ("FREQ=DAILY;BYMONTHDAY=32", False),
        ("FREQ=YEARLY;BYWEEKNO=54", False),
        ("FREQ=DAILY;BYMONTH=0", False),
        ("FREQ=DAILY;BYHOUR=24", False),
        ("FREQ=DAILY;BYHOUR=0", True),
        ("FREQ=DAILY;BYMINUTE=60", False),
        ("FREQ=DAILY;BYSECOND=61", False),
    ],
)
def test_parts_of_a_rule_that_the_rfc_does_not_have_are_named(tmp_path: Path, part: str, read_too: bool) -> None:
    """The bounds of RFC 5545 3.3.10; dateutil would compare each day with each of any number of values."""
    found = read(tmp_path, calendar(event("DTSTART:20260301T090000Z", "DURATION:PT1H", f"RRULE:{part}")))
    named = ("'Away' repeats by a rule that no calendar should have; it takes no time.",)
    assert found.skipped == (() if read_too else named)


def test_values_that_stand_twice_in_a_rule_are_looked_at_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    texts: list[str] = []

    def noted(text: str, **more: datetime) -> object:
        texts.append(text)
        return rrulestr(text, **more)

    monkeypatch.setattr(recur, "rrulestr", noted)
    many = ",".join(["2", "7"] * 500)
    read(tmp_path, calendar(event("DTSTART;VALUE=DATE:20260302", f"RRULE:FREQ=YEARLY;BYMONTH={many}")))
    assert "BYMONTH=2,7;" in texts[0] + ";"


def test_many_changes_to_all_later_occurrences_are_each_made_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each of the 546 days is moved by the last change before it; by each in turn they would be moved 150,000 times."""
    moved = [0]
    made = busy.moment

    def counted(value: recur.Moment, zone: ZoneInfo) -> recur.Moment:
        moved[0] += 1
        return made(value, zone)

    monkeypatch.setattr(busy, "moment", counted)
    days = [FIRST + timedelta(days=n) for n in range(546)]
    changes = [
        event(
            f"RECURRENCE-ID;VALUE=DATE;RANGE=THISANDFUTURE:{day:%Y%m%d}",
            f"DTSTART;VALUE=DATE:{day + timedelta(days=n % 2):%Y%m%d}",
        )
        for n, day in enumerate(days)
    ]
    result = read(tmp_path, calendar(event("DTSTART;VALUE=DATE:20260302", "RRULE:FREQ=DAILY"), *changes[::-1]))
    expected = {day + timedelta(days=n % 2) for n, day in enumerate(days)}
    assert {dark.first for dark in result.ranges if dark.first <= LAST} == {day for day in expected if day <= LAST}
    assert moved[0] < 2 * len(days)


def later(key: str, *lines: str, uid: str = "a") -> str:
    return event(f"RECURRENCE-ID;RANGE=THISANDFUTURE{key}", *lines, uid=uid)


def test_of_changes_to_all_later_occurrences_one_that_ends_them_is_the_last(tmp_path: Path) -> None:
    text = calendar(
        event("DTSTART;VALUE=DATE:20260302", "RRULE:FREQ=DAILY"),
        later(";VALUE=DATE:20260306", "DTSTART;VALUE=DATE:20260306"),
        later(";VALUE=DATE:20260304", "DTSTART;VALUE=DATE:20260304", "TRANSP:TRANSPARENT"),
    )
    assert [dark.first for dark in read(tmp_path, text).ranges] == [date(2026, 3, 2), date(2026, 3, 3)]


def test_a_change_named_by_its_day_counts_from_its_midnight(tmp_path: Path) -> None:
    """Of an event with hours the change names a day only; of one with days, a time of one of them."""
    text = calendar(
        event("DTSTART;TZID=Australia/Hobart:20260302T090000", "DURATION:PT1H", "RRULE:FREQ=DAILY;COUNT=3", uid="h"),
        later(";VALUE=DATE:20260303", "DTSTART:20260303T000000", "DURATION:PT2H", uid="h"),
        event("DTSTART;VALUE=DATE:20260310", "RRULE:FREQ=DAILY;COUNT=3", uid="d"),
        later(":20260311T120000", "DTSTART:20260311T120000", "STATUS:CANCELLED", uid="d"),
    )
    found = read(tmp_path, text)
    minutes = [(day.day.day, sum(end - start for start, end in day.spans)) for day in found.days]
    assert minutes == [(2, 60), (3, 120), (4, 120)]
    assert [dark.first.day for dark in found.ranges] == [10]


def test_a_long_name_is_cut_and_the_first_of_several_stands(tmp_path: Path) -> None:
    found = read(tmp_path, calendar(event("DTSTART;VALUE=DATE:20260302", "SUMMARY:" + "x" * 150_000)))
    assert found.ranges[0].reason == "Away"
    long = calendar(event("DTSTART;VALUE=DATE:20260302", "RRULE:FREQ=DAILY").replace("Away", "x" * 150_000))
    assert {dark.reason for dark in read(tmp_path, long).ranges} == {"x" * 200 + "…"}


def test_empty_lines_and_events_without_an_end_are_passed_over_at_once(tmp_path: Path) -> None:
    """Each of them looked at from each other would take minutes."""
    text = calendar("\r\n" * 300_000, event("DTSTART;VALUE=DATE:20260302", "\r\n" * 100_000 + "\r\n\r\n \r\n"))
    assert [dark.first for dark in read(tmp_path, text).ranges] == [FIRST]
    endless = b"BEGIN:VEVENT\r\nUID:x\r\nDTSTART;VALUE=DATE:20010101\r\n" * 20_000
    assert busy._without_past(endless, FIRST) == endless


def test_easter_is_no_rule_of_a_calendar(tmp_path: Path) -> None:
    """RFC 5545 3.3.10 has no such part, though dateutil takes one."""
    found = read(tmp_path, calendar(event("DTSTART;VALUE=DATE:20260302", "RRULE:FREQ=YEARLY;BYEASTER=0")))
    assert found.ranges == ()
    assert found.skipped == ("'Away' repeats by a rule that no calendar should have; it takes no time.",)
