"""The record of publications (append-only), supporters, and what calendars were told."""

from __future__ import annotations

from datetime import date, datetime

from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.record import record


@record
class Publication:
    """One line of the record: what was planned for a slot and what came."""

    id: str
    """Permanent id."""
    title: str
    """Title as published, or as planned if it was missed."""
    rule: str
    """Id of the slot rule it was for."""
    planned: date | None
    """Day it was planned for; None if not known."""
    actual: FuzzyDate | None
    """When it was published; None if the slot was missed."""
    episode: str = ""
    """Id of the episode; empty for filler that was never named."""
    series: str = ""
    """Id of the series of a study; empty for filler."""
    link: str = ""
    """Where it can be watched."""

    @property
    def day(self) -> date | None:
        """Latest day it can have come out; None if missed."""
        return self.actual.latest if self.actual else None

    @property
    def late_or_missed(self) -> bool:
        """Whether it surely came after its planned day, or not at all."""
        if self.actual is None:
            return True
        return self.planned is not None and self.actual.earliest is not None and self.actual.earliest > self.planned

    @property
    def punctuality_known(self) -> bool:
        """Whether the line says if the slot was kept (a planned day, or a miss)."""
        return self.planned is not None or self.actual is None


@record
class Supporter:
    """Someone to be thanked."""

    id: str
    """Permanent id."""
    name: str
    """Name; printed only with consent."""
    consent: bool = False
    """Whether the name may be spoken and printed."""
    first: date | None = None
    """First day of support; None if not known."""
    last: date | None = None
    """Last day of support (inclusive); None while it goes on."""
    say: str = ""
    """How to say the name."""


@record
class CalendarEntry:
    """What the last export told calendars about one entry, so that its next revision is higher."""

    id: str
    """UID of the entry in the calendar."""
    sequence: int
    """Revision last exported (RFC 5545 3.8.7.4)."""
    stamp: datetime
    """Instant of that revision, UTC (DTSTAMP and LAST-MODIFIED)."""
    content: str
    """The exported content in canonical form, for telling whether anything changed and for cancelling."""
    cancelled: bool = False
    """Whether it was exported as CANCELLED."""
