"""What is done while nobody presses a key: what the next key may need is loaded, and what nobody needs is put away.

A key that opens a form for the first time would otherwise wait for the form to be loaded, and the window would grow
for a while as it is used.
"""

from __future__ import annotations

import ctypes
import gc
import sys
from collections import deque
from collections.abc import Callable
from contextlib import suppress
from functools import lru_cache
from importlib import import_module
from time import monotonic
from typing import Any

PAUSE_SECONDS = 0.3
"""How long no key was pressed when garbage may be put away, which takes less than a tenth of a second."""

REST_SECONDS = 1.0
"""How long no key was pressed when something may be loaded."""

MUCH = 15_000
"""New objects that are worth looking through in a pause."""

MANY = 5_000
"""Answers that Textual and Rich remember that are worth forgetting in a pause, of some 400 bytes each.

They remember up to 100,000: how to write each style, what two regions have in common, how wide a text is.
"""

COLLECT_AFTER = (5_000, 5, 3)
"""New objects before garbage is looked for while the window is open, among the newest, the newer and all.

Each change of screen leaves some 1,100, and a plan that is worked out beside the screen many more.
"""

LATER = (
    "showrunner.tui.register",
    "showrunner.tui.set_up",
    "showrunner.tui.runout",
    "showrunner.tui.wants",
    "showrunner.tui.preview",
    "showrunner.tui.work_view",
    "showrunner.tui.slot_record",
    "showrunner.tui.package_view",
    "showrunner.tui.film_view",
    "showrunner.tui.stocktake",
    "showrunner.tui.house_list",
    "showrunner.tui.guided",
    "showrunner.tui.help_view",
    "showrunner.tui.pairs",
    "showrunner.tui.photographs",
    "showrunner.tui.bring_in",
    "showrunner.ical.export",
    "showrunner.planning.backtest",
    "showrunner.storage.written_days",
    "showrunner.storage.written_dates",
    "edtf",
)
"""What the screens load when they first need it, the likeliest first, each in some 50 ms of the processor at most."""


class Rest:
    """Does what can wait, a little at a time.

    Args:
        seconds: a clock in seconds that only runs forward.
    """

    def __init__(self, seconds: Callable[[], float] = monotonic) -> None:
        self.seconds = seconds
        self.since = seconds()
        self.later = deque(LATER)
        self.answers: list[Any] = []
        """The functions of Textual and Rich that remember their answers, once all is loaded."""
        self.settled = False
        """Whether all is loaded, and was told to stay."""

    def disturbed(self) -> None:
        """A key was pressed."""
        self.since = self.seconds()

    def look(self, let_go: Callable[[], None], *, alone: bool) -> bool:
        """If no key is pressed, load one thing that was not needed yet, or put away what nobody needs any more.

        Args:
            let_go: lets go of what screens that are not in view have drawn.
            alone: whether no dialog stands over the screen: it will go, and must not be taken for what stays.

        Returns:
            Whether more is to be loaded soon.
        """
        quiet = self.seconds() - self.since
        if self.later and quiet >= REST_SECONDS:
            import_module(self.later.popleft())
        elif not self.later and not self.settled and alone and quiet >= REST_SECONDS:
            self.settled = True
            self.answers = that_remember()
            gc.collect()
            settle_down()
        elif quiet >= PAUSE_SECONDS and (since_all_was_looked_at() >= MUCH or remembered(self.answers) >= MANY):
            let_go()
            put_away(self.answers)
        return bool(self.later) and quiet >= REST_SECONDS


def that_remember() -> list[Any]:
    """The functions of Textual and Rich, as far as they are loaded, that remember so many answers and no more."""
    modules = [module for name, module in [*sys.modules.items()] if name.partition(".")[0] in ("rich", "textual")]
    found = [value for module in modules for value in [*vars(module).values()]]
    found += [value for kind in found if isinstance(kind, type) for value in [*vars(kind).values()]]
    plain = [each.__func__ if type(each) in (classmethod, staticmethod) else each for each in found]
    remembering = type(lru_cache(len))
    one_each = {id(each): each for each in plain if type(each) is remembering}
    return [each for each in one_each.values() if each.cache_parameters()["maxsize"]]


def remembered(answers: list[Any]) -> int:
    """How many answers functions remember."""
    return sum(each.cache_info().currsize for each in answers)


def put_away(answers: list[Any]) -> None:
    """Let go of what is found again in no time, put garbage away, and give the memory back.

    Args:
        answers: functions that shall forget their answers.
    """
    for each in answers:
        each.cache_clear()
    gc.collect()
    give_back()


def since_all_was_looked_at() -> int:
    """About how many objects are new since garbage was last looked for among all."""
    newest, newer, whole = gc.get_count()
    often, seldom, _ = gc.get_threshold()
    return newest + often * (newer + (seldom + 2) * whole)


def give_back() -> None:
    """Give memory that is free back to the system.

    The C library of most Linux systems (glibc) keeps what a plan once needed otherwise; others have no such call.
    """
    with suppress(OSError, TypeError, AttributeError):
        ctypes.CDLL(None).malloc_trim(0)


def settle_down() -> None:
    """What stands now stays as long as the window: it is not looked at again when garbage is looked for."""
    gc.freeze()
    gc.set_threshold(*COLLECT_AFTER)
