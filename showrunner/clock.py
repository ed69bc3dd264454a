"""The only reader of the real date and time; everything else is told what day it is."""

from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo


def today(zone: str) -> date:
    """The present day on the wall clock of `zone` (an IANA name)."""
    return datetime.now(ZoneInfo(zone)).date()


def now() -> datetime:
    """The present instant in UTC, to the second."""
    return datetime.now(UTC).replace(microsecond=0)
