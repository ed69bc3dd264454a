"""Hours put down as worked, on any day, in part, and taken back."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.episode import Stage, Worked
from showrunner.domain.slot import SlotRef
from showrunner.errors import BadInput
from showrunner.planning.hours import standing_work, working_time
from showrunner.planning.slots import expand
from showrunner.planning.workback import work_back
from showrunner.session import Session

TODAY = date(2026, 3, 4)
"""A Wednesday of 2 h; the demo's research takes 3 h, its shoot 4, edit 8, captions 1, package 1."""


@pytest.fixture
def book() -> Book:
    with Session.open(Path(__file__).parents[2] / "demo" / "book.json", write=False) as session:
        return session.book


def put(book: Book, stage: Stage, minutes: int, on: date = TODAY, done: bool = False) -> Book:
    return edits.put_work(book, "apron", stage, minutes, on, today=TODAY, done=done)


def left(book: Book) -> dict[Stage, int]:
    study = book.episode("apron")
    return dict(study.left(book.stages_of(study)))


def test_two_hours_of_three_leave_one_and_the_third_makes_the_stage_done(book: Book) -> None:
    once = put(book, Stage.RESEARCH, 120)
    assert (left(once)[Stage.RESEARCH], once.episode("apron").done) == (60, ())
    twice = put(once, Stage.RESEARCH, 60, on=date(2026, 3, 3))
    assert Stage.RESEARCH not in left(twice)
    assert twice.episode("apron").done == (Stage.RESEARCH,)
    assert twice.episode("apron").worked == (
        Worked(TODAY, 120, Stage.RESEARCH),
        Worked(date(2026, 3, 3), 60, Stage.RESEARCH),
    )


def test_a_stage_may_be_done_with_fewer_hours_than_were_planned(book: Book) -> None:
    once = put(book, Stage.EDIT, 300, done=True)
    assert Stage.EDIT not in left(once)
    assert once.episode("apron").done == (Stage.EDIT,)


def test_the_last_hours_put_the_study_into_the_bank_and_taking_them_back_takes_it_out(book: Book) -> None:
    for stage, minutes in left(book).items():
        assert not book.episode("apron").finished
        book = put(book, stage, minutes)
    assert (book.episode("apron").finished, book.episode("apron").done) == (True, tuple(Stage))
    back = edits.take_work_back(book, "apron", 1)
    assert not back.episode("apron").finished
    assert left(back) == {Stage.SHOOT: 240}
    assert [work.stage for work in back.episode("apron").worked] == [
        Stage.RESEARCH,
        Stage.EDIT,
        Stage.CAPTIONS,
        Stage.PACKAGE,
    ]


def test_work_on_a_slot_names_its_usual_content_and_lightens_it_by_that_much(book: Book) -> None:
    slot = SlotRef(date(2026, 3, 11), "wednesday")

    def needed(book: Book) -> int:
        slots = expand(book.rules, TODAY, date(2026, 3, 31))
        found = standing_work(book, TODAY, slots, (), working_time(book, TODAY, 40))
        return sum(work.minutes for work in found if work.slot.ref == slot)

    begun = edits.put_work_for_slot(book, slot, 120, TODAY, today=TODAY)
    filler = next(episode for episode in begun.episodes if episode.slot == slot)
    assert (filler.title, filler.finished) == ("making diary of 11 Mar", False)
    assert (needed(book), needed(begun)) == (180, 60)
    whole = edits.put_work(begun, filler.id, None, 60, TODAY, today=TODAY)
    assert whole.episode(filler.id).finished
    assert needed(whole) == 0
    assert needed(edits.take_work_back(whole, filler.id, 0)) == 120


def test_what_was_worked_today_is_not_there_again(book: Book) -> None:
    """Of the 2 h of Wednesday 4 March, 1.5 are used; those of other days are theirs alone."""
    some = put(put(book, Stage.RESEARCH, 90), Stage.SHOOT, 60, on=date(2026, 3, 3))
    assert working_time(some, TODAY, 2) == (30, 150)
    assert working_time(some, date(2026, 3, 5), 1) == (120,)
    assert working_time(put(book, Stage.EDIT, 300), TODAY, 2) == (0, 120)  # more than the day had


def test_hours_worked_early_are_hours_to_spare(book: Book) -> None:
    """3 h to spare on 21 March; worked on a Monday, which has none, 2 h are won."""
    monday = date(2026, 3, 2)
    before = work_back(book, monday).slack_minutes
    after = work_back(edits.put_work(book, "apron", Stage.EDIT, 120, monday, today=monday), monday).slack_minutes
    assert (before, after) == (180, 300)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda book: put(book, Stage.EDIT, 60, on=date(2026, 3, 5)), "5 March 2026 is still to come"),
        (lambda book: put(book, Stage.EDIT, 0), "no hours were worked"),
        (lambda book: put(book, Stage.EDIT, 25 * 60), "24"),
        (lambda book: edits.put_work(book, "apron", None, 60, TODAY, today=TODAY), "by stages"),
        (lambda book: edits.take_work_back(book, "apron", 0), "not there any more"),
        (lambda book: edits.take_work_back(put(book, Stage.EDIT, 60), "apron", -1), "not there any more"),
    ],
)
def test_what_cannot_be_is_refused_in_words(book: Book, change: object, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        change(book)  # type: ignore[operator]


def test_two_studies_made_one_keep_the_hours_of_both(book: Book) -> None:
    one = edits.put_work(book, "apron", Stage.EDIT, 60, TODAY, today=TODAY)
    two = edits.put_work(one, "dance-frock", Stage.EDIT, 30, TODAY, today=TODAY)
    assert edits.pair_studies(two, "apron", "dance-frock")[1].worked_on(Stage.EDIT) == 90
