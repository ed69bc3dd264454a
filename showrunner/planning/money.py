"""What is shopped for against the purse and the shelf: totals, what is over, and the least that brings both back.

All amounts are exact decimals in the collection's currency; an amount in another one is worth its rate, rounded half
up to the smallest coin. What is paid counts in place of the ceiling, carriage counts with both, and what was declined
counts nothing.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from math import ceil, gcd, lcm

from showrunner.domain.book import Book
from showrunner.domain.collection import Collection
from showrunner.domain.currency import rounded
from showrunner.domain.piece import Piece, Want, WantStatus
from showrunner.domain.record import record

NOTHING = Decimal(0)


@record
class Tally:
    """What there is of one status."""

    status: WantStatus
    """The status."""
    count: int
    """How many."""
    ceiling: Decimal
    """Most that may be paid for them; those without a ceiling count nothing."""
    paid: Decimal
    """Price paid."""
    carriage: Decimal
    """Carriage paid."""
    counts: Decimal
    """What counts against the budget."""
    width_cm: Decimal
    """What counts against the shelf, cm."""


@record
class Cost:
    """What one want counts."""

    piece: str
    """Id of the piece."""
    name: str
    """Its name."""
    status: WantStatus
    """Where it stands."""
    money: Decimal
    """Against the budget, in the collection's currency."""
    width_cm: Decimal
    """Against the shelf, cm."""
    priced: bool
    """Whether a price is known; one without counts nothing."""
    measured: bool
    """Whether its width is known; one without counts nothing."""
    above_ceiling: Decimal = NOTHING
    """By how much the price paid is above the ceiling."""


@record
class Refusals:
    """Wanted things which, refused, bring money and shelf back."""

    pieces: tuple[str, ...]
    """Their ids, in book order; none if nothing is over."""
    value: Decimal
    """What they would have cost."""
    width_cm: Decimal
    """The shelf they would have taken, cm."""


@record
class Purse:
    """A shopping collection against its budget and its shelf."""

    collection: str
    """Id of the collection."""
    currency: str
    """ISO 4217 code; empty if none is given."""
    budget: Decimal | None
    """Most that may be spent; None for no limit."""
    shelf_cm: Decimal | None
    """Shelf there is, cm; None for no limit."""
    tallies: tuple[Tally, ...]
    """One for each status, in the order of buying."""
    costs: tuple[Cost, ...]
    """What each counts, in book order; nothing for what was declined."""
    money: Decimal
    """What all count against the budget."""
    width_cm: Decimal
    """What all count against the shelf, cm."""
    over_money: Decimal
    """By how much that is beyond the budget; 0 if it is not."""
    over_cm: Decimal
    """By how much beyond the shelf, cm; 0 if it is not."""
    single: str | None
    """Id of the cheapest wanted thing that alone brings both back; None if none does or nothing is over."""
    least: Refusals | None
    """The refusals of least value that bring both back; None if not even refusing all that is wanted does."""

    @property
    def is_over(self) -> bool:
        """Whether money or shelf is over."""
        return bool(self.over_money or self.over_cm)

    def cost_of(self, piece: str) -> Cost:
        """What a want counts."""
        return next(cost for cost in self.costs if cost.piece == piece)


@record
class Beside:
    """What still fits if one more is bought."""

    piece: str
    """Id of the one that is bought."""
    money_left: Decimal | None
    """What is then left of the budget after all that is bought; below 0 if it is too much; None for no limit."""
    cm_left: Decimal | None
    """The same for the shelf, cm."""
    fits: tuple[str, ...]
    """Ids of the other wanted things that then still fit, all together, as many by value as can."""
    refused: tuple[str, ...]
    """Ids of those that then do not."""

    @property
    def is_too_much(self) -> bool:
        """Whether it does not fit beside what is bought already."""
        return any(left is not None and left < 0 for left in (self.money_left, self.cm_left))


def wants_of(book: Book, collection: str) -> tuple[tuple[Piece, Want], ...]:
    """What is, or was, shopped for in a collection, in book order."""
    return tuple((p, p.want) for p in book.pieces if p.collection == collection and p.want is not None)


def in_own(amount: Decimal | None, want: Want, currency: str) -> Decimal:
    """An amount of a want in the collection's currency; nothing where none is known, or no rate."""
    if amount is None:
        return NOTHING
    if not want.currency or want.currency == currency:
        return amount
    return rounded(amount * want.rate.value, currency) if want.rate else NOTHING


def cost(piece: Piece, want: Want, currency: str) -> Cost:
    """What a want counts against budget and shelf."""
    if want.status is WantStatus.DECLINED:
        return Cost(piece.id, piece.name, want.status, NOTHING, NOTHING, True, True)
    price = want.ceiling if want.paid is None else want.paid
    money = in_own(price, want, currency) + in_own(want.carriage, want, currency)
    above = NOTHING
    if want.paid is not None and want.ceiling is not None:
        above = max(NOTHING, in_own(want.paid, want, currency) - in_own(want.ceiling, want, currency))
    known, width = price is not None, want.width_cm
    return Cost(piece.id, piece.name, want.status, money, width or NOTHING, known, width is not None, above)


def purse(book: Book, collection: Collection) -> Purse:
    """A shopping collection against its budget and shelf, with the least that brings both back."""
    currency = collection.currency
    wants = wants_of(book, collection.id)
    costs = tuple(cost(piece, want, currency) for piece, want in wants)
    tallies = tuple(_tally(status, wants, costs, currency) for status in WantStatus)
    money, width = _sums(costs)
    over_money = max(NOTHING, money - collection.budget) if collection.budget is not None else NOTHING
    over_cm = max(NOTHING, width - collection.shelf_cm) if collection.shelf_cm is not None else NOTHING
    loose = [c for c in costs if c.status is WantStatus.WANTED]
    alone = [c for c in loose if c.money >= over_money and c.width_cm >= over_cm] if over_money or over_cm else []
    single = min(alone, key=lambda c: (c.money, c.width_cm), default=None)
    return Purse(
        collection=collection.id,
        currency=currency,
        budget=collection.budget,
        shelf_cm=collection.shelf_cm,
        tallies=tallies,
        costs=costs,
        money=money,
        width_cm=width,
        over_money=over_money,
        over_cm=over_cm,
        single=single.piece if single else None,
        least=_refusals(loose, over_money, over_cm),
    )


def fits_beside(found: Purse, piece: str) -> Beside:
    """What still fits if one wanted thing is bought; for one that is bought already, beside it.

    Args:
        found: the collection.
        piece: id of the want.
    """
    bought = [c for c in found.costs if c.piece == piece or c.status in (WantStatus.ORDERED, WantStatus.ARRIVED)]
    others = [c for c in found.costs if c.piece != piece and c.status is WantStatus.WANTED]
    money, width = _sums(bought)
    money_left = None if found.budget is None else found.budget - money
    cm_left = None if found.shelf_cm is None else found.shelf_cm - width
    all_money, all_width = _sums(others)
    over = (
        max(NOTHING, all_money - (all_money if money_left is None else money_left)),
        max(NOTHING, all_width - (all_width if cm_left is None else cm_left)),
    )
    least = _refusals(others, *over)
    refused = [c.piece for c in others] if least is None else list(least.pieces)
    fits = tuple(c.piece for c in others if c.piece not in refused)
    return Beside(piece, money_left, cm_left, fits, tuple(refused))


def _sums(costs: Sequence[Cost]) -> tuple[Decimal, Decimal]:
    return sum((c.money for c in costs), NOTHING), sum((c.width_cm for c in costs), NOTHING)


def _tally(status: WantStatus, wants: Sequence[tuple[Piece, Want]], costs: Sequence[Cost], currency: str) -> Tally:
    mine = [(want, c) for (_, want), c in zip(wants, costs, strict=True) if want.status is status]

    def total(name: str) -> Decimal:
        return sum((in_own(getattr(want, name), want, currency) for want, _ in mine), NOTHING)

    money, width = _sums([c for _, c in mine])
    return Tally(status, len(mine), total("ceiling"), total("paid"), total("carriage"), money, width)


def _refusals(loose: Sequence[Cost], over_money: Decimal, over_cm: Decimal) -> Refusals | None:
    """The refusals of least value that bring money and shelf back; of equal ones a single one if there is one."""
    values, money = _whole([c.money for c in loose], over_money)
    widths, cm = _whole([c.width_cm for c in loose], over_cm)
    chosen = least_cover(values, widths, money, cm)
    if chosen is None:
        return None
    refused = [loose[at] for at in chosen]
    return Refusals(tuple(c.piece for c in refused), *_sums(refused))


def _whole(amounts: Sequence[Decimal], least: Decimal) -> tuple[list[int], int]:
    """Amounts and a bound as whole numbers in the coarsest unit that measures the amounts, the bound rounded up."""
    parts = [Fraction(amount) for amount in amounts if amount]
    if not parts:
        return [0] * len(amounts), 1 if least > 0 else 0
    under = lcm(*(part.denominator for part in parts))
    unit = Fraction(gcd(*(int(part * under) for part in parts)), under)
    return [int(Fraction(amount) / unit) for amount in amounts], ceil(Fraction(least) / unit)


# The least cover


def least_cover(values: Sequence[int], widths: Sequence[int], value: int, width: int) -> tuple[int, ...] | None:
    """The things of least value that are worth at least a value and at least so wide, proven.

    Of equal ones a single thing if one does. No answer is worth less than the first sum of values from `value` on, nor
    than the least that is wide enough; from there sums are tried in turn, each by a search that follows only what can
    still be reached.

    Args:
        values: value of each, 0 or more.
        widths: width of each, 0 or more.
        value: value that must be reached; 0 or less for none.
        width: width that must be reached; 0 or less for none.

    Returns:
        Their places in rising order; None if all of them together are not enough.
    """
    if sum(values) < value or sum(widths) < width:
        return None
    if value <= 0 and width <= 0:
        return ()
    sums = _Sums(values, widths)
    chosen = sums.with_sum(sums.next_sum(value), width) if value > 0 else None
    if chosen is None:
        chosen = _least_for_width(values, widths, width)
        if (total := sum(values[at] for at in chosen)) < value:
            chosen = sums.least_with(max(value, total), width)
    worth = sum(values[at] for at in chosen)
    alone = (at for at in range(len(values)) if values[at] == worth and widths[at] >= width)
    single = next(alone, None)
    return chosen if single is None else (single,)


def _least_for_width(values: Sequence[int], widths: Sequence[int], width: int) -> tuple[int, ...]:
    """The things of least value that are together so wide.

    Thing by thing, the widest for its value first, of all sums those are kept that no cheaper and wider one beats, and
    that could still beat the best that is known.
    """
    order = _widest_first(values, widths)
    best, chosen = sum(values), (1 << len(values)) - 1
    front: list[tuple[int, int, int]] = [(0, width, 0)]  # value, width that is still missing, things as bits
    for at in order:
        value, wide = values[at], widths[at]
        if not wide:
            continue
        # whatever follows is no wider for its value, so what is missing costs at least so much
        front = [state for state in front if (best - state[0]) * wide > state[1] * value]
        more = [(v + value, missing - wide, bits | 1 << at) for v, missing, bits in front]
        kept: list[tuple[int, int, int]] = []
        least = width + 1
        for state in sorted([*front, *more]):
            if state[1] <= 0:
                if state[0] < best:
                    best, chosen = state[0], state[2]
                break
            if state[1] < least:
                kept.append(state)
                least = state[1]
        front = kept
    return _places(chosen) if width > 0 else ()


def _widest_first(values: Sequence[int], widths: Sequence[int]) -> list[int]:
    """Places of the things, the widest for its value first; those of no value before all."""
    return sorted(range(len(values)), key=lambda at: (values[at] > 0, -Fraction(widths[at], values[at] or 1)))


def _places(bits: int) -> tuple[int, ...]:
    return tuple(at for at in range(bits.bit_length()) if bits >> at & 1)


class _Sums:
    """Things with all sums of values that those from a place on can have, as bits of one number."""

    def __init__(self, values: Sequence[int], widths: Sequence[int]) -> None:
        self.order = _widest_first(values, widths)
        self.values = [values[at] for at in self.order]
        self.widths = [widths[at] for at in self.order]
        self.sums = [1]
        for value in reversed(self.values):
            self.sums.append(self.sums[-1] | self.sums[-1] << value)
        self.sums.reverse()
        self.upto_value = _running(self.values)
        self.upto_width = _running(self.widths)

    def next_sum(self, least: int) -> int:
        """The first sum there is from a number on; there must be one."""
        rest = self.sums[0] >> least
        return least + (rest & -rest).bit_length() - 1

    def least_with(self, least: int, width: int) -> tuple[int, ...]:
        """The places of things so wide whose sum is the first such from a number on; there must be one."""
        total = self.next_sum(least)
        while (found := self.with_sum(total, width)) is None:
            total = self.next_sum(total + 1)
        return found

    def with_sum(self, total: int, width: int) -> tuple[int, ...] | None:
        """The places of things with exactly this sum that are at least so wide; None if there are none."""
        seen: set[tuple[int, int, int]] = set()
        stack: list[tuple[int, int, int, tuple[int, ...]]] = [(0, total, width, ())]
        while stack:
            at, total, width, taken = stack.pop()
            if total == 0 and width <= 0:
                return tuple(sorted(taken))
            if at == len(self.values) or not self.sums[at] >> total & 1 or not self._wide_enough(at, total, width):
                continue
            if (at, total, width) in seen:
                continue
            seen.add((at, total, width))
            stack.append((at + 1, total, width, taken))
            if self.values[at] <= total:
                more = (*taken, self.order[at])
                stack.append((at + 1, total - self.values[at], width - self.widths[at], more))
        return None

    def _wide_enough(self, at: int, total: int, width: int) -> bool:
        """Whether things from a place on that are worth no more than this may be so wide, parts of things allowed."""
        end = bisect_left(self.upto_value, self.upto_value[at] + total + 1) - 1
        there = self.upto_width[end] - self.upto_width[at]
        if there >= width or end == len(self.values):
            return there >= width
        left = total - (self.upto_value[end] - self.upto_value[at])
        return (width - there) * self.values[end] <= left * self.widths[end]


def _running(amounts: Sequence[int]) -> list[int]:
    sums = [0]
    for amount in amounts:
        sums.append(sums[-1] + amount)
    return sums
