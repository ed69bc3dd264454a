"""Makes the helper modules beside it importable from every folder of tests, runs commands and moves the clock for them.

Each run begins at one in the morning UTC, noon in Hobart, where the demo's house stands, so that no midnight falls
into it; `SHOWRUNNER_HOUR=14` has it begin at another full hour. The day stays the real one. A program that a test
starts by itself has the real clock.
"""

from __future__ import annotations

import os
from datetime import UTC, datetime
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from showrunner import clock
from showrunner.cli import run


def pytest_configure() -> None:
    """Move the only clock that the program reads."""
    hour = int(os.environ.get("SHOWRUNNER_HOUR", "1"))
    real = datetime.now(UTC)
    shift = real.replace(hour=hour, minute=0, second=0) - real
    moved = SimpleNamespace(now=lambda zone: datetime.now(zone) + shift, combine=datetime.combine)
    clock.datetime = moved  # type: ignore[attr-defined]


@pytest.fixture
def said(capsys: pytest.CaptureFixture[str]) -> Any:
    """Runs a command and gives its exit code, what it printed and what it complained."""

    def command(*arguments: str | Path) -> tuple[int, str, str]:
        code = run([str(a) for a in arguments])
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return code, out, err

    return command
