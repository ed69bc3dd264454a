"""Only ordinary files are read and replaced: no folder, pipe, device or socket, and no link that leads to itself.

A pipe would be waited for without an end, and a device would be gone once a file has its name.
"""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path
from typing import BinaryIO

_KINDS = {
    stat.S_IFDIR: "a folder",
    stat.S_IFIFO: "a pipe",
    stat.S_IFCHR: "a device",
    stat.S_IFBLK: "a device",
    stat.S_IFSOCK: "a socket",
    stat.S_IFLNK: "a link that leads nowhere",
}


class NotOrdinary(OSError):
    """What has the name is no ordinary file.

    Args:
        kind: what it is (`a pipe`).
    """

    def __init__(self, kind: str) -> None:
        super().__init__(f"it is {kind} and no ordinary file")
        self.kind = kind


class TooLarge(OSError):
    """A file has more bytes than are read.

    Args:
        size: its bytes.
    """

    def __init__(self, size: int) -> None:
        super().__init__(f"its {size / 1_000_000:,.0f} MB are too much to read")


def real_path(path: Path) -> Path:
    """The file a path leads to through symbolic links; of links in a circle one of them, and no name as it stands."""
    try:
        return Path(os.path.realpath(path))
    except ValueError:  # no file can have it; who looks for one is told
        return path


def is_there(path: Path) -> bool:
    """Whether something has this name.

    Raises:
        OSError: that cannot be told: a folder above it may not be looked into, or the name is too long.
    """
    try:
        path.stat()
    except (FileNotFoundError, NotADirectoryError):
        return False
    return True


def is_read_only(path: Path) -> bool:
    """Whether a file may not be written: by its permissions, which are meant even for whom the system lets by."""
    return not os.access(path, os.W_OK) or not path.stat().st_mode & 0o222


def refuse_odd(path: Path, *, follow: bool = True) -> None:
    """Refuse what is no ordinary file; where nothing is, nothing is refused.

    Args:
        path: the path.
        follow: whether a link stands for what it leads to; if not, it is refused itself.

    Raises:
        NotOrdinary: it is something else.
        OSError: it cannot be looked at.
    """
    try:
        mode = path.stat(follow_symlinks=follow).st_mode
    except FileNotFoundError:
        return
    except OSError as error:
        if error.errno == errno.ELOOP:
            raise NotOrdinary("a link that leads back to itself") from None
        raise
    _refuse(mode)


def open_ordinary(path: Path) -> BinaryIO:
    """Open a file for reading; nothing but an ordinary file is even opened.

    Raises:
        NotOrdinary: it is something else.
        OSError: it cannot be opened.
    """
    refuse_odd(path)
    handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    file = os.fdopen(handle, "rb")
    try:
        _refuse(os.fstat(handle).st_mode)  # it may be another one by now
    except OSError:
        file.close()
        raise
    return file


def read_ordinary(path: Path, most: int | None = None) -> bytes:
    """The bytes of a file.

    Args:
        path: the file.
        most: how many bytes it may have; None for any number.

    Raises:
        NotOrdinary: it is no ordinary file.
        TooLarge: it has more bytes.
        OSError: it cannot be read.
    """
    with open_ordinary(path) as file:
        if most is not None and (size := os.fstat(file.fileno()).st_size) > most:
            raise TooLarge(size)
        return file.read()


def _refuse(mode: int) -> None:
    if not stat.S_ISREG(mode):
        raise NotOrdinary(_KINDS.get(stat.S_IFMT(mode), "something else"))
