"""Writing a file whole or not at all."""

from __future__ import annotations

import contextlib
import errno
import os
import secrets
from pathlib import Path

from showrunner.errors import CannotWrite
from showrunner.storage.file_errors import cannot_write, words
from showrunner.storage.ordinary import refuse_odd

_ENDING = ".tmp"


def write_whole(path: Path, data: bytes) -> os.stat_result:
    """Write `data` to `path` so that at every instant the file there is the old one or the new one, whole.

    The data goes to a temporary file in the same folder, is forced to the disk and then takes the
    name; the folder is forced to the disk too. The file keeps the permissions it had.

    Args:
        path: the file, not a symbolic link; nothing but an ordinary file is replaced.
        data: its whole content.

    Returns:
        The file's stat as written, to tell later whether something else changed it.

    Raises:
        CannotWrite: the system refused, and the old file is untouched; or the new file is there, but the
            disk does not promise that it will last.
    """
    temporary = path.parent / f".{path.name}.{os.getpid()}-{secrets.token_hex(4)}{_ENDING}"
    try:
        try:
            refuse_odd(path, follow=False)
            with temporary.open("xb") as file:
                with contextlib.suppress(FileNotFoundError):
                    temporary.chmod(path.stat().st_mode & 0o7777)
                file.write(data)
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
        raise CannotWrite(what, str(path), "look after this disk") from error
    return written


def make_folders(folder: Path) -> None:
    """Make `folder` and the folders above it where they are missing.

    Raises:
        CannotWrite: the system refused.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        why = "a file has its name" if isinstance(error, FileExistsError | NotADirectoryError) else words(error)
        raise CannotWrite(f"the folder cannot be made, {why}", str(folder), "choose another place") from error


def sweep(folder: Path, name: str = "") -> None:
    """Remove temporary files that a killed writer left; only for whoever holds the book's lock.

    Args:
        folder: where to look.
        name: the file they were for; empty for any.
    """
    with contextlib.suppress(OSError):
        for stray in folder.iterdir():
            if stray.name.startswith(f".{name}") and stray.name.endswith(_ENDING):
                stray.unlink()


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
