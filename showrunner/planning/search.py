"""The exact placing search: slot by slot, over all series together, below the cost of the best plan known.

At every slot a study of some class is placed, or none is. The cost so far plus the tables' cost to
go never exceeds the cost of the best plan below a state; what cannot be better than the best plan
known is dropped. Hours are tested exactly, day by day, as studies are placed.

The steps, each taken only if those before it did not settle the question:

1. Series that share neither a slot nor an order are solved apart; if the hours hold all of it, that is the answer.
2. Plans that leave no study out are looked for best first, for a while: most books need fewer than a hundred states.
   Then narrow sweeps through the slots give a plan.
3. If there is none, or promises come first, plans that leave some out are looked for in the same two ways.
4. How many promises can be kept, by the studies that matter for them alone; if all can, they become rules.
5. How many studies can be placed: `capacity` says how many the hours can hold from any state on.
6. Ever wider sweeps for exactly that many, with prices on hours and slots if those hold states back. Where all are
   placed, tables need only hold what plans no dearer than the best one known have (`reach`), and tell more apart.

Plans equal in every aim are told apart by book order. Each plan is a list of what every slot holds,
slot by slot in time; at the first slot in which two lists differ, a study wins over none, and of two
studies the one that stands earlier in the book. The list is kept as one whole number (see
`Space.path`), least first, in which slots not yet decided count as the least there is; so a state's
number never exceeds that of a plan below it, and book order is proven like every other aim.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from heapq import heappop, heappush, merge
from itertools import islice

from showrunner.domain.record import record
from showrunner.planning.capacity import Capacity, TooLarge
from showrunner.planning.limit import Limit, TimeUp
from showrunner.planning.parties import fitting, kept, parties, promising
from showrunner.planning.prices import Prices, find_prices, find_reaches, in_one
from showrunner.planning.problem import Problem, Score, hours_fit, score
from showrunner.planning.reach import widest
from showrunner.planning.stages import Fronts, Rest, Space, Stage, cheapest, orders_broken
from showrunner.planning.tables import (
    IMPOSSIBLE,
    NEVER,
    Reach,
    SeriesTable,
    StudyClass,
    classes,
    parts_of,
    slot_grid,
    weights,
)

EASY = 1500
"""States the best-first search looks into before it gives way to sweeps; most books need fewer than a hundred."""

FIRST_WIDTH = 30
"""States kept at each slot in the first sweep."""

WIDE = 300
"""The same in a second one, where the first left out more than is known to be needed."""

MOST_STATES = 250_000
"""States kept at each slot at most, for the sake of memory; a search that needs more says that it is not proven."""

WIDTHS = (120, 1000, 20_000, MOST_STATES)
"""The same in the sweeps after it."""

SCARCE_WIDTHS = (WIDE, 1500, 20_000, MOST_STATES)
"""The same where hours cannot hold all studies; prices are sought after the first of them, not before it."""

PIECE = 10_000
"""Most states that one call sorts or frees: longer calls would keep the screen from its keys."""

NO_LIMIT = 1 << 40
"""Room in minutes where two studies must be ready on the same day and only the second is tested."""


@record
class Solution:
    """The best placement found and how far that is proven."""

    places: dict[str, int]
    """Slot index by study key; missing studies could not be placed."""
    score: Score
    """The aims it reaches."""
    proven: bool
    """Whether no placement is better, book order included."""
    bound: Score
    """No placement is better than this; equals `score` if proven."""
    expanded: int
    """States the search looked into."""


class NoBetter(Exception):
    """No plan is better than what was to be beaten, which is proven."""


Node = tuple[int, int, int, int, int]
"""A state: cost so far plus the bound on what is open, path, minutes used, cost so far, and what is left (see
`stages`). Plain tuples of whole numbers, which the collector of garbage need not look through."""

Plan = tuple[int, int]
"""A complete plan: its cost and its path; compares as plans do."""


def solve(problem: Problem, *, time_limit: float | None = None, ticker: Callable[[], float] | None = None) -> Solution:
    """Place the studies of `problem` with the aims in strict order.

    Args:
        problem: the problem.
        time_limit: seconds after which the best plan found so far is returned unproven; None for no limit.
        ticker: a clock in seconds; needed with a time limit.

    Returns:
        The unique best placement, or, at the time limit, a good one with a proven bound.
    """
    return solve_within(problem, Limit.of(time_limit, ticker))


def solve_within(problem: Problem, limit: Limit, beat: Score | None = None) -> Solution:
    """As `solve`, with the limit at hand.

    Args:
        problem: the problem.
        limit: the time it may take.
        beat: what a plan has to be better than to be of use.

    Raises:
        NoBetter: no plan is better than `beat`; this is often known long before the best plan is.
    """
    expanded = 0
    known: Solution | None = None
    alone = parties(problem)
    if len(alone) > 1 and not hopeless(problem):
        found = [Search(part, limit).run() for part in alone]
        expanded = sum(part.expanded for part in found)
        known = _together(found, expanded)
        if hours_fit(problem, known.places):
            if beat and known.bound >= beat:
                raise NoBetter
            return known
    return Search(problem, limit, expanded, beat).run(floor=known.bound if known else None)


def hopeless(problem: Problem) -> bool:
    """Whether the hours cannot hold every study, even at their least."""
    most = min(problem.spare[max(problem.ready[-1], 0) :], default=0) if problem.ready else 0
    return sum(need.minutes for need in problem.needs) - len(problem.needs) * max(problem.standing, default=0) > most


def _together(found: Sequence[Solution], expanded: int) -> Solution:
    """The answers of parties that share no slot as one; the aims add up, and so do the bounds."""
    places = {key: slot for part in found for key, slot in part.places.items()}
    total, bound = (_sum([getattr(part, name) for part in found]) for name in ("score", "bound"))
    return Solution(places, total, all(part.proven for part in found), bound, expanded)


def _sum(scores: Sequence[Score]) -> Score:
    return Score(
        sum(s.broken for s in scores),
        sum(s.unplaced for s in scores),
        sum(s.wide for s in scores),
        sum(s.moved for s in scores),
        sum(s.moved_days for s in scores),
        sum(s.points for s in scores),
        sum(s.days for s in scores),
    )


class Search:
    """One problem with its tables, ready to be solved.

    Args:
        problem: the problem.
        limit: the time it may take.
        expanded: states looked into before.
        beat: as in `solve_within`.
    """

    def __init__(self, problem: Problem, limit: Limit, expanded: int = 0, beat: Score | None = None) -> None:
        self.problem, self.limit, self.expanded = fitting(problem), limit, expanded
        self.weight = weights(problem)
        self.of_use = self.weight.pack(beat) if beat else None
        self.count = len(problem.needs)
        self.slots = len(problem.slots)
        self.ranks = {order: rank for rank, order in enumerate(sorted(need.order for need in problem.needs))}
        self.keys = {self.ranks[need.order]: need.key for need in problem.needs}
        self.owed = sum(need.worth for need in problem.needs if need.promised is not None) * self.weight.broken
        self.space: Space
        self.best: Plan | None = None
        self.done = False
        self.floor = 0
        self.must: int | None = None
        self.capacity: Capacity | None = None

    def _prepare(self) -> None:
        """Classes, tables and room of the problem as it is now."""
        problem = self.problem
        series = range(len(problem.spacings))
        self.groups = [classes(problem, s, self.weight) for s in series]
        self.grids = [slot_grid(problem, s, self.groups[s], self.weight) for s in series]
        self.parts = [parts_of(groups, grid) for groups, grid in zip(self.groups, self.grids, strict=True)]
        self.room, self.safe = _room(problem, self.groups)
        self.most = self.room[-1] if self.room else 0
        self.prices = _no_prices(self.room)
        self.reaches: list[Reach | None] = [None for _ in self.parts]
        self._make_tables()

    def _make_tables(self) -> None:
        tables = [
            SeriesTable(grid, groups, self.prices.tolls(self.problem, groups), parts, time=self.limit, reach=reach)
            for grid, groups, parts, reach in zip(self.grids, self.groups, self.parts, self.reaches, strict=True)
        ]
        self.space = Space(self.problem, self.groups, self.grids, tables, self.ranks)

    def run(self, floor: Score | None = None) -> Solution:
        """Find the best plan.

        Args:
            floor: no plan is better than this, as is known from elsewhere.

        Raises:
            NoBetter: no plan is better than what was to be beaten.
        """
        proven = False
        if floor:
            self._raise_floor(self.weight.pack(floor))
        self._prepare()
        try:
            proven = self._steps()
            if proven and self.best:
                self._raise_floor(self.best[0])
        except TimeUp:
            self._place_plainly()
        return self._solution(proven)

    def _place_plainly(self) -> None:
        """A plan, if there is no better one: each study as soon as waiting for the next slot would not be cheaper."""
        space, state, path, used = self.space, self.space.root, 0, 0
        for slot in range(self.slots):
            step = space.path(slot, space.nothing)
            for series, own in enumerate(space.parts(state)):
                grid = self.grids[series]
                if slot not in grid.position:
                    continue
                later = grid.usable[min(grid.position[slot] + 1, grid.start - 1)]
                further = int(later > slot) << space.fields[series].shift  # what a move to there adds to the state
                waiting = {move[0] - further: move[1] for move in space.moves(series, own, later)}
                here = [
                    (price, study, delta, gain)
                    for delta, price, gain, study, _, after in space.moves(series, own, slot)
                    if used + gain <= self.safe[slot] and not orders_broken(state, after)
                    if price <= waiting.get(delta, price)
                ]
                if here:
                    _, step, delta, gain = min(here)
                    state, used = state + delta, used + gain
                    break
            path += step
        self._offer(self._places_of(path))

    def _steps(self) -> bool:
        """All steps one after the other; whether the best plan is proven."""
        if self._place_all():
            return True
        if self.best is None and (self._best_first() or self._sweep(FIRST_WIDTH)):
            return True
        if self._settle_promises():
            return True
        if self._settle_count():
            return True
        return self._sweeps(lambda: False)

    def _place_all(self) -> bool:
        """Look for plans that leave no study out, where promises do not come first; whether the best one is proven.

        Most books have one; and tables that need not know what it costs to leave studies out are quickly made.
        """
        if self._promises_bind() or hopeless(self.problem):
            return False
        self.must = self.count
        self.reaches = [widest(grid, groups) for grid, groups in zip(self.grids, self.groups, strict=True)]
        self._make_tables()
        if self._root()[0] < NEVER:
            if self._best_first():
                return True
            for width in (FIRST_WIDTH, WIDE):
                proven = self._sweep(width)
                if self.best:
                    return proven
                if proven:
                    break
        self.must = None
        self.reaches = [None for _ in self.parts]
        self._make_tables()
        return False

    # -- bounds ------------------------------------------------------------------------------------------------------

    def bound(
        self, slot: int, used: int, rests: Sequence[Rest], memo: dict[tuple[int, ...], Fronts] | None = None
    ) -> int:
        """Least cost of all that is still open from `slot` on.

        Args:
            slot: slot number; past the last slot everything open is left out.
            used: minutes used so far.
            rests: what is left of every series.
            memo: see `cheapest`.
        """
        unplaced, budget = self.weight.unplaced, self.most - used
        owed = used * self.prices.minute[slot] - self.prices.worth[slot]
        back = -self.weight.broken * sum(rest.open for rest in rests)
        if self.must is not None:
            drop = self.count - self.must
            cost = cheapest(rests, drop, budget, memo)
            return drop * unplaced + max(cost + owed, back) if cost < NEVER else IMPOSSIBLE
        best = IMPOSSIBLE
        count = sum(rest.left for rest in rests)
        for drop in range(_least_left_out(rests, budget), count + 1):
            if drop * unplaced + back >= best:
                break
            cost = cheapest(rests, drop, budget, memo)
            if cost < NEVER:
                best = min(best, drop * unplaced + max(cost + owed, back))
        return best

    def _root(self) -> Node:
        rests = [self.space.rest(s, own, 0) for s, own in enumerate(self.space.parts(self.space.root))]
        ahead = self.bound(0, 0, rests)
        value = self.owed + ahead
        return value, 0, 0, self.owed if self.slots else value, self.space.root

    def children(self, stage: Stage, node: Node) -> list[Node]:
        """What can happen at the stage's slot that may be better than the best plan: nothing, or one study."""
        self.expanded += 1
        _, path, used, cost, state = node
        slot, space = stage.slot, self.space
        after, room = slot + 1, self.room[slot]
        roof, roof_path = self.best or (IMPOSSIBLE, 0)
        simple = self.must is None or self.must == self.count
        rate, worth = self.prices.minute[after], self.prices.worth[after]
        unplaced, most = self.weight.unplaced, self.most
        owns = space.parts(state)
        rests = [stage.rest(s, own) for s, own in enumerate(owns)]
        ahead = needed = open_ = 0
        for rest in rests:
            ahead += rest.costs[0]
            needed += rest.minutes[0]
            open_ += rest.open
        back = -self.weight.broken * open_
        found: list[Node] = []
        if used <= room:
            total = ahead + used * rate - worth
            if simple and needed + used <= most and total < unplaced + back:
                value = cost + max(total, back)
            else:
                value = cost + self.bound(after, used, rests, stage.fronts)
            here = path + space.path(slot, space.nothing)
            better = value < roof or (value == roof and here < roof_path)
            if better and (self.capacity is None or self._holds(after, used, state)):
                found.append((value, here, used, value if after == self.slots else cost, state))
        broken = self.weight.broken
        for series, own in enumerate(owns):
            mine = rests[series]
            for delta, price, gain, step, key, promises in stage.moves_of(series, own):
                now = used + gain
                if now > room:
                    continue
                spent = cost + price
                if promises:
                    spent += orders_broken(state, promises) * broken
                rest = stage.rest(series, key)
                total = ahead - mine.costs[0] + rest.costs[0] + now * rate - worth
                lowest = -broken * (open_ - mine.open + rest.open)
                if simple and needed - mine.minutes[0] + rest.minutes[0] + now <= most and total < unplaced + lowest:
                    value = spent + max(total, lowest)
                else:
                    rests[series] = rest
                    value = spent + self.bound(after, now, rests, stage.fronts)
                    rests[series] = mine
                here = path + step
                if value < roof or (value == roof and here < roof_path):
                    fresh = state + delta
                    if self.capacity is None or self._holds(after, now, fresh):
                        found.append((value, here, now, value if after == self.slots else spent, fresh))
        return found

    # -- best first --------------------------------------------------------------------------------------------------

    def _best_first(self) -> bool:
        """Take the most promising state first; False if `EASY` states were not enough, or there is no plan."""
        root = self._root()
        self._raise_floor(root[0])
        queue: list[tuple[int, int, int, Node]] = [(*root[:2], 0, root)]
        seen: dict[tuple[int, int], list[Node]] = {}
        stages: dict[int, Stage] = {}
        last = self.expanded + EASY
        while queue and self.expanded < last:
            self.limit.check()
            value, path, slot, node = heappop(queue)
            if slot == self.slots:
                self.best, self.done = (node[3], path), True
                return True
            self._raise_floor(value)
            if not _undominated(seen.setdefault((slot, node[4]), []), node):
                continue
            stage = stages.get(slot)
            if stage is None:
                stage = stages[slot] = Stage(self.space, slot)
            for child in self.children(stage, node):
                heappush(queue, (child[0], child[1], slot + 1, child))
        return False

    # -- sweeps ------------------------------------------------------------------------------------------------------

    def _sweeps(self, enough: Callable[[], bool]) -> bool:
        """Go through the slots with ever more states; whether the best plan is proven.

        Args:
            enough: asked after each sweep, whether what was sought is known without that.
        """
        scarce = self._hours_bind()
        for at, width in enumerate(SCARCE_WIDTHS if scarce else WIDTHS):
            if enough():
                return False
            if at == 1 if scarce else at == 0 and self.must == self.count:
                self._charge_prices()
            elif self.must == self.count and self._narrow():
                self._make_tables()
            before = self.floor
            if self._sweep(width):
                return True
            if at == 0 and self.must == self.count and self.floor == before:
                self.prices = _no_prices(self.room)  # they hold back no states
                self._make_tables()
        return False

    def _sweep(self, width: int) -> bool:
        """Decide slot after slot, keeping the best `width` states that may be better than the best plan known.

        The best plan met, if any is better, becomes the best one. Where states had to be dropped, one from which
        nothing more need be placed is kept, so that a sweep without a plan to beat always ends with one.

        Returns:
            Whether no plan of those sought is better than the best one: none that was dropped can be.
        """
        layer = [self._root()]
        lost: Plan | None = None
        best = self.best
        slot = 0
        try:
            for slot in range(self.slots):
                if len(layer) > width:
                    layer, dropped = self._cut(layer, width, slot)
                    lost = min(lost or dropped, dropped)
                layer = self._decide(slot, layer)
        except TimeUp:
            if self.best is None:
                self._salvage(slot, layer)
            raise
        if layer:
            _, path, _, cost, _ = min(layer)
            best = min(best or (cost, path), (cost, path))
        self.best = best
        self.done = lost is None or (best is not None and lost > best)
        if best is not None and self.done and (self.must is None or self._placed() == self.must):
            self._raise_floor(best[0])
        elif lost is not None:
            self._raise_floor(lost[0])
        return self.done

    def _decide(self, slot: int, layer: list[Node]) -> list[Node]:
        """The states after `slot`, without those that another one is as good as in every way."""
        stage = Stage(self.space, slot)
        states: dict[int, Node | list[Node]] = {}
        check, children = self.limit.check, self.children
        for node in layer:
            check()
            for child in children(stage, node):
                state = child[4]
                rivals = states.get(state)
                if rivals is None:
                    states[state] = child
                elif isinstance(rivals, list):
                    _undominated(rivals, child)
                else:
                    several = [rivals]
                    _undominated(several, child)
                    states[state] = several if len(several) > 1 else several[0]
        fresh: list[Node] = []
        for rivals in states.values():
            if isinstance(rivals, list):
                fresh += rivals
            else:
                fresh.append(rivals)
        while layer:
            del layer[-PIECE:]
        return fresh

    def _cut(self, layer: list[Node], width: int, slot: int) -> tuple[list[Node], Plan]:
        """The best `width` states, and the least of what is lost; states that are safe have one among them."""
        runs = [sorted(layer[at : at + PIECE]) for at in range(0, len(layer), PIECE)]
        ordered = runs[0] if len(runs) == 1 else merge(*runs)
        kept = list(islice(ordered, width + 1))
        dropped = kept.pop()
        if self.best is None and not any(self._is_safe(node, slot) for node in kept):
            safe = [node for node in layer if self._is_safe(node, slot)]
            if safe:
                kept.append(min(safe))
        return kept, dropped[:2]

    def _is_safe(self, node: Node, slot: int) -> bool:
        return slot == 0 or node[2] <= self.safe[slot - 1]

    def _salvage(self, slot: int, layer: Sequence[Node]) -> None:
        """Take the best of what a sweep without a plan had come to by `slot`: nothing more is placed."""
        space, found = self.space, []
        for _, path, _, cost, state in (node for node in layer if self._is_safe(node, slot)):
            left = sum(space.rest(s, own, self.slots).left for s, own in enumerate(space.parts(state)))
            found.append((cost + left * self.weight.unplaced, path))
        if found:
            cost, path = min(found)
            self.best = cost, path + sum(space.path(later, space.nothing) for later in range(slot, self.slots))

    # -- promises, count, prices -------------------------------------------------------------------------------------

    def _reached(self) -> Score:
        assert self.best is not None
        return self.weight.unpack(self.best[0])

    def _proved(self) -> Score:
        return self.weight.unpack(max(self.floor, 0))

    def _raise_floor(self, value: int) -> None:
        """No plan costs less than `value`."""
        self.floor = max(self.floor, value)
        if self.of_use is not None and self.floor >= self.of_use:
            raise NoBetter

    def _settle_promises(self) -> bool:
        """Find how many promises must be broken, by the studies alone that matter for it.

        Those are the studies with a promised date, those that they are promised after, and those that can give hours
        back. Without the others a plan keeps as many promises: what is left of it has wider gaps and no fewer hours.
        If none need be broken, promised dates become rules.
        """
        if not self._promises_are_settled():
            small = promising(self.problem)
            if len(small.needs) < self.count:
                least, places = Search(small, self.limit).fewest_broken()
                self._raise_floor(least * self.weight.broken)
                self._offer(places)
        if self._reached().broken == 0 and self._promises_bind():
            self.problem = kept(self.problem)
            self._prepare()
            if self._reached().unplaced == self._proved().unplaced:
                self.must = self.count - self._reached().unplaced
            return self._sweep(FIRST_WIDTH)
        return False

    def fewest_broken(self) -> tuple[int, dict[str, int]]:
        """How many promises must be broken at least, as far as it is proven, and a plan that breaks few."""
        self._prepare()
        try:
            if not self._best_first() and not self._sweep(FIRST_WIDTH):
                self._sweeps(self._promises_are_settled)
        except TimeUp:
            pass
        found = self._solution(False)
        return (found.score if self.done else self._proved()).broken, found.places

    def _promises_bind(self) -> bool:
        """Whether anything is promised."""
        return self.owed > 0 or any(need.after for need in self.problem.needs)

    def _promises_are_settled(self) -> bool:
        return self._proved().broken >= self._reached().broken

    def _offer(self, places: dict[str, int]) -> None:
        """Take a plan found elsewhere if it is better than the best one."""
        reached = score(self.problem, places)
        if reached is not None:
            path = self._path_of(places)
            self.best = min(self.best or (IMPOSSIBLE, 0), (self.weight.pack(reached), path))

    def _places_of(self, path: int) -> dict[str, int]:
        return {self.keys[number]: slot for number, slot in self.space.places(path).items()}

    def _path_of(self, places: dict[str, int]) -> int:
        rank = {key: number for number, key in self.keys.items()}
        held = {slot: rank[key] for key, slot in places.items()}
        return sum(self.space.path(slot, held.get(slot, self.space.nothing)) for slot in range(self.slots))

    def _settle_count(self) -> bool:
        """Find how many studies can be placed if no more promises are broken; whether the best plan is proven."""
        if not self._promises_are_settled():
            return False
        reached, most = self._placed(), self.count - self._proved().unplaced
        if reached < most and self._sweep(WIDE):
            return True
        while (reached := self._placed()) < (most := self.count - self._proved().unplaced):
            self.must = most
            self._make_capacity()
            possible = self._holds(0, 0, self.space.root)
            if possible:
                for width in (FIRST_WIDTH, *SCARCE_WIDTHS):
                    possible = not self._sweep(width)
                    if self._placed() == most or not possible:
                        break
                else:
                    self.must = self.capacity = None
                    return False
            if self._placed() < most:
                broken = self._reached().broken
                self._raise_floor(self.weight.pack(Score(broken, self.count - most + 1, 0, 0, 0, 0, 0)))
            elif not possible:
                return True
        self.must = self._placed()
        self.capacity = None  # it costs more than it saves once the number is known
        return False

    def _make_capacity(self) -> None:
        assert self.must is not None
        try:
            self.capacity = Capacity(self.space, self.room, self.safe, self.must, self.limit)
        except TooLarge:
            self.capacity = None

    def _holds(self, slot: int, used: int, state: int) -> bool:
        """Whether as many studies as must be placed still fit, as far as can be told."""
        if self.capacity is None:
            return True
        try:
            return self.capacity.holds(slot, used, state)
        except TooLarge:
            self.capacity = None
            return True

    def _placed(self) -> int:
        return self.count - self._reached().unplaced

    def _hours_bind(self) -> bool:
        """Whether the hours cannot hold every study, even at its least."""
        rests = [self.space.rest(s, own, 0) for s, own in enumerate(self.space.parts(self.space.root))]
        return _least_left_out(rests, self.most) > 0

    def _charge_prices(self) -> None:
        """Find prices for hours and slots, and put them into the tables."""
        if self.best is None:
            return
        out, parts = self._reached().unplaced, self.parts
        target = self.best[0] - self.owed - out * self.weight.unplaced
        if self.must == self.count:
            self._narrow()
            parts = in_one(self.space)
        self.prices = find_prices(self.space, parts, self.weight, self.room, out, target, self.reaches, self.limit)
        if self.must == self.count:
            self._narrow()
        self._make_tables()

    def _narrow(self) -> bool:
        """See where the studies stand in plans that place all and are no dearer than the best one known.

        Returns:
            Whether that lets tables tell more classes apart.
        """
        assert self.best is not None
        before = self.parts
        self.reaches = find_reaches(self.space, self.prices, self.best[0] - self.owed, self.reaches, self.limit)
        self.parts = [parts_of(*each) for each in zip(self.groups, self.grids, self.reaches, strict=True)]
        return self.parts != before

    def _solution(self, proven: bool) -> Solution:
        if self.best is None:
            return Solution({}, self._nothing(), False, min(self._proved(), self._nothing()), self.expanded)
        cost, path = self.best
        reached = self.weight.unpack(cost)
        bound = reached if proven else min(self._proved(), reached)
        return Solution(self._places_of(path), reached, proven, bound, self.expanded)

    def _nothing(self) -> Score:
        return Score(self.owed // self.weight.broken, self.count, 0, 0, 0, 0, 0)


def _no_prices(room: Sequence[int]) -> Prices:
    return Prices.of([0] * len(room), [0] * len(room), room)


def _least_left_out(rests: Sequence[Rest], budget: int) -> int:
    """How many of the open studies the hours cannot hold, however they are chosen: smallest first."""
    if sum(rest.minutes[0] for rest in rests) <= budget:
        return 0
    sizes = sorted(size for rest in rests for size in rest.sizes)
    needed = sum(sizes)
    out = 0
    while sizes and needed > budget:
        needed -= sizes.pop()
        out += 1
    return out


def _undominated(rivals: list[Node], node: Node) -> bool:
    """Add `node` to the rivals of its state unless one is at least as good in cost, path and minutes used."""
    _, path, used, cost, _ = node
    for rival in rivals:
        if rival[2] <= used and (rival[3] < cost or (rival[3] == cost and rival[1] <= path)):
            return False
    rivals[:] = [r for r in rivals if r[2] < used or r[3] < cost or (r[3] == cost and r[1] < path)]
    rivals.append(node)
    return True


def _room(problem: Problem, groups: Sequence[Sequence[StudyClass]]) -> tuple[list[int], list[int]]:
    """For every slot, how many minutes may be used once its study must be ready.

    Returns:
        The most from which the days to come can be met if studies give back as much as any could; and the most
        from which they are met if nothing more is placed. They are the same unless some study takes less than the
        standing content that it replaces.
    """
    room: list[int] = []
    safe: list[int] = []
    after = free = NO_LIMIT
    until = len(problem.spare)
    for slot in reversed(range(len(problem.slots))):
        ready = problem.ready[slot]
        here = min(problem.spare[max(ready, 0) : max(until, 0)], default=NO_LIMIT)
        until = ready
        room.append(min(here, after))
        safe.append(min(here, free))
        least = min((g.minutes for series in groups for g in series if g.cost[slot] < IMPOSSIBLE), default=None)
        relief = max(problem.standing[slot] - least, 0) if least is not None and ready >= 0 else 0
        after, free = room[-1] + relief, safe[-1]
    return room[::-1], safe[::-1]
