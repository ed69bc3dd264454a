"""The largest file that is read, and what is told of one with more bytes."""

from __future__ import annotations

from math import ceil

MAX_BYTES = 20 * 1024 * 1024
"""Most bytes of a file that are read."""
MAX_ROWS = 10_000
"""Most rows of a sheet, headings included, or entries of a feed that are read.

That is many times a private collection or ten years of posts, and what is brought in ends within seconds.
"""


def too_large(size: int, most: int = MAX_BYTES) -> str:
    """By what so many bytes are too many: `20.1 MB are more than the 20 MB that are read`; empty if they are not."""
    if size <= most:
        return ""
    return f"{ceil(10 * size / 1024**2) / 10} MB are more than the {most // 1024**2} MB that are read"
