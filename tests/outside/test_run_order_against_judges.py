"""The run order against brute force over every sequence of actions, and against CP-SAT (OR-Tools)."""

import pytest
from long_runs import LONG
from shoot_instances import Case, by_brute_force, by_cp_sat, random_case, replay

from showrunner.planning.run_order import CannotRun, RunOrder, best_order


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


@pytest.mark.parametrize("seed", range(1000, 1030))
def test_three_pieces_as_well_as_by_brute_force(seed: int) -> None:
    case = random_case(seed, pieces=3, most_shots=5)
    agrees(case, by_brute_force(case))


@pytest.mark.parametrize("seed", range(3000, 3080))
def test_pieces_in_one_box_as_well_as_by_brute_force(seed: int) -> None:
    case = random_case(seed, pieces=1 + seed % 3, most_shots=5, boxed=True)
    agrees(case, by_brute_force(case))


@pytest.mark.parametrize("seed", range(2000, 2025))
def test_up_to_five_pieces_as_well_as_by_cp_sat(seed: int) -> None:
    pytest.importorskip("ortools", reason="OR-Tools is not installed (pip install 'showrunner[judges]')")
    case = random_case(seed, pieces=3 + seed % 3, most_shots=11)
    agrees(case, by_cp_sat(case))


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
