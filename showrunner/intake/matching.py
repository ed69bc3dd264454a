"""Which pieces past episodes showed: surely, likely, or not at all as far as can be told.

Sure only on firm evidence, and each of these is:

- *The list says so*: the column that says what an episode is about names a piece by its id, its name or its nickname
  (`naming`). If all of the column names pieces surely, the title is not asked. What names nothing is told.
- *The book says so*: the piece was shown on the very day the episode came out, and no other episode of the list came
  out then, or of those only this one has the name of the piece. Nothing is sure if an episode that surely names the
  piece and whose day is not quite known may have come out then.
- *The title says so*: it holds the name of the piece, or a nickname that nothing else has (`naming`).

What speaks against it:

- *It cannot be in it*: the piece was acquired after the episode came out, or is on a shopping list and has not
  arrived. It is no candidate, unless the list names it by id; then it is likely only, and the reason tells why.
- *The dates disagree*: the piece was surely shown at another time, or an acquisition in doubt is later. A name is then
  likely only, with a chance of `AGAINST` percent; an id stays sure, since a piece can be shown twice.

Likely where weak evidence comes to `FLOOR` percent (`traces`), up to `MOST`: a house rule, not statistics. What the
list says without naming a piece surely counts `HINT` percent, over what it may mean; those are candidates however low
their chance. A piece that was shown at another time, or that another episode surely showed, counts `TWICE` as much;
if that one explains the date at which the book has it shown, the date tells nothing of any other.

What is sure of one piece of a pair is told with what weak evidence there is for the other. All other episodes are
about no piece. Ties are in book order. Nothing depends on the order of the episodes.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from enum import StrEnum
from typing import TypeVar

from showrunner.domain import words
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.piece import Known, Piece, WantStatus
from showrunner.intake.naming import Names
from showrunner.intake.plain_words import LONGEST, read
from showrunner.intake.traces import Told, Vocabulary, agreeing, either

_Key = TypeVar("_Key")

_LISTED = "the list says it is about "
_SHOWN = "the book has it shown "

FLOOR = 30
"""Percent below which a piece is no candidate."""

MOST = 90
"""Percent above which no candidate rises."""

CANDIDATES = 5
"""Most candidates of one episode."""

HINT = 85
"""Percent that the list tells where it hints at one piece."""

AGAINST = 30
"""Chance, percent, of a piece that is named but was shown at another time."""

TWICE = 0.6
"""How much of what tells of a piece is left if it was shown in another episode: a piece can be shown twice."""

NOT_YET = 40
"""Chance, percent, of a piece that the list names by id but that was not there yet."""

MOST_SAID = 4
"""Most words of a title, and of a list, that a reason quotes."""

NARROW = 7
"""Most days of a date that by itself makes a candidate."""


class Likeness(StrEnum):
    """How surely an episode showed pieces of the collection."""

    SURE = "sure"
    LIKELY = "likely"
    NONE = "none"


@dataclass(frozen=True, slots=True)
class Showing:
    """One episode of a list, as far as matching needs it."""

    title: str
    """Its title."""
    day: FuzzyDate | None
    """When it came out; None if not known."""
    about: str = ""
    """What the list itself says it is about: ids or names of pieces with `;`, `,`, `&` or `and` between."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """A piece that an episode may be about."""

    piece: str
    """Id of the piece."""
    chance: int
    """Percent that it is, 1 to 99: a house rule, not statistics."""
    why: str
    """What it rests on, in words."""


@dataclass(frozen=True, slots=True)
class Match:
    """What one episode is matched with."""

    showing: int
    """Place of the episode in the list, from 0."""
    likeness: Likeness
    """How surely."""
    pieces: tuple[str, ...]
    """If sure, ids of the pieces shown, in the order of the title; otherwise empty."""
    candidates: tuple[Candidate, ...]
    """The pieces it may be about, best first, at most `CANDIDATES`; if some are sure, those it may show besides."""
    why: str
    """One clause that says on what the verdict rests."""


@dataclass(frozen=True, slots=True)
class Matching:
    """A list of episodes matched with the pieces of a collection."""

    matches: tuple[Match, ...]
    """One for each episode, in the order of the list."""
    pieces_left: tuple[str, ...]
    """Ids of the pieces that no sure match names, in book order."""


def match(showings: Sequence[Showing], pieces: Sequence[Piece]) -> Matching:
    """Match past episodes with pieces, by the rules at the head of this module.

    Args:
        showings: the episodes, in any order.
        pieces: the pieces, in book order.

    Returns:
        A match for each episode, and the pieces left.
    """
    return _Matcher(showings, pieces).matching()


@dataclass(slots=True)
class _Named:
    """What the list, the title and the book say of one episode, piece by piece."""

    sure: dict[int, tuple[str, str]] = field(default_factory=dict)
    """Places of the pieces it surely showed, with the beginning of the reason, which others may share, and its end."""
    fixed: dict[int, tuple[int, str]] = field(default_factory=dict)
    """Places of pieces named against the evidence, with their chance, percent, and the reason."""
    hinted: dict[int, tuple[float, str]] = field(default_factory=dict)
    """Places of pieces that the list may mean, with what it tells, 0 to 1, and the reason."""
    asides: list[str] = field(default_factory=list)
    """What else is to be told."""


class _Matcher:
    """The matching of one list with one collection, step by step."""

    def __init__(self, showings: Sequence[Showing], pieces: Sequence[Piece]) -> None:
        self.showings, self.pieces = showings, pieces
        self.shown = [piece.shown.when if piece.shown.known is Known.YES else None for piece in pieces]
        self.titles = [read(showing.title) for showing in showings]
        self.names = Names(pieces, _places(title.telling for title in self.titles))
        self.parts = [self.names.parts(showing.about) for showing in showings]
        self.spots = [self.names.firm(title) for title in self.titles]
        self.named = [self._named(place) for place in range(len(showings))]
        self._by_day()
        self.shown_in = _places(named.sure for named in self.named)
        loose = [read(" ".join(part.text for part in parts if not part.pieces)).words for parts in self.parts]
        self.texts = [replace(title, words=title.words + more) for title, more in zip(self.titles, loose, strict=True)]
        self.known = Vocabulary(pieces)
        self.heard = self.known.hear([showing.title for showing in showings], self.texts)
        self.in_texts = _places(self.heard)
        self.narrow = _places(_days(when) for when in self.shown)

    def matching(self) -> Matching:
        """Everything matched."""
        matches = tuple(self._match(place) for place in range(len(self.showings)))
        left = tuple(piece.id for place, piece in enumerate(self.pieces) if place not in self.shown_in)
        return Matching(matches, left)

    # --- firm evidence -----------------------------------------------------------------------------------------

    def _named(self, showing: int) -> _Named:
        """What the list and the title say of an episode."""
        named = _Named()
        parts, title = self.parts[showing], self.titles[showing]
        for part in parts:
            quoted = f"'{_short(part.text)}'"
            if part.firm:
                self._weigh_name(showing, part.pieces[0], _LISTED, quoted, named, by_id=part.by_id)
                continue
            several = ", which may be one of several" if len(part.pieces) > 1 else ""
            for piece in part.pieces:
                named.hinted.setdefault(piece, (HINT / 100 / part.readings, f"{_LISTED}{quoted}{several}"))
            if part.text:
                named.asides.append(
                    f"{quoted} {'may be one piece or another' if part.pieces else 'names no piece surely'}"
                )
        if not named.sure or not all(part.firm and part.pieces[0] in named.sure for part in parts):
            for spot in self.spots[showing]:
                quoted = f"'{_short(' '.join(title.words[spot.start : spot.end]))}'"
                self._weigh_name(showing, spot.piece, "the title holds ", quoted, named)
        return named

    def _weigh_name(
        self, showing: int, piece: int, begin: str, quoted: str, named: _Named, *, by_id: bool = False
    ) -> None:
        """Weigh a firm name against the dates."""
        absent, against = self._absent(piece, showing), self._against(piece, showing)
        if piece in named.sure:
            return
        if absent:
            named.asides.append(f"{begin}{quoted}, which cannot be in it: {absent}")
            if by_id:
                named.fixed[piece] = (NOT_YET, f"{begin}{quoted}, but {absent}")
        elif against and not by_id:
            named.asides.append(f"{begin}{quoted}, which is left out: {against}")
            named.fixed.setdefault(piece, (AGAINST, f"{begin}{quoted}, but {against}"))
        else:
            named.sure[piece] = begin, quoted + (f", though {against}" if against else "")

    def _by_day(self) -> None:
        """Add to what is sure the pieces that the book has shown on the very day an episode came out."""
        on_day = _places([s.day.earliest] if s.day and s.day.is_exact else [] for s in self.showings)
        naming = _places([*named.sure] for named in self.named)
        found: list[tuple[int, int, str]] = []
        for piece, when in enumerate(self.shown):
            then = on_day.get(when.earliest, set()) if when and when.is_exact else set()
            chosen = then if len(then) == 1 else {place for place in then if piece in self._names_in(place)}
            elsewhere = naming.get(piece, set()) - then
            if not when or len(chosen) != 1 or any(_may_be(self.showings[place].day, when) for place in elsewhere):
                continue
            only = "nothing else came out" if len(then) == 1 else "nothing else with its name came out"
            found.append((min(chosen), piece, f"{wording_of(when.words)}, when {only}"))
        for place, piece, why in found:
            numbers = [part for part in self.parts[place] if part.firm and part.by_id]
            if self._absent(piece, place):
                continue
            if numbers and not any(piece in part.pieces for part in numbers):
                told = f"{_short(self.pieces[piece].name)} has that day too, but the list gives a number"
                self.named[place].asides.append(told)
            else:
                self.named[place].sure.setdefault(piece, (_SHOWN, why))

    def _names_in(self, showing: int) -> set[int]:
        """The pieces of which the title, or a part of the column, has a name."""
        return self.names.named_in(self.titles[showing]).union(*(part.pieces for part in self.parts[showing]))

    # --- the match ---------------------------------------------------------------------------------------------

    def _match(self, showing: int) -> Match:
        """The match of one episode."""
        named = self.named[showing]
        best = self._candidates(showing)
        candidates = tuple(Candidate(self.pieces[piece].id, -minus, why) for minus, piece, why in best)
        if not named.sure:
            if candidates:
                return Match(showing, Likeness.LIKELY, (), candidates, f"not sure: {candidates[0].why}")
            why = "; ".join(["nothing in it tells of a piece", *dict.fromkeys(named.asides)])
            return Match(showing, Likeness.NONE, (), (), why)
        pieces = sorted(named.sure, key=lambda piece: self._order(showing, piece))
        besides = [f"it may show {one.piece} too: {one.why}" for one in candidates]
        ends: dict[str, dict[str, None]] = {}
        for begin, end in (named.sure[piece] for piece in pieces):
            ends.setdefault(begin, {})[end] = None
        reasons = [begin + words.listing([*those]) for begin, those in ends.items()]
        why = "; ".join([*reasons, *dict.fromkeys(named.asides), *besides])
        return Match(showing, Likeness.SURE, tuple(self.pieces[piece].id for piece in pieces), candidates, why)

    def _order(self, showing: int, piece: int) -> tuple[int, int, int]:
        """Where a piece comes in an episode: by the title, then by the list, then in book order."""
        heard, listed = self.heard[showing], [piece in part.pieces for part in self.parts[showing]]
        words = [(len(self.known.holders[word]), heard[word].place) for word in self.known.held[piece] if word in heard]
        starts = [spot.start for spot in self.spots[showing] if spot.piece == piece]
        start = min(starts, default=min(words)[1] if words else LONGEST)
        return min(start, len(self.titles[showing].words)), (*listed, True).index(True), piece

    # --- weak evidence -----------------------------------------------------------------------------------------

    def _candidates(self, showing: int) -> list[tuple[int, int, str]]:
        """The likely pieces, best first, each with its chance, percent and negative, and the reason.

        If some are sure, others are by words that those do not hold, and none if the list is clear.
        """
        named, heard = self.named[showing], self.heard[showing]
        if named.sure:
            if self.parts[showing] and all(part.firm for part in self.parts[showing]):
                return []
            held = {word for piece in named.sure for word in self.known.held[piece]}
            heard = {word: found for word, found in heard.items() if word not in held}
        told = self.known.weigh(self.texts[showing], heard, self.in_texts)
        near = {piece for day in _days(self.showings[showing].day) for piece in self.narrow.get(day, ())}
        weighed: list[tuple[int, int, str]] = []
        for piece in sorted({*told, *near, *named.hinted} - named.sure.keys() - named.fixed.keys()):
            percent, why = self._weigh(showing, piece, told.get(piece))
            if percent >= FLOOR or (percent and piece in named.hinted):
                weighed.append((-percent, piece, why))
        if not named.sure:
            weighed += [(-percent, piece, why) for piece, (percent, why) in named.fixed.items()]
        return sorted(weighed)[:CANDIDATES]

    def _weigh(self, showing: int, piece: int, told: Told | None) -> tuple[int, str]:
        """The chance of a piece, percent, and what it rests on."""
        if self._absent(piece, showing):
            return 0, ""
        found = [self.named[showing].hinted[piece]] if piece in self.named[showing].hinted else []
        when, day, others = self.shown[piece], self.showings[showing].day, self.shown_in.get(piece, set()) - {showing}
        explained = any(_agree(when, self.showings[other].day) for other in others)
        if when and day and _agree(when, day) and not explained:
            tells = agreeing(max(_width(when), _width(day)))
            found.append((tells, f"shown {wording_of(when.words)}, as this came out"))
        found.sort(reverse=True)
        if told:
            found.append((told.chance, self._said(showing, told)))
        chance = either(tells for tells, _ in found)
        against = self._against(piece, showing)
        why = [reason for tells, reason in found if tells >= 0.05] + ([f"but {against}"] if against else [])
        chance *= TWICE if against or others else 1
        if others:
            why.append("but another episode surely showed it")
        return min(MOST, max(1, int(100 * chance))), ", ".join(why)

    def _said(self, showing: int, told: Told) -> str:
        """Which words the title and the list say, in words."""
        length = len(self.titles[showing].words)
        title = [f"'{found.word}'" for found in told.words if found.place < length][:MOST_SAID]
        listed = [f"'{found.word}'" for found in told.words if found.place >= length][:MOST_SAID]
        both = (("the title says ", title), ("the list says ", listed))
        return "; ".join(begin + words.listing(said) for begin, said in both if said)

    # --- what speaks against -----------------------------------------------------------------------------------

    def _absent(self, piece: int, showing: int) -> str:
        """Why a piece cannot be in an episode; empty if it can."""
        record, day = self.pieces[piece], self.showings[showing].day
        if record.want and record.want.status is not WantStatus.ARRIVED:
            return "it has not arrived"
        got = record.acquired
        if got and day and _later(got, day) and not got.in_doubt and not day.in_doubt:
            return f"it was acquired {wording_of(got.words)}, after this came out"
        return ""

    def _against(self, piece: int, showing: int) -> str:
        """What in the dates speaks against a piece; empty if nothing does."""
        got, when, day = self.pieces[piece].acquired, self.shown[piece], self.showings[showing].day
        if day and when and not _may_be(day, when):
            return _SHOWN + wording_of(when.words)
        if day and got and _later(got, day):
            return f"it was acquired {wording_of(got.words)}"
        return ""


def wording_of(when: str) -> str:
    """A date in words with the preposition it takes: `on 4 August 2024`, `in August 2024`, `about 2024`."""
    first = when.split(" ", 1)[0]
    if first.isdigit() and " " in when:
        return f"on {when}"
    return f"in {when}" if first.isdigit() or first[:1].isupper() else when


def _places(found: Iterable[Iterable[_Key]]) -> dict[_Key, set[int]]:
    """For each thing the places at which it is found."""
    places: defaultdict[_Key, set[int]] = defaultdict(set)
    for place, things in enumerate(found):
        for thing in things:
            places[thing].add(place)
    return places


def _short(text: str) -> str:
    """Words for quoting, cut where they are long."""
    return words.short(text, 60)


def _later(first: FuzzyDate, second: FuzzyDate) -> bool:
    """Whether the whole of a date lies after another, by their strict bounds."""
    return bool(first.earliest and second.latest and first.earliest > second.latest)


def _may_be(day: FuzzyDate | None, when: FuzzyDate) -> bool:
    """Whether two dates may be one day."""
    return day is None or not (_later(day, when) or _later(when, day))


def _agree(when: FuzzyDate | None, day: FuzzyDate | None) -> bool:
    """Whether two dates that are bounded on both sides have a day in common."""
    return bool(when and day and _width(when) and _width(day) and _may_be(day, when))


def _width(when: FuzzyDate) -> int:
    """Days that a date spans; 0 if it is not bounded on both sides."""
    return (when.latest - when.earliest).days + 1 if when.earliest and when.latest else 0


def _days(when: FuzzyDate | None) -> list[date]:
    """The days of a date that is narrow."""
    if not (when and when.earliest and _width(when) <= NARROW):
        return []
    return [when.earliest + timedelta(days=after) for after in range(_width(when))]
