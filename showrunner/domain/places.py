"""Time zones as people name them: by a town, a country or a region, which the time zone database lists."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from functools import cache
from importlib.resources import files
from zoneinfo import ZoneInfo

from showrunner.domain.record import record
from showrunner.domain.words import plain, short, some
from showrunner.domain.zone import is_zone
from showrunner.errors import BadInput

CALLED = {
    "usa": "united states",
    "us": "united states",
    "america": "united states",
    **dict.fromkeys(("uk", "united kingdom", "great britain", "england", "scotland", "wales"), "britain (uk)"),
}
"""What people call countries that the database names otherwise."""

SEASONS = (datetime(2025, 1, 15), datetime(2025, 7, 15))
"""Instants at which zones are held against each other: of those that agree at both, one stands for all."""


@record
class Spot:
    """A zone as `zone.tab` of the time zone database lists it."""

    zone: str
    """IANA name."""
    country: str
    """Name of its country."""
    region: str
    """What part of the country it is; empty if it is the whole."""

    @property
    def town(self) -> str:
        """The town it is named after."""
        return self.zone.rsplit("/", 1)[-1].replace("_", " ")

    @property
    def words(self) -> str:
        """Where it is, in words: `Hobart, Tasmania, Australia`."""
        region = "" if self.region.startswith("most of ") else self.region.removesuffix(" (most areas)")
        return ", ".join(dict.fromkeys(part for part in (self.town, region, self.country) if part))


def zone_of(text: str) -> str:
    """The zone that a person means.

    Args:
        text: an IANA name, or a town, a country or a region that the database names: `Hobart`, `germany`, `tasmania`.

    Returns:
        Its IANA name; of a country with several zones that all show one time, its first.

    Raises:
        BadInput: nothing is written, no place is called that, or several are that show different times.
    """
    wanted = _plain(text)
    if not wanted:
        raise BadInput("no place is written", "time zone", "write the country, or a large town near you")
    if "/" in text or wanted == "utc":
        name = text.strip().upper() if wanted == "utc" else text.strip()
        exact = next((spot.zone for spot in _spots() if spot.zone.lower() == name.lower()), name)
        if is_zone(exact):
            return exact
    country = CALLED.get(wanted, wanted)
    for found in (
        [spot for spot in _spots() if wanted == _plain(spot.town)],
        [spot for spot in _spots() if country == _plain(spot.country)],
        [spot for spot in _spots() if f" {wanted}" in f" {_plain(spot.words)}"],
    ):
        if found:
            return _one_time(found, text)
    raise BadInput(
        f"no place called '{short(text)}' is known", "time zone", "write the country, or a larger town near you"
    )


def likely_zone(names: Iterable[str]) -> str:
    """The first of some names that is the zone of a place; empty if none is, such as where a computer keeps UTC."""
    return next((name for name in names if "/" in name and not name.startswith("Etc/") and is_zone(name)), "")


def zone_words(zone: str) -> str:
    """Where a zone is, in words; its own name if the database lists no place for it."""
    return next((spot.words for spot in _spots() if spot.zone == zone), zone)


def _one_time(found: list[Spot], text: str) -> str:
    """The first of several zones, if a clock shows the same in all."""
    times: dict[tuple[timedelta | None, ...], Spot] = {}
    for spot in found:
        zone = ZoneInfo(spot.zone)
        times.setdefault(tuple(at.replace(tzinfo=zone).utcoffset() for at in SEASONS), spot)
    if len(times) > 1:
        towns = some([spot.town for spot in times.values()], 8)
        raise BadInput(f"'{short(text)}' has several times", "time zone", f"write the town nearest to you: {towns}")
    return found[0].zone


def _plain(text: str) -> str:
    return plain(text.replace("_", " "))


@cache
def _spots() -> tuple[Spot, ...]:
    """Every zone of the database's list of places, in its order."""
    table = files("tzdata.zoneinfo")
    countries = dict(line.split("\t") for line in _lines(table.joinpath("iso3166.tab").read_text("utf-8")))
    return tuple(
        Spot(zone, countries[code], rest[0] if rest else "")
        for code, _, zone, *rest in (line.split("\t") for line in _lines(table.joinpath("zone.tab").read_text("utf-8")))
    )


def _lines(text: str) -> list[str]:
    return [line for line in text.splitlines() if line and not line.startswith("#")]
