"""Working back from the planned slots: dated tasks, the slack, and what does not fit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

from showrunner.domain.book import Book
from showrunner.domain.episode import Stage
from showrunner.planning.banking import ahead_of_trips
from showrunner.planning.earliest_due import Job, Layout, Stint, lay
from showrunner.planning.hours import busy_hours
from showrunner.planning.loads import Load, standing_loads
from showrunner.planning.pickups import pickup_work
from showrunner.planning.plan import HORIZON_WEEKS
from showrunner.planning.results import Balance, Task, Warning, WorkPlan
from showrunner.planning.shortfalls import room_of, shoot_shortfall, shortfalls, standing_shortfalls

AHEAD_DAYS = 56
"""Days of standing work laid out even if no study is planned that far."""


def work_back(book: Book, today: date, *, horizon_weeks: int = HORIZON_WEEKS) -> WorkPlan:
    """Lay the work of all planned studies and of the slots' usual content onto working days.

    Earliest ready-by first; a shoot is never split; nothing on days without work.

    Args:
        book: the book; a study counts with its planned slot.
        today: first day of work.
        horizon_weeks: weeks looked ahead for the first slot that fits.
    """
    room = room_of(book, today, horizon_weeks=horizon_weeks)
    standing = room.beside
    studies = list(room.loads)
    end = max([AHEAD_DAYS, *(load.ready for load in studies)])
    usual = [load for load in standing_loads(book, standing) if load.ready <= end and load.minutes]
    loads = sorted([*studies, *usual], key=lambda load: (load.ready, load.slot))
    capacity = [total - before for total, before in zip(room.time, (0, *room.time), strict=False)]
    tasks, shoots_late = _tasks(loads, capacity, today)
    found = shortfalls(room)
    short = {item.episode for item in found}
    found += [shoot_shortfall(load) for load in shoots_late if load.episode not in short]
    found += standing_shortfalls(room, end)
    whole = [*studies, *standing_loads(book, standing, whole=True)]
    due = {load.ready for load in whole if 0 <= load.ready <= end}
    spare = room.spare_beside
    slack = [(spare[load.ready] - _due(studies, load.ready), load.ready) for load in studies if load.ready >= 0]
    least = min(slack, default=None)
    return WorkPlan(
        tasks=tasks,
        slack_minutes=least[0] if least else None,
        slack_day=today + timedelta(least[1]) if least else None,
        shortfalls=tuple(found),
        warnings=tuple(Warning("work-short", item.text) for item in found),
        balances=tuple(Balance(today + timedelta(day), _due(whole, day), room.time[day]) for day in sorted(due)),
        ahead=ahead_of_trips(room, whole),
        busy=busy_hours(book, today, today + timedelta(end)),
        pickups=pickup_work(book, today, tasks),
    )


def _due(loads: Sequence[Load], day: int) -> int:
    """Minutes of what must be ready by a day."""
    return sum(load.minutes for load in loads if load.ready <= day)


def _tasks(loads: Sequence[Load], capacity: list[int], today: date) -> tuple[tuple[Task, ...], list[Load]]:
    """The loads as dated tasks, and the loads whose shoot finds no day in time though the hours are there."""
    jobs, labels = _jobs(loads, {})
    layout = lay(jobs, capacity)
    if layout.late(jobs):
        jobs, labels, layout = _with_shoot_days(loads, capacity, layout)
    late = {labels[at][0] for at in layout.late(jobs)}
    whole = {at for at, load in enumerate(loads) if any(stage is Stage.SHOOT for stage, _ in load.stages)}
    tasks = tuple(
        Task(
            day=today + timedelta(stint.day),
            minutes=stint.minutes,
            episode=loads[labels[stint.job][0]].episode,
            title=loads[labels[stint.job][0]].title,
            stage=labels[stint.job][1],
            slot=loads[labels[stint.job][0]].slot,
            ready_by=today + timedelta(loads[labels[stint.job][0]].ready),
        )
        for stint in layout.stints
    )
    return tasks, [loads[at] for at in sorted(late & whole)]


def _jobs(loads: Sequence[Load], shoot_days: dict[int, int]) -> tuple[list[Job], list[tuple[int, Stage | None]]]:
    """Jobs for the loads' stages in order, and which load and stage each is.

    Args:
        loads: the loads.
        shoot_days: for some loads, the day their shoot is held to.
    """
    jobs: list[Job] = []
    labels: list[tuple[int, Stage | None]] = []
    for at, load in enumerate(loads):
        before: int | None = None
        held = shoot_days.get(at)
        for stage, minutes in load.stages:
            shooting = stage is Stage.SHOOT
            early = held is not None and stage in (Stage.RESEARCH, Stage.CONDITION, Stage.SHOOT)
            due = min(load.ready, held) if early and held is not None else load.ready
            release = held if shooting and held is not None else 0
            jobs.append(Job(due, minutes, release, shooting, before))
            before = len(jobs) - 1
            labels.append((at, stage))
    return jobs, labels


def _with_shoot_days(
    loads: Sequence[Load], capacity: list[int], plain: Layout
) -> tuple[list[Job], list[tuple[int, Stage | None]], Layout]:
    """Hold shoots to days, study by study, so that what is due by then is ready in time; the first try if none helps.

    The latest day that works is taken, so that the days before stay free for what is due sooner.
    """
    held: dict[int, int] = {}
    for at, load in enumerate(loads):
        shoot = next((minutes for stage, minutes in load.stages if stage is Stage.SHOOT), 0)
        if not shoot:
            continue
        for day in range(load.ready, -1, -1):
            if capacity[day] < shoot:
                continue
            jobs, labels = _jobs(loads[: at + 1], {**held, at: day})
            reserved = [left - (shoot if here == day else 0) for here, left in enumerate(capacity)]
            if not _reserved_layout(jobs, labels, reserved, {**held, at: day}).late(jobs):
                held[at] = day
                capacity = reserved
                break
    jobs, labels = _jobs(loads, held)
    layout = _reserved_layout(jobs, labels, capacity, held)
    best = _jobs(loads, {})
    if len(layout.late(jobs)) <= len(plain.late(best[0])):
        return jobs, labels, layout
    return (*best, plain)


def _reserved_layout(
    jobs: list[Job],
    labels: list[tuple[int, Stage | None]],
    capacity: list[int],
    held: dict[int, int],
) -> Layout:
    """A layout in which held shoots stand on their days, whose time `capacity` no longer counts."""
    cut = [
        replace(job, minutes=0) if labels[at][1] is Stage.SHOOT and labels[at][0] in held else job
        for at, job in enumerate(jobs)
    ]
    layout = lay(cut, capacity)
    shoots = [
        Stint(at, held[load], jobs[at].minutes)
        for at, (load, stage) in enumerate(labels)
        if stage is Stage.SHOOT and load in held
    ]
    return Layout(tuple(sorted((*layout.stints, *shoots), key=lambda stint: (stint.day, stint.job))), layout.finish)
