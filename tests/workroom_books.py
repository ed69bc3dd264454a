"""A small invented book for tests of edits, storage and sessions, and random books for properties."""

from __future__ import annotations

from dataclasses import MISSING, fields, replace
from datetime import UTC, date, datetime, time
from decimal import Decimal
from functools import cache
from types import UnionType
from typing import Any, Union, get_args, get_origin, get_type_hints

from hypothesis import strategies as st

from showrunner.domain import edits
from showrunner.domain.book import TABLES, Book
from showrunner.domain.collection import Box, Collection
from showrunner.domain.episode import Episode, Series, StageMinutes
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.house import HouseRules
from showrunner.domain.piece import Claim, Condition, Confidence, Exposure, Feature, Known, Piece, Shown, Want
from showrunner.domain.publication import CalendarEntry, Publication, Supporter
from showrunner.domain.slot import SlotRef, SlotRule
from showrunner.domain.wording import Wording
from showrunner.errors import ShowrunnerError

FOUND = Claim(
    "maker",
    "Ellery",
    Confidence.PROBABLE,
    judged=date(2026, 3, 1),
    study="apron",
    found=datetime(2026, 3, 1, tzinfo=UTC),
)
"""Something found that a film which is out did not know."""
NOON = datetime(2026, 3, 2, 1, 0, tzinfo=UTC)
"""Noon of Monday 2 March 2026 in Hobart."""


def noon() -> datetime:
    return NOON


def small_book() -> Book:
    """Eight pieces, three open studies, one published; Sundays for features, Wednesdays for the diary."""
    names = ["Apron", "Septimus", "Barnaby", "Skating jacket", "Comet", "Bathing costume", "Collar", "Bodice"]
    pieces = [Piece(f"{number}", name, "dress", box="A") for number, name in enumerate(names, 1)]
    pieces[6] = Piece("7", "Collar", "dress", shown=Shown(Known.UNSURE))
    pieces[7] = Piece("8", "Bodice", "dress", shown=Shown(Known.YES, evidence="Bodice, 25 January 2026"))
    return Book(
        key="0d9f",
        house=HouseRules("Australia/Hobart", work_minutes=(0, 120, 120, 120, 0, 240, 120)),
        clock=date(2026, 3, 2),
        collections=(Collection("dress", "Camphor chest"), Collection("blocks", "Crown blocks")),
        boxes=(Box("A", "tail chest"),),
        pieces=(*pieces, Piece("B1", "Pudding", "blocks"), Piece("B2", "Drum", "blocks")),
        rules=(
            SlotRule("wed", "diary", 2, time(18, 30), "Australia/Hobart", 180),
            SlotRule("sun", "feature", 6, time(9), "Australia/Hobart", 240),
        ),
        series=(
            Series("hour", "The Hour", "dress", ("sun",), 4, 6, 9, StageMinutes(180, 0, 240, 480, 60, 60)),
            Series("brim", "The Brim", "blocks", ("sun", "wed")),
        ),
        episodes=(
            Episode(
                "bodice",
                "Bodice",
                series="hour",
                pieces=("8",),
                slot=SlotRef(date(2026, 1, 25), "sun"),
                published=True,
                finished=True,
            ),
            Episode("apron", "Apron", series="hour", pieces=("1",)),
            Episode("waistcoats", "Waistcoats", series="hour", pieces=("2", "3")),
            Episode("jacket", "Skating jacket", series="hour", pieces=("4",)),
        ),
        publications=(
            Publication(
                "publication-1",
                "Bodice",
                "sun",
                date(2026, 1, 25),
                FuzzyDate.exact(date(2026, 1, 25)),
                "bodice",
                "hour",
            ),
        ),
    )


TEXT = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=12)
_BASES: dict[Any, st.SearchStrategy[Any]] = {
    str: TEXT,
    int: st.integers(0, 3),
    bool: st.booleans(),
    date: st.dates(),
    time: st.times(),
    datetime: st.datetimes(timezones=st.just(UTC)),
    Decimal: st.decimals(allow_nan=False, allow_infinity=False),
}


@cache
def values(hint: Any) -> st.SearchStrategy[Any]:
    """Any value of a domain type, made field by field from its type hints; what the type itself refuses is left out."""
    if get_origin(hint) in (Union, UnionType):
        return st.one_of(*(st.none() if part is type(None) else values(part) for part in get_args(hint)))
    if get_origin(hint) is tuple:
        parts = get_args(hint)
        if parts[-1] is Ellipsis:
            return st.lists(values(parts[0]), max_size=2).map(tuple)
        return st.tuples(*map(values, parts))
    if hint in _BASES:
        return _BASES[hint]
    if hasattr(hint, "__members__"):
        return st.sampled_from(list(hint))
    hints = get_type_hints(hint)
    needed = {f.name for f in fields(hint) if f.default is MISSING}
    chosen = st.fixed_dictionaries(
        {name: values(part) for name, part in hints.items() if name in needed},
        optional={name: values(part) for name, part in hints.items() if name not in needed},
    )
    return chosen.map(lambda chosen: _make(hint, chosen)).filter(lambda value: value is not None)


def _make(kind: Any, chosen: dict[str, Any]) -> Any:
    try:
        return kind(**chosen)
    except ShowrunnerError:
        return None


RECORDS = st.sampled_from(sorted(TABLES)).flatmap(lambda table: st.tuples(st.just(table), values(TABLES[table])))
"""A table and any record of it."""


def _book_of(records: list[tuple[str, Any]]) -> Book:
    """An otherwise empty book with the records put into their tables."""
    book = Book("0d9f")
    for table, record in records:
        book = book.put(table, record)
    return book


BOOKS = st.builds(
    lambda records, house, clock: replace(_book_of(records), house=house, clock=clock),
    st.lists(RECORDS, max_size=5),
    values(HouseRules),
    st.none() | st.dates(),
)
"""A book of any records; what they refer to need not be there.

Much of what is drawn is refused by the types and left out, with some seeds so much that Hypothesis would fail a test
for that alone: tests of these books suppress `HealthCheck.filter_too_much`.
"""


def counted(want: Want | None) -> Want | None:
    """The want, in another currency only if its rate is known."""
    return replace(want, currency="") if want and want.rate is None else want


LOOSE = st.fixed_dictionaries(
    {
        "boxes": values(Box),
        "collections": values(Collection),
        "supporters": values(Supporter),
        "calendar": values(CalendarEntry),
        "wordings": st.builds(Wording, TEXT.map("pieces: {}".format), TEXT),
        "pieces": values(Piece).map(
            lambda piece: replace(
                piece, collection="dress", box="A", acquired_before=("1",), acquired_after=(), want=counted(piece.want)
            )
        ),
    }
)


def _with_fresh(records: dict[str, Any]) -> Book:
    """The small book with a further record in each of some tables."""
    book = small_book()
    for table, record in records.items():
        book = book.put(table, replace(record, id=f"fresh: {record.id}"))
    return book


WHOLE_BOOKS = LOOSE.map(_with_fresh)
"""A book of which nothing is amiss, with any records that need no others than those there."""


ANY_JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(st.characters(exclude_categories=()), max_size=8)
    | st.sampled_from(
        ["2026-03-22", "0001-01-01", "9999-12-31", "23:59", "study", "NaN", "1E+999999", 10**300, "apron"]
    ),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=4), inner, max_size=3),
    max_leaves=5,
)
"""Anything that JSON can say, and NaN, half characters and numbers out of all bounds."""


def places(value: object) -> list[tuple[object, object]]:
    """Every place of a tree, as what holds it and its key."""
    keys = value.keys() if isinstance(value, dict) else range(len(value)) if isinstance(value, list) else ()
    return [place for key in keys for place in [(value, key), *places(value[key])]]


def one_of_everything(book: Book) -> Book:
    """The demo with a feature, a condition and light of its first piece, a supporter, a second series, a promise."""
    piece = replace(
        book.pieces[0],
        features=(Feature("tuck"),),
        condition=(Condition(date(2026, 1, 5), "hem", "sound"),),
        exposures=(Exposure(date(2026, 1, 5), 50),),
    )
    book = edits.put_piece(book, piece)
    book = edits.say_kind(book, "zorble", "dress")
    book = edits.put_supporter(book, Supporter("s", "Ida", True))
    book = edits.put_series(book, replace(book.series[0], id="other", name="Another"))
    study = next(one for one in book.open_studies if one.slot)
    assert study.slot
    if not book.pins:
        book = edits.pin_date(book, study.id, study.slot)[0]
    return book
