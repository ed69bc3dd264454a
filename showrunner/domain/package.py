"""What belongs to the publication of a study beside the film: her words, chapters, stills, and what was put right."""

from __future__ import annotations

from datetime import date
from enum import StrEnum

from showrunner.domain.record import record
from showrunner.errors import BadInput


class Part(StrEnum):
    """What a stretch of a film is about, in the order in which it is filmed."""

    FLAT = "flat"
    """The pieces lying flat."""
    INSIDE = "inside"
    """Their insides."""
    FORM = "form"
    """The pieces on a form or stand."""
    SIDE = "side by side"
    """Two of them together."""
    FINDINGS = "findings"
    """What was found, and what is made of it."""


@record
class Chapter:
    """One chapter of a film."""

    seconds: int
    """Where it begins, seconds from the start of the film."""
    title: str
    """Its title."""
    opening: str = ""
    """The words spoken there, in small letters, from which the openings of other films are learnt; empty if typed."""
    part: Part | None = None
    """What it is about; None if it was typed."""

    def __post_init__(self) -> None:
        if self.seconds < 0:
            raise BadInput("a chapter cannot begin before the film", self.title, "give 0:00 or later")
        if not self.title.strip():
            raise BadInput("a chapter needs a title", "chapters", "give it one")


@record
class Heard:
    """A point that the owner has taken as said in the film."""

    point: str
    """Id of the point."""
    seconds: int
    """Where, seconds from the start of the film."""


@record
class Still:
    """One still picture for the small daily posts."""

    piece: str
    """Id of the piece it shows."""
    what: str
    """What it shows (`flat face`, `orchard stamp`)."""
    alt: str = ""
    """What it shows in words, for who cannot see it; empty for the words made from the piece."""
    posted: date | None = None
    """The day it was posted; None while it is banked."""

    def __post_init__(self) -> None:
        if not self.what.strip():
            raise BadInput("a still needs words", "stills", "say what it shows")


@record
class Corrected:
    """A correction that was put into the description of a study that was out already."""

    piece: str
    """Id of the piece whose claim changed."""
    about: str
    """What the claim is about."""
    value: str
    """What it says now."""
    done: date
    """The day it was put there."""


@record
class Package:
    """What was made ready for the publication of a study; what is empty is made from the book."""

    title: str = ""
    """Title of the publication; empty for that of the study."""
    description: str = ""
    """The description as the owner wrote it; empty for the one made from her template."""
    made: str = ""
    """The description as the book made it when she wrote hers; what differs from it now is offered."""
    chapters: tuple[Chapter, ...] = ()
    """The chapters she took or typed, in order."""
    captions: str = ""
    """Name of the captions file from which something was taken; empty if none was."""
    captions_digest: str = ""
    """SHA-256 of that file, in hexadecimal."""
    heard: tuple[Heard, ...] = ()
    """Points she took as said, from the captions."""
    related: tuple[str, ...] = ()
    """Ids of the studies it links to, in order."""
    stills: tuple[Still, ...] = ()
    """Still pictures for the small posts, oldest first."""
    corrected: tuple[Corrected, ...] = ()
    """Corrections put into its description after it was out."""


NOTHING = Package()
"""Nothing made ready by hand."""
