"""The room in the boxes: depth, weight and what lies on what, exactly, as far as the book knows it.

A piece takes its measured `thickness`; pieces of one layer lie side by side, so a layer is as thick as its thickest.
A piece whose layer is not known counts as a layer of its own. What is not measured counts nothing and is told.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from decimal import Decimal

from dateutil.relativedelta import relativedelta

from showrunner.domain.book import Book
from showrunner.domain.collection import Box, Supply
from showrunner.domain.piece import Piece
from showrunner.domain.record import record
from showrunner.domain.words import plain

THICKNESS, WEIGHT = "thickness", "weight"
"""Names of the measurements that count here."""

NOTHING = Decimal(0)


@record
class Layer:
    """What lies side by side in a box."""

    number: int | None
    """Its number, 1 at the bottom; None for a piece of which it is not known."""
    pieces: tuple[str, ...]
    """Ids of its pieces."""
    thickness_cm: Decimal
    """Thickness of the thickest one that is measured, cm."""


@record
class Pressed:
    """A fragile piece with a heavier one above it."""

    fragile: str
    """Id of the fragile piece."""
    heavy: str
    """Id of the piece above it."""
    kg: Decimal
    """By how much that is heavier, kg."""


@record
class BoxRoom:
    """One box and what is in it."""

    box: str
    """Id of the box."""
    layers: tuple[Layer, ...]
    """Its layers from the top."""
    depth_cm: Decimal | None
    """Depth inside, cm; None if not measured."""
    filled_cm: Decimal
    """What the layers take, cm."""
    unmeasured: int
    """Pieces of which no thickness is known."""
    weight_kg: Decimal
    """What its pieces weigh, kg."""
    most_kg: Decimal | None
    """Most it may hold, kg; None if not known."""
    unweighed: int
    """Pieces of which no weight is known."""
    pressed: tuple[Pressed, ...]
    """Fragile pieces with heavier ones above them."""
    refold_due: date | None
    """Day on which its pieces are to be refolded; None if never or not known."""

    @property
    def free_cm(self) -> Decimal | None:
        """Depth that is left; below 0 if it is over-full; None if the depth is not known."""
        return None if self.depth_cm is None else self.depth_cm - self.filled_cm

    @property
    def over_cm(self) -> Decimal:
        """By how much it is over-full, cm."""
        return max(NOTHING, -(self.free_cm or NOTHING))

    @property
    def over_kg(self) -> Decimal:
        """By how much it is too heavy, kg."""
        return NOTHING if self.most_kg is None else max(NOTHING, self.weight_kg - self.most_kg)


@record
class Space:
    """All boxes, and what is to be done about them."""

    boxes: tuple[BoxRoom, ...]
    """The boxes in book order."""
    refold: tuple[tuple[str, date], ...]
    """Ids of the boxes whose pieces are to be refolded by now, with the day it was due, oldest first."""
    reorder: tuple[Supply, ...]
    """What is to be ordered again, counted longest ago first."""
    unboxed: int
    """Pieces of keeping collections that are in no box."""


def space(book: Book, today: date) -> Space:
    """The room in the boxes of a book.

    Args:
        book: the book.
        today: the present day.
    """
    inside: dict[str, list[Piece]] = {}
    for piece in book.pieces:
        if piece.is_here:
            inside.setdefault(piece.box, []).append(piece)
    boxes = tuple(box_room(box, inside.get(box.id, ())) for box in book.boxes)
    due = [(found.box, found.refold_due) for found in boxes if found.refold_due and found.refold_due <= today]
    short = [supply for supply in book.house.supplies if supply.on_hand <= supply.reorder_at]
    return Space(
        boxes=boxes,
        refold=tuple(sorted(due, key=lambda found: found[1])),
        reorder=tuple(sorted(short, key=lambda supply: supply.counted or date.min)),
        unboxed=sum(piece.want is None for piece in inside.get("", ())),
    )


def box_room(box: Box, pieces: Sequence[Piece]) -> BoxRoom:
    """The room in one box that holds some pieces."""
    layers = _layers(pieces)
    return BoxRoom(
        box=box.id,
        layers=layers,
        depth_cm=box.depth_cm,
        filled_cm=sum((layer.thickness_cm for layer in layers), NOTHING),
        unmeasured=sum(measure(piece, THICKNESS) is None for piece in pieces),
        weight_kg=sum((measure(piece, WEIGHT) or NOTHING for piece in pieces), NOTHING),
        most_kg=box.most_kg,
        unweighed=sum(measure(piece, WEIGHT) is None for piece in pieces),
        pressed=tuple(_pressed(pieces)),
        refold_due=box.refolded + relativedelta(months=box.refold_months)
        if box.refolded and box.refold_months
        else None,
    )


def measure(piece: Piece, what: str) -> Decimal | None:
    """A measurement of a piece by its name, in cm or kg; None if it was not taken."""
    return next((m.value for m in piece.measurements if plain(m.what) == what), None)


def _layers(pieces: Iterable[Piece]) -> tuple[Layer, ...]:
    known: dict[int, list[Piece]] = {}
    loose: list[list[Piece]] = []
    for piece in pieces:
        if piece.layer is None:
            loose.append([piece])
        else:
            known.setdefault(piece.layer, []).append(piece)
    from_top = [(None, members) for members in loose] + [(n, known[n]) for n in sorted(known, reverse=True)]
    return tuple(
        Layer(number, tuple(p.id for p in members), max(measure(p, THICKNESS) or NOTHING for p in members))
        for number, members in from_top
    )


def _pressed(pieces: Sequence[Piece]) -> Iterable[Pressed]:
    for low in pieces:
        light = measure(low, WEIGHT)
        if not low.handling.is_fragile or low.layer is None or light is None:
            continue
        for high in pieces:
            weight = measure(high, WEIGHT)
            if high.layer is not None and high.layer > low.layer and weight is not None and weight > light:
                yield Pressed(low.id, high.id, weight - light)
