"""Keys and clicks one after the other: the next is given out when what the last one did is done.

By itself each key of a burst goes to the part of the screen that has the keys when it *arrives*. A burst that opens a
form, fills it and saves it would then be spread over what was there before, and two quick Enters would both reach a
form that the first one closes. Here a key waits until the one before it has been answered: until the screen it opened
stands, with the keys in its first line, or the one it closed is gone.
"""

from __future__ import annotations

import asyncio
from collections import deque
from collections.abc import Callable
from typing import Any

from textual import events
from textual.app import App
from textual.message_pump import MessagePump
from textual.screen import Screen
from textual.widget import Widget

TURNS = (events.Key, events.Paste, events.MouseDown, events.MouseUp)
"""What waits for its turn; where the mouse merely is does not."""

MOST_SECONDS = 2.0
"""How long one key may keep the next waiting; then it is given out in any case, so that the keys never go dead."""

_LOOK_SECONDS = 0.05
"""How often a part of the screen that does not answer is looked at: it may have been closed meanwhile."""


class Turns:
    """The line in which keys and clicks wait.

    Args:
        app: the application that gives them out.
    """

    def __init__(self, app: App[Any]) -> None:
        self.app = app
        self.waiting: deque[events.Event] = deque()
        self.given: events.Event | None = None
        self.front: Screen[Any] | None = None
        self.focused: Widget | None = None
        self.task: asyncio.Task[None] | None = None

    def is_due(self, event: events.Event) -> bool:
        """Whether it is this event's turn; if not, it is posted again when it is.

        Args:
            event: one of `TURNS` that the terminal sent.
        """
        if self.given is not None and event is not self.given:
            self.waiting.append(event)
            return False
        self.given = event
        self.front = self.app.screen_stack[-1] if self.app.screen_stack else None
        self.focused = self.front.focused if self.front else None
        return True

    def was_given(self) -> None:
        """The event whose turn it was has been given out: wait for what it does, then call the next."""
        self.task = asyncio.create_task(self._call_next())

    async def _call_next(self) -> None:
        try:
            async with asyncio.timeout(MOST_SECONDS):
                await settled(self.app)
                if self.app.screen_stack and (self.app.screen, self.app.screen.focused) != (self.front, self.focused):
                    await _answered(self.app, self.app.screen, self.app.screen.call_after_refresh)  # it is laid out
        except TimeoutError:
            pass
        self._drop_bounced()
        self.given = self.waiting.popleft() if self.waiting else None
        if self.given is not None:
            self.app.post_message(self.given)

    def _drop_bounced(self) -> None:
        """An Enter that closed a dialog takes those right behind it along: they were not meant for what lies below."""
        key = self.given.key if isinstance(self.given, events.Key) else ""
        if key != "enter" or self.front is None or not self.front.is_modal or self.front in self.app.screen_stack:
            return
        while self.waiting and isinstance(behind := self.waiting[0], events.Key) and behind.key == key:
            self.waiting.popleft()


async def settled(app: App[Any]) -> None:
    """Wait until the screen in front and the part that has the keys have nothing left to do, and stay the same.

    Args:
        app: the running application.
    """
    calm = 0
    while calm < 2 and app.is_running and app.screen_stack:
        front, focused = app.screen, app.screen.focused
        chain: list[Any] = [*focused.ancestors_with_self] if focused is not None else [front, app]
        busy = False
        for pump in chain:
            busy = busy or pump.message_queue_size > 0
            await _answered(app, pump, pump.call_later)
        same = bool(app.screen_stack) and app.screen is front and front.focused is focused
        calm = calm + 1 if same and not busy else 0


async def _answered(app: App[Any], pump: MessagePump, call: Callable[[Callable[[], None]], bool]) -> None:
    """Wait until a part has come to a call that was put behind all that waits for it, or is closed."""
    answered = asyncio.get_running_loop().create_future()

    def answer() -> None:
        if not answered.done():
            answered.set_result(None)

    if not call(answer):
        return
    while True:
        await asyncio.wait([answered], timeout=_LOOK_SECONDS)
        if answered.done() or not pump.is_running or not app.is_running:
            return
