"""The daylight clock against published times of sunset.

London and Reykjavík on 21 June 2022, 21:21 and 00:03 of the next day: inews.co.uk, "What time is sunset on the 2022
summer solstice?". London on 22 December 2007, 15:53: flat36.blogspot.com, "The days are getting shorter", 2 October
2007. Longyearbyen, polar night from 26 October to 16 February, midnight sun from 18 April to 23 August: "Sun events in
Longyearbyen", of the town's sun dial (Svalbard Samfunnsdrift and Longyearbyen Lokalstyre).
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from showrunner.domain.house import HouseRules
from showrunner.errors import BadInput
from showrunner.planning.daylight import DayEnd, daylight
from showrunner.tui.set_up_text import day_rows


def house(latitude: str, longitude: str, zone: str, until: time | None = None) -> HouseRules:
    return HouseRules(zone=zone, latitude=Decimal(latitude), longitude=Decimal(longitude), film_until=until)


LONDON = ("51.51", "-0.13", "Europe/London")
REYKJAVIK = ("64.15", "-21.94", "Atlantic/Reykjavik")
SVALBARD = ("78.22", "15.65", "Arctic/Longyearbyen")


@pytest.mark.parametrize(
    ("place", "day", "published"),
    [
        (LONDON, date(2022, 6, 21), datetime(2022, 6, 21, 21, 21)),
        (LONDON, date(2007, 12, 22), datetime(2007, 12, 22, 15, 53)),
        (REYKJAVIK, date(2022, 6, 21), datetime(2022, 6, 22, 0, 3)),
    ],
)
def test_the_sun_is_down_at_the_published_time(place: tuple[str, str, str], day: date, published: datetime) -> None:
    found = daylight(house(*place), day)
    assert found.end is DayEnd.SUNSET
    assert found.at is not None
    assert abs(found.at - published.replace(tzinfo=ZoneInfo(place[2]))) <= timedelta(minutes=1)


@pytest.mark.parametrize(
    ("day", "end"),
    [
        (date(2026, 12, 1), DayEnd.NEVER_UP),
        (date(2026, 6, 1), DayEnd.NEVER_DOWN),
        (date(2026, 10, 20), DayEnd.SUNSET),
        (date(2026, 10, 28), DayEnd.NEVER_UP),
        (date(2026, 2, 14), DayEnd.NEVER_UP),
        (date(2026, 4, 16), DayEnd.SUNSET),
        (date(2026, 4, 21), DayEnd.NEVER_DOWN),
        (date(2026, 8, 22), DayEnd.NEVER_DOWN),
    ],
)
def test_a_place_without_daylight_or_without_night_is_told(day: date, end: DayEnd) -> None:
    found = daylight(house(*SVALBARD), day)
    assert found.end is end
    assert found.sunless is (end is DayEnd.NEVER_UP)
    assert (found.at is None) is (end is not DayEnd.SUNSET)
    noon = datetime.combine(day, time(12), UTC)
    words = {DayEnd.NEVER_UP: "! no sun today", DayEnd.NEVER_DOWN: "sun up all night", DayEnd.SUNSET: "sun down in"}
    assert [label for label, _ in day_rows(found, noon, SVALBARD[2])] == [words[end]]


def test_a_time_of_the_house_ends_filming_if_it_comes_first() -> None:
    day = date(2024, 6, 20)
    until = daylight(house(*LONDON, time(17, 30)), day)
    assert (until.end, until.at) == (DayEnd.SET_TIME, datetime(2024, 6, 20, 16, 30, tzinfo=UTC))
    assert daylight(house(*LONDON, time(22, 0)), day).end is DayEnd.SUNSET
    alone = daylight(HouseRules(zone="Europe/London", film_until=time(17, 30)), day)
    assert alone.end is DayEnd.SET_TIME
    assert daylight(HouseRules(), day).end is DayEnd.UNKNOWN
    dark = daylight(house(*SVALBARD, time(15, 0)), date(2026, 12, 1))
    assert (dark.end, dark.sunless) == (DayEnd.SET_TIME, True)


def test_minutes_run_down_and_then_it_is_said_since_when() -> None:
    found = daylight(house(*LONDON, time(17, 30)), date(2024, 6, 20))
    assert found.at is not None
    at = found.at
    assert day_rows(found, at - timedelta(minutes=61), "Europe/London") == [("filming ends in", "61 min")]
    assert day_rows(found, at - timedelta(seconds=1), "Europe/London") == [("filming ends in", "1 min")]
    assert day_rows(found, at, "Europe/London") == [("! filming ends", "since 17:30")]
    assert found.seconds_left(at + timedelta(minutes=2)) == -120
    assert not day_rows(daylight(HouseRules(), date(2024, 6, 20)), at, "UTC")


@pytest.mark.parametrize(
    ("latitude", "longitude", "said"),
    [
        ("90.5", "0", "90.5 degrees is no latitude"),
        ("0", "-181", "-181 degrees is no longitude"),
    ],
)
def test_degrees_that_no_place_has_are_refused(latitude: str, longitude: str, said: str) -> None:
    with pytest.raises(BadInput, match=said):
        house(latitude, longitude, "UTC")


def test_half_a_place_is_refused() -> None:
    with pytest.raises(BadInput, match="latitude and longitude go together"):
        HouseRules(latitude=Decimal(48))


def test_in_a_zone_that_the_system_does_not_know_there_is_no_clock() -> None:
    assert daylight(house("48", "16", "Nowhere/Else", time(17)), date(2026, 3, 2)).end is DayEnd.UNKNOWN


@pytest.mark.parametrize("latitude", ["90", "-90", "66.5", "-66.5", "0"])
@pytest.mark.parametrize("day", [date(2026, 3, 20), date(2026, 6, 21), date(2026, 9, 23), date(2026, 12, 21)])
def test_every_place_on_every_day_has_an_answer(latitude: str, day: date) -> None:
    assert daylight(house(latitude, "180", "Pacific/Kiritimati"), day).end is not DayEnd.UNKNOWN
