"""What a plan is made for once promises are kept and as many studies placed as can be."""

from __future__ import annotations

from enum import StrEnum


class Aim(StrEnum):
    """What a plan is made for, after promises and as many studies as possible."""

    BEST = "best dates"
    """The least unevenness, whatever moves."""
    EVEN = "fewest moves within the gaps"
    """Move as few planned studies as possible, and those by the fewest days, once as few gaps as possible are beyond
    the longest of their series."""
    FEWEST = "fewest moves"
    """The same, however long the gaps get."""

    @property
    def keep(self) -> bool:
        """Whether planned studies move as little as can be."""
        return self is not Aim.BEST

    @property
    def even(self) -> bool:
        """Whether gaps beyond the longest are few before that."""
        return self is Aim.EVEN
