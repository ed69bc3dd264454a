"""What a shoot counts: touches of each piece by itself, and those of fragile pieces twice."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest

from showrunner.domain.book import Book
from showrunner.domain.piece import Exposure, Handling
from showrunner.planning.shoot_plan import FRAGILE_WEIGHT, ShootPlan, plan_shoot
from showrunner.session import Session

DEMO = Path(__file__).parents[2] / "demo" / "book.json"
PAIR = ("waistcoats",)
PIECES = ("30", "31")


@pytest.fixture(scope="module")
def book() -> Book:
    with Session.open(DEMO, write=False) as session:
        return session.book


def handled(book: Book, **limits: Handling) -> Book:
    """The book with the handling of the two waistcoats, both sturdy unless told."""
    for id in PIECES:
        book = book.put("pieces", replace(book.piece(id), handling=limits.get(f"p{id}", Handling())))
    return book


def planned(book: Book) -> ShootPlan:
    assert book.clock
    return plan_shoot(book, PAIR, book.clock)


def touches(plan: ShootPlan) -> Counter[str]:
    return Counter(step.piece for step in plan.order.steps if step.touch)


def test_sturdy_pieces_count_once_and_only_the_fragile_one_twice(book: Book) -> None:
    plain = planned(handled(book))
    assert plain.order.weighted == plain.order.touches == sum(touches(plain).values())
    one = planned(handled(book, p30=Handling(people=2)))
    assert one.order.weighted == one.order.touches + (FRAGILE_WEIGHT - 1) * touches(one)["30"]
    assert touches(one)["31"]


@pytest.mark.parametrize("id", PIECES)
def test_a_year_s_touches_are_those_of_the_piece_alone(book: Book, id: str) -> None:
    assert book.clock
    mine = touches(planned(book))[id]
    before = replace(book.piece(id), exposures=(Exposure(book.clock, 0, 3, "a talk"),))

    def told(most: int) -> list[str]:
        changed = book.put("pieces", before)
        changed = replace(changed, house=replace(book.house, touches_a_year=most))
        name = book.piece(id).name
        return [w.text for w in planned(changed).warnings if w.code == "touches" and w.text.startswith(name)]

    assert not told(mine + 3)
    (text,) = told(mine + 2)
    assert f"{mine + 3} touches this year with this shoot, 1 more than the {mine + 2}" in text
