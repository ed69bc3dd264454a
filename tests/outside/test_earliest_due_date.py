"""Hours against published results on one machine: the same question as one person's working hours.

A unit of processing time is a minute, and every day has one. A job with due date d is done in time if
its minutes are worked on days 0 to d - 1; as a study it must then be ready by day d - 1.
"""

from itertools import permutations
from random import Random

import pytest
from instances import slots_on

from showrunner.planning.earliest_due import Job, lay
from showrunner.planning.problem import Need, Problem, Spacing, hours_fit, score
from showrunner.planning.search import solve

Jobs = list[tuple[int, int]]
"""Processing time and due date of each job."""

# Jackson 1955, earliest due date first. Data as in a lecture note on scheduling (source copy: a public
# notion.so page); lateness of the jobs in that order: -3, -3, -3, 1, 3, 4.
JACKSON: Jobs = [(3, 6), (2, 8), (1, 9), (4, 9), (3, 10), (2, 11)]

# The same jobs with two later due dates: greatest lateness 1 (Kleinberg and Tardos, Algorithm Design, from memory).
KLEINBERG: Jobs = [(3, 6), (2, 8), (1, 9), (4, 9), (3, 14), (2, 15)]

# Why least slack first is wrong: it gives lateness 9, earliest due date first 1.
SLACK: Jobs = [(1, 2), (10, 10)]

# Moore and Hodgson's rule, as in Pinedo, Scheduling, section 3.3 (source copy: slideplayer.com/4963510): two jobs late.
MOORE: Jobs = [(7, 9), (8, 17), (4, 18), (6, 19), (6, 21)]

# Ten jobs of a published exercise (source copy: Nemotron-CC-Math, huggingface.co): two jobs late.
TEN: Jobs = [(19, 48), (23, 75), (5, 170), (31, 215), (17, 205), (8, 240), (32, 85), (41, 67), (26, 100), (18, 95)]


def as_problem(jobs: Jobs, later: int = 0) -> tuple[Problem, dict[str, int]]:
    """Each job as a study with one slot of its own, ready `later` days after its due date, and all in their slots."""
    jobs = sorted(jobs, key=lambda job: job[1])
    count = len(jobs)
    ready = tuple(due - 1 + later for _, due in jobs)
    slots, days = slots_on([(6, 9)], count)
    needs = tuple(
        Need(f"job {number}", number, 0, minutes, tuple(0 if slot == number else None for slot in range(count)))
        for number, (minutes, _) in enumerate(jobs)
    )
    spare = tuple(range(1, max(ready) + 2))
    problem = Problem(slots, days, ready, (0,) * count, spare, needs, (Spacing(0, 0, None),))
    return problem, {need.key: number for number, need in enumerate(needs)}


def lateness(jobs: Jobs) -> list[int]:
    """How late each job ends if they are worked one after the other in this order."""
    end = 0
    lag = []
    for minutes, due in jobs:
        end += minutes
        lag.append(end - due)
    return lag


@pytest.mark.parametrize(
    ("jobs", "greatest"),
    [
        (JACKSON, 4),
        (KLEINBERG, 1),
        (SLACK, 1),
        (MOORE, 10),  # due dates kept as far as they go: three jobs late, by 10 at most
    ],
)
def test_the_hours_fit_exactly_from_the_least_greatest_lateness_on(jobs: Jobs, greatest: int) -> None:
    assert min(max(lateness(list(order))) for order in permutations(jobs)) == greatest
    assert hours_fit(*as_problem(jobs, greatest))
    assert not hours_fit(*as_problem(jobs, greatest - 1))


@pytest.mark.parametrize(
    ("jobs", "published"),
    [
        (JACKSON, [-3, -3, -3, 1, 3, 4]),
        (SLACK, [-1, 1]),  # least slack first would begin with the long one, and end the short one 9 late
    ],
)
def test_work_is_laid_with_the_published_lateness_of_each_job(jobs: Jobs, published: list[int]) -> None:
    finish = lay([Job(due - 1, minutes) for minutes, due in jobs], [1] * 20).finish
    assert [day + 1 - due for day, (_, due) in zip(finish, jobs, strict=True) if day is not None] == published


@pytest.mark.parametrize("seed", range(60))
def test_hours_fit_exactly_when_some_order_of_the_work_meets_every_date(seed: int) -> None:
    """Jackson 1955: with everything at hand from the start, no order of the jobs does what the prefix test denies."""
    random = Random(seed)
    jobs = [(random.randint(0, 5), random.randint(1, 16)) for _ in range(random.randint(1, 6))]
    kept = any(max(lateness(list(order))) <= 0 for order in permutations(jobs))
    assert hours_fit(*as_problem(jobs)) == kept


@pytest.mark.parametrize(("jobs", "dropped"), [(MOORE, 2), (TEN, 2)])
def test_as_many_studies_are_placed_as_jobs_can_be_in_time(jobs: Jobs, dropped: int) -> None:
    problem, _ = as_problem(jobs)
    found = solve(problem)
    assert found.proven
    assert found.score.unplaced == dropped
    assert score(problem, found.places) == found.score


def late(jobs: Jobs, later: int = 0, releases: list[int] | None = None) -> list[int]:
    """Which jobs are late, each due `later` days after its date, when they are laid onto days of one minute."""
    released = releases or [0] * len(jobs)
    work = [Job(due - 1 + later, minutes, release) for (minutes, due), release in zip(jobs, released, strict=True)]
    return lay(work, [1] * 60).late(work)


@pytest.mark.parametrize(("jobs", "greatest"), [(JACKSON, 4), (KLEINBERG, 1), (SLACK, 1), (MOORE, 10)])
def test_work_is_laid_with_the_least_greatest_lateness(jobs: Jobs, greatest: int) -> None:
    assert late(jobs, greatest) == []
    assert late(jobs, greatest - 1) != []


@pytest.mark.parametrize("seed", range(60))
def test_work_is_late_only_where_no_schedule_would_be_in_time(seed: int) -> None:
    """A schedule exists exactly if no stretch of days must hold more work than it has (Horn 1974, from memory)."""
    random = Random(seed)
    releases = [random.randint(0, 6) for _ in range(random.randint(1, 6))]
    jobs = [(random.randint(0, 4), release + random.randint(1, 10)) for release in releases]
    overfull = any(
        sum(minutes for (minutes, due), release in zip(jobs, releases, strict=True) if release >= first and due <= last)
        > last - first
        for first in range(17)
        for last in range(first, 17)
    )
    assert bool(late(jobs, releases=releases)) == overfull


@pytest.mark.parametrize("seed", range(60))
def test_the_laid_work_is_in_time_exactly_when_the_hours_fit(seed: int) -> None:
    random = Random(seed)
    jobs = [(random.randint(0, 5), random.randint(1, 16)) for _ in range(random.randint(1, 6))]
    assert (late(jobs) == []) == hours_fit(*as_problem(jobs))
