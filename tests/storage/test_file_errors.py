"""What the system says when a file cannot be written, in words with a way out."""

from __future__ import annotations

import errno
from pathlib import Path

import pytest

from showrunner.storage import file_errors
from showrunner.storage.file_errors import cannot_write, read_only, words
from showrunner.storage.ordinary import NotOrdinary

FILE = Path("out.ics")


@pytest.mark.parametrize("number", [n for n in file_errors._WORDS if n != errno.EPERM])
def test_each_error_has_its_words_and_a_way_out(number: int) -> None:
    """The numbers are those of POSIX; none is told as the system tells it to programmers."""
    error = OSError(number, "")
    told, way_out = file_errors._WORDS[number]
    assert words(error) == told
    assert cannot_write(FILE, error).sentence() == f"out.ics: it was not saved, {told}; {way_out}."


def test_an_error_without_words_of_ours_is_told_in_the_systems() -> None:
    for error, told in (
        (OSError(errno.EXDEV, "Invalid cross-device link"), "Invalid cross-device link"),
        (OSError("odd"), "odd"),
    ):
        assert words(error) == told
        sentence = f"out.ics: it was not saved, {told}; try again, or choose another place."
        assert cannot_write(FILE, error).sentence() == sentence


def test_what_is_no_ordinary_file_and_what_may_only_be_read() -> None:
    odd = cannot_write(FILE, NotOrdinary("a pipe"))
    assert odd.sentence() == "out.ics: it was not replaced, it is a pipe and no ordinary file; choose another name."
    assert read_only(FILE).sentence() == "out.ics: the file may only be read; allow writing to it, or copy it."
