"""A demonstration lived through: a book whose clock stands, in which studies have come out as planned since.

Nobody ticks off work in a demonstration. So that a later day makes sense, the work on studies is then
taken as done in step with the plan from the day the clock stands at: the usual content of each slot in
the week before it must be ready, studies in the time between, earliest ready-by first. A study that is
overdue or came out on another day breaks the step, and nothing is assumed any more. A book without a
standing clock is never changed: there only what was ticked off is done.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from showrunner.domain.book import Book
from showrunner.domain.episode import Stage
from showrunner.planning.earliest_due import Job, lay
from showrunner.planning.hours import ready_day, standing_work, working_time
from showrunner.planning.slots import expand

AHEAD = 7
"""Days before it must be ready on which the usual content of a slot is begun."""


def lived_until(book: Book, today: date) -> Book:
    """The book with the stages done that the plan puts before `today`; the same book if it was not lived as planned.

    Args:
        book: the book.
        today: the day asked for.
    """
    clock = book.clock
    if clock is None or today <= clock:
        return book
    days = (today - clock).days
    since = [line for line in book.publications if line.series and line.day and line.day >= clock]
    overdue = any(study.slot and study.slot.day < today for study in book.open_studies)
    if not since or overdue or any(line.day != line.planned for line in since):
        return book
    out = {line.episode for line in since}
    studies = [s for s in book.studies if s.slot and s.slot.day >= clock and (not s.published or s.id in out)]
    last = max((s.slot.day for s in studies if s.slot), default=today)
    slots = expand(book.rules, clock, max(last, today))
    time = working_time(book, clock, (max(last, today) - clock).days + 1)
    before = replace(book, publications=tuple(p for p in book.publications if not p.day or p.day < clock))
    taken = {study.slot for study in studies if study.slot}
    jobs = [
        Job(work.ready, work.minutes, max(0, work.ready - AHEAD))
        for work in standing_work(before, clock, slots, taken, time)
    ]
    labels: dict[int, tuple[str, Stage]] = {}
    for study in studies:
        assert study.slot is not None
        first = True
        whole = study if not study.published else replace(study, published=False, finished=False, done=(), worked=())
        for stage, minutes in whole.left(book.stages_of(study)):
            labels[len(jobs)] = (study.id, stage)
            after = None if first else len(jobs) - 1
            jobs.append(Job(ready_day(book, clock, study.slot), minutes, 0, stage is Stage.SHOOT, after))
            first = False
    capacity = [total - before for total, before in zip(time, (0, *time), strict=False)]
    finish = lay(jobs, capacity[:days]).finish
    done: dict[str, set[Stage]] = {}
    for at, (study_id, stage) in labels.items():
        if finish[at] is not None:
            done.setdefault(study_id, set()).add(stage)
    changed = [
        replace(study, done=tuple(stage for stage in Stage if stage in study.done or stage in done[study.id]))
        for study in studies
        if study.id in done and not study.published
    ]
    return book.put("episodes", *changed) if changed else book
