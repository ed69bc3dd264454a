"""The calendar file: what it holds, how it changes, and how it is written."""

from __future__ import annotations

import os
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import calendar_books as books
import pytest
from effort import examples
from hypothesis import given
from hypothesis import strategies as st
from icalendar import Calendar, Event

from showrunner.domain.book import Book
from showrunner.domain.episode import Stage
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.publication import Publication
from showrunner.domain.slot import DarkRange, SlotRef
from showrunner.errors import BadInput, CannotWrite, OthersCalendar
from showrunner.ical.entry import clean, make_uid
from showrunner.ical.export import CANCELLED_STAYS, Export, calendar_uid, export_calendar, usual_slots, write

UID = calendar_uid(books.book())


def events(data: bytes) -> dict[str, Event]:
    found = {str(event["UID"]): event for event in Calendar.from_ical(data).walk("VEVENT")}
    assert data.count(b"\r\nBEGIN:VEVENT\r\n") == len(found), "a UID is used twice"
    return found


def uid(thing: str) -> str:
    return make_uid(books.book().key, thing)


def counts(done: Export) -> tuple[int, int, int, int]:
    return done.added, done.changed, done.cancelled, done.unchanged


def moved(book: Book, day: date) -> Book:
    return book.put("episodes", replace(book.episode("apron"), slot=SlotRef(day, "sun")))


def test_publishing_slots_are_utc_instants_across_a_clock_change() -> None:
    # IANA tz database, Australia/Hobart: +11 until 5 April 2026, +10 after.
    found = events(books.exported(books.book())[0])
    assert found[uid("episode:apron:slot")].start == datetime(2026, 3, 21, 22, tzinfo=UTC)
    assert found[uid("episode:waistcoats:slot")].start == datetime(2026, 5, 2, 23, tzinfo=UTC)
    assert found[uid("episode:apron:slot")].end - found[uid("episode:apron:slot")].start == timedelta(minutes=30)
    assert b"TZID" not in books.exported(books.book())[0]


def test_only_what_has_a_date_of_its_own_has_an_entry() -> None:
    found = events(books.exported(books.book())[0])
    assert {str(event["SUMMARY"]) for event in found.values()} == {
        "Published: Verdigris",
        "Publish: Apple-packer's apron",
        "Publish: Two waistcoats; one ticket, one pocket",
        "Publish: A talk on camphor",
        "Shoot: Apple-packer's apron",
        "Edit: Apple-packer's apron",
        "No work: no work in July",
    }


def test_work_and_dark_ranges_are_whole_days_with_an_exclusive_end() -> None:
    # RFC 5545 3.6.1 (p.54): the DTEND of a DATE event is the day after its last.
    data = books.exported(books.book())[0]
    found = events(data)
    shoot, edit = found[uid("episode:apron:shoot")], found[uid("episode:apron:edit")]
    dark = found[uid("dark:july")]
    assert (shoot.start, shoot.end) == (date(2026, 3, 7), date(2026, 3, 8))
    assert (edit.start, edit.end) == (date(2026, 3, 10), date(2026, 3, 15))
    assert "Tue 10 Mar 2026: 2 h\nWed 11 Mar 2026: 2 h\nSat 14 Mar 2026: 4 h" in str(edit["DESCRIPTION"])
    assert (dark.start, dark.end) == (date(2026, 7, 13), date(2026, 7, 27))
    assert b"DTEND;VALUE=DATE:20260727\r\n" in data


def test_a_stage_worked_twice_in_a_day_counts_once() -> None:
    day = date(2026, 3, 10)
    plan = books.work(books.task(day, 60, Stage.EDIT), books.task(day, 90, Stage.EDIT))
    edit = events(books.exported(books.book(), plan)[0])[uid("episode:apron:edit")]
    assert "Tue 10 Mar 2026: 2.5 h" in str(edit["DESCRIPTION"])


def test_status_says_what_is_promised_and_what_is_out() -> None:
    # RFC 5545 3.8.1.11 (p.92): TENTATIVE, CONFIRMED and CANCELLED are the values of an event.
    found = events(books.exported(books.book())[0])
    assert str(found[uid("episode:apron:slot")]["STATUS"]) == "TENTATIVE"
    assert str(found[uid("episode:waistcoats:slot")]["STATUS"]) == "CONFIRMED"
    assert str(found[uid("episode:bodice:slot")]["STATUS"]) == "CONFIRMED"


def test_descriptions_say_pieces_date_gap_hours_and_link() -> None:
    found = events(books.exported(books.book())[0])
    assert str(found[uid("episode:apron:slot")]["DESCRIPTION"]) == (
        "Sunday 22 March 2026, 09:00 (Australia/Hobart)\n"
        "Series: The Camphorwood Hour\n"
        "Piece: Apple-packer's apron (about 1938)\n"
        "Gap: 8 weeks after Verdigris of 25 January 2026\n"
        "Work left: 17 h (research 3 h, shoot 4 h, edit 8 h, captions 1 h, package 1 h)"
    )
    assert "Gap: 6 weeks after Apple-packer's apron" in str(found[uid("episode:waistcoats:slot")]["DESCRIPTION"])
    out = found[uid("episode:bodice:slot")]
    assert str(out["URL"]) == "https://video.example/verdigris"
    assert str(out["DESCRIPTION"]).endswith("Came out: 25 January 2026\nWatch: https://video.example/verdigris")


def test_the_gap_of_a_study_that_came_early_is_not_measured_from_itself() -> None:
    early = Publication("r2", "The apron", "sun", None, FuzzyDate.exact(date(2026, 3, 20)), "apron", "hour")
    book = books.book().put("publications", early)
    book = book.put("episodes", replace(book.episode("apron"), finished=True, published=True))
    found = events(books.exported(book)[0])
    assert "Gap: 7 weeks and 5 days after Verdigris" in str(found[uid("episode:apron:slot")]["DESCRIPTION"])


VAGUE = FuzzyDate("2024-08", date(2024, 8, 1), date(2024, 8, 31), "August 2024")


def vague(target: Book, *lines: tuple[str, FuzzyDate, str]) -> Book:
    """The book with this record alone: title, day, episode."""
    kept = tuple(
        Publication(f"v{n}", title, "sun", None, came, episode, "hour")
        for n, (title, came, episode) in enumerate(lines)
    )
    return target.with_table("publications", kept)


@pytest.mark.parametrize(
    ("day", "lines", "gap"),
    [
        (date(2024, 9, 1), [("Duster", VAGUE, "")], "Gap: 1 day to 4 weeks and 3 days after Duster of August 2024"),
        (date(2024, 9, 29), [("Duster", VAGUE, "")], "Gap: 4 weeks and 1 day to 8 weeks and 3 days after Duster of"),
        (date(2024, 8, 18), [("Duster", VAGUE, "")], None),
        (
            date(2024, 9, 8),
            [("Gown", FuzzyDate.exact(date(2024, 9, 1)), ""), ("Duster", VAGUE, "")],
            "Gap: 1 week after",
        ),
        (date(2024, 9, 8), [("Gown", FuzzyDate.exact(date(2024, 8, 4)), ""), ("Duster", VAGUE, "")], None),
        (date(2024, 9, 8), [("Gown", FuzzyDate("../2024", None, date(2024, 12, 31), "until 2024"), "")], None),
        (
            date(2024, 9, 8),
            [
                ("Gown", FuzzyDate.exact(date(2024, 7, 7)), ""),
                ("Hood", FuzzyDate("2024", date(2024, 1, 1), date(2024, 12, 31), "2024"), ""),
            ],
            None,
        ),
    ],
)
def test_a_gap_is_told_no_firmer_than_the_record(day: date, lines, gap: str | None) -> None:
    """ "0.14 weeks after" a film of "2024-08" would be firmer than the book."""
    book = vague(moved(books.book(), day), *lines)
    text = str(events(books.exported(book)[0])[uid("episode:apron:slot")]["DESCRIPTION"])
    assert (gap in text) if gap else ("Gap" not in text)


def test_a_study_that_came_out_some_time_in_a_month_tells_no_gap() -> None:
    book = vague(books.book(), ("Collar", FuzzyDate.exact(date(2026, 1, 4)), ""), ("Verdigris", VAGUE, "bodice"))
    text = str(events(books.exported(book)[0])[uid("episode:bodice:slot")]["DESCRIPTION"])
    assert "Came out: August 2024" in text
    assert "Gap" not in text


USUAL_FROM = date(2026, 3, 2)


def with_usual(target: Book, today: date = USUAL_FROM, now: datetime = books.NOW) -> tuple[dict[str, Event], Book]:
    done = export_calendar(target, books.work(), now, usual_slots(target, today))
    return events(done.data), target.with_table("calendar", done.log)


def test_every_slot_of_the_plan_stands_in_the_calendar_once() -> None:
    """78 weeks of two weekly slots, counted here by the weekday alone."""
    found, _ = with_usual(books.book())
    slots = [event for event in found.values() if "publication" in event["CATEGORIES"].cats]
    days = [event.start.astimezone(ZoneInfo("Australia/Hobart")).date() for event in slots]
    all_days = [USUAL_FROM + timedelta(days=n) for n in range(78 * 7 + 1)]
    assert sorted(day for day in days if day >= USUAL_FROM) == [day for day in all_days if day.weekday() in (2, 6)]
    assert str(found[uid("slot:wed:2026-03-04")]["SUMMARY"]) == "Publish: making diary"
    assert found[uid("slot:wed:2026-03-04")].start == datetime(2026, 3, 4, 7, 30, tzinfo=UTC)
    assert uid("slot:sun:2026-03-22") not in found, "the apron stands there"


def test_no_usual_slot_on_a_day_without_publication_or_left_out() -> None:
    book = books.book().put("dark", DarkRange("silent", date(2026, 3, 4), date(2026, 3, 4), False, True))
    book = book.put("rules", replace(book.rule("wed"), left_out=(date(2026, 3, 11),)))
    found, _ = with_usual(book)
    assert uid("slot:wed:2026-03-04") not in found
    assert uid("slot:wed:2026-03-11") not in found
    assert uid("slot:wed:2026-03-18") in found


def test_a_study_that_moves_frees_its_slot_and_takes_another() -> None:
    _, told = with_usual(books.book())
    found, _ = with_usual(moved(told, date(2026, 4, 12)), now=books.LATER)
    assert str(found[uid("slot:sun:2026-03-22")]["STATUS"]) == "TENTATIVE"
    assert str(found[uid("slot:sun:2026-04-12")]["STATUS"]) == "CANCELLED"


def test_a_slot_that_is_over_says_what_came_of_it_and_leaves_after_90_days() -> None:
    _, told = with_usual(books.book())
    four, eleven = date(2026, 3, 4), date(2026, 3, 11)
    late = Publication("d1", "Tin buttons", "wed", four, FuzzyDate.exact(date(2026, 3, 5)), link="https://a.example/1")
    told = told.put("publications", late, Publication("d2", "A hem", "wed", eleven, None))
    found, told = with_usual(told, date(2026, 3, 20), books.LATER + timedelta(days=11))
    first = found[uid("slot:wed:2026-03-04")]
    assert str(first["SUMMARY"]) == "Published: Tin buttons"
    assert first.start == datetime(2026, 3, 5, 7, 30, tzinfo=UTC)
    assert str(found[uid("slot:wed:2026-03-11")]["SUMMARY"]) == "Missed: A hem"
    assert not found[uid("slot:wed:2026-03-11")].walk("VALARM")
    assert str(found[uid("slot:wed:2026-03-18")]["SUMMARY"]) == "Publish: making diary"
    later = books.LATER + timedelta(days=100)
    found, after = with_usual(told, later.date(), later)
    assert not any(uid(f"slot:wed:{day}") in found for day in (four, eleven, date(2026, 3, 18)))
    assert uid("slot:wed:2026-03-04") not in {line.id for line in after.calendar}


def test_a_slot_that_was_over_before_it_was_told_is_not_told() -> None:
    found, _ = with_usual(books.book(), date(2026, 3, 20))
    assert uid("slot:wed:2026-03-18") not in found
    assert uid("slot:wed:2026-03-25") in found


def test_alarms_remind_of_shoots_and_of_publishing_only() -> None:
    # RFC 5545 3.6.6 (p.73): a DISPLAY alarm must have a DESCRIPTION and a TRIGGER.
    found = events(books.exported(books.book())[0])
    alarms = {
        str(event["SUMMARY"]): [
            (str(a["ACTION"]), a["TRIGGER"].dt, str(a["DESCRIPTION"])) for a in event.walk("VALARM")
        ]
        for event in found.values()
    }
    hour, evening = timedelta(hours=-1), timedelta(hours=-6)
    assert alarms["Publish: Apple-packer's apron"] == [("DISPLAY", hour, "In an hour: Apple-packer's apron")]
    assert alarms["Shoot: Apple-packer's apron"] == [("DISPLAY", evening, "Shoot tomorrow: Apple-packer's apron")]
    assert [name for name, each in alarms.items() if not each] == [
        "Published: Verdigris",
        "Edit: Apple-packer's apron",
        "No work: no work in July",
    ]


def test_the_calendar_says_what_it_is() -> None:
    # RFC 5545 3.7; RFC 7986 5.1 NAME, 5.3 UID, 5.7 REFRESH-INTERVAL.
    lines = books.exported(books.book())[0].decode().split("\r\n")
    assert lines[0] == "BEGIN:VCALENDAR"
    head = lines[: lines.index("BEGIN:VEVENT")]
    assert "VERSION:2.0" in head
    assert "PRODID:-//showrunner//showrunner//EN" in head
    assert "CALSCALE:GREGORIAN" in head
    assert "NAME:The Camphorwood Hour" in head
    assert "X-WR-CALNAME:The Camphorwood Hour" in head
    assert "REFRESH-INTERVAL;VALUE=DURATION:P1D" in head
    assert not any(line.startswith("METHOD") for line in head)
    assert all("CATEGORIES" in event for event in events(books.exported(books.book())[0]).values())


def test_an_empty_book_is_an_empty_calendar() -> None:
    data, after = books.exported(Book(books.book().key), books.work(books.task(date(2026, 3, 7), 1, Stage.EDIT)))
    assert events(data) == {}
    assert b"NAME:Showrunner\r\n" in data
    assert after.calendar == ()


def test_an_unchanged_book_exports_the_same_bytes_whatever_the_time() -> None:
    data, told = books.exported(books.book())
    again = export_calendar(told, books.work(), books.LATER)
    assert again.data == data
    assert again.log == told.calendar
    assert counts(again) == (0, 0, 0, 7)


def test_a_moved_study_keeps_its_uid_and_rises_in_sequence() -> None:
    # RFC 5545 3.8.7.4 (p.138): SEQUENCE rises with each significant revision; two revisions make 2.
    data, told = books.exported(books.book())
    first = moved(told, date(2026, 4, 5))
    done = export_calendar(first, books.work(), books.LATER)
    event = events(done.data)[uid("episode:apron:slot")]
    assert event["SEQUENCE"] == 1
    assert event.start == datetime(2026, 4, 4, 23, tzinfo=UTC)
    assert event["DTSTAMP"].dt == event["LAST-MODIFIED"].dt == books.LATER
    assert set(events(done.data)) == set(events(data))
    # The waistcoats say how long after the apron they come, so they change with it; nothing else does.
    assert counts(done) == (0, 2, 0, 5)
    second = moved(first.with_table("calendar", done.log), date(2026, 4, 12))
    again = export_calendar(second, books.work(), books.LATER)
    assert events(again.data)[uid("episode:apron:slot")]["SEQUENCE"] == 2
    for other in ("dark:july", "episode:apron:shoot", "episode:talk:slot"):
        assert events(again.data)[uid(other)]["SEQUENCE"] == 0
        assert events(again.data)[uid(other)]["DTSTAMP"].dt == books.NOW


def test_a_dropped_study_is_cancelled_once_and_then_left_alone() -> None:
    told = books.exported(books.book())[1]
    dropped = told.put("episodes", replace(told.episode("apron"), slot=None))
    done = export_calendar(dropped, books.work(books.task(date(2026, 3, 7), 1, None)), books.LATER)
    event = events(done.data)[uid("episode:apron:slot")]
    assert str(event["STATUS"]) == "CANCELLED"
    assert event["SEQUENCE"] == 1
    assert event.start == datetime(2026, 3, 21, 22, tzinfo=UTC)
    assert event.walk("VALARM") == []
    assert done.cancelled == 3  # its slot, its shoot, its edit
    after = dropped.with_table("calendar", done.log)
    again = export_calendar(after, books.work(books.task(date(2026, 3, 7), 1, None)), books.LATER + timedelta(9))
    assert again.data == done.data
    assert counts(again) == (0, 0, 0, 7)


def test_what_comes_back_is_no_longer_cancelled() -> None:
    told = books.exported(books.book())[1]
    gone = told.drop("episodes", "talk")
    after = gone.with_table("calendar", export_calendar(gone, books.work(), books.LATER).log)
    back = after.with_table("episodes", told.episodes)
    done = export_calendar(back, books.work(), books.LATER)
    event = events(done.data)[uid("episode:talk:slot")]
    assert (str(event["STATUS"]), event["SEQUENCE"]) == ("TENTATIVE", 2)
    assert counts(done) == (1, 0, 0, 6)


def test_a_removed_dark_range_is_cancelled() -> None:
    told = books.exported(books.book())[1].drop("dark", "july")
    done = export_calendar(told, books.work(), books.LATER)
    assert str(events(done.data)[uid("dark:july")]["STATUS"]) == "CANCELLED"


def test_work_that_is_done_stays_as_it_was() -> None:
    data, told = books.exported(books.book())
    done_shoot = told.put("episodes", replace(told.episode("apron"), done=(Stage.RESEARCH, Stage.SHOOT)))
    rest = books.work(books.task(date(2026, 3, 10), 480, Stage.EDIT))
    done = export_calendar(done_shoot, rest, books.LATER)
    assert done.cancelled == 0
    assert events(done.data)[uid("episode:apron:shoot")].to_ical() == events(data)[uid("episode:apron:shoot")].to_ical()


def test_a_published_study_is_confirmed_and_its_work_is_kept() -> None:
    told = books.exported(books.book())[1]
    line = Publication(
        "r2", "The apron", "sun", books.APRON_SLOT.day, FuzzyDate.exact(books.APRON_SLOT.day), "apron", "hour", "soon"
    )
    out = told.put("episodes", replace(told.episode("apron"), finished=True, published=True))
    out = out.put("publications", line)
    done = export_calendar(out, books.work(books.task(date(2026, 3, 7), 1, None)), books.LATER)
    event = events(done.data)[uid("episode:apron:slot")]
    assert (str(event["SUMMARY"]), str(event["STATUS"])) == ("Published: Apple-packer's apron", "CONFIRMED")
    assert "URL" not in event  # 'soon' is no address
    assert done.cancelled == 0
    # The rule that gave its slot ends; what is published was published all the same.
    ended = out.with_table("calendar", done.log)
    ended = ended.put("rules", replace(ended.rule("sun"), last=date(2026, 3, 1)))
    later = export_calendar(ended, books.work(books.task(date(2026, 3, 7), 1, None)), books.LATER)
    assert str(events(later.data)[uid("episode:apron:slot")]["STATUS"]) == "CONFIRMED"
    assert str(events(later.data)[uid("episode:talk:slot")]["STATUS"]) == "CANCELLED"


def test_a_clock_that_went_back_does_not_take_the_stamp_along() -> None:
    told = books.exported(books.book(), now=books.LATER)[1]
    done = export_calendar(moved(told, date(2026, 4, 5)), books.work(), books.NOW)
    event = events(done.data)[uid("episode:apron:slot")]
    assert event["DTSTAMP"].dt == books.LATER
    assert event["SEQUENCE"] == 1


def test_text_that_looks_like_a_calendar_stays_text() -> None:
    nasty = "x\nBEGIN:VEVENT\nUID:evil\\n;,:\r\nEND:VEVENT \x07 \ud800 é"
    book = books.book()
    book = book.put("episodes", replace(book.episode("apron"), title=nasty))
    book = book.put("pieces", replace(book.piece("29"), name=nasty))
    book = book.put("dark", replace(book.dark[0], reason=nasty))
    book = book.put("series", replace(book.series_of("hour"), name=nasty))
    found = events(books.exported(book)[0])
    assert len(found) == 7
    assert str(found[uid("episode:apron:slot")]["SUMMARY"]) == f"Publish: {clean(nasty)}"
    assert str(found[uid("dark:july")]["SUMMARY"]) == f"No work: {clean(nasty)}"


@examples(60)
@given(st.text(st.characters(), min_size=1).filter(str.strip))
def test_any_title_comes_back_and_adds_nothing(title: str) -> None:
    book = books.book()
    book = book.put("episodes", replace(book.episode("apron"), title=title))
    data = books.exported(book)[0]
    calendar = Calendar.from_ical(data)
    assert [part.name for part in calendar.subcomponents] == ["VEVENT"] * 7
    assert not calendar.errors
    assert str(events(data)[uid("episode:apron:slot")]["SUMMARY"]) == clean(f"Publish: {title}")
    assert all(len(line) <= 75 for line in data.split(b"\r\n"))


def test_an_unknown_zone_is_told_in_a_sentence() -> None:
    book = books.book()
    book = book.put("rules", replace(book.rule("sun"), zone="Hobart"))
    with pytest.raises(BadInput, match="no time zone is called 'Hobart'"):
        books.exported(book)


def test_a_dark_range_without_end_or_reason_is_exported() -> None:
    book = books.book().put("dark", DarkRange("end", date(2030, 1, 1), date.max, no_publication=True))
    dark = events(books.exported(book)[0])[uid("dark:end")]
    assert (dark.start, dark.end) == (date(2030, 1, 1), date.max)
    assert str(dark["SUMMARY"]) == "No work, no publication"


def test_writing_is_whole_and_leaves_equal_bytes_alone(tmp_path: Path) -> None:
    file = tmp_path / "plan.ics"
    data, told = books.exported(books.book())
    assert write(file, data, UID)
    assert file.read_bytes() == data
    os.utime(file, (1, 1))
    assert not write(file, data, UID)
    assert file.stat().st_mtime == 1
    changed = export_calendar(moved(told, date(2026, 4, 5)), books.work(), books.LATER).data
    assert write(file, changed, UID)
    assert file.read_bytes() == changed
    assert [path.name for path in tmp_path.iterdir()] == ["plan.ics"]


def test_writing_follows_a_link(tmp_path: Path) -> None:
    (tmp_path / "real.ics").touch()
    (tmp_path / "link.ics").symlink_to("real.ics")
    data = books.exported(books.book())[0]
    assert write(tmp_path / "link.ics", data, UID)
    assert (tmp_path / "link.ics").is_symlink()
    assert (tmp_path / "real.ics").read_bytes() == data


def test_a_file_that_is_not_our_calendar_is_never_replaced(tmp_path: Path) -> None:
    file = tmp_path / "book.json"
    file.write_text('{"everything": true}')
    with pytest.raises(CannotWrite, match="the file holds something else; choose another name"):
        write(file, books.exported(books.book())[0], UID)
    assert file.read_text() == '{"everything": true}'


def test_the_calendar_of_another_book_is_replaced_only_if_that_is_asked_for(tmp_path: Path) -> None:
    file = tmp_path / "plan.ics"
    mine, _ = books.exported(books.book())
    other = replace(books.book(), key="aaaaaaaa-aaaa-4aaa-8aaa-aaaaaaaaaaaa")
    others, _ = books.exported(other)
    assert write(file, others, calendar_uid(other))
    with pytest.raises(OthersCalendar, match="another book wrote this calendar"):
        write(file, mine, UID)
    assert file.read_bytes() == others
    assert write(file, mine, UID, replace=True)
    assert file.read_bytes() == mine
    file.write_text('{"everything": true}')
    with pytest.raises(CannotWrite, match="the file holds something else"):
        write(file, mine, UID, replace=True)


def test_a_title_cannot_make_a_file_pass_for_the_calendar_of_the_book(tmp_path: Path) -> None:
    """The UID counts where it stands as the calendar's own, not in a name, nor in an entry."""
    file = tmp_path / "plan.ics"
    other = replace(books.book(), key="aaaaaaaa-aaaa-4aaa-8aaa-aaaaaaaaaaaa")
    named = f"x\r\nUID:{UID}\r\nUID:{UID}"
    series = tuple(replace(series, name=named) for series in other.series)
    entry = next(iter(books.exported(books.book())[1].calendar))
    other = replace(other, series=series, calendar=(replace(entry, id=UID, content=entry.content),))
    write(file, books.exported(other)[0], calendar_uid(other))
    with pytest.raises(OthersCalendar):
        write(file, b"x", UID)


def test_a_cancelled_entry_leaves_after_90_days_and_is_told_higher_if_it_comes_back() -> None:
    told = books.exported(books.book())[1]
    gone = replace(told, episodes=())
    first = export_calendar(gone, books.work(), books.LATER)
    cancelled = {line.id for line in first.log if line.cancelled}
    assert cancelled
    kept = replace(gone, calendar=first.log)
    last = export_calendar(kept, books.work(), books.LATER + CANCELLED_STAYS)
    assert (last.data, last.log) == (first.data, first.log)
    later = export_calendar(kept, books.work(), books.LATER + CANCELLED_STAYS + timedelta(seconds=1))
    assert events(first.data).keys() - events(later.data).keys() == cancelled
    assert later.log == first.log
    assert later.unchanged == last.unchanged - len(cancelled)
    back = export_calendar(replace(told, calendar=later.log), books.work(), books.LATER + timedelta(days=200))
    before = {line.id: line.sequence for line in first.log}
    assert {line.id for line in back.log if line.sequence > before[line.id]} == cancelled
    assert cancelled <= events(back.data).keys()


@pytest.mark.parametrize("name", ["no/such/folder/plan.ics", ".", "a\0b", "x" * 300])
def test_a_file_that_cannot_be_written_is_told_in_a_sentence(tmp_path: Path, name: str) -> None:
    with pytest.raises(CannotWrite) as caught:
        write(tmp_path / name, b"x", UID)
    assert str(caught.value).endswith(".")
    assert "\n" not in str(caught.value)
    assert list(tmp_path.iterdir()) == []


def test_a_study_that_came_late_stands_on_the_day_it_came_out() -> None:
    """Planned for Sunday 22 March at 9, out on Friday 27 March: the same entry, on that day at the slot's time."""
    data, told = books.exported(books.book())
    late = date(2026, 3, 27)
    line = Publication("r2", "The apron", "sun", books.APRON_SLOT.day, FuzzyDate.exact(late), "apron", "hour")
    out = told.put("publications", line)
    out = out.put("episodes", replace(out.episode("apron"), finished=True, published=True))
    done = export_calendar(out, books.work(books.task(date(2026, 3, 7), 1, None)), books.LATER)
    event = events(done.data)[uid("episode:apron:slot")]
    hobart = ZoneInfo("Australia/Hobart")
    assert event["DTSTART"].dt.astimezone(hobart) == datetime(2026, 3, 27, 9, tzinfo=hobart)
    assert event["SEQUENCE"] == 1
    assert "It was planned for Sunday 22 March 2026" in str(event["DESCRIPTION"])
    # Missed first, and then out on a day that was never its slot: still the same entry.
    lost = replace(out.episode("apron"), slot=None)
    again = export_calendar(out.put("episodes", lost), books.work(), books.LATER)
    assert events(again.data)[uid("episode:apron:slot")]["DTSTART"].dt == event["DTSTART"].dt
    # A line that knows no day leaves it where it was planned.
    vague = replace(line, actual=FuzzyDate("2026-03", date(2026, 3, 1), date(2026, 3, 31), "March 2026"))
    there = export_calendar(out.put("publications", vague), books.work(), books.LATER)
    assert (
        events(there.data)[uid("episode:apron:slot")]["DTSTART"].dt
        == events(data)[uid("episode:apron:slot")]["DTSTART"].dt
    )


def test_work_never_lies_in_days_without_work() -> None:
    """The edit is worked on before and after the fortnight of July: two entries, of which neither touches it."""
    days = (date(2026, 7, 11), date(2026, 7, 12), date(2026, 7, 28))
    work = books.work(*(books.task(day, 120, Stage.EDIT) for day in days))
    data, told = books.exported(books.book(), work)
    first, second = uid("episode:apron:edit"), uid("episode:apron:edit:2")
    spans = {id: (events(data)[id]["DTSTART"].dt, events(data)[id]["DTEND"].dt) for id in (first, second)}
    assert spans == {first: (days[0], date(2026, 7, 13)), second: (days[2], date(2026, 7, 29))}
    # Once it is all before the fortnight, the second entry is cancelled; once it is done, both stay as they were.
    sooner = export_calendar(told, books.work(*(books.task(day, 120, Stage.EDIT) for day in days[:2])), books.LATER)
    assert str(events(sooner.data)[second]["STATUS"]) == "CANCELLED"
    over = told.put("episodes", replace(told.episode("apron"), done=(Stage.EDIT,)))
    kept = export_calendar(over, books.work(books.task(date(2026, 3, 7), 1, None)), books.LATER)
    assert [events(kept.data)[id].to_ical() for id in spans] == [events(data)[id].to_ical() for id in spans]
