"""What the planning functions answer with; plain frozen values that commands and screens print."""

from __future__ import annotations

from datetime import date
from enum import StrEnum
from fractions import Fraction

from showrunner.domain.episode import Stage
from showrunner.domain.house import Unsure
from showrunner.domain.record import record
from showrunner.domain.rules import Member
from showrunner.domain.shoot import LogLine
from showrunner.domain.slot import Slot, SlotRef
from showrunner.planning.aims import Aim
from showrunner.planning.changes import Change
from showrunner.planning.hours import BusyHours


class Status(StrEnum):
    """How far a result is proven."""

    OPTIMAL = "optimal"
    """Proven: no plan is better in the order of aims."""
    TIME_LIMIT = "time limit"
    """The best plan found in time; `proven_gap` says how much better one could be."""
    INFEASIBLE = "infeasible"
    """Not all promises can be kept; `clashes` names the parties, and the plan keeps as many as can be."""


@record
class Warning:
    """Something to know, with its number in the words."""

    code: str
    """Short stable name: `gap-over-maximum`, `soft-window-missed`, `unplaced`, `standing-short`, `run-out`, ..."""
    text: str
    """One plain sentence."""


@record
class Price:
    """What it would cost to have a study in another slot, everything else re-optimised."""

    slot: SlotRef
    """The other slot."""
    possible: bool
    """Whether as many studies could still be placed."""
    points: Fraction
    """Points more (below 0: fewer) than the plan; 0 if not possible."""
    text: str
    """The price in words (`2 points more`, `the work would be 2 h short`)."""
    short_minutes: int | None = None
    """If not possible for want of hours: minutes which, found today, would make it possible with nothing lost."""


@record
class WayOut:
    """Changes that give a study a date; they were carried out on a copy of the book and it was solved again."""

    changes: tuple[Change, ...]
    """One change, or the two that help together."""
    airs: date
    """The day on which the study then airs."""
    text: str
    """The way out in one sentence."""


@record
class Placed:
    """One study with its slot and the proof of the date."""

    id: str
    """Id of the study; `piece:ID` for a study that does not exist yet and would be made for that piece."""
    title: str
    """Its title."""
    series: str
    """Id of its series."""
    pieces: tuple[str, ...]
    """Ids of its pieces."""
    slot: Slot
    """Where it is placed."""
    gap_days: int | None
    """Days since the study before it in the series; None if there is none."""
    minutes_needed: int
    """Minutes of everything that must be ready by the day this study must be ready."""
    minutes_available: int
    """Working minutes from today through that day."""
    reason: str
    """Why this date: the rule that binds, with its number."""
    moved_from: SlotRef | None
    """Slot it was planned for if that was another one; None otherwise."""
    pinned: bool
    """Whether a date pin holds it there."""
    implied: bool
    """Whether the study does not exist in the book yet."""
    earlier: Price | None
    """Price of the series' next earlier slot; None if there is none or it was not priced."""
    later: Price | None
    """Price of the series' next later slot; None if there is none or it was not priced."""


@record
class Unplaced:
    """A study without a slot, and the rule to relax."""

    id: str
    """As in `Placed`."""
    title: str
    """Its title."""
    series: str
    """Id of its series."""
    pieces: tuple[str, ...]
    """Ids of its pieces."""
    reason: str
    """The rule that stands in the way, with its number."""
    short_by: str
    """By how much it fails, with its unit (`2 h`, `3 weeks`); empty if no single change helps."""
    way_out: str
    """The cheapest way out in words, or that there is none."""
    short_minutes: int | None = None
    """Minutes that are missing; None if hours alone do not help."""
    ways_out: tuple[WayOut, ...] = ()
    """The cheapest kinds of change that help, three at most; if none does, two that help together."""


@record
class Clash:
    """One contradiction among promises."""

    text: str
    """The clash in one sentence, naming every party and a way out."""
    parties: tuple[str, ...]
    """Ids of studies, pins or pieces that clash."""
    members: tuple[Member, ...] = ()
    """What clashes; if any of it is left out, the rest can hold together."""
    missing_minutes: int | None = None
    """Minutes missing, if hours take part."""


@record
class Offer:
    """Better dates than those that stand."""

    moves: int
    """How many studies of the book would move."""
    more: int
    """How many more studies would have a slot."""
    points: Fraction
    """Unevenness of those dates, weeks squared."""


@record
class Plan:
    """The answer of the placing search."""

    status: Status
    """Proven optimal, stopped at the time limit, or infeasible."""
    proven: bool
    """Whether no plan is better in the order of aims."""
    points: Fraction
    """Spacing and soft windows, weeks squared."""
    proven_gap: Fraction
    """Most points a better plan could save; 0 if optimal."""
    missing_gap: int
    """Most further studies a better plan could place; 0 if optimal."""
    studies: tuple[Placed, ...]
    """Placed studies by slot."""
    unplaced: tuple[Unplaced, ...]
    """Studies without a slot, in book order."""
    warnings: tuple[Warning, ...]
    """Gaps over the maximum, soft windows missed, studies unplaced, ..."""
    clashes: tuple[Clash, ...]
    """Promises that cannot hold together; the plan then keeps as many of all as it can."""
    promises_made: int
    """Pins that bind: those of open studies and of pieces not yet shown together."""
    promises_kept: int
    """How many of them the plan keeps."""
    left_out: tuple[str, ...]
    """Ids of unsure pieces that are in no study and were left out."""
    today: date
    """The day it was computed for."""
    horizon_weeks: int
    """Weeks it looks ahead."""
    unsure: Unsure
    """How unsure pieces were taken."""
    aim: Aim
    """What it was made for."""
    solver_seconds: float
    """Seconds the search took by the ticker that was passed in; 0 without one."""
    stands: bool = False
    """Whether these are the dates that stand in the book, with those that have none yet around them."""
    breaks_rules: bool = False
    """If they stand: whether some hard rule is broken by them; `warnings` and the dated work say which."""
    offer: Offer | None = None
    """If they stand: better dates, if there are such."""


@record
class Task:
    """A stretch of work on one day."""

    day: date
    """The day of work."""
    minutes: int
    """Minutes of that day."""
    episode: str
    """Id of the study; empty for the standing content of a slot."""
    title: str
    """What it is for."""
    stage: Stage | None
    """Stage of a study; None for standing content or filler."""
    slot: SlotRef
    """The slot it serves."""
    ready_by: date
    """Day by which the whole must be ready."""


class Lack(StrEnum):
    """Why something does not fit."""

    HOURS = "hours"
    """A study has not the hours until it must be ready."""
    SHOOT_DAY = "shoot day"
    """A study has the hours, but no day that holds its shoot whole."""
    PAST = "past"
    """The slot of a study is past, and it is not on record."""
    CROWDED = "crowded"
    """Usual content has not the hours, because of the studies."""
    ALONE = "alone"
    """Usual content has not the hours, even without any study."""


@record
class Shortfall:
    """Work that does not fit."""

    title: str
    """The study or standing content that comes up short."""
    episode: str
    """Id of the study; empty for standing content."""
    slot: SlotRef
    """The slot it was to be ready for."""
    minutes: int
    """Minutes missing."""
    first_fit: SlotRef | None
    """First slot that works for it; None if none within the horizon."""
    text: str
    """The shortfall in one sentence, with the slot that works."""
    lack: Lack
    """Why it does not fit."""


@record
class Balance:
    """The prefix test on one day on which something must be ready."""

    day: date
    """The day."""
    needed: int
    """Minutes of everything that must be ready by then."""
    available: int
    """Working minutes from today through that day."""


@record
class Ahead:
    """Something that must be worked on before days without work, as it is due in them or soon after."""

    title: str
    """What it is."""
    episode: str
    """Id of the episode; empty for usual content that has no name."""
    slot: SlotRef
    """The slot it is for."""
    minutes: int
    """Minutes of it that must be done before."""


@record
class Trip:
    """Days in a row without work, and what must be done before them."""

    first: date
    """First day without work."""
    last: date
    """Last day without work."""
    reason: str
    """Why, in the owner's words; empty if she gave none."""
    items: tuple[Ahead, ...]
    """What must be done before, by the day it is due."""
    minutes: int
    """Minutes of it in all."""
    spare_minutes: int
    """Minutes before the first day that nothing else needs; fewer than `minutes` if they do not do."""


@record
class PickupWork:
    """Pickups that are mended together."""

    lines: tuple[LogLine, ...]
    """The pickups, oldest first."""
    box: str
    """The box that is opened for them; empty if none is."""
    study: str
    """Id of the study they are for."""
    title: str
    """Its title."""
    day: date | None
    """Day they stand on: with the next shoot that opens the box, else the last day of work before they are due.
    None if the study has no date and no dated shoot opens the box."""
    with_shoot: str
    """Id of the study whose shoot opens the box on that day; empty if none does."""
    ready_by: date | None
    """Day by which the study must be ready; None if it is not dated or out already."""

    @property
    def late(self) -> bool:
        """Whether that day comes after the one by which the study must be ready."""
        return self.day is not None and self.ready_by is not None and self.day > self.ready_by


@record
class WorkPlan:
    """Dated work, laid onto working days by earliest ready-by first."""

    tasks: tuple[Task, ...]
    """Tasks by day, then by ready-by."""
    slack_minutes: int | None
    """Least spare minutes on any ready-by day; None if nothing is planned."""
    slack_day: date | None
    """The day of that least spare."""
    shortfalls: tuple[Shortfall, ...]
    """What does not fit."""
    warnings: tuple[Warning, ...]
    """The shortfalls and anything else worth knowing, as sentences."""
    balances: tuple[Balance, ...] = ()
    """Needed and available minutes on every day on which something must be ready, by day."""
    ahead: tuple[Trip, ...] = ()
    """Days without work ahead for which work must be done before, the first one first."""
    busy: tuple[BusyHours, ...] = ()
    """Days of work ahead of which other calendars take a part, by day."""
    pickups: tuple[PickupWork, ...] = ()
    """Pickups that wait, by day; they have no hours of their own."""


@record
class SlipRate:
    """How often a series misses a planned slot: its own record, drawn towards that of all lines while it is short."""

    mean: float
    """The rate expected by the record, or the rate asked for."""
    low: float
    """Lower end of its 80% interval by the record."""
    high: float
    """Upper end of its 80% interval by the record."""
    late: int
    """Publications late or missed, of all series and filler."""
    recorded: int
    """Publications whose punctuality is known, of all series and filler."""
    own_late: int
    """The series' own studies late or missed."""
    own_recorded: int
    """The series' own studies whose punctuality is known."""
    given: bool
    """Whether the rate was asked for and not taken from the record; then no bad spells are allowed for."""


@record
class Settled:
    """What would be left once one doubt is settled one way."""

    pieces_left: tuple[int, int]
    """Least and most pieces left to show."""
    studies_left: tuple[int, int]
    """Least and most studies left."""
    quantiles: tuple[date | None, date | None, date | None]
    """10%, 50% and 90% end; None if beyond the days looked at."""


@record
class Doubt:
    """An unsure piece and what settling it would do."""

    piece: str
    """Id of the piece."""
    name: str
    """Its name."""
    chance_unshown: Fraction
    """Its odds."""
    narrows_days: float
    """Days by which the 10-90% range of the end is expected to narrow once it is settled."""
    narrows_pieces: int
    """Pieces by which the range of pieces left narrows (always 1)."""
    text: str
    """The doubt in one sentence."""
    if_shown: Settled
    """What would be left if it turned out to be shown."""
    if_unshown: Settled
    """What would be left if it turned out not to be shown."""


@record
class BankCover:
    """How far the bank reaches for one slot rule."""

    rule: str
    """Id of the rule."""
    name: str
    """Its name."""
    weeks: int
    """Coming slots in a row that finished episodes cover."""
    next_gap: date | None
    """First slot that nothing covers; None within the horizon."""


@record
class PieceStep:
    """Pieces left after a day, for the chart."""

    day: date
    """The day."""
    low: int
    """Pieces left if every unsure piece was shown."""
    high: int
    """Pieces left if none was."""


@record
class FanStep:
    """Forecast of pieces left after a day."""

    day: date
    """A slot day."""
    p10: int
    """10% quantile of pieces left."""
    p50: int
    """Median of pieces left."""
    p90: int
    """90% quantile of pieces left."""


@record
class LateRisk:
    """The chance that a study with a hard window airs after it."""

    id: str
    """Id of the study."""
    title: str
    """Its title."""
    chance: float
    """Probability."""


class Dates(StrEnum):
    """Which dates a forecast rests on."""

    BEST = "best"
    """No dates are accepted: every outcome of the doubts has its own best dates."""
    ACCEPTED = "accepted"
    """The outcome that was planned for has the dates of the book, every other its own best dates."""
    KEPT = "kept"
    """Every outcome has the dates of the book, with what it adds placed around them."""


@record
class RunOut:
    """When the unshown pieces are used up."""

    series: str
    """Id of the series."""
    pieces_left: tuple[int, int]
    """Least and most pieces left to show."""
    studies_left: tuple[int, int]
    """Least and most studies left."""
    end: tuple[tuple[date, float], ...]
    """Exact distribution of the day of the last study, by day."""
    beyond: float
    """Probability that the end lies beyond `horizon_end` or that the work never fits."""
    horizon_end: date
    """Last day looked at."""
    quantiles: tuple[date | None, date | None, date | None]
    """10%, 50% and 90% end; None if beyond `horizon_end`."""
    dates: Dates
    """Which dates the outcomes have."""
    slip_rate: SlipRate
    """The rate used."""
    slip_rates_by_series: tuple[tuple[str, SlipRate], ...]
    """The rate of each series by its record."""
    late_risks: tuple[LateRisk, ...]
    """Chances of airing after a hard window, above 0 only."""
    warns: bool
    """Whether the 50% end lies within the warning lead (equal counts)."""
    warnings: tuple[Warning, ...]
    """The run-out warning and others."""
    doubts: tuple[Doubt, ...]
    """Unsure pieces, most worth settling first."""
    bank: tuple[BankCover, ...]
    """Weeks covered by the bank, rule by rule."""
    past: tuple[PieceStep, ...]
    """Pieces left over the past, for the chart."""
    now: FanStep
    """Pieces left today: only the doubts make it a range."""
    fan: tuple[FanStep, ...]
    """Forecast of pieces left after each slot day to come, for the chart."""
    statement: str
    """What may be said to viewers: a range, by months, never firmer than the data."""
    stale: date
    """The first day on which the statement may no longer be true."""
