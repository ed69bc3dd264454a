"""Random actions with closings and kills between: undo as far as it goes and redo, and the export is the same."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from contextlib import suppress
from datetime import date, timedelta
from functools import partial
from pathlib import Path
from random import Random

import pytest
from effort import LONG
from life.random_books import TODAY
from life.test_lived_books import DEEDS, brought_in

from faults.nursery import Nursery
from showrunner.domain import edits
from showrunner.domain.piece import Known
from showrunner.errors import ShowrunnerError
from showrunner.session import Session
from showrunner.storage.exchange import to_exchange
from showrunner.storage.journal import MOST_STEPS

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="processes cannot be copied here")


@pytest.fixture
def nursery(tmp_path: Path) -> Iterator[Nursery]:
    with Nursery(tmp_path, "faults.test_history") as nursery:
        yield nursery


def mark(rng: Random, session: Session) -> None:
    """Mark a piece; the action that there can always be one of."""
    piece = rng.choice(session.book.pieces)
    known = rng.choice((Known.YES, Known.NO, Known.UNSURE))
    session.do("mark", partial(edits.mark_shown, piece=piece.id, known=known, evidence=f"{rng.random():.3f}"))


ACTIONS = (*(deed for deed in DEEDS if deed.__name__ != "undo"), *[mark] * 8)


def act(path: str, seed: str, today: str) -> int:
    """Do one of the actions, which the seed chooses, in a process of its own."""
    with Session.open(path, today=date.fromisoformat(today)) as session, suppress(ShowrunnerError):
        rng = Random(seed)
        rng.choice(ACTIONS)(rng, session)
    return 0


def killed_now_and_then(nursery: Nursery, path: Path, rng: Random, actions: int) -> tuple[list[bytes], int]:
    """Do actions, in one window or another, closing it between or killing it; the exports there were, and the kills."""
    exports: list[bytes] = []
    kills = 0
    for number in range(actions):
        today = TODAY + timedelta(number // 10)
        seed = f"history-{rng.random()}"
        if rng.random() < 0.15:
            child = nursery.begin("faults.test_history:act", str(path), seed, today.isoformat())
            time.sleep(rng.random() * 0.15)
            child.kill()
            kills += child.ended() == -9
        else:
            act(str(path), seed, today.isoformat())
        with Session.open(path, write=False) as session:
            export = to_exchange(session.book)
        if not exports or exports[-1] != export:
            exports.append(export)
    return exports, kills


def hold_history(nursery: Nursery, folder: Path, seed: int, actions: int) -> tuple[int, int]:
    """Undo all that can be undone, do it again, and come by every state there was; returns steps and kills."""
    path = brought_in(seed, folder)
    with Session.open(path) as session:
        session.undo()
        began = to_exchange(session.book)
        session.redo()
    exports, kills = killed_now_and_then(nursery, path, Random(f"history-{seed}"), actions)
    with Session.open(path, today=TODAY) as session:
        assert not session.read_only
        back = [to_exchange(session.book)]
        while session.undo_label is not None:
            session.undo()
            back.append(to_exchange(session.book))
        forth = [back[-1]]
        while session.redo_label is not None:
            session.redo()
            forth.append(to_exchange(session.book))
        assert session.check() == []
    assert forth == back[::-1]
    assert back[0] == exports[-1]
    steps = len(back) - 1
    assert steps <= MOST_STEPS
    on_the_way = iter(back)
    reached = sum(export in on_the_way for export in exports[::-1])  # each is looked for after where the last was
    assert reached == len(exports) if back[-1] == began else reached >= 50
    with Session.open(path, write=False) as session:
        assert to_exchange(session.book) == exports[-1]
    return steps, kills


@pytest.mark.slow
def test_a_history_with_closings_and_kills(nursery: Nursery, tmp_path: Path) -> None:
    hold_history(nursery, tmp_path, 500, 30)


@pytest.mark.long
@pytest.mark.parametrize("seed", [501, 502, 503])
def test_a_long_history_with_closings_and_kills(nursery: Nursery, tmp_path: Path, seed: int) -> None:
    actions = 3 * LONG // 10
    steps, kills = hold_history(nursery, tmp_path, seed, actions)
    print(f"\n{actions} actions, {kills} of them killed; {steps} steps undone and done again")  # noqa: T201
