"""Collections, and the boxes and shelves that hold them."""

from __future__ import annotations

from decimal import Decimal
from enum import StrEnum

from showrunner.domain.record import record
from showrunner.errors import BadInput


class CollectionKind(StrEnum):
    """A keeping collection is closed and finite; a shopping one still grows."""

    KEEPING = "keeping"
    SHOPPING = "shopping"


@record
class Collection:
    """One collection."""

    id: str
    """Permanent id."""
    name: str
    """Name as spoken."""
    kind: CollectionKind = CollectionKind.KEEPING
    """Keeping or shopping."""
    closed: bool = False
    """Whether nothing more is bought for it."""
    currency: str = ""
    """ISO 4217 code of all its amounts."""
    budget: Decimal | None = None
    """Most that may be spent, carriage included; None for no limit."""
    shelf_cm: Decimal | None = None
    """Shelf width there is, cm; None for no limit."""
    opens_with: int = 1
    """Arrived pieces needed before its series can open."""
    preparation_weeks: int = 0
    """Weeks of preparation after the last of those arrived."""

    def __post_init__(self) -> None:
        if not self.name.strip():
            raise BadInput("a collection needs a name", self.id, "give it one")
        if self.opens_with < 1 or self.preparation_weeks < 0:
            raise BadInput("a collection opens with at least 1 piece and 0 weeks", self.name, "give larger numbers")


@record
class Box:
    """One box or shelf."""

    id: str
    """Permanent id, as written on it."""
    name: str = ""
    """What it is (`tail chest`)."""
    where: str = ""
    """Where it stands."""
