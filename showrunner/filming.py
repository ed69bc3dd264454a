"""A shoot as it goes on: every key press is one action of the session, on disk before the next; knows no screen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime
from math import ceil
from typing import Any, Self

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.piece import Condition, Confidence, View
from showrunner.domain.shoot import LogKind, LogLine, Remedy, Shoot, Touch
from showrunner.domain.titles import quoted
from showrunner.domain.words import count, listing, plain, some
from showrunner.domain.zone import zone_or_utc
from showrunner.errors import BadInput, ShowrunnerError
from showrunner.planning.gates import Gate, can_still, leaving_out
from showrunner.planning.light import Light, check_lux
from showrunner.planning.pickups import offered, waiting_pickups
from showrunner.planning.points import Point
from showrunner.planning.shoot_plan import ShootPlan
from showrunner.planning.shooting import (
    Next,
    Now,
    ShootState,
    aside_id,
    cheapest,
    condition_id,
    damage,
    gate_now,
    last_known,
    light_left,
    next_remedy,
    noted,
    stands,
    state_of,
)
from showrunner.planning.shots import Shot
from showrunner.session import Session
from showrunner.sheet import BEFORE, shot_words

CLOCK_BACK_SECONDS = 2
"""A clock that went back by more than this is told; times go on from the last line."""


class NeedsReason(ShowrunnerError):
    """Something is lost, or a limit passed, unless a reason is given; nothing has been done yet."""


class GateOpen(NeedsReason):
    """Things can only be seen or said before this touch.

    Args:
        found: what is open.
        what: the same in words.
    """

    def __init__(self, found: Gate, what: str) -> None:
        super().__init__(what, way_out="film and say it now, or give a reason and it becomes a pickup")
        self.found = found


class OverLight(NeedsReason):
    """Pieces have had all the light of their year.

    Args:
        left: the light of each such piece.
        what: the same in words.
    """

    def __init__(self, left: Sequence[Light], what: str) -> None:
        super().__init__(what, way_out="dim the lamps and measure again, or give a reason")
        self.left = tuple(left)


class Filming:
    """The shoot that goes on in an open book.

    Everything the user can cause is raised as a ShowrunnerError, and then nothing has changed.

    Args:
        session: the open book.
        shoot: id of a shoot in it that is not closed.
    """

    def __init__(self, session: Session, shoot: str) -> None:
        self.session = session
        self.id = shoot

    @classmethod
    def going_on(cls, session: Session) -> Self | None:
        """The shoot of the book that is not closed yet; None if there is none."""
        shoot = session.book.open_shoot
        return cls(session, shoot.id) if shoot else None

    @classmethod
    def begin(cls, session: Session, studies: Sequence[str]) -> Self:
        """Begin a shoot.

        Raises:
            ShowrunnerError: as `planning.shoot_plan.plan_shoot` and `edits.begin_shoot`.
        """
        title = session.shoot_plan(studies).title
        at = session.instant()
        shoot = session.make(f"begin the shoot of {title}", lambda book: edits.begin_shoot(book, studies, at))
        return cls(session, shoot.id)

    # How it stands

    @property
    def book(self) -> Book:
        """The book."""
        return self.session.book

    @property
    def shoot(self) -> Shoot:
        """The shoot."""
        return self.book.shoot(self.id)

    @property
    def plan(self) -> ShootPlan:
        """Its plan."""
        return self.session.shoot_plan(self.shoot.studies, shoot=self.id)

    def state(self) -> ShootState:
        """How it stands at this instant."""
        return state_of(self.book, self.shoot, self.book.log_of(self.id), self.plan, self.session.instant())

    def clock_went_back(self) -> int:
        """Seconds by which the computer's clock lies before the last line of the log; 0 if it does not."""
        back = (self.book.last_instant(self.id) - self.session.instant()).total_seconds()
        return int(back) if back > CLOCK_BACK_SECONDS else 0

    def local(self, at: datetime) -> datetime:
        """An instant on the clock of the house."""
        return at.astimezone(zone_or_utc(self.book.house.zone))

    @property
    def today(self) -> date:
        """The day at home."""
        return self.session.today

    def light_left(self, state: ShootState) -> tuple[Light, ...]:
        """The light left for each piece that is uncovered now; of the next one if none is."""
        lit = [id for id in state.out if id not in state.aside]
        there = lit or [id for id in (state.next.piece,) if id in self.plan.pieces] or list(self.plan.pieces[:1])
        return tuple(light_left(self.book, state, self.book.piece(id), self.today.year) for id in there)

    def shot(self, id: str) -> Shot:
        """A shot of the plan.

        Raises:
            BadInput: there is none.
        """
        found = next((shot for shot in self.plan.shots if shot.id == id), None)
        if found is None:
            raise BadInput("the plan has no such shot any more", id, "look at the run order")
        return found

    # What is done

    def _log(self, label: str, kind: LogKind, **what: Any) -> None:
        at = self.session.instant()
        self.session.do(label, lambda book: edits.log(book, self.id, at, kind, **what))

    def acknowledge(self) -> None:
        """Put on record that the cautions were read."""
        text = ", ".join(caution.id for caution in self.plan.cautions)
        self._log("acknowledge the cautions", LogKind.ACKNOWLEDGED, text=text)

    def _must_be_acknowledged(self, state: ShootState) -> None:
        if not state.acknowledged:
            raise BadInput("the cautions are not acknowledged yet", "shoot", "read them first")

    def touch(self, piece: str, touch: Touch, reason: str = "") -> None:
        """Handle a piece as the run order says.

        Args:
            piece: id of the piece.
            touch: the touch.
            reason: why it goes on with things open; they become pickups.

        Raises:
            GateOpen: something can only be seen or said before it and no reason is given.
            BadInput: the cautions are not acknowledged, or the piece is beyond this touch already.
        """
        state = self.state()
        self._must_be_acknowledged(state)
        name = self.book.piece(piece).name
        ahead = state.ahead.get(piece, ())
        if touch not in ahead:
            raise BadInput(f"it is past {BEFORE[touch]} already", name, "note a further touch instead")
        if piece not in state.phase and touch is not ahead[0]:
            raise BadInput("it is still in its box", name, "lay it out first")
        found = gate_now(self.plan, state, piece, touch)
        if not found.clear and not reason.strip():
            raise GateOpen(found, self.gate_words(found))
        at = self.session.instant()

        def edit(book: Book) -> Book:
            if not found.clear:
                book = self._passed(book, at, found, state, reason.strip())
            return edits.log(book, self.id, at, LogKind.TOUCHED, piece=piece, touch=touch)

        self.session.do(f"{touch.value} {name}", edit)

    def _passed(self, book: Book, at: datetime, found: Gate, state: ShootState, reason: str) -> Book:
        book = edits.log(book, self.id, at, LogKind.PASSED, piece=found.piece, touch=found.touch, text=reason)
        gone = {**state.ahead, found.piece: ()} if found.touch.leaves_boxed else state.ahead
        after = replace(state, phase={**state.phase, found.piece: found.touch}, ahead=gone)
        return self._give_up(book, at, found, after, reason)

    def _give_up(self, book: Book, at: datetime, found: Gate, after: ShootState, reason: str) -> Book:
        """Pickups for what is lost, each with its cheapest remedy as the shoot stands after."""
        left: tuple[Shot | Point, ...] = (*found.shots, *found.points)
        for missed in left:
            book = self._pick_up(book, at, missed, cheapest(self.plan, after, missed), reason)
        return book

    def box_now(self, pieces: Sequence[str], reason: str = "") -> tuple[LogLine, ...]:
        """Put pieces back into their boxes at once, whatever was to come; what is given up becomes pickups.

        Args:
            pieces: ids of pieces that are out, the first to be boxed first.
            reason: why; not needed if nothing is given up.

        Returns:
            The new pickups.

        Raises:
            GateOpen: something is given up and no reason is given; of several pieces, the first such gate.
            BadInput: a piece is in its box already.
        """
        state, before = self.state(), len(self.book.log)
        for piece in pieces:
            if piece not in state.out:
                raise BadInput("it is in its box already", self.book.piece(piece).name, "choose one that is out")
        gates = [gate_now(self.plan, state, piece, Touch.BOX) for piece in pieces]
        open_gates = [found for found in gates if not found.clear]
        if open_gates and not reason.strip():
            raise GateOpen(open_gates[0], self.gate_words(open_gates[0]))
        at = self.session.instant()

        def edit(book: Book) -> Book:
            for found in gates:
                if not found.clear:
                    book = self._passed(book, at, found, state, reason.strip())
                book = edits.log(book, self.id, at, LogKind.TOUCHED, piece=found.piece, touch=Touch.BOX)
            return book

        self.session.do(f"box {listing([self.book.piece(id).name for id in pieces])} at once", edit)
        return tuple(line for line in self.book.log[before:] if line.kind is LogKind.PICKUP)

    def leave_out(self, next_: Next, reason: str, *, gives_up: bool = True) -> tuple[LogLine, ...]:
        """Leave the next thing out, whatever it is; what can then be filmed or said no more becomes pickups.

        Args:
            next_: the next thing, as `state` told it.
            reason: why.
            gives_up: whether what is lost by it is still wanted, and so becomes pickups.

        Returns:
            The new pickups.

        Raises:
            BadInput: no reason is given, or it is nothing that could be left out.
        """
        if not reason.strip():
            raise BadInput("what is left out needs a reason", "shoot", "give one in a few words")
        state, step, piece, before = self.state(), next_.step, next_.piece, len(self.book.log)
        reason = reason.strip()
        if next_.now is Now.ACKNOWLEDGE:
            raise BadInput("the cautions are not left out", "shoot", "read them, or close the shoot")
        if next_.now is Now.CLOSE:
            raise BadInput("only the close is left", "shoot", "close the shoot")
        if step is not None and step.shot is not None:
            self.skip(step.shot.id, reason, gives_up=gives_up)
        elif next_.now in (Now.BEFORE, Now.AFTER):
            subject = condition_id(piece, after=next_.now is Now.AFTER)
            name = self.book.piece(piece).name
            self._log(
                f"leave the condition of {name} out",
                LogKind.LEFT_OUT,
                piece=piece,
                subject=subject,
                text=reason,
            )
        elif step is not None and step.touch is not None:
            self._leave_touch_out(state, piece, step.touch, reason, gives_up=gives_up)
        else:
            label = f"leave {self.book.piece(piece).name} where it is"
            self._log(label, LogKind.LEFT_OUT, piece=piece, subject=aside_id(piece), text=reason)
        return tuple(line for line in self.book.log[before:] if line.kind is LogKind.PICKUP)

    def _leave_touch_out(self, state: ShootState, piece: str, touch: Touch, reason: str, *, gives_up: bool) -> None:
        found = gate_now(self.plan, state, piece, touch, left_out=True)
        after = replace(state, ahead=leaving_out(piece, touch, state.phase, state.ahead))
        at = self.session.instant()

        def edit(book: Book) -> Book:
            book = edits.log(book, self.id, at, LogKind.LEFT_OUT, piece=piece, touch=touch, text=reason)
            if gives_up:
                return self._give_up(book, at, found, after, reason)
            for shot in found.shots:
                what = {"piece": shot.piece, "subject": shot.id, "text": reason}
                book = edits.log(book, self.id, at, LogKind.SKIPPED, **what)
            for point in found.points:
                what = {"piece": point.piece, "subject": point.id, "text": reason}
                book = edits.log(book, self.id, at, LogKind.LEFT_OUT, **what)
            return book

        self.session.do(f"leave out {BEFORE[touch]} {self.book.piece(piece).name}", edit)

    def _pick_up(self, book: Book, at: datetime, missed: Shot | Point, remedy: Remedy, reason: str) -> Book:
        """A pickup for something missed, unless one of this shoot waits already."""
        if any(line.shoot == self.id and line.subject == missed.id for line in waiting_pickups(book)):
            return book
        text = missed.text if isinstance(missed, Point) else missed.words
        text = f"{text} ({reason})" if reason else text
        return edits.log(
            book, self.id, at, LogKind.PICKUP, piece=missed.piece, subject=missed.id, text=text, remedy=remedy
        )

    def gate_words(self, found: Gate) -> str:
        """What is open before a touch, in words."""
        parts = []
        if found.shots:
            parts.append(f"not filmed: {'; '.join(shot.words for shot in found.shots)}")
        if found.points:
            parts.append(f"not said: {'; '.join(point.text for point in found.points)}")
        return f"before {BEFORE[found.touch]} {self.book.piece(found.piece).name}, {', and '.join(parts)}"

    def further_touch(self, piece: str, what: str) -> None:
        """Put a touch on record that the run order does not have; the piece stays as it is.

        Raises:
            BadInput: the cautions are not acknowledged.
        """
        self._must_be_acknowledged(self.state())
        name = self.book.piece(piece).name
        self._log(f"touch {name} once more", LogKind.TOUCHED, piece=piece, text=what.strip() or "once more")

    def set_aside(self, piece: str) -> None:
        """Cover a piece and set it aside on its board."""
        self._log(f"set {self.book.piece(piece).name} aside", LogKind.ASIDE, piece=piece)

    def roll(self, reason: str = "") -> None:
        """Begin a take.

        Raises:
            OverLight: a piece has had its light and no reason is given.
        """
        self._lit(self.state(), "begin a take", reason, LogKind.ROLLED)

    def done(self, shot: str, reason: str = "") -> None:
        """The shot is in the can.

        Raises:
            OverLight: a piece has had its light and no reason is given.
            BadInput: the shot cannot be taken as the piece lies.
        """
        found, state = self.shot(shot), self.state()
        self._must_stand(found, state)
        label = f"film {shot_words(found, self.book)}"
        self._lit(state, label, reason, LogKind.DONE, piece=found.piece, subject=shot)

    def _must_stand(self, shot: Shot, state: ShootState) -> None:
        self._must_be_acknowledged(state)
        if not stands(shot, state.phase, state.aside):
            still = can_still(shot, state.phase, state.ahead)
            way_out = "do the touch before it first" if still else "make it a pickup"
            raise BadInput("it cannot be filmed as the piece is now", shot_words(shot, self.book), way_out)

    def _lit(self, state: ShootState, label: str, reason: str, kind: LogKind, **what: Any) -> None:
        """Log something that is filmed, if the light allows it or a reason is given."""
        lit = [id for id in state.out if id not in state.aside and id not in state.over_light]
        left = [light_left(self.book, state, self.book.piece(id), self.today.year) for id in lit]
        over = [item for item in left if item.used_up]
        if over and not reason.strip():
            names = listing([self.book.piece(item.piece).name for item in over])
            limits = listing([f"{item.limit:,}" for item in over])
            raise OverLight(over, f"{names}: the {limits} lux hours of this year are used up")
        at = self.session.instant()

        def edit(book: Book) -> Book:
            for item in over:
                book = edits.log(book, self.id, at, LogKind.OVER_LIGHT, piece=item.piece, text=reason.strip())
            return edits.log(book, self.id, at, kind, **what)

        self.session.do(label, edit)

    def skip(self, shot: str, reason: str, *, gives_up: bool = False) -> None:
        """Leave a shot out.

        Args:
            shot: id of the shot.
            reason: why.
            gives_up: whether it is still wanted, and so becomes a pickup.

        Raises:
            BadInput: no reason is given.
        """
        found = self.shot(shot)
        if not reason.strip():
            raise BadInput("a skipped shot needs a reason", shot_words(found, self.book), "give one in a few words")
        at, state = self.session.instant(), self.state()

        def edit(book: Book) -> Book:
            text = reason.strip()
            book = edits.log(book, self.id, at, LogKind.SKIPPED, piece=found.piece, subject=shot, text=text)
            if gives_up:
                book = self._pick_up(book, at, found, cheapest(self.plan, state, found), text)
            return book

        self.session.do(f"skip {shot_words(found, self.book)}", edit)

    def not_legible(self, shot: str) -> str:
        """The shot does not show what it should: it stays open; returns the remedy to try next."""
        found = self.shot(shot)
        self._must_stand(found, self.state())
        label = f"not legible: {shot_words(found, self.book)}"
        self._log(label, LogKind.NOT_LEGIBLE, piece=found.piece, subject=shot)
        return next_remedy(self.book, self.state(), found)

    def in_words(self, shot: str) -> None:
        """Replace a shot by spoken words."""
        found = self.shot(shot)
        label = f"put into words: {shot_words(found, self.book)}"
        self._log(label, LogKind.IN_WORDS, piece=found.piece, subject=shot)

    def say(self, point: str) -> None:
        """A point was said, of whatever piece is before the camera.

        Raises:
            BadInput: the plan has no such point, or it was said already.
        """
        found = next((p for p in self.plan.points if p.id == point), None)
        if found is None:
            raise BadInput("there is no such point any more", point, "look at the list")
        if point in self.state().said:
            raise BadInput("it was said already", found.text, "choose another")
        self._log(f"said: {found.text}", LogKind.SAID, piece=found.piece, subject=point)

    def found(self, piece: str, text: str, confidence: Confidence, view: View | None = None, about: str = "") -> None:
        """Keep a discovery; arguments as `edits.discover`."""
        at, today = self.session.instant(), self.today
        self.session.do(
            f"found on {self.book.piece(piece).name}: {text}",
            lambda book: edits.discover(book, self.id, at, piece, text, confidence, view, about, local_day=today),
        )

    def pickup(self, piece: str, text: str, remedy: Remedy) -> None:
        """Note something missed.

        Raises:
            BadInput: nothing is written.
        """
        if not text.strip():
            raise BadInput("a pickup needs words", "pickup", "say what is missing")
        self._log(f"pickup: {text}", LogKind.PICKUP, piece=piece, text=text.strip(), remedy=remedy)

    def measure(self, lux: int) -> None:
        """Put the measured light on record.

        Raises:
            BadInput: no meter shows that.
        """
        self._log(f"{lux} lux measured", LogKind.LUX, lux=check_lux(lux))

    def pause(self) -> None:
        """Begin a pause with the lamps off, or end it."""
        paused = self.state().paused
        self._log("end the pause" if paused else "pause", LogKind.RESUMED if paused else LogKind.PAUSED)

    def silent_seconds(self) -> int:
        """Seconds since the last line of the log, if no pause has begun; 0 in a pause or before the first line."""
        if not self.book.log_of(self.id) or self.state().paused:
            return 0
        return max(0, int((self.session.instant() - self.book.last_instant(self.id)).total_seconds()))

    def was_a_break(self) -> None:
        """The time since the last line was a pause with the lamps off: no clock and no light counts it."""
        since, now = self.book.last_instant(self.id), self.session.instant()

        def edit(book: Book) -> Book:
            book = edits.log(book, self.id, since, LogKind.PAUSED)
            return edits.log(book, self.id, now, LogKind.RESUMED)

        self.session.do("put the time down as a break", edit)

    def write_condition(self, piece: str, entries: Sequence[tuple[str, str]], *, after: bool) -> tuple[Condition, ...]:
        """Put the condition before or after on record; returns what is new damage after."""
        today = self.today
        when = "after" if after else "before"
        self.session.do(
            f"condition {when} of {self.book.piece(piece).name}",
            lambda book: edits.write_condition(book, self.id, piece, entries, today, after=after),
        )
        return self.damage(piece) if after else ()

    def as_before(self, piece: str, *, after: bool) -> tuple[tuple[str, str], ...]:
        """The condition last known of a piece, place by place: before the shoot if it is asked for after it."""
        found = self.book.piece(piece)
        mine = [entry for entry in found.condition if entry.shoot == self.id and not entry.after] if after else []
        return tuple((entry.place, entry.text) for entry in mine or last_known(found))

    def write_changes(self, piece: str, changes: Sequence[tuple[str, str]], *, after: bool) -> tuple[Condition, ...]:
        """Put the condition on record as it was before, but for the places that changed; as `write_condition`."""
        known = {plain(place): (place, text) for place, text in self.as_before(piece, after=after)}
        known |= {plain(place): (place, text) for place, text in changes}
        return self.write_condition(piece, tuple(known.values()), after=after)

    def offered(self) -> tuple[LogLine, ...]:
        """Pickups of earlier shoots that this one can take along."""
        return offered(self.book, self.plan.pieces, without=self.id)

    def damage(self, piece: str) -> tuple[Condition, ...]:
        """What is new on a piece since before the shoot."""
        return damage(self.book.piece(piece), self.id)

    def mend(self, pickup: str, piece: str) -> None:
        """Put a pickup of this shoot down as mended; also after the close.

        Args:
            pickup: id of its line.
            piece: id of its piece.
        """
        self._log(f"mend a pickup of {self.book.piece(piece).name}", LogKind.MENDED, piece=piece, subject=pickup)

    # The end

    def left_open(self) -> tuple[tuple[Shot, ...], tuple[Point, ...]]:
        """Shots not settled and points not said that are no pickup yet."""
        state, plan = self.state(), self.plan
        known = state.given_up
        shots = [shot for shot in plan.shots if shot.id not in state.settled and shot.id not in known]
        points = [point for point in plan.points if point.id not in state.said and point.id not in known]
        return tuple(shots), tuple(points)

    def without_condition(self) -> tuple[str, ...]:
        """Ids of handled pieces whose condition after the shoot is not on record."""
        state = self.state()
        return tuple(
            id
            for id in self.plan.pieces
            if id in state.phase
            and condition_id(id, after=True) not in state.given_up
            and not noted(self.book.piece(id), self.shoot, after=True)
        )

    def _filmed(self, study: str, state: ShootState) -> bool:
        """Whether anything of a study was settled; if not, all of it is still to be filmed another day."""
        pieces = self.book.episode(study).pieces
        taken = [shot for shot in self.plan.shots if shot.id in state.settled and shot.id not in state.given_up]
        return any(shot.piece in pieces for shot in taken)

    def close(self, reason: str = "") -> None:
        """Close the shoot: what is open becomes pickups, light and touches go to each piece's year.

        A study of which nothing was filmed is still to be filmed, and nothing of it becomes a pickup.

        Raises:
            BadInput: the condition after is missing for a piece that was handled and was not left out, or a piece is
                out of its box for no reason.
            NeedsReason: shots or points are open and no reason is given.
        """
        state, plan = self.state(), self.plan
        if out := [self.book.piece(id).name for id in state.out if id not in state.staying]:
            raise BadInput(f"still out of the box: {some(out)}", "shoot", "box them first")
        if missing := [self.book.piece(id).name for id in self.without_condition()]:
            raise BadInput(f"the condition after is not written for {some(missing)}", "shoot", "write it first")
        shots, points = self.left_open()
        unfilmed = [id for id in self.shoot.studies if not self._filmed(id, state)]
        later = {piece for id in unfilmed for piece in self.book.episode(id).pieces}
        later -= {piece for id in self.shoot.studies if id not in unfilmed for piece in self.book.episode(id).pieces}
        if (shots or points) and not reason.strip():
            what = [count(len(shots), "shot")] * bool(shots) + [count(len(points), "point")] * bool(points)
            raise NeedsReason(f"still open: {some(what)}", way_out="give a reason and they become pickups")
        left: list[Shot | Point] = [*shots, *points]
        left = [missed for missed in left if missed.piece not in later]
        at, today = self.session.instant(), self.today
        doses = {id: (ceil(state.clocks.lux_hours.get(id, 0)), touches) for id, touches in state.touches.items()}
        estimates = {id: time.seconds for id, time in plan.run_times}

        def edit(book: Book) -> Book:
            for missed in left:
                book = self._pick_up(book, at, missed, cheapest(plan, state, missed), reason.strip())
            return edits.close_shoot(book, self.id, at, today, doses, estimates, reason.strip(), unfilmed)

        titles = listing([quoted(self.book.episode(id).title) for id in self.shoot.studies])
        self.session.do(f"close the shoot of {titles}", edit)
