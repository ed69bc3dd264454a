"""What the forecast would have said at each past month, and how often it held, by the owner's own record.

The end itself has not come yet. So at each month it is asked when the study would come that was then as many studies
ahead as the end is now; the day on which it came is on record.

What was known then is told as far as the book goes: the record up to that month, and from it the slip rate. What the
book does not tell is assumed: that the studies that came were those to come, that their windows, and the days without
publication, were known, and that the hours were there. Nor does it tell when a date was decided on, so there are two
looks: by the dates that the record says each study was planned for, as if they had stood then already; and by the
spacing of then, the middle of the gaps planned last, as if it had stayed. The first asks whether slips were foreseen,
the second also whether the owner kept to her spacing.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from enum import StrEnum
from itertools import pairwise

from showrunner.domain.book import Book
from showrunner.domain.episode import Episode
from showrunner.domain.house import DAY_MINUTES, DEFAULT_HABIT
from showrunner.domain.piece import Known, Shown
from showrunner.domain.publication import Publication
from showrunner.domain.record import record
from showrunner.domain.slot import SlotRef
from showrunner.planning.plan import HORIZON_WEEKS
from showrunner.planning.results import RunOut
from showrunner.planning.runout import QUANTILES, run_out
from showrunner.planning.scores import crps, quantile_score, winkler

LEAST_SHOWN = 3
"""Studies that must be on record at a month, for the gaps between them give the spacing."""

LAST_GAPS = 6
"""Gaps that the spacing rests on, the last ones."""


class Basis(StrEnum):
    """What the dates of a look rest on."""

    DATES = "dates"
    """The days each study was planned for, by the record."""
    SPACING = "spacing"
    """The spacing of then."""


@record
class Look:
    """What would have been said at a past month, and what came."""

    day: date
    """First day of the month."""
    quantiles: tuple[date | None, date | None, date | None]
    """10%, 50% and 90% day of the study that many ahead; None if beyond the days looked at."""
    came: date
    """The day on which it came."""
    crps: float
    """Continuous ranked probability score, days."""

    @property
    def held(self) -> bool:
        """Whether it came from the 10% to the 90% day."""
        low, _, high = self.quantiles
        return low is not None and low <= self.came and (high is None or self.came <= high)


@record
class Backtest:
    """The forecast held against the record."""

    series: str
    """Id of the series."""
    basis: Basis
    """What the dates rest on."""
    ahead: int
    """How many studies ahead each look was."""
    looks: tuple[Look, ...]
    """One for each past month from which so many studies have come since, oldest first."""

    @property
    def held(self) -> int:
        """Months in which the 10 to 90% range held."""
        return sum(look.held for look in self.looks)

    @property
    def crps(self) -> float:
        """Mean continuous ranked probability score, days."""
        return _mean([look.crps for look in self.looks])

    @property
    def winkler(self) -> float:
        """Mean Winkler score of the 10 to 90% range, days; months whose 90% day is not known are left out."""
        outside = QUANTILES[0] + 1 - QUANTILES[2]
        found = []
        for look in self.looks:
            low, _, high = look.quantiles
            if low and high:
                found.append(winkler(outside, low.toordinal(), high.toordinal(), look.came.toordinal()))
        return _mean(found)

    @property
    def quantile_scores(self) -> tuple[float, ...]:
        """Mean score of the 10%, 50% and 90% day, days; each without the months in which it is not known."""
        return tuple(
            _mean(
                [
                    quantile_score(level, day.toordinal(), look.came.toordinal())
                    for look in self.looks
                    if (day := look.quantiles[at])
                ]
            )
            for at, level in enumerate(QUANTILES)
        )


def backtest(
    book: Book,
    today: date,
    series: str,
    basis: Basis,
    ahead: int,
    *,
    time_limit: float | None = None,
    ticker: Callable[[], float] | None = None,
) -> Backtest:
    """Hold the forecast against the record.

    Args:
        book: the book.
        today: the present day.
        series: id of the series.
        basis: what the dates rest on.
        ahead: how many studies ahead to look, at least 1: as many as are left now.
        time_limit: seconds for each plan; None for no limit.
        ticker: a clock in seconds for the limit.

    Raises:
        UnknownThing: there is no such series.
    """
    book.series_of(series)
    shown = _shown(book, series, today)
    looks = []
    for day in _months(shown, today):
        before = [line for came, line, _ in shown if came < day]
        then = shown[len(before) : len(before) + ahead]
        if len(before) < LEAST_SHOWN or len(then) < ahead:
            continue
        known = as_known(book, day, before, [(line, study) for _, line, study in then], basis)
        weeks = max(HORIZON_WEEKS, (ahead + 1) * known.series_of(series).max_weeks)
        found = run_out(known, day, series=series, horizon_weeks=weeks, time_limit=time_limit, ticker=ticker)
        came, _, _ = then[-1]
        looks.append(Look(day, found.quantiles, came, _crps(found, came)))
    return Backtest(series, basis, ahead, tuple(looks))


def _shown(book: Book, series: str, today: date) -> list[tuple[date, Publication, Episode]]:
    """The studies of a series that came, each with the day, in their order."""
    found = []
    for line in book.publications:
        study = book.find("episodes", line.episode) if line.episode else None
        came = came_on(line)
        if line.series == series and came and came <= today and isinstance(study, Episode):
            found.append((came, line, study))
    return sorted(found, key=lambda one: (one[0], one[2].id))


def came_on(line: Publication) -> date | None:
    """The day a line came out: if it is only known roughly, the day it was planned for if that may be, else the last.

    So a line counts as late here if and only if it does for the slip rate.
    """
    if line.actual is None or line.day is None:
        return None
    earliest = line.actual.earliest or date.min
    return line.planned if line.planned and earliest <= line.planned <= line.day else line.day


def _months(shown: Sequence[tuple[date, Publication, Episode]], today: date) -> list[date]:
    """The first day of each month after the first study, until today."""
    if not shown:
        return []
    first, _, _ = shown[0]
    numbers = range(12 * first.year + first.month, 12 * today.year + today.month)
    return [date(number // 12, number % 12 + 1, 1) for number in numbers]


def as_known(
    book: Book, day: date, before: Sequence[Publication], then: Sequence[tuple[Publication, Episode]], basis: Basis
) -> Book:
    """The book as it stood on a day, as far as it tells, with just those studies to come.

    Args:
        book: the book of today.
        day: the day.
        before: the studies of the series on record before it, in their order.
        then: the studies that were to come, with their lines of the record.
        basis: what their dates rest on.
    """
    to_come = {study.id: _to_come(study, line, day, basis) for line, study in then}
    pieces = {piece for _, study in then for piece in study.pieces}
    lines = tuple(line for line in book.publications if (on := came_on(line) or line.planned) and on < day)
    told = {line.episode for line in lines}
    gaps = _gaps(before)[-LAST_GAPS:]
    spacing = replace(
        book.series_of(before[0].series),
        min_weeks=min(gaps),
        target_weeks=sorted(gaps)[len(gaps) // 2],
        max_weeks=max(gaps),
    )
    return replace(
        book.put("series", spacing),
        pieces=tuple(
            replace(piece, shown=Shown(Known.NO if piece.id in pieces else Known.YES)) for piece in book.pieces
        ),
        episodes=tuple(
            to_come.get(episode.id, episode) for episode in book.episodes if episode.id in to_come or episode.id in told
        ),
        publications=lines,
        pins=(),
        house=replace(book.house, work_minutes=(DAY_MINUTES,) * 7, extra_work=(), habit=DEFAULT_HABIT),
    )


def _to_come(study: Episode, line: Publication, day: date, basis: Basis) -> Episode:
    """A study as it stood before it was published."""
    ahead = basis is Basis.DATES and line.planned is not None and line.planned >= day
    slot = SlotRef(line.planned, line.rule) if ahead and line.planned else None
    return replace(study, published=False, finished=False, slot=slot, done=(), worked=())


def _gaps(before: Sequence[Publication]) -> list[int]:
    """Weeks between the days that studies were planned for; of one whose plan is not known, the day it came."""
    days = sorted(line.planned or came_on(line) or date.min for line in before)
    return [max(1, round((later - earlier).days / 7)) for earlier, later in pairwise(days)]


def _crps(found: RunOut, came: date) -> float:
    """The score of the whole distribution; what lies beyond the days looked at counts as the last of them."""
    values = [(float(day.toordinal()), chance) for day, chance in found.end]
    if found.beyond > 0:
        values.append((float(found.horizon_end.toordinal()), found.beyond))
    return crps(values, float(came.toordinal()))


def _mean(values: Sequence[float]) -> float:
    return sum(values) / len(values) if values else 0.0
