"""What the calendar holds: publishing slots, the work on each study, pickups, and dark ranges.

Standing content gets no entries: it comes every week and would bury the rest. Dark ranges that
came from a busy calendar get none either: the owner's calendar already shows them.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator
from datetime import date, timedelta
from itertools import count, pairwise, takewhile

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.episode import Episode, EpisodeKind, PinKind, Stage
from showrunner.domain.publication import Publication
from showrunner.domain.slot import DarkRange, Slot
from showrunner.ical.entry import Entry, clean, make_uid
from showrunner.planning.hours import is_workless
from showrunner.planning.pickups import ever_picked_up, waiting_groups
from showrunner.planning.results import PickupWork, Task, WorkPlan
from showrunner.planning.slots import instant, zone_named

PUBLISHING_MINUTES = 30
"""Length a publishing entry is given: some calendars hide an entry without one."""
PUBLISHING_ALARM_MINUTES = 60
"""The reminder comes this long before publication."""
SHOOT_ALARM_MINUTES = 6 * 60
"""The reminder of a shoot comes this long before its midnight: at six the evening before."""


def entries(book: Book, work: WorkPlan, slots: tuple[Slot, ...]) -> tuple[Entry, ...]:
    """Every entry the calendar should hold now, by start.

    Args:
        book: the book.
        work: the dated work; only tasks on a stage of an episode in the book are taken.
        slots: the slots of the book's episodes; an episode whose slot is missing here gets no entry.
    """
    by_ref = {slot.ref: slot for slot in slots}
    told = {line.id for line in book.calendar}
    lines = {line.episode: line for line in book.publications if line.actual}
    found = []
    for episode in book.episodes:
        slot, record = by_ref.get(episode.slot) if episode.slot else None, lines.get(episode.id)
        out = _came_out(book, record) if record and episode.published else None
        if out and (slot or _slot_uid(book, episode.id) in told):
            slot = out
        if slot:
            found.append(_publishing(book, episode, slot, record))
    found += _work(book, work.tasks)
    found += [_pickups(book, pickups) for pickups in work.pickups if pickups.day]
    found += [_dark(book, dark) for dark in book.dark if not dark.busy_uid]
    return tuple(sorted(found, key=lambda entry: (entry.start.isoformat(), entry.uid)))


def kept_uids(book: Book) -> frozenset[str]:
    """UIDs of entries that stay as they were once they are no longer planned, because they happened.

    Work that is done, pickups that were mended and episodes that are published were not dropped, so they are never
    cancelled.
    """
    kept: set[str] = set()
    told = {line.id for line in book.calendar}
    for episode in book.episodes:
        over = episode.finished or episode.published
        done = [stage for stage in Stage if over or stage in episode.done]
        for stage in done:
            parts = (_stage_uid(book, episode.id, stage, part) for part in count())
            kept.update(takewhile(told.__contains__, parts))
        if episode.published:
            kept.add(_slot_uid(book, episode.id))
    kept |= {_pickups_uid(book, *group) for group in ever_picked_up(book) - waiting_groups(book)}
    return frozenset(kept)


def _slot_uid(book: Book, episode: str) -> str:
    return make_uid(book.key, f"episode:{episode}:slot")


def _stage_uid(book: Book, episode: str, stage: Stage, part: int = 0) -> str:
    """The UID of the work on a stage; of a further part of it, where days without work come between."""
    return make_uid(book.key, f"episode:{episode}:{stage.value}{f':{part + 1}' if part else ''}")


def _came_out(book: Book, line: Publication) -> Slot | None:
    """The day of a line of the record, at the time of its slot; None if the day or the weekly slot is not known."""
    rule = book.find("rules", line.rule)
    if rule is None or line.actual is None or not line.actual.is_exact or line.actual.latest is None:
        return None
    day, times = line.actual.latest, rule.on(line.actual.latest)
    return Slot(rule.id, day, instant(day, times.at, zone_named(times.zone, rule.name)))


def _publishing(book: Book, episode: Episode, slot: Slot, record: Publication | None) -> Entry:
    """The entry of a publication.

    Args:
        book: the book.
        episode: the episode.
        slot: when it is to come out; once it is out, when it did.
        record: the line of the record on which it came out; None if there is none.
    """
    rule = book.rule(slot.rule)
    times = rule.on(slot.day)
    lines = [f"{_long_day(slot.day)}, {times.at:%H:%M} ({times.zone})"]
    if record and record.planned and record.planned != slot.day:
        lines.append(f"It was planned for {_long_day(record.planned)}")
    lines += [*_about(book, episode), *_gap(book, episode, slot.day)]
    if left := episode.left(book.stages_of(episode)):
        stages = [f"{stage.value} {words.hours(minutes)}" for stage, minutes in left]
        lines.append(f"Work left: {words.hours(sum(minutes for _, minutes in left))} ({', '.join(stages)})")
    if record:
        lines += _record(record)
    link = record.link.strip() if record else ""
    return Entry(
        uid=_slot_uid(book, episode.id),
        summary=clean(f"{'Published' if episode.published else 'Publish'}: {episode.title}"),
        start=slot.start,
        end=slot.start + timedelta(minutes=PUBLISHING_MINUTES),
        status=_status(book, episode),
        categories=("publication", episode.kind.value),
        description=clean("\n".join(lines)),
        link=link if re.fullmatch(r"https?://[!-~]+", link) else "",
        alarm_minutes=None if episode.published else PUBLISHING_ALARM_MINUTES,
        alarm_text="" if episode.published else clean(f"In an hour: {episode.title}"),
    )


def _work(book: Book, tasks: tuple[Task, ...]) -> Iterator[Entry]:
    """One entry a stage of a study, from its first day of work through its last, broken where there is no work."""
    stages: dict[tuple[str, Stage], list[Task]] = defaultdict(list)
    for task in tasks:
        if task.stage is not None and book.find("episodes", task.episode):
            stages[task.episode, task.stage].append(task)
    for (id, stage), tasks_of in stages.items():
        episode = book.episode(id)
        by_day: dict[date, int] = defaultdict(int)
        for task in tasks_of:
            by_day[task.day] += task.minutes
        head = f"For {_long_day(tasks_of[0].slot.day)}, ready by {words.day(tasks_of[0].ready_by)}"
        shoot = stage is Stage.SHOOT
        for part, days in enumerate(_parts(book, sorted(by_day))):
            hours = [f"{words.short_day(day)}: {words.hours(by_day[day])}" for day in days]
            yield Entry(
                uid=_stage_uid(book, id, stage, part),
                summary=clean(f"{stage.value.capitalize()}: {episode.title}"),
                start=days[0],
                end=_day_after(days[-1]),
                status=_status(book, episode),
                categories=("work", stage.value),
                description=clean("\n".join([head, *_about(book, episode), *hours])),
                alarm_minutes=SHOOT_ALARM_MINUTES if shoot else None,
                alarm_text=clean(f"Shoot tomorrow: {episode.title}") if shoot else "",
            )


def _pickups(book: Book, found: PickupWork) -> Entry:
    """The entry of pickups that are mended together."""
    assert found.day is not None
    names = words.listing(list(dict.fromkeys(book.piece(line.piece).name for line in found.lines)))
    where = f"box {found.box}" if found.box else names
    lines = [f"For {found.title}" + (f", ready by {words.day(found.ready_by)}" if found.ready_by else "")]
    if found.with_shoot:
        lines.append(f"With the shoot of {book.episode(found.with_shoot).title}, which opens the box")
    lines += [f"{book.piece(line.piece).name}: {line.text} ({line.remedy})" for line in found.lines]
    study = book.find("episodes", found.study)
    return Entry(
        uid=_pickups_uid(book, found.study, found.box),
        summary=clean(f"{words.count(len(found.lines), 'pickup')}: {where}"),
        start=found.day,
        end=_day_after(found.day),
        status=_status(book, study) if study else "TENTATIVE",
        categories=("work", "pickups"),
        description=clean("\n".join(lines)),
    )


def _pickups_uid(book: Book, study: str, box: str) -> str:
    return make_uid(book.key, f"pickups:{study}:{box}")


def _parts(book: Book, days: list[date]) -> list[list[date]]:
    """Days of work in runs between which no day without work lies."""
    parts = [days[:1]]
    for before, day in pairwise(days):
        between = (before + timedelta(n) for n in range(1, (day - before).days))
        if any(is_workless(book, other) for other in between):
            parts.append([])
        parts[-1].append(day)
    return parts


def _dark(book: Book, dark: DarkRange) -> Entry:
    both = dark.no_work and dark.no_publication
    days = [_long_day(dark.first)] if dark.first == dark.last else [_long_day(dark.first), _long_day(dark.last)]
    what = "No work, no publication" if both else "No work" if dark.no_work else "No publication"
    return Entry(
        uid=make_uid(book.key, f"dark:{dark.id}"),
        summary=clean(f"{what}: {dark.reason}" if dark.reason else what),
        start=dark.first,
        end=_day_after(dark.last),
        status="CONFIRMED",
        categories=("dark",),
        description=" through ".join(days),
    )


def _status(book: Book, episode: Episode) -> str:
    """CONFIRMED if it is out or a date pin holds it in its slot, else TENTATIVE (RFC 5545 3.8.1.11)."""
    pinned = any(
        pin.kind is PinKind.DATE and pin.episodes == (episode.id,) and pin.slot == episode.slot for pin in book.pins
    )
    return "CONFIRMED" if episode.published or pinned else "TENTATIVE"


def _about(book: Book, episode: Episode) -> list[str]:
    """Series and pieces of a study in words."""
    lines = []
    if series := book.find("series", episode.series):
        lines.append(f"Series: {series.name}")
    pieces = [piece for piece in (book.find("pieces", id) for id in episode.pieces) if piece]
    if pieces:
        named = [f"{piece.name} ({piece.made.words})" if piece.made else piece.name for piece in pieces]
        lines.append(f"{'Pieces' if len(pieces) > 1 else 'Piece'}: {words.listing(named)}")
    return lines


def _gap(book: Book, episode: Episode, on: date) -> list[str]:
    """The gap since the study before it in its series, if it comes out on a day."""
    if episode.kind is not EpisodeKind.STUDY:
        return []
    before = [
        (p.day, p.title) for p in book.publications if p.series == episode.series and p.episode != episode.id and p.day
    ]
    before += [
        (other.slot.day, other.title) for other in book.open_studies if other.series == episode.series and other.slot
    ]
    day, title = max((pair for pair in before if pair[0] < on), default=(None, ""))
    return [f"Gap: {words.weeks((on - day).days)} after {title} of {words.day(day)}"] if day else []


def _record(record: Publication) -> list[str]:
    """When it came out and where it can be watched."""
    lines = [f"Came out: {record.actual.words}"] if record.actual else []
    return [*lines, f"Watch: {record.link.strip()}"] if record.link.strip() else lines


def _long_day(day: date) -> str:
    return f"{day:%A} {words.day(day)}"


def _day_after(day: date) -> date:
    """The exclusive end of an all-day entry (RFC 5545 3.6.1)."""
    return day if day == date.max else day + timedelta(days=1)
