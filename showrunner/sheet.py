"""The set-up sheet of a shoot: as plain text, and as one HTML page that prints on A4 and Letter."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from showrunner.domain import sides, words
from showrunner.domain.book import Book
from showrunner.domain.house import HouseRules
from showrunner.domain.piece import Piece, View
from showrunner.domain.shoot import LogLine, Touch
from showrunner.page import Paper, fields, page, room, section, text
from showrunner.planning.cautions import LAST_WORD, Caution
from showrunner.planning.gates import Gate
from showrunner.planning.light import light_words
from showrunner.planning.pickups import offered
from showrunner.planning.run_order import Step
from showrunner.planning.run_time import clock_words
from showrunner.planning.shoot_plan import Fit, SetUp, ShootPlan, padding_words
from showrunner.planning.shooting import last_known
from showrunner.planning.shots import Shot, views_of
from showrunner.report import WIDTH, bullets, clip, heading, wrap

VERBS = {
    Touch.LIFT: "Lift out and cover",
    Touch.LAY: "Lay out",
    Touch.TURN: "Turn over",
    Touch.OPEN: "Open",
    Touch.DRESS: "Dress on its form",
    Touch.BOX: "Back into its box",
}
"""Each touch as something to do."""
BEFORE = {
    Touch.LIFT: "lifting out",
    Touch.LAY: "laying out",
    Touch.TURN: "turning",
    Touch.OPEN: "opening",
    Touch.DRESS: "dressing",
    Touch.BOX: "boxing",
}
"""Each touch as something about to happen."""


def touch_words(step: Step, piece: Piece, fit: Fit | None = None) -> str:
    """A touch, or a piece set aside, as something to do.

    Args:
        step: the touch.
        piece: its piece.
        fit: the form it is dressed on.
    """
    if step.aside:
        return f"Cover and set aside on its board: {piece.name}"
    assert step.touch is not None
    layer = f", layer {piece.layer}" if piece.layer else ""
    if step.touch is Touch.LAY and piece.box:
        return f"Lay out: {piece.name}, from box {piece.box}{layer}"
    if step.touch is Touch.LIFT:
        return f"Lift out and cover on its board: {piece.name}, from box {piece.box}{layer}"
    if step.touch is Touch.BOX and piece.box:
        return f"Back into box {piece.box}: {piece.name}"
    if step.touch is Touch.DRESS and fit:
        return f"Dress: {piece.name} on {fit_words(fit)}"
    return f"{VERBS[step.touch]}: {piece.name}"


def _touch_of(step: Step, book: Book, plan: ShootPlan) -> str:
    """A touch of the plan in words."""
    fit = next((fit for fit in plan.fits if fit.piece == step.piece), None)
    return touch_words(step, book.piece(step.piece), fit)


def fit_words(fit: Fit) -> str:
    """A form and the padding on it."""
    if fit.padding is None:
        return f"the {fit.form}"
    girth = words.number(Fraction(fit.padding.form_cm))
    return f"the {fit.form} ({fit.padding.by} {girth} cm): {padding_words(fit.padding)}"


def shot_words(shot: Shot, book: Book) -> str:
    """A shot with its piece or pieces."""
    name = book.piece(shot.piece).name
    return f"{name} beside {book.piece(shot.beside).name}: {shot.words}" if shot.beside else f"{name}: {shot.words}"


def side_words(shot: Shot, book: Book) -> str:
    """Where a detail on one side of the wearer is in the picture, as ` (right in the picture)`; nothing otherwise."""
    side = sides.in_picture(shot.where, _seen_in(shot, book.piece(shot.piece), book.house))
    return f" ({side} in the picture)" if side else ""


SHOWS = {Touch.LAY: View.FLAT_FACE, Touch.TURN: View.FLAT_REVERSE}
"""What a piece that lies shows by the touch that laid it so."""


def _seen_in(shot: Shot, piece: Piece, house: HouseRules) -> View | None:
    """The view in which a detail is filmed: that of its feature, or flat where that view is left out."""
    view = next((f.view for f in piece.features if (f.what, f.where) == (shot.feature, shot.where)), None)
    phases = {place.phase for way in shot.ways for place in way.needs}
    touches = {seen.view: seen.touch for seen in views_of(piece, house)[0]}
    if view is None or view is View.DETAIL or len(phases) != 1:
        return None
    phase = phases.pop()
    return view if touches.get(view) is phase else SHOWS.get(phase)


def caution_words(caution: Caution, book: Book) -> str:
    """A caution with the pieces it is for, and its source."""
    names = words.listing([book.piece(id).name for id in caution.pieces])
    named = f"{names}: " if names and not caution.text.startswith(names) else ""
    differs = "Advice differs. " if caution.against else ""
    return f"{named}{differs}{caution.text} [{caution.source}]"


def summary(plan: ShootPlan) -> list[str]:
    """What the shoot is, and what its order saves, in a few sentences."""
    details = len(plan.shots) - len(plan.required)
    order = plan.order
    cameras = words.listing([camera.value for camera in plan.cameras])
    lines = [
        f"{words.count(len(plan.pieces), 'piece')}, {words.count(len(plan.required), 'required view')}, "
        f"{words.count(details, 'detail')}, {words.count(len(plan.points), 'point')} to say; "
        f"run time about {clock_words(plan.run_seconds)}{_ratio(plan)}.",
        f"{_effort(order.touches, order.set_ups)}; proven: no order has fewer touches, nor with as few touches fewer "
        f"set-ups. In catalogue order: {_effort(plan.catalogue_touches, plan.catalogue_set_ups)}.",
        f"The required views need {words.count(len(plan.cameras), 'place')} of the camera: {cameras}.",
    ]
    batch = plan.batch
    if len(plan.studies) > 1:
        lines.append(
            f"Together they take {words.hours(batch.together_minutes)} of the {words.hours(batch.cap_minutes)} that "
            f"you film in a day; {words.hours(batch.saved_minutes)} of rigging are saved against "
            f"{len(plan.studies)} shoots."
        )
    return lines


def _effort(touches: int, set_ups: int) -> str:
    return f"{words.count(touches, 'touch')} and {words.count(set_ups, 'set-up')}"


def _ratio(plan: ShootPlan) -> str:
    time = plan.run_times[0][1]
    return f" (corrected by {words.number(time.ratio)} from {time.episodes} past episodes)" if time.ratio != 1 else ""


def sheet(book: Book, plan: ShootPlan) -> str:
    """The set-up sheet as plain text, 80 columns wide."""
    names = {id: book.piece(id).name for id in plan.pieces}
    parts = [wrap(f"Shoot: {plan.title}"), "", *(wrap(line) for line in summary(plan)), ""]
    parts += ["   ".join(f"{name} {'_' * 11}" for name in ASKED), ""]
    if plan.warnings:
        parts += [heading("Warnings"), bullets([w.text for w in plan.warnings]), ""]
    parts += [heading("Before a box is opened"), bullets([caution_words(c, book) for c in plan.cautions])]
    parts += [wrap(LAST_WORD), ""]
    if along := offered(book, plan.pieces):
        parts += [heading(ALONG), *(wrap(along_words(book, line), *TEXT_MARKS["tick"]) for line in along), ""]
    parts.append(heading("Condition before"))
    for id in plan.pieces:
        parts += [wrap(f"{names[id]}: {condition_words(book.piece(id))}"), f"  [ ] {SAME}", *LINES, ""]
    parts.append(heading("Light this year"))
    parts += [bullets([light_words(item, names[item.piece]) for item in plan.light]), ""]
    for item in plan.set_ups:
        parts += [heading(f"Set-up {item.number}: {item.camera.value}"), wrap(f"Camera: {'; '.join(item.cues.cues)}.")]
        parts += [wrap(f"These do not go together. {clash}.", "  ", "! ") for clash in item.cues.conflicts]
        parts += [wrap(line, *TEXT_MARKS[kind]) for kind, line in _rows(item, book, plan)]
        parts += [*LINES, BREAK, ""]
    for id in plan.pieces:
        parts.append(heading(clip(f"To say of {names[id]}", WIDTH)))
        for point in plan.points:
            if point.piece == id:
                parts.append(wrap(point.text, *TEXT_MARKS["tick"]))
        parts += [*LINES, ""]
    parts += [heading("After"), *(f"  [ ] {line}" for line in AFTERWARDS), *LINES]
    return "\n".join(parts)


ASKED = ("Day", "Lux", "Begun", "Ended")
"""What is filled in at the head of the sheet."""
SAME = "as before; if not, what changed:"
"""What the condition is asked as."""
ALONG = "To be mended with this opening"
"""Head of the pickups of earlier shoots that this one can take along."""
TICKS_STAY = (
    "Ticks stay on this phone and are gone when the page is closed: put what was done into the book afterwards."
)
"""What the page says of its boxes."""
LINES = ("", "  " + "_" * 76, "", "  " + "_" * 76)
"""Room to write on the plain sheet."""
BREAK = "- " * 39 + "-"
"""Where the plain sheet may be cut."""
AFTERWARDS = (
    "condition of each piece written down again, place by place",
    "every piece back in its box, nothing left on table or form",
    "lux measured, lamps off",
)
"""What is left when the last piece is boxed."""


def condition_words(piece: Piece) -> str:
    """The condition last known of a piece, place by place."""
    known = [f"{entry.place}: {entry.text} ({words.short_day(entry.day)})" for entry in last_known(piece)]
    return f"last known: {'; '.join(known)}" if known else "none on record yet"


def along_words(book: Book, line: LogLine) -> str:
    """A pickup of an earlier shoot: its remedy, the piece, and what is missing."""
    return f"{line.remedy}: {book.piece(line.piece).name}, {line.text}"


def gate_words(gate: Gate) -> str:
    """What can only be seen or said now."""
    parts = []
    if gate.shots:
        parts.append(f"only now to be seen: {'; '.join(shot.words for shot in gate.shots)}")
    if gate.points:
        told = "; ".join(point.text for point in gate.points)
        parts.append(f"{'To' if parts else 'to'} be said: {told}")
    return ". ".join(parts)


TEXT_MARKS = {"tick": ("      ", "  [ ] "), "touch": ("      ", "  --> "), "gate": ("    ", "  | ")}
"""Indent and first mark of each kind of row on the plain sheet; the page has a class for each."""


def _rows(item: SetUp, book: Book, plan: ShootPlan) -> Iterator[tuple[str, str]]:
    """What is done in a set-up, each row with its kind: a shot to tick, a touch, and the gate before it."""
    gates = {(gate.piece, gate.touch): gate for gate in plan.gates if not gate.clear}
    for step in item.steps:
        if step.shot:
            yield "tick", shot_words(step.shot, book) + side_words(step.shot, book)
            continue
        gate = gates.get((step.piece, step.touch)) if step.touch else None
        if gate:
            yield "gate", f"Before {BEFORE[gate.touch]} {book.piece(gate.piece).name}: {gate_words(gate)}."
        yield "touch", _touch_of(step, book, plan)


# HTML


def html(book: Book, plan: ShootPlan, paper: Paper = Paper.ANY) -> str:
    """The set-up sheet as one HTML page with nothing outside it; all text of the user is escaped.

    Args:
        book: the book.
        plan: the plan of the shoot.
        paper: what it is printed on.
    """
    names = {id: book.piece(id).name for id in plan.pieces}
    out = [
        f"<h1>{text(plan.title)}</h1>",
        f'<p class="screen warning">{text(TICKS_STAY)}</p>',
        *(f"<p>{text(line)}</p>" for line in summary(plan)),
        fields(*ASKED),
    ]
    if plan.warnings:
        out += section("Warnings", [("note warning", text(w.text)) for w in plan.warnings])
    told = [("tick", _caution(caution, book)) for caution in plan.cautions]
    out += section("Before a box is opened", told, f'<p class="warning">{text(LAST_WORD)}</p>')
    if along := offered(book, plan.pieces):
        out += section(ALONG, [("tick", text(along_words(book, line))) for line in along])
    before = [(names[id], text(condition_words(book.piece(id)))) for id in plan.pieces]
    asked = "".join(
        f'<div class="keep"><h3>{text(name)}</h3><p>{told}</p>{fields(SAME)}{room(2)}</div>' for name, told in before
    )
    out += section("Condition before", [], asked)
    light = [("note", text(light_words(item, names[item.piece]))) for item in plan.light]
    out += section("Light this year", light)
    for item in plan.set_ups:
        rows = [("tick touch" if kind == "touch" else kind, text(line)) for kind, line in _rows(item, book, plan)]
        head = f'<p class="cues">{text("; ".join(item.cues.cues))}.</p>'
        head += "".join(f'<p class="clash">! {text(clash)}.</p>' for clash in item.cues.conflicts)
        title = f"Set-up {item.number}: {item.camera.value}"
        out += section(title, rows, fields("Lux") + room(4), before=head, kind="set-up")
    for number, id in enumerate(plan.pieces):
        points = [("tick", text(point.text)) for point in plan.points if point.piece == id]
        out += section(f"To say of {names[id]}", points, room(2), kind="" if number else "set-up")
    out += section("After", [("tick", text(line)) for line in AFTERWARDS], room(6))
    return page(f"Set-up sheet: {plan.title}", out, paper)


def _caution(caution: Caution, book: Book) -> str:
    told, _, source = caution_words(caution, book).rpartition(" [")
    return f'{text(told)} <span class="source">{text(source.removesuffix("]"))}</span>'
