"""What can be supposed of a book: each what-if read from its text, and carried out on a copy."""

from __future__ import annotations

import re
from calendar import monthrange
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from functools import reduce
from typing import Any

from showrunner.domain import edits, words
from showrunner.domain.book import Book
from showrunner.domain.edits.ids import free_id
from showrunner.domain.edits.slots import Placement
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.house import DAY_MINUTES, Habit
from showrunner.domain.naming import Thing, meant, which
from showrunner.domain.piece import Known, Piece, WantStatus
from showrunner.domain.record import record
from showrunner.domain.slot import DarkRange
from showrunner.domain.titles import quoted
from showrunner.errors import BadInput
from showrunner.planning.lasting import Lasting, chosen_as
from showrunner.planning.sliprate import check_rate
from showrunner.what_if_kinds import NOUNS, Kind, is_open_want, nameable

MOST_PIECES = 50
"""Pieces that can be added at once: a forecast of so many takes seconds, and of many more minutes."""

ORDER = list(Kind)


@record
class WhatIf:
    """One thing supposed."""

    kind: Kind
    """What of the book is another."""
    series: str
    """Id of the series that was asked about."""
    about: tuple[str, ...]
    """Ids of the studies or pieces it is about; the name of a loan; first and last day off."""
    numbers: tuple[float, ...]
    """Its numbers: least, wished, most weeks; a share; a count of pieces; minutes a week."""
    words: str
    """The same in words."""
    until: date | None = None
    """The day until which the series is to last; None for another kind."""
    dates: tuple[Placement, ...] = ()
    """The dates that follow from a spacing that was solved for."""

    @property
    def solved(self) -> bool:
        """Whether it is known what it changes; the spacing that lasts until a day must be found first."""
        return self.kind is not Kind.LAST_UNTIL or bool(self.numbers)


@record
class Supposed:
    """A book as it would be."""

    book: Book
    """The changed copy."""
    what_ifs: tuple[WhatIf, ...]
    """What was supposed, in the order it was asked for."""

    @property
    def words(self) -> str:
        """What was supposed, in words."""
        return words.listing([what_if.words for what_if in self.what_ifs])

    @property
    def slip_rate(self) -> float | None:
        """Another slip rate; None for that of the record."""
        return next((what_if.numbers[0] for what_if in self.what_ifs if what_if.kind is Kind.SLIP_RATE), None)

    @property
    def until(self) -> date | None:
        """The day until which the series is to last; None if that is not asked."""
        return next((what_if.until for what_if in self.what_ifs if what_if.until), None)


def suppose(book: Book, series: str, texts: Sequence[str]) -> Supposed:
    """A copy of the book with what-ifs in it, the same in whatever order they are asked for.

    Args:
        book: the present book; it is not changed.
        series: id of the series a new spacing or piece is for.
        texts: each `kind=value`, such as `spacing=4,5,8`; about each thing at most one.

    Returns:
        The copy; the spacing that lasts until a day is still to be found, so nothing of it is in the copy.

    Raises:
        ShowrunnerError: a text cannot be understood, a change is refused, or two are about the same.
    """
    what_ifs: list[WhatIf] = []
    for text in texts:
        what_if = _read(book, series, text)
        _refuse_twin(what_ifs, what_if)
        what_ifs.append(what_if)
    return carried_out(book, what_ifs)


def carried_out(book: Book, what_ifs: Sequence[WhatIf]) -> Supposed:
    """The book with what-ifs, whatever order they come in.

    Raises:
        ShowrunnerError: a change is refused.
    """
    ordered = sorted(what_ifs, key=lambda what_if: ORDER.index(what_if.kind))
    return Supposed(reduce(_with, ordered, book), tuple(what_ifs))


def found_spacing(what_if: WhatIf, book: Book, found: Lasting) -> WhatIf:
    """A what-if of lasting until a day, with the spacing that does it.

    Args:
        what_if: as it was read.
        book: the book with all else that is supposed.
        found: the spacing.
    """
    changed = chosen_as(book.series_of(what_if.series), found.weeks)
    numbers = (changed.min_weeks, changed.target_weeks, changed.max_weeks)
    told = f"{what_if.words}, with a study every {words.count(found.weeks, 'week')}"
    if len({gap for _, gap in found.by_pieces}) > 1:
        (fewest, long), (most, short) = found.by_pieces
        told = f"{told} ({short} with {words.count(most, 'piece')} left, {long} with {fewest})"
    return replace(what_if, numbers=numbers, words=told)


def _claims(what_if: WhatIf) -> set[tuple[str, str]]:
    """What a what-if is about: two that share one cannot both be."""
    match what_if.kind:
        case Kind.SPACING | Kind.LAST_UNTIL:
            return {("spacing", "")}
        case Kind.PAIR | Kind.UNPAIR:
            kind = "pairing"
        case Kind.SHOWN | Kind.UNSHOWN:
            kind = "doubt"
        case Kind.COMES | Kind.DECLINED:
            return {("want", what_if.about[0])}
        case Kind.HOURS | Kind.SLIP_RATE | Kind.ADD_PIECE:
            return {(what_if.kind, "")}
        case Kind.OFF:
            return {(what_if.kind, " ".join(what_if.about))}
        case _:
            kind = what_if.kind.value
    return {(kind, thing) for thing in what_if.about}


def _refuse_twin(others: Sequence[WhatIf], what_if: WhatIf) -> None:
    """Refuse what is about the same as another one."""
    for other in others:
        if other.words == what_if.words:
            raise BadInput(f"{what_if.words}: this is supposed twice", "what-if", "leave one of them out")
        if _claims(other) & _claims(what_if):
            both = f"{other.words}, and {what_if.words}"
            raise BadInput(f"{both}: these cannot both be", "what-if", "leave one of them out")


def _read(book: Book, series: str, text: str) -> WhatIf:
    """What a text supposes of a book."""
    name, _, value = text.partition("=")
    value = value.strip()
    if name not in ORDER or not value:
        way_out = "write one like spacing=4,5,8; showrunner runout --help lists them all"
        raise BadInput(f"'{words.short(text)}' is no what-if", "what-if", way_out)
    match kind := Kind(name):
        case Kind.SPACING:
            least, wished, most = numbers = _whole_numbers(value, 3)
            return WhatIf(kind, series, (), numbers, f"gaps of {least} to {most} weeks, wished {wished}")
        case Kind.LAST_UNTIL:
            first, last = _days(value)
            told = f"{first:%B %Y}" if first != last else words.day(first)
            return WhatIf(kind, series, (), (), f"a last study no sooner than {told}", until=first)
        case Kind.SLIP_RATE:
            rate = _share(value)
            return WhatIf(kind, series, (), (rate,), f"a slip rate of {100 * rate:g}%")
        case Kind.HOURS:
            minutes = _more_minutes(value)
            more = "more" if minutes > 0 else "fewer"
            how = "spread over the days of work" if minutes > 0 else "off the shortest days first"
            told = f"{words.number(abs(minutes) / 60)} working hours {more} a week, {how}"
            return WhatIf(kind, series, (), (minutes,), told)
        case Kind.OFF:
            first, last = _days(value)
            return WhatIf(kind, series, (first.isoformat(), last.isoformat()), (), f"no work {words.days(first, last)}")
        case Kind.UNPAIR:
            study = book.episode(_named(book, kind, value).id)
            return WhatIf(kind, series, (study.id,), (), f"a split of {quoted(study.title)}")
        case Kind.PAIR:
            one, other = _two(book, value)
            told = f"one study of {quoted(one.name)} and {quoted(other.name)}"
            return WhatIf(kind, series, (one.id, other.id), (), told)
        case Kind.DROP_WINDOW:
            study = book.episode(_named(book, kind, value).id)
            if not study.windows:
                raise BadInput("it has no window to drop", quoted(study.title), "choose a study that has one")
            return WhatIf(kind, series, (study.id,), (), f"no window for {quoted(study.title)}")
        case Kind.REVISIT:
            piece = book.piece(_named(book, kind, value).id)
            if piece.shown.known is not Known.YES:
                raise BadInput("it has not surely been shown yet", piece.name, "choose a piece that has")
            return WhatIf(kind, series, (piece.id,), (), f"{piece.name} shown once more")
        case Kind.SHOWN | Kind.UNSHOWN:
            piece = book.piece(_named(book, kind, value).id)
            if piece.shown.known is not Known.UNSURE:
                raise BadInput("there is no doubt about it", piece.name, "choose a piece that is unsure")
            so = "was shown" if kind is Kind.SHOWN else "was not shown"
            return WhatIf(kind, series, (piece.id,), (), f"{piece.name} {so}")
        case Kind.COMES:
            name, at, when = (part.strip() for part in value.rpartition("@"))
            if not (name and at and when):
                way_out = "write its name or number and the day, as pudding@2026-05-20"
                raise BadInput(f"'{words.short(value)}' names no day", kind.value, way_out)
            piece, (_, last) = _open_want(book, kind, name), _days(when)
            return WhatIf(kind, series, (piece.id, last.isoformat()), (), f"{piece.name} there by {words.day(last)}")
        case Kind.DECLINED:
            piece = _open_want(book, kind, value)
            return WhatIf(kind, series, (piece.id,), (), f"{piece.name} not bought")
        case Kind.LOAN:
            if len(value) > 200:
                raise BadInput(f"a name of {len(value)} letters is too long", "loan", "write a shorter one")
            return WhatIf(kind, series, (value,), (), f"{value} on loan")
        case Kind.ADD_PIECE:
            (number,) = _whole_numbers(value, 1)
            if not 1 <= number <= MOST_PIECES:
                way_out = f"write a number from 1 to {MOST_PIECES}"
                raise BadInput(f"{number} pieces cannot be added", kind.value, way_out)
            return WhatIf(kind, series, (), (number,), f"{words.count(number, 'more piece')} to show")


def _with(book: Book, what_if: WhatIf) -> Book:
    """The book with a what-if."""
    match what_if.kind:
        case Kind.SPACING | Kind.LAST_UNTIL:
            return _with_spacing(book, what_if)
        case Kind.SLIP_RATE:
            return book
        case Kind.HOURS:
            return _with_hours(book, int(what_if.numbers[0]))
        case Kind.OFF:
            first, last = map(date.fromisoformat, what_if.about)
            id = free_id(f"off-{first}", {dark.id for dark in book.dark}, "off")
            return edits.put_dark(book, DarkRange(id, first, last, reason="time off"))
        case Kind.UNPAIR:
            return edits.split_study(book, *what_if.about)[0]
        case Kind.PAIR:
            return _with_pair(book, what_if)
        case Kind.DROP_WINDOW:
            return edits.put_episode(book, replace(book.episode(*what_if.about), windows=()))
        case Kind.REVISIT:
            return edits.make_study(book, what_if.about, what_if.series, revisit=True)[0]
        case Kind.SHOWN | Kind.UNSHOWN:
            known = Known.YES if what_if.kind is Kind.SHOWN else Known.NO
            return edits.mark_shown(book, what_if.about[0], known)
        case Kind.COMES:
            id, day = what_if.about
            return _with_want(book, id, expected=FuzzyDate.exact(date.fromisoformat(day)))
        case Kind.DECLINED:
            return _with_want(book, what_if.about[0], status=WantStatus.DECLINED)
        case Kind.LOAN:
            return _with_pieces(book, what_if, what_if.about, "on loan")
        case Kind.ADD_PIECE:
            count = int(what_if.numbers[0])
            return _with_pieces(book, what_if, [f"A further piece ({at})" for at in range(1, count + 1)], "")


def _named(book: Book, kind: Kind, text: str) -> Thing:
    """The study or piece that a text means to a what-if of this kind."""
    return which(text, *nameable(book, kind), noun=NOUNS[kind])


def _open_want(book: Book, kind: Kind, text: str) -> Piece:
    """Something shopped for that has neither arrived nor been declined."""
    piece = book.piece(_named(book, kind, text).id)
    if not is_open_want(piece):
        raise BadInput("it is not being shopped for", piece.name, "choose what is wanted or ordered")
    return piece


def _with_want(book: Book, id: str, **changes: Any) -> Book:
    """The book with something shopped for that stands otherwise; it needs no day on which that came about."""
    piece = book.piece(id)
    assert piece.want is not None  # only wants are asked for
    return book.put("pieces", replace(piece, want=replace(piece.want, **changes)))


def _with_spacing(book: Book, what_if: WhatIf) -> Book:
    """The book with another spacing, and the dates that follow from it if they are known."""
    if not what_if.numbers:
        return book
    least, wished, most = map(int, what_if.numbers)
    changed = replace(book.series_of(what_if.series), min_weeks=least, target_weeks=wished, max_weeks=most)
    book = edits.put_series(book, changed)
    if not what_if.dates:
        return book
    return edits.place_all(book, what_if.dates, habit=Habit(unsure=book.house.habit.unsure))


def _with_hours(book: Book, more: int) -> Book:
    """The book with so many minutes more a week, spread over the days of work; fewer come off the shortest days."""
    days: list[int] = list(book.house.work_minutes)
    at_work = [at for at, minutes in enumerate(days) if minutes]
    there = words.hours(sum(days))
    if not at_work:
        raise BadInput("no day of the week has working hours yet", Kind.HOURS.value, "set them in the house rules")
    if more < -sum(days):
        raise BadInput(f"there are only {there} of work a week", Kind.HOURS.value, "take fewer away")
    if more > 0:
        share, rest = divmod(more, len(at_work))
        for number, at in enumerate(at_work):
            days[at] += share + (number < rest)
        if max(days) > DAY_MINUTES:
            what = f"{there} of work a week and {words.hours(more)} more do not fit the days of work"
            raise BadInput(what, Kind.HOURS.value, "add fewer")
    for at in sorted(at_work, key=lambda at: (days[at], -at)) if more < 0 else ():
        taken = min(days[at], -more)
        days[at] -= taken
        more += taken
    monday, tuesday, wednesday, thursday, friday, saturday, sunday = days
    week = (monday, tuesday, wednesday, thursday, friday, saturday, sunday)
    return edits.put_house(book, replace(book.house, work_minutes=week))


def _with_pair(book: Book, what_if: WhatIf) -> Book:
    """The book with two studies, or pieces that are in no study yet, as one."""
    studies = [book.find("episodes", thing) for thing in what_if.about]
    if not any(studies):
        return edits.make_study(book, what_if.about, what_if.series)[0]
    ids = []
    for thing, study in zip(what_if.about, studies, strict=True):
        if study is None:
            book, study = edits.make_study(book, [thing], what_if.series)
        ids.append(study.id)
    return edits.pair_studies(book, ids[0], ids[1])[0]


def _two(book: Book, value: str) -> tuple[Thing, Thing]:
    """The two studies or lone pieces that a text with a + between them means; a name may have one of its own."""
    halves = [(value[:at].strip(), value[at + 1 :].strip()) for at, sign in enumerate(value) if sign == "+"]
    halves = [(one, other) for one, other in halves if one and other]
    if not halves:
        raise BadInput(f"'{words.short(value)}' names no two", "pair", "write two with a + between them")
    there = nameable(book, Kind.PAIR)
    clear = [two for two in halves if all(meant(half, *there).found for half in two)]
    one, other = clear[0] if len(clear) == 1 else halves[0]
    return _named(book, Kind.PAIR, one), _named(book, Kind.PAIR, other)


def _with_pieces(book: Book, what_if: WhatIf, names: Sequence[str], notes: str) -> Book:
    """The book with more pieces to show in the collection of the series."""
    collection = book.series_of(what_if.series).collection
    for name in names:
        id = free_id(f"{what_if.kind} {name}", {piece.id for piece in book.pieces}, what_if.kind.value)
        book = edits.put_piece(book, Piece(id, name, collection, notes=notes))
    return book


def _share(text: str) -> float:
    try:
        share = float(text)
    except ValueError:
        raise BadInput(f"'{words.short(text)}' is no share", Kind.SLIP_RATE.value, "write a share like 0.1") from None
    check_rate(share)
    return share


def _whole_numbers(text: str, count: int) -> tuple[int, ...]:
    try:
        numbers = [int(part) for part in text.split(",")]
    except ValueError:
        numbers = []
    if len(numbers) != count or any(not 0 <= n <= 500 for n in numbers):
        wanted = "a whole number" if count == 1 else f"{count} whole numbers"
        raise BadInput(f"'{words.short(text)}' is not {wanted}", "what-if", f"write it like {','.join('458'[:count])}")
    return tuple(numbers)


def _more_minutes(text: str) -> int:
    """Hours a week, more or fewer, as minutes: `2`, `+2`, `-1.5`."""
    match = re.fullmatch(r"([+\-−]?) *(\d{1,3}(?:[.,]\d{1,2})?) *h?", text)
    minutes = round(60 * float(match[2].replace(",", "."))) if match else 0
    if not match or not minutes:
        what = f"'{words.short(text)}' is no number of hours more or fewer"
        raise BadInput(what, Kind.HOURS.value, "write 2 for more, -2 for fewer")
    return minutes if match[1] in ("", "+") else -minutes


def _days(text: str) -> tuple[date, date]:
    """First and last day of a month (`2026-06`), of a day (`2026-06-07`), or from one to another (`A..B`)."""
    begin, dots, end = text.partition("..")
    first, last = _month_or_day(begin)[0], _month_or_day(end if dots else begin)[1]
    if last < first:
        raise BadInput(f"{words.day(last)} comes before {words.day(first)}", "days", "swap the dates")
    return first, last


def _month_or_day(text: str) -> tuple[date, date]:
    match = re.fullmatch(r"(\d{4})-(\d{1,2})(?:-(\d{1,2}))?", text.strip())
    try:
        if match and match[3]:
            day = date(int(match[1]), int(match[2]), int(match[3]))
            return day, day
        if match:
            year, month = int(match[1]), int(match[2])
            return date(year, month, 1), date(year, month, monthrange(year, month)[1])
    except ValueError:  # and the error of a month that is none
        match = None
    raise BadInput(f"'{words.short(text)}' is no month or day", "days", "write it like 2027-03 or 2027-03-14")
