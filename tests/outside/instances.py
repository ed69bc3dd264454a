"""Placing problems for the judges: small random ones of every sort, and larger ones like the product's life.

Every problem is a pure function of its seed. Day 0 is Monday 2 March 2026; all clocks are UTC, since
the search sees instants and day offsets only.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from itertools import accumulate
from random import Random

from showrunner.domain.slot import Slot
from showrunner.planning.problem import NOWHERE, Need, Problem, Spacing

TODAY = date(2026, 3, 2)
WEEK = 7


def slots_on(
    rules: Iterable[tuple[int, int]], weeks: int, first_day: int = 0
) -> tuple[tuple[Slot, ...], tuple[int, ...]]:
    """Weekly slots and their day offsets, in order of their instants.

    Args:
        rules: weekday (0 Monday) and hour of every rule.
        weeks: number of weeks.
        first_day: day offset of the Monday of the first week.
    """
    slots = []
    for number, (weekday, hour) in enumerate(rules):
        for week in range(weeks):
            day = TODAY + timedelta(days=first_day + WEEK * week + weekday)
            slots.append(Slot(f"rule {number}", day, datetime.combine(day, time(hour), UTC)))
    slots.sort(key=lambda slot: slot.start)
    return tuple(slots), tuple((slot.day - TODAY).days for slot in slots)


def spare_minutes(
    length: int, weekly: list[int], ready: Iterable[int], standing: Iterable[int], dark: set[int]
) -> tuple[int, ...]:
    """Working minutes from today through each day, less the standing content that must be ready by then.

    Args:
        length: number of days.
        weekly: working minutes of each weekday, Monday first.
        ready: day by which each slot's content must be ready.
        standing: minutes of each slot's standing content.
        dark: days without work.
    """
    daily = [0 if day in dark else weekly[day % WEEK] for day in range(length)]
    for day, minutes in zip(ready, standing, strict=True):
        daily[max(day, 0)] -= minutes
    return tuple(max(total, 0) for total in accumulate(daily))


def outside(days: tuple[int, ...], first: int, last: int, hard: bool) -> tuple[int | None, ...]:
    """For every slot, the days squared outside a window; None there if it is hard."""
    distance = (max(first - day, day - last, 0) for day in days)
    return tuple(None if hard and away else away**2 for away in distance)


def random_problem(seed: int, *, keep: bool | None = None, tiny: bool = False) -> Problem:
    """A small problem of random sort.

    Args:
        seed: names the problem.
        keep: whether it is a re-plan; None lets the seed choose.
        tiny: whether it is to be small enough for looking at every placement.
    """
    random = Random(seed)
    chance = random.random
    keep = chance() < 0.3 if keep is None else keep
    two_rules = chance() < 0.5
    weeks = random.randint(2, 5) if tiny else random.randint(5, 13 if two_rules else 26)
    rules = [(random.randrange(7), 9)]
    if two_rules:
        rules.append((rules[0][0] if chance() < 0.3 else random.randrange(7), 18))
    slots, days = slots_on(rules, weeks, random.choice((0, 0, WEEK, 3 * WEEK)))
    if chance() < 0.03:
        slots, days = (), ()

    dark_slots = {slot for slot in range(len(slots)) if chance() < 0.1} if chance() < 0.4 else set()
    usual = [random.choice((0, 60, 180, 240)) for _ in rules]
    standing = tuple(
        0 if slot in dark_slots or (days[slot] < 14 and chance() < 0.3) else usual[int(each.rule[-1])]
        for slot, each in enumerate(slots)
    )
    lead = random.choice((0, 1, 1, 2, 5, 10))
    ready = tuple(day - lead for day in days)

    studies = 0 if chance() < 0.03 else random.randint(1, 3) if tiny else random.randint(2, 8)
    lengths = [random.choice((120, 300, 600, 1020)) for _ in range(2)]
    length = max(days, default=0) + 1
    plenty = random.choice((3.0, 2.0, 1.3, 0.9, 0.4))
    per_week = round(plenty * studies * max(lengths) / weeks) + sum(usual)
    weekly = [0] * WEEK
    for _ in range(4):
        weekly[random.randrange(WEEK)] += per_week // 4
    dark = set()
    if chance() < 0.3:
        first = random.randrange(length)
        dark = set(range(first, first + 14))
    spare = spare_minutes(length, weekly, ready, standing, dark)

    spacings = []
    for _ in range(random.randint(1, 2 if tiny else 3)):
        least = random.choice((0, 0, 1, 1, 2, 2, 3, 4, 5))
        spacings.append(
            Spacing(
                min_days=WEEK * least,
                target_days=WEEK * (least + random.randint(0, 3)),
                last_day=None if chance() < 0.3 else -random.randint(0, 60),
            )
        )

    needs: list[Need] = []
    promising = random.choice((0.0, 0.1, 0.1, 0.2, 0.7))
    loved = [random.randrange(len(slots)) for _ in range(2)] if slots else [NOWHERE]
    rule_of_series = [random.choice(("", "rule 0", "rule 1")) if two_rules and chance() < 0.5 else "" for _ in spacings]
    orders = random.sample(range(studies), studies)
    for number in range(studies):
        series = random.randrange(len(spacings))
        cost: list[int | None] = [0] * len(slots)
        for _ in range(random.choice((0, 0, 0, 1, 1, 2)) if slots else 0):
            first = random.randrange(length)
            window = outside(days, first, first + random.randint(0, 60), chance() < 0.4)
            cost = [None if a is None or b is None else a + b for a, b in zip(cost, window, strict=True)]
        if slots and chance() < 0.04:
            only = random.randrange(len(slots))
            cost = [each if slot == only else None for slot, each in enumerate(cost)]
        promise = None
        if chance() < promising:
            free = chance() < 0.6 and slots
            promise = random.randrange(len(slots)) if free else random.choice((*loved, NOWHERE))
        if chance() < 0.02:
            cost = [None] * len(slots)
        allowed = rule_of_series[series]
        cost = [
            None if slot in dark_slots or (allowed and slots[slot].rule != allowed) else each
            for slot, each in enumerate(cost)
        ]
        needs.append(
            Need(
                key=f"study {number}",
                order=orders[number],
                series=series,
                minutes=0 if chance() < 0.12 else random.choice(lengths),
                cost=tuple(cost),
                promised=promise,
            )
        )
    needs = ordered(random, needs, promising)
    if keep:
        needs = planned(random, needs, days)
    return Problem(slots, days, ready, standing, spare, tuple(needs), tuple(spacings), keep)


def ordered(random: Random, needs: list[Need], promising: float) -> list[Need]:
    """The studies with promised orders: some after one other, or two; now and then in a circle."""
    keys = [need.key for need in needs]
    after = []
    for at, need in enumerate(needs):
        others = keys[:at] if random.random() < 0.6 else [key for key in keys if key != need.key]
        count = random.choice((1, 1, 2)) if others and random.random() < promising else 0
        chosen = random.sample(others, min(count, len(others)))
        after.append(replace(need, after=tuple(sorted(chosen))))
    return after


def planned(random: Random, needs: list[Need], days: tuple[int, ...]) -> list[Need]:
    """The studies as of an older plan: mostly in slots of their own, some in slots now gone or past, some in none."""
    free = list(range(len(days)))
    random.shuffle(free)
    after = []
    for need in needs:
        chance = random.random()
        if chance < 0.6 and free:
            slot = free.pop()
            after.append(replace(need, planned_slot=slot, planned_day=days[slot]))
        elif chance < 0.8:
            after.append(replace(need, planned_day=random.randint(-21, max(days, default=0) + 21)))
        else:
            after.append(need)
    return after


def alike(
    random: Random,
    *,
    studies: int,
    series: int,
    weeks: int,
    rules: tuple[tuple[int, int], ...] = ((6, 9),),
    targets: tuple[int, ...],
    least: int,
    work_hours: float,
    standing_hours: float,
    study_hours: tuple[int, ...],
    windows: int,
) -> Problem:
    """A problem like the product's life: every series' studies mostly alike, a few with windows, steady weeks.

    Args:
        random: source of the windows, of the last published days, and of which studies take other hours.
        studies: number of studies, shared evenly by the series.
        series: number of series; all may use every slot.
        weeks: weeks looked at.
        rules: weekday and hour of the slot rules; all slots carry `standing_hours`.
        targets: wished gap of each series, weeks.
        least: least gap of every series, weeks.
        work_hours: working hours a week, over Tuesday, Thursday and Saturday.
        standing_hours: hours of the usual content of each slot.
        study_hours: hours a study takes; the first for most, the others for one in six.
        windows: number of studies with a soft window of some eight weeks.
    """
    slots, days = slots_on(rules, weeks)
    ready = tuple(day - 1 for day in days)
    standing = tuple([round(standing_hours * 60)] * len(slots))
    share = round(work_hours * 20)
    spare = spare_minutes(max(days) + 1, [0, share, 0, share, 0, share, 0], ready, standing, set())
    spacings = tuple(Spacing(WEEK * least, WEEK * targets[index], -random.randint(0, 42)) for index in range(series))
    with_window = set(random.sample(range(studies), windows))
    needs = []
    for number in range(studies):
        cost: tuple[int | None, ...] = (0,) * len(days)
        if number in with_window:
            first = random.randrange(0, max(days) // 2)
            cost = outside(days, first, first + 8 * WEEK, hard=False)
        hours = study_hours[0] if random.random() < 5 / 6 else random.choice(study_hours)
        needs.append(Need(f"study {number}", number, number % series, hours * 60, cost))
    return Problem(slots, days, ready, standing, spare, tuple(needs), spacings)


def demo_like() -> Problem:
    """Five studies of one series on 78 Sundays with windows and a fortnight without work, last published 36 days ago.

    Worked by hand (common practice): gaps of 8, 7, 7, 8 and 8 weeks to a target of 6 cost 4 + 1 + 1 + 4 + 4 = 14
    points; hours hold the first study until day 20 and the last one's hard window opens on day 227.
    """
    sunday, wednesday = (6, 9), (2, 18)
    slots, days = slots_on([sunday], 78)
    diaries = slots_on([wednesday], 78)[1]
    talk, diary, study = 4 * 60, 3 * 60, 17 * 60
    ready = tuple(day - 1 for day in days)
    spare = spare_minutes(
        max(days) + 1,
        [0, 120, 120, 120, 0, 240, 120],
        [*ready, *(day - 1 for day in diaries)],
        [talk] * 78 + [0] + [diary] * 77,  # the first diary is banked
        set(range(133, 147)),
    )
    free: tuple[int | None, ...] = (0,) * 78
    costs = [outside(days, -1, 59, False), free, outside(days, 91, 182, False), free, outside(days, 227, 363, True)]
    needs = tuple(Need(f"study {number}", number, 0, study, cost) for number, cost in enumerate(costs))
    return Problem(slots, days, ready, (talk,) * 78, spare, needs, (Spacing(4 * WEEK, 6 * WEEK, -36),))


def two_series_18(seed: int) -> Problem:
    """18 studies of two series over 104 weekly slots, with hours that bind at first."""
    return alike(
        Random(seed),
        studies=18,
        series=2,
        weeks=104,
        targets=(5, 6),
        least=3,
        work_hours=12,
        standing_hours=6,
        study_hours=(17, 13),
        windows=4,
    )


def three_series_56(seed: int) -> Problem:
    """56 studies of three series over 104 weekly slots."""
    return alike(
        Random(seed),
        studies=56,
        series=3,
        weeks=104,
        targets=(4, 5, 6),
        least=3,
        work_hours=14,
        standing_hours=4,
        study_hours=(14, 10),
        windows=6,
    )


def hopeless_18(seed: int) -> Problem:
    """18 studies of two series over 104 weekly slots, with hours for about half of them."""
    return alike(
        Random(seed),
        studies=18,
        series=2,
        weeks=104,
        targets=(5, 6),
        least=3,
        work_hours=7,
        standing_hours=6,
        study_hours=(17, 13, 21),
        windows=4,
    )


def scaled(studies: int, seed: int = 1, windows: int = 2) -> Problem:
    """A problem of two series with any number of studies, its weeks in proportion (six for each study).

    Args:
        studies: number of studies.
        seed: names the problem.
        windows: number of studies with a window of their own, which no other study is like.
    """
    return alike(
        Random(seed),
        studies=studies,
        series=2,
        weeks=6 * studies,
        targets=(5, 6),
        least=3,
        work_hours=12,
        standing_hours=6,
        study_hours=(17, 13),
        windows=windows,
    )
