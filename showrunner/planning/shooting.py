"""Where a shoot stands: everything the log says, told from its first line to its last.

Nothing is kept beside the log, so a shoot that was cut off stands where it stood as soon as it is read again.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import datetime, timedelta
from enum import StrEnum
from fractions import Fraction
from types import MappingProxyType

from showrunner.domain.book import Book
from showrunner.domain.piece import Condition, Piece
from showrunner.domain.record import record
from showrunner.domain.shoot import Camera, LogKind, LogLine, Remedy, Shoot, Touch
from showrunner.domain.words import plain
from showrunner.planning.cues import remedy
from showrunner.planning.gates import Gate, after_touch, can_still, gate, leaving_out, touches_of
from showrunner.planning.light import Light, class_of, dose, used_in
from showrunner.planning.points import Point
from showrunner.planning.run_order import Step
from showrunner.planning.shoot_plan import ShootPlan
from showrunner.planning.shots import Shot, ready_ways

SETTLED = (LogKind.DONE, LogKind.SKIPPED, LogKind.IN_WORDS)
"""What settles a shot."""
BEGINS_TAKE = (
    *SETTLED,
    *(LogKind.NOT_LEGIBLE, LogKind.ROLLED, LogKind.TOUCHED, LogKind.LEFT_OUT, LogKind.ASIDE, LogKind.ACKNOWLEDGED),
)
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


@record
class Next:
    """The one next thing."""

    now: Now
    """What kind of thing."""
    piece: str = ""
    """Id of the piece; empty if it is about none."""
    step: Step | None = None
    """The step of the run order, if it is one."""
    at: int | None = None
    """Which step of the run order it is, from 0."""


@record
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


@record
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
    ahead: Mapping[str, tuple[Touch, ...]]
    """The touches that each piece still goes through, in order."""
    taken: frozenset[int]
    """Which steps of the run order need no handling any more, from 0: done, passed over or left out."""
    aside: frozenset[str]
    """Ids of pieces that wait covered on their boards."""
    staying: frozenset[str]
    """Ids of pieces that stay out of their box for a reason."""
    given_up: frozenset[str]
    """Ids of shots, points and conditions that were given up with a reason, and not settled or said since."""
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
        return tuple(piece for piece, touch in self.phase.items() if not touch.leaves_boxed)

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
    told = _Told(shoot, plan, book.house.lamp_lux)
    for line in log:
        told.pass_time(line.at)
        told.take_in(line)
    told.pass_time(now)
    return ShootState(
        shoot,
        told.acknowledged,
        MappingProxyType(told.settled),
        MappingProxyType(told.tries),
        MappingProxyType(told.said),
        MappingProxyType(told.touches),
        MappingProxyType(told.phase),
        MappingProxyType(told.ahead),
        frozenset(told.taken),
        frozenset(told.aside),
        frozenset(told.staying),
        frozenset(told.given_up),
        told.lux,
        told.measured,
        told.paused,
        frozenset(told.over),
        told.clocks(),
        _next(book, shoot, plan, told),
        told.camera,
        tuple(line for line in log if line.kind is LogKind.PICKUP),
        tuple(line for line in log if line.kind is LogKind.FOUND),
    )


class _Told:
    """What the log has told so far; it is told from its first line to its last."""

    def __init__(self, shoot: Shoot, plan: ShootPlan, lux: int) -> None:
        self.shots = {shot.id: shot for shot in plan.shots}
        self.settled: dict[str, LogLine] = {}
        self.tries: dict[str, int] = {}
        self.said: dict[str, datetime] = {}
        self.touches: dict[str, int] = {}
        self.phase: dict[str, Touch] = {}
        self.steps = plan.order.steps
        self.ahead = touches_of(plan.order)
        self.taken: set[int] = set()
        self.aside: set[str] = set()
        self.staying: set[str] = set()
        self.given_up: set[str] = set()
        self.over: set[str] = set()
        self.lux, self.measured = lux, False
        self.acknowledged = self.paused = False
        self.camera: Camera | None = None
        self.at = shoot.begun
        self.session = self.take = timedelta()
        self.on_form: dict[str, timedelta] = {}
        self.light: dict[str, Fraction] = {}

    def pass_time(self, until: datetime) -> None:
        """Let the time run; nothing counts during a pause, and a piece set aside has no light."""
        passed = max(until - self.at, timedelta())
        self.at += passed
        if self.paused or not passed:
            return
        self.session += passed
        self.take += passed
        for piece, touch in self.phase.items():
            if touch is Touch.DRESS:
                self.on_form[piece] = self.on_form.get(piece, timedelta()) + passed
            if not touch.leaves_boxed and piece not in self.aside:
                seconds = Fraction(passed / timedelta(seconds=1))
                self.light[piece] = self.light.get(piece, Fraction(0)) + dose(self.lux, seconds)

    def take_in(self, line: LogLine) -> None:
        """What one line says."""
        if line.kind is LogKind.ACKNOWLEDGED:
            self.acknowledged = True
        elif line.kind is LogKind.TOUCHED:
            self.touches[line.piece] = self.touches.get(line.piece, 0) + 1
            if line.touch:
                self._handled(line.piece, line.touch)
        elif line.kind is LogKind.LEFT_OUT:
            self._left_out(line)
        elif line.kind is LogKind.ASIDE:
            self._set_aside(line.piece)
            self.aside.add(line.piece)
        elif line.kind in SETTLED:
            self.settled[line.subject] = line
            self.tries.pop(line.subject, None)
            if line.kind is not LogKind.SKIPPED:
                self.given_up.discard(line.subject)
                self._filmed(line.subject)
        elif line.kind is LogKind.PICKUP and line.subject:
            self.given_up.add(line.subject)
        elif line.kind is LogKind.NOT_LEGIBLE:
            self.settled.pop(line.subject, None)
            self.given_up.discard(line.subject)
            self.tries[line.subject] = self.tries.get(line.subject, 0) + 1
            self._filmed(line.subject)
        elif line.kind is LogKind.SAID:
            self.said[line.subject] = line.at
            self.given_up.discard(line.subject)
        elif line.kind is LogKind.LUX and line.lux:
            self.lux, self.measured = line.lux, True
        elif line.kind is LogKind.OVER_LIGHT:
            self.over.add(line.piece)
        elif line.kind in (LogKind.PAUSED, LogKind.RESUMED):
            self.paused = line.kind is LogKind.PAUSED
        if line.kind in BEGINS_TAKE:
            self.take = timedelta()

    def _handled(self, piece: str, touch: Touch) -> None:
        """A piece was handled: what comes before that touch in the run order is passed over."""
        at = self._next_of(piece, touch)
        self.taken |= {
            n
            for n, step in enumerate(self.steps)
            if step.piece == piece and not step.shot and (touch.leaves_boxed if at is None else n <= at)
        }
        self.phase[piece] = touch
        self.ahead[piece] = after_touch(self.ahead.get(piece, ()), touch)
        self.aside.discard(piece)
        if touch is Touch.LIFT:
            self.aside.add(piece)
        self.staying.discard(piece)

    def _next_of(self, piece: str, touch: Touch) -> int | None:
        """The next step that is this touch of a piece; None if none is left."""
        same = (n for n, step in enumerate(self.steps) if step.piece == piece and step.touch is touch)
        return next((n for n in same if n not in self.taken), None)

    def _set_aside(self, piece: str) -> None:
        """The next setting aside of a piece is done, or left out."""
        same = (n for n, step in enumerate(self.steps) if step.piece == piece and step.aside)
        self.taken |= set([n for n in same if n not in self.taken][:1])

    def _left_out(self, line: LogLine) -> None:
        """A touch that is left out is not waited for; without the first one none of the piece is."""
        if line.subject == aside_id(line.piece):
            self._set_aside(line.piece)
        elif line.touch is None:
            self.given_up.add(line.subject)
        elif line.piece not in self.phase:
            self.taken |= {n for n, step in enumerate(self.steps) if step.piece == line.piece and not step.shot}
            self.ahead = leaving_out(line.piece, line.touch, self.phase, self.ahead)
        else:
            at = self._next_of(line.piece, line.touch)
            self.taken |= {at} if at is not None else set()
            self.ahead = leaving_out(line.piece, line.touch, self.phase, self.ahead)
            if line.touch.leaves_boxed:
                self.staying.add(line.piece)

    def _filmed(self, shot: str) -> None:
        """The camera is where the shot was taken, if the plan still has it and it could be taken so."""
        found = self.shots.get(shot)
        ready = ready_ways(found, self.phase) if found else ()
        self.camera = ready[0].camera if ready else self.camera

    def clocks(self) -> Clocks:
        """The clocks as they stand."""
        second = timedelta(seconds=1)
        return Clocks(
            self.take // second,
            self.session // second,
            MappingProxyType({piece: time // second for piece, time in self.on_form.items()}),
            MappingProxyType(self.light),
        )


def light_left(book: Book, state: ShootState, piece: Piece, year: int) -> Light:
    """The light a piece may still have this year, in the middle of a shoot."""
    kind = class_of(piece, book.house)
    used = used_in(piece, year, without=state.shoot.id) + state.clocks.lux_hours.get(piece.id, Fraction(0))
    return Light(piece.id, kind.name, kind.limit_lux_hours, used, state.lux)


# The next thing


def _next(book: Book, shoot: Shoot, plan: ShootPlan, told: _Told) -> Next:
    if not told.acknowledged:
        return Next(Now.ACKNOWLEDGE)

    def waits(piece: str, *, after: bool) -> bool:
        return condition_id(piece, after=after) not in told.given_up and not noted(
            book.find("pieces", piece), shoot, after=after
        )

    boxed = [id for id in plan.pieces if id in told.phase and not _is_out(told.phase[id]) and waits(id, after=True)]
    if boxed:  # one that was boxed at once, while it is fresh in mind
        return Next(Now.AFTER, boxed[0])
    for at, step in enumerate(plan.order.steps):
        if step.shot:
            if step.shot.id not in told.settled and stands(step.shot, told.phase, told.aside):
                return Next(Now.SHOT, step.piece, step, at)
        elif at not in told.taken:
            if step.aside:
                return Next(Now.ASIDE, step.piece, step, at)
            if step.touch is Touch.BOX and step.piece in plan.pieces and waits(step.piece, after=True):
                return Next(Now.AFTER, step.piece)
            return Next(Now.TOUCH, step.piece, step, at)
        elif step.touch is Touch.LAY and _is_out(told.phase.get(step.piece)) and waits(step.piece, after=False):
            return Next(Now.BEFORE, step.piece)
    staying = [id for id in plan.pieces if id in told.staying and waits(id, after=True)]
    return Next(Now.AFTER, staying[0]) if staying else Next(Now.CLOSE)


def _is_out(touch: Touch | None) -> bool:
    return touch is not None and not touch.leaves_boxed


def stands(shot: Shot, phase: Mapping[str, Touch], aside: Collection[str]) -> bool:
    """Whether a shot can be taken as its pieces are now; what is covered and set aside is not before the camera."""
    ways = ready_ways(shot, phase)
    return bool(ways) and not any(place.piece in aside for place in ways[0].needs)


def condition_id(piece: str, *, after: bool) -> str:
    """What a line of the log calls the condition of a piece, before or after the shoot."""
    return f"{piece}/condition/{'after' if after else 'before'}"


def aside_id(piece: str) -> str:
    """What a line of the log calls the setting aside of a piece."""
    return f"{piece}/aside"


def noted(piece: Piece | None, shoot: Shoot, *, after: bool) -> bool:
    """Whether the condition of a piece before, or after, the shoot is on record."""
    return piece is not None and any(entry.shoot == shoot.id and entry.after is after for entry in piece.condition)


# Gates


def gate_now(plan: ShootPlan, state: ShootState, piece: str, touch: Touch, *, left_out: bool = False) -> Gate:
    """What is lost by a touch, or by leaving it out, as the shoot stands; what was given up is not asked again."""
    return gate(
        piece,
        touch,
        plan.shots,
        plan.points,
        state.phase,
        state.ahead,
        left_out=left_out,
        settled={*state.settled, *state.given_up},
        said={*state.said, *state.given_up},
    )


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
    return Remedy.DETAIL if can_still(missed, state.phase, state.ahead) else Remedy.REOPEN


def _shown_in(shot: Shot) -> set[Touch]:
    return {place.phase for way in shot.ways for place in way.needs}


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
    before = {plain(e.place): plain(e.text) for e in piece.condition if e.shoot == shoot and not e.after}
    return tuple(
        e for e in piece.condition if e.shoot == shoot and e.after and before.get(plain(e.place)) != plain(e.text)
    )
