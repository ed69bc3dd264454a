"""Finding words in what the owner wrote about a material."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache


def has_word(text: str, words: Iterable[str]) -> bool:
    """Whether one of the words begins a word of the text; with a full stop at its end it must be the whole word."""
    return any(_pattern(word).search(text.lower()) for word in words)


@cache
def _pattern(word: str) -> re.Pattern[str]:
    whole = word.endswith(".")
    return re.compile(rf"\b{re.escape(word.removesuffix('.'))}" + (r"\b" if whole else ""))
