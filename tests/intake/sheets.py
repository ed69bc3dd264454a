"""Sheets for the tests of what is brought in."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

from showrunner.domain.book import Book
from showrunner.intake.bringing import bring_in
from showrunner.intake.findings import Asked, Intake, Verdict
from showrunner.storage.csv_text import write_sheet

DEMO = Path(__file__).parents[2] / "demo"
TODAY = date(2026, 3, 2)


def rows(*said: Mapping[str, str]) -> bytes:
    """A sheet with a row for each mapping of column to cell."""
    columns = list(dict.fromkeys(column for row in said for column in row))
    return write_sheet(columns, [[row.get(column, "") for column in columns] for row in said])


def bring(book: Book, data: bytes, *, today: date = TODAY, name: str = "sheet.csv", **asked: Any) -> Intake:
    return bring_in(book, data, name, today, Asked(**asked))


def verdicts(found: Intake) -> list[int]:
    """How many are new, changed, unchanged and refused."""
    return [len(found.of(verdict)) for verdict in Verdict if verdict is not Verdict.LEFT_OUT]
