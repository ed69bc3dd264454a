"""When the collection that is shopped for can take over: its opening, silence or overlap, stock, and feeds."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from functools import cache

import pytest
from effort import seeds
from planning.books import TODAY, demo, small

from showrunner.domain.book import Book
from showrunner.domain.collection import Collection, CollectionKind
from showrunner.domain.episode import Episode, Series, StageMinutes
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.piece import Known, Piece, Shown, Want, WantStatus, WantStep
from showrunner.domain.publication import Publication
from showrunner.domain.slot import SlotRef
from showrunner.planning.earliest_due import Job, lay
from showrunner.planning.handover import Handover, State, Stock, hand_over, stock_of
from showrunner.planning.results import RunOut
from showrunner.planning.runout import run_out
from showrunner.planning.slots import expand
from showrunner.storage.edtf_text import parse

WANTED, ORDERED, ARRIVED, DECLINED = WantStatus
ENDS = (date(2026, 10, 18), date(2026, 10, 18), date(2026, 11, 29))


@cache
def before() -> RunOut:
    """The end of the demo's series."""
    return run_out(demo(), TODAY)


def handed(book: Book, silence: int | None = None, ending: RunOut | None = None) -> Handover:
    collection = next(c for c in book.collections if c.kind is CollectionKind.SHOPPING)
    found = hand_over(book, TODAY, collection, before=ending or before(), silence_weeks=silence)
    assert found is not None
    return found


def with_want(book: Book, name: str, **changes: object) -> Book:
    piece = next(p for p in book.pieces if p.name == name)
    assert piece.want is not None
    return book.put("pieces", replace(piece, want=replace(piece.want, **changes)))  # type: ignore[arg-type]


def named(book: Book, ids: tuple[str, ...]) -> list[str]:
    return [book.piece(id).name for id in ids]


def feed(book: Book, found: Handover, name: str) -> tuple[date | None, bool]:
    (one,) = (f for f in found.feeds if book.piece(f.piece).name == name)
    return (one.slot.day if one.slot else None), one.opens


# The demo: Magistrate on 20 April is the fourth, three weeks of preparation, the first free Sunday after them


def test_the_opening_waits_for_the_fourth_block_and_three_weeks_of_preparation() -> None:
    found = handed(demo())
    assert (found.state, found.opens_with, found.counted, found.series) == (State.CAN_OPEN, 4, 5, "")
    opening = found.opening
    assert opening is not None
    assert opening.enough == date(2026, 4, 20)
    assert opening.prepared == opening.enough + timedelta(weeks=3)
    assert opening.slot == SlotRef(date(2026, 5, 17), "sunday")
    assert named(demo(), opening.pieces) == ["Pudding", "Alderman", "Drum", "Magistrate"]
    assert opening.minutes == 60 * (17 + 4 * 2)
    assert (opening.needed, opening.available) == (121 * 60, 130 * 60)


def test_by_the_opening_everything_before_it_is_counted_by_hand() -> None:
    """From 2 March to 16 May: 10 weeks of 12 h and the Tuesday to Saturday of an eleventh, 10 h.

    Of the eleven Sundays to 17 May two have studies and one the opening, so eight talks; eleven Wednesdays to 13 May
    less the diary in the bank.
    """
    opening = handed(demo()).opening
    assert opening is not None
    assert opening.available == 60 * (10 * 12 + 10)
    assert opening.needed == 60 * (2 * 17 + 17 + 4 * 2 + 8 * 4 + 10 * 3)


def test_the_silence_is_a_range_with_the_end_and_the_latest_opening_six_weeks_after_it() -> None:
    found = handed(demo())
    assert [s.chance for s in found.silences] == [10, 50, 90]
    assert tuple(s.end for s in found.silences) == ENDS
    first = date(2026, 5, 17)
    assert [s.days for s in found.silences] == [(first - end).days for end in ENDS]
    assert [s.latest.day for s in found.silences if s.latest] == [
        date(2026, 11, 29),
        date(2026, 11, 29),
        date(2027, 1, 10),
    ]
    assert found.silence_weeks == 6  # the wished gap of the series that ends
    assert not any(s.too_long for s in found.silences)


@pytest.mark.parametrize(("weeks", "latest"), [(0, date(2026, 10, 11)), (4, date(2026, 11, 15))])
def test_less_silence_means_an_earlier_last_day_and_never_a_slot_that_is_taken(weeks: int, latest: date) -> None:
    found = handed(demo(), silence=weeks)
    assert found.silence_weeks == weeks
    slot = found.silences[1].latest
    assert slot is not None
    assert slot.day == latest  # 18 October itself is the bathing costume's


def test_a_late_arrival_shifts_the_opening_and_a_long_silence_is_flagged() -> None:
    book = with_want(demo(), "Magistrate", expected=parse("2026-12-24"))
    book = with_want(book, "Saucer", expected=parse("2027-01?"))
    found = handed(book)
    opening = found.opening
    assert opening is not None
    assert (opening.enough, opening.prepared) == (date(2026, 12, 24), date(2027, 1, 14))
    assert opening.slot.day == date(2027, 1, 17)
    assert [s.days for s in found.silences] == [91, 91, 49]
    assert [s.too_long for s in found.silences] == [91 - 42, 91 - 42, 49 - 42]
    assert [s.latest for s in found.silences] == [None, None, None]


def test_a_rough_date_counts_by_its_latest_day() -> None:
    book = with_want(demo(), "Magistrate", expected=parse("2026-06~"))
    opening = handed(book).opening
    assert opening is not None
    assert (opening.enough, opening.prepared) == (date(2026, 6, 30), date(2026, 7, 21))
    assert opening.slot.day == date(2026, 7, 26)


def test_too_few_with_a_latest_day_open_nothing() -> None:
    for changes in ({"expected": None}, {"expected": parse("2026-04-20/..")}, {"status": WANTED}, {"status": DECLINED}):
        book = with_want(with_want(demo(), "Magistrate", **changes), "Saucer", status=DECLINED)
        found = handed(book)
        assert (found.state, found.counted, found.opening) == (State.TOO_FEW, 3, None)
        assert found.undated == (0 if "status" in changes else 1)
        assert all(f.slot is None for f in found.feeds)
        assert [(s.days, s.latest, s.too_long) for s in found.silences] == [(None, None, 0)] * 3


def test_what_should_have_come_by_now_counts_as_coming_today_and_is_told() -> None:
    book = with_want(demo(), "Magistrate", expected=parse("2026-02-20"))
    found = handed(book)
    assert named(book, found.overdue) == ["Magistrate"]
    assert found.opening is not None
    assert (found.opening.enough, found.opening.prepared) == (TODAY, TODAY + timedelta(weeks=3))


def test_what_arrived_long_ago_is_prepared_by_now() -> None:
    came = (WantStep(ARRIVED, date(2026, 1, 17)),)
    found = handed(with_want(demo(), "Magistrate", status=ARRIVED, history=came))
    assert found.opening is not None
    assert found.opening.enough == date(2026, 1, 17)
    assert found.opening.prepared == date(2026, 2, 7)
    book = demo()
    for name in ("Pudding", "Alderman", "Drum", "Magistrate"):  # nobody knows when
        book = with_want(book, name, status=ARRIVED, history=())
    unknown = handed(book)
    assert unknown.opening is not None
    assert unknown.opening.prepared <= TODAY
    assert found.opening.slot == unknown.opening.slot


def test_what_has_been_shown_is_no_stock() -> None:
    piece = next(p for p in demo().pieces if p.name == "Pudding")
    found = handed(demo().put("pieces", replace(piece, shown=Shown(Known.YES))))
    assert found.counted == 4
    assert found.opening is not None
    assert found.opening.enough == date(2026, 6, 30)


# What each could feed


def test_each_want_says_the_first_study_it_could_feed() -> None:
    book = demo()
    found = handed(book)
    assert [feed(book, found, name) for name in ("Pudding", "Alderman", "Drum", "Magistrate")] == [
        (date(2026, 5, 17), True)
    ] * 4
    assert feed(book, found, "Saucer") == (date(2026, 7, 26), False)  # 30 June and three weeks
    assert feed(book, found, "Riddle") == (None, False)


def test_one_that_comes_soon_after_the_opening_keeps_the_least_gap_to_it() -> None:
    book = with_want(demo(), "Saucer", expected=parse("2026-04-28"))  # prepared on 19 May
    assert feed(book, handed(book), "Saucer") == (date(2026, 6, 14), False)  # four weeks after the opening
    on_the_day = with_want(demo(), "Saucer", expected=parse("2026-04-26"))  # prepared on 17 May itself
    assert feed(on_the_day, handed(on_the_day), "Saucer") == (date(2026, 5, 17), True)
    early = with_want(demo(), "Saucer", expected=parse("2026-04-19"))
    found = handed(early)
    assert found.opening is not None
    assert named(early, found.opening.pieces) == ["Pudding", "Alderman", "Drum", "Saucer"]
    assert feed(early, found, "Saucer") == (date(2026, 5, 17), True)
    assert feed(early, found, "Magistrate") == (date(2026, 5, 17), True)  # prepared in time too, with its hours
    long = with_want(early, "Magistrate", preparation_minutes=60 * 40)
    assert feed(long, handed(long), "Magistrate")[1] is False


def test_a_series_of_its_own_says_where_and_how_far_apart_and_one_that_is_open_stays_so() -> None:
    book = demo()
    own = Series("brim", "Crown & Brim", "blocks", ("wednesday",), 2, 3, 6, StageMinutes(shoot=60))
    book = book.put("series", own)
    found = handed(book)
    assert (found.series, found.wished_weeks) == ("brim", 3)
    assert found.opening is not None
    assert found.opening.slot == SlotRef(date(2026, 5, 13), "wednesday")
    aired = Publication("p", "First", "wednesday", date(2026, 2, 25), FuzzyDate.exact(date(2026, 2, 25)), "", "brim")
    opened = handed(replace(book, publications=(*book.publications, aired)))
    assert (opened.state, opened.opening, opened.silences) == (State.OPEN, None, ())
    assert feed(book, opened, "Saucer")[0] is not None


# Stock: days of supply are stock by daily use (24 pieces at 2 a week last 12 weeks)


def test_stock_lasts_its_number_times_the_gap_and_a_year_needs_whole_weeks() -> None:
    assert stock_of(4, 6) == Stock(4, 24, 13)
    assert stock_of(5, 6) == Stock(5, 30, 11)
    assert stock_of(0, 6) == Stock(0, 0, None)
    for pieces in range(1, 120):
        apart = stock_of(pieces, 1).weeks_apart
        assert apart is not None
        assert pieces * apart >= 52 > pieces * (apart - 1)


def test_stock_is_what_is_there_by_the_opening_then_what_is_ordered_then_what_is_wanted() -> None:
    found = handed(demo())
    assert (found.stock.pieces, found.stock_ordered.pieces, found.stock_wanted.pieces) == (4, 5, 12)


# Hours, against Horn's rule


def blocks(rng: random.Random) -> Book:
    """A small book, tight in hours, with some planned studies and blocks on their way."""
    book = small(
        rng.randint(0, 4), work=(0, rng.choice((0, 60)), 0, 120, 0, rng.choice((60, 240)), 60), hours=rng.randint(2, 9)
    )
    weeks = sorted(rng.sample(range(2, 30), len(book.episodes)))
    first = date(2026, 3, 8)
    book = book.put(
        "episodes",
        *(
            replace(study, slot=SlotRef(first + timedelta(weeks=week), "sunday"))
            for study, week in zip(book.episodes, weeks, strict=True)
        ),
    )
    book = replace(book, rules=(replace(book.rules[0], standing_minutes=rng.choice((0, 60, 120))),))
    shop = Collection("blocks", "Blocks", CollectionKind.SHOPPING, opens_with=rng.randint(1, 3), preparation_weeks=1)
    wants = [
        Piece(
            f"b{n}",
            f"Block {n}",
            "blocks",
            want=Want(
                ORDERED,
                expected=FuzzyDate.exact(TODAY + timedelta(rng.randint(0, 60))),
                width_cm=Decimal(20),
                preparation_minutes=rng.choice((0, 120, 600)),
            ),
        )
        for n in range(3)
    ]
    return replace(book, collections=(*book.collections, shop), pieces=(*book.pieces, *wants))


def on_time(book: Book, slot: SlotRef | None) -> bool:
    """Whether all that is planned, with the opening in a slot or without one, is done in time if that can be.

    One worker who may interrupt work meets all due days, with work that may not begin before a day, if any order does,
    by always taking what is due first (Horn 1974).
    """
    days = 7 * 78 + 1
    capacity = [book.house.work_minutes[(TODAY + timedelta(day)).weekday()] for day in range(days)]
    taken = {study.slot for study in book.open_studies} | {slot}

    def ready(day: date) -> int:
        return (day - TODAY).days - book.house.lead_days

    slots = [s.ref for s in expand(book.rules, TODAY, TODAY + timedelta(days - 1)) if ready(s.day) >= 0]
    jobs = [Job(ready(s.day), book.rules[0].standing_minutes) for s in slots if s not in taken]
    jobs += [Job(ready(e.slot.day), book.stages_of(e).total) for e in book.open_studies if e.slot]
    if slot:
        jobs.append(Job(ready(slot.day), book.series[0].stages.total))
        for latest, minutes in coming(book)[: book.collection("blocks").opens_with]:
            jobs.append(Job(ready(slot.day), minutes, (latest - TODAY).days))
    return not lay(jobs, capacity).late(jobs)


def coming(book: Book) -> list[tuple[date, int]]:
    """The latest day and the minutes of preparation of each block, the first to come first."""
    wants = [piece.want for piece in book.pieces if piece.want]
    return sorted((w.expected.latest, w.preparation_minutes) for w in wants if w.expected and w.expected.latest)


@pytest.mark.parametrize("seed", seeds(0, 60))
def test_the_opening_is_the_first_free_slot_in_which_everything_is_done_in_time(seed: int) -> None:
    rng = random.Random(seed)
    book = blocks(rng)
    shop = book.collection("blocks")
    ending = replace(before(), series="looks")
    found = hand_over(book, TODAY, shop, before=ending)
    assert found is not None
    if not on_time(book, None):
        pytest.skip("not even what is planned can be done in time")
    prepared = coming(book)[shop.opens_with - 1][0] + timedelta(weeks=1)
    taken = {study.slot for study in book.open_studies}
    every = [slot.ref for slot in expand(book.rules, TODAY, TODAY + timedelta(weeks=78))]
    free = [slot for slot in every if slot.day >= prepared and slot not in taken]
    expected = next((slot for slot in free if on_time(book, slot)), None)
    assert (found.opening.slot if found.opening else None) == expected


def test_preparation_is_not_done_before_the_piece_is_there() -> None:
    """With 2 h on Thursdays and nothing else, 4 h of preparation need two Thursdays after it came."""
    book = small(0, work=(0, 0, 0, 120, 0, 0, 0), hours=0)
    shop = Collection("blocks", "Blocks", CollectionKind.SHOPPING)
    want = Want(ORDERED, expected=FuzzyDate.exact(date(2026, 3, 27)), preparation_minutes=240)  # a Friday
    book = replace(book, collections=(*book.collections, shop), pieces=(Piece("b", "Block", "blocks", want=want),))
    found = hand_over(book, TODAY, shop, before=None)
    assert found is not None
    assert found.opening is not None
    assert found.opening.slot.day == date(2026, 4, 12)
    assert found.silences == ()
    there = replace(want, status=ARRIVED)
    early = hand_over(book.put("pieces", Piece("b", "Block", "blocks", want=there)), TODAY, shop, before=None)
    assert early is not None
    assert early.opening is not None
    assert early.opening.slot.day == date(2026, 3, 15)


def test_a_study_of_the_series_that_is_planned_already_does_not_stand_in_its_own_way() -> None:
    own = Series("brim", "Crown & Brim", "blocks", ("sunday",), 2, 3, 6, StageMinutes(shoot=60))
    first = Episode("first", "First", series="brim", pieces=("b01",), slot=SlotRef(date(2026, 5, 17), "sunday"))
    found = handed(demo().put("series", own).put("episodes", first))
    assert found.opening is not None
    assert found.opening.slot.day == date(2026, 5, 17)


def test_a_book_without_slots_hands_nothing_over() -> None:
    book = Book("k", collections=(Collection("blocks", "Blocks", CollectionKind.SHOPPING),))
    assert hand_over(book, TODAY, book.collection("blocks"), before=None) is None
