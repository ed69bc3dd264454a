"""Promised orders against the calendar: circles, windows, first and last days, and what is needed for each clash."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time, timedelta
from itertools import product
from random import Random
from zoneinfo import ZoneInfo

import pytest
from books import small, sunday

from showrunner.domain.book import Book
from showrunner.domain.episode import Pin, PinKind, Window
from showrunner.domain.orders import fewest_dropped, stuck_orders
from showrunner.domain.promises import clashes
from showrunner.domain.rules import Member, Rule, relaxed
from showrunner.domain.slot import DarkRange, SlotRef, SlotRule

SUNDAYS = [date(2026, 3, 8) + timedelta(weeks=n) for n in range(8)]


def order(id: str, first: str, second: str) -> Pin:
    return Pin(id, PinKind.ORDER, (first, second))


def dated(id: str, study: str, day: date) -> Pin:
    return Pin(id, PinKind.DATE, (study,), sunday(day))


def book(*pins: Pin, studies: int = 4, **windows: tuple[date, date]) -> Book:
    found = replace(small(studies), pins=pins)
    for study, (first, last) in windows.items():
        changed = replace(found.episode(study), windows=(Window(first, last, hard=True),))
        found = found.put("episodes", changed)
    return found


def needed(found: Book) -> list[set[str]]:
    return [{member.id for member in stuck.members} for stuck in stuck_orders(found)]


def test_orders_that_some_days_keep_are_not_stuck() -> None:
    assert stuck_orders(book(order("a", "s0", "s1"), order("b", "s1", "s2"))) == ()
    assert stuck_orders(book(order("a", "s0", "s1"), s0=(SUNDAYS[0], SUNDAYS[0]), s1=(SUNDAYS[1], SUNDAYS[1]))) == ()


def test_a_window_of_one_day_a_year_is_met_by_a_weekday_sooner_or_later() -> None:
    """12 March is a Sunday in 2028 and then only in 2034; 29 February in 2032 and then in 2060."""
    for day, first in ((date(2028, 3, 12), date(2028, 3, 13)), (date(2032, 2, 29), date(2032, 3, 1))):
        yearly = Window(day, day, hard=True, yearly=True)
        found = book(order("a", "s0", "s1"), s0=(first, first + timedelta(weeks=1)))
        found = found.put("episodes", replace(found.episode("s1"), windows=(yearly,)))
        assert stuck_orders(found) == ()


def test_a_circle_names_its_orders() -> None:
    found = book(order("a", "s0", "s1"), order("b", "s1", "s2"), order("c", "s2", "s0"), order("d", "s2", "s3"))
    assert needed(found) == [{"a", "b", "c"}]
    assert fewest_dropped(found) == (("a",), ("b",), ("c",))


def test_two_windows_the_wrong_way_round_are_named_with_the_order() -> None:
    found = book(order("a", "s0", "s1"), s0=(SUNDAYS[2], SUNDAYS[3]), s1=(SUNDAYS[0], SUNDAYS[2]))
    assert needed(found) == [{"a", "s0", "s1"}]
    (clash,) = clashes(found)
    assert clash.sentence() == (
        "“Study 0” before “Study 1” is promised, but “Study 0” can come 22 March 2026 at the soonest and “Study 1” "
        "22 March 2026 at the latest; unpin the order, or widen a window."
    )
    assert fewest_dropped(found) == (("a",),)
    one_later = book(order("a", "s0", "s1"), s0=(SUNDAYS[2], SUNDAYS[3]), s1=(SUNDAYS[0], SUNDAYS[3]))
    assert stuck_orders(one_later) == ()


def test_a_chain_needs_a_slot_for_each_of_its_studies() -> None:
    chain = (order("a", "s0", "s1"), order("b", "s1", "s2"))
    edges = {"s0": (SUNDAYS[0], SUNDAYS[0]), "s2": (SUNDAYS[1], SUNDAYS[1])}
    assert needed(book(*chain, **edges)) == [{"a", "b", "s0", "s2"}]
    assert stuck_orders(book(*chain, s0=edges["s0"], s2=(SUNDAYS[2], SUNDAYS[2]))) == ()


def test_an_order_against_the_first_or_last_day_of_a_slot_names_the_slot() -> None:
    found = book(order("a", "s0", "s1"), s1=(SUNDAYS[0], SUNDAYS[1]))
    late = found.put("rules", replace(found.rule("sunday"), first=SUNDAYS[1]))
    assert needed(late) == [{"a", "s1", "sunday"}]
    assert stuck_orders(found.put("rules", replace(found.rule("sunday"), first=SUNDAYS[0]))) == ()
    before = book(order("a", "s0", "s1"), s0=(SUNDAYS[1], SUNDAYS[2]))
    ended = before.put("rules", replace(before.rule("sunday"), last=SUNDAYS[1]))
    assert needed(ended) == [{"a", "s0", "sunday"}]


def test_a_range_without_publication_that_leaves_no_slot_is_named() -> None:
    found = book(order("a", "s0", "s1"), s1=(SUNDAYS[0], SUNDAYS[1]), s0=(SUNDAYS[0], SUNDAYS[3]))
    dark = DarkRange("d", SUNDAYS[0], SUNDAYS[0], no_work=False, no_publication=True)
    assert needed(found.put("dark", dark)) == [{"a", "d", "s0", "s1"}]
    assert stuck_orders(found.put("dark", replace(dark, no_work=True, no_publication=False))) == ()


def test_promised_dates_bind_a_chain_and_the_sentence_names_both() -> None:
    pins = (order("a", "s0", "s1"), dated("b", "s0", SUNDAYS[4]), dated("c", "s1", SUNDAYS[2]))
    found = book(*pins, studies=2)
    stuck = [stuck for stuck in stuck_orders(found) if stuck.soonest]
    assert [set(s.members) for s in stuck] == [
        {Member(Rule.ORDER, "a"), Member(Rule.DATE, "b"), Member(Rule.DATE, "c")},
    ]
    assert fewest_dropped(found) == ((),)  # the search weighs promises of dated studies


def test_a_window_that_comes_every_year_never_ends() -> None:
    found = book(order("a", "s0", "s1"), s0=(SUNDAYS[2], SUNDAYS[3]))
    yearly = Window(date(2025, 1, 5), date(2025, 1, 11), hard=True, yearly=True)
    found = found.put("episodes", replace(found.episode("s1"), windows=(yearly,)))
    assert stuck_orders(found) == ()


@pytest.mark.parametrize("study", ["s0", "s1"])
def test_a_study_that_has_no_day_at_all_keeps_no_order_and_is_the_one_named(study: str) -> None:
    monday = SUNDAYS[0] + timedelta(1)
    found = book(order("a", "s0", "s1"), **{study: (monday, monday)})
    assert needed(found) == [{"a", study}]
    assert clashes(found)[0].sentence() == (
        f"“Study 0” before “Study 1” is promised, but “Study {study[1]}” has no day on which it may come; "
        "unpin the order, or widen a window."
    )


def test_only_what_is_needed_is_named_where_a_promised_date_lies_outside_the_window() -> None:
    """“Study 2” has no day by its window and the slot alone, so “Study 0” and the date take no part."""
    pins = (order("a", "s0", "s1"), order("b", "s1", "s2"), dated("c", "s2", SUNDAYS[1]))
    found = book(*pins, s2=(SUNDAYS[0], SUNDAYS[0] + timedelta(1)))
    found = found.put("rules", replace(found.rule("sunday"), first=SUNDAYS[1]))
    assert needed(found) == [{"b", "s2", "sunday"}]
    (stuck,) = stuck_orders(found)
    assert stuck.chain == ("s1", "s2")
    assert clashes(found)[-1].sentence() == (
        "“Study 1” before “Study 2” is promised, but “Study 2” has no day on which it may come; "
        "unpin the order, or widen a window."
    )


def test_after_the_last_slot_of_the_calendar_no_study_has_a_day() -> None:
    last = date(9999, 12, 26)
    assert last.weekday() == 6
    found = book(order("a", "s0", "s1"), dated("b", "s0", last))
    assert needed(found) == [{"a", "b"}]
    assert "“Study 1” has no day on which it may come" in clashes(found)[0].sentence()
    weeks = timedelta(weeks=2)
    assert stuck_orders(book(order("a", "s0", "s1"), dated("b", "s0", last - weeks))) == ()


def test_of_two_dates_of_one_study_the_earlier_is_held_against_the_orders() -> None:
    dates = (dated("b", "s0", SUNDAYS[0]), dated("c", "s0", SUNDAYS[4]))
    for pair in (dates, dates[::-1]):
        assert stuck_orders(book(order("a", "s0", "s1"), *pair, s1=(SUNDAYS[2], SUNDAYS[2]))) == ()
        late = book(order("a", "s0", "s1"), *pair, s1=(SUNDAYS[0], SUNDAYS[0]))
        assert needed(late) == [{"a", pair[1].id, "s1"}]


# Against every choice of slots: three studies, two weekly slots, a dozen weeks

DAYS = [date(2026, 2, 2) + timedelta(n) for n in range(7 * 14)]
CORE = DAYS[28:-28]
"""The days that windows, promises, dark ranges and edges of slots lie in; what nothing bounds has slots around them."""


def torn(seed: int) -> Book:
    """A random book of promised orders and dates, windows, slots with edges and dark ranges."""
    random = Random(seed)

    def stretch(longest: int) -> tuple[date, date]:
        first = random.randrange(len(CORE) - longest)
        return CORE[first], CORE[first + random.randrange(longest)]

    def perhaps(chance: float, day: date) -> date | None:
        return day if random.random() < chance else None

    found = small(3)
    zones = ("Europe/Dublin", "Pacific/Auckland")
    rules = [SlotRule("a", "A", 6, time(9), "Europe/Dublin", 0, perhaps(0.2, CORE[10]), perhaps(0.2, CORE[-10]))]
    rules.append(SlotRule("b", "B", random.choice((2, 6)), time(18), random.choice(zones), 0, perhaps(0.3, CORE[14])))
    ids = random.choice((("a",), ("a", "b"), ("b", "a"), ("b", "a", "gone")))
    found = replace(found, rules=tuple(rules), series=(replace(found.series[0], rules=ids),))
    for study in found.episodes:
        windows = tuple(Window(*stretch(20), hard=random.random() < 0.8) for _ in range(random.choice((0, 1, 1, 2))))
        found = found.put("episodes", replace(study, windows=windows))
    if random.random() < 0.4:
        first, last = stretch(12)
        found = found.put("dark", DarkRange("d", first, last, random.random() < 0.5, no_publication=True))
    names = random.sample(["s0", "s1", "s2"], 3)
    pins = [order(f"o{n}", *pair) for n, pair in enumerate((names[:2], names[1:], names[::2])) if random.random() < 0.8]
    for study in random.sample(names, random.choice((0, 0, 1, 2))):
        slots = [SlotRef(day, rule.id) for rule in rules for day in CORE if day.weekday() == rule.weekday]
        pins.append(Pin(f"d{study}", PinKind.DATE, (study,), random.choice(slots)))
    return replace(found, pins=tuple(random.sample(pins, len(pins))))


def choices(found: Book, study: str) -> list[SlotRef]:
    """The slots that a study may have by itself, in time; the promised one if one is promised."""
    dates = [pin.slot for pin in found.pins if pin.slot and pin.episodes == (study,)]
    if dates:
        return dates
    windows = [window for window in found.episode(study).windows if window.hard]
    free = [
        SlotRef(day, rule.id)
        for day in DAYS
        for rule in found.rules
        if rule.id in found.series[0].rules
        and day.weekday() == rule.weekday
        and (rule.first or day) <= day <= (rule.last or day)
        and (not windows or any(window.first <= day <= window.last for window in windows))
        and not any(dark.no_publication and dark.first <= day <= dark.last for dark in found.dark)
    ]
    return sorted(free, key=lambda slot: turn(found, slot))


def turn(found: Book, slot: SlotRef) -> tuple[date, datetime]:
    rule = found.rule(slot.rule)
    return slot.day, datetime.combine(slot.day, rule.at, ZoneInfo(rule.zone))


def can_be_kept(found: Book) -> bool:
    """Whether any choice of slots, for the studies that orders name, keeps the orders."""
    orders = [pin.episodes for pin in found.pins if pin.kind is PinKind.ORDER]
    named = sorted({study for pair in orders for study in pair})
    turns = [[turn(found, slot) for slot in choices(found, study)] for study in named]
    pairs = [(named.index(first), named.index(second)) for first, second in orders]
    return any(all(chosen[a] < chosen[b] for a, b in pairs) for chosen in product(*turns))


def without_all_but(found: Book, members: set[Member]) -> Book:
    """The book in which nothing but some members of a clash, and the slots of the week, holds a study."""
    pins = {Member(Rule(pin.kind.value), pin.id) for pin in found.pins}
    windows = {Member(Rule.WINDOW, study.id) for study in found.episodes}
    rest = pins | windows | {Member(Rule.SLOT, rule.id) for rule in found.rules}
    for member in (rest | {Member(Rule.DARK, dark.id) for dark in found.dark}) - members:
        found = relaxed(found, member)
    return found


def test_orders_are_stuck_exactly_if_no_choice_of_slots_keeps_them_and_no_member_can_be_left_out() -> None:
    stuck_ones = dated_ones = 0
    for seed in range(100):
        found = torn(seed)
        stuck = stuck_orders(found)
        assert bool(stuck) != can_be_kept(found), seed
        if not stuck:
            continue
        (one,) = stuck
        alone = without_all_but(found, set(one.members))
        assert not can_be_kept(alone), seed
        for member in one.members:
            assert can_be_kept(relaxed(alone, member)), (seed, member)
        slots = [choices(alone, study) for study in (one.chain[0], one.chain[-1])]
        never = [study for study, free in zip((one.chain[0], one.chain[-1]), slots, strict=True) if not free]
        assert one.never == "".join(never)
        if not never:
            assert one.soonest and one.latest
            assert turn(alone, one.soonest) == turn(alone, slots[0][0])
            assert turn(alone, one.latest) == turn(alone, slots[1][-1])
        stuck_ones += 1
        dated_ones += any(member.rule is Rule.DATE for member in one.members)
    assert stuck_ones > 20 and dated_ones > 5
