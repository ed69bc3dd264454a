"""What one person has set for the program on this machine, beside any book: a small JSON file."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any


def settings_path() -> Path:
    """The file; it need not be there.

    Raises:
        RuntimeError: the system knows no folder of this person's.
    """
    from platformdirs import user_config_dir

    return Path(user_config_dir("showrunner", appauthor=False)) / "settings.json"


def setting(name: str) -> str:
    """What is set under a name; empty if nothing is, or if that cannot be read."""
    value = _settings().get(name)
    return value if isinstance(value, str) else ""


def keep_setting(name: str, value: str) -> None:
    """Set something; all else that is set stays. It is no loss if that cannot be done."""
    try:
        path = settings_path()
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(json.dumps({**_settings(), name: value}), encoding="utf-8")
    except (OSError, RuntimeError):
        return


def _settings() -> dict[str, Any]:
    try:
        found = json.loads(settings_path().read_text(encoding="utf-8"))
    except (OSError, ValueError, RuntimeError, RecursionError):
        return {}
    return found if isinstance(found, dict) else {}
