"""Small books for the calendar tests, built by hand (all invented)."""

from __future__ import annotations

from datetime import UTC, date, datetime, time

from showrunner.domain.book import Book
from showrunner.domain.collection import Collection
from showrunner.domain.episode import Episode, EpisodeKind, Pin, PinKind, Series, Stage, StageMinutes
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.house import HouseRules
from showrunner.domain.piece import Piece
from showrunner.domain.publication import Publication
from showrunner.domain.slot import DarkRange, SlotRef, SlotRule
from showrunner.planning.results import Task, WorkPlan

NOW = datetime(2026, 3, 2, 1, 2, 3, tzinfo=UTC)
LATER = datetime(2026, 3, 9, 4, 5, 6, tzinfo=UTC)

APRON_SLOT = SlotRef(date(2026, 3, 22), "sun")
PAIR_SLOT = SlotRef(date(2026, 5, 3), "sun")
TALK_SLOT = SlotRef(date(2026, 3, 29), "sun")

APRON = Episode("apron", "Apple-packer's apron", series="hour", pieces=("29",), slot=APRON_SLOT)
PAIR = Episode("waistcoats", "Two waistcoats; one ticket, one pocket", series="hour", pieces=("30", "31"))


def book() -> Book:
    """Two planned studies, a named talk, one published study, two dark ranges."""
    return Book(
        key="6f1c6f0e-5f3e-4a55-9d37-6b0f3f1b2a77",
        house=HouseRules(zone="Australia/Hobart"),
        collections=(Collection("keep", "The keeping"),),
        pieces=(
            Piece("26", "Day bodice “Verdigris”", "keep"),
            Piece("29", "Apple-packer's apron", "keep", made=FuzzyDate("1938~", None, None, "about 1938")),
            Piece("30", "Wedding waistcoat “Septimus”", "keep"),
            Piece("31", "Quilted waistcoat “Barnaby”", "keep"),
        ),
        rules=(
            SlotRule("sun", "features", 6, time(9), "Australia/Hobart"),
            SlotRule("wed", "making diary", 2, time(18, 30), "Australia/Hobart"),
        ),
        series=(
            Series("hour", "The Camphorwood Hour", "keep", ("sun",), 4, 6, 9, StageMinutes(180, 0, 240, 480, 60, 60)),
        ),
        dark=(
            DarkRange("july", date(2026, 7, 13), date(2026, 7, 26), reason="no work in July"),
            DarkRange("fair", date(2026, 8, 1), date(2026, 8, 1), reason="fair", busy_uid="from-elsewhere"),
        ),
        episodes=(
            Episode(
                "bodice",
                "Verdigris",
                series="hour",
                pieces=("26",),
                slot=SlotRef(date(2026, 1, 25), "sun"),
                finished=True,
                published=True,
            ),
            APRON,
            Episode("waistcoats", PAIR.title, series="hour", pieces=PAIR.pieces, slot=PAIR_SLOT),
            Episode("talk", "A talk on camphor", EpisodeKind.FILLER, rule="sun", slot=TALK_SLOT),
            Episode("comet", "Dance frock", series="hour"),
        ),
        pins=(Pin("p", PinKind.DATE, ("waistcoats",), PAIR_SLOT, reason="promised"),),
        publications=(
            Publication(
                "r1",
                "Verdigris",
                "sun",
                date(2026, 1, 25),
                FuzzyDate.exact(date(2026, 1, 25)),
                "bodice",
                "hour",
                "https://video.example/verdigris",
            ),
        ),
    )


def task(day: date, minutes: int, stage: Stage | None, episode: str = "apron", slot: SlotRef = APRON_SLOT) -> Task:
    """A stretch of work, ready the day before its slot."""
    return Task(day, minutes, episode, episode, stage, slot, slot.day.replace(day=slot.day.day - 1))


def work(*tasks: Task) -> WorkPlan:
    """A work plan with these tasks, or with the apron's shoot and an edit over a free day."""
    usual = (
        task(date(2026, 3, 7), 240, Stage.SHOOT),
        task(date(2026, 3, 10), 120, Stage.EDIT),
        task(date(2026, 3, 11), 120, Stage.EDIT),
        task(date(2026, 3, 14), 240, Stage.EDIT),
        task(date(2026, 3, 15), 180, None, "", SlotRef(date(2026, 3, 18), "wed")),
    )
    return WorkPlan(tasks or usual, None, None, (), ())


def exported(target: Book, plan: WorkPlan | None = None, now: datetime = NOW) -> tuple[bytes, Book]:
    """The calendar of a book, and the book with the log it leaves."""
    from showrunner.ical.export import export_calendar

    done = export_calendar(target, plan or work(), now)
    return done.data, target.with_table("calendar", done.log)
