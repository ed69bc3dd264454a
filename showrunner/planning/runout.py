"""The run-out: how many pieces and studies are left, and until when, as ranges and exact distributions."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, timedelta
from fractions import Fraction

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.collection import CollectionKind
from showrunner.domain.episode import Series
from showrunner.domain.piece import Known
from showrunner.domain.promises import clashes
from showrunner.domain.rules import Board
from showrunner.errors import BadInput
from showrunner.planning.bank import bank_cover
from showrunner.planning.outcomes import Doubts, Left
from showrunner.planning.plan import HORIZON_WEEKS
from showrunner.planning.results import Doubt, FanStep, LateRisk, PieceStep, RunOut, Settled, SlipRate, Warning
from showrunner.planning.sliprate import habit
from showrunner.planning.sliprate import slip_rate as rate_of

QUANTILES = (0.1, 0.5, 0.9)
"""The 10%, 50% and 90% end."""

ROUNDING = 1e-12
"""Room for rounding where probabilities are added up."""

Ends = dict[date, float]
"""Probability by day of the last study; what is missing to 1 lies beyond the days looked at."""


def run_out(
    book: Book,
    today: date,
    *,
    series: str | None = None,
    slip_rate: float | None = None,
    horizon_weeks: int = HORIZON_WEEKS,
    time_limit: float | None = None,
    ticker: Callable[[], float] | None = None,
) -> RunOut:
    """When the unshown pieces of a series' collection are used up.

    Promises that contradict each other are told, and the plans keep as many as can be kept. Every outcome of the
    doubts has its own best plan; in each, every study misses its slot by the series' habit and tries the next free
    one. The distributions are computed, not sampled.

    Args:
        book: the book.
        today: the present day.
        series: id of the series; None for the first one on a keeping collection.
        slip_rate: chance that a try misses its slot; None for the record's.
        horizon_weeks: weeks the plans look ahead.
        time_limit: seconds for each plan; None for no limit.
        ticker: a clock in seconds for the limit.

    Raises:
        UnknownThing: there is no such series.
        BadInput: there is no series at all, or the rate is no probability.
    """
    chosen = _series(book, series)
    contradictions = [Warning("contradiction", clash.sentence()) for clash in clashes(book)]
    by_series = {s.id: rate_of(book.publications, s.id) for s in book.series}
    rate = by_series[chosen.id] if slip_rate is None else rate_of(book.publications, chosen.id, slip_rate)
    doubts = Doubts(book, today, chosen, habit(rate), horizon_weeks, time_limit, ticker)
    chances = doubts.chances()
    outcomes = doubts.outcomes(chances)
    ends = _ends(doubts, outcomes)
    horizon_end = doubts.slots[-1].day if doubts.slots else today
    found = _quantiles(ends)
    pieces = [p for p in book.pieces if p.collection == chosen.collection and p.is_here]
    least = sum(p.shown.known is Known.NO for p in pieces)
    left = (least, least + sum(p.shown.known is Known.UNSURE for p in pieces))
    studies_left = _studies_left(outcomes)
    settled = _doubts(doubts, chances, ends, horizon_end, left)
    fan = _fan(doubts, outcomes, today, found)
    warns, warnings = _warnings(book, today, doubts, outcomes, found, studies_left, rate)
    return RunOut(
        series=chosen.id,
        pieces_left=left,
        studies_left=studies_left,
        end=tuple(sorted(ends.items())),
        beyond=max(0.0, 1 - sum(ends.values())),
        horizon_end=horizon_end,
        quantiles=found,
        dates=doubts.dates,
        slip_rate=rate,
        slip_rates_by_series=tuple(by_series.items()),
        late_risks=_late_risks(doubts, outcomes),
        warns=warns,
        warnings=(*contradictions, *warnings),
        doubts=settled,
        bank=bank_cover(book, today, horizon_weeks),
        past=_past(book, chosen, left),
        now=fan[0],
        fan=fan[1:],
        statement=_statement(today, left, studies_left, found),
        stale=_stale(doubts, outcomes),
    )


def even_odds_end(
    book: Book,
    today: date,
    series: Series,
    rate: SlipRate,
    *,
    horizon_weeks: int,
    time_limit: float | None = None,
    ticker: Callable[[], float] | None = None,
) -> date | None:
    """The 50% end alone, as `run_out` would tell it; None if it lies beyond the days looked at."""
    doubts = Doubts(book, today, series, habit(rate), horizon_weeks, time_limit, ticker)
    return _quantiles(_ends(doubts, doubts.outcomes(doubts.chances())))[1]


def _series(book: Book, asked: str | None) -> Series:
    if asked is not None:
        return book.series_of(asked)
    if not book.series:
        raise BadInput("the book has no series yet", way_out="make one on a collection first")
    kinds = {collection.id: collection.kind for collection in book.collections}
    keeping = (s for s in book.series if kinds.get(s.collection) is CollectionKind.KEEPING)
    return next(keeping, book.series[0])


def _ends(doubts: Doubts, outcomes: Mapping[Left, float]) -> Ends:
    """The distribution of the day of the last study."""
    ends: Ends = {}
    for left, chance in outcomes.items():
        airing = doubts.airing(left)
        if airing.unplaced:
            continue
        over = Board(doubts.book).last_published(doubts.series.id) or doubts.today
        last = airing.airs[-1] if airing.airs else {over: 1.0}
        for day, share in last.items():
            ends[day] = ends.get(day, 0.0) + chance * share
    return ends


def _quantiles(ends: Ends) -> tuple[date | None, date | None, date | None]:
    found: list[date | None] = []
    for wanted in QUANTILES:
        total, day = 0.0, None
        for at in sorted(ends):
            total += ends[at]
            if total >= wanted - ROUNDING:
                day = at
                break
        found.append(day)
    return found[0], found[1], found[2]


def _width(ends: Ends, horizon_end: date) -> int:
    """Days from the 10% to the 90% end; an end beyond the days looked at counts as the last of them."""
    low, _, high = _quantiles(ends)
    return ((high or horizon_end) - (low or horizon_end)).days


def _studies_left(outcomes: Mapping[Left, float]) -> tuple[int, int]:
    counts = [len(outcome) for outcome in outcomes]
    return min(counts), max(counts)


def _doubts(
    doubts: Doubts, chances: Mapping[str, Fraction], ends: Ends, horizon_end: date, left: tuple[int, int]
) -> tuple[Doubt, ...]:
    """The unsure pieces, those first whose settling is expected to narrow the range of the end most.

    Of those that are worth the same, the one with odds nearest to even, then book order.
    """
    now = _width(ends, horizon_end)
    found = []
    alike: dict[Fraction, tuple[float, Settled, Settled]] = {}
    lone = {study.pieces[0] for study in doubts.lone}
    for piece in doubts.unsure:
        chance = chances[piece.id]
        known = alike.get(chance) if piece.id in lone else None
        if known is None:
            sides = [_settled(doubts, {**chances, piece.id: Fraction(side)}, left, side) for side in (0, 1)]
            after = sum(
                float(share) * _width(side_ends, horizon_end)
                for share, (side_ends, _) in zip((1 - chance, chance), sides, strict=True)
            )
            known = (now - after, sides[0][1], sides[1][1])
            if piece.id in lone:  # lone pieces with the same odds lead to the same outcomes
                alike[chance] = known
        narrows, if_shown, if_unshown = known
        text = f"Settling {piece.name} is expected to narrow the range of the end by {words.weeks(round(narrows))}."
        if narrows < 0.5:
            text = f"Settling {piece.name} is not expected to narrow the range of the end."
        found.append(Doubt(piece.id, piece.name, chance, narrows, 1, text, if_shown, if_unshown))
    even = Fraction(1, 2)
    return tuple(sorted(found, key=lambda doubt: (-round(doubt.narrows_days, 6), abs(doubt.chance_unshown - even))))


def _settled(
    doubts: Doubts, chances: Mapping[str, Fraction], left: tuple[int, int], unshown: int
) -> tuple[Ends, Settled]:
    """The end and what is left once one doubt is settled: `unshown` is 1 if it is unshown, 0 if it was shown."""
    outcomes = doubts.outcomes(chances)
    ends = _ends(doubts, outcomes)
    pieces = (left[0] + unshown, left[1] - 1 + unshown)
    return ends, Settled(pieces, _studies_left(outcomes), _quantiles(ends))


def _late_risks(doubts: Doubts, outcomes: Mapping[Left, float]) -> tuple[LateRisk, ...]:
    found = []
    for study in (*doubts.studies, *doubts.lone):
        if not any(window.hard for window in study.windows):
            continue
        chance = 0.0
        for left, share in outcomes.items():
            airing = doubts.airing(left)
            if study.key in airing.order:
                chance += share * doubts.late_chance(study, airing)
        if chance > ROUNDING:
            found.append(LateRisk(study.key, study.title, chance))
    return tuple(found)


def _warnings(
    book: Book,
    today: date,
    doubts: Doubts,
    outcomes: Mapping[Left, float],
    found: tuple[date | None, date | None, date | None],
    studies_left: tuple[int, int],
    rate: SlipRate,
) -> tuple[bool, tuple[Warning, ...]]:
    """Whether the run-out warning speaks, and everything else worth knowing."""
    lead, middle = book.house.warning_lead_weeks, found[1]
    warnings = []
    warns = middle is not None and (middle - today).days <= 7 * lead
    if warns and middle is not None:
        if studies_left[1] == 0:
            text = f"{doubts.series.name} has run out: nothing is left to show."
        else:
            text = (
                f"{doubts.series.name} runs out by {words.day(middle)} at even odds: "
                f"{words.weeks((middle - today).days)} from now, and the warning lead is {words.weeks(7 * lead)}."
            )
        warnings.append(Warning("run-out", text))
    airings = [(share, doubts.airing(left)) for left, share in outcomes.items()]
    out = sum(share for share, airing in airings if airing.unplaced)
    if out:
        text = f"With {words.percent(out)} chance not every study finds a slot within {doubts.horizon_weeks} weeks."
        warnings.append(Warning("end-beyond-horizon", text))
    if not all(airing.proven for _, airing in airings):
        text = "Time ran out before every plan was proven best; the forecast rests on the best found."
        warnings.append(Warning("time-limit", text))
    if not rate.recorded and not rate.given:
        text = "Nothing is recorded yet, so the slip rate is a guess: even odds until publications are recorded."
        warnings.append(Warning("no-record", text))
    return warns, tuple(warnings)


def _past(book: Book, series: Series, left: tuple[int, int]) -> tuple[PieceStep, ...]:
    """Pieces left after each published study, from today's counts backwards."""
    shown = []
    for line in book.publications:
        episode = book.find("episodes", line.episode) if line.episode else None
        if line.day and episode and episode.series == series.id:
            shown.append((line.day, len(episode.pieces)))
    low, high = left
    steps = []
    for day, pieces in sorted(shown, reverse=True):
        steps.append(PieceStep(day, low, high))
        low, high = low + pieces, high + pieces
    return tuple(reversed(steps))


def _fan(
    doubts: Doubts,
    outcomes: Mapping[Left, float],
    today: date,
    found: tuple[date | None, date | None, date | None],
) -> tuple[FanStep, ...]:
    """Quantiles of the pieces left now, then after every slot day of the series until the 90% end."""
    until = found[2] or today + timedelta(weeks=doubts.horizon_weeks)
    days = sorted({slot.day for slot in doubts.slots if slot.rule in doubts.series.rules and slot.day <= until})
    chances: dict[date, dict[int, float]] = {day: {} for day in days}
    now: dict[int, float] = {}
    unseen = _never_planned(doubts)
    for outcome, share in outcomes.items():
        airing, pieces = doubts.airing(outcome), dict(outcome)
        rest = unseen + sum(pieces[key] for key in airing.unplaced)
        after = [rest]
        for key in reversed(airing.order):
            after.append(after[-1] + pieces[key])
        after.reverse()
        now[after[0]] = now.get(after[0], 0.0) + share
        aired = [0.0] * len(airing.order)
        for day in days:
            aired = [total + airs.get(day, 0.0) for total, airs in zip(aired, airing.airs, strict=True)]
            steps = [1.0, *aired, 0.0]
            for number in range(len(aired) + 1):
                here = chances[day]
                here[after[number]] = here.get(after[number], 0.0) + share * (steps[number] - steps[number + 1])
    return tuple(
        FanStep(day, *(_count_quantile(counts, q) for q in QUANTILES))
        for day, counts in ((today, now), *((day, chances[day]) for day in days))
    )


def _never_planned(doubts: Doubts) -> int:
    """How many surely unshown pieces of the collection stand in another series' study."""
    planned = {piece for study in (*doubts.studies, *doubts.lone) for piece in study.pieces}
    return sum(
        piece.shown.known is Known.NO and piece.id not in planned
        for piece in doubts.book.pieces
        if piece.collection == doubts.series.collection and piece.is_here
    )


def _count_quantile(chances: Mapping[int, float], wanted: float) -> int:
    total = 0.0
    for count in sorted(chances):
        total += chances[count]
        if total >= wanted - ROUNDING:
            return count
    return max(chances, default=0)


def _statement(
    today: date,
    left: tuple[int, int],
    studies: tuple[int, int],
    found: tuple[date | None, date | None, date | None],
) -> str:
    """What may be said to viewers: ranges, by months, and as of a month."""
    if left[1] == 0 and studies[1] == 0:
        return f"As of {today:%B %Y}, every piece has been shown."
    be = "is" if left[1] == 1 else "are"
    begin = f"As of {today:%B %Y}, there {be} {_between(left, 'piece')} left to show"
    if studies[1] == 0:
        return f"{begin}, none of them in this series."
    low, _, high = found
    if low is None or high is None:
        end = "it is too early to say when the last one comes"
    elif (low.year, low.month) == (high.year, high.month):
        end = f"the last one should come around {high:%B %Y}"
    elif low < today:  # it may have come already
        end = f"the last one should come by {high:%B %Y}"
    else:
        end = f"the last one should come between {low:%B %Y} and {high:%B %Y}"
    return f"{begin}, in {_between(studies, 'film')}; {end}."


LONGEST_FRESH = 92
"""Days after which the statement is stale though no study was to air: spacing, doubts and hours change."""


def _stale(doubts: Doubts, outcomes: Mapping[Left, float]) -> date:
    """The day on which the next study may air, for then fewer are left; at the latest some three months from now."""
    firsts = [min(airs[0]) for left in outcomes if (airs := doubts.airing(left).airs) and airs[0]]
    latest = doubts.today + timedelta(LONGEST_FRESH)
    return min([*firsts, latest])


def _between(span: tuple[int, int], noun: str) -> str:
    low, high = span
    if low == 0 < high:
        return f"at most {words.count(high, noun)}"
    return words.count(low, noun) if low == high else f"between {low} and {words.count(high, noun)}"
