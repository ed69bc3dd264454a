"""The proof of a plan: for every study the hours, the rule that binds, and the price of its neighbours' slots."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from fractions import Fraction

from showrunner.domain import words
from showrunner.domain.titles import quoted
from showrunner.domain.slot import Slot
from showrunner.domain.windows import window_words
from showrunner.planning.frame import Candidate, Frame, last_published
from showrunner.planning.hours import is_dark, ready_day
from showrunner.planning.problem import DAYS2_PER_POINT, Problem
from showrunner.planning.results import Placed, Price, Unplaced
from showrunner.planning.search import Solution, solve

PRICING_SECONDS = 1.5
"""Time for prices; studies that come too late in line are not priced."""

PRICED_WITHOUT_TICKER = 12
"""Most studies that are priced if there is no clock to limit it."""


class Explainer:
    """Explains one solved placing problem.

    Args:
        framed: the problem and what its numbers stand for.
        solution: its solution.
        ticker: a clock in seconds that limits the pricing.
    """

    def __init__(self, framed: Frame, solution: Solution, ticker: Callable[[], float] | None) -> None:
        self.framed = framed
        self.problem = framed.problem
        self.solution = solution
        self.places = solution.places
        self.studies = {study.key: study for study in framed.candidates}
        self.needs = {need.key: need for need in self.problem.needs}
        self.index = {slot.ref: at for at, slot in enumerate(self.problem.slots)}
        self.ticker = ticker
        self._reasons: dict[tuple[object, ...], tuple[str, str, str]] = {}
        self.until = ticker() + PRICING_SECONDS if ticker else None

    def placed(self, *, priced: bool = True) -> tuple[Placed, ...]:
        """Every placed study, by slot; unpriced ones come without the reason that a price gives."""
        before: dict[str, Slot] = {}
        found = []
        for key, at in sorted(self.places.items(), key=lambda item: item[1]):
            study, slot = self.studies[key], self.problem.slots[at]
            last = before.get(study.series.id)
            last_day = last.day if last else last_published(self.framed.book, study.series.id)
            before[study.series.id] = slot
            earlier, why = self._earlier(study, at) if priced else (None, "")
            needed, available = self.hours(self.places, at)
            pinned = study.pinned == slot.ref
            found.append(
                Placed(
                    id=key,
                    title=study.title,
                    series=study.series.id,
                    pieces=study.pieces,
                    slot=slot,
                    gap_days=(slot.day - last_day).days if last_day else None,
                    minutes_needed=needed,
                    minutes_available=available,
                    reason=f"It is promised for this date. {why}" if pinned else why,
                    moved_from=study.planned if study.planned not in (None, slot.ref) else None,
                    pinned=pinned,
                    implied=study.implied,
                    earlier=earlier,
                    later=self._later(study, at) if priced else None,
                )
            )
        return tuple(found)

    def hours(self, places: dict[str, int], at: int) -> tuple[int, int]:
        """Minutes needed and available by the day a study in slot `at` must be ready."""
        day = self.problem.ready[at]
        if day < 0:
            return 0, 0
        available = self.framed.time[day]
        needed = available - self.problem.spare[day]
        for key, slot in places.items():
            if 0 <= self.problem.ready[slot] <= day:
                needed += self.needs[key].minutes - self.problem.standing[slot]
        return needed, available

    def _earlier(self, study: Candidate, at: int) -> tuple[Price | None, str]:
        """Price of the series' slot before `at`, and the reason why the study is not there."""
        here = self.problem.slots[at]
        before = [s for s in self.framed.every_slot if s.rule in study.series.rules and s.start < here.start]
        if not before:
            return None, "It is the first slot there is."
        slot = before[-1]
        price = self._price(study, slot)
        if price is None:
            return None, f"One slot earlier, {words.day(slot.day)}, was not priced."
        when = f"On {words.day(slot.day)}, one slot earlier,"
        return price, f"{when} {price.text}."

    def _later(self, study: Candidate, at: int) -> Price | None:
        here = self.problem.slots[at]
        slots = (s for s in self.framed.every_slot if s.rule in study.series.rules and s.start > here.start)
        slot = next(slots, None)
        return self._price(study, slot) if slot else None

    def _price(self, study: Candidate, slot: Slot) -> Price | None:
        """The price of having the study in `slot` instead; None if time for pricing is up."""
        barred = self.barred(study, slot)
        if barred:
            return Price(slot.ref, False, Fraction(0), barred)
        there = self.index[slot.ref]
        short = self._alone_short(study, there)
        if short:
            return Price(slot.ref, False, Fraction(0), f"the work would be {words.hours(short)} short")
        if self._time_is_up():
            return None
        other = solve(_held_to(self.problem, study.key, there), time_limit=self._time_left(), ticker=self.ticker)
        if not other.proven:
            return None
        here = self.solution.score
        if other.score.unplaced > here.unplaced or study.key not in other.places:
            text = self._lost(study, there, other)
            return Price(slot.ref, False, Fraction(0), text)
        points = Fraction(other.score.points - here.points, DAYS2_PER_POINT)
        return Price(slot.ref, True, points, self._cost_words(points, other))

    def _cost_words(self, points: Fraction, other: Solution) -> str:
        here, there = self.solution.score, other.score
        if there.moved != here.moved:
            return f"{words.count(there.moved - here.moved, 'more planned study')} would move"
        if there.moved_days != here.moved_days:
            return f"planned studies would move {words.count(there.moved_days - here.moved_days, 'day')} further"
        if points > 0:
            return f"the spacing would cost {words.count(points, 'point')} more"
        if points < 0:
            return f"the spacing would cost {words.count(-points, 'point')} less"
        if there.days > here.days:
            later = words.count(there.days - here.days, "day")
            return f"the spacing would cost the same, but dates would be {later} later in all"
        return "the spacing and the dates would cost the same; book order decides"

    def _lost(self, study: Candidate, there: int, other: Solution) -> str:
        """Why fewer studies can be placed with the study in slot `there`."""
        moved = {**self.places, study.key: there}
        short = max((self._short_by(moved, slot) for slot in {*moved.values()}), default=0)
        if short > 0:
            return f"the work would be {words.hours(short)} short"
        lost = [quoted(self.studies[key].title) for key in self.places if key not in other.places]
        return f"{words.listing(lost)} could not be placed" if lost else "it could not be placed"

    def _short_by(self, places: dict[str, int], at: int) -> int:
        needed, available = self.hours(places, at)
        return needed - available

    def _alone_short(self, study: Candidate, at: int) -> int:
        """Minutes missing if the study stood in slot `at` and every study now before it stayed; 0 if it fits alone."""
        alone = {study.key: at}
        if self.problem.ready[at] < 0:
            return study.minutes
        if self._worst(alone) <= 0:
            return 0
        return self._worst({key: slot for key, slot in self.places.items() if slot < at} | alone)

    def _worst(self, places: dict[str, int]) -> int:
        """Most minutes missing on any day from the last of `places` on; below 0 if there is time to spare."""
        first = max(self.problem.ready[slot] for slot in places.values())
        net = sum(
            self.needs[key].minutes - self.problem.standing[slot]
            for key, slot in places.items()
            if self.problem.ready[slot] >= 0
        )
        return net - min(self.problem.spare[max(first, 0) :])

    def barred(self, study: Candidate, slot: Slot) -> str:
        """The hard rule that keeps the study out of `slot` whatever else is planned, in words; empty if none does."""
        book = self.framed.book
        if is_dark(book, slot.day):
            return "nothing is published"
        if slot.ref in self.framed.held:
            return f"the slot is held by {quoted(self.framed.held[slot.ref])}"
        need = self.needs[study.key]
        at = self.index.get(slot.ref)
        if study.pinned not in (None, slot.ref):
            return "it would break the promise of its date"
        if at is None or need.cost[at] is None:
            hard = [window_words(window) for window in study.windows if window.hard]
            return f"it would lie outside {' and '.join(hard)}, where it must fall"
        if ready_day(book, self.framed.today, slot) < 0 and study.minutes:
            missing = words.hours(study.minutes)
            return f"it would have to be ready already, and {missing} of work are left"
        last = last_published(book, study.series.id)
        if last and (slot.day - last).days < 7 * study.series.min_weeks:
            gap = words.weeks((slot.day - last).days)
            return f"it would come {gap} after the last published one, and {study.series.min_weeks} is the least"
        return ""

    def unplaced(self) -> tuple[Unplaced, ...]:
        """Every study without a slot, in book order, with the rule to relax and by how much."""
        return tuple(self._unplaced(study) for study in self.framed.candidates if study.key not in self.places)

    def _unplaced(self, study: Candidate) -> Unplaced:
        need = self.needs[study.key]
        alike = (need.series, need.minutes, need.cost, need.after, study.windows)
        if alike not in self._reasons:
            self._reasons[alike] = self._why_not(study)
        reason, short, way_out = self._reasons[alike]
        return Unplaced(study.key, study.title, study.series.id, study.pieces, reason, short, way_out)

    def _why_not(self, study: Candidate) -> tuple[str, str, str]:
        need, problem, series = self.needs[study.key], self.problem, study.series
        waits = [key for key in need.after if key not in self.places]
        if waits:
            first = quoted(self.studies[waits[0]].title)
            return f"it is promised after {first}, which has no slot", "1 study", f"place {first} or unpin the order"
        open_slots = [at for at, cost in enumerate(need.cost) if cost is not None]
        if not open_slots:
            return self._no_slot(study)
        taken = {slot: key for key, slot in self.places.items()}
        mine = sorted(problem.days[slot] for key, slot in self.places.items() if self.needs[key].series == need.series)
        last = problem.spacings[need.series].last_day
        mine += [last] if last is not None else []
        least = problem.spacings[need.series].min_days
        closest: int | None = None
        hours: list[tuple[int, int]] = []
        for at in open_slots:
            near = min((abs(problem.days[at] - day) for day in mine), default=least)
            if at in taken:
                continue
            if near < least:
                closest = max(near, closest or 0)
                continue
            lacking = study.minutes if problem.ready[at] < 0 else self._lacking({**self.places, study.key: at}, at)
            hours.append((lacking, at))
        if hours:
            lacking, at = min(hours)
            if lacking > 0:
                day = words.day(self.framed.today + timedelta(max(problem.ready[at], 0)))
                return (
                    f"the hours cannot hold it; it comes nearest on {words.day(problem.slots[at].day)}",
                    words.hours(lacking),
                    f"find {words.hours(lacking)} of work by {day}, or bank standing content",
                )
        if closest is not None:
            short = words.weeks(least - closest)
            way = f"lower the least gap of {series.name} by {short}, or look further ahead"
            return f"no free slot keeps {series.min_weeks} weeks from the other studies", short, way
        holders = words.listing(sorted({quoted(self.studies[taken[at]].title) for at in open_slots if at in taken}))
        return f"every slot it may have is taken by {holders}", "1 slot", "widen its window or look further ahead"

    def _lacking(self, places: dict[str, int], at: int) -> int:
        """Most minutes missing on any day from slot `at` on, with these places."""
        day = self.problem.ready[at]
        worst = 0
        for slot in {at, *(s for s in places.values() if self.problem.ready[s] >= day)}:
            worst = max(worst, self._short_by(places, slot))
        return worst

    def _no_slot(self, study: Candidate) -> tuple[str, str, str]:
        weeks = words.count(self.framed.horizon_weeks, "week")
        hard = [window_words(window) for window in study.windows if window.hard]
        if hard:
            reason = f"no slot of the next {weeks} lies inside {' or '.join(hard)}, where it must fall"
            return reason, "1 slot", "widen the window, make it soft, or look further ahead"
        reason = f"its series has no free slot in the next {weeks}"
        return reason, "1 slot", "allow the series another slot, or look further ahead"

    def _time_is_up(self) -> bool:
        if self.until is None or self.ticker is None:
            return len(self.places) > PRICED_WITHOUT_TICKER
        return self.ticker() > self.until

    def _time_left(self) -> float | None:
        return self.until - self.ticker() if self.until is not None and self.ticker is not None else None


def _held_to(problem: Problem, key: str, slot: int) -> Problem:
    """The problem with one study held to one slot."""

    def held(cost: tuple[int | None, ...]) -> tuple[int | None, ...]:
        return tuple(value if at == slot else None for at, value in enumerate(cost))

    needs = tuple(replace(n, cost=held(n.cost)) if n.key == key else n for n in problem.needs)
    return replace(problem, needs=needs)
