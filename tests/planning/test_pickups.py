"""Which pickups wait, for which study, and on which day they stand."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

from showrunner.domain.book import Book
from showrunner.domain.collection import Collection
from showrunner.domain.episode import Episode, EpisodeKind, Stage
from showrunner.domain.house import HouseRules
from showrunner.domain.piece import Piece
from showrunner.domain.shoot import LogKind, LogLine, Remedy, Shoot
from showrunner.domain.slot import DarkRange, SlotRef
from showrunner.planning.pickups import (
    box_of,
    ever_picked_up,
    offered,
    pickup_work,
    pickups_of,
    study_of,
    waiting_groups,
    waiting_pickups,
)
from showrunner.planning.results import Task

TODAY = date(2026, 3, 2)
"""A Monday."""
AT = datetime(2026, 3, 2, 10, tzinfo=UTC)
SLOT = SlotRef(date(2026, 3, 22), "sun")
"""A Sunday."""


def line(number: int, kind: LogKind, subject: str = "", **what: object) -> LogLine:
    given = {"piece": "cape", **what}
    return LogLine(f"s-{number:04}", "s", AT, kind, subject=subject, **given)  # type: ignore[arg-type]


def missed(number: int, subject: str = "", remedy: Remedy = Remedy.REOPEN, **what: object) -> LogLine:
    return line(number, LogKind.PICKUP, subject, text="missed", remedy=remedy, **what)


def book(*log: LogLine, slot: SlotRef | None = SLOT, lead: int = 1) -> Book:
    """A cape and a hat in box A, a fan in box B; studies of the cape, of the hat, and of the fan."""
    pieces = tuple(Piece(id, id, "c", box=box) for id, box in (("cape", "A"), ("hat", "A"), ("fan", "B"), ("shoe", "")))
    names = ("cape", "hat", "fan")
    studies = tuple(Episode(id, f"The {id}", EpisodeKind.STUDY, "s", (id,), slot=slot) for id in names)
    house = HouseRules(work_minutes=(0, 60, 60, 60, 60, 60, 0), lead_days=lead)  # not on Monday, not on Sunday
    shoots = (Shoot("s", ("fan", "cape"), AT), Shoot("t", ("hat",), AT))
    collections = (Collection("c", "c"),)
    return Book("k", house=house, collections=collections, pieces=pieces, episodes=studies, shoots=shoots, log=log)


def ids(found: tuple[LogLine, ...]) -> list[str]:
    return [line.id for line in found]


# Which wait


def test_one_is_mended_by_what_comes_after_it_and_by_nothing_before() -> None:
    for kind in (LogKind.DONE, LogKind.IN_WORDS, LogKind.SAID):
        assert not waiting_pickups(book(missed(1, "x"), line(2, kind, "x")))
        assert ids(waiting_pickups(book(line(1, kind, "x"), missed(2, "x")))) == ["s-0002"]
    for kind in (LogKind.SKIPPED, LogKind.NOT_LEGIBLE, LogKind.ROLLED):
        assert ids(waiting_pickups(book(missed(1, "x"), line(2, kind, "x")))) == ["s-0001"]
    assert ids(waiting_pickups(book(missed(1, "x"), line(2, LogKind.DONE, "y")))) == ["s-0001"]


def test_another_shoot_mends_it_too() -> None:
    later = LogLine("t-0001", "t", AT, LogKind.DONE, piece="cape", subject="x")
    assert not waiting_pickups(book(missed(1, "x"), later))


def test_a_newer_one_of_the_same_takes_its_place_and_others_stay() -> None:
    found = waiting_pickups(book(missed(1, "x"), missed(2, "y"), missed(3, "x")))
    assert ids(found) == ["s-0003", "s-0002"]
    assert ids(waiting_pickups(book(missed(1), missed(2)))) == ["s-0001", "s-0002"]


def test_a_line_that_says_so_mends_the_one_it_names() -> None:
    said = line(3, LogKind.MENDED, "s-0001")
    assert ids(waiting_pickups(book(missed(1, "x"), missed(2), said))) == ["s-0002"]
    assert ids(waiting_pickups(book(missed(1), missed(2), said))) == ["s-0002"]


# For what


def test_each_belongs_to_the_study_of_its_shoot_that_shows_the_piece() -> None:
    known = book()
    for piece, study in (("cape", "cape"), ("fan", "fan"), ("hat", "fan")):  # of none: to the first
        found = study_of(known, missed(1, piece=piece))
        assert found
        assert found.id == study
    gone = replace(known, shoots=())
    assert study_of(gone, missed(1)) is None
    assert study_of(replace(known, episodes=known.episodes[1:2]), missed(1)) is None
    assert ids(pickups_of(book(missed(1), missed(2, piece="fan")), "cape")) == ["s-0001"]


def test_a_box_is_opened_only_for_what_needs_the_piece() -> None:
    known = book()
    for remedy in Remedy:
        needs = remedy in (Remedy.REOPEN, Remedy.DETAIL)
        assert box_of(known, missed(1, remedy=remedy)) == ("A" if needs else "")
    assert box_of(known, missed(1, piece="gone")) == ""


def test_a_shoot_is_offered_its_own_pieces_and_those_in_its_boxes() -> None:
    known = book(missed(1), missed(2, remedy=Remedy.VOICE), missed(3, piece="fan"), missed(4, piece="shoe"))
    assert ids(offered(known, ["cape"])) == ["s-0001", "s-0002"]
    assert ids(offered(known, ["hat"])) == ["s-0001"]
    assert ids(offered(known, ["shoe", "gone"])) == ["s-0004"]
    assert not offered(known, ["cape"], without="s")


# When


def test_without_a_shoot_they_stand_on_the_last_day_of_work_before_they_are_due() -> None:
    (work,) = pickup_work(book(missed(1)), TODAY, ())
    assert (work.ready_by, work.day) == (date(2026, 3, 21), date(2026, 3, 21))  # a Saturday, with work
    assert (work.box, work.study, work.title, work.with_shoot) == ("A", "cape", "The cape", "")
    assert not work.late
    away = replace(book(missed(1)), dark=(DarkRange("d", date(2026, 3, 19), date(2026, 3, 21), True, False),))
    (work,) = pickup_work(away, TODAY, ())
    assert work.day == date(2026, 3, 18)


def test_where_no_day_of_work_is_left_they_stand_on_today_and_are_late_if_due_before() -> None:
    for slot, due in ((date(2026, 3, 3), TODAY), (TODAY, TODAY - timedelta(1))):
        (work,) = pickup_work(book(missed(1), slot=SlotRef(slot, "sun")), TODAY, ())
        assert (work.day, work.ready_by) == (TODAY, due)
        assert work.late is (due < TODAY)


def test_a_slot_that_is_past_or_missing_dates_nothing() -> None:
    for slot in (SlotRef(TODAY - timedelta(1), "sun"), None):
        (work,) = pickup_work(book(missed(1), slot=slot), TODAY, ())
        assert (work.day, work.ready_by, work.late) == (None, None, False)


def shoot(episode: str, day: date, stage: Stage = Stage.SHOOT) -> Task:
    return Task(day, 60, episode, episode, stage, SLOT, day)


def test_the_next_shoot_that_opens_the_box_takes_them_along_if_it_comes_in_time() -> None:
    due = date(2026, 3, 21)
    early, late = date(2026, 3, 10), due + timedelta(1)
    known = book(missed(1), missed(2, remedy=Remedy.VOICE))
    tasks = (shoot("hat", early, Stage.EDIT), shoot("fan", early), shoot("hat", early), shoot("cape", due))
    boxed, spoken = pickup_work(known, TODAY, tasks)
    assert (boxed.day, boxed.with_shoot) == (early, "hat")
    assert (spoken.day, spoken.with_shoot, spoken.box) == (due, "", "")
    for day, with_shoot in ((due, "hat"), (late, "")):
        groups = {work.box: work for work in pickup_work(known, TODAY, (shoot("hat", day),))}
        assert (groups["A"].day, groups["A"].with_shoot) == (due, with_shoot)
    (boxed, spoken) = pickup_work(book(*known.log, slot=None), TODAY, (shoot("hat", late),))
    assert (boxed.day, boxed.with_shoot) == (late, "hat")
    assert spoken.day is None
    assert not pickup_work(replace(known, log=()), TODAY, tasks)


def test_a_piece_without_a_box_waits_for_no_shoot() -> None:
    (work,) = pickup_work(book(missed(1, piece="shoe")), TODAY, (shoot("hat", TODAY),))
    assert (work.box, work.with_shoot) == ("", "")


def test_groups_that_wait_are_among_those_that_ever_were() -> None:
    known = book(missed(1, "x"), missed(2, piece="fan"), line(3, LogKind.DONE, "x"))
    assert waiting_groups(known) == {("fan", "B")}
    assert ever_picked_up(known) == {("fan", "B"), ("cape", "A")}
    nobody = replace(known, shoots=())
    assert waiting_groups(nobody) == {("", "B")}
