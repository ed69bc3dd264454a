"""Two changes that help together: whatever they do to one another, one step less of either does not help."""

from __future__ import annotations

from datetime import timedelta

from books import TODAY, small
from hypothesis import example, given
from hypothesis import strategies as st

from showrunner.planning.advice import Advisor, Step
from showrunner.planning.candidates import Candidate, candidates
from showrunner.planning.changes import LowerGap, WidenWindow
from showrunner.planning.choices import Unsure
from showrunner.planning.results import WayOut
from showrunner.planning.solving import Solved

RUNGS = 4
GAPS = tuple(LowerGap("looks", RUNGS - n) for n in range(RUNGS))
WINDOWS = tuple(WidenWindow("s0", 0, TODAY, TODAY + timedelta(weeks=n)) for n in range(RUNGS))
Grid = list[list[bool]]


class Told(Advisor):
    """An adviser for whom a smaller gap and a wider window help together as a grid says, and neither by itself."""

    def __init__(self, grid: Grid) -> None:
        self.grid = grid

    def _helps(self, study: Candidate, changes: tuple[Step, ...]) -> bool:
        gap = next((n for n, step in enumerate(GAPS) if step in changes), None)
        window = next((n for n, step in enumerate(WINDOWS) if step in changes), None)
        return gap is not None and window is not None and self.grid[gap][window]

    def trial(self, changes: tuple[Step, ...]) -> Solved | None:
        return None

    def _way(self, study: Candidate, steps: tuple[Step, ...]) -> WayOut | None:
        return WayOut(tuple(step for step in steps if isinstance(step, LowerGap | WidenWindow)), TODAY, "")


@given(st.lists(st.lists(st.booleans(), min_size=RUNGS, max_size=RUNGS), min_size=RUNGS, max_size=RUNGS))
@example([[n == 2 or m == n == 3 for m in range(RUNGS)] for n in range(RUNGS)])
def test_of_two_changes_none_could_be_a_step_less(grid: Grid) -> None:
    grid[-1][-1] = True
    (study,), _ = candidates(small(1), Unsure.SHOWN)
    way = Told(grid)._pair(study, GAPS, WINDOWS)
    if way is None:  # allowed only where more of a change can help less
        assert any(row != sorted(row) for row in [*grid, *map(list, zip(*grid, strict=True))])
        return
    gap, window = (next(n for n, step in enumerate(steps) if step in way.changes) for steps in (GAPS, WINDOWS))
    assert grid[gap][window]
    assert not (gap and grid[gap - 1][window])
    assert not (window and grid[gap][window - 1])
