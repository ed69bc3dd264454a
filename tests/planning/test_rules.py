"""The hard rules, each by itself: when it is kept, who takes part, and what would relax it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time, timedelta

from books import small, sunday

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.episode import Episode, EpisodeKind, Pin, PinKind, Window
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.publication import Publication
from showrunner.domain.rules import Board, Breach, Member, Rule, clause, missing_hours, relaxed, terms_of
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
    (monday,) = alone(found, SUNDAYS[1] + timedelta(1))
    assert (monday.rule, monday.members) == (Rule.SLOT, ())  # no first or last day to relax
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


def test_the_earlier_day_comes_first_though_its_instant_is_later() -> None:
    """At 20:00 on a Saturday in New York it is Sunday afternoon in Auckland."""
    behind = SlotRule("behind", "behind", 5, time(20), "America/New_York")
    ahead = SlotRule("ahead", "ahead", 6, time(9), "Pacific/Auckland")
    board = Board(replace(book(), rules=(behind, ahead)))
    saturday, sunday_ = SlotRef(SUNDAYS[0] - timedelta(1), "behind"), SlotRef(SUNDAYS[0], "ahead")
    assert board.turn(saturday)[1] > board.turn(sunday_)[1]
    assert board.turn(saturday) < board.turn(sunday_)


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
