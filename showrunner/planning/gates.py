"""What can only be seen or said before a touch: one question, for the sheet and in the middle of a shoot."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from showrunner.domain.record import record
from showrunner.domain.shoot import Touch
from showrunner.planning.points import Point
from showrunner.planning.run_order import RunOrder
from showrunner.planning.shots import Shot


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
    order: RunOrder,
    phase: Mapping[str, Touch],
    *,
    settled: Collection[str] = (),
    said: Collection[str] = (),
) -> Gate:
    """The gate before a touch.

    Args:
        piece: id of the piece.
        touch: the touch.
        shots: all shots.
        points: all points.
        order: the run order, for where the piece will still be seen.
        phase: the touch that brought each handled piece to where it is.
        settled: ids of shots that need not be thought of any more.
        said: ids of points that need not.
    """
    after = {**phase, piece: touch}
    later = {phase for phase in phases_in(order, piece) if phase.rank >= touch.rank}
    lost = [
        shot
        for shot in shots
        if piece in (shot.piece, shot.beside)
        and shot.id not in settled
        and can_still(shot, phase)
        and not can_still(shot, after)
    ]
    unsaid = [
        point
        for point in points
        if point.piece == piece
        and point.id not in said
        and (touch is Touch.BOX or (point.phases and not later & set(point.phases)))
    ]
    return Gate(piece, touch, tuple(lost), tuple(unsaid))


def gates_of(order: RunOrder, shots: Sequence[Shot], points: Sequence[Point]) -> tuple[Gate, ...]:
    """The gates of a shoot in run order; each point is in the one after which it is lost."""
    found: list[Gate] = []
    phase: dict[str, Touch] = {}
    said: set[str] = set()
    for step in order.steps:
        if step.touch is None:
            continue
        if step.touch is not Touch.LAY:
            found.append(gate(step.piece, step.touch, shots, points, order, phase, said=said))
            said |= {point.id for point in found[-1].points}
        phase[step.piece] = step.touch
    return tuple(found)


def phases_in(order: RunOrder, piece: str) -> tuple[Touch, ...]:
    """Touches of a piece in the order that leave it before the camera."""
    return tuple(s.touch for s in order.steps if s.piece == piece and s.touch and s.touch is not Touch.BOX)


def can_still(shot: Shot, phase: Mapping[str, Touch]) -> bool:
    """Whether the shot can still be taken as its pieces have been handled."""
    return any(all(not is_past(phase.get(p.piece), p.phase) for p in way.needs) for way in shot.ways)


def is_past(now: Touch | None, touch: Touch) -> bool:
    """Whether a piece that is where `now` brought it is beyond a touch; None: it is in its box still."""
    return now is not None and now.rank > touch.rank
