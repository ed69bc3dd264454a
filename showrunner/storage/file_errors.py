"""What the system says when a file cannot be written or read, in plain words."""

from __future__ import annotations

import errno
from pathlib import Path

from showrunner.errors import CannotWrite
from showrunner.storage.ordinary import NotOrdinary

_WORDS: dict[int, tuple[str, str]] = {
    errno.ENOSPC: ("the disk is full", "free some space and do it again"),
    errno.EDQUOT: ("the disk space allowed to you is used up", "free some space and do it again"),
    errno.EFBIG: ("it would be larger than a file may be here", "choose another disk"),
    errno.EACCES: ("permission is refused", "allow writing there, or choose another place"),
    errno.EPERM: ("permission is refused", "allow writing there, or choose another place"),
    errno.EROFS: ("the disk is read-only", "choose another place"),
    errno.ENOENT: ("its folder is missing", "make the folder, or choose another place"),
    errno.ENOTDIR: ("its folder is missing", "make the folder, or choose another place"),
    errno.EISDIR: ("it is a folder", "choose another name"),
    errno.ENAMETOOLONG: ("its name is too long", "choose a shorter name"),
    errno.ELOOP: ("its links lead back to themselves", "choose another name"),
    errno.EIO: ("the disk reports an error", "choose another disk, and look after this one"),
    errno.EEXIST: ("it exists already", "choose another name"),
    errno.EBADF: ("it is closed", "leave it open"),
    errno.EPIPE: ("nothing reads it any more", "do it again without what reads it"),
    errno.ENOLCK: ("this disk cannot lock files", "copy it to another disk"),
    errno.ENOSYS: ("this disk cannot do it", "choose another disk"),
    errno.ENOTSUP: ("this disk cannot do it", "choose another disk"),
    errno.EMFILE: ("too many files are open", "close other programs and do it again"),
    errno.ENOMEM: ("the memory is used up", "close other programs and do it again"),
}


def words(error: OSError) -> str:
    """What went wrong, in words."""
    return _WORDS.get(error.errno or 0, (error.strerror or str(error), ""))[0]


def read_only(path: Path) -> CannotWrite:
    """The error to raise when a file is meant not to be written."""
    return CannotWrite("the file may only be read", str(path), "allow writing to it, or copy it")


def cannot_write(path: Path, error: OSError) -> CannotWrite:
    """The error to raise when `path` could not be written."""
    if isinstance(error, NotOrdinary):
        return CannotWrite(f"it was not replaced, {error}", str(path), "choose another name")
    what, way_out = _WORDS.get(error.errno or 0, (error.strerror or str(error), "try again, or choose another place"))
    return CannotWrite(f"it was not saved, {what}", str(path), way_out)
