"""The mutation run itself: what it changes, what it leaves alone, and that its list of exceptions is up to date."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest
import run

ROOT = Path(__file__).parents[2]


def made(source: str) -> set[str]:
    """The source after each change, one at a time."""
    found = set()
    for number in range(len(run.mutants("m.py", source))):
        mutant = run.mutants("m.py", source)[number]
        mutant.make()
        found.add(ast.unparse(mutant.tree))
    return found


def test_one_thing_is_changed_at_a_time() -> None:
    assert made("x = a < b") == {"x = a <= b", "x = a >= b"}
    assert made("x = a + b and not c") == {"x = a - b and (not c)", "x = a + b or not c", "x = a + b and c"}
    assert made("x = min(a, 3)") == {"x = max(a, 3)", "x = min(a, 4)", "x = min(a, 2)"}
    assert made("x = a if b else c") == {"x = a if not b else c"}
    assert made("f(a)") == {"pass"}
    assert made("x = {'a': b, 'c': d}") == {"x = {'c': d}", "x = {'a': b}"}
    assert made("def f(a):\n    return a") == {"def f(a):\n    return None"}


def test_words_docstrings_and_hints_are_left_alone() -> None:
    source = 'def f(a: int = b, *c: Literal[3]) -> X[2]:\n    """3 words."""\n    d: Y[4] = f"{a:3} is 5"\n'
    assert made(source) == set()
    assert made("if TYPE_CHECKING:\n    f(3)\nclass A:\n    def __repr__(self):\n        return 3\n") == set()


def test_a_change_in_a_function_is_for_the_tests_that_reach_its_statement() -> None:
    source = "A = 1\n\ndef f(a, b=2):\n    if (a\n            > b):\n        return 3\n"
    reach = {m.change: (m.line, list(m.reach)) for m in run.mutants("m.py", source)}
    assert reach["1 -> 2"] == (1, [])
    assert reach["2 -> 3"] == (3, [3, 4, 5, 6])
    assert reach["a > b -> a >= b"] == (4, [4, 5])
    assert reach["returns None"] == (6, [6])


@pytest.mark.slow
def test_every_exception_is_still_one_of_the_changes() -> None:
    listed = run.equivalents()
    made = {
        (mutant.module, mutant.text, mutant.change)
        for module in {entry.module for entry in listed}
        for mutant in run.mutants(module, (ROOT / module).read_text("utf-8"))
    }
    for entry in listed:
        assert entry.why.strip()
        assert (entry.module, entry.text, entry.change) in made, entry
