"""Plans beside the screen: one screen at a time is at one, and what nobody waits for any more is given up."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from keys import burst, settle, text_of
from test_runout_what_ifs import beside, spacing
from textual.pilot import Pilot

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.piece import Known
from showrunner.session import PROCESSOR, Session
from showrunner.tui.app import ShowrunnerApp
from showrunner.tui.ledger import LedgerScreen
from showrunner.tui.runout import RunOutScreen
from showrunner.tui.wants import WantsScreen
from showrunner.wanted import Unwanted


class Slow:
    """Has a method of the session take until it is let go, as a plan of a large book would.

    Args:
        name: the method.
    """

    def __init__(self, name: str) -> None:
        self.go_on = threading.Event()
        self.begun: list[Book] = []
        """The books that it was asked about, in turn."""
        self.given_up = 0
        self.ended = 0
        real = getattr(Session, name)

        def slow(session: Session, *args: Any, **options: Any) -> Any:
            self.begun.append(session.book)
            try:
                for _ in range(4000):
                    if self.go_on.wait(0.005):
                        break
                    PROCESSOR()
            except Unwanted:
                self.given_up += 1
                raise
            self.ended += 1
            return real(session, *args, **options)

        self.method = slow

    async def until(self, holds: Callable[[], bool]) -> None:
        for _ in range(1000):
            if holds():
                return
            await asyncio.sleep(0.01)
        raise AssertionError(f"begun {len(self.begun)}, given up {self.given_up}, ended {self.ended}")


@pytest.fixture
def slow(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[str], Slow]]:
    made: list[Slow] = []

    def make(name: str) -> Slow:
        made.append(Slow(name))
        monkeypatch.setattr(Session, name, made[-1].method)
        return made[-1]

    yield make
    for each in made:
        each.go_on.set()


async def go_to(pilot: Pilot[int], key: str, screen: type[Any]) -> None:
    await pilot.press(key)
    await pilot.pause()
    assert isinstance(pilot.app.screen, screen)


async def looks_back(pilot: Pilot[int], slow: Callable[[str], Slow]) -> Slow:
    """Go to the Run-out, until it has its forecast and begins to hold earlier ones against the record."""
    await settle(pilot)
    looking_back = slow("backtests")
    await go_to(pilot, "4", RunOutScreen)
    await looking_back.until(lambda: len(looking_back.begun) == 1)
    return looking_back


async def test_another_screen_that_plans_takes_its_place_until_it_is_in_view_again(
    demo: ShowrunnerApp, slow: Callable[[str], Slow]
) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        looking_back = await looks_back(pilot, slow)
        headline = text_of(pilot, "#headline")
        await go_to(pilot, "5", WantsScreen)
        await looking_back.until(lambda: looking_back.given_up == 1)
        await settle(pilot)
        assert "Working out" not in text_of(pilot, "#purse")
        looking_back.go_on.set()
        await go_to(pilot, "4", RunOutScreen)
        await settle(pilot)
        assert (len(looking_back.begun), looking_back.ended) == (2, 1)
        assert text_of(pilot, "#headline") == headline
        await go_to(pilot, "5", WantsScreen)
        await settle(pilot)
        await go_to(pilot, "4", RunOutScreen)
        await settle(pilot)
        assert len(looking_back.begun) == 2, "what is finished is not begun again"


async def test_a_screen_without_plans_leaves_it_going(demo: ShowrunnerApp, slow: Callable[[str], Slow]) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        looking_back = await looks_back(pilot, slow)
        for key in ("1", "3", "question_mark", "escape"):
            await pilot.press(key)
            await pilot.pause()
        looking_back.go_on.set()
        await settle(pilot)
        await go_to(pilot, "4", RunOutScreen)
        await settle(pilot)
        assert (len(looking_back.begun), looking_back.ended, looking_back.given_up) == (1, 1, 0)


async def test_a_change_of_the_book_takes_the_place_of_what_was_worked_out(
    demo: ShowrunnerApp, slow: Callable[[str], Slow]
) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        forecast = slow("runout")
        await go_to(pilot, "4", RunOutScreen)
        await forecast.until(lambda: len(forecast.begun) == 1)
        piece = next(p.id for p in demo.session.book.pieces if p.id not in {"1"})
        demo.keep("mark", lambda book: edits.mark_shown(book, piece, Known.YES))
        await forecast.until(lambda: forecast.given_up == 1 and len(forecast.begun) == 2)
        assert forecast.begun[1] is demo.session.book
        forecast.go_on.set()
        await settle(pilot)
        assert forecast.given_up == 1
        assert "Working out" not in text_of(pilot, "#figures")


async def test_what_ifs_stay_beside_while_another_screen_plans(
    demo: ShowrunnerApp, slow: Callable[[str], Slow]
) -> None:
    async with demo.run_test(size=(120, 40)) as pilot:
        looking_back = await looks_back(pilot, slow)
        await spacing(pilot, 1, 2, 3)
        await looking_back.until(lambda: bool(beside(pilot)))
        supposed = beside(pilot)
        await go_to(pilot, "5", WantsScreen)
        await looking_back.until(lambda: looking_back.given_up == 1)
        looking_back.go_on.set()
        await go_to(pilot, "4", RunOutScreen)
        await settle(pilot)
        assert beside(pilot) == supposed


async def test_a_what_if_that_was_asked_for_is_worked_out_though_its_screen_is_left(
    demo: ShowrunnerApp, slow: Callable[[str], Slow]
) -> None:
    async with demo.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        await go_to(pilot, "4", RunOutScreen)
        await settle(pilot)
        forecast = slow("runout")
        await spacing(pilot, 1, 2, 3)
        await forecast.until(lambda: len(forecast.begun) == 1)
        await go_to(pilot, "5", WantsScreen)
        await forecast.until(lambda: len(forecast.begun) == 2)
        forecast.go_on.set()
        await settle(pilot)
        await go_to(pilot, "4", RunOutScreen)
        await settle(pilot)
        assert forecast.given_up == 0
        assert beside(pilot)


async def test_a_screen_that_was_left_before_it_began_leaves_the_plan_to_the_one_in_view(
    demo: ShowrunnerApp, slow: Callable[[str], Slow]
) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await go_to(pilot, "4", RunOutScreen)
        await settle(pilot)
        left = demo.screen
        assert isinstance(left, RunOutScreen)
        handover = slow("handover")
        await go_to(pilot, "5", WantsScreen)
        await handover.until(lambda: len(handover.begun) == 1)
        left.think_soon()
        await handover.until(lambda: left.unfinished)
        handover.go_on.set()
        await settle(pilot)
        assert (len(handover.begun), handover.given_up) == (1, 0)
        assert "Working out" not in text_of(pilot, "#purse")
        await go_to(pilot, "4", RunOutScreen)
        await settle(pilot)
        assert not left.unfinished
        assert len(handover.begun) == 2, "it is begun once it is in view again"


async def test_keys_that_flash_through_the_screens_end_with_a_finished_one(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await burst(pilot, *"45242545")
        await settle(pilot)
        assert isinstance(demo.screen, WantsScreen)
        assert "Working out" not in text_of(pilot, "#purse")
        await go_to(pilot, "4", RunOutScreen)
        await settle(pilot)
        assert "Working out" not in text_of(pilot, "#figures")
        assert demo.screen.found is not None
        await go_to(pilot, "2", LedgerScreen)
        await settle(pilot)
        assert demo.screen.standing is not None


async def test_a_window_is_left_while_a_plan_is_worked_out(demo: ShowrunnerApp, slow: Callable[[str], Slow]) -> None:
    forecast = slow("runout")
    async with demo.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await go_to(pilot, "4", RunOutScreen)
        await forecast.until(lambda: len(forecast.begun) == 1)
        await pilot.press("q")
    await forecast.until(lambda: forecast.given_up == len(forecast.begun))
    assert forecast.ended == 0
