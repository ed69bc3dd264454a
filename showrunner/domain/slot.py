"""The weekly publishing slots and their dated occurrences."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from showrunner.domain.house import DAY_MINUTES
from showrunner.domain.record import record
from showrunner.domain.words import day as day_words
from showrunner.errors import BadInput


@record
class EarlierTimes:
    """How a weekly slot was until a day, before it changed."""

    until: date
    """The last day it was so."""
    weekday: int
    """0 Monday to 6 Sunday."""
    at: time
    """Wall-clock time of publication."""
    zone: str
    """IANA zone of the wall clock."""
    standing_minutes: int = 0
    """Minutes of work its usual content cost each week."""


@record
class SlotRule:
    """A fixed weekly publishing slot; what it was before it changed is kept, since the record speaks of that."""

    id: str
    """Permanent id."""
    name: str
    """What usually fills it (`making diary`)."""
    weekday: int
    """0 Monday to 6 Sunday, on the wall clock of `zone`."""
    at: time
    """Wall-clock time of publication; it survives clock changes."""
    zone: str
    """IANA zone of the wall clock."""
    standing_minutes: int = 0
    """Minutes of work its usual content costs each week."""
    first: date | None = None
    """First day the rule holds; None for always."""
    last: date | None = None
    """Last day the rule holds (inclusive); None for no end."""
    earlier: tuple[EarlierTimes, ...] = ()
    """How it was before, oldest first."""
    left_out: tuple[date, ...] = ()
    """Days on which it would come and does not."""
    added: tuple[date, ...] = ()
    """Days on which it comes once more; always at the time that then holds."""

    def __post_init__(self) -> None:
        if not 0 <= self.weekday <= 6:
            raise BadInput(f"weekday {self.weekday} is not 0 (Monday) to 6 (Sunday)", self.name, "give a weekday")
        if not 0 <= self.standing_minutes <= 7 * DAY_MINUTES:
            raise BadInput("standing hours must be between 0 and the 168 of a week", self.name, "give fewer hours")
        untils = [times.until for times in self.earlier]
        if untils != sorted(set(untils)):
            raise BadInput("its earlier times are not in order", self.name, "put the oldest first")

    def on(self, day: date) -> SlotRule | EarlierTimes:
        """The weekday, time, zone and standing work that hold on a day."""
        return next((times for times in self.earlier if day <= times.until), self)

    @property
    def stretches(self) -> tuple[tuple[date | None, date | None, SlotRule | EarlierTimes], ...]:
        """Every stretch of days with what holds then: first day (None: from ever), last day (None: for ever)."""
        begins = [None, *(times.until + timedelta(1) for times in self.earlier)]
        ends = [*(times.until for times in self.earlier), None]
        return tuple(zip(begins, ends, (*self.earlier, self), strict=True))

    def holds_on(self, day: date) -> bool:
        """Whether the rule is in force on a day: not before its first day nor after its last."""
        return (self.first is None or self.first <= day) and (self.last is None or day <= self.last)

    def comes_on(self, day: date) -> bool:
        """Whether a day is one of its slots."""
        usual = day.weekday() == self.on(day).weekday and day not in self.left_out
        return self.holds_on(day) and (usual or day in self.added)


@dataclass(frozen=True, slots=True, order=True)
class SlotRef:
    """Names one slot: the rule and the local day."""

    day: date
    """Local day of the slot."""
    rule: str
    """Id of its rule."""


@record
class Slot:
    """One dated occurrence of a slot rule."""

    rule: str
    """Id of its rule."""
    day: date
    """Day on the rule's wall clock."""
    start: datetime
    """The instant of publication, in UTC."""

    @property
    def ref(self) -> SlotRef:
        """The name of this slot."""
        return SlotRef(self.day, self.rule)


@record
class DarkRange:
    """A date range without work, without publication, or without both."""

    id: str
    """Permanent id."""
    first: date
    """First dark day."""
    last: date
    """Last dark day (inclusive)."""
    no_work: bool = True
    """Whether no work is done."""
    no_publication: bool = False
    """Whether nothing is published."""
    reason: str = ""
    """Why, in words."""
    busy_uid: str = ""
    """UID of the busy calendar's event it came from; empty if entered by hand."""

    def __post_init__(self) -> None:
        if self.last < self.first:
            raise BadInput(
                f"the dark days end ({day_words(self.last)}) before they begin ({day_words(self.first)})",
                self.reason or "dark days",
                "swap the dates",
            )
        if not (self.no_work or self.no_publication):
            raise BadInput("dark days stop work, publication or both", self.reason or "dark days", "choose one")

    def covers(self, day: date) -> bool:
        """Whether `day` lies in the range."""
        return self.first <= day <= self.last


LONGEST_DAY = 25 * 60
"""Minutes of the day on which clocks go back."""


@record
class BusyDay:
    """The time of one day that another calendar says is taken; the working hours of that day are less by it."""

    id: str
    """Permanent id."""
    day: date
    """The day, on the clock of the house."""
    spans: tuple[tuple[int, int], ...]
    """Minutes after its midnight, start and exclusive end of each stretch, in order and apart."""
    reason: str = ""
    """What takes them, in words."""

    def __post_init__(self) -> None:
        last = -1
        for start, end in self.spans:
            if not last < start < end <= LONGEST_DAY:
                raise BadInput(
                    "its busy times are not in order within the day", self.reason or str(self.day), "mend it"
                )
            last = end
        if not self.spans:
            raise BadInput("none of its time is busy", self.reason or str(self.day), "leave the day out")
