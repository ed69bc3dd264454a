"""The set-up sheet of a shoot: as plain text, and as one HTML page that prints on A4 and Letter."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from html import escape

from showrunner.domain import sides, words
from showrunner.domain.book import Book
from showrunner.domain.house import HouseRules
from showrunner.domain.piece import Piece, View
from showrunner.domain.shoot import Touch
from showrunner.planning.cautions import LAST_WORD, Caution
from showrunner.planning.gates import Gate
from showrunner.planning.light import light_words
from showrunner.planning.run_order import Step
from showrunner.planning.run_time import clock_words
from showrunner.planning.shoot_plan import Fit, SetUp, ShootPlan, padding_words
from showrunner.planning.shots import Shot, views_of
from showrunner.report import WIDTH, bullets, clean, clip, heading, wrap

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
    if plan.warnings:
        parts += [heading("Warnings"), bullets([w.text for w in plan.warnings]), ""]
    parts += [heading("Before a box is opened"), bullets([caution_words(c, book) for c in plan.cautions])]
    parts += [wrap(LAST_WORD), "", heading("Light this year")]
    parts += [bullets([light_words(item, names[item.piece]) for item in plan.light]), ""]
    for item in plan.set_ups:
        parts += [heading(f"Set-up {item.number}: {item.camera.value}"), wrap(f"Camera: {'; '.join(item.cues.cues)}.")]
        parts += [wrap(f"These do not go together. {clash}.", "  ", "! ") for clash in item.cues.conflicts]
        parts += [wrap(text, *TEXT_MARKS[kind]) for kind, text in _rows(item, book, plan)]
        parts.append("")
    for id in plan.pieces:
        parts.append(heading(clip(f"To say of {names[id]}", WIDTH)))
        for point in plan.points:
            if point.piece == id:
                parts.append(wrap(point.text, "      ", "  [ ] "))
        parts.append("")
    parts += [heading("After"), *(f"  [ ] {line}" for line in AFTERWARDS)]
    return "\n".join(parts)


AFTERWARDS = (
    "condition of each piece written down again, place by place",
    "every piece back in its box, nothing left on table or form",
    "lux measured, lamps off",
)
"""What is left when the last piece is boxed."""


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

STYLE = """
@page { margin: 14mm; }
* { box-sizing: border-box; }
body { font: 10.5pt/1.4 Georgia, "DejaVu Serif", serif; color: #2b2620; }
body { max-width: 44em; margin: 2em auto; padding: 0 1em; }
h1 { font-size: 17pt; margin: 0 0 .3em; line-height: 1.2; overflow-wrap: anywhere; }
h2 { font-size: 12pt; border-bottom: .5pt solid #8a7f6a; margin: 1.3em 0 .4em; padding-bottom: .15em; }
h2, h3 { break-after: avoid; }
p { margin: .3em 0; }
ul { list-style: none; margin: 0; padding: 0; }
li { padding: .12em 0 .12em 1.7em; text-indent: -1.7em; break-inside: avoid; overflow-wrap: anywhere; }
li::before { display: inline-block; width: 1.7em; text-indent: 0; }
li.tick::before { content: "\\2610"; }
li.note::before { content: "\\2013"; }
li.touch { font-weight: bold; padding-top: .35em; }
li.touch::before { content: "\\2192"; }
li.gate { border-left: 1.5pt solid #2b2620; margin: .4em 0 0 1.7em; padding-left: .6em; text-indent: 0; }
li.gate { font-style: italic; break-after: avoid; }
li.gate::before { content: none; }
.cues { color: #4d453a; break-inside: avoid; break-after: avoid; }
.clash, .warning { font-weight: bold; }
.source { color: #5b5347; font-size: 9pt; }
section { break-inside: auto; }
.fields { display: flex; gap: 2em; margin: .8em 0; }
.fields span { flex: 1; border-bottom: .5pt solid #2b2620; padding-bottom: .2em; }
@media print { body { margin: 0; max-width: none; padding: 0; } }
"""


def html(book: Book, plan: ShootPlan) -> str:
    """The set-up sheet as one HTML page with nothing outside it; all text of the user is escaped."""
    names = {id: book.piece(id).name for id in plan.pieces}
    out = [
        "<!DOCTYPE html>",
        '<html lang="en"><head><meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>Set-up sheet: {_text(plan.title)}</title><style>{STYLE}</style></head><body>",
        f"<h1>{_text(plan.title)}</h1>",
        *(f"<p>{_text(line)}</p>" for line in summary(plan)),
        '<div class="fields"><span>Day</span><span>Begun at</span><span>Lux</span><span>Ended at</span></div>',
    ]
    if plan.warnings:
        out += _section("Warnings", [("note warning", _text(w.text)) for w in plan.warnings])
    told = [("tick", _caution(caution, book)) for caution in plan.cautions]
    out += _section("Before a box is opened", told, f'<p class="warning">{_text(LAST_WORD)}</p>')
    light = [("note", _text(light_words(item, names[item.piece]))) for item in plan.light]
    out += _section("Light this year", light)
    for item in plan.set_ups:
        rows = [(kind, _text(text)) for kind, text in _rows(item, book, plan)]
        head = f'<p class="cues">{_text("; ".join(item.cues.cues))}.</p>'
        head += "".join(f'<p class="clash">! {_text(clash)}.</p>' for clash in item.cues.conflicts)
        out += _section(f"Set-up {item.number}: {item.camera.value}", rows, before=head)
    for id in plan.pieces:
        points = [("tick", _text(point.text)) for point in plan.points if point.piece == id]
        out += _section(f"To say of {names[id]}", points)
    out += _section("After", [("tick", _text(line)) for line in AFTERWARDS])
    out.append("</body></html>")
    return "\n".join(out) + "\n"


def _section(title: str, rows: list[tuple[str, str]], after: str = "", *, before: str = "") -> list[str]:
    items = "\n".join(f'<li class="{kind}">{text}</li>' for kind, text in rows)
    return [f"<section><h2>{_text(title)}</h2>{before}", f"<ul>{items}</ul>{after}</section>"]


def _caution(caution: Caution, book: Book) -> str:
    text, _, source = caution_words(caution, book).rpartition(" [")
    return f'{_text(text)} <span class="source">{_text(source.removesuffix("]"))}</span>'


def _text(text: str) -> str:
    """User text as HTML: no markup, nothing that a browser or printer would obey."""
    return escape(clean(text))
