"""The dates the book has now, each with its proof: what a plan is held against before anything moves."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from fractions import Fraction

from showrunner.domain.book import Book
from showrunner.planning.candidates import candidates
from showrunner.planning.explain import Explainer
from showrunner.planning.frame import Frame, frame
from showrunner.planning.plan import HORIZON_WEEKS
from showrunner.planning.problem import DAYS2_PER_POINT, Score, score
from showrunner.planning.results import Placed, Unsure
from showrunner.planning.search import Solution
from showrunner.planning.workback import work_back

NOTHING = Score(0, 0, 0, 0, 0, 0)
"""Stands for aims that cannot be told because a hard rule is broken."""


def present_dates(
    book: Book, today: date, *, horizon_weeks: int = HORIZON_WEEKS, ticker: Callable[[], float] | None = None
) -> tuple[Placed, ...]:
    """The studies that have a slot, with hours, gap and reason as they stand; past slots are left out.

    A study that does not fit where it stands has what is short as its reason. Prices compare with the
    present dates and are given only while those keep every hard rule.
    """
    framed, places = _as_it_stands(book, today, horizon_weeks)
    if not places:
        return ()
    reached = score(framed.problem, places)
    if reached is not None:
        solution = Solution(places, reached, True, reached, 0)
        return Explainer(framed, solution, ticker).placed()
    short = {item.episode: item.text for item in work_back(book, today, horizon_weeks=horizon_weeks).shortfalls}
    problem = replace(framed.problem, needs=tuple(n for n in framed.problem.needs if n.key in places))
    loose = Explainer(replace(framed, problem=problem), Solution(places, NOTHING, False, NOTHING, 0), ticker)
    return tuple(
        replace(item, reason=short.get(item.id, "It stands where it was put; a hard rule is broken further on."))
        for item in loose.placed(priced=False)
    )


def present_points(book: Book, today: date, *, horizon_weeks: int = HORIZON_WEEKS) -> tuple[int, Fraction] | None:
    """How many studies have a slot from today on, and the points of those dates, to hold a plan against.

    Returns:
        None if no study has one, or if a hard rule is broken, so that no points can be told.
    """
    framed, places = _as_it_stands(book, today, horizon_weeks)
    reached = score(framed.problem, places) if places else None
    return (len(places), Fraction(reached.points, DAYS2_PER_POINT)) if reached else None


def _as_it_stands(book: Book, today: date, horizon_weeks: int) -> tuple[Frame, dict[str, int]]:
    """The problem of the studies that have a slot from today on, and the slot each has."""
    found, _ = candidates(book, Unsure.LEFT_OUT)
    studies = tuple(study for study in found if study.planned and study.planned.day >= today)
    framed = frame(book, today, studies, horizon_weeks=horizon_weeks)
    index = {slot.ref: at for at, slot in enumerate(framed.problem.slots)}
    return framed, {study.key: index[study.planned] for study in studies if study.planned in index}
