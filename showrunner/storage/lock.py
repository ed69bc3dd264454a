"""One writer at a time."""

from __future__ import annotations

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
            self._lock.acquire()
        except Timeout:
            raise BookInUse(
                "another window has this book open for writing", str(path), "close it there and open the book again"
            ) from None
        except (OSError, NotImplementedError) as error:
            reason = words(error) if isinstance(error, OSError) else "it cannot lock files"
            raise CannotWrite(
                f"the folder cannot be written, {reason}", str(path.parent), "allow writing there, or copy the book"
            ) from error

    def release(self) -> None:
        """Give the right back; does nothing the second time."""
        self._lock.release()
