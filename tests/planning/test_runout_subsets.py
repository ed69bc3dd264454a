"""Plans of many sets of studies of one series at once: each is the one that a search for that set alone finds."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import combinations, count
from random import Random

import effort
import pytest
from books import TODAY, small, sunday
from test_search import every_plan, weekly
from test_search_of_every_kind import varied

from showrunner.domain.book import Book
from showrunner.domain.episode import Episode, Pin, PinKind, Series, StageMinutes, Window
from showrunner.domain.house import Unsure
from showrunner.planning.candidates import candidates
from showrunner.planning.frame import frame
from showrunner.planning.limit import ENDLESS, Limit
from showrunner.planning.parties import fitting
from showrunner.planning.problem import Need, Problem, Score, Spacing
from showrunner.planning.search import Solution, solve
from showrunner.planning.subsets import Subsets, _Alone

WEEKS = 24


def random_book(seed: int) -> Book:
    """Two series, on one slot or on two; windows, dates and orders here and there; hours that may be short."""
    random = Random(seed)
    book = small(
        random.randint(2, 4),
        unsure=random.randint(1, 4),
        gaps=random.choice(((1, 2, 4), (2, 3, 5), (3, 5, 7))),
        hours=random.choice((4, 10, 20, 34)),
    )
    own = random.random() < 0.6
    rule = replace(book.rules[0], standing_minutes=random.choice((0, 0, 300, 600)))
    day = replace(rule, id="wednesday", weekday=2) if own else rule
    second = Series(
        "ties", "Ties", "none", (day.id,), 1, random.randint(1, 4), 9, StageMinutes(edit=random.choice((240, 900)))
    )
    ties = [Episode(f"t{n}", f"Tie {n}", series="ties") for n in range(random.randint(0, 3))]
    studies = []
    for study in (*book.episodes, *ties):
        if random.random() < 0.3:
            first = TODAY + timedelta(weeks=random.randint(0, 12))
            last = first + timedelta(weeks=random.randint(2, 6))
            study = replace(study, windows=(Window(first, last, hard=random.random() < 0.5),))
        studies.append(study)
    random.shuffle(studies)
    pins, number = [], count()
    if random.random() < 0.3:
        slot = sunday(date(2026, 3, 8) + timedelta(weeks=random.randint(0, 10)))
        pins.append(Pin(f"pin-{next(number)}", PinKind.DATE, ("s0",), slot))
    if random.random() < 0.4:
        one, two = random.sample([study.id for study in studies], 2)
        pins.append(Pin(f"pin-{next(number)}", PinKind.ORDER, (one, two)))
    return replace(
        book,
        rules=(rule, day) if own else (rule,),
        series=(*book.series, second),
        episodes=tuple(studies),
        pins=tuple(pins),
    )


@pytest.mark.slow
@pytest.mark.examples
def test_each_set_has_the_plan_that_a_search_finds(monkeypatch: pytest.MonkeyPatch) -> None:
    searched: list[None] = []
    search = Subsets._search

    def counted(self: Subsets, problem: Problem) -> Solution:
        if any(need.series == 0 for need in problem.needs):
            searched.append(None)
        return search(self, problem)

    monkeypatch.setattr(Subsets, "_search", counted)
    sets = 0
    for seed in range(0, 80, 1 if effort.share == 1 else 4):
        book, random = random_book(seed), Random(seed)
        every, _ = candidates(book, Unsure.UNSHOWN)
        whole = frame(book, TODAY, every, horizon_weeks=WEEKS).problem
        mine = [study.key for study in every if study.series.id == "looks"]
        subsets = Subsets(whole, 0)
        for keys in (set(mine), set(), *(set(random.sample(mine, random.randint(1, len(mine)))) for _ in range(3))):
            studies = tuple(study for study in every if study.series.id != "looks" or study.key in keys)
            alone = solve(frame(book, TODAY, studies, horizon_weeks=WEEKS).problem)
            found = subsets.solve(keys)
            assert (found.places, found.score, found.proven) == (alone.places, alone.score, alone.proven), (seed, keys)
            sets += 1
    # The table answers for many sets, but not where the series compete for hours, slots or an order.
    assert sets / 10 < len(searched) < sets * 2 / 3


def test_plans_equal_in_every_aim_are_told_apart_by_book_order() -> None:
    book = small(3)
    whole = frame(book, TODAY, candidates(book, Unsure.UNSHOWN)[0], horizon_weeks=WEEKS).problem
    found = Subsets(whole, 0).solve({"s1", "s2"})
    assert sorted(found.places, key=lambda key: found.places[key]) == ["s1", "s2"]
    # The window of the last costs nothing where it stands first, so that it still comes after those before it.
    late = replace(book.episodes[2], windows=(Window(date(2026, 3, 2), date(2026, 12, 31)),))
    book = book.put("episodes", late)
    whole = frame(book, TODAY, candidates(book, Unsure.UNSHOWN)[0], horizon_weeks=WEEKS).problem
    found = Subsets(whole, 0).solve({"s0", "s1", "s2"})
    assert sorted(found.places, key=lambda key: found.places[key]) == ["s0", "s1", "s2"]


def test_a_table_that_is_out_of_time_gives_way_to_the_search() -> None:
    """A clock on which every look takes a second: the search too comes back with what it has, unproven."""
    book = small(4, unsure=3)
    whole = frame(book, TODAY, candidates(book, Unsure.UNSHOWN)[0], horizon_weeks=WEEKS).problem
    ticks = count()
    subsets = Subsets(whole, 0, 5.0, lambda: float(next(ticks)))
    found = subsets.solve({"s0", "s1", "s2", "s3"})
    assert not found.proven
    subsets.ticker = None
    assert subsets.solve({"s0", "s1", "s2", "s3"}).proven


def mixed(seed: int) -> Problem:
    """Studies of several series in book order, with everything but old dates, in slots that replace unlike amounts."""
    dice, problem = Random(f"mixed {seed}"), varied(seed)
    needs = tuple(
        replace(need, order=at, series=at if at < 2 else need.series, planned_slot=None, planned_day=None)
        for at, need in enumerate(problem.needs)
    )
    spacings = (*problem.spacings, Spacing(7, 14, None))
    standing = tuple(dice.choice((0, each, 120)) for each in problem.standing)
    return replace(problem, needs=needs, spacings=spacings, standing=standing, keep=False)


def best_of(problem: Problem) -> tuple[Score, dict[str, int]]:
    """The best plan there is, in book order."""
    best, _, places = min(every_plan(problem), key=lambda plan: plan[:2])
    return best, places


@pytest.mark.parametrize("seed", range(40))
def test_of_every_plan_each_set_has_the_best_and_is_searched_for_only_where_it_must(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It must where promised dates cannot be kept, or the best plan of the series, which has all hours and no orders,
    and that of the others, which have what it could give back, do not go together."""
    problem = mixed(seed)
    searched: list[Problem] = []
    search = Subsets._search
    monkeypatch.setattr(Subsets, "_search", lambda self, part: (searched.append(part), search(self, part))[1])
    subsets, free = Subsets(problem, 0), fitting(problem)
    mine = [need.key for need in problem.needs if need.series == 0]
    relief = sum(max(*problem.standing, need.minutes) - need.minutes for need in problem.needs if need.series == 0)
    others = tuple(need for need in problem.needs if need.series != 0)
    names = {need.key for need in others}
    others = tuple(replace(need, after=tuple(key for key in need.after if key in names)) for need in others)
    beside, there = best_of(replace(problem, needs=others, spare=tuple(each + relief for each in problem.spare)))
    ample = replace(free, spare=(10**6,) * len(problem.spare))
    for size in range(len(mine) + 1):
        for keys in combinations(mine, size):
            part = replace(problem, needs=tuple(n for n in problem.needs if n.series != 0 or n.key in keys))
            left = {need.key for need in part.needs}
            part = replace(
                part, needs=tuple(replace(n, after=tuple(k for k in n.after if k in left)) for n in part.needs)
            )
            best, places = best_of(part)
            searched.clear()
            found = subsets.solve(keys)
            assert (found.score, found.places, found.proven) == (best, places, True), keys
            alone = tuple(replace(need, after=()) for need in ample.needs if need.key in keys)
            own, here = best_of(replace(ample, needs=alone))
            together = tuple(getattr(own, name) + getattr(beside, name) for name in Score.__slots__)
            fits = places == {**there, **here} and together == tuple(getattr(best, n) for n in Score.__slots__)
            again = [each for each in searched if any(need.series == 0 for need in each.needs)]
            assert len(again) == (not fits or own.broken > 0) or not keys, keys


def test_the_others_are_searched_for_once(monkeypatch: pytest.MonkeyPatch) -> None:
    needs = tuple(Need(f"s{n}", n, n % 2, 60, (0,) * 6) for n in range(4))
    apart = tuple(replace(n, cost=tuple(0 if at % 2 == n.series else None for at in range(6))) for n in needs)
    subsets = Subsets(weekly(6, apart, (Spacing(14, 14, None),) * 2, [600] * 6, 0), 0)
    searched: list[Problem] = []
    search = Subsets._search
    monkeypatch.setattr(Subsets, "_search", lambda self, part: (searched.append(part), search(self, part))[1])
    for keys in ((), ("s0",), ("s0", "s2"), ("s2",)):
        found = subsets.solve(keys)
        assert found.places == {"s1": 1, "s3": 3} | {key: 2 * at for at, key in enumerate(keys)}
        assert found.expanded > 0
    assert len(searched) == 1


def test_a_set_without_others_is_what_the_table_says() -> None:
    """Three weeks hold two of three studies, wished two weeks apart; without any there is nothing to place."""
    needs = tuple(Need(f"s{n}", n, 0, 60, (0,) * 3) for n in range(3))
    problem = weekly(3, needs, (Spacing(14, 14, None),), [600] * 3, 0)
    subsets = Subsets(problem, 0)
    assert subsets.solve(("s0", "s1", "s2")).places == {"s0": 0, "s1": 2}
    assert subsets.solve(("s0", "s1", "s2")).score == Score(0, 1, 0, 0, 0, 0, 26)
    assert subsets.solve(()).score == Score(0, 0, 0, 0, 0, 0, 0)
    assert subsets.solve(("s2",)).places == {"s2": 0}


def test_the_table_takes_its_share_of_the_time_and_no_more() -> None:
    """Half of what there is for one plan; what is left of it goes to the search."""
    limits: list[Limit] = []
    needs = tuple(Need(f"s{n}", n, 0, 60, (0,) * 8) for n in range(4))
    subsets = Subsets(weekly(8, needs, (Spacing(7, 14, None),), [600] * 8, 0), 0, 10.0, lambda: 0.0)
    places = _Alone.places

    def noted(self: _Alone, needs: list[Need], limit: Limit) -> tuple[dict[str, int], int] | None:
        limits.append(limit)
        found = places(self, needs, limit)
        assert self.table.time is ENDLESS
        return found

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(_Alone, "places", noted)
        assert subsets.solve({"s0", "s1"}).proven
    assert [limit.until for limit in limits] == [5.0]


def test_the_others_have_the_hours_that_the_series_could_give_back() -> None:
    """Finished work in the first slot frees 240 minutes, without which the long study of the other has no room."""
    free: tuple[int | None, ...] = (0,) * 2
    needs = (Need("done", 0, 0, 0, free), Need("long", 1, 1, 1100, free))
    problem = weekly(2, needs, (Spacing(7, 7, None), Spacing(7, 7, None)), [600] * 2, 240)
    subsets = Subsets(problem, 0)
    assert subsets.solve({"done"}).places == {"done": 0, "long": 1}
    assert subsets.solve(()).places == {}


def test_of_studies_that_cost_the_same_in_a_slot_the_first_in_the_book_has_it() -> None:
    """They differ in their hours alone, of which there are plenty."""
    needs = tuple(Need(f"s{n}", n, 0, 60 + n % 2, (0,) * 8) for n in range(4))
    subsets = Subsets(weekly(8, needs, (Spacing(7, 14, None),), [600] * 8, 0), 0)
    assert subsets.solve({"s0", "s1", "s2", "s3"}).places == {"s0": 0, "s1": 2, "s2": 4, "s3": 6}
    assert subsets.solve({"s1", "s2"}).places == {"s1": 0, "s2": 2}
