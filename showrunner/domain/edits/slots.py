"""Edits of planned slots."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from showrunner.domain.book import Book
from showrunner.domain.edits.checks import check_slot_of, keep_promises, need_open
from showrunner.domain.edits.studies import make_study
from showrunner.domain.house import DEFAULT_HABIT, Habit
from showrunner.domain.slot import SlotRef

Placement = tuple[str, str, str, tuple[str, ...], SlotRef | None]
"""Id of a study, or `piece:ID` for one to be made; its title, series and pieces; its slot or None."""

IMPLIED = "piece:"
"""Start of the id of a study that does not exist yet."""


def set_slot(book: Book, episode: str, slot: SlotRef | None) -> Book:
    """Plan an open episode for a slot, or for none.

    Raises:
        UnknownThing: the episode or the rule is not in the book.
        BadInput: it is published, the day is no slot of the rule, or its series may not use it.
        Contradiction: another open episode is planned there (both are named), or a pin promises another slot.
    """
    changed = replace(need_open(book, episode), slot=slot)
    check_slot_of(book, changed)
    return keep_promises(book, book.put("episodes", changed))


def place_all(book: Book, placements: Sequence[Placement], *, habit: Habit = DEFAULT_HABIT) -> Book:
    """Take over a whole plan: make the studies it implies and plan every study for its slot.

    Open studies without a slot in `placements`, or not in it at all, have no slot afterwards.
    Published studies and filler stay as they are.

    Args:
        book: the book.
        placements: the plan.
        habit: how it was made; the book remembers that.

    Raises:
        UnknownThing, BadInput, Contradiction: a placement does not fit the book as it is now.
    """
    slots: dict[str, SlotRef] = {}
    after = book
    for id, title, series, pieces, slot in placements:
        if slot is None:
            continue
        if id.startswith(IMPLIED):
            after, study = make_study(after, pieces, series, title)
            slots[study.id] = slot
        else:
            slots[need_open(after, id).id] = slot
    placed = [replace(study, slot=slots.get(study.id)) for study in after.open_studies]
    after = replace(after.put("episodes", *placed), house=replace(after.house, habit=habit))
    for study in placed:
        check_slot_of(after, study)
    return keep_promises(book, after)
