"""What does not fit in the hours, by how much, and the first slot that works for it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cached_property
from itertools import accumulate

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.episode import Episode, Stage
from showrunner.domain.rules import Board, Breach, Member, Rule, missing_hours, terms_of
from showrunner.domain.slot import Slot, SlotRef
from showrunner.domain.titles import quoted
from showrunner.planning.hours import StandingWork, spare_time, standing_work, working_time
from showrunner.planning.loads import Load, standing_loads, study_load
from showrunner.planning.plan import HORIZON_WEEKS
from showrunner.planning.results import Lack, Shortfall
from showrunner.planning.slots import expand


@dataclass(frozen=True)
class Room:
    """The hours there are for the studies where they stand."""

    book: Book
    """The book."""
    today: date
    """First day of work."""
    slots: tuple[Slot, ...]
    """All slots looked at, by instant."""
    time: tuple[int, ...]
    """Working minutes from today through every day."""

    @cached_property
    def planned(self) -> tuple[Episode, ...]:
        """Open studies that have a slot, in the order of their slots."""
        planned = [study for study in self.book.open_studies if study.slot]
        return tuple(sorted(planned, key=lambda study: study.slot or SlotRef(self.today, "")))

    @cached_property
    def loads(self) -> tuple[Load, ...]:
        """What is left of them."""
        found = (study_load(self.book, self.today, study) for study in self.planned)
        return tuple(load for load in found if load is not None)

    @cached_property
    def board(self) -> Board:
        """Where the rules are asked."""
        return Board(self.book)

    @cached_property
    def standing(self) -> tuple[StandingWork, ...]:
        """Usual content of every slot that no finished study holds, as if no other study were planned."""
        taken = {study.slot for study in self.planned if study.slot}
        done = taken - {load.slot for load in self.loads}
        return standing_work(self.book, self.today, self.slots, done, self.time)

    @cached_property
    def beside(self) -> tuple[StandingWork, ...]:
        """Usual content of every slot that no study is planned for."""
        taken = {study.slot for study in self.planned if study.slot}
        return standing_work(self.book, self.today, self.slots, taken, self.time)

    @cached_property
    def spare_beside(self) -> tuple[int, ...]:
        """Minutes that this content leaves for the planned studies, from today through every day."""
        return spare_time(self.time, self.beside)

    @cached_property
    def freed(self) -> dict[SlotRef, int]:
        """Minutes that a study in a slot spares, as it stands in place of the usual content."""
        return {work.slot.ref: work.minutes for work in self.standing}

    @cached_property
    def spare(self) -> tuple[int, ...]:
        """Minutes that usual content leaves, from today through every day."""
        return spare_time(self.time, self.standing)

    @cached_property
    def missing(self) -> tuple[int, ...]:
        """For every day, the minutes missing for what must be ready by then."""
        return self._missing(self.loads)

    def _due(self, loads: Sequence[Load]) -> list[int]:
        """For every day, minutes of the studies that must be ready by then, beyond the usual content they replace."""
        due = [0] * len(self.spare)
        for load in loads:
            if 0 <= load.ready < len(due):
                due[load.ready] += load.minutes - self.freed.get(load.slot, 0)
        return list(accumulate(due))

    def _missing(self, loads: Sequence[Load]) -> tuple[int, ...]:
        return tuple(missing_hours(due, there) for due, there in zip(self._due(loads), self.spare, strict=True))

    def against(self, study: Episode, slot: SlotRef) -> Breach | None:
        """The hard rule that forbids a study a slot with all others where they are; None if it may stand there.

        Of several, one that the slot is held by another is named first, and the hours last. The hours allow a slot
        if the study is ready in time and nothing becomes later by it.
        """
        book = self.book
        others = [(terms_of(book, other), other.slot) for other in self.planned if other.slot and other.id != study.id]
        held = (Rule.TAKEN, Rule.HELD)
        found = sorted(self.board.against(terms_of(book, study), slot, others), key=lambda b: b.rule not in held)
        return found[0] if found else self._hours_against(study, slot)

    def _hours_against(self, study: Episode, slot: SlotRef) -> Breach | None:
        load = study_load(self.book, self.today, replace(study, slot=slot))
        if load is None or load.ready >= len(self.spare):
            return None
        if load.ready < 0:
            return Breach(Rule.TODAY, (Member(Rule.HOURS),), study.id, slot, amount=load.minutes)
        after = self._missing([*(other for other in self.loads if other.episode != study.id), load])
        worse = max(then if then > now else 0 for now, then in zip(self.missing, after, strict=True))
        short = max(after[load.ready], worse)
        return Breach(Rule.HOURS, (Member(Rule.HOURS),), study.id, slot, amount=short) if short else None

    def spare_in(self, study: Episode, slot: SlotRef) -> int | None:
        """Minutes that could still be lost before something is late, with a study in a slot; None beyond the days."""
        load = study_load(self.book, self.today, replace(study, slot=slot))
        loads = [other for other in self.loads if other.episode != study.id]
        if load is not None:
            loads.append(load)
        ready = [other.ready for other in loads if 0 <= other.ready < len(self.spare)]
        if not ready:
            return None
        due = self._due(loads)
        return min(self.spare[day] - due[day] for day in ready)


def room_of(book: Book, today: date, *, horizon_weeks: int = HORIZON_WEEKS) -> Room:
    """The hours of a book from today through the horizon, or through the last planned slot if that is later."""
    ahead = [(study.slot.day - today).days for study in book.open_studies if study.slot]
    days = max(7 * horizon_weeks, *ahead, 0) + 1
    slots = expand(book.rules, today, today + timedelta(days - 1))
    return Room(book, today, slots, working_time(book, today, days))


def shortfalls(room: Room) -> list[Shortfall]:
    """Every planned study that does not fit its slot, with the hours missing and the first slot that works."""
    found = []
    loads = {load.episode: load for load in room.loads}
    for study in room.planned:
        slot = study.slot
        assert slot is not None
        if slot.day < room.today:
            text = f"{quoted(study.title)} was planned for {words.day(slot.day)}, which is past; "
            text += "publish it, mark the slot missed, or plan again."
            found.append(Shortfall(study.title, study.id, slot, 0, None, text, Lack.PAST))
            continue
        load = loads.get(study.id)
        if load is None:
            continue
        short = load.minutes if load.ready < 0 else room.missing[load.ready]
        if not short:
            continue
        later = (s.ref for s in room.slots if room.board.turn(s.ref) > room.board.turn(slot))
        fit = next((ref for ref in later if room.against(study, ref) is None), None)
        text = (
            f"{quoted(study.title)} of {words.day(slot.day)} is {words.hours(short)} short: {_of(room, load, short)}; "
        )
        text += f"the first slot that works is {words.day(fit.day)}." if fit else "no later slot works either."
        found.append(Shortfall(study.title, study.id, slot, short, fit, text, Lack.HOURS))
    return found


def standing_shortfalls(room: Room, end: int) -> list[Shortfall]:
    """Usual content that will be late, up to a day: for want of hours at all, or because of the studies.

    Because of the studies it is told where the hours begin to be missing, or more of them are than before; what
    follows is late for the same hours.
    """
    found: list[Shortfall] = []
    spare = room.spare_beside
    studies = {load.ready for load in room.loads if load.ready >= 0}
    works = {work.slot.ref: work for work in room.beside if work.ready <= end}
    usual = standing_loads(room.book, works.values())
    before = 0
    for day in sorted({*studies, *(load.ready for load in usual)}):
        here = [load for load in usual if load.ready == day]
        for load in here:
            if short := works[load.slot].short:
                text = f"{_named(load)} is {words.hours(short)} short even without any study; "
                text += "put down what is done of it, bank it, or add hours."
                found.append(Shortfall(load.title, load.episode, load.slot, short, None, text, Lack.ALONE))
        missing = missing_hours(sum(load.minutes for load in room.loads if 0 <= load.ready <= day), spare[day])
        if here and missing > before and day not in studies:
            load = here[-1]
            text = f"{_named(load)} is {words.hours(missing)} short because of the studies: "
            text += f"{_of(room, load, missing)}; plan again, or find the hours."
            found.append(Shortfall(load.title, load.episode, load.slot, missing, None, text, Lack.CROWDED))
        before = missing
    return found


def shoot_shortfall(load: Load) -> Shortfall:
    """A shoot that has the hours, but no day that holds it whole."""
    shoot = next(minutes for stage, minutes in load.stages if stage is Stage.SHOOT)
    text = f"{quoted(load.title)} has the hours, but no day in time with {words.hours(shoot)} in one go for its shoot; "
    text += "give one day more hours or move it."
    return Shortfall(load.title, load.episode, load.slot, shoot, None, text, Lack.SHOOT_DAY)


def _named(load: Load) -> str:
    return f"{load.title} of {words.day(load.slot.day)}"


def _of(room: Room, load: Load, short: int) -> str:
    """The hours needed and the hours there are by the day something must be ready."""
    ready = words.day(room.today + timedelta(load.ready))
    there = room.time[load.ready] if load.ready >= 0 else 0
    return f"{words.hours(there + short)} are needed by {ready}, {words.hours(there)} are there"
