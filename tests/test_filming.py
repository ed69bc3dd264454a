"""A shoot as it goes on: the log, the clocks, the gates, and what is kept of it."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from effort import examples
from hypothesis import HealthCheck, given
from hypothesis import strategies as st

from showrunner.domain import edits
from showrunner.domain.piece import Confidence, Exposure, Handling, View
from showrunner.domain.shoot import Camera, LogKind, Remedy, Touch
from showrunner.errors import BadInput, ShowrunnerError
from showrunner.filming import Filming, GateOpen, NeedsReason, OverLight
from showrunner.planning.pickups import waiting_pickups
from showrunner.planning.shooting import Now
from showrunner.session import Session

DEMO = Path(__file__).parents[1] / "demo" / "book.json"
NOON = datetime(2026, 3, 2, 1, 0, tzinfo=UTC)
"""Noon of the demo's day in Hobart, eleven hours ahead of UTC."""


class Clock:
    """A clock that stands until it is moved."""

    def __init__(self) -> None:
        self.at = NOON

    def __call__(self) -> datetime:
        return self.at

    def wait(self, seconds: float) -> None:
        self.at += timedelta(seconds=seconds)


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def session(tmp_path: Path, clock: Clock) -> Iterator[Session]:
    shutil.copy(DEMO, tmp_path / "book.json")
    with Session.open(tmp_path / "book.json", now=clock) as session:
        yield session


def begun(session: Session, *studies: str) -> Filming:
    filming = Filming.begin(session, studies or ("waistcoats",))
    filming.acknowledge()
    return filming


def go_on_once(filming: Filming) -> None:
    """Do the next thing; what can only be said before it is said first."""
    state = filming.state()
    step, piece = state.next.step, state.next.piece
    if state.next.now in (Now.BEFORE, Now.AFTER):
        filming.write_condition(piece, (("all", "sound"),), after=state.next.now is Now.AFTER)
    elif state.next.now is Now.ASIDE:
        filming.set_aside(piece)
    elif step is not None and step.shot:
        filming.done(step.shot.id)
    elif step is not None and step.touch:
        try:
            filming.touch(piece, step.touch)
        except GateOpen as gate:
            assert not gate.found.shots
            filming.say(gate.found.points[0].id)


def go_on(filming: Filming, *, until: tuple[Now, str] | None = None, most: int = 200) -> None:
    """Go on until a kind of thing is next, or until nothing is left but to close."""
    for _ in range(most):
        now = filming.state().next
        if (now.now, now.piece) == until or now.now is Now.CLOSE:
            return
        go_on_once(filming)
    raise AssertionError("it did not come to an end")


def point(filming: Filming, words: str) -> str:
    return next(p.id for p in filming.plan.points if words in p.text)


# Before the first touch


def test_no_box_is_opened_before_the_cautions_are_acknowledged(session: Session) -> None:
    filming = Filming.begin(session, ("waistcoats",))
    assert filming.state().next.now is Now.ACKNOWLEDGE
    for forbidden in (
        lambda: filming.touch("31", Touch.LAY),
        lambda: filming.further_touch("31", "look"),
        lambda: filming.done("31/flat face"),
    ):
        with pytest.raises(BadInput, match="not acknowledged"):
            forbidden()
    assert not session.book.log
    filming.acknowledge()
    (line,) = session.book.log
    assert line.kind is LogKind.ACKNOWLEDGED
    assert line.text.split(", ") == [caution.id for caution in filming.plan.cautions]
    assert filming.state().next.now is Now.TOUCH


def test_a_second_shoot_waits_for_the_first(session: Session) -> None:
    begun(session)
    with pytest.raises(BadInput, match="“Septimus and Barnaby: two waistcoats” is not closed yet"):
        Filming.begin(session, ("apron",))


def test_a_shoot_without_pieces_is_refused_and_nothing_is_lost(session: Session) -> None:
    session.do("empty it", lambda b: b.put("episodes", replace(b.episode("apron"), pieces=())))
    before = session.path.read_bytes()
    for studies in (("apron",), ("nosuch",), ()):
        with pytest.raises(ShowrunnerError):
            Filming.begin(session, studies)
    assert session.path.read_bytes() == before


# The whole of it


def test_the_waistcoats_from_the_box_to_the_box(session: Session, clock: Clock) -> None:
    filming = begun(session)
    go_on(filming)
    state = filming.state()
    assert state.next.now is Now.CLOSE
    assert state.touched == 10
    assert dict(state.touches) == {"30": 5, "31": 5}
    assert len(state.settled) == 23
    assert len(state.said) == 18
    assert not state.out
    filming.close()
    assert session.book.open_shoot is None
    assert "shoot" in [stage.value for stage in session.book.episode("waistcoats").done]
    assert session.book.episode("waistcoats").estimate_seconds == 801
    assert not waiting_pickups(session.book)
    assert not session.check()


def test_every_action_is_one_undo_step_and_one_save(session: Session, clock: Clock) -> None:
    filming = begun(session)
    go_on(filming, until=(Now.SHOT, "30"))
    before = filming.state()
    filming.done(before.next.step.shot.id)  # type: ignore[union-attr]
    assert filming.state().next != before.next
    assert session.undo().startswith("film Wedding waistcoat")
    assert filming.state() == before
    with Session.open(session.path, write=False, now=clock) as other:
        assert other.book.log == session.book.log


@pytest.mark.slow
@pytest.mark.parametrize("cut", [1, 5, 17, 30, 45])
def test_cut_off_anywhere_it_stands_where_it_stood(session: Session, clock: Clock, tmp_path: Path, cut: int) -> None:
    filming = begun(session)
    filming.measure(1_500)
    for _ in range(cut):
        clock.wait(20)
        if filming.state().next.now is Now.CLOSE:
            break
        go_on_once(filming)
    clock.wait(7)
    copied = tmp_path / "cut.json"
    shutil.copy(session.path, copied)  # what a kill leaves behind
    with Session.open(copied, now=clock) as again:
        resumed = Filming.going_on(again)
        assert resumed is not None
        assert resumed.state() == filming.state()
        assert resumed.state().clocks.take % 20 == 7  # since the last shot or touch, not the last point said
        assert resumed.light_left(resumed.state()) == filming.light_left(filming.state())


# Points


def test_a_point_of_septimus_said_while_barnaby_lies_on_the_table(session: Session, clock: Clock) -> None:
    filming = begun(session)
    go_on(filming, until=(Now.SHOT, "31"))
    before = filming.state()
    assert before.out == ("31",)
    clock.wait(90)
    filming.say(point(filming, "maker's ticket"))
    state = filming.state()
    line = session.book.log[-1]
    assert (line.kind, line.piece, line.at) == (LogKind.SAID, "30", NOON + timedelta(seconds=90))
    assert state.said[point(filming, "maker's ticket")] == NOON + timedelta(seconds=90)
    assert (state.out, state.next, state.touches, state.phase) == (
        before.out,
        before.next,
        before.touches,
        before.phase,
    )


def test_a_point_is_said_once(session: Session) -> None:
    filming = begun(session)
    filming.say(point(filming, "embroidery"))
    with pytest.raises(BadInput, match="said already"):
        filming.say(point(filming, "embroidery"))
    with pytest.raises(BadInput, match="no such point"):
        filming.say("30/say/nothing")


# Gates


def test_the_gate_before_turning_names_the_unsaid_inside_and_going_on_makes_pickups(session: Session) -> None:
    filming = begun(session)
    go_on(filming, until=(Now.TOUCH, "31"))
    for _ in range(60):
        state = filming.state()
        step = state.next.step
        if step and step.touch is Touch.TURN and state.next.piece == "30":
            break
        go_on_once(filming)
    lines = session.book.log
    with pytest.raises(GateOpen, match="not said: maker's ticket, below the neck") as caught:
        filming.touch("30", Touch.TURN)
    assert session.book.log == lines
    assert caught.value.found.touch is Touch.TURN
    filming.touch("30", Touch.TURN, "the light is going")
    passed, pickup, touched = session.book.log[-3:]
    assert (passed.kind, passed.text) == (LogKind.PASSED, "the light is going")
    assert (pickup.kind, pickup.remedy, pickup.piece) == (LogKind.PICKUP, Remedy.VOICE, "30")
    assert "maker's ticket" in pickup.text
    assert "the light is going" in pickup.text
    assert touched.touch is Touch.TURN
    assert filming.state().touches["30"] == 3


def test_a_shot_left_at_a_gate_becomes_a_pickup_with_its_cheapest_remedy(session: Session) -> None:
    filming = begun(session, "apron")
    filming.touch("29", Touch.LAY)
    filming.done("29/flat face")
    with pytest.raises(GateOpen) as caught:
        filming.touch("29", Touch.TURN)
    assert [shot.words for shot in caught.value.found.shots] == ["detail: orchard stamp, bib"]
    filming.touch("29", Touch.TURN, "no close lens")
    remedies = {line.text.partition(" (")[0]: line.remedy for line in filming.state().pickups}
    assert remedies == {"detail: orchard stamp, bib": Remedy.STILL, "orchard stamp, bib": Remedy.VOICE}
    filming.touch("29", Touch.OPEN, "hurry")
    remedies = {line.text.partition(" (")[0]: line.remedy for line in filming.state().pickups}
    assert remedies["flat reverse"] is Remedy.REOPEN


def test_a_voice_pickup_adds_no_touch(session: Session) -> None:
    filming = begun(session, "apron")
    filming.touch("29", Touch.LAY)
    touches = filming.state().touched
    filming.pickup("29", "say where it was found", Remedy.VOICE)
    assert filming.state().touched == touches


def test_a_touch_out_of_order_is_refused_in_a_sentence(session: Session) -> None:
    filming = begun(session, "apron")
    with pytest.raises(BadInput, match="still in its box; lay it out first"):
        filming.touch("29", Touch.TURN)
    filming.touch("29", Touch.LAY)
    with pytest.raises(BadInput, match="past laying out already"):
        filming.touch("29", Touch.LAY)
    with pytest.raises(BadInput, match="cannot be filmed as the piece is now; do the touch before it first"):
        filming.done("29/inside")


# Not legible, skipped, in words


def test_not_legible_proposes_the_next_remedy_and_stays_open(session: Session) -> None:
    filming = begun(session, "skating-jacket")
    filming.touch("32", Touch.LAY)
    tried = [filming.not_legible("32/flat face") for _ in range(6)]
    assert tried[0].startswith("rake the light lower")
    assert len(set(tried[:4])) == 4
    assert tried[-1] == tried[-2] == "say it"
    state = filming.state()
    assert state.tries["32/flat face"] == 6
    assert "32/flat face" not in state.settled
    with pytest.raises(GateOpen, match="not filmed: flat face"):
        filming.touch("32", Touch.OPEN)
    filming.done("32/flat face")
    assert "32/flat face" in filming.state().settled
    assert not filming.state().tries
    filming.not_legible("32/flat face")
    assert "32/flat face" not in filming.state().settled
    filming.in_words("32/flat face")
    filming.touch("32", Touch.OPEN)


def test_a_skip_needs_a_reason(session: Session) -> None:
    filming = begun(session, "apron")
    with pytest.raises(BadInput, match="needs a reason"):
        filming.skip("29/inside", "  ")
    filming.skip("29/inside", "too fragile today")
    assert filming.state().settled["29/inside"].text == "too fragile today"


# Discoveries


def test_a_discovery_on_the_skating_jacket_at_13_20_supersedes_a_claim(session: Session, clock: Clock) -> None:
    filming = begun(session, "skating-jacket")
    filming.touch("32", Touch.LAY)
    clock.wait(80 * 60)
    filming.found("32", "exchanged by the first maker", Confidence.POSSIBLE, View.INSIDE, "linings")
    old, new = session.book.piece("32").claims
    assert (old.value, old.superseded) == ("swapped when relined", True)
    assert (new.value, new.confidence, new.study) == (
        "exchanged by the first maker",
        Confidence.POSSIBLE,
        "skating-jacket",
    )
    assert new.found is not None
    assert f"{filming.local(new.found):%H:%M}" == "13:20"
    from showrunner.tui.piece_text import about

    text = about(session.book, session.book.piece("32"))
    assert (
        "- linings: exchanged by the first maker, possible (found while filming, inside), 2 March 2026 at 13:20, "
        "“The skating jacket, sleeves exchanged”" in text
    )
    assert "-   before: linings: swapped when relined, probable" in text
    assert "linings: possibly exchanged by the first maker" in [p.text for p in filming.plan.points]
    assert [line.text for line in filming.state().discoveries] == ["exchanged by the first maker"]


def test_a_discovery_of_something_new_erases_nothing_and_has_words(session: Session) -> None:
    filming = begun(session, "apron")
    filming.found("29", "a pin in the hem", Confidence.SURE)
    claims = session.book.piece("29").claims
    assert [c.superseded for c in claims] == [False, False]
    with pytest.raises(BadInput, match="needs words"):
        filming.found("29", " ", Confidence.SURE)


# Clocks and light


def test_a_pause_stops_every_clock_and_the_light(session: Session, clock: Clock) -> None:
    filming = begun(session, "apron")
    filming.touch("29", Touch.LAY)
    filming.measure(1_000)
    clock.wait(36)
    filming.pause()
    clock.wait(3_600)
    assert filming.state().paused
    filming.pause()
    clock.wait(36)
    clocks = filming.state().clocks
    assert (clocks.take, clocks.session) == (72, 72)
    assert clocks.lux_hours["29"] == 20


def test_minutes_on_the_form_are_counted_and_a_covered_piece_has_no_light(session: Session, clock: Clock) -> None:
    filming = begun(session)
    filming.measure(3_600)
    go_on(filming, until=(Now.ASIDE, "31"))
    clock.wait(10)
    filming.set_aside("31")
    clock.wait(100)
    assert filming.state().clocks.lux_hours["31"] == 10
    go_on(filming, until=(Now.TOUCH, "30"))
    for _ in range(60):
        if filming.state().phase.get("31") is Touch.DRESS:
            break
        go_on_once(filming)
    clock.wait(125)
    assert filming.state().clocks.on_form["31"] == 125
    assert filming.state().clocks.lux_hours["31"] == 135


def test_over_the_limit_a_take_needs_a_reason(session: Session, clock: Clock) -> None:
    used = Exposure(date(2026, 1, 5), 14_000)
    session.do("light", lambda b: edits.add_exposure(b, "33", used))
    filming = begun(session, "dance-frock")
    filming.touch("33", Touch.LAY)
    filming.measure(1_500)
    clock.wait(39 * 60)
    filming.roll()
    (left,) = filming.light_left(filming.state())
    assert left.minutes_left == 1
    clock.wait(60)
    lines = session.book.log
    for attempt in (filming.roll, lambda: filming.done("33/flat face")):
        with pytest.raises(OverLight, match="15,000 lux hours of this year are used up"):
            attempt()
    assert session.book.log == lines
    filming.done("33/flat face", "the last view")
    assert [line.kind for line in session.book.log[-2:]] == [LogKind.OVER_LIGHT, LogKind.DONE]
    filming.roll()


def test_at_1500_lux_after_12600_there_are_96_minutes(session: Session) -> None:
    session.do("light", lambda b: edits.add_exposure(b, "33", Exposure(date(2026, 1, 5), 12_600)))
    filming = begun(session, "dance-frock")
    filming.measure(1_500)
    assert [left.minutes_left for left in filming.light_left(filming.state())] == [96]


@pytest.mark.parametrize("lux", [0, -3, 10**7])
def test_nonsense_of_the_meter_is_refused(session: Session, lux: int) -> None:
    filming = begun(session)
    with pytest.raises(BadInput, match="lux cannot be filmed by"):
        filming.measure(lux)
    assert len(session.book.log) == 1


def test_a_clock_that_jumps_backwards_loses_nothing(session: Session, clock: Clock) -> None:
    filming = begun(session, "apron")
    filming.touch("29", Touch.LAY)
    clock.wait(100)
    filming.roll()
    clock.wait(-1_800)
    assert filming.clock_went_back() == 1_800
    filming.done("29/flat face")
    assert session.book.log[-1].at == NOON + timedelta(seconds=100)
    assert filming.state().clocks.session == 100
    assert filming.state().clocks.take == 0
    clock.wait(1_830)
    assert filming.clock_went_back() == 0
    assert filming.state().clocks.session == 130
    assert not session.check()


# After


def test_the_condition_after_is_required_and_new_damage_is_flagged(session: Session, clock: Clock) -> None:
    filming = begun(session, "apron")
    filming.measure(1_000)
    filming.touch("29", Touch.LAY)
    with pytest.raises(BadInput, match="still out of the box: Apple-packer's apron"):
        filming.close("tired")
    filming.write_condition("29", (("hem", "sound"), ("bib", "one stain")), after=False)
    clock.wait(3_600)
    go_on(filming, until=(Now.AFTER, "29"))
    filming.touch("29", Touch.BOX, "late") if "29" in filming.state().out else None
    for id in filming.state().out:  # what lay on top of it in its box
        filming.touch(id, Touch.BOX)
    with pytest.raises(BadInput, match="condition after is not written for Apple-packer's apron"):
        filming.close("late")
    new = filming.write_condition(
        "29", (("Hem", " one thread pulled"), ("bib", "one  stain"), ("tie", "frayed")), after=True
    )
    assert [(e.place, e.text) for e in new] == [("Hem", "one thread pulled"), ("tie", "frayed")]
    filming.close("late")
    (exposure,) = session.book.piece("29").exposures
    assert (exposure.lux_hours, exposure.touches, exposure.day) == (1_000, 5, date(2026, 3, 2))


def test_closing_with_things_open_needs_a_reason_and_makes_pickups(session: Session) -> None:
    filming = begun(session, "apron")
    filming.touch("29", Touch.LAY)
    filming.touch("29", Touch.BOX, "a visitor")
    filming.write_condition("29", (("all", "sound"),), after=True)
    assert len(waiting_pickups(session.book)) == 9 + 3
    filming.close()
    shoot = session.book.shoots[-1]
    assert shoot.closed
    with pytest.raises(BadInput, match="it is closed"):
        filming.pause()
    pickup = waiting_pickups(session.book)[0]
    filming.mend(pickup.id, "29")
    assert len(waiting_pickups(session.book)) == 11


def test_closing_before_anything_is_touched_needs_a_reason(session: Session) -> None:
    filming = begun(session, "apron")
    with pytest.raises(NeedsReason, match="still open: 9 shots and 3 points"):
        filming.close()
    filming.close("another day")
    assert session.undo().startswith("close the shoot")
    assert session.book.open_shoot is not None


def test_retakes_count_as_touches(session: Session) -> None:
    filming = begun(session, "apron")
    filming.touch("29", Touch.LAY)
    filming.further_touch("29", "tie laid straight")
    assert filming.state().touches["29"] == 2
    assert filming.state().phase["29"] is Touch.LAY


def test_what_was_filmed_is_not_taken_out_of_the_book(session: Session) -> None:
    filming = begun(session, "apron")
    filming.touch("29", Touch.LAY)
    with pytest.raises(ShowrunnerError, match="has been filmed"):
        session.do("x", lambda b: edits.remove_study(b, "apron"))
    with pytest.raises(ShowrunnerError, match="has been filmed"):
        session.do("x", lambda b: edits.pair_studies(b, "bathing-costume", "apron")[0])


def test_the_camera_is_where_the_last_shot_was(session: Session) -> None:
    filming = begun(session)
    assert filming.state().camera is None
    go_on(filming, until=(Now.ASIDE, "31"))
    assert filming.state().camera is Camera.OVERHEAD


def test_a_shoot_is_read_back_as_it_was_written(session: Session) -> None:
    filming = begun(session)
    go_on(filming)
    tree = json.loads(session.path.read_text(encoding="utf-8"))
    assert len(tree["log"]) == len(session.book.log)
    with Session.open(session.path, write=False) as again:
        assert again.book == session.book


ACTIONS = st.lists(
    st.tuples(
        st.sampled_from(("next", "say", "bad", "words", "skip", "pause", "touch", "undo", "found")), st.integers(0, 40)
    ),
    max_size=40,
)


@pytest.mark.slow
@examples(100, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(actions=ACTIONS)
def test_whatever_is_pressed_the_shoot_can_go_on(tmp_path: Path, actions: list[tuple[str, int]]) -> None:
    """Any keys in any order: only sentences, touches as counted, clocks that never run backwards."""
    clock = Clock()
    path = tmp_path / "any.json"
    shutil.copy(DEMO, path)
    with Session.open(path, now=clock) as session:
        filming = begun(session)
        session_seconds = 0
        for action, seconds in actions:
            clock.wait(seconds)
            if Filming.going_on(session) is None:
                break
            try:
                press(filming, session, action)
            except ShowrunnerError as error:
                assert error.sentence().endswith(".")
                continue
            if Filming.going_on(session) is None:
                break
            state = filming.state()
            touched = sum(line.kind is LogKind.TOUCHED for line in session.book.log)
            assert state.touched == touched
            if action != "undo":
                assert state.clocks.session >= session_seconds
            session_seconds = state.clocks.session
            assert set(state.settled).isdisjoint(state.tries)
            for piece in state.out:
                assert state.phase[piece] is not Touch.BOX
        assert not session.check()


def press(filming: Filming, session: Session, action: str) -> None:
    state = filming.state()
    shot = state.next.step.shot if state.next.step else None
    if action == "next":
        go_on_once(filming)
    elif action == "say":
        left = [p.id for p in filming.plan.points if p.id not in state.said]
        if left:
            filming.say(left[0])
    elif action == "bad" and shot:
        filming.not_legible(shot.id)
    elif action == "words" and shot:
        filming.in_words(shot.id)
    elif action == "skip" and shot:
        filming.skip(shot.id, "no time")
    elif action == "pause":
        filming.pause()
    elif action == "touch":
        filming.touch("30", Touch.TURN, "to see")
    elif action == "undo":
        session.undo()
    elif action == "found":
        filming.found("31", "a thread", Confidence.POSSIBLE)


def test_minutes_on_a_form_have_a_limit_of_the_piece(session: Session, clock: Clock) -> None:
    from showrunner.tui.set_up_text import clock_rows

    session.do("limit", lambda b: b.put("pieces", replace(b.piece("29"), handling=Handling(form_minutes=2))))
    filming = begun(session, "apron")
    for _ in range(60):
        if filming.state().phase.get("29") is Touch.DRESS:
            break
        go_on_once(filming)
    clock.wait(121)
    rows = dict(clock_rows(session.book, filming.plan, filming.state(), (), []))
    assert rows["! form Apple-packer's apron"] == "2:01 of 2:00"


def test_a_night_between_two_days_of_a_shoot_is_put_down_as_a_break(session: Session, clock: Clock) -> None:
    filming = begun(session, "apron")
    filming.measure(1_000)
    filming.touch("29", Touch.LAY)
    clock.wait(36)
    filming.roll()
    clock.wait(10 * 3_600)
    assert filming.silent_seconds() == 36_000
    assert filming.light_left(filming.state())[0].minutes_left < 300
    filming.was_a_break()
    clocks = filming.state().clocks
    assert (clocks.session, clocks.take) == (36, 0)
    assert clocks.lux_hours["29"] == 10
    assert filming.silent_seconds() == 0
    assert not session.check()
    assert session.undo() == "put the time down as a break"
    assert filming.state().clocks.session == 36_036
