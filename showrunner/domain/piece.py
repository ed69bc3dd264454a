"""A piece: one object of a collection, and everything known, doubted or feared about it."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.opening import Opens
from showrunner.domain.record import record
from showrunner.errors import BadInput


class Presence(StrEnum):
    """Whether a feature is there to be shown, gone, or only traceable."""

    PRESENT = "present"
    ABSENT = "absent"
    TRACE = "trace"


class Confidence(StrEnum):
    """How firmly something is held."""

    SURE = "sure"
    PROBABLE = "probable"
    POSSIBLE = "possible"


class Known(StrEnum):
    """Whether a piece has been shown."""

    YES = "yes"
    NO = "no"
    UNSURE = "unsure"


class View(StrEnum):
    """One way a piece is shown to the camera."""

    FLAT_FACE = "flat face"
    FLAT_REVERSE = "flat reverse"
    INSIDE = "inside"
    FORM_FRONT = "form front"
    FORM_LEFT = "form left"
    FORM_RIGHT = "form right"
    FORM_BACK = "form back"
    FRONT = "front"
    LEFT = "left side"
    RIGHT = "right side"
    BACK = "back"
    PROFILE = "profile"
    PAIR = "as a pair"
    TOP = "top"
    SOLE = "sole"
    BASE = "base"
    CLOSED = "closed"
    OPEN = "open"
    OPEN_REVERSE = "open reverse"
    PALM = "palm"
    CLASP = "clasp"
    SIDE_BY_SIDE = "side by side"
    DETAIL = "detail"


class WantStatus(StrEnum):
    """Where a piece of a shopping collection stands."""

    WANTED = "wanted"
    ORDERED = "ordered"
    ARRIVED = "arrived"
    DECLINED = "declined"


@record
class Feature:
    """Something on a piece to show, or whose absence is to be spoken."""

    what: str
    """The feature in words (`watch pocket added later`)."""
    where: str = ""
    """Where it is, on the wearer's left or right, never the camera's."""
    view: View = View.FLAT_FACE
    """The view that shows it."""
    importance: int = 2
    """1 must be shown, 2 should, 3 may."""
    presence: Presence = Presence.PRESENT
    """An absent or trace feature gives a point to say aloud by itself."""
    altered: bool = False
    """Whether it was changed after the piece was made; gives a point by itself."""

    def __post_init__(self) -> None:
        if not self.what.strip():
            raise BadInput("a feature needs words", "feature", "say what is to be shown")
        if self.importance not in (1, 2, 3):
            raise BadInput(f"importance {self.importance} is not 1, 2 or 3", self.what, "use 1 for must be shown")


@record
class Claim:
    """A statement about a piece; a later one supersedes and never erases."""

    about: str
    """What it is about (`fibre`, `origin`)."""
    value: str
    """What is stated."""
    confidence: Confidence
    """How firmly it is held."""
    basis: str = ""
    """What it rests on."""
    judged: date | None = None
    """Day it was judged; None if not known."""
    superseded: bool = False
    """Whether a later claim about the same thing replaces it."""
    study: str = ""
    """Id of the study in whose shoot it was found; empty if elsewhere."""
    found: datetime | None = None
    """Instant it was found while filming, UTC; None if elsewhere."""


@record
class Condition:
    """One entry of the condition log."""

    day: date
    """Day of the entry."""
    place: str
    """Part of the piece it is about (`wearer's left cuff`)."""
    text: str
    """The condition in words."""
    shoot: str = ""
    """Id of the shoot before or after which it was seen; empty if at another time."""
    after: bool = False
    """Whether it was seen after that shoot, not before."""


@record
class Exposure:
    """Light and handling that a piece has had on one day."""

    day: date
    """The day."""
    lux_hours: int
    """Light, lux hours."""
    touches: int = 0
    """Times it was handled."""
    what: str = ""
    """On what occasion."""
    shoot: str = ""
    """Id of the shoot; empty for any other occasion."""

    def __post_init__(self) -> None:
        if self.lux_hours < 0 or self.touches < 0:
            raise BadInput("light and touches are never less than nothing", "exposure", "give 0 or more")


@record
class Measurement:
    """One measurement, kept as it was entered too."""

    what: str
    """What was measured (`chest`, `sweep`, `weight`)."""
    value: Decimal
    """Number in `unit`."""
    unit: str
    """`cm` or `kg`."""
    entered: str = ""
    """The text as entered, imperial or not."""

    def __post_init__(self) -> None:
        if self.unit not in ("cm", "kg"):
            raise BadInput(f"unit '{self.unit}' is neither cm nor kg", self.what, "give centimetres or kilograms")
        if self.value <= 0:
            raise BadInput(f"{self.value} {self.unit} is not more than nothing", self.what, "give a measure above 0")


@record
class Handling:
    """What may and may not be done with a piece."""

    flat_only: bool = False
    """No form views."""
    no_hanging: bool = False
    """Never hung."""
    no_turning: bool = False
    """Never turned over."""
    people: int = 1
    """People needed to move it."""
    board: bool = False
    """Moved on a support board only."""
    form_minutes: int | None = None
    """Most minutes on a dress form; None for no limit of its own."""
    notes: str = ""
    """Anything else (`net support`)."""

    @property
    def is_fragile(self) -> bool:
        """Whether it is to be touched as little as can be: flat only, never hung or turned, on a board, two people."""
        return self.flat_only or self.no_hanging or self.no_turning or self.board or self.people > 1

    def __post_init__(self) -> None:
        if self.people < 1:
            raise BadInput(f"{self.people} people cannot move a piece", "handling", "give 1 or more")


@record
class Shown:
    """Shown yes, no or unsure, with the odds and what that rests on."""

    known: Known = Known.NO
    """Yes, no or unsure."""
    odds_unshown: int = 50
    """For an unsure piece, the percentage of chance that it is truly unshown (1 to 99)."""
    evidence: str = ""
    """What it rests on (an episode, a memory)."""
    when: FuzzyDate | None = None
    """When it was shown, as far as known; None if not shown or not known."""

    def __post_init__(self) -> None:
        if not 1 <= self.odds_unshown <= 99:
            raise BadInput(
                f"odds of {self.odds_unshown}% leave no doubt", "shown", "give 1 to 99, or mark it shown or not shown"
            )

    @property
    def chance_unshown(self) -> Fraction:
        """Probability that the piece is truly unshown: 0 if shown, 1 if not, the odds if unsure."""
        if self.known is Known.UNSURE:
            return Fraction(self.odds_unshown, 100)
        return Fraction(1 if self.known is Known.NO else 0)


@record
class WantStep:
    """A change of where a want stands."""

    status: WantStatus
    """What it became."""
    day: date
    """On what day."""


@record
class Rate:
    """What one unit of another currency was worth on a day."""

    value: Decimal
    """In the collection's currency, more than 0."""
    day: date
    """The day it held."""

    def __post_init__(self) -> None:
        if self.value <= 0:
            raise BadInput(f"{self.value} is no rate", "rate", "give what one unit is worth, above 0")


@record
class Want:
    """What the shopping for a piece stands at."""

    status: WantStatus = WantStatus.WANTED
    """Wanted, ordered, arrived or declined."""
    ceiling: Decimal | None = None
    """Most that may be paid; None if not set."""
    paid: Decimal | None = None
    """Price paid; None while not bought."""
    carriage: Decimal | None = None
    """Carriage paid; None if none or not known."""
    expected: FuzzyDate | None = None
    """When it should arrive; None if not ordered."""
    width_cm: Decimal | None = None
    """Shelf width it takes, cm; None if not known."""
    currency: str = ""
    """ISO 4217 code of its amounts; empty for the collection's own."""
    rate: Rate | None = None
    """What one unit of that currency is worth in the collection's; None for the collection's own."""
    condition: str = ""
    """The condition it must be in to be bought."""
    preparation_minutes: int = 0
    """Minutes of preparation still to be done on it before it can be filmed."""
    history: tuple[WantStep, ...] = ()
    """How it came to its status, oldest first."""

    def __post_init__(self) -> None:
        if self.preparation_minutes < 0:
            raise BadInput("hours below 0", "preparation", "give 0 or more")
        for name in ("ceiling", "paid", "carriage", "width_cm"):
            amount = getattr(self, name)
            if amount is not None and amount < 0:
                raise BadInput(f"{amount} is less than nothing", name, "give 0 or more")


@record
class Piece:
    """One object of a collection; a pair that is one object is one piece."""

    id: str
    """Permanent id, the owner's own number; never used again."""
    name: str
    """Name as spoken."""
    collection: str
    """Id of its collection."""
    kind: str = ""
    """What it is, in the trade's word (`waistcoat`)."""
    made: FuzzyDate | None = None
    """When it was made; None if nothing is known."""
    acquired: FuzzyDate | None = None
    """When it was acquired; None if nothing is known."""
    materials: tuple[str, ...] = ()
    """Materials, the main one first."""
    features: tuple[Feature, ...] = ()
    """What is to be shown or said."""
    points: tuple[str, ...] = ()
    """Further things to say aloud."""
    claims: tuple[Claim, ...] = ()
    """Statements with confidence, oldest first."""
    condition: tuple[Condition, ...] = ()
    """Condition log, oldest first."""
    handling: Handling = Handling()
    """Handling limits."""
    hazards: tuple[str, ...] = ()
    """Suspected hazards in words (`arsenic-suspect`)."""
    measurements: tuple[Measurement, ...] = ()
    """Measurements in cm and kg."""
    box: str = ""
    """Id of its box; empty if in none."""
    layer: int | None = None
    """Layer in the box, 1 at the bottom; None if not known."""
    shown: Shown = Shown()
    """Whether it has been shown."""
    want: Want | None = None
    """Shopping facts; None for a piece of a keeping collection."""
    notes: str = ""
    """Anything else."""
    light: str = ""
    """Name of its class of sensitivity to light; empty if not known, which counts as the most sensitive."""
    exposures: tuple[Exposure, ...] = ()
    """Light and handling it has had, oldest first."""
    acquired_before: tuple[str, ...] = ()
    """Ids of pieces that were acquired after it, or on the same day."""
    acquired_after: tuple[str, ...] = ()
    """Ids of pieces that were acquired before it, or on the same day."""
    photographs: tuple[str, ...] = ()
    """Paths of photographs of it, the best first; relative ones count from the book's folder."""
    opens: Opens | None = None
    """The side it opens on; None for that of its kind."""

    @property
    def is_here(self) -> bool:
        """Whether it is in the collection: not shopped for, or arrived."""
        return self.want is None or self.want.status is WantStatus.ARRIVED

    def __post_init__(self) -> None:
        if not self.id.strip():
            raise BadInput("a piece needs a number", self.name or "piece", "give it a number")
        if not self.name.strip():
            raise BadInput("a piece needs a name", f"piece {self.id}", "give it one")
