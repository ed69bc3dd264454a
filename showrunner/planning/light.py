"""The light a piece may have: lux x hours in a calendar year against the limit of its class.

Default classes: CIE 157:2004 as galleries publish it (high 15,000, medium 150,000, low 600,000 lux hours a
year; National Gallery, open data of its lux allowance calculator, 2023). A piece whose class is not known
counts as the most sensitive (Canadian Conservation Institute: treat unknown dyes as high). Doses add up
whatever the level: 100 lux for 3 weeks are 300 lux for 1 week (reciprocity).
"""

from __future__ import annotations

from fractions import Fraction

from showrunner.domain.house import HouseRules, LightClass
from showrunner.domain.piece import Piece
from showrunner.domain.record import record
from showrunner.domain.words import number
from showrunner.errors import BadInput

PUBLISHED = (LightClass("high", 15_000), LightClass("medium", 150_000), LightClass("low", 600_000))
"""Classes used where the house rules name none."""

MOST_LUX = 200_000
"""More than direct sun: a slip of the finger."""


def check_lux(lux: int) -> int:
    """The lux, if a meter could show it.

    Raises:
        BadInput: it could not.
    """
    if not 0 < lux <= MOST_LUX:
        raise BadInput(f"{lux} lux cannot be filmed by", "light", f"give what the meter shows, 1 to {MOST_LUX:,}")
    return lux


def classes_of(house: HouseRules) -> tuple[LightClass, ...]:
    """The classes there are: those of the house, or the published ones."""
    return house.light_classes or PUBLISHED


def class_of(piece: Piece, house: HouseRules) -> LightClass:
    """The class of a piece; the most sensitive one if it is not known."""
    classes = classes_of(house)
    most = min(classes, key=lambda c: c.limit_lux_hours)
    return next((c for c in classes if c.name == piece.light), most)


def dose(lux: int, seconds: int | float | Fraction) -> Fraction:
    """Lux hours of a time under a light."""
    return Fraction(lux) * Fraction(seconds) / 3600


def used_in(piece: Piece, year: int, *, without: str = "") -> int:
    """Lux hours the piece has had in a calendar year.

    Args:
        piece: the piece.
        year: the year.
        without: id of a shoot that is not counted.
    """
    return sum(e.lux_hours for e in piece.exposures if e.day.year == year and not (without and e.shoot == without))


def touches_in(piece: Piece, year: int, *, without: str = "") -> int:
    """Times the piece was handled in a calendar year; arguments as `used_in`."""
    return sum(e.touches for e in piece.exposures if e.day.year == year and not (without and e.shoot == without))


@record
class Light:
    """What light a piece may still have, and what a shoot takes of it."""

    piece: str
    """Id of the piece."""
    light_class: str
    """Name of its class."""
    limit: int
    """Most lux hours in a year."""
    used: int | Fraction
    """Lux hours this year: before the shoot, or until now in the middle of it."""
    lux: int
    """Light on it, lux."""
    seconds: int = 0
    """Time under it that is still planned, seconds."""

    @property
    def planned(self) -> Fraction:
        """Lux hours of the shoot as planned."""
        return dose(self.lux, self.seconds)

    @property
    def left(self) -> int | Fraction:
        """Lux hours left this year; 0 if none."""
        return max(0, self.limit - self.used)

    @property
    def used_up(self) -> bool:
        """Whether nothing is left."""
        return not self.left

    @property
    def exceeds_by(self) -> Fraction:
        """Lux hours by which the shoot as planned exceeds the limit; 0 if it does not."""
        return max(Fraction(0), self.used + self.planned - self.limit)

    @property
    def minutes_left(self) -> int:
        """Whole minutes that may be filmed at this light."""
        return int(Fraction(self.left) * 60 / self.lux)


def light_of(piece: Piece, house: HouseRules, year: int, lux: int, seconds: int, *, without: str = "") -> Light:
    """The light of a piece for a shoot.

    Args:
        piece: the piece.
        house: house rules with the classes.
        year: calendar year of the shoot.
        lux: light on the piece.
        seconds: time under it that is planned.
        without: id of the shoot itself, if it is on record already.

    Raises:
        BadInput: the lux cannot be.
    """
    kind = class_of(piece, house)
    used = used_in(piece, year, without=without)
    return Light(piece.id, kind.name, kind.limit_lux_hours, used, check_lux(lux), seconds)


def light_words(light: Light, name: str) -> str:
    """The light of a piece in one sentence."""
    had = f"{int(light.used):,} of {light.limit:,} lux hours used this year ({light.light_class})"
    if light.exceeds_by:
        over = number(light.exceeds_by)
        hours = number(Fraction(light.seconds, 3600))
        return (
            f"{name}: {had}; {hours} h at {light.lux:,} lux exceed the limit by {over} lux hours: "
            f"film at most {light.minutes_left} minutes, or dim the lamps"
        )
    return f"{name}: {had}; {light.minutes_left:,} minutes are left at {light.lux:,} lux"
