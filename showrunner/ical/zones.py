"""What a calendar file tells of time zones, made short enough to be worked out.

A zone's summer time is a repetition like any other, and where it begins in 1601, as many files have it, each year since
is worked out for each time that is looked up. Nothing here asks for times so long ago.
"""

from __future__ import annotations

import re
from datetime import date

MOST_PARTS = 1000
"""Most zones and times of the year in them that a calendar describes."""
MOST_YEARS = 3000
"""Most years for which its times of the year repeat, all together."""

_ZONE = re.compile(rb"^[ \t]*BEGIN[ \t]*:[ \t]*(?:VTIMEZONE|STANDARD|DAYLIGHT)\b", re.IGNORECASE | re.MULTILINE)
_OBSERVANCE = re.compile(
    rb"^[ \t]*BEGIN[ \t]*:[ \t]*(?:STANDARD|DAYLIGHT)\b[^\n]*\n((?:(?![ \t]*(?:BEGIN|END)\b)[^\n]*\n)*)",
    re.IGNORECASE | re.MULTILINE,
)
_RULE = re.compile(rb"^[ \t]*RRULE\b([^\n]*)", re.IGNORECASE | re.MULTILINE)
_BOUND = re.compile(rb"\b(?:UNTIL|COUNT|INTERVAL)\b", re.IGNORECASE)
_YEAR = re.compile(rb"^([ \t]*DTSTART\b[^\n]*:)(\d{4})(?=\d{4}T)", re.IGNORECASE | re.MULTILINE)


def is_too_much(text: bytes) -> bool:
    """Whether the zones of a calendar have too many parts."""
    return len(_ZONE.findall(text)) > MOST_PARTS


def begun_lately(text: bytes, first: date) -> tuple[bytes, int]:
    """A calendar in which the times of the year that repeat without an end begin some years before the first day.

    The year they then begin in is a leap year, which has every day.

    Args:
        text: its lines, unfolded.
        first: the first day that is looked at.

    Returns:
        The calendar, and for how many years the times of the year now repeat, all together.
    """
    lately = (first.year - 4) // 4 * 4
    years = 0

    def begun(observance: re.Match[bytes]) -> bytes:
        nonlocal years
        rules, start = _RULE.findall(observance[1]), _YEAR.search(observance[1])
        if not (rules and start):
            return observance[0]
        since = int(start[2])
        if since < lately and not any(map(_BOUND.search, rules)):
            years += 4 * len(rules)
            return _YEAR.sub(rb"\g<1>%04d" % lately, observance[0])
        years += len(rules) * max(0, first.year - since)
        return observance[0]

    return _OBSERVANCE.sub(begun, text), years
