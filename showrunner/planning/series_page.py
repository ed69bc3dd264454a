"""The page that lists the studies of a series: which are missing on it, and which stand out of order."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from enum import StrEnum

from showrunner.domain.book import Book
from showrunner.domain.episode import Series
from showrunner.domain.record import record
from showrunner.domain.titles import quoted, title_of


class PageFlaw(StrEnum):
    """What can be wrong with an entry of the page."""

    MISSING = "missing"
    """The study is out and not on the page."""
    ORDER = "order"
    """It stands out of order."""
    NOT_OUT = "not out"
    """It is on the page and not out."""
    TWICE = "twice"
    """It stands there more than once."""


@record
class PageFault:
    """One entry of the page that is not as it should be."""

    flaw: PageFlaw
    """What is wrong."""
    study: str
    """Id of the study."""


def published_in(book: Book, series: str) -> tuple[str, ...]:
    """Ids of the studies of a series that are out, in the order of the record."""
    lines = [line for line in book.publications if line.series == series and line.actual and line.episode]
    return tuple(dict.fromkeys(line.episode for line in lines))


def page_faults(book: Book, series: Series) -> tuple[PageFault, ...]:
    """What is wrong with the page of a series: gaps first, then what should not be there, then the order.

    The page may begin with the oldest or with the newest; fewest entries are named as out of order.
    """
    out = published_in(book, series.id)
    once = tuple(dict.fromkeys(series.listed))
    missing = [PageFault(PageFlaw.MISSING, id) for id in out if id not in once]
    strange = [PageFault(PageFlaw.NOT_OUT, id) for id in once if id not in out]
    twice = [PageFault(PageFlaw.TWICE, id) for id in once if series.listed.count(id) > 1]
    ranks = [out.index(id) for id in once if id in out]
    kept = max(_rising(ranks), _rising([-rank for rank in ranks]), key=len)
    fine = {ranks[at] for at in kept}
    order = [PageFault(PageFlaw.ORDER, out[rank]) for rank in ranks if rank not in fine]
    return (*missing, *strange, *twice, *order)


def _rising(values: Sequence[int]) -> list[int]:
    """Places of a longest rising row of values, which are all different."""
    ends: list[int] = []
    last: list[int] = []
    before: list[int | None] = []
    for at, value in enumerate(values):
        place = bisect_left(ends, value)
        before.append(last[place - 1] if place else None)
        ends[place : place + 1] = [value]
        last[place : place + 1] = [at]
    row: list[int] = []
    here = last[-1] if last else None
    while here is not None:
        row.append(here)
        here = before[here]
    return row[::-1]


def page_words(book: Book, fault: PageFault) -> str:
    """A fault of the page as a sentence without its full stop."""
    title = quoted(title_of(book, fault.study))
    return {
        PageFlaw.MISSING: f"{title} is out and not on the page",
        PageFlaw.NOT_OUT: f"{title} is on the page and not out",
        PageFlaw.TWICE: f"{title} stands on the page more than once",
        PageFlaw.ORDER: f"{title} stands out of order on the page",
    }[fault.flaw]
