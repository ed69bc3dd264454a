"""Which studies are to be placed: those of the book, and those that pieces in no study would make."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from books import small, sunday

from showrunner.domain.book import Book
from showrunner.domain.collection import Collection, CollectionKind
from showrunner.domain.episode import Episode, EpisodeKind, Pin, PinKind, Series, Stage, StageMinutes, Window
from showrunner.domain.piece import Known, Piece, Shown, Want, WantStatus
from showrunner.planning.candidates import Candidate, candidates
from showrunner.planning.results import Unsure

MINUTES = StageMinutes(research=60, shoot=120, edit=240)
STATES = {"n": Known.NO, "u": Known.UNSURE, "y": Known.YES}


def book(*known: str, studies: tuple[tuple[int, ...], ...] = (), pairs: tuple[tuple[int, int], ...] = ()) -> Book:
    """Pieces `0`, `1`, .. that are (n)ot shown, (u)nsure or (y)es, in studies `s0`, .., and promised pairs."""
    found = small(0)
    pieces = [Piece(f"{at}", f"P{at}", "dress", shown=Shown(STATES[state], 50)) for at, state in enumerate(known)]
    made = [
        Episode(f"s{at}", f"S{at}", series="looks", pieces=tuple(map(str, numbers)))
        for at, numbers in enumerate(studies)
    ]
    pins = [Pin(f"p{at}", PinKind.PAIR, pieces=(f"{a}", f"{b}")) for at, (a, b) in enumerate(pairs)]
    series = replace(found.series[0], stages=MINUTES)
    return replace(found, pieces=tuple(pieces), episodes=tuple(made), pins=tuple(pins), series=(series,))


def keys(found: Book, unsure: Unsure = Unsure.LEFT_OUT) -> list[str]:
    return [study.key for study in candidates(found, unsure)[0]]


def implied(found: Book, unsure: Unsure = Unsure.LEFT_OUT) -> list[tuple[str, ...]]:
    return [study.pieces for study in candidates(found, unsure)[0] if study.implied]


@pytest.mark.parametrize(
    ("pieces", "placed"),
    [
        ("n", True),
        ("y", True),  # a revisit
        ("u", False),
        ("nu", True),
        ("uy", False),
        ("ny", True),
        ("", True),  # nothing is chosen yet
    ],
)
def test_a_study_falls_away_only_if_unsure_pieces_are_all_it_had_to_show_and_are_taken_as_shown(
    pieces: str, placed: bool
) -> None:
    found = book(*pieces, studies=(tuple(range(len(pieces))),))
    assert keys(found, Unsure.SHOWN) == (["s0"] if placed else [])
    assert keys(found, Unsure.LEFT_OUT) == keys(found, Unsure.UNSHOWN) == ["s0"]


@pytest.mark.parametrize(
    ("unsure", "made", "left_out"),
    [
        (Unsure.LEFT_OUT, [("0",)], ("1",)),
        (Unsure.SHOWN, [("0",)], ()),
        (Unsure.UNSHOWN, [("0",), ("1",)], ()),
    ],
)
def test_a_piece_in_no_study_makes_one_if_it_is_taken_as_unshown(
    unsure: Unsure, made: list[tuple[str, ...]], left_out: tuple[str, ...]
) -> None:
    found = book("n", "u", "y", "n", "u", studies=((3,), (4,)))
    assert implied(found, unsure) == made
    assert candidates(found, unsure)[1] == left_out


def test_a_study_that_would_be_made_has_the_title_hours_and_series_of_its_pieces() -> None:
    made = Candidate("piece:0", "P0 and P1", book().series[0], ("0", "1"), (), 60 + 120 + 240, None, None, True)
    assert candidates(book("n", "n", pairs=((1, 0),)), Unsure.LEFT_OUT) == ((made,), ())


def test_what_is_wanted_or_of_a_collection_without_a_series_makes_no_study() -> None:
    found = book("n", "n", "n")
    found = replace(found, collections=(*found.collections, Collection("hats", "Hats")))
    wanted = replace(found.piece("1"), want=Want(status=WantStatus.WANTED))
    found = found.put("pieces", wanted, replace(found.piece("2"), collection="hats"))
    assert implied(found) == [("0",)]


def test_of_two_series_on_a_collection_the_first_makes_the_studies() -> None:
    found = book("n")
    found = replace(found, series=(*found.series, replace(found.series[0], id="more")))
    assert [study.series.id for study in candidates(found, Unsure.LEFT_OUT)[0]] == ["looks"]


@pytest.mark.parametrize(
    ("known", "unsure", "made", "left_out"),
    [
        ("nn", Unsure.LEFT_OUT, [("0", "1")], ()),
        ("nu", Unsure.LEFT_OUT, [("0", "1")], ()),
        ("un", Unsure.SHOWN, [("0", "1")], ()),
        ("uu", Unsure.LEFT_OUT, [], ("0", "1")),
        ("uu", Unsure.SHOWN, [], ()),
        ("uu", Unsure.UNSHOWN, [("0", "1")], ()),
        ("uy", Unsure.LEFT_OUT, [], ("0",)),
        ("yu", Unsure.UNSHOWN, [("0", "1")], ()),
        ("yy", Unsure.UNSHOWN, [], ()),
    ],
)
def test_two_pieces_promised_together_make_one_study_if_either_is_to_be_shown(
    known: str, unsure: Unsure, made: list[tuple[str, ...]], left_out: tuple[str, ...]
) -> None:
    found = book(*known, pairs=((0, 1),))
    assert implied(found, unsure) == made
    assert candidates(found, unsure)[1] == left_out


def test_a_promised_pair_is_no_study_where_one_piece_is_elsewhere_wanted_or_in_another_pair() -> None:
    assert implied(book("n", "n", studies=((1,),), pairs=((0, 1),))) == [("0",)]
    assert implied(book("n", "n", "n", pairs=((0, 1), (1, 2)))) == [("0", "1"), ("2",)]
    assert implied(book("n", "n", "n", pairs=((1, 2), (0, 1)))) == [("0",), ("1", "2")]
    both = book("n", "n", pairs=((0, 1),))
    for piece in both.pieces:
        (other,) = (p for p in both.pieces if p != piece)
        want = both.put("pieces", replace(piece, want=Want(status=WantStatus.WANTED)))
        assert implied(want) == [(other.id,)]
    hats = replace(both, collections=(*both.collections, Collection("hats", "Hats")))
    assert implied(hats.put("pieces", replace(both.piece("1"), collection="hats"))) == [("0",)]
    gone = both.put("pins", Pin("p0", PinKind.PAIR, pieces=("0", "gone")))
    assert implied(gone) == [("0",), ("1",)]
    out = both.put("episodes", Episode("s9", "S9", series="looks", pieces=("1",), published=True))
    assert implied(out) == [("0",), ("1",)]  # shown by itself, and not shown still


def test_an_order_between_studies_makes_no_pair() -> None:
    found = book("n", "n")
    found = replace(found, pins=(Pin("p", PinKind.ORDER, ("piece:0", "piece:1"), pieces=("0", "1")),))
    assert implied(found) == [("0",), ("1",)]


def test_a_study_of_the_book_keeps_what_is_known_of_it() -> None:
    """Hours: those of the series, its own, less what is done, none once it is finished."""
    found = book("n", "n", studies=((0,), (1,)))
    window, slot = Window(date(2026, 3, 9), date(2026, 3, 15)), sunday(date(2026, 3, 15))
    promised = Pin("d", PinKind.DATE, ("s1",), sunday(date(2026, 3, 22)))
    study = replace(found.episode("s1"), windows=(window,), slot=slot)
    found = replace(found.put("episodes", study), pins=(promised, Pin("o", PinKind.ORDER, ("s0", "s1"))))
    (first, second), left_out = candidates(found, Unsure.LEFT_OUT)
    assert first == Candidate("s0", "S0", found.series[0], ("0",), (), 420, None, None, False)
    assert second == Candidate("s1", "S1", found.series[0], ("1",), (window,), 420, slot, promised.slot, False)
    assert left_out == ()

    def minutes(**changes: object) -> int:
        changed = found.put("episodes", replace(found.episode("s0"), **changes))
        return candidates(changed, Unsure.LEFT_OUT)[0][0].minutes

    assert minutes(done=(Stage.SHOOT, Stage.RESEARCH)) == 240
    assert minutes(stages=StageMinutes(edit=30)) == 30
    assert minutes(stages=StageMinutes(edit=30, shoot=40), done=(Stage.EDIT,)) == 40
    assert minutes(finished=True) == 0


def test_neither_filler_nor_what_is_published_is_placed() -> None:
    found = book("n", "y", studies=((0,), (1,)))
    found = found.put("episodes", replace(found.episode("s1"), published=True))
    found = found.put("episodes", Episode("talk", "Talk", EpisodeKind.FILLER))
    assert keys(found) == ["s0"]


def test_what_has_arrived_makes_a_study_once_as_many_have_as_the_collection_opens_with() -> None:
    shop = Collection("hats", "Hats", CollectionKind.SHOPPING, opens_with=2)
    series = Series("brim", "Brim", "hats", ("sunday",))
    arrived, ordered = Want(WantStatus.ARRIVED), Want(WantStatus.ORDERED)
    one, two = Piece("h1", "Drum", "hats", want=arrived), Piece("h2", "Aunt", "hats", want=ordered)
    shopping = replace(small(0), collections=(*small(0).collections, shop), series=(series,), pieces=(one, two))
    assert implied(shopping) == []
    here = shopping.put("pieces", replace(two, want=arrived))
    assert implied(here) == [("h1",), ("h2",)]
    both = replace(here, pins=(Pin("p", PinKind.PAIR, pieces=("h1", "h2")),))
    assert implied(both) == [("h1", "h2")]
    kept = replace(shop, kind=CollectionKind.KEEPING)
    assert implied(shopping.put("collections", kept)) == [("h1",)]
