"""Write captions of a film of the two waistcoats, three ways: all is said, two points are missed, the order is wrong.

Run `python -m demo.captions` in the project's folder; `STORY.md` says what must be found in each.
"""

from __future__ import annotations

from pathlib import Path

HOLD = 12.0
"""Seconds for which a view is held without a word."""

WELCOME = (
    "Good morning from Hobart, where it has rained since Thursday.",
    "I have two gentlemen on the table today and they were never meant to meet.",
    "The kettle is on and the table is cleared, so off we go.",
)
FLAT = (
    "So here he is lying flat on the table, and this is Septimus.",
    "",
    "Look at the embroidery on both fronts and on the pocket welts.",
    "The fronts were embroidered before anybody cut them out.",
    "And see how the welts match the pattern right across the front.",
    "He is soiled, and the soil shows you where the lapels of a coat lay.",
    "That is half a century of dinners, I should think.",
    "",
    "Over he goes, gently, on his board.",
    "The whole back has been replaced at some time.",
    "The cloth of that new back is possibly of the eighteen seventies.",
    "",
    "Now Barnaby lies flat beside the tape measure.",
    "There is quilting on both of his fronts.",
    "The quilting goes through every layer but that of the pocket.",
    "On his left front there is a watch pocket that was added later.",
    "The watch pocket is cut from another width of the same print.",
    "The print is probably block printed, by hand.",
    "",
    "At the back of the waist the straps are missing, both of them.",
    "The stitch holes show where the back straps were.",
    "",
)
INSIDE = (
    "Let's have a look at the inside of Septimus.",
    "",
    "Below the neck there is a maker's ticket.",
    "The ticket names a maker but no town at all.",
    "He was probably worn once, at a wedding in eighteen forty one.",
    "And now we turn Barnaby inside out as far as he lets us.",
    "",
    "Barnaby was made in eighteen forty five or so, we think.",
    "His lining is plain and a little scratchy.",
)
FORM = (
    "And now they are up on the form, both of them, one small and one large.",
    "",
    "",
    "He and Septimus are cut alike and they close quite differently.",
    "You would not know it from the street.",
    "",
)
FAREWELL = (
    "That was our hour in the camphorwood chest.",
    "Thank you for looking at old cloth with me.",
    "I shall put them back in their drawer, the heavy one below.",
)
MISSED = (
    "He is soiled, and the soil shows you where the lapels of a coat lay.",
    "At the back of the waist the straps are missing, both of them.",
)
"""What the second film leaves out: the soil, and that the back straps are not there."""

ALL = (*WELCOME, *FLAT, *INSIDE, *FORM, *FAREWELL)
TWO_MISSED = tuple(line for line in ALL if line not in MISSED)
WRONG_ORDER = (*WELCOME, *FORM, *INSIDE, *FLAT, *FAREWELL)

Cues = list[tuple[float, float, str]]


def spoken(lines: tuple[str, ...]) -> Cues:
    """The cues of a film: each line takes as long as it is to speak, and an empty one is a view that is held."""
    now, found = 4.0, []
    for line in lines:
        if not line:
            now += HOLD
            continue
        length = 0.4 + len(line.split()) * 0.42
        found.append((now, now + length, line))
        now += length + 1.2
    return found


def webvtt(cues: Cues) -> str:
    """The cues as WebVTT."""
    blocks = [f"{_clock(start, '.')} --> {_clock(end, '.')}\n{text}\n" for start, end, text in cues]
    return "\n".join(["WEBVTT\n", *blocks])


def subrip(cues: Cues) -> str:
    """The cues as SubRip."""
    rows = enumerate(cues, 1)
    return "\n".join(f"{n}\n{_clock(start, ',')} --> {_clock(end, ',')}\n{text}\n" for n, (start, end, text) in rows)


def _clock(seconds: float, point: str) -> str:
    whole = round(seconds * 1000)
    return f"{whole // 3600000:02}:{whole // 60000 % 60:02}:{whole // 1000 % 60:02}{point}{whole % 1000:03}"


FILES = {
    "waistcoats-all.vtt": webvtt(spoken(ALL)),
    "waistcoats-two-missed.srt": subrip(spoken(TWO_MISSED)),
    "waistcoats-wrong-order.vtt": webvtt(spoken(WRONG_ORDER)),
}
"""Every file by its name."""


def write(folder: Path) -> None:
    """Write the files into a folder, in place of what is there."""
    for name, text in FILES.items():
        (folder / name).write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    write(Path(__file__).parent)
    print("wrote", *FILES)
