from dataclasses import replace
from datetime import date

from workroom_books import small_book

from showrunner.domain import edits
from showrunner.domain.consistency import problems
from showrunner.domain.episode import Pin, PinKind
from showrunner.domain.slot import SlotRef

BOOK = small_book()


def test_a_good_book_has_no_problems():
    assert problems(BOOK) == []


def test_a_clock_for_which_no_calendar_can_be_laid_out_is_told():
    assert problems(replace(BOOK, clock=date.max)) == [
        "The clock of the book stands at 9999-12-31; set it to a year from 1900 to 2999."
    ]


def test_a_promise_at_the_edge_of_the_calendar_is_told_and_breaks_nothing():
    edge = Pin("pin-1", PinKind.DATE, ("apron",), SlotRef(date.min, "sun"))
    other = Pin("pin-2", PinKind.DATE, ("jacket",), SlotRef(date(2026, 3, 22), "sun"))
    order = Pin("pin-3", PinKind.ORDER, ("apron", "jacket"))
    told = problems(BOOK.put("pins", edge, other))
    assert told[0].startswith("“Apron” is promised 1 January 1 (feature), but 1 January 1 is a Monday")
    assert problems(BOOK.put("pins", edge, other, order)) == [
        "A promised slot lies at the very edge of the calendar; pin it to a day that may come."
    ]


def test_every_dangling_id_is_named():
    book = BOOK.put("pieces", replace(BOOK.piece("1"), collection="fans", box="Z"))
    book = book.put("series", replace(book.series_of("brim"), collection="hats", rules=("sat",)))
    book = book.put(
        "pins",
        Pin("pin-1", PinKind.DATE, ("gone",), SlotRef(date(2026, 3, 7), "sat")),
        Pin("pin-2", PinKind.PAIR, pieces=("5", "98")),
    )
    book = book.put("episodes", replace(book.episode("jacket"), series="none", pieces=("99",)))
    book = book.put("publications", replace(BOOK.publications[0], id="p", episode="lost", series="old", rule="mon"))
    assert problems(book) == [
        "Apron: the book holds no collection 'fans'.",
        "Apron: the book holds no box 'Z'.",
        "Series The Brim: the book holds no collection 'hats'.",
        "Series The Brim: the book holds no slot rule 'sat'.",
        "“Apron”: Apron is not of the collection that The Hour is about.",
        "“Skating jacket”: the book holds no series 'none'.",
        "“Skating jacket”: the book holds no piece '99'.",
        "Pin pin-1: the book holds no episode 'gone'.",
        "Pin pin-1: the book holds no slot rule 'sat'.",
        "Pin pin-2: the book holds no piece '98'.",
        "Record, “Bodice”: the book holds no episode 'lost'.",
        "Record, “Bodice”: the book holds no series 'old'.",
        "Record, “Bodice”: the book holds no slot rule 'mon'.",
    ]


def test_what_is_shared_doubled_or_unrecorded_is_named():
    slot = SlotRef(date(2026, 3, 22), "sun")
    book = BOOK.put("episodes", replace(BOOK.episode("apron"), slot=slot), replace(BOOK.episode("jacket"), slot=slot))
    book = book.put("episodes", replace(book.episode("waistcoats"), pieces=("1", "2"), published=False))
    book = replace(book, pieces=(*book.pieces, book.piece("5")))
    book = book.with_table("publications", ())
    assert problems(book) == [
        "pieces: 2 entries are both called '5'.",
        "“Bodice”: it is marked published, but the record does not say when.",
        "Apron: it is in more than one open study, “Apron” and “Waistcoats”.",
        "22 March 2026 (feature): “Apron” and “Skating jacket” share this slot.",
    ]


def test_wrong_slots_zones_and_clashes_are_named():
    book = BOOK.put("episodes", replace(BOOK.episode("apron"), slot=SlotRef(date(2026, 3, 23), "sun")))
    book = book.put("episodes", replace(BOOK.episode("jacket"), slot=SlotRef(date(2026, 3, 25), "wed"), pieces=()))
    book = book.put("rules", replace(BOOK.rule("wed"), zone="Mars/Olympus"))
    book = edits.pin_order(book, "apron", "waistcoats")[0]
    book = book.put("pins", Pin("back", PinKind.ORDER, ("waistcoats", "apron")))
    book = book.put("publications", replace(BOOK.publications[0], id="again"))
    book = book.put("publications", replace(BOOK.publications[0], id="early", episode="waistcoats"))
    book = replace(book, house=replace(book.house, zone="nowhere"))
    assert problems(book) == [
        "House rules: 'nowhere' is not a time zone.",
        "Slot rule diary: 'Mars/Olympus' is not a time zone.",
        "“Apron”: 23 March 2026 is a Monday, and feature comes on Sundays.",
        "“Waistcoats”: the record says it was published, but it is not marked so.",
        "“Skating jacket”: The Hour may not use 25 March 2026 (diary).",
        "“Skating jacket”: the study shows no piece.",
        "Record, “Bodice”: the episode is recorded as published twice.",
        "the promises “Apron” before “Waistcoats” and “Waistcoats” before “Apron” cannot all be kept; "
        "unpin one of the orders.",
    ]
