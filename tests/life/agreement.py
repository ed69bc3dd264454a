"""Whether all that speaks of dates, hours and counts says the same of one book on one day."""

from __future__ import annotations

import json
from datetime import date, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import icalendar

from life.answers import command
from showrunner.ical.entry import make_uid
from showrunner.session import Session
from showrunner.tui.weeks import next_step, weeks


def told(path: Path, today: date, *arguments: str) -> Any:
    """What a command prints as JSON."""
    code, out, err = command("--book", path, "--today", today.isoformat(), *arguments, "--json")
    assert code == 0, err
    return json.loads(out)


def dates_of(path: Path, today: date, folder: Path, whole: Any) -> dict[str, dict[str, str]]:
    """The date of every open study from today on, as each part of the program says it."""
    with Session.open(path, today=today) as session:
        book = session.book
        planned = {s.id: s.slot for s in book.open_studies if s.slot and s.slot.day >= today}
        found = {
            "book": {id: slot.day.isoformat() for id, slot in planned.items()},
            "ledger": {item.id: item.slot.day.isoformat() for item in session.present()},
        }
        cells = [cell for week in weeks(book, today, session.work()) for cell in week.cells if cell.slot]
        found["weeks"] = {
            cell.episode: cell.slot.day.isoformat() for cell in cells if cell.slot and cell.episode in planned
        }
    plan = {item["id"]: item["slot"] for item in whole["plan"]["studies"]}
    found["report"] = {id: day for id, day in plan.items() if id in planned}
    found["work"] = {}
    for task in whole["work"]["tasks"]:
        if task["episode"] in planned:
            found["work"].setdefault(task["episode"], task["slot"]["day"])
    feed = folder / "dates.ics"
    feed.unlink(missing_ok=True)  # an undone import leaves a book with another key, which does not replace it
    assert command("--book", path, "--today", today.isoformat(), "calendar", feed)[0] == 0
    uids = {make_uid(book.key, f"episode:{id}:slot"): id for id in planned}
    found["calendar"] = {}
    for event in icalendar.Calendar.from_ical(feed.read_bytes()).walk("VEVENT"):
        if str(event.get("STATUS", "")) != "CANCELLED" and (id := uids.get(str(event["UID"]))):
            zone = ZoneInfo(book.rule(planned[id].rule).on(planned[id].day).zone)
            found["calendar"][id] = event.decoded("DTSTART").astimezone(zone).date().isoformat()
    return found


def check(path: Path, today: date, folder: Path) -> None:
    """Every part says the same dates; the forecast holds the end of them; the hours missing are told alike."""
    whole = told(path, today, "report")
    found = dates_of(path, today, folder, whole)
    late = found["work"].items() - found["book"].items()
    assert not late, (today, late)
    for where in ("ledger", "weeks", "report", "calendar"):
        assert found[where] == found["book"], (today, where)
    if not whole["plan"]["breaks_rules"]:
        check_gaps(whole["plan"]["studies"], today)
    assert whole["work"] == told(path, today, "work")
    check_hours(path, today, whole["work"])
    with Session.open(path, today=today) as session:
        series = [one.id for one in session.book.series]
    for one in series:
        end = told(path, today, "runout", "--slip-rate", "0", "--series", one)
        if whole["runout"] and whole["runout"]["series"] == one:
            assert whole["runout"]["pieces_left"] == end["pieces_left"], today
        plan = whole["plan"]
        mine = [study["slot"] for study in plan["studies"] if study["series"] == one]
        waits = [study for study in plan["unplaced"] if study["series"] == one]
        if mine and not plan["breaks_rules"] and not waits:
            assert max(mine) in {day["date"] for day in end["end"]}, (today, one, mine, end["end"])


def check_gaps(studies: Any, today: date) -> None:
    """Each study is as far from the one above it in its series as its gap says, and hours needed never fall."""
    before: dict[str, date] = {}
    for study in studies:
        day = date.fromisoformat(study["slot"])
        if study["series"] in before:
            assert round(7 * study["gap_weeks"]) == (day - before[study["series"]]).days, (today, study["id"])
        before[study["series"]] = day
    needed = [study["hours_needed"] for study in sorted(studies, key=lambda study: study["slot"])]
    assert needed == sorted(needed), (today, needed)


def check_hours(path: Path, today: date, work: Any) -> None:
    """The Ledger marks what the work says is short, with its hours, and nothing else; its banner tells trouble.

    Where no hours of work were told yet, everything is short, and the banner asks for them.
    """
    with Session.open(path, today=today) as session:
        found = session.work()
        rows = weeks(session.book, today, found)
        first = next_step(session.book, today, found)
        asks = not any(session.book.house.work_minutes)
        due = [e for e in session.book.episodes if e.slot and not e.published and e.slot.day == today]
    short: dict[str, float] = {}
    for item in work["shortfalls"]:
        day = date.fromisoformat(item["slot"]["day"])
        monday = (day - timedelta(day.weekday())).isoformat()
        short[monday] = max(short.get(monday, 0), item["hours"])
    marked = {week.monday.isoformat(): week.short / 60 for week in rows if week.short}
    asked = {monday: hours for monday, hours in short.items() if hours}
    assert marked.keys() == asked.keys(), today
    assert all(abs(marked[monday] - asked[monday]) < 0.01 for monday in asked), (today, marked, asked)
    if work["shortfalls"] and not due:
        assert first.trouble or asks, today
    this_week = next((w for w in rows if w.monday <= today <= w.monday + timedelta(6) and not w.part), None)
    if this_week and not work["shortfalls"] and this_week.spare is not None and work["slack_hours"] is not None:
        assert this_week.spare <= 60 * work["slack_hours"] + 1
