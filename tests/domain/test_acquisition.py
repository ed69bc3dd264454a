"""The order of acquisition, and what follows from it."""

from __future__ import annotations

import graphlib
from dataclasses import replace
from datetime import date
from itertools import permutations, product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showrunner.domain.acquisition import End, bounds, circle_words, contradictions, cycle, doubt, same_bounds
from showrunner.domain.book import Book
from showrunner.domain.piece import Known, Piece, Shown
from showrunner.storage.edtf_text import parse_made
from showrunner.storage.written_dates import read_written


def piece(id: str, acquired: str = "", before: str = "", after: str = "") -> Piece:
    """A piece with its date in EDTF and the ids of those it came before and after, one letter each."""
    when = parse_made(acquired) if acquired else None
    return Piece(id, f"Piece {id}", "dress", acquired=when, acquired_before=tuple(before), acquired_after=tuple(after))


def book(*pieces: Piece) -> Book:
    return Book("0d9f", pieces=pieces)


def told(of: Book, id: str) -> list[str]:
    return [bound.words for bound in bounds(of)[id].derived]


def test_a_bound_goes_either_way_and_from_piece_to_piece() -> None:
    of = book(piece("a", before="b"), piece("b", "2009"), piece("c", after="b"), piece("d", after="c"))
    assert told(of, "a") == ["no later than 2009, since it came before Piece b"]
    assert told(of, "b") == []
    assert told(of, "c") == ["no earlier than 2009, since it came after Piece b"]
    assert told(of, "d") == ["no earlier than 2009, since it came after Piece c and so after Piece b"]
    found = bounds(of)
    assert (found["a"].earliest, found["a"].latest) == (None, date(2009, 12, 31))
    assert (found["d"].earliest, found["d"].latest) == (date(2009, 1, 1), None)


def test_bounds_are_others_only_where_what_they_rest_on_is() -> None:
    first = piece("b", "2009")
    of = book(piece("a", before="b"), first)
    others = (
        replace(first, name="Fan"),
        replace(first, acquired=None),
        piece("b", "2010"),
        piece("b", "2009", before="a"),
        piece("b", "2009", after="a"),
        piece("c", "2009"),
        replace(first, box="F", kind="fan", shown=Shown(Known.YES)),
    )
    for other in others:
        changed = book(piece("a", before="b"), other)
        assert same_bounds(of.pieces, changed.pieces) is (other.box == "F")
        assert not same_bounds(of.pieces, changed.pieces) or bounds(changed) == bounds(of)
    assert not same_bounds(of.pieces, of.pieces[:1])
    assert not same_bounds(of.pieces[:1], of.pieces)


def test_a_relation_means_the_same_on_either_piece() -> None:
    on_first = book(piece("a", before="b"), piece("b", "2009"))
    on_second = book(piece("a"), piece("b", "2009", after="a"))
    on_both = book(piece("a", before="b"), piece("b", "2009", after="a"))
    assert bounds(on_first) == bounds(on_second) == bounds(on_both)


@pytest.mark.parametrize(
    ("text", "latest", "earliest"),
    [
        ("2009", "no later than 2009", "no earlier than 2009"),
        ("2009~", "no later than about 2009", "no earlier than about 2009"),
        ("2009?", "no later than perhaps 2009", "no earlier than perhaps 2009"),
        ("2009%", "no later than perhaps about 2009", "no earlier than perhaps about 2009"),
        ("2009-03", "no later than March 2009", "no earlier than March 2009"),
        ("2009-03-22", "no later than 22 March 2009", "no earlier than 22 March 2009"),
        ("2009-12-31", "no later than 31 December 2009", "no earlier than 31 December 2009"),
        ("199X", "no later than 1999", "no earlier than 1990"),
        ("2005/2009-04-05", "no later than 5 April 2009", "no earlier than 2005"),
        ("2004~/2009", "no later than about 2009", "no earlier than about 2004"),
    ],
)
def test_a_bound_is_as_coarse_and_as_doubtful_as_its_date(text: str, latest: str, earliest: str) -> None:
    of = book(piece("a", before="b"), piece("b", text, before="c"), piece("c"))
    assert told(of, "a") == [f"{latest}, since it came before Piece b"]
    assert told(of, "c") == [f"{earliest}, since it came after Piece b"]


def test_an_open_end_bounds_nothing() -> None:
    of = book(piece("a", before="b"), piece("b", "2009/..", before="c"), piece("c"))
    assert told(of, "a") == []
    assert told(of, "c") == ["no earlier than 2009, since it came after Piece b"]


def test_only_what_is_narrower_than_the_own_date_is_said_and_the_own_date_stays() -> None:
    of = book(piece("a", "2001/2008", before="b"), piece("b", "2009"), piece("c", "2001/2012", before="b"))
    assert told(of, "a") == []
    assert told(of, "c") == ["no later than 2009, since it came before Piece b"]
    found = bounds(of)["c"]
    assert (found.earliest, found.latest) == (date(2001, 1, 1), date(2009, 12, 31))


def test_a_doubtful_bound_stands_beside_a_firm_one_and_never_in_its_place() -> None:
    of = book(piece("a", before="bc"), piece("b", "2009~"), piece("c", "2011"))
    assert told(of, "a") == [
        "no later than 2011, since it came before Piece c",
        "no later than about 2009, since it came before Piece b",
    ]
    assert [bound.doubtful for bound in bounds(of)["a"].derived] == [False, True]
    assert bounds(of)["a"].doubtful
    firm_is_narrower = book(piece("a", before="bc"), piece("b", "2009~"), piece("c", "2007"))
    assert told(firm_is_narrower, "a") == ["no later than 2007, since it came before Piece c"]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("about the 1990s", "about"),
        ("1990s?", "perhaps"),
        ("spring 1999, I think", "perhaps"),
        ("c. 1999", "about"),
        ("1999-ish", "about"),
        ("[1999]", "perhaps"),
        ("12 May 1999", ""),
        ("19th c.", ""),
        ("C19", ""),
        ("c1900", "about"),
        ("August 1999 [shop label]", ""),
        ("1990s (1985)", "perhaps"),
        ("Sun 12 Mar 2024 to 3 May 2024", "perhaps"),
        ("before 2005", ""),
        ("August 1999", ""),
    ],
)
def test_doubt_in_the_words_counts_where_edtf_has_no_mark(text: str, said: str) -> None:
    kept = read_written(text).kept
    assert kept is not None
    assert doubt(kept) == said


@pytest.mark.parametrize("mark", ["about", "c.", "ca", "circa", "around", "approx.", "perhaps", "maybe", "probably"])
@pytest.mark.parametrize(
    "core", ["the 1990s", "the 19th century", "spring 1999", "1995 to 1999", "1999", "before 2005"]
)
def test_no_doubt_that_was_read_is_lost(mark: str, core: str) -> None:
    read = read_written(f"{mark} {core}")
    assert read.doubtful
    assert read.kept is not None
    assert doubt(read.kept)


# Circles


def test_a_circle_is_named_in_order() -> None:
    of = book(piece("a", before="b"), piece("b", before="c"), piece("c"), piece("d", "2009", before="a", after=""))
    assert cycle(of) == ()
    of = of.put("pieces", piece("c", before="a"))
    assert cycle(of) == ("a", "b", "c")
    assert cycle(of, "b") == ("b", "c", "a")
    assert cycle(of, "d") == ()
    assert circle_words(of, ("a", "b", "c")) == (
        "Piece a came before Piece b, Piece b before Piece c and Piece c before Piece a"
    )


def test_pieces_on_a_circle_keep_their_own_dates_and_hand_nothing_on() -> None:
    of = book(
        piece("a", "2001", before="b"), piece("b", before="a"), piece("c", after="b"), piece("d", "2004", after="c")
    )
    assert bounds(of)["b"].derived == ()
    assert told(of, "c") == ["no later than 2004, since it came before Piece d"]


def test_the_shortest_circle_through_a_piece() -> None:
    of = book(piece("a", before="bc"), piece("b", before="d"), piece("c", before="a"), piece("d", before="a"))
    assert cycle(of, "a") == ("a", "c")


def test_unknown_pieces_and_a_piece_that_names_itself_are_left_aside() -> None:
    of = book(piece("a", "2001", before="az", after="y"))
    assert cycle(of) == ()
    assert bounds(of)["a"].derived == ()
    assert contradictions(of) == ()


# Contradictions


def test_firm_dates_that_go_against_the_order() -> None:
    of = book(piece("a", "2012", before="b"), piece("b"), piece("c", "2009-05", after="b"))
    (clash,) = contradictions(of)
    assert (clash.earlier, clash.later) == ("a", "c")
    assert clash.words == (
        "Piece a is said to have come before Piece c, "
        "but it came no earlier than 2012 and Piece c no later than May 2009"
    )


@pytest.mark.parametrize(
    ("first", "second"), [("2012~", "2009"), ("2012", "2009?"), ("2012%", "2009~"), ("2009", "2009")]
)
def test_doubt_is_no_contradiction(first: str, second: str) -> None:
    assert contradictions(book(piece("a", first, before="b"), piece("b", second))) == ()


# Against plain search

IDS = "abcde"
ORDERS = st.lists(st.tuples(st.sampled_from(IDS), st.sampled_from(IDS), st.booleans()), max_size=7)
YEARS = st.lists(
    st.sampled_from(["", "2001", "2002", "2003~", "2001/2003", "2002/..", "../2002"]), min_size=5, max_size=5
)


def made(orders: list[tuple[str, str, bool]], years: list[str]) -> Book:
    pieces = {id: piece(id, year) for id, year in zip(IDS, years, strict=True)}
    for one, two, on_first in orders:
        if on_first:
            pieces[one] = replace(pieces[one], acquired_before=(*pieces[one].acquired_before, two))
        else:
            pieces[two] = replace(pieces[two], acquired_after=(*pieces[two].acquired_after, one))
    return book(*pieces.values())


@given(ORDERS)
def test_a_circle_is_found_where_the_standard_library_finds_one(orders: list[tuple[str, str, bool]]) -> None:
    of = made(orders, [""] * 5)
    sorter = graphlib.TopologicalSorter({id: [one for one, two, _ in orders if two == id != one] for id in IDS})
    links = {(one, two) for one, two, _ in orders}
    try:
        sorter.prepare()
    except graphlib.CycleError:
        found = cycle(of)
        assert len(set(found)) == len(found) > 1
        assert all(pair in links for pair in zip(found, found[1:] + found[:1], strict=True))
    else:
        assert cycle(of) == ()


@given(ORDERS, YEARS)
def test_bounds_and_contradictions_are_those_of_every_chain(
    orders: list[tuple[str, str, bool]], years: list[str]
) -> None:
    of = made(orders, years)
    if cycle(of):
        return
    chained = {(one, two) for one, two, _ in orders if one != two}
    for through, one, two in product(IDS, IDS, IDS):  # every way by way of one more piece
        if (one, through) in chained and (through, two) in chained:
            chained.add((one, two))
    found = bounds(of)
    for own in of.pieces:
        ends = [p.acquired.latest for p in of.pieces if p.acquired and (p is own or (own.id, p.id) in chained)]
        starts = [p.acquired.earliest for p in of.pieces if p.acquired and (p is own or (p.id, own.id) in chained)]
        assert found[own.id].latest == min((day for day in ends if day), default=None)
        assert found[own.id].earliest == max((day for day in starts if day), default=None)
        for bound in found[own.id].derived:
            source = of.piece(bound.source).acquired
            assert source is not None
            assert bound.day == (source.latest if bound.end is End.LATEST else source.earliest)
            assert bool(doubt(source)) == bound.doubtful == ("about" in bound.words)

    def against(one: Piece, two: Piece) -> bool:
        if (one.id, two.id) not in chained or not one.acquired or not two.acquired:
            return False
        if doubt(one.acquired) or doubt(two.acquired) or not one.acquired.earliest or not two.acquired.latest:
            return False
        return one.acquired.earliest > two.acquired.latest

    wrong = {(one.id, two.id) for one, two in permutations(of.pieces, 2) if against(one, two)}
    clashes = {(clash.earlier, clash.later) for clash in contradictions(of)}
    assert clashes <= wrong
    assert {one for one, _ in clashes} == {one for one, _ in wrong}


def test_thousands_of_pieces_in_one_row() -> None:
    pieces = [Piece(f"{at}", f"Piece {at}", "dress", acquired_after=(f"{at - 1}",) if at else ()) for at in range(5000)]
    of = book(replace(pieces[0], acquired=parse_made("2001")), *pieces[1:])
    assert told(of, "4999") == ["no earlier than 2001, since it came after Piece 4998 and so after Piece 0"]
    assert cycle(of) == ()
    assert contradictions(of) == ()
