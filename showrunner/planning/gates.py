"""What can only be seen or said before a touch: one question, for the sheet and in the middle of a shoot.

Nothing here knows which touches come after which: what a piece still goes through is read from the run order.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from showrunner.domain.record import record
from showrunner.domain.shoot import Touch
from showrunner.planning.points import Point
from showrunner.planning.run_order import RunOrder
from showrunner.planning.shots import Shot

Ahead = Mapping[str, tuple[Touch, ...]]
"""The touches that each piece still goes through, in order."""


@record
class Gate:
    """What can only be seen or said before a touch."""

    piece: str
    """Id of the piece about to be touched."""
    touch: Touch
    """The touch."""
    shots: tuple[Shot, ...]
    """Shots that the touch takes away."""
    points: tuple[Point, ...]
    """Points that cannot be shown any more after it; before boxing all that are left."""

    @property
    def clear(self) -> bool:
        """Whether nothing is lost by the touch."""
        return not self.shots and not self.points


def gate(
    piece: str,
    touch: Touch,
    shots: Sequence[Shot],
    points: Sequence[Point],
    phase: Mapping[str, Touch],
    ahead: Ahead,
    *,
    left_out: bool = False,
    settled: Collection[str] = (),
    said: Collection[str] = (),
) -> Gate:
    """What can be seen or said as things are, and cannot once a touch is done or left out.

    Args:
        piece: id of the piece.
        touch: the touch.
        shots: all shots.
        points: all points.
        phase: the touch that brought each handled piece to where it is.
        ahead: what each piece still goes through.
        left_out: whether the touch is left out, not done.
        settled: ids of shots that need not be thought of any more.
        said: ids of points that need not.
    """
    then: tuple[Mapping[str, Touch], Ahead] = phase, leaving_out(piece, touch, phase, ahead)
    if not left_out:
        then = {**phase, piece: touch}, {**ahead, piece: after_touch(ahead.get(piece, ()), touch)}
    lost = [
        shot
        for shot in shots
        if shot.id not in settled and can_still(shot, phase, ahead) and not can_still(shot, *then)
    ]
    shows = shown(piece, *then)
    unsaid = [
        point
        for point in points
        if point.piece == piece
        and point.id not in said
        and (not shows or (point.phases and not shows & {*point.phases}))
    ]
    return Gate(piece, touch, tuple(lost), tuple(unsaid))


def gates_of(order: RunOrder, shots: Sequence[Shot], points: Sequence[Point]) -> tuple[Gate, ...]:
    """The gates of a shoot in run order; each point is in the one after which it is lost."""
    found: list[Gate] = []
    phase: dict[str, Touch] = {}
    ahead = touches_of(order)
    filmed = {piece for piece, touches in ahead.items() if any(touch.shows for touch in touches)}
    said: set[str] = set()
    for step in order.steps:
        if step.touch is None:
            continue
        if step.piece in phase and step.piece in filmed:
            found.append(gate(step.piece, step.touch, shots, points, phase, ahead, said=said))
            said |= {point.id for point in found[-1].points}
        phase[step.piece] = step.touch
        ahead[step.piece] = after_touch(ahead[step.piece], step.touch)
    return tuple(found)


def touches_of(order: RunOrder) -> dict[str, tuple[Touch, ...]]:
    """The touches of each piece, in order."""
    found: dict[str, tuple[Touch, ...]] = {}
    for step in order.steps:
        if step.touch:
            found[step.piece] = (*found.get(step.piece, ()), step.touch)
    return found


def after_touch(touches: tuple[Touch, ...], touch: Touch) -> tuple[Touch, ...]:
    """What is left of a piece's touches once one is done, those before it passed over."""
    if touch in touches:
        return touches[touches.index(touch) + 1 :]
    return () if touch.leaves_boxed else touches


def leaving_out(piece: str, touch: Touch, phase: Mapping[str, Touch], ahead: Ahead) -> dict[str, tuple[Touch, ...]]:
    """What each piece goes through if the next touch of a sort is left out; one not laid out goes through no other."""
    touches = ahead.get(piece, ())
    at = touches.index(touch) if touch in touches else len(touches)
    return {**ahead, piece: (*touches[:at], *touches[at + 1 :]) if piece in phase else ()}


def can_still(shot: Shot, phase: Mapping[str, Touch], ahead: Ahead) -> bool:
    """Whether the shot can still be taken as its pieces have been handled and will be."""
    return any(all(p.phase in shown(p.piece, phase, ahead) for p in way.needs) for way in shot.ways)


def shown(piece: str, phase: Mapping[str, Touch], ahead: Ahead) -> set[Touch]:
    """The touches that show a piece as it is, or will show it."""
    now = {phase[piece]} if piece in phase else set()
    return {touch for touch in {*now, *ahead.get(piece, ())} if touch.shows}
