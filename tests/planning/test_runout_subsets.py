"""Plans of many sets of studies of one series at once: each is the one that a search for that set alone finds."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import count
from random import Random

import effort
import pytest
from books import TODAY, small, sunday

from showrunner.domain.book import Book
from showrunner.domain.episode import Episode, Pin, PinKind, Series, StageMinutes, Window
from showrunner.domain.house import Unsure
from showrunner.planning.candidates import candidates
from showrunner.planning.frame import frame
from showrunner.planning.problem import Problem
from showrunner.planning.search import Solution, solve
from showrunner.planning.subsets import Subsets

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
    for seed in range(0, 80, 1 if effort.whole else 4):
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
