"""A screen that finishes once: what is pressed on it while it goes changes nothing any more."""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from typing import Any

from textual import events, on
from textual.await_complete import AwaitComplete
from textual.screen import Screen


class FinishesOnce(Screen[Any]):
    """A screen that is put over another one and leaves with an answer, once.

    Textual takes the screen in front away for each `dismiss`, whichever it is. So a second answer would take away the
    screen below, and the last one ends the window.
    """

    finished = False
    """Whether it has its answer."""

    held: tuple[Any, ...] = ()
    """The answer, while the screen cannot leave: it does not stand yet, or another one covers it."""

    def dismiss(self, result: Any = None) -> AwaitComplete:
        """Leave with an answer; later answers are not heeded. It leaves as soon as it stands and nothing covers it.

        Args:
            result: the answer, given to what put the screen up.
        """
        if self.finished:
            return AwaitComplete()
        self.finished = True
        if self.is_mounted and self.is_active:
            return super().dismiss(result)
        self.held = (result,)
        return AwaitComplete()

    @on(events.ScreenResume)
    def _leave_at_last(self) -> None:
        if self.held:
            (result,), self.held = self.held, ()
            super().dismiss(result)

    def on_unmount(self) -> None:
        """Leave nothing behind."""
        let_go_of_lines()

    def from_thread(self, show: Callable[..., None], *found: Any) -> None:
        """Show what was worked out beside the screen, unless it has gone meanwhile. Called from the other thread.

        Args:
            show: what shows it.
            found: what it is given.
        """
        self.app.call_from_thread(self._if_there, show, *found)

    def _if_there(self, show: Callable[..., None], *found: Any) -> None:
        if self.is_attached and not self.finished:
            show(*found)


def let_go_of_lines() -> None:
    """Let go of the lines that widgets which are gone had drawn.

    Textual remembers what a method of `StylesCache` gave (two colours), and with each of the last 1,024 answers the
    object that was asked, which holds the lines of a widget: some 40 MB. A later Textual may have no such method.
    """
    with contextlib.suppress(ImportError, AttributeError):
        from textual._styles_cache import StylesCache

        StylesCache.get_inner_outer.cache_clear()
