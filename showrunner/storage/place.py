"""Where the book is when nobody says."""

from __future__ import annotations

from pathlib import Path


def default_path() -> Path:
    """The owner's own book, in the system's folder for a person's data."""
    from platformdirs import user_data_dir

    return Path(user_data_dir("showrunner", appauthor=False)) / "book.json"
