"""The line at the foot of a screen: the keys that do something now."""

from __future__ import annotations

from typing import Any, NamedTuple

from textual import events
from textual.content import Content
from textual.screen import Screen
from textual.style import Style
from textual.widget import Widget


class Key(NamedTuple):
    """A key of the line."""

    name: str
    """As Textual names it."""
    printed: str
    """As it is printed on the keyboard."""
    word: str
    """What it does, in a word."""
    help: str
    """The same in a sentence."""


class KeyLine(Widget):
    """The keys that the screen offers; a click presses the one under the mouse.

    One widget draws them all, and again only when they change: with a widget for each, every change of focus would lay
    all of them out anew, several times before a screen is first seen.
    """

    ALLOW_SELECT = False
    DEFAULT_CSS = "KeyLine { dock: bottom; height: 1; text-wrap: nowrap; background: $surface; }"

    keys: tuple[Key, ...] = ()

    def on_mount(self) -> None:
        """Follow the keys of the screen."""
        self.screen.bindings_updated_signal.subscribe(self, self.keys_changed)

    def keys_changed(self, screen: Screen[Any]) -> None:
        """Draw the keys if they are others than before; of two keys for one action the first."""
        shown: dict[str, Key] = {}
        for _, binding, _, tooltip in screen.active_bindings.values():
            if binding.show:
                key = Key(binding.key, self.app.get_key_display(binding), binding.description, tooltip)
                shown.setdefault(binding.action, key)
        if self.keys != (keys := tuple(shown.values())):
            self.keys = keys
            self.refresh()

    def render(self) -> Content:
        """Each key and its word; what is drawn knows which key it belongs to."""
        parts = []
        for at, key in enumerate(self.keys):
            part = Content.assemble((f" {key.printed} ", "bold $primary"), f"{key.word} ")
            parts.append(part.stylize(Style.from_meta({"key": at})))
        return Content.assemble(*parts)

    def on_mouse_move(self, event: events.MouseMove) -> None:
        """Have the help of the key under the mouse at hand."""
        key = self._under(event)
        self.tooltip = key.help if key else None

    def on_mouse_down(self, event: events.MouseDown) -> None:
        """Press the key under the mouse."""
        if key := self._under(event):
            self.app.simulate_key(key.name)

    def _under(self, event: events.MouseEvent) -> Key | None:
        at = event.style.meta.get("key")
        return None if at is None else self.keys[at]
