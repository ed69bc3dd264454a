"""Text that no book may hold: half a character, which UTF-8 cannot write, and the sign U+0000."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

_ODD = re.compile("[\0\ud800-\udfff]")

ODD = "it holds a broken letter, which no file can keep"
"""What is wrong with such a text."""


def is_odd(text: str) -> bool:
    """Whether a text holds such a sign."""
    return _ODD.search(text) is not None


def odd_fields(value: Any) -> Iterator[str]:
    """The places of odd text in a JSON value, dotted from it (`claims.2.basis`); empty for the value itself."""
    if isinstance(value, str):
        if is_odd(value):
            yield ""
        return
    inside = value.items() if isinstance(value, dict) else enumerate(value, 1) if isinstance(value, list) else ()
    for name, part in inside:
        if isinstance(name, str) and is_odd(name):
            yield "the name of a field"
        for place in odd_fields(part):
            yield f"{name}.{place}" if place else str(name)


def without_odd(value: Any) -> Any:
    """A JSON value with the replacement character in place of every such sign."""
    if isinstance(value, str):
        return _ODD.sub("\ufffd", value)
    if isinstance(value, dict):
        return {without_odd(name): without_odd(part) for name, part in value.items()}
    return [without_odd(part) for part in value] if isinstance(value, list) else value
