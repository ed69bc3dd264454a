"""The package of a study, on the demo book and on copies of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from showrunner.demo_book import demo_path
from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.episode import Stage
from showrunner.domain.package import Chapter, Package
from showrunner.domain.piece import Claim, Confidence
from showrunner.domain.publication import Supporter
from showrunner.errors import BadInput, UnknownThing
from showrunner.planning.package import Lack, missing_words, prepare
from showrunner.session import Session

TODAY = date(2026, 3, 2)
AIRS = date(2026, 3, 22)
LEFT = "Some are left."


@pytest.fixture(scope="module")
def book() -> Iterator[Book]:
    with Session.open(demo_path(), write=False) as session:
        yield session.book


def apron(book: Book, **changes) -> Book:
    return book.put("episodes", replace(book.episode("apron"), **changes))


def lacks(book: Book, id: str = "apron", left: str = LEFT) -> dict[Lack, tuple[str, ...]]:
    return {missing.lack: missing.names for missing in prepare(book, id, TODAY, left).missing}


def test_the_apron_lacks_what_the_story_says(book):
    assert lacks(book) == {
        Lack.RUN_TIME: (),
        Lack.CHAPTERS: (),
        Lack.CAPTIONS: (),
        Lack.STILLS: ("flat face", "orchard stamp", "pencil loop"),
    }


def test_nothing_is_missing_once_all_is_there(book):
    found = prepare(book, "apron", TODAY, LEFT)
    from showrunner.planning.stills import still_missing

    stills = still_missing(book, book.episode("apron"))
    chapters = (Chapter(0, "Opening"), Chapter(30, "Flat"), Chapter(300, "Findings"))
    package = replace(book.episode("apron").package, chapters=chapters, stills=stills)
    done = apron(book, package=package, run_seconds=400, done=(Stage.CAPTIONS,))
    found = prepare(done, "apron", TODAY, LEFT)
    assert found.missing == ()
    assert found.chapter_webvtt.startswith("WEBVTT\n\n00:00:00.000 --> 00:00:30.000\nOpening\n")
    assert found.chapter_ffmetadata.startswith(";FFMETADATA1\ntitle=The apple-packer's apron\n[CHAPTER]\n")
    assert "0:00 Opening\n0:30 Flat\n5:00 Findings" in found.description


def test_the_description_says_dates_and_doubts_in_words(book):
    description = prepare(book, "apron", TODAY, LEFT).description
    assert description.startswith("Apple-packer's apron, about 1938, twill.\nOrigin: probably a Tasmanian orchard.\n")
    assert LEFT in description
    assert "https://example.org/camphorwood-hour/cray" in description
    waistcoats = prepare(book, "waistcoats", TODAY).description
    assert "Wedding: probably worn once, in 1841.\nCloth of the back: possibly of the 1870s." in waistcoats
    assert "in the 1850s" not in waistcoats  # superseded


NAMED = ["Dot Quillfeather", "Iain Brackenridge", "Noor Pell", "Marguerite Ostrander", "Tavish Loam"]


def test_five_supporters_are_credited_and_the_anonymous_one_never(book):
    for study in book.studies:
        found = prepare(book, study.id, TODAY)
        assert {"Anonymous"}.isdisjoint(s.name for s in found.thanks)
        assert "nonymous" not in found.description
    assert [s.name for s in prepare(book, "apron", TODAY).thanks] == NAMED


@pytest.mark.parametrize(("last", "credited"), [(AIRS - timedelta(1), False), (AIRS, True), (None, True)])
def test_consent_is_that_of_the_day_it_comes_out(book, last, credited):
    changed = book.put("supporters", replace(book.find("supporters", "noor"), last=last))
    found = prepare(changed, "apron", TODAY)
    assert ("Noor Pell" in found.description) is credited


@pytest.mark.parametrize(("first", "credited"), [(AIRS, True), (AIRS + timedelta(1), False)])
def test_support_that_has_not_begun_on_the_day_is_not_credited(book, first, credited):
    changed = book.put("supporters", Supporter("new", "Wren Sallow", True, first))
    assert ("Wren Sallow" in prepare(changed, "apron", TODAY).description) is credited


def test_without_a_slot_the_credits_are_those_of_today_which_is_told(book):
    free = apron(book, slot=None)
    assert Lack.DAY in lacks(free)
    later = free.put("supporters", Supporter("new", "Wren Sallow", True, TODAY))
    assert "Wren Sallow" in prepare(later, "apron", TODAY).description


def test_of_a_study_that_is_out_the_day_of_the_record_counts(book):
    found = prepare(book, "opera-gloves", TODAY)
    assert (found.out, found.day) == (True, date(2025, 7, 6))
    assert [s.name for s in found.thanks] == NAMED[:-1]  # Tavish Loam came later
    assert prepare(book, "corded-petticoat", TODAY).day == date(2024, 11, 30)  # known to the month


def test_animals_poison_and_law_are_told_to_viewers(book):
    description = prepare(book, "feather-boa", TODAY).description
    assert "This film shows parts of animals: Feather boa. From which animal they are is not certain." in description
    assert "may hold old poison against moth" in description
    assert "check the law where you live" in description
    sure = edits.add_claim(book, "25", Claim("species", "ostrich", Confidence.SURE))
    assert "is not certain" not in prepare(sure, "feather-boa", TODAY).description
    likely = edits.add_claim(book, "25", Claim("species", "ostrich", Confidence.PROBABLE))
    assert "is not certain" in prepare(likely, "feather-boa", TODAY).description
    assert "animals" not in prepare(book, "apron", TODAY).description


def test_her_own_words_stay_and_what_changed_is_offered(book):
    made = prepare(book, "apron", TODAY, LEFT).made
    hers = "I love this one.\n\n" + made
    written = edits.put_package(book, "apron", Package(description=hers, made=made))
    found = prepare(written, "apron", TODAY, LEFT)
    assert (found.description, found.edited) == (hers, True)
    assert [change.new for change in found.changes] == [()]  # the links went with the package that was put in place
    claim = Claim("origin", "the Huon valley", Confidence.SURE, judged=TODAY)
    later = edits.add_claim(written, "29", claim)
    found = prepare(later, "apron", TODAY, LEFT)
    assert found.description == hers
    assert found.changes[0].old == ("Origin: probably a Tasmanian orchard.",)
    assert found.changes[0].new == ("Origin: the Huon valley.",)


def test_faulty_chapters_are_named_and_stand_nowhere(book):
    chapters = (Chapter(0, "Opening"), Chapter(300, "Findings"), Chapter(30, "Flat"))
    wrong = apron(book, package=Package(chapters=chapters), run_seconds=400)
    found = prepare(wrong, "apron", TODAY, LEFT)
    assert lacks(wrong)[Lack.CHAPTER_FAULT] == ("0:30 Flat does not come after 5:00, where the one above begins",)
    assert not found.chapters_ready
    assert (found.chapter_text, found.chapter_webvtt, found.chapter_ffmetadata) == ("", "", "")
    assert "5:00" not in found.description


def test_a_link_without_an_address_and_a_page_without_one_are_named(book):
    linked = apron(book, package=Package(related=("gymslip",)))
    assert lacks(linked)[Lack.LINK] == ("“Let down twice: the gymslip”",)
    series = book.series[0]
    assert lacks(book.put("series", replace(series, page="")))[Lack.PAGE] == (series.name,)


def test_a_template_that_cannot_be_filled_is_named_and_the_built_in_one_used(book):
    house = replace(book.house, description="$peices")
    broken = replace(book, house=house)
    assert "nothing is known for $peices" in lacks(broken)[Lack.TEMPLATE]
    assert prepare(broken, "apron", TODAY, LEFT).description == prepare(book, "apron", TODAY, LEFT).description
    own = replace(book, house=replace(house, description="$title by $presenter"))
    assert prepare(own, "apron", TODAY).description == "The apple-packer's apron by Posy Tranter-Vale"


def test_how_many_are_left_is_a_range_once_it_is_out(tmp_path: Path):
    with Session.open(demo_path(), write=False) as session:
        assert "between 5 and 7 pieces left" in session.package("apron").description
        assert "between 6 and 8 pieces left" in session.runout().statement
        assert "between 3 and 5 pieces left" in session.package("waistcoats").description
        assert "between 6 and 8 pieces left" in session.package("day-bodice").description


def test_what_has_no_package_is_refused(book):
    with pytest.raises(BadInput):
        prepare(book, "diary-2026-03-04", TODAY)
    with pytest.raises(UnknownThing):
        prepare(book, "none such", TODAY)


def test_every_missing_thing_has_its_sentence(book):
    for study in book.studies:
        for missing in prepare(book, study.id, TODAY).missing:
            told = missing_words(missing)
            assert told.endswith((".", "!")) and "  " not in told
