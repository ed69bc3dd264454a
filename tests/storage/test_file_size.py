"""By what a file is too large, told so that the two numbers differ."""

from __future__ import annotations

import pytest

from showrunner.storage.file_size import MAX_BYTES, too_large

MB = 1024 * 1024


@pytest.mark.parametrize(
    ("size", "told"),
    [
        (0, ""),
        (20 * MB, ""),
        (20 * MB + 1, "20.1 MB are more than the 20 MB that are read"),
        (20 * MB + MB // 10, "20.1 MB are more than the 20 MB that are read"),
        (21 * MB, "21.0 MB are more than the 20 MB that are read"),
        (1500 * MB, "1500.0 MB are more than the 20 MB that are read"),
    ],
)
def test_what_is_too_large(size: int, told: str) -> None:
    assert MAX_BYTES == 20 * MB
    assert too_large(size) == told


def test_another_limit() -> None:
    assert too_large(5 * MB, 5 * MB) == ""
    assert too_large(2001 * MB, 2000 * MB) == "2001.0 MB are more than the 2000 MB that are read"
    assert too_large(5 * MB + 1, 5 * MB) == "5.1 MB are more than the 5 MB that are read"
