"""The dates the book has now, each with its proof: what a plan is held against before anything moves."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from fractions import Fraction

from showrunner.domain.book import Book
from showrunner.domain.house import Unsure
from showrunner.domain.rules import clause
from showrunner.domain.titles import quoted, slot_words
from showrunner.planning.candidates import candidates
from showrunner.planning.explain import NOT_ASKED, Explainer
from showrunner.planning.frame import Frame, frame
from showrunner.planning.plan import HORIZON_WEEKS, make_plan
from showrunner.planning.problem import DAYS2_PER_POINT, Problem, Score, score
from showrunner.planning.results import Offer, Placed, Plan, Unplaced, Warning
from showrunner.planning.search import Solution
from showrunner.planning.solving import Question, Solved, bound, solve_book
from showrunner.planning.workback import work_back

OF_THE_PLACING = {"gap-over-maximum", "soft-window-missed", "unplaced", "time-limit"}
"""Warnings that speak of how a search placed the studies."""

NOTHING = Score(0, 0, 0, 0, 0, 0, 0)
"""Stands for aims that cannot be told because a hard rule is broken."""


def present_dates(
    book: Book, today: date, *, horizon_weeks: int = HORIZON_WEEKS, ticker: Callable[[], float] | None = None
) -> tuple[Placed, ...]:
    """The studies that have a slot, with hours, gap and reason as they stand; past slots are left out.

    A study that does not fit where it stands has what is short as its reason. Prices compare with the
    present dates and are given only while those keep every hard rule.
    """
    framed, places = _as_it_stands(book, today, horizon_weeks)
    return _proven(framed, places, ticker, priced=True)


def _proven(
    framed: Frame, places: dict[str, int], ticker: Callable[[], float] | None, *, priced: bool
) -> tuple[Placed, ...]:
    """The dates that stand as `present_dates` tells them, with prices if wanted."""
    if not places:
        return ()
    reached = score(framed.problem, places)
    if reached is not None:
        solution = Solution(places, reached, True, reached, 0)
        return Explainer(framed, solution, ticker).placed(unpriced="" if priced else NOT_ASKED)
    work = work_back(framed.book, framed.today, horizon_weeks=framed.horizon_weeks)
    short = {item.episode: item.text for item in work.shortfalls}
    problem = replace(framed.problem, needs=tuple(n for n in framed.problem.needs if n.key in places))
    loose = Explainer(replace(framed, problem=problem), Solution(places, NOTHING, False, NOTHING, 0), ticker)
    told = {**short, **_barred(framed)}
    return tuple(
        replace(item, reason=told.get(item.id, "It stands where it was put; a hard rule is broken further on."))
        for item in loose.placed(unpriced=NOT_ASKED)
    )


def standing_plan(
    book: Book,
    today: date,
    *,
    horizon_weeks: int = HORIZON_WEEKS,
    priced: bool = True,
    time_limit: float | None = None,
    ticker: Callable[[], float] | None = None,
) -> Plan:
    """The plan that stands: the dates of the book, with the studies that have none yet placed around them.

    It is not tried what would help a study that has no slot: a plan made anew does that. Unsure pieces are taken as
    they were when dates were last accepted. While the dates of the book break a hard rule, nothing is placed around
    them.

    Args:
        book: the book.
        today: the present day.
        horizon_weeks: weeks to look ahead.
        priced: whether it is worked out what other dates would cost, which gives each date its reason.
        time_limit: seconds for each search; None for no limit.
        ticker: a clock in seconds for the limit.
    """
    unsure = book.house.habit.unsure
    framed, places = _as_it_stands(book, today, horizon_weeks)
    dates = _proven(framed, places, ticker, priced=priced)
    dated = {study.key for study in framed.candidates}
    if not {study.key for study in candidates(book, unsure)[0]} >= dated:
        unsure = Unsure.LEFT_OUT  # one that would be taken as shown was given a date by hand
    fit = score(framed.problem, places) is not None
    found = make_plan(
        book,
        today,
        horizon_weeks=horizon_weeks,
        unsure=unsure,
        around=fit,
        priced=priced,
        advised=False,
        time_limit=time_limit,
        ticker=ticker,
    )
    barred = [Warning("date-broken", text) for text in _barred(framed).values()]
    found = replace(found, stands=True, warnings=(*barred, *found.warnings))
    if not dated:
        return found
    fresh = [item for item in found.studies if item.id not in dated]
    waiting = [item for item in found.unplaced if item.id not in dated]
    if not fit:
        waiting, fresh = [*waiting, *map(_waits, fresh)], []
        told = tuple(w for w in found.warnings if w.code not in OF_THE_PLACING)
        found = replace(found, points=_points(framed.problem, places), warnings=told, breaks_rules=True)
    else:
        beside = {item.id: item for item in found.studies}
        dates = tuple(_among(item, beside.get(item.id)) for item in dates)
    standing = replace(
        found,
        studies=tuple(sorted((*dates, *fresh), key=lambda item: framed.board.turn(item.slot.ref))),
        unplaced=tuple(waiting),
        breaks_rules=not fit,
    )
    if standing.breaks_rules or found.clashes:
        return standing
    ask = Question(today, horizon_weeks, unsure)
    best = solve_book(bound(book, ask), ask, time_limit=time_limit, ticker=ticker)
    return replace(standing, offer=_offer(book, standing, best))


def _barred(framed: Frame) -> dict[str, str]:
    """What is told of the studies that may not stand where they do, by their keys, in book order."""
    book, broken = framed.book, framed.board.broken(framed.today)
    return {
        study.key: f"{quoted(study.title)} stands on {slot_words(book, study.planned)}, "
        f"but {clause(book, broken[study.key])}; plan anew, or move it."
        for study in framed.candidates
        if study.planned and study.key in broken
    }


def _points(problem: Problem, places: dict[str, int]) -> Fraction:
    """Unevenness of dates that the hours do not allow, or that stand too close."""
    spare = tuple(10**9 for _ in problem.spare)
    spacings = tuple(replace(spacing, min_days=-(10**9)) for spacing in problem.spacings)
    reached = score(replace(problem, spare=spare, spacings=spacings), places)
    return Fraction(reached.points if reached else 0, DAYS2_PER_POINT)


def _among(item: Placed, beside: Placed | None) -> Placed:
    """A date that stands with the gap and the hours that it has among the studies placed around it."""
    if beside is None or beside.slot != item.slot:
        return item
    return replace(
        item,
        gap_days=beside.gap_days,
        minutes_needed=beside.minutes_needed,
        minutes_available=beside.minutes_available,
    )


def _waits(item: Placed) -> Unplaced:
    """A study that is not placed while the dates of the book break a rule."""
    why, way_out = "the dates that stand break a hard rule", "plan anew, or move what is late"
    return Unplaced(item.id, item.title, item.series, item.pieces, why, "", way_out, None, ())


def _offer(book: Book, standing: Plan, best: Solved) -> Offer | None:
    """What the best dates would bring; None if the dates that stand are as good."""
    found = best.solution
    points = Fraction(found.score.points, DAYS2_PER_POINT)
    more = len(found.places) - len(standing.studies)
    if best.dropped or found.score.broken or more < 0 or (more == 0 and points >= standing.points):
        return None
    return Offer(best.moves_in(book), more, points)


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
    there = frozenset(study.planned for study in studies if study.planned)
    framed = frame(book, today, studies, horizon_weeks=horizon_weeks, also=there)
    index = {slot.ref: at for at, slot in enumerate(framed.problem.slots)}
    return framed, {study.key: index[study.planned] for study in studies if study.planned in index}
