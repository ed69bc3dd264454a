"""What the Set-up says, as lines: pure text from the plan and the state of a shoot."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from math import ceil

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.piece import Piece
from showrunner.domain.shoot import LogKind, Touch
from showrunner.domain.zone import zone_or_utc
from showrunner.planning.daylight import DayEnd, Daylight
from showrunner.planning.gates import Gate
from showrunner.planning.light import Light
from showrunner.planning.pickups import offered
from showrunner.planning.points import Point
from showrunner.planning.run_order import Step
from showrunner.planning.run_time import clock_words
from showrunner.planning.shoot_plan import SetUp, ShootPlan
from showrunner.planning.shooting import Now, ShootState, gate_now, next_remedy
from showrunner.planning.shots import Shot
from showrunner.sheet import VERBS, side_words, touch_words
from showrunner.shoot_record import short_name

Rows = list[tuple[str, str]]
"""Label and value of each clock."""


def progress(plan: ShootPlan, state: ShootState) -> str:
    """Shots settled, points said, touches."""
    shots = sum(shot.id in state.settled for shot in plan.shots)
    said = sum(point.id in state.said for point in plan.points)
    return (
        f"{shots}/{len(plan.shots)} shots  {said}/{len(plan.points)} said  {state.touched}/{plan.order.touches} touches"
    )


def present_set_up(plan: ShootPlan, state: ShootState) -> SetUp | None:
    """The set-up of the next shot; the last one when nothing is left to film."""
    steps = [(item, step) for item in plan.set_ups for step in item.steps]
    now = state.next.step
    if now is not None:
        return next((item for item, step in steps if step == now), None)
    ahead = [item for item, step in steps if step.shot and step.shot.id not in state.settled]
    return ahead[0] if ahead else plan.set_ups[-1] if plan.set_ups else None


def heading(plan: ShootPlan, state: ShootState) -> str:
    """The present set-up."""
    item = present_set_up(plan, state)
    if item is None:
        return plan.title
    return f"Set-up {item.number} of {len(plan.set_ups)}: {item.camera.value}"


def big_lines(book: Book, plan: ShootPlan, state: ShootState) -> tuple[str, str]:
    """The one next thing, and a line about it."""
    now = state.next
    if state.paused:
        return "Pause: lamps off.", "b ends it."
    if now.now is Now.ACKNOWLEDGE:
        return "Read the cautions.", "Space shows them; no box is opened before."
    if now.now is Now.CLOSE:
        return "All is filmed and boxed.", "Space closes the shoot."
    piece = book.piece(now.piece)
    if now.now in (Now.BEFORE, Now.AFTER):
        when = "as it lies, before filming" if now.now is Now.BEFORE else "before it goes back into its box"
        return f"Condition of {short_name(piece)}", f"Space asks it {when}: as before, or changed."
    step = now.step
    assert step is not None
    if step.shot is None:
        fit = next((fit for fit in plan.fits if fit.piece == step.piece), None)
        return touch_words(step, piece, fit), touch_note(book, piece, plan, state, step.touch)
    return shot_line(book, step.shot) + side_words(step.shot, book), shot_note(book, plan, state, step.shot)


def huge_line(book: Book, state: ShootState) -> str:
    """The one next thing as short as it goes, for letters that are read from two metres."""
    now = state.next
    if state.paused:
        return "Pause"
    if now.now is Now.ACKNOWLEDGE:
        return "Read the cautions"
    if now.now is Now.CLOSE:
        return "Close the shoot"
    name = short_name(book.piece(now.piece))
    if now.now in (Now.BEFORE, Now.AFTER):
        return f"Condition {'before' if now.now is Now.BEFORE else 'after'}: {name}"
    assert now.step is not None
    if now.step.aside:
        return f"Set aside: {name}"
    if now.step.touch:
        box = book.piece(now.piece).box
        where = f", box {box}" if box and now.step.touch in (Touch.LAY, Touch.BOX) else ""
        return f"{VERBS[now.step.touch]}: {name}{where}"
    assert now.step.shot is not None
    again = "Again: " if now.step.shot.id in state.tries else ""
    return f"{again}{shot_line(book, now.step.shot)}{side_words(now.step.shot, book)}"


def touch_note(book: Book, piece: Piece, plan: ShootPlan, state: ShootState, touch: Touch | None) -> str:
    """What to heed at a touch: people, what is still open before it, and pickups that the open box lets be mended."""
    parts = []
    if touch is Touch.LAY and (along := offered(book, [piece.id], without=state.shoot.id)):
        parts.append(f"{words.count(len(along), 'pickup')} to mend with this box: P")
    if piece.handling.people > 1:
        parts.append(f"{piece.handling.people} people")
    if touch and piece.id in state.phase:
        found = gate_now(plan, state, piece.id, touch)
        if found.points:
            parts.append(f"{words.count(len(found.points), 'point')} to say before it")
        if found.shots:
            parts.append(f"{words.count(len(found.shots), 'shot')} open")
    return ("Space when done. " + "; ".join(parts)).strip() + ("." if parts else "")


def shot_line(book: Book, shot: Shot) -> str:
    """A shot with the short name of its piece or pieces."""
    name = short_name(book.piece(shot.piece))
    return (
        f"{name} beside {short_name(book.piece(shot.beside))}: {shot.words}" if shot.beside else f"{name}: {shot.words}"
    )


def shot_note(book: Book, plan: ShootPlan, state: ShootState, shot: Shot) -> str:
    """What to heed at a shot: a remedy to try, or that the camera moves."""
    if tries := state.tries.get(shot.id, 0):
        times = "once" if tries == 1 else f"{tries} times"
        return f"Not legible {times}. Try: {next_remedy(book, state, shot)}. v puts it into words."
    item = present_set_up(plan, state)
    if item and state.camera is not item.camera:
        return f"Move the camera: {item.camera.value}. Space when the shot is in the can."
    return "Space when the shot is in the can."


def cue_lines(plan: ShootPlan, state: ShootState) -> list[str]:
    """Camera cues of the present set-up, and cues that do not go together."""
    item = present_set_up(plan, state)
    if item is None:
        return []
    return [f"Camera: {'; '.join(item.cues.cues)}", *(f"! {clash}" for clash in item.cues.conflicts)]


def points_in_order(plan: ShootPlan, state: ShootState) -> tuple[Point, ...]:
    """Points of every piece not said yet: those that are lost next first, those given up with a reason last."""
    left = [point for point in plan.points if point.id not in state.said]
    lost = lost_at(plan, state)
    last = len(plan.order.steps)
    return tuple(sorted(left, key=lambda point: (point.id in state.given_up, lost.get(point.id, last))))


def lost_at(plan: ShootPlan, state: ShootState) -> dict[str, int]:
    """By point id the step of the run order after which it can be shown no more; none of a piece that is boxed."""
    found: dict[str, int] = {}
    for at, step in enumerate(plan.order.steps):
        if step.touch is None or at in state.taken:
            continue
        coming = [s.touch for n, s in enumerate(plan.order.steps) if n >= at and s.piece == step.piece and s.touch]
        shown = {touch for touch in coming if not touch.leaves_boxed}
        for point in plan.points:
            over = step.touch.leaves_boxed or (point.phases and not shown & {*point.phases})
            if point.piece == step.piece and over:
                found.setdefault(point.id, at)
    return found


def lost_lines(found: Gate, book: Book, *, named: bool = False) -> list[str]:
    """What a touch takes away, a line each; with the short name of its piece if asked."""
    lines = [(shot.piece, f"to film  {shot.words}") for shot in found.shots]
    lines += [(point.piece, f"to say   {point.text}") for point in found.points]
    return [f"{text} ({short_name(book.piece(piece))})" if named else text for piece, text in lines]


def unsaid_line(book: Book, points: Sequence[Point], under: str, state: ShootState) -> str:
    """What is unsaid, in one line: the point under the cursor, and how many more there are."""
    left = [point for point in points if point.id not in state.given_up and point.id not in state.said]
    if not left:
        return "Everything is said."
    now = next((point for point in left if point.id == under), left[0])
    others = f"{words.count(len(left), 'point')} unsaid" if len(left) > 1 else "the last one unsaid"
    return f"Say, {short_name(book.piece(now.piece))}: {now.text}  ({others})"


def day_rows(day: Daylight, now: datetime, zone: str) -> Rows:
    """The daylight clock as label and value."""
    rows = [("! no sun today", "")] if day.sunless else []
    if day.end is DayEnd.NEVER_DOWN:
        return [("sun up all night", "")]
    if day.at is None:
        return rows
    left = day.seconds_left(now)
    what = "sun down" if day.end is DayEnd.SUNSET else "filming ends"
    if left <= 0:
        return [*rows, (f"! {what}", f"since {day.at.astimezone(zone_or_utc(zone)):%H:%M}")]
    return [*rows, (f"{what} in", f"{ceil(left / 60):,} min")]


def clock_rows(
    book: Book,
    plan: ShootPlan,
    state: ShootState,
    light: Sequence[Light],
    day: Rows,
) -> Rows:
    """Clocks as label and value.

    Args:
        book: the book.
        plan: the plan of the shoot.
        state: how it stands.
        light: the light left for the pieces that are out.
        day: the daylight clock.
    """
    rows = [("take", clock_words(state.clocks.take)), ("session", clock_words(state.clocks.session))]
    cap = book.house.shoot_cap_minutes * 60
    if cap and state.clocks.session >= cap:
        rows.append(("! rest", f"{clock_words(cap)} is the most"))
    for id, seconds in state.clocks.on_form.items():
        piece = book.piece(id)
        limit = piece.handling.form_minutes
        value = clock_words(seconds) + (f" of {limit}:00" if limit is not None else "")
        over = limit is not None and seconds >= limit * 60
        rows.append((f"{'! ' if over else ''}form {short_name(piece)}", value))
    rows += day
    rows.append(("light", f"{state.lux:,} lux" + ("" if state.measured else "?")))
    for item in light:
        name = short_name(book.piece(item.piece))
        rows.append(
            (f"{'! ' if item.used_up else ''}{name}", "used up" if item.used_up else f"{item.minutes_left:,} min left")
        )
    touched = [(book.piece(id), state.touches[id]) for id in plan.pieces if state.touches.get(id)]
    return rows + [(short_name(piece), words.count(times, "touch")) for piece, times in touched]


def step_line(book: Book, step: Step, at: int, state: ShootState) -> str:
    """A step of the run order with a mark: done, next, or still to come."""
    if step.shot:
        line = state.settled.get(step.shot.id)
        mark = {LogKind.DONE: "✓", LogKind.SKIPPED: "–", LogKind.IN_WORDS: "“"}[line.kind] if line else " "
        text = shot_line(book, step.shot)
        if step.shot.id in state.tries:
            mark, text = "?", f"{text} (not legible)"
    else:
        mark = "✓" if at in state.taken else " "
        text = f"→ {touch_words(step, book.piece(step.piece))}"
    return f"{'▸' if at == state.next.at else ' '}{mark} {text}"
