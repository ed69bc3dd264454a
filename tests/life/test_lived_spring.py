"""One spring lived with the demo book: after every step all that speaks of dates says the same."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import icalendar
import pytest

from demo import build
from life.answers import command
from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.episode import Stage
from showrunner.domain.piece import Known
from showrunner.domain.slot import DarkRange, SlotRef
from showrunner.session import Session
from showrunner.tui.weeks import next_step, weeks

HOBART = ZoneInfo("Australia/Hobart")
MONDAY = date(2026, 3, 2)
SPRING = 13
"""Weeks, from 2 March to 31 May."""


def told(path: Path, today: date, *arguments: str) -> Any:
    """What a command prints as JSON."""
    code, out, err = command("--book", path, "--today", today.isoformat(), *arguments, "--json")
    assert code == 0, err
    return json.loads(out)


def dates_of(path: Path, today: date, folder: Path, whole: Any) -> dict[str, dict[str, str]]:
    """The date of every open study from today on, as each part of the program says it."""
    with Session.open(path, today=today) as session:
        book = session.book
        found = {
            "book": {s.id: s.slot.day.isoformat() for s in book.open_studies if s.slot and s.slot.day >= today},
            "ledger": {item.id: item.slot.day.isoformat() for item in session.present()},
        }
        rows = weeks(book, today, session.work())
        cells = [cell for week in rows for cell in week.cells if cell.slot and cell.slot.day >= today]
        found["weeks"] = {cell.episode: cell.slot.day.isoformat() for cell in cells if cell.slot and cell.episode}
        studies = {study.id for study in book.open_studies}
        found["weeks"] = {id: day for id, day in found["weeks"].items() if id in studies}
        titles = {study.title: study.id for study in book.open_studies}
    plan = {item["id"]: item["slot"] for item in whole["plan"]["studies"]}
    found["report"] = {id: day for id, day in plan.items() if id in found["book"]}
    found["work"] = {}
    for task in whole["work"]["tasks"]:
        if task["episode"] in found["book"]:
            found["work"].setdefault(task["episode"], task["slot"]["day"])
    feed = folder / "dates.ics"
    assert command("--book", path, "--today", today.isoformat(), "calendar", feed)[0] == 0
    found["calendar"] = {}
    for event in icalendar.Calendar.from_ical(feed.read_bytes()).walk("VEVENT"):
        start = event.decoded("DTSTART")
        if hasattr(start, "hour") and str(event.get("STATUS", "")) != "CANCELLED":
            id = next((id for title, id in titles.items() if str(event["SUMMARY"]).endswith(title)), "")
            if id in found["book"]:
                found["calendar"][id] = start.astimezone(HOBART).date().isoformat()
    return found


def check(path: Path, today: date, folder: Path) -> None:
    """Every part says the same dates; the forecast holds the end of them; the hours missing are told alike."""
    whole, end = told(path, today, "report"), told(path, today, "runout", "--slip-rate", "0")
    found = dates_of(path, today, folder, whole)
    late = found["work"].items() - found["book"].items()
    assert not late, (today, late)
    for where in ("ledger", "weeks", "report", "calendar"):
        assert found[where] == found["book"], (today, where)
    plan = whole["plan"]
    if not plan["breaks_rules"]:
        last = max((study["slot"] for study in plan["studies"]), default=None)
        assert last in {day["date"] for day in end["end"]}, (today, last, end["end"])
    assert whole["work"] == told(path, today, "work")
    check_hours(path, today, whole["work"])
    assert whole["runout"]["pieces_left"] == end["pieces_left"]


def check_hours(path: Path, today: date, work: Any) -> None:
    """The Ledger marks what the work says is short, with its hours, and nothing else; its banner tells the first."""
    with Session.open(path, today=today) as session:
        found = session.work()
        rows = weeks(session.book, today, found)
        first = next_step(session.book, today, found)
    short: dict[str, float] = {}
    for item in work["shortfalls"]:
        day = date.fromisoformat(item["slot"]["day"])
        monday = (day - timedelta(day.weekday())).isoformat()
        short[monday] = max(short.get(monday, 0), item["hours"])
    marked = {week.monday.isoformat(): week.short / 60 for week in rows if week.short}
    assert marked == {monday: hours for monday, hours in short.items() if hours}, today
    if work["shortfalls"]:
        assert first.trouble
    this_week = next(week for week in rows if week.monday <= today <= week.monday + timedelta(6) and not week.part)
    if not work["shortfalls"] and this_week.spare is not None and work["slack_hours"] is not None:
        assert this_week.spare <= 60 * work["slack_hours"]


def week_by_week() -> Iterator[tuple[date, Callable[[Session], object] | None]]:
    """The days of the spring with what is done on each."""
    days = [MONDAY + timedelta(weeks=week) for week in range(SPRING)]
    steps: dict[date, Callable[[Session], object]] = {
        days[1]: lambda s: (work(s, "apron", Stage.RESEARCH, 120), work(s, "apron", Stage.RESEARCH, 60), bank(s)),
        days[2]: tick("apron", Stage.RESEARCH, Stage.CONDITION, Stage.SHOOT, Stage.EDIT, Stage.CAPTIONS, Stage.PACKAGE),
        days[4]: publish_late("apron", date(2026, 3, 29)),
        days[5]: lambda s: s.do(
            "settle", lambda b: edits.settle(b, jabot(b), Known.YES, on=s.today, how="seen in the reel")
        ),
        days[6]: lambda s: s.do("a slot on Saturdays", saturdays),
        days[7]: lambda s: s.do("a piece more", one_more),
        days[8]: lambda s: s.do("a trip", lambda b: edits.put_dark(b, TRIP)),
        days[9]: replan,
        days[10]: lambda s: s.do("a piece less", lambda b: edits.remove_study(b, "dance-frock")),
    }
    for day in days:
        yield day, steps.get(day)


TRIP = DarkRange("trip", date(2026, 5, 4), date(2026, 5, 31), no_work=True, no_publication=True, reason="a trip")


def work(session: Session, study: str, stage: Stage, minutes: int) -> None:
    """Put hours down as worked the day before, take them back, and put them down again."""
    day = session.today - timedelta(1)

    def put(book: Book) -> Book:
        return edits.put_work(book, study, stage, minutes, day, today=session.today)

    session.do("worked", put)
    at = len(session.book.episode(study).worked) - 1
    session.do("taken back", lambda book: edits.take_work_back(book, study, at))
    session.do("worked", put)


def bank(session: Session) -> None:
    """Half of the work on the feature of 29 March, ahead of its turn."""
    slot = SlotRef(date(2026, 3, 29), "sunday")
    session.do("ahead", lambda b: edits.put_work_for_slot(b, slot, 120, session.today, today=session.today))


def tick(study: str, *stages: Stage) -> Callable[[Session], object]:
    def edit(book: Book) -> Book:
        return edits.put_episode(book, replace(book.episode(study), done=stages))

    return lambda session: session.do("tick", edit)


def publish_late(study: str, day: date) -> Callable[[Session], object]:
    return lambda session: session.do("publish", lambda book: edits.publish(book, study, day, today=session.today))


def jabot(book: Book) -> str:
    return next(piece.id for piece in book.pieces if "jabot" in piece.name)


def saturdays(book: Book) -> Book:
    rule = replace(book.rule("sunday"), weekday=5)
    return edits.change_rule_from(book, rule, date(2026, 4, 20))


def one_more(book: Book) -> Book:
    like = next(piece for piece in book.pieces if piece.shown.known is Known.NO)
    return edits.put_piece(book, replace(like, id="900", name="Holland apron"))


def replan(session: Session) -> None:
    session.apply_plan(session.plan(keep=True, even=True))


@pytest.fixture
def path(tmp_path: Path) -> Path:
    found = tmp_path / "spring.json"
    build.write(found)
    return found


def test_every_week_of_a_spring_all_says_the_same(path: Path, tmp_path: Path) -> None:
    for today, step in week_by_week():
        if step:
            with Session.open(path, today=today) as session:
                step(session)
        check(path, today, tmp_path)
