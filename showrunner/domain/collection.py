"""Collections, and the boxes and shelves that hold them."""

from __future__ import annotations

from datetime import date
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
    depth_cm: Decimal | None = None
    """Depth inside, cm; None if not measured."""
    most_kg: Decimal | None = None
    """Most it may hold, kg; None if not known."""
    refolded: date | None = None
    """Day its pieces were last refolded on fresh tissue; None if not known."""
    refold_months: int = 0
    """Months after which that is due again; 0 for never."""

    def __post_init__(self) -> None:
        for name, value in (("depth", self.depth_cm), ("most weight", self.most_kg)):
            if value is not None and value <= 0:
                raise BadInput(f"a {name} of {value} holds nothing", f"box {self.id}", "give more, or leave it empty")
        if self.refold_months < 0:
            raise BadInput("months below 0", f"box {self.id}", "give 0 for never")


@record
class Supply:
    """Something kept in store for storing pieces: boxes, tissue."""

    name: str
    """What it is (`acid-free tissue, sheets`)."""
    on_hand: int
    """How many there are."""
    reorder_at: int
    """At how many it is ordered again (equal counts)."""
    counted: date | None = None
    """Day they were counted; None if not known."""

    def __post_init__(self) -> None:
        if not self.name.strip():
            raise BadInput("a supply needs a name", "supplies", "say what it is")
        if self.on_hand < 0 or self.reorder_at < 0:
            raise BadInput("it is less than nothing", self.name, "give 0 or more")
