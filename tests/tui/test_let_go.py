"""What a dialog leaves behind once it is gone."""

from __future__ import annotations

import asyncio
import gc
from weakref import ref

from keys import settle

from showrunner.tui.app import ShowrunnerApp


async def test_a_dialog_that_is_gone_leaves_no_lines(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("question_mark")
        drawn = [ref(widget._styles_cache) for widget in demo.screen.walk_children(with_self=True)]
        assert len(drawn) > 3
        for key in ("escape", "question_mark", "escape"):  # the last one in front is known for a while
            await pilot.press(key)
            await settle(pilot)
        for _ in range(300):  # its timers end by themselves
            gc.collect()
            if not any(lines() for lines in drawn):
                return
            await asyncio.sleep(0.02)
    raise AssertionError("its lines are still there")
