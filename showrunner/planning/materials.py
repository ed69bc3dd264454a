"""Finding words in what the owner wrote about a material."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache


def has_word(text: str, words: Iterable[str]) -> bool:
    """Whether one of the words begins a word of the text; with a full stop at its end it must be the whole word."""
    return any(_pattern(word).search(text.lower()) for word in words)


def has_phrase(text: str, phrases: Iterable[str]) -> bool:
    """Whether one of the phrases stands in the text in whole words, the last one as one or many (`fur`, `furs`)."""
    return any(_phrase(phrase).search(text.lower()) for phrase in phrases)


def without(text: str, phrases: Iterable[str]) -> str:
    """The text in small letters without some phrases."""
    for phrase in phrases:
        text = _phrase(phrase).sub(" ", text.lower())
    return text


@cache
def _pattern(word: str) -> re.Pattern[str]:
    whole = word.endswith(".")
    return re.compile(rf"\b{re.escape(word.removesuffix('.'))}" + (r"\b" if whole else ""))


@cache
def _phrase(phrase: str) -> re.Pattern[str]:
    spaced = r"[\s-]+".join(map(re.escape, phrase.split()))
    return re.compile(rf"\b{spaced}(?:s|es)?\b")
