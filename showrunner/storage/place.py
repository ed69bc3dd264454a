"""Where the book is when nobody says."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

from showrunner.errors import BadInput


def default_path() -> Path:
    """The owner's own book, in the system's folder for a person's data.

    Raises:
        BadInput: the system knows no folder of this person's.
    """
    from platformdirs import user_data_dir

    folder = Path()
    with suppress(RuntimeError):  # of newer ones; older ones leave the `~` that no home stands for
        folder = Path(user_data_dir("showrunner", appauthor=False))
    if not folder.is_absolute():
        raise BadInput("no home folder is known in which your book could be", "showrunner", "name it with --book PATH")
    return folder / "book.json"
