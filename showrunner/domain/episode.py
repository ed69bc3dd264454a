"""Series, studies, filler, and the promises made about them."""

from __future__ import annotations

from dataclasses import fields
from datetime import date
from enum import StrEnum

from showrunner.domain.house import check_day_minutes
from showrunner.domain.package import NOTHING, Package
from showrunner.domain.record import record
from showrunner.domain.slot import SlotRef
from showrunner.domain.words import day as day_words
from showrunner.errors import BadInput


class Stage(StrEnum):
    """One stage of the work on a study, in order."""

    RESEARCH = "research"
    CONDITION = "condition check"
    SHOOT = "shoot"
    EDIT = "edit"
    CAPTIONS = "captions"
    PACKAGE = "package"


@record
class StageMinutes:
    """Minutes of work a study takes, stage by stage."""

    research: int = 0
    """Minutes of research."""
    condition_check: int = 0
    """Minutes of checking the condition."""
    shoot: int = 0
    """Minutes of the shoot; never split across days."""
    edit: int = 0
    """Minutes of editing."""
    captions: int = 0
    """Minutes of captioning."""
    package: int = 0
    """Minutes of packaging for publication."""

    def __post_init__(self) -> None:
        for field in fields(self):
            if getattr(self, field.name) < 0:
                raise BadInput("hours below 0", field.name.replace("_", " "), "give 0 or more")
        check_day_minutes(self.shoot, "shoot (it must fit one day)")

    def of(self, stage: Stage) -> int:
        """Minutes of one stage."""
        return int(getattr(self, stage.value.replace(" ", "_")))

    @property
    def total(self) -> int:
        """Minutes of all stages."""
        return sum(self.of(stage) for stage in Stage)


@record
class Worked:
    """Hours that were put down as worked on an episode."""

    day: date
    """The day they were worked on."""
    minutes: int
    """Minutes, more than 0."""
    stage: Stage | None = None
    """Stage of a study; None for filler."""

    def __post_init__(self) -> None:
        if self.minutes <= 0:
            raise BadInput("no hours were worked", "work", "give more than 0")
        check_day_minutes(self.minutes, "work on one day")


@record
class Series:
    """Studies on one collection, with their spacing and allowed slots."""

    id: str
    """Permanent id."""
    name: str
    """Title of the series."""
    collection: str
    """Id of the collection it is about."""
    rules: tuple[str, ...]
    """Ids of the slot rules it may use."""
    min_weeks: int = 1
    """Least gap between consecutive studies, weeks."""
    target_weeks: int = 4
    """Wished gap, weeks."""
    max_weeks: int = 13
    """Gap above which a warning is given, weeks."""
    stages: StageMinutes = StageMinutes()
    """Work on one study unless the study says otherwise."""
    page: str = ""
    """Address of the page that lists its studies; empty if there is none."""
    listed: tuple[str, ...] = ()
    """Ids of the studies on that page, in its order."""

    def __post_init__(self) -> None:
        if not self.rules:
            raise BadInput("a series needs a slot it may use", self.name, "allow one")
        if not 0 <= self.min_weeks <= self.target_weeks <= self.max_weeks:
            raise BadInput(
                f"gaps of {self.min_weeks}, {self.target_weeks}, {self.max_weeks} weeks do not rise",
                self.name,
                "give the least, the wished and the most weeks, each no smaller than the one before",
            )


@record
class Window:
    """Dates a study should (soft) or must (hard) fall in."""

    first: date
    """First day of the window."""
    last: date
    """Last day of the window (inclusive)."""
    hard: bool = False
    """Whether it must be kept; otherwise it should."""
    yearly: bool = False
    """Whether it comes back every year on the same days of the year."""

    def __post_init__(self) -> None:
        if self.last < self.first:
            what = f"the window ends ({day_words(self.last)}) before it begins ({day_words(self.first)})"
            raise BadInput(what, "window", "swap the dates")
        if self.yearly and (self.last - self.first).days >= 365:
            raise BadInput("a yearly window must be shorter than a year", "window", "give a shorter one or none")


class EpisodeKind(StrEnum):
    """A study is about pieces; filler is any other episode."""

    STUDY = "study"
    FILLER = "filler"


@record
class Episode:
    """A study, or a filler episode worth naming."""

    id: str
    """Permanent id; its calendar entries keep their identity through it."""
    title: str
    """Working title."""
    kind: EpisodeKind = EpisodeKind.STUDY
    """Study or filler."""
    series: str = ""
    """Id of the series of a study; empty for filler."""
    pieces: tuple[str, ...] = ()
    """Ids of the pieces of a study (one or two)."""
    windows: tuple[Window, ...] = ()
    """A date must lie in one of the hard windows and should lie in one of the soft ones."""
    stages: StageMinutes | None = None
    """Work on this study; None for the hours of its series."""
    done: tuple[Stage, ...] = ()
    """Stages already finished."""
    finished: bool = False
    """Whether nothing is left to do: an unpublished finished episode is in the bank."""
    rule: str = ""
    """For filler, id of the slot rule it is meant for."""
    slot: SlotRef | None = None
    """The planned slot; None while it has none. Kept once published."""
    published: bool = False
    """Whether it has been published (the record says when)."""
    notes: str = ""
    """Anything else."""
    estimate_seconds: int = 0
    """Run time estimated at its shoot, seconds; 0 before."""
    run_seconds: int = 0
    """Run time once edited, seconds; 0 while not known."""
    worked: tuple[Worked, ...] = ()
    """Hours worked on it so far, as they were put down; a stage that is done needs none."""
    package: Package = NOTHING
    """What was made ready by hand for its publication."""
    idea_of: str = ""
    """For filler, id of the study that gave the idea for it, such as to make one now; empty if none did."""

    def __post_init__(self) -> None:
        if not self.title.strip():
            raise BadInput("an episode needs a title", self.id, "give it one")
        if self.kind is EpisodeKind.STUDY and not self.series:
            raise BadInput("a study belongs to a series", self.title, "choose one")
        if self.kind is EpisodeKind.FILLER and self.pieces:
            raise BadInput("filler shows no pieces", self.title, "make it a study")
        if len(set(self.pieces)) != len(self.pieces):
            raise BadInput("a piece is named twice", self.title, "name each piece once")
        if len(self.pieces) > 2:
            raise BadInput(f"a study shows one or two pieces, not {len(self.pieces)}", self.title, "split it")

    def worked_on(self, stage: Stage | None) -> int:
        """Minutes worked on one stage of a study; on filler with None."""
        return sum(work.minutes for work in self.worked if work.stage is stage)

    def left(self, stages: StageMinutes) -> tuple[tuple[Stage, int], ...]:
        """The stages of a study on which work is left, in order, with their minutes; none once it is finished."""
        if self.finished or self.published:
            return ()
        rest = ((s, stages.of(s) - self.worked_on(s)) for s in Stage if s not in self.done)
        return tuple((stage, minutes) for stage, minutes in rest if minutes > 0)


class PinKind(StrEnum):
    """What a pin promises."""

    DATE = "date"
    ORDER = "order"
    PAIR = "pair"


@record
class Pin:
    """A promise: this date, this order, or this pair."""

    id: str
    """Permanent id."""
    kind: PinKind
    """What is promised."""
    episodes: tuple[str, ...] = ()
    """Date: the one study. Order: the two studies, the first to be shown first."""
    slot: SlotRef | None = None
    """Date: the slot promised."""
    pieces: tuple[str, ...] = ()
    """Pair: the two pieces that are shown together."""
    reason: str = ""
    """To whom or why."""

    def __post_init__(self) -> None:
        good = {
            PinKind.DATE: len(self.episodes) == 1 and self.slot is not None,
            PinKind.ORDER: len(self.episodes) == 2 and self.episodes[0] != self.episodes[1],
            PinKind.PAIR: len(self.pieces) == 2 and self.pieces[0] != self.pieces[1],
        }[self.kind]
        if not good:
            raise BadInput(
                f"a pin of this {self.kind} names the wrong number of things",
                "pin",
                "a date pin names a study and a slot, an order pin two studies, a pair pin two pieces",
            )
