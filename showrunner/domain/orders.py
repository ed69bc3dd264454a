"""Promised orders against the calendar: whether any days at all would keep them.

Only what each study may do by itself counts: its promised date, its hard windows, the slots of its series with
their first and last days, and ranges without publication. Hours, gaps and other studies are for a plan to judge.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, datetime, timedelta
from itertools import combinations, pairwise

from showrunner.domain.book import Book
from showrunner.domain.episode import PinKind
from showrunner.domain.record import record
from showrunner.domain.rules import Board, Member, Rule, Terms, relaxed, terms_of
from showrunner.domain.slot import SlotRef, SlotRule

LOOKED_AHEAD = 366 * 41
"""Days in which a slot must turn up: a window of 29 February alone meets a weekday again within forty years."""

Turn = tuple[date, datetime]
"""A slot's place in time (`Board.turn`)."""

_PINS = {Rule.DATE, Rule.ORDER}


@record
class Stuck:
    """Orders that no days would keep."""

    chain: tuple[str, ...]
    """The studies in the order promised; of a circle, the first stands at the end again."""
    soonest: SlotRef | None
    """The first slot that the first of them may have; None in a circle, or if it has none."""
    latest: SlotRef | None
    """The last slot that the last of them may have; the same."""
    never: str
    """The one of them that has no slot at all; empty if each has one."""
    members: tuple[Member, ...]
    """What keeps them apart; none of it can be left out."""


def stuck_orders(book: Book) -> tuple[Stuck, ...]:
    """The circles of orders, then the first chain of orders that no days would keep; empty if all can be kept."""
    board = Board(book)
    circles = tuple(_circles(board))
    if circles:
        return circles
    found = _stuck_chain(board)
    return (_named(board, found),) if found else ()


def _can_be_kept(book: Book) -> bool:
    """Whether there are days that keep all orders of a book."""
    board = Board(book)
    return not any(_circles(board)) and not _stuck_chain(board)


def path(after: dict[str, list[str]], start: str, end: str) -> list[str]:
    """A shortest chain of orders from one study to another, both included; empty if there is none."""
    came_from = {start: ""}
    queue = [start]
    for here in queue:
        if here == end:
            chain = [end]
            while came_from[chain[-1]]:
                chain.append(came_from[chain[-1]])
            return chain[::-1]
        for there in after.get(here, ()):
            if there not in came_from:
                came_from[there] = here
                queue.append(there)
    return []


def _circles(board: Board) -> Iterator[Stuck]:
    after: dict[str, list[str]] = {}
    for _, first, second in board.orders:
        after.setdefault(first, []).append(second)
    seen: set[frozenset[str]] = set()
    for _, first, second in board.orders:
        circle = path(after, second, first)
        if circle and frozenset(circle) not in seen:
            seen.add(frozenset(circle))
            chain = (first, *circle)
            yield Stuck(chain, None, None, "", _orders_along(board, chain))


def _orders_along(board: Board, chain: tuple[str, ...]) -> tuple[Member, ...]:
    pins = {(first, second): pin for pin, first, second in reversed(board.orders)}
    return tuple(Member(Rule.ORDER, pins[step]) for step in pairwise(chain))


def _stuck_chain(board: Board) -> tuple[str, ...]:
    """A chain of orders without a circle that no days would keep, each study as soon as it can; empty if there is none.

    Giving every study the first slot after all that must come before it leaves the most room to those after
    it, so if that fails no other days would do.
    """
    before: dict[str, list[str]] = {}
    for _, first, second in board.orders:
        before.setdefault(second, []).append(first)
        before.setdefault(first, [])
    soonest: dict[str, Turn | None] = {}
    bound_by: dict[str, str] = {}
    for study in _in_order(before):
        firsts = [(when, first) for first in before[study] if (when := soonest[first]) is not None]
        when, first = max(firsts, default=(None, ""))
        bound_by[study] = first
        slot, free = _first_slot(board, study, when)
        if slot is None and not free:
            chain = [study]
            while bound_by[chain[-1]]:
                chain.append(bound_by[chain[-1]])
            if len(chain) == 1:  # it has no slot at all: any order that names it is stuck
                chain.append(next(a if b == study else b for _, a, b in board.orders if study in (a, b)))
                chain = chain if study in before and chain[1] in before[study] else chain[::-1]
            return tuple(chain[::-1])
        soonest[study] = board.turn(slot) if slot else None
    return ()


def _in_order(before: dict[str, list[str]]) -> list[str]:
    """The studies so that each stands after those before it; there must be no circle."""
    done: list[str] = []
    waiting = list(before)
    while waiting:
        ready = [study for study in waiting if all(first in done for first in before[study])]
        done += ready
        waiting = [study for study in waiting if study not in ready]
    return done


def _first_slot(board: Board, study: str, after: Turn | None) -> tuple[SlotRef | None, bool]:
    """The first slot a study may have after another.

    Returns:
        The slot, None if there is none; and whether there is no first one, as nothing bounds the study.
    """
    dated = [slot for _, slot in board.dates.get(study, ())]
    if dated:
        slot = min(dated)
        return (slot if after is None or board.turn(slot) > after else None), False
    terms = terms_of(board.book, board.book.episode(study))
    start = _bound(board, terms, last=False)
    if after is not None:
        start = max(start or date.min, after[0])
    if start is None:
        return None, True
    return _nearest(board, terms, start, 1, after), False


def _bound(board: Board, terms: Terms, *, last: bool) -> date | None:
    """The first (or last) day on which a study may air by its windows and its slots; None if nothing bounds it."""
    rules = _rules(board, terms)
    pick = max if last else min
    days: list[date] = []
    if terms.hard and not any(window.yearly for window in terms.hard):
        days.append(pick(window.last if last else window.first for window in terms.hard))
    edges = [rule.last if last else rule.first for rule in rules]
    if edges and None not in edges:
        days.append(pick(edge for edge in edges if edge))
    return (min(days) if last else max(days)) if days else None


def _nearest(board: Board, terms: Terms, start: date, step: int, after: Turn | None = None) -> SlotRef | None:
    """The first slot that a study may have from a day on, forwards (1) or backwards (-1); None if there is none."""
    edge = _bound(board, terms, last=step > 0)
    far = date.max if step > 0 else date.min
    reach = min(LOOKED_AHEAD, abs((far - start).days) - 7, (edge - start).days * step if edge else LOOKED_AHEAD)
    found: list[SlotRef] = []
    for rule in _rules(board, terms):
        for ahead in range(reach + 1):
            slot = SlotRef(start + timedelta(step * ahead), rule.id)
            if found and (slot.day - found[0].day).days * step > 0:
                break
            if rule.comes_on(slot.day) and _usable(board, terms, slot, after):
                found = [slot, *found] if not found or slot.day == found[0].day else [slot]
                break
    return (min if step > 0 else max)(found, key=board.turn, default=None)


def _rules(board: Board, terms: Terms) -> list[SlotRule]:
    """The slot rules that a study may use."""
    ids = terms.series.rules if terms.series else ()
    return [rule for id in ids if (rule := board.book.find("rules", id))]


def _usable(board: Board, terms: Terms, slot: SlotRef, after: Turn | None) -> bool:
    if after is not None and board.turn(slot) <= after:
        return False
    aside = (Rule.GAP, Rule.HELD)
    return all(breach.rule in aside for breach in board.against_slot(terms, slot))


def _named(board: Board, chain: tuple[str, ...]) -> Stuck:
    """A stuck chain with what keeps its studies apart, so little of it that nothing can be left out."""
    members = _orders_along(board, chain)
    for study in chain:
        terms = terms_of(board.book, board.book.episode(study))
        members += tuple(Member(Rule.DATE, pin) for pin, _ in board.dates.get(study, ()))
        members += (Member(Rule.WINDOW, study),) if terms.hard else ()
        members += tuple(Member(Rule.SLOT, rule.id) for rule in _rules(board, terms) if rule.first or rule.last)
    members += tuple(Member(Rule.DARK, dark.id) for dark in board.silent)
    members = tuple(dict.fromkeys(members))
    pins = {member.id for member in members if member.rule in _PINS}
    book = replace(board.book, pins=tuple(pin for pin in board.book.pins if pin.id in pins))
    needed, before = list(members), 0
    while len(needed) != before:  # a date left out can let others go that were needed beside it
        before = len(needed)
        for member in tuple(needed):
            without = relaxed(book, member)
            if _stuck_chain(Board(without)):
                book = without
                needed.remove(member)
    board = Board(book)
    chain = _stuck_chain(board)
    first, last = chain[0], chain[-1]
    dates = {study: slot for study, pins_of in board.dates.items() for _, slot in pins_of}
    soonest = dates.get(first) or _first_slot(board, first, None)[0]
    never = next((study for study in chain if _first_slot(board, study, None) == (None, False)), "")
    return Stuck(chain, soonest, dates.get(last) or _last_slot(board, last), never, tuple(needed))


def _last_slot(board: Board, study: str) -> SlotRef | None:
    terms = terms_of(board.book, board.book.episode(study))
    end = _bound(board, terms, last=True)
    return _nearest(board, terms, end, -1) if end else None


def fewest_dropped(book: Book) -> tuple[tuple[str, ...], ...]:
    """The smallest sets of order pins of studies without a promised date whose loss frees all such orders.

    Returns:
        Every smallest set of ids, in book order; one empty set if the orders can be kept.
    """
    undated = replace(book, pins=tuple(pin for pin in book.pins if pin.kind is not PinKind.DATE))
    dated = Board(book).dates
    orders = [pin for pin, first, second in Board(undated).orders if first not in dated and second not in dated]
    others = {pin for pin, _, _ in Board(undated).orders} - set(orders)
    undated = undated.drop("pins", *others)
    for size in range(len(orders) + 1):
        found = tuple(drop for drop in combinations(orders, size) if _can_be_kept(undated.drop("pins", *drop)))
        if found:
            return found
    return ((),)
