"""The parts of the placing search, each beside what its words say, worked out plainly."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import combinations

import pytest
from test_search import Ticks, every_plan, tied, weekly
from test_search_effort import apart, crowd
from test_search_of_every_kind import varied

from showrunner.planning import search
from showrunner.planning.limit import ENDLESS, Limit
from showrunner.planning.parties import fitting, parties
from showrunner.planning.problem import NOWHERE, Need, Problem, Score, Spacing, score
from showrunner.planning.search import NO_LIMIT, Node, Search, Solution, hopeless, solve
from showrunner.planning.stages import Stage
from showrunner.planning.tables import IMPOSSIBLE

SEEDS = range(0, 60, 2)


def ready_for(problem: Problem) -> Search:
    """The search with all its tables, before its first step."""
    ready = Search(problem, ENDLESS)
    ready._prepare()
    return ready


def plain(seed: int) -> Problem:
    """A small problem of every kind, whose slots replace unlike amounts and are partly to be ready before today."""
    dice = random.Random(f"plain {seed}")
    problem = varied(seed)
    standing = tuple(dice.choice((0, each, 200)) for each in problem.standing)
    past = dice.choice((0, 0, 1, 2))
    return replace(problem, standing=standing, ready=(*(-1,) * past, *problem.ready[past:]))


# -- hours -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", SEEDS)
def test_room_is_what_the_days_to_come_leave_with_all_that_may_be_given_back(seed: int) -> None:
    problem = plain(seed)
    ready = ready_for(problem)
    may = [
        [n for n in ready.problem.needs if n.cost[at] is not None and (problem.ready[at] >= 0 or not n.minutes)]
        for at in range(ready.slots)
    ]
    back = [
        max(problem.standing[at] - min(n.minutes for n in may[at]), 0) if may[at] and problem.ready[at] >= 0 else 0
        for at in range(ready.slots)
    ]
    for at, due in enumerate(problem.ready):
        days = range(max(due, 0), len(problem.spare))
        given = {d: sum(back[s] for s in range(at + 1, ready.slots) if problem.ready[s] <= d) for d in days}
        assert ready.safe[at] == min((problem.spare[day] for day in days), default=NO_LIMIT)
        assert ready.room[at] == min((problem.spare[day] + given[day] for day in days), default=NO_LIMIT)
    assert ready.most == (ready.room[-1] if ready.room else 0)


def test_hours_that_just_hold_all_studies_are_not_hopeless() -> None:
    needs = tuple(Need(f"s{n}", n, n, 300, (0,) * 3) for n in range(2))
    problem = weekly(3, needs, (Spacing(7, 14, None),) * 2, [200] * 3, 0)
    assert not hopeless(problem)
    assert hopeless(replace(problem, spare=(*problem.spare[:-1], 599)))
    assert hopeless(replace(problem, spare=(*problem.spare[:-2], 599, 600)))
    assert not hopeless(replace(problem, spare=(*problem.spare[:-3], 599, 600, 600)))  # the last is ready after that
    given = replace(problem, spare=(0,) * 21, standing=(0, 300, 20))
    assert not hopeless(given)
    assert hopeless(replace(given, standing=(0, 299, 20)))
    late = replace(problem, ready=(-3, -2, -1), spare=(599, *(600,) * 20))
    assert hopeless(late)
    assert not hopeless(replace(late, spare=(600,) * 21))
    assert not hopeless(replace(problem, needs=()))
    none = replace(problem, slots=(), days=(), ready=(), standing=(), needs=(replace(needs[0], cost=()),))
    assert hopeless(none)
    assert not hopeless(replace(none, needs=(replace(needs[0], cost=(), minutes=0),)))
    assert hopeless(replace(none, needs=(replace(needs[0], cost=(), minutes=1),)))


@pytest.mark.parametrize("seed", SEEDS)
def test_the_fewest_are_left_out_for_the_hours(seed: int) -> None:
    problem = crowd(seed, minutes=(0, 30, 120, 300))
    ready = ready_for(problem)
    rests = [ready.space.rest(series, own, 0) for series, own in enumerate(ready.space.parts(ready.space.root))]
    sizes = [n.minutes - 60 for n in problem.needs]
    for budget in (-400, -61, -60, 0, 60, 200, sum(sizes) - 241, sum(sizes) - 240, sum(sizes) - 1, sum(sizes)):
        fits = [
            number
            for number in range(len(sizes) + 1)
            if any(sum(chosen) <= budget for chosen in combinations(sizes, number))
        ]
        assert search._least_left_out(rests, budget) == len(sizes) - max(fits, default=0)


# -- bounds ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", SEEDS)
def test_no_plan_costs_less_than_any_state_that_leads_to_it(seed: int) -> None:
    """Of every state on the way to the best plan, and to the best of each number of studies placed."""
    problem = varied(seed)
    ready = ready_for(problem)
    orders = {need.order: need.key for need in problem.needs}
    best: dict[int, tuple[int, dict[str, int]]] = {}
    for reached, _, places in every_plan(problem):
        cost = ready.weight.pack(reached)
        for number in (len(places), -1):
            best[number] = min(best.get(number, (IMPOSSIBLE, {})), (cost, places), key=lambda plan: plan[0])
    assert orders
    for number, (cost, places) in best.items():
        ready.must = None if number < 0 else number
        node, at = ready._root(), {slot: key for key, slot in places.items()}
        assert node[0] <= cost
        for slot in range(ready.slots):
            ready.best = None
            wanted = ready.ranks[next(n.order for n in problem.needs if n.key == at[slot])] if slot in at else None
            stage, into = Stage(ready.space, slot), node
            digit = ready.space.path(slot, ready.space.nothing if wanted is None else wanted)
            alike = [child for child in ready.children(stage, into) if child[1] - into[1] == digit]
            if not alike:  # another of its class, that stands before it in the book
                break
            (node,) = alike
            assert into[0] <= node[0] <= cost
        else:
            assert node[0] == node[3] == cost


@pytest.mark.parametrize("seed", SEEDS)
def test_a_state_is_worth_what_the_bound_says(seed: int) -> None:
    """However it is come by: the short way that most states take, and the long one."""
    problem = varied(seed)
    ready = ready_for(problem)
    layer = [ready._root()]
    for slot in range(ready.slots):
        stage, fresh = Stage(ready.space, slot), []
        for node in layer:
            for child in ready.children(stage, node):
                value, _, used, cost, state = child
                rests = [ready.space.rest(s, own, slot + 1) for s, own in enumerate(ready.space.parts(state))]
                if slot + 1 < ready.slots:
                    assert value == cost + ready.bound(slot + 1, used, rests)
                else:
                    assert value == cost
                fresh.append(child)
        layer = fresh[:30]


def test_one_series_with_ample_hours_costs_what_its_table_says() -> None:
    needs = tuple(Need(f"s{n}", n, 0, 60, (0,) * 8) for n in range(3))
    problem = weekly(8, needs, (Spacing(7, 14, -1),), [600] * 8, 0)
    ready = ready_for(problem)
    found = solve(problem)
    assert ready._root() == (ready.weight.pack(found.score), 0, 0, 0, ready.space.root)
    promised = replace(problem, needs=(replace(needs[0], promised=NOWHERE, worth=3), *needs[1:]))
    ready = ready_for(promised)
    assert ready._root()[0] == ready.weight.pack(solve(promised).score)
    assert ready._nothing() == Score(3, 3, 0, 0, 0, 0, 0)


# -- states ----------------------------------------------------------------------------------------------------------


def some_nodes(dice: random.Random, number: int) -> list[Node]:
    return [(dice.randrange(4), dice.randrange(4), dice.randrange(4), dice.randrange(4), 7) for _ in range(number)]


def beats(one: Node, other: Node) -> bool:
    """Whether one is at least as good as the other in minutes used, and in cost and then path."""
    return one[2] <= other[2] and (one[3], one[1]) <= (other[3], other[1])


@pytest.mark.parametrize("seed", range(40))
def test_of_states_alike_those_are_kept_that_no_other_is_as_good_as(seed: int) -> None:
    nodes = some_nodes(random.Random(seed), 12)
    rivals: list[Node] = []
    for number, node in enumerate(nodes):
        new = not any(beats(other, node) for other in nodes[:number])
        assert search._undominated(rivals, node) == new
    told = {node[1:4] for node in rivals}
    assert len(told) == len(rivals)
    assert told == {n[1:4] for n in nodes if not any(beats(o, n) and o[1:4] != n[1:4] for o in nodes)}


@pytest.mark.parametrize("piece", [1, 3, 100])
@pytest.mark.parametrize("seed", range(20))
def test_the_best_states_are_kept_and_one_that_is_safe_with_them(
    seed: int, piece: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(search, "PIECE", piece)
    dice = random.Random(seed)
    layer = list(dict.fromkeys(some_nodes(dice, 12)))
    ready = ready_for(tied(seed))
    ready.safe = [dice.randrange(4) for _ in ready.safe]
    ready.best = dice.choice((None, None, (IMPOSSIBLE, 0)))
    slot, width = dice.choice((0, 1, 2)), dice.randint(1, len(layer) - 1)
    kept, dropped = ready._cut(layer, width, slot)
    first, after = sorted(layer)[:width], sorted(layer)[width]
    safe = [node for node in sorted(layer) if slot == 0 or node[2] <= ready.safe[slot - 1]]
    if ready.best is None and safe and not {*safe} & {*first}:
        first.append(safe[0])
    assert (kept, dropped) == (first, after[:2])


@pytest.mark.parametrize("seed", SEEDS)
def test_a_sweep_that_is_stopped_gives_the_best_it_had_come_to(seed: int) -> None:
    problem = plain(seed)
    ready = ready_for(problem)
    layer, nothing = [ready._root()], ready.space.nothing
    for slot in range(ready.slots):
        plans = []
        for node in layer:
            path = node[1] + sum(ready.space.path(later, nothing) for later in range(slot, ready.slots))
            places = {ready.keys[number]: at for number, at in ready.space.places(path).items()}
            if (reached := score(ready.problem, places)) is not None:
                plans.append((ready.weight.pack(reached), path))
        ready.best = None
        ready._salvage(slot, layer)
        assert ready.best == min(plans, default=None)
        ready.best = None
        layer = ready._decide(slot, layer)


# -- out of time -----------------------------------------------------------------------------------------------------


def at_once(problem: Problem) -> Solution:
    """What comes of a search whose time is up at once."""
    return Search(problem, Limit.of(0, Ticks())).run()


def placed_plainly(problem: Problem) -> dict[str, int]:
    """Slot by slot, of the first series that has one the cheapest study that is not cheaper in the series' next slot.

    A study stands nowhere where the hours of any day would not hold it, nor before one that it is promised after.
    """
    problem = fitting(problem)
    weight = Search(problem, ENDLESS).weight
    ample = replace(problem, spare=tuple(10**6 for _ in problem.spare))
    places: dict[str, int] = {}

    def price(need: Need, slot: int) -> int | None:
        bare = replace(ample, needs=tuple(replace(each, after=()) for each in ample.needs))
        reached = score(bare, places | {need.key: slot})
        return None if reached is None else weight.pack(reached)

    for slot in range(len(problem.slots)):
        for series in range(len(problem.spacings)):
            mine = [need for need in problem.needs if need.series == series]
            usable = [
                at
                for at, ready in enumerate(problem.ready)
                if any(n.cost[at] is not None and (ready >= 0 or not n.minutes) for n in mine)
            ]
            if slot not in usable:
                continue
            later = next((at for at in usable if at > slot), slot)
            here = []
            for need in mine:
                now = None if need.key in places else price(need, slot)
                if now is None or score(problem, places | {need.key: slot}) is None:
                    continue
                then = price(need, later)
                if {*need.after} <= {*places} and (then is None or now <= then):
                    here.append((now, need.order, need.key))
            if here:
                places[min(here)[2]] = slot
                break
    return places


@pytest.mark.parametrize("seed", range(0, 240, 3))
def test_without_time_each_study_comes_as_soon_as_waiting_is_not_cheaper(seed: int) -> None:
    problem = plain(seed)
    found = at_once(problem)
    assert not found.proven
    assert found.places == placed_plainly(problem), seed
    assert found.score == score(problem, found.places)
    assert found.bound == Score(0, 0, 0, 0, 0, 0, 0)


def test_without_time_series_keep_the_gaps_wished() -> None:
    """Two series on slots of their own, both wished every second of them, and one that has no gap to keep."""
    needs = tuple(Need(f"s{n}", n, n % 2, 60, (0,) * 12) for n in range(6))
    problem = apart(weekly(12, needs, (Spacing(14, 28, None),) * 2, [600] * 12, 0))
    assert at_once(problem).places == {"s0": 0, "s2": 4, "s4": 8, "s1": 1, "s3": 5, "s5": 9}


def test_what_is_known_from_elsewhere_is_the_bound_of_a_search_without_time() -> None:
    problem = crowd(1, hours=150)
    floor = Score(0, 1, 0, 0, 0, 3, 200)
    assert Search(problem, Limit.of(0, Ticks())).run(floor).bound == floor
    assert at_once(problem).bound == Score(0, 0, 0, 0, 0, 0, 0)


@pytest.mark.parametrize("narrow", [False, True])
@pytest.mark.parametrize("seed", range(6))
def test_stopped_anywhere_it_has_a_plan_no_better_than_the_bound(
    seed: int, narrow: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    if narrow:
        monkeypatch.setattr(search, "EASY", 0)
        monkeypatch.setattr(search, "FIRST_WIDTH", 3)
    problem = crowd(seed, hours=170, dated=0.2 if seed % 2 else 0, ordered=0.2 if seed % 3 else 0)
    best = solve(problem)
    for limit in (0, 10, 30, 60, 90, 120, 180, 250, 400):
        found = solve(problem, time_limit=limit, ticker=Ticks())
        assert found.score == score(problem, found.places)
        assert found.bound <= best.score <= found.score
        assert not found.proven or found.places == best.places


# -- parties ---------------------------------------------------------------------------------------------------------


def test_the_aims_of_parties_add_up() -> None:
    one, other = Score(1, 2, 3, 4, 5, 6, 7), Score(10, 20, 30, 40, 50, 60, 70)
    low, least = Score(0, 1, 0, 2, 0, 3, 0), Score(1, 0, 2, 0, 3, 0, 4)
    first, second = Solution({"a": 3}, one, True, low, 5), Solution({"b": 1}, other, False, least, 9)
    found = search._together([first, second], 14)
    assert found == Solution({"a": 3, "b": 1}, Score(11, 22, 33, 44, 55, 66, 77), False, Score(1, 1, 2, 2, 3, 3, 4), 14)
    assert search._together([first, first], 0).proven


def test_states_looked_into_for_the_parties_count() -> None:
    problem = apart(crowd(1, (3, 3), hours=165))
    alone = [solve(part).expanded for part in parties(problem)]
    assert len(alone) == 2
    assert solve(problem).expanded > sum(alone)
    ample = apart(crowd(1, (3, 3)))
    assert solve(ample).expanded == sum(solve(part).expanded for part in parties(ample))
