"""The points of a piece: what is to be said aloud while it is filmed."""

from __future__ import annotations

from collections.abc import Sequence

from showrunner.domain.kinds import Seen
from showrunner.domain.piece import Claim, Confidence, Feature, Piece, Presence
from showrunner.domain.record import record
from showrunner.domain.shoot import Touch
from showrunner.planning.shots import phases_of

HEDGES = {Confidence.SURE: "", Confidence.PROBABLE: "probably ", Confidence.POSSIBLE: "possibly "}
"""How a claim is spoken: never firmer than it is held."""


@record
class Point:
    """Something to say aloud."""

    id: str
    """The same for the same piece and words."""
    piece: str
    """Id of the piece."""
    text: str
    """What to say."""
    phases: tuple[Touch, ...] = ()
    """Touches that leave the piece so that the point can be shown while it is said; empty if it needs no view."""
    gone: bool = False
    """Whether it is about something absent or altered, which no picture tells by itself."""


def points_of(piece: Piece, good: Sequence[Seen]) -> tuple[Point, ...]:
    """The points of a piece: features, absences and alterations, claims that stand, free text.

    Args:
        piece: the piece.
        good: the views it has, for where a feature can be seen.
    """
    found: list[Point] = []
    for feature in piece.features:
        gone = feature.altered or feature.presence is not Presence.PRESENT
        found.append(Point("", piece.id, _feature(feature), phases_of(feature, good), gone))
    found += [Point("", piece.id, claim_words(claim)) for claim in piece.claims if not claim.superseded]
    found += [Point("", piece.id, text) for text in piece.points]
    return tuple(_with_ids(found))


def _with_ids(points: list[Point]) -> list[Point]:
    seen: dict[str, int] = {}
    named = []
    for point in points:
        id = f"{point.piece}/say/{point.text}"
        seen[id] = seen.get(id, 0) + 1
        if seen[id] > 1:
            id = f"{id} ({seen[id]})"
        named.append(Point(id, point.piece, point.text, point.phases, point.gone))
    return named


def _feature(feature: Feature) -> str:
    text = f"{feature.what}{f', {feature.where}' if feature.where else ''}"
    told = {Presence.PRESENT: "", Presence.ABSENT: "absent", Presence.TRACE: "only a trace is left"}[feature.presence]
    states = [state for state in (told, "altered" if feature.altered else "") if state]
    return f"{text}: {', '.join(states)}" if states else text


def claim_words(claim: Claim) -> str:
    """A claim as it is spoken, with its confidence in words."""
    return f"{claim.about}: {HEDGES[claim.confidence]}{claim.value}"
