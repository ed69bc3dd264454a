"""One writer at a time."""

from __future__ import annotations

import errno
import os
from pathlib import Path

from showrunner.errors import BookInUse, CannotWrite
from showrunner.storage.atomic import permissions
from showrunner.storage.file_errors import words
from showrunner.storage.ordinary import refuse_odd


class WriterLock:
    """The right to write the book at `path`, held until :meth:`release` or the end of the process.

    It is a lock of the operating system on the file `PATH.lock`, so that a process that dies
    cannot leave it behind. It is as private as the book.

    Raises:
        BookInUse: another process or window holds it; there is no waiting.
        CannotWrite: the lock file cannot be made in this folder.
    """

    def __init__(self, path: Path) -> None:
        from filelock import FileLock, Timeout

        allowed = permissions(path)
        if allowed is None or allowed & 0o077:
            self._lock = FileLock(f"{path}.lock", timeout=0, thread_local=False)
        else:
            self._lock = FileLock(f"{path}.lock", timeout=0, mode=0o600, thread_local=False)
        try:
            refuse_odd(Path(f"{path}.lock"))
            if refusal := refused_by(path.parent):
                raise refusal
            self._lock.acquire()
        except Timeout:
            raise BookInUse(
                "another window has this book open for writing", str(path), "close it there and open the book again"
            ) from None
        except OSError as error:
            raise _shut(path.parent, words(error)) from error

    def release(self) -> None:
        """Give the right back; does nothing the second time."""
        self._lock.release()


def refused_by(folder: Path) -> CannotWrite | None:
    """Why no book in a folder can be written: it is closed, or its disk cannot lock files.

    A lock in the shape of a file, which a killed process would leave behind, is none.
    """
    if not os.access(folder, os.W_OK | os.X_OK):
        return _shut(folder, words(PermissionError(errno.EACCES, "")))
    try:
        import fcntl
    except ImportError:
        return None  # a system that locks in another way
    try:
        handle = os.open(folder, os.O_RDONLY)
        try:
            fcntl.flock(handle, fcntl.LOCK_SH | fcntl.LOCK_NB)
        finally:
            os.close(handle)
    except OSError as error:
        if error.errno not in (errno.ENOSYS, errno.ENOTSUP):
            return _shut(folder, words(error))
        what = "this disk cannot lock files, so a book on it can only be read"
        return CannotWrite(what, str(folder), "copy the book to another disk")
    return None


def _shut(folder: Path, why: str) -> CannotWrite:
    return CannotWrite(f"the folder cannot be written, {why}", str(folder), "allow writing there, or copy the book")
