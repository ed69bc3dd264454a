"""What the calendar holds: every publishing slot, the work on each study, pickups, and dark ranges.

Of usual content only the slot stands there, not the work: it comes every week and would bury the rest. Dark
ranges that came from a busy calendar get none either: the owner's calendar already shows them.
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
from showrunner.domain.slot import DarkRange, Slot, SlotRef
from showrunner.ical.entry import Entry, clean, make_uid
from showrunner.ical.gaps import Gaps
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


USUAL = "usual"
"""Category of the slot of usual content that has no name yet."""


def entries(book: Book, work: WorkPlan, slots: tuple[Slot, ...], usual: tuple[Slot, ...] = ()) -> tuple[Entry, ...]:
    """Every entry the calendar should hold now, by start.

    Args:
        book: the book.
        work: the dated work; only tasks on a stage of an episode in the book are taken.
        slots: the slots of the book's episodes; an episode whose slot is missing here gets no entry.
        usual: the slots in which no episode stands.
    """
    by_ref = {slot.ref: slot for slot in slots}
    told = {line.id for line in book.calendar}
    lines = {line.episode: line for line in book.publications if line.actual}
    gaps = Gaps.of(book)
    found = []
    for episode in book.episodes:
        slot, record = by_ref.get(episode.slot) if episode.slot else None, lines.get(episode.id)
        out = _came_out(book, record) if record and episode.published else None
        if out and (slot or _slot_uid(book, episode.id) in told):
            slot = out
        if slot:
            found.append(_publishing(book, episode, slot, record, gaps))
    unnamed = {
        SlotRef(line.planned, line.rule): line for line in book.publications if line.planned and not line.episode
    }
    found += [_usual(book, slot, unnamed.get(slot.ref)) for slot in usual]
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


def usual_uid(book: Book, slot: SlotRef) -> str:
    """The UID of a slot in which no episode stands."""
    return make_uid(book.key, f"slot:{slot.rule}:{slot.day}")


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


def _publishing(book: Book, episode: Episode, slot: Slot, record: Publication | None, gaps: Gaps) -> Entry:
    """The entry of a publication.

    Args:
        book: the book.
        episode: the episode.
        slot: when it is to come out; once it is out, when it did.
        record: the line of the record on which it came out; None if there is none.
        gaps: what came before it in its series.
    """
    lines = [_clock(book, slot)]
    if record and record.planned and record.planned != slot.day:
        lines.append(f"It was planned for {_long_day(record.planned)}")
    lines += _about(book, episode)
    if record is None or record.planned == slot.day or (record.actual and record.actual.is_exact):
        lines += _gap(gaps, episode, slot.day)
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


def _usual(book: Book, slot: Slot, record: Publication | None) -> Entry:
    """The entry of a slot in which no episode stands.

    Args:
        book: the book.
        slot: the slot.
        record: the line of the record that was planned for it; None if there is none.
    """
    came = _came_out(book, record) if record else None
    start, title = (came or slot).start, record.title if record else book.rule(slot.rule).name
    head = "Publish" if record is None else "Published" if record.actual else "Missed"
    return Entry(
        uid=usual_uid(book, slot.ref),
        summary=clean(f"{head}: {title}"),
        start=start,
        end=start + timedelta(minutes=PUBLISHING_MINUTES),
        status="CONFIRMED" if record else "TENTATIVE",
        categories=("publication", USUAL),
        description=clean("\n".join([_clock(book, came or slot), *(_record(record) if record else ())])),
        alarm_minutes=None if record else PUBLISHING_ALARM_MINUTES,
        alarm_text="" if record else clean(f"In an hour: {title}"),
    )


def _clock(book: Book, slot: Slot) -> str:
    """Day, time and zone of a slot."""
    times = book.rule(slot.rule).on(slot.day)
    return f"{_long_day(slot.day)}, {times.at:%H:%M} ({times.zone})"


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
    lines += [f"{line.remedy}: {book.piece(line.piece).name}, {line.text}" for line in found.lines]
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


def _gap(gaps: Gaps, episode: Episode, on: date) -> list[str]:
    """The weeks since the study before it in its series, if it comes out on a day; no firmer than both are known."""
    if episode.kind is not EpisodeKind.STUDY or (before := gaps.before(episode.series, episode.id, on)) is None:
        return []
    least, most = ((on - day).days for day in (before.last, before.first))
    weeks = words.weeks(least) if least == most else f"{words.weeks(least)} to {words.weeks(most)}"
    return [f"Gap: {weeks} after {before.title} of {before.words}"]


def _record(record: Publication) -> list[str]:
    """When it came out and where it can be watched."""
    lines = [f"Came out: {record.actual.words}"] if record.actual else []
    return [*lines, f"Watch: {record.link.strip()}"] if record.link.strip() else lines


def _long_day(day: date) -> str:
    return f"{day:%A} {words.day(day)}"


def _day_after(day: date) -> date:
    """The exclusive end of an all-day entry (RFC 5545 3.6.1)."""
    return day if day == date.max else day + timedelta(days=1)
