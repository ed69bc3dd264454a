"""Work that goes on in a thread beside the screen, until it is done or nobody waits for it any more."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from functools import wraps
from typing import Any, Concatenate, ParamSpec, TypeVar

from textual import work
from textual.dom import DOMNode
from textual.worker import Worker, get_current_worker

from showrunner.wanted import Unwanted, while_wanted

Here = TypeVar("Here", bound=DOMNode)
P = ParamSpec("P")


def beside(
    group: str,
) -> Callable[[Callable[Concatenate[Here, P], None]], Callable[Concatenate[Here, P], Worker[None]]]:
    """Make a method of a screen work in a thread beside it.

    What a call is still at is given up when the method is called again, when its screen goes, when the window is
    left, and when its worker is cancelled. Textual by itself lets the thread go on to its end.

    Args:
        group: its name among the methods of the screen that work beside it.
    """

    def made(method: Callable[Concatenate[Here, P], None]) -> Callable[Concatenate[Here, P], Worker[None]]:
        @wraps(method)
        def run(self: Here, /, *args: P.args, **options: P.kwargs) -> None:
            worker: Worker[Any] = get_current_worker()
            with while_wanted(lambda: not worker.is_cancelled), suppress(Unwanted):
                method(self, *args, **options)

        return work(thread=True, exclusive=True, group=group)(run)

    return made
