"""Every property runs by one profile: no time limit for an example, and the same examples each time where CI is set."""

from __future__ import annotations

import os
from pathlib import Path

from hypothesis import settings

TESTS = Path(__file__).parent


def test_no_example_is_timed() -> None:
    assert settings.default is not None
    assert settings.default.deadline is None
    own = [path.name for path in TESTS.rglob("test_*.py") if path != Path(__file__) and "deadline=" in path.read_text()]
    assert own == []


def test_examples_are_the_same_each_time_where_everything_is_checked() -> None:
    assert settings.default is not None
    assert settings.default.derandomize == ("CI" in os.environ)
