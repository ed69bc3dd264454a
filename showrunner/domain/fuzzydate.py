"""A date as the owner knows it: the EDTF text, its strict bounds, and the words to speak it."""

from __future__ import annotations

import re
from datetime import date

from showrunner.domain.record import record
from showrunner.errors import BadInput

ABOUT_WORDS = (
    "about|ca|cca|circa|around|approx|approximately|roughly|near|est|estimated|or so|or thereabouts|ish|"
    "um|etwa|ungefähr|zirka|gegen|vers|environ|autour de|verso (?:il|la|lo)|intorno al|all'incirca|hacia|"
    "alrededor de|aprox|aproximadamente|omstreeks|rond|ongeveer"
)
"""Words, each a pattern, that say of a date that it is only about right; so does `c` before one."""

PERHAPS_WORDS = (
    "maybe|perhaps|poss|possibly|prob|probably|(?:most |very )?likely|presumably|supposedly|apparently|i think|i guess|"
    "might be|could be|may be|should be|thought to be|believed to be|said to be|attributed to|attributed|uncertain|"
    "not sure|unsure|not certain|unconfirmed|to be confirmed|tbc|guess|a guess|doubtful|questionable|"
    "vielleicht|vermutlich|wohl|wahrscheinlich|unsicher|peut-être|probablement|sans doute|incertain|forse|"
    "probabilmente|incerto|quizás?|tal vez|probablemente|misschien|waarschijnlijk|vermoedelijk|onzeker"
)
"""Words, each a pattern, that say of a date that it may be wrong."""

_C = "(?<!th )(?<!st )(?<!nd )(?<!rd )c(?!(?:1[0-9]|2[01])(?![0-9]))"
_ABOUT = re.compile(rf"(?<![^\W\d_])(?:{_C}|{ABOUT_WORDS})(?![^\W\d_])|ish(?![^\W\d_])|[~±%]|\+/-")
_PERHAPS = re.compile(rf"(?<![^\W\d_])(?:{PERHAPS_WORDS})(?![^\W\d_])|[?%]|^\[[^\[\]]*\]$")


@record
class FuzzyDate:
    """One EDTF date, parsed when it was entered and never again.

    Made by `showrunner.storage.edtf_text.parse`; exact days also by :meth:`exact`.
    """

    text: str
    """The EDTF text, exactly as kept (`1868~`, `189X`, `../1915`)."""
    earliest: date | None
    """Strict first day the text allows; None where the text sets no bound."""
    latest: date | None
    """Strict last day the text allows (inclusive); None where the text sets no bound."""
    words: str
    """The text spoken in words (`about 1868`, `the 1890s`)."""
    written: str = ""
    """The text as somebody wrote it (`c. 1868`), where that was not the EDTF text itself."""

    def __post_init__(self) -> None:
        if self.earliest and self.latest and self.latest < self.earliest:
            raise BadInput(f"the date ends ({self.latest}) before it starts ({self.earliest})", self.text, "swap them")

    @classmethod
    def exact(cls, day: date) -> FuzzyDate:
        """The fuzzy date that is one known day."""
        return cls(day.isoformat(), day, day, f"{day.day} {day:%B %Y}")

    @property
    def is_exact(self) -> bool:
        """Whether it is one day and nothing about it is in doubt."""
        return self.earliest is not None and self.text == self.earliest.isoformat()

    @property
    def is_about(self) -> bool:
        """Whether it is only about right, by a mark in its EDTF text (`~`, `%`) or by the words of the text as written.

        The words count since EDTF has no mark for every doubt: `about the 1890s` is kept as `189X`.
        """
        return bool(_ABOUT.search(self.text) or _ABOUT.search(self.written.lower()))

    @property
    def is_perhaps(self) -> bool:
        """Whether it may be wrong: by a mark in its EDTF text (`?`, `%`), by words, or as all in square brackets."""
        return bool(re.search("[?%]", self.text) or _PERHAPS.search(self.written.lower()))

    @property
    def in_doubt(self) -> bool:
        """Whether it is in doubt in either way."""
        return self.is_about or self.is_perhaps
