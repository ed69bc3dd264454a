"""Letters four rows high, to be read from two metres: our own, drawn in half blocks, seven dots high, capitals only."""

from __future__ import annotations

import unicodedata
from functools import cache

ROWS = 4
"""Rows of the terminal that a line of letters takes, the gap below it included."""
HIGH = 7
"""Dots that a letter is high."""
SPACE = 3
"""Dots of a space."""

DRAWN = """
A .###. #...# #...# ##### #...# #...# #...#
B ####. #...# #...# ####. #...# #...# ####.
C .###. #...# #.... #.... #.... #...# .###.
D ####. #...# #...# #...# #...# #...# ####.
E ##### #.... #.... ####. #.... #.... #####
F ##### #.... #.... ####. #.... #.... #....
G .###. #...# #.... #.### #...# #...# .###.
H #...# #...# #...# ##### #...# #...# #...#
I ### .#. .#. .#. .#. .#. ###
J ..### ...#. ...#. ...#. ...#. #..#. .##..
K #...# #..#. #.#.. ##... #.#.. #..#. #...#
L #.... #.... #.... #.... #.... #.... #####
M #...# ##.## #.#.# #.#.# #...# #...# #...#
N #...# ##..# ##..# #.#.# #..## #..## #...#
O .###. #...# #...# #...# #...# #...# .###.
P ####. #...# #...# ####. #.... #.... #....
Q .###. #...# #...# #...# #.#.# #..#. .##.#
R ####. #...# #...# ####. #.#.. #..#. #...#
S .#### #.... #.... .###. ....# ....# ####.
T ##### ..#.. ..#.. ..#.. ..#.. ..#.. ..#..
U #...# #...# #...# #...# #...# #...# .###.
V #...# #...# #...# #...# .#.#. .#.#. ..#..
W #...# #...# #...# #.#.# #.#.# ##.## #...#
X #...# #...# .#.#. ..#.. .#.#. #...# #...#
Y #...# #...# .#.#. ..#.. ..#.. ..#.. ..#..
Z ##### ....# ...#. ..#.. .#... #.... #####
0 .###. #...# #..## #.#.# ##..# #...# .###.
1 .#. ##. .#. .#. .#. .#. ###
2 .###. #...# ....# ..##. .#... #.... #####
3 ####. ....# ....# .###. ....# ....# ####.
4 ...#. ..##. .#.#. #..#. ##### ...#. ...#.
5 ##### #.... ####. ....# ....# #...# .###.
6 .###. #.... #.... ####. #...# #...# .###.
7 ##### ....# ...#. ..#.. ..#.. .#... .#...
8 .###. #...# #...# .###. #...# #...# .###.
9 .###. #...# #...# .#### ....# ....# .###.
. . . . . . . #
, .. .. .. .. .. .# #.
: . . # . . # .
; .. .. .# .. .. .# #.
- ... ... ... ### ... ... ...
' # # . . . . .
" #.# #.# ... ... ... ... ...
( .# #. #. #. #. #. .#
) #. .# .# .# .# .# #.
/ ....# ....# ...#. ..#.. .#... #.... #....
+ ..... ..#.. ..#.. ##### ..#.. ..#.. .....
! # # # # # . #
? .###. #...# ....# ...#. ..#.. ..... ..#..
& .##.. #..#. #..#. .##.. #..## #..#. .##.#
% ##..# ##..# ...#. ..#.. .#... #..## #..##
= .... .... #### .... #### .... ....
… ..... ..... ..... ..... ..... ..... #.#.#
"""
UNKNOWN = ("####", "#..#", "#..#", "#..#", "#..#", "#..#", "####")
"""An empty box, for a letter that is not drawn here; the line below tells the words."""
ALIKE = str.maketrans({"“": '"', "”": '"', "„": '"', "‘": "'", "’": "'", "–": "-", "—": "-", "×": "X", "Ø": "O"})
"""Signs drawn as others are."""


@cache
def _letters() -> dict[str, tuple[str, ...]]:
    rows = [line.split() for line in DRAWN.strip().splitlines()]
    return {letter: tuple(dots) for letter, *dots in rows}


def drawn(text: str, width: int, lines: int) -> str:
    """A text in big letters.

    Args:
        text: what to draw; accents are left away.
        width: columns there are.
        lines: most lines of letters; what does not fit ends in an ellipsis.

    Returns:
        Rows of the terminal, `ROWS` for each line of letters.
    """
    found = _wrapped(_plain(text), width)
    if len(found) > lines:
        found = found[:lines]
        while found[-1] and _wide(f"{found[-1]}…") > width:
            found[-1] = found[-1][:-1]
        found[-1] += "…"
    return "\n".join(row for line in found for row in _rows(line))


def _plain(text: str) -> str:
    """Capitals without accents."""
    apart = unicodedata.normalize("NFKD", text.translate(ALIKE).upper().translate(ALIKE).replace("…", "\0"))
    return "".join(sign for sign in apart if not unicodedata.combining(sign)).replace("\0", "…")


def _dots(letter: str) -> tuple[str, ...]:
    return ("." * SPACE,) * HIGH if letter == " " else _letters().get(letter, UNKNOWN)


def _wide(text: str) -> int:
    """Columns that a line takes."""
    return sum(len(_dots(letter)[0]) + 1 for letter in text)


def _wrapped(text: str, width: int) -> list[str]:
    """The text in lines that fit; a word that is too long is cut."""
    lines: list[str] = []
    for word in text.split():
        if lines and _wide(f"{lines[-1]} {word}") <= width:
            lines[-1] += f" {word}"
            continue
        lines.append("")
        for letter in word:
            if lines[-1] and _wide(lines[-1] + letter) > width:
                lines.append("")
            lines[-1] += letter
    return lines


def _rows(line: str) -> list[str]:
    """Two dots of a column are one sign."""
    dots = [".".join(_dots(letter)[at] for letter in line) for at in range(HIGH)]
    dots.append("." * len(dots[0]))
    signs = {("#", "#"): "█", ("#", "."): "▀", (".", "#"): "▄", (".", "."): " "}
    pairs = zip(dots[::2], dots[1::2], strict=True)
    return ["".join(signs[pair] for pair in zip(upper, lower, strict=True)).rstrip() for upper, lower in pairs]
