"""Words that mean nothing without the picture: "this bit", "over here", with no word near them that says where.

It is good for a count and a list of places; it is no blame, for many of them may be shown as they are said.
"""

from __future__ import annotations

from collections.abc import Sequence

from showrunner.planning.captions import Spoken
from showrunner.planning.terms import row

NEAR = 6
"""Words within which a word of place makes it plain what is meant."""

POINTING = tuple(
    phrase.split()
    for phrase in (
        *(
            "this bit",
            "that bit",
            "this one",
            "that one",
            "over here",
            "over there",
            "like so",
            "like this",
            "like that",
        ),
        *("can you see that", "you can see that", "just here", "right here", "up here", "down here", "in here", "here"),
        *("there", "and there", "this here", "that there", "along here", "along there", "like that there"),
    )
)
"""What points, the longest first where one is part of another."""

SET_TURNS = tuple(
    turn.split()
    for turn in (
        *("there is", "there are", "there's", "there was", "there were", "there isn't", "there aren't", "is there"),
        *(
            "are there",
            "was there",
            "were there",
            "here we go",
            "here it is",
            "here is",
            "here's",
            "here are",
            "here he",
        ),
        *("here she", "here they", "things like that", "something like that", "anything like that", "who like this"),
        *("have been there", "out there", "there would", "there must", "there may", "there might", "there will"),
        *("there should", "there has", "there had", "isn't there", "people like that", "half there", "still there"),
        *("not there", "look here", "in there", "there can", "there could", "there he", "there she", "there they"),
    )
)
"""Set turns in which they point at nothing."""

PLACES = frozenset(
    row(
        "cuff cuffs hem neck neckline collar sleeve sleeves shoulder shoulders waist hip hips bodice bib "
        "pocket pockets left front fronts seam seams lining edge edges dart darts button buttons buttonhole "
        "strap straps side inside outside corner yoke facing pleat fold folds tape cord bone bones flap "
        "gusset skirt lapel welt armhole arm underarm chest toe heel sole brim crown label ticket loop stud "
        "crease"
    )
)
"""Words that say where."""


def pointing_places(words: Sequence[Spoken]) -> tuple[int, ...]:
    """The words, by their number from 0, that point at something the ear cannot tell."""
    texts = [word.text for word in words]
    found: list[int] = []
    longest = sorted(POINTING, key=len, reverse=True)
    at = 0
    while at < len(texts):
        phrase = next((p for p in longest if texts[at] == p[0] and texts[at : at + len(p)] == p), None)
        if phrase is None:
            at += 1
            continue
        end = at + len(phrase)
        near = texts[max(0, at - NEAR) : end + NEAR]
        if not _set_turn(texts, at, end) and not any(text in PLACES for text in near):
            found.append(at)
        at = end
    return tuple(found)


def _set_turn(texts: Sequence[str], first: int, end: int) -> bool:
    """Whether the words stand in a set turn."""
    for turn in SET_TURNS:
        for at in range(max(0, first - len(turn) + 1), end):
            if list(texts[at : at + len(turn)]) == turn and at + len(turn) > first:
                return True
    return False
