"""One press is one press: a key that is held, or pressed twice within half a second, counts once.

In gloves, or on a presenter's remote, a key is easily pressed twice, and each press of a shoot stands on disk.
"""

from __future__ import annotations

HALF_SECOND = 0.5
"""Seconds within which the same key is the same press."""
MOVES = frozenset(("up", "down", "left", "right", "home", "end", "tab", "shift+tab"))
"""Keys that only move, and may be held."""


class Steady:
    """Tells the second press of a key from a press of its own, by when each was pressed."""

    def __init__(self) -> None:
        self.key = ""
        self.at = 0.0

    def repeats(self, key: str, at: float, *, counts: bool) -> bool:
        """Whether a key is the same press as the one before it; as long as it is held it is.

        Args:
            key: the key.
            at: when it was pressed, seconds of a clock that only runs forward.
            counts: whether the key does something that must not be done twice.
        """
        again = key == self.key and at - self.at < HALF_SECOND
        self.key, self.at = (key, at) if again or counts else ("", 0.0)
        return again
