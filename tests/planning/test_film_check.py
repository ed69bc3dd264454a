"""Captions of the demo's film of the waistcoats, and captions that are odd as a whole."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from hashlib import sha256
from pathlib import Path

import films
import pytest

from demo.captions import ALL, FILES, MISSED, spoken, webvtt
from showrunner.demo_book import demo_path
from showrunner.domain.book import Book
from showrunner.domain.package import Chapter, Heard, Package, Part
from showrunner.errors import BadInput, UnknownThing
from showrunner.planning.film_check import Trouble, check_film, sayables, taken_from
from showrunner.planning.hearing import Verdict
from showrunner.planning.points import points_of
from showrunner.session import Session

DEMO = Path(__file__).parents[2] / "demo"
STUDY = "waistcoats"


@pytest.fixture(scope="module")
def book() -> Iterator[Book]:
    with Session.open(demo_path(), write=False) as session:
        yield session.book


def check(book: Book, name: str, study: str = STUDY):
    return check_film(book, study, FILES[name].encode(), name)


def titles(found):
    return [(p.chapter.seconds, p.chapter.title, p.sure) for p in found.chapters]


def test_the_files_of_the_demo_are_as_the_script_makes_them():
    for name, text in FILES.items():
        assert (DEMO / name).read_text(encoding="utf-8") == text


def test_every_point_of_a_study_is_looked_for(book):
    told = sayables(book, book.episode(STUDY))
    points = [point for id in ("30", "31") for point in points_of(book.piece(id), ())]
    assert [(thing.id, text) for thing, text in told] == [(point.id, point.text) for point in points]
    assert [thing.text for thing, _ in told if thing.absent] == ["back straps, waist"]
    assert {thing.part for thing, _ in told} == {Part.FLAT, Part.INSIDE, None}


def test_the_film_that_says_all(book):
    found = check(book, "waistcoats-all.vtt")
    assert len(found.of(Verdict.SAID)) == len(found.lines) == 18
    assert found.odd == () and found.cues == sum(map(bool, ALL))
    assert titles(found) == [
        (0, "Lying flat: Wedding waistcoat “Septimus”", True),
        (116, "Lying flat: Quilted waistcoat “Barnaby”", True),
        (187, "Inside: Wedding waistcoat “Septimus”", True),
        (222, "Inside: Quilted waistcoat “Barnaby”", True),
        (253, "On the form", True),
    ]
    by_line = {text: start for start, _, text in spoken(ALL)}
    said = {line.text: line.seconds for line in found.lines}
    ticket = by_line["Below the neck there is a maker's ticket."]
    assert abs(said["maker's ticket, below the neck"] - ticket) < 3


def test_the_film_that_misses_two(book):
    found = check(book, "waistcoats-two-missed.srt")
    assert [line.text for line in found.of(Verdict.NOT_HEARD)] == [
        "back straps, waist: absent",  # what is absent comes first
        "the soil shows where the lapels of a coat lay",
    ]
    assert len(found.of(Verdict.SAID)) == 16
    assert len(MISSED) == 2


def test_the_film_in_the_wrong_order(book):
    found = check(book, "waistcoats-wrong-order.vtt")
    assert [odd.trouble for odd in found.odd] == [Trouble.ORDER]
    assert len(found.of(Verdict.SAID)) == 18
    parts = [p.chapter.part for p in found.chapters]
    assert parts == [None, Part.INSIDE, Part.INSIDE, Part.FLAT, Part.FLAT]
    assert [p.chapter.seconds for p in found.chapters] == sorted(p.chapter.seconds for p in found.chapters)


def test_what_is_taken_is_kept_with_the_file_it_comes_from(book):
    found = check(book, "waistcoats-all.vtt")
    edit, done = taken_from(book, found, ["chapters", "said", "run-time"])
    after = edit(book).episode(STUDY)
    assert done == (("chapter", 5), ("point", 18), ("second", 325))
    assert (len(after.package.chapters), len(after.package.heard), after.run_seconds) == (5, 18, 325)
    assert after.package.captions == "waistcoats-all.vtt"
    assert after.package.captions_digest == sha256(FILES["waistcoats-all.vtt"].encode()).hexdigest()
    assert after.package.chapters[0].opening == "so here he is lying flat on the"


def test_weak_chapters_are_taken_only_when_they_are_asked_for(book):
    found = check(book, "waistcoats-wrong-order.vtt")
    weak = replace(found, chapters=(*found.chapters[:-1], replace(found.chapters[-1], sure=False)))
    for take, number in (("chapters", 4), ("weak-chapters", 5)):
        edit, _ = taken_from(book, weak, [take])
        assert len(edit(book).episode(STUDY).package.chapters) == number
    with pytest.raises(BadInput):
        taken_from(book, replace(found, chapters=()), ["chapters"])


def test_what_was_taken_before_stays_beside_what_is_taken_now(book):
    found = check(book, "waistcoats-two-missed.srt")
    kept = Heard("31/say/back straps, waist: absent", 99)
    old = Heard(found.of(Verdict.SAID)[0].point, 1)
    before = book.put("episodes", replace(book.episode(STUDY), package=Package(heard=(kept, old))))
    edit, _ = taken_from(before, found, ["said"])
    heard = edit(before).episode(STUDY).package.heard
    assert len(heard) == 17 and kept in heard and old not in heard


def test_taken_run_times_correct_the_estimate_once_there_are_three(book):
    from showrunner.planning.run_time import past_ratio

    changed = book
    for id in ("apron", "waistcoats", "skating-jacket"):
        changed = changed.put("episodes", replace(changed.episode(id), estimate_seconds=250))
        found = check_film(changed, id, FILES["waistcoats-all.vtt"].encode(), "x.vtt")
        edit, _ = taken_from(changed, found, ["run-time"])
        changed = edit(changed)
    assert past_ratio(changed.episodes) == (Fraction(325, 250), 3)


def troubles(book: Book, data: bytes, study: str = STUDY):
    return {odd.trouble: odd.amount for odd in check_film(book, study, data, "film.vtt").odd}


def test_captions_of_another_film_are_told(book):
    other = films.as_words(films.invented(films.studies()[2], 1, minutes=6))
    assert Trouble.OTHER_FILM in troubles(book, other)
    assert Trouble.OTHER_FILM not in troubles(book, FILES["waistcoats-all.vtt"].encode())


def test_captions_in_another_language_are_told(book):
    german = (
        "Heute liegt die Weste flach auf dem Tisch und wir sehen uns die Stickerei an.",
        "Der Rücken wurde später ersetzt, das sieht man an der Naht unter dem Kragen.",
        "Das Schild nennt einen Schneider, aber keine Stadt, und es ist mit der Hand genäht.",
    ) * 5
    found = troubles(book, webvtt(spoken(german)).encode())
    assert Trouble.LANGUAGE in found and Trouble.OTHER_FILM not in found


def test_captions_that_are_longer_or_far_shorter_than_the_film_are_told(book):
    data = FILES["waistcoats-all.vtt"].encode()  # to 5:24
    for seconds, told in ((325, {}), (300, {Trouble.LONGER: 25}), (900, {Trouble.SHORTER: 576}), (500, {})):
        known = book.put("episodes", replace(book.episode(STUDY), run_seconds=seconds))
        assert troubles(known, data) == told


def test_lost_cues_and_a_clock_that_is_ahead_are_told(book):
    text = FILES["waistcoats-all.vtt"]
    assert troubles(book, (text + "\nlater --> still later\nlost\n").encode()) == {Trouble.LOST: 1}
    ahead = text.replace("00:0", "01:0", 0)
    shifted = "\n".join(line.replace("00:", "01:", 1).replace("--> 00:", "--> 01:") for line in ahead.split("\n"))
    assert troubles(book, shifted.encode()) == {Trouble.CLOCK: 1}


def test_pointing_words_are_told_above_the_house_rule(book):
    pointing = webvtt(spoken((*ALL, *("And this bit goes over here like so.",) * 6))).encode()
    assert Trouble.POINTING in troubles(book, pointing)
    patient = replace(book, house=replace(book.house, most_pointing=999))
    assert Trouble.POINTING not in troubles(patient, pointing)


def test_filler_and_what_is_not_there_are_refused(book):
    with pytest.raises(BadInput):
        check(book, "waistcoats-all.vtt", "diary-2026-03-04")
    with pytest.raises(UnknownThing):
        check(book, "waistcoats-all.vtt", "none such")


def test_accepted_chapters_of_other_films_teach_their_openings(book):
    lines = tuple(
        line.replace("So here he is lying flat on the table, and this", "Down she goes now, this") for line in ALL
    )
    data = webvtt(spoken(lines)).encode()
    plain = check_film(book, STUDY, data, "x.vtt")
    assert plain.chapters[0].chapter.opening == "" or not plain.chapters[0].chapter.opening.startswith("down she goes")
    taught = book
    for id in ("apron", "skating-jacket"):
        package = Package(chapters=(Chapter(0, "Flat", "so down she goes now again", Part.FLAT),))
        taught = taught.put("episodes", replace(taught.episode(id), package=package))
    found = check_film(taught, STUDY, data, "x.vtt")
    assert found.chapters[0].chapter.opening.startswith("down she goes now")
