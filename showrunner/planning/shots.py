"""The shots a piece needs: standard views by kind and handling limits, details of its features, and the pair.

What goes on a form and what has an inside is told by `domain.kinds`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from showrunner.domain.house import HouseRules
from showrunner.domain.kinds import Kind, kind_of
from showrunner.domain.piece import Feature, Piece, Presence, View
from showrunner.domain.record import record
from showrunner.domain.shoot import Camera, Touch
from showrunner.planning.forms import why_no_form, why_not_together

PHASES = {
    View.FLAT_FACE: Touch.LAY,
    View.FLAT_REVERSE: Touch.TURN,
    View.INSIDE: Touch.OPEN,
    View.FORM_FRONT: Touch.DRESS,
    View.FORM_LEFT: Touch.DRESS,
    View.FORM_RIGHT: Touch.DRESS,
    View.FORM_BACK: Touch.DRESS,
}
"""The touch that brings each view before the camera."""

FORM_VIEWS = (View.FORM_FRONT, View.FORM_LEFT, View.FORM_RIGHT, View.FORM_BACK)

MUST_OR_SHOULD = 2
"""A feature of this importance or a higher one (1) gets a detail shot."""


@record
class Place:
    """A piece in the state a touch leaves it in: laid, turned, opened, dressed."""

    piece: str
    """Id of the piece."""
    phase: Touch
    """The touch."""


@record
class Way:
    """One way to take a shot."""

    needs: tuple[Place, ...]
    """Where its pieces must be, all at once."""
    camera: Camera
    """Where the camera stands."""


@record
class Shot:
    """One view in one set-up."""

    id: str
    """The same for the same piece, view and feature, whatever else changes."""
    piece: str
    """Id of the piece; of the first one if two are side by side."""
    view: View
    """The view."""
    ways: tuple[Way, ...]
    """How it can be taken, the first choice first."""
    feature: str = ""
    """For a detail, the feature in words."""
    where: str = ""
    """Where the feature is, on the wearer's left or right."""
    beside: str = ""
    """For two side by side, id of the second piece."""
    aspect: View | None = None
    """For two side by side, the view in which both are seen."""

    @property
    def is_detail(self) -> bool:
        """Whether it is a detail of a feature; all others are required views."""
        return self.view is View.DETAIL

    @property
    def words(self) -> str:
        """The shot in words, without the piece."""
        if self.is_detail:
            return f"detail: {self.feature}{f', {self.where}' if self.where else ''}"
        return f"{self.view.value}, {self.aspect.value}" if self.aspect else self.view.value


def ready_ways(shot: Shot, phase: Mapping[str, Touch]) -> tuple[Way, ...]:
    """The ways in which a shot can be taken as its pieces are now, by the touch that brought each there."""
    return tuple(way for way in shot.ways if all(phase.get(p.piece) is p.phase for p in way.needs))


@record
class Refused:
    """A view that a piece cannot have."""

    piece: str
    """Id of the piece."""
    view: View
    """The view."""
    why: str
    """What forbids it."""
    instead: str
    """What is done in its place."""


@record
class Shots:
    """Everything to film of some pieces."""

    shots: tuple[Shot, ...]
    """In catalogue order: the pieces as given, views as in the house rules, then details."""
    refused: tuple[Refused, ...]
    """Views that are left out."""


def shots_of(studies: Sequence[Sequence[Piece]], house: HouseRules) -> Shots:
    """The shots of the pieces of each study; two pieces of one study are also shown side by side."""
    shots: list[Shot] = []
    refused: list[Refused] = []
    for pieces in studies:
        views = {piece.id: views_of(piece, house) for piece in pieces}
        for piece in pieces:
            good, bad = views[piece.id]
            refused += bad
            shots += [_wide(piece, view) for view in good]
            shots += _details(piece, good, house)
        if len(pieces) == 2:
            both, apart = _side_by_side(pieces[0], pieces[1], {id: good for id, (good, _) in views.items()}, house)
            shots += both
            refused += apart
    return Shots(tuple(shots), tuple(refused))


def views_of(piece: Piece, house: HouseRules) -> tuple[tuple[View, ...], tuple[Refused, ...]]:
    """The standard views of a piece, and those its limits forbid; views its kind has none of are in neither.

    What is of no known kind goes on no form.
    """
    good: list[View] = []
    bad: list[Refused] = []
    kind = kind_of_piece(piece)
    no_form = why_no_form(piece, house)
    for view in house.standard_views:
        if view not in PHASES:
            continue
        if view in FORM_VIEWS and not (kind and kind.form):
            continue
        if view is View.INSIDE and kind and not kind.inside:
            continue
        if view in FORM_VIEWS and piece.handling.flat_only:
            bad.append(Refused(piece.id, view, "it stays flat", _flat_instead(view)))
        elif view in FORM_VIEWS and no_form:
            bad.append(Refused(piece.id, view, no_form, _flat_instead(view)))
        elif view is View.FLAT_REVERSE and piece.handling.no_turning:
            bad.append(Refused(piece.id, view, "it is never turned", "say what is known of its reverse"))
        else:
            good.append(view)
    return tuple(good), tuple(bad)


def kind_of_piece(piece: Piece) -> Kind | None:
    """Its kind, told by its name where its kind is not known; None if neither says."""
    return kind_of(piece.kind) or kind_of(piece.name)


def _flat_instead(view: View) -> str:
    if view is View.FORM_BACK:
        return "hold the flat reverse longer"
    return "hold the flat face longer, tissue under its folds" if view is View.FORM_FRONT else "say how it stands out"


def _wide(piece: Piece, view: View) -> Shot:
    phase = PHASES[view]
    return Shot(f"{piece.id}/{view.value}", piece.id, view, (Way((Place(piece.id, phase),), _camera(phase)),))


def _camera(phase: Touch, *, close: bool = False) -> Camera:
    if phase is Touch.DRESS:
        return Camera.LEVEL_CLOSE if close else Camera.LEVEL
    return Camera.OVERHEAD_CLOSE if close else Camera.OVERHEAD


def _details(piece: Piece, good: Sequence[View], house: HouseRules) -> list[Shot]:
    """A detail for each feature that must or should be shown and is there to be shown."""
    phases = {PHASES[view] for view in good}
    found: list[Shot] = []
    for feature in piece.features:
        if feature.importance > MUST_OR_SHOULD or feature.presence is Presence.ABSENT:
            continue
        close = not house.details_in_place
        ways = tuple(
            Way((Place(piece.id, phase),), _camera(phase, close=close)) for phase in phases_of(feature, phases)
        )
        if ways:
            at = f"{piece.id}/detail/{feature.what}"
            same = sum(shot.feature == feature.what for shot in found)
            at += f" ({same + 1})" if same else ""
            found.append(Shot(at, piece.id, View.DETAIL, ways, feature.what, feature.where))
    return found


def phases_of(feature: Feature, phases: Iterable[Touch]) -> tuple[Touch, ...]:
    """Where a feature can be seen, the gentlest way first, among the phases a piece goes through.

    A feature of a form view that is forbidden is shown flat; one whose view is `detail` is shown
    wherever its face is.
    """
    there = set(phases)
    if feature.view in PHASES:
        wanted = [PHASES[feature.view]]
        if wanted[0] not in there:
            wanted = [Touch.TURN if feature.view is View.FORM_BACK else Touch.LAY]
    else:
        wanted = [Touch.LAY, Touch.DRESS]
    chosen = tuple(phase for phase in wanted if phase in there)
    return chosen or tuple(phase for phase in Touch if phase in there)[:1]


def _side_by_side(
    one: Piece, two: Piece, views: dict[str, tuple[View, ...]], house: HouseRules
) -> tuple[list[Shot], list[Refused]]:
    """The shared views of a pair: on forms if both may stand on one, else flat, if the table holds both."""
    shared = [view for view in FORM_VIEWS if view in views[one.id] and view in views[two.id]]
    why = why_not_together((one, two), house) if shared else ""
    if shared and not why:
        return [_beside(one, two, view, Touch.DRESS) for view in shared], []
    refused = [Refused(one.id, View.SIDE_BY_SIDE, why, "show them side by side in the edit")] if why else []
    flat = View.FLAT_FACE in views[one.id] and View.FLAT_FACE in views[two.id]
    if flat and house.tables >= 2:
        flat_refused = [Refused(r.piece, r.view, r.why, "show them side by side flat") for r in refused]
        return [_beside(one, two, View.FLAT_FACE, Touch.LAY)], flat_refused
    if flat and not refused:
        why = f"they have no form view in common, and {house.tables} table holds one of them at a time"
        refused = [Refused(one.id, View.SIDE_BY_SIDE, why, "show them side by side in the edit")]
    return [], refused


def _beside(one: Piece, two: Piece, view: View, phase: Touch) -> Shot:
    way = Way((Place(one.id, phase), Place(two.id, phase)), _camera(phase))
    id = f"{one.id}+{two.id}/{view.value}"
    return Shot(id, one.id, View.SIDE_BY_SIDE, (way,), beside=two.id, aspect=view)
