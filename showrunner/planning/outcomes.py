"""What may turn out to be unshown: every outcome of the doubts about one series, with its plan and its ends.

Each unsure piece is truly unshown with its odds, independently. An outcome says, study by study, how
many pieces are truly left to show; a study with none left falls away. Pieces in no study count as
studies of their own, which the rules cannot tell apart, so only their number matters.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction
from itertools import product
from math import lcm

from showrunner.domain.book import Book
from showrunner.domain.episode import Series
from showrunner.domain.house import Unsure
from showrunner.domain.piece import Known
from showrunner.domain.record import record
from showrunner.domain.rules import Board
from showrunner.domain.slot import Slot
from showrunner.planning.candidates import Candidate, candidates
from showrunner.planning.frame import frame, stretches
from showrunner.planning.results import Dates
from showrunner.planning.search import Solution
from showrunner.planning.slips import Habit, Slips
from showrunner.planning.slots import expand
from showrunner.planning.solving import left_aside
from showrunner.planning.subsets import Subsets

TAIL_WEEKS = 52
"""Weeks beyond the horizon in which a study that slips may still air."""

Left = tuple[tuple[str, int], ...]
"""An outcome: studies that are left, with the number of their pieces truly left to show."""


@record
class Airing:
    """How one outcome's studies air."""

    order: tuple[str, ...]
    """Studies of the series by planned slot."""
    airs: tuple[dict[date, float], ...]
    """For each of them, probability by day of airing; what is missing to 1 lies beyond the days looked at."""
    unplaced: tuple[str, ...]
    """Studies that found no slot within the horizon."""
    proven: bool
    """Whether the plan is proven best."""


class Doubts:
    """The doubts about one series and what each outcome of them leads to.

    Args:
        book: the book.
        today: the present day.
        series: the series.
        habit: how tries miss their slots.
        horizon_weeks: weeks a plan looks ahead.
        time_limit: seconds for each plan; None for no limit.
        ticker: a clock in seconds for the limit.
    """

    def __init__(
        self,
        book: Book,
        today: date,
        series: Series,
        habit: Habit,
        horizon_weeks: int,
        time_limit: float | None = None,
        ticker: Callable[[], float] | None = None,
    ) -> None:
        self.book, self.today, self.series, self.habit = book, today, series, habit
        self.horizon_weeks, self.time_limit, self.ticker = horizon_weeks, time_limit, ticker
        every, _ = candidates(book, Unsure.UNSHOWN)
        sure, _ = candidates(book, Unsure.LEFT_OUT)
        sure_keys = {study.key for study in sure}
        mine = [study for study in every if study.series.id == series.id]
        self.others = tuple(study for study in sure if study.series.id != series.id)
        self.lone = [study for study in mine if study.key not in sure_keys and len(study.pieces) == 1]
        self.studies = [study for study in mine if study not in self.lone]
        self.unsure = [
            piece
            for piece in book.pieces
            if piece.shown.known is Known.UNSURE and any(piece.id in study.pieces for study in mine)
        ]
        self.place = {study.key: at for at, study in enumerate(every)}
        self.dated = {
            study.key: study.planned for study in (*mine, *self.others) if study.planned and study.planned.day >= today
        }
        assumed = {study.key for study in candidates(book, book.house.habit.unsure)[0]}
        self.assumed = frozenset(s.key for s in mine if s.key in assumed or s.key in self.dated)
        self.runs = self._runs()
        self.torn = next(left_aside(book)) != ()
        last = today + timedelta(weeks=horizon_weeks + TAIL_WEEKS)
        self.slots = expand(book.rules, today, last)
        self.board = Board(book)
        self.usable = tuple(at for at, slot in enumerate(self.slots) if self._may_use(slot))
        self.most = self._most()
        self._airings: dict[frozenset[str], Airing] = {}
        self._planners: dict[tuple[tuple[str, ...], bool], Subsets] = {}
        self._slips: dict[frozenset[int], Slips] = {}
        self._aired: dict[tuple[frozenset[int], tuple[int, ...]], dict[date, float]] = {}

    @property
    def dates(self) -> Dates:
        """Which dates the outcomes have."""
        if not self.dated:
            return Dates.BEST
        return Dates.KEPT if self.book.house.habit.kept else Dates.ACCEPTED

    def chances(self) -> dict[str, Fraction]:
        """Chance of being truly unshown, by unsure piece."""
        return {piece.id: piece.shown.chance_unshown for piece in self.unsure}

    def outcomes(self, chances: Mapping[str, Fraction]) -> dict[Left, float]:
        """Every outcome with its probability.

        Args:
            chances: chance of being truly unshown, by unsure piece; 0 or 1 settles a doubt.
        """
        parts: list[list[tuple[Left, Fraction]]] = []
        for run in self.runs:
            if len(run) > 1:
                parts.append(_first_of(run, [chances[study.pieces[0]] for study in run]))
                continue
            study = run[0]
            doubted = [chances[piece] for piece in study.pieces if piece in chances]
            known = [self.book.find("pieces", piece) for piece in study.pieces if piece not in chances]
            sure = sum(piece is not None and piece.shown.known is Known.NO for piece in known)
            stays = sure > 0 or not doubted
            parts.append(
                [
                    (((study.key, sure + more),) if more or stays else (), chance)
                    for more, chance in enumerate(_count_chances(doubted))
                    if chance
                ]
            )
        parts.append(_first_of(self.lone, [chances[study.pieces[0]] for study in self.lone]))
        found: dict[Left, float] = {}
        for combination in product(*parts):
            chance = Fraction(1)
            for _, part in combination:
                chance *= part
            found[tuple(item for left, _ in combination for item in left)] = float(chance)
        return found

    def _most(self) -> int:
        """No plan places more studies of the series: its slots up to the horizon, each as early as the gap allows."""
        until = self.today + timedelta(weeks=self.horizon_weeks)
        number, last = 0, self.board.last_published(self.series.id)
        for slot in self.slots:
            if slot.rule not in self.series.rules or slot.day > until:
                continue
            if last is None or (slot.day - last).days >= 7 * self.series.min_weeks:
                number, last = number + 1, slot.day
        return number

    def _runs(self) -> list[list[Candidate]]:
        """The studies of the series, those in one list that stand side by side and differ in nothing but their doubt.

        Of such studies of one unsure piece each, only the number that is left matters: whichever they are, the
        first slots go to the first of them. So n of them have n + 1 outcomes and not 2 to the power of n.
        """
        doubted = {piece.id for piece in self.unsure}
        named = {study for pin in self.book.pins for study in pin.episodes}
        runs: list[list[Candidate]] = []
        for study in self.studies:
            one = study.key not in named and len(study.pieces) == 1 and study.pieces[0] in doubted
            one = one and not (self.dates is Dates.KEPT and study.key in self.dated)
            if one and not any(window.hard for window in study.windows) and runs:
                last = runs[-1][-1]
                beside = self.place[study.key] == self.place[last.key] + 1
                alike = (study.minutes, study.windows) == (last.minutes, last.windows) and last.key not in named
                alike = alike and (study.key in self.assumed) == (last.key in self.assumed)
                alike = alike and not (self.dates is Dates.KEPT and last.key in self.dated)
                if beside and alike and len(last.pieces) == 1 and last.pieces[0] in doubted:
                    runs[-1].append(study)
                    continue
            runs.append([study])
        return runs

    def airing(self, left: Left) -> Airing:
        """How the studies of an outcome air; computed once for each set of studies.

        The rules cannot tell lone pieces apart, so those beyond the most that any plan can place change no
        plan: they find no slot.
        """
        keys = frozenset(key for key, _ in left)
        found = self._airings.get(keys)
        if found is None:
            beyond = [study.key for study in self.lone if study.key in keys][self.most :]
            if beyond:
                found = self.airing(tuple(item for item in left if item[0] not in beyond))
                found = replace(found, unplaced=tuple(sorted((*found.unplaced, *beyond))))
            else:
                found = self._air(keys)
            self._airings[keys] = found
        return found

    def _air(self, keys: frozenset[str]) -> Airing:
        """How a set of studies airs: by the dates of the book and what is placed around them, or by its best plan."""
        around = self.dates is Dates.KEPT or (self.dates is Dates.ACCEPTED and keys == self.assumed)
        planners = [self._planner(dropped, around) for dropped in self._choices(keys)]
        found = [planner.solve(keys) for planner in planners]
        proven = all(solution.proven for solution in found)
        best = min(found, key=self._rank)
        slots = planners[0].problem.slots
        if around:
            best = self._as_dated(best, slots, keys)
        return self._slip(best, slots, keys, proven)

    def _as_dated(self, solution: Solution, slots: Sequence[Slot], keys: frozenset[str]) -> Solution:
        """The plan with every date of the book as it stands, also where the hours are too few to keep it."""
        index = {slot.ref: at for at, slot in enumerate(slots)}
        there = keys | {study.key for study in self.others}
        dated = {key: index[slot] for key, slot in self.dated.items() if key in there and slot in index}
        taken = set(dated.values())
        rest = {key: at for key, at in solution.places.items() if key not in dated and at not in taken}
        return replace(solution, places={**rest, **dated})

    def _rank(self, solution: Solution) -> tuple[object, ...]:
        return solution.score, sorted((slot, self.place[key]) for key, slot in solution.places.items())

    def _choices(self, keys: frozenset[str]) -> tuple[tuple[str, ...], ...]:
        """The smallest choices of pins to leave aside where those studies are placed beside those of other series."""
        if not self.torn:
            return ((),)
        aside = {study.id for study in self.book.open_studies} - keys - {study.key for study in self.others}
        idle = (pin.id for pin in self.book.pins if aside & {*pin.episodes})
        return tuple(left_aside(self.book.drop("pins", *idle)))

    def _planner(self, dropped: tuple[str, ...], around: bool) -> Subsets:
        """The plans of the book without some pins, for all sets of studies of which a plan can place all."""
        found = self._planners.get((dropped, around))
        if found is None:
            book = self.book.drop("pins", *dropped) if dropped else self.book
            wanted = {study.key for study in (*self.studies, *self.lone[: self.most], *self.others)}
            studies = tuple(study for study in candidates(book, Unsure.UNSHOWN)[0] if study.key in wanted)
            framed = frame(book, self.today, studies, horizon_weeks=self.horizon_weeks, around=around)
            series = [series.id for series in book.series].index(self.series.id)
            found = self._planners[dropped, around] = Subsets(framed.problem, series, self.time_limit, self.ticker)
        return found

    def _slip(self, solution: Solution, slots: Sequence[Slot], keys: frozenset[str], proven: bool) -> Airing:
        index = {slot.ref: at for at, slot in enumerate(self.slots)}
        places = {key: index[slots[at].ref] for key, at in solution.places.items()}
        taken = frozenset(at for key, at in places.items() if key not in keys)
        order = sorted((key for key in places if key in keys), key=lambda key: places[key])
        return Airing(
            order=tuple(order),
            airs=self._airs(taken, tuple(places[key] for key in order)),
            unplaced=tuple(sorted(keys - set(order))),
            proven=proven,
        )

    def _airs(self, taken: frozenset[int], planned: tuple[int, ...]) -> tuple[dict[date, float], ...]:
        """For each study of the series, probability by day; what begins alike airs alike.

        Args:
            taken: slots that studies of other series are planned for.
            planned: slots of the studies, rising.
        """
        slips = self._slips.get(taken)
        if slips is None:
            free = [at for at in self.usable if at not in taken]
            days = [(slot.day - self.today).days for slot in self.slots]
            slips = self._slips[taken] = Slips(free, days, 7 * self.series.min_weeks, self.habit)
        found = []
        for number, chances in enumerate(slips.airs(planned), 1):
            begun = taken, planned[:number]
            if begun not in self._aired:
                self._aired[begun] = _by_day(chances, self.slots)
            found.append(self._aired[begun])
        return tuple(found)

    def _may_use(self, slot: Slot) -> bool:
        board = self.board
        return slot.rule in self.series.rules and slot.ref not in board.held and not board.is_silent(slot.day)

    def late_chance(self, study: Candidate, airing: Airing) -> float:
        """The chance that a study with a hard window airs outside it."""
        chances = airing.airs[airing.order.index(study.key)]
        return sum(
            chance
            for day, chance in chances.items()
            if not any(first <= day <= last for first, last in stretches(study.windows, True, day, day))
        )


def _by_day(chances: Mapping[int, float], slots: tuple[Slot, ...]) -> dict[date, float]:
    found: dict[date, float] = {}
    for at, chance in chances.items():
        found[slots[at].day] = found.get(slots[at].day, 0.0) + chance
    return found


def _first_of(studies: Sequence[Candidate], chances: Iterable[Fraction]) -> list[tuple[Left, Fraction]]:
    """How many studies of one piece each are left: the first of them stand for any others that are as many."""
    keys = [(study.key, 1) for study in studies]
    return [(tuple(keys[:number]), chance) for number, chance in enumerate(_count_chances(chances)) if chance]


def _count_chances(chances: Iterable[Fraction]) -> list[Fraction]:
    """Probability of each number of successes among independent trials, added up in whole numbers."""
    trials = list(chances)
    scale = lcm(*(chance.denominator for chance in trials))
    found = [1]
    for chance in trials:
        hit = chance.numerator * (scale // chance.denominator)
        grown = [share * (scale - hit) for share in found] + [0]
        for number, share in enumerate(found, 1):
            grown[number] += share * hit
        found = grown
    return [Fraction(share, scale ** len(trials)) for share in found]
