"""The plan: every study placed by exact search, with the proof of each date."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from fractions import Fraction

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.episode import PinKind
from showrunner.domain.promises import clashes, quoted, slot_words
from showrunner.planning.explain import Explainer
from showrunner.planning.frame import Frame, candidates, days_outside, frame, stretches
from showrunner.planning.problem import DAYS2_PER_POINT
from showrunner.planning.results import Clash, Placed, Plan, Status, Unplaced, Unsure, Warning
from showrunner.planning.search import Solution, solve

HORIZON_WEEKS = 78
"""Weeks a plan looks ahead unless asked otherwise."""


def make_plan(
    book: Book,
    today: date,
    *,
    horizon_weeks: int = HORIZON_WEEKS,
    unsure: Unsure = Unsure.LEFT_OUT,
    keep: bool = False,
    time_limit: float | None = None,
    ticker: Callable[[], float] | None = None,
) -> Plan:
    """Place all unpublished studies.

    The aims, each only where all before it are equal: place as many as possible; (re-plan) move as few
    planned ones as possible, then by the fewest days; fewest points; earliest dates; book order.

    Args:
        book: the book.
        today: the present day.
        horizon_weeks: weeks to look ahead.
        unsure: how unsure pieces are taken.
        keep: whether this is a re-plan with fewest moves.
        time_limit: seconds after which the best plan found is returned unproven; None for no limit.
        ticker: a clock in seconds for the limit and for `solver_seconds`.

    Returns:
        The plan. If promises contradict each other it is empty and names every clash.
    """
    studies, left_out = candidates(book, unsure)
    framed = frame(book, today, studies, horizon_weeks=horizon_weeks, keep=keep, left_out=left_out)
    broken = tuple(Clash(c.sentence(), c.parties) for c in clashes(book)) + _late_promises(framed)
    started = ticker() if ticker else 0.0
    solution = None if broken else solve(framed.problem, time_limit=time_limit, ticker=ticker)
    seconds = ticker() - started if ticker else 0.0
    placed: tuple[Placed, ...] = ()
    unplaced: tuple[Unplaced, ...] = ()
    status, points, gap, missing = Status.INFEASIBLE, Fraction(0), Fraction(0), 0
    if solution:
        status = Status.OPTIMAL if solution.proven else Status.TIME_LIMIT
        points = Fraction(solution.score.points, DAYS2_PER_POINT)
        missing = solution.score.unplaced - solution.bound.unplaced
        if not missing:
            gap = max(Fraction(0), points - Fraction(solution.bound.points, DAYS2_PER_POINT))
        explainer = Explainer(framed, solution, ticker)
        placed, unplaced = explainer.placed(), explainer.unplaced()
    return Plan(
        status=status,
        points=points,
        proven_gap=gap,
        missing_gap=missing,
        studies=placed,
        unplaced=unplaced,
        warnings=_warnings(framed, placed, unplaced, solution, broken),
        clashes=broken,
        left_out=left_out,
        today=today,
        horizon_weeks=horizon_weeks,
        unsure=unsure,
        keep=keep,
        solver_seconds=seconds,
    )


def _late_promises(framed: Frame) -> tuple[Clash, ...]:
    """Date pins that today, the horizon or the record has overtaken."""
    found = []
    book, slots = framed.book, {slot.ref for slot in framed.every_slot}
    last = framed.today + timedelta(weeks=framed.horizon_weeks)
    for pin in book.pins:
        if pin.kind is not PinKind.DATE or pin.slot is None:
            continue
        study = next((c for c in framed.candidates if c.key == pin.episodes[0]), None)
        if study is None:
            continue
        held = framed.held.get(pin.slot)
        if pin.slot.day < framed.today:
            why = "which is past; publish it or unpin it"
        elif pin.slot.day > last:
            why = f"which is beyond the {words.count(framed.horizon_weeks, 'week')} looked at; look further or unpin it"
        elif held is not None:
            why = f"which {quoted(held)} holds; free the slot or unpin it"
        elif pin.slot not in slots:
            why = "which is no slot; unpin it"
        else:
            continue
        text = f"{quoted(study.title)} is promised for {slot_words(book, pin.slot)}, {why}."
        found.append(Clash(text, (study.key, pin.id)))
    return tuple(found)


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
        most = 7 * study.series.max_weeks
        if item.gap_days is not None and item.gap_days > most:
            found.append(
                Warning(
                    "gap-over-maximum",
                    f"{quoted(item.title)} comes {words.weeks(item.gap_days)} after the one before it, "
                    f"{words.weeks(item.gap_days - most)} over the maximum of {study.series.max_weeks}.",
                )
            )
        day = item.slot.day
        outside = days_outside(day, stretches(study.windows, False, day, day))
        if outside:
            found.append(
                Warning(
                    "soft-window-missed",
                    f"{quoted(item.title)} falls on {words.day(day)}, {words.weeks(outside)} outside its window.",
                )
            )
    found += [
        Warning("unplaced", f"{quoted(item.title)} has no slot: {item.reason} ({item.short_by}); {item.way_out}.")
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
                    f"{words.hours(work.short)} short even without any study; bank it or add hours.",
                )
            )
    if framed.left_out:
        names = [framed.book.piece(id).name for id in framed.left_out]
        found.append(
            Warning(
                "unsure-left-out",
                f"{words.count(len(names), 'unsure piece')} in no study left out: {words.listing(names)}.",
            )
        )
    return tuple(found)
