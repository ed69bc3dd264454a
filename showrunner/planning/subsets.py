"""The best plans of many sets of studies that differ in one series only.

Each set could be searched for by itself. But where the best plan of that series alone and the best plan of all the
others go together, they are the best plan of the whole: costs add up, what binds both can only cost more, and at the
first slot in which two plans differ the book order concerns one of the two alone. The others are then searched for
once; and one table of the series, kept by what is left to place (see `tables`), holds its best plan for every set.
Each of the two has all the hours, and those that the other could give back by replacing usual content.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import replace
from operator import add

from showrunner.planning.limit import ENDLESS, Limit, TimeUp
from showrunner.planning.parties import fitting
from showrunner.planning.problem import Need, Problem, score
from showrunner.planning.search import Solution, solve
from showrunner.planning.tables import IMPOSSIBLE, NEVER, SeriesTable, StudyClass, classes, parts_of, slot_grid, weights

SHARE = 0.5
"""Share of the time for one plan that the table may take."""


class Subsets:
    """A problem, of whose studies of one series only some are there.

    Args:
        problem: the problem with all of them; no re-plan.
        series: index of the series.
        time_limit: seconds for each plan; None for no limit.
        ticker: a clock in seconds for the limit.
    """

    def __init__(
        self,
        problem: Problem,
        series: int,
        time_limit: float | None = None,
        ticker: Callable[[], float] | None = None,
    ) -> None:
        self.problem, self.series, self.time_limit, self.ticker = problem, series, time_limit, ticker
        self._weight = weights(problem)
        self._alone: _Alone | None = None
        self._others: Solution | None = None

    def solve(self, keys: Collection[str]) -> Solution:
        """The best plan with those studies of the series and all of the others; what `search.solve` finds for them.

        Args:
            keys: the studies of the series that are there.
        """
        part = self._part(keys)
        try:
            found = self._joined(part)
        except TimeUp:
            found = None
        return found or self._search(part)

    def _part(self, keys: Collection[str]) -> Problem:
        return self._only([need for need in self.problem.needs if need.series != self.series or need.key in keys])

    def _only(self, there: list[Need]) -> Problem:
        """The problem of some of the studies, with the orders promised among them."""
        names = {need.key for need in there}
        needs = (
            replace(need, order=at, after=tuple(key for key in need.after if key in names))
            for at, need in enumerate(there)
        )
        return replace(self.problem, needs=tuple(needs))

    def _roomier(self, others: Problem) -> Problem:
        """The problem of the others with all the hours that studies of the series could give back to them."""
        most = max(others.standing, default=0)
        more = sum(max(most - need.minutes, 0) for need in self.problem.needs if need.series == self.series)
        return replace(others, spare=tuple(minutes + more for minutes in others.spare))

    def _search(self, problem: Problem) -> Solution:
        return solve(problem, time_limit=self.time_limit, ticker=self.ticker)

    def _joined(self, part: Problem) -> Solution | None:
        """The best plans of the series and of the others as one; None if they do not go together."""
        if self._alone is None:
            self._alone = _Alone(self.problem, self.series)
        limit = Limit.of(self.time_limit, self.ticker).share(SHARE)
        mine = self._alone.places([need for need in part.needs if need.series == self.series], limit)
        if mine is None:
            return None
        if self._others is None:
            rest = [need for need in self.problem.needs if need.series != self.series]
            self._others = self._search(self._roomier(self._only(rest)))
        others = self._others
        places, cost = mine
        places = {**others.places, **places}
        reached = score(part, places) if others.proven else None
        if reached is None or self._weight.pack(reached) != cost + self._weight.pack(others.score):
            return None
        return Solution(places, reached, True, reached, others.expanded)


class _Alone:
    """One series by itself, as if it had all the hours and slots and no order were promised.

    Args:
        problem: the problem.
        series: index of the series.
    """

    def __init__(self, problem: Problem, series: int) -> None:
        problem = fitting(problem)
        weight = weights(problem)
        self.unplaced = weight.unplaced
        self.broken = weight.broken
        self.groups: tuple[StudyClass, ...] = classes(problem, series, weight)
        self.grid = slot_grid(problem, series, self.groups, weight)
        parts = parts_of(self.groups, self.grid)
        self.exact = parts == list(range(len(self.groups)))
        self.table = SeriesTable(self.grid, self.groups, parts=parts)
        self.of_class = {need.key: c for c, group in enumerate(self.groups) for need in group.members}

    def places(self, needs: list[Need], limit: Limit) -> tuple[dict[str, int], int] | None:
        """The best plan of some studies of the series: slots by key, and its stacked cost.

        Args:
            needs: the studies in book order.
            limit: the time that it may take.

        Returns:
            None if the table tells too few studies apart to hold it, or if not all their promised dates can be kept.

        Raises:
            TimeUp: the time is up.
        """
        if not needs:
            return {}, 0
        if not self.exact:
            return None
        table, self.table.time = self.table, limit
        waiting: list[list[Need]] = [[] for _ in self.groups]
        for need in needs:
            waiting[self.of_class[need.key]].append(need)
        rest = sum(len(members) * stride for members, stride in zip(waiting, table.strides, strict=True))
        drop = next((n for n in range(len(needs)) if self._ahead(rest, n, self.grid.start) < NEVER), len(needs))
        promised = sum(need.worth for need in needs if need.promised is not None)
        cost = promised * self.broken + drop * self.unplaced + self._ahead(rest, drop, self.grid.start)
        if cost >= self.broken:
            return None
        found: dict[str, int] = {}
        last = self.grid.start
        while table.left(rest) > drop:
            # A study wins over none, so the first slot of all that cost the least; there, the first in book order.
            begin, gaps = self.grid.gaps[last]
            head = table.head(rest, drop)
            whole = list(map(add, head[begin:], gaps))
            last = begin + whole.index(min(whole))
            _, c = min(
                (waiting[c][0].order, c)
                for c in table.parts(rest)
                if table.costs[c][last] + self._ahead(rest - table.strides[c], drop, last) == head[last]
            )
            found[waiting[c].pop(0).key] = self.grid.usable[last]
            rest -= table.strides[c]
        table.time = ENDLESS
        return found, cost

    def _ahead(self, rest: int, drop: int, last: int) -> int:
        """The least cost of placing all of `rest` but `drop` after `last`."""
        if self.table.left(rest) <= drop:
            return 0
        begin, gaps = self.grid.gaps[last]
        return min(map(add, self.table.head(rest, drop)[begin:], gaps), default=IMPOSSIBLE)
