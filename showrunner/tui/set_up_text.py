"""What the Set-up says, as lines: pure text from the plan and the state of a shoot."""

from __future__ import annotations

from collections.abc import Sequence

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.piece import Piece
from showrunner.domain.shoot import LogKind, LogLine, Touch
from showrunner.planning.light import Light
from showrunner.planning.points import Point
from showrunner.planning.run_order import Step
from showrunner.planning.run_time import clock_words
from showrunner.planning.shoot_plan import SetUp, ShootPlan
from showrunner.planning.shooting import Now, ShootState, gate_now, next_remedy
from showrunner.planning.shots import Shot
from showrunner.sheet import side_words, touch_words

SHORT = 12
"""Letters of a short name."""


def short_name(piece: Piece) -> str:
    """The name in quotation marks within a name, or all of it: what one calls the piece at the table."""
    for opening, closing in (("“", "”"), ('"', '"')):
        _, _, rest = piece.name.partition(opening)
        if rest and closing in rest:
            return rest.partition(closing)[0]
    return piece.name


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
        return f"Condition of {short_name(piece)}", f"Space: write it down {when}."
    step = now.step
    assert step is not None
    if step.shot is None:
        fit = next((fit for fit in plan.fits if fit.piece == step.piece), None)
        return touch_words(step, piece, fit), touch_note(piece, plan, state, step.touch)
    return shot_line(book, step.shot) + side_words(step.shot, book), shot_note(book, plan, state, step.shot)


def touch_note(piece: Piece, plan: ShootPlan, state: ShootState, touch: Touch | None) -> str:
    """What to heed at a touch: people, and what is still open before it."""
    parts = []
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
    """Points not said yet: what can only be shown now first, then the rest of the piece, then other pieces."""
    piece = state.next.piece or (state.out[-1] if state.out else "")
    now = state.phase.get(piece)

    def rank(point: Point) -> int:
        if point.piece != piece:
            return 3
        if now in point.phases:
            return 0
        return 1 if not point.phases else 2

    left = [point for point in plan.points if point.id not in state.said]
    return tuple(sorted(left, key=rank))


def clock_rows(book: Book, plan: ShootPlan, state: ShootState, light: Sequence[Light]) -> list[tuple[str, str]]:
    """Clocks as label and value."""
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
    rows.append(("light", f"{state.lux:,} lux" + ("" if state.measured else "?")))
    for item in light:
        name = short_name(book.piece(item.piece))
        rows.append(
            (f"{'! ' if item.used_up else ''}{name}", "used up" if item.used_up else f"{item.minutes_left:,} min left")
        )
    touched = [(book.piece(id), state.touches[id]) for id in plan.pieces if state.touches.get(id)]
    return rows + [(short_name(piece), words.count(times, "touch")) for piece, times in touched]


def log_words(book: Book, line: LogLine, clock: str) -> str:
    """A line of the log in words."""
    name = short_name(book.piece(line.piece)) if line.piece else ""
    what = line.subject.partition("/")[2].removeprefix("say/") if line.subject else ""
    text = {
        LogKind.ACKNOWLEDGED: "cautions acknowledged",
        LogKind.TOUCHED: line.touch.value if line.touch else f"touched: {line.text}",
        LogKind.LUX: f"{line.lux} lux measured",
        LogKind.FOUND: f"found: {line.text}{f' ({line.confidence})' if line.confidence else ''}",
        LogKind.PICKUP: f"pickup, {line.remedy}: {line.text}",
        LogKind.CLOSED: "closed",
    }.get(line.kind, f"{line.kind.value}{f': {what}' if what else ''}")
    if line.kind in (LogKind.SKIPPED, LogKind.PASSED, LogKind.OVER_LIGHT, LogKind.CLOSED) and line.text:
        text = f"{text} ({line.text})"
    return f"{clock}  {f'{name}: ' if name else ''}{text}"


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
