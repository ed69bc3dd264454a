"""A list of past episodes compared with the book."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time
from functools import cache

import pytest
from effort import examples
from hypothesis import given
from hypothesis import strategies as st
from sheets import DEMO, bring, rows, verdicts
from workroom_books import small_book

from showrunner.domain.book import Book
from showrunner.domain.consistency import problems
from showrunner.domain.episode import Series
from showrunner.domain.house import HouseRules
from showrunner.domain.piece import Known, Shown
from showrunner.domain.slot import SlotRef
from showrunner.errors import BadInput
from showrunner.intake.columns import Kind
from showrunner.planning.sliprate import slip_rate
from showrunner.session import Session

EPISODES = (DEMO / "episodes.csv").read_bytes()
PIECES = (DEMO / "pieces.csv").read_bytes()
HOBART = Book("k", HouseRules("Australia/Hobart"))


@cache
def demo() -> Book:
    with Session.open(DEMO / "book.json", write=False) as session:
        return session.book


@pytest.fixture(scope="module")
def pieces() -> Book:
    """The demo's pieces, brought in from a sheet into an empty book."""
    return bring(HOBART, PIECES).after


def test_the_demo_is_matched_as_its_book_has_it(pieces):
    found = bring(pieces, EPISODES, name="episodes.csv")
    assert verdicts(found) == [327, 0, 0, 0]
    true = {line.title: demo().episode(line.episode).pieces for line in demo().publications if line.episode}
    sure = {row.name: row.pieces for row in found.rows if row.pieces}
    assert len(sure) == 33
    assert all(set(true[title]) == set(ids) for title, ids in sure.items())
    likely = {row.name: row.guesses[0].piece for row in found.likely}
    assert likely == {"Dust, oil and storm cuffs": "07", "Forty cords": "11"}
    assert {ids for title, ids in true.items() if title not in sure} == {("07",), ("11",)}
    assert found.pieces_left == ("07", "11")
    assert problems(found.after) == []


def test_the_record_the_slots_and_the_series_come_from_the_list(pieces):
    after = bring(pieces, EPISODES).after
    assert [(rule.name, rule.weekday, rule.at) for rule in after.rules] == [
        ("Wednesday slot", 2, time(12)),
        ("Sunday slot", 6, time(12)),
    ]
    assert [(series.name, series.rules) for series in after.series] == [("Collection", ("sunday-slot",))]
    held = {(line.title, line.actual.text if line.actual else None) for line in after.publications}
    assert held == {(line.title, line.actual.text if line.actual else None) for line in demo().publications}
    assert {line.planned for line in after.publications if line.actual} == {None}
    rule_of = {line.title: line.rule.split("-")[0] for line in after.publications}
    assert rule_of == {line.title: line.rule for line in demo().publications}


def test_the_same_list_again_changes_nothing(pieces):
    once = bring(pieces, EPISODES).after
    again = bring(once, EPISODES, today=date(2026, 4, 1))
    assert verdicts(again) == [0, 0, 327, 0]
    assert not again.changes
    assert not bring(once, PIECES).changes


def test_into_the_book_it_came_from_it_changes_nothing():
    found = bring(demo(), EPISODES)
    assert verdicts(found) == [0, 0, 327, 0]


def test_what_is_confirmed_is_taken_and_what_is_denied_is_not(pieces):
    found = bring(pieces, EPISODES, settled={165: ("07",), 191: ()})
    assert found.after.piece("07").shown.evidence == "Dust, oil and storm cuffs, August 2024"
    assert found.after.piece("11").shown == pieces.piece("11").shown
    titles = {line.title: line.episode for line in found.after.publications}
    assert titles["Dust, oil and storm cuffs"] == "dust-oil-and-storm-cuffs"
    assert titles["Forty cords"] == ""
    assert found.likely == ()


# Weak evidence


def test_a_likely_piece_becomes_unsure_with_the_odds_and_never_quietly_shown():
    book = small_book()
    found = bring(book, rows({"Title": "Jackets for skating", "Published": "11 Jan 2026"}))
    (row,) = found.rows
    assert row.guesses
    guess = row.guesses[0]
    shown = found.after.piece(guess.piece).shown
    assert shown.known is Known.UNSURE
    assert shown.odds_unshown == 100 - guess.chance
    assert shown.evidence == "perhaps Jackets for skating, 11 January 2026"
    assert row.doubts[0].text.startswith("perhaps Skating jacket (")
    assert found.after.publications[-1].episode == ""
    assert not bring(found.after, rows({"Title": "Jackets for skating", "Published": "11 Jan 2026"})).changes


def test_what_somebody_settled_stays_as_it_is():
    book = small_book()
    settled = Shown(Known.NO, evidence="stocktake, 1 March 2026")
    book = book.put("pieces", replace(book.piece("4"), shown=settled))
    weak = bring(book, rows({"Title": "Jackets for skating", "Published": "11 Jan 2026"}))
    assert weak.after.piece("4").shown == settled
    strong = bring(book, rows({"Title": "x", "Published": "11 Jan 2026", "Pieces": "4"}))
    assert strong.after.piece("4").shown == settled
    assert "the book says Skating jacket is not shown (stocktake, 1 March 2026)" in strong.doubtful[0].doubt()


def test_an_unsure_piece_keeps_its_odds_and_gains_evidence():
    book = small_book()
    book = book.put("pieces", replace(book.piece("4"), shown=Shown(Known.UNSURE, 30, "a memory")))
    after = bring(book, rows({"Title": "Jackets for skating", "Published": "11 Jan 2026"})).after
    assert after.piece("4").shown == Shown(Known.UNSURE, 30, "a memory; perhaps Jackets for skating, 11 January 2026")


# The record


def test_a_planned_study_that_came_out_is_that_study():
    book = small_book()
    planned = replace(book.episode("jacket"), slot=SlotRef(date(2026, 2, 22), "sun"))
    after = bring(
        book.put("episodes", planned), rows({"Title": "On the ice", "Published": "2026-02-23", "Pieces": "4"})
    ).after
    assert after.episode("jacket").published
    line = after.publications[-1]
    assert (line.episode, line.title, line.planned, line.late_or_missed) == (
        "jacket",
        "On the ice",
        date(2026, 2, 22),
        True,
    )
    assert after.piece("4").shown.evidence == "On the ice, 23 February 2026"
    assert problems(after) == []


def test_a_known_planned_day_makes_slips_and_an_unknown_one_none():
    book = small_book()
    list_ = rows(
        {"Title": "Diary 1", "Published": "2026-02-04", "Planned": "2026-02-04", "Missed": ""},
        {"Title": "Diary 2", "Published": "2026-02-12", "Planned": "2026-02-11", "Missed": ""},
        {"Title": "Diary 3", "Published": "2026-02-19", "Planned": "", "Missed": ""},
        {"Title": "Diary 4", "Published": "", "Planned": "2026-02-25", "Missed": "yes"},
    )
    found = bring(book, list_, kind=Kind.EPISODES)
    assert [line.late_or_missed for line in found.after.publications[1:]] == [False, True, False, True]
    assert {line.rule for line in found.after.publications[1:]} == {"wed"}
    assert found.doubtful[0].doubt() == (
        "Line 4, it came out on a Thursday, 1 day after the slot diary; perhaps it slipped."
    )
    rate = slip_rate(found.after.publications, "")
    assert (rate.late, rate.recorded) == (2, 4)
    assert (
        "2 of 3 whose planned day is known came late or not at all; of 1 the planned day is not known." in found.notes
    )


def test_slots_that_stand_empty_are_named():
    found = bring(small_book(), rows(*({"Title": f"Diary {d}", "Published": f"2026-02-{d:02}"} for d in (4, 18, 25))))
    assert any("Nothing is recorded for the slot diary on 11 February 2026" in note for note in found.notes)


def test_what_the_record_says_is_never_rewritten():
    book = bring(
        small_book(), rows({"Title": "Diary", "Published": "2026-02-04", "Link": "https://example.org/1"})
    ).after
    found = bring(book, rows({"Title": "Diary one", "Published": "2026-02-05", "Link": "https://example.org/1"}))
    assert verdicts(found) == [0, 0, 1, 0]
    assert found.doubtful[0].doubt() == (
        "Line 2, the record calls it “Diary”, and that stays; "
        "the record says it came out 4 February 2026, and that stays."
    )


def test_once_it_is_known_which_study_a_line_was_it_is_added():
    book = bring(small_book(), rows({"Title": "On the ice", "Published": "2026-01-11"})).after
    assert book.publications[-1].episode == ""
    found = bring(book, rows({"Title": "On the ice", "Published": "2026-01-11", "Pieces": "4"}))
    assert verdicts(found) == [0, 1, 0, 0]
    line = found.after.publications[-1]
    assert (line.id, line.episode, line.actual) == (book.publications[-1].id, "jacket", book.publications[-1].actual)


def test_what_is_still_to_come_is_passed_over_and_told():
    found = bring(
        small_book(), rows({"Title": "Next", "Published": "2026-05-03"}, {"Title": "Old", "Published": "2026-02-01"})
    )
    assert verdicts(found) == [1, 0, 1, 0]
    assert found.doubtful[0].doubt() == ("Line 2, still to come, so it is passed over; plan it on the Ledger.")


def test_more_pieces_than_a_study_holds_are_marked_and_the_line_is_filler():
    found = bring(small_book(), rows({"Title": "A year in pieces", "Published": "2026-02-01", "Pieces": "1; 2; 3"}))
    assert {found.after.piece(id).shown.known for id in "123"} == {Known.YES}
    assert found.after.publications[-1].episode == ""


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        ({"Title": "", "Published": "2026-02-01"}, "Line 2, it has no title; give it one or take the row out."),
        ({"Title": "A", "Published": ""}, "Line 2, nothing says when it came out; give a date, or 'missed'."),
        ({"Title": "A", "Published": "missed"}, "Line 2, it was missed, but not which day; "),
        ({"Title": "A", "Published": "soonish"}, "Line 2, Published 'soonish': this cannot be read as a date; "),
        ({"Title": "A", "Published": "2024"}, "Line 2, without an exact day it is not known which slot it was for; "),
        ({"Title": "A", "Published": "2026-02-01", "Slot": "radio"}, "Line 2, 'radio': no weekly slot is called so; "),
        (
            {"Title": "A", "Published": "2026-02-01", "Run time": "long"},
            "Line 2, Run time 'long': this is no run time; ",
        ),
    ],
)
def test_what_cannot_be_recorded_is_refused_in_one_sentence(said, sentence):
    found = bring(small_book(), rows(said))
    assert len(found.refused) == 1
    assert found.refused[0].startswith(sentence)
    assert found.after is found.before


def test_the_same_episode_twice_in_a_list_is_refused():
    said = {"Title": "Diary", "Published": "2026-02-04"}
    assert bring(small_book(), rows(said, said)).refused == (
        "Line 3, line 2 says the same; leave one out: --skip 2 or --skip 3.",
    )


def test_what_a_list_makes_takes_no_id_that_is_taken(pieces):
    other = Series("collection", "Another", "collection", ("x",))
    named = bring(pieces, EPISODES).after
    mine = pieces.collections[0].id
    book = pieces.put("series", replace(other, collection="elsewhere"), replace(other, id="collection-studies"))
    book = book.put("series", *(replace(series, collection="elsewhere") for series in book.series))
    after = bring(book, EPISODES).after
    assert [series.id for series in after.series] == ["collection", "collection-studies", "collection-2"]
    assert after.series[-1].collection == mine
    assert after.series[-1].rules == named.series[0].rules


def test_slots_whose_long_names_begin_alike_stay_two():
    long = "a very long name of a weekly slot that goes on "
    said = [{"Title": f"A{d}", "Published": f"2026-02-{d:02}", "Slot": f"{long}one"} for d in (4, 11, 18)]
    said += [{"Title": f"B{d}", "Published": f"2026-02-{d:02}", "Slot": f"{long}two"} for d in (1, 8, 15)]
    found = bring(HOBART, rows(*said), kind=Kind.EPISODES)
    assert found.refused == ()
    assert len({rule.id for rule in found.after.rules}) == 2


def test_dates_without_a_rhythm_make_no_slots():
    with pytest.raises(BadInput, match="show no rhythm"):
        bring(HOBART, rows({"Title": "A", "Published": "2026-02-04"}))


@pytest.mark.parametrize("settled", [{9: ("4",)}, {2: ("nothing",)}])
def test_what_is_settled_must_go_with_the_list(settled):
    with pytest.raises(BadInput, match="--match"):
        bring(small_book(), rows({"Title": "A", "Published": "2026-02-04"}), settled=settled)


FEED = b"""<?xml version="1.0"?><rss version="2.0"><channel><title>t</title>
<item><title>Skating jacket</title><link>https://example.org/2</link>
<pubDate>Sat, 10 Jan 2026 22:00:00 GMT</pubDate></item>
<item><title>Diary &lt;b&gt;9&lt;/b&gt; [/]</title><link>https://example.org/1</link>
<pubDate>Wed, 07 Jan 2026 07:30:00 GMT</pubDate></item>
</channel></rss>"""


def test_a_feed_is_read_on_the_clock_of_the_house():
    found = bring(small_book(), FEED, name="feed.xml")
    assert verdicts(found) == [2, 0, 0, 0]
    diary, jacket = found.after.publications[1:]
    assert (diary.title, diary.rule, diary.link) == ("Diary 9 [/]", "wed", "https://example.org/1")
    assert jacket.actual is not None
    assert (jacket.actual.text, jacket.rule, jacket.episode) == ("2026-01-11", "sun", "jacket")
    assert not bring(found.after, FEED, name="feed.xml").changes


CELL = st.text(st.characters(blacklist_categories=["Cs"], blacklist_characters="\x00"), max_size=20)
ROW = st.fixed_dictionaries(
    {
        "Title": CELL | st.sampled_from(["Apron", "Comet", "Skating jacket", "Diary", "On the ice"]),
        "Published": CELL | st.dates(date(2024, 1, 1), date(2026, 6, 1)).map(str) | st.sampled_from(["Aug 2024", ""]),
        "Planned": CELL | st.dates(date(2024, 1, 1), date(2026, 6, 1)).map(str),
        "Pieces": CELL | st.sampled_from(["1", "2, 3", "Comet", "5 and 6", "B1"]),
        "Link": CELL,
    }
)


@examples(60)
@given(st.lists(ROW, min_size=1, max_size=6))
def test_any_list_is_taken_whole_or_not_at_all_and_the_second_time_changes_nothing(said):
    book = small_book()
    try:
        found = bring(book, rows(*said), kind=Kind.EPISODES)
    except BadInput:
        return
    if found.refused:
        assert found.after is book
        return
    assert problems(found.after) == []
    for before, after in zip(book.publications, found.after.publications, strict=False):
        assert (before.id, before.title, before.actual, before.planned) == (
            *(after.id, after.title, after.actual, after.planned),
        )
    again = bring(found.after, rows(*said), kind=Kind.EPISODES)
    assert again.refused == ()
    assert not again.changes, again.rows


ONE_LINE = (
    '<rss version="2.0"><channel>'
    + "".join(
        f"<item><title>{title}</title><guid isPermaLink='false'>{guid}</guid>"
        f"<pubDate>{day} 20:00:00 +0000</pubDate></item>"
        for title, guid, day in (
            ("Piece 01", "a", "04 Feb 2026"),
            ("Diary, week one", "b", "28 Jan 2026"),
            ("Diary, week two", "b", "21 Jan 2026"),
            ("Piece 01", "a", "04 Feb 2026"),
        )
    )
    + "</channel></rss>"
).encode()


def test_the_entries_of_a_feed_on_one_line_are_told_apart_by_their_place():
    found = bring(small_book(), ONE_LINE, left_out=frozenset({3}), settled={2: (), 1: ()})
    assert sorted((row.line, row.verdict.value) for row in found.rows) == [
        (1, "left out"), (2, "new"), (3, "left out"), (4, "new"),
    ]  # fmt: skip


def test_an_id_that_comes_twice_offers_which_entry_to_leave_out():
    assert bring(small_book(), ONE_LINE).refused == (
        "Entry 2, entry 3, “Diary, week two”, is marked as the same one; leave one out: --skip 3 or --skip 2.",
    )
    assert bring(small_book(), ONE_LINE, left_out=frozenset({2})).refused == ()
    with pytest.raises(BadInput, match="nothing stands on entry 9"):
        bring(small_book(), ONE_LINE, left_out=frozenset({9}))


def test_an_x_where_an_episode_was_missed_is_yes_and_that_is_told_once():
    sheet = rows(
        *(
            {"Title": f"Talk {n}", "Came out": "" if missed else f"{n} Feb 2026", "Was due": due, "Missed": missed}
            for n, due, missed in ((1, "", ""), (8, "8 Feb 2026", "x"), (15, "15 Feb 2026", "x"), (22, "", ""))
        )
    )
    found = bring(small_book(), sheet)
    assert [line.actual is None for line in found.after.publications[1:]] == [False, True, True, False]
    assert found.notes.count("An x in 'Missed' is taken as yes.") == 1
