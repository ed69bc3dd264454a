"""Waiting for the screens: until nothing is left to be done, never for a span of time.

Textual's own waiting looks at the processor: idle for a fiftieth of a second counts as done. That costs that span at
each key, and on a busy machine a program that is merely not given its turn counts as done too. Here the loop of the
program itself is asked.

Textual draws a screen that opens three or four times before it comes to rest: as it resumes, as it takes its size, and
as each part of it changes. Here a wish to draw is only noted, and what is in view is drawn once, at rest.
"""

from __future__ import annotations

import asyncio
import time
from weakref import WeakSet

from textual._context import active_app
from textual.app import App
from textual.screen import Screen

draw = Screen._compositor_refresh
due: WeakSet[Screen[object]] = WeakSet()
"""Screens that wish to be drawn."""

MOST_SECONDS = 120.0
"""How long the screens may go on before the test has failed."""


def in_view(app: App[object]) -> list[Screen[object]]:
    """The screens that can be seen: the one in front, and what shows behind a dialog."""
    return [app.screen, *app._background_screens] if app._screen_stack and not app._batch_count else []


def to_draw(screen: Screen[object]) -> bool:
    """Whether a screen has something to draw or to do once it is drawn."""
    return bool(
        screen._layout_required
        or screen._scroll_required
        or screen._recompose_required
        or screen._dirty_widgets
        or screen._callbacks
        or (screen._repaint_required and screen is screen.app.screen)  # behind a dialog it stays set
    )


def draw_at_rest(self: Screen[object]) -> None:
    """Note that the screen in front wishes to be drawn; one behind it has the front one draw what changed."""
    if self is not self.app.screen:
        draw(self)
        return
    due.add(self)
    self._dirty_widgets.clear()  # where they stand is noted already


async def quiet(min_sleep: float = 0, max_sleep: float = MOST_SECONDS) -> None:
    """Wait until no task can go on and all that is in view is drawn; it is drawn once, when all else is done.

    Args:
        min_sleep: not heeded; there because Textual's own waiting is called with it.
        max_sleep: after so many seconds the screens are taken never to come to rest.

    Raises:
        AssertionError: they did not.
    """
    ready = asyncio.get_running_loop()._ready  # type: ignore[attr-defined]
    app = active_app.get(None)
    began = time.monotonic()
    calm = 0
    while calm < 2:  # what a file or a timer has due is put in line only as the loop goes round
        assert time.monotonic() - began < max_sleep, "the screens never come to rest"
        await asyncio.sleep(0)
        calm = 0 if ready else calm + 1
        if calm == 2 and app is not None:
            for screen in filter(to_draw, in_view(app)):
                screen._on_timer_update()
                calm = 0
        if calm == 2 and app is not None:
            for screen in in_view(app):
                if screen in due:
                    due.discard(screen)
                    draw(screen)
                    calm = 0
