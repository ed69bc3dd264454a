"""The hard rules, each by itself: when it is kept, who takes part, and what would relax it."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

import pytest
from books import small, sunday

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.episode import Episode, EpisodeKind, Pin, PinKind, Window
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.publication import Publication
from showrunner.domain.rules import (
    Board,
    Breach,
    Member,
    Rule,
    Terms,
    clause,
    missing_hours,
    not_a_slot,
    relaxed,
    terms_of,
)
from showrunner.domain.slot import DarkRange, SlotRef, SlotRule

SUNDAYS = [date(2026, 3, 8) + timedelta(weeks=n) for n in range(8)]


def book(studies: int = 2) -> Book:
    return small(studies)


def held(found: Book) -> dict[SlotRef, str]:
    return Board(found).held


def published(planned: date | None, actual: date | FuzzyDate | None, rule: str = "sunday") -> Publication:
    came = FuzzyDate.exact(actual) if isinstance(actual, date) else actual
    return Publication("p", "Out", rule, planned, came)


def alone(found: Book, day: date, rule: str = "sunday") -> list[Breach]:
    """What keeps the first study out of a slot whatever else is planned."""
    return list(Board(found).against_slot(terms_of(found, found.episode("s0")), SlotRef(day, rule)))


def pinned(found: Book, *pins: Pin) -> Book:
    return replace(found, pins=pins)


def test_nothing_keeps_a_study_out_of_a_free_slot() -> None:
    assert alone(book(), SUNDAYS[0]) == []


def test_a_slot_comes_on_its_weekday_from_its_first_to_its_last_day() -> None:
    found = book().put("rules", replace(book().rule("sunday"), first=SUNDAYS[1], last=SUNDAYS[2]))
    member = (Member(Rule.SLOT, "sunday"),)
    assert [[b.members for b in alone(found, day)] for day in SUNDAYS[:4]] == [[member], [], [], [member]]
    monday = SUNDAYS[1] + timedelta(1)
    # no first or last day to relax
    assert alone(found, monday) == [Breach(Rule.SLOT, (), "s0", sunday(monday), other="", amount=0)]
    assert alone(relaxed(found, Member(Rule.SLOT, "sunday")), SUNDAYS[0]) == []


def test_a_series_uses_its_own_slots() -> None:
    found = book().put("rules", SlotRule("saturday", "Saturdays", 5, time(9), "UTC"))
    (breach,) = alone(found, SUNDAYS[0] - timedelta(1), "saturday")
    assert breach.rule is Rule.ALLOWED


def test_a_hard_window_must_and_a_soft_one_need_not_be_kept() -> None:
    window = Window(SUNDAYS[1], SUNDAYS[2], hard=True)
    found = book().put("episodes", replace(book().episode("s0"), windows=(window,)))
    assert [[b.rule for b in alone(found, day)] for day in SUNDAYS[:4]] == [[Rule.WINDOW], [], [], [Rule.WINDOW]]
    assert alone(relaxed(found, Member(Rule.WINDOW, "s0")), SUNDAYS[0]) == []
    soft = book().put("episodes", replace(book().episode("s0"), windows=(replace(window, hard=False),)))
    assert alone(soft, SUNDAYS[0]) == []


def test_a_dark_range_without_publication_is_left_out_or_loses_that() -> None:
    both = DarkRange("d", SUNDAYS[0], SUNDAYS[0], no_work=True, no_publication=True)
    found = book().put("dark", both)
    (breach,) = alone(found, SUNDAYS[0])
    assert (breach.rule, breach.members) == (Rule.DARK, (Member(Rule.DARK, "d"),))
    assert relaxed(found, Member(Rule.DARK, "d")).dark == (replace(both, no_publication=False),)
    quiet = book().put("dark", replace(both, no_work=False))
    assert relaxed(quiet, Member(Rule.DARK, "d")).dark == ()


def test_the_least_gap_counts_from_the_last_published_and_between_studies_both_ways() -> None:
    found = book().put("publications", replace(published(None, SUNDAYS[0]), series="looks"))
    least = found.series_of("looks").min_weeks
    breaches = {n: [b.amount for b in alone(found, SUNDAYS[n]) if b.rule is Rule.GAP] for n in range(1, 5)}
    assert breaches == {n: [7 * n] if n < least else [] for n in range(1, 5)}
    board, one, two = Board(book()), *(terms_of(book(), book().episode(id)) for id in ("s0", "s1"))
    for n in range(1, 5):
        for here, there in ((SUNDAYS[0], SUNDAYS[n]), (SUNDAYS[n], SUNDAYS[0])):
            rules = [b.rule for b in board.against_other(one, sunday(here), two, sunday(there))]
            assert rules == ([Rule.GAP] if n < least else [])
    assert [b.rule for b in board.against_other(one, sunday(SUNDAYS[0]), two, sunday(SUNDAYS[0]))] == [Rule.TAKEN]


def test_a_gap_is_counted_in_days_and_a_day_less_than_the_least_is_too_near() -> None:
    found = book().put("publications", replace(published(None, SUNDAYS[0]), series="looks"))
    board, one, two = Board(found), *(terms_of(found, found.episode(id)) for id in ("s0", "s1"))
    for days in (13, 14):
        day = SUNDAYS[0] + timedelta(days)
        near = days < 7 * found.series_of("looks").min_weeks
        assert [b.amount for b in alone(found, day) if b.rule is Rule.GAP] == ([days] if near else [])
        between = board.against_other(one, sunday(SUNDAYS[0]), two, sunday(day))
        assert [(b.study, b.other, b.amount) for b in between] == ([("s0", "s1", days)] if near else [])


def test_the_gap_counts_from_the_latest_day_of_the_series_own_record() -> None:
    found = book().put("series", replace(book().series_of("looks"), id="other"))
    lines = [
        Publication("a", "Out", "sunday", None, FuzzyDate.exact(SUNDAYS[2]), series="looks"),
        Publication("b", "Out", "sunday", None, FuzzyDate.exact(SUNDAYS[1]), "s1"),  # of the series of its study
        Publication("c", "Out", "sunday", None, FuzzyDate.exact(SUNDAYS[4]), series="other"),
        Publication("d", "Talk", "sunday", None, FuzzyDate.exact(SUNDAYS[5])),
        Publication("e", "Missed", "sunday", SUNDAYS[6], None, series="looks"),
    ]
    board = Board(found.put("publications", *lines))
    assert (board.last_published("looks"), board.last_published("other")) == (SUNDAYS[2], SUNDAYS[4])
    assert Board(found.put("publications", lines[1])).last_published("looks") == SUNDAYS[1]
    assert Board(found.put("publications", *lines[3:])).last_published("looks") is None


def test_no_gap_is_kept_between_studies_of_two_series_or_of_none() -> None:
    found = book()
    board, one = Board(found), terms_of(found, found.episode("s0"))
    for other in (replace(one, series=replace(found.series_of("looks"), id="other")), Terms("x", None)):
        for a, b in ((one, other), (other, one)):
            assert list(board.against_other(a, sunday(SUNDAYS[0]), b, sunday(SUNDAYS[1]))) == []
            assert [x.rule for x in board.against_other(a, sunday(SUNDAYS[0]), b, sunday(SUNDAYS[0]))] == [Rule.TAKEN]
    assert list(board.against_slot(Terms("x", None), sunday(SUNDAYS[0]))) == []


def test_every_rule_that_a_slot_breaks_is_told_of_a_study_beside_the_others() -> None:
    """The first study in the slot of the second, though promised after it and for another day."""
    pins = (Pin("d", PinKind.DATE, ("s0",), sunday(SUNDAYS[4])), Pin("o", PinKind.ORDER, ("s1", "s0")))
    found = pinned(book(3), *pins)
    terms = {id: terms_of(found, found.episode(id)) for id in ("s0", "s1", "s2")}
    others = [(terms["s1"], sunday(SUNDAYS[0])), (terms["s2"], sunday(SUNDAYS[1]))]
    told = list(Board(found).against(terms["s0"], sunday(SUNDAYS[0]), others))
    assert [(b.rule, b.other) for b in told] == [
        (Rule.DATE, ""),
        (Rule.TAKEN, "s1"),
        (Rule.GAP, "s2"),
        (Rule.ORDER, "s1"),
    ]
    assert list(Board(found).against(terms["s0"], sunday(SUNDAYS[4]), others)) == []


def test_a_promised_date_is_kept_there_and_nowhere_else() -> None:
    found = pinned(book(), Pin("p", PinKind.DATE, ("s0",), sunday(SUNDAYS[1])))
    board, terms = Board(found), terms_of(found, found.episode("s0"))
    assert list(board.against_date(terms, sunday(SUNDAYS[1]))) == []
    (breach,) = board.against_date(terms, sunday(SUNDAYS[2]))
    assert breach.members == (Member(Rule.DATE, "p"),)
    assert clause(found, breach) == "it is promised for 15 March 2026 (feature)"
    assert Board(relaxed(found, breach.members[0])).dates == {}


def test_a_study_promised_after_another_waits_for_it() -> None:
    found = pinned(book(), Pin("p", PinKind.ORDER, ("s0", "s1")))
    board, (early, late) = Board(found), (sunday(SUNDAYS[0]), sunday(SUNDAYS[1]))

    def broken(study: str, slot: SlotRef, **slots: SlotRef) -> list[str]:
        return [clause(found, b) for b in board.against_orders(study, slot, slots)]

    assert broken("s1", late, s0=early) == broken("s0", early, s1=late) == broken("s0", late) == []
    assert broken("s1", early, s0=late) == broken("s1", late) == ["it is promised after “Study 0”"]
    assert broken("s0", late, s1=early) == ["it is promised before “Study 1”"]
    assert broken("s0", early, s1=early) and broken("s1", early, s0=early)  # at once is not before


def test_only_promises_of_open_studies_bind() -> None:
    pins = (Pin("d", PinKind.DATE, ("s0",), sunday(SUNDAYS[1])), Pin("o", PinKind.ORDER, ("s1", "s0")))
    found = pinned(book(), *pins, Pin("gone", PinKind.DATE, ("gone",), sunday(SUNDAYS[0])))
    assert Board(found).dates == {"s0": (("d", sunday(SUNDAYS[1])),)}
    assert Board(found).orders == (("o", "s1", "s0"),)
    for study in ("s0", "s1"):
        out = found.put("episodes", replace(found.episode(study), published=True))
        assert Board(out).orders == ()
        assert set(Board(out).dates) == ({"s0"} - {study})


def test_the_earlier_day_comes_first_though_its_instant_is_later() -> None:
    """At 20:00 on a Saturday in New York it is Sunday afternoon in Auckland."""
    behind = SlotRule("behind", "behind", 5, time(20), "America/New_York")
    ahead = SlotRule("ahead", "ahead", 6, time(9), "Pacific/Auckland")
    board = Board(replace(book(), rules=(behind, ahead)))
    saturday, sunday_ = SlotRef(SUNDAYS[0] - timedelta(1), "behind"), SlotRef(SUNDAYS[0], "ahead")
    assert board.turn(saturday)[1] > board.turn(sunday_)[1]
    assert board.turn(saturday) < board.turn(sunday_)


def test_a_slot_without_a_known_zone_counts_as_noon_utc_of_its_day() -> None:
    nowhere = SlotRule("nowhere", "Nowhere", 6, time(9), "No/Such_Zone")
    board = Board(replace(book(), rules=(nowhere,)))
    day = SUNDAYS[0]
    assert board.turn(SlotRef(day, "gone")) == (day, datetime(2026, 3, 8, 12, tzinfo=UTC))
    assert board.turn(SlotRef(day, "nowhere")) == (day, datetime(2026, 3, 8, 12, tzinfo=UTC))


def test_why_a_day_is_no_slot_is_said_from_the_day_before_the_first_and_after_the_last() -> None:
    rule = replace(book().rule("sunday"), first=SUNDAYS[1], last=SUNDAYS[2])
    assert [not_a_slot(rule, day) for day in SUNDAYS[:4]] == [
        "feature starts on 15 March 2026, after 8 March 2026",
        "",
        "",
        "feature ends on 22 March 2026, before 29 March 2026",
    ]
    assert not_a_slot(rule, SUNDAYS[1] + timedelta(2)) == "17 March 2026 is a Tuesday, and feature comes on Sundays"


def test_each_breach_is_said_with_its_number() -> None:
    windows = (Window(SUNDAYS[0], SUNDAYS[1], hard=True), Window(SUNDAYS[2], SUNDAYS[2], hard=True, yearly=True))
    found = book().put("episodes", replace(book().episode("s0"), windows=(*windows, Window(SUNDAYS[4], SUNDAYS[5]))))
    found = found.put("rules", SlotRule("friday", "Fridays", 4, time(9), "UTC"))
    loud = DarkRange("loud", SUNDAYS[0], SUNDAYS[3])
    found = found.put("dark", loud, DarkRange("quiet", SUNDAYS[2], SUNDAYS[2], no_publication=True))

    def said(rule: Rule, day: date = SUNDAYS[2], rule_id: str = "sunday", study: str = "s0", **more: object) -> str:
        members = (Member(Rule.GAP, "looks"),) if rule is Rule.GAP else ()
        return clause(found, replace(Breach(rule, members, study, SlotRef(day, rule_id)), **more))

    assert said(Rule.SLOT, SUNDAYS[0] + timedelta(1)) == "9 March 2026 is a Monday, and feature comes on Sundays"
    assert said(Rule.ALLOWED, rule_id="friday") == "Looks may not use Fridays"
    assert said(Rule.ALLOWED, rule_id="gone", study="piece:00") == "its series may not use gone"
    assert said(Rule.HELD, other="Talk") == "“Talk” holds that slot"
    assert said(Rule.TAKEN, other="s1") == "“Study 1” is planned there"
    assert said(Rule.TAKEN, other="piece:01") == "“Piece 1” is planned there"
    assert said(Rule.DARK) == "nothing is published 22 March 2026"
    assert said(Rule.WINDOW) == (
        "it must fall in 8 March 2026 to 15 March 2026 or 22 March to 22 March every year"  # the soft one aside
    )
    assert said(Rule.GAP, amount=0) == "it would be 0 weeks from the last published one, and 2 weeks is the least"
    assert said(Rule.GAP, amount=7, other="s1") == "it would be 1 week from “Study 1”, and 2 weeks is the least"
    assert said(Rule.GAP, amount=7, study="piece:00") == (
        "it would be 1 week from the last published one, and 2 weeks is the least"
    )
    assert said(Rule.GAP, amount=-1) == "it would come before the last published one"
    assert said(Rule.HOURS, amount=150) == "the work would be 2.5 h short"
    assert said(Rule.TODAY, amount=60) == "it would have to be ready already, and 1 h of work are left"
    with pytest.raises(ValueError, match="horizon"):
        said(Rule.HORIZON)


def test_hours_are_missing_only_beyond_what_there_is() -> None:
    assert [missing_hours(needed, 60) for needed in (0, 60, 61, 90)] == [0, 0, 1, 30]


def test_relaxed_hours_hold_any_work_and_a_relaxed_slot_is_free() -> None:
    found = book().put("rules", replace(book().rule("sunday"), standing_minutes=90))
    found = found.put("dark", DarkRange("d", SUNDAYS[0], SUNDAYS[0]))
    free = relaxed(found, Member(Rule.HOURS))
    assert (set(free.house.work_minutes), free.rule("sunday").standing_minutes, free.dark) == ({24 * 60}, 0, ())
    taken, _ = edits.add_filler(book(), "Talk", "sunday", SUNDAYS[0])
    taken = taken.put("publications", published(SUNDAYS[1], SUNDAYS[1]))
    for day in SUNDAYS[:2]:
        taken = relaxed(taken, Member(Rule.HELD, f"{day} sunday"))
    assert not {sunday(day) for day in SUNDAYS} & set(held(taken))


def test_relaxed_hours_open_no_range_without_publication() -> None:
    both = DarkRange("d", SUNDAYS[0], SUNDAYS[0], no_work=True, no_publication=True)
    free = relaxed(book().put("dark", both, DarkRange("away", SUNDAYS[1], SUNDAYS[1])), Member(Rule.HOURS))
    assert free.dark == (replace(both, no_work=False),)


def test_a_relaxed_gap_window_pair_and_rule_leave_all_else() -> None:
    windows = (Window(SUNDAYS[0], SUNDAYS[1], hard=True), Window(SUNDAYS[2], SUNDAYS[3]))
    found = book().put("episodes", replace(book().episode("s0"), windows=windows))
    found = pinned(found, Pin("p", PinKind.PAIR, pieces=("00", "01")), Pin("q", PinKind.ORDER, ("s0", "s1")))
    assert relaxed(found, Member(Rule.GAP, "looks")).series_of("looks").min_weeks == 0
    assert relaxed(found, Member(Rule.WINDOW, "s0")).episode("s0").windows == windows[1:]
    assert relaxed(found, Member(Rule.PAIR, "p")).pins == found.pins[1:]
    assert relaxed(found, Member(Rule.ORDER, "q")).pins == found.pins[:1]
    assert relaxed(found, Member(Rule.TODAY)) == found


def test_a_slot_is_freed_of_what_holds_it_and_of_nothing_else() -> None:
    """Of four talks only the open one of that slot goes; of the record only the lines planned for it or come on it."""
    at = sunday(SUNDAYS[0])
    talk = Episode("t", "Talk", EpisodeKind.FILLER, rule="sunday", slot=at)
    others = (
        replace(talk, id="later", slot=sunday(SUNDAYS[1])),
        replace(talk, id="out", published=True),
        replace(book().episode("s0"), slot=at),
    )
    line = published(SUNDAYS[0], SUNDAYS[1])
    lines = (
        replace(line, id="came", planned=None, actual=FuzzyDate.exact(SUNDAYS[0])),
        replace(line, id="missed", actual=None),
        replace(line, id="elsewhere", rule="friday"),
        replace(line, id="other", planned=SUNDAYS[2]),
        replace(line, id="other missed", planned=SUNDAYS[2], actual=None),
    )
    found = book().put("episodes", talk, *others).put("publications", line, *lines)
    free = relaxed(found, Member(Rule.HELD, f"{SUNDAYS[0]} sunday"))
    assert free.episodes == tuple(replace(e, slot=None) if e.id == "t" else e for e in found.episodes)
    freed = [before.id for before, now in zip(found.publications, free.publications, strict=True) if before != now]
    assert freed == ["p", "came", "missed"]
    assert all(
        now == replace(before, rule=now.rule) for before, now in zip(found.publications, free.publications, strict=True)
    )
    assert at not in held(free)


def test_nothing_is_published_in_a_range_without_publication_alone() -> None:
    dark = DarkRange("d", date(2026, 3, 8), date(2026, 3, 9), no_publication=True)
    found = book().put("dark", dark)
    assert [Board(found).is_silent(date(2026, 3, n)) for n in (7, 8, 9, 10)] == [False, True, True, False]
    assert not Board(book().put("dark", replace(dark, no_publication=False, no_work=True))).is_silent(date(2026, 3, 8))


def test_a_slot_is_held_by_named_filler_and_by_what_came_out_for_it_or_on_it() -> None:
    talk = Episode("t", "Talk", EpisodeKind.FILLER, rule="sunday", slot=sunday(SUNDAYS[2]))
    found = book().put("episodes", talk).put("publications", published(SUNDAYS[0], SUNDAYS[1]))
    assert held(found) == {
        sunday(SUNDAYS[0]): "Out",
        sunday(SUNDAYS[1]): "Out",
        sunday(SUNDAYS[2]): "Talk",
    }
    march = FuzzyDate("2026-03", date(2026, 3, 1), date(2026, 3, 31), "March 2026")
    for line, days in (
        (published(None, SUNDAYS[1]), {SUNDAYS[1]}),
        (published(SUNDAYS[0], None), {SUNDAYS[0]}),
        (published(SUNDAYS[0], march), {SUNDAYS[0]}),
        (published(None, march), set()),
    ):
        assert {ref.day for ref in held(book().put("publications", line))} == days


def test_no_slot_is_held_by_a_study_by_filler_without_a_slot_or_by_filler_that_is_out() -> None:
    planned = book().put("episodes", replace(book().episode("s0"), slot=sunday(SUNDAYS[0])))
    assert held(planned) == {}
    talk = Episode("t", "Talk", EpisodeKind.FILLER, rule="sunday")
    assert held(book().put("episodes", talk)) == {}
    out = replace(talk, slot=sunday(SUNDAYS[0]), published=True)
    assert held(book().put("episodes", out)) == {}
