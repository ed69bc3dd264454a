"""One press is one press: held keys and double presses count once, by a clock that the tests move."""

from __future__ import annotations

import pytest
from keys import Keys, burst, text_of
from test_set_up import begin

from showrunner.domain.shoot import LogKind
from showrunner.tui.app import ShowrunnerApp
from showrunner.tui.set_up_dialogs import ConditionDialog
from showrunner.tui.steady import Steady


def counted(presses: list[tuple[str, float]]) -> int:
    """How many of these presses count."""
    steady = Steady()
    return sum(not steady.repeats(key, at, counts=True) for key, at in presses)


def test_twice_within_half_a_second_counts_once() -> None:
    assert counted([("space", 10.0), ("space", 10.49)]) == 1
    assert counted([("space", 10.0), ("space", 10.5)]) == 2
    assert counted([("space", 10.0), ("s", 10.1)]) == 2
    assert counted([("space", 10.0), ("s", 10.1), ("space", 10.2)]) == 3


def test_a_key_held_counts_once_however_long() -> None:
    assert counted([("space", 10 + n / 30) for n in range(300)]) == 1
    assert counted([*(("space", 10 + n / 30) for n in range(300)), ("space", 21.0)]) == 2


def test_what_does_nothing_that_counts_may_be_held() -> None:
    steady = Steady()
    assert not any(steady.repeats("down", 10 + n / 30, counts=False) for n in range(30))
    assert not steady.repeats("f", 20.0, counts=True)
    assert steady.repeats("f", 20.1, counts=False)  # the key that opened a form is not typed into it
    assert not steady.repeats("x", 20.2, counts=False)
    assert not steady.repeats("f", 20.3, counts=False)


class Presses:
    """When keys are pressed: the test says."""

    def __init__(self, app: ShowrunnerApp, monkeypatch: pytest.MonkeyPatch, gap: float) -> None:
        self.at, self.gap = 100.0, gap
        monkeypatch.setattr(ShowrunnerApp, "pressed_at", lambda *_: self.next())

    def next(self) -> float:
        self.at += self.gap
        return self.at


async def laid_out(pilot: Keys) -> None:
    """The shoot of the apron, its condition put down, the first shot next."""
    await begin(pilot)
    await pilot.press("space", "space", "a")
    await pilot.pause()
    assert "orchard stamp" in text_of(pilot, "#big")


@pytest.mark.slow
@pytest.mark.parametrize("key", ["pagedown", "space"])
async def test_ten_presses_in_half_a_second_do_one_thing(
    demo: ShowrunnerApp, monkeypatch: pytest.MonkeyPatch, key: str
) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await laid_out(pilot)
        before = len(demo.session.book.log)
        presses = Presses(demo, monkeypatch, 0.05)
        await burst(pilot, *[key] * 10)
        assert [line.kind for line in demo.session.book.log[before:]] == [LogKind.DONE]
        presses.gap = 0.6
        await pilot.press(key)
        await pilot.pause()
        assert len(demo.session.book.log) == before + 2


async def test_ten_presses_well_apart_are_ten(demo: ShowrunnerApp, monkeypatch: pytest.MonkeyPatch) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await laid_out(pilot)
        before = len(demo.session.book.log)
        Presses(demo, monkeypatch, 0.51)
        await burst(pilot, *["b"] * 10)
        assert len(demo.session.book.log) == before + 10


@pytest.mark.slow
async def test_arrow_keys_held_move_on_and_typing_stays_whole(
    demo: ShowrunnerApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await laid_out(pilot)
        Presses(demo, monkeypatch, 0.03)
        table = demo.screen.query_one("#points")
        await burst(pilot, "down", "down")
        assert table.cursor_row == 2  # type: ignore[attr-defined]
        await burst(pilot, "p", *"heel root", "enter")
        assert demo.session.book.log[-1].text == "heel root"


@pytest.mark.slow
async def test_two_spaces_at_once_never_answer_the_condition(
    demo: ShowrunnerApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await begin(pilot)
        await pilot.press("space")
        Presses(demo, monkeypatch, 1.0)
        await burst(pilot, "space", "space", "space")
        assert isinstance(demo.screen, ConditionDialog)
        assert not [e for e in demo.session.book.piece("29").condition if e.shoot]
        await pilot.press("full_stop")
        await pilot.pause()
        assert [(e.place, e.text) for e in demo.session.book.piece("29").condition if e.shoot] == [("all", "sound")]


async def test_elsewhere_keys_may_come_as_fast_as_they_like(
    demo: ShowrunnerApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        Presses(demo, monkeypatch, 0.01)
        await burst(pilot, "3", "space", "space", "space")
        await pilot.pause()
        assert demo.screen.chosen == ["apron"]  # type: ignore[attr-defined]
