"""The errors a user can cause, each one plain sentence: what is wrong, where, and what to do.

Every layer raises these and none other for what a person did; the command line and the
screens print :meth:`ShowrunnerError.sentence` and never a traceback.
"""

from __future__ import annotations

import re

LONGEST = 299
"""Most characters of a sentence."""
LEAST = 90
"""Characters that what is wrong has, however long the way out is."""


def fitting(text: str, room: int = LONGEST) -> str:
    """A sentence cut to a length: first words that no reader could want whole, such as a path, then its end.

    Args:
        text: the sentence.
        room: most characters.
    """
    for most in (120, 80, 40):
        if len(text) > room:
            text = re.sub(rf"\S{{{most + 1},}}", lambda word: _middle_cut(word[0], most), text)  # noqa: B023
    return text if len(text) <= room else f"{text[: max(0, room - 1)]}…"


def _middle_cut(word: str, most: int) -> str:
    half = (most - 1) // 2
    return f"{word[:half]}…{word[-half:]}"


class ShowrunnerError(Exception):
    """Something the user can put right.

    Args:
        what: what is wrong, in words, with the number by which it fails if there is one.
        where: the thing, file, field or line it is about; empty where `what` names it.
        way_out: what to do about it; empty only where nothing can be done.
    """

    exit_code = 2
    """Exit code of a command that ends with this error: 2 is bad usage or input."""

    line = ""
    """Name of the line of a form that it is about; empty where none is told."""

    def __init__(self, what: str, where: str = "", way_out: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.where = where
        self.way_out = way_out

    def sentence(self) -> str:
        """Say the whole error as one sentence: where, what, way out.

        The way out is cut last, for it may be a command; so it leaves just enough room to tell what is wrong.
        """
        text = f"{self.where}: {self.what}" if self.where else self.what
        if not self.way_out:
            return fitting(text.rstrip("."), LONGEST - 1) + "."
        if len(text) + len(self.way_out) + 3 > LONGEST:
            way_out = fitting(self.way_out.rstrip("."), LONGEST - LEAST)
            return f"{fitting(text, LONGEST - len(way_out) - 3)}; {way_out}."
        return f"{text}; {self.way_out}".rstrip(".") + "."

    def __str__(self) -> str:
        return self.sentence()


class BadInput(ShowrunnerError):
    """A value that cannot be: an impossible date, hours beyond a day, a window that ends before it starts."""


class UnknownThing(ShowrunnerError):
    """A piece, episode, series or slot that the book does not hold."""


class Contradiction(ShowrunnerError):
    """Promises that cannot all be kept; `parties` names every one of them.

    Args:
        what: the clash in words, naming every party.
        where: where it shows (a slot, a series).
        way_out: one way out.
        parties: ids of the episodes, pins or windows that clash.
        rule: name of the hard rule that stands against them; empty if none does.
        members: what of the book takes part and could be relaxed (`domain.rules.Member`).
    """

    def __init__(
        self,
        what: str,
        where: str = "",
        way_out: str = "",
        parties: tuple[str, ...] = (),
        rule: str = "",
        members: tuple[object, ...] = (),
    ) -> None:
        super().__init__(what, where, way_out)
        self.parties = parties
        self.rule = rule
        self.members = members


class CannotWrite(ShowrunnerError):
    """A file or folder that cannot be written; what was there before is untouched."""


class OthersCalendar(CannotWrite):
    """A calendar file that another book wrote; it is left as it is."""


class ServerTrouble(ShowrunnerError):
    """A server that cannot be reached, or does not do what is asked; what it did before stays done."""


class BookInUse(ShowrunnerError):
    """Another window holds the book's lock."""

    exit_code = 3


class BookDamaged(ShowrunnerError):
    """A book file that cannot be read, or that a newer version wrote; the file is left as it is."""

    exit_code = 3
