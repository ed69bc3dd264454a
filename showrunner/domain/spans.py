"""Stretches of time within a day, as minutes after midnight."""

from __future__ import annotations

from collections.abc import Iterable

Span = tuple[int, int]
"""Start and exclusive end."""


def joined(spans: Iterable[Span]) -> tuple[Span, ...]:
    """The same time in stretches that are in order and apart."""
    found: list[Span] = []
    for start, end in sorted(spans):
        if found and start <= found[-1][1]:
            found[-1] = (found[-1][0], max(found[-1][1], end))
        else:
            found.append((start, end))
    return tuple(found)
