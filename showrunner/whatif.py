"""What-ifs: changes of one copy of the book, together, shown beside the present plan and adopted or dropped."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from enum import StrEnum
from functools import reduce
from typing import TYPE_CHECKING

from showrunner.domain import edits, words
from showrunner.domain.book import Book
from showrunner.domain.piece import Piece
from showrunner.domain.record import record
from showrunner.domain.titles import quoted
from showrunner.errors import BadInput
from showrunner.planning.sliprate import check_rate
from showrunner.session import Session, dated_by

if TYPE_CHECKING:
    from showrunner.planning.results import Plan, RunOut


class Kind(StrEnum):
    """What can be supposed; written `kind=value`."""

    SPACING = "spacing"
    """Other least, wished and most weeks between the studies of the series."""
    SLIP_RATE = "slip-rate"
    """Another share of missed slots."""
    UNPAIR = "unpair"
    """A study of two pieces split in two."""
    DROP_WINDOW = "drop-window"
    """A study without its windows."""
    ADD_PIECE = "add-piece"
    """More pieces to show."""

    @property
    def real(self) -> bool:
        """Whether it can be adopted; the record and the pieces are what they are and can only be supposed."""
        return self not in (Kind.SLIP_RATE, Kind.ADD_PIECE)


EXAMPLES = {
    Kind.SPACING: "4,5,8",
    Kind.SLIP_RATE: "0.1",
    Kind.UNPAIR: "STUDY",
    Kind.DROP_WINDOW: "STUDY",
    Kind.ADD_PIECE: "2",
}
"""An example of the value of each."""
MOST_PIECES = 50
"""Pieces that can be added at once: a forecast of so many takes seconds, and of many more minutes."""


@record
class WhatIf:
    """One thing supposed."""

    kind: Kind
    """What of the book is another."""
    about: str
    """Id of the study or series it is about."""
    numbers: tuple[float, ...]
    """Its numbers: least, wished, most weeks; a share; a count of pieces."""
    words: str
    """The same in words."""


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


@record
class Outlook:
    """What what-ifs would bring."""

    supposed: Supposed
    """The copy of the book with all of them."""
    each: tuple[RunOut, ...]
    """The forecast with each alone."""
    together: RunOut
    """The forecast with all of them."""
    plan: Plan
    """The plan that would stand once they are adopted."""
    anew: RunOut | None
    """The forecast if the best dates are then taken; None if those that stand are as good, or promises clash."""


def suppose(book: Book, series: str, texts: Sequence[str]) -> Supposed:
    """A copy of the book with what-ifs in it, the same in whatever order they are asked for.

    Args:
        book: the present book; it is not changed.
        series: id of the series a new spacing or piece is for.
        texts: `spacing=4,5,8` (least, wished, most weeks), `slip-rate=0.1`, `unpair=STUDY`,
            `drop-window=STUDY` or `add-piece=NUMBER`, each thing at most once.

    Raises:
        ShowrunnerError: a text cannot be understood, a change is refused, or two are about the same.
    """
    what_ifs: list[WhatIf] = []
    for text in texts:
        what_if = _read(book, series, text)
        _refuse_twin(what_ifs, what_if)
        what_ifs.append(what_if)
    return Supposed(reduce(_carried_out, what_ifs, book), tuple(what_ifs))


def outlook(
    session: Session,
    series: str,
    texts: Sequence[str],
    *,
    slip_rate: float | None = None,
    time_limit: float | None = None,
    before: Outlook | None = None,
) -> Outlook:
    """What what-ifs would bring, all together and each alone; the open book stays as it is.

    Args:
        session: the open book.
        series: id of the series.
        texts: as for `suppose`.
        slip_rate: the rate where none is supposed; None for that of the record.
        time_limit: seconds for each search of the plan that would stand; None for no limit.
        before: an outlook on the same book, from which forecasts of single what-ifs are taken over.

    Raises:
        ShowrunnerError: as `suppose`.
    """

    def forecast(supposed: Supposed) -> RunOut:
        rate = slip_rate if supposed.slip_rate is None else supposed.slip_rate
        return session.runout(series=series, slip_rate=rate, book=supposed.book)

    def anew(supposed: Supposed, standing: Plan) -> RunOut | None:
        if not (standing.offer or standing.breaks_rules):
            return None
        best = session.plan(unsure=standing.unsure, time_limit=time_limit, book=supposed.book)
        return None if best.clashes else forecast(replace(supposed, book=dated_by(supposed.book, best)))

    supposed = suppose(session.book, series, texts)
    together = forecast(supposed)
    known = dict(zip(before.supposed.what_ifs, before.each, strict=True)) if before else {}
    if len(texts) == 1:
        known = {supposed.what_ifs[0]: together}
    each = tuple(
        known.get(what_if) or forecast(suppose(session.book, series, [text]))
        for what_if, text in zip(supposed.what_ifs, texts, strict=True)
    )
    standing = session.standing(time_limit=time_limit, book=supposed.book)
    return Outlook(supposed, each, together, standing, anew(supposed, standing))


def adopt(session: Session, supposed: Supposed) -> None:
    """Write all that was supposed into the book: one save, one undo step.

    Raises:
        BadInput: one of them can only be looked at.
        ShowrunnerError: the book has changed so that one no longer suits it, or as `Session.do`.
    """
    for what_if in supposed.what_ifs:
        if not what_if.kind.real:
            what = "it can only be looked at, for the record and the pieces are what they are"
            raise BadInput(what, what_if.words, "leave it out to adopt the rest")
    session.do(f"adopt {supposed.words}", lambda book: reduce(_carried_out, supposed.what_ifs, book))


def _refuse_twin(others: Sequence[WhatIf], what_if: WhatIf) -> None:
    """Refuse what is about the same as another one."""
    for other in others:
        if other.words == what_if.words:
            raise BadInput(f"{what_if.words}: this is supposed twice", "what-if", "leave one of them out")
        if (other.kind, other.about) == (what_if.kind, what_if.about):
            both = f"{other.words}, and {what_if.words}"
            raise BadInput(f"{both}: these cannot both be", "what-if", "leave one of them out")


def _read(book: Book, series: str, text: str) -> WhatIf:
    """What a text supposes of a book."""
    name, _, value = text.partition("=")
    if name not in EXAMPLES or not value:
        known = " or ".join(f"{kind}={example}" for kind, example in EXAMPLES.items())
        raise BadInput(f"'{words.short(text)}' is no what-if", "what-if", f"write one like {known}")
    match kind := Kind(name):
        case Kind.SPACING:
            least, wished, most = numbers = _whole_numbers(value, 3)
            return WhatIf(kind, series, numbers, f"gaps of {least} to {most} weeks, wished {wished}")
        case Kind.SLIP_RATE:
            rate = _share(value)
            return WhatIf(kind, series, (rate,), f"a slip rate of {100 * rate:g}%")
        case Kind.UNPAIR:
            study = book.episode(value)
            return WhatIf(kind, study.id, (), f"a split of {quoted(study.title)}")
        case Kind.DROP_WINDOW:
            study = book.episode(value)
            if not study.windows:
                raise BadInput("it has no window to drop", quoted(study.title), "choose a study that has one")
            return WhatIf(kind, study.id, (), f"no window for {quoted(study.title)}")
        case Kind.ADD_PIECE:
            (number,) = _whole_numbers(value, 1)
            if not 1 <= number <= MOST_PIECES:
                way_out = f"write a number from 1 to {MOST_PIECES}"
                raise BadInput(f"{number} pieces cannot be added", kind.value, way_out)
            return WhatIf(kind, series, (number,), f"{words.count(number, 'more piece')} to show")


def _carried_out(book: Book, what_if: WhatIf) -> Book:
    """The book with a what-if."""
    match what_if.kind:
        case Kind.SPACING:
            least, wished, most = map(int, what_if.numbers)
            changed = replace(book.series_of(what_if.about), min_weeks=least, target_weeks=wished, max_weeks=most)
            return edits.put_series(book, changed)
        case Kind.SLIP_RATE:
            return book
        case Kind.UNPAIR:
            return edits.split_study(book, what_if.about)[0]
        case Kind.DROP_WINDOW:
            return edits.put_episode(book, replace(book.episode(what_if.about), windows=()))
        case Kind.ADD_PIECE:
            collection = book.series_of(what_if.about).collection
            for at in range(1, int(what_if.numbers[0]) + 1):
                book = edits.put_piece(book, Piece(f"supposed-{at}", f"A further piece ({at})", collection))
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
