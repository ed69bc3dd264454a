"""The ways of dating the studies anew, side by side: what each moves and how even it is."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from fractions import Fraction

from showrunner.domain.book import Book
from showrunner.domain.house import Unsure
from showrunner.domain.record import record
from showrunner.domain.rules import Board
from showrunner.planning.aims import Aim
from showrunner.planning.plan import HORIZON_WEEKS
from showrunner.planning.problem import DAYS2_PER_POINT
from showrunner.planning.solving import Question, Solved, bound, solve_book


@record
class Choice:
    """One way of dating the studies anew."""

    aim: Aim
    """What it is made for."""
    moves: int
    """How many studies that have a date get another one, or none."""
    days: int
    """By how many days the dates move in all."""
    points: Fraction
    """Unevenness, weeks squared."""
    wide: int
    """Gaps beyond the longest of their series."""
    unplaced: int
    """Studies without a slot."""
    proven: bool
    """Whether nothing is better by this aim."""


def choices(
    book: Book,
    today: date,
    *,
    horizon_weeks: int = HORIZON_WEEKS,
    unsure: Unsure = Unsure.LEFT_OUT,
    time_limit: float | None = None,
    ticker: Callable[[], float] | None = None,
) -> tuple[Choice, ...]:
    """The three ways, the one that is suggested first.

    Suggested is the one that moves few but keeps the gaps within their bounds where that can be done: the fewest
    moves alone may push one study far out and leave a hole behind it.

    Args:
        book: the book.
        today: the present day.
        horizon_weeks: weeks to look ahead.
        unsure: how unsure pieces are taken.
        time_limit: seconds for each; None for no limit.
        ticker: a clock in seconds for the limit.
    """
    found = []
    for aim in (Aim.EVEN, Aim.FEWEST, Aim.BEST):
        ask = Question(today, horizon_weeks, unsure, aim)
        solved = solve_book(bound(book, ask), ask, time_limit=time_limit, ticker=ticker)
        found.append(_choice(book, aim, solved))
    return tuple(found)


def _choice(book: Book, aim: Aim, solved: Solved) -> Choice:
    dates = solved.dates
    dated = {study.id: study.slot for study in book.open_studies if study.slot}
    return Choice(
        aim=aim,
        moves=solved.moves_in(book),
        days=sum(abs((dates[id].day - slot.day).days) for id, slot in dated.items() if id in dates),
        points=Fraction(solved.solution.score.points, DAYS2_PER_POINT),
        wide=wide_gaps(solved),
        unplaced=solved.solution.score.unplaced,
        proven=solved.solution.proven,
    )


def wide_gaps(solved: Solved) -> int:
    """How many gaps of a plan are beyond the longest of their series."""
    framed, dates = solved.frame, solved.dates
    board = Board(framed.book)
    found = 0
    for series in framed.book.series:
        last = board.last_published(series.id)
        mine = {study.key for study in framed.candidates if study.series.id == series.id}
        for day in sorted(slot.day for key, slot in dates.items() if key in mine):
            found += last is not None and (day - last).days > 7 * series.max_weeks
            last = day
    return found
