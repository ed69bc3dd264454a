"""The shots a piece needs: standard views by kind and handling limits, details of its features, and the pair.

What views a kind has, and what it is put on, is told by `domain.kinds`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from showrunner.domain.house import HouseRules
from showrunner.domain.kinds import VIEWS, Held, Kind, Seen, Shows, kind_of
from showrunner.domain.opening import Opens
from showrunner.domain.piece import Feature, Piece, Presence, View
from showrunner.domain.record import record
from showrunner.domain.shoot import Camera, Touch
from showrunner.domain.words import plain
from showrunner.planning.forms import held_of, why_no_form, why_not_together
from showrunner.planning.materials import has_word

FORM_VIEWS = (View.FORM_FRONT, View.FORM_LEFT, View.FORM_RIGHT, View.FORM_BACK)
ON_STAND = (Held.ADULT, Held.CHILD, Held.SKIRT, Held.HEAD)
"""What a piece is dressed on for the views that need it."""
REVERSE = (View.FLAT_REVERSE, View.FORM_BACK, View.BACK, View.PALM, View.OPEN_REVERSE)
"""Views from behind."""
UNKNOWN = tuple(seen for seen in VIEWS[Shows.FLAT] if seen.view is not View.INSIDE)
"""What is filmed of a kind that is not known."""

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
    views: Mapping[str, tuple[Seen, ...]]
    """The standard views of each piece, by its id."""


def shots_of(studies: Sequence[Sequence[Piece]], house: HouseRules) -> Shots:
    """The shots of the pieces of each study; two pieces of one study are also shown side by side."""
    shots: list[Shot] = []
    refused: list[Refused] = []
    views: dict[str, tuple[Seen, ...]] = {}
    for pieces in studies:
        for piece in pieces:
            good, bad = views_of(piece, house)
            views[piece.id] = good
            refused += bad
            shots += [_wide(piece, seen) for seen in good]
            shots += _details(piece, good, house)
        if len(pieces) == 2:
            both, apart = _side_by_side(pieces[0], pieces[1], views, house)
            shots += both
            refused += apart
    return Shots(tuple(shots), tuple(refused), views)


def views_of(piece: Piece, house: HouseRules) -> tuple[tuple[Seen, ...], tuple[Refused, ...]]:
    """The standard views of a piece, and those its limits forbid; views its kind has none of are in neither.

    What is of no known kind is filmed flat. Headwear without a stand is filmed as it stands on a padded tray.
    """
    kind = kind_of_piece(piece, house)
    limits, held = piece.handling, held_of(piece, kind)
    seen = kind.views if kind else UNKNOWN
    if kind is None or kind.shows is Shows.GARMENT:
        seen = tuple(one for view in house.standard_views for one in seen if one.view is view)
    no_form = why_no_form(piece, held, house) if held in ON_STAND else ""
    if held is Held.HEAD and (no_form or limits.flat_only):
        seen = tuple(replace(one, touch=Touch.LAY) if one.touch is Touch.DRESS else one for one in seen)
    no_opening = ""
    if kind and kind.shows in (Shows.FOLDING, Shows.GLOVE) and is_brittle(piece):
        no_opening = "it is brittle and is never opened"
    no_turning = "it is never turned" if limits.no_turning else ""
    behind = no_turning and opens_of(piece, house) is Opens.BACK
    forbidden = {
        Touch.DRESS: "it stays flat" if limits.flat_only else no_form,
        Touch.TURN: no_turning,
        Touch.OPEN: "it opens at the back and is never turned" if behind else no_opening,
    }
    good: list[Seen] = []
    bad: list[Refused] = []
    for one in seen:
        why = forbidden.get(one.touch, "") or (no_opening if one.view is View.OPEN_REVERSE else "")
        if why:
            bad.append(Refused(piece.id, one.view, why, _instead(one)))
        else:
            good.append(one)
    return tuple(good), tuple(bad)


def is_brittle(piece: Piece) -> bool:
    """Whether the last entry for some place of its condition, or its limits, say that it is brittle or splits."""
    last = {entry.place: entry.text for entry in piece.condition}
    return any(has_word(text.lower(), BRITTLE) for text in (*last.values(), *piece.hazards, piece.handling.notes))


BRITTLE = ("brittle", "shatter", "split", "crack", "fragile")
"""Begins of words that say so."""


def kind_of_piece(piece: Piece, house: HouseRules) -> Kind | None:
    """Its kind: as the house says, as the table has it, or told by its name; None if none says."""
    said = next((known.like for known in house.kinds if plain(known.word) == plain(piece.kind)), "")
    return kind_of(said) or kind_of(piece.kind) or kind_of(piece.name)


def opens_of(piece: Piece, house: HouseRules) -> Opens:
    """The side it opens on: as it is on record, or as its kind mostly does."""
    kind = kind_of_piece(piece, house)
    return piece.opens or (kind.opens if kind else Opens.NONE)


def _instead(seen: Seen) -> str:
    if seen.touch is Touch.TURN:
        return "say what is known of its reverse"
    if seen.touch is Touch.OPEN:
        return "say what is known of its inside"
    if seen.view in REVERSE:
        return "hold the flat reverse longer"
    if seen.view in (View.FORM_FRONT, View.FRONT):
        return "hold the flat face longer, tissue under its folds"
    return "say how it stands out"


def _wide(piece: Piece, seen: Seen) -> Shot:
    way = Way((Place(piece.id, seen.touch),), seen.camera)
    return Shot(f"{piece.id}/{seen.view.value}", piece.id, seen.view, (way,))


def _close(touch: Touch, house: HouseRules) -> Camera:
    """Where the camera stands for a detail."""
    if touch is Touch.DRESS:
        return Camera.LEVEL if house.details_in_place else Camera.LEVEL_CLOSE
    return Camera.OVERHEAD if house.details_in_place else Camera.OVERHEAD_CLOSE


def _details(piece: Piece, good: Sequence[Seen], house: HouseRules) -> list[Shot]:
    """A detail for each feature that must or should be shown and is there to be shown."""
    found: list[Shot] = []
    for feature in piece.features:
        if feature.importance > MUST_OR_SHOULD or feature.presence is Presence.ABSENT:
            continue
        ways = tuple(Way((Place(piece.id, touch),), _close(touch, house)) for touch in phases_of(feature, good))
        if ways:
            at = f"{piece.id}/detail/{feature.what}"
            same = sum(shot.feature == feature.what for shot in found)
            at += f" ({same + 1})" if same else ""
            found.append(Shot(at, piece.id, View.DETAIL, ways, feature.what, feature.where))
    return found


def phases_of(feature: Feature, good: Sequence[Seen]) -> tuple[Touch, ...]:
    """Where a feature can be seen, the gentlest way first, among the views that a piece has.

    A feature of a view that is forbidden, or that its kind has none of, is shown from the same side another way; one
    whose view is `detail` is shown wherever its face is.
    """
    touches = {seen.view: seen.touch for seen in good}
    if feature.view in touches:
        return (touches[feature.view],)
    if feature.view is View.DETAIL:
        chosen = tuple(touch for touch in (Touch.LAY, Touch.DRESS) if touch in touches.values())
    else:
        behind = feature.view in REVERSE
        inside = feature.view is View.INSIDE
        alike = [seen.touch for seen in good if (seen.view in REVERSE) is behind and not inside]
        chosen = tuple(touch for touch in Touch if touch in alike)[:1]
    return chosen or tuple(touch for touch in Touch if touch in touches.values())[:1]


def _side_by_side(
    one: Piece, two: Piece, views: Mapping[str, tuple[Seen, ...]], house: HouseRules
) -> tuple[list[Shot], list[Refused]]:
    """The shared views of a pair: on forms if both may stand on one, else as they lie, if the table holds both."""
    both = [seen for seen in views[one.id] if seen in views[two.id]]
    shared = [seen for seen in both if seen.touch is Touch.DRESS]
    pair = [(piece, held_of(piece, kind_of_piece(piece, house))) for piece in (one, two)]
    why = why_not_together(pair, house) if shared else ""
    if shared and not why:
        return [_beside(one, two, seen) for seen in shared], []
    refused = [Refused(one.id, View.SIDE_BY_SIDE, why, "show them side by side in the edit")] if why else []
    lying = [seen for seen in both if seen.touch is Touch.LAY][:1]
    if lying and house.tables >= 2:
        flat_refused = [Refused(r.piece, r.view, r.why, "show them side by side flat") for r in refused]
        return [_beside(one, two, lying[0])], flat_refused
    if lying and not refused:
        why = f"they have no form view in common, and {house.tables} table holds one of them at a time"
        refused = [Refused(one.id, View.SIDE_BY_SIDE, why, "show them side by side in the edit")]
    return [], refused


def _beside(one: Piece, two: Piece, seen: Seen) -> Shot:
    way = Way((Place(one.id, seen.touch), Place(two.id, seen.touch)), seen.camera)
    id = f"{one.id}+{two.id}/{seen.view.value}"
    return Shot(id, one.id, View.SIDE_BY_SIDE, (way,), beside=two.id, aspect=seen.view)
