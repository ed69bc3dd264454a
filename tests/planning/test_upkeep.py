"""What is looked after once films are out: corrections, the page of the series, and the bank of stills."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from showrunner.demo_book import demo_path
from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.package import Package, Still
from showrunner.domain.piece import Claim, Confidence
from showrunner.planning.corrections import correction_words, corrections, mention_words, put_right
from showrunner.planning.package import Lack, prepare
from showrunner.planning.series_page import PageFlaw, page_faults, published_in
from showrunner.planning.stills import alt_text, should_yield, still_bank, still_missing
from showrunner.session import Session

TODAY = date(2026, 3, 2)
FOUND = datetime(2026, 3, 14, 3, tzinfo=UTC)
DAY = date(2026, 3, 14)


@pytest.fixture(scope="module")
def book() -> Iterator[Book]:
    with Session.open(demo_path(), write=False) as session:
        yield session.book


def discovered(book: Book, piece: str, about: str, value: str, study: str = "apron") -> Book:
    claim = Claim(about, value, Confidence.PROBABLE, "found while filming", DAY, study=study, found=FOUND)
    return edits.add_claim(book, piece, claim, supersedes=True)


def shared(book: Book) -> Book:
    """The dye of the boa (out) and the green of the smock (out) are both held to be of one maker, as is the apron's."""
    for piece in ("25", "02", "29"):
        claim = Claim("maker", "Tarn & Daughters", Confidence.POSSIBLE, judged=date(2023, 1, 1))
        book = edits.add_claim(book, piece, claim)
    return book


def test_the_demo_needs_no_correction(book):
    assert corrections(book) == ()


def test_a_discovery_makes_one_task_for_each_published_study_it_touches(book):
    after = discovered(shared(book), "29", "maker", "Ellery of Hobart")
    found = corrections(after)
    assert [(c.study, c.piece, c.shared_by) for c in found] == [
        ("fishers-smock", "29", "02"),
        ("feather-boa", "29", "25"),
    ]
    assert [c.done for c in found] == [None, None]
    assert correction_words(after, found[1]) == (
        "In doubt since then, 14 March 2026: maker of Feather boa was given as Tarn & Daughters, "
        "as of Apple-packer's apron, where it is now held to be probably Ellery of Hobart."
    )


def test_a_study_of_the_piece_itself_gets_the_correction(book):
    after = discovered(shared(book), "25", "maker", "Ellery of Hobart")
    found = [c for c in corrections(after) if c.study == "feather-boa"]
    assert [c.shared_by for c in found] == [""]
    assert correction_words(after, found[0]) == (
        "Correction, 14 March 2026: maker of Feather boa is probably Ellery of Hobart, "
        "not Tarn & Daughters as said in this film."
    )


def test_what_was_held_when_a_study_came_out_is_what_is_corrected(book):
    known = edits.add_claim(shared(book), "25", Claim("maker", "Moth", Confidence.SURE, judged=date(2025, 12, 24)))
    later = discovered(known, "25", "maker", "Ellery of Hobart")
    (correction,) = [c for c in corrections(later) if c.study == "feather-boa"]  # it came out on 30 November 2025
    assert correction.old is not None and correction.old.value == "Tarn & Daughters"


def test_what_was_known_before_it_came_out_needs_no_correction(book):
    before = edits.add_claim(shared(book), "25", Claim("maker", "Ellery", Confidence.SURE, judged=date(2025, 11, 1)))
    assert [c for c in corrections(before) if c.study == "feather-boa"] == []


def test_the_same_found_again_needs_no_correction(book):
    assert corrections(discovered(shared(book), "29", "maker", " tarn & daughters")) == ()


def test_something_new_on_a_piece_that_was_shown_is_told(book):
    after = discovered(book, "02", "found", "a hook in the hem")
    (correction,) = corrections(after)
    assert correction.study == "fishers-smock"
    assert correction_words(after, correction).startswith("Found since, on Fisher's smock “Cray”, 14 March 2026:")


def test_done_is_kept_with_its_day_and_a_later_discovery_is_another_task(book):
    after = discovered(shared(book), "29", "maker", "Ellery of Hobart")
    assert {m.lack: len(m.names) for m in prepare(after, "feather-boa", TODAY).missing}[Lack.CORRECTION] == 1
    package = replace(after.episode("feather-boa").package, corrected=put_right(after, "feather-boa", TODAY))
    done = edits.put_package(after, "feather-boa", package)
    assert {c.study: c.done for c in corrections(done)} == {"fishers-smock": None, "feather-boa": TODAY}
    assert Lack.CORRECTION not in [m.lack for m in prepare(done, "feather-boa", TODAY).missing]
    again = discovered(done, "29", "maker", "nobody knows")
    assert [c.done for c in corrections(again) if c.study == "feather-boa"] == [None]


def test_the_study_in_which_it_was_found_names_the_films_it_corrects(book):
    after = discovered(shared(book), "29", "maker", "Ellery of Hobart")
    told = [mention_words(after, c) for c in corrections(after)]
    assert told[0] == (
        "In “Cray: a smock that stands by itself” maker of Fisher's smock “Cray” was given as Tarn & Daughters; "
        "that is in doubt now."
    )
    description = prepare(after, "apron", TODAY).description
    assert all(line in description for line in told)
    assert told[0] not in prepare(after, "waistcoats", TODAY).description


def page(book: Book, *listed: str):
    series = replace(book.series[0], listed=listed)
    return [(fault.flaw, fault.study) for fault in page_faults(book.put("series", series), series)]


def test_the_page_of_the_demo_lacks_the_last_study(book):
    assert [(f.flaw, f.study) for f in page_faults(book, book.series[0])] == [(PageFlaw.MISSING, "day-bodice")]


def test_gaps_strangers_twins_and_order_of_the_page(book):
    out = published_in(book, book.series[0].id)
    assert len(out) == 35
    assert page(book, *out) == []
    assert page(book, *reversed(out)) == []  # the newest first
    assert page(book, *out, "apron") == [(PageFlaw.NOT_OUT, "apron")]
    assert page(book, *out, out[0]) == [(PageFlaw.TWICE, out[0])]
    moved = [id for id in out if id != "gymslip"]
    assert page(book, "gymslip", *moved) == [(PageFlaw.ORDER, "gymslip")]
    assert page(book, *moved) == [(PageFlaw.MISSING, "gymslip")]
    assert page(book, *moved[:10], "gymslip", *moved[10:][::-1])[-1][0] is PageFlaw.ORDER


def test_the_bank_of_stills(book):
    bank = still_bank(book, TODAY)
    assert (len(bank.banked), bank.days, bank.last, bank.week_short, bank.week_left) == (3, 3, date(2026, 3, 4), 4, 0)
    twice = replace(book, house=replace(book.house, posts_a_day=2))
    bank = still_bank(twice, TODAY)
    assert (bank.days, bank.last, bank.week_short) == (1, TODAY, 11)
    assert still_bank(replace(book, house=replace(book.house, posts_a_day=0)), TODAY).days == 0
    many = tuple(Still("29", f"still {n}") for n in range(6))
    more = edits.put_package(book, "apron", Package(stills=many))
    assert (still_bank(more, TODAY).week_short, still_bank(more, TODAY).week_left) == (0, 2)


def test_what_a_shoot_should_yield(book):
    waistcoats = book.episode("waistcoats")
    assert [(s.piece, s.what) for s in should_yield(book, waistcoats)] == [
        ("30", "flat face"),
        ("30", "embroidery"),
        ("30", "back replaced"),
        ("30", "maker's ticket"),
        ("31", "flat face"),
        ("31", "quilting"),
        ("31", "watch pocket added later"),
    ]  # and no still of the back straps, which are absent
    there = replace(waistcoats, package=Package(stills=(Still("30", "embroidery", posted=TODAY),)))
    assert ("30", "embroidery") not in [(s.piece, s.what) for s in still_missing(book, there)]


def test_alt_texts_are_her_own_or_made_and_never_firmer_than_the_book(book):
    assert alt_text(book, Still("31", "watch pocket added later")) == (
        "Quilted waistcoat “Barnaby”, perhaps 1845: watch pocket added later, wearer's left front."
    )
    assert alt_text(book, Still("31", "watch pocket added later", " A pocket. ")) == "A pocket."
    assert alt_text(book, Still("gone", "a hem")) == "gone: a hem."
