"""Which promises of a book cannot all be kept: pins against pins, windows, dark ranges and rules.

Only what needs no search and no `today`; whether the work fits is for planning to say.
Pins of published studies are history and bind nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime
from itertools import combinations, pairwise
from zoneinfo import ZoneInfo

from showrunner.domain.book import Book
from showrunner.domain.episode import Episode, EpisodeKind, Pin, PinKind
from showrunner.domain.house import WEEKDAYS
from showrunner.domain.slot import SlotRef, SlotRule
from showrunner.domain.windows import inside, window_words
from showrunner.domain.words import count, listing
from showrunner.domain.words import day as day_words
from showrunner.errors import Contradiction


def clashes(book: Book) -> tuple[Contradiction, ...]:
    """Every contradiction among the promises of a book, each naming all its parties and one way out."""
    return tuple(
        clash for part in (_dates_alone, _dates_together, _orders, _orders_and_dates, _pairs) for clash in part(book)
    )


def quoted(title: str) -> str:
    """A title in a sentence."""
    return f"“{title}”"


def slot_words(book: Book, slot: SlotRef) -> str:
    """A slot in words: `22 March 2026 (long feature)`."""
    rule = book.find("rules", slot.rule)
    return f"{day_words(slot.day)} ({rule.name if rule else slot.rule})"


def pin_words(book: Book, pin: Pin) -> str:
    """A pin in words: `“Apron” on 22 March 2026 (long feature)`."""
    if pin.kind is PinKind.PAIR:
        first, second = (_piece_name(book, piece) for piece in pin.pieces)
        return f"{first} with {second}"
    titles = [quoted(_title(book, episode)) for episode in pin.episodes]
    if pin.kind is PinKind.ORDER:
        return " before ".join(titles)
    return f"{titles[0]} on {slot_words(book, pin.slot)}" if pin.slot else titles[0]


def not_a_slot(rule: SlotRule, day: date) -> str:
    """Why a day is no slot of a rule, in words; empty if it is one."""
    if day.weekday() != rule.weekday:
        return f"{day_words(day)} is a {WEEKDAYS[day.weekday()]}, and {rule.name} comes on {WEEKDAYS[rule.weekday]}s"
    if rule.first and day < rule.first:
        return f"{rule.name} starts on {day_words(rule.first)}, after {day_words(day)}"
    if rule.last and day > rule.last:
        return f"{rule.name} ends on {day_words(rule.last)}, before {day_words(day)}"
    return ""


@dataclass(frozen=True, slots=True)
class _Dated:
    """An open study that a pin holds to a slot."""

    study: Episode
    slot: SlotRef


def _piece_name(book: Book, piece: str) -> str:
    found = book.find("pieces", piece)
    return found.name if found else piece


def _title(book: Book, episode: str) -> str:
    found = book.find("episodes", episode)
    return found.title if found else episode


def _is_open(book: Book, episode: str) -> bool:
    found = book.find("episodes", episode)
    return found is not None and not found.published


def _dated(book: Book) -> list[_Dated]:
    return [
        _Dated(book.episode(pin.episodes[0]), pin.slot)
        for pin in book.pins
        if pin.slot is not None and pin.kind is PinKind.DATE and _is_open(book, pin.episodes[0])
    ]


def _instant(book: Book, slot: SlotRef) -> datetime:
    """The instant of a slot; noon UTC of its day if its rule or zone is unknown."""
    rule: SlotRule | None = book.find("rules", slot.rule)
    try:
        zone = ZoneInfo(rule.zone) if rule else None
    except (OSError, ValueError, LookupError):
        zone = None
    if rule is None or zone is None:
        return datetime(slot.day.year, slot.day.month, slot.day.day, 12, tzinfo=UTC)
    return datetime.combine(slot.day, rule.at, zone).astimezone(UTC)


def _dates_alone(book: Book) -> Iterator[Contradiction]:
    """A pinned date against its own rule, series, windows and dark ranges, and against filler in the slot."""
    for dated in _dated(book):
        study, slot = dated.study, dated.slot
        title, when = quoted(study.title), slot_words(book, slot)
        rule = book.find("rules", slot.rule)
        series = book.find("series", study.series)
        if rule and (why := not_a_slot(rule, slot.day)):
            yield Contradiction(f"{title} is promised {when}, but {why}", "", "pin it to a slot", (study.id,))
        if series and slot.rule not in series.rules:
            yield Contradiction(
                f"{title} is promised {when}, but {series.name} may not use that slot",
                way_out="pin it to a slot of its series, or allow the slot",
                parties=(study.id, series.id),
            )
        hard = [window for window in study.windows if window.hard]
        if hard and not inside(hard, slot.day):
            yield Contradiction(
                f"{title} is promised {when}, but must fall in {' or '.join(map(window_words, hard))}",
                way_out="pin it to a date inside, or make the window soft",
                parties=(study.id,),
            )
        for dark in book.dark:
            if dark.no_publication and dark.covers(slot.day):
                yield Contradiction(
                    f"{title} is promised {when}, but nothing is published from {day_words(dark.first)}"
                    f" to {day_words(dark.last)}",
                    way_out="unpin it, or change the dark range",
                    parties=(study.id, dark.id),
                )
        for other in book.episodes:
            if other.slot == slot and not other.published and other.kind is EpisodeKind.FILLER:
                yield Contradiction(
                    f"{title} is promised {when}, but {quoted(other.title)} is planned there",
                    way_out="take that episode out of the slot, or unpin the study",
                    parties=(study.id, other.id),
                )


def _dates_together(book: Book) -> Iterator[Contradiction]:
    """Pinned dates against each other."""
    for one, two in combinations(_dated(book), 2):
        parties = (one.study.id, two.study.id)
        both = f"{quoted(one.study.title)} and {quoted(two.study.title)}"
        if one.study.id == two.study.id:
            if one.slot != two.slot:
                what = f"{quoted(one.study.title)} is promised both {slot_words(book, one.slot)} and "
                yield Contradiction(
                    what + slot_words(book, two.slot), way_out="unpin one of the dates", parties=parties[:1]
                )
        elif one.slot == two.slot:
            what = f"{both} are both promised {slot_words(book, one.slot)}"
            yield Contradiction(what, way_out="unpin one of them", parties=parties)
        elif one.study.series == two.study.series and (series := book.find("series", one.study.series)):
            gap = abs((one.slot.day - two.slot.day).days)
            if gap < series.min_weeks * 7:
                yield Contradiction(
                    f"{both} are promised {count(gap, 'day')} apart, but {series.name} keeps at least "
                    f"{count(series.min_weeks, 'week')}",
                    way_out="unpin one of them, or allow a smaller gap",
                    parties=parties,
                )


def _followers(book: Book) -> dict[str, list[str]]:
    """For every study, those promised straight after it; only orders whose second study is open."""
    after: dict[str, list[str]] = {}
    for pin in book.pins:
        if pin.kind is PinKind.ORDER and _is_open(book, pin.episodes[1]):
            after.setdefault(pin.episodes[0], []).append(pin.episodes[1])
    return after


def _path(after: dict[str, list[str]], start: str, end: str) -> list[str]:
    """A shortest chain of orders from one study to another, both included; empty if there is none."""
    came_from = {start: ""}
    queue = [start]
    for here in queue:
        if here == end:
            chain = [end]
            while came_from[chain[-1]]:
                chain.append(came_from[chain[-1]])
            return chain[::-1]
        for there in after.get(here, ()):
            if there not in came_from:
                came_from[there] = here
                queue.append(there)
    return []


def _chain_words(book: Book, chain: list[str]) -> str:
    titles = [quoted(_title(book, episode)) for episode in chain]
    return listing([f"{one} before {two}" for one, two in pairwise(titles)])


def _orders(book: Book) -> Iterator[Contradiction]:
    """Orders that go round in a circle, or that the record has already broken."""
    after = _followers(book)
    seen: set[frozenset[str]] = set()
    for pin in book.pins:
        if pin.kind is not PinKind.ORDER:
            continue
        first, second = pin.episodes
        if _is_open(book, first) and not _is_open(book, second) and book.find("episodes", second):
            yield Contradiction(
                f"{quoted(_title(book, first))} is promised before {quoted(_title(book, second))}, "
                "which has been published already",
                way_out="unpin the order",
                parties=(first, second),
            )
        circle = _path(after, second, first) if _is_open(book, second) else []
        if circle and frozenset(circle) not in seen:
            seen.add(frozenset(circle))
            yield Contradiction(
                f"the promises {_chain_words(book, [first, *circle])} cannot all be kept",
                way_out="unpin one of the orders",
                parties=(first, *circle[:-1]),
            )


def _orders_and_dates(book: Book) -> Iterator[Contradiction]:
    """Dates that stand against a chain of orders."""
    after = _followers(book)
    for one in _dated(book):
        for two in _dated(book):
            if one.study.id == two.study.id or _instant(book, one.slot) < _instant(book, two.slot):
                continue
            chain = _path(after, one.study.id, two.study.id)
            if chain:
                yield Contradiction(
                    f"{_chain_words(book, chain)} is promised, but so are "
                    f"{quoted(one.study.title)} on {slot_words(book, one.slot)} and "
                    f"{quoted(two.study.title)} on {slot_words(book, two.slot)}",
                    way_out="unpin a date or an order",
                    parties=tuple(chain),
                )


def _pairs(book: Book) -> Iterator[Contradiction]:
    """Pairs that share a piece, or whose pieces stand in different studies."""
    shown = [set(study.pieces) for study in book.studies if study.published]
    pairs = [p for p in book.pins if p.kind is PinKind.PAIR and not any(set(p.pieces) <= both for both in shown)]
    for one, two in combinations(pairs, 2):
        shared = set(one.pieces) & set(two.pieces)
        if len(shared) == 1:
            (piece,) = shared
            yield Contradiction(
                f"{_piece_name(book, piece)} is promised in two pairs, {pin_words(book, one)} and "
                f"{pin_words(book, two)}",
                way_out="unpin one of the pairs",
                parties=(one.id, two.id),
            )
    for pin in pairs:
        first, second = (book.study_of_piece(piece) for piece in pin.pieces)
        if (first and first.id) == (second and second.id):
            continue
        names = [_piece_name(book, piece) for piece in pin.pieces]
        places = [
            f"{name} is in {quoted(study.title)}" if study else f"{name} is in no study"
            for name, study in zip(names, (first, second), strict=True)
        ]
        yield Contradiction(
            f"{listing(names)} are promised together, but {listing(places)}",
            way_out="bring them into one study, or unpin the pair",
            parties=(pin.id, *(study.id for study in (first, second) if study)),
        )
