import json
import subprocess
import sys
from dataclasses import replace
from datetime import UTC, date, datetime, time
from pathlib import Path

import pytest
from effort import examples
from hypothesis import HealthCheck, given
from hypothesis import strategies as st
from workroom_books import ANY_JSON, BOOKS, WHOLE_BOOKS, places, small_book

from showrunner.demo_book import demo_path
from showrunner.domain.book import TABLES, Book
from showrunner.domain.collection import Box
from showrunner.domain.episode import Pin, PinKind
from showrunner.domain.piece import Feature, Piece, View
from showrunner.domain.publication import CalendarEntry
from showrunner.domain.slot import SlotRef
from showrunner.errors import BadInput
from showrunner.intake.exchange_file import bring_exchange
from showrunner.session import Session
from showrunner.storage import exchange
from showrunner.storage.exchange import (
    BadExchange,
    ChangedRecord,
    Differences,
    TableDifference,
    differences,
    read_exchange,
    to_exchange,
)
from showrunner.storage.odd_text import ODD

SLOW = examples(100, suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow])
ENTRY = CalendarEntry("apron@book", 2, datetime(2026, 3, 1, 7, 30, tzinfo=UTC), "SUMMARY:Apron")


@pytest.fixture(scope="module")
def demo() -> Book:
    with Session.open(demo_path(), write=False) as session:
        return session.book


def from_exchange(data: bytes, name: str) -> Book:
    """The book that an exchange file makes of an empty one."""
    found = bring_exchange(Book("empty"), data, name)
    if found.faults:
        raise BadExchange(name, found.faults)
    return found.after


def tree_of(book: Book) -> dict:
    return json.loads(to_exchange(book))


def faults_of(tree: object) -> tuple[str, ...]:
    """The faults of a file with this tree."""
    return faults_of_bytes(json.dumps(tree).encode())


def faults_of_bytes(data: bytes) -> tuple[str, ...]:
    with pytest.raises(BadExchange) as caught:
        from_exchange(data, "book.exchange.json")
    for sentence in (*caught.value.faults, caught.value.sentence()):
        assert sentence.isprintable()
        assert sentence.endswith(".")
    assert caught.value.sentence().startswith("book.exchange.json: ")
    return caught.value.faults


# Round trips


def test_the_demo_book_comes_back_and_goes_out_again_as_the_same_bytes(demo):
    data = to_exchange(demo)
    again = from_exchange(data, "demo")
    assert again == demo
    assert to_exchange(again) == data


def test_what_calendars_were_told_and_the_key_are_in_the_file():
    book = small_book().put("calendar", ENTRY)
    again = from_exchange(to_exchange(book), "book")
    assert (again.key, again.calendar) == ("0d9f", (ENTRY,))


def test_the_file_says_what_it_is_and_holds_every_table_in_order():
    data = to_exchange(Book("0d9f"))
    assert data.startswith(b'{\n "format": "showrunner-exchange",\n "version": 1,\n "key": "0d9f",\n "house": {},\n')
    assert data.endswith(b"]\n}\n")
    assert list(json.loads(data)) == ["format", "version", "key", "house", "clock", *TABLES]


def test_letters_of_every_script_stand_in_it_as_they_are():
    book = Book("0d9f", boxes=(Box("A", "Kästchen 桐箱"),))
    assert "Kästchen 桐箱".encode() in to_exchange(book)


@pytest.mark.slow
@SLOW
@given(BOOKS)
def test_any_records_come_back_and_go_out_again_as_the_same_bytes(book):
    data = to_exchange(book)
    again = read_exchange(data, "book")
    assert again == book
    assert to_exchange(again) == data


@SLOW
@given(WHOLE_BOOKS)
def test_records_that_refer_to_what_is_there_pass_the_whole_import(book):
    data = to_exchange(book)
    again = from_exchange(data, "book")
    assert again == book
    assert to_exchange(again) == data


def test_tables_and_fields_at_their_defaults_may_be_left_out():
    data = json.dumps({"format": "showrunner-exchange", "version": 1, "key": "0d9f"}).encode()
    assert from_exchange(data, "book") == Book("0d9f")


def test_a_mark_of_byte_order_at_the_start_does_no_harm():
    data = to_exchange(small_book())
    assert from_exchange(b"\xef\xbb\xbf" + data, "book") == small_book()


def test_text_that_is_no_text_is_not_written():
    with pytest.raises(BadInput, match="it holds a broken letter, which no file can keep"):
        to_exchange(Book("0d9f", boxes=(Box("A", "half \ud800 of it"),)))


# Files that are refused whole


HEAD = b'{"format":"showrunner-exchange","version":1,"key":"k","x":'


def first_fault(data):
    return faults_of_bytes(data)[0]


@pytest.mark.slow
def test_what_is_just_not_too_much_is_read():
    """20 MB as the disk counts them, 16 lists within each other, 50,000 records; then each is refused."""
    most = 20 * 1024 * 1024
    whole = HEAD + b'"' + b"x" * (most - len(HEAD) - 3) + b'"}'
    assert (len(whole), "There is no table 'x'" in first_fault(whole)) == (most, True)
    assert first_fault(whole + b" ") == "Its 20.1 MB are more than the 20 MB that are read; give a smaller file."
    deep = [HEAD + b"[" * n + b"]" * n + b"}" for n in (16, 17)]
    assert "There is no table 'x'" in first_fault(deep[0])
    assert first_fault(deep[1]) == exchange._TOO_DEEP + "."
    many = [HEAD + b'0,"boxes":[' + b",".join([b"{}"] * n) + b"]}" for n in (50_000, 50_001)]
    assert "There is no table 'x'" in first_fault(many[0])
    assert first_fault(many[1]) == "Its 50,001 records are more than the 50,000 that are read; divide it."
    groups = [HEAD + b"[" + b",".join([b"{}"] * n) + b"]}" for n in (119_999, 120_000)]  # the file is one itself
    assert "There is no table 'x'" in first_fault(groups[0])
    assert first_fault(groups[1]) == "Its records hold more than the 120,000 groups that are read; divide it."


def test_a_hundred_faults_are_told_and_that_there_are_more():
    for count, told in ((100, 100), (101, 101), (5_000, 101)):
        faults = faults_of_bytes(HEAD[:-4] + b'"boxes":[' + b",".join([b'{"id":3}'] * count) + b"]}")
        assert len(faults) == told
    assert faults[0] != faults[-1]


def test_how_far_a_file_reaches():
    """Counted by hand; the file itself is a group."""
    assert exchange._extent({}) == (0, 1)
    assert exchange._extent({"a": [1, "x", [2]], "b": {"c": {}}}) == (3, 3)
    deep = []
    for _ in range(exchange.DEEPEST):
        deep = [deep]
    assert exchange._extent(deep) == (exchange.DEEPEST, 0)
    assert exchange._extent([deep])[0] == exchange._extent([[[deep]]])[0] == exchange.DEEPEST + 1


@pytest.mark.parametrize(
    ("data", "fault"),
    [
        (b"", "The file is empty; export the book again."),
        (b" \n", "The file is empty; export the book again."),
        (b"\x89PNG\r\n\x1a\n\x00\x00", "It is garbled (at its sign 1); export the book again."),
        (b'{"key": "\xed\xa0\x80"}', "It is garbled (at its sign 10); export the book again."),
        (b"\x00\x00\x00", "It is broken (line 1, column 1); mend it there."),
        (b'{\n "format": oh\n}', "It is broken (line 2, column 12); mend it there."),
        (to_exchange(small_book())[:-40], None),
        (b"[" * 200_000, exchange._TOO_DEEP + "."),
        (b"[" * 50 + b"]" * 50, exchange._TOO_DEEP + "."),
        (b'{"version": ' + b"9" * 5000 + b"}", "It holds a number with thousands of digits; give a smaller one."),
        (b"[]", None),
        (b"3", None),
        (b'{"format": "other", "version": 1}', None),
    ],
    ids=[
        "empty",
        "blank",
        "a picture",
        "surrogate bytes",
        "zeros",
        "a bare word",
        "cut short",
        "endlessly deep",
        "deep",
        "digits",
        "list",
        "number",
        "other format",
    ],
)
def test_a_file_that_is_no_exchange_file_gets_one_sentence(data, fault):
    (found,) = faults_of_bytes(data)
    if fault:
        assert found == fault
    else:
        assert "It is broken (line " in found or 'no export of a book ("format": "showrunner-exchange"' in found


@pytest.mark.parametrize("version", [2, 10**30])
def test_a_newer_version_says_to_use_it(version):
    (fault,) = faults_of(tree_of(small_book()) | {"version": version})
    assert fault.startswith("A newer version of showrunner wrote it (version ")
    assert fault.endswith("this one reads version 1); use that newer version.")


@pytest.mark.parametrize("version", [0, -1, "1", True, 1.0, None])
def test_a_version_that_never_was_is_refused(version):
    (fault,) = faults_of(tree_of(small_book()) | {"version": version})
    assert fault == 'It names no version of the form that ever was; it should say "version": 1.'


# Faults of records


def test_every_fault_is_named_with_table_record_field_and_way_out():
    tree = tree_of(small_book())
    tree["pieces"][0] |= {"layer": "2", "colour": "red", "note": "torn"}
    tree["pieces"][1]["features"] = [{"what": "hem"}, {"what": "cuff", "view": "insid", "importance": 7}]
    del tree["pieces"][2]["name"]
    tree["dark"] = [{"id": "d", "first": "2026-03-09", "last": "2026-03-01"}, {"first": "9 March", "last": None}]
    tree["house"]["work_minutes"] = [1, 2, "3"]
    tree["clock"] = 2026
    tree["peices"] = []
    assert faults_of(tree) == (
        "There is no table 'peices'; write 'pieces'.",
        "house.work_minutes: it lists 3 values and not 7; give 7 values.",
        "house.work_minutes.3: '3' is not a whole number; write it in digits alone.",
        'clock: 2026 is not a date; write it in quotes, as "2026-03-22".',
        "pieces, '1', layer: '2' is not a whole number; write it in digits alone.",
        "pieces, '1', colour: nothing is kept under that name; leave it out.",
        "pieces, '1', note: nothing is kept under that name; write 'notes'.",
        f"pieces, '2', features.2.view: 'insid' is none of {', '.join(View)}; write 'inside'.",
        "pieces, '3', name: it is missing; add it.",
        "dark, 'd': the dark days end (1 March 2026) before they begin (9 March 2026); swap the dates.",
        "dark, entry 2, first: '9 March' is not a date; write it in quotes, as \"2026-03-22\".",
        'dark, entry 2, last: None is not a date; write it in quotes, as "2026-03-22".',
        "dark, entry 2, id: it is missing; add it.",
    )


def test_the_sentence_of_a_file_with_many_faults_counts_them_and_names_the_first():
    tree = tree_of(small_book()) | {"clock": 3, "key": 4}
    with pytest.raises(BadExchange) as caught:
        from_exchange(json.dumps(tree).encode(), "mine.json")
    assert caught.value.sentence() == (
        "mine.json: it has 2 faults; put them right, beginning with this one: key: 4 is not text; write it in quotes."
    )


def test_ids_used_twice_are_named():
    tree = tree_of(small_book())
    tree["pieces"] += [tree["pieces"][0], tree["pieces"][0]]
    tree["boxes"] *= 2
    assert faults_of(tree) == (
        "boxes: 2 entries are both called 'A'; give each its own.",
        "pieces: 3 entries are both called '1'; give each its own.",
    )


def test_keys_given_twice_are_named_wherever_they_are():
    data = to_exchange(small_book()).decode()
    data = data.replace('"name": "Apron"', '"name": "Apron", "name": "Pinafore"')
    data = data.replace('"clock": ', '"clock": "2020-01-01", "clock": ', 1)
    assert faults_of_bytes(data.encode()) == (
        "'clock' is given twice; keep one of them.",
        "pieces, '1', name: it is given twice; keep one of them.",
    )


@pytest.mark.parametrize("documents", [None, 3, "pieces", {"1": {}}])
def test_a_table_that_is_no_list_is_named(documents):
    faults = faults_of(tree_of(small_book()) | {"pins": documents})
    assert faults == ("pins: it is not a list of records; write one in square brackets.",)


@pytest.mark.parametrize("document", [None, 3, "x", []])
def test_a_record_that_is_no_group_of_fields_is_named(document):
    (fault,) = faults_of(tree_of(small_book()) | {"pins": [document]})
    assert fault == f"pins, entry 1: {document!r} is not a group of fields; write one in curly brackets."


def test_half_characters_are_named_and_never_printed():
    tree = tree_of(small_book())
    tree["pieces"][0]["points"] = ["fine", "half \ud83d"]
    tree["pieces"][0]["notes"] = "zero \0"
    tree["pieces"][1]["id"] = "\udc00"
    tree["\ud800"] = 1
    assert faults_of(tree) == (
        "There is no table '�'; leave it out.",
        f"pieces, '1', points.2: {ODD}; retype it.",
        f"pieces, '1', notes: {ODD}; retype it.",
        f"pieces, '�', id: {ODD}; retype it.",
    )


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity", "1e999", "1.5", str(2**53), "-" + "9" * 400])
def test_numbers_that_no_book_holds_are_named(number):
    data = to_exchange(small_book()).replace(b'"min_weeks": 4', b'"min_weeks": ' + number.encode())
    (fault,) = faults_of_bytes(data)
    assert fault.startswith("series, 'hour', min_weeks: ")


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("at", "18:30+02:00"),
        ("at", "18:30:00"),
        ("first", "2026-02-30"),
        ("first", "20260201"),
    ],
)
def test_a_form_that_is_not_the_one_form_is_refused(field, value):
    tree = tree_of(small_book())
    tree["rules"][0][field] = value
    (fault,) = faults_of(tree)
    assert fault.startswith(f"rules, 'wed', {field}: '{value}' is not a ")


@pytest.mark.parametrize("stamp", ["2026-03-01T07:30:00", "2026-03-01T07:30:00+00:00", "0001-01-01T00:00:00+05:00"])
def test_an_instant_is_utc(stamp):
    tree = tree_of(small_book().put("calendar", ENTRY))
    tree["calendar"][0]["stamp"] = stamp
    (fault,) = faults_of(tree)
    assert fault.startswith("calendar, 'apron@book', stamp: ")


def test_what_a_terminal_would_obey_is_not_repeated():
    tree = tree_of(small_book())
    tree["pieces"][0] |= {"id": "\x1b[2J\n1", "\x1b[31m": 1}
    first, *_ = faults_of(tree)
    assert first == "pieces, '�[2J�1', �[31m: nothing is kept under that name; leave it out."


@pytest.mark.parametrize(("odd", "last"), [(100, "There is no table 'x99'"), (101, "There are more faults")])
def test_a_hundred_faults_are_told_and_no_more(odd, last):
    faults = faults_of(tree_of(small_book()) | {f"x{number}": [] for number in range(odd)})
    assert (len(faults), faults[-1].startswith(last)) == (odd, True)


@pytest.mark.parametrize(("length", "told"), [(80, "x" * 80), (81, "x" * 80 + "…")])
def test_a_long_name_of_a_field_is_cut(length, told):
    tree = tree_of(small_book())
    tree["pieces"][0]["x" * length] = 1
    assert faults_of(tree)[0] == f"pieces, '1', {told}: nothing is kept under that name; leave it out."


def test_a_long_id_is_cut_short():
    tree = tree_of(small_book())
    tree["boxes"].append({"id": "x" * 9000, "y" * 9000: 1})
    (fault,) = faults_of(tree)
    assert len(fault) < 200


# References


def test_references_to_what_is_not_there_are_all_named():
    tree = tree_of(small_book())
    tree["pieces"][0]["box"] = "Z"
    tree["series"][0]["collection"] = "shoes"
    tree["episodes"][2]["pieces"] = ["2", "99"]
    faults = faults_of(tree)
    assert "Apron: the book holds no box 'Z'." in faults
    assert "Series The Hour: the book holds no collection 'shoes'." in faults
    assert "“Waistcoats”: the book holds no piece '99'." in faults


def test_promises_that_cannot_be_kept_are_named():
    pins = (Pin("p", PinKind.ORDER, ("apron", "jacket")), Pin("q", PinKind.ORDER, ("jacket", "apron")))
    (fault,) = faults_of(tree_of(small_book().put("pins", *pins)))
    assert "cannot all be kept; unpin one of the orders" in fault


def test_a_slot_before_the_calendar_begins_is_a_fault_and_no_crash():
    book = small_book()
    early = SlotRef(date(1, 1, 1), "mon")
    book = book.put("rules", replace(book.rules[0], id="mon", weekday=0, at=time(0)))
    book = book.put("series", replace(book.series[0], rules=("sun", "mon")))
    book = book.put("pins", Pin("p", PinKind.DATE, ("apron",), early), Pin("q", PinKind.DATE, ("jacket",), early))
    assert faults_of(tree_of(book)) == (
        "“Apron” and “Skating jacket” are both promised 1 January 1 (diary); unpin one of them.",
    )
    book = book.put("pins", Pin("r", PinKind.ORDER, ("apron", "jacket")))
    assert faults_of(tree_of(book)) == (
        "A promised slot lies at the very edge of the calendar; pin it to a day that may come.",
    )


# Whatever is in the file


@SLOW
@given(st.data())
def test_a_file_changed_anywhere_is_read_or_refused_in_words(data):
    book = small_book().put("calendar", ENTRY).put("pins", Pin("p", PinKind.ORDER, ("apron", "jacket")))
    tree = tree_of(book)
    for _ in range(data.draw(st.integers(1, 3))):
        holder, key = data.draw(st.sampled_from(places(tree)))
        if data.draw(st.booleans()):
            holder[key] = data.draw(ANY_JSON)
        else:
            del holder[key]
    try:
        again = from_exchange(json.dumps(tree).encode(), "book")
    except BadExchange as error:
        assert error.faults
        assert all(fault.isprintable() and fault.endswith(".") for fault in error.faults)
    else:
        assert from_exchange(to_exchange(again), "book") == again


@SLOW
@given(st.binary(max_size=60))
def test_any_bytes_are_refused_in_words(data):
    assert len(faults_of_bytes(data)) == 1


# The schema in the package


def test_the_published_schema_is_the_one_made_from_the_types():
    assert exchange.published_schema() == exchange.schema_bytes()
    assert json.loads(exchange.published_schema()) == exchange.schema()


def test_the_module_prints_the_schema():
    root = Path(__file__).parents[2]
    done = subprocess.run([sys.executable, "-m", exchange.__name__], capture_output=True, cwd=root, check=True)
    assert done.stdout == exchange.published_schema()


# Differences


def test_equal_books_do_not_differ(demo):
    assert differences(demo, demo) == Differences()
    assert not differences(demo, from_exchange(to_exchange(demo), "demo"))


def test_differences_name_what_is_new_changed_and_gone():
    old = small_book()
    new = old.put("pieces", replace(old.pieces[0], name="Pinafore", layer=2), Piece("9", "Cap", "dress"))
    new = new.drop("pieces", "8", "5").put("pieces", replace(old.pieces[1], notes="torn"))
    new = new.drop("boxes", "A")
    new = replace(new, clock=None, house=replace(new.house, zone="UTC", lead_days=3))
    found = differences(old, new)
    assert found
    assert found == Differences(
        ("clock", "house.zone", "house.lead_days"),
        (
            TableDifference("boxes", gone=("A",)),
            TableDifference(
                "pieces",
                new=("9",),
                changed=(ChangedRecord("1", ("name", "layer")), ChangedRecord("2", ("notes",))),
                gone=("5", "8"),
            ),
        ),
    )


def test_another_order_is_a_difference():
    old = small_book()
    new = old.with_table("pieces", old.pieces[::-1])
    assert differences(old, new) == Differences((), (TableDifference("pieces", reordered=True),))


def test_a_record_in_between_is_no_other_order():
    old = small_book()
    new = old.with_table("pieces", (Piece("0", "Cap", "dress"), *old.pieces[1:]))
    assert differences(old, new) == Differences((), (TableDifference("pieces", new=("0",), gone=("1",)),))


@pytest.mark.slow
@SLOW
@given(BOOKS, BOOKS)
def test_books_differ_exactly_when_their_files_do(one, two):
    assert bool(differences(one, two)) == (to_exchange(one) != to_exchange(two))


def test_an_export_of_before_the_sides_of_a_form_were_named_comes_in() -> None:
    book = small_book()
    left, right = Feature("buttons", "", View.FORM_LEFT), Feature("pocket", "wearer's right hip", View.FORM_RIGHT)
    book = replace(
        book.put("pieces", replace(book.piece("1"), features=(left, right))),
        house=replace(book.house, standard_views=(View.INSIDE, View.FORM_LEFT, View.FORM_RIGHT)),
    )
    tree = json.loads(to_exchange(book))
    tree["house"]["standard_views"] = ["inside", "form side"]
    for feature in tree["pieces"][0]["features"]:
        feature["view"] = "form side"
    assert read_exchange(json.dumps(tree).encode(), "old.json") == book


@pytest.mark.parametrize("house", [3, {"standard_views": 3}, {"standard_views": ["form side", 3]}])
@pytest.mark.parametrize("features", [3, [3], [{"view": "form side", "where": 3}]])
def test_an_old_export_that_is_garbled_is_told_as_any_other(house: object, features: object) -> None:
    tree = json.loads(to_exchange(small_book()))
    tree["house"], tree["pieces"][0]["features"] = house, features
    with pytest.raises(BadExchange) as refusal:
        read_exchange(json.dumps(tree).encode(), "old.json")
    assert len(refusal.value.faults) >= 2
