"""The undo steps: each user action with the documents it changed, before and after."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from tinydb.table import Document

from showrunner.domain.book import TABLES
from showrunner.domain.record import record
from showrunner.storage.book_text import META
from showrunner.storage.records import BadRecord, Change

MOST_STEPS = 200
"""Most undo steps that are kept."""
MOST_BYTES = 128 * 1024
"""Most text they may take together; the newest step is kept even if it alone takes more."""

_TABLES = frozenset(TABLES) | {META}


@record
class Step:
    """One action."""

    number: int
    """Its number in the journal."""
    label: str
    """The action in words."""
    undone: bool
    """Whether it has been taken back."""
    changes: tuple[Change, ...]
    """What it changed."""


def new_step(label: str, at: datetime, changes: Sequence[Change]) -> dict[str, Any]:
    """The document of a new step."""
    rows = [[change.table, change.number, change.before, change.after] for change in changes]
    return {"label": label, "at": at.isoformat().replace("+00:00", "Z"), "changes": rows}


def read_step(document: Document) -> Step:
    """A step from its document.

    Raises:
        BadRecord: it is no step.
    """
    label, rows, undone = document.get("label"), document.get("changes"), document.get("undone", False)
    if not (isinstance(label, str) and isinstance(rows, list) and isinstance(undone, bool) and all(map(_fits, rows))):
        raise BadRecord(f"journal, entry {document.doc_id}: it is no undo step")
    return Step(document.doc_id, label, undone, tuple(Change(*row) for row in rows))


def after_action(
    steps: Sequence[Document], sizes: Mapping[str, int], document: dict[str, Any]
) -> dict[int, dict[str, Any] | None]:
    """The changes to the journal once a new step is added: undone steps go, and so do the oldest beyond the caps.

    Args:
        steps: the journal's documents, oldest first.
        sizes: the length of the text of each, by its number.
        document: the new step.

    Returns:
        For each number the document to put there, or None to remove it.
    """
    changes: dict[int, dict[str, Any] | None] = {s.doc_id: None for s in steps if s.get("undone")}
    kept = [step for step in steps if step.doc_id not in changes]
    changes[max((step.doc_id for step in kept), default=0) + 1] = document
    size = _size(document)
    for count, step in enumerate(reversed(kept), 2):
        size += sizes[str(step.doc_id)]
        if count > MOST_STEPS or size > MOST_BYTES:
            changes.update({old.doc_id: None for old in kept if old.doc_id <= step.doc_id})
            break
    return changes


def lasts(document: dict[str, Any]) -> bool:
    """Whether a new step is kept beside a later one, however small that is."""
    return _size(document) < MOST_BYTES


def _size(document: dict[str, Any]) -> int:
    return len(json.dumps(document, ensure_ascii=False))


def _fits(row: Any) -> bool:
    return isinstance(row, list) and len(row) == 4 and _is_change(*row)


def _is_change(table: Any, number: Any, before: Any, after: Any) -> bool:
    return (
        isinstance(table, str)
        and table in _TABLES
        and type(number) is int
        and number > 0
        and (before is None or isinstance(before, dict))
        and (after is None or isinstance(after, dict))
        and (table != META or (number == 1 and before is not None and after is not None))
    )
