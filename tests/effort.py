"""How much is tried on random examples: all of them in the long run, fewer in the default one."""

from __future__ import annotations

import os
from collections.abc import Callable
from typing import Any, TypeVar

import pytest
from hypothesis import settings

Test = TypeVar("Test", bound=Callable[..., Any])

FEWEST = 20
"""Examples that the default run tries at least."""

whole = False
"""Whether this is the long run; set before the tests are imported."""


def examples(number: int, **more: Any) -> Callable[[Test], Test]:
    """Try a property on `number` examples in the long run, and on a quarter of them in the default one.

    Args:
        number: how many in the long run (`-m long`).
        more: other settings of Hypothesis.
    """
    count = number if whole else min(number, max(FEWEST, number // 4))

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
