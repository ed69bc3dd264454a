"""What belongs to a publication: kept before it is out and after, and no link to what is gone."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from workroom_books import small_book

from showrunner.domain import edits
from showrunner.domain.consistency import problems
from showrunner.domain.package import Chapter, Package, Still
from showrunner.errors import BadInput, UnknownThing


def test_a_package_is_kept_and_the_run_time_with_it():
    book = small_book()
    package = Package(title="The apron", chapters=(Chapter(0, "Opening"),))
    after = edits.put_package(book, "apron", package, run_seconds=600)
    assert (after.episode("apron").package, after.episode("apron").run_seconds) == (package, 600)
    again = edits.put_package(after, "apron", Package())
    assert (again.episode("apron").package, again.episode("apron").run_seconds) == (Package(), 600)


def test_it_is_kept_once_the_study_is_out():
    book = edits.publish(small_book(), "apron", date(2026, 3, 1))
    after = edits.put_package(book, "apron", Package(stills=(Still("1", "hem"),)))
    assert after.episode("apron").published
    assert len(after.episode("apron").package.stills) == 1


def test_filler_strangers_and_links_to_itself_are_refused():
    book, filler = edits.add_filler(small_book(), "A talk", "sun")
    for id, package, error in (
        (filler.id, Package(), BadInput),
        ("none such", Package(), UnknownThing),
        ("apron", Package(related=("none such",)), UnknownThing),
        ("apron", Package(related=("apron",)), BadInput),
    ):
        with pytest.raises(error):
            edits.put_package(book, id, package)
    with pytest.raises(BadInput):
        edits.put_package(book, "apron", Package(), run_seconds=-1)


@pytest.mark.parametrize(
    "gone", [lambda b: edits.remove_study(b, "jacket"), lambda b: edits.pair_studies(b, "apron", "jacket")]
)
def test_what_is_gone_is_linked_to_and_listed_nowhere(gone):
    book = edits.put_package(small_book(), "waistcoats", Package(related=("apron", "jacket")))
    book = edits.put_series(book, replace(book.series[0], listed=("jacket", "apron")))
    assert problems(book) == []
    after = gone(book)
    after = after[0] if isinstance(after, tuple) else after
    assert after.episode("waistcoats").package.related == ("apron",)
    assert after.series[0].listed == ("apron",)
    assert problems(after) == []


def test_links_to_what_is_not_there_are_told_by_the_check():
    book = small_book()
    book = book.put("episodes", replace(book.episode("apron"), package=Package(related=("gone",))))
    book = book.put("series", replace(book.series[0], listed=("lost",)))
    assert [told for told in problems(book) if "gone" in told or "lost" in told] == [
        "Page of The Hour: the book holds no episode 'lost'.",
        "“Apron”: it links to 'gone', and the book holds no such episode.",
    ]


def test_what_cannot_be_is_refused():
    for make in (lambda: Chapter(-1, "x"), lambda: Chapter(0, " "), lambda: Still("1", " ")):
        with pytest.raises(BadInput):
            make()


def test_an_idea_stays_when_its_study_goes_and_those_of_others_keep_theirs():
    book, one = edits.add_filler(small_book(), "A talk", "sun")
    book, two = edits.add_filler(book, "Another", "sun")
    book = book.put("episodes", replace(one, idea_of="apron"), replace(two, idea_of="jacket"))
    after = edits.remove_study(book, "apron")
    assert (after.episode(one.id).idea_of, after.episode(two.id).idea_of) == ("", "jacket")
