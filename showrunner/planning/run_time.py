"""How long the episode will be: opening, points, holds and close, corrected by the owner's own past.

A long point takes the time to speak it: speakers go at 125 to 150 words a minute (Lucas, The Art of Public
Speaking, 2004, p. 300); the slower rate is used.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from fractions import Fraction

from showrunner.domain.episode import Episode
from showrunner.domain.house import HouseRules
from showrunner.domain.record import record
from showrunner.errors import BadInput

WORDS_A_MINUTE = 125
"""Speaking rate, words a minute."""

ENOUGH_EPISODES = 3
"""Past episodes with both times from which on the estimate is corrected."""


@record
class RunTime:
    """An estimate of the run time, part by part, in seconds."""

    opening: int
    """Opening."""
    points: int
    """All points."""
    holds: int
    """All required views, held for the viewer."""
    closing: int
    """Close."""
    ratio: Fraction = Fraction(1)
    """What the sum is multiplied by: the median of actual/estimate of past episodes."""
    episodes: int = 0
    """Past episodes that the ratio rests on; below three it is 1."""

    @property
    def seconds(self) -> int:
        """The estimate, to the nearest second."""
        return round((self.opening + self.points + self.holds + self.closing) * self.ratio)


def speaking_seconds(words: int, rate: int = WORDS_A_MINUTE) -> Fraction:
    """Seconds to speak so many words at `rate` words a minute."""
    return Fraction(words * 60, rate)


def past_ratio(episodes: Iterable[Episode]) -> tuple[Fraction, int]:
    """The median of actual/estimate over past episodes that have both, and how many; (1, n) below three."""
    ratios = [Fraction(e.run_seconds, e.estimate_seconds) for e in episodes if e.run_seconds and e.estimate_seconds]
    if len(ratios) < ENOUGH_EPISODES:
        return Fraction(1), len(ratios)
    ratios.sort()
    middle = len(ratios) // 2
    return (ratios[middle] + ratios[-1 - middle]) / 2, len(ratios)


def run_time(points: Sequence[str], holds: int, house: HouseRules, episodes: Iterable[Episode] = ()) -> RunTime:
    """The run time of an episode.

    Args:
        points: what is said.
        holds: required views.
        house: house rules with the seconds of each.
        episodes: past episodes.
    """
    spoken = sum(max(house.point_seconds, round(speaking_seconds(len(text.split())))) for text in points)
    ratio, known = past_ratio(episodes)
    return RunTime(house.opening_seconds, spoken, holds * house.hold_seconds, house.closing_seconds, ratio, known)


def clock_words(seconds: int) -> str:
    """Seconds as minutes and seconds, or hours: `12:45`, `1:02:03`."""
    minutes, rest = divmod(max(0, seconds), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02}:{rest:02}" if hours else f"{minutes}:{rest:02}"


def read_run_time(text: str) -> int:
    """Seconds of a run time written as `12:45` or `1:02:03`; nothing is 0.

    Raises:
        BadInput: it is written otherwise.
    """
    if not text.strip():
        return 0
    if not re.fullmatch(r"(\d{1,2}:)?\d{1,3}:[0-5]\d", text.strip()):
        raise BadInput(f"'{text}' is no run time", "run time", "write minutes and seconds, like 12:45")
    seconds = 0
    for part in text.strip().split(":"):
        seconds = seconds * 60 + int(part)
    return seconds
