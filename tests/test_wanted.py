"""What nobody waits for any more is given up, and leaves nothing behind."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial
from pathlib import Path

import pytest

from showrunner import wanted
from showrunner.demo_book import copy_demo
from showrunner.domain.house import Unsure
from showrunner.planning.results import Plan
from showrunner.session import Session
from showrunner.wanted import Unwanted, heeding, while_wanted


def test_what_is_not_asked_about_goes_on() -> None:
    wanted.check()
    assert heeding(lambda: 3.5)() == 3.5


def test_it_goes_on_as_long_as_it_is_wanted() -> None:
    left = [True, True, False]
    seconds = heeding(lambda: 2.0)
    with while_wanted(lambda: left.pop(0)):
        assert seconds() == 2.0
        wanted.check()
        with pytest.raises(Unwanted):
            seconds()
    assert seconds() == 2.0


def test_one_within_another_is_asked_for_itself() -> None:
    with while_wanted(lambda: False):
        with while_wanted(lambda: True):
            wanted.check()
        with pytest.raises(Unwanted):
            wanted.check()


def test_another_thread_goes_on() -> None:
    told: list[float] = []
    with while_wanted(lambda: False):
        thread = threading.Thread(target=lambda: told.append(heeding(lambda: 1.0)()))
        thread.start()
        thread.join()
    assert told == [1.0]


LONG: dict[str, Callable[[Session], object]] = {
    "plan": lambda session: session.plan(unsure=Unsure.SHOWN, time_limit=20.0),
    "dates alone": lambda session: session.plan(explained=False, time_limit=20.0),
    "present": lambda session: session.present(),
    "standing": lambda session: session.standing(time_limit=20.0),
    "choices": lambda session: session.choices(time_limit=20.0),
    "run-out": lambda session: session.runout(),
    "handover": lambda session: session.handover("blocks", time_limit=20.0),
}
"""What the screens work out beside them."""


def without_its_seconds(found: object) -> object:
    """A result but for how long it took."""
    return replace(found, solver_seconds=0.0) if isinstance(found, Plan) else found


@pytest.mark.parametrize("name", LONG)
def test_a_plan_is_given_up_wherever_it_is_and_worked_out_anew(name: str, tmp_path: Path) -> None:
    """It is stopped at some of the times it looks at its clock; then the same is asked again, to its end."""
    copy_demo(tmp_path / "book.json")
    whole, looks = None, 0

    def count() -> bool:
        nonlocal looks
        looks += 1
        return True

    for _ in range(2):  # the second time, some of what it rests on is at hand
        looks = 0
        with Session.open(tmp_path / "book.json") as session, while_wanted(count):
            whole = without_its_seconds(LONG[name](session))
    assert looks > 1
    for stop in sorted({1, 2, looks // 3 + 1, looks - 1, looks}):
        with Session.open(tmp_path / "book.json") as session:
            left = iter(range(stop - 1))
            with pytest.raises(Unwanted), while_wanted(partial(wants_another, left)):
                LONG[name](session)
            assert without_its_seconds(LONG[name](session)) == whole


def wants_another(left: Iterator[int]) -> bool:
    """Whether there is one left, which it takes."""
    return next(left, None) is not None


def test_what_is_at_hand_is_given_though_nobody_waits(tmp_path: Path) -> None:
    copy_demo(tmp_path / "book.json")
    with Session.open(tmp_path / "book.json") as session:
        found = session.work()
        with while_wanted(lambda: False):
            assert session.work() is found
            with pytest.raises(Unwanted):
                session.work(horizon_weeks=3)
