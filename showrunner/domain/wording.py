"""How the owner words the columns of the sheets that are brought in."""

from __future__ import annotations

from showrunner.domain.record import record
from showrunner.errors import BadInput


@record
class Wording:
    """A column of a sheet, as its owner calls it, and what it means."""

    id: str
    """Kind of the sheet and name of the column in small letters (`pieces: where kept`)."""
    field: str
    """Name of the field it fills (`box`); empty for a column that is left aside."""

    def __post_init__(self) -> None:
        if ": " not in self.id:
            raise BadInput("a wording names its sheet and its column", self.id, "write it like pieces: where kept")
