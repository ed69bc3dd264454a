"""A weekly slot that changes from a day on, is left out once, or comes once more."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time, timedelta

import pytest

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.episode import Episode, Pin, PinKind, Series, StageMinutes
from showrunner.domain.house import HouseRules
from showrunner.domain.slot import SlotRef, SlotRule
from showrunner.errors import BadInput, Contradiction
from showrunner.planning.slots import expand

SUNDAY = date(2026, 3, 1)
CHANGE = date(2026, 3, 23)
"""A Monday."""


def book(*pins: Pin) -> Book:
    rule = SlotRule("talk", "talk", 6, time(9), "Europe/London", 240)
    found = Book("k", HouseRules("Europe/London"), rules=(rule,))
    found = edits.add_filler(found, "first", "talk", SUNDAY + timedelta(weeks=1))[0]
    found = edits.add_filler(found, "second", "talk", SUNDAY + timedelta(weeks=4))[0]
    return replace(found, pins=pins)


def days(found: Book, last: date = date(2026, 4, 12)) -> list[date]:
    return [slot.day for slot in expand(found.rules, SUNDAY, last)]


def on_saturdays(found: Book, since: date = CHANGE) -> Book:
    rule = replace(found.rule("talk"), weekday=5, at=time(18), standing_minutes=120)
    return edits.change_rule_from(found, rule, since)


def test_what_was_stays_and_what_is_planned_moves_along() -> None:
    changed = on_saturdays(book())
    assert days(changed) == [
        *(SUNDAY + timedelta(weeks=n) for n in range(4)),
        *(date(2026, 3, 28) + timedelta(weeks=n) for n in range(3)),
    ]
    slots = {episode.title: episode.slot for episode in changed.episodes}
    assert slots == {
        "first": SlotRef(SUNDAY + timedelta(weeks=1), "talk"),
        "second": SlotRef(date(2026, 3, 28), "talk"),
    }
    rule = changed.rule("talk")
    assert (rule.on(CHANGE - timedelta(1)).standing_minutes, rule.on(CHANGE).standing_minutes) == (240, 120)
    starts = {slot.day: slot.start.hour for slot in expand(changed.rules, SUNDAY, date(2026, 4, 12))}
    assert starts[SUNDAY] == 9
    assert starts[date(2026, 3, 28)] == 18
    assert starts[date(2026, 4, 4)] == 17  # British Summer Time from 29 March


def test_it_may_change_again_but_only_later() -> None:
    changed = on_saturdays(book())
    back = edits.change_rule_from(changed, replace(changed.rule("talk"), weekday=6), CHANGE + timedelta(weeks=2))
    assert days(back)[-1] == date(2026, 4, 12)
    with pytest.raises(BadInput, match="changed on 23 March 2026 already"):
        on_saturdays(changed, CHANGE - timedelta(1))
    with pytest.raises(BadInput, match="changed on 6 April 2026 already"):
        on_saturdays(back, CHANGE + timedelta(weeks=1))


def test_it_is_left_out_once_and_comes_once_more() -> None:
    sunday, extra = SUNDAY + timedelta(weeks=2), SUNDAY + timedelta(17)
    once = edits.leave_out(book(), SlotRef(sunday, "talk"))
    assert sunday not in days(once)
    assert edits.add_slot(once, SlotRef(sunday, "talk")) == book()
    more = edits.add_slot(once, SlotRef(extra, "talk"))
    assert extra in days(more)
    assert edits.leave_out(more, SlotRef(extra, "talk")) == once
    with pytest.raises(BadInput, match="comes on 18 March 2026 already"):
        edits.add_slot(more, SlotRef(extra, "talk"))
    with pytest.raises(BadInput, match="is not one of its days"):
        edits.leave_out(book(), SlotRef(extra, "talk"))
    with pytest.raises(BadInput, match="left out on 8 March 2026"):
        edits.leave_out(book(), SlotRef(SUNDAY + timedelta(weeks=1), "talk"))


def test_a_promised_date_is_not_moved() -> None:
    found = book()
    series = Series("hour", "The Hour", "c", ("talk",), 1, 4, 9, StageMinutes())
    day = SUNDAY + timedelta(weeks=5)
    study = Episode("a", "Apron", series="hour", pieces=("1",), slot=SlotRef(day, "talk"))
    found = replace(found, series=(series,), episodes=(*found.episodes, study))
    found = replace(found, pins=(Pin("p", PinKind.DATE, ("a",), SlotRef(day, "talk")),))
    with pytest.raises(Contradiction, match="is promised 5 April 2026"):
        on_saturdays(found)
