"""What is found in the words of a film: how often it is right on invented films, and what speaks against a place."""

from __future__ import annotations

import films
import pytest

from showrunner.domain.package import Chapter, Part
from showrunner.planning.captions import Spoken, read_captions
from showrunner.planning.film_parts import (
    division,
    extents,
    learnt_phrases,
    openings,
    proposals,
    sections_of,
)
from showrunner.planning.hearing import Doubt, Film, Sayable, Verdict, places_of, settle
from showrunner.planning.pointing import pointing_places
from showrunner.planning.terms import sound, terms_of

FILLER = " ".join(films.FILLERS[:20])


def hear(text: str, *things: Sayable):
    """What is found of things in one row of words between other talk."""
    spoken = f"{FILLER} {text} {FILLER}".split()
    film = Film([Spoken(word, at * 0.4, 0) for at, word in enumerate(spoken)])
    return settle(film, things, places_of(film, things), [None] * len(things))


def one(text: str, told: str, *, absent: bool = False):
    (found,) = hear(text, Sayable("1", told, absent=absent))
    return found


def held(study, film, form):
    captions = read_captions(films.FORMS[form](film), form)
    things = [line.thing for line in study.lines]
    heard = Film(captions.words)
    places = places_of(heard, things)
    opened = openings(heard, {})
    parts = division(heard, sections_of(things, study.pieces), things, places, opened)
    return heard, settle(heard, things, places, extents(heard, parts.starts, things)), parts


@pytest.mark.slow
def test_on_invented_films_what_is_called_said_mostly_was():
    right = false = missed = near = 0
    for study in films.studies():
        for seed in range(4):
            film = films.invented(study, seed, minutes=20)
            form = list(films.FORMS)[seed % 3]
            heard, found, _ = held(study, film, form)
            for hearing in found:
                said = hearing.thing.id in film.said
                if hearing.verdict is Verdict.SAID:
                    right, false = right + said, false + (not said)
                    at = heard.words[hearing.place.first].at
                    near += said and abs(at - film.said[hearing.thing.id]) <= 10
                else:
                    missed += said
    assert right / (right + false) >= 0.97
    assert right / (right + missed) >= 0.83
    assert near / right >= 0.97


@pytest.mark.slow
def test_on_invented_films_the_other_side_and_what_is_taken_back_are_hardly_ever_called_said():
    wrong = called = 0
    for study in films.studies():
        for seed in range(5):
            film = films.invented(study, 500 + seed, minutes=15, wrong=1.0)
            _, found, _ = held(study, film, list(films.FORMS)[seed % 3])
            mine = [hearing for hearing in found if hearing.thing.id in film.wrong]
            wrong += len(mine)
            called += sum(hearing.verdict is Verdict.SAID for hearing in mine)
    assert wrong > 50
    assert called / wrong <= 0.10


@pytest.mark.slow
def test_parts_that_words_open_begin_where_they_are_opened():
    there = near = 0
    for study in films.studies():
        for seed in range(3):
            film = films.invented(study, 900 + seed, minutes=15, announced=1.0, errors=0.0)
            heard, _, parts = held(study, film, "words.vtt")
            starts: dict[Part, float] = {}
            for start in parts.starts:  # of two pieces the first
                if start.announced:
                    starts.setdefault(start.section.part, heard.words[start.word].at)
            there += len(film.starts)
            near += sum(abs(starts.get(part, -99) - at) <= 10 for part, at in film.starts.items())
    assert near / there >= 0.85


@pytest.mark.parametrize(
    "text",
    [
        "there is a gusset under her left arm",
        "under the left arm somebody put in a gusset",
        "a gusset has been set in beneath the arm on her left",
        "there is a gus set under her left arm",  # misheard as two words
        "there is a gussit under her left arm",
    ],
)
def test_it_is_found_in_other_words_and_misheard(text):
    found = one(text, "gusset under the arm, wearer's left")
    assert found.verdict is Verdict.SAID
    assert not found.place.doubts


def test_the_other_side_is_told():
    found = one("there is a gusset under her right arm", "gusset under the arm, wearer's left")
    assert (found.verdict, found.place.doubts) == (Verdict.PERHAPS, (Doubt.OTHER_SIDE,))
    both = one("there is a gusset under her left arm and none on her right", "gusset under the arm, wearer's left")
    assert both.verdict is Verdict.SAID


@pytest.mark.parametrize(
    "talk", ["right so", "that's right", "all that is left", "the right way up", "what's left of it"]
)
def test_right_and_left_that_name_no_side_speak_against_nothing(talk):
    for side in ("left", "right"):
        found = one(f"{talk} there is a gusset under the arm {talk}", f"gusset under the arm, wearer's {side}")
        assert Doubt.OTHER_SIDE not in found.place.doubts


def test_another_number_is_told():
    said = "the size is stamped as {} and the ink has run"
    assert one(said.format("twenty six"), "size stamp 26, ink run").verdict is Verdict.SAID
    assert one(said.format("26"), "size stamp 26, ink run").verdict is Verdict.SAID
    assert one(said.format("twenty four"), "size stamp 26, ink run").place.doubts == (Doubt.OTHER_NUMBER,)


@pytest.mark.parametrize(
    ("text", "doubts"),
    [
        ("the suspender loops at the lower edge are missing", ()),
        ("there are no suspender loops at the lower edge any more", ()),
        ("somebody has taken out the suspender loops at the lower edge", ()),
        ("there are suspender loops at the lower edge", (Doubt.NO_ABSENCE,)),
        ("the suspender loops at the lower edge are still there none is missing", (Doubt.STILL_THERE,)),
    ],
)
def test_of_what_is_absent_it_must_be_said_that_it_is(text, doubts):
    found = one(text, "suspender loops at the lower edge", absent=True)
    assert found.place.doubts == doubts
    assert (found.verdict is Verdict.SAID) is (not doubts)


def test_what_is_said_not_to_be_so_and_what_is_taken_back_is_told():
    assert one("there is no velvet collar with a worn nap", "velvet collar, nap worn").place.doubts == (Doubt.DENIED,)
    back = "the velvet collar has a worn nap no that's wrong i was looking at the other one"
    assert one(back, "velvet collar, nap worn").place.doubts == (Doubt.TAKEN_BACK,)
    own = "the seams are taped they are not sewn"
    assert one(own, "seams taped, not sewn").verdict is Verdict.SAID


def test_one_word_of_it_is_not_said_but_shown_as_the_nearest():
    found = one("the collar is a big one", "velvet collar, nap worn at the fold")
    assert found.verdict is Verdict.NOT_HEARD
    assert found.place is not None
    nothing = one("let us begin", "petersham")
    assert (nothing.verdict, nothing.place) == (Verdict.NOT_HEARD, None)


def test_one_place_says_one_thing():
    text = "the hem is faced with a flour sack"
    a, b = hear(text, Sayable("a", "hem faced with a flour sack"), Sayable("b", "flour sack at the hem facing"))
    assert [a.verdict, b.verdict].count(Verdict.SAID) == 1


def test_nothing_to_look_for_and_nothing_heard():
    assert hear("so it goes") == ()
    film = Film([])
    assert [h.verdict for h in settle(film, [Sayable("1", "a hem")], [[]], [None])] == [Verdict.NOT_HEARD]
    assert one("the hem", "the of and").verdict is Verdict.NOT_HEARD


def test_numbers_stems_and_meanings():
    assert terms_of(["forty", "one"]) == [*terms_of(["41"]), ""]
    assert terms_of(["eighteen", "forty", "one"])[0] == "1841"
    assert terms_of(["this", "one"]) == ["", ""]
    assert terms_of(["basting"]) == terms_of(["tacked"])
    assert terms_of(["Piqué"]) == terms_of(["pique"])
    assert terms_of(["it's", "isn't", "don't"]) == ["", "=absent", ""]


def test_sounds():
    assert sound("petersham") == sound("peter") + sound("sham")
    assert sound("gnawed") == sound("nod")
    assert sound("fillet") == sound("phillit")
    assert sound("velvet") != sound("velour")


def test_a_learnt_phrase_opens_its_part_in_two_films_or_more_and_nothing_else():
    def film(*openings):
        return [Chapter(60 * at, "x", opening, part) for at, (part, opening) in enumerate(openings)]

    films_of_hers = [
        film((Part.FLAT, "so down she goes on the cloth"), (Part.INSIDE, "and in we go now")),
        film((Part.FLAT, "right down she goes again"), (Part.FORM, "and in we go now")),
        film((Part.FINDINGS, "only said once here")),
    ]
    assert learnt_phrases(films_of_hers) == {Part.FLAT: ("down she goes",)}


def test_a_learnt_phrase_finds_a_part_that_no_set_phrase_finds():
    words = f"{FILLER} down she goes on the cloth the hem is faced with a flour sack {FILLER}".split()
    film = Film([Spoken(word, at * 0.4, 0) for at, word in enumerate(words)])
    thing = Sayable("1", "hem faced with a flour sack", Part.FLAT, "1")
    places = places_of(film, [thing])
    sections = sections_of([thing], ["1"])
    for learnt, sure in (({}, False), ({Part.FLAT: ("down she goes",)}, True)):
        parts = division(film, sections, [thing], places, openings(film, learnt))
        assert [start.announced for start in parts.starts] == [sure]
        heard = settle(film, [thing], places, extents(film, parts.starts, [thing]))
        found = proposals(film, parts.starts, heard, {sections[0]: "Lying flat"}, 300, 10)
        assert [(p.chapter.title, p.sure) for p in found] == [("Opening", True), ("Lying flat", sure)]
        assert found[1].chapter.opening.startswith("down she goes") is sure


def test_words_that_point_at_nothing():
    def points(text):
        return [text.split()[at] for at in pointing_places([Spoken(w, 0.0, 0) for w in text.split()])]

    assert points("look at this bit and tell me") == ["this"]
    assert points("it goes over here like so") == ["over", "like"]
    assert points("on the cuff over here you have it") == []
    assert points("there is a lot of it and here we go again") == []
