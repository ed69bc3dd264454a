"""Zones by places, held against the time zone database that another library carries."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

import pytest
import pytz

from showrunner.domain.places import likely_zone, zone_of, zone_words
from showrunner.errors import BadInput


@pytest.mark.parametrize(
    ("text", "zone"),
    [
        ("Hobart", "Australia/Hobart"),
        ("tasmania", "Australia/Hobart"),
        ("new york", "America/New_York"),
        ("Germany", "Europe/Berlin"),
        ("UK", "Europe/London"),
        ("Scotland", "Europe/London"),
        ("europe/vienna", "Europe/Vienna"),
        ("US/Eastern", "US/Eastern"),
        ("utc", "UTC"),
    ],
)
def test_a_place_gives_its_zone(text: str, zone: str) -> None:
    assert zone_of(text) == zone


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("USA", "'USA' has several times; write the town nearest to you: New York, Chicago"),
        ("Munich", "no place called 'Munich' is known; write the country"),
        (" ", "no place is written"),
        ("Europe/Nowhere", "no place called"),
    ],
)
def test_a_place_that_gives_none_is_refused_with_a_way_out(text: str, told: str) -> None:
    with pytest.raises(BadInput) as caught:
        zone_of(text)
    assert told in caught.value.sentence()


@pytest.mark.slow
def test_every_country_gives_a_zone_of_its_own_or_says_which_there_are() -> None:
    """The countries and their zones as `pytz` has them, from the same database (IANA, `zone.tab`)."""
    noons = [datetime(2025, month, 15, 12) for month in range(1, 13)]
    for code, zones in pytz.country_timezones.items():
        name = pytz.country_names[code]
        clocks = {tuple(noon.replace(tzinfo=ZoneInfo(zone)).utcoffset() for noon in noons) for zone in zones}
        try:
            assert zone_of(name) in zones, name
        except BadInput as error:
            assert len(clocks) > 1, name
            assert "has several times" in error.what
        else:
            assert len(clocks) == 1, name
        for zone in zones:
            assert name in zone_words(zone)


def test_a_computer_that_keeps_utc_says_nothing_of_where_it_is() -> None:
    assert likely_zone(("Etc/UTC", "UTC")) == ""
    assert likely_zone(("/etc/localtime", "Europe/Nowhere", "Europe/Vienna")) == "Europe/Vienna"
    assert likely_zone(()) == ""
    assert zone_words("UTC") == "UTC"
