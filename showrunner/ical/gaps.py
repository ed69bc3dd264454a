"""What came before a study in its series, and when, no firmer than the book knows it."""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Mapping
from datetime import date

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.record import record


@record
class Span:
    """A study that came out, or is to, between two days."""

    first: date
    """First day on which that may be."""
    last: date
    """Last day (inclusive); the same where the day is known."""
    episode: str
    """Id of the episode; empty where the record does not say."""
    title: str
    """Its title."""
    words: str
    """The day or days in words."""


@record
class Gaps:
    """The studies of each series by the last day on which they may have come out."""

    spans: Mapping[str, tuple[Span, ...]]
    """By id of the series."""
    vague: Mapping[str, tuple[Span, ...]]
    """Those of them whose day is not known."""
    lasts: Mapping[str, tuple[date, ...]]
    """Their last days."""

    @classmethod
    def of(cls, book: Book) -> Gaps:
        """The studies on record and those that are planned."""
        found: dict[str, list[Span]] = defaultdict(list)
        for line in book.publications:
            if line.series and (came := line.actual):
                first, last = came.earliest or date.min, came.latest or date.max
                found[line.series].append(Span(first, last, line.episode, line.title, came.words))
        for study in book.open_studies:
            if study.slot:
                day = study.slot.day
                found[study.series].append(Span(day, day, study.id, study.title, words.day(day)))
        spans = {series: tuple(sorted(each, key=lambda span: span.last)) for series, each in found.items()}
        vague = {series: tuple(span for span in each if span.first < span.last) for series, each in spans.items()}
        return cls(spans, vague, {series: tuple(span.last for span in each) for series, each in spans.items()})

    def before(self, series: str, episode: str, on: date) -> Span | None:
        """The study that came before one that comes out on a day; None if there is none or it is not sure which.

        Args:
            series: id of the series.
            episode: id of the one that comes out, which does not come before itself.
            on: the day.
        """
        spans = self.spans.get(series, ())
        at = bisect_left(self.lasts.get(series, ()), on) - 1
        while at >= 0 and spans[at].episode == episode:
            at -= 1
        if at < 0 or spans[at].first == date.min:
            return None
        nearest = spans[at]
        others = (span for span in self.vague[series] if span is not nearest and span.episode != episode)
        doubtful = any(span.first < on and span.last >= nearest.first for span in others)
        crossed = at > 0 and nearest.first <= spans[at - 1].last and spans[at - 1].episode != episode
        return None if doubtful or crossed else nearest
