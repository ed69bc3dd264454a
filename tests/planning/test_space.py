"""The room in the boxes: depth, weight, what presses on what, what to refold and to order again."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

from planning.books import TODAY, demo

from showrunner.domain.book import Book
from showrunner.domain.collection import Box, Collection, Supply
from showrunner.domain.house import HouseRules
from showrunner.domain.piece import Handling, Measurement, Piece, Want, WantStatus
from showrunner.planning.space import BoxRoom, Layer, Pressed, Space, space

FREELY, FRAGILE = Handling(), Handling(flat_only=True)
BOX = Box("A", depth_cm=Decimal(20), most_kg=Decimal(5))


def piece(id: str, layer: int | None, thickness: str = "", weight: str = "", handling: Handling = FREELY) -> Piece:
    measures = [Measurement("Thickness", Decimal(thickness), "cm")] if thickness else []
    measures += [Measurement("weight", Decimal(weight), "kg")] if weight else []
    return Piece(id, id.upper(), "dress", box="A", layer=layer, measurements=tuple(measures), handling=handling)


def of(*pieces: Piece, box: Box = BOX) -> Space:
    book = Book("k", collections=(Collection("dress", "Dress"),), boxes=(box,), pieces=pieces)
    return space(book, TODAY)


def room(*pieces: Piece, box: Box = BOX) -> BoxRoom:
    (found,) = of(*pieces, box=box).boxes
    return found


def test_layers_lie_on_each_other_and_pieces_of_one_side_by_side() -> None:
    found = room(piece("a", 1, "4.5"), piece("b", 1, "3"), piece("c", 2, "6.25"), piece("d", None, "2"))
    assert found.layers == (
        Layer(None, ("d",), Decimal(2)),
        Layer(2, ("c",), Decimal("6.25")),
        Layer(1, ("a", "b"), Decimal("4.5")),
    )
    assert (found.filled_cm, found.free_cm, found.over_cm) == (Decimal("12.75"), Decimal("7.25"), Decimal(0))


def test_a_box_that_is_over_full_says_so_exactly() -> None:
    found = room(piece("a", 1, "12.25"), piece("b", 2, "8.25"))
    assert (found.free_cm, found.over_cm) == (Decimal("-0.5"), Decimal("0.5"))
    exact = room(piece("a", 1, "12.25"), piece("b", 2, "7.75"))
    assert (exact.free_cm, exact.over_cm) == (Decimal(0), Decimal(0))


def test_what_is_not_measured_counts_nothing_and_is_counted() -> None:
    found = room(piece("a", 1, "4"), piece("b", 2), piece("c", 3, weight="1.5"))
    assert (found.unmeasured, found.unweighed, found.weight_kg) == (2, 2, Decimal("1.5"))
    unknown = room(piece("a", 1, "400"), box=Box("A"))
    assert (unknown.free_cm, unknown.over_cm, unknown.over_kg) == (None, Decimal(0), Decimal(0))


def test_a_box_that_is_too_heavy_says_by_how_much() -> None:
    found = room(piece("a", 1, weight="3.1"), piece("b", 2, weight="2.05"))
    assert (found.weight_kg, found.over_kg) == (Decimal("5.15"), Decimal("0.15"))


def test_a_heavier_piece_above_a_fragile_one_presses_on_it() -> None:
    low, high = piece("a", 1, weight="1.2", handling=FRAGILE), piece("b", 3, weight="2")
    assert room(low, high).pressed == (Pressed("a", "b", Decimal("0.8")),)
    assert room(low, replace(high, layer=1)).pressed == ()  # side by side
    assert room(replace(low, layer=4), high).pressed == ()  # the fragile one on top
    assert room(low, piece("b", 3, weight="1.2")).pressed == ()
    assert room(low, piece("b", 3)).pressed == ()  # not weighed
    assert room(replace(low, handling=Handling()), high).pressed == ()
    assert room(low, replace(high, layer=None)).pressed == ()


def test_only_what_has_come_lies_in_a_box() -> None:
    ordered = replace(piece("a", 1, "4"), want=Want(WantStatus.ORDERED))
    arrived = replace(piece("b", 1, "4"), want=Want(WantStatus.ARRIVED))
    assert room(ordered).layers == ()
    assert room(arrived).layers == (Layer(1, ("b",), Decimal(4)),)
    assert of(replace(piece("a", None), box=""), replace(arrived, box="")).unboxed == 1


def test_boxes_are_refolded_and_stores_filled_up_oldest_first() -> None:
    boxes = (
        Box("A", refolded=date(2025, 3, 2), refold_months=12),  # due today
        Box("B", refolded=date(2024, 8, 31), refold_months=6),  # the end of February has fewer days
        Box("C", refolded=date(2025, 3, 3), refold_months=12),  # due tomorrow
        Box("D", refolded=date(2020, 1, 1)),  # never
        Box("E", refold_months=12),  # nobody knows since when
    )
    supplies = (
        Supply("tissue", 40, 50, date(2026, 1, 10)),
        Supply("boxes", 1, 1, date(2025, 9, 6)),
        Supply("tape", 3, 2, date(2025, 1, 1)),
        Supply("labels", 0, 5),
    )
    found = space(Book("k", house=HouseRules(supplies=supplies), boxes=boxes), TODAY)
    assert found.refold == (("B", date(2025, 2, 28)), ("A", date(2026, 3, 2)))
    assert [supply.name for supply in found.reorder] == ["labels", "boxes", "tissue"]


def test_the_flat_tray_of_the_demo_is_half_a_centimetre_over_full() -> None:
    found = space(demo(), TODAY)
    rooms = {room.box: room for room in found.boxes}
    assert (rooms["D"].filled_cm, rooms["D"].over_cm) == (Decimal("12.5"), Decimal("0.5"))
    assert rooms["H"].free_cm == Decimal("2.5")
    assert [box for box, _ in found.refold] == ["A", "D"]
    assert [supply.name for supply in found.reorder] == ["archival boxes, large", "acid-free tissue, sheets"]
