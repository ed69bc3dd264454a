"""Our calendar as readers that are not ours understand it.

Judges: icalendar (which writes it too, so it counts least), vobject, recurring-ical-events, where node has it ical.js,
and libical where it is installed (Debian's libical3). To use ical.js, run `npm install ical.js@2` in some folder and
name that folder in SHOWRUNNER_ICAL_JS.
"""

from __future__ import annotations

import ctypes
import ctypes.util
import json
import os
import shutil
import subprocess
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path

import icalendar
import pytest
import recurring_ical_events
import vobject

from showrunner.cli import run
from showrunner.demo_book import demo_path
from showrunner.domain.book import Book
from showrunner.domain.episode import Episode, Series, Stage
from showrunner.domain.slot import DarkRange, SlotRef, SlotRule
from showrunner.ical.export import export_calendar
from showrunner.planning.results import Task, WorkPlan

NOW = datetime(2026, 3, 2, 1, 2, 3, tzinfo=UTC)
MARCH, MAY = SlotRef(date(2026, 3, 22), "sun"), SlotRef(date(2026, 5, 3), "sun")
TITLE = "Crêpe — “Odile”; straps, ties \\ no hooks"

BOOK = Book(
    key="0d2b6a0e-9a57-4c6e-8f0a-2f9a3a7f0c11",
    rules=(SlotRule("sun", "features", 6, time(9), "Australia/Hobart"),),
    series=(Series("hour", "Hour, the", "keep", ("sun",)),),
    dark=(DarkRange("july", date(2026, 7, 13), date(2026, 7, 26), reason="no work"),),
    episodes=(
        Episode("one", TITLE, series="hour", slot=MARCH),
        Episode("two", "BEGIN:VEVENT\nEND:VCALENDAR", series="hour", slot=MAY),
    ),
)
WORK = WorkPlan((Task(date(2026, 3, 7), 240, "one", TITLE, Stage.SHOOT, MARCH, date(2026, 3, 21)),), None, None, (), ())

HOUR = timedelta(hours=1)
EXPECTED = {
    # Hobart keeps +11 until 5 April 2026 and +10 after (IANA tz database): 09:00 there is 22:00, then 23:00 UTC.
    f"Publish: {TITLE}": (
        datetime(2026, 3, 21, 22, tzinfo=UTC),
        datetime(2026, 3, 21, 22, 30, tzinfo=UTC),
        "TENTATIVE",
        0,
        (-HOUR,),
    ),
    "Publish: BEGIN:VEVENT\nEND:VCALENDAR": (
        datetime(2026, 5, 2, 23, tzinfo=UTC),
        datetime(2026, 5, 2, 23, 30, tzinfo=UTC),
        "TENTATIVE",
        0,
        (-HOUR,),
    ),
    f"Shoot: {TITLE}": (date(2026, 3, 7), date(2026, 3, 8), "TENTATIVE", 0, (-6 * HOUR,)),
    "No work: no work": (date(2026, 7, 13), date(2026, 7, 27), "CONFIRMED", 0, ()),
}


@dataclass(frozen=True)
class Seen:
    """One entry as a reader understands it."""

    uid: str
    summary: str
    start: date
    end: date
    status: str
    sequence: int
    alarms: tuple[timedelta, ...]


def by_vobject(data: bytes) -> list[Seen]:
    calendar = vobject.readOne(data.decode())
    return [
        Seen(
            event.uid.value,
            event.summary.value,
            event.dtstart.value,
            event.dtend.value,
            event.status.value,
            int(event.sequence.value),
            tuple(alarm.trigger.value for alarm in event.contents.get("valarm", [])),
        )
        for event in calendar.vevent_list
    ]


def as_seen(events: Iterable[icalendar.Event]) -> list[Seen]:
    return [
        Seen(
            str(event["UID"]),
            str(event["SUMMARY"]),
            event.start,
            event.end,
            str(event["STATUS"]),
            int(event["SEQUENCE"]),
            tuple(alarm["TRIGGER"].dt for alarm in event.walk("VALARM")),
        )
        for event in events
    ]


def by_icalendar(data: bytes) -> list[Seen]:
    return as_seen(icalendar.Calendar.from_ical(data).walk("VEVENT"))


def by_recurring(data: bytes) -> list[Seen]:
    calendar = icalendar.Calendar.from_ical(data)
    found = recurring_ical_events.of(calendar).between(date(2022, 12, 1), date(2029, 2, 1))
    return as_seen(found)


JS = """
const ICAL = require("ical.js").default || require("ical.js");
const root = new ICAL.Component(ICAL.parse(require("fs").readFileSync(0, "utf8")));
const out = root.getAllSubcomponents("vevent").map((part) => {
  const event = new ICAL.Event(part);
  const say = (t) => t.isDate ? t.toString() : t.toJSDate().toISOString();
  return [event.uid, event.summary, say(event.startDate), say(event.endDate),
    part.getFirstPropertyValue("status"), event.sequence,
    part.getAllSubcomponents("valarm").map((a) => a.getFirstPropertyValue("trigger").toSeconds())];
});
process.stdout.write(JSON.stringify(out));
"""


def by_ical_js(data: bytes) -> list[Seen]:
    folder = os.environ.get("SHOWRUNNER_ICAL_JS", "")
    node = shutil.which("node")
    if not node or not (Path(folder) / "node_modules" / "ical.js").is_dir() or not folder:
        pytest.skip("no node with ical.js: name the folder it is installed in with SHOWRUNNER_ICAL_JS")
    done = subprocess.run([node, "-e", JS], input=data, capture_output=True, cwd=folder, timeout=60, check=True)

    def moment(text: str) -> date:
        return datetime.fromisoformat(text) if "T" in text else date.fromisoformat(text)

    return [
        Seen(uid, summary, moment(start), moment(end), status, sequence, tuple(timedelta(seconds=s) for s in alarms))
        for uid, summary, start, end, status, sequence, alarms in json.loads(done.stdout)
    ]


class IcalTime(ctypes.Structure):
    """`struct icaltimetype` of libical 3."""

    _fields_ = [
        (name, ctypes.c_int) for name in ("year", "month", "day", "hour", "minute", "second", "is_date", "summer")
    ]
    _fields_ += [("zone", ctypes.c_void_p)]

    def moment(self) -> date:
        if self.is_date:
            return date(self.year, self.month, self.day)
        return datetime(self.year, self.month, self.day, self.hour, self.minute, self.second)


def libical() -> ctypes.CDLL:
    """libical with the types of what is called; it has no binding that a virtual environment could hold."""
    name = ctypes.util.find_library("ical")
    if not name:
        pytest.skip("no libical: install Debian's libical3")
    found = ctypes.CDLL(name)
    pointer, text = ctypes.c_void_p, ctypes.c_char_p
    for function, result, *arguments in (
        ("icalparser_parse_string", pointer, text),
        ("icalcomponent_string_to_kind", ctypes.c_int, text),
        ("icalproperty_string_to_kind", ctypes.c_int, text),
        ("icalcomponent_get_first_component", pointer, pointer, ctypes.c_int),
        ("icalcomponent_get_next_component", pointer, pointer, ctypes.c_int),
        ("icalcomponent_get_first_property", pointer, pointer, ctypes.c_int),
        ("icalproperty_get_value_as_string", text, pointer),
        ("icalcomponent_get_uid", text, pointer),
        ("icalcomponent_get_summary", text, pointer),
        ("icalcomponent_get_sequence", ctypes.c_int, pointer),
        ("icalcomponent_get_dtstart", IcalTime, pointer),
        ("icalcomponent_get_dtend", IcalTime, pointer),
        ("icaltime_is_utc", ctypes.c_int, IcalTime),
        ("icalcomponent_count_errors", ctypes.c_int, pointer),
        ("icalcomponent_free", None, pointer),
    ):
        called = getattr(found, function)
        called.restype, called.argtypes = result, arguments
    return found


def by_libical(data: bytes) -> list[Seen]:
    lib = libical()
    root = lib.icalparser_parse_string(data)
    assert lib.icalcomponent_count_errors(root) == 0

    def parts(whole: int, kind: bytes) -> list[int]:
        number = lib.icalcomponent_string_to_kind(kind)
        found, part = [], lib.icalcomponent_get_first_component(whole, number)
        while part:
            found.append(part)
            part = lib.icalcomponent_get_next_component(whole, number)
        return found

    def said(part: int, name: bytes) -> str:
        prop = lib.icalcomponent_get_first_property(part, lib.icalproperty_string_to_kind(name))
        return lib.icalproperty_get_value_as_string(prop).decode()

    def moment(time: IcalTime) -> date:
        found = time.moment()
        return (
            found.replace(tzinfo=UTC if lib.icaltime_is_utc(time) else None) if isinstance(found, datetime) else found
        )

    seen = [
        Seen(
            lib.icalcomponent_get_uid(event).decode(),
            lib.icalcomponent_get_summary(event).decode(),
            moment(lib.icalcomponent_get_dtstart(event)),
            moment(lib.icalcomponent_get_dtend(event)),
            said(event, b"STATUS"),
            lib.icalcomponent_get_sequence(event),
            tuple(icalendar.vDuration.from_ical(said(alarm, b"TRIGGER")) for alarm in parts(event, b"VALARM")),
        )
        for event in parts(root, b"VEVENT")
    ]
    lib.icalcomponent_free(root)
    return seen


READERS = pytest.mark.parametrize("read", [by_icalendar, by_vobject, by_recurring, by_ical_js, by_libical])


@READERS
def test_every_entry_is_read_as_it_was_meant(read) -> None:
    seen = read(export_calendar(BOOK, WORK, NOW).data)
    assert {s.summary: (s.start, s.end, s.status, s.sequence, s.alarms) for s in seen} == EXPECTED
    assert len({s.uid for s in seen}) == len(seen) == 4


@READERS
def test_a_moved_study_is_the_same_entry_with_a_higher_sequence(read) -> None:
    first = export_calendar(BOOK, WORK, NOW)
    later = BOOK.with_table("calendar", first.log)
    later = later.put("episodes", replace(later.episode("one"), slot=SlotRef(date(2026, 4, 12), "sun")))
    before = {s.uid: s for s in read(first.data)}
    seen = read(export_calendar(later, WORK, NOW + timedelta(days=1)).data)
    assert sorted(s.uid for s in seen) == sorted(before)
    (moved,) = [s for s in seen if s.summary == f"Publish: {TITLE}"]
    assert before[moved.uid].summary == moved.summary
    assert (before[moved.uid].sequence, moved.sequence) == (0, 1)
    assert moved.start == datetime(2026, 4, 11, 23, tzinfo=UTC)


@READERS
def test_a_dropped_study_is_read_as_cancelled(read) -> None:
    first = export_calendar(BOOK, WORK, NOW)
    later = BOOK.with_table("calendar", first.log).drop("episodes", "two")
    seen = {s.uid: s for s in read(export_calendar(later, WORK, NOW + timedelta(days=1)).data)}
    assert len(seen) == 4
    (gone,) = [s for s in seen.values() if "END:VCALENDAR" in s.summary]
    assert (gone.status, gone.sequence, gone.alarms) == ("CANCELLED", 1, ())


@READERS
def test_three_years_of_weekly_slots_are_read_at_their_instants(read) -> None:
    """The wall clock says 09:00 every Sunday through six clock changes.

    Hobart's rule in the IANA tz database since 2008: daylight time ends on the first Sunday of April
    and starts on the first Sunday of October, both at 2:00 standard time (16:00 UTC the day before).
    """
    sundays = [date(2026, 1, 4) + timedelta(weeks=n) for n in range(156)]
    episodes = tuple(
        Episode(f"e{n}", f"{day}", series="hour", slot=SlotRef(day, "sun")) for n, day in enumerate(sundays)
    )
    book = replace(BOOK, episodes=episodes, dark=())
    data = export_calendar(book, WorkPlan((), None, None, (), ()), NOW).data
    got = {s.summary: s.start for s in read(data)}
    assert len(got) == 156
    for day in sundays:
        april, october = (min(d for d in sundays_of(day.year, month)) for month in (4, 10))
        offset = 10 if april <= day < october else 11
        assert got[f"Publish: {day}"] == datetime(day.year, day.month, day.day, 9, tzinfo=UTC) - timedelta(hours=offset)


def sundays_of(year: int, month: int) -> list[date]:
    days = (date(year, month, 1) + timedelta(days=n) for n in range(28))
    return [day for day in days if day.weekday() == 6]


@pytest.mark.slow
@READERS
def test_the_folder_and_the_file_say_the_same(read, tmp_path: Path) -> None:
    """The demo's calendar, usual slots and all, as one file to subscribe to and as one file for each entry."""
    book = tmp_path / "book.json"
    shutil.copyfile(demo_path(), book)
    assert run(["--book", str(book), "calendar", str(tmp_path / "all.ics")]) == 0
    assert run(["--book", str(book), "calendar", "--folder", str(tmp_path / "folder")]) == 0
    whole = {each.uid: each for each in read((tmp_path / "all.ics").read_bytes())}
    files = sorted((tmp_path / "folder").iterdir())
    if read is by_ical_js:  # node takes long to start
        files = files[::40]
    single = {file.name: read(file.read_bytes()) for file in files}
    assert all([f"{each.uid}.ics" for each in found] == [name] for name, found in single.items())
    found = {each.uid: each for (each,) in single.values()}
    assert found == {uid: each for uid, each in whole.items() if uid in found}
    assert len(found) == len(whole) or read is by_ical_js
    assert len(whole) > 150
    apron = next(each for each in whole.values() if each.summary.startswith("Publish: The apple-packer"))
    assert apron.start == datetime(2026, 3, 21, 22, tzinfo=UTC), "09:00 of 22 March in Hobart, by the demo's story"
    diary = [each for each in whole.values() if each.summary == "Publish: making diary"]
    assert {each.start.hour for each in diary} == {7, 8}, "18:30 in Hobart is 07:30 in summer and 08:30 in winter"
