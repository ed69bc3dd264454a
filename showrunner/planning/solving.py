"""A book solved: its placing problem, the choice among promises that contradict each other, and the best placement."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date
from itertools import product

from showrunner.domain.book import Book
from showrunner.domain.house import Unsure
from showrunner.domain.orders import fewest_dropped
from showrunner.domain.record import record
from showrunner.domain.rules import Board
from showrunner.domain.slot import SlotRef
from showrunner.planning.aims import Aim
from showrunner.planning.candidates import candidates
from showrunner.planning.frame import Frame, frame
from showrunner.planning.limit import Limit
from showrunner.planning.problem import Score
from showrunner.planning.search import NoBetter, Solution, solve_within


@record
class Question:
    """What is asked of the placing search besides the book."""

    today: date
    """The present day."""
    horizon_weeks: int
    """Weeks to look ahead."""
    unsure: Unsure
    """How unsure pieces are taken."""
    aim: Aim = Aim.BEST
    """What the plan is made for."""
    around: bool = False
    """Whether planned studies stay where they are, the others around them."""
    more: tuple[int, int] = (0, 0)
    """Supposed extra work: a day offset, and minutes found on it."""


@record
class Solved:
    """A book's placing problem with the best placement."""

    frame: Frame
    """The problem."""
    solution: Solution
    """The best placement found."""
    dropped: tuple[str, ...]
    """Ids of pins that were left aside because they can never be kept beside the others."""

    @property
    def broken(self) -> int:
        """How many dates and orders are not kept, those left aside included."""
        return self.solution.score.broken + len(self.dropped)

    @property
    def dates(self) -> dict[str, SlotRef]:
        """The slot of each study that is placed."""
        slots = self.frame.problem.slots
        return {key: slots[at].ref for key, at in self.solution.places.items()}

    def moves_in(self, book: Book) -> int:
        """How many studies that have a date in a book get another one, or none."""
        dates = self.dates
        return sum(study.slot is not None and dates.get(study.id) != study.slot for study in book.open_studies)


def bound(book: Book, ask: Question) -> Book:
    """The book with those promises only that bind the studies to be placed.

    A study whose unsure pieces are taken as shown is not placed, so what is promised of it binds nothing.
    """
    placed = {study.key for study in candidates(book, ask.unsure)[0]}
    aside = {study.id for study in book.open_studies} - placed
    return book.drop("pins", *(pin.id for pin in book.pins if aside & {*pin.episodes}))


def framed(book: Book, ask: Question) -> Frame:
    """The placing problem of a book."""
    studies, left_out = candidates(book, ask.unsure)
    return frame(
        book,
        ask.today,
        studies,
        horizon_weeks=ask.horizon_weeks,
        aim=ask.aim,
        around=ask.around,
        left_out=left_out,
        more=ask.more,
    )


def solve_book(
    book: Book,
    ask: Question,
    *,
    time_limit: float | None = None,
    ticker: Callable[[], float] | None = None,
    beat: Solved | None = None,
) -> Solved:
    """The best placement of a book's studies.

    Where promises exclude each other by themselves, each smallest choice of those to leave aside is tried and
    the best plan taken.

    Args:
        book: the book.
        ask: what is asked.
        time_limit: seconds; see `search.solve`.
        ticker: a clock in seconds.
        beat: a plan of the same studies; only a plan that breaks fewer promises, or as many and places more, is sought.

    Raises:
        NoBetter: there is no such plan.
    """
    best: Solved | None = None
    choices = tuple(left_aside(book))
    fewest = min(map(len, choices))
    for dropped in choices:
        shaped = framed(book.drop("pins", *dropped), ask)
        left_out = len(shaped.problem.needs) - len(beat.solution.places) if beat else 0
        here = Score(beat.broken - fewest, left_out, 0, 0, 0, 0, 0) if beat else None
        try:
            solution = solve_within(shaped.problem, Limit.of(time_limit, ticker), here)
        except NoBetter:
            continue
        found = Solved(shaped, solution, dropped)
        if best is None or _rank(found) < _rank(best):
            best = found
    if best is None:
        raise NoBetter
    return best


def left_aside(book: Book) -> Iterator[tuple[str, ...]]:
    """The smallest choices of pins to leave aside: of several dates of one study all but one, and stuck orders.

    One date promised twice is no choice: both pins are kept, or neither is.

    Yields:
        Ids of pins; an empty choice if no promises exclude each other by themselves.
    """
    spare = [
        [tuple(pin for pin, slot in promised if slot != kept) for kept in dict.fromkeys(slot for _, slot in promised)]
        for promised in Board(book).dates.values()
    ]
    for orders in fewest_dropped(book):
        for choice in product(*spare):
            yield (*orders, *(pin for pins in choice for pin in pins))


def _rank(found: Solved) -> tuple[object, ...]:
    orders = {need.key: need.order for need in found.frame.problem.needs}
    path = sorted((slot, orders[key]) for key, slot in found.solution.places.items())
    return found.solution.score, path
