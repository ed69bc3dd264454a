"""What is done while nobody presses a key."""

from __future__ import annotations

import gc
import platform
import subprocess
import sys
from collections.abc import Callable, Iterator
from types import SimpleNamespace

import pytest
from keys import settle
from rich.cells import cached_cell_len
from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget

from showrunner.tui import rest
from showrunner.tui.app import ShowrunnerApp
from showrunner.tui.base import BookScreen
from showrunner.tui.lines import RowTable
from showrunner.tui.rest import (
    COLLECT_AFTER,
    LATER,
    MANY,
    MUCH,
    PAUSE_SECONDS,
    REST_SECONDS,
    Rest,
    put_away,
    remembered,
    since_all_was_looked_at,
    that_remember,
)


class Clock:
    """A clock that is set by hand."""

    def __init__(self) -> None:
        self.now = 100.0

    def __call__(self) -> float:
        return self.now


class Done:
    """What was done, in turn: a module by name, or the putting away of garbage."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.told: list[str] = []
        self.new = 0
        """New objects."""
        self.remembered = 0
        """Answers that are remembered."""
        monkeypatch.setattr(rest, "import_module", self.told.append)
        monkeypatch.setattr(rest, "settle_down", lambda: self.told.append("kept"))
        monkeypatch.setattr(rest, "that_remember", lambda: [self])
        monkeypatch.setattr(rest, "since_all_was_looked_at", lambda: self.new)
        monkeypatch.setattr(rest, "give_back", lambda: self.told.append("given back"))
        monkeypatch.setattr(rest.gc, "collect", lambda: self.told.append("put away"))

    def let_go(self) -> None:
        self.told.append("let go")

    def cache_info(self) -> SimpleNamespace:
        return SimpleNamespace(currsize=self.remembered)

    def cache_clear(self) -> None:
        self.told.append("forgotten")

    def take(self) -> list[str]:
        told, self.told[:] = [*self.told], []
        return told


@pytest.fixture
def done(monkeypatch: pytest.MonkeyPatch) -> Done:
    return Done(monkeypatch)


@pytest.fixture
def own_collecting() -> Iterator[None]:
    """How garbage is looked for is set back afterwards."""
    before = gc.get_threshold()
    yield
    gc.set_threshold(*before)


def test_one_thing_at_a_time_is_loaded_once_no_key_came_for_a_while(done: Done) -> None:
    clock = Clock()
    resting = Rest(clock)
    clock.now += REST_SECONDS - 0.01
    assert not resting.look(done.let_go, alone=True)
    assert done.take() == []
    clock.now += 0.01
    assert resting.look(done.let_go, alone=True)
    assert done.take() == [LATER[0]]
    resting.disturbed()
    assert not resting.look(done.let_go, alone=True)
    clock.now += REST_SECONDS
    for name in LATER[1:-1]:
        assert resting.look(done.let_go, alone=False)
        assert done.take() == [name]
    assert not resting.look(done.let_go, alone=False), "nothing more is to be loaded"
    assert done.take() == [LATER[-1]]


def test_what_stands_once_all_is_loaded_stays_but_for_a_dialog(done: Done) -> None:
    clock = Clock()
    resting = Rest(clock)
    resting.later.clear()
    clock.now = resting.since + REST_SECONDS
    assert not resting.look(done.let_go, alone=False)
    assert done.take() == []
    resting.disturbed()
    assert not resting.look(done.let_go, alone=True)
    assert done.take() == []
    clock.now += REST_SECONDS
    for told in (["put away", "kept"], []):
        assert not resting.look(done.let_go, alone=True)
        assert done.take() == told


def test_garbage_is_put_away_in_a_pause_if_much_is_new(done: Done) -> None:
    clock = Clock()
    resting = Rest(clock)
    for loaded in (False, True):
        if loaded:
            resting.later.clear()
        clock.now = 0.0
        resting.disturbed()
        for pause, new, told in (
            (PAUSE_SECONDS, MUCH - 1, []),
            (PAUSE_SECONDS - 0.01, MUCH, []),
            (PAUSE_SECONDS, MUCH, ["let go", "put away", "given back"]),
        ):
            done.new = new
            clock.now = pause
            assert not resting.look(done.let_go, alone=True)
            assert done.take() == told


def test_answers_are_forgotten_in_a_pause_if_many_are_remembered_or_much_is_new(done: Done) -> None:
    clock = Clock()
    resting = Rest(clock)
    resting.later.clear()
    clock.now = resting.since + REST_SECONDS
    resting.look(done.let_go, alone=True)
    assert done.take() == ["put away", "kept"]
    clock.now = 0.0
    resting.disturbed()
    away = ["let go", "forgotten", "put away", "given back"]
    for quiet, answers, new, told in (
        (PAUSE_SECONDS - 0.01, MANY, 0, []),
        (PAUSE_SECONDS, MANY - 1, MUCH - 1, []),
        (PAUSE_SECONDS, MANY, 0, away),
        (PAUSE_SECONDS, 0, MUCH, away),
    ):
        done.remembered, done.new = answers, new
        clock.now = quiet
        assert not resting.look(done.let_go, alone=True)
        assert done.take() == told


def test_the_functions_that_remember_are_those_that_forget_the_oldest() -> None:
    """Whether plain, of an object or of a class. What remembers each answer forever has only a few."""
    found = that_remember()
    assert {cached_cell_len, Region.intersection, Strip.render_ansi.__func__} <= set(found)  # type: ignore[attr-defined]
    assert len({id(each) for each in found}) == len(found)
    assert all(each.cache_info().maxsize for each in found)


def test_what_was_remembered_is_gone_once_it_is_put_away() -> None:
    answers = that_remember()
    Region(1, 2, 3, 4).intersection(Region(2, 3, 4, 5))
    before = remembered(answers)
    Region(1, 2, 3, 4).intersection(Region(2, 3, 4, 6))
    assert remembered(answers) == before + 1
    put_away(answers)
    assert remembered(answers) == 0


@pytest.mark.parametrize(
    ("counts", "new"),
    [((0, 0, 0), 0), ((7, 0, 0), 7), ((7, 2, 0), 20_007), ((7, 2, 1), 90_007), ((7, 2, 3), 230_007)],
)
def test_new_objects_are_counted_by_how_often_some_were_looked_at(
    counts: tuple[int, int, int], new: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """10,000 each time the newest are looked at, which is seven times for each time that the newer are."""
    monkeypatch.setattr(rest.gc, "get_count", lambda: counts)
    monkeypatch.setattr(rest.gc, "get_threshold", lambda: (10_000, 5, 3))
    assert since_all_was_looked_at() == new


def test_new_objects_are_counted_as_the_interpreter_counts_them(own_collecting: None) -> None:
    gc.set_threshold(*COLLECT_AFTER)
    gc.collect()
    kept: list[list[int]] = []
    for number in range(COLLECT_AFTER[0] * (COLLECT_AFTER[1] + 1) * 2):
        if number % 10_007 == 0:
            assert abs(since_all_was_looked_at() - number) < COLLECT_AFTER[0]
        kept.append([number])


HELD = """
from pathlib import Path
from showrunner.tui.rest import give_back

def memory():
    return int(Path("/proc/self/statm").read_text().split()[1]) * 4096

held = [bytes(1000 + number % 1000) for number in range(60_000)]
del held[:-100]
before = memory()
give_back()
print(before - memory() > 50_000_000)
"""


@pytest.mark.skipif("glibc" not in platform.libc_ver()[0], reason="asks glibc")
def test_what_is_free_is_given_back() -> None:
    told = subprocess.run([sys.executable, "-c", HELD], capture_output=True, text=True, check=True, timeout=60)
    assert told.stdout.strip() == "True"


def test_where_nothing_can_be_given_back_nothing_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    class Without:
        """A C library without the call."""

    def refuses(error: Exception) -> Callable[[object], object]:
        def library(_: object) -> object:
            raise error

        return library

    for library in (lambda _: Without(), refuses(OSError()), refuses(TypeError())):
        monkeypatch.setattr(rest.ctypes, "CDLL", library)
        rest.give_back()


SCRIPT = """
import gc, sys
import showrunner.tui.app
from showrunner.tui.rest import COLLECT_AFTER, LATER, Rest
early = [name for name in LATER if name in sys.modules]
now = 0.0
rest = Rest(lambda: now)
now = 1.0
while rest.look(int, alone=True):
    pass
rest.look(int, alone=True)
late = [name for name in LATER if name not in sys.modules]
print(early, late, gc.get_freeze_count() > 10_000, gc.get_threshold() == COLLECT_AFTER)
"""


def test_what_can_wait_is_not_loaded_at_the_start_and_all_of_it_at_rest() -> None:
    told = subprocess.run([sys.executable, "-c", SCRIPT], capture_output=True, text=True, check=True, timeout=60)
    assert told.stdout.strip() == "[] [] True True"


async def test_a_key_is_no_rest(demo: ShowrunnerApp) -> None:
    clock = Clock()
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        demo.rest = Rest(clock)
        clock.now += 5.0
        await pilot.press("down")
        assert demo.rest.since == clock.now


def drawn(screen: BookScreen) -> int:
    """Lines that are kept of a screen as they were drawn."""
    tables = screen.query(RowTable)
    texts = screen.walk_children(Widget)
    return sum(len(table.drawn) for table in tables) + sum(
        len(text._render_cache.lines) + len(text._styles_cache._cache) for text in texts
    )


async def test_what_screens_out_of_view_have_drawn_is_let_go_and_drawn_anew(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        pictures: dict[str, str] = {}
        for key in "3451245":  # the first time a screen is shown, it may still be at a plan
            await pilot.press(key)
            await settle(pilot)
            pictures[key] = demo.export_screenshot()
        here = demo.screen
        made = list(demo.made)
        assert len(made) == 5
        assert min(map(drawn, made)) > 20
        demo._let_go_of_hidden()
        assert [drawn(each) for each in made if each is not here] == [0] * 4
        assert drawn(here) > 20
        for key in "12345":
            await pilot.press(key)
            await settle(pilot)
            assert demo.export_screenshot() == pictures[key]
