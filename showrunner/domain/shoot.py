"""A shoot: one handling of the pieces of a study or of several, kept as a log that only grows."""

from __future__ import annotations

from datetime import datetime
from enum import StrEnum

from showrunner.domain.piece import Confidence, View
from showrunner.domain.record import record
from showrunner.errors import BadInput


class Touch(StrEnum):
    """One handling of a piece."""

    LIFT = "lift"
    """Lifted out, for what lies under it in its box, and covered on its board."""
    LAY = "lay"
    TURN = "turn"
    OPEN = "open"
    DRESS = "dress"
    BOX = "box"

    @property
    def leaves_boxed(self) -> bool:
        """Whether the piece is in its box after it."""
        return self is Touch.BOX

    @property
    def shows(self) -> bool:
        """Whether the piece is before the camera after it."""
        return self not in (Touch.LIFT, Touch.BOX)


class Camera(StrEnum):
    """Where the camera stands: one place is one set-up."""

    OVERHEAD = "overhead"
    OVERHEAD_CLOSE = "overhead, close"
    LEVEL = "level"
    LEVEL_CLOSE = "level, close"


class Why(StrEnum):
    """Usual reasons for leaving something out."""

    NOT_NEEDED = "not needed for this study"
    IN_THE_CAN = "already in the can from another shoot"
    TIME = "no time left today"
    LIGHT = "the light is going"
    FRAGILE = "too fragile today"
    HANDS = "it needs a second pair of hands"

    @property
    def gives_up(self) -> bool:
        """Whether it is still wanted, so that it becomes a pickup."""
        return self not in (Why.NOT_NEEDED, Why.IN_THE_CAN)


class Remedy(StrEnum):
    """What mends a missed shot or line, the cheapest first."""

    VOICE = "voice only"
    STILL = "still"
    DETAIL = "detail"
    REOPEN = "reopen the box"


class LogKind(StrEnum):
    """What a line of the log says."""

    ACKNOWLEDGED = "acknowledged"
    """The cautions named in `text` were read."""
    TOUCHED = "touched"
    """A piece was handled: `touch`; what for in `text` if it was none of the run order."""
    ASIDE = "aside"
    """A piece was covered and set aside on its board, which is no touch."""
    ROLLED = "rolled"
    """A take began."""
    DONE = "done"
    """The shot `subject` is in the can."""
    SKIPPED = "skipped"
    """The shot `subject` was left out; the reason is in `text`."""
    LEFT_OUT = "left out"
    """The `touch` of a piece, or what else `subject` names, was left out; the reason is in `text`."""
    NOT_LEGIBLE = "not legible"
    """The shot `subject` does not show what it should; the remedy to try next is in `text`."""
    IN_WORDS = "in words"
    """The shot `subject` is replaced by spoken words."""
    SAID = "said"
    """The point `subject` was said."""
    FOUND = "found"
    """A discovery: `text`, seen in `view`, held with `confidence`."""
    PICKUP = "pickup"
    """Something missed, `text`, with its cheapest `remedy`; `subject` is the shot or point, if it is one."""
    MENDED = "mended"
    """The pickup whose line is `subject` was mended; the only line that may follow the close."""
    PASSED = "passed"
    """A gate was passed before `touch` with things left open; the reason is in `text`."""
    LUX = "lux"
    """The light was measured: `lux`."""
    OVER_LIGHT = "over light"
    """Filming went on beyond the light limit of the piece; the reason is in `text`."""
    PAUSED = "paused"
    """A pause began: lamps off."""
    RESUMED = "resumed"
    """It ended."""
    CLOSED = "closed"
    """The shoot was closed; what was left open, and why, is in `text`."""


@record
class Shoot:
    """One shoot, begun and perhaps closed; what happened in it is in the log."""

    id: str
    """Permanent id."""
    studies: tuple[str, ...]
    """Ids of the studies filmed, in the order chosen."""
    begun: datetime
    """Instant it was begun, UTC."""
    closed: bool = False
    """Whether it is closed."""
    estimate_seconds: int = 0
    """Run time estimated when it was closed, seconds; 0 before."""

    def __post_init__(self) -> None:
        if not self.studies:
            raise BadInput("a shoot needs a study", self.id, "choose one")


@record
class LogLine:
    """One line of the log of a shoot."""

    id: str
    """Permanent id."""
    shoot: str
    """Id of the shoot."""
    at: datetime
    """Instant, UTC; never before that of the line above."""
    kind: LogKind
    """What it says."""
    piece: str = ""
    """Id of the piece it is about; empty if about none."""
    subject: str = ""
    """Id of the shot, point, pickup or condition it is about; empty if about none."""
    touch: Touch | None = None
    """The touch, if it is about one."""
    view: View | None = None
    """The view, for a discovery."""
    text: str = ""
    """Words, as `kind` says."""
    confidence: Confidence | None = None
    """How firmly a discovery is held."""
    remedy: Remedy | None = None
    """What mends a pickup."""
    lux: int | None = None
    """Measured light, lux."""
