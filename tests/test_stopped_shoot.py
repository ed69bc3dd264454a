"""A shoot that has to stop: anything left out, a piece boxed at once, and what becomes of what was given up."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from test_filming import NOON, Clock, begun, go_on, go_on_once

from showrunner import report, sheet, shoot_record
from showrunner.cli import run
from showrunner.domain.episode import Stage
from showrunner.domain.shoot import LogKind, Remedy, Touch, Why
from showrunner.errors import BadInput
from showrunner.filming import Filming, GateOpen
from showrunner.planning.pickups import offered, pickups_of, waiting_pickups
from showrunner.planning.shooting import Now, aside_id, condition_id
from showrunner.session import Session

DEMO = Path(__file__).parents[1] / "demo" / "book.json"


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def session(tmp_path: Path, clock: Clock) -> Iterator[Session]:
    shutil.copy(DEMO, tmp_path / "book.json")
    with Session.open(tmp_path / "book.json", now=clock) as session:
        session.do("on top", lambda book: book.put("pieces", replace(book.piece("29"), layer=9)))
        yield session


def stopped(session: Session, clock: Clock) -> Filming:
    """The shoot of the apron, stopped after the second thing of it, with a reason, and closed."""
    filming = begun(session, "apron")
    for _ in range(3):  # laid out, its condition put down, its first shot
        clock.wait(30)
        go_on_once(filming)
    assert [line.kind for line in session.book.log] == [LogKind.ACKNOWLEDGED, LogKind.TOUCHED, LogKind.DONE]
    filming.box_now(["29"], "visitors at noon")
    filming.write_changes("29", (("hem", "one thread pulled"),), after=True)
    assert filming.state().next.now is Now.CLOSE
    filming.close()
    return filming


def test_stopped_after_the_second_thing_all_else_is_given_up_dated_and_offered(
    session: Session, clock: Clock, capsys: pytest.CaptureFixture[str]
) -> None:
    shots = {shot.id for shot in session.shoot_plan(("apron",)).shots}
    points = {point.id for point in session.shoot_plan(("apron",)).points}
    filming = stopped(session, clock)
    book = session.book
    done = {line.subject for line in book.log if line.kind is LogKind.DONE}
    assert len(done) == 1
    waiting = waiting_pickups(book)
    assert {line.subject for line in waiting} == (shots | points) - done
    assert all(line.text.endswith("(visitors at noon)") for line in waiting)
    assert {line.remedy for line in waiting} == {Remedy.REOPEN, Remedy.VOICE}  # no wide take to cut a detail from
    assert book.piece("29").exposures[-1].touches == 2
    assert Stage.SHOOT in book.episode("apron").done  # what is left are pickups

    text = shoot_record.record_text(book, book.shoot(filming.id))
    assert "12:01:30  Apple-packer's apron: box" in text  # at home, eleven hours ahead of UTC
    assert "! Apple-packer's apron, new: hem: one thread pulled" in text
    assert text.count("waits, ") == len(waiting)
    assert "2 touches" in text

    work = session.work().pickups
    assert sum(len(group.lines) for group in work) == len(waiting)
    study = book.episode("apron")
    assert study.slot is not None
    for group in work:
        assert group.ready_by == study.slot.day - timedelta(book.house.lead_days)
        assert group.day is not None
        assert session.today <= group.day <= group.ready_by
        assert book.house.work_minutes[group.day.weekday()]
    assert {line.remedy for group in work if group.box for line in group.lines} == {Remedy.REOPEN}
    assert {group.box for group in work} == {"", book.piece("29").box}

    again = session.shoot_plan(("apron",))
    assert {line.id for line in offered(book, again.pieces)} == {line.id for line in waiting}
    assert sheet.ALONG in sheet.sheet(book, again)
    assert sheet.ALONG in sheet.html(book, again)
    session.close()
    printed = {
        "shoot apron --log": "Apple-packer's apron, flat face (visitors at noon)",
        "shoot apron --log --html --paper letter": "Apple-packer&#x27;s apron, flat face (visitors at noon)",
        "work": "Pickups that wait",
    }
    for command, told in printed.items():
        assert run(["--book", str(session.path), *command.split()]) == 0
        assert told in capsys.readouterr().out


def test_the_last_shoot_is_printed_first_and_what_waits_is_told_as_the_study_comes_out(
    session: Session, clock: Clock, said: Any
) -> None:
    stopped(session, clock)
    clock.wait(24 * 60 * 60)
    again = begun(session, "apron")
    again.close("another day")
    texts = [shoot_record.record_text(session.book, shoot) for shoot in reversed(session.book.shoots)]
    assert len(set(texts)) == 2
    waiting = len(waiting_pickups(session.book))
    path = session.path
    session.close()
    assert said("--book", path, "shoot", "apron", "--log")[1] == "\n\n\n".join(texts) + "\n"
    page = said("--book", path, "shoot", "apron", "--log", "--html")[1]
    assert ("Tue 3 Mar 2026" in page, "visitors at noon" in page) == (True, False)
    assert page.endswith("</html>\n") and not page.endswith("\n\n")
    out = said("--book", path, "publish", "apron", "--on", "2026-03-02")[1].splitlines()
    assert out[0] == "The apple-packer's apron is on record as published on 2 March 2026."
    assert out[1].startswith(f"{waiting} pickups still wait for it: ")


def test_a_neighbour_in_the_box_is_offered_what_needs_the_box_and_no_more(session: Session, clock: Clock) -> None:
    box = session.book.piece("29").box
    other = replace(session.book.piece("33"), box=box)
    session.do("one box", lambda book: book.put("pieces", other))
    stopped(session, clock)
    there = offered(session.book, ["33"])
    assert there
    assert {line.remedy for line in there} <= {Remedy.REOPEN, Remedy.DETAIL}
    assert len(there) < len(waiting_pickups(session.book))
    session.do("another box", lambda book: book.put("pieces", replace(other, box="elsewhere")))
    assert not offered(session.book, ["33"])


def test_a_shot_taken_or_a_point_said_in_the_next_shoot_mends_its_pickup(session: Session, clock: Clock) -> None:
    stopped(session, clock)
    before = waiting_pickups(session.book)
    filming = begun(session, "apron")
    assert {line.id for line in filming.offered()} == {line.id for line in before}
    go_on(filming)
    filming.close()
    assert not waiting_pickups(session.book)
    assert not session.check()


def test_the_next_opening_of_a_box_is_the_day_of_what_needs_the_box(session: Session, clock: Clock) -> None:
    frock = next(e for e in session.book.open_studies if "33" in e.pieces)
    apron = session.book.episode("apron")
    assert apron.slot
    box = session.book.piece("29").box
    session.do("one box", lambda b: b.put("pieces", replace(b.piece("33"), box=box)))
    stopped(session, clock)
    shoots = [task for task in session.work().tasks if task.stage is Stage.SHOOT and task.episode == frock.id]
    groups = {group.box: group for group in session.work().pickups}
    if shoots[0].day <= groups[box].ready_by:
        assert (groups[box].day, groups[box].with_shoot) == (shoots[0].day, frock.id)
    session.do("undated", lambda b: b.put("episodes", replace(b.episode("apron"), slot=None)))
    groups = {group.box: group for group in session.work().pickups}
    day = next(task.day for task in session.work().tasks if task.stage is Stage.SHOOT and task.episode == frock.id)
    assert (groups[box].day, groups[box].with_shoot, groups[box].ready_by) == (day, frock.id, None)
    assert (groups[""].day, groups[""].with_shoot) == (None, "")  # a spoken line waits for a date of the study


def test_publishing_while_pickups_wait_says_so(
    session: Session, clock: Clock, capsys: pytest.CaptureFixture[str]
) -> None:
    stopped(session, clock)
    lines = pickups_of(session.book, "apron")
    assert len(lines) == len(waiting_pickups(session.book))
    session.close()
    book = ["--book", str(session.path), "--today", "2026-03-22"]
    assert run([*book, "publish", "apron", "--on", "2026-03-22"]) == 0
    assert f"{len(lines)} pickups still wait for it: " in capsys.readouterr().out


def test_the_calendar_holds_pickups_and_leaves_those_that_were_mended(session: Session, clock: Clock) -> None:
    from showrunner.ical.plan_entries import entries, kept_uids
    from showrunner.planning.slots import expand

    stopped(session, clock)
    work = session.work()
    slots = expand(session.book.rules, session.today, session.today + timedelta(weeks=30))

    def told() -> dict[str, str]:
        found = entries(session.book, session.work(), tuple(slots))
        return {entry.uid: entry.summary for entry in found if "pickups" in entry.categories}

    there = told()
    assert len(there) == len(work.pickups) == 2
    assert {summary.split(": ")[0] for summary in there.values()} == {
        f"{len(group.lines)} pickups" for group in work.pickups
    }
    assert not {*there} & kept_uids(session.book)
    for line in waiting_pickups(session.book):
        Filming(session, line.shoot).mend(line.id, line.piece)
    assert not told()
    assert {*there} <= kept_uids(session.book)  # it happened: no calendar is told that it was dropped


# Anything next can be left out


def test_anything_next_can_be_left_out_until_nothing_is_left_but_to_close(session: Session) -> None:
    filming = begun(session)
    for _ in range(200):
        now = filming.state().next
        if now.now is Now.CLOSE:
            break
        filming.leave_out(now, "not today")
    state = filming.state()
    assert state.next.now is Now.CLOSE
    assert state.touched == 0
    filming.close()
    assert Stage.SHOOT not in session.book.episode("waistcoats").done  # nothing was filmed
    assert not session.check()


def test_every_second_thing_is_left_out_and_the_shoot_still_comes_to_its_end(session: Session) -> None:
    filming = begun(session)
    for turn in range(300):
        now = filming.state().next
        if now.now is Now.CLOSE:
            break
        if turn % 2:
            filming.leave_out(now, Why.FRAGILE.value)
        else:
            go_on_once(filming)
    state = filming.state()
    assert state.next.now is Now.CLOSE
    assert set(state.out) == state.staying
    left = {shot.id for shot in filming.plan.shots} - {*state.settled}
    assert left <= state.given_up
    filming.close("tired") if any(filming.left_open()) else filming.close()
    assert not session.check()


def test_without_turning_the_reverse_is_given_up_and_all_else_goes_on(session: Session) -> None:
    filming = begun(session, "apron")
    filming.touch("29", Touch.LAY)
    while filming.state().next.step is None or filming.state().next.step.touch is not Touch.TURN:  # type: ignore[union-attr]
        go_on_once(filming)
    now = filming.state().next
    new = filming.leave_out(now, "the straps hold it")
    assert [line.subject for line in new] == ["29/flat reverse"]
    assert new[0].remedy is Remedy.REOPEN
    line = next(line for line in session.book.log if line.kind is LogKind.LEFT_OUT)
    assert (line.touch, line.text) == (Touch.TURN, "the straps hold it")
    assert filming.state().phase["29"] is Touch.LAY
    assert Touch.TURN not in filming.state().ahead["29"]
    go_on(filming)
    assert filming.state().touches["29"] == 4
    filming.close()


def test_a_reason_for_which_nothing_is_wanted_makes_no_pickup(session: Session) -> None:
    filming = begun(session, "apron")
    filming.touch("29", Touch.LAY)
    while filming.state().next.step is None or filming.state().next.step.touch is not Touch.TURN:  # type: ignore[union-attr]
        go_on_once(filming)
    assert not filming.leave_out(filming.state().next, Why.NOT_NEEDED.value, gives_up=Why.NOT_NEEDED.gives_up)
    state = filming.state()
    assert state.settled["29/flat reverse"].kind is LogKind.SKIPPED
    assert not state.pickups
    go_on(filming)
    filming.close()
    assert not waiting_pickups(session.book)


@pytest.mark.parametrize("why", list(Why))
def test_a_shot_left_out_is_picked_up_if_it_is_still_wanted(session: Session, why: Why) -> None:
    filming = begun(session, "apron")
    filming.touch("29", Touch.LAY)
    go_on_once(filming)
    now = filming.state().next
    assert now.step is not None
    assert now.step.shot is not None
    filming.leave_out(now, why.value, gives_up=why.gives_up)
    wanted = why not in (Why.NOT_NEEDED, Why.IN_THE_CAN)
    assert [line.subject for line in waiting_pickups(session.book)] == [now.step.shot.id] * wanted
    assert [line.remedy for line in waiting_pickups(session.book)] == [Remedy.DETAIL] * wanted  # no wide take yet
    assert now.step.shot.id in filming.state().settled
    assert filming.state().next != now


def test_a_detail_left_out_is_cut_from_the_wide_take_of_its_side_if_there_is_one(session: Session) -> None:
    filming = begun(session, "apron")
    filming.touch("29", Touch.LAY)
    filming.done("29/flat face")
    detail = next(shot for shot in filming.plan.shots if shot.is_detail)
    filming.skip(detail.id, "no time", gives_up=True)
    assert [line.remedy for line in waiting_pickups(session.book)] == [Remedy.STILL]


def test_a_piece_that_is_not_laid_out_is_left_out_whole(session: Session) -> None:
    filming = begun(session)
    now = filming.state().next
    assert now.step is not None
    assert now.step.touch is Touch.LAY
    new = filming.leave_out(now, "no gloves left")
    mine = {shot.id for shot in filming.plan.shots if now.piece in (shot.piece, shot.beside)}
    mine |= {point.id for point in filming.plan.points if point.piece == now.piece}
    assert {line.subject for line in new} == mine
    state = filming.state()
    assert now.piece not in state.touches
    assert state.next.piece != now.piece
    go_on(filming)
    filming.close()
    assert {exposure.touches for exposure in session.book.piece(now.piece).exposures} <= set()


def test_a_piece_left_out_of_its_box_stays_out_for_a_reason(session: Session) -> None:
    filming = begun(session, "apron")
    while filming.state().next.step is None or filming.state().next.step.touch is not Touch.BOX:  # type: ignore[union-attr]
        try:
            go_on_once(filming)
        except GateOpen as gate:
            filming.say(gate.found.points[0].id)
    filming.leave_out(filming.state().next, "the box is being mended")
    state = filming.state()
    assert state.staying == {"29"}
    assert state.next.now is Now.CLOSE
    filming.close("all else is done") if any(filming.left_open()) else filming.close()
    assert session.book.open_shoot is None


def test_conditions_and_a_setting_aside_can_be_left_out(session: Session) -> None:
    filming = begun(session)
    go_on(filming, until=(Now.BEFORE, filming.state().next.piece))
    now = filming.state().next
    filming.leave_out(now, "seen yesterday")
    assert condition_id(now.piece, after=False) in filming.state().given_up
    assert filming.state().next.now is not Now.BEFORE
    go_on(filming, until=(Now.ASIDE, "31"))
    filming.leave_out(filming.state().next, "there is room")
    assert session.book.log[-1].subject == aside_id("31")
    assert filming.state().next.now is not Now.ASIDE
    assert "31" not in filming.state().aside


def test_cautions_and_the_close_are_not_left_out_and_a_reason_is_needed(session: Session) -> None:
    filming = Filming.begin(session, ("apron",))
    with pytest.raises(BadInput, match="cautions are not left out"):
        filming.leave_out(filming.state().next, "in a hurry")
    filming.acknowledge()
    with pytest.raises(BadInput, match="needs a reason"):
        filming.leave_out(filming.state().next, "  ")
    for _ in range(50):
        if filming.state().next.now is Now.CLOSE:
            break
        filming.leave_out(filming.state().next, "in a hurry")
    with pytest.raises(BadInput, match="only the close is left"):
        filming.leave_out(filming.state().next, "in a hurry")


# Box it now


@pytest.mark.slow
def test_box_it_now_works_from_every_state(session: Session, clock: Clock) -> None:
    """After every single step of the waistcoats each piece that is out can be boxed, and the shoot then closed."""
    filming = begun(session)
    tried = 0
    for _ in range(200):
        state = filming.state()
        if state.next.now is Now.CLOSE:
            break
        if state.out:
            tried += 1
            filming.box_now(state.out, "a visitor")
            after = filming.state()
            assert not after.out
            assert after.touched == state.touched + len(state.out)
            for piece in state.out:
                assert after.next.piece != piece or after.next.now is Now.AFTER
            session.undo()
            assert filming.state() == state
        clock.wait(10)
        go_on_once(filming)
    assert tried > 20


def test_box_it_now_needs_a_reason_only_if_something_is_given_up(session: Session) -> None:
    filming = begun(session, "apron")
    filming.touch("29", Touch.LAY)
    lines = session.book.log
    with pytest.raises(GateOpen, match="before boxing Apple-packer's apron, not filmed: "):
        filming.box_now(["29"])
    assert session.book.log == lines
    with pytest.raises(BadInput, match="in its box already"):
        filming.box_now(["30"], "late")
    for point in filming.plan.points:
        filming.say(point.id)
    for shot in filming.plan.shots:
        filming.skip(shot.id, "not needed")
    assert not filming.box_now(["29"])
    assert session.undo() == "box Apple-packer's apron at once"


def test_in_a_pause_a_piece_can_be_boxed(session: Session) -> None:
    filming = begun(session, "apron")
    filming.touch("29", Touch.LAY)
    filming.pause()
    filming.box_now(["29"], "no time")
    assert not filming.state().out


def test_what_was_given_up_with_a_reason_is_asked_at_no_later_gate(session: Session) -> None:
    filming = begun(session, "apron")
    filming.touch("29", Touch.LAY)
    with pytest.raises(GateOpen) as caught:
        filming.touch("29", Touch.TURN)
    asked = {*caught.value.found.shots, *caught.value.found.points}
    assert asked
    filming.touch("29", Touch.TURN, "hurry")
    for touch in (Touch.OPEN, Touch.DRESS, Touch.BOX):
        if touch not in filming.state().ahead["29"]:
            continue
        try:
            filming.touch("29", touch)
        except GateOpen as again:
            now = {*again.found.shots, *again.found.points}
            assert not asked & now
            asked |= now
            filming.touch("29", touch, "hurry")
    given_up = [line.subject for line in filming.state().pickups]
    assert len(given_up) == len(set(given_up))


def test_a_point_said_after_it_was_given_up_is_no_pickup_any_more(session: Session) -> None:
    filming = begun(session, "apron")
    filming.touch("29", Touch.LAY)
    filming.touch("29", Touch.TURN, "hurry")
    point = next(p.id for p in filming.plan.points if p.id in filming.state().given_up)
    filming.say(point)
    assert point not in filming.state().given_up
    assert point not in {line.subject for line in waiting_pickups(session.book)}


def test_of_two_studies_the_one_not_begun_is_filmed_another_day(session: Session) -> None:
    filming = begun(session, "apron", "skating-jacket")
    first = filming.state().next.piece
    done = next(id for id in ("apron", "skating-jacket") if first in session.book.episode(id).pieces)
    other = {"apron": "skating-jacket", "skating-jacket": "apron"}[done]
    for _ in range(3):
        go_on_once(filming)
    filming.box_now([first], "noon")
    filming.write_changes(first, (), after=True) if filming.as_before(first, after=True) else None
    filming.close("noon")
    assert Stage.SHOOT in session.book.episode(done).done
    assert Stage.SHOOT not in session.book.episode(other).done
    assert {line.piece for line in waiting_pickups(session.book)} == {first}


def test_closing_leaves_the_light_of_other_shoots_where_it_was(session: Session, clock: Clock) -> None:
    """Each shoot of a piece has its own line of light and touches; a second shoot takes none of the first away."""
    stopped(session, clock)
    (first,) = session.book.piece("29").exposures
    filming = begun(session, "apron")
    go_on(filming)
    filming.close()
    assert session.book.piece("29").exposures[0] == first
    assert [e.shoot for e in session.book.piece("29").exposures] == ["shoot-1", "shoot-2"]
    assert session.book.piece("29").exposures[1].touches == 5


def test_the_record_is_read_in_local_time_on_the_day_it_is_there(session: Session, clock: Clock) -> None:
    clock.at = NOON + timedelta(hours=10)  # 22:00 at home, 2 March still
    stopped(session, clock)
    assert session.book.piece("29").exposures[-1].day == date(2026, 3, 2)
    text = shoot_record.record_text(session.book, session.book.shoots[-1])
    assert "Mon 2 Mar 2026, 22:00" in text
    assert "Australia/Hobart" in text
    assert max(map(len, text.splitlines())) <= 80


def test_a_shot_given_up_and_then_tried_after_all_is_asked_for_at_its_gate(session: Session) -> None:
    filming = begun(session, "apron")
    filming.touch("29", Touch.LAY)
    detail = next(shot for shot in filming.plan.shots if shot.is_detail)
    filming.skip(detail.id, "no time", gives_up=True)
    filming.not_legible(detail.id)
    assert detail.id not in filming.state().given_up
    with pytest.raises(GateOpen) as caught:
        filming.touch("29", Touch.TURN)
    assert detail in caught.value.found.shots


def test_light_is_not_called_measured_before_it_was(session: Session) -> None:
    filming = begun(session, "apron")
    assert not filming.state().measured
    filming.measure(900)
    assert filming.state().measured


def test_what_is_left_out_names_its_piece_and_what_is_put_down_once_more_its_words(session: Session) -> None:
    filming = begun(session, "apron")
    filming.touch("29", Touch.LAY)
    filming.further_touch("29", "tie laid straight")
    assert session.book.log[-1].text == "tie laid straight"
    filming.further_touch("29", " ")
    assert session.book.log[-1].text == "once more"
    while filming.state().next.step is None or filming.state().next.step.touch is not Touch.TURN:  # type: ignore[union-attr]
        go_on_once(filming)
    filming.leave_out(filming.state().next, "not needed", gives_up=False)
    assert all(line.piece == "29" for line in session.book.log if line.kind in (LogKind.SKIPPED, LogKind.LEFT_OUT))
    lit = [light.piece for light in filming.light_left(filming.state())]
    assert lit == ["29"]


def test_after_filming_as_before_means_before_this_shoot(session: Session) -> None:
    filming = begun(session, "apron")
    filming.touch("29", Touch.LAY)
    assert filming.as_before("29", after=False) == (("all", "sound"),)  # of February
    filming.write_condition("29", (("hem", "torn"),), after=False)
    assert filming.as_before("29", after=True) == (("hem", "torn"),)


def test_of_several_pieces_boxed_at_once_the_first_with_something_open_is_named(session: Session) -> None:
    filming = begun(session)
    while len(filming.state().out) < 2:
        go_on_once(filming)
    for pieces in (("30", "31"), ("31", "30")):
        with pytest.raises(GateOpen) as caught:
            filming.box_now(pieces)
        assert caught.value.found.piece == pieces[0]


def test_the_work_names_the_piece_of_each_pickup(session: Session, clock: Clock) -> None:
    stopped(session, clock)
    told = " ".join(report.work(session.book, session.work()).split())
    assert "To mend: reopen the box, Apple-packer's apron: flat face (visitors at noon)" in told
