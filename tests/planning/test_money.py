"""Money and shelf: what counts, what is over, and the least that brings both back."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date
from decimal import Decimal
from itertools import combinations

from effort import examples
from hypothesis import given
from hypothesis import strategies as st
from planning.books import demo

from showrunner.domain.book import Book
from showrunner.domain.collection import Collection, CollectionKind
from showrunner.domain.piece import Piece, Rate, Want, WantStatus
from showrunner.planning.money import Purse, fits_beside, least_cover, purse

WANTED, ORDERED, ARRIVED, DECLINED = WantStatus
NOTHING = Decimal(0)


def bought(*wants: Want, budget: str | None = "100", shelf: str | None = "100", currency: str = "AUD") -> Purse:
    """A collection of some wants, named a, b, c and so on, against a budget and a shelf."""
    collection = Collection(
        "blocks",
        "Blocks",
        CollectionKind.SHOPPING,
        currency=currency,
        budget=None if budget is None else Decimal(budget),
        shelf_cm=None if shelf is None else Decimal(shelf),
    )
    pieces = tuple(
        Piece(name, name.upper(), "blocks", want=want) for name, want in zip("abcdefgh", wants, strict=False)
    )
    return purse(Book("k", collections=(collection,), pieces=pieces), collection)


def want(price: str | None, width: str | None = "10", status: WantStatus = WANTED, **more: object) -> Want:
    price_of = None if price is None else Decimal(price)
    found = Want(status, price_of, width_cm=None if width is None else Decimal(width))
    return replace(found, **more)  # type: ignore[arg-type]


# The demo (shared with its story)


def test_all_twelve_blocks_are_85_and_11_over_and_refusing_pancake_lands_exactly() -> None:
    book = demo()
    found = purse(book, book.collection("blocks"))
    assert (found.money, found.width_cm) == (Decimal(1885), Decimal(301))
    assert (found.over_money, found.over_cm) == (Decimal(85), Decimal(11))
    assert found.least is not None
    (pancake,) = found.least.pieces
    assert book.piece(pancake).name == "Pancake"
    assert found.single == pancake
    assert (found.money - found.least.value, found.width_cm - found.least.width_cm) == (Decimal(1800), Decimal(271))
    told = [(t.status, t.count, t.counts, t.width_cm) for t in found.tallies]
    assert told == [
        (WANTED, 7, Decimal(1360), Decimal(179)),
        (ORDERED, 2, Decimal(250), Decimal(62)),
        (ARRIVED, 3, Decimal(275), Decimal(60)),
        (DECLINED, 0, NOTHING, NOTHING),
    ]


# What counts


def test_what_is_paid_counts_in_place_of_the_ceiling_and_carriage_with_both() -> None:
    carriage = Decimal("4.50")
    found = bought(
        want("30", carriage=carriage),
        want("30", status=ORDERED, paid=Decimal("21.35"), carriage=carriage),
        want("30", status=ARRIVED),
    )
    assert [cost.money for cost in found.costs] == [Decimal("34.50"), Decimal("25.85"), Decimal(30)]
    assert found.money == Decimal("90.35")
    ordered = found.tallies[1]
    assert (ordered.ceiling, ordered.paid, ordered.carriage) == (Decimal(30), Decimal("21.35"), carriage)


def test_what_was_declined_counts_nothing_whatever_was_paid() -> None:
    found = bought(want("500", "500", DECLINED, paid=Decimal(400), carriage=Decimal(3)))
    assert (found.money, found.width_cm, found.is_over) == (NOTHING, NOTHING, False)
    assert (found.costs[0].priced, found.costs[0].measured) == (True, True)
    assert (found.tallies[3].count, found.tallies[3].ceiling, found.tallies[3].counts) == (1, Decimal(500), NOTHING)


def test_what_has_no_price_or_width_counts_nothing_and_is_told() -> None:
    found = bought(want(None), want("3", None))
    assert [(cost.priced, cost.measured) for cost in found.costs] == [(False, True), (True, False)]
    assert (found.money, found.width_cm) == (Decimal(3), Decimal(10))


def test_another_currency_counts_by_its_rate_rounded_half_up_to_the_coin() -> None:
    rate = Rate(Decimal("1.5"), date(2026, 3, 2))
    found = bought(want("10.01", currency="EUR", rate=rate, carriage=Decimal("0.01")), currency="AUD")
    assert found.money == Decimal("15.02") + Decimal("0.02")  # 15.015 and 0.015, each half up
    yen = bought(want("3.33", currency="EUR", rate=Rate(Decimal(150), date(2026, 3, 2))), currency="JPY")
    assert yen.money == Decimal(500)  # 499.5


def test_a_price_above_the_ceiling_is_told() -> None:
    found = bought(want("30", status=ARRIVED, paid=Decimal("31.25")), want("30", status=ARRIVED, paid=Decimal(30)))
    assert [cost.above_ceiling for cost in found.costs] == [Decimal("1.25"), NOTHING]


def test_no_budget_and_no_shelf_are_never_over() -> None:
    found = bought(want("1000", "1000"), budget=None, shelf=None)
    assert not found.is_over
    assert found.least is not None
    assert found.least.pieces == ()
    assert bought(want("1000", "1000"), budget=None).over_cm == Decimal(900)


# What brings it back


def test_only_what_is_wanted_is_refused() -> None:
    found = bought(want("40", "60", ARRIVED), want("61", "60", ORDERED), want("5", "5"))
    assert (found.over_money, found.over_cm) == (Decimal(6), Decimal(25))
    assert found.least is None
    assert found.single is None


def test_two_cheap_refusals_are_less_than_one_dear_one_and_both_are_told() -> None:
    found = bought(want("80"), want("15"), want("15"), want("12"))  # 22 over
    assert found.over_money == Decimal(22)
    assert found.single == "a"
    assert found.least is not None
    assert (set(found.least.pieces), found.least.value) == ({"b", "d"}, Decimal(27)) or (
        set(found.least.pieces),
        found.least.value,
    ) == ({"c", "d"}, Decimal(27))


def test_of_equal_refusals_a_single_one_is_told() -> None:
    found = bought(want("10"), want("12"), want("22"), want("78"))  # 22 over
    assert found.least is not None
    assert found.least.pieces == ("c",)


def test_the_shelf_alone_can_be_over() -> None:
    found = bought(want("10", "60"), want("9", "30"), want("8", "30.5"))
    assert (found.over_money, found.over_cm) == (NOTHING, Decimal("20.5"))
    assert found.least is not None
    assert (found.least.pieces, found.least.value) == (("c",), Decimal(8))


def test_cents_and_millimetres_are_exact() -> None:
    found = bought(want("33.34"), want("33.33"), want("33.34"), budget="100.00")
    assert found.over_money == Decimal("0.01")
    assert found.least is not None
    assert found.least.value == Decimal("33.33")
    exact = bought(want("0.10"), want("0.20"), budget="0.30")
    assert not exact.is_over


def brute(values: list[int], widths: list[int], value: int, width: int) -> int | None:
    """The least value of any things that are enough, by trying all of them."""
    everything = range(len(values))
    chosen = (some for size in range(len(values) + 1) for some in combinations(everything, size))
    enough = (
        sum(values[at] for at in some)
        for some in chosen
        if sum(values[at] for at in some) >= value and sum(widths[at] for at in some) >= width
    )
    return min(enough, default=None)


@examples(200)
@given(
    st.lists(st.tuples(st.integers(0, 12), st.integers(0, 12)), max_size=8),
    st.integers(-3, 60),
    st.integers(-3, 60),
)
def test_no_other_refusals_are_worth_less(things: list[tuple[int, int]], value: int, width: int) -> None:
    values, widths = [v for v, _ in things], [w for _, w in things]
    found = least_cover(values, widths, value, width)
    least = brute(values, widths, value, width)
    if found is None:
        assert least is None
        return
    assert sum(values[at] for at in found) == least
    assert sum(widths[at] for at in found) >= width
    assert list(found) == sorted(set(found))
    if least and any(v == least and w >= width for v, w in things):
        assert len(found) == 1


def test_what_is_short_in_both_is_found_where_neither_alone_decides() -> None:
    values, widths = [4, 5, 9, 6], [1, 9, 2, 5]
    assert brute(values, widths, 13, 12) == 15
    assert least_cover(values, widths, 13, 12) == (0, 1, 3)
    rng = random.Random(7)
    for _ in range(400):
        count = rng.randint(1, 7)
        values, widths = ([rng.randint(1, 30) for _ in range(count)] for _ in range(2))
        value, width = (int(sum(amounts) * rng.uniform(0.2, 1)) for amounts in (values, widths))
        found = least_cover(values, widths, value, width)
        assert found is not None
        assert sum(values[at] for at in found) == brute(values, widths, value, width)


# What still fits


def test_what_still_fits_beside_one_that_is_bought() -> None:
    found = bought(want("40", "10", ARRIVED), want("30"), want("25"), want("20"))  # 115 of 100
    with_b = fits_beside(found, "b")
    assert (with_b.money_left, with_b.cm_left) == (Decimal(30), Decimal(80))
    assert (with_b.fits, with_b.refused) == (("c",), ("d",))  # 20 refused is less than 25
    with_c = fits_beside(found, "c")
    assert (with_c.fits, with_c.refused) == (("b",), ("d",))
    assert fits_beside(found, "a").refused == ("d",)
    narrow = bought(want("1", "50", ARRIVED), want("1", "20"), want("2", "25"), want("3", "10"))  # 105 of 100 cm
    assert fits_beside(narrow, "b").refused == ("c",)  # 5 cm over: 2 is less than 3


def test_one_that_is_too_much_leaves_nothing_else() -> None:
    found = bought(want("90", "10", ORDERED), want("20"), want("5"))
    beside = fits_beside(found, "b")
    assert beside.is_too_much
    assert (beside.money_left, beside.fits, beside.refused) == (Decimal(-10), (), ("c",))
    assert fits_beside(bought(want("20"), want("5"), budget=None, shelf=None), "a") == replace(
        beside, piece="a", money_left=None, cm_left=None, fits=("b",), refused=()
    )
