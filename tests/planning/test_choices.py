"""Dating anew: the fewest moves, the fewest within the longest gaps, and the best dates, against every placement."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise, permutations
from random import Random

import pytest
from books import TODAY, small, sunday

from showrunner.domain.book import Book
from showrunner.planning.aims import Aim
from showrunner.planning.choices import choices
from showrunner.planning.plan import make_plan

SUNDAYS = [date(2026, 3, 8) + timedelta(weeks=n) for n in range(7)]
TARGET, MOST = 2, 3
"""Weeks wished and weeks at most between two studies."""


def planned(seed: int) -> tuple[Book, dict[str, date]]:
    """Three studies of little work, planned for some Sundays, of which one or two are no slots any more."""
    dice = Random(seed)
    book = small(3, hours=0)
    series = replace(book.series[0], min_weeks=1, target_weeks=TARGET, max_weeks=MOST)
    days = dict(zip(("s0", "s1", "s2"), sorted(dice.sample(SUNDAYS, 3)), strict=True))
    gone = dice.sample(SUNDAYS[:5], dice.randint(1, 2))
    rule = replace(book.rule("sunday"), last=SUNDAYS[-1], left_out=tuple(sorted(gone)))
    studies = [replace(book.episode(id), slot=sunday(day)) for id, day in days.items()]
    return book.put("series", series).put("rules", rule).put("episodes", *studies), days


def figures(days: dict[str, date], before: dict[str, date]) -> tuple[int, int, int, int, int]:
    """Gaps too long, moves, days moved, unevenness in days squared, and the sum of the days."""
    order = sorted(days.values())
    gaps = [(b - a).days for a, b in pairwise(order)]
    moved = [abs((day - before[id]).days) for id, day in days.items() if day != before[id]]
    uneven = sum((gap - 7 * TARGET) ** 2 for gap in gaps)
    return sum(gap > 7 * MOST for gap in gaps), len(moved), sum(moved), uneven, sum(d.toordinal() for d in order)


@pytest.mark.parametrize("seed", range(24))
def test_each_way_is_the_best_of_all_placements(seed: int) -> None:
    book, before = planned(seed)
    rule = book.rule("sunday")
    open_days = [day for day in SUNDAYS if day not in rule.left_out]
    every = [dict(zip(before, days, strict=True)) for days in permutations(open_days, 3)]
    told = [figures(days, before) for days in every]
    wide, moves, days, uneven = min(told)[:4]
    even, fewest, best = choices(book, TODAY, horizon_weeks=8)
    assert (even.aim, even.wide, even.moves, even.days, even.points * 49) == (Aim.EVEN, wide, moves, days, uneven)
    of_moves = min(told, key=lambda found: found[1:])
    assert (fewest.aim, fewest.moves, fewest.days, fewest.points * 49) == (Aim.FEWEST, *of_moves[1:4])
    assert (best.aim, best.points * 49) == (Aim.BEST, min(found[3] for found in told))
    assert all(choice.proven and choice.unplaced == 0 for choice in (even, fewest, best))
    plan = make_plan(book, TODAY, horizon_weeks=8, aim=Aim.EVEN)
    slots = {item.id: item.slot.day for item in plan.studies}
    assert figures(slots, before)[:4] == (wide, moves, days, uneven)


def test_the_longest_gaps_make_a_difference_somewhere() -> None:
    """Were the two ways always the same, nothing above would show that gaps count."""
    found = [choices(planned(seed)[0], TODAY, horizon_weeks=8)[:2] for seed in range(24)]
    assert any(even.wide < fewest.wide for even, fewest in found)
