"""Every action there is, in any order: the book passes the check, is saved, and an export of it comes back the same.

`SHOWRUNNER_LONG=1000 pytest -m long tests/faults/test_every_action.py` tries 2,000 rows of them.
"""

from __future__ import annotations

import random
import shutil
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from datetime import date, time, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from effort import LONG
from workroom_books import NOON, noon, small_book

from showrunner.cli import run
from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.collection import Box, Collection, CollectionKind
from showrunner.domain.episode import Episode, Series, Stage, StageMinutes, Window
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.house import Habit, Unsure
from showrunner.domain.package import Chapter, Corrected, Heard, Package, Still
from showrunner.domain.piece import Claim, Confidence, Exposure, Feature, Known, Piece, Presence, View, Want, WantStatus
from showrunner.domain.publication import Supporter
from showrunner.domain.shoot import LogKind, Remedy, Touch
from showrunner.domain.slot import BusyDay, DarkRange, SlotRef, SlotRule
from showrunner.errors import LONGEST, ShowrunnerError
from showrunner.session import Session
from showrunner.storage.exporting import BOOK_FILE

TODAY = NOON.date()
TEXTS = (
    "sound",
    "“é”; a, b | c",
    "=1+1",
    "'x",
    "<b>&amp;",
    "a\nb",
    "\tx ",
    "[red]",
    "\u202e abc",
    "\x1b[31m",
    "日本語 😀",
)
KEPT_FACT = "has been published already"
"""A publication is a fact and may come against a promised order, which the check then tells."""


class Dice:
    """Chance values for the arguments of actions, most of which the book holds."""

    def __init__(self, seed: int) -> None:
        self.rng = random.Random(seed)
        self.book = small_book()

    def one(self, table: str) -> str:
        ids = [record.id for record in getattr(self.book, table)]
        return self.rng.choice(ids) if ids and self.rng.random() < 0.97 else "none such"

    def record(self, table: str) -> Any:
        return self.rng.choice(getattr(self.book, table))

    def text(self) -> str:
        return self.rng.choice(TEXTS)

    def day(self, weeks: int = 26) -> date:
        return TODAY + timedelta(days=self.rng.randrange(-7, 7 * weeks))

    def slot(self) -> SlotRef:
        rule = self.rng.choice(self.book.rules)
        day = self.day()
        if self.rng.random() < 0.9:
            day += timedelta(days=(rule.on(day).weekday - day.weekday()) % 7)
        return SlotRef(day, rule.id)

    def few(self, table: str) -> list[str]:
        return [self.one(table) for _ in range(self.rng.choice((1, 1, 2)))]

    def shoot(self) -> str:
        return self.one("shoots")

    def known(self) -> Known:
        return self.rng.choice(list(Known))

    def flag(self) -> bool:
        return self.rng.random() < 0.5

    def number(self, most: int) -> int:
        return self.rng.randrange(most + 1)


def _piece(d: Dice) -> Piece:
    if d.flag():
        feature = Feature(d.text(), d.text(), d.rng.choice(list(View)), presence=d.rng.choice(list(Presence)))
        old = d.record("pieces")
        return replace(
            old, notes=d.text(), features=(*old.features, feature), box=d.one("boxes"), layer=d.number(3) + 1
        )
    return Piece(f"new-{d.number(5)}", d.text(), d.one("collections"), points=(d.text(),), acquired_before=("1",))


def _episode(d: Dice) -> Episode:
    old = d.record("episodes")
    window = Window(d.day(), d.day() + timedelta(days=400), hard=d.rng.random() < 0.2)
    return replace(old, title=d.text(), notes=d.text(), done=(Stage.RESEARCH,), windows=(window,) * d.number(1))


def _package(d: Dice) -> Package:
    return Package(
        d.text(),
        d.text(),
        d.text(),
        tuple(Chapter(d.number(600), d.text(), d.text()) for _ in range(d.number(2))),
        heard=(Heard(d.text(), d.number(600)),),
        related=(d.one("episodes"),),
        stills=(Still(d.one("pieces"), d.text(), d.text(), TODAY if d.flag() else None),),
        corrected=(Corrected("1", d.text(), d.text(), TODAY),),
    )


def _rule(d: Dice) -> SlotRule:
    if d.flag():
        return replace(d.record("rules"), name=d.text(), standing_minutes=60 * d.number(5))
    return SlotRule(f"rule-{d.number(3)}", d.text(), d.number(6), time(d.number(23), 15), "Europe/Vienna", 90)


def _series(d: Dice) -> Series:
    if d.flag():
        return replace(d.record("series"), name=d.text(), target_weeks=5)
    minutes = StageMinutes(60, 0, 120, 240, 30, 30)
    return Series(f"series-{d.number(2)}", d.text(), d.one("collections"), tuple(d.few("rules")), 2, 3, 9, minutes)


def _line(d: Dice) -> dict[str, Any]:
    """What a line of a shoot's log says."""
    piece, text = d.one("pieces"), d.text()
    return d.rng.choice(
        (
            {"kind": LogKind.SAID, "text": text},
            {"kind": LogKind.PICKUP, "piece": piece, "text": text, "remedy": d.rng.choice(list(Remedy))},
            {"kind": LogKind.LEFT_OUT, "piece": piece, "text": text, "touch": d.rng.choice(list(Touch))},
        )
    )


def _placements(d: Dice) -> list[edits.Placement]:
    found = []
    for study in d.book.open_studies:
        slot = d.slot() if d.flag() else None
        found.append((study.id, study.title, study.series, study.pieces, slot))
    return found


Action = Callable[[Book, Dice], Any]
ACTIONS: dict[str, Action] = {
    "add_claim": lambda b, d: edits.add_claim(
        b,
        d.one("pieces"),
        Claim(d.text(), d.text(), d.rng.choice(list(Confidence)), d.text(), d.day()),
        supersedes=d.flag(),
    ),
    "add_exposure": lambda b, d: edits.add_exposure(
        b, d.one("pieces"), Exposure(d.day(), d.number(500), d.number(3), d.text())
    ),
    "add_filler": lambda b, d: edits.add_filler(
        b, d.text(), d.one("rules"), d.slot().day if d.flag() else None, idea_of=d.one("episodes") if d.flag() else ""
    ),
    "add_slot": lambda b, d: edits.add_slot(b, SlotRef(d.day(), d.one("rules"))),
    "begin_shoot": lambda b, d: edits.begin_shoot(b, d.few("episodes"), NOON),
    "change_rule_from": lambda b, d: edits.change_rule_from(
        b, replace(d.record("rules"), weekday=d.number(6)), d.day()
    ),
    "close_shoot": lambda b, d: edits.close_shoot(
        b, d.shoot(), NOON, TODAY, {"1": (d.number(90), 1)}, {}, d.text(), d.few("episodes")
    ),
    "discover": lambda b, d: edits.discover(
        b,
        d.shoot(),
        NOON,
        d.one("pieces"),
        d.text(),
        Confidence.PROBABLE,
        d.rng.choice(list(View)),
        d.text(),
        local_day=TODAY,
    ),
    "leave_out": lambda b, d: edits.leave_out(b, d.slot()),
    "log": lambda b, d: edits.log(b, d.shoot(), NOON + timedelta(hours=d.number(5)), **_line(d)),
    "make_study": lambda b, d: edits.make_study(b, d.few("pieces"), title=d.text() if d.flag() else None),
    "mark_shown": lambda b, d: edits.mark_shown(b, d.one("pieces"), d.known(), evidence=d.text()),
    "miss": lambda b, d: edits.miss(b, d.one("episodes")),
    "pair_studies": lambda b, d: edits.pair_studies(b, d.one("episodes"), d.one("episodes")),
    "pin_date": lambda b, d: edits.pin_date(b, d.one("episodes"), d.slot(), d.text(), today=TODAY),
    "pin_order": lambda b, d: edits.pin_order(b, d.one("episodes"), d.one("episodes"), d.text()),
    "pin_pair": lambda b, d: edits.pin_pair(b, d.one("pieces"), d.one("pieces"), d.text()),
    "place_all": lambda b, d: edits.place_all(b, _placements(d), habit=Habit(d.flag(), d.rng.choice(list(Unsure)))),
    "publish": lambda b, d: edits.publish(b, d.one("episodes"), d.day(8), d.text(), run_seconds=d.number(900)),
    "put_box": lambda b, d: edits.put_box(b, Box(d.rng.choice(("A", "B", "C é")), d.text(), d.text())),
    "put_collection": lambda b, d: edits.put_collection(
        b, Collection(d.rng.choice(("dress", "lace", "ribbons")), d.text())
    ),
    "put_dark": lambda b, d: edits.put_dark(
        b, DarkRange(f"dark-{d.number(3)}", (day := d.day()), day + timedelta(d.number(9)), d.flag(), True, d.text())
    ),
    "put_episode": lambda b, d: edits.put_episode(b, _episode(d)),
    "put_house": lambda b, d: edits.put_house(b, replace(b.house, presenter=d.text(), lead_days=d.number(4))),
    "put_package": lambda b, d: edits.put_package(b, d.one("episodes"), _package(d), run_seconds=d.number(900)),
    "put_piece": lambda b, d: edits.put_piece(b, _piece(d)),
    "put_rule": lambda b, d: edits.put_rule(b, _rule(d)),
    "put_series": lambda b, d: edits.put_series(b, _series(d)),
    "put_supporter": lambda b, d: edits.put_supporter(b, Supporter(f"s{d.number(2)}", d.text(), d.flag(), TODAY)),
    "put_work": lambda b, d: edits.put_work(
        b, d.one("episodes"), d.rng.choice([*Stage, None]), 30 * d.number(8), TODAY, today=TODAY, done=d.flag()
    ),
    "put_work_for_slot": lambda b, d: edits.put_work_for_slot(b, d.slot(), 30, TODAY, today=TODAY, done=d.flag()),
    "record_publication": lambda b, d: edits.record_publication(
        b, d.text(), d.one("rules"), d.day(1), FuzzyDate.exact(d.day(1)) if d.flag() else None, d.text()
    ),
    "remove_box": lambda b, d: edits.remove_box(b, d.one("boxes")),
    "remove_collection": lambda b, d: edits.remove_collection(b, d.one("collections")),
    "remove_busy": lambda b, d: edits.remove_busy(b, d.one("busy")),
    "remove_dark": lambda b, d: edits.remove_dark(b, d.one("dark")),
    "remove_piece": lambda b, d: edits.remove_piece(b, d.one("pieces")),
    "remove_rule": lambda b, d: edits.remove_rule(b, d.one("rules")),
    "remove_series": lambda b, d: edits.remove_series(b, d.one("series")),
    "remove_study": lambda b, d: edits.remove_study(b, d.one("episodes")),
    "remove_supporter": lambda b, d: edits.remove_supporter(b, d.one("supporters")),
    "say_kind": lambda b, d: edits.say_kind(b, d.text(), d.rng.choice(("dress", "bonnet", "shawl", d.text()))),
    "say_link": lambda b, d: edits.say_link(b, d.one("publications"), d.text()),
    "say_reason": lambda b, d: edits.say_reason(b, d.one("pins"), d.text()),
    "set_slot": lambda b, d: edits.set_slot(b, d.one("episodes"), d.slot() if d.flag() else None),
    "set_status": lambda b, d: edits.set_status(
        b, d.one("pieces"), d.rng.choice(list(WantStatus)), d.day(1), today=TODAY, paid=Decimal(d.number(90))
    ),
    "settle": lambda b, d: edits.settle(b, d.one("pieces"), d.known(), on=TODAY, how=d.text(), rests_on=d.text()),
    "split_study": lambda b, d: edits.split_study(b, d.one("episodes")),
    "take_out": lambda b, d: edits.take_out(b, d.one("pieces")),
    "take_work_back": lambda b, d: edits.take_work_back(b, d.one("episodes"), 0),
    "unpin": lambda b, d: edits.unpin(b, d.one("pins")),
    "write_condition": lambda b, d: edits.write_condition(
        b, d.shoot(), d.one("pieces"), [(d.text(), d.text())], TODAY, after=d.flag()
    ),
}
"""Every action, with arguments by chance."""


def test_no_action_is_left_out() -> None:
    assert set(ACTIONS) == set(edits.__all__) - {"Placement"}


def only_book(result: Any) -> Book:
    return result[0] if isinstance(result, tuple) else result


def first_book() -> Book:
    """The book that every row begins with: the small one, two things that are shopped for, and two busy days."""
    book = replace(small_book(), key="6f1c6f0e-5f3e-4a55-9d37-6b0f3f1b2a77")
    book = edits.put_collection(book, Collection("lace", "Lace", CollectionKind.SHOPPING, currency="EUR"))
    for id in ("w1", "w2"):
        book = edits.put_piece(book, Piece(id, f"Collar {id}", "lace", want=Want(ceiling=Decimal(50))))
    days = [TODAY + timedelta(days=ahead) for ahead in (2, 9)]
    busy = tuple(BusyDay(day.isoformat(), day, ((540, 600), (720, 780)), "dentist") for day in days)
    return book.with_table("busy", busy)


def one_row(seed: int, folder: Path, done: Counter[str]) -> None:
    """A row of actions, each saved; now and then a calendar; then the check, an export, and the import of it."""
    dice = Dice(seed)
    path = folder / "book.json"
    with Session.create(path, first_book(), now=noon) as session:
        for _ in range(dice.rng.randrange(1, 14)):
            dice.book = session.book
            name = dice.rng.choice(list(ACTIONS))
            try:
                after = session.do(name, lambda book, name=name: only_book(ACTIONS[name](book, dice)))  # type: ignore
            except ShowrunnerError as error:
                assert len(error.sentence()) <= LONGEST, f"{seed}: {name}"
                assert session.book is dice.book
                continue
            except IndexError:
                continue  # there is none to choose
            done[name] += after is not dice.book
            fresh = [fault for fault in session.check() if KEPT_FACT not in fault]
            assert not fresh, f"{seed}: {name}: {fresh}"
        if dice.rng.random() < 0.2:
            session.write_calendar(folder / "out.ics")
        faults = session.check()
        book = session.book
    with Session.open(path, write=False) as again:
        assert again.book == book, seed
    assert run(["--book", str(path), "export", str(folder / "out")]) == 0
    if faults:
        return
    assert run(["--book", str(folder / "new.json"), "import", str(folder / "out" / BOOK_FILE), "--write"]) == 0, seed
    with Session.open(folder / "new.json", write=False) as back:
        assert back.book == book, seed
    assert run(["--book", str(folder / "new.json"), "export", str(folder / "again")]) == 0
    for file in (folder / "out").iterdir():
        assert (folder / "again" / file.name).read_bytes() == file.read_bytes(), f"{seed}: {file.name}"


def rows(seeds: range, folder: Path) -> Counter[str]:
    done: Counter[str] = Counter()
    for seed in seeds:
        place = folder / str(seed)
        place.mkdir()
        one_row(seed, place, done)
        shutil.rmtree(place)
    return done


@pytest.mark.slow
def test_rows_of_actions(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert len(rows(range(12), tmp_path)) > 12


@pytest.mark.long
def test_many_rows_of_actions(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    done = rows(range(1_000, 1_000 + 2 * LONG), tmp_path)
    with capsys.disabled():
        print(f"  {sum(done.values())} actions: {dict(done)}")  # noqa: T201
    if LONG >= 400:
        assert set(done) == set(ACTIONS)
