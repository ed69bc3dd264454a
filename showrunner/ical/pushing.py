"""The calendar put entry by entry into a store: what is new, changed or dropped, and nothing of anybody else's.

Only what was put is changed or deleted, and only while it is as it was put: what somebody changed, moved or deleted
there is told and left. It may stop anywhere; done again it goes on, for what is there already is known by what it says.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime
from enum import StrEnum
from hashlib import sha256

from showrunner.domain.record import record
from showrunner.errors import ShowrunnerError
from showrunner.ical.entry import clean
from showrunner.ical.stores import ChangedThere, OtherName, Store
from showrunner.ical.writer import Revision, entry_bytes
from showrunner.storage.put_list import Put

_SAYS_NOTHING = ("DTSTAMP", "LAST-MODIFIED", "CREATED", "SEQUENCE", "CLASS", "PRIORITY")
"""Properties that programs add or renew by themselves."""


class Deed(StrEnum):
    """What is done with an entry, or would be."""

    NEW = "new"
    """It is put for the first time, or again."""
    CHANGED = "changed"
    """It is put in place of what was put before."""
    DELETED = "deleted"
    """It was dropped."""
    UNCHANGED = "unchanged"
    """It is there as it should be."""
    CHANGED_THERE = "changed there"
    """Somebody changed it there; left as it is."""
    DELETED_THERE = "deleted there"
    """Somebody deleted it there, or moved it away; left so."""
    IN_THE_WAY = "in the way"
    """Something that was not put by this book has its name; left as it is."""
    OTHER_NAME = "other name"
    """It is there under another name; left as it is."""


CONFLICTS = (Deed.CHANGED_THERE, Deed.DELETED_THERE, Deed.IN_THE_WAY, Deed.OTHER_NAME)
"""What is told and left."""


@record
class Step:
    """One entry, and what is done with it."""

    deed: Deed
    """What."""
    uid: str
    """Its UID."""
    summary: str = ""
    """What it is called; empty where the book does not know any more."""
    ours: date | datetime | None = None
    """When it starts in the book; None if it was dropped."""
    there: date | datetime | None = None
    """When it starts there, if that was looked at and can be told."""


@record
class Seen:
    """What an entry says."""

    digest: str
    """The same for two entries that say the same, however they are written."""
    summary: str
    """What it is called."""
    start: date | datetime | None
    """When it starts; None if that cannot be told."""


def name_of(uid: str) -> str:
    """The name of an entry in a store."""
    return f"{uid}.ics"


def seen(data: bytes) -> Seen | None:
    """What the entry of an iCalendar object says; None if that cannot be read or is not one event."""
    from icalendar import Calendar

    try:
        events = Calendar.from_ical(data).walk("VEVENT")
        if len(events) != 1:
            return None
        event = events[0]
        told = [(name, _said(value)) for name, value in event.property_items(recursive=False) if _counts(name)]
        told += [("alarm", _said(alarm["TRIGGER"])) for alarm in event.walk("VALARM") if "TRIGGER" in alarm]
        summary, start = str(event.get("SUMMARY", "")), getattr(event.get("DTSTART"), "dt", None)
    except (ValueError, TypeError, AttributeError, LookupError, OverflowError):
        return None
    return Seen(sha256(repr(sorted(told)).encode("utf-8", "backslashreplace")).hexdigest(), clean(summary), start)


def _counts(name: str) -> bool:
    return name not in _SAYS_NOTHING and not name.startswith("X-") and name not in ("BEGIN", "END")


def _said(value: object) -> str:
    """What a property says, whatever form it is written in."""
    moment = getattr(value, "dt", None)
    if isinstance(moment, datetime) and moment.tzinfo:
        return moment.astimezone(UTC).isoformat()
    if moment is not None:
        return str(moment)
    text = value.to_ical() if hasattr(value, "to_ical") else str(value)
    return text.decode() if isinstance(text, bytes) else text


class Push:
    """One go at bringing a store up to date.

    Args:
        store: the store.
        before: what was put there, by UID.
        wanted: the entries it is to hold; cancelled ones are not among them.
        take_back: whether what was changed or deleted there is put in place again.
        write: whether anything is written; without it only what would be done is told.
    """

    def __init__(
        self,
        store: Store,
        before: Mapping[str, Put],
        wanted: Sequence[Revision],
        *,
        take_back: bool = False,
        write: bool = False,
    ) -> None:
        self._store = store
        self.put = dict(before)
        """What was put, brought up to date with each step."""
        self.steps: list[Step] = []
        """What was done so far, or would be."""
        self._wanted = {revision.entry.uid: revision for revision in wanted if not revision.cancelled}
        self._take_back = take_back
        self._write = write
        self._untagged: list[str] = []

    def run(self, begin: Callable[[], None] = lambda: None) -> None:
        """Look at the store, and do what is to be done.

        Args:
            begin: called once the store has answered, before anything is written.

        Raises:
            ShowrunnerError: the store cannot be reached or refuses; `put` and `steps` tell what was done until then.
        """
        tags = self._store.tags()
        begin()
        for uid, revision in self._wanted.items():
            self._bring(uid, revision, tags.get(name_of(uid)))
        for uid in [uid for uid in self.put if uid not in self._wanted]:
            self._drop(uid, tags.get(name_of(uid)))
        self._ask_for_tags()

    def _bring(self, uid: str, revision: Revision, tag: str | None) -> None:
        """Bring one entry up to date; `tag` is that of what is there, None if nothing is."""
        data = entry_bytes(revision)
        fresh, before = seen(data), self.put.get(uid)
        digest = fresh.digest if fresh else ""
        if tag is None:
            if before and before.tag and not self._take_back:
                self._tell(Deed.DELETED_THERE, revision)
            else:
                self._send(revision, data, digest, None)
        elif before and before.tag == tag:
            if before.digest == digest:
                self._tell(Deed.UNCHANGED, revision)
            else:
                self._send(revision, data, digest, tag)
        else:
            self._settle(revision, data, digest)

    def _settle(self, revision: Revision, data: bytes, digest: str) -> None:
        """Bring an entry up to date of which the store holds another state than the one that was put."""
        uid = revision.entry.uid
        before, stored = self.put.get(uid), self._store.read(name_of(uid))
        if stored is None:
            self._tell(Deed.DELETED_THERE, revision)
            return
        there = seen(stored.data)
        says = there.digest if there else ""
        if says == digest:
            self.put[uid] = Put(stored.tag, digest)
            self._tell(Deed.UNCHANGED, revision)
        elif self._take_back or (before and says in (before.digest, before.sent)):
            self._send(revision, data, digest, stored.tag)
        else:
            self._tell(Deed.CHANGED_THERE if before else Deed.IN_THE_WAY, revision, there)

    def _send(self, revision: Revision, data: bytes, digest: str, tag: str | None) -> None:
        uid = revision.entry.uid
        if self._write:
            before = self.put.get(uid)
            self.put[uid] = replace(before or Put("", ""), sent=digest)  # in case the answer is lost
            try:
                told = self._store.put(name_of(uid), data, tag)
            except (ChangedThere, OtherName) as error:
                self.put.pop(uid)
                self.put.update({uid: before} if before else {})
                self._lost(revision, digest, Deed.OTHER_NAME if isinstance(error, OtherName) else Deed.DELETED_THERE)
                return
            self.put[uid] = Put(told, digest)
            if not told:
                self._untagged.append(uid)
        self._tell(Deed.NEW if tag is None else Deed.CHANGED, revision)

    def _lost(self, revision: Revision, digest: str, otherwise: Deed) -> None:
        """What stands there is not what was to be replaced; perhaps an answer was lost and it is what was just put.

        `otherwise`: what is told if nothing stands there.
        """
        uid = revision.entry.uid
        stored = self._store.read(name_of(uid))
        there = seen(stored.data) if stored else None
        if stored and there and there.digest == digest:
            self.put[uid] = Put(stored.tag, digest)
            self._tell(Deed.NEW, revision)
        else:
            self._tell(Deed.CHANGED_THERE if stored else otherwise, revision, there)

    def _drop(self, uid: str, tag: str | None) -> None:
        """Delete an entry that was put and is not wanted any more; `tag` is that of what is there."""
        before = self.put[uid]
        if tag is None:
            del self.put[uid]
            return
        stored = self._store.read(name_of(uid))
        there = seen(stored.data) if stored else None
        summary, start = (there.summary, there.start) if there else ("", None)
        if stored and stored.tag == before.tag:
            tag = before.tag
        elif stored and (self._take_back or (there and there.digest in (before.digest, before.sent))):
            tag = stored.tag
        elif stored:
            self.steps.append(Step(Deed.CHANGED_THERE, uid, summary, None, start))
            return
        if self._write:
            try:
                self._store.delete(name_of(uid), tag)
            except ChangedThere:
                self.steps.append(Step(Deed.CHANGED_THERE, uid, summary, None, start))
                return
            del self.put[uid]
        self.steps.append(Step(Deed.DELETED, uid, summary, None, start))

    def _ask_for_tags(self) -> None:
        """Learn the tags that the store did not tell; what was changed again since is known by what it says."""
        if not self._untagged:
            return
        tags = self._store.tags()
        for uid in self._untagged:
            stored = self._store.read(name_of(uid))
            there = seen(stored.data) if stored else None
            tag = stored.tag or tags.get(name_of(uid), "") if stored else ""
            if tag and there and there.digest == self.put[uid].digest:
                self.put[uid] = Put(tag, self.put[uid].digest)

    def _tell(self, deed: Deed, revision: Revision, there: Seen | None = None) -> None:
        entry = revision.entry
        self.steps.append(Step(deed, entry.uid, entry.summary, entry.start, there.start if there else None))


def stopped(error: ShowrunnerError, push: Push) -> ShowrunnerError:
    """The error that stopped a push, with how far it had come."""
    done = sum(step.deed in (Deed.NEW, Deed.CHANGED, Deed.DELETED) for step in push.steps)
    if not done:
        return error
    what = f"{error.what}, after {done} of the entries were brought up to date"
    return type(error)(what, error.where, error.way_out or "do it again to go on")
