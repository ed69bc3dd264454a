"""What is computed from a book is computed once, until the book or the day changes."""

import sys
from datetime import date
from types import ModuleType

import pytest
from workroom_books import noon, small_book

from showrunner.domain import edits
from showrunner.domain.house import Unsure
from showrunner.domain.piece import Known
from showrunner.planning.aims import Aim
from showrunner.session import FORECAST_SECONDS, KEPT_RESULTS, PROCESSOR, Session


@pytest.fixture
def calls(monkeypatch):
    """Stands in for the planning functions and lists their calls."""
    seen = []

    def listen(module, function):
        def answer(book, today, **options):
            seen.append((function, book, today, options))
            return object()

        stand_in = ModuleType(module)
        setattr(stand_in, function, answer)
        monkeypatch.setitem(sys.modules, f"showrunner.planning.{module}", stand_in)

    listen("plan", "make_plan")
    listen("workback", "work_back")
    listen("runout", "run_out")
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
