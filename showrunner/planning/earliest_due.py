"""Work laid onto days by earliest due date first.

One worker who may interrupt work meets all due dates, if any order does, by always taking the
released job that is due first (Jackson 1955; with release days, Horn 1974, from memory). A job that
must be done in one go takes the first day on which it fits whole.
"""

from __future__ import annotations

from collections.abc import Sequence

from showrunner.domain.record import record


@record
class Job:
    """A stretch of work."""

    due: int
    """Day by whose end it should be done."""
    minutes: int
    """Minutes of work."""
    release: int = 0
    """First day on which it may be done."""
    whole: bool = False
    """Whether it must be done on one day."""
    after: int | None = None
    """Index of a job that must be finished first (the same day is early enough); None if there is none."""


@record
class Stint:
    """Minutes of one job on one day."""

    job: int
    """Index of the job."""
    day: int
    """The day."""
    minutes: int
    """Minutes of it done that day."""


@record
class Layout:
    """Jobs laid onto days."""

    stints: tuple[Stint, ...]
    """By day, in the order of work."""
    finish: tuple[int | None, ...]
    """For every job, the day it is done; None if the days run out first."""

    def late(self, jobs: Sequence[Job]) -> list[int]:
        """Indices of the jobs that are done after they are due, or never."""
        return [at for at, done in enumerate(self.finish) if done is None or done > jobs[at].due]


def lay(jobs: Sequence[Job], capacity: Sequence[int]) -> Layout:
    """Lay jobs onto days, earliest due first, ties in the given order.

    Args:
        jobs: the jobs.
        capacity: minutes of work on every day.
    """
    order = sorted(range(len(jobs)), key=lambda at: (jobs[at].due, at))
    left = [job.minutes for job in jobs]
    finish: list[int | None] = [None] * len(jobs)
    stints: list[Stint] = []
    open_jobs = order
    for day, minutes in enumerate(capacity):
        room = minutes
        moved = True
        while moved:
            moved = False
            for at in open_jobs:
                job = jobs[at]
                if finish[at] is not None or job.release > day or (job.whole and left[at] > room):
                    continue
                if job.after is not None and finish[job.after] is None:
                    continue
                if not room and left[at]:
                    continue
                done = min(left[at], room)
                left[at] -= done
                room -= done
                if done:
                    stints.append(Stint(at, day, done))
                if not left[at]:
                    finish[at] = day
                moved = True
                break
        open_jobs = [at for at in open_jobs if finish[at] is None]
        if not open_jobs:
            break
    return Layout(tuple(stints), tuple(finish))
