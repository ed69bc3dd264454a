"""The wearer's left and right, and where they are in a picture.

A place on a piece is named by the wearer's left and right, never the viewer's: from the front the wearer's left is
on the right of the picture, from behind on the left. That is common practice in describing dress; no published
source was found. The piece lies or stands with its top at the top of the picture.
"""

from __future__ import annotations

import re

from showrunner.domain.piece import View

FRONTS = (View.FLAT_FACE, View.FORM_FRONT, View.FRONT)
"""Views that show a piece from the front: left and right change places."""
BACKS = (View.FLAT_REVERSE, View.FORM_BACK, View.BACK)
"""Views that show it from behind: left is left."""

_OTHER = {"left": "right", "right": "left"}
_APOSTROPHE = "['’]"
_WEARERS = re.compile(rf"\bwearer{_APOSTROPHE}?s (left|right)\b", re.IGNORECASE)
_PROPER = re.compile(r"\bproper[- ](left|right)\b", re.IGNORECASE)
_SHORT = re.compile(r"(?<![A-Za-z.])P\.?(L|R)(?:\b\.?|\.)(?![A-Za-z])")
_VIEWERS = re.compile(
    rf"\b(?:the )?(?:(?:viewer|observer|onlooker|camera){_APOSTROPHE}?s|camera|picture)[- ](left|right)\b",
    re.IGNORECASE,
)
_SEEN = re.compile(
    r"\b(?<!wearer's )(?<!wearer’s )(?<!wearers )(?<!proper )(?P<side>left|right)\b(?P<what>[^,;.()\n]*?),? "
    r"\(?(?:as (?:seen|viewed)(?: by the viewer)?|in the picture)(?: from (?:the )?(?P<from>front|back|behind))?\)?",
    re.IGNORECASE,
)


def in_picture(where: str, view: View | None) -> str:
    """Which side of the picture a place is on.

    Args:
        where: the place (`wearer's left cuff`).
        view: the view that the picture shows; None if that is not known.

    Returns:
        `left` or `right`; nothing where the view does not say, or the place names no side of the wearer or both.
    """
    named = {side.lower() for side in _WEARERS.findall(where)}
    if len(named) != 1:
        return ""
    side = named.pop()
    if view in FRONTS:
        return _OTHER[side]
    return side if view in BACKS else ""


def wearers(text: str, view: View | None = None) -> str:
    """A place in the wearer's left and right, however it was written.

    Args:
        text: the place as written: `viewer's left cuff`, `left cuff as seen`, `proper left cuff`, `PL cuff`.
        view: the view in which it was seen; None if that is not known.

    Returns:
        The place with `wearer's left` or `wearer's right`. What the viewer sees stays as written where the view
        does not show front or back; a left or right without a word for whose it is stays as it is.
    """
    text = _PROPER.sub(lambda m: f"wearer's {m[1].lower()}", text)
    text = _SHORT.sub(lambda m: "wearer's left" if m[1] == "L" else "wearer's right", text)
    text = _SEEN.sub(lambda m: _seen(m, view), text)
    return _VIEWERS.sub(lambda m: _turned(m[1], view) or m[0], text)


def _seen(match: re.Match[str], view: View | None) -> str:
    given = (match["from"] or "").lower()
    seen = View.FORM_FRONT if given == "front" else View.FORM_BACK if given else view
    side = _turned(match["side"], seen)
    return f"{side}{match['what']}" if side else match[0]


def _turned(side: str, view: View | None) -> str:
    """A side of the picture as one of the wearer's; nothing where the view does not say."""
    side = side.lower()
    if view in FRONTS:
        return f"wearer's {_OTHER[side]}"
    return f"wearer's {side}" if view in BACKS else ""
