"""A folder with one file for every calendar entry, named by its UID, as synchronisers read it."""

from __future__ import annotations

import contextlib
from hashlib import sha256
from pathlib import Path

from showrunner.errors import CannotWrite
from showrunner.ical.stores import ChangedThere, Stored
from showrunner.storage.atomic import make_folders, sweep, write_whole
from showrunner.storage.file_errors import cannot_write, words
from showrunner.storage.ordinary import read_ordinary, real_path

MOST_BYTES = 1_000_000
"""Most bytes of one entry that are read."""
_NAME = r"[0-9a-f-]{36}\.ics"
"""How the names of our entries look; what a killed writer left of one is removed before the next is written."""


class FolderStore:
    """A folder as a store; an entry's tag is the hash of its bytes.

    Args:
        folder: the folder; it is made when something is written.
        like: the file that new ones are to be as private as.
    """

    def __init__(self, folder: Path, like: Path | None = None) -> None:
        self._folder = folder
        self._like = like
        self._swept = False

    @property
    def address(self) -> str:
        """The folder's real path."""
        return str(real_path(self._folder))

    def tags(self) -> dict[str, str]:
        """The tag of every file that ends in `.ics`.

        Raises:
            CannotWrite: the folder cannot be read, or it is none.
        """
        try:
            names = sorted(each.name for each in self._folder.iterdir() if each.suffix == ".ics")
        except FileNotFoundError:
            return {}
        except NotADirectoryError:
            raise CannotWrite("it is a file and no folder", str(self._folder), "name a folder") from None
        except (OSError, ValueError) as error:
            raise self._unreadable(self._folder, error) from error
        found = {}
        for name in names:
            with contextlib.suppress(CannotWrite):  # what is no file of ours; put refuses it
                if stored := self.read(name):
                    found[name] = stored.tag
        return found

    def read(self, name: str) -> Stored | None:
        """An entry; None if there is no such file.

        Raises:
            CannotWrite: it cannot be read.
        """
        try:
            data = read_ordinary(self._folder / name, MOST_BYTES)
        except FileNotFoundError:
            return None
        except OSError as error:
            raise self._unreadable(self._folder / name, error) from error
        return Stored(_tag(data), data)

    def put(self, name: str, data: bytes, tag: str | None) -> str:
        """Write a file, whole or not at all.

        Raises:
            ChangedThere: the file is another than the one with this tag.
            CannotWrite: the system refused.
        """
        self._must_be(name, tag)
        make_folders(self._folder, self._like)
        if not self._swept:
            sweep(self._folder, _NAME)
            self._swept = True
        write_whole(self._folder / name, data, like=self._like)
        return _tag(data)

    def delete(self, name: str, tag: str) -> None:
        """Delete a file.

        Raises:
            ChangedThere: the file is another than the one with this tag.
            CannotWrite: the system refused.
        """
        self._must_be(name, tag, gone=True)
        try:
            (self._folder / name).unlink(missing_ok=True)
        except OSError as error:
            raise cannot_write(self._folder / name, error) from error

    def _must_be(self, name: str, tag: str | None, *, gone: bool = False) -> None:
        there = self.read(name)
        if there is None and gone:
            return
        if (there.tag if there else None) != tag:
            raise ChangedThere

    def _unreadable(self, path: Path, error: Exception) -> CannotWrite:
        if isinstance(error, OSError):
            return CannotWrite(f"it cannot be read ({words(error)})", str(path), "choose another folder")
        return CannotWrite("this is no name of a folder", repr(str(path)), "choose another name")


def _tag(data: bytes) -> str:
    return sha256(data).hexdigest()
