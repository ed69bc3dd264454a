"""An exchange file taken over: into an empty book whole, into another one record by record."""

import json
from dataclasses import replace
from datetime import UTC, date, datetime

import pytest
from effort import examples
from hypothesis import HealthCheck, given
from workroom_books import BOOKS, WHOLE_BOOKS, small_book

from showrunner.demo_book import demo_path
from showrunner.domain.book import TABLES, Book
from showrunner.domain.collection import Box, Collection
from showrunner.domain.consistency import problems
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.house import HouseRules
from showrunner.domain.piece import Piece
from showrunner.domain.publication import CalendarEntry, Publication, Supporter
from showrunner.domain.shoot import LogKind, LogLine, Shoot
from showrunner.errors import BadInput
from showrunner.intake.bringing import bring_in
from showrunner.intake.columns import Kind
from showrunner.intake.exchange_file import bring_exchange
from showrunner.intake.findings import Asked, Verdict
from showrunner.session import Session
from showrunner.storage import exchange
from showrunner.storage.exchange import to_exchange

SLOW = examples(60, suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow])
TODAY = date(2026, 3, 2)
INSTANT = datetime(2026, 3, 1, 7, 30, tzinfo=UTC)


@pytest.fixture(scope="module")
def demo():
    with Session.open(demo_path(), write=False) as session:
        return session.book


def brought(book, given):
    """What an export of one book does to another."""
    return bring_exchange(book, to_exchange(given), "book.json")


def rows(intake, verdict):
    return [(row.line, row.id, row.name, row.said) for row in intake.of(verdict)]


# Into an empty book


def test_the_demo_book_comes_whole_into_an_empty_one_and_goes_out_as_the_same_bytes(demo):
    data = to_exchange(demo)
    intake = bring_exchange(Book("fresh"), data, "book.json")
    assert intake.refused == ()
    assert intake.after == demo
    assert to_exchange(intake.after) == data
    assert len(intake.of(Verdict.NEW)) == len(intake.rows) == sum(len(getattr(demo, table)) for table in TABLES)
    assert intake.notes == ("The book is empty, so key, house rules, clock and order come from the file too.",)


@SLOW
@given(BOOKS)
def test_any_book_comes_into_an_empty_one_whole_or_is_refused_by_all_its_faults(book):
    data = to_exchange(book)
    intake = bring_exchange(Book("fresh"), data, "book.json")
    fit = not problems(book)
    assert intake.after == (book if fit else Book("fresh"))
    assert fit is not bool(intake.faults)


@SLOW
@given(WHOLE_BOOKS)
def test_a_book_of_which_nothing_is_amiss_goes_out_again_as_the_same_bytes(book):
    data = to_exchange(book)
    intake = bring_exchange(Book("fresh"), data, "book.json")
    assert intake.faults == ()
    assert intake.after == book
    assert to_exchange(intake.after) == data


def test_a_book_with_house_rules_and_no_record_is_still_empty():
    mine = Book("mine", replace(small_book().house, lead_days=3), date(2026, 1, 1))
    assert brought(mine, small_book()).after == small_book()


# Into another one


@SLOW
@given(WHOLE_BOOKS)
def test_the_same_file_again_changes_nothing(book):
    data = to_exchange(book)
    once = bring_exchange(small_book(), data, "book.json")
    assert once.faults == ()
    assert once.after == book
    again = bring_exchange(once.after, data, "book.json")
    assert again.after is once.after
    assert again.faults == ()
    assert {row.verdict for row in again.rows} == {Verdict.UNCHANGED}


@SLOW
@given(BOOKS)
def test_a_file_that_is_refused_leaves_the_book_and_is_refused_again(book):
    data = to_exchange(book)
    once = bring_exchange(small_book(), data, "book.json")
    assert bool(once.faults) <= (once.after == small_book())
    again = bring_exchange(once.after, data, "book.json")
    assert (again.after, again.faults) == (once.after, once.faults)


def test_the_demo_into_itself_changes_nothing(demo):
    intake = brought(demo, demo)
    assert intake.after is demo
    assert {row.verdict for row in intake.rows} == {Verdict.UNCHANGED}
    assert intake.notes == intake.faults == ()


def test_records_are_added_and_replaced_and_what_the_file_lacks_stays():
    mine = small_book()
    theirs = replace(
        mine.put("pieces", replace(mine.piece("1"), name="Pinafore", notes="starched")).put(
            "pieces", Piece("9", "Tea gown", "dress")
        ),
        pieces=(replace(mine.piece("1"), name="Pinafore", notes="starched"), Piece("9", "Tea gown", "dress")),
    )
    intake = brought(mine, replace(theirs, episodes=(mine.episode("apron"),), pins=(), publications=()))
    assert intake.faults == ()
    assert [piece.name for piece in intake.after.pieces] == [
        "Pinafore",
        *[piece.name for piece in mine.pieces[1:]],
        "Tea gown",
    ]
    assert intake.after.episodes == mine.episodes
    assert rows(intake, Verdict.CHANGED) == [(1, "1", "piece Pinafore", "name and notes")]
    assert rows(intake, Verdict.NEW) == [(2, "9", "piece Tea gown", "")]
    assert all(row.verdict is Verdict.UNCHANGED for row in intake.rows if row.id not in ("1", "9"))


def test_key_clock_house_and_order_stay_and_that_is_said():
    mine = small_book()
    theirs = replace(
        mine,
        key="other",
        clock=None,
        house=replace(mine.house, lead_days=4, tables=3),
        boxes=(Box("B", "shelf"), *mine.boxes),
        rules=mine.rules[::-1],
    )
    intake = brought(mine, theirs)
    assert (intake.after.key, intake.after.clock, intake.after.house) == (mine.key, mine.clock, mine.house)
    assert [box.id for box in intake.after.boxes] == ["A", "B"]
    assert intake.after.rules == mine.rules
    assert intake.notes == (
        "The file is of another book; this one keeps its own key.",
        "The clock of this book stands at 2 March 2026, and that stays.",
        "The house rules of this book stay; those of the file differ in lead days and tables.",
        "The order of the slot rules in this book stays.",
    )


def test_house_rules_come_where_the_book_has_only_those_of_a_new_one():
    mine = replace(small_book(), house=HouseRules())
    intake = brought(mine, small_book())
    assert intake.after == small_book()
    assert intake.notes == ()


def test_the_record_of_publications_is_never_rewritten():
    mine = small_book()
    line = mine.publications[0]
    theirs = mine.put("publications", replace(line, link="https://example.org/x", planned=None))
    intake = brought(mine, theirs)
    assert intake.after == mine
    assert intake.faults == (
        "line on record Bodice ('publication-1'): the file and the book differ in planned and link, "
        "and a record of publications is never rewritten.",
    )
    assert intake.refused == intake.faults


def test_new_lines_of_the_record_come_after_those_of_the_book():
    mine = small_book()
    line = Publication("p2", "Diary", "wed", date(2026, 2, 4), FuzzyDate.exact(date(2026, 2, 4)))
    intake = brought(mine, replace(mine, publications=(line, *mine.publications)))
    assert [found.id for found in intake.after.publications] == ["publication-1", "p2"]


def _shot(book, *lines, closed=False):
    return replace(book, shoots=(Shoot("s1", ("apron",), INSTANT, closed),), log=lines)


def test_the_log_of_a_shoot_is_never_rewritten_and_grows_only_forwards():
    first = LogLine("s1-1", "s1", INSTANT, LogKind.TOUCHED, "1")
    later = LogLine("s1-2", "s1", INSTANT.replace(hour=8), LogKind.CLOSED)
    mine = _shot(small_book(), first)
    assert brought(mine, _shot(small_book(), first, later)).after.log == (first, later)
    other = brought(mine, _shot(small_book(), replace(first, text="to look")))
    assert other.after == mine
    assert other.faults[0].startswith("line of the log s1-1 ('s1-1'): the file and the book differ in text, and a log")
    both = _shot(small_book(), first, later)
    between = LogLine("s1-3", "s1", INSTANT, LogKind.LUX, lux=50)
    assert "Log s1-3: it is earlier than the line above it." in brought(both, _shot(small_book(), between)).faults


def test_a_closed_shoot_is_not_opened_again():
    mine = _shot(small_book(), closed=True)
    intake = brought(mine, _shot(small_book()))
    assert intake.faults == ("shoot s1: it is closed in the book and open in the file, and no shoot is opened again.",)
    assert brought(_shot(small_book()), mine).after == mine


def _told(sequence, content):
    return CalendarEntry("u1", sequence, INSTANT, content)


@pytest.mark.parametrize(("held", "given_", "kept"), [(1, 2, "theirs"), (2, 1, "mine"), (2, 2, "mine")])
def test_of_a_calendar_entry_the_later_revision_stays(held, given_, kept):
    mine = small_book().put("calendar", _told(held, "mine"))
    intake = brought(mine, small_book().put("calendar", _told(given_, "theirs")))
    assert intake.after.calendar[0].content == kept
    assert intake.after.calendar[0].sequence == max(held, given_)


def test_what_another_book_told_calendars_stays_with_it():
    intake = brought(small_book(), replace(small_book().put("calendar", _told(1, "theirs")), key="other"))
    assert intake.after == small_book()
    assert "1 calendar entry of the other book stays with it." in intake.notes


def test_a_piece_of_another_collection_with_the_same_id_is_refused():
    mine = small_book()
    theirs = Book("other", collections=(Collection("fans", "Fans"),), pieces=(Piece("1", "Brisé fan", "fans"),))
    intake = brought(mine, theirs)
    assert intake.after == mine
    assert intake.faults == (
        "piece Brisé fan: in the book '1' is Apron of Camphor chest; give the piece in the file another number.",
    )


def test_what_would_not_go_together_is_refused_but_not_what_did_not_before():
    broken = small_book().put("pieces", Piece("9", "Muff", "dress", box="Z"))
    intake = brought(broken, small_book())
    assert intake.faults == ()
    theirs = small_book().drop("boxes", "A")
    intake = brought(Book("mine", boxes=(Box("B"),)), replace(theirs, episodes=(), publications=(), pins=()))
    assert "Apron: the book holds no box 'A'." in intake.faults
    assert not intake.changes


def test_every_fault_of_a_broken_file_is_told():
    tree = json.loads(to_exchange(small_book()))
    tree["pieces"][0]["layer"] = "3"
    tree["shoes"] = []
    intake = bring_exchange(small_book(), json.dumps(tree).encode(), "book.json")
    assert len(intake.faults) == 2
    assert intake.rows == ()
    assert not intake.changes


def test_a_supporter_is_named_only_with_consent():
    book = Book("b", supporters=(Supporter("s1", "Wilhelmina Quoll"), Supporter("s2", "Ada Bandicoot", True)))
    assert [row.name for row in brought(Book("x"), book).rows] == ["supporter s1", "supporter Ada Bandicoot"]


# By what a file is known


@pytest.mark.parametrize(
    ("name", "before"), [("b.json", b""), ("b.JSON", b"\xef\xbb\xbf"), ("b", b" \r\n"), ("b.txt", b"")]
)
def test_an_exchange_file_is_known_by_its_name_or_its_first_sign(name, before):
    intake = bring_in(Book("x"), before + to_exchange(small_book()), name, TODAY, Asked())
    assert intake.kind is Kind.BOOK
    assert intake.after == small_book()


def test_what_is_named_json_and_is_none_is_told_so():
    intake = bring_in(Book("x"), b"id,name\r\n1,Apron\r\n", "b.json", TODAY, Asked())
    assert intake.faults[0].startswith("It is broken (line 1, column 1)")
    intake = bring_in(Book("x"), b"id,name\r\n1,Apron\r\n", "b.csv", TODAY, Asked(kind=Kind.BOOK))
    assert intake.faults[0].startswith("It is broken (line 1, column 1)")


def test_a_whole_book_is_no_sheet_of_pieces():
    with pytest.raises(BadInput, match="holds a whole book and is no sheet of pieces"):
        bring_in(Book("x"), to_exchange(small_book()), "b.json", TODAY, Asked(kind=Kind.PIECES))


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b'{"format":"showrunner-exchange","version":1,"x":"' + b"x" * 21_000_000 + b'"}', "Its 20.1 MB are more than"),
        (b'{"format":"showrunner-exchange","version":1,"a":' + b"[" * 20_000 + b"]" * 20_000 + b"}", "lie deeper"),
        (b'{"format":"showrunner-exchange","version":1,"a":' + b"[" * 900 + b"]" * 900 + b"}", "lie deeper"),
        (
            b'{"format":"showrunner-exchange","version":1,"pieces":[' + b"{}," * 50_000 + b"{}]}",
            "Its 50,001 records are more than the 50,000",
        ),
        (
            b'{"format":"showrunner-exchange","version":1,"pieces":[{"claims":[' + b"{}," * 120_000 + b"{}]}]}",
            "Its records hold more than the 120,000 groups",
        ),
    ],
    ids=["size", "depth", "less depth", "records", "groups"],
)
def test_a_monstrous_file_is_refused_in_one_sentence(data: bytes, words: str) -> None:
    found = bring_exchange(Book("k"), data, "monster.json")
    assert len(found.faults) == 1
    assert words in found.faults[0]


def test_not_every_fault_of_many_is_looked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    looked = []
    real = exchange.misfits
    monkeypatch.setattr(exchange, "misfits", lambda *of: looked.append(1) or real(*of))
    data = b'{"format":"showrunner-exchange","version":1,"key":"k","pieces":[' + b'{"x":1},' * 40_000 + b"{}]}"
    found = bring_exchange(Book("k"), data, "monster.json")
    assert len(found.faults) <= 101
    assert found.faults[-1] == "There are more faults; put these right first."
    assert len(looked) < 150
