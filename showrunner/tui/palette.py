"""The palette: every action by name."""

from __future__ import annotations

from textual.command import CommandList, CommandPalette


class Palette(CommandPalette):
    """Textual's palette, without the keys that turn pages while its list is not drawn yet; there they fail."""

    def _action_command_list(self, action: str) -> None:
        if self.query_one(CommandList).scrollable_content_region.height:
            super()._action_command_list(action)
