"""A date as the owner knows it: the EDTF text, its strict bounds, and the words to speak it."""

from __future__ import annotations

from datetime import date

from showrunner.domain.record import record
from showrunner.errors import BadInput


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
        """Whether it is only about right: EDTF marks that by `~`, or by `%` where it is in doubt as well."""
        return "~" in self.text or "%" in self.text
