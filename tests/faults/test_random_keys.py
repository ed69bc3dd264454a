"""Keys at random, alone and in bursts, on every screen and dialog: the window never ends by itself, nothing is put
down twice, and memory stays level."""

from __future__ import annotations

import asyncio
import gc
import math
import random
import resource
import sys
import time
from collections import Counter, deque
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from weakref import WeakKeyDictionary

import pytest
from effort import LONG
from keys import burst, settle
from screens import own_pace, own_presses, own_settings  # noqa: F401 - fixtures
from textual.screen import Screen

from showrunner.demo_book import copy_demo
from showrunner.errors import ShowrunnerError
from showrunner.session import Session
from showrunner.tui.app import ShowrunnerApp
from showrunner.tui.base import BookScreen
from showrunner.tui.dialogs import Dialog, FormDialog
from showrunner.tui.registry import EVERYWHERE
from showrunner.tui.rest import COLLECT_AFTER, put_away, that_remember

MOVES = ("up", "down", "left", "right", "tab", "shift+tab", "pageup", "pagedown", "home", "end")
ANSWERS = ("enter", "enter", "enter", "escape", "backspace", "delete", "space", "ctrl+p", "ctrl+q", "ctrl+c", "q")
TYPED = (*"0123456789", *"abcxyz", *".,;:-~?'\"[](é☂", "2026-03-22", "about 1895", "sound", "all: sound", "40")
"""Text for the lines of forms."""


def keys_of(app: ShowrunnerApp) -> list[str]:
    """The keys of the screen in front, each as often as the next."""
    screen = app.screen
    actions = [*(screen.ACTIONS if isinstance(screen, BookScreen) else ()), *EVERYWHERE]
    return [key for action in actions for key in action.keys.split(",")]


def some_keys(rng: random.Random, app: ShowrunnerApp) -> list[str]:
    """One to eight keys: those of the screen in front, text, moves and answers; often the same twice."""
    keys: list[str] = []
    while len(keys) < rng.randint(1, 8):
        kind = rng.random()
        if kind < 0.35:
            keys.append(rng.choice(keys_of(app)))
        elif kind < 0.55:
            keys += rng.choice(TYPED)
        elif kind < 0.7:
            keys.append(rng.choice(MOVES))
        else:
            keys += [rng.choice(ANSWERS)] * rng.choice((1, 1, 2, 3))
    return keys


class Saves:
    """Counts how often each form saved."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.twice: list[str] = []
        """The titles of forms that were saved more than once, though they do not come back for another one."""
        self.of: WeakKeyDictionary[FormDialog, int] = WeakKeyDictionary()
        real = FormDialog.__init__

        def begin(form: FormDialog, title: str, fields: Any, save: Any, *rest: Any, **more: Any) -> None:
            def counted(answers: Any) -> Any:
                done = save(answers)
                self.of[form] = self.of.get(form, 0) + 1
                if self.of[form] > 1 and form.again is None:
                    self.twice.append(title)
                return done

            real(form, title, fields, counted, *rest, **more)

        monkeypatch.setattr(FormDialog, "__init__", begin)


@pytest.fixture
def saves(monkeypatch: pytest.MonkeyPatch) -> Saves:
    return Saves(monkeypatch)


@pytest.fixture(autouse=True)
def own_collecting() -> Iterator[None]:
    """How often garbage is looked for is set back afterwards."""
    before = gc.get_threshold()
    yield
    gc.set_threshold(*before)


@pytest.fixture
def kept_in(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """Nothing that is typed names a file elsewhere."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("HOME", str(tmp_path))
    write = Session.write_calendar
    monkeypatch.setattr(Session, "write_calendar", lambda self, path: write(self, tmp_path / path.name))
    yield tmp_path


def megabytes() -> float:
    """Memory that this process has in use now."""
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * resource.getpagesize() / 1e6


def of_the_window() -> list[object]:
    """Errors and screens that are in memory."""
    gc.collect()
    return [one for one in gc.get_objects() if isinstance(one, ShowrunnerError | Screen)]


async def nothing_is_left(app: ShowrunnerApp, before: set[int]) -> None:
    """No error that was told is kept, and no dialog that is gone; a timer keeps one for half a second.

    Each of the five screens keeps what was in front as it was made, for as long as it lives: that is Textual's.
    """
    errors: Counter[str] = Counter()
    gone: Counter[str] = Counter()
    for _ in range(300):
        left = [one for one in of_the_window() if id(one) not in before and one not in app._registry]
        errors = Counter(type(one).__name__ for one in left if isinstance(one, ShowrunnerError))
        gone = Counter(type(one).__name__ for one in left if isinstance(one, Screen))
        del left
        if not errors and sum(gone.values()) <= len(app.MODES):
            return
        await asyncio.sleep(0.02)
    raise AssertionError(f"kept for nothing: {errors}, {gone}")


class Run:
    """What a run came by.

    Args:
        seconds: how long it goes on, in real time.
        bursts: how many bursts of keys it has at most.
    """

    def __init__(self, seconds: float, bursts: int) -> None:
        self.seconds, self.bursts = seconds, bursts
        self.fronts: Counter[str] = Counter()
        """How often each kind of screen and dialog was in front."""
        self.keys = 0
        self.curve: list[float] = []
        """Memory that the process has, in MB, at equal spaces of time: the most it ever needed at once is in it."""
        self.in_use: list[int] = []
        """Blocks of memory that are in use at those times."""

    async def press(self, app: ShowrunnerApp, seed: int) -> None:
        """Press keys, and hold after each burst what must always hold."""
        rng = random.Random(seed)
        app.exit = lambda *_, **__: None  # type: ignore[method-assign]
        pressed: deque[str] = deque(maxlen=5)
        before = set(map(id, of_the_window()))
        async with app.run_test(size=rng.choice(((80, 24), (120, 40)))) as pilot:
            await settle(pilot)
            gc.set_threshold(*COLLECT_AFTER)  # as in a window of its own
            began = time.monotonic()
            for _ in range(self.bursts):
                passed = time.monotonic() - began
                if passed > self.seconds:
                    break
                if passed > len(self.curve) * self.seconds / 20:
                    put_away(that_remember())
                    self.curve.append(megabytes())
                    self.in_use.append(sys.getallocatedblocks())
                keys = [*rng.choice((["escape", "escape", rng.choice("12345")], [])), *some_keys(rng, app)]
                pressed.append(" ".join(keys))
                await burst(pilot, *keys)
                if rng.random() < 0.1:
                    await settle(pilot)
                assert app._exception is None, f"seed {seed}, after: {list(pressed)}"
                assert app.is_running
                assert isinstance(app.screen_stack[0], BookScreen)
                self.fronts[type(app.screen).__name__] += 1
                self.keys += len(keys)
            await burst(pilot, *["escape"] * 9, "1")
            await settle(pilot)
            await nothing_is_left(app, before)
            for worker in app.workers:
                worker.cancel()


async def keys_at_random(folder: Path, saves: Saves, seed: int, run: Run) -> None:
    """One run on a book of its own; afterwards the disk holds what the screens showed."""
    path = folder / f"book-{seed}.json"
    copy_demo(path)
    with Session.open(path) as session:
        await run.press(ShowrunnerApp(session, demo=True), seed)
        book, step = session.book, session.undo_label
        problems = session.check()
    assert not saves.twice
    assert problems == []
    with Session.open(path) as again:
        assert (again.book, again.undo_label) == (book, step)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(2))
async def test_keys_at_random(kept_in: Path, saves: Saves, seed: int) -> None:
    await keys_at_random(kept_in, saves, seed, Run(math.inf, 40))


def every_front() -> set[str]:
    """Every kind of screen and dialog that the program can have in front."""
    found: list[type] = [BookScreen, Dialog]
    for kind in found:
        found += [sub for sub in kind.__subclasses__() if sub.__module__.startswith("showrunner.")]
    return {kind.__name__ for kind in found} - {"BookScreen", "Dialog"}


@pytest.mark.long
async def test_ten_minutes_of_keys_at_random(kept_in: Path, saves: Saves) -> None:
    """One window for ten minutes; its memory, and what was in front.

    Of what a search needs at once (up to `MOST_STATES` states, for a book that random keys have made) some stays with
    the process, in pieces too small to give back.
    """
    run = Run(600 * LONG / 1000, sys.maxsize)
    await keys_at_random(kept_in, saves, 100, run)
    print(f"\n{run.keys} keys; MB: {' '.join(f'{each:.0f}' for each in run.curve)}")  # noqa: T201
    print(f"thousands of blocks in use: {' '.join(str(each // 1000) for each in run.in_use)}")  # noqa: T201
    print(dict(run.fronts.most_common()))  # noqa: T201
    print(f"never in front: {sorted(every_front() - set(run.fronts))}")  # noqa: T201
    if LONG >= 1000:
        assert run.in_use[-1] < 1.3 * run.in_use[2], "what is in use grows"
        assert run.curve[-1] < 1.3 * run.curve[2], "memory grows"
