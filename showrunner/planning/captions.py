"""Captions of a film as they come: read tolerantly, with the words in the order in which they were spoken.

Libraries lose cues without a word (a comma where a point should be, a blank line inside a cue), so every arrow in the
file is counted and held against the cues that were read. Rolling captions show a line up to three times; of what is
repeated each word is kept once.
"""

from __future__ import annotations

import codecs
import html
import re
from collections.abc import Sequence
from itertools import pairwise

from showrunner.domain.record import record
from showrunner.errors import BadInput

ARROW = "-->"
LATE_START = 59 * 60
"""A film whose first cue comes at this second or later has a clock that begins at a whole hour."""
LONGEST_RUN = 40
"""Most words that a cue may repeat of what stands before it."""
CLOSE = 0.6
"""Seconds after the last cue within which a repeated start is a repetition."""
PAUSE = 30.0
"""Seconds after which no repetition is looked for."""

_TIME = r"(?:(\d{1,3}):)?(\d{1,2}):(\d{1,2})(?:[.,](\d{1,9}))?"
_SPAN = re.compile(rf"^[^\S\n]*{_TIME}[^\S\n]*-+>[^\S\n]*{_TIME}(?!\d)[^\n]*$", re.MULTILINE)
_INNER = re.compile(rf"<{_TIME}>")
_TAG = re.compile(r"<[^>\n]*>|\{\\[^}\n]*\}")
_NOISE = re.compile(r"\[[^\]\n]*\]|\([A-Z][A-Z ]+\)|♪|>>+")
_ASIDE = re.compile(r"(NOTE|STYLE|REGION)\b")
_WORD = re.compile(r"[^\W_]+(?:['’][^\W_]+)*")


@record
class Cue:
    """One caption."""

    start: float
    """When it comes, seconds from the start of the film."""
    end: float
    """When it goes."""
    text: str
    """Its words on one line, without tags and noises."""


@record
class Spoken:
    """One spoken word."""

    text: str
    """The word, in small letters."""
    at: float
    """When, seconds from the start of the film."""
    cue: int
    """The cue it stands in, from 0."""


@record
class Captions:
    """The captions of a film."""

    cues: tuple[Cue, ...]
    """The cues by their start."""
    words: tuple[Spoken, ...]
    """The words as they were spoken, each once."""
    arrows: int
    """Arrows in the file; more than there are cues if some could not be read."""
    hours_taken_off: int
    """Whole hours by which the clock of the file was ahead."""

    @property
    def lost(self) -> int:
        """Cues that could not be read."""
        return self.arrows - len(self.cues)

    @property
    def end(self) -> float:
        """When the last cue goes, seconds."""
        return max((cue.end for cue in self.cues), default=0.0)


def spoken_words(text: str) -> tuple[Spoken, ...]:
    """The words of any text as spoken ones, without a time."""
    return tuple(Spoken(word.lower(), 0.0, 0) for word in _WORD.findall(text))


def decoded(data: bytes) -> str:
    """The text of a captions file: by its byte order mark, as UTF-8, or as Windows-1252."""
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return data.decode("utf-16", "replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", "replace")


def read_captions(data: bytes, name: str) -> Captions:
    """Read a captions file, WebVTT or SubRip, as far as it can be read.

    Args:
        data: the file.
        name: its name, for errors.

    Raises:
        BadInput: there is no cue in it with times.
    """
    text = decoded(data).replace("\r\n", "\n").replace("\r", "\n").replace("\0", "")
    spans = list(_SPAN.finditer(text))
    if not spans:
        raise BadInput("no times are in it", name, "choose captions with lines like 00:01:02.500 --> 00:01:05.000")
    raw = []
    for at, span in enumerate(spans):
        stop = spans[at + 1].start() if at + 1 < len(spans) else len(text)
        lines = _lines(text[span.end() : stop], last=at + 1 == len(spans))
        raw.append((_seconds(span.groups()[:4]), _seconds(span.groups()[4:]), lines))
    raw.sort(key=lambda cue: cue[0])
    hours = int(raw[0][0] // 3600) + (raw[0][0] % 3600 >= LATE_START) if raw[0][0] >= LATE_START else 0
    shift = 3600.0 * hours if raw[0][0] >= 3600 * hours else 0.0
    cues, words = [], list[Spoken]()
    for at, (start, end, lines) in enumerate(raw):
        begins, ends = start - shift, max(start, end) - shift
        clocked = _clocked(lines, shift)
        cues.append(Cue(begins, ends, " ".join(" ".join(_plain(line) for line in lines).split())))
        repeated = _repeated(words, clocked, lines, cues) if at else 0
        words += [Spoken(word, when, at) for word, when in _timed(clocked[repeated:], begins, ends)]
    if not words:
        raise BadInput("its cues hold no words", name, "choose the captions of the finished film")
    short = sum(ARROW not in span[0] for span in spans)
    return Captions(tuple(cues), tuple(words), text.count(ARROW) + short, int(shift) // 3600)


def _seconds(parts: Sequence[str | None]) -> float:
    hours, minutes, seconds, fraction = parts
    return int(hours or 0) * 3600 + int(minutes or 0) * 60 + int(seconds or 0) + float(f"0.{fraction or 0}")


def _lines(block: str, *, last: bool) -> list[str]:
    """The lines of a cue: all up to the next one, without that one's number and without notes between them.

    A number, or a name, stands right above the times of its cue, and a blank line above it.
    """
    lines = block.split("\n")
    if not last and len(lines) > 2 and lines[-2].strip() and (lines[-2].strip().isdigit() or not lines[-3].strip()):
        del lines[-2]
    kept: list[str] = []
    aside = False
    for above, line in pairwise(lines):
        if not line.strip():
            aside = False
            continue
        aside = aside or bool(not above.strip() and kept and _ASIDE.match(line))
        if not aside:
            kept.append(line)
    return kept


def _plain(line: str) -> str:
    if line.isalpha():
        return line
    return _NOISE.sub(" ", html.unescape(_TAG.sub("", line)))


def _clocked(lines: Sequence[str], shift: float) -> list[tuple[str, float | None]]:
    """The words of a cue, each with the clock that stands before it in its line, if one does."""
    if len(lines) == 1 and lines[0].isalpha():
        return [(lines[0].lower(), None)]
    found: list[tuple[str, float | None]] = []
    for line in lines:
        parts = _INNER.split(line)
        now = None
        for at in range(0, len(parts), 5):
            if at:
                now = _seconds(parts[at - 4 : at]) - shift
            found += [(word.lower(), now) for word in _WORD.findall(_plain(parts[at]))]
    return found


def _timed(words: Sequence[tuple[str, float | None]], start: float, end: float) -> list[tuple[str, float]]:
    """New words of a cue, each with when it is spoken: by the clocks inside it, or shared out by letters."""
    if any(at is not None for _, at in words):
        return [(word, start if at is None else at) for word, at in words]
    letters = sum(len(word) for word, _ in words)
    spread = []
    passed = 0
    for word, _ in words:
        spread.append((word, start + (end - start) * passed / letters))
        passed += len(word)
    return spread


def _repeated(
    words: Sequence[Spoken], clocked: Sequence[tuple[str, float | None]], lines: Sequence[str], cues: Sequence[Cue]
) -> int:
    """How many words at the start of a cue only repeat the end of what stands before it."""
    gap = cues[-1].start - max(cue.end for cue in cues[-3:-1])
    least = 1 if gap < 0 else 2
    if gap > PAUSE or len(clocked) < least:
        return 0
    new = [word for word, _ in clocked[:LONGEST_RUN]]
    tail = [word.text for word in words[-len(new) :]]
    longest = 0
    for at, word in enumerate(tail):
        if word == new[0] and tail[at:] == new[: len(tail) - at]:
            longest = len(tail) - at
            break
    if longest < least:
        return 0
    if gap > CLOSE and (longest == len(clocked) or longest < len(_WORD.findall(_plain(lines[0])))):
        return 0  # a sentence that was said again, not a line that rolls on
    return longest
