"""Random shoots, and two judges that know the rules of the run order and nothing of the search.

Both are written from the rules alone: each piece goes lay - turn - open - (aside) - dress - box at most once;
all flat and inside work of every piece before the first dressing; no more pieces flat on tables than there are
tables; one piece a form, and only on one that fits; a shot needs its pieces in the right phase and its camera.
Touches count first, with their weights, then set-ups.
"""

from __future__ import annotations

import heapq
from itertools import count
from random import Random

from showrunner.domain.piece import View
from showrunner.domain.shoot import Camera, Touch
from showrunner.planning.run_order import Handled, RunOrder
from showrunner.planning.shots import Place, Shot, Way

FLAT = (Touch.LAY, Touch.TURN, Touch.OPEN)
CHAIN = tuple(Touch)
Case = tuple[list[Handled], list[Shot], int]


def random_case(seed: int, *, pieces: int, most_shots: int) -> Case:
    """A random shoot that can be filmed: pieces, shots, tables."""
    chance = Random(seed)
    forms = chance.randint(0, 2)
    handled = []
    for number in range(pieces):
        fitting = tuple(form for form in range(forms) if chance.random() < 0.8)
        handled.append(Handled(f"p{number}", chance.choice((1, 1, 2)), fitting, (0,) * len(fitting)))
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
    return handled, shots, chance.choice((1, 1, 2, 3))


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
    handled, shots, tables = case
    known = {piece.id: piece for piece in handled}
    at: dict[str, str] = {piece.id: "box" for piece in handled}
    forms: dict[str, int] = {}
    gone: dict[str, list[Touch]] = {piece.id: [] for piece in handled}
    taken: list[str] = []
    camera = None
    weighted = set_ups = 0
    dressing = False
    for step in order.steps:
        if step.touch:
            assert step.touch not in gone[step.piece], "a touch comes twice"
            assert all(CHAIN.index(step.touch) > CHAIN.index(before) for before in gone[step.piece])
            assert step.touch is Touch.LAY or Touch.LAY in gone[step.piece], "it was never laid out"
            gone[step.piece].append(step.touch)
            at[step.piece] = step.touch.value
            weighted += known[step.piece].weight
            forms.pop(step.piece, None)
            if step.touch is Touch.DRESS:
                dressing = True
                assert step.form in known[step.piece].forms, "the form does not fit"
                assert step.form not in forms.values(), "the form is taken"
                forms[step.piece] = step.form
        elif step.aside:
            assert at[step.piece] in FLAT
            at[step.piece] = "aside"
        elif step.shot:
            ways = [w for w in step.shot.ways if all(at[p.piece] == p.phase.value for p in w.needs)]
            assert [w for w in ways if w.camera is step.camera], f"{step.shot.id} cannot be taken"
            if dressing:
                assert step.camera in (Camera.LEVEL, Camera.LEVEL_CLOSE) or gone[step.piece][-1] in FLAT
                flat_only = all(w.needs[0].phase in FLAT for w in step.shot.ways)
                assert not flat_only, "flat work after the first dressing"
            set_ups += step.camera is not camera
            camera = step.camera
            taken.append(step.shot.id)
        assert sum(state in FLAT for state in at.values()) <= tables, "more pieces than tables"
    assert sorted(taken) == sorted(shot.id for shot in shots), "a shot is missing, or comes twice"
    assert all(state == "box" for state in at.values()), "a piece is left out of its box"
    return weighted, set_ups


def by_brute_force(case: Case) -> tuple[int, int] | None:
    """The least weighted touches and set-ups over every sequence of single actions; None if there is none.

    One shot at a time, taken or not: no shortcut of the search is used.
    """
    handled, shots, tables = case
    names = [piece.id for piece in handled]
    start = (tuple(("box",) for _ in handled), None, frozenset[str]())
    best: dict[object, tuple[int, int]] = {start: (0, 0)}
    ticket = count()
    heap = [((0, 0), next(ticket), start)]
    while heap:
        cost, _, state = heapq.heappop(heap)
        if best[state] < cost:
            continue
        phases, camera, taken = state
        if len(taken) == len(shots) and all(phase == ("home",) for phase in phases):
            return cost
        following = []
        for shot in shots:
            if shot.id in taken:
                continue
            for w in shot.ways:
                if all(phases[names.index(p.piece)][0] == p.phase.value for p in w.needs):
                    moved = w.camera is not camera
                    following.append(((0, int(moved)), (phases, w.camera, taken | {shot.id})))
        flat_left = any(shot.id not in taken and all(w.needs[0].phase in FLAT for w in shot.ways) for shot in shots)
        lying = sum(phase[0] in FLAT for phase in phases)
        for number, piece in enumerate(handled):
            for after, touch in after_states(piece, phases[number], phases, lying, tables, flat_left):
                fresh = (*phases[:number], after, *phases[number + 1 :])
                following.append(((piece.weight if touch else 0, 0), (fresh, camera, taken)))
        for (touches, moves), other in following:
            total = (cost[0] + touches, cost[1] + moves)
            if other not in best or total < best[other]:
                best[other] = total
                heapq.heappush(heap, (total, next(ticket), other))
    return None


def after_states(piece, phase, phases, lying, tables, flat_left):
    """States a piece may be brought into, and whether that is a touch."""
    if phase == ("home",):
        return
    if phase == ("box",):
        if lying < tables:
            yield ("lay",), True
        return
    if phase[0] in FLAT:
        for touch in FLAT:
            if FLAT.index(touch) > [t.value for t in FLAT].index(phase[0]):
                yield (touch.value,), True
        yield ("aside",), False
    if phase[0] in (*FLAT, "aside") and not flat_left:
        for form in piece.forms:
            if ("dress", form) not in phases:
                yield ("dress", form), True
    yield ("home",), True


def by_cp_sat(case: Case, seconds: float = 60) -> tuple[int, int] | None:
    """The same as a sequence of shots for CP-SAT; None if it cannot be filmed.

    Pieces lie on a table from their first to their last flat shot, and stand on a form from their first
    to their last dressed shot; everything in between can then be done without a further touch.
    """
    from ortools.sat.python import cp_model

    handled, shots, tables = case
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
        for a, literal_a, _, phase_a in mine:
            for b, literal_b, _, phase_b in mine:
                if a != b and CHAIN.index(phase_a) < CHAIN.index(phase_b):
                    model.add(position[a] < position[b]).only_enforce_if(literal_a, literal_b)
        for phase in (Touch.TURN, Touch.OPEN, Touch.DRESS):
            used = model.new_bool_var("")
            for _, literal, _, there in mine:
                if there is phase:
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


def interval(model, position, uses, n, there):
    """The span from the first to the last of these shots, if `there`."""
    start, end = model.new_int_var(1, n, ""), model.new_int_var(1, n + 1, "")
    size = model.new_int_var(0, n, "")
    for number, literal, *_ in uses:
        model.add(start <= position[number]).only_enforce_if(literal, there)
        model.add(end >= position[number] + 1).only_enforce_if(literal, there)
    return model.new_optional_interval_var(start, size, end, there, "")
