"""Makes the helper modules beside it importable from every folder of tests, and runs commands for them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from showrunner.cli import run


@pytest.fixture
def said(capsys: pytest.CaptureFixture[str]) -> Any:
    """Runs a command and gives its exit code, what it printed and what it complained."""

    def command(*arguments: str | Path) -> tuple[int, str, str]:
        code = run([str(a) for a in arguments])
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return code, out, err

    return command
