"""How many will be left once a study is out: the sentence for viewers as it holds on that day."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.episode import Episode
from showrunner.planning.lived import lived_until
from showrunner.planning.runout import run_out


def left_then(
    book: Book,
    study: Episode,
    today: date,
    *,
    time_limit: float | None = None,
    ticker: Callable[[], float] | None = None,
) -> str:
    """The sentence for viewers on the day of a study, with it and all that is planned before it out as planned.

    Of a study that is out already, or has no slot to come, it is the sentence of today.

    Args:
        book: the book.
        study: the study.
        today: the day it is.
        time_limit: seconds for each outcome's plan; None for no limit.
        ticker: a clock in seconds for the limit.

    Raises:
        ShowrunnerError: nothing can be told of its series.
    """
    day = today
    if study.slot and not study.published and study.slot.day >= today:
        day = study.slot.day
        before = [e for e in book.open_studies if e.slot and today <= e.slot.day <= day]
        for episode in sorted(before, key=lambda e: e.slot.day if e.slot else day):
            if episode.slot:
                book = edits.publish(book, episode.id, episode.slot.day)
    found = run_out(lived_until(book, day), day, series=study.series, time_limit=time_limit, ticker=ticker)
    return found.statement
