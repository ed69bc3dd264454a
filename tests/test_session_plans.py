"""Plans through an open book: applied as one step, dropped without a byte changed, and the present dates proven."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from workroom_books import noon, small_book

from showrunner.domain.house import Unsure
from showrunner.errors import BadInput
from showrunner.session import Session


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "book.json"
    Session.create(path, small_book(), now=noon).close()
    return path


@pytest.mark.slow
def test_a_plan_is_applied_as_one_step_and_dropping_it_leaves_the_bytes(path: Path) -> None:
    with Session.open(path, now=noon) as session:
        before = path.read_bytes()
        plan = session.plan(unsure=Unsure.UNSHOWN)
        session.runout()
        session.work()
        session.present()
        assert path.read_bytes() == before
        session.apply_plan(plan)
        assert all(study.slot for study in session.book.open_studies)
        assert session.book.study_of_piece("7") is not None
        session.undo()
        assert session.book == small_book()


@pytest.mark.slow
def test_a_plan_of_another_day_is_refused(path: Path) -> None:
    with Session.open(path, now=noon) as session:
        plan = session.plan()
        with pytest.raises(BadInput, match="plan again"):
            session.apply_plan(replace(plan, today=date(2026, 3, 9)))


@pytest.mark.slow
def test_the_present_dates_carry_their_proof(path: Path) -> None:
    with Session.open(path, now=noon) as session:
        session.apply_plan(session.plan())
        placed = {item.id: item.slot for item in session.plan().studies}
        assert {item.id: item.slot for item in session.present()} == placed
        assert all(item.reason for item in session.present())
