"""Handling limits as people write them."""

from __future__ import annotations

import re
from typing import Any

from showrunner.domain.piece import Handling

LIMITS = {
    "flat only": "flat_only",
    "never hung": "no_hanging",
    "never turned": "no_turning",
    "on a board": "board",
}
"""Handling limits in words, and the field of each."""

_MORE = {
    "no form": "flat_only",
    "lay flat": "flat_only",
    "no hanging": "no_hanging",
    "never hang": "no_hanging",
    "do not hang": "no_hanging",
    "no turning": "no_turning",
    "never turn": "no_turning",
    "do not turn": "no_turning",
    "board": "board",
    "support board": "board",
}
_NUMBERS = {"two": 2, "three": 3, "four": 4}


def read_limits(text: str) -> Handling:
    """Handling limits: `flat only, never hung, on a board, two people, 20 minutes on a form`; the rest is a note."""
    found: dict[str, Any] = {}
    notes = []
    for part in filter(None, (" ".join(raw.split()) for raw in re.split(r"[,;\n]", text))):
        plain = part.lower()
        if field := LIMITS.get(plain) or _MORE.get(plain):
            found[field] = True
        elif match := re.fullmatch(r"(?:at most )?(\d{1,4}) min(?:utes)?(?: on (?:a|the|its) form)?", plain):
            found["form_minutes"] = int(match[1])
        elif match := re.fullmatch(r"([2-9]|two|three|four) (?:people|persons)(?: to move it)?", plain):
            found["people"] = _NUMBERS.get(match[1]) or int(match[1])
        else:
            notes.append(part)
    return Handling(notes=", ".join(notes), **found)


def limits_text(handling: Handling) -> str:
    """Handling limits as they are typed; how many people it takes is asked for on its own."""
    found = [word for word, field in LIMITS.items() if getattr(handling, field)]
    if handling.form_minutes is not None:
        found.append(f"{handling.form_minutes} minutes on a form")
    return ", ".join([*found, handling.notes] if handling.notes else found)
