"""A line of a form on which one of several things is chosen, by typing its first letters or with the arrows."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual import events
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.message import Message
from textual.reactive import reactive
from textual.widget import Widget

from showrunner.report import clean


class ChoiceLine(Widget, can_focus=True):
    """One line with the thing chosen. It opens no list over the lines below; Space asks for one.

    Args:
        options: label and value of each.
        value: the value chosen at first.
        id: of the widget.
    """

    DEFAULT_CSS = """
    ChoiceLine { width: 1fr; height: 1; background: $panel; }
    ChoiceLine:focus { text-style: bold; }
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("right", "step(1)", "next"),
        Binding("left", "step(-1)", "before"),
        Binding("enter", "done", "next line"),
        Binding("space", "list", "all of them"),
        Binding("backspace", "forget", "forget the letters"),
    ]

    value: reactive[str] = reactive("")
    """The value chosen."""

    class Done(Message):
        """Enter was pressed on it."""

        def __init__(self, line: ChoiceLine) -> None:
            super().__init__()
            self.line = line

    class Listed(Message):
        """All there is to choose from is asked for."""

        def __init__(self, line: ChoiceLine) -> None:
            super().__init__()
            self.line = line

    class Changed(Message):
        """Another thing was chosen."""

        def __init__(self, line: ChoiceLine) -> None:
            super().__init__()
            self.line = line

    def __init__(self, options: Sequence[tuple[str, str]], value: str, *, id: str) -> None:
        super().__init__(id=id)
        self.options = tuple((clean(label), given) for label, given in options)
        self.typed = ""
        """Letters typed since the line was come to."""
        values = [given for _, given in self.options]
        self.set_reactive(ChoiceLine.value, value if value in values else values[0])

    @property
    def at(self) -> int:
        """Number of the thing chosen, from 0; the first if the value is none of them."""
        return next((n for n, (_, value) in enumerate(self.options) if value == self.value), 0)

    def render(self) -> Content:
        """What is chosen, between the marks of a choice; what was typed of it is underlined."""
        label = self.options[self.at][0]
        start = _place(label, self.typed)
        shown = Content(label)
        if self.typed and start is not None:
            shown = shown.stylize("underline", start, start + len(self.typed))
        hint = "   letters, ← → or Space" if self.has_focus else ""
        return Content("‹ ") + shown + Content(" ›") + Content.styled(hint, "not bold $muted")

    def watch_value(self) -> None:
        """Tell that another thing is chosen."""
        self.post_message(self.Changed(self))

    def on_focus(self) -> None:
        """Begin with no letters."""
        self.typed = ""

    def on_blur(self) -> None:
        """Forget the letters."""
        self.typed = ""

    def on_key(self, event: events.Key) -> None:
        """Go to what begins with the letters typed; a letter that goes on with none begins anew."""
        letter = event.character
        if not letter or not letter.isprintable():
            return
        if letter == " " and (
            not self.typed or all(_place(told, self.typed + " ") is None for told, _ in self.options)
        ):
            return  # it goes on with no words, so it asks for the list
        event.stop()
        event.prevent_default()
        for typed in (self.typed + letter, letter):
            found = [n for n, (label, _) in enumerate(self.options) if _place(label, typed) is not None]
            found = [n for n in found if _place(self.options[n][0], typed) == 0] or found
            if found:
                again = len(typed) == 1 and self.typed == typed
                after = [n for n in found if n > self.at] if again else []
                self.typed = typed
                self.value = self.options[(after or found)[0]][1]
                self.refresh()
                return

    def on_click(self) -> None:
        """List all of them."""
        self.post_message(self.Listed(self))

    def action_step(self, by: int) -> None:
        """Choose the next one or the one before, round in a circle."""
        self.typed = ""
        self.value = self.options[(self.at + by) % len(self.options)][1]

    def action_done(self) -> None:
        """Go on."""
        self.post_message(self.Done(self))

    def action_list(self) -> None:
        """List all of them."""
        self.post_message(self.Listed(self))

    def action_forget(self) -> None:
        """Begin again with the letters."""
        self.typed = ""
        self.refresh()


def _place(label: str, typed: str) -> int | None:
    """Where in a label a word begins with these letters, of any case; None if none does."""
    low, wanted = label.casefold(), typed.casefold()
    starts = [n for n in range(len(low)) if n == 0 or not low[n - 1].isalnum()]
    return next((n for n in starts if low.startswith(wanted, n)), None)
