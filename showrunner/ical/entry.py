"""One calendar entry of ours, its permanent UID, and the canonical text the log keeps of it."""

from __future__ import annotations

import json
import re
from dataclasses import fields
from datetime import date, datetime
from uuid import UUID, uuid5

from showrunner.domain.record import record
from showrunner.errors import BookDamaged

_LINE_ENDS = re.compile(r"\r\n|[\r\v\f\x1c-\x1e\x85\u2028\u2029]")
_CONTROLS = re.compile(r"[\x00-\x08\x0e-\x1f\x7f-\x9f]")
_SURROGATES = re.compile(r"[\ud800-\udfff]")


def clean(text: str) -> str:
    """User text as iCalendar can carry it: RFC 5545 3.1 allows no control character but the tab.

    Every kind of line end becomes a newline, other control characters are dropped, and a lone
    surrogate (half a character, which UTF-8 cannot hold) becomes the replacement character.
    """
    return _SURROGATES.sub("\ufffd", _CONTROLS.sub("", _LINE_ENDS.sub("\n", text)))


def make_uid(book_key: str, thing: str) -> str:
    """The permanent UID of a thing of the book.

    It depends on the book's random id and the thing's permanent id alone, so re-exports update
    and never duplicate; it names no user, host or domain (RFC 7986 5.3).

    Args:
        book_key: the book's own id, UUID text.
        thing: what the entry is about, such as `episode:apron:slot`.

    Raises:
        BookDamaged: the book's id is not a UUID.
    """
    try:
        namespace = UUID(book_key)
    except ValueError:
        what = f"the mark by which calendars know this book, '{book_key}', is damaged"
        raise BookDamaged(what, "book", "restore a backup") from None
    return str(uuid5(namespace, thing.encode("utf-8", "backslashreplace").decode()))


@record
class Entry:
    """One entry of the calendar, its text already cleaned."""

    uid: str
    """Permanent UID."""
    summary: str
    """The line every calendar shows."""
    start: date | datetime
    """First day of an all-day entry, or the UTC instant of a timed one."""
    end: date | datetime
    """Exclusive end, of the same type."""
    status: str
    """`CONFIRMED` or `TENTATIVE`."""
    categories: tuple[str, ...] = ()
    """Categories."""
    description: str = ""
    """Longer text."""
    link: str = ""
    """Where it can be watched; empty if nowhere or not an address."""
    alarm_minutes: int | None = None
    """Minutes before the start at which to remind (all-day: before the reader's midnight); None for no alarm."""
    alarm_text: str = ""
    """What the reminder says."""

    def to_text(self) -> str:
        """The canonical text: equal for two entries if and only if everything exported is equal."""
        facts = {name: getattr(self, name) for name in _FACTS}
        return json.dumps(facts | {"start": self.start.isoformat(), "end": self.end.isoformat()}, sort_keys=True)

    @classmethod
    def from_text(cls, text: str) -> Entry:
        """The entry that :meth:`to_text` wrote.

        Raises:
            BookDamaged: the text is no such entry.
        """
        try:
            facts = json.loads(text)
            for name in ("start", "end"):
                value = facts[name]
                facts[name] = datetime.fromisoformat(value) if "T" in value else date.fromisoformat(value)
            return cls(**facts | {"categories": tuple(facts["categories"])})
        except (ValueError, TypeError, KeyError):
            raise BookDamaged("what calendars were told cannot be read", "book", "restore a backup") from None


_FACTS = tuple(field.name for field in fields(Entry))
