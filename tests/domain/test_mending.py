"""What is put right without asking: it stays right, nothing else is touched, and nothing written is lost."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from effort import examples
from hypothesis import HealthCheck, given
from workroom_books import BOOKS, WHOLE_BOOKS, small_book

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.consistency import problems
from showrunner.domain.mending import mended
from showrunner.domain.slot import SlotRef

BOOK = small_book()


def with_piece(**other: object) -> Book:
    return BOOK.put("pieces", replace(BOOK.piece("1"), **other))


def with_episode(id: str, **other: object) -> Book:
    return BOOK.put("episodes", replace(BOOK.episode(id), **other))


@pytest.mark.parametrize(
    ("broken", "said"),
    [
        (BOOK.drop("boxes", "A"), ["Box 'A' is added, for Apron is in it."]),
        (BOOK.drop("collections", "blocks"), ["Collection 'blocks' is added, for Pudding is of it."]),
        (replace(BOOK, clock=date(9999, 1, 1)), ["The clock of the book no longer stands at 9999-01-01."]),
        (
            with_piece(acquired_before=("1", "2"), acquired_after=("gone",)),
            ["Apron: its order of acquisition no longer names itself or what is not in the book."],
        ),
        (
            BOOK.put("series", replace(BOOK.series_of("hour"), rules=("sun", "gone"))),
            ["Series The Hour: it no longer names slot rules that are not in the book."],
        ),
        (with_episode("bodice", published=False), ["“Bodice”: it is marked published, as the record says."]),
        (
            with_episode("apron", slot=SlotRef(date(2026, 3, 23), "sun")),
            ["“Apron”: it has no date any more, for 23 March 2026 is none of its slots."],
        ),
        (
            edits.pin_order(BOOK, "apron", "jacket", "her birthday")[0].drop("episodes", "jacket"),
            ["Pin pin-1 (her birthday) is removed, for it names what is not in the book."],
        ),
    ],
)
def test_each_thing_is_mended_and_told(broken: Book, said: list[str]) -> None:
    assert problems(broken)
    book, told = mended(broken)
    assert list(told) == said
    assert problems(book) == []
    assert mended(book) == (book, ())


@pytest.mark.slow
@examples(200, suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow])
@given(WHOLE_BOOKS)
def test_a_book_of_which_nothing_is_amiss_is_left_as_it_is(book: Book) -> None:
    assert mended(book) == (book, ())


@pytest.mark.slow
@examples(300, suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow])
@given(BOOKS)
def test_any_book_is_mended_once_and_for_all(book: Book) -> None:
    better, told = mended(book)
    assert (better == book) == (not told)
    assert mended(better) == (better, ())
    for table in ("pieces", "episodes", "series", "publications", "shoots", "log", "supporters"):
        assert [row.id for row in getattr(better, table)] == [row.id for row in getattr(book, table)]
