"""Random shoots, and two judges that know the rules of the run order and nothing of the search.

Both are written from the rules alone: a piece is laid on its back, turned, opened on the side it opens on, perhaps
covered and set aside for good, dressed at the table, boxed; all flat and inside work of every piece before the first
dressing; no more pieces flat on tables than there are tables; one piece a form, and only on one that fits; a shot
needs its pieces in the right phase and its camera; nothing is moved in or out of a box under something else.
Touches count first, with their weights, then set-ups.
"""

from __future__ import annotations

import heapq
from dataclasses import replace
from itertools import count
from random import Random

from showrunner.domain.opening import Opens
from showrunner.domain.piece import View
from showrunner.domain.shoot import Camera, Touch
from showrunner.planning.run_order import Handled, RunOrder
from showrunner.planning.shots import Place, Shot, Way

FLAT = (Touch.LAY, Touch.TURN, Touch.OPEN)
Case = tuple[list[Handled], list[Shot], int, list[Handled]]


def random_case(seed: int, *, pieces: int, most_shots: int, boxed: bool = False) -> Case:
    """A random shoot: pieces, shots, tables, and what else lies in the boxes if they are `boxed`."""
    chance = Random(seed)
    forms = chance.randint(0, 2)
    handled = []
    for number in range(pieces):
        fitting = tuple(form for form in range(forms) if chance.random() < 0.8)
        opens = chance.choice(tuple(Opens))
        handled.append(Handled(f"p{number}", chance.choice((1, 1, 2)), fitting, (0,) * len(fitting), opens))
    shots: list[Shot] = []
    for number in range(chance.randint(2, most_shots)):
        piece = chance.choice(handled)
        phases = [*FLAT, *([Touch.DRESS] if piece.forms else [])]
        close = chance.random() < 0.4
        phase = chance.choice(phases)
        ways = [way((piece.id,), phase, close)]
        if chance.random() < 0.2 and piece.forms and phase is not Touch.DRESS:
            ways.append(way((piece.id,), Touch.DRESS, close))
        shots.append(Shot(f"s{number}", piece.id, View.DETAIL if close else View.FLAT_FACE, tuple(ways)))
    dressed = [piece for piece in handled if piece.forms]
    if len(dressed) >= 2 and forms == 2 and chance.random() < 0.6:
        one, two = chance.sample(dressed, 2)
        if len(set(one.forms) | set(two.forms)) == 2:
            pair = way((one.id, two.id), Touch.DRESS, False)
            shots.append(Shot("pair", one.id, View.SIDE_BY_SIDE, (pair,), beside=two.id))
    handled = [piece for piece in handled if any(piece.id in (shot.piece, shot.beside) for shot in shots)]
    others = [Handled(f"x{number}", chance.choice((1, 2))) for number in range(chance.randint(0, 2) if boxed else 0)]
    if boxed:
        handled, others = stacked(handled, others, chance)
    return handled, shots, chance.choice((1, 1, 2, 3)), others


def stacked(pieces: list[Handled], others: list[Handled], chance: Random) -> tuple[list[Handled], list[Handled]]:
    """The same pieces in one box, layer upon layer; two of one layer lie side by side."""
    layers = {piece.id: chance.randint(1, len(pieces) + len(others)) for piece in (*pieces, *others)}

    def placed(piece: Handled) -> Handled:
        above = [id for id in sorted(layers, key=lambda other: -layers[other]) if layers[id] > layers[piece.id]]
        return replace(piece, above=tuple(above))

    return [placed(piece) for piece in pieces], [placed(piece) for piece in others]


def way(pieces: tuple[str, ...], phase: Touch, close: bool) -> Way:
    camera = {
        (False, False): Camera.OVERHEAD,
        (False, True): Camera.OVERHEAD_CLOSE,
        (True, False): Camera.LEVEL,
        (True, True): Camera.LEVEL_CLOSE,
    }[phase is Touch.DRESS, close]
    return Way(tuple(Place(piece, phase) for piece in pieces), camera)


def replay(case: Case, order: RunOrder) -> tuple[int, int]:
    """Walk through a run order, hold it to every rule, and count its weighted touches and set-ups."""
    handled, shots, tables, others = case
    known = {piece.id: piece for piece in (*handled, *others)}
    filmed = {piece.id for piece in handled}
    where = dict.fromkeys(known, "box")
    side = dict.fromkeys(known, "")
    forms: dict[str, int] = {}
    taken: list[str] = []
    camera = None
    weighted = set_ups = 0
    dressing = False
    for step in order.steps:
        id = step.piece
        if step.touch:
            weighted += known[id].weight
            assert where[id] == "box" or step.touch not in (Touch.LAY, Touch.LIFT)
            if step.touch in (Touch.LAY, Touch.LIFT, Touch.BOX):
                assert all(where[over] != "box" for over in known[id].above), "something lies on it"
            if step.touch is Touch.LAY:
                assert id in filmed
                where[id], side[id] = "table", "face"
            elif step.touch is Touch.LIFT:
                where[id] = "board"
            elif step.touch is Touch.BOX:
                assert where[id] != "box"
                where[id], side[id] = "box", ""
                forms.pop(id, None)
            elif step.touch is Touch.DRESS:
                assert where[id] in ("table", "board"), "it is not there to be dressed"
                assert sum(at == "table" and other != id for other, at in where.items()) < tables, (
                    "no place to dress it"
                )
                dressing = True
                assert step.form in known[id].forms, "the form does not fit"
                assert step.form not in forms.values(), "the form is taken"
                forms[id] = step.form
                where[id], side[id] = "form", ""
            else:
                assert where[id] == "table", "it does not lie on the table"
                assert step.touch in single_touches(known[id].opens, side[id]), f"{step.touch} from {side[id]}"
                side[id] = single_touches(known[id].opens, side[id])[step.touch]
        elif step.aside:
            assert where[id] == "table"
            where[id] = "board"
        elif step.shot:
            ways = [w for w in step.shot.ways if all(seen(p.piece, where, side) is p.phase for p in w.needs)]
            assert [w for w in ways if w.camera is step.camera], f"{step.shot.id} cannot be taken"
            if dressing:
                flat_only = all(w.needs[0].phase in FLAT for w in step.shot.ways)
                assert not flat_only, "flat work after the first dressing"
            set_ups += step.camera is not camera
            camera = step.camera
            taken.append(step.shot.id)
        assert sum(at == "table" for at in where.values()) <= tables, "more pieces than tables"
    assert sorted(taken) == sorted(shot.id for shot in shots), "a shot is missing, or comes twice"
    assert all(at == "box" for at in where.values()), "a piece is left out of its box"
    return weighted, set_ups


def seen(id: str, where: dict[str, str], side: dict[str, str]) -> Touch | None:
    """What a piece shows to the camera, by the touch that brings it there."""
    if where[id] == "form":
        return Touch.DRESS
    shows = {"face": Touch.LAY, "reverse": Touch.TURN, "inside": Touch.OPEN, "inside of the back": Touch.OPEN}
    return shows[side[id]] if where[id] == "table" else None


def single_touches(opens: Opens, side: str) -> dict[Touch, str]:
    """What one touch of a lying piece makes of what it shows. What is turned is closed by it.

    What opens nowhere, or on a side, shows its inside either way it lies; so it is known which way that was.
    """
    if side == "inside":
        return {Touch.TURN: "reverse"}
    if side == "inside of the back":
        return {Touch.TURN: "face"}
    found = {Touch.TURN: "reverse" if side == "face" else "face"}
    if side == "face" and opens is not Opens.BACK:
        found[Touch.OPEN] = "inside"
    if side == "reverse" and opens is not Opens.FRONT:
        found[Touch.OPEN] = "inside of the back"
    return found


def by_brute_force(case: Case) -> tuple[int, int] | None:
    """The least weighted touches and set-ups over every sequence of single actions; None if there is none.

    One shot at a time, taken or not, one piece moved at a time: no shortcut of the search is used.
    """
    handled, shots, tables, others = case
    everything = [*handled, *others]
    names = [piece.id for piece in everything]
    start = ((("box", ""),) * len(names), None, frozenset[str]())
    best: dict[object, tuple[int, int]] = {start: (0, 0)}
    ticket = count()
    heap = [((0, 0), next(ticket), start)]
    while heap:
        cost, _, state = heapq.heappop(heap)
        if best[state] < cost:
            continue
        places, camera, taken = state
        where = {id: place[0] for id, place in zip(names, places, strict=True)}
        if len(taken) == len(shots) and set(where.values()) == {"box"}:
            return cost
        side = {id: place[1] for id, place in zip(names, places, strict=True)}
        following = []
        for shot in shots:
            if shot.id in taken:
                continue
            for w in shot.ways:
                if all(seen(p.piece, where, side) is p.phase for p in w.needs):
                    moved = w.camera is not camera
                    following.append(((0, int(moved)), (places, w.camera, taken | {shot.id})))
        flat_left = any(shot.id not in taken and all(w.needs[0].phase in FLAT for w in shot.ways) for shot in shots)
        for number, piece in enumerate(everything):
            free = all(where[over] != "box" for over in piece.above)
            for after, touch in single_actions(
                piece, places[number], places, tables, flat_left, free, number < len(handled)
            ):
                fresh = (*places[:number], after, *places[number + 1 :])
                following.append(((piece.weight if touch else 0, 0), (fresh, camera, taken)))
        for (touches, moves), other in following:
            total = (cost[0] + touches, cost[1] + moves)
            if other not in best or total < best[other]:
                best[other] = total
                heapq.heappush(heap, (total, next(ticket), other))
    return None


def single_actions(piece, place, places, tables, flat_left, free, filmed):
    """Where a piece may be brought next, and whether that is a touch."""
    at, side = place
    lying = sum(other[0] == "table" for other in places)
    if at == "box":
        if free:
            yield ("board", ""), True
            if filmed and lying < tables:
                yield ("table", "face"), True
        return
    if at == "table":
        for after in single_touches(piece.opens, side).values():
            yield ("table", after), True
        yield ("board", ""), False
    if filmed and at in ("table", "board") and not flat_left and lying - (at == "table") < tables:
        for form in piece.forms:
            if ("form", form) not in places:
                yield ("form", form), True
    if free:
        yield ("box", ""), True


def by_cp_sat(case: Case, seconds: float = 60) -> tuple[int, int] | None:
    """The same as a sequence of shots for CP-SAT; None if it cannot be filmed.

    Pieces lie on a table from their first to their last flat shot, and stand on a form from their first
    to their last dressed shot; everything in between can then be done without a further touch.
    """
    from ortools.sat.python import cp_model

    handled, shots, tables, _ = case
    model = cp_model.CpModel()
    n = len(shots)
    position = [model.new_int_var(1, n, "") for _ in shots]
    model.add_all_different(position)
    chosen = [[model.new_bool_var("") for _ in shot.ways] for shot in shots]
    cameras = list(Camera)
    camera = [model.new_int_var(0, len(cameras) - 1, "") for _ in shots]
    for number, shot in enumerate(shots):
        model.add_exactly_one(chosen[number])
        for literal, w in zip(chosen[number], shot.ways, strict=True):
            model.add(camera[number] == cameras.index(w.camera)).only_enforce_if(literal)
    arcs, changes = [], []
    for i in range(n):
        first, last = model.new_bool_var(""), model.new_bool_var("")
        arcs += [(0, i + 1, first), (i + 1, 0, last)]
        model.add(position[i] == 1).only_enforce_if(first)
        for j in range(n):
            if i != j:
                arc, change = model.new_bool_var(""), model.new_bool_var("")
                arcs.append((i + 1, j + 1, arc))
                model.add(position[j] == position[i] + 1).only_enforce_if(arc)
                model.add(camera[i] == camera[j]).only_enforce_if(arc, change.negated())
                changes.append(change)
    model.add_circuit(arcs)
    uses = [
        (number, literal, place.piece, place.phase)
        for number, shot in enumerate(shots)
        for literal, w in zip(chosen[number], shot.ways, strict=True)
        for place in w.needs
    ]
    touches = []
    flat_spans, form_spans = [], {}
    for piece in handled:
        mine = [use for use in uses if use[2] == piece.id]
        turned_first = model.new_bool_var("")
        for a, literal_a, _, phase_a in mine:
            for b, literal_b, _, phase_b in mine:
                if a != b and comes_first(phase_a, phase_b, piece.opens):
                    model.add(position[a] < position[b]).only_enforce_if(literal_a, literal_b)
                elif (phase_a, phase_b) == (Touch.TURN, Touch.OPEN):
                    one_way = (literal_a, literal_b, turned_first)
                    model.add(position[a] < position[b]).only_enforce_if(*one_way)
                    model.add(position[b] < position[a]).only_enforce_if(*one_way[:2], turned_first.negated())
        for phase in (Touch.TURN, Touch.OPEN, Touch.DRESS):
            used = model.new_bool_var("")
            for _, literal, _, there in mine:
                if there is phase or (phase, there, piece.opens) == (Touch.TURN, Touch.OPEN, Opens.BACK):
                    model.add_implication(literal, used)
            touches.append(piece.weight * used)
            if phase is Touch.DRESS:
                on = [model.new_bool_var("") for _ in piece.forms]
                model.add(sum(on) == used)
                for literal, form in zip(on, piece.forms, strict=True):
                    span = interval(model, position, [u for u in mine if u[3] is Touch.DRESS], n, literal)
                    form_spans.setdefault(form, []).append(span)
        touches.append(2 * piece.weight)
        flat = [use for use in mine if use[3] in FLAT]
        if flat:
            there = model.new_bool_var("")
            model.add_max_equality(there, [use[1] for use in flat])
            flat_spans.append(interval(model, position, flat, n, there))
    for a, literal_a, _, phase_a in uses:
        for b, literal_b, _, phase_b in uses:
            if a != b and phase_a in FLAT and phase_b is Touch.DRESS:
                model.add(position[a] < position[b]).only_enforce_if(literal_a, literal_b)
    model.add_cumulative(flat_spans, [1] * len(flat_spans), tables)
    for spans in form_spans.values():
        model.add_no_overlap(spans)
    model.minimize(1000 * sum(touches) + sum(changes) + 1)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 2
    status = solver.solve(model)
    if status == cp_model.INFEASIBLE:
        return None
    assert status == cp_model.OPTIMAL, "CP-SAT did not finish"
    return divmod(round(solver.objective_value), 1000)


def comes_first(one: Touch, two: Touch, opens: Opens) -> bool:
    """Whether a piece shows one thing before the other, as it goes the shortest way."""
    ranks = {Touch.LAY: 0, Touch.TURN: 1, Touch.OPEN: 2, Touch.DRESS: 3}
    if opens is Opens.FRONT:
        ranks |= {Touch.TURN: 2, Touch.OPEN: 1}
    elif opens is not Opens.BACK:
        ranks |= {Touch.TURN: 1, Touch.OPEN: 1}
    return ranks[one] < ranks[two]


def interval(model, position, uses, n, there):
    """The span from the first to the last of these shots, if `there`."""
    start, end = model.new_int_var(1, n, ""), model.new_int_var(1, n + 1, "")
    size = model.new_int_var(0, n, "")
    for number, literal, *_ in uses:
        model.add(start <= position[number]).only_enforce_if(literal, there)
        model.add(end >= position[number] + 1).only_enforce_if(literal, there)
    return model.new_optional_interval_var(start, size, end, there, "")
