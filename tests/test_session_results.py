"""What is computed from a book is computed once, until the book or the day changes."""

import sys
from dataclasses import replace
from datetime import date
from types import ModuleType, SimpleNamespace

import pytest
from workroom_books import noon, small_book

from showrunner.domain import edits
from showrunner.domain.collection import Box, CollectionKind
from showrunner.domain.house import Unsure
from showrunner.domain.piece import Known
from showrunner.domain.slot import SlotRef
from showrunner.errors import BadInput, UnknownThing
from showrunner.planning.aims import Aim
from showrunner.session import FORECAST_SECONDS, KEPT_RESULTS, LOOK_BACK_SECONDS, PROCESSOR, Session


@pytest.fixture
def calls(monkeypatch):
    """Stands in for the planning functions and lists their calls."""
    seen = []

    def listen(module, *functions):
        def listener(function):
            def answer(*given, **options):
                seen.append((function, *given, options))
                return object()

            return answer

        stand_in = ModuleType(module)
        for function in functions:
            setattr(stand_in, function, listener(function))
        monkeypatch.setitem(sys.modules, f"showrunner.planning.{module}", stand_in)

    listen("plan", "make_plan")
    listen("workback", "work_back")
    listen("runout", "run_out")
    listen("present", "present_dates", "standing_plan")
    listen("choices", "choices")
    listen("moving", "places", "breach_of")
    listen("slot_record", "slot_record")
    listen("money", "purse")
    listen("space", "space")
    listen("lasting", "lasting")
    listen("shoot_plan", "plan_shoot")
    listen("left_then", "left_then")
    listen("package", "prepare")
    listen("handover", "hand_over")
    return seen


@pytest.fixture
def session(tmp_path):
    with Session.create(tmp_path / "book.json", small_book(), now=noon) as session:
        yield session


def test_results_are_kept_until_the_book_changes(session, calls):
    first = session.plan()
    assert session.plan() is first
    assert session.plan(aim=Aim.FEWEST) is not first
    session.do("mark", lambda book: edits.mark_shown(book, "1", Known.YES))
    assert session.plan() is not first
    assert len(calls) == 3
    assert [call[1] for call in calls] == [small_book(), small_book(), session.book]


def test_every_function_gets_its_arguments(session, calls):
    session.plan(horizon_weeks=20, unsure=Unsure.SHOWN, aim=Aim.FEWEST, time_limit=2.0)
    session.work(horizon_weeks=9)
    session.runout(series="hour", slip_rate=0.1)
    today = date(2026, 3, 2)
    assert calls == [
        (
            "make_plan",
            small_book(),
            today,
            {
                "horizon_weeks": 20,
                "unsure": Unsure.SHOWN,
                "aim": Aim.FEWEST,
                "priced": True,
                "advised": True,
                "time_limit": 2.0,
                "ticker": PROCESSOR,
            },
        ),
        ("work_back", small_book(), today, {"horizon_weeks": 9}),
        (
            "run_out",
            small_book(),
            today,
            {
                "series": "hour",
                "slip_rate": 0.1,
                "horizon_weeks": 78,
                "time_limit": FORECAST_SECONDS,
                "ticker": PROCESSOR,
            },
        ),
    ]


def test_what_is_asked_for_plainly_looks_78_weeks_ahead_and_leaves_the_unsure_out(session, calls):
    session.plan()
    session.standing()
    session.work()
    session.runout()
    session.choices()
    session.present()
    everything = {"horizon_weeks": 78, "time_limit": None, "ticker": PROCESSOR}
    explained = {"priced": True, "advised": True}
    forecast = {"series": None, "slip_rate": None, "horizon_weeks": 78, "time_limit": FORECAST_SECONDS}
    given = (small_book(), date(2026, 3, 2))
    assert calls == [
        ("make_plan", *given, {**everything, **explained, "unsure": Unsure.LEFT_OUT, "aim": Aim.BEST}),
        ("standing_plan", *given, {**everything, "priced": False}),
        ("work_back", *given, {"horizon_weeks": 78}),
        ("run_out", *given, {**forecast, "ticker": PROCESSOR}),
        ("choices", *given, {"unsure": Unsure.LEFT_OUT, "time_limit": None, "ticker": PROCESSOR}),
        ("present_dates", *given, {"ticker": PROCESSOR}),
    ]


def test_what_is_asked_about_a_copy_or_a_study_is_computed_for_it(session, calls):
    copy = edits.mark_shown(session.book, "1", Known.YES)
    study, today, slot = copy.episode("apron"), date(2026, 3, 2), SlotRef(date(2026, 3, 22), "sun")
    found = [
        session.standing(priced=True, book=copy),
        session.choices(unsure=Unsure.SHOWN, time_limit=2.0, book=copy),
        session.places("apron"),
        session.against("apron", slot, copy),
        session.work(book=copy),
        session.plan(book=copy),
    ]
    standing = {"horizon_weeks": 78, "priced": True, "time_limit": None, "ticker": PROCESSOR}
    assert calls[:4] == [
        ("standing_plan", copy, today, standing),
        ("choices", copy, today, {"unsure": Unsure.SHOWN, "time_limit": 2.0, "ticker": PROCESSOR}),
        ("places", session.book, study, today, {}),
        ("breach_of", copy, study, slot, today, {}),
    ]
    assert calls[4][1] is calls[5][1] is copy
    assert session.standing(priced=True, book=copy) is found[0]
    assert session.standing(book=copy) is not found[0]
    assert session.choices(unsure=Unsure.SHOWN, time_limit=2.0, book=copy) is found[1]
    assert session.places("apron") is found[2]
    assert session.places("jacket") is not found[2]
    assert session.against("apron", slot, copy) is found[3]
    assert session.against("apron", slot, session.book) is not found[3]


def test_a_what_if_is_computed_from_a_changed_copy(session, calls):
    copy = edits.mark_shown(session.book, "1", Known.YES)
    mine = session.runout()
    other = session.runout(book=copy)
    assert other is not mine
    assert session.runout(book=copy) is other
    assert session.runout() is mine
    assert calls[1][1] is copy
    assert session.book == small_book()


def test_only_so_many_results_are_kept(session, calls):
    for weeks in range(KEPT_RESULTS + 1):
        session.work(horizon_weeks=weeks)
    session.work(horizon_weeks=KEPT_RESULTS)
    assert len(calls) == KEPT_RESULTS + 1
    session.work(horizon_weeks=0)
    assert len(calls) == KEPT_RESULTS + 2


def test_results_are_looked_up_and_kept_under_a_lock_and_worked_out_without(session, monkeypatch):
    """Plans are worked out in threads beside the screen, and one must not change the results while another looks."""

    def _held(name):
        def method(self, *arguments):
            assert session._sharing.locked(), name
            return getattr(dict, name)(self, *arguments)

        return method

    class Guarded(dict):
        __contains__, __getitem__, __setitem__ = _held("__contains__"), _held("__getitem__"), _held("__setitem__")
        __iter__, __len__, pop = _held("__iter__"), _held("__len__"), _held("pop")

    monkeypatch.setattr(session, "_results", Guarded())

    def compute():
        assert not session._sharing.locked()
        return object()

    first = session._kept((), ("first",), compute)
    assert session._kept((), ("first",), compute) is first
    for number in range(KEPT_RESULTS):
        session._kept((), (number,), compute)
    assert session._kept((), ("first",), compute) is not first


TODAY = date(2026, 3, 2)


def test_the_record_money_and_space_are_computed_once_from_the_book(session, calls):
    found = [session.slot_record(), session.purse("blocks"), session.space()]
    assert found == [session.slot_record(), session.purse("blocks"), session.space()]
    assert None not in found
    assert calls == [
        ("slot_record", small_book(), TODAY, {}),
        ("purse", small_book(), small_book().collection("blocks"), {}),
        ("space", small_book(), TODAY, {}),
    ]
    assert session.purse("dress") is not found[1]
    with pytest.raises(UnknownThing):
        session.purse("hats")


def test_how_a_series_lasts_is_computed_for_its_day_rate_and_copy(session, calls):
    copy, until = edits.mark_shown(session.book, "1", Known.YES), date(2027, 1, 1)
    found = session.lasting("hour", until, slip_rate=0.1, book=copy)
    assert session.lasting("hour", until, slip_rate=0.1, book=copy) is found
    assert session.lasting("hour", until) is not found
    options = {"time_limit": FORECAST_SECONDS, "ticker": PROCESSOR}
    assert calls == [
        ("lasting", copy, TODAY, "hour", until, {"slip_rate": 0.1, **options}),
        ("lasting", small_book(), TODAY, "hour", until, {"slip_rate": None, **options}),
    ]


def test_a_shoot_is_planned_again_only_for_what_it_rests_on(session, calls):
    found = session.shoot_plan(("apron",), lux=50, seconds=60, shoot="shoot-1")
    session.do("note a box", lambda book: book.put("boxes", Box("B")))
    assert session.shoot_plan(["apron"], lux=50, seconds=60, shoot="shoot-1") is found
    session.do("mark", lambda book: edits.mark_shown(book, "1", Known.YES))
    assert session.shoot_plan(("apron",), lux=50, seconds=60, shoot="shoot-1") is not found
    first = ("plan_shoot", small_book(), ("apron",), TODAY, {"lux": 50, "seconds": 60, "shoot": "shoot-1"})
    assert (calls[0], len(calls)) == (first, 2)


def test_a_package_says_how_many_are_then_left(session, calls, monkeypatch):
    session.package("apron")
    options = {"time_limit": FORECAST_SECONDS, "ticker": PROCESSOR}
    book = small_book()
    assert calls[0] == ("left_then", book, book.episode("apron"), TODAY, options)
    assert calls[1][:4] == ("prepare", book, "apron", TODAY)

    def refuses(*_, **__):
        raise BadInput("no series")

    monkeypatch.setattr(sys.modules["showrunner.planning.left_then"], "left_then", refuses)
    session.package("jacket")
    assert calls[-1] == ("prepare", book, "jacket", TODAY, "", {})


@pytest.fixture
def two_kinds(session):
    """The blocks are shopped for, and the series on them stands first in the book."""

    def change(book):
        book = book.put("collections", replace(book.collection("blocks"), kind=CollectionKind.SHOPPING))
        return replace(book, series=book.series[::-1])

    session.do("shop", change)
    return session


def test_what_takes_over_stands_beside_the_plan_and_the_end_of_the_series_before(two_kinds, calls, monkeypatch):
    dated = SimpleNamespace(collection=lambda name: f"collection {name}")
    monkeypatch.setattr("showrunner.session.dated_by", lambda book, plan: dated if plan == "plan" else None)
    given = []
    monkeypatch.setattr(two_kinds, "standing", lambda **asked: given.append(asked) or "plan")
    book = two_kinds.book
    found = two_kinds.handover("blocks", silence_weeks=4, time_limit=3.0, slip_rate=0.2)
    assert two_kinds.handover("blocks", silence_weeks=4, time_limit=3.0, slip_rate=0.2) is found
    runout, over = calls
    assert runout[:3] == ("run_out", book, TODAY)
    assert (runout[3]["series"], runout[3]["slip_rate"]) == ("hour", 0.2)
    assert over[:4] == ("hand_over", dated, TODAY, "collection blocks")
    assert (over[4]["silence_weeks"], over[4]["before"] is not None) == (4, True)
    assert given == [{"time_limit": 3.0, "book": None}]


def test_what_takes_over_in_a_copy_without_a_series_that_ends(two_kinds, calls, monkeypatch):
    def refuses(book, plan):
        raise BadInput("it breaks a rule")

    monkeypatch.setattr("showrunner.session.dated_by", refuses)
    copy = two_kinds.book.drop("episodes", *(e.id for e in two_kinds.book.episodes)).drop("series", "hour")
    two_kinds.handover("blocks", book=copy)
    assert [call[0] for call in calls] == ["standing_plan", "hand_over"]
    assert calls[0][1] is copy
    assert calls[0][3]["time_limit"] == FORECAST_SECONDS
    assert calls[1][1] is copy
    assert calls[1][4] == {"before": None, "silence_weeks": None}


def test_a_backtest_looks_as_far_ahead_as_the_end_is_now(session, monkeypatch):
    from showrunner.planning import backtest

    looked = []

    def listen(book, today, series, basis, ahead, **limits):
        looked.append((series, basis, ahead))
        assert (book, today) == (session.book, TODAY)
        assert limits == {"time_limit": LOOK_BACK_SECONDS, "ticker": PROCESSOR}
        return basis

    monkeypatch.setattr(backtest, "backtest", listen)

    def forecast(low, high):
        return SimpleNamespace(series="hour", studies_left=(low, high))

    both = (backtest.Basis.DATES, backtest.Basis.SPACING)
    assert session.backtests(forecast(3, 6)) == both
    assert session.backtests(forecast(4, 4)) == both  # kept: 4 ahead too
    assert session.backtests(forecast(0, 0)) == both
    session.do("mark", lambda book: edits.mark_shown(book, "1", Known.YES))
    session.backtests(forecast(4, 4))
    assert looked == [("hour", basis, ahead) for ahead in (4, 1) for basis in both]
    session.do("retitle", lambda book: book.put("episodes", replace(book.episode("apron"), title="Other")))
    session.backtests(forecast(4, 4))
    assert len(looked) == 6
