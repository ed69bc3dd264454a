"""Work laid onto days: what goes first, what must stay whole, what waits."""

from __future__ import annotations

from showrunner.planning.earliest_due import Job, Layout, Stint, lay


def stints(jobs: list[Job], capacity: list[int]) -> list[tuple[int, int, int]]:
    return [(s.job, s.day, s.minutes) for s in lay(jobs, capacity).stints]


def test_what_is_due_first_is_done_first_and_of_two_the_one_given_first() -> None:
    assert stints([Job(5, 60), Job(1, 30), Job(5, 10)], [50, 50]) == [(1, 0, 30), (0, 0, 20), (0, 1, 40), (2, 1, 10)]


def test_work_may_be_interrupted_by_what_is_released_later_and_due_sooner() -> None:
    assert stints([Job(9, 60), Job(1, 40, release=1)], [50, 50]) == [(0, 0, 50), (1, 1, 40), (0, 1, 10)]


def test_what_is_not_released_yet_leaves_the_day_empty() -> None:
    found = lay([Job(9, 10, release=2)], [50, 50, 50])
    assert (found.stints, found.finish) == ((Stint(0, 2, 10),), (2,))


def test_a_whole_job_takes_the_first_day_that_holds_it_and_others_go_on_meanwhile() -> None:
    jobs = [Job(0, 50, whole=True), Job(5, 40)]
    assert stints(jobs, [40, 50]) == [(1, 0, 40), (0, 1, 50)]
    assert stints(jobs, [50, 50]) == [(0, 0, 50), (1, 1, 40)]
    assert lay(jobs, [49, 49]).finish == (None, 0)


def test_what_comes_after_another_job_waits_until_that_is_done_and_no_longer() -> None:
    jobs = [Job(9, 60), Job(0, 20, after=0)]
    assert stints(jobs, [50, 50]) == [(0, 0, 50), (0, 1, 10), (1, 1, 20)]
    assert stints([*jobs, Job(10, 50)], [100]) == [(0, 0, 60), (1, 0, 20), (2, 0, 20)]
    assert lay([Job(9, 60, after=1), Job(9, 20)], [100]).finish == (0, 0)


def test_work_of_no_minutes_is_done_on_the_day_it_is_released_even_without_room() -> None:
    found = lay([Job(0, 0), Job(5, 10), Job(9, 0, release=1, after=1)], [0, 10])
    assert found.finish == (0, 1, 1)
    assert found.stints == (Stint(1, 1, 10),)


def test_what_is_done_on_its_day_is_in_time_and_what_is_never_done_is_late() -> None:
    jobs = [Job(1, 1), Job(1, 1), Job(1, 1), Job(1, 1)]
    assert Layout((), (0, 1, 2, None)).late(jobs) == [2, 3]


def test_no_day_holds_more_than_its_minutes_and_no_work_is_lost() -> None:
    found = lay([Job(n % 4, 7 * n, release=n % 3) for n in range(9)], [25] * 20)
    for day in range(20):
        assert sum(s.minutes for s in found.stints if s.day == day) <= 25
    for job in range(9):
        assert sum(s.minutes for s in found.stints if s.job == job) == 7 * job
