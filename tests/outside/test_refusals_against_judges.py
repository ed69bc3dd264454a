"""The refusals of least value against CP-SAT (the constraint solver of OR-Tools), where that is installed."""

from __future__ import annotations

import random
from collections.abc import Sequence
from typing import Any

import pytest
from effort import seeds

from showrunner.planning.money import least_cover

pytest.importorskip("ortools", reason="OR-Tools is not installed (pip install 'showrunner[judges]')")


def by_cp_sat(values: Sequence[int], widths: Sequence[int], value: int, width: int) -> int | None:
    """The least value that is enough; None if nothing is."""
    from ortools.sat.python import cp_model

    model: Any = cp_model.CpModel()
    taken = [model.new_bool_var(str(at)) for at in range(len(values))]
    worth = sum(v * x for v, x in zip(values, taken, strict=True))
    model.add(worth >= value)
    model.add(sum(w * x for w, x in zip(widths, taken, strict=True)) >= width)
    model.minimize(worth)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    status = solver.solve(model)
    assert status in (cp_model.OPTIMAL, cp_model.INFEASIBLE)
    return round(solver.objective_value) if status == cp_model.OPTIMAL else None


def wants(rng: random.Random, count: int) -> tuple[list[int], list[int]]:
    """Prices and widths as shops have them: whole or in cents, and now and then dear where they are wide."""
    widths = [rng.randint(80, 420) for _ in range(count)]
    kind = rng.randrange(3)
    if kind == 0:
        return [rng.randint(20, 400) for _ in widths], widths
    if kind == 1:
        return [rng.randint(2000, 40_000) for _ in widths], widths
    return [10 * width + rng.randint(-200, 200) for width in widths], widths


@pytest.mark.parametrize("seed", seeds(0, 24))
def test_sixty_wants_are_brought_back_as_cheaply_as_by_cp_sat(seed: int) -> None:
    rng = random.Random(seed)
    values, widths = wants(rng, rng.choice((12, 60)))
    share = rng.choice(((0.0, 0.4), (0.3, 0.0), (0.2, 0.2), (0.3, 0.36), (0.7, 0.8), (0.02, 0.05)))
    value, width = int(sum(values) * share[0]), int(sum(widths) * share[1])
    found = least_cover(values, widths, value, width)
    assert found is not None
    assert sum(widths[at] for at in found) >= width
    assert sum(values[at] for at in found) == by_cp_sat(values, widths, value, width)


def test_what_nothing_brings_back_is_refused_by_both() -> None:
    assert least_cover([3, 4], [1, 1], 8, 0) is None
    assert by_cp_sat([3, 4], [1, 1], 8, 0) is None
