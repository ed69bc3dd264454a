"""The plan: every study placed by exact search, with the proof of each date."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from fractions import Fraction

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.episode import Pin, PinKind, Series, Window
from showrunner.domain.house import Unsure
from showrunner.domain.promises import binding_pairs, is_apart
from showrunner.domain.rules import Board
from showrunner.domain.titles import quoted
from showrunner.planning.advice import Advisor
from showrunner.planning.aims import Aim
from showrunner.planning.clashing import smallest_clash, static_clashes
from showrunner.planning.explain import NOT_ASKED, UNPRICED, Explainer
from showrunner.planning.frame import Frame, days_outside, stretches
from showrunner.planning.problem import DAYS2_PER_POINT
from showrunner.planning.results import Clash, Placed, Plan, Status, Unplaced, Warning
from showrunner.planning.search import Solution
from showrunner.planning.solving import Question, Solved, bound, solve_book

HORIZON_WEEKS = 78
"""Weeks a plan looks ahead unless asked otherwise."""

ADVICE_SHARE = 4
"""Ways out are tried for one part in so many of the time that the plan itself may take."""

CLASH_SECONDS = 2.0
"""Time for finding the smallest set of promises that clash."""


def make_plan(
    book: Book,
    today: date,
    *,
    horizon_weeks: int = HORIZON_WEEKS,
    unsure: Unsure = Unsure.LEFT_OUT,
    aim: Aim = Aim.BEST,
    around: bool = False,
    priced: bool = True,
    advised: bool = True,
    time_limit: float | None = None,
    ticker: Callable[[], float] | None = None,
) -> Plan:
    """Place all unpublished studies.

    The aims, each only where all before it are equal: break as few promises as possible; place as many studies
    as possible; (re-plan, if asked) have as few gaps beyond the longest as possible; (re-plan) move as few planned
    ones as possible, then by the fewest days; least unevenness; earliest dates; book order.

    Args:
        book: the book.
        today: the present day.
        horizon_weeks: weeks to look ahead.
        unsure: how unsure pieces are taken.
        aim: what the plan is made for; anything but the best dates is a re-plan.
        around: whether planned studies stay where they are, the others around them.
        priced: whether it is worked out what other dates would cost, which gives each date its reason.
        advised: whether it is tried what would help the studies that have no slot.
        time_limit: seconds after which the best plan found is returned unproven; None for no limit.
        ticker: a clock in seconds for the limit and for `solver_seconds`.

    Returns:
        The plan. If not all promises can be kept it keeps as many as can be, and names what clashes.
    """
    ask = Question(today, horizon_weeks, unsure, aim, around)
    book = bound(book, ask)
    started = ticker() if ticker else 0.0
    solved = solve_book(book, ask, time_limit=time_limit, ticker=ticker)
    seconds = ticker() - started if ticker else 0.0
    framed, solution = solved.frame, solved.solution
    clashes = static_clashes(book, ask)
    if not clashes and solution.bound.broken:
        found = smallest_clash(book, ask, time_limit=CLASH_SECONDS, ticker=ticker)
        clashes = (found,) if found else ()
    status = Status.INFEASIBLE if clashes else Status.OPTIMAL if solution.proven else Status.TIME_LIMIT
    points = Fraction(solution.score.points, DAYS2_PER_POINT)
    explainer = Explainer(framed, solution, ticker)
    placed = explainer.placed(unpriced=UNPRICED if solved.dropped else "" if priced else NOT_ASKED)
    until = ticker() + time_limit / ADVICE_SHARE if ticker and time_limit is not None else None
    unplaced = explainer.unplaced(Advisor(book, ask, solved, ticker, until) if advised else None)
    made = _promises(book)
    return Plan(
        status=status,
        proven=solution.proven,
        points=points,
        proven_gap=_gap(solution),
        missing_gap=max(0, solution.score.unplaced - solution.bound.unplaced),
        studies=placed,
        unplaced=unplaced,
        warnings=_warnings(framed, placed, unplaced, solution, clashes),
        clashes=clashes,
        promises_made=made,
        promises_kept=made - _broken(book, solved),
        left_out=framed.left_out,
        today=today,
        horizon_weeks=horizon_weeks,
        unsure=unsure,
        aim=aim,
        solver_seconds=seconds,
    )


def _gap(solution: Solution) -> Fraction:
    """Most points that a better plan could save; also told where a better plan could place more."""
    if solution.proven:
        return Fraction(0)
    here, least = solution.score, solution.bound
    if least.unplaced < here.unplaced:
        return Fraction(here.points, DAYS2_PER_POINT)
    return max(Fraction(0), Fraction(here.points - least.points, DAYS2_PER_POINT))


def _promises(book: Book) -> int:
    """Pins that bind."""
    board = Board(book)
    orders = [pin for pin in book.pins if pin.kind is PinKind.ORDER and board.is_open(pin.episodes[0])]
    return len(binding_pairs(book)) + len(orders) + sum(len(dates) for dates in board.dates.values())


def _broken(book: Book, solved: Solved) -> int:
    """Promises that a plan does not keep."""
    board = Board(book)
    apart = sum(not _together(book, solved.frame, pin) for pin in binding_pairs(book))
    late = sum(
        1
        for pin in book.pins
        if pin.kind is PinKind.ORDER and board.is_open(pin.episodes[0]) and not board.is_open(pin.episodes[1])
    )
    return solved.broken + apart + late


def _together(book: Book, framed: Frame, pair: Pin) -> bool:
    """Whether pieces promised together are in one study, or would be."""
    both = set(pair.pieces)
    return not is_apart(book, pair) and all(both <= set(c.pieces) for c in framed.candidates if both & set(c.pieces))


def _warnings(
    framed: Frame,
    placed: tuple[Placed, ...],
    unplaced: tuple[Unplaced, ...],
    solution: Solution | None,
    broken: tuple[Clash, ...],
) -> tuple[Warning, ...]:
    """Everything about the plan that is not as wished, each with its number."""
    found = [Warning("contradiction", clash.text) for clash in broken]
    if solution and not solution.proven:
        found.append(
            Warning("time-limit", "Time ran out before the plan was proven best; what is shown is the best found.")
        )
    studies = {study.key: study for study in framed.candidates}
    for item in placed:
        study = studies[item.id]
        over, outside = _days_over(study.series, item), _days_outside(study.windows, item)
        if over:
            found.append(
                Warning(
                    "gap-over-maximum",
                    f"{quoted(item.title)} comes {words.weeks(item.gap_days or 0)} after the one before it, "
                    f"{words.weeks(over)} over the maximum of {study.series.max_weeks}.",
                )
            )
        if outside:
            found.append(
                Warning(
                    "soft-window-missed",
                    f"{quoted(item.title)} falls on {words.day(item.slot.day)}, {words.weeks(outside)} outside its "
                    "window.",
                )
            )
    found += [
        Warning("unplaced", f"{quoted(item.title)} has no slot: {item.reason}. {_sentence(item.way_out)}")
        for item in unplaced
    ]
    rules = {rule.id: rule for rule in framed.book.rules}
    taken = {item.slot.ref for item in placed}
    for work in framed.standing:
        if work.short and work.slot.ref not in taken:
            found.append(
                Warning(
                    "standing-short",
                    f"{rules[work.slot.rule].name} of {words.day(work.slot.day)} is "
                    f"{words.hours(work.short)} short even without any study; "
                    "put down what is done of it, bank it, or add hours.",
                )
            )
    if framed.left_out:
        names = [framed.book.piece(id).name for id in framed.left_out]
        found.append(
            Warning(
                "unsure-left-out",
                f"{words.count(len(names), 'unsure piece')} in no study left out: {words.some(names)}.",
            )
        )
    return tuple(found)


def misses_a_wish(book: Book, item: Placed) -> bool:
    """Whether a study comes after a gap longer than the longest wished, or outside its soft windows."""
    study = book.find("episodes", item.id)
    windows = study.windows if study else ()
    return _days_over(book.series_of(item.series), item) > 0 or _days_outside(windows, item) > 0


def _days_over(series: Series, item: Placed) -> int:
    """Days by which the gap before a study is longer than the longest of its series; 0 if it is not."""
    return max(0, (item.gap_days or 0) - 7 * series.max_weeks)


def _days_outside(windows: tuple[Window, ...], item: Placed) -> int:
    """Days by which a study is outside its soft windows; 0 if it is not."""
    day = item.slot.day
    return days_outside(day, stretches(windows, False, day, day))


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}."
