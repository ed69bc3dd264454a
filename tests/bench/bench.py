"""How long the product takes, as ratios to other ways of doing the same; absolute times differ from machine to machine.

Run it by hand: `python tests/bench/bench.py [--quick]`. It asserts that all who answer give the same answer.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parent / "outside"), str(HERE.parents[1])]

from instances import demo_like, hopeless_18, scaled, three_series_56, two_series_18
from judges import OutOfTime, Verdict, by_cp_sat, by_highs

from showrunner.planning.problem import Problem, Score, score
from showrunner.planning.search import solve

Judge = Callable[[Problem, float], Verdict]


def ours(problem: Problem, runs: int = 3) -> tuple[Score, float]:
    """Our proven answer, and the least seconds of several runs."""
    least = float("inf")
    for _ in range(runs):
        start = time.perf_counter()
        found = solve(problem)
        least = min(least, time.perf_counter() - start)
        assert found.proven
        assert score(problem, found.places) == found.score
        if least > 5:
            break
    return found.score, least


def against(judge: Judge, problem: Problem, answer: Score, seconds: float, limit: float) -> str:
    """The judge's seconds, and how many times ours they are; `>` if it did not finish within `limit`."""
    start = time.perf_counter()
    try:
        verdict = judge(problem, limit)
    except OutOfTime:
        return f"> {limit:g} s (> {limit / seconds:,.0f} x)"
    spent = time.perf_counter() - start
    assert verdict.score == answer, f"{judge.__name__} found {verdict.score}, we {answer}"
    return f"{spent:.2f} s ({spent / seconds:,.0f} x)"


def placing(limit: float, seeds: range) -> None:
    """Placing studies: ours against HiGHS and, if installed, CP-SAT, each proving the same optimum."""
    judges: dict[str, Judge] = {"HiGHS": by_highs}
    if find_spec("ortools"):
        judges["CP-SAT"] = by_cp_sat
    else:
        print("CP-SAT is left out: OR-Tools is not installed.")
    print("Placing studies, proven optimal; in brackets the multiple of our time")
    print(f"{'problem':<32}{'ours':>10}" + "".join(f"{name:>26}" for name in judges) + "   answer")
    cases: list[tuple[str, Problem]] = [("5 studies, 78 weeks", demo_like())]
    for name, make in (
        ("18 of two series, 104 weeks", two_series_18),
        ("56 of three series, 104 weeks", three_series_56),
        ("18 with hours for half", hopeless_18),
    ):
        cases += [(f"{name}, no. {seed}", make(seed)) for seed in seeds]
    for name, problem in cases:
        answer, seconds = ours(problem)
        row = f"{name:<32}{f'{seconds * 1000:,.0f} ms':>10}"
        print(row, end="", flush=True)
        for judge in judges.values():
            print(f"{against(judge, problem, answer, seconds, limit):>26}", end="", flush=True)
        print(f"   {len(problem.needs) - answer.unplaced} placed, {answer.points / 49:.2f} points, {answer.days} days")


def growth(sizes: tuple[int, ...]) -> None:
    """How our time grows when studies and weeks grow ten times, with as many kinds of studies."""
    print("\nGrowth of our time at ten times the studies and weeks")
    for size in sizes:
        small, large = ours(scaled(size))[1], ours(scaled(10 * size), 1)[1]
        print(
            f"{size} studies {small * 1000:,.1f} ms; {10 * size} studies {large * 1000:,.0f} ms: {large / small:,.0f} x"
        )


def main() -> None:
    """Run all measurements and print them."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="one problem of each sort, judges stopped after 20 s")
    parser.add_argument("--limit", type=float, help="seconds a judge may take for a problem (120, or 20 with --quick)")
    options = parser.parse_args()
    limit = options.limit or (20 if options.quick else 120)
    placing(limit, range(1, 2) if options.quick else range(1, 4))
    growth((5,) if options.quick else (5, 10))


if __name__ == "__main__":
    main()
