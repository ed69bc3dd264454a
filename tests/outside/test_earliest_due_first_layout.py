"""The layout of work, earliest due first, against published schedules."""

from __future__ import annotations

from itertools import pairwise, product
from random import Random

import pytest

from showrunner.planning.earliest_due import Job, Layout, lay


def runs(layout: Layout, job: int) -> list[tuple[int, int]]:
    """Stretches of days on which a job is worked, as [first, last) pairs."""
    days = sorted(stint.day for stint in layout.stints if stint.job == job)
    found: list[tuple[int, int]] = []
    for day in days:
        if found and found[-1][1] == day:
            found[-1] = (found[-1][0], day + 1)
        else:
            found.append((day, day + 1))
    return found


def test_preemptive_earliest_deadline_first_with_release_times() -> None:
    """(release, work, deadline) A(0,4,12), B(1,2,4), C(2,3,7), one unit a day: A 0-1, B 1-3, C 3-6, A 6-9.

    That earliest deadline first finds a preemptive schedule whenever there is one: Li, Kavi and Akl (1library.net);
    the example is constructed.
    """
    jobs = [Job(11, 4, 0), Job(3, 2, 1), Job(6, 3, 2)]
    layout = lay(jobs, [1] * 12)
    assert [runs(layout, job) for job in range(3)] == [[(0, 1), (6, 9)], [(1, 3)], [(3, 6)]]
    assert layout.late(jobs) == []


def test_jackson_1955() -> None:
    """p = 3,2,1,4,3,2; d = 6,8,9,9,10,11: lateness -3,-3,-3,1,3,4 (Jackson 1955)."""
    work, due = (3, 2, 1, 4, 3, 2), (6, 8, 9, 9, 10, 11)
    jobs = [Job(d - 1, p) for p, d in zip(work, due, strict=True)]
    finish = lay(jobs, [1] * 20).finish
    assert [done + 1 - d for done, d in zip(finish, due, strict=True) if done is not None] == [-3, -3, -3, 1, 3, 4]


def test_least_slack_is_the_wrong_rule_and_is_not_used() -> None:
    """(p, d) = (1, 2), (10, 10): earliest due first is late by 1, least slack first by 9."""
    finish = lay([Job(1, 1), Job(9, 10)], [1] * 20).finish
    assert finish == (0, 10)


def feasible(jobs: list[Job], days: int) -> bool:
    """Whether any preemptive schedule of unit days meets all dates, by trying them all."""
    for choice in product(range(-1, len(jobs)), repeat=days):
        left = [job.minutes for job in jobs]
        good = True
        for day, at in enumerate(choice):
            if at >= 0:
                if day < jobs[at].release or day > jobs[at].due:
                    good = False
                    break
                left[at] -= 1
        if good and all(n <= 0 for n in left):
            return True
    return False


@pytest.mark.parametrize("seed", range(25))
def test_it_meets_all_dates_whenever_any_schedule_does(seed: int) -> None:
    random = Random(seed)
    jobs = []
    for _ in range(random.randint(1, 3)):
        release = random.randint(0, 3)
        jobs.append(Job(random.randint(release, 6), random.randint(1, 3), release))
    assert (lay(jobs, [1] * 7).late(jobs) == []) == feasible(jobs, 7)


def test_a_whole_job_is_never_split_and_what_follows_waits() -> None:
    jobs = [Job(9, 3), Job(9, 4, whole=True, after=0), Job(9, 2, after=1)]
    layout = lay(jobs, [2, 2, 2, 4, 2])
    assert [(s.job, s.day, s.minutes) for s in layout.stints] == [(0, 0, 2), (0, 1, 1), (1, 3, 4), (2, 4, 2)]
    assert all(a.day <= b.day for a, b in pairwise(layout.stints))
