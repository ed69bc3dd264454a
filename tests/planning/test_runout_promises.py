"""The run-out where promises contradict each other, where two pieces are promised together, and where time runs out."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from itertools import count, product
from pathlib import Path
from typing import Any

import pytest
from books import TODAY, demo, small, sunday

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.episode import Pin, PinKind, Window
from showrunner.domain.piece import Known
from showrunner.planning.plan import make_plan
from showrunner.planning.results import RunOut
from showrunner.planning.runout import run_out

DATE, ORDER = PinKind.DATE, PinKind.ORDER


def without(book: Book, study: str) -> Book:
    """The book as if a study had never been: its promises go with it."""
    pins = tuple(pin for pin in book.pins if study not in pin.episodes)
    return replace(book, pins=pins, episodes=tuple(e for e in book.episodes if e.id != study))


def tossed(book: Book) -> Iterator[tuple[float, Book]]:
    """Every way in which the doubts may turn out, with its chance; a study with nothing left to show is gone."""
    unsure = [piece for piece in book.pieces if piece.shown.known is Known.UNSURE]
    for toss in product((Known.NO, Known.YES), repeat=len(unsure)):
        chance, settled = 1.0, book
        for piece, known in zip(unsure, toss, strict=True):
            odds = float(piece.shown.chance_unshown)
            chance *= odds if known is Known.NO else 1 - odds
            settled = edits.mark_shown(settled, piece.id, known)
        for study in book.open_studies:
            if not any(settled.piece(piece).shown.known is Known.NO for piece in study.pieces):
                settled = without(settled, study.id)
        yield chance, settled


def ends(book: Book, weeks: int = 40) -> dict[date, float]:
    """The distribution of the end if nothing slips: the last date of the plan of every way the doubts may turn out."""
    found: dict[date, float] = {}
    for chance, settled in tossed(book):
        plan = make_plan(settled, TODAY, horizon_weeks=weeks)
        assert not plan.unplaced
        day = max((study.slot.day for study in plan.studies), default=TODAY)
        found[day] = found.get(day, 0.0) + chance
    return found


def forecast(book: Book, weeks: int = 40) -> RunOut:
    return run_out(book, TODAY, slip_rate=0.0, horizon_weeks=weeks)


def codes(found: RunOut) -> list[str]:
    return [warning.code for warning in found.warnings]


def pinned(book: Book, *pins: Pin) -> Book:
    """The book with promises that no edit would let in."""
    return replace(book, pins=pins)


def one_slot_twice(book: Book, first: str, second: str) -> Book:
    slot = sunday(date(2026, 4, 5))
    return pinned(book, Pin("p1", DATE, (first,), slot), Pin("p2", DATE, (second,), slot))


def circle(book: Book, *studies: str) -> Book:
    pairs = zip(studies, (*studies[1:], studies[0]), strict=True)
    return pinned(book, *(Pin(f"p{n}", ORDER, pair) for n, pair in enumerate(pairs)))


def perhaps(book: Book, piece: str, window: Window | None = None) -> Book:
    """The book with a study of an unsure piece, of id `perhaps`."""
    book, study = edits.make_study(book, (piece,), title="Perhaps")
    fresh = replace(study, id="perhaps", windows=(window,) if window else ())
    return replace(book, episodes=tuple(fresh if e.id == study.id else e for e in book.episodes))


def test_two_dates_on_one_slot_are_told_and_one_of_them_is_kept() -> None:
    book = one_slot_twice(small(3, unsure=2), "s0", "s1")
    found = forecast(book)
    assert codes(found).count("contradiction") == 1
    assert "Study 0" in found.warnings[0].text and "Study 1" in found.warnings[0].text
    assert dict(found.end) == pytest.approx(ends(book))
    # Spacing apart, a promise of 5 April pushes the last of three studies three weeks past those without promises.
    assert dict(found.end) != pytest.approx(ends(pinned(book)))


def test_a_study_promised_two_dates_is_forecast_from_the_better_one() -> None:
    slots = [sunday(date(2026, 8, 2)), sunday(date(2026, 3, 15))]
    book = small(2, unsure=1)
    for first, second in ((0, 1), (1, 0)):
        torn = pinned(book, Pin("p1", DATE, ("s0",), slots[first]), Pin("p2", DATE, ("s0",), slots[second]))
        found = forecast(torn)
        assert "contradiction" in codes(found)
        assert dict(found.end) == pytest.approx(ends(torn))
        assert max(day for day, _ in found.end) < date(2026, 8, 2)


def test_a_circle_of_orders_is_told_and_all_but_one_are_kept() -> None:
    book = circle(small(3, unsure=1), "s0", "s1", "s2")
    early = Window(date(2026, 3, 2), date(2026, 3, 22))
    book = replace(book, episodes=(book.episodes[0], book.episodes[1], replace(book.episodes[2], windows=(early,))))
    found = forecast(book)
    assert codes(found).count("contradiction") == 1
    assert dict(found.end) == pytest.approx(ends(book))


def test_a_circle_that_a_doubt_may_break_binds_where_it_is_whole() -> None:
    """Where the study in doubt is gone, so is the circle, and the one order that is left is kept.

    The first study may not come before 31 May. If the circle is whole, it is cheapest to come last after all.
    """
    book = perhaps(small(2, unsure=1), "u0")
    late = Window(date(2026, 5, 31), date(2026, 6, 14), hard=True)
    book = circle(book.put("episodes", replace(book.episode("s0"), windows=(late,))), "s0", "s1", "perhaps")
    found = forecast(book)
    assert "contradiction" in codes(found)
    assert dict(found.end) == pytest.approx(ends(book))
    # Alone, the other study comes after the first: the target of three weeks later.
    assert dict(found.end) == pytest.approx({date(2026, 5, 31): 0.5, date(2026, 6, 21): 0.5})


@pytest.mark.slow
@pytest.mark.parametrize("kind", [DATE, ORDER])
def test_the_commands_tell_the_contradiction_and_go_on(said: Any, tmp_path: Path, kind: PinKind) -> None:
    book = tmp_path / "book.json"
    data = json.loads((Path(__file__).parents[2] / "demo" / "book.json").read_text())
    pairs = (("apron", "waistcoats"), ("waistcoats", "apron"))
    slot = {"day": "2026-04-05", "rule": "sunday"}
    data["pins"] = {
        str(n): {"id": f"p{n}", "kind": kind.value, "episodes": [pair[0]], "slot": slot}
        if kind is DATE
        else {"id": f"p{n}", "kind": kind.value, "episodes": list(pair)}
        for n, pair in enumerate(pairs, 1)
    }
    book.write_text(json.dumps(data))
    code, out, err = said("--book", book, "--today", "2026-03-02", "runout", "--json")
    assert (code, err) == (0, "")
    assert [warning["code"] for warning in json.loads(out)["warnings"]].count("contradiction") == 1
    for command in ("runout", "report"):
        code, out, err = said("--book", book, "--today", "2026-03-02", command)
        assert (code, err) == (0, "")
        sentence = "are both promised" if kind is DATE else "cannot all be kept"
        assert sentence in " ".join(out.split())


def test_two_doubts_promised_together_are_one_study_unless_both_were_shown() -> None:
    book = small(2, unsure=3)
    for piece, odds in (("u0", 20), ("u2", 70)):
        book = edits.mark_shown(book, piece, Known.UNSURE, odds=odds)
    book, _ = edits.pin_pair(book, "u0", "u2")
    found = forecast(book)
    assert found.studies_left == (2, 4)
    assert found.pieces_left == (2, 5)
    # s0, s1; the pair unless both were shown: 1 - 0.8 x 0.3 = 0.76; u1 at even odds.
    assert [chance for _, chance in found.end] == pytest.approx([0.24 / 2, 0.5, 0.76 / 2])
    assert dict(found.end) == pytest.approx(ends(book))
    settled = {doubt.piece: (doubt.if_shown.studies_left, doubt.if_unshown.studies_left) for doubt in found.doubts}
    assert settled == {"u0": ((2, 4), (3, 4)), "u1": ((2, 3), (3, 4)), "u2": ((2, 4), (3, 4))}


@pytest.mark.parametrize("sure", [Known.YES, Known.NO])
def test_a_doubt_promised_together_with_a_settled_piece(sure: Known) -> None:
    book, _ = edits.pin_pair(small(1, unsure=2), "u0", "u1")
    book = edits.mark_shown(book, "u0", sure)
    found = forecast(book)
    assert found.studies_left == ((1, 2) if sure is Known.YES else (2, 2))
    assert dict(found.end) == pytest.approx(ends(book))


@pytest.mark.slow
def test_a_pair_of_doubts_among_lone_ones_is_the_story_of_every_toss() -> None:
    book = small(1, unsure=5, gaps=(1, 2, 4))
    for number, odds in enumerate((10, 35, 50, 80, 95)):
        book = edits.mark_shown(book, f"u{number}", Known.UNSURE, odds=odds)
    book, _ = edits.pin_pair(book, "u1", "u3")
    assert dict(forecast(book).end) == pytest.approx(ends(book))


def test_a_forecast_that_is_out_of_time_says_so_and_still_comes() -> None:
    """A clock on which every look takes a second gives no plan the time to be proven."""
    for book in (demo(), small(3, unsure=4), one_slot_twice(small(3, unsure=2), "s0", "s1")):
        ticks = count()
        found = run_out(book, TODAY, time_limit=2.0, ticker=lambda ticks=ticks: float(next(ticks)))
        assert codes(found).count("time-limit") == 1
        assert sum(chance for _, chance in found.end) + found.beyond == pytest.approx(1)
        assert "time-limit" not in codes(run_out(book, TODAY))
