"""Working back from the planned slots: dated tasks, the slack, and what does not fit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from itertools import accumulate

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.episode import Episode, Stage
from showrunner.domain.record import record
from showrunner.domain.rules import Board, missing_hours, terms_of
from showrunner.domain.slot import Slot, SlotRef
from showrunner.domain.titles import quoted
from showrunner.planning.earliest_due import Job, Layout, Stint, lay
from showrunner.planning.hours import ready_day, spare_time, standing_work, work_minutes, working_time
from showrunner.planning.plan import HORIZON_WEEKS
from showrunner.planning.results import Balance, Shortfall, Task, Warning, WorkPlan
from showrunner.planning.slots import expand

AHEAD_DAYS = 56
"""Days of standing work laid out even if no study is planned that far."""


@record
class _Load:
    """Something that must be ready for a slot."""

    title: str
    slot: SlotRef
    ready: int
    stages: tuple[tuple[Stage | None, int], ...]
    episode: str = ""

    @property
    def minutes(self) -> int:
        return sum(minutes for _, minutes in self.stages)


def work_back(book: Book, today: date, *, horizon_weeks: int = HORIZON_WEEKS) -> WorkPlan:
    """Lay the work of all planned studies and of the slots' usual content onto working days.

    Earliest ready-by first; a shoot is never split; nothing on days without work.

    Args:
        book: the book; a study counts with its planned slot.
        today: first day of work.
        horizon_weeks: weeks looked ahead for the first slot that fits.
    """
    planned = [study for study in book.open_studies if study.slot]
    days = max(7 * horizon_weeks, *((study.slot.day - today).days for study in planned if study.slot), 0) + 1
    time = working_time(book, today, days)
    slots = expand(book.rules, today, today + timedelta(days - 1))
    taken = {study.slot for study in planned if study.slot}
    standing = standing_work(book, today, slots, taken, time)
    studies = [load for study in planned if (load := _study_load(book, today, study)) is not None]
    end = max([AHEAD_DAYS, *(load.ready for load in studies)])
    fillers = {e.slot: e for e in book.episodes if e.slot and not e.pieces}
    names = {rule.id: rule.name for rule in book.rules}
    loads = studies + [
        _Load(
            fillers[work.slot.ref].title if work.slot.ref in fillers else names[work.slot.rule],
            work.slot.ref,
            work.ready,
            ((None, work.minutes),),
            fillers[work.slot.ref].id if work.slot.ref in fillers else "",
        )
        for work in standing
        if work.ready <= end and work.minutes
    ]
    loads.sort(key=lambda load: (load.ready, load.slot))
    capacity = [work_minutes(book, today + timedelta(day)) for day in range(days)]
    tasks, shoots_late = _tasks(loads, capacity, today)
    spare = spare_time(time, standing)
    shortfalls = _shortfalls(book, today, planned, slots, time)
    short = {item.episode for item in shortfalls}
    shortfalls += [_shoot_shortfall(load) for load in shoots_late if load.episode not in short]
    shortfalls += [
        Shortfall(
            names[work.slot.rule],
            "",
            work.slot.ref,
            work.short,
            None,
            f"{names[work.slot.rule]} of {words.day(work.slot.day)} is {words.hours(work.short)} short "
            "even without any study; bank it or add hours.",
        )
        for work in standing
        if work.short and work.ready <= end
    ]
    slack = [(spare[load.ready] - _net(studies, load.ready), load.ready) for load in studies if load.ready >= 0]
    least = min(slack, default=None)
    return WorkPlan(
        tasks=tasks,
        slack_minutes=least[0] if least else None,
        slack_day=today + timedelta(least[1]) if least else None,
        shortfalls=tuple(shortfalls),
        warnings=tuple(Warning("work-short", item.text) for item in shortfalls),
        balances=tuple(
            Balance(today + timedelta(day), time[day] - spare[day] + _net(studies, day), time[day])
            for day in sorted({load.ready for load in loads if load.ready >= 0})
        ),
    )


def _study_load(book: Book, today: date, study: Episode) -> _Load | None:
    """The work left on a planned study; None if nothing is left or its slot is past."""
    if study.slot is None or study.finished or study.slot.day < today:
        return None
    stages = book.stages_of(study)
    left = tuple((stage, stages.of(stage)) for stage in Stage if stage not in study.done and stages.of(stage))
    if not left:
        return None
    return _Load(study.title, study.slot, ready_day(book, today, study.slot), left, study.id)


def _net(studies: Sequence[_Load], day: int) -> int:
    """Minutes of the studies that must be ready by a day."""
    return sum(minutes for load in studies if load.ready <= day for _, minutes in load.stages)


def _tasks(loads: Sequence[_Load], capacity: list[int], today: date) -> tuple[tuple[Task, ...], list[_Load]]:
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


def _jobs(loads: Sequence[_Load], shoot_days: dict[int, int]) -> tuple[list[Job], list[tuple[int, Stage | None]]]:
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
    loads: Sequence[_Load], capacity: list[int], plain: Layout
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


def _shoot_shortfall(load: _Load) -> Shortfall:
    shoot = next(minutes for stage, minutes in load.stages if stage is Stage.SHOOT)
    return Shortfall(
        load.title,
        load.episode,
        load.slot,
        shoot,
        None,
        f"{quoted(load.title)} has the hours, but no day in time with {words.hours(shoot)} in one go for its shoot; "
        "give one day more hours or move it.",
    )


def _shortfalls(
    book: Book,
    today: date,
    planned: Sequence[Episode],
    slots: Sequence[Slot],
    time: tuple[int, ...],
) -> list[Shortfall]:
    """Every planned study that does not fit its slot, with the hours missing and the first slot that works."""
    found = []
    loads = [load for e in planned if (load := _study_load(book, today, e)) is not None]
    done = {study.slot for study in planned if study.slot} - {load.slot for load in loads}
    standing = standing_work(book, today, slots, done, time)
    freed = {work.slot.ref: work.minutes for work in standing}
    spare = spare_time(time, standing)
    board = Board(book)
    for study in sorted(planned, key=lambda s: s.slot or SlotRef(today, "")):
        slot = study.slot
        load = next((load for load in loads if load.episode == study.id), None)
        if slot is None or (slot.day >= today and load is None):
            continue
        if slot.day < today:
            text = f"{quoted(study.title)} was planned for {words.day(slot.day)}, which is past; "
            text += "publish it, mark the slot missed, or plan again."
            found.append(Shortfall(study.title, study.id, slot, 0, None, text))
            continue
        assert load is not None
        missing = _missing(loads, spare, freed)
        short = _own_missing(load, missing)
        if not short:
            continue
        fit = next(
            (
                s.ref
                for s in slots
                if board.turn(s.ref) > board.turn(slot)
                and _works(board, study, s.ref, planned, loads, spare, freed, today)
            ),
            None,
        )
        ready = today + timedelta(ready_day(book, today, slot))
        there = time[max(0, (ready - today).days)] if ready >= today else 0
        text = (
            f"{quoted(study.title)} of {words.day(slot.day)} is {words.hours(short)} short: "
            f"{words.hours(there + short)} are needed by {words.day(ready)}, {words.hours(there)} are there; "
        )
        text += f"the first slot that works is {words.day(fit.day)}." if fit else "no later slot works either."
        found.append(Shortfall(study.title, study.id, slot, short, fit, text))
    return found


def _missing(loads: Sequence[_Load], spare: tuple[int, ...], freed: dict[SlotRef, int]) -> list[int]:
    """For every day, the minutes missing for what must be ready by then."""
    due = [0] * len(spare)
    for load in loads:
        if load.ready >= 0:
            due[load.ready] += load.minutes - freed.get(load.slot, 0)
    return [missing_hours(total, there) for total, there in zip(accumulate(due), spare, strict=True)]


def _own_missing(load: _Load, missing: Sequence[int]) -> int:
    """Minutes missing on the day a study must be ready; all its minutes if that day is past."""
    return load.minutes if load.ready < 0 else missing[load.ready]


def _works(
    board: Board,
    study: Episode,
    slot: SlotRef,
    planned: Sequence[Episode],
    loads: Sequence[_Load],
    spare: tuple[int, ...],
    freed: dict[SlotRef, int],
    today: date,
) -> bool:
    """Whether a study could stand in a slot with all others where they are: no rule broken, and no day made worse."""
    others = [(terms_of(board.book, e), e.slot) for e in planned if e.slot and e.id != study.id]
    if any(board.against(terms_of(board.book, study), slot, others)):
        return False
    ready = ready_day(board.book, today, slot)
    moved = [replace(load, slot=slot, ready=ready) if load.episode == study.id else load for load in loads]
    mine = next(load for load in moved if load.episode == study.id)
    before, after = _missing(loads, spare, freed), _missing(moved, spare, freed)
    worse = any(then > now for now, then in zip(before, after, strict=True))
    return not worse and not _own_missing(mine, after)
