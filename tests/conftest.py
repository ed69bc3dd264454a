"""Makes the helper modules beside it importable from every folder of tests, runs commands and moves the clock for them.

Each run begins at one in the morning UTC, noon in Hobart, where the demo's house stands, so that no midnight falls
into it; `SHOWRUNNER_HOUR=14` has it begin at another full hour. The day stays the real one. A program that a test
starts by itself has the real clock.
"""

from __future__ import annotations

import gc
import os
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import compiled  # noqa: F401 - before all that is large
import effort
import pytest
from hypothesis import settings

from showrunner import clock
from showrunner.cli import run
from showrunner.planning import advice
from showrunner.session import Session

keep = Session._kept
worked_out: dict[Any, Any] = {}
"""What earlier tests had worked out, by what it rests on (the book, or parts of it, as values) and what was asked."""


def pytest_configure(config: pytest.Config) -> None:
    """Set the examples of properties, and move the only clock that the program reads."""
    effort.share = effort.SHARES.get(config.option.markexpr, effort.share)
    settings.register_profile("run", deadline=None, derandomize="CI" in os.environ, print_blob=True)
    settings.load_profile("run")
    gc.set_threshold(50_000, 20, 50)  # a run holds much that stays; to look it through often took a tenth of the time
    hour = int(os.environ.get("SHOWRUNNER_HOUR", "1"))
    real = datetime.now(UTC)
    shift = real.replace(hour=hour, minute=0, second=0) - real
    moved = SimpleNamespace(now=lambda zone: datetime.now(zone) + shift, combine=datetime.combine)
    clock.datetime = moved  # type: ignore[attr-defined]


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """In the long run, take along the properties that the default one tries on fewer examples."""
    for item in items:
        if effort.share == 1 and item.get_closest_marker("examples"):
            item.add_marker("long")


def pytest_collection_finish() -> None:
    """Look no more through what is loaded by now and stays."""
    gc.collect()
    gc.freeze()


def once_for_equal_books(
    self: Session, rests_on: tuple[Any, ...], arguments: tuple[Any, ...], compute: Callable[[], Any]
) -> Any:
    """Work out only what no test asked before of an equal book: most begin with the demo, whose dates take a while."""

    def compute_once() -> Any:
        key = (rests_on, arguments, advice.TRIAL_SECONDS)
        if key not in worked_out:
            worked_out[key] = compute()
        return worked_out[key]

    return keep(self, rests_on, arguments, compute_once)


@pytest.fixture
def worked_out_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is worked out is a value of the book and of what is asked: a test of how it is told has it of another one.

    For tests that change nothing of how it is worked out, nor how long that may take.
    """
    monkeypatch.setattr(Session, "_kept", once_for_equal_books)


@pytest.fixture
def said(capsys: pytest.CaptureFixture[str]) -> Any:
    """Runs a command and gives its exit code, what it printed and what it complained."""

    def command(*arguments: str | Path) -> tuple[int, str, str]:
        code = run([str(a) for a in arguments])
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return code, out, err

    return command
