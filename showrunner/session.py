"""An open book: what is done to it, undone, saved and computed from it; knows no screen."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from datetime import date, datetime
from functools import reduce
from pathlib import Path
from threading import Lock
from types import TracebackType
from typing import TYPE_CHECKING, Any, Self, TypeVar

from showrunner import clock, wanted
from showrunner.domain import consistency, edits, mending
from showrunner.domain.book import YEARS, Book
from showrunner.domain.edits.slots import Placement
from showrunner.domain.house import Habit
from showrunner.domain.publication import CalendarEntry
from showrunner.domain.words import day as day_words
from showrunner.domain.zone import check_zone, is_zone, zone_or_utc
from showrunner.errors import BadInput, BookInUse, CannotWrite, Contradiction, ShowrunnerError
from showrunner.storage import restoring
from showrunner.storage.backups import Backup
from showrunner.storage.book_file import BookFile
from showrunner.storage.book_reading import is_book

if TYPE_CHECKING:
    from showrunner.domain.house import Unsure
    from showrunner.domain.rules import Breach
    from showrunner.domain.slot import SlotRef
    from showrunner.ical.export import Export
    from showrunner.ical.pushing import Push
    from showrunner.ical.stores import Store
    from showrunner.intake.findings import Asked, Intake
    from showrunner.planning.aims import Aim
    from showrunner.planning.backtest import Backtest
    from showrunner.planning.changes import Change
    from showrunner.planning.choices import Choice
    from showrunner.planning.handover import Handover
    from showrunner.planning.lasting import Lasting
    from showrunner.planning.money import Purse
    from showrunner.planning.moving import Place
    from showrunner.planning.package import Prepared
    from showrunner.planning.results import Placed, Plan, RunOut, WorkPlan
    from showrunner.planning.shoot_plan import ShootPlan
    from showrunner.planning.slot_record import SlotRecord
    from showrunner.planning.space import Space

T = TypeVar("T")

FORECAST_SECONDS = 10.0
"""Time for each outcome's plan in a forecast; beyond it the best found is used, and said to be so."""

LOOK_BACK_SECONDS = 0.3
"""Time for each plan of a look back at the record, at least two for each month of it; then the best found is used.

One takes a tenth of that for the demo. What a plan needs of memory at once grows with its time, to 60 MB in a second.
"""

PROCESSOR = wanted.heeding(clock.Stopwatch())
"""What limits of time are counted by: the time of this process, so that a busy machine makes no plan worse.

Reading it gives up a plan that nobody waits for any more.
"""

KEPT_RESULTS = 16
"""Computed results that are kept at hand."""


def dated_by(book: Book, plan: Plan) -> Book:
    """The book with the dates of a plan, the studies it implies, and how it was made."""
    return edits.place_all(book, placements(plan), habit=Habit(plan.aim.keep, plan.unsure))


def placements(plan: Plan) -> tuple[Placement, ...]:
    """Every study of a plan with its slot, as `edits.place_all` takes it."""
    placed = [(p.id, p.title, p.series, p.pieces, p.slot.ref) for p in plan.studies]
    return (*placed, *((u.id, u.title, u.series, u.pieces, None) for u in plan.unplaced))


class Session:
    """One open book. Every action is one edit, one save and one undo step.

    Use it as a context manager, or call :meth:`close` at the end to give the lock back.
    Everything the user can cause is raised as a ShowrunnerError, and then neither the book
    in memory nor the one on disk has changed.
    """

    def __init__(self, file: BookFile, *, today: date | None = None, now: Callable[[], datetime] = clock.now) -> None:
        self._file = file
        self._today = today
        self._now = now
        self._fixed_days: dict[date, clock.FixedDay] = {}
        self._fixed_day()
        self._results: dict[tuple[Any, ...], tuple[tuple[Any, ...], Any]] = {}
        self._sharing = Lock()
        """Held while the results are looked up or changed: plans are worked out beside the screen, in threads."""

    # Opening and closing

    @classmethod
    def open(
        cls,
        path: Path | str,
        *,
        write: bool = True,
        create: bool = False,
        today: date | None = None,
        now: Callable[[], datetime] = clock.now,
        steps: bool = True,
    ) -> Self:
        """Open the book at `path`.

        If another window is writing it, or its folder cannot be written, it opens read-only and
        `read_only_reason` says why.

        Args:
            path: the book file; a symbolic link is followed to its target.
            write: whether to take the writer's lock; False never writes anything, no lock either.
            create: whether to make an empty book (and its folders) where there is none.
            today: the day it is on opening, from which time runs on; None for the book's clock or the real day.
            now: tells the instant, UTC, for undo steps and backups.
            steps: whether its undo steps are read; without them a book of which they are damaged can be mended.

        Raises:
            BadInput: there is no book at `path` and `create` is False, or it is a folder.
            BookDamaged: the file cannot be read, or a newer version wrote it; it is left as it is.
            CannotWrite: a new book cannot be written there.
        """
        if create and not is_book(path):
            from uuid import uuid4

            return cls.create(path, Book(key=str(uuid4())), today=today, now=now)
        return cls(BookFile.open(Path(path), write=write, now=now, steps=steps), today=today, now=now)

    @classmethod
    def create(
        cls,
        path: Path | str,
        book: Book,
        *,
        today: date | None = None,
        now: Callable[[], datetime] = clock.now,
    ) -> Self:
        """Write `book` to a new file at `path`, making its folders, and open it for writing.

        Raises:
            BadInput: there is a file at `path` already.
            BookInUse: another window holds the lock of that path.
            CannotWrite: the file cannot be written.
        """
        return cls(BookFile.create(Path(path), book, now=now), today=today, now=now)

    @staticmethod
    def restore_file(path: Path | str, number: int, *, now: Callable[[], datetime] = clock.now) -> list[str]:
        """Restore backup `number` over the book at `path` without opening it: the way back from a damaged book.

        A readable book is kept as a backup first. A damaged one, or one of a newer version, is put
        aside untouched beside the book (`book.json.damaged-1`).

        Returns:
            What was done, as sentences.

        Raises:
            UnknownThing: there is no backup of that number.
            BookDamaged: the backup itself cannot be read.
            BookInUse: another window is writing the book.
            CannotWrite: the file cannot be written; it is as it was before.
        """
        return restoring.restore(Path(path), number, now=now)

    @staticmethod
    def backups_of(path: Path | str) -> tuple[Backup, ...]:
        """Backups of the book at `path`, oldest first, without opening it (it may be damaged or missing)."""
        return restoring.backups_of(Path(path))

    def close(self) -> None:
        """Give the lock back; every action is saved already. Does nothing the second time."""
        self._file.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    # What is open

    @property
    def book(self) -> Book:
        """The book as it is now."""
        return self._file.book

    @property
    def path(self) -> Path:
        """The path the book was opened by."""
        return self._file.path

    @property
    def today(self) -> date:
        """The day to compute for: the one asked for, else the book's clock, else the real day in the house's zone.

        From a day that was asked for, or at which the book's clock stands, time runs on as long as the book is open.

        Raises:
            BadInput: it is the real day that is meant, and the system does not know the house's zone.
        """
        zone = self.book.house.zone
        if fixed := self._fixed_day():
            return fixed.today(self._now(), zone) if is_zone(zone) else fixed.day
        if day := self._today or self.book.clock:
            return day
        check_zone(zone, "house rules")
        return clock.day_of(self._now(), zone)

    @property
    def read_only(self) -> bool:
        """Whether nothing can be changed here."""
        return bool(self._file.read_only_reason)

    @property
    def read_only_reason(self) -> str:
        """Why nothing can be changed, in plain words; empty if it can."""
        return self._file.read_only_reason

    @property
    def warnings(self) -> tuple[str, ...]:
        """Sentences worth showing that stopped nothing (a backup that failed, a book brought to a new layout)."""
        return tuple(self._file.warnings)

    # Changing the book

    def do(self, label: str, edit: Callable[[Book], Book]) -> Book:
        """Change the book: one edit, one save, one undo step.

        Args:
            label: the action in words, for undo (`mark the apron shown`).
            edit: takes the book and returns the changed one, or raises a ShowrunnerError.

        Returns:
            The book as it is now. If `edit` returns an equal book nothing is saved and there is no step.

        Raises:
            BookInUse: the book is open read-only because another window is writing it.
            CannotWrite: it cannot be saved; memory and disk hold what they held before.
            ShowrunnerError: whatever `edit` refuses.
        """
        self._must_write()
        self._file.save(label, edit(self.book))
        return self.book

    def make(self, label: str, edit: Callable[[Book], tuple[Book, T]]) -> T:
        """Like :meth:`do`, for an edit that also returns the thing it made; returns that thing."""
        self._must_write()
        book, made = edit(self.book)
        self._file.save(label, book)
        return made

    def save_calendar(self, entries: tuple[CalendarEntry, ...]) -> None:
        """Keep what calendars were told. It makes no undo step, and undo never touches it.

        Raises:
            BookInUse, CannotWrite: as :meth:`do`.
        """
        self._must_write()
        self._file.save_calendar(entries)

    @property
    def undo_label(self) -> str | None:
        """The action that undo would take back; None if there is none."""
        return self._file.undo_label

    @property
    def redo_label(self) -> str | None:
        """The action that redo would do again; None if there is none."""
        return self._file.redo_label

    def undo_lasts(self, new: Book) -> bool:
        """Whether the step from the book to a changed one would be kept beside later ones.

        The newest step is always kept, but one that is too large goes as soon as another follows.
        """
        return self._file.undo_lasts(new)

    def undo(self) -> str:
        """Take the last action back, also one of an earlier run, and return its label.

        Raises:
            ShowrunnerError: there is nothing to undo, or as :meth:`do`.
        """
        self._must_write()
        return self._file.undo()

    def redo(self) -> str:
        """Do the action last undone again and return its label.

        Raises:
            ShowrunnerError: there is nothing to redo, or as :meth:`do`.
        """
        self._must_write()
        return self._file.redo()

    def apply_plan(self, plan: Plan, changes: Sequence[Change] = ()) -> Book:
        """Write a plan's dates into the book, making the studies it implies; one undo step.

        Args:
            plan: the plan.
            changes: what it supposes of the book, such as more hours; carried out first, in the same step.

        Raises:
            Contradiction: the plan has clashes, or two episodes would share a slot.
            BadInput: it was computed for another day than today.
            ShowrunnerError: the book has changed so that the plan no longer fits, or as :meth:`do`.
        """
        from showrunner.planning.changes import carried_out

        if plan.clashes:
            clash = plan.clashes[0]
            raise Contradiction(clash.text, "plan", "settle it and plan again", clash.parties)
        if plan.today != self.today:
            raise BadInput(
                f"it was made for {day_words(plan.today)}, and today is {day_words(self.today)}", "plan", "plan again"
            )
        label = "accept the plan and what it supposes" if changes else "accept the plan"
        return self.do(label, lambda book: dated_by(reduce(carried_out, changes, book), plan))

    def write_calendar(self, path: Path | str, *, replace: bool = False) -> Export:
        """Write the calendar of the book to a file and keep what calendars were told.

        An unchanged book writes the same bytes; the log is saved first, so that a file that could not be
        written is written the same the next time.

        Args:
            path: the file.
            replace: whether a calendar that another book wrote there may be replaced.

        Raises:
            OthersCalendar: another book wrote the file, and it is not to be replaced; nothing is changed.
            BookInUse, CannotWrite: the log or the file cannot be written.
            BadInput: a slot rule names an unknown zone.
        """
        from showrunner.ical.export import calendar_uid, refuse_others, write

        self._must_write()
        uid = calendar_uid(self.book)
        refuse_others(Path(path), uid, replace=replace)
        export = self._export()
        self.save_calendar(export.log)
        write(Path(path), export.data, uid, self.path, replace=replace)
        return export

    def push_calendar(self, store: Store, *, take_back: bool = False, write: bool = False) -> Push:
        """Bring a store of single entries up to date with the calendar of the book.

        What is done is kept beside the book with every outcome, so that it can stop anywhere and be done again.

        Args:
            store: the store.
            take_back: whether what was changed or deleted there is put in place again.
            write: whether anything is written; otherwise only what would be done is told.

        Raises:
            ServerTrouble, CannotWrite: the store cannot be reached or refuses; what was done until then stays.
            BookInUse: the book is open read-only.
            BadInput: a slot rule names an unknown zone.
        """
        from showrunner.ical.export import revisions
        from showrunner.ical.pushing import Push, stopped
        from showrunner.storage.put_list import keep_put_list, read_put_list

        if write:
            self._must_write()
        export = self._export()
        before = read_put_list(self.path).get(store.address, {})
        push = Push(store, before, revisions(export.log, self._now()), take_back=take_back, write=write)
        try:
            push.run(lambda: self.save_calendar(export.log) if write else None)
        except ShowrunnerError as error:
            raise stopped(error, push) from error
        finally:
            if write:
                keep_put_list(self.path, store.address, push.put)
        return push

    def _export(self) -> Export:
        """The calendar as it would be told now."""
        from showrunner.ical.export import export_calendar, usual_slots

        return export_calendar(self.book, self.work(), self._now(), usual_slots(self.book, self.today))

    def bring_in(self, path: Path | str, asked: Asked | None = None) -> Intake:
        """Compare a file with the book: a sheet, a feed or an exchange file. Nothing is written.

        Args:
            path: the file.
            asked: how it is to be read; None for as it comes.

        Raises:
            BadInput: it cannot be read, or is none of these.
        """
        from showrunner.intake.bringing import bring_in, read_file
        from showrunner.intake.findings import Asked

        file = Path(path)
        return bring_in(self.book, read_file(file), file.name, self.today, asked or Asked())

    def take_over(self, found: Intake) -> None:
        """Write what a file brings into the book: all of it, in one undo step, after a backup.

        Raises:
            BadInput: something in the file is refused, or the book has changed since it was compared.
            BookInUse, CannotWrite: as :meth:`do`.
        """
        if found.refused:
            raise BadInput(f"{len(found.refused)} refused", found.name, "put them right and bring it in again")
        if found.before is not self.book:
            raise BadInput("the book has changed since the file was read", found.name, "bring it in again")
        if not found.changes:
            return
        self.backup("before import")
        self.do(f"bring {found.name} in", lambda _: found.after)

    # Looking after the file

    def follow(self) -> bool:
        """Read the file again if it changed on disk; cheap enough to call every second.

        A reader follows what the writer saves. A writer takes over what something else wrote;
        what it held itself is kept as a backup.

        Returns:
            Whether the book changed.

        Raises:
            BookDamaged: the changed file cannot be read (said once); the book in memory stays.
        """
        return self._file.follow()

    def copy_to(self, path: Path | str) -> None:
        """Write a copy of the book, undo steps included, to a new file.

        Raises:
            BadInput: there is a file already.
            CannotWrite: it cannot be written.
        """
        self._file.copy_to(Path(path))

    def backup(self, reason: str) -> Backup:
        """Keep a numbered copy of the book as it is now.

        Args:
            reason: why, in a few words (`before import`); part of its file name.

        Raises:
            BookInUse: the book is open read-only.
            CannotWrite: the copy cannot be written.
        """
        self._must_write()
        return self._file.make_backup(reason)

    def backups(self) -> tuple[Backup, ...]:
        """The backups there are, oldest first."""
        return self._file.list_backups()

    def restore(self, number: int) -> None:
        """Go back to backup `number`; the book as it is now is kept as a backup first.

        The undo steps of the backup come back with it.

        Raises:
            UnknownThing: there is no backup of that number.
            BookDamaged: the backup cannot be read.
            BookInUse, CannotWrite: as :meth:`do`.
        """
        self._must_write()
        self._file.restore(number)

    def check(self, book: Book | None = None) -> list[str]:
        """Verify the book, and whether it can be saved, exported and brought back.

        Args:
            book: a changed copy, of which the undo steps do not count; None for the book itself.

        Returns:
            One plain sentence for each thing that is not as it should be; none if all is well.
        """
        from showrunner.intake.fitness import unfit

        checked = self.book if book is None else book
        found = [*consistency.problems(checked), *unfit(checked)]
        return found or (self._file.faults() if book is None else [])

    def against_place(self) -> ShowrunnerError | None:
        """Why nothing can be saved where the book is, whatever it holds; None if nothing stands against it."""
        return self._file.against_place()

    def mended(self) -> tuple[Book, tuple[str, ...]]:
        """The book with everything put right that can be without asking, and a sentence for each thing."""
        from showrunner.intake.fitness import made_fit

        book, texts = made_fit(self.book)
        book, told = mending.mended(book)
        steps = ("The undo steps, which cannot be saved, are left out.",) if self._file.faults_of_steps() else ()
        return book, (*texts, *told, *steps)

    def mend(self) -> Backup:
        """Put right what `mended` can, after a backup, which is returned. All undo steps go.

        Raises:
            BookInUse, CannotWrite: as :meth:`do`.
        """
        self._must_write()
        return self._file.mend(self.mended()[0])

    # Computing from it; results are kept until the book or the day changes

    def plan(
        self,
        *,
        horizon_weeks: int = 78,
        unsure: Unsure | None = None,
        aim: Aim | None = None,
        explained: bool = True,
        time_limit: float | None = None,
        book: Book | None = None,
    ) -> Plan:
        """Place the studies; arguments as `planning.plan.make_plan`; `book` is a changed copy for a what-if.

        Where only the dates are wanted, `explained` is False: no prices and no ways out are worked out.
        """
        from showrunner.domain.house import Unsure
        from showrunner.planning.aims import Aim
        from showrunner.planning.plan import make_plan

        taken, made_for = unsure or Unsure.LEFT_OUT, aim or Aim.BEST

        return self._result(
            ("plan", horizon_weeks, taken, made_for, explained, time_limit),
            book,
            lambda book, today: make_plan(
                book,
                today,
                horizon_weeks=horizon_weeks,
                unsure=taken,
                aim=made_for,
                priced=explained,
                advised=explained,
                time_limit=time_limit,
                ticker=PROCESSOR,
            ),
        )

    def present(self) -> tuple[Placed, ...]:
        """The dates the book has now, each with its proof."""
        from showrunner.planning.present import present_dates

        return self._result(("present",), None, lambda book, today: present_dates(book, today, ticker=PROCESSOR))

    def standing(
        self,
        *,
        horizon_weeks: int = 78,
        priced: bool = False,
        time_limit: float | None = None,
        book: Book | None = None,
    ) -> Plan:
        """The plan that stands, as `planning.present.standing_plan`; `book` is a changed copy for a what-if."""
        from showrunner.planning.present import standing_plan

        return self._result(
            ("standing", horizon_weeks, priced, time_limit),
            book,
            lambda book, today: standing_plan(
                book, today, horizon_weeks=horizon_weeks, priced=priced, time_limit=time_limit, ticker=PROCESSOR
            ),
        )

    def choices(
        self, *, unsure: Unsure | None = None, time_limit: float | None = None, book: Book | None = None
    ) -> tuple[Choice, ...]:
        """The ways of dating the studies anew, as `planning.choices.choices`."""
        from showrunner.domain.house import Unsure
        from showrunner.planning.choices import choices

        taken = unsure or Unsure.LEFT_OUT
        return self._result(
            ("choices", taken, time_limit),
            book,
            lambda book, today: choices(book, today, unsure=taken, time_limit=time_limit, ticker=PROCESSOR),
        )

    def places(self, study: str) -> tuple[Place, ...]:
        """Where a study may be moved by hand, as `planning.moving.places`."""
        from showrunner.planning.moving import places

        return self._result(("places", study), None, lambda book, today: places(book, book.episode(study), today))

    def against(self, study: str, slot: SlotRef, book: Book) -> Breach | None:
        """The hard rule that forbids a study a slot of a book; None if none does."""
        from showrunner.planning.moving import breach_of

        return self._result(
            ("against", study, slot), book, lambda book, today: breach_of(book, book.episode(study), slot, today)
        )

    def work(self, *, horizon_weeks: int = 78, book: Book | None = None) -> WorkPlan:
        """Work back from the planned slots to dated tasks; `book` is a changed copy for a what-if."""
        from showrunner.planning.workback import work_back

        return self._result(
            ("work", horizon_weeks), book, lambda book, today: work_back(book, today, horizon_weeks=horizon_weeks)
        )

    def slot_record(self) -> SlotRecord:
        """How the slots were kept, and what stands before the next ones, as `planning.slot_record.slot_record`."""
        from showrunner.planning.slot_record import slot_record

        return self._result(("slot record",), None, slot_record)

    def runout(
        self,
        *,
        series: str | None = None,
        slip_rate: float | None = None,
        horizon_weeks: int = 78,
        book: Book | None = None,
    ) -> RunOut:
        """When the unshown pieces are used up; `book` is a changed copy for a what-if."""
        from showrunner.planning.runout import run_out

        return self._result(
            ("runout", series, slip_rate, horizon_weeks),
            book,
            lambda book, today: run_out(
                book,
                today,
                series=series,
                slip_rate=slip_rate,
                horizon_weeks=horizon_weeks,
                time_limit=FORECAST_SECONDS,
                ticker=PROCESSOR,
            ),
        )

    def purse(self, collection: str) -> Purse:
        """What is shopped for in a collection against its budget and shelf, as `planning.money.purse`.

        Raises:
            UnknownThing: there is no such collection.
        """
        from showrunner.planning.money import purse

        return self._result(("purse", collection), None, lambda book, _: purse(book, book.collection(collection)))

    def space(self) -> Space:
        """The room in the boxes, as `planning.space.space`."""
        from showrunner.planning.space import space

        return self._result(("space",), None, space)

    def handover(
        self,
        collection: str,
        *,
        silence_weeks: int | None = None,
        time_limit: float | None = FORECAST_SECONDS,
        slip_rate: float | None = None,
        book: Book | None = None,
    ) -> Handover | None:
        """When the series on a shopping collection can take over, beside the plan that stands.

        Args:
            collection: id of the collection.
            silence_weeks: most weeks of silence before it opens; None for the wished gap of the series before.
            time_limit: seconds for the plan that stands; None for no limit.
            slip_rate: the rate for the end of the series before; None for that of the record.
            book: a changed copy for a what-if.

        Returns:
            None if the book has no slots yet.

        Raises:
            UnknownThing: there is no such collection.
        """
        from showrunner.domain.collection import CollectionKind
        from showrunner.planning.handover import hand_over

        supposed = book
        kinds = {c.id: c.kind for c in (book or self.book).collections}
        series = (book or self.book).series
        keeping = next((s for s in series if kinds.get(s.collection) is CollectionKind.KEEPING), None)
        before = self.runout(series=keeping.id, slip_rate=slip_rate, book=supposed) if keeping else None

        def compute(book: Book, today: date) -> Handover | None:
            with suppress(ShowrunnerError):  # dates that stand against a rule are kept as they are
                book = dated_by(book, self.standing(time_limit=time_limit, book=supposed))
            chosen = book.collection(collection)
            return hand_over(book, today, chosen, before=before, silence_weeks=silence_weeks)

        return self._result(("handover", collection, silence_weeks, time_limit, slip_rate), supposed, compute)

    def backtests(self, found: RunOut) -> tuple[Backtest, ...]:
        """The forecast of a series held against the record, on each basis, as many studies ahead as the end is now.

        They are kept until the record, a study, a slot or the day changes.

        Args:
            found: the present forecast.
        """
        from showrunner.planning.backtest import Basis, backtest

        book, today, ahead = self.book, self.today, max(1, round(sum(found.studies_left) / 2))

        def make() -> tuple[Backtest, ...]:
            return tuple(
                backtest(book, today, found.series, basis, ahead, time_limit=LOOK_BACK_SECONDS, ticker=PROCESSOR)
                for basis in (Basis.DATES, Basis.SPACING)
            )

        rests_on = (book.publications, book.episodes, book.series, book.rules, book.dark)
        return self._kept(rests_on, ("backtests", found.series, ahead, today), make)

    def lasting(self, series: str, until: date, *, slip_rate: float | None = None, book: Book | None = None) -> Lasting:
        """The spacing that makes a series last until a day, as `planning.lasting.lasting`; `book` as in `runout`."""
        from showrunner.planning.lasting import lasting

        return self._result(
            ("lasting", series, until, slip_rate),
            book,
            lambda book, today: lasting(
                book, today, series, until, slip_rate=slip_rate, time_limit=FORECAST_SECONDS, ticker=PROCESSOR
            ),
        )

    def shoot_plan(
        self, studies: Sequence[str], *, lux: int | None = None, seconds: int | None = None, shoot: str = ""
    ) -> ShootPlan:
        """The plan of a shoot; arguments as `planning.shoot_plan.plan_shoot`.

        It is kept until a piece, a study, the house rules or the day changes, so that a line more in a log
        costs no new plan.

        Raises:
            ShowrunnerError: as `plan_shoot`.
        """
        from showrunner.planning.shoot_plan import plan_shoot

        book, today = self.book, self.today
        return self._kept(
            (book.pieces, book.episodes, book.series, book.house),
            ("shoot", today, tuple(studies), lux, seconds, shoot),
            lambda: plan_shoot(book, studies, today, lux=lux, seconds=seconds, shoot=shoot),
        )

    def package(self, study: str) -> Prepared:
        """The package of a study, as `planning.package.prepare`, with the sentence on how many are then left.

        Raises:
            UnknownThing, BadInput: there is no such study.
        """
        from showrunner.planning.left_then import left_then
        from showrunner.planning.package import prepare

        def compute(book: Book, today: date) -> Prepared:
            left = ""
            with suppress(ShowrunnerError):  # it is then named as missing
                found = book.episode(study)
                left = left_then(book, found, today, time_limit=FORECAST_SECONDS, ticker=PROCESSOR)
            return prepare(book, study, today, left)

        return self._result(("package", study), None, compute)

    def instant(self) -> datetime:
        """The present instant, UTC; where the day is another than the real one, its time on that day.

        Raises:
            BadInput: the system does not know the house's zone.
        """
        check_zone(self.book.house.zone, "house rules")
        fixed = self._fixed_day()
        return fixed.instant(self._now()) if fixed else self._now()

    def _fixed_day(self) -> clock.FixedDay | None:
        """The fixed day as it runs on since the book was opened on it, or since its clock was set to it.

        None if there is none, or one so far away that no time can run there. A clock that is set to a day again,
        as undo does, goes on from where it was. A shoot that is going on keeps its time: nothing that its log
        tells is still to come.
        """
        day = self._today or self.book.clock
        if day is None or day.year not in YEARS:
            return None
        if day not in self._fixed_days:
            zone = zone_or_utc(self.book.house.zone).key
            shoot = self.book.open_shoot
            logged = self.book.last_instant(shoot.id) if shoot else None
            self._fixed_days[day] = clock.FixedDay.begin(day, self._now(), zone, logged)
        return self._fixed_days[day]

    def _result(self, arguments: tuple[Any, ...], book: Book | None, compute: Callable[[Book, date], T]) -> T:
        from showrunner.planning.lived import lived_until

        book, today = self.book if book is None else book, self.today
        return self._kept((book,), (today, *arguments), lambda: compute(lived_until(book, today), today))

    def _kept(self, rests_on: tuple[Any, ...], arguments: tuple[Any, ...], compute: Callable[[], T]) -> T:
        """A result that is computed again only for other arguments, or when something that it rests on is another."""
        key = (*map(id, rests_on), *arguments)
        with self._sharing:
            if key in self._results:
                found: T = self._results[key][1]
                return found
        wanted.check()
        result = compute()  # not under the lock: a plan that takes long must not hold a key press up
        with self._sharing:
            while len(self._results) >= KEPT_RESULTS:
                self._results.pop(next(iter(self._results)))
            self._results[key] = (rests_on, result)  # holding what it rests on keeps its id() from being used again
        return result

    def _must_write(self) -> None:
        if not self._file.read_only_reason:
            return
        error = CannotWrite if self._file.folder_closed else BookInUse
        raise error(self._file.read_only_reason, str(self.path), self._file.read_only_way_out)
