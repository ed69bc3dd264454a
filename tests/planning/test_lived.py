"""A demonstration lived through until a later day, and real books that never are."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from books import TODAY, demo, small, sunday

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.episode import Stage, StageMinutes
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.planning.lived import lived_until
from showrunner.planning.runout import run_out


def test_on_its_own_day_nothing_is_assumed() -> None:
    book = demo()
    assert lived_until(book, TODAY) is book
    assert lived_until(book, date(2026, 1, 1)) is book


def test_a_book_without_a_standing_clock_is_never_changed() -> None:
    book = replace(demo(), clock=None)
    assert lived_until(book, date(2026, 4, 18)) is book


def test_nothing_is_assumed_before_a_study_came_out_as_planned_or_while_one_is_overdue() -> None:
    book = demo()
    assert lived_until(book, date(2026, 4, 18)) is book
    late = edits.publish(book, "apron", date(2026, 3, 29))
    assert lived_until(late, date(2026, 4, 18)) is late
    out = edits.publish(book, "apron", date(2026, 3, 22))
    assert lived_until(out, date(2026, 5, 11)) is out


def test_the_waistcoats_are_done_in_step_with_the_plan() -> None:
    book = edits.publish(demo(), "apron", date(2026, 3, 22))
    assert lived_until(book, date(2026, 3, 23)).episode("waistcoats").done == ()
    assert lived_until(book, date(2026, 4, 18)).episode("waistcoats").done[:1] == (Stage.RESEARCH,)
    whole = tuple(stage for stage in Stage if stage is not Stage.CONDITION)
    assert lived_until(book, date(2026, 5, 10)).episode("waistcoats").done == whole


def test_with_the_apron_out_as_planned_the_warning_speaks_on_19_april() -> None:
    book = edits.publish(demo(), "apron", date(2026, 3, 22))
    eve, day = (date(2026, 4, n) for n in (18, 19))
    assert not run_out(lived_until(book, eve), eve).warns
    found = run_out(lived_until(book, day), day)
    assert found.warns
    assert found.quantiles[1] == date(2026, 10, 18)
    assert found.studies_left == (4, 6)


# A book small enough to be laid out by hand. Every week from Monday 2 March 2026: 2 h on Tuesday, Wednesday, Thursday
# and Sunday, 4 h on Saturday. A study is 2 h of research, a shoot of 4 h on one day, and 1 h of editing, in this order;
# it must be ready two days before its slot. So of the study of 8 March (which came out as planned) the research falls
# on 3 March, the shoot on Saturday 7, the editing on 8; of that of 22 March research on 4, shoot on 14, editing on 15;
# of that of 5 April research on 5, shoot on 21 and editing on 22 March.
EDIT, SHOOT, RESEARCH = Stage.EDIT, Stage.SHOOT, Stage.RESEARCH


def lived(standing: int = 0, stages: StageMinutes | None = None, work: tuple[int, ...] = (), **changes: object) -> Book:
    book = small(3)
    series = replace(book.series[0], stages=stages or StageMinutes(research=120, shoot=240, edit=60))
    house = replace(book.house, lead_days=2, work_minutes=work or book.house.work_minutes)
    book = replace(book, clock=TODAY, house=house).put("series", series)
    book = book.put("rules", replace(book.rule("sunday"), standing_minutes=standing))
    for id, day in (("s0", date(2026, 3, 8)), ("s1", date(2026, 3, 22)), ("s2", date(2026, 4, 5))):
        book = edits.set_slot(book, id, sunday(day))
    return edits.publish(book.put("episodes", replace(book.episode("s1"), **changes)), "s0", date(2026, 3, 8))


def done(book: Book, day: date) -> tuple[tuple[Stage, ...], tuple[Stage, ...]]:
    """The stages done of the two studies that are to come."""
    found = lived_until(book, day)
    assert found.episode("s0") == book.episode("s0")
    return found.episode("s1").done, found.episode("s2").done


def test_each_stage_counts_as_done_from_the_day_after_its_last_work() -> None:
    whole = (RESEARCH, SHOOT, EDIT)
    for day, first, second in (
        (date(2026, 3, 9), (RESEARCH,), (RESEARCH,)),
        (date(2026, 3, 14), (RESEARCH,), (RESEARCH,)),
        (date(2026, 3, 15), (RESEARCH, SHOOT), (RESEARCH,)),
        (date(2026, 3, 16), whole, (RESEARCH,)),
        (date(2026, 3, 21), whole, (RESEARCH,)),
        (date(2026, 3, 22), whole, (RESEARCH, SHOOT)),
    ):
        assert done(lived(), day) == (first, second)


def test_a_study_is_overdue_from_the_day_after_its_slot() -> None:
    book = lived()
    assert lived_until(book, date(2026, 3, 22)) is not book
    assert lived_until(book, date(2026, 3, 23)) is book


def test_what_was_ticked_off_stays_and_need_not_be_done_again() -> None:
    book = lived(done=(Stage.CONDITION, SHOOT))
    assert done(book, date(2026, 3, 5))[0] == (RESEARCH, Stage.CONDITION, SHOOT)
    assert done(book, date(2026, 3, 6))[0] == (RESEARCH, Stage.CONDITION, SHOOT, EDIT)  # 1 h of Thursday 5 March


def test_the_usual_content_of_a_slot_comes_before_a_study_that_is_due_later() -> None:
    # 8 h for the slot of 15 March: 1 h on 8, 2 h each on 10, 11 and 12, and 1 h on Saturday 14, which then holds no
    # shoot any more.
    assert done(lived(standing=480), date(2026, 3, 16)) == ((RESEARCH,), (RESEARCH,))
    assert done(lived(standing=420), date(2026, 3, 16)) == ((RESEARCH, SHOOT, EDIT), (RESEARCH,))


def test_the_usual_content_is_begun_a_week_before_it_must_be_ready() -> None:
    # 10 h every Friday. On 6 March 2 h of the study of 8 March, then 8 of the 10 h for the slot of 15 March, which must
    # be ready on Friday 13; only then the study of 22 March.
    book = lived(standing=600, stages=StageMinutes(edit=120), work=(0, 0, 0, 0, 600, 0, 0))
    assert done(book, date(2026, 3, 9))[0] == ()
    assert done(book, date(2026, 3, 14))[0] == (EDIT,)


def test_filler_and_what_came_out_before_the_clock_stood_are_no_sign_of_a_plan_that_was_kept() -> None:
    book = lived()
    line = book.publications[0]
    for other in (
        replace(line, series=""),
        replace(line, planned=date(2026, 3, 1), actual=FuzzyDate.exact(date(2026, 3, 1))),
    ):
        changed = replace(book, publications=(other,))
        assert lived_until(changed, date(2026, 3, 16)) is changed
    first_day = replace(line, planned=TODAY, actual=FuzzyDate.exact(TODAY))
    assert lived_until(replace(book, publications=(first_day,)), date(2026, 3, 16)).episode("s1").done


def test_one_study_off_its_day_breaks_the_step() -> None:
    book = lived()
    late = replace(book.publications[0], id="x", planned=date(2026, 3, 1), actual=FuzzyDate.exact(date(2026, 3, 2)))
    broken = book.put("publications", late)
    assert lived_until(broken, date(2026, 3, 16)) is broken
    old = book.put("publications", replace(late, actual=FuzzyDate.exact(date(2026, 2, 27))))
    assert done(old, date(2026, 3, 16))[0] == (RESEARCH, SHOOT, EDIT)


def test_work_begins_on_the_day_at_which_the_clock_stands() -> None:
    """With 7 h every Monday the three studies, 7 h each, fill 2, 9 and 16 March; a minute more and none of it fits."""
    mondays = (420, 0, 0, 0, 0, 0, 0)
    seven = StageMinutes(research=120, shoot=240, edit=60)
    whole = (RESEARCH, SHOOT, EDIT)
    assert done(lived(work=mondays), date(2026, 3, 10)) == (whole, ())
    assert done(lived(work=mondays), date(2026, 3, 17)) == (whole, whole)
    longer = lived(work=mondays, stages=replace(seven, edit=61))
    longer = longer.put("episodes", replace(longer.episode("s1"), stages=seven))
    assert done(longer, date(2026, 3, 10))[0] == (RESEARCH, SHOOT)


def test_the_usual_content_that_came_out_since_was_work_as_well() -> None:
    """As above: 8 h for the slot of 15 March leave no room for the shoot of 14 March."""
    book, slot = lived(standing=480), date(2026, 3, 15)
    whole = (RESEARCH, SHOOT, EDIT)
    for actual, first in (
        (slot, (RESEARCH,)),
        (TODAY, (RESEARCH,)),
        (date(2026, 3, 1), whole),  # it was out before the clock stood
        (None, whole),  # it was missed
    ):
        recorded = edits.record_publication(book, "Feature", "sunday", slot, actual)
        assert done(recorded, date(2026, 3, 16))[0] == first


def test_where_everything_is_out_nothing_is_left_to_assume() -> None:
    book = edits.set_slot(lived(standing=60), "s2", None)
    book = replace(book, house=replace(book.house, lead_days=0))
    book = edits.publish(book, "s1", date(2026, 3, 22))
    assert lived_until(book, date(2026, 3, 29)) is book


def test_the_usual_content_of_the_first_days_is_begun_at_once() -> None:
    """All 7 h of Monday 2 March go into the content of Wednesday 4 March; of the study of 8 March nothing is left."""
    book = lived(work=(420, 0, 0, 0, 0, 0, 0))
    book = book.put("episodes", replace(book.episode("s0"), stages=StageMinutes()))
    assert done(book, date(2026, 3, 9)) == ((RESEARCH, SHOOT, EDIT), ())
    wednesday = replace(book.rule("sunday"), id="wed", weekday=2, standing_minutes=420)
    assert done(book.put("rules", wednesday), date(2026, 3, 9)) == ((), ())
