"""The plan of a shoot: everything to do, say and heed, in the order that touches the pieces least."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from fractions import Fraction

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.country import country_of
from showrunner.domain.episode import Episode, EpisodeKind, Stage
from showrunner.domain.house import HouseRules
from showrunner.domain.kinds import Held
from showrunner.domain.piece import Piece
from showrunner.domain.record import record
from showrunner.domain.shoot import Camera
from showrunner.domain.titles import quoted
from showrunner.errors import BadInput
from showrunner.planning.cautions import Caution, cautions_for
from showrunner.planning.cues import Cues, merge, spread_warning
from showrunner.planning.forms import Padding, fitting, held_of, padding_on
from showrunner.planning.gates import Gate, gates_of
from showrunner.planning.light import Light, light_of, light_words, touches_in
from showrunner.planning.points import Point, points_of
from showrunner.planning.results import Warning
from showrunner.planning.run_order import CannotRun, Handled, RunOrder, Step, best_order, catalogue_order
from showrunner.planning.run_time import RunTime, run_time
from showrunner.planning.shots import Refused, Shot, kind_of_piece, opens_of, shots_of

FRAGILE_WEIGHT = 2
"""What a touch of a piece counts that needs a board or two people, stays flat, or is never turned or hung."""


@record
class SetUp:
    """One place of the camera, with what is done and filmed from it before it moves on."""

    number: int
    """1 for the first."""
    camera: Camera
    """Where it stands."""
    steps: tuple[Step, ...]
    """Touches and shots, in order; touches before the first shot belong to it too."""
    cues: Cues
    """Camera cues for the pieces in it."""

    @property
    def shots(self) -> tuple[Shot, ...]:
        """The shots, in order."""
        return tuple(step.shot for step in self.steps if step.shot)


@record
class Fit:
    """A piece on the form it is dressed on."""

    piece: str
    """Id of the piece."""
    form: str
    """Name of the form."""
    padding: Padding | None
    """What is padded, and by how much; None for a head stand."""


@record
class Batch:
    """What filming several studies in one shoot saves, and whether a day holds it."""

    minutes: int
    """Minutes of filming of all studies, each by itself."""
    saved_minutes: int
    """Rigging that is not done again."""
    cap_minutes: int
    """Most minutes of filming in a day."""

    @property
    def together_minutes(self) -> int:
        """Minutes of the shoot."""
        return self.minutes - self.saved_minutes


@record
class ShootPlan:
    """Everything about a shoot before it begins."""

    studies: tuple[str, ...]
    """Ids of the studies."""
    title: str
    """Their titles."""
    pieces: tuple[str, ...]
    """Ids of the pieces, in book order."""
    shots: tuple[Shot, ...]
    """All shots in catalogue order."""
    refused: tuple[Refused, ...]
    """Views left out, and what is done instead."""
    points: tuple[Point, ...]
    """All points, piece by piece."""
    order: RunOrder
    """The run order, proven."""
    set_ups: tuple[SetUp, ...]
    """The run order by set-ups."""
    gates: tuple[Gate, ...]
    """What to look at before each touch that takes a view away, in run order."""
    cautions: tuple[Caution, ...]
    """Cautions to acknowledge before the first touch."""
    fits: tuple[Fit, ...]
    """Forms used."""
    light: tuple[Light, ...]
    """Light of each piece."""
    run_times: tuple[tuple[str, RunTime], ...]
    """Run time of each study, by its id."""
    catalogue_touches: int
    """Touches of filming in catalogue order."""
    catalogue_set_ups: int
    """Set-ups of filming in catalogue order."""
    batch: Batch
    """Hours, and what filming together saves."""
    warnings: tuple[Warning, ...]
    """What to know."""

    @property
    def required(self) -> tuple[Shot, ...]:
        """The required views: all shots but details."""
        return tuple(shot for shot in self.shots if not shot.is_detail)

    @property
    def cameras(self) -> tuple[Camera, ...]:
        """Places the camera stands in for the required views, in order of first use."""
        used = [s.camera for s in self.order.steps if s.shot and not s.shot.is_detail and s.camera]
        return tuple(dict.fromkeys(used))

    @property
    def run_seconds(self) -> int:
        """Run time of all its studies together, seconds."""
        return sum(time.seconds for _, time in self.run_times)


def plan_shoot(
    book: Book,
    studies: Sequence[str],
    today: date,
    *,
    lux: int | None = None,
    seconds: int | None = None,
    shoot: str = "",
) -> ShootPlan:
    """Plan the shoot of one study or of several.

    Args:
        book: the book.
        studies: ids of the studies.
        today: the day of the shoot; its year is that of the light.
        lux: light on the pieces; None for the lamps of the house.
        seconds: time each piece is under it; None for the hours of the shoot.
        shoot: id of the shoot if it is going on already, so that its own light counts once.

    Raises:
        UnknownThing: there is no such study, or a piece of it is not in the book.
        BadInput: it is no study, shows no piece, a piece has no view that may be filmed, the tables do not do,
            or a day does not hold the studies together.
    """
    chosen = [_study(book, id) for id in dict.fromkeys(studies)]
    if not chosen:
        raise BadInput("no study is named", "shoot", "name one")
    house = book.house
    pieces = [book.piece(id) for id in dict.fromkeys(id for study in chosen for id in study.pieces)]
    found = shots_of([[book.piece(id) for id in study.pieces] for study in chosen], house)
    for piece in pieces:
        _must_have_a_view(piece, found.shots, found.refused)
    batch = _batch(book, chosen, found.shots)
    handled = _handled(pieces, book)
    order = _order(pieces, handled, found.shots, book)
    points = tuple(point for piece in pieces for point in points_of(piece, found.views[piece.id]))
    by_id = {piece.id: piece for piece in pieces}
    time = batch.minutes * 60 if seconds is None else seconds
    level = house.lamp_lux if lux is None else lux
    light = tuple(light_of(piece, house, today.year, level, time, without=shoot) for piece in pieces)
    views = [shot.view for shot in found.shots]
    fits = _fits(order, by_id, house)
    return ShootPlan(
        tuple(study.id for study in chosen),
        words.listing([quoted(study.title) for study in chosen]),
        tuple(by_id),
        found.shots,
        found.refused,
        points,
        order,
        _set_ups(order, by_id),
        gates_of(order, found.shots, points),
        cautions_for(pieces, views, country_of(house.zone)),
        fits,
        light,
        tuple((study.id, _run_time(book, study, points, found.shots)) for study in chosen),
        *catalogue_order(handled, found.shots),
        batch,
        _warnings(pieces, found.shots, found.refused, light, batch, house, today, shoot, order, fits),
    )


def _study(book: Book, id: str) -> Episode:
    study = book.episode(id)
    if study.kind is not EpisodeKind.STUDY:
        raise BadInput("it is filler and has no pieces to film", quoted(study.title), "choose a study")
    if not study.pieces:
        raise BadInput("it shows no piece", quoted(study.title), "put a piece into it first")
    return study


def _must_have_a_view(piece: Piece, shots: Sequence[Shot], refused: Sequence[Refused]) -> None:
    if any(piece.id in (shot.piece, shot.beside) for shot in shots):
        return
    why = words.listing([f"{r.view.value} ({r.why})" for r in refused if r.piece == piece.id]) or "it has none"
    raise BadInput(
        f"no view of it may be filmed: {why}", piece.name, "change its limits or the standard views, or take it out"
    )


def _handled(pieces: Sequence[Piece], book: Book) -> list[Handled]:
    """The pieces that are filmed as the run order sees them."""
    house, found = book.house, []
    for piece in pieces:
        forms = fitting(piece, held_of(piece, kind_of_piece(piece, house)), house)
        paddings = [padding_on(piece, house.forms[form], house) for form in forms]
        millimetres = tuple(int(padding.girth_cm * 10) if padding else 0 for padding in paddings)
        above = tuple(other.id for other in lying_on(piece, book.pieces))
        found.append(Handled(piece.id, _weight(piece), forms, millimetres, opens_of(piece, house), above))
    return found


def lying_on(piece: Piece, pieces: Iterable[Piece]) -> tuple[Piece, ...]:
    """What lies on top of a piece in its box, the top one first; nothing if its layer is not known."""
    if not piece.box or piece.layer is None:
        return ()
    over = [p for p in pieces if p.box == piece.box and p.is_here and p.layer and p.layer > piece.layer]
    return tuple(sorted(over, key=lambda p: -(p.layer or 0)))


def _others(pieces: Sequence[Piece], lying: Sequence[Piece]) -> list[Handled]:
    """The pieces that are not filmed and have to be lifted out for those that are."""
    filmed = {piece.id for piece in pieces}
    over = {other.id: other for piece in pieces for other in lying_on(piece, lying) if other.id not in filmed}
    return [
        Handled(other.id, _weight(other), above=tuple(one.id for one in lying_on(other, lying)))
        for other in over.values()
    ]


def _top_first(pieces: Sequence[Piece]) -> list[Piece]:
    """The pieces in the order in which they come out most easily: box by box, the top layer first."""
    boxes = list(dict.fromkeys(piece.box for piece in pieces))
    return sorted(pieces, key=lambda piece: (boxes.index(piece.box), -(piece.layer or 0)))


def _weight(piece: Piece) -> int:
    """What one touch of the piece counts."""
    return FRAGILE_WEIGHT if piece.handling.is_fragile else 1


def _order(pieces: Sequence[Piece], handled: Sequence[Handled], shots: Sequence[Shot], book: Book) -> RunOrder:
    of = {one.id: one for one in handled}
    top_first = [of[piece.id] for piece in _top_first(pieces)]
    try:
        return best_order(top_first, shots, tables=book.house.tables, others=_others(pieces, book.pieces))
    except CannotRun as error:
        names = words.listing([piece.name for piece in pieces])
        way_out = "film fewer pieces at once, or change tables and forms in the house rules"
        raise BadInput(str(error), names, way_out) from error


def _set_ups(order: RunOrder, pieces: dict[str, Piece]) -> tuple[SetUp, ...]:
    """Cut the order where the camera moves; touches go with the shot after them."""
    parts: list[tuple[Camera, list[Step]]] = []
    waiting: list[Step] = []
    for step in order.steps:
        waiting.append(step)
        if step.camera is None:
            continue
        if not parts or parts[-1][0] is not step.camera:
            parts.append((step.camera, []))
        parts[-1][1].extend(waiting)
        waiting = []
    if parts:
        parts[-1][1].extend(waiting)
    found = []
    for number, (camera, steps) in enumerate(parts, 1):
        there = dict.fromkeys(id for s in steps if s.shot for id in (s.shot.piece, s.shot.beside) if id)
        found.append(SetUp(number, camera, tuple(steps), merge(pieces[id] for id in there)))
    return tuple(found)


def _fits(order: RunOrder, pieces: dict[str, Piece], house: HouseRules) -> tuple[Fit, ...]:
    found = []
    for step in order.steps:
        if step.form is not None:
            form = house.forms[step.form]
            found.append(Fit(step.piece, form.name, padding_on(pieces[step.piece], form, house)))
    return tuple(found)


def _batch(book: Book, studies: Sequence[Episode], shots: Sequence[Shot]) -> Batch:
    """What one shoot of several studies saves: each place of the camera is rigged once and not once for each.

    Raises:
        BadInput: a day of filming does not hold them together.
    """
    house = book.house
    alone = [{shot.ways[0].camera for shot in shots if shot.piece in study.pieces} for study in studies]
    rigged = sum(map(len, alone)) - len(set().union(*alone))
    minutes = sum(book.stages_of(study).of(Stage.SHOOT) for study in studies)
    batch = Batch(minutes, min(minutes, rigged * house.rig_minutes), house.shoot_cap_minutes)
    over = batch.together_minutes - batch.cap_minutes
    if over > 0 and len(studies) > 1:
        names = words.listing([quoted(study.title) for study in studies])
        raise BadInput(
            f"together they take {words.hours(batch.together_minutes)}, {words.hours(over)} more than you film in a "
            f"day ({words.hours(batch.cap_minutes)})",
            names,
            "film them on two days, or change the house rules",
        )
    return batch


def _run_time(book: Book, study: Episode, points: Sequence[Point], shots: Sequence[Shot]) -> RunTime:
    spoken = [point.text for point in points if point.piece in study.pieces]
    holds = sum(shot.piece in study.pieces and not shot.is_detail for shot in shots)
    past = [episode for episode in book.episodes if episode.id != study.id]
    return run_time(spoken, holds, book.house, past)


def _warnings(
    pieces: Sequence[Piece],
    shots: Sequence[Shot],
    refused: Sequence[Refused],
    light: Sequence[Light],
    batch: Batch,
    house: HouseRules,
    today: date,
    shoot: str,
    order: RunOrder,
    fits: Sequence[Fit],
) -> tuple[Warning, ...]:
    names = {piece.id: piece for piece in pieces}
    found = [Warning("view-refused", text) for text in refused_words(refused, names)]
    found += [Warning("light-limit", light_words(item, names[item.piece].name)) for item in light if item.exceeds_by]
    for piece in pieces:
        kind = kind_of_piece(piece, house)
        if kind is None:
            said = f"“{words.short(piece.kind)}” is no kind known here" if piece.kind else "it has no kind"
            text = f"{piece.name}: {said}, so it is filmed flat only; say in the Register what it is like (i)"
            found.append(Warning("kind-unknown", text))
        if held_of(piece, kind) is Held.HEAD and not any(fit.piece == piece.id for fit in fits):
            why = "it stays flat" if piece.handling.flat_only else "no head stand is owned"
            found.append(Warning("no-stand", f"{piece.name}: {why}, so it is filmed on a padded tray"))
        before = touches_in(piece, today.year, without=shoot)
        now = sum(step.touch is not None and step.piece == piece.id for step in order.steps)
        if house.touches_a_year and before + now > house.touches_a_year:
            text = (
                f"{piece.name}: {before + now} touches this year with this shoot, "
                f"{before + now - house.touches_a_year} more than the {house.touches_a_year} of the house rules"
            )
            found.append(Warning("touches", text))
    for fit in fits:
        if fit.padding and fit.padding.girth_cm > house.most_padding_cm:
            most = words.number(Fraction(house.most_padding_cm))
            text = (
                f"{names[fit.piece].name}: {padding_words(fit.padding)} on the {fit.form}, more than the {most} cm of "
                "the house rules; a form nearer its size would be better"
            )
            found.append(Warning("padding", text))
    pairs = {(shot.piece, shot.beside) for shot in shots if shot.beside}
    for one, two in sorted(pairs):
        if text := spread_warning((names[one], names[two])):
            found.append(Warning("light-spread", text))
    if batch.together_minutes > batch.cap_minutes:
        text = f"{words.hours(batch.together_minutes)} of filming are more than you film in a day"
        found.append(Warning("fatigue", f"{text} ({words.hours(batch.cap_minutes)})"))
    return tuple(found)


def padding_words(padding: Padding) -> str:
    """Padding in girth and in thickness (FORM-7: a layer of thickness t adds 2 pi t)."""
    thick = words.number(Fraction(padding.thickness_cm))
    return f"{words.number(Fraction(padding.girth_cm))} cm of padding in girth, about {thick} cm all round"


def refused_words(refused: Sequence[Refused], pieces: dict[str, Piece]) -> list[str]:
    """Views left out, those with one reason in one sentence."""
    together: dict[tuple[str, str], list[Refused]] = {}
    for item in refused:
        together.setdefault((item.piece, item.why), []).append(item)
    return [
        f"{pieces[piece].name}: no {words.listing([r.view.value for r in same])} ({why}); instead: "
        + "; ".join(dict.fromkeys(r.instead for r in same))
        for (piece, why), same in together.items()
    ]
