"""The run order of a shoot: fewest touches, then fewest set-ups, proven.

Each piece is laid out on its back, opened and turned in the order that the side it opens on allows (see
`domain.opening`), perhaps dressed, and boxed. All flat and inside work of every piece comes before the first
dressing, no more pieces lie on tables than there are tables, no more stand on forms than there are forms that fit,
and a piece stays on its form until it is boxed. A piece whose flat work is done may wait beside the table, covered,
on its board: that is no touch. A piece is dressed at the table, so it needs a place there.

What lies on top of a piece in its box is lifted out first and put back once everything under it is in again; both
are touches. A piece that was boxed too early for what lies under it is lifted out once more.

Every state is (the phase of each piece, the camera, what is still to be taken); a shot that can be taken
as things stand costs nothing and so is always taken at once. A best-first search over these states, with
a bound that never exceeds the true cost to go, finds the least cost exactly.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Mapping, Sequence
from functools import partial, reduce
from itertools import count
from operator import or_

from showrunner.domain.opening import Opens
from showrunner.domain.record import record
from showrunner.domain.shoot import Camera, Touch
from showrunner.planning.shots import Place, Shot, Way

FLAT = (Touch.LAY, Touch.TURN, Touch.OPEN)
IN_BOX, LAID, TURNED, OPENED, ASIDE, BOXED, OUT, ON_FORM = range(8)
"""States of a piece; OUT is lifted out and covered on its board, ON_FORM + n is on form n."""
AWAY = (IN_BOX, BOXED)
"""States in which a piece lies in its box."""
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
    opens: Opens = Opens.NONE
    """The side it opens on."""
    above: tuple[str, ...] = ()
    """Ids of what lies on top of it in its box, the top one first."""


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


def best_order(
    pieces: Sequence[Handled], shots: Sequence[Shot], *, tables: int, others: Sequence[Handled] = ()
) -> RunOrder:
    """The best run order.

    Args:
        pieces: the pieces, in book order.
        shots: what is to be taken, in catalogue order.
        tables: pieces that can lie on tables at once.
        others: pieces that are not filmed and lie on top of one that is.

    Raises:
        CannotRun: no order takes all the shots (not enough tables or forms).
    """
    if tables < 1:
        raise CannotRun("there is no table to lay a piece on")
    return _Search(pieces, shots, tables, others).run()


class _Search:
    """The search.

    Shots that can be taken in exactly the same ways are one group; every set of groups is one whole
    number in which each way of each group has a bit.
    """

    def __init__(
        self, pieces: Sequence[Handled], shots: Sequence[Shot], tables: int, others: Sequence[Handled]
    ) -> None:
        self.filmed = range(len(pieces))
        self.others = range(len(pieces), len(pieces) + len(others))
        self.pieces = (*pieces, *others)
        self.tables = tables
        at = {piece.id: number for number, piece in enumerate(self.pieces)}
        self.above = [[at[id] for id in piece.above if id in at] for piece in self.pieces]
        """For each piece what lies on top of it, the top one first."""
        self.below = [[low for low, over in enumerate(self.above) if high in over] for high in range(len(self.pieces))]
        self.under = sorted(self.others, key=lambda high: len(self.below[high]))
        """The pieces that are not filmed, the lowest first."""
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
        self.needed = [reduce(or_, needing.values()) for needing in self.needing]
        """The ways in which each piece has a part."""
        states = range(ON_FORM + 1)
        self.stands = [[self._bits(piece, state, _in) for state in states] for piece in self.filmed]
        self.alive = [
            [
                [self._bits(piece, state, partial(reach, opens=self.pieces[piece].opens)) for state in states]
                for reach in (_reachable, _reachable_dressing)
            ]
            for piece in self.filmed
        ]
        self.bounds: dict[State, tuple[int, int]] = {}

    def _bits(self, piece: int, state: int, holds: Callable[[int, Touch], bool]) -> int:
        """The ways that a piece in this state does not stand against."""
        return self.all & ~sum(bits for touch, bits in self.needing[piece].items() if not holds(state, touch))

    def run(self) -> RunOrder:
        start: State = ((IN_BOX,) * len(self.pieces), NO_CAMERA, self.all)
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
            if not left and all(phases[at] == BOXED for at in self.filmed) and OUT not in phases:
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
        for at in self.filmed:
            if not left & self.needed[at] and phases[at] not in AWAY and self._goes_back(at, phases):
                return [self._moved(at, BOXED, state)]  # nothing is gained by letting it lie
        found = [self._moved(at, after, state) for at in self.filmed for after in self._next(at, phases, left)]
        found = [move for move in found if self._all_can_still_be_taken(move[1][0], move[1][2])]
        ready = self._ready(phases, left)
        for other, bits in enumerate(self.with_camera):
            if ready & bits:
                close_first = camera == NO_CAMERA and CAMERAS[other] in CLOSE
                found.append(self._take((0, 1, int(close_first), 0, 0), phases, other, left, ()))
        return found

    def _moved(self, at: int, after: int, state: State) -> tuple[Cost, State, tuple[Step, ...]]:
        """Bring a piece into another state, with the lifting out before and the putting back after it."""
        phases, camera, left = state
        now = list(phases)
        steps: list[Step] = []
        more = 0
        if after == LAID:
            for high in self.above[at]:
                if high in self.others and now[high] == IN_BOX:
                    now[high] = OUT
                    steps.append(Step(self.pieces[high].id, Touch.LIFT))
                    more += self.pieces[high].weight
        steps.append(_step(self.pieces[at], after))
        now[at] = after
        for high in self.under:
            if now[high] == OUT and self._goes_back(high, now):
                now[high] = BOXED
                steps.append(Step(self.pieces[high].id, Touch.BOX))
                more += self.pieces[high].weight
        cost = self._cost(at, after, phases)
        return self._take((cost[0] + more, *cost[1:]), tuple(now), camera, left, tuple(steps))

    def _cost(self, at: int, after: int, phases: tuple[int, ...]) -> Cost:
        piece = self.pieces[at]
        if after == ASIDE:
            return 0, 0, 0, 1, 0
        if after == LAID:
            return piece.weight, 0, phases[:at].count(IN_BOX), 0, 0
        padding = piece.padding_mm[piece.forms.index(after - ON_FORM)] if after >= ON_FORM and piece.padding_mm else 0
        return piece.weight, 0, 0, 0, padding

    def _next(self, at: int, phases: tuple[int, ...], left: int) -> list[int]:
        """States that the piece may be brought into next."""
        phase = phases[at]
        covered = any(phases[high] in AWAY for high in self.above[at] if high in self.filmed)
        room = sum(LAID <= other <= OPENED for number, other in enumerate(phases) if number != at) < self.tables
        if phase == IN_BOX:
            return [LAID] if room and not covered else []
        if phase == BOXED:
            return [OUT] if not covered and not self._goes_back(at, phases) else []
        needing = self.needing[at]
        after = [state for touch, state in STATES.items() if self._is_due(at, phase, touch, left)]
        if left & needing[Touch.DRESS] and phase < ON_FORM and room and not left & self.flat_only:
            after += [ON_FORM + form for form in self.pieces[at].forms if ON_FORM + form not in phases]
        if phase <= OPENED:
            after.append(ASIDE)
        if not covered:
            after.append(BOXED)
        return after

    def _is_due(self, at: int, phase: int, touch: Touch, left: int) -> bool:
        """Whether a lying piece may be brought to this touch next, for a view or on the way to one."""
        opens, needing = self.pieces[at].opens, self.needing[at]
        if touch is Touch.TURN:
            on_the_way = opens is Opens.BACK and phase == LAID and left & needing[Touch.OPEN]
            return bool(left & needing[touch] or on_the_way) and phase in _BEFORE_TURNING[opens]
        return touch is Touch.OPEN and bool(left & needing[touch]) and phase in _BEFORE_OPENING[opens]

    def _goes_back(self, at: int, phases: Sequence[int]) -> bool:
        """Whether a piece can go back into its box for good: nothing over it is in, and nothing under it is out."""
        return not any(phases[high] in AWAY for high in self.above[at]) and not any(
            phases[low] != BOXED if low in self.filmed else phases[low] == OUT for low in self.below[at]
        )

    def _all_can_still_be_taken(self, phases: tuple[int, ...], left: int) -> bool:
        dressing = any(phase >= ON_FORM for phase in phases)
        alive = left
        for at in self.filmed:
            alive &= self.alive[at][dressing][min(phases[at], ON_FORM)]
        dead = left & ~alive
        if not dead:
            return True
        if dead & self.single:
            return False
        return all(alive & bits for bits, _ in self.groups if dead & bits)

    def _ready(self, phases: tuple[int, ...], left: int) -> int:
        """Ways that can be taken as things stand."""
        for at in self.filmed:
            left &= self.stands[at][min(phases[at], ON_FORM)]
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
        touches = sum(self.pieces[at].weight for at in self.others if phases[at] == OUT)
        lifted = {high for at in self.filmed if phases[at] == IN_BOX for high in self.above[at] if high in self.others}
        touches += sum(2 * self.pieces[at].weight for at in lifted if phases[at] == IN_BOX)
        for at in self.filmed:
            phase = phases[at]
            if phase == BOXED:
                continue
            needing = self.needing[at]
            due = sum(bool(sure & bits) for touch, bits in needing.items() if not _in(phase, touch))
            due += phase == IN_BOX and not sure & needing[Touch.LAY]
            if self.pieces[at].opens is Opens.BACK and phase <= LAID and sure & needing[Touch.OPEN]:
                due += not sure & needing[Touch.TURN]
            touches += self.pieces[at].weight * (due + 1)
        return touches, sum(bool(sure & bits) for other, bits in enumerate(self.with_camera) if other != camera)


_BEFORE_TURNING = {
    Opens.FRONT: (LAID, OPENED),
    Opens.BACK: (LAID,),
    Opens.SIDE: (LAID, OPENED),
    Opens.NONE: (LAID, OPENED),
}
"""States in which a piece may be turned for the first time, by the side it opens on."""
_BEFORE_OPENING = {
    Opens.FRONT: (LAID,),
    Opens.BACK: (TURNED,),
    Opens.SIDE: (LAID, TURNED),
    Opens.NONE: (LAID, TURNED),
}
"""States in which it may be opened."""


def _in(phase: int, touch: Touch) -> bool:
    return phase >= ON_FORM if touch is Touch.DRESS else phase == STATES[touch]


def _reachable(phase: int, touch: Touch, opens: Opens) -> bool:
    """Whether a piece in this state can still come into that of the touch."""
    if touch is Touch.DRESS:
        return phase not in (BOXED, OUT)
    if phase in (IN_BOX, LAID, STATES[touch]):
        return True
    before = _BEFORE_TURNING if touch is Touch.TURN else _BEFORE_OPENING
    return touch is not Touch.LAY and phase in before[opens]


def _reachable_dressing(phase: int, touch: Touch, opens: Opens) -> bool:
    """The same once a piece stands on a form: then no flat work is begun any more."""
    return _reachable(phase, touch, opens) if touch is Touch.DRESS else phase == STATES[touch]


def _step(piece: Handled, after: int) -> Step:
    if after == ASIDE:
        return Step(piece.id, aside=True)
    if after == OUT:
        return Step(piece.id, Touch.LIFT)
    if after >= ON_FORM:
        return Step(piece.id, Touch.DRESS, after - ON_FORM)
    touch = Touch.BOX if after == BOXED else next(t for t, state in STATES.items() if state == after)
    return Step(piece.id, touch)


# The order without a plan


def catalogue_order(pieces: Sequence[Handled], shots: Sequence[Shot]) -> tuple[int, int]:
    """Touches and set-ups of filming as the catalogue lists things.

    Each piece by itself, with what lies on it lifted out and put back; face, reverse and inside in this order, each
    view with its details after it, turned back where it opens in front; and a pair taken out again for its shared
    views.
    """
    touches = set_ups = 0
    camera: Camera | None = None
    known = {piece.id: piece for piece in pieces}
    for piece in pieces:
        own = [shot for shot in shots if shot.piece == piece.id and not shot.beside]
        phases = [phase for phase in (*FLAT, Touch.DRESS) if any(_first(shot) is phase for shot in own)]
        touches += len({Touch.LAY, *phases}) + 1 + 2 * len(piece.above)
        if Touch.OPEN in phases and piece.opens in (Opens.FRONT, Opens.BACK):
            touches += (Touch.TURN in phases) is (piece.opens is Opens.FRONT)
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
        both = {place.piece for place in needs}
        touches += 2 * len({over for id in both for over in known[id].above} - both)
        set_ups += same[0].ways[0].camera is not camera
        camera = same[0].ways[0].camera
    return touches, set_ups


def _first(shot: Shot) -> Touch:
    return shot.ways[0].needs[0].phase
