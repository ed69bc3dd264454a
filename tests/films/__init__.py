"""Invented films: captions of a speaker who says some of what had to be said, hints at some, and forgets some."""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from pathlib import Path

from showrunner.domain.package import Part
from showrunner.planning.hearing import Sayable

HERE = Path(__file__).parent
OPENINGS = {
    Part.FLAT: ("so here it is lying flat", "right it is laid out flat now"),
    Part.INSIDE: ("let's have a look inside", "now we turn it inside out"),
    Part.FORM: ("and now it is up on the stand", "here it is on the form"),
    Part.SIDE: ("and here they are side by side", "let me put the two next to each other"),
    Part.FINDINGS: ("so what did i find", "and what have we learned from it"),
}
SMALL = ("um", "er", "like", "you know", "i mean", "the", "a", "it", "of", "and")


@dataclass
class Line:
    """Something that had to be said, and how it may be."""

    thing: Sayable
    sayings: tuple[str, str]
    hint: str
    wrong: str


@dataclass
class Study:
    """An invented study."""

    id: str
    pieces: tuple[str, ...]
    lines: list[Line] = field(default_factory=list)


@dataclass
class InventedFilm:
    """A film, and what is true of it."""

    words: list[tuple[str, float]]
    said: dict[str, float]
    wrong: set[str]
    starts: dict[Part, float]

    @property
    def end(self) -> float:
        return self.words[-1][1] + 1.5


def studies() -> list[Study]:
    found: list[Study] = []
    for row in (HERE / "sayings.txt").read_text(encoding="utf-8").splitlines():
        cells = row.split("|")
        if row.startswith("#"):
            continue
        if len(cells) == 4:
            found.append(Study(cells[0], tuple(cells[2].split(","))))
            continue
        part, piece, text, absent, near, loose, hint, wrong = cells
        id = f"{found[-1].id}.{len(found[-1].lines)}"
        thing = Sayable(id, text, Part(PARTS[part]), piece, bool(absent))
        found[-1].lines.append(Line(thing, (near, loose), hint, wrong))
    return found


PARTS = {"flat": "flat", "inside": "inside", "form": "form", "side": "side by side", "findings": "findings"}
FILLERS = (HERE / "fillers.txt").read_text(encoding="utf-8").splitlines()


def invented(
    study: Study, seed: int, *, minutes: float = 25, errors: float = 0.06, wrong: float = 0.0, announced: float = 0.7
) -> InventedFilm:
    """A film of a study: about two in three things said, some hinted at, some not at all, a few late or wrongly."""
    rng = random.Random(f"{study.id} {seed}")
    order: dict[Part, list[tuple[Line | None, str]]] = {}
    said: dict[str, float] = {}
    wrongly: set[str] = set()
    states: dict[str, str] = {}
    late: list[tuple[Line, str]] = []
    for line in study.lines:
        part = line.thing.part
        assert part
        chance = rng.random()
        saying = rng.choice(line.sayings)
        if line.wrong and rng.random() < wrong:
            states[line.thing.id] = "wrong"
            wrongly.add(line.thing.id)
            order.setdefault(part, []).append((line, line.wrong))
        elif chance < 0.62:
            states[line.thing.id] = "said"
            if rng.random() < 0.1:
                late.append((line, saying))
                order.setdefault(part, [])
            else:
                order.setdefault(part, []).append((line, saying))
                if rng.random() < 0.15:
                    order[part].insert(0, (None, line.hint))
        elif chance < 0.82:
            states[line.thing.id] = "hinted"
            order.setdefault(part, []).append((None, line.hint))
        else:
            order.setdefault(part, [])
    last = max(order, key=list(Part).index)
    order[last] += late
    total = int(minutes * 60 * 2.6)
    told = sum(len(text.split()) for rows in order.values() for _, text in rows)
    between = max(8, (total - told) // (1 + sum(map(len, order.values()))))
    words: list[tuple[str, float]] = []
    now = 3.0
    starts: dict[Part, float] = {}
    last_filler = ""

    def speak(text: str, *, pause: float = 0.3) -> float:
        nonlocal now
        now += pause
        begin = now
        for word in text.split():
            for heard in _misheard(word, rng, errors):
                words.append((heard, now))
                now += 0.08 + 0.055 * len(heard)
        return begin

    def ramble(length: int) -> None:
        nonlocal last_filler
        before = len(words)
        while len(words) - before < length:
            last_filler = rng.choice([filler for filler in FILLERS if filler != last_filler])
            speak(last_filler, pause=rng.choice((0.2, 0.4, 0.9)))

    ramble(40)
    for part in (p for p in Part if p in order):
        starts[part] = speak(rng.choice(OPENINGS[part]), pause=1.6) if rng.random() < announced else now
        for line, text in order[part]:
            ramble(between)
            at = speak(text, pause=0.6)
            if line and states[line.thing.id] == "said":
                said[line.thing.id] = at
    ramble(40)
    return InventedFilm(words, said, wrongly, starts)


def _misheard(word: str, rng: random.Random, errors: float) -> list[str]:
    """A word as captions have it: mostly itself."""
    if rng.random() > errors * (2.5 if len(word) > 7 else 1):
        return [word]
    kind = rng.random()
    if len(word) > 5:
        half = len(word) // 2
        if kind < 0.4:
            return [word[:half], word[half:]]
        if kind < 0.8:
            vowel = [at for at, c in enumerate(word) if c in "aeiou"]
            at = rng.choice(vowel) if vowel else half
            return [word[:at] + rng.choice("aeiou") + word[at + 1 :]]
        return [word[:-1]]
    if kind < 0.3:
        return []
    if kind < 0.6:
        return [word, rng.choice(SMALL)]
    return [rng.choice(SMALL)]


def _clock(seconds: float, point: str = ".") -> str:
    whole = round(seconds * 1000)
    return f"{whole // 3600000:02}:{whole // 60000 % 60:02}:{whole // 1000 % 60:02}{point}{whole % 1000:03}"


def as_words(film: InventedFilm, shift: float = 3600.0) -> bytes:
    """One cue a word, the clock beginning at one hour."""
    ends = [at for _, at in film.words[1:]] + [film.end]
    cues = [
        f"{_clock(at + shift)} --> {_clock(end + shift)}\n{w}\n" for (w, at), end in zip(film.words, ends, strict=False)
    ]
    return ("WEBVTT\n\nNOTE one word a cue\n\n" + "\n".join(cues)).encode()


def as_blocks(film: InventedFilm) -> bytes:
    """SubRip: a byte order mark, both line ends, two lines a cue, noises."""
    out = []
    rows = [film.words[at : at + 9] for at in range(0, len(film.words), 9)]
    for number, row in enumerate(rows, 1):
        end = rows[number][0][1] if number < len(rows) else film.end
        text = " ".join(w for w, _ in row[:5]) + "\n" + " ".join(w for w, _ in row[5:])
        noise = "[Music] " if number % 40 == 1 else ""
        out.append(f"{number}\n{_clock(row[0][1], ',')} --> {_clock(end, ',')}\n<i>{noise}{text.strip()}</i>\n")
    return b"\xef\xbb\xbf" + "\n".join(out).replace("\n", "\r\n").encode()


def as_rolling(film: InventedFilm) -> bytes:
    """Two rolling lines, each up to three times, with the clock of each word inside."""
    rows = [film.words[at : at + 7] for at in range(0, len(film.words), 7)]
    out = ["WEBVTT\nKind: captions\nLanguage: en\n"]
    before = " "
    for number, row in enumerate(rows):
        end = rows[number + 1][0][1] if number + 1 < len(rows) else film.end
        first, *rest = row
        clocked = first[0] + "".join(f"<{_clock(at)}><c> {w}</c>" for w, at in rest)
        out.append(f"{_clock(first[1])} --> {_clock(end - 0.01)} align:start position:0%\n{before}\n{clocked}\n")
        before = " ".join(w for w, _ in row)
        out.append(f"{_clock(end - 0.01)} --> {_clock(end)} align:start position:0%\n{before}\n \n")
    return "\n".join(out).encode()


FORMS = {"rolling.vtt": as_rolling, "blocks.srt": as_blocks, "words.vtt": as_words}
