"""The only reader of the real date and time; everything else is told what day it is."""

from __future__ import annotations

import os
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from time import perf_counter, process_time
from typing import Self
from zoneinfo import ZoneInfo

DAY = timedelta(days=1)


def now() -> datetime:
    """The present instant in UTC, to the second."""
    return datetime.now(UTC).replace(microsecond=0)


def day_of(instant: datetime, zone: str) -> date:
    """The day that the wall clock of `zone` (an IANA name) shows at an instant."""
    return instant.astimezone(ZoneInfo(zone)).date()


def today(zone: str) -> date:
    """The present day on the wall clock of `zone` (an IANA name)."""
    return day_of(now(), zone)


LOCAL_TIME = Path("/etc/localtime")
"""The link to the zone of this computer."""


def zones_here() -> tuple[str, ...]:
    """Names of the zone that this computer is set to, the likeliest first; whether they are zones is not looked at."""
    told = os.environ.get("TZ", "").removeprefix(":")
    _, _, linked = str(LOCAL_TIME.resolve()).partition("zoneinfo/")
    return tuple(name for name in (told, linked) if name)


@dataclass(frozen=True, slots=True)
class FixedDay:
    """A day on which a book is opened though it is another in truth, and the time that runs on from there.

    How far it lies from the real time is settled once, by :meth:`begin`, and never again. So its instants are as
    far apart as the real ones, midnight brings the next day, and neither a change of the clocks nor another zone
    of the house makes anything jump.
    """

    day: date
    """The day on which it begins."""
    begun: datetime
    """The instant at which it begins, UTC."""
    shift: timedelta
    """What is added to a real instant."""

    @classmethod
    def begin(cls, day: date, now: datetime, zone: str, after: datetime | None = None) -> Self:
        """Begin on a day, at the time of day that it is in truth.

        Args:
            day: the fixed day.
            now: the real instant, UTC.
            zone: the zone of the house, whose wall clock tells the time of day.
            after: an instant that has been already, UTC, such as the last one written down: the fixed time then
                begins whole days later, so that it goes on from there. None for none.
        """
        local = now.astimezone(ZoneInfo(zone))
        begun = now if local.date() == day else _at(day, local.time(), zone)
        if after is not None and begun < after:
            begun += -((begun - after) // DAY) * DAY
        return cls(day, begun, begun - now)

    def instant(self, now: datetime) -> datetime:
        """The instant that stands for the real instant `now`, UTC."""
        return now + self.shift

    def today(self, now: datetime, zone: str) -> date:
        """The day at the real instant `now`: the fixed day and a day for each midnight in `zone` since it began."""
        midnights = day_of(self.instant(now), zone) - day_of(self.begun, zone)
        return self.day + max(midnights, timedelta(0))


def _at(day: date, at: time, zone: str) -> datetime:
    """The instant, UTC, of a time of day: of a doubled one the first, of one that is skipped as long after the gap."""
    return datetime.combine(day, at.replace(fold=0), ZoneInfo(zone)).astimezone(UTC)


class Stopwatch:
    """Processor seconds of this process; read often, it asks the system only now and then, since that takes time."""

    def __init__(self) -> None:
        self._asked = perf_counter()
        self._seconds = process_time()

    def __call__(self) -> float:
        """Seconds, at most a hundredth old."""
        now = perf_counter()
        if now - self._asked >= 0.01:
            self._asked, self._seconds = now, process_time()
        return self._seconds
