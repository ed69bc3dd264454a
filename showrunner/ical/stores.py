"""Where calendar entries are kept one by one, each under its own name: a folder, or a calendar on a server.

A store tells a tag for every entry, which is another one as soon as anybody changes the entry. What is written names
the tag it is to replace, so nothing that somebody else changed meanwhile is written over.
"""

from __future__ import annotations

from typing import Protocol

from showrunner.domain.record import record


class ChangedThere(Exception):
    """The entry is not, or no longer, what was to be replaced; nothing was written."""


class OtherName(Exception):
    """The store holds this entry under another name; nothing was written."""


@record
class Stored:
    """An entry as a store holds it."""

    tag: str
    """Its tag; empty if the store does not tell."""
    data: bytes
    """The iCalendar object."""


class Store(Protocol):
    """A place where entries are kept one by one.

    Every method raises a ShowrunnerError with one sentence if the store cannot be reached or refuses.
    """

    @property
    def address(self) -> str:
        """Tells it from every other store; holds no password."""
        ...

    def tags(self) -> dict[str, str]:
        """The tag of every entry there is, by name."""
        ...

    def read(self, name: str) -> Stored | None:
        """An entry; None if there is none."""
        ...

    def put(self, name: str, data: bytes, tag: str | None) -> str:
        """Write an entry.

        Args:
            name: its name.
            data: the iCalendar object.
            tag: the tag of what it replaces; None if there is to be nothing yet.

        Returns:
            Its new tag; empty if the store does not tell it.

        Raises:
            ChangedThere: what is there has another tag.
            OtherName: the same entry is there under another name.
        """
        ...

    def delete(self, name: str, tag: str) -> None:
        """Delete an entry; one that is gone already is no error.

        Raises:
            ChangedThere: it has another tag.
        """
        ...
