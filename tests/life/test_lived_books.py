"""Random books lived for some weeks, whatever an owner does in any order: all that speaks of them says the same."""

from __future__ import annotations

import json
from contextlib import suppress
from dataclasses import replace
from datetime import timedelta
from functools import partial
from pathlib import Path
from random import Random

import pytest
from effort import seeds

from life.agreement import check
from life.answers import command
from life.random_books import TODAY, question
from showrunner.domain import edits
from showrunner.domain.episode import Episode, Stage
from showrunner.domain.piece import Known
from showrunner.domain.slot import DarkRange, SlotRef
from showrunner.errors import ShowrunnerError
from showrunner.planning.aims import Aim
from showrunner.session import Session
from showrunner.tui.work_view import worked

WEEKS = 5
pytestmark = pytest.mark.usefixtures("worked_out_once")


def brought_in(seed: int, folder: Path) -> Path:
    """A book file with the random book of a seed, without its promises if they contradict each other."""
    source, path = folder / "book-in.json", folder / f"book-{seed}.json"
    book = question(seed, extra_work=True).book
    for pins in (book["pins"], []):
        source.write_text(json.dumps(book | {"pins": pins}))
        code, _, err = command("--book", path, "--today", TODAY.isoformat(), "import", source, "--write")
        if code == 0:
            return path
    raise AssertionError(err)


def due(session: Session) -> list[Episode]:
    """Open episodes whose slot has come."""
    return [e for e in session.book.episodes if e.slot and not e.published and e.slot.day <= session.today]


def publish(rng: Random, session: Session) -> None:
    for episode in due(session):
        assert episode.slot
        day = min(session.today, episode.slot.day + timedelta(rng.choice((0, 0, 1, 3))))
        session.do("publish", partial(edits.publish, episode=episode.id, on=day, today=session.today))


def miss(rng: Random, session: Session) -> None:
    if found := due(session):
        session.do("miss", lambda b: edits.miss(b, rng.choice(found).id, today=session.today))


def work(rng: Random, session: Session) -> None:
    for task in session.work().tasks[: rng.choice((1, 3, 6))]:
        day = session.today - timedelta(rng.choice((0, 0, 1, 2)))
        minutes = rng.choice((task.minutes, max(1, task.minutes // 2)))
        put = partial(worked, task=task, minutes=minutes, on=day, today=session.today, done=False)
        with suppress(ShowrunnerError):  # two rows of one slot: it has its name by now
            session.do("work", put)


def take_back(rng: Random, session: Session) -> None:
    worked = [e for e in session.book.episodes if e.worked and not e.published]
    if worked:
        session.do("back", lambda b: edits.take_work_back(b, rng.choice(worked).id, 0))


def finish(rng: Random, session: Session) -> None:
    if studies := session.book.open_studies:
        study = replace(rng.choice(studies), done=tuple(Stage), finished=True)
        session.do("finish", lambda b: edits.put_episode(b, study))


def plan(rng: Random, session: Session) -> None:
    session.apply_plan(session.plan(aim=rng.choice(tuple(Aim)), horizon_weeks=30, explained=False))


def move(rng: Random, session: Session) -> None:
    studies = [s for s in session.book.open_studies if s.series]
    if studies:
        study = rng.choice(studies)
        there = [place.slot for place in session.places(study.id) if place.against is None]
        if there:
            slot = rng.choice(there[:12])
            session.do("move", lambda b: edits.set_slot(b, study.id, slot))


def away(rng: Random, session: Session) -> None:
    first = session.today + timedelta(rng.randint(1, 30))
    dark = DarkRange(
        f"away-{first}", first, first + timedelta(rng.randint(0, 20)), rng.random() < 0.7, rng.random() < 0.5
    )
    session.do("away", lambda b: edits.put_dark(b, dark))


def back(rng: Random, session: Session) -> None:
    if session.book.dark:
        session.do("back", lambda b: edits.remove_dark(b, rng.choice(b.dark).id))


def settle(rng: Random, session: Session) -> None:
    unsure = [p.id for p in session.book.pieces if p.shown.known is Known.UNSURE]
    if unsure:
        known = rng.choice((Known.YES, Known.NO))
        session.do("settle", lambda b: edits.settle(b, rng.choice(unsure), known, on=session.today, how="looked"))


def drop(rng: Random, session: Session) -> None:
    if studies := session.book.open_studies:
        session.do("drop", lambda b: edits.remove_study(b, rng.choice(studies).id))


def once(rng: Random, session: Session) -> None:
    if not session.book.rules:
        return
    rule = rng.choice(session.book.rules)
    day = session.today + timedelta(rng.randint(1, 40))
    if rng.random() < 0.5:
        session.do("more", lambda b: edits.add_slot(b, SlotRef(day, rule.id)))
    else:
        day += timedelta((rule.on(day).weekday - day.weekday()) % 7)
        session.do("out", lambda b: edits.leave_out(b, SlotRef(day, rule.id)))


def change(rng: Random, session: Session) -> None:
    if not session.book.rules:
        return
    rule = rng.choice(session.book.rules)
    other = replace(rule, weekday=rng.randrange(7), standing_minutes=rng.choice((0, 60, 240)))
    since = session.today + timedelta(rng.randint(1, 21))
    session.do("change", lambda b: edits.change_rule_from(b, other, since))


def undo(rng: Random, session: Session) -> None:
    session.undo()


DEEDS = (
    publish,
    publish,
    work,
    work,
    take_back,
    miss,
    finish,
    plan,
    plan,
    move,
    away,
    back,
    settle,
    drop,
    once,
    change,
    undo,
)


@pytest.mark.slow
@pytest.mark.parametrize("seed", seeds(500, 524))
def test_whatever_is_done_all_says_the_same(seed: int, tmp_path: Path) -> None:
    path = brought_in(seed, tmp_path)
    rng, told = Random(f"lived-{seed}"), []
    for week in range(WEEKS):
        today = TODAY + timedelta(7 * week + rng.randint(0, 6))
        with Session.open(path, today=today) as session:
            for deed in rng.sample(DEEDS, 3):
                told.append(f"{today} {deed.__name__}")
                with suppress(ShowrunnerError):
                    deed(rng, session)
        try:
            check(path, today, tmp_path)
        except AssertionError as error:
            raise AssertionError(f"{seed}, after {told}: {error}") from error
