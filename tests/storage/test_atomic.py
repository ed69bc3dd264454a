import errno
import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from showrunner.errors import CannotWrite
from showrunner.storage.atomic import NotConfirmed, make_folders, permissions, sweep, sweep_beside, write_whole


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


@pytest.fixture
def no_mask():
    before = os.umask(0)
    yield
    os.umask(before)


@pytest.mark.parametrize(
    ("like", "made"), [(None, 0o666), (0o600, 0o600), (0o644, 0o644), (0o444, 0o644), (0o777, 0o666)]
)
def test_a_new_file_is_as_private_as_the_one_it_is_like(tmp_path, no_mask, like, made):
    if like is not None:
        (tmp_path / "book").touch()
        (tmp_path / "book").chmod(like)
    write_whole(tmp_path / "new", b"1", like=tmp_path / "book" if like is not None else None)
    assert (tmp_path / "new").stat().st_mode & 0o7777 == made


@pytest.mark.parametrize("mode", [0o600, 0o640, 0o664])
def test_at_no_instant_has_the_new_file_more_permissions_than_the_old(tmp_path, monkeypatch, no_mask, mode):
    (tmp_path / "book").touch()
    (tmp_path / "book").chmod(mode)
    seen = []
    real = os.open

    def noted(path, flags, mode=0o777, **more):
        handle = real(path, flags, mode, **more)
        if flags & os.O_CREAT:
            seen.append(os.fstat(handle).st_mode & 0o7777)
            assert flags & os.O_EXCL
        return handle

    monkeypatch.setattr(os, "open", noted)
    write_whole(tmp_path / "book", b"1")
    assert [had & ~mode for had in seen] == [0]
    assert permissions(tmp_path / "book") == mode


def test_permissions_of_what_is_not_there(tmp_path):
    assert permissions(tmp_path / "none") is None
    assert permissions(None) is None


@pytest.mark.parametrize(
    ("like", "made"), [(None, 0o777), (0o600, 0o700), (0o400, 0o700), (0o640, 0o777), (0o601, 0o777)]
)
def test_a_new_folder_is_as_private_as_the_file(tmp_path, no_mask, like, made):
    if like is not None:
        (tmp_path / "book").touch()
        (tmp_path / "book").chmod(like)
    make_folders(tmp_path / "new", tmp_path / "book" if like is not None else None)
    assert (tmp_path / "new").stat().st_mode & 0o7777 == made
    make_folders(tmp_path / "new")


def test_what_a_killed_writer_leaves_has_a_name_that_is_swept(tmp_path, monkeypatch):
    real, left = os.replace, []

    def noted(old, new):
        left.append(Path(old))
        real(old, new)

    monkeypatch.setattr(os, "replace", noted)
    write_whole(tmp_path / "book", b"1")
    left[0].touch()
    sweep_beside(tmp_path / "book")
    assert [path.name for path in tmp_path.iterdir()] == ["book"]


@pytest.mark.parametrize("mode", [0o600, 0o640, 0o664, 0o666, 0o755, 0o604])
def test_a_file_keeps_its_permissions_whatever_new_files_get(tmp_path, mode):
    (tmp_path / "book").touch()
    (tmp_path / "book").chmod(mode)
    before = os.umask(0o077)
    try:
        write_whole(tmp_path / "book", b"1")
    finally:
        os.umask(before)
    assert permissions(tmp_path / "book") == mode


def test_beside_a_file_only_its_own_strays_are_swept(tmp_path):
    for name in (".out.ics.12-0123abcd.tmp", ".outXics.12-0123abcd.tmp", ".out.ics.12-0123abc.tmp", ".out.ics.tmp"):
        (tmp_path / name).touch()
    sweep_beside(tmp_path / "out.ics")
    assert sorted(p.name for p in tmp_path.iterdir()) == [
        ".out.ics.12-0123abc.tmp",
        ".out.ics.tmp",
        ".outXics.12-0123abcd.tmp",
    ]


def test_a_folder_that_cannot_be_forced_to_the_disk_is_no_fault_but_others_are(tmp_path, monkeypatch):
    """Some systems cannot do that for folders at all."""
    real = os.fsync
    closed = []
    shut = os.close

    def fails(number):
        def sync(handle):
            if stat.S_ISDIR(os.fstat(handle).st_mode):
                closed.append(handle)
                raise OSError(number, "")
            real(handle)

        return sync

    for number in (errno.EINVAL, errno.ENOTSUP):
        monkeypatch.setattr(os, "fsync", fails(number))
        write_whole(tmp_path / "a", b"1")
    monkeypatch.setattr(os, "fsync", fails(errno.EIO))
    ended = []
    monkeypatch.setattr(os, "close", lambda handle: ended.append(handle) or shut(handle))
    with pytest.raises(
        NotConfirmed, match="the disk did not confirm that it will last \\(the disk reports an error\\)"
    ) as told:
        write_whole(tmp_path / "a", b"22")
    assert told.value.written.st_size == 2
    assert (tmp_path / "a").read_bytes() == b"22"
    assert closed[-1] in ended


def test_a_link_is_not_replaced_by_a_file(tmp_path):
    """Whoever writes through a link names what it leads to."""
    (tmp_path / "real").write_bytes(b"real")
    (tmp_path / "link").symlink_to(tmp_path / "real")
    with pytest.raises(CannotWrite, match="it was not replaced"):
        write_whole(tmp_path / "link", b"new")
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "real").read_bytes() == b"real"
