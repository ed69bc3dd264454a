"""Whether anyone still waits for what is worked out beside the screen; what nobody waits for is given up."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar


class Unwanted(Exception):
    """Nobody waits for the result any more. No error of ours, which code that works it out may put aside."""


_still_wanted: ContextVar[Callable[[], bool] | None] = ContextVar("still_wanted", default=None)


@contextmanager
def while_wanted(is_wanted: Callable[[], bool]) -> Iterator[None]:
    """What is worked out inside, in this thread, is given up as soon as it is not wanted any more.

    Args:
        is_wanted: asked again and again, so it must be quick.
    """
    before = _still_wanted.set(is_wanted)
    try:
        yield
    finally:
        _still_wanted.reset(before)


def check() -> None:
    """Go on.

    Raises:
        Unwanted: nobody waits for the result any more.
    """
    asked = _still_wanted.get()
    if asked is not None and not asked():
        raise Unwanted


def heeding(ticker: Callable[[], float]) -> Callable[[], float]:
    """A clock that also gives up what is not wanted any more, since whatever takes long looks at its clock often.

    Args:
        ticker: a clock in seconds.

    Returns:
        The same clock; reading it raises Unwanted where nobody waits any more.
    """

    def seconds() -> float:
        check()
        return ticker()

    return seconds
