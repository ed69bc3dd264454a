"""How far the bank reaches: coming slots in a row that finished episodes cover."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time, timedelta

from books import TODAY, small, sunday

from showrunner.domain.book import Book
from showrunner.domain.episode import Episode, EpisodeKind
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.publication import Publication
from showrunner.domain.slot import DarkRange, SlotRef, SlotRule
from showrunner.planning.bank import bank_cover
from showrunner.planning.results import BankCover

FIRST = date(2026, 3, 8)
"""The first Sunday from Monday 2 March on."""
DAYS = [FIRST + timedelta(weeks=n) for n in range(10)]


def book(**changes: dict[str, object]) -> Book:
    """Three studies of the Sunday slot, changed by id."""
    found = small(3)
    studies = [replace(e, **changes.get(e.id, {})) for e in found.episodes]
    return found.put("episodes", *studies)


def ready(day: date) -> dict[str, object]:
    return {"slot": sunday(day), "finished": True}


def filler(id: str, rule: str = "sunday", slot: SlotRef | None = None, finished: bool = True) -> Episode:
    return Episode(id, id, EpisodeKind.FILLER, rule=rule, slot=slot, finished=finished)


def cover(found: Book, today: date = TODAY, weeks: int = 5) -> tuple[int, date | None]:
    """Weeks covered and the first gap of the Sunday slot."""
    (sundays,) = (bank for bank in bank_cover(found, today, weeks) if bank.rule == "sunday")
    return sundays.weeks, sundays.next_gap


def test_finished_episodes_cover_the_slots_they_are_planned_for() -> None:
    assert cover(book()) == (0, DAYS[0])
    assert cover(book(s0=ready(DAYS[0]))) == (1, DAYS[1])
    assert cover(book(s0=ready(DAYS[0]), s1=ready(DAYS[1]))) == (2, DAYS[2])


def test_they_count_in_a_row_from_the_next_slot_on() -> None:
    assert cover(book(s0=ready(DAYS[0]), s1=ready(DAYS[2]))) == (1, DAYS[1])
    assert cover(book(s1=ready(DAYS[1]))) == (0, DAYS[0])


def test_what_is_only_planned_covers_nothing() -> None:
    assert cover(book(s0={"slot": sunday(DAYS[0])})) == (0, DAYS[0])
    assert cover(book(s0=ready(DAYS[0]), s1={"slot": sunday(DAYS[1])})) == (1, DAYS[1])


def test_what_is_published_is_in_the_bank_no_more() -> None:
    assert cover(book(s0={**ready(DAYS[0]), "published": True})) == (0, DAYS[0])


def test_finished_filler_of_the_rule_covers_the_first_gaps_once_each() -> None:
    two = book(s0=ready(DAYS[1])).put("episodes", filler("a"), filler("b"))
    assert cover(two) == (3, DAYS[3])
    assert cover(book().put("episodes", filler("a", finished=False))) == (0, DAYS[0])
    assert cover(book().put("episodes", filler("a", rule="wed"))) == (0, DAYS[0])
    placed = book().put("episodes", filler("a", slot=sunday(DAYS[1])))
    assert cover(placed) == (0, DAYS[0])


def test_a_slot_without_publication_or_out_already_needs_no_cover() -> None:
    found = book(s0=ready(DAYS[1]))
    dark = found.put("dark", DarkRange("d", DAYS[0], DAYS[0], no_publication=True))
    assert cover(dark) == (1, DAYS[2])
    assert cover(found.put("dark", DarkRange("d", DAYS[0], DAYS[0], no_work=True))) == (0, DAYS[0])
    out = found.put("publications", Publication("p", "x", "sunday", DAYS[0], FuzzyDate.exact(TODAY)))
    assert cover(out) == (1, DAYS[2])
    other = found.put("publications", Publication("p", "x", "wed", DAYS[0], FuzzyDate.exact(TODAY)))
    assert cover(other) == (0, DAYS[0])


def test_from_today_through_the_last_day_looked_at() -> None:
    assert cover(book(s0=ready(DAYS[0])), today=DAYS[0]) == (1, DAYS[1])
    assert cover(book(s0=ready(DAYS[0])), today=DAYS[0] + timedelta(1)) == (0, DAYS[1])
    full = book(s0=ready(DAYS[0]), s1=ready(DAYS[1]), s2=ready(DAYS[2]))
    assert cover(full, weeks=3) == (3, None)
    assert cover(full, today=DAYS[0], weeks=3) == (3, DAYS[3])


def test_every_rule_has_its_own_bank() -> None:
    wednesday = SlotRule("wed", "diary", 2, time(18), "Europe/Dublin")
    found = book(s0=ready(DAYS[0])).put("rules", wednesday).put("episodes", filler("a", rule="wed"))
    assert bank_cover(found, TODAY, 5) == (
        BankCover("sunday", "feature", 1, DAYS[1]),
        BankCover("wed", "diary", 1, date(2026, 3, 11)),
    )
