"""One spring lived with the demo book: after every step all that speaks of dates says the same."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from demo import build
from life.agreement import check
from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.episode import Stage
from showrunner.domain.piece import Known
from showrunner.domain.slot import DarkRange, SlotRef
from showrunner.planning.aims import Aim
from showrunner.session import Session

pytestmark = pytest.mark.usefixtures("worked_out_once")
MONDAY = date(2026, 3, 2)
SPRING = 13
"""Weeks, from 2 March to 31 May."""


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
    session.apply_plan(session.plan(aim=Aim.EVEN, explained=False))


@pytest.fixture
def path(tmp_path: Path) -> Path:
    found = tmp_path / "spring.json"
    build.write(found)
    return found


@pytest.mark.slow
@pytest.mark.parametrize("odd", [0, pytest.param(1, marks=pytest.mark.long)], ids=["even weeks", "odd weeks"])
def test_every_week_of_a_spring_all_says_the_same(path: Path, tmp_path: Path, odd: int) -> None:
    for week, (today, step) in enumerate(week_by_week()):
        if step:
            with Session.open(path, today=today) as session:
                step(session)
        if week % 2 == odd:
            check(path, today, tmp_path)
