"""How much is tried on random examples: all of them in the long run, fewer with `-m examples`, few by default."""

from __future__ import annotations

import os
from collections.abc import Callable
from typing import Any, TypeVar

import pytest
from hypothesis import settings

Test = TypeVar("Test", bound=Callable[..., Any])

FEWEST = 10
"""Examples that are tried at least."""

SHARES = {"long": 1, "examples": 4}
"""By which number the examples are divided in a run of the tests with a marker."""

share = 10
"""By which number they are divided in this run; set before the tests are imported."""


def examples(number: int, **more: Any) -> Callable[[Test], Test]:
    """Try a property on `number` examples in the long run, on a quarter with `-m examples`, and on a tenth by default.

    Args:
        number: how many in the long run (`-m long`).
        more: other settings of Hypothesis.
    """
    count = min(number, max(FEWEST, number // share))

    def decorate(test: Test) -> Test:
        return pytest.mark.examples(settings(max_examples=count, **more)(test))

    return decorate


LONG = int(os.environ.get("SHOWRUNNER_LONG", "400"))
"""Size of the long run."""


def seeds(first: int, last: int) -> list[Any]:
    """The seeds from `first` to before `last`: every fourth for the default run, the others for the long one.

    A long run in short form has only the first ten of those.
    """
    more = [seed for seed in range(first, last) if seed % 4][: None if LONG >= 100 else 10]
    return [*range(first, last, 4), *(pytest.param(seed, marks=pytest.mark.long) for seed in more)]
