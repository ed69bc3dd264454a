"""Content lines of iCalendar: names with values, escaped and folded (RFC 5545 3.1 and 3.3.11).

The library that reads calendars writes them too, but takes many times as long as these few functions, whose lines it
reads back in the tests, as four other readers do.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

LONGEST = 75
"""Most octets of a line, without its end."""
_ESCAPES = str.maketrans({"\\": "\\\\", ";": "\\;", ",": "\\,", "\n": "\\n"})


def text(value: str) -> str:
    """A text value; the characters that would mean something are escaped."""
    return value.translate(_ESCAPES)


def instant(value: datetime) -> str:
    """An instant as a UTC date-time, to the second."""
    return f"{value.astimezone(UTC):%Y%m%dT%H%M%SZ}"


def duration(value: timedelta) -> str:
    """A span of whole minutes as a duration: `-PT1H30M`, `P1D`."""
    minutes = abs(value) // timedelta(minutes=1)
    days, rest = divmod(minutes, 24 * 60)
    hours, left = divmod(rest, 60)
    clock = f"{hours}H" * bool(hours) + f"{left}M" * bool(left)
    sign = "-" if value < timedelta(0) else ""
    return f"{sign}P{f'{days}D' * (bool(days) or not clock)}{f'T{clock}' * bool(clock)}"


def moment(name: str, value: date | datetime) -> str:
    """A line with a day or an instant."""
    if isinstance(value, datetime):
        return f"{name}:{instant(value)}"
    return f"{name};VALUE=DATE:{value:%Y%m%d}"


def folded(lines: list[str]) -> bytes:
    """The lines as they are kept: each folded after 75 octets at most, between characters and not within an escape."""
    return b"".join(_fold(line.encode()) for line in lines)


def _fold(line: bytes) -> bytes:
    if len(line) <= LONGEST:
        return line + b"\r\n"
    parts = []
    begin, room = 0, LONGEST
    while len(line) - begin > room:
        end = begin + room
        while line[end] & 0xC0 == 0x80:  # within a character
            end -= 1
        run = len(line[begin:end]) - len(line[begin:end].rstrip(b"\\"))
        end -= run % 2  # between the backslash and what it escapes
        parts.append(line[begin:end])
        begin, room = end, LONGEST - 1
    return b"\r\n ".join([*parts, line[begin:]]) + b"\r\n"
