"""The country a house stands in, as far as laws on old pieces differ by it, told by its zone.

Zones by country are those of `zone.tab` of the IANA time zone database; a test holds this list against it.
"""

from __future__ import annotations

from enum import StrEnum


class Country(StrEnum):
    """Where the law is told apart; the European Union counts as one."""

    US = "US"
    GB = "GB"
    EU = "EU"
    AU = "AU"
    OTHER = ""


_ZONES = {
    Country.GB: "Europe/London",
    Country.EU: (
        "Europe/Vienna Europe/Brussels Europe/Sofia Asia/Nicosia Asia/Famagusta Europe/Prague Europe/Berlin "
        "Europe/Busingen Europe/Copenhagen Europe/Tallinn Europe/Madrid Africa/Ceuta Atlantic/Canary Europe/Helsinki "
        "Europe/Paris Europe/Athens Europe/Zagreb Europe/Budapest Europe/Dublin Europe/Rome Europe/Vilnius "
        "Europe/Luxembourg Europe/Riga Europe/Malta Europe/Amsterdam Europe/Warsaw Europe/Lisbon Atlantic/Madeira "
        "Atlantic/Azores Europe/Bucharest Europe/Stockholm Europe/Ljubljana Europe/Bratislava"
    ),
    Country.US: (
        "America/New_York America/Detroit America/Chicago America/Menominee America/Denver America/Boise "
        "America/Phoenix America/Los_Angeles America/Anchorage America/Juneau America/Sitka America/Metlakatla "
        "America/Yakutat America/Nome America/Adak Pacific/Honolulu"
    ),
    Country.AU: "Antarctica/Macquarie",
}

_REGIONS = {
    "Australia/": Country.AU,
    "US/": Country.US,
    "America/Kentucky/": Country.US,
    "America/Indiana/": Country.US,
    "America/North_Dakota/": Country.US,
}

_COUNTRY = {zone: country for country, zones in _ZONES.items() for zone in zones.split()}


def country_of(zone: str) -> Country:
    """The country of an IANA zone; OTHER where its law is not told here."""
    region = next((country for start, country in _REGIONS.items() if zone.startswith(start)), Country.OTHER)
    return _COUNTRY.get(zone, region)
