"""The chapters of a film: read as they are typed, judged, and written in the three forms that players take.

Readers take chapters out of order, or past the end, without a word; so they are judged here, and faulty ones are not
written. The forms are those of the W3C WebVTT recommendation and of FFmpeg's documentation of its metadata files.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from enum import StrEnum
from itertools import pairwise

from showrunner.domain.house import HouseRules
from showrunner.domain.package import Chapter
from showrunner.domain.record import record
from showrunner.domain.words import count, short
from showrunner.errors import BadInput
from showrunner.planning.run_time import clock_words, read_run_time

_LINE = re.compile(r"\s*(\d[\d:]*)(?:\s+[-–—]\s+|[\s.)]+)(\S.*)")


class Flaw(StrEnum):
    """What can be wrong with a row of chapters."""

    FEW = "few"
    """There are too few."""
    START = "start"
    """The first does not begin at 0:00."""
    ORDER = "order"
    """One begins no later than the one before it."""
    SHORT = "short"
    """One is too short."""
    PAST_END = "past end"
    """One begins at the end of the film or after it."""


@record
class Fault:
    """One thing that is wrong with a row of chapters."""

    flaw: Flaw
    """What."""
    at: int
    """Which chapter, from 0; for too few, how many are missing."""
    seconds: int
    """By how many seconds it fails; 0 for too few."""


def faults_of(chapters: Sequence[Chapter], film_seconds: int, house: HouseRules) -> tuple[Fault, ...]:
    """Everything that is wrong with a row of chapters; nothing is if there are none.

    Args:
        chapters: the chapters as they stand.
        film_seconds: run time of the film, seconds; 0 if it is not known, and then no end is judged.
        house: house rules with their least number and length.
    """
    if not chapters:
        return ()
    found = []
    if len(chapters) < house.least_chapters:
        found.append(Fault(Flaw.FEW, house.least_chapters - len(chapters), 0))
    if chapters[0].seconds:
        found.append(Fault(Flaw.START, 0, chapters[0].seconds))
    for at, (one, two) in enumerate(pairwise(chapters)):
        length = two.seconds - one.seconds
        if length <= 0:
            found.append(Fault(Flaw.ORDER, at + 1, -length))
        elif length < house.chapter_seconds:
            found.append(Fault(Flaw.SHORT, at, house.chapter_seconds - length))
    if film_seconds:
        late = [at for at, chapter in enumerate(chapters) if chapter.seconds >= film_seconds]
        found += [Fault(Flaw.PAST_END, at, chapters[at].seconds - film_seconds) for at in late]
        left = film_seconds - chapters[-1].seconds
        if 0 < left < house.chapter_seconds:
            found.append(Fault(Flaw.SHORT, len(chapters) - 1, house.chapter_seconds - left))
    return tuple(found)


def fault_words(fault: Fault, chapters: Sequence[Chapter], house: HouseRules) -> str:
    """A fault as a sentence without its full stop."""
    if fault.flaw is Flaw.FEW:
        return f"{count(len(chapters), 'chapter')} of at least {house.least_chapters}"
    chapter = chapters[fault.at]
    name = f"{clock_words(chapter.seconds)} {short(chapter.title)}"
    if fault.flaw is Flaw.START:
        return f"the first chapter, {name}, must begin at 0:00"
    if fault.flaw is Flaw.ORDER:
        return f"{name} does not come after {clock_words(chapters[fault.at - 1].seconds)}, where the one above begins"
    if fault.flaw is Flaw.SHORT:
        return f"{name} is {count(fault.seconds, 'second')} shorter than the least, {house.chapter_seconds} s"
    if not fault.seconds:
        return f"{name} begins where the film ends"
    return f"{name} begins {count(fault.seconds, 'second')} after the end of the film"


def read_chapters(text: str, known: Sequence[Chapter] = ()) -> tuple[Chapter, ...]:
    """Chapters as they are typed or pasted: a line each, its time and its title; empty lines are skipped.

    Args:
        text: the lines (`0:00 Opening`, `12:45 Inside`, `1:02:03 Findings`).
        known: chapters as they were; one of the same time keeps the words that were heard there.

    Raises:
        BadInput: a line is no time and title; which one is told.
    """
    heard = {chapter.seconds: chapter for chapter in known}
    found = []
    for number, line in enumerate(text.splitlines(), 1):
        if not line.strip():
            continue
        parts = _LINE.fullmatch(line)
        where = f"chapters, line {number}"
        if not parts:
            raise BadInput(f"'{short(line)}' is no time and title", where, "write it like 12:45 Inside")
        try:
            seconds = read_run_time(parts[1])
        except BadInput:
            raise BadInput(f"'{short(parts[1])}' is no time", where, "write it like 12:45 or 1:02:03") from None
        old = heard.get(seconds)
        title = parts[2].strip()
        found.append(replace(old, title=title) if old else Chapter(seconds, title))
    return tuple(found)


def chapter_lines(chapters: Sequence[Chapter]) -> str:
    """The chapters as plain lines: `0:00 Opening`."""
    return "\n".join(f"{clock_words(chapter.seconds)} {_one_line(chapter.title)}" for chapter in chapters)


def webvtt(chapters: Sequence[Chapter], film_seconds: int) -> str:
    """The chapters as a WebVTT file: one cue each, none over another, the last to the end of the film."""
    cues = [
        f"{_stamp(start)} --> {_stamp(end)}\n{_escaped(_one_line(title))}\n"
        for start, end, title in _spans(chapters, film_seconds)
    ]
    return "\n".join(["WEBVTT\n", *cues])


def ffmetadata(chapters: Sequence[Chapter], film_seconds: int, title: str = "") -> str:
    """The chapters as an FFmpeg metadata file: each with its unit of time and its end, without a byte order mark."""
    lines = [";FFMETADATA1"]
    if title:
        lines.append(f"title={_backslashed(title)}")
    for start, end, name in _spans(chapters, film_seconds):
        span = [f"START={start * 1000}", f"END={end * 1000}"]
        lines += ["[CHAPTER]", "TIMEBASE=1/1000", *span, f"title={_backslashed(name)}"]
    return "\n".join(lines) + "\n"


def _spans(chapters: Sequence[Chapter], film_seconds: int) -> list[tuple[int, int, str]]:
    """Beginning, end and title of each chapter, seconds."""
    ends = [*(chapter.seconds for chapter in chapters[1:]), film_seconds]
    return [(chapter.seconds, end, chapter.title) for chapter, end in zip(chapters, ends, strict=True)]


def _stamp(seconds: int) -> str:
    return f"{seconds // 3600:02}:{seconds // 60 % 60:02}:{seconds % 60:02}.000"


def _one_line(text: str) -> str:
    """Text on one line, without signs that a terminal or a player would obey."""
    return " ".join("".join(sign if sign.isprintable() else " " for sign in text).split())


def _escaped(text: str) -> str:
    """Text of a cue in which nothing is taken for a tag or for an arrow."""
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def _backslashed(text: str) -> str:
    """Text with the five signs escaped. A space follows a backslash at the end, after which FFmpeg reads on."""
    return re.sub(r"([=;#\\\n])", r"\\\1", text) + " " * text.endswith("\\")
