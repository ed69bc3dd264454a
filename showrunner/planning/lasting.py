"""Which spacing makes a series last until a day: tried on copies, by halving, with the forecast itself."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.episode import PinKind, Series
from showrunner.domain.piece import Known
from showrunner.domain.record import record
from showrunner.errors import BadInput
from showrunner.planning.plan import HORIZON_WEEKS
from showrunner.planning.runout import even_odds_end
from showrunner.planning.sliprate import slip_rate as rate_of

MOST_WEEKS = 4 * 52
"""Weeks ahead that a series can be asked to last."""

BEYOND_WEEKS = 26
"""Weeks looked at beyond the day asked for."""


@record
class Lasting:
    """The spacing that makes a series last until a day."""

    weeks: int
    """The wished gap, weeks, with which the 50% end is no earlier than the day."""
    end: date | None
    """The 50% end that it gives; None if beyond the days looked at."""
    by_pieces: tuple[tuple[int, int], ...]
    """Pieces left and the wished gap they need, fewest and most pieces; empty where no piece is unsure."""


def lasting(
    book: Book,
    today: date,
    series: str,
    until: date,
    *,
    slip_rate: float | None = None,
    time_limit: float | None = None,
    ticker: Callable[[], float] | None = None,
) -> Lasting:
    """The wished gap with which a series lasts until a day at even odds, and no longer than it must.

    Its studies are dated anew. Of gaps that give the same end, the one nearest to the present wish. A longer gap
    brings the end no nearer unless promises or windows make it do so; what is found lasts until the day in any case.

    Args:
        book: the book; its accepted dates of the series are left aside, its promises are kept.
        today: the present day.
        series: id of the series.
        until: the day.
        slip_rate: a rate that is supposed; None for the record's.
        time_limit: seconds for each plan; None for no limit.
        ticker: a clock in seconds for the limit.

    Raises:
        BadInput: the day is past, too far ahead, or beyond what any spacing gives.
    """
    weeks = horizon(today, until)
    chosen = book.series_of(series)
    rate = rate_of(book.publications, series, slip_rate)

    def solved(of: Book) -> tuple[int, date | None]:
        def end(gap: int) -> date | None:
            return even_odds_end(
                spaced(of, chosen, gap),
                today,
                chosen_as(chosen, gap),
                rate,
                horizon_weeks=weeks,
                time_limit=time_limit,
                ticker=ticker,
            )

        return _least(end, until, chosen)

    bare = undated(book, series)
    gap, end = solved(bare)
    return Lasting(gap, end, tuple((left, solved(settled)[0]) for left, settled in _settled(bare, chosen)))


def horizon(today: date, until: date) -> int:
    """Weeks to look ahead so that an end on a day, and after it, is in view.

    Raises:
        BadInput: the day is past or too far ahead.
    """
    if until <= today:
        raise BadInput(f"{words.day(until)} is past", "last until", "give a day to come")
    weeks = (until - today).days // 7
    if weeks > MOST_WEEKS:
        years = words.count(MOST_WEEKS // 52, "year")
        raise BadInput(f"{words.day(until)} is more than {years} ahead", "last until", "give an earlier day")
    return max(HORIZON_WEEKS, weeks + BEYOND_WEEKS)


def chosen_as(series: Series, gap: int) -> Series:
    """The series with another wished gap; its least and longest give way where they must."""
    return replace(series, min_weeks=min(series.min_weeks, gap), target_weeks=gap, max_weeks=max(series.max_weeks, gap))


def spaced(book: Book, series: Series, gap: int) -> Book:
    """The book with that."""
    return book.put("series", chosen_as(series, gap))


def undated(book: Book, series: str) -> Book:
    """The book without the accepted dates of a series; promised ones stay."""
    pinned = {study for pin in book.pins if pin.kind is PinKind.DATE for study in pin.episodes}
    free = [s for s in book.open_studies if s.series == series and s.slot and s.id not in pinned]
    return book.put("episodes", *(replace(study, slot=None) for study in free))


def _least(end: Callable[[int], date | None], until: date, series: Series) -> tuple[int, date | None]:
    """The gap that lasts until a day, and its end."""
    ends: dict[int, date | None] = {}

    def lasts(gap: int) -> bool:
        ends[gap] = end(gap)
        return (ends[gap] or date.max) >= until

    low, high = 0, max(1, series.target_weeks)
    while not lasts(high):
        low, high = high, 2 * high
        if low > MOST_WEEKS:
            raise BadInput(_too_far(ends), f"{series.name}, last until {words.day(until)}", "give an earlier day")
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if lasts(middle) else (middle, high)
    longest, beyond = high, series.target_weeks + 1
    while beyond - longest > 1:  # the longest gap, up to the present one, that gives the same end
        middle = (longest + beyond) // 2
        lasts(middle)
        longest, beyond = (middle, beyond) if ends[middle] == ends[high] else (longest, middle)
    return longest, ends[high]


def _too_far(ends: Mapping[int, date | None]) -> str:
    last = max((day for day in ends.values() if day), default=None)
    reached = f"by {words.day(last)} at even odds" if last else "at once"
    return f"with any spacing the end comes {reached}"


def _settled(book: Book, series: Series) -> list[tuple[int, Book]]:
    """The book with every doubt of the collection settled, all as shown and all as not, with the pieces then left."""
    mine = [p for p in book.pieces if p.collection == series.collection and p.want is None]
    unsure = [piece for piece in mine if piece.shown.known is Known.UNSURE]
    sure = sum(piece.shown.known is Known.NO for piece in mine)
    if not unsure:
        return []
    found = []
    for known, left in ((Known.YES, sure), (Known.NO, sure + len(unsure))):
        pieces = (replace(piece, shown=replace(piece.shown, known=known)) for piece in unsure)
        found.append((left, book.put("pieces", *pieces)))
    return found
