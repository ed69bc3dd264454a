"""Pressing keys and reading the screen."""

from __future__ import annotations

import contextlib

from textual import events
from textual.keys import _character_to_key
from textual.pilot import Pilot
from textual.widgets import Static
from textual.worker import WorkerCancelled

from showrunner.tui.reading import Reading

Keys = Pilot[int]


async def settle(pilot: Keys) -> None:
    """Wait until what is worked out beside the screen is there; it is begun only once the screen is drawn."""
    await pilot.pause()
    while any(worker.is_running for worker in pilot.app.workers):
        with contextlib.suppress(WorkerCancelled):  # one that was given up; the others go on
            await pilot.app.workers.wait_for_complete()
        await pilot.pause()
    await pilot.pause()


def text_of(pilot: Keys, selector: str) -> str:
    """The text of a part of the screen in view."""
    part = pilot.app.screen.query_one(selector)
    assert isinstance(part, Static | Reading)
    return part.text if isinstance(part, Reading) else str(part.content)


async def burst(pilot: Keys, *keys: str) -> None:
    """Keys that all come before the first is answered, as a terminal sends what is typed ahead or held down."""
    for key in keys:
        name = _character_to_key(key) if len(key) == 1 else key
        pilot.app.post_message(events.Key(name, key if len(key) == 1 else None))
    await pilot.pause()
