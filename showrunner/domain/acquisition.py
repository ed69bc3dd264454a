"""The order in which pieces were acquired, and what it says about when each of them came.

A came before B means that A was acquired no later than B, so that the latest day of B is one for A as well, and
the earliest day of A one for B. The relation may stand on either of the two and is followed from piece to piece.
A piece keeps its own date as it is; what follows from the order stands beside it, and is never firmer than the
date that it comes from.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from enum import StrEnum
from itertools import compress
from operator import is_not

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.piece import Piece
from showrunner.domain.record import record


class End(StrEnum):
    """Which end of the time in which a piece was acquired."""

    EARLIEST = "earliest"
    LATEST = "latest"


@record
class Derived:
    """A bound that follows from the date of another piece."""

    end: End
    """Which end it bounds."""
    day: date
    """The bound, inclusive."""
    source: str
    """Id of the piece whose own date it is."""
    by_way_of: str
    """Id of the first piece on the way there; the source itself where nothing lies between."""
    doubtful: bool
    """Whether the date that it comes from is in doubt."""
    words: str
    """The bound and its reason (`no later than about 2009, since it came before Tea gown “Odile”`)."""


@record
class Bounds:
    """When a piece was acquired, by its own date and by the order."""

    earliest: date | None
    """First day; None where nothing sets one."""
    latest: date | None
    """Last day, inclusive; None where nothing sets one. It lies before `earliest` where a date in doubt, which
    contradicts nothing, goes against another."""
    derived: tuple[Derived, ...] = ()
    """What the order adds, earliest before latest: only what is narrower than the piece's own date, and what is
    in doubt only where it is narrower than what is not."""

    @property
    def doubtful(self) -> bool:
        """Whether anything that the order adds is in doubt."""
        return any(bound.doubtful for bound in self.derived)


@record
class Clash:
    """An order that goes against dates which are not in doubt."""

    earlier: str
    """Id of the piece that is said to have come before."""
    later: str
    """Id of the piece that is said to have come after."""
    words: str
    """The clash as a sentence without its full stop."""


def doubt(when: FuzzyDate) -> str:
    """How a date is in doubt, in words: `about`, `perhaps`, `perhaps about`, or nothing where it is in no doubt."""
    return " ".join(["perhaps"] * when.is_perhaps + ["about"] * when.is_about)


# The order


def _links(pieces: Sequence[Piece]) -> dict[str, list[str]]:
    """For each piece those that came after it, each once, in book order; unknown pieces and itself left aside."""
    after: dict[str, dict[str, None]] = {piece.id: {} for piece in pieces}
    for piece in pieces:
        for later in piece.acquired_before:
            if later in after and later != piece.id:
                after[piece.id][later] = None
        for earlier in piece.acquired_after:
            if earlier in after and earlier != piece.id:
                after[earlier][piece.id] = None
    return {id: list(laters) for id, laters in after.items()}


def _reversed(links: Mapping[str, Iterable[str]]) -> dict[str, list[str]]:
    back: dict[str, list[str]] = {id: [] for id in links}
    for id, laters in links.items():
        for later in laters:
            back[later].append(id)
    return back


def _in_order(links: Mapping[str, Sequence[str]]) -> list[str]:
    """The pieces with each one behind all that came before it; those on a circle, and behind one, are left out."""
    waits = {id: len(earlier) for id, earlier in _reversed(links).items()}
    ready = deque(id for id, count in waits.items() if count == 0)
    found: list[str] = []
    while ready:
        id = ready.popleft()
        found.append(id)
        for later in links[id]:
            waits[later] -= 1
            if waits[later] == 0:
                ready.append(later)
    return found


def _without(links: Mapping[str, Sequence[str]], gone: Iterable[str]) -> dict[str, list[str]]:
    out = set(gone)
    return {id: [later for later in laters if later not in out] for id, laters in links.items() if id not in out}


def _round(links: Mapping[str, Sequence[str]]) -> dict[str, list[str]]:
    """The links among pieces that lie on circles, or between two of them; nothing where there is no circle."""
    left = _without(links, _in_order(links))
    back = _reversed(left)
    return _without(left, _in_order(back))


def cycle(book: Book, through: str = "") -> tuple[str, ...]:
    """The pieces that go round in a circle: each came before the next, and the last before the first.

    Args:
        book: the book.
        through: id of a piece that has to be in it; the shortest such circle is found. Empty for any circle.

    Returns:
        Ids in order, beginning with `through` if it is given; nothing where there is no such circle.
    """
    if through:
        return _circle_through(_links(book.pieces), through)
    left = _round(_links(book.pieces))
    if not left:
        return ()
    at = next(iter(left))
    seen: dict[str, int] = {}
    while at not in seen:
        seen[at] = len(seen)
        at = left[at][0]
    return tuple(seen)[seen[at] :]


def _circle_through(links: Mapping[str, Sequence[str]], start: str) -> tuple[str, ...]:
    came_from: dict[str, str] = {}
    queue = deque([start] if start in links else [])
    while queue:
        id = queue.popleft()
        for later in links[id]:
            if later == start:
                way = [id]
                while way[-1] != start:
                    way.append(came_from[way[-1]])
                return tuple(reversed(way))
            if later not in came_from:
                came_from[later] = id
                queue.append(later)
    return ()


# What follows from it


@record
class _Found:
    """A bound on its way from piece to piece."""

    day: date
    source: str
    by_way_of: str


_Narrowest = dict[str, _Found]


def _spread(
    links: Mapping[str, Sequence[str]], pieces: Mapping[str, Piece], end: End, *, with_doubt: bool
) -> _Narrowest:
    """For each piece the narrowest bound that the dates of the others give it.

    Args:
        links: from each piece to those that take a bound from it; without circles.
        pieces: the pieces by id.
        end: which end is bounded: a later day is narrower for the earliest, an earlier one for the latest.
        with_doubt: whether dates in doubt count.
    """

    def narrower(one: date, two: date) -> bool:
        return one > two if end is End.EARLIEST else one < two

    found: _Narrowest = {}
    for id in _in_order(links):
        given, own = found.get(id), _own(pieces[id], end, with_doubt=with_doubt)
        best, source = (own, id) if own else (None, id)
        if given and (best is None or narrower(given.day, best)):
            best, source = given.day, given.source
        if best is None:
            continue
        for other in links[id]:
            held = found.get(other)
            if held is None or narrower(best, held.day):
                found[other] = _Found(best, source, id)
    return found


def _own(piece: Piece, end: End, *, with_doubt: bool = True) -> date | None:
    """The bound of the piece's own date at one end."""
    when = piece.acquired
    if when is None or (not with_doubt and when.in_doubt):
        return None
    return when.earliest if end is End.EARLIEST else when.latest


def same_bounds(before: Sequence[Piece], after: Sequence[Piece]) -> bool:
    """Whether all that `bounds` looks at is equal in two lists of pieces, and so the bounds are."""
    others = compress(zip(before, after, strict=False), map(is_not, before, after))
    return len(before) == len(after) and all(_rests_on(old) == _rests_on(new) for old, new in others)


def _rests_on(piece: Piece) -> tuple[object, ...]:
    return piece.id, piece.name, piece.acquired, piece.acquired_before, piece.acquired_after


def bounds(book: Book) -> Mapping[str, Bounds]:
    """When each piece was acquired, by its own date and by the order.

    Pieces on a circle, and between two circles, keep their own dates only and hand nothing on.

    Args:
        book: the book.

    Returns:
        The bounds by id of the piece, for every piece.
    """
    pieces = {piece.id: piece for piece in book.pieces}
    links = _links(book.pieces)
    links = _without(links, _round(links))
    back = _reversed(links)
    spread = {
        (end, with_doubt): _spread(way, pieces, end, with_doubt=with_doubt)
        for end, way in ((End.EARLIEST, links), (End.LATEST, back))
        for with_doubt in (False, True)
    }
    return {id: _bounds(piece, pieces, spread) for id, piece in pieces.items()}


def _bounds(piece: Piece, pieces: Mapping[str, Piece], spread: Mapping[tuple[End, bool], _Narrowest]) -> Bounds:
    days: dict[End, date | None] = {}
    derived: list[Derived] = []
    for end in End:
        days[end] = _own(piece, end)
        for with_doubt in (False, True):
            found = spread[end, with_doubt].get(piece.id)
            if found and _narrows(found.day, days[end], end):
                days[end] = found.day
                derived.append(_derived(found, end, pieces))
    return Bounds(days[End.EARLIEST], days[End.LATEST], tuple(derived))


def _narrows(day: date, held: date | None, end: End) -> bool:
    return held is None or (day > held if end is End.EARLIEST else day < held)


def _derived(found: _Found, end: End, pieces: Mapping[str, Piece]) -> Derived:
    source = pieces[found.source]
    assert source.acquired is not None
    limit, side = ("no earlier", "after") if end is End.EARLIEST else ("no later", "before")
    way = f"{side} {source.name}"
    if found.by_way_of != found.source:
        way = f"{side} {pieces[found.by_way_of].name} and so {way}"
    said = _end_words(source.acquired, end)
    return Derived(
        end,
        found.day,
        found.source,
        found.by_way_of,
        source.acquired.in_doubt,
        f"{limit} than {said}, since it came {way}",
    )


def _end_words(when: FuzzyDate, end: End) -> str:
    """One end of a date in words, as coarse as the date and with its doubt."""
    day = when.earliest if end is End.EARLIEST else when.latest
    assert day is not None
    said = f"{doubt(when)} ".lstrip()
    month, day_number = (1, 1) if end is End.EARLIEST else (12, 31)
    if when.earliest == when.latest:
        return said + words.day(day)
    if (day.month, day.day) == (month, day_number):
        return said + (str(day.year) if day.year >= 1000 else f"the year {day.year}")
    if day.day == 1 if end is End.EARLIEST else day == date.max or (day + timedelta(days=1)).day == 1:
        return f"{said}{day:%B} {day.year}"
    return said + words.day(day)


# What cannot be


def contradictions(book: Book) -> tuple[Clash, ...]:
    """The orders that go against dates.

    A piece cannot have come before another if its own first day lies after the last day of the other. Dates in doubt
    contradict nothing.

    Args:
        book: the book.

    Returns:
        At most one clash for each piece said to have come before, in book order; the other is the one by whose
        date it fails by most, perhaps by way of pieces between them.
    """
    if not any(piece.acquired_before or piece.acquired_after for piece in book.pieces):
        return ()
    pieces = {piece.id: piece for piece in book.pieces}
    links = _links(book.pieces)
    links = _without(links, _round(links))
    latest = _spread(_reversed(links), pieces, End.LATEST, with_doubt=False)
    clashes = []
    for piece in book.pieces:
        found, first = latest.get(piece.id), _own(piece, End.EARLIEST, with_doubt=False)
        if found and first and first > found.day:
            clashes.append(Clash(piece.id, found.source, _clash_words(piece, pieces[found.source])))
    return tuple(clashes)


def _clash_words(earlier: Piece, later: Piece) -> str:
    assert earlier.acquired is not None
    assert later.acquired is not None
    first, last = _end_words(earlier.acquired, End.EARLIEST), _end_words(later.acquired, End.LATEST)
    return (
        f"{earlier.name} is said to have come before {later.name}, but it came no earlier than {first} and "
        f"{later.name} no later than {last}"
    )


def circle_words(book: Book, circle: Sequence[str]) -> str:
    """A circle in words: `Apron came before Comet, Comet before Collar and Collar before Apron`."""
    names = [book.piece(id).name for id in circle]
    pairs = zip(names, [*names[1:], *names[:1]], strict=True)
    told = [f"{one} {'came ' if at == 0 else ''}before {two}" for at, (one, two) in enumerate(pairs)]
    return words.listing(told)
