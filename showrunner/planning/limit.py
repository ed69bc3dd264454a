"""How long a search may take: asked in every step, so that none goes on for long after its time."""

from __future__ import annotations

from collections.abc import Callable

from showrunner.domain.record import record


class TimeUp(Exception):
    """The time is up; whoever holds the best answer so far gives that."""


@record
class Limit:
    """A reading of a clock that ends the search."""

    ticker: Callable[[], float] | None = None
    """A clock in seconds; None for no limit."""
    until: float = 0.0
    """The reading at which the time is up."""

    @classmethod
    def of(cls, seconds: float | None, ticker: Callable[[], float] | None) -> Limit:
        """The limit so many seconds from now; none if either is missing."""
        return cls() if seconds is None or ticker is None else cls(ticker, ticker() + seconds)

    def check(self) -> None:
        """Go on.

        Raises:
            TimeUp: the time is up.
        """
        if self.ticker is not None and self.ticker() > self.until:
            raise TimeUp

    def share(self, part: float) -> Limit:
        """A limit at so much of the time that is left."""
        if self.ticker is None:
            return self
        now = self.ticker()
        return Limit(self.ticker, now + part * max(self.until - now, 0))


ENDLESS = Limit()
"""No limit."""
