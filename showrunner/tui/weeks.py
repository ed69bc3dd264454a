"""The Ledger as values: one row a week, one cell for each slot rule, hours in the margin, and the next thing to do."""

from __future__ import annotations

from collections.abc import Mapping, Set
from datetime import date, timedelta
from enum import StrEnum
from typing import TYPE_CHECKING

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.episode import Episode, EpisodeKind, PinKind
from showrunner.domain.publication import Publication
from showrunner.domain.record import record
from showrunner.domain.rules import Board, clause
from showrunner.domain.slot import DarkRange, SlotRef, SlotRule
from showrunner.domain.titles import quoted
from showrunner.planning.candidates import not_open_yet
from showrunner.tui import first_steps

if TYPE_CHECKING:
    from showrunner.planning.results import WorkPlan

PAST_WEEKS = 20
"""Weeks of the record that the Ledger shows."""

AHEAD_WEEKS = 40
"""Weeks ahead that the Ledger shows at least."""


class Content(StrEnum):
    """What a slot holds."""

    NOTHING = "nothing"
    """The rule has no slot in that week."""
    EPISODE = "episode"
    """An open episode."""
    RECORD = "record"
    """Something on record: published or missed."""
    DARK = "dark"
    """Nothing is published."""
    UNKNOWN = "unknown"
    """It is past, and the record does not say what came."""
    FREE = "free"
    """Its usual content."""


@record
class Cell:
    """What is in one slot."""

    slot: SlotRef | None
    """The slot; None if the rule has none in that week."""
    content: Content
    """What it holds."""
    glyph: str
    """The sign before the words; empty if there is none."""
    words: str
    """What it holds, in words."""
    tone: str = ""
    """`study`, `muted`, `trouble` or nothing."""
    episode: str = ""
    """Id of the open episode in it; empty if there is none."""

    @property
    def text(self) -> str:
        """Glyph and words."""
        return f"{self.glyph} {self.words}".strip()


@record
class Week:
    """One row."""

    monday: date
    """Its Monday."""
    cells: tuple[Cell, ...]
    """One for each slot rule, in book order."""
    spare: int | None = None
    """Minutes that could be lost from this week until the tightest day ahead before something is late; None if past
    or beyond all work."""
    short: int = 0
    """Minutes missing for what is in its slots."""
    workless: tuple[DarkRange, ...] = ()
    """Ranges without work that lie in it, wholly or in part."""
    part: int = 0
    """0; above it in a further row of a week in which some slot comes more than once."""

    @property
    def margin(self) -> str:
        """What is missing, that there is no work all week, or the spare hours; `■` where some days are without work."""
        if self.short:
            return f"! {words.hours(self.short)} short"
        days = [self.monday + timedelta(n) for n in range(7)]
        if self.workless and all(any(dark.covers(day) for dark in self.workless) for day in days):
            return "■ no work"
        spare = "" if self.spare is None else words.hours(self.spare)
        return f"■ {spare}".strip() if self.workless else spare


def monday_of(day: date) -> date:
    """The Monday of the week of a day."""
    return day - timedelta(day.weekday())


def weeks(book: Book, today: date, work: WorkPlan | None) -> tuple[Week, ...]:
    """The rows of the Ledger, from the past to the last planned study and some months ahead at least.

    Args:
        book: the book.
        today: the present day.
        work: the dated work; None while it is not worked out, which leaves the hours out.
    """
    first = monday_of(today) - timedelta(weeks=PAST_WEEKS)
    record = [line.planned or line.day for line in book.publications]
    oldest = min((day for day in record if day), default=today)
    first = max(first, monday_of(min(oldest, today)))
    planned = [e.slot.day for e in book.episodes if e.slot and not e.published]
    first = min([first, *map(monday_of, planned)])  # what is overdue can always be reached
    last = max([today + timedelta(weeks=AHEAD_WEEKS), *planned])
    lines = _lines(book)
    open_episodes = {e.slot: e for e in book.episodes if e.slot and not e.published}
    pinned = {pin.slot for pin in book.pins if pin.kind is PinKind.DATE}
    board = Board(book)
    short: dict[SlotRef, int] = {}
    for item in work.shortfalls if work else ():  # a slot can be short by itself, and again beside what a study takes
        short[item.slot] = max(item.minutes, short.get(item.slot, 0))
    troubled = short.keys() | {breach.slot for breach in board.broken(today).values()}
    rows = []
    monday = first
    while monday <= last:
        days = [_days_in(rule, monday) for rule in book.rules]
        for part in range(max([1, *map(len, days)])):
            of_part = [slots[part] if part < len(slots) else None for slots in days]
            slots = [SlotRef(day, rule.id) if day else None for rule, day in zip(book.rules, of_part, strict=True)]
            cells = tuple(_cell(board, slot, today, lines, open_episodes, pinned, troubled) for slot in slots)
            if part:
                rows.append(Week(monday, cells, part=part))
                continue
            missing = max((minutes for slot, minutes in short.items() if monday_of(slot.day) == monday), default=0)
            spare = None if monday + timedelta(6) < today else _spare(work, monday)
            rows.append(Week(monday, cells, spare, missing, _workless(book, monday)))
        monday += timedelta(7)
    return tuple(rows)


def _days_in(rule: SlotRule, monday: date) -> list[date]:
    """The days of a slot in a week."""
    return [day for day in (monday + timedelta(n) for n in range(7)) if rule.comes_on(day)]


def _lines(book: Book) -> dict[SlotRef, Publication]:
    """Lines of the record by the slot they were planned for, and by the one they came in."""
    found: dict[SlotRef, Publication] = {}
    for line in book.publications:
        if line.actual and line.actual.is_exact and line.actual.latest:
            found.setdefault(SlotRef(line.actual.latest, line.rule), line)
        if line.planned:
            found[SlotRef(line.planned, line.rule)] = line
    return found


def _cell(
    board: Board,
    slot: SlotRef | None,
    today: date,
    lines: Mapping[SlotRef, Publication],
    open_episodes: Mapping[SlotRef, Episode],
    pinned: set[SlotRef | None],
    troubled: Set[SlotRef],
) -> Cell:
    if slot is None:
        return Cell(None, Content.NOTHING, "", "")
    day = slot.day
    line, episode = lines.get(slot), open_episodes.get(slot)
    if episode:
        if day < today:
            return Cell(slot, Content.EPISODE, "!", f"overdue: {episode.title}", "trouble", episode.id)
        if episode.kind is EpisodeKind.FILLER:
            if slot in troubled:
                return Cell(slot, Content.EPISODE, "!", f"short: {episode.title}", "trouble", episode.id)
            state = "banked" if episode.finished else "begun" if episode.worked else "named"
            glyph = "●" if episode.finished else "○"
            return Cell(slot, Content.EPISODE, glyph, f"{state}: {episode.title}", "", episode.id)
        promised = "promised: " if slot in pinned else ""
        glyph, tone = ("!", "trouble") if slot in troubled else ("◆", "study")
        return Cell(slot, Content.EPISODE, glyph, f"{promised}{episode.title}", tone, episode.id)
    if line:
        return Cell(slot, Content.RECORD, *_past(line, day), "" if line.series else "muted")
    if board.is_silent(day):
        return Cell(slot, Content.DARK, "■", "dark", "muted")
    if day < today:
        return Cell(slot, Content.UNKNOWN, "?", "not on record", "muted")
    glyph, tone = ("!", "trouble") if slot in troubled else ("·", "muted")
    return Cell(slot, Content.FREE, glyph, board.book.rule(slot.rule).name, tone)


def _past(line: Publication, day: date) -> tuple[str, str]:
    """Glyph and words of a line of the record."""
    if line.actual is None:
        return "–", f"missed: {line.title}"
    if line.late_or_missed and line.planned == day:
        return "–", f"came late: {line.title}"
    return "✓", line.title


def _spare(work: WorkPlan | None, monday: date) -> int | None:
    """Minutes that could be lost from a Monday on before something is late; None if nothing is due from then on."""
    ahead = [balance.available - balance.needed for balance in work.balances if balance.day >= monday] if work else []
    return max(0, min(ahead)) if ahead else None


def _workless(book: Book, monday: date) -> tuple[DarkRange, ...]:
    """The ranges without work that lie in a week, wholly or in part."""
    sunday = monday + timedelta(6)
    return tuple(dark for dark in book.dark if dark.no_work and dark.first <= sunday and dark.last >= monday)


def _trouble(book: Book, today: date, work: WorkPlan) -> str:
    """The next thing that will not be as planned, by its slot, and the key that helps; empty if all is well.

    Usual content that should be in work this week comes last: some of it may be done and not put down.
    """
    from showrunner.planning.results import Lack

    again = "r plans again with fewest moves."
    found = []
    for id, breach in Board(book).broken(today).items():
        text = f"{quoted(book.episode(id).title)} stands on {words.day(breach.slot.day)}, but {clause(book, breach)}"
        found.append((False, breach.slot, f"{text}. {again}"))
    for item in work.shortfalls:
        text = f"{item.text} {'m on it moves it.' if item.lack is Lack.SHOOT_DAY else again}"
        in_work = False
        if item.lack is Lack.ALONE:
            in_work = item.slot.day - timedelta(book.house.lead_days + 7) < today
            short = f"{item.title} of {words.day(item.slot.day)} is {words.hours(item.minutes)} short"
            text = f"{short} even without any study: k puts down what is done of it, b banks it."
        found.append((in_work, item.slot, text))
    return min(found, default=(False, SlotRef(today, ""), ""), key=lambda one: one[:2])[2]


@record
class NextStep:
    """The one thing to do next."""

    text: str
    """In a sentence, with its key."""
    trouble: bool = False
    """Whether something is wrong."""
    due: str = ""
    """Id of the episode that is due and not on record; empty if the step is about something else."""


def next_step(book: Book, today: date, work: WorkPlan | None) -> NextStep:
    """The single next thing to do.

    Args:
        book: the book.
        today: the present day.
        work: the dated work; None while it is not worked out.
    """
    overdue = next((e for e in book.episodes if e.slot and not e.published and e.slot.day < today), None)
    if overdue and overdue.slot:
        text = f"“{overdue.title}” was due on {words.day(overdue.slot.day)}: y publishes it, M marks the slot missed."
        return NextStep(text, trouble=True, due=overdue.id)
    today_slot = next((e for e in book.episodes if e.slot and not e.published and e.slot.day == today), None)
    if today_slot:
        return NextStep(f"Today “{today_slot.title}” goes out: y puts it on record.", due=today_slot.id)
    if step := first_steps.due(book):
        return NextStep(f"Next: {first_steps.WORDS[step]}. g goes on.")
    if work is None:
        return NextStep("Working out the hours …")
    if trouble := _trouble(book, today, work):
        return NextStep(trouble, trouble=True)
    placed = {piece for e in book.open_studies for piece in e.pieces}
    unplaced = [e.title for e in book.open_studies if e.slot is None]
    opened = {series.collection for series in book.series} - not_open_yet(book)
    there = [p for p in book.pieces if p.want is None or (p.is_here and p.collection in opened)]
    loose = [p for p in there if p.shown.known.value == "no" and p.id not in placed]
    if unplaced or loose:
        names = [*unplaced, *(p.name for p in loose)]
        more = f" and {len(names) - 1} more" if len(names) > 1 else ""
        return NextStep(f"No slot yet: {names[0]}{more}. p plans.")
    task = next(iter(work.tasks), None)
    if task:
        when = "Today" if task.day == today else words.short_day(task.day)
        what = f"{task.stage.value} of “{task.title}”" if task.stage else task.title
        return NextStep(f"{when}: {words.hours(task.minutes)} on {what}, ready by {words.day(task.ready_by)}.")
    if book.open_studies or book.pieces:
        return NextStep("Nothing is waiting.")
    return NextStep("No piece is left to show: a on the Register adds one.")
