"""The proof of a plan: for every study the hours, the rule that binds, and the price of its neighbours' slots."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime
from fractions import Fraction

from showrunner.domain import words
from showrunner.domain.rules import Breach, Rule, clause, missing_hours, windows_words
from showrunner.domain.slot import Slot
from showrunner.domain.titles import quoted
from showrunner.planning.advice import Advice, Advisor
from showrunner.planning.candidates import Candidate
from showrunner.planning.changes import LookFurther, LowerGap, MoreHours, WidenWindow
from showrunner.planning.frame import Frame, frame, held
from showrunner.planning.hours import ready_day
from showrunner.planning.problem import DAYS2_PER_POINT, Problem
from showrunner.planning.results import Placed, Price, Unplaced
from showrunner.planning.search import Solution, solve

PRICING_SECONDS = 1.5
"""Time for prices; studies that come too late in line are not priced."""

UNPRICED = "Promises exclude each other, so other dates have no price."
"""Reason of a date where another choice of the promises that are kept might be better beside another date."""

NOT_ASKED = "What other dates would cost was not asked for."
"""Reason of a date in a plan that was wanted without prices."""

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
        self.until = ticker() + PRICING_SECONDS if ticker else None
        self._roomier: dict[int, Problem] = {0: self.problem}

    def placed(self, *, unpriced: str = "") -> tuple[Placed, ...]:
        """Every placed study, by slot.

        Args:
            unpriced: why no date is priced, which is then the reason of each; empty to price them.
        """
        before: dict[str, Slot] = {}
        found = []
        for key, at in sorted(self.places.items(), key=lambda item: item[1]):
            study, slot = self.studies[key], self.problem.slots[at]
            last = before.get(study.series.id)
            last_day = last.day if last else self.framed.board.last_published(study.series.id)
            before[study.series.id] = slot
            stands = self.framed.around and self.needs[key].planned_slot == at  # priced with the dates that stand
            wanted = not unpriced and not stands
            earlier, why = self._earlier(study, at) if wanted else (None, unpriced or UNPRICED)
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
                    later=self._later(study, at) if wanted else None,
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

    # Prices

    def _earlier(self, study: Candidate, at: int) -> tuple[Price | None, str]:
        """Price of the series' slot before `at`, and the reason why the study is not there."""
        here = self.problem.slots[at]
        before = [slot for slot in self._slots_of(study) if self._turn(slot) < self._turn(here)]
        if not before:
            return None, "It is the first slot there is."
        slot = before[-1]
        price = self._price(study, slot)
        if price is None:
            return None, f"One slot earlier, {words.day(slot.day)}, was not priced."
        return price, f"On {words.day(slot.day)}, one slot earlier, {price.text}."

    def _later(self, study: Candidate, at: int) -> Price | None:
        here = self.problem.slots[at]
        after = (slot for slot in self._slots_of(study) if self._turn(slot) > self._turn(here))
        slot = next(after, None)
        return self._price(study, slot) if slot else None

    def _slots_of(self, study: Candidate) -> list[Slot]:
        """The slots of the study's series from today on, in their order."""
        mine = (slot for slot in self.framed.every_slot if slot.rule in study.series.rules)
        return sorted(mine, key=self._turn)

    def _turn(self, slot: Slot) -> tuple[date, datetime]:
        return self.framed.board.turn(slot.ref)

    def _price(self, study: Candidate, slot: Slot) -> Price | None:
        """The price of having the study in `slot` instead; None if time for pricing is up."""
        breach = self.barred(study, slot)
        if breach:
            return Price(slot.ref, False, Fraction(0), clause(self.framed.book, breach))
        there = self.index[slot.ref]
        other = self._held(study, there)
        if other is None:
            return None
        if not self._loses_nothing(study, there, other):
            short = self._hours_missing(study, there)
            if short is None:
                return None
            text = clause(self.framed.book, Breach(Rule.HOURS, (), study.key, slot.ref, amount=short)) if short else ""
            return Price(slot.ref, False, Fraction(0), text or self._lost(other), short or None)
        points = Fraction(other.score.points - self.solution.score.points, DAYS2_PER_POINT)
        return Price(slot.ref, True, points, self._cost_words(points, other))

    def _held(self, study: Candidate, there: int, more: int = 0) -> Solution | None:
        """The best plan with the study held to a slot, with more minutes found today; None without time or proof."""
        left = None
        if self._time_is_up():
            return None
        if self.until is not None and self.ticker is not None:
            left = self.until - self.ticker()
        found = solve(_promised(self._with_more(more), study.key, there), time_limit=left, ticker=self.ticker)
        return found if found.proven else None

    def _with_more(self, minutes: int) -> Problem:
        """The problem with more minutes of work found today."""
        if minutes not in self._roomier:
            now = self.framed
            again = frame(
                now.book,
                now.today,
                now.candidates,
                horizon_weeks=now.horizon_weeks,
                aim=now.aim,
                around=now.around,
                more=(0, minutes),
            )
            wanted = {need.key for need in self.problem.needs}
            needs = tuple(need for need in again.problem.needs if need.key in wanted)
            self._roomier[minutes] = replace(again.problem, needs=needs)
        return self._roomier[minutes]

    def _loses_nothing(self, study: Candidate, there: int, other: Solution) -> bool:
        """Whether a plan has the study in the slot, keeps as many promises as this one, and places as many."""
        here = self.solution.score
        own = self.needs[study.key].promised
        broken = here.broken - (own is not None and own not in (self.places[study.key], there))
        fewer = other.score.broken > broken or other.score.unplaced > here.unplaced
        return other.places.get(study.key) == there and not fewer

    def _hours_missing(self, study: Candidate, there: int) -> int | None:
        """Least minutes which, found today, let the study stand in a slot with nothing lost.

        Returns:
            0 if no hours would do it; None if there was no time to find out.
        """

        def enough(minutes: int) -> bool | None:
            other = self._held(study, there, minutes)
            return None if other is None else self._loses_nothing(study, there, other)

        most = sum(need.minutes for need in self.problem.needs)
        most += sum(work.minutes + work.short for work in self.framed.standing)
        if not (fits := enough(most)):
            return None if fits is None else 0
        low, high = 0, most
        guess = self._short_as_it_is(study, there)
        if 0 < guess < most:
            if (fits := enough(guess)) is None:
                return None
            low, high = (low, guess) if fits else (guess, high)
            if fits and enough(guess - 1) is False:
                return guess
        while high - low > 1:
            middle = (low + high) // 2
            if (fits := enough(middle)) is None:
                return None
            low, high = (low, middle) if fits else (middle, high)
        return high

    def _short_as_it_is(self, study: Candidate, there: int) -> int:
        """Minutes missing with the study in a slot and all others where they are: a first guess."""
        moved = {**self.places, study.key: there}
        return max(missing_hours(*self.hours(moved, at)) for at in moved.values())

    def _cost_words(self, points: Fraction, other: Solution) -> str:
        here, there = self.solution.score, other.score
        if there.wide != here.wide:
            return f"{words.count(there.wide - here.wide, 'more gap')} would be beyond the longest"
        if there.moved != here.moved:
            return f"{words.count(there.moved - here.moved, 'more planned study')} would move"
        if there.moved_days != here.moved_days:
            return f"planned studies would move {words.count(there.moved_days - here.moved_days, 'day')} further"
        if points > 0:
            return f"the dates would be less even by {words.number(points)}"
        if points < 0:
            return f"the dates would be more even by {words.number(-points)}"
        if there.days > here.days:
            later = words.count(there.days - here.days, "day")
            return f"the dates would be as even, but {later} later in all"
        return "the dates would be as even and as early; book order decides"

    def _lost(self, other: Solution) -> str:
        """What is lost in a plan, in words."""
        if other.score.broken > self.solution.score.broken:
            return "a promise would be broken"
        lost = [quoted(self.studies[key].title) for key in self.places if key not in other.places]
        return f"{words.listing(lost)} could not be placed" if lost else "it could not be placed"

    def barred(self, study: Candidate, slot: Slot) -> Breach | None:
        """The hard rule that keeps the study out of `slot` whatever else is planned; None if none does."""
        board = self.framed.board
        if breach := next(board.against_slot(study.terms, slot.ref), None):
            return breach
        if self.problem.slots[self.places[study.key]].ref == study.pinned:
            return next(board.against_date(study.terms, slot.ref), None)
        if ready_day(self.framed.book, self.framed.today, slot) < 0 and study.minutes:
            return Breach(Rule.TODAY, (), study.key, slot.ref, amount=study.minutes)
        return None

    def _time_is_up(self) -> bool:
        if self.until is None or self.ticker is None:
            return len(self.places) > PRICED_WITHOUT_TICKER
        return self.ticker() > self.until

    # What has no slot

    def unplaced(self, advisor: Advisor | None) -> tuple[Unplaced, ...]:
        """Every study without a slot, in book order, with what keeps it out and what was tried and would help.

        Args:
            advisor: tries what would help; None if nothing is to be tried.
        """
        told = []
        lost = [study for study in self.framed.candidates if study.key not in self.places]
        for at, study in enumerate(lost):
            told.append(self._unplaced(study, advisor.advise(study, len(lost) - at) if advisor else None))
        return tuple(told)

    def _unplaced(self, study: Candidate, advised: Advice | None) -> Unplaced:
        advice = advised or Advice((), frozenset(), tried=False)
        first = advice.ways[0].changes if advice.ways else ()
        hours = next((c.minutes for way in advice.ways for c in way.changes if isinstance(c, MoreHours)), None)
        if advice.ways:
            way_out = advice.ways[0].text.rstrip(".")
            if len(first) > 1:
                way_out = f"no single change helps; {way_out[0].lower()}{way_out[1:]}"
        elif advised is None:
            way_out = "a plan made anew says what would help"
        elif advice.tried:
            way_out = "no change that was tried helps, alone or with another"
        else:
            way_out = "there was no time to try what would help"
        return Unplaced(
            study.key,
            study.title,
            study.series.id,
            study.pieces,
            self._why_not(study, advice),
            " and ".join(self._amount(study, change) for change in first),
            way_out,
            hours,
            advice.ways,
        )

    def _amount(self, study: Candidate, change: object) -> str:
        """How much a way out takes, with its unit."""
        match change:
            case MoreHours(minutes):
                return words.hours(minutes)
            case LowerGap(_, weeks):
                return words.weeks(7 * (study.series.min_weeks - weeks))
            case LookFurther(weeks):
                return words.weeks(7 * (weeks - self.framed.horizon_weeks))
            case WidenWindow(_, at, begin, end):
                old = study.windows[at]
                return words.weeks(((old.first - begin) + (end - old.last)).days)
            case _:
                return "1 slot"

    def _why_not(self, study: Candidate, advice: Advice) -> str:
        """The rule that keeps a study out."""
        need, series = self.needs[study.key], study.series
        waits = [key for key in need.after if key not in self.places]
        if waits:
            return f"it is promised after {quoted(self.studies[waits[0]].title)}, which has no slot"
        open_slots = [at for at, cost in enumerate(need.cost) if cost is not None]
        if not open_slots:
            weeks = words.count(self.framed.horizon_weeks, "week")
            if study.terms.hard:
                return f"no slot of the next {weeks} lies inside {windows_words(study.windows)}, where it must fall"
            return f"its series has no free slot in the next {weeks}"
        if MoreHours in advice.helps:
            return "the hours cannot hold it"
        if LowerGap in advice.helps:
            return f"no free slot keeps {words.count(series.min_weeks, 'week')} from the other studies"
        taken = {slot: key for key, slot in self.places.items()}
        if all(at in taken for at in open_slots):
            holders = words.listing(sorted({quoted(self.studies[taken[at]].title) for at in open_slots}))
            return f"every slot it may have is taken by {holders}"
        return "the hours, the gaps and the other studies leave it no slot"


def _promised(problem: Problem, key: str, slot: int) -> Problem:
    """The problem with one study promised for a slot before all other promises, and free to stand nowhere else."""
    worth = 1 + sum(len(need.after) + need.worth * (need.promised is not None) for need in problem.needs)
    return replace(problem, needs=tuple(held(n, slot, worth) if n.key == key else n for n in problem.needs))
