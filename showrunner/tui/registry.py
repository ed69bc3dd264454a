"""One registry of what can be done: bindings, footer, help and palette all come from it."""

from __future__ import annotations

from collections.abc import Iterable

from textual.binding import Binding, BindingType

from showrunner.domain.record import record


@record
class Action:
    """Something a key does."""

    id: str
    """Permanent id; the method of its screen is `action_ID`, and a keymap names it."""
    keys: str
    """Keys, comma-separated, as Textual names them."""
    label: str
    """One or two words for the footer."""
    help: str
    """One sentence for the help screen and the palette."""
    footer: bool = False
    """Whether the footer shows it."""
    first: bool = False
    """Whether its keys come before what the part of the screen that has the keys does with them."""

    @property
    def key_words(self) -> str:
        """The keys as printed on the keyboard."""
        names = {
            "question_mark": "?",
            "slash": "/",
            "delete": "Del",
            "enter": "Enter",
            "escape": "Esc",
            "space": "Space",
            "pagedown": "PgDn",
            "pageup": "PgUp",
            "full_stop": ".",
            "f5": "F5",
        }
        return " ".join(names.get(key, key) for key in self.keys.split(","))


EVERYWHERE = (
    Action("go_register", "1", "Register", "The pieces."),
    Action("go_ledger", "2", "Ledger", "The weeks and their slots."),
    Action("go_setup", "3", "Set-up", "The shoot."),
    Action("go_runout", "4", "Run-out", "How many are left, and until when."),
    Action("go_wants", "5", "Wants", "What is shopped for: money, shelf, and when it can take over."),
    Action("undo", "u", "undo", "Take the last action back.", footer=True),
    Action("redo", "U", "redo", "Do the action last undone again."),
    Action("bring_in", "I", "bring in", "Bring a file in: a sheet of pieces or past episodes, a feed, or an export."),
    Action("calendar", "w", "calendar", "Write the calendar file."),
    Action("house", "h", "house", "House rules, slots, series, boxes, supporters, promises: all that can be changed."),
    Action("guide", "g", "guide", "The guided start: what is still missing, step by step."),
    Action("ground", "t", "light/dark", "Change between the light and the dark ground."),
    Action("help", "question_mark", "all keys", "Every key of this screen, and what its words mean.", footer=True),
    Action("leave", "q", "quit", "Leave; everything is saved already."),
)
"""What can be done on every screen."""


def bindings(actions: Iterable[Action]) -> list[BindingType]:
    """Textual bindings of the actions, with their ids, so that a keymap can change them."""
    return [
        Binding(
            action.keys,
            action.id,
            action.label,
            show=action.footer,
            priority=action.first,
            id=action.id,
            tooltip=action.help,
            key_display=action.key_words.split()[0],
        )
        for action in actions
    ]
