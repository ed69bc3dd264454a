"""Which pieces past episodes showed: surely, likely, or not at all as far as can be told.

Sure only on firm evidence, and each of these is:

- *The list says so*: the column that says what an episode is about names a piece by its id, its name or its nickname
  (`naming`). If all of the column names pieces surely, the title is not asked. What names nothing is told and makes
  nothing else less sure.
- *The book says so*: the piece was shown on the very day the episode came out, and no other episode of the list came
  out then. If several did, the one whose title has the name of the piece; if none or more have it, nothing is sure.
  Nothing is sure either if an episode whose day is not quite known names the piece and may have come out then.
- *The title says so*: it holds the name of the piece, or a nickname that nothing else has (`naming`).

What speaks against it:

- *It cannot be in it*: the piece was acquired after the episode came out, or is on a shopping list and has not
  arrived. It is no candidate, unless the list names it by id; then it is likely only, and the reason tells why.
- *The dates disagree*: the piece was surely shown at another time. A name is then likely only, with a chance of
  `AGAINST` percent; an id stays sure, since a piece can be shown twice, and the reason tells it; weak evidence counts
  a quarter. The same goes for an acquisition that is only perhaps later.

What is sure of one piece of a pair is told with what weak evidence there is for the other.

Likely where weak evidence comes to `FLOOR` percent (`traces`), up to `MOST`: a house rule, not statistics.
- What the list says without naming a piece surely counts `HINT` percent, over what it may mean; those are candidates
  however low their chance.
- A name in the title that is not firm counts as `traces` counts names, nicknames alike.
- A piece that another episode surely showed counts half, since it was shown already, though a piece can be shown
  twice. If that one explains the date at which the book has it shown, the date tells nothing of any other.

All other episodes are about no piece. Ties are in book order. Nothing depends on the order of the episodes.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from enum import StrEnum

from showrunner.domain import words
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.piece import Known, Piece, WantStatus
from showrunner.intake import traces
from showrunner.intake.naming import Names, Part, Spot
from showrunner.intake.plain_words import Words, is_telling, read, stem
from showrunner.intake.traces import Trace

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

NOT_YET = 40
"""Chance, percent, of a piece that the list names by id but that was not there yet."""

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
    """If likely, the pieces it may be about, best first, at most `CANDIDATES`; otherwise empty."""
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

    sure: dict[int, str] = field(default_factory=dict)
    """Places of the pieces it surely showed, with the reason."""
    fixed: dict[int, tuple[int, str]] = field(default_factory=dict)
    """Places of pieces named against the evidence, with their chance and the reason."""
    hinted: dict[int, list[Trace]] = field(default_factory=dict)
    """Places of pieces that the list may mean."""
    asides: list[str] = field(default_factory=list)
    """What else is to be told."""


class _Matcher:
    """The matching of one list with one collection, step by step."""

    def __init__(self, showings: Sequence[Showing], pieces: Sequence[Piece]) -> None:
        self.showings = showings
        self.pieces = pieces
        self.titles = [read(showing.title) for showing in showings]
        stems: defaultdict[str, set[int]] = defaultdict(set)
        for place, title in enumerate(self.titles):
            for word in title.telling:
                stems[word].add(place)
        self.names = Names(pieces, stems)
        self.parts = [self.names.parts(showing.about) for showing in showings]
        self.spots = [self.names.spots(title) for title in self.titles]
        self.named = [self._named(place) for place in range(len(showings))]
        self._by_day()
        self.shown_in: defaultdict[int, set[int]] = defaultdict(set)
        for place, named in enumerate(self.named):
            for piece in named.sure:
                self.shown_in[piece].add(place)
        self.dated = {
            piece
            for piece, places in self.shown_in.items()
            if any(_agree(self._shown(piece), showings[place].day) for place in places)
        }
        self.known = traces.vocabulary(pieces, self.names.called)
        self.texts = [self._text(place) for place in range(len(showings))]
        self.heard = traces.hear(self.texts, self.known)
        self.in_texts: defaultdict[str, set[int]] = defaultdict(set)
        for place, heard in enumerate(self.heard):
            for word in heard:
                self.in_texts[word].add(place)
        self.narrow = self._narrow_dates()

    def matching(self) -> Matching:
        """Everything matched."""
        matches = tuple(
            self._sure(place) if self.named[place].sure else self._likely(place) for place in range(len(self.showings))
        )
        left = tuple(piece.id for place, piece in enumerate(self.pieces) if place not in self.shown_in)
        return Matching(matches, left)

    # --- firm evidence -----------------------------------------------------------------------------------------

    def _named(self, showing: int) -> _Named:
        """What the list and the title say of an episode."""
        named = _Named()
        for part in self.parts[showing]:
            self._part(showing, part, named)
        listed = [part for part in self.parts[showing] if part.pieces and part.pieces[0] in named.sure and part.firm]
        if listed and len(listed) == len(self.parts[showing]):
            return named
        for spot in self.spots[showing]:
            if spot.firm and spot.piece not in named.sure:
                self._spot(showing, spot, named)
        return named

    def _part(self, showing: int, part: Part, named: _Named) -> None:
        """Weigh what one part of the column names."""
        said = f"the list says it is about '{_short(part.text)}'"
        if not part.firm:
            for piece in part.pieces:
                several = ", which may be one of several" if len(part.pieces) > 1 else ""
                hint = Trace(HINT / 100 / part.readings, said + several)
                named.hinted.setdefault(piece, []).append(hint)
            if not part.pieces and part.text:
                named.asides.append(f"'{_short(part.text)}' names no piece surely")
            elif part.text:
                named.asides.append(f"'{_short(part.text)}' may be one piece or another")
            return
        piece = part.pieces[0]
        absent = self._absent(piece, showing)
        against = self._against(piece, showing)
        if absent and part.by_id:
            named.fixed[piece] = (NOT_YET, f"{said}, but {absent}")
            named.asides.append(f"'{_short(part.text)}' cannot be in it: {absent}")
        elif absent:
            named.asides.append(f"'{_short(part.text)}' cannot be in it: {absent}")
        elif against and not part.by_id:
            named.fixed[piece] = (AGAINST, f"{said}, but {against}")
            named.asides.append(f"'{_short(part.text)}' is left out: {against}")
        else:
            named.sure.setdefault(piece, said + (f", though {against}" if against else ""))

    def _spot(self, showing: int, spot: Spot, named: _Named) -> None:
        """Weigh a firm name in the title."""
        held = f"the title holds '{_short(' '.join(self.titles[showing].words[spot.start : spot.end]))}'"
        absent = self._absent(spot.piece, showing)
        against = self._against(spot.piece, showing)
        if absent:
            named.asides.append(f"{held}, which cannot be in it: {absent}")
        elif against:
            named.fixed.setdefault(spot.piece, (AGAINST, f"{held}, but {against}"))
            named.asides.append(f"{held}, which is left out: {against}")
        else:
            named.sure[spot.piece] = held

    def _by_day(self) -> None:
        """Add to what is sure the pieces that the book has shown on the very day an episode came out."""
        on_day: defaultdict[date, list[int]] = defaultdict(list)
        for place, showing in enumerate(self.showings):
            if showing.day and showing.day.is_exact and showing.day.earliest:
                on_day[showing.day.earliest].append(place)
        naming: defaultdict[int, set[int]] = defaultdict(set)
        for place, named in enumerate(self.named):
            for piece in named.sure:
                naming[piece].add(place)
        contested = {place for then in on_day.values() if len(then) > 1 for place in then}
        has = {place: self._has_names(place) for place in contested}
        found: list[tuple[int, int, str]] = []
        for piece in range(len(self.pieces)):
            when = self._shown(piece)
            if not when or not when.is_exact or not when.earliest:
                continue
            then = on_day.get(when.earliest, [])
            named_there = [place for place in then if place in has and piece in has[place]]
            chosen = then if len(then) == 1 else named_there
            elsewhere = naming[piece] - set(then)
            if len(chosen) != 1 or self._absent(piece, chosen[0]):
                continue
            if any(_may_be(self.showings[place].day, when) for place in elsewhere):
                continue
            only = "nothing else came out" if len(then) == 1 else "nothing else with its name came out"
            found.append((chosen[0], piece, f"the book has it shown {traces.wording_of(when.words)}, when {only}"))
        for place, piece, why in found:
            numbers = [part for part in self.parts[place] if part.firm and part.by_id]
            if numbers and not any(piece in part.pieces for part in numbers):
                name = _short(self.pieces[piece].name)
                self.named[place].asides.append(f"{name} has that day too, but the list gives a number")
            else:
                self.named[place].sure.setdefault(piece, why)

    def _has_names(self, showing: int) -> set[int]:
        """The pieces of which the title, or a part of the column, has a name."""
        listed = {piece for part in self.parts[showing] for piece in part.pieces}
        return listed | self.names.named_in(self.titles[showing])

    def _sure(self, showing: int) -> Match:
        """The match of an episode that surely showed pieces."""
        named = self.named[showing]
        listed: dict[int, int] = {}
        for at, part in enumerate(self.parts[showing]):
            for piece in part.pieces:
                listed.setdefault(piece, at)
        heard = self.heard[showing]

        def order(piece: int) -> tuple[int, int, int]:
            nowhere = len(self.titles[showing].words)
            spots = [spot.start for spot in self.spots[showing] if spot.piece == piece]
            held = self.known.held[piece]
            words_there = (
                (held[word] ** 2 / self.known.sums[word], -heard[word].place) for word in held.keys() & heard
            )
            rarest = -max(words_there, default=(0, -nowhere))[1]
            start = min(spots, default=min(nowhere, rarest))
            return start, listed.get(piece, len(listed)), piece

        pieces = sorted(named.sure, key=order)
        reasons = list(dict.fromkeys(named.sure[piece] for piece in pieces))
        why = "; ".join([_joined(reasons), *dict.fromkeys(named.asides), *self._besides(showing)])
        return Match(showing, Likeness.SURE, tuple(self.pieces[piece].id for piece in pieces), (), why)

    def _besides(self, showing: int) -> Iterator[str]:
        """Other pieces that an episode may show, by words that the sure ones do not hold, unless its list is clear."""
        parts, sure = self.parts[showing], self.named[showing].sure
        if parts and all(part.firm for part in parts):
            return
        held = {word for piece in sure for word in self.known.held[piece]}
        rest = {word: found for word, found in self.heard[showing].items() if word not in held}
        for piece in sorted(traces.worth_weighing(rest, self.in_texts, self.known) - sure.keys()):
            if self._absent(piece, showing) or self._against(piece, showing) or piece in self.named[showing].fixed:
                continue
            title = len(self.titles[showing].words)
            found = traces.traces(piece, rest, self.in_texts, self.known, title)
            if 100 * traces.chance(found) >= FLOOR:
                yield f"it may show {self.pieces[piece].id} too: {traces.in_words(found)}"

    # --- weak evidence -----------------------------------------------------------------------------------------

    def _text(self, showing: int) -> Words:
        """The title of an episode, and what the list says without naming a piece."""
        loose = " ".join(part.text for part in self.parts[showing] if not part.pieces)
        more = read(loose).words
        title = self.titles[showing]
        return Words(title.words + more)

    def _narrow_dates(self) -> dict[date, list[int]]:
        """For each day the pieces that were shown then or within few days."""
        found: defaultdict[date, list[int]] = defaultdict(list)
        for piece in range(len(self.pieces)):
            when = self._shown(piece)
            for day in _days(when):
                found[day].append(piece)
        return dict(found)

    def _likely(self, showing: int) -> Match:
        """The match of an episode of which nothing is sure."""
        named = self.named[showing]
        weighed: list[tuple[int, int, str]] = []
        for piece in sorted(self._possible(showing)):
            if piece in named.fixed:
                weighed.append((-named.fixed[piece][0], piece, named.fixed[piece][1]))
                continue
            percent, why = self._weigh(showing, piece)
            if percent >= FLOOR or (percent and piece in named.hinted):
                weighed.append((-percent, piece, why))
        if not weighed:
            why = "; ".join(["nothing in it tells of a piece", *dict.fromkeys(named.asides)])
            return Match(showing, Likeness.NONE, (), (), why)
        best = sorted(weighed)[:CANDIDATES]
        candidates = tuple(Candidate(self.pieces[piece].id, -minus, why) for minus, piece, why in best)
        return Match(showing, Likeness.LIKELY, (), candidates, f"not sure: {candidates[0].why}")

    def _possible(self, showing: int) -> set[int]:
        """The pieces that are weighed for an episode."""
        named = self.named[showing]
        possible = {*named.fixed, *named.hinted, *(spot.piece for spot in self.spots[showing])}
        possible |= traces.worth_weighing(self.heard[showing], self.in_texts, self.known)
        for day in _days(self.showings[showing].day):
            possible.update(self.narrow.get(day, ()))
        return possible

    def _weigh(self, showing: int, piece: int) -> tuple[int, str]:
        """The chance of a piece, percent, and what it rests on."""
        if self._absent(piece, showing):
            return 0, ""
        found = [
            *self.named[showing].hinted.get(piece, ()),
            *self._loose_names(showing, piece),
            *traces.traces(piece, self.heard[showing], self.in_texts, self.known, len(self.titles[showing].words)),
        ]
        when, day = self._shown(piece), self.showings[showing].day
        if piece not in self.dated and _agree(when, day) and when and day:
            found += traces.agreeing(max(_width(when), _width(day)), when.words)
        chance = traces.chance(found)
        asides = []
        against = self._against(piece, showing)
        if against:
            chance /= 4
            asides.append(f"but {against}")
        if self.shown_in.get(piece, set()) - {showing}:
            chance /= 2
            asides.append("but another episode surely showed it")
        return min(MOST, max(1, round(100 * chance))), ", ".join([traces.in_words(found), *asides])

    def _loose_names(self, showing: int, piece: int) -> list[Trace]:
        """A nickname in the title that is not firm."""
        nick = self.names.called[piece].nick
        if not any(spot.piece == piece and spot.nick for spot in self.spots[showing]):
            return []
        stems = {stem(word) for word in nick.words if is_telling(word)}
        if not stems:
            return []
        sharing = len(set.intersection(*(set(self.known.holders[word]) for word in stems)))
        texts = len(set.intersection(*(self.in_texts[word] for word in stems)))
        tells = traces.NAME / 100 / sharing / traces.among_texts(texts)
        return [Trace(tells, f"the title holds '{_short(nick.text)}'")]

    # --- what speaks against -----------------------------------------------------------------------------------

    def _shown(self, piece: int) -> FuzzyDate | None:
        """When the book has a piece surely shown, if it says when."""
        shown = self.pieces[piece].shown
        return shown.when if shown.known is Known.YES else None

    def _absent(self, piece: int, showing: int) -> str:
        """Why a piece cannot be in an episode; empty if it can."""
        record, day = self.pieces[piece], self.showings[showing].day
        if record.want and record.want.status is not WantStatus.ARRIVED:
            return "it has not arrived"
        got = record.acquired
        if got and day and _later(got, day) and not _doubtful(got) and not _doubtful(day):
            return f"it was acquired {traces.wording_of(got.words)}, after this came out"
        return ""

    def _against(self, piece: int, showing: int) -> str:
        """What in the dates speaks against a piece; empty if nothing does."""
        got, when, day = self.pieces[piece].acquired, self._shown(piece), self.showings[showing].day
        if day and when and (_later(when, day) or _later(day, when)):
            return f"the book has it shown {traces.wording_of(when.words)}"
        if day and got and _later(got, day):
            return f"it was acquired {traces.wording_of(got.words)}"
        return ""


def _short(text: str) -> str:
    """Words for quoting, cut where they are long."""
    return words.short(text, 60)


def _joined(reasons: Sequence[str]) -> str:
    """Reasons in one clause: those that begin alike share their beginning."""
    for begin in ("the title holds ", "the list says it is about "):
        if len(reasons) > 1 and all(reason.startswith(begin) for reason in reasons):
            return begin + words.listing([reason.removeprefix(begin) for reason in reasons])
    return "; ".join(reasons)


def _later(first: FuzzyDate, second: FuzzyDate) -> bool:
    """Whether the whole of a date lies after another, by their strict bounds."""
    return bool(first.earliest and second.latest and first.earliest > second.latest)


def _may_be(day: FuzzyDate | None, when: FuzzyDate) -> bool:
    """Whether two dates may be one day."""
    return day is None or not (_later(day, when) or _later(when, day))


def _agree(when: FuzzyDate | None, day: FuzzyDate | None) -> bool:
    """Whether two dates that are bounded on both sides have a day in common."""
    if not (when and day and when.earliest and when.latest and day.earliest and day.latest):
        return False
    return _may_be(day, when)


def _width(when: FuzzyDate) -> int:
    """Days that a date bounded on both sides spans."""
    assert when.earliest and when.latest
    return (when.latest - when.earliest).days + 1


def _doubtful(when: FuzzyDate) -> bool:
    """Whether the text of a date says that it is not sure."""
    return any(mark in when.text for mark in "?~%")


def _days(when: FuzzyDate | None) -> Iterator[date]:
    """The days of a date that is narrow."""
    if when and when.earliest and when.latest and _width(when) <= NARROW:
        for after in range(_width(when)):
            yield when.earliest + timedelta(days=after)
