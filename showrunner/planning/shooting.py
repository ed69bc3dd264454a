"""Where a shoot stands: everything the log says, told from its first line to its last.

Nothing is kept beside the log, so a shoot that was cut off stands where it stood as soon as it is read again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from fractions import Fraction
from types import MappingProxyType

from showrunner.domain.book import Book
from showrunner.domain.piece import Condition, Piece
from showrunner.domain.shoot import Camera, LogKind, LogLine, Remedy, Shoot, Touch
from showrunner.planning.cues import remedy
from showrunner.planning.light import class_of, dose, used_in
from showrunner.planning.points import Point
from showrunner.planning.run_order import Step
from showrunner.planning.shoot_plan import ORDER, ShootPlan
from showrunner.planning.shots import Shot

SETTLED = (LogKind.DONE, LogKind.SKIPPED, LogKind.IN_WORDS)
"""What settles a shot."""
BEGINS_TAKE = (*SETTLED, LogKind.NOT_LEGIBLE, LogKind.ROLLED, LogKind.TOUCHED, LogKind.ASIDE, LogKind.ACKNOWLEDGED)
"""What the clock of the take runs from."""


class Now(StrEnum):
    """What is to be done next."""

    ACKNOWLEDGE = "acknowledge"
    """Read the cautions."""
    TOUCH = "touch"
    """Handle a piece."""
    ASIDE = "aside"
    """Cover a piece and set it aside."""
    SHOT = "shot"
    """Take a shot."""
    BEFORE = "before"
    """Write the condition of a piece before its shoot."""
    AFTER = "after"
    """Write its condition after."""
    CLOSE = "close"
    """Close the shoot."""


@dataclass(frozen=True, slots=True)
class Next:
    """The one next thing."""

    now: Now
    """What kind of thing."""
    piece: str = ""
    """Id of the piece; empty if it is about none."""
    step: Step | None = None
    """The step of the run order, if it is one."""


@dataclass(frozen=True, slots=True)
class Clocks:
    """How long things have lasted, without pauses, in seconds."""

    take: int
    """Since the take began: since the last shot, touch or roll."""
    session: int
    """Since the shoot began."""
    on_form: Mapping[str, int]
    """For each piece that stood on a form: how long."""
    lux_hours: Mapping[str, Fraction]
    """For each piece that was handled: lux hours in this shoot."""


@dataclass(frozen=True, slots=True)
class ShootState:
    """A shoot as it stands."""

    shoot: Shoot
    """The shoot."""
    acknowledged: bool
    """Whether the cautions were read."""
    settled: Mapping[str, LogLine]
    """By shot id the line that settled it: done, skipped or replaced by words."""
    tries: Mapping[str, int]
    """By shot id how often it was not legible so far, for shots that are not settled."""
    said: Mapping[str, datetime]
    """By point id when it was said."""
    touches: Mapping[str, int]
    """Touches of each piece, retakes included."""
    phase: Mapping[str, Touch]
    """The touch that brought each handled piece to where it is now."""
    aside: frozenset[str]
    """Ids of pieces that wait covered on their boards."""
    lux: int
    """Light as last measured, or that of the lamps."""
    measured: bool
    """Whether it was measured."""
    paused: bool
    """Whether there is a pause."""
    over_light: frozenset[str]
    """Ids of pieces for which going over the light limit was given a reason."""
    clocks: Clocks
    """The clocks."""
    next: Next
    """The next thing to do."""
    camera: Camera | None
    """Where the camera stands; None before the first shot."""
    pickups: tuple[LogLine, ...]
    """Pickups, oldest first."""
    discoveries: tuple[LogLine, ...]
    """Discoveries, oldest first."""

    @property
    def out(self) -> tuple[str, ...]:
        """Ids of pieces that are out of their box."""
        return tuple(piece for piece, touch in self.phase.items() if touch is not Touch.BOX)

    @property
    def touched(self) -> int:
        """Touches of all pieces."""
        return sum(self.touches.values())


def state_of(book: Book, shoot: Shoot, log: Sequence[LogLine], plan: ShootPlan, now: datetime) -> ShootState:
    """How the shoot stands at an instant.

    Args:
        book: the book.
        shoot: the shoot.
        log: its log, oldest line first.
        plan: its plan.
        now: the instant; one before the last line counts as that line's.
    """
    settled: dict[str, LogLine] = {}
    tries: dict[str, int] = {}
    said: dict[str, datetime] = {}
    touches: dict[str, int] = {}
    phase: dict[str, Touch] = {}
    aside: set[str] = set()
    over: set[str] = set()
    lux = 0
    acknowledged = False
    camera: Camera | None = None
    for line in log:
        if line.kind is LogKind.ACKNOWLEDGED:
            acknowledged = True
        elif line.kind is LogKind.TOUCHED:
            touches[line.piece] = touches.get(line.piece, 0) + 1
            if line.touch:
                phase[line.piece] = line.touch
                aside.discard(line.piece)
        elif line.kind is LogKind.ASIDE:
            aside.add(line.piece)
        elif line.kind in SETTLED:
            settled[line.subject] = line
            tries.pop(line.subject, None)
            camera = camera_of(plan, line.subject, phase) or camera
        elif line.kind is LogKind.NOT_LEGIBLE:
            settled.pop(line.subject, None)
            tries[line.subject] = tries.get(line.subject, 0) + 1
            camera = camera_of(plan, line.subject, phase) or camera
        elif line.kind is LogKind.SAID:
            said[line.subject] = line.at
        elif line.kind is LogKind.LUX and line.lux:
            lux = line.lux
        elif line.kind is LogKind.OVER_LIGHT:
            over.add(line.piece)
    level = lux or book.house.lamp_lux
    paused = _paused(log)
    return ShootState(
        shoot,
        acknowledged,
        MappingProxyType(settled),
        MappingProxyType(tries),
        MappingProxyType(said),
        MappingProxyType(touches),
        MappingProxyType(phase),
        frozenset(aside),
        level,
        bool(lux),
        paused,
        frozenset(over),
        _clocks(book, shoot, log, now),
        _next(book, shoot, plan, acknowledged, settled, phase, aside),
        camera,
        tuple(line for line in log if line.kind is LogKind.PICKUP),
        tuple(line for line in log if line.kind is LogKind.FOUND),
    )


def _paused(log: Sequence[LogLine]) -> bool:
    last = next((line.kind for line in reversed(log) if line.kind in (LogKind.PAUSED, LogKind.RESUMED)), None)
    return last is LogKind.PAUSED


def camera_of(plan: ShootPlan, shot: str, phase: Mapping[str, Touch]) -> Camera | None:
    """The camera of a shot as its pieces lie; None if it cannot be taken so."""
    found = next((s for s in plan.shots if s.id == shot), None)
    if found is None:
        return None
    ready = [way.camera for way in found.ways if all(phase.get(p.piece) is p.phase for p in way.needs)]
    return ready[0] if ready else None


# Clocks


def _clocks(book: Book, shoot: Shoot, log: Sequence[LogLine], now: datetime) -> Clocks:
    """Add up the time between lines; nothing counts during a pause, and a piece set aside has no light."""
    session = take = timedelta()
    on_form: dict[str, timedelta] = {}
    light: dict[str, Fraction] = {}
    phase: dict[str, Touch] = {}
    aside: set[str] = set()
    lux = book.house.lamp_lux
    before, paused = shoot.begun, False
    end = LogLine("", shoot.id, max(now, log[-1].at if log else shoot.begun), LogKind.CLOSED)
    for line in (*log, end):
        passed = line.at - before
        if not paused and passed > timedelta():
            session += passed
            take += passed
            for piece, touch in phase.items():
                if touch is Touch.DRESS:
                    on_form[piece] = on_form.get(piece, timedelta()) + passed
                if touch is not Touch.BOX and piece not in aside:
                    light[piece] = light.get(piece, Fraction(0)) + dose(lux, Fraction(passed / timedelta(seconds=1)))
        before = max(before, line.at)
        if line.kind is LogKind.TOUCHED and line.touch:
            phase[line.piece] = line.touch
            aside.discard(line.piece)
        elif line.kind is LogKind.ASIDE:
            aside.add(line.piece)
        elif line.kind is LogKind.LUX and line.lux:
            lux = line.lux
        elif line.kind in (LogKind.PAUSED, LogKind.RESUMED):
            paused = line.kind is LogKind.PAUSED
        if line.kind in BEGINS_TAKE:
            take = timedelta()
    return Clocks(
        take // timedelta(seconds=1),
        session // timedelta(seconds=1),
        MappingProxyType({piece: time // timedelta(seconds=1) for piece, time in on_form.items()}),
        MappingProxyType(light),
    )


@dataclass(frozen=True, slots=True)
class LightLeft:
    """What light a piece may still have this year, while a shoot goes on."""

    piece: str
    """Id of the piece."""
    limit: int
    """Most lux hours in the year."""
    used: Fraction
    """Lux hours this year, this shoot included."""
    lux: int
    """Light on it, lux."""

    @property
    def over(self) -> bool:
        """Whether nothing is left."""
        return self.used >= self.limit

    @property
    def minutes(self) -> int:
        """Whole minutes left at this light."""
        return max(0, int((self.limit - self.used) * 60 / self.lux))


def light_left(book: Book, state: ShootState, piece: Piece, year: int) -> LightLeft:
    """The light a piece may still have."""
    used = used_in(piece, year, without=state.shoot.id) + state.clocks.lux_hours.get(piece.id, Fraction(0))
    return LightLeft(piece.id, class_of(piece, book.house).limit_lux_hours, used, state.lux)


# The next thing


def _next(
    book: Book,
    shoot: Shoot,
    plan: ShootPlan,
    acknowledged: bool,
    settled: Mapping[str, LogLine],
    phase: Mapping[str, Touch],
    aside: set[str],
) -> Next:
    if not acknowledged:
        return Next(Now.ACKNOWLEDGE)
    pieces = {id: book.find("pieces", id) for id in plan.pieces}
    for step in plan.order.steps:
        piece = pieces[step.piece]
        if step.shot:
            if step.shot.id not in settled and can_still(step.shot, phase):
                return Next(Now.SHOT, step.piece, step)
        elif step.aside:
            if step.piece not in aside and phase.get(step.piece) in (Touch.LAY, Touch.TURN, Touch.OPEN):
                return Next(Now.ASIDE, step.piece, step)
        elif step.touch:
            if _rank(phase.get(step.piece)) >= ORDER.index(step.touch):
                if step.touch is Touch.LAY and phase[step.piece] is not Touch.BOX and not noted(piece, shoot, False):
                    return Next(Now.BEFORE, step.piece)
                continue
            if step.touch is Touch.BOX and not noted(piece, shoot, True):
                return Next(Now.AFTER, step.piece)
            return Next(Now.TOUCH, step.piece, step)
    return Next(Now.CLOSE)


def noted(piece: Piece | None, shoot: Shoot, after: bool) -> bool:
    """Whether the condition of a piece before, or after, the shoot is on record."""
    return piece is not None and any(entry.shoot == shoot.id and entry.after is after for entry in piece.condition)


def _rank(touch: Touch | None) -> int:
    return -1 if touch is None else ORDER.index(touch)


def can_still(shot: Shot, phase: Mapping[str, Touch]) -> bool:
    """Whether the shot can still be taken as its pieces have been handled."""
    return any(all(_rank(phase.get(p.piece)) <= ORDER.index(p.phase) for p in way.needs) for way in shot.ways)


# Gates


@dataclass(frozen=True, slots=True)
class OpenGate:
    """What is still open before a touch that takes it away."""

    piece: str
    """Id of the piece."""
    touch: Touch
    """The touch."""
    shots: tuple[Shot, ...]
    """Shots neither taken nor settled."""
    points: tuple[Point, ...]
    """Points not said."""

    @property
    def clear(self) -> bool:
        """Whether nothing is open."""
        return not self.shots and not self.points


def gate(plan: ShootPlan, state: ShootState, piece: str, touch: Touch) -> OpenGate:
    """What can only be seen or said before a touch.

    Before boxing that is everything left of the piece; before any other touch what cannot be seen after it
    in what the plan still has for the piece.
    """
    after = {**state.phase, piece: touch}
    shots = [
        shot
        for shot in plan.shots
        if piece in (shot.piece, shot.beside)
        and shot.id not in state.settled
        and can_still(shot, state.phase)
        and not can_still(shot, after)
    ]
    touches = {s.touch for s in plan.order.steps if s.piece == piece and s.touch and s.touch is not Touch.BOX}
    later: set[Touch] = {phase for phase in touches if ORDER.index(phase) >= ORDER.index(touch)}
    points = [
        point
        for point in plan.points
        if point.piece == piece and point.id not in state.said and _loses(point, later, touch)
    ]
    return OpenGate(piece, touch, tuple(shots), tuple(points))


def _loses(point: Point, later: set[Touch], touch: Touch) -> bool:
    if touch is Touch.BOX:
        return True
    return bool(point.phases) and not later & set(point.phases)


def cheapest(plan: ShootPlan, state: ShootState, missed: Shot | Point) -> Remedy:
    """The cheapest remedy of something missed, as far as what is in the can allows.

    A point is spoken over a picture; a detail is cut from a wide take of the same side, if there is one, or
    filmed close later where the piece still shows it; anything else needs the box again.
    """
    if isinstance(missed, Point):
        return Remedy.VOICE
    if not missed.is_detail:
        return Remedy.REOPEN
    phases = _shown_in(missed)
    wide = [shot for shot in plan.shots if not shot.is_detail and shot.piece == missed.piece]
    taken = [shot for shot in wide if (line := state.settled.get(shot.id)) and line.kind is LogKind.DONE]
    if any(phases & _shown_in(shot) for shot in taken):
        return Remedy.STILL
    return Remedy.DETAIL if can_still(missed, state.phase) else Remedy.REOPEN


def _shown_in(shot: Shot) -> set[Touch]:
    return {place.phase for way in shot.ways for place in way.needs}


def waiting_pickups(book: Book) -> tuple[LogLine, ...]:
    """Pickups of all shoots that are still to be mended, oldest first.

    One whose shot was taken, or whose point was said, later in its shoot is mended by that.
    """
    mended = {
        (line.shoot, line.subject)
        for line in book.log
        if line.kind in (*SETTLED, LogKind.SAID, LogKind.MENDED) and line.subject
    }
    return tuple(
        line
        for line in book.log
        if line.kind is LogKind.PICKUP
        and (line.shoot, line.id) not in mended
        and not (line.subject and (line.shoot, line.subject) in mended)
    )


def next_remedy(book: Book, state: ShootState, shot: Shot) -> str:
    """What to try next for a shot that was not legible; empty if it was never tried in vain."""
    tries = state.tries.get(shot.id, 0)
    return remedy(book.piece(shot.piece), tries) if tries else ""


def last_known(piece: Piece) -> tuple[Condition, ...]:
    """The last entry of the condition log for each place, in order of first mention."""
    known: dict[str, Condition] = {}
    for entry in piece.condition:
        known[entry.place] = entry
    return tuple(known.values())


def damage(piece: Piece, shoot: str) -> tuple[Condition, ...]:
    """Entries after a shoot that say something else of their place than those before it, or name a new place."""
    before = {_plain(e.place): _plain(e.text) for e in piece.condition if e.shoot == shoot and not e.after}
    return tuple(
        e for e in piece.condition if e.shoot == shoot and e.after and before.get(_plain(e.place)) != _plain(e.text)
    )


def _plain(text: str) -> str:
    return " ".join(text.lower().split())
