"""What what-ifs would bring, shown beside the present plan, and how they are adopted; dropping them changes nothing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from showrunner.domain.record import record
from showrunner.errors import BadInput
from showrunner.planning.lasting import horizon, undated
from showrunner.planning.plan import HORIZON_WEEKS
from showrunner.session import Session, dated_by, placements
from showrunner.supposing import Supposed, WhatIf, carried_out, found_spacing, suppose
from showrunner.what_if_kinds import Kind

if TYPE_CHECKING:
    from showrunner.planning.handover import Handover
    from showrunner.planning.pairing import Pairing
    from showrunner.planning.results import Plan, RunOut


@record
class Alone:
    """What one what-if would bring by itself."""

    asked: WhatIf
    """As it was asked for."""
    what_if: WhatIf
    """With the spacing that was solved for, if it is such a one."""
    forecast: RunOut
    """The forecast with it."""


@record
class Outlook:
    """What what-ifs would bring."""

    supposed: Supposed
    """The copy of the book with all of them."""
    each: tuple[Alone, ...]
    """Each alone."""
    together: RunOut
    """The forecast with all of them."""
    plan: Plan
    """The plan that would stand once they are adopted."""
    anew: RunOut | None
    """The forecast if the best dates are then taken; None if those that stand are as good, or promises clash."""
    horizon_weeks: int
    """Weeks looked ahead."""
    taking_over: Handover | None
    """When what is shopped for could then take over; None if that stays as it is, or nothing is shopped for."""


def outlook(
    session: Session,
    series: str,
    texts: Sequence[str],
    *,
    slip_rate: float | None = None,
    time_limit: float | None = None,
    before: Outlook | None = None,
) -> Outlook:
    """What what-ifs would bring, all together and each alone; the open book stays as it is.

    Args:
        session: the open book.
        series: id of the series.
        texts: as for `suppose`.
        slip_rate: the rate where none is supposed; None for that of the record.
        time_limit: seconds for each search of the plan that would stand; None for no limit.
        before: an outlook on the same book, from which forecasts of single what-ifs are taken over.

    Raises:
        ShowrunnerError: as `suppose`.
    """
    asked = suppose(session.book, series, texts)
    weeks = horizon(session.today, asked.until) if asked.until else HORIZON_WEEKS

    def forecast(supposed: Supposed) -> RunOut:
        rate = slip_rate if supposed.slip_rate is None else supposed.slip_rate
        return session.runout(series=series, slip_rate=rate, horizon_weeks=weeks, book=supposed.book)

    def anew(supposed: Supposed, standing: Plan) -> RunOut | None:
        if not (standing.offer or standing.breaks_rules):
            return None
        best = session.plan(
            unsure=standing.unsure, horizon_weeks=weeks, explained=False, time_limit=time_limit, book=supposed.book
        )
        return None if best.clashes else forecast(replace(supposed, book=dated_by(supposed.book, best)))

    def solved(supposed: Supposed) -> Supposed:
        return _solved(session, supposed, slip_rate, time_limit, weeks)

    supposed = solved(asked)
    together = forecast(supposed)
    known = {alone.asked: alone for alone in before.each} if before and weeks == before.horizon_weeks else {}
    each = []
    for what_if, text in zip(asked.what_ifs, texts, strict=True):
        if len(texts) == 1:
            each.append(Alone(what_if, supposed.what_ifs[0], together))
        elif what_if in known:
            each.append(known[what_if])
        else:
            by_itself = solved(suppose(session.book, series, [text]))
            each.append(Alone(what_if, by_itself.what_ifs[0], forecast(by_itself)))
    standing = session.standing(horizon_weeks=weeks, time_limit=time_limit, book=supposed.book)
    taking_over = _taking_over(session, supposed, slip_rate, time_limit)
    return Outlook(supposed, tuple(each), together, standing, anew(supposed, standing), weeks, taking_over)


def _taking_over(
    session: Session, supposed: Supposed, slip_rate: float | None, time_limit: float | None
) -> Handover | None:
    """When what is shopped for could take over, if that is not as it is without what is supposed."""
    from showrunner.shopping import shopping_collections

    rate = slip_rate if supposed.slip_rate is None else supposed.slip_rate
    for collection in shopping_collections(session.book)[:1]:
        now = session.handover(collection.id, slip_rate=slip_rate, time_limit=time_limit)
        then = session.handover(collection.id, slip_rate=rate, time_limit=time_limit, book=supposed.book)
        if then and (
            now is None or (now.state, now.opening, now.silences) != (then.state, then.opening, then.silences)
        ):
            return then
    return None


def _says(found: Handover) -> tuple[object, ...]:
    return found.state, found.opening, found.silences


def adopt(session: Session, supposed: Supposed) -> None:
    """Write all that was supposed into the book: one save, one undo step.

    Raises:
        BadInput: one of them can only be looked at.
        ShowrunnerError: the book has changed so that one no longer suits it, or as `Session.do`.
    """
    for what_if in supposed.what_ifs:
        if not what_if.kind.real:
            what = "it can only be looked at, for the record, the pieces, the doubts and the wants are what they are"
            raise BadInput(what, what_if.words, "leave it out to adopt the rest")
    session.do(f"adopt {supposed.words}", lambda book: carried_out(book, supposed.what_ifs).book)


def pair_text(pair: Pairing) -> str:
    """The what-if that makes two pieces one study."""
    return f"{Kind.PAIR}={pair.parts[0]}+{pair.parts[1]}"


def paired(session: Session, found: RunOut, pair: Pairing) -> RunOut:
    """The forecast if two pieces were one study, solved on a copy.

    Args:
        session: the open book.
        found: the present forecast.
        pair: the two pieces.

    Raises:
        ShowrunnerError: something stands against it, such as a promise.
    """
    book = suppose(session.book, found.series, [pair_text(pair)]).book
    return session.runout(series=found.series, book=book)


def _solved(
    session: Session, supposed: Supposed, slip_rate: float | None, time_limit: float | None, weeks: int
) -> Supposed:
    """The copy with the spacing that lasts until the day asked for, and the best dates with it."""
    open_ = next((what_if for what_if in supposed.what_ifs if not what_if.solved), None)
    if open_ is None or open_.until is None:
        return supposed
    rate = slip_rate if supposed.slip_rate is None else supposed.slip_rate
    found = session.lasting(open_.series, open_.until, slip_rate=rate, book=supposed.book)
    rest = [what_if for what_if in supposed.what_ifs if what_if is not open_]
    spaced = found_spacing(open_, supposed.book, found)
    bare = undated(carried_out(session.book, [*rest, spaced]).book, open_.series)
    habit = bare.house.habit
    plan = session.plan(unsure=habit.unsure, horizon_weeks=weeks, explained=False, time_limit=time_limit, book=bare)
    dated = replace(spaced, dates=placements(plan))
    return carried_out(session.book, [dated if what_if is open_ else what_if for what_if in supposed.what_ifs])
