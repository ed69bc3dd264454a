"""The run order of a shoot: fewest touches, then fewest set-ups, proven.

Each piece goes through lay - turn - open - (set aside) - (dress) - box at most once each. All flat and
inside work of every piece comes before the first dressing, no more pieces lie on tables than there are
tables, no more stand on forms than there are forms that fit, and a piece stays on its form until it is
boxed. A piece whose flat work is done may wait beside the table, covered, on its board: that is no touch.

Every state is (the phase of each piece, the camera, what is still to be taken); a shot that can be taken
as things stand costs nothing and so is always taken at once. A best-first search over these states, with
a bound that never exceeds the true cost to go, finds the least cost exactly.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Mapping, Sequence
from itertools import count

from showrunner.domain.record import record
from showrunner.domain.shoot import Camera, Touch
from showrunner.planning.shots import Place, Shot, Way

FLAT = (Touch.LAY, Touch.TURN, Touch.OPEN)
IN_BOX, LAID, TURNED, OPENED, ASIDE, BOXED, ON_FORM = 0, 1, 2, 3, 4, 5, 6
"""States of a piece; ON_FORM + n is on form n."""
STATES = {Touch.LAY: LAID, Touch.TURN: TURNED, Touch.OPEN: OPENED}
CAMERAS = tuple(Camera)
NO_CAMERA = -1
CLOSE = (Camera.OVERHEAD_CLOSE, Camera.LEVEL_CLOSE)

Cost = tuple[int, int, int, int, int]
"""Weighted touches, set-ups, things out of catalogue order, pieces set aside, padding in mm; compared in this order."""
State = tuple[tuple[int, ...], int, int]
"""The state of each piece, the camera, and a bit for each way of each group still to be taken."""
NOTHING: Cost = (0, 0, 0, 0, 0)


@record
class Handled:
    """A piece as the run order sees it."""

    id: str
    """Its id."""
    weight: int = 1
    """What one touch of it counts: more for a fragile one."""
    forms: tuple[int, ...] = ()
    """Numbers of the forms that fit it."""
    padding_mm: tuple[int, ...] = ()
    """Padding each of these forms needs, mm."""


@record
class Step:
    """One step of the run order: a touch, a piece set aside, or a shot."""

    piece: str
    """Id of the piece."""
    touch: Touch | None = None
    """The touch, if it is one."""
    form: int | None = None
    """For a dressing, the number of the form."""
    aside: bool = False
    """Whether the piece is covered and set aside on its board, which is no touch."""
    shot: Shot | None = None
    """The shot, if it is one."""
    camera: Camera | None = None
    """For a shot, where the camera stands."""


@record
class RunOrder:
    """The steps of a shoot in order."""

    steps: tuple[Step, ...]
    """Touches, settings aside and shots."""
    touches: int
    """Touches in it."""
    weighted: int
    """Touches, each counted with the weight of its piece."""
    set_ups: int
    """Times the camera is set up."""
    states: int
    """States that were looked at for the proof."""


class CannotRun(ValueError):
    """No order takes all the shots; the message says why."""


def best_order(pieces: Sequence[Handled], shots: Sequence[Shot], *, tables: int) -> RunOrder:
    """The best run order.

    Args:
        pieces: the pieces, in book order.
        shots: what is to be taken, in catalogue order.
        tables: pieces that can lie on tables at once.

    Raises:
        CannotRun: no order takes all the shots (not enough tables or forms).
    """
    if tables < 1:
        raise CannotRun("there is no table to lay a piece on")
    return _Search(pieces, shots, tables).run()


class _Search:
    """The search.

    Shots that can be taken in exactly the same ways are one group; every set of groups is one whole
    number in which each way of each group has a bit.
    """

    def __init__(self, pieces: Sequence[Handled], shots: Sequence[Shot], tables: int) -> None:
        self.pieces = tuple(pieces)
        self.tables = tables
        at = {piece.id: number for number, piece in enumerate(self.pieces)}
        together: dict[tuple[Way, ...], list[Shot]] = {}
        for shot in shots:
            together.setdefault(shot.ways, []).append(shot)
        self.groups: list[tuple[int, tuple[Shot, ...]]] = []
        """For each group the bits of its ways, and its shots."""
        self.group_of: list[int] = []
        """For each way the number of its group."""
        self.flat_only = self.single = 0
        self.with_camera = [0] * len(CAMERAS)
        self.needing: list[dict[Touch, int]] = [dict.fromkeys((*FLAT, Touch.DRESS), 0) for _ in self.pieces]
        needs_of: list[list[tuple[int, Touch]]] = []
        for ways, same in together.items():
            bits = 0
            for way in ways:
                bit = 1 << len(needs_of)
                bits |= bit
                needs_of.append([(at[place.piece], place.phase) for place in way.needs])
                self.group_of.append(len(self.groups))
                self.with_camera[CAMERAS.index(way.camera)] |= bit
                for piece, touch in needs_of[-1]:
                    self.needing[piece][touch] |= bit
            if all(any(place.phase in FLAT for place in way.needs) for way in ways):
                self.flat_only |= bits
            if len(ways) == 1:
                self.single |= bits
            self.groups.append((bits, tuple(same)))
        self.all = (1 << len(needs_of)) - 1
        self.stands = [[self._bits(piece, state, _in) for state in range(ON_FORM + 1)] for piece in range(len(pieces))]
        self.alive = [
            [
                [self._bits(piece, state, reach) for state in range(ON_FORM + 1)]
                for reach in (_reachable, _reachable_dressing)
            ]
            for piece in range(len(pieces))
        ]
        self.bounds: dict[State, tuple[int, int]] = {}

    def _bits(self, piece: int, state: int, holds: Callable[[int, Touch], bool]) -> int:
        """The ways that a piece in this state does not stand against."""
        return self.all & ~sum(bits for touch, bits in self.needing[piece].items() if not holds(state, touch))

    def run(self) -> RunOrder:
        start: State = (tuple(IN_BOX for _ in self.pieces), NO_CAMERA, self.all)
        best: dict[State, Cost] = {start: NOTHING}
        came: dict[State, tuple[State, tuple[Step, ...]]] = {}
        ticket = count()
        heap: list[tuple[Cost, int, State]] = [(self._bound(NOTHING, start), next(ticket), start)]
        settled: set[State] = set()
        while heap:
            _, _, state = heapq.heappop(heap)
            if state in settled:
                continue
            settled.add(state)
            phases, _, left = state
            if not left and all(phase == BOXED for phase in phases):
                return self._told(state, came, best[state], len(settled))
            a, b, c, d, e = best[state]
            for added, other, steps in self._moves(state):
                if other in settled:
                    continue
                fresh = (a + added[0], b + added[1], c + added[2], d + added[3], e + added[4])
                if other not in best or fresh < best[other]:
                    best[other], came[other] = fresh, (state, steps)
                    heapq.heappush(heap, (self._bound(fresh, other), next(ticket), other))
        raise CannotRun("there are not enough tables and forms to take every shot")

    def _told(
        self, state: State, came: Mapping[State, tuple[State, tuple[Step, ...]]], cost: Cost, looked: int
    ) -> RunOrder:
        steps: list[Step] = []
        while state in came:
            state, part = came[state]
            steps = [*part, *steps]
        touches = sum(step.touch is not None for step in steps)
        return RunOrder(tuple(steps), touches, cost[0], cost[1], looked)

    # What can be done next

    def _moves(self, state: State) -> list[tuple[Cost, State, tuple[Step, ...]]]:
        phases, camera, left = state
        found: list[tuple[Cost, State, tuple[Step, ...]]] = []
        on_table = sum(LAID <= phase <= OPENED for phase in phases)
        for at, phase in enumerate(phases):
            if phase == BOXED:
                continue
            for after in self._next(at, phases, on_table, left):
                moved = (*phases[:at], after, *phases[at + 1 :])
                if not self._all_can_still_be_taken(moved, left):
                    continue
                added = self._cost(at, after, phases)
                found.append(self._take(added, moved, camera, left, (_step(self.pieces[at], after),)))
        ready = self._ready(phases, left)
        for other, bits in enumerate(self.with_camera):
            if ready & bits:
                close_first = camera == NO_CAMERA and CAMERAS[other] in CLOSE
                found.append(self._take((0, 1, int(close_first), 0, 0), phases, other, left, ()))
        return found

    def _cost(self, at: int, after: int, phases: tuple[int, ...]) -> Cost:
        piece = self.pieces[at]
        if after == ASIDE:
            return 0, 0, 0, 1, 0
        if after == LAID:
            return piece.weight, 0, phases[:at].count(IN_BOX), 0, 0
        padding = piece.padding_mm[piece.forms.index(after - ON_FORM)] if after >= ON_FORM and piece.padding_mm else 0
        return piece.weight, 0, 0, 0, padding

    def _next(self, at: int, phases: tuple[int, ...], on_table: int, left: int) -> list[int]:
        """States that the piece may be brought into next."""
        phase = phases[at]
        if phase == IN_BOX:
            return [LAID] if on_table < self.tables else []
        needing = self.needing[at]
        after = [STATES[touch] for touch in FLAT if STATES[touch] > phase < ASIDE and left & needing[touch]]
        if phase < BOXED and left & needing[Touch.DRESS]:
            if phase < ASIDE:
                after.append(ASIDE)
            if not left & self.flat_only:
                after += [ON_FORM + form for form in self.pieces[at].forms if ON_FORM + form not in phases]
        after.append(BOXED)
        return after

    def _all_can_still_be_taken(self, phases: tuple[int, ...], left: int) -> bool:
        dressing = any(phase >= ON_FORM for phase in phases)
        alive = left
        for at, phase in enumerate(phases):
            alive &= self.alive[at][dressing][min(phase, ON_FORM)]
        dead = left & ~alive
        if not dead:
            return True
        if dead & self.single:
            return False
        return all(alive & bits for bits, _ in self.groups if dead & bits)

    def _ready(self, phases: tuple[int, ...], left: int) -> int:
        """Ways that can be taken as things stand."""
        for at, phase in enumerate(phases):
            left &= self.stands[at][min(phase, ON_FORM)]
        return left

    def _take(
        self, added: Cost, phases: tuple[int, ...], camera: int, left: int, steps: tuple[Step, ...]
    ) -> tuple[Cost, State, tuple[Step, ...]]:
        """Take whatever the camera can take as things stand."""
        if camera != NO_CAMERA and (ready := self._ready(phases, left) & self.with_camera[camera]):
            for bits, shots in self.groups:
                if ready & bits:
                    left &= ~bits
                    steps += tuple(Step(shot.piece, shot=shot, camera=CAMERAS[camera]) for shot in shots)
        return added, (phases, camera, left), steps

    # What it still costs at least

    def _bound(self, cost: Cost, state: State) -> Cost:
        known = self.bounds.get(state)
        if known is None:
            known = self.bounds[state] = self._least(state)
        return cost[0] + known[0], cost[1] + known[1], cost[2], cost[3], cost[4]

    def _least(self, state: State) -> tuple[int, int]:
        """Touches and set-ups that are surely still to come."""
        phases, camera, left = state
        sure = left & self.single
        touches = 0
        for at, phase in enumerate(phases):
            if phase == BOXED:
                continue
            due = sum(bool(sure & bits) for touch, bits in self.needing[at].items() if not _in(phase, touch))
            if phase == IN_BOX and not sure & self.needing[at][Touch.LAY]:
                due += 1
            touches += self.pieces[at].weight * (due + 1)
        return touches, sum(bool(sure & bits) for other, bits in enumerate(self.with_camera) if other != camera)


def _in(phase: int, touch: Touch) -> bool:
    return phase >= ON_FORM if touch is Touch.DRESS else phase == STATES[touch]


def _reachable(phase: int, touch: Touch) -> bool:
    """Whether a piece in this state can still come into that of the touch."""
    return phase != BOXED if touch is Touch.DRESS else phase <= STATES[touch]


def _reachable_dressing(phase: int, touch: Touch) -> bool:
    """The same once a piece stands on a form: then no flat work is begun any more."""
    return phase != BOXED if touch is Touch.DRESS else phase == STATES[touch]


def _step(piece: Handled, after: int) -> Step:
    if after == ASIDE:
        return Step(piece.id, aside=True)
    if after >= ON_FORM:
        return Step(piece.id, Touch.DRESS, after - ON_FORM)
    touch = Touch.BOX if after == BOXED else next(t for t, state in STATES.items() if state == after)
    return Step(piece.id, touch)


# The order without a plan


def catalogue_order(pieces: Sequence[Handled], shots: Sequence[Shot]) -> tuple[int, int]:
    """Touches and set-ups of filming as the catalogue lists things.

    Each piece by itself, view by view and each view's details after it, and a pair taken out again for its
    shared views.
    """
    touches = set_ups = 0
    camera: Camera | None = None
    for piece in pieces:
        own = [shot for shot in shots if shot.piece == piece.id and not shot.beside]
        phases = [phase for phase in (*FLAT, Touch.DRESS) if any(_first(shot) is phase for shot in own)]
        touches += len({Touch.LAY, *phases}) + 1
        for phase in phases:
            for shot in own:
                if _first(shot) is phase:
                    set_ups += shot.ways[0].camera is not camera
                    camera = shot.ways[0].camera
    shared: dict[tuple[Place, ...], list[Shot]] = {}
    for shot in shots:
        if shot.beside:
            shared.setdefault(shot.ways[0].needs, []).append(shot)
    for needs, same in shared.items():
        touches += sum(2 if place.phase is Touch.LAY else 3 for place in needs)
        set_ups += same[0].ways[0].camera is not camera
        camera = same[0].ways[0].camera
    return touches, set_ups


def _first(shot: Shot) -> Touch:
    return shot.ways[0].needs[0].phase
