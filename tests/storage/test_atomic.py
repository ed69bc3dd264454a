import errno
import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from showrunner.errors import CannotWrite
from showrunner.storage.atomic import make_folders, sweep, write_whole


def failing(number):
    def fail(*arguments):
        raise OSError(number, os.strerror(number))

    return fail


def leftovers(folder):
    return [path.name for path in folder.iterdir() if path.name.endswith(".tmp")]


def test_the_file_is_replaced_whole_and_keeps_its_permissions(tmp_path):
    path = tmp_path / "book.json"
    write_whole(path, b"one")
    path.chmod(0o640)
    written = write_whole(path, b"two")
    assert path.read_bytes() == b"two"
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    now = path.stat()
    assert (written.st_mtime_ns, written.st_size, written.st_ino) == (now.st_mtime_ns, now.st_size, now.st_ino)
    assert leftovers(tmp_path) == []


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (errno.ENOSPC, "the disk is full; free some space and do it again."),
        (errno.EDQUOT, "the disk space allowed to you is used up; free some space and do it again."),
        (errno.EIO, "the disk reports an error; choose another disk, and look after this one."),
        (errno.EROFS, "the disk is read-only; choose another place."),
        (errno.EACCES, "permission is refused; allow writing there, or choose another place."),
        (errno.EBUSY, "Device or resource busy; try again, or choose another place."),
    ],
)
def test_a_disk_that_refuses_leaves_the_old_file(tmp_path, monkeypatch, number, words):
    path = tmp_path / "book.json"
    write_whole(path, b"one")
    monkeypatch.setattr(os, "fsync", failing(number))
    with pytest.raises(CannotWrite) as caught:
        write_whole(path, b"two")
    assert caught.value.sentence() == f"{path}: it was not saved, {words}"
    assert path.read_bytes() == b"one"
    assert leftovers(tmp_path) == []


def test_a_name_that_cannot_be_taken_leaves_the_old_file(tmp_path, monkeypatch):
    path = tmp_path / "book.json"
    write_whole(path, b"one")
    monkeypatch.setattr(os, "replace", failing(errno.EACCES))
    monkeypatch.setattr(Path, "replace", failing(errno.EACCES))
    with pytest.raises(CannotWrite):
        write_whole(path, b"two")
    assert path.read_bytes() == b"one"
    assert leftovers(tmp_path) == []


def test_a_folder_that_will_not_confirm_says_so(tmp_path, monkeypatch):
    path = tmp_path / "book.json"
    real = os.fsync

    def only_files(handle):
        if stat.S_ISDIR(os.fstat(handle).st_mode):
            raise OSError(errno.EIO, os.strerror(errno.EIO))
        real(handle)

    monkeypatch.setattr(os, "fsync", only_files)
    with pytest.raises(CannotWrite) as caught:
        write_whole(path, b"one")
    assert caught.value.sentence() == (
        f"{path}: it was written, but the disk did not confirm that it will last (the disk reports an error); "
        "look after this disk."
    )
    assert path.read_bytes() == b"one"


def test_a_folder_that_cannot_be_forced_to_disk_is_no_failure(tmp_path, monkeypatch):
    real = os.fsync

    def only_files(handle):
        if stat.S_ISDIR(os.fstat(handle).st_mode):
            raise OSError(errno.EINVAL, os.strerror(errno.EINVAL))
        real(handle)

    monkeypatch.setattr(os, "fsync", only_files)
    write_whole(tmp_path / "book.json", b"one")
    assert (tmp_path / "book.json").read_bytes() == b"one"


def test_a_folder_that_is_missing_or_no_folder(tmp_path):
    missing = tmp_path / "gone" / "book.json"
    with pytest.raises(CannotWrite) as caught:
        write_whole(missing, b"one")
    assert caught.value.sentence() == (
        f"{missing}: it was not saved, its folder is missing; make the folder, or choose another place."
    )
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(CannotWrite) as caught:
        make_folders(tmp_path / "file" / "books")
    assert caught.value.sentence() == (
        f"{tmp_path / 'file' / 'books'}: the folder cannot be made, a file has its name; choose another place."
    )


def test_a_file_cut_off_by_the_system_leaves_the_old_one(tmp_path):
    """A real refusal in the middle of the data: the process may not write files above 4,096 bytes."""
    path = tmp_path / "book.json"
    path.write_bytes(b"one")
    program = f"""
import resource, signal
from pathlib import Path
from showrunner.errors import CannotWrite
from showrunner.storage.atomic import write_whole
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))
try:
    write_whole(Path({str(path)!r}), b"x" * 100_000)
except CannotWrite as error:
    print(error.sentence())
"""
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == (
        f"{path}: it was not saved, it would be larger than a file may be here; choose another disk."
    )
    assert path.read_bytes() == b"one"
    assert leftovers(tmp_path) == []


def test_sweep_removes_only_its_own_strays(tmp_path):
    ours = {".book.json.1-0123abcd.tmp", ".book.json.99-00000000.tmp"}
    others = {
        *(".other.json.1-0123abcd.tmp", "book.json", ".book.json.notes", ".book.json.tmp", ".book.json.1-aa.tmp"),
        *(".book.json-mine.1-0123abcd.tmp", ".book.json.x-0123abcd.tmp", ".book.json.1-0123abcd.tmp~"),
        *(".bookxjson.1-0123abcd.tmp", "book.json.1-0123abcd.tmp"),
    }
    for name in ours | others:
        (tmp_path / name).write_bytes(b"")
    (tmp_path / ".book.json.2-0123abcd.tmp").mkdir()
    (tmp_path / ".book.json.3-0123abcd.tmp").symlink_to("book.json")
    sweep(tmp_path, r"book\.json")
    kept = {path.name for path in tmp_path.iterdir()}
    assert kept == {*others, ".book.json.2-0123abcd.tmp", ".book.json.3-0123abcd.tmp"}
    sweep(tmp_path / "gone", "x")
