"""The run order against brute force over every sequence of actions, and against CP-SAT (OR-Tools)."""

from collections.abc import Sequence
from datetime import date
from pathlib import Path

import pytest
from long_runs import LONG
from shoot_instances import Case, by_brute_force, by_cp_sat, random_case, replay

from showrunner.domain.opening import Opens
from showrunner.domain.piece import Piece
from showrunner.planning.run_order import CannotRun, Handled, RunOrder, best_order
from showrunner.planning.shoot_plan import plan_shoot
from showrunner.session import Session

with Session.open(Path(__file__).parents[2] / "demo" / "book.json", write=False) as _session:
    DEMO = _session.book
TODAY = date(2026, 3, 2)


def ours(case: Case) -> RunOrder | None:
    handled, shots, tables, others = case
    try:
        return best_order(handled, shots, tables=tables, others=others)
    except CannotRun:
        return None


def agrees(case: Case, verdict: tuple[int, int] | None) -> None:
    found = ours(case)
    if verdict is None or found is None:
        assert verdict is None
        assert found is None
        return
    assert replay(case, found) == (found.weighted, found.set_ups) == verdict


@pytest.mark.parametrize("seed", range(100))
def test_one_or_two_pieces_as_well_as_by_brute_force(seed: int) -> None:
    case = random_case(seed, pieces=1 + seed % 2, most_shots=6)
    agrees(case, by_brute_force(case))


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(1000, 1030))
def test_three_pieces_as_well_as_by_brute_force(seed: int) -> None:
    case = random_case(seed, pieces=3, most_shots=5)
    agrees(case, by_brute_force(case))


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(3000, 3080))
def test_pieces_in_one_box_as_well_as_by_brute_force(seed: int) -> None:
    case = random_case(seed, pieces=1 + seed % 3, most_shots=5, boxed=True)
    agrees(case, by_brute_force(case))


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(2000, 2025))
def test_up_to_five_pieces_as_well_as_by_cp_sat(seed: int) -> None:
    pytest.importorskip("ortools", reason="OR-Tools is not installed (pip install 'showrunner[judges]')")
    case = random_case(seed, pieces=3 + seed % 3, most_shots=11)
    agrees(case, by_cp_sat(case))


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(30))
def test_the_judges_agree(seed: int) -> None:
    pytest.importorskip("ortools", reason="OR-Tools is not installed (pip install 'showrunner[judges]')")
    case = random_case(seed, pieces=2, most_shots=5)
    assert by_brute_force(case) == by_cp_sat(case)


@pytest.mark.long
def test_many_shoots_as_well_as_by_brute_force() -> None:
    for seed in range(10_000, 10_000 + LONG):
        case = random_case(seed, pieces=1 + seed % 3, most_shots=6, boxed=seed % 2 == 0)
        try:
            agrees(case, by_brute_force(case))
        except AssertionError as wrong:
            raise AssertionError(f"shoot {seed}") from wrong


@pytest.mark.long
def test_many_shoots_as_well_as_by_cp_sat() -> None:
    pytest.importorskip("ortools", reason="OR-Tools is not installed (pip install 'showrunner[judges]')")
    for seed in range(20_000, 20_000 + LONG // 10):
        case = random_case(seed, pieces=3 + seed % 4, most_shots=13)
        try:
            agrees(case, by_cp_sat(case))
        except AssertionError as wrong:
            raise AssertionError(f"shoot {seed}") from wrong


@pytest.mark.parametrize("seed", range(100))
def test_no_order_is_worse_than_the_catalogues(seed: int) -> None:
    from showrunner.planning.run_order import catalogue_order

    case = random_case(seed, pieces=1, most_shots=8, boxed=True)
    handled, shots, _, _ = case
    found = ours(case)
    if found is not None:
        assert (found.touches, found.set_ups) <= catalogue_order(handled, shots)


@pytest.mark.slow
@pytest.mark.parametrize("study", ["waistcoats", "skating-jacket", "dance-frock", "apron"])
def test_the_demos_shoots_as_well_as_by_brute_force(study: str) -> None:
    """With the sides and boxes of the real pieces; of shots that can be taken in the same ways, one stands for all."""
    plan = plan_shoot(DEMO, (study,), TODAY)
    alike = {shot.ways: shot for shot in reversed(plan.shots)}
    filmed = [DEMO.piece(id) for id in plan.pieces]
    handled = [seen_by_hand(piece, [*filmed, *lying_over(filmed)]) for piece in filmed]
    others = [seen_by_hand(piece, lying_over([piece])) for piece in lying_over(filmed) if piece not in filmed]
    case = (handled, list(alike.values()), 1, others)
    assert by_brute_force(case) == (plan.order.weighted, plan.order.set_ups)
    assert replay((handled, list(plan.shots), 1, others), plan.order) == (plan.order.weighted, plan.order.set_ups)


def lying_over(pieces: Sequence[Piece]) -> list[Piece]:
    """Everything that lies higher in the box of one of the pieces."""
    return [
        other
        for other in DEMO.pieces
        if any(other.box == one.box and (other.layer or 0) > (one.layer or 0) for one in pieces)
    ]


def seen_by_hand(piece: Piece, near: Sequence[Piece]) -> Handled:
    """A piece of the demo as a judge sees it: the forms of 80 and 92, jackets and waistcoats opening in front."""
    chest = next((int(m.value) for m in piece.measurements if m.what == "chest"), 0)
    forms = tuple(n for n, size in enumerate((80, 92)) if chest >= size + 2)
    fragile = 2 if piece.handling.is_fragile else 1
    opens = Opens.FRONT if piece.kind in ("waistcoat", "jacket") else Opens.BACK
    over = sorted(
        (o for o in near if o.box == piece.box and (o.layer or 0) > (piece.layer or 0)), key=lambda o: -o.layer
    )
    return Handled(piece.id, fragile, forms, (0,) * len(forms), opens, tuple(dict.fromkeys(o.id for o in over)))
