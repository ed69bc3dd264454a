"""How long there is light to film by: until the sun is down where the house stands, or until a time set by the house.

The sun is `astral`'s: it is down when its upper edge is on a level horizon, refraction allowed for.
"""

from __future__ import annotations

from contextlib import suppress
from datetime import UTC, date, datetime, time, timedelta
from enum import StrEnum
from functools import lru_cache
from zoneinfo import ZoneInfo

from showrunner.domain.house import HouseRules
from showrunner.domain.record import record
from showrunner.domain.zone import is_zone


class DayEnd(StrEnum):
    """What ends the light of a day."""

    SUNSET = "sunset"
    """The sun goes down."""
    SET_TIME = "set time"
    """A time of the house that comes before it."""
    NEVER_UP = "never up"
    """The sun does not come up that day."""
    NEVER_DOWN = "never down"
    """The sun does not go down that day."""
    UNKNOWN = "unknown"
    """Neither a place nor a time is set, or the system does not know the zone."""


@record
class Daylight:
    """The end of a day's light."""

    end: DayEnd
    """What ends it."""
    at: datetime | None = None
    """When, UTC; None where nothing does."""
    sunless: bool = False
    """Whether the sun does not come up that day, which a set time does not change."""

    def seconds_left(self, now: datetime) -> int:
        """Seconds of light left at an instant, below 0 once it is over.

        Args:
            now: the instant; `at` must be known.
        """
        assert self.at is not None
        return int((self.at - now).total_seconds())


def daylight(house: HouseRules, day: date) -> Daylight:
    """What ends the light of a day at home.

    Args:
        house: the house rules: its place, zone and the time by which filming ends.
        day: the day at home.
    """
    sun = Daylight(DayEnd.UNKNOWN)
    if not is_zone(house.zone):
        return sun
    if house.latitude is not None and house.longitude is not None:
        sun = _sun(float(house.latitude), float(house.longitude), house.zone, day)
    if house.film_until is None:
        return sun
    until = datetime.combine(day, house.film_until, ZoneInfo(house.zone)).astimezone(UTC)
    return sun if sun.at is not None and sun.at <= until else Daylight(DayEnd.SET_TIME, until, sun.sunless)


@lru_cache(maxsize=16)
def _sun(latitude: float, longitude: float, zone: str, day: date) -> Daylight:
    from astral import Observer
    from astral.sun import elevation, noon, sunset

    where, home = Observer(latitude, longitude), ZoneInfo(zone)
    midday = datetime.combine(day, time(12), home)
    for evening in (day, day + timedelta(1)):  # in a bright summer it comes after midnight
        with suppress(ValueError):  # it does not cross the horizon that day
            if (down := sunset(where, evening, home)) > midday:
                return Daylight(DayEnd.SUNSET, down.astimezone(UTC))
    up = elevation(where, noon(where, day, UTC)) > 0
    return Daylight(DayEnd.NEVER_DOWN) if up else Daylight(DayEnd.NEVER_UP, sunless=True)
