"""Where the demo book is: in the installed package, or beside it in a clone."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from showrunner.errors import BadInput
from showrunner.session import Session


def demo_path() -> Path:
    """The demo book as shipped; never opened for writing."""
    package = Path(__file__).parent
    places = (package / "demo" / "book.json", package.parent / "demo" / "book.json")
    for path in places:
        if path.is_file():
            return path
    raise BadInput("the demo book is not where it was installed", str(places[0]), "install showrunner again")


def copy_demo(path: Path) -> None:
    """Write a copy of the demo book to a new file.

    Raises:
        BadInput: there is a file already.
        CannotWrite: it cannot be written.
    """
    with Session.open(demo_path(), write=False) as demo:
        demo.copy_to(path)


@contextmanager
def demo_copy(keep: Path | None) -> Iterator[Path]:
    """A copy of the demo book: at `keep`, or in a folder that is gone afterwards."""
    if keep is not None:
        copy_demo(keep)
        yield keep
        return
    with tempfile.TemporaryDirectory(prefix="showrunner-demo-") as folder:
        path = Path(folder) / "book.json"
        copy_demo(path)
        yield path
