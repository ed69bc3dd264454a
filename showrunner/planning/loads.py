"""What must be ready for the slots, with the hours that are left of it: planned studies and usual content."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from showrunner.domain.book import Book
from showrunner.domain.episode import Episode, Stage
from showrunner.domain.record import record
from showrunner.domain.slot import SlotRef
from showrunner.planning.hours import StandingWork, ready_day


@record
class Load:
    """Something that must be ready for a slot."""

    title: str
    """What it is."""
    slot: SlotRef
    """The slot."""
    ready: int
    """Day offset by which it must be ready."""
    stages: tuple[tuple[Stage | None, int], ...]
    """Minutes left, stage by stage in order; one entry with None for what has no stages."""
    episode: str = ""
    """Id of the episode; empty for usual content that has no name."""

    @property
    def minutes(self) -> int:
        """Minutes left of it."""
        return sum(minutes for _, minutes in self.stages)


def study_load(book: Book, today: date, study: Episode) -> Load | None:
    """The work left on a planned study; None if nothing is left, it has no slot or its slot is past."""
    left = study.left(book.stages_of(study))
    if study.slot is None or study.slot.day < today or not left:
        return None
    return Load(study.title, study.slot, ready_day(book, today, study.slot), left, study.id)


def standing_loads(book: Book, standing: Iterable[StandingWork], *, whole: bool = False) -> list[Load]:
    """The usual content of slots, under the name of the episode in it where there is one.

    Args:
        book: the book.
        standing: the usual content.
        whole: whether it counts with all its hours, those too that do not fit even without any study.
    """
    names = {rule.id: rule.name for rule in book.rules}
    fillers = {episode.slot: episode for episode in book.episodes if episode.slot and not episode.pieces}
    found = []
    for work in standing:
        filler = fillers.get(work.slot.ref)
        minutes = work.minutes + work.short if whole else work.minutes
        title, id = (filler.title, filler.id) if filler else (names[work.slot.rule], "")
        found.append(Load(title, work.slot.ref, work.ready, ((None, minutes),), id))
    return found
