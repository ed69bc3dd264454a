"""Working back: dated tasks, slack, shortfalls and the first slot that works."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from books import TODAY, demo, small, sunday
from hypothesis import given, settings
from hypothesis import strategies as st

from showrunner.domain import edits
from showrunner.domain.episode import Stage, StageMinutes
from showrunner.domain.slot import DarkRange
from showrunner.planning.hours import work_minutes
from showrunner.planning.workback import work_back


def test_the_demo_has_three_hours_of_slack_before_the_apron() -> None:
    work = work_back(demo(), TODAY)
    assert (work.slack_minutes, work.slack_day) == (180, date(2026, 3, 21))
    assert work.shortfalls == ()
    mine = [task for task in work.tasks if task.episode == "apron"]
    assert sum(task.minutes for task in mine) == 17 * 60
    assert max(task.day for task in mine) <= date(2026, 3, 21)
    shoot = [task for task in mine if task.stage is Stage.SHOOT]
    assert [(task.day, task.minutes) for task in shoot] == [(date(2026, 3, 14), 240)]


def test_stages_keep_their_order_and_days_their_hours() -> None:
    book = demo()
    work = work_back(book, TODAY)
    used: dict[date, int] = {}
    for task in work.tasks:
        used[task.day] = used.get(task.day, 0) + task.minutes
        assert task.day <= task.ready_by
    for day, minutes in used.items():
        assert minutes <= work_minutes(book, day)
    for study in book.open_studies:
        stages = [list(Stage).index(task.stage) for task in work.tasks if task.episode == study.id and task.stage]
        assert stages == sorted(stages)
        assert len([1 for t in work.tasks if t.episode == study.id and t.stage is Stage.SHOOT]) == 1


def test_nothing_is_done_on_days_without_work() -> None:
    days = {task.day for task in work_back(demo(), TODAY).tasks}
    assert not [day for day in days if date(2026, 7, 13) <= day <= date(2026, 7, 26)]


def test_a_lost_week_names_the_hours_missing_and_the_first_slot_that_works() -> None:
    book = edits.put_dark(demo(), DarkRange("lost", date(2026, 3, 9), date(2026, 3, 15), reason="away"))
    book, _ = edits.add_filler(book, "Diary in the bank", "wednesday", day=date(2026, 3, 11), finished=True)
    book, _ = edits.add_filler(book, "Talk in the bank", "sunday", day=date(2026, 3, 15), finished=True)
    work = work_back(book, TODAY)
    assert [(s.episode, s.minutes, s.first_fit) for s in work.shortfalls] == [("apron", 120, sunday(date(2026, 3, 29)))]
    assert work.shortfalls[0].text == (
        "“The apple-packer's apron” of 22 March 2026 is 2 h short: 24 h are needed by 21 March 2026, "
        "22 h are there; the first slot that works is 29 March 2026."
    )
    assert work.slack_minutes == -120


def test_stages_done_need_no_work() -> None:
    book = demo()
    book = edits.put_episode(book, replace(book.episode("apron"), done=(Stage.RESEARCH, Stage.SHOOT)))
    stages = {task.stage for task in work_back(book, TODAY).tasks if task.episode == "apron"}
    assert stages == {Stage.EDIT, Stage.CAPTIONS, Stage.PACKAGE}


def test_a_slot_that_is_past_is_said() -> None:
    work = work_back(demo(), date(2026, 3, 25))
    assert work.shortfalls[0].text == (
        "“The apple-packer's apron” was planned for 22 March 2026, which is past; "
        "publish it, mark the slot missed, or plan again."
    )


def test_a_shoot_that_no_day_can_hold_is_said() -> None:
    book = small(1, work=(0, 120, 120, 120, 0, 120, 120))
    stages = StageMinutes(shoot=240)
    study = replace(book.episodes[0], stages=stages, slot=sunday(date(2026, 3, 29)))
    work = work_back(book.put("episodes", study), TODAY)
    assert work.shortfalls[0].text == (
        "“Study 0” has the hours, but no day in time with 4 h in one go for its shoot; "
        "give one day more hours or move it."
    )


def test_a_shoot_is_given_an_earlier_day_if_plain_order_would_miss_it() -> None:
    # Only Saturday holds 4 h in one go. In plain order of ready-by days the first study's edit would eat the
    # second Saturday that the second study's shoot needs.
    book = small(2, work=(0, 60, 60, 60, 0, 240, 60), gaps=(1, 1, 3))
    first = replace(book.episodes[0], stages=StageMinutes(edit=60 * 11), slot=sunday(date(2026, 3, 15)))
    second = replace(book.episodes[1], stages=StageMinutes(shoot=240, edit=60), slot=sunday(date(2026, 3, 22)))
    work = work_back(book.put("episodes", first, second), TODAY)
    shoot = [task for task in work.tasks if task.stage is Stage.SHOOT]
    assert len(shoot) == 1
    assert shoot[0].day.weekday() == 5
    assert work.shortfalls == ()


@settings(max_examples=40, deadline=None)
@given(
    weeks=st.lists(st.integers(1, 12), min_size=1, max_size=4, unique=True),
    hours=st.lists(st.integers(0, 30), min_size=4, max_size=4),
)
def test_without_shoots_the_layout_is_late_exactly_when_hours_are_short(weeks: list[int], hours: list[int]) -> None:
    book = small(4, gaps=(1, 1, 3))
    for week, study, amount in zip(weeks, book.episodes, hours, strict=False):
        slot = sunday(TODAY + timedelta(7 * week - 1))
        book = book.put("episodes", replace(study, stages=StageMinutes(edit=60 * amount), slot=slot))
    work = work_back(book, TODAY)
    done: dict[str, date] = {}
    for task in work.tasks:
        done[task.episode] = max(done.get(task.episode, task.day), task.day)
    late = [t for t in work.tasks if done[t.episode] > t.ready_by]
    assert bool(late) == bool(work.shortfalls)


def test_a_slot_beyond_the_horizon_is_worked_back_too() -> None:
    far = sunday(date(2028, 3, 5))
    book = small(1)
    work = work_back(book.put("episodes", replace(book.episodes[0], slot=far)), TODAY)
    assert sum(task.minutes for task in work.tasks) == 8 * 60
    assert work.shortfalls == ()
    demo_long_before = work_back(demo(), date(2024, 9, 1))
    assert demo_long_before.tasks
