"""Writing a file whole or not at all."""

from __future__ import annotations

import contextlib
import errno
import os
import re
import stat
from pathlib import Path

from showrunner.errors import CannotWrite
from showrunner.storage.file_errors import cannot_write, words
from showrunner.storage.ordinary import refuse_odd

_ENDING = ".tmp"


class NotConfirmed(CannotWrite):
    """The new file is there whole, but the disk does not promise that it will last.

    Args:
        written: the file's stat.
        told: what, where and way out, as for every error.
    """

    def __init__(self, written: os.stat_result, *told: str) -> None:
        super().__init__(*told)
        self.written = written


def write_whole(path: Path, *data: bytes, like: Path | None = None) -> os.stat_result:
    """Write `data` to `path` so that at every instant the file there is the old one or the new one, whole.

    The data goes to a temporary file in the same folder, is forced to the disk and then takes the
    name; the folder is forced to the disk too. The file keeps the permissions it had, and at no instant has more.

    Args:
        path: the file, not a symbolic link; nothing but an ordinary file is replaced.
        data: its whole content, in as many parts as it comes in.
        like: the file that a new one is to be as private as; None for as the system makes them.

    Returns:
        The file's stat as written, to tell later whether something else changed it.

    Raises:
        NotConfirmed: the new file is there, but the disk does not promise that it will last.
        CannotWrite: the system refused, and the old file is untouched.
    """
    temporary = path.parent / f".{path.name}.{os.getpid()}-{os.urandom(4).hex()}{_ENDING}"
    try:
        try:
            refuse_odd(path, follow=False)
            had = permissions(path)
            allowed = had if had is not None else permissions(like)
            flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
            handle = os.open(temporary, flags, 0o600 | (0o666 if allowed is None else 0o666 & allowed))
            with os.fdopen(handle, "wb") as file:
                if had is not None:
                    temporary.chmod(had)
                file.writelines(data)
                file.flush()
                os.fsync(file.fileno())
                written = os.fstat(file.fileno())
            temporary.replace(path)
        finally:
            with contextlib.suppress(OSError):
                temporary.unlink()
    except OSError as error:
        raise cannot_write(path, error) from error
    try:
        _sync_folder(path.parent)
    except OSError as error:
        what = f"it was written, but the disk did not confirm that it will last ({words(error)})"
        raise NotConfirmed(written, what, str(path), "look after this disk") from error
    return written


def permissions(path: Path | None) -> int | None:
    """The permission bits of a file; None if there is none."""
    try:
        return path.stat().st_mode & 0o7777 if path else None
    except FileNotFoundError:
        return None


def make_folders(folder: Path, like: Path | None = None) -> None:
    """Make `folder` and the folders above it where they are missing.

    Args:
        folder: the folder.
        like: the file that it is to be as private as if it is new; None for as the system makes them.

    Raises:
        CannotWrite: the system refused.
    """
    try:
        allowed = permissions(like)
        private = allowed is not None and not allowed & 0o077
        folder.mkdir(mode=0o700 if private else 0o777, parents=True, exist_ok=True)
    except OSError as error:
        why = "a file has its name" if isinstance(error, FileExistsError | NotADirectoryError) else words(error)
        raise CannotWrite(f"the folder cannot be made, {why}", str(folder), "choose another place") from error


def sweep(folder: Path, name: str) -> None:
    """Remove temporary files that a killed writer left; of a book only for whoever holds its lock.

    Args:
        folder: where to look.
        name: the names of the files they were for, as a pattern. What does not have the whole of a name that
            `write_whole` gives, or is no ordinary file, is somebody else's and stays.
    """
    ours = re.compile(rf"\.(?:{name})\.\d+-[0-9a-f]{{8}}{re.escape(_ENDING)}")
    with contextlib.suppress(OSError):
        for stray in folder.iterdir():
            if ours.fullmatch(stray.name) and stat.S_ISREG(stray.lstat().st_mode):
                stray.unlink()


def sweep_beside(path: Path) -> None:
    """Remove what killed writers left of a file that no lock guards, before it is written again."""
    sweep(path.parent, re.escape(path.name))


def _sync_folder(folder: Path) -> None:
    """Force the folder's entries to the disk, where the system can do that for folders."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    except OSError as error:
        if error.errno not in (errno.EINVAL, errno.ENOTSUP):
            raise
    finally:
        os.close(handle)
