"""What was put into other stores, kept in a small file beside the book: without it nothing there is ours to change.

It is no part of the book: undo and restore never touch it, and a copy of the book on another machine has its own.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path

from showrunner.domain.record import record
from showrunner.errors import CannotWrite
from showrunner.storage.atomic import sweep_beside, write_whole
from showrunner.storage.file_errors import words
from showrunner.storage.ordinary import read_ordinary

_LAYOUT = 1
MOST_BYTES = 50_000_000
"""Most bytes of such a file that are read."""


@record
class Put:
    """An entry as it was put."""

    tag: str
    """The tag that the store told for it; empty if it told none, or never said that the entry is there."""
    digest: str
    """What stood in it, as a hash of what counts; empty if the store never said that it is there."""
    sent: str = ""
    """The same of what was sent since and never confirmed; empty if nothing was."""


def put_list_path(book: Path) -> Path:
    """The file beside a book."""
    return book.with_name(f"{book.name}.put")


def read_put_list(book: Path) -> dict[str, dict[str, Put]]:
    """What was put, by the address of the store and the UID of the entry.

    Raises:
        CannotWrite: the file cannot be read.
    """
    path = put_list_path(book)
    try:
        found = json.loads(read_ordinary(path, MOST_BYTES))
        if found["layout"] != _LAYOUT:
            raise CannotWrite("a newer version wrote it", str(path), "use that version")
        return {
            address: {uid: _put(one) for uid, one in entries.items()} for address, entries in found["stores"].items()
        }
    except FileNotFoundError:
        return {}
    except OSError as error:
        raise CannotWrite(f"it cannot be read ({words(error)})", str(path), "allow reading it") from error
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
        way_out = "move it away; what is there already is then compared with the book"
        raise CannotWrite("the list of what was put is damaged", str(path), way_out) from None


def keep_put_list(book: Path, address: str, entries: Mapping[str, Put]) -> None:
    """Keep what was put into one store; what was put into others stays.

    Raises:
        CannotWrite: the file cannot be written.
    """
    stores = read_put_list(book)
    if stores.get(address, {}) == dict(entries):
        return
    stores[address] = dict(entries)
    told = {
        place: {uid: _told(put) for uid, put in sorted(each.items())} for place, each in sorted(stores.items()) if each
    }
    text = json.dumps({"layout": _LAYOUT, "stores": told}, indent=1)
    sweep_beside(put_list_path(book))
    write_whole(put_list_path(book), text.encode(), like=book)


def _put(told: dict[str, str]) -> Put:
    return Put(str(told["tag"]), str(told["digest"]), str(told.get("sent", "")))


def _told(put: Put) -> dict[str, str]:
    told = {"tag": put.tag, "digest": put.digest, "sent": put.sent}
    return {name: value for name, value in told.items() if value or name != "sent"}
