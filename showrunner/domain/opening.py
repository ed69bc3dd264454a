"""The side a piece opens on, and the order that it gives to turning and opening (common practice)."""

from __future__ import annotations

from enum import StrEnum


class Opens(StrEnum):
    """Where a piece opens."""

    FRONT = "front"
    """It is opened as it lies on its back, before it is turned."""
    BACK = "back"
    """It has to be turned before it is opened."""
    SIDE = "side"
    """It is opened as it lies, turned or not."""
    NONE = "nowhere"
    """It is pulled over the head, or an edge of it is folded back: as it lies, turned or not."""
