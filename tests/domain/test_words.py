"""Spans in words: weeks and days, never a part of a week."""

from __future__ import annotations

import pytest

from showrunner.domain.words import weeks


@pytest.mark.parametrize(
    ("days", "told"),
    [
        (42, "6 weeks"),
        (7, "1 week"),
        (10, "1 week and 3 days"),
        (15, "2 weeks and 1 day"),
        (6, "6 days"),
        (1, "1 day"),
        (0, "0 weeks"),
    ],
)
def test_a_span_is_told_in_weeks_and_days(days: int, told: str) -> None:
    assert weeks(days) == told
